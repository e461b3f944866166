// SPDX-License-Identifier: GPL-3.0-or-later
// CVODE with KLU on the equations of a morning. The Jacobian is that of the network with its coefficients
// frozen, which is what a modified Newton iteration wants; the error control does not depend on it.
#include "oracle.h"

#include "oracle_jacobian.h"

#include <cvode/cvode.h>
#include <math.h>
#include <nvector/nvector_serial.h>
#include <stdlib.h>
#include <string.h>
#include <sundials/sundials_context.h>
#include <sunlinsol/sunlinsol_klu.h>
#include <sunmatrix/sunmatrix_sparse.h>

typedef enum Stage { WAIT, CRANK, PAUSE, DRIVE, OVER } Stage;

struct OwOracle {
    const OwPlan *plan;
    OwOracleSettings settings;
    OwArena *arena;
    OwSystem *system;
    OwEval eval;
    OwJacobian *jacobian;
    SUNContext context;
    void *cvode;
    N_Vector y, tolerance;
    SUNMatrix matrix;
    SUNLinearSolver linear;
    int *found;
    int roots;
    double time_s, until_s, stage_s, key_s, run_s, stop_s;
    Stage stage;
    int attempts_left, leg;
    bool is_ready, is_leg_known;
    bool *rule_is_spent; ///< time rules done, temperature rules disarmed
    OwOracleEvent events[OW_ORACLE_EVENTS];
    int event_count;
    OwOracleStats stats;
};

static double *data_of(N_Vector v) {
    return N_VGetArrayPointer_Serial(v);
}

static int slope(realtype t, N_Vector y, N_Vector ydot, void *user) {
    OwOracle *o = user;
    ow_system_evaluate(o->system, t, data_of(y), &o->eval);
    if (o->eval.has_failed) {
        return 1; // recoverable: CVODE tries a shorter step
    }
    ow_system_slope(o->system, &o->eval, data_of(y), data_of(ydot));
    return 0;
}

static int jacobian(realtype t, N_Vector y, N_Vector fy, SUNMatrix matrix, void *user, N_Vector a, N_Vector b,
                    N_Vector c) {
    (void)fy, (void)a, (void)b, (void)c;
    OwOracle *o = user;
    ow_system_evaluate(o->system, t, data_of(y), &o->eval);
    ow_jacobian_pattern(o->jacobian, SM_INDEXPTRS_S(matrix), SM_INDEXVALS_S(matrix));
    ow_jacobian_fill(o->jacobian, o->system, &o->eval, SM_DATA_S(matrix));
    return 0;
}

static const OwElement *element_of_sensor(const OwOracle *o, int s, const OwPlanElement **place) {
    const OwPlanElement *e = &o->plan->elements[o->system->element_of_sensor[s]];
    *place = e;
    const OwPart *part = &o->plan->rig->parts[e->part];
    switch (part->kind) {
    case OW_PART_TANK:
        return &part->as.tank.elements.items[e->index];
    case OW_PART_CHAMBER:
        return &part->as.chamber.elements.items[e->index];
    default:
        return &part->as.filter.elements.items[e->index];
    }
}

static double inlet_kinematic(const OwOracle *o, const double *y) {
    const int lump = o->plan->node_lump[o->plan->inlet_node];
    return ow_system_viscosity(o->system, y, lump) / ow_system_density(o->system, y, lump);
}

static bool feels_temperature(const OwRule *rule) {
    return rule->trigger == OW_TRIGGER_ABOVE || rule->trigger == OW_TRIGGER_BELOW;
}

