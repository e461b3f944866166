// SPDX-License-Identifier: GPL-3.0-or-later
// Turns legs or a cycle into the profile: spans of speed, then samples with gears, then as few corners as the
// bounds allow.
#include "morning/drive.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include "morning/engine.h"

#define DRY_AIR_J_KGK 287.05
#define ROTATING_MASS 1.05     // wheels and engine turn too: 5 % more inertia. Common practice, no source
#define USUAL_M_S2 1.0         // speeding up and braking when a leg names no ramp. Common practice, no source
#define FOOT_S 0.5             // time over which pedal, grade and gear change. Common practice, no source
#define DWELL_S 1.0            // least time between gear changes
#define FAST_GEAR_RAD_S 157.08 // 1500 per minute
#define SHORT_REPORT_S 2.0     // shorter lapses of power are not worth a warning
#define STEP_S 0.1             // samples, and not more than SPAN_STEPS in a span
#define SPAN_STEPS 400
#define SETTLE_S 6.0 // a steady span is sampled this long, then it is steady

/// Part of the drive in which speed, grade and pedal change evenly.
typedef struct Span {
    double start_s, end_s, speed0, speed1, grade0, grade1, full0, full1;
    int leg;
    bool on;
} Span;

#define MAX_SPANS (2 * OW_MAX_LEGS + OW_NEDC_POINTS)
typedef struct Trace {
    Span spans[MAX_SPANS];
    int count;
} Trace;

typedef struct Sample {
    OwDrivePoint point;
    bool keep;
} Sample;

/// Which gear is in, which was, and when it changed.
typedef struct Gears {
    int now, before;
    double changed_s;
} Gears;

typedef struct Compile {
    const OwVehicle *vehicle;
    const OwEngine *engine;
    double air_kg_m3, energy_j_m3, low_rad_s;
    Trace trace;
    Gears gears;
    Sample *samples;
    int count;
    double short_s[OW_MAX_LEGS], short_w[OW_MAX_LEGS], there_w[OW_MAX_LEGS];
} Compile;

// ---- checks
// ------------------------------------------------------------------------------------------------------

static void complain(OwFaults *faults, OwSeverity severity, const OwRig *rig, const char *part,
                     const char *message, const char *remedy) {
    if (faults == NULL) {
        return;
    }
    OwFault fault = {.status = severity == OW_FAULT_ERROR ? OW_ERROR_VALUE : OW_OK, .severity = severity};
    (void)snprintf(fault.file, sizeof fault.file, "%s", rig->file);
    (void)snprintf(fault.part, sizeof fault.part, "%.63s", part);
    (void)snprintf(fault.message, sizeof fault.message, "%s", message);
    (void)snprintf(fault.remedy, sizeof fault.remedy, "%s", remedy);
    (void)ow_faults_add(faults, &fault);
}

static int check_value(OwFaults *faults, const OwRig *rig, const char *part, const char *name, double value,
                       double low, double high) {
    if (value >= low && value <= high) {
        return 0;
    }
    char message[160];
    char remedy[160];
    (void)snprintf(message, sizeof message, "%s of %g cannot be driven with", name, value);
    (void)snprintf(remedy, sizeof remedy, "give a value from %g to %g (SI units)", low, high);
    complain(faults, OW_FAULT_ERROR, rig, part, message, remedy);
    return 1;
}

