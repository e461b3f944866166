// SPDX-License-Identifier: GPL-3.0-or-later
// A writer is killed at random moments, a thousand times in all, while it tells each commit over a pipe:
// nothing told is lost, nothing is there by half, the file is sound. OW_LOG_KILLS sets another number.
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <fcntl.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>
#include <cmocka.h>

#include "logbook/impl.h"
#include "support.h"

typedef struct Told {
    int64_t first; ///< id
    int64_t tag;   ///< of the group, in the amounts
    int count;
} Told;

/// Adds groups of one to three entries that bear one tag, undoes some, tells each commit. Never returns.
static void write_until_killed(const char *path, bool creates, int64_t life, int pipe_end) {
    OwLogbook *book = NULL;
    if (ow_logbook_open(path, creates ? OW_LOG_CREATE : OW_LOG_WRITE, &book, NULL) != OW_OK) {
        _exit(3);
    }
    Yard dice = {.state = (uint64_t)life};
    const Told ready = {.count = 0};
    if (write(pipe_end, &ready, sizeof ready) != sizeof ready) {
        _exit(8);
    }
    for (int64_t n = 0;; n++) {
        OwLogEntry group[3];
        const Told told = {.tag = life * 10000 + n, .count = 1 + (int)roll(&dice, 3)};
        for (int i = 0; i < told.count; i++) {
            group[i] = entry_of(OW_LOG_PICKUP, 1700000000 + n * 600);
            group[i].values[ow_log_field_of(OW_LOG_PICKUP, "source")] =
                (OwLogValue){.is_set = true, .text = "Plum kitchen"};
            group[i].values[ow_log_field_of(OW_LOG_PICKUP, "into")] =
                (OwLogValue){.is_set = true, .text = "raw drum"};
            group[i].values[ow_log_field_of(OW_LOG_PICKUP, "volume")] =
                (OwLogValue){.is_set = true, .si = 0.001 * (double)(i + 1)};
            group[i].values[ow_log_field_of(OW_LOG_PICKUP, "price")] =
                (OwLogValue){.is_set = true, .number = told.tag};
        }
        OwLogEntry things[2] = {entry_of(OW_LOG_SOURCE, 1700000000), entry_of(OW_LOG_VESSEL, 1700000000)};
        things[0].values[0] = (OwLogValue){.is_set = true, .text = "Plum kitchen"};
        things[1].values[0] = (OwLogValue){.is_set = true, .text = "raw drum"};
        if (creates && n == 0 && ow_logbook_add(book, things, 2, NULL) != OW_OK) {
            _exit(4);
        }
        if (ow_logbook_add(book, group, told.count, NULL) != OW_OK) {
            _exit(5);
        }
        Told message = told;
        message.first = group[0].id;
        if (write(pipe_end, &message, sizeof message) != sizeof message) {
            _exit(6);
        }
        if (roll(&dice, 7) == 0 && ow_logbook_undo(book, group[0].id, NULL, NULL, NULL) != OW_OK) {
            _exit(7);
        }
    }
}

static int64_t number(OwLogbook *book, const char *sql, int64_t a) {
    sqlite3_stmt *stmt = NULL;
    int64_t value = -1;
    assert_int_equal(sqlite3_prepare_v2(book->db, sql, -1, &stmt, NULL), SQLITE_OK);
    (void)sqlite3_bind_int64(stmt, 1, a);
    if (sqlite3_step(stmt) == SQLITE_ROW) {
        value = sqlite3_column_int64(stmt, 0);
    }
    (void)sqlite3_finalize(stmt);
    return value;
}

static int kills(void) {
    const char *text = getenv("OW_LOG_KILLS");
    return text == NULL ? 1000 : atoi(text);
}

