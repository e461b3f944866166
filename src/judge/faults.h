// SPDX-License-Identifier: GPL-3.0-or-later
// What the walk through all failures shares: effects, scenes, facts of a run. Private.
#ifndef OW_JUDGE_FAULTS_H
#define OW_JUDGE_FAULTS_H

#include "judge/variant.h"
#include "oilwright/faults.h"

/// What a failure does to the rig; many failures do the same.
typedef enum OwEffect {
    OW_EFFECT_NONE, ///< healthy
    OW_EFFECT_ELEMENT_OFF,
    OW_EFFECT_ELEMENT_STUCK,
    OW_EFFECT_TRACE_OFF, ///< the electric trace along a hose or tube
    OW_EFFECT_PUMP_OFF,
    OW_EFFECT_LIFT_OFF,
    OW_EFFECT_ALL_OFF,   ///< every electric load
    OW_EFFECT_EARTH_OFF, ///< every electric load that is earthed to the body
    OW_EFFECT_VALVE_AT,  ///< size = position
    OW_EFFECT_LOADING,   ///< size = share of the capacity
    OW_EFFECT_NARROW,    ///< size = share of the bore left
    OW_EFFECT_COIL_OFF,
    OW_EFFECT_COOLANT_OFF,
    OW_EFFECT_ENGINE_COLD,
    OW_EFFECT_GELLED, ///< size = temperature at which the oil sets
    OW_EFFECT_EMPTY,
    OW_EFFECT_CLOGGED,
    OW_EFFECT_FLUID, ///< size = the other fluid of the rig, or OW_FILL_*
    OW_EFFECT_AIR,   ///< size = hole
    OW_EFFECT_NO_ALTERNATOR,
    OW_EFFECT_CHECK_SHUT,
    OW_EFFECT_CHECK_OPEN,
    OW_EFFECT_RELIEF_SHUT,
    OW_EFFECT_RELIEF_OPEN,
    OW_EFFECT_BLOCKED
} OwEffect;

/// What else may be filled in where the rig knows one fluid only.
enum { OW_FILL_OIL = 100, OW_FILL_DIESEL = 101 };

typedef enum OwScene { OW_SCENE_COLD, OW_SCENE_ROAD, OW_SCENE_LEFT_ON, OW_SCENE_COUNT } OwScene;

/// When the failure happens on the motorway, from the start of the engine.
#define OW_FAILURE_STRIKES_S 420.0
#define OW_FAILURE_SERVED 0.98 ///< below this share of the asked fuel the engine is starved

/// A viscosity counts as too thick past this share of its limit: less is no news to a driver. Assumed.
#define OW_FAILURE_THICK 1.05

/// A fuel hose for low pressure works at 0.35 MPa (SAE J30 R7, from memory); past this it may burst. Assumed.
#define OW_FAILURE_BURST_PA 1e6

/// What one run shows.
typedef struct OwFacts {
    bool is_known, has_started;
    double start_s, no_start_s, no_start_m2_s; ///< first failed start; viscosity at the last one
    double least_share, least_s, starved_s, first_starved_s; ///< fuel got over asked; seconds; when first
    double stalled_s;  ///< when the engine could no longer idle, < 0 never
    double full_share; ///< least share at full load once warmed up, 1 when not asked
    double thick_ratio, thick_s, thick_m2_s, thick_limit_m2_s,
        thick_for_s; ///< worst viscosity over its limit
    double lowest_pa, lowest_s, lowest_m3_s,
        least_fill; ///< deepest suction, when, flow there; liquid in the inlet
    int lowest_part;
    double over_k, over_s, over_value_k, over_limit_k; ///< worst excess over a part's rating
    int over_part;
    double high_pa, high_s; ///< highest pressure in a hose or tube
    int high_part;
    double oil_over_k, oil_value_k, oil_s;
    int oil_part;
    double coolant_k, coolant_hot_s; ///< hottest, and when it passed 115 degC (< 0 never)
    double airy_s;                   ///< seconds with less liquid in the pump inlet than allowed
    double charge_c, end_share, load_w, idle_m3_s, burned_m3, empty_s;
} OwFacts;

/// A thinned record kept for comparing gauges.
typedef struct OwTracePoint {
    double time_s, inlet_k, inlet_pa, volts_v, load_a, share;
    bool is_on, is_running;
} OwTracePoint;
#define OW_TRACE_POINTS 320
typedef struct OwTrace {
    OwTracePoint points[OW_TRACE_POINTS];
    int count;
} OwTrace;

typedef struct OwFailureRun {
    OwEffect effect;
    int part, element;
    double size;
    OwFacts facts[OW_SCENE_COUNT];
    OwTrace trace[OW_SCENE_COUNT];
    OwStatus status;
} OwFailureRun;

typedef struct OwFailureWork {
    OwFailureWalk *walk;
    const OwRig *rig;
    OwFailureSettings settings;
    OwFailureRun *runs; ///< runs[0] is the healthy vehicle
    int run_count, run_capacity, failure_capacity;
    bool is_full; ///< room was used up, which must not happen
    struct OwPower *power;
    bool is_board_part[256];              ///< electric load whose earth is the body, by part
    const OwFluid *fluids[OW_MAX_FLUIDS]; ///< of the healthy plan
    double *part_pa;                      ///< highest gauge pressure at each part on the healthy vehicle
} OwFailureWork;

/// Words for texts.
typedef struct OwFailureWords {
    char text[112];
} OwFailureWords;
OwFailureWords ow_failure_words(OwDisplay display, double si, OwQuantity quantity);

// faults_list.c
/// How many failures and runs a rig can have at most.
int ow_failure_room(const OwRig *rig);
/// Lists everything that can break. Needs the healthy run for where the suction is.
void ow_failure_list(OwFailureWork *work, const OwPlan *plan);
// faults_apply.c
/// Breaks a variant for a scene. Returns the failure's start after the engine's start, 0 = there from the
/// beginning.
double ow_failure_apply(const OwFailureWork *work, const OwFailureRun *run, OwScene scene,
                        OwVariant *variant);
// faults_run.c
/// Runs all scenes of runs first..count-1 in threads.
OwStatus ow_failure_run(OwFailureWork *work, int first);
// faults_facts.c
void ow_failure_facts(const OwRecord *record, OwFacts *facts, OwTrace *trace);
// faults_class.c
void ow_failure_judge(OwFailureWork *work, OwFailure *failure);
// faults_gauges.c
void ow_failure_notice(OwFailureWork *work, OwFailure *failure, OwScene scene);
// faults_remedy.c
void ow_failure_remedy(const OwRig *rig, OwFailure *failure);
// faults_score.c
void ow_failure_score(OwFailureWalk *walk);

#endif
