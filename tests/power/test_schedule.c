// SPDX-License-Identifier: GPL-3.0-or-later
// The schedule: every chosen wire and fuse put to the tests it was chosen by, and the warnings on given ones;
// faults; the drawing.
#include "near.h"

#include <stdlib.h>
#include <string.h>

#include "demo.h"
#include "power/power.h"
#include "power/schedule.h"

#define C(t) ((t) + OW_ZERO_CELSIUS_K)

static OwPower *power_of(const OwElectricSpec *spec) {
    OwPower *power;
    assert_int_equal(ow_power_create_from(spec, &power, NULL), OW_OK);
    return power;
}

static OwSchedule *schedule_of(const OwPower *power, OwFaults *faults) {
    OwSchedule *s;
    assert_int_equal(ow_power_schedule(power, C(-5), &s, faults), OW_OK);
    return s;
}

static bool warns(const OwFaults *faults, const char *part, const char *message) {
    for (size_t i = 0; i < faults->count; i++) {
        if (strcmp(faults->items[i].part, part) == 0 && strstr(faults->items[i].message, message)) {
            return true;
        }
    }
    return false;
}

/// A wire under a current by small steps with the loss of a steady wire at each temperature, not the solver's
/// straight-line loss.
static double stepped_harm_s(double area_m2, double current_a, double start_k, double limit_k,
                             const OwWirePlace *place, double until_s) {
    double t = start_k, s = 0.0;
    const double copper = 1.02 * 17.241e-9 / ow_wire_ohm_m(area_m2, 293.15);
    while (t < limit_k && s < until_s) {
        const double amps = t > place->air_k + 0.5 ? ow_wire_ampacity(area_m2, t, place) : 0.0;
        const double watts = (current_a * current_a - amps * amps) * ow_wire_ohm_m(area_m2, t);
        const double rate = watts / (3.45e6 * copper);
        if (rate <= 1e-6) {
            return INFINITY;
        }
        const double dt = fmin(1.0 / rate, until_s / 50.0);
        t += rate * dt;
        s += dt;
    }
    return t >= limit_k ? s : INFINITY;
}

// Sixty random circuits: the chosen size passes drop, heat and fuse by sums made here, and the next thinner
// one fails one of them.
static void chosen_sizes_hold(void **state) {
    (void)state;
    uint64_t seed = 7;
    for (int trial = 0; trial < 60; trial++) {
        OwElectricSpec spec;
        ow_electric_default(trial % 3 == 2 ? 24.0 : 12.0, &spec);
        OwCircuitSpec *c = demo_add(&spec, trial % 4 == 3 ? OW_LOAD_PUMP : OW_LOAD_HEATER, "load");
        seed = seed * 6364136223846793005ull + 1442695040888963407ull;
        c->rated_a = 1.0 + (double)(seed >> 40) / (double)(1 << 24) * 30.0;
        seed = seed * 6364136223846793005ull + 1442695040888963407ull;
        c->length_m = 0.5 + (double)(seed >> 40) / (double)(1 << 24) * 9.0;
        c->place = (OwPlace)(trial % 4);
        spec.has_us_sizes = trial % 2;
        OwPower *power = power_of(&spec);
        OwSchedule *s = schedule_of(power, NULL);
        const OwElectricSpec *sized = ow_power_spec(power);
        const double area = sized->circuits[0].area_m2, fuse = sized->circuits[0].fuse_a;
        const OwScheduleLine *line = &s->lines[0];
        assert_true(area >= 0.75e-6 && fuse >= line->running_a);
        const OwWirePlace place = {spec.place_k[c->place], spec.insulation_k, spec.bundle};
        const double steady = ow_wire_steady_k(area, line->running_a, &place);
        assert_true(steady <= spec.insulation_k + 0.01);
        const double drop =
            c->rated_a * ((c->length_m + c->earth_length_m) * ow_wire_ohm_m(area, steady) + c->joint_ohm);
        assert_true(drop <= spec.drop_share * spec.system_v + 1e-9);
        assert_near(line->drop_v, drop, 1e-6);
        assert_true(line->fuse_guards && line->fuse_stands && line->opens_far_s <= 5.0);
        // The fuse opens before harm at currents between its test points too, by the stepped wire.
        for (double m = 1.4; m < 20.0; m *= 1.37) {
            const double opens = ow_fuse_most_s(ow_fuse_type(fuse), fuse, m * fuse);
            assert_true(stepped_harm_s(area, m * fuse, steady, ow_wire_overload_k(spec.insulation_k), &place,
                                       2.0 * opens) > opens);
        }
        // Thinner does not do: by drop, heat, fuse, far end or handling.
        double sizes[32];
        const int count = ow_wire_sizes(spec.has_us_sizes, sizes, 32);
        for (int i = 1; i < count; i++) {
            if (sizes[i] == area && sizes[i - 1] >= 0.75e-6) {
                const double thin = sizes[i - 1], hot = ow_wire_steady_k(thin, line->running_a, &place);
                const double thin_drop =
                    c->rated_a *
                    ((c->length_m + c->earth_length_m) * ow_wire_ohm_m(thin, hot) + c->joint_ohm);
                const bool passes =
                    hot <= spec.insulation_k && thin_drop <= spec.drop_share * spec.system_v &&
                    ow_fuse_guards(ow_fuse_type(fuse), fuse, thin, line->running_a, 3000.0, &place, NULL);
                assert_true(!passes || strstr(s->wires[4].reason, "short at the end") != NULL);
            }
        }
        free(s);
        ow_power_destroy(&power);
    }
}

