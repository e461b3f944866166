// SPDX-License-Identifier: GPL-3.0-or-later
// Each step of a batch by hand: filters by pump and by head, changes, a filter that cools, a bowl, drying
// with a strong and a weak heater, cooling, moves.
#include "near.h"

#include "oilwright/yard_plan.h"

static OwUnits *units;
static OwFluid oil;

/// A yard of one vessel from the text of its steps, walked; 100 L at 20 degC.
static OwYardBatch *walk(const char *steps, const char *more, OwYard **yard) {
    char text[2000];
    (void)snprintf(
        text, sizeof text,
        "oil: {kind: rapeseed, water: 0.3 %%, solids: 0.2 %%, acid value: 2}\n"
        "climate: {shed: 20 degC, outdoor: 10 degC, humidity: 50 %%}\n"
        "vessels:\n  - vessel: drum\n    diameter: 0.5 m\n    heater: 3 kW\n    heel: 0\n"
        "losses: {each move: 0.5 %%, oil in sludge: 1, oil in water: 0.1, oil in cake: 2, rags: 0}\n"
        "week: {batch: 100 L}\n"
        "%ssteps:\n%s",
        more, steps);
    OwFaults faults = {0};
    OwYardBatch *batch = NULL;
    if (ow_yard_read_text(text, strlen(text), "t", units, yard, &faults) != OW_OK) {
        print_error("%s\n", faults.items[0].message);
        fail();
    }
    ow_faults_clear(&faults);
    assert_int_equal(ow_yard_batch_create(*yard, OW_DISPLAY_METRIC, &batch), OW_OK);
    return batch;
}

static void end(OwYardBatch *batch, OwYard *yard) {
    ow_yard_batch_destroy(&batch);
    ow_yard_destroy(&yard);
}

static OwOilState at(double temperature_k) {
    OwOilState state;
    ow_oil_state(&oil, temperature_k, &state);
    return state;
}

/// A pump that never reaches its pressure: time is volume over flow. 16 um is an edge of the classes, so what
/// is caught is catches * exp(-(16/100)^0.9) of the solids (Rosin & Rammler 1933).
static void test_pumped(void **state) {
    (void)state;
    OwYard *yard;
    OwYardBatch *b =
        walk("  - filter: f\n    in: drum\n    by: pump\n    rating: 16 um\n    catches: 90 %\n"
             "    clean drop: 1 kPa\n    at flow: 50 L/h\n    dirt capacity: 40 g\n    flow: 50 L/h\n"
             "    pressure: 900 kPa\n    pump power: 200 W\n    price: 5\n    own mass: 0.2 kg\n"
             "    change takes: 6 min\n    hands on: 12 min\n",
             "", &yard);
    const OwYardRow *r = &b->rows[0];
    const double moved = 0.995, caught = 0.9 * exp(-pow(0.16, 0.9)) * b->in.solids_kg * moved;
    near(r->out[OW_OUT_CAKE].solids_kg, caught, 1e-9);
    near(r->out[OW_OUT_CAKE].oil_kg, 2.0 * caught, 1e-9);
    near(r->left.solids_kg, b->in.solids_kg * moved - caught, 1e-9);
    near(ow_stream_total(&r->out[OW_OUT_HANDLING]), 0.005 * ow_stream_total(&b->in), 1e-9);
    near(r->filters, caught / 0.040, 1e-9);
    const int changes = (int)(caught / 0.040);
    assert_true(changes >= 2);
    assert_int_equal(r->changes, changes);
    const double passing = 0.0995 / (50.0 / 3.6e6);
    near(r->elapsed_s, passing + changes * 360.0, 1e-6);
    near(r->watched_s, passing, 1e-6);
    near(r->energy_j, 200.0 * passing, 1e-6);
    near(r->hands_on_s, 720.0 + changes * 360.0, 1e-12);
    near(r->filter_price, 5.0 * r->filters, 1e-12);
    near(b->waste_kg[OW_WASTE_CAKE], 3.0 * caught + r->out[OW_OUT_CAKE].dissolved_water_kg + 0.2 * r->filters,
         1e-9);
    near(b->waste_kg[OW_WASTE_RAGS], 0.005 * ow_stream_total(&b->in), 1e-9);
    end(b, yard);
}

