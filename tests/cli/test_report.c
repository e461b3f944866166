// SPDX-License-Identifier: GPL-3.0-or-later
// Report, JSON and CSV of hand-made records: width, first lines, every key, RFC 4180, lost output.
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>

#include <jansson.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "made.h"
#include "report_text.h"

#define C(x) ((x) + OW_ZERO_CELSIUS_K)

static OwJudgement *judge(const OwMade *made, OwDisplay display) {
    OwJudgement *j = NULL;
    assert_int_equal(ow_judge_create(&made->record, display, &j), OW_OK);
    return j;
}

/// Whatever `write` puts into a stream; caller frees.
static char *caught(const OwJudgement *j, char what, bool is_ascii, size_t *size) {
    char *text = NULL;
    FILE *file = open_memstream(&text, size);
    assert_non_null(file);
    if (what == 'r') {
        assert_true(ow_report_write(file, j, is_ascii));
    } else if (what == 'a') {
        assert_true(ow_report_write_all(file, j, is_ascii));
    } else if (what == 'j') {
        assert_int_equal(ow_json_write(file, j), OW_OK);
    } else {
        assert_int_equal(ow_csv_write(file, j->record, j->display), OW_OK);
    }
    fclose(file);
    return text;
}

static void every_report_fits_the_screen(void **state) {
    (void)state;
    for (int i = 0; i < 5; i++) {
        OwMade *m = i == 0   ? made_good()
                    : i == 1 ? made_starved(-50e3, 0.7)
                    : i == 2 ? made_no_start(C(20), 76e-6)
                    : i == 3 ? made_no_start(C(-5), 3e5)
                             : made_good();
        if (i == 4) {
            memset(m->parts[MADE_HOSE].name, 'w',
                   OW_NAME_SIZE - 1); // a name as long as may be, without a blank
            memset(m->rig.name, 'n', OW_NAME_SIZE - 1);
            m->samples[30].lowest_pa = -1e9;
            m->part_samples[30 * MADE_PARTS + MADE_HOSE].drop_pa = 1e12;
        }
        for (int us = 0; us < 2; us++) {
            OwJudgement *j = judge(m, us == 0 ? OW_DISPLAY_METRIC : OW_DISPLAY_US);
            for (int is_ascii = 0; is_ascii < 2; is_ascii++) {
                size_t size = 0;
                char *text = caught(j, 'r', is_ascii == 1, &size);
                int lines = 0;
                for (char *save = NULL, *line = strtok_r(text, "\n", &save); line != NULL;
                     line = strtok_r(NULL, "\n", &save)) {
                    lines++;
                    if (ow_report_width(line) > OW_REPORT_WIDTH) {
                        fail_msg("%d columns: %s", ow_report_width(line), line);
                    }
                    for (const char *c = line; *c != '\0'; c++) {
                        assert_true((unsigned char)*c >= 0x20);
                        assert_true(is_ascii == 0 || (unsigned char)*c < 0x7F);
                    }
                    assert_null(strstr(line, "nan"));
                }
                assert_true(lines > 15 && lines <= 52);
                free(text);
            }
            ow_judge_destroy(&j);
        }
        free(m);
    }
}

/// Wrapped lines joined again.
static void join(char *text) {
    char *out = text;
    for (const char *c = text; *c != '\0'; c++) {
        if (c[0] == '\n' && c[1] == ' ' && c[2] == ' ' && c[3] != ' ') {
            *out++ = ' ';
            c += 2;
        } else {
            *out++ = *c;
        }
    }
    *out = '\0';
}

/// All answers in words: each with its sentence and mend, a limit with its margin; what is too hot also on
/// the first screen though the vehicle starves first.
static void all_answers_in_words(void **state) {
    (void)state;
    OwMade *m = made_starved(-50e3, 0.7);
    for (int i = 0; i < MADE_SAMPLES; i++) {
        m->part_samples[i * MADE_PARTS + MADE_CHAMBER].oil_max_k = C(150);
        m->samples[i].inlet_kinematic_m2_s = i < MADE_START ? 0.85 : m->samples[i].inlet_kinematic_m2_s;
    }
    OwJudgement *j = judge(m, OW_DISPLAY_METRIC);
    size_t size = 0;
    char *all = caught(j, 'a', false, &size), *first = caught(j, 'r', false, &size);
    join(all);
    join(first);
    for (int i = 0; i < j->answer_count; i++) {
        const OwAnswer *v = &j->answers[i];
        if (strstr(all, v->text) == NULL || strstr(all, v->mend) == NULL) {
            fail_msg("missing: %s %s", v->text, v->mend);
        }
    }
    const OwAnswer *hot = ow_judge_find(j, OW_ANSWER_OIL_HOT), *low = ow_judge_find(j, OW_ANSWER_SUCTION);
    assert_true(ow_judge_fails(hot->grade) && ow_judge_fails(low->grade));
    assert_true(ow_judge_deciding(j) != hot);
    assert_non_null(strstr(all, "- hottest oil: FAILS, missed by 30 K."));             // 150 of 120 degC
    assert_non_null(strstr(all, "- suction: FAILS, missed by 20 kPa."));               // -50 of -30 kPa
    assert_non_null(strstr(all, "- viscosity when cranking: FAILS, missed by far. ")); // solid
    assert_non_null(strstr(first, "Also: "));
    assert_non_null(strstr(first, hot->text));
    assert_non_null(strstr(first, "     solid ")); // no six-digit viscosity in the table
    free(all);
    free(first);
    ow_judge_destroy(&j);
    free(m);
}

