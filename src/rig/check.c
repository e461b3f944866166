// SPDX-License-Identifier: GPL-3.0-or-later
// Checks a whole rig: ranges, joints, whether fuel can reach the injection pump and come back, rules.
#include "base/text.h"
#include "rig/catalogue.h"
#include "rig/reader.h"

#include <stdarg.h>
#include <stdio.h>
#include <string.h>

typedef struct Checker {
    const OwRig *rig;
    OwFaults *faults;
    size_t errors;
    bool is_out_of_memory;
    bool joined[OW_RIG_MAX_PARTS][OW_MAX_PORTS];
    bool reached[OW_RIG_MAX_PARTS][OW_MAX_PORTS];
} Checker;

static void fault(Checker *c, const OwPart *part, OwSeverity severity, const char *remedy, const char *format,
                  ...) __attribute__((format(printf, 5, 6)));

static void fault(Checker *c, const OwPart *part, OwSeverity severity, const char *remedy, const char *format,
                  ...) {
    OwFault f = {.status = OW_ERROR_VALUE, .severity = severity};
    char message[400];
    va_list arguments;
    va_start(arguments, format);
    (void)vsnprintf(message, sizeof message, format, arguments);
    va_end(arguments);
    (void)ow_text_copy(f.message, sizeof f.message, message);
    (void)ow_text_copy(f.remedy, sizeof f.remedy, remedy);
    (void)ow_text_copy(f.file, sizeof f.file, c->rig->file);
    if (part != NULL) {
        (void)ow_text_copy(f.part, sizeof f.part, part->name);
        f.line = part->line;
        f.column = part->column;
    }
    c->errors += severity == OW_FAULT_ERROR ? 1 : 0;
    if (ow_faults_add(c->faults, &f) != OW_OK) {
        c->is_out_of_memory = true;
    }
}

static void check_fields(Checker *c, OwFieldTable table, const void *base, const OwPart *part,
                         const char *what) {
    for (int i = 0; i < table.count; i++) {
        const OwField *field = &table.rows[i];
        const double value = ow_field_real(field, base);
        if (ow_field_is_legal(field, value)) {
            continue;
        }
        char low[64], high[64], shown[64], remedy[256];
        ow_field_write(field, value, OW_DISPLAY_METRIC, shown, sizeof shown);
        ow_units_write(field->low, field->quantity, OW_DISPLAY_METRIC, low, sizeof low);
        ow_units_write(field->high, field->quantity, OW_DISPLAY_METRIC, high, sizeof high);
        if (field->choices != NULL) {
            (void)snprintf(remedy, sizeof remedy, "give one of its known names");
        } else {
            (void)snprintf(remedy, sizeof remedy, "give %s to %s", low, high);
        }
        fault(c, part, OW_FAULT_ERROR, remedy, "%s%s%s: %s is out of range", what,
              what[0] != '\0' ? ": " : "", field->key, shown);
    }
}

static void check_elements(Checker *c, const OwPart *part) {
    const OwElements *elements = ow_part_elements_const(part);
    if (elements == NULL) {
        return;
    }
    if (elements->count < 0 || elements->count > OW_MAX_ELEMENTS) {
        fault(c, part, OW_FAULT_ERROR, "give at most 4", "the number of heaters is out of range");
        return;
    }
    for (int i = 0; i < elements->count; i++) {
        const OwElement *element = &elements->items[i];
        check_fields(c, ow_element_fields(), element, part, element->name);
        if (element->has_thermostat) {
            check_fields(c, ow_thermostat_fields(), element, part, element->name);
            if (!(element->thermostat_off_k > element->thermostat_on_k)) {
                fault(c, part, OW_FAULT_ERROR, "let it open some kelvin above where it closes",
                      "%s: the thermostat opens at or below the temperature at which it closes",
                      element->name);
            }
        }
        for (int k = 0; k < i; k++) {
            if (strcmp(element->name, elements->items[k].name) == 0) {
                fault(c, part, OW_FAULT_ERROR, "give each heater a name of its own",
                      "two heaters are named \"%s\"", element->name);
            }
        }
    }
}

