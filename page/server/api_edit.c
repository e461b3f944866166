// SPDX-License-Identifier: GPL-3.0-or-later
// POST /api/edit: JSON to text edits, and what the outcome's faults are.
#include <stdio.h>
#include <string.h>

#include "page_impl.h"
#include "rig/edit.h"

#define MAX_DEPTH 7

/// A JSON value as what is written into the file. NULL when it is too deep, null inside, or out of memory.
static OwEditValue *make_value(OwArena *arena, const json_t *json, int depth) {
    OwEditValue *value = ow_arena_take(arena, 1, sizeof *value);
    if (value == NULL || depth > MAX_DEPTH) {
        return NULL;
    }
    char number[40];
    const OwEditValue **place = &value->first;
    switch (json_typeof(json)) {
    case JSON_STRING:
        value->text = json_string_value(json);
        return strlen(value->text) == json_string_length(json) ? value : NULL;
    case JSON_INTEGER:
        (void)snprintf(number, sizeof number, "%lld", (long long)json_integer_value(json));
        value->text = ow_arena_text(arena, number);
        return value->text != NULL ? value : NULL;
    case JSON_REAL:
        (void)snprintf(number, sizeof number, "%.12g", json_real_value(json));
        value->text = ow_arena_text(arena, number);
        return value->text != NULL ? value : NULL;
    case JSON_TRUE:
    case JSON_FALSE:
        value->text = json_is_true(json) ? "yes" : "no";
        return value;
    case JSON_ARRAY: {
        value->type = OW_EDIT_LIST;
        for (size_t i = 0; i < json_array_size(json); i++) {
            OwEditValue *item = make_value(arena, json_array_get(json, i), depth + 1);
            if (item == NULL) {
                return NULL;
            }
            *place = item;
            place = &item->next;
        }
        return value;
    }
    case JSON_OBJECT: {
        const char *key;
        json_t *inner;
        value->type = OW_EDIT_MAP;
        json_object_foreach((json_t *)(uintptr_t)json, key, inner) {
            if (json_is_null(inner)) { // as good as not said
                continue;
            }
            OwEditValue *item = make_value(arena, inner, depth + 1);
            if (item == NULL) {
                return NULL;
            }
            item->key = key;
            *place = item;
            place = &item->next;
        }
        return value;
    }
    default:
        return NULL;
    }
}

/// One edit from JSON. False with what is wrong.
static bool make_edit(OwArena *arena, const json_t *json, OwEdit *edit, const char **wrong) {
    static const struct {
        const char *name;
        OwEditOp op;
    } ops[] = {{"set", OW_EDIT_SET},   {"add", OW_EDIT_ADD},       {"remove", OW_EDIT_REMOVE},
               {"move", OW_EDIT_MOVE}, {"rename", OW_EDIT_RENAME}, {"append", OW_EDIT_APPEND},
               {"drop", OW_EDIT_DROP}};
    bool is_wrong = false, is_known = false;
    const char *op = ow_ask_text(json, "op", &is_wrong);
    for (size_t i = 0; op != NULL && i < sizeof ops / sizeof ops[0]; i++) {
        if (strcmp(ops[i].name, op) == 0) {
            edit->op = ops[i].op;
            is_known = true;
        }
    }
    if (!is_known) {
        *wrong = "op is one of set, add, remove, move, rename, append, drop";
        return false;
    }
    edit->part = ow_ask_text(json, "part", &is_wrong);
    edit->section = ow_ask_text(json, "section", &is_wrong);
    edit->path = ow_ask_text(json, "path", &is_wrong);
    edit->kind = ow_ask_text(json, "kind", &is_wrong);
    edit->name = ow_ask_text(json, "name", &is_wrong);
    edit->after = ow_ask_text(json, "after", &is_wrong);
    edit->before = ow_ask_text(json, "before", &is_wrong);
    if (is_wrong) {
        *wrong = "part, section, path, kind, name, after and before are texts";
        return false;
    }
    const json_t *value = json_object_get(json, edit->op == OW_EDIT_ADD ? "values" : "value");
    if (value != NULL && !json_is_null(value)) {
        edit->value = make_value(arena, value, 0);
        if (edit->value == NULL) {
            *wrong = "a value is a text, a number, a boolean, or lists and objects of such, not too deep";
            return false;
        }
    }
    return true;
}

static json_t *notes_json(const char *notes) {
    json_t *list = json_array();
    while (notes != NULL && *notes != '\0') {
        const size_t size = strcspn(notes, "\n");
        json_t *note = json_stringn(notes, size);
        if (note != NULL) {
            (void)json_array_append_new(list, note);
        }
        notes += size + (notes[size] == '\n' ? 1 : 0);
    }
    return list;
}

static void answer(OwCall *call, const OwEdited *edited) {
    OwFaults faults = {0};
    OwRig *rig = NULL;
    (void)ow_page_read_rig(call->page, edited->text, edited->size, NULL, NULL, &rig, &faults);
    json_t *o = json_pack("{s:s%, s:b, s:o, s:o}", "text", edited->text, edited->size, "changed",
                          (int)edited->has_changed, "notes", notes_json(edited->notes), "faults",
                          ow_page_faults(&faults, edited->text, edited->size));
    if (edited->fault.message[0] != '\0') {
        json_t *message = json_string(edited->fault.message), *remedy = json_string(edited->fault.remedy);
        (void)json_object_set_new(
            o, "failed",
            json_pack("{s:i, s:o, s:o}", "index", edited->failed, "message",
                      message != NULL ? message : json_string("the edit cannot be done"), "remedy",
                      remedy != NULL ? remedy : json_string("")));
    }
    ow_rig_destroy(&rig);
    ow_faults_clear(&faults);
    ow_call_answer(call, 200, o);
}

void ow_api_edit(OwCall *call) {
    if (!ow_call_read_body(call)) {
        return;
    }
    const char *text = ow_call_text(call, "text");
    if (text == NULL) {
        return;
    }
    const json_t *list = json_object_get(call->body, "edits");
    if (!json_is_array(list) || json_array_size(list) > OW_EDIT_MAX_EDITS) {
        ow_call_refuse(call, 400, "bad_request", "send at most 100", "\"edits\" is not a list of edits");
        return;
    }
    OwEdit edits[OW_EDIT_MAX_EDITS] = {0};
    const int count = (int)json_array_size(list);
    OwArena *arena = ow_arena_create();
    if (arena == NULL) {
        ow_call_out_of_memory(call);
        return;
    }
    for (int i = 0; i < count; i++) {
        const char *wrong = "";
        if (!make_edit(arena, json_array_get(list, (size_t)i), &edits[i], &wrong)) {
            ow_call_refuse(call, 400, "bad_request", wrong, "edit %d cannot be read", i);
            ow_arena_destroy(&arena);
            return;
        }
    }
    OwEdited edited;
    const OwStatus status =
        ow_rig_edit(text, json_string_length(json_object_get(call->body, "text")), edits, count, &edited);
    if (status == OW_ERROR_MEMORY || edited.text == NULL) {
        ow_call_out_of_memory(call);
    } else {
        answer(call, &edited);
    }
    ow_edited_clear(&edited);
    ow_arena_destroy(&arena);
}
