// SPDX-License-Identifier: GPL-3.0-or-later
// One value changed from the command line, by the same tables as the file.
#include "base/text.h"
#include "oilwright/oil.h"
#include "rig/read_electrics.h"
#include "rig/reader.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define TEXT_SIZE 320

static OwStatus refuse(OwFaults *faults, OwStatus status, const char *part, const char *remedy,
                       const char *message) {
    return ow_faults_tell(faults, status, OW_FAULT_ERROR, "--set", part, message, remedy);
}

static OwStatus set_field(const OwFieldTable *tables, int table_count, const OwSpecialKey *special,
                          const char *key, const char *value, void *base, const char *part, OwUnits *units,
                          OwFaults *faults) {
    char wrong[256], remedy[256];
    const OwField *field = NULL;
    for (int t = 0; t < table_count && field == NULL; t++) {
        field = ow_field_find(tables[t], key);
    }
    if (field == NULL) {
        char message[256];
        for (int i = 0; special != NULL && special[i].key != NULL; i++) {
            if (strcmp(special[i].key, key) == 0) {
                (void)snprintf(message, sizeof message, "\"%.60s\" cannot be set this way", key);
                return refuse(faults, OW_ERROR_VALUE, part, "change it in the file", message);
            }
        }
        (void)snprintf(message, sizeof message, "unknown key \"%.60s\"", key);
        ow_key_remedy(key, tables, table_count, special, remedy);
        return refuse(faults, OW_ERROR_VALUE, part, remedy, message);
    }
    const OwStatus status = ow_field_read(field, value, units, base, wrong, remedy);
    return status == OW_OK ? OW_OK : refuse(faults, status, part, remedy, wrong);
}

/// "start at" of a valve is a name, not a number.
static OwStatus set_start(OwValve *valve, const char *value, const char *part, OwFaults *faults) {
    for (int i = 0; i < valve->position_count; i++) {
        if (strcmp(valve->position[i], value) == 0) {
            valve->start_position = i;
            return OW_OK;
        }
    }
    return refuse(faults, OW_ERROR_VALUE, part, "use a name from its positions",
                  "start at: the valve has no such position");
}

/// The heater of a part, or of "name.thermostat" with the length of that name.
static OwElement *find_heater(OwElements *elements, const char *name, size_t length) {
    for (int i = 0; elements != NULL && i < elements->count; i++) {
        if (strlen(elements->items[i].name) == length &&
            strncmp(elements->items[i].name, name, length) == 0) {
            return &elements->items[i];
        }
    }
    return NULL;
}

/// "part/heater.key", and as the file nests it "part/heater.thermostat.key".
static OwStatus set_in_heater(OwPart *part, const char *heater, const char *key, const char *value,
                              OwUnits *units, OwFaults *faults) {
    static const char nested[] = ".thermostat";
    OwElements *elements = ow_part_elements(part);
    const OwFieldTable tables[] = {ow_thermostat_fields(), ow_element_fields()};
    size_t length = strlen(heater);
    OwElement *element = find_heater(elements, heater, length);
    const bool is_nested = element == NULL && length > sizeof nested - 1 &&
                           strcmp(heater + length - (sizeof nested - 1), nested) == 0;
    if (is_nested) {
        length -= sizeof nested - 1;
        element = find_heater(elements, heater, length);
    }
    if (element == NULL) {
        char remedy[256], message[256];
        size_t used = (size_t)snprintf(remedy, sizeof remedy, "%s",
                                       elements != NULL && elements->count > 0 ? "its heaters are: " : "");
        for (int i = 0; elements != NULL && i < elements->count && used < sizeof remedy; i++) {
            used += (size_t)snprintf(remedy + used, sizeof remedy - used, "%s%.60s", i > 0 ? ", " : "",
                                     elements->items[i].name);
        }
        (void)snprintf(message, sizeof message, "it has no heater named \"%.*s\"",
                       length > 60 ? 60 : (int)length, heater);
        return refuse(faults, OW_ERROR_VALUE, part->name, used > 0 ? remedy : "give it one in the file",
                      message);
    }
    if (!is_nested && strcmp(key, "thermostat") == 0) {
        if (strcmp(value, "none") == 0) {
            element->has_thermostat = false;
            return OW_OK;
        }
        return refuse(faults, OW_ERROR_VALUE, part->name,
                      "write thermostat.opens=80 degC, thermostat.closes=72 degC or thermostat=none",
                      "a thermostat has two temperatures, not one value");
    }
    const OwStatus status =
        set_field(tables, is_nested ? 1 : 2, NULL, key, value, element, part->name, units, faults);
    element->has_thermostat =
        element->has_thermostat || (status == OW_OK && ow_field_find(tables[0], key) != NULL);
    return status;
}

