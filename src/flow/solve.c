// SPDX-License-Identifier: GPL-3.0-or-later
// Global Newton on the free pressures, with line search; node-by-node sweeps where the search finds no way
// down.
#include "flow/network.h"

#include <float.h>
#include <math.h>
#include <string.h>

#define MOST_ITERATIONS 100
#define MOST_HALVINGS 8
/// Mass must balance to the larger of these and RELATIVE_BALANCE of the largest flow. The first holds for a
/// start value taken as it is; after a Newton step, whose error is of second order, the second is enough.
#define START_BALANCE_M3_S 1e-14
#define BALANCE_M3_S 1e-12
#define RELATIVE_BALANCE 1e-10
/// A step may at most double a pressure, or move it by this.
#define STEP_PA 5e5
#define ENOUGH 0.25
/// A pump's suction stays at or above vacuum in this many first iterations; later only the balance decides.
#define VACUUM_KEPT_ITERATIONS 40
#define SWEEP_STEPS 40
#define SWEEPS 2
#define PRESSURE_BOUND_PA 1e12

/// Evaluates all links at `pressure`, writes the net outflow of each place, returns the sum of its sizes over
/// free nodes.
static double evaluate(OwFlowNet *net, const double *pressure) {
    ow_laws_evaluate(net->laws, net->link_count, pressure);
    double *r = net->imbalance;
    for (int i = 0; i < net->unknown_count; i++) {
        r[i] = net->anchor[i] * pressure[i];
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
    double sum = 0.0;
    for (int i = 0; i < net->unknown_count; i++) {
        sum += fabs(r[i]);
    }
    return sum;
}

static bool is_balanced(const OwFlowNet *net, double floor_m3_s) {
    const double relative = RELATIVE_BALANCE * net->largest_flow;
    const double tolerance = relative > floor_m3_s ? relative : floor_m3_s;
    for (int i = 0; i < net->unknown_count; i++) {
        if (!(fabs(net->imbalance[i]) <= tolerance)) {
            return false;
        }
    }
    return true;
}

/// Jacobian of the outflows: column-wise diagonally dominant, so that it needs no pivoting. `shift` is a
/// share of the largest diagonal added to every one.
static bool factor(OwFlowNet *net, double shift) {
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
        *net->diagonal[i] += net->anchor[i];
        largest = *net->diagonal[i] > largest ? *net->diagonal[i] : largest;
    }
    if (shift > 0.0) {
        for (int i = 0; i < net->unknown_count; i++) {
            *net->diagonal[i] += shift * largest + 0.01 * OW_FLOW_LEAK;
        }
    }
    return ow_sparse_factor(net->matrix);
}

/// The Newton step into net->move. Rounding may spoil the last pivot of a piece that hangs on leaks alone:
/// shift it then.
static bool find_step(OwFlowNet *net) {
    double shift = 0.0;
    while (!factor(net, shift)) {
        if (shift > 1.0) {
            return false;
        }
        shift = shift > 0.0 ? shift * 100.0 : 1e-15;
    }
    for (int i = 0; i < net->unknown_count; i++) {
        net->move[i] = -net->imbalance[i];
    }
    ow_sparse_solve(net->matrix, net->move);
    return true;
}

