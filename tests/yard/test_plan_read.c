// SPDX-License-Identifier: GPL-3.0-or-later
// Reading a yard file: every kind of mistake with its place and remedy, all of a file together, overrides,
// and the reference.
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <cmocka.h>

#include "oilwright/yard_plan.h"

static OwUnits *units;

// Eight lines that are good.
#define GOOD                                                                                                 \
    "oil: {kind: rapeseed, used: yes}\n"                                                                     \
    "vessels:\n"                                                                                             \
    "  - vessel: drum\n"                                                                                     \
    "    heater: 2 kW\n"                                                                                     \
    "  - vessel: can\n"                                                                                      \
    "steps:\n"                                                                                               \
    "  - settle: rest\n"                                                                                     \
    "    in: drum\n"

typedef struct Row {
    const char *text;
    OwStatus status;
    int line, column;
    const char *part, *says, *remedy; ///< pieces of message and remedy
} Row;

static const Row rows[] = {
    {"", OW_ERROR_SYNTAX, 1, 1, "", "file is empty", ""},
    {"vessels: [a, b\n", OW_ERROR_SYNTAX, 2, 1, "", "closing ] is missing", ""},
    {"just words\n", OW_ERROR_VALUE, 1, 1, "", "a yard file wants keys and values", ""},
    {"oil: rapeseed\n", OW_ERROR_VALUE, 1, 1, "", "vessels section is missing", "- vessel: drum"},
    {"oil: rapeseed\n", OW_ERROR_VALUE, 1, 1, "", "steps section is missing", "- settle"},
    {GOOD "climat: {shed: 3 degC}\n", OW_ERROR_VALUE, 9, 1, "", "unknown key \"climat\"", "\"climate\""},
    {GOOD "climate: 3 degC\n", OW_ERROR_VALUE, 9, 10, "", "climate wants keys and values", ""},
    {GOOD "climate: {shd: 3 degC}\n", OW_ERROR_VALUE, 9, 11, "", "unknown key \"shd\"", "\"shed\""},
    {GOOD "climate: {shed: 3}\n", OW_ERROR_UNIT, 9, 17, "", "shed: \"3\" has no unit", "degC"},
    {GOOD "climate: {shed: 99 degC}\n", OW_ERROR_VALUE, 9, 17, "", "out of range", "50 "},
    {GOOD "climate: {humidity: 140 %}\n", OW_ERROR_VALUE, 9, 21, "", "out of range", "0 to 1"},
    {GOOD "climate: {shed: 3 degC, shed: 4 degC}\n", OW_ERROR_VALUE, 9, 25, "",
     "given twice (first on line 9)", ""},
    {GOOD "week: {days: 2.5}\n", OW_ERROR_VALUE, 9, 14, "", "not a whole number", "1 to 7"},
    {GOOD "week: {batch: 3 kg}\n", OW_ERROR_UNIT, 9, 15, "", "not a unit of volume", ""},
    {GOOD "targets: {water: 500 mg}\n", OW_ERROR_UNIT, 9, 18, "", "water", ""},
    {GOOD "prices: {labor: 12}\n", OW_ERROR_VALUE, 9, 10, "", "unknown key \"labor\"", "\"labour\""},
    {GOOD "tests: {acid value: -1}\n", OW_ERROR_VALUE, 9, 21, "", "out of range", ""},
    {GOOD "name: [a]\n", OW_ERROR_VALUE, 9, 7, "", "name wants one value", ""},
    // Oil, by the rig's rules.
    {"oil: rapesed\nvessels: [{vessel: a}]\nsteps: [{settle: s, in: a}]\n", OW_ERROR_VALUE, 1, 6, "oil",
     "rapesed", "rapeseed"},
    {"oil: {a: rapeseed, b: diesel}\nvessels: [{vessel: a}]\nsteps: [{settle: s, in: a}]\n", OW_ERROR_VALUE,
     1, 6, "", "takes in one oil", "blend"},
    {"oil: {kind: rapeseed, water: 50 %}\nvessels: [{vessel: a}]\nsteps: [{settle: s, in: a}]\n",
     OW_ERROR_VALUE, 1, 30, "oil", "water: 50 % is out of range", ""},
    // Vessels.
    {"oil: rapeseed\nvessels: drum\nsteps: [{settle: s, in: a}]\n", OW_ERROR_VALUE, 2, 10, "",
     "vessels wants a list", "- "},
    {"oil: rapeseed\nvessels: []\nsteps: [{settle: s, in: a}]\n", OW_ERROR_VALUE, 2, 10, "", "at least one",
     "- vessel: drum"},
    {"oil: rapeseed\nvessels: [drum]\nsteps: [{settle: s, in: a}]\n", OW_ERROR_VALUE, 2, 11, "",
     "a vessel wants keys and values", ""},
    {"oil: rapeseed\nvessels: [{volume: 3 L}]\nsteps: [{settle: s, in: a}]\n", OW_ERROR_VALUE, 2, 12, "",
     "a vessel has no name", "- vessel:"},
    {"oil: rapeseed\nvessels: [{vessel: }]\nsteps: [{settle: s, in: a}]\n", OW_ERROR_VALUE, 2, 20, "",
     "name is empty", ""},
    {"oil: rapeseed\nvessels: [{vessel: a, heatr: 1 kW}]\nsteps: [{settle: s, in: a}]\n", OW_ERROR_VALUE, 2,
     23, "a", "unknown key \"heatr\"", "\"heater\""},
    {"oil: rapeseed\nvessels: [{vessel: a, cut-out: maybe}]\nsteps: [{settle: s, in: a}]\n", OW_ERROR_VALUE,
     2, 32, "a", "neither yes nor no", "yes or no"},
    {"oil: rapeseed\nvessels: [{vessel: a}, {vessel: a}]\nsteps: [{settle: s, in: a}]\n", OW_ERROR_VALUE, 2,
     33, "a", "two vessels have this name (the first on line 2)", "count"},
    // Steps.
    {"oil: rapeseed\nvessels: [{vessel: a}]\nsteps: []\n", OW_ERROR_VALUE, 3, 8, "", "at least one step", ""},
    {"oil: rapeseed\nvessels: [{vessel: a}]\nsteps: [{settle: s}]\n", OW_ERROR_VALUE, 3, 9, "s",
     "not said in which vessel", "in:"},
    {GOOD "  - setle: again\n", OW_ERROR_VALUE, 9, 5, "", "\"setle\" is no kind of step", "\"settle\""},
    {GOOD "  - contraption: c\n", OW_ERROR_VALUE, 9, 5, "", "no kind of step", "centrifuge"},
    {GOOD "  - {}\n", OW_ERROR_VALUE, 9, 5, "", "no kind of step", "settle"},
    {GOOD "  - rest\n", OW_ERROR_VALUE, 9, 5, "", "a step wants keys and values", ""},
    {GOOD "  - settle: rest\n", OW_ERROR_VALUE, 9, 13, "rest", "two steps have this name", ""},
    {GOOD "  - settle: can\n", OW_ERROR_VALUE, 9, 5, "can", "a step and a vessel have this name", ""},
    {GOOD "  - settle: two\n    in: drun\n", OW_ERROR_VALUE, 10, 9, "two", "no vessel \"drun\"", "\"drum\""},
    {GOOD "  - settle: two\n    in: [drum]\n", OW_ERROR_VALUE, 10, 9, "two", "in wants one value", ""},
    {GOOD "  - settle: two\n    into: can\n", OW_ERROR_VALUE, 10, 5, "two", "unknown key \"into\"", "\"in\""},
    {GOOD "  - filter: f\n    into: cam\n", OW_ERROR_VALUE, 10, 11, "f", "no vessel \"cam\"", "\"can\""},
    {GOOD "  - filter: f\n    rating: 5\n", OW_ERROR_UNIT, 10, 13, "f", "rating: \"5\" has no unit", ""},
    {GOOD "  - filter: f\n    form: sack\n", OW_ERROR_VALUE, 10, 11, "f", "\"sack\" is not known",
     "bag or cartridge"},
    {GOOD "  - dry: d\n    by: bubling\n", OW_ERROR_VALUE, 10, 9, "d", "not known here", "\"bubbling\""},
    {GOOD "  - heat: h\n    in: can\n", OW_ERROR_VALUE, 9, 5, "h", "the vessel has no heater", "\"can\""},
    {GOOD "  - dry: d\n    in: can\n    at: 50 degC\n", OW_ERROR_VALUE, 9, 5, "d", "the vessel has no heater",
     ""},
    {GOOD "  - centrifuge: c\n    inner radius: 8 cm\n    outer radius: 7 cm\n", OW_ERROR_VALUE, 9, 5, "c",
     "no liquid ring", "larger"},
    {GOOD "  - blend: b\n", OW_ERROR_VALUE, 9, 5, "b", "not said what is added", "with: diesel"},
    {GOOD "  - blend: b\n    with: diesal\n", OW_ERROR_VALUE, 9, 5, "b", "diesal", "diesel"},
};

