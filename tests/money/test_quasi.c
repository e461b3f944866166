// SPDX-License-Identifier: GPL-3.0-or-later
// The sampling: nets, convergence, indices of the Ishigami function, bands of sums with known quantiles.
#include "common.h"
#include "money/money_impl.h"
#include "money/quasi.h"

/// Every coordinate of the first 2^8 points has one point in each of 2^8 equal bins, shifted or not.
static void points_are_a_net(void **state) {
    (void)state;
    enum { BINS = 256 };
    for (unsigned replicate = 0; replicate < 4; replicate++) {
        OwQuasi quasi;
        double u[OW_QUASI_MOST];
        static int bins[OW_QUASI_MOST][BINS];
        memset(bins, 0, sizeof bins);
        assert_int_equal(ow_quasi_start(&quasi, OW_QUASI_MOST, replicate), OW_OK);
        for (int n = 0; n < BINS; n++) {
            ow_quasi_next(&quasi, u);
            for (int i = 0; i < OW_QUASI_MOST; i++) {
                assert_true(u[i] > 0.0 && u[i] < 1.0);
                bins[i][(int)(u[i] * BINS)]++;
            }
        }
        for (int i = 0; i < OW_QUASI_MOST; i++) {
            for (int b = 0; b < BINS; b++) {
                assert_int_equal(bins[i][b], 1);
            }
        }
        ow_quasi_clear(&quasi);
    }
}

/// Smooth in six coordinates, mean 1.
static double smooth(const double *u) {
    double product = 1.0;
    for (int i = 0; i < 6; i++) {
        product *= 1.0 + (u[i] - 0.5) / (1.0 + i);
    }
    return product;
}

static double rms_error(int points, bool is_random) {
    double sum = 0.0;
    uint64_t random = 99;
    enum { TRIALS = 32 };
    for (unsigned r = 0; r < TRIALS; r++) {
        OwQuasi quasi;
        double u[6], mean = 0.0;
        assert_int_equal(ow_quasi_start(&quasi, 6, r), OW_OK);
        for (int n = 0; n < points; n++) {
            ow_quasi_next(&quasi, u);
            for (int i = 0; i < 6 && is_random; i++) {
                u[i] = random_share(&random);
            }
            mean += smooth(u) / points;
        }
        ow_quasi_clear(&quasi);
        sum += (mean - 1.0) * (mean - 1.0) / TRIALS;
    }
    return sqrt(sum);
}

/// Plain sampling goes with N^-1/2; the shifted net must do clearly better, in rate and in size.
static void converges_faster_than_random(void **state) {
    (void)state;
    const double few = rms_error(64, false), many = rms_error(4096, false);
    const double slope = log(many / few) / log(4096.0 / 64.0);
    print_message("rms error %.3g at 64, %.3g at 4096: N^%.2f\n", few, many, slope);
    assert_true(slope < -0.8);
    const double plain_few = rms_error(64, true), plain = rms_error(4096, true);
    const double plain_slope = log(plain / plain_few) / log(4096.0 / 64.0);
    print_message("plain random %.3g: N^%.2f\n", plain, plain_slope);
    assert_true(plain_slope > -0.65 && plain_slope < -0.35); // the yardstick itself is right
    assert_true(many < plain / 10.0);
}

static double ishigami(void *context, const double *u) {
    int *calls = context;
    (*calls)++;
    const double pi = 3.14159265358979323846;
    double x[3];
    for (int i = 0; i < 3; i++) {
        x[i] = pi * (2.0 * u[i] - 1.0);
    }
    return sin(x[0]) + 7.0 * sin(x[1]) * sin(x[1]) + 0.1 * pow(x[2], 4) * sin(x[0]);
}

/// Ishigami & Homma 1990; analytic variances in Saltelli, Chan & Scott 2000, Sensitivity Analysis, and
/// printed as S1 0.3139, S2 0.4424, S3 0 in Saltelli et al. 2008, The Primer.
static void ishigami_indices(void **state) {
    (void)state;
    const double pi = 3.14159265358979323846, a = 7.0, b = 0.1, p4 = pow(pi, 4), p8 = p4 * p4;
    const double variance = 0.5 + a * a / 8 + b * p4 / 5 + b * b * p8 / 18;
    const double v1 = 0.5 * (1 + b * p4 / 5) * (1 + b * p4 / 5), v2 = a * a / 8, v13 = b * b * p8 * 8 / 225;
    const double first[] = {v1 / variance, v2 / variance, 0.0};
    const double total[] = {(v1 + v13) / variance, v2 / variance, v13 / variance};
    check_near(first[0], 0.3139, 5e-5);
    check_near(first[1], 0.4424, 5e-5);
    OwQuasiIndex x[3];
    double got = 0.0;
    int calls = 0;
    assert_int_equal(ow_quasi_indices(ishigami, &calls, 3, 2048, 8, x, &got), OW_OK);
    assert_int_equal(calls, 1 + 8 * 2048 * 5); // N (k + 2)
    check_near(got, variance, 0.002 * variance);
    for (int i = 0; i < 3; i++) {
        print_message("S%d %.4f +- %.4f (%.4f), total %.4f +- %.4f (%.4f)\n", i + 1, x[i].first,
                      x[i].first_error, first[i], x[i].total, x[i].total_error, total[i]);
        check_near(x[i].first, first[i], 0.004);
        check_near(x[i].total, total[i], 0.004);
        // The error told is of the size of the error made: five standard errors are never met, by chance.
        assert_true(fabs(x[i].first - first[i]) < 5.0 * x[i].first_error + 1e-4);
        assert_true(fabs(x[i].total - total[i]) < 5.0 * x[i].total_error + 1e-4);
    }
    assert_int_equal(ow_quasi_indices(ishigami, &calls, 0, 2048, 8, x, &got), OW_ERROR_USE);
}

