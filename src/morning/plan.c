// SPDX-License-Identifier: GPL-3.0-or-later
// Compiles a rig: room for the arrays, oil, nodes, parts, where each fluid stands at key on, and the state
// layout.
#include "morning/plan.h"
#include "oil/curve.h"

#include <math.h>
#include <stdlib.h>
#include <stdio.h>
#include <string.h>

/// Oil's heat capacity per volume changes little with heat (density falls, specific heat rises); one figure
/// at this temperature.
#define CAPACITY_AT_K 323.15
/// Coolant through the cab's heater at full engine speed. Common practice, no source.
#define CAB_KG_S 0.15

static void curve_from(OwCurve *out, const OwCurve *kinematic, const OwCurve *density, bool is_log) {
    double value[OW_CURVE_POINTS];
    for (int i = 0; i < OW_CURVE_POINTS; i++) {
        const double t = ow_curve_knot(i);
        const double dynamic = ow_curve_value(kinematic, t) * ow_curve_value(density, t);
        value[i] = is_log ? log(dynamic) : dynamic;
    }
    ow_curve_fill(out, value);
}

static OwStatus plan_fault(OwFaults *faults, const OwRig *rig, const char *part, const char *message,
                           const char *remedy) {
    OwFault fault = {.status = OW_ERROR_VALUE, .severity = OW_FAULT_ERROR};
    (void)snprintf(fault.file, sizeof fault.file, "%s", rig->file);
    (void)snprintf(fault.part, sizeof fault.part, "%s", part);
    (void)snprintf(fault.message, sizeof fault.message, "%s", message);
    (void)snprintf(fault.remedy, sizeof fault.remedy, "%s", remedy);
    if (faults) {
        (void)ow_faults_add(faults, &fault);
    }
    return OW_ERROR_VALUE;
}

/// Takes room for the worst case: every part a tank, chamber or run with all elements.
static OwStatus take_room(OwPlan *plan) {
    const size_t parts = (size_t)plan->rig->part_count;
    const size_t ports = parts * OW_MAX_PORTS;
    const size_t lumps = ports + parts * (2 + 8 + 1 + OW_MAX_ELEMENTS) + 2;
    const size_t ties = ports + parts * (1 + 8 + 8 + 3 + OW_MAX_ELEMENTS * 9) + 5;
    OwArena *arena = plan->arena;
    plan->parts = ow_arena_take(arena, parts, sizeof *plan->parts);
    plan->links = ow_arena_take(arena, parts * 5 + 1, sizeof *plan->links);
    plan->plan_links = ow_arena_take(arena, parts * 5 + 1, sizeof *plan->plan_links);
    plan->lump_j_k = ow_arena_take(arena, lumps, sizeof *plan->lump_j_k);
    plan->lump_is_oil = ow_arena_take(arena, lumps, sizeof *plan->lump_is_oil);
    plan->lump_share = ow_arena_take(arena, lumps, sizeof *plan->lump_share);
    plan->ties = ow_arena_take(arena, ties, sizeof *plan->ties);
    plan->plan_ties = ow_arena_take(arena, ties, sizeof *plan->plan_ties);
    plan->streams = ow_arena_take(arena, parts * 12, sizeof *plan->streams);
    plan->chains = ow_arena_take(arena, parts, sizeof *plan->chains);
    plan->plan_chains = ow_arena_take(arena, parts, sizeof *plan->plan_chains);
    plan->chain_share = ow_arena_take(arena, parts, sizeof *plan->chain_share);
    plan->surfaces = ow_arena_take(arena, parts + 1, sizeof *plan->surfaces);
    plan->elements = ow_arena_take(arena, parts * OW_MAX_ELEMENTS, sizeof *plan->elements);
    plan->sensors = ow_arena_take(arena, parts * OW_MAX_ELEMENTS, sizeof *plan->sensors);
    plan->tanks = ow_arena_take(arena, parts, sizeof *plan->tanks);
    if (!plan->parts || !plan->links || !plan->plan_links || !plan->lump_j_k || !plan->lump_is_oil ||
        !plan->lump_share || !plan->ties || !plan->plan_ties || !plan->streams || !plan->chains ||
        !plan->plan_chains || !plan->chain_share || !plan->surfaces || !plan->elements || !plan->sensors ||
        !plan->tanks) {
        return OW_ERROR_MEMORY;
    }
    for (size_t p = 0; p < parts; p++) {
        plan->parts[p].chain = plan->parts[p].wall = plan->parts[p].tank = -1;
    }
    return OW_OK;
}

