// SPDX-License-Identifier: GPL-3.0-or-later
// Hottest oil and wall against ratings, flash point and cloud point.
#include <math.h>
#include <stdio.h>

#include "judge/work.h"

/// How far metal runs past a thermostat: its lag, and the heat left in the element; assumed.
#define OVERSHOOT_K 20.0

double ow_judge_rating(const OwPart *part) {
    if (part == NULL) {
        return 0.0;
    }
    if (part->rating_k > 0.0) {
        return part->rating_k;
    }
    const OwMaterialData *data = NULL;
    switch (part->kind) {
    case OW_PART_RUN:
        data = ow_material(part->as.run.material);
        break;
    case OW_PART_CHAMBER:
        data = ow_material(part->as.chamber.material);
        break;
    case OW_PART_FILTER:
        data = ow_material(part->as.filter.material);
        break;
    default:
        break;
    }
    return data != NULL && data->rating_k > 0.0 ? data->rating_k : 0.0;
}

/// The hottest oil anywhere; false when nothing was sampled.
static bool find_hottest(const OwJudgeWork *work, double *hot_k, double *time_s, int *hot_part) {
    *hot_k = 0.0;
    for (int i = 0; i < work->record->sample_count; i++) {
        for (int p = 0; p < work->record->part_count; p++) {
            const OwPartSample *s = ow_judge_part_sample(work, i, p);
            if (s != NULL && work->rig->parts[p].kind != OW_PART_COOLANT_COIL && isfinite(s->oil_max_k) &&
                s->oil_max_k > *hot_k) {
                *hot_k = s->oil_max_k;
                *time_s = work->record->samples[i].time_s;
                *hot_part = p;
            }
        }
    }
    return *hot_k > 0.0;
}

static bool has_elements(const OwPart *p, const OwElements **elements) {
    *elements = ow_part_elements_const(p);
    return *elements != NULL && (*elements)->count > 0;
}

/// A cooler thermostat, or any at all, on the part that is too hot.
static void mend_heat(OwJudgeWork *work, OwAnswer *v, int part, double over_k) {
    const OwElements *elements = NULL;
    if (part < 0) {
        return;
    }
    const OwPart *p = &work->rig->parts[part];
    if (!has_elements(p, &elements)) {
        ow_judge_say(v->mend, sizeof v->mend, "Take less heat to %s, or use a part that is rated higher.",
                     ow_judge_part(work, part).text);
        return;
    }
    int bare = 0, first = -1;
    for (int i = 0; i < elements->count; i++) {
        if (!elements->items[i].has_thermostat) {
            bare++;
            first = first < 0 ? i : first;
        }
    }
    if (bare > 0) {
        char which[64];
        if (bare > 1) { // one that is left without goes on heating alone
            (void)snprintf(which, sizeof which, "each of the %d bare elements", bare);
        } else {
            (void)snprintf(which, sizeof which, "element '%.30s'", elements->items[first].name);
        }
        ow_judge_say(v->mend, sizeof v->mend,
                     "Give %s of %s a thermostat that opens at %s or lower, and an over-heat cut-out that "
                     "does not depend on it.",
                     which, ow_judge_part(work, part).text,
                     ow_judge_words(work, v->value - over_k - OVERSHOOT_K, OW_Q_TEMPERATURE).text);
        return;
    }
    // A thermostat set above what the part reaches never opens: what it reached counts then.
    const double acts_k = fmin(elements->items[0].thermostat_off_k, v->value);
    const double wanted_k = acts_k - over_k - 5.0;
    for (int i = 0; i < elements->count; i++) {
        const OwElement *e = &elements->items[i];
        const double span_k = e->thermostat_off_k - e->thermostat_on_k;
        if (e->thermostat_off_k > wanted_k) {
            ow_judge_change(v, (OwChange){part, i, NULL, "thermostat/opens", OW_Q_TEMPERATURE, wanted_k});
            ow_judge_change(
                v, (OwChange){part, i, NULL, "thermostat/closes", OW_Q_TEMPERATURE, wanted_k - span_k});
        }
    }
    ow_judge_say(v->mend, sizeof v->mend, "Set the thermostat of %s from %s to %s or lower.",
                 ow_judge_part(work, part).text,
                 ow_judge_words(work, elements->items[0].thermostat_off_k, OW_Q_TEMPERATURE).text,
                 ow_judge_words(work, wanted_k, OW_Q_TEMPERATURE).text);
}

