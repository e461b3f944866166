// SPDX-License-Identifier: GPL-3.0-or-later
// What would mend it: simple scalings of laminar flow and lumped heat.
#include <math.h>
#include <string.h>

#include "judge/work.h"

double ow_judge_bore_for(double bore_m, double drop_pa, double wanted_pa) {
    if (!(bore_m > 0.0) || !(drop_pa > 0.0) || !(wanted_pa > 0.0)) {
        return 0.0;
    }
    return bore_m * pow(drop_pa / wanted_pa, 0.25);
}

double ow_judge_hose_bore(double bore_m, OwDisplay display) {
    if (!(bore_m > 0.0) || bore_m > 0.032) {
        return 0.0;
    }
    if (display == OW_DISPLAY_US) {
        return ceil(bore_m / (0.0254 / 16.0) - 1e-6) * (0.0254 / 16.0);
    }
    if (bore_m <= 0.016) {
        return ceil(bore_m / 0.002 - 1e-6) * 0.002;
    }
    return bore_m <= 0.019 ? 0.019 : bore_m <= 0.025 ? 0.025 : 0.032;
}

double ow_judge_watts_for(double watts, double reached_k, double wanted_k) {
    if (!(watts > 0.0) || !(reached_k > 0.0) || !(wanted_k > 0.0)) {
        return 0.0;
    }
    return watts * wanted_k / reached_k;
}

double ow_judge_loss(const OwJudgeWork *work, int sample, int part) {
    const OwPartSample *s = ow_judge_part_sample(work, sample, part);
    if (s == NULL || !isfinite(s->drop_pa)) {
        return 0.0;
    }
    const OwPart *p = &work->rig->parts[part];
    double rise = 0.0;
    if (p->kind == OW_PART_RUN) {
        rise = p->as.run.rise_m;
    } else if (p->kind == OW_PART_CHAMBER) {
        rise = p->as.chamber.rise_m;
    }
    const double density = ow_judge_density(work, 0.5 * (s->in_k + s->out_k), s->share);
    // A valve is sampled from its common port; what enters by a side loses as much.
    const double drop_pa = p->kind == OW_PART_VALVE ? fabs(s->drop_pa) : s->drop_pa;
    return drop_pa - (density > 0.0 ? density : 900.0) * OW_GRAVITY_M_S2 * rise;
}

int ow_judge_most_loss(const OwJudgeWork *work, int sample, int until) {
    int most = -1;
    double worst = 0.0;
    bool is_on_path = until < 0;
    for (int i = 0; i < work->path_count; i++) {
        is_on_path = is_on_path || work->path[i] == until;
    }
    for (int i = 0; i < work->path_count; i++) {
        const int part = work->path[i];
        const OwPartKind kind = work->rig->parts[part].kind;
        const double loss = ow_judge_loss(work, sample, part);
        if (loss > worst && kind != OW_PART_TANK && kind != OW_PART_INJECTION_PUMP) {
            worst = loss;
            most = part;
        }
        if (is_on_path && part == until) {
            break;
        }
    }
    return most;
}

bool ow_judge_has_kind(const OwJudgeWork *work, OwPartKind kind) {
    for (int i = 0; i < work->rig->part_count; i++) {
        if (work->rig->parts[i].kind == kind) {
            return true;
        }
    }
    return false;
}

/// The part on the way that loses most after `part`, -1 none worth naming.
static int second_loss(const OwJudgeWork *work, int sample, int part) {
    int next = -1;
    double most = 500.0; // pascal: nothing to gain below
    for (int i = 0; i < work->path_count; i++) {
        const double loss = ow_judge_loss(work, sample, work->path[i]);
        const OwPartKind kind = work->rig->parts[work->path[i]].kind;
        if (work->path[i] != part && loss > most && kind != OW_PART_INJECTION_PUMP && kind != OW_PART_TANK) {
            most = loss;
            next = work->path[i];
        }
    }
    return next;
}

void ow_judge_change(OwAnswer *answer, OwChange change) {
    if (answer->change_count < OW_ANSWER_CHANGES) {
        answer->changes[answer->change_count++] = change;
    }
}

void ow_judge_take_mend(OwAnswer *answer, const OwAnswer *from) {
    ow_judge_say(answer->mend, sizeof answer->mend, "%s", from->mend);
    memcpy(answer->changes, from->changes, sizeof answer->changes);
    answer->change_count = from->change_count;
}

static void mend_bore(const OwJudgeWork *work, double bore, double loss, double wanted, int part,
                      OwAnswer *answer) {
    const double exact = ow_judge_bore_for(bore, loss, wanted);
    const double next = ow_judge_hose_bore(exact, work->display);
    if (next <= bore) {
        return;
    }
    const double ratio = bore / next;
    ow_judge_change(answer, (OwChange){part, -1, NULL, "bore", OW_Q_LENGTH, next});
    ow_judge_also(answer->mend, sizeof answer->mend,
                  "Raise the bore of %s from %s to %s: its loss falls from %s to about %s",
                  ow_judge_part(work, part).text, ow_judge_words(work, bore, OW_Q_LENGTH).text,
                  ow_judge_words(work, next, OW_Q_LENGTH).text,
                  ow_judge_words(work, loss, OW_Q_PRESSURE).text,
                  ow_judge_words(work, loss * ratio * ratio * ratio * ratio, OW_Q_PRESSURE).text);
}

