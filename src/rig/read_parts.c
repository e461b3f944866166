// SPDX-License-Identifier: GPL-3.0-or-later
// The parts section: kinds, fields, heaters, curves, valve positions, coils.
#include "base/text.h"
#include "rig/reader.h"

#include <stddef.h>
#include <string.h>

static const OwSpecialKey element_special[] = {
    {"name", ""},
    {"thermostat", ""},
    {NULL, NULL},
};

static void read_element(OwReader *reader, const OwTextNode *map, OwElement *element, const char *part) {
    const OwFieldTable fields = ow_element_fields();
    ow_reader_map(reader, map, &fields, 1, element_special, NULL, element, part);
    const OwTextNode *name = ow_node_get(map, "name");
    if (name != NULL) {
        (void)ow_reader_name(reader, name, "name", element->name, part);
    }
    const OwTextNode *thermostat = ow_node_get(map, "thermostat");
    if (thermostat == NULL) {
        return;
    }
    if (thermostat->type == OW_NODE_SCALAR && strcmp(thermostat->text, "none") == 0) {
        return;
    }
    if (ow_reader_expect(reader, thermostat, OW_NODE_MAP, part, "thermostat")) {
        const OwFieldTable table = ow_thermostat_fields();
        const size_t before = reader->faults->errors;
        ow_reader_map(reader, thermostat, &table, 1, NULL, NULL, element, part);
        element->has_thermostat = true;
        const bool says_opens = ow_node_get(thermostat, "opens") != NULL,
                   says_closes = ow_node_get(thermostat, "closes") != NULL;
        if (says_opens && !says_closes) {
            element->thermostat_on_k = element->thermostat_off_k - 8.0; // the default's own difference
        } else if (says_closes && !says_opens) {
            element->thermostat_off_k = element->thermostat_on_k + 8.0;
        }
        if (before == reader->faults->errors && !(element->thermostat_off_k > element->thermostat_on_k)) {
            ow_reader_fault(
                reader, thermostat, part, OW_ERROR_VALUE, OW_FAULT_ERROR,
                "let it open some kelvin above where it closes, e.g. opens: 80 degC, closes: 72 degC",
                "the thermostat opens at or below the temperature at which it closes");
        }
    }
}

static void read_heaters(OwReader *reader, const OwTextNode *list, OwElements *elements, const char *part) {
    if (!ow_reader_expect(reader, list, OW_NODE_LIST, part, "heaters")) {
        return;
    }
    for (const OwTextNode *n = list->first; n != NULL; n = n->next) {
        if (elements->count == OW_MAX_ELEMENTS) {
            ow_reader_fault(reader, n, part, OW_ERROR_VALUE, OW_FAULT_ERROR,
                            "join some of them into one of their summed power",
                            "more than %d heaters in one part", OW_MAX_ELEMENTS);
            return;
        }
        if (!ow_reader_expect(reader, n, OW_NODE_MAP, part, "a heater")) {
            continue;
        }
        OwElement *element = &elements->items[elements->count];
        ow_element_default(element, elements->count);
        read_element(reader, n, element, part);
        for (int i = 0; i < elements->count; i++) {
            if (strcmp(elements->items[i].name, element->name) == 0) {
                ow_reader_fault(reader, n, part, OW_ERROR_VALUE, OW_FAULT_ERROR,
                                "give each heater a name of its own", "two heaters are named \"%s\"",
                                element->name);
            }
        }
        elements->count++;
    }
}

