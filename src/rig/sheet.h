// SPDX-License-Identifier: GPL-3.0-or-later
// Any file of sections by the same rules as a rig file: opening, reading, all faults together in the order of
// the text.
#ifndef OW_RIG_SHEET_H
#define OW_RIG_SHEET_H

#include "rig/reader.h"

/// Reads the root of a sheet into `context`; faults go through the reader.
typedef void (*OwSheetRead)(OwReader *reader, const OwTextNode *root, void *context);

/// Parses `text` and hands its root to `read`. `rig` is what the rig's own section readers (ow_read_oil)
/// fill; it may be NULL when the sheet uses none of them. Status of the first error; the faults stand in the
/// order of the text.
OwStatus ow_sheet_read_text(const char *text, size_t size, const char *name, OwUnits *units, OwRig *rig,
                            OwSheetRead read, void *context, OwFaults *faults);
/// The bytes of a file, at most OW_TREE_MAX_BYTES + 1 of them; the caller frees *text. OW_ERROR_READ with a
/// fault.
OwStatus ow_sheet_load(const char *path, char **text, size_t *size, OwFaults *faults);
/// Puts the faults from `start` on in the order of the text, those without a place last.
void ow_sheet_sort(OwFaults *faults, size_t start);

#endif
