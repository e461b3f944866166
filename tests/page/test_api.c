// SPDX-License-Identifier: GPL-3.0-or-later
// The page's interface: what docs/page-api.md promises, against the library's own answers.
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include <cmocka.h>

#include "client.h"
#include "json_make.h"
#include "serve.h"

// The names of quantities in this interface; private to the server.
const char *ow_quantity_key(OwQuantity quantity);

static Server server;
static char *van;

static int open_all(void **state) {
    (void)state;
    OwPageSettings settings = ow_page_default();
    settings.program = OW_PROGRAM;
    serve_open(&server, &settings);
    van = serve_example("orchard-van.yaml");
    return 0;
}

static int close_all(void **state) {
    (void)state;
    free(van);
    serve_close(&server);
    return 0;
}

static const json_t *key(const json_t *object, const char *name) {
    const json_t *value = json_object_get(object, name);
    if (value == NULL) {
        fail_msg("\"%s\" is missing", name);
    }
    return value;
}

static const char *text_of(const json_t *object, const char *name) {
    assert_true(json_is_string(key(object, name)));
    return json_string_value(key(object, name));
}

/// The entry of a list whose `name` is `value`.
static const json_t *entry(const json_t *list, const char *name, const char *value) {
    size_t i;
    json_t *one;
    json_array_foreach((json_t *)(uintptr_t)list, i, one) {
        const char *has = json_string_value(json_object_get(one, name));
        if (has != NULL && strcmp(has, value) == 0) {
            return one;
        }
    }
    fail_msg("no entry with %s = %s", name, value);
    return NULL;
}

static void test_start(void **state) {
    (void)state;
    serve_put(&server, "b van.yaml", "name: \"second\"\n");
    serve_put(&server, "a.yml", "# first\nname: first # one\n");
    serve_put(&server, "notes.txt", "no rig");
    serve_put(&server, ".hidden.yaml", "name: hidden\n");
    json_t *start = client_get(server.port, "/api/start", 200);
    const json_t *files = key(start, "files");
    assert_int_equal(json_array_size(files), 2);
    assert_string_equal(text_of(json_array_get(files, 0), "name"), "a.yml");
    assert_string_equal(text_of(json_array_get(files, 0), "title"), "first");
    assert_string_equal(text_of(json_array_get(files, 1), "title"), "second");
    assert_int_equal(json_array_size(key(start, "templates")), 3);
    // What a number is shown as: 100 kPa is 14.5038 psi (1 psi = 6894.757 Pa, NIST SP 811, B.8).
    const json_t *psi = key(key(key(start, "quantities"), "pressure"), "us");
    assert_string_equal(text_of(psi, "label"), "psi");
    assert_float_equal(100e3 * json_number_value(key(psi, "factor")) + json_number_value(key(psi, "offset")),
                       14.5038, 1e-4);
    size_t i;
    json_t *one;
    json_array_foreach((json_t *)(uintptr_t)key(start, "templates"), i, one) { // each template runs
        json_t *answer = client_post(server.port, "/api/morning",
                                     json_pack("{s:s, s:b}", "text", text_of(one, "text"), "series", 0), 200);
        assert_true(json_is_object(key(answer, "morning")));
        assert_true(json_is_true(key(key(answer, "morning"), "started")));
        json_decref(answer);
    }
    json_decref(start);
}

static void check_fields(const json_t *fields, OwUnits *units) {
    size_t i, k;
    json_t *field, *unit;
    json_array_foreach((json_t *)(uintptr_t)fields, i, field) {
        if (strcmp(text_of(field, "type"), "real") != 0) {
            continue;
        }
        const double fallback = json_number_value(key(field, "default")),
                     low = json_number_value(key(field, "low")), high = json_number_value(key(field, "high"));
        const bool may_be_none = json_is_true(key(field, "none")) && fallback == 0.0;
        if (!may_be_none && !(fallback >= low && fallback <= high)) {
            fail_msg("%s: default outside its range", text_of(field, "key"));
        }
        json_array_foreach(json_object_get(field, "units"), k, unit) { // each unit that is offered is read
            char text[60];
            double si = 0.0;
            OwQuantity quantity = OW_Q_NUMBER;
            for (int q = 0; q < OW_Q_COUNT; q++) {
                quantity = strcmp(ow_quantity_key((OwQuantity)q), text_of(field, "quantity")) == 0
                               ? (OwQuantity)q
                               : quantity;
            }
            (void)snprintf(text, sizeof text, "5 %s", json_string_value(unit));
            if (ow_units_read(units, text, quantity, NULL, &si, NULL, 0) != OW_OK) {
                fail_msg("%s: \"%s\" is offered but not read", text_of(field, "key"), text);
            }
        }
    }
}