static OwStatus check(const OwRig *rig, const OwDriveSpec *drive, OwFaults *faults) {
    const OwVehicle *v = &rig->vehicle;
    const OwEngine *e = &rig->engine;
    const struct {
        const char *part, *name;
        double value, low, high;
    } rules[] = {
        {"vehicle", "mass", v->mass_kg, 1.0, 1e6},
        {"vehicle", "drag area", v->drag_area_m2, 0.0, 100.0},
        {"vehicle", "rolling resistance", v->rolling, 0.0, 1.0},
        {"vehicle", "drive efficiency", v->drive_efficiency, 0.05, 1.0},
        {"vehicle", "number of gears", v->gear_count, 1.0, 8.0},
        {"engine", "displacement", e->displacement_m3, 1e-6, 1.0},
        {"engine", "rated power", e->rated_power_w, 1.0, 1e8},
        {"engine", "rated speed", e->rated_speed_rad_s, 1.0, 5000.0},
        {"engine", "idle speed", e->idle_speed_rad_s, 0.5, 0.9 * e->rated_speed_rad_s},
        {"engine", "friction pressure", e->friction_pa, 0.0, 5e6},
        {"engine", "indicated efficiency", e->indicated_efficiency, 0.01, 1.0},
        {"engine", "share of heat to coolant", e->coolant_heat_share, 0.0, 1.0},
        {"climate", "ambient temperature", rig->climate.ambient_k, 150.0, 400.0},
        {"drive", "number of legs", drive->leg_count, 0.0, OW_MAX_LEGS},
    };
    int wrong = 0;
    for (size_t i = 0; i < sizeof rules / sizeof rules[0]; i++) {
        wrong += check_value(faults, rig, rules[i].part, rules[i].name, rules[i].value, rules[i].low,
                             rules[i].high);
    }
    if (wrong > 0) {
        return OW_ERROR_VALUE;
    }
    for (int i = 0; i < v->gear_count; i++) {
        const double low = i == 0 ? 1e-6 : v->gear_m_s_per_rad_s[i - 1];
        wrong += check_value(faults, rig, "vehicle", "gear (road speed over engine speed, rising)",
                             v->gear_m_s_per_rad_s[i], low, 10.0);
    }
    for (int i = 0; i < drive->leg_count && drive->kind == OW_DRIVE_LEGS; i++) {
        const OwLeg *leg = &drive->legs[i];
        char part[OW_NAME_SIZE];
        (void)snprintf(part, sizeof part, "%.*s", (int)sizeof part - 1, leg->name);
        wrong += check_value(faults, rig, part, "speed", leg->speed_m_s, 0.0, 150.0);
        wrong += check_value(faults, rig, part, "duration", leg->duration_s, 0.0, 1e6);
        wrong += check_value(faults, rig, part, "grade", leg->grade, -1.0, 1.0);
        wrong += check_value(faults, rig, part, "ramp", leg->ramp_s, 0.0, 1e6);
    }
    return wrong > 0 ? OW_ERROR_VALUE : OW_OK;
}

// ---- spans
// -------------------------------------------------------------------------------------------------------

/// Appends a span from where the last ended; starts and stops of the engine fall between spans.
static void add_span(Trace *trace, double duration_s, double speed, double grade, double full, int leg,
                     bool on) {
    const Span *last = trace->count > 0 ? &trace->spans[trace->count - 1] : NULL;
    Span span = {.grade0 = grade, .speed1 = speed, .grade1 = grade, .full1 = full, .leg = leg, .on = on};
    if (last != NULL) {
        span.start_s = last->end_s;
        span.speed0 = last->speed1;
        span.grade0 = last->grade1;
        span.full0 = last->full1;
    }
    span.end_s = span.start_s + duration_s;
    if (span.end_s > span.start_s && trace->count < MAX_SPANS) {
        trace->spans[trace->count++] = span;
    }
}

static void add_leg(Trace *trace, const OwLeg *leg, int index) {
    const Span *last = trace->count > 0 ? &trace->spans[trace->count - 1] : NULL;
    const double speed0 = last != NULL ? last->speed1 : 0.0;
    const double grade0 = last != NULL ? last->grade1 : leg->grade;
    const double full0 = last != NULL ? last->full1 : 0.0;
    const double speed = leg->engine_off ? 0.0 : leg->speed_m_s;
    const double full = leg->full_load && speed > 0.0 ? 1.0 : 0.0;
    double ramp_s = leg->ramp_s > 0.0 ? leg->ramp_s : fabs(speed - speed0) / USUAL_M_S2;
    ramp_s = fmax(ramp_s, FOOT_S);
    if (leg->engine_off) {
        if (speed0 > 0.0) { // at rest within the leg, however short it is
            ramp_s = fmin(ramp_s, 0.9 * leg->duration_s);
            add_span(trace, ramp_s, 0.0, leg->grade, 0.0, index, true);
            add_span(trace, leg->duration_s - ramp_s, 0.0, leg->grade, 0.0, index, false);
        } else {
            add_span(trace, leg->duration_s, 0.0, leg->grade, 0.0, index, false);
        }
    } else if (speed0 == speed && grade0 == leg->grade && full0 == full) {
        add_span(trace, leg->duration_s, speed, leg->grade, full, index, true);
    } else if (ramp_s < leg->duration_s) {
        add_span(trace, ramp_s, speed, leg->grade, full, index, true);
        add_span(trace, leg->duration_s - ramp_s, speed, leg->grade, full, index, true);
    } else { // the leg is over before its speed is reached
        const double s = leg->duration_s / ramp_s;
        add_span(trace, leg->duration_s, speed0 + s * (speed - speed0), grade0 + s * (leg->grade - grade0),
                 full0 + s * (full - full0), index, true);
    }
}

