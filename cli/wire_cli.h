// SPDX-License-Identifier: GPL-3.0-or-later
// What the files of `oilwright wire` share.
#ifndef OW_CLI_WIRE_CLI_H
#define OW_CLI_WIRE_CLI_H

#include <stdio.h>

#include "oilwright/power.h"

#define OW_WIRE_CAUTION                                                                                      \
    "Battery negative off before work. A wire without a fuse near the battery can set the vehicle on fire. " \
    "Local codes and a licensed practice have the last word."

#define OW_WIRE_FAULTS 400

/// Everything that was worked out for one rig.
typedef struct OwWireAnswer {
    const char *title;
    const OwPower *power;
    const OwSchedule *schedule;
    const OwFaults *faults;          ///< what is to be put right
    const OwElectricFault *electric; ///< single faults, NULL when not asked
    int electric_count;
    double soak_k;
    OwDisplay display;
} OwWireAnswer;

int ow_cli_wire(int argc, char **argv);
/// True when every check of every circuit passed.
bool ow_wire_is_good(const OwWireAnswer *answer);
bool ow_wire_text_write(FILE *file, const OwWireAnswer *answer);
/// One JSON object; keys as written in cli/wire_json.c. SI units, named in the keys.
OwStatus ow_wire_json_write(FILE *file, const OwWireAnswer *answer);
/// The wires as RFC 4180 text with one header record.
bool ow_wire_csv_write(FILE *file, const OwWireAnswer *answer);

#endif
