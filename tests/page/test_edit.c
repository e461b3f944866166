// SPDX-License-Identifier: GPL-3.0-or-later
// Text edits of rig files: exactly the lines that must change do, and what is written reads back.
#include <setjmp.h>
#include <stdarg.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "../rig/sample.h"
#include "oilwright/rig.h"
#include "rig/edit.h"

static const OwEditValue *text_value(const char *text) {
    static OwEditValue values[16];
    static int next;
    OwEditValue *v = &values[next++ % 16];
    *v = (OwEditValue){.type = OW_EDIT_TEXT, .text = text};
    return v;
}

#define TEXT(t) text_value(t)

/// Runs the edits and compares the outcome.
static void expect(int line, const char *before, const OwEdit *edits, int count, const char *after) {
    OwEdited edited;
    const OwStatus status = ow_rig_edit(before, strlen(before), edits, count, &edited);
    if (status != OW_OK) {
        fail_msg("line %d: %s; %s", line, edited.fault.message, edited.fault.remedy);
    }
    if (strcmp(edited.text, after) != 0) {
        fail_msg("line %d: wanted\n%s\n--- got\n%s", line, after, edited.text);
    }
    assert_int_equal(edited.has_changed, strcmp(before, after) != 0);
    ow_edited_clear(&edited);
}
#define EXPECT(before, after, ...) expect(__LINE__, before, &(OwEdit)__VA_ARGS__, 1, after)

static void expect_refusal(int line, const char *before, const OwEdit *edit, const char *part_of_message) {
    OwEdited edited;
    const OwStatus status = ow_rig_edit(before, strlen(before), edit, 1, &edited);
    if (status == OW_OK || strstr(edited.fault.message, part_of_message) == NULL) {
        fail_msg("line %d: wanted \"%s\", got status %d \"%s\"", line, part_of_message, status,
                 edited.fault.message);
    }
    assert_string_equal(edited.text, before); // nothing is done
    assert_false(edited.has_changed);
    ow_edited_clear(&edited);
}
#define REFUSE(before, message, ...) expect_refusal(__LINE__, before, &(OwEdit)__VA_ARGS__, message)

static const char small[] = "# a van\n"
                            "name: van   # mine\n"
                            "oil: rapeseed\n"
                            "\n"
                            "parts:\n"
                            "  - tank: main tank # 65 L\n"
                            "\n"
                            "  # a hose\n"
                            "  - hose: supply hose\n"
                            "    bore: 6 mm # too narrow?\n"
                            "    # length: unknown\n"
                            "\n"
                            "  - injection pump: pump\n";

static void test_set(void **state) {
    (void)state;
    EXPECT("a: 1 # one\nb: 2\n", "a: 3 # one\nb: 2\n", {.section = "a", .value = TEXT("3")});
    EXPECT("a: 1\nb: {c: 2}\n", "a: 1\nb: {c: 5}\n", {.section = "b", .path = "c", .value = TEXT("5")});
    EXPECT("a: 1\nb: {c: 2}\n", "a: 1\nb: {c: 2, d: 5}\n", {.section = "b", .path = "d", .value = TEXT("5")});
    EXPECT("b: {}\n", "b: {d: 5}\n", {.section = "b", .path = "d", .value = TEXT("5")});
    EXPECT("b:\na: 1", "b: {d: 5}\na: 1", {.section = "b", .path = "d", .value = TEXT("5")});
    EXPECT("b:\n  c: 1 # x\n\na: 1", "b:\n  c: 1 # x\n  d: 5\n\na: 1",
           {.section = "b", .path = "d", .value = TEXT("5")});
    EXPECT("a: 1", "a: 1\nclimate: {ambient: -10 degC}\n",
           {.section = "climate", .path = "ambient", .value = TEXT("-10 degC")});
    EXPECT("drive: nedc\n", "drive: {cycle: nedc, crank: 4 s}\n",
           {.section = "drive", .path = "crank", .value = TEXT("4 s")});
    EXPECT("drive: nedc\n", "drive: legs\n", {.section = "drive", .path = "cycle", .value = TEXT("legs")});
    EXPECT("oil: rapeseed # cheap\n", "oil: soybean # cheap\n", {.section = "oil", .value = TEXT("soybean")});
    EXPECT("notes: |\n  one\n  two\n\nname: x\n", "notes: |\n  three\n  four\n\nname: x\n",
           {.section = "notes", .value = TEXT("three\nfour\n")});
    EXPECT("notes: |\n  one\n  two\nname: x\n", "notes: three\nname: x\n",
           {.section = "notes", .value = TEXT("three")});
}

