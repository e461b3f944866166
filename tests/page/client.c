// SPDX-License-Identifier: GPL-3.0-or-later
// A small HTTP client over plain sockets.
#define _GNU_SOURCE
#include <arpa/inet.h>
#include <netinet/in.h>
#include <poll.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>
#include <sys/socket.h>
#include <time.h>
#include <unistd.h>

#include <cmocka.h>

#include "client.h"

static double now_s(void) {
    struct timespec t;
    clock_gettime(CLOCK_MONOTONIC, &t);
    return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

int client_open(unsigned port) {
    struct sockaddr_in where = {
        .sin_family = AF_INET, .sin_port = htons((uint16_t)port), .sin_addr.s_addr = htonl(INADDR_LOOPBACK)};
    const int s = socket(AF_INET, SOCK_STREAM, 0);
    if (s >= 0 && connect(s, (struct sockaddr *)&where, sizeof where) != 0) {
        (void)close(s);
        return -1;
    }
    return s;
}

bool client_send(int s, const char *bytes, size_t size) {
    while (size > 0) {
        const ssize_t sent = send(s, bytes, size, MSG_NOSIGNAL);
        if (sent <= 0) {
            return false;
        }
        bytes += sent;
        size -= (size_t)sent;
    }
    return true;
}

static Reply receive(int s, double seconds, bool has_body) {
    Reply reply = {0};
    size_t room = 65536, used = 0;
    char *text = malloc(room + 1);
    size_t head = 0, wanted = SIZE_MAX;
    const double until = now_s() + seconds;
    while (text != NULL && used < wanted) {
        struct pollfd p = {.fd = s, .events = POLLIN};
        const double rest = until - now_s();
        if (rest <= 0.0 || poll(&p, 1, (int)(rest * 1000.0) + 1) <= 0) {
            break;
        }
        if (used + 32768 > room) {
            room *= 2;
            text = realloc(text, room + 1);
            assert_non_null(text);
        }
        const ssize_t got = recv(s, text + used, 32768, 0);
        if (got <= 0) {
            break;
        }
        used += (size_t)got;
        text[used] = '\0';
        char *end = head == 0 ? strstr(text, "\r\n\r\n") : NULL;
        if (end != NULL) {
            head = (size_t)(end - text) + 4;
            const char *length = strcasestr(text, "\r\nContent-Length: ");
            wanted = head + (has_body && length != NULL && length < end ? strtoul(length + 18, NULL, 10) : 0);
        }
    }
    if (head > 0 && used >= wanted) {
        reply.status = atoi(text + 9);
        reply.head = strndup(text, head);
        reply.size = used - head;
        reply.body = malloc(reply.size + 1);
        assert_non_null(reply.body);
        memcpy(reply.body, text + head, reply.size);
        reply.body[reply.size] = '\0';
    }
    free(text);
    return reply;
}

Reply client_receive(int s, double seconds) {
    return receive(s, seconds, true);
}

Reply client_ask(unsigned port, const char *method, const char *path, const char *headers, const char *body,
                 const char *raw_host) {
    char host[80], *text = NULL;
    size_t size = 0;
    Reply reply = {0};
    (void)snprintf(host, sizeof host, "127.0.0.1:%u", port);
    FILE *out = open_memstream(&text, &size);
    assert_non_null(out);
    (void)fprintf(out, "%s %s HTTP/1.1\r\nHost: %s\r\nConnection: close\r\n%s", method, path,
                  raw_host != NULL ? raw_host : host, headers != NULL ? headers : "");
    if (body != NULL) {
        (void)fprintf(out, "Content-Length: %zu\r\n", strlen(body));
    }
    (void)fprintf(out, "\r\n%s", body != NULL ? body : "");
    assert_int_equal(fclose(out), 0);
    const int s = client_open(port);
    if (s >= 0) {
        (void)client_send(s, text, size); // a refusal may come before all is sent
        reply = receive(s, 30.0, strcmp(method, "HEAD") != 0);
        (void)close(s);
    }
    free(text);
    return reply;
}

const char *client_header(const Reply *reply, const char *name) {
    static char value[1000];
    char key[80];
    (void)snprintf(key, sizeof key, "\r\n%s: ", name);
    const char *at = reply->head != NULL ? strcasestr(reply->head, key) : NULL;
    if (at == NULL) {
        return NULL;
    }
    at += strlen(key);
    (void)snprintf(value, sizeof value, "%.*s", (int)strcspn(at, "\r"), at);
    return value;
}

void client_clear(Reply *reply) {
    free(reply->head);
    free(reply->body);
    *reply = (Reply){0};
}

static json_t *read_object(Reply *reply, const char *path, int status) {
    if (reply->status != status) {
        fail_msg("%s: status %d, wanted %d: %.300s", path, reply->status, status,
                 reply->body != NULL ? reply->body : "(no answer)");
    }
    json_error_t error;
    json_t *object = json_loadb(reply->body, reply->size, 0, &error);
    if (object == NULL) {
        fail_msg("%s: the answer is not JSON: %s at %d", path, error.text, error.position);
    }
    client_clear(reply);
    return object;
}

json_t *client_post(unsigned port, const char *path, json_t *object, int status) {
    char *text = json_dumps(object, JSON_COMPACT);
    json_decref(object);
    assert_non_null(text);
    Reply reply = client_ask(port, "POST", path, "Content-Type: application/json\r\n", text, NULL);
    free(text);
    return read_object(&reply, path, status);
}

json_t *client_get(unsigned port, const char *path, int status) {
    Reply reply = client_ask(port, "GET", path, NULL, NULL, NULL);
    return read_object(&reply, path, status);
}
