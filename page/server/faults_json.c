// SPDX-License-Identifier: GPL-3.0-or-later
// Faults with the field each belongs to, found by its place in the text.
#include <stdio.h>
#include <string.h>

#include "page_impl.h"
#include "rig/edit_impl.h"

typedef struct Owner {
    const char *part, *section;
    char path[200];
    bool is_found;
} Owner;

static bool stands_at(const OwTextNode *node, const OwFault *fault) {
    return node->line == fault->line && node->column == fault->column;
}

/// Looks below a node; `used` bytes of the path are written. Depth is bounded by the tree.
static void look(const OwTextNode *node, const OwFault *fault, size_t used, Owner *owner) {
    int index = 0;
    for (const OwTextNode *n = node->first; n != NULL && !owner->is_found; n = n->next, index++) {
        char step[80];
        if (n->key != NULL) {
            (void)snprintf(step, sizeof step, "%s%.70s", used > 0 ? "/" : "", n->key->text);
        } else {
            (void)snprintf(step, sizeof step, "%s%d", used > 0 ? "/" : "", index);
        }
        if (used + strlen(step) >= sizeof owner->path) {
            continue;
        }
        memcpy(owner->path + used, step, strlen(step) + 1);
        if (stands_at(n, fault) || (n->key != NULL && stands_at(n->key, fault))) {
            owner->is_found = true;
            return;
        }
        look(n, fault, used + strlen(step), owner);
        if (!owner->is_found) {
            owner->path[used] = '\0';
        }
    }
}

static void find_owner(const OwTextNode *root, const OwFault *fault, Owner *owner) {
    for (const OwTextNode *section = root->first; section != NULL && !owner->is_found;
         section = section->next) {
        const bool is_parts = strcmp(section->key->text, "parts") == 0 && section->type == OW_NODE_LIST;
        owner->section = section->key->text;
        if (stands_at(section, fault) || stands_at(section->key, fault)) {
            owner->is_found = true;
        } else if (!is_parts) {
            look(section, fault, 0, owner);
        }
        for (const OwTextNode *item = is_parts ? section->first : NULL; item != NULL && !owner->is_found;
             item = item->next) {
            const OwKindWord *word = NULL;
            const OwTextNode *name = NULL;
            const bool is_part = ow_edit_part_of(item, &word, &name);
            if (stands_at(item, fault)) {
                owner->is_found = true;
            } else {
                look(item, fault, 0, owner);
            }
            if (owner->is_found && is_part) {
                owner->part = name->text;
                owner->section = NULL;
                if (strcmp(owner->path, word->word) == 0) { // the name itself
                    owner->path[0] = '\0';
                }
            }
        }
    }
}

/// Is it the name of one of the rig's parts? Circuits, fluids and legs have names too.
static bool is_part(const OwTextNode *root, const char *name) {
    const OwTextNode *parts = name[0] != '\0' ? ow_edit_find_key(root, "parts") : NULL;
    const bool is_list = parts != NULL && parts->type == OW_NODE_LIST;
    for (const OwTextNode *item = is_list ? parts->first : NULL; item != NULL; item = item->next) {
        const OwKindWord *word = NULL;
        const OwTextNode *own = NULL;
        if (ow_edit_part_of(item, &word, &own) && strcmp(own->text, name) == 0) {
            return true;
        }
    }
    return false;
}

static json_t *text_or_null(const char *text) {
    json_t *value = text != NULL && text[0] != '\0' ? json_string(text) : json_null();
    return value != NULL ? value : json_null();
}

static json_t *message_of(const char *text) {
    json_t *value = json_string(text);
    return value != NULL ? value : json_string("(not UTF-8)");
}

static json_t *one_fault(const OwFault *fault, const OwTextNode *root) {
    Owner owner = {0};
    if (root != NULL && root->type == OW_NODE_MAP && fault->line > 0) {
        find_owner(root, fault, &owner);
    }
    if (!owner.is_found) {
        owner = (Owner){.part = fault->part};
        for (const OwSection *section = ow_sections(); section->name != NULL; section++) {
            if (strcmp(section->name, fault->part) == 0) {
                owner = (Owner){.section = section->name};
            }
        }
    } else if (owner.part == NULL && is_part(root, fault->part)) {
        owner.part = fault->part; // a line, rule or circuit that names it
    }
    return json_pack("{s:s, s:o, s:o, s:o, s:o, s:o, s:o, s:o}", "severity",
                     fault->severity == OW_FAULT_ERROR ? "error" : "warning", "line",
                     fault->line > 0 ? json_integer(fault->line) : json_null(), "column",
                     fault->column > 0 ? json_integer(fault->column) : json_null(), "part",
                     text_or_null(owner.part), "section", text_or_null(owner.section), "path",
                     text_or_null(owner.path), "message", message_of(fault->message), "remedy",
                     message_of(fault->remedy));
}

json_t *ow_page_faults(const OwFaults *faults, const char *text, size_t size) {
    json_t *list = json_array();
    if (faults->count == 0) {
        return list;
    }
    OwArena *arena = ow_arena_create();
    OwTextNode *root = NULL;
    OwFaults again = {0};
    if (arena != NULL) {
        (void)ow_tree_read(text, size, "", arena, &root, &again);
    }
    for (size_t i = 0; i < faults->count; i++) {
        (void)json_array_append_new(list, one_fault(&faults->items[i], root));
    }
    ow_faults_clear(&again);
    ow_arena_destroy(&arena);
    return list;
}

OwStatus ow_page_read_rig(OwPage *page, const char *text, size_t size, const OwAsked *asked,
                          OwMorningSettings *settings, OwRig **rig, OwFaults *faults) {
    OwUnits *units = ow_page_take_units(page);
    *rig = NULL;
    if (units == NULL) {
        return OW_ERROR_MEMORY;
    }
    OwStatus status = ow_rig_read_text(text, size, "rig", units, rig, faults);
    if (status == OW_OK && asked != NULL) {
        ow_cli_apply(asked, *rig, settings, units, faults);
        if (faults->errors > 0) {
            ow_rig_destroy(rig);
            status = OW_ERROR_VALUE;
        }
    }
    ow_page_give_units(page, units);
    return status;
}
