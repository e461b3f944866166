// SPDX-License-Identifier: GPL-3.0-or-later
// Every allocation of learning and of a short form is made to fail once: OW_ERROR_MEMORY, no crash, no leak.
#include "support.h"

#include "log_cli.h"

#include "../support/failing_malloc.h"

static void test_filters(void **state) {
    (void)state;
    const OwLearnPlace places[2] = {{.study = 5e6}, {.study = 0.0}};
    const OwLearnLife lives[3] = {
        {.life = 4e6}, {.place = 1, .life = 6e6}, {.life = 2e6, .is_running = true}};
    long n = 0;
    for (;; n++) {
        OwLearnFilters *model = NULL;
        const long before = live;
        has_failed = false;
        countdown = n;
        const OwStatus status = ow_learn_filters_create(places, 2, lives, 3, NULL, &model);
        countdown = -1;
        assert_int_equal(status, has_failed ? OW_ERROR_MEMORY : OW_OK);
        assert_true((model == NULL) == has_failed);
        ow_learn_filters_destroy(&model);
        assert_int_equal(live, before);
        if (!has_failed) {
            break;
        }
    }
    assert_true(n >= 8);
}

static void test_fuel(void **state) {
    (void)state;
    OwLearnFill fills[6];
    for (int i = 0; i < 6; i++) {
        fills[i] =
            (OwLearnFill){.vehicle = i % 2, .has_odometer = true, .odometer_m = 1e5 * i, .volume_m3 = 0.03};
    }
    long n = 0;
    for (;; n++) {
        OwLearnFuel *model = NULL;
        const long before = live;
        has_failed = false;
        countdown = n;
        const OwStatus status = ow_learn_fuel_create(2, fills, 6, NULL, &model);
        countdown = -1;
        assert_int_equal(status, has_failed ? OW_ERROR_MEMORY : OW_OK);
        assert_true((model == NULL) == has_failed);
        ow_learn_fuel_destroy(&model);
        assert_int_equal(live, before);
        if (!has_failed) {
            break;
        }
    }
    assert_true(n >= 8);
}

/// A short form either says what it says with memory, or that there is none; it never says something else.
static void test_words(void **state) {
    (void)state;
    static const char *const lines[] = {"pickup hill cafe 60 L drum 2", "pickup hil cafe 60 L drum 2",
                                        "test drum 2 water 600 ppm acid 2.1", "yesterday source Inn",
                                        "undo 3"};
    static const OwLogThing things[] = {{OW_LOG_SOURCE, 1, "Hill Cafe"}, {OW_LOG_VESSEL, 2, "drum 2"}};
    static OwLogSaid whole, said;
    const OwLogNames names = {things, 2};
    OwUnits *units = NULL;
    assert_int_equal(ow_units_create(&units), OW_OK);
    const OwLogSpeech speech = {.names = &names, .now_s = 1767225600, .units = units};
    for (int i = 0; i < 5; i++) {
        const OwStatus good = ow_log_words_read(lines[i], &speech, &whole);
        long n = 0;
        for (;; n++) {
            const long before = live;
            has_failed = false;
            countdown = n;
            const OwStatus status = ow_log_words_read(lines[i], &speech, &said);
            countdown = -1;
            assert_int_equal(live, before);
            if (!has_failed) {
                break;
            }
            assert_true(status != OW_OK || strcmp(said.sentence, whole.sentence) == 0);
        }
        assert_true(n >= 1);
        assert_int_equal(ow_log_words_read(lines[i], &speech, &said), good);
    }
    ow_units_destroy(&units);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_filters),
        cmocka_unit_test(test_fuel),
        cmocka_unit_test(test_words),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