static void read_curve(OwReader *reader, const OwTextNode *list, OwElectricPump *pump, const char *part) {
    static const OwField flow_like = {
        "flow", OW_FIELD_REAL, OW_Q_VOLUME_FLOW, 0, 0, 0, 5e3 / 3.6e6, NULL, NULL, false, ""};
    static const OwField pressure_like = {"pressure", OW_FIELD_REAL, OW_Q_PRESSURE, 0,     0, -1e3,
                                          1.5e6,      NULL,          NULL,          false, ""};
    static const OwSpecialKey keys[] = {{"flow", ""}, {"pressure", ""}, {NULL, NULL}};
    if (!ow_reader_expect(reader, list, OW_NODE_LIST, part, "curve")) {
        return;
    }
    if (list->count < 2 || list->count > OW_MAX_CURVE) {
        ow_reader_fault(reader, list, part, OW_ERROR_VALUE, OW_FAULT_ERROR,
                        "leave the key out for a straight line", "a curve has 2 to %d points", OW_MAX_CURVE);
        return;
    }
    int count = 0;
    for (const OwTextNode *n = list->first; n != NULL; n = n->next) {
        if (!ow_reader_expect(reader, n, OW_NODE_MAP, part, "a curve point")) {
            return;
        }
        ow_reader_map(reader, n, NULL, 0, keys, NULL, NULL, part);
        const OwTextNode *flow = ow_node_get(n, "flow"), *pressure = ow_node_get(n, "pressure");
        if (flow == NULL || pressure == NULL) {
            ow_reader_fault(reader, n, part, OW_ERROR_VALUE, OW_FAULT_ERROR,
                            "write {flow: 0 L/h, pressure: 35 kPa}", "a curve point needs flow and pressure");
            return;
        }
        if (!ow_reader_quantity(reader, flow, &flow_like, &pump->curve_flow_m3_s[count], part) ||
            !ow_reader_quantity(reader, pressure, &pressure_like, &pump->curve_pa[count], part)) {
            return;
        }
        if (count > 0 && !(pump->curve_flow_m3_s[count] > pump->curve_flow_m3_s[count - 1] &&
                           pump->curve_pa[count] < pump->curve_pa[count - 1])) {
            ow_reader_fault(reader, n, part, OW_ERROR_VALUE, OW_FAULT_ERROR,
                            "order the points by rising flow and falling pressure",
                            "along a curve the flow rises and the pressure falls");
            return;
        }
        count++;
    }
    pump->curve_count = count;
}

static void read_positions(OwReader *reader, const OwTextNode *map, OwValve *valve, const char *part) {
    static const char *const ways[] = {"none", "a", "b", "a+b"};
    if (!ow_reader_expect(reader, map, OW_NODE_MAP, part, "positions")) {
        return;
    }
    if (map->count < 2 || map->count > 4) {
        ow_reader_fault(reader, map, part, OW_ERROR_VALUE, OW_FAULT_ERROR,
                        "write for example {loop: a, tank: b}", "a valve has 2 to 4 positions");
        return;
    }
    memset(valve->position, 0, sizeof valve->position);
    int count = 0;
    for (const OwTextNode *n = map->first; n != NULL; n = n->next) {
        if (ow_node_get(map, n->key->text) != n) {
            ow_reader_fault(reader, n->key, part, OW_ERROR_VALUE, OW_FAULT_ERROR, "keep one of them",
                            "the position \"%.60s\" is given twice", n->key->text);
            continue;
        }
        if (!ow_reader_name(reader, n->key, "a position", valve->position[count], part) ||
            !ow_reader_expect(reader, n, OW_NODE_SCALAR, part, "a position")) {
            continue;
        }
        int way = 0;
        while (way < 4 && strcmp(n->text, ways[way]) != 0) {
            way++;
        }
        if (way == 4) {
            ow_reader_fault(reader, n, part, OW_ERROR_VALUE, OW_FAULT_ERROR, "write a, b, a+b or none",
                            "\"%.60s\" is no side of a valve", n->text);
            continue;
        }
        valve->opens_a[count] = (way & 1) != 0;
        valve->opens_b[count] = (way & 2) != 0;
        count++;
    }
    valve->position_count = count;
    valve->ways = 2;
    for (int i = 0; i < count; i++) {
        valve->ways = valve->opens_b[i] ? 3 : valve->ways;
    }
}

static const char *position_at(const void *context, size_t i) {
    const OwValve *valve = context;
    return valve->position[i];
}

