// SPDX-License-Identifier: GPL-3.0-or-later
// One simulated use of a rig: plan it once, run it, read the record.
#ifndef OILWRIGHT_MORNING_H
#define OILWRIGHT_MORNING_H

#include "oilwright/rig.h"

/// A rig compiled to arrays. Holds a pointer to the rig, which must outlive it. Read-only while running: many threads may run
/// mornings over one plan.
typedef struct OwPlan OwPlan;

/// Compiles a checked rig. OW_ERROR_VALUE with faults when the oil cannot be made or no path leads to the injection pump.
OwStatus ow_plan_create(const OwRig *rig, OwPlan **plan, OwFaults *faults);
/// The same for a rig that differs little from one already planned (studies): fluids described alike are taken over from `like`
/// instead of being made again. `like` may be NULL and may go afterwards.
OwStatus ow_plan_create_like(const OwRig *rig, const OwPlan *like, OwPlan **plan, OwFaults *faults);
void ow_plan_destroy(OwPlan **plan);
/// Sets the air that comes out in suction to another Ostwald coefficient than the first fluid's, all over the network (a hole that
/// draws air). Taken within 0.01..10; before any morning over this plan is created.
void ow_plan_set_air(OwPlan *plan, double air_solubility);
/// Number of unknown temperatures (and blend shares).
int ow_plan_state_count(const OwPlan *plan);
/// The fluids of the rig, in the order of its oil section.
const OwFluid *ow_plan_fluid(const OwPlan *plan, int index);
/// Parts in flow order from the tank to the injection pump at the start positions of the valves: fills up to `size` part indices
/// and returns how many there are. Parts off that path (return side) follow through ow_plan_return_path.
int ow_plan_path(const OwPlan *plan, int *parts, int size);
int ow_plan_return_path(const OwPlan *plan, int *parts, int size);

typedef struct OwMorningSettings {
    double soak_k;       ///< all metal and oil at key on; 0 = ambient of the rig
    double until_s;      ///< stop here; 0 = end of the drive
    double tolerance_k;  ///< local error aim in K, default 0.01
    double max_step_s;   ///< longest step, default 60
    double fixed_step_s; ///< > 0: fixed steps without error control (for convergence tests)
    int max_samples;     ///< record capacity; thinned evenly when it is full; default 2048
    bool has_full_load;  ///< also solve the full-load question at each sample (default true)
    /// Called now and then with the share done, 0..1; return false to stop early. May be NULL.
    bool (*progress)(void *context, double share);
    void *context;
} OwMorningSettings;

OwMorningSettings ow_morning_default(void);

typedef enum OwEngineState { OW_ENGINE_OFF, OW_ENGINE_CRANKING, OW_ENGINE_RUNNING } OwEngineState;

typedef enum OwEventKind {
    OW_EVENT_KEY_ON,
    OW_EVENT_READY,          ///< pump inlet within the start limits
    OW_EVENT_CRANK,
    OW_EVENT_START,          ///< the engine runs
    OW_EVENT_NO_START,       ///< an attempt ended without start; value = kinematic viscosity at the inlet
    OW_EVENT_GAVE_UP,        ///< all attempts used
    OW_EVENT_STOP,           ///< the driver stops the engine
    OW_EVENT_LEG,            ///< a leg begins; value = leg index
    OW_EVENT_THERMOSTAT_OPENS,
    OW_EVENT_THERMOSTAT_CLOSES,
    OW_EVENT_VALVE,          ///< value = new position
    OW_EVENT_SWITCH,         ///< element or pump switched by a control; value 1 on, 0 off
    OW_EVENT_AIR,            ///< fill at the injection pump inlet falls below the limit
    OW_EVENT_AIR_OVER,
    OW_EVENT_STARVED,        ///< delivered fuel falls below the request by more than 2 %
    OW_EVENT_STARVED_OVER,
    OW_EVENT_TANK_EMPTY,
    OW_EVENT_END
} OwEventKind;

typedef struct OwEvent {
    double time_s;
    OwEventKind kind;
    int part;    ///< -1 when none
    int element; ///< -1 when none
    double value;
} OwEvent;

/// A short phrase for an event kind.
const char *ow_event_text(OwEventKind kind);

