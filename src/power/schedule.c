// SPDX-License-Identifier: GPL-3.0-or-later
// The schedule the shop wires from: every wire, fuse and rating with its reason, and the balance of battery
// and alternator.
#include "power/schedule.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define COIL_A 0.15       // a relay coil of some 85 ohm
#define RELAY_LOADING 0.8 // of the contact's rating for long, common practice
#define CONTROL_FUSE_A 5.0
#define RELAY_FEED_M 0.3 // board to a relay beside it
#define CUTOUT_TAIL_M 0.2
#define PREHEAT_MINUTES 10.0
#define IDLE_RPM 800.0
#define RPM (3.14159265358979323846 / 30.0)
// A plug-in relay makes some three times what it carries for the split second of a lamp's first current (a 40
// A one 120 A): common practice, no source. What lasts longer counts in full.
#define RELAY_MAKES 3.0
#define RELAY_MAKES_S 0.2

size_t ow_power_say(OwFaults *faults, const OwCircuitSpec *c, const char *message, const char *remedy) {
    if (!faults) {
        return 0;
    }
    OwFault fault = {.status = OW_ERROR_VALUE, .severity = OW_FAULT_WARNING};
    if (c) {
        fault.line = c->line;
        fault.column = c->column;
    }
    snprintf(fault.part, sizeof fault.part, "%s", c ? c->name : "electrics");
    snprintf(fault.message, sizeof fault.message, "%s", message);
    snprintf(fault.remedy, sizeof fault.remedy, "%s", remedy);
    const size_t before = faults->count;
    ow_faults_add(faults, &fault);
    return faults->count > before ? before : SIZE_MAX; // no room: no mend belongs to it
}

double ow_power_idle(const OwElectricSpec *spec) {
    return spec->idle_rad_s > 0.0 ? spec->idle_rad_s : IDLE_RPM * RPM;
}

bool ow_power_relay_stands(double rating_a, double running_a, double first_a, double inrush_s) {
    const double makes = inrush_s <= RELAY_MAKES_S ? RELAY_MAKES : 1.0;
    return rating_a > 0.0 && rating_a * RELAY_LOADING >= running_a * 0.9999 &&
           rating_a * makes >= first_a * 0.9999;
}

double ow_power_relay_rating(double running_a, double first_a, double inrush_s) {
    static const double ratings[] = {10, 20, 30, 40, 60, 70, 100, 150, 200};
    for (size_t i = 0; i < sizeof ratings / sizeof ratings[0]; i++) {
        if (ow_power_relay_stands(ratings[i], running_a, first_a, inrush_s)) {
            return ratings[i];
        }
    }
    return 0.0;
}

const char *ow_power_degrees(const OwPower *power, double temperature_k, char *text, size_t size) {
    const double celsius = temperature_k - OW_ZERO_CELSIUS_K;
    if (power->spec.has_us_sizes) {
        (void)snprintf(text, size, "%.0f degF (%.0f degC)", 1.8 * celsius + 32.0, celsius);
    } else {
        (void)snprintf(text, size, "%.0f degC", celsius);
    }
    return text;
}

bool ow_power_has_independent_protection(const OwCircuitSpec *c) {
    return c->load != OW_LOAD_HEATER || c->cutout_k > 0.0 || c->is_self_limiting;
}

static const char *load_colour(int circuit) {
    static const char *const colours[] = {"YE", "BU", "GN", "VT", "OG", "WH", "GY", "PK", "TQ"}; // IEC 60757
    return colours[circuit % 9];
}

static double control_m2(const OwPower *power) {
    return power->spec.has_us_sizes ? ow_wire_awg_area(18) : 0.75e-6;
}

static OwWireRow *add(OwSchedule *s, int circuit, int number, const char *name) {
    if (s->wire_count >= OW_MAX_WIRES) {
        return NULL;
    }
    OwWireRow *row = &s->wires[s->wire_count++];
    row->circuit = circuit;
    snprintf(row->number, sizeof row->number, "%d.%d", circuit + 1, number);
    snprintf(row->circuit_name, sizeof row->circuit_name, "%s", name);
    return row;
}

