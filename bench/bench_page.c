// SPDX-License-Identifier: GPL-3.0-or-later
// Time of the page's answers for the example van, over a loopback connection: median and worst of 60.
#include <arpa/inet.h>
#include <jansson.h>
#include <netinet/in.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/socket.h>
#include <time.h>
#include <unistd.h>

#include "page.h"

enum { ROUNDS = 60, ROOM = 4 * 1024 * 1024 };

static double now_ms(void) {
    struct timespec t;
    clock_gettime(CLOCK_MONOTONIC, &t);
    return 1e3 * (double)t.tv_sec + 1e-6 * (double)t.tv_nsec;
}

static int by_size(const void *a, const void *b) {
    const double x = *(const double *)a, y = *(const double *)b;
    return x < y ? -1 : x > y;
}

/// One request on a connection that stays open; the bytes of the answer, 0 when it is not 200.
static size_t ask(int s, unsigned port, const char *method, const char *path, const char *body,
                  char *answer) {
    static char request[ROOM];
    const int size = snprintf(request, sizeof request,
                              "%s %s HTTP/1.1\r\nHost: 127.0.0.1:%u\r\nContent-Type: application/json\r\n"
                              "Content-Length: %zu\r\n\r\n%s",
                              method, path, port, strlen(body), body);
    size_t used = 0, wanted = SIZE_MAX;
    if (size < 0 || send(s, request, (size_t)size, MSG_NOSIGNAL) != size) {
        return 0;
    }
    while (used < wanted && used + 65536 < ROOM) {
        const ssize_t got = recv(s, answer + used, 65536, 0);
        if (got <= 0) {
            return 0;
        }
        used += (size_t)got;
        answer[used] = '\0';
        const char *end = wanted == SIZE_MAX ? strstr(answer, "\r\n\r\n") : NULL,
                   *length = strstr(answer, "Content-Length: ");
        if (end != NULL && length != NULL) {
            wanted = (size_t)(end - answer) + 4 + strtoul(length + 16, NULL, 10);
        }
    }
    return strncmp(answer, "HTTP/1.1 200", 12) == 0 ? used : 0;
}

static char *read_file(const char *path) {
    FILE *file = fopen(path, "rb");
    char *text = calloc(1, 65536);
    if (file != NULL && text != NULL) {
        (void)!fread(text, 1, 65535, file);
        (void)fclose(file);
    }
    return text;
}

int main(int argc, char **argv) {
    OwPageSettings settings = ow_page_default();
    OwPage *page = NULL;
    OwFault fault;
    char *text = argc > 1 ? read_file(argv[1]) : NULL, *answer = malloc(ROOM);
    settings.port = 0;
    if (text == NULL || answer == NULL || ow_page_start(&settings, &page, &fault) != OW_OK) {
        fprintf(stderr, "bench_page RIG: %s\n", fault.message);
        return 1;
    }
    const unsigned port = ow_page_port(page);
    struct sockaddr_in where = {
        .sin_family = AF_INET, .sin_port = htons((uint16_t)port), .sin_addr.s_addr = htonl(INADDR_LOOPBACK)};
    const int s = socket(AF_INET, SOCK_STREAM, 0);
    if (s < 0 || connect(s, (struct sockaddr *)&where, sizeof where) != 0) {
        return 1;
    }
    json_t *edit = json_pack("{s:s, s:[{s:s, s:s, s:s, s:s}]}", "text", text, "edits", "op", "set", "part",
                             "supply hose", "path", "bore", "value", "10 mm");
    json_t *plain = json_pack("{s:s}", "text", text), *oil = json_pack("{s:s}", "oil", "rapeseed");
    char *edit_text = json_dumps(edit, 0), *plain_text = json_dumps(plain, 0), *oil_text = json_dumps(oil, 0);
    const struct {
        const char *method, *path, *body;
    } cases[] = {{"GET", "/", ""},
                 {"GET", "/api/start", ""},
                 {"GET", "/api/catalogue", ""},
                 {"POST", "/api/edit", edit_text},
                 {"POST", "/api/read", plain_text},
                 {"POST", "/api/morning", plain_text},
                 {"POST", "/api/oil", oil_text}};
    int code = 0;
    printf("%-16s %10s %10s %10s\n", "request", "median ms", "worst ms", "bytes");
    for (size_t c = 0; c < sizeof cases / sizeof cases[0]; c++) {
        double taken[ROUNDS];
        size_t bytes = 0;
        for (int i = 0; i < ROUNDS; i++) {
            const double begin = now_ms();
            bytes = ask(s, port, cases[c].method, cases[c].path, cases[c].body, answer);
            taken[i] = now_ms() - begin;
            code = bytes > 0 ? code : 1;
        }
        qsort(taken, ROUNDS, sizeof taken[0], by_size);
        printf("%-16s %10.2f %10.2f %10zu\n", cases[c].path, taken[ROUNDS / 2], taken[ROUNDS - 1], bytes);
    }
    (void)close(s);
    json_decref(edit);
    json_decref(plain);
    json_decref(oil);
    free(edit_text);
    free(plain_text);
    free(oil_text);
    free(answer);
    free(text);
    ow_page_stop(&page);
    return code;
}
