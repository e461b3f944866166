// SPDX-License-Identifier: GPL-3.0-or-later
// The change-over and the purge as a record shows them.
#include "oilwright/two_tank.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "judge/bleed.h"
#include "judge/work.h"

#define MIXED_SHARE 0.01 // of the tank in one trip; ten trips on a filling stay under a tenth. Assumed.
#define PURGE_RESERVE_S 30.0

double ow_two_tank_trip(double fixed_s, double share) {
    return share < 1.0 ? fmax(fixed_s, 0.0) / (1.0 - fmax(share, 0.0)) : INFINITY;
}

typedef struct OwWords {
    char text[48];
} OwWords;

static OwWords say(const OwTwoTankStudy *s, double si, OwQuantity quantity) {
    OwWords w;
    ow_units_write(si, quantity, s->display, w.text, sizeof w.text);
    return w;
}

static OwWords far(const OwTwoTankStudy *s, double metres) {
    OwWords w;
    const bool is_us = s->display == OW_DISPLAY_US;
    snprintf(w.text, sizeof w.text, "%.3g %s", metres / (is_us ? 1609.344 : 1000.0), is_us ? "miles" : "km");
    return w;
}

/// Share of the fluid it changes to.
static double other_share(const OwTwoTankStudy *s, double share) {
    return s->other_fluid == 1 ? share : 1.0 - share;
}

static void find_valve(OwTwoTankStudy *s, const OwRecord *record) {
    int path[OW_BLEED_PATH];
    int count = ow_plan_path(record->plan, path, OW_BLEED_PATH);
    count = count > OW_BLEED_PATH ? OW_BLEED_PATH : count;
    s->valve = -1;
    s->change_s = s->purge_s = -1.0;
    for (int e = 0; e < record->event_count; e++) {
        const OwEvent *event = &record->events[e];
        if (event->kind != OW_EVENT_VALVE) {
            continue;
        }
        bool is_supply = false;
        for (int i = 0; i < count; i++) {
            is_supply |= path[i] == event->part;
        }
        if (!is_supply || (s->valve >= 0 && event->part != s->valve)) {
            continue;
        }
        s->valve = event->part;
        const bool is_start = (int)event->value == s->rig->parts[event->part].as.valve.start_position;
        if (!is_start && s->change_s < 0.0) {
            s->change_s = event->time_s;
        } else if (is_start && s->change_s >= 0.0) {
            s->purge_s = event->time_s;
        }
    }
    for (int i = 0; i < count && s->valve < 0; i++) {
        if (s->rig->parts[path[i]].kind == OW_PART_VALVE) {
            s->valve = path[i];
        }
    }
    bool is_behind = false;
    for (int i = 0; i < count; i++) {
        const OwPart *part = &s->rig->parts[path[i]];
        if (is_behind) {
            s->line_m3 += ow_bleed_volume(part);
        }
        is_behind |= path[i] == s->valve;
        if (part->kind == OW_PART_INJECTION_PUMP) {
            s->gallery_m3 = part->as.injection_pump.oil_volume_m3;
        }
    }
}

static int pump_of(const OwRig *rig) {
    for (int p = 0; p < rig->part_count; p++) {
        if (rig->parts[p].kind == OW_PART_INJECTION_PUMP) {
            return p;
        }
    }
    return 0;
}

