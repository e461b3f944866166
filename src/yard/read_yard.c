// SPDX-License-Identifier: GPL-3.0-or-later
// Reads a yard file: sections by their tables, vessels, then the steps that name them.
#include "base/text.h"
#include "rig/sheet.h"
#include "yard/plan_tables.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const OwSpecialKey own_sections[] = {
    {"name", ""},    {"notes", ""}, {"oil", ""},     {"climate", ""}, {"incoming", ""},
    {"vessels", ""}, {"steps", ""}, {"targets", ""}, {"losses", ""},  {"week", ""},
    {"prices", ""},  {"tests", ""}, {NULL, NULL},
};

/// What the reading of one file carries along.
typedef struct YardRead {
    OwYard *yard;
    bool has_lost_vessel; ///< one could not be read: a step that names an unknown one is no second fault
} YardRead;

static void read_head(OwReader *reader, const OwTextNode *root, OwYard *yard) {
    const OwTextNode *name = ow_node_get(root, "name"), *notes = ow_node_get(root, "notes");
    if (name != NULL) {
        (void)ow_reader_name(reader, name, "name", yard->name, NULL);
    }
    if (notes != NULL && ow_reader_expect(reader, notes, OW_NODE_SCALAR, NULL, "notes") &&
        !ow_text_copy(yard->notes, sizeof yard->notes, notes->text)) {
        ow_reader_fault(reader, notes, NULL, OW_ERROR_VALUE, OW_FAULT_WARNING,
                        "write comments (#) in the file instead", "the notes are cut after %d bytes",
                        (int)sizeof yard->notes - 1);
    }
}

/// By the rig's own rules for an oil; a yard takes in one.
static void read_oil(OwReader *reader, const OwTextNode *root, OwYard *yard) {
    const OwTextNode *oil = ow_node_get(root, "oil");
    if (oil == NULL) {
        ow_reader_fault(reader, root, NULL, OW_ERROR_VALUE, OW_FAULT_WARNING,
                        "write for example oil: {kind: rapeseed, used: yes}",
                        "no oil is named: used rapeseed oil is assumed");
        return;
    }
    const size_t before = reader->faults->errors;
    ow_read_oil(reader, oil);
    if (before != reader->faults->errors) {
        return;
    }
    if (reader->rig->fluid_count != 1) {
        ow_reader_fault(reader, oil, NULL, OW_ERROR_VALUE, OW_FAULT_ERROR,
                        "keep one; what is added later is a blend step", "a yard takes in one oil");
        return;
    }
    yard->oil = reader->rig->fluid_spec[0];
}

static void read_vessel(OwReader *reader, const OwTextNode *map, YardRead *read) {
    OwYard *yard = read->yard;
    if (!ow_reader_expect(reader, map, OW_NODE_MAP, NULL, "a vessel")) {
        read->has_lost_vessel = true;
        return;
    }
    OwVessel *vessel = &yard->vessels[yard->vessel_count];
    ow_vessel_default(vessel);
    vessel->line = map->line;
    vessel->column = map->column;
    const OwTextNode *named = ow_node_get(map, "vessel");
    if (named == NULL) {
        read->has_lost_vessel = true;
        ow_reader_fault(reader, map->first != NULL ? map->first->key : map, NULL, OW_ERROR_VALUE,
                        OW_FAULT_ERROR, "begin it with - vessel: and its name", "a vessel has no name");
        return;
    }
    if (!ow_reader_name(reader, named, "the vessel's name", vessel->name, NULL)) {
        read->has_lost_vessel = true;
        return;
    }
    const OwFieldTable fields = ow_vessel_fields();
    ow_reader_map(reader, map, &fields, 1, NULL, named->key, vessel, vessel->name);
    const int earlier = ow_yard_find_vessel(yard, vessel->name);
    if (earlier >= 0) {
        ow_reader_fault(reader, named, vessel->name, OW_ERROR_VALUE, OW_FAULT_ERROR,
                        "give each vessel a name of its own, or one of them a count",
                        "two vessels have this name (the first on line %d)", yard->vessels[earlier].line);
        return;
    }
    yard->vessel_count++;
}

