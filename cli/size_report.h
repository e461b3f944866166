// SPDX-License-Identifier: GPL-3.0-or-later
// Writers of a sizing: one screen of text, or JSON.
#ifndef OW_CLI_SIZE_REPORT_H
#define OW_CLI_SIZE_REPORT_H

#include "cli.h"
#include "oilwright/size.h"

/// The report; `is_short` only the answer and the changes.
void ow_size_report(FILE *file, const OwRig *rig, const OwSizing *sizing, OwDisplay display, bool is_ascii,
                    bool is_short);
/// SI values with their texts beside them.
OwStatus ow_size_json(FILE *file, const OwRig *rig, const OwSizing *sizing);

#endif
