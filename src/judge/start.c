// SPDX-License-Identifier: GPL-3.0-or-later
// Does it start, when is it ready, and if not: why, and would waiting help.
#include <math.h>

#include "judge/work.h"

/// Oil as thin as that is drawn through the lines of a car, with some loss. Assumed.
#define DRAWN_M2_S 5e-4

static const char start_basis[] = "start by the viscosity limit at the injection pump (common practice); "
                                  "heat and flow by published equations";

/// Kelvin per second at which the pump inlet warmed over the last quarter of the wait, and whether oil moved
/// there.
static double inlet_slope(const OwJudgeWork *work, int end) {
    const OwRecord *record = work->record;
    // While it cranks the pump draws warm oil up to itself: the pace of waiting is that before the first
    // attempt.
    for (int i = 0; i < end; i++) {
        if (record->samples[i].engine == OW_ENGINE_CRANKING) {
            end = i > 0 ? i - 1 : 0;
        }
    }
    const double from_s = 0.75 * record->samples[end].time_s;
    int start = end;
    while (start > 0 && record->samples[start].time_s > from_s) {
        start--;
    }
    const double span = record->samples[end].time_s - record->samples[start].time_s;
    const double slope =
        span > 0.0 ? (record->samples[end].inlet_k - record->samples[start].inlet_k) / span : 0.0;
    return isfinite(slope) ? slope : 0.0;
}

static int hottest_part(const OwJudgeWork *work, int sample) {
    int hot = -1;
    double most = 0.0;
    for (int i = 0; i < work->record->part_count; i++) {
        const OwPartSample *s = ow_judge_part_sample(work, sample, i);
        if (s != NULL && work->rig->parts[i].kind != OW_PART_COOLANT_COIL && s->oil_max_k > most &&
            work->rig->parts[i].kind != OW_PART_TANK) {
            most = s->oil_max_k;
            hot = i;
        }
    }
    return hot;
}

/// The first part on the way in which the oil does not run any more, -1 none.
static int solid_part(const OwJudgeWork *work, int at) {
    for (int i = 0; i < work->path_count; i++) {
        const OwPartSample *s = ow_judge_part_sample(work, at, work->path[i]);
        if (s != NULL && ow_judge_kinematic(work, s->out_k, s->share) > OW_JUDGE_SOLID) {
            return work->path[i];
        }
    }
    return -1;
}

/// Heat in proportion to the warming that is missing in the time there was, a tenth more.
static bool mend_by_watts(OwJudgeWork *work, OwAnswer *v, const OwSample *s, double need_k,
                          const char *before) {
    const OwSample *first = ow_judge_sample(work, 0);
    const double factor = ow_judge_watts_for(1.1, s->inlet_k - first->inlet_k, need_k - first->inlet_k);
    char said[sizeof v->mend];
    ow_judge_say(said, sizeof said, "%s", v->mend);
    ow_judge_also(v->mend, sizeof v->mend, "%s", before);
    const bool is_told = factor > 1.0 && ow_judge_mend_watts(work, v, factor, need_k);
    if (!is_told) {
        ow_judge_say(v->mend, sizeof v->mend, "%s", said);
    }
    return is_told;
}

/// Ends the sentence with the blend that is as thin as that where it stands, when there is one.
static void mend_by_blend(const OwJudgeWork *work, OwAnswer *v, double temperature_k, double kinematic_m2_s) {
    const OwThinWish wish = {.temperature_k = temperature_k, .kinematic_m2_s = kinematic_m2_s};
    (void)ow_judge_mend_thin(work, v, &wish, ": ");
    ow_judge_also(v->mend, sizeof v->mend, ".");
}

/// Rated watts of all heaters and traces: the power of the moment is the inrush of cold ones, or that of
/// those which thermostats have left on.
static double rated_watts(const OwRig *rig) {
    double watts = 0.0;
    for (int p = 0; p < rig->part_count; p++) {
        const OwElements *elements = ow_part_elements_const(&rig->parts[p]);
        for (int e = 0; elements != NULL && e < elements->count; e++) {
            watts += elements->items[e].power_w;
        }
        if (rig->parts[p].kind == OW_PART_RUN) {
            watts += rig->parts[p].as.run.trace_w_m * rig->parts[p].as.run.length_m;
        }
    }
    return watts;
}

