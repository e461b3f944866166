// SPDX-License-Identifier: GPL-3.0-or-later
// The tables: what each version of the file added. A version that was ever given out is never edited; the
// next one is appended. A fresh file goes through the same steps as an old one.
#include "logbook/impl.h"

#include <stdio.h>

/// Version 1: entries of 14 kinds and undos. Column names are the keys of the fields.
static const char version_1[] =
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

/// Version 2: batches that shift, measured levels, gauges; drives, energy, full tanks; running sums and
/// search.
static const char version_2[] =
    "ALTER TABLE source ADD COLUMN distance INTEGER;"
    "ALTER TABLE pickup ADD COLUMN distance INTEGER;"
    "ALTER TABLE step ADD COLUMN energy INTEGER;"
    "ALTER TABLE fill ADD COLUMN \"full\" INTEGER;"
    "CREATE TABLE shift" OF_ENTRY "batch " REF ", vessel " REF ", work INTEGER, note TEXT) STRICT;"
    "CREATE TABLE level" OF_ENTRY "\"of\" " REF ", level INTEGER, change INTEGER, note TEXT) STRICT;"
    "CREATE TABLE gauge" OF_ENTRY "vehicle " REF
    ", filter TEXT, reading INTEGER, temperature INTEGER, odometer INTEGER, note TEXT) STRICT;"
    "CREATE INDEX entry_at ON entry(at, id);"
    "CREATE INDEX entry_kind ON entry(kind, at, id);"
    "CREATE TABLE link(thing INTEGER, kind INTEGER, at INTEGER, entry INTEGER, PRIMARY KEY(thing, kind, at, "
    "entry))"
    " STRICT, WITHOUT ROWID;"
    "CREATE VIRTUAL TABLE words USING fts5(text, content='', columnsize=0, detail=none);";

/// Version 3: odometers that were replaced.
static const char version_3[] = "ALTER TABLE odometer ADD COLUMN \"new\" INTEGER;"
                                "ALTER TABLE odometer ADD COLUMN old INTEGER;";

/// Running sums: all made from the entries, made again by ow_logbook_rebuild, and as TEMP tables for the
/// check. In steps (microlitres, milliseconds, millimetres) and hundredths: whole numbers, so that they are
/// exact.
static const char *const derived_tables[] = {
    // Names of live things.
    "name(name TEXT NOT NULL PRIMARY KEY COLLATE NOCASE, kind INTEGER NOT NULL, id INTEGER NOT NULL) STRICT, "
    "WITHOUT ROWID",
    // Every change of the volume of a vessel or batch.
    "ledger(account INTEGER, at INTEGER, entry INTEGER, part INTEGER, change INTEGER NOT NULL, other INTEGER "
    "NOT NULL,"
    " cause INTEGER NOT NULL, PRIMARY KEY(account, at, entry, part)) STRICT, WITHOUT ROWID",
    // A vessel or batch now: its volume and, by cause, what made it; where a batch stands.
    "account(id INTEGER PRIMARY KEY, kind INTEGER NOT NULL, volume INTEGER NOT NULL, came INTEGER NOT NULL,"
    " added INTEGER NOT NULL, lost INTEGER NOT NULL, went INTEGER NOT NULL, found INTEGER NOT NULL,"
    " moves INTEGER NOT NULL, place INTEGER NOT NULL) STRICT",
    // Sums a day (level 0) and 64 days (level 1), of all (owner 0), a vehicle, a source, an account.
    "tally(owner INTEGER, level INTEGER, bucket INTEGER, item INTEGER, amount INTEGER NOT NULL,"
    " PRIMARY KEY(owner, level, bucket, item)) STRICT, WITHOUT ROWID",
    "odo(vehicle INTEGER, at INTEGER, entry INTEGER, reading INTEGER NOT NULL, is_fill INTEGER NOT NULL,"
    " PRIMARY KEY(vehicle, at, entry)) STRICT, WITHOUT ROWID",
    "fuel(vehicle INTEGER, at INTEGER, entry INTEGER, account INTEGER NOT NULL, oil INTEGER NOT NULL,"
    " diesel INTEGER NOT NULL, PRIMARY KEY(vehicle, at, entry)) STRICT, WITHOUT ROWID",
    // Steps, tests and shifts of a batch or vessel.
    "worked(account INTEGER, kind INTEGER, at INTEGER, entry INTEGER, PRIMARY KEY(account, kind, at, entry)) "
    "STRICT,"
    " WITHOUT ROWID",
    // Filter changes and gauge readings by vehicle and filter.
    "fitted(vehicle INTEGER, filter TEXT COLLATE NOCASE, kind INTEGER, at INTEGER, entry INTEGER,"
    " PRIMARY KEY(vehicle, filter, kind, at, entry)) STRICT, WITHOUT ROWID",
    // First readings of odometers that replaced others (from version 3), with the old one's last if told.
    "swapped(vehicle INTEGER, at INTEGER, entry INTEGER, reading INTEGER NOT NULL, old INTEGER,"
    " PRIMARY KEY(vehicle, at, entry)) STRICT, WITHOUT ROWID",
};
enum { DERIVED_2 = 8, DERIVED = sizeof derived_tables / sizeof derived_tables[0] };
static const char derived_indices[] =
    "CREATE INDEX account_open ON account(id) WHERE kind = 4 AND (volume <> 0 OR moves = 0);"
    "CREATE INDEX name_kind ON name(kind, id);"
    "CREATE INDEX account_kind ON account(kind, id);"
    "CREATE INDEX account_place ON account(place, volume) WHERE place <> 0 AND volume <> 0;"
    "CREATE INDEX fitted_at ON fitted(at, entry) WHERE kind = 15;"
    "CREATE INDEX fitted_vehicle ON fitted(vehicle, at, entry) WHERE kind = 15;";
