// SPDX-License-Identifier: GPL-3.0-or-later
// Sizing: closed-form optima with stock rounding, targets in words, the front, ratings, determinism,
// impossible targets.
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>

#include <math.h>
#include <string.h>

#include "judge/size_impl.h"
#include "oilwright/compare.h"

#define C(x) ((x) + OW_ZERO_CELSIUS_K)
#define MUST_HOLD(text, part) assert_non_null(strstr(text, part))
static const double pi = 3.14159265358979323846;

static const char suction_rig[] =
    "name: suction\n"
    "oil: rapeseed\n"
    "climate: {ambient: 20 degC, wind: 0 m/s}\n"
    "limits: {start viscosity: 1000 mm2/s, running viscosity: 1000 mm2/s, suction floor: -10 kPa}\n"
    "drive:\n"
    "  wait at most: 1 s\n"
    "  legs:\n"
    "    - {name: idle, for: 30 s}\n"
    "parts:\n"
    "  - tank: tank\n"
    "    pickup height: 0 mm\n"
    "  - hose: supply hose\n"
    "    bore: 6 mm\n"
    "    length: 5 m\n"
    "    minor loss: 0\n"
    "  - injection pump: injection pump\n"
    "    engine conductance: 0 W/K\n"
    "  - hose: return hose\n"
    "    bore: 12 mm\n"
    "    length: 0.1 m\n"
    "  - injectors: injectors\n"
    "lines:\n"
    "  - [tank, supply hose, injection pump, return hose, tank]\n"
    "  - [injectors, return hose]\n";

static const char lumped_rig[] =
    "name: lumped\n"
    "oil: rapeseed\n"
    "climate: {ambient: 10 degC, wind: 0 m/s}\n"
    "limits: {start viscosity: 1000 mm2/s, running viscosity: 1000 mm2/s, ready temperature: 50 degC, "
    "pre-heat share: 100 %, inlet pressure: 1000 kPa}\n"
    "electrics: {key-on voltage: 12 V, wire drop: 0}\n"
    "drive:\n"
    "  wait at most: 10 min\n"
    "  legs:\n"
    "    - {name: idle, for: 30 s}\n"
    "parts:\n"
    "  - tank: tank\n"
    "    pickup height: 0 mm\n"
    "  - electric pump: pump\n"
    "    stall pressure: 1500 kPa\n"
    "    free flow: 10 L/h\n"
    "    half viscosity: 100000 mm2/s\n"
    "    oil volume: 1 mL\n"
    "    metal mass: 0.01 kg\n"
    "    current: 0.01 A\n"
    "  - chamber: pot\n"
    "    metal mass: 1 kg\n"
    "    oil volume: 100 mL\n"
    "    outer area: 1 cm2\n"
    "    inner conductance: 5000 W/K\n"
    "    cells: 1\n"
    "    heaters:\n"
    "      - {name: plug, power: 50 W, cold ratio: 1, heat capacity: 0.1 J/K, conductance: 500 W/K}\n"
    "  - hose: short hose\n"
    "    bore: 4 mm\n"
    "    wall: 0.2 mm\n"
    "    length: 5 mm\n"
    "  - injection pump: injection pump\n"
    "    engine conductance: 0 W/K\n"
    "  - hose: return hose\n"
    "  - injectors: injectors\n"
    "lines:\n"
    "  - [tank, pump, pot, short hose, injection pump, return hose, tank]\n"
    "  - [injectors, return hose]\n";

static const char thin_rig[] = "name: thinning\n"
                               "oil: rapeseed\n"
                               "climate: {ambient: 5 degC, wind: 0 m/s}\n"
                               "limits: {start viscosity: 20 mm2/s}\n"
                               "drive:\n"
                               "  wait at most: 5 s\n"
                               "  legs:\n"
                               "    - {name: idle, for: 30 s}\n"
                               "parts:\n"
                               "  - tank: tank\n"
                               "  - hose: supply hose\n"
                               "    bore: 12 mm\n"
                               "  - injection pump: injection pump\n"
                               "  - hose: return hose\n"
                               "  - injectors: injectors\n"
                               "lines:\n"
                               "  - [tank, supply hose, injection pump, return hose, tank]\n"
                               "  - [injectors, return hose]\n";

static OwUnits *units;

static OwRig *read_text(const char *text) {
    OwRig *rig = NULL;
    OwFaults faults = {0};
    const OwStatus status = ow_rig_read_text(text, strlen(text), "test.yaml", units, &rig, &faults);
    for (size_t i = 0; i < faults.count; i++) {
        print_message("%s; %s\n", faults.items[i].message, faults.items[i].remedy);
    }
    ow_faults_clear(&faults);
    assert_int_equal(status, OW_OK);
    return rig;
}

static OwRig *read_file(const char *name) {
    char path[512];
    OwRig *rig = NULL;
    OwFaults faults = {0};
    snprintf(path, sizeof path, "%s/%s", OW_EXAMPLES, name);
    assert_int_equal(ow_rig_read_file(path, units, &rig, &faults), OW_OK);
    ow_faults_clear(&faults);
    return rig;
}

typedef struct Ask {
    const char *target;
    const char *vary[OW_SIZE_MAX_CHOICES];
    OwSizeBy by;
    int threads;
    bool has_front, is_exhaustive;
} Ask;