/// Much oil that passes the last heater takes its heat along: T out = T in + P / (rho cp Q), so the flow that
/// gets warm enough is in proportion. Says so when there is a flow before the first attempt.
static void mend_by_less_flow(const OwJudgeWork *work, OwAnswer *v, double need_k) {
    const int at = work->first_crank - 1;
    for (int i = work->path_count - 1; at >= 0 && i >= 0; i--) {
        const OwElements *elements = ow_part_elements_const(&work->rig->parts[work->path[i]]);
        const OwPartSample *h = ow_judge_part_sample(work, at, work->path[i]);
        if (elements == NULL || elements->count == 0 || h == NULL) {
            continue;
        }
        const double flow = h->flow_m3_s, gain_k = h->out_k - h->in_k, wanted_k = need_k - h->in_k;
        // A flow of 3 L/h that gains 2 K is warmed at all, and a fourth of it is still a flow. Assumed.
        if (flow > 3e-3 / 3600.0 && gain_k > 2.0 && wanted_k > gain_k && wanted_k < 4.0 * gain_k) {
            ow_judge_also(v->mend, sizeof v->mend, ", or let less oil pass %s before the start (%s, now %s)",
                          ow_judge_part(work, work->path[i]).text,
                          ow_judge_words(work, 0.95 * flow * gain_k / wanted_k, OW_Q_VOLUME_FLOW).text,
                          ow_judge_words(work, flow, OW_Q_VOLUME_FLOW).text);
        }
        return;
    }
}

