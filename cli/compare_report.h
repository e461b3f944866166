// SPDX-License-Identifier: GPL-3.0-or-later
// Writers of a comparison: a table of at most 100 columns, or JSON.
#ifndef OW_CLI_COMPARE_REPORT_H
#define OW_CLI_COMPARE_REPORT_H

#include "cli.h"
#include "oilwright/compare.h"

void ow_compare_report(FILE *file, const OwComparison *comparison, OwDisplay display, bool is_ascii);
OwStatus ow_compare_json(FILE *file, const OwComparison *comparison);

#endif