static OwSizing *size(const OwRig *rig, Ask ask) {
    OwSizeGoal goals[OW_SIZE_MAX_GOALS];
    OwFaults faults = {0};
    OwSizing *sizing = NULL;
    OwSizeSettings settings = ow_size_default();
    int count = 0, varied = 0;
    assert_int_equal(ow_size_goals_read(ask.target, units, goals, &count, &faults), OW_OK);
    while (varied < OW_SIZE_MAX_CHOICES && ask.vary[varied] != NULL) {
        varied++;
    }
    settings.vary = ask.vary;
    settings.vary_count = varied;
    settings.by = ask.by;
    settings.threads = ask.threads > 0 ? ask.threads : 2;
    settings.has_front = ask.has_front;
    settings.is_exhaustive = ask.is_exhaustive;
    const OwStatus status = ow_size_create(rig, goals, count, &settings, OW_DISPLAY_METRIC, &sizing, &faults);
    for (size_t i = 0; i < faults.count; i++) {
        print_message("%s: %s; %s\n", faults.items[i].part, faults.items[i].message, faults.items[i].remedy);
    }
    ow_faults_clear(&faults);
    assert_int_equal(status, OW_OK);
    assert_non_null(sizing);
    assert_true(sizing->headline[0] != '\0');
    return sizing;
}

/// Smallest listed value at or above `need`.
static double rounded_up(OwStockKind kind, double need) {
    const OwStock *stock = ow_stock(kind);
    for (int i = 0; i < stock->count; i++) {
        if (stock->items[i].value >= need) {
            return stock->items[i].value;
        }
    }
    return NAN;
}

static void within(double value, double wanted, double share) {
    if (!(fabs(value - wanted) <= share * fabs(wanted))) {
        print_message("%.9g, wanted %.9g within %g\n", value, wanted, share);
        fail();
    }
}

/// Flow and density at a part's first port when the engine idles (or, `is_still`, before the start), from one
/// morning.
static void measure_flow(const OwRig *rig, const char *part, bool is_still, double *flow_m3_s,
                         double *low_pa) {
    OwPlan *plan = NULL;
    OwRecord *record = NULL;
    OwFaults faults = {0};
    const OwMorningSettings settings = ow_morning_default();
    assert_int_equal(ow_plan_create(rig, &plan, &faults), OW_OK);
    assert_int_equal(ow_morning_run(plan, &settings, &record, &faults), OW_OK);
    const int p = ow_rig_find(rig, part);
    double sum = 0.0;
    int count = 0;
    *low_pa = 1e9;
    for (int i = 0; i < record->sample_count; i++) {
        const OwSample *s = &record->samples[i];
        const OwPartSample *ps = &record->parts[i * record->part_count + p];
        if (is_still ? s->engine == OW_ENGINE_OFF && s->time_s > 1.0 : s->engine == OW_ENGINE_RUNNING) {
            sum += ps->flow_m3_s;
            count++;
            *low_pa = fmin(*low_pa, s->lowest_pa);
        }
    }
    assert_true(count > 0);
    *flow_m3_s = sum / count;
    ow_record_destroy(&record);
    ow_plan_destroy(&plan);
    ow_faults_clear(&faults);
}

/// Least bore for a suction limit in laminar flow: dp = 128 mu L Q / (pi d^4) (Hagen-Poiseuille), so
/// d = (128 mu L Q / (pi (head - floor)))^(1/4), rounded up to stock.
static void least_bore_follows_the_fourth_power(void **state) {
    (void)state;
    OwRig *rig = read_text(suction_rig);
    OwOilSpec spec = {.name = "rapeseed"};
    OwFluid oil;
    assert_int_equal(ow_oil_make(&spec, &oil, NULL), OW_OK);
    // The distributor draws its displacement at idle; what the wide hose passes is that (no air, no
    // starving).
    OwRig *wide = read_text(suction_rig);
    wide->parts[ow_rig_find(wide, "supply hose")].as.run.bore_m = 0.025;
    double flow = 0.0, head = 0.0, low = 0.0;
    measure_flow(wide, "supply hose", false, &flow, &low);
    const double idle = rig->parts[ow_rig_find(rig, "injection pump")].as.injection_pump.transfer_m3_rev *
                        rig->engine.idle_speed_rad_s / (2.0 * pi);
    within(flow, idle, 0.05);
    const double at_k = C(20);
    const double rho = ow_curve_value(&oil.density_kg_m3, at_k),
                 mu = rho * ow_curve_value(&oil.kinematic_m2_s, at_k);
    // Head of the tank, from the wide hose: what is lowest there plus the little that hose loses.
    head = low + 128.0 * mu * 5.0 * flow / (pi * pow(0.025, 4));
    const double drop = head - rig->limits.suction_floor_pa;
    const double need = pow(128.0 * mu * 5.0 * flow / (pi * drop), 0.25);
    const double stock = rounded_up(OW_STOCK_HOSE, need);
    assert_true(need > 0.008 &&
                need < 0.0095); // well between two sizes, so that rounding decides nothing by chance
    OwSizing *s = size(rig, (Ask){.target = "no air", .vary = {"supply hose.bore"}});
    assert_int_equal(s->outcome, OW_SIZE_FOUND);
    within(s->chosen[0].after_value, stock, 1e-9);
    assert_true(s->chosen[0].has_less && !s->chosen[0].less_holds);
    // NLopt finds the same without stock. 2 %: bends of the joints and the pump's own inlet are not in the
    // formula.
    assert_true(s->chosen[0].has_exact);
    within(s->chosen[0].exact_value, need, 0.02);
    ow_size_destroy(&s);
    assert_null(s);
    ow_rig_destroy(&wide);
    ow_rig_destroy(&rig);
}