static void follow(OwTwoTankStudy *s, const OwRecord *record) {
    const int pump = pump_of(s->rig);
    s->inlet_s = s->gallery_s = s->purged_s = -1.0;
    s->worst_s = -1.0;
    double passed_change = 0.0, passed_purge = 0.0;
    for (int i = 0; i < record->sample_count; i++) {
        const OwSample *a = &record->samples[i];
        const OwPartSample *at = &record->parts[(size_t)i * (size_t)record->part_count + (size_t)pump];
        const double span_s = i + 1 < record->sample_count ? record->samples[i + 1].time_s - a->time_s : 0.0;
        const double inlet = other_share(s, a->inlet_share), gallery = other_share(s, at->share);
        const double flow = fabs(at->flow_m3_s) * span_s;
        const double burned = a->fuel_burned_m3_s * span_s;
        s->other_burned_m3 += burned * gallery;
        s->start_burned_m3 += burned * (1.0 - gallery);
        s->left_share = gallery;
        const bool is_changed = s->change_s >= 0.0 && a->time_s >= s->change_s;
        const bool is_purging = s->purge_s >= 0.0 && a->time_s >= s->purge_s;
        if (is_changed && !is_purging) {
            if (s->inlet_s < 0.0 && inlet >= 1.0 - OW_TWO_TANK_DONE) {
                s->inlet_s = a->time_s;
            }
            if (s->gallery_s < 0.0 && gallery >= 1.0 - OW_TWO_TANK_DONE) {
                s->gallery_s = a->time_s;
                s->change_m3 = passed_change;
            }
            passed_change += flow;
            if (a->inlet_kinematic_m2_s > s->worst_m2_s) {
                s->worst_m2_s = a->inlet_kinematic_m2_s;
                s->worst_s = a->time_s;
            }
        }
        if (is_purging) {
            if (s->purged_s < 0.0 && gallery <= OW_TWO_TANK_DONE) {
                s->purged_s = a->time_s;
                s->purged_m3 = passed_purge;
            }
            passed_purge += flow;
        }
    }
}

static void mixed(OwTwoTankStudy *s, const OwRecord *record) {
    const OwPartSample *last =
        &record->parts[(size_t)(record->sample_count - 1) * (size_t)record->part_count];
    s->tank[0] = s->tank[1] = -1;
    for (int p = 0; p < s->rig->part_count; p++) {
        const OwPart *part = &s->rig->parts[p];
        if (part->kind != OW_PART_TANK) {
            continue;
        }
        const int fluid = strcmp(part->as.tank.fluid, s->rig->fluid_name[1]) == 0 ? 1 : 0;
        const double share = fluid == 0 ? last[p].tank_share : 1.0 - last[p].tank_share;
        const double foreign = share > 1e-6 ? share : 0.0; // below that it is the reckoning's own dust
        s->tank[fluid] = p;
        s->mixed_m3[fluid] = fmax(foreign, 0.0) * last[p].tank_m3;
    }
}

/// Metres driven until a time after the start; past the record at its mean speed.
static double driven(const OwRecord *record, double after_start_s) {
    double metres = 0.0;
    for (int i = 0; i + 1 < record->sample_count; i++) {
        const double from = record->samples[i].time_s, to = record->samples[i + 1].time_s;
        const double until = record->start_s + after_start_s;
        if (from >= record->start_s && from < until) {
            metres += record->samples[i].speed_m_s * (fmin(to, until) - from);
        }
    }
    const double length = record->end_s - record->start_s;
    return after_start_s > length && length > 0.0 ? metres * after_start_s / length : metres;
}

static OwFinding *add(OwTwoTankStudy *s, const char *key, const char *label, OwQuantity quantity, int part) {
    const int last = OW_TWO_TANK_FINDINGS - 1;
    OwFinding *f = &s->findings[s->finding_count <= last ? s->finding_count++ : last];
    *f = (OwFinding){.key = key,
                     .label = label,
                     .grade = OW_GRADE_UNKNOWN,
                     .trust = OW_TRUST_PRACTICE,
                     .basis = "the record's shares: stirred cells along the lines",
                     .quantity = quantity,
                     .part = part};
    return f;
}

static const char *fluid_name(const OwTwoTankStudy *s, int fluid) {
    return s->rig->fluid_name[fluid];
}

