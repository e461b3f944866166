// SPDX-License-Identifier: GPL-3.0-or-later
// Bounded copies and the nearest known name for a misspelt one.
#include "base/text.h"

#include <string.h>

bool ow_text_copy(char *out, size_t size, const char *text) {
    if (size == 0) {
        return false;
    }
    size_t length = strlen(text);
    const bool fits = length < size;
    if (!fits) {
        length = size - 1;
        // Step back over the continuation bytes of a character that would be cut.
        while (length > 0 && ((unsigned char)text[length] & 0xC0u) == 0x80u) {
            length--;
        }
    }
    memmove(out, text, length);
    out[length] = '\0';
    return fits;
}

static int fold(char c) {
    return c >= 'A' && c <= 'Z' ? c - 'A' + 'a' : (unsigned char)c;
}

static int least(int a, int b) {
    return a < b ? a : b;
}

int ow_text_distance(const char *a, const char *b, int limit) {
    const size_t m = strnlen(a, OW_TEXT_NEAREST_MAX + 1);
    const size_t n = strnlen(b, OW_TEXT_NEAREST_MAX + 1);
    if (m > OW_TEXT_NEAREST_MAX || n > OW_TEXT_NEAREST_MAX || (int)(m > n ? m - n : n - m) > limit) {
        return limit + 1;
    }
    int rows[3][OW_TEXT_NEAREST_MAX + 1];
    int *before = rows[0], *last = rows[1], *now = rows[2];
    for (size_t j = 0; j <= n; j++) {
        last[j] = (int)j;
        before[j] = 0;
    }
    for (size_t i = 1; i <= m; i++) {
        now[0] = (int)i;
        for (size_t j = 1; j <= n; j++) {
            const int change = fold(a[i - 1]) == fold(b[j - 1]) ? 0 : 1;
            int d = least(least(last[j] + 1, now[j - 1] + 1), last[j - 1] + change);
            if (i > 1 && j > 1 && fold(a[i - 1]) == fold(b[j - 2]) && fold(a[i - 2]) == fold(b[j - 1])) {
                d = least(d, before[j - 2] + 1);
            }
            now[j] = d;
        }
        int *free_row = before;
        before = last;
        last = now;
        now = free_row;
    }
    return last[n] > limit ? limit + 1 : last[n];
}

const char *ow_text_nearest_by(const char *text, size_t count,
                               const char *(*name)(const void *context, size_t i), const void *context) {
    const size_t length = strnlen(text, OW_TEXT_NEAREST_MAX + 1);
    if (length == 0 || length > OW_TEXT_NEAREST_MAX) {
        return NULL;
    }
    int best = 1 + (int)(length / 3);
    const char *found = NULL;
    for (size_t i = 0; i < count; i++) {
        const char *candidate = name(context, i);
        if (candidate == NULL) {
            continue;
        }
        const int d = ow_text_distance(text, candidate, best);
        // `best` is the largest distance still taken until something is found; then only nearer ones count.
        if (found == NULL ? d <= best : d < best) {
            best = d;
            found = candidate;
        }
    }
    return found;
}

static const char *list_name(const void *context, size_t i) {
    const char *const *names = context;
    return names[i];
}

const char *ow_text_nearest(const char *text, const char *const *names, size_t count) {
    return ow_text_nearest_by(text, count, list_name, names);
}