_Static_assert(OW_LOG_BATCH == 4 && OW_LOG_FILTER == 15, "the indices above name these kinds");

const char *const ow_log_derived[] = {"name", "ledger", "account", "tally",   "odo",
                                      "fuel", "worked", "fitted",  "swapped", NULL};

static int make_derived(OwLogbook *book, const char *create, int from, int to) {
    for (int i = from; i < to; i++) {
        char sql[600];
        (void)snprintf(sql, sizeof sql, "%s %s", create, derived_tables[i]);
        const int code = ow_log_run(book, sql);
        if (code != SQLITE_OK) {
            return code;
        }
    }
    return SQLITE_OK;
}

int ow_log_shadow_create(OwLogbook *book) {
    return make_derived(book, "CREATE TEMP TABLE", 0, DERIVED);
}

int ow_log_shadow_drop(OwLogbook *book) {
    ow_log_rest(book);
    for (int i = 0; ow_log_derived[i] != NULL; i++) {
        char sql[80];
        (void)snprintf(sql, sizeof sql, "DROP TABLE IF EXISTS temp.%s", ow_log_derived[i]);
        const int code = ow_log_run(book, sql);
        if (code != SQLITE_OK) {
            return code;
        }
    }
    return SQLITE_OK;
}

/// Entries are only ever added: the file itself refuses anything else.
static int forbid_changes(OwLogbook *book) {
    for (int k = 0; k < OW_LOG_KINDS; k++) {
        const char *table = k == 0 ? "entry" : ow_log_kind((OwLogKind)k)->word;
        char sql[400];
        (void)snprintf(sql, sizeof sql,
                       "CREATE TRIGGER %s_stays BEFORE UPDATE ON %s BEGIN SELECT RAISE(ABORT, 'entries are "
                       "never changed'); END;"
                       "CREATE TRIGGER %s_remains BEFORE DELETE ON %s BEGIN SELECT RAISE(ABORT, 'entries are "
                       "never deleted'); END;",
                       table, table, table, table);
        const int code = ow_log_run(book, sql);
        if (code != SQLITE_OK) {
            return code;
        }
    }
    return SQLITE_OK;
}

static int to_version_2(OwLogbook *book) {
    int code = ow_log_run(book, version_2);
    code = code == SQLITE_OK ? make_derived(book, "CREATE TABLE", 0, DERIVED_2) : code;
    code = code == SQLITE_OK ? ow_log_run(book, derived_indices) : code;
    return code == SQLITE_OK ? forbid_changes(book) : code;
}

/// From one version to the next: tables only.
static int raise(OwLogbook *book, int version) {
    if (version == 0) {
        return ow_log_run(book, version_1);
    }
    if (version == 1) {
        return to_version_2(book);
    }
    const int code = ow_log_run(book, version_3);
    return code == SQLITE_OK ? make_derived(book, "CREATE TABLE", DERIVED_2, DERIVED) : code;
}

OwStatus ow_log_migrate(OwLogbook *book, int from, OwFaults *faults) {
    if (from >= OW_LOG_SCHEMA) {
        return OW_OK;
    }
    const OwStatus status = ow_log_begin(book, true, faults);
    if (status != OW_OK) {
        return status;
    }
    // Another process may have done it while this one waited for its turn.
    int code = SQLITE_OK;
    const int64_t now = ow_log_number(book, ow_log_sql(book, "PRAGMA user_version"), 0, NULL, 0, &code);
    for (int version = (int)now; version < OW_LOG_SCHEMA && code == SQLITE_OK; version++) {
        code = raise(book, version);
    }
    // The running sums need the present columns; version 2 has them already, all that version 3 adds is
    // empty.
    code = code == SQLITE_OK && now == 1 ? ow_log_replay(book, true) : code;
    if (code == SQLITE_OK && now < OW_LOG_SCHEMA) {
        char sql[96];
        (void)snprintf(sql, sizeof sql, "PRAGMA user_version = %d; PRAGMA application_id = %d", OW_LOG_SCHEMA,
                       OW_LOG_APPLICATION);
        code = ow_log_run(book, sql);
    }
    return ow_log_end(book, code == SQLITE_OK ? OW_OK : ow_log_fail(book, code, faults), faults);
}
