// SPDX-License-Identifier: GPL-3.0-or-later
// Opening and closing the file, prepared statements, transactions, and SQLite's errors in plain words.
#include "logbook/impl.h"

#include "base/text.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

// ---- Statements

sqlite3_stmt *ow_log_sql_at(OwLogbook *book, sqlite3_stmt **slot, const char *sql) {
    if (*slot == NULL) {
        if (sqlite3_prepare_v3(book->db, sql, -1, SQLITE_PREPARE_PERSISTENT, slot, NULL) != SQLITE_OK) {
            return NULL;
        }
    } else {
        (void)sqlite3_reset(*slot);
    }
    return *slot;
}

sqlite3_stmt *ow_log_sql(OwLogbook *book, const char *literal) {
    size_t i = ((uintptr_t)literal >> 3) % OW_LOG_STATEMENTS;
    for (int tries = 0; tries < OW_LOG_STATEMENTS; tries++, i = (i + 1) % OW_LOG_STATEMENTS) {
        if (book->cache[i].sql == literal || book->cache[i].sql == NULL) {
            book->cache[i].sql = literal;
            return ow_log_sql_at(book, &book->cache[i].stmt, literal);
        }
    }
    return NULL; // more literals than places: a fault of ours that the first test meets
}

int ow_log_step(OwLogbook *book, sqlite3_stmt *stmt, int count, const int64_t *numbers) {
    if (stmt == NULL) {
        const int code = sqlite3_errcode(book->db);
        return code == SQLITE_OK || code == SQLITE_ROW || code == SQLITE_DONE ? SQLITE_NOMEM : code;
    }
    for (int i = 0; i < count; i++) {
        const int code = sqlite3_bind_int64(stmt, i + 1, numbers[i]);
        if (code != SQLITE_OK) {
            return code;
        }
    }
    return sqlite3_step(stmt);
}

int ow_log_run(OwLogbook *book, const char *sql) {
    return sqlite3_exec(book->db, sql, NULL, NULL, NULL);
}

int64_t ow_log_number(OwLogbook *book, sqlite3_stmt *stmt, int count, const int64_t *numbers,
                      int64_t fallback, int *code) {
    *code = ow_log_step(book, stmt, count, numbers);
    const int64_t value = *code == SQLITE_ROW ? sqlite3_column_int64(stmt, 0) : fallback;
    if (*code == SQLITE_ROW || *code == SQLITE_DONE) {
        *code = SQLITE_OK;
        (void)sqlite3_reset(stmt);
    }
    return value;
}

// ---- Faults

static void add_fault(OwFaults *faults, OwSeverity severity, OwStatus status, const char *part,
                      const char *remedy, const char *format, va_list arguments) {
    if (faults == NULL) {
        return;
    }
    OwFault fault = {.status = status, .severity = severity};
    if (strchr(part, '/') != NULL) { // a path
        (void)ow_text_copy(fault.file, sizeof fault.file, part);
    } else {
        (void)ow_text_copy(fault.part, sizeof fault.part, part);
    }
    (void)ow_text_copy(fault.remedy, sizeof fault.remedy, remedy);
    (void)vsnprintf(fault.message, sizeof fault.message, format, arguments);
    (void)ow_faults_add(faults, &fault);
}

OwStatus ow_log_fault(OwFaults *faults, OwStatus status, const char *part, const char *remedy,
                      const char *format, ...) {
    va_list arguments;
    va_start(arguments, format);
    add_fault(faults, OW_FAULT_ERROR, status, part, remedy, format, arguments);
    va_end(arguments);
    return status;
}

OwStatus ow_log_warn(OwFaults *faults, const char *part, const char *remedy, const char *format, ...) {
    va_list arguments;
    va_start(arguments, format);
    add_fault(faults, OW_FAULT_WARNING, OW_ERROR_VALUE, part, remedy, format, arguments);
    va_end(arguments);
    return OW_OK;
}

