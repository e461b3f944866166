// SPDX-License-Identifier: GPL-3.0-or-later
// A file of the first layout, made from its SQL text, comes up to date without loss; the present layout has a
// column for every field; the plans of the views use indices.
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>
#include <cmocka.h>

#include "logbook/impl.h"
#include "support.h"

/// The layout of version 1 as it was given out, with one of everything, an undo and a name used twice.
static const char version_1[] =
    "PRAGMA application_id = 1331121218; PRAGMA user_version = 1; PRAGMA journal_mode = WAL;"
    "CREATE TABLE entry(id INTEGER PRIMARY KEY, kind INTEGER NOT NULL, at INTEGER NOT NULL, made INTEGER NOT "
    "NULL) STRICT;"
#define OF_ENTRY "(id INTEGER PRIMARY KEY REFERENCES entry(id), "
#define REF "INTEGER REFERENCES entry(id)"
    "CREATE TABLE source" OF_ENTRY "name TEXT, place TEXT, contact TEXT, note TEXT) STRICT;"
    "CREATE TABLE vessel" OF_ENTRY "name TEXT, use INTEGER, capacity INTEGER, place TEXT, note TEXT) STRICT;"
    "CREATE TABLE vehicle" OF_ENTRY "name TEXT, rig TEXT, note TEXT) STRICT;"
    "CREATE TABLE batch" OF_ENTRY "name TEXT, \"from\" " REF ", volume INTEGER, vessel " REF
    ", work INTEGER, note TEXT) STRICT;"
    "CREATE TABLE pickup" OF_ENTRY "source " REF ", volume INTEGER, \"into\" " REF
    ", price INTEGER, work INTEGER, note TEXT) STRICT;"
    "CREATE TABLE step" OF_ENTRY "batch " REF
    ", what INTEGER, temperature INTEGER, time INTEGER, loss INTEGER,"
    " waste INTEGER, added INTEGER, addition TEXT, cost INTEGER, work INTEGER, note TEXT) STRICT;"
    "CREATE TABLE test" OF_ENTRY "\"of\" " REF
    ", acid INTEGER, water INTEGER, solids INTEGER, viscosity INTEGER,"
    " temperature INTEGER, density INTEGER, decision INTEGER, cost INTEGER, work INTEGER, note TEXT) STRICT;"
    "CREATE TABLE move" OF_ENTRY "\"from\" " REF ", \"to\" " REF
    ", volume INTEGER, work INTEGER, note TEXT) STRICT;"
    "CREATE TABLE waste" OF_ENTRY "what INTEGER, volume INTEGER, taker TEXT, document TEXT, \"from\" " REF
    ", cost INTEGER, work INTEGER, note TEXT) STRICT;"
    "CREATE TABLE fill" OF_ENTRY "vehicle " REF ", oil INTEGER, \"from\" " REF
    ", odometer INTEGER, diesel INTEGER, price INTEGER, work INTEGER, note TEXT) STRICT;"
    "CREATE TABLE odometer" OF_ENTRY "vehicle " REF ", odometer INTEGER, note TEXT) STRICT;"
    "CREATE TABLE filter" OF_ENTRY "vehicle " REF
    ", filter TEXT, reason INTEGER, odometer INTEGER, before INTEGER,"
    " after INTEGER, temperature INTEGER, price INTEGER, work INTEGER, note TEXT) STRICT;"
    "CREATE TABLE repair" OF_ENTRY "vehicle " REF
    ", what INTEGER, detail TEXT, odometer INTEGER, cost INTEGER, work INTEGER, note TEXT) STRICT;"
    "CREATE TABLE expense" OF_ENTRY "what INTEGER, amount INTEGER, vehicle " REF
    ", detail TEXT, work INTEGER, note TEXT) STRICT;"
    "CREATE TABLE undo" OF_ENTRY "entry INTEGER NOT NULL UNIQUE REFERENCES entry(id), why TEXT) STRICT;";
