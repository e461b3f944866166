// SPDX-License-Identifier: GPL-3.0-or-later
// Two writers at once, a full disk at every write, read-only files and folders, backup and restore, files
// that are no logbook.
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>
#include <cmocka.h>

#include "logbook/impl.h"
#include "support.h"

static int64_t entries(OwLogbook *book) {
    int code = SQLITE_OK;
    const int64_t count =
        ow_log_number(book, ow_log_sql(book, "SELECT count(*) FROM entry"), 0, NULL, -1, &code);
    assert_int_equal(code, SQLITE_OK);
    return count;
}

static OwLogEntry fill(int64_t at, double oil_m3) {
    OwLogEntry e = entry_of(OW_LOG_FILL, at);
    set_text(&e, "vehicle", "van");
    set_text(&e, "from", "day tank");
    set_si(&e, "oil", oil_m3);
    return e;
}

// ---- Two writers

static void two_writers_both_succeed(void **state) {
    (void)state;
    enum { EACH = 200 };
    char folder[256], path[512];
    folder_make(folder);
    OwLogbook *book = open_book(path_in(path, folder, "two.owlog"), OW_LOG_CREATE);
    Yard yard = {.state = 1};
    make_things(book, &yard);
    ow_logbook_close(&book);
    pid_t children[2];
    for (int w = 0; w < 2; w++) {
        children[w] = fork();
        assert_true(children[w] >= 0);
        if (children[w] == 0) {
            if (ow_logbook_open(path, OW_LOG_WRITE, &book, NULL) != OW_OK) {
                _exit(1);
            }
            for (int i = 0; i < EACH; i++) {
                OwLogEntry e = fill(1700000000 + i, 0.001);
                if (ow_logbook_add(book, &e, 1, NULL) != OW_OK) {
                    _exit(2);
                }
            }
            ow_logbook_close(&book);
            _exit(0);
        }
    }
    // Meanwhile a reader sees whole states only: the level is what the fills took.
    book = open_book(path, OW_LOG_READ);
    for (int i = 0; i < 50; i++) {
        OwArena *arena = ow_arena_create();
        OwLogVesselRow *rows = NULL;
        int count = 0;
        assert_int_equal(ow_logbook_vessels(book, arena, &rows, &count, NULL), OW_OK);
        assert_int_equal(count, 4);
        OwLogTotals totals;
        assert_int_equal(ow_logbook_totals(book, 0, 0, 0, &totals, NULL), OW_OK);
        assert_true(totals.filled_m3 * 1e3 >= -rows[2].level_m3 * 1e3 - 1e-9);
        ow_arena_destroy(&arena);
    }
    for (int w = 0; w < 2; w++) {
        int status = 0;
        assert_int_equal(waitpid(children[w], &status, 0), children[w]);
        assert_true(WIFEXITED(status) && WEXITSTATUS(status) == 0);
    }
    OwLogTotals totals;
    assert_int_equal(ow_logbook_totals(book, 0, 0, 0, &totals, NULL), OW_OK);
    assert_true(totals.entries[OW_LOG_FILL] == 2 * EACH && totals.filled_m3 == 0.001 * 2 * EACH);
    ow_logbook_close(&book);
    book = open_book(path, OW_LOG_WRITE);
    check_sound(book);
    ow_logbook_close(&book);
    folder_drop(folder);
}

// ---- A full disk: the write number `countdown` from now fails, and all after it until the disk has room
// again

static long countdown = -1;
static bool has_failed;
static int (*real_write)(sqlite3_file *, const void *, int, sqlite3_int64);
static int (*real_open)(sqlite3_vfs *, const char *, sqlite3_file *, int, int *);
static struct {
    const sqlite3_io_methods *own;
    sqlite3_io_methods changed;
} methods[4]; ///< the main file and its log have different ones

static int failing_write(sqlite3_file *file, const void *bytes, int size, sqlite3_int64 at) {
    if (countdown == 0) {
        has_failed = true;
        return SQLITE_FULL;
    }
    countdown -= countdown > 0 ? 1 : 0;
    return real_write(file, bytes, size, at);
}