static void test_catalogue(void **state) {
    (void)state;
    OwUnits *units = NULL;
    assert_int_equal(ow_units_create(&units), OW_OK);
    json_t *catalogue = client_get(server.port, "/api/catalogue", 200);
    const json_t *hose = entry(key(catalogue, "kinds"), "word", "hose");
    assert_int_equal(json_array_size(key(catalogue, "kinds")), 17); // hose and tube are one kind
    assert_true(json_is_true(key(hose, "in_line")));
    assert_false(json_is_true(key(entry(key(catalogue, "kinds"), "word", "tank"), "in_line")));
    size_t i;
    json_t *one;
    json_array_foreach((json_t *)(uintptr_t)key(catalogue, "kinds"), i, one) {
        check_fields(key(one, "fields"), units);
    }
    json_array_foreach((json_t *)(uintptr_t)key(catalogue, "sections"), i, one) {
        check_fields(key(one, "fields"), units);
    }
    check_fields(key(catalogue, "common"), units);
    check_fields(key(catalogue, "heater"), units);
    check_fields(key(catalogue, "thermostat"), units);
    check_fields(key(catalogue, "leg"), units);
    json_decref(catalogue);
    ow_units_destroy(&units);
}

static void test_read(void **state) {
    (void)state;
    json_t *answer = client_post(server.port, "/api/read", json_pack("{s:s}", "text", van), 200);
    assert_true(json_is_true(key(answer, "ok")));
    const json_t *hose = entry(key(answer, "parts"), "name", "supply hose");
    const json_t *bore = entry(key(hose, "fields"), "path", "bore");
    assert_string_equal(text_of(bore, "text"), "12 mm");
    assert_float_equal(json_number_value(key(bore, "value")), 0.012, 1e-12);
    assert_true(json_is_true(key(bore, "given")));
    // The place leads to the text.
    int line = (int)json_integer_value(key(bore, "line"));
    const char *at = van;
    while (--line > 0) {
        at = strchr(at, '\n') + 1;
    }
    assert_memory_equal(at + json_integer_value(key(bore, "column")) - 1, "12 mm", 5);
    assert_false(json_is_true(key(entry(key(hose, "fields"), "path", "minor loss"), "given")));
    const json_t *chamber = entry(key(answer, "parts"), "name", "boost chamber");
    const json_t *heater = entry(key(chamber, "heaters"), "path", "heaters/0");
    assert_float_equal(
        json_number_value(key(entry(key(heater, "fields"), "path", "heaters/0/power"), "value")), 190.0, 0.0);
    assert_int_equal(json_integer_value(json_array_get(key(answer, "path"), 0)), 0);
    assert_true(json_array_size(key(answer, "joints")) > 10);
    // Lists and maps come as what they hold, for editors of rows.
    const json_t *circuits =
        key(entry(key(entry(key(answer, "sections"), "name", "electrics"), "special"), "path", "circuits"),
            "value");
    assert_true(json_array_size(circuits) > 5);
    assert_string_equal(text_of(json_array_get(circuits, 0), "load"), "iron sump/sump plug 1");
    assert_string_equal(text_of(json_array_get(circuits, 0), "cut-out"), "130 degC");
    json_decref(answer);
    // A fault of a circuit belongs to the electrics, though the circuit has a name; one of a rule also to the
    // part.
    answer = client_post(server.port, "/api/read",
                         json_pack("{s:s}", "text",
                                   "parts:\n  - tank: t\n  - valve: v\nelectrics:\n  circuits:\n"
                                   "    - {circuit: lamps, load: lamp, length: 3 kg}\n"
                                   "controls:\n  - {set: v, to: nowhere, when: 1 s after start}\n"),
                         200);
    const json_t *lamps = entry(key(answer, "faults"), "path", "circuits/0/length");
    assert_string_equal(text_of(lamps, "section"), "electrics");
    assert_true(json_is_null(key(lamps, "part")));
    const json_t *rule = entry(key(answer, "faults"), "section", "controls");
    assert_string_equal(text_of(rule, "part"), "v");
    json_decref(answer);
    // With a fault, and with a text that is no YAML at all.
    answer = client_post(
        server.port, "/api/read",
        json_pack("{s:s}", "text", "oil: rapeseed\nparts:\n  - tank: t\n  - hose: h\n    bore: 3 kg\n"), 200);
    assert_false(json_is_true(key(answer, "ok")));
    const json_t *fault = entry(key(answer, "faults"), "path", "bore");
    assert_string_equal(text_of(fault, "part"), "h");
    assert_int_equal(json_integer_value(key(fault, "line")), 5);
    assert_true(json_is_null(
        key(entry(key(entry(key(answer, "parts"), "name", "h"), "fields"), "path", "bore"), "value")));
    json_decref(answer);
    answer = client_post(server.port, "/api/read", json_pack("{s:s}", "text", "parts: [\n"), 200);
    assert_int_equal(json_array_size(key(answer, "parts")), 0);
    assert_true(json_array_size(key(answer, "faults")) > 0);
    json_decref(answer);
}

