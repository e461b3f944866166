// SPDX-License-Identifier: GPL-3.0-or-later
// Short forms: from a line that a person types to one entry, or to one question.
#include "log_words.h"

#include <stdlib.h>
#include <string.h>
#include <strings.h>

/// The name of a thing to be made: everything up to a number that has a unit, a label, a lead or quotes.
static bool take_name(Reader *r) {
    const int f = ow_log_field_of(r->kind, "name");
    int n = 0;
    if (r->word_count > 0 &&
        ow_words_in(r->words[0].text, (const char *const[]){"called", "named"}, 2) >= 0) {
        ow_words_drop(r, 0, 1);
    }
    for (; n < r->word_count; n++) {
        const Word *w = &r->words[n];
        if (w->is_quoted) {
            n += n == 0 ? 1 : 0;
            break;
        }
        int field, taken;
        const bool is_plain = strspn(w->text, "0123456789") == strlen(w->text);
        const bool was_plain =
            n > 0 && strspn(r->words[n - 1].text, "0123456789") == strlen(r->words[n - 1].text);
        // "drum 3 200": the second number is an amount; "b13 120": a batch's first is; "b13 drum 2": another
        // name.
        if (n > 0 && ((is_plain && (was_plain || r->kind == OW_LOG_BATCH)) ||
                      ow_words_span(r, n, 1, ow_words_wanted(r), true, &taken) != NULL)) {
            break;
        }
        const char *text;
        bool has_unit;
        const size_t mark = r->spare_used;
        const bool is_number = ow_words_is_number(w->text);
        if (is_number) {
            (void)ow_words_number(r, n, &text, &has_unit);
        }
        r->spare_used = mark;
        const bool is_amount = is_number && (has_unit || !is_plain);
        const bool is_key = strchr(w->text, '=') != NULL ||
                            (n > 0 && r->kind == OW_LOG_BATCH && strcasecmp(w->text, "all") == 0) ||
                            strcasecmp(w->text, "note") == 0 || strcasecmp(w->text, "note:") == 0;
        if ((is_amount && strspn(w->text, "0123456789.,-+LlkKmMgG") == strlen(w->text)) || is_key ||
            (n > 0 && (ow_words_label(r, w->text) >= 0 || ow_words_lead(r, n) != NULL ||
                       strcasecmp(w->text, "at") == 0 || ow_words_choice(r, n, &field, &taken) >= 0))) {
            break;
        }
    }
    if (n == 0) {
        return ow_log_field_of(r->kind, "name") >= 0 && r->word_count > 0 &&
                       strncasecmp(r->words[0].text, "name=", 5) == 0
                   ? true
                   : ow_words_ask(r, NULL, "What is the %s called?", r->row->word);
    }
    const char *name = ow_words_join(r, 0, n);
    bool twice;
    const OwLogThing *there = name != NULL ? ow_words_named(r, 1u << r->kind, name, &twice) : NULL;
    if (there != NULL) {
        return ow_words_ask(r, there->name,
                            "There is a %s \"%.60s\" already: how shall the new one be called?", r->row->word,
                            there->name);
    }
    char wrong[256], remedy[256];
    if (name == NULL ||
        ow_log_value_read(&r->row->fields[f], name, NULL, &r->said->entry.values[f], wrong, remedy) !=
            OW_OK ||
        strlen(name) > OW_LOG_NAME_MAX || name[0] == '#') {
        return ow_words_ask(r, NULL, "That is no name: begin with a letter, at most %d letters.",
                            OW_LOG_NAME_MAX);
    }
    r->said->entry.values[f].text = ow_words_keep(r, name);
    ow_words_drop(r, 0, n);
    return true;
}

static bool undo_why(Reader *r) {
    int at = 1;
    while (at < r->word_count &&
           (strcasecmp(r->words[at].text, "note") == 0 || strcasecmp(r->words[at].text, "because") == 0)) {
        at++;
    }
    return at == r->word_count || ow_words_note(r, at);
}

static bool read_undo(Reader *r) {
    if (r->word_count == 0) {
        return ow_words_ask(r, NULL, "Which entry? Its number is in the list: undo 153; or undo last");
    }
    r->said->is_undo = true;
    if (strcasecmp(r->words[0].text, "last") == 0) {
        r->said->undo = 0;
        return undo_why(r);
    }
    const char *t = r->words[0].text + (r->words[0].text[0] == '#' ? 1 : 0);
    char *end;
    const long long id = strtoll(t, &end, 10);
    if (!ow_words_is_number(t) || *end != '\0' || id < 1 || id >= INT64_MAX) {
        return ow_words_ask(r, NULL, "\"%.40s\" is no number of an entry: undo 153", r->words[0].text);
    }
    r->said->undo = id;
    r->said->entry.values[ow_log_field_of(OW_LOG_UNDO, "entry")] = (OwLogValue){.is_set = true, .number = id};
    return undo_why(r);
}

