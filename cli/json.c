// SPDX-License-Identifier: GPL-3.0-or-later
// A judgement as one JSON object (jansson). The keys below are a promise: units stand in the names, all SI;
// unknown is null.
#include <jansson.h>
#include <math.h>

#include "json_make.h"

// Top: format, format_version, rig, fluids, headline, advice, grade, fails, started, ready_s, start_s, end_s, cautions,
// trouble, answers, events, worst_moment, path, audit, stats.

static const char *const quantity_unit[OW_Q_COUNT] = {
    [OW_Q_NUMBER] = "1",         [OW_Q_TIME] = "s",
    [OW_Q_TEMPERATURE] = "K",    [OW_Q_TEMPERATURE_DIFFERENCE] = "K",
    [OW_Q_PRESSURE] = "Pa",      [OW_Q_KINEMATIC_VISCOSITY] = "m2/s",
    [OW_Q_CHARGE] = "C",         [OW_Q_POWER] = "W",
    [OW_Q_VOLUME_FLOW] = "m3/s", [OW_Q_VOLTAGE] = "V",
};

/// Stable names of events.
static const char *event_key(OwEventKind kind) {
    switch (kind) {
    case OW_EVENT_KEY_ON:
        return "key_on";
    case OW_EVENT_READY:
        return "ready";
    case OW_EVENT_CRANK:
        return "crank";
    case OW_EVENT_START:
        return "start";
    case OW_EVENT_NO_START:
        return "no_start";
    case OW_EVENT_GAVE_UP:
        return "gave_up";
    case OW_EVENT_STOP:
        return "stop";
    case OW_EVENT_LEG:
        return "leg";
    case OW_EVENT_THERMOSTAT_OPENS:
        return "thermostat_opens";
    case OW_EVENT_THERMOSTAT_CLOSES:
        return "thermostat_closes";
    case OW_EVENT_VALVE:
        return "valve";
    case OW_EVENT_SWITCH:
        return "switch";
    case OW_EVENT_AIR:
        return "air";
    case OW_EVENT_AIR_OVER:
        return "air_over";
    case OW_EVENT_STARVED:
        return "starved";
    case OW_EVENT_STARVED_OVER:
        return "starved_over";
    case OW_EVENT_TANK_EMPTY:
        return "tank_empty";
    case OW_EVENT_END:
        return "end";
    }
    return "unknown";
}

/// Objects under construction; one failure anywhere is remembered.
typedef struct OwJson {
    const OwJudgement *judgement;
    bool has_failed;
} OwJson;

static void put(OwJson *json, json_t *object, const char *key, json_t *value) {
    if (json_object_set_new(object, key, value) != 0) {
        json->has_failed = true;
    }
}

static void put_real(OwJson *json, json_t *object, const char *key, double value) {
    put(json, object, key, isfinite(value) ? json_real(value) : json_null());
}

static void put_known(OwJson *json, json_t *object, const char *key, bool is_known, double value) {
    put(json, object, key, is_known && isfinite(value) ? json_real(value) : json_null());
}

static void put_text(OwJson *json, json_t *object, const char *key, const char *text) {
    json_t *value = text != NULL ? json_string(text) : json_null();
    put(json, object, key, value != NULL ? value : json_string("(not UTF-8)"));
}

static void put_part(OwJson *json, json_t *object, const char *key, int part) {
    const OwRig *rig = json->judgement->record->rig;
    put_text(json, object, key, part >= 0 && part < rig->part_count ? rig->parts[part].name : NULL);
}

static void append(OwJson *json, json_t *array, json_t *value) {
    if (json_array_append_new(array, value) != 0) {
        json->has_failed = true;
    }
}

static json_t *answer(OwJson *json, const OwAnswer *v) {
    json_t *o = json_object();
    put_text(json, o, "kind", ow_judge_kind_key(v->kind));
    put_text(json, o, "question", ow_judge_kind_text(v->kind));
    put_text(json, o, "grade", ow_judge_grade_text(v->grade));
    put_text(json, o, "unit", quantity_unit[v->quantity] != NULL ? quantity_unit[v->quantity] : "SI");
    put_known(json, o, "value", v->has_value, v->value);
    put_known(json, o, "limit", v->has_limit, v->limit);
    put_known(json, o, "margin", v->has_value && v->has_limit, v->margin);
    put_known(json, o, "tightness", v->has_value && v->has_limit, v->tightness);
    put_known(json, o, "time_s", v->time_s >= 0.0, v->time_s);
    put_part(json, o, "part", v->part);
    put_text(json, o, "trust", ow_judge_trust_text(v->trust));
    put_text(json, o, "basis", v->basis);
    put_text(json, o, "text", v->text);
    put_text(json, o, "mend", v->mend);
    return o;
}

