// SPDX-License-Identifier: GPL-3.0-or-later
// One value of a yard changed from the command line, by the same tables as the file.
#include "base/text.h"
#include "rig/reader.h"
#include "yard/plan_tables.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define TEXT_SIZE 320

static OwStatus refuse(OwFaults *faults, OwStatus status, const char *part, const char *remedy,
                       const char *message) {
    return ow_faults_tell(faults, status, OW_FAULT_ERROR, "--set", part, message, remedy);
}

/// Where a key lives.
typedef struct Owner {
    OwFieldTable fields;
    const OwSpecialKey *special;
    void *base;
} Owner;

static bool find_owner(OwYard *yard, const char *name, Owner *owner) {
    for (const OwSection *section = ow_yard_plan_sections(); section->name != NULL; section++) {
        if (strcmp(section->name, name) == 0) {
            *owner = (Owner){section->fields, section->special, (char *)yard + section->offset};
            return true;
        }
    }
    const int vessel = ow_yard_find_vessel(yard, name), step = ow_yard_find_step(yard, name);
    if (strcmp(name, "oil") == 0) {
        *owner = (Owner){ow_fluid_fields(), ow_fluid_special(), &yard->oil};
    } else if (vessel >= 0) {
        *owner = (Owner){ow_vessel_fields(), NULL, &yard->vessels[vessel]};
    } else if (step >= 0) {
        const OwPlanWord *word = &ow_yard_plan_words()[yard->steps[step].kind];
        *owner = (Owner){word->fields, word->special, &yard->steps[step]};
    } else {
        return false;
    }
    return true;
}

static const char *owner_at(const void *context, size_t i) {
    const OwYard *yard = context;
    size_t k = i;
    for (const OwSection *section = ow_yard_plan_sections(); section->name != NULL; section++, k--) {
        if (k == 0) {
            return section->name;
        }
    }
    if (k < (size_t)yard->vessel_count) {
        return yard->vessels[k].name;
    }
    k -= (size_t)yard->vessel_count;
    return k < (size_t)yard->step_count ? yard->steps[k].name : "oil";
}

static OwStatus unknown_owner(const OwYard *yard, const char *name, OwFaults *faults) {
    char remedy[256], message[256];
    size_t count = (size_t)yard->vessel_count + (size_t)yard->step_count + 1;
    for (const OwSection *section = ow_yard_plan_sections(); section->name != NULL; section++) {
        count++;
    }
    const char *near = ow_text_nearest_by(name, count, owner_at, yard);
    ow_remedy_near(remedy, near, "use a name of the file");
    (void)snprintf(message, sizeof message, "there is no section, vessel or step named \"%.60s\"", name);
    return refuse(faults, OW_ERROR_VALUE, "", remedy, message);
}

static OwStatus set_field(const Owner *owner, const char *part, const char *key, const char *value,
                          OwUnits *units, OwFaults *faults) {
    char wrong[256], remedy[256];
    const OwField *field = ow_field_find(owner->fields, key);
    if (field != NULL) {
        const OwStatus status = ow_field_read(field, value, units, owner->base, wrong, remedy);
        return status == OW_OK ? OW_OK : refuse(faults, status, part, remedy, wrong);
    }
    for (int i = 0; owner->special != NULL && owner->special[i].key != NULL; i++) {
        if (strcmp(owner->special[i].key, key) == 0) {
            (void)snprintf(wrong, sizeof wrong, "\"%.60s\" cannot be set this way", key);
            return refuse(faults, OW_ERROR_VALUE, part, "change it in the file", wrong);
        }
    }
    (void)snprintf(wrong, sizeof wrong, "unknown key \"%.60s\"", key);
    ow_key_remedy(key, &owner->fields, 1, owner->special, remedy);
    return refuse(faults, OW_ERROR_VALUE, part, remedy, wrong);
}

/// Another oil by name; what was said of its water, solids and acid stays.
static OwStatus set_oil(OwYard *yard, const char *value, OwFaults *faults) {
    OwOilSpec spec = {.water_share = yard->oil.water_share,
                      .solids_share = yard->oil.solids_share,
                      .acid_mg_g = yard->oil.acid_mg_g};
    if (!ow_text_copy(spec.name, sizeof spec.name, value)) {
        return refuse(faults, OW_ERROR_VALUE, "oil", "use a known oil's name", "the name is too long");
    }
    yard->oil = spec;
    return OW_OK;
}

static OwStatus change(OwYard *yard, char *target, const char *value, OwUnits *units, OwFaults *faults) {
    if (strcmp(target, "oil") == 0) {
        return set_oil(yard, value, faults);
    }
    char *point = strrchr(target, '.');
    if (point == NULL) {
        return refuse(faults, OW_ERROR_VALUE, "", "write section.key=value, or a vessel's or step's name",
                      "no key is named");
    }
    *point = '\0';
    Owner owner;
    if (!find_owner(yard, target, &owner)) {
        return unknown_owner(yard, target, faults);
    }
    return set_field(&owner, target, point + 1, value, units, faults);
}

OwStatus ow_yard_override(OwYard *yard, const char *owner_key_value, OwUnits *units, OwFaults *faults) {
    if (yard == NULL || owner_key_value == NULL || units == NULL || faults == NULL) {
        return OW_ERROR_USE;
    }
    const char *equals = strchr(owner_key_value, '=');
    if (equals == NULL || strlen(owner_key_value) >= TEXT_SIZE) {
        return refuse(faults, OW_ERROR_VALUE, "", "write for example climate.humidity=90 %",
                      "there is no = in it, or it is too long");
    }
    char target[TEXT_SIZE];
    (void)snprintf(target, sizeof target, "%.*s", (int)(equals - owner_key_value), owner_key_value);
    OwYard *kept = malloc(sizeof *kept);
    if (kept == NULL) {
        return OW_ERROR_MEMORY;
    }
    *kept = *yard;
    OwStatus status = change(yard, target, equals + 1, units, faults);
    if (status == OW_OK) {
        status = ow_yard_check(yard, faults);
    }
    if (status != OW_OK) {
        *yard = *kept;
    }
    free(kept);
    return status;
}
