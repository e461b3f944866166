// SPDX-License-Identifier: GPL-3.0-or-later
// Kinds of parts: names, ports, defaults, what they hold.
#include "base/text.h"
#include "rig/catalogue.h"

#include <stdio.h>
#include <string.h>

static const struct {
    const char *name;
    int port_count;
    const char *port[OW_MAX_PORTS];
    bool holds_oil;
} kinds[OW_PART_KIND_COUNT] = {
    [OW_PART_TANK] = {"tank", 2, {"pickup", "return"}, true},
    [OW_PART_RUN] = {"hose or tube", 2, {"in", "out"}, true},
    [OW_PART_CHAMBER] = {"chamber", 2, {"in", "out"}, true},
    [OW_PART_ELECTRIC_PUMP] = {"electric pump", 2, {"in", "out"}, true},
    [OW_PART_LIFT_PUMP] = {"lift pump", 2, {"in", "out"}, true},
    [OW_PART_FILTER] = {"filter", 2, {"in", "out"}, true},
    [OW_PART_SCREEN] = {"screen", 2, {"in", "out"}, true},
    [OW_PART_COOLANT_COIL] = {"coolant coil", 0, {NULL}, false},
    [OW_PART_EXCHANGER] = {"exchanger", 2, {"in", "out"}, true},
    [OW_PART_INJECTION_PUMP] = {"injection pump", 2, {"in", "return"}, true},
    [OW_PART_INJECTORS] = {"injectors", 1, {"return"}, false},
    [OW_PART_VALVE] = {"valve", 3, {"common", "a", "b"}, false},
    [OW_PART_CHECK_VALVE] = {"check valve", 2, {"in", "out"}, false},
    [OW_PART_RELIEF_VALVE] = {"relief valve", 2, {"in", "out"}, false},
    [OW_PART_ORIFICE] = {"orifice", 2, {"in", "out"}, false},
    [OW_PART_TEE] = {"tee", 3, {"in", "out", "side"}, false},
};

int ow_part_port_count(OwPartKind kind) {
    return (unsigned)kind < OW_PART_KIND_COUNT ? kinds[kind].port_count : 0;
}

const char *ow_part_port_name(OwPartKind kind, int port) {
    return (unsigned)kind < OW_PART_KIND_COUNT && port >= 0 && port < kinds[kind].port_count
               ? kinds[kind].port[port]
               : "";
}

const char *ow_part_kind_name(OwPartKind kind) {
    return (unsigned)kind < OW_PART_KIND_COUNT ? kinds[kind].name : "unknown kind";
}

bool ow_part_holds_oil(OwPartKind kind) {
    return (unsigned)kind < OW_PART_KIND_COUNT && kinds[kind].holds_oil;
}

int ow_part_ports_in_use(const OwPart *part) {
    const int count = ow_part_port_count(part->kind);
    return part->kind == OW_PART_VALVE && part->as.valve.ways == 2 ? 2 : count;
}

const OwKindWord *ow_kind_word_of(const OwPart *part) {
    const OwKindWord *word = ow_kind_words();
    while (word->word != NULL && word->kind != part->kind) {
        word++;
    }
    // "tube" stands right behind "hose".
    return part->kind == OW_PART_RUN && !part->as.run.is_hose ? word + 1 : word;
}

OwElements *ow_part_elements(OwPart *part) {
    switch (part->kind) {
    case OW_PART_TANK:
        return &part->as.tank.elements;
    case OW_PART_CHAMBER:
        return &part->as.chamber.elements;
    case OW_PART_FILTER:
        return &part->as.filter.elements;
    default:
        return NULL;
    }
}

const OwElements *ow_part_elements_const(const OwPart *part) {
    switch (part->kind) {
    case OW_PART_TANK:
        return &part->as.tank.elements;
    case OW_PART_CHAMBER:
        return &part->as.chamber.elements;
    case OW_PART_FILTER:
        return &part->as.filter.elements;
    default:
        return NULL;
    }
}

void ow_part_default_word(const OwKindWord *word, OwPart *part) {
    memset(part, 0, sizeof *part);
    part->kind = word->kind;
    ow_fields_default(ow_common_fields(), part);
    part->place = word->place;
    ow_fields_default(word->fields, part);
    if (word->kind == OW_PART_RUN) {
        part->as.run.is_hose = strcmp(word->word, "hose") == 0;
    } else if (word->kind == OW_PART_COOLANT_COIL) {
        part->as.coil.warms = -1;
    } else if (word->kind == OW_PART_VALVE) {
        OwValve *valve = &part->as.valve;
        valve->ways = 2;
        valve->position_count = 2;
        (void)ow_text_copy(valve->position[0], OW_NAME_SIZE, "open");
        (void)ow_text_copy(valve->position[1], OW_NAME_SIZE, "shut");
        valve->opens_a[0] = true;
    }
}

void ow_part_default(OwPartKind kind, OwPart *part) {
    const OwKindWord *word = ow_kind_words();
    while (word->word != NULL && word->kind != kind) {
        word++;
    }
    if (word->word == NULL) {
        memset(part, 0, sizeof *part);
        part->kind = kind;
        return;
    }
    ow_part_default_word(word, part);
    (void)ow_text_copy(part->name, sizeof part->name, word->word);
}

void ow_element_default(OwElement *element, int index) {
    memset(element, 0, sizeof *element);
    ow_fields_default(ow_element_fields(), element);
    ow_fields_default(ow_thermostat_fields(), element);
    (void)snprintf(element->name, sizeof element->name, "heater %d", index + 1);
}
