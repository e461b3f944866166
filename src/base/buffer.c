// SPDX-License-Identifier: GPL-3.0-or-later
// A growing text for writers.
#include "base/buffer.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

char *ow_buffer_reserve(OwBuffer *buffer, size_t size) {
    if (buffer->has_failed) {
        return NULL;
    }
    if (buffer->data == NULL || size >= buffer->room - buffer->size) {
        size_t room = buffer->room > 0 ? buffer->room : 256;
        while (room - buffer->size <= size) {
            if (room > SIZE_MAX / 2) {
                buffer->has_failed = true;
                return NULL;
            }
            room *= 2;
        }
        char *data = realloc(buffer->data, room);
        if (data == NULL) {
            buffer->has_failed = true;
            return NULL;
        }
        buffer->data = data;
        buffer->room = room;
        data[buffer->size] = '\0';
    }
    return buffer->data + buffer->size;
}

void ow_buffer_add(OwBuffer *buffer, const char *bytes, size_t size) {
    char *to = ow_buffer_reserve(buffer, size);
    if (to == NULL) {
        return;
    }
    if (size > 0) {
        memcpy(to, bytes, size);
    }
    to[size] = '\0';
    buffer->size += size;
}

void ow_buffer_text(OwBuffer *buffer, const char *text) {
    ow_buffer_add(buffer, text, strlen(text));
}

void ow_buffer_fill(OwBuffer *buffer, char byte, size_t count) {
    char *to = ow_buffer_reserve(buffer, count);
    if (to == NULL) {
        return;
    }
    memset(to, byte, count);
    to[count] = '\0';
    buffer->size += count;
}

void ow_buffer_format(OwBuffer *buffer, const char *format, ...) {
    va_list first, second;
    va_start(first, format);
    va_copy(second, first);
    const int size = vsnprintf(NULL, 0, format, first);
    va_end(first);
    char *to = size >= 0 ? ow_buffer_reserve(buffer, (size_t)size) : NULL;
    if (to != NULL) {
        (void)vsnprintf(to, (size_t)size + 1, format, second);
        buffer->size += (size_t)size;
    }
    va_end(second);
}

void ow_buffer_clear(OwBuffer *buffer) {
    if (buffer != NULL) {
        free(buffer->data);
        *buffer = (OwBuffer){0};
    }
}
