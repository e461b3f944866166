// SPDX-License-Identifier: GPL-3.0-or-later
// The slow mode of a nearly closed loop: oil runs round fast while the pressure of it all hangs on a trickle.
// One of its nodes is held at a level, so that all else is quick to solve, and the level that needs no
// holding is looked for by bracketing: what must flow in to hold a node rises with the level (the network is
// an M-function; Ortega & Rheinboldt 1970, ch. 13, from memory), so there is one such level.
#include "flow/network.h"

#include <math.h>
#include <string.h>

/// Places held one after another.
#define ATTEMPTS 3
#define MOST_LEVELS 80
#define MOST_UNSETTLED 8
/// Conductance that holds the level: a tenth of a pascal for what an engine burns.
#define HOLD_M3_S_PA 1e-6
/// What may still have to flow in at the level found: the whole loop is better balanced than a node must be.
#define LEVEL_BALANCE_M3_S 1e-13
#define STRAIGHT_STEPS 8
#define DAMPED_STEPS 60
#define FIRST_REACH_PA 1e3
#define REACH_RISE 4.0
#define MOST_REACH_PA 1e10
#define LEAST_WIDTH_PA 1e-7
/// A secant keeps this share of the bracket away from its ends.
#define LEAST_SHARE 0.02

/// The end of a bracket: level, what flows in there (scaled), and the pressures of the solved network.
typedef struct OwLevelEnd {
    bool is_known;
    double pa, weight, *pressure;
} OwLevelEnd;

typedef struct OwLevelSearch {
    OwLevelEnd low, high; ///< too low: something must flow out to hold it; too high: in
    double width, reach_pa;
    int last_side, tried;
} OwLevelSearch;

static void copy(OwFlowNet *net, double *to, const double *from) {
    memcpy(to, from, sizeof *to * (size_t)net->unknown_count);
}

/// Solves the network as it is held, from the pressures that stand.
static bool settle(OwFlowNet *net) {
    copy(net, net->held, net->pressure); // the uniform hold is off: held is only a copy here
    ow_laws_evaluate(net->laws, net->link_count, net->pressure);
    for (int k = 0; k < net->link_count; k++) {
        net->laws[k].state = net->laws[k].flow;
    }
    if (ow_flow_go_straight(net, STRAIGHT_STEPS)) {
        return true;
    }
    copy(net, net->pressure, net->held);
    return ow_flow_descend_damped(net, DAMPED_STEPS);
}

static bool is_balanced_unheld(OwFlowNet *net) {
    const int pin = net->pin;
    net->pin = -1;
    ow_laws_evaluate(net->laws, net->link_count, net->pressure);
    ow_flow_add_up(net, net->pressure);
    net->pin = pin;
    return ow_flow_is_balanced(net, OW_FLOW_BALANCE_M3_S);
}

/// The place that an undamped step would move farthest: of the slow mode, if there is one.
static int slowest_place(OwFlowNet *net) {
    ow_laws_evaluate(net->laws, net->link_count, net->pressure);
    ow_flow_add_up(net, net->pressure);
    if (!ow_flow_find_step(net, 0.0)) {
        return -1;
    }
    int place = 0;
    for (int i = 1; i < net->unknown_count; i++) {
        place = fabs(net->move[i]) > fabs(net->move[place]) ? i : place;
    }
    return place;
}

/// Start values at a level: between two solved ones straight, else the one there is, else all at the level.
static void guess(OwFlowNet *net, const OwLevelSearch *search, double pa) {
    const OwLevelEnd *low = &search->low, *high = &search->high;
    if (low->is_known && high->is_known) {
        const double share = (pa - low->pa) / (high->pa - low->pa);
        for (int i = 0; i < net->unknown_count; i++) {
            net->pressure[i] = low->pressure[i] + share * (high->pressure[i] - low->pressure[i]);
        }
    } else if (low->is_known || high->is_known) {
        copy(net, net->pressure, low->is_known ? low->pressure : high->pressure);
    } else if (search->tried > 0) {
        for (int i = 0; i < net->unknown_count; i++) {
            net->pressure[i] = pa;
        }
    }
}

/// A level nearer to what is solved, or elsewhere while nothing is. False when enough was tried.
static bool retreat(OwLevelSearch *search, double *pa) {
    static const double first[MOST_UNSETTLED] = {0.0, -5e4, -9e4, 5e4, 1e5, 2e5, -1e5, 5e5};
    const OwLevelEnd *low = &search->low, *high = &search->high;
    if (search->tried == MOST_UNSETTLED) {
        return false;
    }
    if (!low->is_known && !high->is_known) {
        *pa = first[search->tried];
    } else {
        const bool is_low = !high->is_known || (low->is_known && *pa - low->pa < high->pa - *pa);
        *pa = 0.5 * (*pa + (is_low ? low->pa : high->pa));
    }
    search->tried++;
    return true;
}

