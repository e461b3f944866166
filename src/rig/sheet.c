// SPDX-License-Identifier: GPL-3.0-or-later
// Any file of sections: opening, parsing, handing over, faults in order.
#include "rig/sheet.h"

#include <limits.h>
#include <stdio.h>
#include <stdlib.h>

// The list is short (OW_RIG_MAX_FAULTS and what checks add), so the stable insertion sort is bounded work.
void ow_sheet_sort(OwFaults *faults, size_t start) {
    for (size_t i = start + 1; i < faults->count; i++) {
        const OwFault moved = faults->items[i];
        const int line = moved.line > 0 ? moved.line : INT_MAX;
        size_t k = i;
        for (; k > start; k--) {
            const OwFault *before = &faults->items[k - 1];
            const int before_line = before->line > 0 ? before->line : INT_MAX;
            if (before_line < line || (before_line == line && before->column <= moved.column)) {
                break;
            }
            faults->items[k] = *before;
        }
        faults->items[k] = moved;
    }
}

OwStatus ow_sheet_read_text(const char *text, size_t size, const char *name, OwUnits *units, OwRig *rig,
                            OwSheetRead read, void *context, OwFaults *faults) {
    if ((text == NULL && size > 0) || name == NULL || units == NULL || read == NULL || faults == NULL) {
        return OW_ERROR_USE;
    }
    const size_t start = faults->count;
    OwTextNode *root = NULL;
    OwArena *arena = ow_arena_create();
    OwStatus status = arena != NULL ? ow_tree_read(text, size, name, arena, &root, faults) : OW_ERROR_MEMORY;
    if (status == OW_OK) {
        OwReader reader = {.rig = rig, .units = units, .faults = faults, .file = name, .arena = arena};
        read(&reader, root, context);
        status = reader.is_out_of_memory ? OW_ERROR_MEMORY : reader.first;
        ow_sheet_sort(faults, start);
    }
    ow_arena_destroy(&arena);
    return status;
}

static OwStatus file_fault(const char *path, OwFaults *faults, const char *message, const char *remedy) {
    return ow_faults_tell(faults, OW_ERROR_READ, OW_FAULT_ERROR, path, NULL, message, remedy);
}

OwStatus ow_sheet_load(const char *path, char **text, size_t *size, OwFaults *faults) {
    *text = NULL;
    *size = 0;
    FILE *in = fopen(path, "rb");
    if (in == NULL) {
        return file_fault(path, faults, "the file cannot be opened",
                          "check its name and that you may read it");
    }
    // One byte past the limit, so that the tree reader can see that it is too long.
    const size_t room = (size_t)OW_TREE_MAX_BYTES + 1;
    char *bytes = malloc(room);
    if (bytes == NULL) {
        (void)fclose(in);
        return OW_ERROR_MEMORY;
    }
    const size_t got = fread(bytes, 1, room, in);
    const bool is_bad = ferror(in) != 0;
    (void)fclose(in);
    if (is_bad) {
        free(bytes);
        return file_fault(path, faults, "the file cannot be read", "check that it is a plain file");
    }
    *text = bytes;
    *size = got;
    return OW_OK;
}
