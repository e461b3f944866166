// SPDX-License-Identifier: GPL-3.0-or-later
// The report of a sizing: the answer, the changes, which limit binds, the trade-off, cautions.
#include "size_report.h"

#include <jansson.h>
#include <stdlib.h>
#include <string.h>

#include "report_text.h"

#define CAUTION                                                                                              \
    "size wire and fuse anew for every heater or pump that changes; hot oil burns; no sparks near "          \
    "batteries "                                                                                             \
    "or fuel. Ratings were kept in the simulation only: check them on the part. Local rules and a licensed " \
    "workshop have the last word."

#define FRONT_LINES 10

static const char *money(const OwSizing *sizing) {
    return sizing->is_priced ? "in the rig's money" : "points";
}

static void write_changes(const OwReport *out, const OwSizing *s) {
    for (int c = 0; c < s->chosen_count; c++) {
        const OwSizeChosen *v = &s->chosen[c];
        if (v->is_changed) {
            ow_report_line(out, "  %s: %s -> %s  (cost %.1f)", v->target, v->before, v->after, v->cost);
        } else {
            ow_report_line(out, "  %s: stays %s", v->target, v->before);
        }
    }
    if (s->outcome == OW_SIZE_FOUND) {
        ow_report_line(out, "  Cost %.1f %s%s.", s->cost, money(s),
                       s->is_priced ? "" : " (1 point = a metre of 8 mm hose; relative, no source)");
    }
}

static void write_goals(const OwReport *out, const OwSizing *s) {
    ow_report_line(out, "%s", "");
    for (int g = 0; g < s->goal_count; g++) {
        const OwSizeGoalResult *goal = &s->goals[g];
        char line[1024];
        if (s->outcome == OW_SIZE_AS_IS || strcmp(goal->before, goal->after) == 0) {
            (void)snprintf(line, sizeof line, "%s: %s", goal->text, goal->after);
        } else {
            (void)snprintf(line, sizeof line, "%s: %s%s; as it is: %s", goal->text, goal->after,
                           goal->is_met ? "" : " (MISSED)", goal->before);
        }
        ow_report_paragraph(out, line, 2);
    }
}

static void write_binding(const OwReport *out, const OwSizing *s) {
    bool has_one = false;
    for (int c = 0; c < s->chosen_count; c++) {
        const OwSizeChosen *v = &s->chosen[c];
        char line[1024];
        if (!v->has_less && !v->has_exact) {
            continue;
        }
        if (!has_one) {
            ow_report_line(out, "%s", "");
            ow_report_line(out, "Which limit binds, by one stock step less:");
            has_one = true;
        }
        if (v->has_less && v->less_holds) {
            (void)snprintf(line, sizeof line, "  %s at %s: still meets all%s", v->target, v->less,
                           v->is_changed ? ", but is no cheaper" : "");
        } else if (v->has_less) {
            (void)snprintf(line, sizeof line, "  %s at %s: %s", v->target, v->less, v->less_text);
        } else {
            (void)snprintf(line, sizeof line, "  %s is the smallest in stock", v->target);
        }
        ow_report_paragraph(out, line, 4);
    }
    char line[1024] = "";
    size_t used = 0;
    for (int c = 0; c < s->chosen_count && used < sizeof line; c++) {
        const OwSizeChosen *v = &s->chosen[c];
        if (v->has_exact) {
            used += (size_t)snprintf(line + used, sizeof line - used, "%s%s %s (stock %s)",
                                     used > 0 ? ", " : "", v->target, v->exact, v->after);
        }
    }
    if (used > 0) {
        char whole[1200];
        (void)snprintf(whole, sizeof whole, "Without stock steps this would just do: %s.", line);
        ow_report_paragraph(out, whole, 2);
    }
}

/// Ten at most: cheapest, soonest, least current, the answer, and others evenly between.
static void write_front(const OwReport *out, const OwSizing *s, OwDisplay display) {
    if (s->front_count == 0) {
        return;
    }
    char air[48];
    int soonest = 0, least = 0, step = (s->front_count + FRONT_LINES - 5) / (FRONT_LINES - 4);
    step = s->front_count <= FRONT_LINES ? 1 : step;
    for (int i = 1; i < s->front_count; i++) {
        soonest = s->front[i].ready_s < s->front[soonest].ready_s ? i : soonest;
        least = s->front[i].peak_a < s->front[least].peak_a - 1e-9 ? i : least;
    }
    ow_units_write(s->front_ambient_k, OW_Q_TEMPERATURE, display, air, sizeof air);
    ow_report_line(out, "%s", "");
    ow_report_line(out,
                   "What time, current at key on and cost buy of each other at %s (%d on the front%s):", air,
                   s->front_count, step > 1 ? ", some shown" : "");
    ow_report_line(out, "     ready  current    cost");
    for (int i = 0; i < s->front_count; i++) {
        const OwSizePoint *p = &s->front[i];
        const bool is_kept = i % step == 0 || i == soonest || i == least || p->is_chosen;
        if (!is_kept) {
            continue;
        }
        char ready[48], amps[48], columns[2][64];
        ow_units_write(p->ready_s, OW_Q_TIME, display, ready, sizeof ready);
        ow_units_write(p->peak_a, OW_Q_CURRENT, display, amps, sizeof amps);
        ow_report_fit(columns[0], sizeof columns[0], ready, 10, true);
        ow_report_fit(columns[1], sizeof columns[1], amps, 8, true);
        ow_report_line(out, "%s %s %7.1f  %s %.46s", columns[0], columns[1], p->cost,
                       p->is_chosen ? "=>"
                       : p->is_met  ? "ok"
                                    : "--",
                       p->label);
    }
    ow_report_line(out, "=> the answer, ok meets the target, -- does not");
}

