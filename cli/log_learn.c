// SPDX-License-Identifier: GPL-3.0-or-later
// From the logbook's rows to what can be learned from them, and back by name.
#include <stdlib.h>
#include <string.h>
#include <strings.h>

#include "base/text.h"
#include "log_cli.h"

enum { LIVES_MOST = 200, FILLS_MOST = 2000, PAGE = 1000, PLACES_MOST = 400 };

static bool is_ended(const OwLogFilterRow *row) {
    // Changed on plan, for a leak or another reason: it might have lasted longer. Not told: it had plugged.
    return !row->is_censored && (!row->has_reason || row->reason == OW_LOG_REASON_PLUGGED);
}

static int place_of(OwLogFilters *f, const OwLogFilterRow *row) {
    for (int i = 0; i < f->place_count; i++) {
        if (f->vehicles[i] == row->vehicle && strcasecmp(f->filters[i], row->filter) == 0) {
            return i;
        }
    }
    if (f->place_count == PLACES_MOST) {
        return -1;
    }
    const int i = f->place_count++;
    f->vehicles[i] = row->vehicle;
    f->vehicle_names[i] = row->vehicle_name;
    f->filters[i] = row->filter;
    (void)snprintf(f->places[i].name, sizeof f->places[i].name, "%.30s: %.30s", row->vehicle_name,
                   row->filter);
    return i;
}

OwStatus ow_log_filters_read(OwLogbook *book, OwArena *arena, const OwLogStudy *study, OwLogFilters *f,
                             OwFaults *faults) {
    const OwLogStudy none = {0};
    OwLearnSettings settings = ow_learn_default();
    study = study != NULL ? study : &none;
    settings.solids_kg_kg = study->solids_kg_kg > 0.0 ? study->solids_kg_kg : settings.solids_kg_kg;
    *f = (OwLogFilters){0};
    OwStatus status = ow_logbook_filters(book, 0, LIVES_MOST, arena, &f->rows, &f->row_count, faults);
    if (status != OW_OK) {
        return status;
    }
    const size_t n = (size_t)f->row_count + 2;
    f->place_of = ow_arena_take(arena, n, sizeof *f->place_of);
    f->places = ow_arena_take(arena, PLACES_MOST, sizeof *f->places);
    f->vehicles = ow_arena_take(arena, PLACES_MOST, sizeof *f->vehicles);
    f->vehicle_names = ow_arena_take(arena, PLACES_MOST, sizeof *f->vehicle_names);
    f->filters = ow_arena_take(arena, PLACES_MOST, sizeof *f->filters);
    f->current = ow_arena_take(arena, PLACES_MOST, sizeof *f->current);
    f->solids_kg_kg = ow_arena_take(arena, PLACES_MOST, sizeof *f->solids_kg_kg);
    f->oil_k = ow_arena_take(arena, PLACES_MOST, sizeof *f->oil_k);
    OwLearnLife *lives = ow_arena_take(arena, n, sizeof *lives);
    if (f->place_of == NULL || f->places == NULL || f->vehicles == NULL || f->vehicle_names == NULL ||
        f->filters == NULL || f->current == NULL || f->solids_kg_kg == NULL || f->oil_k == NULL ||
        lives == NULL) {
        return OW_ERROR_MEMORY;
    }
    int count = 0;
    for (int i = 0; i < f->row_count; i++) {
        OwLogFilterRow *row = &f->rows[i];
        const int place = place_of(f, row);
        f->place_of[i] = place;
        if (place < 0) {
            continue;
        }
        f->current[place] = row->is_censored && f->current[place] == NULL ? row : f->current[place];
        if (row->has_solids && !(f->solids_kg_kg[place] > 0.0)) {
            f->solids_kg_kg[place] = row->solids_kg_kg;
        }
        if (row->has_temperature && !(f->oil_k[place] > 0.0)) {
            f->oil_k[place] = row->temperature_k;
        }
        if (row->has_distance) {
            lives[count++] = (OwLearnLife){.place = place,
                                           .is_running = !is_ended(row),
                                           .life = row->distance_m,
                                           .solids_kg_kg = row->has_solids ? row->solids_kg_kg : 0.0,
                                           .oil_k = row->has_temperature ? row->temperature_k : 0.0};
        }
    }
    if (study->distance_m > 0.0 && study->filter != NULL && f->place_count < PLACES_MOST) {
        // The asked place is there even when the log has nothing of it yet.
        const OwLogFilterRow asked = {.vehicle = study->vehicle, .vehicle_name = "", .filter = study->filter};
        (void)place_of(f, &asked);
    }
    for (int i = 0; i < f->place_count; i++) {
        const bool is_it = f->vehicles[i] == study->vehicle &&
                           (study->filter == NULL || strcasecmp(f->filters[i], study->filter) == 0);
        f->places[i].study = is_it ? study->distance_m : 0.0;
    }
    return f->place_count == 0
               ? OW_OK
               : ow_learn_filters_create(f->places, f->place_count, lives, count, &settings, &f->model);
}

void ow_log_filters_clear(OwLogFilters *filters) {
    ow_learn_filters_destroy(&filters->model);
}

static const OwLogValue *value(const OwLogEntry *e, const char *key) {
    static const OwLogValue none = {0};
    const int f = ow_log_field_of(e->kind, key);
    return f >= 0 ? &e->values[f] : &none;
}

OwStatus ow_log_fuel_read(OwLogbook *book, OwArena *arena, const OwLogVehicleRow *vehicles, int count,
                          OwLearnFuel **model, OwFaults *faults) {
    *model = NULL;
    if (count == 0) {
        return OW_OK;
    }
    OwLearnFill *fills = ow_arena_take(arena, FILLS_MOST, sizeof *fills);
    if (fills == NULL) {
        return OW_ERROR_MEMORY;
    }
    OwLogSwap *swaps;
    int swap_count;
    const OwStatus swapped = ow_logbook_swaps(book, arena, &swaps, &swap_count, faults);
    if (swapped != OW_OK) {
        return swapped;
    }
    OwLogFilter filter = {.kinds = 1u << OW_LOG_FILL, .limit = PAGE};
    int at = FILLS_MOST; // newest come first, so the array fills from its end
    for (bool has_more = true; has_more && at > 0;) {
        OwLogList list;
        const OwStatus status = ow_logbook_list(book, &filter, arena, &list, faults);
        if (status != OW_OK) {
            return status;
        }
        for (int i = 0; i < list.count && at > 0; i++) {
            const OwLogEntry *e = &list.entries[i];
            int v = 0;
            while (v < count && vehicles[v].id != value(e, "vehicle")->number) {
                v++;
            }
            if (v == count) {
                continue;
            }
            const OwLogValue *full = value(e, "full"), *odometer = value(e, "odometer");
            fills[--at] = (OwLearnFill){
                .vehicle = v,
                .entry = e->id,
                .at_s = e->at_s,
                .has_odometer = odometer->is_set,
                .odometer_m = ow_log_counted(swaps, swap_count, vehicles[v].id, e->at_s, e->id, odometer->si),
                .is_partial = full->is_set && full->number == 0,
                .volume_m3 = value(e, "oil")->si + value(e, "diesel")->si};
        }
        has_more = list.has_more && list.count > 0;
        if (has_more) {
            filter.before_at_s = list.entries[list.count - 1].at_s;
            filter.before_id = list.entries[list.count - 1].id;
        }
    }
    return ow_learn_fuel_create(count, fills + at, FILLS_MOST - at, NULL, model);
}
