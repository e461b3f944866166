// SPDX-License-Identifier: GPL-3.0-or-later
// A cost answer as JSON (SI and money) and its lines as CSV.
#include <math.h>
#include <string.h>

#include "cost_cli.h"

static json_t *number(double value, bool is_known) {
    return is_known && isfinite(value) ? json_real(value) : json_null();
}

static json_t *texts(const char *const *list) {
    json_t *array = json_array();
    for (int i = 0; list[i] != NULL; i++) {
        if (json_array_append_new(array, json_string(list[i])) != 0) {
            json_decref(array);
            return NULL;
        }
    }
    return array;
}

static json_t *make_inputs(const OwCostPlan *plan) {
    static const char *const spreads[] = {"plain", "flat", "triangle", "bell"};
    json_t *array = json_array();
    for (int i = 0; i < OW_COST_INPUTS; i++) {
        const OwCostValue *v = &plan->inputs[i];
        char text[64], us[64];
        double least, most;
        ow_cost_limits((OwCostInput)i, &least, &most);
        ow_cost_write((OwCostInput)i, v->value, OW_DISPLAY_METRIC, text, sizeof text);
        ow_cost_write((OwCostInput)i, v->value, OW_DISPLAY_US, us, sizeof us);
        json_t *one = json_pack(
            "{s:s, s:s, s:s, s:f, s:f, s:f, s:o, s:o, s:o, s:s, s:s, s:o, s:s, s:s}", "key",
            ow_cost_key((OwCostInput)i), "label", ow_cost_label((OwCostInput)i), "doc",
            ow_cost_doc((OwCostInput)i), "least", least, "most", most, "value", v->value, "low",
            number(v->low, v->spread != OW_COST_BELL), "high", number(v->high, v->spread != OW_COST_BELL),
            "error", number(v->error, v->spread == OW_COST_BELL), "spread", spreads[v->spread], "from",
            ow_cost_origin_text(v->origin), "trust",
            v->origin == OW_COST_FROM_DEFAULT ? json_string(ow_trust_text(ow_cost_trust((OwCostInput)i)))
                                              : json_null(),
            "text", text, "text_us", us);
        if (json_array_append_new(array, one) != 0) {
            json_decref(array);
            return NULL;
        }
    }
    return array;
}

static json_t *make_side(const OwCostSide *s, const OwCostPlan *plan) {
    json_t *flows = json_array();
    for (int t = 0; t <= plan->years; t++) {
        (void)json_array_append_new(flows, json_real(s->flows[t]));
    }
    return json_pack(
        "{s:f, s:f, s:f, s:f, s:f, s:f, s:o, s:o, s:o, s:o}", "cost_year", s->cost_year, "cost_m3",
        s->cost_m3, "cost_m", s->cost_m, "saving_year", s->saving_year, "running_year", s->running_year,
        "npv", s->npv, "payback_years", number(s->payback_y, s->has_payback), "payback_discounted_years",
        number(s->discounted_y, s->has_discounted), "irr", number(s->irr, s->has_irr), "flows", flows);
}

static json_t *make_lines(const OwCostReckoning *r) {
    json_t *array = json_array();
    for (int i = 0; i < OW_COST_LINES; i++) {
        const double year = r->line[i];
        json_t *one = json_pack("{s:s, s:b, s:f, s:f, s:f}", "label", ow_cost_line_text((OwCostLine)i),
                                "is_work", ow_cost_line_is_work((OwCostLine)i) ? 1 : 0, "year", year, "m3",
                                r->oil_m3_y > 0.0 ? year / r->oil_m3_y : 0.0, "m",
                                r->distance_oil_m_y > 0.0 ? year / r->distance_oil_m_y : 0.0);
        if (json_array_append_new(array, one) != 0) {
            json_decref(array);
            return NULL;
        }
    }
    return array;
}

static json_t *make_bands(const OwCostStudy *study, int side) {
    static const char *const keys[OW_COST_RESULTS] = {"cost_m3", "cost_m",        "saving_year",
                                                      "npv",     "payback_years", "payback_discounted_years",
                                                      "irr",     "hour_s"};
    json_t *object = json_object();
    for (int k = 0; k < OW_COST_RESULTS; k++) {
        const OwCostBand *b = &study->band[side][k];
        json_t *one =
            json_pack("{s:s, s:[o, o, o], s:[f, f, f]}", "label", ow_cost_result_text((OwCostResult)k),
                      "points", number(b->point[0], !b->never[0]), number(b->point[1], !b->never[1]),
                      number(b->point[2], !b->never[2]), "errors", b->error[0], b->error[1], b->error[2]);
        if (json_object_set_new(object, keys[k], one) != 0) {
            json_decref(object);
            return NULL;
        }
    }
    return object;
}

static json_t *make_chances(const OwCostPlan *plan, const OwCostStudy *study, int side) {
    json_t *years = json_array();
    for (int y = 0; y <= plan->years; y++) {
        (void)json_array_append_new(years, json_real(study->chance_year[side][y]));
    }
    return json_pack("{s:f, s:f, s:o}", "worth_above_0", study->chance[side], "error",
                     study->chance_error[side], "paid_back_within_years", years);
}

