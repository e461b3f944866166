// SPDX-License-Identifier: GPL-3.0-or-later
// POST /api/log, /api/log/undo: what is written into the logbook, by the functions of the verb `log`.
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include "api_log.h"

#define MAX_ENTRIES 8

/// One request to write. Texts stay in the body.
typedef struct Order {
    OwCall *call;
    OwLogbook *book;
    OwUnits *units;
    OwDisplay display;
    OwFaults faults;
    json_t *told; ///< faults as JSON
} Order;

/// A fault with the entry and the field it belongs to; -1 and NULL: none.
static void tell(Order *order, const char *severity, int entry, const char *field, const char *message,
                 const char *remedy) {
    json_t *text = json_string(message), *cure = json_string(remedy);
    (void)json_array_append_new(order->told,
                                json_pack("{s:s, s:o, s:o, s:o, s:o}", "severity", severity, "entry",
                                          entry >= 0 ? json_integer(entry) : json_null(), "field",
                                          field != NULL ? json_string(field) : json_null(), "message",
                                          text != NULL ? text : json_string("(not UTF-8)"), "remedy",
                                          cure != NULL ? cure : json_string("")));
}

/// What the logbook said. Its parts are "entry 2: pickup: volume"; the number is left out where there is one
/// entry, the field where none is to blame.
static void tell_faults(Order *order) {
    for (size_t i = 0; i < order->faults.count; i++) {
        const OwFault *f = &order->faults.items[i];
        const char *word = f->part, *field = NULL;
        char kind[32] = "";
        int number = 1, used = 0;
        if (sscanf(word, "entry %d: %n", &number, &used) == 1 && used > 0) {
            word += used;
        }
        const char *colon = strstr(word, ": ");
        if (colon != NULL && (size_t)(colon - word) < sizeof kind) {
            memcpy(kind, word, (size_t)(colon - word));
            const int which = ow_log_field_of(ow_log_kind_of(kind, NULL), colon + 2);
            field = which >= 0 ? colon + 2 : NULL;
        }
        tell(order, f->severity == OW_FAULT_ERROR ? "error" : "warning", number - 1, field, f->message,
             f->remedy);
    }
}

/// Opens it to write, new when there is none. False: refused.
static bool open_to_write(Order *order) {
    const char *path = order->call->page->settings.book;
    OwStatus status = OW_OK;
    if (!ow_page_has_book(order->call->page)) {
        status = ow_logbook_open(path, OW_LOG_CREATE, &order->book, &order->faults);
        if (status == OW_OK) {
            return true;
        }
        if (ow_page_has_book(order->call->page)) { // another made it meanwhile
            ow_faults_clear(&order->faults);
            status = OW_OK;
        }
    }
    if (status == OW_OK) {
        status = ow_logbook_open(path, OW_LOG_WRITE, &order->book, &order->faults);
    }
    if (status != OW_OK) {
        ow_call_book_refuse(order->call, status, &order->faults);
    }
    return status == OW_OK;
}

/// False when this page may not write; refused.
static bool may_write(OwCall *call) {
    if (call->page->settings.book == NULL) {
        ow_call_refuse(call, 404, "no_book", "start it with --book FILE", "this page has no logbook");
        return false;
    }
    if (!call->page->settings.can_write) {
        ow_call_refuse(call, 403, "read_only", "start it with --share --may-save",
                       "this page does not write the logbook");
        return false;
    }
    return true;
}

static OwPageOnce *find_once(OwPage *page, const char *token) {
    for (int i = 0; i < OW_PAGE_ONCE && token != NULL; i++) {
        if (page->once[i].text != NULL && strcmp(page->once[i].token, token) == 0) {
            return &page->once[i];
        }
    }
    return NULL;
}

/// Keeps what was answered, for the case that the answer is lost on the way and the page asks again.
static void keep_once(OwPage *page, const char *token, const OwBuffer *text) {
    OwPageOnce *once = &page->once[page->once_next];
    char *copy = token != NULL && !text->has_failed ? malloc(text->size + 1) : NULL;
    if (copy == NULL) {
        return;
    }
    memcpy(copy, text->data, text->size);
    copy[text->size] = '\0';
    free(once->text);
    *once = (OwPageOnce){.text = copy, .size = text->size};
    (void)snprintf(once->token, sizeof once->token, "%s", token);
    page->once_next = (page->once_next + 1) % OW_PAGE_ONCE;
}

