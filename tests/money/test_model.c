// SPDX-License-Identifier: GPL-3.0-or-later
// The reckoning: closed forms, identities and properties on random figures.
#include "common.h"

static double sum_lines(const OwCostReckoning *r, bool with_work) {
    double sum = 0.0;
    for (int i = 0; i < OW_COST_LINES; i++) {
        sum += with_work || !ow_cost_line_is_work((OwCostLine)i) ? r->line[i] : 0.0;
    }
    return sum;
}

/// Figures well beyond the defaults' ranges; ow_cost_reckon holds them at the legal ends.
static void random_values(const OwCostPlan *plan, uint64_t *state, double *values) {
    for (int i = 0; i < OW_COST_INPUTS; i++) {
        const OwCostValue *v = &plan->inputs[i];
        const double width = v->high - v->low > 0.0 ? v->high - v->low : fabs(v->value) + 0.1;
        values[i] = v->low + width * (3.0 * random_share(state) - 1.0);
    }
}

static void nothing_costs_nothing(void **state) {
    (void)state;
    const OwCostPlan plan = free_plan();
    double values[OW_COST_INPUTS];
    ow_cost_likely(&plan, values);
    OwCostReckoning r;
    ow_cost_reckon(&plan, values, &r);
    for (int i = 0; i < OW_COST_LINES; i++) {
        assert_true(r.line[i] == 0.0);
    }
    for (int s = 0; s < 2; s++) {
        assert_true(r.side[s].cost_year == 0.0 && r.side[s].cost_m3 == 0.0 && r.side[s].cost_m == 0.0);
        assert_true(r.side[s].has_payback && r.side[s].payback_y == 0.0);
        assert_false(r.side[s].has_irr); // nothing was put in
    }
    // 15000 km at 90 % on oil and 8 L/100 km, 1.50 a litre.
    check_near(r.diesel_year, 15000 * 0.9 * 0.08 * 1.5, 1e-9);
    check_near(r.side[0].saving_year, r.diesel_year, 1e-9);
}

static void quantities_by_hand(void **state) {
    (void)state;
    OwCostPlan plan = free_plan();
    plan.inputs[OW_COST_ENERGY_RATIO].value = 0.9;
    plan.inputs[OW_COST_LOSS].value = 0.2;
    plan.inputs[OW_COST_PICKUP_TIME].value = 1800.0;
    plan.inputs[OW_COST_YARD_TIME].value = 36000.0; // 1 h per 100 L
    double values[OW_COST_INPUTS];
    ow_cost_likely(&plan, values);
    OwCostReckoning r;
    ow_cost_reckon(&plan, values, &r);
    check_near(r.diesel_m3_y, 1.08, 1e-12); // 13500 km of 8 L/100 km
    check_near(r.oil_m3_y, 1.2, 1e-12);     // over 0.9
    check_near(r.raw_m3_y, 1.5, 1e-12);     // a fifth is lost
    check_near(r.waste_m3_y, 0.3, 1e-12);
    check_near(r.pickups_y, 30.0, 1e-9); // of 50 L
    check_near(r.batches_y, 7.5, 1e-9);  // of 200 L
    check_near(r.hours_y, 30 * 1800.0 + 12 * 3600.0, 1e-6);
}

