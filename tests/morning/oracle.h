// SPDX-License-Identifier: GPL-3.0-or-later
// An independent run of a morning: the same equations (ow_system_evaluate and ow_system_slope) given to
// SUNDIALS CVODE (Hindmarsh et al. 2005, ACM TOMS 31:363) with its own root finding for every switch and its
// own driver.
#ifndef OILWRIGHT_TESTS_ORACLE_H
#define OILWRIGHT_TESTS_ORACLE_H

#include "morning/system.h"

typedef struct OwOracleSettings {
    double tolerance_k;    ///< absolute tolerance of temperatures; shares a hundredth, tanks 1e-6 of it
    bool stops_at_corners; ///< step exactly to every corner of the drive, else only where something jumps
    double nonlinear;      ///< coefficient of the nonlinear convergence test, 0 = CVODE's own
    double refresh;        ///< relative change of gamma that renews the Jacobian's factors, 0 = CVODE's own
    int jacobian_every;    ///< steps between Jacobians, 0 = CVODE's own
    int most_order;        ///< of the BDF, 0 = 5
} OwOracleSettings;

typedef struct OwOracleEvent {
    double time_s;
    OwEventKind kind;
    int part, element;
} OwOracleEvent;

enum { OW_ORACLE_EVENTS = 512 };

typedef struct OwOracleStats {
    long steps, slopes, jacobians, factors, roots, restarts;
} OwOracleStats;

typedef struct OwOracle OwOracle;

/// All memory is taken here; NULL when anything is missing. The plan must outlive it.
OwOracle *ow_oracle_create(const OwPlan *plan, const OwOracleSettings *settings);
/// Runs from key on to `until_s` (0: the end of the drive). `states` receives state_count values for each of
/// the rising times; both may be NULL. False when CVODE failed.
bool ow_oracle_run(OwOracle *oracle, double until_s, const double *times_s, int time_count, double *states);
const OwOracleEvent *ow_oracle_events(const OwOracle *oracle, int *count);
/// The state at the end of the run.
const double *ow_oracle_state(const OwOracle *oracle);
OwOracleStats ow_oracle_stats(const OwOracle *oracle);
double ow_oracle_end_s(const OwOracle *oracle);
void ow_oracle_destroy(OwOracle **oracle);

/// Writes the frozen equations at the oracle's present state as text: n, entries of the Jacobian, slope,
/// state.
bool ow_oracle_dump(OwOracle *oracle, const char *path);

#endif
