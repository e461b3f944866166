// SPDX-License-Identifier: GPL-3.0-or-later
// Each word or some words together: a name, a number, a label, a choice, or what leads to a name.
#include "log_words.h"

#include <stdlib.h>
#include <string.h>
#include <strings.h>

#include "base/text.h"

/// Other words for a field, wherever a kind has it; the first field of the kind that is named wins.
static const char *const labels[][2] = {
    {"paid", "price"},     {"paid", "cost"},          {"paid", "amount"},
    {"price", "cost"},     {"cost", "price"},         {"cost", "amount"},
    {"fee", "cost"},       {"for", "what"},           {"drive", "distance"},
    {"trip", "distance"},  {"odo", "odometer"},       {"mileage", "odometer"},
    {"labour", "work"},    {"labor", "work"},         {"hands", "work"},
    {"took", "time"},      {"off", "loss"},           {"lost", "loss"},
    {"drained", "loss"},   {"dirt", "solids"},        {"ffa", "acid"},
    {"av", "acid"},        {"visc", "viscosity"},     {"temp", "temperature"},
    {"slip", "document"},  {"doc", "document"},       {"receipt", "document"},
    {"holds", "capacity"}, {"size", "capacity"},      {"drop", "reading"},
    {"gauge", "before"},   {"gauge", "reading"},      {"vacuum", "before"},
    {"vacuum", "reading"}, {"with", "addition"},      {"by", "taker"},
    {"power", "energy"},   {"electricity", "energy"}, {"reason", "reason"},
};

/// Other words for a choice.
static const struct {
    const char *word, *key, *choice;
} choices[] = {
    {"full", "full", "yes"},
    {"brimmed", "full", "yes"},
    {"partial", "full", "no"},
    {"part", "full", "no"},
    {"clogged", "reason", "plugged"},
    {"blocked", "reason", "plugged"},
    {"new", "reason", "fitted"},
    {"first", "reason", "fitted"},
    {"new", "new", "yes"},
    {"replaced", "new", "yes"},
    {"swapped", "new", "yes"},
    {"good", "decision", "keep"},
    {"ok", "decision", "keep"},
    {"pass", "decision", "keep"},
    {"passed", "decision", "keep"},
    {"bad", "decision", "reject"},
    {"failed", "decision", "reject"},
    {"power", "what", "electricity"},
    {"filter", "what", "filters"},
    {"rags", "what", "cloths"},
    {"crumbs", "what", "cake"},
    {"centrifuged", "what", "centrifuge"},
};

static const char *const fillers[] = {
    "the",  "a",    "an",     "at",     "and",     "is", "was",    "on",     "it",   "up", "of",   "oil",
    "fuel", "@",    "now",    "into",   "in",      "to", "from",   "for",    "with", "by", "then", "&",
    "+",    "tank", "litres", "change", "changed", "no", "number", "stands", "took", "got"};
static const char *const leads[] = {"from", "to", "into", "in", "onto", "of", "for", "by"};

const char *ow_words_lead(const Reader *r, int at) {
    const int lead =
        r->words[at].is_quoted ? -1 : ow_words_in(r->words[at].text, leads, OW_WORDS_COUNT(leads));
    return lead >= 0 ? leads[lead] : NULL;
}

static Item *add(Reader *r, ItemKind kind) {
    if (r->item_count == ITEMS_MOST) {
        (void)ow_words_ask(r, NULL, "That is too much for one entry.");
        return &r->items[ITEMS_MOST - 1];
    }
    Item *item = &r->items[r->item_count++];
    *item = (Item){.kind = kind, .field = -1};
    return item;
}

/// A label, "oil" of a fill: index of the field, or -1.
int ow_words_label(const Reader *r, const char *word) {
    int field = ow_log_field_of(r->kind, word);
    for (int i = 0; field < 0 && i < OW_WORDS_COUNT(labels); i++) {
        if (strcasecmp(labels[i][0], word) == 0) {
            field = ow_log_field_of(r->kind, labels[i][1]);
        }
    }
    if (field >= 0) {
        const OwLogType type = r->row->fields[field].type;
        // Words that lead to a name are leads; "for" leads to a choice or an amount.
        return type == OW_LOG_REF || type == OW_LOG_CHOICE ? -1 : field;
    }
    return -1;
}