/// Fills what follows from section, length and current.
static void rate(OwWireRow *row, const OwPower *power, OwPlace place, double area_m2, double length_m,
                 double current_a, double fuse_a, double conductor_k) {
    const OwWirePlace where = ow_power_place(&power->spec, place);
    row->area_m2 = area_m2;
    row->length_m = length_m;
    row->current_a = current_a;
    row->fuse_a = fuse_a;
    row->conductor_k = conductor_k > 0.0 ? conductor_k : ow_wire_steady_k(area_m2, current_a, &where);
    row->drop_v = current_a * length_m * ow_wire_ohm_m(area_m2, row->conductor_k);
}

static void ends(OwWireRow *row, const char *from, const char *to, const char *colour, const char *reason) {
    snprintf(row->from, sizeof row->from, "%s", from);
    snprintf(row->to, sizeof row->to, "%s", to);
    snprintf(row->colour, sizeof row->colour, "%s", colour);
    snprintf(row->reason, sizeof row->reason, "%s", reason);
}

void ow_power_load_mark(const OwElectricSpec *spec, int circuit, char *text, size_t size) {
    // IEC 81346-2 letters: E heat and light, M motor, K relay, Y valve is not in it any more but the trade
    // keeps it
    static const char letters[OW_LOAD_COUNT] = {
        [OW_LOAD_HEATER] = 'E', [OW_LOAD_GLOW] = 'R',    [OW_LOAD_PUMP] = 'M', [OW_LOAD_VALVE] = 'Y',
        [OW_LOAD_LAMP] = 'E',   [OW_LOAD_STARTER] = 'M', [OW_LOAD_OTHER] = 'R'};
    snprintf(text, size, "%c%d", letters[spec->circuits[circuit].load], circuit + 1);
}

static const char *earth_point(OwEarth earth) {
    return earth == OW_EARTH_BODY ? "body earth 31"
                                  : (earth == OW_EARTH_ENGINE ? "engine earth 31" : "G1:- 31");
}

