// SPDX-License-Identifier: GPL-3.0-or-later
// Chooses every wire and fuse: drop, heat in its place, and a fuse that opens before the wire is harmed.
#include "power/power.h"

#include <math.h>
#include <stdio.h>

#define FUSE_LOADING 0.8      // a fuse carries four fifths of its rating for long, common practice
#define LEAST_M2 0.75e-6      // thinner wires break by hand, common practice
#define BLADE_BREAKS_A 1000.0 // what an ISO 8820-3 fuse must break
#define FAR_OPENS_S                                                                                          \
    5.0 // a short at the far end must open the fuse within this time (IEC 60364-4-43 limits its
        // adiabatic rule to 5 s; here a design aim)

OwWirePlace ow_power_place(const OwElectricSpec *spec, OwPlace place) {
    return (OwWirePlace){spec->place_k[place], spec->insulation_k, spec->bundle};
}

double ow_power_running_a(const OwElectricSpec *spec, const OwCircuitSpec *circuit) {
    const double volts = spec->alternator.is_fitted ? spec->alternator.set_v : spec->battery.rated_v;
    switch (circuit->load) {
    case OW_LOAD_PUMP:
    case OW_LOAD_STARTER:
        return circuit->rated_a;
    case OW_LOAD_LAMP:
        return circuit->rated_a * pow(volts / circuit->rated_v, 0.55);
    default:
        return circuit->rated_a * volts / circuit->rated_v;
    }
}

bool ow_power_is_preheat(const OwCircuitSpec *circuit) {
    return circuit->feed != OW_FEED_START && circuit->load != OW_LOAD_STARTER;
}

bool ow_power_is_running(const OwCircuitSpec *circuit) {
    return ow_power_is_preheat(circuit) && circuit->feed != OW_FEED_GLOW;
}

/// Hardest current the sources can push into a short behind a resistance: a warm, full battery and the
/// alternator's best.
static double hardest_short(const OwElectricSpec *spec, double ohm) {
    const OwSource s = ow_battery_source(&spec->battery, 1.0, 298.15);
    const double extra = spec->alternator.is_fitted ? 1.3 * spec->alternator.rated_a : 0.0;
    return s.rest_v / (s.give_ohm + ohm) + extra;
}

/// Weakest short: cold, half-empty, no alternator.
static double weakest_short(const OwElectricSpec *spec, double ohm) {
    const OwSource s = ow_battery_source(&spec->battery, 0.5, 263.15);
    return s.rest_v / (s.give_ohm + ohm);
}

OwFuseType ow_power_main_fuse(const OwElectricSpec *spec) {
    // An ISO 8820-3 fuse need break 1000 A only; beside a battery more can flow, so a bolt-down one stands
    // there.
    return hardest_short(spec, 0.0) > BLADE_BREAKS_A ? ow_fuse_bolted(spec->main.fuse_a)
                                                     : ow_fuse_type(spec->main.fuse_a);
}

/// True when a fuse stands all circuits switched on at once, each first current falling in its own time: the
/// mean square of R + sum E e^(-t/tau) over the first t seconds may not open it within t at its quickest.
static bool stands_all(const OwElectricSpec *spec, const OwSizing *sizing, OwFuseType type, double rated_a) {
    double extra[OW_MAX_CIRCUITS], tau[OW_MAX_CIRCUITS], running = 0.0, longest = 1e-3, shortest = 1e9;
    int count = 0;
    for (int i = 0; i < spec->circuit_count; i++) {
        if (!ow_power_is_preheat(&spec->circuits[i])) {
            continue;
        }
        running += sizing[i].running_a;
        extra[count] = sizing[i].first_a - sizing[i].running_a;
        tau[count] = fmax(spec->circuits[i].inrush_s, 1e-3);
        if (extra[count] > 0.0) {
            longest = fmax(longest, tau[count]);
            shortest = fmin(shortest, tau[count]);
            count++;
        }
    }
    if (!(running <= rated_a)) {
        return false;
    }
    for (double t = 1e-3 * shortest; t < 40.0 * longest; t *= 1.15) {
        double mean_square = running * running;
        for (int i = 0; i < count; i++) {
            mean_square += 2.0 * running * extra[i] * tau[i] / t * (1.0 - exp(-t / tau[i]));
            for (int j = 0; j < count; j++) {
                const double both = tau[i] * tau[j] / (tau[i] + tau[j]);
                mean_square += extra[i] * extra[j] * both / t * (1.0 - exp(-t / both));
            }
        }
        if (ow_fuse_least_s(type, rated_a, sqrt(mean_square)) <= t) {
            return false;
        }
    }
    return true;
}