static int watching_open(sqlite3_vfs *vfs, const char *name, sqlite3_file *file, int flags, int *out) {
    const int code = real_open(vfs, name, file, flags, out);
    if (code == SQLITE_OK && file->pMethods != NULL) {
        if (real_write == NULL) {
            real_write = file->pMethods->xWrite;
        }
        int i = 0;
        while (methods[i].own != NULL && methods[i].own != file->pMethods) {
            i++;
        }
        assert_true(i < 4 && file->pMethods->xWrite == real_write);
        methods[i].own = file->pMethods;
        methods[i].changed = *file->pMethods;
        methods[i].changed.xWrite = failing_write;
        file->pMethods = &methods[i].changed;
    }
    return code;
}

static void a_full_disk_loses_nothing(void **state) {
    (void)state;
    static sqlite3_vfs vfs;
    sqlite3_vfs *system = sqlite3_vfs_find(NULL);
    vfs = *system;
    real_open = system->xOpen;
    vfs.zName = "full";
    vfs.xOpen = watching_open;
    assert_int_equal(sqlite3_vfs_register(&vfs, 1), SQLITE_OK);
    char folder[256], path[512];
    folder_make(folder);
    OwLogbook *book = open_book(path_in(path, folder, "full.owlog"), OW_LOG_CREATE);
    Yard yard = {.state = 2};
    make_things(book, &yard);
    OwLogEntry pickup = entry_of(OW_LOG_PICKUP, 1700000100);
    set_number(&pickup, "source", yard.sources[0]);
    set_text(&pickup, "into", "day tank");
    set_si(&pickup, "volume", 0.9);
    (void)add(book, pickup);
    int failed = 0;
    for (long n = 0; n < 200; n++) {
        const int64_t before = entries(book);
        OwLogEntry e = fill(1700000200 + n, 0.001);
        OwFaults faults = {0};
        countdown = n;
        has_failed = false;
        const OwStatus status = ow_logbook_add(book, &e, 1, &faults);
        countdown = -1;
        if (!has_failed) {
            assert_int_equal(status, OW_OK);
            ow_faults_clear(&faults);
            break;
        }
        failed++;
        if (status ==
            OW_OK) { // a checkpoint that failed after the commit: the entry is in the log, and stays
            assert_int_equal(entries(book), before + 1);
        } else {
            assert_int_equal(status, OW_ERROR_WRITE);
            assert_true(has_fault(&faults, "the disk is full; nothing was written"));
            assert_int_equal(e.id, 0);
            assert_int_equal(entries(book), before);
        }
        ow_faults_clear(&faults);
        // With room again, the same handle goes on, and so does a fresh one.
        OwLogEntry again = fill(1700000200 + n, 0.001);
        (void)add(book, again);
        if (n % 5 == 0) {
            ow_logbook_close(&book);
            book = open_book(path, OW_LOG_WRITE);
        }
        check_sound(book);
    }
    assert_true(failed > 5);
    // A backup to a full disk leaves nothing behind and the old backup whole.
    char copy[512];
    assert_int_equal(ow_logbook_backup(book, path_in(copy, folder, "copy.owlog"), false, NULL), OW_OK);
    struct stat about, later;
    assert_int_equal(stat(copy, &about), 0);
    countdown = 3;
    OwFaults faults = {0};
    assert_int_equal(ow_logbook_backup(book, copy, true, &faults), OW_ERROR_WRITE);
    countdown = -1;
    assert_true(has_fault(&faults, "the disk is full"));
    ow_faults_clear(&faults);
    assert_int_equal(stat(copy, &later), 0);
    assert_true(about.st_ino == later.st_ino && about.st_size == later.st_size);
    ow_logbook_close(&book);
    assert_int_equal(sqlite3_vfs_unregister(&vfs), SQLITE_OK);
    folder_drop(folder);
}

