// SPDX-License-Identifier: GPL-3.0-or-later
// Parts of a text: found, added, removed, moved, renamed.
#include "base/text.h"
#include "rig/edit_impl.h"

#include <stdio.h>
#include <string.h>

bool ow_edit_part_of(const OwTextNode *map, const OwKindWord **word, const OwTextNode **name_node) {
    for (const OwTextNode *n = map->type == OW_NODE_MAP ? map->first : NULL; n != NULL; n = n->next) {
        for (const OwKindWord *w = ow_kind_words(); w->word != NULL; w++) {
            if (strcmp(w->word, n->key->text) == 0) {
                *word = w;
                *name_node = n;
                return n->type == OW_NODE_SCALAR;
            }
        }
    }
    return false;
}

static OwTextNode *find_parts(const OwEditor *editor) {
    OwTextNode *parts = ow_edit_find_key(editor->root, "parts");
    return parts != NULL && parts->type == OW_NODE_LIST ? parts : NULL;
}

OwTextNode *ow_edit_find_part(const OwEditor *editor, const char *name, const OwKindWord **word,
                              const OwTextNode **name_node) {
    const OwTextNode *parts = find_parts(editor);
    for (OwTextNode *n = parts != NULL ? parts->first : NULL; n != NULL; n = n->next) {
        const OwKindWord *its_word = NULL;
        const OwTextNode *its_name = NULL;
        if (ow_edit_part_of(n, &its_word, &its_name) && strcmp(its_name->text, name) == 0) {
            if (word != NULL) {
                *word = its_word;
            }
            if (name_node != NULL) {
                *name_node = its_name;
            }
            return n;
        }
    }
    return NULL;
}

OwTextNode *ow_edit_find_named(const OwEditor *editor, const char *named, const OwKindWord **word,
                               const char **name) {
    const OwTextNode *name_node = NULL;
    OwTextNode *part = ow_edit_find_part(editor, named, word, &name_node);
    const char *point = strrchr(named, '.');
    if (part == NULL && point != NULL && (size_t)(point - named) < 2 * OW_NAME_SIZE) {
        char shorter[2 * OW_NAME_SIZE];
        (void)snprintf(shorter, sizeof shorter, "%.*s", (int)(point - named), named);
        part = ow_edit_find_part(editor, shorter, word, &name_node);
    }
    *name = part != NULL ? name_node->text : NULL;
    return part;
}

static const char *name_at(const void *context, size_t i) {
    const OwTextNode *n = context;
    while (i-- > 0) {
        n = n->next;
    }
    const OwKindWord *word = NULL;
    const OwTextNode *name = NULL;
    return ow_edit_part_of(n, &word, &name) ? name->text : NULL;
}

OwStatus ow_edit_unknown_part(OwEditor *editor, const char *name) {
    const OwTextNode *parts = find_parts(editor);
    char remedy[160] = "";
    const size_t count = parts != NULL && parts->count <= 200 ? (size_t)parts->count : 0;
    const char *near = ow_text_nearest_by(name, count, name_at, parts != NULL ? parts->first : NULL);
    if (near != NULL) {
        (void)snprintf(remedy, sizeof remedy, "did you mean \"%s\"?", near);
    }
    return ow_editor_fail(editor, OW_ERROR_VALUE, remedy, "there is no part named \"%.60s\"", name);
}

static const OwKindWord *find_word(const char *kind) {
    for (const OwKindWord *w = ow_kind_words(); w->word != NULL; w++) {
        if (strcmp(w->word, kind) == 0) {
            return w;
        }
    }
    return NULL;
}

static bool fits_in_line(OwPartKind kind) {
    return kind != OW_PART_TANK && kind != OW_PART_COOLANT_COIL && kind != OW_PART_INJECTION_PUMP &&
           kind != OW_PART_INJECTORS;
}

bool ow_edit_is_in_line(const char *kind) {
    const OwKindWord *word = find_word(kind);
    return word != NULL && fits_in_line(word->kind);
}

