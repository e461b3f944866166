// SPDX-License-Identifier: GPL-3.0-or-later
// Values by path: set, taken out, lists that grow and shrink.
#include "rig/edit_impl.h"

#include <string.h>

/// Steps of a path on the way through the tree.
typedef struct Steps {
    char *step[OW_EDIT_MAX_DEPTH];
    int count;
} Steps;

static OwStatus split_path(OwEditor *editor, const char *path, Steps *steps) {
    char *copy = ow_arena_text(editor->arena, path != NULL ? path : "");
    if (copy == NULL) {
        return OW_ERROR_MEMORY;
    }
    while (*copy != '\0') {
        if (steps->count == OW_EDIT_MAX_DEPTH) {
            return ow_editor_fail(editor, OW_ERROR_VALUE, "", "the path has too many steps");
        }
        char *end = copy + strcspn(copy, "/");
        const bool is_last = *end == '\0';
        *end = '\0';
        if (*copy == '\0' || (!is_last && end[1] == '\0')) {
            return ow_editor_fail(editor, OW_ERROR_VALUE, "write for example heaters/0/power",
                                  "a step of the path is empty");
        }
        steps->step[steps->count++] = copy;
        copy = is_last ? end : end + 1;
    }
    return OW_OK;
}

/// Where an edit begins: the part's map, or the root with the section as first step.
static OwStatus find_owner(OwEditor *editor, const OwEdit *edit, Steps *steps, OwTextNode **node) {
    if ((edit->part != NULL) == (edit->section != NULL)) {
        return ow_editor_fail(editor, OW_ERROR_VALUE, "", "name a part or a section");
    }
    if (edit->section != NULL) {
        *node = editor->root;
        steps->step[steps->count] = ow_arena_text(editor->arena, edit->section);
        if (steps->step[steps->count++] == NULL) {
            return OW_ERROR_MEMORY;
        }
        if (edit->section[0] == '\0') {
            return ow_editor_fail(editor, OW_ERROR_VALUE, "", "the section has no name");
        }
    } else {
        *node = ow_edit_find_part(editor, edit->part, NULL, NULL);
        if (*node == NULL) {
            return ow_edit_unknown_part(editor, edit->part);
        }
    }
    return split_path(editor, edit->path, steps);
}

/// The value inside maps (or a list, for step "0") for the steps from `from` on.
static const OwEditValue *wrap(OwEditor *editor, const Steps *steps, int from, const OwEditValue *value) {
    for (int i = steps->count - 1; i >= from; i--) {
        OwEditValue *inner = ow_arena_take(editor->arena, 1, sizeof *inner);
        OwEditValue *outer = ow_arena_take(editor->arena, 1, sizeof *outer);
        if (inner == NULL || outer == NULL) {
            return NULL;
        }
        *inner = *value;
        inner->next = NULL;
        inner->key = steps->step[i];
        outer->type = strcmp(steps->step[i], "0") == 0 ? OW_EDIT_LIST : OW_EDIT_MAP;
        outer->first = inner;
        value = outer;
    }
    return value;
}

/// "drive: nedc" and "oil: rapeseed" are short for a map with one key.
static const char *short_key(const OwEditor *editor, const OwTextNode *node) {
    if (node->key != NULL && ow_edit_find_key(editor->root, node->key->text) == node) {
        return strcmp(node->key->text, "drive") == 0 ? "cycle"
               : strcmp(node->key->text, "oil") == 0 ? "kind"
                                                     : NULL;
    }
    return NULL;
}

/// The path goes on where one value stands.
static OwStatus set_in_scalar(OwEditor *editor, const Steps *steps, int from, const OwTextNode *node,
                              const OwEditValue *value) {
    const char *key = short_key(editor, node);
    if (node->text[0] == '\0' || strcmp(node->text, "none") == 0) {
        const OwEditValue *wrapped = wrap(editor, steps, from, value);
        return wrapped != NULL ? ow_edit_replace(editor, node, wrapped) : OW_ERROR_MEMORY;
    }
    if (key == NULL) {
        return ow_editor_fail(editor, OW_ERROR_VALUE, "set the whole of it instead",
                              "\"%.60s\" holds one value, there is nothing inside it",
                              node->key != NULL ? node->key->text : "");
    }
    if (from == steps->count - 1 && strcmp(steps->step[from], key) == 0) {
        return ow_edit_replace(editor, node, value);
    }
    const OwEditValue *wrapped = wrap(editor, steps, from, value);
    OwEditValue *first = ow_arena_take(editor->arena, 1, sizeof *first);
    OwEditValue *map = ow_arena_take(editor->arena, 1, sizeof *map);
    if (wrapped == NULL || first == NULL || map == NULL) {
        return OW_ERROR_MEMORY;
    }
    *first = (OwEditValue){.type = OW_EDIT_TEXT, .key = key, .text = node->text, .next = wrapped->first};
    *map = (OwEditValue){.type = OW_EDIT_MAP, .first = first};
    return ow_edit_replace(editor, node, map);
}

/// Walks the path as far as it exists. *node is the last found, *done how many steps were taken.
static OwStatus walk(OwEditor *editor, const Steps *steps, OwTextNode **node, OwTextNode **parent,
                     int *done) {
    *parent = NULL;
    for (*done = 0; *done < steps->count; (*done)++) {
        const char *step = steps->step[*done];
        OwTextNode *next = (*node)->type == OW_NODE_MAP    ? ow_edit_find_key(*node, step)
                           : (*node)->type == OW_NODE_LIST ? ow_edit_find_item(*node, step)
                                                           : NULL;
        if (next == NULL) {
            if ((*node)->type == OW_NODE_LIST) {
                return ow_editor_fail(editor, OW_ERROR_VALUE, "use its index from 0, or its name",
                                      "the list has no entry \"%.60s\"", step);
            }
            return OW_OK;
        }
        *parent = *node;
        *node = next;
    }
    return OW_OK;
}

