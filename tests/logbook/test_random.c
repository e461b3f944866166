// SPDX-License-Identifier: GPL-3.0-or-later
// Random entries and undos, some of them late: running sums equal a fresh count, mass balances are exact,
// traces add up to one and agree with a plain simulation of stirred vessels.
#include <setjmp.h>
#include <math.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <cmocka.h>

#include "logbook/impl.h"
#include "support.h"

static int runs(int usual) {
    const char *text = getenv("OW_LOG_RUNS"); // fewer under sanitizers
    const int percent = text == NULL ? 100 : atoi(text);
    return usual * percent / 100 < 1 ? 1 : usual * percent / 100;
}

static void balances_are_exact(OwLogbook *book) {
    OwArena *arena = ow_arena_create();
    OwLogBatchRow *batches = NULL;
    int count = 0;
    assert_int_equal(ow_logbook_batches(book, true, 0, 1000, arena, &batches, &count, NULL), OW_OK);
    for (int i = 0; i < count; i++) {
        const OwLogBatchRow *b = &batches[i];
        const int64_t in = llround((b->in_m3 + b->added_m3 + b->found_m3) * 1e9);
        const int64_t out = llround((b->lost_m3 + b->out_m3 + b->volume_m3) * 1e9);
        assert_true(in == out); // whole microlitres, no tolerance
    }
    ow_arena_destroy(&arena);
}

/// All oil that ever came in is somewhere: in vessels, batches, vehicles or waste.
static void the_yard_balances(OwLogbook *book) {
    int code = SQLITE_OK;
    const int64_t sum =
        ow_log_number(book,
                      ow_log_sql(book, "SELECT (SELECT coalesce(sum(volume), 0) FROM pickup p WHERE p.id NOT "
                                       "IN (SELECT entry FROM undo))"
                                       " + (SELECT coalesce(sum(added), 0) - coalesce(sum(loss), 0) FROM "
                                       "step s WHERE s.id NOT IN (SELECT"
                                       " entry FROM undo)) + (SELECT coalesce(sum(change), 0) FROM level l "
                                       "WHERE l.id NOT IN (SELECT entry"
                                       " FROM undo)) - (SELECT coalesce(sum(volume), 0) FROM waste w WHERE "
                                       "w.\"from\" IS NOT NULL AND w.id"
                                       " NOT IN (SELECT entry FROM undo)) - (SELECT coalesce(sum(oil), 0) "
                                       "FROM fill f WHERE f.\"from\" IS"
                                       " NOT NULL AND f.id NOT IN (SELECT entry FROM undo)) - (SELECT "
                                       "coalesce(sum(volume), 0) FROM account)"),
                      0, NULL, -1, &code);
    assert_int_equal(code, SQLITE_OK);
    assert_int_equal(sum, 0);
    ow_log_rest(book);
}

static void totals_equal_a_plain_sum(OwLogbook *book, Yard *yard) {
    for (int i = 0; i < 6; i++) {
        const int64_t span = yard->now_s - 1700000000 + 10;
        const int64_t a = 1700000000 + (int64_t)roll(yard, (uint64_t)span),
                      b = 1700000000 + (int64_t)roll(yard, (uint64_t)span);
        const int64_t from = a < b ? a : b, to = a < b ? b : a;
        OwLogTotals t;
        assert_int_equal(ow_logbook_totals(book, from, to, 0, &t, NULL), OW_OK);
        int code = SQLITE_OK;
        const int64_t key[] = {from, to};
        const int64_t oil = ow_log_number(
            book,
            ow_log_sql(book, "SELECT coalesce(sum(f.oil), 0) FROM fill f JOIN entry e ON e.id = f.id"
                             " WHERE e.at >= ?1 AND e.at < ?2 AND f.id NOT IN (SELECT entry FROM undo)"),
            2, key, -1, &code);
        const int64_t lost = ow_log_number(
            book,
            ow_log_sql(book, "SELECT coalesce(sum(s.loss), 0) FROM step s JOIN entry e ON e.id = s.id"
                             " WHERE e.at >= ?1 AND e.at < ?2 AND s.id NOT IN (SELECT entry FROM undo)"),
            2, key, -1, &code);
        const int64_t from_vessels = ow_log_number(
            book,
            ow_log_sql(book,
                       "SELECT coalesce(sum(w.volume), 0) FROM waste w JOIN entry e ON e.id = w.id WHERE "
                       "w.\"from\" IS"
                       " NOT NULL AND e.at >= ?1 AND e.at < ?2 AND w.id NOT IN (SELECT entry FROM undo)"),
            2, key, -1, &code);
        assert_int_equal(llround(t.filled_m3 * 1e9), oil);
        assert_int_equal(llround(t.lost_m3 * 1e9), lost + from_vessels);
    }
    ow_log_rest(book);
}

