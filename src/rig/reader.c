// SPDX-License-Identifier: GPL-3.0-or-later
// Faults with places, maps by tables, names: what every section's reader uses.
#include "rig/reader.h"
#include "base/text.h"

#include <stdarg.h>
#include <stdio.h>
#include <string.h>

void ow_reader_fault(OwReader *reader, const OwTextNode *at, const char *part, OwStatus status,
                     OwSeverity severity, const char *remedy, const char *format, ...) {
    if (severity == OW_FAULT_ERROR && reader->first == OW_OK) {
        reader->first = status;
    }
    OwFault fault = {.status = status, .severity = severity};
    if (reader->listed >= OW_RIG_MAX_FAULTS) {
        reader->faults->errors += severity == OW_FAULT_ERROR ? 1 : 0;
        return;
    }
    if (++reader->listed == OW_RIG_MAX_FAULTS) {
        fault.severity = OW_FAULT_ERROR;
        (void)snprintf(fault.message, sizeof fault.message, "there are more faults than are listed");
        (void)snprintf(fault.remedy, sizeof fault.remedy, "mend these first");
    } else {
        char message[400];
        va_list arguments;
        va_start(arguments, format);
        (void)vsnprintf(message, sizeof message, format, arguments);
        va_end(arguments);
        (void)ow_text_copy(fault.message, sizeof fault.message, message);
        (void)ow_text_copy(fault.remedy, sizeof fault.remedy, remedy != NULL ? remedy : "");
        (void)ow_text_copy(fault.part, sizeof fault.part, part != NULL ? part : "");
        if (at != NULL) {
            fault.line = at->line;
            fault.column = at->column;
        }
    }
    (void)ow_text_copy(fault.file, sizeof fault.file, reader->file);
    if (ow_faults_add(reader->faults, &fault) == OW_ERROR_MEMORY) {
        reader->is_out_of_memory = true;
    }
}

const OwTextNode *ow_node_get(const OwTextNode *map, const char *key) {
    for (const OwTextNode *n = map->first; n != NULL; n = n->next) {
        if (n->key != NULL && strcmp(n->key->text, key) == 0) {
            return n;
        }
    }
    return NULL;
}

bool ow_reader_expect(OwReader *reader, const OwTextNode *node, OwNodeType type, const char *part,
                      const char *what) {
    static const char *const wanted[] = {"one value", "keys and values", "a list"};
    static const char *const remedies[] = {"write it on one line after the colon",
                                           "write each on a line of its own: key: value",
                                           "begin each entry with \"- \""};
    if (node->type == type) {
        return true;
    }
    ow_reader_fault(reader, node, part, OW_ERROR_VALUE, OW_FAULT_ERROR, remedies[type], "%s wants %s", what,
                    wanted[type]);
    return false;
}

bool ow_reader_quantity(OwReader *reader, const OwTextNode *node, const OwField *like, double *si,
                        const char *part) {
    char wrong[256], remedy[256];
    if (!ow_reader_expect(reader, node, OW_NODE_SCALAR, part, like->key)) {
        return false;
    }
    const OwStatus status = ow_quantity_read(node->text, reader->units, like, si, wrong, remedy);
    if (status != OW_OK) {
        ow_reader_fault(reader, node, part, status, OW_FAULT_ERROR, remedy, "%s", wrong);
    }
    return status == OW_OK;
}

