// SPDX-License-Identifier: GPL-3.0-or-later
// POST /api/read: a rig's text as the page shows it, with the user's own words, their places and SI values;
// as far as the text is well formed, also when the rig has faults.
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "page_impl.h"
#include "rig/edit_impl.h"

typedef struct Reading {
    OwEditor editor; ///< tree of the text with byte places
    OwUnits *units;
    OwRig *scratch; ///< sections are read into it
} Reading;

static json_t *utf8(const char *text, size_t size) {
    json_t *value = json_stringn(text, size);
    return value != NULL ? value : json_string("");
}

/// The source text of a node.
static json_t *source_of(const Reading *r, const OwTextNode *node) {
    return node->type == OW_NODE_SCALAR ? utf8(node->text, strlen(node->text))
                                        : utf8(r->editor.text + node->start, node->end - node->start);
}

static void put_place(json_t *o, const OwTextNode *node) {
    (void)json_object_set_new(o, "line", node != NULL ? json_integer(node->line) : json_null());
    (void)json_object_set_new(o, "column", node != NULL ? json_integer(node->column) : json_null());
}

static const OwTextNode *find_key(const OwTextNode *map, const char *key) {
    return map != NULL && map->type == OW_NODE_MAP ? ow_edit_find_key(map, key) : NULL;
}

/// One field: the user's words when given, else the default as people write it.
static json_t *field_json(const Reading *r, const OwField *field, const OwTextNode *node, const char *path,
                          void *base) {
    char wrong[256], remedy[256], text[96];
    bool is_good = true;
    if (node != NULL) {
        is_good = node->type == OW_NODE_SCALAR &&
                  ow_field_read(field, node->text, r->units, base, wrong, remedy) == OW_OK;
    }
    const double value = field->type == OW_FIELD_REAL   ? ow_field_real(field, base)
                         : field->type == OW_FIELD_TEXT ? 0.0
                                                        : (double)ow_field_int(field, base);
    json_t *words = NULL;
    if (node != NULL) {
        words = source_of(r, node);
    } else if (field->type == OW_FIELD_TEXT) {
        const char *kept = (const char *)base + field->offset;
        words = utf8(kept, strlen(kept));
    } else {
        ow_field_write(field, value, OW_DISPLAY_METRIC, text, sizeof text);
        words = json_string(text);
    }
    json_t *o = json_pack("{s:s, s:s, s:o, s:o, s:b}", "path", path, "key", field->key, "text", words,
                          "value", is_good && field->type != OW_FIELD_TEXT ? json_real(value) : json_null(),
                          "given", (int)(node != NULL));
    if (o != NULL) {
        put_place(o, node);
    }
    return o;
}

/// All fields of a table; `before` stands in front of each path.
static void put_fields(const Reading *r, json_t *list, OwFieldTable table, const OwTextNode *map,
                       const char *before, void *base) {
    for (int i = 0; i < table.count; i++) {
        char path[160];
        (void)snprintf(path, sizeof path, "%s%s", before, table.rows[i].key);
        (void)json_array_append_new(
            list, field_json(r, &table.rows[i], find_key(map, table.rows[i].key), path, base));
    }
}

/// What a node holds: texts, lists, maps. Depth is bounded by the tree.
static json_t *value_of(const Reading *r, const OwTextNode *node) {
    if (node->type == OW_NODE_SCALAR) {
        return source_of(r, node);
    }
    json_t *value = node->type == OW_NODE_LIST ? json_array() : json_object();
    for (const OwTextNode *n = node->first; n != NULL; n = n->next) {
        if (node->type == OW_NODE_LIST) {
            (void)json_array_append_new(value, value_of(r, n));
        } else if (n->key != NULL) {
            (void)json_object_set_new(value, n->key->text, value_of(r, n));
        }
    }
    return value;
}

static json_t *special_list(const Reading *r, const OwSpecialKey *special, const OwTextNode *map) {
    json_t *list = json_array();
    for (; special != NULL && special->key != NULL; special++) {
        const OwTextNode *node = find_key(map, special->key);
        if (node != NULL) {
            (void)json_array_append_new(
                list, json_pack("{s:s, s:o, s:o, s:i, s:i}", "path", special->key, "text", source_of(r, node),
                                "value", value_of(r, node), "line", node->line, "column", node->column));
        }
    }
    return list;
}

