// SPDX-License-Identifier: GPL-3.0-or-later
// Private: the network's work space.
#ifndef OILWRIGHT_FLOW_NETWORK_H
#define OILWRIGHT_FLOW_NETWORK_H

#include "base/sparse.h"
#include "flow/laws.h"

/// Where a link's two slopes go in the matrix: (from,from), (from,to), (to,from), (to,to). An entry that has
/// no place (a fixed end) goes to one spare value behind the matrix, so that the assembly has no branches.
typedef struct OwLinkPlace {
    double *ff, *ft, *tf, *tt;
} OwLinkPlace;

/// Pressures stand in one vector: the `unknown_count` free nodes first, then the fixed ones, then the air
/// (index node_count).
struct OwFlowNet {
    OwFlowNode *nodes;
    OwLink *links;
    int node_count, link_count, unknown_count;
    int *place;   ///< caller's node -> place in the vectors
    int *node_at; ///< place -> caller's node
    OwLaw *laws;
    OwPumpCurve *curves; ///< one a link; read only for pumps
    OwLinkPlace *slots;
    double **diagonal; ///< one an unknown
    double *anchor;    ///< conductance to the air, above 0 only for one node of a piece without a fixed node
    int *first_touch;  ///< place -> first of its links in `touches`
    int *touches;
    OwSparse *matrix;
    double spare;
    double *pressure, *trial, *imbalance, *move;
    double *held, hold;         ///< last pressures and the conductance that ties to them, for a hard solve
    int pin;                    ///< place held at a level for a while, -1 none
    double pin_pa, pin_m3_s_pa; ///< that level, and the conductance that holds it
    double *low, *high, *start; ///< pressures at the ends of the search for a level, and before it
    double largest_flow;
    int iterations, worst_node, worst_link;
};

/// Mass balance after a Newton step, unless 1e-10 of the largest flow is more.
#define OW_FLOW_BALANCE_M3_S 1e-12
/// A suction does not step over this: above it the fill curves one way, below it the other.
#define OW_FLOW_SUCTION_STOP_PA (OW_FLOW_VACUUM_BEND_PA - OW_ATMOSPHERE_PA)

/// Adds up the net outflow of each free place from the laws' flows, and the largest flow.
void ow_flow_add_up(OwFlowNet *net, const double *pressure);
bool ow_flow_is_balanced(const OwFlowNet *net, double floor_m3_s);
/// The Newton step into net->move, each pressure's move cut to a bounded length. Damping 0 is plain Newton; 1
/// holds moves to about 1e4 Pa. Rounding may spoil the last pivot of a piece that hangs on leaks alone: it is
/// shifted then.
bool ow_flow_find_step(OwFlowNet *net, double damping);
/// Whether a pump or a demand draws from this place.
bool ow_flow_draws_from(const OwFlowNet *net, int place);
/// The way out when full steps do not settle: from the held start, damped steps that never let the imbalance
/// grow.
bool ow_flow_descend(OwFlowNet *net);
/// Full Newton steps until flows and states agree and mass balances, at most so many; a start that already
/// does is left alone.
bool ow_flow_go_straight(OwFlowNet *net, int most);
/// Damped steps with line search from the present pressures, at most so many.
bool ow_flow_descend_damped(OwFlowNet *net, int most);
/// Looks for the level of a nearly closed loop from the present pressures, until `net->iterations` passes
/// `most_iterations`. On failure the pressures are put back.
bool ow_flow_find_level(OwFlowNet *net, int most_iterations);

#endif
