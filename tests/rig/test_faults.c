// SPDX-License-Identifier: GPL-3.0-or-later
// Malformed rigs: each is refused with the right code, line, column, part and words.
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>
#include <cmocka.h>

#include "oilwright/rig.h"
#include "sample.h"

static OwUnits *units;

static int set_up(void **state) {
    (void)state;
    return ow_units_create(&units) == OW_OK ? 0 : -1;
}

static int tear_down(void **state) {
    (void)state;
    ow_units_destroy(&units);
    return 0;
}

/// A legal rig up to its lines; rows below add to it, from line 9 on.
#define GOOD                                                                                                 \
    "oil: diesel\n"                                                                                          \
    "parts:\n"                                                                                               \
    "  - tank: tank\n"                                                                                       \
    "  - hose: hose\n"                                                                                       \
    "  - valve: tap\n"                                                                                       \
    "    positions: {open: a, shut: none}\n"                                                                 \
    "  - injection pump: pump\n"                                                                             \
    "  - hose: back\n"

typedef struct Row {
    const char *text;
    OwStatus status;
    int line, column;
    const char *part, *says, *remedy; ///< pieces of message and remedy
} Row;

static const Row rows[] = {
    // What is not well formed.
    {"", OW_ERROR_SYNTAX, 1, 1, "", "file is empty", ""},
    {"# nothing but a comment\n", OW_ERROR_SYNTAX, 1, 1, "", "file is empty", ""},
    {"parts:\n\t- tank: t\n", OW_ERROR_SYNTAX, 2, 1, "", "a tab is used to indent", "use spaces"},
    {"parts: [a, b\n", OW_ERROR_SYNTAX, 2, 1, "", "closing ] is missing", ""},
    {"climate: {wind: 3 m/s\nparts: []\n", OW_ERROR_SYNTAX, 2, 6, "", "", "}"},
    {"name: a: b\n", OW_ERROR_SYNTAX, 1, 8, "", "a colon stands where none is expected", "quotes"},
    {"name: \"x\n", OW_ERROR_SYNTAX, 2, 1, "", "ends inside quotes", "close the quotes"},
    {"name: x\n  oil: diesel\n", OW_ERROR_SYNTAX, 2, 6, "", "colon", "indented"},
    {"parts:\n  - tank: a\n   - hose: b\n", OW_ERROR_SYNTAX, 3, 4, "", "list entry", ""},
    {"name: *x\n", OW_ERROR_SYNTAX, 1, 7, "", "aliases", "write the value out"},
    {"name: &x van\n", OW_ERROR_SYNTAX, 1, 7, "", "anchors", ""},
    {"name: !!str van\n", OW_ERROR_SYNTAX, 1, 7, "", "tags", "leave the tag out"},
    {"name: a\n---\nname: b\n", OW_ERROR_SYNTAX, 2, 1, "", "second document", "one rig a file"},
    {"name: \"a\\0b\"\n", OW_ERROR_SYNTAX, 1, 7, "", "NUL", ""},
    {"name: \xFF\n", OW_ERROR_SYNTAX, 1, 7, "", "not allowed", "UTF-8"},
    {"name: @x\n", OW_ERROR_SYNTAX, 1, 7, "", "cannot begin with this character", "quotes"},
    {"? [a]\n: b\n", OW_ERROR_SYNTAX, 1, 3, "", "a key must be plain text", ""},
    {"[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[", OW_ERROR_SYNTAX, 1, 13, "", "nesting is too deep", ""},
    {"just words\n", OW_ERROR_VALUE, 1, 1, "", "wants keys and values", ""},
    {"- a\n- b\n", OW_ERROR_VALUE, 1, 1, "", "wants keys and values", ""},
    // Sections and keys.
    {"oil: diesel\n", OW_ERROR_VALUE, 1, 1, "", "parts section is missing", "- tank: main tank"},
    {GOOD "climat: {wind: 3 m/s}\n", OW_ERROR_VALUE, 9, 1, "", "unknown key \"climat\"", "\"climate\""},
    {GOOD "climate: {ambiant: 3 degC}\n", OW_ERROR_VALUE, 9, 11, "", "unknown key \"ambiant\"",
     "\"ambient\""},
    {GOOD "climate: {zzzzzz: 3 degC}\n", OW_ERROR_VALUE, 9, 11, "", "unknown key", "known are ambient, wind"},
    {GOOD "climate: {ambient: 3 degC, ambient: 4 degC}\n", OW_ERROR_VALUE, 9, 28, "",
     "given twice (first on line 9)", ""},
    {GOOD "oil: rapeseed\n", OW_ERROR_VALUE, 9, 1, "", "\"oil\" is given twice (first on line 1)", ""},
    {GOOD "climate: 3 degC\n", OW_ERROR_VALUE, 9, 10, "", "climate wants keys and values", ""},
    {GOOD "climate: {ambient: 0,5 degC}\n", OW_ERROR_UNIT, 9, 20, "", "has no unit", "degC"},
    {GOOD "climate: {ambient: \"0,5 degC\"}\n", OW_ERROR_VALUE, 9, 20, "", "comma", "degC"},
    {GOOD "climate: {ambient: 5}\n", OW_ERROR_UNIT, 9, 20, "", "ambient: \"5\" has no unit", "65 degC"},
    {GOOD "climate: {ambient: }\n", OW_ERROR_VALUE, 9, 20, "", "ambient: the value is missing", "default"},
    {GOOD "climate: {ambient: 500 degC}\n", OW_ERROR_VALUE, 9, 20, "", "out of range",
     "60 \xC2\xB0"
     "C"},
    {GOOD "climate: {ambient: [1, 2]}\n", OW_ERROR_VALUE, 9, 20, "", "ambient wants one value", ""},
    {GOOD "engine: {rated power: 75 kPa}\n", OW_ERROR_UNIT, 9, 23, "", "\"kPa\" is not a unit of power",
     "75 hp"},
    {GOOD "engine: {idle speed: 1900 rpm, rated speed: 1000 rpm}\n", OW_ERROR_VALUE, 0, 0, "",
     "speeds are not in order", ""},
    {GOOD "drive: sunday\n", OW_ERROR_VALUE, 9, 8, "", "no known cycle", "nedc"},
    {GOOD "drive: {legs: []}\n", OW_ERROR_VALUE, 9, 15, "", "1 to 64 legs", ""},
    {GOOD "drive: {legs: [{name: a, speed: 30 mph}]}\n", OW_ERROR_VALUE, 9, 16, "", "does not say how long",
     "for: 5 min"},
    {GOOD "drive: {attempts: 2.5}\n", OW_ERROR_VALUE, 9, 19, "", "not a whole number", ""},
    {GOOD "vehicle: {gears: [20 km/h, 10 km/h]}\n", OW_ERROR_VALUE, 9, 28, "", "rise from gear to gear", ""},
    // Oil.
    {"oil: rapesed\nparts:\n  - tank: t\n", OW_ERROR_VALUE, 1, 6, "oil", "rapesed", "rapeseed"},
    {"oil: {kind: rapeseed, viscosity: [{at: 40 degC}]}\nparts: []\n", OW_ERROR_VALUE, 1, 35, "oil",
     "needs at and is", ""},
    {"oil: {blend: {rapeseed: 30 %, diesel: 30 %}}\nparts: []\n", OW_ERROR_VALUE, 1, 14, "oil", "sum to 60 %",
     "100 %"},
    {"oil: {a: diesel, b: diesel, c: diesel}\nparts: []\n", OW_ERROR_VALUE, 1, 6, "", "1 to 2 fluids", ""},
    {"oil: {viscosity: [{at: 40 degC, is: 10 mm2/s}, {at: 80 degC, is: 30 mm2/s}]}\nparts: []\n",
     OW_ERROR_VALUE, 1, 6, "oil", "viscosity rises", ""},
    {"oil: {kind: rapeseed, fatty acids: {18:9: 3 %}}\nparts: []\n", OW_ERROR_VALUE, 1, 37, "oil",
     "no fatty acid is known as \"18:9\"", ""},
    {"oil: {kind: rapeseed, fatty acids: {18:1: 80 %, 18:2: 60 %}}\nparts: []\n", OW_ERROR_VALUE, 1, 36,
     "oil", "sum to 140 %", ""},
    {"oil: {cups: [{cup: 7, takes: 3 s, at: 20 degC}]}\nparts: []\n", OW_ERROR_VALUE, 1, 20, "oil",
     "out of range", "3 to 6"},
    {"oil: {cups: [{cup: 4, takes: -3 s, at: 20 degC}]}\nparts: []\n", OW_ERROR_VALUE, 1, 30, "oil",
     "out of range", ""},
    {"oil: {hydrometer: {reads: 905 kg/m3}}\nparts: []\n", OW_ERROR_VALUE, 1, 19, "oil", "needs reads and at",
     ""},
    {"oil: {kind: rapeseed, used: maybe}\nparts: []\n", OW_ERROR_VALUE, 1, 29, "oil", "used", "30 %"},
    // Parts.
    {GOOD "  - hos: h\n", OW_ERROR_VALUE, 9, 5, "h", "\"hos\" is no kind of part", "\"hose\""},
    {GOOD "  - contraption: h\n", OW_ERROR_VALUE, 9, 5, "h", "no kind of part", "kinds are tank, hose"},
    {GOOD "  - hose:\n", OW_ERROR_VALUE, 9, 10, "", "name is empty", ""},
    {GOOD "  - hose: tank\n", OW_ERROR_VALUE, 9, 11, "tank", "two parts have this name (the first on line 3)",
     ""},
    {GOOD "  - hose\n", OW_ERROR_VALUE, 9, 5, "", "a part wants keys and values", ""},
    {GOOD "    bor: 8 mm\n", OW_ERROR_VALUE, 9, 5, "back", "unknown key \"bor\"", "\"bore\""},
    {GOOD "    bore: 8\n", OW_ERROR_UNIT, 9, 11, "back", "has no unit", "5/16 in"},
    {GOOD "    bore: 800 mm\n", OW_ERROR_VALUE, 9, 11, "back", "out of range", "200 mm"},
    {GOOD "    bore: 8 mmm\n", OW_ERROR_UNIT, 9, 11, "back",
     "the unit \"mmm\" is unknown (did you mean \"mm\"?)", ""},
    {GOOD "    material: rubbr\n", OW_ERROR_VALUE, 9, 15, "back", "\"rubbr\" is not known here",
     "\"rubber\""},
    {GOOD "    place: moon\n", OW_ERROR_VALUE, 9, 12, "back", "\"moon\"", "engine bay"},
    {GOOD "    heaters: []\n", OW_ERROR_VALUE, 9, 5, "back", "unknown key \"heaters\"", ""},
    {GOOD "  - chamber: c\n    heaters: {power: 3 W}\n", OW_ERROR_VALUE, 10, 14, "c", "heaters wants a list",
     "- "},
    {GOOD "  - chamber: c\n    heaters: [{powr: 3 W}]\n", OW_ERROR_VALUE, 10, 16, "c", "unknown key \"powr\"",
     "\"power\""},
    {GOOD "  - chamber: c\n    heaters: [{}, {}, {}, {}, {}]\n", OW_ERROR_VALUE, 10, 31, "c",
     "more than 4 heaters", ""},
    {GOOD "  - chamber: c\n    heaters: [{name: a}, {name: a}]\n", OW_ERROR_VALUE, 10, 26, "c",
     "two heaters are named \"a\"", ""},
    {GOOD "  - chamber: c\n    heaters: [{thermostat: {opens: 60 degC, closes: 70 degC}}]\n", OW_ERROR_VALUE,
     10, 28, "c", "opens at or below", ""},
    {GOOD
     "  - electric pump: e\n    curve: [{flow: 0 L/h, pressure: 3 kPa}, {flow: 9 L/h, pressure: 5 kPa}]\n",
     OW_ERROR_VALUE, 10, 45, "e", "flow rises and the pressure falls", ""},
    {GOOD "  - electric pump: e\n    passes when off: maybe\n", OW_ERROR_VALUE, 10, 22, "e",
     "neither yes nor no", ""},
    {GOOD "  - valve: v\n    positions: {x: c, y: a}\n", OW_ERROR_VALUE, 10, 20, "v",
     "\"c\" is no side of a valve", "a+b"},
    {GOOD "  - valve: v\n    positions: {x: a}\n", OW_ERROR_VALUE, 10, 16, "v", "2 to 4 positions", ""},
    {GOOD "  - valve: v\n    positions: {loop: a, tank: b}\n    start at: lop\n", OW_ERROR_VALUE, 11, 15, "v",
     "no position \"lop\"", "\"loop\""},
    {GOOD "  - coolant coil: c\n", OW_ERROR_VALUE, 9, 5, "c", "not said which part", "warms"},
    {GOOD "  - coolant coil: c\n    warms: hoze\n", OW_ERROR_VALUE, 10, 12, "", "no part named \"hoze\"",
     "\"hose\""},
    {GOOD "  - tank: t2\n    fluid: diesl\n", OW_ERROR_VALUE, 10, 12, "t2", "no \"diesl\"", ""},
    // Lines.
    {GOOD "lines:\n  - [tank, hoose, tap, pump, back, tank]\n", OW_ERROR_VALUE, 10, 12, "",
     "no part named \"hoose\"", "\"hose\""},
    {GOOD "lines:\n  - [tank, hose.inn, tap, pump, back, tank]\n", OW_ERROR_VALUE, 10, 12, "hose",
     "no port \"inn\"", "in, out"},
    {GOOD "lines:\n  - [tank, hose, tap.b, pump, back, tank]\n", OW_ERROR_VALUE, 10, 18, "tap",
     "no port \"b\"", "common, a"},
    {GOOD "lines:\n  - [tank]\n", OW_ERROR_VALUE, 10, 5, "", "at least two parts", ""},
    {GOOD "lines:\n  - tank\n", OW_ERROR_VALUE, 10, 5, "", "a line wants a list", ""},
    {GOOD "lines:\n  - [tank, hose, hose]\n", OW_ERROR_VALUE, 10, 18, "hose", "joined to itself", ""},
    {GOOD "lines:\n  - [tank, hose]\n  - [tank, hose]\n", OW_ERROR_VALUE, 11, 12, "hose", "written twice",
     ""},
    {GOOD "  - coolant coil: c\n    warms: hose\nlines:\n  - [tank, c, hose]\n", OW_ERROR_VALUE, 12, 12, "c",
     "no fuel runs through", ""},
    {GOOD "  - injectors: i\nlines:\n  - [tank, hose, i]\n", OW_ERROR_VALUE, 11, 18, "i",
     "no line enters them", ""},
    {GOOD "  - valve: v\n    positions: {x: a, y: b}\nlines:\n  - [tank, hose, v, tap, pump, back, tank]\n",
     OW_ERROR_VALUE, 12, 18, "v", "not clear which port the line leaves by", "v.a"},
    {GOOD "  - valve: v\n    positions: {x: a, y: b}\n", OW_ERROR_VALUE, 3, 3, "v", "a three-way valve",
     "lines section"},
    {GOOD "lines:\n  - [tank, hose, tap, pump]\n", OW_ERROR_VALUE, 7, 5, "pump",
     "the return must go somewhere", ""},
    {GOOD "lines:\n  - [tank, hose, pump, back, tank]\n", OW_ERROR_VALUE, 5, 5, "tap",
     "nothing is joined to its port \"common\"", ""},
    {GOOD "lines:\n  - [back.out, hose, tap, pump, back]\n", OW_ERROR_VALUE, 7, 5, "pump",
     "no fuel can reach", "gap"},
    {"oil: diesel\nparts:\n  - tank: t\n  - injection pump: p\n", OW_ERROR_VALUE, 4, 5, "p",
     "nothing stands between", "hose"},
    {"oil: diesel\nparts:\n  - tank: t\n  - hose: h\n", OW_ERROR_VALUE, 0, 0, "",
     "there is no injection pump", ""},
    {"oil: diesel\nparts:\n  - hose: h\n  - injection pump: p\n", OW_ERROR_VALUE, 0, 0, "",
     "there is no tank", ""},
    {GOOD "  - injection pump: p2\n", OW_ERROR_VALUE, 9, 5, "p2", "2 injection pumps", "keep one"},
    {"oil: diesel\nparts:\n  - tank: t\n  - check valve: c\n  - hose: h\n  - injection pump: p\nlines:\n"
     "  - [t, c.out]\n  - [c.in, h, p, t]\n",
     OW_ERROR_VALUE, 6, 5, "p", "no fuel can reach", "check valve the wrong way round"},
    // Controls.
    {GOOD "controls:\n  - {set: tapp, to: shut, when: key on}\n", OW_ERROR_VALUE, 10, 11, "",
     "no part named \"tapp\"", "\"tap\""},
    {GOOD "controls:\n  - {set: tap, to: shud, when: key on}\n", OW_ERROR_VALUE, 10, 20, "tap",
     "no position \"shud\"", "\"shut\""},
    {GOOD "controls:\n  - {set: hose, to: on, when: key on}\n", OW_ERROR_VALUE, 10, 21, "hose",
     "cannot be switched", "valve"},
    {GOOD "controls:\n  - {set: tap, to: shut}\n", OW_ERROR_VALUE, 10, 5, "", "a control needs when", ""},
    {GOOD "controls:\n  - {set: tap, to: shut, when: later}\n", OW_ERROR_VALUE, 10, 32, "",
     "\"later\" is not understood", "after start"},
    {GOOD "controls:\n  - {set: tap, to: shut, when: 5 kPa after start}\n", OW_ERROR_UNIT, 10, 32, "",
     "not a unit of time", "90 s"},
    {GOOD "controls:\n  - {set: tap, to: shut, when: coolant above 70}\n", OW_ERROR_UNIT, 10, 32, "",
     "has no unit", "degC"},
    {GOOD "controls:\n  - {set: tap, to: shut, when: tap above 70 degC}\n", OW_ERROR_VALUE, 10, 32, "tap",
     "no oil temperature can be felt", ""},
    {GOOD "controls:\n  - {set: tank/heater 1, to: off, when: start}\n", OW_ERROR_VALUE, 10, 11, "tank",
     "no heater named", ""},
};

