// SPDX-License-Identifier: GPL-3.0-or-later
// Fuzz target: any bytes as a rig file, then one override. A rig comes back exactly when no fault is an
// error, and what comes back passes its own check.
#include "oilwright/rig.h"
#include "sheet.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size) {
    OwUnits *units = fuzz_units();
    OwRig *rig = NULL;
    OwFaults faults = {0};
    const OwStatus status = ow_rig_read_text((const char *)data, size, "fuzz", units, &rig, &faults);
    if ((status == OW_OK) != (rig != NULL) || (status == OW_OK) != (faults.errors == 0)) {
        abort();
    }
    fuzz_tell(&faults);
    if (rig != NULL) {
        char line[200];
        (void)ow_rig_override(rig, fuzz_change(data, size, line), units, &faults);
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
