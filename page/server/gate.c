// SPDX-License-Identifier: GPL-3.0-or-later
// Who may ask: the page itself, from an address this server listens on, with the key when it is shared.
#include <sodium.h>
#include <stdio.h>
#include <string.h>

#include "page_impl.h"

static bool is_ours(OwPage *page, const char *host) {
    bool is_known = false;
    pthread_mutex_lock(&page->lock);
    for (size_t i = 0; i < sizeof page->origins / sizeof page->origins[0]; i++) {
        is_known = is_known || (page->origins[i][0] != '\0' && strcmp(page->origins[i], host) == 0);
    }
    pthread_mutex_unlock(&page->lock);
    return is_known;
}

/// Compared in constant time.
static bool is_key(const OwPage *page, const char *text, size_t size) {
    return size == strlen(page->key) && sodium_memcmp(text, page->key, size) == 0;
}

static bool has_key(const OwCall *call) {
    static const char bearer[] = "Bearer ", name[] = "oilwright_key=";
    const char *authorization = ow_http_header(call->request, "Authorization");
    if (authorization != NULL && strncmp(authorization, bearer, sizeof bearer - 1) == 0) {
        const char *key = authorization + sizeof bearer - 1;
        return is_key(call->page, key, strlen(key));
    }
    const char *cookie = ow_http_header(call->request, "Cookie");
    while (cookie != NULL && *cookie != '\0') {
        const size_t size = strcspn(cookie, ";");
        if (strncmp(cookie, name, sizeof name - 1) == 0 && size >= sizeof name - 1 &&
            is_key(call->page, cookie + sizeof name - 1, size - (sizeof name - 1))) {
            return true;
        }
        cookie += size;
        cookie += strspn(cookie, "; ");
    }
    return false;
}

/// "/?key=..." from the QR code: the key becomes a cookie and leaves the address bar.
static bool takes_key(OwCall *call) {
    char cookie[160];
    const char *key = ow_http_query(call->request, "key");
    if (key == NULL || strcmp(call->request->path, "/") != 0 || strcmp(call->request->method, "GET") != 0 ||
        !is_key(call->page, key, strlen(key))) {
        return false;
    }
    (void)snprintf(cookie, sizeof cookie, "oilwright_key=%s; Path=/; HttpOnly; SameSite=Strict",
                   call->page->key);
    call->answer->status = 303;
    ow_http_answer_header(call->answer, "Set-Cookie", cookie);
    ow_http_answer_header(call->answer, "Location", "/");
    ow_http_answer_header(call->answer, "Cache-Control", "no-store");
    return true;
}

bool ow_page_admits(OwCall *call) {
    const OwHttpRequest *request = call->request;
    const char *host = ow_http_header(request, "Host"), *origin = ow_http_header(request, "Origin"),
               *site = ow_http_header(request, "Sec-Fetch-Site"),
               *type = ow_http_header(request, "Content-Type");
    const bool changes = strcmp(request->method, "GET") != 0 && strcmp(request->method, "HEAD") != 0;
    if (host == NULL || ow_http_header_count(request, "Host") != 1 || !is_ours(call->page, host)) {
        ow_call_refuse(call, 421, "wrong_host", "open the address that oilwright page printed",
                       "this address is not served here");
        return false;
    }
    if (origin != NULL && (strncmp(origin, "http://", 7) != 0 || !is_ours(call->page, origin + 7))) {
        ow_call_refuse(call, 403, "wrong_origin", "", "requests from other pages are refused");
        return false;
    }
    const bool is_foreign = site != NULL && strcmp(site, "same-origin") != 0 && strcmp(site, "none") != 0;
    if (is_foreign && (changes || strncmp(request->path, "/api/", 5) == 0)) {
        ow_call_refuse(call, 403, "wrong_origin", "", "requests from other pages are refused");
        return false;
    }
    if (call->page->settings.is_shared && !has_key(call)) {
        if (!takes_key(call)) {
            ow_call_refuse(call, 401, "key", "scan the code that oilwright page shows",
                           "the key is missing or wrong");
            ow_http_answer_header(call->answer, "WWW-Authenticate", "Bearer");
        }
        return false;
    }
    const bool has_body = strcmp(request->method, "POST") == 0 || strcmp(request->method, "PUT") == 0;
    if (has_body && (type == NULL || strncmp(type, "application/json", 16) != 0 ||
                     (type[16] != '\0' && type[16] != ';' && type[16] != ' '))) {
        ow_call_refuse(call, 415, "wrong_type", "send Content-Type: application/json",
                       "the body is not sent as JSON");
        return false;
    }
    return true;
}
