// SPDX-License-Identifier: GPL-3.0-or-later
// What the tests of the logbook share.
#include <dirent.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>
#include <cmocka.h>

#include "support.h"

void folder_make(char folder[256]) {
    const char *base = getenv("TMPDIR");
    (void)snprintf(folder, 256, "%s/ow-logbook-XXXXXX", base == NULL ? "/tmp" : base);
    assert_non_null(mkdtemp(folder));
}

void folder_drop(const char *folder) {
    DIR *dir = opendir(folder);
    if (dir == NULL) {
        return;
    }
    for (struct dirent *item = readdir(dir); item != NULL; item = readdir(dir)) {
        char path[600];
        if (strcmp(item->d_name, ".") != 0 && strcmp(item->d_name, "..") != 0) {
            (void)snprintf(path, sizeof path, "%s/%s", folder, item->d_name);
            if (unlink(path) != 0) {
                folder_drop(path);
            }
        }
    }
    (void)closedir(dir);
    (void)rmdir(folder);
}

const char *path_in(char path[512], const char *folder, const char *name) {
    (void)snprintf(path, 512, "%s/%s", folder, name);
    return path;
}

OwLogEntry entry_of(OwLogKind kind, int64_t at_s) {
    return (OwLogEntry){.kind = kind, .at_s = at_s, .made_s = at_s};
}

static OwLogValue *value_of(OwLogEntry *entry, const char *key) {
    const int i = ow_log_field_of(entry->kind, key);
    assert_true(i >= 0);
    entry->values[i].is_set = true;
    return &entry->values[i];
}

void set_si(OwLogEntry *entry, const char *key, double si) {
    value_of(entry, key)->si = si;
}

void set_number(OwLogEntry *entry, const char *key, int64_t number) {
    value_of(entry, key)->number = number;
}

void set_text(OwLogEntry *entry, const char *key, const char *text) {
    value_of(entry, key)->text = text;
}

void print_faults(const OwFaults *faults) {
    for (size_t i = 0; i < faults->count; i++) {
        char line[1200];
        (void)ow_fault_format(&faults->items[i], line, sizeof line);
        (void)fprintf(stderr, "  %s\n", line);
    }
}

bool has_fault(const OwFaults *faults, const char *text) {
    for (size_t i = 0; i < faults->count; i++) {
        char line[1200];
        (void)ow_fault_format(&faults->items[i], line, sizeof line);
        if (strstr(line, text) != NULL) {
            return true;
        }
    }
    print_faults(faults);
    return false;
}

int64_t add(OwLogbook *book, OwLogEntry entry) {
    OwFaults faults = {0};
    const OwStatus status = ow_logbook_add(book, &entry, 1, &faults);
    if (status != OW_OK) {
        print_faults(&faults);
    }
    ow_faults_clear(&faults);
    assert_int_equal(status, OW_OK);
    return entry.id;
}

int64_t add_thing(OwLogbook *book, OwLogKind kind, const char *name, int64_t at_s) {
    OwLogEntry entry = entry_of(kind, at_s);
    set_text(&entry, "name", name);
    return add(book, entry);
}

OwLogbook *open_book(const char *path, OwLogMode mode) {
    OwLogbook *book = NULL;
    OwFaults faults = {0};
    const OwStatus status = ow_logbook_open(path, mode, &book, &faults);
    if (status != OW_OK) {
        print_faults(&faults);
    }
    ow_faults_clear(&faults);
    assert_int_equal(status, OW_OK);
    return book;
}

void check_sound(OwLogbook *book) {
    OwFaults faults = {0};
    const OwStatus status = ow_logbook_check(book, &faults);
    if (status != OW_OK) {
        print_faults(&faults);
    }
    ow_faults_clear(&faults);
    assert_int_equal(status, OW_OK);
}

/// SplitMix64 (Steele, Lea & Flood 2014, OOPSLA: a fixed mix of a counter).
uint64_t roll(Yard *yard, uint64_t below) {
    uint64_t z = (yard->state += UINT64_C(0x9E3779B97F4A7C15));
    z = (z ^ (z >> 30)) * UINT64_C(0xBF58476D1CE4E5B9);
    z = (z ^ (z >> 27)) * UINT64_C(0x94D049BB133111EB);
    return (z ^ (z >> 31)) % below;
}

