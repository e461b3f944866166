// SPDX-License-Identifier: GPL-3.0-or-later
// Everything that happens at a moment: key, cranking, start and stop, thermostats, controls, air and
// starvation.
#include "morning/morning_impl.h"

#include <math.h>

/// A start needs this share of the starting fuel; common practice, no source.
#define START_FUEL_SHARE 0.8
/// A tank with less than this is empty: its pick-up draws air; common practice, no source.
#define EMPTY_M3 2e-4
/// Delivered fuel below this share of the request is starvation.
#define STARVED_SHARE 0.98

static const OwElement *element_of(const OwPlan *plan, int e) {
    const OwPart *part = &plan->rig->parts[plan->elements[e].part];
    const OwElements *elements = ow_part_elements_const(part);
    return &elements->items[plan->elements[e].index];
}

void ow_morning_event(OwMorning *morning, OwEventKind kind, int part, int element, double value) {
    OwRecord *record = &morning->record;
    if (record->event_count < morning->event_capacity) {
        record->events[record->event_count++] = (OwEvent){
            .time_s = morning->time_s, .kind = kind, .part = part, .element = element, .value = value};
    }
}

/// How far the pump inlet is from ready, in K or its like: below zero not ready.
static double ready_lead(const OwMorning *morning, const double *y) {
    const OwLimits *limits = &morning->plan->rig->limits;
    // 30 K is about the warming that divides an oil's viscosity by e to the first: only the sign and
    // smoothness matter.
    double lead = 30.0 * log(limits->start_kinematic_m2_s / ow_morning_inlet_kinematic(morning, y));
    if (limits->ready_k > 0.0) {
        lead = fmin(lead, y[morning->plan->node_lump[morning->plan->inlet_node]] - limits->ready_k);
    }
    return lead;
}

static double rule_time(const OwMorning *morning, const OwRule *rule) {
    const bool is_running =
        morning->stage == OW_STAGE_DRIVE && morning->system->now.engine == OW_ENGINE_RUNNING;
    switch (rule->trigger) {
    case OW_TRIGGER_AFTER_KEY:
        return morning->system->now.is_key_on ? morning->key_s + rule->delay_s : INFINITY;
    case OW_TRIGGER_AFTER_START:
        return is_running ? morning->system->now.run_s + rule->delay_s : INFINITY;
    case OW_TRIGGER_BEFORE_STOP:
        return is_running ? fmax(morning->stop_s - rule->delay_s, morning->system->now.run_s) : INFINITY;
    default:
        return INFINITY;
    }
}

double ow_morning_next_known(OwMorning *morning) {
    const OwDriveSpec *drive = &morning->plan->rig->drive;
    double next = fmin(morning->until_s, ow_system_hold_ends(morning->system, morning->time_s));
    next = fmin(next, ow_system_valves_end(morning->system));
    switch (morning->stage) {
    case OW_STAGE_WAIT:
        if (morning->key_s + drive->earliest_start_s > morning->time_s) {
            next = fmin(next, morning->key_s + drive->earliest_start_s);
        }
        next = fmin(next, morning->key_s + fmax(drive->ready_wait_s, drive->earliest_start_s));
        break;
    case OW_STAGE_CRANK:
        next = fmin(next, morning->stage_s + fmax(drive->crank_s, 0.5));
        break;
    case OW_STAGE_PAUSE:
        next = fmin(next, morning->stage_s + fmax(drive->pause_s, 0.5));
        break;
    case OW_STAGE_DRIVE: {
        const double start_s = morning->system->now.start_s;
        const double corner_s = ow_drive_next_s(&morning->plan->drive, morning->time_s - start_s + 1e-9,
                                                &morning->system->drive_hint);
        double corner = start_s + corner_s;
        if (corner - start_s < corner_s) {
            corner = nextafter(corner, INFINITY); // on the profile's clock it must not be a hair too early
        }
        next = fmin(next, corner);
        const double end_s = start_s + morning->plan->drive.length_s;
        if (end_s > morning->time_s + 1e-9) {
            next = fmin(next, end_s); // a run may go on past the end of the drive
        }
        break;
    }
    case OW_STAGE_OVER:
        break;
    }
    for (int r = 0; r < morning->plan->rig->rule_count; r++) {
        if (!morning->rule_done[r]) {
            const double due = rule_time(morning, &morning->plan->rig->rules[r]);
            if (due > morning->time_s) {
                next = fmin(next, due);
            }
        }
    }
    return next;
}