/// The morning of the page is that of the command line, to the last digit.
static void test_same_as_command(void **state) {
    (void)state;
    OwUnits *units = NULL;
    OwRig *rig = NULL;
    OwPlan *plan = NULL;
    OwRecord *record = NULL;
    OwJudgement *judgement = NULL;
    OwFaults faults = {0};
    OwMorningSettings settings = ow_morning_default();
    const char *const set[] = {"climate.ambient=-9 degC"};
    const OwAsked asked = {.set = set, .set_count = 1, .soak = "-12 degC"};
    assert_int_equal(ow_units_create(&units), OW_OK);
    assert_int_equal(ow_rig_read_text(van, strlen(van), "van", units, &rig, &faults), OW_OK);
    ow_cli_apply(&asked, rig, &settings, units, &faults);
    assert_int_equal(faults.errors, 0);
    assert_int_equal(ow_plan_create(rig, &plan, &faults), OW_OK);
    assert_int_equal(ow_morning_run(plan, &settings, &record, &faults), OW_OK);
    assert_int_equal(ow_judge_create(record, OW_DISPLAY_US, &judgement), OW_OK);
    json_t *ours = ow_json_make(judgement);
    char *text = json_dumps(ours, JSON_COMPACT | JSON_REAL_PRECISION(10));
    json_decref(ours);
    ours = json_loads(text, 0, NULL);
    json_t *answer = client_post(server.port, "/api/morning",
                                 json_pack("{s:s, s:s, s:[s], s:s}", "text", van, "units", "us", "overrides",
                                           set[0], "soak", "-12 degC"),
                                 200);
    assert_true(json_equal(ours, key(answer, "morning")));
    // Cautions are sentences of their own, for the page and in the command line's JSON alike.
    const json_t *cautions = key(answer, "cautions");
    assert_true(json_equal(cautions, key(ours, "cautions")));
    assert_int_equal(json_array_size(cautions), 3);
    for (size_t i = 0; i < 3; i++) {
        const char *sentence = json_string_value(json_array_get(cautions, i));
        assert_true(strlen(sentence) > 30 && sentence[strlen(sentence) - 1] == '.');
    }
    // Columns: numbers of the record, rounded; one number where nothing changes.
    const json_t *series = key(answer, "series");
    const size_t count = (size_t)json_integer_value(key(series, "count"));
    const json_t *time = key(series, "time_s"), *part = json_array_get(key(series, "parts"), 3);
    assert_true(count >= 200 && count <= 300);
    assert_int_equal(json_array_size(time), count);
    assert_float_equal(json_number_value(json_array_get(time, count - 1)),
                       record->samples[record->sample_count - 1].time_s, 1e-3);
    assert_float_equal(json_number_value(key(series, "ambient_k")), 264.15, 1e-9);
    const OwPartSample *last =
        &record->parts[(size_t)(record->sample_count - 1) * (size_t)record->part_count + 3];
    assert_float_equal(json_number_value(json_array_get(key(part, "out_k"), count - 1)), last->out_k, 0.006);
    assert_float_equal(json_number_value(json_array_get(key(part, "in_pa"), count - 1)), last->in_pa, 0.6);
    assert_float_equal(json_number_value(json_array_get(key(part, "out_m2_s"), count - 1)),
                       ow_curve_value(&ow_plan_fluid(plan, 0)->kinematic_m2_s, last->out_k), 2e-9);
    for (size_t i = 1; i < count; i++) {
        assert_true(json_number_value(json_array_get(time, i)) >=
                    json_number_value(json_array_get(time, i - 1)));
    }
    json_decref(answer);
    json_decref(ours);
    free(text);
    ow_judge_destroy(&judgement);
    ow_record_destroy(&record);
    ow_plan_destroy(&plan);
    ow_rig_destroy(&rig);
    ow_units_destroy(&units);
    ow_faults_clear(&faults);
}

