// SPDX-License-Identifier: GPL-3.0-or-later
// Streams and balances on random walks, the decision on workshop tests, cautions, and nonsense given to every
// law.
#include "near.h"

static OwFluid rapeseed;

static double water_of(const OwStream *s) {
    return s->free_water_kg + s->dissolved_water_kg;
}

static OwStream random_stream(uint64_t *seed, const OwSolubility *s) {
    return ow_stream_make(between(seed, 0.1, 900.0), between(seed, 0.0, 0.05), between(seed, 0.0, 0.04),
                          between(seed, 0.0, 0.2), s, C(between(seed, 0.0, 90.0)));
}

/// A thousand yards: streams come in, are mixed, split, warmed and sent to outlets at random; every kilogram
/// is found again.
static void test_balance(void **state) {
    (void)state;
    const OwSolubility s = ow_yard_solubility_default();
    uint64_t seed = 7;
    for (int yard = 0; yard < 1000; yard++) {
        OwBalance b = {0};
        for (int i = 0; i < 40; i++) {
            if (even(&seed) < 0.3) {
                const OwStream in = random_stream(&seed, &s);
                ow_balance_in(&b, &in);
                b.stock = ow_stream_mix(&b.stock, &in);
            } else {
                const OwSplit share = {even(&seed), even(&seed), even(&seed), even(&seed)};
                const OwStream before = b.stock;
                OwStream out;
                ow_stream_equilibrate(&b.stock, &s, C(between(&seed, 0.0, 90.0)));
                assert_true(fabs(water_of(&b.stock) - water_of(&before)) <=
                            1e-15 * (1.0 + water_of(&before)));
                ow_stream_split(&b.stock, &share, &out, &b.stock);
                assert_true(b.stock.oil_kg >= 0.0 && b.stock.free_water_kg >= 0.0 &&
                            b.stock.solids_kg >= 0.0 && b.stock.acid_kg >= 0.0);
                ow_balance_out(&b, (OwOutlet)(even(&seed) * OW_OUT_COUNT), &out);
            }
        }
        assert_true(ow_balance_error(&b) < 1e-13);
        if (ow_stream_total(&b.in) > 1.0) {
            b.out[OW_OUT_CAKE].solids_kg +=
                1e-6 * ow_stream_total(&b.in); // and the balance sees what is wrong
            assert_true(ow_balance_error(&b) > 0.9e-6);
        }
    }
}

static void test_stream(void **state) {
    (void)state;
    const OwSolubility s = ow_yard_solubility_default();
    OwStream a = ow_stream_make(100.0, 0.01, 0.02, 0.03, &s, C(20));
    near(ow_stream_total(&a), 103.0, 1e-12);
    near(a.dissolved_water_kg, 100.0 * ow_yard_soluble(&s, C(20)), 1e-12);
    near(ow_stream_water_share(&a), 1.0 / 103.0, 1e-12);
    near(ow_stream_solids_share(&a), 2.0 / 103.0, 1e-12);
    near(ow_stream_acid_share(&a), 0.03, 1e-12);
    // Acid goes with the oil in every split.
    const OwSplit share = {0.25, 1.0, 0.25, 1.0};
    OwStream out, rest;
    ow_stream_split(&a, &share, &out, &rest);
    near(ow_stream_acid_share(&out), 0.03, 1e-12);
    near(ow_stream_acid_share(&rest), 0.03, 1e-12);
    assert_true(rest.free_water_kg == 0.0 && rest.solids_kg == 0.0);
    ow_stream_equilibrate(&a, &s, C(80));
    near(a.dissolved_water_kg, 100.0 * ow_yard_soluble(&s, C(80)), 1e-12);
    const OwStream none = {0};
    assert_true(ow_stream_water_share(&none) == 0.0 && ow_stream_acid_share(&none) == 0.0);
}

static OwWorkshop reading(double value, double low, double high) {
    return (OwWorkshop){.value = value, .low = low, .high = high};
}