static void circuit_wires(OwSchedule *s, const OwPower *power, int i) {
    const OwElectricSpec *spec = &power->spec;
    const OwCircuitSpec *c = &spec->circuits[i];
    const OwSizing *z = &power->sizing[i];
    const double fitted = c->has_no_fuse ? 0.0 : c->fuse_a;
    char mark[8], from[48], to[48], load_to[48], stripe[8];
    ow_power_load_mark(spec, i, mark, sizeof mark);
    const char *colour = load_colour(i);
    snprintf(stripe, sizeof stripe, "RD%s", colour);
    int number = 1;
    OwWireRow *row;
    // Load current: board fuse -> (relay | switch) -> (thermostat) -> (cut-out) -> load
    if (c->cutout_k > 0.0) {
        snprintf(load_to, sizeof load_to, "F%dT cut-out 1", i + 1);
    } else {
        snprintf(load_to, sizeof load_to, "%s:+", mark);
    }
    const double tail = c->cutout_k > 0.0 ? fmin(CUTOUT_TAIL_M, 0.5 * c->length_m) : 0.0;
    const double before = c->has_relay ? fmin(RELAY_FEED_M, 0.5 * c->length_m) : 0.0;
    snprintf(from, sizeof from, "F%d out", i + 1);
    if (c->has_relay) {
        snprintf(to, sizeof to, "K%d:30", i + 1);
        if ((row = add(s, i, number++, c->name))) {
            rate(row, power, c->place, c->area_m2, before, z->running_a, fitted, z->conductor_k);
            ends(row, from, to, stripe, z->wire_reason);
        }
        snprintf(from, sizeof from, "K%d:87", i + 1);
    } else if (c->has_switch) {
        const double half = 0.5 * c->length_m;
        snprintf(to, sizeof to, "S%d in", i + 1);
        if ((row = add(s, i, number++, c->name))) {
            rate(row, power, c->place, c->area_m2, half, z->running_a, fitted, z->conductor_k);
            ends(row, from, to, stripe, z->wire_reason);
        }
        snprintf(from, sizeof from, "S%d out", i + 1);
    }
    const double rest =
        c->length_m - before - tail - (!c->has_relay && c->has_switch ? 0.5 * c->length_m : 0.0);
    if ((row = add(s, i, number++, c->name))) {
        rate(row, power, c->place, c->area_m2, rest, z->running_a, fitted, z->conductor_k);
        ends(row, from, load_to, colour, z->wire_reason);
    }
    if (tail > 0.0 && (row = add(s, i, number++, c->name))) {
        char again[48];
        snprintf(from, sizeof from, "F%dT cut-out 2", i + 1);
        snprintf(again, sizeof again, "%s:+", mark);
        rate(row, power, c->place, c->area_m2, tail, z->running_a, fitted, z->conductor_k);
        ends(row, from, again, colour, "heat-resistant tail at the heater");
    }
    snprintf(from, sizeof from, "%s:-", mark);
    if (c->earth_length_m > 0.0 && (row = add(s, i, number++, c->name))) {
        rate(row, power, c->place, c->area_m2, c->earth_length_m, z->running_a, fitted, z->conductor_k);
        ends(row, from, earth_point(c->earth), "BN", "same size as its feed");
        row->is_earth = true;
    }
    if (!c->has_relay) {
        return;
    }
    // Command: line -> (switch, hold button, thermostat) -> coil -> earth
    char through[40] = "";
    char hand[16] = "";
    if (c->has_switch) {
        snprintf(hand, sizeof hand, " S%d", i + 1);
    }
    snprintf(through, sizeof through, "%s%s", hand, c->has_thermostat ? " thermostat" : "");
    snprintf(from, sizeof from, "F0/%s out%s", ow_feed_terminal(c->feed), through);
    snprintf(to, sizeof to, "K%d:86", i + 1);
    if ((row = add(s, i, number++, c->name))) {
        rate(row, power, OW_PLACE_CABIN, control_m2(power), fmax(c->control_length_m, 0.1), COIL_A,
             CONTROL_FUSE_A, 0.0);
        snprintf(stripe, sizeof stripe, "BK%s", colour);
        ends(row, from, to, stripe, "coil only: thinnest that stands handling");
        row->is_control = true;
    }
    if (c->has_hold &&
        (row = add(s, i, number++, c->name))) { // beside the line, so that the key may leave it
        snprintf(from, sizeof from, "F0/30 out S%dH hold", i + 1);
        snprintf(to, sizeof to, "line %s at F0/%s", ow_feed_terminal(c->feed), ow_feed_terminal(c->feed));
        rate(row, power, OW_PLACE_CABIN, control_m2(power), fmax(c->control_length_m, 0.1), COIL_A,
             CONTROL_FUSE_A, 0.0);
        ends(row, from, to, stripe, "coil only: thinnest that stands handling");
        row->is_control = true;
    }
    snprintf(from, sizeof from, "K%d:85", i + 1);
    if ((row = add(s, i, number, c->name))) {
        rate(row, power, OW_PLACE_ENGINE_BAY, control_m2(power), 0.3, COIL_A, CONTROL_FUSE_A, 0.0);
        ends(row, from, "body earth 31", "BN", "coil only: thinnest that stands handling");
        row->is_control = row->is_earth = true;
    }
}

double ow_power_cranked_k(const OwPower *power, double area_m2) {
    const double air = power->spec.place_k[OW_PLACE_ENGINE_BAY], amps = power->spec.crank_a;
    return air + 30.0 * amps * amps * ow_wire_ohm_m(area_m2, air) / (3.45e6 * area_m2);
}

