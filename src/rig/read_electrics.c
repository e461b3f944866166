// SPDX-License-Identifier: GPL-3.0-or-later
// The wiring below the electrics section: battery, alternator, cables, settings, circuits. What is left out
// takes its default.
#include "rig/read_electrics.h"

#include "base/text.h"
#include "rig/field_macros.h"

#include <stdio.h>
#include <string.h>

#define AH(x) ((x)*3600.0)
#define MM2(x) ((x)*1e-6)
#define MOHM(x) ((x)*1e-3)

static const OwField battery_fields[] = {
    REAL(OwBatterySpec, cold_crank_a, "cold cranking current", CURRENT, 700.0, 10.0, 5000.0, "A",
         "at -18 degC, 7.2 V of 12 V held (SAE J537); follows the battery's charge when not given" PRACTICE),
    REAL(OwBatterySpec, charge, "charge", NUMBER, 0.9, 0.0, 1.0, NULL, "state of charge at key on" PRACTICE),
    REAL(OwBatterySpec, age, "age", NUMBER, 0.3, 0.0, 1.0, NULL,
         "0 new, 1 at the end of its life, when 80 % of the capacity is left" PRACTICE),
    REAL_OR_NONE(OwBatterySpec, temperature_k, "temperature", TEMPERATURE, 0.0, CELSIUS(-50), CELSIUS(60),
                 NULL, "at key on; none: as cold as all else"),
    REAL(OwBatterySpec, mass_kg, "mass", MASS, 21.0, 0.5, 500.0, "kg",
         "for its warming; twice as much at 24 V" PRACTICE),
    REAL(OwBatterySpec, minimum_charge, "least charge", NUMBER, 0.5, 0.0, 1.0, NULL,
         "what must be left to crank" PRACTICE),
    COUNT(OwBatterySpec, count, "in parallel", 1, 1, 4, "equal batteries side by side"),
    CHOICE(OwBatterySpec, place, "place", OW_PLACE_ENGINE_BAY, ow_place_names, "where it stands"),
};

static const OwField alternator_fields[] = {
    REAL(OwAlternatorSpec, rated_a, "rated current", CURRENT, 65.0, 1.0, 1000.0, "A",
         "at 6000 1/min, the second figure of the nameplate (ISO 8854); 45 A at 24 V" PRACTICE),
    REAL(OwAlternatorSpec, idle_a, "idle current", CURRENT, 25.0, 0.0, 1000.0, "A",
         "at 1500 1/min, the first figure of the nameplate (ISO 8854); 15 A at 24 V" PRACTICE),
    REAL(OwAlternatorSpec, cut_in_rad_s, "cut-in speed", ROTATION, 115.0, RPM(100), RPM(5000), "rpm",
         "of its own shaft" PRACTICE),
    REAL(OwAlternatorSpec, pulley_ratio, "pulley ratio", NUMBER, 2.2, 0.3, 10.0, NULL,
         "its speed over the engine's" PRACTICE),
    REAL(OwAlternatorSpec, set_v, "set voltage", VOLTAGE, 14.2, 6.0, 40.0, "V",
         "held by the regulator at 20 degC; 28.4 V at 24 V" PRACTICE),
    REAL(OwAlternatorSpec, droop_v, "droop", VOLTAGE, 0.3, 0.01, 3.0, "V",
         "lost from no load to full output" PRACTICE),
};

static const OwField cable_fields[] = {
    REAL(OwCableSpec, length_m, "length", LENGTH, 1.2, 0.0, 100.0, "m",
         "main 1.2 m, charging and starter 1.5 m, body earth 0.5 m, engine earth 0.6 m" PRACTICE),
    REAL_OR_NONE(OwCableSpec, area_m2, "size", AREA, 0.0, MM2(0.35), MM2(240), NULL,
                 "section or AWG; none: chosen (starter and engine earth 50 mm2)"),
    REAL(OwCableSpec, joint_ohm, "joints", RESISTANCE, MOHM(0.5), 0.0, 1.0, NULL,
         "all its joints together" PRACTICE),
    REAL_OR_NONE(OwCableSpec, fuse_a, "fuse", CURRENT, 0.0, 1.0, 500.0, "A",
                 "of the main cable; none: chosen"),
    FLAG(OwCableSpec, has_no_fuse, "no fuse", false, "yes: the main cable of this vehicle has no fuse"),
};