static void tell_change(OwTwoTankStudy *s) {
    const OwLimits *limits = &s->rig->limits;
    OwFinding *f = add(s, "change_over", "change-over", OW_Q_TIME, s->valve);
    if (s->change_s < 0.0) {
        f->grade = OW_GRADE_IMPOSSIBLE;
        snprintf(f->text, sizeof f->text, "The supply never changes over on this drive.");
        snprintf(f->mend, sizeof f->mend,
                 "Drive farther, heat more, or lower the temperature of the change-over rule.");
        return;
    }
    ow_finding_tell(f, s->change_s - s->start_s);
    snprintf(f->text, sizeof f->text,
             "'%.30s' changes over %s after the start; %.24s fills the pump %s later.",
             s->rig->parts[s->valve].name, say(s, s->change_s - s->start_s, OW_Q_TIME).text,
             fluid_name(s, s->other_fluid),
             s->gallery_s >= 0.0 ? say(s, s->gallery_s - s->change_s, OW_Q_TIME).text : "not at all, even");
    f = add(s, "change_viscosity", "viscosity after the change-over", OW_Q_KINEMATIC_VISCOSITY, s->valve);
    ow_finding_hold_below(f, s->worst_m2_s, limits->run_kinematic_m2_s, 0.1 * limits->run_kinematic_m2_s);
    f->basis = "limit: common practice, no source; blend by Franco & Nguyen 2011";
    snprintf(f->text, sizeof f->text, "After it at most %s at the injection pump (at %s), limit %s.",
             say(s, s->worst_m2_s, OW_Q_KINEMATIC_VISCOSITY).text, say(s, s->worst_s, OW_Q_TIME).text,
             say(s, limits->run_kinematic_m2_s, OW_Q_KINEMATIC_VISCOSITY).text);
    if (ow_judge_fails(f->grade)) {
        snprintf(f->mend, sizeof f->mend,
                 "Change over later, or heat the line behind the heater: what stood there comes first.");
    }
    if (s->gallery_s >= 0.0) {
        f = add(s, "change_volume", "volume to change over", OW_Q_VOLUME, s->valve);
        ow_finding_tell(f, s->change_m3);
        snprintf(f->text, sizeof f->text,
                 "%s pass the pump until 95 %% has changed (what loops comes back); lines and pump behind "
                 "the valve hold %s.",
                 say(s, s->change_m3, OW_Q_VOLUME).text,
                 say(s, s->line_m3 + s->gallery_m3, OW_Q_VOLUME).text);
    }
}

static void tell_purge(OwTwoTankStudy *s) {
    OwFinding *f = add(s, "purge_time", "purge", OW_Q_TIME, s->valve);
    if (s->change_s < 0.0) {
        f->grade = OW_GRADE_GOOD;
        snprintf(f->text, sizeof f->text, "Nothing to purge: it never changed over.");
        return;
    }
    if (s->purge_s < 0.0) {
        f->grade = OW_GRADE_BAD;
        snprintf(f->text, sizeof f->text, "It is never purged: the pump stands full of %.24s.",
                 fluid_name(s, s->other_fluid));
        snprintf(f->mend, sizeof f->mend, "Add a control: supply valve back some minutes before stop.");
        return;
    }
    const double given = s->end_s - s->purge_s;
    if (s->purged_s < 0.0) {
        ow_finding_hold_below(f, given, given, 0.0);
        f->grade = OW_GRADE_BAD;
        snprintf(f->text, sizeof f->text,
                 "%s before the stop are not enough: %.0f %% of %.24s is still in the pump.",
                 say(s, given, OW_Q_TIME).text, 100.0 * s->left_share, fluid_name(s, s->other_fluid));
        snprintf(f->mend, sizeof f->mend,
                 "Purge earlier, shorten the lines behind the valve, or lead the return away meanwhile.");
        return;
    }
    ow_finding_hold_below(f, s->purged_s - s->purge_s, given, PURGE_RESERVE_S);
    snprintf(f->text, sizeof f->text,
             "The purge takes %s and %s of %.24s; %s are given (%.0f %% left at the stop).",
             say(s, s->purged_s - s->purge_s, OW_Q_TIME).text, say(s, s->purged_m3, OW_Q_VOLUME).text,
             fluid_name(s, s->start_fluid), say(s, given, OW_Q_TIME).text, 100.0 * s->left_share);
}