/// DIN 51605 for use: acid 2.0 mg KOH/g, water 750 mg/kg, viscosity 36.0 mm2/s; the rest common practice.
static void test_decide(void **state) {
    (void)state;
    OwDecision d[OW_TEST_COUNT];
    OwWorkshop acid = reading(1.5, 1.4, 1.6), water = reading(500, 450, 550),
               solids = reading(0.0, 0.0, 0.01), thick = reading(34, 33, 35);
    const OwWorkshop *tests[OW_TEST_COUNT] = {&acid, &water, &solids, &thick};
    assert_int_equal(ow_yard_decide(tests, NULL, d), OW_DECIDE_USE);
    assert_int_equal(d[OW_TEST_ACID].trust, OW_TRUST_PUBLISHED);
    assert_int_equal(d[OW_TEST_SOLIDS].trust, OW_TRUST_PRACTICE);
    near(d[OW_TEST_WATER].limit, 750.0, 1e-12);
    assert_non_null(strstr(d[OW_TEST_WATER].reason, "DIN 51605"));
    water = reading(700, 600, 800);
    assert_int_equal(ow_yard_decide(tests, NULL, d), OW_DECIDE_RETEST);
    assert_int_equal(d[OW_TEST_WATER].step, OW_STEP_TEST);
    water = reading(1500, 1400, 1600);
    assert_int_equal(ow_yard_decide(tests, NULL, d), OW_DECIDE_REWORK);
    assert_int_equal(d[OW_TEST_WATER].step, OW_STEP_BUBBLE);
    water = reading(8000, 3000, 50000);
    ow_yard_decide(tests, NULL, d);
    assert_int_equal(d[OW_TEST_WATER].step, OW_STEP_HOT_SETTLE);
    solids = reading(0.4, 0.35, 0.45);
    ow_yard_decide(tests, NULL, d);
    assert_int_equal(d[OW_TEST_SOLIDS].decide, OW_DECIDE_REWORK);
    assert_int_equal(d[OW_TEST_SOLIDS].step, OW_STEP_FILTER);
    solids = reading(3.0, 2.5, 3.5);
    ow_yard_decide(tests, NULL, d);
    assert_int_equal(d[OW_TEST_SOLIDS].step, OW_STEP_SETTLE);
    solids = reading(0.0, 0.0, 0.01);
    acid = reading(7.0, 6.8, 7.2);
    assert_int_equal(ow_yard_decide(tests, NULL, d), OW_DECIDE_REJECT);
    near(d[OW_TEST_ACID].limit, 5.0, 1e-12);
    assert_int_equal(d[OW_TEST_ACID].trust, OW_TRUST_PRACTICE);
    tests[OW_TEST_ACID] = NULL;
    assert_int_equal(ow_yard_decide(tests, NULL, d), OW_DECIDE_REWORK); // water still
    assert_int_equal(d[OW_TEST_ACID].decide, OW_DECIDE_UNTESTED);
    water = reading(500, 450, 550);
    assert_int_equal(ow_yard_decide(tests, NULL, d), OW_DECIDE_UNTESTED);
    water = reading(NAN, 0, 0);
    ow_yard_decide(tests, NULL, d);
    assert_int_equal(d[OW_TEST_WATER].decide, OW_DECIDE_UNTESTED);
    assert_true(d[OW_TEST_WATER].value == 0.0);
    // The titration of the oil module feeds it: 6 mL of 0.1 N on 10 g is 3.37 mg KOH/g, over 2.0, under 5.
    OwWorkshop ffa;
    OwFaults faults = {0};
    assert_int_equal(ow_workshop_titration(6.0, 0.0, 0.1, 10.0, &ffa, &acid, &faults), OW_OK);
    tests[OW_TEST_ACID] = &acid;
    ow_yard_decide(tests, NULL, d);
    assert_int_equal(d[OW_TEST_ACID].decide, OW_DECIDE_REWORK);
    assert_int_equal(d[OW_TEST_ACID].step, OW_STEP_BLEND);
    near(d[OW_TEST_ACID].value, 56.1 * 6.0 * 0.1 / 10.0, 1e-12);
    // Own limits.
    OwYardLimits own = ow_yard_limits_default();
    own.use[OW_TEST_ACID] = 4.0;
    own.is_standard[OW_TEST_ACID] = false;
    ow_yard_decide(tests, &own, d);
    assert_int_equal(d[OW_TEST_ACID].decide, OW_DECIDE_USE);
    assert_null(strstr(d[OW_TEST_ACID].reason, "DIN"));
}

