// SPDX-License-Identifier: GPL-3.0-or-later
// An invented orchard co-operative's year for trying out: the same every time, no real people, places or
// makers.
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

#include "log_text.h"

enum { ENTRIES_MOST = 500, WEEKS = 52 };

typedef struct Demo {
    OwUnits *units;
    OwArena *arena;
    OwLogEntry *entries;
    int count;
    bool has_failed;
    unsigned state;
} Demo;

/// A number from 0 to below `most`, the same on every machine (Lehmer 1951, after Park & Miller 1988).
static int roll(Demo *d, int most) {
    d->state = (unsigned)((uint64_t)d->state * 48271u % 2147483647u);
    return (int)(d->state % (unsigned)most);
}

/// An entry on a day of 2025 at an hour; then pairs of key and text, NULL at the end.
static void entry(Demo *d, int day, int hour, OwLogKind kind, ...) {
    if (d->count == ENTRIES_MOST) {
        d->has_failed = true;
        return;
    }
    OwLogEntry *e = &d->entries[d->count++];
    e->kind = kind;
    e->at_s = INT64_C(1735689600) + 86400 * (int64_t)day + 3600 * hour; // 2025-01-01
    va_list pairs;
    va_start(pairs, kind);
    for (const char *key = va_arg(pairs, const char *); key != NULL; key = va_arg(pairs, const char *)) {
        const char *text = ow_arena_text(d->arena, va_arg(pairs, const char *));
        const int f = ow_log_field_of(kind, key);
        char wrong[256], remedy[256];
        if (text == NULL || f < 0 ||
            ow_log_value_read(&ow_log_kind(kind)->fields[f], text, d->units, &e->values[f], wrong, remedy) !=
                OW_OK) {
            d->has_failed = true;
        }
    }
    va_end(pairs);
}

static void things(Demo *d) {
    static const char *const sources[][3] = {{"Hill Cafe", "Upper Lane", "6 km"},
                                             {"Olive Grove", "Market Square", "14 km"},
                                             {"School Kitchen", "Mill Road", "9 km"},
                                             {"Harvest Inn", "River Bridge", "22 km"}};
    static const char *const vessels[][3] = {{"raw tank", "raw", "1000 L"},
                                             {"cone", "work", "220 L"},
                                             {"day tank", "clean", "600 L"},
                                             {"waste drum", "waste", "200 L"}};
    for (int i = 0; i < 4; i++) {
        entry(d, 0, 8, OW_LOG_SOURCE, "name", sources[i][0], "place", sources[i][1], "distance",
              sources[i][2], "note", "invented", NULL);
        entry(d, 0, 8, OW_LOG_VESSEL, "name", vessels[i][0], "use", vessels[i][1], "capacity", vessels[i][2],
              NULL);
    }
    entry(d, 0, 9, OW_LOG_VEHICLE, "name", "orchard van", "rig", "examples/orchard-van.yaml", "note",
          "invented", NULL);
    entry(d, 0, 9, OW_LOG_VEHICLE, "name", "pickup", "rig", "examples/pickup-two-tanks.yaml", "note",
          "invented", NULL);
    entry(d, 0, 10, OW_LOG_EXPENSE, "what", "conversion", "amount", "780.00", "vehicle", "orchard van", NULL);
    entry(d, 0, 10, OW_LOG_EXPENSE, "what", "equipment", "amount", "410.00", "detail", "cone, pump, hoses",
          NULL);
    entry(d, 0, 11, OW_LOG_FILTER, "vehicle", "orchard van", "filter", "large filter", "reason", "fitted",
          "odometer", "180000 km", "price", "14.50", NULL);
    entry(d, 0, 11, OW_LOG_FILTER, "vehicle", "pickup", "filter", "oil filter", "reason", "fitted",
          "odometer", "96000 km", "price", "11.80", NULL);
    entry(d, 1, 9, OW_LOG_REPAIR, "vehicle", "orchard van", "what", "battery", "cost", "118.00", "odometer",
          "180000 km", NULL);
    entry(d, 1, 10, OW_LOG_REPAIR, "vehicle", "orchard van", "what", "oil change", "cost", "46.00",
          "odometer", "180000 km", NULL);
}