static void add_engine(OwPlan *plan) {
    const OwEngine *engine = &plan->rig->engine;
    plan->block = ow_plan_lump(plan, engine->block_j_k, false);
    plan->coolant = ow_plan_lump(plan, engine->coolant_j_k, false);
    const OwPlanTie constant = {.role = OW_TIE_CONSTANT, .part = -1, .surface = -1, .link = -1};
    OwPlanTie tie = constant;
    tie.w_k = engine->block_coolant_w_k;
    (void)ow_plan_tie(plan, plan->block, plan->coolant, tie);
    tie.w_k = engine->bay_loss_w_k;
    (void)ow_plan_tie(plan, plan->block, -1, tie);
    tie.role = OW_TIE_RADIATOR;
    (void)ow_plan_tie(plan, plan->coolant, -1, tie);
    if (engine->cab_heater_w_k > 0.0) {
        tie.role = OW_TIE_CAB;
        tie.w_k = engine->cab_heater_w_k;
        tie.coolant_kg_s = CAB_KG_S;
        (void)ow_plan_tie(plan, plan->coolant, -1, tie);
    }
}

/// Is a link open to flow with every valve in its start position?
static bool is_open_at_start(const OwPlan *plan, int l) {
    const OwPlanLink *extra = &plan->plan_links[l];
    const OwPart *part = &plan->rig->parts[extra->part];
    if (part->kind != OW_PART_VALVE) {
        return true;
    }
    const OwValve *valve = &part->as.valve;
    return extra->valve_port == 1 ? valve->opens_a[valve->start_position]
                                  : valve->opens_b[valve->start_position];
}

/// What stands in the lines at key on: each fluid as far as it flows from its tank, valves at their start
/// positions.
static OwStatus fill_lines(OwPlan *plan) {
    int *fluid_of = malloc((size_t)plan->node_count * sizeof *fluid_of);
    if (!fluid_of) {
        return OW_ERROR_MEMORY;
    }
    for (int n = 0; n < plan->node_count; n++) {
        fluid_of[n] = -1;
    }
    for (int t = 0; t < plan->tank_count; t++) {
        const OwTank *tank = &plan->rig->parts[plan->tanks[t].part].as.tank;
        int fluid = 0;
        for (int f = 0; f < plan->fluid_count; f++) {
            if (strcmp(tank->fluid, plan->rig->fluid_name[f]) == 0) {
                fluid = f;
            }
        }
        plan->lump_share[plan->tanks[t].near] = plan->lump_share[plan->tanks[t].bulk] = fluid;
        fluid_of[plan->tanks[t].pickup_node] = fluid;
        fluid_of[plan->tanks[t].return_node] = fluid;
    }
    for (int round = 0; round < 2; round++) {
        // Downstream first; then whatever is left takes its neighbour's fluid.
        for (bool has_changed = true; has_changed;) {
            has_changed = false;
            for (int l = 0; l < plan->link_count; l++) {
                const OwLink *link = &plan->links[l];
                if (link->to < 0 || (round == 0 && !is_open_at_start(plan, l))) {
                    continue;
                }
                // Oil leaves a tank at the pick-up only.
                const bool is_from_return =
                    plan->nodes[link->from].is_fixed && plan->plan_links[l].role != OW_ROLE_RUN;
                if (fluid_of[link->from] >= 0 && fluid_of[link->to] < 0 && !is_from_return) {
                    fluid_of[link->to] = fluid_of[link->from];
                    has_changed = true;
                } else if (round == 1 && fluid_of[link->to] >= 0 && fluid_of[link->from] < 0) {
                    fluid_of[link->from] = fluid_of[link->to];
                    has_changed = true;
                }
            }
        }
    }
    for (int n = 0; n < plan->node_count; n++) {
        if (!plan->nodes[n].is_fixed) {
            plan->lump_share[plan->node_lump[n]] = fluid_of[n] > 0 ? 1.0 : 0.0;
        }
    }
    for (int l = 0; l < plan->link_count; l++) {
        const OwPlanLink *extra = &plan->plan_links[l];
        if (plan->links[l].to < 0) {
            continue;
        }
        const double share = fluid_of[plan->links[l].from] > 0 ? 1.0 : 0.0;
        if (extra->chain >= 0) {
            plan->chain_share[extra->chain] = share;
        }
        for (int s = extra->stream_first; s < extra->stream_first + extra->stream_count - 1; s++) {
            plan->lump_share[plan->streams[s].to] = share;
        }
    }
    free(fluid_of);
    return OW_OK;
}