static void make_trace(Trace *trace, const OwDriveSpec *drive) {
    if (drive->kind == OW_DRIVE_NEDC) {
        for (int i = 1; i < OW_NEDC_POINTS; i++) {
            const OwSpeedPoint a = ow_nedc_point(i - 1);
            const OwSpeedPoint b = ow_nedc_point(i);
            add_span(trace, b.time_s - a.time_s, b.speed_m_s, 0.0, 0.0, a.part, true);
        }
        return;
    }
    for (int i = 0; i < drive->leg_count; i++) {
        add_leg(trace, &drive->legs[i], i);
    }
}

// ---- the engine at a moment
// --------------------------------------------------------------------------------------

/// Full-load power on this fluid: the pump's volume times this fluid's energy.
static double can_give(const Compile *c, double speed_rad_s) {
    const double fuel = ow_engine_full_fuel_m3_s(c->engine, speed_rad_s);
    return ow_engine_brake_w(c->engine, speed_rad_s, fuel, c->energy_j_m3);
}

static double in_gear(const Compile *c, int gear, double speed_m_s) {
    const double raw = speed_m_s / c->vehicle->gear_m_s_per_rad_s[gear];
    return fmin(fmax(raw, c->engine->idle_speed_rad_s), OW_ENGINE_RUN_OUT * c->engine->rated_speed_rad_s);
}

static int strongest_gear(const Compile *c, double speed_m_s) {
    int best = c->vehicle->gear_count - 1;
    double most = can_give(c, in_gear(c, best, speed_m_s));
    for (int g = best - 1; g >= 0; g--) {
        const double power = can_give(c, in_gear(c, g, speed_m_s));
        if (speed_m_s / c->vehicle->gear_m_s_per_rad_s[g] <= c->engine->rated_speed_rad_s && power > most) {
            most = power;
            best = g;
        }
    }
    return best;
}

static int wanted_gear(const Compile *c, double speed_m_s, double wanted_w, double full) {
    const double *ratio = c->vehicle->gear_m_s_per_rad_s;
    if (speed_m_s / ratio[0] < c->low_rad_s) {
        return 0;
    }
    for (int g = c->vehicle->gear_count - 1; full < 0.5 && g >= 0; g--) {
        const double raw = speed_m_s / ratio[g];
        if (raw >= c->low_rad_s && raw <= c->engine->rated_speed_rad_s &&
            can_give(c, raw) >= 1.1 * wanted_w) {
            return g;
        }
    }
    return strongest_gear(c, speed_m_s);
}

static void change_gear(Compile *c, double time_s, double speed_m_s, double wanted_w, double full) {
    Gears *gears = &c->gears;
    if (time_s - gears->changed_s < DWELL_S) {
        return;
    }
    const int wanted = wanted_gear(c, speed_m_s, wanted_w, full);
    const double raw = speed_m_s / c->vehicle->gear_m_s_per_rad_s[gears->now];
    const bool holds = raw >= 0.85 * c->low_rad_s && raw <= c->engine->rated_speed_rad_s &&
                       can_give(c, in_gear(c, gears->now, speed_m_s)) >= wanted_w && full < 0.5;
    const bool braking = wanted_w < 0.0; // then the gear stays in until the clutch opens near idle
    if (wanted > gears->now || (wanted < gears->now && !holds && !braking)) {
        *gears = (Gears){.now = wanted, .before = gears->now, .changed_s = time_s};
    }
}

/// 1 with the clutch home, 0 at idle: how far the wheels can drive the engine.
static double coupling(const Compile *c, double raw_rad_s) {
    const double x = (raw_rad_s / c->engine->idle_speed_rad_s - 1.0) / 0.3;
    const double s = x > 1.0 ? 1.0 : x > 0.0 ? x : 0.0;
    return s * s * (3.0 - 2.0 * s);
}

