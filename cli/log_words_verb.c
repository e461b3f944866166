// SPDX-License-Identifier: GPL-3.0-or-later
// The word that says which kind of entry is meant.
#include "log_words.h"

#include <stdlib.h>
#include <string.h>
#include <strings.h>

#include "base/text.h"

/// What a first word asks for.
typedef struct Verb {
    const char *word; ///< one or two words
    OwLogKind kind;
    const char *what; ///< choice of the field `what`
} Verb;

static const Verb verbs[] = {
    {"pick up", OW_LOG_PICKUP, NULL},
    {"pickup", OW_LOG_PICKUP, NULL},
    {"pick-up", OW_LOG_PICKUP, NULL},
    {"picked up", OW_LOG_PICKUP, NULL},
    {"fetch", OW_LOG_PICKUP, NULL},
    {"fetched", OW_LOG_PICKUP, NULL},
    {"brought", OW_LOG_PICKUP, NULL},
    {"collect", OW_LOG_PICKUP, NULL},
    {"collected", OW_LOG_PICKUP, NULL},
    {"fill", OW_LOG_FILL, NULL},
    {"filled", OW_LOG_FILL, NULL},
    {"refuel", OW_LOG_FILL, NULL},
    {"km", OW_LOG_ODOMETER, NULL},
    {"odo", OW_LOG_ODOMETER, NULL},
    {"odometer", OW_LOG_ODOMETER, NULL},
    {"mileage", OW_LOG_ODOMETER, NULL},
    {"miles", OW_LOG_ODOMETER, NULL},
    {"filter", OW_LOG_FILTER, NULL},
    {"gauge", OW_LOG_GAUGE, NULL},
    {"vacuum", OW_LOG_GAUGE, NULL},
    {"test", OW_LOG_TEST, NULL},
    {"tested", OW_LOG_TEST, NULL},
    {"titrate", OW_LOG_TEST, NULL},
    {"settle", OW_LOG_STEP, "settle"},
    {"settled", OW_LOG_STEP, "settle"},
    {"heat", OW_LOG_STEP, "heat"},
    {"heated", OW_LOG_STEP, "heat"},
    {"dry", OW_LOG_STEP, "dry"},
    {"dried", OW_LOG_STEP, "dry"},
    {"filtered", OW_LOG_STEP, "filter"},
    {"centrifuge", OW_LOG_STEP, "centrifuge"},
    {"spin", OW_LOG_STEP, "centrifuge"},
    {"spun", OW_LOG_STEP, "centrifuge"},
    {"blend", OW_LOG_STEP, "blend"},
    {"step", OW_LOG_STEP, NULL},
    {"move", OW_LOG_MOVE, NULL},
    {"moved", OW_LOG_MOVE, NULL},
    {"pump", OW_LOG_MOVE, NULL},
    {"pour", OW_LOG_MOVE, NULL},
    {"shift", OW_LOG_SHIFT, NULL},
    {"level", OW_LOG_LEVEL, NULL},
    {"dip", OW_LOG_LEVEL, NULL},
    {"measure", OW_LOG_LEVEL, NULL},
    {"waste", OW_LOG_WASTE, NULL},
    {"source", OW_LOG_SOURCE, NULL},
    {"vessel", OW_LOG_VESSEL, NULL},
    {"vehicle", OW_LOG_VEHICLE, NULL},
    {"batch", OW_LOG_BATCH, NULL},
    {"oil change", OW_LOG_REPAIR, "oil change"},
    {"repair", OW_LOG_REPAIR, NULL},
    {"service", OW_LOG_REPAIR, NULL},
    {"battery", OW_LOG_REPAIR, "battery"},
    {"expense", OW_LOG_EXPENSE, NULL},
    {"spent", OW_LOG_EXPENSE, NULL},
    {"paid", OW_LOG_EXPENSE, NULL},
    {"bought", OW_LOG_EXPENSE, NULL},
    {"undo", OW_LOG_UNDO, NULL},
};
enum { VERBS = sizeof verbs / sizeof verbs[0] };

int ow_words_in(const char *word, const char *const *list, int count) {
    for (int i = 0; i < count; i++) {
        if (strcasecmp(word, list[i]) == 0) {
            return i;
        }
    }
    return -1;
}

// ---- The verb

static const Verb *verb_at(const Reader *r, int i, int *taken) {
    if (r->words[i].is_quoted) {
        return NULL;
    }
    char two[80];
    (void)snprintf(two, sizeof two, "%.38s %.38s", r->words[i].text,
                   i + 1 < r->word_count && !r->words[i + 1].is_quoted ? r->words[i + 1].text : "");
    for (int k = 0; k < VERBS; k++) {
        if (strchr(verbs[k].word, ' ') != NULL && strcasecmp(verbs[k].word, two) == 0) {
            *taken = 2;
            return &verbs[k];
        }
    }
    for (int k = 0; k < VERBS; k++) {
        if (strcasecmp(verbs[k].word, r->words[i].text) == 0) {
            *taken = 1;
            return &verbs[k];
        }
    }
    return NULL;
}

static const char *verb_name(const void *context, size_t i) {
    (void)context;
    return verbs[i].word;
}

