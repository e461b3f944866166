// SPDX-License-Identifier: GPL-3.0-or-later
// The growing list of faults, and one fault as one line of text.
#include "base/text.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

OwStatus ow_faults_add(OwFaults *faults, const OwFault *fault) {
    if (faults == NULL || fault == NULL) {
        return OW_ERROR_USE;
    }
    if (fault->severity == OW_FAULT_ERROR) {
        faults->errors++;
    }
    if (faults->count == faults->capacity) {
        const size_t capacity = faults->capacity == 0 ? 8 : faults->capacity * 2;
        if (capacity > SIZE_MAX / sizeof(OwFault)) {
            return OW_ERROR_MEMORY;
        }
        OwFault *items = realloc(faults->items, capacity * sizeof(OwFault));
        if (items == NULL) {
            return OW_ERROR_MEMORY;
        }
        faults->items = items;
        faults->capacity = capacity;
    }
    faults->items[faults->count++] = *fault;
    return OW_OK;
}

OwStatus ow_faults_tell(OwFaults *faults, OwStatus status, OwSeverity severity, const char *file,
                        const char *part, const char *message, const char *remedy) {
    OwFault fault = {.status = status, .severity = severity};
    (void)ow_text_copy(fault.file, sizeof fault.file, file != NULL ? file : "");
    (void)ow_text_copy(fault.part, sizeof fault.part, part != NULL ? part : "");
    (void)ow_text_copy(fault.message, sizeof fault.message, message != NULL ? message : "");
    (void)ow_text_copy(fault.remedy, sizeof fault.remedy, remedy != NULL ? remedy : "");
    const OwStatus added = ow_faults_add(faults, &fault);
    return added == OW_OK ? status : added;
}

void ow_faults_clear(OwFaults *faults) {
    if (faults == NULL) {
        return;
    }
    free(faults->items);
    *faults = (OwFaults){0};
}

/// Appends to `text` at `*used`; `*used` keeps counting past the end, as snprintf does.
static void append(char *text, size_t size, size_t *used, const char *piece) {
    for (const char *p = piece; *p != '\0'; p++) {
        if (*used + 1 < size) {
            text[*used] = *p;
        }
        (*used)++;
    }
}

size_t ow_fault_format(const OwFault *fault, char *text, size_t size) {
    size_t used = 0;
    char place[48] = "";
    if (fault == NULL) {
        if (size > 0) {
            text[0] = '\0';
        }
        return 0;
    }
    if (fault->line > 0 && fault->column > 0) {
        (void)snprintf(place, sizeof place, ":%d:%d", fault->line, fault->column);
    } else if (fault->line > 0) {
        (void)snprintf(place, sizeof place, ":%d", fault->line);
    }
    if (fault->file[0] != '\0') {
        append(text, size, &used, fault->file);
        append(text, size, &used, place);
        append(text, size, &used, ": ");
    } else if (place[0] != '\0') {
        append(text, size, &used, place + 1);
        append(text, size, &used, ": ");
    }
    if (fault->severity == OW_FAULT_WARNING) {
        append(text, size, &used, "warning: ");
    }
    if (fault->part[0] != '\0') {
        append(text, size, &used, fault->part);
        append(text, size, &used, ": ");
    }
    append(text, size, &used, fault->message[0] != '\0' ? fault->message : ow_status_text(fault->status));
    if (fault->remedy[0] != '\0') {
        append(text, size, &used, "; ");
        append(text, size, &used, fault->remedy);
    }
    if (size > 0) {
        text[used < size ? used : size - 1] = '\0';
    }
    return used;
}
