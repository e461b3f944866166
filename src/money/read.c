// SPDX-License-Identifier: GPL-3.0-or-later
// Reads a cost file: sections of values with their spreads, all faults together; and single changes.
#include "base/text.h"
#include "money/money_impl.h"
#include "rig/sheet.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const OwSpecialKey sections[] = {
    {"name", ""}, {"currency", ""}, {"notes", ""},  {"fuel", ""},    {"distance", ""}, {"collection", ""},
    {"yard", ""}, {"vehicle", ""},  {"labour", ""}, {"finance", ""}, {NULL, NULL},
};

/// Keys of a section that hold no quantity with a spread.
typedef struct OwnKey {
    const char *section, *key;
} OwnKey;
static const OwnKey own_keys[] = {
    {"fuel", "oil"}, {"yard", "plan"}, {"labour", "counted"}, {"finance", "years"}, {"finance", "loan years"},
};
#define OWN_COUNT (sizeof own_keys / sizeof own_keys[0])
#define MAX_KEYS 24

static bool is_in(OwCostInput input, const char *section) {
    const size_t n = strlen(section);
    return strncmp(ow_cost_rows[input].path, section, n) == 0 && ow_cost_rows[input].path[n] == '.';
}

static int find_input(const char *section, const char *key) {
    for (int i = 0; i < OW_COST_INPUTS; i++) {
        if (is_in((OwCostInput)i, section) && strcmp(strchr(ow_cost_rows[i].path, '.') + 1, key) == 0) {
            return i;
        }
    }
    return -1;
}

/// All keys of a section, for the reader of maps.
static void list_keys(const char *section, OwSpecialKey keys[MAX_KEYS]) {
    int n = 0;
    for (int i = 0; i < OW_COST_INPUTS && n + 1 < MAX_KEYS; i++) {
        if (is_in((OwCostInput)i, section)) {
            keys[n++] = (OwSpecialKey){strchr(ow_cost_rows[i].path, '.') + 1, ""};
        }
    }
    for (size_t i = 0; i < OWN_COUNT && n + 1 < MAX_KEYS; i++) {
        if (strcmp(own_keys[i].section, section) == 0) {
            keys[n++] = (OwSpecialKey){own_keys[i].key, ""};
        }
    }
    keys[n] = (OwSpecialKey){NULL, NULL};
}

OwStatus ow_cost_oil_ratio(const char *oil, double *ratio, OwFaults *faults) {
    OwFluid *fluids = calloc(2, sizeof *fluids);
    if (fluids == NULL) {
        return OW_ERROR_MEMORY;
    }
    OwOilSpec spec = {0}, diesel = {.name = "diesel"};
    OwStatus status = ow_text_copy(spec.name, sizeof spec.name, oil) ? OW_OK : OW_ERROR_VALUE;
    status = status == OW_OK ? ow_oil_make(&spec, &fluids[0], faults) : status;
    status = status == OW_OK ? ow_oil_make(&diesel, &fluids[1], faults) : status;
    if (status == OW_OK) {
        const double at_k = OW_ZERO_CELSIUS_K + 15.0;
        const double oil_j_m3 = fluids[0].net_heat_j_kg * ow_curve_value(&fluids[0].density_kg_m3, at_k);
        const double diesel_j_m3 = fluids[1].net_heat_j_kg * ow_curve_value(&fluids[1].density_kg_m3, at_k);
        *ratio = oil_j_m3 / diesel_j_m3;
    }
    free(fluids);
    return status;
}

/// A change to a plan in words; `why` and `remedy` on failure.
typedef struct Change {
    OwCostPlan *plan;
    OwUnits *units;
    char why[256], remedy[256];
} Change;

static OwStatus refuse(Change *change, const char *key, const char *text, const char *what,
                       const char *right) {
    (void)snprintf(change->why, sizeof change->why, "%s: \"%.60s\" %s", key, text, what);
    (void)ow_text_copy(change->remedy, sizeof change->remedy, right);
    return OW_ERROR_VALUE;
}

static bool is_plain(const char *text) {
    for (const char *c = text; *c != '\0'; c++) {
        if ((unsigned char)*c < ' ' || *c == 127) {
            return false;
        }
    }
    return true;
}

