// SPDX-License-Identifier: GPL-3.0-or-later
// The walk itself. A vessel is taken as stirred through: what flows out has the make-up of what is in. Going
// back, an inflow of volume V that left the level L explains the share V / L of what was there afterwards;
// going forward, an outflow V from a level L carries the share V / L of what is followed. Both are exact for
// that model.
#include "logbook/trace.h"

static OwPool *pool_of(OwWalk *walk, int64_t account) {
    OwPool *pools = walk->pools.items;
    for (int i = 0; i < walk->pools.count; i++) {
        if (pools[i].account == account) {
            return &pools[i];
        }
    }
    return NULL;
}

/// Reads the rows beyond (at, entry, part) in the order of the walk.
static void read_on(OwWalk *walk, OwPool *pool, int64_t at_s, int64_t entry, int64_t part) {
    sqlite3_stmt *stmt =
        walk->is_forward
            ? ow_log_sql(walk->book,
                         "SELECT at, entry, part, change, other, cause FROM ledger WHERE account = ?1"
                         " AND (at, entry, part) > (?2, ?3, ?4) ORDER BY at, entry, part LIMIT 32")
            : ow_log_sql(
                  walk->book,
                  "SELECT at, entry, part, change, other, cause FROM ledger WHERE account = ?1"
                  " AND (at, entry, part) < (?2, ?3, ?4) ORDER BY at DESC, entry DESC, part DESC LIMIT 32");
    int code = ow_log_step(walk->book, stmt, 4, (const int64_t[]){pool->account, at_s, entry, part});
    pool->next = pool->count = 0;
    for (; code == SQLITE_ROW; code = sqlite3_step(stmt)) {
        pool->rows[pool->count++] = (OwFlow){.at_s = sqlite3_column_int64(stmt, 0),
                                             .entry = sqlite3_column_int64(stmt, 1),
                                             .part = sqlite3_column_int(stmt, 2),
                                             .change = sqlite3_column_int64(stmt, 3),
                                             .other = sqlite3_column_int64(stmt, 4),
                                             .cause = (OwCause)sqlite3_column_int(stmt, 5)};
    }
    pool->has_ended = pool->count < 32;
    walk->code = walk->code == SQLITE_OK && code != SQLITE_DONE ? code : walk->code;
}

static void read_test(OwWalk *walk, OwPool *pool, int64_t at_s, int64_t entry) {
    sqlite3_stmt *stmt = ow_log_sql(
        walk->book, "SELECT w.at, w.entry, t.solids FROM worked w CROSS JOIN test t ON t.id = w.entry"
                    " WHERE w.account = ?1 AND w.kind = 7 AND (w.at, w.entry) <= (?2, ?3)"
                    " AND t.solids IS NOT NULL ORDER BY w.at DESC, w.entry DESC LIMIT 1");
    const int code = ow_log_step(walk->book, stmt, 3, (const int64_t[]){pool->account, at_s, entry});
    pool->has_test = code == SQLITE_ROW;
    if (pool->has_test) {
        pool->test_at = sqlite3_column_int64(stmt, 0);
        pool->test_entry = sqlite3_column_int64(stmt, 1);
        pool->solids = (double)sqlite3_column_int64(stmt, 2) / 1e9;
    } else if (code != SQLITE_DONE) {
        walk->code = code;
    }
}

/// The part of a draw that the pool did not hold by the book: nobody knows where it came from.
static double not_held(const OwPool *pool, int64_t entry, int64_t drawn) {
    const bool is_ahead = pool->next < pool->count && pool->rows[pool->next].entry == entry;
    const int64_t after = is_ahead ? pool->level : pool->level - drawn;
    return after >= 0 ? 0.0 : -after >= drawn ? 1.0 : -(double)after / (double)drawn;
}

