// SPDX-License-Identifier: GPL-3.0-or-later
// Every allocation of an edit is made to fail once: OW_ERROR_MEMORY or the very same outcome, no crash, no
// leak.
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "../rig/sample.h"
#include "../support/failing_malloc.h"
#include "rig/edit.h"

static void each_allocation_fails_once(void **state) {
    (void)state;
    const OwEditValue value = {.type = OW_EDIT_TEXT, .text = "10 mm"};
    const OwEditValue entry = {.type = OW_EDIT_TEXT, .key = "bore", .text = "10 mm"};
    const OwEditValue map = {.type = OW_EDIT_MAP, .first = &entry};
    const OwEdit edits[] = {
        {.part = "supply hose", .path = "bore", .value = &value},
        {.part = "last screen", .path = "heaters/0/power", .value = &value},
        {.op = OW_EDIT_ADD, .kind = "hose", .after = "rear pump", .value = &map},
        {.op = OW_EDIT_MOVE, .part = "last screen", .after = "supply hose"},
        {.op = OW_EDIT_RENAME, .part = "loop valve", .name = "Ölventil, vorn"},
        {.op = OW_EDIT_REMOVE, .part = "boost chamber"},
        {.op = OW_EDIT_APPEND, .section = "drive", .path = "legs", .value = &map},
        {.op = OW_EDIT_DROP, .section = "controls", .path = "0"},
    };
    const int count = sizeof edits / sizeof edits[0];
    OwEdited whole;
    assert_int_equal(ow_rig_edit(sample_yaml, strlen(sample_yaml), edits, count, &whole), OW_OK);
    long runs = 0;
    for (long n = 0;; n++) {
        OwEdited edited;
        const long before = live;
        has_failed = false;
        countdown = n;
        const OwStatus status = ow_rig_edit(sample_yaml, strlen(sample_yaml), edits, count, &edited);
        countdown = -1;
        if (!has_failed) {
            assert_int_equal(status, OW_OK);
            assert_string_equal(edited.text, whole.text);
            ow_edited_clear(&edited);
            break;
        }
        assert_int_equal(status, OW_ERROR_MEMORY);
        assert_false(edited.has_changed);
        if (edited.text != NULL) {
            assert_string_equal(edited.text, sample_yaml);
        }
        ow_edited_clear(&edited);
        assert_int_equal(live, before);
        runs++;
    }
    assert_true(runs > 50);
    ow_edited_clear(&whole);
}

int main(void) {
    const struct CMUnitTest tests[] = {cmocka_unit_test(each_allocation_fails_once)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