void ow_words_drop(Reader *r, int at, int count) {
    memmove(r->words + at, r->words + at + count, (size_t)(r->word_count - at - count) * sizeof *r->words);
    r->word_count -= count;
}

bool ow_words_choose(Reader *r, int field, const char *word) {
    const char *const *list = field >= 0 ? r->row->fields[field].choices : NULL;
    for (int i = 0; list != NULL && list[i] != NULL; i++) {
        if (strcasecmp(list[i], word) == 0) {
            r->said->entry.values[field] = (OwLogValue){.is_set = true, .number = i};
            return true;
        }
    }
    return false;
}

void ow_words_kind(Reader *r, OwLogKind kind, const char *what) {
    r->kind = kind;
    r->row = ow_log_kind(kind);
    r->said->entry.kind = kind;
    if (what != NULL) {
        (void)ow_words_choose(r, ow_log_field_of(kind, "what"), what);
    }
}

/// Puts a unit behind the largest bare number, unless a number has one: a name may hold a small one.
static void give_unit(Reader *r, const char *unit) {
    int best = -1;
    double most = -1.0;
    (void)ow_text_copy(r->unit, sizeof r->unit, unit);
    for (int i = 0; i < r->word_count && strcasecmp(r->words[i].text, "note") != 0; i++) {
        const char *text = r->words[i].text;
        if (r->words[i].is_quoted || !ow_words_is_number(text) ||
            strspn(text, "0123456789.,") != strlen(text)) {
            continue;
        }
        if (i + 1 < r->word_count && ow_words_is_way(r->words[i + 1].text)) {
            return;
        }
        const double value = strtod(text, NULL) * (strchr(text, ',') != NULL ? 1000.0 : 1.0);
        best = value > most ? i : best;
        most = value > most ? value : most;
    }
    if (best < 0 || r->word_count == WORDS_MOST) {
        return;
    }
    memmove(r->words + best + 2, r->words + best + 1, (size_t)(r->word_count - best - 1) * sizeof *r->words);
    r->words[best + 1] = (Word){.text = r->unit};
    r->word_count++;
}

/// Whether some words are exactly the name of a source.
static bool names_source(Reader *r) {
    bool is_it = false;
    for (int i = 0; i < r->word_count && !is_it && strcasecmp(r->words[i].text, "note") != 0; i++) {
        int taken;
        const size_t mark = r->spare_used;
        is_it = ow_words_span(r, i, 1, 1u << OW_LOG_SOURCE, true, &taken) != NULL;
        r->spare_used = mark;
    }
    return is_it && r->said->question[0] == '\0';
}

bool ow_words_verb(Reader *r) {
    if (r->word_count == 0) {
        return ow_words_ask(r, NULL, "What happened? For example: pickup hill cafe 60 L drum 2");
    }
    int taken = 0, at = 0;
    // "new source ...", "add vessel ..."
    if (r->word_count > 1 &&
        (strcasecmp(r->words[0].text, "new") == 0 || strcasecmp(r->words[0].text, "add") == 0)) {
        at = verb_at(r, 1, &taken) != NULL ? 1 : 0;
    }
    const bool is_new = at == 1;
    const Verb *v = verb_at(r, at, &taken);
    for (int i = 1; v == NULL && i < r->word_count; i++) {
        if (strcasecmp(r->words[i].text, "note") == 0) {
            break;
        }
        v = verb_at(r, i, &taken);
        at = i;
    }
    if (v == NULL) {
        char first[80];
        (void)snprintf(first, sizeof first, "%.70s", r->words[0].text);
        const char *near = r->words[0].is_quoted ? NULL : ow_text_nearest_by(first, VERBS, verb_name, NULL);
        if (near == NULL && r->word_count > 1 && !r->words[0].is_quoted && !r->words[1].is_quoted) {
            (void)snprintf(first, sizeof first, "%.38s %.38s", r->words[0].text, r->words[1].text);
            near = ow_text_nearest_by(first, VERBS, verb_name, NULL);
            near = near != NULL && strchr(near, ' ') != NULL ? near : NULL;
        }
        if (near != NULL) {
            return ow_words_ask(r, near, "\"%.40s\" is no word for an entry: did you mean %s?", first, near);
        }
        if (names_source(r)) { // nothing else comes from a source
            ow_words_kind(r, OW_LOG_PICKUP, NULL);
            return true;
        }
        return ow_words_ask(
            r, NULL, "What happened? Begin with pickup, batch, test, move, fill, km, filter, waste, ...");
    }
    ow_words_kind(r, v->kind, v->what);
    // "km" or "miles" also says how the number counts, when it has no unit of its own.
    const bool is_km = strcasecmp(v->word, "km") == 0, is_miles = strcasecmp(v->word, "miles") == 0;
    ow_words_drop(r, at, taken);
    if (is_new) {
        ow_words_drop(r, 0, 1);
        if (v->kind == OW_LOG_FILTER) {
            (void)ow_words_choose(r, ow_log_field_of(v->kind, "reason"), "fitted");
        } else if (v->kind == OW_LOG_ODOMETER) {
            (void)ow_words_choose(r, ow_log_field_of(v->kind, "new"), "yes");
        }
    }
    if (is_km || is_miles) {
        give_unit(r, is_km ? "km" : "mi");
    }
    return true;
}