static void read_valve(OwReader *reader, const OwTextNode *map, OwValve *valve, const char *part) {
    const OwTextNode *positions = ow_node_get(map, "positions"), *start = ow_node_get(map, "start at");
    const size_t before = reader->faults->errors;
    if (positions != NULL) {
        read_positions(reader, positions, valve, part);
    }
    if (start == NULL || !ow_reader_expect(reader, start, OW_NODE_SCALAR, part, "start at") ||
        before != reader->faults->errors) {
        return;
    }
    for (int i = 0; i < valve->position_count; i++) {
        if (strcmp(valve->position[i], start->text) == 0) {
            valve->start_position = i;
            return;
        }
    }
    const char *near = ow_text_nearest_by(start->text, (size_t)valve->position_count, position_at, valve);
    char remedy[256];
    ow_remedy_near(remedy, near, "use a name from its positions");
    ow_reader_fault(reader, start, part, OW_ERROR_VALUE, OW_FAULT_ERROR, remedy,
                    "start at: the valve has no position \"%.60s\"", start->text);
}

/// The node whose key is a word for a kind; the first key when none is (then *word is NULL).
static const OwTextNode *find_kind(const OwTextNode *map, const OwKindWord **word) {
    for (const OwTextNode *n = map->first; n != NULL; n = n->next) {
        for (const OwKindWord *w = ow_kind_words(); w->word != NULL; w++) {
            if (strcmp(w->word, n->key->text) == 0) {
                *word = w;
                return n;
            }
        }
    }
    *word = NULL;
    return map->first;
}

static const char *kind_word_at(const void *context, size_t i) {
    const OwKindWord *words = context;
    return words[i].word;
}

static void unknown_kind(OwReader *reader, const OwTextNode *named) {
    size_t count = 0;
    while (ow_kind_words()[count].word != NULL) {
        count++;
    }
    const char *near = ow_text_nearest_by(named->key->text, count, kind_word_at, ow_kind_words());
    char remedy[256];
    char all[256] = "begin with its kind and name, kinds are ";
    for (size_t i = 0; i < count; i++) {
        if (strlen(all) + strlen(ow_kind_words()[i].word) + 3 < sizeof all) {
            strcat(all, i == 0 ? "" : ", ");
            strcat(all, ow_kind_words()[i].word);
        }
    }
    ow_remedy_near(remedy, near, all);
    const char *part = named->type == OW_NODE_SCALAR ? named->text : NULL;
    if (part != NULL) {
        reader->lost[reader->lost_count++] = part;
    }
    ow_reader_fault(reader, named->key, part, OW_ERROR_VALUE, OW_FAULT_ERROR, remedy,
                    "\"%.60s\" is no kind of part", named->key->text);
}

static void read_part(OwReader *reader, const OwTextNode *map) {
    OwRig *rig = reader->rig;
    const OwKindWord *word = NULL;
    if (!ow_reader_expect(reader, map, OW_NODE_MAP, NULL, "a part")) {
        return;
    }
    if (map->first == NULL) {
        ow_reader_fault(reader, map, NULL, OW_ERROR_VALUE, OW_FAULT_ERROR,
                        "write for example - hose: supply hose", "a part is empty");
        return;
    }
    const OwTextNode *named = find_kind(map, &word);
    if (word == NULL) {
        unknown_kind(reader, named);
        return;
    }
    OwPart *part = &rig->parts[rig->part_count];
    ow_part_default_word(word, part);
    part->line = map->line;
    part->column = map->column;
    if (!ow_reader_name(reader, named, "the part's name", part->name, NULL)) {
        reader->lost[reader->lost_count++] = named->text;
        return;
    }
    const int earlier = ow_rig_find(rig, part->name);
    if (earlier >= 0) {
        ow_reader_fault(reader, named, part->name, OW_ERROR_VALUE, OW_FAULT_ERROR,
                        "give each part a name of its own", "two parts have this name (the first on line %d)",
                        rig->parts[earlier].line);
    }
    const OwFieldTable tables[] = {ow_common_fields(), word->fields};
    ow_reader_map(reader, map, tables, 2, word->special, named->key, part, part->name);
    OwElements *elements = ow_part_elements(part);
    const OwTextNode *special = NULL;
    if (elements != NULL && (special = ow_node_get(map, "heaters")) != NULL) {
        read_heaters(reader, special, elements, part->name);
    }
    if (part->kind == OW_PART_ELECTRIC_PUMP && (special = ow_node_get(map, "curve")) != NULL) {
        read_curve(reader, special, &part->as.electric_pump, part->name);
    }
    if (part->kind == OW_PART_VALVE) {
        read_valve(reader, map, &part->as.valve, part->name);
    }
    if (earlier < 0) {
        reader->part_node[rig->part_count] = map;
        rig->part_count++;
    }
}