static void the_answer_comes_first(void **state) {
    (void)state;
    OwMade *m = made_starved(-50e3, 0.7);
    OwJudgement *j = judge(m, OW_DISPLAY_METRIC);
    size_t size = 0;
    char *text = caught(j, 'r', false, &size);
    assert_memory_equal(text, "Starts after 1 min 30 s, then starves", 37);
    const char *mend = strstr(text, "\nTo mend it: Raise the bore of 'supply hose' from 8 mm to 10 mm");
    assert_non_null(mend);
    free(text);
    ow_judge_destroy(&j);
    free(m);
}

static void golden(void **state) {
    (void)state;
    // Without a fluid nothing but this file's own numbers is in the report.
    OwMade *m = made_good();
    m->rig.fluid_count = 0;
    OwJudgement *j = judge(m, OW_DISPLAY_METRIC);
    size_t size = 0;
    char *text = caught(j, 'r', true, &size);
    FILE *file = fopen(OW_GOLDEN, "r");
    assert_non_null(file);
    char wanted[8192] = "";
    const size_t got = fread(wanted, 1, sizeof wanted - 1, file);
    fclose(file);
    wanted[got] = '\0';
    assert_string_equal(text, wanted);
    free(text);
    ow_judge_destroy(&j);
    free(m);
}

static void json_holds_every_key(void **state) {
    (void)state;
    static const char *const top[] = {"format",  "format_version", "rig",      "fluids",  "headline",
                                      "advice",  "grade",          "fails",    "started", "ready_s",
                                      "start_s", "end_s",          "cautions", "trouble", "answers",
                                      "events",  "worst_moment",   "path",     "audit",   "stats"};
    static const char *const per_answer[] = {"kind",  "question", "grade",     "unit",   "value",
                                             "limit", "margin",   "tightness", "time_s", "part",
                                             "trust", "basis",    "text",      "mend"};
    static const char *const per_part[] = {"part",
                                           "kind",
                                           "way",
                                           "flow_m3_s",
                                           "oil_in_k",
                                           "oil_out_k",
                                           "kinematic_in_m2_s",
                                           "kinematic_out_m2_s",
                                           "pressure_in_pa",
                                           "pressure_out_pa",
                                           "drop_pa",
                                           "drop_share",
                                           "heat_w",
                                           "coolant_w",
                                           "gain_w",
                                           "hottest_oil_k",
                                           "hottest_wall_k",
                                           "hottest_s",
                                           "rating_k",
                                           "grade",
                                           "mark"};
    static const char *const per_event[] = {"time_s", "kind", "text", "part", "element", "value"};
    OwMade *m = made_good();
    m->samples[3].inlet_k = NAN; // unknown numbers become null, not broken text
    m->record.audit.loss_j = NAN;
    OwJudgement *j = judge(m, OW_DISPLAY_US);
    size_t size = 0;
    char *text = caught(j, 'j', false, &size);
    json_error_t error;
    json_t *root = json_loads(text, JSON_REJECT_DUPLICATES, &error);
    assert_non_null(root);
    for (size_t i = 0; i < sizeof top / sizeof top[0]; i++) {
        assert_non_null(json_object_get(root, top[i]));
    }
    assert_int_equal(json_object_size(root), sizeof top / sizeof top[0]);
    json_t *answers = json_object_get(root, "answers");
    assert_int_equal(json_array_size(answers), j->answer_count);
    for (size_t i = 0; i < json_array_size(answers); i++) {
        json_t *a = json_array_get(answers, i);
        for (size_t k = 0; k < sizeof per_answer / sizeof per_answer[0]; k++) {
            assert_non_null(json_object_get(a, per_answer[k]));
        }
        assert_string_not_equal(json_string_value(json_object_get(a, "unit")), "SI");
    }
    json_t *path = json_object_get(root, "path");
    assert_int_equal(json_array_size(path), MADE_PARTS);
    for (size_t k = 0; k < sizeof per_part / sizeof per_part[0]; k++) {
        assert_non_null(json_object_get(json_array_get(path, 0), per_part[k]));
    }
    json_t *events = json_object_get(root, "events");
    assert_int_equal(json_array_size(events), m->record.event_count);
    for (size_t k = 0; k < sizeof per_event / sizeof per_event[0]; k++) {
        assert_non_null(json_object_get(json_array_get(events, 0), per_event[k]));
    }
    // The US display changes sentences, never the SI numbers.
    assert_true(fabs(json_real_value(json_object_get(root, "start_s")) - 90.0) < 1e-9);
    assert_true(json_is_null(json_object_get(json_object_get(root, "audit"), "loss_j")));
    json_decref(root);
    free(text);
    ow_judge_destroy(&j);
    free(m);
}

