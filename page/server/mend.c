// SPDX-License-Identifier: GPL-3.0-or-later
// The values that a mend changes, as edits of the text.
#include <stdio.h>
#include <string.h>

#include "page_impl.h"

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

json_t *ow_page_mend(const OwJudgement *judgement, const OwAnswer *answer) {
    const OwRig *rig = judgement->record->rig;
    if (answer->change_count == 0) {
        return NULL;
    }
    json_t *edits = json_array();
    for (int i = 0; i < answer->change_count; i++) {
        const OwChange *c = &answer->changes[i];
        char path[120], value[64];
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