/// Each line alone, worked out by hand in litres, kilometres and hours.
static void lines_by_hand(void **state) {
    (void)state;
    OwCostPlan plan = free_plan();
    plan.inputs[OW_COST_ENERGY_RATIO].value = 0.9;
    plan.inputs[OW_COST_LOSS].value = 0.2;
    plan.inputs[OW_COST_DISCOUNT].value = 0.0;
    plan.inputs[OW_COST_RISK_CHANCE].value = 0.02;
    plan.inputs[OW_COST_RISK_COST].value = 0.0;
    plan.inputs[OW_COST_HOUR].value = 10.0 / 3600.0;
    // 15000 km, 90 % on oil, 8 L/100 km: 1080 L of diesel, 1200 L of oil, 1500 L collected, 300 L of waste;
    // 30 pick-ups of 50 L and 10 km, 7.5 batches of 200 L; 350 trips; over eight years without interest.
    const double km = 13500;
    const struct {
        OwCostInput input;
        double value;
        OwCostLine line;
        double wanted;
    } rows[] = {
        {OW_COST_OIL_PRICE, 0.1e3, OW_COST_LINE_OIL, 1500 * 0.1},
        {OW_COST_PICKUP_RATE, 0.3e-3, OW_COST_LINE_DRIVING, 30 * 10 * 0.3},
        {OW_COST_ENERGY_PRICE, 0.3 / 3.6e6, OW_COST_LINE_ELECTRICITY, 1200 * 0.08 * 0.3},
        {OW_COST_YARD_FILTERS, 0.02e3, OW_COST_LINE_FILTERS, 1200 * 0.02},
        {OW_COST_TESTS, 2.0, OW_COST_LINE_TESTS, 7.5 * 2},
        {OW_COST_ADDITIVES, 0.01e3, OW_COST_LINE_ADDITIVES, 1200 * 0.01},
        {OW_COST_WASTE_FEE, 0.5e3, OW_COST_LINE_WASTE, 300 * 0.5},
        {OW_COST_EQUIPMENT, 400.0, OW_COST_LINE_EQUIPMENT, 400.0 / 8},
        {OW_COST_PERMITS, 70.0, OW_COST_LINE_PERMITS, 70.0},
        {OW_COST_DUTY, 0.4e3, OW_COST_LINE_DUTY, 1200 * 0.4},
        {OW_COST_PURGE_DIESEL, 0.1e-3, OW_COST_LINE_PURGE, 350 * 0.1 * 1.5},
        {OW_COST_PARTS, 900.0, OW_COST_LINE_PARTS, 900.0 / 8},
        {OW_COST_FILTER_PRICE, 15.0, OW_COST_LINE_VEHICLE_FILTERS, 15 * (km / 8000 - km / 30000)},
        {OW_COST_LUBE_PRICE, 60.0, OW_COST_LINE_LUBE, 60 * (km / 7500 - km / 15000)},
        {OW_COST_UPKEEP, 0.005e-3, OW_COST_LINE_UPKEEP, km * 0.005},
        {OW_COST_RISK_COST, 2000.0, OW_COST_LINE_RISK, 40.0},
        {OW_COST_RESALE_LOSS, 240.0, OW_COST_LINE_RESALE, 30.0},
        {OW_COST_PICKUP_TIME, 1800.0, OW_COST_LINE_PICKUP_WORK, 15 * 10.0},
        {OW_COST_YARD_TIME, 72000.0, OW_COST_LINE_YARD_WORK, 24 * 10.0},
        {OW_COST_CONVERSION_TIME, 90000.0, OW_COST_LINE_CONVERSION_WORK, 25 * 10.0 / 8},
        {OW_COST_UPKEEP_TIME, 18000.0, OW_COST_LINE_UPKEEP_WORK, 5 * 10.0},
    };
    assert_int_equal(sizeof rows / sizeof rows[0], OW_COST_LINES - 1); // the loan has a test of its own
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        double values[OW_COST_INPUTS];
        ow_cost_likely(&plan, values);
        values[rows[i].input] = rows[i].value;
        OwCostReckoning r;
        ow_cost_reckon(&plan, values, &r);
        for (int line = 0; line < OW_COST_LINES; line++) {
            check_near(r.line[line], line == (int)rows[i].line ? rows[i].wanted : 0.0, 1e-9);
        }
        const bool is_work = ow_cost_line_is_work(rows[i].line);
        check_near(r.side[0].cost_year, is_work ? 0.0 : rows[i].wanted, 1e-9);
        check_near(r.side[1].cost_m3, rows[i].wanted / 1.2, 1e-9);
        check_near(r.side[1].cost_m, rows[i].wanted / 1.35e7, 1e-15);
    }
}