static void read_vessels(OwReader *reader, const OwTextNode *root, YardRead *read) {
    const OwTextNode *list = ow_node_get(root, "vessels");
    if (list == NULL) {
        read->has_lost_vessel = true;
        ow_reader_fault(reader, root, NULL, OW_ERROR_VALUE, OW_FAULT_ERROR,
                        "write vessels: and below it - vessel: drum", "the vessels section is missing");
        return;
    }
    if (!ow_reader_expect(reader, list, OW_NODE_LIST, NULL, "vessels")) {
        read->has_lost_vessel = true;
        return;
    }
    for (const OwTextNode *n = list->first; n != NULL; n = n->next) {
        if (read->yard->vessel_count == OW_YARD_MAX_VESSELS) {
            read->has_lost_vessel = true;
            ow_reader_fault(reader, n, NULL, OW_ERROR_VALUE, OW_FAULT_ERROR,
                            "give alike ones one entry with a count", "a yard has at most %d vessels",
                            OW_YARD_MAX_VESSELS);
            return;
        }
        read_vessel(reader, n, read);
    }
    if (list->first == NULL) {
        ow_reader_fault(reader, list, NULL, OW_ERROR_VALUE, OW_FAULT_ERROR, "write - vessel: drum",
                        "a yard has at least one vessel");
    }
}

static const char *word_at(const void *context, size_t i) {
    const OwPlanWord *rows = context;
    return rows[i].word;
}

static const char *vessel_at(const void *context, size_t i) {
    const OwYard *yard = context;
    return yard->vessels[i].name;
}

/// The node whose key is a word for a step; NULL when none is.
static const OwTextNode *find_word(const OwTextNode *map, const OwPlanWord **word) {
    for (const OwTextNode *n = map->first; n != NULL; n = n->next) {
        for (const OwPlanWord *w = ow_yard_plan_words(); w->word != NULL; w++) {
            if (strcmp(w->word, n->key->text) == 0) {
                *word = w;
                return n;
            }
        }
    }
    return NULL;
}

/// The vessel a key names, `otherwise` when it is not given, -1 after a fault.
static int read_place(OwReader *reader, const OwTextNode *map, const char *key, int otherwise,
                      const YardRead *read, const char *step) {
    const OwTextNode *node = ow_node_get(map, key);
    if (node == NULL) {
        return otherwise;
    }
    if (!ow_reader_expect(reader, node, OW_NODE_SCALAR, step, key)) {
        return -1;
    }
    const int vessel = ow_yard_find_vessel(read->yard, node->text);
    if (vessel < 0 && !read->has_lost_vessel) {
        char remedy[256];
        ow_remedy_near(
            remedy, ow_text_nearest_by(node->text, (size_t)read->yard->vessel_count, vessel_at, read->yard),
            "use a name from the vessels section");
        ow_reader_fault(reader, node, step, OW_ERROR_VALUE, OW_FAULT_ERROR, remedy,
                        "%s: there is no vessel \"%.60s\"", key, node->text);
    }
    return vessel;
}

static void read_step(OwReader *reader, const OwTextNode *map, YardRead *read) {
    OwYard *yard = read->yard;
    if (!ow_reader_expect(reader, map, OW_NODE_MAP, NULL, "a step")) {
        return;
    }
    const OwPlanWord *word = NULL;
    const OwTextNode *named = find_word(map, &word);
    if (named == NULL) {
        const OwTextNode *first = map->first;
        char remedy[256];
        ow_remedy_near(
            remedy,
            first != NULL
                ? ow_text_nearest_by(first->key->text, OW_PLAN_KIND_COUNT, word_at, ow_yard_plan_words())
                : NULL,
            "begin with what is done and a name: settle, heat, dry, filter, centrifuge, blend or cool");
        ow_reader_fault(reader, first != NULL ? first->key : map, NULL, OW_ERROR_VALUE, OW_FAULT_ERROR,
                        remedy, "\"%.60s\" is no kind of step", first != NULL ? first->key->text : "");
        return;
    }
    OwPlanStep *step = &yard->steps[yard->step_count];
    ow_yard_plan_step_default(word->kind, step);
    step->line = map->line;
    step->column = map->column;
    if (!ow_reader_name(reader, named, "the step's name", step->name, NULL)) {
        return;
    }
    const char *name = step->name;
    ow_reader_map(reader, map, &word->fields, 1, word->special, named->key, step, name);
    const int before = yard->step_count > 0 ? yard->steps[yard->step_count - 1].into : -1;
    step->vessel = read_place(reader, map, "in", before, read, name);
    const bool moves = word->special[1].key != NULL; // has "into"
    step->into = moves ? read_place(reader, map, "into", step->vessel, read, name) : step->vessel;
    if (ow_node_get(map, "in") == NULL && yard->step_count == 0 && !read->has_lost_vessel) {
        ow_reader_fault(reader, map, name, OW_ERROR_VALUE, OW_FAULT_ERROR, "write in: and a vessel's name",
                        "it is not said in which vessel this is done");
    }
    if (step->kind == OW_PLAN_BLEND) {
        const OwTextNode *with = ow_node_get(map, "with");
        if (with == NULL) {
            ow_reader_fault(reader, map, name, OW_ERROR_VALUE, OW_FAULT_ERROR,
                            "write for example with: diesel", "it is not said what is added");
        } else if (ow_reader_expect(reader, with, OW_NODE_SCALAR, name, "with")) {
            (void)ow_reader_name(reader, with, "with", step->as.blend.with, name);
        }
    }
    if (ow_yard_find_step(yard, name) >= 0) {
        ow_reader_fault(reader, named, name, OW_ERROR_VALUE, OW_FAULT_ERROR,
                        "give each step a name of its own", "two steps have this name");
        return;
    }
    yard->step_count++;
}

