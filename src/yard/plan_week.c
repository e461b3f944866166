// SPDX-License-Identifier: GPL-3.0-or-later
// A batch as a whole, and the week that follows from it: what holds it up, what it takes, what a litre costs.
#include "yard/guard.h"
#include "yard/plan_walk.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define WEEK_S (7.0 * 86400.0)

OwStatus ow_yard_batch_create(const OwYard *yard, OwDisplay display, OwYardBatch **batch) {
    if (batch == NULL) {
        return OW_ERROR_USE;
    }
    *batch = NULL;
    if (yard == NULL) {
        return OW_ERROR_USE;
    }
    OwFaults faults = {0};
    OwStatus status = ow_yard_check(yard, &faults);
    ow_faults_clear(&faults);
    if (status != OW_OK) {
        return status;
    }
    OwPlanKit kit;
    status = ow_yard_plan_kit_make(yard, &kit);
    if (status != OW_OK) {
        return status;
    }
    OwYardBatch *made = calloc(1, sizeof *made);
    if (made == NULL) {
        ow_yard_plan_kit_clear(&kit);
        return OW_ERROR_MEMORY;
    }
    made->display = display;
    ow_yard_plan_walk(yard, &kit, made);
    ow_yard_plan_judge(yard, made);
    status = ow_yard_plan_mend(yard, &kit, made);
    ow_yard_plan_kit_clear(&kit);
    if (status != OW_OK) {
        ow_yard_batch_destroy(&made);
    }
    *batch = made;
    return status;
}

void ow_yard_batch_destroy(OwYardBatch **batch) {
    if (batch != NULL) {
        free(*batch);
        *batch = NULL;
    }
}

const char *ow_yard_waste_text(OwYardWaste waste) {
    static const char *const texts[] = {"wet sludge", "oily water", "filter cake and bags", "oily rags"};
    return (unsigned)waste < OW_WASTE_COUNT ? texts[waste] : "?";
}

const char *ow_yard_waste_key(OwYardWaste waste) {
    static const char *const keys[] = {"sludge", "water", "cake", "rags"};
    return (unsigned)waste < OW_WASTE_COUNT ? keys[waste] : "?";
}

static double waste_price(const OwYardPrices *prices, int waste) {
    const double price[OW_WASTE_COUNT] = {prices->sludge_kg, prices->water_kg, prices->cake_kg,
                                          prices->rags_kg};
    return price[waste];
}

OwYardSums ow_yard_sums(const OwYard *yard, const OwYardBatch *batch) {
    OwYardSums sums = {0};
    if (yard == NULL || batch == NULL || !(batch->clean_m3 > 0.0)) {
        return sums;
    }
    const double per = 1.0 / batch->clean_m3;
    sums.clean_m3 = batch->clean_m3;
    sums.kwh = per * batch->energy_j / 3.6e6;
    sums.labour_s = per * batch->hands_on_s;
    sums.filter_cost = per * batch->filter_price;
    for (int i = 0; i < OW_WASTE_COUNT; i++) {
        sums.waste_kg[i] = per * batch->waste_kg[i];
        sums.waste_total_kg += sums.waste_kg[i];
        sums.waste_cost += sums.waste_kg[i] * waste_price(&yard->prices, i);
    }
    sums.test_cost = per * yard->prices.tests;
    sums.blend_cost = per * batch->blend_price;
    // What a blend added is no gain: lost is what came in and is not in the product, volumes at the shed's
    // temperature by the share of oil that was kept.
    const double from_collected = batch->clean_m3 * batch->in.oil_kg / fmax(batch->balance.in.oil_kg, 1e-12);
    sums.collected_m3 = per * batch->in_m3;
    sums.lost_m3 = per * (batch->in_m3 - from_collected);
    sums.pick_up_s = sums.collected_m3 * yard->week.pick_up_s / yard->week.pick_up_m3;
    return sums;
}

