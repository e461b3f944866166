// SPDX-License-Identifier: GPL-3.0-or-later
// HTTP behind a thin wall: requests in, answers out. Only http_mhd.c knows the library that does it.
#ifndef OW_PAGE_HTTP_H
#define OW_PAGE_HTTP_H

#include "oilwright/base.h"

typedef struct OwHttp OwHttp;

/// One request, whole. Valid during the handler's call.
typedef struct OwHttpRequest {
    const char *method, *path; ///< path without the query, percent-decoded
    const char *body;          ///< terminated; NULL when there is none
    size_t body_size;
    bool is_too_large; ///< the body passed the limit and was not kept
    void *inner;
} OwHttpRequest;
/// A header's value, NULL when absent. Names are case-blind.
const char *ow_http_header(const OwHttpRequest *request, const char *name);
/// How often a header stands in the request.
int ow_http_header_count(const OwHttpRequest *request, const char *name);
/// A decoded value of the query, NULL when absent.
const char *ow_http_query(const OwHttpRequest *request, const char *name);

#define OW_HTTP_MAX_HEADERS 12
/// What goes back. The handler fills it; `body` is freed when it is not static.
typedef struct OwHttpAnswer {
    int status;
    char *body;              ///< from malloc, or NULL
    const char *static_body; ///< outlives the server, or NULL
    size_t size;
    struct {
        const char *name; ///< static
        char value[400];
    } headers[OW_HTTP_MAX_HEADERS];
    int header_count;
} OwHttpAnswer;
/// Adds a header; one with a line break in its value, or one too many, is left out.
void ow_http_answer_header(OwHttpAnswer *answer, const char *name, const char *value);

/// Called from several threads at once.
typedef void (*OwHttpHandler)(void *context, const OwHttpRequest *request, OwHttpAnswer *answer);

typedef struct OwHttpSettings {
    const char *address; ///< IPv4, "127.0.0.1"
    unsigned port;       ///< 0: any free one
    unsigned threads;
    size_t body_limit;  ///< bytes
    unsigned receive_s; ///< a request not whole by then is cut off
    unsigned send_s;    ///< so is an answer not taken
    OwHttpHandler handler;
    void *context;
} OwHttpSettings;

/// OW_ERROR_USE: the address or port cannot be had. OW_ERROR_MEMORY.
OwStatus ow_http_start(const OwHttpSettings *settings, OwHttp **http);
unsigned ow_http_port(const OwHttp *http);
/// Waits for the handlers that run, then ends. NULL is a no-op.
void ow_http_stop(OwHttp **http);

#endif