static const char *const sizes[] = {"metric", "awg", NULL};
static const OwField wiring_fields[] = {
    REAL(OwElectricSpec, drop_share, "drop", NUMBER, 0.04, 0.001, 0.5, NULL,
         "share of the system's voltage that one circuit may lose" PRACTICE),
    REAL(OwElectricSpec, insulation_k, "insulation", TEMPERATURE, CELSIUS(100), CELSIUS(60), CELSIUS(300),
         NULL, "continuous rating: ISO 6722 class A 85, B 100, C 125, D 150 degC"),
    REAL(OwElectricSpec, bundle, "bundle", NUMBER, 0.7, 0.1, 1.0, NULL,
         "share of its heat that a wire can shed in its bundle" PRACTICE),
    EITHER(OwElectricSpec, has_us_sizes, "sizes", 0, sizes, "metric (ISO 6722) or awg (ASTM B258)"),
    REAL(OwElectricSpec, crank_a, "cranking current", CURRENT, 250.0, 1.0, 3000.0, "A",
         "of the starter turning the cold engine; 125 A at 24 V" PRACTICE),
    REAL(OwElectricSpec, crank_minimum_v, "least cranking voltage", VOLTAGE, 9.0, 3.0, 40.0, "V",
         "at the battery; 18 V at 24 V" PRACTICE),
    REAL(OwElectricSpec, place_k[OW_PLACE_UNDER_FLOOR], "air under floor", TEMPERATURE, CELSIUS(50),
         CELSIUS(-20), CELSIUS(200), NULL, "hottest air round the wires" PRACTICE),
    REAL(OwElectricSpec, place_k[OW_PLACE_ENGINE_BAY], "air in engine bay", TEMPERATURE, CELSIUS(80),
         CELSIUS(-20), CELSIUS(200), NULL, "hottest air round the wires" PRACTICE),
    REAL(OwElectricSpec, place_k[OW_PLACE_CABIN], "air in cabin", TEMPERATURE, CELSIUS(50), CELSIUS(-20),
         CELSIUS(200), NULL, "hottest air round the wires" PRACTICE),
    REAL(OwElectricSpec, place_k[OW_PLACE_LOAD_SPACE], "air in load space", TEMPERATURE, CELSIUS(50),
         CELSIUS(-20), CELSIUS(200), NULL, "hottest air round the wires" PRACTICE),
};

