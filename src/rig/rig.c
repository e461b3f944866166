// SPDX-License-Identifier: GPL-3.0-or-later
// A rig's life: create with defaults, find, destroy.
#include "base/text.h"
#include "rig/catalogue.h"

#include <stdlib.h>
#include <string.h>

OwStatus ow_rig_create(OwRig **rig) {
    if (rig == NULL) {
        return OW_ERROR_USE;
    }
    *rig = NULL;
    OwRig *made = calloc(1, sizeof *made);
    if (made == NULL) {
        return OW_ERROR_MEMORY;
    }
    made->arena = ow_arena_create();
    if (made->arena == NULL) {
        free(made);
        return OW_ERROR_MEMORY;
    }
    for (const OwSection *section = ow_sections(); section->name != NULL; section++) {
        ow_fields_default(section->fields, (char *)made + section->offset);
    }
    // Road speed at 1000 rpm in km/h over the engine's speed: common practice, no source.
    static const double gear_km_h[] = {7.0, 13.0, 20.5, 29.0, 36.5};
    made->vehicle.gear_count = 5;
    for (int i = 0; i < 5; i++) {
        made->vehicle.gear_m_s_per_rad_s[i] = gear_km_h[i] / 3.6 / (1000.0 * 0.10471975511965977);
    }
    static const struct {
        const char *name;
        double speed_km_h, duration_s;
    } legs[] = {{"idle", 0.0, 60.0}, {"lane", 40.0, 480.0}, {"road", 80.0, 720.0}};
    made->drive.leg_count = 3;
    for (int i = 0; i < 3; i++) {
        OwLeg *leg = &made->drive.legs[i];
        ow_fields_default(ow_leg_fields(), leg);
        (void)ow_text_copy(leg->name, sizeof leg->name, legs[i].name);
        leg->speed_m_s = legs[i].speed_km_h / 3.6;
        leg->duration_s = legs[i].duration_s;
    }
    made->fluid_count = 1;
    (void)ow_text_copy(made->fluid_name[0], OW_NAME_SIZE, "oil");
    (void)ow_text_copy(made->fluid_spec[0].name, sizeof made->fluid_spec[0].name, "rapeseed");
    *rig = made;
    return OW_OK;
}

int ow_rig_find(const OwRig *rig, const char *name) {
    if (rig == NULL || name == NULL) {
        return -1;
    }
    for (int i = 0; i < rig->part_count; i++) {
        if (strcmp(rig->parts[i].name, name) == 0) {
            return i;
        }
    }
    return -1;
}

void ow_rig_destroy(OwRig **rig) {
    if (rig == NULL || *rig == NULL) {
        return;
    }
    ow_arena_destroy(&(*rig)->arena);
    free(*rig);
    *rig = NULL;
}