static void check_valve(Checker *c, const OwPart *part) {
    const OwValve *valve = &part->as.valve;
    if ((valve->ways != 2 && valve->ways != 3) || valve->position_count < 1 || valve->position_count > 4 ||
        valve->start_position < 0 || valve->start_position >= valve->position_count) {
        fault(c, part, OW_FAULT_ERROR, "give 2 or 3 ways and up to 4 positions, one of them the start",
              "the valve's ways or positions are out of range");
        return;
    }
    for (int i = 0; i < valve->position_count; i++) {
        if (valve->ways == 2 && valve->opens_b[i]) {
            fault(c, part, OW_FAULT_ERROR, "give it three ways",
                  "position \"%s\" opens port b of a two-way valve", valve->position[i]);
        }
        for (int k = 0; k < i; k++) {
            if (strcmp(valve->position[i], valve->position[k]) == 0) {
                fault(c, part, OW_FAULT_ERROR, "give each position a name of its own",
                      "two positions are named \"%s\"", valve->position[i]);
            }
        }
    }
}

static void check_part(Checker *c, int index) {
    const OwRig *rig = c->rig;
    const OwPart *part = &rig->parts[index];
    if ((unsigned)part->kind >= OW_PART_KIND_COUNT) {
        fault(c, part, OW_FAULT_ERROR, "use a kind of the catalogue", "the kind of the part is unknown");
        return;
    }
    if (part->name[0] == '\0' || memchr(part->name, '\0', sizeof part->name) == NULL) {
        fault(c, NULL, OW_FAULT_ERROR, "give it a name of 1 to 63 bytes", "part %d has no legal name",
              index + 1);
        return;
    }
    const int first = ow_rig_find(rig, part->name);
    if (first != index) {
        fault(c, part, OW_FAULT_ERROR, "give each part a name of its own", "two parts have this name");
    }
    check_fields(c, ow_common_fields(), part, part, "");
    check_fields(c, ow_kind_word_of(part)->fields, part, part, "");
    check_elements(c, part);
    if (part->kind == OW_PART_VALVE) {
        check_valve(c, part);
    } else if (part->kind == OW_PART_ELECTRIC_PUMP) {
        const OwElectricPump *pump = &part->as.electric_pump;
        bool is_good =
            pump->curve_count == 0 || (pump->curve_count >= 2 && pump->curve_count <= OW_MAX_CURVE);
        for (int i = 1; is_good && i < pump->curve_count; i++) {
            is_good = pump->curve_flow_m3_s[i] > pump->curve_flow_m3_s[i - 1] &&
                      pump->curve_pa[i] < pump->curve_pa[i - 1];
        }
        if (!is_good) {
            fault(c, part, OW_FAULT_ERROR, "give 2 to 12 points, flow rising and pressure falling",
                  "the pump's curve is not usable");
        }
    } else if (part->kind == OW_PART_COOLANT_COIL) {
        const int warms = part->as.coil.warms;
        if (warms < 0 || warms >= rig->part_count || !ow_part_holds_oil(rig->parts[warms].kind)) {
            fault(c, part, OW_FAULT_ERROR, "let it warm a tank, filter, chamber, pump or hose",
                  "the coil warms nothing that holds oil");
        }
    } else if (part->kind == OW_PART_TANK) {
        bool is_known = part->as.tank.fluid[0] == '\0';
        for (int i = 0; i < rig->fluid_count && i < OW_MAX_FLUIDS; i++) {
            is_known = is_known || strcmp(part->as.tank.fluid, rig->fluid_name[i]) == 0;
        }
        if (!is_known) {
            fault(c, part, OW_FAULT_ERROR, "use a name from the oil section",
                  "the tank's fluid \"%.63s\" is unknown", part->as.tank.fluid);
        }
    }
}

