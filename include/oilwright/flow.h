// SPDX-License-Identifier: GPL-3.0-or-later
// Steady pressures and flows in a network of fuel parts.
#ifndef OILWRIGHT_FLOW_H
#define OILWRIGHT_FLOW_H

#include "oilwright/base.h"

/// How a link's flow depends on the pressures at its ends. All laws are monotone and smooth to the first
/// derivative. `d` below is p(from) - p(to) - static. Whatever shuts still leaks 1e-18 m3/s per Pa, so that
/// every pressure is determined; the least resistance of any link is 1e4 Pa s/m3 (0.1 Pa at 1e-5 m3/s), the
/// greatest 1e17.
typedef enum OwLinkLaw {
    OW_LINK_PIPE,   ///< laminar part scaled by Churchill 1977, plus square minor loss and a static head
    OW_LINK_DARCY,  ///< linear resistance (filter, screen, laminar passage) plus square loss and static head
    OW_LINK_CHECK,  ///< DARCY on d - `set_pa`, shut below it; the first 200 Pa over it are rounded
    OW_LINK_RELIEF, ///< the same law: opens where d passes `set_pa`, then `linear` (and `square`)
    OW_LINK_PUMP, ///< pressure source drive * h(Q / drive) - linear Q - square Q^2, h from `stall_pa` at rest
                  ///< to 0 at `free_flow_m3_s` or through the curve's points; times fill of the inlet; lets
                  ///< nothing back. Off (drive <= 1e-6): a CHECK with `linear` and `square` when
                  ///< `passes_when_off`, else CLOSED
    OW_LINK_LIFT, ///< `drive` * fill(from), falling over the last 30 % of `set_pa` to 0 as the outlet's gauge
                  ///< pressure reaches it (at least over 1 kPa), plus a forward by-pass through its two
                  ///< valves (a CHECK)
    OW_LINK_TRANSFER, ///< `drive` * fill(from) (positive displacement); over a rise of 20 bar it slips, all
                      ///< within 5 bar more
    OW_LINK_DEMAND,   ///< takes `drive` * fill(from) out of the network (to = -1); a negative drive feeds in,
                      ///< up to 20 bar
    OW_LINK_CLOSED    ///< a shut valve: only a leak
} OwLinkLaw;

#define OW_FLOW_CURVE 12

/// A link between two nodes with its present coefficients. The caller rewrites coefficients between solves.
typedef struct OwLink {
    OwLinkLaw law;
    int from, to;                    ///< node indices; `to` is -1 for a demand
    int part;                        ///< the rig part, for messages
    double linear_pa_s_m3;           ///< laminar or Darcy resistance at the present viscosity, >= 0
    double square_pa_s2_m6;          ///< square-law loss, >= 0 (already times density)
    double static_pa;                ///< pressure rise wanted to go from -> to: density * g * rise
    double drive;                    ///< flow (m3/s) of lift, transfer, demand; 0..1 speed factor of a pump
    double set_pa;                   ///< opening or limiting gauge pressure
    double stall_pa, free_flow_m3_s; ///< pump line; free flow already reduced for viscosity
    int curve_count;                 ///< pump curve points, 0 = straight line
    double curve_flow_m3_s[OW_FLOW_CURVE], curve_pa[OW_FLOW_CURVE];
    bool passes_when_off;
    double bore_m, roughness_m, kinematic_m2_s, density_kg_m3; ///< for Churchill
    // results
    double flow_m3_s; ///< from -> to
    double drop_pa;   ///< p(from) - p(to)
} OwLink;

/// A node; fixed nodes have a given pressure (tanks), free nodes are solved. Pressures are gauge.
typedef struct OwFlowNode {
    bool is_fixed;
    double pressure_pa;    ///< gauge; start value on entry, result on return
    double air_solubility; ///< Ostwald coefficient used for the fill of suction at this node
    double imbalance_m3_s;
} OwFlowNode;

/// The network and its work space.
typedef struct OwFlowNet OwFlowNet;

/// Share of liquid in a suction at absolute pressure p: 1 / (1 + s (p0 - p)/p) below p0, 1 above; Henry's law
/// with air in equilibrium at p0 = 101325 Pa. Bent smoothly over the last 2000 Pa below p0 and the first 500
/// Pa above vacuum. Writes d(fill)/dp when `slope` is not NULL. Valid for any gauge pressure; 0 at and below
/// vacuum; `s` is taken within 0.01..10.
double ow_flow_fill(double gauge_pa, double air_solubility, double *slope);
/// Darcy friction factor, Churchill 1977, Chem. Eng. 84(24):91; Re > 0 (below 1e-9 that is used), relative
/// roughness 0..0.05 (the nearest end outside it).
double ow_flow_friction(double reynolds, double relative_roughness);
/// Pressure drop p(from)-p(to) of a PIPE or DARCY link at a finite flow, static head included, and its slope
/// (may be NULL).
double ow_flow_drop(const OwLink *link, double flow_m3_s, double *slope);

/// Builds the network over caller-owned arrays that must outlive it (all coefficients and laws may change
/// between solves, topology and `is_fixed` may not; two nets must not share arrays). OW_ERROR_USE for a link
/// that names no node, joins a node to itself, or has `to` = -1 without being a DEMAND. A piece without a
/// fixed node is held to the air by 1e-18 m3/s per Pa.
OwStatus ow_flow_create(OwFlowNode *nodes, int node_count, OwLink *links, int link_count, OwArena *arena,
                        OwFlowNet **net);
/// Solves mass balance at every free node by Newton from the present pressures and flows: to 1e-12 m3/s or
/// 1e-10 of the largest flow (a start is kept only at 1e-14). Full steps first; if 8 do not settle, damped
/// ones with line search, proximal points, and a search for the level of a nearly closed loop; the work is
/// bounded (2000 steps; hardly ever above 100) and nothing is allocated.
/// What then still balances to 2e-11 m3/s only, the size of leaks, counts as solved. A pressure below vacuum
/// stands only in a sealed pocket, where nothing but leaks flows, or by its static head at a point above a
/// starving suction (air comes out in pumps only, not on the way): read it as vacuum. OW_ERROR_VALUE for a
/// coefficient or pressure that is not finite; OW_ERROR_NO_SOLUTION leaves the last point and names the worst
/// node in ow_flow_worst.
OwStatus ow_flow_solve(OwFlowNet *net);
/// Node with the largest imbalance after a failed solve, and a link that touches it.
void ow_flow_worst(const OwFlowNet *net, int *node, int *link);
/// Newton iterations of the last solve.
int ow_flow_iterations(const OwFlowNet *net);

#endif