/// Distance past the level (> 0 is past) of a sensor's next switching, at a state.
static double sensor_past(const OwMorning *morning, int s, const double *y) {
    const OwElement *element = element_of(morning->plan, morning->system->element_of_sensor[s]);
    const double felt_k = y[morning->plan->sensor_at + s];
    return morning->system->now.thermostat_closed[s] ? felt_k - element->thermostat_off_k
                                                     : element->thermostat_on_k - felt_k;
}

static double rule_past(const OwMorning *morning, const OwRule *rule, const double *y) {
    const double felt_k = ow_system_watched(morning->system, rule->watch, y);
    return rule->trigger == OW_TRIGGER_ABOVE ? felt_k - rule->level_k : rule->level_k - felt_k;
}

static bool is_temperature_rule(const OwRule *rule) {
    return rule->trigger == OW_TRIGGER_ABOVE || rule->trigger == OW_TRIGGER_BELOW;
}

/// Where a value that begins at g0 < 0 and ends at g1 > 0 passes zero, 0..1: on the cubic with slopes d0 and
/// d1 per step, or on a straight line when the slopes are unknown (NAN). Newton inside a bracket, bounded.
static double root_share(double g0, double g1, double d0, double d1) {
    double low = 0.0, high = 1.0, at = -g0 / (g1 - g0);
    if (!isfinite(d0) || !isfinite(d1)) {
        return at;
    }
    const double rise = g1 - g0;
    const double c2 = 3.0 * rise - 2.0 * d0 - d1, c3 = d0 + d1 - 2.0 * rise;
    for (int i = 0; i < 8; i++) {
        const double g = g0 + at * (d0 + at * (c2 + at * c3));
        const double slope = d0 + at * (2.0 * c2 + 3.0 * at * c3);
        if (g < 0.0) {
            low = at;
        } else {
            high = at;
        }
        const double next = at - g / slope;
        at = next > low && next < high ? next : 0.5 * (low + high);
    }
    return at;
}

/// How far the coolant is past the opening of the engine's thermostat, on the way it goes. Nothing is
/// switched there, but a long step that ends beyond it would hardly see the radiator: half a kelvin of error,
/// unseen.
static double opening_past(const OwMorning *morning, const double *y) {
    const int coolant = morning->plan->coolant;
    const double open_k = morning->plan->rig->engine.thermostat_open_k;
    return morning->y[coolant] < open_k ? y[coolant] - open_k : open_k - y[coolant];
}

/// Watched things are numbered: sensors, then rules, then tanks that run dry, then ready, then the engine's
/// thermostat.
double ow_morning_past(const OwMorning *morning, int id, const double *y) {
    const OwPlan *plan = morning->plan;
    if (id < plan->sensor_count) {
        return sensor_past(morning, id, y);
    }
    id -= plan->sensor_count;
    if (id < plan->rig->rule_count) {
        return rule_past(morning, &plan->rig->rules[id], y);
    }
    id -= plan->rig->rule_count;
    if (id < plan->tank_count) {
        return 2e4 * (EMPTY_M3 - y[plan->tank_at + id]); // a millilitre counts like 20 mK
    }
    return id == plan->tank_count ? ready_lead(morning, y) : opening_past(morning, y);
}

static bool is_watched(const OwMorning *morning, int id) {
    const int sensors = morning->plan->sensor_count, rules = morning->plan->rig->rule_count;
    if (id < sensors) {
        return true;
    }
    if (id < sensors + rules) {
        return is_temperature_rule(&morning->plan->rig->rules[id - sensors]) &&
               morning->rule_armed[id - sensors];
    }
    if (id != sensors + rules + morning->plan->tank_count) {
        return true;
    }
    return !morning->is_ready && morning->stage == OW_STAGE_WAIT;
}