static bool joint_is_legal(Checker *c, int index) {
    const OwRig *rig = c->rig;
    const OwJoint *joint = &rig->joints[index];
    const int parts[] = {joint->part_a, joint->part_b}, ports[] = {joint->port_a, joint->port_b};
    for (int k = 0; k < 2; k++) {
        if (parts[k] < 0 || parts[k] >= rig->part_count) {
            fault(c, NULL, OW_FAULT_ERROR, "use indices of the rig's parts", "joint %d names no part",
                  index + 1);
            return false;
        }
        const OwPart *part = &rig->parts[parts[k]];
        if (ports[k] < 0 || ports[k] >= ow_part_ports_in_use(part)) {
            fault(c, part, OW_FAULT_ERROR, "use a port of its kind",
                  "joint %d names a port that the part has not", index + 1);
            return false;
        }
    }
    if (parts[0] == parts[1]) {
        fault(c, &rig->parts[parts[0]], OW_FAULT_ERROR, "put a hose in between",
              "the part is joined to itself");
        return false;
    }
    c->joined[parts[0]][ports[0]] = true;
    c->joined[parts[1]][ports[1]] = true;
    return true;
}

static void check_open_ports(Checker *c) {
    for (int i = 0; i < c->rig->part_count; i++) {
        const OwPart *part = &c->rig->parts[i];
        const int count = ow_part_ports_in_use(part);
        for (int port = 0; port < count; port++) {
            const char *name = ow_part_port_name(part->kind, port);
            if (c->joined[i][port]) {
                continue;
            }
            if (part->kind == OW_PART_TANK) {
                if (port == 0) {
                    fault(c, part, OW_FAULT_WARNING, "lead a line from its pick-up",
                          "nothing is drawn from this tank");
                }
            } else if (part->kind == OW_PART_INJECTORS) {
                fault(c, part, OW_FAULT_WARNING, "lead a line from the injectors to a tank",
                      "the leak-off goes nowhere and is left out");
            } else if (part->kind == OW_PART_INJECTION_PUMP && port == 1) {
                fault(c, part, OW_FAULT_ERROR,
                      "lead a line from the injection pump to a tank, or back before the filter",
                      "the return must go somewhere");
            } else {
                fault(c, part, OW_FAULT_ERROR, "name the part in a line, or take it out",
                      "nothing is joined to its port \"%s\"", name);
            }
        }
    }
}

/// Whether fuel can pass inside a part from one port to another in some position; tanks hold it back.
static bool passes(const OwPart *part, int from, int to) {
    switch (part->kind) {
    case OW_PART_TANK:
    case OW_PART_INJECTION_PUMP:
    case OW_PART_INJECTORS:
    case OW_PART_COOLANT_COIL:
        return false;
    case OW_PART_CHECK_VALVE:
    case OW_PART_LIFT_PUMP:
    case OW_PART_RELIEF_VALVE:
        return from == 0 && to == 1;
    case OW_PART_VALVE:
        for (int i = 0; i < part->as.valve.position_count && i < 4; i++) {
            const bool opens[] = {true, part->as.valve.opens_a[i], part->as.valve.opens_b[i]};
            if (opens[from] && opens[to]) {
                return true;
            }
        }
        return false;
    default:
        return true;
    }
}

/// Marks every port that fuel from the marked ports can reach. Each round marks at least one port more, so
/// the work is bounded.
static void spread(Checker *c) {
    const OwRig *rig = c->rig;
    for (bool is_new = true; is_new;) {
        is_new = false;
        for (int i = 0; i < rig->joint_count; i++) {
            const OwJoint *joint = &rig->joints[i];
            bool *a = &c->reached[joint->part_a][joint->port_a],
                 *b = &c->reached[joint->part_b][joint->port_b];
            if (*a != *b) {
                *a = *b = true;
                is_new = true;
            }
        }
        for (int i = 0; i < rig->part_count; i++) {
            const int count = ow_part_ports_in_use(&rig->parts[i]);
            for (int from = 0; from < count; from++) {
                for (int to = 0; c->reached[i][from] && to < count; to++) {
                    if (!c->reached[i][to] && passes(&rig->parts[i], from, to)) {
                        c->reached[i][to] = true;
                        is_new = true;
                    }
                }
            }
        }
    }
}