/// By its head, hardly any dirt: Darcy, flow = stated flow * head's pressure / stated drop, at equal
/// viscosity.
static void test_gravity(void **state) {
    (void)state;
    OwYard *yard;
    const char *filter = "    rating: 2 mm\n    clean drop: 2 kPa\n    at flow: 30 L/h\n"
                         "    at viscosity: 40 mm2/s\n    head: 0.6 m\n";
    char steps[500];
    (void)snprintf(steps, sizeof steps, "  - filter: f\n    in: drum\n%s", filter);
    OwYardBatch *b = walk(steps, "", &yard);
    const OwOilState cold = at(C(20));
    const double flow =
        30.0 / 3.6e6 * (cold.density_kg_m3 * 9.80665 * 0.6 / 2000.0) * 40e-6 / cold.kinematic_m2_s;
    near(b->rows[0].elapsed_s, 0.0995 / flow, 2e-3);
    assert_true(b->rows[0].watched_s == 0.0 && b->rows[0].energy_j == 0.0);
    const double cold_s = b->rows[0].elapsed_s;
    end(b, yard);
    // Warm oil cools on the way: the time is that at the mean of its temperatures.
    (void)snprintf(steps, sizeof steps, "  - heat: h\n    in: drum\n    to: 60 degC\n  - filter: f\n%s",
                   filter);
    b = walk(steps, "", &yard);
    const OwYardRow *r = &b->rows[1];
    assert_true(r->start_k == C(60) && r->end_k < C(57) && r->end_k > C(20));
    const OwOilState mean = at(0.5 * (r->start_k + r->end_k)), warm = at(C(60));
    const double mean_flow = 30.0 / 3.6e6 * (mean.density_kg_m3 * 9.80665 * 0.6 / 2000.0) * 40e-6 *
                             warm.density_kg_m3 / mean.dynamic_pa_s; // its medium is reckoned with warm oil
    const double volume = r->left.oil_kg / warm.density_kg_m3;
    near(r->elapsed_s, volume / mean_flow, 0.01);
    assert_true(r->elapsed_s < 0.5 * cold_s);
    const OwTankShape tank = {.diameter_m = 0.5, .height_m = volume / (0.25 * PI * 0.25), .metal_kg = 20.0};
    const OwCooling cooling = ow_tank_cooling(&tank, &oil, r->left.oil_kg, C(60), C(20));
    near(r->end_k, ow_cooling_value(&cooling, r->elapsed_s), 1e-3);
    end(b, yard);
}

/// A bowl: sigma = omega^2 pi L (r2^2 - r1^2) / (g ln(r2/r1)), flow = v sigma 0.9; of a class the part
/// (d/cut)^2 comes out at each pass.
static void test_bowl(void **state) {
    (void)state;
    OwYard *yard;
    OwYardBatch *b =
        walk("  - centrifuge: c\n    in: drum\n    speed: 3000 rpm\n    bowl length: 0.1 m\n"
             "    inner radius: 40 mm\n    outer radius: 70 mm\n    flow: 60 L/h\n    passes: 2\n"
             "    power: 500 W\n",
             "", &yard);
    const OwYardRow *r = &b->rows[0];
    const OwOilState cold = at(C(20));
    const double omega = 3000.0 * PI / 30.0, sigma = omega * omega * PI * 0.1 * (0.07 * 0.07 - 0.04 * 0.04) /
                                                     (9.80665 * log(0.07 / 0.04));
    const double cut2 =
        18.0 * cold.dynamic_pa_s * (60.0 / 3.6e6) / (9.80665 * (1150.0 - cold.density_kg_m3) * sigma * 0.9);
    const double water_cut2 =
        cut2 * (1150.0 - cold.density_kg_m3) / (ow_water_density(C(20)) - cold.density_kg_m3);
    double left = 0.0, below = 1.0, wet = 0.0, wet_below = 1.0;
    for (int i = 0; i < 24; i++) {
        const double drops = 0.5 * erfc((log(0.5e-6 / 40e-6) + 0.5 * (i + 1) * log(2.0)) / (0.9 * sqrt(2.0)));
        const double wet_above = i == 23 ? 0.0 : drops;
        const double upper = 0.5e-6 * pow(2.0, 0.5 * (i + 1)), size2 = 0.25e-12 * pow(2.0, i + 0.5);
        const double above = i == 23 ? 0.0 : exp(-pow(upper / 100e-6, 0.9));
        left += (below - above) * pow(fmax(1.0 - size2 / cut2, 0.0), 2.0);
        below = above;
        wet += (wet_below - wet_above) * pow(fmax(1.0 - size2 / water_cut2, 0.0), 2.0);
        wet_below = wet_above;
    }
    near(r->left.free_water_kg, 0.995 * b->in.free_water_kg * wet, 5e-3);
    assert_true(left > 0.02 && left < 0.5);
    near(r->left.solids_kg, 0.995 * b->in.solids_kg * left, 2e-3);
    near(r->elapsed_s, 2.0 * 0.0995 / (60.0 / 3.6e6), 1e-6);
    near(r->energy_j, 500.0 * r->elapsed_s, 1e-12);
    near(r->watched_s, r->elapsed_s, 1e-12);
    const double out = 0.995 * b->in.solids_kg - r->left.solids_kg;
    near(r->out[OW_OUT_SLUDGE].oil_kg, out, 1e-9); // 1 kg of oil a kg of crumbs
    near(r->out[OW_OUT_WATER].oil_kg, 0.1 * r->out[OW_OUT_WATER].free_water_kg, 1e-9);
    end(b, yard);
}

