// SPDX-License-Identifier: GPL-3.0-or-later
// Labels, names and numbers go to the fields of the entry.
#include "log_words.h"

#include <stdlib.h>
#include <string.h>
#include <strings.h>

#include "base/text.h"

OwLogValue *ow_words_slot(Reader *r, int field) {
    return &r->said->entry.values[field];
}

static bool put_number(Reader *r, int field, Item *item) {
    const OwLogField *f = &r->row->fields[field];
    char why[256];
    if (f->type == OW_LOG_TEXT) { // a number as text: a slip's
        char text[100];
        (void)snprintf(text, sizeof text, "%.90s", item->text);
        *ow_words_slot(r, field) = (OwLogValue){.is_set = true, .text = ow_words_keep(r, text)};
        item->kind = ITEM_DONE;
        return true;
    }
    if (ow_words_slot(r, field)->is_set) {
        return ow_words_ask(r, NULL, "The %s is told twice: %.60s is what?", f->label, item->text);
    }
    if (!ow_words_value(r, f, item->text, ow_words_slot(r, field), why)) {
        return ow_words_ask(r, NULL, "%.40s: %.220s", f->label,
                            why[0] != '\0' ? why : "the unit is of another kind");
    }
    if (f->quantity == OW_Q_NUMBER && f->type == OW_LOG_QUANTITY && !item->has_unit &&
        strcmp(f->csv_unit, "mg/kg") == 0 &&
        strchr(item->text, '.') != NULL) { // half a ppm is not what a workshop measures
        return ow_words_ask(r, NULL, "Is the %s %.40s %% or %.40s ppm?", f->label, item->text, item->text);
    }
    double kg = 0.0;
    if (f->quantity == OW_Q_VOLUME && f->type == OW_LOG_QUANTITY && item->has_unit &&
        ow_units_read(r->speech->units, item->text, OW_Q_MASS, NULL, &kg, NULL, 0) == OW_OK) {
        r->mass_kg = kg;
    }
    item->kind = ITEM_DONE;
    return true;
}

static bool fits(Reader *r, int field, const Item *item) {
    OwLogValue value;
    char why[256];
    return item != NULL && item->kind == ITEM_NUMBER &&
           ow_words_value(r, &r->row->fields[field], item->text, &value, why);
}

bool ow_words_put_labels(Reader *r) {
    for (int i = 0; i < r->item_count; i++) {
        Item *label = &r->items[i];
        if (label->kind != ITEM_LABEL) {
            continue;
        }
        const OwLogField *f = &r->row->fields[label->field];
        int b = i - 1; // "2 L cake off": a choice between does not part them
        while (b >= 0 && r->items[b].kind == ITEM_CHOICE) {
            b--;
        }
        Item *before = b >= 0 ? &r->items[b] : NULL, *after = i + 1 < r->item_count ? &r->items[i + 1] : NULL;
        const Item *next = i + 2 < r->item_count ? &r->items[i + 2] : NULL;
        label->kind = ITEM_DONE;
        if (f->type == OW_LOG_TEXT) {
            if (after != NULL &&
                (after->kind == ITEM_WORDS || after->kind == ITEM_NUMBER || after->kind == ITEM_NAME)) {
                const char *text = after->kind == ITEM_NAME ? after->thing->name : after->text;
                char wrong[256], remedy[256];
                if (ow_log_value_read(f, text, NULL, ow_words_slot(r, label->field), wrong, remedy) !=
                    OW_OK) {
                    return ow_words_ask(r, NULL, "%.40s: %.200s", f->label, wrong);
                }
                ow_words_slot(r, label->field)->text = ow_words_keep(r, text);
                after->kind = ITEM_DONE;
            }
            continue;
        }
        const bool is_before = fits(r, label->field, before), is_after = fits(r, label->field, after);
        // "40 L oil 5 L diesel" against "40 L diesel 5 L": the next number's own label decides.
        const bool is_next_labelled = next != NULL && next->kind == ITEM_LABEL && fits(r, next->field, after);
        if (is_before && (!is_after || is_next_labelled) && before->kind == ITEM_NUMBER) {
            if (!put_number(r, label->field, before)) {
                return false;
            }
        } else if (after != NULL && after->kind == ITEM_NUMBER) {
            if (!put_number(r, label->field, after)) {
                return false;
            }
        } else if (strcmp(f->key, "oil") != 0) {
            return ow_words_ask(r, NULL, "How much is the %s?", f->label);
        }
    }
    return true;
}

static bool is_lead(const char *lead, const char *key) {
    if (strcmp(lead, "from") == 0) {
        return strcmp(key, "from") == 0 || strcmp(key, "source") == 0;
    }
    if (strcmp(lead, "of") == 0) {
        return strcmp(key, "of") == 0 || strcmp(key, "batch") == 0 || strcmp(key, "vehicle") == 0;
    }
    if (strcmp(lead, "for") == 0) {
        return strcmp(key, "vehicle") == 0;
    }
    return strcmp(key, "to") == 0 || strcmp(key, "into") == 0 || strcmp(key, "vessel") == 0 ||
           strcmp(key, "vehicle") == 0;
}

static bool put_name(Reader *r, Item *item, const char *lead) {
    const OwLogThing *t = item->thing;
    int best = -1;
    for (int pass = lead != NULL ? 0 : 1; pass < 2 && best < 0; pass++) {
        for (int f = 0; f < r->row->field_count && best < 0; f++) {
            const OwLogField *row = &r->row->fields[f];
            const bool is_ok =
                row->type == OW_LOG_REF && ((row->refs >> t->kind) & 1u) && !ow_words_slot(r, f)->is_set;
            best = is_ok && (pass == 1 || is_lead(lead, row->key)) ? f : -1;
        }
    }
    if (best < 0) {
        return ow_words_ask(r, NULL, "What has \"%.60s\" to do with the %s? It is a %s.", t->name,
                            r->row->word, ow_log_kind(t->kind)->word);
    }
    *ow_words_slot(r, best) =
        (OwLogValue){.is_set = true, .number = t->id, .text = ow_words_keep(r, t->name)};
    item->kind = ITEM_DONE;
    return true;
}