static OwDrivePoint sample_at(Compile *c, const Span *span, double accel_before, double time_s) {
    OwDrivePoint p = {.time_s = time_s, .leg = span->leg, .engine_on = span->on};
    const double length = span->end_s - span->start_s;
    const double s = (time_s - span->start_s) / length;
    p.speed_m_s = span->speed0 + s * (span->speed1 - span->speed0);
    if (!span->on) {
        c->gears = (Gears){.changed_s = -DWELL_S};
        return p;
    }
    const double grade = span->grade0 + s * (span->grade1 - span->grade0);
    const double full = span->full0 + s * (span->full1 - span->full0);
    const double foot = fmin((time_s - span->start_s) / fmin(FOOT_S, 0.5 * length), 1.0);
    const double accel_span = (span->speed1 - span->speed0) / length;
    const double accel = accel_before + foot * (accel_span - accel_before);
    // Road load: rolling, slope, air, inertia.
    const OwVehicle *v = c->vehicle;
    const double hypotenuse = sqrt(1.0 + grade * grade);
    const double force = v->mass_kg * OW_GRAVITY_M_S2 * (v->rolling + grade) / hypotenuse +
                         0.5 * c->air_kg_m3 * v->drag_area_m2 * p.speed_m_s * p.speed_m_s +
                         ROTATING_MASS * v->mass_kg * accel;
    const double wheel_w = force * p.speed_m_s;
    const double road_w = wheel_w > 0.0 ? wheel_w / v->drive_efficiency : wheel_w * v->drive_efficiency;
    // Gear and engine speed.
    change_gear(c, time_s, p.speed_m_s, road_w, full);
    const Gears *gears = &c->gears;
    const double changed = fmin((time_s - gears->changed_s) / FOOT_S, 1.0);
    const double engaged = changed * in_gear(c, gears->now, p.speed_m_s);
    p.engine_rad_s = engaged + (1.0 - changed) * in_gear(c, gears->before, p.speed_m_s);
    p.gear = gears->now;
    // Fuel.
    const OwEngine *e = c->engine;
    const double most_w = can_give(c, p.engine_rad_s);
    p.wanted_w = road_w + full * fmax(most_w - road_w, 0.0);
    double brake_w = p.wanted_w;
    if (brake_w < 0.0) {
        const double raw = p.speed_m_s / v->gear_m_s_per_rad_s[gears->now];
        brake_w *= coupling(c, raw); // below -friction the fuel is nil and the brakes do the rest
    }
    p.full_fuel_m3_s = ow_engine_full_fuel_m3_s(e, p.engine_rad_s);
    p.fuel_m3_s = ow_engine_fuel_m3_s(e, p.engine_rad_s, brake_w, c->energy_j_m3);
    p.short_of_power = p.fuel_m3_s > p.full_fuel_m3_s * (1.0 + 1e-9);
    p.fuel_m3_s = fmin(p.fuel_m3_s, p.full_fuel_m3_s);
    p.brake_w = ow_engine_brake_w(e, p.engine_rad_s, p.fuel_m3_s, c->energy_j_m3);
    p.coolant_heat_w = ow_engine_coolant_heat_w(e, p.fuel_m3_s, c->energy_j_m3);
    return p;
}

// ---- samples
// -----------------------------------------------------------------------------------------------------

static bool is_steady(const Span *span) {
    return !span->on ||
           (span->speed0 == span->speed1 && span->grade0 == span->grade1 && span->full0 == span->full1);
}

/// Steps of the sampled part of a span, and its length.
static int span_steps(const Span *span, double *sampled_s) {
    const double length = span->end_s - span->start_s;
    *sampled_s = !span->on ? length : is_steady(span) ? fmin(length, SETTLE_S) : length;
    if (!span->on) {
        return 1;
    }
    const double steps = ceil(*sampled_s / STEP_S);
    return steps > SPAN_STEPS ? SPAN_STEPS : steps < 8.0 ? 8 : (int)steps;
}

static void add_sample(Compile *c, OwDrivePoint point, bool keep) {
    if (c->count > 0 && !keep && c->samples[c->count - 1].point.short_of_power != point.short_of_power) {
        keep = true;
    }
    c->samples[c->count++] = (Sample){.point = point, .keep = keep};
}

