// SPDX-License-Identifier: GPL-3.0-or-later
// The lines and controls sections of a text, when a part comes, goes or changes its name.
#include "rig/edit_impl.h"

#include <string.h>

bool ow_edit_names_part(const char *entry, const char *part) {
    const size_t size = strlen(part);
    return strncmp(entry, part, size) == 0 &&
           (entry[size] == '\0' || (entry[size] == '.' && strchr(entry + size + 1, '.') == NULL));
}

/// A section that is a list, NULL otherwise.
static OwTextNode *find_list(const OwEditor *editor, const char *section) {
    OwTextNode *node = ow_edit_find_key(editor->root, section);
    return node != NULL && node->type == OW_NODE_LIST ? node : NULL;
}

/// Whether an entry is the one that `named` means: with a port only that very port.
static bool is_meant(const OwTextNode *entry, const char *named) {
    return entry->type == OW_NODE_SCALAR && ow_edit_names_part(entry->text, named);
}

/// "injection pump, injectors" only says what is so anyway; nothing fits between.
static bool is_feed(const OwEditor *editor, const OwTextNode *entry) {
    const OwKindWord *from = NULL, *to = NULL;
    const char *name = NULL;
    if (entry->next == NULL || entry->next->type != OW_NODE_SCALAR) {
        return false;
    }
    return ow_edit_find_named(editor, entry->text, &from, &name) != NULL &&
           ow_edit_find_named(editor, entry->next->text, &to, &name) != NULL &&
           from->kind == OW_PART_INJECTION_PUMP && to->kind == OW_PART_INJECTORS;
}

typedef struct Gap {
    const OwTextNode *chain, *behind; ///< behind NULL: at the front
    bool is_found;
} Gap;

static void look_in_chain(const OwEditor *editor, const OwTextNode *chain, const char *after,
                          const char *before, Gap *gap, Gap *loose) {
    const OwTextNode *last = NULL;
    for (const OwTextNode *n = chain->first; n != NULL && !gap->is_found; last = n, n = n->next) {
        if (after == NULL) {
            if (is_meant(n, before) && !(last != NULL && is_feed(editor, last))) {
                *gap = (Gap){chain, last, true};
            }
        } else if (is_meant(n, after)) {
            if (n->next == NULL) {
                *loose = loose->is_found ? *loose : (Gap){chain, n, true};
            } else if ((before == NULL && !is_feed(editor, n)) ||
                       (before != NULL && is_meant(n->next, before))) {
                *gap = (Gap){chain, n, true};
            }
        }
    }
}

OwStatus ow_edit_join(OwEditor *editor, const char *part, const char *after, const char *before) {
    const OwTextNode *lines = find_list(editor, "lines");
    Gap gap = {0}, loose = {0};
    if (lines == NULL || (after == NULL && before == NULL)) {
        return OW_OK;
    }
    for (const OwTextNode *chain = lines->first; chain != NULL && !gap.is_found; chain = chain->next) {
        if (chain->type == OW_NODE_LIST) {
            look_in_chain(editor, chain, after, before, &gap, &loose);
        }
    }
    if (!gap.is_found && after != NULL && before != NULL) {
        return ow_editor_fail(editor, OW_ERROR_VALUE, "name two parts that follow each other in the lines",
                              "no line leads from \"%.60s\" to \"%.60s\"", after, before);
    }
    gap = gap.is_found ? gap : loose;
    if (!gap.is_found) {
        ow_editor_note(editor, "\"%.60s\" is not joined to anything yet: no line passes there", part);
        return OW_OK;
    }
    const OwEditValue value = {.type = OW_EDIT_TEXT, .text = part};
    return ow_edit_insert_item(editor, gap.chain, gap.behind, &value);
}

static bool is_named(const void *context, const OwTextNode *item) {
    return item->type == OW_NODE_SCALAR && ow_edit_names_part(item->text, context);
}

/// Entries of a chain that stay when a part goes.
static int count_kept(const OwTextNode *chain, const char *part) {
    int kept = 0;
    for (const OwTextNode *n = chain->first; n != NULL; n = n->next) {
        kept += is_named(part, n) ? 0 : 1;
    }
    return kept;
}

/// A chain that joins nothing any more once the part is gone.
static bool is_dead(const void *context, const OwTextNode *chain) {
    if (chain->type != OW_NODE_LIST) {
        return false;
    }
    const int kept = count_kept(chain, context);
    return kept < chain->count && kept < 2;
}

OwStatus ow_edit_unjoin(OwEditor *editor, const char *part) {
    const OwTextNode *lines = find_list(editor, "lines");
    OwStatus status = OW_OK;
    int alive = 0, dead = 0;
    if (lines == NULL) {
        return OW_OK;
    }
    for (const OwTextNode *chain = lines->first; chain != NULL; chain = chain->next) {
        alive += is_dead(part, chain) ? 0 : 1;
        dead += is_dead(part, chain) ? 1 : 0;
    }
    if (alive == 0 && dead > 0) {
        return ow_edit_remove_key(editor, editor->root, lines);
    }
    if (dead > 0) {
        status = ow_edit_remove_items(editor, lines, is_dead, part);
    }
    for (const OwTextNode *chain = lines->first; chain != NULL && status == OW_OK; chain = chain->next) {
        if (chain->type == OW_NODE_LIST && !is_dead(part, chain) && count_kept(chain, part) < chain->count) {
            status = ow_edit_remove_items(editor, chain, is_named, part);
        }
    }
    return status;
}

static bool is_rule_of(const void *context, const OwTextNode *rule) {
    const char *part = context;
    const size_t size = strlen(part);
    if (rule->type != OW_NODE_MAP) {
        return false;
    }
    const OwTextNode *set = ow_edit_find_key(rule, "set"), *when = ow_edit_find_key(rule, "when");
    const bool sets = set != NULL && set->type == OW_NODE_SCALAR && strncmp(set->text, part, size) == 0 &&
                      (set->text[size] == '\0' || set->text[size] == '/');
    const bool feels =
        when != NULL && when->type == OW_NODE_SCALAR && strncmp(when->text, part, size) == 0 &&
        (strncmp(when->text + size, " above ", 7) == 0 || strncmp(when->text + size, " below ", 7) == 0);
    return sets || feels;
}

OwStatus ow_edit_unrule(OwEditor *editor, const char *part, int *count) {
    const OwTextNode *controls = find_list(editor, "controls");
    *count = 0;
    if (controls == NULL) {
        return OW_OK;
    }
    for (const OwTextNode *rule = controls->first; rule != NULL; rule = rule->next) {
        *count += is_rule_of(part, rule) ? 1 : 0;
    }
    if (*count == 0) {
        return OW_OK;
    }
    return *count == controls->count ? ow_edit_remove_key(editor, editor->root, controls)
                                     : ow_edit_remove_items(editor, controls, is_rule_of, part);
}