static void check_reach(Checker *c, int pump) {
    const OwRig *rig = c->rig;
    for (int i = 0; i < rig->part_count; i++) {
        c->reached[i][0] = rig->parts[i].kind == OW_PART_TANK;
    }
    spread(c);
    if (!c->reached[pump][0]) {
        fault(c, &rig->parts[pump], OW_FAULT_ERROR,
              "follow the lines from the tank: look for a gap, a valve that never opens, or a "
              "check valve the wrong way round",
              "no fuel can reach the injection pump from any tank");
    }
    for (int i = 0; i < rig->joint_count; i++) {
        const OwJoint *joint = &rig->joints[i];
        const bool straight = rig->parts[joint->part_a].kind == OW_PART_TANK && joint->part_b == pump &&
                              joint->port_b == 0 && joint->port_a == 0;
        const bool turned = rig->parts[joint->part_b].kind == OW_PART_TANK && joint->part_a == pump &&
                            joint->port_a == 0 && joint->port_b == 0;
        if (straight || turned) {
            fault(c, &rig->parts[pump], OW_FAULT_ERROR, "put in the hose that joins them",
                  "nothing stands between the tank and the injection pump");
        }
    }
}

static void check_rule(Checker *c, int index) {
    const OwRig *rig = c->rig;
    const OwRule *rule = &rig->rules[index];
    if (rule->target < 0 || rule->target >= rig->part_count) {
        fault(c, NULL, OW_FAULT_ERROR, "use the index of a part", "control %d sets no part", index + 1);
        return;
    }
    const OwPart *part = &rig->parts[rule->target];
    const OwElements *elements = ow_part_elements_const(part);
    int positions = 0;
    if (rule->element >= 0) {
        positions = elements != NULL && rule->element < elements->count ? 2 : 0;
    } else if (part->kind == OW_PART_VALVE) {
        positions = part->as.valve.position_count;
    } else if (part->kind == OW_PART_ELECTRIC_PUMP) {
        positions = 2;
    }
    if (rule->position < 0 || rule->position >= positions) {
        fault(c, part, OW_FAULT_ERROR, "set a valve, an electric pump or a heater",
              "control %d cannot be carried out on it", index + 1);
    }
    const bool is_timed = rule->trigger == OW_TRIGGER_AFTER_KEY || rule->trigger == OW_TRIGGER_AFTER_START ||
                          rule->trigger == OW_TRIGGER_BEFORE_STOP;
    if (is_timed) {
        if (!(rule->delay_s >= 0.0 && rule->delay_s <= 604800.0)) {
            fault(c, part, OW_FAULT_ERROR, "give 0 s to a week", "control %d has no legal time", index + 1);
        }
        return;
    }
    const bool is_watched =
        rule->watch == OW_WATCH_COOLANT || (rule->watch >= 0 && rule->watch < rig->part_count &&
                                            ow_part_holds_oil(rig->parts[rule->watch].kind));
    if ((rule->trigger != OW_TRIGGER_ABOVE && rule->trigger != OW_TRIGGER_BELOW) || !is_watched ||
        !(rule->level_k >= 200.0 && rule->level_k <= 600.0)) {
        fault(c, part, OW_FAULT_ERROR, "watch coolant or a part that holds oil, from -50 to 300 degC",
              "control %d watches nothing that has such a temperature", index + 1);
    }
}

