// SPDX-License-Identifier: GPL-3.0-or-later
// What stands around the fuel: battery, thermostats, coolant, tank, and what is left in the pump for next
// time.
#include <math.h>

#include "judge/work.h"
#include "oilwright/electrics.h"
#include "oilwright/power.h"

#define CRANK_STEP_A 50.0
#define BATTERY_STEP_C (5.0 * 3600.0)
/// No rig file takes a larger one.
#define MOST_BATTERY_C 3.6e6

static void judge_battery(OwJudgeWork *work) {
    const OwRecord *record = work->record;
    const double capacity = work->rig->electrics.battery_c;
    const double share_limit = work->rig->limits.preheat_charge_share;
    OwAnswer *v = ow_judge_add(work, OW_ANSWER_BATTERY, OW_Q_CHARGE);
    v->trust = OW_TRUST_ASSUMED;
    v->basis = "charge drawn by heaters and pumps before the start, without the starter; the share allowed "
               "is assumed";
    if (record->sample_count <= 0) {
        ow_judge_say(v->text, sizeof v->text, "Charge drawn by pre-heat is unknown: nothing was sampled.");
        return;
    }
    const int at = work->first_run >= 0 ? work->first_run : record->sample_count - 1;
    const OwSample *s = &record->samples[at];
    const double drawn = s->charge_c;
    v->time_s = s->time_s;
    if (!(capacity > 0.0) || !(share_limit > 0.0) || !isfinite(capacity * share_limit)) {
        ow_judge_tell(v, drawn);
        v->grade = OW_GRADE_UNKNOWN;
        ow_judge_say(v->text, sizeof v->text, "Pre-heat draws %s; battery size or limit is not given.",
                     ow_judge_words(work, drawn, OW_Q_CHARGE).text);
        return;
    }
    const double limit = capacity * share_limit;
    ow_judge_hold_below(v, drawn, limit, 0.2 * limit);
    ow_judge_say(v->text, sizeof v->text, "Pre-heat draws %s of a battery of %s (%s), allowed %s.",
                 ow_judge_words(work, drawn, OW_Q_CHARGE).text,
                 ow_judge_words(work, capacity, OW_Q_CHARGE).text, ow_judge_percent(drawn / capacity).text,
                 ow_judge_percent(share_limit).text);
    if (v->grade == OW_GRADE_BAD && s->time_s > 0.0) {
        // Sold in steps of 5 Ah or so; a twentieth more, as better volts draw more. Common practice, no
        // source.
        const double wanted_c = ceil(1.05 * drawn / share_limit / BATTERY_STEP_C) * BATTERY_STEP_C;
        ow_judge_say(
            v->mend, sizeof v->mend,
            "Fit a battery of %s or a second one, heat for %s at most before the start, or heat less mass.",
            ow_judge_words(work, wanted_c, OW_Q_CHARGE).text,
            ow_judge_words(work, s->time_s * limit / drawn, OW_Q_TIME).text);
        if (wanted_c <= MOST_BATTERY_C) {
            ow_judge_change(v, (OwChange){-1, -1, "electrics", "battery", OW_Q_CHARGE, wanted_c});
        }
    }
}

/// Has the pre-heat left enough to crank? Only asked of a rig whose wiring is described.
static void judge_crank_volts(OwJudgeWork *work) {
    const OwRecord *record = work->record;
    const OwElectricSpec *spec = work->rig->electric_spec;
    if (!spec || !(spec->crank_minimum_v > 0.0)) {
        return;
    }
    OwAnswer *v = ow_judge_add(work, OW_ANSWER_CRANK_VOLTS, OW_Q_VOLTAGE);
    v->trust = OW_TRUST_ASSUMED;
    v->basis =
        "battery, starter and wires as one network; battery resistance against charge and cold is assumed";
    int worst = -1;
    for (int i = 0; i < record->sample_count; i++) {
        const OwSample *s = &record->samples[i];
        if (s->engine == OW_ENGINE_CRANKING && s->battery_v > 0.0 &&
            (worst < 0 || s->battery_v < record->samples[worst].battery_v)) {
            worst = i;
        }
    }
    if (worst < 0) {
        ow_judge_say(v->text, sizeof v->text,
                     "Battery volts when cranking are unknown: it was never cranked.");
        return;
    }
    const OwSample *s = &record->samples[worst];
    v->time_s = s->time_s;
    ow_judge_hold_above(v, s->battery_v, spec->crank_minimum_v, 0.05 * spec->crank_minimum_v);
    ow_judge_say(v->text, sizeof v->text, "The battery holds %s while cranking (%s charged, %s), wanted %s.",
                 ow_judge_words(work, s->battery_v, OW_Q_VOLTAGE).text,
                 ow_judge_percent(s->battery_share).text,
                 ow_judge_words(work, s->battery_k, OW_Q_TEMPERATURE).text,
                 ow_judge_words(work, spec->crank_minimum_v, OW_Q_VOLTAGE).text);
    if (v->grade == OW_GRADE_BAD) {
        ow_judge_say(v->mend, sizeof v->mend,
                     "Heat less or shorter before cranking, switch heaters off while cranking (feed: "
                     "accessory), or fit "
                     "a second battery in parallel.");
        // The sag below its rest volts falls with the cold cranking rating (SAE J537: resistance = 5.4 V over
        // it); batteries are sold in steps of 50 A or so, common practice. 3 % of the volts are
        // spared (assumed); 5000 A is what a rig file takes.
        const OwBatterySpec *b = &spec->battery;
        const double rest_v = ow_battery_source(b, s->battery_share, s->battery_k).rest_v;
        const double sag_v = rest_v - s->battery_v, may_v = rest_v - 1.03 * spec->crank_minimum_v;
        const double wanted_a = ceil(b->cold_crank_a * sag_v / may_v / CRANK_STEP_A) * CRANK_STEP_A;
        if (sag_v > 0.0 && may_v > 0.2 * sag_v && wanted_a > b->cold_crank_a && wanted_a <= 5000.0) {
            ow_judge_change(v, (OwChange){-1, -1, "electrics", "starter battery/cold cranking current",
                                          OW_Q_CURRENT, wanted_a});
            char also[sizeof v->mend];
            ow_judge_say(also, sizeof also, "%s", v->mend);
            ow_judge_say(v->mend, sizeof v->mend,
                         "Fit a battery of %s cold cranking current in place of %s. Or: %c%s",
                         ow_judge_words(work, wanted_a, OW_Q_CURRENT).text,
                         ow_judge_words(work, b->cold_crank_a, OW_Q_CURRENT).text, 'h', also + 1);
        }
    }
}