/// Least watts for a stirred, lumped chamber in a steady stream to reach T in t: C dT/dt = P - w (T - Ta),
/// w = rho c Q, so P = w dT / (1 - exp(-t w / C)); for w -> 0 it is C dT / t.
static void least_watts_of_a_lumped_chamber(void **state) {
    (void)state;
    OwRig *rig = read_text(lumped_rig);
    OwOilSpec spec = {.name = "rapeseed"};
    OwFluid oil;
    assert_int_equal(ow_oil_make(&spec, &oil, NULL), OW_OK);
    double flow = 0.0, low = 0.0;
    measure_flow(rig, "pot", true, &flow, &low);
    const double mid = C(30), wanted_k = 40.0, time_s = 300.0;
    const double rho_c =
        ow_curve_value(&oil.density_kg_m3, mid) * ow_curve_value(&oil.specific_heat_j_kgk, mid);
    const double iron_j_k = 1.0 * ow_material(OW_MATERIAL_IRON)->specific_heat_j_kgk;
    const double capacity = iron_j_k + 100e-6 * rho_c + 0.1, w = rho_c * flow;
    const double need = w * wanted_k / (1.0 - exp(-time_s * w / capacity));
    const double stock = rounded_up(OW_STOCK_HEATER, need);
    assert_true(stock - need > 10.0);
    OwSizing *s = size(rig, (Ask){.target = "ready in 5 min", .vary = {"pot.power"}});
    assert_int_equal(s->outcome, OW_SIZE_FOUND);
    within(s->chosen[0].after_value, stock, 1e-9);
    assert_true(s->goals[0].is_met && !s->goals[0].is_met_before);
    // 3 %: flow and heat capacity are taken as constant, and the fitting behind the chamber adds some
    // seconds.
    assert_true(s->chosen[0].has_exact);
    within(s->chosen[0].exact_value, need, 0.03);
    ow_size_destroy(&s);
    ow_rig_destroy(&rig);
}

/// Least share of diesel for a viscosity: Arrhenius, ln v = (1 - x) ln v1 + x ln v2 (Franco & Nguyen 2011,
/// Fuel 90:838), so x = ln(v1 / v) / ln(v1 / v2), rounded up to steps of 5 %.
static void least_diluent_follows_arrhenius(void **state) {
    (void)state;
    OwRig *rig = read_text(thin_rig);
    OwOilSpec spec = {.name = "rapeseed"}, thinner = {.name = "diesel"};
    OwFluid oil, diesel;
    assert_int_equal(ow_oil_make(&spec, &oil, NULL), OW_OK);
    assert_int_equal(ow_oil_make(&thinner, &diesel, NULL), OW_OK);
    const double thick = ow_curve_value(&oil.kinematic_m2_s, C(5)),
                 thin = ow_curve_value(&diesel.kinematic_m2_s, C(5));
    const double need = log(thick / 20e-6) / log(thick / thin);
    OwSizing *s = size(rig, (Ask){.target = "ready in 3 s", .vary = {"oil.blend=diesel"}});
    assert_int_equal(s->outcome, OW_SIZE_FOUND);
    within(s->chosen[0].after_value, rounded_up(OW_STOCK_BLEND, need), 1e-9);
    assert_true(s->chosen[0].has_exact);
    within(s->chosen[0].exact_value, need, 0.005);
    ow_size_destroy(&s);
    ow_rig_destroy(&rig);
}

