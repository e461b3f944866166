// SPDX-License-Identifier: GPL-3.0-or-later
// The table along the fuel path at the worst moment: one row a part, dull rows folded when there are too
// many.
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "report_text.h"

#define MAX_ROWS 10
#define MAX_LIMITS 8 ///< all that fail or are tight, and of the rest the nearest up to so many

/// How much a row has to say: used to fold the dullest first.
static double interest(const OwContribution *c) {
    // "air comes out" stands behind a whole row of parts; any other mark is for one.
    const double mark = c->mark[0] == '\0' ? 0.0 : strcmp(c->mark, "air comes out") == 0 ? 1.0 : 100.0;
    const double rise = c->drop_pa < -5e3 ? 10.0 : 0.0; // a pump at work: without it the pressures read wrong
    return rise + 10.0 * c->drop_share + fabs(c->out_k - c->in_k) / 5.0 +
           (c->heat_w + fabs(c->coolant_w)) / 50.0 + mark;
}

static void row(const OwReport *report, const OwContribution *c) {
    const OwPart *part = &report->judgement->record->rig->parts[c->part];
    const int pressure_decimals = report->judgement->display == OW_DISPLAY_US ? 2 : 1;
    char name[96], in_k[64], out_k[64], thick[64], in_pa[64], out_pa[64], drop[64], watts[64], mark[64];
    char plain[96];
    ow_report_plain(plain, sizeof plain, part->name, report->is_ascii);
    ow_report_fit(name, sizeof name, plain, 18, false);
    ow_report_number(report, in_k, sizeof in_k, c->in_k, OW_Q_TEMPERATURE, 1, 6);
    ow_report_number(report, out_k, sizeof out_k, c->out_k, OW_Q_TEMPERATURE, 1, 6);
    if (c->out_kinematic_m2_s > 0.1) {
        ow_report_fit(thick, sizeof thick, "solid", 6, true);
    } else if (c->out_kinematic_m2_s > 0.0) {
        ow_report_number(report, thick, sizeof thick, c->out_kinematic_m2_s, OW_Q_KINEMATIC_VISCOSITY,
                         c->out_kinematic_m2_s < 99.5e-6 ? 1 : 0, 6);
    } else {
        ow_report_fit(thick, sizeof thick, "?", 6, true);
    }
    ow_report_number(report, in_pa, sizeof in_pa, c->in_pa, OW_Q_PRESSURE, pressure_decimals, 6);
    ow_report_number(report, out_pa, sizeof out_pa, c->out_pa, OW_Q_PRESSURE, pressure_decimals, 6);
    ow_report_number(report, drop, sizeof drop, c->drop_pa, OW_Q_PRESSURE, pressure_decimals, 6);
    ow_report_number(report, watts, sizeof watts, c->heat_w + c->coolant_w, OW_Q_POWER, 0, 5);
    ow_report_fit(mark, sizeof mark, c->mark, 13, false);
    ow_report_line(report, "%s %s %s %s %s %s %s %s %s", name, in_k, out_k, thick, in_pa, out_pa, drop, watts,
                   mark);
}