/// One root function each: sensors, rules, ready. All rise through zero when due.
static int roots(realtype t, N_Vector vector, realtype *g, void *user) {
    (void)t;
    const OwOracle *o = user;
    const double *y = data_of(vector);
    int at = 0;
    for (int s = 0; s < o->plan->sensor_count; s++) {
        const OwPlanElement *place;
        const OwElement *element = element_of_sensor(o, s, &place);
        const double felt_k = y[o->plan->sensor_at + s];
        g[at++] = o->system->now.thermostat_closed[s] ? felt_k - element->thermostat_off_k
                                                      : element->thermostat_on_k - felt_k;
    }
    for (int r = 0; r < o->plan->rig->rule_count; r++) {
        const OwRule *rule = &o->plan->rig->rules[r];
        double value = -1.0;
        if (feels_temperature(rule) && !o->rule_is_spent[r]) {
            const double over_k = ow_system_watched(o->system, rule->watch, y) - rule->level_k;
            value = rule->trigger == OW_TRIGGER_ABOVE ? over_k : -over_k;
        }
        g[at++] = value;
    }
    g[at] = -1.0;
    if (o->stage == WAIT && !o->is_ready) {
        const OwLimits *limits = &o->plan->rig->limits;
        g[at] = log(limits->start_kinematic_m2_s / inlet_kinematic(o, y));
        if (limits->ready_k > 0.0) {
            g[at] = fmin(g[at], y[o->plan->node_lump[o->plan->inlet_node]] - limits->ready_k);
        }
    }
    return 0;
}

static void event(OwOracle *o, OwEventKind kind, int part, int element) {
    if (o->event_count < OW_ORACLE_EVENTS) {
        o->events[o->event_count++] =
            (OwOracleEvent){.time_s = o->time_s, .kind = kind, .part = part, .element = element};
    }
}

static double due_time(const OwOracle *o, const OwRule *rule) {
    const bool is_running = o->stage == DRIVE && o->system->now.engine == OW_ENGINE_RUNNING;
    switch (rule->trigger) {
    case OW_TRIGGER_AFTER_KEY:
        return o->system->now.is_key_on ? o->key_s + rule->delay_s : INFINITY;
    case OW_TRIGGER_AFTER_START:
        return is_running ? o->run_s + rule->delay_s : INFINITY;
    case OW_TRIGGER_BEFORE_STOP:
        return is_running ? fmax(o->run_s, o->stop_s - rule->delay_s) : INFINITY;
    default:
        return INFINITY;
    }
}

static double later(double time_s, double now_s) {
    return time_s > now_s + 1e-9 ? time_s : INFINITY;
}

static double next_stop(OwOracle *o) {
    const OwDriveSpec *drive = &o->plan->rig->drive;
    double next = o->until_s;
    if (o->stage == WAIT) {
        next = fmin(next, later(o->key_s + drive->earliest_start_s, o->time_s));
        next = fmin(next, later(o->key_s + fmax(drive->ready_wait_s, drive->earliest_start_s), o->time_s));
    } else if (o->stage == CRANK) {
        next = fmin(next, later(o->stage_s + fmax(drive->crank_s, 0.5), o->time_s));
    } else if (o->stage == PAUSE) {
        next = fmin(next, later(o->stage_s + fmax(drive->pause_s, 0.5), o->time_s));
    } else if (o->stage == DRIVE) {
        const OwDriveProfile *profile = &o->plan->drive;
        const double drive_s = o->time_s - o->system->now.start_s;
        for (int i = 1; i < profile->count; i++) {
            const OwDrivePoint *p = &profile->points[i];
            const bool matters = o->settings.stops_at_corners || p->engine_on != p[-1].engine_on ||
                                 p->leg != p[-1].leg || p->time_s == p[-1].time_s;
            if (matters && p->time_s > drive_s + 1e-9) {
                next = fmin(next, o->system->now.start_s + p->time_s);
                break;
            }
        }
        next = fmin(next, later(o->system->now.start_s + profile->length_s, o->time_s));
    }
    next = fmin(next, later(ow_system_hold_ends(o->system, o->time_s), o->time_s));
    next = fmin(next, later(ow_system_valves_end(o->system), o->time_s));
    for (int r = 0; r < o->plan->rig->rule_count; r++) {
        if (!o->rule_is_spent[r]) {
            next = fmin(next, later(due_time(o, &o->plan->rig->rules[r]), o->time_s));
        }
    }
    return next;
}

