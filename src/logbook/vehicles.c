// SPDX-License-Identifier: GPL-3.0-or-later
// View of the vehicles: fills, distance by the odometer, consumption, money.
#include "logbook/view.h"

#include "logbook/value.h"

/// Fuel of the fills after the first reading taken at a fill, over the distance to the last such reading.
static int add_consumption(OwLogbook *book, OwLogVehicleRow *row) {
    OwOdo odo[2];
    for (int end = 0; end < 2; end++) {
        sqlite3_stmt *stmt =
            end == 0
                ? ow_log_sql(book, "SELECT reading, at, entry FROM odo WHERE vehicle = ?1 AND is_fill = 1"
                                   " ORDER BY at, entry LIMIT 1")
                : ow_log_sql(book, "SELECT reading, at, entry FROM odo WHERE vehicle = ?1 AND is_fill = 1"
                                   " ORDER BY at DESC, entry DESC LIMIT 1");
        bool has;
        const int code = ow_log_odo_read(book, row->id, stmt, 1, &row->id, &odo[end], &has);
        if (code != SQLITE_OK || !has) {
            return code;
        }
    }
    const int64_t way = odo[1].count - odo[0].count;
    if (way <= 0 || odo[1].at_s <= odo[0].at_s) {
        return SQLITE_OK;
    }
    int64_t sums[OW_TALLY_ITEMS];
    const int code = ow_log_tally_sum(book, row->id, odo[0].at_s + 1, odo[1].at_s + 1, sums);
    if (code != SQLITE_OK) {
        return code;
    }
    row->has_consumption = true;
    row->consumption_m3_m = OW_VOLUME_M3(sums[OW_TALLY_OIL] + sums[OW_TALLY_DIESEL]) / ((double)way / 1e3);
    return SQLITE_OK;
}

static int fill_row(OwLogbook *book, OwLogVehicleRow *row) {
    int64_t sums[OW_TALLY_ITEMS];
    int code = ow_log_tally_sum(book, row->id, 0, 0, sums);
    if (code != SQLITE_OK) {
        return code;
    }
    row->fills = sums[OW_TALLY_COUNT + OW_LOG_FILL];
    row->filters = sums[OW_TALLY_COUNT + OW_LOG_FILTER];
    row->oil_m3 = OW_VOLUME_M3(sums[OW_TALLY_OIL]);
    row->diesel_m3 = OW_VOLUME_M3(sums[OW_TALLY_DIESEL]);
    for (int k = 0; k < OW_LOG_KINDS; k++) {
        row->spent += sums[OW_TALLY_SPENT + k];
    }
    sqlite3_stmt *stmt = ow_log_sql(
        book, "SELECT reading, at, entry FROM odo WHERE vehicle = ?1 ORDER BY at DESC, entry DESC LIMIT 1");
    OwOdo last;
    code = ow_log_odo_read(book, row->id, stmt, 1, &row->id, &last, &row->has_odometer);
    if (code != SQLITE_OK || !row->has_odometer) {
        return code;
    }
    row->odometer_m = (double)last.reading / 1e3;
    row->counted_m = (double)last.count / 1e3;
    bool has = false;
    code = ow_log_distance(book, row->id, 0, 0, &row->distance_m, &has);
    return code == SQLITE_OK ? add_consumption(book, row) : code;
}

OwStatus ow_logbook_vehicles(OwLogbook *book, OwArena *arena, OwLogVehicleRow **rows, int *count,
                             OwFaults *faults) {
    if (book == NULL || arena == NULL || rows == NULL || count == NULL) {
        return OW_ERROR_USE;
    }
    const OwStatus status = ow_log_begin(book, false, faults);
    if (status != OW_OK) {
        return status;
    }
    OwRows found = {.arena = arena, .size = sizeof(OwLogVehicleRow)};
    sqlite3_stmt *stmt =
        ow_log_sql(book, "SELECT n.id, n.name, v.rig, coalesce((SELECT f.at FROM fuel f WHERE f.vehicle = "
                         "n.id ORDER BY f.at DESC LIMIT 1), 0)"
                         " FROM name n JOIN vehicle v ON v.id = n.id WHERE n.kind = 3 ORDER BY n.id");
    int code = ow_log_step(book, stmt, 0, NULL);
    for (; code == SQLITE_ROW; code = sqlite3_step(stmt)) {
        OwLogVehicleRow *row = ow_log_rows_next(&found);
        if (row == NULL || (row->name = ow_log_column_text(stmt, 1, arena)) == NULL ||
            (row->rig = ow_log_column_text(stmt, 2, arena)) == NULL) {
            code = SQLITE_NOMEM;
            break;
        }
        row->id = sqlite3_column_int64(stmt, 0);
        row->last_fill_s = sqlite3_column_int64(stmt, 3);
        const int filled = fill_row(book, row);
        if (filled != SQLITE_OK) {
            code = filled;
            break;
        }
    }
    *rows = found.items;
    *count = found.count;
    return ow_log_end_view(book, code, faults);
}
