// SPDX-License-Identifier: GPL-3.0-or-later
// Heating and drying: energy balance, losses against a worked example, drying against integration, limits and
// refusals.
#include "near.h"
#include "oilwright/heat.h"

static OwFluid rapeseed, plain;

/// Cengel, Heat Transfer, example 9-1: hot pipe of 8 cm and 6 m, 70 degC in a room of 20 degC: 443 W by
/// natural convection and 553 W by radiation as a black body. The tank's ends are taken off its height so
/// that the area is the pipe's.
static void test_loss(void **state) {
    (void)state;
    const OwTankShape pipe = {.diameter_m = 0.08, .height_m = 6.0 - 0.04, .emissivity = 1.0};
    near(ow_tank_area(&pipe), PI * 0.08 * 6.0, 1e-9);
    near(ow_tank_loss(&pipe, C(70), C(20)), 443.0 + 553.0, 0.015);
    near(ow_tank_volume(&pipe), PI * 0.0016 * 5.96, 1e-9);
}

static void test_heat(void **state) {
    (void)state;
    const OwTankShape lagged = {.diameter_m = 0.58, .height_m = 0.85, .insulation_w_m2k = 1e-9};
    // No loss: m c dT / P. 200 kg of 2000 J/kgK over 40 K with 2 kW: 8000 s.
    OwHeatUp h = ow_yard_heat(&lagged, &plain, 200.0, 0.0, 2000.0, 0.0, C(20), C(60), C(20));
    assert_int_equal(h.time.reach, OW_REACH_YES);
    near(h.time.time_s, 8000.0, 1e-6);
    near(h.energy_j, 16e6, 1e-6);
    // With loss: longer; the balance closes; metal and water count.
    const OwTankShape drum = {.diameter_m = 0.58, .height_m = 0.85, .metal_kg = 20.0};
    h = ow_yard_heat(&drum, &plain, 200.0, 5.0, 2000.0, 0.0, C(20), C(60), C(20));
    near(h.stored_j, 40.0 * (200.0 * 2000.0 + 20.0 * 460.0 + 5.0 * 4186.0), 1e-6);
    near(h.energy_j, h.stored_j + h.lost_j, 1e-12);
    assert_true(h.lost_j > 0.0);
    // The same by small steps of time done here.
    double t = C(20), s = 0.0;
    while (t < C(60)) {
        t += 1.0 * (2000.0 - ow_tank_loss(&drum, t, C(20))) / (200.0 * 2000.0 + 20.0 * 460.0 + 5.0 * 4186.0);
        s += 1.0;
    }
    near(h.time.time_s, s, 1e-3);
    near(ow_yard_heat_power(&drum, &plain, 200.0, 5.0, C(20), C(60), C(20), h.time.time_s), 2000.0, 1e-6);
    // Where it ends: loss equals power.
    near(ow_tank_loss(&drum, h.steady_k, C(20)), 2000.0, 1e-6);
    assert_true(h.steady_k > C(85) && h.steady_k < OW_HEAT_LIMIT_K && !h.is_steady_hot);
    assert_true(ow_yard_heat(&drum, &plain, 200.0, 5.0, 4000.0, 0.0, C(20), C(60), C(20)).is_steady_hot);
    // Too weak: never, with the temperature it is held at.
    h = ow_yard_heat(&drum, &plain, 200.0, 0.0, 100.0, 0.0, C(20), C(60), C(20));
    assert_int_equal(h.time.reach, OW_REACH_NEVER);
    near(ow_tank_loss(&drum, h.steady_k, C(20)), 100.0, 1e-6);
    assert_non_null(strstr(h.time.reason, "holds it at"));
    assert_int_equal(ow_yard_heat(&drum, &plain, 200.0, 0.0, 2000.0, 0.0, C(20), C(120), C(20)).time.reach,
                     OW_REACH_REFUSED);
    assert_int_equal(ow_yard_heat(&drum, &plain, 200.0, 0.0, 2000.0, 0.0, C(60), C(60), C(20)).time.reach,
                     OW_REACH_ALREADY);
    // A small element scorches, a large one does not; the wall temperature carries the load by Churchill &
    // Chu 1975.
    h = ow_yard_heat(&drum, &rapeseed, 200.0, 0.0, 2000.0, 0.02, C(20), C(60), C(20));
    near(h.load_w_m2, 1e5, 1e-12);
    assert_true(h.is_load_high && h.is_film_hot && h.caution[0]);
    h = ow_yard_heat(&drum, &rapeseed, 200.0, 0.0, 2000.0, 0.4, C(20), C(60), C(20));
    assert_true(!h.is_load_high && !h.is_film_hot && h.film_k > C(60));
    OwOilState film, cool;
    ow_oil_state(&rapeseed, 0.5 * (h.film_k + C(60)), &film);
    ow_oil_state(&rapeseed, 0.5 * (h.film_k + C(60)) - 5.0, &cool);
    const double alpha = film.conductivity_w_mk / (film.density_kg_m3 * film.specific_heat_j_kgk);
    const double beta = (cool.density_kg_m3 - film.density_kg_m3) / (5.0 * film.density_kg_m3);
    const double ra = OW_GRAVITY_M_S2 * beta * (h.film_k - C(60)) * 1e-6 / (film.kinematic_m2_s * alpha);
    near(ow_heat_churchill_chu(ra, film.kinematic_m2_s / alpha) * film.conductivity_w_mk / 0.01 *
             (h.film_k - C(60)),
         5000.0, 1e-6);
}

