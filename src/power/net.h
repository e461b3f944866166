// SPDX-License-Identifier: GPL-3.0-or-later
// Inside of the network solver, shared by its solving and its explaining file. Private.
#ifndef OW_POWER_NET_H
#define OW_POWER_NET_H

#include "base/sparse.h"
#include "oilwright/power.h"

struct OwNet {
    OwNode *nodes;
    OwBranch *branches;
    int node_count, branch_count;
    OwSparse *sparse; ///< over nodes 1..; NULL when there is only node 0
    int *slot_from, *slot_to, *slot_out,
        *slot_back;     ///< a branch: diagonals of its ends and the two entries between, -1 at node 0
    int *slot_diagonal; ///< a node's diagonal
    int *island;        ///< lowest node that each node is joined to
    double *residual, *step, *trial;
    int iterations;
    double imbalance_a;
    int bad_branch; ///< branch with a value that is not allowed, -1 none
};

/// Why the values of a branch are not allowed, NULL when they are.
const char *ow_net_bad_value(const OwBranch *branch);

#endif
