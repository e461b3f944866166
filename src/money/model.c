// SPDX-License-Identifier: GPL-3.0-or-later
// The reckoning: quantities of a year, every cost as a line, cash flows, worth. Equations:
// docs/theory/money.md.
#include "money/money_impl.h"

#include <math.h>
#include <string.h>

static const struct {
    const char *text;
    bool is_work;
} lines[OW_COST_LINES] = {
    [OW_COST_LINE_OIL] = {"oil at the door", false},
    [OW_COST_LINE_DRIVING] = {"collection driving", false},
    [OW_COST_LINE_ELECTRICITY] = {"electricity", false},
    [OW_COST_LINE_FILTERS] = {"yard filters", false},
    [OW_COST_LINE_TESTS] = {"tests", false},
    [OW_COST_LINE_ADDITIVES] = {"additives", false},
    [OW_COST_LINE_WASTE] = {"waste fees", false},
    [OW_COST_LINE_EQUIPMENT] = {"yard equipment", false},
    [OW_COST_LINE_PERMITS] = {"permits, insurance", false},
    [OW_COST_LINE_DUTY] = {"fuel duty", false},
    [OW_COST_LINE_PURGE] = {"diesel to start, purge", false},
    [OW_COST_LINE_PARTS] = {"conversion parts", false},
    [OW_COST_LINE_VEHICLE_FILTERS] = {"extra vehicle filters", false},
    [OW_COST_LINE_LUBE] = {"extra lube changes", false},
    [OW_COST_LINE_UPKEEP] = {"injection upkeep", false},
    [OW_COST_LINE_RISK] = {"engine-risk allowance", false},
    [OW_COST_LINE_RESALE] = {"loss at resale", false},
    [OW_COST_LINE_LOAN] = {"cost of the loan", false},
    [OW_COST_LINE_PICKUP_WORK] = {"work: collecting", true},
    [OW_COST_LINE_YARD_WORK] = {"work: yard", true},
    [OW_COST_LINE_CONVERSION_WORK] = {"work: conversion", true},
    [OW_COST_LINE_UPKEEP_WORK] = {"work: vehicle upkeep", true},
};

const char *ow_cost_line_text(OwCostLine line) {
    return (unsigned)line < OW_COST_LINES ? lines[line].text : "?";
}

bool ow_cost_line_is_work(OwCostLine line) {
    return (unsigned)line < OW_COST_LINES && lines[line].is_work;
}

/// Money of a plan that does not come round evenly: at the end of each year.
typedef struct Lumps {
    double equipment[OW_COST_MAX_YEARS + 1], loan[OW_COST_MAX_YEARS + 1];
} Lumps;

/// Bought at the start and again at the end of each life; what the last one has left comes back at the end.
static void spread_equipment(double price, double life, int years, double *flow) {
    flow[0] += price;
    int bought = 1;
    while (bought * life < years) {
        flow[(int)ceil(bought * life - 1e-9)] += price;
        bought++;
    }
    flow[years] -= price * (bought * life - years) / life;
}

/// What is borrowed at the start and paid back in equal parts; the rest at the end when the loan runs longer.
static void spread_loan(double sum, double rate, int loan_years, int years, double *flow) {
    const double part = sum / ow_money_annuity(rate, 0.0, loan_years);
    double owed = sum;
    flow[0] -= sum;
    for (int t = 1; t <= years && t <= loan_years; t++) {
        owed = owed * (1.0 + rate) - part;
        flow[t] += part;
    }
    if (loan_years > years) {
        flow[years] += owed;
    }
}

static double hold(double value, const OwCostRow *row) {
    return value >= row->least ? (value <= row->most ? value : row->most) : row->least; // NaN: the low end
}