/// Least rating that carries the load and stands its inrush.
static double choose_fuse(const OwSizing *sizing, double inrush_s) {
    double fuse = ow_fuse_next(sizing->running_a / FUSE_LOADING);
    while (fuse > 0.0 &&
           !ow_fuse_stands(ow_fuse_type(fuse), fuse, sizing->first_a, sizing->running_a, inrush_s)) {
        fuse = ow_fuse_next(fuse * 1.001);
    }
    return fuse;
}

/// What one wire must do.
typedef struct OwTask {
    double running_a, drop_a;   ///< amps for heat, amps for drop
    double length_m, joint_ohm; ///< all the way there and back
    double allowed_v, longest_s;
    OwFuseType fuse;
    double fuse_a, short_a, source_ohm;
    OwWirePlace place;
} OwTask;

/// Conductor at the end of the longest time on: the steady temperature when there is no end.
static double hottest(const OwTask *task, double area_m2) {
    const double steady = ow_wire_steady_k(area_m2, task->running_a, &task->place), air = task->place.air_k;
    if (!(task->longest_s > 0.0) ||
        ow_wire_time_to(area_m2, task->running_a, air, steady - 0.5, &task->place) < task->longest_s) {
        return steady;
    }
    double low = air, high = steady;
    for (int i = 0; i < 40; i++) {
        const double mid = 0.5 * (low + high);
        if (ow_wire_time_to(area_m2, task->running_a, air, mid, &task->place) < task->longest_s) {
            low = mid;
        } else {
            high = mid;
        }
    }
    return 0.5 * (low + high);
}

/// Never harmed when it stays on by a fault, never over its rating in ordinary use.
static bool heat_passes(const OwTask *task, double area_m2) {
    return hottest(task, area_m2) <= task->place.insulation_k + 0.01 &&
           ow_wire_steady_k(area_m2, task->running_a, &task->place) <=
               ow_wire_overload_k(task->place.insulation_k);
}

static double drop_of(const OwTask *task, double area_m2) {
    const double t = hottest(task, area_m2);
    return task->drop_a * (task->length_m * ow_wire_ohm_m(area_m2, t) + task->joint_ohm);
}

typedef enum OwTest { TEST_LEAST, TEST_DROP, TEST_HEAT, TEST_GUARD, TEST_FAR, TEST_PASSED } OwTest;

static OwTest first_failed(const OwElectricSpec *spec, const OwTask *task, double area_m2) {
    if (area_m2 < LEAST_M2 * 0.999) {
        return TEST_LEAST;
    }
    if (!heat_passes(task, area_m2)) {
        return TEST_HEAT;
    }
    if (!(task->fuse_a > 0.0) || !ow_fuse_guards(task->fuse, task->fuse_a, area_m2, task->running_a,
                                                 task->short_a, &task->place, NULL)) {
        return TEST_GUARD;
    }
    const double far =
        task->source_ohm + task->joint_ohm + task->length_m * ow_wire_ohm_m(area_m2, task->place.air_k);
    const double bare = task->source_ohm + task->joint_ohm; // what no wire can better is not its fault
    if (ow_fuse_most_s(task->fuse, task->fuse_a, weakest_short(spec, far)) > FAR_OPENS_S &&
        ow_fuse_most_s(task->fuse, task->fuse_a, weakest_short(spec, bare)) <= FAR_OPENS_S) {
        return TEST_FAR;
    }
    if (drop_of(task, area_m2) > task->allowed_v) {
        return TEST_DROP;
    }
    return TEST_PASSED;
}

