// SPDX-License-Identifier: GPL-3.0-or-later
// The editor of a rig file's text: reads it with its places, collects patches, puts them in, reads it again.
#include "rig/edit.h"
#include "base/text.h"
#include "rig/edit_impl.h"

#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const char byte_order_mark[] = "\xEF\xBB\xBF";

OwStatus ow_editor_fail(OwEditor *editor, OwStatus status, const char *remedy, const char *format, ...) {
    char message[400];
    va_list arguments;
    va_start(arguments, format);
    (void)vsnprintf(message, sizeof message, format, arguments);
    va_end(arguments);
    editor->fault->status = status;
    editor->fault->severity = OW_FAULT_ERROR;
    (void)ow_text_copy(editor->fault->message, sizeof editor->fault->message, message);
    (void)ow_text_copy(editor->fault->remedy, sizeof editor->fault->remedy, remedy);
    return status;
}

void ow_editor_note(OwEditor *editor, const char *format, ...) {
    char line[400];
    va_list arguments;
    va_start(arguments, format);
    (void)vsnprintf(line, sizeof line, format, arguments);
    va_end(arguments);
    ow_buffer_text(&editor->notes, line);
    ow_buffer_text(&editor->notes, "\n");
}

/// Characters to bytes. `byte_of` is NULL when they are the same.
static void set_extent(OwEditor *editor, OwTextNode *node, const size_t *byte_of, size_t shift) {
    node->start = (byte_of != NULL ? byte_of[node->start] : node->start) + shift;
    node->end = (byte_of != NULL ? byte_of[node->end] : node->end) + shift;
    if (node->is_block_text) { // its end stands behind the blank lines that follow
        while (node->end > node->start && strchr(" \t\r\n", editor->text[node->end - 1]) != NULL) {
            node->end--;
        }
    }
}

/// Depth is bounded by OW_TREE_MAX_DEPTH.
static void set_extents(OwEditor *editor, OwTextNode *node, const size_t *byte_of, size_t shift) {
    set_extent(editor, node, byte_of, shift);
    for (OwTextNode *n = node->first; n != NULL; n = n->next) {
        if (n->key != NULL) {
            set_extent(editor, n->key, byte_of, shift);
        }
        set_extents(editor, n, byte_of, shift);
    }
    if (node->type != OW_NODE_SCALAR && !node->is_flow && node->last != NULL) {
        node->end = node->last->end;
    }
}

OwStatus ow_editor_open(OwEditor *editor) {
    OwFaults faults = {0};
    ow_arena_destroy(&editor->arena);
    editor->root = NULL;
    editor->patches = NULL;
    editor->patch_count = editor->patch_room = 0;
    editor->arena = ow_arena_create();
    if (editor->arena == NULL) {
        return OW_ERROR_MEMORY;
    }
    OwStatus status = ow_tree_read(editor->text, editor->size, "", editor->arena, &editor->root, &faults);
    if (status != OW_OK && faults.count > 0) {
        *editor->fault = faults.items[0];
    }
    ow_faults_clear(&faults);
    if (status != OW_OK) {
        return status;
    }
    const size_t shift =
        editor->size >= 3 && memcmp(editor->text, byte_order_mark, 3) == 0 ? sizeof byte_order_mark - 1 : 0;
    bool is_ascii = true;
    for (size_t i = shift; i < editor->size && is_ascii; i++) {
        is_ascii = (unsigned char)editor->text[i] < 0x80u;
    }
    size_t *byte_of = NULL;
    if (!is_ascii) {
        byte_of = malloc((editor->size - shift + 2) * sizeof *byte_of);
        if (byte_of == NULL) {
            return OW_ERROR_MEMORY;
        }
        size_t count = 0;
        for (size_t i = shift; i < editor->size; i++) {
            if (((unsigned char)editor->text[i] & 0xC0u) != 0x80u) {
                byte_of[count++] = i - shift;
            }
        }
        for (size_t i = count; i < editor->size - shift + 2; i++) {
            byte_of[i] = editor->size - shift;
        }
    }
    set_extents(editor, editor->root, byte_of, shift);
    free(byte_of);
    const char *line = strchr(editor->text, '\n');
    editor->eol = line != NULL && line > editor->text && line[-1] == '\r' ? "\r\n" : "\n";
    const OwTextNode *first = editor->root->type == OW_NODE_MAP ? editor->root->first : NULL;
    editor->is_json = editor->root->is_flow && first != NULL && first->key->is_quoted;
    if (editor->root->type != OW_NODE_MAP) {
        return ow_editor_fail(editor, OW_ERROR_VALUE,
                              "begin with sections such as parts:", "the text is no rig file");
    }
    return OW_OK;
}

