// SPDX-License-Identifier: GPL-3.0-or-later
// Steady pressures and flows in a network of fuel parts.
#ifndef OILWRIGHT_FLOW_H
#define OILWRIGHT_FLOW_H

#include "oilwright/base.h"

/// How a link's flow depends on the pressures at its ends. All laws are monotone and smooth to the first derivative.
typedef enum OwLinkLaw {
    OW_LINK_PIPE,      ///< laminar part scaled by Churchill 1977, plus square minor loss and a static head
    OW_LINK_DARCY,     ///< linear resistance (filter, screen, laminar passage) plus square loss and static head
    OW_LINK_CHECK,     ///< DARCY that opens above `set_pa` and lets only a leak back
    OW_LINK_RELIEF,    ///< opens above `set_pa`, then `linear` slope
    OW_LINK_PUMP,      ///< pressure source that falls with flow: curve or line, scaled by `drive`
    OW_LINK_LIFT,      ///< flow `drive` times fill of the inlet, limited by outlet pressure `set_pa`; passes forward when pushed
    OW_LINK_TRANSFER,  ///< flow `drive` times fill of the inlet (positive displacement)
    OW_LINK_DEMAND,    ///< takes `drive` times fill of `from` out of the network (to = -1)
    OW_LINK_CLOSED     ///< a shut valve: only a leak
} OwLinkLaw;

#define OW_FLOW_CURVE 12

/// A link between two nodes with its present coefficients. The caller rewrites coefficients between solves.
typedef struct OwLink {
    OwLinkLaw law;
    int from, to;        ///< node indices; `to` is -1 for a demand
    int part;            ///< the rig part, for messages
    double linear_pa_s_m3; ///< laminar or Darcy resistance at the present viscosity, >= 0
    double square_pa_s2_m6;///< square-law loss, >= 0 (already times density)
    double static_pa;    ///< pressure rise wanted to go from -> to: density * g * rise
    double drive;        ///< flow (m3/s) of lift, transfer, demand; 0..1 speed factor of a pump
    double set_pa;       ///< opening or limiting gauge pressure
    double stall_pa, free_flow_m3_s; ///< pump line; free flow already reduced for viscosity
    int curve_count;     ///< pump curve points, 0 = straight line
    double curve_flow_m3_s[OW_FLOW_CURVE], curve_pa[OW_FLOW_CURVE];
    bool passes_when_off;
    double bore_m, roughness_m, kinematic_m2_s, density_kg_m3; ///< for Churchill
    // results
    double flow_m3_s;    ///< from -> to
    double drop_pa;      ///< p(from) - p(to)
} OwLink;

/// A node; fixed nodes have a given pressure (tanks), free nodes are solved. Pressures are gauge.
typedef struct OwFlowNode {
    bool is_fixed;
    double pressure_pa;  ///< gauge; start value on entry, result on return
    double air_solubility; ///< Ostwald coefficient used for the fill of suction at this node
    double imbalance_m3_s;
} OwFlowNode;

/// The network and its work space.
typedef struct OwFlowNet OwFlowNet;

/// Share of liquid in a suction at absolute pressure p: 1 / (1 + s (p0 - p)/p) below p0, 1 above, smoothed at p0; Henry's law with
/// air in equilibrium at p0. Writes d(fill)/dp when `slope` is not NULL. Valid for any gauge pressure; 0 at and below vacuum.
double ow_flow_fill(double gauge_pa, double air_solubility, double *slope);
/// Darcy friction factor, Churchill 1977, Chem. Eng. 84(24):91; Re > 0.
double ow_flow_friction(double reynolds, double relative_roughness);
/// Pressure drop p(from)-p(to) of a PIPE or DARCY link at a flow, and its slope.
double ow_flow_drop(const OwLink *link, double flow_m3_s, double *slope);

/// Builds the network over caller-owned arrays that must outlive it (all coefficients may change, topology may not).
OwStatus ow_flow_create(OwFlowNode *nodes, int node_count, OwLink *links, int link_count, OwArena *arena, OwFlowNet **net);
/// Solves mass balance by Newton with line search from the present pressures. Bounded work, no allocation.
/// OW_ERROR_NO_SOLUTION leaves the best point and names the worst node in ow_flow_worst.
OwStatus ow_flow_solve(OwFlowNet *net);
/// Node with the largest imbalance after a failed solve, and a link that touches it.
void ow_flow_worst(const OwFlowNet *net, int *node, int *link);
/// Newton iterations of the last solve.
int ow_flow_iterations(const OwFlowNet *net);

#endif