// ---- A plain simulation: every account holds an amount of each pick-up; entries are played in order of
// time.

enum { ACCOUNTS = 128, ORIGINS = 4096 };
typedef struct Plain {
    int64_t accounts[ACCOUNTS], origins[ORIGINS];
    int account_count, origin_count;
    bool is_spoilt; ///< something fell below nothing: shares are then a matter of taste
    double *held;   ///< by account and origin
} Plain;

static int find(int64_t *items, int *count, int most, int64_t item) {
    for (int i = 0; i < *count; i++) {
        if (items[i] == item) {
            return i;
        }
    }
    assert_true(*count < most);
    items[*count] = item;
    return (*count)++;
}

static void play(Plain *p, OwLogbook *book) {
    sqlite3_stmt *rows = NULL;
    assert_int_equal(
        sqlite3_prepare_v2(
            book->db,
            "SELECT account, entry, change, other, cause FROM ledger ORDER BY at, entry, change, part", -1,
            &rows, NULL),
        SQLITE_OK);
    while (sqlite3_step(rows) == SQLITE_ROW) {
        double *mine =
            p->held +
            (size_t)find(p->accounts, &p->account_count, ACCOUNTS, sqlite3_column_int64(rows, 0)) * ORIGINS;
        const int64_t entry = sqlite3_column_int64(rows, 1), change = sqlite3_column_int64(rows, 2),
                      other = sqlite3_column_int64(rows, 3);
        const OwCause cause = (OwCause)sqlite3_column_int(rows, 4);
        double sum = 0.0;
        for (int i = 0; i < p->origin_count; i++) {
            sum += mine[i];
        }
        if (change > 0 && cause != OW_CAUSE_MOVE) {
            mine[find(p->origins, &p->origin_count, ORIGINS, entry)] += (double)change;
        } else if (change <
                   0) { // the row of the giver comes before that of the taker, for its change is below 0
            p->is_spoilt = p->is_spoilt || sum + 0.5 < (double)-change;
            const double share = sum > 0.0 ? fmin(1.0, (double)-change / sum) : 0.0;
            double *to =
                cause == OW_CAUSE_MOVE
                    ? p->held + (size_t)find(p->accounts, &p->account_count, ACCOUNTS, other) * ORIGINS
                    : NULL;
            for (int i = 0; i < p->origin_count; i++) {
                if (to != NULL) {
                    to[i] += mine[i] * share;
                }
                mine[i] -= mine[i] * share;
            }
        }
    }
    (void)sqlite3_finalize(rows);
}

static void compare_traces(OwLogbook *book, Yard *yard, int *compared) {
    Plain *p = calloc(1, sizeof *p);
    assert_non_null(p);
    p->held = calloc((size_t)ACCOUNTS * ORIGINS, sizeof(double));
    assert_non_null(p->held);
    play(p, book);
    for (int a = 0; a < p->account_count; a++) {
        OwArena *arena = ow_arena_create();
        OwLogTrace t;
        bool is_vessel = false;
        for (int v = 0; v < 4; v++) {
            is_vessel = is_vessel || yard->vessels[v] == p->accounts[a];
        }
        if (!is_vessel) { // of a vessel the trace takes in its batches as well
            assert_int_equal(ow_logbook_trace_back(book, p->accounts[a], 0, arena, &t, NULL), OW_OK);
            double shares = t.unknown;
            for (int i = 0; i < t.part_count; i++) {
                assert_true(isfinite(t.parts[i].share) && t.parts[i].share >= 0.0);
                shares += t.parts[i].share;
            }
            if (t.volume_m3 > 0.0) {
                assert_true(fabs(shares - 1.0) < 1e-9);
            }
            for (int i = 0; i < t.part_count && !p->is_spoilt && !t.is_cut; i++) {
                int known = p->origin_count;
                const int o = find(p->origins, &known, ORIGINS, t.parts[i].id);
                const double held = p->held[(size_t)a * ORIGINS + (size_t)o] / 1e9;
                assert_true(fabs(held - t.parts[i].volume_m3) <
                            1e-4 * t.volume_m3 + 2e-9); // what is below 1e-6 goes to unknown at each step
                (*compared)++;
            }
        }
        ow_arena_destroy(&arena);
    }
    free(p->held);
    free(p);
}

