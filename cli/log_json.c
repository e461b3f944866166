// SPDX-License-Identifier: GPL-3.0-or-later
// The views of things as JSON: vessels, sources, batches, vehicles, traces.
#include "log_json_make.h"

static const char *choice(OwLogKind kind, const char *key, int64_t number) {
    const int f = ow_log_field_of(kind, key);
    const char *const *words = f >= 0 ? ow_log_kind(kind)->fields[f].choices : NULL;
    for (int64_t i = 0; words != NULL && words[i] != NULL; i++) {
        if (i == number) {
            return words[i];
        }
    }
    return "";
}

static json_t *choice_json(bool is_known, OwLogKind kind, const char *key, int64_t number) {
    return is_known ? ow_json_text(choice(kind, key, number)) : json_null();
}

json_t *ow_log_json_levels(OwLogbook *book, OwDisplay display, OwFaults *faults) {
    OwArena *arena = ow_arena_create();
    OwLogVesselRow *rows;
    int count;
    json_t *made = NULL;
    if (arena != NULL && ow_logbook_vessels(book, arena, &rows, &count, faults) == OW_OK) {
        json_t *vessels = json_array();
        for (int i = 0; i < count; i++) {
            const OwLogVesselRow *v = &rows[i];
            (void)json_array_append_new(
                vessels,
                json_pack("{s:I, s:o, s:o, s:o, s:o, s:f, s:o, s:f, s:i, s:b, s:b, s:o}", "id",
                          (json_int_t)v->id, "name", ow_json_text(v->name), "use",
                          choice_json(v->has_use, OW_LOG_VESSEL, "use", v->use), "capacity_m3",
                          ow_json_real(v->has_capacity, v->capacity_m3), "capacity_text",
                          ow_json_shown(v->has_capacity, v->capacity_m3, OW_Q_VOLUME, display), "level_m3",
                          v->level_m3, "level_text", ow_json_shown(true, v->level_m3, OW_Q_VOLUME, display),
                          "own_m3", v->own_m3, "batches", v->batches, "is_below", v->is_below, "is_over",
                          v->is_over, "changed_s", ow_json_id(v->changed_s)));
        }
        made = json_pack("{s:o}", "vessels", vessels);
    }
    ow_arena_destroy(&arena);
    return made;
}

json_t *ow_log_json_sources(OwLogbook *book, OwDisplay display, OwFaults *faults) {
    OwArena *arena = ow_arena_create();
    OwLogSourceRow *rows;
    int count;
    json_t *made = NULL;
    if (arena != NULL && ow_logbook_sources(book, arena, &rows, &count, faults) == OW_OK) {
        json_t *sources = json_array();
        for (int i = 0; i < count; i++) {
            (void)json_array_append_new(
                sources,
                json_pack("{s:I, s:o, s:o, s:I, s:f, s:o}", "id", (json_int_t)rows[i].id, "name",
                          ow_json_text(rows[i].name), "last_s", ow_json_id(rows[i].last_s), "pickups",
                          (json_int_t)rows[i].pickups, "collected_m3", rows[i].collected_m3, "collected_text",
                          ow_json_shown(true, rows[i].collected_m3, OW_Q_VOLUME, display)));
        }
        made = json_pack("{s:o}", "sources", sources);
    }
    ow_arena_destroy(&arena);
    return made;
}

json_t *ow_log_json_of_batch(const OwLogBatchRow *b, OwDisplay display) {
    json_t *o = json_pack("{s:I, s:o, s:o, s:o, s:I, s:o, s:f, s:o, s:f, s:f, s:f, s:f, s:f, s:I, s:I}", "id",
                          (json_int_t)b->id, "name", ow_json_text(b->name), "vessel", ow_json_id(b->vessel),
                          "vessel_name", ow_json_text(b->vessel_name), "started_s", (json_int_t)b->started_s,
                          "last_s", ow_json_id(b->last_s), "volume_m3", b->volume_m3, "volume_text",
                          ow_json_shown(true, b->volume_m3, OW_Q_VOLUME, display), "in_m3", b->in_m3,
                          "added_m3", b->added_m3, "lost_m3", b->lost_m3, "out_m3", b->out_m3, "found_m3",
                          b->found_m3, "steps", (json_int_t)b->steps, "tests", (json_int_t)b->tests);
    (void)json_object_set_new(o, "step", choice_json(b->has_step, OW_LOG_STEP, "what", b->step));
    (void)json_object_set_new(o, "decision",
                              choice_json(b->has_decision, OW_LOG_TEST, "decision", b->decision));
    char over[200];
    (void)ow_log_batch_over(b, over, sizeof over);
    (void)json_object_set_new(o, "over_text", ow_json_text(over));
    (void)json_object_set_new(o, "acid_mg_g", ow_json_real(b->has_acid, b->acid_mg_g));
    (void)json_object_set_new(o, "water_kg_kg", ow_json_real(b->has_water, b->water_kg_kg));
    (void)json_object_set_new(o, "solids_kg_kg", ow_json_real(b->has_solids, b->solids_kg_kg));
    (void)json_object_set_new(o, "viscosity_m2_s", ow_json_real(b->has_viscosity, b->viscosity_m2_s));
    (void)json_object_set_new(o, "density_kg_m3", ow_json_real(b->has_density, b->density_kg_m3));
    return o;
}