static void test_words(void **state) {
    (void)state;
    for (int i = 0; i < OW_CAUTION_COUNT; i++) {
        assert_true(strlen(ow_yard_caution((OwCaution)i)) > 30 && ow_yard_caution_key((OwCaution)i)[0]);
    }
    for (int i = 0; i < OW_STEP_COUNT; i++) {
        OwCaution list[OW_CAUTION_COUNT];
        const int count = ow_yard_step_cautions((OwYardStep)i, list, OW_CAUTION_COUNT);
        assert_true(count >= 1 && count <= OW_CAUTION_COUNT);
        assert_int_equal(list[count - 1], OW_CAUTION_LAW);
        assert_string_not_equal(ow_yard_step_text((OwYardStep)i), "unknown");
        bool has_cut_out = false;
        for (int k = 0; k < count; k++) {
            has_cut_out |= list[k] == OW_CAUTION_CUT_OUT;
        }
        const bool is_hot =
            i == OW_STEP_HEAT || i == OW_STEP_HOT_SETTLE || i == OW_STEP_BUBBLE || i == OW_STEP_VACUUM;
        assert_int_equal(has_cut_out, is_hot);
    }
    OwCaution first[1];
    ow_yard_step_cautions(OW_STEP_FILTER, first, 1);
    assert_int_equal(first[0], OW_CAUTION_RAGS);
    assert_string_equal(ow_yard_caution((OwCaution)99), "unknown");
    assert_string_equal(ow_yard_step_text((OwYardStep)-1), "unknown");
}

/// A number that may be anything.
static double wild(uint64_t *seed) {
    static const double odd[] = {0.0, -1.0, 1e-300, 1e300, INFINITY, -INFINITY, NAN, 1.0, 300.0, 1e5};
    const double pick = even(seed);
    return pick < 0.4   ? odd[(int)(even(seed) * 10.0)]
           : pick < 0.7 ? between(seed, 0.0, 500.0)
                        : pow(10.0, between(seed, -9.0, 9.0));
}

#define finite(x) assert_true(isfinite(x))

static void check_time(const OwYardTime *t) {
    finite(t->time_s);
    assert_true(t->time_s >= 0.0 && (t->reach == OW_REACH_YES || t->time_s == 0.0));
    assert_true(t->reach == OW_REACH_YES || t->reason[0]);
    assert_string_not_equal(ow_yard_reach_text(t->reach), "nonsense");
}

static void check_dry(const OwDry *d) {
    check_time(&d->time);
    finite(d->floor_share);
    finite(d->end_share);
    finite(d->water_kg);
    finite(d->rate_kg_s);
    finite(d->end_rate_kg_s);
    finite(d->heat_j);
    finite(d->air_m3);
}