/// A cooling tank's time constant against small steps of the loss.
static void test_cooling(void **state) {
    (void)state;
    const OwTankShape drum = {.diameter_m = 0.58, .height_m = 0.85, .metal_kg = 20.0};
    const OwCooling c = ow_tank_cooling(&drum, &plain, 200.0, C(70), C(15));
    double t = C(70);
    for (int i = 0; i < 12 * 60; i++) {
        t -= 60.0 * ow_tank_loss(&drum, t, C(15)) / (200.0 * 2000.0 + 20.0 * 460.0);
    }
    assert_true(fabs(ow_cooling_value(&c, 12.0 * 3600.0) - t) <
                2.0); // one constant for a loss that falls faster than linearly
}

/// Bubbling against Runge-Kutta steps of the same balance done here, through free and dissolved water.
static void test_bubble(void **state) {
    (void)state;
    const OwDryJob job = {ow_yard_solubility_default(), 180.0, C(60), 6000e-6, 400e-6};
    const OwDryAir air = {
        .temperature_k = C(20), .relative = 0.4, .flow_m3_s = 40e-3 / 60.0, .approach = 0.8};
    const OwDry dry = ow_yard_dry_bubble(&job, &air);
    assert_int_equal(dry.time.reach, OW_REACH_YES);
    const double in = ow_air_humidity_ratio(C(20), 0.4, 101325.0),
                 flow = air.flow_m3_s / ow_air_volume(C(20), in, 101325.0);
    double w = job.water_share, s = 0.0;
    const double step = dry.time.time_s / 200000.0;
    while (w > job.target_share) {
        const double a = ow_yard_activity(&job.solubility, w, C(60));
        w -= step * 0.8 * flow * (ow_air_humidity_ratio(C(60), a, 101325.0) - in) / 180.0;
        s += step;
    }
    near(dry.time.time_s, s, 1e-4);
    near(dry.water_kg, 180.0 * 5600e-6, 1e-9);
    near(dry.air_m3, air.flow_m3_s * dry.time.time_s, 1e-12);
    near(dry.rate_kg_s, 0.8 * flow * (ow_air_humidity_ratio(C(60), 1.0, 101325.0) - in), 1e-9);
    assert_true(dry.end_rate_kg_s < dry.rate_kg_s && dry.end_rate_kg_s > 0.0);
    near(dry.heat_j,
         dry.water_kg * ow_air_latent(C(60)) + flow * dry.time.time_s * (1006.0 + 1860.0 * in) * 40.0, 1e-9);
    // Steady balance: at the floor the air goes out as it came in.
    near(ow_air_humidity_ratio(C(60), ow_yard_activity(&job.solubility, dry.floor_share, C(60)), 101325.0),
         in, 1e-9);
    // Analytic limit: dry air and little vapour (20 degC: 2 % of the pressure): plain exponential decay
    // within 3 %.
    const OwDryJob cool = {ow_yard_solubility_default(), 100.0, C(20), 800e-6, 400e-6};
    const OwDryAir bone = {.temperature_k = C(20), .relative = 0.0, .flow_m3_s = 1e-3};
    const double rate =
        1e-3 / ow_air_volume(C(20), 0.0, 101325.0) * 0.621945 * ow_air_saturation_pa(C(20)) / 101325.0;
    near(ow_yard_dry_bubble(&cool, &bone).time.time_s,
         100.0 * ow_yard_soluble(&cool.solubility, C(20)) / rate * log(2.0), 0.03);
    assert_true(ow_yard_dry_bubble(&cool, &bone).floor_share == 0.0);
}