static void judge_thermostat(OwJudgeWork *work) {
    const OwRecord *record = work->record;
    int most = 0;
    int part = -1;
    double first_s = 0.0;
    double last_s = 0.0;
    for (int i = 0; i < record->event_count; i++) {
        const OwEvent *e = &record->events[i];
        if (e->kind != OW_EVENT_THERMOSTAT_OPENS || e->part < 0) {
            continue;
        }
        int count = 0;
        double to_s = e->time_s;
        for (int k = i; k < record->event_count; k++) {
            const OwEvent *f = &record->events[k];
            if (f->kind == e->kind && f->part == e->part && f->element == e->element) {
                count++;
                to_s = f->time_s;
            }
        }
        if (count > most) {
            most = count;
            part = e->part;
            first_s = e->time_s;
            last_s = to_s;
        }
    }
    bool has_one = most > 0;
    for (int i = 0; i < work->rig->part_count && !has_one; i++) {
        const OwPart *p = &work->rig->parts[i];
        const OwElements *elements = ow_part_elements_const(p);
        for (int k = 0; elements != NULL && k < elements->count; k++) {
            has_one = has_one || elements->items[k].has_thermostat;
        }
    }
    if (!has_one) {
        return;
    }
    OwAnswer *v = ow_judge_add(work, OW_ANSWER_THERMOSTAT, OW_Q_NUMBER);
    v->basis = "switching counted in the run; under 10 s a cycle counts as tight for a relay, assumed";
    ow_judge_tell(v, most);
    v->part = part;
    if (most == 0) {
        ow_judge_say(v->text, sizeof v->text, "No heater thermostat opens in this run.");
        return;
    }
    ow_judge_say(v->text, sizeof v->text, "The thermostat of %s opens %d time%s",
                 ow_judge_part(work, part).text, most, most > 1 ? "s" : "");
    if (most > 1) {
        const double period = (last_s - first_s) / (most - 1);
        ow_judge_also(v->text, sizeof v->text, ", every %s on average",
                      ow_judge_words(work, period, OW_Q_TIME).text);
        if (period < 10.0) {
            v->grade = OW_GRADE_TIGHT;
            ow_judge_say(v->mend, sizeof v->mend,
                         "Choose a thermostat with a wider gap between off and on: relay contacts wear.");
        }
    }
    ow_judge_also(v->text, sizeof v->text, ", first at %s.", ow_judge_words(work, first_s, OW_Q_TIME).text);
}

static void judge_coolant(OwJudgeWork *work) {
    const OwRecord *record = work->record;
    OwAnswer *v = ow_judge_add(work, OW_ANSWER_COOLANT, OW_Q_TEMPERATURE);
    v->trust = OW_TRUST_ASSUMED;
    v->basis = "lumped engine and coolant; told, not judged";
    double hot = 0.0;
    double open_s = -1.0;
    const double open_k = work->rig->engine.thermostat_open_k;
    for (int i = 0; i < record->sample_count; i++) {
        const OwSample *s = &record->samples[i];
        if (isfinite(s->coolant_k) && s->coolant_k > hot) {
            hot = s->coolant_k;
            v->time_s = s->time_s;
        }
        if (open_s < 0.0 && open_k > 0.0 && s->coolant_k >= open_k) {
            open_s = s->time_s;
        }
    }
    if (hot <= 0.0) {
        ow_judge_say(v->text, sizeof v->text, "Coolant temperature is unknown: nothing was sampled.");
        return;
    }
    ow_judge_tell(v, hot);
    ow_judge_say(v->text, sizeof v->text, "Coolant reaches %s",
                 ow_judge_words(work, hot, OW_Q_TEMPERATURE).text);
    if (open_s >= 0.0) {
        ow_judge_also(v->text, sizeof v->text, "; the engine thermostat opens from %s on.",
                      ow_judge_words(work, open_s, OW_Q_TIME).text);
    } else {
        ow_judge_also(v->text, sizeof v->text, "; the engine thermostat stays shut.");
    }
}