/// Too thick: what warmth is missing, and what would bring it in the time there was.
static void explain_thick(OwJudgeWork *work, OwAnswer *v, int at) {
    const OwSample *s = ow_judge_sample(work, at);
    const OwSample *first = ow_judge_sample(work, 0);
    const double need_k =
        ow_judge_temperature_for(work, work->rig->limits.start_kinematic_m2_s, s->inlet_share);
    const double slope = inlet_slope(work, at);
    const double gap = need_k - s->inlet_k;
    ow_judge_say(v->text, sizeof v->text,
                 "It does not start: at %s the oil at the injection pump is %s at %s, limit %s",
                 ow_judge_words(work, s->time_s, OW_Q_TIME).text,
                 ow_judge_words(work, s->inlet_kinematic_m2_s, OW_Q_KINEMATIC_VISCOSITY).text,
                 ow_judge_words(work, s->inlet_k, OW_Q_TEMPERATURE).text,
                 ow_judge_words(work, work->rig->limits.start_kinematic_m2_s, OW_Q_KINEMATIC_VISCOSITY).text);
    if (need_k <= 0.0) {
        ow_judge_also(v->text, sizeof v->text, ".");
        ow_judge_say(v->mend, sizeof v->mend,
                     "Heat alone does not bring this oil to the limit: take a thinner oil or blend");
        mend_by_blend(work, v, s->inlet_k, work->rig->limits.start_kinematic_m2_s);
        v->grade = work->fluid[0] != NULL ? OW_GRADE_IMPOSSIBLE : OW_GRADE_BAD;
        return;
    }
    ow_judge_also(v->text, sizeof v->text, " (reached at %s).",
                  ow_judge_words(work, need_k, OW_Q_TEMPERATURE).text);
    const int solid = solid_part(work, at);
    const bool has_heat = s->heaters_w > 1.0 || first->heaters_w > 1.0;
    const int hot = hottest_part(work, at);
    const OwPartSample *h = ow_judge_part_sample(work, at, hot);
    if (!has_heat) {
        v->grade = OW_GRADE_IMPOSSIBLE;
        const double at_40 = ow_judge_kinematic(work, 313.15, s->inlet_share);
        if (at_40 > 0.0 && at_40 < 6e-6) {
            // Diesel or nearly so: EN 590 allows up to 4.5 mm2/s at 40 degC.
            ow_judge_say(v->mend, sizeof v->mend,
                         "Nothing warms the fuel before the start: take a winter grade, fit a heated chamber "
                         "before the pump, or thin it");
        } else {
            ow_judge_say(v->mend, sizeof v->mend,
                         "Nothing warms the oil before the start: fit a heated chamber before the pump, "
                         "start on diesel from a second tank, or thin the oil");
        }
        mend_by_blend(work, v, s->inlet_k, work->rig->limits.start_kinematic_m2_s);
    } else if (solid >= 0) {
        const double runs_k = ow_judge_temperature_for(work, 0.002, s->inlet_share);
        v->grade = OW_GRADE_IMPOSSIBLE;
        v->part = solid;
        ow_judge_say(v->mend, sizeof v->mend,
                     "The oil stands practically solid in %s, so no warm oil reaches the pump: "
                     "start on diesel from a second tank, warm it there",
                     ow_judge_part(work, solid).text);
        if (runs_k > 0.0) {
            ow_judge_also(v->mend, sizeof v->mend, " to %s, where it begins to run",
                          ow_judge_words(work, runs_k, OW_Q_TEMPERATURE).text);
        }
        ow_judge_also(v->mend, sizeof v->mend, ", or thin it");
        mend_by_blend(work, v, ow_judge_part_sample(work, at, solid)->out_k, DRAWN_M2_S);
    } else if (h != NULL && h->oil_max_k > need_k && slope * 600.0 < gap) {
        v->part = hot;
        if (!ow_judge_mend_way(work, at, hot, v)) {
            ow_judge_say(v->mend, sizeof v->mend,
                         "The heat stays in %s (%s) while nothing moves the oil on: move it next to the "
                         "pump, or run an electric pump so that the warm oil reaches the pump.",
                         ow_judge_part(work, hot).text,
                         ow_judge_words(work, h->oil_max_k, OW_Q_TEMPERATURE).text);
        }
    } else if (slope * 3600.0 < gap) {
        // Not even an hour at the present pace. Here and below a tenth is spared (assumed).
        v->grade = OW_GRADE_IMPOSSIBLE;
        const double watts = 1.1 * ow_judge_watts_for(rated_watts(work->rig), s->inlet_k - first->inlet_k,
                                                      need_k - first->inlet_k);
        ow_judge_say(v->mend, sizeof v->mend, "Waiting does not help: the inlet has settled at %s. ",
                     ow_judge_words(work, s->inlet_k, OW_Q_TEMPERATURE).text);
        if (mend_by_watts(work, v, s, need_k, "Heat more: ")) {
            mend_by_less_flow(work, v, need_k);
            ow_judge_also(v->mend, sizeof v->mend, ", or thin the oil.");
        } else if (watts > 0.0 && watts < 1e5) {
            ow_judge_also(v->mend, sizeof v->mend, "About %s of heat would reach the limit",
                          ow_judge_words(work, watts, OW_Q_POWER).text);
            mend_by_less_flow(work, v, need_k);
            ow_judge_also(v->mend, sizeof v->mend, ", or thin the oil.");
        } else {
            ow_judge_also(v->mend, sizeof v->mend, "Bring the heat nearer to the pump, or thin the oil");
            mend_by_blend(work, v, s->inlet_k, work->rig->limits.start_kinematic_m2_s);
        }
    } else {
        const double rated_w = rated_watts(work->rig);
        const double watts =
            1.1 * ow_judge_watts_for(rated_w, s->inlet_k - first->inlet_k, need_k - first->inlet_k);
        ow_judge_say(v->mend, sizeof v->mend, "Wait about %s longer",
                     ow_judge_words(work, gap > 0.0 ? gap / slope : 0.0, OW_Q_TIME).text);
        if (gap > 0.0) { // a third more, for the pace falls as the oil nears the heaters
            const double wait_s = s->time_s + 1.33 * gap / slope; // from the attempt that failed
            ow_judge_change(
                v, (OwChange){-1, -1, "drive", "wait at most", OW_Q_TIME, ceil(wait_s / 10.0) * 10.0});
        }
        if (watts > 0.0 && watts < 1e5) {
            ow_judge_also(v->mend, sizeof v->mend, ", or heat with about %s in place of %s",
                          ow_judge_words(work, watts, OW_Q_POWER).text,
                          ow_judge_words(work, rated_w, OW_Q_POWER).text);
        }
        mend_by_less_flow(work, v, need_k);
        ow_judge_also(v->mend, sizeof v->mend, ", or thin the oil.");
    }
}

