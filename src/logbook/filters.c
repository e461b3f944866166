// SPDX-License-Identifier: GPL-3.0-or-later
// Lives of filters, as the learning module wants them: distance, fuel, cleanliness, gauge, the last one
// censored.
#include "logbook/view.h"

#include "logbook/value.h"

#define SOLIDS_KEPT 64 ///< walks remembered: fills of one tank on one day are of one make-up
#define WALKS 200      ///< in one call, shared among the lives

typedef struct Seen {
    int64_t account, day;
    double solids, known;
} Seen;

typedef struct Lives {
    OwLogbook *book;
    OwArena *arena;
    OwArena *scratch; ///< of the walks
    int samples;      ///< fills of a life that are walked, at most
    Seen seen[SOLIDS_KEPT];
    int next;
} Lives;

static int solids_of(Lives *lives, int64_t account, int64_t at_s, int64_t entry, Seen *found) {
    const int64_t day = at_s / 86400;
    for (int i = 0; i < SOLIDS_KEPT; i++) {
        if (lives->seen[i].account == account && lives->seen[i].day == day) {
            *found = lives->seen[i];
            return SQLITE_OK;
        }
    }
    *found = (Seen){.account = account, .day = day};
    const int code =
        ow_log_solids_at(lives->book, lives->scratch, account, at_s, entry, &found->solids, &found->known);
    lives->seen[lives->next] = *found;
    lives->next = (lives->next + 1) % SOLIDS_KEPT;
    return code;
}

/// How clean the oil was: a mean by volume over fills spread evenly over the life.
static int add_solids(Lives *lives, OwLogFilterRow *row, int64_t end_at, int64_t end_entry, int64_t fills,
                      int64_t traced) {
    sqlite3_stmt *stmt =
        ow_log_sql(lives->book, "SELECT at, entry, account, oil FROM fuel WHERE vehicle = ?1"
                                " AND (at, entry) > (?2, ?3) AND (at, entry) < (?4, ?5) AND account <> 0"
                                " AND oil > 0 ORDER BY at, entry");
    const int64_t samples = fills < lives->samples ? fills : lives->samples;
    double weighted = 0.0, known = 0.0, volume = 0.0;
    int code = ow_log_step(lives->book, stmt, 5,
                           (const int64_t[]){row->vehicle, row->from_s, row->entry, end_at, end_entry});
    for (int64_t k = 0; code == SQLITE_ROW; code = sqlite3_step(stmt), k++) {
        // One of each of `samples` equal runs of fills: the one in its middle.
        const int64_t run = k * samples / fills, begin = (run * fills + samples - 1) / samples,
                      end = ((run + 1) * fills + samples - 1) / samples;
        if (k != (begin + end - 1) / 2) {
            continue;
        }
        Seen seen;
        const int walked = solids_of(lives, sqlite3_column_int64(stmt, 2), sqlite3_column_int64(stmt, 0),
                                     sqlite3_column_int64(stmt, 1), &seen);
        if (walked != SQLITE_OK) {
            return walked;
        }
        const double oil = (double)sqlite3_column_int64(stmt, 3);
        weighted += oil * seen.known * seen.solids;
        known += oil * seen.known;
        volume += oil;
    }
    row->has_solids = known > 0.0;
    row->solids_kg_kg = row->has_solids ? weighted / known : 0.0;
    row->solids_known =
        volume > 0.0 && row->oil_m3 > 0.0 ? known / volume * OW_VOLUME_M3(traced) / row->oil_m3 : 0.0;
    return code == SQLITE_DONE ? SQLITE_OK : code;
}

/// Fuel filled between the two entries.
static int add_fuel(Lives *lives, OwLogFilterRow *row, int64_t end_at, int64_t end_entry) {
    sqlite3_stmt *stmt = ow_log_sql(
        lives->book,
        "SELECT coalesce(sum(oil), 0), coalesce(sum(diesel), 0), coalesce(sum(account <> 0 AND oil > 0), 0),"
        " coalesce(sum(CASE WHEN account <> 0 THEN oil END), 0) FROM fuel WHERE vehicle = ?1"
        " AND (at, entry) > (?2, ?3) AND (at, entry) < (?4, ?5)");
    const int code = ow_log_step(lives->book, stmt, 5,
                                 (const int64_t[]){row->vehicle, row->from_s, row->entry, end_at, end_entry});
    if (code != SQLITE_ROW) {
        return code;
    }
    row->oil_m3 = OW_VOLUME_M3(sqlite3_column_int64(stmt, 0));
    row->diesel_m3 = OW_VOLUME_M3(sqlite3_column_int64(stmt, 1));
    const int64_t fills = sqlite3_column_int64(stmt, 2), traced = sqlite3_column_int64(stmt, 3);
    return fills > 0 ? add_solids(lives, row, end_at, end_entry, fills, traced) : SQLITE_OK;
}