/// A sum of 60 coordinates, beyond what the sequence has: S_i = c_i^2 / sum c^2 by hand.
static double weighted_sum(void *context, const double *u) {
    const double *c = context;
    double sum = 0.0;
    for (int i = 0; i < 60; i++) {
        sum += c[i] * u[i];
    }
    return sum;
}

static void many_coordinates(void **state) {
    (void)state;
    double c[60], squares = 0.0, got = 0.0;
    static OwQuasiIndex x[60];
    for (int i = 0; i < 60; i++) {
        c[i] = pow(0.9, i);
        squares += c[i] * c[i];
    }
    assert_int_equal(ow_quasi_indices(weighted_sum, c, 60, 512, 8, x, &got), OW_OK);
    check_near(got, squares / 12.0, 0.02 * squares / 12.0);
    for (int i = 0; i < 60; i++) {
        check_near(x[i].first, c[i] * c[i] / squares, 0.02);
        check_near(x[i].total, c[i] * c[i] / squares, 0.004);
    }
}

/// Points of a spread: quantiles by closed form, means by the midpoint rule.
static void spreads(void **state) {
    (void)state;
    const OwCostValue flat = {.value = 3, .low = 2, .high = 4, .spread = OW_COST_FLAT};
    const OwCostValue triangle = {.value = 3, .low = 2, .high = 6, .spread = OW_COST_TRIANGLE};
    const OwCostValue left = {.value = 2, .low = 2, .high = 6, .spread = OW_COST_TRIANGLE};
    const OwCostValue bell = {.value = 10, .low = 0, .high = 1000, .error = 2, .spread = OW_COST_BELL};
    const OwCostValue cut = {.value = 0.9, .low = 0, .high = 1, .error = 0.2, .spread = OW_COST_BELL};
    check_near(ow_cost_value_at(&flat, 0.25), 2.5, 1e-15);
    check_near(ow_cost_value_at(&triangle, 0.25), 3.0, 1e-12); // a quarter lies below the peak
    check_near(ow_cost_value_at(&triangle, 1.0), 6.0, 1e-12);
    check_near(ow_cost_value_at(&left, 0.75), 4.0, 1e-12); // 1 - ((6-4)/4)^2
    check_near(ow_cost_value_at(&bell, 0.5), 10.0, 1e-5);
    check_near(ow_cost_value_at(&bell, 0.975), 10.0 + 2 * 1.959963985, 1e-5); // normal tables
    double means[2] = {0.0, 0.0};
    for (int i = 0; i < 10000; i++) {
        const double u = (i + 0.5) / 10000;
        means[0] += ow_cost_value_at(&triangle, u) / 10000;
        means[1] += ow_cost_value_at(&cut, u) / 10000;
        assert_true(ow_cost_value_at(&cut, u) >= 0.0 && ow_cost_value_at(&cut, u) <= 1.0);
    }
    check_near(means[0], (2 + 3 + 6) / 3.0, 1e-4);
    // Truncated normal, mean mu + s (phi(a) - phi(b))/(Phi(b) - Phi(a)).
    const double lo = -4.5, hi = 0.5, s2pi = sqrt(2 * 3.14159265358979323846);
    const double density = (exp(-0.5 * lo * lo) - exp(-0.5 * hi * hi)) / s2pi;
    const double mass = 0.5 * erfc(-hi / sqrt(2)) - 0.5 * erfc(-lo / sqrt(2));
    check_near(means[1], 0.9 + 0.2 * density / mass, 1e-4);
}