static json_t *name_field(const Reading *r, const OwTextNode *node, const char *path, const char *otherwise) {
    json_t *o = json_pack("{s:s, s:s, s:o, s:n, s:b}", "path", path, "key", "name", "text",
                          node != NULL ? source_of(r, node) : json_string(otherwise), "value", "given",
                          (int)(node != NULL));
    if (o != NULL) {
        put_place(o, node);
    }
    return o;
}

static json_t *heaters_json(const Reading *r, const OwTextNode *list) {
    json_t *all = json_array();
    int index = 0;
    for (const OwTextNode *n = list->first; n != NULL && index < 50; n = n->next, index++) {
        OwElement element;
        char path[64], before[64];
        ow_element_default(&element, index);
        const OwTextNode *name = find_key(n, "name"), *thermostat = find_key(n, "thermostat");
        const bool has_thermostat = thermostat != NULL && !(thermostat->type == OW_NODE_SCALAR &&
                                                            strcmp(thermostat->text, "none") == 0);
        json_t *fields = json_array();
        (void)snprintf(path, sizeof path, "heaters/%d/name", index);
        (void)json_array_append_new(fields, name_field(r, name, path, element.name));
        (void)snprintf(before, sizeof before, "heaters/%d/", index);
        put_fields(r, fields, ow_element_fields(), n, before, &element);
        (void)snprintf(before, sizeof before, "heaters/%d/thermostat/", index);
        put_fields(r, fields, ow_thermostat_fields(), thermostat, before, &element);
        (void)snprintf(path, sizeof path, "heaters/%d", index);
        (void)json_array_append_new(
            all, json_pack("{s:o, s:s, s:b, s:o}", "name",
                           name != NULL && name->type == OW_NODE_SCALAR ? source_of(r, name)
                                                                        : json_string(element.name),
                           "path", path, "has_thermostat", (int)has_thermostat, "fields", fields));
    }
    return all;
}

static json_t *part_json(const Reading *r, const OwTextNode *map, int index) {
    const OwKindWord *word = NULL;
    const OwTextNode *name = NULL;
    OwPart part;
    if (!ow_edit_part_of(map, &word, &name)) {
        return NULL;
    }
    ow_part_default_word(word, &part);
    json_t *fields = json_array();
    put_fields(r, fields, word->fields, map, "", &part);
    put_fields(r, fields, ow_common_fields(), map, "", &part);
    const OwTextNode *heaters = find_key(map, "heaters");
    const bool has_list = heaters != NULL && heaters->type == OW_NODE_LIST;
    return json_pack("{s:i, s:s, s:o, s:i, s:i, s:s, s:o, s:o, s:o}", "index", index, "kind", word->word,
                     "name", source_of(r, name), "line", map->line, "column", map->column, "place",
                     (unsigned)part.place < 4 ? ow_place_names[part.place] : "", "fields", fields, "heaters",
                     has_list ? heaters_json(r, heaters) : json_array(), "special",
                     special_list(r, word->special, map));
}

static json_t *legs_json(const Reading *r, const OwTextNode *list) {
    json_t *all = json_array();
    int index = 0;
    for (const OwTextNode *n = list->first; n != NULL && index < OW_MAX_LEGS; n = n->next, index++) {
        OwLeg leg = {0};
        char path[32], before[32];
        json_t *fields = json_array();
        ow_fields_default(ow_leg_fields(), &leg);
        (void)snprintf(leg.name, sizeof leg.name, "leg %d", index + 1);
        (void)snprintf(path, sizeof path, "legs/%d", index);
        (void)snprintf(before, sizeof before, "legs/%d/", index);
        put_fields(r, fields, ow_leg_fields(), n, before, &leg);
        (void)json_array_append_new(all, json_pack("{s:s, s:o}", "path", path, "fields", fields));
    }
    return all;
}