static OwStatus check_name(OwEditor *editor, const char *name) {
    if (name[0] == '\0' || strlen(name) >= OW_NAME_SIZE || name[0] == ' ' || name[strlen(name) - 1] == ' ' ||
        strpbrk(name, "\r\n\t") != NULL) {
        return ow_editor_fail(editor, OW_ERROR_VALUE, "use 1 to 63 letters on one line",
                              "\"%.60s\" cannot be a part's name", name);
    }
    if (ow_edit_find_part(editor, name, NULL, NULL) != NULL) {
        return ow_editor_fail(editor, OW_ERROR_VALUE, "give each part a name of its own",
                              "there is already a part named \"%.60s\"", name);
    }
    return OW_OK;
}

static bool is_blank_line(const OwEditor *editor, size_t at) {
    at += strspn(editor->text + at, " \t\r");
    return at < editor->size && editor->text[at] == '\n';
}

/// Whether a blank line stands right above a line.
static bool is_blank_above(const OwEditor *editor, size_t start) {
    return start > 0 && is_blank_line(editor, ow_editor_line_start(editor, start - 1));
}

/// Text of a part as an entry of a block list.
static void write_block(OwBuffer *out, const OwEditor *editor, const OwTextNode *list,
                        const OwEditValue *map) {
    const size_t indent = (size_t)list->column - 1;
    size_t inner = indent + 2;
    if (list->first != NULL && list->first->type == OW_NODE_MAP && !list->first->is_flow &&
        (size_t)list->first->column - 1 > indent) {
        inner = (size_t)list->first->column - 1;
    }
    for (const OwEditValue *v = map->first; v != NULL; v = v->next) {
        ow_buffer_fill(out, ' ', v == map->first ? indent : inner);
        if (v == map->first) {
            ow_buffer_text(out, "-");
            ow_buffer_fill(out, ' ', inner - indent - 1);
        }
        ow_edit_write_key(out, v->key, false, editor->is_json);
        ow_edit_write_value(out, editor, v, false, inner);
        ow_buffer_text(out, editor->eol);
    }
}

/// Puts the text of an entry behind `item` (NULL: at the front) of the parts list.
static OwStatus put_block(OwEditor *editor, const OwTextNode *list, const OwTextNode *item,
                          const char *block) {
    OwBuffer out = {0};
    size_t start = 0, end = 0;
    const OwTextNode *near = item != NULL ? item : list->first;
    if (!ow_edit_item_lines(editor, list, near, true, &start, &end)) {
        return ow_editor_fail(editor, OW_ERROR_VALUE, "change the file by hand here",
                              "the layout of the file does not allow this change");
    }
    // Entries are set apart by blank lines where the file does so.
    const bool is_spaced = is_blank_line(editor, end) || (item != NULL && is_blank_above(editor, start));
    if (item != NULL) {
        if (end == editor->size && end > 0 && editor->text[end - 1] != '\n') {
            ow_buffer_text(&out, editor->eol);
        }
        ow_buffer_text(&out, is_spaced ? editor->eol : "");
        ow_buffer_text(&out, block);
        return ow_editor_patch_buffer(editor, end, end, &out);
    }
    ow_buffer_text(&out, block);
    ow_buffer_text(&out, is_spaced ? editor->eol : "");
    return ow_editor_patch_buffer(editor, start, start, &out);
}

/// Where a part goes: behind `after`, else in front of `before`, else at the front.
static OwStatus find_place(OwEditor *editor, const OwEdit *edit, const OwTextNode *parts,
                           const OwTextNode **item, const char **after_name) {
    const OwKindWord *word = NULL;
    const char *before_name = NULL;
    *item = NULL;
    *after_name = NULL;
    if (edit->after != NULL) {
        *item = ow_edit_find_named(editor, edit->after, &word, after_name);
        if (*item == NULL) {
            return ow_edit_unknown_part(editor, edit->after);
        }
    }
    if (edit->before != NULL) {
        const OwTextNode *follows = ow_edit_find_named(editor, edit->before, &word, &before_name);
        if (follows == NULL) {
            return ow_edit_unknown_part(editor, edit->before);
        }
        for (const OwTextNode *n = parts->first; n != NULL && edit->after == NULL; n = n->next) {
            *item = n->next == follows ? n : *item;
        }
    }
    return OW_OK;
}

