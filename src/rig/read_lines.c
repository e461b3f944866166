// SPDX-License-Identifier: GPL-3.0-or-later
// The lines section: chains of part names become joints between ports.
#include "base/text.h"
#include "rig/reader.h"

#include <stdio.h>
#include <string.h>

#define UNSAID (-1)

enum {
    TANK_PICKUP = 0,
    TANK_RETURN = 1,
    PORT_IN = 0,
    PORT_OUT = 1,
    PUMP_RETURN = 1,
    VALVE_COMMON = 0,
    TEE_SIDE = 2
};

/// One end of a joint as written.
typedef struct End {
    const OwTextNode *node;
    int part, port; ///< port UNSAID until the defaults are applied
} End;

typedef struct Pair {
    End from, to;
} Pair;

typedef struct Lines {
    Pair *pairs;
    int count;
    unsigned char (*used)[OW_MAX_PORTS]; ///< whether something is joined to each port of each part
} Lines;

/// "part" or "part.port". A part whose own name holds a point is found first.
static bool read_end(OwReader *reader, const OwTextNode *node, End *end) {
    *end = (End){node, -1, UNSAID};
    if (!ow_reader_expect(reader, node, OW_NODE_SCALAR, NULL, "a line's entry")) {
        return false;
    }
    end->part = ow_rig_find(reader->rig, node->text);
    if (end->part < 0) {
        const char *point = strrchr(node->text, '.');
        char name[2 * OW_NAME_SIZE];
        if (point == NULL || (size_t)(point - node->text) >= sizeof name) {
            end->part = ow_reader_part(reader, node, node->text);
            return end->part >= 0;
        }
        (void)snprintf(name, sizeof name, "%.*s", (int)(point - node->text), node->text);
        end->part = ow_reader_part(reader, node, name);
        if (end->part < 0) {
            return false;
        }
        const OwPart *part = &reader->rig->parts[end->part];
        const int count = ow_part_ports_in_use(part);
        for (int i = 0; i < count; i++) {
            if (strcmp(ow_part_port_name(part->kind, i), point + 1) == 0) {
                end->port = i;
            }
        }
        if (end->port == UNSAID) {
            char remedy[256] = "its ports are ";
            for (int i = 0; i < count; i++) {
                strcat(remedy, i > 0 ? ", " : "");
                strcat(remedy, ow_part_port_name(part->kind, i));
            }
            ow_reader_fault(reader, node, part->name, OW_ERROR_VALUE, OW_FAULT_ERROR,
                            count > 0 ? remedy : "it has no ports", "it has no port \"%.60s\"", point + 1);
            return false;
        }
    }
    if (ow_part_port_count(reader->rig->parts[end->part].kind) == 0) {
        ow_reader_fault(reader, node, reader->rig->parts[end->part].name, OW_ERROR_VALUE, OW_FAULT_ERROR,
                        "take it out of the lines", "no fuel runs through a coolant coil");
        return false;
    }
    return true;
}

static int free_side(const Lines *lines, int part, int count) {
    int found = UNSAID;
    for (int port = 1; port < count; port++) {
        if (lines->used[part][port] == 0) {
            if (found != UNSAID) {
                return UNSAID;
            }
            found = port;
        }
    }
    return found;
}

/// The natural port where none is written; UNSAID when it would be a guess.
static int natural_port(const OwRig *rig, const Lines *lines, int index, bool leaves) {
    const OwPart *part = &rig->parts[index];
    switch (part->kind) {
    case OW_PART_TANK:
        return leaves ? TANK_PICKUP : TANK_RETURN;
    case OW_PART_INJECTION_PUMP:
        return leaves ? PUMP_RETURN : PORT_IN;
    case OW_PART_INJECTORS:
        return leaves ? 0 : UNSAID;
    case OW_PART_TEE:
        if (leaves) {
            return lines->used[index][PORT_OUT] == 0 ? PORT_OUT : TEE_SIDE;
        }
        return lines->used[index][PORT_IN] == 0 ? PORT_IN : TEE_SIDE;
    case OW_PART_VALVE: {
        const int side = free_side(lines, index, part->as.valve.ways);
        if (lines->used[index][VALVE_COMMON] != 0) {
            return side;
        }
        if (!leaves) {
            return VALVE_COMMON;
        }
        if (part->as.valve.ways == 2 && side != UNSAID) {
            return side;
        }
        // Leaving with the common port still free: it is meant when no side is left.
        const bool sides_taken = side == UNSAID && lines->used[index][1] != 0;
        return sides_taken ? VALVE_COMMON : UNSAID;
    }
    default:
        return leaves ? PORT_OUT : PORT_IN;
    }
}

