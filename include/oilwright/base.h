// SPDX-License-Identifier: GPL-3.0-or-later
// Status codes, fault lists with text positions, and the arena every plan is built in.
#ifndef OILWRIGHT_BASE_H
#define OILWRIGHT_BASE_H

#include <stdarg.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/// One list of everything that can go wrong: code, name, plain message.
#define OW_STATUS_LIST(X)                                                                                    \
    X(OW_OK, 0, "ok")                                                                                        \
    X(OW_ERROR_MEMORY, -1, "out of memory")                                                                  \
    X(OW_ERROR_READ, -2, "the file cannot be read")                                                          \
    X(OW_ERROR_SYNTAX, -3, "the text is not well formed")                                                    \
    X(OW_ERROR_VALUE, -4, "a value is missing, unknown or out of range")                                     \
    X(OW_ERROR_UNIT, -5, "a unit is unknown or of the wrong kind")                                           \
    X(OW_ERROR_RANGE, -6, "outside the range in which the model holds")                                      \
    X(OW_ERROR_NO_SOLUTION, -7, "no solution was found within the bounded work")                             \
    X(OW_ERROR_USE, -8, "the call is not allowed here")                                                      \
    X(OW_ERROR_WRITE, -9, "the output cannot be written")

typedef enum OwStatus {
#define OW_STATUS_ENUM(code, value, text) code = value,
    OW_STATUS_LIST(OW_STATUS_ENUM)
#undef OW_STATUS_ENUM
} OwStatus;

/// Plain English for a status, never NULL.
const char *ow_status_text(OwStatus status);

typedef enum OwSeverity { OW_FAULT_ERROR, OW_FAULT_WARNING } OwSeverity;

/// One thing wrong with the input: where it stands, which part, what is wrong, what would be right.
typedef struct OwFault {
    OwStatus status;
    OwSeverity severity;
    int line;   ///< 1-based, 0 when the fault has no place in a text
    int column; ///< 1-based, 0 when unknown
    char file[128];
    char part[64];
    char message[256]; ///< what is wrong
    char remedy[256];  ///< what would be right; may be empty
} OwFault;

/// A growing list of faults owned by the caller; start from `{0}`, end with ow_faults_clear.
typedef struct OwFaults {
    OwFault *items;
    size_t count;
    size_t capacity;
    size_t errors; ///< how many are errors, not warnings
} OwFaults;

/// Appends a copy of `fault`. Returns OW_ERROR_MEMORY when the list cannot grow (the error count still rises).
OwStatus ow_faults_add(OwFaults *faults, const OwFault *fault);
/// Adds a fault that has no place in a text; a NULL text is empty, a long one is cut. Returns `status`, or OW_ERROR_MEMORY.
OwStatus ow_faults_tell(OwFaults *faults, OwStatus status, OwSeverity severity, const char *file, const char *part,
                        const char *message, const char *remedy);
/// Frees the list and leaves it empty. NULL is a no-op.
void ow_faults_clear(OwFaults *faults);
/// Writes "file:line:column: part: message; remedy" ("warning: " before the part of a warning) into `text`, always terminated. Returns the length wanted.
size_t ow_fault_format(const OwFault *fault, char *text, size_t size);

/// A chunked arena: memory is given out zeroed and 16-byte aligned, freed all at once.
typedef struct OwArena OwArena;
/// NULL when out of memory.
OwArena *ow_arena_create(void);
/// `count` items of `size` bytes, zeroed; NULL when out of memory or on overflow. The arena owns it.
void *ow_arena_take(OwArena *arena, size_t count, size_t size);
/// Copy of `text` in the arena, NULL when out of memory.
char *ow_arena_text(OwArena *arena, const char *text);
/// Frees all and nulls the pointer. NULL is a no-op.
void ow_arena_destroy(OwArena **arena);

#define OW_ZERO_CELSIUS_K 273.15
#define OW_ATMOSPHERE_PA 101325.0
#define OW_GRAVITY_M_S2 9.80665

#endif