int ow_words_choice(Reader *r, int at, int *field, int *taken) {
    char two[80];
    (void)snprintf(two, sizeof two, "%.38s %.38s", r->words[at].text,
                   at + 1 < r->word_count && !r->words[at + 1].is_quoted ? r->words[at + 1].text : "");
    for (int pass = 0; pass < 3; pass++) {
        for (int f = 0; f < r->row->field_count; f++) {
            const OwLogField *row = &r->row->fields[f];
            if (row->type != OW_LOG_CHOICE || r->said->entry.values[f].is_set) {
                continue;
            }
            for (int c = 0; row->choices[c] != NULL; c++) {
                bool is_it =
                    pass == 0 ? strchr(row->choices[c], ' ') != NULL && strcasecmp(two, row->choices[c]) == 0
                              : pass == 1 && strcasecmp(r->words[at].text, row->choices[c]) == 0;
                for (int k = 0; pass == 2 && k < OW_WORDS_COUNT(choices); k++) {
                    is_it = is_it || (strcasecmp(choices[k].word, r->words[at].text) == 0 &&
                                      strcmp(choices[k].key, row->key) == 0 &&
                                      strcmp(choices[k].choice, row->choices[c]) == 0);
                }
                // "yes" and "no" alone mean nothing.
                if (is_it && !(strcmp(row->key, "full") == 0 && pass < 2)) {
                    *field = f;
                    *taken = pass == 0 ? 2 : 1;
                    return c;
                }
            }
        }
    }
    return -1;
}

/// key=value
static bool equal_sign(Reader *r, const Word *w, bool *is_good) {
    char *equals = w->is_quoted ? NULL : strchr(w->text, '=');
    *is_good = true;
    if (equals == NULL || equals == w->text) {
        return false;
    }
    *equals = '\0';
    const int f = ow_log_field_of(r->kind, w->text);
    if (f < 0) {
        char list[160] = "";
        for (int i = 0; i < r->row->field_count; i++) {
            const size_t used = strlen(list);
            (void)snprintf(list + used, sizeof list - used, "%s%s", i > 0 ? ", " : "", r->row->fields[i].key);
        }
        *is_good = ow_words_ask(r, NULL, "\"%.30s\" is nothing that %s has: it has %s.", w->text,
                                r->row->word, list);
        return true;
    }
    const OwLogField *field = &r->row->fields[f];
    OwLogValue *value = &r->said->entry.values[f];
    char why[256] = "", wrong[256] = "", remedy[256] = "";
    if (field->type == OW_LOG_REF) {
        bool twice;
        const OwLogThing *t = ow_words_named(r, field->refs, equals + 1, &twice);
        if (t == NULL || twice) {
            const char *near = ow_words_near(r, field->refs, equals + 1);
            *is_good = ow_words_ask(r, near, "\"%.60s\" is not in the book%s%.60s%s", equals + 1,
                                    near != NULL ? ": did you mean " : "", near != NULL ? near : "",
                                    near != NULL ? "?" : ".");
        } else {
            *value = (OwLogValue){.is_set = true, .number = t->id, .text = ow_words_keep(r, t->name)};
        }
        return true;
    }
    if (field->type == OW_LOG_QUANTITY || field->type == OW_LOG_MONEY) {
        // Through the same door as free numbers: bare ones by their usual unit.
        *is_good = ow_words_value(r, field, equals + 1, value, why) ||
                   ow_words_ask(r, NULL, "%.40s: %.200s", field->label,
                                why[0] != '\0' ? why : "not a number of that kind");
        return true;
    }
    *is_good = ow_log_value_read(field, equals + 1, r->speech->units, value, wrong, remedy) == OW_OK ||
               ow_words_ask(r, NULL, "%.40s: %.120s; %.100s", field->label, wrong, remedy);
    if (*is_good && field->type == OW_LOG_TEXT) {
        value->text = ow_words_keep(r, value->text);
    }
    return true;
}

bool ow_words_note(Reader *r, int at) {
    const int f = ow_log_field_of(r->kind, r->kind == OW_LOG_UNDO ? "why" : "note");
    const char *text = at < r->word_count ? ow_words_join(r, at, r->word_count - at) : NULL;
    if (text == NULL || f < 0) {
        return ow_words_ask(r, NULL, "What is the note?");
    }
    char wrong[256], remedy[256];
    if (ow_log_value_read(&r->row->fields[f], text, NULL, &r->said->entry.values[f], wrong, remedy) !=
        OW_OK) {
        return ow_words_ask(r, NULL, "The note: %.120s; %.100s", wrong, remedy);
    }
    r->said->entry.values[f].text = ow_words_keep(r, text);
    return true;
}