void make_things(OwLogbook *book, Yard *yard) {
    static const char *const sources[] = {"Plum kitchen", "Pear canteen", "School"};
    static const char *const vessels[] = {"raw drum", "cone", "day tank", "spare"};
    static const char *const vehicles[] = {"van", "pickup truck"};
    yard->now_s = 1700000000;
    for (int i = 0; i < 3; i++) {
        yard->sources[i] = add_thing(book, OW_LOG_SOURCE, sources[i], yard->now_s);
    }
    for (int i = 0; i < 4; i++) {
        OwLogEntry entry = entry_of(OW_LOG_VESSEL, yard->now_s);
        set_text(&entry, "name", vessels[i]);
        set_si(&entry, "capacity", 1.0);
        yard->vessels[i] = add(book, entry);
    }
    for (int i = 0; i < 2; i++) {
        yard->vehicles[i] = add_thing(book, OW_LOG_VEHICLE, vehicles[i], yard->now_s);
        yard->last = yard->vehicles[i];
    }
}

static double litres(Yard *yard, uint64_t most_ml) {
    return (double)(1 + roll(yard, most_ml)) * 1e-6;
}

static int64_t place(Yard *yard) {
    return yard->batch_count > 0 && roll(yard, 2) == 0
               ? yard->batches[roll(yard, (uint64_t)yard->batch_count)]
               : yard->vessels[roll(yard, 4)];
}