bool ow_reader_name(OwReader *reader, const OwTextNode *node, const char *what, char *out, const char *part) {
    if (!ow_reader_expect(reader, node, OW_NODE_SCALAR, part, what)) {
        return false;
    }
    if (node->text[0] == '\0') {
        ow_reader_fault(reader, node, part, OW_ERROR_VALUE, OW_FAULT_ERROR, "write a name after the colon",
                        "%s is empty", what);
        return false;
    }
    if (strlen(node->text) >= OW_NAME_SIZE) {
        ow_reader_fault(reader, node, part, OW_ERROR_VALUE, OW_FAULT_ERROR, "use a shorter one",
                        "%s is longer than %d bytes", what, OW_NAME_SIZE - 1);
        return false;
    }
    for (const char *c = node->text; *c != '\0'; c++) {
        if ((unsigned char)*c < ' ' || *c == 127) {
            ow_reader_fault(reader, node, part, OW_ERROR_VALUE, OW_FAULT_ERROR, "use plain text",
                            "%s holds a control character", what);
            return false;
        }
    }
    memcpy(out, node->text, strlen(node->text) + 1);
    return true;
}

static bool is_special(const OwSpecialKey *special, const char *key) {
    for (; special != NULL && special->key != NULL; special++) {
        if (strcmp(special->key, key) == 0) {
            return true;
        }
    }
    return false;
}

void ow_reader_map(OwReader *reader, const OwTextNode *map, const OwFieldTable *tables, int table_count,
                   const OwSpecialKey *special, const OwTextNode *own, void *base, const char *part) {
    char wrong[256], remedy[256];
    for (const OwTextNode *n = map->first; n != NULL; n = n->next) {
        const char *key = n->key->text;
        const OwTextNode *earlier = ow_node_get(map, key);
        if (earlier != n) {
            ow_reader_fault(reader, n->key, part, OW_ERROR_VALUE, OW_FAULT_ERROR, "keep one of them",
                            "\"%.60s\" is given twice (first on line %d)", key, earlier->key->line);
            continue;
        }
        if (n->key == own || is_special(special, key)) {
            continue;
        }
        const OwField *field = NULL;
        for (int t = 0; t < table_count && field == NULL; t++) {
            field = ow_field_find(tables[t], key);
        }
        if (field == NULL) {
            ow_key_remedy(key, tables, table_count, special, remedy);
            if (key[0] >= '0' && key[0] <= '9' && n->type == OW_NODE_SCALAR && n->text[0] == '\0') {
                ow_remedy_near(remedy, NULL, "a comma is not used in numbers: write 0.5, with a point");
            }
            ow_reader_fault(reader, n->key, part, OW_ERROR_VALUE, OW_FAULT_ERROR, remedy,
                            "unknown key \"%.60s\"", key);
            continue;
        }
        if (!ow_reader_expect(reader, n, OW_NODE_SCALAR, part, key)) {
            continue;
        }
        const OwStatus status = ow_field_read(field, n->text, reader->units, base, wrong, remedy);
        if (status != OW_OK) {
            ow_reader_fault(reader, n, part, status, OW_FAULT_ERROR, remedy, "%s", wrong);
        }
    }
}

void ow_remedy_near(char remedy[256], const char *near, const char *otherwise) {
    if (near != NULL) {
        (void)snprintf(remedy, 256, "did you mean \"%s\"?", near);
    } else {
        (void)ow_text_copy(remedy, 256, otherwise);
    }
}

static const char *part_name_at(const void *context, size_t i) {
    const OwRig *rig = context;
    return rig->parts[i].name;
}

void ow_reader_part_remedy(const OwReader *reader, const char *name, char remedy[256]) {
    const char *near = ow_text_nearest_by(name, (size_t)reader->rig->part_count, part_name_at, reader->rig);
    ow_remedy_near(remedy, near, "use a name from the parts section");
}

int ow_reader_part(OwReader *reader, const OwTextNode *at, const char *name) {
    const int i = ow_rig_find(reader->rig, name);
    if (i >= 0) {
        return i;
    }
    for (int k = 0; k < reader->lost_count; k++) {
        if (strcmp(reader->lost[k], name) == 0) {
            return -1;
        }
    }
    char remedy[256];
    ow_reader_part_remedy(reader, name, remedy);
    ow_reader_fault(reader, at, NULL, OW_ERROR_VALUE, OW_FAULT_ERROR, remedy,
                    "there is no part named \"%.60s\"", name);
    return -1;
}
