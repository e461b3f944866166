// SPDX-License-Identifier: GPL-3.0-or-later
// Where the loop comes in: the tee of the loop moved along the supply, or the joint when the loop has no tee.
#include "judge/size_impl.h"

/// The tee whose side the loop comes in at, -1 none.
static int loop_tee(const OwRig *rig) {
    for (int i = 0; i < rig->joint_count; i++) {
        const OwJoint *j = &rig->joints[i];
        const bool is_a = rig->parts[j->part_a].kind == OW_PART_TEE && j->port_a == 2;
        const bool is_b = rig->parts[j->part_b].kind == OW_PART_TEE && j->port_b == 2;
        if (is_a || is_b) {
            return is_a ? j->part_a : j->part_b;
        }
    }
    return -1;
}

/// The only joint at a port, -1 none or several.
static int joint_at(const OwRig *rig, int part, int port) {
    int found = -1;
    for (int i = 0; i < rig->joint_count; i++) {
        const OwJoint *j = &rig->joints[i];
        if ((j->part_a == part && j->port_a == port) || (j->part_b == part && j->port_b == port)) {
            if (found >= 0) {
                return -1;
            }
            found = i;
        }
    }
    return found;
}

static void other_end(const OwRig *rig, int joint, int part, int *other, int *port) {
    const OwJoint *j = &rig->joints[joint];
    *other = j->part_a == part ? j->part_b : j->part_a;
    *port = j->part_a == part ? j->port_b : j->port_a;
}

int ow_loop_point(const OwRig *rig) {
    const int tee = loop_tee(rig);
    const int joint = tee >= 0 ? joint_at(rig, tee, 1) : -1;
    if (joint < 0 || joint_at(rig, tee, 0) < 0) {
        return -1;
    }
    int part = -1, port = 0;
    other_end(rig, joint, tee, &part, &port);
    return port == 0 ? part : -1;
}

bool ow_loop_can(const OwRig *rig, int part) {
    switch (rig->parts[part].kind) {
    case OW_PART_CHAMBER:
    case OW_PART_FILTER:
    case OW_PART_EXCHANGER:
    case OW_PART_SCREEN:
    case OW_PART_ELECTRIC_PUMP:
    case OW_PART_LIFT_PUMP:
    case OW_PART_INJECTION_PUMP:
        return joint_at(rig, part, 0) >= 0;
    default:
        return false;
    }
}

bool ow_loop_move(OwRig *rig, int part) {
    const int tee = loop_tee(rig);
    if (tee < 0 || part == ow_loop_point(rig)) {
        return tee >= 0;
    }
    const int in = joint_at(rig, tee, 0), out = joint_at(rig, tee, 1), at = joint_at(rig, part, 0);
    if (in < 0 || out < 0 || at < 0 || at == in || at == out) {
        return false;
    }
    int before = -1, before_port = 0, behind = -1, behind_port = 0, source = -1, source_port = 0;
    other_end(rig, in, tee, &before, &before_port);
    other_end(rig, out, tee, &behind, &behind_port);
    other_end(rig, at, part, &source, &source_port);
    if (before == behind || source == tee) {
        return false;
    }
    rig->joints[in] = (OwJoint){before, before_port, behind, behind_port};
    rig->joints[at] = (OwJoint){source, source_port, tee, 0};
    rig->joints[out] = (OwJoint){tee, 1, part, 0};
    return true;
}
