// SPDX-License-Identifier: GPL-3.0-or-later
// Views of the yard: sources, vessels with their levels, the board of batches.
#include "logbook/view.h"

#include "logbook/value.h"

OwStatus ow_logbook_sources(OwLogbook *book, OwArena *arena, OwLogSourceRow **rows, int *count,
                            OwFaults *faults) {
    if (book == NULL || arena == NULL || rows == NULL || count == NULL) {
        return OW_ERROR_USE;
    }
    const OwStatus status = ow_log_begin(book, false, faults);
    if (status != OW_OK) {
        return status;
    }
    OwRows found = {.arena = arena, .size = sizeof(OwLogSourceRow)};
    sqlite3_stmt *stmt = ow_log_sql(
        book, "SELECT n.id, n.name, coalesce((SELECT l.at FROM link l WHERE l.thing = n.id AND l.kind = 5"
              " AND NOT EXISTS(SELECT 1 FROM undo u WHERE u.entry = l.entry) ORDER BY l.at DESC LIMIT 1), 0)"
              " FROM name n WHERE n.kind = 1 ORDER BY n.name");
    int code = ow_log_step(book, stmt, 0, NULL);
    for (; code == SQLITE_ROW; code = sqlite3_step(stmt)) {
        OwLogSourceRow *row = ow_log_rows_next(&found);
        int64_t sums[OW_TALLY_ITEMS];
        if (row == NULL || (row->name = ow_log_column_text(stmt, 1, arena)) == NULL) {
            code = SQLITE_NOMEM;
            break;
        }
        row->id = sqlite3_column_int64(stmt, 0);
        row->last_s = sqlite3_column_int64(stmt, 2);
        const int summed = ow_log_tally_sum(book, row->id, 0, 0, sums);
        if (summed != SQLITE_OK) {
            code = summed;
            break;
        }
        row->pickups = sums[OW_TALLY_COUNT + OW_LOG_PICKUP];
        row->collected_m3 = OW_VOLUME_M3(sums[OW_TALLY_COLLECTED]);
    }
    *rows = found.items;
    *count = found.count;
    return ow_log_end_view(book, code, faults);
}

OwStatus ow_logbook_vessels(OwLogbook *book, OwArena *arena, OwLogVesselRow **rows, int *count,
                            OwFaults *faults) {
    if (book == NULL || arena == NULL || rows == NULL || count == NULL) {
        return OW_ERROR_USE;
    }
    const OwStatus status = ow_log_begin(book, false, faults);
    if (status != OW_OK) {
        return status;
    }
    OwRows found = {.arena = arena, .size = sizeof(OwLogVesselRow)};
    sqlite3_stmt *stmt = ow_log_sql(
        book, "SELECT a.id, v.name, v.use, v.capacity, a.volume,"
              " coalesce((SELECT l.at FROM ledger l WHERE l.account = a.id ORDER BY l.at DESC LIMIT 1), 0),"
              " coalesce((SELECT sum(b.volume) FROM account b WHERE b.place = a.id AND b.place <> 0 AND "
              "b.volume <> 0), 0),"
              " (SELECT count(*) FROM account b WHERE b.place = a.id AND b.place <> 0 AND b.volume <> 0)"
              " FROM account a INDEXED BY account_kind JOIN vessel v ON v.id = a.id WHERE a.kind = 2 ORDER "
              "BY a.id");
    int code = ow_log_step(book, stmt, 0, NULL);
    for (; code == SQLITE_ROW; code = sqlite3_step(stmt)) {
        OwLogVesselRow *row = ow_log_rows_next(&found);
        if (row == NULL || (row->name = ow_log_column_text(stmt, 1, arena)) == NULL) {
            code = SQLITE_NOMEM;
            break;
        }
        row->id = sqlite3_column_int64(stmt, 0);
        row->has_use = sqlite3_column_type(stmt, 2) != SQLITE_NULL;
        row->use = (OwLogUse)sqlite3_column_int(stmt, 2);
        row->has_capacity = sqlite3_column_type(stmt, 3) != SQLITE_NULL;
        row->capacity_m3 = OW_VOLUME_M3(sqlite3_column_int64(stmt, 3));
        const int64_t own = sqlite3_column_int64(stmt, 4), level = own + sqlite3_column_int64(stmt, 6);
        row->own_m3 = OW_VOLUME_M3(own);
        row->level_m3 = OW_VOLUME_M3(level);
        row->changed_s = sqlite3_column_int64(stmt, 5);
        row->batches = sqlite3_column_int(stmt, 7);
        row->is_below = own < 0 || level < 0;
        row->is_over = row->has_capacity && level > sqlite3_column_int64(stmt, 3);
    }
    *rows = found.items;
    *count = found.count;
    return ow_log_end_view(book, code, faults);
}

