// SPDX-License-Identifier: GPL-3.0-or-later
// Checks of what is no circuit: the thick cables as they stand in the file, loads made for other volts, and a
// battery too weak to open its fuses.
#include "power/schedule.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

// A load rated for less than this share of the system's volts takes so much more that it burns; one rated for
// more than the other share hardly works. Elements are made for 10.5 to 14 V of 12 (common practice, no
// source); both shares are assumed from that.
#define VOLTS_LEAST 0.75
#define VOLTS_MOST 1.4
// What a cable of the starter's way may lose while cranking, of the system's volts: common practice.
#define CRANK_DROP_SHARE 0.04

/// A thick cable and what it is held against.
typedef struct OwCableTask {
    const char *name, *key; ///< key of its size in the file
    const OwCableSpec *cable;
    double amps, allowed_v;
    bool is_cranked; ///< half a minute of cranking, else for ever
    OwPlace place;
} OwCableTask;

static double hottest(const OwPower *power, const OwCableTask *t, double area_m2) {
    const OwWirePlace place = ow_power_place(&power->spec, t->place);
    return t->is_cranked ? ow_power_cranked_k(power, area_m2) : ow_wire_steady_k(area_m2, t->amps, &place);
}

static double lost(const OwCableTask *t, double area_m2, double conductor_k) {
    return t->amps * (t->cable->length_m * ow_wire_ohm_m(area_m2, conductor_k) + t->cable->joint_ohm);
}

/// Joints that alone lose more than is allowed: no cable betters them.
static bool has_bad_joints(const OwCableTask *t) {
    return t->amps * t->cable->joint_ohm > t->allowed_v;
}

/// Thinnest size that stays cool enough and loses little enough, bad joints left aside; 0 when none does.
static double least_area(const OwPower *power, const OwCableTask *t) {
    double areas[32];
    const int count = ow_wire_sizes(power->spec.has_us_sizes, areas, 32);
    for (int i = 0; i < count; i++) {
        const double hot = hottest(power, t, areas[i]);
        if (hot <= power->spec.insulation_k &&
            (has_bad_joints(t) || lost(t, areas[i], hot) <= t->allowed_v)) {
            return areas[i];
        }
    }
    return 0.0;
}

static void check_cable(const OwPower *power, const OwCableTask *t, OwSchedule *s, OwFaults *faults) {
    const double area = t->cable->area_m2, hot = hottest(power, t, area), drop = lost(t, area, hot);
    const double limit_k = power->spec.insulation_k;
    char message[200], size[24], at[32], stands[32];
    const bool is_cool = hot <= limit_k + 0.5, is_low = drop <= t->allowed_v * 1.001;
    if (is_cool && is_low) {
        return;
    }
    s->cables_ok = false;
    ow_wire_text(area, power->spec.has_us_sizes, size, sizeof size);
    if (!is_cool) {
        (void)snprintf(message, sizeof message,
                       "the %s of %s would reach %s with %.0f A, its insulation stands %s", t->name, size,
                       ow_power_degrees(power, hot, at, sizeof at), t->amps,
                       ow_power_degrees(power, limit_k, stands, sizeof stands));
    } else {
        (void)snprintf(message, sizeof message, "the %s loses %.2f V of %.0f A, %.2f V are allowed", t->name,
                       drop, t->amps, t->allowed_v);
    }
    const double least = least_area(power, t);
    const char *remedy =
        has_bad_joints(t) ? "clean, tight joints at both its ends" : "a thicker or shorter cable";
    if (has_bad_joints(t) && least > area) {
        remedy = "a thicker cable, and clean, tight joints at both its ends";
    }
    const size_t fault = ow_power_say(faults, NULL, message, remedy);
    if (least > area) {
        ow_power_mend(s, fault, -1, t->key, OW_Q_AREA, least);
    }
}