static bool row_holds(const Row *row, const char *text, size_t size) {
    OwRig *rig = (OwRig *)(uintptr_t)1;
    OwFaults faults = {0};
    const OwStatus status = ow_rig_read_text(text, size, "bad.yaml", units, &rig, &faults);
    const OwFault *found = NULL;
    for (size_t i = 0; i < faults.count && found == NULL; i++) {
        const OwFault *f = &faults.items[i];
        if (f->severity == OW_FAULT_ERROR && f->status == row->status && f->line == row->line &&
            f->column == row->column && strcmp(f->part, row->part) == 0 &&
            strstr(f->message, row->says) != NULL && strstr(f->remedy, row->remedy) != NULL) {
            found = f;
        }
    }
    if (found == NULL || status != row->status) {
        print_error("status %d for:\n%s\nwanted %d:%d [%s] \"%s\"; faults:\n", (int)status, text, row->line,
                    row->column, row->part, row->says);
        for (size_t i = 0; i < faults.count; i++) {
            char line[800];
            (void)ow_fault_format(&faults.items[i], line, sizeof line);
            print_error("  %s\n", line);
        }
    }
    const bool holds =
        found != NULL && status == row->status && rig == NULL && strcmp(found->file, "bad.yaml") == 0;
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
    static const char nul[] = "name: a\nnotes: b\0c\n";
    assert_true(row_holds(&(Row){nul, OW_ERROR_SYNTAX, 2, 9, "", "NUL byte", "UTF-8"}, nul, sizeof nul - 1));
}