/// The last step, and the last result of each sort.
static int add_work(OwLogbook *book, OwLogBatchRow *row) {
    enum { BACK = 30 }; ///< tests looked at for the last result of each sort
    sqlite3_stmt *stmt = ow_log_sql(
        book, "SELECT s.what, w.at FROM worked w CROSS JOIN step s ON s.id = w.entry WHERE w.account = ?1"
              " AND w.kind = 6 ORDER BY w.at DESC, w.entry DESC LIMIT 1");
    int code = ow_log_step(book, stmt, 1, &row->id);
    if (code == SQLITE_ROW) {
        row->has_step = true;
        row->step = (OwLogStep)sqlite3_column_int(stmt, 0);
        row->last_s =
            sqlite3_column_int64(stmt, 1) > row->last_s ? sqlite3_column_int64(stmt, 1) : row->last_s;
    } else if (code != SQLITE_DONE) {
        return code;
    }
    stmt = ow_log_sql(book, "SELECT (SELECT count(*) FROM worked WHERE account = ?1 AND kind = 6),"
                            " (SELECT count(*) FROM worked WHERE account = ?1 AND kind = 7)");
    code = ow_log_step(book, stmt, 1, &row->id);
    if (code != SQLITE_ROW) {
        return code;
    }
    row->steps = sqlite3_column_int64(stmt, 0);
    row->tests = sqlite3_column_int64(stmt, 1);
    stmt = ow_log_sql(book, "SELECT t.acid, t.water, t.solids, t.viscosity, t.temperature, t.density, "
                            "t.decision, w.at FROM worked w"
                            " CROSS JOIN test t ON t.id = w.entry WHERE w.account = ?1 AND w.kind = 7"
                            " ORDER BY w.at DESC, w.entry DESC LIMIT ?2");
    code = ow_log_step(book, stmt, 2, (const int64_t[]){row->id, BACK});
    for (; code == SQLITE_ROW; code = sqlite3_step(stmt)) {
        const struct {
            bool *has;
            double *value;
            double per_si;
        } results[] = {{&row->has_acid, &row->acid_mg_g, 1e6},
                       {&row->has_water, &row->water_kg_kg, 1e9},
                       {&row->has_solids, &row->solids_kg_kg, 1e9},
                       {&row->has_viscosity, &row->viscosity_m2_s, 1e12},
                       {&row->has_density, &row->density_kg_m3, 1e3}};
        const int columns[] = {0, 1, 2, 3, 5};
        for (int i = 0; i < 5; i++) {
            if (!*results[i].has && sqlite3_column_type(stmt, columns[i]) != SQLITE_NULL) {
                *results[i].has = true;
                *results[i].value = (double)sqlite3_column_int64(stmt, columns[i]) / results[i].per_si;
                if (i == 3) {
                    row->viscosity_at_k = (double)sqlite3_column_int64(stmt, 4) / 1e3;
                }
            }
        }
        if (!row->has_decision && sqlite3_column_type(stmt, 6) != SQLITE_NULL) {
            row->has_decision = true;
            row->decision = (OwLogDecision)sqlite3_column_int(stmt, 6);
        }
        row->last_s =
            sqlite3_column_int64(stmt, 7) > row->last_s ? sqlite3_column_int64(stmt, 7) : row->last_s;
    }
    return code == SQLITE_DONE ? SQLITE_OK : code;
}