/// SQLite's own bound on the size of a file, met in the middle of a large addition.
static void a_large_addition_is_all_or_none(void **state) {
    (void)state;
    enum { MANY = 3000 };
    char folder[256], path[512];
    folder_make(folder);
    OwLogbook *book = open_book(path_in(path, folder, "large.owlog"), OW_LOG_CREATE);
    Yard yard = {.state = 3};
    make_things(book, &yard);
    const int64_t before = entries(book);
    OwLogEntry *many = calloc(MANY, sizeof *many);
    assert_non_null(many);
    for (int i = 0; i < MANY; i++) {
        many[i] = fill(1700000000 + i * 50000, 0.001);
    }
    int code = SQLITE_OK;
    const int64_t pages = ow_log_number(book, ow_log_sql(book, "PRAGMA page_count"), 0, NULL, 0, &code);
    char sql[64];
    (void)snprintf(sql, sizeof sql, "PRAGMA max_page_count = %d", (int)pages + 20);
    assert_int_equal(ow_log_run(book, sql), SQLITE_OK);
    OwFaults faults = {0};
    assert_int_equal(ow_logbook_add(book, many, MANY, &faults), OW_ERROR_WRITE);
    assert_true(has_fault(&faults, "the disk is full; nothing was written"));
    ow_faults_clear(&faults);
    assert_int_equal(entries(book), before);
    assert_int_equal(many[0].id, 0);
    check_sound(book);
    assert_int_equal(ow_log_run(book, "PRAGMA max_page_count = 1000000"), SQLITE_OK);
    assert_int_equal(ow_logbook_add(book, many, MANY, NULL), OW_OK);
    assert_int_equal(entries(book), before + MANY);
    check_sound(book);
    free(many);
    ow_logbook_close(&book);
    folder_drop(folder);
}

// ---- Read-only

/// In a child without the rights of root: 0 when all went as it must.
static int without_rights(const char *path, const char *copy) {
    if (geteuid() == 0 && (setgid(65534) != 0 || setuid(65534) != 0)) {
        return 10;
    }
    OwLogbook *book = NULL;
    OwFaults faults = {0};
    // A folder that cannot be written: reading works, writing is refused in plain words.
    if (ow_logbook_open(path, OW_LOG_READ, &book, &faults) != OW_OK) {
        print_faults(&faults);
        return 11;
    }
    OwLogTotals totals;
    if (ow_logbook_totals(book, 0, 0, 0, &totals, &faults) != OW_OK || totals.entries[OW_LOG_VESSEL] != 4) {
        print_faults(&faults);
        return 12;
    }
    OwLogEntry e = fill(1700000000, 0.001);
    if (ow_logbook_add(book, &e, 1, &faults) != OW_ERROR_WRITE ||
        !has_fault(&faults, "may only be read here; nothing was written")) {
        return 13;
    }
    if (ow_logbook_backup(book, copy, false, &faults) == OW_OK) {
        return 14;
    }
    ow_logbook_close(&book);
    ow_faults_clear(&faults);
    if (ow_logbook_open(path, OW_LOG_WRITE, &book, &faults) != OW_ERROR_WRITE || book != NULL ||
        !has_fault(&faults, "may only be read here")) {
        return 15;
    }
    ow_faults_clear(&faults);
    return 0;
}

static void read_only_is_told(void **state) {
    (void)state;
    char folder[256], path[512], copy[512];
    folder_make(folder);
    OwLogbook *book = open_book(path_in(path, folder, "only.owlog"), OW_LOG_CREATE);
    Yard yard = {.state = 4};
    make_things(book, &yard);
    ow_logbook_close(&book);
    book = open_book(path, OW_LOG_READ);
    OwFaults faults = {0};
    OwLogEntry e = fill(1700000000, 0.001);
    assert_int_equal(ow_logbook_add(book, &e, 1, &faults), OW_ERROR_WRITE);
    assert_true(has_fault(&faults, "may only be read here; nothing was written"));
    ow_faults_clear(&faults);
    assert_int_equal(ow_logbook_rebuild(book, &faults), OW_ERROR_WRITE);
    check_sound(book);
    ow_faults_clear(&faults);
    ow_logbook_close(&book);
    assert_int_equal(chmod(path, 0444), 0);
    assert_int_equal(chmod(folder, 0555), 0);
    const pid_t child = fork();
    assert_true(child >= 0);
    if (child == 0) {
        _exit(without_rights(path, path_in(copy, folder, "copy.owlog")));
    }
    int status = 0;
    assert_int_equal(waitpid(child, &status, 0), child);
    assert_true(WIFEXITED(status));
    assert_int_equal(WEXITSTATUS(status), 0);
    assert_int_equal(chmod(folder, 0700), 0);
    folder_drop(folder);
}

// ---- Not a logbook