static const char contents_1[] =
    "INSERT INTO entry VALUES(1, 2, 1000, 1000), (2, 18, 1001, 1001), (3, 1, 1002, 1002), (4, 2, 1003, "
    "1003), (5, 3, 1004, 1004),"
    " (6, 5, 2000, 2001), (7, 4, 3000, 3000), (8, 6, 4000, 4000), (9, 7, 5000, 5000), (10, 8, 6000, 6000), "
    "(11, 11, 7000, 7000),"
    " (12, 12, 8000, 8000), (13, 13, 9000, 9000), (14, 15, 9500, 9500), (15, 16, 9600, 9600), (16, 17, 9700, "
    "9700),"
    " (17, 12, 9800, 9800), (18, 18, 9900, 9900);"
    "INSERT INTO vessel(id, name) VALUES(1, 'drum'); INSERT INTO undo VALUES(2, 1, 'twice');"
    "INSERT INTO source(id, name, place) VALUES(3, 'Plum kitchen', 'Mill lane');"
    "INSERT INTO vessel(id, name, capacity) VALUES(4, 'drum', 200000000);"
    "INSERT INTO vehicle(id, name, rig) VALUES(5, 'van', 'orchard-van.yaml');"
    "INSERT INTO pickup VALUES(6, 3, 60000000, 4, 500, 1800000, 'two bins');"
    "INSERT INTO batch VALUES(7, 'b1', 4, 50000000, 4, NULL, NULL);"
    "INSERT INTO step(id, batch, what, loss, waste) VALUES(8, 7, 0, 2000000, 1);"
    "INSERT INTO test(id, \"of\", solids, decision) VALUES(9, 7, 30000, 0);"
    "INSERT INTO move VALUES(10, 7, 4, 40000000, NULL, NULL);"
    "INSERT INTO waste(id, what, volume) VALUES(11, 1, 1500000);"
    "INSERT INTO fill(id, vehicle, oil, \"from\", odometer, price) VALUES(12, 5, 30000000, 4, 100000000000, "
    "0);"
    "INSERT INTO odometer VALUES(13, 5, 100250000000, NULL);"
    "INSERT INTO filter(id, vehicle, filter, reason, odometer) VALUES(14, 5, 'final filter', 0, "
    "100300000000);"
    "INSERT INTO repair(id, vehicle, what, cost) VALUES(15, 5, 1, 4500);"
    "INSERT INTO expense(id, what, amount) VALUES(16, 2, 900);"
    "INSERT INTO fill(id, vehicle, oil, \"from\") VALUES(17, 5, 1000000, 4); INSERT INTO undo VALUES(18, 17, "
    "NULL);";

static void make_old(const char *path) {
    sqlite3 *db = NULL;
    assert_int_equal(sqlite3_open(path, &db), SQLITE_OK);
    char *why = NULL;
    if (sqlite3_exec(db, version_1, NULL, NULL, &why) != SQLITE_OK ||
        sqlite3_exec(db, contents_1, NULL, NULL, &why) != SQLITE_OK) {
        fail_msg("%s", why);
    }
    assert_int_equal(sqlite3_close(db), SQLITE_OK);
}

