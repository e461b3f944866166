// SPDX-License-Identifier: GPL-3.0-or-later
// The sheet of the schematic: which current paths there are, where they stand, the lines they hang on.
// Private.
#ifndef OW_POWER_SHEET_H
#define OW_POWER_SHEET_H

#include "power/drawing.h"
#include "power/schedule.h"

#define PAGE_W 297.0
#define PAGE_H 210.0
#define EDGE 9.0
#define MOST_COLUMNS (4 * OW_MAX_CIRCUITS + 16)
#define COLUMNS_A_ROW 18
#define ROWS_A_PAGE 2

typedef enum OwColumnKind {
    COLUMN_BATTERY,
    COLUMN_ALTERNATOR,
    COLUMN_STARTER,
    COLUMN_KEY,    ///< a contact of the key switch that feeds a line
    COLUMN_HOLD,   ///< a hold-on button that feeds the same line
    COLUMN_COIL,   ///< command of a relay
    COLUMN_DIRECT, ///< a load on a switched line
    COLUMN_LOAD    ///< a load on line 30
} OwColumnKind;

typedef struct OwColumn {
    OwColumnKind kind;
    int circuit; ///< -1 none
    OwFeed feed; ///< line that this column feeds or hangs on
    int group;   ///< columns under one line, 0 = under line 30
    double x;
    int row;
} OwColumn;

typedef struct OwSheet {
    OwDrawing drawing;
    const OwPower *power;
    const OwSchedule *schedule;
    OwColumn columns[MOST_COLUMNS];
    int count, rows;
    double top[64], bottom[64]; ///< lines 30 and 31 of each row
} OwSheet;

// Heights of the floors, shares of the way from line 30 to line 31.
#define AT_FEEDER 0.14
#define AT_LINE 0.28
#define AT_FUSE 0.14
#define AT_FUSE_LOW 0.42
#define AT_CONTACT 0.42
#define AT_SWITCH_LOW 0.60
#define AT_LIMITER 0.62
#define AT_LOAD 0.83

/// Lists the current paths and gives each its row and place.
void ow_sheet_plan(OwSheet *sheet);
int ow_sheet_columns_a_row(const OwSheet *sheet);
/// Height in a row at a share of the way from line 30 to line 31.
double ow_sheet_level(const OwSheet *sheet, int row, double share);
/// Section and colour of the wire of a circuit that starts at a given end; empty when there is none.
void ow_sheet_wire(const OwSheet *sheet, int circuit, const char *from, char *text, size_t size);
/// Lines 30 and 31 of a row and the switched lines in it.
void ow_sheet_rails(OwSheet *sheet, int row);
void ow_sheet_title(OwSheet *sheet, const char *title, int pages);

#endif