bool ow_words_put_names(Reader *r) {
    for (int pass = 0; pass < 2; pass++) { // those that are led first
        const char *lead = NULL;
        for (int i = 0; i < r->item_count; i++) {
            Item *item = &r->items[i];
            if (item->kind == ITEM_LEAD) {
                lead = item->text;
                continue;
            }
            if (item->kind == ITEM_NAME && item->thing->kind == OW_LOG_FILTER) {
                const int f = ow_log_field_of(r->kind, "filter");
                if (f >= 0) {
                    *ow_words_slot(r, f) =
                        (OwLogValue){.is_set = true, .text = ow_words_keep(r, item->thing->name)};
                    item->kind = ITEM_DONE;
                }
            } else if (item->kind == ITEM_NAME && (pass == 1 || lead != NULL) && !put_name(r, item, lead)) {
                return false;
            }
            lead = NULL;
        }
    }
    return true;
}

static int first_field(const Reader *r, OwLogType type, bool is_free) {
    for (int f = 0; f < r->row->field_count; f++) {
        if (r->row->fields[f].type == type && (!is_free || !r->said->entry.values[f].is_set)) {
            return f;
        }
    }
    return -1;
}

static bool is_free(const Reader *r, const char *key, int *field) {
    *field = ow_log_field_of(r->kind, key);
    return *field >= 0 && !r->said->entry.values[*field].is_set;
}

/// Where a bare number goes; -1: cannot be told.
static int bare_field(const Reader *r, const char *text) {
    const double value = strtod(text, NULL);
    const size_t length = strlen(text);
    const bool is_price = length > 3 && text[length - 3] == '.';
    int f;
    if (is_free(r, "odometer", &f) && (r->kind == OW_LOG_ODOMETER || (value >= 1000.0 && !is_price))) {
        return f;
    }
    static const char *const volumes[] = {"oil", "volume", "level", "capacity"};
    for (int i = 0; i < OW_WORDS_COUNT(volumes); i++) {
        if (is_free(r, volumes[i], &f)) {
            return f;
        }
    }
    if (r->kind == OW_LOG_WASTE && !is_price && is_free(r, "document", &f)) {
        return f;
    }
    if (is_price || r->kind == OW_LOG_EXPENSE || r->kind == OW_LOG_REPAIR) {
        return first_field(r, OW_LOG_MONEY, true);
    }
    return -1;
}

bool ow_words_put_numbers(Reader *r) {
    for (int i = 0; i < r->item_count; i++) {
        Item *item = &r->items[i];
        if (item->kind != ITEM_NUMBER) {
            continue;
        }
        if (!item->has_unit) {
            const int f = bare_field(r, item->text);
            if (f < 0) {
                return ow_words_ask(r, NULL, "What is %.40s? Write its unit or what it is beside it.",
                                    item->text);
            }
            if (!put_number(r, f, item)) {
                return false;
            }
            continue;
        }
        int found = -1, taken = -1, second = -1;
        char why[256] = "", first_why[256] = "";
        for (int f = 0; f < r->row->field_count; f++) {
            OwLogValue value;
            if (!ow_words_value(r, &r->row->fields[f], item->text, &value, why)) {
                const bool is_gallon =
                    strstr(why, "gallon") != NULL && r->row->fields[f].quantity == OW_Q_VOLUME;
                if (first_why[0] == '\0' && (strstr(why, "out of range") != NULL || is_gallon)) {
                    (void)snprintf(first_why, sizeof first_why, "%.40s: %.200s", r->row->fields[f].label,
                                   why);
                }
                continue;
            }
            // An acid value is told in its own unit or by its name.
            if (strcmp(r->row->fields[f].csv_unit, "mg/g") == 0 && strstr(item->text, "mg/g") == NULL) {
                continue;
            }
            if (ow_words_slot(r, f)->is_set) {
                taken = f;
                continue;
            }
            second = found >= 0 && second < 0 ? f : second;
            found = found < 0 ? f : found;
        }
        if (found >= 0 && second >= 0 && r->row->fields[found].quantity == OW_Q_NUMBER &&
            r->row->fields[found].type == OW_LOG_QUANTITY && r->row->fields[second].quantity == OW_Q_NUMBER) {
            return ow_words_ask(r, NULL, "Is %.40s the %s or the %s?", item->text,
                                r->row->fields[found].label, r->row->fields[second].label);
        }
        const int blended = ow_log_field_of(r->kind, "added");
        const int what = ow_log_field_of(r->kind, "what");
        if (r->kind == OW_LOG_STEP && found == ow_log_field_of(r->kind, "loss") &&
            ow_words_slot(r, what)->number == OW_LOG_STEP_BLEND && !ow_words_slot(r, blended)->is_set) {
            found = blended;
        }
        if (found < 0 && taken >= 0) {
            return ow_words_ask(r, NULL, "The %s is told twice: what is %.40s?", r->row->fields[taken].label,
                                item->text);
        }
        if (found < 0) {
            return first_why[0] != '\0'
                       ? ow_words_ask(r, NULL, "%.250s", first_why)
                       : ow_words_ask(r, NULL, "What is %.40s? A %s has nothing of that kind.", item->text,
                                      r->row->word);
        }
        if (!put_number(r, found, item)) {
            return false;
        }
    }
    return true;
}