static bool row_holds(const Row *row, const char *text, size_t size) {
    OwYard *yard = (OwYard *)(uintptr_t)1;
    OwFaults faults = {0};
    const OwStatus status = ow_yard_read_text(text, size, "bad.yaml", units, &yard, &faults);
    const OwFault *found = NULL;
    for (size_t i = 0; i < faults.count && found == NULL; i++) {
        const OwFault *f = &faults.items[i];
        if (f->severity == OW_FAULT_ERROR && f->status == row->status && f->line == row->line &&
            f->column == row->column && strcmp(f->part, row->part) == 0 &&
            strstr(f->message, row->says) != NULL && strstr(f->remedy, row->remedy) != NULL) {
            found = f;
        }
    }
    if (found == NULL || status == OW_OK) {
        print_error("status %d for:\n%s\nwanted %d:%d [%s] \"%s\"; faults:\n", (int)status, text, row->line,
                    row->column, row->part, row->says);
        for (size_t i = 0; i < faults.count; i++) {
            char line[800];
            (void)ow_fault_format(&faults.items[i], line, sizeof line);
            print_error("  %s\n", line);
        }
    }
    const bool holds =
        found != NULL && status != OW_OK && yard == NULL && strcmp(found->file, "bad.yaml") == 0;
    ow_faults_clear(&faults);
    return holds;
}