static bool obey(OwOracle *o, const OwRule *rule) {
    OwSwitches *now = &o->system->now;
    const OwPartKind kind = o->plan->rig->parts[rule->target].kind;
    bool has_changed = false;
    if (kind == OW_PART_VALVE) {
        has_changed = ow_system_move_valve(o->system, rule->target, rule->position, o->time_s);
        if (has_changed) {
            event(o, OW_EVENT_VALVE, rule->target, -1);
        }
        return has_changed;
    }
    const bool is_on = rule->position != 0;
    if (kind == OW_PART_ELECTRIC_PUMP && now->part_on[rule->target] != is_on) {
        now->part_on[rule->target] = is_on;
        has_changed = true;
    }
    for (int e = 0; e < o->plan->element_count; e++) {
        const OwPlanElement *element = &o->plan->elements[e];
        if (element->part == rule->target && (rule->element < 0 || rule->element == element->index) &&
            now->element_on[e] != is_on) {
            now->element_on[e] = is_on;
            has_changed = true;
        }
    }
    if (has_changed) {
        event(o, OW_EVENT_SWITCH, rule->target, rule->element);
    }
    return has_changed;
}

static void engine_starts(OwOracle *o) {
    OwSwitches *now = &o->system->now;
    now->engine = OW_ENGINE_RUNNING;
    if (now->start_s < 0.0) {
        now->start_s = o->time_s;
    } else {
        // The drive waited for this start; a nanosecond on, so that it is past the jump.
        now->start_s += o->time_s - o->key_s - 1e-9;
    }
    o->stage = DRIVE;
    o->run_s = now->run_s = o->time_s;
    o->stop_s = now->start_s + o->plan->drive.length_s;
    for (int i = o->plan->drive.count - 1; i >= 0; i--) {
        const OwDrivePoint *p = &o->plan->drive.points[i];
        if (!p->engine_on && now->start_s + p->time_s > o->time_s + 1e-8) {
            o->stop_s = now->start_s + p->time_s;
        }
    }
    event(o, OW_EVENT_START, -1, -1);
}

static void turn_key(OwOracle *o) {
    const OwDriveSpec *drive = &o->plan->rig->drive;
    o->stage = WAIT;
    o->key_s = o->stage_s = o->time_s;
    o->attempts_left = drive->attempts < 1 ? 1 : drive->attempts;
    o->is_ready = false;
    memset(o->rule_is_spent, 0, (size_t)o->plan->rig->rule_count * sizeof *o->rule_is_spent);
    ow_system_key(o->system, true);
    event(o, OW_EVENT_KEY_ON, -1, -1);
}

static void crank(OwOracle *o) {
    o->stage = CRANK;
    o->stage_s = o->time_s;
    o->attempts_left--;
    o->system->now.engine = OW_ENGINE_CRANKING;
    event(o, OW_EVENT_CRANK, -1, -1);
}

static bool crank_ends(OwOracle *o) {
    const double *y = data_of(o->y);
    ow_system_evaluate(o->system, o->time_s, y, &o->eval);
    if (inlet_kinematic(o, y) <= o->plan->rig->limits.start_kinematic_m2_s &&
        o->eval.burned_m3_s >= 0.8 * o->eval.in.fuel_m3_s) {
        engine_starts(o);
        return true;
    }
    event(o, OW_EVENT_NO_START, -1, -1);
    o->system->now.engine = OW_ENGINE_OFF;
    o->stage_s = o->time_s;
    o->stage = o->attempts_left > 0 ? PAUSE : OVER;
    if (o->stage == OVER) {
        o->until_s = o->time_s;
        event(o, OW_EVENT_GAVE_UP, -1, -1);
    }
    return true;
}

