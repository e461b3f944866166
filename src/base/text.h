// SPDX-License-Identifier: GPL-3.0-or-later
// Small text helpers: bounded copies and the nearest known name. Private to the library.
#ifndef OW_BASE_TEXT_H
#define OW_BASE_TEXT_H

#include "oilwright/base.h"

/// Longest name that ow_text_nearest compares; longer texts have no nearest name.
#define OW_TEXT_NEAREST_MAX 63

/// Copies into `out`, always terminated, never cutting a UTF-8 character in two. False when the text did not
/// fit.
bool ow_text_copy(char *out, size_t size, const char *text);
/// Edits (insert, delete, change, swap of neighbours; ASCII case ignored) that turn `a` into `b`; stops
/// counting past `limit` and returns limit + 1. Optimal string alignment, after Damerau 1964, Comm. ACM
/// 7:171. Texts over OW_TEXT_NEAREST_MAX: limit + 1.
int ow_text_distance(const char *a, const char *b, int limit);
/// The nearest of `count` names within about a third of the text's length, NULL when none is near. First wins
/// a tie.
const char *ow_text_nearest(const char *text, const char *const *names, size_t count);
/// Same over a lookup: `name(context, i)` gives the i-th name; NULL entries are skipped.
const char *ow_text_nearest_by(const char *text, size_t count,
                               const char *(*name)(const void *context, size_t i), const void *context);

#endif