static void sums_equal_a_fresh_count(void **state) {
    (void)state;
    int taken = 0;
    for (int run = 0; run < runs(12); run++) {
        char folder[256], path[512];
        folder_make(folder);
        OwLogbook *book = open_book(path_in(path, folder, "random.owlog"), OW_LOG_CREATE);
        assert_int_equal(ow_log_run(book, "PRAGMA synchronous = OFF"),
                         SQLITE_OK); // speed; safety is tested elsewhere
        Yard yard = {.state = (uint64_t)run};
        make_things(book, &yard);
        for (int i = 0; i < 400; i++) {
            const OwStatus status = add_random(book, &yard);
            assert_true(status == OW_OK || status == OW_ERROR_VALUE);
            taken += status == OW_OK ? 1 : 0;
        }
        check_sound(book);
        balances_are_exact(book);
        the_yard_balances(book);
        totals_equal_a_plain_sum(book, &yard);
        assert_int_equal(ow_logbook_rebuild(book, NULL), OW_OK);
        check_sound(book);
        int compared = 0;
        compare_traces(book, &yard, &compared);
        ow_logbook_close(&book);
        folder_drop(folder);
    }
    assert_true(taken > 100);
}

/// Vessels that never run dry: then every trace must equal the plain simulation.
static void traces_equal_a_plain_simulation(void **state) {
    (void)state;
    int compared = 0;
    for (int run = 0; run < runs(12); run++) {
        char folder[256], path[512];
        folder_make(folder);
        OwLogbook *book = open_book(path_in(path, folder, "stirred.owlog"), OW_LOG_CREATE);
        assert_int_equal(ow_log_run(book, "PRAGMA synchronous = OFF"), SQLITE_OK);
        Yard yard = {.state = (uint64_t)(run + 1000)};
        make_things(book, &yard);
        double held[8] = {0};
        int64_t places[8];
        memcpy(places, yard.vessels, sizeof yard.vessels);
        for (int i = 4; i < 8; i++) {
            char name[16];
            (void)snprintf(name, sizeof name, "b%d", i);
            places[i] = add_thing(book, OW_LOG_BATCH, name, yard.now_s);
        }
        for (int i = 0; i < 250; i++) {
            yard.now_s += 1000;
            const int a = (int)roll(&yard, 8), b = (int)roll(&yard, 8);
            const double most = floor(held[a] * 1e9) * 1e-9,
                         volume = roll(&yard, 12) == 0 ? most : floor(most * 1e6 * 0.3) * 1e-6;
            if (a == b || volume < 1e-4) {
                OwLogEntry e = entry_of(OW_LOG_PICKUP, yard.now_s);
                set_number(&e, "source", yard.sources[roll(&yard, 3)]);
                set_number(&e, "into", places[a]);
                set_si(&e, "volume", 0.02);
                (void)add(book, e);
                held[a] += 0.02;
            } else if (roll(&yard, 5) == 0) {
                OwLogEntry e = entry_of(OW_LOG_FILL, yard.now_s);
                set_number(&e, "vehicle", yard.vehicles[0]);
                set_number(&e, "from", places[a]);
                set_si(&e, "oil", volume);
                (void)add(book, e);
                held[a] -= volume;
            } else {
                OwLogEntry e = entry_of(OW_LOG_MOVE, yard.now_s);
                set_number(&e, "from", places[a]);
                set_number(&e, "to", places[b]);
                set_si(&e, "volume", volume);
                (void)add(book, e);
                held[a] -= volume;
                held[b] += volume;
            }
        }
        compare_traces(book, &yard, &compared);
        // Forward and back are two views of one thing: the pick-up's share of a batch is the same both ways.
        OwArena *arena = ow_arena_create();
        for (int i = 4; i < 8; i++) {
            OwLogTrace back, forth;
            assert_int_equal(ow_logbook_trace_back(book, places[i], 0, arena, &back, NULL), OW_OK);
            for (int k = 0; k < back.part_count && k < 5; k++) {
                assert_int_equal(ow_logbook_trace_forward(book, back.parts[k].id, arena, &forth, NULL),
                                 OW_OK);
                double found = 0.0, shares = forth.unknown;
                for (int j = 0; j < forth.part_count; j++) {
                    found = forth.parts[j].id == places[i] ? forth.parts[j].volume_m3 : found;
                    shares += forth.parts[j].share;
                }
                assert_true(fabs(shares - 1.0) < 1e-9);
                assert_true(fabs(found - back.parts[k].volume_m3) < 1e-3 * back.parts[k].volume_m3 + 1e-7);
            }
        }
        ow_arena_destroy(&arena);
        ow_logbook_close(&book);
        folder_drop(folder);
    }
    assert_true(compared > 100);
}

