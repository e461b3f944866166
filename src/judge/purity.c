// SPDX-License-Identifier: GPL-3.0-or-later
// Water, acid and solids of each fluid, as its description states them, against the fuel standard of its
// kind.
#include <string.h>

#include "judge/work.h"

/// A careful buyer stays this share below a limit; common practice, no source.
#define SPARE 0.2

static OwOilValue said(double value) {
    return (OwOilValue){
        .is_known = value > 0.0, .value = value, .low = value, .high = value, .trust = OW_TRUST_MEASURED};
}

static const struct Purity {
    OwAnswerKind kind;
    const char *property; ///< as ow_oil_compare names it
    double per_unit;      ///< the answer's number over the standard's
    const char *what, *unit, *mend;
} asked[] = {
    {OW_ANSWER_WATER, "water", 1e-6, "Water", "mg/kg",
     "Let it settle warm, draw off the bottom, and dry it before it goes into the tank."},
    {OW_ANSWER_ACID, "acid value", 1.0, "Acid value", "mg KOH/g",
     "Use less worn oil, or blend it down; check seals, copper and brass in the fuel path."},
    {OW_ANSWER_SOLIDS, "total contamination", 1e-6, "Solids", "mg/kg",
     "Let it settle longer and filter it finer before it goes into the tank."},
};

static void answer(OwJudgeWork *work, const struct Purity *p, int fluid, OwOilStudy *study) {
    static const OwStandard standards[] = {[OW_OIL_PLANT] = OW_STANDARD_DIN_51605,
                                           [OW_OIL_PETROLEUM] = OW_STANDARD_EN_590,
                                           [OW_OIL_ESTER] = OW_STANDARD_EN_14214};
    const OwStandard standard = standards[work->fluid[fluid]->kind];
    const char *name = ow_standard_name(standard);
    OwStandardLine lines[OW_STANDARD_LINES];
    const int count = ow_oil_compare(study, standard, lines);
    for (int i = 0; i < count; i++) {
        const OwStandardLine *line = &lines[i];
        if (strcmp(line->property, p->property) != 0 || !line->value.is_known || !line->has_maximum) {
            continue;
        }
        OwAnswer *v = ow_judge_add(work, p->kind, OW_Q_NUMBER);
        v->trust = OW_TRUST_PUBLISHED;
        v->basis = name;
        const double limit = line->maximum * p->per_unit;
        (void)ow_judge_hold_below(v, line->value.value * p->per_unit, limit, SPARE * limit);
        const bool is_past = v->grade == OW_GRADE_BAD;
        ow_judge_say(v->text, sizeof v->text, "%s in '%s' %.4g %s, %s allows %.4g%s%s.", p->what,
                     work->rig->fluid_name[fluid], line->value.value, p->unit, name, line->maximum,
                     is_past ? ": " : "", is_past ? line->consequence : "");
        if (is_past) {
            v->grade = OW_GRADE_TIGHT; // it wears and clogs in time: this morning's run is none the worse
            ow_judge_say(v->mend, sizeof v->mend, "%s", p->mend);
        }
    }
}

OwStatus ow_judge_purity(OwJudgeWork *work) {
    bool is_said = false;
    for (int f = 0; f < work->rig->fluid_count && f < OW_MAX_FLUIDS; f++) {
        const OwOilSpec *spec = &work->rig->fluid_spec[f];
        is_said |= spec->water_share > 0.0 || spec->acid_mg_g > 0.0 || spec->solids_share > 0.0;
    }
    OwOilStudy *study = is_said ? ow_arena_take(work->judgement->arena, 1, sizeof *study) : NULL;
    if (study == NULL) {
        return is_said ? OW_ERROR_MEMORY : OW_OK;
    }
    for (size_t i = 0; i < sizeof asked / sizeof asked[0]; i++) {
        for (int f = 0; f < work->rig->fluid_count && f < OW_MAX_FLUIDS; f++) {
            const OwOilSpec *spec = &work->rig->fluid_spec[f];
            if (work->fluid[f] != NULL) {
                study->water = said(spec->water_share);
                study->acid = said(spec->acid_mg_g);
                study->solids = said(spec->solids_share);
                answer(work, &asked[i], f, study);
            }
        }
    }
    return OW_OK;
}