static void longer_is_never_thinner(void **state) {
    (void)state;
    double before = 0.0;
    for (double metres = 1.0; metres < 12.0; metres += 0.5) {
        OwElectricSpec spec;
        ow_electric_default(12.0, &spec);
        demo_add(&spec, OW_LOAD_HEATER, "load")->length_m = metres;
        OwPower *power = power_of(&spec);
        const double area = ow_power_spec(power)->circuits[0].area_m2;
        assert_true(area >= before);
        before = area;
        ow_power_destroy(&power);
    }
    assert_true(before >= 6e-6);
}

static void schedule_is_whole(void **state) {
    (void)state;
    const OwElectricSpec spec = demo_spec();
    OwPower *power = power_of(&spec);
    OwFaults faults = {0};
    OwSchedule *s = schedule_of(power, &faults);
    static const char *const letters[] = {"BK", "BN", "RD", "OG", "YE", "GN", "BU",
                                          "VT", "GY", "WH", "PK", "GD", "TQ", "SR"};
    double metres = 0.0, listed = 0.0, terminals = 0.0, fuses = 0.0;
    for (int i = 0; i < s->wire_count; i++) {
        const OwWireRow *w = &s->wires[i];
        for (int k = 0; k < i; k++) {
            assert_true(strcmp(w->number, s->wires[k].number) != 0);
        }
        for (size_t at = 0; at < strlen(w->colour); at += 2) { // IEC 60757 letters only
            bool known = false;
            for (int k = 0; k < 14; k++) {
                known = known || strncmp(w->colour + at, letters[k], 2) == 0;
            }
            assert_true(known);
        }
        assert_true(w->length_m > 0.0 && w->area_m2 > 0.0 && w->reason[0] && w->from[0] && w->to[0]);
        assert_true(w->conductor_k <= spec.insulation_k + 0.5);
        metres += w->length_m;
    }
    for (int i = 0; i < s->part_count; i++) {
        const OwPartCount *p = &s->parts[i];
        listed += strcmp(p->unit, "m") == 0 ? p->quantity : 0.0;
        terminals += strncmp(p->item, "terminal", 8) == 0 ? p->quantity : 0.0;
        fuses += strncmp(p->item, "fuse", 4) == 0 ? p->quantity : 0.0;
    }
    assert_near(listed, 1.1 * metres, 1e-6);
    assert_near(terminals, 2.0 * s->wire_count, 0.0);
    assert_near(fuses, DEMO_COUNT - 1, 0.0); // all but the starter
    // A load current runs through fuse, relay 30 and 87, load, earth 31; its coil from 86 to 85 (DIN 72552).
    bool has_30 = false, has_87 = false, has_86 = false, has_85 = false, has_31 = false;
    for (int i = 0; i < s->wire_count; i++) {
        const OwWireRow *w = &s->wires[i];
        if (w->circuit == DEMO_CHAMBER) {
            has_30 = has_30 || strcmp(w->to, "K2:30") == 0;
            has_87 = has_87 || strcmp(w->from, "K2:87") == 0;
            has_86 = has_86 || strcmp(w->to, "K2:86") == 0;
            has_85 = has_85 || strcmp(w->from, "K2:85") == 0;
            has_31 = has_31 || strstr(w->to, "31") != NULL;
        }
    }
    assert_true(has_30 && has_87 && has_86 && has_85 && has_31);
    // The rule: the filter heater has a thermostat and nothing else.
    assert_true(warns(&faults, "filter heater", "does not depend on its thermostat"));
    assert_false(warns(&faults, "boost chamber", "does not depend"));
    assert_false(s->lines[DEMO_FILTER].has_independent_protection);
    // At idle with everything on, the demo's alternator of 25 A at 1500 1/min cannot keep up.
    assert_true(s->idle_balance_a < 0.0 && s->idle_limit_a > 25.0 && s->idle_limit_a < 65.0);
    assert_true(warns(&faults, "electrics", "at 800 1/min"));
    assert_true(s->crank_v_after < s->crank_v_now && s->parallel_crank_v_after > s->crank_v_after);
    assert_int_equal(faults.errors, 0);
    for (size_t i = 0; i < faults.count; i++) {
        assert_true(strcmp(faults.items[i].part, "electrics") == 0 || faults.items[i].line > 10);
    }
    ow_faults_clear(&faults);
    free(s);
    ow_power_destroy(&power);
}

