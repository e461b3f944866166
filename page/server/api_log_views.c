// SPDX-License-Identifier: GPL-3.0-or-later
// GET /api/log...: what the logbook holds, as the verb `log` says it in JSON.
#include <errno.h>
#include <fcntl.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

#include "api_log.h"
#include "log_json_make.h"

OwDisplay ow_call_display(const char *text) {
    return text != NULL && strcmp(text, "us") == 0 ? OW_DISPLAY_US : OW_DISPLAY_METRIC;
}

void ow_call_book_refuse(OwCall *call, OwStatus status, const OwFaults *faults) {
    const OwFault *fault = faults->count > 0 ? &faults->items[0] : NULL;
    if (status == OW_ERROR_MEMORY) {
        ow_call_out_of_memory(call);
    } else if (fault == NULL) {
        ow_call_refuse(call, 500, "book", "", "the logbook: %s", ow_status_text(status));
    } else if (status == OW_ERROR_WRITE) {
        ow_call_refuse(call, 500, "write", fault->remedy, "%.250s", fault->message);
    } else {
        ow_call_refuse(call, 409, "book", fault->remedy, "%.250s", fault->message);
    }
}

bool ow_page_has_book(const OwPage *page) {
    return page->settings.book != NULL && access(page->settings.book, F_OK) == 0;
}

/// Opens it to read; an older one is brought up to date where this page may write. NULL: refused.
static OwLogbook *open_to_read(OwCall *call) {
    const char *path = call->page->settings.book;
    OwLogbook *book = NULL;
    OwFaults faults = {0};
    OwStatus status = ow_logbook_open(path, OW_LOG_READ, &book, &faults);
    if (status != OW_OK && status != OW_ERROR_MEMORY && call->page->settings.can_write) {
        OwFaults again = {0};
        if (ow_logbook_open(path, OW_LOG_WRITE, &book, &again) == OW_OK) {
            status = OW_OK;
        }
        ow_faults_clear(&again);
    }
    if (status != OW_OK) {
        ow_call_book_refuse(call, status, &faults);
        ow_logbook_close(&book);
    }
    ow_faults_clear(&faults);
    return book;
}

/// A whole number of the query within a range; `fallback` when absent. False when it was refused.
static bool query_number(OwCall *call, const char *name, int64_t low, int64_t high, int64_t fallback,
                         int64_t *value) {
    const char *text = ow_http_query(call->request, name);
    char *end = NULL;
    *value = fallback;
    if (text == NULL || text[0] == '\0') {
        return true;
    }
    errno = 0;
    const long long n = strtoll(text, &end, 10);
    if (errno != 0 || end == text || *end != '\0' || n < low || n > high) {
        ow_call_refuse(call, 400, "bad_request", "docs/page-api.md says what it takes",
                       "\"%.30s\" is not a number it can be", name);
        return false;
    }
    *value = n;
    return true;
}

/// A number above 0 of the query; 0 when absent. False when it was refused.
static bool query_positive(OwCall *call, const char *name, double high, double *value) {
    const char *text = ow_http_query(call->request, name);
    char *end = NULL;
    *value = 0.0;
    if (text == NULL || text[0] == '\0') {
        return true;
    }
    const double number = strtod(text, &end);
    if (end == text || *end != '\0' || !(number > 0.0 && number <= high)) {
        ow_call_refuse(call, 400, "bad_request", "docs/page-api.md says what it takes",
                       "\"%.30s\" is not a number it can be", name);
        return false;
    }
    *value = number;
    return true;
}

/// What one view is asked for.
typedef struct View {
    OwLogbook *book;
    OwDisplay display;
    int64_t id, from_s, to_s;
    bool with_done;
    OwLogStudy study; ///< of `filters`: a filter's name and what its rig's study says of it
    OwFaults faults;
} View;