static void say_why(OwTest thinner, const OwElectricSpec *spec, const OwTask *task, double thin_m2,
                    char *text, size_t size) {
    char name[24];
    ow_wire_text(thin_m2, spec->has_us_sizes, name, sizeof name);
    switch (thinner) {
    case TEST_LEAST:
        snprintf(text, size, "thinnest that stands handling");
        break;
    case TEST_HEAT:
        if (spec->has_us_sizes) {
            snprintf(text, size, "heat: %s would reach %.0f degF, insulation %.0f", name,
                     1.8 * hottest(task, thin_m2) - 459.67, 1.8 * task->place.insulation_k - 459.67);
        } else {
            snprintf(text, size, "heat: %s would reach %.0f degC, insulation %.0f", name,
                     hottest(task, thin_m2) - OW_ZERO_CELSIUS_K,
                     task->place.insulation_k - OW_ZERO_CELSIUS_K);
        }
        break;
    case TEST_GUARD:
        snprintf(text, size, "fuse: %s is harmed before %.3g A opens", name, task->fuse_a);
        break;
    case TEST_FAR:
        snprintf(text, size, "short at the end: through %s the fuse would take over %.0f s", name,
                 FAR_OPENS_S);
        break;
    case TEST_DROP:
        snprintf(text, size, "drop: %s would lose %.2f V of %.2f V allowed", name, drop_of(task, thin_m2),
                 task->allowed_v);
        break;
    case TEST_PASSED:
        text[0] = '\0';
        break;
    }
}

/// Thinnest size that passes every test; 0 when none does.
static double choose_wire(const OwElectricSpec *spec, const OwTask *task, char *reason, size_t size) {
    double areas[32];
    const int count = ow_wire_sizes(spec->has_us_sizes, areas, 32);
    OwTest thinner = TEST_LEAST;
    double thin = areas[0];
    for (int i = 0; i < count; i++) {
        const OwTest now = first_failed(spec, task, areas[i]);
        if (now == TEST_PASSED) {
            say_why(thinner, spec, task, thin, reason, size);
            return areas[i];
        }
        thinner = now;
        thin = areas[i];
    }
    return 0.0;
}

static void judge(const OwElectricSpec *spec, const OwTask *task, double area_m2, OwSizing *z) {
    z->short_a = task->short_a;
    z->short_far_a = weakest_short(spec, task->source_ohm + task->joint_ohm +
                                             task->length_m * ow_wire_ohm_m(area_m2, task->place.air_k));
    z->conductor_k = hottest(task, area_m2);
    z->drop_v = drop_of(task, area_m2);
    z->drop_ok = z->drop_v <= task->allowed_v * 1.0001;
    z->heat_ok = heat_passes(task, area_m2);
    z->guards = task->fuse_a > 0.0 && ow_fuse_guards(task->fuse, task->fuse_a, area_m2, task->running_a,
                                                     task->short_a, &task->place, NULL);
}

static void size_one(const OwElectricSpec *spec, const OwTask *task, double *area_m2, OwSizing *z) {
    z->is_found = true;
    if (z->is_given_area) {
        snprintf(z->wire_reason, sizeof z->wire_reason, "given in the rig file");
    } else {
        *area_m2 = choose_wire(spec, task, z->wire_reason, sizeof z->wire_reason);
        if (!(*area_m2 > 0.0)) {
            double areas[32];
            const int count = ow_wire_sizes(spec->has_us_sizes, areas, 32);
            *area_m2 = areas[count - 1];
            z->is_found = false;
            snprintf(z->wire_reason, sizeof z->wire_reason,
                     "no size passes: shorten the run, split the load or better the joints");
        }
    }
    judge(spec, task, *area_m2, z);
}

