// SPDX-License-Identifier: GPL-3.0-or-later
// Defaults and names of the electrical side. Values without a source here are common practice for vehicles of
// 1975..1995.
#include "oilwright/electrics.h"

#include <stdio.h>
#include <string.h>

#define C(t) ((t) + OW_ZERO_CELSIUS_K)
#define MM2(a) ((a)*1e-6)

double ow_electric_system(double key_on_v) {
    return key_on_v > 18.0 ? 24.0 : (key_on_v < 9.0 ? 6.0 : 12.0);
}

OwStatus ow_electric_default(double system_v, OwElectricSpec *spec) {
    if (system_v != 6.0 && system_v != 12.0 && system_v != 24.0) {
        return OW_ERROR_VALUE;
    }
    const double twice = system_v / 12.0;
    memset(spec, 0, sizeof *spec);
    spec->system_v = system_v;
    spec->battery = (OwBatterySpec){.rated_v = system_v,
                                    .capacity_c = 88.0 * 3600.0,
                                    .cold_crank_a = 700.0,
                                    .charge = 0.9,
                                    .age = 0.3,
                                    .mass_kg = 21.0 * twice,
                                    .minimum_charge = 0.5,
                                    .count = 1,
                                    .place = OW_PLACE_ENGINE_BAY};
    spec->alternator = (OwAlternatorSpec){.is_fitted = true,
                                          .rated_a = twice > 1.5 ? 45.0 : 65.0,
                                          .idle_a = twice > 1.5 ? 15.0 : 25.0,
                                          .cut_in_rad_s = 115.0, // 1100 1/min
                                          .pulley_ratio = 2.2,
                                          .set_v = 14.2 * twice,
                                          .set_slope_v_k = -0.0035 * twice,
                                          .droop_v = 0.3 * twice};
    spec->main = (OwCableSpec){.length_m = 1.2, .joint_ohm = 0.5e-3};
    spec->charge = (OwCableSpec){1.5, 0.0, 0.5e-3, 0.0};
    spec->starter = (OwCableSpec){1.5, MM2(50), 0.3e-3, 0.0};
    spec->body_earth = (OwCableSpec){0.5, 0.0, 0.3e-3, 0.0};
    spec->engine_earth = (OwCableSpec){0.6, MM2(50), 0.3e-3, 0.0};
    spec->crank_a = 250.0 / twice;
    spec->crank_minimum_v = 9.0 * twice;
    spec->drop_share = 0.04;
    spec->insulation_k = C(100); // ISO 6722 class B
    spec->place_k[OW_PLACE_UNDER_FLOOR] = C(50);
    spec->place_k[OW_PLACE_ENGINE_BAY] = C(80);
    spec->place_k[OW_PLACE_CABIN] = C(50);
    spec->place_k[OW_PLACE_LOAD_SPACE] = C(50);
    spec->bundle = 0.7;
    return OW_OK;
}

void ow_circuit_default(OwLoadKind load, OwCircuitSpec *circuit) {
    *circuit = (OwCircuitSpec){.load = load,
                               .part = -1,
                               .element = -1,
                               .rated_v = 12.0,
                               .cold_ratio = 1.0,
                               .feed = OW_FEED_RUN,
                               .length_m = 3.0,
                               .control_length_m = 2.5,
                               .earth_length_m = 0.4,
                               .joint_ohm = 10e-3,
                               .place = OW_PLACE_ENGINE_BAY,
                               .earth = OW_EARTH_BODY};
    switch (load) {
    case OW_LOAD_HEATER:
        circuit->has_relay = true;
        circuit->cold_ratio = 1.5;
        circuit->inrush_s = 5.0;
        circuit->rated_a = 12.5;
        break;
    case OW_LOAD_GLOW:
        circuit->has_relay = true;
        circuit->has_hold = true;
        circuit->longest_s = 180.0; // afterglow lasts up to 3 min (published by makers of glow plugs)
        circuit->feed = OW_FEED_GLOW;
        circuit->earth = OW_EARTH_ENGINE;
        circuit->rated_a = 40.0; // four rods of 10 A: 8..12 A steady each
        circuit->cold_ratio = 2.0;
        circuit->inrush_s = 5.0;
        circuit->length_m = 1.5;
        circuit->joint_ohm = 5e-3;
        break;
    case OW_LOAD_PUMP:
        circuit->rated_a = 3.0;
        circuit->cold_ratio = 3.0;
        circuit->inrush_s = 0.05;
        break;
    case OW_LOAD_VALVE:
        circuit->rated_a = 1.5;
        circuit->has_switch = true;
        break;
    case OW_LOAD_LAMP:
        circuit->rated_a = 5.0;
        circuit->cold_ratio = 10.0;
        circuit->inrush_s = 0.03;
        break;
    case OW_LOAD_STARTER:
        circuit->feed = OW_FEED_START;
        circuit->earth = OW_EARTH_ENGINE;
        circuit->rated_a = 250.0;
        circuit->length_m = 1.5;
        break;
    case OW_LOAD_OTHER:
    case OW_LOAD_COUNT:
        circuit->rated_a = 5.0;
        break;
    }
}

