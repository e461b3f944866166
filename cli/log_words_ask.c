// SPDX-License-Identifier: GPL-3.0-or-later
// What is left over, what follows by itself, and what is still missing: a question, with the nearest name.
#include "log_words.h"

#include <stdlib.h>
#include <string.h>
#include <strings.h>

#include "base/text.h"

int ow_words_missing(const Reader *r) {
    for (int f = 0; f < r->row->field_count; f++) {
        if (r->row->fields[f].type == OW_LOG_REF && r->row->fields[f].is_required &&
            !r->said->entry.values[f].is_set) {
            return f;
        }
    }
    return -1;
}

/// The nearest name to some of the words that belong together, the longest run first; *run is that run, of
/// `least` words or more. Nearly right ones (one letter in six wrong, and one) come before a loose likeness
/// of all.
static const char *near_run(Reader *r, const char *text, unsigned kinds, int least, const char **run) {
    enum { MOST = 12 };
    size_t starts[MOST], ends[MOST];
    int count = 0;
    for (size_t at = strspn(text, " "); text[at] != '\0' && count < MOST; at += strspn(text + at, " ")) {
        starts[count] = at;
        at += strcspn(text + at, " ");
        ends[count++] = at;
    }
    for (int n = count; n >= least; n--) {
        for (int i = 0; i + n <= count; i++) {
            const size_t mark = r->spare_used, length = ends[i + n - 1] - starts[i];
            if (length + 1 > sizeof r->spare - mark) {
                return NULL;
            }
            char *part = memcpy(r->spare + mark, text + starts[i], length);
            part[length] = '\0';
            r->spare_used += length + 1;
            const char *near = ow_words_near(r, kinds, part);
            const int limit = 1 + (int)length / 6;
            if (near != NULL && ow_text_distance(part, near, limit) <= limit) {
                *run = part;
                return near;
            }
            r->spare_used = mark;
        }
    }
    *run = text;
    return least == 1 ? ow_words_near(r, kinds, text) : NULL;
}

static bool unknown(Reader *r, const char *text, unsigned kinds) {
    const int waste = r->kind == OW_LOG_STEP ? ow_log_field_of(OW_LOG_STEP, "waste") : -1;
    for (int i = 0; waste >= 0 && r->row->fields[waste].choices[i] != NULL; i++) {
        if (strcasecmp(text, r->row->fields[waste].choices[i]) == 0) {
            return ow_words_ask(r, NULL,
                                "One step takes off one kind of waste: tell the %s in a step of its own.",
                                r->row->fields[waste].choices[i]);
        }
    }
    // The kind that is still missing comes first.
    const int f = ow_words_missing(r);
    const unsigned wanted = f >= 0 ? r->row->fields[f].refs : kinds;
    const char *run = text;
    const char *near = near_run(r, text, wanted, 1, &run);
    near = near == NULL ? near_run(r, text, kinds, 1, &run) : near;
    if (near != NULL) {
        return ow_words_ask(r, near, "\"%.60s\" is not in the book: did you mean %.60s?", run, near);
    }
    if (f >= 0) {
        OwLogKind kind = OW_LOG_NONE;
        for (int k = 1; k < OW_LOG_KINDS && kind == OW_LOG_NONE; k++) {
            kind = (wanted >> k) & 1u ? (OwLogKind)k : OW_LOG_NONE;
        }
        return ow_words_ask(r, NULL, "\"%.60s\" is not in the book. Is it a new %s? Then first: %s \"%.60s\"",
                            text, ow_log_kind(kind)->word, ow_log_kind(kind)->word, text);
    }
    return ow_words_ask(r, NULL, "What is \"%.60s\"? Put \"note\" before it if it is a note.", text);
}

