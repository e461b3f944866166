// SPDX-License-Identifier: GPL-3.0-or-later
// At the injection pump through the drive: viscosity, temperature, pressure.
#include <math.h>

#include "judge/work.h"

static bool is_running(const OwSample *sample) {
    return sample->engine == OW_ENGINE_RUNNING;
}

static void mend_viscosity(OwJudgeWork *work, OwAnswer *v, int at, double limit) {
    const OwSample *s = ow_judge_sample(work, at);
    const double need = ow_judge_temperature_for(work, limit, s->inlet_share);
    if (need <= 0.0) {
        const OwThinWish wish = {.temperature_k = s->inlet_k, .kinematic_m2_s = limit};
        ow_judge_say(v->mend, sizeof v->mend, "No sensible heat brings the oil to the limit: thin it");
        (void)ow_judge_mend_thin(work, v, &wish, " to ");
        ow_judge_also(v->mend, sizeof v->mend, ".");
        return;
    }
    ow_judge_say(v->mend, sizeof v->mend, "The oil there must reach %s",
                 ow_judge_words(work, need, OW_Q_TEMPERATURE).text);
    for (int i = 0; i < work->rig->part_count; i++) {
        if (work->rig->parts[i].kind != OW_PART_INJECTION_PUMP) {
            continue;
        }
        const OwPartSample *p = ow_judge_part_sample(work, at, i);
        const double flow = p != NULL ? fabs(p->flow_m3_s) : 0.0;
        // T = Tin + P / (rho cp Q) for a through-flow heater.
        const double watts =
            flow * ow_judge_heat_capacity(work, s->inlet_k, s->inlet_share) * (need - s->inlet_k);
        if (watts > 1.0 && watts < 1e5) {
            ow_judge_also(v->mend, sizeof v->mend, ": %s more heat before the pump at that flow",
                          ow_judge_words(work, watts, OW_Q_POWER).text);
            char said[sizeof v->mend];
            ow_judge_say(said, sizeof said, "%s", v->mend);
            ow_judge_also(v->mend, sizeof v->mend, ", ");
            if (!ow_judge_mend_last_watts(work, v, watts, need)) {
                ow_judge_say(v->mend, sizeof v->mend, "%s", said);
            }
        }
        break;
    }
    ow_judge_also(v->mend, sizeof v->mend, ", a later start or change-over, or thinner oil.");
}

double ow_judge_inlet_limit(const OwRecord *record, double time_s) {
    const OwLimits *limits = &record->rig->limits;
    const double run = limits->run_kinematic_m2_s > 0.0 && isfinite(limits->run_kinematic_m2_s)
                           ? limits->run_kinematic_m2_s
                           : 0.0;
    const double start = limits->start_kinematic_m2_s > 0.0 && isfinite(limits->start_kinematic_m2_s)
                             ? limits->start_kinematic_m2_s
                             : 0.0;
    double start_s = record->start_s; // of the start before this moment: every cold start warms up anew
    for (int i = 0; i < record->event_count; i++) {
        if (record->events[i].kind == OW_EVENT_START && record->events[i].time_s <= time_s) {
            start_s = record->events[i].time_s;
        }
    }
    const bool is_warming = !record->has_started || time_s < start_s + limits->warm_up_s;
    return run > 0.0 && is_warming && start > run ? start : run;
}

/// Viscosity over its limit of the moment; the viscosity itself when no limit is set.
static double excess(const OwRecord *record, const OwSample *s) {
    const double limit = ow_judge_inlet_limit(record, s->time_s);
    return limit > 0.0 ? s->inlet_kinematic_m2_s / limit : s->inlet_kinematic_m2_s;
}

static void judge_viscosity(OwJudgeWork *work) {
    const OwRecord *record = work->record;
    OwAnswer *v = ow_judge_add(work, OW_ANSWER_RUN_VISCOSITY, OW_Q_KINEMATIC_VISCOSITY);
    v->trust = OW_TRUST_PRACTICE;
    v->basis = "limit: common practice, no source; viscosity against temperature: ASTM D341";
    int worst = -1;
    double over_s = 0.0;
    for (int i = 0; i < record->sample_count; i++) {
        const OwSample *s = &record->samples[i];
        if (!is_running(s) || !isfinite(s->inlet_kinematic_m2_s)) {
            continue;
        }
        if (worst < 0 || excess(record, s) > excess(record, &record->samples[worst])) {
            worst = i;
        }
        if (i + 1 < record->sample_count && excess(record, s) > 1.0) {
            over_s += record->samples[i + 1].time_s - s->time_s;
        }
    }
    if (worst < 0) {
        ow_judge_say(v->text, sizeof v->text, "Viscosity on the drive is unknown: the engine never ran.");
        return;
    }
    const OwSample *s = &record->samples[worst];
    const OwJudgeWords thick = ow_judge_words(work, s->inlet_kinematic_m2_s, OW_Q_KINEMATIC_VISCOSITY);
    v->time_s = s->time_s;
    const double limit = ow_judge_inlet_limit(record, s->time_s);
    const bool is_warming = limit > work->rig->limits.run_kinematic_m2_s;
    if (limit <= 0.0) {
        ow_judge_tell(v, s->inlet_kinematic_m2_s);
        v->grade = OW_GRADE_UNKNOWN;
        ow_judge_say(v->text, sizeof v->text,
                     "At most %s at the injection pump on the drive; no limit is set.", thick.text);
        return;
    }
    ow_judge_hold_below(v, s->inlet_kinematic_m2_s, limit, 0.1 * limit);
    ow_judge_say(
        v->text, sizeof v->text, "At most %s at the injection pump on the drive (%s, at %s), limit %s%s",
        thick.text, ow_judge_words(work, s->inlet_k, OW_Q_TEMPERATURE).text,
        ow_judge_words(work, s->time_s, OW_Q_TIME).text,
        ow_judge_words(work, limit, OW_Q_KINEMATIC_VISCOSITY).text, is_warming ? " while it warms up" : "");
    if (v->grade == OW_GRADE_BAD) {
        ow_judge_also(v->text, sizeof v->text, "; over it for %s.",
                      ow_judge_words(work, over_s, OW_Q_TIME).text);
        mend_viscosity(work, v, worst, limit);
    } else {
        ow_judge_also(v->text, sizeof v->text, ".");
    }
}