static void explain_failed(OwJudgeWork *work, OwAnswer *v, int at) {
    const OwSample *s = ow_judge_sample(work, at);
    const OwLimits *limits = &work->rig->limits;
    v->grade = OW_GRADE_BAD;
    if (ow_judge_no_way(work, at, v)) {
        return;
    }
    if (limits->start_kinematic_m2_s > 0.0 && s->inlet_kinematic_m2_s > limits->start_kinematic_m2_s) {
        explain_thick(work, v, at);
        return;
    }
    if (s->inlet_fill < (limits->min_fill > 0.0 ? limits->min_fill : OW_JUDGE_SERVED)) {
        const int part = ow_judge_most_loss(work, at, s->lowest_part);
        v->part = part >= 0 ? part : s->lowest_part;
        ow_judge_say(v->text, sizeof v->text,
                     "It does not start: at %s the pump draws air, only %s of its inlet is liquid; lowest "
                     "pressure %s at %s.",
                     ow_judge_words(work, s->time_s, OW_Q_TIME).text, ow_judge_percent(s->inlet_fill).text,
                     ow_judge_words(work, s->lowest_pa, OW_Q_PRESSURE).text,
                     ow_judge_part(work, s->lowest_part).text);
        const double floor_pa = limits->suction_floor_pa < 0.0 ? 0.8 * limits->suction_floor_pa : 0.0;
        ow_judge_mend_loss(work, at, part, floor_pa - s->lowest_pa, v);
        return;
    }
    ow_judge_say(v->text, sizeof v->text,
                 "It does not start: at %s the pump is asked for %s and delivers %s, with the oil at %s.",
                 ow_judge_words(work, s->time_s, OW_Q_TIME).text,
                 ow_judge_words(work, s->fuel_request_m3_s, OW_Q_VOLUME_FLOW).text,
                 ow_judge_words(work, s->fuel_burned_m3_s, OW_Q_VOLUME_FLOW).text,
                 ow_judge_words(work, s->inlet_kinematic_m2_s, OW_Q_KINEMATIC_VISCOSITY).text);
    if (s->fuel_burned_m3_s < OW_JUDGE_SERVED * s->fuel_request_m3_s) {
        const int part = ow_judge_most_loss(work, at, -1);
        v->part = part;
        const double share = s->fuel_burned_m3_s / s->fuel_request_m3_s;
        ow_judge_mend_loss(work, at, part, (1.0 - 0.9 * share) * ow_judge_loss(work, at, part), v);
    } else {
        ow_judge_say(v->mend, sizeof v->mend,
                     "Allow more or longer attempts: the oil itself is within the limits.");
    }
}

/// An attempt came to its end without a start.
static bool has_failed(const OwRecord *record) {
    for (int i = 0; i < record->event_count; i++) {
        if (record->events[i].kind == OW_EVENT_NO_START || record->events[i].kind == OW_EVENT_GAVE_UP) {
            return true;
        }
    }
    return false;
}

/// The engine stood, warm or cold, and did not start again: the sample of that moment, -1 when it always did.
static int no_restart(const OwRecord *record) {
    int at = -1;
    for (int i = 0; i < record->event_count; i++) {
        if (record->events[i].kind == OW_EVENT_GAVE_UP && record->events[i].time_s > record->start_s) {
            at = 0;
            while (at + 1 < record->sample_count &&
                   record->samples[at + 1].time_s <= record->events[i].time_s) {
                at++;
            }
        }
    }
    return record->sample_count > 0 ? at : -1;
}

static void judge_restart(OwJudgeWork *work, OwAnswer *v, int at) {
    const OwSample *s = ow_judge_sample(work, at);
    v->grade = OW_GRADE_BAD;
    v->time_s = s->time_s;
    ow_judge_say(v->text, sizeof v->text,
                 "It does not start again at %s: the oil at the injection pump is %s at %s, limit %s.",
                 ow_judge_words(work, s->time_s, OW_Q_TIME).text,
                 ow_judge_words(work, s->inlet_kinematic_m2_s, OW_Q_KINEMATIC_VISCOSITY).text,
                 ow_judge_words(work, s->inlet_k, OW_Q_TEMPERATURE).text,
                 ow_judge_words(work, work->rig->limits.start_kinematic_m2_s, OW_Q_KINEMATIC_VISCOSITY).text);
    ow_judge_say(v->mend, sizeof v->mend,
                 "See that warm oil reaches the pump before the start: valve positions at key "
                 "on, a pump in the path, or a longer wait.");
}