static OwStatus set_name(Change *change, const char *key, const char *text, char *out, size_t size) {
    if (text[0] == '\0' || strlen(text) >= size || !is_plain(text)) {
        return refuse(change, key, text, "is no name", "write one short plain line");
    }
    memcpy(out, text, strlen(text) + 1);
    return OW_OK;
}

static OwStatus set_years(Change *change, const char *key, const char *text, int most, int *out) {
    double years = 0.0;
    const OwStatus status =
        ow_cost_quantity_read(text, OW_KIND_YEARS, change->units, &years, change->why, change->remedy);
    if (status != OW_OK || !(years >= 1.0 && years <= most) || years != (double)(int)years) {
        char right[64];
        (void)snprintf(right, sizeof right, "give 1 to %d whole years", most);
        return refuse(change, key, text, "is no number of years", right);
    }
    *out = (int)years;
    return OW_OK;
}

static OwStatus set_oil(Change *change, const char *text) {
    OwFaults faults = {0};
    double ratio = 0.0;
    char name[OW_COST_NAME];
    OwStatus status = set_name(change, "oil", text, name, sizeof name);
    if (status != OW_OK) {
        return status;
    }
    status = ow_cost_oil_ratio(name, &ratio, &faults);
    if (status == OW_ERROR_VALUE || status == OW_ERROR_RANGE) {
        status =
            refuse(change, "oil", text, "is no known oil",
                   faults.count > 0 && faults.items[0].remedy[0] != '\0' ? faults.items[0].remedy
                                                                         : "name one of `oilwright oil`");
    }
    ow_faults_clear(&faults);
    if (status == OW_OK) {
        memcpy(change->plan->oil, name, sizeof name);
        OwCostValue *value = &change->plan->inputs[OW_COST_ENERGY_RATIO];
        const OwCostRow *row = &ow_cost_rows[OW_COST_ENERGY_RATIO];
        // 1.5 %: what published net heats of one oil differ by (assumed).
        if (value->origin != OW_COST_FROM_FILE) {
            *value = (OwCostValue){.value = ratio,
                                   .low = row->least,
                                   .high = row->most,
                                   .error = 0.015 * ratio,
                                   .spread = OW_COST_BELL,
                                   .origin = OW_COST_FROM_OIL};
        }
    }
    return status;
}

static OwStatus set_counted(Change *change, const char *text) {
    static const char *const words[] = {"yes", "on", "true", "no", "off", "false"};
    for (int i = 0; i < 6; i++) {
        if (strcmp(text, words[i]) == 0) {
            change->plan->counts_hours = i < 3;
            return OW_OK;
        }
    }
    return refuse(change, "counted", text, "is neither yes nor no", "write yes or no");
}

/// One key of a section. OW_ERROR_USE: there is no such key.
static OwStatus set_key(Change *change, const char *section, const char *key, const char *text) {
    OwCostPlan *plan = change->plan;
    const int input = find_input(section, key);
    if (input >= 0) {
        return ow_cost_value_read(text, (OwCostInput)input, change->units, &plan->inputs[input], change->why,
                                  change->remedy);
    }
    if (strcmp(section, "fuel") == 0 && strcmp(key, "oil") == 0) {
        return set_oil(change, text);
    }
    if (strcmp(section, "yard") == 0 && strcmp(key, "plan") == 0) {
        return set_name(change, key, text, plan->yard, sizeof plan->yard);
    }
    if (strcmp(section, "labour") == 0 && strcmp(key, "counted") == 0) {
        return set_counted(change, text);
    }
    if (strcmp(section, "finance") == 0 && strcmp(key, "years") == 0) {
        return set_years(change, key, text, OW_COST_MAX_YEARS, &plan->years);
    }
    if (strcmp(section, "finance") == 0 && strcmp(key, "loan years") == 0) {
        return set_years(change, key, text, OW_COST_MAX_YEARS, &plan->loan_years);
    }
    return OW_ERROR_USE;
}