void ow_report_path(const OwReport *report) {
    const OwJudgement *j = report->judgement;
    if (j->worst_sample < 0 || j->contribution_count <= 0) {
        return;
    }
    char when[48];
    ow_units_write(j->record->samples[j->worst_sample].time_s, OW_Q_TIME, j->display, when, sizeof when);
    char title[256];
    snprintf(title, sizeof title, "Along the path at %s, when %s:", when, j->worst_why);
    ow_report_paragraph(report, title, 2);
    // The unit row may be wider in plain ASCII; labels are cut to their columns.
    char t[64], v[64], p[64], label[64];
    ow_report_plain(label, sizeof label, ow_report_label(report, OW_Q_TEMPERATURE), report->is_ascii);
    ow_report_fit(t, sizeof t, label, 13, true);
    ow_report_plain(label, sizeof label, ow_report_label(report, OW_Q_KINEMATIC_VISCOSITY), report->is_ascii);
    ow_report_fit(v, sizeof v, label, 6, true);
    ow_report_fit(p, sizeof p, ow_report_label(report, OW_Q_PRESSURE), 6, true);
    ow_report_line(report, "%-18s %6s %6s %6s %6s %6s %6s %5s", "", "oil in", "out", "visc.", "p in", "p out",
                   "drop", "heat");
    ow_report_line(report, "%-18s %s %s %s %s %s %5s", "", t, v, p, p, p, "W");
    int count = 0;
    while (count < j->contribution_count && !j->contributions[count].is_return) {
        count++;
    }
    bool *is_folded = calloc((size_t)count + 1, sizeof *is_folded);
    for (int over = count - MAX_ROWS; is_folded != NULL && over > 0; over--) {
        int dull = -1;
        for (int i = 1; i + 1 < count; i++) {
            if (!is_folded[i] &&
                (dull < 0 || interest(&j->contributions[i]) < interest(&j->contributions[dull]))) {
                dull = i;
            }
        }
        if (dull >= 0) {
            is_folded[dull] = true;
        }
    }
    int folded = 0;
    for (int i = 0; i < count; i++) {
        if (is_folded != NULL && is_folded[i]) {
            folded++;
        } else {
            row(report, &j->contributions[i]);
        }
    }
    if (folded > 0) {
        ow_report_line(report, "(%d part%s of small effect left out; --json has all)", folded,
                       folded > 1 ? "s" : "");
    }
    free(is_folded);
    const OwSample *s = &j->record->samples[j->worst_sample];
    if (s->engine == OW_ENGINE_RUNNING) {
        char asked[48], got[48];
        ow_units_write(s->fuel_request_m3_s, OW_Q_VOLUME_FLOW, j->display, asked, sizeof asked);
        ow_units_write(s->fuel_burned_m3_s, OW_Q_VOLUME_FLOW, j->display, got, sizeof got);
        ow_report_line(report, "%-18s asked %s, got %s", "to the injectors", asked, got);
    }
}

/// What may burn or burst is told on the first screen too, unless the headline has told it.
static bool is_safety(OwAnswerKind kind) {
    return kind == OW_ANSWER_OIL_HOT || kind == OW_ANSWER_RATING || kind == OW_ANSWER_HOSE_PRESSURE;
}

static void write_safety(const OwReport *report) {
    const OwJudgement *j = report->judgement;
    const OwAnswer *first = ow_judge_deciding(j);
    for (int i = 0, said = 0; i < j->answer_count && said < 1; i++) {
        const OwAnswer *v = &j->answers[i];
        if (ow_judge_fails(v->grade) && v != first && is_safety(v->kind) &&
            (first == NULL || !is_safety(first->kind))) {
            char text[2 * OW_ANSWER_TEXT + 16];
            (void)snprintf(text, sizeof text, "Also: %s %s", v->text, v->mend);
            ow_report_paragraph(report, text, 2);
            said++;
        }
    }
}

/// "margin 2 mm2/s", "missed by 2 mm2/s".
static void write_margin(const OwAnswer *v, OwDisplay display, char *text, size_t size) {
    char amount[64];
    if (v->quantity == OW_Q_NUMBER) {
        (void)snprintf(amount, sizeof amount, "%.3g %%", 100.0 * fabs(v->margin));
    } else if (v->quantity == OW_Q_KINEMATIC_VISCOSITY && fabs(v->margin) > OW_JUDGE_SOLID) {
        (void)snprintf(amount, sizeof amount, "far");
    } else {
        ow_units_write(fabs(v->margin),
                       v->quantity == OW_Q_TEMPERATURE ? OW_Q_TEMPERATURE_DIFFERENCE : v->quantity, display,
                       amount, sizeof amount);
    }
    (void)snprintf(text, size, "%s %s", v->margin < 0.0 ? "missed by" : "margin", amount);
}