static void test_edit(void **state) {
    (void)state;
    json_t *answer = client_post(
        server.port, "/api/edit",
        json_pack("{s:s, s:[{s:s, s:s, s:s, s:s}, {s:s, s:s, s:{s:s, s:i}, s:s}, {s:s, s:s, s:s, s:n}]}",
                  "text", van, "edits", "op", "set", "part", "supply hose", "path", "bore", "value", "14 mm",
                  "op", "add", "kind", "hose", "values", "length", "1 m", "cells", 4, "after", "rear pump",
                  "op", "set", "part", "bay hose", "path", "insulation thickness", "value"),
        200);
    const char *text = text_of(answer, "text");
    assert_non_null(strstr(text, "    bore: 14 mm\n"));
    assert_non_null(strstr(text, "  - hose: hose\n    length: 1 m\n    cells: 4\n"));
    assert_non_null(strstr(text, "rear pump, hose, supply hose"));
    assert_string_equal(json_string_value(json_array_get(key(answer, "notes"), 0)), "named \"hose\"");
    assert_int_equal(json_array_size(key(answer, "faults")), 0);
    json_decref(answer);
    answer = client_post(server.port, "/api/edit",
                         json_pack("{s:s, s:[{s:s, s:s, s:s, s:s}]}", "text", van, "edits", "op", "set",
                                   "part", "suply hose", "path", "bore", "value", "14 mm"),
                         200);
    assert_string_equal(text_of(answer, "text"), van);
    assert_string_equal(text_of(key(answer, "failed"), "remedy"), "did you mean \"supply hose\"?");
    json_decref(answer);
}

/// The text of the van with some edits, as JSON.
static json_t *spoil(const char *edits) {
    json_t *list = json_loads(edits, 0, NULL);
    assert_non_null(list);
    json_t *answer =
        client_post(server.port, "/api/edit", json_pack("{s:s, s:o}", "text", van, "edits", list), 200);
    assert_true(json_is_true(key(answer, "changed")));
    return answer;
}

/// How good an answer is: not failing first, then by its margin.
static double worth(const json_t *answer) {
    const char *grade = text_of(answer, "grade");
    const bool is_good = strcmp(grade, "good") == 0 || strcmp(grade, "tight") == 0;
    return (is_good ? 1e6 : 0.0) + json_number_value(key(answer, "tightness"));
}

/// A mend that the page offers as a button moves the answer it belongs to the right way.
static void test_mend(void **state) {
    (void)state;
    static const char *const spoilt[] = {
        "[{\"op\":\"set\",\"part\":\"supply hose\",\"path\":\"bore\",\"value\":\"4 mm\"}]",
        "[{\"op\":\"set\",\"part\":\"boost chamber\",\"path\":\"heaters/0/thermostat/opens\",\"value\":\"140 "
        "degC\"},"
        "{\"op\":\"set\",\"part\":\"boost chamber\",\"path\":\"heaters/1/thermostat/opens\",\"value\":\"140 "
        "degC\"}]",
        ("[{\"op\":\"set\",\"section\":\"drive\",\"path\":\"wait at most\",\"value\":\"30 s\"},"
         "{\"op\":\"set\",\"section\":\"drive\",\"path\":\"attempts\",\"value\":1}]"),
        "[{\"op\":\"set\",\"section\":\"climate\",\"path\":\"ambient\",\"value\":\"-30 degC\"}]",
    };
    for (size_t c = 0; c < sizeof spoilt / sizeof spoilt[0]; c++) {
        json_t *bad = spoil(spoilt[c]);
        json_t *before = client_post(server.port, "/api/morning",
                                     json_pack("{s:s, s:b}", "text", text_of(bad, "text"), "series", 0), 200);
        assert_true(json_is_true(key(key(before, "morning"), "fails")));
        assert_true(json_is_array(
            key(key(key(before, "verdict"), "mend"), "edits"))); // the first answer has a button
        for (size_t i = 0; i < json_array_size(key(before, "answers")); i++) {
            const json_t *edits = key(json_array_get(key(before, "answers"), i), "mend_edits");
            if (!json_is_array(edits)) {
                continue;
            }
            json_t *good =
                client_post(server.port, "/api/edit",
                            json_pack("{s:s, s:O}", "text", text_of(bad, "text"), "edits", edits), 200);
            assert_int_equal(json_array_size(key(good, "faults")), 0);
            json_t *after =
                client_post(server.port, "/api/morning",
                            json_pack("{s:s, s:b}", "text", text_of(good, "text"), "series", 0), 200);
            const json_t *old = json_array_get(key(key(before, "morning"), "answers"), i);
            const json_t *now = entry(key(key(after, "morning"), "answers"), "kind", text_of(old, "kind"));
            if (!(worth(now) > worth(old))) {
                fail_msg("%s: the mend did not help: %s", text_of(old, "kind"), text_of(now, "text"));
            }
            json_decref(after);
            json_decref(good);
        }
        json_decref(before);
        json_decref(bad);
    }
}

