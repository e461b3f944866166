// SPDX-License-Identifier: GPL-3.0-or-later
// Telling faults, and noticing when output was lost.
#include <errno.h>
#include <string.h>

#include "cli.h"

/// Studies run one rig many times and meet the same warning each time.
static bool is_told(const OwFaults *faults, size_t at) {
    const OwFault *f = &faults->items[at];
    for (size_t i = 0; i < at; i++) {
        const OwFault *e = &faults->items[i];
        if (e->line == f->line && e->column == f->column && e->severity == f->severity &&
            strcmp(e->part, f->part) == 0 && strcmp(e->message, f->message) == 0) {
            return true;
        }
    }
    return false;
}

void ow_cli_faults(const OwFaults *faults) {
    for (size_t i = 0; i < faults->count; i++) {
        if (is_told(faults, i)) {
            continue;
        }
        char line[1024];
        ow_fault_format(&faults->items[i], line, sizeof line);
        fprintf(stderr, "%s\n", line);
    }
}

int ow_cli_finish(FILE *file, const char *name) {
    errno = 0;
    const bool is_lost = fflush(file) != 0 || ferror(file) != 0;
    if (is_lost) {
        fprintf(stderr, "oilwright: %s cannot be written%s%s\n", name, errno != 0 ? ": " : "",
                errno != 0 ? strerror(errno) : "");
    }
    return is_lost ? OW_CLI_BROKEN : OW_CLI_GOOD;
}
