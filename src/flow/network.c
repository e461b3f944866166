// SPDX-License-Identifier: GPL-3.0-or-later
// Building the network: numbering, incidence, the matrix pattern, and an anchor for pieces that touch no
// fixed node.
#include "flow/network.h"

#include <stdlib.h>

static bool is_topology_legal(const OwFlowNode *nodes, int node_count, const OwLink *links, int link_count) {
    if (!nodes || node_count < 1 || link_count < 0 || (link_count > 0 && !links)) {
        return false;
    }
    for (int k = 0; k < link_count; k++) {
        const OwLink *link = &links[k];
        const bool has_from = link->from >= 0 && link->from < node_count;
        const bool has_to =
            link->to < node_count && (link->to >= 0 || (link->to == -1 && link->law == OW_LINK_DEMAND));
        if (!has_from || !has_to || link->from == link->to) {
            return false;
        }
    }
    return true;
}

static bool take_vectors(OwFlowNet *net, OwArena *arena) {
    const size_t n = (size_t)net->node_count + 1, m = (size_t)net->link_count + 1;
    double *block = ow_arena_take(arena, n * 9, sizeof *block);
    net->place = ow_arena_take(arena, n, sizeof *net->place);
    net->node_at = ow_arena_take(arena, n, sizeof *net->node_at);
    net->laws = ow_arena_take(arena, m, sizeof *net->laws);
    net->curves = ow_arena_take(arena, m, sizeof *net->curves);
    net->slots = ow_arena_take(arena, m, sizeof *net->slots);
    net->diagonal = ow_arena_take(arena, n, sizeof *net->diagonal);
    net->first_touch = ow_arena_take(arena, n + 1, sizeof *net->first_touch);
    net->touches = ow_arena_take(arena, m * 2, sizeof *net->touches);
    if (!block || !net->place || !net->node_at || !net->laws || !net->curves || !net->slots ||
        !net->diagonal || !net->first_touch || !net->touches) {
        return false;
    }
    net->pressure = block;
    net->imbalance = block + n;
    net->move = block + 2 * n;
    net->anchor = block + 3 * n;
    net->held = block + 4 * n;
    net->trial = block + 5 * n;
    net->low = block + 6 * n;
    net->high = block + 7 * n;
    net->start = block + 8 * n;
    return true;
}

static void number_nodes(OwFlowNet *net) {
    int free_place = 0;
    for (int i = 0; i < net->node_count; i++) {
        net->unknown_count += !net->nodes[i].is_fixed;
    }
    int fixed_place = net->unknown_count;
    for (int i = 0; i < net->node_count; i++) {
        net->place[i] = net->nodes[i].is_fixed ? fixed_place++ : free_place++;
        net->node_at[net->place[i]] = i;
    }
    net->node_at[net->node_count] = -1;
    for (int k = 0; k < net->link_count; k++) {
        net->laws[k].from = net->place[net->links[k].from];
        net->laws[k].to = net->links[k].to < 0 ? net->node_count : net->place[net->links[k].to];
    }
}

static void list_touches(OwFlowNet *net) {
    int *first = net->first_touch;
    for (int k = 0; k < net->link_count; k++) {
        first[net->laws[k].from + 1]++;
        first[net->laws[k].to + 1]++;
    }
    for (int i = 0; i <= net->node_count; i++) {
        first[i + 1] += first[i];
    }
    // first[i + 1] is now the end of place i; filling from the back makes it the start, so all moves down by
    // one.
    for (int k = net->link_count - 1; k >= 0; k--) {
        net->touches[--first[net->laws[k].from + 1]] = k;
        net->touches[--first[net->laws[k].to + 1]] = k;
    }
    for (int i = 0; i <= net->node_count; i++) {
        first[i] = first[i + 1];
    }
    first[net->node_count + 1] = 2 * net->link_count;
}

/// Labels the pieces by spreading from node to node; a piece without a fixed node gets one anchor.
static void set_anchors(OwFlowNet *net, int *label) {
    for (int i = 0; i < net->node_count; i++) {
        label[i] = i;
    }
    bool has_changed = true;
    while (has_changed) {
        has_changed = false;
        for (int k = 0; k < net->link_count; k++) {
            const int a = net->laws[k].from, b = net->laws[k].to;
            if (b == net->node_count || label[a] == label[b]) {
                continue;
            }
            const int most = label[a] > label[b] ? label[a] : label[b]; // a fixed node has the highest places
            label[a] = label[b] = most;
            has_changed = true;
        }
    }
    for (int i = 0; i < net->unknown_count; i++) {
        net->anchor[i] = label[i] == i ? OW_FLOW_LEAK : 0.0;
    }
}

static double *entry(OwFlowNet *net, int row, int column) {
    const int n = net->unknown_count;
    return row < n && column < n ? ow_sparse_values(net->matrix) + ow_sparse_slot(net->matrix, row, column)
                                 : &net->spare;
}

static OwStatus plan_matrix(OwFlowNet *net, OwArena *arena, int (*pairs)[2]) {
    const int n = net->unknown_count;
    int pair_count = 0;
    if (n == 0) {
        for (int k = 0; k < net->link_count; k++) {
            net->slots[k] = (OwLinkPlace){&net->spare, &net->spare, &net->spare, &net->spare};
        }
        return OW_OK;
    }
    for (int k = 0; k < net->link_count; k++) {
        if (net->laws[k].from < n && net->laws[k].to < n) {
            pairs[pair_count][0] = net->laws[k].from;
            pairs[pair_count++][1] = net->laws[k].to;
        }
    }
    const OwStatus status = ow_sparse_create(n, (const int(*)[2])pairs, pair_count, arena, &net->matrix);
    if (status != OW_OK) {
        return status;
    }
    for (int k = 0; k < net->link_count; k++) {
        const int from = net->laws[k].from, to = net->laws[k].to;
        net->slots[k] = (OwLinkPlace){entry(net, from, from), entry(net, from, to), entry(net, to, from),
                                      entry(net, to, to)};
    }
    for (int i = 0; i < n; i++) {
        net->diagonal[i] = entry(net, i, i);
    }
    return OW_OK;
}

OwStatus ow_flow_create(OwFlowNode *nodes, int node_count, OwLink *links, int link_count, OwArena *arena,
                        OwFlowNet **out) {
    *out = NULL;
    if (!is_topology_legal(nodes, node_count, links, link_count)) {
        return OW_ERROR_USE;
    }
    OwFlowNet *net = ow_arena_take(arena, 1, sizeof *net);
    if (!net) {
        return OW_ERROR_MEMORY;
    }
    *net = (OwFlowNet){.nodes = nodes,
                       .links = links,
                       .node_count = node_count,
                       .link_count = link_count,
                       .pin = -1,
                       .worst_node = -1,
                       .worst_link = -1};
    const size_t scratch_count = 2 * (size_t)(link_count + 1) + (size_t)node_count;
    int *scratch = calloc(scratch_count, sizeof *scratch);
    OwStatus status = OW_ERROR_MEMORY;
    if (scratch && take_vectors(net, arena)) {
        number_nodes(net);
        list_touches(net);
        set_anchors(net, scratch);
        status = plan_matrix(net, arena, (int(*)[2])scratch);
    }
    free(scratch);
    if (status == OW_OK) {
        *out = net;
    }
    return status;
}
