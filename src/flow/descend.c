// SPDX-License-Identifier: GPL-3.0-or-later
// When full Newton steps do not settle: damped steps with line search, then proximal points, and between
// them a search for the level of a nearly closed loop.
#include "flow/network.h"

#include <float.h>
#include <math.h>
#include <string.h>

#define MOST_DAMPED 100
/// Proximal points are given until here, then a level is looked for, then they get the rest.
#define FIRST_POINTS 200
#define MOST_FOR_LEVEL 1500
#define MOST_IN_ALL 2000
/// What is left over after all that may still be of the size of leaks (two millilitres a day): taken as
/// solved.
#define LEAK_BALANCE_M3_S 2e-11
#define MOST_HALVINGS 4
/// A step is good when it takes away this share of the imbalance per share of the step; shares of others
/// count as better only when clearly so.
#define ENOUGH 0.25
#define CLEARLY 0.99
/// Damping falls after a step of at least GOOD_SHARE and rises after one of less than POOR_SHARE.
#define GOOD_SHARE 0.3
#define POOR_SHARE 0.1
#define FIRST_DAMPING 0.1
#define LEAST_DAMPING 0.002
#define DAMPING_FACTOR 10.0
#define FIRST_REACH_PA 1e5
#define INNER_STEPS 6
#define INNER_FALL 0.1
#define ACCEPTED_FALL 0.5
#define HOLD_FALL 0.03
#define HOLD_RISE 10.0

static double evaluate(OwFlowNet *net, const double *pressure, double *squares) {
    ow_laws_evaluate(net->laws, net->link_count, pressure);
    ow_flow_add_up(net, pressure);
    double sum = 0.0;
    *squares = 0.0;
    for (int i = 0; i < net->unknown_count; i++) {
        sum += fabs(net->imbalance[i]);
        *squares += net->imbalance[i] * net->imbalance[i];
    }
    return sum;
}

static double try_share(OwFlowNet *net, double share, double *squares) {
    for (int i = 0; i < net->unknown_count; i++) {
        const double from = net->pressure[i], next = from + share * net->move[i];
        const bool is_stopped =
            next < OW_FLOW_SUCTION_STOP_PA && from > OW_FLOW_SUCTION_STOP_PA && ow_flow_draws_from(net, i);
        net->trial[i] = is_stopped ? OW_FLOW_SUCTION_STOP_PA : next;
    }
    return evaluate(net, net->trial, squares);
}

/// Halves the step until the sum of imbalances falls enough, or does not grow while their squares fall
/// enough; else takes the best of the tried ones. Returns the share of the step taken, 0 when all made it
/// worse. The sum is what an implicit step in time of such a network can never raise, so a damped enough step
/// always finds a way down.
static double search_line(OwFlowNet *net, double *sum, double *squares) {
    double share = 1.0, best_share = 0.0, best_sum = *sum, trial_sum = *sum, trial_squares = *squares;
    for (int h = 0; h <= MOST_HALVINGS; h++, share *= 0.5) {
        trial_sum = try_share(net, share, &trial_squares);
        const double wanted = 1.0 - ENOUGH * share;
        if (trial_sum <= wanted * *sum || (trial_sum <= *sum && trial_squares <= wanted * *squares)) {
            best_share = share;
            break;
        }
        if (trial_sum <= best_sum * (best_share > 0.0 ? CLEARLY : 1.0)) {
            best_sum = trial_sum;
            best_share = share;
        }
    }
    if (best_share == 0.0) {
        evaluate(net, net->pressure, squares);
        return 0.0;
    }
    if (best_share != share) {
        trial_sum = try_share(net, best_share, &trial_squares);
    }
    double *const old = net->pressure;
    net->pressure = net->trial;
    net->trial = old;
    *sum = trial_sum;
    *squares = trial_squares;
    return best_share;
}

bool ow_flow_descend_damped(OwFlowNet *net, int most) {
    memcpy(net->trial, net->pressure, sizeof *net->trial * (size_t)net->node_count);
    double damping = 0.0, squares, sum = evaluate(net, net->pressure, &squares);
    for (int i = 0; i < most; i++) {
        if (ow_flow_is_balanced(net, OW_FLOW_BALANCE_M3_S)) {
            return true;
        }
        const double share = ow_flow_find_step(net, damping) ? search_line(net, &sum, &squares) : 0.0;
        net->iterations++;
        if (share >= GOOD_SHARE) {
            damping = damping > LEAST_DAMPING ? damping / DAMPING_FACTOR : 0.0;
        } else if (share < POOR_SHARE) {
            damping = damping > 0.0 ? damping * DAMPING_FACTOR : FIRST_DAMPING;
        }
    }
    return ow_flow_is_balanced(net, OW_FLOW_BALANCE_M3_S);
}

/// Proximal points (Rockafellar 1976, SIAM J. Control Optim. 14:877): each free node is tied to its last
/// pressure by a conductance that makes the balance strongly monotone; the tie is loosened as the points are
/// found, and tightened when one is not.
static bool approach(OwFlowNet *net, int until, double floor_m3_s) {
    const size_t size = sizeof *net->held * (size_t)net->unknown_count;
    double squares, hold = evaluate(net, net->pressure, &squares) / FIRST_REACH_PA;
    while (net->iterations < until) {
        memcpy(net->held, net->pressure, size);
        net->hold = hold;
        const double start = evaluate(net, net->pressure, &squares);
        double sum = start, share = 1.0;
        for (int i = 0; i < INNER_STEPS && sum > INNER_FALL * start && share > 0.0; i++) {
            share = ow_flow_find_step(net, 0.0) ? search_line(net, &sum, &squares) : 0.0;
            net->iterations++;
        }
        net->hold = 0.0;
        if (sum <= ACCEPTED_FALL * start) {
            evaluate(net, net->pressure, &squares);
            if (ow_flow_is_balanced(net, OW_FLOW_BALANCE_M3_S)) {
                return true;
            }
            hold *= HOLD_FALL;
        } else {
            memcpy(net->pressure, net->held, size);
            hold *= HOLD_RISE;
        }
    }
    evaluate(net, net->pressure, &squares);
    return ow_flow_is_balanced(net, floor_m3_s);
}

bool ow_flow_descend(OwFlowNet *net) {
    memcpy(net->pressure, net->held, sizeof *net->held * (size_t)net->node_count);
    return ow_flow_descend_damped(net, MOST_DAMPED) || approach(net, FIRST_POINTS, OW_FLOW_BALANCE_M3_S) ||
           ow_flow_find_level(net, MOST_FOR_LEVEL) || approach(net, MOST_IN_ALL, LEAK_BALANCE_M3_S);
}