static bool drive_on(OwOracle *o) {
    int hint = 0;
    OwDrivePoint point;
    const double drive_s = o->time_s - o->system->now.start_s;
    ow_drive_at(&o->plan->drive, drive_s + 1e-9, &hint, &point);
    if ((!o->is_leg_known || point.leg != o->leg) && drive_s < o->plan->drive.length_s - 1e-9) {
        o->is_leg_known = true;
        o->leg = point.leg;
        event(o, OW_EVENT_LEG, -1, -1);
    }
    const bool is_running = o->system->now.engine == OW_ENGINE_RUNNING;
    if (is_running && !point.engine_on) {
        o->system->now.engine = OW_ENGINE_OFF;
        ow_system_key(o->system, false);
        event(o, OW_EVENT_STOP, -1, -1);
        return true;
    }
    if (!is_running && point.engine_on) {
        turn_key(o);
        return true;
    }
    return false;
}

static bool driver(OwOracle *o, bool is_ready_now) {
    const OwDriveSpec *drive = &o->plan->rig->drive;
    const double now_s = o->time_s + 1e-9;
    if (o->stage == WAIT) {
        if (is_ready_now && !o->is_ready) {
            o->is_ready = true;
            event(o, OW_EVENT_READY, o->plan->pump_part, -1);
        }
        if (now_s >= o->key_s + drive->earliest_start_s &&
            (o->is_ready || now_s >= o->key_s + drive->ready_wait_s)) {
            crank(o);
            return true;
        }
        return false;
    }
    if (o->stage == CRANK) {
        return now_s >= o->stage_s + fmax(drive->crank_s, 0.5) && crank_ends(o);
    }
    if (o->stage == PAUSE) {
        if (now_s >= o->stage_s + fmax(drive->pause_s, 0.5)) {
            crank(o);
            return true;
        }
        return false;
    }
    return o->stage == DRIVE && drive_on(o);
}

/// What is due now: a root that CVODE found (`found`), or a value already past.
static bool happen(OwOracle *o, const int *found) {
    double g[64];
    (void)roots(o->time_s, o->y, g, o);
    bool has_changed = ow_system_valves_arrive(o->system, o->time_s);
    int at = 0;
    for (int s = 0; s < o->plan->sensor_count; s++, at++) {
        if ((found && found[at]) || g[at] > 1e-9) {
            const OwPlanElement *place;
            (void)element_of_sensor(o, s, &place);
            bool *is_closed = &o->system->now.thermostat_closed[s];
            *is_closed = !*is_closed;
            event(o, *is_closed ? OW_EVENT_THERMOSTAT_CLOSES : OW_EVENT_THERMOSTAT_OPENS, place->part,
                  place->index);
            has_changed = true;
        }
    }
    const int first_rule = at;
    const int ready = first_rule + o->plan->rig->rule_count;
    has_changed |= driver(o, (found && found[ready]) || g[ready] > 1e-12);
    for (int r = 0; r < o->plan->rig->rule_count; r++) {
        const OwRule *rule = &o->plan->rig->rules[r];
        const bool is_due = feels_temperature(rule)
                                ? (found && found[first_rule + r]) || g[first_rule + r] > 1e-9
                                : due_time(o, rule) <= o->time_s + 1e-9;
        if (is_due && !o->rule_is_spent[r]) {
            o->rule_is_spent[r] = true;
            has_changed |= obey(o, rule);
        }
    }
    return has_changed;
}

