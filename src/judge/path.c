// SPDX-License-Identifier: GPL-3.0-or-later
// The way the fuel takes to the injection pump at one moment: upstream along the joints, through valves as
// they stand.
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "oilwright/judge.h"

typedef struct OwUpstream {
    const OwRecord *record;
    const OwPartSample *sample; ///< states of all parts at the moment
    bool *is_seen;              ///< a part is passed once
    int *stack;                 ///< from the pump upstream
    int depth;
} OwUpstream;

static bool has_fuel_ports(OwPartKind kind) {
    return kind != OW_PART_COOLANT_COIL && kind != OW_PART_INJECTORS;
}

static bool valve_joins(const OwValve *valve, int position, int port_a, int port_b) {
    if (port_a != 0 && port_b != 0) {
        return false; // a and b are only joined through the common port
    }
    const int side = port_a == 0 ? port_b : port_a;
    if (position < 0 || position >= valve->position_count || position >= 4) {
        return true;
    }
    return side == 1 ? valve->opens_a[position] : valve->opens_b[position];
}

/// Flow that the part brings out of this port, m3/s; tanks first, shapes without one flow last.
static double brings(const OwUpstream *up, int part, int port) {
    const OwPart *p = &up->record->rig->parts[part];
    if (p->kind == OW_PART_TANK) {
        return port == 0 ? INFINITY : -INFINITY;
    }
    if (ow_part_port_count(p->kind) != 2 || p->kind == OW_PART_INJECTION_PUMP) {
        return 0.0;
    }
    return port == 1 ? up->sample[part].flow_m3_s : -up->sample[part].flow_m3_s;
}

static bool climb(OwUpstream *up, int part, int port);

/// Tries the neighbours of one port, the one that brings most first.
static bool climb_port(OwUpstream *up, int part, int port) {
    const OwRig *rig = up->record->rig;
    double below = INFINITY;
    int last = -1;
    for (;;) {
        int best = -1;
        double most = -INFINITY;
        for (int j = 0; j < rig->joint_count; j++) {
            const OwJoint *joint = &rig->joints[j];
            int other = -1;
            int other_port = -1;
            if (joint->part_a == part && joint->port_a == port) {
                other = joint->part_b;
                other_port = joint->port_b;
            } else if (joint->part_b == part && joint->port_b == port) {
                other = joint->part_a;
                other_port = joint->port_a;
            }
            if (other < 0 || other >= rig->part_count) {
                continue;
            }
            const double flow = brings(up, other, other_port);
            if ((flow < below || (flow == below && j > last)) && (best < 0 || flow > most)) {
                best = j;
                most = flow;
            }
        }
        if (best < 0) {
            return false;
        }
        const OwJoint *joint = &rig->joints[best];
        const bool is_a = joint->part_a == part && joint->port_a == port;
        if (climb(up, is_a ? joint->part_b : joint->part_a, is_a ? joint->port_b : joint->port_a)) {
            return true;
        }
        below = most;
        last = best;
    }
}

/// Enters a part against the flow through `port`; true once a tank is reached.
static bool climb(OwUpstream *up, int part, int port) {
    const OwPart *p = &up->record->rig->parts[part];
    if (up->is_seen[part] || !has_fuel_ports(p->kind)) {
        return false;
    }
    if (p->kind == OW_PART_TANK) {
        if (port != 0) {
            return false;
        }
        up->stack[up->depth++] = part;
        return true;
    }
    if (p->kind == OW_PART_INJECTION_PUMP && up->depth > 0) {
        return false;
    }
    up->is_seen[part] = true;
    up->stack[up->depth++] = part;
    const int ports = ow_part_port_count(p->kind);
    if (p->kind == OW_PART_INJECTION_PUMP) {
        if (climb_port(up, part, 0)) {
            return true;
        }
    } else {
        for (int q = 0; q < ports; q++) {
            if (q == port || (p->kind == OW_PART_VALVE &&
                              !valve_joins(&p->as.valve, up->sample[part].position, port, q))) {
                continue;
            }
            if (climb_port(up, part, q)) {
                return true;
            }
        }
    }
    up->depth--; // stays seen: a part that led nowhere is not tried twice, which bounds the work
    return false;
}

static int plain_order(const OwRig *rig, int *parts, int size) {
    int count = 0;
    for (int i = 0; i < rig->part_count && count < size; i++) {
        if (has_fuel_ports(rig->parts[i].kind)) {
            parts[count++] = i;
        }
        if (rig->parts[i].kind == OW_PART_INJECTION_PUMP) {
            break;
        }
    }
    return count;
}

int ow_judge_path(const OwRecord *record, int sample, int *parts, int size) {
    if (record == NULL || record->rig == NULL || parts == NULL || size <= 0) {
        return 0;
    }
    const OwRig *rig = record->rig;
    int count = 0;
    if (sample >= 0 && sample < record->sample_count && record->parts != NULL &&
        record->part_count == rig->part_count) {
        OwUpstream up = {.record = record,
                         .sample = &record->parts[(size_t)sample * (size_t)record->part_count]};
        up.is_seen = calloc((size_t)rig->part_count + 1, sizeof *up.is_seen);
        up.stack = calloc((size_t)rig->part_count + 1, sizeof *up.stack);
        for (int i = 0; up.is_seen != NULL && up.stack != NULL && i < rig->part_count; i++) {
            if (rig->parts[i].kind == OW_PART_INJECTION_PUMP && climb(&up, i, -1)) {
                for (int k = up.depth - 1; k >= 0 && count < size; k--) {
                    parts[count++] = up.stack[k];
                }
                break;
            }
        }
        free(up.is_seen);
        free(up.stack);
    }
    if (count == 0 && record->plan != NULL) {
        count = ow_plan_path(record->plan, parts, size);
    }
    return count > 0 ? count : plain_order(rig, parts, size);
}
