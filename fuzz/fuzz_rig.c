// SPDX-License-Identifier: GPL-3.0-or-later
// Fuzz target: any bytes as a rig file, then one override. A rig comes back exactly when no fault is an
// error, and what comes back passes its own check.
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include "oilwright/rig.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size) {
    static OwUnits *units; // made once: reading the unit database would be most of the work
    if (units == NULL && ow_units_create(&units) != OW_OK) {
        abort();
    }
    OwRig *rig = NULL;
    OwFaults faults = {0};
    const OwStatus status = ow_rig_read_text((const char *)data, size, "fuzz", units, &rig, &faults);
    if ((status == OW_OK) != (rig != NULL) || (status == OW_OK) != (faults.errors == 0)) {
        abort();
    }
    for (size_t i = 0; i < faults.count; i++) {
        char line[1024];
        (void)ow_fault_format(&faults.items[i], line, sizeof line);
    }
    if (rig != NULL) {
        // The first line of the text, without its comment mark, as an override.
        char change[200];
        size_t n = 0;
        while (n < size && n + 1 < sizeof change && data[n] != '\n' && data[n] != '\0') {
            change[n] = (char)data[n];
            n++;
        }
        change[n] = '\0';
        (void)ow_rig_override(rig, change[0] == '#' ? change + 1 : change, units, &faults);
        OwFaults again = {0};
        if (ow_rig_check(rig, &again) != OW_OK) {
            abort();
        }
        ow_faults_clear(&again);
    }
    ow_faults_clear(&faults);
    ow_rig_destroy(&rig);
    return 0;
}