static json_t *section_json(const Reading *r, const OwSection *section) {
    const OwTextNode *node = ow_edit_find_key(r->editor.root, section->name);
    json_t *fields = json_array();
    void *base = (char *)r->scratch + section->offset;
    const bool is_short = node != NULL && node->type == OW_NODE_SCALAR && strcmp(section->name, "drive") == 0;
    for (int i = 0; i < section->fields.count; i++) {
        const OwField *field = &section->fields.rows[i];
        const bool is_cycle = is_short && strcmp(field->key, "cycle") == 0;
        (void)json_array_append_new(
            fields, field_json(r, field, is_cycle ? node : find_key(node, field->key), field->key, base));
    }
    json_t *o = json_pack("{s:s, s:b, s:o, s:o, s:o}", "name", section->name, "given", (int)(node != NULL),
                          "line", node != NULL ? json_integer(node->line) : json_null(), "fields", fields,
                          "special", special_list(r, section->special, node));
    const OwTextNode *legs = strcmp(section->name, "drive") == 0 ? find_key(node, "legs") : NULL;
    if (o != NULL && strcmp(section->name, "drive") == 0) {
        (void)json_object_set_new(
            o, "legs", legs != NULL && legs->type == OW_NODE_LIST ? legs_json(r, legs) : json_array());
    }
    return o;
}

static json_t *oil_json(const Reading *r, const OwRig *rig) {
    const OwTextNode *node = ow_edit_find_key(r->editor.root, "oil");
    json_t *fluids = json_array();
    for (int i = 0; rig != NULL && i < rig->fluid_count; i++) {
        const OwTextNode *its =
            node == NULL || node->type == OW_NODE_SCALAR ? node : find_key(node, rig->fluid_name[i]);
        its = its == NULL ? node : its; // a description without a name
        (void)json_array_append_new(
            fluids, json_pack("{s:s, s:s, s:o}", "name", rig->fluid_name[i], "kind", rig->fluid_spec[i].name,
                              "text", its != NULL ? source_of(r, its) : json_string("rapeseed")));
    }
    return json_pack("{s:o, s:o, s:o, s:o}", "text", node != NULL ? source_of(r, node) : json_null(), "value",
                     node != NULL ? value_of(r, node) : json_null(), "line",
                     node != NULL ? json_integer(node->line) : json_null(), "fluids", fluids);
}

static json_t *lines_json(const Reading *r) {
    const OwTextNode *lines = ow_edit_find_key(r->editor.root, "lines");
    json_t *all = json_array();
    for (const OwTextNode *chain = lines != NULL && lines->type == OW_NODE_LIST ? lines->first : NULL;
         chain != NULL; chain = chain->next) {
        json_t *entries = json_array();
        for (const OwTextNode *n = chain->first; n != NULL; n = n->next) {
            (void)json_array_append_new(entries, source_of(r, n));
        }
        (void)json_array_append_new(all, json_pack("{s:i, s:o}", "line", chain->line, "entries", entries));
    }
    return all;
}

static json_t *rules_json(const Reading *r) {
    const OwTextNode *controls = ow_edit_find_key(r->editor.root, "controls");
    json_t *all = json_array();
    int index = 0;
    for (const OwTextNode *n = controls != NULL && controls->type == OW_NODE_LIST ? controls->first : NULL;
         n != NULL; n = n->next, index++) {
        const OwTextNode *set = find_key(n, "set"), *to = find_key(n, "to"), *when = find_key(n, "when");
        (void)json_array_append_new(all, json_pack("{s:i, s:i, s:o, s:o, s:o, s:o}", "index", index, "line",
                                                   n->line, "text", source_of(r, n), "set",
                                                   set != NULL ? source_of(r, set) : json_null(), "to",
                                                   to != NULL ? source_of(r, to) : json_null(), "when",
                                                   when != NULL ? source_of(r, when) : json_null()));
    }
    return all;
}

static json_t *indices(const int *parts, int count) {
    json_t *list = json_array();
    for (int i = 0; i < count; i++) {
        (void)json_array_append_new(list, json_integer(parts[i]));
    }
    return list;
}