/// How fast a sensor nears its level, per step; other things' speed is not known here.
static double watched_speed(const OwMorning *morning, int id, double step_s, const double *y) {
    const OwPlan *plan = morning->plan;
    if (id >= plan->sensor_count) {
        return NAN;
    }
    const double rise =
        (y[plan->sensors[id].host] - y[plan->sensor_at + id]) / plan->sensors[id].lag_s * step_s;
    return morning->system->now.thermostat_closed[id] ? rise : -rise;
}

int ow_morning_crossing(const OwMorning *morning, double step_s, const double *y0, const double *y1,
                        double *share) {
    const int count =
        morning->plan->sensor_count + morning->plan->rig->rule_count + morning->plan->tank_count + 2;
    int first = -1;
    *share = 2.0;
    for (int id = 0; id < count; id++) {
        if (!is_watched(morning, id)) {
            continue;
        }
        const double before = ow_morning_past(morning, id, y0), after = ow_morning_past(morning, id, y1);
        if (before < -ow_morning_arrived_k(morning) && after > ow_morning_overshoot_k(morning)) {
            const double at = root_share(before, after, watched_speed(morning, id, step_s, y0),
                                         watched_speed(morning, id, step_s, y1));
            if (at < *share) {
                *share = at;
                first = id;
            }
        }
    }
    return first;
}

static bool thermostats(OwMorning *morning) {
    bool has_switched = false;
    for (int s = 0; s < morning->plan->sensor_count; s++) {
        if (sensor_past(morning, s, morning->y) > -ow_morning_arrived_k(morning)) {
            bool *closed = &morning->system->now.thermostat_closed[s];
            const OwPlanElement *element = &morning->plan->elements[morning->system->element_of_sensor[s]];
            *closed = !*closed;
            has_switched = true;
            ow_morning_event(morning, *closed ? OW_EVENT_THERMOSTAT_CLOSES : OW_EVENT_THERMOSTAT_OPENS,
                             element->part, element->index, morning->y[morning->plan->sensor_at + s]);
        }
    }
    return has_switched;
}

/// Carries out a control. Returns true when it changed anything.
static bool carry_out(OwMorning *morning, const OwRule *rule) {
    OwSwitches *now = &morning->system->now;
    const OwPart *target = &morning->plan->rig->parts[rule->target];
    if (target->kind == OW_PART_VALVE) {
        if (!ow_system_move_valve(morning->system, rule->target, rule->position, morning->time_s)) {
            return false;
        }
        ow_morning_event(morning, OW_EVENT_VALVE, rule->target, -1, rule->position);
        return true;
    }
    const bool wanted = rule->position != 0;
    bool has_changed = false;
    if (target->kind == OW_PART_ELECTRIC_PUMP) {
        has_changed = now->part_on[rule->target] != wanted;
        now->part_on[rule->target] = wanted;
    }
    for (int e = 0; e < morning->plan->element_count; e++) {
        const OwPlanElement *element = &morning->plan->elements[e];
        if (element->part == rule->target && (rule->element < 0 || rule->element == element->index)) {
            has_changed |= now->element_on[e] != wanted;
            now->element_on[e] = wanted;
        }
    }
    if (has_changed) {
        ow_morning_event(morning, OW_EVENT_SWITCH, rule->target, rule->element, wanted ? 1.0 : 0.0);
    }
    return has_changed;
}

static bool controls(OwMorning *morning) {
    bool has_switched = false;
    for (int r = 0; r < morning->plan->rig->rule_count; r++) {
        const OwRule *rule = &morning->plan->rig->rules[r];
        if (is_temperature_rule(rule)) {
            const double past = rule_past(morning, rule, morning->y);
            if (morning->rule_armed[r] && past > -ow_morning_arrived_k(morning)) {
                morning->rule_armed[r] = false;
                has_switched |= carry_out(morning, rule);
            } else if (!morning->rule_armed[r] && past < -0.5) {
                morning->rule_armed[r] = true; // may act again after half a kelvin back
            }
        } else if (!morning->rule_done[r] && rule_time(morning, rule) <= morning->time_s + 1e-9) {
            morning->rule_done[r] = true;
            has_switched |= carry_out(morning, rule);
        }
    }
    return has_switched;
}