/// A cable without a fuse of its own (alternator, body earth): heat and drop alone.
static void size_plain(const OwElectricSpec *spec, OwCableSpec *cable, double amps) {
    if (cable->area_m2 > 0.0) {
        return;
    }
    const OwTask task = {.running_a = amps,
                         .drop_a = amps,
                         .length_m = fmax(cable->length_m, 0.05),
                         .joint_ohm = cable->joint_ohm,
                         .allowed_v = OW_POWER_MAIN_DROP * spec->system_v,
                         .place = ow_power_place(spec, OW_PLACE_ENGINE_BAY)};
    double areas[32];
    const int count = ow_wire_sizes(spec->has_us_sizes, areas, 32);
    for (int i = 0; i < count; i++) {
        cable->area_m2 = areas[i];
        if (areas[i] >= 6e-6 && heat_passes(&task, areas[i]) && drop_of(&task, areas[i]) <= task.allowed_v) {
            return;
        }
    }
}

static void size_main(OwElectricSpec *spec, const OwSizing *sizing, OwSizing *z) {
    double preheat = 0.0, running = 0.0, first = 0.0, largest = 0.0;
    for (int i = 0; i < spec->circuit_count; i++) {
        const OwCircuitSpec *c = &spec->circuits[i];
        preheat += ow_power_is_preheat(c) ? sizing[i].running_a : 0.0;
        running += ow_power_is_running(c) ? sizing[i].running_a : 0.0;
        first += ow_power_is_preheat(c) ? sizing[i].first_a : 0.0;
        largest = c->load == OW_LOAD_STARTER ? largest : fmax(largest, c->fuse_a);
    }
    z->is_given_area = spec->main.area_m2 > 0.0;
    z->is_given_fuse = spec->main.fuse_a > 0.0;
    z->running_a = fmax(fmax(preheat, running), 1.0);
    z->first_a = fmax(first, z->running_a);
    const bool is_bolted = hardest_short(spec, 0.0) > BLADE_BREAKS_A;
    if (!z->is_given_fuse) {
        spec->main.fuse_a =
            ow_fuse_next(fmax(z->running_a / FUSE_LOADING, is_bolted ? OW_FUSE_BOLT_LEAST_A : 0.0));
        while (spec->main.fuse_a > 0.0 &&
               (spec->main.fuse_a < 2.0 * largest || // so that the circuit's fuse opens first
                !stands_all(spec, sizing, ow_power_main_fuse(spec), spec->main.fuse_a))) {
            spec->main.fuse_a = ow_fuse_next(spec->main.fuse_a * 1.001);
        }
        if (!(spec->main.fuse_a > 0.0)) {
            spec->main.fuse_a = 500.0;
        }
    }
    const OwFuseType type = ow_power_main_fuse(spec);
    const bool is_least = is_bolted && spec->main.fuse_a <= OW_FUSE_BOLT_LEAST_A;
    snprintf(z->fuse_reason, sizeof z->fuse_reason, "%s",
             z->is_given_fuse ? "given in the rig file"
             : is_least  ? "the least bolt-down fuse: beside a battery a blade fuse need not break a short"
             : is_bolted ? "all loads at once, and twice the largest circuit fuse; bolt-down beside a battery"
                         : "all loads at once, and twice the largest circuit fuse");
    z->stands = stands_all(spec, sizing, type, spec->main.fuse_a);
    const OwTask task = {.running_a = z->running_a,
                         .drop_a = z->running_a,
                         .length_m = fmax(spec->main.length_m, 0.05),
                         .joint_ohm = spec->main.joint_ohm,
                         .allowed_v = OW_POWER_MAIN_DROP * spec->system_v,
                         .fuse = type,
                         .fuse_a = spec->main.fuse_a,
                         .short_a = hardest_short(spec, 0.0),
                         .place = ow_power_place(spec, spec->battery.place)};
    size_one(spec, &task, &spec->main.area_m2, z);
    z->guards = z->guards && !spec->main.has_no_fuse;
}

