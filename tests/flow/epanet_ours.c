// SPDX-License-Identifier: GPL-3.0-or-later
// Our side of the comparison with EPANET: the three networks of epanet.mjs, "network link flow_m3_s" a line.
#include "oilwright/flow.h"

#include <math.h>
#include <stdio.h>

#define PI 3.14159265358979323846
#define DENSITY 1000.0
#define HEAD(metres) (DENSITY * OW_GRAVITY_M_S2 * (metres))
#define COUNT(array) ((int)(sizeof(array) / sizeof(array)[0]))

/// Pipe with `heads` velocity heads of minor loss.
static OwLink pipe_of(int from, int to, double length_m, double bore_m, double roughness_m, double heads,
                      double nu) {
    const double area = PI * bore_m * bore_m / 4.0;
    return (OwLink){.law = OW_LINK_PIPE,
                    .from = from,
                    .to = to,
                    .bore_m = bore_m,
                    .roughness_m = roughness_m,
                    .kinematic_m2_s = nu,
                    .density_kg_m3 = DENSITY,
                    .linear_pa_s_m3 = 128.0 * nu * DENSITY * length_m / (PI * pow(bore_m, 4.0)),
                    .square_pa_s2_m6 = heads * DENSITY / (2.0 * area * area)};
}

static int solve_and_print(const char *name, OwFlowNode *nodes, int node_count, OwLink *links, int link_count,
                           const char *const *names) {
    OwArena *arena = ow_arena_create();
    OwFlowNet *net = NULL;
    const bool is_solved = arena &&
                           ow_flow_create(nodes, node_count, links, link_count, arena, &net) == OW_OK &&
                           ow_flow_solve(net) == OW_OK;
    for (int k = 0; is_solved && k < link_count; k++) {
        printf("%s %s %.9e\n", name, names[k], links[k].flow_m3_s);
    }
    ow_arena_destroy(&arena);
    return is_solved ? 0 : 1;
}

static int loop(void) {
    const double nu = 80e-6, e = 1.5e-6;
    OwFlowNode nodes[] = {{.is_fixed = true, .pressure_pa = HEAD(3.0)}, {0}, {0}, {.is_fixed = true}};
    OwLink links[] = {pipe_of(0, 1, 2.0, 0.010, e, 0.0, nu), pipe_of(1, 2, 1.5, 0.008, e, 0.0, nu),
                      pipe_of(1, 3, 4.0, 0.008, e, 0.0, nu), pipe_of(2, 3, 2.0, 0.010, e, 0.0, nu),
                      pipe_of(0, 2, 6.0, 0.008, e, 0.0, nu)};
    const char *const names[] = {"AB", "BC", "BD", "CD", "AC"};
    return solve_and_print("loop", nodes, COUNT(nodes), links, COUNT(links), names);
}

static int pump(void) {
    OwFlowNode nodes[] = {
        {.is_fixed = true, .air_solubility = 0.1}, {0}, {.is_fixed = true, .pressure_pa = HEAD(1.0)}};
    OwLink links[] = {{.law = OW_LINK_PUMP,
                       .from = 0,
                       .to = 1,
                       .drive = 1.0,
                       .curve_count = 4,
                       .curve_flow_m3_s = {0.0, 2e-5, 3e-5, 4e-5},
                       .curve_pa = {HEAD(5.0), HEAD(2.5), HEAD(1.25), 0.0}},
                      pipe_of(1, 2, 3.0, 0.010, 1.5e-6, 0.0, 80e-6)};
    const char *const names[] = {"AB", "BC"};
    return solve_and_print("pump", nodes, COUNT(nodes), links, COUNT(links), names);
}

static int valves(void) {
    const double nu = 1e-6, e = 5e-4;
    OwFlowNode nodes[] = {{.is_fixed = true, .pressure_pa = HEAD(20.0)}, {0}, {0}, {.is_fixed = true}};
    OwLink links[] = {pipe_of(0, 1, 2.0, 0.025, e, 5.0, nu), pipe_of(1, 2, 0.5, 0.020, e, 40.0, nu),
                      pipe_of(1, 2, 0.5, 0.020, e, 90.0, nu), pipe_of(2, 3, 2.0, 0.025, e, 5.0, nu)};
    const char *const names[] = {"AB", "BC1", "BC2", "CD"};
    return solve_and_print("valves", nodes, COUNT(nodes), links, COUNT(links), names);
}

int main(void) {
    return loop() | pump() | valves();
}