static void month(Demo *d, int number) {
    static const char *const sources[] = {"Hill Cafe", "Olive Grove", "School Kitchen", "Harvest Inn"};
    static const char *const drives[] = {"6 km", "14 km", "9 km", "22 km"};
    static const char *const solids[] = {"84 mg/kg", "62 mg/kg",  "78 mg/kg",
                                         "59 mg/kg", "101 mg/kg", "74 mg/kg"};
    const int day = number * 30 + 2;
    char litres[32], name[16], water[32], acid[32];
    for (int i = 0; i < 4; i++) {
        (void)snprintf(litres, sizeof litres, "%d L", 36 + roll(d, 16));
        entry(d, day + 2 * i, 16, OW_LOG_PICKUP, "source", sources[i], "volume", litres, "into", "raw tank",
              "distance", drives[i], "work", "35 min", NULL);
    }
    (void)snprintf(name, sizeof name, "b%d", number + 1);
    (void)snprintf(water, sizeof water, "%d mg/kg", 320 + 20 * roll(d, 16));
    const int tenths = 10 + roll(d, 20); // one roll a call: the order of arguments is the compiler's
    (void)snprintf(acid, sizeof acid, "%d.%d mg/g", tenths / 10, tenths % 10);
    entry(d, day + 10, 9, OW_LOG_BATCH, "name", name, "from", "raw tank", "volume", "150 L", "vessel", "cone",
          "work", "25 min", NULL);
    entry(d, day + 17, 9, OW_LOG_STEP, "batch", name, "what", "settle", "time", "7 d", "loss", "6 L", "waste",
          "sludge", NULL);
    entry(d, day + 17, 15, OW_LOG_STEP, "batch", name, "what", "dry", "temperature", "70 degC", "time", "5 h",
          "loss", "1.5 L", "waste", "water", "energy", "9 kWh", "work", "40 min", NULL);
    entry(d, day + 18, 10, OW_LOG_STEP, "batch", name, "what", "filter", "loss", "1 L", "waste", "cake",
          "work", "50 min", "cost", "3.20", NULL);
    entry(d, day + 18, 12, OW_LOG_TEST, "of", name, "water", water, "acid", acid, "solids",
          solids[number % 6], "decision", "keep", "cost", "4.00", NULL);
    if (number < 11) { // the last one still stands in the cone
        entry(d, day + 19, 9, OW_LOG_MOVE, "from", name, "to", "day tank", "volume", "141.5 L", "work",
              "15 min", NULL);
    }
    if (number % 3 == 2) {
        entry(d, day + 24, 10, OW_LOG_WASTE, "what", "sludge", "volume", "18 L", "taker", "county yard",
              "document",
              number == 2   ? "W-101"
              : number == 5 ? "W-118"
              : number == 8 ? "W-131"
                            : "W-150",
              "cost", "7.50", NULL);
        entry(d, day + 24, 12, OW_LOG_EXPENSE, "what", "electricity", "amount", "8.60", NULL);
    }
}

typedef struct Driver {
    const char *vehicle, *filter;
    double odometer_km, per_km_l, life_km, since_km;
    int weekly_l;
} Driver;

static void week(Demo *d, Driver *v, int number) {
    const int day = number * 7 + 25;
    char oil[32], diesel[32], odometer[32], before[32];
    const double litres = v->weekly_l + roll(d, 3);
    const bool is_cold = number < 9 || number > 43;
    const double way = litres * (is_cold ? 1.15 : 1.0) / v->per_km_l * (0.96 + 0.01 * roll(d, 9));
    v->odometer_km += way;
    v->since_km += way;
    (void)snprintf(oil, sizeof oil, "%.0f L", litres);
    (void)snprintf(diesel, sizeof diesel, "%.1f L", 0.15 * litres);
    (void)snprintf(odometer, sizeof odometer, "%.0f km", v->odometer_km);
    if (is_cold) {
        entry(d, day, 7, OW_LOG_FILL, "vehicle", v->vehicle, "oil", oil, "from", "day tank", "diesel", diesel,
              "odometer", odometer, "full", "yes", "work", "6 min", NULL);
    } else {
        entry(d, day, 7, OW_LOG_FILL, "vehicle", v->vehicle, "oil", oil, "from", "day tank", "odometer",
              odometer, "full", "yes", "work", "6 min", NULL);
    }
    if (v->since_km > v->life_km) {
        (void)snprintf(before, sizeof before, "-%d kPa", 24 + roll(d, 8));
        entry(d, day, 17, OW_LOG_FILTER, "vehicle", v->vehicle, "filter", v->filter, "reason", "plugged",
              "odometer", odometer, "before", before, "after", "-4 kPa", "temperature",
              is_cold ? "12 degC" : "28 degC", "price", "14.50", "work", "20 min", NULL);
        v->since_km = 0.0;
        v->life_km *= 0.85 + 0.05 * roll(d, 8);
    } else if (number % 6 == 3) {
        (void)snprintf(before, sizeof before, "-%d kPa", 6 + (int)(14.0 * v->since_km / v->life_km));
        entry(d, day, 17, OW_LOG_GAUGE, "vehicle", v->vehicle, "filter", v->filter, "reading", before,
              "temperature", is_cold ? "12 degC" : "28 degC", "odometer", odometer, NULL);
    }
    if (number == 26) {
        entry(d, day, 18, OW_LOG_REPAIR, "vehicle", v->vehicle, "what", "oil change", "cost", "46.00",
              "odometer", odometer, "work", "45 min", NULL);
    }
}

OwStatus ow_log_demo(OwLogbook *book, int64_t now_s, OwFaults *faults) {
    (void)now_s;
    Demo d = {.state = 20250101u, .arena = ow_arena_create()};
    OwStatus status = ow_units_create(&d.units);
    d.entries = d.arena != NULL ? ow_arena_take(d.arena, ENTRIES_MOST, sizeof *d.entries) : NULL;
    if (status == OW_OK && d.entries == NULL) {
        status = OW_ERROR_MEMORY;
    }
    if (status == OW_OK) {
        Driver van = {"orchard van", "large filter", 180000.0, 0.094, 3600.0, 0.0, 15};
        Driver pickup = {"pickup", "oil filter", 96000.0, 0.112, 3300.0, 0.0, 9};
        things(&d);
        for (int i = 0; i < 12; i++) {
            month(&d, i);
        }
        for (int i = 0; i < WEEKS - 4; i++) {
            week(&d, &van, i);
            week(&d, &pickup, i);
        }
        status = d.has_failed ? OW_ERROR_VALUE : ow_logbook_add(book, d.entries, d.count, faults);
    }
    ow_units_destroy(&d.units);
    ow_arena_destroy(&d.arena);
    return status;
}
