// SPDX-License-Identifier: GPL-3.0-or-later
// `oilwright batch --json`. SI throughout; shares by mass (1e-6 = 1 mg/kg); money in the file's currency.
#include <string.h>

#include "batch_cli.h"
#include "study.h"

static json_t *stream_json(const OwStream *s) {
    return json_pack("{s:f, s:f, s:f, s:f, s:f}", "oil_kg", s->oil_kg, "acid_kg", s->acid_kg, "free_water_kg",
                     s->free_water_kg, "dissolved_water_kg", s->dissolved_water_kg, "solids_kg",
                     s->solids_kg);
}

static json_t *outs_json(const OwStream *out) {
    static const char *const keys[OW_OUT_COUNT] = {
        [OW_OUT_PRODUCT] = "product",  [OW_OUT_WATER] = "water",   [OW_OUT_SLUDGE] = "sludge",
        [OW_OUT_CAKE] = "cake",        [OW_OUT_VAPOUR] = "vapour", [OW_OUT_REJECT] = "reject",
        [OW_OUT_HANDLING] = "handling"};
    json_t *all = json_object();
    for (int i = 0; i < OW_OUT_COUNT; i++) {
        if (ow_stream_total(&out[i]) > 0.0) {
            (void)json_object_set_new(all, keys[i], stream_json(&out[i]));
        }
    }
    return all;
}

static json_t *known(double value) {
    return value > 0.0 ? ow_study_real(value) : json_null();
}

static json_t *row_json(const OwYard *yard, const OwYardRow *r) {
    const OwPlanStep *step = &yard->steps[r->step];
    json_t *row =
        json_pack("{s:s, s:s, s:s, s:s, s:f, s:f, s:f, s:f, s:f, s:f, s:f, s:f, s:f, s:f}", "step",
                  step->name, "kind", ow_yard_plan_text(step->kind), "vessel",
                  yard->vessels[step->vessel].name, "into", yard->vessels[step->into].name, "elapsed_s",
                  r->elapsed_s, "watched_s", r->watched_s, "hands_on_s", r->hands_on_s, "energy_j",
                  r->energy_j, "start_k", r->start_k, "end_k", r->end_k, "left_m3", r->left_m3, "water_share",
                  r->water_share, "free_water_share", r->free_share, "solids_share", r->solids_share);
    json_t *more =
        json_pack("{s:f, s:i, s:f, s:f, s:o, s:o, s:o, s:o, s:s, s:s, s:o, s:o, s:o}", "filters", r->filters,
                  "filter_changes", r->changes, "filter_area_m2", r->filter_m2, "filter_cost",
                  r->filter_price, "heater_load_w_m2", known(r->load_w_m2), "film_k", known(r->film_k),
                  "driest_share", known(r->floor_share), "wanted_share", known(r->wanted_share), "reach",
                  ow_yard_reach_text(r->reach), "note", r->note, "left", stream_json(&r->left), "out",
                  outs_json(r->out), "added", stream_json(&r->added));
    (void)json_object_update(row, more);
    json_decref(more);
    return row;
}

static const char *unit_of(const OwFinding *f) {
    static const struct {
        const char *key, *unit;
    } units[] = {{"surface_load", "W/m2"}, {"film", "K"},        {"heat", "K"},
                 {"rating", "m"},          {"watched", "s"},     {"filter_time", "s"},
                 {"filter", "m3"},         {"acid", "mg KOH/g"}, {"tests", "of the test"}};
    for (size_t i = 0; i < sizeof units / sizeof units[0]; i++) {
        if (strcmp(units[i].key, f->key) == 0) {
            return units[i].unit;
        }
    }
    return "1";
}

static json_t *finding_json(const OwYard *yard, const OwFinding *f) {
    return json_pack("{s:s, s:s, s:s, s:s, s:s, s:s, s:o, s:o, s:o, s:o, s:s, s:s}", "key", f->key, "label",
                     f->label, "grade", ow_judge_grade_text(f->grade), "trust", ow_judge_trust_text(f->trust),
                     "basis", f->basis, "unit", unit_of(f), "value",
                     f->has_value ? ow_study_real(f->value) : json_null(), "limit",
                     f->has_limit ? ow_study_real(f->limit) : json_null(), "margin",
                     f->has_limit ? ow_study_real(f->margin) : json_null(), "step",
                     f->part >= 0 ? json_string(yard->steps[f->part].name) : json_null(), "text", f->text,
                     "mend", f->mend);
}

static json_t *waste_json(const double *kg) {
    json_t *all = json_object();
    for (int i = 0; i < OW_WASTE_COUNT; i++) {
        (void)json_object_set_new(all, ow_yard_waste_key((OwYardWaste)i), ow_study_real(kg[i]));
    }
    return all;
}

static json_t *tests_json(const OwYard *yard, const OwYardBatch *batch) {
    static const char *const keys[OW_TEST_COUNT] = {"acid", "water", "solids", "viscosity"};
    json_t *rows = json_array();
    for (int i = 0; i < OW_TEST_COUNT; i++) {
        const OwDecision *d = &batch->decisions[i];
        const bool is_tested = d->decide != OW_DECIDE_UNTESTED;
        (void)json_array_append_new(
            rows, json_pack("{s:s, s:s, s:s, s:o, s:f, s:s, s:s, s:s}", "test", keys[i], "decision",
                            ow_yard_decide_text(d->decide), "step", ow_yard_step_key(d->step), "value",
                            is_tested ? ow_study_real(d->value) : json_null(), "limit", d->limit, "unit",
                            d->unit, "trust", ow_judge_trust_text(d->trust), "reason", d->reason));
    }
    return json_pack("{s:s, s:s, s:o}", "of", yard->tests.of == OW_TESTS_OF_CLEAN ? "clean" : "incoming",
                     "decision", ow_yard_decide_text(batch->decide), "rows", rows);
}