/// Writes the noted values into the spec, as the rig file would.
static void mend_spec(OwElectricSpec *spec, const OwSchedule *s) {
    for (int i = 0; i < s->mend_count; i++) {
        const OwWireMend *m = &s->mends[i];
        OwCircuitSpec *c = m->entry >= 0 ? &spec->circuits[m->entry] : NULL;
        if (strcmp(m->key, "wire") == 0) {
            c->area_m2 = m->value;
        } else if (strcmp(m->key, "fuse") == 0) {
            c->fuse_a = m->value;
        } else if (strcmp(m->key, "relay rating") == 0) {
            c->relay_a = m->value;
        } else if (strcmp(m->key, "cables/main/size") == 0) {
            spec->main.area_m2 = m->value;
        } else {
            assert_string_equal(m->key, "starter battery/in parallel");
            spec->battery.count = (int)m->value;
        }
    }
}

// What the mends say, written where they say, makes each named finding go away.
static void mends_mend(void **state) {
    (void)state;
    static const char *const named[] = {"does not open before", "may open", "V are lost",
                                        "would run at",         "relay of", "does not guard the main cable",
                                        "minutes of pre-heat"};
    OwElectricSpec spec = demo_spec();
    OwCircuitSpec *c = &spec.circuits[DEMO_CHAMBER];
    c->area_m2 = 0.75e-6;
    c->fuse_a = 30.0;
    c->relay_a = 10.0;
    spec.circuits[DEMO_FILTER].fuse_a = 7.5; // too small for its load
    spec.circuits[DEMO_PUMP].area_m2 = 0.35e-6;
    spec.main.area_m2 = 4e-6; // too thin for its fuse
    spec.main.fuse_a = 150.0;
    OwPower *power = power_of(&spec);
    OwFaults faults = {0};
    OwSchedule *s = schedule_of(power, NULL);
    spec.crank_minimum_v = 0.5 * (s->crank_v_after + s->parallel_crank_v_after); // one battery is too few
    free(s);
    ow_power_destroy(&power);
    power = power_of(&spec);
    s = schedule_of(power, &faults);
    for (size_t k = 0; k < sizeof named / sizeof named[0]; k++) {
        size_t at = 0;
        while (at < faults.count && strstr(faults.items[at].message, named[k]) == NULL) {
            at++;
        }
        int mends = 0;
        for (int i = 0; at < faults.count && i < s->mend_count; i++) {
            mends += s->mends[i].fault == at;
        }
        if (mends == 0) {
            print_error("\"%s\": %s of %s\n", named[k], at < faults.count ? "no mend" : "not found",
                        at < faults.count ? faults.items[at].part : "");
        }
        assert_true(mends > 0);
    }
    mend_spec(&spec, s);
    free(s);
    ow_power_destroy(&power);
    ow_faults_clear(&faults);
    power = power_of(&spec);
    s = schedule_of(power, &faults);
    for (size_t i = 0; i < faults.count; i++) {
        for (size_t k = 0; k < sizeof named / sizeof named[0]; k++) {
            if (strstr(faults.items[i].message, named[k]) != NULL) {
                print_error("still: %s: %s\n", faults.items[i].part, faults.items[i].message);
                fail();
            }
        }
    }
    assert_int_equal(s->mend_count, 0);
    ow_faults_clear(&faults);
    free(s);
    ow_power_destroy(&power);
}

