// SPDX-License-Identifier: GPL-3.0-or-later
// What was learned, what is due, and the sums as JSON.
#include <strings.h>

#include "log_json_make.h"

void ow_log_fuel_text(double m3_m, OwDisplay display, char *text, size_t size) {
    if (display == OW_DISPLAY_US) {
        (void)snprintf(text, size, "%.1f mpg (US)", m3_m > 0.0 ? 3.785411784e-3 / 1609.344 / m3_m : 0.0);
    } else {
        (void)snprintf(text, size, "%.1f L/100 km", 1e8 * m3_m);
    }
}

static json_t *place_json(const OwLogFilters *f, int p, double solids_kg_kg, OwDisplay display) {
    enum { POINTS = 41 };
    OwLearnedFilter l;
    const OwLogFilterRow *now = f->current[p];
    if (ow_learn_filter(f->model, p, solids_kg_kg, f->oil_k[p], &l) != OW_OK) {
        return NULL;
    }
    json_t *curve = json_array();
    for (int i = 0; i < POINTS; i++) {
        const double m = 1.3 * l.high * i / (POINTS - 1);
        (void)json_array_append_new(
            curve, json_pack("{s:f, s:f}", "distance_m", m, "share",
                             ow_learn_filter_survives(f->model, p, solids_kg_kg, f->oil_k[p], m)));
    }
    return json_pack(
        "{s:I, s:o, s:o, s:f, s:f, s:f, s:o, s:o, s:o, s:f, s:f, s:i, s:i, s:i, s:b, s:o, s:o, s:o, s:o}",
        "vehicle", (json_int_t)f->vehicles[p], "vehicle_name", ow_json_text(f->vehicle_names[p]), "filter",
        ow_json_text(f->filters[p]), "life_m", l.life, "low_m", l.low, "high_m", l.high, "life_text",
        ow_json_way(true, l.life, display), "low_text", ow_json_way(true, l.low, display), "high_text",
        ow_json_way(true, l.high, display), "study_m", l.study, "factor", l.factor, "n", l.n, "running",
        l.running, "others", l.others, "has_study", l.has_study, "text", ow_json_text(l.text), "solids_kg_kg",
        ow_json_real(solids_kg_kg > 0.0, solids_kg_kg), "now_m",
        ow_json_real(now != NULL && now->has_distance, now != NULL ? now->distance_m : 0.0), "curve", curve);
}

json_t *ow_log_json_of_filters(const OwLogFilters *f, int64_t vehicle, OwDisplay display) {
    json_t *places = json_array(), *lives = json_array();
    for (int p = 0; p < f->place_count; p++) {
        if (vehicle == 0 || f->vehicles[p] == vehicle) {
            json_t *place = place_json(f, p, f->solids_kg_kg[p], display);
            if (place != NULL && !f->places[p].study) {
                (void)json_object_set_new(place, "study_m", json_null());
            }
            (void)json_array_append_new(places, place);
        }
    }
    const OwLogField *reason = &ow_log_kind(OW_LOG_FILTER)->fields[ow_log_field_of(OW_LOG_FILTER, "reason")];
    for (int i = 0; i < f->row_count; i++) {
        const OwLogFilterRow *r = &f->rows[i];
        if (vehicle != 0 && r->vehicle != vehicle) {
            continue;
        }
        (void)json_array_append_new(
            lives,
            json_pack("{s:I, s:o, s:o, s:I, s:I, s:b, s:o, s:o, s:f, s:f, s:o, s:o, s:o, s:o, s:o, s:I, s:o}",
                      "vehicle", (json_int_t)r->vehicle, "vehicle_name", ow_json_text(r->vehicle_name),
                      "filter", ow_json_text(r->filter), "from_s", (json_int_t)r->from_s, "to_s",
                      (json_int_t)r->to_s, "is_censored", r->is_censored, "distance_m",
                      ow_json_real(r->has_distance, r->distance_m), "distance_text",
                      ow_json_way(r->has_distance, r->distance_m, display), "oil_m3", r->oil_m3, "diesel_m3",
                      r->diesel_m3, "solids_kg_kg", ow_json_real(r->has_solids, r->solids_kg_kg),
                      "temperature_k", ow_json_real(r->has_temperature, r->temperature_k), "before_pa",
                      ow_json_real(r->has_before, r->before_pa), "after_pa",
                      ow_json_real(r->has_after, r->after_pa), "reason",
                      r->has_reason ? ow_json_text(reason->choices[r->reason]) : json_null(), "entry",
                      (json_int_t)r->entry, "next", ow_json_id(r->next)));
    }
    return json_pack("{s:o, s:o}", "places", places, "lives", lives);
}