static void targets_in_plain_words(void **state) {
    (void)state;
    OwSizeGoal g[OW_SIZE_MAX_GOALS];
    OwFaults faults = {0};
    int n = 0;
    char text[OW_SIZE_TEXT];
    assert_int_equal(ow_size_goals_read(
                         "ready in 90 s and no air at -15 degC and full power within 5 min and at most 40 A",
                         units, g, &n, &faults),
                     OW_OK);
    assert_int_equal(n, 4);
    assert_int_equal(g[0].kind, OW_GOAL_READY);
    within(g[0].limit, 90.0, 1e-12);
    within(g[0].ambient_k, C(-15), 1e-12); // of the next that has one
    assert_int_equal(g[1].kind, OW_GOAL_NO_AIR);
    assert_int_equal(g[2].kind, OW_GOAL_FULL_POWER);
    within(g[2].limit, 300.0, 1e-12);
    within(g[2].ambient_k, C(-15), 1e-12); // of the last before
    assert_int_equal(g[3].kind, OW_GOAL_CURRENT);
    within(g[3].limit, 40.0, 1e-12);
    ow_size_goal_write(&g[0], OW_DISPLAY_US, text, sizeof text);
    MUST_HOLD(text, "ready in 1 min 30 s at 5 ");
    n = 0;
    assert_int_equal(ow_size_goals_read("all limits", units, g, &n, &faults), OW_OK);
    assert_int_equal(g[0].kind, OW_GOAL_ALL);
    assert_true(g[0].ambient_k <= 0.0);
    // As people say it: other words, other case, commas.
    static const struct {
        const char *text;
        int count;
        OwSizeGoalKind kind;
        double limit, ambient_k;
    } said[] = {
        {"Ready in 90s at -10 °C", 1, OW_GOAL_READY, 90.0, C(-10)},
        {"ready before 2 min", 1, OW_GOAL_READY, 120.0, 0.0},
        {"is ready in at most 90 s at 14 degF", 1, OW_GOAL_READY, 90.0, C(-10)},
        {"start within 90 s", 1, OW_GOAL_START, 90.0, 0.0},
        {"starts at -15 degC", 1, OW_GOAL_START, 0.0, C(-15)},
        {"starts", 1, OW_GOAL_START, 0.0, 0.0},
        {"running by 1 min 30 s", 1, OW_GOAL_START, 90.0, 0.0},
        {"Full Power by 5 min", 1, OW_GOAL_FULL_POWER, 300.0, 0.0},
        {"under 40 A", 1, OW_GOAL_CURRENT, 40.0, 0.0},
        {"current below 40 A", 1, OW_GOAL_CURRENT, 40.0, 0.0},
        {"draws at most 40 A, no air", 2, OW_GOAL_CURRENT, 40.0, 0.0},
        {"without air and at most 40 A", 2, OW_GOAL_NO_AIR, 0.0, 0.0},
        {"keeps every limit at 5 degF", 1, OW_GOAL_ALL, 0.0, C(-15)},
        {"no air,  and starts AND all limits; ready", 4, OW_GOAL_NO_AIR, 0.0, 0.0},
    };
    for (size_t i = 0; i < sizeof said / sizeof said[0]; i++) {
        n = 0;
        if (ow_size_goals_read(said[i].text, units, g, &n, &faults) != OW_OK || n != said[i].count ||
            g[0].kind != said[i].kind || fabs(g[0].limit - said[i].limit) > 1e-9 ||
            fabs(g[0].ambient_k - said[i].ambient_k) > 1e-6) {
            fail_msg("\"%s\": %d targets, the first of kind %d, limit %g, at %g K", said[i].text, n,
                     (int)g[0].kind, g[0].limit, g[0].ambient_k);
        }
        // What it says of itself it understands again.
        OwSizeGoal again[OW_SIZE_MAX_GOALS];
        ow_size_goal_write(&g[0], OW_DISPLAY_METRIC, text, sizeof text);
        n = 0;
        assert_int_equal(ow_size_goals_read(text, units, again, &n, &faults), OW_OK);
        assert_true(n == 1 && again[0].kind == g[0].kind && fabs(again[0].limit - g[0].limit) < 0.5);
    }
    static const struct {
        const char *text, *told;
    } wrong[] = {
        {"reddy in 90 s", "is no target"},
        {"ready in 90 kg", "cannot be read"},
        {"ready in 0 s", "out of range"},
        {"no air at -200 degC", "out of range"},
        {"no air at nine", "cannot be read"},
        {"in 90 s", "is no target"},
        {"no air now", "is no target"},
        {"ready in 1,5 min", "a comma is not used"},
        {"at most", "after \"at most\" cannot be read"},
        {"no air and ", "is no target"},
        {"", "is no target"},
        {"all limits and no air and no air and no air and no air and no air and no air", "too many"},
    };
    for (size_t i = 0; i < sizeof wrong / sizeof wrong[0]; i++) {
        OwFaults f = {0};
        n = 0;
        assert_int_not_equal(ow_size_goals_read(wrong[i].text, units, g, &n, &f), OW_OK);
        assert_int_equal(f.errors, 1);
        char both[512];
        (void)snprintf(both, sizeof both, "%s; %s", f.items[0].message, f.items[0].remedy);
        MUST_HOLD(both, wrong[i].told);
        assert_true(f.items[0].remedy[0] != '\0');
        ow_faults_clear(&f);
    }
    ow_faults_clear(&faults);
}

static void wrong_choices_are_told(void **state) {
    (void)state;
    OwRig *rig = read_file("orchard-van.yaml");
    static const struct {
        const char *target, *message, *remedy;
    } wrong[] = {
        {"suply hose.bore", "no part named", "supply hose"},
        {"supply hose.colour", "cannot be varied", "bore"},
        {"supply hose", "names no part", "loop point"},
        {"boost chamber/plug 9.power", "no heater of that name", "heaters"},
        {"large filter.power", "no heater", "rig file"},
        {"oil.blend=dishwater", "", ""},
        {"oil.blend=rapeseed", "already", "another"},
    };
    for (size_t i = 0; i < sizeof wrong / sizeof wrong[0]; i++) {
        OwSizeGoal goal = {.kind = OW_GOAL_NO_AIR};
        OwSizeSettings settings = ow_size_default();
        OwSizing *sizing = NULL;
        OwFaults faults = {0};
        settings.vary = &wrong[i].target;
        settings.vary_count = 1;
        assert_int_equal(ow_size_create(rig, &goal, 1, &settings, OW_DISPLAY_METRIC, &sizing, &faults),
                         OW_ERROR_VALUE);
        assert_null(sizing);
        assert_true(faults.errors >= 1);
        MUST_HOLD(faults.items[0].message, wrong[i].message);
        MUST_HOLD(faults.items[0].remedy, wrong[i].remedy);
        ow_faults_clear(&faults);
    }
    // Too many at once.
    static const char *const many[] = {"supply hose.bore", "bay hose.bore", "last hose.bore",
                                       "boost chamber.power", "iron sump.power"};
    OwSizeGoal goal = {.kind = OW_GOAL_NO_AIR};
    OwSizeSettings settings = ow_size_default();
    OwSizing *sizing = NULL;
    OwFaults faults = {0};
    settings.vary = many;
    settings.vary_count = 5;
    assert_int_equal(ow_size_create(rig, &goal, 1, &settings, OW_DISPLAY_METRIC, &sizing, &faults),
                     OW_ERROR_VALUE);
    MUST_HOLD(faults.items[0].message, "too many");
    ow_faults_clear(&faults);
    ow_rig_destroy(&rig);
}