// What is given is kept, checked and complained of with its place.
static void given_sizes_are_judged(void **state) {
    (void)state;
    OwElectricSpec spec = demo_spec();
    OwCircuitSpec *c = &spec.circuits[DEMO_CHAMBER];
    c->area_m2 = 0.75e-6;
    c->fuse_a = 30.0;
    c->relay_a = 10.0;
    spec.circuits[DEMO_FILTER].fuse_a = 7.5;
    spec.circuits[DEMO_LAMPS].switch_a = 5.0;
    OwPower *power = power_of(&spec);
    assert_near(ow_power_spec(power)->circuits[DEMO_CHAMBER].area_m2, 0.75e-6, 0.0);
    assert_near(ow_power_spec(power)->circuits[DEMO_FILTER].fuse_a, 7.5, 0.0);
    OwFaults faults = {0};
    OwSchedule *s = schedule_of(power, &faults);
    assert_true(warns(&faults, "boost chamber", "does not open before"));
    assert_true(warns(&faults, "boost chamber", "V are lost"));
    assert_true(warns(&faults, "boost chamber", "degC"));
    assert_true(warns(&faults, "boost chamber", "relay of 10 A"));
    assert_true(warns(&faults, "filter heater", "may open"));
    assert_true(warns(&faults, "head lamps", "switch or key contact"));
    for (size_t i = 0; i < faults.count; i++) {
        if (strcmp(faults.items[i].part, "boost chamber") == 0) {
            assert_int_equal(faults.items[i].line, c->line);
        }
    }
    free(s);
    ow_faults_clear(&faults);
    ow_power_destroy(&power);
}

// A relay makes a lamp's first current, gone in a blink, with three times what it carries; a glow plug's,
// which lasts seconds, counts in full.
static void relay_makes_a_blink(void **state) {
    (void)state;
    assert_near(ow_power_relay_rating(12.0, 120.0, 0.03), 40.0, 0.0);
    assert_near(ow_power_relay_rating(12.0, 121.0, 0.03), 60.0, 0.0);
    assert_near(ow_power_relay_rating(12.0, 120.0, 5.0), 150.0, 0.0);
    assert_near(ow_power_relay_rating(33.0, 40.0, 0.03), 60.0, 0.0); // four fifths of 40 A are 32 A
    assert_near(ow_power_relay_rating(12.0, 601.0, 0.03), 0.0, 0.0);
    assert_true(ow_power_relay_stands(40.0, 32.0, 120.0, 0.03));
    assert_false(ow_power_relay_stands(40.0, 32.0, 41.0, 0.3));
}