static const char *const feeds[] = {"battery", "accessory", "run", "glow", "start", NULL};
static const char *const earths[] = {"body", "engine", "battery", NULL};
static const OwField circuit_fields[] = {
    REAL(OwCircuitSpec, rated_v, "rated voltage", VOLTAGE, 12.0, 1.0, 60.0, "V",
         "at which the current flows; from the part"),
    REAL(OwCircuitSpec, rated_a, "current", CURRENT, 12.5, 0.01, 2000.0, "A",
         "hot or running, of all that hangs on it; from the part, else glow plugs 40 A, lamp 5 A, starter "
         "250 A" PRACTICE),
    REAL(OwCircuitSpec, cold_ratio, "first over running", NUMBER, 1.5, 1.0, 30.0, NULL,
         "first current over running current; from the part, else pump 3, lamp 10" PRACTICE),
    REAL(OwCircuitSpec, inrush_s, "inrush", TIME, 5.0, 0.0, 1e4, "s",
         "time in which the first current falls" PRACTICE),
    CHOICE(OwCircuitSpec, feed, "feed", OW_FEED_RUN, feeds,
           "the line that commands it, by DIN 72552: battery 30, accessory 75, run 15, glow 19, start 50"),
    FLAG(OwCircuitSpec, has_relay, "relay", true,
         "the current goes through a relay (heaters over 8 A do unless told)"),
    FLAG(OwCircuitSpec, has_switch, "switch", false, "a hand switch in the command"),
    FLAG(OwCircuitSpec, has_hold, "hold button", false,
         "a button that holds it on when the key has left the line"),
    REAL_OR_NONE(OwCircuitSpec, hold_s, "hold at most", TIME, 0.0, 1.0, 1e5, "s",
                 "a timer ends the hold; none: no timer"),
    REAL_OR_NONE(OwCircuitSpec, longest_s, "on at most", TIME, 0.0, 1.0, 1e6, "s",
                 "longest time on in ordinary use; none: for ever; glow plugs 180 s"),
    FLAG(OwCircuitSpec, has_thermostat, "thermostat", false, "switched by a thermostat; from the part"),
    REAL_OR_NONE(OwCircuitSpec, cutout_k, "cut-out", TEMPERATURE, 0.0, CELSIUS(40), CELSIUS(400), NULL,
                 "a one-shot thermal cut-out of its own in the load current"),
    REAL(OwCircuitSpec, length_m, "length", LENGTH, 3.0, 0.01, 100.0, "m",
         "board to load; 4 m under the floor, 1.5 m engine bay, 3 m cabin, 5 m load space" PRACTICE),
    REAL(OwCircuitSpec, control_length_m, "control length", LENGTH, 2.5, 0.0, 100.0, "m",
         "switch to relay coil" PRACTICE),
    REAL(OwCircuitSpec, earth_length_m, "earth length", LENGTH, 0.4, 0.0, 100.0, "m",
         "load to its earth point" PRACTICE),
    REAL_OR_NONE(OwCircuitSpec, area_m2, "wire", AREA, 0.0, MM2(0.2), MM2(240), NULL,
                 "section or AWG; none: chosen"),
    REAL_OR_NONE(OwCircuitSpec, fuse_a, "fuse", CURRENT, 0.0, 0.5, 500.0, "A", "none: chosen"),
    FLAG(OwCircuitSpec, has_no_fuse, "no fuse", false,
         "yes: this circuit has no fuse; the schedule names the one to fit"),
    REAL_OR_NONE(OwCircuitSpec, relay_a, "relay rating", CURRENT, 0.0, 1.0, 1000.0, "A",
                 "of its contact; none: chosen"),
    REAL_OR_NONE(OwCircuitSpec, switch_a, "switch rating", CURRENT, 0.0, 0.1, 1000.0, "A",
                 "of the hand switch or key contact; none: 10 A is assumed"),
    REAL(OwCircuitSpec, joint_ohm, "joints", RESISTANCE, MOHM(10), 0.0, 10.0, NULL,
         "fuse holder, contacts and terminals together" PRACTICE),
    CHOICE(OwCircuitSpec, place, "place", OW_PLACE_ENGINE_BAY, ow_place_names,
           "the hottest place the run passes; from the part"),
    CHOICE(OwCircuitSpec, earth, "earth", OW_EARTH_BODY, earths,
           "where the current goes home: body, engine or battery"),
};

#define TABLE(rows)                                                                                          \
    { rows, (int)(sizeof(rows) / sizeof((rows)[0])) }
static const OwFieldTable battery_table = TABLE(battery_fields), alternator_table = TABLE(alternator_fields),
                          cable_table = TABLE(cable_fields), wiring_table = TABLE(wiring_fields),
                          circuit_table = TABLE(circuit_fields);

static const OwElectricTable tables[] = {
    {"starter battery",
     "`starter battery: {cold cranking current: 700 A, age: 0.5}`; its charge when full is `battery`",
     TABLE(battery_fields)},
    {"alternator", "`alternator: {rated current: 65 A, idle current: 25 A}`, or `alternator: none`",
     TABLE(alternator_fields)},
    {"cables",
     "A map of main, charging, starter, body earth and engine earth, each with:", TABLE(cable_fields)},
    {"wiring", "How wires and fuses are chosen:", TABLE(wiring_fields)},
    {"circuits",
     "A list; each has a name, `circuit: glow plugs`, and what it feeds, `load: boost chamber/heater 1`: a "
     "part, one of its "
     "heaters, or the vehicle's own glow plugs, starter, lamp, pump, valve, heater or other. Loads of the "
     "rig that no circuit "
     "feeds get one with the defaults. Each circuit:",
     TABLE(circuit_fields)},
    {NULL, NULL, {NULL, 0}},
};

const OwSpecialKey ow_electric_special[] = {
    {"starter battery", "a map, see starter battery"},
    {"alternator", "a map, see alternator; or none"},
    {"cables", "maps of the thick cables, see cables"},
    {"wiring", "a map of what wires and fuses are chosen by, see wiring"},
    {"circuits", "a list of circuits, see circuits (default: one for each electric load)"},
    {NULL, NULL},
};

const OwElectricTable *ow_electric_tables(void) {
    return tables;
}

static void read_map(OwReader *reader, const OwTextNode *node, const OwFieldTable *table, void *base,
                     const char *what) {
    if (node != NULL && ow_reader_expect(reader, node, OW_NODE_MAP, NULL, what)) {
        ow_reader_map(reader, node, table, 1, NULL, NULL, base, NULL);
    }
}