static bool set_up(OwOracle *o) {
    const int n = o->plan->state_count;
    const OwOracleSettings *s = &o->settings;
    o->roots = o->plan->sensor_count + o->plan->rig->rule_count + 1;
    if (o->roots > 64 || SUNContext_Create(NULL, &o->context) != 0) {
        return false;
    }
    o->y = N_VNew_Serial(n, o->context);
    o->tolerance = N_VNew_Serial(n, o->context);
    o->found = calloc((size_t)o->roots, sizeof *o->found);
    o->rule_is_spent = calloc((size_t)o->plan->rig->rule_count + 1, sizeof *o->rule_is_spent);
    o->cvode = CVodeCreate(CV_BDF, o->context);
    o->jacobian = ow_jacobian_create(o->plan);
    if (!o->y || !o->tolerance || !o->found || !o->rule_is_spent || !o->cvode || !o->jacobian) {
        return false;
    }
    double *tolerance = data_of(o->tolerance);
    for (int i = 0; i < n; i++) {
        const bool is_battery = i >= o->plan->battery_at && i < o->plan->share_at;
        const double share = is_battery ? (i == o->plan->battery_at ? 1e-3 : 1.0) // charge, kelvin
                             : i < o->plan->tank_at  ? 1.0
                             : i < o->plan->share_at ? 1e-6
                                                     : 1e-2;
        tolerance[i] = i < o->plan->sum_at ? share * s->tolerance_k : 1.0;
    }
    ow_system_reset(o->system, o->plan->rig->climate.ambient_k, data_of(o->y));
    o->matrix = SUNSparseMatrix(n, n, ow_jacobian_count(o->jacobian), CSC_MAT, o->context);
    if (!o->matrix) {
        return false;
    }
    ow_jacobian_pattern(o->jacobian, SM_INDEXPTRS_S(o->matrix), SM_INDEXVALS_S(o->matrix));
    o->linear = SUNLinSol_KLU(o->y, o->matrix, o->context);
    bool is_good = o->linear && CVodeInit(o->cvode, slope, 0.0, o->y) == CV_SUCCESS;
    is_good = is_good && CVodeSVtolerances(o->cvode, 0.0, o->tolerance) == CV_SUCCESS;
    is_good = is_good && CVodeSetUserData(o->cvode, o) == CV_SUCCESS;
    is_good = is_good && CVodeSetLinearSolver(o->cvode, o->linear, o->matrix) == CV_SUCCESS;
    is_good = is_good && CVodeSetJacFn(o->cvode, jacobian) == CV_SUCCESS;
    is_good = is_good && CVodeRootInit(o->cvode, o->roots, roots) == CV_SUCCESS;
    is_good = is_good && CVodeSetMaxNumSteps(o->cvode, 2000000) == CV_SUCCESS;
    (void)CVodeSetNoInactiveRootWarn(o->cvode);
    int direction[64];
    for (int i = 0; i < o->roots; i++) {
        direction[i] = 1;
    }
    is_good = is_good && CVodeSetRootDirection(o->cvode, direction) == CV_SUCCESS;
    if (s->nonlinear > 0.0) {
        (void)CVodeSetNonlinConvCoef(o->cvode, s->nonlinear);
    }
    if (s->refresh > 0.0) {
        (void)CVodeSetDeltaGammaMaxLSetup(o->cvode, s->refresh);
    }
    if (s->jacobian_every > 0) {
        (void)CVodeSetJacEvalFrequency(o->cvode, s->jacobian_every);
    }
    if (s->most_order > 0) {
        (void)CVodeSetMaxOrd(o->cvode, s->most_order);
    }
    return is_good;
}

OwOracle *ow_oracle_create(const OwPlan *plan, const OwOracleSettings *settings) {
    OwOracle *o = calloc(1, sizeof *o);
    if (!o) {
        return NULL;
    }
    o->plan = plan;
    o->settings = *settings;
    o->arena = ow_arena_create();
    if (!o->arena || ow_system_create(plan, o->arena, &o->system) != OW_OK ||
        ow_system_eval_create(o->system, &o->eval) != OW_OK || !set_up(o)) {
        ow_oracle_destroy(&o);
    }
    return o;
}

static void gather(OwOracle *o) {
    long steps = 0, slopes = 0, jacobians = 0, factors = 0, root_calls = 0;
    (void)CVodeGetNumSteps(o->cvode, &steps);
    (void)CVodeGetNumRhsEvals(o->cvode, &slopes);
    (void)CVodeGetNumJacEvals(o->cvode, &jacobians);
    (void)CVodeGetNumLinSolvSetups(o->cvode, &factors);
    (void)CVodeGetNumGEvals(o->cvode, &root_calls);
    o->stats.steps += steps;
    o->stats.slopes += slopes;
    o->stats.jacobians += jacobians;
    o->stats.factors += factors;
    o->stats.roots += root_calls;
}

