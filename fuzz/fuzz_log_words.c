// SPDX-License-Identifier: GPL-3.0-or-later
// Any line as a short form: it is one entry that the table of fields allows, or one question; never both,
// never neither.
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "log_cli.h"

/// A zone with a summer hour.
static int east(int64_t at_s) {
    return at_s / 15778800 % 2 == 0 ? 43200 : 46800;
}

static int west(int64_t at_s) {
    return at_s / 15778800 % 2 == 0 ? -18000 : -14400;
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

static void must(bool is_good) {
    if (!is_good) {
        abort();
    }
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size) {
    static OwUnits *units = NULL; // costs a parse of the unit database; freed by nobody, on purpose
    static OwLogSaid said;
    if (units == NULL) {
        must(ow_units_create(&units) == OW_OK);
    }
    if (size < 1 || size > 1200) {
        return 0;
    }
    static const OwLogThing things[] = {
        {OW_LOG_SOURCE, 1, "Olive Grove"}, {OW_LOG_SOURCE, 2, "hill cafe"},    {OW_LOG_VESSEL, 3, "drum 2"},
        {OW_LOG_VESSEL, 4, "tote-1"},      {OW_LOG_VEHICLE, 5, "van"},         {OW_LOG_BATCH, 6, "b12"},
        {OW_LOG_FILTER, 5, "oil filter"},  {OW_LOG_FILTER, 5, "diesel filter"}};
    const OwLogNames names = {things, (int)(sizeof things / sizeof things[0])};
    char text[1201];
    memcpy(text, data + 1, size - 1);
    text[size - 1] = '\0';
    const OwLogSpeech speech = {.names = &names,
                                .now_s = 1767225600,
                                .offset = data[0] % 3 == 0   ? NULL
                                          : data[0] % 3 == 1 ? east
                                                             : west,
                                .units = units,
                                .display = data[0] & 4 ? OW_DISPLAY_US : OW_DISPLAY_METRIC};
    const OwStatus status = ow_log_words_read(text, &speech, &said);
    must((status == OW_OK) == (said.question[0] == '\0') && (status == OW_OK) == (said.sentence[0] != '\0'));
    if (status != OW_OK) {
        return 0;
    }
    const OwLogKindRow *row = ow_log_kind(said.entry.kind);
    must(row != NULL && said.entry.at_s >= 0 && said.entry.at_s <= speech.now_s + 300);
    for (int f = 0; f < row->field_count; f++) {
        const OwLogField *field = &row->fields[f];
        const OwLogValue *v = &said.entry.values[f];
        must(v->is_set || !field->is_required);
        if (v->is_set && field->type == OW_LOG_QUANTITY) {
            must(v->si >= field->low && v->si <= field->high);
        }
        if (v->is_set && (field->type == OW_LOG_TEXT || field->type == OW_LOG_REF) && v->text != NULL) {
            must(v->text[0] == '\0' || (v->text >= said.room && v->text < said.room + sizeof said.room));
        }
    }
    return 0;
}