static void cost(OwYardWeek *week, const char *key, const char *label, double money_week, bool is_counted) {
    const double litres = 1e3 * week->clean_m3;
    week->costs[week->cost_count++] = (OwWeekCost){.key = key,
                                                   .label = label,
                                                   .week = money_week,
                                                   .litre = litres > 0.0 ? money_week / litres : 0.0,
                                                   .is_counted = is_counted};
    week->cost_week += money_week;
    week->cost_litre += litres > 0.0 ? money_week / litres : 0.0;
}

static void cost_all(const OwYard *yard, const OwYardBatch *batch, OwYardWeek *week) {
    const OwYardPrices *p = &yard->prices;
    cost(week, "oil", "oil as it comes", 1e3 * week->batches * batch->in_m3 * p->oil_l, true);
    cost(week, "electricity", "electricity", week->kwh * p->kwh, true);
    cost(week, "filters", "filters", week->batches * batch->filter_price, true);
    cost(week, "tests", "tests", week->batches * p->tests, true);
    if (batch->blend_price > 0.0) {
        cost(week, "blend", "oil blended in", week->batches * batch->blend_price, true);
    }
    static const char *const keys[OW_WASTE_COUNT] = {"waste_sludge", "waste_water", "waste_cake",
                                                     "waste_rags"};
    static const char *const labels[OW_WASTE_COUNT] = {"fee for sludge", "fee for oily water",
                                                       "fee for filter cake", "fee for rags"};
    for (int i = 0; i < OW_WASTE_COUNT; i++) {
        cost(week, keys[i], labels[i], week->waste_kg[i] * waste_price(p, i), true);
    }
    cost(week, "labour", "labour", week->hands_on_s / 3600.0 * p->hour, p->hour > 0.0);
}

/// Keeps the tighter of the limits on batches a week.
static void hold_to(OwYardWeek *week, double batches, OwWeekLimit limit, int vessel, int step) {
    if (batches < week->batches_possible) {
        week->batches_possible = batches;
        week->limit = limit;
        week->limit_vessel = vessel;
        week->limit_step = step;
    }
}

/// What one vessel of a kind allows: it stands round the clock, it is watched only in working hours.
static void hold_to_vessel(const OwYard *yard, const OwYardBatch *batch, int vessel, OwYardWeek *week) {
    double taken = 0.0, watched = 0.0, longest = 0.0, longest_watched = 0.0;
    int step = -1, watched_step = -1;
    for (int i = 0; i < batch->row_count; i++) {
        const OwYardRow *row = &batch->rows[i];
        const OwPlanStep *s = &yard->steps[row->step];
        if (s->vessel != vessel && s->into != vessel) {
            continue;
        }
        taken += row->elapsed_s;
        if (row->elapsed_s > longest) {
            longest = row->elapsed_s;
            step = row->step;
        }
        if (s->vessel == vessel) {
            watched += row->watched_s;
            if (row->watched_s > longest_watched) {
                longest_watched = row->watched_s;
                watched_step = row->step;
            }
        }
    }
    const int count = yard->vessels[vessel].count;
    if (taken > 0.0) {
        hold_to(week, count * WEEK_S / taken, OW_WEEK_VESSEL, vessel, step);
    }
    if (watched > 0.0) {
        hold_to(week, count * week->hours_s / watched, OW_WEEK_WATCH, vessel, watched_step);
    }
}

