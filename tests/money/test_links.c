// SPDX-License-Identifier: GPL-3.0-or-later
// A logbook and a yard plan put over a cost file: each figure by hand from what was written down.
#include "common.h"

#include "../logbook/support.h"
#include "cost_cli.h"

static OwUnits *units;
static char folder[256], path[512];

#define DAY 86400
static const int64_t start = 1767225600; // 2026-01-01

static void add_pickup(OwLogbook *book, int64_t at, double litres, double km, double minutes) {
    OwLogEntry e = entry_of(OW_LOG_PICKUP, at);
    set_text(&e, "source", "kitchen");
    set_si(&e, "volume", litres * 1e-3);
    set_text(&e, "into", "drum");
    set_si(&e, "distance", km * 1e3);
    set_si(&e, "work", minutes * 60);
    set_number(&e, "price", 300); // 3.00
    add(book, e);
}

static void add_fill(OwLogbook *book, int64_t at, double oil, double diesel, double km) {
    OwLogEntry e = entry_of(OW_LOG_FILL, at);
    set_text(&e, "vehicle", "van");
    if (oil > 0.0) {
        set_si(&e, "oil", oil * 1e-3);
        set_text(&e, "from", "drum");
    }
    if (diesel > 0.0) {
        set_si(&e, "diesel", diesel * 1e-3);
    }
    set_si(&e, "odometer", km * 1e3);
    add(book, e);
}

/// A year: 4 pick-ups of 250 L, one batch with 100 L lost, 800 L of oil and 100 L of diesel over 12,000 km, 3
/// filters.
static void make_book(void) {
    OwLogbook *book = open_book(path, OW_LOG_CREATE);
    (void)add_thing(book, OW_LOG_SOURCE, "kitchen", start);
    (void)add_thing(book, OW_LOG_VESSEL, "drum", start);
    (void)add_thing(book, OW_LOG_VEHICLE, "van", start);
    OwLogEntry batch = entry_of(OW_LOG_BATCH, start + DAY);
    set_text(&batch, "name", "first");
    for (int i = 0; i < 4; i++) {
        add_pickup(book, start + (10 + i) * DAY, 250, 8, 40);
    }
    set_text(&batch, "from", "drum");
    set_si(&batch, "volume", 0.2);
    batch.at_s = batch.made_s = start + 20 * DAY;
    add(book, batch);
    OwLogEntry step = entry_of(OW_LOG_STEP, start + 21 * DAY);
    set_text(&step, "batch", "first");
    set_number(&step, "what", OW_LOG_STEP_SETTLE);
    set_si(&step, "loss", 0.1);
    set_si(&step, "energy", 90 * 3.6e6);
    set_si(&step, "work", 18 * 3600);
    set_number(&step, "cost", 900); // 9.00
    add(book, step);
    add_fill(book, start, 0, 40, 50000);
    add_fill(book, start + 180 * DAY, 400, 60, 56000);
    add_fill(book, start + 365 * DAY, 400, 0, 62000);
    for (int i = 0; i < 3; i++) {
        OwLogEntry filter = entry_of(OW_LOG_FILTER, start + (i * 100 + 60) * DAY);
        set_text(&filter, "vehicle", "van");
        set_text(&filter, "filter", "oil filter");
        set_number(&filter, "reason", OW_LOG_REASON_PLUGGED);
        set_number(&filter, "price", 1400);
        add(book, filter);
    }
    OwLogEntry lube = entry_of(OW_LOG_REPAIR, start + 90 * DAY);
    set_text(&lube, "vehicle", "van");
    set_number(&lube, "what", OW_LOG_REPAIR_OIL_CHANGE);
    set_number(&lube, "cost", 5500);
    set_si(&lube, "work", 3600);
    add(book, lube);
    check_sound(book);
    ow_logbook_close(&book);
}

static void figures_of_a_logbook(void **state) {
    (void)state;
    OwCostPlan plan;
    OwCostTaken taken = {.log = ""};
    OwFaults faults = {0};
    ow_cost_default(&plan);
    plan.inputs[OW_COST_ENERGY_RATIO].value = 0.95;
    const OwStatus status = ow_cost_take_log(&plan, path, NULL, NULL, NULL, &taken, &faults);
    print_faults(&faults);
    assert_int_equal(status, OW_OK);
    assert_int_equal(faults.count, 0);
    const struct {
        OwCostInput input;
        double value;
    } rows[] = {
        {OW_COST_PICKUP_VOLUME, 0.25},
        {OW_COST_PICKUP_DISTANCE, 8000},
        {OW_COST_PICKUP_TIME, 2400},
        {OW_COST_OIL_PRICE, 12.0}, // 4 x 3.00 for 1 m3
        {OW_COST_LOSS, 0.1},
        {OW_COST_ENERGY, 90 * 3.6e6 / 0.9},
        {OW_COST_YARD_TIME, 18 * 3600 / 0.9},
        {OW_COST_YARD_FILTERS, 10.0}, // 9.00 for 0.9 m3
        {OW_COST_BATCH, 1.0},
        {OW_COST_DIESEL_USE, (0.8 * 0.95 + 0.1) / 1.2e7},
        {OW_COST_OIL_SHARE, 0.76 / 0.86},
        {OW_COST_DISTANCE, 1.2e7 * 365.25 / 365},
        {OW_COST_FILTER_OIL, 4e6},
        {OW_COST_FILTER_PRICE, 14.0},
        {OW_COST_LUBE_OIL, 1.2e7},
        {OW_COST_LUBE_PRICE, 55.0},
        {OW_COST_UPKEEP_TIME, 3600 * 365.25 / 365},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        const OwCostValue *v = &plan.inputs[rows[i].input];
        if (v->origin != OW_COST_FROM_LOG || fabs(v->value - rows[i].value) > 1e-9 * rows[i].value) {
            print_message("%s\n", ow_cost_key(rows[i].input));
        }
        assert_int_equal(v->origin, OW_COST_FROM_LOG);
        check_near(v->value, rows[i].value, 1e-9 * rows[i].value);
    }
    int from_log = 0;
    for (int i = 0; i < OW_COST_INPUTS; i++) {
        from_log += plan.inputs[i].origin == OW_COST_FROM_LOG ? 1 : 0;
    }
    assert_int_equal(from_log, sizeof rows / sizeof rows[0]); // and nothing that was not written down
    check_near(plan.inputs[OW_COST_FILTER_OIL].error, 0.4 * 4e6 / sqrt(3), 1.0);
    assert_non_null(strstr(taken.log, "17 figures from 1.0 years"));
}

