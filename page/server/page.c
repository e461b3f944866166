// SPDX-License-Identifier: GPL-3.0-or-later
// The server's life and its routes.
#include "page.h"

#include <arpa/inet.h>
#include <errno.h>
#include <fcntl.h>
#include <sodium.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "base/text.h"
#include "page_impl.h"

typedef struct Route {
    const char *method, *path;
    void (*run)(OwCall *call);
    bool is_prefix;
} Route;

static const Route routes[] = {
    {"GET", "/api/start", ow_api_start, false},        {"GET", "/api/catalogue", ow_api_catalogue, false},
    {"GET", "/api/file", ow_api_file_get, false},      {"PUT", "/api/file", ow_api_file_put, false},
    {"POST", "/api/read", ow_api_read, false},         {"POST", "/api/edit", ow_api_edit, false},
    {"POST", "/api/morning", ow_api_morning, false},   {"POST", "/api/oil", ow_api_oil, false},
    {"POST", "/api/compare", ow_api_compare, false},   {"POST", "/api/job", ow_api_job_post, false},
    {"GET", "/api/log", ow_api_log_list, false},       {"POST", "/api/log", ow_api_log_add, false},
    {"POST", "/api/log/undo", ow_api_log_undo, false}, {"GET", "/api/log/kinds", ow_api_log_start, false},
    {"GET", "/api/log/", ow_api_log_view, true},       {"GET", "/api/sheet", ow_api_sheet_get, false},
    {"PUT", "/api/sheet", ow_api_sheet_put, false},    {"GET", "/api/job/", ow_api_job_get, true},
    {"DELETE", "/api/job/", ow_api_job_delete, true},
};

static void dispatch(OwCall *call) {
    const char *path = call->request->path, *method = call->request->method;
    bool is_path_known = false;
    for (size_t i = 0; i < sizeof routes / sizeof routes[0]; i++) {
        const Route *route = &routes[i];
        const bool is_match = route->is_prefix ? strncmp(path, route->path, strlen(route->path)) == 0
                                               : strcmp(path, route->path) == 0;
        if (is_match && strcmp(method, route->method) == 0) {
            route->run(call);
            return;
        }
        is_path_known = is_path_known || is_match;
    }
    if (is_path_known) {
        ow_call_refuse(call, 405, "method", "", "this address does not take %.20s", method);
    } else if (strncmp(path, "/api/", 5) == 0) {
        ow_call_refuse(call, 404, "not_found", "docs/page-api.md lists the addresses",
                       "there is nothing here");
    } else if (strcmp(method, "GET") == 0 || strcmp(method, "HEAD") == 0) {
        ow_page_asset(call);
    } else {
        ow_call_refuse(call, 405, "method", "", "this address does not take %.20s", method);
    }
}

static void handle(void *context, const OwHttpRequest *request, OwHttpAnswer *answer) {
    OwCall call = {.page = context, .request = request, .answer = answer};
    // No script, style or request but the page's own.
    ow_http_answer_header(
        answer, "Content-Security-Policy",
        "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data: blob:; "
        "connect-src 'self'; font-src 'self'; manifest-src 'self'; worker-src 'self'; "
        "base-uri 'none'; form-action 'none'; frame-ancestors 'none'");
    ow_http_answer_header(answer, "X-Content-Type-Options", "nosniff");
    ow_http_answer_header(answer, "Referrer-Policy", "no-referrer");
    ow_http_answer_header(answer, "Cross-Origin-Resource-Policy", "same-origin");
    if (ow_page_admits(&call)) {
        dispatch(&call);
    }
    json_decref(call.body);
}

OwUnits *ow_page_take_units(OwPage *page) {
    OwUnits *units = NULL;
    pthread_mutex_lock(&page->lock);
    if (page->idle_count > 0) {
        units = page->idle[--page->idle_count];
    }
    pthread_mutex_unlock(&page->lock);
    if (units == NULL) {
        (void)ow_units_create(&units);
    }
    return units;
}

void ow_page_give_units(OwPage *page, OwUnits *units) {
    pthread_mutex_lock(&page->lock);
    if (units != NULL && page->idle_count < OW_PAGE_MAX_UNITS) {
        page->idle[page->idle_count++] = units;
        units = NULL;
    }
    pthread_mutex_unlock(&page->lock);
    ow_units_destroy(&units);
}

OwPageSettings ow_page_default(void) {
    return (OwPageSettings){.folder = ".",
                            .address = "127.0.0.1",
                            .port = 8642,
                            .can_write = true,
                            .version = "",
                            .threads = 4,
                            .receive_s = 30,
                            .send_s = 60,
                            .work_s = 20.0};
}

static OwStatus fail(OwPage **page, OwFault *fault, OwStatus status, const char *remedy, const char *format,
                     const char *what) {
    ow_page_stop(page);
    fault->status = status;
    fault->severity = OW_FAULT_ERROR;
    (void)snprintf(fault->message, sizeof fault->message, format, what);
    (void)ow_text_copy(fault->remedy, sizeof fault->remedy, remedy);
    return status;
}