/// Takes a solved level as an end of the bracket. The end that stays twice counts half (Illinois; Dowell &
/// Jarratt 1971, BIT 11:168).
static void narrow(OwFlowNet *net, OwLevelSearch *search, double pa, double inflow_m3_s) {
    const int side = inflow_m3_s > 0.0 ? 1 : -1;
    OwLevelEnd *end = side > 0 ? &search->high : &search->low,
               *other = side > 0 ? &search->low : &search->high;
    end->is_known = true;
    end->pa = pa;
    // Leaks on one side, a whole pump on the other: orders of magnitude are what a secant can use.
    end->weight = asinh(inflow_m3_s / OW_FLOW_BALANCE_M3_S);
    copy(net, end->pressure, net->pressure);
    if (side == search->last_side) {
        other->weight *= 0.5;
    }
    search->last_side = side;
}

/// The next level to try. False when the bracket is as narrow, or the reach as wide, as it may be.
static bool next_level(OwLevelSearch *search, int turn, double *pa) {
    const OwLevelEnd *low = &search->low, *high = &search->high;
    if (!low->is_known || !high->is_known) {
        *pa = low->is_known ? low->pa + search->reach_pa : high->pa - search->reach_pa;
        search->reach_pa *= REACH_RISE;
        return search->reach_pa < MOST_REACH_PA;
    }
    const double width = high->pa - low->pa;
    double share = fmin(fmax(low->weight / (low->weight - high->weight), LEAST_SHARE), 1.0 - LEAST_SHARE);
    if (turn % 3 == 0) { // three secants that did not halve it: halve it
        share = width > 0.5 * search->width ? 0.5 : share;
        search->width = width;
    }
    *pa = low->pa + share * width;
    return width > LEAST_WIDTH_PA;
}

/// Another place to hold when the first did not do: the one that jumps between the ends of the bracket.
static int jumping_place(const OwFlowNet *net, const OwLevelSearch *search) {
    int place = -1;
    double most_pa = 0.0;
    for (int i = 0; i < net->unknown_count && search->low.is_known && search->high.is_known; i++) {
        const double jump_pa = fabs(search->high.pressure[i] - search->low.pressure[i]);
        if (i != net->pin && jump_pa > most_pa) {
            most_pa = jump_pa;
            place = i;
        }
    }
    return place;
}

/// Brackets the level of the held place until `net->iterations` passes `most_iterations`.
static bool bracket(OwFlowNet *net, OwLevelSearch *search, int most_iterations) {
    double pa = net->pressure[net->pin];
    bool goes_on = true;
    for (int turn = 0; turn < MOST_LEVELS && goes_on && net->iterations < most_iterations; turn++) {
        net->pin_pa = pa;
        guess(net, search, pa);
        if (!settle(net)) {
            goes_on = retreat(search, &pa);
            continue;
        }
        const double inflow_m3_s = net->pin_m3_s_pa * (pa - net->pressure[net->pin]);
        if (fabs(inflow_m3_s) <= LEVEL_BALANCE_M3_S && is_balanced_unheld(net)) {
            return true;
        }
        narrow(net, search, pa, inflow_m3_s);
        goes_on = next_level(search, turn, &pa);
    }
    return is_balanced_unheld(net); // the bracket may be as narrow as numbers allow
}

bool ow_flow_find_level(OwFlowNet *net, int most_iterations) {
    copy(net, net->start, net->pressure);
    net->pin_m3_s_pa = HOLD_M3_S_PA;
    net->pin = slowest_place(net);
    bool is_found = false;
    for (int attempt = 0; attempt < ATTEMPTS && net->pin >= 0 && !is_found; attempt++) {
        OwLevelSearch search = {.low.pressure = net->low,
                                .high.pressure = net->high,
                                .width = INFINITY,
                                .reach_pa = FIRST_REACH_PA};
        copy(net, net->pressure, net->start);
        const int left = (most_iterations - net->iterations) / (ATTEMPTS - attempt);
        is_found = bracket(net, &search, net->iterations + left);
        net->pin = is_found ? net->pin : jumping_place(net, &search);
    }
    net->pin = -1;
    if (!is_found) {
        copy(net, net->pressure, net->start);
    }
    return is_found;
}