/// When the driver next stops the engine, on the morning's clock.
static double next_stop(const OwMorning *morning) {
    const OwDriveProfile *drive = &morning->plan->drive;
    const double zero_s = morning->system->now.start_s;
    for (int i = 0; i < drive->count; i++) {
        if (!drive->points[i].engine_on && zero_s + drive->points[i].time_s > morning->time_s + 1e-9) {
            return zero_s + drive->points[i].time_s;
        }
    }
    return zero_s + drive->length_s;
}

static void engine_runs(OwMorning *morning) {
    OwSwitches *now = &morning->system->now;
    now->engine = OW_ENGINE_RUNNING;
    if (now->start_s < 0.0) {
        now->start_s = morning->time_s;
        morning->record.start_s = morning->time_s;
        morning->record.has_started = true;
    } else {
        // A later start takes its time too: the rest of the drive waits for it.
        const double late_s = morning->time_s - morning->key_s;
        const double drive_s = morning->key_s - now->start_s;
        now->start_s += late_s;
        while (morning->time_s - now->start_s < drive_s) {
            now->start_s = nextafter(now->start_s, -INFINITY); // still after the jump that turned the key
        }
        morning->until_s += morning->settings.until_s > 0.0 ? 0.0 : late_s;
    }
    morning->stage = OW_STAGE_DRIVE;
    now->run_s = morning->time_s;
    morning->stop_s = next_stop(morning);
    ow_morning_event(morning, OW_EVENT_START, -1, -1, morning->time_s);
}

void ow_morning_key_on(OwMorning *morning) {
    const OwRig *rig = morning->plan->rig;
    morning->stage = OW_STAGE_WAIT;
    morning->key_s = morning->stage_s = morning->time_s;
    morning->attempts_left = rig->drive.attempts < 1 ? 1 : rig->drive.attempts;
    morning->is_ready = false;
    for (int r = 0; r < rig->rule_count; r++) {
        morning->rule_armed[r] = true;
        morning->rule_done[r] = false;
    }
    ow_system_key(morning->system, true);
    ow_morning_event(morning, OW_EVENT_KEY_ON, -1, -1, 0.0);
}

static bool crank(OwMorning *morning) {
    morning->stage = OW_STAGE_CRANK;
    morning->stage_s = morning->time_s;
    morning->attempts_left--;
    morning->system->now.engine = OW_ENGINE_CRANKING;
    ow_morning_event(morning, OW_EVENT_CRANK, -1, -1, 0.0);
    return true;
}

static bool crank_ends(OwMorning *morning) {
    const OwLimits *limits = &morning->plan->rig->limits;
    const double kinematic = ow_morning_inlet_kinematic(morning, morning->y);
    const bool has_fuel = morning->start.burned_m3_s >= START_FUEL_SHARE * morning->start.in.fuel_m3_s;
    if (kinematic <= limits->start_kinematic_m2_s && has_fuel) {
        engine_runs(morning);
        return true;
    }
    ow_morning_event(morning, OW_EVENT_NO_START, -1, -1, kinematic);
    morning->system->now.engine = OW_ENGINE_OFF;
    if (morning->attempts_left > 0) {
        morning->stage = OW_STAGE_PAUSE;
        morning->stage_s = morning->time_s;
    } else {
        morning->stage = OW_STAGE_OVER;
        morning->until_s = morning->time_s;
        ow_morning_event(morning, OW_EVENT_GAVE_UP, -1, -1, kinematic);
    }
    return true;
}

