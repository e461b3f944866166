// SPDX-License-Identifier: GPL-3.0-or-later
// A logbook of a million entries (or as many as told): the time to make it, then each view's time beside the
// same answer as a plain scan of the entries in SQL, without running sums. bench_logbook [ENTRIES [FILE]]
#include "logbook/impl.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

enum { SOURCES = 200, VESSELS = 20, VEHICLES = 20, OPEN = 100, GROUP = 1000, TRIES = 5 };
#define YEARS_S (INT64_C(10) * 365 * 86400)
#define FIRST_S INT64_C(1420070400)

static double now_s(void) {
    struct timespec t;
    (void)clock_gettime(CLOCK_MONOTONIC, &t);
    return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

static void must(bool is_good, const char *what) {
    if (!is_good) {
        (void)fprintf(stderr, "bench_logbook: %s\n", what);
        exit(1);
    }
}

static uint64_t dice = 1;
static uint64_t roll(uint64_t below) { // SplitMix64
    uint64_t z = (dice += UINT64_C(0x9E3779B97F4A7C15));
    z = (z ^ (z >> 30)) * UINT64_C(0xBF58476D1CE4E5B9);
    z = (z ^ (z >> 27)) * UINT64_C(0x94D049BB133111EB);
    return (z ^ (z >> 31)) % below;
}

static OwLogValue *value_of(OwLogEntry *e, const char *key) {
    OwLogValue *value = &e->values[ow_log_field_of(e->kind, key)];
    value->is_set = true;
    return value;
}

typedef struct Yard {
    OwLogbook *book;
    int64_t sources[SOURCES], vessels[VESSELS], vehicles[VEHICLES], batch;
    double odometer_m[VEHICLES];
    char names[GROUP][40];
    int64_t made;
    int64_t open[OPEN]; ///< batches that are not used up yet
    int64_t batches;
} Yard;

static void add(Yard *yard, OwLogEntry *entries, int count) {
    OwFaults faults = {0};
    const OwStatus status = ow_logbook_add(yard->book, entries, count, &faults);
    if (status != OW_OK) {
        char line[600];
        for (size_t i = 0; i < faults.count; i++) {
            if (faults.items[i].severity == OW_FAULT_ERROR) {
                (void)ow_fault_format(&faults.items[i], line, sizeof line);
                (void)fprintf(stderr, "%s\n", line);
            }
        }
    }
    ow_faults_clear(&faults);
    must(status == OW_OK, "adding failed");
    yard->made += count;
}

static int64_t thing(Yard *yard, OwLogKind kind, const char *what, int number) {
    OwLogEntry e = {.kind = kind, .at_s = FIRST_S};
    char name[40];
    (void)snprintf(name, sizeof name, "%s %d", what, number);
    value_of(&e, "name")->text = name;
    add(yard, &e, 1);
    return e.id;
}

/// Oil goes from raw vessels (the first half) through batches into clean ones (the second half) and vehicles.
static void fill_entry(Yard *yard, OwLogEntry *e, char name[40], int64_t at_s, int64_t number) {
    const int vehicle = (int)roll(VEHICLES), raw = (int)roll(VESSELS / 2),
              clean = VESSELS / 2 + (int)roll(VESSELS / 2);
    const uint64_t what = roll(1000);
    *e = (OwLogEntry){.at_s = at_s, .made_s = at_s};
    yard->odometer_m[vehicle] += (double)roll(200000);
    if (what < 20 || yard->batch == 0) {
        e->kind = OW_LOG_BATCH;
        (void)snprintf(name, 40, "b%lld", (long long)number);
        value_of(e, "name")->text = name;
        value_of(e, "from")->number = yard->vessels[raw];
        value_of(e, "volume")->si = 0.5;
        value_of(e, "vessel")->number = yard->vessels[raw];
    } else if (what < 300) {
        e->kind = OW_LOG_PICKUP;
        value_of(e, "source")->number = yard->sources[roll(SOURCES)];
        value_of(e, "into")->number = yard->vessels[raw];
        value_of(e, "volume")->si = 0.02 + (double)roll(60) * 1e-3;
        value_of(e, "work")->si = 1200;
        value_of(e, "distance")->si = 9000;
        value_of(e, "note")->text = roll(100) == 0 ? "cloudy, drained first" : "as usual";
    } else if (what < 380) {
        e->kind = OW_LOG_STEP;
        value_of(e, "batch")->number = yard->batch;
        value_of(e, "what")->number = (int64_t)roll(OW_LOG_STEP_CHOICES);
        value_of(e, "loss")->si = 0.002;
        value_of(e, "waste")->number = (int64_t)roll(OW_LOG_WASTE_CHOICES);
        value_of(e, "energy")->si = 3.6e6;
    } else if (what < 430) {
        e->kind = OW_LOG_TEST;
        value_of(e, "of")->number = yard->batch;
        value_of(e, "solids")->si = (double)roll(60) * 1e-6;
        value_of(e, "decision")->number = OW_LOG_DECISION_KEEP;
    } else if (what < 500) {
        e->kind = OW_LOG_MOVE;
        value_of(e, "from")->number = yard->batch;
        value_of(e, "to")->number = yard->vessels[clean];
        value_of(e, "volume")->si = 0.15;
    } else if (what < 850) {
        e->kind = OW_LOG_FILL;
        value_of(e, "vehicle")->number = yard->vehicles[vehicle];
        value_of(e, "from")->number = yard->vessels[clean];
        value_of(e, "oil")->si = 0.03;
        value_of(e, "odometer")->si = yard->odometer_m[vehicle];
        value_of(e, "price")->number = 0;
    } else if (what < 900) {
        e->kind = OW_LOG_GAUGE;
        value_of(e, "vehicle")->number = yard->vehicles[vehicle];
        value_of(e, "filter")->text = "final filter";
        value_of(e, "reading")->si = (double)roll(40) * 1e3;
        value_of(e, "temperature")->si = 340;
    } else if (what < 915) {
        e->kind = OW_LOG_FILTER;
        value_of(e, "vehicle")->number = yard->vehicles[vehicle];
        value_of(e, "filter")->text = "final filter";
        value_of(e, "reason")->number = OW_LOG_REASON_PLUGGED;
        value_of(e, "odometer")->si = yard->odometer_m[vehicle];
        value_of(e, "price")->number = 1250;
    } else {
        e->kind = OW_LOG_EXPENSE;
        value_of(e, "what")->number = (int64_t)roll(OW_LOG_EXPENSE_CHOICES);
        value_of(e, "amount")->number = (int64_t)roll(5000);
    }
}

static void make(Yard *yard, int64_t count) {
    OwLogEntry *group = calloc(GROUP, sizeof *group);
    must(group != NULL, "out of memory");
    for (int i = 0; i < SOURCES; i++) {
        yard->sources[i] = thing(yard, OW_LOG_SOURCE, "kitchen", i);
    }
    for (int i = 0; i < VESSELS; i++) {
        yard->vessels[i] = thing(yard, OW_LOG_VESSEL, "vessel", i);
    }
    for (int i = 0; i < VEHICLES; i++) {
        yard->vehicles[i] = thing(yard, OW_LOG_VEHICLE, "van", i);
    }
    while (yard->made < count) {
        int have = 0;
        while (have < GROUP && yard->made + have < count) {
            const int64_t number = yard->made + have;
            fill_entry(yard, &group[have], yard->names[have], FIRST_S + number * (YEARS_S / count), number);
            if (group[have].kind == OW_LOG_BATCH) { // known by its id from the next group on
                add(yard, group, have + 1);
                yard->batch = group[have].id;
                int64_t *oldest = &yard->open[yard->batches++ % OPEN];
                if (*oldest != 0) { // used up by now: measured as empty
                    OwLogEntry level = {
                        .kind = OW_LOG_LEVEL, .at_s = group[have].at_s, .made_s = group[have].at_s};
                    value_of(&level, "of")->number = *oldest;
                    value_of(&level, "level")->si = 0.0;
                    add(yard, &level, 1);
                }
                *oldest = yard->batch;
                have = 0;
                continue;
            }
            have++;
        }
        if (have > 0) {
            add(yard, group, have);
        }
    }
    free(group);
}

// ---- Views

typedef OwStatus (*View)(Yard *yard, OwArena *arena);

static OwStatus view_vessels(Yard *y, OwArena *arena) {
    OwLogVesselRow *rows;
    int count;
    return ow_logbook_vessels(y->book, arena, &rows, &count, NULL);
}
static OwStatus view_sources(Yard *y, OwArena *arena) {
    OwLogSourceRow *rows;
    int count;
    return ow_logbook_sources(y->book, arena, &rows, &count, NULL);
}
static OwStatus view_batches(Yard *y, OwArena *arena) {
    OwLogBatchRow *rows;
    int count;
    return ow_logbook_batches(y->book, false, 0, 0, arena, &rows, &count, NULL);
}
static OwStatus view_vehicles(Yard *y, OwArena *arena) {
    OwLogVehicleRow *rows;
    int count;
    return ow_logbook_vehicles(y->book, arena, &rows, &count, NULL);
}
static OwStatus view_filters(Yard *y, OwArena *arena) {
    OwLogFilterRow *rows;
    int count;
    return ow_logbook_filters(y->book, 0, 0, arena, &rows, &count, NULL);
}
static OwStatus view_totals(Yard *y, OwArena *arena) {
    (void)arena;
    OwLogTotals totals;
    return ow_logbook_totals(y->book, 0, 0, 0, &totals, NULL);
}
static OwStatus view_period(Yard *y, OwArena *arena) {
    (void)arena;
    OwLogTotals totals;
    return ow_logbook_totals(y->book, FIRST_S + 12345, FIRST_S + YEARS_S / 2 + 54321, 0, &totals, NULL);
}
static OwStatus view_of_vehicle(Yard *y, OwArena *arena) {
    (void)arena;
    OwLogTotals totals;
    return ow_logbook_totals(y->book, FIRST_S + 12345, FIRST_S + YEARS_S / 2 + 54321, y->vehicles[3], &totals,
                             NULL);
}
static OwStatus list_with(Yard *y, OwArena *arena, OwLogFilter filter) {
    OwLogList list;
    return ow_logbook_list(y->book, &filter, arena, &list, NULL);
}
static OwStatus view_newest(Yard *y, OwArena *arena) {
    return list_with(y, arena, (OwLogFilter){.limit = 50});
}
static OwStatus view_middle(Yard *y, OwArena *arena) {
    return list_with(y, arena, (OwLogFilter){.before_at_s = FIRST_S + YEARS_S / 2, .before_id = 500000});
}
static OwStatus view_kind(Yard *y, OwArena *arena) {
    return list_with(y, arena, (OwLogFilter){.kinds = 1u << OW_LOG_FILTER});
}
static OwStatus view_thing(Yard *y, OwArena *arena) {
    return list_with(y, arena, (OwLogFilter){.thing = y->vehicles[3], .kinds = 1u << OW_LOG_FILL});
}
static OwStatus view_words(Yard *y, OwArena *arena) {
    return list_with(y, arena, (OwLogFilter){.text = "cloudy drain"});
}
static OwStatus view_back(Yard *y, OwArena *arena) {
    OwLogTrace trace;
    return ow_logbook_trace_back(y->book, y->vessels[VESSELS - 1], 0, arena, &trace, NULL);
}
static OwStatus view_back_then(Yard *y, OwArena *arena) {
    OwLogTrace trace;
    return ow_logbook_trace_back(y->book, y->vessels[VESSELS - 1], FIRST_S + YEARS_S / 2, arena, &trace,
                                 NULL);
}
static OwStatus view_forward(Yard *y, OwArena *arena) {
    OwLogList list;
    OwLogTrace trace;
    const OwLogFilter filter = {
        .kinds = 1u << OW_LOG_PICKUP, .limit = 1, .before_at_s = FIRST_S + YEARS_S / 2, .before_id = 1};
    OwStatus status = ow_logbook_list(y->book, &filter, arena, &list, NULL);
    must(status == OW_OK && list.count == 1, "no pick-up");
    return ow_logbook_trace_forward(y->book, list.entries[0].id, arena, &trace, NULL);
}
static OwStatus view_find(Yard *y, OwArena *arena) {
    (void)arena;
    int64_t id;
    char nearest[OW_LOG_NAME_MAX + 1];
    return ow_logbook_find(y->book, 1u << OW_LOG_VEHICLE, "vann 7", &id, nearest, NULL);
}
static OwStatus view_add(Yard *y, OwArena *arena) {
    (void)arena;
    OwLogEntry e = {.kind = OW_LOG_FILL, .at_s = FIRST_S + YEARS_S};
    value_of(&e, "vehicle")->number = y->vehicles[0];
    value_of(&e, "from")->number = y->vessels[VESSELS - 1];
    value_of(&e, "oil")->si = 0.03;
    return ow_logbook_add(y->book, &e, 1, NULL);
}

#define LIVE(id) " NOT EXISTS(SELECT 1 FROM undo u WHERE u.entry = " id ")"
static const struct {
    const char *name;
    View view;
    const char *plain; ///< the same answer, or its costly part, by scanning; NULL: the views' own tables are
                       ///< needed anyway
} views[] = {
    {"vessel levels", view_vessels,
     "SELECT v.id, coalesce((SELECT sum(volume) FROM pickup p WHERE p.\"into\" = v.id AND" LIVE(
         "p.id") "), 0) + coalesce((SELECT sum(volume)"
                 " FROM move m WHERE m.\"to\" = v.id AND" LIVE(
                     "m.id") "), 0) - coalesce((SELECT sum(volume) FROM move m WHERE m.\"from\" = v.id "
                             "AND" LIVE("m.id") "), 0) - coalesce((SELECT sum(volume) FROM batch b WHERE "
                                                "b.\"from\" = v.id AND" LIVE("b.id") "), 0) - "
                                                                                     "coalesce((SELECT"
                                                                                     " sum(oil) FROM fill f "
                                                                                     "WHERE f.\"from\" = "
                                                                                     "v.id AND" LIVE(
                                                                                         "f.id") "), 0) FROM "
                                                                                                 "vessel v"},
    {"sources, collected", view_sources,
     "SELECT source, count(*), sum(volume) FROM pickup p WHERE" LIVE("p.id") " GROUP BY source"},
    {"batch board, 100 open", view_batches,
     "SELECT b.id, b.volume - coalesce((SELECT sum(loss) FROM step s WHERE s.batch = b.id), 0) - "
     "coalesce((SELECT sum(volume) FROM move m"
     " WHERE m.\"from\" = b.id), 0) AS left FROM batch b WHERE b.id IN (SELECT id FROM batch ORDER BY id "
     "DESC LIMIT 100) AND left <> 0"},
    {"vehicles, consumption", view_vehicles,
     "SELECT vehicle, count(*), sum(oil), sum(diesel), max(odometer) - min(odometer) FROM fill f WHERE" LIVE(
         "f.id") " GROUP BY vehicle"},
    {"200 filter lives", view_filters, NULL},
    {"totals, ten years", view_totals,
     "SELECT (SELECT sum(volume) FROM pickup p WHERE" LIVE(
         "p.id") "), (SELECT sum(oil) FROM fill f WHERE" LIVE("f.id") "), (SELECT"
                                                                      " sum(amount) FROM expense x "
                                                                      "WHERE" LIVE("x.id") "), (SELECT "
                                                                                           "sum(loss) FROM "
                                                                                           "step s "
                                                                                           "WHERE" LIVE(
                                                                                               "s.id") "), "
                                                                                                       "(SELE"
                                                                                                       "CT "
                                                                                                       "sum("
                                                                                                       "work)"
                                                                                                       " FROM"
                                                                                                       " pick"
                                                                                                       "up)"},
    {"totals, a period", view_period,
     "SELECT sum(f.oil) FROM fill f JOIN entry e ON e.id = f.id WHERE e.at > 1420082745 AND e.at < "
     "1577804721 AND" LIVE("e.id")},
    {"totals of a vehicle", view_of_vehicle,
     "SELECT sum(f.oil) FROM fill f JOIN entry e ON e.id = f.id WHERE f.vehicle = 224 AND e.at > 1420082745 "
     "AND e.at < 1577804721"},
    {"list, newest 50", view_newest, "SELECT * FROM entry ORDER BY at + 0 DESC, id DESC LIMIT 50"},
    {"list, from the middle", view_middle,
     "SELECT * FROM entry ORDER BY at + 0 DESC, id DESC LIMIT 50 OFFSET 500000"},
    {"list, one kind", view_kind, "SELECT * FROM entry WHERE +kind = 15 ORDER BY at + 0 DESC LIMIT 50"},
    {"list, one vehicle", view_thing,
     "SELECT e.id FROM fill f JOIN entry e ON e.id = f.id WHERE f.vehicle = 224 ORDER BY e.at + 0 DESC LIMIT "
     "50"},
    {"list, two words", view_words,
     "SELECT id FROM pickup WHERE note LIKE '%cloudy%' AND note LIKE '%drain%' ORDER BY id + 0 DESC LIMIT "
     "50"},
    {"trace back, now", view_back, NULL},
    {"trace back, 5 years ago", view_back_then, NULL},
    {"trace forward, 5 years", view_forward, NULL},
    {"find a name, nearest", view_find, NULL},
    {"add one entry, on disk", view_add, NULL},
};

static double time_plain(OwLogbook *book, const char *sql) {
    double best = 1e9;
    for (int i = 0; i < 2; i++) {
        sqlite3_stmt *stmt = NULL;
        const double start = now_s();
        must(sqlite3_prepare_v2(book->db, sql, -1, &stmt, NULL) == SQLITE_OK, sqlite3_errmsg(book->db));
        while (sqlite3_step(stmt) == SQLITE_ROW) {
        }
        (void)sqlite3_finalize(stmt);
        best = now_s() - start < best ? now_s() - start : best;
    }
    return best;
}

int main(int argc, char **argv) {
    const int64_t count = argc > 1 ? strtoll(argv[1], NULL, 10) : 1000000;
    char path[64] = "/tmp/ow-bench-logbook-XXXXXX";
    static Yard yard;
    OwFaults faults = {0};
    if (argc > 2) {
        (void)snprintf(path, sizeof path, "%s", argv[2]);
    } else {
        const int file = mkstemp(path);
        must(file >= 0 && close(file) == 0, "no file can be made in /tmp");
    }
    must(count >= 1000, "at least 1000 entries");
    (void)setvbuf(stdout, NULL, _IOLBF, 0);
    double start = now_s();
    must(ow_logbook_open(path, OW_LOG_CREATE, &yard.book, &faults) == OW_OK, "the logbook cannot be made");
    make(&yard, count);
    const double made_s = now_s() - start;
    (void)printf("%lld entries made in %.1f s, %.1f us each, up to %d in a transaction\n\n",
                 (long long)yard.made, made_s, 1e6 * made_s / (double)yard.made, GROUP);
    (void)printf("%-26s %12s %12s %14s\n", "view", "first, ms", "median, ms", "plain scan, ms");
    bool is_good = true;
    for (size_t v = 0; v < sizeof views / sizeof views[0]; v++) {
        double times[TRIES], first = 0.0;
        for (int i = -1; i < TRIES; i++) {
            OwArena *arena = ow_arena_create();
            if (i < 0) { // a fresh handle has no pages in its cache
                ow_logbook_close(&yard.book);
                must(ow_logbook_open(path, OW_LOG_WRITE, &yard.book, &faults) == OW_OK,
                     "the logbook cannot be opened");
            }
            start = now_s();
            must(views[v].view(&yard, arena) == OW_OK, views[v].name);
            const double took = now_s() - start;
            if (i < 0) {
                first = took;
            } else {
                int k = i;
                for (; k > 0 && times[k - 1] > took; k--) {
                    times[k] = times[k - 1];
                }
                times[k] = took;
            }
            ow_arena_destroy(&arena);
        }
        char plain[24] = "-";
        if (views[v].plain != NULL) {
            (void)snprintf(plain, sizeof plain, "%.1f", 1e3 * time_plain(yard.book, views[v].plain));
        }
        (void)printf("%-26s %12.2f %12.2f %14s\n", views[v].name, 1e3 * first, 1e3 * times[TRIES / 2], plain);
        is_good = is_good && times[TRIES / 2] < 0.1;
    }
    start = now_s();
    const OwStatus sound = ow_logbook_check(yard.book, &faults);
    (void)printf("\nwhole check: %.1f s, %s\n", now_s() - start, sound == OW_OK ? "sound" : "NOT sound");
    ow_faults_clear(&faults);
    ow_logbook_close(&yard.book);
    if (argc <= 2) {
        char beside[80];
        (void)unlink(path);
        (void)snprintf(beside, sizeof beside, "%s-wal", path);
        (void)unlink(beside);
        (void)snprintf(beside, sizeof beside, "%s-shm", path);
        (void)unlink(beside);
    }
    (void)printf("%s\n", is_good ? "every view below 100 ms" : "A VIEW TAKES 100 ms OR MORE");
    return is_good && sound == OW_OK ? 0 : 1;
}
