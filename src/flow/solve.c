// SPDX-License-Identifier: GPL-3.0-or-later
// Global Newton on pressures and flows together; where full steps do not settle, by proximal points.
#include "flow/network.h"

#include <float.h>
#include <math.h>
#include <string.h>

/// Mass must balance to this, or to RELATIVE_BALANCE of the largest flow, in a start value taken as it is.
/// After a Newton step, whose error is of second order, OW_FLOW_BALANCE_M3_S is enough.
#define START_BALANCE_M3_S 1e-14
#define RELATIVE_BALANCE 1e-10
/// Flow and state of a linearised law may differ by this share: the error against the law itself is of its
/// square.
#define STATE_SHARE 1e-5
/// A step may at most double a pressure, or move it by this.
#define STEP_PA 5e5
#define DAMPED_PA 1e4
#define DAMPED_SHARE 0.1
#define PATIENCE 8
#define PRESSURE_BOUND_PA 1e12

void ow_flow_add_up(OwFlowNet *net, const double *pressure) {
    double *r = net->imbalance;
    for (int i = 0; i < net->unknown_count; i++) {
        r[i] = net->anchor[i] * pressure[i] + net->hold * (pressure[i] - net->held[i]);
    }
    double largest = 0.0;
    for (int k = 0; k < net->link_count; k++) {
        const OwLaw *law = &net->laws[k];
        const double flow = law->flow, size = fabs(flow);
        r[law->from] += flow;
        r[law->to] -= flow;
        largest = size > largest ? size : largest;
    }
    net->largest_flow = largest;
    if (net->pin >= 0) {
        r[net->pin] += net->pin_m3_s_pa * (pressure[net->pin] - net->pin_pa);
    }
}

static double largest_imbalance(const OwFlowNet *net) {
    double worst = 0.0;
    for (int i = 0; i < net->unknown_count; i++) {
        const double size = fabs(net->imbalance[i]);
        worst = size > worst ? size : worst;
    }
    return worst;
}

bool ow_flow_is_balanced(const OwFlowNet *net, double floor_m3_s) {
    const double relative = RELATIVE_BALANCE * net->largest_flow;
    return largest_imbalance(net) <= (relative > floor_m3_s ? relative : floor_m3_s);
}

/// Jacobian of the outflows: column-wise diagonally dominant, so that it needs no pivoting. `damping` adds to
/// each diagonal what holds the node's own move within DAMPED_PA / damping; `shift` is a share of the largest
/// diagonal added to all.
static bool factor(OwFlowNet *net, double damping, double shift) {
    ow_sparse_zero(net->matrix);
    for (int k = 0; k < net->link_count; k++) {
        const OwLaw *law = &net->laws[k];
        const OwLinkPlace *slot = &net->slots[k];
        *slot->ff += law->by_from;
        *slot->tf -= law->by_from;
        *slot->tt += law->by_to;
        *slot->ft -= law->by_to;
    }
    net->spare = 0.0;
    double largest = 0.0;
    for (int i = 0; i < net->unknown_count; i++) {
        *net->diagonal[i] += net->anchor[i] + net->hold;
        largest = *net->diagonal[i] > largest ? *net->diagonal[i] : largest;
    }
    if (net->pin >= 0) {
        *net->diagonal[net->pin] += net->pin_m3_s_pa;
    }
    if (damping > 0.0 || shift > 0.0) {
        const double worst = DAMPED_SHARE * largest_imbalance(net);
        for (int i = 0; i < net->unknown_count; i++) {
            *net->diagonal[i] += shift * largest + damping * (fabs(net->imbalance[i]) + worst) / DAMPED_PA;
        }
    }
    return ow_sparse_factor(net->matrix);
}

bool ow_flow_find_step(OwFlowNet *net, double damping) {
    double shift = 0.0;
    while (!factor(net, damping, shift)) {
        if (shift > 1.0) {
            return false;
        }
        shift = shift > 0.0 ? shift * 100.0 : 1e-15;
    }
    for (int i = 0; i < net->unknown_count; i++) {
        net->move[i] = -net->imbalance[i];
    }
    ow_sparse_solve(net->matrix, net->move);
    for (int i = 0; i < net->unknown_count; i++) {
        const double most = STEP_PA + fabs(net->pressure[i]), move = net->move[i];
        net->move[i] = move > most ? most : (move < -most ? -most : move);
    }
    return true;
}

bool ow_flow_draws_from(const OwFlowNet *net, int place) {
    for (int t = net->first_touch[place]; t < net->first_touch[place + 1]; t++) {
        const OwLaw *law = &net->laws[net->touches[t]];
        const bool is_drawing = law->kind == OW_LAW_PUMP || law->kind == OW_LAW_LIFT ||
                                law->kind == OW_LAW_TRANSFER || law->kind == OW_LAW_DEMAND;
        if (is_drawing && law->from == place) {
            return true;
        }
    }
    return false;
}

