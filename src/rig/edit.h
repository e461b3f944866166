// SPDX-License-Identifier: GPL-3.0-or-later
// Changes to the text of a rig file that leave every other line, comment and blank as it stands.
#ifndef OW_RIG_EDIT_H
#define OW_RIG_EDIT_H

#include "oilwright/base.h"

typedef enum OwEditOp {
    OW_EDIT_SET,    ///< a value, by part or section and path; no value: the key goes and the default holds
    OW_EDIT_ADD,    ///< a part
    OW_EDIT_REMOVE, ///< a part, with the lines and rules that name it
    OW_EDIT_MOVE,   ///< a part to another place
    OW_EDIT_RENAME, ///< a part, everywhere it is named
    OW_EDIT_APPEND, ///< an entry at the end of a list
    OW_EDIT_DROP    ///< an entry of a list
} OwEditOp;

typedef enum OwEditValueType { OW_EDIT_TEXT, OW_EDIT_MAP, OW_EDIT_LIST } OwEditValueType;

/// What is written: a text, or a map or list of such.
typedef struct OwEditValue {
    OwEditValueType type;
    const char *key;  ///< inside a map
    const char *text; ///< UTF-8
    const struct OwEditValue *first, *next;
} OwEditValue;

typedef struct OwEdit {
    OwEditOp op;
    const char *part, *section; ///< one of the two
    const char *path;        ///< "bore", "heaters/0/power", "legs/hill/speed"; NULL or "": the section itself
    const char *kind, *name; ///< of a new part; the new name
    const char *after, *before; ///< "part" or "part.port", NULL: not said
    const OwEditValue *value;   ///< of a new part: a map of its fields
} OwEdit;

/// What came out. Owned by the caller, ends with ow_edited_clear.
typedef struct OwEdited {
    char *text; ///< terminated
    size_t size;
    bool has_changed;
    char *notes;   ///< one a line, what was done besides; NULL when nothing
    int failed;    ///< the edit that could not be done, -1 none
    OwFault fault; ///< why
} OwEdited;

#define OW_EDIT_MAX_EDITS 100
/// A part's name when none is given for it.
#define OW_EDIT_NAME_SIZE 64

/// Whether a kind (by the file's word) has an in and an out, so that `add` can put it into a line by itself.
bool ow_edit_is_in_line(const char *kind);

/// Does the edits in order, each on the outcome of the one before. When one cannot be done none is: the text
/// is then the one that came in. OW_OK, OW_ERROR_MEMORY, OW_ERROR_USE, OW_ERROR_SYNTAX when the text is not
/// well formed, OW_ERROR_VALUE when an edit asks for what is not there. The outcome is always well formed; it
/// need not be a legal rig.
OwStatus ow_rig_edit(const char *text, size_t size, const OwEdit *edits, int count, OwEdited *edited);
void ow_edited_clear(OwEdited *edited);

#endif