/// Legs begin, the driver stops the engine and starts it again.
static bool drive_on(OwMorning *morning) {
    OwSystem *system = morning->system;
    const double drive_s = morning->time_s - system->now.start_s;
    OwDrivePoint point;
    ow_drive_at(&morning->plan->drive, drive_s, &system->drive_hint, &point);
    if (point.leg != morning->leg && drive_s < morning->plan->drive.length_s) {
        morning->leg = point.leg;
        ow_morning_event(morning, OW_EVENT_LEG, -1, -1, point.leg);
    }
    const bool is_running = system->now.engine == OW_ENGINE_RUNNING;
    if (is_running && !point.engine_on) {
        system->now.engine = OW_ENGINE_OFF;
        ow_system_key(system, false);
        ow_morning_event(morning, OW_EVENT_STOP, -1, -1, 0.0);
        return true;
    }
    if (!is_running && point.engine_on && !system->now.is_key_on) {
        ow_morning_key_on(morning);
        return true;
    }
    return false;
}

static bool driver(OwMorning *morning) {
    const OwDriveSpec *drive = &morning->plan->rig->drive;
    const double now = morning->time_s + 1e-9;
    switch (morning->stage) {
    case OW_STAGE_WAIT:
        if (!morning->is_ready && ready_lead(morning, morning->y) > -ow_morning_arrived_k(morning)) {
            morning->is_ready = true;
            morning->record.ready_s =
                morning->record.ready_s < 0.0 ? morning->time_s : morning->record.ready_s;
            ow_morning_event(morning, OW_EVENT_READY, morning->plan->pump_part, -1,
                             ow_morning_inlet_kinematic(morning, morning->y));
        }
        if (now >= morning->key_s + drive->earliest_start_s &&
            (morning->is_ready || now >= morning->key_s + drive->ready_wait_s)) {
            return crank(morning);
        }
        return false;
    case OW_STAGE_CRANK:
        return now >= morning->stage_s + fmax(drive->crank_s, 0.5) && crank_ends(morning);
    case OW_STAGE_PAUSE:
        return now >= morning->stage_s + fmax(drive->pause_s, 0.5) && crank(morning);
    case OW_STAGE_DRIVE:
        return drive_on(morning);
    case OW_STAGE_OVER:
        break;
    }
    return false;
}

/// Tells that a trouble begins or is over. When the engine stops it is over too, but that is no news.
static void tell(OwMorning *morning, bool *is_known, bool is_now, OwEventKind begins, OwEventKind over,
                 double value) {
    if (is_now == *is_known) {
        return;
    }
    *is_known = is_now;
    if (is_now || morning->system->now.engine != OW_ENGINE_OFF) {
        ow_morning_event(morning, is_now ? begins : over, morning->plan->pump_part, -1, value);
    }
}

/// Air at the pump, fuel that does not arrive, a tank run dry.
static void troubles(OwMorning *morning) {
    const OwEval *eval = &morning->start;
    const bool is_turning = morning->system->now.engine != OW_ENGINE_OFF;
    const double fill = ow_morning_inlet_fill(morning);
    tell(morning, &morning->is_airy, is_turning && fill < morning->plan->rig->limits.min_fill, OW_EVENT_AIR,
         OW_EVENT_AIR_OVER, fill);
    const double given = eval->in.fuel_m3_s > 0.0 ? eval->burned_m3_s / eval->in.fuel_m3_s : 1.0;
    tell(morning, &morning->is_starved, is_turning && given < STARVED_SHARE, OW_EVENT_STARVED,
         OW_EVENT_STARVED_OVER, given);
    for (int t = 0; t < morning->plan->tank_count && !morning->is_empty; t++) {
        if (morning->y[morning->plan->tank_at + t] < EMPTY_M3 * (1.0 + 1e-6)) {
            morning->is_empty = true;
            ow_morning_event(morning, OW_EVENT_TANK_EMPTY, morning->plan->tanks[t].part, -1, 0.0);
        }
    }
}

bool ow_morning_happen(OwMorning *morning) {
    bool has_switched = thermostats(morning);
    has_switched |= ow_system_valves_arrive(morning->system, morning->time_s);
    has_switched |= driver(morning);
    has_switched |= controls(morning);
    troubles(morning);
    return has_switched;
}