/// The lines are worked out one way, the cash flows another: both must give the same worth.
static void lines_and_flows_agree(void **state) {
    (void)state;
    uint64_t random = 7;
    for (int n = 0; n < 20000; n++) {
        OwCostPlan plan;
        ow_cost_default(&plan);
        plan.years = 1 + (int)(random_share(&random) * OW_COST_MAX_YEARS);
        plan.loan_years = 1 + (int)(random_share(&random) * OW_COST_MAX_YEARS);
        double values[OW_COST_INPUTS];
        random_values(&plan, &random, values);
        OwCostReckoning r;
        ow_cost_reckon(&plan, values, &r);
        const double rate = fmin(fmax(values[OW_COST_DISCOUNT], 0.0), 0.5);
        const double even = ow_money_annuity(rate, 0.0, plan.years);
        for (int s = 0; s < 2; s++) {
            const OwCostSide *side = &r.side[s];
            const double sum = sum_lines(&r, s == 1);
            const double scale = fabs(side->cost_year) + r.diesel_year + fabs(side->npv) + 1.0;
            assert_true(side->cost_year == sum); // to the last digit: what is printed adds up
            check_near(side->saving_year, r.diesel_year - sum, 1e-12 * scale);
            check_near(side->npv, even * side->saving_year, 1e-9 * scale * even);
            assert_true(!side->has_payback || (side->payback_y >= 0.0 && side->payback_y <= plan.years));
            assert_true(!side->has_irr ||
                        fabs(ow_money_npv(side->irr, side->flows, plan.years + 1)) <
                            1e-6 * scale * plan.years * (side->irr < 0.0 ? pow(20.0, plan.years) : 1.0));
            // Paid back with interest means paid back without, and means worth.
            assert_true(!side->has_discounted || side->npv >= -1e-9 * scale);
            assert_true(isfinite(side->cost_m3) && isfinite(side->cost_m) && isfinite(side->running_year));
        }
        assert_true(r.side[1].npv <= r.side[0].npv + 1e-9);
        if (r.has_hour && values[OW_COST_HOUR] > 0.0) { // at that rate an hour leaves nothing over
            double at[OW_COST_INPUTS];
            memcpy(at, values, sizeof at);
            at[OW_COST_HOUR] = r.hour;
            OwCostReckoning again;
            if (r.hour >= 0.0 && r.hour <= 1000.0 / 3600.0) {
                ow_cost_reckon(&plan, at, &again);
                check_near(again.side[1].npv, 0.0, 1e-7 * (fabs(r.side[0].npv) + 1.0));
            }
        }
    }
}

/// Ten times the money of everything is ten times every result, and changes no time and no rate.
static void money_has_no_scale(void **state) {
    (void)state;
    static const OwCostInput money[] = {
        OW_COST_DIESEL_PRICE, OW_COST_DUTY,         OW_COST_OIL_PRICE, OW_COST_PICKUP_RATE,
        OW_COST_ENERGY_PRICE, OW_COST_YARD_FILTERS, OW_COST_WASTE_FEE, OW_COST_TESTS,
        OW_COST_ADDITIVES,    OW_COST_EQUIPMENT,    OW_COST_PERMITS,   OW_COST_PARTS,
        OW_COST_FILTER_PRICE, OW_COST_LUBE_PRICE,   OW_COST_UPKEEP,    OW_COST_RISK_COST,
        OW_COST_RESALE_LOSS,  OW_COST_HOUR,
    };
    OwCostPlan plan;
    ow_cost_default(&plan);
    plan.inputs[OW_COST_LOAN_SHARE].value = 0.5;
    double values[OW_COST_INPUTS];
    ow_cost_likely(&plan, values);
    OwCostReckoning a, b;
    ow_cost_reckon(&plan, values, &a);
    for (size_t i = 0; i < sizeof money / sizeof money[0]; i++) {
        values[money[i]] *= 10.0;
    }
    ow_cost_reckon(&plan, values, &b);
    for (int i = 0; i < OW_COST_LINES; i++) {
        check_near(b.line[i], 10.0 * a.line[i], 1e-9 * (1.0 + fabs(b.line[i])));
    }
    for (int s = 0; s < 2; s++) {
        check_near(b.side[s].npv, 10.0 * a.side[s].npv, 1e-6);
        check_near(b.side[s].payback_y, a.side[s].payback_y, 1e-9);
        check_near(b.side[s].irr, a.side[s].irr, 1e-9);
    }
}

static void break_evens_by_closed_form(void **state) {
    (void)state;
    OwCostPlan plan = free_plan();
    plan.counts_hours = true;
    plan.inputs[OW_COST_PARTS].value = 900.0;
    plan.inputs[OW_COST_CONVERSION_TIME].value = 72000.0; // 20 h
    OwCostAnswer answer;
    ow_cost_answer(&plan, OW_DISPLAY_METRIC, &answer);
    const double even = (1.0 - pow(1.04, -8)) / 0.04; // textbook annuity at the default 4 %, 8 years
    const double litres = 15000 * 0.9 * 0.08, once = 900.0 + 20 * 15.0;
    assert_true(answer.has_diesel_price && answer.has_distance && answer.likely.has_hour);
    check_near(answer.diesel_price / 1000.0, once / (litres * even), 1e-10);
    check_near(answer.distance / 1000.0, once / (0.9 * 0.08 * 1.5 * even), 1e-6);
    check_near(answer.litres_m3_y, answer.likely.oil_m3_y * answer.distance / 1.5e7, 1e-12);
    check_near(answer.likely.hour * 3600.0, (litres * 1.5 * even - 900.0) / 20.0, 1e-9);
    check_near(answer.likely.side[1].payback_y, once / (litres * 1.5), 1e-12);
    check_near(answer.likely.side[1].cost_year, once / even, 1e-9);
    assert_int_equal(answer.mend_count, 0);
    assert_non_null(strstr(answer.verdict, "Pays back in 9 months"));
}