/// Entry number "#12" of a thing.
static const OwLogThing *numbered(const Reader *r, const char *text) {
    const int64_t id = text[0] == '#' ? strtoll(text + 1, NULL, 10) : 0;
    for (int i = 0; id > 0 && r->speech->names != NULL && i < r->speech->names->count; i++) {
        if (r->speech->names->things[i].id == id && r->speech->names->things[i].kind != OW_LOG_FILTER) {
            return &r->speech->names->things[i];
        }
    }
    return NULL;
}

/// Kinds that take no free words: what is not explained is a misspelt name.
static bool is_strict(const Reader *r) {
    static const OwLogKind strict[] = {OW_LOG_PICKUP, OW_LOG_TEST, OW_LOG_MOVE,    OW_LOG_SHIFT,
                                       OW_LOG_LEVEL,  OW_LOG_FILL, OW_LOG_ODOMETER};
    bool is_it = false;
    for (int i = 0; i < OW_WORDS_COUNT(strict); i++) {
        is_it = is_it || strict[i] == r->kind;
    }
    return is_it;
}

/// Whether `first` and the word after it are nearly a name of some words: one letter in six wrong, and one.
static bool is_nearly(const Reader *r, unsigned kinds, const char *first, const char *word) {
    char both[OW_LOG_NAME_MAX + 2];
    const int length = snprintf(both, sizeof both, "%s %s", first, word);
    if (length < 0 || (size_t)length >= sizeof both || r->speech->names == NULL) {
        return false;
    }
    const int limit = 1 + length / 6;
    for (int i = 0; i < r->speech->names->count; i++) {
        const OwLogThing *t = &r->speech->names->things[i];
        if (((kinds >> t->kind) & 1u) && strchr(t->name, ' ') != NULL &&
            ow_text_distance(both, t->name, limit) <= limit) {
            return true;
        }
    }
    return false;
}

/// Whether a word follows that nothing explains: then "hill caffe" is no Hill Cafe yet. Kinds that take free
/// words let it be, unless both are nearly a name: "orchard vn".
static bool is_misspelt(Reader *r, int at, int taken_before, unsigned kinds) {
    if (at >= r->word_count || r->words[at].is_quoted) {
        return false;
    }
    const size_t mark = r->spare_used;
    const char *before = ow_words_join(r, at - taken_before, taken_before);
    const char *word = r->words[at].text;
    const bool is_open = is_strict(r) || (before != NULL && is_nearly(r, kinds, before, word));
    r->spare_used = mark;
    int field, taken;
    return is_open && !ow_words_is_number(word) && word[0] != '#' && strchr(word, '=') == NULL &&
           strcasecmp(word, "note") != 0 && strcasecmp(word, "note:") != 0 && ow_words_label(r, word) < 0 &&
           ow_words_lead(r, at) == NULL && ow_words_choice(r, at, &field, &taken) < 0 &&
           ow_words_in(word, fillers, OW_WORDS_COUNT(fillers)) < 0 &&
           ow_words_span(r, at, 1, kinds, true, &taken) == NULL &&
           ow_words_span(r, at, 1, kinds, false, &taken) == NULL;
}

/// One more word to a phrase.
static bool lengthen(Reader *r, Item *phrase, const char *word) {
    char both[OW_LOG_WORDS_MAX + 2];
    (void)snprintf(both, sizeof both, "%s %s", phrase->text, word);
    const size_t length = strlen(both) + 1;
    if (r->spare_used + length > sizeof r->spare) {
        return ow_words_ask(r, NULL, "That is too much for one entry.");
    }
    phrase->text = memcpy(r->spare + r->spare_used, both, length);
    r->spare_used += length;
    return true;
}