static void take_samples(Compile *c) {
    double accel = 0.0;
    c->gears = (Gears){.changed_s = -DWELL_S};
    for (int i = 0; i < c->trace.count; i++) {
        const Span *span = &c->trace.spans[i];
        const bool jump = i == 0 || span->on != span[-1].on;
        double sampled_s;
        const int steps = span_steps(span, &sampled_s);
        if (jump) {
            accel = 0.0;
            if (i > 0) {
                c->samples[c->count - 1].keep = true;
            }
            add_sample(c, sample_at(c, span, accel, span->start_s), true);
        } else if (span->leg != span[-1].leg) { // the corner belongs to the leg that it opens
            c->samples[c->count - 1].point.leg = span->leg;
            c->samples[c->count - 1].keep = true;
        }
        for (int k = 1; k <= steps; k++) {
            const double time = k < steps ? span->start_s + sampled_s * k / steps : span->start_s + sampled_s;
            add_sample(c, sample_at(c, span, accel, time), false);
        }
        if (span->start_s + sampled_s < span->end_s) {
            add_sample(c, sample_at(c, span, accel, span->end_s), false);
        } else {
            c->samples[c->count - 1].point.time_s = span->end_s;
        }
        accel = (span->speed1 - span->speed0) / (span->end_s - span->start_s);
    }
    if (c->count > 0) {
        c->samples[c->count - 1].keep = true;
    }
}

// ---- corners
// -----------------------------------------------------------------------------------------------------

#define CHANNELS 7
static void channels(const OwDrivePoint *p, double value[CHANNELS]) {
    value[0] = p->fuel_m3_s; // first: its integral is held too
    value[1] = p->full_fuel_m3_s;
    value[2] = p->engine_rad_s;
    value[3] = p->brake_w;
    value[4] = p->speed_m_s;
    value[5] = p->wanted_w;
    value[6] = p->coolant_heat_w;
}

/// May samples i and j be joined by a straight line?
static bool is_straight(const Sample *samples, int i, int j, const double slack[CHANNELS]) {
    double a[CHANNELS];
    double b[CHANNELS];
    double x[CHANNELS];
    channels(&samples[i].point, a);
    channels(&samples[j].point, b);
    const double t0 = samples[i].point.time_s;
    const double length = samples[j].point.time_s - t0;
    double burned = 0.0;
    for (int k = i + 1; k <= j; k++) {
        channels(&samples[k].point, x);
        const double s = (samples[k].point.time_s - t0) / length;
        for (int n = 0; n < CHANNELS; n++) {
            if (!(fabs(a[n] + s * (b[n] - a[n]) - x[n]) <= slack[n])) {
                return k == j; // the end itself fits whatever rounding does
            }
        }
        const double step = samples[k].point.time_s - samples[k - 1].point.time_s;
        burned += 0.5 * step * (x[0] + samples[k - 1].point.fuel_m3_s);
    }
    const double drawn = 0.5 * length * (a[0] + b[0]);
    return fabs(drawn - burned) <= 0.0015 * burned + 0.3 * slack[0] * fmin(length, FOOT_S);
}

/// Marks the samples that stay (keep) and returns how many. Longest straight first, by doubling then halving.
static int choose_corners(Compile *c) {
    double slack[CHANNELS] = {0};
    for (int i = 0; i < c->count; i++) {
        double x[CHANNELS];
        channels(&c->samples[i].point, x);
        for (int n = 0; n < CHANNELS; n++) {
            slack[n] = fmax(slack[n], fabs(x[n]));
        }
    }
    for (int n = 0; n < CHANNELS; n++) {
        slack[n] *= n == 4 ? 0.005 : 0.01;
    }
    int corners = c->count > 0 ? 1 : 0;
    int next = 0;
    for (int i = 0; i + 1 < c->count; corners++) {
        if (next <= i) {
            next = i + 1;
            while (!c->samples[next].keep) {
                next++;
            }
        }
        int j = i + 1;
        int step = 1;
        while (j + step <= next && is_straight(c->samples, i, j + step, slack)) {
            j += step;
            step *= 2;
        }
        for (; step >= 1; step /= 2) {
            if (j + step <= next && is_straight(c->samples, i, j + step, slack)) {
                j += step;
            }
        }
        c->samples[j].keep = true;
        i = j;
    }
    return corners;
}

static void sum_up(Compile *c, OwDriveProfile *profile) {
    for (int i = 0; i < c->trace.count; i++) {
        const Span *span = &c->trace.spans[i];
        profile->distance_m += 0.5 * (span->speed0 + span->speed1) * (span->end_s - span->start_s);
        profile->length_s = span->end_s;
    }
    profile->stop_s = profile->length_s;
    for (int i = 1; i < c->count; i++) {
        const OwDrivePoint *a = &c->samples[i - 1].point;
        const OwDrivePoint *b = &c->samples[i].point;
        const double step = b->time_s - a->time_s;
        if (a->engine_on && !b->engine_on) {
            profile->stop_s = b->time_s;
        }
        if (a->short_of_power) {
            profile->short_s += step;
            c->short_s[a->leg] += step;
            if (a->wanted_w - a->brake_w > c->short_w[a->leg] - c->there_w[a->leg]) {
                c->short_w[a->leg] = a->wanted_w;
                c->there_w[a->leg] = a->brake_w;
            }
        }
    }
}

