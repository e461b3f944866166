// SPDX-License-Identifier: GPL-3.0-or-later
// Private: one link prepared for a solve, and its flow with both slopes at given end pressures.
#ifndef OILWRIGHT_FLOW_LAWS_H
#define OILWRIGHT_FLOW_LAWS_H

#include "flow/curve.h"
#include "oilwright/flow.h"

/// Conductance of what is called shut: keeps the pressure behind a shut valve determined (m3/s per Pa).
#define OW_FLOW_LEAK 1e-18
/// Least resistance of a link, 0.1 Pa at 1e-5 m3/s: an ideal joint, still resolved in double precision.
#define OW_FLOW_LEAST_PA_S_M3 1e4

typedef enum OwLawKind {
    OW_LAW_LINEAR, ///< resistance only, with Churchill above `turbulent_flow`
    OW_LAW_SQUARE, ///< resistance and square loss, with Churchill above `turbulent_flow`
    OW_LAW_CHECK,  ///< resistance and square loss once pushed open; a leak back
    OW_LAW_PUMP,
    OW_LAW_LIFT,
    OW_LAW_TRANSFER,
    OW_LAW_DEMAND,
    OW_LAW_SOURCE,
    OW_LAW_CLOSED
} OwLawKind;

/// A link made ready for one solve: derived coefficients first, then the result of the last evaluation.
typedef struct OwLaw {
    OwLawKind kind;
    int from, to;                   ///< places in the pressure vector of the network
    double resistance, conductance; ///< the first at least OW_FLOW_LEAST_PA_S_M3; the second its inverse
    double square, resistance_squared, four_square;
    double static_pa;
    double leak;                        ///< OW_FLOW_LEAK, or more for a while in a hard solve
    double open_pa;                     ///< CHECK
    double drive, set_pa, inverse_band; ///< LIFT: full below set - band
    double turbulent_flow; ///< |Q| where Churchill begins to differ from 64/Re in double precision
    double solubility;
    double reynolds_per_flow, relative_roughness;
    double rise_at_rest_pa;   ///< PUMP at its present speed
    const OwPumpCurve *curve; ///< NULL for a straight line
    double state; ///< flow about which a square or turbulent law is made linear; start it at the last flow
    double flow, by_from, by_to; ///< Q, dQ/dp(from) >= 0, -dQ/dp(to) >= 0
} OwLaw;

/// Readies `law` from the caller's coefficients; keeps law->flow as a start value. `curve` is work space for
/// a pump curve. False when a coefficient is not finite.
bool ow_law_prepare(const OwLink *link, double air_solubility, OwPumpCurve *curve, OwLaw *law);
/// Absolute pressure where the fill begins to bend to nothing.
#define OW_FLOW_VACUUM_BEND_PA 500.0
/// Evaluates all links at the pressure vector, writes flow, by_from, by_to.
void ow_laws_evaluate(OwLaw *laws, int count, const double *pressure_pa);
/// The same, but with square and turbulent losses made linear about `state` instead of inverted: flow is then
/// one Newton step towards the law. Cheaper, and blind to how steep such laws are at rest. Writes by how much
/// flow and state differ at most beyond `relative` of the flow.
double ow_laws_linearise(OwLaw *laws, int count, const double *pressure_pa, double relative);

#endif