static void never_says_why_and_what_would(void **state) {
    (void)state;
    OwCostPlan plan = free_plan();
    plan.inputs[OW_COST_OIL_PRICE].value = 2000.0; // dearer than diesel
    plan.inputs[OW_COST_PARTS].value = 900.0;
    OwCostAnswer answer;
    ow_cost_answer(&plan, OW_DISPLAY_METRIC, &answer);
    assert_non_null(strstr(answer.verdict, "Never pays back: a year on oil costs"));
    assert_false(answer.likely.side[1].has_payback || answer.likely.side[1].has_irr || answer.pays[1]);
    assert_true(answer.mend_count > 0);
    // Each change that is named does make it pay, and a hair less does not.
    double values[OW_COST_INPUTS];
    for (int i = 0; i < answer.mend_count; i++) {
        const OwCostMend *m = &answer.mends[i];
        for (int beyond = 0; beyond < 2; beyond++) {
            ow_cost_likely(&plan, values);
            assert_true(values[m->input] == m->from);
            values[m->input] = m->to + (beyond ? 1e-6 : -1e-6) * (m->to - m->from);
            OwCostReckoning r;
            ow_cost_reckon(&plan, values, &r);
            assert_true((r.side[1].npv > 0.0) == (beyond == 1));
        }
    }
    // Too little saved for what is spent.
    plan = free_plan();
    plan.inputs[OW_COST_PARTS].value = 50000.0;
    ow_cost_answer(&plan, OW_DISPLAY_METRIC, &answer);
    assert_non_null(strstr(answer.verdict, "Does not pay back within 8 years"));
    plan.inputs[OW_COST_OIL_SHARE].value = 0.0;
    ow_cost_answer(&plan, OW_DISPLAY_METRIC, &answer);
    assert_non_null(strstr(answer.verdict, "no distance is driven on oil"));
    assert_true(answer.likely.side[0].cost_m3 == 0.0);
}

/// Equipment bought again when its life is over, the unused rest credited; a loan at the discount rate costs
/// nothing.
static void lumps(void **state) {
    (void)state;
    OwCostPlan plan = free_plan();
    plan.years = 8;
    plan.inputs[OW_COST_EQUIPMENT].value = 100.0;
    plan.inputs[OW_COST_EQUIPMENT_LIFE].value = 3.0;
    plan.inputs[OW_COST_DISCOUNT].value = 0.0;
    double values[OW_COST_INPUTS];
    ow_cost_likely(&plan, values);
    OwCostReckoning r;
    ow_cost_reckon(&plan, values, &r);
    const double diesel = r.diesel_year;
    const double wanted[] = {-100, 0, 0, -100, 0, 0, -100, 0, 100.0 / 3.0};
    for (int t = 0; t <= 8; t++) {
        check_near(r.side[0].flows[t] - (t > 0 ? diesel : 0.0), wanted[t], 1e-9);
    }
    check_near(r.line[OW_COST_LINE_EQUIPMENT], 100.0 / 3.0, 1e-9); // straight line: a third a year
    values[OW_COST_DISCOUNT] = values[OW_COST_LOAN_RATE] = 0.07;
    values[OW_COST_LOAN_SHARE] = 1.0;
    for (plan.loan_years = 1; plan.loan_years <= 12; plan.loan_years++) { // also longer than the 8 years
        ow_cost_reckon(&plan, values, &r);
        check_near(r.line[OW_COST_LINE_LOAN], 0.0, 1e-10);
    }
    values[OW_COST_LOAN_RATE] = 0.12;
    plan.loan_years = 5;
    ow_cost_reckon(&plan, values, &r);
    // Textbook: pay 100 r/(1 - (1+r)^-n) for five years, worth at 7 %, spread over eight.
    const double part = 100 * 0.12 / (1 - pow(1.12, -5));
    check_near(r.line[OW_COST_LINE_LOAN],
               (part * (1 - pow(1.07, -5)) / 0.07 - 100.0) / ((1 - pow(1.07, -8)) / 0.07), 1e-9);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(nothing_costs_nothing),
        cmocka_unit_test(quantities_by_hand),
        cmocka_unit_test(lines_by_hand),
        cmocka_unit_test(lines_and_flows_agree),
        cmocka_unit_test(money_has_no_scale),
        cmocka_unit_test(break_evens_by_closed_form),
        cmocka_unit_test(never_says_why_and_what_would),
        cmocka_unit_test(lumps),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
