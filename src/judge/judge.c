// SPDX-License-Identifier: GPL-3.0-or-later
// A record in, all answers out: scans the record once for its moments, then asks the questions in turn.
#include <math.h>
#include <string.h>

#include "judge/work.h"

const OwSample *ow_judge_sample(const OwJudgeWork *work, int sample) {
    return sample >= 0 && sample < work->record->sample_count ? &work->record->samples[sample] : NULL;
}

const OwPartSample *ow_judge_part_sample(const OwJudgeWork *work, int sample, int part) {
    const OwRecord *r = work->record;
    if (r->parts == NULL || sample < 0 || sample >= r->sample_count || part < 0 || part >= r->part_count ||
        part >= work->rig->part_count) {
        return NULL;
    }
    return &r->parts[(size_t)sample * (size_t)r->part_count + (size_t)part];
}

const OwAnswer *ow_judge_find(const OwJudgement *judgement, OwAnswerKind kind) {
    for (int i = 0; judgement != NULL && i < judgement->answer_count; i++) {
        if (judgement->answers[i].kind == kind) {
            return &judgement->answers[i];
        }
    }
    return NULL;
}

static void scan(OwJudgeWork *work) {
    const OwRecord *record = work->record;
    work->first_crank = work->first_run = work->last_run = work->last_try = -1;
    for (int i = 0; i < record->sample_count; i++) {
        const OwEngineState engine = record->samples[i].engine;
        if (engine == OW_ENGINE_CRANKING && work->first_crank < 0) {
            work->first_crank = i;
        }
        if (engine == OW_ENGINE_RUNNING) {
            work->first_run = work->first_run < 0 ? i : work->first_run;
            work->last_run = i;
        }
        if (engine != OW_ENGINE_OFF) {
            work->last_try = i;
            work->is_asked = true;
        }
    }
    for (int i = 0; i < record->event_count; i++) {
        const OwEvent *e = &record->events[i];
        if (e->kind == OW_EVENT_CRANK || e->kind == OW_EVENT_NO_START || e->kind == OW_EVENT_GAVE_UP ||
            e->kind == OW_EVENT_START) {
            work->is_asked = true;
            // A short attempt may fall between two samples: take the last sample before its end.
            for (int k = 0; work->last_try < 0 && k < record->sample_count; k++) {
                if (k + 1 >= record->sample_count || record->samples[k + 1].time_s > e->time_s) {
                    work->last_try = k;
                }
            }
        }
    }
    work->is_asked = work->is_asked || record->has_started;
}

/// The plan's fluids, or the same made again from the rig when the record came without a plan.
static OwStatus find_fluids(OwJudgeWork *work) {
    const OwRig *rig = work->rig;
    for (int i = 0; i < rig->fluid_count && i < OW_MAX_FLUIDS; i++) {
        if (work->record->plan != NULL) {
            work->fluid[i] = ow_plan_fluid(work->record->plan, i);
            continue;
        }
        OwFluid *fluid = ow_arena_take(work->judgement->arena, 1, sizeof *fluid);
        if (fluid == NULL) {
            return OW_ERROR_MEMORY;
        }
        OwFaults faults = {0};
        if (ow_oil_make_among(&rig->fluid_spec[i], work->fluid, i, fluid, &faults) == OW_OK) {
            work->fluid[i] = fluid;
        }
        ow_faults_clear(&faults);
        if (work->fluid[i] == NULL) {
            break; // what cannot be made is unknown, and so is what is blended from it
        }
    }
    return OW_OK;
}