json_t *ow_log_json_filters(OwLogbook *book, int64_t vehicle, OwDisplay display, OwFaults *faults) {
    OwArena *arena = ow_arena_create();
    OwLogFilters filters = {0};
    json_t *made = NULL;
    if (arena != NULL && ow_log_filters_read(book, arena, NULL, &filters, faults) == OW_OK) {
        made = ow_log_json_of_filters(&filters, vehicle, display);
    }
    ow_log_filters_clear(&filters);
    ow_arena_destroy(&arena);
    return made;
}

json_t *ow_log_json_place(OwLogbook *book, const OwLogStudy *study, OwDisplay display, OwFaults *faults) {
    OwArena *arena = ow_arena_create();
    OwLogFilters f = {0};
    json_t *made = NULL;
    if (arena != NULL && ow_log_filters_read(book, arena, study, &f, faults) == OW_OK) {
        int p = 0;
        while (p < f.place_count &&
               (f.vehicles[p] != study->vehicle || strcasecmp(f.filters[p], study->filter) != 0)) {
            p++;
        }
        json_t *place = p < f.place_count ? place_json(&f, p, study->solids_kg_kg, display) : json_null();
        made = place != NULL ? json_pack("{s:o}", "place", place) : NULL;
    }
    ow_log_filters_clear(&f);
    ow_arena_destroy(&arena);
    return made;
}

json_t *ow_log_json_of_fuel(const OwLearnedFuel *l, OwDisplay display) {
    char text[3][48];
    ow_log_fuel_text(l->rate_m3_m, display, text[0], sizeof text[0]);
    // Miles a gallon fall as the use rises: the lower number of either stands first.
    const bool is_us = display == OW_DISPLAY_US;
    ow_log_fuel_text(is_us ? l->high : l->low, display, text[1], sizeof text[1]);
    ow_log_fuel_text(is_us ? l->low : l->high, display, text[2], sizeof text[2]);
    return json_pack("{s:f, s:f, s:f, s:f, s:f, s:i, s:i, s:i, s:f, s:f, s:b, s:o, s:s, s:s, s:s}",
                     "rate_m3_m", l->rate_m3_m, "low_m3_m", l->low, "high_m3_m", l->high, "tank_low_m3_m",
                     l->tank_low, "tank_high_m3_m", l->tank_high, "n", l->n, "others", l->others, "odd",
                     l->odd, "distance_m", l->distance_m, "volume_m3", l->volume_m3, "is_rising",
                     l->is_rising, "text", ow_json_text(l->text), "rate_text", text[0], "low_text", text[1],
                     "high_text", text[2]);
}

static json_t *odd_json(const OwLearnFuel *model, int vehicle) {
    int count;
    const OwFuelInterval *intervals = ow_learn_fuel_intervals(model, &count);
    json_t *odd = json_array();
    for (int i = 0; i < count; i++) {
        if (intervals[i].vehicle == vehicle && intervals[i].odd != OW_FUEL_USUAL) {
            (void)json_array_append_new(
                odd, json_pack("{s:s, s:o, s:f, s:f}", "kind", ow_fuel_odd_text(intervals[i].odd), "text",
                               ow_json_text(intervals[i].text), "distance_m", intervals[i].distance_m,
                               "volume_m3", intervals[i].volume_m3));
        }
    }
    return odd;
}