OwStatus ow_log_fail(OwLogbook *book, int code, OwFaults *faults) {
    const char *path = book->path == NULL ? "" : book->path;
    switch (code & 0xFF) {
    case SQLITE_NOMEM:
        return OW_ERROR_MEMORY;
    case SQLITE_FULL:
        return ow_log_fault(faults, OW_ERROR_WRITE, path, "make room, then enter it again",
                            "the disk is full; nothing was written");
    case SQLITE_READONLY:
        return ow_log_fault(faults, OW_ERROR_WRITE, path, "open a copy, or let it be written to",
                            "the logbook may only be read here; nothing was written");
    case SQLITE_BUSY:
    case SQLITE_LOCKED:
        return ow_log_fault(faults, OW_ERROR_WRITE, path, "close the other program or try again",
                            "another program held the logbook for over %d s; nothing was written",
                            OW_LOG_BUSY_MS / 1000);
    case SQLITE_CORRUPT:
        return ow_log_fault(faults, OW_ERROR_READ, path, "restore a backup; keep the damaged file aside",
                            "the logbook is damaged");
    case SQLITE_NOTADB:
        return ow_log_fault(faults, OW_ERROR_READ, path, "", "this file is not a logbook");
    case SQLITE_CANTOPEN:
        return ow_log_fault(faults, OW_ERROR_READ, path, "check the folder and its permissions",
                            "the file cannot be opened");
    case SQLITE_IOERR:
        return ow_log_fault(faults, OW_ERROR_WRITE, path, "check the disk",
                            "the disk failed: %s; nothing was written", sqlite3_errmsg(book->db));
    default:
        return ow_log_fault(faults, OW_ERROR_READ, path, "", "the logbook refused: %s",
                            sqlite3_errmsg(book->db));
    }
}

// ---- Transactions

OwStatus ow_log_begin(OwLogbook *book, bool writes, OwFaults *faults) {
    if (writes && book->mode == OW_LOG_READ) {
        return ow_log_fail(book, SQLITE_READONLY, faults);
    }
    const int code = ow_log_run(book, writes ? "BEGIN IMMEDIATE" : "BEGIN");
    return code == SQLITE_OK ? OW_OK : ow_log_fail(book, code, faults);
}

void ow_log_rest(OwLogbook *book) {
    for (sqlite3_stmt *stmt = sqlite3_next_stmt(book->db, NULL); stmt != NULL;
         stmt = sqlite3_next_stmt(book->db, stmt)) {
        (void)sqlite3_reset(stmt);
    }
}

OwStatus ow_log_end(OwLogbook *book, OwStatus status, OwFaults *faults) {
    ow_log_rest(book);
    if (status == OW_OK) {
        const int code = ow_log_run(book, "COMMIT");
        if (code == SQLITE_OK) {
            return OW_OK;
        }
        status = ow_log_fail(book, code, faults);
    }
    if (sqlite3_get_autocommit(book->db) == 0) { // a full disk may have rolled back already
        (void)ow_log_run(book, "ROLLBACK");
    }
    return status;
}

// ---- Opening

void ow_logbook_close(OwLogbook **book) {
    if (book == NULL || *book == NULL) {
        return;
    }
    OwLogbook *b = *book;
    for (int i = 0; i < OW_LOG_STATEMENTS; i++) {
        (void)sqlite3_finalize(b->cache[i].stmt);
    }
    for (int k = 0; k < OW_LOG_KINDS; k++) {
        (void)sqlite3_finalize(b->insert[k]);
        (void)sqlite3_finalize(b->load[k]);
    }
    (void)sqlite3_close(b->db);
    free(b->path);
    free(b);
    *book = NULL;
}