void ow_judge_run(OwJudgeWork *work) {
    const OwRecord *record = work->record;
    OwAnswer *v = ow_judge_add(work, OW_ANSWER_RUN, OW_Q_NUMBER);
    const double gap = fabs(record->audit.energy_gap) > fabs(record->audit.volume_gap)
                           ? fabs(record->audit.energy_gap)
                           : fabs(record->audit.volume_gap);
    v->trust = OW_TRUST_PUBLISHED;
    v->basis = "energy and volume books of the run, closing to one part in a million";
    if (record->sample_count <= 0) {
        ow_judge_say(v->text, sizeof v->text, "The run gave no samples%s%s",
                     record->trouble[0] != '\0' ? ": " : ".", record->trouble);
        return;
    }
    if (!isfinite(gap)) {
        ow_judge_say(v->text, sizeof v->text,
                     "The books of the run do not close: take its numbers with care.");
        return;
    }
    ow_judge_hold_below(v, gap, 1e-6, 0.0);
    if (record->trouble[0] != '\0') {
        v->grade = OW_GRADE_UNKNOWN;
        ow_judge_say(v->text, sizeof v->text, "The run ended early at %s: %s",
                     ow_judge_words(work, record->end_s, OW_Q_TIME).text, record->trouble);
    } else if (v->grade == OW_GRADE_BAD) {
        v->grade = OW_GRADE_UNKNOWN; // a fault of the simulation, not of the vehicle
        ow_judge_say(v->text, sizeof v->text,
                     "Heat or fuel of %.2g of the whole is unaccounted for: take the numbers with care.",
                     gap);
    } else {
        ow_judge_say(v->text, sizeof v->text, "%s simulated; heat and fuel balance to %.1e.",
                     ow_judge_words(work, record->end_s, OW_Q_TIME).text, gap);
    }
}

/// The coldest oil an answer rests on: at the pump inlet for viscosity, anywhere on the way for suction;
/// INFINITY unknown.
static double coldest(const OwJudgeWork *work, const OwAnswer *v) {
    double cold = INFINITY;
    for (int i = 0; i < work->record->sample_count; i++) {
        const OwSample *s = &work->record->samples[i];
        if (s->time_s < v->time_s) {
            continue;
        }
        if (v->kind != OW_ANSWER_SUCTION) {
            return s->inlet_k > 150.0 ? s->inlet_k : cold;
        }
        for (int p = 0; p < work->path_count; p++) {
            const OwPartSample *q = ow_judge_part_sample(work, i, work->path[p]);
            cold = q != NULL && q->out_k > 150.0 && q->out_k < cold ? q->out_k : cold;
        }
        return cold;
    }
    return cold;
}

/// Oil colder than its viscosity is known: said on the answers that rest on it.
static void doubt(OwJudgeWork *work) {
    double known = 0.0;
    for (int f = 0; f < OW_MAX_FLUIDS; f++) {
        if (work->fluid[f] != NULL && work->fluid[f]->valid_low_k > known) {
            known = work->fluid[f]->valid_low_k;
        }
    }
    for (int i = 0; i < work->judgement->answer_count; i++) {
        OwAnswer *v = &work->judgement->answers[i];
        if (v->kind != OW_ANSWER_START_VISCOSITY && v->kind != OW_ANSWER_RUN_VISCOSITY &&
            v->kind != OW_ANSWER_SUCTION) {
            continue;
        }
        if (v->time_s >= 0.0 && coldest(work, v) < known - 0.5) {
            v->trust = OW_TRUST_ASSUMED;
            v->basis =
                "the oil is colder than its viscosity was measured: carried on by ASTM D341, wax not counted";
        }
    }
}