static void read_section(OwReader *reader, const OwTextNode *map, const char *section, OwCostPlan *plan) {
    if (!ow_reader_expect(reader, map, OW_NODE_MAP, NULL, section)) {
        return;
    }
    OwSpecialKey keys[MAX_KEYS];
    list_keys(section, keys);
    ow_reader_map(reader, map, NULL, 0, keys, NULL, NULL, section);
    for (const OwTextNode *n = map->first; n != NULL; n = n->next) {
        if (ow_node_get(map, n->key->text) != n) {
            continue; // told already
        }
        Change change = {.plan = plan, .units = reader->units};
        bool is_known = false;
        for (int i = 0; keys[i].key != NULL; i++) {
            is_known = is_known || strcmp(keys[i].key, n->key->text) == 0;
        }
        if (!is_known || !ow_reader_expect(reader, n, OW_NODE_SCALAR, section, n->key->text)) {
            continue;
        }
        const OwStatus status = set_key(&change, section, n->key->text, n->text);
        if (status == OW_ERROR_MEMORY) {
            reader->is_out_of_memory = true;
        } else if (status != OW_OK) {
            ow_reader_fault(reader, n, section, status, OW_FAULT_ERROR, change.remedy, "%s", change.why);
        }
    }
}

/// The three figures that nobody else can know.
static void warn_of_defaults(OwReader *reader, const OwTextNode *root, const OwCostPlan *plan) {
    static const OwCostInput own[] = {OW_COST_DIESEL_PRICE, OW_COST_DIESEL_USE, OW_COST_DISTANCE};
    for (size_t i = 0; i < sizeof own / sizeof own[0]; i++) {
        char text[64], remedy[256];
        if (plan->inputs[own[i]].origin != OW_COST_FROM_DEFAULT) {
            continue;
        }
        ow_cost_write(own[i], plan->inputs[own[i]].value, OW_DISPLAY_METRIC, text, sizeof text);
        const char *point = strchr(ow_cost_rows[own[i]].path, '.');
        (void)snprintf(remedy, sizeof remedy, "write your own: %.*s: {%s: ...}",
                       (int)(point - ow_cost_rows[own[i]].path), ow_cost_rows[own[i]].path, point + 1);
        ow_reader_fault(reader, root, NULL, OW_ERROR_VALUE, OW_FAULT_WARNING, remedy,
                        "%s is not given: %s is assumed", ow_cost_rows[own[i]].label, text);
    }
}

static void read_root(OwReader *reader, const OwTextNode *root, void *context) {
    OwCostPlan *plan = context;
    if (!ow_reader_expect(reader, root, OW_NODE_MAP, NULL, "a cost file")) {
        return;
    }
    ow_reader_map(reader, root, NULL, 0, sections, NULL, NULL, NULL);
    const OwTextNode *name = ow_node_get(root, "name"), *currency = ow_node_get(root, "currency"),
                     *notes = ow_node_get(root, "notes");
    if (name != NULL) {
        (void)ow_reader_name(reader, name, "name", plan->name, NULL);
    }
    if (currency != NULL) {
        (void)ow_reader_name(reader, currency, "currency", plan->currency, NULL);
    }
    if (notes != NULL) {
        (void)ow_reader_expect(reader, notes, OW_NODE_SCALAR, NULL, "notes");
    }
    for (int i = 3; sections[i].key != NULL; i++) {
        const OwTextNode *map = ow_node_get(root, sections[i].key);
        if (map != NULL) {
            read_section(reader, map, sections[i].key, plan);
        }
    }
    if (reader->first == OW_OK) {
        warn_of_defaults(reader, root, plan);
    }
}

OwStatus ow_cost_read_text(const char *text, size_t size, const char *name, OwUnits *units, OwCostPlan *plan,
                           OwFaults *faults) {
    if (plan == NULL || faults == NULL || units == NULL || (text == NULL && size > 0)) {
        return OW_ERROR_USE;
    }
    _Static_assert(OW_COST_NAME >= OW_NAME_SIZE, "names of the reader fit");
    ow_cost_default(plan);
    (void)ow_text_copy(plan->file, sizeof plan->file, name != NULL ? name : "cost file");
    const OwStatus status = ow_sheet_read_text(text, size, plan->file, units, NULL, read_root, plan, faults);
    if (status != OW_OK) {
        ow_cost_default(plan);
    }
    return status;
}