/// ISO 1307:2006 table 1, nominal bore with least and greatest inner diameter of non-mandrel-built hose, as
/// printed in a hose maker's tolerance table for EN ISO 1307:2008; SAE J526 outer diameter and wall in inch,
/// as printed by a tube mill.
static void stock_is_real(void **state) {
    (void)state;
    static const double iso[][3] = {{3.2, 3.2, 3.8},  {4, 3.4, 4.6},   {5, 4.2, 5.4},      {6.3, 5.6, 7.2},
                                    {8, 7.2, 8.8},    {10, 8.7, 10.3}, {12.5, 11.9, 13.5}, {16, 15.1, 16.7},
                                    {19, 18.3, 19.9}, {25, 24.2, 26.6}};
    static const double sae[][2] = {{1.0 / 8, 0.025}, {3.0 / 16, 0.028}, {1.0 / 4, 0.028}, {5.0 / 16, 0.028},
                                    {3.0 / 8, 0.028}, {1.0 / 2, 0.035},  {5.0 / 8, 0.035}};
    const OwStock *hose = ow_stock(OW_STOCK_HOSE), *tube = ow_stock(OW_STOCK_TUBE);
    for (size_t i = 0; i < sizeof iso / sizeof iso[0]; i++) {
        bool has = false;
        for (int k = 0; k < hose->count; k++) {
            has = has || (hose->items[k].value >= iso[i][1] * 1e-3 - 1e-9 &&
                          hose->items[k].value <= iso[i][2] * 1e-3);
        }
        assert_true(has);
    }
    for (size_t i = 0; i < sizeof sae / sizeof sae[0]; i++) {
        bool has = false;
        for (int k = 0; k < tube->count; k++) {
            has = has || fabs(tube->items[k].value - 0.0254 * (sae[i][0] - 2.0 * sae[i][1])) < 1e-6;
        }
        assert_true(has);
    }
    for (int kind = 0; kind < OW_STOCK_KIND_COUNT; kind++) {
        const OwStock *stock = ow_stock((OwStockKind)kind);
        assert_true(stock->count > 1 && stock->count < OW_SIZE_MAX_OPTIONS && stock->source[0] != '\0');
        for (int i = 0; i < stock->count; i++) {
            assert_true(i == 0 || (stock->items[i].value > stock->items[i - 1].value &&
                                   stock->items[i].points > stock->items[i - 1].points));
            assert_true(fabs(stock->items[i].points -
                             ow_stock_points((OwStockKind)kind, stock->items[i].value)) < 1e-9);
        }
    }
    int count = 0;
    const OwPumpClass *pumps = ow_stock_pumps(&count);
    for (int i = 1; i < count; i++) {
        assert_true(pumps[i].points > pumps[i - 1].points);
    }
}

static bool is_in_stock(OwStockKind kind, double value) {
    const OwStock *stock = ow_stock(kind);
    for (int i = 0; i < stock->count; i++) {
        if (fabs(stock->items[i].value - value) < 1e-12 + 1e-9 * value) {
            return true;
        }
    }
    return false;
}

static void check_front(const OwSizing *s) {
    bool has_chosen = s->outcome == OW_SIZE_IMPOSSIBLE;
    for (int i = 0; i < s->front_count; i++) {
        const OwSizePoint *p = &s->front[i];
        assert_true(isfinite(p->ready_s) && p->ready_s >= 0.0 && isfinite(p->peak_a) && isfinite(p->cost));
        has_chosen = has_chosen || p->is_chosen;
        assert_true(!p->is_chosen || p->is_met);
        // The answer is the cheapest that meets the target: nothing cheaper on the front does.
        assert_true(s->outcome == OW_SIZE_IMPOSSIBLE || !p->is_met || p->cost >= s->cost - 1e-9);
        for (int k = 0; k < s->front_count; k++) {
            const OwSizePoint *q = &s->front[k];
            if (k != i) { // monotone: whoever is dearer or draws more is sooner in return
                assert_false(q->cost <= p->cost && q->ready_s <= p->ready_s && q->peak_a <= p->peak_a);
            }
            assert_true(k <= i || q->cost >= p->cost - 1e-9);
        }
    }
    assert_true(has_chosen);
}