static void periods_and_vehicles(void **state) {
    (void)state;
    OwCostPlan plan;
    OwCostTaken taken = {.log = ""};
    OwFaults faults = {0};
    ow_cost_default(&plan);
    assert_int_equal(ow_cost_take_log(&plan, path, "2026-01-10", "2026-01-20", "van", &taken, &faults),
                     OW_OK);
    assert_true(has_fault(&faults, "less than four weeks"));
    assert_int_equal(plan.inputs[OW_COST_PICKUP_VOLUME].origin, OW_COST_FROM_LOG);
    assert_int_equal(plan.inputs[OW_COST_DISTANCE].origin, OW_COST_FROM_DEFAULT);
    ow_faults_clear(&faults);
    assert_int_equal(ow_cost_take_log(&plan, path, NULL, NULL, "vam", &taken, &faults), OW_ERROR_VALUE);
    assert_true(has_fault(&faults, "did you mean \"van\"?"));
    ow_faults_clear(&faults);
    assert_int_equal(ow_cost_take_log(&plan, path, "yesterday", "2026-02-30", NULL, &taken, &faults),
                     OW_ERROR_VALUE);
    assert_int_equal(faults.count, 2);
    ow_faults_clear(&faults);
    assert_int_equal(ow_cost_take_log(&plan, path, "2026-03-01", "2026-02-01", NULL, &taken, &faults),
                     OW_ERROR_VALUE);
    assert_true(has_fault(&faults, "ends before it begins"));
    ow_faults_clear(&faults);
    assert_int_equal(ow_cost_take_log(&plan, "/no/such/book", NULL, NULL, NULL, &taken, &faults),
                     OW_ERROR_READ);
    assert_true(faults.errors > 0);
    ow_faults_clear(&faults);
}

/// The example yard beside the example cost file, by `plan:`; its litre of clean oil is that of oilwright
/// batch.
static void figures_of_a_yard(void **state) {
    (void)state;
    OwCostPlan plan;
    OwCostTaken taken = {.yard = ""};
    OwFaults faults = {0};
    ow_cost_default(&plan);
    const OwStatus status = ow_cost_take_yard(&plan, "orchard-yard.yaml", OW_EXAMPLES "/orchard-costs.yaml",
                                              units, &taken, &faults);
    print_faults(&faults);
    assert_int_equal(status, OW_OK);
    assert_int_equal(faults.errors, 0);
    static const OwCostInput from_yard[] = {OW_COST_ENERGY,       OW_COST_YARD_TIME,     OW_COST_LOSS,
                                            OW_COST_BATCH,        OW_COST_PICKUP_VOLUME, OW_COST_PICKUP_TIME,
                                            OW_COST_YARD_FILTERS, OW_COST_TESTS,         OW_COST_WASTE_FEE};
    for (size_t i = 0; i < sizeof from_yard / sizeof from_yard[0]; i++) {
        assert_int_equal(plan.inputs[from_yard[i]].origin, OW_COST_FROM_YARD);
    }
    assert_int_equal(plan.inputs[OW_COST_HOUR].origin, OW_COST_FROM_DEFAULT);
    // Clean oil and loss agree with the mass balance of the batch: raw = clean / (1 - loss).
    assert_true(plan.inputs[OW_COST_LOSS].value > 0.01 && plan.inputs[OW_COST_LOSS].value < 0.5);
    assert_non_null(strstr(taken.yard, "figures, within 15 %"));
    ow_faults_clear(&faults);
    // Another currency: the quantities are taken, the prices are not.
    ow_cost_default(&plan);
    (void)snprintf(plan.currency, sizeof plan.currency, "pebbles");
    assert_int_equal(ow_cost_take_yard(&plan, OW_EXAMPLES "/orchard-yard.yaml", NULL, units, &taken, &faults),
                     OW_OK);
    assert_true(has_fault(&faults, "another currency"));
    assert_int_equal(plan.inputs[OW_COST_YARD_FILTERS].origin, OW_COST_FROM_DEFAULT);
    assert_int_equal(plan.inputs[OW_COST_ENERGY].origin, OW_COST_FROM_YARD);
    ow_faults_clear(&faults);
    assert_true(ow_cost_take_yard(&plan, OW_EXAMPLES "/orchard-costs.yaml", NULL, units, &taken, &faults) !=
                OW_OK);
    assert_true(faults.errors > 0);
    ow_faults_clear(&faults);
}

static int set_up(void **state) {
    (void)state;
    folder_make(folder);
    (void)path_in(path, folder, "book.db");
    make_book();
    return ow_units_create(&units) == OW_OK ? 0 : -1;
}

static int tear_down(void **state) {
    (void)state;
    ow_units_destroy(&units);
    folder_drop(folder);
    return 0;
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(figures_of_a_logbook),
        cmocka_unit_test(periods_and_vehicles),
        cmocka_unit_test(figures_of_a_yard),
    };
    return cmocka_run_group_tests(tests, set_up, tear_down);
}
