// SPDX-License-Identifier: GPL-3.0-or-later
// Readings counted on through replaced odometers, the way driven between two of them, and readings that
// cannot be.
#include "logbook/check_entry.h"
#include "logbook/view.h"

#include "logbook/value.h"

#include <inttypes.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#define ROUNDING 2000000 ///< 2 km: miles and kilometres are read to whole ones

/// What readings from a replacement on lack: the old one's last reading less the new one's first. Where the
/// old one's last was not told, it stood where it was read last: nothing is driven between the two.
#define AHEAD                                                                                                \
    "coalesce(n.old, (SELECT o.reading FROM odo o WHERE o.vehicle = n.vehicle AND (o.at, o.entry) < (n.at, " \
    "n.entry) ORDER BY o.at DESC, o.entry DESC LIMIT 1), n.reading) - n.reading"

int ow_log_odo_read(OwLogbook *book, int64_t vehicle, sqlite3_stmt *stmt, int count, const int64_t *numbers,
                    OwOdo *odo, bool *has) {
    int code = ow_log_step(book, stmt, count, numbers);
    *has = code == SQLITE_ROW;
    if (!*has) {
        return code == SQLITE_DONE ? SQLITE_OK : code;
    }
    *odo = (OwOdo){.reading = sqlite3_column_int64(stmt, 0),
                   .at_s = sqlite3_column_int64(stmt, 1),
                   .entry = sqlite3_column_int64(stmt, 2)};
    sqlite3_stmt *ahead = ow_log_sql(book, "SELECT coalesce(sum(" AHEAD "), 0) FROM swapped n"
                                           " WHERE n.vehicle = ?1 AND (n.at, n.entry) <= (?2, ?3)");
    odo->count = odo->reading +
                 ow_log_number(book, ahead, 3, (const int64_t[]){vehicle, odo->at_s, odo->entry}, 0, &code);
    return code;
}

int ow_log_distance(OwLogbook *book, int64_t vehicle, int64_t from_s, int64_t to_s, double *distance_m,
                    bool *has) {
    *distance_m = 0.0;
    *has = false;
    to_s = to_s <= 0 ? OW_LOG_TIME_MAX + 1 : to_s;
    OwOdo last, first;
    bool is_there;
    int code =
        ow_log_odo_read(book, vehicle,
                        ow_log_sql(book, "SELECT reading, at, entry FROM odo WHERE vehicle = ?1 AND at < ?2"
                                         " AND at >= ?3 ORDER BY at DESC, entry DESC LIMIT 1"),
                        3, (const int64_t[]){vehicle, to_s, from_s}, &last, &is_there);
    if (code != SQLITE_OK || !is_there) {
        return code;
    }
    // From the last reading before the period; without one, from the first in it.
    code =
        ow_log_odo_read(book, vehicle,
                        ow_log_sql(book, "SELECT reading, at, entry FROM odo WHERE vehicle = ?1 AND at < ?2"
                                         " ORDER BY at DESC, entry DESC LIMIT 1"),
                        2, (const int64_t[]){vehicle, from_s}, &first, &is_there);
    if (code == SQLITE_OK && !is_there) {
        code = ow_log_odo_read(book, vehicle,
                               ow_log_sql(book,
                                          "SELECT reading, at, entry FROM odo WHERE vehicle = ?1 AND at >= ?2"
                                          " ORDER BY at, entry LIMIT 1"),
                               2, (const int64_t[]){vehicle, from_s}, &first, &is_there);
    }
    if (code != SQLITE_OK || !is_there) {
        return code;
    }
    *has = first.entry != last.entry;
    if (last.count >= first.count) {
        *distance_m = (double)(last.count - first.count) / 1e3;
        return SQLITE_OK;
    }
    // It runs back and nobody said why: replaced, or mistyped; the check tells it. What lies between two
    // readings that rise was driven, unless nobody can have driven it.
    sqlite3_stmt *stmt = ow_log_sql(
        book, "SELECT total(CASE WHEN rise > 0 AND rise <= ?4 * (days + 1) THEN rise END) FROM (SELECT"
              " coalesce(CASE WHEN n.entry IS NOT NULL THEN coalesce(n.old, lag(o.reading) OVER way) END, "
              "o.reading)"
              " - lag(o.reading) OVER way AS rise, (o.at - lag(o.at) OVER way) / 86400 AS days"
              " FROM odo o LEFT JOIN swapped n ON n.vehicle = o.vehicle AND n.at = o.at AND n.entry = o.entry"
              " WHERE o.vehicle = ?1 AND o.at >= ?2 AND o.at < ?3 WINDOW way AS (ORDER BY o.at, o.entry))");
    code = ow_log_step(book, stmt, 4, (const int64_t[]){vehicle, first.at_s, to_s, OW_LOG_MOST_A_DAY});
    if (code != SQLITE_ROW) {
        return code == SQLITE_DONE ? SQLITE_OK : code;
    }
    *distance_m = sqlite3_column_double(stmt, 0) / 1e3;
    return SQLITE_OK;
}

// ---- Readings that cannot be

bool ow_log_is_swap(const OwLogEntry *entry) {
    if (entry->kind != OW_LOG_ODOMETER) {
        return false;
    }
    const OwLogValue *is_new = ow_log_value(entry, "new");
    return is_new->is_set ? is_new->number == 1 : ow_log_value(entry, "old")->is_set;
}

static void say_way(int64_t reading, char text[64]) {
    (void)snprintf(text, 64, "%.0f km (%.0f mi)", (double)reading / 1e6, (double)reading / 1.609344e6);
}