static void fixed_wires(OwSchedule *s, const OwPower *power) {
    const OwElectricSpec *spec = &power->spec;
    char main_reason[sizeof s->wires[0].reason];
    (void)snprintf(main_reason, sizeof main_reason, "%.66s; %.3g A: %.82s", power->main_sizing.wire_reason,
                   spec->main.fuse_a, power->main_sizing.fuse_reason);
    const struct {
        const char *name, *from, *to, *colour;
        const OwCableSpec *cable;
        double amps;
        const char *reason;
    } list[] = {
        {"main feed", "G1:+ 30 by F00", "fuse board 30", "RD", &spec->main, power->main_sizing.running_a,
         main_reason},
        {"charging", "G2:B+", "G1:+ 30", "RD", &spec->charge,
         spec->alternator.is_fitted ? spec->alternator.rated_a : 0.0,
         "its rated current for ever, in its place"},
        {"body earth", "G1:- 31", "body 31", "BK", &spec->body_earth, power->main_sizing.running_a,
         "all loads for ever, in its place"},
        {"engine earth", "G1:- 31", "engine 31", "BK", &spec->engine_earth, spec->crank_a,
         "the vehicle's own, or 50 mm2; half a minute of cranking"},
    };
    for (int i = 0; i < 4; i++) {
        if (i == 1 && !spec->alternator.is_fitted) {
            continue;
        }
        OwWireRow *row = add(s, -1, i + 1, list[i].name);
        if (row) {
            rate(row, power, OW_PLACE_ENGINE_BAY, list[i].cable->area_m2, list[i].cable->length_m,
                 list[i].amps, i == 0 && !spec->main.has_no_fuse ? spec->main.fuse_a : 0.0,
                 i == 3 ? ow_power_cranked_k(power, list[i].cable->area_m2) : 0.0);
            ends(row, list[i].from, list[i].to, list[i].colour, list[i].reason);
            row->is_earth = i > 1;
        }
    }
}

static void warn_circuit(const OwPower *power, OwSchedule *s, const OwScheduleLine *line, OwFaults *faults) {
    const int circuit = line->circuit;
    const OwCircuitSpec *c = &power->spec.circuits[line->circuit];
    const OwSizing *z = &power->sizing[line->circuit];
    char message[200];
    if (c->load == OW_LOAD_STARTER) {
        return;
    }
    ow_power_check_volts(power, c, faults);
    if (c->has_hold && c->feed != OW_FEED_GLOW) {
        snprintf(message, sizeof message,
                 "its hold-on button feeds all of line %s from the battery, with the key out too",
                 ow_feed_terminal(c->feed));
        ow_power_say(
            faults, c, message,
            "the glow line, `feed: glow`, or a line of its own; never the line of fuel, start or lamps");
    }
    if (c->has_no_fuse) {
        char remedy[80];
        snprintf(remedy, sizeof remedy, "a %.3g A fuse at the board", c->fuse_a);
        ow_power_say(faults, c, "no fuse: a short burns this wire", remedy);
    } else if (!line->fuse_guards) {
        snprintf(message, sizeof message, "a %.3g A fuse does not open before a wire of %.3g mm2 is harmed",
                 c->fuse_a, c->area_m2 * 1e6);
        ow_power_mend_circuit(
            power, s,
            ow_power_say(faults, c, message,
                         "a smaller fuse or a thicker wire; leave the size out to have it chosen"),
            circuit);
    }
    if (!line->fuse_stands) {
        snprintf(message, sizeof message, "a %.3g A fuse may open on %.3g A falling to %.3g A", c->fuse_a,
                 z->first_a, z->running_a);
        ow_power_mend_circuit(power, s,
                              ow_power_say(faults, c, message, "a larger fuse with the wire that it guards"),
                              circuit);
    }
    if (!line->drop_ok) {
        snprintf(message, sizeof message, "%.2f V are lost on the way, %.2f V are allowed", z->drop_v,
                 power->spec.drop_share * power->spec.system_v);
        ow_power_mend_circuit(
            power, s, ow_power_say(faults, c, message, "a thicker or shorter wire, better joints"), circuit);
    }
    if (!line->heat_ok) {
        char hot[32], stands[32];
        snprintf(message, sizeof message, "the wire would run at %s, its insulation stands %s",
                 ow_power_degrees(power, z->conductor_k, hot, sizeof hot),
                 ow_power_degrees(power, power->spec.insulation_k, stands, sizeof stands));
        ow_power_mend_circuit(power, s, ow_power_say(faults, c, message, "a thicker wire or a cooler way"),
                              circuit);
    }
    if (!line->relay_ok) {
        snprintf(message, sizeof message, "a relay of %.3g A is too small for %.3g A (first %.3g A)",
                 c->relay_a, z->running_a, z->first_a);
        ow_power_mend_contact(
            power, s,
            ow_power_say(faults, c, message, "a larger relay, or two relays on two halves of the load"),
            circuit);
    }
    if (!line->switch_ok) {
        snprintf(message, sizeof message, "the switch or key contact carries %.3g A and stands %.3g A",
                 z->running_a, c->switch_a > 0.0 ? c->switch_a : 10.0);
        ow_power_say(faults, c, message, "a relay for this load");
    }
    if (!line->has_independent_protection) {
        ow_power_say(
            faults, c,
            c->has_thermostat ? "this heater has no protection that does not depend on its thermostat"
                              : "this heater has neither thermostat nor cut-out",
            "a one-shot thermal cut-out in its load wire, set above the thermostat and below the weakest "
            "part");
    }
}