static json_t *view_levels(View *v) {
    return ow_log_json_levels(v->book, v->display, &v->faults);
}
static json_t *view_sources(View *v) {
    return ow_log_json_sources(v->book, v->display, &v->faults);
}
static json_t *view_batches(View *v) {
    return ow_log_json_batches(v->book, v->with_done, v->display, &v->faults);
}
static json_t *view_vehicles(View *v) {
    return ow_log_json_vehicles(v->book, v->display, &v->faults);
}
static json_t *view_fuel(View *v) {
    return ow_log_json_fuel(v->book, v->display, &v->faults);
}
static json_t *view_batch(View *v) {
    return ow_log_json_batch(v->book, v->id, v->display, &v->faults);
}
static json_t *view_vehicle(View *v) {
    return ow_log_json_vehicle(v->book, v->id, v->display, &v->faults);
}
static json_t *view_entry(View *v) {
    return ow_log_json_entry(v->book, v->id, v->display, &v->faults);
}
static json_t *view_trace(View *v) {
    return ow_log_json_trace(v->book, v->id, v->display, &v->faults);
}
/// Where the oil of a pick-up or batch has gone until now.
static json_t *view_forward(View *v) {
    OwArena *arena = ow_arena_create();
    OwLogTrace trace;
    json_t *made = NULL;
    if (arena != NULL && ow_logbook_trace_forward(v->book, v->id, arena, &trace, &v->faults) == OW_OK) {
        made = ow_log_json_of_trace(&trace, v->display);
    }
    ow_arena_destroy(&arena);
    return made;
}
static json_t *view_filters(View *v) {
    return v->study.distance_m > 0.0 ? ow_log_json_place(v->book, &v->study, v->display, &v->faults)
                                     : ow_log_json_filters(v->book, v->id, v->display, &v->faults);
}
static json_t *view_due(View *v) {
    return ow_log_json_due(v->book, (int64_t)time(NULL), v->display, &v->faults);
}
static json_t *view_totals(View *v) {
    return ow_log_json_totals(v->book, v->from_s, v->to_s, v->id, v->display, &v->faults);
}

/// All that has a name, in one answer.
static json_t *view_things(View *v) {
    static const struct {
        const char *key;
        json_t *(*make)(View *v);
    } parts[] = {{"levels", view_levels},
                 {"sources", view_sources},
                 {"batches", view_batches},
                 {"vehicles", view_vehicles}};
    json_t *all = json_object();
    for (size_t i = 0; all != NULL && i < sizeof parts / sizeof parts[0]; i++) {
        json_t *one = parts[i].make(v);
        if (one == NULL || json_object_set_new(all, parts[i].key, one) != 0) {
            json_decref(all);
            all = NULL;
        }
    }
    return all;
}

static const struct {
    const char *name;
    bool needs_id;
    json_t *(*make)(View *v);
} views[] = {
    {"things", false, view_things},   {"levels", false, view_levels},     {"sources", false, view_sources},
    {"batches", false, view_batches}, {"vehicles", false, view_vehicles}, {"batch", true, view_batch},
    {"vehicle", true, view_vehicle},  {"entry", true, view_entry},        {"trace", true, view_trace},
    {"forward", true, view_forward},  {"filters", false, view_filters},   {"due", false, view_due},
    {"totals", false, view_totals},   {"fuel", false, view_fuel},
};

static void answer_view(OwCall *call, json_t *made, const OwFaults *faults) {
    if (made != NULL) {
        ow_call_answer(call, 200, made);
    } else if (faults->count > 0 && faults->items[0].status == OW_ERROR_VALUE) {
        ow_call_refuse(call, 404, "not_found", faults->items[0].remedy, "%.250s", faults->items[0].message);
    } else {
        ow_call_book_refuse(call, faults->count > 0 ? faults->items[0].status : OW_ERROR_MEMORY, faults);
    }
}

void ow_api_log_view(OwCall *call) {
    const char *name = call->request->path + strlen("/api/log/");
    size_t which = 0;
    while (which < sizeof views / sizeof views[0] && strcmp(views[which].name, name) != 0) {
        which++;
    }
    if (which == sizeof views / sizeof views[0]) {
        ow_call_refuse(call, 404, "not_found", "docs/page-api.md lists the views", "there is no such view");
        return;
    }
    View v = {.display = ow_call_display(ow_http_query(call->request, "units"))};
    const char *done = ow_http_query(call->request, "done");
    v.with_done = done != NULL && strcmp(done, "1") == 0;
    if (!query_number(call, "id", 0, INT64_MAX, 0, &v.id) ||
        !query_number(call, "from_s", 0, INT64_C(253402300800), 0, &v.from_s) ||
        !query_number(call, "to_s", 0, INT64_C(253402300800), 0, &v.to_s)) {
        return;
    }
    if (!query_positive(call, "study_m", 1e10, &v.study.distance_m) ||
        !query_positive(call, "solids_kg_kg", 1.0, &v.study.solids_kg_kg)) {
        return;
    }
    v.study.vehicle = v.id;
    v.study.filter = ow_http_query(call->request, "filter");
    const bool is_whole =
        v.study.filter != NULL && v.study.filter[0] != '\0' && v.id != 0 && v.study.solids_kg_kg > 0.0;
    if (v.study.distance_m > 0.0 && !is_whole) {
        ow_call_refuse(call, 400, "bad_request", "docs/page-api.md says what it takes",
                       "a study needs the vehicle's id, the filter and the dirt");
        return;
    }
    if (views[which].needs_id && v.id == 0) {
        ow_call_refuse(call, 400, "bad_request", "", "\"id\" is missing");
        return;
    }
    if (!ow_page_has_book(call->page)) {
        ow_call_refuse(call, 404, "no_book", "it is made when the first entry is added",
                       "there is no logbook yet");
        return;
    }
    v.book = open_to_read(call);
    if (v.book == NULL) {
        return;
    }
    json_t *made = views[which].make(&v);
    answer_view(call, made, &v.faults);
    ow_faults_clear(&v.faults);
    ow_logbook_close(&v.book);
}