static int open_folder(const char *path) {
    return open(path, O_RDONLY | O_DIRECTORY | O_CLOEXEC);
}

OwStatus ow_page_start(const OwPageSettings *settings, OwPage **page, OwFault *fault) {
    unsigned char secret[18];
    *page = NULL;
    memset(fault, 0, sizeof *fault);
    if (sodium_init() < 0) {
        return fail(page, fault, OW_ERROR_USE, "", "%s cannot be set up", "libsodium");
    }
    json_object_seed(0); // before threads begin
    OwPage *made = calloc(1, sizeof *made);
    if (made == NULL) {
        return fail(page, fault, OW_ERROR_MEMORY, "", "%s", "out of memory");
    }
    made->settings = *settings;
    for (int i = 0; i < OW_PAGE_SHEETS; i++) {
        made->sheet_folder[i] = -1;
    }
    made->folder = open_folder(settings->folder);
    made->assets = settings->assets != NULL ? open_folder(settings->assets) : -1;
    pthread_mutex_init(&made->lock, NULL);
    pthread_mutex_init(&made->writing, NULL);
    if (made->folder < 0) {
        return fail(&made, fault, OW_ERROR_USE, strerror(errno), "the folder %.150s cannot be opened",
                    settings->folder);
    }
    if (settings->assets != NULL && made->assets < 0) {
        return fail(&made, fault, OW_ERROR_USE, strerror(errno), "the folder %.150s cannot be opened",
                    settings->assets);
    }
    if (!ow_page_open_sheets(made)) {
        return fail(&made, fault, OW_ERROR_USE, strerror(errno), "%s",
                    "the folder of the yard or cost file cannot be opened");
    }
    OwUnits *units = NULL;
    if (ow_units_create(&units) != OW_OK) {
        return fail(&made, fault, OW_ERROR_READ, "install the Debian package libudunits2-data", "%s",
                    "the unit tables of the system are missing");
    }
    ow_page_give_units(made, units);
    if (settings->is_shared) {
        randombytes_buf(secret, sizeof secret);
        (void)sodium_bin2base64(made->key, sizeof made->key, secret, sizeof secret,
                                sodium_base64_VARIANT_URLSAFE_NO_PADDING);
        sodium_memzero(secret, sizeof secret);
    }
    if (ow_jobs_create(made, &made->jobs) != OW_OK) {
        return fail(&made, fault, OW_ERROR_MEMORY, "", "%s", "out of memory");
    }
    const OwHttpSettings http = {.address = settings->address,
                                 .port = settings->port,
                                 .threads = settings->threads,
                                 .body_limit = OW_PAGE_BODY_LIMIT,
                                 .receive_s = settings->receive_s,
                                 .send_s = settings->send_s,
                                 .handler = handle,
                                 .context = made};
    // Requests wait for the addresses to be known: until then none is ours.
    if (ow_http_start(&http, &made->http) != OW_OK) {
        char place[80];
        (void)snprintf(place, sizeof place, "%.40s, port %u", settings->address, settings->port);
        return fail(&made, fault, OW_ERROR_USE, "another program may have it: try --port 0",
                    "nothing can be served at %s", place);
    }
    const unsigned port = ow_http_port(made->http);
    pthread_mutex_lock(&made->lock);
    (void)snprintf(made->origins[0], sizeof made->origins[0], "%.40s", settings->address);
    if (port != 80) {
        (void)snprintf(made->origins[0], sizeof made->origins[0], "%.40s:%u", settings->address, port);
    }
    if (strcmp(settings->address, "127.0.0.1") == 0) {
        (void)snprintf(made->origins[1], sizeof made->origins[1], "localhost:%u", port);
    }
    pthread_mutex_unlock(&made->lock);
    *page = made;
    return OW_OK;
}

unsigned ow_page_port(const OwPage *page) {
    return ow_http_port(page->http);
}

const char *ow_page_key(const OwPage *page) {
    return page->key;
}

void ow_page_stop(OwPage **page) {
    if (page == NULL || *page == NULL) {
        return;
    }
    OwPage *p = *page;
    atomic_store(&p->is_closing, true);
    ow_http_stop(&p->http);
    ow_jobs_destroy(&p->jobs);
    for (int i = 0; i < p->idle_count; i++) {
        ow_units_destroy(&p->idle[i]);
    }
    ow_page_close_sheets(p);
    if (p->folder >= 0) {
        (void)close(p->folder);
    }
    if (p->assets >= 0) {
        (void)close(p->assets);
    }
    pthread_mutex_destroy(&p->lock);
    pthread_mutex_destroy(&p->writing);
    sodium_memzero(p->key, sizeof p->key);
    for (int i = 0; i < OW_PAGE_ONCE; i++) {
        free(p->once[i].text);
    }
    free(p);
    *page = NULL;
}