void ow_walk_enter(OwWalk *walk, int64_t account, int64_t at_s, int64_t entry, int64_t drawn, double weight) {
    OwPool *pool = pool_of(walk, account);
    if (walk->code != SQLITE_OK) {
        return;
    }
    if (account == 0) {
        walk->unknown += weight;
        return;
    }
    if (pool == NULL) {
        pool = ow_log_rows_next(&walk->pools);
        if (pool == NULL) {
            walk->code = SQLITE_NOMEM;
            return;
        }
        pool->account = account;
        int64_t undone = 0;
        const int code = ow_log_state(walk->book, account, &pool->kind, &undone);
        if (code != SQLITE_OK) {
            walk->code = code == SQLITE_DONE ? SQLITE_CORRUPT : code;
            return;
        }
    }
    if (pool->weight == 0.0 && !pool->is_whole) { // new, or left behind: find its place again
        pool->level = ow_log_level_at(walk->book, account, at_s, entry, &walk->code);
        read_on(walk, pool, at_s, entry, INT32_MAX);
        if (walk->wants_solids) {
            read_test(walk, pool, at_s, entry);
        }
    }
    const double lost = !walk->is_forward && drawn > 0 ? weight * not_held(pool, entry, drawn) : 0.0;
    walk->unknown += lost;
    weight -= lost;
    if (!pool->is_whole) {
        pool->weight += weight;
    }
    pool->passed += weight;
}

void ow_walk_part(OwWalk *walk, OwLogKind kind, int64_t id, int64_t at_s, double weight) {
    OwLogShare *part = ow_log_rows_next(&walk->parts);
    if (part == NULL) {
        walk->code = SQLITE_NOMEM;
        return;
    }
    *part = (OwLogShare){.id = id, .kind = kind, .at_s = at_s, .share = weight, .name = ""};
}

/// What goes the same way back and forward: levels measured, moves, and what nobody can follow.
static void follow(OwWalk *walk, const OwFlow *row, double moved) {
    switch (row->cause) {
    case OW_CAUSE_FOUND:
        ow_walk_part(walk, OW_LOG_LEVEL, row->entry, row->at_s, moved);
        break;
    case OW_CAUSE_MOVE:
        ow_walk_enter(walk, row->other, row->at_s, row->entry, row->change, moved);
        break;
    default:
        walk->unknown += moved;
        break;
    }
}

static void step_back(OwWalk *walk, OwPool *pool, const OwFlow *row) {
    const int64_t after = pool->level, before = after - row->change;
    pool->level = before;
    if (row->change <= 0) {
        return;
    }
    double moved = pool->weight;
    if (after <= 0) { // the book fell below nothing: what was there is not known
        walk->unknown += moved;
        pool->weight = 0.0;
        return;
    }
    if (before > 0) {
        moved *= (double)row->change / (double)after;
    }
    pool->weight = before > 0 ? pool->weight - moved : 0.0;
    switch (row->cause) {
    case OW_CAUSE_PICKUP:
        ow_walk_part(walk, OW_LOG_PICKUP, row->entry, row->at_s, moved);
        break;
    case OW_CAUSE_ADDED:
        ow_walk_part(walk, OW_LOG_STEP, row->entry, row->at_s, moved);
        break;
    default:
        follow(walk, row, moved);
        break;
    }
}

static void step_forward(OwWalk *walk, OwPool *pool, const OwFlow *row) {
    const int64_t before = pool->level, after = before + row->change;
    pool->level = after;
    if (row->change >= 0) {
        if (pool->is_whole) {
            walk->total += (double)row->change;
            pool->weight += (double)row->change;
        }
        return;
    }
    const double out = -(double)row->change;
    const double moved =
        before <= 0 || out >= (double)before ? pool->weight : pool->weight * out / (double)before;
    pool->weight = moved == pool->weight ? 0.0 : pool->weight - moved;
    switch (row->cause) {
    case OW_CAUSE_FILL:
        ow_walk_part(walk, OW_LOG_VEHICLE, row->other, row->at_s, moved);
        break;
    case OW_CAUSE_LOSS:
        ow_walk_part(walk, OW_LOG_STEP, row->entry, row->at_s, moved); // or a waste: told apart when named
        break;
    default:
        follow(walk, row, moved);
        break;
    }
}