OwStatus ow_cost_read_file(const char *path, OwUnits *units, OwCostPlan *plan, OwFaults *faults) {
    if (path == NULL || units == NULL || plan == NULL || faults == NULL) {
        return OW_ERROR_USE;
    }
    char *text = NULL;
    size_t size = 0;
    OwStatus status = ow_sheet_load(path, &text, &size, faults);
    if (status == OW_OK) {
        status = ow_cost_read_text(text, size, path, units, plan, faults);
    }
    free(text);
    return status;
}

static OwStatus tell(OwFaults *faults, OwStatus status, const char *part, const char *message,
                     const char *remedy) {
    return ow_faults_tell(faults, status, OW_FAULT_ERROR, "command line", part, message, remedy);
}

OwStatus ow_cost_set(OwCostPlan *plan, const char *text, OwUnits *units, OwFaults *faults) {
    if (plan == NULL || text == NULL || units == NULL || faults == NULL) {
        return OW_ERROR_USE;
    }
    char target[256];
    const char *equals = strchr(text, '=');
    const char *point = strchr(text, '.');
    if (equals == NULL || point == NULL || point > equals || equals - text >= (long)sizeof target) {
        return tell(faults, OW_ERROR_VALUE, "--set", "no key and value are named",
                    "write section.key=value, for example \"fuel.diesel price=1.60 per L\"");
    }
    (void)snprintf(target, sizeof target, "%.*s", (int)(equals - text), text);
    target[point - text] = '\0';
    const char *key = target + (point - text) + 1;
    const char *value = equals + 1;
    OwCostPlan changed = *plan;
    Change change = {.plan = &changed, .units = units};
    OwStatus status = set_key(&change, target, key, value);
    if (status == OW_ERROR_USE) {
        OwSpecialKey keys[MAX_KEYS];
        list_keys(target, keys);
        char message[160], remedy[256];
        if (keys[0].key == NULL) {
            (void)snprintf(message, sizeof message, "there is no section \"%.60s\"", target);
            ow_key_remedy(target, NULL, 0, sections, remedy);
        } else {
            (void)snprintf(message, sizeof message, "unknown key \"%.60s\"", key);
            ow_key_remedy(key, NULL, 0, keys, remedy);
        }
        return tell(faults, OW_ERROR_VALUE, target, message, remedy);
    }
    if (status == OW_OK) {
        *plan = changed;
    } else if (status != OW_ERROR_MEMORY) {
        status = tell(faults, status, target, change.why, change.remedy);
    }
    return status;
}

int ow_cost_learn(OwCostPlan *plan, const OwCostLearned *learned, OwCostOrigin origin, OwFaults *faults) {
    int taken = 0;
    for (int i = 0; i < OW_COST_INPUTS; i++) {
        if (!learned->has[i]) {
            continue;
        }
        const OwCostRow *row = &ow_cost_rows[i];
        const double value = learned->value[i], error = learned->error[i];
        if (!(value >= row->least && value <= row->most) || !(error >= 0.0) || error > 1e30) {
            char text[64];
            OwFault fault = {.status = OW_ERROR_RANGE, .severity = OW_FAULT_WARNING};
            ow_cost_quantity_write(value, row->kind, OW_DISPLAY_METRIC, text, sizeof text);
            (void)ow_text_copy(fault.file, sizeof fault.file, ow_cost_origin_text(origin));
            (void)ow_text_copy(fault.part, sizeof fault.part, row->path);
            (void)snprintf(fault.message, sizeof fault.message, "%s is out of range and is left out", text);
            (void)ow_text_copy(fault.remedy, sizeof fault.remedy, "look for a wrong entry");
            (void)ow_faults_add(faults, &fault);
            continue;
        }
        plan->inputs[i] =
            error > 0.0
                ? (OwCostValue){.value = value,
                                .low = row->least,
                                .high = row->most,
                                .error = error,
                                .spread = OW_COST_BELL,
                                .origin = origin}
                : (OwCostValue){
                      .value = value, .low = value, .high = value, .spread = OW_COST_PLAIN, .origin = origin};
        taken++;
    }
    return taken;
}