/// The neighbour on one side in time. Entries of one second have the order in which they were written when
/// they were written as they happened; those written down later (a day without an hour) have none.
static int neighbour(OwLogbook *book, int64_t vehicle, int64_t at_s, bool is_after, OwOdo *odo, bool *is_swap,
                     bool *has) {
    sqlite3_stmt *stmt =
        is_after ? ow_log_sql(book, "SELECT reading, at, entry, EXISTS(SELECT 1 FROM swapped n WHERE"
                                    " n.vehicle = odo.vehicle AND n.at = odo.at AND n.entry = odo.entry)"
                                    " FROM odo WHERE vehicle = ?1 AND at > ?2 ORDER BY at, entry LIMIT 1")
                 : ow_log_sql(book, "SELECT reading, at, entry, 0 FROM odo WHERE vehicle = ?1 AND at < ?2"
                                    " ORDER BY at DESC, entry DESC LIMIT 1");
    const int code = ow_log_step(book, stmt, 2, (const int64_t[]){vehicle, at_s});
    *has = code == SQLITE_ROW;
    if (*has) {
        *odo = (OwOdo){.reading = sqlite3_column_int64(stmt, 0),
                       .at_s = sqlite3_column_int64(stmt, 1),
                       .entry = sqlite3_column_int64(stmt, 2)};
        *is_swap = sqlite3_column_int(stmt, 3) != 0;
    }
    return code == SQLITE_ROW || code == SQLITE_DONE ? SQLITE_OK : code;
}

int ow_log_check_odometer(OwLogbook *book, const OwLogEntry *entry, OwTeller *teller) {
    const int64_t vehicle = ow_log_amount(entry, "vehicle");
    const int field = ow_log_field_of(entry->kind, "odometer"), old = ow_log_field_of(entry->kind, "old");
    if (vehicle == 0 || field < 0 || !entry->values[field].is_set) {
        return SQLITE_OK;
    }
    const int64_t reading = ow_log_amount(entry, "odometer");
    const bool is_swap = ow_log_is_swap(entry);
    const bool has_old = is_swap && entry->values[old].is_set;
    for (int side = 0; side < 2; side++) {
        OwOdo there = {0};
        bool has = false, is_there_swap = false;
        const bool is_as_it_happened = entry->made_s - entry->at_s < 60;
        const int code = neighbour(book, vehicle, entry->at_s + (side == 0 && is_as_it_happened ? 1 : 0),
                                   side == 1, &there, &is_there_swap, &has);
        if (code != SQLITE_OK) {
            return code;
        }
        // Before: the old one's last reading counts when this is a new one. After: a new one may read less.
        const int64_t here = side == 0 && has_old ? ow_log_amount(entry, "old") : reading;
        const int64_t low = side == 0 ? here : there.reading, high = side == 0 ? there.reading : here;
        if (!has || (side == 0 && is_swap && !has_old) || (side == 1 && is_there_swap) ||
            low >= high - ROUNDING) {
            continue;
        }
        char this_way[64], that_way[64], when[24], remedy[256];
        say_way(here, this_way);
        say_way(there.reading, that_way);
        ow_log_time_write(there.at_s, when, sizeof when);
        const char *name = ow_log_value(entry, "vehicle")->text;
        (void)snprintf(remedy, sizeof remedy,
                       "which is wrong? Write it right%s, or undo entry %" PRId64
                       "; if the odometer was replaced, tell that first: new odometer %.64s %.0f km%s",
                       llabs(there.at_s - entry->at_s) < 86400 ? ", with its hour" : "", there.entry,
                       name != NULL ? name : "VEHICLE", (double)(side == 0 ? reading : there.reading) / 1e6,
                       side == 0 ? "" : ", with its day");
        ow_log_tell(teller, side == 0 && has_old ? old : field, OW_ERROR_VALUE, remedy,
                    "the odometer would run back: %s, but %s %s, on %.10s", this_way, that_way,
                    side == 0 ? "before" : "after", when);
        return SQLITE_OK;
    }
    return SQLITE_OK;
}

// ---- For those who list entries themselves

OwStatus ow_logbook_swaps(OwLogbook *book, OwArena *arena, OwLogSwap **swaps, int *count, OwFaults *faults) {
    if (book == NULL || arena == NULL || swaps == NULL || count == NULL) {
        return OW_ERROR_USE;
    }
    const OwStatus status = ow_log_begin(book, false, faults);
    if (status != OW_OK) {
        return status;
    }
    OwRows found = {.arena = arena, .size = sizeof(OwLogSwap)};
    sqlite3_stmt *stmt = ow_log_sql(book, "SELECT n.vehicle, n.at, n.entry, " AHEAD
                                          " FROM swapped n ORDER BY n.vehicle, n.at, n.entry");
    int code = ow_log_step(book, stmt, 0, NULL);
    for (; code == SQLITE_ROW; code = sqlite3_step(stmt)) {
        OwLogSwap *swap = ow_log_rows_next(&found);
        if (swap == NULL) {
            code = SQLITE_NOMEM;
            break;
        }
        *swap = (OwLogSwap){.vehicle = sqlite3_column_int64(stmt, 0),
                            .at_s = sqlite3_column_int64(stmt, 1),
                            .entry = sqlite3_column_int64(stmt, 2),
                            .ahead_m = (double)sqlite3_column_int64(stmt, 3) / 1e3};
    }
    *swaps = found.items;
    *count = found.count;
    return ow_log_end_view(book, code, faults);
}

double ow_log_counted(const OwLogSwap *swaps, int count, int64_t vehicle, int64_t at_s, int64_t entry,
                      double reading_m) {
    for (int i = 0; swaps != NULL && i < count; i++) {
        const OwLogSwap *s = &swaps[i];
        if (s->vehicle == vehicle && (s->at_s < at_s || (s->at_s == at_s && s->entry <= entry))) {
            reading_m += s->ahead_m;
        }
    }
    return reading_m;
}
