// SPDX-License-Identifier: GPL-3.0-or-later
// Is the file sound: SQLite's own checks, references, undos, running sums against a fresh count, balances;
// and what looks odd in the yard.
#include "logbook/view.h"

#include <inttypes.h>
#include <stdio.h>
#include <string.h>

typedef struct Check {
    OwLogbook *book;
    OwFaults *faults;
    int wrong;
    int code;
} Check;

static void tell(Check *check, const char *part, const char *remedy, const char *message) {
    check->wrong++;
    (void)ow_log_fault(check->faults, OW_ERROR_VALUE, part, remedy, "%s", message);
}

bool ow_log_is_starved(const char *message) {
    return strstr(message, "error code=7") != NULL; // SQLITE_NOMEM, as a row of the check
}

/// Runs a query whose rows each are something wrong: (part, message).
static void each_row(Check *check, const char *sql, const char *remedy, bool is_warning) {
    enum { MOST = 50 };
    sqlite3_stmt *stmt = NULL;
    int told = 0;
    if (check->code != SQLITE_OK) {
        return;
    }
    int code = sqlite3_prepare_v2(check->book->db, sql, -1, &stmt, NULL);
    while (code == SQLITE_OK && (code = sqlite3_step(stmt)) == SQLITE_ROW) {
        const char *part = (const char *)sqlite3_column_text(stmt, 0),
                   *message = (const char *)sqlite3_column_text(stmt, 1);
        code = SQLITE_OK;
        if (message == NULL || ow_log_is_starved(message)) {
            code = SQLITE_NOMEM;
        } else if (told++ == MOST) {
            (void)ow_log_warn(check->faults, "", "", "and more of the same");
            code = SQLITE_DONE;
        } else if (is_warning) {
            (void)ow_log_warn(check->faults, part == NULL ? "" : part, remedy, "%s",
                              message == NULL ? "" : message);
        } else {
            tell(check, part == NULL ? "" : part, remedy, message);
        }
    }
    (void)sqlite3_finalize(stmt);
    check->code = code == SQLITE_DONE ? SQLITE_OK : code;
}

static void check_file(Check *check) {
    each_row(check,
             "SELECT 'file', integrity_check FROM pragma_integrity_check WHERE integrity_check <> 'ok'",
             "restore a backup; keep the damaged file aside", false);
    each_row(check,
             "SELECT \"table\", 'row ' || rowid || ' refers to an entry that is not there' FROM "
             "pragma_foreign_key_check",
             "", false);
}

static void check_entries(Check *check) {
    char sql[700];
    for (int k = 1; k < OW_LOG_KINDS; k++) {
        const OwLogKindRow *row = ow_log_kind((OwLogKind)k);
        (void)snprintf(
            sql, sizeof sql,
            "SELECT 'entry ' || e.id, 'its values are missing' FROM entry e WHERE e.kind = %d AND NOT EXISTS"
            "(SELECT 1 FROM \"%s\" t WHERE t.id = e.id) UNION ALL SELECT 'entry ' || t.id, 'it has values of "
            "a %s and is none'"
            " FROM \"%s\" t WHERE NOT EXISTS(SELECT 1 FROM entry e WHERE e.id = t.id AND e.kind = %d)",
            k, row->word, row->word, row->word, k);
        each_row(check, sql, "restore a backup", false);
        for (int i = 0; i < row->field_count; i++) {
            const OwLogField *field = &row->fields[i];
            if (field->type == OW_LOG_REF) {
                (void)snprintf(sql, sizeof sql,
                               "SELECT 'entry ' || t.id, '%s names entry ' || t.\"%s\" || ', which is of "
                               "another kind' FROM \"%s\" t"
                               " JOIN entry e ON e.id = t.\"%s\" WHERE NOT ((%u >> e.kind) & 1)",
                               field->key, field->key, row->word, field->key, field->refs);
                each_row(check, sql, "restore a backup", false);
            }
        }
    }
    // A live entry must not lean on a thing that was taken back.
    each_row(
        check,
        "SELECT 'entry ' || l.entry, 'it names entry ' || l.thing || ', which was taken back' FROM undo u"
        " JOIN link l ON l.thing = u.entry JOIN entry e ON e.id = l.entry JOIN entry t ON t.id = u.entry"
        " WHERE t.kind <= 4 AND e.kind <> 18 AND NOT EXISTS(SELECT 1 FROM undo v WHERE v.entry = l.entry)",
        "", false);
}