static void write_sources(const OwReport *out, const OwSizing *s) {
    ow_report_line(out, "%s", "");
    for (int c = 0; c < s->chosen_count; c++) {
        bool is_said = false;
        for (int k = 0; k < c; k++) {
            is_said = is_said || strcmp(s->chosen[k].source, s->chosen[c].source) == 0;
        }
        if (!is_said) {
            char line[512];
            (void)snprintf(line, sizeof line, "Sizes of %s: %s.", s->chosen[c].target, s->chosen[c].source);
            ow_report_paragraph(out, line, 2);
        }
    }
    ow_report_paragraph(out, "Caution: " CAUTION, 2);
}

void ow_size_report(FILE *file, const OwRig *rig, const OwSizing *s, OwDisplay display, bool is_ascii,
                    bool is_short) {
    const OwReport out = {.file = file, .is_ascii = is_ascii};
    ow_report_paragraph(&out, s->headline, 0);
    if (s->advice[0] != '\0') {
        ow_report_paragraph(&out, s->advice, 0);
    }
    ow_report_line(&out, "%s: %ld combination%s of stock sizes, %ld looked at.", rig->name, s->combinations,
                   s->combinations > 1 ? "s" : "", s->tried);
    if (s->outcome == OW_SIZE_IMPOSSIBLE) {
        ow_report_line(&out, "The closest:");
    }
    write_changes(&out, s);
    if (is_short) {
        return;
    }
    write_goals(&out, s);
    for (int i = 0; i < s->remark_count; i++) {
        char line[512];
        (void)snprintf(line, sizeof line, "Still broken, not part of the target: %s", s->remarks[i]);
        ow_report_paragraph(&out, line, 2);
    }
    if (s->outcome == OW_SIZE_IMPOSSIBLE) {
        for (int c = 0; c < s->chosen_count; c++) {
            const OwSizeChosen *v = &s->chosen[c];
            if (v->is_largest || v->is_smallest) {
                ow_report_line(&out, "  %s: %s is the %s in stock", v->target, v->after,
                               v->is_largest ? "largest" : "smallest");
            }
        }
    }
    write_binding(&out, s);
    write_front(&out, s, display);
    write_sources(&out, s);
}

static json_t *chosen_json(const OwSizeChosen *v) {
    json_t *o = json_pack("{s:s,s:s,s:s,s:b,s:f,s:f,s:f,s:i,s:s,s:s}", "target", v->target, "before",
                          v->before, "after", v->after, "changed", v->is_changed, "before_si",
                          v->before_value, "after_si", v->after_value, "cost", v->cost, "options", v->options,
                          "source", v->source, "trust", ow_judge_trust_text(v->trust));
    if (o != NULL) {
        json_object_set_new(o, "end_of_stock",
                            v->is_largest    ? json_string("largest")
                            : v->is_smallest ? json_string("smallest")
                                             : json_null());
    }
    if (o != NULL && v->has_less) {
        json_object_set_new(
            o, "one_step_less",
            json_pack("{s:s,s:b,s:s}", "size", v->less, "holds", v->less_holds, "text", v->less_text));
    }
    if (o != NULL && v->has_exact) {
        json_object_set_new(o, "exact_si", json_real(v->exact_value));
        json_object_set_new(o, "exact", json_string(v->exact));
    }
    return o;
}

OwStatus ow_size_json(FILE *file, const OwRig *rig, const OwSizing *s) {
    static const char *const outcomes[] = {"as_is", "found", "impossible"};
    json_t *goals = json_array(), *choices = json_array(), *front = json_array(), *remarks = json_array();
    for (int g = 0; g < s->goal_count; g++) {
        const OwSizeGoalResult *v = &s->goals[g];
        json_array_append_new(goals, json_pack("{s:s,s:b,s:b,s:s,s:s}", "target", v->text, "met_before",
                                               v->is_met_before, "met", v->is_met, "before", v->before,
                                               "after", v->after));
    }
    for (int c = 0; c < s->chosen_count; c++) {
        json_array_append_new(choices, chosen_json(&s->chosen[c]));
    }
    for (int i = 0; i < s->front_count; i++) {
        const OwSizePoint *p = &s->front[i];
        json_array_append_new(front, json_pack("{s:f,s:f,s:f,s:b,s:b,s:s}", "ready_s", p->ready_s, "peak_a",
                                               p->peak_a, "cost", p->cost, "met", p->is_met, "chosen",
                                               p->is_chosen, "sizes", p->label));
    }
    for (int i = 0; i < s->remark_count; i++) {
        json_array_append_new(remarks, json_string(s->remarks[i]));
    }
    json_t *root = json_pack("{s:s,s:s,s:s,s:s,s:f,s:b,s:f,s:I,s:I,s:o,s:o,s:o,s:o}", "rig", rig->name,
                             "outcome", outcomes[s->outcome], "headline", s->headline, "advice", s->advice,
                             "cost", s->cost, "is_priced", s->is_priced, "peak_a", s->peak_a, "combinations",
                             (json_int_t)s->combinations, "looked_at", (json_int_t)s->tried, "targets", goals,
                             "choices", choices, "front", front, "still_broken", remarks);
    if (root == NULL) {
        return OW_ERROR_MEMORY;
    }
    json_object_set_new(root, "format", json_string("oilwright-size"));
    json_object_set_new(root, "format_version", json_integer(1));
    json_object_set_new(root, "cautions", json_pack("[s]", CAUTION));
    json_object_set_new(root, "ready_s", s->has_ready ? json_real(s->ready_s) : json_null());
    char *text = json_dumps(root, JSON_INDENT(1));
    json_decref(root);
    if (text == NULL) {
        return OW_ERROR_MEMORY;
    }
    fprintf(file, "%s\n", text);
    free(text);
    return OW_OK;
}