/// Reads one RFC 4180 record; returns the number of fields and moves *at behind CRLF. Field `want` is copied
/// to `out`.
static int record_fields(const char **at, int want, char *out, size_t size) {
    int fields = 0;
    const char *c = *at;
    for (;;) {
        size_t used = 0;
        const bool is_quoted = *c == '"';
        c += is_quoted ? 1 : 0;
        while (*c != '\0') {
            if (is_quoted && *c == '"') {
                if (c[1] != '"') {
                    c++;
                    break;
                }
                c++;
            } else if (!is_quoted && (*c == ',' || *c == '\r')) {
                break;
            } else if (!is_quoted) {
                assert_true(*c != '"' && *c != '\n');
            }
            if (fields == want && used + 1 < size) {
                out[used++] = *c;
            }
            c++;
        }
        if (fields == want) {
            out[used] = '\0';
        }
        fields++;
        if (*c == ',') {
            c++;
            continue;
        }
        assert_true(c[0] == '\r' && c[1] == '\n');
        *at = c + 2;
        return fields;
    }
}

static void csv_is_rfc_4180(void **state) {
    (void)state;
    OwMade *m = made_good();
    strcpy(m->parts[MADE_TANK].name, "tank, \"old\"\nsteel");
    m->samples[2].inlet_k = NAN;
    OwJudgement *j = judge(m, OW_DISPLAY_METRIC);
    size_t size = 0;
    char *text = caught(j, 'c', false, &size);
    const char *at = text;
    char field[256] = "";
    const int columns = record_fields(&at, 24, field, sizeof field);
    assert_int_equal(columns, 4 + 19 + 1 + MADE_PARTS * 11);
    assert_string_equal(field, "tank, \"old\"\nsteel: oil in (\xC2\xB0"
                               "C)");
    int rows = 0;
    double last = -1.0;
    while (*at != '\0') {
        assert_int_equal(record_fields(&at, 0, field, sizeof field), columns);
        assert_true(atof(field) > last);
        last = atof(field);
        rows++;
    }
    assert_int_equal(rows, MADE_SAMPLES);
    assert_true(fabs(last - m->record.end_s) < 1e-9);
    // The pump inlet of sample 2 is unknown: an empty field. Of sample 1 it is a number in degrees.
    at = text;
    record_fields(&at, 0, field, sizeof field);
    record_fields(&at, 13, field, sizeof field);
    assert_true(fabs(atof(field) + 5.0) < 1e-6);
    record_fields(&at, 13, field, sizeof field);
    record_fields(&at, 13, field, sizeof field);
    assert_string_equal(field, "");
    free(text);
    ow_judge_destroy(&j);
    free(m);
}

static void lost_output_is_noticed(void **state) {
    (void)state;
    FILE *full = fopen("/dev/full", "w");
    if (full == NULL) {
        skip();
    }
    setvbuf(full, NULL, _IONBF, 0);
    OwMade *m = made_good();
    OwJudgement *j = judge(m, OW_DISPLAY_METRIC);
    assert_false(ow_report_write(full, j, true));
    assert_int_equal(ow_json_write(full, j), OW_ERROR_WRITE);
    assert_int_equal(ow_csv_write(full, j->record, OW_DISPLAY_METRIC), OW_ERROR_WRITE);
    fclose(full);
    ow_judge_destroy(&j);
    free(m);
}

static void plain_text(void **state) {
    (void)state;
    char out[64];
    ow_report_plain(out, sizeof out,
                    "5 \xC2\xB0"
                    "C 3 mm\xC2\xB2/s \xE6\xB2\xB9\x07",
                    true);
    assert_string_equal(out, "5 degC 3 mm2/s ??");
    char small[12];
    ow_report_plain(small, sizeof small, "ab\xC2\xB2\xC2\xB2\xC2\xB2\xC2\xB2", false);
    assert_true(strlen(small) < sizeof small);
    assert_int_equal((unsigned char)small[strlen(small) - 1] & 0xC0, 0x80); // ends on a whole character
    ow_report_fit(out, sizeof out, "mm\xC2\xB2", 5, true);
    assert_string_equal(out, "  mm\xC2\xB2");
    ow_report_fit(out, sizeof out, "abcdef", 3, false);
    assert_string_equal(out, "abc");
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_report_fits_the_screen), cmocka_unit_test(all_answers_in_words),
        cmocka_unit_test(the_answer_comes_first),       cmocka_unit_test(golden),
        cmocka_unit_test(json_holds_every_key),         cmocka_unit_test(csv_is_rfc_4180),
        cmocka_unit_test(lost_output_is_noticed),       cmocka_unit_test(plain_text),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