/// Drying: the law's own time and heat, the tank's loss on top; a weak heater takes heat / (power - loss).
static void test_dry(void **state) {
    (void)state;
    for (int weak = 0; weak < 2; weak++) {
        OwYard *yard;
        OwYardBatch *b = walk("  - heat: h\n    in: drum\n    to: 60 degC\n"
                              "  - dry: d\n    by: bubbling\n    to: 600 mg/kg\n    air flow: 20000 L/h\n"
                              "    approach: 100 %\n    for: 20 days\n    pump power: 80 W\n",
                              "", &yard);
        if (weak) {
            OwFaults faults = {0};
            ow_yard_batch_destroy(&b);
            assert_int_equal(ow_yard_override(yard, "drum.heater=1500 W", units, &faults), OW_OK);
            assert_int_equal(ow_yard_batch_create(yard, OW_DISPLAY_METRIC, &b), OW_OK);
        }
        const OwYardRow *h = &b->rows[0], *r = &b->rows[1];
        const OwStream *s = &h->left;
        const OwSolubility solubility = ow_yard_solubility_default();
        const double target = 600e-6 / (1.0 - 600e-6) * (s->oil_kg + s->solids_kg) / s->oil_kg;
        const OwDryJob job = {.solubility = solubility,
                              .oil_kg = s->oil_kg,
                              .temperature_k = C(60),
                              .water_share = (s->free_water_kg + s->dissolved_water_kg) / s->oil_kg,
                              .target_share = target};
        const OwDryAir air = {
            .temperature_k = C(10), .relative = 0.5, .flow_m3_s = 20000.0 / 3.6e6, .approach = 1.0};
        const OwDry law = ow_yard_dry_bubble(&job, &air);
        assert_int_equal(law.time.reach, OW_REACH_YES);
        const OwTankShape tank = {.diameter_m = 0.5,
                                  .height_m =
                                      (s->oil_kg / at(C(60)).density_kg_m3 +
                                       (s->free_water_kg + s->dissolved_water_kg) / ow_water_density(C(60)) +
                                       s->solids_kg / 1150.0) /
                                      (0.25 * PI * 0.25),
                                  .metal_kg = 20.0};
        const double loss = ow_tank_loss(&tank, C(60), C(20)), power = weak ? 1500.0 : 3000.0;
        assert_int_equal(loss + law.heat_j / law.time.time_s > power, weak); // the case is the one meant
        const double time = weak ? law.heat_j / (1500.0 - loss) : law.time.time_s;
        near(r->elapsed_s, time, 1e-3);
        near(r->energy_j, loss * time + law.heat_j + 80.0 * time, 1e-3);
        near(r->watched_s, time, 1e-3);
        near(r->water_share, 600e-6, 1e-9);
        near(r->out[OW_OUT_VAPOUR].free_water_kg, law.water_kg, 1e-6);
        assert_true(r->end_k == C(60));
        assert_int_equal(strstr(r->note, "sets the pace") != NULL, weak);
        end(b, yard);
    }
}

/// Cooling to a temperature takes constant * ln; water sheds and stays; nothing is drawn off or moved.
static void test_cool(void **state) {
    (void)state;
    OwYard *yard;
    OwYardBatch *b = walk("  - heat: h\n    in: drum\n    to: 60 degC\n"
                          "  - cool: c\n    to: 30 degC\n    for: 9 days\n  - cool: k\n    for: 3 h\n",
                          "", &yard);
    const OwYardRow *h = &b->rows[0], *c = &b->rows[1];
    near(c->end_k, C(30), 1e-9);
    const OwTankShape tank = {
        .diameter_m = 0.5,
        .height_m = (h->left.oil_kg / at(C(60)).density_kg_m3 +
                     (h->left.free_water_kg + h->left.dissolved_water_kg) / ow_water_density(C(60)) +
                     h->left.solids_kg / 1150.0) /
                    (0.25 * PI * 0.25),
        .metal_kg = 20.0};
    const OwCooling cooling = ow_tank_cooling(&tank, &oil, h->left.oil_kg, C(60), C(20));
    near(c->elapsed_s, cooling.constant_s * log(40.0 / 10.0), 1e-3);
    const OwSolubility s = ow_yard_solubility_default();
    near(c->left.dissolved_water_kg, c->left.oil_kg * ow_yard_soluble(&s, C(30)), 1e-9);
    near(c->left.free_water_kg + c->left.dissolved_water_kg,
         h->left.free_water_kg + h->left.dissolved_water_kg, 1e-12);
    near(ow_stream_total(&c->left), ow_stream_total(&b->in), 1e-12);
    near(b->rows[2].elapsed_s, 3.0 * 3600.0, 1e-12);
    end(b, yard);
}

static int set_up(void **state) {
    (void)state;
    make_oil("rapeseed", &oil);
    return ow_units_create(&units) == OW_OK ? 0 : -1;
}

static int tear_down(void **state) {
    (void)state;
    ow_units_destroy(&units);
    return 0;
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_pumped), cmocka_unit_test(test_gravity), cmocka_unit_test(test_bowl),
        cmocka_unit_test(test_dry),    cmocka_unit_test(test_cool),
    };
    return cmocka_run_group_tests(tests, set_up, tear_down);
}