static void test_files(void **state) {
    (void)state;
    json_t *put = json_pack("{s:s, s:s, s:n}", "name", "new van.yaml", "text", "name: x\n", "stamp");
    char *text = json_dumps(put, 0);
    Reply reply =
        client_ask(server.port, "PUT", "/api/file", "Content-Type: application/json\r\n", text, NULL);
    assert_int_equal(reply.status, 200);
    client_clear(&reply);
    reply = client_ask(server.port, "PUT", "/api/file", "Content-Type: application/json\r\n", text, NULL);
    assert_int_equal(reply.status, 409); // exists
    assert_non_null(strstr(reply.body, "\"exists\""));
    client_clear(&reply);
    free(text);
    json_t *got = client_get(server.port, "/api/file?name=new%20van.yaml", 200);
    assert_string_equal(text_of(got, "text"), "name: x\n");
    // Another program changes it: the stamp no longer holds.
    serve_put(&server, "new van.yaml", "name: other\n");
    json_object_set_new(put, "stamp", json_string(text_of(got, "stamp")));
    text = json_dumps(put, 0);
    reply = client_ask(server.port, "PUT", "/api/file", "Content-Type: application/json\r\n", text, NULL);
    assert_int_equal(reply.status, 409);
    assert_non_null(strstr(reply.body, "\"changed\""));
    client_clear(&reply);
    free(text);
    json_object_set_new(put, "force", json_true());
    text = json_dumps(put, 0);
    reply = client_ask(server.port, "PUT", "/api/file", "Content-Type: application/json\r\n", text, NULL);
    assert_int_equal(reply.status, 200);
    client_clear(&reply);
    free(text);
    json_decref(got);
    got = client_get(server.port, "/api/file?name=new%20van.yaml", 200);
    assert_string_equal(text_of(got, "text"), "name: x\n");
    json_decref(got);
    json_decref(put);
}

static void test_oil(void **state) {
    (void)state;
    json_t *answer =
        client_post(server.port, "/api/oil",
                    json_pack("{s:s, s:[f, f]}", "oil", "rapeseed", "temperatures_k", 313.15, 373.15), 200);
    const json_t *oil = key(answer, "oil");
    OwOilSpec spec = {.name = "rapeseed"};
    OwFaults faults = {0};
    OwFluid *fluid = malloc(sizeof *fluid);
    assert_non_null(fluid);
    assert_int_equal(ow_oil_make(&spec, fluid, &faults), OW_OK);
    assert_float_equal(json_number_value(json_array_get(key(oil, "kinematic_m2_s"), 0)),
                       ow_curve_value(&fluid->kinematic_m2_s, 313.15), 1e-12);
    json_decref(answer);
    answer = client_post(server.port, "/api/oil", json_pack("{s:s}", "oil", "rapesed"), 200);
    assert_null(json_object_get(answer, "oil"));
    assert_true(json_array_size(key(answer, "faults")) > 0);
    json_decref(answer);
    free(fluid);
}

static void test_compare(void **state) {
    (void)state;
    json_t *answer =
        client_post(server.port, "/api/compare",
                    json_pack("{s:[{s:s, s:s}, {s:s, s:s, s:[s]}], s:b}", "texts", "label", "a", "text", van,
                              "label", "b", "text", van, "overrides", "supply hose.bore=5 mm", "series", 0),
                    200);
    assert_int_equal(json_array_size(key(answer, "runs")), 2);
    const json_t *row = entry(key(answer, "rows"), "kind", "ready");
    assert_true(json_number_value(json_array_get(key(row, "values"), 0)) <
                json_number_value(json_array_get(key(row, "values"), 1)));
    assert_int_equal(json_integer_value(key(row, "better")), 0);
    json_decref(answer);
}

