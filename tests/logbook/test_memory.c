// SPDX-License-Identifier: GPL-3.0-or-later
// Every allocation fails once, ours and SQLite's: OW_ERROR_MEMORY or the true answer, no crash, no leak,
// nothing in the file by half.
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

#include "../support/failing_malloc.h"

// SQLite's own allocations, by its configuration.
static sqlite3_mem_methods usual;

static void *sqlite_malloc(int size) {
    return fails_now() ? NULL : usual.xMalloc(size);
}

static void *sqlite_realloc(void *old, int size) {
    return fails_now() ? NULL : usual.xRealloc(old, size);
}

static char folder[256], path[512];

typedef OwStatus (*Job)(OwLogbook *book, OwFaults *faults);

static OwStatus job_add(OwLogbook *book, OwFaults *faults) {
    OwLogEntry e[2] = {entry_of(OW_LOG_SOURCE, 1700000000), entry_of(OW_LOG_PICKUP, 1700000000)};
    e[0].values[0] = (OwLogValue){.is_set = true, .text = "Bakery"};
    e[1].values[0] = (OwLogValue){.is_set = true, .text = "Bakery"};
    e[1].values[1] = (OwLogValue){.is_set = true, .si = 0.01};
    e[1].values[2] = (OwLogValue){.is_set = true, .text = "raw drum"};
    const OwStatus status = ow_logbook_add(book, e, 2, faults);
    int code = SQLITE_OK;
    const bool before = countdown < 0;
    const long left = countdown;
    countdown = -1; // looking must not fail
    const int64_t bakeries = ow_log_number(
        book, ow_log_sql(book, "SELECT count(*) FROM source WHERE name = 'Bakery'"), 0, NULL, -1, &code);
    if (bakeries != (status == OW_OK ? 1 : 0)) {
        return OW_ERROR_USE;
    }
    if (status == OW_OK && ow_logbook_undo(book, e[1].id, NULL, NULL, NULL) == OW_OK &&
        ow_logbook_undo(book, e[0].id, NULL, NULL, NULL) == OW_OK) {
        (void)ow_log_run(book, "DROP TRIGGER IF EXISTS source_stays; UPDATE source SET "
                               "name = 'gone' WHERE name = 'Bakery'");
    }
    countdown = before ? -1 : left;
    return status;
}

static OwStatus job_nearest(OwLogbook *book, OwFaults *faults) {
    OwLogEntry e = entry_of(OW_LOG_ODOMETER, 1700000000);
    e.values[0] = (OwLogValue){.is_set = true, .text = "vann"};
    e.values[1] = (OwLogValue){.is_set = true, .si = 1e6};
    const OwStatus status = ow_logbook_add(book, &e, 1, faults);
    return status == OW_ERROR_VALUE ? OW_OK : status;
}

static OwStatus job_views(OwLogbook *book, OwFaults *faults) {
    OwArena *arena = ow_arena_create();
    if (arena == NULL) {
        return OW_ERROR_MEMORY;
    }
    OwLogVesselRow *vessels = NULL;
    OwLogBatchRow *batches = NULL;
    OwLogVehicleRow *vehicles = NULL;
    OwLogFilterRow *lives = NULL;
    OwLogSourceRow *sources = NULL;
    OwLogSwap *swaps = NULL;
    OwLogTotals totals;
    OwLogTrace trace;
    OwLogList list;
    int count = 0;
    OwStatus status = ow_logbook_vessels(book, arena, &vessels, &count, faults);
    status = status == OW_OK ? ow_logbook_batches(book, true, 0, 0, arena, &batches, &count, faults) : status;
    status = status == OW_OK ? ow_logbook_vehicles(book, arena, &vehicles, &count, faults) : status;
    status = status == OW_OK ? ow_logbook_filters(book, 0, 0, arena, &lives, &count, faults) : status;
    status = status == OW_OK ? ow_logbook_swaps(book, arena, &swaps, &count, faults) : status;
    status = status == OW_OK ? ow_logbook_sources(book, arena, &sources, &count, faults) : status;
    status = status == OW_OK ? ow_logbook_totals(book, 1700001234, 1700300000, 0, &totals, faults) : status;
    status = status == OW_OK ? ow_logbook_trace_back(book, vessels[2].id, 0, arena, &trace, faults) : status;
    status = status == OW_OK ? ow_logbook_trace_back(book, vessels[2].id, 1700200000, arena, &trace, faults)
                             : status;
    status = status == OW_OK ? ow_logbook_list(book, &(OwLogFilter){.text = "final"}, arena, &list, faults)
                             : status;
    ow_arena_destroy(&arena);
    return status;
}

static OwStatus job_check(OwLogbook *book, OwFaults *faults) {
    return ow_logbook_check(book, faults);
}

static OwStatus job_rebuild(OwLogbook *book, OwFaults *faults) {
    return ow_logbook_rebuild(book, faults);
}

static OwStatus job_backup(OwLogbook *book, OwFaults *faults) {
    char copy[512];
    return ow_logbook_backup(book, path_in(copy, folder, "copy.owlog"), true, faults);
}

static OwStatus job_export(OwLogbook *book, OwFaults *faults) {
    char csv[512];
    return ow_logbook_export(book, path_in(csv, folder, "csv"), true, faults);
}

