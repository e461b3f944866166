// SPDX-License-Identifier: GPL-3.0-or-later
// What the fuzz targets of rig, yard and cost files share: the units, every fault as a line, a change from
// the text.
#ifndef OW_FUZZ_SHEET_H
#define OW_FUZZ_SHEET_H

#include <stdint.h>
#include <stdlib.h>

#include "oilwright/base.h"
#include "oilwright/units.h"

static inline void must(bool is_good) {
    if (!is_good) {
        abort();
    }
}

/// Made once: reading the unit database would be most of the work.
static inline OwUnits *fuzz_units(void) {
    static OwUnits *units;
    must(units != NULL || ow_units_create(&units) == OW_OK);
    return units;
}

/// Writes every fault as its line.
static inline void fuzz_tell(const OwFaults *faults) {
    for (size_t i = 0; i < faults->count; i++) {
        char line[1024];
        (void)ow_fault_format(&faults->items[i], line, sizeof line);
    }
}

/// The first line of the data, without its comment mark, as a change like those of --set.
static inline const char *fuzz_change(const uint8_t *data, size_t size, char line[static 200]) {
    size_t n = 0;
    while (n < size && n + 1 < 200 && data[n] != '\n' && data[n] != '\0') {
        line[n] = (char)data[n];
        n++;
    }
    line[n] = '\0';
    return line[0] == '#' ? line + 1 : line;
}

#endif
