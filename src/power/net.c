// SPDX-License-Identifier: GPL-3.0-or-later
// Any DC network: node volts by Newton on Kirchhoff's current law. Every law rises with its volts, so there
// is one answer.
#include "power/net.h"

#include <math.h>
#include <string.h>

#define LEAK_S 1e-6          // of an alternator, so that its law always rises
#define LAMP_EXPONENT 0.55   // IES Lighting Handbook, tungsten lamps: I ~ V^0.55
#define LAMP_STRAIGHT 0.05   // share of rated volts below which the lamp is a resistance
#define MOTOR_RISE 0.02      // share of rated current that still rises with volts
#define MOTOR_KNEE (1.0 / 3) // share of rated volts where the current has fallen to some 70 %
#define MOST_STEPS 200
#define LONGEST_STEP_V 50.0

double ow_branch_current(const OwBranch *b, double v, double *slope) {
    double current = 0.0, rise = 0.0;
    switch (b->law) {
    case OW_BRANCH_RESISTANCE:
        rise = 1.0 / b->resistance_ohm;
        current = v * rise;
        break;
    case OW_BRANCH_BATTERY:
        rise = 1.0 / (v > b->source_v && b->take_ohm > 0.0 ? b->take_ohm : b->resistance_ohm);
        current = (v - b->source_v) * rise;
        break;
    case OW_BRANCH_ALTERNATOR: {
        const double raw = (b->source_v - v) / b->droop_v;
        const double share = raw < 0.0 ? 0.0 : (raw > 1.0 ? 1.0 : raw);
        current = -b->limit_a * share * share * (3.0 - 2.0 * share) + LEAK_S * v;
        rise = 6.0 * b->limit_a * share * (1.0 - share) / b->droop_v + LEAK_S;
        break;
    }
    case OW_BRANCH_MOTOR: {
        const double x = v / (MOTOR_KNEE * b->rated_v), root = sqrt(1.0 + x * x);
        const double scale = b->limit_a * (1.0 - MOTOR_RISE) * sqrt(1.0 + MOTOR_KNEE * MOTOR_KNEE);
        const double straight = b->limit_a * MOTOR_RISE / b->rated_v;
        current = scale * x / root + straight * v;
        rise = scale / (root * root * root * MOTOR_KNEE * b->rated_v) + straight;
        break;
    }
    case OW_BRANCH_LAMP: {
        const double share = fabs(v) / b->rated_v;
        if (share < LAMP_STRAIGHT) {
            rise = b->limit_a * pow(LAMP_STRAIGHT, LAMP_EXPONENT - 1.0) / b->rated_v;
            current = rise * v;
        } else {
            current = copysign(b->limit_a * pow(share, LAMP_EXPONENT), v);
            rise = LAMP_EXPONENT * current / v;
        }
        break;
    }
    }
    if (slope) {
        *slope = rise;
    }
    return current;
}

const char *ow_net_bad_value(const OwBranch *b) {
    const bool is_finite = isfinite(b->resistance_ohm) && isfinite(b->take_ohm) && isfinite(b->source_v) &&
                           isfinite(b->droop_v) && isfinite(b->limit_a) && isfinite(b->rated_v);
    if (!is_finite) {
        return "a value is not a finite number";
    }
    switch (b->law) {
    case OW_BRANCH_RESISTANCE:
        return b->resistance_ohm >= 1e-9 ? NULL : "a resistance must be above zero (1 nanoohm at least)";
    case OW_BRANCH_BATTERY:
        return b->resistance_ohm >= 1e-9 && b->take_ohm >= 0.0 ? NULL : "a source must have some resistance";
    case OW_BRANCH_ALTERNATOR:
        return b->droop_v > 0.0 && b->limit_a >= 0.0
                   ? NULL
                   : "an alternator must have a droop and no negative output";
    case OW_BRANCH_MOTOR:
    case OW_BRANCH_LAMP:
        return b->rated_v > 0.0 && b->limit_a > 0.0 ? NULL : "rated volts and current must be above zero";
    }
    return "unknown law";
}