/// Counts all again into tables that hide the real ones, and compares.
static void check_sums(Check *check) {
    char sql[300];
    if (check->code != SQLITE_OK) {
        return;
    }
    check->code = ow_log_shadow_create(check->book);
    if (check->code == SQLITE_OK) {
        check->code = ow_log_replay(check->book, false);
    }
    for (int i = 0; ow_log_derived[i] != NULL && check->code == SQLITE_OK; i++) {
        const char *name = ow_log_derived[i];
        const char *where =
            name[0] == 't' ? "WHERE amount <> 0" : ""; // a tally that came back to nothing may stay
        for (int side = 0; side < 2 && check->code == SQLITE_OK; side++) {
            const int before = check->wrong;
            (void)snprintf(sql, sizeof sql,
                           "SELECT '%s', 'the running sums differ from a fresh count' WHERE EXISTS(SELECT * "
                           "FROM %s.%s %s EXCEPT SELECT *"
                           " FROM %s.%s %s)",
                           name, side == 0 ? "temp" : "main", name, where, side == 0 ? "main" : "temp", name,
                           where);
            each_row(check, sql, "make them anew (rebuild)", false);
            if (check->wrong != before) {
                break;
            }
        }
    }
    const int dropped = ow_log_shadow_drop(check->book);
    check->code = check->code == SQLITE_OK ? dropped : check->code;
}

static void check_yard(Check *check) {
    each_row(check,
             "SELECT coalesce(b.name, v.name, 'account ' || a.id), 'what came, was added and found is not "
             "what was lost, went and is"
             " there' FROM account a LEFT JOIN batch b ON b.id = a.id LEFT JOIN vessel v ON v.id = a.id"
             " WHERE a.came + a.added + a.found <> a.lost + a.went + a.volume",
             "make the sums anew (rebuild)", false);
    each_row(check,
             "SELECT coalesce(b.name, v.name, 'account ' || a.id), 'holds ' || round(a.volume / 1e6, 1) || ' "
             "L by the book'"
             " FROM account a LEFT JOIN batch b ON b.id = a.id LEFT JOIN vessel v ON v.id = a.id WHERE "
             "a.volume < 0",
             "measure it and enter a level", true);
    each_row(check,
             "SELECT name, 'holds ' || round(level / 1e6, 1) || ' L by the book, more than its ' || "
             "round(capacity / 1e6, 1) || ' L'"
             " FROM (SELECT v.name, v.capacity, a.volume + coalesce((SELECT sum(b.volume) FROM account b "
             "WHERE b.place = a.id"
             " AND b.place <> 0 AND b.volume <> 0), 0) AS level FROM account a JOIN vessel v ON v.id = a.id"
             " WHERE v.capacity IS NOT NULL) WHERE level > capacity",
             "measure it and enter a level", true);
    each_row(
        check,
        "SELECT 'entry ' || entry, 'the odometer runs back from ' || (before / 1000000) || ' to ' || "
        "(reading / 1000000) || ' km'"
        " FROM (SELECT vehicle, at, entry, reading, lag(reading) OVER (PARTITION BY vehicle ORDER BY at, "
        "entry) AS before FROM odo) r WHERE reading < before AND NOT EXISTS(SELECT 1 FROM swapped n WHERE"
        " n.vehicle = r.vehicle AND n.at = r.at AND n.entry = r.entry)",
        "take it back and enter it again: right, or as the first reading of a new odometer", true);
}

OwStatus ow_logbook_check(OwLogbook *book, OwFaults *faults) {
    if (book == NULL) {
        return OW_ERROR_USE;
    }
    OwStatus status = ow_log_begin(book, false, faults);
    if (status != OW_OK) {
        return status;
    }
    Check check = {.book = book, .faults = faults};
    check_file(&check);
    if (check.wrong == 0) {
        check_entries(&check);
    }
    if (check.wrong == 0) {
        check_sums(&check);
    }
    check_yard(&check);
    status = ow_log_end_view(book, check.code, faults);
    return status != OW_OK ? status : check.wrong > 0 ? OW_ERROR_VALUE : OW_OK;
}

OwStatus ow_logbook_rebuild(OwLogbook *book, OwFaults *faults) {
    if (book == NULL) {
        return OW_ERROR_USE;
    }
    OwStatus status = ow_log_begin(book, true, faults);
    if (status != OW_OK) {
        return status;
    }
    int code = SQLITE_OK;
    for (int i = 0; ow_log_derived[i] != NULL && code == SQLITE_OK; i++) {
        char sql[64];
        (void)snprintf(sql, sizeof sql, "DELETE FROM %s", ow_log_derived[i]);
        code = ow_log_run(book, sql);
    }
    code = code == SQLITE_OK
               ? ow_log_run(book, "DELETE FROM link; INSERT INTO words(words) VALUES('delete-all')")
               : code;
    code = code == SQLITE_OK ? ow_log_replay(book, true) : code;
    return ow_log_end_view(book, code, faults);
}