bool ow_oracle_run(OwOracle *o, double until_s, const double *times_s, int time_count, double *states) {
    const size_t size = (size_t)o->plan->state_count * sizeof(double);
    ow_system_reset(o->system, o->plan->rig->climate.ambient_k, data_of(o->y));
    o->time_s = 0.0;
    o->leg = -1;
    o->is_leg_known = false;
    o->event_count = 0;
    o->stats = (OwOracleStats){0};
    o->until_s = until_s > 0.0 ? until_s : 1e9;
    turn_key(o);
    for (int i = 0; i < 8 && happen(o, NULL); i++) {
    }
    if (CVodeReInit(o->cvode, 0.0, o->y) != CV_SUCCESS) {
        return false;
    }
    int sample = 0;
    while (o->time_s < o->until_s - 1e-9) {
        while (sample < time_count && times_s[sample] <= o->time_s + 1e-9) {
            memcpy(states + (size_t)sample++ * (size_t)o->plan->state_count, data_of(o->y), size);
        }
        const double stop = next_stop(o), hold_end = ow_system_hold_ends(o->system, o->time_s);
        const double target = sample < time_count ? fmin(stop, times_s[sample]) : stop;
        if (CVodeSetStopTime(o->cvode, stop) != CV_SUCCESS) {
            return false;
        }
        realtype reached;
        const int flag = CVode(o->cvode, target, o->y, &reached, CV_NORMAL);
        if (flag < 0) {
            gather(o);
            return false;
        }
        o->time_s = fabs(reached - stop) < 1e-9 ? stop : reached;
        const int *found = NULL;
        if (flag == CV_ROOT_RETURN) {
            (void)CVodeGetRootInfo(o->cvode, o->found);
            found = o->found;
        } else if (o->time_s < stop) {
            continue; // a sample, nothing due
        }
        // A sample at the very moment of a switch is taken before the switch acts: temperatures do not jump.
        const bool lets_go = stop == hold_end;
        bool has_jumped = happen(o, found);
        for (int i = 0; i < 8 && has_jumped && happen(o, NULL); i++) {
        }
        if (o->stage == DRIVE && until_s <= 0.0 &&
            o->time_s >= o->system->now.start_s + o->plan->drive.length_s - 1e-9) {
            break;
        }
        if (has_jumped || lets_go) {
            gather(o);
            o->stats.restarts++;
            if (CVodeReInit(o->cvode, o->time_s, o->y) != CV_SUCCESS) {
                return false;
            }
        }
    }
    gather(o);
    while (sample < time_count) {
        memcpy(states + (size_t)sample++ * (size_t)o->plan->state_count, data_of(o->y), size);
    }
    event(o, OW_EVENT_END, -1, -1);
    return true;
}

const OwOracleEvent *ow_oracle_events(const OwOracle *o, int *count) {
    *count = o->event_count;
    return o->events;
}

const double *ow_oracle_state(const OwOracle *o) {
    return data_of(o->y);
}

OwOracleStats ow_oracle_stats(const OwOracle *o) {
    return o->stats;
}

double ow_oracle_end_s(const OwOracle *o) {
    return o->time_s;
}

bool ow_oracle_dump(OwOracle *o, const char *path) {
    ow_system_evaluate(o->system, o->time_s, data_of(o->y), &o->eval);
    return ow_jacobian_dump(o->jacobian, o->system, &o->eval, data_of(o->y), path);
}

void ow_oracle_destroy(OwOracle **oracle) {
    OwOracle *o = *oracle;
    *oracle = NULL;
    if (!o) {
        return;
    }
    if (o->cvode) {
        CVodeFree(&o->cvode);
    }
    if (o->linear) {
        (void)SUNLinSolFree(o->linear);
    }
    if (o->matrix) {
        SUNMatDestroy(o->matrix);
    }
    if (o->y) {
        N_VDestroy(o->y);
    }
    if (o->tolerance) {
        N_VDestroy(o->tolerance);
    }
    ow_jacobian_destroy(&o->jacobian);
    if (o->context) {
        (void)SUNContext_Free(&o->context);
    }
    free(o->found);
    free(o->rule_is_spent);
    ow_arena_destroy(&o->arena);
    free(o);
}