json_t *ow_log_json_fuel(OwLogbook *book, OwDisplay display, OwFaults *faults) {
    OwArena *arena = ow_arena_create();
    OwLogVehicleRow *rows;
    OwLearnFuel *model = NULL;
    json_t *made = NULL;
    int count = 0;
    if (arena != NULL && ow_logbook_vehicles(book, arena, &rows, &count, faults) == OW_OK &&
        ow_log_fuel_read(book, arena, rows, count, &model, faults) == OW_OK) {
        json_t *vehicles = json_array();
        for (int v = 0; v < count; v++) {
            OwLearnedFuel fuel;
            if (ow_learn_fuel(model, v, &fuel) == OW_OK) {
                (void)json_array_append_new(vehicles, json_pack("{s:o, s:o, s:o}", "vehicle",
                                                                ow_log_json_of_vehicle(&rows[v], display),
                                                                "fuel", ow_log_json_of_fuel(&fuel, display),
                                                                "odd", odd_json(model, v)));
            }
        }
        made = json_pack("{s:o}", "vehicles", vehicles);
    }
    ow_learn_fuel_destroy(&model);
    ow_arena_destroy(&arena);
    return made;
}

json_t *ow_log_json_vehicle(OwLogbook *book, int64_t id, OwDisplay display, OwFaults *faults) {
    OwArena *arena = ow_arena_create();
    OwLogVehicleRow *rows;
    OwLearnFuel *model = NULL;
    OwLearnedFuel fuel;
    json_t *made = NULL;
    int count, v = 0;
    if (arena == NULL || ow_logbook_vehicles(book, arena, &rows, &count, faults) != OW_OK) {
        ow_arena_destroy(&arena);
        return NULL;
    }
    while (v < count && rows[v].id != id) {
        v++;
    }
    if (v == count) {
        OwFault fault = {.status = OW_ERROR_VALUE};
        (void)snprintf(fault.message, sizeof fault.message, "there is no vehicle with the number %lld",
                       (long long)id);
        (void)ow_faults_add(faults, &fault);
    } else if (ow_log_fuel_read(book, arena, rows, count, &model, faults) == OW_OK &&
               ow_learn_fuel(model, v, &fuel) == OW_OK) {
        const OwLogFilter filter = {.thing = id, .limit = 50};
        json_t *list = ow_log_json_list(book, &filter, display, faults);
        json_t *filters = ow_log_json_filters(book, id, display, faults);
        if (list != NULL && filters != NULL) {
            made =
                json_pack("{s:o, s:o, s:o, s:O, s:O}", "vehicle", ow_log_json_of_vehicle(&rows[v], display),
                          "fuel", ow_log_json_of_fuel(&fuel, display), "odd", odd_json(model, v), "filters",
                          filters, "entries", json_object_get(list, "entries"));
        }
        json_decref(list);
        json_decref(filters);
    }
    ow_learn_fuel_destroy(&model);
    ow_arena_destroy(&arena);
    return made;
}

json_t *ow_log_json_due(OwLogbook *book, int64_t now_s, OwDisplay display, OwFaults *faults) {
    OwArena *arena = ow_arena_create();
    OwReminder *reminders;
    int count;
    json_t *made = NULL;
    if (arena != NULL && ow_log_due_read(book, arena, now_s, display, &reminders, &count, faults) == OW_OK) {
        json_t *list = json_array();
        for (int i = 0; i < count; i++) {
            const OwReminder *r = &reminders[i];
            (void)json_array_append_new(
                list, json_pack("{s:s, s:o, s:o, s:b, s:b, s:b, s:f, s:o, s:o, s:o, s:o}", "kind",
                                ow_remind_kind_text(r->kind), "subject", ow_json_text(r->subject), "thing",
                                ow_json_id(r->thing), "is_due", r->is_due, "is_soon", r->is_soon,
                                "is_unknown", r->is_unknown, "used", r->used, "due_s",
                                r->has_date ? json_integer((json_int_t)r->due_s) : json_null(), "left_m",
                                ow_json_real(r->has_distance, r->left_m), "left_text",
                                ow_json_way(r->has_distance, r->left_m, display), "reason",
                                ow_json_text(r->reason)));
        }
        made = json_pack("{s:o}", "reminders", list);
    }
    ow_arena_destroy(&arena);
    return made;
}