// An old tractor with one small heater behind a big battery: a main fuse of the usual bolt-down ratings from
// 30 A and a cable to match, not 125 A and 35 mm2; and no current the battery can push harms that cable
// first.
static void a_small_feed_stays_small(void **state) {
    (void)state;
    for (int i = 0; i < 8; i++) {
        OwElectricSpec spec;
        ow_electric_default(i % 2 == 0 ? 12.0 : 24.0, &spec);
        spec.battery.cold_crank_a = 800.0;
        OwCircuitSpec *c = demo_add(&spec, OW_LOAD_HEATER, "fuel heater");
        c->rated_a = 3.0 + 3.0 * i;
        OwPower *power = power_of(&spec);
        OwSchedule *s = schedule_of(power, NULL);
        const OwElectricSpec *sized = ow_power_spec(power);
        const OwCableSpec *main = &sized->main;
        const OwFuseType type = ow_power_main_fuse(sized);
        assert_true(type == OW_FUSE_STRIP && main->fuse_a >= 30.0 && main->fuse_a <= 100.0);
        assert_true(main->fuse_a >= 2.0 * sized->circuits[0].fuse_a || i == 0);
        assert_true(sized->circuits[0].fuse_a > 15.0 || (main->fuse_a <= 40.0 && main->area_m2 <= 10e-6));
        assert_true(strstr(power->main_sizing.fuse_reason, "bolt-down") != NULL);
        OwSchedule *rows = schedule_of(power, NULL); // the reason is told whole
        assert_non_null(strstr(rows->wires[0].reason, power->main_sizing.fuse_reason));
        free(rows);
        const OwWirePlace place = ow_power_place(sized, sized->battery.place);
        const double start = ow_wire_steady_k(main->area_m2, power->main_sizing.running_a, &place);
        const double limit = ow_wire_overload_k(sized->insulation_k);
        assert_true(power->main_sizing.guards && power->main_sizing.is_found);
        for (double amps = 1.36 * main->fuse_a; amps < power->main_sizing.short_a; amps *= 1.13) {
            const double opens = ow_fuse_most_s(type, main->fuse_a, amps);
            assert_true(stepped_harm_s(main->area_m2, amps, start, limit, &place, 2.0 * opens) > opens);
        }
        OwElectricFault f[160];
        const int count = ow_power_faults(power, C(-5), f, 160);
        for (int k = 0; k < count; k++) {
            assert_true(f[k].kind > OW_ELECTRIC_SHORT_MAIN || f[k].harm != OW_HARM_BURNS);
        }
        free(s);
        ow_power_destroy(&power);
    }
    // A main fuse as given keeps its rating and is named as what must stand there.
    OwElectricSpec spec = demo_spec();
    spec.main.fuse_a = 80.0;
    assert_int_equal(ow_power_main_fuse(&spec), OW_FUSE_STRIP);
    spec.battery.cold_crank_a = 120.0; // cannot push 1000 A
    assert_int_equal(ow_power_main_fuse(&spec), OW_FUSE_MAXI);
}

// The balance at idle is that of the rig's own idle: a slow tractor engine charges less.
static void idle_is_the_engines_own(void **state) {
    (void)state;
    OwElectricSpec spec = demo_spec();
    double limit[3];
    for (int i = 0; i < 3; i++) {
        spec.idle_rad_s = (double[]){0.0, 800.0, 650.0}[i] * 3.14159265358979323846 / 30.0;
        OwPower *power = power_of(&spec);
        OwFaults faults = {0};
        OwSchedule *s = schedule_of(power, &faults);
        limit[i] = s->idle_limit_a;
        assert_near(s->idle_limit_a, ow_alternator_limit(&spec.alternator, s->idle_rad_s), 1e-9);
        assert_true(warns(&faults, "electrics", i == 2 ? "at 650 1/min" : "at 800 1/min"));
        ow_faults_clear(&faults);
        free(s);
        ow_power_destroy(&power);
    }
    assert_near(limit[0], limit[1], 1e-9);
    assert_true(limit[2] < 0.9 * limit[1]);
    spec.idle_rad_s = NAN;
    OwPower *power = NULL;
    assert_int_equal(ow_power_create_from(&spec, &power, NULL), OW_ERROR_VALUE);
}

static const OwElectricFault *find(const OwElectricFault *list, int count, OwFaultKind kind, int circuit) {
    for (int i = 0; i < count; i++) {
        if (list[i].kind == kind && list[i].circuit == circuit) {
            return &list[i];
        }
    }
    fail_msg("no such fault");
    return NULL;
}