static void judge_start(OwJudgeWork *work) {
    OwAnswer *v = ow_judge_add(work, OW_ANSWER_START, OW_Q_TIME);
    const OwRecord *record = work->record;
    v->basis = start_basis;
    v->trust = OW_TRUST_PRACTICE;
    if (record->has_started && isfinite(record->start_s)) {
        int failed = 0;
        for (int i = 0; i < record->event_count; i++) {
            failed +=
                record->events[i].kind == OW_EVENT_NO_START && record->events[i].time_s < record->start_s;
        }
        ow_judge_tell(v, record->start_s);
        if (no_restart(record) >= 0) {
            judge_restart(work, v, no_restart(record));
            return;
        }
        v->time_s = record->start_s;
        ow_judge_say(v->text, sizeof v->text, "The engine starts after %s",
                     ow_judge_words(work, record->start_s, OW_Q_TIME).text);
        if (failed > 0) {
            v->grade = OW_GRADE_TIGHT;
            ow_judge_also(v->text, sizeof v->text, ", at attempt %d.", failed + 1);
            ow_judge_say(v->mend, sizeof v->mend, "Wait longer before cranking, or heat more.");
        } else {
            ow_judge_also(v->text, sizeof v->text, ", at the first attempt.");
        }
    } else if (work->is_asked && !has_failed(record)) {
        ow_judge_say(v->text, sizeof v->text,
                     "The run ended at %s, before the first attempt to start was over.",
                     ow_judge_words(work, record->end_s, OW_Q_TIME).text);
        ow_judge_say(v->mend, sizeof v->mend, "Let the run last longer.");
    } else if (!work->is_asked) {
        ow_judge_say(v->text, sizeof v->text, "The engine was never asked to start in this run.");
        ow_judge_say(v->mend, sizeof v->mend,
                     "Let the run last longer, or give the drive a leg with the engine on.");
    } else if (work->last_try < 0) {
        v->grade = OW_GRADE_BAD;
        ow_judge_say(v->text, sizeof v->text, "It does not start; no sample tells why.");
    } else {
        v->time_s = ow_judge_sample(work, work->last_try)->time_s;
        explain_failed(work, v, work->last_try);
    }
}

/// Ready too late or never: stronger heaters.
static void mend_ready(OwJudgeWork *work, OwAnswer *v) {
    const OwSample *s = work->last_try >= 0 ? ow_judge_sample(work, work->last_try) : NULL;
    const double share = s != NULL ? s->inlet_share : 0.0;
    const double need_k = ow_judge_temperature_for(work, work->rig->limits.start_kinematic_m2_s, share);
    if (!(need_k > 0.0)) {
        return;
    }
    // When the start itself says how long to wait, that is the nearest change for being ready too.
    const OwAnswer *start = ow_judge_find(work->judgement, OW_ANSWER_START);
    if (!v->has_limit && start != NULL && start->change_count > 0) {
        ow_judge_take_mend(v, start);
        return;
    }
    ow_judge_say(v->mend, sizeof v->mend, "Heat more: ");
    bool is_told = false;
    if (v->has_limit && v->value > v->limit) { // late: the warming takes as much energy, in less time
        is_told = ow_judge_mend_watts(work, v, 1.1 * v->value / v->limit, need_k);
    } else if (s != NULL && s->inlet_k < need_k) {
        is_told = mend_by_watts(work, v, s, need_k, "");
    }
    if (is_told) {
        ow_judge_also(v->mend, sizeof v->mend, ", or less iron and oil to warm, or wait longer.");
    } else {
        v->mend[0] = '\0';
        if (v->has_limit && v->value > v->limit) {
            const double wait_s = ceil(1.1 * v->value / 10.0) * 10.0;
            ow_judge_change(v, (OwChange){-1, -1, "drive", "wait at most", OW_Q_TIME, wait_s});
            ow_judge_say(v->mend, sizeof v->mend, "Wait up to %s, or fit more heat before the pump.",
                         ow_judge_words(work, wait_s, OW_Q_TIME).text);
        }
    }
}

