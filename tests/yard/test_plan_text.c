// SPDX-License-Identifier: GPL-3.0-or-later
// The report of a small yard, word for word, in plain ASCII; no line of any report is wider than 80 columns.
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>
#include <cmocka.h>

#include "batch_cli.h"

static const char yard_text[] = "name: two steps\n"
                                "oil: {kind: rapeseed, water: 0.3 %, solids: 0.2 %, acid value: 1.2}\n"
                                "climate: {shed: 20 degC}\n"
                                "vessels:\n"
                                "  - vessel: drum\n"
                                "    heater: 1 kW\n"
                                "steps:\n"
                                "  - settle: rest\n"
                                "    in: drum\n"
                                "    for: 2 days\n"
                                "  - heat: warm\n"
                                "    to: 60 degC\n"
                                "  - filter: bag\n"
                                "    rating: 5 um\n"
                                "targets: {water: 0.2 %, coldest tank: 10 degC, solids: 100 mg/kg}\n";

static char *report(const char *text, bool is_file, OwDisplay display, bool is_ascii, bool is_week) {
    OwUnits *units = NULL;
    OwYard *yard = NULL;
    OwYardBatch *batch = NULL;
    OwYardWeek week;
    OwFaults faults = {0};
    char *out_text = NULL;
    size_t size = 0;
    assert_int_equal(ow_units_create(&units), OW_OK);
    assert_int_equal(is_file ? ow_yard_read_file(text, units, &yard, &faults)
                             : ow_yard_read_text(text, strlen(text), "t", units, &yard, &faults),
                     OW_OK);
    assert_int_equal(ow_yard_batch_create(yard, display, &batch), OW_OK);
    assert_int_equal(ow_yard_week(yard, batch, display, &week), OW_OK);
    FILE *out = open_memstream(&out_text, &size);
    assert_non_null(out);
    const OwReport to = {.file = out, .is_ascii = is_ascii};
    if (is_week) {
        ow_batch_week_text(&to, yard, batch, &week);
    } else {
        ow_batch_text(&to, yard, batch, &week);
    }
    (void)fclose(out);
    ow_faults_clear(&faults);
    ow_yard_batch_destroy(&batch);
    ow_yard_destroy(&yard);
    ow_units_destroy(&units);
    return out_text;
}

static void golden(void **state) {
    (void)state;
    char *text = report(yard_text, false, OW_DISPLAY_METRIC, true, false);
    FILE *file = fopen(OW_GOLDEN, "rb");
    assert_non_null(file);
    char *wanted = calloc(1, 20000);
    assert_non_null(wanted);
    const size_t got = fread(wanted, 1, 19999, file);
    (void)fclose(file);
    assert_true(got > 0);
    if (strcmp(text, wanted) != 0) {
        (void)fprintf(stderr, "the report has changed; it is now:\n%s", text); // longer than cmocka prints
        fail();
    }
    free(wanted);
    free(text);
}

static void narrow(void **state) {
    (void)state;
    for (int i = 0; i < 8; i++) {
        char *text = report(i < 4 ? yard_text : EXAMPLES "/orchard-yard.yaml", i >= 4,
                            (i & 1) != 0 ? OW_DISPLAY_US : OW_DISPLAY_METRIC, false, (i & 2) != 0);
        int lines = 0;
        for (char *line = text; *line != '\0'; lines++) {
            char *end = strchr(line, '\n');
            assert_non_null(end);
            *end = '\0';
            if (ow_report_width(line) > OW_REPORT_WIDTH) {
                print_error("too wide: %s\n", line);
                fail();
            }
            line = end + 1;
        }
        assert_true(lines > 20 && lines <= 50); // one screen
        free(text);
    }
}

static void json(void **state) {
    (void)state;
    OwUnits *units = NULL;
    OwYard *yard = NULL;
    OwYardBatch *batch = NULL;
    OwYardWeek week;
    OwFaults faults = {0};
    assert_int_equal(ow_units_create(&units), OW_OK);
    assert_int_equal(ow_yard_read_file(EXAMPLES "/orchard-yard.yaml", units, &yard, &faults), OW_OK);
    assert_int_equal(ow_yard_batch_create(yard, OW_DISPLAY_METRIC, &batch), OW_OK);
    assert_int_equal(ow_yard_week(yard, batch, OW_DISPLAY_METRIC, &week), OW_OK);
    json_t *root = ow_batch_json(yard, batch, &week);
    assert_non_null(root);
    assert_string_equal(json_string_value(json_object_get(root, "format")), "oilwright-batch");
    assert_int_equal(json_array_size(json_object_get(root, "steps")), batch->row_count);
    assert_int_equal(json_array_size(json_object_get(root, "findings")), batch->finding_count);
    assert_int_equal(json_array_size(json_object_get(root, "cautions")), batch->caution_count);
    // What the steps left and what went out is what came in: the JSON carries the whole balance.
    double in = 0.0, out = 0.0;
    const char *key;
    json_t *value;
    json_t *stream = json_object_get(json_object_get(root, "incoming"), "stream");
    in = json_real_value(json_object_get(stream, "oil_kg"));
    json_object_foreach(json_object_get(json_object_get(root, "balance"), "out"), key, value) {
        out += json_real_value(json_object_get(value, "oil_kg"));
    }
    assert_true(in > 0.0 && in - out < 1e-9 * in && out - in < 1e-9 * in);
    assert_true(json_real_value(json_object_get(json_object_get(root, "week"), "cost_litre")) ==
                week.cost_litre);
    json_decref(root);
    ow_faults_clear(&faults);
    ow_yard_batch_destroy(&batch);
    ow_yard_destroy(&yard);
    ow_units_destroy(&units);
}

int main(void) {
    const struct CMUnitTest tests[] = {cmocka_unit_test(golden), cmocka_unit_test(narrow),
                                       cmocka_unit_test(json)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