static void an_old_file_comes_up_to_date(void **state) {
    (void)state;
    char folder[256], path[512];
    folder_make(folder);
    make_old(path_in(path, folder, "old.owlog"));
    OwLogbook *book = NULL;
    OwFaults faults = {0};
    assert_int_equal(ow_logbook_open(path, OW_LOG_READ, &book, &faults), OW_ERROR_READ);
    assert_true(has_fault(&faults, "open it to write once"));
    ow_faults_clear(&faults);
    book = open_book(path, OW_LOG_WRITE);
    check_sound(book);
    OwArena *arena = ow_arena_create();
    // All entries, word for word.
    OwLogList list;
    assert_int_equal(
        ow_logbook_list(book, &(OwLogFilter){.with_undone = true, .limit = 100}, arena, &list, NULL), OW_OK);
    assert_int_equal(list.count, 18);
    OwLogEntry e;
    assert_int_equal(ow_logbook_entry(book, 6, arena, &e, NULL), OW_OK);
    assert_true(e.kind == OW_LOG_PICKUP && e.at_s == 2000 && e.made_s == 2001);
    assert_true(e.values[ow_log_field_of(OW_LOG_PICKUP, "volume")].si == 0.06);
    assert_true(e.values[ow_log_field_of(OW_LOG_PICKUP, "work")].si == 1800);
    assert_int_equal(e.values[ow_log_field_of(OW_LOG_PICKUP, "price")].number, 500);
    assert_string_equal(e.values[ow_log_field_of(OW_LOG_PICKUP, "into")].text, "drum");
    assert_string_equal(e.values[ow_log_field_of(OW_LOG_PICKUP, "note")].text, "two bins");
    assert_false(e.values[ow_log_field_of(OW_LOG_PICKUP, "distance")].is_set);
    // And the views of them.
    OwLogVesselRow *vessels = NULL;
    int count = 0;
    assert_int_equal(ow_logbook_vessels(book, arena, &vessels, &count, NULL), OW_OK);
    assert_int_equal(count, 1);
    assert_true(vessels[0].id == 4 && vessels[0].own_m3 == 0.020 && vessels[0].level_m3 == 0.028 &&
                vessels[0].batches == 1);
    OwLogTotals t;
    assert_int_equal(ow_logbook_totals(book, 0, 0, 0, &t, NULL), OW_OK);
    assert_true(t.filled_m3 == 0.030 && t.oil_changes == 1 && t.spent_all == 5900 && t.distance_m == 300000);
    assert_int_equal(ow_logbook_list(book, &(OwLogFilter){.text = "mill"}, arena, &list, NULL), OW_OK);
    assert_int_equal(list.count, 1);
    // It goes on as a present one, with what version 1 did not know.
    OwLogEntry gauge = entry_of(OW_LOG_GAUGE, 10000);
    set_text(&gauge, "vehicle", "van");
    set_text(&gauge, "filter", "final filter");
    set_si(&gauge, "reading", 12000);
    (void)add(book, gauge);
    check_sound(book);
    ow_arena_destroy(&arena);
    ow_logbook_close(&book);
    // An old backup is brought up to date as it comes back; the backup stays old.
    char old[512];
    (void)unlink(path);
    make_old(path_in(old, folder, "backup.owlog"));
    assert_int_equal(ow_logbook_restore(old, path, NULL, 0, NULL), OW_OK);
    book = open_book(path, OW_LOG_READ);
    check_sound(book);
    ow_logbook_close(&book);
    assert_int_equal(ow_logbook_open(old, OW_LOG_READ, &book, NULL), OW_ERROR_READ);
    folder_drop(folder);
}

static void an_old_file_that_cannot_change_stays_old(void **state) {
    (void)state;
    char folder[256], path[512];
    folder_make(folder);
    make_old(path_in(path, folder, "old.owlog"));
    sqlite3 *db = NULL; // a kind that version 2 cannot read stops the migration in its middle
    assert_int_equal(sqlite3_open(path, &db), SQLITE_OK);
    assert_int_equal(sqlite3_exec(db, "INSERT INTO entry VALUES(19, 44, 9999, 9999)", NULL, NULL, NULL),
                     SQLITE_OK);
    (void)sqlite3_close(db);
    OwLogbook *book = NULL;
    OwFaults faults = {0};
    assert_int_equal(ow_logbook_open(path, OW_LOG_WRITE, &book, &faults), OW_ERROR_READ);
    assert_true(has_fault(&faults, "damaged"));
    ow_faults_clear(&faults);
    assert_int_equal(sqlite3_open(path, &db), SQLITE_OK);
    sqlite3_stmt *stmt = NULL;
    assert_int_equal(
        sqlite3_prepare_v2(
            db,
            "SELECT (SELECT user_version FROM pragma_user_version), (SELECT count(*) FROM sqlite_schema WHERE"
            " name = 'tally'), (SELECT count(*) FROM pragma_table_info('fill') WHERE name = 'full')",
            -1, &stmt, NULL),
        SQLITE_OK);
    assert_int_equal(sqlite3_step(stmt), SQLITE_ROW);
    assert_int_equal(sqlite3_column_int(stmt, 0), 1);
    assert_int_equal(sqlite3_column_int(stmt, 1), 0);
    assert_int_equal(sqlite3_column_int(stmt, 2), 0);
    (void)sqlite3_finalize(stmt);
    (void)sqlite3_close(db);
    folder_drop(folder);
}