static json_t *sums_json(const OwYard *yard, const OwYardBatch *batch) {
    const OwYardSums s = ow_yard_sums(yard, batch);
    return json_pack("{s:f, s:f, s:f, s:f, s:f, s:f, s:f, s:f, s:f, s:f}", "energy_kwh_l", 1e-3 * s.kwh,
                     "labour_s_l", 1e-3 * s.labour_s, "pick_up_s_l", 1e-3 * s.pick_up_s, "filter_cost_l",
                     1e-3 * s.filter_cost, "waste_kg_l", 1e-3 * s.waste_total_kg, "waste_cost_l",
                     1e-3 * s.waste_cost, "test_cost_l", 1e-3 * s.test_cost, "blend_cost_l",
                     1e-3 * s.blend_cost, "lost_l_l", s.lost_m3, "collected_l_l", s.collected_m3);
}

static json_t *week_json(const OwYard *yard, const OwYardWeek *w) {
    static const char *const limits[] = {"pick_ups", "vessel", "watched_hours", "hands", "nothing"};
    json_t *costs = json_array();
    for (int i = 0; i < w->cost_count; i++) {
        const OwWeekCost *c = &w->costs[i];
        (void)json_array_append_new(costs,
                                    json_pack("{s:s, s:s, s:f, s:f, s:b}", "key", c->key, "label", c->label,
                                              "week", c->week, "litre", c->litre, "counted", c->is_counted));
    }
    json_t *week = json_pack(
        "{s:f, s:f, s:f, s:f, s:f, s:f, s:s, s:o, s:o, s:s}", "collected_m3", w->collected_m3,
        "batches_wanted", w->batches_wanted, "batches_possible", w->batches_possible, "batches", w->batches,
        "clean_m3", w->clean_m3, "backlog_m3", w->backlog_m3, "limit", limits[w->limit], "vessel",
        w->limit_vessel >= 0 ? json_string(yard->vessels[w->limit_vessel].name) : json_null(), "step",
        w->limit_step >= 0 ? json_string(yard->steps[w->limit_step].name) : json_null(), "text", w->text);
    json_t *more =
        json_pack("{s:f, s:f, s:f, s:f, s:f, s:o, s:o, s:f, s:f, s:s}", "working_s", w->hours_s, "hands_on_s",
                  w->hands_on_s, "watched_s", w->watched_s, "energy_kwh", w->kwh, "filters", w->filters,
                  "waste_kg", waste_json(w->waste_kg), "costs", costs, "cost_week", w->cost_week,
                  "cost_litre", w->cost_litre, "currency", yard->prices.currency);
    (void)json_object_update(week, more);
    json_decref(more);
    return week;
}

json_t *ow_batch_json(const OwYard *yard, const OwYardBatch *b, const OwYardWeek *week) {
    json_t *steps = json_array(), *findings = json_array(), *cautions = json_array();
    for (int i = 0; i < b->row_count; i++) {
        (void)json_array_append_new(steps, row_json(yard, &b->rows[i]));
    }
    for (int i = 0; i < b->finding_count; i++) {
        (void)json_array_append_new(findings, finding_json(yard, &b->findings[i]));
    }
    for (int i = 0; i < b->caution_count; i++) {
        (void)json_array_append_new(cautions,
                                    json_pack("{s:s, s:s}", "key", ow_yard_caution_key(b->cautions[i]),
                                              "text", ow_yard_caution(b->cautions[i])));
    }
    json_t *root =
        json_pack("{s:s, s:i, s:s, s:s, s:s}", "format", "oilwright-batch", "format_version", 1, "yard",
                  yard->name, "grade", ow_judge_grade_text(b->grade), "headline", b->headline);
    json_t *in = json_pack("{s:f, s:f, s:f, s:f, s:b, s:b, s:b, s:o}", "volume_m3", b->in_m3, "temperature_k",
                           b->in_k, "water_share", b->in_water_share, "solids_share", b->in_solids_share,
                           "water_assumed", b->is_water_assumed, "solids_assumed", b->is_solids_assumed,
                           "acid_assumed", b->is_acid_assumed, "stream", stream_json(&b->in));
    json_t *balance =
        json_pack("{s:f, s:o}", "error", ow_balance_error(&b->balance), "out", outs_json(b->balance.out));
    const OwReappear *r = &b->reappear;
    json_t *cold = json_pack("{s:f, s:f, s:f, s:f, s:f}", "coldest_k", yard->targets.coldest_k,
                             "dissolved_share", r->dissolved_cold, "free_share", r->free_cold, "comes_out_kg",
                             r->free_kg, "comes_out_m3", r->free_m3);
    json_t *more =
        json_pack("{s:o, s:o, s:o, s:f, s:o, s:o, s:o, s:o, s:o, s:o, s:o}", "incoming", in, "steps", steps,
                  "balance", balance, "clean_m3", b->clean_m3, "when_cold", cold, "waste_kg",
                  waste_json(b->waste_kg), "tests", tests_json(yard, b), "a_litre", sums_json(yard, b),
                  "findings", findings, "cautions", cautions, "week", week_json(yard, week));
    if (root == NULL || more == NULL || json_object_update(root, more) != 0) {
        json_decref(root);
        root = NULL;
    }
    json_decref(more);
    return root;
}