static void judge_oil(OwJudgeWork *work) {
    OwAnswer *v = ow_judge_add(work, OW_ANSWER_OIL_HOT, OW_Q_TEMPERATURE);
    v->trust = OW_TRUST_PRACTICE;
    v->basis = "limit of the rig file; common practice, no source; heat balance by published correlations";
    const double limit = work->rig->limits.oil_max_k;
    double hot = 0.0;
    double time_s = 0.0;
    int part = -1;
    if (!find_hottest(work, &hot, &time_s, &part)) {
        ow_judge_say(v->text, sizeof v->text, "The hottest oil is unknown: no part was sampled.");
        return;
    }
    v->time_s = time_s;
    v->part = part;
    const OwJudgeWords where = ow_judge_part(work, part);
    if (!(limit > 0.0) || !isfinite(limit)) {
        ow_judge_tell(v, hot);
        v->grade = OW_GRADE_UNKNOWN;
        ow_judge_say(v->text, sizeof v->text, "Hottest oil %s in %s at %s; no limit is set.",
                     ow_judge_words(work, hot, OW_Q_TEMPERATURE).text, where.text,
                     ow_judge_words(work, time_s, OW_Q_TIME).text);
        return;
    }
    ow_judge_hold_below(v, hot, limit, 10.0);
    ow_judge_say(v->text, sizeof v->text, "Hottest oil %s in %s at %s, allowed %s.",
                 ow_judge_words(work, hot, OW_Q_TEMPERATURE).text, where.text,
                 ow_judge_words(work, time_s, OW_Q_TIME).text,
                 ow_judge_words(work, limit, OW_Q_TEMPERATURE).text);
    if (v->grade == OW_GRADE_BAD) {
        mend_heat(work, v, part, -v->margin);
    }
}

static void judge_ratings(OwJudgeWork *work) {
    int tightest = -1;
    double least = INFINITY;
    bool is_sampled = false;
    for (int p = 0; p < work->rig->part_count; p++) {
        const double rating = ow_judge_rating(&work->rig->parts[p]);
        double hot = 0.0;
        double time_s = -1.0;
        for (int i = 0; i < work->record->sample_count; i++) {
            const OwPartSample *s = ow_judge_part_sample(work, i, p);
            if (s == NULL) {
                continue;
            }
            const double oil = isfinite(s->oil_max_k) ? s->oil_max_k : 0.0;
            const double wall = isfinite(s->wall_max_k) ? s->wall_max_k : 0.0;
            const double here = oil > wall ? oil : wall;
            if (here > hot) {
                hot = here;
                time_s = work->record->samples[i].time_s;
            }
        }
        is_sampled = is_sampled || hot > 0.0;
        if (rating <= 0.0 || hot <= 0.0) {
            continue;
        }
        const bool is_over = hot > rating;
        if (!is_over && rating - hot >= least) {
            continue;
        }
        // Every part over its rating gets its own answer; of the others only the tightest.
        OwAnswer *v = NULL;
        if (is_over || tightest < 0) {
            v = ow_judge_add(work, OW_ANSWER_RATING, OW_Q_TEMPERATURE);
        } else {
            v = &work->judgement->answers[tightest];
            v->mend[0] = '\0';
            v->change_count = 0;
        }
        if (!is_over) {
            tightest = (int)(v - work->judgement->answers);
            least = rating - hot;
        }
        v->trust = work->rig->parts[p].rating_k > 0.0 ? OW_TRUST_ASSUMED : OW_TRUST_PRACTICE;
        v->basis = work->rig->parts[p].rating_k > 0.0 ? "rating of the rig file"
                                                      : "long-term rating of the material, common practice";
        v->part = p;
        v->time_s = time_s;
        ow_judge_hold_below(v, hot, rating, 10.0);
        ow_judge_say(v->text, sizeof v->text, "%s reaches %s at %s, rated %s.", ow_judge_part(work, p).text,
                     ow_judge_words(work, hot, OW_Q_TEMPERATURE).text,
                     ow_judge_words(work, time_s, OW_Q_TIME).text,
                     ow_judge_words(work, rating, OW_Q_TEMPERATURE).text);
        if (is_over) {
            mend_heat(work, v, p, -v->margin);
        }
    }
    if (ow_judge_find(work->judgement, OW_ANSWER_RATING) == NULL) {
        OwAnswer *v = ow_judge_add(work, OW_ANSWER_RATING, OW_Q_TEMPERATURE);
        v->basis = "long-term rating of the material, common practice";
        ow_judge_say(v->text, sizeof v->text,
                     is_sampled ? "No part has a known rating."
                                : "Temperatures of the parts are unknown: nothing was sampled.");
    }
}

/// Flash point of what stands at a share of the second fluid: the lightest of the fluids of which there is at
/// least 2 %. 0 unknown.
static double flash_point(const OwJudgeWork *work, double share) {
    double lowest = 0.0;
    for (int i = 0; i < OW_MAX_FLUIDS; i++) {
        const double there = i == 0 ? 1.0 - share : share;
        const double flash = work->fluid[i] != NULL && there >= 0.02 ? work->fluid[i]->flash_point_k : 0.0;
        lowest = flash > 0.0 && (lowest <= 0.0 || flash < lowest) ? flash : lowest;
    }
    return lowest;
}

/// Cloud point of the fluid of which there is most, 0 unknown.
static double cloud_point(const OwJudgeWork *work, double share) {
    const OwFluid *fluid = work->fluid[share > 0.5 ? 1 : 0];
    return fluid != NULL && fluid->cloud_point_k > 0.0 ? fluid->cloud_point_k : 0.0;
}