static OwScheduleLine line_of(const OwPower *power, int i, const OwPowerResult *now) {
    const OwCircuitSpec *c = &power->spec.circuits[i];
    const OwSizing *z = &power->sizing[i];
    OwScheduleLine line = {
        .circuit = i, .first_a = z->first_a, .running_a = z->running_a, .drop_v = z->drop_v};
    line.drop_share = z->drop_v / power->spec.system_v;
    line.load_v = now->load_v[i];
    line.fuse_a = c->load == OW_LOAD_STARTER || c->has_no_fuse ? 0.0 : c->fuse_a;
    line.relay_a =
        c->has_relay
            ? (c->relay_a > 0.0 ? c->relay_a : ow_power_relay_rating(z->running_a, z->first_a, c->inrush_s))
            : 0.0;
    line.short_far_a = z->short_far_a;
    line.opens_far_s =
        line.fuse_a > 0.0 ? ow_fuse_most_s(ow_fuse_type(c->fuse_a), c->fuse_a, z->short_far_a) : INFINITY;
    line.fuse_guards = z->guards;
    line.fuse_stands = z->stands;
    line.drop_ok = z->drop_ok;
    line.volts_ok = ow_power_volts_fit(&power->spec, c);
    line.heat_ok = z->heat_ok;
    line.relay_ok =
        !c->has_relay || ow_power_relay_stands(line.relay_a, z->running_a, z->first_a, c->inrush_s);
    line.switch_ok = c->has_relay || c->feed == OW_FEED_BATTERY || c->load == OW_LOAD_STARTER ||
                     z->running_a <= (c->switch_a > 0.0 ? c->switch_a : 10.0);
    line.has_independent_protection = ow_power_has_independent_protection(c);
    snprintf(line.fuse_reason, sizeof line.fuse_reason, "%s", z->fuse_reason);
    if (c->has_no_fuse) {
        snprintf(line.fuse_reason, sizeof line.fuse_reason, "none on this vehicle, fit %.3g A: %.100s",
                 c->fuse_a, z->fuse_reason);
    }
    return line;
}

static void count_part(OwSchedule *s, double quantity, const char *unit, const char *item) {
    for (int i = 0; i < s->part_count; i++) {
        if (strcmp(s->parts[i].item, item) == 0) {
            s->parts[i].quantity += quantity;
            return;
        }
    }
    if (s->part_count < (int)(sizeof s->parts / sizeof s->parts[0])) {
        OwPartCount *p = &s->parts[s->part_count++];
        snprintf(p->item, sizeof p->item, "%s", item);
        snprintf(p->unit, sizeof p->unit, "%s", unit);
        p->quantity = quantity;
    }
}

