// SPDX-License-Identifier: GPL-3.0-or-later
// Joints become hydraulic nodes: ports that are joined, and the ports of a tee, are one node with a little
// oil in it.
#include "morning/plan.h"

#include <stdlib.h>

/// Oil in the fittings of one joint: keeps every node a stirred volume even at rest. Common practice, no
/// source.
#define NODE_M3 3e-6
/// A fitting of about 15 cm2 in still air at 10 W/m2K. Common practice, no source.
#define NODE_LOSS_W_K 0.015

static int root_of(int *parent, int i) {
    while (parent[i] != i) {
        parent[i] = parent[parent[i]];
        i = parent[i];
    }
    return i;
}

static void join(int *parent, int a, int b) {
    a = root_of(parent, a);
    b = root_of(parent, b);
    if (a != b) {
        parent[a > b ? a : b] = a > b ? b : a;
    }
}

/// A fitting stands where the last part that has it stands.
static OwPlace place_of_node(const OwPlan *plan, int node) {
    OwPlace place = OW_PLACE_UNDER_FLOOR;
    for (int p = 0; p < plan->rig->part_count; p++) {
        for (int port = 0; port < OW_MAX_PORTS; port++) {
            if (plan->parts[p].port_node[port] == node) {
                place = plan->rig->parts[p].place;
            }
        }
        if (plan->parts[p].inner_node == node) {
            place = plan->rig->parts[p].place;
        }
    }
    return place;
}

OwStatus ow_plan_nodes(OwPlan *plan) {
    const OwRig *rig = plan->rig;
    const int ports = rig->part_count * OW_MAX_PORTS;
    int *parent = malloc((size_t)ports * sizeof *parent);
    int *node_of = malloc((size_t)ports * sizeof *node_of);
    OwStatus status = OW_ERROR_MEMORY;
    if (!parent || !node_of) {
        goto done;
    }
    for (int i = 0; i < ports; i++) {
        parent[i] = i;
        node_of[i] = -1;
    }
    for (int i = 0; i < rig->joint_count; i++) {
        const OwJoint *joint = &rig->joints[i];
        join(parent, joint->part_a * OW_MAX_PORTS + joint->port_a,
             joint->part_b * OW_MAX_PORTS + joint->port_b);
    }
    for (int p = 0; p < rig->part_count; p++) {
        if (rig->parts[p].kind == OW_PART_TEE) {
            join(parent, p * OW_MAX_PORTS, p * OW_MAX_PORTS + 1);
            join(parent, p * OW_MAX_PORTS, p * OW_MAX_PORTS + 2);
        }
    }
    // Room: one node a port, one gallery a part.
    plan->nodes = ow_arena_take(plan->arena, (size_t)(ports + rig->part_count), sizeof *plan->nodes);
    plan->node_lump = ow_arena_take(plan->arena, (size_t)(ports + rig->part_count), sizeof *plan->node_lump);
    if (!plan->nodes || !plan->node_lump) {
        goto done;
    }
    for (int p = 0; p < rig->part_count; p++) {
        OwPlanPart *part = &plan->parts[p];
        const int count = ow_part_port_count(rig->parts[p].kind);
        for (int port = 0; port < OW_MAX_PORTS; port++) {
            part->port_node[port] = -1;
            if (port >= count) {
                continue;
            }
            const int root = root_of(parent, p * OW_MAX_PORTS + port);
            if (node_of[root] < 0) {
                node_of[root] = plan->node_count;
                plan->node_lump[plan->node_count] = -1;
                plan->node_count++;
            }
            part->port_node[port] = node_of[root];
        }
        part->inner_node = -1;
        if (rig->parts[p].kind == OW_PART_INJECTION_PUMP) {
            part->inner_node = plan->node_count;
            plan->node_lump[plan->node_count] = -1;
            plan->node_count++;
        }
    }
    // Tanks hold the pressure of their nodes and lend them their oil.
    for (int p = 0; p < rig->part_count; p++) {
        if (rig->parts[p].kind == OW_PART_TANK) {
            for (int port = 0; port < 2; port++) {
                plan->nodes[plan->parts[p].port_node[port]].is_fixed = true;
            }
        }
    }
    for (int n = 0; n < plan->node_count; n++) {
        plan->nodes[n].air_solubility = plan->fluids[0].air_solubility;
        if (!plan->nodes[n].is_fixed) {
            plan->node_lump[n] = ow_plan_lump(plan, NODE_M3 * plan->volumetric_j_m3k, true);
            (void)ow_plan_tie(plan, plan->node_lump[n], -1,
                              (OwPlanTie){.role = OW_TIE_FITTING,
                                          .part = -1,
                                          .w_k = NODE_LOSS_W_K,
                                          .surface = -1,
                                          .link = -1,
                                          .place = place_of_node(plan, n)});
        }
    }
    status = OW_OK;
done:
    free(parent);
    free(node_of);
    return status;
}