static void test_set_in_part(void **state) {
    (void)state;
    char wanted[600];
    const char *cut = strstr(small, "6 mm");
    (void)snprintf(wanted, sizeof wanted, "%.*s10 mm%s", (int)(cut - small), small, cut + 4);
    EXPECT(small, wanted, {.part = "supply hose", .path = "bore", .value = TEXT("10 mm")});
    cut = strstr(small, "    # length");
    (void)snprintf(wanted, sizeof wanted, "%.*s    length: 2 m\n%s", (int)(cut - small), small, cut);
    EXPECT(small, wanted, {.part = "supply hose", .path = "length", .value = TEXT("2 m")});
    cut = strstr(small, "    bore");
    (void)snprintf(wanted, sizeof wanted, "%.*s%s", (int)(cut - small), small, strchr(cut, '\n') + 1);
    EXPECT(small, wanted, {.part = "supply hose", .path = "bore"}); // no value: the default again
    EXPECT(small, small, {.part = "supply hose", .path = "rise"});
    REFUSE(small, "no part named", {.part = "suply hose", .path = "bore", .value = TEXT("1 mm")});
    REFUSE(small, "nothing inside it", {.part = "supply hose", .path = "bore/x", .value = TEXT("1 mm")});
}

static void test_paths(void **state) {
    (void)state;
    OwEdited edited;
    const OwEdit edits[] = {
        {.part = "boost chamber", .path = "heaters/glow a/thermostat/opens", .value = TEXT("85 degC")},
        {.part = "boost chamber", .path = "heaters/1/thermostat/opens", .value = TEXT("70 degC")},
        {.section = "drive", .path = "legs/hill/speed", .value = TEXT("60 km/h")},
        {.section = "controls", .path = "2/when", .value = TEXT("2 min before stop")},
        {.part = "last screen", .path = "heaters/0/power", .value = TEXT("20 W")},
    };
    assert_int_equal(ow_rig_edit(sample_yaml, strlen(sample_yaml), edits, 5, &edited), OW_OK);
    assert_non_null(strstr(edited.text,
                           "        thermostat: {opens: 85 degC, closes: 72 degC, lag: 5 s, senses: oil}\n"));
    assert_non_null(strstr(
        edited.text, "      - power: 150 W\n        with key: no\n        thermostat: {opens: 70 degC}\n"));
    assert_non_null(strstr(edited.text, "- {name: hill, speed: 60 km/h, for: 5 min,"));
    assert_non_null(strstr(edited.text, "- {set: rear pump, to: off, when: 2 min before stop}\n"));
    assert_non_null(strstr(edited.text, "  - screen: last screen\n    heaters:\n      - {power: 20 W}\n"));
    ow_edited_clear(&edited);
    REFUSE(sample_yaml, "no entry \"7\"",
           {.section = "drive", .path = "legs/7/speed", .value = TEXT("1 m/s")});
    REFUSE(sample_yaml, "too many steps",
           {.section = "drive", .path = "1/2/3/4/5/6/7/8/9/10", .value = TEXT("1")});
    REFUSE(sample_yaml, "empty", {.section = "drive", .path = "legs//speed", .value = TEXT("1")});
}