static OwStatus make_name(OwEditor *editor, const char *kind, char name[OW_NAME_SIZE]) {
    (void)snprintf(name, OW_NAME_SIZE, "%s", kind);
    for (int i = 2; i < 1000; i++) {
        if (ow_edit_find_part(editor, name, NULL, NULL) == NULL) {
            ow_editor_note(editor, "named \"%s\"", name);
            return OW_OK;
        }
        (void)snprintf(name, OW_NAME_SIZE, "%s %d", kind, i);
    }
    return ow_editor_fail(editor, OW_ERROR_VALUE, "give it a name", "no free name was found");
}

OwStatus ow_edit_add_part(OwEditor *editor, const OwEdit *edit) {
    char name[OW_NAME_SIZE] = "";
    const OwKindWord *word = edit->kind != NULL ? find_word(edit->kind) : NULL;
    if (word == NULL) {
        return ow_editor_fail(editor, OW_ERROR_VALUE, "use a word of the catalogue",
                              "\"%.60s\" is no kind of part", edit->kind != NULL ? edit->kind : "");
    }
    if (edit->value != NULL && edit->value->type != OW_EDIT_MAP) {
        return ow_editor_fail(editor, OW_ERROR_VALUE, "write {\"bore\": \"8 mm\"}",
                              "the values of a part are keys and values");
    }
    OwStatus status =
        edit->name != NULL ? check_name(editor, edit->name) : make_name(editor, word->word, name);
    if (status != OW_OK) {
        return status;
    }
    const char *its_name = edit->name != NULL ? edit->name : name;
    const OwTextNode *parts = find_parts(editor), *item = NULL;
    const char *after_name = NULL;
    OwEditValue first = {.type = OW_EDIT_TEXT, .key = word->word, .text = its_name};
    OwEditValue warms = {.type = OW_EDIT_TEXT, .key = "warms"};
    OwEditValue map = {.type = OW_EDIT_MAP, .first = &first};
    first.next = edit->value != NULL ? edit->value->first : NULL;
    if (parts == NULL || parts->count == 0) {
        if (edit->after != NULL || edit->before != NULL) {
            return ow_edit_unknown_part(editor, edit->after != NULL ? edit->after : edit->before);
        }
        const OwEditValue list = {.type = OW_EDIT_LIST, .first = &map};
        const OwTextNode *old = ow_edit_find_key(editor->root, "parts");
        return old != NULL ? ow_edit_replace(editor, old, &list)
                           : ow_edit_insert_key(editor, editor->root, "parts", &list);
    }
    status = find_place(editor, edit, parts, &item, &after_name);
    if (status != OW_OK) {
        return status;
    }
    bool says_warms = false;
    for (const OwEditValue *v = first.next; v != NULL; v = v->next) {
        says_warms = says_warms || strcmp(v->key, "warms") == 0;
    }
    if (word->kind == OW_PART_COOLANT_COIL && !says_warms && after_name != NULL) {
        warms.text = after_name;
        warms.next = first.next;
        first.next = &warms;
    }
    if (parts->is_flow) {
        status = ow_edit_insert_item(editor, parts, item, &map);
    } else {
        OwBuffer block = {0};
        write_block(&block, editor, parts, &map);
        status = block.has_failed ? OW_ERROR_MEMORY : put_block(editor, parts, item, block.data);
        ow_buffer_clear(&block);
    }
    if (status == OW_OK && fits_in_line(word->kind)) {
        status = ow_edit_join(editor, its_name, edit->after, edit->before);
    }
    return status;
}

static bool is_item(const void *context, const OwTextNode *item) {
    return item == context;
}

