// SPDX-License-Identifier: GPL-3.0-or-later
// Reader and tables of the wiring below the electrics section.
#ifndef OW_RIG_READ_ELECTRICS_H
#define OW_RIG_READ_ELECTRICS_H

#include "oilwright/electrics.h"
#include "rig/reader.h"

/// One table of the wiring, for the written reference; ended by a NULL title.
typedef struct OwElectricTable {
    const char *title, *doc;
    OwFieldTable fields;
} OwElectricTable;

const OwElectricTable *ow_electric_tables(void);
/// Keys of the electrics section that this file reads.
extern const OwSpecialKey ow_electric_special[];
/// Reads them; parts must have been read. Without any of the keys rig->electric_spec stays NULL.
void ow_read_electrics(OwReader *reader, const OwTextNode *electrics);

#endif
