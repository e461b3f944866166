// SPDX-License-Identifier: GPL-3.0-or-later
// What the logbook knows of things that may be due.
#include <string.h>

#include "base/text.h"
#include "log_cli.h"

enum { FACTS_MOST = 1000, BATCHES_MOST = 200 };

typedef struct Facts {
    OwLogbook *book;
    OwArena *arena;
    OwFaults *faults;
    OwRemindFact *items;
    int count;
    int64_t now_s;
    bool is_winter;
    OwLogSwap *swaps; ///< odometers that were replaced
    int swap_count;
} Facts;

static OwRemindFact *add(Facts *f, OwRemindKind kind, int64_t thing, const char *name, const char *what) {
    if (f->count == FACTS_MOST) {
        return &f->items[FACTS_MOST - 1]; // full: the last one is given up
    }
    OwRemindFact *fact = &f->items[f->count++];
    *fact = (OwRemindFact){.kind = kind, .thing = thing};
    (void)snprintf(fact->subject, sizeof fact->subject, "%.40s%s%.20s", name, what[0] != '\0' ? ": " : "",
                   what);
    return fact;
}

static const OwLogValue *value(const OwLogEntry *e, const char *key) {
    static const OwLogValue none = {0};
    const int f = ow_log_field_of(e->kind, key);
    return f >= 0 ? &e->values[f] : &none;
}

/// The odometer of an entry, counted on through replaced ones.
static double counted(const Facts *f, const OwLogEntry *e) {
    return ow_log_counted(f->swaps, f->swap_count, value(e, "vehicle")->number, e->at_s, e->id,
                          value(e, "odometer")->si);
}

/// Metres a day between the first and last reading of the last 100 fills.
static double per_day(Facts *f, int64_t vehicle) {
    const OwLogFilter filter = {
        .kinds = (1u << OW_LOG_FILL) | (1u << OW_LOG_ODOMETER), .thing = vehicle, .limit = 100};
    OwLogList list;
    if (ow_logbook_list(f->book, &filter, f->arena, &list, f->faults) != OW_OK) {
        return 0.0;
    }
    const OwLogEntry *newest = NULL, *oldest = NULL;
    for (int i = 0; i < list.count; i++) {
        if (value(&list.entries[i], "odometer")->is_set) {
            newest = newest == NULL ? &list.entries[i] : newest;
            oldest = &list.entries[i];
        }
    }
    if (newest == NULL || newest->at_s - oldest->at_s < 86400) {
        return 0.0;
    }
    const double way = counted(f, newest) - counted(f, oldest);
    return way > 0.0 ? way * 86400.0 / (double)(newest->at_s - oldest->at_s) : 0.0;
}

static void repairs_of(Facts *f, const OwLogVehicleRow *v, double per_day_m) {
    const OwLogFilter filter = {.kinds = 1u << OW_LOG_REPAIR, .thing = v->id, .limit = 100};
    OwLogList list = {0};
    (void)ow_logbook_list(f->book, &filter, f->arena, &list, f->faults);
    const OwLogEntry *lube = NULL, *battery = NULL, *drain = NULL;
    for (int i = 0; i < list.count; i++) {
        const OwLogEntry *e = &list.entries[i];
        const int64_t what = value(e, "what")->number;
        const OwLogValue *detail = value(e, "detail");
        lube = lube == NULL && what == OW_LOG_REPAIR_OIL_CHANGE ? e : lube;
        battery = battery == NULL && what == OW_LOG_REPAIR_BATTERY ? e : battery;
        drain = drain == NULL && detail->is_set && strstr(detail->text, "drain") != NULL ? e : drain;
    }
    OwRemindFact *fact = add(f, OW_REMIND_LUBE, v->id, v->name, "");
    const double fuel = v->oil_m3 + v->diesel_m3;
    fact->oil_share = fuel > 0.0 ? v->oil_m3 / fuel : 0.0;
    fact->per_day_m = per_day_m;
    if (lube != NULL) {
        fact->since_s = lube->at_s;
        fact->has_distance = v->has_odometer && value(lube, "odometer")->is_set;
        fact->since_m = fact->has_distance ? v->counted_m - counted(f, lube) : 0.0;
    }
    fact = add(f, OW_REMIND_BATTERY, v->id, v->name, "");
    fact->since_s = battery != NULL ? battery->at_s : 0;
    if (f->is_winter || drain != NULL) {
        fact = add(f, OW_REMIND_WATER, v->id, v->name, "");
        fact->is_winter = f->is_winter;
        fact->since_s = drain != NULL ? drain->at_s : 0;
    }
}