/// Whatever text is set reads back as that text, in block and flow layout.
static void test_quoting(void **state) {
    (void)state;
    static const char *const texts[] = {"plain",     "a: b",        "a #b",      "- a",
                                        "-5 degC",   "5/16 in",     "{x",        "x, y",
                                        "[1]",       "'q'",         "\"q\"",     "back\\slash",
                                        "null",      "~",           "é °C ½",    "\xF0\x9F\x9A\x90",
                                        "tab\there", "line\nbreak", " lead",     "trail ",
                                        "",          "@x",          "100%",      "%x",
                                        "yes",       "a:b",         "x:",        "?",
                                        "? x",       "-",           "\x07 bell", "\xC2\x85 next line",
                                        "...",       "--- x",       "!tag",      "&a",
                                        "*a",        "|",           "> x",       "two\n\nlines\n",
                                        "\n",        "a\r\nb"};
    for (size_t i = 0; i < sizeof texts / sizeof texts[0]; i++) {
        static const char *const layouts[] = {"name: old\nparts:\n  - tank: t\n",
                                              "{name: old, parts: [{tank: t}]}",
                                              "{\"name\": \"old\", \"parts\": [{\"tank\": \"t\"}]}"};
        for (int k = 0; k < 3; k++) {
            const OwEdit edits[] = {{.section = "name", .value = TEXT(texts[i])},
                                    {.section = "deep", .path = "in/side", .value = TEXT(texts[i])}};
            OwEdited once, twice;
            if (ow_rig_edit(layouts[k], strlen(layouts[k]), edits, 2, &once) != OW_OK) {
                fail_msg("\"%s\" in layout %d: %s", texts[i], k, once.fault.message);
            }
            // The same again changes nothing exactly when the written text reads back as the given one.
            assert_int_equal(ow_rig_edit(once.text, once.size, edits, 2, &twice), OW_OK);
            if (twice.has_changed) {
                fail_msg("\"%s\" in layout %d became\n%s\nthen\n%s", texts[i], k, once.text, twice.text);
            }
            ow_edited_clear(&once);
            ow_edited_clear(&twice);
        }
    }
}

static void test_add(void **state) {
    (void)state;
    const OwEditValue length = {.type = OW_EDIT_TEXT, .key = "length", .text = "1 m"};
    const OwEditValue bore = {.type = OW_EDIT_TEXT, .key = "bore", .text = "8 mm", .next = &length};
    const OwEditValue map = {.type = OW_EDIT_MAP, .first = &bore};
    char wanted[800];
    const char *cut = strstr(small, "\n  - injection pump");
    (void)snprintf(wanted, sizeof wanted, "%.*s\n  - hose: bay hose\n    bore: 8 mm\n    length: 1 m\n%s",
                   (int)(cut - small), small, cut);
    EXPECT(small, wanted,
           {.op = OW_EDIT_ADD, .kind = "hose", .name = "bay hose", .after = "supply hose", .value = &map});
    (void)snprintf(wanted, sizeof wanted, "%s\n  - filter: filter\n", small);
    EXPECT(small, wanted, {.op = OW_EDIT_ADD, .kind = "filter", .after = "pump"});
    // Into the lines, at the place that is named.
    OwEdited edited;
    const OwEdit edits[] = {
        {.op = OW_EDIT_ADD, .kind = "hose", .name = "new hose", .after = "rear pump"},
        {.op = OW_EDIT_ADD, .kind = "orifice", .name = "loop orifice", .after = "loop valve.a"},
        {.op = OW_EDIT_ADD,
         .kind = "check valve",
         .name = "check",
         .after = "loop valve",
         .before = "return tube"},
        {.op = OW_EDIT_ADD, .kind = "hose", .name = "back hose", .after = "injection pump"},
        {.op = OW_EDIT_ADD, .kind = "coolant coil", .name = "tank coil", .after = "main tank"},
    };
    assert_int_equal(ow_rig_edit(sample_yaml, strlen(sample_yaml), edits, 5, &edited), OW_OK);
    assert_non_null(strstr(edited.text, "supply hose, rear pump, new hose, main filter"));
    assert_non_null(strstr(edited.text, "  - [loop valve.a, loop orifice, joint tee.side]\n"));
    assert_non_null(strstr(edited.text, "  - [loop valve.b, check, return tube, main tank]\n"));
    assert_non_null(strstr(edited.text, "  - [injection pump, back hose, loop valve]\n"));
    assert_non_null(
        strstr(edited.text, "  - coolant coil: tank coil\n    warms: main tank\n  - hose: supply hose"));
    OwUnits *units = NULL;
    OwRig *rig = NULL;
    OwFaults faults = {0};
    assert_int_equal(ow_units_create(&units), OW_OK);
    assert_int_equal(ow_rig_read_text(edited.text, edited.size, "edited", units, &rig, &faults), OW_OK);
    assert_true(ow_rig_find(rig, "new hose") > 0);
    ow_faults_clear(&faults);
    ow_rig_destroy(&rig);
    ow_units_destroy(&units);
    ow_edited_clear(&edited);
    REFUSE(small, "no kind", {.op = OW_EDIT_ADD, .kind = "hos", .after = "pump"});
    REFUSE(small, "already a part", {.op = OW_EDIT_ADD, .kind = "hose", .name = "pump", .after = "pump"});
    REFUSE(small, "cannot be a part's name",
           {.op = OW_EDIT_ADD, .kind = "hose", .name = "", .after = "pump"});
    REFUSE(sample_yaml, "no line leads",
           {.op = OW_EDIT_ADD, .kind = "hose", .name = "x", .after = "rear pump", .before = "return tube"});
}