static void write_bytes(const char *path, const char *bytes, size_t size) {
    FILE *file = fopen(path, "wb");
    assert_non_null(file);
    assert_int_equal(fwrite(bytes, 1, size, file), size);
    assert_int_equal(fclose(file), 0);
}

static void open_refuses(const char *path, OwLogMode mode, const char *words) {
    OwLogbook *book = NULL;
    OwFaults faults = {0};
    assert_int_not_equal(ow_logbook_open(path, mode, &book, &faults), OW_OK);
    assert_null(book);
    assert_int_equal(faults.count, 1); // one clear line
    assert_true(has_fault(&faults, words));
    ow_faults_clear(&faults);
}

static void other_files_are_refused(void **state) {
    (void)state;
    char folder[256], path[512], text[4096];
    folder_make(folder);
    (void)path_in(path, folder, "other");
    open_refuses(path, OW_LOG_WRITE, "there is no such logbook");
    open_refuses(path, OW_LOG_READ, "there is no such logbook");
    memset(text, 'x', sizeof text);
    write_bytes(path, text, sizeof text);
    open_refuses(path, OW_LOG_WRITE, "not a logbook");
    open_refuses(path, OW_LOG_CREATE, "not a logbook");
    write_bytes(path, "", 0);
    open_refuses(path, OW_LOG_WRITE, "is empty");
    sqlite3 *db = NULL;
    (void)unlink(path);
    assert_int_equal(sqlite3_open(path, &db), SQLITE_OK); // a database of something else
    assert_int_equal(sqlite3_exec(db, "CREATE TABLE t(a); PRAGMA user_version = 1", NULL, NULL, NULL),
                     SQLITE_OK);
    (void)sqlite3_close(db);
    open_refuses(path, OW_LOG_WRITE, "not a logbook");
    (void)unlink(path);
    OwLogbook *book = open_book(path, OW_LOG_CREATE);
    ow_logbook_close(&book);
    open_refuses(path, OW_LOG_CREATE, "there already");
    assert_int_equal(sqlite3_open(path, &db), SQLITE_OK);
    assert_int_equal(sqlite3_exec(db, "PRAGMA user_version = 99", NULL, NULL, NULL), SQLITE_OK);
    (void)sqlite3_close(db);
    open_refuses(path, OW_LOG_WRITE, "written by a newer version");
    open_refuses(path, OW_LOG_READ, "written by a newer version");
    folder_drop(folder);
}

/// Bytes of a sound file are changed: opening, the views and the check end in order, whatever they say.
static void damage_never_crashes(void **state) {
    (void)state;
    char folder[256], path[512], harmed[512];
    folder_make(folder);
    OwLogbook *book = open_book(path_in(path, folder, "sound.owlog"), OW_LOG_CREATE);
    Yard yard = {.state = 8};
    make_things(book, &yard);
    for (int i = 0; i < 100; i++) {
        (void)add_random(book, &yard);
    }
    assert_int_equal(ow_logbook_backup(book, path_in(harmed, folder, "harmed.owlog"), false, NULL), OW_OK);
    ow_logbook_close(&book);
    FILE *file = fopen(harmed, "rb");
    assert_non_null(file);
    static char bytes[1 << 20], work[1 << 20];
    const size_t size = fread(bytes, 1, sizeof bytes, file);
    (void)fclose(file);
    int seen = 0;
    for (int run = 0; run < 120; run++) {
        memcpy(work, bytes, size);
        for (int k = 0; k < 40; k++) {
            work[roll(&yard, size)] = (char)roll(&yard, 256);
        }
        write_bytes(harmed, work, size);
        OwFaults faults = {0};
        if (ow_logbook_open(harmed, OW_LOG_READ, &book, &faults) == OW_OK) {
            OwArena *arena = ow_arena_create();
            OwLogVesselRow *vessels = NULL;
            OwLogBatchRow *batches = NULL;
            OwLogFilterRow *lives = NULL;
            OwLogTrace trace;
            OwLogList list;
            int count = 0;
            (void)ow_logbook_vessels(book, arena, &vessels, &count, &faults);
            (void)ow_logbook_batches(book, true, 0, 0, arena, &batches, &count, &faults);
            (void)ow_logbook_filters(book, 0, 0, arena, &lives, &count, &faults);
            (void)ow_logbook_trace_back(book, yard.vessels[0], 0, arena, &trace, &faults);
            (void)ow_logbook_list(book, &(OwLogFilter){.limit = 1000}, arena, &list, &faults);
            seen += ow_logbook_check(book, &faults) != OW_OK ? 1 : 0;
            ow_arena_destroy(&arena);
            ow_logbook_close(&book);
        } else {
            seen++;
        }
        ow_faults_clear(&faults);
    }
    assert_true(seen > 60);
    folder_drop(folder);
}

