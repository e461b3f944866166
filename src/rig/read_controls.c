// SPDX-License-Identifier: GPL-3.0-or-later
// The controls section: what is set to what, and when.
#include "base/text.h"
#include "rig/reader.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

static const OwSpecialKey rule_keys[] = {{"set", ""}, {"to", ""}, {"when", ""}, {NULL, NULL}};

static const char *element_at(const void *context, size_t i) {
    const OwElements *elements = context;
    return elements->items[i].name;
}

static const char *position_at(const void *context, size_t i) {
    const OwValve *valve = context;
    return valve->position[i];
}

/// "part" or "part/heater".
static bool read_target(OwReader *reader, const OwTextNode *node, OwRule *rule) {
    const OwRig *rig = reader->rig;
    rule->element = -1;
    rule->target = ow_rig_find(rig, node->text);
    if (rule->target >= 0) {
        return true;
    }
    const char *slash = strrchr(node->text, '/');
    char name[2 * OW_NAME_SIZE];
    if (slash == NULL || (size_t)(slash - node->text) >= sizeof name) {
        rule->target = ow_reader_part(reader, node, node->text);
        return rule->target >= 0;
    }
    (void)snprintf(name, sizeof name, "%.*s", (int)(slash - node->text), node->text);
    rule->target = ow_reader_part(reader, node, name);
    if (rule->target < 0) {
        return false;
    }
    const OwElements *elements = ow_part_elements_const(&rig->parts[rule->target]);
    for (int i = 0; elements != NULL && i < elements->count; i++) {
        if (strcmp(elements->items[i].name, slash + 1) == 0) {
            rule->element = i;
            return true;
        }
    }
    char remedy[256];
    const char *near = elements != NULL
                           ? ow_text_nearest_by(slash + 1, (size_t)elements->count, element_at, elements)
                           : NULL;
    ow_remedy_near(remedy, near, "name one of the part's heaters, or the part alone");
    ow_reader_fault(reader, node, name, OW_ERROR_VALUE, OW_FAULT_ERROR, remedy,
                    "it has no heater named \"%.60s\"", slash + 1);
    return false;
}

static bool read_to(OwReader *reader, const OwTextNode *node, OwRule *rule) {
    const OwPart *part = &reader->rig->parts[rule->target];
    if (part->kind == OW_PART_VALVE && rule->element < 0) {
        for (int i = 0; i < part->as.valve.position_count; i++) {
            if (strcmp(part->as.valve.position[i], node->text) == 0) {
                rule->position = i;
                return true;
            }
        }
        char remedy[256];
        ow_remedy_near(remedy,
                       ow_text_nearest_by(node->text, (size_t)part->as.valve.position_count, position_at,
                                          &part->as.valve),
                       "use a name from its positions");
        ow_reader_fault(reader, node, part->name, OW_ERROR_VALUE, OW_FAULT_ERROR, remedy,
                        "to: the valve has no position \"%.60s\"", node->text);
        return false;
    }
    if (rule->element < 0 && part->kind != OW_PART_ELECTRIC_PUMP) {
        ow_reader_fault(reader, node, part->name, OW_ERROR_VALUE, OW_FAULT_ERROR,
                        "set a valve, an electric pump or a heater (part/heater name)",
                        "a %s cannot be switched", ow_part_kind_name(part->kind));
        return false;
    }
    if (strcmp(node->text, "on") == 0 || strcmp(node->text, "off") == 0) {
        rule->position = strcmp(node->text, "on") == 0 ? 1 : 0;
        return true;
    }
    ow_reader_fault(reader, node, part->name, OW_ERROR_VALUE, OW_FAULT_ERROR, "write on or off",
                    "to: \"%.60s\" is neither on nor off", node->text);
    return false;
}

static bool ends_with(const char *text, const char *end) {
    const size_t n = strlen(text), m = strlen(end);
    return n >= m && strcmp(text + n - m, end) == 0;
}

/// The last place of " word " in a text.
static const char *find_last(const char *text, const char *word) {
    const char *found = NULL;
    for (const char *p = strstr(text, word); p != NULL; p = strstr(p + 1, word)) {
        found = p;
    }
    return found;
}

static bool read_level(OwReader *reader, const OwTextNode *node, const char *word, const char *at,
                       OwRule *rule) {
    static const OwField like = {
        "when", OW_FIELD_REAL, OW_Q_TEMPERATURE, 0, 0, 223.15, 573.15, NULL, NULL, false, ""};
    char name[256], wrong[256], remedy[256];
    (void)snprintf(name, sizeof name, "%.*s", (int)(at - node->text), node->text);
    if (strcmp(name, "coolant") == 0) {
        rule->watch = OW_WATCH_COOLANT;
    } else {
        rule->watch = ow_reader_part(reader, node, name);
        if (rule->watch < 0) {
            return false;
        }
        if (!ow_part_holds_oil(reader->rig->parts[rule->watch].kind)) {
            ow_reader_fault(reader, node, name, OW_ERROR_VALUE, OW_FAULT_ERROR,
                            "watch a part that holds oil, or coolant",
                            "no oil temperature can be felt in a %s",
                            ow_part_kind_name(reader->rig->parts[rule->watch].kind));
            return false;
        }
    }
    const OwStatus status =
        ow_quantity_read(at + strlen(word), reader->units, &like, &rule->level_k, wrong, remedy);
    if (status != OW_OK) {
        ow_reader_fault(reader, node, NULL, status, OW_FAULT_ERROR, remedy, "%s", wrong);
    }
    return status == OW_OK;
}