static void size_circuit(OwElectricSpec *spec, OwCircuitSpec *c, OwSizing *z) {
    const double main_ohm =
        spec->main.length_m * ow_wire_ohm_m(spec->main.area_m2, spec->place_k[spec->battery.place]) +
        spec->main.joint_ohm;
    const OwTask task = {.running_a = z->running_a,
                         .drop_a = c->rated_a,
                         .length_m = c->length_m + c->earth_length_m,
                         .joint_ohm = c->joint_ohm,
                         .allowed_v = spec->drop_share * spec->system_v,
                         .longest_s = c->longest_s,
                         .fuse = ow_fuse_type(c->fuse_a),
                         .fuse_a = c->fuse_a,
                         .short_a = hardest_short(spec, main_ohm + 0.5 * c->joint_ohm),
                         .source_ohm = main_ohm,
                         .place = ow_power_place(spec, c->place)};
    size_one(spec, &task, &c->area_m2, z);
    z->guards = z->guards && !c->has_no_fuse;
}

void ow_power_size(OwElectricSpec *spec, OwSizing *sizing, OwSizing *main_sizing) {
    for (int i = 0; i < spec->circuit_count; i++) {
        OwCircuitSpec *c = &spec->circuits[i];
        OwSizing *z = &sizing[i];
        *z = (OwSizing){.is_given_area = c->area_m2 > 0.0, .is_given_fuse = c->fuse_a > 0.0};
        z->running_a = ow_power_running_a(spec, c);
        z->first_a = z->running_a * c->cold_ratio;
        if (c->load == OW_LOAD_STARTER) {
            continue;
        }
        if (!z->is_given_fuse) {
            c->fuse_a = choose_fuse(z, c->inrush_s);
            const double by_load = ow_fuse_next(z->running_a / FUSE_LOADING);
            if (!(c->fuse_a > 0.0)) {
                c->fuse_a = 500.0;
            }
            if (c->fuse_a > by_load) {
                snprintf(z->fuse_reason, sizeof z->fuse_reason,
                         "inrush of %.3g A falling to %.3g A in %.3g s", z->first_a, z->running_a,
                         c->inrush_s);
            } else {
                snprintf(z->fuse_reason, sizeof z->fuse_reason, "load of %.3g A at four fifths of the rating",
                         z->running_a);
            }
        } else {
            snprintf(z->fuse_reason, sizeof z->fuse_reason, "given in the rig file");
        }
        z->stands = ow_fuse_stands(ow_fuse_type(c->fuse_a), c->fuse_a, z->first_a, z->running_a, c->inrush_s);
    }
    *main_sizing = (OwSizing){0};
    size_main(spec, sizing, main_sizing);
    size_plain(spec, &spec->charge, spec->alternator.is_fitted ? spec->alternator.rated_a : 10.0);
    size_plain(spec, &spec->body_earth, main_sizing->running_a);
    for (int i = 0; i < spec->circuit_count; i++) {
        if (spec->circuits[i].load != OW_LOAD_STARTER) {
            size_circuit(spec, &spec->circuits[i], &sizing[i]);
        } else {
            spec->circuits[i].area_m2 = spec->starter.area_m2;
            OwSizing *z = &sizing[i];
            z->drop_v =
                spec->crank_a * (spec->starter.length_m * ow_wire_ohm_m(spec->starter.area_m2, 293.15) +
                                 spec->starter.joint_ohm);
            z->is_found = z->drop_ok = z->heat_ok = true;
            z->conductor_k = spec->place_k[OW_PLACE_ENGINE_BAY];
            snprintf(z->wire_reason, sizeof z->wire_reason, "the vehicle's own starter cable");
            snprintf(z->fuse_reason, sizeof z->fuse_reason,
                     "none: starter cables are not fused, keep the cable short and guarded");
        }
    }
}