static json_t *contribution(OwJson *json, const OwContribution *c) {
    const OwPart *part = &json->judgement->record->rig->parts[c->part];
    json_t *o = json_object();
    put_text(json, o, "part", part->name);
    put_text(json, o, "kind", ow_part_kind_name(part->kind));
    put_text(json, o, "way", c->is_return ? "return" : "supply");
    put_real(json, o, "flow_m3_s", c->flow_m3_s);
    put_real(json, o, "oil_in_k", c->in_k);
    put_real(json, o, "oil_out_k", c->out_k);
    put_known(json, o, "kinematic_in_m2_s", c->in_kinematic_m2_s > 0.0, c->in_kinematic_m2_s);
    put_known(json, o, "kinematic_out_m2_s", c->out_kinematic_m2_s > 0.0, c->out_kinematic_m2_s);
    put_real(json, o, "pressure_in_pa", c->in_pa);
    put_real(json, o, "pressure_out_pa", c->out_pa);
    put_real(json, o, "drop_pa", c->drop_pa);
    put_real(json, o, "drop_share", c->drop_share);
    put_real(json, o, "heat_w", c->heat_w);
    put_real(json, o, "coolant_w", c->coolant_w);
    put_real(json, o, "gain_w", c->gain_w);
    put_known(json, o, "hottest_oil_k", c->hottest_oil_k > 0.0, c->hottest_oil_k);
    put_known(json, o, "hottest_wall_k", c->hottest_wall_k > 0.0, c->hottest_wall_k);
    put_known(json, o, "hottest_s", c->hottest_s >= 0.0, c->hottest_s);
    put_known(json, o, "rating_k", c->rating_k > 0.0, c->rating_k);
    put_text(json, o, "grade", ow_judge_grade_text(c->grade));
    put_text(json, o, "mark", c->mark);
    return o;
}

static json_t *event(OwJson *json, const OwEvent *e) {
    json_t *o = json_object();
    put_real(json, o, "time_s", e->time_s);
    put_text(json, o, "kind", event_key(e->kind));
    put_text(json, o, "text", ow_event_text(e->kind));
    put_part(json, o, "part", e->part);
    put(json, o, "element", e->element >= 0 ? json_integer(e->element + 1) : json_null());
    put_real(json, o, "value", e->value);
    return o;
}

static json_t *moment(OwJson *json) {
    const OwJudgement *j = json->judgement;
    if (j->worst_sample < 0) {
        return json_null();
    }
    const OwSample *s = &j->record->samples[j->worst_sample];
    json_t *o = json_object();
    put_real(json, o, "time_s", s->time_s);
    put_text(json, o, "why", j->worst_why);
    put_real(json, o, "inlet_k", s->inlet_k);
    put_real(json, o, "inlet_pa", s->inlet_pa);
    put_real(json, o, "inlet_kinematic_m2_s", s->inlet_kinematic_m2_s);
    put_real(json, o, "inlet_fill", s->inlet_fill);
    put_real(json, o, "lowest_pa", s->lowest_pa);
    put_part(json, o, "lowest_part", s->lowest_part);
    put_real(json, o, "coolant_k", s->coolant_k);
    put_real(json, o, "fuel_request_m3_s", s->fuel_request_m3_s);
    put_real(json, o, "fuel_burned_m3_s", s->fuel_burned_m3_s);
    put_real(json, o, "full_request_m3_s", s->full_request_m3_s);
    put_real(json, o, "full_burned_m3_s", s->full_burned_m3_s);
    put_real(json, o, "heaters_w", s->heaters_w);
    put_real(json, o, "charge_c", s->charge_c);
    return o;
}