/// No input makes a number that is none.
static void test_nonsense(void **state) {
    (void)state;
    uint64_t s = 99;
    for (int i = 0; i < 20000; i++) {
        finite(ow_air_saturation_pa(wild(&s)));
        finite(ow_air_dew_point_k(wild(&s)));
        finite(ow_air_humidity_ratio(wild(&s), wild(&s), wild(&s)));
        finite(ow_air_relative(wild(&s), wild(&s), wild(&s)));
        finite(ow_air_enthalpy(wild(&s), wild(&s)));
        finite(ow_air_density(wild(&s), wild(&s), wild(&s)));
        finite(ow_air_latent(wild(&s)));
        finite(ow_water_density(wild(&s)));
        finite(ow_water_viscosity(wild(&s)));
        finite(ow_yard_stokes(wild(&s), wild(&s), wild(&s)));
        finite(ow_yard_terminal(wild(&s), wild(&s), wild(&s), wild(&s)));
        finite(ow_yard_mobile(wild(&s), wild(&s)));
        finite(ow_yard_hindered(wild(&s), wild(&s)));
        finite(ow_yard_sigma_discs(fabs(between(&s, -900, 900)), (int)between(&s, -5, 99), wild(&s) * 1e-3,
                                   wild(&s) * 1e-3, wild(&s)));
        finite(ow_yard_g_factor(between(&s, 0, 1e4), wild(&s)));
        const OwSizes sizes = {even(&s) < 0.5 ? OW_SIZES_LOG_NORMAL : OW_SIZES_ROSIN_RAMMLER, wild(&s),
                               wild(&s)};
        const double cut = wild(&s);
        const double removed = ow_sizes_removed(&sizes, cut), coarser = ow_sizes_coarser(&sizes, cut);
        assert_true(removed >= 0.0 && removed <= 1.0 && coarser >= 0.0 && coarser <= 1.0);
        OwSolubility sol = ow_yard_solubility_default();
        if (even(&s) < 0.3) {
            sol.a = between(&s, -20.0, 20.0);
            sol.b_k = between(&s, 0.0, 3000.0);
        }
        finite(ow_yard_soluble(&sol, wild(&s)));
        finite(ow_yard_activity(&sol, wild(&s), wild(&s)));
        const OwReappear r = ow_yard_reappear(&sol, wild(&s), wild(&s), wild(&s), wild(&s));
        finite(r.free_kg);
        finite(r.free_m3);
        const OwDryJob job = {sol, wild(&s), wild(&s), wild(&s) * 1e-3, wild(&s) * 1e-4};
        const OwDryAir air = {wild(&s), wild(&s), wild(&s), wild(&s), wild(&s)};
        OwDry d = ow_yard_dry_bubble(&job, &air);
        check_dry(&d);
        d = ow_yard_dry_vacuum(&job, wild(&s), wild(&s));
        check_dry(&d);
        d = ow_yard_dry_boil(&job);
        check_dry(&d);
        const OwYardFilter f = {OW_FORM_BAG, wild(&s), wild(&s), wild(&s), (OwFilterLaw)(even(&s) * 3),
                                wild(&s),    wild(&s)};
        finite(ow_yard_filter_flow(&f, wild(&s), wild(&s), wild(&s)));
        finite(ow_yard_filter_drop(&f, wild(&s), wild(&s), wild(&s)));
        finite(ow_yard_filter_life(&f, wild(&s), wild(&s), wild(&s), wild(&s)));
        if (i % 10 == 0) {
            const OwPush push = {wild(&s), wild(&s), wild(&s), wild(&s)};
            const OwFilterRun run =
                ow_yard_filter_run(&f, &push, wild(&s), wild(&s), wild(&s), wild(&s), wild(&s));
            check_time(&run.time);
            finite(run.passed_m3);
            finite(run.life_m3);
            finite(run.dirt_kg);
            finite(run.end_m3_s);
            finite(run.end_pa);
            const OwTankShape tank = {wild(&s), wild(&s), wild(&s), wild(&s), wild(&s), wild(&s)};
            const OwHeatUp h = ow_yard_heat(&tank, &rapeseed, wild(&s), wild(&s), wild(&s), wild(&s),
                                            wild(&s), wild(&s), wild(&s));
            check_time(&h.time);
            finite(h.energy_j);
            finite(h.stored_j);
            finite(h.lost_j);
            finite(h.steady_k);
            finite(h.load_w_m2);
            finite(h.film_k);
            finite(ow_tank_loss(&tank, wild(&s), wild(&s)));
            const OwSettle settle = {&rapeseed, even(&s) < 0.5 ? OW_GRAIN_WATER : OW_GRAIN_CRUMB,
                                     wild(&s),  even(&s) < 0.5,
                                     wild(&s),  wild(&s)};
            const OwCooling cooling = {wild(&s), wild(&s), wild(&s)};
            finite(ow_yard_settle_speed(&settle, wild(&s), wild(&s)));
            finite(ow_yard_settle_cut(&settle, &cooling, wild(&s)));
            const OwYardTime t = ow_yard_settle_time(&settle, wild(&s), &cooling);
            check_time(&t);
            const OwYardTime c = ow_cooling_time(&cooling, wild(&s));
            check_time(&c);
            const OwStill still = ow_yard_still(&settle, wild(&s), wild(&s), wild(&s));
            finite(still.rayleigh);
            finite(still.speed_m_s);
            finite(still.cut_m);
            finite(ow_yard_centrifuge_cut(&settle, wild(&s), wild(&s), wild(&s), wild(&s)));
            finite(ow_sizes_removed_stirred(&sizes, cut));
            d = ow_yard_dry_settle(&job, &settle, &sizes, &cooling);
            check_dry(&d);
        }
    }
}

static int setup(void **state) {
    (void)state;
    make_oil("rapeseed", &rapeseed);
    return 0;
}

int main(void) {
    const struct CMUnitTest tests[] = {cmocka_unit_test(test_balance), cmocka_unit_test(test_stream),
                                       cmocka_unit_test(test_decide), cmocka_unit_test(test_words),
                                       cmocka_unit_test(test_nonsense)};
    return cmocka_run_group_tests(tests, setup, NULL);
}