static void read_alternator(OwReader *reader, const OwTextNode *node, OwElectricSpec *spec) {
    if (node == NULL) {
        return;
    }
    spec->alternator.line = node->line;
    spec->alternator.column = node->column;
    if (node->type == OW_NODE_SCALAR && strcmp(node->text, "none") == 0) {
        spec->alternator.is_fitted = false;
        return;
    }
    read_map(reader, node, &alternator_table, &spec->alternator, "alternator");
    if (spec->alternator.idle_a > spec->alternator.rated_a) {
        ow_reader_fault(reader, node, "alternator", OW_ERROR_VALUE, OW_FAULT_ERROR,
                        "the first figure of the nameplate is the idle current, the second the rated one",
                        "the idle current is above the rated current");
    }
}

static void read_cables(OwReader *reader, const OwTextNode *node, OwElectricSpec *spec) {
    static const OwSpecialKey names[] = {{"main", ""},       {"charging", ""},     {"starter", ""},
                                         {"body earth", ""}, {"engine earth", ""}, {NULL, NULL}};
    OwCableSpec *const cables[] = {&spec->main, &spec->charge, &spec->starter, &spec->body_earth,
                                   &spec->engine_earth};
    if (node == NULL || !ow_reader_expect(reader, node, OW_NODE_MAP, NULL, "cables")) {
        return;
    }
    ow_reader_map(reader, node, NULL, 0, names, NULL, NULL, NULL);
    for (int i = 0; i < 5; i++) {
        read_map(reader, ow_node_get(node, names[i].key), &cable_table, cables[i], names[i].key);
    }
}

static const char *element_at(const void *context, size_t i) {
    const OwElements *elements = context;
    return elements->items[i].name;
}

/// A part or "part/heater" that takes current: fills the circuit from it.
static bool read_part_load(OwReader *reader, const OwTextNode *node, double system_v, OwCircuitSpec *c) {
    const OwRig *rig = reader->rig;
    const char *slash = strrchr(node->text, '/');
    char name[2 * OW_NAME_SIZE];
    int part = ow_rig_find(rig, node->text), element = -1;
    if (part < 0 && slash != NULL && (size_t)(slash - node->text) < sizeof name) {
        (void)snprintf(name, sizeof name, "%.*s", (int)(slash - node->text), node->text);
        part = ow_reader_part(reader, node, name);
        const OwElements *elements = part >= 0 ? ow_part_elements_const(&rig->parts[part]) : NULL;
        for (int i = 0; elements != NULL && i < elements->count; i++) {
            element = strcmp(elements->items[i].name, slash + 1) == 0 ? i : element;
        }
        if (part >= 0 && element < 0) {
            char remedy[256];
            ow_remedy_near(remedy,
                           elements != NULL
                               ? ow_text_nearest_by(slash + 1, (size_t)elements->count, element_at, elements)
                               : NULL,
                           "name one of the part's heaters");
            ow_reader_fault(reader, node, name, OW_ERROR_VALUE, OW_FAULT_ERROR, remedy,
                            "it has no heater named \"%.60s\"", slash + 1);
            return false;
        }
    } else if (part < 0) {
        part = ow_reader_part(reader, node, node->text);
    }
    if (part < 0) {
        return false;
    }
    const OwElements *elements = ow_part_elements_const(&rig->parts[part]);
    if (element < 0 && elements != NULL && elements->count == 1) {
        element = 0;
    }
    if (!ow_circuit_from_part(&rig->parts[part], part, element, system_v, c)) {
        ow_reader_fault(reader, node, rig->parts[part].name, OW_ERROR_VALUE, OW_FAULT_ERROR,
                        elements != NULL && elements->count > 1
                            ? "name the heater too: part/heater name"
                            : "name a part with a heater, an electric pump or an electric valve",
                        "this part takes no current by itself");
        return false;
    }
    return true;
}

static bool read_load(OwReader *reader, const OwTextNode *node, double system_v, OwCircuitSpec *c) {
    for (int k = 0; k < OW_LOAD_COUNT; k++) {
        if (strcmp(node->text, ow_load_name((OwLoadKind)k)) == 0 &&
            ow_rig_find(reader->rig, node->text) < 0) {
            ow_circuit_default((OwLoadKind)k, c);
            c->rated_v = system_v;
            return true;
        }
    }
    return read_part_load(reader, node, system_v, c);
}