static void test_remove(void **state) {
    (void)state;
    OwEdited edited;
    char wanted[600];
    // With the comment right above and the one inside, and without a double blank line.
    const char *cut = strstr(small, "  # a hose"), *next = strstr(small, "  - injection");
    (void)snprintf(wanted, sizeof wanted, "%.*s%s", (int)(cut - small), small, next);
    OwEdit edit = {.op = OW_EDIT_REMOVE, .part = "supply hose"};
    assert_int_equal(ow_rig_edit(small, strlen(small), &edit, 1, &edited), OW_OK);
    assert_string_equal(edited.text, wanted);
    ow_edited_clear(&edited);
    edit.part = "boost chamber";
    assert_int_equal(ow_rig_edit(sample_yaml, strlen(sample_yaml), &edit, 1, &edited), OW_OK);
    assert_null(strstr(edited.text, "boost chamber"));
    assert_non_null(strstr(edited.text, "joint tee, last screen"));
    assert_string_equal(edited.notes, "2 rules that named \"boost chamber\" were taken out\n");
    ow_edited_clear(&edited);
    edit.part = "loop valve"; // three chains end with it: they go
    assert_int_equal(ow_rig_edit(sample_yaml, strlen(sample_yaml), &edit, 1, &edited), OW_OK);
    assert_non_null(strstr(edited.text,
                           "pump, injectors]\n  - [return tube, main tank]\n  - [injectors, return tube]\n"));
    assert_non_null(strstr(edited.text, "controls:\n  - {set: boost chamber/glow a,"));
    ow_edited_clear(&edited);
    REFUSE("parts:\n  - tank: t\n", "last part", {.op = OW_EDIT_REMOVE, .part = "t"});
}

static void test_move(void **state) {
    (void)state;
    OwEdited edited;
    const OwEdit edit = {.op = OW_EDIT_MOVE, .part = "last screen", .after = "supply hose"};
    assert_int_equal(ow_rig_edit(sample_yaml, strlen(sample_yaml), &edit, 1, &edited), OW_OK);
    assert_non_null(
        strstr(edited.text, "    insulation thickness: 9 mm\n  - screen: last screen\n  - electric pump"));
    assert_non_null(strstr(edited.text, "main tank, supply hose, last screen, rear pump, main filter, joint "
                                        "tee, boost chamber, injection pump"));
    ow_edited_clear(&edited);
    // There and back again is the same text.
    const OwEdit round[] = {edit, {.op = OW_EDIT_MOVE, .part = "last screen", .after = "boost chamber"}};
    assert_int_equal(ow_rig_edit(sample_yaml, strlen(sample_yaml), round, 2, &edited), OW_OK);
    assert_string_equal(edited.text, sample_yaml);
    ow_edited_clear(&edited);
    REFUSE(sample_yaml, "follow itself", {.op = OW_EDIT_MOVE, .part = "last screen", .after = "last screen"});
}