bool ow_words_items(Reader *r) {
    const unsigned kinds = ow_words_wanted(r);
    bool is_led = false;
    for (int i = 0; i < r->word_count;) {
        Word *w = &r->words[i];
        int taken = 1, field = -1;
        bool is_good;
        const OwLogThing *thing = NULL;
        if (equal_sign(r, w, &is_good)) {
            if (!is_good) {
                return false;
            }
            i++;
            continue;
        }
        if (!w->is_quoted && (strcasecmp(w->text, "note") == 0 || strcasecmp(w->text, "note:") == 0)) {
            return ow_words_note(r, i + 1);
        }
        bool twice = false;
        const int label = w->is_quoted ? -1 : ow_words_label(r, w->text);
        const char *lead = ow_words_lead(r, i);
        if (w->is_quoted) {
            thing = ow_words_named(r, kinds, w->text, &twice);
        } else if (w->text[0] == '#') {
            thing = numbered(r, w->text);
        } else if ((thing = ow_words_span(r, i, 2, kinds, true, &taken)) == NULL &&
                   (is_led || (label < 0 && lead == NULL))) {
            // A single word that is also a label or a choice is a name only where a name is led to.
            int c_field, c_taken;
            if ((is_led || ow_words_choice(r, i, &c_field, &c_taken) < 0) && !ow_words_is_number(w->text)) {
                thing = ow_words_span(r, i, 1, kinds, true, &taken);
            }
        }
        if (thing != NULL) {
            Item *item = add(r, ITEM_NAME);
            item->thing = thing;
            is_led = false;
            i += taken;
            continue;
        }
        Item *last = r->item_count > 0 ? &r->items[r->item_count - 1] : NULL;
        const bool is_phrase = last != NULL && last->kind == ITEM_WORDS && !last->is_quoted && !w->is_quoted;
        // "orcherd van": with the word before it this one is nearly a name, whatever it means alone.
        if (is_phrase && is_nearly(r, kinds, last->text, w->text)) {
            if (!lengthen(r, last, w->text)) {
                return false;
            }
            i++;
            continue;
        }
        if (!w->is_quoted && ow_words_is_number(w->text)) {
            Item *item = add(r, ITEM_NUMBER);
            i += ow_words_number(r, i, &item->text, &item->has_unit);
            is_led = false;
            continue;
        }
        // "oil filter" of a vehicle that has none in the book yet: its name, not a label with a value.
        if (!w->is_quoted && (r->kind == OW_LOG_FILTER || r->kind == OW_LOG_GAUGE)) {
            if (i + 1 < r->word_count && !r->words[i + 1].is_quoted &&
                strcasecmp(r->words[i + 1].text, "filter") == 0 && strcasecmp(w->text, "filter") != 0 &&
                lead == NULL) {
                const char *both = ow_words_join(r, i, 2);
                if (both == NULL || (is_phrase && !lengthen(r, last, both))) {
                    return false;
                }
                if (!is_phrase) {
                    add(r, ITEM_WORDS)->text = both;
                }
                is_led = false;
                i += 2;
                continue;
            }
            if (strcasecmp(w->text, "filter") == 0) {
                i++;
                continue;
            }
        }
        const int choice = w->is_quoted ? -1 : ow_words_choice(r, i, &field, &taken);
        if (lead != NULL && label < 0) {
            add(r, ITEM_LEAD)->text = lead;
            is_led = true;
            i++;
            continue;
        }
        if (label >= 0) {
            add(r, ITEM_LABEL)->field = label;
            i++;
            continue;
        }
        if (choice >= 0 && !is_led) {
            Item *item = add(r, ITEM_CHOICE);
            item->field = field;
            item->choice = choice;
            r->said->entry.values[field] = (OwLogValue){.is_set = true, .number = choice};
            i += taken;
            continue;
        }
        const bool is_filler =
            !w->is_quoted && ow_words_in(w->text, fillers, OW_WORDS_COUNT(fillers)) >= 0 && !is_led;
        if (is_filler && !is_phrase) {
            i++;
            continue;
        }
        // "hil cafe": after a word that nothing explains, "cafe" alone is no Hill Cafe.
        if (!w->is_quoted && !is_filler && !(is_phrase && is_strict(r)) &&
            (thing = ow_words_span(r, i, 1, kinds, false, &taken)) != NULL &&
            !is_misspelt(r, i + taken, taken, kinds)) {
            Item *item = add(r, ITEM_NAME);
            item->thing = thing;
            is_led = false;
            i += taken;
            continue;
        }
        // Not known: words that belong together.
        if (is_phrase) {
            if (!lengthen(r, last, w->text)) {
                return false;
            }
        } else {
            Item *item = add(r, ITEM_WORDS);
            item->text = w->text;
            item->is_quoted = w->is_quoted;
        }
        is_led = false;
        i++;
    }
    return r->said->question[0] == '\0';
}