static const char batches_open[] =
    "SELECT a.id, b.name, a.place, coalesce(v.name, ''), e.at, a.came, a.added, a.lost, a.went, a.found, "
    "a.volume,"
    " coalesce((SELECT l.at FROM ledger l WHERE l.account = a.id ORDER BY l.at DESC LIMIT 1), 0)"
    " FROM account a INDEXED BY account_open JOIN batch b ON b.id = a.id JOIN entry e ON e.id = a.id LEFT "
    "JOIN vessel v ON v.id = a.place"
    " WHERE a.kind = 4 AND (a.volume <> 0 OR a.moves = 0) AND a.id < ?1 ORDER BY a.id DESC LIMIT ?2";
static const char batches_all[] =
    "SELECT a.id, b.name, a.place, coalesce(v.name, ''), e.at, a.came, a.added, a.lost, a.went, a.found, "
    "a.volume,"
    " coalesce((SELECT l.at FROM ledger l WHERE l.account = a.id ORDER BY l.at DESC LIMIT 1), 0)"
    " FROM account a INDEXED BY account_kind JOIN batch b ON b.id = a.id JOIN entry e ON e.id = a.id LEFT "
    "JOIN vessel v ON v.id = a.place"
    " WHERE a.kind = 4 AND a.id < ?1 ORDER BY a.id DESC LIMIT ?2";

OwStatus ow_logbook_batches(OwLogbook *book, bool with_done, int64_t before_id, int limit, OwArena *arena,
                            OwLogBatchRow **rows, int *count, OwFaults *faults) {
    if (book == NULL || arena == NULL || rows == NULL || count == NULL || limit < 0) {
        return OW_ERROR_USE;
    }
    const OwStatus status = ow_log_begin(book, false, faults);
    if (status != OW_OK) {
        return status;
    }
    OwRows found = {.arena = arena, .size = sizeof(OwLogBatchRow)};
    sqlite3_stmt *stmt = ow_log_sql(book, with_done ? batches_all : batches_open);
    int code = ow_log_step(
        book, stmt, 2, (const int64_t[]){before_id <= 0 ? INT64_MAX : before_id, limit == 0 ? 100 : limit});
    for (; code == SQLITE_ROW; code = sqlite3_step(stmt)) {
        OwLogBatchRow *row = ow_log_rows_next(&found);
        if (row == NULL || (row->name = ow_log_column_text(stmt, 1, arena)) == NULL ||
            (row->vessel_name = ow_log_column_text(stmt, 3, arena)) == NULL) {
            code = SQLITE_NOMEM;
            break;
        }
        row->id = sqlite3_column_int64(stmt, 0);
        row->vessel = sqlite3_column_int64(stmt, 2);
        row->started_s = sqlite3_column_int64(stmt, 4);
        row->in_m3 = OW_VOLUME_M3(sqlite3_column_int64(stmt, 5));
        row->added_m3 = OW_VOLUME_M3(sqlite3_column_int64(stmt, 6));
        row->lost_m3 = OW_VOLUME_M3(sqlite3_column_int64(stmt, 7));
        row->out_m3 = OW_VOLUME_M3(sqlite3_column_int64(stmt, 8));
        row->found_m3 = OW_VOLUME_M3(sqlite3_column_int64(stmt, 9));
        row->volume_m3 = OW_VOLUME_M3(sqlite3_column_int64(stmt, 10));
        row->last_s = sqlite3_column_int64(stmt, 11);
        const int worked = add_work(book, row);
        if (worked != SQLITE_OK) {
            code = worked;
            break;
        }
    }
    *rows = found.items;
    *count = found.count;
    return ow_log_end_view(book, code, faults);
}
_Static_assert(OW_LOG_STEP == 6 && OW_LOG_TEST == 7 && OW_LOG_PICKUP == 5,
               "the statements above name these kinds");