OwStatus ow_editor_patch(OwEditor *editor, size_t start, size_t end, const char *text) {
    if (start > end || end > editor->size) {
        return ow_editor_fail(editor, OW_ERROR_USE, "", "a change lies outside the text");
    }
    if (editor->patch_count == editor->patch_room) {
        const size_t room = editor->patch_room > 0 ? 2 * editor->patch_room : 16;
        OwPatch *patches = ow_arena_take(editor->arena, room, sizeof *patches);
        if (patches == NULL) {
            return OW_ERROR_MEMORY;
        }
        if (editor->patch_count > 0) {
            memcpy(patches, editor->patches, editor->patch_count * sizeof *patches);
        }
        editor->patches = patches;
        editor->patch_room = room;
    }
    const char *kept = ow_arena_text(editor->arena, text);
    if (kept == NULL) {
        return OW_ERROR_MEMORY;
    }
    editor->patches[editor->patch_count] = (OwPatch){start, end, editor->patch_count, kept};
    editor->patch_count++;
    return OW_OK;
}

OwStatus ow_editor_patch_buffer(OwEditor *editor, size_t start, size_t end, OwBuffer *buffer) {
    const OwStatus status =
        buffer->has_failed ? OW_ERROR_MEMORY
                           : ow_editor_patch(editor, start, end, buffer->data != NULL ? buffer->data : "");
    ow_buffer_clear(buffer);
    return status;
}

static int by_place(const void *a, const void *b) {
    const OwPatch *p = a, *q = b;
    if (p->start != q->start) {
        return p->start < q->start ? -1 : 1;
    }
    return p->order < q->order ? -1 : p->order > q->order;
}

OwStatus ow_editor_apply(OwEditor *editor) {
    OwBuffer out = {0};
    size_t at = 0;
    if (editor->patch_count == 0) {
        return OW_OK;
    }
    qsort(editor->patches, editor->patch_count, sizeof *editor->patches, by_place);
    for (size_t i = 0; i < editor->patch_count; i++) {
        const OwPatch *patch = &editor->patches[i];
        if (patch->start < at) {
            ow_buffer_clear(&out);
            return ow_editor_fail(editor, OW_ERROR_VALUE, "change the file by hand here",
                                  "the layout of the file does not allow this change");
        }
        ow_buffer_add(&out, editor->text + at, patch->start - at);
        ow_buffer_text(&out, patch->text);
        at = patch->end;
    }
    ow_buffer_add(&out, editor->text + at, editor->size - at);
    if (out.has_failed) {
        ow_buffer_clear(&out);
        return OW_ERROR_MEMORY;
    }
    free(editor->text);
    editor->text = out.data;
    editor->size = out.size;
    const OwStatus status = ow_editor_open(editor);
    if (status == OW_ERROR_SYNTAX || status == OW_ERROR_READ) {
        // The text was well formed before, so the layout is one that these edits do not cover.
        return ow_editor_fail(editor, OW_ERROR_VALUE, "change the file by hand here",
                              status == OW_ERROR_READ ? "the file would become too large"
                                                      : "the layout of the file does not allow this change");
    }
    return status;
}

size_t ow_editor_line_start(const OwEditor *editor, size_t at) {
    while (at > 0 && editor->text[at - 1] != '\n') {
        at--;
    }
    return at == 0 && editor->size >= 3 && memcmp(editor->text, byte_order_mark, 3) == 0 ? 3 : at;
}

size_t ow_editor_line_next(const OwEditor *editor, size_t at) {
    while (at < editor->size && editor->text[at] != '\n') {
        at++;
    }
    return at < editor->size ? at + 1 : at;
}

bool ow_editor_is_first(const OwEditor *editor, size_t at) {
    const size_t start = ow_editor_line_start(editor, at);
    return strspn(editor->text + start, " ") >= at - start;
}

size_t ow_editor_behind_line(const OwEditor *editor, size_t at, OwBuffer *out) {
    const size_t next = ow_editor_line_next(editor, at);
    if (next == editor->size && (next == 0 || editor->text[next - 1] != '\n')) {
        ow_buffer_text(out, editor->eol);
    }
    return next;
}

