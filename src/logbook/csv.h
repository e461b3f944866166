// SPDX-License-Identifier: GPL-3.0-or-later
// RFC 4180 text of entries, both ways. Private to the logbook (and its fuzzer).
#ifndef OW_LOGBOOK_CSV_H
#define OW_LOGBOOK_CSV_H

#include "oilwright/logbook.h"

#include "base/buffer.h"

#define OW_CSV_FIELDS (OW_LOG_FIELDS + 3)

/// One field of a record: its text without quotes (terminated, valid until the next record) and where it
/// begins.
typedef struct OwCsvField {
    const char *text;
    int line, column; ///< from 1; columns count characters
} OwCsvField;

/// Reads records from a text that stays as it is.
typedef struct OwCsv {
    const char *text;
    size_t size, at;
    char separator; ///< a comma; a semicolon or tab where the headings have no comma
    int line, column;
    OwBuffer scratch;
    OwCsvField fields[OW_CSV_FIELDS];
    int count;
    const char *wrong; ///< of the last record that was not well formed
    int wrong_line, wrong_column;
} OwCsv;

void ow_csv_begin(OwCsv *csv, const char *text, size_t size);
/// The next record: OW_OK, OW_ERROR_RANGE at the end, OW_ERROR_SYNTAX (wrong, with its place; reading can go
/// on with the next line), OW_ERROR_MEMORY. Blank lines are passed over.
OwStatus ow_csv_next(OwCsv *csv);
void ow_csv_end(OwCsv *csv);

/// Which column holds what: -1 none, -2 id, -3 at, -4 made, else a field.
typedef struct OwCsvMap {
    OwLogKind kind;
    int column_of[OW_CSV_FIELDS]; ///< by column
    int count;
} OwCsvMap;
#define OW_CSV_ID (-2)
#define OW_CSV_AT (-3)
#define OW_CSV_MADE (-4)

/// Hears of a fault and where it is.
typedef struct OwCsvTeller {
    OwFaults *faults;
    const char *file;
    int told;
    OwStatus status; ///< of the first
} OwCsvTeller;
void ow_csv_tell(OwCsvTeller *teller, int line, int column, const char *part, OwStatus status,
                 const char *message, const char *remedy);

/// Reads the headings of the present record.
void ow_csv_headings(const OwCsv *csv, OwLogKind kind, OwCsvMap *map, OwCsvTeller *teller);
/// Reads the present record; texts point into csv. What is wrong is told with its place; rules of values are
/// checked.
void ow_csv_entry(const OwCsv *csv, const OwCsvMap *map, OwLogEntry *entry, OwCsvTeller *teller);
/// Field of the record that holds a field of the entry (-1 the entry): its place for faults of later stages.
void ow_csv_place(const OwCsv *csv, const OwCsvMap *map, int field, int *line, int *column);

/// Writes the headings and one record, with their line ends.
void ow_csv_write_headings(OwBuffer *out, OwLogKind kind);
void ow_csv_write_entry(OwBuffer *out, const OwLogEntry *entry);

#endif
