// SPDX-License-Identifier: GPL-3.0-or-later
// Entries of maps and lists in a text: put in, replaced, taken out, in block or flow layout.
#include "rig/edit_impl.h"

#include <stdlib.h>
#include <string.h>

static OwStatus refuse_layout(OwEditor *editor) {
    return ow_editor_fail(editor, OW_ERROR_VALUE, "change the file by hand here",
                          "the layout of the file does not allow this change");
}

OwTextNode *ow_edit_find_key(const OwTextNode *map, const char *key) {
    for (OwTextNode *n = map->first; n != NULL; n = n->next) {
        if (n->key != NULL && strcmp(n->key->text, key) == 0) {
            return n;
        }
    }
    return NULL;
}

OwTextNode *ow_edit_find_item(const OwTextNode *list, const char *which) {
    const bool is_index =
        which[0] != '\0' && strspn(which, "0123456789") == strlen(which) && strlen(which) < 8;
    long index = is_index ? strtol(which, NULL, 10) : -1;
    for (OwTextNode *n = list->first; n != NULL && is_index; n = n->next) {
        if (index-- == 0) {
            return n;
        }
    }
    for (OwTextNode *n = list->first; n != NULL && !is_index; n = n->next) {
        const OwTextNode *name = n->type == OW_NODE_MAP ? ow_edit_find_key(n, "name") : NULL;
        if (name != NULL && name->type == OW_NODE_SCALAR && strcmp(name->text, which) == 0) {
            return n;
        }
    }
    return NULL;
}

/// A map's or list's own brackets stand around it; "[a: b]" has a map without any.
static bool has_bracket(const OwEditor *editor, const OwTextNode *node) {
    const char open = node->type == OW_NODE_MAP ? '{' : '[', close = node->type == OW_NODE_MAP ? '}' : ']';
    return node->is_flow && node->end > node->start + 1 && editor->text[node->start] == open &&
           editor->text[node->end - 1] == close;
}

static OwStatus insert_flow_key(OwEditor *editor, const OwTextNode *map, const char *key,
                                const OwEditValue *value) {
    OwBuffer out = {0};
    if (!has_bracket(editor, map)) {
        return refuse_layout(editor);
    }
    ow_buffer_text(&out, map->last != NULL ? ", " : "");
    ow_edit_write_key(&out, key, true, editor->is_json);
    ow_buffer_text(&out, " ");
    ow_edit_write_flow(&out, value, editor->is_json, 0);
    const size_t at = map->last != NULL ? map->last->end : map->start + 1;
    return ow_editor_patch_buffer(editor, at, at, &out);
}

OwStatus ow_edit_insert_key(OwEditor *editor, const OwTextNode *map, const char *key,
                            const OwEditValue *value) {
    if (map->is_flow) {
        return insert_flow_key(editor, map, key, value);
    }
    // Behind the last plain value, so that long lists stay at the end; sections go to the end of the file.
    const OwTextNode *behind = NULL;
    for (const OwTextNode *n = map->first; n != NULL; n = n->next) {
        const bool is_long = (n->type != OW_NODE_SCALAR && !n->is_flow) || n->is_block_text;
        behind = !is_long || behind == NULL || map == editor->root ? n : behind;
    }
    if (behind == NULL) {
        return refuse_layout(editor);
    }
    const size_t indent = map->column > 0 ? (size_t)map->column - 1 : 0;
    OwBuffer out = {0};
    size_t at = ow_editor_behind_line(editor, behind->end, &out);
    if (map == editor->root) { // comments at the very end stay in front of nothing new
        at = editor->size;
        ow_buffer_clear(&out);
        ow_buffer_text(&out, at > 0 && editor->text[at - 1] != '\n' ? editor->eol : "");
    }
    ow_buffer_fill(&out, ' ', indent);
    ow_edit_write_key(&out, key, false, editor->is_json);
    ow_edit_write_value(&out, editor, value, false, indent);
    ow_buffer_text(&out, editor->eol);
    return ow_editor_patch_buffer(editor, at, at, &out);
}

OwStatus ow_edit_replace(OwEditor *editor, const OwTextNode *node, const OwEditValue *value) {
    OwBuffer out = {0};
    if (node->type == OW_NODE_SCALAR && value->type == OW_EDIT_TEXT && strcmp(node->text, value->text) == 0) {
        return OW_OK;
    }
    const OwTextNode *key = node->key;
    const bool is_inside_flow = node->is_flow && (key == NULL || key->is_flow);
    if (is_inside_flow) {
        const bool is_bare = node->type != OW_NODE_SCALAR && !has_bracket(editor, node);
        if (is_bare) {
            return refuse_layout(editor);
        }
        if (key != NULL && node->start == node->end) { // "key:" or "key" with nothing behind it
            const bool has_colon = memchr(editor->text + key->end, ':',
                                          node->start > key->end ? node->start - key->end : 0) != NULL;
            ow_buffer_text(&out, has_colon ? " " : ": ");
        }
        ow_edit_write_flow(&out, value, editor->is_json, 0);
        return ow_editor_patch_buffer(editor, node->start, node->end, &out);
    }
    if (key == NULL) { // an entry of a block list
        ow_buffer_text(&out, node->start == node->end ? " " : "");
        ow_edit_write_flow(&out, value, editor->is_json, 0);
        return ow_editor_patch_buffer(editor, node->start, node->end, &out);
    }
    // From behind the colon; a value of several lines takes its line breaks with it.
    size_t at = key->end;
    while (at < node->start && (editor->text[at] == ' ' || editor->text[at] == '\t')) {
        at++;
    }
    if (at >= editor->size || editor->text[at] != ':') {
        return refuse_layout(editor);
    }
    at++;
    ow_edit_write_value(&out, editor, value, false, (size_t)key->column - 1);
    return ow_editor_patch_buffer(editor, at, node->end > at ? node->end : at, &out);
}

