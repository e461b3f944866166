// SPDX-License-Identifier: GPL-3.0-or-later
// Status words, fault lists, the arena and the nearest name.
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>
#include <cmocka.h>

#include "base/text.h"
#include "oilwright/base.h"

static void every_status_has_words(void **state) {
    (void)state;
    const OwStatus codes[] = {
#define CODE(code, value, text) code,
        OW_STATUS_LIST(CODE)
#undef CODE
    };
    for (size_t i = 0; i < sizeof codes / sizeof codes[0]; i++) {
        assert_true(strlen(ow_status_text(codes[i])) > 1);
        for (size_t j = 0; j < i; j++) {
            assert_string_not_equal(ow_status_text(codes[i]), ow_status_text(codes[j]));
        }
    }
    assert_string_equal(ow_status_text((OwStatus)77), "unknown status");
}

static void faults_grow_and_count(void **state) {
    (void)state;
    OwFaults faults = {0};
    for (int i = 0; i < 100; i++) {
        OwFault f = {.status = OW_ERROR_VALUE,
                     .severity = i % 4 == 0 ? OW_FAULT_WARNING : OW_FAULT_ERROR,
                     .line = i + 1};
        assert_int_equal(ow_faults_add(&faults, &f), OW_OK);
    }
    assert_int_equal(faults.count, 100);
    assert_int_equal(faults.errors, 75);
    for (int i = 0; i < 100; i++) {
        assert_int_equal(faults.items[i].line, i + 1);
    }
    ow_faults_clear(&faults);
    assert_null(faults.items);
    assert_int_equal(faults.count, 0);
    ow_faults_clear(&faults);
    ow_faults_clear(NULL);
    assert_int_equal(ow_faults_add(NULL, NULL), OW_ERROR_USE);
}

static void fault_reads_as_one_line(void **state) {
    (void)state;
    OwFault f = {.status = OW_ERROR_VALUE,
                 .line = 12,
                 .column = 7,
                 .file = "van.yaml",
                 .part = "supply hose",
                 .message = "unknown key \"bor\"",
                 .remedy = "did you mean \"bore\"?"};
    char text[256];
    const char *full = "van.yaml:12:7: supply hose: unknown key \"bor\"; did you mean \"bore\"?";
    assert_int_equal(ow_fault_format(&f, text, sizeof text), strlen(full));
    assert_string_equal(text, full);
    // Too small: cut, terminated, and the wanted length is still told.
    assert_int_equal(ow_fault_format(&f, text, 10), strlen(full));
    assert_string_equal(text, "van.yaml:");
    assert_int_equal(ow_fault_format(&f, NULL, 0), strlen(full));
    f = (OwFault){.severity = OW_FAULT_WARNING, .status = OW_ERROR_READ};
    (void)ow_fault_format(&f, text, sizeof text);
    assert_string_equal(text, "warning: the file cannot be read");
}

static void arena_is_zeroed_aligned_and_apart(void **state) {
    (void)state;
    OwArena *arena = ow_arena_create();
    assert_non_null(arena);
    unsigned char *taken[400];
    size_t sizes[400];
    for (size_t i = 0; i < 400; i++) {
        sizes[i] = 1 + (i * 7919) % 40000;
        taken[i] = ow_arena_take(arena, sizes[i], 1);
        assert_non_null(taken[i]);
        assert_int_equal((uintptr_t)taken[i] % 16, 0);
        for (size_t k = 0; k < sizes[i]; k++) {
            assert_int_equal(taken[i][k], 0);
        }
        memset(taken[i], (int)(i % 251) + 1, sizes[i]);
    }
    for (size_t i = 0; i < 400; i++) { // nothing overlapped
        for (size_t k = 0; k < sizes[i]; k++) {
            assert_int_equal(taken[i][k], i % 251 + 1);
        }
    }
    assert_null(ow_arena_take(arena, SIZE_MAX / 2, 3));
    assert_null(ow_arena_take(arena, SIZE_MAX, 1));
    assert_non_null(ow_arena_take(arena, 0, 8));
    assert_string_equal(ow_arena_text(arena, "iron"), "iron");
    assert_null(ow_arena_text(arena, NULL));
    ow_arena_destroy(&arena);
    assert_null(arena);
    ow_arena_destroy(&arena);
    ow_arena_destroy(NULL);
}

static void distance_and_nearest(void **state) {
    (void)state;
    assert_int_equal(ow_text_distance("bore", "bore", 3), 0);
    assert_int_equal(ow_text_distance("Bore", "bore", 3), 0);
    assert_int_equal(ow_text_distance("bor", "bore", 3), 1);
    assert_int_equal(ow_text_distance("broe", "bore", 3), 1);      // swapped neighbours
    assert_int_equal(ow_text_distance("kitten", "sitting", 5), 3); // Levenshtein's usual example, 1966
    assert_int_equal(ow_text_distance("kitten", "sitting", 2), 3); // past the limit: limit + 1
    const char *const names[] = {"bore", "length", "wall", "insulation thickness"};
    assert_string_equal(ow_text_nearest("lenght", names, 4), "length");
    assert_string_equal(ow_text_nearest("insulaton thicknes", names, 4), "insulation thickness");
    assert_null(ow_text_nearest("quartz", names, 4));
    assert_null(ow_text_nearest("", names, 4));
    char longest[200];
    memset(longest, 'x', sizeof longest - 1);
    longest[199] = '\0';
    assert_null(ow_text_nearest(longest, names, 4));
}

static void copy_never_cuts_a_character(void **state) {
    (void)state;
    char out[6];
    assert_true(ow_text_copy(out, sizeof out, "hose"));
    assert_string_equal(out, "hose");
    assert_false(ow_text_copy(out, sizeof out, "abcd\xC3\xA9")); // the accent would be cut in two
    assert_string_equal(out, "abcd");
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_status_has_words),  cmocka_unit_test(faults_grow_and_count),
        cmocka_unit_test(fault_reads_as_one_line), cmocka_unit_test(arena_is_zeroed_aligned_and_apart),
        cmocka_unit_test(distance_and_nearest),    cmocka_unit_test(copy_never_cuts_a_character),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