OwStatus add_random(OwLogbook *book, Yard *yard) {
    yard->now_s += (int64_t)roll(yard, 40000);
    const int64_t at =
        roll(yard, 10) == 0 ? yard->now_s - (int64_t)roll(yard, 4000000) : yard->now_s; // some late
    const int64_t batch = yard->batch_count > 0 ? yard->batches[roll(yard, (uint64_t)yard->batch_count)] : 0;
    static const OwLogKind kinds[] = {
        OW_LOG_PICKUP, OW_LOG_PICKUP,  OW_LOG_BATCH, OW_LOG_STEP, OW_LOG_TEST,    OW_LOG_MOVE,  OW_LOG_MOVE,
        OW_LOG_SHIFT,  OW_LOG_LEVEL,   OW_LOG_WASTE, OW_LOG_FILL, OW_LOG_FILL,    OW_LOG_GAUGE, OW_LOG_FILTER,
        OW_LOG_REPAIR, OW_LOG_EXPENSE, OW_LOG_UNDO,  OW_LOG_UNDO, OW_LOG_ODOMETER};
    OwLogEntry e = entry_of(kinds[roll(yard, sizeof kinds / sizeof kinds[0])], at);
    char name[40];
    if ((e.kind == OW_LOG_STEP || e.kind == OW_LOG_SHIFT) && batch == 0) {
        e.kind = OW_LOG_PICKUP;
    }
    if (ow_log_field_of(e.kind, "work") >= 0 && roll(yard, 2) == 0) {
        set_si(&e, "work", (double)roll(yard, 7200));
    }
    switch (e.kind) {
    case OW_LOG_PICKUP:
        set_number(&e, "source", yard->sources[roll(yard, 3)]);
        set_number(&e, "into", place(yard));
        set_si(&e, "volume", litres(yard, 200000));
        set_si(&e, "distance", (double)roll(yard, 30000));
        set_number(&e, "price", (int64_t)roll(yard, 500));
        break;
    case OW_LOG_BATCH:
        (void)snprintf(name, sizeof name, "b%d-%d", yard->batch_count, (int)roll(yard, 1000000));
        set_text(&e, "name", name);
        if (roll(yard, 3) > 0) {
            set_number(&e, "from", place(yard));
            set_si(&e, "volume", litres(yard, 100000));
        }
        if (roll(yard, 3) > 0) {
            set_number(&e, "vessel", yard->vessels[roll(yard, 4)]);
        }
        break;
    case OW_LOG_STEP:
        set_number(&e, "batch", batch);
        set_number(&e, "what", (int64_t)roll(yard, OW_LOG_STEP_CHOICES));
        if (roll(yard, 2) == 0) {
            set_si(&e, "loss", litres(yard, 3000));
            set_number(&e, "waste", (int64_t)roll(yard, OW_LOG_WASTE_CHOICES));
        }
        if (roll(yard, 4) == 0) {
            set_si(&e, "added", litres(yard, 5000));
            set_text(&e, "addition", "diesel, \"winter\"");
        }
        set_si(&e, "energy", (double)roll(yard, 9000) * 3600.0);
        break;
    case OW_LOG_TEST:
        set_number(&e, "of", place(yard));
        set_si(&e, "solids", (double)roll(yard, 900) * 1e-6);
        set_si(&e, "temperature", 273.15 + (double)roll(yard, 80));
        break;
    case OW_LOG_MOVE:
        set_number(&e, "from", place(yard));
        set_number(&e, "to", place(yard));
        set_si(&e, "volume", litres(yard, 100000));
        if (e.values[0].number == e.values[1].number) {
            return OW_OK;
        }
        break;
    case OW_LOG_SHIFT:
        set_number(&e, "batch", batch);
        set_number(&e, "vessel", yard->vessels[roll(yard, 4)]);
        break;
    case OW_LOG_LEVEL:
        set_number(&e, "of", place(yard));
        set_si(&e, "level", litres(yard, 400000));
        break;
    case OW_LOG_WASTE:
        set_number(&e, "what", (int64_t)roll(yard, OW_LOG_WASTE_CHOICES));
        set_si(&e, "volume", litres(yard, 9000));
        if (roll(yard, 2) == 0) {
            set_number(&e, "from", place(yard));
        }
        break;
    case OW_LOG_FILL:
        set_number(&e, "vehicle", yard->vehicles[roll(yard, 2)]);
        set_si(&e, "oil", litres(yard, 70000));
        if (roll(yard, 5) > 0) {
            set_number(&e, "from", place(yard));
        }
        set_si(&e, "odometer", (double)(at - 1690000000) * 0.1);
        set_si(&e, "diesel", litres(yard, 9000));
        set_number(&e, "price", (int64_t)roll(yard, 5000));
        break;
    case OW_LOG_ODOMETER:
        set_number(&e, "vehicle", yard->vehicles[roll(yard, 2)]);
        set_si(&e, "odometer", (double)(at - 1690000000) * 0.1);
        if (roll(yard, 4) == 0) { // replaced
            set_number(&e, "new", 1);
            if (roll(yard, 2) == 0) {
                set_si(&e, "old", (double)(at - 1690000000) * 0.1);
            }
            set_si(&e, "odometer", 0.0);
        }
        break;
    case OW_LOG_GAUGE:
        set_number(&e, "vehicle", yard->vehicles[roll(yard, 2)]);
        set_text(&e, "filter", "final filter");
        set_si(&e, "reading", (double)roll(yard, 60) * 1e3);
        set_si(&e, "temperature", 330.0);
        break;
    case OW_LOG_FILTER:
        set_number(&e, "vehicle", yard->vehicles[roll(yard, 2)]);
        set_text(&e, "filter", roll(yard, 2) == 0 ? "final filter" : "pre-filter");
        set_number(&e, "reason", (int64_t)roll(yard, OW_LOG_REASON_CHOICES));
        set_number(&e, "price", 1250);
        break;
    case OW_LOG_REPAIR:
        set_number(&e, "what", (int64_t)roll(yard, OW_LOG_REPAIR_CHOICES));
        set_number(&e, "vehicle", yard->vehicles[roll(yard, 2)]);
        set_number(&e, "cost", (int64_t)roll(yard, 50000));
        break;
    case OW_LOG_EXPENSE:
        set_number(&e, "what", (int64_t)roll(yard, OW_LOG_EXPENSE_CHOICES));
        set_number(&e, "amount", (int64_t)roll(yard, 50000) - 1000);
        break;
    default:
        set_number(&e, "entry", (int64_t)(10 + roll(yard, (uint64_t)(yard->last - 8))));
        break;
    }
    OwFaults faults = {0};
    const OwStatus status = ow_logbook_add(book, &e, 1, &faults);
    if (status != OW_OK && e.kind != OW_LOG_UNDO) {
        print_faults(&faults);
    }
    ow_faults_clear(&faults);
    if (status == OW_OK) {
        yard->last = e.id;
        if (e.kind == OW_LOG_BATCH && yard->batch_count < 64) {
            yard->batches[yard->batch_count++] = e.id;
        }
        if (e.kind == OW_LOG_UNDO) { // a batch that was taken back is no longer used
            for (int i = 0; i < yard->batch_count; i++) {
                if (yard->batches[i] == e.values[0].number) {
                    yard->batches[i] = yard->batches[--yard->batch_count];
                }
            }
        }
    }
    return status;
}
