// SPDX-License-Identifier: GPL-3.0-or-later
// Reads a whole rig file: the sections in an order that lets later ones name earlier ones.
#include "base/text.h"
#include "rig/read_electrics.h"
#include "rig/reader.h"
#include "rig/sheet.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/// The sections that have readers of their own.
static const OwSpecialKey own_sections[] = {
    {"name", ""},     {"notes", ""},  {"vehicle", ""}, {"engine", ""}, {"climate", ""},
    {"oil", ""},      {"drive", ""},  {"parts", ""},   {"lines", ""},  {"electrics", ""},
    {"controls", ""}, {"limits", ""}, {NULL, NULL},
};

static void read_head(OwReader *reader, const OwTextNode *root) {
    OwRig *rig = reader->rig;
    const OwTextNode *name = ow_node_get(root, "name"), *notes = ow_node_get(root, "notes");
    if (name != NULL) {
        (void)ow_reader_name(reader, name, "name", rig->name, NULL);
    }
    if (notes != NULL && ow_reader_expect(reader, notes, OW_NODE_SCALAR, NULL, "notes") &&
        !ow_text_copy(rig->notes, sizeof rig->notes, notes->text)) {
        ow_reader_fault(reader, notes, NULL, OW_ERROR_VALUE, OW_FAULT_WARNING,
                        "write comments (#) in the file instead", "the notes are cut after %d bytes",
                        (int)sizeof rig->notes - 1);
    }
}

static void read_section(OwReader *reader, const OwTextNode *root, const OwSection *section) {
    const OwTextNode *node = ow_node_get(root, section->name);
    if (node == NULL) {
        return;
    }
    if (strcmp(section->name, "drive") == 0) {
        ow_read_drive(reader, node, section);
        return;
    }
    if (!ow_reader_expect(reader, node, OW_NODE_MAP, NULL, section->name)) {
        return;
    }
    ow_reader_map(reader, node, &section->fields, 1, section->special, NULL,
                  (char *)reader->rig + section->offset, NULL);
    const OwTextNode *gears = strcmp(section->name, "vehicle") == 0 ? ow_node_get(node, "gears") : NULL;
    if (gears != NULL) {
        ow_read_gears(reader, gears);
    }
}

static void read_root(OwReader *reader, const OwTextNode *root) {
    if (!ow_reader_expect(reader, root, OW_NODE_MAP, NULL, "a rig file")) {
        return;
    }
    ow_reader_map(reader, root, NULL, 0, own_sections, NULL, NULL, NULL); // unknown and double sections
    read_head(reader, root);
    const OwTextNode *oil = ow_node_get(root, "oil");
    if (oil != NULL) {
        ow_read_oil(reader, oil);
    } else {
        ow_reader_fault(reader, root, NULL, OW_ERROR_VALUE, OW_FAULT_WARNING,
                        "write for example oil: rapeseed", "no oil is named: rapeseed is assumed");
    }
    for (const OwSection *section = ow_sections(); section->name != NULL; section++) {
        read_section(reader, root, section);
    }
    const OwTextNode *parts = ow_node_get(root, "parts"), *lines = ow_node_get(root, "lines"),
                     *controls = ow_node_get(root, "controls");
    if (parts == NULL) {
        ow_reader_fault(reader, root, NULL, OW_ERROR_VALUE, OW_FAULT_ERROR,
                        "write parts: and below it - tank: main tank", "the parts section is missing");
        return;
    }
    ow_read_parts(reader, parts);
    if (reader->is_out_of_memory || reader->rig->parts == NULL) {
        return;
    }
    if (lines != NULL) {
        ow_read_lines(reader, lines);
    } else if (reader->first == OW_OK) {
        ow_join_in_order(reader, parts);
    }
    if (controls != NULL && !reader->is_out_of_memory) {
        ow_read_controls(reader, controls);
    }
    if (!reader->is_out_of_memory) {
        ow_read_electrics(reader, ow_node_get(root, "electrics"));
    }
}
/// The root of a rig file.
static void read_rig(OwReader *reader, const OwTextNode *root, void *context) {
    (void)context;
    read_root(reader, root);
}

OwStatus ow_rig_read_text(const char *text, size_t size, const char *name, OwUnits *units, OwRig **rig,
                          OwFaults *faults) {
    if (rig == NULL) {
        return OW_ERROR_USE;
    }
    *rig = NULL;
    if ((text == NULL && size > 0) || units == NULL || faults == NULL) {
        return OW_ERROR_USE;
    }
    const size_t start = faults->count;
    OwRig *made = NULL;
    OwStatus status = ow_rig_create(&made);
    if (status == OW_OK) {
        (void)ow_text_copy(made->file, sizeof made->file, name != NULL ? name : "rig");
        status = ow_sheet_read_text(text, size, made->file, units, made, read_rig, NULL, faults);
    }
    if (status == OW_OK) {
        status = ow_rig_check(made, faults);
        ow_sheet_sort(faults, start);
    }
    if (status == OW_OK) {
        *rig = made;
    } else {
        ow_rig_destroy(&made);
    }
    return status;
}

OwStatus ow_rig_read_file(const char *path, OwUnits *units, OwRig **rig, OwFaults *faults) {
    if (rig == NULL) {
        return OW_ERROR_USE;
    }
    *rig = NULL;
    if (path == NULL || units == NULL || faults == NULL) {
        return OW_ERROR_USE;
    }
    char *text = NULL;
    size_t size = 0;
    OwStatus status = ow_sheet_load(path, &text, &size, faults);
    if (status == OW_OK) {
        status = ow_rig_read_text(text, size, path, units, rig, faults);
    }
    free(text);
    return status;
}
