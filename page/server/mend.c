// SPDX-License-Identifier: GPL-3.0-or-later
// The values that a mend changes, as edits of the text.
#include <stdio.h>
#include <string.h>

#include "page_impl.h"

#define BLEND "blend/"

/// A share of the blend in the tank.
static bool is_share(const OwChange *change) {
    return change->part < 0 && strcmp(change->section, "oil") == 0 &&
           strncmp(change->key, BLEND, strlen(BLEND)) == 0;
}

/// A value as the file reads it, in units of the reader's choice and few digits.
static void write_value(const OwChange *change, OwDisplay display, char *text, size_t size) {
    if (change->quantity == OW_Q_TEMPERATURE) { // whole degrees, downwards: a mend never asks for too little
        const double c = change->value - OW_ZERO_CELSIUS_K;
        const double shown = display == OW_DISPLAY_US ? c * 1.8 + 32.0 : c;
        const double whole = (double)(long)(shown < 0.0 ? shown - 1.0 : shown);
        (void)snprintf(text, size, "%.0f %s", whole, display == OW_DISPLAY_US ? "degF" : "degC");
    } else {
        ow_units_write(change->value, change->quantity, display, text, size);
    }
}

/// All shares of a blend as one edit: the fuel as a whole, when its text is but a name, else its shares.
static json_t *blend_edit(const OwRig *rig, const OwAnswer *answer) {
    json_t *blend = json_object();
    for (int i = 0; i < answer->change_count; i++) {
        const OwChange *c = &answer->changes[i];
        if (is_share(c)) {
            (void)json_object_set_new(blend, c->key + strlen(BLEND),
                                      json_sprintf("%.3g %%", 100.0 * c->value));
        }
    }
    return rig->fluid_spec[0].blend_count > 0
               ? json_pack("{s:s, s:s, s:s, s:o}", "op", "set", "section", "oil", "path", "blend", "value",
                           blend)
               : json_pack("{s:s, s:s, s:{s:o}}", "op", "set", "section", "oil", "value", "blend", blend);
}

json_t *ow_page_mend(const OwJudgement *judgement, const OwAnswer *answer) {
    const OwRig *rig = judgement->record->rig;
    if (answer->change_count == 0) {
        return NULL;
    }
    json_t *edits = json_array();
    bool has_blend = false;
    for (int i = 0; i < answer->change_count; i++) {
        const OwChange *c = &answer->changes[i];
        char path[120], value[64];
        if (is_share(c)) {
            if (!has_blend) {
                (void)json_array_append_new(edits, blend_edit(rig, answer));
            }
            has_blend = true;
            continue;
        }
        write_value(c, judgement->display, value, sizeof value);
        if (c->element >= 0) {
            (void)snprintf(path, sizeof path, "heaters/%d/%s", c->element, c->key);
        } else {
            (void)snprintf(path, sizeof path, "%s", c->key);
        }
        const bool is_part = c->part >= 0 && c->part < rig->part_count;
        (void)json_array_append_new(
            edits, json_pack("{s:s, s:s, s:s, s:s}", "op", "set", is_part ? "part" : "section",
                             is_part ? rig->parts[c->part].name : c->section, "path", path, "value", value));
    }
    return edits;
}
