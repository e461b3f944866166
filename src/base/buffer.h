// SPDX-License-Identifier: GPL-3.0-or-later
// A growing text for writers. Private to the library and the page.
#ifndef OW_BASE_BUFFER_H
#define OW_BASE_BUFFER_H

#include "oilwright/base.h"

/// Starts from `{0}`, ends with ow_buffer_clear. `data` is terminated once anything was added. After a failed
/// allocation nothing more is added and has_failed stays true.
typedef struct OwBuffer {
    char *data;
    size_t size, room;
    bool has_failed;
} OwBuffer;

void ow_buffer_add(OwBuffer *buffer, const char *bytes, size_t size);
void ow_buffer_text(OwBuffer *buffer, const char *text);
void ow_buffer_fill(OwBuffer *buffer, char byte, size_t count);
void ow_buffer_format(OwBuffer *buffer, const char *format, ...) __attribute__((format(printf, 2, 3)));
/// Makes room for `size` more bytes and returns where to write them (size is not moved), NULL when out of
/// memory.
char *ow_buffer_reserve(OwBuffer *buffer, size_t size);
void ow_buffer_clear(OwBuffer *buffer);

#endif
