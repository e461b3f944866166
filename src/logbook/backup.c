// SPDX-License-Identifier: GPL-3.0-or-later
// A copy put aside while others go on writing, and one put back.
#include "logbook/impl.h"

#include "base/text.h"

#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

enum { PATH_ROOM = 4096 };

static OwStatus fail_write(OwFaults *faults, const char *path, const char *what) {
    const int error = errno;
    if (error == ENOSPC || error == EDQUOT) {
        return ow_log_fault(faults, OW_ERROR_WRITE, path, "make room", "the disk is full; %s", what);
    }
    return ow_log_fault(faults, OW_ERROR_WRITE, path, "check the folder and its permissions", "%s (%s)", what,
                        strerror(error));
}

static bool sync_at(const char *path, int flags) {
    const int file = open(path, flags);
    if (file < 0) {
        return false;
    }
    const bool is_synced = fsync(file) == 0;
    return close(file) == 0 && is_synced;
}

static bool sync_folder(const char *path) {
    char folder[PATH_ROOM];
    const char *slash = strrchr(path, '/');
    (void)snprintf(folder, sizeof folder, "%.*s",
                   slash == NULL   ? 1
                   : slash == path ? 1
                                   : (int)(slash - path),
                   slash == NULL ? "." : path);
    return sync_at(folder, O_RDONLY | O_DIRECTORY);
}

/// Copies every page of `from` into a new file and checks the copy.
/// `named` is the file that the copy is to be: what cannot be written is told of it, damage of the source.
static OwStatus copy_pages(OwLogbook *from, const char *to, const char *named, OwFaults *faults) {
    OwLogbook copy = {.mode = OW_LOG_WRITE, .path = from->path};
    int code =
        sqlite3_open_v2(to, &copy.db, SQLITE_OPEN_READWRITE | SQLITE_OPEN_CREATE | SQLITE_OPEN_NOMUTEX, NULL);
    if (code == SQLITE_OK) {
        sqlite3_backup *backup = sqlite3_backup_init(copy.db, "main", from->db, "main");
        if (backup != NULL) {
            (void)sqlite3_backup_step(backup, -1);
            (void)sqlite3_backup_finish(backup);
        }
        code = sqlite3_errcode(copy.db);
    }
    if (code == SQLITE_OK) {
        // The copy alone must be whole: no log beside it.
        code = sqlite3_exec(copy.db, "PRAGMA journal_mode = DELETE", NULL, NULL, NULL);
    }
    if (code == SQLITE_OK) {
        sqlite3_stmt *stmt = NULL;
        code = sqlite3_prepare_v2(copy.db, "PRAGMA quick_check", -1, &stmt, NULL);
        if (code == SQLITE_OK && (code = sqlite3_step(stmt)) == SQLITE_ROW) {
            const char *text = (const char *)sqlite3_column_text(stmt, 0);
            code = text == NULL || ow_log_is_starved(text) ? SQLITE_NOMEM
                   : strcmp(text, "ok") == 0               ? SQLITE_OK
                                                           : SQLITE_CORRUPT;
        }
        (void)sqlite3_finalize(stmt);
    }
    char target[PATH_ROOM];
    const int kind = code & 0xFF;
    if (kind == SQLITE_CANTOPEN || kind == SQLITE_FULL || kind == SQLITE_READONLY) {
        (void)snprintf(target, sizeof target, "%s", named);
        copy.path = target;
    }
    const OwStatus status = code == SQLITE_OK ? OW_OK
                            : copy.db == NULL ? OW_ERROR_MEMORY
                            : kind == SQLITE_CANTOPEN
                                ? ow_log_fault(faults, OW_ERROR_WRITE, named,
                                               "check the folder and its permissions", "it cannot be made")
                                : ow_log_fail(&copy, code, faults);
    (void)sqlite3_close(copy.db);
    return status;
}

OwStatus ow_logbook_backup(OwLogbook *book, const char *path, bool may_replace, OwFaults *faults) {
    char part[PATH_ROOM];
    struct stat about;
    if (book == NULL || path == NULL || path[0] == '\0' || strlen(path) + 40 > sizeof part) {
        return OW_ERROR_USE;
    }
    if (!may_replace && stat(path, &about) == 0) {
        return ow_log_fault(faults, OW_ERROR_USE, path, "choose another name, or say that it may be replaced",
                            "there is a file of this name");
    }
    (void)snprintf(part, sizeof part, "%s.part-%ld", path, (long)getpid());
    (void)unlink(part);
    OwStatus status = copy_pages(book, part, path, faults);
    if (status == OW_OK && !sync_at(part, O_RDWR)) {
        status = fail_write(faults, path, "the copy cannot be made safe on the disk");
    }
    if (status == OW_OK && !may_replace) {
        // A link never replaces, also when someone else has been quicker. Some file systems have none.
        if (link(part, path) == 0) {
            (void)unlink(part);
        } else if (errno == EEXIST) {
            status = ow_log_fault(faults, OW_ERROR_USE, path, "choose another name",
                                  "there is a file of this name");
        } else if (rename(part, path) != 0) {
            status = fail_write(faults, path, "the copy cannot be named");
        }
    } else if (status == OW_OK && rename(part, path) != 0) {
        status = fail_write(faults, path, "the copy cannot be named");
    }
    if (status != OW_OK) {
        (void)unlink(part);
        return status;
    }
    return sync_folder(path) ? OW_OK : fail_write(faults, path, "the folder cannot be made safe on the disk");
}

