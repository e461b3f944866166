// SPDX-License-Identifier: GPL-3.0-or-later
// What the files of the text editor share.
#ifndef OW_RIG_EDIT_IMPL_H
#define OW_RIG_EDIT_IMPL_H

#include "base/buffer.h"
#include "rig/catalogue.h"
#include "rig/edit.h"
#include "rig/tree.h"

#define OW_EDIT_MAX_DEPTH 8
/// Lists longer than any rig's are not edited: finding an entry's lines takes time with its place.
#define OW_EDIT_MAX_ITEMS 1000

/// Bytes start..end of the text become `text`.
typedef struct OwPatch {
    size_t start, end, order;
    const char *text;
} OwPatch;

typedef struct OwEditor {
    char *text;
    size_t size;
    OwArena *arena;   ///< tree and strings of the current text
    OwTextNode *root; ///< always a map; extents are bytes here
    const char *eol;
    bool is_json; ///< keys are quoted
    OwPatch *patches;
    size_t patch_count, patch_room;
    OwBuffer notes;
    OwFault *fault;
} OwEditor;

/// Reads the current text into the tree.
OwStatus ow_editor_open(OwEditor *editor);
OwStatus ow_editor_patch(OwEditor *editor, size_t start, size_t end, const char *text);
/// Same with the content of a buffer, which is cleared.
OwStatus ow_editor_patch_buffer(OwEditor *editor, size_t start, size_t end, OwBuffer *buffer);
/// Carries the patches out and reads the outcome.
OwStatus ow_editor_apply(OwEditor *editor);
/// Says why an edit cannot be done; returns the status.
OwStatus ow_editor_fail(OwEditor *editor, OwStatus status, const char *remedy, const char *format, ...)
    __attribute__((format(printf, 4, 5)));
void ow_editor_note(OwEditor *editor, const char *format, ...) __attribute__((format(printf, 2, 3)));

size_t ow_editor_line_start(const OwEditor *editor, size_t at);
/// Past the line break of the line `at` stands in, or the end of the text.
size_t ow_editor_line_next(const OwEditor *editor, size_t at);
/// Whether only blanks stand before `at` on its line.
bool ow_editor_is_first(const OwEditor *editor, size_t at);
/// Where a new line goes in behind the line of `at`. Begins `out` with a line break when the text lacks one.
size_t ow_editor_behind_line(const OwEditor *editor, size_t at, OwBuffer *out);

/// Whether a text is UTF-8 of characters that YAML can hold.
bool ow_edit_is_text(const char *text);
/// Writes a scalar so that it reads back as `text`.
void ow_edit_write_scalar(OwBuffer *out, const char *text, bool is_flow, bool is_json);
/// Writes what follows "key:"; `indent` is the column of the key.
void ow_edit_write_value(OwBuffer *out, const OwEditor *editor, const OwEditValue *value, bool is_flow,
                         size_t indent);
/// Writes "{...}", "[...]" or a scalar.
void ow_edit_write_flow(OwBuffer *out, const OwEditValue *value, bool is_json, int depth);
void ow_edit_write_key(OwBuffer *out, const char *key, bool is_flow, bool is_json);

/// The entry of a list by index or name, NULL when there is none.
OwTextNode *ow_edit_find_item(const OwTextNode *list, const char *which);
OwTextNode *ow_edit_find_key(const OwTextNode *map, const char *key);
/// A new entry in a map.
OwStatus ow_edit_insert_key(OwEditor *editor, const OwTextNode *map, const char *key,
                            const OwEditValue *value);
/// A new value in the place of `node`; `indent` is the column of its key.
OwStatus ow_edit_replace(OwEditor *editor, const OwTextNode *node, const OwEditValue *value);
/// Takes a key with its value out of a map; when it was the last one the map's own entry in `parent` goes
/// too.
OwStatus ow_edit_remove_key(OwEditor *editor, const OwTextNode *map, const OwTextNode *node);
/// A new entry behind `item` (NULL: at the front) of a list, written in flow style.
OwStatus ow_edit_insert_item(OwEditor *editor, const OwTextNode *list, const OwTextNode *item,
                             const OwEditValue *value);
/// Takes out all entries that `is_out` names. At least one must stay.
OwStatus ow_edit_remove_items(OwEditor *editor, const OwTextNode *list,
                              bool (*is_out)(const void *context, const OwTextNode *item),
                              const void *context);
/// First and last byte of a block list's entry: its dash line (with the comment right above when
/// `with_comment`) to behind its last line. False when it does not stand on lines of its own.
bool ow_edit_item_lines(const OwEditor *editor, const OwTextNode *list, const OwTextNode *item,
                        bool with_comment, size_t *start, size_t *end);

/// The map of a part, NULL when there is none. `word` and `name_node` may be NULL.
OwTextNode *ow_edit_find_part(const OwEditor *editor, const char *name, const OwKindWord **word,
                              const OwTextNode **name_node);
OwStatus ow_edit_unknown_part(OwEditor *editor, const char *name);
/// The kind and name of an entry of the parts list; false when it is none.
bool ow_edit_part_of(const OwTextNode *map, const OwKindWord **word, const OwTextNode **name_node);

OwStatus ow_edit_set(OwEditor *editor, const OwEdit *edit);
OwStatus ow_edit_append(OwEditor *editor, const OwEdit *edit);
OwStatus ow_edit_drop(OwEditor *editor, const OwEdit *edit);
OwStatus ow_edit_add_part(OwEditor *editor, const OwEdit *edit);
OwStatus ow_edit_remove_part(OwEditor *editor, const OwEdit *edit);
OwStatus ow_edit_move_part(OwEditor *editor, const OwEdit *edit);
OwStatus ow_edit_rename_part(OwEditor *editor, const OwEdit *edit);

/// Whether an entry of a line names the part (with or without a port).
bool ow_edit_names_part(const char *entry, const char *part);
/// The part that "part" or "part.port" names, NULL when there is none; `name` gets its name.
OwTextNode *ow_edit_find_named(const OwEditor *editor, const char *named, const OwKindWord **word,
                               const char **name);
/// Puts a part into the lines between two others. Patches only.
OwStatus ow_edit_join(OwEditor *editor, const char *part, const char *after, const char *before);
/// Takes a part out of the lines. Patches only.
OwStatus ow_edit_unjoin(OwEditor *editor, const char *part);
/// Takes out the rules that name a part; how many.
OwStatus ow_edit_unrule(OwEditor *editor, const char *part, int *count);

#endif