/// Humid air: never, with the floor; a warmer oil or drier air gets lower; and the answers that are no times.
static void test_humid(void **state) {
    (void)state;
    OwDryJob job = {ow_yard_solubility_default(), 180.0, C(25), 1500e-6, 400e-6};
    OwDryAir air = {.temperature_k = C(25), .relative = 0.8, .flow_m3_s = 1e-3};
    OwDry dry = ow_yard_dry_bubble(&job, &air);
    assert_int_equal(dry.time.reach, OW_REACH_NEVER);
    assert_non_null(strstr(dry.time.reason, "too humid"));
    near(dry.floor_share, 0.8 * ow_yard_soluble(&job.solubility, C(25)),
         1e-6); // the air's own humidity at one temperature
    near(dry.end_share, dry.floor_share, 1e-12);
    near(dry.water_kg, 180.0 * (1500e-6 - dry.floor_share), 1e-9);
    double last = 1.0;
    for (double t = 25.0; t <= 90.0; t += 5.0) {
        job.temperature_k = C(t);
        const double floor = ow_yard_dry_bubble(&job, &air).floor_share;
        assert_true(floor < last);
        last = floor;
    }
    assert_int_equal(ow_yard_dry_bubble(&job, &air).time.reach, OW_REACH_YES);
    job.water_share = 500e-6;
    job.temperature_k = C(10);
    dry = ow_yard_dry_bubble(&job, &air); // warm humid air into cold oil wets it
    assert_int_equal(dry.time.reach, OW_REACH_NEVER);
    assert_non_null(strstr(dry.time.reason, "would wet"));
    assert_true(dry.water_kg == 0.0);
    job.target_share = 600e-6;
    assert_int_equal(ow_yard_dry_bubble(&job, &air).time.reach, OW_REACH_ALREADY);
    job.target_share = 100e-6;
    job.temperature_k = C(110);
    assert_int_equal(ow_yard_dry_bubble(&job, &air).time.reach, OW_REACH_REFUSED);
    job.temperature_k = C(97); // below boiling, above the limit
    assert_int_equal(ow_yard_dry_bubble(&job, &air).time.reach, OW_REACH_REFUSED);
    assert_int_equal(ow_yard_dry_vacuum(&job, 1000.0, 1e-3).time.reach, OW_REACH_REFUSED);
    assert_non_null(strstr(ow_yard_dry_boil(&job).time.reason, "steam"));
    assert_int_equal(ow_yard_dry_boil(&job).time.reach, OW_REACH_REFUSED);
    job.temperature_k = C(80);
    air.pressure_pa = 45000.0; // below the boiling pressure of 80 degC
    assert_int_equal(ow_yard_dry_bubble(&job, &air).time.reach, OW_REACH_REFUSED);
    job.oil_kg = NAN;
    assert_int_equal(ow_yard_dry_bubble(&job, &air).time.reach, OW_REACH_UNKNOWN);
}

/// Drying goes faster with heat, flow and dry air.
static void test_monotone(void **state) {
    (void)state;
    uint64_t seed = 20261125;
    for (int i = 0; i < 2000; i++) {
        const OwDryJob job = {ow_yard_solubility_default(), between(&seed, 20, 900),
                              C(between(&seed, 20, 85)), between(&seed, 800e-6, 2e-2),
                              between(&seed, 150e-6, 700e-6)};
        const OwDryAir air = {.temperature_k = C(between(&seed, 0, 35)),
                              .relative = between(&seed, 0.1, 1.0),
                              .flow_m3_s = between(&seed, 1e-4, 1e-2)};
        const OwDry now = ow_yard_dry_bubble(&job, &air);
        OwDryJob warm = job;
        warm.temperature_k += 5.0;
        OwDryAir dryer = air, more = air;
        dryer.relative *= 0.8;
        more.flow_m3_s *= 1.5;
        assert_true(ow_yard_dry_bubble(&warm, &air).floor_share <= now.floor_share);
        if (now.time.reach == OW_REACH_YES) {
            assert_true(ow_yard_dry_bubble(&warm, &air).time.time_s < now.time.time_s);
            assert_true(ow_yard_dry_bubble(&job, &dryer).time.time_s < now.time.time_s);
            near(ow_yard_dry_bubble(&job, &more).time.time_s, now.time.time_s / 1.5, 1e-9);
        } else {
            assert_int_equal(now.time.reach, OW_REACH_NEVER);
            assert_true(now.floor_share >= job.target_share || strstr(now.time.reason, "ten years"));
        }
    }
}