static void faults_are_worked_out(void **state) {
    (void)state;
    OwElectricSpec spec = demo_spec();
    OwPower *power = power_of(&spec);
    OwElectricFault f[160];
    const int count = ow_power_faults(power, C(-5), f, 160);
    assert_true(count > 30 && count <= 160);
    for (int i = 0; i < count; i++) {
        assert_true(f[i].text[0] && f[i].current_a >= 0.0 && isfinite(f[i].current_a));
        const bool is_short = f[i].kind <= OW_ELECTRIC_SHORT_BOARD;
        // Chosen sizes: every short along every run opens its fuse, well before the wire is harmed.
        assert_true(!is_short ||
                    (f[i].harm == OW_HARM_OPENS && f[i].opens_s < f[i].wire_harm_s && f[i].opens_s < 5.0));
    }
    // The nearer the short, the harder.
    assert_true(find(f, count, OW_ELECTRIC_SHORT_BOARD, DEMO_PUMP)->current_a >
                find(f, count, OW_ELECTRIC_SHORT_MIDDLE, DEMO_PUMP)->current_a);
    assert_true(find(f, count, OW_ELECTRIC_SHORT_MIDDLE, DEMO_PUMP)->current_a >
                find(f, count, OW_ELECTRIC_SHORT_LOAD, DEMO_PUMP)->current_a);
    assert_int_equal(find(f, count, OW_ELECTRIC_STUCK_THERMOSTAT, DEMO_CHAMBER)->harm, OW_HARM_OPENS);
    assert_int_equal(find(f, count, OW_ELECTRIC_STUCK_THERMOSTAT, DEMO_FILTER)->harm, OW_HARM_BURNS);
    assert_int_equal(find(f, count, OW_ELECTRIC_BROKEN_EARTH, DEMO_PUMP)->harm, OW_HARM_STRANDS);
    assert_near(find(f, count, OW_ELECTRIC_BROKEN_EARTH, DEMO_PUMP)->current_a, 0.0, 1e-6);
    // Hours of a stuck relay: charge above the least over the current, which sags a little; the
    // constant-current estimate is near.
    const OwElectricFault *stuck = find(f, count, OW_ELECTRIC_STUCK_RELAY, DEMO_FILTER);
    const double coulomb =
        (spec.battery.charge - spec.battery.minimum_charge) * ow_battery_capacity(&spec.battery);
    assert_near(stuck->drain_s / (coulomb / stuck->current_a), 1.0, 0.05);
    ow_power_destroy(&power);
    // A timer ends a hold that sticks; a wire thinner than its fuse allows burns.
    spec.circuits[DEMO_GLOW].hold_s = 180.0;
    spec.circuits[DEMO_PUMP].fuse_a = 40.0;
    spec.circuits[DEMO_PUMP].area_m2 = 0.5e-6;
    power = power_of(&spec);
    const int again = ow_power_faults(power, C(-5), f, 160);
    assert_int_equal(find(f, again, OW_ELECTRIC_STUCK_HOLD, DEMO_GLOW)->harm, OW_HARM_NONE);
    assert_int_equal(find(f, again, OW_ELECTRIC_SHORT_LOAD, DEMO_PUMP)->harm, OW_HARM_BURNS);
    ow_power_destroy(&power);
}

/// A horizontal or vertical line of the drawing.
typedef struct OwStroke {
    double x0, y0, x1, y1;
} OwStroke;