static void each_fault_has_its_place(void **state) {
    (void)state;
    int wrong = 0;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        wrong += row_holds(&rows[i], rows[i].text, strlen(rows[i].text)) ? 0 : 1;
    }
    assert_int_equal(wrong, 0);
}

/// All faults of a file at once, in its order, and no echo: a step in a lost vessel is no second fault.
static void all_faults_together(void **state) {
    (void)state;
    static const char text[] = "oil: rapesed\n"
                               "climate: {shed: 5}\n"
                               "vessels:\n"
                               "  - vesel: drum\n"
                               "  - vessel: can\n"
                               "    volume: 3 kW\n"
                               "steps:\n"
                               "  - settle: rest\n"
                               "    in: drum\n"
                               "    for: 3\n"
                               "  - filtr: bag\n"
                               "week: {days: 9}\n";
    static const int lines[] = {1, 2, 4, 6, 10, 11, 12};
    OwYard *yard = NULL;
    OwFaults faults = {0};
    assert_int_not_equal(ow_yard_read_text(text, strlen(text), "all", units, &yard, &faults), OW_OK);
    assert_null(yard);
    assert_int_equal(faults.count, sizeof lines / sizeof lines[0]);
    for (size_t i = 0; i < faults.count; i++) {
        assert_int_equal(faults.items[i].line, lines[i]);
    }
    ow_faults_clear(&faults);
}