bool ow_words_put_words(Reader *r) {
    static const struct {
        OwLogKind kind;
        const char *key;
    } homes[] = {{OW_LOG_WASTE, "taker"},   {OW_LOG_STEP, "addition"}, {OW_LOG_GAUGE, "filter"},
                 {OW_LOG_FILTER, "filter"}, {OW_LOG_REPAIR, "detail"}, {OW_LOG_EXPENSE, "detail"},
                 {OW_LOG_SOURCE, "place"},  {OW_LOG_VESSEL, "place"},  {OW_LOG_VEHICLE, "rig"}};
    for (int i = 0; i < r->item_count; i++) {
        Item *item = &r->items[i];
        if (item->kind != ITEM_WORDS) {
            continue;
        }
        int home = -1;
        for (int k = 0; k < OW_WORDS_COUNT(homes); k++) {
            home = homes[k].kind == r->kind ? ow_log_field_of(r->kind, homes[k].key) : home;
        }
        const unsigned kinds = ow_words_wanted(r) & ~(1u << OW_LOG_FILTER);
        const int f = ow_words_missing(r);
        const bool is_step_word =
            r->kind == OW_LOG_STEP &&
            ow_words_slot(r, ow_log_field_of(r->kind, "what"))->number != OW_LOG_STEP_BLEND;
        if (home < 0 || f >= 0 || ow_words_slot(r, home)->is_set || is_step_word) {
            return unknown(r, item->text, kinds);
        }
        if (r->kind == OW_LOG_FILTER || r->kind == OW_LOG_GAUGE) {
            // A filter with a new name is a matter of quotes, once the vehicle has others.
            const int64_t vehicle = ow_words_slot(r, ow_log_field_of(r->kind, "vehicle"))->number;
            const char *other = NULL;
            for (int k = 0; r->speech->names != NULL && k < r->speech->names->count; k++) {
                const OwLogThing *t = &r->speech->names->things[k];
                other = t->kind == OW_LOG_FILTER && t->id == vehicle && other == NULL ? t->name : other;
            }
            if (other != NULL && !item->is_quoted) {
                const char *near = ow_words_near(r, 1u << OW_LOG_FILTER, item->text);
                return ow_words_ask(
                    r, near != NULL ? near : other,
                    "No filter is called \"%.40s\" so far: did you mean %.40s? A new one goes in quotes.",
                    item->text, near != NULL ? near : other);
            }
        }
        // "repair orcherd van brakes": no text when it is nearly the name of what is not told yet.
        unsigned open = 0;
        for (int k = 0; k < r->row->field_count; k++) {
            const OwLogField *row = &r->row->fields[k];
            open |= row->type == OW_LOG_REF && !ow_words_slot(r, k)->is_set ? row->refs : 0u;
        }
        const char *run = NULL;
        const char *nearly = item->is_quoted ? NULL : near_run(r, item->text, open, 2, &run);
        if (nearly != NULL) {
            return ow_words_ask(r, nearly, "\"%.60s\" is not in the book: did you mean %.60s?", run, nearly);
        }
        char wrong[256], remedy[256];
        if (ow_log_value_read(&r->row->fields[home], item->text, NULL, ow_words_slot(r, home), wrong,
                              remedy) != OW_OK) {
            return ow_words_ask(r, NULL, "%.40s: %.200s", r->row->fields[home].label, wrong);
        }
        ow_words_slot(r, home)->text = ow_words_keep(r, item->text);
        item->kind = ITEM_DONE;
    }
    return true;
}

/// The vehicle, when there is one only.
bool ow_words_only_vehicle(Reader *r) {
    const int v = ow_log_field_of(r->kind, "vehicle");
    const OwLogNames *names = r->speech->names;
    if (v >= 0 && r->row->fields[v].is_required && !ow_words_slot(r, v)->is_set && names != NULL) {
        const OwLogThing *only = NULL;
        int count = 0;
        for (int i = 0; i < names->count; i++) {
            if (names->things[i].kind == OW_LOG_VEHICLE) {
                only = &names->things[i];
                count++;
            }
        }
        bool has_words = false;
        for (int i = 0; i < r->item_count; i++) {
            has_words = has_words || r->items[i].kind == ITEM_WORDS;
        }
        if (count == 1 && !has_words) {
            *ow_words_slot(r, v) =
                (OwLogValue){.is_set = true, .number = only->id, .text = ow_words_keep(r, only->name)};
        }
    }
    return true;
}

/// The filter of a vehicle, when it has one only.
bool ow_words_only_filter(Reader *r) {
    const int v = ow_log_field_of(r->kind, "vehicle"), f = ow_log_field_of(r->kind, "filter");
    const OwLogNames *names = r->speech->names;
    if (f >= 0 && v >= 0 && !ow_words_slot(r, f)->is_set && ow_words_slot(r, v)->is_set) {
        const char *first = NULL, *second = NULL;
        for (int i = 0; names != NULL && i < names->count; i++) {
            const OwLogThing *t = &names->things[i];
            if (t->kind == OW_LOG_FILTER && t->id == ow_words_slot(r, v)->number) {
                second = first != NULL && second == NULL ? t->name : second;
                first = first == NULL ? t->name : first;
            }
        }
        if (second != NULL) {
            return ow_words_ask(r, first, "Which filter: %.60s or %.60s?", first, second);
        }
        *ow_words_slot(r, f) =
            (OwLogValue){.is_set = true, .text = ow_words_keep(r, first != NULL ? first : "fuel filter")};
    }
    return true;
}

static bool is_given(Reader *r, const char *key) {
    const int f = ow_log_field_of(r->kind, key);
    return f >= 0 && ow_words_slot(r, f)->is_set;
}

void ow_words_take_all(Reader *r) {
    static const char *const words[] = {"all", "everything"};
    for (int i = 0; i < r->word_count && (r->kind == OW_LOG_MOVE || r->kind == OW_LOG_BATCH) &&
                    strcasecmp(r->words[i].text, "note") != 0;
         i++) {
        if (!r->words[i].is_quoted && ow_words_in(r->words[i].text, words, OW_WORDS_COUNT(words)) >= 0) {
            r->wants_all = true;
            ow_words_drop(r, i, 1);
            return;
        }
    }
}

