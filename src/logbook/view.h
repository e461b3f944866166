// SPDX-License-Identifier: GPL-3.0-or-later
// What the views share: growing arrays in the arena, one snapshot a view. Private to the logbook.
#ifndef OW_LOGBOOK_VIEW_H
#define OW_LOGBOOK_VIEW_H

#include "logbook/impl.h"

/// A growing array in an arena; items are zeroed.
typedef struct OwRows {
    OwArena *arena;
    void *items;
    size_t size; ///< of one
    int count, room;
} OwRows;
/// The next item; NULL out of memory.
void *ow_log_rows_next(OwRows *rows);

/// Text of a column into the arena, "" for NULL; NULL out of memory.
const char *ow_log_column_text(sqlite3_stmt *stmt, int column, OwArena *arena);

/// Ends a read transaction with SQLite's code so far (SQLITE_DONE counts as well).
OwStatus ow_log_end_view(OwLogbook *book, int code, OwFaults *faults);

/// Mean solids of what left an account at a time: weights of tested oil walked back through the moves.
/// *known is the share it speaks for, 0 to 1.
int ow_log_solids_at(OwLogbook *book, OwArena *arena, int64_t account, int64_t at_s, int64_t entry,
                     double *solids_kg_kg, double *known);
/// A reading of an odometer, mm; `count`: counted on through the odometers that were replaced until then.
typedef struct OwOdo {
    int64_t at_s, entry, reading, count;
} OwOdo;
/// The reading that a query of `reading, at, entry` with these numbers finds first. Returns SQLite's code.
int ow_log_odo_read(OwLogbook *book, int64_t vehicle, sqlite3_stmt *stmt, int count, const int64_t *numbers,
                    OwOdo *odo, bool *has);
/// Metres a vehicle has driven in a period by its readings; `has` false when there are fewer than two.
int ow_log_distance(OwLogbook *book, int64_t vehicle, int64_t from_s, int64_t to_s, double *distance_m,
                    bool *has);

#endif