static void a_good_file(void **state) {
    (void)state;
    OwYard *yard = NULL;
    OwFaults faults = {0};
    static const char text[] = GOOD "    for: 3 days\n"
                                    "  - filter: bag\n"
                                    "    into: can\n"
                                    "    rating: 0.001 in\n"
                                    "  - cool: wait\n"
                                    "tests: {water: 1200 mg/kg}\n"
                                    "prices: {currency: EUR}\n";
    assert_int_equal(ow_yard_read_text(text, strlen(text), "good", units, &yard, &faults), OW_OK);
    assert_int_equal(faults.count, 0);
    assert_int_equal(yard->vessel_count, 2);
    assert_int_equal(yard->step_count, 3);
    assert_true(yard->steps[0].as.settle.time_s == 3 * 86400.0);
    assert_int_equal(yard->steps[1].vessel, 0);
    assert_int_equal(yard->steps[1].into, 1);
    assert_int_equal(yard->steps[2].vessel, 1); // it stays where the filter put it
    assert_true(yard->steps[1].as.filter.rating_m > 25.39e-6 && yard->steps[1].as.filter.rating_m < 25.41e-6);
    assert_true(yard->oil.is_used && yard->vessels[0].heater_w == 2000.0 && !yard->vessels[0].has_cut_out);
    assert_string_equal(yard->prices.currency, "EUR");
    ow_yard_destroy(&yard);
    // Without oil it warns and assumes.
    static const char bare[] = "vessels: [{vessel: a}]\nsteps: [{settle: s, in: a}]\n";
    assert_int_equal(ow_yard_read_text(bare, strlen(bare), "bare", units, &yard, &faults), OW_OK);
    assert_int_equal(faults.count, 1);
    assert_int_equal(faults.errors, 0);
    assert_true(yard->oil.is_used);
    ow_faults_clear(&faults);
    ow_yard_destroy(&yard);
    assert_int_equal(ow_yard_read_file("/nowhere/yard.yaml", units, &yard, &faults), OW_ERROR_READ);
    assert_int_equal(faults.count, 1);
    ow_faults_clear(&faults);
    assert_int_equal(ow_yard_read_file(EXAMPLES "/orchard-yard.yaml", units, &yard, &faults), OW_OK);
    assert_non_null(strstr(yard->name, "orchard"));
    ow_yard_destroy(&yard);
    assert_int_equal(ow_yard_read_text(NULL, 3, "x", units, &yard, &faults), OW_ERROR_USE);
    assert_int_equal(ow_yard_read_text("a", 1, "x", units, NULL, &faults), OW_ERROR_USE);
}