static void take_quantities(const double *v, OwCostReckoning *out) {
    out->distance_oil_m_y = v[OW_COST_DISTANCE] * v[OW_COST_OIL_SHARE];
    out->diesel_m3_y = v[OW_COST_DIESEL_USE] * out->distance_oil_m_y;
    out->oil_m3_y = out->diesel_m3_y / v[OW_COST_ENERGY_RATIO];
    out->raw_m3_y = out->oil_m3_y / (1.0 - v[OW_COST_LOSS]);
    out->waste_m3_y = out->raw_m3_y - out->oil_m3_y;
    out->pickups_y = out->raw_m3_y / v[OW_COST_PICKUP_VOLUME];
    out->batches_y = out->raw_m3_y / v[OW_COST_BATCH];
    out->hours_y = out->pickups_y * v[OW_COST_PICKUP_TIME] + out->oil_m3_y * v[OW_COST_YARD_TIME] +
                   v[OW_COST_UPKEEP_TIME];
    out->hours_once = v[OW_COST_CONVERSION_TIME];
}

/// Lines that come round each year, at today's prices.
static void take_yearly(const double *v, OwCostReckoning *out) {
    double *line = out->line;
    line[OW_COST_LINE_OIL] = out->raw_m3_y * v[OW_COST_OIL_PRICE];
    line[OW_COST_LINE_DRIVING] = out->pickups_y * v[OW_COST_PICKUP_DISTANCE] * v[OW_COST_PICKUP_RATE];
    line[OW_COST_LINE_ELECTRICITY] = out->oil_m3_y * v[OW_COST_ENERGY] * v[OW_COST_ENERGY_PRICE];
    line[OW_COST_LINE_FILTERS] = out->oil_m3_y * v[OW_COST_YARD_FILTERS];
    line[OW_COST_LINE_TESTS] = out->batches_y * v[OW_COST_TESTS];
    line[OW_COST_LINE_ADDITIVES] = out->oil_m3_y * v[OW_COST_ADDITIVES];
    line[OW_COST_LINE_WASTE] = out->waste_m3_y * v[OW_COST_WASTE_FEE];
    line[OW_COST_LINE_PERMITS] = v[OW_COST_PERMITS];
    line[OW_COST_LINE_DUTY] = out->oil_m3_y * v[OW_COST_DUTY];
    line[OW_COST_LINE_VEHICLE_FILTERS] = v[OW_COST_FILTER_PRICE] * out->distance_oil_m_y *
                                         (1.0 / v[OW_COST_FILTER_OIL] - 1.0 / v[OW_COST_FILTER_DIESEL]);
    line[OW_COST_LINE_LUBE] = v[OW_COST_LUBE_PRICE] * out->distance_oil_m_y *
                              (1.0 / v[OW_COST_LUBE_OIL] - 1.0 / v[OW_COST_LUBE_DIESEL]);
    line[OW_COST_LINE_UPKEEP] = out->distance_oil_m_y * v[OW_COST_UPKEEP];
    line[OW_COST_LINE_RISK] = v[OW_COST_RISK_CHANCE] * v[OW_COST_RISK_COST];
    line[OW_COST_LINE_PICKUP_WORK] = out->pickups_y * v[OW_COST_PICKUP_TIME] * v[OW_COST_HOUR];
    line[OW_COST_LINE_YARD_WORK] = out->oil_m3_y * v[OW_COST_YARD_TIME] * v[OW_COST_HOUR];
    line[OW_COST_LINE_UPKEEP_WORK] = v[OW_COST_UPKEEP_TIME] * v[OW_COST_HOUR];
}

static double sum_lines(const double *line, bool with_work) {
    double sum = 0.0;
    for (int i = 0; i < OW_COST_LINES; i++) {
        sum += with_work || !lines[i].is_work ? line[i] : 0.0;
    }
    return sum;
}

static void finish_side(const double *v, int years, bool is_short, OwCostReckoning *out, int s) {
    OwCostSide *side = &out->side[s];
    const int count = years + 1;
    side->npv = ow_money_npv(v[OW_COST_DISCOUNT], side->flows, count);
    side->cost_year = sum_lines(out->line, s == 1);
    side->saving_year = out->diesel_year - side->cost_year;
    side->cost_m3 = out->oil_m3_y > 0.0 ? side->cost_year / out->oil_m3_y : 0.0;
    side->cost_m = out->distance_oil_m_y > 0.0 ? side->cost_year / out->distance_oil_m_y : 0.0;
    if (!is_short) {
        side->has_payback = ow_money_payback(0.0, side->flows, count, &side->payback_y);
        side->has_discounted = ow_money_payback(v[OW_COST_DISCOUNT], side->flows, count, &side->discounted_y);
        side->has_irr = ow_money_irr(side->flows, count, &side->irr, NULL);
    }
}

