// SPDX-License-Identifier: GPL-3.0-or-later
// Present worth, annuities, rates of return and payback against worked examples in print.
#include "common.h"

static void published_npv_and_payback(void **state) {
    (void)state;
    double years = 0.0;
    // Ross, Westerfield & Jordan, Essentials of Corporate Finance, review problem 9.1 (read in a copy): 10 %,
    // worth 84.23, payback 3.10 years; the discounted sums are 45.45, 95.04, 147.63, 284.23.
    const double rwj[] = {-200, 50, 60, 70, 200};
    check_near(ow_money_npv(0.10, rwj, 5), 84.23, 0.02); // a sum of four rounded figures
    assert_true(ow_money_payback(0.0, rwj, 5, &years));
    check_near(years, 3.10, 1e-12);
    assert_true(ow_money_payback(0.10, rwj, 5, &years));
    check_near(years, 3.0 + (200 - 147.63) / 136.60, 2e-4);
    // Course example at 12 % (read in a copy): -32,828.44 after three years, 5,302.64 after four, worth
    // 33,673.98.
    const double course[] = {-200000, 60000, 80000, 70000, 60000, 50000};
    check_near(ow_money_npv(0.12, course, 6), 33673.98, 0.02);
    check_near(ow_money_npv(0.12, course, 4), -32828.44, 0.01);
    check_near(ow_money_npv(0.12, course, 5), 5302.64, 0.01);
    assert_true(ow_money_payback(0.12, course, 6, &years));
    check_near(years, 3.0 + 32828.44 / 38131.08, 1e-6);
    // Ross, Westerfield & Jordan, Fundamentals of Corporate Finance, problem on discounted payback at 14 %
    // (read in a copy).
    const struct { double cost, years; } rows[] = {{5200, 1.96}, {5400, 2.03}, {10400, 3.65}};
    for (size_t i = 0; i < 3; i++) {
        const double flows[] = {-rows[i].cost, 2800, 3700, 5100, 4300};
        assert_true(ow_money_payback(0.14, flows, 5, &years));
        check_near(years, rows[i].years, 0.006);
    }
    // A placement machine of 500,000 that saves 92,500 a year at 10 % (read in a copy): 8.17 years.
    double machine[10] = {-500000};
    for (int t = 1; t < 10; t++) {
        machine[t] = 92500;
    }
    assert_true(ow_money_payback(0.10, machine, 10, &years));
    check_near(years, 8.17, 0.006);
}

static void published_rates(void **state) {
    (void)state;
    double rate = 0.0;
    int crossings = 0;
    // SS spreadsheet, user's guide, IRR: -700, 750, 900, 600, 850 gives 1.0462142.
    const double one[] = {-700, 750, 900, 600, 850};
    assert_true(ow_money_irr(one, 5, &rate, &crossings));
    check_near(rate, 1.0462142, 6e-8);
    assert_int_equal(crossings, 1);
    // The same guide: -80, 90, 67, 72, -90 gives -0.32606171. Its flows change sign twice: there is a second
    // rate above it, which is the one an investor would be told.
    const double two[] = {-80, 90, 67, 72, -90};
    check_near(ow_money_npv(-0.32606171, two, 5), 0.0, 2e-5);
    assert_true(ow_money_irr(two, 5, &rate, &crossings));
    assert_int_equal(crossings, 2);
    assert_true(rate > 0.0);
    check_near(ow_money_npv(rate, two, 5), 0.0, 1e-9);
    // Documentation of numpy-financial, irr (from memory, and checked against the npm port in suite
    // independent).
    const double numpy[] = {-100, 39, 59, 55, 20};
    assert_true(ow_money_irr(numpy, 5, &rate, NULL));
    check_near(rate, 0.28095, 5e-6);
}

static void rates_by_closed_form(void **state) {
    (void)state;
    double rate = 0.0;
    int crossings = 9;
    const double simple[] = {-100, 110};
    assert_true(ow_money_irr(simple, 2, &rate, NULL));
    check_near(rate, 0.10, 1e-13);
    // (1 + r)^2 - 5 (1 + r) + 6 = 0: r = 1 and 2; the smaller is told.
    const double both[] = {-1, 5, -6};
    assert_true(ow_money_irr(both, 3, &rate, &crossings));
    assert_int_equal(crossings, 2);
    check_near(rate, 1.0, 1e-12);
    const double all[] = {10, 20}, none[] = {0, 0, 0}, lost[] = {-100, 1};
    assert_false(ow_money_irr(all, 2, &rate, &crossings));
    assert_int_equal(crossings, 0);
    assert_false(ow_money_irr(none, 3, &rate, NULL));
    assert_false(ow_money_irr(lost, 2, &rate, NULL)); // -99 %, below what is looked for
}

static void annuities(void **state) {
    (void)state;
    // The present-worth factors at 10 % printed with the placement machine, one by one: 0.9091 ... 0.4241.
    const double printed[] = {0.9091, 0.8264, 0.7513, 0.6830, 0.6209, 0.5645, 0.5132, 0.4665, 0.4241};
    double sum = 0.0;
    for (int t = 0; t < 9; t++) {
        sum += printed[t];
        check_near(ow_money_annuity(0.10, 0.0, t + 1), sum, 5e-4);
    }
    // Modified uniform present worth, (1+e)/(d-e) [1 - ((1+e)/(1+d))^n] (NIST Handbook 135; US GSA,
    // Facilities Standards).
    const double d = 0.03, e = 0.02;
    check_near(ow_money_annuity(d, e, 20), (1 + e) / (d - e) * (1 - pow((1 + e) / (1 + d), 20)), 1e-9);
    check_near(ow_money_annuity(0.0, 0.0, 8), 8.0, 1e-12);
    check_near(ow_money_annuity(0.05, 0.05, 8), 8.0, 1e-12);
    check_near(ow_money_annuity(0.05, 0.05 + 1e-11, 8), 8.0, 1e-8); // no jump beside the limit
    for (int n = 1; n <= 40; n++) {
        double direct = 0.0;
        for (int t = 1; t <= n; t++) {
            direct += pow(1.07 / 1.04, t);
        }
        check_near(ow_money_annuity(0.04, 0.07, n) / direct, 1.0, 1e-12);
    }
}

static void payback_that_does_not_last(void **state) {
    (void)state;
    double years = -1.0;
    const double relapse[] = {-100, 120, -50,
                              60}; // back after a year, lost again, back for good in the third
    assert_true(ow_money_payback(0.0, relapse, 4, &years));
    check_near(years, 2.0 + 30.0 / 60.0, 1e-12);
    const double lost[] = {-100, 120, -50};
    assert_false(ow_money_payback(0.0, lost, 3, &years));
    const double at_once[] = {0, 10};
    assert_true(ow_money_payback(0.0, at_once, 2, &years));
    check_near(years, 0.0, 0.0);
    assert_false(ow_money_payback(-1.0, lost, 3, &years));
    assert_false(ow_money_payback(0.0, NULL, 3, &years));
    check_near(ow_money_npv(-2.0, lost, 3), 0.0, 0.0);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(published_npv_and_payback),  cmocka_unit_test(published_rates),
        cmocka_unit_test(rates_by_closed_form),       cmocka_unit_test(annuities),
        cmocka_unit_test(payback_that_does_not_last),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