static void warn_short(const Compile *c, const OwRig *rig, const OwDriveSpec *drive, OwFaults *faults) {
    for (int i = 0; i < OW_MAX_LEGS; i++) {
        if (c->short_s[i] <= SHORT_REPORT_S) {
            continue;
        }
        char part[OW_NAME_SIZE];
        char message[200];
        if (drive->kind == OW_DRIVE_NEDC) {
            (void)snprintf(part, sizeof part, "NEDC part %d", i + 1);
        } else {
            (void)snprintf(part, sizeof part, "%.*s", (int)sizeof part - 1, drive->legs[i].name);
        }
        // Run out by its governor it gives nothing and is turned by the road.
        (void)snprintf(
            message, sizeof message,
            c->there_w[i] >= 0.0
                ? "full load is not enough for %.0f s: the road asks %.1f kW and the engine gives %.1f kW"
                : "too fast for the highest gear for %.0f s: the road asks %.1f kW, but the governor has "
                  "cut the fuel and the engine brakes with %.1f kW",
            c->short_s[i], c->short_w[i] / 1000.0, fabs(c->there_w[i]) / 1000.0);
        complain(faults, OW_FAULT_WARNING, rig, part, message,
                 "the speed is kept in the reckoning; the real car is slower here");
    }
}

OwStatus ow_drive_compile(const OwRig *rig, const OwFluid *fluid, OwArena *arena, OwDriveProfile *profile,
                          OwFaults *faults) {
    if (rig == NULL || fluid == NULL || arena == NULL || profile == NULL) {
        return OW_ERROR_USE;
    }
    *profile = (OwDriveProfile){0};
    OwStatus status = check(rig, &rig->drive, faults);
    if (status != OW_OK) {
        return status;
    }
    OwDriveSpec *drive = malloc(sizeof *drive);
    Compile *c = calloc(1, sizeof *c);
    if (drive == NULL || c == NULL) {
        status = OW_ERROR_MEMORY;
        goto done;
    }
    *drive = rig->drive;
    if (drive->kind == OW_DRIVE_LEGS && drive->leg_count == 0) {
        ow_drive_default_legs(drive);
    }
    c->vehicle = &rig->vehicle;
    c->engine = &rig->engine;
    c->air_kg_m3 = OW_ATMOSPHERE_PA / (DRY_AIR_J_KGK * rig->climate.ambient_k);
    c->energy_j_m3 = ow_engine_energy_j_m3(fluid);
    c->low_rad_s =
        fmin(fmax(1.6 * rig->engine.idle_speed_rad_s, FAST_GEAR_RAD_S), 0.7 * rig->engine.rated_speed_rad_s);
    make_trace(&c->trace, drive);
    if (c->trace.count == 0) {
        complain(faults, OW_FAULT_ERROR, rig, "drive", "the drive has no length",
                 "give a leg a duration above 0 s");
        status = OW_ERROR_VALUE;
        goto done;
    }
    size_t room = 0;
    for (int i = 0; i < c->trace.count; i++) {
        double sampled_s;
        room += (size_t)span_steps(&c->trace.spans[i], &sampled_s) + 2;
    }
    c->samples = calloc(room, sizeof *c->samples);
    if (c->samples == NULL) {
        status = OW_ERROR_MEMORY;
        goto done;
    }
    take_samples(c);
    sum_up(c, profile);
    const int corners = choose_corners(c);
    profile->energy_j_m3 = c->energy_j_m3;
    profile->points = ow_arena_take(arena, (size_t)corners, sizeof *profile->points);
    if (profile->points == NULL) {
        status = OW_ERROR_MEMORY;
        goto done;
    }
    for (int i = 0; i < c->count; i++) {
        if (c->samples[i].keep) {
            profile->points[profile->count++] = c->samples[i].point;
        }
    }
    warn_short(c, rig, drive, faults);
done:
    if (c != NULL) {
        free(c->samples);
    }
    free(c);
    free(drive);
    if (status != OW_OK) {
        *profile = (OwDriveProfile){0};
    }
    return status;
}