static bool read_when(OwReader *reader, const OwTextNode *node, OwRule *rule) {
    static const struct {
        const char *end;
        OwTrigger trigger;
    } phrases[] = {{" after key on", OW_TRIGGER_AFTER_KEY},
                   {" after start", OW_TRIGGER_AFTER_START},
                   {" before stop", OW_TRIGGER_BEFORE_STOP}};
    static const OwField like = {"when", OW_FIELD_REAL, OW_Q_TIME, 0, 0, 0.0, 604800.0, "s", NULL, false, ""};
    rule->watch = OW_WATCH_COOLANT;
    if (strcmp(node->text, "key on") == 0 || strcmp(node->text, "start") == 0) {
        rule->trigger = node->text[0] == 'k' ? OW_TRIGGER_AFTER_KEY : OW_TRIGGER_AFTER_START;
        return true;
    }
    for (int i = 0; i < 3; i++) {
        if (!ends_with(node->text, phrases[i].end)) {
            continue;
        }
        char time[128], wrong[256], remedy[256];
        (void)snprintf(time, sizeof time, "%.*s", (int)(strlen(node->text) - strlen(phrases[i].end)),
                       node->text);
        rule->trigger = phrases[i].trigger;
        const OwStatus status = ow_quantity_read(time, reader->units, &like, &rule->delay_s, wrong, remedy);
        if (status != OW_OK) {
            ow_reader_fault(reader, node, NULL, status, OW_FAULT_ERROR, remedy, "%s", wrong);
        }
        return status == OW_OK;
    }
    const char *above = find_last(node->text, " above "), *below = find_last(node->text, " below ");
    if (above != NULL && (below == NULL || above > below)) {
        rule->trigger = OW_TRIGGER_ABOVE;
        return read_level(reader, node, " above ", above, rule);
    }
    if (below != NULL) {
        rule->trigger = OW_TRIGGER_BELOW;
        return read_level(reader, node, " below ", below, rule);
    }
    ow_reader_fault(reader, node, NULL, OW_ERROR_VALUE, OW_FAULT_ERROR,
                    "write \"30 s after key on\", \"20 s after start\", \"90 s before stop\", \"coolant "
                    "above 70 degC\" or "
                    "\"filter below 40 degC\"",
                    "when: \"%.60s\" is not understood", node->text);
    return false;
}

void ow_read_controls(OwReader *reader, const OwTextNode *list) {
    OwRig *rig = reader->rig;
    if (!ow_reader_expect(reader, list, OW_NODE_LIST, NULL, "controls")) {
        return;
    }
    if (list->count > OW_RIG_MAX_RULES) {
        ow_reader_fault(reader, list, NULL, OW_ERROR_VALUE, OW_FAULT_ERROR, NULL,
                        "a rig has at most %d controls", OW_RIG_MAX_RULES);
        return;
    }
    rig->rules = ow_arena_take(rig->arena, (size_t)list->count + 1, sizeof(OwRule));
    if (rig->rules == NULL) {
        reader->is_out_of_memory = true;
        return;
    }
    for (const OwTextNode *n = list->first; n != NULL; n = n->next) {
        if (!ow_reader_expect(reader, n, OW_NODE_MAP, NULL, "a control")) {
            continue;
        }
        ow_reader_map(reader, n, NULL, 0, rule_keys, NULL, NULL, NULL);
        OwRule rule = {.line = n->line, .column = n->column};
        const OwTextNode *nodes[3];
        bool is_whole = true;
        for (int i = 0; i < 3; i++) {
            nodes[i] = ow_node_get(n, rule_keys[i].key);
            if (nodes[i] == NULL) {
                ow_reader_fault(reader, n, NULL, OW_ERROR_VALUE, OW_FAULT_ERROR,
                                "write {set: loop valve, to: tank, when: 5 min after start}",
                                "a control needs %s", rule_keys[i].key);
                is_whole = false;
            } else {
                is_whole =
                    ow_reader_expect(reader, nodes[i], OW_NODE_SCALAR, NULL, rule_keys[i].key) && is_whole;
            }
        }
        if (!is_whole) {
            continue;
        }
        bool is_good = read_target(reader, nodes[0], &rule) && read_to(reader, nodes[1], &rule);
        is_good = read_when(reader, nodes[2], &rule) && is_good;
        if (is_good) {
            rig->rules[rig->rule_count++] = rule;
        }
    }
}