static void tell_mixed(OwTwoTankStudy *s) {
    for (int fluid = 0; fluid < 2; fluid++) {
        if (s->tank[fluid] < 0) {
            continue;
        }
        const OwPart *tank = &s->rig->parts[s->tank[fluid]];
        OwFinding *f = add(s, fluid == s->start_fluid ? "mixed_start_tank" : "mixed_other_tank",
                           "mixing by the return", OW_Q_VOLUME, s->tank[fluid]);
        f->trust = OW_TRUST_ASSUMED;
        f->basis = "shares of the tanks at the end; 1 % of a tank in one trip: assumed";
        const double limit = MIXED_SHARE * tank->as.tank.volume_m3;
        if (fluid == s->start_fluid) {
            ow_finding_hold_below(f, s->mixed_m3[fluid], limit, 0.5 * limit);
        } else {
            ow_finding_tell(f, s->mixed_m3[fluid]);
        }
        snprintf(f->text, sizeof f->text, "One trip brings %s of %.24s into '%.30s'%s%s.",
                 say(s, s->mixed_m3[fluid], OW_Q_VOLUME).text, fluid_name(s, 1 - fluid), tank->name,
                 fluid == s->start_fluid ? ", allowed " : "",
                 fluid == s->start_fluid ? say(s, limit, OW_Q_VOLUME).text : "");
        if (ow_judge_fails(f->grade)) {
            snprintf(f->mend, sizeof f->mend,
                     "Let the return valve follow later than the supply valve when purging.");
        }
    }
}

/// Valves that do not move together may leave the return no way for a while.
static void tell_pressure(OwTwoTankStudy *s, const OwRecord *record) {
    double most = 0.0, at_s = 0.0, over_s = 0.0;
    int part = -1;
    for (int i = 0; i < record->sample_count; i++) {
        bool is_over = false;
        for (int p = 0; p < record->part_count; p++) {
            const OwPartSample *x = &record->parts[(size_t)i * (size_t)record->part_count + (size_t)p];
            const double pa = fmax(x->in_pa, x->out_pa);
            if (s->rig->parts[p].kind != OW_PART_RUN) {
                continue;
            }
            is_over |= pa > OW_JUDGE_HOSE_PA;
            if (pa > most) {
                most = pa;
                at_s = record->samples[i].time_s;
                part = p;
            }
        }
        if (is_over && i + 1 < record->sample_count) {
            over_s += record->samples[i + 1].time_s - record->samples[i].time_s;
        }
    }
    OwFinding *f = add(s, "hose_pressure", "highest pressure in a hose", OW_Q_PRESSURE, part);
    f->trust = OW_TRUST_ASSUMED;
    f->basis = "working pressure of low-pressure fuel hose, SAE J30 R7, from memory";
    ow_finding_hold_below(f, most, OW_JUDGE_HOSE_PA, 0.2 * OW_JUDGE_HOSE_PA);
    snprintf(f->text, sizeof f->text,
             "Highest pressure in a hose: %s in '%.30s' at %s, a fuel hose works up to %s",
             say(s, most, OW_Q_PRESSURE).text, part >= 0 ? s->rig->parts[part].name : "none",
             say(s, at_s, OW_Q_TIME).text, say(s, OW_JUDGE_HOSE_PA, OW_Q_PRESSURE).text);
    if (ow_judge_fails(f->grade)) {
        const size_t used = strlen(f->text);
        snprintf(f->text + used, sizeof f->text - used, "; over it for %s.", say(s, over_s, OW_Q_TIME).text);
        snprintf(f->mend, sizeof f->mend,
                 "The return has no way meanwhile: move both valves together, or give it a relief valve to a "
                 "tank.");
    } else {
        const size_t used = strlen(f->text);
        snprintf(f->text + used, sizeof f->text - used, ".");
    }
}