OwStatus ow_net_create(OwNode *nodes, int node_count, OwBranch *branches, int branch_count, OwArena *arena,
                       OwNet **out) {
    *out = NULL;
    if (!nodes || node_count < 1 || branch_count < 0 || (branch_count > 0 && !branches)) {
        return OW_ERROR_USE;
    }
    const size_t n = (size_t)node_count, m = (size_t)branch_count;
    OwNet *net = ow_arena_take(arena, 1, sizeof *net);
    int *ints = ow_arena_take(arena, 4 * m + 2 * n + 1, sizeof *ints);
    double *doubles = ow_arena_take(arena, 3 * n, sizeof *doubles);
    int(*pairs)[2] = ow_arena_take(arena, m + 1, sizeof *pairs);
    if (!net || !ints || !doubles || !pairs) {
        return OW_ERROR_MEMORY;
    }
    *net =
        (OwNet){.nodes = nodes, .branches = branches, .node_count = node_count, .branch_count = branch_count};
    net->bad_branch = -1;
    net->slot_from = ints;
    net->slot_to = ints + m;
    net->slot_out = ints + 2 * m;
    net->slot_back = ints + 3 * m;
    net->slot_diagonal = ints + 4 * m;
    net->island = ints + 4 * m + n;
    net->residual = doubles;
    net->step = doubles + n;
    net->trial = doubles + 2 * n;
    int pair_count = 0;
    for (int i = 0; i < branch_count; i++) {
        const int a = branches[i].from, b = branches[i].to;
        if (a < 0 || b < 0 || a >= node_count || b >= node_count) {
            return OW_ERROR_USE;
        }
        if (a > 0 && b > 0 && a != b) {
            pairs[pair_count][0] = a - 1;
            pairs[pair_count++][1] = b - 1;
        }
    }
    if (node_count > 1) {
        const OwStatus status =
            ow_sparse_create(node_count - 1, (const int(*)[2])pairs, pair_count, arena, &net->sparse);
        if (status != OW_OK) {
            return status;
        }
    }
    for (int i = 0; i < branch_count; i++) {
        const int a = branches[i].from - 1, b = branches[i].to - 1;
        net->slot_from[i] = a >= 0 ? ow_sparse_slot(net->sparse, a, a) : -1;
        net->slot_to[i] = b >= 0 ? ow_sparse_slot(net->sparse, b, b) : -1;
        const bool is_inner = a >= 0 && b >= 0 && a != b;
        net->slot_out[i] = is_inner ? ow_sparse_slot(net->sparse, a, b) : -1;
        net->slot_back[i] = is_inner ? ow_sparse_slot(net->sparse, b, a) : -1;
    }
    for (int i = 1; i < node_count; i++) {
        net->slot_diagonal[i] = ow_sparse_slot(net->sparse, i - 1, i - 1);
    }
    *out = net;
    return OW_OK;
}

static int root_of(int *island, int i) {
    while (island[i] != i) {
        island[i] = island[island[i]];
        i = island[i];
    }
    return i;
}

/// Finds islands over closed branches; the lowest node of each is its root, node 0 that of the main part.
static void find_islands(OwNet *net) {
    for (int i = 0; i < net->node_count; i++) {
        net->island[i] = i;
    }
    for (int i = 0; i < net->branch_count; i++) {
        if (!net->branches[i].is_open) {
            const int a = root_of(net->island, net->branches[i].from),
                      b = root_of(net->island, net->branches[i].to);
            if (a < b) {
                net->island[b] = a;
            } else {
                net->island[a] = b;
            }
        }
    }
    for (int i = 0; i < net->node_count; i++) {
        net->island[i] = root_of(net->island, i);
        net->nodes[i].is_floating = net->island[i] != 0;
        if (net->island[i] == i) {
            net->nodes[i].volt_v = 0.0;
        }
        if (!isfinite(net->nodes[i].volt_v)) {
            net->nodes[i].volt_v = 0.0;
        }
    }
}

/// Current that leaves each node at the given volts.
static void imbalance(OwNet *net, const double *volts) {
    for (int i = 0; i < net->node_count; i++) {
        net->residual[i] = 0.0;
    }
    for (int i = 0; i < net->branch_count; i++) {
        const OwBranch *b = &net->branches[i];
        if (!b->is_open && b->from != b->to) {
            const double current = ow_branch_current(b, volts[b->from] - volts[b->to], NULL);
            net->residual[b->from] += current;
            net->residual[b->to] -= current;
        }
    }
    for (int i = 0; i < net->node_count; i++) {
        if (net->island[i] == i) { // the root of an island is held
            net->residual[i] = 0.0;
        }
    }
}

/// Slopes of that by the volts, at the given volts.
static void fill_matrix(OwNet *net, const double *volts) {
    double *values = ow_sparse_values(net->sparse);
    ow_sparse_zero(net->sparse);
    for (int i = 0; i < net->branch_count; i++) {
        const OwBranch *b = &net->branches[i];
        if (b->is_open || b->from == b->to) {
            continue;
        }
        double slope = 0.0;
        ow_branch_current(b, volts[b->from] - volts[b->to], &slope);
        if (net->slot_from[i] >= 0) {
            values[net->slot_from[i]] += slope;
        }
        if (net->slot_to[i] >= 0) {
            values[net->slot_to[i]] += slope;
        }
        if (net->slot_out[i] >= 0) {
            values[net->slot_out[i]] -= slope;
            values[net->slot_back[i]] -= slope;
        }
    }
    for (int i = 1; i < net->node_count; i++) {
        if (net->island[i] == i) {
            const double d = values[net->slot_diagonal[i]];
            values[net->slot_diagonal[i]] = d + (d > 1.0 ? d * 1e12 : 1e12);
        }
    }
}

