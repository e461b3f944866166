// SPDX-License-Identifier: GPL-3.0-or-later
// A chunked arena: many small takes, one free. Not for sharing between threads.
#include "oilwright/base.h"

#include <stdlib.h>
#include <string.h>

#define ALIGNMENT 16u
#define CHUNK_BYTES 65536u

typedef struct Chunk {
    struct Chunk *next;
    size_t used, size;
} Chunk;

/// The chunk header rounded up, so that the first byte given out is aligned (malloc aligns to at least 16
/// here).
#define HEADER_BYTES ((sizeof(Chunk) + ALIGNMENT - 1) / ALIGNMENT * ALIGNMENT)
_Static_assert(_Alignof(max_align_t) >= ALIGNMENT || sizeof(void *) < 8, "malloc must align to 16 bytes");

struct OwArena {
    Chunk *first;
};

OwArena *ow_arena_create(void) {
    return calloc(1, sizeof(OwArena));
}

void *ow_arena_take(OwArena *arena, size_t count, size_t size) {
    if (arena == NULL || (size != 0 && count > (SIZE_MAX - HEADER_BYTES - ALIGNMENT) / size)) {
        return NULL;
    }
    size_t bytes = count * size;
    bytes = bytes == 0 ? ALIGNMENT : (bytes + ALIGNMENT - 1) / ALIGNMENT * ALIGNMENT;
    Chunk *chunk = arena->first;
    if (chunk == NULL || chunk->size - chunk->used < bytes) {
        // A large take gets a chunk of its own, behind the current one, so that the room left there is not
        // lost.
        const bool is_large = bytes > CHUNK_BYTES / 4;
        const size_t room = is_large ? bytes : CHUNK_BYTES;
        Chunk *fresh = calloc(1, HEADER_BYTES + room);
        if (fresh == NULL) {
            return NULL;
        }
        fresh->size = room;
        if (is_large && chunk != NULL) {
            fresh->next = chunk->next;
            chunk->next = fresh;
        } else {
            fresh->next = chunk;
            arena->first = fresh;
        }
        chunk = fresh;
    }
    void *given = (char *)chunk + HEADER_BYTES + chunk->used;
    chunk->used += bytes;
    return given;
}

char *ow_arena_text(OwArena *arena, const char *text) {
    if (text == NULL) {
        return NULL;
    }
    const size_t length = strlen(text);
    char *copy = ow_arena_take(arena, length + 1, 1);
    if (copy != NULL) {
        memcpy(copy, text, length + 1);
    }
    return copy;
}

void ow_arena_destroy(OwArena **arena) {
    if (arena == NULL || *arena == NULL) {
        return;
    }
    Chunk *chunk = (*arena)->first;
    while (chunk != NULL) {
        Chunk *next = chunk->next;
        free(chunk);
        chunk = next;
    }
    free(*arena);
    *arena = NULL;
}