static void read_steps(OwReader *reader, const OwTextNode *root, YardRead *read) {
    const OwTextNode *list = ow_node_get(root, "steps");
    if (list == NULL) {
        ow_reader_fault(reader, root, NULL, OW_ERROR_VALUE, OW_FAULT_ERROR,
                        "write steps: and below it - settle: first rest", "the steps section is missing");
        return;
    }
    if (!ow_reader_expect(reader, list, OW_NODE_LIST, NULL, "steps")) {
        return;
    }
    for (const OwTextNode *n = list->first; n != NULL; n = n->next) {
        if (read->yard->step_count == OW_YARD_MAX_STEPS) {
            ow_reader_fault(reader, n, NULL, OW_ERROR_VALUE, OW_FAULT_ERROR, "join some of them",
                            "a yard has at most %d steps", OW_YARD_MAX_STEPS);
            return;
        }
        read_step(reader, n, read);
    }
    if (list->first == NULL) {
        ow_reader_fault(reader, list, NULL, OW_ERROR_VALUE, OW_FAULT_ERROR, "write - settle: first rest",
                        "a yard has at least one step");
    }
}

static void read_yard(OwReader *reader, const OwTextNode *root, void *context) {
    YardRead *read = context;
    if (!ow_reader_expect(reader, root, OW_NODE_MAP, NULL, "a yard file")) {
        return;
    }
    ow_reader_map(reader, root, NULL, 0, own_sections, NULL, NULL, NULL); // unknown and double sections
    read_head(reader, root, read->yard);
    read_oil(reader, root, read->yard);
    for (const OwSection *section = ow_yard_plan_sections(); section->name != NULL; section++) {
        const OwTextNode *node = ow_node_get(root, section->name);
        if (node != NULL && ow_reader_expect(reader, node, OW_NODE_MAP, NULL, section->name)) {
            ow_reader_map(reader, node, &section->fields, 1, section->special, NULL,
                          (char *)read->yard + section->offset, NULL);
        }
    }
    read_vessels(reader, root, read);
    read_steps(reader, root, read);
}

OwStatus ow_yard_read_text(const char *text, size_t size, const char *name, OwUnits *units, OwYard **yard,
                           OwFaults *faults) {
    if (yard == NULL) {
        return OW_ERROR_USE;
    }
    *yard = NULL;
    if ((text == NULL && size > 0) || units == NULL || faults == NULL) {
        return OW_ERROR_USE;
    }
    const size_t start = faults->count;
    YardRead read = {0};
    OwRig *rig = NULL; // the oil's readers fill a rig
    OwStatus status = ow_yard_create(&read.yard);
    if (status == OW_OK) {
        status = ow_rig_create(&rig);
    }
    if (status == OW_OK) {
        (void)ow_text_copy(read.yard->file, sizeof read.yard->file, name != NULL ? name : "yard");
        status = ow_sheet_read_text(text, size, read.yard->file, units, rig, read_yard, &read, faults);
    }
    if (status == OW_OK) {
        status = ow_yard_check(read.yard, faults);
        ow_sheet_sort(faults, start);
    }
    ow_rig_destroy(&rig);
    if (status != OW_OK) {
        ow_yard_destroy(&read.yard);
    }
    *yard = read.yard;
    return status;
}

OwStatus ow_yard_read_file(const char *path, OwUnits *units, OwYard **yard, OwFaults *faults) {
    if (yard == NULL) {
        return OW_ERROR_USE;
    }
    *yard = NULL;
    if (path == NULL || units == NULL || faults == NULL) {
        return OW_ERROR_USE;
    }
    char *text = NULL;
    size_t size = 0;
    OwStatus status = ow_sheet_load(path, &text, &size, faults);
    if (status == OW_OK) {
        status = ow_yard_read_text(text, size, path, units, yard, faults);
    }
    free(text);
    return status;
}