/// What the equations cannot hold: a part whose two ends are one place, and one place in two tanks.
static OwStatus check_joints(const OwPlan *plan, OwFaults *faults) {
    const OwRig *rig = plan->rig;
    for (int l = 0; l < plan->link_count; l++) {
        if (plan->links[l].from == plan->links[l].to) {
            return plan_fault(faults, rig, rig->parts[plan->links[l].part].name,
                              "both ends of it are joined to the same place, so nothing can flow through it",
                              "join its two ends to different parts in `lines`");
        }
    }
    for (int t = 0; t < plan->tank_count; t++) {
        for (int u = 0; u < t; u++) {
            const OwPlanTank *a = &plan->tanks[t], *b = &plan->tanks[u];
            if (a->pickup_node == b->pickup_node || a->pickup_node == b->return_node ||
                a->return_node == b->pickup_node || a->return_node == b->return_node) {
                return plan_fault(faults, rig, rig->parts[a->part].name,
                                  "it is joined to another tank without anything between",
                                  "put a hose or a valve between the two tanks");
            }
        }
    }
    return OW_OK;
}

/// The wired network, and which of its circuits feeds what.
static OwStatus add_wiring(OwPlan *plan, OwFaults *faults) {
    for (int p = 0; p < plan->rig->part_count; p++) {
        plan->parts[p].circuit = -1;
    }
    for (int e = 0; e < plan->element_count; e++) {
        plan->elements[e].circuit = -1;
    }
    if (!plan->rig->electric_spec) {
        return OW_OK;
    }
    const OwStatus status = ow_power_create(plan->rig, &plan->power, faults);
    if (status != OW_OK) {
        return status;
    }
    for (int p = 0; p < plan->rig->part_count; p++) {
        plan->parts[p].circuit = ow_power_find(plan->power, p, -1);
    }
    for (int e = 0; e < plan->element_count; e++) {
        plan->elements[e].circuit =
            ow_power_find(plan->power, plan->elements[e].part, plan->elements[e].index);
    }
    return OW_OK;
}

static void lay_out_state(OwPlan *plan) {
    int at = plan->lump_count;
    for (int c = 0; c < plan->chain_count; c++) {
        plan->chains[c].first = at;
        at += 2 * plan->chains[c].cells;
    }
    plan->heat_count = at;
    plan->sensor_at = at;
    at += plan->sensor_count;
    plan->tank_at = at;
    at += plan->tank_count;
    plan->battery_at = at;
    at += plan->power ? 2 : 0;
    plan->share_at = at;
    at += plan->fluid_count > 1 ? plan->heat_count : 0;
    plan->sum_at = at;
    plan->state_count = at + OW_SUM_COUNT;
}

/// Makes a fluid, or takes it over when it was described by the same figures.
static OwStatus make_fluid(OwPlan *plan, const OwPlan *like, int f, OwFaults *faults) {
    const OwOilSpec *spec = &plan->rig->fluid_spec[f];
    if (like && f < like->fluid_count && memcmp(spec, &like->fluid_spec[f], sizeof *spec) == 0) {
        plan->fluids[f] = like->fluids[f];
        plan->dynamic[f] = like->dynamic[f];
        plan->log_dynamic[f] = like->log_dynamic[f];
    } else {
        const OwStatus status = ow_oil_make(spec, &plan->fluids[f], faults);
        if (status != OW_OK) {
            return status;
        }
        curve_from(&plan->dynamic[f], &plan->fluids[f].kinematic_m2_s, &plan->fluids[f].density_kg_m3, false);
        curve_from(&plan->log_dynamic[f], &plan->fluids[f].kinematic_m2_s, &plan->fluids[f].density_kg_m3,
                   true);
    }
    plan->fluid_spec[f] = *spec;
    return OW_OK;
}

OwStatus ow_plan_create(const OwRig *rig, OwPlan **out, OwFaults *faults) {
    return ow_plan_create_like(rig, NULL, out, faults);
}

OwStatus ow_plan_create_like(const OwRig *rig, const OwPlan *like, OwPlan **out, OwFaults *faults) {
    *out = NULL;
    OwArena *arena = ow_arena_create();
    OwPlan *plan = arena ? ow_arena_take(arena, 1, sizeof *plan) : NULL;
    if (!plan) {
        ow_arena_destroy(&arena);
        return OW_ERROR_MEMORY;
    }
    plan->rig = rig;
    plan->arena = arena;
    plan->pump_part = plan->inlet_node = plan->demand_link = -1;
    plan->fluid_count = rig->fluid_count > 1 ? 2 : 1;
    OwStatus status = OW_OK;
    for (int f = 0; f < plan->fluid_count && status == OW_OK; f++) {
        status = make_fluid(plan, like, f, faults);
    }
    if (status == OW_OK) {
        status = take_room(plan);
    }
    if (status == OW_OK) {
        plan->volumetric_j_m3k = ow_curve_value(&plan->fluids[0].density_kg_m3, CAPACITY_AT_K) *
                                 ow_curve_value(&plan->fluids[0].specific_heat_j_kgk, CAPACITY_AT_K);
        status = ow_drive_compile(rig, &plan->fluids[0], arena, &plan->drive, faults);
    }
    if (status == OW_OK) {
        add_engine(plan);
        status = ow_plan_nodes(plan);
    }
    if (status == OW_OK) {
        status = ow_plan_parts(plan);
    }
    if (status == OW_OK && (plan->pump_part < 0 || plan->tank_count == 0)) {
        status = plan_fault(faults, rig, rig->name, "a rig needs a tank and an injection pump",
                            "add the missing part to `parts`");
    }
    if (status == OW_OK) {
        status = check_joints(plan, faults);
    }
    if (status == OW_OK) {
        status = fill_lines(plan);
    }
    if (status == OW_OK) {
        status = add_wiring(plan, faults);
    }
    if (status != OW_OK) {
        ow_plan_destroy(&plan);
        return status;
    }
    lay_out_state(plan);
    *out = plan;
    return OW_OK;
}