static void count_parts(OwSchedule *s, const OwPower *power) {
    char item[96], size[24];
    for (int i = 0; i < s->wire_count; i++) {
        const OwWireRow *w = &s->wires[i];
        ow_wire_text(w->area_m2, power->spec.has_us_sizes, size, sizeof size);
        snprintf(item, sizeof item, "wire %s %s", size, w->colour);
        count_part(s, w->length_m * 1.1, "m", item); // a tenth for bends and ends
        snprintf(item, sizeof item, "terminal for %s", size);
        count_part(s, 2.0, "", item);
    }
    for (int i = 0; i < s->line_count; i++) {
        const OwScheduleLine *l = &s->lines[i];
        const OwCircuitSpec *c = &power->spec.circuits[l->circuit];
        const double buys = c->load == OW_LOAD_STARTER ? 0.0 : c->fuse_a; // also where there is none yet
        if (buys > 0.0) {
            snprintf(item, sizeof item, "fuse %.3g A, %s", buys, ow_fuse_type_name(ow_fuse_type(buys)));
            count_part(s, 1.0, "", item);
        }
        if (c->has_relay) {
            snprintf(item, sizeof item, "relay %.0f V, contact %.3g A", power->spec.system_v, l->relay_a);
            count_part(s, 1.0, "", item);
        }
        if (c->has_hold) {
            count_part(s, 1.0, "", "hold-on button or timer");
        }
        if (c->has_switch) {
            count_part(s, 1.0, "", "hand switch");
        }
        if (c->cutout_k > 0.0) {
            char opens[32];
            snprintf(item, sizeof item, "one-shot thermal cut-out %s",
                     ow_power_degrees(power, c->cutout_k, opens, sizeof opens));
            count_part(s, 1.0, "", item);
        }
    }
    snprintf(item, sizeof item, "main fuse %.3g A, %s", power->spec.main.fuse_a,
             ow_fuse_type_name(ow_power_main_fuse(&power->spec)));
    count_part(s, 1.0, "", item);
    bool has_coil[OW_FEED_COUNT] = {
        false}; // one fuse for the coils of each line, and one for what a hold button feeds
    for (int i = 0; i < power->spec.circuit_count; i++) {
        const OwCircuitSpec *c = &power->spec.circuits[i];
        has_coil[c->feed] = has_coil[c->feed] || c->has_relay;
        has_coil[OW_FEED_BATTERY] = has_coil[OW_FEED_BATTERY] || (c->has_relay && c->has_hold);
    }
    snprintf(item, sizeof item, "control fuse %.3g A, %s", CONTROL_FUSE_A, ow_fuse_type_name(OW_FUSE_BLADE));
    for (int f = 0; f < OW_FEED_COUNT; f++) {
        if (has_coil[f]) {
            count_part(s, 1.0, "", item);
        }
    }
}

static void solve_state(const OwPower *power, double soak_k, bool running, OwPowerResult *result) {
    OwPowerWork work = {0};
    OwPowerInput in = ow_power_input(power, soak_k);
    in.engine_rad_s = running ? ow_power_idle(&power->spec) : 0.0;
    for (int i = 0; i < power->spec.circuit_count; i++) {
        const OwCircuitSpec *c = &power->spec.circuits[i];
        in.is_on[i] = running ? ow_power_is_running(c) || c->has_hold : ow_power_is_preheat(c);
    }
    ow_power_volts(power, &in, &work, result);
}

