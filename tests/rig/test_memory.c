// SPDX-License-Identifier: GPL-3.0-or-later
// Every allocation of reading, checking and changing a rig is made to fail once: OW_ERROR_MEMORY, no crash,
// no leak.
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>
#include <cmocka.h>

#include "../support/failing_malloc.h"
#include "oilwright/rig.h"
#include "sample.h"

static OwUnits *units;

static const char *const texts[] = {
    sample_yaml,
    least_yaml,
    "oil: rapesed\nclimat: {}\nparts:\n  - hose: h\n    bore: 8\n  - hos: k\nlines: [[h, q]]\ncontrols: "
    "[{set: h}]\n",
    "parts: [a, b\n",
    "oil: {blend: {rapeseed: 50 %, nonsuch: 50 %}}\nparts:\n  - tank: t\n",
    "parts:\n  - tank: t\n  - injection pump: p\n  - hose: h\n",
};

static void each_allocation_fails_once(void **state) {
    (void)state;
    for (size_t t = 0; t < sizeof texts / sizeof texts[0]; t++) {
        OwStatus whole = OW_OK;
        size_t whole_faults = 0;
        int whole_joints = -1;
        long runs = 0, unchanged = 0;
        for (long n = -1;; n++) {
            OwRig *rig = NULL;
            OwFaults faults = {0};
            const long before = live;
            has_failed = false;
            countdown = n;
            const OwStatus status =
                ow_rig_read_text(texts[t], strlen(texts[t]), "m.yaml", units, &rig, &faults);
            countdown = -1;
            if (n < 0) {
                whole = status; // nothing failed: what the text gives
                whole_faults = faults.count;
                whole_joints = rig != NULL ? rig->joint_count : -1;
            } else if (has_failed) {
                // The oil module keeps notes for its own reports; reading a rig throws them away, so a note
                // without room changes nothing. Everything else must say so.
                if (status != OW_ERROR_MEMORY) {
                    unchanged++;
                    assert_int_equal(status, whole);
                    assert_int_equal(faults.count, whole_faults);
                    assert_int_equal(rig != NULL ? rig->joint_count : -1, whole_joints);
                } else {
                    assert_null(rig);
                }
                runs++;
            } else {
                assert_int_equal(status, whole);
            }
            ow_faults_clear(&faults);
            ow_rig_destroy(&rig);
            assert_int_equal(live, before);
            if (n >= 0 && !has_failed) {
                break;
            }
            assert_true(n < 10000);
        }
        assert_true(runs >= 3); // the hook did bite
        assert_true(unchanged <= 2);
    }
}

static void override_survives_too(void **state) {
    (void)state;
    OwRig *rig = NULL;
    OwFaults faults = {0};
    assert_int_equal(ow_rig_read_text(sample_yaml, strlen(sample_yaml), "m.yaml", units, &rig, &faults),
                     OW_OK);
    const char *const changes[] = {"climate.ambient=-10 degC", "oil=soybean", "supply hose.bore=3 kPa"};
    for (size_t c = 0; c < 3; c++) {
        const double ambient_k = rig->climate.ambient_k;
        for (long n = 0;; n++) {
            const long before = live;
            OwFaults own = {0};
            has_failed = false;
            countdown = n;
            const OwStatus status = ow_rig_override(rig, changes[c], units, &own);
            countdown = -1;
            ow_faults_clear(&own);
            assert_int_equal(live, before);
            if (!has_failed) {
                break;
            }
            // 1 of the oil module's notes may find no room without harm, see above.
            if (status != OW_ERROR_MEMORY) {
                assert_string_equal(changes[c], "oil=soybean");
                assert_int_equal(status, OW_OK);
            }
            assert_true(rig->climate.ambient_k == ambient_k);
        }
    }
    ow_faults_clear(&faults);
    ow_rig_destroy(&rig);
}

static void handles_survive_too(void **state) {
    (void)state;
    OwUnits *own = NULL;
    countdown = 0;
    assert_int_equal(ow_units_create(&own), OW_ERROR_MEMORY);
    assert_null(own);
    countdown = 0;
    assert_null(ow_arena_create());
    OwRig *rig = NULL;
    for (long n = 0; n < 2; n++) {
        countdown = n;
        assert_int_equal(ow_rig_create(&rig), OW_ERROR_MEMORY);
        assert_null(rig);
    }
    OwFaults faults = {0};
    countdown = 0;
    assert_int_equal(ow_faults_add(&faults, &(OwFault){.status = OW_ERROR_READ}), OW_ERROR_MEMORY);
    assert_int_equal(faults.errors, 1);
    assert_int_equal(faults.count, 0);
    countdown = -1;
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
        cmocka_unit_test(each_allocation_fails_once),
        cmocka_unit_test(override_survives_too),
        cmocka_unit_test(handles_survive_too),
    };
    return cmocka_run_group_tests(tests, set_up, tear_down);
}