static void judge_ready_time(OwJudgeWork *work) {
    const OwRecord *record = work->record;
    const OwDriveSpec *drive = &work->rig->drive;
    OwAnswer *v = ow_judge_add(work, OW_ANSWER_READY, OW_Q_TIME);
    v->basis = "ready when the pump inlet meets the start limits of the rig file; the wait is the driver's";
    v->trust = OW_TRUST_PRACTICE;
    if (record->ready_s >= 0.0 && isfinite(record->ready_s)) {
        v->time_s = record->ready_s;
        if (drive->ready_wait_s > 0.0) {
            ow_judge_hold_below(v, record->ready_s, drive->ready_wait_s, 0.1 * drive->ready_wait_s);
            ow_judge_say(v->text, sizeof v->text, "Ready after %s; the driver waits at most %s.",
                         ow_judge_words(work, record->ready_s, OW_Q_TIME).text,
                         ow_judge_words(work, drive->ready_wait_s, OW_Q_TIME).text);
            if (v->grade == OW_GRADE_BAD && record->has_started) {
                v->grade = OW_GRADE_TIGHT; // it was started all the same
            }
        } else {
            ow_judge_tell(v, record->ready_s);
            ow_judge_say(v->text, sizeof v->text, "Ready after %s.",
                         ow_judge_words(work, record->ready_s, OW_Q_TIME).text);
        }
        return;
    }
    if (!work->is_asked || (!record->has_started && !has_failed(record))) {
        ow_judge_say(v->text, sizeof v->text, "Not ready within this run of %s.",
                     ow_judge_words(work, record->end_s, OW_Q_TIME).text);
    } else if (record->has_started) {
        v->grade = OW_GRADE_TIGHT;
        ow_judge_say(v->text, sizeof v->text, "Never counted as ready, and started all the same after %s.",
                     ow_judge_words(work, record->start_s, OW_Q_TIME).text);
    } else {
        v->grade = OW_GRADE_BAD;
        ow_judge_say(v->text, sizeof v->text, "Never ready; the driver waited at most %s.",
                     ow_judge_words(work, drive->ready_wait_s, OW_Q_TIME).text);
    }
}

static void judge_start_viscosity(OwJudgeWork *work) {
    const double limit = work->rig->limits.start_kinematic_m2_s;
    const int at = work->first_crank >= 0 ? work->first_crank : work->first_run;
    OwAnswer *v = ow_judge_add(work, OW_ANSWER_START_VISCOSITY, OW_Q_KINEMATIC_VISCOSITY);
    v->trust = OW_TRUST_PRACTICE;
    v->basis = "limit: common practice, no source; viscosity against temperature: ASTM D341";
    if (at < 0) {
        ow_judge_say(v->text, sizeof v->text,
                     "Viscosity when cranking is unknown: the engine was not cranked.");
        return;
    }
    // The last moment of cranking before it runs counts: that is when it starts or fails.
    int last = at;
    for (int i = at; i < work->record->sample_count && (work->first_run < 0 || i < work->first_run); i++) {
        last = work->record->samples[i].engine == OW_ENGINE_CRANKING ? i : last;
    }
    if (!work->record->has_started) {
        last = work->last_try;
    }
    const OwSample *s = ow_judge_sample(work, last);
    v->time_s = s->time_s;
    if (!(limit > 0.0) || !isfinite(limit)) {
        ow_judge_tell(v, s->inlet_kinematic_m2_s);
        v->grade = OW_GRADE_UNKNOWN;
        ow_judge_say(v->text, sizeof v->text, "%s at the injection pump when cranking; no limit is set.",
                     ow_judge_words(work, s->inlet_kinematic_m2_s, OW_Q_KINEMATIC_VISCOSITY).text);
        return;
    }
    ow_judge_hold_below(v, s->inlet_kinematic_m2_s, limit, 0.1 * limit);
    ow_judge_say(v->text, sizeof v->text, "%s at %s at the injection pump when cranking, limit %s.",
                 ow_judge_words(work, s->inlet_kinematic_m2_s, OW_Q_KINEMATIC_VISCOSITY).text,
                 ow_judge_words(work, s->inlet_k, OW_Q_TEMPERATURE).text,
                 ow_judge_words(work, limit, OW_Q_KINEMATIC_VISCOSITY).text);
    if (v->grade == OW_GRADE_BAD) {
        const double need = ow_judge_temperature_for(work, limit, s->inlet_share);
        const OwAnswer *start = ow_judge_find(work->judgement, OW_ANSWER_START);
        if (!work->record->has_started && solid_part(work, last) >= 0 && start->change_count > 0) {
            ow_judge_take_mend(v, start); // heat at the pump warms nothing that does not come
        } else if (need > 0.0) {
            ow_judge_say(v->mend, sizeof v->mend, "The oil there must reach %s",
                         ow_judge_words(work, need, OW_Q_TEMPERATURE).text);
            (void)mend_by_watts(work, v, s, need, ": ");
            ow_judge_also(v->mend, sizeof v->mend, ".");
        }
    }
}

void ow_judge_start(OwJudgeWork *work) {
    judge_start(work);
    judge_ready_time(work);
    OwAnswer *ready = &work->judgement->answers[work->judgement->answer_count - 1];
    if (ow_judge_fails(ready->grade) || (ready->has_limit && ready->value > ready->limit)) {
        mend_ready(work, ready);
    }
    judge_start_viscosity(work);
}