static void demo_front_and_search(void **state) {
    (void)state;
    OwRig *rig = read_file("orchard-van.yaml");
    const Ask ask = {.target = "ready in 90 s at -10 degC",
                     .vary = {"boost chamber.power", "boost chamber.metal mass"},
                     .has_front = true};
    OwSizing *a = size(rig, ask);
    assert_int_equal(a->outcome, OW_SIZE_FOUND);
    assert_true(a->front_count >= 3 && a->has_ready && a->ready_s <= 90.0);
    check_front(a);
    assert_true(is_in_stock(OW_STOCK_HEATER, a->chosen[0].after_value) || !a->chosen[0].is_changed);
    assert_true(is_in_stock(OW_STOCK_METAL, a->chosen[1].after_value) || !a->chosen[1].is_changed);
    // The same with one thread, and by looking at every combination in full.
    for (int k = 0; k < 2; k++) {
        Ask again = ask;
        again.threads = k == 0 ? 1 : 2;
        again.is_exhaustive = k == 1;
        OwSizing *b = size(rig, again);
        assert_memory_equal(a->option, b->option, sizeof a->option);
        assert_memory_equal(&a->cost, &b->cost, sizeof a->cost);
        assert_memory_equal(&a->ready_s, &b->ready_s, sizeof a->ready_s);
        assert_int_equal(a->front_count, b->front_count);
        for (int i = 0; i < a->front_count; i++) {
            assert_memory_equal(&a->front[i], &b->front[i], sizeof a->front[i]);
        }
        assert_string_equal(a->headline, b->headline);
        assert_true(k == 1 || a->tried == b->tried);
        ow_size_destroy(&b);
    }
    assert_true(a->tried < a->combinations);
    ow_size_destroy(&a);
    ow_rig_destroy(&rig);
}

/// Every proposal, put into the rig, keeps ratings and hottest oil by the judge's own word.
static void never_outside_stock_or_rating(void **state) {
    (void)state;
    static const struct {
        const char *file, *vary[2];
    } examples[] = {
        {"orchard-van.yaml", {"boost chamber.power", "rear pump.class"}},
        {"orchard-van-lift-pump.yaml", {"supply line.bore", "large filter.area"}},
        {"pickup-two-tanks.yaml", {"filter coil.conductance", "bay exchanger.conductance"}},
        {"van-blend.yaml", {"oil.blend=diesel", "supply tube.bore"}},
    };
    static const char *const targets[] = {"ready in 100 s at -12 degC", "all limits at -8 degC"};
    for (size_t e = 0; e < sizeof examples / sizeof examples[0]; e++) {
        for (size_t t = 0; t < sizeof targets / sizeof targets[0]; t++) {
            OwRig *rig = read_file(examples[e].file);
            OwSizing *s =
                size(rig, (Ask){.target = targets[t], .vary = {examples[e].vary[0], examples[e].vary[1]}});
            OwSizeSettings settings = ow_size_default();
            OwSizeGoal goal;
            OwFaults faults = {0};
            int count = 0;
            assert_int_equal(ow_size_goals_read(targets[t], units, &goal, &count, &faults), OW_OK);
            rig->climate.ambient_k = goal.ambient_k;
            rig->drive.ready_wait_s =
                fmax(rig->drive.ready_wait_s, 2.0 * (goal.kind == OW_GOAL_READY ? goal.limit : 0));
            OwRig *source = read_file(examples[e].file);
            for (int c = 0; c < s->chosen_count; c++) {
                OwChoice choice;
                assert_int_equal(ow_choice_read(source, s->chosen[c].target, &settings, OW_DISPLAY_METRIC,
                                                &choice, &faults),
                                 OW_OK);
                ow_choice_apply(&choice, s->option[c], rig);
                assert_true(!s->chosen[c].is_changed || choice.kind != OW_CHOICE_STOCK ||
                            is_in_stock(choice.stock, s->chosen[c].after_value));
            }
            assert_int_equal(ow_rig_check(rig, &faults), OW_OK); // within the catalogue's ranges
            OwPlan *plan = NULL;
            OwRecord *record = NULL;
            OwJudgement *j = NULL;
            const OwMorningSettings morning = ow_morning_default();
            assert_int_equal(ow_plan_create(rig, &plan, &faults), OW_OK);
            assert_int_equal(ow_morning_run(plan, &morning, &record, &faults), OW_OK);
            assert_int_equal(ow_judge_create(record, OW_DISPLAY_METRIC, &j), OW_OK);
            for (int i = 0; s->outcome != OW_SIZE_IMPOSSIBLE && i < j->answer_count; i++) {
                assert_false(ow_goal_is_safety(j->answers[i].kind) && ow_judge_fails(j->answers[i].grade));
            }
            if (s->outcome == OW_SIZE_FOUND && goal.kind == OW_GOAL_ALL) {
                assert_false(ow_judge_fails(j->grade)); // what `morning` says of it
            }
            ow_judge_destroy(&j);
            ow_record_destroy(&record);
            ow_plan_destroy(&plan);
            ow_faults_clear(&faults);
            ow_size_destroy(&s);
            ow_rig_destroy(&source);
            ow_rig_destroy(&rig);
        }
    }
}

