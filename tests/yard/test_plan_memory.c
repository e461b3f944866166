// SPDX-License-Identifier: GPL-3.0-or-later
// Every allocation of reading, changing and walking a yard is made to fail once: OW_ERROR_MEMORY, no crash,
// no leak.
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>
#include <cmocka.h>

#include "oilwright/yard_plan.h"

#include "../support/failing_malloc.h"

static OwUnits *units;

static const char good[] = "oil: {kind: rapeseed, used: yes, water: 0.8 %}\n"
                           "vessels:\n  - vessel: drum\n    heater: 2 kW\n"
                           "steps:\n  - settle: rest\n    in: drum\n  - heat: warm\n"
                           "  - blend: thin\n    with: diesel\n  - filter: bag\n";

static const char *const texts[] = {
    good,
    "oil: rapesed\nclimat: {}\nvessels: [{vessel: a, heatr: 3}]\nsteps: [{settl: a}, {settle: s, in: b}]\n",
    "vessels: [a, b\n",
    "vessels: [{vessel: a}]\nsteps: [{heat: h, in: a}, {blend: b, with: nothing}]\n",
};

static void reading(void **state) {
    (void)state;
    for (size_t t = 0; t < sizeof texts / sizeof texts[0]; t++) {
        OwStatus whole = OW_OK;
        size_t whole_faults = 0;
        long runs = 0, unchanged = 0;
        for (long n = -1;; n++) {
            OwYard *yard = NULL;
            OwFaults faults = {0};
            const long before = live;
            has_failed = false;
            countdown = n;
            const OwStatus status =
                ow_yard_read_text(texts[t], strlen(texts[t]), "m.yaml", units, &yard, &faults);
            countdown = -1;
            if (n < 0) {
                whole = status;
                whole_faults = faults.count;
            } else if (has_failed && status == OW_ERROR_MEMORY) {
                assert_null(yard);
                runs++;
            } else {
                // The oil module's notes for its own reports may find no room without harm.
                assert_int_equal(status, whole);
                assert_int_equal(faults.count, whole_faults);
                unchanged += has_failed ? 1 : 0;
            }
            ow_faults_clear(&faults);
            ow_yard_destroy(&yard);
            assert_int_equal(live, before);
            if (n >= 0 && !has_failed) {
                break;
            }
            assert_true(n < 10000);
        }
        assert_true(runs >= 3); // the hook did bite
        assert_true(unchanged <= 8);
    }
}

static void changing_and_walking(void **state) {
    (void)state;
    OwYard *yard = NULL;
    OwFaults faults = {0};
    assert_int_equal(ow_yard_read_text(good, strlen(good), "m.yaml", units, &yard, &faults), OW_OK);
    long failed_walks = 0;
    for (long n = 0;; n++) {
        const long before = live;
        OwFaults own = {0};
        OwYardBatch *batch = NULL;
        has_failed = false;
        countdown = n;
        const OwStatus changed = ow_yard_override(yard, "week.batch=140 L", units, &own);
        const OwStatus status = ow_yard_batch_create(yard, OW_DISPLAY_METRIC, &batch);
        countdown = -1;
        ow_faults_clear(&own);
        assert_true(changed == OW_OK || changed == OW_ERROR_MEMORY);
        assert_true(status == OW_OK || status == OW_ERROR_MEMORY);
        assert_true((status == OW_OK) == (batch != NULL));
        failed_walks += status == OW_ERROR_MEMORY ? 1 : 0;
        ow_yard_batch_destroy(&batch);
        assert_int_equal(live, before);
        if (!has_failed) {
            break;
        }
        assert_true(n < 10000);
    }
    assert_true(failed_walks >= 5); // kit, batch, both of the mends, and the oils
    ow_faults_clear(&faults);
    ow_yard_destroy(&yard);
    countdown = 0;
    assert_int_equal(ow_yard_create(&yard), OW_ERROR_MEMORY);
    countdown = -1;
    assert_null(yard);
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
        cmocka_unit_test(reading),
        cmocka_unit_test(changing_and_walking),
    };
    return cmocka_run_group_tests(tests, set_up, tear_down);
}