/// One flat input: the worth is linear in it, so bands, chance and index are known.
static void study_of_one_input(void **state) {
    (void)state;
    OwCostPlan plan = free_plan();
    plan.inputs[OW_COST_PARTS] = (OwCostValue){
        .value = 10000, .low = 5000, .high = 15000, .spread = OW_COST_FLAT, .origin = OW_COST_FROM_FILE};
    double values[OW_COST_INPUTS];
    ow_cost_likely(&plan, values);
    OwCostReckoning r;
    ow_cost_reckon(&plan, values, &r);
    const double gain = r.side[1].npv + 10000; // worth of the diesel saved
    OwCostStudy study;
    assert_int_equal(ow_cost_study(&plan, 8192, &study), OW_OK);
    assert_int_equal(study.samples, 8192);
    assert_int_equal(study.uncertain, 1);
    const OwCostBand *b = &study.band[1][OW_COST_RESULT_NPV];
    check_near(b->point[0], gain - 14500, 5.0);
    check_near(b->point[1], gain - 10000, 5.0);
    check_near(b->point[2], gain - 5500, 5.0);
    check_near(study.chance[1], (gain - 5000) / 10000, 0.002);
    const double year = r.diesel_year;
    for (int y = 0; y <= plan.years; y++) {
        const double share = (y * year - 5000) / 10000;
        check_near(study.chance_year[1][y], share < 0 ? 0 : share > 1 ? 1 : share, 0.002);
    }
    assert_int_equal(study.influence_count, 1);
    assert_int_equal(study.influence[0].input, OW_COST_PARTS);
    check_near(study.influence[0].first, 1.0, 0.01);
    check_near(study.influence[0].total, 1.0, 0.01);
    check_near(study.influence[0].npv_low - study.influence[0].npv_high, 9000.0, 1e-6);
    // Payback beyond the years is never, not a number.
    assert_true(study.band[1][OW_COST_RESULT_PAYBACK].never[2]);
    // The same plan, the same digits.
    OwCostStudy again;
    assert_int_equal(ow_cost_study(&plan, 8192, &again), OW_OK);
    assert_memory_equal(&study.band, &again.band, sizeof study.band);
    assert_int_equal(ow_cost_study(&plan, 3, &again), OW_ERROR_RANGE);
    assert_int_equal(ow_cost_study(NULL, 64, &again), OW_ERROR_USE);
}

/// Nothing uncertain: the band has no width and no input moves anything.
static void study_of_nothing(void **state) {
    (void)state;
    const OwCostPlan plan = free_plan();
    OwCostStudy study;
    assert_int_equal(ow_cost_study(&plan, 64, &study), OW_OK);
    assert_int_equal(study.influence_count, 0);
    const OwCostBand *b = &study.band[0][OW_COST_RESULT_NPV];
    assert_true(b->point[0] == b->point[2] && b->error[1] == 0.0);
    check_near(study.chance[0], 1.0, 0.0);
}

/// All defaults: the worth is nearly additive, so the first-order indices sum to a little less than 1, the
/// totals to more.
static void study_of_the_defaults(void **state) {
    (void)state;
    OwCostPlan plan;
    ow_cost_default(&plan);
    OwCostStudy study;
    assert_int_equal(ow_cost_study(&plan, 8192, &study), OW_OK);
    double first = 0.0, total = 0.0;
    for (int i = 0; i < study.influence_count; i++) {
        const OwCostInfluence *x = &study.influence[i];
        first += x->first;
        total += x->total;
        assert_true(x->total > -1e-12 && x->total < 1.0 && x->low < x->high);
        assert_true(i == 0 || study.influence[i - 1].total >= x->total);
        assert_true(x->total > x->first - 5.0 * (x->first_error + x->total_error) - 1e-3);
    }
    check_near(first, 1.0, 0.05);
    assert_true(total > first - 0.02 && total < 1.2);
    for (int s = 0; s < 2; s++) {
        for (int k = 0; k < OW_COST_RESULTS; k++) {
            const OwCostBand *b = &study.band[s][k];
            for (int p = 1; p < 3; p++) {
                assert_true(b->never[p] || b->never[p - 1] || b->point[p] >= b->point[p - 1]);
                assert_true(isfinite(b->point[p]) && isfinite(b->error[p]));
            }
        }
        for (int y = 1; y <= OW_COST_MAX_YEARS; y++) {
            assert_true(study.chance_year[s][y] >= study.chance_year[s][y - 1]);
        }
    }
    // Twice the samples agree within the errors told.
    OwCostStudy more;
    assert_int_equal(ow_cost_study(&plan, 32768, &more), OW_OK);
    const OwCostBand *a = &study.band[1][OW_COST_RESULT_NPV], *c = &more.band[1][OW_COST_RESULT_NPV];
    for (int p = 0; p < 3; p++) {
        check_near(a->point[p], c->point[p], 5.0 * (a->error[p] + c->error[p]));
    }
    check_near(study.chance[1], more.chance[1], 5.0 * (study.chance_error[1] + more.chance_error[1]));
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(points_are_a_net), cmocka_unit_test(converges_faster_than_random),
        cmocka_unit_test(ishigami_indices), cmocka_unit_test(many_coordinates),
        cmocka_unit_test(spreads),          cmocka_unit_test(study_of_one_input),
        cmocka_unit_test(study_of_nothing), cmocka_unit_test(study_of_the_defaults),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