/// Gauge entries between: mean oil temperature, and the last reading when nothing ended the life yet.
static int add_gauge(Lives *lives, OwLogFilterRow *row, int64_t end_at, int64_t end_entry, double sum_k,
                     int count) {
    sqlite3_stmt *stmt = ow_log_sql(
        lives->book, "SELECT g.reading, g.temperature FROM fitted f CROSS JOIN gauge g ON g.id = f.entry "
                     "WHERE f.vehicle = ?1"
                     " AND f.filter = (SELECT filter FROM filter WHERE id = ?3) AND f.kind = 14"
                     " AND (f.at, f.entry) > (?2, ?3) AND (f.at, f.entry) < (?4, ?5) ORDER BY f.at, f.entry");
    int code = ow_log_step(lives->book, stmt, 5,
                           (const int64_t[]){row->vehicle, row->from_s, row->entry, end_at, end_entry});
    double last_pa = 0.0;
    bool has_last = false;
    for (; code == SQLITE_ROW; code = sqlite3_step(stmt)) {
        last_pa = (double)sqlite3_column_int64(stmt, 0) / 1e3;
        has_last = true;
        if (sqlite3_column_type(stmt, 1) != SQLITE_NULL) {
            sum_k += (double)sqlite3_column_int64(stmt, 1) / 1e3;
            count++;
        }
    }
    if (!row->has_before && has_last) {
        row->has_before = true;
        row->before_pa = last_pa;
    }
    row->has_temperature = count > 0;
    row->temperature_k = count > 0 ? sum_k / count : 0.0;
    return code == SQLITE_DONE ? SQLITE_OK : code;
}

/// The odometer at an entry, counted on through replaced ones: its own reading, else between the neighbours
/// in time, in a straight line.
static int odometer_at(OwLogbook *book, int64_t vehicle, int64_t at_s, int64_t entry, double *reading_m,
                       bool *has) {
    OwOdo odo[2];
    for (int side = 0; side < 2; side++) {
        sqlite3_stmt *stmt =
            side == 0
                ? ow_log_sql(
                      book,
                      "SELECT reading, at, entry FROM odo WHERE vehicle = ?1 AND (at, entry) <= (?2, ?3)"
                      " ORDER BY at DESC, entry DESC LIMIT 1")
                : ow_log_sql(
                      book,
                      "SELECT reading, at, entry FROM odo WHERE vehicle = ?1 AND (at, entry) >= (?2, ?3)"
                      " ORDER BY at, entry LIMIT 1");
        const int code =
            ow_log_odo_read(book, vehicle, stmt, 3, (const int64_t[]){vehicle, at_s, entry}, &odo[side], has);
        if (code != SQLITE_OK || !*has) {
            *has = false;
            return code;
        }
    }
    const double from_s = (double)odo[0].at_s, to_s = (double)odo[1].at_s;
    const double from_m = (double)odo[0].count / 1e3, to_m = (double)odo[1].count / 1e3;
    *reading_m =
        to_s > from_s ? from_m + (to_m - from_m) * ((double)at_s - from_s) / (to_s - from_s) : from_m;
    return SQLITE_OK;
}

static int last_odometer(OwLogbook *book, int64_t vehicle, int64_t *at_s, double *reading_m, bool *has) {
    sqlite3_stmt *stmt = ow_log_sql(
        book, "SELECT reading, at, entry FROM odo WHERE vehicle = ?1 ORDER BY at DESC, entry DESC LIMIT 1");
    OwOdo last = {0};
    const int code = ow_log_odo_read(book, vehicle, stmt, 1, &vehicle, &last, has);
    if (code == SQLITE_OK && *has) {
        *at_s = last.at_s;
        *reading_m = (double)last.count / 1e3;
    }
    return code;
}