static void tell_trip(OwTwoTankStudy *s, const OwRecord *record) {
    OwFinding *f = add(s, "trip", "shortest trip worth the change-over", OW_Q_TIME, -1);
    f->trust = OW_TRUST_ASSUMED;
    f->basis = "even burning; worth it when half of the fuel is oil: assumed";
    if (s->change_s < 0.0 || s->purge_s < 0.0) {
        snprintf(f->text, sizeof f->text, "Unknown: no change-over and purge on this drive.");
        return;
    }
    s->shortest_s = (s->change_s - s->start_s) + (s->end_s - s->purge_s);
    s->worth_s = ow_two_tank_trip(s->shortest_s, 0.5);
    s->shortest_m = driven(record, s->shortest_s);
    s->worth_m = driven(record, s->worth_s);
    const double length = s->end_s - s->start_s;
    ow_finding_hold_above(f, length, s->worth_s, 0.1 * s->worth_s);
    snprintf(f->text, sizeof f->text,
             "Under %s (%s) no oil is burned at all; half the fuel is oil from %s (%s) on. This drive: %s, "
             "%.0f %% oil.",
             say(s, s->shortest_s, OW_Q_TIME).text, far(s, s->shortest_m).text,
             say(s, s->worth_s, OW_Q_TIME).text, far(s, s->worth_m).text, say(s, length, OW_Q_TIME).text,
             100.0 * s->other_burned_m3 / fmax(s->other_burned_m3 + s->start_burned_m3, 1e-12));
    if (ow_judge_fails(f->grade)) {
        snprintf(f->mend, sizeof f->mend, "On shorter trips stay on %.24s, or heat sooner.",
                 fluid_name(s, s->start_fluid));
    }
}

OwStatus ow_two_tank_create(const OwRecord *record, OwDisplay display, OwTwoTankStudy *study) {
    if (record == NULL || study == NULL || record->rig == NULL || record->plan == NULL) {
        return OW_ERROR_USE;
    }
    *study = (OwTwoTankStudy){
        .rig = record->rig, .display = display, .start_s = record->start_s, .end_s = record->end_s};
    if (record->rig->fluid_count < 2 || record->sample_count < 2) {
        return OW_ERROR_VALUE;
    }
    study->start_fluid = record->samples[0].inlet_share > 0.5 ? 1 : 0;
    study->other_fluid = 1 - study->start_fluid;
    find_valve(study, record);
    if (!record->has_started) {
        OwFinding *f = add(study, "change_over", "change-over", OW_Q_TIME, study->valve);
        f->grade = OW_GRADE_IMPOSSIBLE;
        snprintf(f->text, sizeof f->text, "The engine does not start, so there is no change-over.");
        snprintf(study->headline, sizeof study->headline, "%s", f->text);
        return OW_OK;
    }
    follow(study, record);
    mixed(study, record);
    tell_change(study);
    tell_purge(study);
    tell_mixed(study);
    tell_pressure(study, record);
    tell_trip(study, record);
    if (study->change_s < 0.0) {
        snprintf(study->headline, sizeof study->headline, "%s", study->findings[0].text);
    } else {
        const bool is_purged = study->purged_s >= 0.0;
        snprintf(study->headline, sizeof study->headline,
                 "Changes over %s after the start%s; worth it on trips from %s on.",
                 say(study, study->change_s - study->start_s, OW_Q_TIME).text,
                 is_purged ? " and is purged in time" : ", but is not purged in time",
                 study->purge_s >= 0.0 ? say(study, study->worth_s, OW_Q_TIME).text : "unknown length");
    }
    return OW_OK;
}