/// Alone with the present file: its log is folded in and leaving log mode fails while another has it open. A
/// damaged file cannot do this and is only put aside.
static OwStatus be_alone(const char *path, OwFaults *faults) {
    sqlite3 *db = NULL;
    int code = sqlite3_open_v2(path, &db, SQLITE_OPEN_READWRITE | SQLITE_OPEN_NOMUTEX, NULL);
    if (code == SQLITE_OK) {
        (void)sqlite3_busy_timeout(db, 300);
        code = sqlite3_exec(db, "PRAGMA journal_mode = DELETE; BEGIN EXCLUSIVE; COMMIT", NULL, NULL, NULL) &
               0xFF;
    }
    (void)sqlite3_close(db);
    if (code == SQLITE_BUSY || code == SQLITE_LOCKED) {
        return ow_log_fault(faults, OW_ERROR_USE, path, "close every program that has it open",
                            "the logbook is in use");
    }
    return code == SQLITE_NOMEM ? OW_ERROR_MEMORY : OW_OK;
}

/// Keeps the present file, and a log that could not be folded in, under a free name.
static OwStatus keep_aside(const char *path, char kept[PATH_ROOM], OwFaults *faults) {
    for (int n = 1; n < 10000; n++) {
        (void)snprintf(kept, PATH_ROOM, "%s.before-%d", path, n);
        if (link(path, kept) == 0) {
            break;
        }
        struct stat about;
        if (errno == EEXIST || stat(kept, &about) == 0) {
            continue;
        }
        if (rename(path, kept) != 0) {
            return fail_write(faults, path, "the present file cannot be put aside");
        }
        break;
    }
    static const char *const endings[] = {"-wal", "-shm"};
    for (int i = 0; i < 2; i++) {
        char from[PATH_ROOM + 8], to[PATH_ROOM + 8];
        (void)snprintf(from, sizeof from, "%s%s", path, endings[i]);
        (void)snprintf(to, sizeof to, "%s%s", kept, endings[i]);
        if (rename(from, to) != 0 && errno != ENOENT) {
            return fail_write(faults, from, "its log cannot be put aside");
        }
    }
    return OW_OK;
}

OwStatus ow_logbook_restore(const char *backup, const char *path, char *kept, size_t kept_size,
                            OwFaults *faults) {
    char part[PATH_ROOM], aside[PATH_ROOM] = "";
    struct stat about;
    if (backup == NULL || path == NULL || path[0] == '\0' || strlen(path) + 40 > sizeof part) {
        return OW_ERROR_USE;
    }
    (void)snprintf(part, sizeof part, "%s.part-%ld", path, (long)getpid());
    (void)unlink(part);
    // A copy first: an older backup may be brought up to date there, and the backup stays as it is.
    OwLogbook *book = NULL;
    sqlite3 *db = NULL;
    if (stat(backup, &about) != 0) {
        return ow_log_fault(faults, OW_ERROR_READ, backup, "check the name", "there is no such backup");
    }
    int code = sqlite3_open_v2(backup, &db, SQLITE_OPEN_READONLY | SQLITE_OPEN_NOMUTEX, NULL);
    char backup_text[PATH_ROOM];
    (void)ow_text_copy(backup_text, sizeof backup_text, backup);
    OwLogbook source = {.db = db, .path = backup_text, .mode = OW_LOG_READ};
    OwStatus status = code == SQLITE_OK ? copy_pages(&source, part, path, faults)
                      : db == NULL      ? OW_ERROR_MEMORY
                                        : ow_log_fail(&source, code, faults);
    (void)sqlite3_close(db);
    status = status == OW_OK ? ow_logbook_open(part, OW_LOG_WRITE, &book, faults) : status;
    status = status == OW_OK ? ow_logbook_check(book, faults) : status;
    ow_logbook_close(&book);
    if (status == OW_OK && !sync_at(part, O_RDWR)) {
        status = fail_write(faults, path, "the copy cannot be made safe on the disk");
    }
    if (status == OW_OK && stat(path, &about) == 0) {
        status = be_alone(path, faults);
        status = status == OW_OK ? keep_aside(path, aside, faults) : status;
    }
    if (status == OW_OK && rename(part, path) != 0) {
        status = fail_write(faults, path, "the copy cannot be named");
    }
    if (status != OW_OK) {
        (void)unlink(part);
        return status;
    }
    if (kept != NULL && kept_size > 0) {
        (void)ow_text_copy(kept, kept_size, aside);
    }
    return sync_folder(path) ? OW_OK : fail_write(faults, path, "the folder cannot be made safe on the disk");
}