/// Reads one entry's fields as they were typed. False when a fault was told; refusals leave it false too.
static bool read_entry(Order *order, int index, const json_t *given, OwLogEntry *entry) {
    bool is_wrong = false, is_good = true;
    const char *word = ow_ask_text(given, "kind", &is_wrong), *at = ow_ask_text(given, "at", &is_wrong),
               *nearest = NULL, *key = NULL;
    json_t *fields = json_object_get(given, "fields"), *value = NULL;
    char wrong[256], remedy[256];
    entry->kind = word != NULL && !is_wrong ? ow_log_kind_of(word, &nearest) : OW_LOG_NONE;
    const OwLogKindRow *row = ow_log_kind(entry->kind);
    if (row == NULL || entry->kind == OW_LOG_UNDO) {
        tell(order, "error", index, NULL, "there is no such kind of entry", nearest != NULL ? nearest : "");
        return false;
    }
    if (at != NULL && ow_log_time_read(at, &entry->at_s) != OW_OK) {
        tell(order, "error", index, "at", "the time cannot be read", "2026-11-25 or 2026-11-25T08:30:00Z");
        is_good = false;
    }
    json_object_foreach(fields, key, value) {
        const int which = ow_log_field_of(entry->kind, key);
        if (which < 0 || !json_is_string(value)) {
            tell(order, "error", index, key, which < 0 ? "there is no such field" : "it is no text", "");
            is_good = false;
        } else if (json_string_length(value) > 0 &&
                   ow_log_value_read(&row->fields[which], json_string_value(value), order->units,
                                     &entry->values[which], wrong, remedy) != OW_OK) {
            tell(order, "error", index, key, wrong, remedy);
            is_good = false;
        }
    }
    for (int i = 0; i < row->field_count; i++) {
        const char *text = json_string_value(json_object_get(fields, row->fields[i].key));
        if (row->fields[i].is_required && (text == NULL || text[0] == '\0')) {
            tell(order, "error", index, row->fields[i].key, "this is needed", "");
            is_good = false;
        }
    }
    return is_good;
}

/// The entries as the lists show them.
static json_t *entries_json(Order *order, const int64_t *ids, int count) {
    json_t *list = json_array();
    OwFaults unread = {0};
    for (int i = 0; i < count; i++) {
        json_t *one = ow_log_json_entry(order->book, ids[i], order->display, &unread);
        (void)json_array_append_new(list, one != NULL ? one : json_pack("{s:I}", "id", (json_int_t)ids[i]));
    }
    ow_faults_clear(&unread);
    return list;
}

/// Answers {done, entries, faults, ...more}; the reference of `more` (may be NULL) is taken.
static void answer(Order *order, bool is_done, const int64_t *ids, int count, json_t *more,
                   const char *token) {
    OwBuffer text = {0};
    json_t *o = more != NULL ? more : json_object();
    (void)json_object_set_new(o, "done", json_boolean(is_done));
    (void)json_object_set_new(o, "entries", entries_json(order, ids, count));
    (void)json_object_set_new(o, "faults", order->told);
    order->told = NULL;
    ow_page_dump(o, &text);
    json_decref(o);
    if (is_done) {
        keep_once(order->call->page, token, &text);
    }
    ow_call_answer_text(order->call, 200, &text);
}

static void write_entries(Order *order, const json_t *list, const char *token) {
    OwLogEntry *entries = calloc(MAX_ENTRIES, sizeof *entries);
    int64_t ids[MAX_ENTRIES] = {0};
    const int count = (int)json_array_size(list);
    bool is_good = entries != NULL;
    if (entries == NULL) {
        ow_call_out_of_memory(order->call);
        return;
    }
    for (int i = 0; i < count; i++) {
        is_good = read_entry(order, i, json_array_get(list, (size_t)i), &entries[i]) && is_good;
    }
    if (!is_good) {
        answer(order, false, ids, 0, NULL, NULL);
    } else if (open_to_write(order)) {
        const OwStatus status = ow_logbook_add(order->book, entries, count, &order->faults);
        tell_faults(order);
        for (int i = 0; i < count; i++) {
            ids[i] = entries[i].id;
        }
        if (status == OW_OK || status == OW_ERROR_VALUE || status == OW_ERROR_UNIT) {
            answer(order, status == OW_OK, ids, status == OW_OK ? count : 0, NULL, token);
        } else {
            ow_call_book_refuse(order->call, status, &order->faults);
        }
    }
    free(entries);
}

static void write_words(Order *order, const char *words, bool is_dry, const char *token) {
    OwLogSaid *said = calloc(1, sizeof *said);
    int64_t undo_id = 0;
    OwStatus status = OW_OK;
    if (said == NULL) {
        ow_call_out_of_memory(order->call);
        return;
    }
    if (is_dry && !ow_page_has_book(order->call->page)) {
        const OwLogSpeech speech = {.now_s = (int64_t)time(NULL),
                                    .offset = ow_log_local_offset,

                                    .units = order->units,
                                    .display = order->display};
        status = ow_log_words_read(words, &speech, said);
    } else if (open_to_write(order)) {
        status = ow_log_words_do(order->book, words, is_dry, order->units, order->display,
                                 (int64_t)time(NULL), said, &undo_id, &order->faults);
    } else {
        free(said);
        return;
    }
    if (status == OW_OK || status == OW_ERROR_VALUE || status == OW_ERROR_UNIT) {
        const int64_t id = undo_id != 0 ? undo_id : said->entry.id;
        const bool is_done = status == OW_OK && !is_dry;
        tell_faults(order);
        answer(order, is_done, &id, is_done && id != 0 ? 1 : 0,
               json_pack("{s:o}", "said", ow_log_json_said(said, status, undo_id)), token);
    } else {
        ow_call_book_refuse(order->call, status, &order->faults);
    }
    free(said);
}