static const char *fluid_at(const void *context, size_t i) {
    const OwRig *rig = context;
    return rig->fluid_name[i];
}

/// What names another thing, once all parts are known: the coil's part, the tank's fluid.
static void link_part(OwReader *reader, OwPart *part, const OwTextNode *map) {
    OwRig *rig = reader->rig;
    if (part->kind == OW_PART_COOLANT_COIL) {
        const OwTextNode *warms = ow_node_get(map, "warms");
        if (warms == NULL) {
            ow_reader_fault(reader, map, part->name, OW_ERROR_VALUE, OW_FAULT_ERROR,
                            "write warms: and the part's name", "it is not said which part the coil warms");
        } else if (ow_reader_expect(reader, warms, OW_NODE_SCALAR, part->name, "warms")) {
            part->as.coil.warms = ow_reader_part(reader, warms, warms->text);
        }
    }
    if (part->kind != OW_PART_TANK) {
        return;
    }
    OwTank *tank = &part->as.tank;
    if (tank->fluid[0] == '\0') {
        (void)ow_text_copy(tank->fluid, sizeof tank->fluid, rig->fluid_name[0]);
        return;
    }
    for (int i = 0; i < rig->fluid_count; i++) {
        if (strcmp(rig->fluid_name[i], tank->fluid) == 0) {
            return;
        }
    }
    const char *near = ow_text_nearest_by(tank->fluid, (size_t)rig->fluid_count, fluid_at, rig);
    char remedy[256];
    ow_remedy_near(remedy, near, "use a name from the oil section");
    ow_reader_fault(reader, ow_node_get(map, "fluid"), part->name, OW_ERROR_VALUE, OW_FAULT_ERROR, remedy,
                    "fluid: the oil section has no \"%.60s\"", tank->fluid);
}

void ow_read_parts(OwReader *reader, const OwTextNode *list) {
    OwRig *rig = reader->rig;
    if (!ow_reader_expect(reader, list, OW_NODE_LIST, NULL, "parts")) {
        return;
    }
    const int room = list->count < OW_RIG_MAX_PARTS ? list->count : OW_RIG_MAX_PARTS;
    rig->parts = ow_arena_take(rig->arena, (size_t)room + 1, sizeof(OwPart));
    reader->part_node = ow_arena_take(reader->arena, (size_t)room + 1, sizeof(OwTextNode *));
    reader->lost = ow_arena_take(reader->arena, (size_t)list->count + 1, sizeof(char *));
    if (rig->parts == NULL || reader->part_node == NULL || reader->lost == NULL) {
        reader->is_out_of_memory = true;
        return;
    }
    for (const OwTextNode *n = list->first; n != NULL; n = n->next) {
        if (rig->part_count == OW_RIG_MAX_PARTS) {
            ow_reader_fault(reader, n, NULL, OW_ERROR_VALUE, OW_FAULT_ERROR,
                            "join short hoses into longer ones", "a rig has at most %d parts",
                            OW_RIG_MAX_PARTS);
            break;
        }
        read_part(reader, n);
    }
    for (int i = 0; i < rig->part_count; i++) {
        link_part(reader, &rig->parts[i], reader->part_node[i]);
    }
}
