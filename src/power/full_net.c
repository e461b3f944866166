// SPDX-License-Identifier: GPL-3.0-or-later
// The same state as a full network with a name at every joint: for checks against other solvers and for
// faults.
#include "power/full_net.h"

#include <math.h>
#include <stdio.h>

static OwBranch wire(int from, int to, double ohm, int tag) {
    return (OwBranch){
        .law = OW_BRANCH_RESISTANCE, .from = from, .to = to, .resistance_ohm = fmax(ohm, 1e-6), .tag = tag};
}

static int node(OwNode *nodes, int *count, const char *name, const char *what) {
    snprintf(nodes[*count].name, sizeof nodes[*count].name, "%.20s%s%s", name, *what ? " " : "", what);
    return (*count)++;
}

OwStatus ow_power_net(const OwPower *power, const OwPowerInput *input, OwArena *arena, OwNode **out_nodes,
                      int *node_count, OwBranch **out_branches, int *branch_count) {
    const OwElectricSpec *s = &power->spec;
    const int circuits = s->circuit_count;
    OwNode *nodes = ow_arena_take(arena, (size_t)(OW_NET_FIXED_NODES + 3 * circuits), sizeof *nodes);
    OwBranch *b = ow_arena_take(arena, (size_t)(OW_NET_FIXED_BRANCHES + 4 * circuits), sizeof *b);
    if (!nodes || !b) {
        return OW_ERROR_MEMORY;
    }
    const double copper = ow_power_copper_factor(input->wire_k);
    int n = 0, m = 0;
    node(nodes, &n, "battery -", "");
    const int plus = node(nodes, &n, "battery +", ""), board = node(nodes, &n, "board", "");
    const int body = node(nodes, &n, "body", ""), engine = node(nodes, &n, "engine", "");
    const int charger = node(nodes, &n, "alternator", "");
    const OwSource source = ow_battery_source(&s->battery, input->battery_charge, input->battery_k);
    b[m++] = (OwBranch){.law = OW_BRANCH_BATTERY,
                        .from = plus,
                        .to = 0,
                        .source_v = source.rest_v,
                        .resistance_ohm = source.give_ohm,
                        .take_ohm = source.take_ohm,
                        .tag = OW_TAG_BATTERY};
    b[m++] = wire(plus, board, power->main_ohm * copper + s->main.joint_ohm, OW_TAG_MAIN);
    b[m++] = wire(body, 0, power->body_ohm * copper + s->body_earth.joint_ohm, OW_TAG_BODY_EARTH);
    b[m++] = wire(engine, 0, power->engine_ohm * copper + s->engine_earth.joint_ohm, OW_TAG_ENGINE_EARTH);
    b[m++] = wire(charger, plus, power->charge_ohm * copper + s->charge.joint_ohm, OW_TAG_CHARGE);
    const double limit = ow_power_alternator_limit(&power->alternator, input->engine_rad_s);
    b[m] = (OwBranch){.law = OW_BRANCH_ALTERNATOR,
                      .from = charger,
                      .to = engine,
                      .droop_v = fmax(s->alternator.droop_v, 0.01),
                      .limit_a = limit,
                      .tag = OW_TAG_ALTERNATOR,
                      .is_open = !(limit > 0.0)};
    b[m++].source_v = ow_power_set_v(&s->alternator, input->wire_k > 0.0 ? input->wire_k : 293.15);
    for (int i = 0; i < circuits; i++) {
        const OwCircuitSpec *c = &s->circuits[i];
        const OwQuickCircuit *q = &power->quick[i];
        const int fused = node(nodes, &n, c->name, "fused"), load = node(nodes, &n, c->name, "load");
        const int back = node(nodes, &n, c->name, "back");
        const int earth = q->earth == OW_AT_BODY ? body : (q->earth == OW_AT_ENGINE ? engine : 0);
        const double whole = q->is_starter ? 1.0 : c->length_m + c->earth_length_m;
        const double out_share = q->is_starter ? 0.99 : c->length_m / whole;
        // joints: half at the fuse, the other half in the contact before the load
        b[m++] = wire(q->is_starter ? plus : board, fused, 0.5 * q->joint_ohm, OW_TAG_CIRCUIT + 4 * i);
        b[m] = wire(fused, load, q->wire_ohm * copper * out_share + 0.5 * q->joint_ohm,
                    OW_TAG_CIRCUIT + 4 * i + 1);
        b[m++].is_open = !ow_power_is_live(q, input, i);
        b[m] = q->load;
        b[m].from = load;
        b[m].to = back;
        b[m].tag = OW_TAG_CIRCUIT + 4 * i + 2;
        if (q->load.law == OW_BRANCH_RESISTANCE && input->load_ohm[i] > 0.0) {
            b[m].resistance_ohm = input->load_ohm[i];
        }
        m++;
        b[m++] = wire(back, earth, q->wire_ohm * copper * (1.0 - out_share), OW_TAG_CIRCUIT + 4 * i + 3);
    }
    *out_nodes = nodes;
    *out_branches = b;
    *node_count = n;
    *branch_count = m;
    return OW_OK;
}