void ow_electric_take_capacity(OwElectricSpec *spec, double capacity_c) {
    if (capacity_c >= 3600.0 && capacity_c <= 1e7) {
        spec->battery.cold_crank_a *= capacity_c / spec->battery.capacity_c;
        spec->battery.capacity_c = capacity_c;
    }
}

/// Usual length from a board in the engine bay, m (common practice).
static double length_to(OwPlace place) {
    static const double metres[OW_PLACE_COUNT] = {[OW_PLACE_UNDER_FLOOR] = 4.0,
                                                  [OW_PLACE_ENGINE_BAY] = 1.5,
                                                  [OW_PLACE_CABIN] = 3.0,
                                                  [OW_PLACE_LOAD_SPACE] = 5.0};
    return metres[place];
}

static void take_element(const OwElement *e, OwCircuitSpec *c) {
    ow_circuit_default(OW_LOAD_HEATER, c);
    c->rated_v = e->rated_v;
    c->rated_a = e->power_w / e->rated_v;
    c->cold_ratio = e->cold_ratio > 1.0 ? e->cold_ratio : 1.0;
    c->inrush_s = e->conductance_w_k > 0.0 ? e->heat_capacity_j_k / e->conductance_w_k : 5.0;
    c->has_thermostat = e->has_thermostat;
    c->has_relay = c->rated_a > 8.0;
}

bool ow_circuit_from_part(const OwPart *part, int index, int element, double system_v, OwCircuitSpec *c) {
    const OwElements *elements = ow_part_elements_const(part);
    if (elements && element >= 0 && element < elements->count) {
        take_element(&elements->items[element], c);
    } else if (element >= 0) {
        return false;
    } else if (part->kind == OW_PART_ELECTRIC_PUMP) {
        ow_circuit_default(OW_LOAD_PUMP, c);
        c->rated_v = part->as.electric_pump.rated_v;
        c->rated_a = part->as.electric_pump.current_a;
    } else if (part->kind == OW_PART_VALVE && part->as.valve.is_electric) {
        ow_circuit_default(OW_LOAD_VALVE, c);
        c->rated_v = system_v;
    } else if (part->kind == OW_PART_RUN && part->as.run.trace_w_m > 0.0) {
        ow_circuit_default(OW_LOAD_HEATER, c);
        c->rated_v = system_v;
        c->rated_a = part->as.run.trace_w_m * part->as.run.length_m / system_v;
        c->has_relay = c->rated_a > 8.0;
        c->cold_ratio = 2.0; // self-limiting traces draw about double when cold
        c->inrush_s = 60.0;
        c->is_self_limiting = true;
    } else {
        return false;
    }
    if (!(c->rated_a >= 1e-3 && c->rated_v >= 1.0)) { // takes nothing
        return false;
    }
    c->part = index;
    c->element = element;
    c->place = part->place;
    c->length_m = length_to(part->place);
    c->line = part->line;
    c->column = part->column;
    if (element >= 0 && elements && elements->count > 1) {
        snprintf(c->name, sizeof c->name, "%.40s/%.20s", part->name, elements->items[element].name);
    } else {
        snprintf(c->name, sizeof c->name, "%s", part->name);
    }
    return true;
}

const char *ow_load_name(OwLoadKind load) {
    static const char *const names[] = {"heater", "glow plugs", "pump", "valve", "lamp", "starter", "other"};
    return load >= 0 && load < OW_LOAD_COUNT ? names[load] : "?";
}

const char *ow_feed_name(OwFeed feed) {
    static const char *const names[] = {"battery", "accessory", "run", "glow", "start"};
    return feed >= 0 && feed < OW_FEED_COUNT ? names[feed] : "?";
}

const char *ow_feed_terminal(OwFeed feed) {
    static const char *const names[] = {"30", "75", "15", "19", "50"};
    return feed >= 0 && feed < OW_FEED_COUNT ? names[feed] : "?";
}

const char *ow_earth_name(OwEarth earth) {
    static const char *const names[] = {"body", "engine", "battery"};
    return earth >= 0 && earth < OW_EARTH_COUNT ? names[earth] : "?";
}