void ow_report_answers(const OwReport *report) {
    const OwJudgement *j = report->judgement;
    ow_report_line(report, "Every answer:");
    for (int i = 0; i < j->answer_count; i++) {
        const OwAnswer *v = &j->answers[i];
        char text[2 * OW_ANSWER_TEXT + 320], margin[96];
        if (v->text[0] == '\0') {
            continue;
        }
        const char *grade = v->grade == OW_GRADE_GOOD    ? v->has_limit ? "ok" : "told"
                            : v->grade == OW_GRADE_TIGHT ? v->has_limit && v->margin < 0.0 ? "WATCH" : "TIGHT"
                            : ow_judge_fails(v->grade)   ? "FAILS"
                                                         : "unknown";
        size_t used = (size_t)snprintf(text, sizeof text, "- %s: %s", ow_judge_kind_text(v->kind), grade);
        if (v->has_limit && v->has_value && v->kind != OW_ANSWER_RUN) {
            write_margin(v, j->display, margin, sizeof margin);
            used += (size_t)snprintf(text + used, sizeof text - used, ", %s", margin);
        }
        (void)snprintf(text + used, sizeof text - used, ". %s%s%s [%s]", v->text,
                       v->mend[0] != '\0' ? " " : "", v->mend, ow_judge_trust_text(v->trust));
        ow_report_paragraph(report, text, 2);
    }
}

static bool is_limit(const OwAnswer *v) {
    return v->has_limit && v->has_value && v->kind != OW_ANSWER_RUN;
}

void ow_report_limits(const OwReport *report) {
    const OwJudgement *j = report->judgement;
    int met = 0;
    int shown = MAX_LIMITS;
    for (int i = 0; i < j->answer_count; i++) {
        shown -= is_limit(&j->answers[i]) && j->answers[i].grade != OW_GRADE_GOOD ? 1 : 0;
    }
    ow_report_line(report, "%-29s %12s %12s  %-7s %s", "Held against its limit", "worst", "limit", "",
                   "rests on");
    for (int i = 0; i < j->answer_count; i++) {
        const OwAnswer *v = &j->answers[i];
        if (!is_limit(v)) {
            continue;
        }
        // Of the limits that are met the nearest few.
        int nearer = 0;
        for (int k = 0; k < j->answer_count; k++) {
            const OwAnswer *w = &j->answers[k];
            nearer += is_limit(w) && w->grade == OW_GRADE_GOOD &&
                              (w->tightness < v->tightness || (k < i && !(w->tightness > v->tightness)))
                          ? 1
                          : 0;
        }
        if (v->grade == OW_GRADE_GOOD && nearer >= shown) {
            met++;
            continue;
        }
        char value[64], limit[64], fit_value[64], fit_limit[64], name[128], fit_name[128];
        if (v->quantity == OW_Q_NUMBER) {
            snprintf(value, sizeof value, "%.1f %%", 100.0 * v->value);
            snprintf(limit, sizeof limit, "%.1f %%", 100.0 * v->limit);
        } else {
            ow_report_value(v, v->value, j->display, value, sizeof value);
            ow_units_write(v->limit, v->quantity, j->display, limit, sizeof limit);
        }
        if (v->kind == OW_ANSWER_RATING && v->part >= 0) {
            snprintf(name, sizeof name, "rating of %s", j->record->rig->parts[v->part].name);
        } else {
            snprintf(name, sizeof name, "%s%s", ow_judge_kind_text(v->kind),
                     v->kind == OW_ANSWER_FULL_LOAD ? ": lost" : "");
        }
        ow_report_plain(fit_value, sizeof fit_value, value, report->is_ascii);
        ow_report_plain(fit_limit, sizeof fit_limit, limit, report->is_ascii);
        ow_report_plain(fit_name, sizeof fit_name, name, report->is_ascii);
        ow_report_fit(value, sizeof value, fit_value, 12, true);
        ow_report_fit(limit, sizeof limit, fit_limit, 12, true);
        ow_report_fit(name, sizeof name, fit_name, 29, false);
        const char *grade = v->grade == OW_GRADE_GOOD    ? "ok"
                            : v->grade == OW_GRADE_TIGHT ? v->margin < 0.0 ? "WATCH" : "TIGHT"
                            : ow_judge_fails(v->grade)   ? "FAILS"
                                                         : "unknown";
        ow_report_line(report, "%s %s %s  %-7s %s", name, value, limit, grade, ow_judge_trust_text(v->trust));
    }
    if (met > 0) {
        ow_report_line(report, "(%d more met by a wide margin; --all tells all)", met);
    }
    write_safety(report);
}
