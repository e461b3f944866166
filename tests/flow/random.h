// SPDX-License-Identifier: GPL-3.0-or-later
// For tests: xorshift numbers and random networks of any laws.
#ifndef OILWRIGHT_TESTS_FLOW_RANDOM_H
#define OILWRIGHT_TESTS_FLOW_RANDOM_H

#include "oilwright/flow.h"

#include <math.h>

enum { MOST_NODES = 16, MOST_LINKS = 24 };

typedef struct RandomNet {
    OwFlowNode nodes[MOST_NODES];
    OwLink links[MOST_LINKS];
    int node_count, link_count;
} RandomNet;

/// Marsaglia 2003, J. Stat. Software 8(14): xorshift, triple 13, 7, 17.
static inline uint64_t random_next(uint64_t *state) {
    uint64_t x = *state;
    x ^= x << 13;
    x ^= x >> 7;
    x ^= x << 17;
    return *state = x;
}

static inline double random_unit(uint64_t *state) {
    return (double)(random_next(state) >> 11) * 0x1p-53;
}

static inline double random_between(uint64_t *state, double low, double high) {
    return low + (high - low) * random_unit(state);
}

static inline double random_log(uint64_t *state, double low, double high) {
    return low * pow(high / low, random_unit(state));
}

static inline int random_below(uint64_t *state, int count) {
    return (int)(random_next(state) % (uint64_t)count);
}

static inline void random_coefficients(uint64_t *state, OwLink *link) {
    link->linear_pa_s_m3 = random_below(state, 12) ? random_log(state, 1e6, 1e13) : 0.0;
    link->square_pa_s2_m6 = random_below(state, 2) ? random_log(state, 1e8, 1e16) : 0.0;
    link->static_pa = random_below(state, 2) ? random_between(state, -20000.0, 20000.0) : 0.0;
    link->bore_m = random_log(state, 0.003, 0.02);
    link->roughness_m = random_below(state, 3) ? 1.5e-6 : 1e-4;
    link->kinematic_m2_s = random_log(state, 5e-7, 2e-3);
    link->density_kg_m3 = 900.0;
    link->passes_when_off = random_below(state, 2);
    switch (link->law) {
    case OW_LINK_PIPE: { // Hagen-Poiseuille of 0.05..5 m
        const double length = random_log(state, 0.05, 5.0), bore2 = link->bore_m * link->bore_m;
        link->linear_pa_s_m3 =
            128.0 * link->kinematic_m2_s * link->density_kg_m3 * length / (3.141592653589793 * bore2 * bore2);
        break;
    }
    case OW_LINK_CHECK:
    case OW_LINK_RELIEF:
        link->set_pa = random_below(state, 3) ? random_between(state, 0.0, 3e5) : 0.0;
        break;
    case OW_LINK_PUMP:
        link->drive = random_below(state, 4) ? random_between(state, 0.0, 1.0) : 0.0;
        link->stall_pa = random_log(state, 5e3, 6e5);
        link->free_flow_m3_s = random_log(state, 1e-7, 1e-4);
        if (random_below(state, 2)) {
            link->curve_count = 2 + random_below(state, OW_FLOW_CURVE - 1);
            for (int i = 0; i < link->curve_count; i++) {
                const double u = (double)i / (link->curve_count - 1);
                link->curve_flow_m3_s[i] = link->free_flow_m3_s * u;
                link->curve_pa[i] = link->stall_pa * (1.0 - (i % 2 ? pow(u, 1.7) : u * u));
            }
        }
        break;
    case OW_LINK_LIFT:
        link->set_pa = random_between(state, 1e4, 6e4);
        link->drive = random_below(state, 4) ? random_log(state, 1e-8, 5e-5) : 0.0;
        break;
    case OW_LINK_TRANSFER:
    case OW_LINK_DEMAND:
        link->drive = random_below(state, 4) ? random_log(state, 1e-8, 1e-4) : 0.0;
        break;
    default:
        break;
    }
}

/// Any graph: a spanning chain most of the time, then links at random; 0 to 3 fixed nodes.
static inline void random_net(uint64_t *state, RandomNet *net) {
    *net = (RandomNet){0};
    net->node_count = 2 + random_below(state, MOST_NODES - 1);
    const bool is_chained = random_below(state, 10) != 0;
    net->link_count =
        is_chained ? net->node_count - 1 + random_below(state, 7) : 1 + random_below(state, MOST_LINKS);
    for (int i = 0; i < net->node_count; i++) {
        OwFlowNode *node = &net->nodes[i];
        node->is_fixed = random_below(state, 5) == 0 || (i == 0 && random_below(state, 20));
        node->pressure_pa = node->is_fixed ? random_between(state, -20000.0, 50000.0) : 0.0;
        node->air_solubility = random_between(state, 0.0, 0.2);
    }
    for (int k = 0; k < net->link_count; k++) {
        OwLink *link = &net->links[k];
        static const OwLinkLaw laws[] = {OW_LINK_PIPE,  OW_LINK_PIPE,  OW_LINK_PIPE,     OW_LINK_PIPE,
                                         OW_LINK_DARCY, OW_LINK_DARCY, OW_LINK_CHECK,    OW_LINK_RELIEF,
                                         OW_LINK_PUMP,  OW_LINK_LIFT,  OW_LINK_TRANSFER, OW_LINK_DEMAND,
                                         OW_LINK_CLOSED};
        link->law = laws[random_below(state, (int)(sizeof laws / sizeof laws[0]))];
        link->part = k;
        link->from = k < net->node_count - 1 ? k : random_below(state, net->node_count);
        do {
            link->to = k < net->node_count - 1 && is_chained ? k + 1 : random_below(state, net->node_count);
        } while (link->to == link->from);
        if (link->law == OW_LINK_DEMAND) {
            link->to = -1;
        } else if (random_below(state, 6) == 0) {
            const int swap = link->from;
            link->from = link->to;
            link->to = swap;
        }
        random_coefficients(state, link);
    }
}

#endif