static void test_rename(void **state) {
    (void)state;
    OwEdited edited;
    const OwEdit edits[] = {{.op = OW_EDIT_RENAME, .part = "loop valve", .name = "change-over, main"},
                            {.op = OW_EDIT_RENAME, .part = "boost chamber", .name = "heater block"},
                            {.op = OW_EDIT_RENAME, .part = "main filter", .name = "filter one"}};
    assert_int_equal(ow_rig_edit(sample_yaml, strlen(sample_yaml), edits, 3, &edited), OW_OK);
    assert_non_null(strstr(edited.text, "  - valve: change-over, main\n"));
    assert_non_null(strstr(edited.text, "  - [\"change-over, main.a\", joint tee.side]\n"));
    assert_non_null(
        strstr(edited.text, "{set: \"change-over, main\", to: tank, when: heater block above 160 degF}"));
    assert_non_null(strstr(edited.text, "{set: heater block/glow a, to: off"));
    assert_non_null(strstr(edited.text, "warms: filter one\n"));
    assert_null(strstr(edited.text, "loop valve"));
    OwUnits *units = NULL;
    OwRig *rig = NULL;
    OwFaults faults = {0};
    assert_int_equal(ow_units_create(&units), OW_OK);
    assert_int_equal(ow_rig_read_text(edited.text, edited.size, "edited", units, &rig, &faults), OW_OK);
    ow_faults_clear(&faults);
    ow_rig_destroy(&rig);
    ow_units_destroy(&units);
    ow_edited_clear(&edited);
    REFUSE(sample_yaml, "already a part", {.op = OW_EDIT_RENAME, .part = "loop valve", .name = "main tank"});
}

static void test_lists(void **state) {
    (void)state;
    const OwEditValue duration = {.type = OW_EDIT_TEXT, .key = "for", .text = "3 min"};
    const OwEditValue name = {.type = OW_EDIT_TEXT, .key = "name", .text = "lane", .next = &duration};
    const OwEditValue leg = {.type = OW_EDIT_MAP, .first = &name};
    EXPECT("drive:\n  legs:\n    - {for: 1 min} # a\n    # end\nname: x\n",
           "drive:\n  legs:\n    - {for: 1 min} # a\n    - {name: lane, for: 3 min}\n    # end\nname: x\n",
           {.op = OW_EDIT_APPEND, .section = "drive", .path = "legs", .value = &leg});
    EXPECT("drive: {legs: [{for: 1 min}]}\n", "drive: {legs: [{for: 1 min}, {name: lane, for: 3 min}]}\n",
           {.op = OW_EDIT_APPEND, .section = "drive", .path = "legs", .value = &leg});
    EXPECT("name: x\n", "name: x\ndrive: {legs: [{name: lane, for: 3 min}]}\n",
           {.op = OW_EDIT_APPEND, .section = "drive", .path = "legs", .value = &leg});
    EXPECT("name: x\n", "name: x\ncontrols:\n  - {name: lane, for: 3 min}\n",
           {.op = OW_EDIT_APPEND, .section = "controls", .value = &leg});
    EXPECT("a:\n  - 1\n  # two\n  - 2\n  - 3\n", "a:\n  - 1\n  - 3\n",
           {.op = OW_EDIT_DROP, .section = "a", .path = "1"});
    EXPECT("a: [1, 2, 3]\n", "a: [2, 3]\n", {.op = OW_EDIT_DROP, .section = "a", .path = "0"});
    EXPECT("a: [1, 2, 3]\n", "a: [1, 2]\n", {.op = OW_EDIT_DROP, .section = "a", .path = "2"});
    EXPECT("b: 1\na: [1]\n", "b: 1\n", {.op = OW_EDIT_DROP, .section = "a", .path = "0"});
    REFUSE("a: [1]\nb: 2\n", "no such entry", {.op = OW_EDIT_DROP, .section = "b", .path = "0"});
}