/// What only a rig without faults has: joints and ways.
static void put_joints(json_t *o, const OwRig *rig) {
    json_t *joints = json_array();
    OwPlan *plan = NULL;
    OwFaults faults = {0};
    int way[200], back[200];
    for (int i = 0; i < rig->joint_count; i++) {
        const OwJoint *j = &rig->joints[i];
        (void)json_array_append_new(
            joints, json_pack("{s:i, s:s, s:i, s:s}", "from", j->part_a, "from_port",
                              ow_part_port_name(rig->parts[j->part_a].kind, j->port_a), "to", j->part_b,
                              "to_port", ow_part_port_name(rig->parts[j->part_b].kind, j->port_b)));
    }
    (void)json_object_set_new(o, "joints", joints);
    if (ow_plan_create(rig, &plan, &faults) == OW_OK) {
        const int count = ow_plan_path(plan, way, 200), back_count = ow_plan_return_path(plan, back, 200);
        (void)json_object_set_new(o, "path", indices(way, count < 200 ? count : 200));
        (void)json_object_set_new(o, "return_path", indices(back, back_count < 200 ? back_count : 200));
    }
    ow_faults_clear(&faults);
    ow_plan_destroy(&plan);
}

static void put_tree(json_t *o, const Reading *r, const OwRig *rig) {
    const OwTextNode *parts = ow_edit_find_key(r->editor.root, "parts"),
                     *name = ow_edit_find_key(r->editor.root, "name"),
                     *notes = ow_edit_find_key(r->editor.root, "notes");
    json_t *all_parts = json_array(), *sections = json_array();
    int index = 0;
    for (const OwTextNode *n = parts != NULL && parts->type == OW_NODE_LIST ? parts->first : NULL;
         n != NULL && index < 400; n = n->next) {
        json_t *part = part_json(r, n, index);
        if (part != NULL) {
            (void)json_array_append_new(all_parts, part);
            index++;
        }
    }
    for (const OwSection *s = ow_sections(); s->name != NULL; s++) {
        (void)json_array_append_new(sections, section_json(r, s));
    }
    (void)json_object_set_new(o, "name", name != NULL ? source_of(r, name) : json_null());
    (void)json_object_set_new(o, "notes", notes != NULL ? source_of(r, notes) : json_null());
    (void)json_object_set_new(o, "parts", all_parts);
    (void)json_object_set_new(o, "sections", sections);
    (void)json_object_set_new(o, "oil", oil_json(r, rig));
    (void)json_object_set_new(o, "lines", lines_json(r));
    (void)json_object_set_new(o, "rules", rules_json(r));
}

void ow_api_read(OwCall *call) {
    const char *text = ow_call_read_body(call) ? ow_call_text(call, "text") : NULL;
    if (text == NULL) {
        return;
    }
    const size_t size = json_string_length(json_object_get(call->body, "text"));
    OwFaults faults = {0};
    OwFault fault = {0};
    OwRig *rig = NULL;
    Reading r = {.editor = {.fault = &fault, .size = size, .text = strndup(text, size)}};
    const OwStatus status = ow_page_read_rig(call->page, text, size, NULL, NULL, &rig, &faults);
    r.units = ow_page_take_units(call->page);
    if (status == OW_ERROR_MEMORY || r.editor.text == NULL || r.units == NULL ||
        ow_rig_create(&r.scratch) != OW_OK) {
        ow_call_out_of_memory(call);
    } else {
        json_t *o = json_pack("{s:o, s:b, s:n, s:n, s:[], s:[], s:n, s:[], s:[], s:[], s:[], s:[]}", "faults",
                              ow_page_faults(&faults, text, size), "ok", (int)(rig != NULL), "name", "notes",
                              "parts", "sections", "oil", "lines", "rules", "joints", "path", "return_path");
        if (o != NULL && ow_editor_open(&r.editor) == OW_OK) {
            put_tree(o, &r, rig);
        }
        if (o != NULL && rig != NULL) {
            put_joints(o, rig);
        }
        ow_call_answer(call, 200, o);
    }
    ow_rig_destroy(&r.scratch);
    ow_page_give_units(call->page, r.units);
    ow_arena_destroy(&r.editor.arena);
    free(r.editor.text);
    ow_rig_destroy(&rig);
    ow_faults_clear(&faults);
}