static json_t *by_choice(OwLogKind kind, const char *key, const int64_t *money, const double *volumes,
                         int count) {
    const OwLogField *field = &ow_log_kind(kind)->fields[ow_log_field_of(kind, key)];
    json_t *o = json_object();
    for (int i = 0; i < count; i++) {
        (void)json_object_set_new(o, field->choices[i],
                                  money != NULL ? json_integer((json_int_t)money[i]) : json_real(volumes[i]));
    }
    return o;
}

json_t *ow_log_json_totals(OwLogbook *book, int64_t from_s, int64_t to_s, int64_t vehicle, OwDisplay display,
                           OwFaults *faults) {
    OwLogTotals t;
    if (ow_logbook_totals(book, from_s, to_s, vehicle, &t, faults) != OW_OK) {
        return NULL;
    }
    json_t *kinds = json_object();
    for (int k = 1; k < OW_LOG_KINDS; k++) {
        (void)json_object_set_new(kinds, ow_log_kind((OwLogKind)k)->word,
                                  json_pack("{s:I, s:f, s:I}", "entries", (json_int_t)t.entries[k], "work_s",
                                            t.work_s[k], "spent", (json_int_t)t.spent[k]));
    }
    json_t *o = json_pack(
        "{s:I, s:o, s:o, s:f, s:f, s:f, s:f, s:f, s:f, s:f, s:f, s:f, s:I, s:I, s:f, s:I}", "from_s",
        (json_int_t)from_s, "to_s", ow_json_id(to_s), "kinds", kinds, "collected_m3", t.collected_m3,
        "collection_distance_m", t.collection_distance_m, "filled_m3", t.filled_m3, "diesel_m3", t.diesel_m3,
        "distance_m", t.distance_m, "energy_j", t.energy_j, "added_m3", t.added_m3, "lost_m3", t.lost_m3,
        "found_m3", t.found_m3, "filters", (json_int_t)t.filters, "oil_changes", (json_int_t)t.oil_changes,
        "work_s", t.work_all_s, "spent", (json_int_t)t.spent_all);
    (void)json_object_set_new(o, "spent_text", ow_json_money(t.spent_all));
    (void)json_object_set_new(o, "filled_text", ow_json_shown(true, t.filled_m3, OW_Q_VOLUME, display));
    (void)json_object_set_new(o, "distance_text", ow_json_way(true, t.distance_m, display));
    (void)json_object_set_new(o, "expenses",
                              by_choice(OW_LOG_EXPENSE, "what", t.expenses, NULL, OW_LOG_EXPENSE_CHOICES));
    (void)json_object_set_new(o, "repairs",
                              by_choice(OW_LOG_REPAIR, "what", t.repairs, NULL, OW_LOG_REPAIR_CHOICES));
    (void)json_object_set_new(o, "waste_made_m3",
                              by_choice(OW_LOG_WASTE, "what", NULL, t.waste_made_m3, OW_LOG_WASTE_CHOICES));
    (void)json_object_set_new(o, "waste_handed_m3",
                              by_choice(OW_LOG_WASTE, "what", NULL, t.waste_handed_m3, OW_LOG_WASTE_CHOICES));
    (void)json_object_set_new(o, "first_s", ow_json_id(t.first_s));
    (void)json_object_set_new(o, "last_s", ow_json_id(t.last_s));
    return o;
}