/// The path as a URI that says nothing else changes the file: for folders where SQLite cannot put its own
/// files.
static char *immutable_uri(const char *path) {
    char *uri = malloc(strlen(path) * 3 + 40);
    if (uri == NULL) {
        return NULL;
    }
    char *to = uri + sprintf(uri, "file:");
    for (const unsigned char *p = (const unsigned char *)path; *p != '\0'; p++) {
        const bool is_plain = (*p >= 'a' && *p <= 'z') || (*p >= 'A' && *p <= 'Z') ||
                              (*p >= '0' && *p <= '9') || strchr("/._-", *p);
        to += is_plain ? sprintf(to, "%c", *p) : sprintf(to, "%%%02X", *p);
    }
    (void)sprintf(to, "?immutable=1");
    return uri;
}

/// Whether a log with something in it lies beside the file; false when memory runs out.
static bool has_log(const char *path, bool *log) {
    struct stat about;
    char *name = malloc(strlen(path) + 8);
    if (name == NULL) {
        return false;
    }
    (void)sprintf(name, "%s-wal", path);
    *log = stat(name, &about) == 0 && about.st_size > 0;
    free(name);
    return true;
}

static OwStatus connect(OwLogbook *book, const char *name, int flags, OwFaults *faults) {
    const int code =
        sqlite3_open_v2(name, &book->db, flags | SQLITE_OPEN_NOMUTEX | SQLITE_OPEN_EXRESCODE, NULL);
    if (code != SQLITE_OK) {
        return book->db == NULL ? OW_ERROR_MEMORY : ow_log_fail(book, code, faults);
    }
    (void)sqlite3_busy_timeout(book->db, OW_LOG_BUSY_MS);
    // A damaged file must never run code or read past its end.
    (void)sqlite3_db_config(book->db, SQLITE_DBCONFIG_DEFENSIVE, 1, (int *)NULL);
    (void)sqlite3_db_config(book->db, SQLITE_DBCONFIG_TRUSTED_SCHEMA, 0, (int *)NULL);
    return OW_OK;
}

/// The file's version by its header; the first read of the file.
static OwStatus read_header(OwLogbook *book, int *application, int *version, int *tables, OwFaults *faults) {
    int code = SQLITE_OK;
    *application = (int)ow_log_number(book, ow_log_sql(book, "PRAGMA application_id"), 0, NULL, 0, &code);
    if (code == SQLITE_OK) {
        *version = (int)ow_log_number(book, ow_log_sql(book, "PRAGMA user_version"), 0, NULL, 0, &code);
    }
    if (code == SQLITE_OK) {
        *tables = (int)ow_log_number(book, ow_log_sql(book, "SELECT count(*) FROM sqlite_schema"), 0, NULL, 0,
                                     &code);
    }
    return code == SQLITE_OK ? OW_OK : ow_log_fail(book, code, faults);
}

static OwStatus settle(OwLogbook *book, OwFaults *faults) {
    int application = 0, version = 0, tables = 0;
    OwStatus status = read_header(book, &application, &version, &tables, faults);
    if (status != OW_OK) {
        return status;
    }
    const bool is_empty = application == 0 && version == 0 && tables == 0;
    if (!is_empty && application != OW_LOG_APPLICATION) {
        return ow_log_fault(faults, OW_ERROR_READ, book->path, "", "this file is not a logbook");
    }
    if (is_empty && book->mode != OW_LOG_CREATE) {
        return ow_log_fault(faults, OW_ERROR_READ, book->path, "create it first", "this file is empty");
    }
    if (!is_empty && book->mode == OW_LOG_CREATE) {
        return ow_log_fault(faults, OW_ERROR_USE, book->path, "open it to write, or choose another name",
                            "the logbook is there already");
    }
    if (version > OW_LOG_SCHEMA) {
        return ow_log_fault(faults, OW_ERROR_READ, book->path, "take a newer version of this program",
                            "the logbook was written by a newer version (its layout is %d, known is %d)",
                            version, OW_LOG_SCHEMA);
    }
    if (book->mode == OW_LOG_READ && version < OW_LOG_SCHEMA) {
        return ow_log_fault(faults, OW_ERROR_READ, book->path,
                            "open it to write once; that brings it up to date",
                            "the logbook has an older layout (%d, present is %d)", version, OW_LOG_SCHEMA);
    }
    int code = SQLITE_OK;
    if (book->mode != OW_LOG_READ) {
        code = ow_log_run(
            book,
            "PRAGMA journal_mode = WAL; PRAGMA synchronous = FULL; PRAGMA journal_size_limit = 8388608");
    }
    code = code == SQLITE_OK
               ? ow_log_run(
                     book, "PRAGMA foreign_keys = ON; PRAGMA temp_store = MEMORY; PRAGMA cache_size = -32768;"
                           "PRAGMA cell_size_check = ON")
               : code;
    if (code != SQLITE_OK) {
        return ow_log_fail(book, code, faults);
    }
    return book->mode == OW_LOG_READ ? OW_OK : ow_log_migrate(book, version, faults);
}

