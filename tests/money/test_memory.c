// SPDX-License-Identifier: GPL-3.0-or-later
// Every allocation of reading, changing and sampling a cost file is made to fail once: OW_ERROR_MEMORY, no
// crash, no leak.
#include "common.h"

#include "../support/failing_malloc.h"

static OwUnits *units;

static const char *const texts[] = {
    "name: v\nfuel: {diesel price: 1.4 to 1.6 per L, diesel use: 30 US mpg, oil: soybean}\ndistance: {a "
    "year: 9000 mi}\n"
    "yard: {loss: 5 / 8 / 12 %}\nlabour: {rate: 15 per h, counted: no}\n",
    "fuel: {diesel prise: 1, diesel use: 8}\nyard: {loss: 99 %}\n",
    "fuel: {oil: rapesed}\n",
    "{}\n",
    "fuel: [\n",
};

static void reading_survives(void **state) {
    (void)state;
    for (size_t t = 0; t < sizeof texts / sizeof texts[0]; t++) {
        OwStatus whole = OW_OK;
        size_t whole_faults = 0;
        long runs = 0, unchanged = 0;
        for (long n = -1;; n++) {
            OwCostPlan plan;
            OwFaults faults = {0};
            const long before = live;
            has_failed = false;
            countdown = n;
            const OwStatus status =
                ow_cost_read_text(texts[t], strlen(texts[t]), "m.yaml", units, &plan, &faults);
            countdown = -1;
            if (n < 0) {
                whole = status;
                whole_faults = faults.count;
            } else if (has_failed) {
                runs++;
                if (status != OW_ERROR_MEMORY) { // the oil module's notes are thrown away here anyway
                    unchanged++;
                    assert_int_equal(status, whole);
                    assert_int_equal(faults.count, whole_faults);
                }
            } else {
                assert_int_equal(status, whole);
            }
            ow_faults_clear(&faults);
            assert_int_equal(live, before);
            if (n >= 0 && !has_failed) {
                break;
            }
            assert_true(n < 10000);
        }
        assert_true(runs >= 2);
        assert_true(unchanged <= 2);
    }
}

static void changing_survives(void **state) {
    (void)state;
    static const char *const changes[] = {"fuel.oil=palm", "fuel.nothing=1", "yard.loss=5 %"};
    for (size_t c = 0; c < 3; c++) {
        for (long n = 0;; n++) {
            OwCostPlan plan, before_plan;
            OwFaults faults = {0};
            ow_cost_default(&plan);
            before_plan = plan;
            const long before = live;
            has_failed = false;
            countdown = n;
            const OwStatus status = ow_cost_set(&plan, changes[c], units, &faults);
            countdown = -1;
            if (status != OW_OK) {
                assert_memory_equal(&plan, &before_plan, sizeof plan);
            }
            ow_faults_clear(&faults);
            assert_int_equal(live, before);
            if (!has_failed) {
                break;
            }
            assert_true(n < 10000);
        }
    }
}

static void sampling_survives(void **state) {
    (void)state;
    OwCostPlan plan;
    ow_cost_default(&plan);
    long n = 0;
    for (;; n++) {
        OwCostStudy study;
        const long before = live;
        has_failed = false;
        countdown = n;
        const OwStatus status = ow_cost_study(&plan, 64, &study);
        countdown = -1;
        assert_int_equal(live, before);
        assert_int_equal(status, has_failed ? OW_ERROR_MEMORY : OW_OK);
        if (!has_failed) {
            break;
        }
        assert_true(n < 1000);
    }
    assert_true(n >= 18); // columns, indices, and a sequence for each replicate of both
}

static int set_up(void **state) {
    (void)state;
    return ow_units_create(&units) == OW_OK ? 0 : -1;
}

static int tear_down(void **state) {
    (void)state;
    ow_units_destroy(&units);
    return live == 0 ? 0 : -1;
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(reading_survives),
        cmocka_unit_test(changing_survives),
        cmocka_unit_test(sampling_survives),
    };
    return cmocka_run_group_tests(tests, set_up, tear_down);
}