/// A failing answer that found nothing particular to change still says where to begin.
static void mend_the_rest(OwJudgement *j) {
    static const char *const usual[OW_ANSWER_COUNT] = {
        [OW_ANSWER_RUN] =
            "Run it again with a shorter time; if it stays, the description or the program needs a look.",
        [OW_ANSWER_READY] = "More heater watts, less iron and oil to warm, or a longer wait.",
        [OW_ANSWER_START] =
            "Warm the oil at the injection pump before cranking: more watts, a longer wait, or thinner oil.",
        [OW_ANSWER_START_VISCOSITY] = "Warm the oil at the injection pump before cranking, or thin it.",
        [OW_ANSWER_RUN_VISCOSITY] =
            "More heat before the injection pump, a loop that keeps it there, or thinner oil.",
        [OW_ANSWER_INLET_PRESSURE] = "A weaker pump, a relief valve after it, or a wider return.",
        [OW_ANSWER_SUCTION] =
            "A pump at the tank, a wider or shorter line before the pump, or warmer oil in it.",
        [OW_ANSWER_FILL] =
            "A pump at the tank, a wider or shorter line before the pump, or warmer oil in it.",
        [OW_ANSWER_DELIVERY] =
            "Less loss before the injection pump: wider lines, a larger filter, a pump at the tank.",
        [OW_ANSWER_FULL_LOAD] =
            "Less loss before the injection pump: wider lines, a larger filter, a pump at the tank.",
        [OW_ANSWER_FULL_POWER] = "Less loss before the injection pump, or warmer oil sooner.",
        [OW_ANSWER_OIL_HOT] = "A lower thermostat setting, or fewer watts.",
        [OW_ANSWER_RATING] = "A lower thermostat setting, or a part that stands more heat.",
        [OW_ANSWER_FLASH] = "A lower thermostat setting, or another fuel.",
        [OW_ANSWER_BATTERY] = "A shorter pre-heat, fewer watts, or a larger battery.",
        [OW_ANSWER_TANK] = "Fill the tank, or drive less far.",
        [OW_ANSWER_PURGE] = "Change back to diesel earlier before the stop.",
        [OW_ANSWER_COOLANT] = "See the engine's thermostat and radiator.",
        [OW_ANSWER_THERMOSTAT] = "A wider gap between closing and opening, or a slower sensor.",
    };
    for (int i = 0; i < j->answer_count; i++) {
        OwAnswer *v = &j->answers[i];
        if (ow_judge_fails(v->grade) && v->mend[0] == '\0' && usual[v->kind] != NULL) {
            ow_judge_say(v->mend, sizeof v->mend, "%s", usual[v->kind]);
        }
    }
}

OwStatus ow_judge_create(const OwRecord *record, OwDisplay display, OwJudgement **judgement) {
    if (judgement == NULL || record == NULL || record->rig == NULL) {
        return OW_ERROR_USE;
    }
    *judgement = NULL;
    OwArena *arena = ow_arena_create();
    OwJudgement *j = arena != NULL ? ow_arena_take(arena, 1, sizeof *j) : NULL;
    OwStatus status = j != NULL ? OW_OK : OW_ERROR_MEMORY;
    if (status == OW_OK) {
        j->arena = arena;
        j->record = record;
        j->display = display;
        j->tightest = j->worst_sample = -1;
        OwJudgeWork work = {.judgement = j, .record = record, .rig = record->rig, .display = display};
        work.capacity = OW_ANSWER_COUNT + 2 * record->rig->part_count + 3 * OW_MAX_FLUIDS + 1;
        j->answers = ow_arena_take(arena, (size_t)work.capacity, sizeof *j->answers);
        status = j->answers != NULL ? find_fluids(&work) : OW_ERROR_MEMORY;
        if (status == OW_OK) {
            scan(&work);
            status = ow_judge_contribute(&work);
        }
        if (status == OW_OK) {
            ow_judge_run(&work);
            ow_judge_start(&work);
            ow_judge_inlet(&work);
            ow_judge_suction(&work);
            ow_judge_delivery(&work);
            ow_judge_hot(&work);
            status = ow_judge_purity(&work);
        }
        if (status == OW_OK) {
            ow_judge_support(&work);
            doubt(&work);
            mend_the_rest(j);
            ow_judge_headline(&work);
        }
    }
    if (status != OW_OK) {
        ow_arena_destroy(&arena);
        return status;
    }
    *judgement = j;
    return OW_OK;
}

void ow_judge_destroy(OwJudgement **judgement) {
    if (judgement == NULL || *judgement == NULL) {
        return;
    }
    OwArena *arena = (*judgement)->arena;
    *judgement = NULL;
    ow_arena_destroy(&arena);
}