OwStatus ow_logbook_open(const char *path, OwLogMode mode, OwLogbook **out, OwFaults *faults) {
    if (path == NULL || path[0] == '\0' || out == NULL || (unsigned)mode > OW_LOG_READ) {
        return OW_ERROR_USE;
    }
    *out = NULL;
    OwLogbook *book = calloc(1, sizeof *book);
    char *copy = malloc(strlen(path) + 1);
    if (book == NULL || copy == NULL) {
        free(book);
        free(copy);
        return OW_ERROR_MEMORY;
    }
    book->path = strcpy(copy, path);
    book->mode = mode;
    struct stat about;
    const bool exists = stat(path, &about) == 0;
    OwStatus status = OW_OK;
    if (mode != OW_LOG_CREATE && !exists) {
        status = ow_log_fault(faults, OW_ERROR_READ, path, "create it, or check the name",
                              "there is no such logbook");
    } else {
        const int flags = mode == OW_LOG_CREATE  ? SQLITE_OPEN_READWRITE | SQLITE_OPEN_CREATE
                          : mode == OW_LOG_WRITE ? SQLITE_OPEN_READWRITE
                                                 : SQLITE_OPEN_READONLY;
        status = connect(book, path, flags, faults);
    }
    if (status == OW_OK && mode == OW_LOG_READ) {
        // In a folder that cannot be written SQLite cannot share the file; without a log beside it, it stands
        // still.
        const int code = ow_log_run(book, "SELECT count(*) FROM sqlite_schema");
        const bool is_shut = (code & 0xFF) == SQLITE_CANTOPEN || (code & 0xFF) == SQLITE_READONLY;
        bool log = false;
        if ((code & 0xFF) == SQLITE_NOMEM || (is_shut && !has_log(path, &log))) {
            status = OW_ERROR_MEMORY;
        } else if (is_shut && !log) {
            char *uri = immutable_uri(path);
            (void)sqlite3_close(book->db);
            book->db = NULL;
            status = uri == NULL ? OW_ERROR_MEMORY
                                 : connect(book, uri, SQLITE_OPEN_READONLY | SQLITE_OPEN_URI, faults);
            free(uri);
        }
    } else if (status == OW_OK && sqlite3_db_readonly(book->db, "main") == 1) {
        status = ow_log_fail(book, SQLITE_READONLY, faults);
    }
    status = status == OW_OK ? settle(book, faults) : status;
    if (status != OW_OK) {
        ow_logbook_close(&book);
        return status;
    }
    *out = book;
    return OW_OK;
}

int64_t ow_logbook_version(OwLogbook *book) {
    if (book == NULL) {
        return 0;
    }
    int code = SQLITE_OK; // entries are only ever added: the highest number tells
    const int64_t last =
        ow_log_number(book, ow_log_sql(book, "SELECT max(id) FROM entry"), 0, NULL, 0, &code);
    return code == SQLITE_OK ? last + 1 : 0;
}