json_t *ow_log_json_batches(OwLogbook *book, bool with_done, OwDisplay display, OwFaults *faults) {
    OwArena *arena = ow_arena_create();
    OwLogBatchRow *rows;
    int count;
    json_t *made = NULL;
    if (arena != NULL && ow_logbook_batches(book, with_done, 0, 500, arena, &rows, &count, faults) == OW_OK) {
        json_t *batches = json_array();
        for (int i = 0; i < count; i++) {
            (void)json_array_append_new(batches, ow_log_json_of_batch(&rows[i], display));
        }
        made = json_pack("{s:o}", "batches", batches);
    }
    ow_arena_destroy(&arena);
    return made;
}

json_t *ow_log_json_of_vehicle(const OwLogVehicleRow *v, OwDisplay display) {
    char use[48] = "";
    if (v->has_consumption) {
        ow_log_fuel_text(v->consumption_m3_m, display, use, sizeof use);
    }
    return json_pack(
        "{s:I, s:o, s:o, s:o, s:o, s:o, s:o, s:f, s:o, s:s, s:f, s:f, s:I, s:I, s:I, s:o}", "id",
        (json_int_t)v->id, "name", ow_json_text(v->name), "rig", ow_json_text(v->rig), "last_fill_s",
        ow_json_id(v->last_fill_s), "odometer_m", ow_json_real(v->has_odometer, v->odometer_m), "counted_m",
        ow_json_real(v->has_odometer, v->counted_m), "odometer_text",
        ow_json_way(v->has_odometer, v->odometer_m, display), "distance_m", v->distance_m, "consumption_m3_m",
        ow_json_real(v->has_consumption, v->consumption_m3_m), "consumption_text", use, "oil_m3", v->oil_m3,
        "diesel_m3", v->diesel_m3, "fills", (json_int_t)v->fills, "filters", (json_int_t)v->filters, "spent",
        (json_int_t)v->spent, "spent_text", ow_json_money(v->spent));
}

json_t *ow_log_json_vehicles(OwLogbook *book, OwDisplay display, OwFaults *faults) {
    OwArena *arena = ow_arena_create();
    OwLogVehicleRow *rows;
    int count;
    json_t *made = NULL;
    if (arena != NULL && ow_logbook_vehicles(book, arena, &rows, &count, faults) == OW_OK) {
        json_t *vehicles = json_array();
        for (int i = 0; i < count; i++) {
            (void)json_array_append_new(vehicles, ow_log_json_of_vehicle(&rows[i], display));
        }
        made = json_pack("{s:o}", "vehicles", vehicles);
    }
    ow_arena_destroy(&arena);
    return made;
}

static json_t *shares(const OwLogShare *items, int count, OwDisplay display) {
    json_t *array = json_array();
    for (int i = 0; i < count; i++) {
        const OwLogShare *s = &items[i];
        const OwLogKindRow *row = ow_log_kind(s->kind);
        (void)json_array_append_new(
            array, json_pack("{s:I, s:s, s:o, s:I, s:f, s:f, s:o}", "id", (json_int_t)s->id, "kind",
                             row != NULL ? row->word : "", "name", ow_json_text(s->name), "at_s",
                             (json_int_t)s->at_s, "share", s->share, "volume_m3", s->volume_m3, "text",
                             ow_json_shown(true, s->volume_m3, OW_Q_VOLUME, display)));
    }
    return array;
}

json_t *ow_log_json_of_trace(const OwLogTrace *t, OwDisplay display) {
    return json_pack("{s:f, s:o, s:o, s:o, s:o, s:f, s:b}", "volume_m3", t->volume_m3, "volume_text",
                     ow_json_shown(true, t->volume_m3, OW_Q_VOLUME, display), "parts",
                     shares(t->parts, t->part_count, display), "sources",
                     shares(t->sources, t->source_count, display), "batches",
                     shares(t->batches, t->batch_count, display), "unknown", t->unknown, "is_cut", t->is_cut);
}

json_t *ow_log_json_batch(OwLogbook *book, int64_t id, OwDisplay display, OwFaults *faults) {
    OwArena *arena = ow_arena_create();
    OwLogBatchRow *row = NULL;
    OwLogTrace trace;
    json_t *made = NULL;
    int count = 0;
    // Keyset paging by id: the first at or below it is the one, when there is such a batch.
    if (arena == NULL || ow_logbook_batches(book, true, id + 1, 1, arena, &row, &count, faults) != OW_OK) {
        ow_arena_destroy(&arena);
        return NULL;
    }
    if (count == 0 || row[0].id != id) {
        OwFault fault = {.status = OW_ERROR_VALUE};
        (void)snprintf(fault.message, sizeof fault.message, "there is no batch with the number %lld",
                       (long long)id);
        (void)ow_faults_add(faults, &fault);
    } else if (ow_logbook_trace_back(book, id, 0, arena, &trace, faults) == OW_OK) {
        const OwLogFilter filter = {.thing = id, .limit = 200};
        json_t *list = ow_log_json_list(book, &filter, display, faults);
        if (list != NULL) {
            made =
                json_pack("{s:o, s:O, s:o}", "batch", ow_log_json_of_batch(row, display), "entries",
                          json_object_get(list, "entries"), "trace", ow_log_json_of_trace(&trace, display));
        }
        json_decref(list);
    }
    ow_arena_destroy(&arena);
    return made;
}

json_t *ow_log_json_trace(OwLogbook *book, int64_t id, OwDisplay display, OwFaults *faults) {
    OwArena *arena = ow_arena_create();
    OwLogTrace trace;
    json_t *made = NULL;
    if (arena != NULL && ow_log_trace_read(book, id, arena, &trace, NULL, faults) == OW_OK) {
        made = ow_log_json_of_trace(&trace, display);
    }
    ow_arena_destroy(&arena);
    return made;
}