void ow_plan_destroy(OwPlan **plan) {
    if (plan && *plan) {
        OwArena *arena = (*plan)->arena;
        ow_power_destroy(&(*plan)->power);
        *plan = NULL;
        ow_arena_destroy(&arena);
    }
}

void ow_plan_set_air(OwPlan *plan, double air_solubility) {
    const double taken = fmin(fmax(air_solubility, 0.01), 10.0); // NaN counts as the least
    for (int n = 0; n < plan->node_count; n++) {
        plan->nodes[n].air_solubility = taken;
    }
}

int ow_plan_state_count(const OwPlan *plan) {
    return plan->heat_count + plan->sensor_count + (plan->fluid_count > 1 ? plan->heat_count : 0);
}

const OwFluid *ow_plan_fluid(const OwPlan *plan, int index) {
    return index >= 0 && index < plan->fluid_count ? &plan->fluids[index] : NULL;
}

/// Walks from a node along open links, up- or downstream, to the first tank; breadth first, so the shortest
/// way is listed.
static int walk(const OwPlan *plan, int start, bool is_upstream, int *parts, int size) {
    int *came_by = malloc((size_t)plan->node_count * sizeof *came_by);
    int *queue = malloc((size_t)plan->node_count * sizeof *queue);
    int count = 0, head = 0, tail = 0, found = -1;
    if (!came_by || !queue) {
        free(came_by);
        free(queue);
        return 0;
    }
    for (int n = 0; n < plan->node_count; n++) {
        came_by[n] = -2;
    }
    came_by[start] = -1;
    queue[tail++] = start;
    while (head < tail && found < 0) {
        const int n = queue[head++];
        for (int l = 0; l < plan->link_count && found < 0; l++) {
            const OwLink *link = &plan->links[l];
            if (link->to < 0 || !is_open_at_start(plan, l)) {
                continue;
            }
            const bool is_two_way = plan->plan_links[l].valve_port > 0;
            int next = -1;
            if ((is_upstream ? link->to : link->from) == n) {
                next = is_upstream ? link->from : link->to;
            } else if (is_two_way && (is_upstream ? link->from : link->to) == n) {
                next = is_upstream ? link->to : link->from;
            }
            if (next >= 0 && came_by[next] == -2) {
                came_by[next] = l;
                queue[tail++] = next;
                if (plan->nodes[next].is_fixed) {
                    found = next;
                }
            }
        }
    }
    int last = tail > 0 ? queue[tail - 1] : start;
    if (found < 0 && !is_upstream) {
        found = last; // a closed loop: list as far as it goes
    }
    for (int t = 0; found >= 0 && t < plan->tank_count; t++) {
        const OwPlanTank *tank = &plan->tanks[t];
        if ((tank->pickup_node == found || tank->return_node == found) && count < size) {
            parts[count++] = tank->part;
            break;
        }
    }
    for (int n = found; n >= 0 && came_by[n] >= 0;) {
        const int l = came_by[n];
        if (count < size && (count == 0 || parts[count - 1] != plan->plan_links[l].part)) {
            parts[count++] = plan->plan_links[l].part;
        }
        const OwLink *link = &plan->links[l];
        n = link->from == n ? link->to : link->from;
    }
    free(came_by);
    free(queue);
    return count;
}

int ow_plan_path(const OwPlan *plan, int *parts, int size) {
    int count = walk(plan, plan->inlet_node, true, parts, size);
    if (count < size) {
        parts[count++] = plan->pump_part;
    }
    return count;
}

int ow_plan_return_path(const OwPlan *plan, int *parts, int size) {
    const int start = plan->parts[plan->pump_part].port_node[1];
    int count = walk(plan, start, false, parts, size);
    for (int i = 0; i < count / 2; i++) {
        const int swap = parts[i];
        parts[i] = parts[count - 1 - i];
        parts[count - 1 - i] = swap;
    }
    return count;
}