/// All faults of a file at once, in the order of the file, and no echo of a fault already told.
static void all_faults_together(void **state) {
    (void)state;
    static const char text[] = "oil: rapesed\n"
                               "climate: {ambient: 5}\n"
                               "parts:\n"
                               "  - tank: t\n"
                               "    volume: 60 kPa\n"
                               "  - hos: h\n"
                               "  - injection pump: p\n"
                               "lines:\n"
                               "  - [t, h, p, h, t]\n" // h is lost, not unknown
                               "controls:\n"
                               "  - {set: q, to: on, when: never}\n"
                               "limit: {}\n";
    static const int lines[] = {1, 2, 5, 6, 11, 11, 12};
    OwRig *rig = NULL;
    OwFaults faults = {0};
    assert_int_not_equal(ow_rig_read_text(text, strlen(text), "bad.yaml", units, &rig, &faults), OW_OK);
    assert_int_equal(faults.errors, 7);
    for (size_t i = 0; i < 7; i++) {
        assert_int_equal(faults.items[i].line, lines[i]);
    }
    ow_faults_clear(&faults);
}

static void warnings_do_not_refuse(void **state) {
    (void)state;
    static const char text[] =
        "parts:\n  - tank: t\n  - hose: h\n  - injection pump: p\n  - injectors: i\n  - tank: spare\n"
        "lines:\n  - [t, h, p, t]\n";
    OwRig *rig = NULL;
    OwFaults faults = {0};
    assert_int_equal(ow_rig_read_text(text, strlen(text), "w.yaml", units, &rig, &faults), OW_OK);
    assert_int_equal(faults.errors, 0);
    assert_int_equal(faults.count, 3); // no oil named, leak-off nowhere, spare tank unused
    assert_int_equal(faults.items[0].line, 1);
    assert_int_equal(faults.items[1].line, 5);
    assert_string_equal(faults.items[2].part, "spare");
    assert_string_equal(rig->fluid_spec[0].name, "rapeseed");
    ow_faults_clear(&faults);
    ow_rig_destroy(&rig);
}