static void overrides(void **state) {
    (void)state;
    static const struct {
        const char *change, *says, *remedy; ///< says NULL: it works
    } changes[] = {
        {"week.batch=120 L", NULL, NULL},
        {"rest.for=36 h", NULL, NULL},
        {"drum.heater=3 kW", NULL, NULL},
        {"oil.water=0.9 %", NULL, NULL},
        {"oil=soybean", NULL, NULL},
        {"climate.humidity=0.9", NULL, NULL},
        {"week.batch", "there is no =", "climate.humidity"},
        {"batch=3 L", "no key is named", "section.key"},
        {"weak.batch=3 L", "no section, vessel or step named \"weak\"", "\"week\""},
        {"rist.for=3 h", "no section, vessel or step named \"rist\"", "\"rest\""},
        {"zzzzzzzz.for=3 h", "no section", "a name of the file"},
        {"rest.fro=3 h", "unknown key \"fro\"", "\"for\""},
        {"rest.in=can", "\"in\" cannot be set this way", "in the file"},
        {"rest.for=3 kg", "not a unit of time", ""},
        {"week.days=8", "out of range", "1 to 7"},
        {"oil=soybeen", "soybeen", "soybean"},
        {"oil.kind=soybean", "cannot be set this way", ""},
    };
    for (size_t i = 0; i < sizeof changes / sizeof changes[0]; i++) {
        OwYard *yard = NULL;
        OwFaults faults = {0};
        assert_int_equal(ow_yard_read_text(GOOD, strlen(GOOD), "good", units, &yard, &faults), OW_OK);
        OwYard *before = malloc(sizeof *before);
        assert_non_null(before);
        *before = *yard;
        const OwStatus status = ow_yard_override(yard, changes[i].change, units, &faults);
        const bool is_changed = memcmp(before, yard, sizeof *yard) != 0;
        if (changes[i].says == NULL) {
            assert_int_equal(status, OW_OK);
            assert_true(is_changed);
        } else {
            if (status == OW_OK || faults.count != 1 ||
                strstr(faults.items[0].message, changes[i].says) == NULL ||
                strstr(faults.items[0].remedy, changes[i].remedy) == NULL) {
                print_error("%s: %s; %s\n", changes[i].change, faults.count ? faults.items[0].message : "",
                            faults.count ? faults.items[0].remedy : "");
                fail();
            }
            assert_false(is_changed);
        }
        free(before);
        ow_faults_clear(&faults);
        ow_yard_destroy(&yard);
    }
    // A change that leaves a heat step without heater is taken back.
    static const char text[] = GOOD "  - heat: warm\n";
    OwYard *yard = NULL;
    OwFaults faults = {0};
    assert_int_equal(ow_yard_read_text(text, strlen(text), "good", units, &yard, &faults), OW_OK);
    assert_int_equal(ow_yard_override(yard, "drum.heater=none", units, &faults), OW_ERROR_VALUE);
    assert_true(yard->vessels[0].heater_w == 2000.0);
    ow_faults_clear(&faults);
    ow_yard_destroy(&yard);
}

static void too_many(void **state) {
    (void)state;
    char *text = malloc(20000);
    assert_non_null(text);
    strcpy(text, "oil: rapeseed\nvessels:\n");
    for (int i = 0; i <= OW_YARD_MAX_VESSELS; i++) {
        sprintf(text + strlen(text), "  - vessel: v%d\n", i);
    }
    strcat(text, "steps:\n");
    for (int i = 0; i <= OW_YARD_MAX_STEPS; i++) {
        sprintf(text + strlen(text), "  - settle: s%d\n    in: v0\n", i);
    }
    OwYard *yard = NULL;
    OwFaults faults = {0};
    assert_int_equal(ow_yard_read_text(text, strlen(text), "many", units, &yard, &faults), OW_ERROR_VALUE);
    assert_int_equal(faults.count, 2);
    assert_non_null(strstr(faults.items[0].message, "at most 16 vessels"));
    assert_non_null(strstr(faults.items[1].message, "at most 32 steps"));
    ow_faults_clear(&faults);
    free(text);
}

static void reference(void **state) {
    (void)state;
    char *text = NULL;
    size_t size = 0;
    FILE *out = open_memstream(&text, &size);
    assert_non_null(out);
    assert_int_equal(ow_yard_write_reference(out), OW_OK);
    assert_int_equal(ow_yard_write_reference(NULL), OW_ERROR_USE);
    (void)fclose(out);
    assert_non_null(strstr(text, "| humidity | 75 % | 0 % | 100 % |"));
    assert_non_null(strstr(text, "| water | 500 mg/kg | 50 mg/kg | 5 % |"));
    assert_non_null(strstr(text, "### centrifuge"));
    free(text);
}

static int set_up(void **state) {
    (void)state;
    return ow_units_create(&units) == OW_OK ? 0 : -1;
}

static int tear_down(void **state) {
    (void)state;
    ow_units_destroy(&units);
    return 0;
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(each_fault_has_its_place),
        cmocka_unit_test(all_faults_together),
        cmocka_unit_test(a_good_file),
        cmocka_unit_test(overrides),
        cmocka_unit_test(too_many),
        cmocka_unit_test(reference),
    };
    return cmocka_run_group_tests(tests, set_up, tear_down);
}