/// "filter b12" is a step on a batch, "filter van ..." a change.
static void tell_filters(Reader *r) {
    bool has_batch = false, has_vehicle = false;
    for (int i = 0; i < r->word_count && r->kind == OW_LOG_FILTER; i++) {
        int taken;
        const size_t mark = r->spare_used;
        has_batch = has_batch || ow_words_span(r, i, 1, 1u << OW_LOG_BATCH, true, &taken) != NULL;
        has_vehicle = has_vehicle || ow_words_span(r, i, 1, 1u << OW_LOG_VEHICLE, true, &taken) != NULL;
        r->spare_used = mark;
    }
    if (has_batch && !has_vehicle) {
        memset(r->said->entry.values, 0, sizeof r->said->entry.values);
        ow_words_kind(r, OW_LOG_STEP, "filter");
    }
}

static bool understand(Reader *r, const char *text) {
    if (!ow_words_split(r, text) || !ow_words_time(r) || !ow_words_verb(r)) {
        return false;
    }
    if (r->kind == OW_LOG_UNDO) {
        return read_undo(r);
    }
    if (r->row->is_thing && !take_name(r)) {
        return false;
    }
    tell_filters(r);
    ow_words_digits(r);
    ow_words_take_all(r);
    return ow_words_items(r) && ow_words_put_labels(r) && ow_words_put_names(r) && ow_words_put_numbers(r) &&
           ow_words_only_vehicle(r) && ow_words_put_words(r) && ow_words_only_filter(r) && ow_words_check(r);
}

static void say_date(const Reader *r, char *text, size_t size) {
    char time[24];
    const size_t used = strlen(text);
    const int64_t at_s = r->said->entry.at_s;
    ow_log_time_write(at_s + (r->speech->offset != NULL ? r->speech->offset(at_s) : 0), time, sizeof time);
    time[10] = ' ';
    (void)snprintf(text + used, size - used, ", on %.16s", time);
}

OwStatus ow_log_words_read(const char *text, const OwLogSpeech *speech, OwLogSaid *said) {
    memset(said, 0, sizeof *said);
    Reader *r = calloc(1, sizeof *r);
    if (r == NULL) {
        return OW_ERROR_MEMORY;
    }
    r->speech = speech;
    r->said = said;
    const bool is_good = understand(r, text);
    if (is_good && said->question[0] == '\0') {
        ow_log_words_say(&said->entry, speech->display, said->sentence, sizeof said->sentence);
        if (r->mass_kg > 0.0) {
            const size_t used = strlen(said->sentence);
            (void)snprintf(said->sentence + used, sizeof said->sentence - used, " (%.4g kg at %s kg/L)",
                           r->mass_kg, r->kind == OW_LOG_WASTE ? "1" : "0.92");
        }
        if (said->entry.at_s != 0) {
            say_date(r, said->sentence, sizeof said->sentence);
        }
    } else {
        (void)ow_words_ask(r, NULL, "That is not clear: see oilwright log --help.");
    }
    free(r);
    return said->question[0] == '\0' ? OW_OK : OW_ERROR_VALUE;
}

bool ow_log_words_thing(const OwLogSpeech *speech, unsigned kinds, const char *name, int64_t *id,
                        char nearest[OW_LOG_NAME_MAX + 1]) {
    Reader *r = calloc(1, sizeof *r);
    OwLogSaid *said = calloc(1, sizeof *said);
    const OwLogThing *found = NULL;
    nearest[0] = '\0';
    *id = 0;
    if (r != NULL && said != NULL) {
        bool twice = false;
        r->speech = speech;
        r->said = said;
        found = ow_words_named(r, kinds, name, &twice);
        found = found == NULL ? ow_words_part(r, kinds, name) : twice ? NULL : found;
        found = said->question[0] != '\0' ? NULL : found;
        const char *near = said->suggestion[0] != '\0' ? said->suggestion : ow_words_near(r, kinds, name);
        if (found != NULL) {
            *id = found->id;
        } else if (near != NULL) {
            (void)snprintf(nearest, OW_LOG_NAME_MAX + 1, "%s", near);
        }
    }
    free(r);
    free(said);
    return found != NULL;
}