/// Waits for a job's end.
static json_t *wait_for(const char *id) {
    char path[80];
    (void)snprintf(path, sizeof path, "/api/job/%s", id);
    for (int i = 0; i < 1500; i++) {
        json_t *job = client_get(server.port, path, 200);
        if (strcmp(text_of(job, "state"), "running") != 0) {
            return job;
        }
        json_decref(job);
        const struct timespec pause = {0, 20000000};
        (void)nanosleep(&pause, NULL);
    }
    fail_msg("the job does not end");
    return NULL;
}

static void test_jobs(void **state) {
    (void)state;
    json_t *begun =
        client_post(server.port, "/api/job", json_pack("{s:s, s:s}", "verb", "morning", "text", van), 202);
    json_t *job = wait_for(text_of(begun, "id"));
    assert_string_equal(text_of(job, "state"), "done");
    assert_true(json_is_object(key(key(job, "result"), "morning")));
    json_decref(job);
    json_decref(begun);
    // The command itself, with an option, and with a rig that cannot be read.
    begun = client_post(
        server.port, "/api/job",
        json_pack("{s:s, s:s, s:{s:s}}", "verb", "wire", "text", van, "options", "soak", "-3 degC"), 202);
    job = wait_for(text_of(begun, "id"));
    assert_string_equal(text_of(job, "state"), "done");
    assert_float_equal(json_number_value(key(key(job, "result"), "soak_k")), 270.15, 1e-6);
    json_decref(job);
    json_decref(begun);
    begun = client_post(server.port, "/api/job",
                        json_pack("{s:s, s:s}", "verb", "wire", "text", "parts: 3\n"), 202);
    job = wait_for(text_of(begun, "id"));
    assert_true(json_array_size(key(key(job, "result"), "rig_faults")) > 0);
    json_decref(job);
    json_decref(begun);
    begun = client_post(
        server.port, "/api/job",
        json_pack("{s:s, s:s, s:{s:s}}", "verb", "wire", "text", van, "options", "soak", "-300 degC"), 202);
    job = wait_for(text_of(begun, "id"));
    assert_string_equal(text_of(job, "state"), "failed");
    assert_non_null(strstr(text_of(key(job, "error"), "message"), "--soak"));
    json_decref(job);
    json_decref(begun);
    json_decref(client_post(server.port, "/api/job", json_pack("{s:s}", "verb", "page"), 404));
    // The command tells how far it is.
    begun = client_post(
        server.port, "/api/job",
        json_pack("{s:s, s:s, s:{s:i}}", "verb", "faults", "text", van, "options", "threads", 1), 202);
    char its[80];
    (void)snprintf(its, sizeof its, "/api/job/%s", text_of(begun, "id"));
    double last = 0.0;
    int between = 0;
    for (bool is_running = true; is_running;) {
        job = client_get(server.port, its, 200);
        is_running = strcmp(text_of(job, "state"), "running") == 0;
        const double share = json_number_value(json_object_get(job, "progress"));
        assert_true(share >= last && share <= 1.0);
        between += share > last && share < 1.0;
        last = share;
        json_decref(job);
        const struct timespec pause = {0, 10000000};
        (void)nanosleep(&pause, NULL);
    }
    assert_true(between >= 3);
    json_decref(begun);
    // Cancelled: gone at once, and its place is free again.
    for (int round = 0; round < 6; round++) {
        begun =
            client_post(server.port, "/api/job", json_pack("{s:s, s:s}", "verb", "faults", "text", van), 202);
        char path[80];
        (void)snprintf(path, sizeof path, "/api/job/%s", text_of(begun, "id"));
        Reply reply = client_ask(server.port, "DELETE", path, NULL, NULL, NULL);
        assert_int_equal(reply.status, 200);
        client_clear(&reply);
        json_decref(client_get(server.port, path, 404));
        json_decref(begun);
        const struct timespec pause = {0, 60000000};
        (void)nanosleep(&pause, NULL);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_start),   cmocka_unit_test(test_catalogue),
        cmocka_unit_test(test_read),    cmocka_unit_test(test_same_as_command),
        cmocka_unit_test(test_edit),    cmocka_unit_test(test_mend),
        cmocka_unit_test(test_files),   cmocka_unit_test(test_oil),
        cmocka_unit_test(test_compare), cmocka_unit_test(test_jobs),
    };
    return cmocka_run_group_tests(tests, open_all, close_all);
}