/// One life: returns how many commits were told.
static int live(const char *path, bool creates, int64_t life, Yard *dice) {
    enum { MOST = 4096 };
    static Told told[MOST];
    int ends[2];
    assert_int_equal(pipe(ends), 0);
    const pid_t child = fork();
    assert_true(child >= 0);
    if (child == 0) {
        (void)close(ends[0]);
        write_until_killed(path, creates, life, ends[1]);
    }
    (void)close(ends[1]);
    // Half of them die at any moment from the fork on, half while they write.
    size_t have = 0;
    if (life % 2 == 1) {
        have = (size_t)read(ends[0], told, sizeof(Told));
        assert_int_equal(have, sizeof(Told));
    }
    const struct timespec span = {.tv_nsec = (long)roll(dice, 12000000)};
    (void)nanosleep(&span, NULL);
    assert_int_equal(kill(child, SIGKILL), 0);
    for (;;) {
        const ssize_t got = read(ends[0], (char *)told + have, sizeof told - have);
        if (got <= 0) {
            break;
        }
        have += (size_t)got;
        assert_true(have < sizeof told);
    }
    (void)close(ends[0]);
    int status = 0;
    assert_int_equal(waitpid(child, &status, 0), child);
    assert_true(WIFSIGNALED(status)); // it was killed: it did not give up by itself
    assert_int_equal(have % sizeof(Told), 0);
    const int messages = (int)(have / sizeof(Told)); // the first only says that the file is open
    const int count = messages > 0 ? messages - 1 : 0;
    OwLogbook *book = NULL;
    OwFaults faults = {0};
    OwStatus opened = ow_logbook_open(path, OW_LOG_WRITE, &book, &faults);
    if (opened != OW_OK && creates && count == 0) { // killed before anything was told: it can be made anew
        ow_faults_clear(&faults);
        opened = ow_logbook_open(path, OW_LOG_CREATE, &book, &faults);
    }
    if (opened != OW_OK) {
        print_faults(&faults);
    }
    ow_faults_clear(&faults);
    assert_int_equal(opened, OW_OK);
    for (int i = 1; i <= count; i++) {
        assert_int_equal(number(book, "SELECT count(*) FROM pickup WHERE price = ?1", told[i].tag),
                         told[i].count);
        assert_int_equal(number(book, "SELECT price FROM pickup WHERE id = ?1", told[i].first), told[i].tag);
    }
    // A group has 1 + 2 + .. mL in it or is not there: none by half. The first of each has 1 L, so that the
    // count is that of the firsts.
    assert_int_equal(number(book,
                            "SELECT count(*) FROM (SELECT price, count(*) AS n, max(volume) AS most FROM "
                            "pickup WHERE price >= ?1"
                            " GROUP BY price) WHERE most <> n * 1000000",
                            life * 10000),
                     0);
    assert_int_equal(number(book, "SELECT count(*) FROM pragma_quick_check WHERE quick_check <> 'ok'", 0), 0);
    assert_int_equal(number(book, "SELECT count(*) FROM pragma_foreign_key_check", 0), 0);
    if (life % 50 == 49) {
        check_sound(book);
    }
    ow_logbook_close(&book);
    return count;
}

static void nothing_told_is_lost(void **state) {
    (void)state;
    char folder[256], path[512];
    Yard dice = {.state = 77};
    if (getenv("TMPDIR") == NULL && access("/dev/shm", W_OK) == 0) {
        (void)setenv("TMPDIR", "/dev/shm",
                     1); // a kill does not reach the disk: memory shows the same, faster
    }
    folder_make(folder);
    int told = 0;
    const int all = kills();
    int64_t life = 0;
    for (int file = 0; life < all; file++) {
        char name[40];
        (void)snprintf(name, sizeof name, "kill-%d.owlog", file);
        (void)path_in(path, folder, name);
        told += live(path, true, life++, &dice);
        OwLogbook *book = open_book(path, OW_LOG_WRITE);
        if (number(book, "SELECT count(*) FROM entry WHERE kind < ?1", 3) == 0) { // killed before its things
            (void)add_thing(book, OW_LOG_SOURCE, "Plum kitchen", 1700000000);
            (void)add_thing(book, OW_LOG_VESSEL, "raw drum", 1700000000);
        }
        ow_logbook_close(&book);
        for (int k = 0; k < 24 && life < all; k++) {
            told += live(path, false, life++, &dice);
        }
        book = open_book(path, OW_LOG_WRITE);
        check_sound(book);
        ow_logbook_close(&book);
    }
    folder_drop(folder);
    (void)printf("%d kills, %d commits told, none lost\n", all, told);
    assert_true(told > all / 2);
}

int main(void) {
    const struct CMUnitTest tests[] = {cmocka_unit_test(nothing_told_is_lost)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