static bool draws_from(const OwFlowNet *net, int place) {
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

static double limited(const OwFlowNet *net, int place, double from, double move) {
    const double most = STEP_PA + fabs(from);
    const double next = from + (move > most ? most : (move < -most ? -most : move));
    const bool is_below = next < -OW_ATMOSPHERE_PA && from >= -OW_ATMOSPHERE_PA;
    return is_below && net->iterations < VACUUM_KEPT_ITERATIONS && draws_from(net, place) ? -OW_ATMOSPHERE_PA
                                                                                          : next;
}

static double try_step(OwFlowNet *net, double share) {
    for (int i = 0; i < net->unknown_count; i++) {
        net->trial[i] = limited(net, i, net->pressure[i], share * net->move[i]);
    }
    return evaluate(net, net->trial);
}

/// Halves the step until the imbalance falls enough; else takes the best of the tried ones if it does not grow. Leaves the
/// accepted point in net->pressure.
static bool search_line(OwFlowNet *net, double *sum) {
    double share = 1.0, best_share = 0.0, best_sum = *sum, trial_sum = *sum;
    for (int h = 0; h <= MOST_HALVINGS; h++, share *= 0.5) {
        trial_sum = try_step(net, share);
        if (trial_sum <= (1.0 - ENOUGH * share) * *sum) {
            best_share = share;
            break;
        }
        if (trial_sum <= best_sum) {
            best_sum = trial_sum;
            best_share = share;
        }
    }
    if (best_share == 0.0) {
        return false;
    }
    if (best_share != share) {
        trial_sum = try_step(net, best_share);
    }
    double *const old = net->pressure;
    net->pressure = net->trial;
    net->trial = old;
    *sum = trial_sum;
    return true;
}

static double outflow(OwFlowNet *net, int place, double *slope) {
    double out = net->anchor[place] * net->pressure[place];
    *slope = net->anchor[place];
    for (int t = net->first_touch[place]; t < net->first_touch[place + 1]; t++) {
        OwLaw *law = &net->laws[net->touches[t]];
        ow_law_evaluate(law, net->pressure[law->from], net->pressure[law->to]);
        out += law->from == place ? law->flow : -law->flow;
        *slope += law->from == place ? law->by_from : law->by_to;
    }
    return out;
}

/// Balances one node with its neighbours held: its outflow rises with its pressure, so a bracket always
/// closes.
static void balance_node(OwFlowNet *net, int place) {
    double low = -DBL_MAX, high = DBL_MAX, reach = STEP_PA;
    for (int i = 0; i < SWEEP_STEPS; i++) {
        double slope;
        const double p = net->pressure[place], out = outflow(net, place, &slope);
        if (fabs(out) <= START_BALANCE_M3_S) {
            return;
        }
        if (out > 0.0) {
            high = p;
        } else {
            low = p;
        }
        double next = p - out / slope;
        const bool is_inside = next > low && next < high && fabs(next - p) <= reach;
        if (!is_inside) {
            const bool is_bracketed = low > -DBL_MAX && high < DBL_MAX;
            next = is_bracketed ? 0.5 * (low + high) : (out > 0.0 ? p - reach : p + reach);
            reach *= is_bracketed ? 1.0 : 2.0;
        }
        if (fabs(next) > PRESSURE_BOUND_PA || next == p) {
            return;
        }
        net->pressure[place] = next;
    }
}

static double sweep(OwFlowNet *net) {
    for (int s = 0; s < SWEEPS; s++) {
        for (int i = 0; i < net->unknown_count; i++) {
            balance_node(net, i);
        }
    }
    return evaluate(net, net->pressure);
}

static bool load(OwFlowNet *net) {
    for (int i = 0; i < net->node_count; i++) {
        const double p = net->nodes[i].pressure_pa;
        if (!(fabs(p) <= PRESSURE_BOUND_PA)) {
            net->worst_node = i;
            net->worst_link = -1;
            return false;
        }
        net->pressure[net->place[i]] = net->trial[net->place[i]] = p;
    }
    net->pressure[net->node_count] = net->trial[net->node_count] = 0.0;
    for (int k = 0; k < net->link_count; k++) {
        const OwLink *link = &net->links[k];
        if (!ow_law_prepare(link, net->nodes[link->from].air_solubility, &net->curves[k], &net->laws[k])) {
            net->worst_node = link->from;
            net->worst_link = k;
            return false;
        }
    }
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
    double sum = evaluate(net, net->pressure), best_sum = DBL_MAX;
    bool is_solved = is_balanced(net, START_BALANCE_M3_S);
    while (!is_solved && net->iterations < MOST_ITERATIONS) {
        if (!find_step(net) || !search_line(net, &sum)) {
            if (sum < best_sum) {
                best_sum = sum;
                memcpy(net->best, net->pressure, sizeof *net->best * (size_t)net->node_count);
            }
            sum = sweep(net);
        }
        net->iterations++;
        is_solved = is_balanced(net, BALANCE_M3_S);
    }
    if (!is_solved) {
        if (best_sum < sum) {
            memcpy(net->pressure, net->best, sizeof *net->best * (size_t)net->node_count);
            evaluate(net, net->pressure);
        }
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