static OwStatus set_in_part(OwPart *part, const char *heater, const char *key, const char *value,
                            OwUnits *units, OwFaults *faults) {
    if (heater != NULL) {
        return set_in_heater(part, heater, key, value, units, faults);
    }
    if (part->kind == OW_PART_VALVE && strcmp(key, "start at") == 0) {
        return set_start(&part->as.valve, value, part->name, faults);
    }
    const OwKindWord *word = ow_kind_word_of(part);
    const OwFieldTable tables[] = {ow_common_fields(), word->fields};
    return set_field(tables, 2, word->special, key, value, part, part->name, units, faults);
}

/// The maps below electrics: "electrics.starter battery.age", "starter battery.age"; also alternator and
/// wiring.
static OwStatus set_in_wiring(OwRig *rig, const char *owner, const char *key, const char *value,
                              OwUnits *units, OwFaults *faults, bool *is_wiring) {
    static const char section[] = "electrics.";
    const char *name = strncmp(owner, section, sizeof section - 1) == 0 ? owner + sizeof section - 1 : owner;
    OwElectricSpec *spec = rig->electric_spec;
    const struct {
        const char *name;
        void *base;
    } maps[] = {{"starter battery", spec != NULL ? &spec->battery : NULL},
                {"alternator", spec != NULL ? &spec->alternator : NULL},
                {"wiring", spec}};
    *is_wiring = false;
    for (size_t i = 0; i < sizeof maps / sizeof maps[0]; i++) {
        if (strcmp(maps[i].name, name) != 0 || ow_rig_find(rig, owner) >= 0) {
            continue;
        }
        *is_wiring = true;
        if (spec == NULL) {
            return refuse(faults, OW_ERROR_VALUE, name, "describe it in the file, electrics",
                          "the rig's wiring is not described");
        }
        for (const OwElectricTable *t = ow_electric_tables(); t->title != NULL; t++) {
            if (strcmp(t->title, name) == 0) {
                return set_field(&t->fields, 1, NULL, key, value, maps[i].base, name, units, faults);
            }
        }
    }
    return OW_OK;
}

static OwStatus set_oil(OwRig *rig, const char *value, OwFaults *faults) {
    OwOilSpec spec = {0};
    if (!ow_text_copy(spec.name, sizeof spec.name, value)) {
        return refuse(faults, OW_ERROR_VALUE, "oil", "use a known oil's name", "the name is too long");
    }
    OwFluid *fluid = malloc(sizeof *fluid);
    if (fluid == NULL) {
        return OW_ERROR_MEMORY;
    }
    const OwStatus status = ow_oil_make(&spec, fluid, faults);
    free(fluid);
    if (status == OW_OK) {
        rig->fluid_spec[0] = spec;
    }
    return status;
}