static void read_circuit(OwReader *reader, const OwTextNode *node, OwElectricSpec *spec) {
    static const OwSpecialKey own[] = {{"circuit", ""}, {"load", ""}, {NULL, NULL}};
    OwCircuitSpec circuit;
    ow_circuit_default(OW_LOAD_OTHER, &circuit);
    if (!ow_reader_expect(reader, node, OW_NODE_MAP, NULL, "a circuit")) {
        return;
    }
    const OwTextNode *name = ow_node_get(node, "circuit"), *load = ow_node_get(node, "load");
    bool is_whole = load != NULL && ow_reader_expect(reader, load, OW_NODE_SCALAR, NULL, "load");
    if (load == NULL) {
        ow_reader_fault(
            reader, node, NULL, OW_ERROR_VALUE, OW_FAULT_ERROR,
            "write load: and a part, part/heater, glow plugs, starter, lamp, pump, valve, heater or other",
            "a circuit needs a load");
    }
    is_whole = is_whole && read_load(reader, load, spec->system_v, &circuit);
    if (name != NULL) {
        is_whole = ow_reader_name(reader, name, "circuit", circuit.name, NULL) && is_whole;
    } else if (is_whole) {
        (void)ow_text_copy(circuit.name, sizeof circuit.name, load->text);
    }
    circuit.line = node->line;
    circuit.column = node->column;
    ow_reader_map(reader, node, &circuit_table, 1, own, NULL, &circuit,
                  circuit.name[0] ? circuit.name : NULL);
    for (int i = 0; is_whole && i < spec->circuit_count; i++) {
        const OwCircuitSpec *other = &spec->circuits[i];
        const bool is_same_load =
            circuit.part >= 0 && other->part == circuit.part && other->element == circuit.element;
        if (is_same_load || strcmp(other->name, circuit.name) == 0) {
            ow_reader_fault(reader, node, circuit.name, OW_ERROR_VALUE, OW_FAULT_ERROR, "keep one of them",
                            is_same_load ? "the circuit \"%.60s\" feeds this load already"
                                         : "the circuit \"%.60s\" is there already",
                            other->name);
            return;
        }
    }
    if (is_whole && spec->circuit_count < OW_MAX_CIRCUITS) {
        spec->circuits[spec->circuit_count++] = circuit;
    } else if (is_whole) {
        ow_reader_fault(reader, node, circuit.name, OW_ERROR_VALUE, OW_FAULT_ERROR, NULL,
                        "a rig has at most %d circuits", OW_MAX_CIRCUITS);
    }
}

void ow_read_electrics(OwReader *reader, const OwTextNode *electrics) {
    if (electrics == NULL || electrics->type != OW_NODE_MAP) {
        return;
    }
    bool has_any = false;
    for (int i = 0; ow_electric_special[i].key != NULL; i++) {
        has_any = has_any || ow_node_get(electrics, ow_electric_special[i].key) != NULL;
    }
    if (!has_any) {
        return;
    }
    OwRig *rig = reader->rig;
    OwElectricSpec *spec = ow_arena_take(rig->arena, 1, sizeof *spec);
    if (spec == NULL) {
        reader->is_out_of_memory = true;
        return;
    }
    (void)ow_electric_default(ow_electric_system(rig->electrics.battery_v), spec);
    ow_electric_take_capacity(spec, rig->electrics.battery_c);
    const OwTextNode *battery = ow_node_get(electrics, "starter battery");
    read_map(reader, battery, &battery_table, &spec->battery, "starter battery");
    read_alternator(reader, ow_node_get(electrics, "alternator"), spec);
    read_cables(reader, ow_node_get(electrics, "cables"), spec);
    const OwTextNode *wiring = ow_node_get(electrics, "wiring");
    read_map(reader, wiring, &wiring_table, spec, "wiring");
    for (int i = 0; i < OW_PLACE_COUNT; i++) {
        if (spec->place_k[i] > spec->insulation_k - 5.0) {
            ow_reader_fault(reader, wiring, "wiring", OW_ERROR_VALUE, OW_FAULT_ERROR,
                            "give insulation of a higher class",
                            "the air in the %s is as hot as the insulation stands", ow_place_names[i]);
        }
    }
    const OwTextNode *circuits = ow_node_get(electrics, "circuits");
    if (circuits != NULL && ow_reader_expect(reader, circuits, OW_NODE_LIST, NULL, "circuits")) {
        for (const OwTextNode *n = circuits->first; n != NULL; n = n->next) {
            read_circuit(reader, n, spec);
        }
    }
    rig->electric_spec = spec;
}