/// Version 2 lacked what tells of a replaced odometer, and nothing else.
static void a_file_of_version_2_learns_of_new_odometers(void **state) {
    (void)state;
    char folder[256], path[512];
    folder_make(folder);
    OwLogbook *book = open_book(path_in(path, folder, "two.owlog"), OW_LOG_CREATE);
    const int64_t van = add_thing(book, OW_LOG_VEHICLE, "van", 1000);
    OwLogEntry e = entry_of(OW_LOG_ODOMETER, 2000);
    set_number(&e, "vehicle", van);
    set_si(&e, "odometer", 182000e3);
    const int64_t first = add(book, e);
    ow_logbook_close(&book);
    sqlite3 *db = NULL;
    assert_int_equal(sqlite3_open(path, &db), SQLITE_OK);
    char *why = NULL;
    if (sqlite3_exec(
            db,
            "DROP TABLE swapped; ALTER TABLE odometer DROP COLUMN \"new\"; ALTER TABLE odometer DROP "
            "COLUMN old; PRAGMA user_version = 2",
            NULL, NULL, &why) != SQLITE_OK) {
        fail_msg("%s", why);
    }
    assert_int_equal(sqlite3_close(db), SQLITE_OK);
    assert_int_equal(ow_logbook_open(path, OW_LOG_READ, &book, NULL), OW_ERROR_READ);
    book = open_book(path, OW_LOG_WRITE);
    check_sound(book);
    OwArena *arena = ow_arena_create();
    OwLogEntry kept;
    assert_int_equal(ow_logbook_entry(book, first, arena, &kept, NULL), OW_OK);
    assert_true(kept.values[ow_log_field_of(OW_LOG_ODOMETER, "odometer")].si == 182000e3 &&
                !kept.values[ow_log_field_of(OW_LOG_ODOMETER, "new")].is_set);
    e.at_s = 3000;
    set_si(&e, "odometer", 0);
    set_si(&e, "old", 182300e3);
    (void)add(book, e);
    OwLogTotals t;
    assert_int_equal(ow_logbook_totals(book, 0, 0, 0, &t, NULL), OW_OK);
    assert_true(t.distance_m == 300e3);
    check_sound(book);
    ow_arena_destroy(&arena);
    ow_logbook_close(&book);
    folder_drop(folder);
}