static OwStatus change(OwRig *rig, const char *target, const char *value, OwUnits *units, OwFaults *faults) {
    if (strcmp(target, "oil") == 0) {
        return set_oil(rig, value, faults);
    }
    const bool is_drive = strcmp(target, "drive") == 0;
    const char *point = is_drive ? target + strlen(target) : strrchr(target, '.');
    if (point == NULL) {
        return refuse(faults, OW_ERROR_VALUE, "", "write section.key=value or part.key=value",
                      "no key is named");
    }
    char owner[TEXT_SIZE];
    (void)snprintf(owner, sizeof owner, "%.*s", (int)(point - target), target);
    const char *key = is_drive ? "cycle" : point + 1;
    for (const OwSection *section = ow_sections(); section->name != NULL; section++) {
        if (strcmp(section->name, owner) == 0) {
            return set_field(&section->fields, 1, section->special, key, value, (char *)rig + section->offset,
                             owner, units, faults);
        }
    }
    bool is_wiring = false;
    const OwStatus wiring = set_in_wiring(rig, owner, key, value, units, faults, &is_wiring);
    if (is_wiring) {
        return wiring;
    }
    int part = ow_rig_find(rig, owner);
    const char *heater = NULL;
    if (part < 0) {
        char *slash = strrchr(owner, '/');
        if (slash != NULL) {
            *slash = '\0';
            heater = slash + 1;
            part = ow_rig_find(rig, owner);
        }
    }
    if (part < 0) {
        OwReader reader = {.rig = rig};
        char remedy[256], message[256];
        ow_reader_part_remedy(&reader, owner, remedy);
        (void)snprintf(message, sizeof message, "there is no section or part named \"%.60s\"", owner);
        return refuse(faults, OW_ERROR_VALUE, "", remedy, message);
    }
    return set_in_part(&rig->parts[part], heater, key, value, units, faults);
}

OwStatus ow_rig_override(OwRig *rig, const char *section_key_value, OwUnits *units, OwFaults *faults) {
    if (rig == NULL || section_key_value == NULL || units == NULL || faults == NULL) {
        return OW_ERROR_USE;
    }
    const char *equals = strchr(section_key_value, '=');
    if (equals == NULL || strlen(section_key_value) >= TEXT_SIZE) {
        return refuse(faults, OW_ERROR_VALUE, "", "write for example climate.ambient=-10 degC",
                      "there is no = in it, or it is too long");
    }
    char target[TEXT_SIZE], value[TEXT_SIZE];
    (void)snprintf(target, sizeof target, "%.*s", (int)(equals - section_key_value), section_key_value);
    (void)snprintf(value, sizeof value, "%s", equals + 1);
    // Work on the rig itself and put it back when the whole is no longer legal.
    const size_t part_bytes = (size_t)rig->part_count * sizeof(OwPart);
    OwRig *kept = malloc(sizeof *kept + part_bytes);
    if (kept == NULL) {
        return OW_ERROR_MEMORY;
    }
    *kept = *rig;
    if (part_bytes > 0) {
        memcpy(kept + 1, rig->parts, part_bytes);
    }
    OwElectricSpec *wiring = NULL;
    if (rig->electric_spec != NULL) {
        wiring = malloc(sizeof *wiring);
        if (wiring == NULL) {
            free(kept);
            return OW_ERROR_MEMORY;
        }
        *wiring = *rig->electric_spec;
    }
    OwStatus status = change(rig, target, value, units, faults);
    if (status == OW_OK) {
        OwFaults again = {0};
        status = ow_rig_check(rig, &again);
        for (size_t i = 0; status != OW_OK && i < again.count; i++) {
            if (again.items[i].severity == OW_FAULT_ERROR &&
                ow_faults_add(faults, &again.items[i]) != OW_OK) {
                status = OW_ERROR_MEMORY;
            }
        }
        ow_faults_clear(&again);
    }
    if (status != OW_OK) {
        *rig = *kept;
        if (part_bytes > 0) {
            memcpy(rig->parts, kept + 1, part_bytes);
        }
        if (wiring != NULL) {
            *rig->electric_spec = *wiring;
        }
    }
    free(wiring);
    free(kept);
    return status;
}
