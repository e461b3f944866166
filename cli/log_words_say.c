// SPDX-License-Identifier: GPL-3.0-or-later
// An entry as one sentence: what the echo and the lists show.
#include <stdio.h>
#include <string.h>

#include "base/text.h"
#include "log_cli.h"

typedef struct Say {
    const OwLogEntry *entry;
    const OwLogKindRow *row;
    OwDisplay display;
    char *text;
    size_t size;
    unsigned said; ///< fields told
} Say;

static void put(Say *s, const char *text) {
    const size_t used = strlen(s->text);
    (void)ow_text_copy(s->text + used, s->size - used, text);
}

/// The value of a field with words around it; nothing when it is not set.
static bool value(Say *s, const char *before, const char *key, const char *after) {
    const int f = ow_log_field_of(s->entry->kind, key);
    if (f < 0 || !s->entry->values[f].is_set) {
        return false;
    }
    char text[OW_LOG_TEXT_MAX + 8];
    ow_log_value_write(&s->row->fields[f], &s->entry->values[f], s->display, text, sizeof text);
    put(s, before);
    put(s, text);
    put(s, after);
    s->said |= 1u << f;
    return true;
}

static bool has(const Say *s, const char *key) {
    const int f = ow_log_field_of(s->entry->kind, key);
    return f >= 0 && s->entry->values[f].is_set;
}

static void head(Say *s) {
    switch (s->entry->kind) {
    case OW_LOG_SOURCE:
    case OW_LOG_VESSEL:
    case OW_LOG_VEHICLE:
    case OW_LOG_BATCH:
        put(s, "New ");
        put(s, s->row->word);
        (void)value(s, " ", "name", "");
        (void)value(s, " of ", "volume", "");
        (void)value(s, " from ", "from", "");
        (void)value(s, ", standing in ", "vessel", "");
        break;
    case OW_LOG_PICKUP:
        (void)value(s, "Pick-up of ", "volume", "");
        (void)value(s, " from ", "source", "");
        (void)value(s, " into ", "into", "");
        break;
    case OW_LOG_STEP:
        (void)value(s, "Batch ", "batch", ": ");
        (void)value(s, "", "what", "");
        if (value(s, ", ", "loss", " taken off")) {
            (void)value(s, " as ", "waste", "");
        }
        if (value(s, ", ", "added", "")) {
            put(s, has(s, "addition") ? "" : " added");
            (void)value(s, " of ", "addition", " added");
        }
        break;
    case OW_LOG_TEST:
        (void)value(s, "Test of ", "of", ": ");
        break;
    case OW_LOG_MOVE:
        (void)value(s, "Move of ", "volume", "");
        (void)value(s, " from ", "from", "");
        (void)value(s, " into ", "to", "");
        break;
    case OW_LOG_SHIFT:
        (void)value(s, "Batch ", "batch", "");
        (void)value(s, " goes over into ", "vessel", "");
        break;
    case OW_LOG_LEVEL:
        (void)value(s, "Measured ", "of", "");
        (void)value(s, ": ", "level", "");
        break;
    case OW_LOG_WASTE:
        (void)value(s, "Waste handed over: ", "volume", "");
        (void)value(s, " of ", "what", "");
        (void)value(s, " from ", "from", "");
        (void)value(s, " to ", "taker", "");
        (void)value(s, ", slip ", "document", "");
        break;
    case OW_LOG_FILL:
        put(s, "Fill of ");
        (void)value(s, "", "oil", " oil");
        put(s, has(s, "oil") && has(s, "diesel") ? " and " : "");
        (void)value(s, "", "diesel", " diesel");
        (void)value(s, " into ", "vehicle", "");
        (void)value(s, " from ", "from", "");
        (void)value(s, " at ", "odometer", "");
        if (has(s, "full")) {
            const int f = ow_log_field_of(OW_LOG_FILL, "full");
            put(s, s->entry->values[f].number == 1 ? ", tank full" : ", tank not full");
            s->said |= 1u << f;
        }
        break;
    case OW_LOG_ODOMETER:
        if (ow_log_is_swap(s->entry)) {
            (void)value(s, "New odometer of ", "vehicle", "");
            (void)value(s, ": counts on from ", "odometer", "");
            s->said |= 1u << ow_log_field_of(OW_LOG_ODOMETER, "new");
        } else {
            (void)value(s, "Odometer of ", "vehicle", "");
            (void)value(s, ": ", "odometer", "");
        }
        break;
    case OW_LOG_GAUGE:
        (void)value(s, "Gauge at ", "filter", "");
        (void)value(s, " of ", "vehicle", "");
        (void)value(s, ": ", "reading", "");
        (void)value(s, " at ", "odometer", "");
        break;
    case OW_LOG_FILTER:
        (void)value(s, "New ", "filter", "");
        (void)value(s, " in ", "vehicle", "");
        (void)value(s, " at ", "odometer", "");
        break;
    case OW_LOG_REPAIR:
        put(s, "Work: ");
        (void)value(s, "", "what", "");
        (void)value(s, " on ", "vehicle", "");
        (void)value(s, " at ", "odometer", "");
        break;
    case OW_LOG_EXPENSE:
        (void)value(s, "Expense of ", "amount", "");
        (void)value(s, " for ", "what", "");
        (void)value(s, ", ", "vehicle", "");
        break;
    case OW_LOG_UNDO:
        if (!value(s, "Takes back entry ", "entry", "")) {
            put(s, "Takes back the entry written last");
        }
        (void)value(s, ", because ", "why", "");
        break;
    case OW_LOG_NONE:
    case OW_LOG_KINDS:
        break;
    }
}

void ow_log_words_say(const OwLogEntry *entry, OwDisplay display, char *text, size_t size) {
    text[0] = '\0';
    Say s = {.entry = entry, .row = ow_log_kind(entry->kind), .display = display, .text = text, .size = size};
    if (s.row == NULL || size < 2) {
        return;
    }
    head(&s);
    for (int f = 0; f < s.row->field_count; f++) {
        if (((s.said >> f) & 1u) || !entry->values[f].is_set) {
            continue;
        }
        char before[80];
        const OwLogField *field = &s.row->fields[f];
        (void)snprintf(before, sizeof before, "%s%s ",
                       text[0] != '\0' && text[strlen(text) - 1] != ' ' ? ", " : "", field->label);
        (void)value(&s, before, field->key, "");
    }
}