static void judge_temperature(OwJudgeWork *work) {
    const OwRecord *record = work->record;
    OwAnswer *v = ow_judge_add(work, OW_ANSWER_INLET_TEMPERATURE, OW_Q_TEMPERATURE);
    v->trust = OW_TRUST_PUBLISHED;
    v->basis = "heat balance by published correlations; told, not judged: viscosity carries the limit";
    int coldest = -1;
    for (int i = 0; i < record->sample_count; i++) {
        const OwSample *s = &record->samples[i];
        if (is_running(s) && isfinite(s->inlet_k) &&
            (coldest < 0 || s->inlet_k < record->samples[coldest].inlet_k)) {
            coldest = i;
        }
    }
    if (coldest < 0) {
        const OwSample *end = ow_judge_sample(work, record->sample_count - 1);
        if (end != NULL && ow_judge_tell(v, end->inlet_k)) {
            v->time_s = end->time_s;
            ow_judge_say(v->text, sizeof v->text,
                         "%s at the injection pump at the end; the engine never ran.",
                         ow_judge_words(work, end->inlet_k, OW_Q_TEMPERATURE).text);
        } else {
            ow_judge_say(v->text, sizeof v->text, "Oil temperature at the pump is unknown.");
        }
        return;
    }
    ow_judge_tell(v, record->samples[coldest].inlet_k);
    v->time_s = record->samples[coldest].time_s;
    ow_judge_say(
        v->text, sizeof v->text,
        "%s at the injection pump when the engine starts, coldest %s at %s, %s at the end of the run.",
        ow_judge_words(work, record->samples[work->first_run].inlet_k, OW_Q_TEMPERATURE).text,
        ow_judge_words(work, record->samples[coldest].inlet_k, OW_Q_TEMPERATURE).text,
        ow_judge_words(work, record->samples[coldest].time_s, OW_Q_TIME).text,
        ow_judge_words(work, record->samples[work->last_run].inlet_k, OW_Q_TEMPERATURE).text);
}

static void judge_pressure(OwJudgeWork *work) {
    const OwRecord *record = work->record;
    const double limit = work->rig->limits.inlet_max_pa;
    OwAnswer *v = ow_judge_add(work, OW_ANSWER_INLET_PRESSURE, OW_Q_PRESSURE);
    v->trust = OW_TRUST_ASSUMED;
    v->basis = "limit of the rig file; pressures by Churchill 1977 and the parts' own curves";
    int worst = -1;
    for (int i = 0; i < record->sample_count; i++) {
        if (isfinite(record->samples[i].inlet_pa) &&
            (worst < 0 || record->samples[i].inlet_pa > record->samples[worst].inlet_pa)) {
            worst = i;
        }
    }
    if (worst < 0) {
        ow_judge_say(v->text, sizeof v->text, "Pressure at the pump inlet is unknown.");
        return;
    }
    const double pressure = record->samples[worst].inlet_pa;
    v->time_s = record->samples[worst].time_s;
    if (!(limit > 0.0) || !isfinite(limit)) {
        ow_judge_tell(v, pressure);
        v->grade = OW_GRADE_UNKNOWN;
        ow_judge_say(v->text, sizeof v->text, "At most %s at the pump inlet; no limit is set.",
                     ow_judge_words(work, pressure, OW_Q_PRESSURE).text);
        return;
    }
    ow_judge_hold_below(v, pressure, limit, 0.1 * limit);
    ow_judge_say(v->text, sizeof v->text, "At most %s at the pump inlet, at %s; allowed %s.",
                 ow_judge_words(work, pressure, OW_Q_PRESSURE).text,
                 ow_judge_words(work, v->time_s, OW_Q_TIME).text,
                 ow_judge_words(work, limit, OW_Q_PRESSURE).text);
    if (v->grade != OW_GRADE_BAD) {
        return;
    }
    for (int i = 0; i < work->rig->part_count; i++) {
        const OwPart *p = &work->rig->parts[i];
        if (p->kind == OW_PART_RELIEF_VALVE) {
            v->part = i;
            ow_judge_change(v, (OwChange){i, -1, NULL, "opening pressure", OW_Q_PRESSURE, 0.9 * limit});
            ow_judge_say(v->mend, sizeof v->mend, "Set %s from %s to %s or less.",
                         ow_judge_part(work, i).text,
                         ow_judge_words(work, p->as.relief_valve.open_pa, OW_Q_PRESSURE).text,
                         ow_judge_words(work, 0.9 * limit, OW_Q_PRESSURE).text);
            return;
        }
        if (p->kind == OW_PART_ELECTRIC_PUMP) {
            v->part = i;
            ow_judge_say(v->mend, sizeof v->mend, "Fit a relief valve set to %s after %s, or a weaker pump.",
                         ow_judge_words(work, 0.9 * limit, OW_Q_PRESSURE).text, ow_judge_part(work, i).text);
        }
    }
}

void ow_judge_inlet(OwJudgeWork *work) {
    judge_viscosity(work);
    judge_temperature(work);
    judge_pressure(work);
}
