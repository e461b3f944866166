// SPDX-License-Identifier: GPL-3.0-or-later
// A valve on its way: how far each side is open while it moves from one position to another.
#include "morning/system.h"

#include <math.h>

#define PI 3.14159265358979323846
/// A side open by less than this share of its bore counts as shut; the flow that this cuts off is a
/// thousandth.
#define LEAST_OPEN 1e-3

static double wanted(const OwValve *valve, int position, int port) {
    return (port == 1 ? valve->opens_a[position] : valve->opens_b[position]) ? 1.0 : 0.0;
}

void ow_system_set_valve(OwSystem *system, int part, int position) {
    const OwValve *valve = &system->plan->rig->parts[part].as.valve;
    system->now.position[part] = position;
    system->now.moves[part] = (OwValveMove){.end_s = -INFINITY};
    for (int port = 1; port <= 2; port++) {
        system->now.moves[part].from[port - 1] = wanted(valve, position, port);
    }
}

double ow_system_valve_open(const OwSystem *system, int part, int port, double time_s) {
    const OwValve *valve = &system->plan->rig->parts[part].as.valve;
    const OwValveMove *move = &system->now.moves[part];
    const double there = wanted(valve, system->now.position[part], port);
    if (!move->is_moving || !(time_s < move->end_s)) {
        return there;
    }
    const double gone = fmax(time_s - move->begin_s, 0.0) / (move->end_s - move->begin_s);
    const double open = move->from[port - 1] + gone * (there - move->from[port - 1]);
    return open > LEAST_OPEN ? open : 0.0;
}

double ow_valve_square(const OwValve *valve, double open) {
    const double area_m2 = 0.25 * PI * valve->loss_bore_m * valve->loss_bore_m;
    const double widening = 1.0 / open - 1.0;
    return (valve->loss_k / (open * open) + widening * widening) / (2.0 * area_m2 * area_m2);
}

bool ow_system_move_valve(OwSystem *system, int part, int position, double time_s) {
    const OwValve *valve = &system->plan->rig->parts[part].as.valve;
    if (system->now.position[part] == position) {
        return false;
    }
    // What is half-way has half the way back.
    OwValveMove move = {.begin_s = time_s};
    double way = 0.0;
    for (int port = 1; port <= 2; port++) {
        move.from[port - 1] = ow_system_valve_open(system, part, port, time_s);
        way = fmax(way, fabs(wanted(valve, position, port) - move.from[port - 1]));
    }
    move.end_s = time_s + way * valve->travel_s;
    move.is_moving = move.end_s > time_s;
    system->now.position[part] = position;
    system->now.moves[part] = move;
    return true;
}

double ow_system_valves_end(const OwSystem *system) {
    double next = INFINITY;
    for (int p = 0; p < system->plan->rig->part_count; p++) {
        if (system->now.moves[p].is_moving) {
            next = fmin(next, system->now.moves[p].end_s);
        }
    }
    return next;
}

bool ow_system_valves_arrive(OwSystem *system, double time_s) {
    bool has_arrived = false;
    for (int p = 0; p < system->plan->rig->part_count; p++) {
        OwValveMove *move = &system->now.moves[p];
        if (move->is_moving && time_s >= move->end_s) {
            move->is_moving = false;
            has_arrived = true;
        }
    }
    return has_arrived;
}