// The drawing has every device once, escapes its title, and no wire crosses another: a long level line may
// only meet upright ones at their ends.
static void drawing_does_not_cross(void **state) {
    (void)state;
    for (int extra = 0; extra < 24; extra += 6) {
        OwElectricSpec spec = demo_spec();
        for (int i = 0; i < extra; i++) {
            OwCircuitSpec *c =
                demo_add(&spec, i % 2 ? OW_LOAD_HEATER : OW_LOAD_PUMP, "far \xc3\xa4pfel <load>");
            c->feed = (OwFeed)(i % 4);
            c->has_switch = i % 3 == 0;
            c->cutout_k = i % 5 == 0 ? C(120) : 0.0;
            c->has_thermostat = i % 4 == 1;
        }
        OwPower *power = power_of(&spec);
        OwSchedule *s = schedule_of(power, NULL);
        char *svg;
        assert_int_equal(ow_power_schematic(power, s, "Orchard <van> & co", &svg), OW_OK);
        assert_non_null(strstr(svg, "Orchard &lt;van&gt; &amp; co"));
        assert_null(strstr(svg, "<van>"));
        for (int i = 0; i < spec.circuit_count; i++) {
            char fuse[16];
            snprintf(fuse, sizeof fuse, ">F%d<", i + 1);
            const char *first = strstr(svg, fuse);
            assert_int_equal(first != NULL, spec.circuits[i].load != OW_LOAD_STARTER);
            assert_true(!first || !strstr(first + 1, fuse));
        }
        static OwStroke strokes[4000];
        int count = 0;
        for (const char *p = strstr(svg, "<line "); p; p = strstr(p + 1, "<line ")) {
            OwStroke k;
            assert_int_equal(
                sscanf(p, "<line x1=\"%lf\" y1=\"%lf\" x2=\"%lf\" y2=\"%lf\"", &k.x0, &k.y0, &k.x1, &k.y1),
                4);
            assert_true(count < 4000);
            strokes[count++] = k;
        }
        assert_true(count > 50);
        for (int i = 0; i < count; i++) {
            if (fabs(strokes[i].y0 - strokes[i].y1) > 1e-9 || fabs(strokes[i].x1 - strokes[i].x0) < 10.0) {
                continue; // level wires only
            }
            for (int k = 0; k < count; k++) {
                if (fabs(strokes[k].x0 - strokes[k].x1) > 1e-9) {
                    continue;
                }
                const double x = strokes[k].x0, y = strokes[i].y0;
                const double left = fmin(strokes[i].x0, strokes[i].x1),
                             right = fmax(strokes[i].x0, strokes[i].x1);
                const double top = fmin(strokes[k].y0, strokes[k].y1),
                             low = fmax(strokes[k].y0, strokes[k].y1);
                const bool crosses = x > left + 0.1 && x < right - 0.1 && y > top + 0.1 && y < low - 0.1;
                if (crosses) {
                    print_error("level %.1f..%.1f at %.1f crossed at x %.1f from %.1f to %.1f\n", left, right,
                                y, x, top, low);
                    fail();
                }
            }
            assert_true(strokes[i].x0 >= 0.0 && strokes[i].x1 <= 297.0);
        }
        free(svg);
        free(s);
        ow_power_destroy(&power);
    }
}

static double real(uint64_t *s, double low, double high) {
    *s = *s * 6364136223846793005ull + 1442695040888963407ull; // Knuth's MMIX constants
    return low + (high - low) * (double)(*s >> 11) / 9007199254740992.0;
}