static void step(OwFlowNet *net) {
    for (int i = 0; i < net->unknown_count; i++) {
        const double from = net->pressure[i], next = from + net->move[i];
        if (next < OW_FLOW_SUCTION_STOP_PA && from > OW_FLOW_SUCTION_STOP_PA && ow_flow_draws_from(net, i)) {
            net->move[i] = OW_FLOW_SUCTION_STOP_PA - from;
        }
        net->pressure[i] = from + net->move[i];
    }
    for (int k = 0; k < net->link_count; k++) {
        OwLaw *law = &net->laws[k];
        law->state = law->flow + law->by_from * (net->move[law->from] - net->move[law->to]);
    }
}

/// No safeguard but the bounded step, and that only after the test.
bool ow_flow_go_straight(OwFlowNet *net, int most) {
    double floor_m3_s = START_BALANCE_M3_S;
    const int last = net->iterations + most;
    for (;;) {
        const double gap = ow_laws_linearise(net->laws, net->link_count, net->pressure, STATE_SHARE);
        ow_flow_add_up(net, net->pressure);
        if (gap <= floor_m3_s && ow_flow_is_balanced(net, floor_m3_s)) {
            return true;
        }
        if (net->iterations >= last || !ow_flow_find_step(net, 0.0)) {
            return false;
        }
        step(net);
        net->iterations++;
        floor_m3_s = OW_FLOW_BALANCE_M3_S;
    }
}

static bool load(OwFlowNet *net) {
    for (int i = 0; i < net->node_count; i++) {
        const double p = net->nodes[i].pressure_pa;
        if (!(fabs(p) <= PRESSURE_BOUND_PA)) {
            net->worst_node = i;
            net->worst_link = -1;
            return false;
        }
        net->pressure[net->place[i]] = p;
    }
    for (int k = 0; k < net->link_count; k++) {
        const OwLink *link = &net->links[k];
        if (!ow_law_prepare(link, net->nodes[link->from].air_solubility, &net->curves[k], &net->laws[k])) {
            net->worst_node = link->from;
            net->worst_link = k;
            return false;
        }
        net->laws[k].state = link->flow_m3_s; // the answer depends on what the caller shows, nothing else
    }
    net->hold = 0.0;
    net->pin = -1;
    memcpy(net->held, net->pressure, sizeof *net->held * (size_t)net->node_count);
    return true;
}

static void store(OwFlowNet *net) {
    for (int i = 0; i < net->node_count; i++) {
        const int place = net->place[i];
        OwFlowNode *node = &net->nodes[i];
        node->imbalance_m3_s = place < net->unknown_count ? net->imbalance[place] : 0.0;
        node->pressure_pa = net->pressure[place];
    }
    for (int k = 0; k < net->link_count; k++) {
        const OwLaw *law = &net->laws[k];
        net->links[k].flow_m3_s = law->flow;
        net->links[k].drop_pa = net->pressure[law->from] - net->pressure[law->to];
    }
}

static void name_worst(OwFlowNet *net) {
    int worst = 0;
    for (int i = 1; i < net->unknown_count; i++) {
        worst = fabs(net->imbalance[i]) > fabs(net->imbalance[worst]) ? i : worst;
    }
    net->worst_node = net->node_at[worst];
    net->worst_link = -1;
    for (int t = net->first_touch[worst]; t < net->first_touch[worst + 1]; t++) {
        const int k = net->touches[t];
        if (net->worst_link < 0 || fabs(net->laws[k].flow) > fabs(net->laws[net->worst_link].flow)) {
            net->worst_link = k;
        }
    }
}

OwStatus ow_flow_solve(OwFlowNet *net) {
    net->iterations = 0;
    net->worst_node = net->worst_link = -1;
    if (!load(net)) {
        return OW_ERROR_VALUE;
    }
    bool is_solved = true;
    if (net->unknown_count == 0) {
        ow_laws_evaluate(net->laws, net->link_count, net->pressure);
    } else {
        is_solved = ow_flow_go_straight(net, PATIENCE) || ow_flow_descend(net);
    }
    if (!is_solved) {
        name_worst(net);
    }
    store(net);
    return is_solved ? OW_OK : OW_ERROR_NO_SOLUTION;
}

void ow_flow_worst(const OwFlowNet *net, int *node, int *link) {
    *node = net->worst_node;
    *link = net->worst_link;
}

int ow_flow_iterations(const OwFlowNet *net) {
    return net->iterations;
}