/// Takes the entry out of the parts list; its text goes to `block` when not NULL.
static OwStatus cut_part(OwEditor *editor, const OwTextNode *parts, const OwTextNode *item, OwBuffer *block) {
    size_t start = 0, end = 0;
    if (parts->count < 2) {
        return ow_editor_fail(editor, OW_ERROR_VALUE, "add another part first",
                              "the last part cannot be taken out");
    }
    if (parts->is_flow) {
        if (block != NULL) {
            ow_buffer_add(block, editor->text + item->start, item->end - item->start);
        }
        return ow_edit_remove_items(editor, parts, is_item, item);
    }
    if (!ow_edit_item_lines(editor, parts, item, true, &start, &end)) {
        return ow_editor_fail(editor, OW_ERROR_VALUE, "change the file by hand here",
                              "the layout of the file does not allow this change");
    }
    if (block != NULL) {
        ow_buffer_add(block, editor->text + start, end - start);
        ow_buffer_text(block, end > start && editor->text[end - 1] != '\n' ? editor->eol : "");
    }
    if (is_blank_above(editor, start) && (end == editor->size || is_blank_line(editor, end))) {
        start = ow_editor_line_start(editor, start - 1);
    }
    return ow_editor_patch(editor, start, end, "");
}

OwStatus ow_edit_remove_part(OwEditor *editor, const OwEdit *edit) {
    int rules = 0;
    const OwTextNode *parts = find_parts(editor);
    const OwTextNode *item = edit->part != NULL ? ow_edit_find_part(editor, edit->part, NULL, NULL) : NULL;
    if (item == NULL) {
        return ow_edit_unknown_part(editor, edit->part != NULL ? edit->part : "");
    }
    OwStatus status = cut_part(editor, parts, item, NULL);
    if (status == OW_OK) {
        status = ow_edit_unjoin(editor, edit->part);
    }
    if (status == OW_OK) {
        status = ow_edit_unrule(editor, edit->part, &rules);
    }
    if (status == OW_OK && rules > 0) {
        ow_editor_note(editor, "%d rule%s that named \"%.60s\" %s taken out", rules, rules > 1 ? "s" : "",
                       edit->part, rules > 1 ? "were" : "was");
    }
    return status;
}

OwStatus ow_edit_move_part(OwEditor *editor, const OwEdit *edit) {
    const OwKindWord *word = NULL;
    const char *after_name = NULL;
    OwBuffer block = {0};
    const OwTextNode *parts = find_parts(editor), *place = NULL;
    const OwTextNode *item = edit->part != NULL ? ow_edit_find_part(editor, edit->part, &word, NULL) : NULL;
    if (item == NULL) {
        return ow_edit_unknown_part(editor, edit->part != NULL ? edit->part : "");
    }
    OwStatus status = find_place(editor, edit, parts, &place, &after_name);
    if (status == OW_OK && edit->after != NULL && place == item) {
        status = ow_editor_fail(editor, OW_ERROR_VALUE, "name another part", "a part cannot follow itself");
    }
    if (status == OW_OK) {
        status = cut_part(editor, parts, item, &block);
    }
    const bool fits = fits_in_line(word->kind);
    if (status == OW_OK && fits) {
        status = ow_edit_unjoin(editor, edit->part);
    }
    if (status == OW_OK) {
        status = block.has_failed ? OW_ERROR_MEMORY : ow_editor_apply(editor);
    }
    if (status == OW_OK) {
        parts = find_parts(editor);
        status = find_place(editor, edit, parts, &place, &after_name);
    }
    if (status == OW_OK && parts->is_flow) {
        OwBuffer out = {0};
        ow_buffer_text(&out, place != NULL ? ", " : "");
        ow_buffer_text(&out, block.data);
        ow_buffer_text(&out, place == NULL && parts->first != NULL ? ", " : "");
        const size_t at = place != NULL ? place->end : parts->start + 1;
        status = ow_editor_patch_buffer(editor, at, at, &out);
    } else if (status == OW_OK) {
        status = put_block(editor, parts, place, block.data);
    }
    ow_buffer_clear(&block);
    return status == OW_OK && fits ? ow_edit_join(editor, edit->part, edit->after, edit->before) : status;
}