static OwStatus job_import(OwLogbook *book, OwFaults *faults) {
    char csv[512], fresh_path[512];
    (void)book;
    OwLogbook *fresh = NULL;
    (void)unlink(path_in(fresh_path, folder, "fresh.owlog"));
    const long left = countdown;
    countdown = -1;
    const OwStatus created = ow_logbook_open(fresh_path, OW_LOG_CREATE, &fresh, NULL);
    countdown = left;
    OwStatus status =
        created == OW_OK ? ow_logbook_import(fresh, path_in(csv, folder, "csv"), NULL, faults) : OW_ERROR_USE;
    const long rest = countdown;
    countdown = -1;
    int code = SQLITE_OK;
    const int64_t entries =
        ow_log_number(fresh, ow_log_sql(fresh, "SELECT count(*) FROM entry"), 0, NULL, -1, &code);
    if ((status == OW_OK) != (entries > 0)) { // all or nothing
        status = OW_ERROR_USE;
    }
    ow_logbook_close(&fresh);
    countdown = rest;
    return status;
}

static OwStatus job_restore(OwLogbook *book, OwFaults *faults) {
    char copy[512], other[512];
    (void)book;
    return ow_logbook_restore(path_in(copy, folder, "copy.owlog"), path_in(other, folder, "other.owlog"),
                              NULL, 0, faults);
}

static OwStatus job_open(OwLogbook *book, OwFaults *faults) {
    OwLogbook *again = NULL;
    (void)book;
    const OwStatus status = ow_logbook_open(path, OW_LOG_WRITE, &again, faults);
    ow_logbook_close(&again);
    return status;
}

static OwStatus job_create(OwLogbook *book, OwFaults *faults) {
    char fresh[512];
    (void)book;
    OwLogbook *made = NULL;
    (void)unlink(path_in(fresh, folder, "made.owlog"));
    const OwStatus status = ow_logbook_open(fresh, OW_LOG_CREATE, &made, faults);
    ow_logbook_close(&made);
    return status;
}

static const struct {
    const char *name;
    Job job;
    long stride; ///< long jobs skip
} jobs[] = {
    {"add", job_add, 1},        {"nearest", job_nearest, 1},   {"views", job_views, 11},
    {"open", job_open, 1},      {"create", job_create, 7},     {"backup", job_backup, 13},
    {"export", job_export, 13}, {"import", job_import, 41},    {"restore", job_restore, 97},
    {"check", job_check, 211},  {"rebuild", job_rebuild, 211},
};

static void each_allocation_fails_once(void **state) {
    (void)state;
    if (getenv("TMPDIR") == NULL && access("/dev/shm", W_OK) == 0) {
        (void)setenv("TMPDIR", "/dev/shm", 1); // some thousand files are synced
    }
    folder_make(folder);
    OwLogbook *book = open_book(path_in(path, folder, "memory.owlog"), OW_LOG_CREATE);
    Yard yard = {.state = 21};
    make_things(book, &yard);
    for (int i = 0; i < 40; i++) {
        (void)add_random(book, &yard);
    }
    const char *text = getenv("OW_LOG_RUNS"); // fewer under sanitizers
    const long coarse = text == NULL ? 1 : 100 / (atoi(text) < 1 ? 1 : atoi(text));
    for (size_t j = 0; j < sizeof jobs / sizeof jobs[0]; j++) {
        long tried = 0, failed = 0;
        const OwStatus whole = jobs[j].job(book, NULL); // once whole, so that the files it needs are there
        if (whole != OW_OK) {
            fail_msg("%s: %s", jobs[j].name, ow_status_text(whole));
        }
        for (long n = 0;; n += jobs[j].stride * coarse) {
            ow_logbook_close(&book);
            book = open_book(path, OW_LOG_WRITE);
            OwFaults faults = {0};
            const long before = live;
            has_failed = false;
            countdown = n;
            const OwStatus status = jobs[j].job(book, &faults);
            const bool fired = has_failed;
            countdown = -1;
            if (status != OW_OK && status != OW_ERROR_MEMORY) {
                print_faults(&faults);
            }
            ow_faults_clear(&faults);
            if (live != before) {
                fail_msg("%s: %ld allocations of ours are left after failure %ld", jobs[j].name,
                         live - before, n);
            }
            tried++;
            if (!fired) {
                assert_int_equal(status, OW_OK);
                break;
            }
            failed += status != OW_OK ? 1 : 0;
            if (status != OW_OK && status != OW_ERROR_MEMORY) {
                fail_msg("%s: %s after failure %ld", jobs[j].name, ow_status_text(status), n);
            }
        }
        assert_true(tried > 3 && failed > 1);
    }
    check_sound(book);
    ow_logbook_close(&book);
    folder_drop(folder);
    assert_true(sqlite3_memory_used() == 0);
}

int main(void) {
    if (sqlite3_config(SQLITE_CONFIG_GETMALLOC, &usual) != SQLITE_OK) {
        return 1;
    }
    sqlite3_mem_methods failing = usual;
    failing.xMalloc = sqlite_malloc;
    failing.xRealloc = sqlite_realloc;
    if (sqlite3_config(SQLITE_CONFIG_MALLOC, &failing) != SQLITE_OK ||
        sqlite3_config(SQLITE_CONFIG_LOOKASIDE, 0, 0) != SQLITE_OK) {
        return 1;
    }
    const struct CMUnitTest tests[] = {cmocka_unit_test(each_allocation_fails_once)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
