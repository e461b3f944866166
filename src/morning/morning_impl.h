// SPDX-License-Identifier: GPL-3.0-or-later
// The work space of the time loop; shared by its files, never installed.
#ifndef OILWRIGHT_MORNING_IMPL_H
#define OILWRIGHT_MORNING_IMPL_H

#include "morning/system.h"

#include <math.h>

/// Where the driver stands in the course of a morning.
typedef enum OwStage { OW_STAGE_WAIT, OW_STAGE_CRANK, OW_STAGE_PAUSE, OW_STAGE_DRIVE, OW_STAGE_OVER } OwStage;

struct OwMorning {
    const OwPlan *plan;
    OwMorningSettings settings;
    OwArena *arena;
    OwSystem *system;
    OwEval start, inside;       ///< rates at the start of the step, and within it
    double *y, *next, *half[3]; ///< state, result, rows of the extrapolation
    double time_s, until_s;

    OwStage stage;
    double stage_s;       ///< when the stage began
    double key_s, stop_s; ///< last key on, next stop
    int attempts_left;
    int leg;
    bool is_ready, is_airy, is_starved, is_empty;
    double recovered_s; ///< since when air or starvation is over, so that flicker is not told
    bool *rule_armed, *rule_done;
    double start_heat_j; ///< storage at the start, for the audit
    double start_tank_m3;

    int path[64], path_count; ///< parts on the way to the pump at the start positions
    double full_load_s;       ///< when the full-load question was last put
    OwFlowNode *saved_nodes;  ///< for the full-load question
    OwLink *saved_links;

    OwRecord record;
    int sample_capacity, event_capacity, stride, since_sample;
    char trouble[256];
};

// extrapolate.c
/// One trial step of length h from morning->y with morning->start: result in morning->next. Returns the error
/// over tolerance, or infinity when it broke down.
double ow_morning_try(OwMorning *morning, double step_s, int *order);

// events.c
/// Time of the next thing that is known beforehand, at most until_s.
double ow_morning_next_known(OwMorning *morning);
/// A watched value counts as arrived within the first of these, and may be passed by the second at the end of
/// a step, K: a tenth and a fifth of the tolerance, 1 and 2 mK at most.
static inline double ow_morning_arrived_k(const OwMorning *morning) {
    return 0.1 * fmin(fmax(morning->settings.tolerance_k, 1e-4), 1e-2);
}
static inline double ow_morning_overshoot_k(const OwMorning *morning) {
    return 2.0 * ow_morning_arrived_k(morning);
}
/// The watched thing (sensor, rule, ready) that first passes its level within a step, and the share of the
/// step at which it does; -1 when nothing does.
int ow_morning_crossing(const OwMorning *morning, double step_s, const double *y0, const double *y1,
                        double *share);
/// How far a watched thing is past its level at a state, K.
double ow_morning_past(const OwMorning *morning, int id, const double *y);
/// Lets everything happen that is due at this time and state. Returns true when anything switched.
bool ow_morning_happen(OwMorning *morning);
/// The driver turns the key: heaters and pumps come on, controls are armed, and he waits for ready.
void ow_morning_key_on(OwMorning *morning);
void ow_morning_event(OwMorning *morning, OwEventKind kind, int part, int element, double value);

// sample.c
/// Records the state after ow_system_evaluate into morning->start.
void ow_morning_sample(OwMorning *morning, bool is_forced);
double ow_morning_storage_j(const OwMorning *morning, const double *y);
/// Liquid share that the injection pump's inlet gets.
double ow_morning_inlet_fill(const OwMorning *morning);
double ow_morning_inlet_kinematic(const OwMorning *morning, const double *y);

#endif