/// Big and hostile texts end soon: the time of the worst is bounded, and the faults listed are few.
static void hostile_texts_end_soon(void **state) {
    (void)state;
    static const char *const pieces[] = {
        "- hose: h\n", "[",    "{",    "a: ", "\"",   "- - ",  "x: 1\n",
        "[a, ",        "{a: ", "? ",   "&a ", "!!x ", "  ",    "- {bore: 800 mm, hose: h}\n",
        "#",           "\n",   "|\n ", "'",   "-\n",  "a\n\n",
    };
    const size_t size = 1024 * 1024;
    char *text = malloc(size);
    assert_non_null(text);
    for (size_t k = 0; k < sizeof pieces / sizeof pieces[0]; k++) {
        for (int with_head = 0; with_head < 2; with_head++) {
            size_t used = 0;
            if (with_head == 1) {
                memcpy(text, "parts:\n", 7);
                used = 7;
            }
            const size_t n = strlen(pieces[k]);
            for (; used + n <= size; used += n) {
                memcpy(text + used, pieces[k], n);
            }
            OwRig *rig = NULL;
            OwFaults faults = {0};
            const clock_t start = clock();
            assert_int_not_equal(ow_rig_read_text(text, used, "big.yaml", units, &rig, &faults), OW_OK);
            const double seconds = (double)(clock() - start) / CLOCKS_PER_SEC;
            if (seconds > 1.0) {
                print_error("\"%s\" took %.2f s\n", pieces[k], seconds);
            }
            assert_true(seconds < 10.0); // generous: sanitizers and a loaded machine
            assert_true(faults.count >= 1 && faults.count <= 120);
            assert_null(rig);
            ow_faults_clear(&faults);
        }
    }
    OwRig *rig = NULL;
    OwFaults faults = {0};
    assert_int_equal(ow_rig_read_text(text, size + 1, "big.yaml", units, &rig, &faults), OW_ERROR_READ);
    assert_non_null(strstr(faults.items[0].message, "larger than 1 MiB"));
    ow_faults_clear(&faults);
    free(text);
}