/// Whether a pool still has something to follow; reads on when its rows are used up.
static bool is_active(OwWalk *walk, OwPool *pool) {
    if (pool->weight <= 0.0 && !pool->is_whole) {
        return false;
    }
    if (!pool->is_whole && pool->weight < OW_TRACE_LEAST * walk->total) {
        walk->unknown += pool->weight;
        pool->weight = 0.0;
        return false;
    }
    if (pool->next == pool->count && !pool->has_ended) {
        const OwFlow last = pool->rows[pool->count - 1];
        read_on(walk, pool, last.at_s, last.entry, last.part);
    }
    return pool->next < pool->count || (walk->wants_solids && pool->has_test);
}

/// The test of a pool comes before its next row on the way back.
static bool is_test_next(const OwPool *pool) {
    if (!pool->has_test) {
        return false;
    }
    if (pool->next == pool->count) {
        return true;
    }
    const OwFlow *row = &pool->rows[pool->next];
    return pool->test_at > row->at_s || (pool->test_at == row->at_s && pool->test_entry > row->entry);
}

static bool comes_first(const OwWalk *walk, const OwPool *a, const OwPool *b) {
    const bool at = is_test_next(a), bt = is_test_next(b);
    const int64_t a_at = at ? a->test_at : a->rows[a->next].at_s,
                  a_entry = at ? a->test_entry : a->rows[a->next].entry;
    const int64_t b_at = bt ? b->test_at : b->rows[b->next].at_s,
                  b_entry = bt ? b->test_entry : b->rows[b->next].entry;
    if (a_at != b_at) {
        return walk->is_forward ? a_at < b_at : a_at > b_at;
    }
    return walk->is_forward ? a_entry < b_entry : a_entry > b_entry;
}

/// What is left in the pools at the end: stands there (forward), or has no known beginning (back).
static void leave(OwWalk *walk) {
    for (int i = 0; i < walk->pools.count && walk->code == SQLITE_OK; i++) {
        OwPool *pool = &((OwPool *)walk->pools.items)[i];
        if (pool->weight > 0.0 && walk->is_forward && pool->next == pool->count && pool->has_ended) {
            ow_walk_part(walk, pool->kind, pool->account, 0, pool->weight);
        } else {
            walk->unknown += pool->weight;
        }
        pool->weight = 0.0;
    }
}

void ow_walk_run(OwWalk *walk) {
    while (walk->code == SQLITE_OK) {
        OwPool *first = NULL;
        for (int i = 0; i < walk->pools.count; i++) {
            OwPool *pool = &((OwPool *)walk->pools.items)[i];
            if (is_active(walk, pool) && (first == NULL || comes_first(walk, pool, first))) {
                first = pool;
            }
        }
        if (first == NULL || walk->code != SQLITE_OK) {
            break;
        }
        if (walk->events++ >= walk->bound) {
            walk->is_cut = true;
            break;
        }
        if (is_test_next(first)) {
            walk->solids_sum += first->weight * first->solids;
            walk->solids_known += first->weight;
            first->weight = 0.0;
            first->has_test = false;
            continue;
        }
        // A step may move the pools: the row is copied, and `first` is not used after.
        const OwFlow row = first->rows[first->next++];
        if (walk->is_forward) {
            step_forward(walk, first, &row);
        } else {
            step_back(walk, first, &row);
        }
    }
    leave(walk);
}

int ow_log_solids_at(OwLogbook *book, OwArena *arena, int64_t account, int64_t at_s, int64_t entry,
                     double *solids_kg_kg, double *known) {
    OwWalk walk = {.book = book,
                   .arena = arena,
                   .wants_solids = true,
                   .bound = 200,
                   .total = 1.0,
                   .pools = {.arena = arena, .size = sizeof(OwPool)},
                   .parts = {.arena = arena, .size = sizeof(OwLogShare)}};
    ow_walk_enter(&walk, account, at_s, entry, 0, 1.0);
    ow_walk_run(&walk);
    *known = walk.solids_known > 1.0 ? 1.0 : walk.solids_known;
    *solids_kg_kg = walk.solids_known > 0.0 ? walk.solids_sum / walk.solids_known : 0.0;
    return walk.code;
}