static void test_vacuum(void **state) {
    (void)state;
    const OwDryJob job = {ow_yard_solubility_default(), 180.0, C(50), 5000e-6, 200e-6};
    // Ideal gas at the oil's temperature: 8 m3/h against 10 mbar.
    const double pump = 8.0 / 3600.0, ps = ow_air_saturation_pa(C(50)),
                 soluble = ow_yard_soluble(&job.solubility, C(50));
    const OwDry dry = ow_yard_dry_vacuum(&job, 1000.0, pump);
    assert_int_equal(dry.time.reach, OW_REACH_YES);
    const double k = pump * 18.015e-3 / (8.314462618 * C(50));
    const double a0 = 1000.0 / ps;
    near(dry.time.time_s,
         180.0 * (5000e-6 - soluble) / (k * (ps - 1000.0)) +
             180.0 * soluble / (k * ps) * log((1.0 - a0) / (200e-6 / soluble - a0)),
         1e-4);
    near(dry.floor_share, a0 * soluble, 1e-9);
    near(dry.rate_kg_s, k * (ps - 1000.0), 1e-4);
    const OwDry weak = ow_yard_dry_vacuum(&job, 5000.0, pump);
    assert_int_equal(weak.time.reach, OW_REACH_NEVER);
    near(weak.end_share, 5000.0 / ps * soluble, 1e-9);
    assert_int_equal(ow_yard_dry_vacuum(&job, 20000.0, pump).time.reach,
                     OW_REACH_NEVER); // above the vapour pressure
}

static void test_hot_settle(void **state) {
    (void)state;
    const OwSettle water = {.oil = &rapeseed, .height_m = 0.8};
    const OwSizes drops = ow_sizes_default(OW_GRAIN_WATER);
    const OwCooling cooling = {C(70), C(15), 10.0 * 3600.0};
    OwDryJob job = {ow_yard_solubility_default(), 180.0, C(70), 8000e-6, 1500e-6};
    const OwDry dry = ow_yard_dry_settle(&job, &water, &drops, &cooling);
    assert_int_equal(dry.time.reach, OW_REACH_YES);
    near(ow_yard_settled_water(&job, &water, &drops, &cooling, dry.time.time_s), 1500e-6, 1e-6);
    double last = 8000e-6;
    for (double s = 60.0; s < 1e8; s *= 1.5) {
        const double left = ow_yard_settled_water(&job, &water, &drops, &cooling, s);
        assert_true(left <= last && left >= dry.floor_share * (1.0 - 1e-12));
        last = left;
    }
    // Clear when hot: what it sheds is a haze of median 10 um, spread 0.5, that hardly settles in two days.
    const OwSizes haze = {OW_SIZES_LOG_NORMAL, 10e-6, 0.5};
    OwDryJob clear = job;
    clear.water_share = 2000e-6;
    const double cold = ow_yard_soluble(&job.solubility, ow_cooling_value(&cooling, 172800.0));
    near(ow_yard_settled_water(&clear, &water, &drops, &cooling, 172800.0),
         cold + (2000e-6 - cold) *
                    (1.0 - ow_sizes_removed(&haze, ow_yard_settle_cut(&water, &cooling, 172800.0))),
         1e-9);
    assert_true(ow_yard_settled_water(&clear, &water, &drops, &cooling, 172800.0) > 1800e-6);
    // It never gets below what the cold oil dissolves.
    job.target_share = 500e-6;
    const OwDry never = ow_yard_dry_settle(&job, &water, &drops, &cooling);
    assert_int_equal(never.time.reach, OW_REACH_NEVER);
    near(never.floor_share, ow_yard_soluble(&job.solubility, C(15)), 1e-9);
    assert_non_null(strstr(never.time.reason, "dissolved"));
}

static int setup(void **state) {
    (void)state;
    make_oil("rapeseed", &rapeseed);
    make_plain(0.03, 900.0, &plain);
    return 0;
}

int main(void) {
    const struct CMUnitTest tests[] = {cmocka_unit_test(test_loss),    cmocka_unit_test(test_heat),
                                       cmocka_unit_test(test_cooling), cmocka_unit_test(test_bubble),
                                       cmocka_unit_test(test_humid),   cmocka_unit_test(test_monotone),
                                       cmocka_unit_test(test_vacuum),  cmocka_unit_test(test_hot_settle)};
    return cmocka_run_group_tests(tests, setup, NULL);
}