static void tell(const OwYard *yard, const OwYardBatch *batch, OwDisplay display, OwYardWeek *week) {
    char clean[64], left[64], hours[64];
    ow_units_write(week->clean_m3, OW_Q_VOLUME, display, clean, sizeof clean);
    ow_units_write(week->backlog_m3, OW_Q_VOLUME, display, left, sizeof left);
    ow_yard_plan_time_text(week->limit_step >= 0 ? batch->rows[week->limit_step].elapsed_s : 0.0, hours,
                           sizeof hours);
    const char *step = week->limit_step >= 0 ? yard->steps[week->limit_step].name : "";
    const char *vessel = week->limit_vessel >= 0 ? yard->vessels[week->limit_vessel].name : "";
    switch (week->limit) {
    case OW_WEEK_PICK_UPS:
        (void)snprintf(
            week->text, sizeof week->text,
            "%s of clean oil a week. What comes in sets the pace: pick-ups make %.2g batches a week, "
            "the yard could do %.2g.",
            clean, week->batches_wanted, week->batches_possible);
        break;
    case OW_WEEK_VESSEL:
        (void)snprintf(week->text, sizeof week->text,
                       "%s of clean oil a week. \"%.60s\" holds it up, most of all %.60s (%s); %s a week are "
                       "left standing. A second vessel or a shorter step there helps.",
                       clean, vessel, step, hours, left);
        break;
    case OW_WEEK_WATCH:
        (void)snprintf(
            week->text, sizeof week->text,
            "%s of clean oil a week. Hours in which heat or pump is watched hold it up, most of all "
            "%.60s in \"%.60s\"; %s a week are left standing.",
            clean, step, vessel, left);
        break;
    case OW_WEEK_HANDS:
        (void)snprintf(week->text, sizeof week->text,
                       "%s of clean oil a week. Work by hand holds it up, most of all %.60s; %s a week are "
                       "left standing.",
                       clean, step, left);
        break;
    default:
        (void)snprintf(week->text, sizeof week->text, "No clean oil comes out.");
    }
}

OwStatus ow_yard_week(const OwYard *yard, const OwYardBatch *batch, OwDisplay display, OwYardWeek *week) {
    if (yard == NULL || batch == NULL || week == NULL) {
        return OW_ERROR_USE;
    }
    *week = (OwYardWeek){.limit = OW_WEEK_NOTHING, .limit_vessel = -1, .limit_step = -1};
    const OwYardWeekSpec *spec = &yard->week;
    week->collected_m3 = spec->pick_ups * spec->pick_up_m3;
    week->batches_wanted = week->collected_m3 / spec->batch_m3;
    week->batches_possible = 1e6;
    week->hours_s = spec->days * spec->day_s;
    for (int v = 0; v < yard->vessel_count; v++) {
        hold_to_vessel(yard, batch, v, week);
    }
    // Hands: the pick-ups of a batch are part of its work.
    const double pick_up_s = spec->batch_m3 / spec->pick_up_m3 * spec->pick_up_s;
    double most = -1.0;
    int busiest = -1;
    for (int i = 0; i < batch->row_count; i++) {
        if (batch->rows[i].hands_on_s > most) {
            most = batch->rows[i].hands_on_s;
            busiest = batch->rows[i].step;
        }
    }
    const double hands_s = batch->hands_on_s + pick_up_s;
    if (hands_s > 0.0) {
        hold_to(week, week->hours_s / hands_s, OW_WEEK_HANDS, -1, busiest);
    }
    if (week->batches_wanted <= week->batches_possible) {
        week->limit = OW_WEEK_PICK_UPS;
        week->limit_vessel = week->limit_step = -1;
    }
    week->batches = fmin(week->batches_wanted, week->batches_possible);
    week->clean_m3 = week->batches * batch->clean_m3;
    week->backlog_m3 = fmax(week->collected_m3 - week->batches * spec->batch_m3, 0.0);
    week->hands_on_s = week->batches * hands_s;
    week->watched_s = week->batches * batch->watched_s;
    week->kwh = week->batches * batch->energy_j / 3.6e6;
    for (int i = 0; i < batch->row_count; i++) {
        week->filters += week->batches * batch->rows[i].filters;
    }
    for (int i = 0; i < OW_WASTE_COUNT; i++) {
        week->waste_kg[i] = week->batches * batch->waste_kg[i];
    }
    if (!(week->clean_m3 > 0.0)) {
        week->limit = OW_WEEK_NOTHING;
    }
    cost_all(yard, batch, week);
    tell(yard, batch, display, week);
    return OW_OK;
}
