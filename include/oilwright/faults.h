// SPDX-License-Identifier: GPL-3.0-or-later
// Every single failure of every part, put into the rig and run: strands, limps, unnoticed or dangerous, and
// what to do at the roadside.
#ifndef OILWRIGHT_FAULTS_H
#define OILWRIGHT_FAULTS_H

#include "oilwright/finding.h"

/// One kind of failure each; the key is the stable name in JSON.
#define OW_FAILURE_LIST(X)                                                                                   \
    X(OW_FAILURE_HEATER_DEAD, "heater_dead", "burnt out")                                                    \
    X(OW_FAILURE_HEATER_STUCK, "heater_stuck_on", "stuck on")                                                \
    X(OW_FAILURE_HEATER_NEVER_OFF, "relay_welded", "on with the key off")                                    \
    X(OW_FAILURE_THERMOSTAT_OPEN, "thermostat_open", "thermostat stays open")                                \
    X(OW_FAILURE_THERMOSTAT_WELDED, "thermostat_welded", "thermostat welded shut")                           \
    X(OW_FAILURE_PUMP_DEAD, "pump_dead", "does not turn")                                                    \
    X(OW_FAILURE_LIFT_PUMP_DEAD, "lift_pump_dead", "diaphragm torn")                                         \
    X(OW_FAILURE_VALVE_STUCK, "valve_stuck", "stuck")                                                        \
    X(OW_FAILURE_FILTER_PLUGGED, "filter_plugged", "plugged")                                                \
    X(OW_FAILURE_FUSE_OPEN, "fuse_open", "fuse open")                                                        \
    X(OW_FAILURE_MAIN_FUSE_OPEN, "main_fuse_open", "main fuse open")                                         \
    X(OW_FAILURE_EARTH_LOST, "earth_lost", "earth lost")                                                     \
    X(OW_FAILURE_BODY_EARTH_LOST, "body_earth_lost", "common earth lost")                                    \
    X(OW_FAILURE_ALTERNATOR_DEAD, "alternator_dead", "alternator dead")                                      \
    X(OW_FAILURE_AIR_LEAK, "air_leak", "draws air")                                                          \
    X(OW_FAILURE_OIL_LEAK, "oil_leak", "leaks oil")                                                          \
    X(OW_FAILURE_HOSE_KINKED, "hose_kinked", "kinked or swollen shut")                                       \
    X(OW_FAILURE_COIL_OFF, "coil_off", "coolant side blocked")                                               \
    X(OW_FAILURE_COOLANT_LOST, "coolant_lost", "coolant lost")                                               \
    X(OW_FAILURE_ENGINE_COLD, "engine_thermostat_open", "engine thermostat stays open")                      \
    X(OW_FAILURE_TANK_GELLED, "tank_gelled", "gelled")                                                       \
    X(OW_FAILURE_TANK_EMPTY, "tank_empty", "runs empty")                                                     \
    X(OW_FAILURE_PICKUP_CLOGGED, "pickup_clogged", "pick-up clogged")                                        \
    X(OW_FAILURE_PETROL, "petrol", "petrol filled in")                                                       \
    X(OW_FAILURE_OTHER_FUEL, "other_fuel", "wrong fuel")                                                     \
    X(OW_FAILURE_CHECK_SHUT, "check_stuck_shut", "stuck shut")                                               \
    X(OW_FAILURE_CHECK_OPEN, "check_stuck_open", "stuck open")                                               \
    X(OW_FAILURE_RELIEF_SHUT, "relief_stuck_shut", "stuck shut")                                             \
    X(OW_FAILURE_RELIEF_OPEN, "relief_stuck_open", "stuck open")                                             \
    X(OW_FAILURE_ORIFICE_BLOCKED, "orifice_blocked", "blocked")                                              \
    X(OW_FAILURE_INJECTION_PUMP_DEAD, "injection_pump_dead", "seized or broken")

typedef enum OwFailureKind {
#define OW_FAILURE_ENUM(code, key, text) code,
    OW_FAILURE_LIST(OW_FAILURE_ENUM)
#undef OW_FAILURE_ENUM
        OW_FAILURE_KIND_COUNT
} OwFailureKind;

/// In rising order of harm; the worse of cold start and motorway counts.
typedef enum OwFailureClass {
    OW_CLASS_UNNOTICED, ///< the drive is as before; a gauge may show it
    OW_CLASS_LIMPS,     ///< goes on with less power, thicker oil, or a later start
    OW_CLASS_STRANDS,   ///< does not start, stops on the way, or will not start next time
    OW_CLASS_DANGEROUS, ///< can burn, or ruin what it touches, while it still seems to work
    OW_CLASS_COUNT
} OwFailureClass;

/// What the driver's gauges show at one moment, here and on the healthy vehicle.
typedef struct OwGauges {
    bool is_known;
    double time_s; ///< from key on
    double inlet_k, healthy_inlet_k, inlet_pa, healthy_inlet_pa, volts_v, healthy_volts_v, load_a,
        healthy_load_a;
} OwGauges;