static json_t *books(OwJson *json) {
    const OwAudit *a = &json->judgement->record->audit;
    json_t *o = json_object();
    put_real(json, o, "heat_in_j", a->heat_in_j);
    put_real(json, o, "loss_j", a->loss_j);
    put_real(json, o, "burned_j", a->burned_j);
    put_real(json, o, "storage_j", a->storage_j);
    put_real(json, o, "energy_gap", a->energy_gap);
    put_real(json, o, "burned_m3", a->burned_m3);
    put_real(json, o, "tank_change_m3", a->tank_change_m3);
    put_real(json, o, "volume_gap", a->volume_gap);
    return o;
}

static json_t *work_done(OwJson *json) {
    const OwRunStats *s = &json->judgement->record->stats;
    json_t *o = json_object();
    put(json, o, "steps", json_integer(s->steps));
    put(json, o, "rejected", json_integer(s->rejected));
    put(json, o, "evaluations", json_integer(s->evaluations));
    put(json, o, "flow_iterations", json_integer(s->flow_iterations));
    put(json, o, "event_retries", json_integer(s->event_retries));
    put_real(json, o, "shortest_step_s", s->shortest_step_s);
    put(json, o, "samples", json_integer(json->judgement->record->sample_count));
    return o;
}

json_t *ow_json_make(const OwJudgement *judgement) {
    OwJson json = {.judgement = judgement};
    const OwRecord *record = judgement->record;
    json_t *root = json_object();
    json_t *fluids = json_array();
    for (int i = 0; i < record->rig->fluid_count && i < OW_MAX_FLUIDS; i++) {
        append(&json, fluids, json_string(record->rig->fluid_name[i]));
    }
    json_t *answers = json_array();
    for (int i = 0; i < judgement->answer_count; i++) {
        append(&json, answers, answer(&json, &judgement->answers[i]));
    }
    json_t *events = json_array();
    for (int i = 0; i < record->event_count; i++) {
        append(&json, events, event(&json, &record->events[i]));
    }
    json_t *path = json_array();
    for (int i = 0; i < judgement->contribution_count; i++) {
        append(&json, path, contribution(&json, &judgement->contributions[i]));
    }
    put_text(&json, root, "format", "oilwright morning");
    put(&json, root, "format_version", json_integer(1));
    put_text(&json, root, "rig", record->rig->name);
    put(&json, root, "fluids", fluids);
    put_text(&json, root, "headline", judgement->headline);
    put_text(&json, root, "advice", judgement->advice);
    put_text(&json, root, "grade", ow_judge_grade_text(judgement->grade));
    put(&json, root, "fails", json_boolean(ow_judge_fails(judgement->grade)));
    put(&json, root, "started", json_boolean(record->has_started));
    put_known(&json, root, "ready_s", record->ready_s >= 0.0, record->ready_s);
    put_known(&json, root, "start_s", record->start_s >= 0.0, record->start_s);
    put_real(&json, root, "end_s", record->end_s);
    OwReportCaution caution[OW_REPORT_CAUTIONS];
    const int caution_count = ow_report_caution_list(judgement, caution);
    json_t *cautions = json_array();
    for (int i = 0; i < caution_count; i++) {
        append(&json, cautions, json_string(caution[i].text));
    }
    put(&json, root, "cautions", cautions);
    put_text(&json, root, "trouble", record->trouble[0] != '\0' ? record->trouble : NULL);
    put(&json, root, "answers", answers);
    put(&json, root, "events", events);
    put(&json, root, "worst_moment", moment(&json));
    put(&json, root, "path", path);
    put(&json, root, "audit", books(&json));
    put(&json, root, "stats", work_done(&json));
    if (json.has_failed) {
        json_decref(root);
        return NULL;
    }
    return root;
}

OwStatus ow_json_write(FILE *file, const OwJudgement *judgement) {
    json_t *root = ow_json_make(judgement);
    OwStatus status = root == NULL ? OW_ERROR_MEMORY : OW_OK;
    if (status == OW_OK &&
        (json_dumpf(root, file, JSON_INDENT(2) | JSON_REAL_PRECISION(10)) != 0 || fputc('\n', file) == EOF)) {
        status = OW_ERROR_WRITE;
    }
    json_decref(root);
    return status;
}