static void a_rating_binds(void **state) {
    (void)state;
    // The van as it is would be ready, but a last hose rated for 60 degC bars that and every other size.
    OwRig *rig = read_file("orchard-van.yaml");
    rig->parts[ow_rig_find(rig, "last hose")].rating_k = C(60);
    OwSizing *s = size(rig, (Ask){.target = "ready in 110 s at -10 degC", .vary = {"boost chamber.power"}});
    assert_int_equal(s->outcome, OW_SIZE_IMPOSSIBLE);
    MUST_HOLD(s->advice, "last hose");
    MUST_HOLD(s->headline, "Not possible");
    ow_size_destroy(&s);
    ow_rig_destroy(&rig);
}

static void impossible_is_an_answer(void **state) {
    (void)state;
    OwRig *rig = read_file("orchard-van.yaml");
    OwSizing *s = size(
        rig, (Ask){.target = "ready in 5 s at -20 degC", .vary = {"boost chamber.power"}, .has_front = true});
    assert_int_equal(s->outcome, OW_SIZE_IMPOSSIBLE);
    assert_false(s->goals[0].is_met);
    MUST_HOLD(s->advice, "closest");
    assert_int_equal(s->tried, s->combinations);
    assert_true(s->chosen[0].after_value > s->chosen[0].before_value); // more heat comes closer
    check_front(s);
    ow_size_destroy(&s);
    ow_rig_destroy(&rig);
}

/// Nobody says what may vary: the mend of a safety limit that is broken as it is stands among the choices, no
/// bore gets narrower, and where the first choices do not suffice those that act on the closest come in.
static void choices_of_its_own(void **state) {
    (void)state;
    OwRig *rig = read_file("orchard-van.yaml");
    // At -15 degC the cold return line alone puts the hoses under more than they stand, see oilwright
    // morning.
    OwSizing *s = size(rig, (Ask){.target = "starts at -15 degC"});
    assert_int_equal(s->outcome, OW_SIZE_FOUND);
    assert_true(s->chosen_count >= 1 && strcmp(s->chosen[0].target, "return line.bore") == 0);
    for (int c = 0; c < s->chosen_count; c++) {
        assert_true(strstr(s->chosen[c].target, ".bore") == NULL ||
                    s->chosen[c].after_value >= s->chosen[c].before_value);
    }
    ow_size_destroy(&s);
    // Amperes are drawn by every heater, not by the last chamber alone.
    s = size(rig, (Ask){.target = "at most 80 A"});
    assert_int_equal(s->outcome, OW_SIZE_FOUND);
    bool has_sump = false;
    for (int c = 0; c < s->chosen_count; c++) {
        has_sump = has_sump || strcmp(s->chosen[c].target, "iron sump.power") == 0;
    }
    assert_true(has_sump && s->peak_a <= 80.0);
    ow_size_destroy(&s);
    ow_rig_destroy(&rig);
    // A line too thin for the cold: the blend that starts draws too hard at it, and only then its bore
    // matters.
    rig = read_file("van-blend.yaml");
    rig->climate.ambient_k = C(-12);
    rig->limits.run_kinematic_m2_s = 40e-6;
    rig->fluid_spec[0].blend_fraction[0] = rig->fluid_spec[0].blend_fraction[1] = 0.5;
    rig->parts[ow_rig_find(rig, "supply tube")].as.run.bore_m = 5e-3;
    s = size(rig, (Ask){.target = "all limits"});
    assert_int_equal(s->outcome, OW_SIZE_FOUND);
    bool has_blend = false, has_bore = false;
    for (int c = 0; c < s->chosen_count; c++) {
        has_blend =
            has_blend || (strcmp(s->chosen[c].target, "oil.blend=diesel") == 0 && s->chosen[c].is_changed);
        has_bore =
            has_bore || (strcmp(s->chosen[c].target, "supply tube.bore") == 0 && s->chosen[c].is_changed);
    }
    assert_true(has_blend && has_bore);
    ow_size_destroy(&s);
    // Never started: the reason is the morning's own, not the viscosity of a pump that may be thin enough.
    s = size(rig, (Ask){.target = "starts in 4 s", .vary = {"factory filter.area"}});
    assert_int_equal(s->outcome, OW_SIZE_IMPOSSIBLE);
    MUST_HOLD(s->goals[0].before, "It does not start: at ");
    ow_size_destroy(&s);
    // Where nothing does, what starts is nearer than what never begins to drive and so breaks no limit of it.
    rig->limits.run_kinematic_m2_s = 2e-6;
    s = size(rig, (Ask){.target = "all limits", .vary = {"oil.blend=diesel"}});
    assert_int_equal(s->outcome, OW_SIZE_IMPOSSIBLE);
    assert_null(strstr(s->goals[0].after, "does not start"));
    ow_size_destroy(&s);
    ow_rig_destroy(&rig);
}

static void a_good_rig_stays(void **state) {
    (void)state;
    OwRig *rig = read_file("orchard-van.yaml");
    OwSizing *s = size(rig, (Ask){.target = "all limits and ready in 3 min",
                                  .vary = {"supply hose.bore", "rear pump.class"}});
    assert_int_equal(s->outcome, OW_SIZE_AS_IS);
    assert_true(s->cost == 0.0 && s->goals[0].is_met && s->goals[1].is_met);
    MUST_HOLD(s->headline, "Nothing has to change");
    ow_size_destroy(&s);
    ow_rig_destroy(&rig);
}