/// The volume of "all"; false with a question.
static bool put_all(Reader *r) {
    if (!r->wants_all || !is_given(r, "from")) {
        return true;
    }
    const int volume = ow_log_field_of(r->kind, "volume");
    const OwLogValue *from = ow_words_slot(r, ow_log_field_of(r->kind, "from"));
    if (ow_words_slot(r, volume)->is_set) {
        return ow_words_ask(r, NULL, "Is it all, or the volume that is told?");
    }
    for (int i = 0; r->speech->names != NULL && i < r->speech->names->count; i++) {
        const OwLogThing *t = &r->speech->names->things[i];
        if (t->id == from->number && (t->kind == OW_LOG_VESSEL || t->kind == OW_LOG_BATCH)) {
            if (!(t->volume_m3 > 0.0)) {
                return ow_words_ask(r, NULL, "%.60s holds nothing by the book: how much was it?", t->name);
            }
            *ow_words_slot(r, volume) = (OwLogValue){.is_set = true, .si = t->volume_m3};
        }
    }
    return true;
}

bool ow_words_check(Reader *r) {
    if (!put_all(r)) {
        return false;
    }
    for (int f = 0; f < r->row->field_count; f++) {
        const OwLogField *field = &r->row->fields[f];
        if (!field->is_required || ow_words_slot(r, f)->is_set) {
            continue;
        }
        if (field->type == OW_LOG_REF) {
            char list[160] = "";
            int count = 0;
            for (int i = 0; r->speech->names != NULL && i < r->speech->names->count; i++) {
                const OwLogThing *t = &r->speech->names->things[i];
                if (((field->refs >> t->kind) & 1u) && count++ < 3) {
                    const size_t used = strlen(list);
                    (void)snprintf(list + used, sizeof list - used, "%s%.40s", count > 1 ? ", " : "",
                                   t->name);
                }
            }
            const char *what = strcmp(field->key, "into") == 0     ? "Into which vessel or batch"
                               : strcmp(field->key, "from") == 0   ? "From which vessel or batch"
                               : strcmp(field->key, "to") == 0     ? "Into which vessel or batch"
                               : strcmp(field->key, "of") == 0     ? "Which vessel or batch"
                               : strcmp(field->key, "source") == 0 ? "From whom was it"
                               : strcmp(field->key, "vessel") == 0 ? "Into which vessel"
                                                                   : "Which";
            return ow_words_ask(r, NULL, "%s%s%s?%s%s%s", what, strcmp(what, "Which") == 0 ? " " : "",
                                strcmp(what, "Which") == 0 ? field->key : "",
                                count > 0 ? " There is " : " The book has none yet.", list,
                                count > 3   ? ", ..."
                                : count > 0 ? "."
                                            : "");
        }
        if (field->type == OW_LOG_CHOICE) {
            char list[160] = "";
            for (int i = 0; field->choices[i] != NULL; i++) {
                const size_t used = strlen(list);
                (void)snprintf(list + used, sizeof list - used, "%s%s", i > 0 ? ", " : "", field->choices[i]);
            }
            return ow_words_ask(
                r, NULL, strcmp(field->label, "for") == 0 ? "For what: %s?" : "Of which kind: %s?", list);
        }
        return ow_words_ask(r, NULL, "How much is the %s?", field->label);
    }
    if (r->kind == OW_LOG_FILL && !is_given(r, "oil") && !is_given(r, "diesel")) {
        return ow_words_ask(r, NULL, "How much was filled? For example 40 L, or 5 L diesel.");
    }
    if (r->kind == OW_LOG_FILL && is_given(r, "from") && !is_given(r, "oil")) {
        return ow_words_ask(r, NULL, "How much oil came from %.60s?",
                            ow_words_slot(r, ow_log_field_of(r->kind, "from"))->text);
    }
    if (r->kind == OW_LOG_BATCH && is_given(r, "from") != is_given(r, "volume")) {
        return ow_words_ask(r, NULL,
                            is_given(r, "from") ? "How much was drawn into the batch?"
                                                : "From which vessel was it drawn?");
    }
    if (r->kind == OW_LOG_STEP && is_given(r, "addition") && !is_given(r, "added")) {
        return ow_words_ask(r, NULL, "How much was added?");
    }
    if (r->kind == OW_LOG_TEST && !is_given(r, "acid") && !is_given(r, "water") && !is_given(r, "solids") &&
        !is_given(r, "viscosity") && !is_given(r, "density") && !is_given(r, "decision")) {
        return ow_words_ask(r, NULL, "What did the test show? For example: water 600 ppm acid 2.1, or keep.");
    }
    return true;
}