static OwStatus remove_node(OwEditor *editor, OwTextNode *parent, OwTextNode *node);

static bool is_that(const void *context, const OwTextNode *item) {
    return item == context;
}

/// The map or list that holds `child`, searched from the root; depth is bounded.
static OwTextNode *find_parent(OwTextNode *from, const OwTextNode *child) {
    for (OwTextNode *n = from->first; n != NULL; n = n->next) {
        OwTextNode *found = n == child ? from : n->type != OW_NODE_SCALAR ? find_parent(n, child) : NULL;
        if (found != NULL) {
            return found;
        }
    }
    return NULL;
}

/// Takes a node out; what would be left empty goes with it.
static OwStatus remove_node(OwEditor *editor, OwTextNode *parent, OwTextNode *node) {
    for (int i = 0; i < OW_TREE_MAX_DEPTH && parent != NULL && parent->count == 1 && parent != editor->root;
         i++) {
        node = parent;
        parent = find_parent(editor->root, node);
    }
    if (parent == NULL) {
        return ow_editor_fail(editor, OW_ERROR_USE, "", "this cannot be taken out");
    }
    return parent->type == OW_NODE_MAP ? ow_edit_remove_key(editor, parent, node)
                                       : ow_edit_remove_items(editor, parent, is_that, node);
}

OwStatus ow_edit_set(OwEditor *editor, const OwEdit *edit) {
    Steps steps = {.count = 0};
    OwTextNode *node = NULL, *parent = NULL;
    int done = 0;
    OwStatus status = find_owner(editor, edit, &steps, &node);
    if (status == OW_OK && steps.count == 0) {
        return ow_editor_fail(editor, OW_ERROR_VALUE, "", "the path is missing");
    }
    if (status == OW_OK) {
        status = walk(editor, &steps, &node, &parent, &done);
    }
    if (status != OW_OK) {
        return status;
    }
    if (edit->value == NULL) {
        if (done < steps.count) {
            const char *key = node->type == OW_NODE_SCALAR ? short_key(editor, node) : NULL;
            const bool is_short =
                key != NULL && done == steps.count - 1 && strcmp(key, steps.step[done]) == 0;
            return is_short ? remove_node(editor, editor->root, node) : OW_OK;
        }
        return remove_node(editor, parent, node);
    }
    if (done == steps.count) {
        return ow_edit_replace(editor, node, edit->value);
    }
    if (node->type == OW_NODE_SCALAR) {
        return set_in_scalar(editor, &steps, done, node, edit->value);
    }
    const OwEditValue *wrapped = wrap(editor, &steps, done + 1, edit->value);
    return wrapped != NULL ? ow_edit_insert_key(editor, node, steps.step[done], wrapped) : OW_ERROR_MEMORY;
}

OwStatus ow_edit_append(OwEditor *editor, const OwEdit *edit) {
    Steps steps = {.count = 0};
    OwTextNode *node = NULL, *parent = NULL;
    int done = 0;
    if (edit->value == NULL) {
        return ow_editor_fail(editor, OW_ERROR_VALUE, "", "the value is missing");
    }
    OwStatus status = find_owner(editor, edit, &steps, &node);
    if (status == OW_OK) {
        status = walk(editor, &steps, &node, &parent, &done);
    }
    if (status != OW_OK) {
        return status;
    }
    if (done == steps.count && node->type == OW_NODE_LIST && node->count > 0) {
        return ow_edit_insert_item(editor, node, node->last, edit->value);
    }
    OwEditValue *item = ow_arena_take(editor->arena, 1, sizeof *item);
    OwEditValue *list = ow_arena_take(editor->arena, 1, sizeof *list);
    if (item == NULL || list == NULL) {
        return OW_ERROR_MEMORY;
    }
    *item = *edit->value;
    item->next = NULL;
    *list = (OwEditValue){.type = OW_EDIT_LIST, .first = item};
    if (done < steps.count) {
        OwEdit set = *edit;
        set.value = list;
        return ow_edit_set(editor, &set);
    }
    if ((node->type == OW_NODE_LIST || node->type == OW_NODE_SCALAR) &&
        (node->type == OW_NODE_LIST || node->text[0] == '\0')) {
        return ow_edit_replace(editor, node, list);
    }
    return ow_editor_fail(editor, OW_ERROR_VALUE, "", "there is no list at this place");
}

OwStatus ow_edit_drop(OwEditor *editor, const OwEdit *edit) {
    Steps steps = {.count = 0};
    OwTextNode *node = NULL, *parent = NULL;
    int done = 0;
    OwStatus status = find_owner(editor, edit, &steps, &node);
    if (status == OW_OK) {
        status = walk(editor, &steps, &node, &parent, &done);
    }
    if (status != OW_OK) {
        return status;
    }
    if (done < steps.count || parent == NULL || parent->type != OW_NODE_LIST) {
        return ow_editor_fail(editor, OW_ERROR_VALUE, "the path leads to an entry, for example legs/2",
                              "there is no such entry of a list");
    }
    return remove_node(editor, parent, node);
}
