// SPDX-License-Identifier: GPL-3.0-or-later
// A thinner fuel as values of the rig: with what the oil is blended, and how much of it.
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "judge/work.h"

/// Shares are told and mixed in steps of one twentieth (common practice, no source).
#define STEPS 20
/// The thinnest that still counts as burning the oil. Assumed.
#define MOST_STEPS 19
/// A twentieth thinner than the limit asks, for what the cold does besides. Assumed.
#define SPARE 0.95

/// An oil by its name alone, or a blend: nothing is lost when it is written anew.
static bool is_bare(const OwOilSpec *spec) {
    for (int i = 0; i < OW_ACID_COUNT; i++) {
        if (spec->profile[i] > 0.0) {
            return false;
        }
    }
    for (int i = 0; i < OW_SHEET_COUNT; i++) {
        if (spec->sheet[i] != 0.0) {
            return false;
        }
    }
    return spec->point_count == 0 && spec->cup_count == 0 && !(spec->density_15_kg_m3 > 0.0) &&
           !(spec->hydrometer_kg_m3 > 0.0) && !(spec->cloud_point_k > 0.0) &&
           (!(spec->used_factor > 0.0) || spec->used_factor == 1.0) && !spec->is_used &&
           !(spec->polar_share > 0.0) && !(spec->water_share > 0.0) && !(spec->acid_mg_g > 0.0) &&
           !(spec->solids_share > 0.0);
}

/// The share of a named fluid in a spec.
static double share_of(const OwOilSpec *spec, const char *name) {
    double share = spec->blend_count == 0 && strcmp(spec->name, name) == 0 ? 1.0 : 0.0;
    for (int i = 0; i < spec->blend_count; i++) {
        share += strcmp(spec->blend_name[i], name) == 0 ? spec->blend_fraction[i] : 0.0;
    }
    return share;
}

/// The spec with `steps` twentieths of `thinner` in it, the rest as they stand to each other. False: no room.
static bool thin(const OwOilSpec *from, const char *thinner, int steps, OwOilSpec *to) {
    const double share = (double)steps / STEPS, rest = 1.0 - share_of(from, thinner);
    *to = (OwOilSpec){0};
    (void)snprintf(to->name, sizeof to->name, "blend");
    if (!(rest > 1e-9)) {
        return false;
    }
    const int count = from->blend_count > 0 ? from->blend_count : 1;
    for (int i = 0; i < count; i++) {
        const char *name = from->blend_count > 0 ? from->blend_name[i] : from->name;
        const double had = from->blend_count > 0 ? from->blend_fraction[i] : 1.0;
        if (strcmp(name, thinner) != 0) {
            if (to->blend_count >= OW_OIL_MAX_BLEND - 1) {
                return false;
            }
            memcpy(to->blend_name[to->blend_count], name, strlen(name) + 1);
            to->blend_fraction[to->blend_count++] = had * (1.0 - share) / rest;
        }
    }
    (void)snprintf(to->blend_name[to->blend_count], sizeof to->blend_name[0], "%s", thinner);
    to->blend_fraction[to->blend_count++] = share;
    return true;
}

/// Does the blend run thin enough, and without wax?
static bool does(const OwOilSpec *spec, const OwThinWish *wish, OwFluid *fluid) {
    OwFaults faults = {0};
    const bool is_made = ow_oil_make(spec, fluid, &faults) == OW_OK;
    ow_faults_clear(&faults);
    return is_made &&
           (!(wish->kinematic_m2_s > 0.0) ||
            ow_curve_value(&fluid->kinematic_m2_s, wish->temperature_k) <= SPARE * wish->kinematic_m2_s) &&
           (!wish->is_clear || (fluid->cloud_point_k > 0.0 && fluid->cloud_point_k <= wish->temperature_k));
}

/// The fewest twentieths that do, 0 = none.
static int fewest(const OwOilSpec *from, const char *thinner, const OwThinWish *wish, OwOilSpec *made) {
    OwFluid *fluid = malloc(sizeof *fluid);
    int low = (int)(share_of(from, thinner) * STEPS + 1e-6), high = MOST_STEPS; // low does not, high does
    const bool can =
        fluid != NULL && high > low && thin(from, thinner, high, made) && does(made, wish, fluid);
    while (can && high - low > 1) {
        const int middle = (low + high) / 2;
        const bool is_enough = thin(from, thinner, middle, made) && does(made, wish, fluid);
        low = is_enough ? low : middle;
        high = is_enough ? middle : high;
    }
    free(fluid);
    return can && thin(from, thinner, high, made) ? high : 0;
}

bool ow_judge_mend_thin(const OwJudgeWork *work, OwAnswer *answer, const OwThinWish *wish,
                        const char *before) {
    const OwOilSpec *from = &work->rig->fluid_spec[0];
    if (work->rig->fluid_count != 1 || !is_bare(from) || from->name[0] == '\0' ||
        !(wish->temperature_k > 0.0)) {
        return false;
    }
    static const char *const thinners[] = {"diesel", "kerosene"};
    OwOilSpec made = {0};
    int steps = 0;
    for (size_t i = 0; i < sizeof thinners / sizeof thinners[0] && steps == 0; i++) {
        steps = fewest(from, thinners[i], wish, &made);
    }
    if (steps == 0 || made.blend_count > OW_ANSWER_CHANGES - answer->change_count) {
        return false;
    }
    char text[160] = "";
    for (int i = made.blend_count - 1; i >= 0; i--) {
        char key[80];
        (void)snprintf(key, sizeof key, "blend/%s", made.blend_name[i]);
        const char *kept = ow_arena_text(work->judgement->arena, key);
        if (kept == NULL) {
            answer->change_count = 0;
            return false;
        }
        ow_judge_change(answer, (OwChange){-1, -1, "oil", kept, OW_Q_NUMBER, made.blend_fraction[i]});
        ow_judge_also(text, sizeof text, "%s%s %s", text[0] != '\0' ? ", " : "",
                      ow_judge_percent(made.blend_fraction[i]).text, made.blend_name[i]);
    }
    ow_judge_also(answer->mend, sizeof answer->mend, "%s%s", before, text);
    return true;
}