/// One failure and its consequences. Numbers that are unknown are negative where said, texts may be empty.
typedef struct OwFailure {
    OwFailureKind kind;
    int part, element; ///< -1 = none
    double size;       ///< share of the capacity used, hole in m, valve position; 0 where it has none
    char name[128];    ///< "rear pump does not turn"
    OwFailureClass outcome;
    OwFailureClass cold, road; ///< there when the key is turned; on the motorway
    OwFinding verdict;         ///< number, limit, margin and part that decided; its text is the reason
    bool is_simulated;         ///< false: judged by rule alone
    char scene[32];            ///< where it was worst: "cold start", "motorway", "key left on", "next start"
    double felt_s, gauge_s;    ///< from key on until the driver feels it, a gauge shows it; < 0 never
    double starts_s;           ///< when the failure began, from key on; 0 = before
    char noticed[96];          ///< by what
    OwGauges gauges;
    const char *remedy, *spare; ///< at the roadside; common practice, no source
    double minutes;             ///< to do that
    int run;                    ///< failures with equal effect share a run, -1 = not run
    bool is_as_unbroken; ///< it does not start, as it does not unbroken: no news of this failure; not in the
                         ///< score
} OwFailure;

/// One line of the score's arithmetic: `count` times `weight` is taken off 100.
typedef struct OwScoreLine {
    const char *what;
    double count, weight, points;
} OwScoreLine;

#define OW_SCORE_LINES 6
typedef struct OwServiceScore {
    OwScoreLine lines[OW_SCORE_LINES];
    int line_count;
    double score; ///< 100 less all lines, not below 0
    int parts, off_the_shelf, single_points;
    double mean_minutes, most_minutes; ///< to put right a part that strands or limps
    int slowest_part;
} OwServiceScore;

typedef struct OwFailureSettings {
    double soak_k;       ///< 0 = ambient
    int threads;         ///< 1..16, default 2
    double waits_late_s; ///< a start later than the healthy one by this much is a limp, default 60 s
    /// Called with the share done, 0..1, never from two threads at once; false ends the walk with
    /// OW_ERROR_USE. May be NULL.
    bool (*progress)(void *context, double share);
    void *context;
} OwFailureSettings;
OwFailureSettings ow_failure_default(void);

/// All single failures of a rig. Owned by the caller.
typedef struct OwFailureWalk {
    const OwRig *rig;
    OwDisplay display;
    OwFailure *failures; ///< in the order of the parts
    int failure_count;
    int count[OW_CLASS_COUNT];
    int as_unbroken;      ///< of those that strand: the vehicle does not start unbroken either
    bool is_healthy_good; ///< the unbroken vehicle starts and drives within its limits
    OwFinding healthy;    ///< and what it does
    char headline[OW_ANSWER_TEXT];
    OwServiceScore score;
    int runs; ///< mornings simulated
    OwArena *arena;
} OwFailureWalk;

/// Breaks one thing after another and runs a cold start (the rig's own drive, its first ten minutes after the
/// longest wait) and a motorway leg (idle, 5 min at 50 km/h, 10 min at 110 km/h, 10 min idle in a queue) for
/// each. A rig whose plan cannot be made gives OW_ERROR_VALUE with faults. OW_ERROR_MEMORY, OW_ERROR_USE. The
/// rig must outlive the walk. The answer does not depend on the number of threads.
OwStatus ow_failure_create(const OwRig *rig, const OwFailureSettings *settings, OwDisplay display,
                           OwFailureWalk **walk, OwFaults *faults);
void ow_failure_destroy(OwFailureWalk **walk);
/// First failure of that kind at that part (part -1: any), NULL when there is none.
const OwFailure *ow_failure_find(const OwFailureWalk *walk, OwFailureKind kind, int part);
const char *ow_failure_key(OwFailureKind kind);
/// "unnoticed", "limps", "strands", "dangerous".
const char *ow_failure_class_text(OwFailureClass outcome);
/// A vehicle of standard parts: hoses, filters, pumps, valves are; chambers, coils, heated tanks are made to
/// fit.
bool ow_failure_is_stock(const OwPart *part);

/// Air drawn through a hole into a suction, m3/s at 1 atm: isothermal filling through an orifice of
/// coefficient 0.6, choked below 0.528 of the outer pressure (Saint-Venant & Wantzel 1839). 0 when the inside
/// is not below the air.
double ow_failure_air_flow(double hole_m, double inside_gauge_pa);
/// Ostwald coefficient that gives a suction the same filling as dissolved air plus that much drawn air:
/// s + qa/q p0 / (p0 - p), with ow_flow_fill's law. Held within 0.01..10.
double ow_failure_air_solubility(double solubility, double air_m3_s, double oil_m3_s, double gauge_pa);

#endif