/// Next larger passage of a valve or orifice in half millimetres (or 1/64 in): its loss falls with the fourth
/// power of the bore, laminar by Hagen-Poiseuille or by the velocity head. Steps and the 50 mm are assumed.
static bool mend_hole(const OwJudgeWork *work, double bore, double loss, double wanted, int part,
                      OwAnswer *answer) {
    const double step = work->display == OW_DISPLAY_US ? 0.0254 / 64.0 : 0.5e-3;
    const double next = ceil(ow_judge_bore_for(bore, loss, wanted) / step - 1e-6) * step;
    if (!(next > bore) || next > 0.05) {
        return false;
    }
    ow_judge_change(answer, (OwChange){part, -1, NULL, "bore", OW_Q_LENGTH, next});
    ow_judge_also(answer->mend, sizeof answer->mend,
                  "Fit %s with a passage of %s in place of %s: its loss falls from %s to about %s",
                  ow_judge_part(work, part).text, ow_judge_words(work, next, OW_Q_LENGTH).text,
                  ow_judge_words(work, bore, OW_Q_LENGTH).text,
                  ow_judge_words(work, loss, OW_Q_PRESSURE).text,
                  ow_judge_words(work, loss * pow(bore / next, 4.0), OW_Q_PRESSURE).text);
    return true;
}

void ow_judge_mend_loss(const OwJudgeWork *work, int sample, int part, double cut_pa, OwAnswer *answer) {
    char *text = answer->mend;
    const size_t size = sizeof answer->mend;
    const OwPartSample *s = ow_judge_part_sample(work, sample, part);
    text[0] = '\0';
    if (s == NULL || part < 0) {
        return;
    }
    const OwPart *p = &work->rig->parts[part];
    const double loss = ow_judge_loss(work, sample, part);
    const double wanted = loss - cut_pa;
    // One part cannot be made to vanish: a quarter of its loss stays at least, and the next part is named.
    const bool is_enough = wanted > 0.25 * loss;
    const double goal = is_enough ? wanted : 0.25 * loss;
    if (!(loss > 0.0) || !(cut_pa > 0.0)) {
        return;
    }
    switch (p->kind) {
    case OW_PART_RUN:
        mend_bore(work, p->as.run.bore_m, loss, goal, part, answer);
        break;
    case OW_PART_CHAMBER:
        mend_bore(work, p->as.chamber.bore_m, loss, goal, part, answer);
        break;
    case OW_PART_EXCHANGER:
        mend_bore(work, p->as.exchanger.bore_m, loss, goal, part, answer);
        break;
    case OW_PART_FILTER:
    case OW_PART_SCREEN: {
        const double loading = p->kind == OW_PART_FILTER ? p->as.filter.loading : p->as.screen.loading;
        const double clean = loss * (1.0 - loading); // resistance over clean = 1/(1 - share)
        if (loading > 0.3) {
            ow_judge_also(text, size,
                          "Change the element of %s (%.0f %% used up)%s: its loss falls from %s to about %s",
                          ow_judge_part(work, part).text, 100.0 * loading,
                          clean > goal ? " and take a larger one" : "",
                          ow_judge_words(work, loss, OW_Q_PRESSURE).text,
                          ow_judge_words(work, fmin(clean, goal), OW_Q_PRESSURE).text);
        } else {
            ow_judge_also(
                text, size, "Replace %s with %.1f times the area: its loss falls from %s to about %s",
                ow_judge_part(work, part).text, loss / goal, ow_judge_words(work, loss, OW_Q_PRESSURE).text,
                ow_judge_words(work, goal, OW_Q_PRESSURE).text);
        }
        break;
    }
    default: {
        const double hole = p->kind == OW_PART_VALVE         ? p->as.valve.loss_bore_m
                            : p->kind == OW_PART_CHECK_VALVE ? p->as.check_valve.loss_bore_m
                            : p->kind == OW_PART_ORIFICE     ? p->as.orifice.bore_m
                                                             : 0.0;
        if (!mend_hole(work, hole, loss, goal, part, answer)) {
            ow_judge_also(text, size, "Fit %s with a wider passage", ow_judge_part(work, part).text);
        }
        break;
    }
    }
    if (!ow_judge_has_kind(work, OW_PART_ELECTRIC_PUMP)) {
        ow_judge_also(text, size, "%sit an electric pump near the tank", text[0] != '\0' ? "; or f" : "F");
    } else {
        // Laminar loss is proportional to viscosity, so the same is had by warmth.
        const double mean_k = 0.5 * (s->in_k + s->out_k);
        const double thick = ow_judge_kinematic(work, mean_k, s->share);
        const double warm_k = ow_judge_temperature_for(work, thick * goal / loss, s->share);
        if (warm_k > mean_k && warm_k < 393.15) {
            ow_judge_also(text, size, "%sarm the oil in it from %s to %s", text[0] != '\0' ? "; or w" : "W",
                          ow_judge_words(work, mean_k, OW_Q_TEMPERATURE).text,
                          ow_judge_words(work, warm_k, OW_Q_TEMPERATURE).text);
        }
    }
    ow_judge_also(text, size, ".");
    const int next = is_enough ? -1 : second_loss(work, sample, part);
    if (next >= 0) {
        ow_judge_also(text, size, " That alone is not enough: then %s (%s).", ow_judge_part(work, next).text,
                      ow_judge_words(work, ow_judge_loss(work, sample, next), OW_Q_PRESSURE).text);
    }
}
