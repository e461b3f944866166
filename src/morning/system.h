// SPDX-License-Identifier: GPL-3.0-or-later
// The equations of a morning: given a time, a state and the switches, everything that changes and how fast.
// The time loop steps them; an independent integrator can read the same equations through ow_system_slope.
#ifndef OILWRIGHT_MORNING_SYSTEM_H
#define OILWRIGHT_MORNING_SYSTEM_H

#include "morning/plan.h"

/// A valve on its way. `from` is what each side was open by when it set out.
typedef struct OwValveMove {
    bool is_moving;
    double begin_s, end_s, from[2];
} OwValveMove;

/// Everything that jumps: key, engine, switches, thermostats, valves.
typedef struct OwSwitches {
    bool is_key_on;
    OwEngineState engine;
    double start_s;          ///< morning time of the drive profile's zero; < 0 before the first start
    double run_s;            ///< morning time of the last start
    bool *element_on;        ///< commanded, plan elements
    bool *thermostat_closed; ///< plan sensors
    bool *part_on;           ///< rig parts: electric pumps
    int *position;           ///< rig parts: valves; where it stands or moves to
    OwValveMove *moves;      ///< rig parts: valves
} OwSwitches;

/// What the driver and the road ask at a time.
typedef struct OwInputs {
    double speed_m_s, engine_rad_s, fuel_m3_s, full_fuel_m3_s, coolant_heat_w, volts_v;
    int leg;
} OwInputs;

/// All rates at a state: frozen coefficients of the heat network and what goes with them.
typedef struct OwEval {
    OwHeatRates heat;
    OwInputs in;
    double *tank_m3_s;          ///< tanks: net inflow
    double *element_v, *part_v; ///< volts at each element and at each part's own load
    double battery_v, battery_rate_1_s, battery_rate_k_s; ///< wired network only
    double *element_w;                                    ///< plan elements: power now
    double burned_m3_s, heaters_w, pumps_w, trace_w, friction_w, bay_k, cabin_k;
    bool has_failed; ///< the flow solve did not converge
} OwEval;

/// Means over a chain at the state last evaluated.
typedef struct OwChainMean {
    double viscosity_pa_s, liquid_k, wall_k;
} OwChainMean;

typedef struct OwSystem {
    const OwPlan *plan;
    OwArena *arena;    ///< owned by the caller
    OwFlowNode *nodes; ///< own copies, so that plans are shared between threads
    OwLink *links;
    OwFlowNet *flow;
    OwHeatNet *heat;
    OwSwitches now;
    int drive_hint;
    int *element_of_sensor;
    OwChainMean *means;
    OwPowerInput power_input;
    OwPowerWork power_work;
    double *coil_w_k; ///< chains: conductance of a coil against a run, a cell
    double *coil_kg_s;
    long evaluations, flow_iterations, most_flow_iterations;
} OwSystem;

/// Builds the work space; all memory from the arena.
OwStatus ow_system_create(const OwPlan *plan, OwArena *arena, OwSystem **system);
OwStatus ow_system_eval_create(const OwSystem *system, OwEval *eval);
/// Key-off state at a uniform temperature: writes state_count values.
void ow_system_reset(OwSystem *system, double soak_k, double *y);
/// All switches as they stand when the key is turned on.
void ow_system_key(OwSystem *system, bool is_on);
/// Evaluates flows and coefficients at a state. The hydraulic result stays in system->nodes and links.
void ow_system_evaluate(OwSystem *system, double time_s, const double *y, OwEval *eval);
/// Solves the flows at the present coefficients: from the last solution, and where that does not settle from
/// rest through oils of ever less air. False when neither did.
bool ow_system_solve_flows(OwSystem *system);
/// One linearly implicit Euler sub-step with an evaluation made at (or before) y0. False when it broke down.
bool ow_system_step(OwSystem *system, const OwEval *eval, double step_s, const double *y0, double *y1);
/// Time derivative of the whole state for the evaluation at y.
void ow_system_slope(const OwSystem *system, const OwEval *eval, const double *y, double *slope);
/// Volts at every load, from the wired network or from the rig's simple figures (electric.c).
void ow_system_volts(OwSystem *system, double time_s, const double *y, OwEval *eval);
/// Resistance of an element at its temperature, ohm, and the share by which it rises per kelvin.
double ow_system_element_ohm(const OwPlanElement *element, double element_k, double *falls_1_k);
/// Commanded, and its thermostat closed.
bool ow_system_element_is_on(const OwSystem *system, int e);
/// Next moment at which a hold-on timer lets go, INFINITY for none.
double ow_system_hold_ends(const OwSystem *system, double time_s);
/// Puts a valve where it stands, without travel.
void ow_system_set_valve(OwSystem *system, int part, int position);
/// Sends a valve to another position, from wherever it is now. False when it is there or on its way there.
bool ow_system_move_valve(OwSystem *system, int part, int position, double time_s);
/// Share of its bore by which side 1 (a) or 2 (b) is open, 0..1: straight with time while the valve moves
/// (common practice, no source).
double ow_system_valve_open(const OwSystem *system, int part, int port, double time_s);
/// Pressure drop over density and flow squared of a side open by a share x > 0 of its bore's area A, 1/m4:
/// its own loss on the velocity in what is open, and the jet's sudden widening behind it (Borda and Carnot;
/// White, sudden expansion): (K / x^2 + (1/x - 1)^2) / (2 A^2).
double ow_valve_square(const OwValve *valve, double open);
/// When the next moving valve arrives, INFINITY when all stand.
double ow_system_valves_end(const OwSystem *system);
/// Ends the moves that are due. True when any was.
bool ow_system_valves_arrive(OwSystem *system, double time_s);
/// Oil temperature that a rule or sensor sees in a part, or the coolant's.
double ow_system_watched(const OwSystem *system, int watch, const double *y);
/// Dynamic viscosity of the oil of a lump, Pa s.
double ow_system_viscosity(const OwSystem *system, const double *y, int lump);
/// Density of the oil of a lump, kg/m3.
double ow_system_density(const OwSystem *system, const double *y, int lump);
/// Share of the second fluid in a lump or chain cell.
static inline double ow_system_share(const OwSystem *system, const double *y, int state) {
    return system->plan->fluid_count > 1 ? y[system->plan->share_at + state] : 0.0;
}

#endif