/// Imbalance along the step: the slope of the network's co-content (Millar 1951), which is convex because
/// every law rises.
static double slope_along(OwNet *net, double *volts, double share) {
    for (int i = 1; i < net->node_count; i++) {
        volts[i] = net->nodes[i].volt_v - share * net->step[i - 1];
    }
    imbalance(net, volts);
    double slope = 0.0;
    for (int i = 1; i < net->node_count; i++) {
        slope -= net->residual[i] * net->step[i - 1];
    }
    return slope;
}

/// The Newton step at the given volts; returns its largest part, -1 when it cannot be made, and the slope
/// along it. A step of more than LONGEST_STEP_V comes from a source at its limit with almost nothing to hold
/// it: then every node is held by a little conductance to where it is (Levenberg 1944), more until the step
/// is sensible.
static double newton_step(OwNet *net, const double *volts, double *slope) {
    imbalance(net, volts);
    double largest = -1.0;
    double hold = 0.0;
    for (int k = 0; k < 30; k++, hold = fmax(1e-8, 4.0 * hold)) {
        fill_matrix(net, volts);
        double *values = ow_sparse_values(net->sparse);
        for (int i = 1; i < net->node_count; i++) {
            values[net->slot_diagonal[i]] += hold;
        }
        memcpy(net->step, net->residual + 1, (size_t)(net->node_count - 1) * sizeof *net->step);
        if (!ow_sparse_factor(net->sparse)) {
            continue;
        }
        ow_sparse_solve(net->sparse, net->step);
        largest = 0.0;
        *slope = 0.0;
        for (int i = 1; i < net->node_count; i++) {
            largest = isfinite(net->step[i - 1]) ? fmax(largest, fabs(net->step[i - 1])) : INFINITY;
            *slope -= net->residual[i] * net->step[i - 1];
        }
        if (largest <= LONGEST_STEP_V) {
            break;
        }
    }
    return isfinite(largest) ? largest : -1.0;
}

/// Goes along the Newton step: all of it unless it passes the bottom by far, else near the bottom by
/// bisection and secant in turn.
static void take_step(OwNet *net, double *volts, double slope_at_0) {
    double low = 0.0, high = 1.0, slope_low = slope_at_0, slope_high = slope_along(net, volts, 1.0);
    for (int k = 0; k < 40 && slope_high > -0.5 * slope_at_0; k++) {
        const double share =
            k % 2 ? 0.5 * (low + high) : low + (high - low) * slope_low / (slope_low - slope_high);
        const double slope = slope_along(net, volts, share);
        if (fabs(slope) <= -0.5 * slope_at_0) {
            return;
        }
        if (slope > 0.0) {
            high = share;
            slope_high = slope;
        } else {
            low = share;
            slope_low = slope;
        }
    }
}

static void publish(OwNet *net, const double *volts) {
    net->imbalance_a = 0.0;
    for (int i = 1; i < net->node_count; i++) {
        net->nodes[i].volt_v = volts[i];
        net->imbalance_a = fmax(net->imbalance_a, fabs(net->residual[i]));
    }
    for (int i = 0; i < net->branch_count; i++) {
        OwBranch *b = &net->branches[i];
        b->current_a =
            b->is_open || b->from == b->to ? 0.0 : ow_branch_current(b, volts[b->from] - volts[b->to], NULL);
    }
}

OwStatus ow_net_solve(OwNet *net) {
    net->iterations = 0;
    net->bad_branch = -1;
    for (int i = 0; i < net->branch_count; i++) {
        if (ow_net_bad_value(&net->branches[i])) {
            net->bad_branch = i;
            return OW_ERROR_VALUE;
        }
    }
    find_islands(net);
    double *volts = net->trial;
    for (int i = 0; i < net->node_count; i++) {
        volts[i] = net->nodes[i].volt_v;
    }
    OwStatus status = net->sparse ? OW_ERROR_NO_SOLUTION : OW_OK;
    for (int k = 0; k < MOST_STEPS && status != OW_OK; k++) {
        net->iterations = k + 1;
        double slope = 0.0;
        const double largest = newton_step(net, volts, &slope);
        if (!(largest >= 0.0)) {
            break;
        }
        if (largest < 1e-9) { // below a nanovolt: take it and stop
            slope_along(net, volts, 1.0);
            status = OW_OK;
        } else {
            take_step(net, volts, slope);
        }
        for (int i = 1; i < net->node_count; i++) {
            net->nodes[i].volt_v = volts[i];
        }
    }
    imbalance(net, volts);
    publish(net, volts);
    return status;
}

int ow_net_iterations(const OwNet *net) {
    return net->iterations;
}

double ow_net_imbalance(const OwNet *net) {
    return net->imbalance_a;
}