static json_t *make_study(const OwCostPlan *plan, const OwCostStudy *study) {
    json_t *influence = json_array();
    for (int i = 0; i < study->influence_count; i++) {
        const OwCostInfluence *x = &study->influence[i];
        (void)json_array_append_new(influence,
                                    json_pack("{s:s, s:s, s:f, s:f, s:f, s:f, s:f, s:f, s:f, s:f}", "key",
                                              ow_cost_key(x->input), "label", ow_cost_label(x->input),
                                              "first", x->first, "first_error", x->first_error, "total",
                                              x->total, "total_error", x->total_error, "low", x->low, "high",
                                              x->high, "npv_low", x->npv_low, "npv_high", x->npv_high));
    }
    return json_pack("{s:i, s:i, s:i, s:i, s:{s:o, s:o}, s:{s:o, s:o}, s:o}", "samples", study->samples,
                     "replicates", study->replicates, "uncertain", study->uncertain, "on_sobol_coordinates",
                     study->quasi, "bands", "unpaid", make_bands(study, 0), "counted", make_bands(study, 1),
                     "chances", "unpaid", make_chances(plan, study, 0), "counted",
                     make_chances(plan, study, 1), "influence", influence);
}

static json_t *make_mends(const OwCostAnswer *answer) {
    json_t *array = json_array();
    for (int i = 0; i < answer->mend_count; i++) {
        const OwCostMend *m = &answer->mends[i];
        char from[64], to[64];
        ow_cost_write(m->input, m->from, OW_DISPLAY_METRIC, from, sizeof from);
        ow_cost_write(m->input, m->to, OW_DISPLAY_METRIC, to, sizeof to);
        (void)json_array_append_new(array,
                                    json_pack("{s:s, s:s, s:f, s:f, s:s, s:s}", "key", ow_cost_key(m->input),
                                              "label", ow_cost_label(m->input), "from", m->from, "to", m->to,
                                              "from_text", from, "to_text", to));
    }
    return array;
}

json_t *ow_cost_json_make(const OwCostPlan *plan, const OwCostAnswer *answer, const OwCostStudy *study,
                          const OwCostTaken *taken) {
    const OwCostReckoning *r = &answer->likely;
    json_t *year =
        json_pack("{s:f, s:f, s:f, s:f, s:f, s:f, s:f, s:f, s:f}", "oil_m3", r->oil_m3_y, "collected_m3",
                  r->raw_m3_y, "waste_m3", r->waste_m3_y, "diesel_replaced_m3", r->diesel_m3_y,
                  "distance_on_oil_m", r->distance_oil_m_y, "pickups", r->pickups_y, "batches", r->batches_y,
                  "work_s", r->hours_y, "work_once_s", r->hours_once);
    json_t *even = json_pack(
        "{s:o, s:o, s:o, s:o}", "diesel_price_m3", number(answer->diesel_price, answer->has_diesel_price),
        "distance_m_year", number(answer->distance, answer->has_distance), "oil_m3_year",
        number(answer->litres_m3_y, answer->has_distance), "hour_s", number(r->hour, r->has_hour));
    return json_pack("{s:s, s:i, s:s, s:s, s:s, s:b, s:b, s:i, s:o, s:o, s:f, s:f, s:{s:o, s:o}, s:o, s:o, "
                     "s:o, s:o, s:{s:s, s:s}, "
                     "s:o, s:o}",
                     "format", "oilwright-cost", "version", 1, "name", plan->name, "currency", plan->currency,
                     "verdict", answer->verdict, "pays", answer->pays[plan->counts_hours ? 1 : 0] ? 1 : 0,
                     "counts_hours", plan->counts_hours ? 1 : 0, "years", plan->years, "year", year, "lines",
                     make_lines(r), "diesel_year", r->diesel_year, "diesel_m", r->diesel_m, "sides", "unpaid",
                     make_side(&r->side[0], plan), "counted", make_side(&r->side[1], plan), "break_even",
                     even, "would_pay_with", make_mends(answer), "study", make_study(plan, study), "inputs",
                     make_inputs(plan), "taken", "log", taken->log, "yard", taken->yard, "notes",
                     texts(ow_cost_notes()), "meanings", texts(ow_cost_meanings()));
}

void ow_cost_csv(FILE *file, const OwCostAnswer *answer, OwDisplay display) {
    const OwCostReckoning *r = &answer->likely;
    double volume = 1.0, distance = 1.0;
    const char *per_volume = ow_cost_unit(OW_COST_DIESEL_PRICE, display, &volume);
    const char *per_distance = ow_cost_unit(OW_COST_UPKEEP, display, &distance);
    (void)fprintf(file, "line,work,%s,%s,a year\r\n", per_volume, per_distance);
    const struct {
        const char *label, *work;
        double year;
    } sums[] = {{"all but your hours", "no", r->side[0].cost_year},
                {"all with your hours", "yes", r->side[1].cost_year},
                {"diesel it replaces", "no", r->diesel_year}};
    for (int i = 0; i < OW_COST_LINES + 3; i++) {
        const bool is_sum = i >= OW_COST_LINES;
        const double year = is_sum ? sums[i - OW_COST_LINES].year : r->line[i];
        const char *label = is_sum ? sums[i - OW_COST_LINES].label : ow_cost_line_text((OwCostLine)i);
        const char *work = is_sum                                ? sums[i - OW_COST_LINES].work
                           : ow_cost_line_is_work((OwCostLine)i) ? "yes"
                                                                 : "no";
        (void)fprintf(file, "\"%s\",%s,%.9g,%.9g,%.9g\r\n", label, work,
                      r->oil_m3_y > 0.0 ? year / r->oil_m3_y * volume : 0.0,
                      r->distance_oil_m_y > 0.0 ? year / r->distance_oil_m_y * distance : 0.0, year);
    }
}
