// SPDX-License-Identifier: GPL-3.0-or-later
// Nanoseconds of a warm solve and of one pass on a path of 12 nodes and 15 links. A pass is one evaluation of
// all links with its test; all but the last of a solve are followed by assembly, factorisation and step.
#include "oilwright/flow.h"

#include <math.h>
#include <stdio.h>
#include <time.h>

enum { NODES = 12, LINKS = 15, CALLS = 200000 };

static double now_s(void) {
    struct timespec t;
    clock_gettime(CLOCK_MONOTONIC, &t);
    return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

static OwLink pipe_between(int from, int to, double bore_m) {
    return (OwLink){.law = OW_LINK_PIPE,
                    .from = from,
                    .to = to,
                    .bore_m = bore_m,
                    .roughness_m = 1.5e-6,
                    .density_kg_m3 = 910.0};
}

static void set_viscosity(OwLink *links, double kinematic_m2_s) {
    for (int k = 0; k < LINKS; k++) {
        OwLink *link = &links[k];
        link->kinematic_m2_s = kinematic_m2_s;
        if (link->law == OW_LINK_PIPE) {
            const double bore2 = link->bore_m * link->bore_m;
            link->linear_pa_s_m3 =
                128.0 * kinematic_m2_s * 910.0 * 0.5 / (3.14159265358979323846 * bore2 * bore2);
        } else if (link->law == OW_LINK_DARCY) {
            link->linear_pa_s_m3 = 1e12 * kinematic_m2_s * 10.0;
        }
    }
}

/// Tank, boost pump, filters in parallel, lift pump, injection pump with relief and return; all else pipes.
static void build(OwFlowNode *nodes, OwLink *links) {
    for (int i = 0; i < NODES; i++) {
        nodes[i] = (OwFlowNode){.is_fixed = i == 0, .air_solubility = 0.08};
    }
    links[0] = pipe_between(0, 1, 0.010);
    links[1] = (OwLink){
        .law = OW_LINK_PUMP, .from = 1, .to = 2, .drive = 1.0, .stall_pa = 4e4, .free_flow_m3_s = 4e-5};
    links[2] = pipe_between(2, 3, 0.010);
    links[3] = (OwLink){.law = OW_LINK_DARCY, .from = 3, .to = 4};
    links[4] = (OwLink){.law = OW_LINK_DARCY, .from = 3, .to = 4};
    links[5] = pipe_between(4, 5, 0.008);
    links[6] = (OwLink){
        .law = OW_LINK_LIFT, .from = 5, .to = 6, .drive = 2.5e-5, .set_pa = 3e4, .linear_pa_s_m3 = 1e8};
    links[7] = pipe_between(6, 7, 0.008);
    links[8] = (OwLink){.law = OW_LINK_DARCY, .from = 7, .to = 8};
    links[9] = (OwLink){.law = OW_LINK_TRANSFER, .from = 8, .to = 9, .drive = 2e-5};
    links[10] = (OwLink){.law = OW_LINK_DEMAND, .from = 9, .to = -1, .drive = 2e-6};
    links[11] = (OwLink){.law = OW_LINK_RELIEF, .from = 9, .to = 10, .set_pa = 5e4, .linear_pa_s_m3 = 1e9};
    links[12] = pipe_between(10, 11, 0.006);
    links[13] = pipe_between(11, 0, 0.006);
    links[14] = (OwLink){.law = OW_LINK_CHECK, .from = 11, .to = 5, .set_pa = 1e4, .linear_pa_s_m3 = 1e9};
}

static int run(const char *name, double first_m2_s, double last_m2_s) {
    OwArena *arena = ow_arena_create();
    OwFlowNode nodes[NODES];
    OwLink links[LINKS];
    OwFlowNet *net = NULL;
    build(nodes, links);
    set_viscosity(links, first_m2_s);
    if (!arena || ow_flow_create(nodes, NODES, links, LINKS, arena, &net) != OW_OK ||
        ow_flow_solve(net) != OW_OK) {
        ow_arena_destroy(&arena);
        return 1;
    }
    const int cold = ow_flow_iterations(net);
    long iterations = 0;
    double spent_s = 0.0;
    int failures = 0;
    for (int i = 0; i < CALLS; i++) {
        // A thousand calls span the range, as a morning does; then back again.
        const double u = fabs((double)(i % 2000) / 1000.0 - 1.0);
        set_viscosity(links, last_m2_s * pow(first_m2_s / last_m2_s, u));
        const double start_s = now_s();
        failures += ow_flow_solve(net) != OW_OK;
        spent_s += now_s() - start_s;
        iterations += ow_flow_iterations(net);
    }
    double clock_s = 0.0;
    for (int i = 0; i < CALLS; i++) {
        const double start_s = now_s();
        clock_s += now_s() - start_s;
    }
    spent_s -= clock_s;
    printf("%-28s cold %2d iterations; warm %.2f iterations, %.0f ns a solve, %.0f ns a pass, %d failures\n",
           name, cold, (double)iterations / CALLS, 1e9 * spent_s / CALLS,
           1e9 * spent_s / (double)(iterations + CALLS), failures);
    ow_arena_destroy(&arena);
    return failures != 0;
}

int main(void) {
    int bad = run("cold oil, 600 to 40 mm2/s", 6e-4, 4e-5);
    bad |= run("warm oil, 40 to 8 mm2/s", 4e-5, 8e-6);
    bad |= run("thin, 2 to 1 mm2/s, turbulent", 2e-6, 1e-6);
    return bad;
}