/// The order's end: everything it holds is given back.
static void finish(Order *order) {
    ow_logbook_close(&order->book);
    ow_page_give_units(order->call->page, order->units);
    ow_faults_clear(&order->faults);
    json_decref(order->told);
}

/// Begins an order; false when it was refused.
static bool begin(Order *order, OwCall *call) {
    *order = (Order){.call = call, .told = json_array(), .units = ow_page_take_units(call->page)};
    bool is_wrong = false;
    order->display = ow_call_display(ow_ask_text(call->body, "units", &is_wrong));
    if (order->units == NULL || order->told == NULL) {
        ow_call_out_of_memory(call);
        return false;
    }
    if (is_wrong) {
        ow_call_wrong_key(call, "units");
        return false;
    }
    return true;
}

void ow_api_log_add(OwCall *call) {
    bool is_wrong = false;
    if (!may_write(call) || !ow_call_read_body(call)) {
        return;
    }
    const char *token = ow_ask_text(call->body, "token", &is_wrong), *words = NULL;
    if (is_wrong || (token != NULL && strlen(token) >= sizeof call->page->once[0].token)) {
        ow_call_wrong_key(call, "token");
        return;
    }
    const json_t *list = json_object_get(call->body, "entries"), *dry = json_object_get(call->body, "dry");
    words = ow_ask_text(call->body, "words", &is_wrong);
    if (is_wrong || (dry != NULL && !json_is_boolean(dry))) {
        ow_call_wrong_key(call, is_wrong ? "words" : "dry");
        return;
    }
    if ((words == NULL) == (list == NULL) ||
        (list != NULL && (json_array_size(list) == 0 || json_array_size(list) > MAX_ENTRIES))) {
        ow_call_refuse(call, 400, "bad_request", "docs/page-api.md says what it takes",
                       "send either \"words\" or 1 to %d \"entries\"", MAX_ENTRIES);
        return;
    }
    if (words != NULL && strlen(words) > OW_LOG_WORDS_MAX) {
        ow_call_refuse(call, 400, "bad_request", "one entry a line", "\"words\" is too long");
        return;
    }
    Order order;
    pthread_mutex_lock(&call->page->writing);
    const OwPageOnce *once = find_once(call->page, token);
    if (once != NULL) {
        OwBuffer text = {0};
        ow_buffer_add(&text, once->text, once->size);
        ow_call_answer_text(call, 200, &text);
    } else if (begin(&order, call)) {
        if (words != NULL) {
            write_words(&order, words, json_is_true(dry), token);
        } else {
            write_entries(&order, list, token);
        }
        finish(&order);
    } else {
        finish(&order);
    }
    pthread_mutex_unlock(&call->page->writing);
}

void ow_api_log_undo(OwCall *call) {
    bool is_wrong = false;
    if (!may_write(call) || !ow_call_read_body(call)) {
        return;
    }
    const json_t *list = json_object_get(call->body, "ids");
    const char *why = ow_ask_text(call->body, "why", &is_wrong);
    const size_t count = json_array_size(list);
    if (is_wrong || count == 0 || count > MAX_ENTRIES) {
        ow_call_wrong_key(call, is_wrong ? "why" : "ids");
        return;
    }
    for (size_t i = 0; i < count; i++) {
        if (!json_is_integer(json_array_get(list, i))) {
            ow_call_wrong_key(call, "ids");
            return;
        }
    }
    Order order;
    int64_t undos[MAX_ENTRIES] = {0};
    int done = 0;
    OwStatus status = OW_OK;
    pthread_mutex_lock(&call->page->writing);
    if (!ow_page_has_book(call->page)) {
        ow_call_refuse(call, 404, "no_book", "", "there is no logbook yet");
    } else {
        if (begin(&order, call) && open_to_write(&order)) {
            // The newest first: what an entry rests on goes after it.
            for (size_t i = count; i > 0 && status == OW_OK; i--) {
                status = ow_logbook_undo(order.book, json_integer_value(json_array_get(list, i - 1)), why,
                                         &undos[done], &order.faults);
                done += status == OW_OK ? 1 : 0;
            }
            tell_faults(&order);
            if (status == OW_OK || status == OW_ERROR_VALUE || status == OW_ERROR_USE) {
                answer(&order, status == OW_OK, undos, done, NULL, NULL);
            } else {
                ow_call_book_refuse(call, status, &order.faults);
            }
        }
        finish(&order);
    }
    pthread_mutex_unlock(&call->page->writing);
}