static void fewest_changes_or_least_cost(void **state) {
    (void)state;
    OwRig *rig = read_file("orchard-van.yaml");
    Ask ask = {.target = "ready in 90 s at -10 degC",
               .vary = {"boost chamber.power", "boost chamber.metal mass"}};
    OwSizing *cost = size(rig, ask);
    ask.by = OW_SIZE_BY_CHANGE;
    OwSizing *change = size(rig, ask);
    int by_cost = 0, by_change = 0;
    assert_int_equal(cost->outcome, OW_SIZE_FOUND);
    assert_int_equal(change->outcome, OW_SIZE_FOUND);
    for (int c = 0; c < 2; c++) {
        by_cost += cost->chosen[c].is_changed;
        by_change += change->chosen[c].is_changed;
    }
    assert_true(by_change <= by_cost && cost->cost <= change->cost + 1e-9);
    ow_size_destroy(&cost);
    // A price in the rig file scales what an exchange costs: twice the price, twice the cost.
    rig->parts[ow_rig_find(rig, "rear pump")].price = 100.0;
    OwSizeSettings settings = ow_size_default();
    OwChoice one, two;
    OwFaults faults = {0};
    assert_int_equal(ow_choice_read(rig, "rear pump.class", &settings, OW_DISPLAY_METRIC, &one, &faults),
                     OW_OK);
    rig->parts[ow_rig_find(rig, "rear pump")].price = 200.0;
    assert_int_equal(ow_choice_read(rig, "rear pump.class", &settings, OW_DISPLAY_METRIC, &two, &faults),
                     OW_OK);
    for (int i = 0; i < one.count; i++) {
        within(two.options[i].cost, 2.0 * one.options[i].cost, 1e-12);
    }
    ow_size_destroy(&change);
    ow_rig_destroy(&rig);
}

static void the_loop_can_be_moved(void **state) {
    (void)state;
    OwRig *rig = read_file("orchard-van.yaml");
    OwFaults faults = {0};
    const int chamber = ow_rig_find(rig, "boost chamber"), filter = ow_rig_find(rig, "large filter");
    assert_int_equal(ow_loop_point(rig), chamber);
    assert_true(ow_loop_move(rig, filter));
    assert_int_equal(ow_loop_point(rig), filter);
    assert_int_equal(ow_rig_check(rig, &faults), OW_OK);
    OwPlan *plan = NULL;
    OwRecord *record = NULL;
    const OwMorningSettings settings = ow_morning_default();
    assert_int_equal(ow_plan_create(rig, &plan, &faults), OW_OK);
    int path[64];
    const int length = ow_plan_path(plan, path, 64), tee = ow_rig_find(rig, "loop tee");
    for (int i = 0; i < length; i++) {
        if (path[i] == tee) {
            assert_int_equal(path[i + 1], filter);
        }
    }
    assert_int_equal(ow_morning_run(plan, &settings, &record, &faults), OW_OK);
    assert_true(record->has_started);
    ow_record_destroy(&record);
    ow_plan_destroy(&plan);
    // And back: every joint is as it was, in whatever order.
    assert_true(ow_loop_move(rig, chamber));
    assert_int_equal(ow_loop_point(rig), chamber);
    OwRig *fresh = read_file("orchard-van.yaml");
    for (int i = 0; i < fresh->joint_count; i++) {
        bool has = false;
        for (int k = 0; k < rig->joint_count; k++) {
            const OwJoint *a = &fresh->joints[i], *b = &rig->joints[k];
            has = has || (a->part_a == b->part_a && a->port_a == b->port_a && a->part_b == b->part_b &&
                          a->port_b == b->port_b);
        }
        assert_true(has);
    }
    ow_rig_destroy(&fresh);
    ow_rig_destroy(&rig);
    // A rig without a loop says so.
    rig = read_file("van-blend.yaml");
    OwSizeSettings sizes = ow_size_default();
    OwChoice choice;
    assert_int_equal(ow_choice_read(rig, "loop point", &sizes, OW_DISPLAY_METRIC, &choice, &faults),
                     OW_ERROR_VALUE);
    MUST_HOLD(faults.items[faults.count - 1].message, "no loop");
    ow_faults_clear(&faults);
    ow_rig_destroy(&rig);
}

static int open_units(void **state) {
    (void)state;
    return ow_units_create(&units) == OW_OK ? 0 : 1;
}

static int close_units(void **state) {
    (void)state;
    ow_units_destroy(&units);
    return 0;
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(targets_in_plain_words),
        cmocka_unit_test(stock_is_real),
        cmocka_unit_test(wrong_choices_are_told),
        cmocka_unit_test(least_bore_follows_the_fourth_power),
        cmocka_unit_test(least_watts_of_a_lumped_chamber),
        cmocka_unit_test(least_diluent_follows_arrhenius),
        cmocka_unit_test(demo_front_and_search),
        cmocka_unit_test(never_outside_stock_or_rating),
        cmocka_unit_test(a_rating_binds),
        cmocka_unit_test(impossible_is_an_answer),
        cmocka_unit_test(choices_of_its_own),
        cmocka_unit_test(a_good_rig_stays),
        cmocka_unit_test(fewest_changes_or_least_cost),
        cmocka_unit_test(the_loop_can_be_moved),
    };
    return cmocka_run_group_tests(tests, open_units, close_units);
}