/// State of one part at a sample. Pressures are gauge; flow is positive from first to second port. A valve's ends are its common
/// port and the side that its position opens (a when both or none).
typedef struct OwPartSample {
    double in_k, out_k;      ///< oil at the two ends
    double oil_max_k;        ///< hottest oil inside
    double wall_k;           ///< mean metal or wall
    double wall_max_k;       ///< hottest wall (for elements: the host metal)
    double element_max_k;    ///< hottest element, 0 when none
    double in_pa, out_pa;
    double flow_m3_s;
    double drop_pa;          ///< in_pa - out_pa, hydrostatics included
    double heat_w;           ///< electric or friction heat put into this part
    double coolant_w;        ///< heat from coolant into this part
    double gain_w;           ///< warming of the oil that passes: heat capacity rate times (out - in)
    double share;            ///< share of the second fluid at the outlet, 0..1
    double tank_m3, tank_share; ///< a tank: fuel in it, and the second fluid's share of all of that; else 0
    int position;            ///< valve position; for others 1 on, 0 off
} OwPartSample;

typedef struct OwSample {
    double time_s;           ///< from key on
    OwEngineState engine;
    bool is_key_on;
    int leg;                 ///< -1 before the drive
    double speed_m_s, engine_rad_s, coolant_k, block_k, bay_k;
    double fuel_request_m3_s, fuel_burned_m3_s;
    double full_request_m3_s, full_burned_m3_s; ///< the same question at full load at this engine speed, 0 when not asked
    double inlet_k, inlet_pa, inlet_kinematic_m2_s, inlet_dynamic_pa_s, inlet_fill, inlet_share; ///< at the injection pump inlet
    double gallery_k, gallery_pa;
    double lowest_pa;        ///< lowest pressure on the way to the pump
    int lowest_part;         ///< part at whose outlet (or inlet) it stands
    double heaters_w, pumps_w, charge_c; ///< electric load now, charge drawn from the battery since key on while the engine stood
    double volts_v;          ///< at the loads (fuse board)
    double battery_v, battery_share, battery_k; ///< at its posts, state of charge 0..1, temperature; 0 without described wiring
} OwSample;

/// Sums over the morning; storage change must equal heat in - loss - carried out, closing is their relative gap.
typedef struct OwAudit {
    double heat_in_j, loss_j, burned_j, storage_j, energy_gap; ///< gap relative to heat_in + loss + burned
    double burned_m3, tank_change_m3, volume_gap;
} OwAudit;

typedef struct OwRunStats {
    long steps, rejected, evaluations, flow_iterations, event_retries;
    long most_flow_iterations; ///< of one solution of the flows
    double shortest_step_s;
} OwRunStats;

/// What happened. Read-only for callers; arrays are owned by the record.
typedef struct OwRecord {
    const OwRig *rig;
    const OwPlan *plan;
    OwSample *samples;
    OwPartSample *parts; ///< sample-major: parts[sample * part_count + part]
    int sample_count, part_count;
    OwEvent *events;
    int event_count;
    bool has_started;
    double ready_s, start_s; ///< < 0 when it never happened
    double end_s;
    OwAudit audit;
    OwRunStats stats;
    char trouble[256]; ///< a plain sentence when the run ended early (flow without solution, tank empty), else empty
} OwRecord;

/// Runs a morning. A physically impossible design is a normal record, not an error. OW_ERROR_NO_SOLUTION only when bounded work
/// was used up; the record then holds what was reached and `trouble` says where.
OwStatus ow_morning_run(const OwPlan *plan, const OwMorningSettings *settings, OwRecord **record, OwFaults *faults);
void ow_record_destroy(OwRecord **record);

/// Work space for many mornings without new memory (studies, benchmarks): create once, run often.
typedef struct OwMorning OwMorning;
OwStatus ow_morning_create(const OwPlan *plan, const OwMorningSettings *settings, OwMorning **morning);
OwStatus ow_morning_repeat(OwMorning *morning);
/// The record of the last run, owned by the morning.
const OwRecord *ow_morning_record(const OwMorning *morning);
void ow_morning_destroy(OwMorning **morning);

#endif