static void check_sections(Checker *c) {
    const OwRig *rig = c->rig;
    for (const OwSection *section = ow_sections(); section->name != NULL; section++) {
        check_fields(c, section->fields, (const char *)rig + section->offset, NULL, section->name);
    }
    const OwVehicle *vehicle = &rig->vehicle;
    bool is_good = vehicle->gear_count >= 1 && vehicle->gear_count <= 8;
    for (int i = 0; is_good && i < vehicle->gear_count; i++) {
        is_good = vehicle->gear_m_s_per_rad_s[i] > (i > 0 ? vehicle->gear_m_s_per_rad_s[i - 1] : 0.0) &&
                  vehicle->gear_m_s_per_rad_s[i] < 1.0;
    }
    if (!is_good) {
        fault(c, NULL, OW_FAULT_ERROR, "give 1 to 8 gears, their road speeds rising",
              "vehicle: the gears are not usable");
    }
    const OwEngine *engine = &rig->engine;
    if (!(engine->idle_speed_rad_s < engine->rated_speed_rad_s &&
          engine->crank_speed_rad_s < engine->idle_speed_rad_s)) {
        fault(c, NULL, OW_FAULT_ERROR, "let cranking be slower than idle and idle slower than rated speed",
              "engine: the speeds are not in order");
    }
    if (!(engine->thermostat_open_k < engine->thermostat_full_k)) {
        fault(c, NULL, OW_FAULT_ERROR, "let it be fully open some kelvin above where it begins",
              "engine: the thermostat is fully open before it begins to open");
    }
    const OwDriveSpec *drive = &rig->drive;
    if (drive->earliest_start_s > drive->ready_wait_s) {
        fault(c, NULL, OW_FAULT_ERROR, "let the longest wait be the longer one",
              "drive: the driver waits at least longer than at most");
    }
    if (drive->kind == OW_DRIVE_LEGS) {
        if (drive->leg_count < 1 || drive->leg_count > OW_MAX_LEGS) {
            fault(c, NULL, OW_FAULT_ERROR, "give 1 to 64 legs", "drive: there is no leg to drive");
        }
        for (int i = 0; i < drive->leg_count && i < OW_MAX_LEGS; i++) {
            check_fields(c, ow_leg_fields(), &drive->legs[i], NULL, drive->legs[i].name);
        }
    }
    if (rig->fluid_count < 1 || rig->fluid_count > OW_MAX_FLUIDS) {
        fault(c, NULL, OW_FAULT_ERROR, "name one or two", "oil: the number of fluids is out of range");
    }
}

OwStatus ow_rig_check(const OwRig *rig, OwFaults *faults) {
    if (rig == NULL || faults == NULL || (rig->part_count > 0 && rig->parts == NULL) ||
        (rig->joint_count > 0 && rig->joints == NULL) || (rig->rule_count > 0 && rig->rules == NULL)) {
        return OW_ERROR_USE;
    }
    Checker c = {.rig = rig, .faults = faults};
    check_sections(&c);
    if (rig->part_count < 0 || rig->part_count > OW_RIG_MAX_PARTS || rig->joint_count < 0 ||
        rig->joint_count > OW_RIG_MAX_JOINTS || rig->rule_count < 0 || rig->rule_count > OW_RIG_MAX_RULES) {
        fault(&c, NULL, OW_FAULT_ERROR, "at most 200 parts, 400 joints and 200 controls are computed",
              "the rig has too many parts, joints or controls");
        return c.is_out_of_memory ? OW_ERROR_MEMORY : OW_ERROR_VALUE;
    }
    int tanks = 0, pumps = 0, pump = -1;
    for (int i = 0; i < rig->part_count; i++) {
        check_part(&c, i);
        tanks += rig->parts[i].kind == OW_PART_TANK ? 1 : 0;
        if (rig->parts[i].kind == OW_PART_INJECTION_PUMP) {
            pumps++;
            pump = i;
        }
    }
    if (tanks == 0) {
        fault(&c, NULL, OW_FAULT_ERROR, "add - tank: main tank to the parts",
              "there is no tank that the fuel could come from");
    }
    if (pumps == 0) {
        fault(&c, NULL, OW_FAULT_ERROR, "add - injection pump: injection pump to the parts",
              "there is no injection pump that the fuel could go to");
    } else if (pumps > 1) {
        fault(&c, &rig->parts[pump], OW_FAULT_ERROR, "keep one; a rig is one engine",
              "there are %d injection pumps", pumps);
    }
    // Joints and rules are only looked at on sound parts: their own faults would be echoes.
    if (c.errors == 0) {
        bool is_sound = true;
        for (int i = 0; i < rig->joint_count; i++) {
            is_sound = joint_is_legal(&c, i) && is_sound;
        }
        if (is_sound) {
            check_open_ports(&c);
            check_reach(&c, pump);
        }
        for (int i = 0; i < rig->rule_count; i++) {
            check_rule(&c, i);
        }
    }
    if (c.is_out_of_memory) {
        return OW_ERROR_MEMORY;
    }
    return c.errors > 0 ? OW_ERROR_VALUE : OW_OK;
}