static void every_field_has_its_column(void **state) {
    (void)state;
    char folder[256], path[512];
    folder_make(folder);
    OwLogbook *book = open_book(path_in(path, folder, "fields.owlog"), OW_LOG_CREATE);
    for (int k = 1; k < OW_LOG_KINDS; k++) {
        const OwLogKindRow *row = ow_log_kind((OwLogKind)k);
        assert_true(row->field_count <= OW_LOG_FIELDS);
        assert_true(!row->is_thing || strcmp(row->fields[0].key, "name") == 0);
        int matched = 0, columns = 0;
        char sql[96];
        (void)snprintf(sql, sizeof sql, "SELECT name, type FROM pragma_table_info('%s')", row->word);
        sqlite3_stmt *stmt = NULL;
        assert_int_equal(sqlite3_prepare_v2(book->db, sql, -1, &stmt, NULL), SQLITE_OK);
        while (sqlite3_step(stmt) == SQLITE_ROW) {
            const char *name = (const char *)sqlite3_column_text(stmt, 0),
                       *type = (const char *)sqlite3_column_text(stmt, 1);
            const int i = ow_log_field_of((OwLogKind)k, name);
            columns++;
            if (i >= 0) {
                assert_string_equal(type, row->fields[i].type == OW_LOG_TEXT ? "TEXT" : "INTEGER");
                matched++;
            }
        }
        (void)sqlite3_finalize(stmt);
        assert_int_equal(matched, row->field_count);
        assert_int_equal(columns, row->field_count + 1); // and the id
        for (int i = 0; i < row->field_count; i++) {
            const OwLogField *f = &row->fields[i];
            assert_true(f->doc[0] != '\0' && f->label[0] != '\0');
            if (f->type == OW_LOG_QUANTITY) { // the bounds are whole steps that a double holds
                assert_true(f->high / f->step < 9007199254740992.0 && f->low / f->step > -9007199254740992.0);
            }
        }
    }
    ow_logbook_close(&book);
    folder_drop(folder);
}

// ---- Plans

/// Every statement that any view has prepared is explained; a scan of a table that grows with the entries is
/// a fault.
static void explain(sqlite3 *db, const char *sql, int *explained) {
    static const char *const growing[] = {"entry",   "ledger", "tally",    "link",  "odo",    "fuel",
                                          "worked",  "fitted", "pickup",   "batch", "step",   "test",
                                          "move",    "fill",   "odometer", "gauge", "filter", "repair",
                                          "expense", "undo",   "shift",    "level", "waste"};
    sqlite3_stmt *stmt = NULL;
    char *text = sqlite3_mprintf("EXPLAIN QUERY PLAN %s", sql);
    if (sqlite3_prepare_v2(db, text, -1, &stmt, NULL) == SQLITE_OK) {
        int sorts = 0;
        while (sqlite3_step(stmt) == SQLITE_ROW) {
            const char *line = (const char *)sqlite3_column_text(stmt, 3);
            for (size_t i = 0; i < sizeof growing / sizeof growing[0]; i++) {
                const size_t length = strlen(growing[i]);
                const char *alias = strncmp(line, "SCAN ", 5) == 0 ? line + 5 : "";
                // An index walked in order with a LIMIT is no full scan: the plan says USING INDEX.
                const bool is_named = strncmp(alias, growing[i], length) == 0 &&
                                      (alias[length] == '\0' || alias[length] == ' ');
                if ((is_named || (alias[0] != '\0' && (alias[1] == '\0' || alias[1] == ' '))) &&
                    strstr(line, "USING") == NULL && strstr(line, "SCAN w VIRTUAL") == NULL) {
                    fail_msg("%s: %s", line, sql);
                }
            }
            sorts += strstr(line, "USE TEMP B-TREE FOR ORDER BY") != NULL ? 1 : 0;
            (*explained)++;
        }
        // Lists by kind sort what each kind gave, a page a kind at most; names are few.
        if (sorts > (strncmp(sql, "SELECT id FROM (", 16) == 0 ? 1 : 0) && strstr(sql, "FROM name") == NULL) {
            fail_msg("sorted: %s", sql);
        }
    }
    (void)sqlite3_finalize(stmt);
    sqlite3_free(text);
}

static int trace(unsigned what, void *context, void *stmt, void *x) {
    (void)what;
    (void)x;
    char(*texts)[1500] = context;
    const char *sql = sqlite3_sql(stmt);
    for (int i = 0; i < 200 && sql != NULL; i++) {
        if (strcmp(texts[i], sql) == 0) {
            break;
        }
        if (texts[i][0] == '\0') {
            (void)snprintf(texts[i], sizeof texts[i], "%s", sql);
            break;
        }
    }
    return 0;
}