/// The check must see what it is there to see.
static void the_check_sees_damage(void **state) {
    (void)state;
    static const struct {
        const char *harm, *words;
    } harms[] = {
        {"UPDATE tally SET amount = amount + 1 WHERE owner = 0 AND amount > 0 AND level = 1",
         "tally: the running sums differ"},
        {"UPDATE account SET volume = volume + 1", "account: the running sums differ"},
        {"DELETE FROM ledger WHERE entry = (SELECT max(entry) FROM ledger)",
         "ledger: the running sums differ"},
        {"DELETE FROM name WHERE kind = 2", "name: the running sums differ"},
        {"DROP TRIGGER pickup_remains; PRAGMA foreign_keys = OFF; DELETE FROM pickup WHERE id = (SELECT "
         "max(id) FROM pickup)",
         "its values are missing"},
        {"DROP TRIGGER fill_stays; PRAGMA foreign_keys = OFF; UPDATE fill SET vehicle = 1 WHERE id = (SELECT "
         "max(id) FROM fill)",
         "of another kind"},
        {"DROP TRIGGER entry_remains; PRAGMA foreign_keys = OFF; DELETE FROM entry WHERE id = (SELECT "
         "max(id) FROM fill)",
         "refers to an entry that is not there"},
    };
    for (size_t i = 0; i < sizeof harms / sizeof harms[0]; i++) {
        char folder[256], path[512];
        folder_make(folder);
        OwLogbook *book = open_book(path_in(path, folder, "harm.owlog"), OW_LOG_CREATE);
        Yard yard = {.state = 5};
        make_things(book, &yard);
        for (int k = 0; k < 60; k++) {
            (void)add_random(book, &yard);
        }
        check_sound(book);
        assert_int_equal(ow_log_run(book, harms[i].harm), SQLITE_OK);
        OwFaults faults = {0};
        assert_int_equal(ow_logbook_check(book, &faults), OW_ERROR_VALUE);
        assert_true(has_fault(&faults, harms[i].words));
        ow_faults_clear(&faults);
        if (i < 4) {
            assert_int_equal(ow_logbook_rebuild(book, NULL), OW_OK);
            check_sound(book);
        }
        ow_logbook_close(&book);
        folder_drop(folder);
    }
}

/// The file itself refuses to change an entry.
static void entries_cannot_be_changed(void **state) {
    (void)state;
    char folder[256], path[512];
    folder_make(folder);
    OwLogbook *book = open_book(path_in(path, folder, "fixed.owlog"), OW_LOG_CREATE);
    Yard yard = {.state = 6};
    make_things(book, &yard);
    for (int k = 0; k < 60; k++) {
        (void)add_random(book, &yard);
    }
    for (int k = 0; k < OW_LOG_KINDS; k++) {
        char sql[128];
        const char *table = k == 0 ? "entry" : ow_log_kind((OwLogKind)k)->word;
        (void)snprintf(sql, sizeof sql, "SELECT count(*) FROM %s", table);
        sqlite3_stmt *stmt = NULL;
        assert_int_equal(sqlite3_prepare_v2(book->db, sql, -1, &stmt, NULL), SQLITE_OK);
        assert_int_equal(sqlite3_step(stmt), SQLITE_ROW);
        const int rows = sqlite3_column_int(stmt, 0);
        (void)sqlite3_finalize(stmt);
        if (rows > 0) {
            (void)snprintf(sql, sizeof sql, "UPDATE %s SET id = id", table);
            assert_int_equal(ow_log_run(book, sql), SQLITE_CONSTRAINT_TRIGGER);
            (void)snprintf(sql, sizeof sql, "DELETE FROM %s", table);
            assert_int_equal(ow_log_run(book, sql), SQLITE_CONSTRAINT_TRIGGER);
        }
    }
    check_sound(book);
    ow_logbook_close(&book);
    folder_drop(folder);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(sums_equal_a_fresh_count),
        cmocka_unit_test(traces_equal_a_plain_simulation),
        cmocka_unit_test(the_check_sees_damage),
        cmocka_unit_test(entries_cannot_be_changed),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
