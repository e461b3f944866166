// SPDX-License-Identifier: GPL-3.0-or-later
// Sums over a period for the cost model, from the tallies.
#include "logbook/view.h"

#include "logbook/value.h"

static int add_distance(OwLogbook *book, int64_t from_s, int64_t to_s, int64_t vehicle, OwLogTotals *totals) {
    double distance_m = 0.0;
    bool has = false;
    if (vehicle != 0) {
        return ow_log_distance(book, vehicle, from_s, to_s, &totals->distance_m, &has);
    }
    sqlite3_stmt *stmt = ow_log_sql(book, "SELECT id FROM name WHERE kind = 3");
    int code = ow_log_step(book, stmt, 0, NULL);
    for (; code == SQLITE_ROW; code = sqlite3_step(stmt)) {
        const int found =
            ow_log_distance(book, sqlite3_column_int64(stmt, 0), from_s, to_s, &distance_m, &has);
        if (found != SQLITE_OK) {
            return found;
        }
        totals->distance_m += distance_m;
    }
    return code == SQLITE_DONE ? SQLITE_OK : code;
}

static void set_sums(const int64_t sums[OW_TALLY_ITEMS], OwLogTotals *t) {
    for (int k = 0; k < OW_LOG_KINDS; k++) {
        t->entries[k] = sums[OW_TALLY_COUNT + k];
        t->work_s[k] = (double)sums[OW_TALLY_WORK + k] / 1e3;
        t->work_all_s += t->work_s[k];
        t->spent[k] = sums[OW_TALLY_SPENT + k];
        t->spent_all += t->spent[k];
    }
    for (int i = 0; i < OW_LOG_EXPENSE_CHOICES; i++) {
        t->expenses[i] = sums[OW_TALLY_EXPENSE + i];
    }
    for (int i = 0; i < OW_LOG_REPAIR_CHOICES; i++) {
        t->repairs[i] = sums[OW_TALLY_REPAIR + i];
    }
    for (int i = 0; i < OW_LOG_WASTE_CHOICES; i++) {
        t->waste_made_m3[i] = OW_VOLUME_M3(sums[OW_TALLY_MADE + i]);
        t->waste_handed_m3[i] = OW_VOLUME_M3(sums[OW_TALLY_HANDED + i]);
    }
    t->oil_changes = sums[OW_TALLY_REPAIRS + OW_LOG_REPAIR_OIL_CHANGE];
    t->filters = t->entries[OW_LOG_FILTER] - sums[OW_TALLY_REASON + OW_LOG_REASON_FITTED];
    t->collected_m3 = OW_VOLUME_M3(sums[OW_TALLY_COLLECTED]);
    t->collection_distance_m = (double)sums[OW_TALLY_DRIVE] / 1e3;
    t->filled_m3 = OW_VOLUME_M3(sums[OW_TALLY_OIL]);
    t->diesel_m3 = OW_VOLUME_M3(sums[OW_TALLY_DIESEL]);
    t->energy_j = (double)sums[OW_TALLY_ENERGY] * 3.6;
    t->added_m3 = OW_VOLUME_M3(sums[OW_TALLY_ADDED]);
    t->lost_m3 = OW_VOLUME_M3(sums[OW_TALLY_LOST]);
    t->found_m3 = OW_VOLUME_M3(sums[OW_TALLY_FOUND]);
}

OwStatus ow_logbook_totals(OwLogbook *book, int64_t from_s, int64_t to_s, int64_t vehicle,
                           OwLogTotals *totals, OwFaults *faults) {
    if (book == NULL || totals == NULL) {
        return OW_ERROR_USE;
    }
    *totals = (OwLogTotals){0};
    const OwStatus status = ow_log_begin(book, false, faults);
    if (status != OW_OK) {
        return status;
    }
    int64_t sums[OW_TALLY_ITEMS];
    int code = ow_log_tally_sum(book, vehicle, from_s, to_s, sums);
    if (code == SQLITE_OK) {
        set_sums(sums, totals);
        code = add_distance(book, from_s, to_s, vehicle, totals);
    }
    // What happened and stands: a name that is given later, or a slip taken back, makes no longer year.
#define EVENT_AT(order)                                                                                      \
    "(SELECT e.at FROM entry e WHERE e.kind = k.column1 AND NOT EXISTS(SELECT 1 FROM undo u WHERE u.entry "  \
    "= e.id)"                                                                                                \
    " ORDER BY e.at " order " LIMIT 1)"
#define EVENT_KINDS                                                                                          \
    " FROM (VALUES (4), (5), (6), (7), (8), (9), (10), (11), (12), (13), (14), (15), (16), (17)) k"
    if (code == SQLITE_OK) {
        totals->first_s =
            ow_log_number(book, ow_log_sql(book, "SELECT coalesce(min(" EVENT_AT("ASC") "), 0)" EVENT_KINDS),
                          0, NULL, 0, &code);
    }
    if (code == SQLITE_OK) {
        totals->last_s =
            ow_log_number(book, ow_log_sql(book, "SELECT coalesce(max(" EVENT_AT("DESC") "), 0)" EVENT_KINDS),
                          0, NULL, 0, &code);
    }
    return ow_log_end_view(book, code, faults);
}
_Static_assert(OW_LOG_BATCH == 4 && OW_LOG_EXPENSE == 17, "the kinds of event above");