static void test_layouts(void **state) {
    (void)state;
    // Windows line ends, a byte order mark, letters outside ASCII before the place, no final line break.
    EXPECT("name: x\r\nclimate: {ambient: 1 degC}\r\n",
           "name: x\r\nclimate: {ambient: 1 degC}\r\nlimits: {a: b}\r\n",
           {.section = "limits", .path = "a", .value = TEXT("b")});
    EXPECT("\xEF\xBB\xBFname: x\n", "\xEF\xBB\xBFname: y\n", {.section = "name", .value = TEXT("y")});
    EXPECT("name: Öl ½ 🚐\noil: {kind: rapeseed, used: 1}\n",
           "name: Öl ½ 🚐\noil: {kind: rapeseed, used: 1.3}\n",
           {.section = "oil", .path = "used", .value = TEXT("1.3")});
    EXPECT("name: x", "name: y", {.section = "name", .value = TEXT("y")});
    // A list that stands at its key's column.
    EXPECT("parts:\n- tank: t\n  fill: 50 %\n- hose: h\n",
           "parts:\n- tank: t\n  fill: 50 %\n- hose: g\n- hose: h\n",
           {.op = OW_EDIT_ADD, .kind = "hose", .name = "g", .after = "t"});
    // JSON stays JSON.
    EXPECT("{\"parts\": [{\"tank\": \"t\"}, {\"hose\": \"h\"}]}",
           "{\"parts\": [{\"tank\": \"t\"}, {\"hose\": \"h\", \"bore\": \"8 mm\"}]}",
           {.part = "h", .path = "bore", .value = TEXT("8 mm")});
    EXPECT("{\"parts\": [{\"tank\": \"t\"}, {\"hose\": \"h\"}]}",
           "{\"parts\": [{\"tank\": \"t\"}, {\"hose\": \"g\"}, {\"hose\": \"h\"}]}",
           {.op = OW_EDIT_ADD, .kind = "hose", .name = "g", .after = "t"});
}

static void test_refusals(void **state) {
    (void)state;
    OwEdited edited;
    const OwEdit edit = {.section = "name", .value = TEXT("y")};
    assert_int_equal(ow_rig_edit("a: [", 4, &edit, 1, &edited), OW_ERROR_SYNTAX);
    assert_string_equal(edited.text, "a: [");
    assert_int_equal(edited.failed, -1); // the text itself, not an edit
    ow_edited_clear(&edited);
    assert_int_equal(ow_rig_edit("- a\n", 4, &edit, 1, &edited), OW_ERROR_VALUE);
    ow_edited_clear(&edited);
    assert_int_equal(ow_rig_edit(NULL, 3, &edit, 1, &edited), OW_ERROR_USE);
    assert_int_equal(ow_rig_edit("a: 1", 4, &edit, 101, &edited), OW_ERROR_USE);
    // The second of two fails: the first is not done either.
    const OwEdit two[] = {edit, {.part = "nobody", .path = "bore", .value = TEXT("1 mm")}};
    assert_int_equal(ow_rig_edit(small, strlen(small), two, 2, &edited), OW_ERROR_VALUE);
    assert_int_equal(edited.failed, 1);
    assert_string_equal(edited.text, small);
    ow_edited_clear(&edited);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_set),     cmocka_unit_test(test_set_in_part), cmocka_unit_test(test_paths),
        cmocka_unit_test(test_quoting), cmocka_unit_test(test_add),         cmocka_unit_test(test_remove),
        cmocka_unit_test(test_move),    cmocka_unit_test(test_rename),      cmocka_unit_test(test_lists),
        cmocka_unit_test(test_layouts), cmocka_unit_test(test_refusals),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