/// Random small damage to a good file: always a rig without errors or no rig and at least one error, never a
/// crash.
static void random_damage_is_survived(void **state) {
    (void)state;
    const size_t size = strlen(sample_yaml);
    char *text = malloc(size + 64);
    assert_non_null(text);
    uint64_t seed = 0x9E3779B97F4A7C15u;
    int good = 0;
    for (int round = 0; round < 3000; round++) {
        memcpy(text, sample_yaml, size);
        size_t n = size;
        for (int hits = 0; hits < 1 + round % 3; hits++) {
            seed = seed * 6364136223846793005u + 1442695040888963407u;
            const size_t at = (size_t)((seed >> 33) % n);
            const unsigned what = (unsigned)(seed >> 20) % 4;
            if (what == 0) {
                text[at] = (char)(seed >> 50);
            } else if (what == 1 && n > 1) { // a byte less
                memmove(text + at, text + at + 1, n - at - 1);
                n--;
            } else if (what == 2) { // a piece copied elsewhere
                const size_t from = (size_t)((seed >> 13) % n), room = n - (at > from ? at : from);
                memmove(text + at, text + from, room < 12 ? room : 12);
            } else {
                text[at] = "0123456789 :,-[]{}\"'#&*!|>%@`\n"[(seed >> 41) % 30];
            }
        }
        OwRig *rig = NULL;
        OwFaults faults = {0};
        const OwStatus status = ow_rig_read_text(text, n, "damaged.yaml", units, &rig, &faults);
        assert_true((status == OW_OK) == (rig != NULL));
        assert_true((status == OW_OK) == (faults.errors == 0));
        good += status == OW_OK ? 1 : 0;
        for (size_t i = 0; i < faults.count; i++) {
            assert_true(faults.items[i].message[0] != '\0' && faults.items[i].line >= 0);
        }
        ow_faults_clear(&faults);
        ow_rig_destroy(&rig);
    }
    print_message("%d of 3000 still read\n", good);
    assert_true(good > 20 && good < 2980); // the damage is neither nothing nor all
    free(text);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(each_fault_has_its_place),  cmocka_unit_test(all_faults_together),
        cmocka_unit_test(warnings_do_not_refuse),    cmocka_unit_test(hostile_texts_end_soon),
        cmocka_unit_test(random_damage_is_survived),
    };
    return cmocka_run_group_tests(tests, set_up, tear_down);
}