OwStatus ow_edit_remove_key(OwEditor *editor, const OwTextNode *map, const OwTextNode *node) {
    const OwTextNode *before = NULL;
    for (const OwTextNode *n = map->first; n != NULL && n != node; n = n->next) {
        before = n;
    }
    if (map->is_flow) {
        const size_t start = before != NULL ? before->end : node->key->start;
        const size_t end = before == NULL && node->next != NULL ? node->next->key->start : node->end;
        return ow_editor_patch(editor, start, end, "");
    }
    if (ow_editor_is_first(editor, node->key->start)) {
        return ow_editor_patch(editor, ow_editor_line_start(editor, node->key->start),
                               ow_editor_line_next(editor, node->end), "");
    }
    if (node->next == NULL) {
        return refuse_layout(editor);
    }
    // It shares its line with the dash of an entry: the next key moves up.
    return ow_editor_patch(editor, node->key->start, node->next->key->start, "");
}

/// Comment lines at exactly `indent` blanks right above a line.
static size_t above_comments(const OwEditor *editor, size_t start, size_t indent, size_t limit) {
    while (start > limit) {
        const size_t line = ow_editor_line_start(editor, start - 1);
        const size_t blanks = strspn(editor->text + line, " ");
        if (line < limit || blanks != indent || editor->text[line + blanks] != '#') {
            break;
        }
        start = line;
    }
    return start;
}

bool ow_edit_item_lines(const OwEditor *editor, const OwTextNode *list, const OwTextNode *item,
                        bool with_comment, size_t *start, size_t *end) {
    const size_t indent = (size_t)list->column - 1;
    const OwTextNode *before = NULL;
    if (list->count > OW_EDIT_MAX_ITEMS) {
        return false;
    }
    for (const OwTextNode *n = list->first; n != NULL && n != item; n = n->next) {
        before = n;
    }
    const size_t limit = before != NULL ? ow_editor_line_next(editor, before->end) : 0;
    size_t line = ow_editor_line_start(editor, item->start);
    while (true) {
        const size_t blanks = strspn(editor->text + line, " ");
        if (blanks == indent && editor->text[line + blanks] == '-') {
            break;
        }
        if (line <= limit || line == 0) {
            return false;
        }
        line = ow_editor_line_start(editor, line - 1);
    }
    *start = with_comment ? above_comments(editor, line, indent, limit) : line;
    *end = ow_editor_line_next(editor, item->end);
    // Comments set deeper than the dash belong to the entry.
    while (*end < editor->size) {
        const size_t blanks = strspn(editor->text + *end, " ");
        if (blanks <= indent || editor->text[*end + blanks] != '#') {
            break;
        }
        *end = ow_editor_line_next(editor, *end);
    }
    return true;
}

OwStatus ow_edit_insert_item(OwEditor *editor, const OwTextNode *list, const OwTextNode *item,
                             const OwEditValue *value) {
    OwBuffer out = {0};
    size_t start = 0, end = 0;
    if (list->is_flow) {
        if (!has_bracket(editor, list)) {
            return refuse_layout(editor);
        }
        ow_buffer_text(&out, item != NULL ? ", " : "");
        ow_edit_write_flow(&out, value, editor->is_json, 0);
        ow_buffer_text(&out, item == NULL && list->first != NULL ? ", " : "");
        const size_t at = item != NULL ? item->end : list->start + 1;
        return ow_editor_patch_buffer(editor, at, at, &out);
    }
    const OwTextNode *near = item != NULL ? item : list->first;
    if (near == NULL || !ow_edit_item_lines(editor, list, near, item == NULL, &start, &end)) {
        return refuse_layout(editor);
    }
    if (item != NULL && end == editor->size && end > 0 && editor->text[end - 1] != '\n') {
        ow_buffer_text(&out, editor->eol);
    }
    ow_buffer_fill(&out, ' ', (size_t)list->column - 1);
    ow_buffer_text(&out, "- ");
    ow_edit_write_flow(&out, value, editor->is_json, 0);
    ow_buffer_text(&out, editor->eol);
    const size_t at = item != NULL ? end : start;
    return ow_editor_patch_buffer(editor, at, at, &out);
}

static OwStatus remove_flow_run(OwEditor *editor, const OwTextNode *before, const OwTextNode *first,
                                const OwTextNode *last) {
    const size_t start = before != NULL ? before->end : first->start;
    const size_t end = before == NULL && last->next != NULL ? last->next->start : last->end;
    return ow_editor_patch(editor, start, end, "");
}

OwStatus ow_edit_remove_items(OwEditor *editor, const OwTextNode *list,
                              bool (*is_out)(const void *context, const OwTextNode *item),
                              const void *context) {
    OwStatus status = OW_OK;
    const OwTextNode *kept = NULL, *first = NULL;
    if (list->is_flow && !has_bracket(editor, list)) {
        return refuse_layout(editor);
    }
    for (const OwTextNode *n = list->first; n != NULL && status == OW_OK; n = n->next) {
        if (!is_out(context, n)) {
            kept = n;
            first = NULL;
            continue;
        }
        first = first == NULL ? n : first;
        if (list->is_flow) {
            if (n->next == NULL || !is_out(context, n->next)) {
                status = remove_flow_run(editor, kept, first, n);
            }
            continue;
        }
        size_t start = 0, end = 0;
        status = ow_edit_item_lines(editor, list, n, true, &start, &end)
                     ? ow_editor_patch(editor, start, end, "")
                     : refuse_layout(editor);
    }
    return status;
}