void ow_api_log_list(OwCall *call) {
    OwLogFilter filter = {.text = ow_http_query(call->request, "text")};
    const char *kind = ow_http_query(call->request, "kind"), *undone = ow_http_query(call->request, "undone");
    int64_t limit = 0;
    if (!query_number(call, "limit", 1, 200, 30, &limit) ||
        !query_number(call, "thing", 0, INT64_MAX, 0, &filter.thing) ||
        !query_number(call, "before_at_s", INT64_C(-62135596800), INT64_C(253402300800), 0,
                      &filter.before_at_s) ||
        !query_number(call, "before_id", 0, INT64_MAX, 0, &filter.before_id)) {
        return;
    }
    filter.limit = (int)limit;
    filter.with_undone = undone != NULL && strcmp(undone, "1") == 0;
    if (filter.text != NULL && filter.text[0] == '\0') {
        filter.text = NULL;
    }
    if (filter.text != NULL && strlen(filter.text) > OW_LOG_TEXT_MAX) {
        ow_call_refuse(call, 400, "bad_request", "a few words are enough", "\"text\" is too long");
        return;
    }
    if (kind != NULL && kind[0] != '\0') {
        const char *nearest = NULL;
        const OwLogKind which = ow_log_kind_of(kind, &nearest);
        if (which == OW_LOG_NONE) {
            ow_call_refuse(call, 400, "bad_request", "docs/page-api.md lists the kinds",
                           "there is no kind of entry \"%.40s\"", kind);
            return;
        }
        filter.kinds = 1u << which;
    }
    if (!ow_page_has_book(call->page)) {
        ow_call_answer(call, 200, json_pack("{s:[], s:n}", "entries", "more"));
        return;
    }
    OwLogbook *book = open_to_read(call);
    if (book == NULL) {
        return;
    }
    OwFaults faults = {0};
    json_t *made =
        ow_log_json_list(book, &filter, ow_call_display(ow_http_query(call->request, "units")), &faults);
    answer_view(call, made, &faults);
    ow_faults_clear(&faults);
    ow_logbook_close(&book);
}

static const char *base_name(const char *path) {
    const char *slash = path != NULL ? strrchr(path, '/') : NULL;
    return slash != NULL ? slash + 1 : path;
}

/// Why nothing can be written from here, "" when it can: known before a form is filled in for nothing.
static const char *why_not(const OwPage *page) {
    const char *path = page->settings.book;
    char folder[1024];
    if (path == NULL || !page->settings.can_write) {
        return "This page only shows the logbook. To write from here, start it with --share --may-save.";
    }
    // With its log beside it the book needs its folder as well.
    const int size = snprintf(folder, sizeof folder, "%.*s", (int)(base_name(path) - path), path);
    const bool is_folder_good =
        size < (int)sizeof folder && faccessat(AT_FDCWD, size > 0 ? folder : ".", W_OK, AT_EACCESS) == 0;
    const bool is_file_good = !ow_page_has_book(page) || faccessat(AT_FDCWD, path, W_OK, AT_EACCESS) == 0;
    return is_folder_good && is_file_good ? ""
           : is_file_good ? "The folder of the logbook may only be read by whoever runs this page."
                          : "The logbook may only be read by whoever runs this page.";
}

void ow_api_log_start(OwCall *call) {
    const OwPage *page = call->page;
    int64_t version = 0;
    if (ow_page_has_book(page)) {
        OwLogbook *book = open_to_read(call);
        if (book == NULL) {
            return;
        }
        version = ow_logbook_version(book);
        ow_logbook_close(&book);
    }
    json_t *o = ow_log_json_kinds();
    if (o == NULL) {
        ow_call_out_of_memory(call);
        return;
    }
    (void)json_object_set_new(o, "version", json_integer(version));
    (void)json_object_set_new(o, "book",
                              json_string(page->settings.book != NULL ? base_name(page->settings.book) : ""));
    (void)json_object_set_new(o, "exists", json_boolean(ow_page_has_book(page)));
    const char *why = why_not(page);
    (void)json_object_set_new(o, "can_write", json_boolean(why[0] == '\0'));
    (void)json_object_set_new(o, "why_not", json_string(why));
    ow_call_answer(call, 200, o);
}