static void balance(OwSchedule *s, const OwPower *power, double soak_k, OwFaults *faults) {
    OwPowerResult pre = {0}, idle = {0};
    solve_state(power, soak_k, false, &pre);
    solve_state(power, soak_k, true, &idle);
    s->preheat_a = pre.battery_a;
    s->preheat_c_min = 60.0 * pre.battery_a;
    s->idle_rad_s = ow_power_idle(&power->spec);
    s->idle_limit_a = ow_power_alternator_limit(&power->alternator, ow_power_idle(&power->spec));
    s->idle_balance_a = -idle.battery_a;
    for (int i = 0; i < power->spec.circuit_count; i++) {
        s->idle_load_a += idle.load_a[i];
    }
    const OwBatterySpec *b = &power->spec.battery;
    const double k = b->temperature_k > 0.0 ? b->temperature_k : soak_k,
                 lost = PREHEAT_MINUTES * s->preheat_c_min;
    s->crank_v_now = ow_power_crank_v(power, b->charge, k);
    s->crank_v_after = ow_power_crank_v(power, b->charge - lost / power->capacity_c, k);
    OwPower *twice = malloc(sizeof *twice);
    if (twice) {
        *twice = *power;
        twice->spec.battery.count++;
        s->parallel_crank_v_after =
            ow_power_crank_v(twice, b->charge - lost / ow_battery_capacity(&twice->spec.battery), k);
        free(twice);
    }
    char message[200];
    if (s->idle_balance_a < 0.0 && power->spec.alternator.is_fitted) {
        snprintf(message, sizeof message,
                 "at %.0f 1/min with everything on the battery gives %.0f A beside the alternator's %.0f A",
                 ow_power_idle(&power->spec) / RPM, -s->idle_balance_a, s->idle_load_a + s->idle_balance_a);
        ow_power_say(faults, NULL, message, "faster idle, less on at a time, or a larger alternator");
    }
    if (s->crank_v_after < power->spec.crank_minimum_v) {
        snprintf(message, sizeof message,
                 "after ten minutes of pre-heat the battery falls to %.1f V while cranking, %.1f V wanted",
                 s->crank_v_after, power->spec.crank_minimum_v);
        char remedy[160];
        snprintf(remedy, sizeof remedy, "a shorter pre-heat, or a second equal battery in parallel (%.1f V)",
                 s->parallel_crank_v_after);
        ow_power_mend_battery(power, s, ow_power_say(faults, NULL, message, remedy));
    }
}

OwStatus ow_power_schedule(const OwPower *power, double soak_k, OwSchedule **out, OwFaults *faults) {
    *out = NULL;
    if (!(soak_k > 200.0 && soak_k < 350.0)) {
        return OW_ERROR_RANGE;
    }
    OwSchedule *s = calloc(1, sizeof *s);
    if (!s) {
        return OW_ERROR_MEMORY;
    }
    OwPowerResult now = {0};
    solve_state(power, soak_k, false, &now);
    fixed_wires(s, power);
    for (int i = 0; i < power->spec.circuit_count; i++) {
        if (power->spec.circuits[i].load == OW_LOAD_STARTER) {
            OwWireRow *row = add(s, i, 1, power->spec.circuits[i].name);
            if (row) {
                rate(row, power, OW_PLACE_ENGINE_BAY, power->spec.starter.area_m2,
                     power->spec.starter.length_m, power->spec.crank_a, 0.0,
                     ow_power_cranked_k(power, power->spec.starter.area_m2));
                ends(row, "G1:+ 30", "M starter:30", "RD", power->sizing[i].wire_reason);
            }
        } else {
            circuit_wires(s, power, i);
        }
        s->lines[s->line_count] = line_of(power, i, &now);
        warn_circuit(power, s, &s->lines[s->line_count], faults);
        s->line_count++;
    }
    double hardest = 0.0;
    for (int i = 0; i < power->spec.circuit_count; i++) {
        hardest = fmax(hardest, power->sizing[i].short_a);
    }
    if (hardest > 1000.0) {
        char message[200];
        snprintf(message, sizeof message,
                 "with the battery warm and full a short beside the board could reach %.0f A; ISO 8820-3 "
                 "asks 1000 A of a fuse",
                 hardest);
        ow_power_say(
            faults, NULL, message,
            "fuses and holders whose maker states a breaking capacity above that, at the battery and on the "
            "board");
    }
    s->cables_ok = power->main_sizing.guards;
    if (power->spec.main.has_no_fuse) {
        char remedy[120];
        snprintf(remedy, sizeof remedy, "a %.3g A fuse, %s, within a hand's breadth of the battery",
                 power->spec.main.fuse_a, ow_fuse_type_name(ow_power_main_fuse(&power->spec)));
        ow_power_say(faults, NULL, "the main cable has no fuse: a short on it burns the vehicle", remedy);
    } else if (!power->main_sizing.guards) {
        ow_power_mend_main(power, s,
                           ow_power_say(faults, NULL, "the main fuse does not guard the main cable",
                                        "a thicker main cable or a smaller main fuse"));
    }
    ow_power_check_cables(power, s, faults);
    ow_power_check_weak(power, faults);
    count_parts(s, power);
    balance(s, power, soak_k, faults);
    *out = s;
    return OW_OK;
}
