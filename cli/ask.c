// SPDX-License-Identifier: GPL-3.0-or-later
// What is asked of a rig besides its file: another oil, soak, drive, end, any value.
#include <string.h>
#include <strings.h>

#include "base/text.h"
#include "cli.h"

static OwStatus read_quantity(OwUnits *units, const char *text, OwQuantity quantity, const char *bare,
                              const char *option, double low, double high, double *si, OwFaults *faults) {
    char why[256] = "";
    double value = 0.0;
    OwFault fault = {.status = OW_ERROR_UNIT, .severity = OW_FAULT_ERROR};
    ow_text_copy(fault.file, sizeof fault.file, "command line");
    ow_text_copy(fault.part, sizeof fault.part, option);
    if (ow_units_read(units, text, quantity, bare, &value, why, sizeof why) != OW_OK) {
        ow_text_copy(fault.message, sizeof fault.message, "the value cannot be read");
        ow_text_copy(fault.remedy, sizeof fault.remedy, why);
        ow_faults_add(faults, &fault);
        return OW_ERROR_UNIT;
    }
    if (!(value >= low && value <= high)) {
        char from[48];
        char to[48];
        fault.status = OW_ERROR_VALUE;
        ow_units_write(low, quantity, OW_DISPLAY_METRIC, from, sizeof from);
        ow_units_write(high, quantity, OW_DISPLAY_METRIC, to, sizeof to);
        ow_text_copy(fault.message, sizeof fault.message, "the value is out of range");
        snprintf(fault.remedy, sizeof fault.remedy, "from %s to %s", from, to);
        ow_faults_add(faults, &fault);
        return OW_ERROR_VALUE;
    }
    *si = value;
    return OW_OK;
}

void ow_cli_apply(const OwAsked *asked, OwRig *rig, OwMorningSettings *settings, OwUnits *units,
                  OwFaults *faults) {
    for (int i = 0; i < asked->set_count; i++) {
        (void)ow_rig_override(rig, asked->set[i], units, faults);
    }
    if (asked->oil != NULL) {
        (void)ow_cli_oil_override(rig, asked->oil, units, faults);
    }
    if (asked->soak != NULL) {
        (void)read_quantity(units, asked->soak, OW_Q_TEMPERATURE, "degC", "--soak", 213.15, 333.15,
                            &settings->soak_k, faults);
    }
    if (asked->until != NULL) {
        (void)read_quantity(units, asked->until, OW_Q_TIME, "s", "--until", 1.0, 86400.0, &settings->until_s,
                            faults);
    }
    if (asked->drive != NULL) {
        rig->drive.kind = strcasecmp(asked->drive, "nedc") == 0 ? OW_DRIVE_NEDC : OW_DRIVE_LEGS;
        if (rig->drive.kind == OW_DRIVE_LEGS && rig->drive.leg_count == 0) {
            OwFault fault = {.status = OW_ERROR_VALUE, .severity = OW_FAULT_ERROR};
            ow_text_copy(fault.file, sizeof fault.file, "command line");
            ow_text_copy(fault.part, sizeof fault.part, "--drive");
            ow_text_copy(fault.message, sizeof fault.message, "the rig file has no legs");
            ow_text_copy(fault.remedy, sizeof fault.remedy,
                         "give the drive section some legs, or use --drive nedc");
            ow_faults_add(faults, &fault);
        }
    }
    if (faults->errors == 0 && (asked->set_count > 0 || asked->drive != NULL)) {
        (void)ow_rig_check(rig, faults);
    }
}
