// SPDX-License-Identifier: GPL-3.0-or-later
// For tests that let one allocation after another fail. Included by the one C file of a test that is linked
// with -Wl,--wrap=malloc,--wrap=calloc,--wrap=realloc,--wrap=free.
#ifndef OW_TESTS_FAILING_MALLOC_H
#define OW_TESTS_FAILING_MALLOC_H

#include <stdbool.h>
#include <stddef.h>

// The linker sends the allocations of our own code here (--wrap); those inside shared libraries stay as they
// are.
void *__real_malloc(size_t size);
void *__real_calloc(size_t count, size_t size);
void *__real_realloc(void *old, size_t size);
void __real_free(void *old);
void *__wrap_malloc(size_t size);
void *__wrap_calloc(size_t count, size_t size);
void *__wrap_realloc(void *old, size_t size);
void __wrap_free(void *old);

static long countdown = -1; ///< allocations until one fails; negative: none does
static long live;           ///< blocks that are not freed
static bool has_failed;     ///< one did

static bool fails_now(void) {
    if (countdown < 0 || countdown-- > 0) {
        return false;
    }
    has_failed = true;
    return true;
}

void *__wrap_malloc(size_t size) {
    void *given = fails_now() ? NULL : __real_malloc(size);
    live += given != NULL ? 1 : 0;
    return given;
}

void *__wrap_calloc(size_t count, size_t size) {
    void *given = fails_now() ? NULL : __real_calloc(count, size);
    live += given != NULL ? 1 : 0;
    return given;
}

void *__wrap_realloc(void *old, size_t size) {
    void *given = fails_now() ? NULL : __real_realloc(old, size);
    live += given != NULL && old == NULL ? 1 : 0;
    return given;
}

void __wrap_free(void *old) {
    live -= old != NULL ? 1 : 0;
    __real_free(old);
}

#endif
