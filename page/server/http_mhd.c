// SPDX-License-Identifier: GPL-3.0-or-later
// The HTTP wall over libmicrohttpd (0.9.75 and later). A watch cuts off peers that send or take too slowly:
// the library's own limit begins anew with every byte.
#include "http.h"

#include <arpa/inet.h>
#include <microhttpd.h>
#include <netinet/in.h>
#include <pthread.h>
#include <stdlib.h>
#include <string.h>
#include <sys/socket.h>
#include <time.h>

/// One connection, watched.
typedef struct Peer {
    int socket;
    double until_s;
    struct Peer *before, *next;
} Peer;

struct OwHttp {
    OwHttpSettings settings;
    struct MHD_Daemon *daemon;
    pthread_t watch;
    pthread_mutex_t lock; ///< guards peers and is_over
    pthread_cond_t wake;
    Peer *peers;
    bool is_over, has_watch;
};

/// A request on its way in.
typedef struct Call {
    char *body;
    size_t size, room;
    bool is_too_large, has_begun;
} Call;

static double now_s(void) {
    struct timespec t;
    clock_gettime(CLOCK_MONOTONIC, &t);
    return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

const char *ow_http_header(const OwHttpRequest *request, const char *name) {
    return MHD_lookup_connection_value(request->inner, MHD_HEADER_KIND, name);
}

const char *ow_http_query(const OwHttpRequest *request, const char *name) {
    return MHD_lookup_connection_value(request->inner, MHD_GET_ARGUMENT_KIND, name);
}

typedef struct Count {
    const char *name;
    int count;
} Count;

static bool is_same_name(const char *a, const char *b) {
    for (; *a != '\0' && *b != '\0'; a++, b++) {
        const char x = *a >= 'A' && *a <= 'Z' ? (char)(*a + 32) : *a;
        const char y = *b >= 'A' && *b <= 'Z' ? (char)(*b + 32) : *b;
        if (x != y) {
            return false;
        }
    }
    return *a == *b;
}

static enum MHD_Result count_header(void *context, enum MHD_ValueKind kind, const char *key,
                                    const char *value) {
    Count *count = context;
    (void)kind;
    (void)value;
    count->count += is_same_name(key, count->name) ? 1 : 0;
    return MHD_YES;
}

int ow_http_header_count(const OwHttpRequest *request, const char *name) {
    Count count = {name, 0};
    (void)MHD_get_connection_values(request->inner, MHD_HEADER_KIND, count_header, &count);
    return count.count;
}

void ow_http_answer_header(OwHttpAnswer *answer, const char *name, const char *value) {
    if (answer->header_count < OW_HTTP_MAX_HEADERS && strpbrk(value, "\r\n") == NULL &&
        strlen(value) < sizeof answer->headers[0].value) {
        answer->headers[answer->header_count].name = name;
        strcpy(answer->headers[answer->header_count].value, value);
        answer->header_count++;
    }
}

/// Gives the peer of a connection a new time limit.
static void allow(OwHttp *http, struct MHD_Connection *connection, unsigned seconds) {
    const union MHD_ConnectionInfo *info =
        MHD_get_connection_info(connection, MHD_CONNECTION_INFO_SOCKET_CONTEXT);
    Peer *peer = info != NULL ? info->socket_context : NULL;
    if (peer != NULL) {
        pthread_mutex_lock(&http->lock);
        peer->until_s = now_s() + seconds;
        pthread_mutex_unlock(&http->lock);
    }
}

static void on_connection(void *context, struct MHD_Connection *connection, void **socket_context,
                          enum MHD_ConnectionNotificationCode what) {
    OwHttp *http = context;
    pthread_mutex_lock(&http->lock);
    if (what == MHD_CONNECTION_NOTIFY_STARTED) {
        const union MHD_ConnectionInfo *info =
            MHD_get_connection_info(connection, MHD_CONNECTION_INFO_CONNECTION_FD);
        Peer *peer = calloc(1, sizeof *peer);
        if (peer != NULL && info != NULL) {
            peer->socket = (int)info->connect_fd;
            peer->until_s = now_s() + http->settings.receive_s;
            peer->next = http->peers;
            if (peer->next != NULL) {
                peer->next->before = peer;
            }
            http->peers = peer;
        } else {
            free(peer);
            peer = NULL;
        }
        *socket_context = peer;
    } else {
        Peer *peer = *socket_context;
        if (peer != NULL) {
            if (peer->next != NULL) {
                peer->next->before = peer->before;
            }
            if (peer->before != NULL) {
                peer->before->next = peer->next;
            } else {
                http->peers = peer->next;
            }
            free(peer);
        }
        *socket_context = NULL;
    }
    pthread_mutex_unlock(&http->lock);
}

/// Ends the sockets whose time is over; the library then sees them closed.
static void *watch(void *context) {
    OwHttp *http = context;
    pthread_mutex_lock(&http->lock);
    while (!http->is_over) {
        struct timespec until;
        clock_gettime(CLOCK_MONOTONIC, &until);
        until.tv_nsec += 250000000L;
        if (until.tv_nsec >= 1000000000L) {
            until.tv_sec++;
            until.tv_nsec -= 1000000000L;
        }
        (void)pthread_cond_timedwait(&http->wake, &http->lock, &until);
        const double now = now_s();
        for (Peer *peer = http->peers; peer != NULL; peer = peer->next) {
            if (now > peer->until_s) {
                (void)shutdown(peer->socket, SHUT_RDWR);
                peer->until_s = now + 3600.0;
            }
        }
    }
    pthread_mutex_unlock(&http->lock);
    return NULL;
}

static void on_completed(void *context, struct MHD_Connection *connection, void **state,
                         enum MHD_RequestTerminationCode why) {
    OwHttp *http = context;
    Call *call = *state;
    (void)why;
    allow(http, connection, http->settings.receive_s);
    if (call != NULL) {
        free(call->body);
        free(call);
    }
    *state = NULL;
}

static enum MHD_Result send_answer(struct MHD_Connection *connection, OwHttpAnswer *answer) {
    struct MHD_Response *response = NULL;
    if (answer->body != NULL) {
        response = MHD_create_response_from_buffer(answer->size, answer->body, MHD_RESPMEM_MUST_FREE);
        if (response == NULL) {
            free(answer->body);
        }
    } else {
        // The library takes a writable pointer but does not write to persistent memory.
        union {
            const char *from;
            char *to;
        } text = {.from = answer->static_body != NULL ? answer->static_body : ""};
        response = MHD_create_response_from_buffer(answer->static_body != NULL ? answer->size : 0, text.to,
                                                   MHD_RESPMEM_PERSISTENT);
    }
    if (response == NULL) {
        return MHD_NO;
    }
    for (int i = 0; i < answer->header_count; i++) {
        (void)MHD_add_response_header(response, answer->headers[i].name, answer->headers[i].value);
    }
    const enum MHD_Result sent = MHD_queue_response(connection, (unsigned)answer->status, response);
    MHD_destroy_response(response);
    return sent;
}

static enum MHD_Result answer_now(OwHttp *http, struct MHD_Connection *connection, const char *path,
                                  const char *method, const Call *call) {
    OwHttpAnswer answer = {.status = 500};
    const OwHttpRequest request = {.method = method,
                                   .path = path,
                                   .body = call->body,
                                   .body_size = call->size,
                                   .is_too_large = call->is_too_large,
                                   .inner = connection};
    allow(http, connection, 3600); // while the handler works
    http->settings.handler(http->settings.context, &request, &answer);
    allow(http, connection, http->settings.send_s);
    return send_answer(connection, &answer);
}

/// Keeps a piece of the body. False when out of memory.
static bool take_piece(const OwHttp *http, Call *call, const char *piece, size_t size) {
    if (call->is_too_large || size > http->settings.body_limit - call->size) {
        call->is_too_large = true;
        call->size = 0;
        return true;
    }
    if (call->size + size + 1 > call->room) {
        const size_t room = 2 * (call->size + size) + 1024;
        char *body = realloc(call->body, room);
        if (body == NULL) {
            return false;
        }
        call->body = body;
        call->room = room;
    }
    memcpy(call->body + call->size, piece, size);
    call->size += size;
    call->body[call->size] = '\0';
    return true;
}

static enum MHD_Result on_request(void *context, struct MHD_Connection *connection, const char *path,
                                  const char *method, const char *version, const char *piece,
                                  size_t *piece_size, void **state) {
    OwHttp *http = context;
    Call *call = *state;
    (void)version;
    if (call == NULL) {
        call = calloc(1, sizeof *call);
        *state = call;
        if (call == NULL) {
            return MHD_NO;
        }
        const char *length =
            MHD_lookup_connection_value(connection, MHD_HEADER_KIND, MHD_HTTP_HEADER_CONTENT_LENGTH);
        if (length != NULL && strtoull(length, NULL, 10) > http->settings.body_limit) {
            call->is_too_large = true; // answered before it is sent
            return answer_now(http, connection, path, method, call);
        }
        return MHD_YES;
    }
    if (*piece_size > 0) {
        const bool is_taken = take_piece(http, call, piece, *piece_size);
        *piece_size = 0;
        return is_taken ? MHD_YES : MHD_NO;
    }
    return answer_now(http, connection, path, method, call);
}

OwStatus ow_http_start(const OwHttpSettings *settings, OwHttp **http) {
    struct sockaddr_in where = {.sin_family = AF_INET, .sin_port = htons((uint16_t)settings->port)};
    *http = NULL;
    if (settings->port > 65535u || inet_pton(AF_INET, settings->address, &where.sin_addr) != 1) {
        return OW_ERROR_USE;
    }
    OwHttp *made = calloc(1, sizeof *made);
    pthread_condattr_t clock;
    if (made == NULL) {
        return OW_ERROR_MEMORY;
    }
    made->settings = *settings;
    pthread_mutex_init(&made->lock, NULL);
    pthread_condattr_init(&clock);
    pthread_condattr_setclock(&clock, CLOCK_MONOTONIC);
    pthread_cond_init(&made->wake, &clock);
    pthread_condattr_destroy(&clock);
    made->has_watch = pthread_create(&made->watch, NULL, watch, made) == 0;
    if (made->has_watch) {
        made->daemon = MHD_start_daemon(
            MHD_USE_EPOLL_INTERNAL_THREAD, (uint16_t)settings->port, NULL, NULL, on_request, made,
            MHD_OPTION_SOCK_ADDR, (struct sockaddr *)&where, MHD_OPTION_THREAD_POOL_SIZE, settings->threads,
            MHD_OPTION_CONNECTION_LIMIT, 400u, MHD_OPTION_CONNECTION_TIMEOUT, settings->receive_s,
            MHD_OPTION_CONNECTION_MEMORY_LIMIT, (size_t)32 * 1024, MHD_OPTION_STRICT_FOR_CLIENT, 1,
            MHD_OPTION_NOTIFY_CONNECTION, on_connection, made, MHD_OPTION_NOTIFY_COMPLETED, on_completed,
            made, MHD_OPTION_END);
    }
    if (made->daemon == NULL) {
        ow_http_stop(&made);
        return OW_ERROR_USE;
    }
    *http = made;
    return OW_OK;
}

unsigned ow_http_port(const OwHttp *http) {
    const union MHD_DaemonInfo *info = MHD_get_daemon_info(http->daemon, MHD_DAEMON_INFO_BIND_PORT);
    return info != NULL ? info->port : 0;
}

void ow_http_stop(OwHttp **http) {
    if (http == NULL || *http == NULL) {
        return;
    }
    OwHttp *h = *http;
    if (h->daemon != NULL) {
        MHD_stop_daemon(h->daemon);
    }
    if (h->has_watch) {
        pthread_mutex_lock(&h->lock);
        h->is_over = true;
        pthread_cond_signal(&h->wake);
        pthread_mutex_unlock(&h->lock);
        pthread_join(h->watch, NULL);
    }
    pthread_cond_destroy(&h->wake);
    pthread_mutex_destroy(&h->lock);
    free(h);
    *http = NULL;
}