static void settle(OwReader *reader, Lines *lines, End *end, bool leaves) {
    const OwPart *part = &reader->rig->parts[end->part];
    if (end->port != UNSAID) {
        return;
    }
    end->port = natural_port(reader->rig, lines, end->part, leaves);
    if (end->port != UNSAID) {
        lines->used[end->part][end->port] |= 1;
        return;
    }
    if (part->kind == OW_PART_INJECTORS) {
        ow_reader_fault(reader, end->node, part->name, OW_ERROR_VALUE, OW_FAULT_ERROR,
                        "lead the line to the injection pump; its return and the injectors' leak-off begin "
                        "lines of their own",
                        "injectors are fed by the injection pump, no line enters them");
        return;
    }
    char remedy[256];
    (void)snprintf(remedy, sizeof remedy, "name the port: %.63s.common, %.63s.a or %.63s.b", part->name,
                   part->name, part->name);
    ow_reader_fault(reader, end->node, part->name, OW_ERROR_VALUE, OW_FAULT_ERROR, remedy,
                    "it is not clear which port the line %s", leaves ? "leaves by" : "enters by");
}

static void add_joint(OwReader *reader, const Pair *pair) {
    OwRig *rig = reader->rig;
    const OwJoint joint = {pair->from.part, pair->from.port, pair->to.part, pair->to.port};
    for (int i = 0; i < rig->joint_count; i++) {
        const OwJoint *k = &rig->joints[i];
        const bool same = k->part_a == joint.part_a && k->port_a == joint.port_a &&
                          k->part_b == joint.part_b && k->port_b == joint.port_b;
        const bool turned = k->part_a == joint.part_b && k->port_a == joint.port_b &&
                            k->part_b == joint.part_a && k->port_b == joint.port_a;
        if (same || turned) {
            ow_reader_fault(reader, pair->to.node, rig->parts[joint.part_b].name, OW_ERROR_VALUE,
                            OW_FAULT_ERROR, "take one of the two out", "this joint is written twice");
            return;
        }
    }
    if (joint.part_a == joint.part_b) {
        ow_reader_fault(reader, pair->to.node, rig->parts[joint.part_b].name, OW_ERROR_VALUE, OW_FAULT_ERROR,
                        "put a hose in between", "the part is joined to itself");
        return;
    }
    rig->joints[rig->joint_count++] = joint;
}

static void read_chain(OwReader *reader, const OwTextNode *chain, Lines *lines) {
    End before = {NULL, -1, UNSAID};
    if (!ow_reader_expect(reader, chain, OW_NODE_LIST, NULL, "a line")) {
        return;
    }
    if (chain->count < 2) {
        ow_reader_fault(reader, chain, NULL, OW_ERROR_VALUE, OW_FAULT_ERROR,
                        "write for example - [main tank, supply hose, filter]",
                        "a line joins at least two parts");
    }
    for (const OwTextNode *n = chain->first; n != NULL; n = n->next) {
        End here;
        const bool is_known = read_end(reader, n, &here);
        if (is_known && before.part >= 0) {
            const OwPart *parts = reader->rig->parts;
            // "injection pump, injectors" says what is so anyway: the pump feeds them.
            const bool is_feed = parts[before.part].kind == OW_PART_INJECTION_PUMP && before.port == UNSAID &&
                                 parts[here.part].kind == OW_PART_INJECTORS && here.port == UNSAID;
            if (!is_feed) {
                lines->pairs[lines->count++] = (Pair){before, here};
            }
        }
        before = is_known ? (End){here.node, here.part, UNSAID} : (End){NULL, -1, UNSAID};
        if (is_known && here.port != UNSAID) {
            // A named port in mid-chain is where the line enters; at a chain's head it is where the line
            // leaves.
            before.port = n == chain->first ? here.port : UNSAID;
        }
    }
}

