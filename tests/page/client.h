// SPDX-License-Identifier: GPL-3.0-or-later
// A small HTTP client over plain sockets, which can also behave badly.
#ifndef OW_TESTS_PAGE_CLIENT_H
#define OW_TESTS_PAGE_CLIENT_H

#include <jansson.h>
#include <stdbool.h>
#include <stddef.h>

typedef struct Reply {
    int status; ///< 0: no answer, the connection was closed
    char *head; ///< status line and headers
    char *body;
    size_t size;
} Reply;

/// A connection to 127.0.0.1, -1 when it was refused.
int client_open(unsigned port);
/// Sends all; false when the peer closed.
bool client_send(int socket, const char *bytes, size_t size);
/// Reads one answer (Content-Length), waiting at most `seconds`.
Reply client_receive(int socket, double seconds);
/// One request on a connection of its own. `headers` end in "\r\n" each; Host and Content-Length are added
/// unless `raw_host` is given.
Reply client_ask(unsigned port, const char *method, const char *path, const char *headers, const char *body,
                 const char *raw_host);
/// The value of a header, NULL when absent; valid until the next call.
const char *client_header(const Reply *reply, const char *name);
void client_clear(Reply *reply);

/// POST of an object (its reference is taken); the answer's object, which the caller owns. Fails the test on
/// another status.
json_t *client_post(unsigned port, const char *path, json_t *object, int status);
json_t *client_get(unsigned port, const char *path, int status);
#endif