/// Names with the new name in the place of the old: whole, or followed by one of `marks`.
static OwStatus rename_in(OwEditor *editor, const OwTextNode *node, const char *old, const char *name,
                          const char *const *tails) {
    const size_t size = strlen(old);
    bool is_hit = false;
    if (node == NULL || node->type != OW_NODE_SCALAR || strncmp(node->text, old, size) != 0) {
        return OW_OK;
    }
    const char *tail = node->text + size;
    for (int i = 0; tails[i] != NULL; i++) {
        is_hit =
            is_hit || (tails[i][0] == '\0' ? *tail == '\0' : strncmp(tail, tails[i], strlen(tails[i])) == 0);
    }
    if (!is_hit) {
        return OW_OK;
    }
    OwBuffer text = {0};
    ow_buffer_format(&text, "%s%s", name, tail);
    const OwEditValue value = {.type = OW_EDIT_TEXT, .text = text.data};
    const OwStatus status = text.has_failed ? OW_ERROR_MEMORY : ow_edit_replace(editor, node, &value);
    ow_buffer_clear(&text);
    return status;
}

/// All values below a node; depth is bounded by the tree.
static OwStatus rename_below(OwEditor *editor, const OwTextNode *node, const char *old, const char *name,
                             const char *const *tails) {
    OwStatus status = OW_OK;
    for (const OwTextNode *n = node != NULL ? node->first : NULL; n != NULL && status == OW_OK; n = n->next) {
        status = n->type == OW_NODE_SCALAR ? rename_in(editor, n, old, name, tails)
                                           : rename_below(editor, n, old, name, tails);
    }
    return status;
}

OwStatus ow_edit_rename_part(OwEditor *editor, const OwEdit *edit) {
    static const char *const in_lines[] = {"", ".", NULL}, *const in_set[] = {"", "/", NULL};
    static const char *const in_when[] = {" above ", " below ", NULL}, *const whole[] = {"", NULL};
    const OwTextNode *name_node = NULL;
    const char *old = edit->part, *name = edit->name;
    if (old == NULL || ow_edit_find_part(editor, old, NULL, &name_node) == NULL) {
        return ow_edit_unknown_part(editor, old != NULL ? old : "");
    }
    if (name == NULL) {
        return ow_editor_fail(editor, OW_ERROR_VALUE, "", "the new name is missing");
    }
    if (strcmp(old, name) == 0) {
        return OW_OK;
    }
    OwStatus status = check_name(editor, name);
    if (status == OW_OK) {
        status = rename_in(editor, name_node, old, name, whole);
    }
    if (status == OW_OK) {
        status = rename_below(editor, ow_edit_find_key(editor->root, "lines"), old, name, in_lines);
    }
    if (status == OW_OK) {
        status = rename_below(editor, ow_edit_find_key(editor->root, "electrics"), old, name, in_set);
    }
    const OwTextNode *controls = ow_edit_find_key(editor->root, "controls");
    for (const OwTextNode *n = controls != NULL && controls->type == OW_NODE_LIST ? controls->first : NULL;
         n != NULL && status == OW_OK; n = n->next) {
        if (n->type == OW_NODE_MAP) {
            status = rename_in(editor, ow_edit_find_key(n, "set"), old, name, in_set);
            status =
                status == OW_OK ? rename_in(editor, ow_edit_find_key(n, "when"), old, name, in_when) : status;
        }
    }
    for (const OwTextNode *n = find_parts(editor)->first; n != NULL && status == OW_OK; n = n->next) {
        if (n->type == OW_NODE_MAP) {
            status = rename_in(editor, ow_edit_find_key(n, "warms"), old, name, whole);
        }
    }
    return status;
}
