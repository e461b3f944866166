// SPDX-License-Identifier: GPL-3.0-or-later
// `oilwright wire` called as the command line does: exit codes, JSON, CSV and SVG in files.
#include "near.h"

#include <jansson.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "wire_cli.h"

static char directory[] = "/tmp/ow-wire-XXXXXX";

static const char good[] = "name: press van (invented)\n"
                           "oil: rapeseed\n"
                           "parts:\n"
                           "  - tank: main tank\n"
                           "  - electric pump: boost pump\n"
                           "  - chamber: boost chamber\n"
                           "    heaters:\n"
                           "      - {name: plug, power: 120 W, thermostat: {opens: 75 degC}}\n"
                           "  - injection pump: pump\n"
                           "  - injectors: injectors\n"
                           "electrics:\n"
                           "  circuits:\n"
                           "    - {circuit: 'plug, \"hot\"', load: boost chamber/plug, cut-out: 130 degC}\n";

static const char *file(const char *name, const char *text) {
    static char path[4][128];
    static int next;
    char *p = path[next++ % 4];
    snprintf(p, 128, "%s/%s", directory, name);
    if (text) {
        FILE *f = fopen(p, "wb");
        assert_non_null(f);
        fputs(text, f);
        fclose(f);
    }
    return p;
}

static char *contents(const char *path) {
    FILE *f = fopen(path, "rb");
    assert_non_null(f);
    char *text = calloc(1, 1 << 20);
    assert_non_null(text);
    assert_true(fread(text, 1, (1 << 20) - 1, f) > 0);
    fclose(f);
    return text;
}

/// Calls the verb with the standard output in a file.
static int call(const char *out, int argc, char **argv) {
    fflush(stdout);
    const int kept = dup(1);
    FILE *f = freopen(out, "wb", stdout);
    assert_non_null(f);
    const int code = ow_cli_wire(argc, argv);
    fflush(stdout);
    dup2(kept, 1);
    close(kept);
    return code;
}

#define CALL(out, ...)                                                                                       \
    call(out, (int)(sizeof((char *[]){__VA_ARGS__}) / sizeof(char *)), (char *[]){__VA_ARGS__, NULL})

static void good_rig(void **state) {
    (void)state;
    char rig[128], csv[128], svg[128], out[128];
    snprintf(rig, sizeof rig, "%s", file("rig.yaml", good));
    snprintf(csv, sizeof csv, "%s", file("wires.csv", NULL));
    snprintf(svg, sizeof svg, "%s", file("plan.svg", NULL));
    snprintf(out, sizeof out, "%s", file("out.json", NULL));
    char wire[] = "wire", json[] = "--json", faults[] = "--faults", as_csv[] = "--csv", as_svg[] = "--svg";
    assert_int_equal(CALL(out, wire, rig, json, faults, as_csv, csv, as_svg, svg), 0);
    json_error_t error;
    json_t *root = json_load_file(out, 0, &error);
    assert_non_null(root);
    assert_true(json_is_true(json_object_get(root, "good")));
    assert_true(json_is_false(json_object_get(root, "circuits_derived")));
    assert_int_equal(json_array_size(json_object_get(root, "circuits")),
                     3); // the heater's; pump and starter get theirs
    assert_true(json_array_size(json_object_get(root, "faults")) > 8);
    // Which short is which is said beside both.
    const json_t *cases = json_object_get(root, "short_cases");
    assert_non_null(strstr(json_string_value(json_object_get(cases, "circuits_short_far")), "weakest"));
    const json_t *morning = json_object_get(cases, "faults");
    assert_non_null(strstr(json_string_value(json_object_get(morning, "text")), "that morning"));
    assert_true(json_number_value(json_object_get(morning, "battery_charge")) > 0.0 &&
                json_number_value(json_object_get(morning, "battery_k")) > 200.0);
    const size_t wires = json_array_size(json_object_get(root, "wires"));
    const json_t *first = json_array_get(json_object_get(root, "circuits"), 0);
    assert_string_equal(json_string_value(json_object_get(first, "name")), "plug, \"hot\"");
    assert_true(json_number_value(json_object_get(first, "fuse_a")) >= 15.0);
    json_decref(root);
    char *text = contents(csv); // one header and one record a wire, quotes doubled, CRLF
    size_t lines = 0;
    for (const char *p = strstr(text, "\r\n"); p; p = strstr(p + 2, "\r\n")) {
        lines++;
    }
    assert_int_equal(lines, wires + 1);
    assert_non_null(strstr(text, "\"plug, \"\"hot\"\"\""));
    free(text);
    text = contents(svg);
    assert_non_null(strstr(text, "</svg>"));
    assert_non_null(strstr(text, "press van (invented): wiring"));
    assert_non_null(strstr(text, "plug, &quot;hot&quot;"));
    free(text);
    char us[] = "--units=us";
    assert_int_equal(CALL(out, wire, rig, us, faults), 0);
    text = contents(out);
    assert_non_null(strstr(text, "weakest short: battery at 14 degF"));
    assert_non_null(strstr(text, "shorts: battery as it stands that morning"));
    assert_non_null(strstr(text, "AWG"));
    assert_non_null(strstr(text, "pass every check"));
    assert_non_null(strstr(text, "licensed practice"));
    free(text);
}

static void broken_rule_and_bad_calls(void **state) {
    (void)state;
    char text[2048], rig[128], out[128];
    snprintf(text, sizeof text, "%s", good);
    char *cutout = strstr(text, ", cut-out: 130 degC");
    memset(cutout, ' ', strlen(", cut-out: 130 degC"));
    snprintf(rig, sizeof rig, "%s", file("rule.yaml", text));
    snprintf(out, sizeof out, "%s", file("out.txt", NULL));
    char wire[] = "wire", soak[] = "--soak", cold[] = "-10 degC", odd[] = "--untis",
         none[] = "/nowhere/rig.yaml", two[] = "--csv=-", json[] = "--json", hot[] = "--soak=300 degC",
         full[] = "/dev/full";
    assert_int_equal(CALL(out, wire, rig, soak, cold), 1); // the rule: a heater with its thermostat only
    char *said = contents(out);
    assert_non_null(strstr(said, "does not depend on its thermostat"));
    free(said);
    assert_int_equal(CALL(out, wire), 2);
    assert_int_equal(CALL(out, wire, rig, odd), 2);
    assert_int_equal(CALL(out, wire, none), 2);
    assert_int_equal(CALL(out, wire, rig, hot), 2);
    assert_int_equal(CALL(out, wire, rig, json, two), 2);
    if (access(full, W_OK) == 0) {
        assert_int_equal(CALL(full, wire, rig), 3);
    }
}

static int make_directory(void **state) {
    (void)state;
    return mkdtemp(directory) ? 0 : 1;
}

static int remove_directory(void **state) {
    (void)state;
    static const char *const names[] = {"rig.yaml", "wires.csv", "plan.svg",
                                        "out.json", "rule.yaml", "out.txt"};
    for (int i = 0; i < 6; i++) {
        remove(file(names[i], NULL));
    }
    return rmdir(directory);
}

int main(void) {
    const struct CMUnitTest tests[] = {cmocka_unit_test(good_rig),
                                       cmocka_unit_test(broken_rule_and_bad_calls)};
    return cmocka_run_group_tests(tests, make_directory, remove_directory);
}