/// Not on the way to the pump, or no fuel in it.
static bool is_aside(const OwJudgeWork *work, int part) {
    const OwJudgement *j = work->judgement;
    for (int i = 0; i < j->contribution_count; i++) {
        if (j->contributions[i].part == part) {
            return j->contributions[i].is_return;
        }
    }
    return work->rig->parts[part].kind == OW_PART_COOLANT_COIL ||
           work->rig->parts[part].kind == OW_PART_INJECTORS;
}

/// Where oil comes nearest to (or furthest past) its flash or its cloud point. Value and limit there; false
/// when unknown.
typedef struct OwNearest {
    double value_k, limit_k, margin_k, time_s;
    int part;
} OwNearest;

static bool find_nearest(const OwJudgeWork *work, bool is_flash, OwNearest *nearest) {
    *nearest = (OwNearest){.margin_k = INFINITY, .part = -1};
    for (int i = 0; i < work->record->sample_count; i++) {
        for (int p = 0; p < work->record->part_count && p < work->rig->part_count; p++) {
            const OwPartSample *s = ow_judge_part_sample(work, i, p);
            if (s == NULL || work->rig->parts[p].kind == OW_PART_COOLANT_COIL ||
                (!is_flash && is_aside(work, p))) {
                continue;
            }
            const double value = is_flash ? s->oil_max_k : s->in_k < s->out_k ? s->in_k : s->out_k;
            const double limit = is_flash ? flash_point(work, s->share) : cloud_point(work, s->share);
            const double margin = is_flash ? limit - value : value - limit;
            if (limit > 0.0 && value > 150.0 && margin < nearest->margin_k) {
                *nearest = (OwNearest){value, limit, margin, work->record->samples[i].time_s, p};
            }
        }
    }
    return nearest->part >= 0;
}

static void judge_flash(OwJudgeWork *work) {
    OwNearest at;
    OwAnswer *v = ow_judge_add(work, OW_ANSWER_FLASH, OW_Q_TEMPERATURE);
    v->trust = OW_TRUST_PRACTICE;
    v->basis = "flash point of the lightest fuel there; in a closed fuel path diesel is often warmer than "
               "that: told, not judged";
    if (!find_nearest(work, true, &at)) {
        ow_judge_say(v->text, sizeof v->text, "The flash point of the fuel is unknown.");
        return;
    }
    ow_judge_tell(v, at.value_k);
    v->time_s = at.time_s;
    v->part = at.part;
    v->grade = at.margin_k <= 0.0 ? OW_GRADE_TIGHT : v->grade;
    ow_judge_say(v->text, sizeof v->text, "Nearest to its flash point: %s in %s, flash point %s%s",
                 ow_judge_words(work, at.value_k, OW_Q_TEMPERATURE).text, ow_judge_part(work, at.part).text,
                 ow_judge_words(work, at.limit_k, OW_Q_TEMPERATURE).text,
                 at.margin_k <= 0.0 ? ": a leak there makes vapour that burns." : ".");
}

static void judge_cloud(OwJudgeWork *work) {
    OwNearest at;
    OwAnswer *v = ow_judge_add(work, OW_ANSWER_CLOUD, OW_Q_TEMPERATURE);
    v->trust = OW_TRUST_ASSUMED;
    v->basis = "cloud point as stated or published; wax is not carried through the filters in this run";
    if (!find_nearest(work, false, &at)) {
        ow_judge_say(v->text, sizeof v->text,
                     "The cloud point of the fuel is unknown: cold wax and filter plugging are not judged.");
        return;
    }
    ow_judge_hold_above(v, at.value_k, at.limit_k, 3.0);
    v->part = at.part;
    v->time_s = at.time_s;
    ow_judge_say(v->text, sizeof v->text, "Coldest oil %s in %s, cloud point %s%s",
                 ow_judge_words(work, at.value_k, OW_Q_TEMPERATURE).text, ow_judge_part(work, at.part).text,
                 ow_judge_words(work, at.limit_k, OW_Q_TEMPERATURE).text,
                 v->grade == OW_GRADE_BAD ? ": wax thickens the oil and loads the first filter." : ".");
    if (v->grade == OW_GRADE_BAD) {
        v->grade =
            OW_GRADE_TIGHT; // a warning: the run itself carries the thick oil, not the wax on the filter
        ow_judge_say(v->mend, sizeof v->mend,
                     "Let warm oil settle and draw off the clear part before winter, or blend with diesel or "
                     "kerosene");
        const OwThinWish wish = {.temperature_k = at.value_k, .is_clear = true};
        (void)ow_judge_mend_thin(work, v, &wish, ": ");
        ow_judge_also(v->mend, sizeof v->mend, ".");
    }
}

void ow_judge_hot(OwJudgeWork *work) {
    judge_oil(work);
    judge_ratings(work);
    judge_flash(work);
    judge_cloud(work);
}