void ow_read_lines(OwReader *reader, const OwTextNode *list) {
    OwRig *rig = reader->rig;
    if (!ow_reader_expect(reader, list, OW_NODE_LIST, NULL, "lines")) {
        return;
    }
    int room = 0;
    for (const OwTextNode *n = list->first; n != NULL; n = n->next) {
        room += n->count;
    }
    if (room > OW_RIG_MAX_JOINTS) {
        ow_reader_fault(reader, list, NULL, OW_ERROR_VALUE, OW_FAULT_ERROR,
                        "join short hoses into longer ones", "the lines have more than %d joints",
                        OW_RIG_MAX_JOINTS);
        return;
    }
    Lines lines = {0};
    lines.pairs = ow_arena_take(reader->arena, (size_t)room + 1, sizeof(Pair));
    lines.used = ow_arena_take(reader->arena, (size_t)rig->part_count + 1, sizeof *lines.used);
    rig->joints = ow_arena_take(rig->arena, (size_t)room + 1, sizeof(OwJoint));
    if (lines.pairs == NULL || lines.used == NULL || rig->joints == NULL) {
        reader->is_out_of_memory = true;
        return;
    }
    for (const OwTextNode *n = list->first; n != NULL; n = n->next) {
        read_chain(reader, n, &lines);
    }
    // Ports that are written come first, so that the defaults see what is left.
    for (int i = 0; i < lines.count; i++) {
        const End *ends[] = {&lines.pairs[i].from, &lines.pairs[i].to};
        for (int k = 0; k < 2; k++) {
            if (ends[k]->port != UNSAID) {
                lines.used[ends[k]->part][ends[k]->port] = 1;
            }
        }
    }
    for (int i = 0; i < lines.count; i++) {
        Pair *pair = &lines.pairs[i];
        settle(reader, &lines, &pair->from, true);
        settle(reader, &lines, &pair->to, false);
        if (pair->from.port != UNSAID && pair->to.port != UNSAID) {
            add_joint(reader, pair);
        }
    }
}

void ow_join_in_order(OwReader *reader, const OwTextNode *at) {
    OwRig *rig = reader->rig;
    int before = -1, tank = -1, pump = -1, injectors = -1;
    for (int i = 0; i < rig->part_count; i++) {
        const OwPart *part = &rig->parts[i];
        if (part->kind == OW_PART_TEE || (part->kind == OW_PART_VALVE && part->as.valve.ways == 3) ||
            (part->kind == OW_PART_TANK && tank >= 0)) {
            ow_reader_fault(reader, at, part->name, OW_ERROR_VALUE, OW_FAULT_ERROR, "write a lines section",
                            "without lines the parts join in listed order, which says nothing about %s",
                            part->kind == OW_PART_TANK  ? "a second tank"
                            : part->kind == OW_PART_TEE ? "a tee"
                                                        : "a three-way valve");
            return;
        }
        tank = part->kind == OW_PART_TANK ? i : tank;
        pump = part->kind == OW_PART_INJECTION_PUMP ? i : pump;
        injectors = part->kind == OW_PART_INJECTORS ? i : injectors;
    }
    if (tank < 0 || pump < 0) {
        return; // the check says so
    }
    rig->joints = ow_arena_take(rig->arena, (size_t)rig->part_count + 2, sizeof(OwJoint));
    if (rig->joints == NULL) {
        reader->is_out_of_memory = true;
        return;
    }
    for (int i = 0; i < rig->part_count; i++) {
        const OwPart *part = &rig->parts[i];
        if (part->kind == OW_PART_COOLANT_COIL || part->kind == OW_PART_INJECTORS) {
            continue;
        }
        if (before >= 0 && i != tank) {
            const OwPartKind from = rig->parts[before].kind;
            const int port_a =
                from == OW_PART_TANK ? TANK_PICKUP : PORT_OUT; // an injection pump's return is port 1 as well
            rig->joints[rig->joint_count++] = (OwJoint){before, port_a, i, PORT_IN};
        }
        before = i;
    }
    if (before >= pump && before != tank) {
        rig->joints[rig->joint_count++] = (OwJoint){before, PORT_OUT, tank, TANK_RETURN};
    }
    if (injectors >= 0) {
        rig->joints[rig->joint_count++] = (OwJoint){injectors, 0, tank, TANK_RETURN};
    }
}