/// A life from its beginning entry; the end is the next change of that filter, if any.
static int fill_life(Lives *lives, OwLogFilterRow *row) {
    OwLogbook *book = lives->book;
    OwLogEntry begin, end;
    int code = ow_log_load(book, row->entry, lives->arena, &begin);
    if (code != SQLITE_OK) {
        return code == SQLITE_DONE ? SQLITE_CORRUPT : code;
    }
    row->vehicle = ow_log_amount(&begin, "vehicle");
    row->vehicle_name = ow_log_value(&begin, "vehicle")->text;
    row->filter = ow_log_value(&begin, "filter")->text;
    row->from_s = begin.at_s;
    row->price = ow_log_amount(&begin, "price");
    const OwLogValue *value = ow_log_value(&begin, "after");
    row->has_after = value->is_set;
    row->after_pa = value->si;
    double sum_k = 0.0, from_m = 0.0, to_m = 0.0;
    int count = 0;
    bool has_from = false, has_to = false;
    sqlite3_stmt *stmt =
        ow_log_sql(book, "SELECT at, entry FROM fitted WHERE vehicle = ?1 AND kind = 15"
                         " AND filter = (SELECT filter FROM filter WHERE id = ?3) AND (at, entry) > (?2, ?3)"
                         " ORDER BY at, entry LIMIT 1");
    code = ow_log_step(book, stmt, 3, (const int64_t[]){row->vehicle, row->from_s, row->entry});
    int64_t end_at = INT64_MAX, end_entry = INT64_MAX;
    row->is_censored = code != SQLITE_ROW;
    if (code == SQLITE_ROW) {
        row->to_s = end_at = sqlite3_column_int64(stmt, 0);
        row->next = end_entry = sqlite3_column_int64(stmt, 1);
        code = ow_log_load(book, row->next, lives->arena, &end);
        if (code != SQLITE_OK) {
            return code == SQLITE_DONE ? SQLITE_CORRUPT : code;
        }
        value = ow_log_value(&end, "before");
        row->has_before = value->is_set;
        row->before_pa = value->si;
        value = ow_log_value(&end, "reason");
        row->has_reason = value->is_set;
        row->reason = (OwLogReason)value->number;
        value = ow_log_value(&end, "temperature");
        sum_k = value->is_set ? value->si : 0.0;
        count = value->is_set ? 1 : 0;
        code = odometer_at(book, row->vehicle, row->to_s, row->next, &to_m, &has_to);
    } else if (code == SQLITE_DONE) {
        row->to_s = row->from_s;
        int64_t at_s = row->from_s;
        code = last_odometer(book, row->vehicle, &at_s, &to_m, &has_to);
        row->to_s = at_s > row->from_s ? at_s : row->from_s;
    }
    code = code == SQLITE_OK ? odometer_at(book, row->vehicle, row->from_s, row->entry, &from_m, &has_from)
                             : code;
    row->has_distance = has_from && has_to && to_m >= from_m;
    row->distance_m = row->has_distance ? to_m - from_m : 0.0;
    code = code == SQLITE_OK ? add_gauge(lives, row, end_at, end_entry, sum_k, count) : code;
    return code == SQLITE_OK ? add_fuel(lives, row, end_at, end_entry) : code;
}

OwStatus ow_logbook_filters(OwLogbook *book, int64_t vehicle, int limit, OwArena *arena,
                            OwLogFilterRow **rows, int *count, OwFaults *faults) {
    if (book == NULL || arena == NULL || rows == NULL || count == NULL || limit < 0) {
        return OW_ERROR_USE;
    }
    const OwStatus status = ow_log_begin(book, false, faults);
    if (status != OW_OK) {
        return status;
    }
    Lives lives = {.book = book, .arena = arena, .scratch = ow_arena_create()};
    OwRows found = {.arena = arena, .size = sizeof(OwLogFilterRow)};
    sqlite3_stmt *stmt =
        vehicle == 0 ? ow_log_sql(book, "SELECT entry FROM fitted INDEXED BY fitted_at WHERE kind = 15"
                                        " ORDER BY at DESC, entry DESC LIMIT ?2")
                     : ow_log_sql(book, "SELECT entry FROM fitted INDEXED BY fitted_vehicle WHERE kind = 15"
                                        " AND vehicle = ?1 ORDER BY at DESC, entry DESC LIMIT ?2");
    int code = lives.scratch == NULL
                   ? SQLITE_NOMEM
                   : ow_log_step(book, stmt, 2, (const int64_t[]){vehicle, limit == 0 ? 200 : limit});
    for (; code == SQLITE_ROW; code = sqlite3_step(stmt)) {
        OwLogFilterRow *row = ow_log_rows_next(&found);
        if (row == NULL) {
            code = SQLITE_NOMEM;
            break;
        }
        row->entry = sqlite3_column_int64(stmt, 0);
    }
    code = code == SQLITE_DONE ? SQLITE_OK : code;
    lives.samples = found.count < WALKS ? WALKS / (found.count + 1) + 1 : 1;
    for (int i = 0; i < found.count && code == SQLITE_OK; i++) {
        code = fill_life(&lives, &((OwLogFilterRow *)found.items)[i]);
    }
    ow_arena_destroy(&lives.scratch);
    *rows = found.items;
    *count = found.count;
    return ow_log_end_view(book, code, faults);
}
_Static_assert(OW_LOG_GAUGE == 14 && OW_LOG_FILTER == 15, "the statements above name these kinds");