static void the_views_use_indices(void **state) {
    (void)state;
    static char texts[200][1500];
    char folder[256], path[512];
    folder_make(folder);
    OwLogbook *book = open_book(path_in(path, folder, "plans.owlog"), OW_LOG_CREATE);
    Yard yard = {.state = 11};
    make_things(book, &yard);
    for (int i = 0; i < 300; i++) {
        (void)add_random(book, &yard);
    }
    assert_int_equal(sqlite3_trace_v2(book->db, SQLITE_TRACE_STMT, trace, texts), SQLITE_OK);
    OwArena *arena = ow_arena_create();
    const OwLogFilter filters[] = {
        {.limit = 10},
        {.kinds = 1u << OW_LOG_FILL},
        {.kinds = (1u << OW_LOG_FILL) | (1u << OW_LOG_PICKUP), .from_s = 1700000000},
        {.thing = yard.vehicles[0], .before_at_s = 1800000000, .before_id = 99},
        {.with_undone = true, .before_at_s = 1800000000, .before_id = 99},
        {.text = "diesel"},
    };
    OwLogList list;
    for (size_t i = 0; i < sizeof filters / sizeof filters[0]; i++) {
        assert_int_equal(ow_logbook_list(book, &filters[i], arena, &list, NULL), OW_OK);
    }
    OwLogVesselRow *vessels = NULL;
    OwLogBatchRow *batches = NULL;
    OwLogVehicleRow *vehicles = NULL;
    OwLogFilterRow *lives = NULL;
    OwLogSourceRow *sources = NULL;
    OwLogTotals totals;
    OwLogTrace t;
    int count = 0;
    assert_int_equal(ow_logbook_vessels(book, arena, &vessels, &count, NULL), OW_OK);
    assert_int_equal(ow_logbook_batches(book, false, 0, 0, arena, &batches, &count, NULL), OW_OK);
    assert_int_equal(ow_logbook_batches(book, true, 0, 0, arena, &batches, &count, NULL), OW_OK);
    assert_int_equal(ow_logbook_vehicles(book, arena, &vehicles, &count, NULL), OW_OK);
    assert_int_equal(ow_logbook_filters(book, 0, 0, arena, &lives, &count, NULL), OW_OK);
    assert_int_equal(ow_logbook_filters(book, yard.vehicles[0], 0, arena, &lives, &count, NULL), OW_OK);
    assert_int_equal(ow_logbook_sources(book, arena, &sources, &count, NULL), OW_OK);
    assert_int_equal(ow_logbook_totals(book, 1700001234, 1704005678, 0, &totals, NULL), OW_OK);
    assert_int_equal(ow_logbook_totals(book, 1700001234, 1704005678, yard.vehicles[0], &totals, NULL), OW_OK);
    for (int i = 0; i < 4; i++) {
        assert_int_equal(ow_logbook_trace_back(book, yard.vessels[i], 0, arena, &t, NULL), OW_OK);
        assert_int_equal(ow_logbook_trace_back(book, yard.vessels[i], 1701000000, arena, &t, NULL), OW_OK);
    }
    if (yard.batch_count > 0) {
        assert_int_equal(ow_logbook_trace_forward(book, yard.batches[0], arena, &t, NULL), OW_OK);
    }
    for (int i = 0; i < 30; i++) { // and adding
        (void)add_random(book, &yard);
    }
    (void)sqlite3_trace_v2(book->db, 0, NULL, NULL);
    ow_log_rest(book);
    int explained = 0, seen = 0;
    for (; seen < 200 && texts[seen][0] != '\0'; seen++) {
        if (strncmp(texts[seen], "--", 2) != 0) {
            explain(book->db, texts[seen], &explained);
        }
    }
    assert_true(seen > 50 && seen < 200 && explained > 60);
    ow_arena_destroy(&arena);
    ow_logbook_close(&book);
    folder_drop(folder);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(an_old_file_comes_up_to_date),
        cmocka_unit_test(an_old_file_that_cannot_change_stays_old),
        cmocka_unit_test(a_file_of_version_2_learns_of_new_odometers),
        cmocka_unit_test(every_field_has_its_column),
        cmocka_unit_test(the_views_use_indices),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