static void judge_tanks(OwJudgeWork *work) {
    const OwRecord *record = work->record;
    for (int p = 0; p < work->rig->part_count; p++) {
        if (work->rig->parts[p].kind != OW_PART_TANK) {
            continue;
        }
        OwAnswer *v = ow_judge_add(work, OW_ANSWER_TANK, OW_Q_TEMPERATURE);
        v->trust = OW_TRUST_PUBLISHED;
        v->basis = "heat balance of the tank; told, not judged";
        v->part = p;
        const OwPartSample *first = ow_judge_part_sample(work, 0, p);
        const OwPartSample *last = ow_judge_part_sample(work, record->sample_count - 1, p);
        if (first == NULL || last == NULL || !ow_judge_tell(v, last->out_k)) {
            ow_judge_say(v->text, sizeof v->text, "%s is unknown: nothing was sampled.",
                         ow_judge_part(work, p).text);
            continue;
        }
        ow_judge_say(v->text, sizeof v->text, "Oil drawn from %s: %s at key on, %s at the end.",
                     ow_judge_part(work, p).text, ow_judge_words(work, first->out_k, OW_Q_TEMPERATURE).text,
                     ow_judge_words(work, last->out_k, OW_Q_TEMPERATURE).text);
        for (int i = 0; i < record->event_count; i++) {
            if (record->events[i].kind == OW_EVENT_TANK_EMPTY &&
                (record->events[i].part == p || record->events[i].part < 0)) {
                v->grade = OW_GRADE_BAD;
                v->time_s = record->events[i].time_s;
                ow_judge_say(v->text, sizeof v->text, "%s is empty at %s.", ow_judge_part(work, p).text,
                             ow_judge_words(work, v->time_s, OW_Q_TIME).text);
                ow_judge_say(v->mend, sizeof v->mend, "Start with more fuel in it, or lower the pick-up.");
                break;
            }
        }
    }
}

/// With two fuels: what the pump inlet holds when the driver stops, cold-soaked, must be thin enough to start
/// on.
static void judge_purge(OwJudgeWork *work) {
    const OwRecord *record = work->record;
    if (work->rig->fluid_count < 2 || work->first_run < 0) {
        return;
    }
    int at = work->last_run;
    OwAnswer *v = ow_judge_add(work, OW_ANSWER_PURGE, OW_Q_KINEMATIC_VISCOSITY);
    v->trust = OW_TRUST_PRACTICE;
    v->basis = "blend by Franco & Nguyen 2011 at the soak temperature; limit: common practice, no source";
    const OwSample *s = &record->samples[at];
    const double soak_k = record->samples[0].inlet_k;
    const double thick = ow_judge_kinematic(work, soak_k, s->inlet_share);
    const double limit = work->rig->limits.start_kinematic_m2_s;
    v->time_s = s->time_s;
    if (thick <= 0.0 || !(limit > 0.0)) {
        ow_judge_say(v->text, sizeof v->text, "When the engine stops the pump inlet holds %s of %s.",
                     ow_judge_percent(s->inlet_share).text, work->rig->fluid_name[1]);
        return;
    }
    ow_judge_hold_below(v, thick, limit, 0.1 * limit);
    ow_judge_say(v->text, sizeof v->text,
                 "When the engine stops the pump inlet holds %s of '%.24s': %s at %s next time without heat, "
                 "limit %s.",
                 ow_judge_percent(s->inlet_share).text, work->rig->fluid_name[1],
                 ow_judge_words(work, thick, OW_Q_KINEMATIC_VISCOSITY).text,
                 ow_judge_words(work, soak_k, OW_Q_TEMPERATURE).text,
                 ow_judge_words(work, limit, OW_Q_KINEMATIC_VISCOSITY).text);
    if (v->grade == OW_GRADE_BAD) {
        v->grade = OW_GRADE_TIGHT; // the run may well have been stopped in the middle of the drive, and
                                   // heaters may help
        ow_judge_say(v->mend, sizeof v->mend, "Change back to the thin fuel earlier before the stop.");
    }
}

void ow_judge_support(OwJudgeWork *work) {
    judge_battery(work);
    judge_crank_volts(work);
    judge_thermostat(work);
    judge_coolant(work);
    judge_tanks(work);
    judge_purge(work);
}
