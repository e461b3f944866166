// SPDX-License-Identifier: GPL-3.0-or-later
// Entries, lists, the table of kinds, and a short form's answer as JSON.
#include "log_json_make.h"

json_t *ow_log_json_of_entry(const OwLogEntry *e, OwDisplay display) {
    const OwLogKindRow *row = ow_log_kind(e->kind);
    json_t *fields = json_object();
    char sentence[400] = "", time[24];
    ow_log_words_say(e, display, sentence, sizeof sentence);
    ow_log_time_write(e->at_s, time, sizeof time);
    for (int f = 0; row != NULL && f < row->field_count; f++) {
        const OwLogValue *v = &e->values[f];
        char text[OW_LOG_TEXT_MAX + 8];
        if (!v->is_set) {
            continue;
        }
        ow_log_value_write(&row->fields[f], v, display, text, sizeof text);
        json_t *one = json_pack("{s:o}", "text", ow_json_text(text));
        if (row->fields[f].type == OW_LOG_QUANTITY) {
            (void)json_object_set_new(one, "si", ow_json_real(true, v->si));
        } else if (row->fields[f].type != OW_LOG_TEXT) {
            (void)json_object_set_new(one, "number", json_integer((json_int_t)v->number));
        }
        (void)json_object_set_new(fields, row->fields[f].key, one);
    }
    return json_pack("{s:I, s:s, s:s, s:I, s:I, s:o, s:o, s:o}", "id", (json_int_t)e->id, "kind",
                     row != NULL ? row->word : "", "at", time, "at_s", (json_int_t)e->at_s, "made_s",
                     (json_int_t)e->made_s, "undone_by", ow_json_id(e->undone_by), "sentence",
                     ow_json_text(sentence), "fields", fields);
}

json_t *ow_log_json_list(OwLogbook *book, const OwLogFilter *filter, OwDisplay display, OwFaults *faults) {
    OwArena *arena = ow_arena_create();
    OwLogList list;
    json_t *made = NULL;
    if (arena != NULL && ow_logbook_list(book, filter, arena, &list, faults) == OW_OK) {
        json_t *entries = json_array(), *more = json_null();
        for (int i = 0; i < list.count; i++) {
            (void)json_array_append_new(entries, ow_log_json_of_entry(&list.entries[i], display));
        }
        if (list.has_more && list.count > 0) {
            const OwLogEntry *last = &list.entries[list.count - 1];
            more = json_pack("{s:I, s:I}", "before_at_s", (json_int_t)last->at_s, "before_id",
                             (json_int_t)last->id);
        }
        made = json_pack("{s:o, s:o}", "entries", entries, "more", more);
    }
    ow_arena_destroy(&arena);
    return made;
}

json_t *ow_log_json_entry(OwLogbook *book, int64_t id, OwDisplay display, OwFaults *faults) {
    OwArena *arena = ow_arena_create();
    OwLogEntry entry;
    json_t *made = NULL;
    if (arena != NULL && ow_logbook_entry(book, id, arena, &entry, faults) == OW_OK) {
        made = ow_log_json_of_entry(&entry, display);
    }
    ow_arena_destroy(&arena);
    return made;
}

static json_t *field_json(const OwLogField *f) {
    static const char *const types[] = {"quantity", "text", "choice", "ref", "money"};
    json_t *choices = json_null(), *refs = json_array();
    if (f->choices != NULL) {
        choices = json_array();
        for (int i = 0; f->choices[i] != NULL; i++) {
            (void)json_array_append_new(choices, ow_json_text(f->choices[i]));
        }
    }
    for (int k = 1; k < OW_LOG_KINDS; k++) {
        if ((f->refs >> k) & 1u) {
            (void)json_array_append_new(refs, ow_json_text(ow_log_kind((OwLogKind)k)->word));
        }
    }
    double factor = 1.0, offset = 0.0;
    const char *unit =
        f->type == OW_LOG_QUANTITY ? ow_units_display(f->quantity, OW_DISPLAY_METRIC, &factor, &offset) : "";
    return json_pack("{s:s, s:s, s:s, s:s, s:b, s:s?, s:s?, s:o, s:o, s:s}", "key", f->key, "label", f->label,
                     "type", types[f->type], "quantity", unit, "required", f->is_required, "bare", f->bare,
                     "csv_unit", f->csv_unit, "choices", choices, "refs", refs, "doc", f->doc);
}

json_t *ow_log_json_kinds(void) {
    json_t *kinds = json_array();
    for (int k = 1; k < OW_LOG_KINDS; k++) {
        const OwLogKindRow *row = ow_log_kind((OwLogKind)k);
        json_t *fields = json_array();
        for (int f = 0; f < row->field_count; f++) {
            (void)json_array_append_new(fields, field_json(&row->fields[f]));
        }
        (void)json_array_append_new(kinds, json_pack("{s:s, s:s, s:b, s:s, s:o}", "word", row->word, "label",
                                                     row->label, "is_thing", row->is_thing, "doc", row->doc,
                                                     "fields", fields));
    }
    return json_pack("{s:o}", "kinds", kinds);
}

json_t *ow_log_json_said(const OwLogSaid *said, OwStatus status, int64_t undo_id) {
    const int64_t id = said->is_undo ? undo_id : said->entry.id;
    return json_pack("{s:b, s:o, s:o, s:o, s:o, s:b}", "understood", status == OW_OK, "sentence",
                     ow_json_text(said->sentence), "question", ow_json_text(said->question), "suggestion",
                     ow_json_text(said->suggestion), "id", ow_json_id(id), "undo", said->is_undo);
}