static int64_t newest(Facts *f, OwLogKind kind, int64_t thing) {
    const OwLogFilter filter = {.kinds = 1u << kind, .thing = thing, .limit = 1};
    OwLogList list = {0};
    (void)ow_logbook_list(f->book, &filter, f->arena, &list, f->faults);
    return list.count > 0 ? list.entries[0].at_s : 0;
}

static OwStatus batches_of(Facts *f) {
    OwLogBatchRow *rows;
    int count;
    const OwStatus status =
        ow_logbook_batches(f->book, false, 0, BATCHES_MOST, f->arena, &rows, &count, f->faults);
    for (int i = 0; status == OW_OK && i < count; i++) {
        const OwLogBatchRow *b = &rows[i];
        if (!(b->volume_m3 > 1e-6)) {
            continue;
        }
        // Soured oil shows in a new acid test, and then its time begins anew.
        const int64_t test = newest(f, OW_LOG_TEST, b->id), step = newest(f, OW_LOG_STEP, b->id);
        add(f, OW_REMIND_BATCH_AGE, b->id, b->name, "")->since_s = test > b->started_s ? test : b->started_s;
        if (test == 0 || test < step) {
            add(f, OW_REMIND_TEST, b->id, b->name, "")->since_s = step > 0 ? step : b->started_s;
        }
    }
    return status;
}

static OwStatus filters_of(Facts *f, const OwLogVehicleRow *vehicles, const double *per_day_m, int count) {
    const OwRemindSettings settings = ow_remind_default();
    OwLogFilters filters;
    const OwStatus status = ow_log_filters_read(f->book, f->arena, NULL, &filters, f->faults);
    for (int p = 0; status == OW_OK && p < filters.place_count; p++) {
        const OwLogFilterRow *row = filters.current[p];
        if (row == NULL) {
            continue;
        }
        OwRemindFact *fact = add(f, OW_REMIND_FILTER, row->vehicle, row->vehicle_name, row->filter);
        const double solids = filters.solids_kg_kg[p];
        const double oil_k = filters.oil_k[p];
        OwLearnedFilter learned;
        fact->has_distance = row->has_distance;
        fact->since_m = row->distance_m;
        if (ow_learn_filter(filters.model, p, solids, oil_k, &learned) == OW_OK) {
            fact->due_m =
                ow_learn_filter_quantile(filters.model, p, solids, oil_k, settings.filter_risk, 0.0);
            fact->due_low_m = learned.low;
            fact->due_high_m = learned.high;
        }
        for (int v = 0; v < count; v++) {
            fact->per_day_m = vehicles[v].id == row->vehicle ? per_day_m[v] : fact->per_day_m;
        }
    }
    ow_log_filters_clear(&filters);
    return status;
}

OwStatus ow_log_due_read(OwLogbook *book, OwArena *arena, int64_t now_s, OwDisplay display,
                         OwReminder **reminders, int *count, OwFaults *faults) {
    char today[24];
    ow_log_time_write(now_s, today, sizeof today);
    const int month = 10 * (today[5] - '0') + today[6] - '0';
    // November to March, as north of the tropics.
    Facts f = {.book = book,
               .arena = arena,
               .faults = faults,
               .now_s = now_s,
               .is_winter = month >= 11 || month <= 3};
    OwLogVehicleRow *vehicles;
    int vehicle_count = 0;
    *count = 0;
    f.items = ow_arena_take(arena, FACTS_MOST, sizeof *f.items);
    *reminders = ow_arena_take(arena, FACTS_MOST, sizeof **reminders);
    if (f.items == NULL || *reminders == NULL) {
        return OW_ERROR_MEMORY;
    }
    OwStatus status = ow_logbook_vehicles(book, arena, &vehicles, &vehicle_count, faults);
    status = status == OW_OK ? ow_logbook_swaps(book, arena, &f.swaps, &f.swap_count, faults) : status;
    double *per_day_m = ow_arena_take(arena, (size_t)vehicle_count + 1, sizeof *per_day_m);
    if (status != OW_OK || per_day_m == NULL) {
        return status != OW_OK ? status : OW_ERROR_MEMORY;
    }
    for (int i = 0; i < vehicle_count; i++) {
        per_day_m[i] = per_day(&f, vehicles[i].id);
        repairs_of(&f, &vehicles[i], per_day_m[i]);
    }
    status = filters_of(&f, vehicles, per_day_m, vehicle_count);
    status = status != OW_OK ? status : batches_of(&f);
    if (status == OW_OK) {
        ow_remind(f.items, f.count, NULL, now_s, display == OW_DISPLAY_US, *reminders);
        *count = f.count;
    }
    return status;
}