void ow_cost_reckon_some(const OwCostPlan *plan, const double values[OW_COST_INPUTS], bool is_short,
                         OwCostReckoning *out) {
    double v[OW_COST_INPUTS];
    for (int i = 0; i < OW_COST_INPUTS; i++) {
        v[i] = hold(values[i], &ow_cost_rows[i]);
    }
    memset(out, 0, sizeof *out);
    const int years = plan->years < 1 ? 1 : plan->years > OW_COST_MAX_YEARS ? OW_COST_MAX_YEARS : plan->years;
    const int loan_years = plan->loan_years < 1                   ? 1
                           : plan->loan_years > OW_COST_MAX_YEARS ? OW_COST_MAX_YEARS
                                                                  : plan->loan_years;
    const double rate = v[OW_COST_DISCOUNT];
    const double even = ow_money_annuity(rate, 0.0, years);
    const double rising = ow_money_annuity(rate, v[OW_COST_GROWTH], years);
    take_quantities(v, out);
    take_yearly(v, out);

    Lumps lumps = {{0.0}, {0.0}};
    spread_equipment(v[OW_COST_EQUIPMENT], v[OW_COST_EQUIPMENT_LIFE], years, lumps.equipment);
    spread_loan(v[OW_COST_LOAN_SHARE] * (v[OW_COST_EQUIPMENT] + v[OW_COST_PARTS]), v[OW_COST_LOAN_RATE],
                loan_years, years, lumps.loan);
    const double once_work = v[OW_COST_CONVERSION_TIME] * v[OW_COST_HOUR];
    const double purge = v[OW_COST_PURGE_DIESEL] * v[OW_COST_TRIPS] * v[OW_COST_DIESEL_PRICE];
    const double diesel = out->diesel_m3_y * v[OW_COST_DIESEL_PRICE];
    const double yearly = sum_lines(out->line, false);
    const double yearly_work = sum_lines(out->line, true) - yearly;
    double growth = 1.0;
    for (int t = 0; t <= years; t++) {
        const double running = t > 0 ? (diesel - purge) * growth - yearly : -v[OW_COST_PARTS];
        const double end = t == years ? v[OW_COST_RESALE_LOSS] : 0.0;
        const double flow = running - end - lumps.equipment[t] - lumps.loan[t];
        out->side[0].flows[t] = flow;
        out->side[1].flows[t] = flow - (t > 0 ? yearly_work : once_work);
        growth *= 1.0 + v[OW_COST_GROWTH];
    }

    // What is not even is spread evenly: present worth over that of 1 a year.
    double *line = out->line;
    line[OW_COST_LINE_EQUIPMENT] = ow_money_npv(rate, lumps.equipment, years + 1) / even;
    line[OW_COST_LINE_LOAN] = ow_money_npv(rate, lumps.loan, years + 1) / even;
    line[OW_COST_LINE_PURGE] = purge * rising / even;
    line[OW_COST_LINE_PARTS] = v[OW_COST_PARTS] / even;
    line[OW_COST_LINE_RESALE] = v[OW_COST_RESALE_LOSS] * pow(1.0 + rate, -years) / even;
    line[OW_COST_LINE_CONVERSION_WORK] = once_work / even;
    out->diesel_year = diesel * rising / even;
    out->diesel_m = out->distance_oil_m_y > 0.0 ? out->diesel_year / out->distance_oil_m_y : 0.0;
    for (int s = 0; s < 2; s++) {
        out->side[s].running_year = diesel - purge - yearly - (s == 1 ? yearly_work : 0.0);
        finish_side(v, years, is_short, out, s);
    }
    const double hours = out->hours_once + out->hours_y * even; // worth of 1 a second of work
    out->has_hour = hours > 0.0;
    out->hour = out->has_hour ? out->side[0].npv / hours : 0.0;
}

void ow_cost_reckon(const OwCostPlan *plan, const double values[OW_COST_INPUTS], OwCostReckoning *out) {
    ow_cost_reckon_some(plan, values, false, out);
}