// Many descriptions over the whole allowed range and a little beyond: refused with a fault, or all
// that follows is finite.
static void any_description_is_refused_or_finite(void **state) {
    (void)state;
    uint64_t seed = 99;
    int refused = 0, done = 0;
    for (int trial = 0; trial < 240; trial++) {
        OwElectricSpec spec;
        ow_electric_default(6.0 * (1 << (int)real(&seed, 0, 3)), &spec);
        spec.battery.cold_crank_a = exp(real(&seed, log(12), log(4900)));
        spec.battery.capacity_c = exp(real(&seed, log(3700), log(9.9e6)));
        spec.battery.charge = real(&seed, -0.002, 1.0);
        spec.battery.count = 1 + (int)real(&seed, 0, 4);
        spec.alternator.is_fitted = real(&seed, 0, 1) < 0.8;
        spec.alternator.rated_a = exp(real(&seed, log(1.1), log(900)));
        spec.alternator.idle_a = spec.alternator.rated_a * real(&seed, 0, 1.003);
        spec.alternator.droop_v = exp(real(&seed, log(0.011), log(2.9)));
        spec.main.joint_ohm = real(&seed, 0, 0.01);
        spec.main.length_m = exp(real(&seed, log(0.01), log(20)));
        spec.body_earth.joint_ohm = exp(real(&seed, log(1e-5), log(0.9)));
        spec.has_us_sizes = real(&seed, 0, 1) < 0.3;
        const int count = (int)real(&seed, 0, 33);
        for (int i = 0; i < count; i++) {
            OwCircuitSpec *c = demo_add(&spec, (OwLoadKind)(int)real(&seed, 0, OW_LOAD_COUNT), "x");
            c->rated_a = exp(real(&seed, log(0.0011), log(real(&seed, 0, 1) < 0.1 ? 1900 : 60)));
            c->cold_ratio = exp(real(&seed, 0, log(29)));
            c->inrush_s = real(&seed, 0, 1) < 0.2 ? 0.0 : exp(real(&seed, log(1e-3), log(900)));
            c->length_m = exp(real(&seed, log(0.011), log(90)));
            c->earth_length_m = real(&seed, 0, 1) < 0.2 ? 0.0 : real(&seed, 0, 20);
            c->joint_ohm = real(&seed, 0, 1) < 0.2 ? 0.0 : real(&seed, 0, 0.5);
            c->feed = (OwFeed)(int)real(&seed, 0, OW_FEED_COUNT);
            c->earth = (OwEarth)(int)real(&seed, 0, OW_EARTH_COUNT);
            c->place = (OwPlace)(int)real(&seed, 0, OW_PLACE_COUNT);
            c->has_relay = real(&seed, 0, 1) < 0.5;
            c->longest_s = real(&seed, 0, 1) < 0.3 ? real(&seed, 0, 600) : 0.0;
            c->cutout_k = real(&seed, 0, 1) < 0.3 ? C(120) : 0.0;
        }
        OwFaults faults = {0};
        OwPower *power;
        if (ow_power_create_from(&spec, &power, &faults) != OW_OK) {
            assert_true(faults.errors > 0 && faults.items[0].message[0]);
            ow_faults_clear(&faults);
            refused++;
            continue;
        }
        OwSchedule *s = schedule_of(power, &faults);
        for (int i = 0; i < s->wire_count; i++) {
            const OwWireRow *w = &s->wires[i];
            assert_true(isfinite(w->drop_v) && isfinite(w->conductor_k) && w->area_m2 > 0.0 &&
                        w->drop_v >= 0.0);
        }
        for (int i = 0; i < s->line_count; i++) {
            assert_true(isfinite(s->lines[i].load_v) && isfinite(s->lines[i].drop_v));
        }
        assert_true(isfinite(s->idle_balance_a) && isfinite(s->preheat_a) &&
                    isfinite(s->parallel_crank_v_after));
        OwPowerWork work = {0};
        for (int k = 0; k < 20; k++) {
            OwPowerInput in = ow_power_input(power, real(&seed, 240, 320));
            in.battery_charge = real(&seed, 0, 1);
            in.engine_rad_s = real(&seed, 0, 700);
            in.is_cranking = real(&seed, 0, 1) < 0.2;
            for (int i = 0; i < spec.circuit_count; i++) {
                in.is_on[i] = real(&seed, 0, 1) < 0.5;
                in.load_ohm[i] = real(&seed, 0, 1) < 0.5 ? 0.0 : exp(real(&seed, log(0.01), log(1000)));
            }
            OwPowerResult r;
            assert_int_equal(ow_power_volts(power, &in, &work, &r), OW_OK);
            double fed = r.battery_a + r.alternator_a, taken = r.starter_a,
                   most = fabs(r.battery_a) + r.alternator_a;
            for (int i = 0; i < spec.circuit_count; i++) {
                assert_true(isfinite(r.load_v[i]) && isfinite(r.load_a[i]));
                taken += spec.circuits[i].load == OW_LOAD_STARTER ? 0.0 : r.load_a[i];
            }
            // Kirchhoff (several starters are one sum too many: only counted when there is one at most)
            int starters = 0;
            for (int i = 0; i < spec.circuit_count; i++) {
                starters += spec.circuits[i].load == OW_LOAD_STARTER;
            }
            if (starters <= 1 || !in.is_cranking) {
                assert_near(fed, taken, 2e-3 * (1.0 + most));
            }
            assert_true(r.battery_v > 0.0 && r.battery_v < 41.0);
        }
        OwElectricFault list[8];
        assert_true(ow_power_faults(power, C(-5), list, 8) >= 2);
        char *svg;
        assert_int_equal(ow_power_schematic(power, s, "any", &svg), OW_OK);
        free(svg);
        free(s);
        ow_faults_clear(&faults);
        ow_power_destroy(&power);
        done++;
    }
    print_message("%d worked out, %d refused\n", done, refused);
    assert_true(done > 150 && refused > 0);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(relay_makes_a_blink),
        cmocka_unit_test(a_small_feed_stays_small),
        cmocka_unit_test(idle_is_the_engines_own),
        cmocka_unit_test(chosen_sizes_hold),
        cmocka_unit_test(longer_is_never_thinner),
        cmocka_unit_test(schedule_is_whole),
        cmocka_unit_test(mends_mend),
        cmocka_unit_test(given_sizes_are_judged),
        cmocka_unit_test(faults_are_worked_out),
        cmocka_unit_test(drawing_does_not_cross),
        cmocka_unit_test(any_description_is_refused_or_finite),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
