// SPDX-License-Identifier: GPL-3.0-or-later
// All entries as one CSV file a kind.
#include "logbook/csv.h"
#include "logbook/view.h"

#include <errno.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

enum { PATH_ROOM = 4096 };

static void path_of(char path[PATH_ROOM], const char *folder, OwLogKind kind, const char *ending) {
    (void)snprintf(path, PATH_ROOM, "%s/%s.csv%s", folder, ow_log_kind(kind)->word, ending);
}

static OwStatus fail_write(OwFaults *faults, const char *path) {
    return errno == ENOSPC
               ? ow_log_fault(faults, OW_ERROR_WRITE, path, "make room", "the disk is full")
               : ow_log_fault(faults, OW_ERROR_WRITE, path, "check the folder and its permissions",
                              "it cannot be written (%s)", strerror(errno));
}

static OwStatus flush(FILE *file, OwBuffer *text) {
    if (text->has_failed) {
        return OW_ERROR_MEMORY;
    }
    const bool is_written = text->size == 0 || fwrite(text->data, 1, text->size, file) == text->size;
    text->size = 0;
    return is_written ? OW_OK : OW_ERROR_WRITE;
}

static OwStatus write_kind(OwLogbook *book, OwLogKind kind, const char *path, OwFaults *faults) {
    enum { CHUNK = 1 << 16 };
    FILE *file = fopen(path, "wb");
    if (file == NULL) {
        return fail_write(faults, path);
    }
    char sql[80];
    sqlite3_stmt *ids = NULL;
    OwBuffer text = {0};
    (void)snprintf(sql, sizeof sql, "SELECT id FROM \"%s\" ORDER BY id", ow_log_kind(kind)->word);
    ow_csv_write_headings(&text, kind);
    OwArena *arena = ow_arena_create();
    int code = arena == NULL ? SQLITE_NOMEM : sqlite3_prepare_v2(book->db, sql, -1, &ids, NULL);
    OwStatus status = OW_OK;
    while (code == SQLITE_OK && status == OW_OK && (code = sqlite3_step(ids)) == SQLITE_ROW) {
        OwLogEntry entry;
        code = ow_log_load(book, sqlite3_column_int64(ids, 0), arena, &entry);
        if (code == SQLITE_OK) {
            ow_csv_write_entry(&text, &entry);
        }
        if (text.size > CHUNK || text.has_failed) {
            status = flush(file, &text);
            ow_arena_destroy(&arena);
            arena = ow_arena_create();
            code = code == SQLITE_OK && arena == NULL ? SQLITE_NOMEM : code;
        }
    }
    status = status == OW_OK ? flush(file, &text) : status;
    const bool is_safe = fflush(file) == 0 && fsync(fileno(file)) == 0;
    status = status == OW_OK && !is_safe ? OW_ERROR_WRITE : status;
    if (status == OW_ERROR_WRITE) {
        (void)fail_write(faults, path);
    }
    if (fclose(file) != 0 && status == OW_OK) {
        status = fail_write(faults, path);
    }
    (void)sqlite3_finalize(ids);
    ow_buffer_clear(&text);
    ow_arena_destroy(&arena);
    return status == OW_OK && code != SQLITE_DONE ? ow_log_fail(book, code, faults) : status;
}

OwStatus ow_logbook_export(OwLogbook *book, const char *folder, bool may_replace, OwFaults *faults) {
    char path[PATH_ROOM], part[PATH_ROOM];
    struct stat about;
    if (book == NULL || folder == NULL || folder[0] == '\0' || strlen(folder) + 32 > sizeof path) {
        return OW_ERROR_USE;
    }
    if (mkdir(folder, 0777) != 0 && errno != EEXIST) {
        return fail_write(faults, folder);
    }
    for (int k = 1; k < OW_LOG_KINDS && !may_replace; k++) {
        path_of(path, folder, (OwLogKind)k, "");
        if (stat(path, &about) == 0) {
            return ow_log_fault(faults, OW_ERROR_USE, path,
                                "choose an empty folder, or say that it may be replaced",
                                "the file is there already");
        }
    }
    OwStatus status = ow_log_begin(book, false, faults);
    if (status != OW_OK) {
        return status;
    }
    int written = 1;
    for (; written < OW_LOG_KINDS && status == OW_OK; written++) {
        path_of(part, folder, (OwLogKind)written, ".part");
        status = write_kind(book, (OwLogKind)written, part, faults);
    }
    status = ow_log_end(book, status, faults);
    for (int k = 1; k < written; k++) {
        path_of(path, folder, (OwLogKind)k, "");
        path_of(part, folder, (OwLogKind)k, ".part");
        if (status != OW_OK) {
            (void)unlink(part);
        } else if (rename(part, path) != 0) {
            status = fail_write(faults, path);
            (void)unlink(part);
        }
    }
    return status;
}
