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
    double *pressure, *trial, *best, *imbalance, *move;
    double largest_flow;
    int iterations, worst_node, worst_link;
};

#endif