// ---- Backup and restore

static void a_backup_comes_back(void **state) {
    (void)state;
    char folder[256], path[512], copy[512], kept[512] = "";
    folder_make(folder);
    (void)path_in(path, folder, "yard.owlog");
    (void)path_in(copy, folder, "backup.owlog");
    OwLogbook *book = open_book(path, OW_LOG_CREATE);
    Yard yard = {.state = 9};
    make_things(book, &yard);
    for (int i = 0; i < 50; i++) {
        (void)add_random(book, &yard);
    }
    const int64_t then = entries(book);
    OwFaults faults = {0};
    assert_int_equal(ow_logbook_backup(book, copy, false, &faults), OW_OK);
    assert_int_equal(ow_logbook_backup(book, copy, false, &faults), OW_ERROR_USE);
    assert_true(has_fault(&faults, "there is a file of this name"));
    ow_faults_clear(&faults);
    // A folder that is not there: told of the backup, not of the book.
    assert_int_equal(ow_logbook_backup(book, "/nonsuch/backup.owlog", false, &faults), OW_ERROR_WRITE);
    assert_true(has_fault(&faults, "cannot be made") && has_fault(&faults, "/nonsuch/backup.owlog"));
    ow_faults_clear(&faults);
    (void)add(book, fill(1800000000, 0.001));
    // Not while it is open.
    assert_int_equal(ow_logbook_restore(copy, path, kept, sizeof kept, &faults), OW_ERROR_USE);
    assert_true(has_fault(&faults, "the logbook is in use"));
    ow_faults_clear(&faults);
    assert_int_equal(entries(book), then + 1);
    ow_logbook_close(&book);
    assert_int_equal(ow_logbook_restore(copy, path, kept, sizeof kept, &faults), OW_OK);
    book = open_book(path, OW_LOG_WRITE);
    assert_int_equal(entries(book), then);
    check_sound(book);
    (void)add(book, fill(1800000000, 0.001)); // it is a logbook like any other
    ow_logbook_close(&book);
    book = open_book(kept, OW_LOG_READ); // and the old one is whole
    assert_int_equal(entries(book), then + 1);
    ow_logbook_close(&book);
    // A damaged present file is put aside with its log; a damaged backup is refused and changes nothing.
    write_bytes(path, "not a database at all, but long enough to be one maybe", 54);
    assert_int_equal(ow_logbook_restore(copy, path, kept, sizeof kept, &faults), OW_OK);
    assert_non_null(strstr(kept, ".before-2"));
    book = open_book(path, OW_LOG_READ);
    assert_int_equal(entries(book), then);
    ow_logbook_close(&book);
    FILE *file = fopen(copy, "r+b");
    assert_non_null(file);
    assert_int_equal(fseek(file, 8192, SEEK_SET), 0);
    for (int i = 0; i < 20000; i++) {
        (void)fputc('z', file);
    }
    (void)fclose(file);
    assert_int_not_equal(ow_logbook_restore(copy, path, kept, sizeof kept, &faults), OW_OK);
    assert_true(faults.count > 0);
    ow_faults_clear(&faults);
    assert_int_equal(ow_logbook_restore("/nonsuch/backup", path, NULL, 0, &faults), OW_ERROR_READ);
    ow_faults_clear(&faults);
    book = open_book(path, OW_LOG_READ);
    assert_int_equal(entries(book), then);
    ow_logbook_close(&book);
    folder_drop(folder);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(two_writers_both_succeed),
        cmocka_unit_test(a_full_disk_loses_nothing),
        cmocka_unit_test(a_large_addition_is_all_or_none),
        cmocka_unit_test(read_only_is_told),
        cmocka_unit_test(other_files_are_refused),
        cmocka_unit_test(damage_never_crashes),
        cmocka_unit_test(a_backup_comes_back),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
