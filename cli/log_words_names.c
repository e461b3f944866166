// SPDX-License-Identifier: GPL-3.0-or-later
// Names of things: as written, by their letters and digits, by some of their words.
#include "log_words.h"

#include <stdlib.h>
#include <string.h>
#include <strings.h>

#include "base/text.h"

// ---- Names

unsigned ow_words_wanted(const Reader *r) {
    unsigned kinds = 0;
    for (int i = 0; i < r->row->field_count; i++) {
        kinds |= r->row->fields[i].type == OW_LOG_REF ? r->row->fields[i].refs : 0u;
    }
    if (r->kind == OW_LOG_FILTER || r->kind == OW_LOG_GAUGE) {
        kinds |= 1u << OW_LOG_FILTER;
    }
    if (r->kind == OW_LOG_FILTER) {
        kinds |= 1u << OW_LOG_BATCH; // "filter b12" is a step
    }
    return kinds;
}

/// The thing with that name, letters and digits compared only; *twice when two have it.
const OwLogThing *ow_words_named(const Reader *r, unsigned kinds, const char *text, bool *twice) {
    char plain[200], other[200];
    *twice = false;
    if (ow_words_plain(plain, sizeof plain, text) == 0 || r->speech->names == NULL) {
        return NULL;
    }
    const OwLogThing *found = NULL;
    for (int i = 0; i < r->speech->names->count; i++) {
        const OwLogThing *t = &r->speech->names->things[i];
        if (!((kinds >> t->kind) & 1u)) {
            continue;
        }
        if (strcasecmp(t->name, text) == 0) {
            *twice = false;
            return t; // as written beats all
        }
        (void)ow_words_plain(other, sizeof other, t->name);
        if (strcmp(plain, other) == 0) {
            *twice = found != NULL && !(t->kind == OW_LOG_FILTER && found->kind == OW_LOG_FILTER);
            found = found == NULL ? t : found;
        }
    }
    return found;
}

static bool has_marks(const char *t) {
    while (*t != '\0' && (unsigned char)*t < 0x80) {
        t++;
    }
    return *t != '\0';
}

/// Whether two words are the same by their letters, marks on them aside.
static bool is_same_word(const char *a, size_t a_length, const char *b, size_t b_length) {
    char one[80], other[80], a_plain[80], b_plain[80];
    (void)snprintf(one, sizeof one, "%.*s", (int)(a_length < sizeof one ? a_length : 0), a);
    (void)snprintf(other, sizeof other, "%.*s", (int)(b_length < sizeof other ? b_length : 0), b);
    if (a_length == b_length && strncasecmp(one, other, sizeof one) == 0) {
        return a_length > 0;
    }
    const size_t length = ow_words_plain(a_plain, sizeof a_plain, one);
    return length > 0 && ow_words_plain(b_plain, sizeof b_plain, other) == length &&
           strcmp(a_plain, b_plain) == 0 && (has_marks(one) || has_marks(other));
}

/// Whether every word of `text` is a whole word of the name, in order.
static bool is_part(const char *text, const char *name) {
    const char *n = name;
    const char *t = text;
    bool any = false;
    while (*t != '\0') {
        while (*t == ' ') {
            t++;
        }
        const size_t length = strcspn(t, " ");
        if (length == 0) {
            break;
        }
        bool is_found = false;
        while (*n != '\0' && !is_found) {
            while (*n == ' ' || *n == '-') {
                n++;
            }
            const size_t long_of = strcspn(n, " -");
            is_found = is_same_word(n, long_of, t, length);
            n += long_of;
        }
        if (!is_found) {
            return false;
        }
        any = true;
        t += length;
    }
    return any;
}

/// The only thing of which the text is a part; with several, asks.
const OwLogThing *ow_words_part(Reader *r, unsigned kinds, const char *text) {
    const OwLogThing *found = NULL, *second = NULL;
    for (int i = 0; r->speech->names != NULL && i < r->speech->names->count; i++) {
        const OwLogThing *t = &r->speech->names->things[i];
        if (((kinds >> t->kind) & 1u) && is_part(text, t->name)) {
            const bool is_same =
                found != NULL && t->kind == OW_LOG_FILTER && strcasecmp(found->name, t->name) == 0;
            second = found != NULL && second == NULL && !is_same ? t : second;
            found = found == NULL ? t : found;
        }
    }
    if (second != NULL) {
        (void)ow_words_ask(r, found->name, "Which \"%.60s\": %.60s or %.60s?", text, found->name,
                           second->name);
    }
    return found;
}

typedef struct Near {
    const OwLogNames *names;
    unsigned kinds;
} Near;

static const char *near_name(const void *context, size_t i) {
    const Near *n = context;
    return (n->kinds >> n->names->things[i].kind) & 1u ? n->names->things[i].name : NULL;
}

const char *ow_words_near(const Reader *r, unsigned kinds, const char *text) {
    const Near n = {r->speech->names, kinds};
    return n.names == NULL ? NULL : ow_text_nearest_by(text, (size_t)n.names->count, near_name, &n);
}

const OwLogThing *ow_words_span(Reader *r, int at, int least, unsigned kinds, bool is_exact, int *taken) {
    for (int n = r->word_count - at < 6 ? r->word_count - at : 6; n >= least; n--) {
        bool is_open = true;
        for (int k = at; k < at + n; k++) {
            is_open = is_open && (!r->words[k].is_quoted || n == 1);
        }
        const size_t mark = r->spare_used;
        const char *text = is_open ? ow_words_join(r, at, n) : NULL;
        bool twice = false;
        const OwLogThing *t = text == NULL ? NULL
                              : is_exact   ? ow_words_named(r, kinds, text, &twice)
                                           : ow_words_part(r, kinds, text);
        if (t != NULL) {
            if (twice) {
                (void)ow_words_ask(r, t->name,
                                   "Two things are called \"%.60s\": write the name as it is in the book.",
                                   text);
            }
            *taken = n;
            return t;
        }
        r->spare_used = mark;
    }
    return NULL;
}