/// Every text of a value is UTF-8, and it is no deeper than any rig.
static bool is_value_sound(const OwEditValue *value, int depth) {
    const bool is_sound = depth < OW_EDIT_MAX_DEPTH && (value->key == NULL || ow_edit_is_text(value->key)) &&
                          (value->type != OW_EDIT_TEXT || ow_edit_is_text(value->text));
    bool are_inner = is_sound;
    for (const OwEditValue *v = value->first; v != NULL && are_inner; v = v->next) {
        are_inner = (value->type != OW_EDIT_MAP || v->key != NULL) && is_value_sound(v, depth + 1);
    }
    return are_inner;
}

static bool is_sound(const OwEdit *edit) {
    const char *const texts[] = {edit->part, edit->section, edit->path,  edit->kind,
                                 edit->name, edit->after,   edit->before};
    for (size_t i = 0; i < sizeof texts / sizeof texts[0]; i++) {
        if (texts[i] != NULL && !ow_edit_is_text(texts[i])) {
            return false;
        }
    }
    return edit->value == NULL || is_value_sound(edit->value, 0);
}

static OwStatus do_edit(OwEditor *editor, const OwEdit *edit) {
    OwStatus status = OW_OK;
    if (!is_sound(edit)) {
        return ow_editor_fail(editor, OW_ERROR_VALUE, "use plain UTF-8 text, nested no deeper than a rig is",
                              "a text of the edit cannot be written");
    }
    switch (edit->op) {
    case OW_EDIT_SET:
        status = ow_edit_set(editor, edit);
        break;
    case OW_EDIT_APPEND:
        status = ow_edit_append(editor, edit);
        break;
    case OW_EDIT_DROP:
        status = ow_edit_drop(editor, edit);
        break;
    case OW_EDIT_ADD:
        status = ow_edit_add_part(editor, edit);
        break;
    case OW_EDIT_REMOVE:
        status = ow_edit_remove_part(editor, edit);
        break;
    case OW_EDIT_MOVE:
        status = ow_edit_move_part(editor, edit);
        break;
    case OW_EDIT_RENAME:
        status = ow_edit_rename_part(editor, edit);
        break;
    default:
        return ow_editor_fail(editor, OW_ERROR_USE, "", "an unknown edit");
    }
    return status == OW_OK ? ow_editor_apply(editor) : status;
}

static char *copy_text(const char *text, size_t size) {
    char *copy = malloc(size + 1);
    if (copy != NULL) {
        if (size > 0) {
            memcpy(copy, text, size);
        }
        copy[size] = '\0';
    }
    return copy;
}

OwStatus ow_rig_edit(const char *text, size_t size, const OwEdit *edits, int count, OwEdited *edited) {
    if (edited == NULL) {
        return OW_ERROR_USE;
    }
    *edited = (OwEdited){.failed = -1};
    if ((text == NULL && size > 0) || count < 0 || count > OW_EDIT_MAX_EDITS ||
        (edits == NULL && count > 0)) {
        return OW_ERROR_USE;
    }
    OwEditor editor = {.fault = &edited->fault, .size = size, .text = copy_text(text, size)};
    OwStatus status = editor.text != NULL ? ow_editor_open(&editor) : OW_ERROR_MEMORY;
    for (int i = 0; i < count && status == OW_OK; i++) {
        status = do_edit(&editor, &edits[i]);
        edited->failed = status != OW_OK ? i : -1;
    }
    ow_arena_destroy(&editor.arena);
    if (status == OW_OK && !editor.notes.has_failed) {
        edited->text = editor.text;
        edited->size = editor.size;
        edited->has_changed = editor.size != size || memcmp(editor.text, text, size) != 0;
        edited->notes = editor.notes.data;
        return OW_OK;
    }
    status = editor.notes.has_failed ? OW_ERROR_MEMORY : status;
    free(editor.text);
    ow_buffer_clear(&editor.notes);
    edited->text = copy_text(text, size);
    edited->size = edited->text != NULL ? size : 0;
    return edited->text != NULL ? status : OW_ERROR_MEMORY;
}

void ow_edited_clear(OwEdited *edited) {
    if (edited != NULL) {
        free(edited->text);
        free(edited->notes);
        *edited = (OwEdited){.failed = -1};
    }
}
