// SPDX-License-Identifier: GPL-3.0-or-later
// The tables everything about a rig file comes from: reading, ranges, defaults, suggestions and the written
// reference.
#ifndef OW_RIG_CATALOGUE_H
#define OW_RIG_CATALOGUE_H

#include <stdio.h>

#include "oilwright/rig.h"

typedef enum OwFieldType {
    OW_FIELD_REAL,   ///< a quantity
    OW_FIELD_COUNT,  ///< a whole number
    OW_FIELD_FLAG,   ///< yes or no
    OW_FIELD_CHOICE, ///< one of `choices`, kept as an int
    OW_FIELD_TEXT    ///< a name of OW_NAME_SIZE
} OwFieldType;

/// One row: how a key reads, where it goes, what it is when not given, what is allowed.
typedef struct OwField {
    const char *key;
    OwFieldType type;
    OwQuantity quantity;
    size_t offset;              ///< into the struct of the table
    double fallback, low, high; ///< SI
    const char *bare;           ///< unit of a bare number, NULL: the unit must be written
    const char *const *choices; ///< NULL-terminated
    bool none;                  ///< "none" may be written, kept as 0 (which may lie outside low..high)
    const char *doc;            ///< one line, with the source or "common practice, no source"
} OwField;

typedef struct OwFieldTable {
    const OwField *rows;
    int count;
} OwFieldTable;

/// A key of a part or section that a plain field cannot hold; read by code of its own.
typedef struct OwSpecialKey {
    const char *key, *doc;
} OwSpecialKey;

/// What the file calls a part, and what follows from it.
typedef struct OwKindWord {
    const char *word;
    OwPartKind kind;
    OwPlace place; ///< unless told
    OwFieldTable fields;
    const OwSpecialKey *special; ///< ends with a NULL key; NULL none
    const char *doc;
} OwKindWord;

/// Rows of all kinds, ended by a NULL word; "hose" comes before "tube".
const OwKindWord *ow_kind_words(void);
/// The row a part follows: by kind, and for runs by is_hose.
const OwKindWord *ow_kind_word_of(const OwPart *part);
/// Fields that every part has (offsets into OwPart).
OwFieldTable ow_common_fields(void);
OwFieldTable ow_element_fields(void);    ///< OwElement
OwFieldTable ow_thermostat_fields(void); ///< OwElement
OwFieldTable ow_leg_fields(void);        ///< OwLeg
OwFieldTable ow_fluid_fields(void);      ///< OwOilSpec
const OwSpecialKey *ow_fluid_special(void);

typedef struct OwSection {
    const char *name;
    size_t offset; ///< into OwRig
    OwFieldTable fields;
    const OwSpecialKey *special;
    const char *doc;
} OwSection;
/// vehicle, engine, climate, drive, electrics, limits; ended by a NULL name.
const OwSection *ow_sections(void);

/// Sets every field of a table to its fallback.
void ow_fields_default(OwFieldTable table, void *base);
/// The row of a key, NULL when there is none.
const OwField *ow_field_find(OwFieldTable table, const char *key);
double ow_field_real(const OwField *field, const void *base);
int ow_field_int(const OwField *field, const void *base);
/// Stores a number in a field of any type but text.
void ow_field_store(const OwField *field, void *base, double value);
/// Whether a value is legal; NaN never is.
bool ow_field_is_legal(const OwField *field, double value);
/// Reads a text into a field. On failure the field is untouched, `wrong` says what is wrong and `remedy` what
/// would be right.
OwStatus ow_field_read(const OwField *field, const char *text, OwUnits *units, void *base, char wrong[256],
                       char remedy[256]);
/// Reads a quantity with a range, for values that no field holds. Same conventions.
OwStatus ow_quantity_read(const char *text, OwUnits *units, const OwField *like, double *si, char wrong[256],
                          char remedy[256]);
/// "did you mean ..." over the keys of tables and specials, or the list of them when none is near.
void ow_key_remedy(const char *key, const OwFieldTable *tables, int table_count, const OwSpecialKey *special,
                   char remedy[256]);
/// Writes the value of a row as people read it.
void ow_field_write(const OwField *field, double value, OwDisplay display, char *text, size_t size);
/// Writes a value as a person would write it in the file.
typedef void OwFieldWriter(const OwField *field, double value, char *text, size_t size);
/// Markdown table of the keys of a section: default, range, meaning; `special` keys last. `write` NULL:
/// metric.
void ow_table_write(FILE *out, OwFieldTable table, const OwSpecialKey *special, OwFieldWriter *write);

/// A part with the defaults of its word; no name. ow_part_default does the same by kind and names it after
/// the kind.
void ow_part_default_word(const OwKindWord *word, OwPart *part);
/// An element with its defaults, named "heater 1" for index 0; no thermostat.
void ow_element_default(OwElement *element, int index);

/// Ports of this very part: a two-way valve has no b.
int ow_part_ports_in_use(const OwPart *part);
/// Whether oil stands in the part (its temperature can be watched).
bool ow_part_holds_oil(OwPartKind kind);

extern const char *const ow_material_names[OW_MATERIAL_COUNT + 1];
extern const char *const ow_place_names[5];

#endif