void ow_power_check_cables(const OwPower *power, OwSchedule *s, OwFaults *faults) {
    const OwElectricSpec *spec = &power->spec;
    const double all = power->main_sizing.running_a, fixed_v = OW_POWER_MAIN_DROP * spec->system_v,
                 crank_v = CRANK_DROP_SHARE * spec->system_v;
    const OwCableTask tasks[] = {
        {"main cable", "cables/main/size", &spec->main, all, fixed_v, false, spec->battery.place},
        {"charging cable", "cables/charging/size", &spec->charge, spec->alternator.rated_a, fixed_v, false,
         OW_PLACE_ENGINE_BAY},
        {"body earth", "cables/body earth/size", &spec->body_earth, all, fixed_v, false, OW_PLACE_ENGINE_BAY},
        {"engine earth", "cables/engine earth/size", &spec->engine_earth, spec->crank_a, crank_v, true,
         OW_PLACE_ENGINE_BAY},
        {"starter cable", "cables/starter/size", &spec->starter, spec->crank_a, crank_v, true,
         OW_PLACE_ENGINE_BAY},
    };
    for (size_t i = 0; i < sizeof tasks / sizeof tasks[0]; i++) {
        const bool is_there = i != 1 || spec->alternator.is_fitted;
        if (is_there && !(i == 0 && !power->main_sizing.guards)) { // that has its own words
            check_cable(power, &tasks[i], s, faults);
        }
    }
}

bool ow_power_volts_fit(const OwElectricSpec *spec, const OwCircuitSpec *c) {
    return c->load == OW_LOAD_STARTER || c->rated_v >= VOLTS_LEAST * spec->system_v;
}

void ow_power_check_volts(const OwPower *power, const OwCircuitSpec *c, OwFaults *faults) {
    const double share = power->spec.system_v / c->rated_v;
    char message[200];
    if (!ow_power_volts_fit(&power->spec, c)) {
        (void)snprintf(message, sizeof message,
                       "made for %.3g V it stands on %.0f V: %.1f times its current, it burns out",
                       c->rated_v, power->spec.system_v, ow_power_running_a(&power->spec, c) / c->rated_a);
        if (c->load == OW_LOAD_PUMP || c->load == OW_LOAD_VALVE) {
            (void)snprintf(message, sizeof message, "made for %.3g V it stands on %.0f V: it burns out",
                           c->rated_v, power->spec.system_v);
        } else if (c->load == OW_LOAD_HEATER || c->load == OW_LOAD_GLOW) {
            (void)snprintf(message, sizeof message,
                           "made for %.3g V it stands on %.0f V: %.1f times its watts, it burns out",
                           c->rated_v, power->spec.system_v, share * share);
        }
        ow_power_say(faults, c, message,
                     "a part for the system's volts, two equal ones in series, or its `rated voltage` if "
                     "only that is wrong");
    } else if (c->rated_v > VOLTS_MOST * power->spec.system_v && c->load != OW_LOAD_STARTER) {
        (void)snprintf(message, sizeof message, "made for %.3g V it stands on %.0f V: it hardly works",
                       c->rated_v, power->spec.system_v);
        ow_power_say(faults, c, message, "a part for the system's volts");
    }
}

void ow_power_check_weak(const OwPower *power, OwFaults *faults) {
    const OwElectricSpec *spec = &power->spec;
    const double main_a = power->main_sizing.short_far_a;
    char list[120] = "", message[240];
    size_t used = 0;
    if (!spec->main.has_no_fuse &&
        isinf(ow_fuse_most_s(ow_power_main_fuse(spec), spec->main.fuse_a, main_a))) {
        used = (size_t)snprintf(list, sizeof list, "the main fuse");
    }
    for (int i = 0; i < spec->circuit_count && used < sizeof list; i++) {
        const OwCircuitSpec *c = &spec->circuits[i];
        if (c->load != OW_LOAD_STARTER && !c->has_no_fuse &&
            isinf(ow_fuse_most_s(ow_fuse_type(c->fuse_a), c->fuse_a, power->sizing[i].short_far_a))) {
            used += (size_t)snprintf(list + used, sizeof list - used, "%sF%d", used > 0 ? ", " : "", i + 1);
        }
    }
    if (used > 0) {
        (void)snprintf(message, sizeof message,
                       "cold and half full this battery gives %.0f A into a short: too little to open %s",
                       main_a, list);
        ow_power_say(faults, NULL, message, "a sound battery; this one feeds a short until it is flat");
    }
}
