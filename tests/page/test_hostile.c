// SPDX-License-Identifier: GPL-3.0-or-later
// The page's server among those who mean it ill: foreign pages, other folders, huge, slow, malformed, many at
// once. It neither falls nor gives away what it should not.
#include <setjmp.h>
#include <stdarg.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <time.h>
#include <unistd.h>

#include <cmocka.h>

#include "client.h"
#include "serve.h"

#define JSON "Content-Type: application/json\r\n"
static Server server;

static int open_all(void **state) {
    (void)state;
    OwPageSettings settings = ow_page_default();
    settings.receive_s = 2;
    settings.send_s = 2;
    serve_open(&server, &settings);
    serve_put(&server, "van.yaml",
              "oil: rapeseed\nparts:\n  - tank: t\n  - hose: h\n  - injection pump: p\n");
    return 0;
}

static int close_all(void **state) {
    (void)state;
    serve_close(&server);
    return 0;
}

static void expect(const char *method, const char *path, const char *headers, const char *body,
                   const char *host, int status) {
    Reply reply = client_ask(server.port, method, path, headers, body, host);
    if (reply.status != status) {
        fail_msg("%s %s: status %d, wanted %d: %.200s", method, path, reply.status, status,
                 reply.body != NULL ? reply.body : "");
    }
    client_clear(&reply);
}

static void still_serves(void) {
    expect("GET", "/api/start", NULL, NULL, NULL, 200);
}

static void test_foreign(void **state) {
    (void)state;
    char host[64], header[120];
    // A name that was made to lead here (DNS rebinding), another port, nothing.
    expect("GET", "/api/start", NULL, NULL, "attacker.example", 421);
    expect("GET", "/", NULL, NULL, "attacker.example", 421);
    expect("GET", "/api/start", NULL, NULL, "127.0.0.1:1", 421);
    expect("GET", "/api/start", NULL, NULL, "127.0.0.1", 421);
    expect("GET", "/api/start", "Host: attacker.example\r\n", NULL, NULL, 421); // named twice
    (void)snprintf(host, sizeof host, "localhost:%u", server.port);
    expect("GET", "/api/start", NULL, NULL, host, 200);
    expect("POST", "/api/read", JSON "Origin: http://attacker.example\r\n", "{\"text\":\"\"}", NULL, 403);
    expect("POST", "/api/read", JSON "Origin: null\r\n", "{\"text\":\"\"}", NULL, 403);
    (void)snprintf(header, sizeof header, JSON "Origin: https://127.0.0.1:%u\r\n", server.port);
    expect("POST", "/api/read", header, "{\"text\":\"\"}", NULL, 403);
    (void)snprintf(header, sizeof header, JSON "Origin: http://127.0.0.1:%u\r\n", server.port);
    expect("POST", "/api/read", header, "{\"text\":\"\"}", NULL, 200);
    expect("GET", "/api/start", "Sec-Fetch-Site: cross-site\r\n", NULL, NULL, 403);
    expect("GET", "/api/start", "Sec-Fetch-Site: same-origin\r\n", NULL, NULL, 200);
    // What a plain form of another page can send.
    expect("POST", "/api/read", "Content-Type: text/plain\r\n", "{\"text\":\"\"}", NULL, 415);
    expect("POST", "/api/read", NULL, "{\"text\":\"\"}", NULL, 415);
    expect("POST", "/api/read", "Content-Type: application/jsonx\r\n", "{\"text\":\"\"}", NULL, 415);
    Reply reply =
        client_ask(server.port, "OPTIONS", "/api/read",
                   "Origin: http://attacker.example\r\nAccess-Control-Request-Method: POST\r\n", NULL, NULL);
    assert_int_equal(reply.status, 403);
    assert_null(client_header(&reply, "Access-Control-Allow-Origin"));
    client_clear(&reply);
}

static void test_headers(void **state) {
    (void)state;
    Reply reply = client_ask(server.port, "GET", "/", NULL, NULL, NULL);
    assert_int_equal(reply.status, 200);
    assert_non_null(strstr(client_header(&reply, "Content-Security-Policy"), "default-src 'none'"));
    assert_null(strstr(client_header(&reply, "Content-Security-Policy"), "unsafe"));
    assert_null(strstr(client_header(&reply, "Content-Security-Policy"), "http"));
    assert_string_equal(client_header(&reply, "X-Content-Type-Options"), "nosniff");
    char match[200];
    (void)snprintf(match, sizeof match, "If-None-Match: %s\r\n", client_header(&reply, "ETag"));
    client_clear(&reply);
    expect("GET", "/", match, NULL, NULL, 304);
    expect("HEAD", "/index.html", NULL, NULL, NULL, 200);
}

static void test_other_folders(void **state) {
    (void)state;
    static const char *const names[] = {"../van.yaml",     "..%2fvan.yaml",
                                        "%2e%2e/van.yaml", "/etc/passwd",
                                        "%2fetc%2fpasswd", "....//van.yaml",
                                        "link.yaml",       "folder.yaml",
                                        "pipe.yaml",       "van.yaml%00.yaml",
                                        "..%5cvan.yaml",   ".hidden.yaml",
                                        "van.txt",         "",
                                        "van.yaml/",       "%c0%ae%c0%ae/van.yaml",
                                        "./van.yaml"};
    char path[400], target[200];
    serve_put(&server, ".hidden.yaml", "name: hidden\n");
    (void)snprintf(target, sizeof target, "%s/link.yaml", server.folder);
    assert_int_equal(symlink("/etc/passwd", target), 0);
    for (size_t i = 0; i < sizeof names / sizeof names[0]; i++) {
        (void)snprintf(path, sizeof path, "/api/file?name=%s", names[i]);
        if (strcmp(names[i], "van.yaml%00.yaml") != 0) {
            expect("GET", path, NULL, NULL, NULL, 404);
        } else {
            Reply reply = client_ask(server.port, "GET", path, NULL, NULL, NULL);
            assert_true(reply.status != 200 ||
                        strstr(reply.body, "rapeseed") != NULL); // the plain name, nothing else
            client_clear(&reply);
        }
    }
    expect("GET", "/api/file", NULL, NULL, NULL, 404);
    static const char *const bodies[] = {
        "{\"name\":\"../x.yaml\",\"text\":\"\"}",   "{\"name\":\"/tmp/x.yaml\",\"text\":\"\"}",
        "{\"name\":\"x\",\"text\":\"\"}",           "{\"name\":\".x.yaml\",\"text\":\"\"}",
        "{\"name\":\"a\\\\b.yaml\",\"text\":\"\"}", "{\"name\":\"a\\nb.yaml\",\"text\":\"\"}"};
    for (size_t i = 0; i < sizeof bodies / sizeof bodies[0]; i++) {
        expect("PUT", "/api/file", JSON, bodies[i], NULL, 404);
    }
    // A link is not written through.
    expect("PUT", "/api/file", JSON, "{\"name\":\"link.yaml\",\"text\":\"\",\"force\":true}", NULL, 409);
    static const char *const assets[] = {"/../page.h",   "/%2e%2e/page.h",   "/assets/../../x",
                                         "//etc/passwd", "/assets/%2e%2e/x", "/.git/config",
                                         "/assets//x",   "/templates",       "/assets/\xC0\xAE.",
                                         "/x%00",        "/index.html/.."};
    for (size_t i = 0; i < sizeof assets / sizeof assets[0]; i++) {
        Reply reply = client_ask(server.port, "GET", assets[i], NULL, NULL, NULL);
        if (reply.status != 404 && reply.status != 400) {
            fail_msg("%s: status %d", assets[i], reply.status);
        }
        client_clear(&reply);
    }
}

static void test_too_large(void **state) {
    (void)state;
    const size_t size = (size_t)3 * 1024 * 1024;
    char *body = malloc(size + 1);
    assert_non_null(body);
    memset(body, 'a', size);
    body[size] = '\0';
    memcpy(body, "{\"text\":\"", 9);
    memcpy(body + size - 2, "\"}", 2);
    Reply reply = client_ask(server.port, "POST", "/api/read", JSON, body, NULL);
    assert_true(reply.status == 413 ||
                reply.status == 0); // the refusal may be lost when we are cut off in mid-send
    client_clear(&reply);
    expect("POST", "/api/read", JSON "Content-Length: 99999999999999999999\r\n", NULL, NULL, 413);
    expect("POST", "/api/read", JSON "Content-Length: 1048577\r\n", NULL, NULL, 413);
    free(body);
    // In pieces, without saying how much.
    char head[200], piece[4200];
    const int s = client_open(server.port);
    (void)snprintf(head, sizeof head,
                   "POST /api/read HTTP/1.1\r\nHost: 127.0.0.1:%u\r\n" JSON
                   "Transfer-Encoding: chunked\r\n\r\n",
                   server.port);
    assert_true(client_send(s, head, strlen(head)));
    int used = snprintf(piece, sizeof piece, "1000\r\n");
    memset(piece + used, 'x', 4096);
    memcpy(piece + used + 4096, "\r\n", 3);
    bool is_open = true;
    for (int i = 0; i < 400 && is_open; i++) {
        is_open = client_send(s, piece, (size_t)used + 4098);
    }
    if (is_open && client_send(s, "0\r\n\r\n", 5)) {
        reply = client_receive(s, 5.0);
        assert_int_equal(reply.status, 413);
        client_clear(&reply);
    }
    (void)close(s);
    // A head without end.
    const int t = client_open(server.port);
    (void)client_send(t, "GET / HTTP/1.1\r\nX: ", 19);
    for (int i = 0; i < 100 && client_send(t, piece, 4096); i++) {
    }
    reply = client_receive(t, 5.0);
    assert_true(reply.status == 0 || (reply.status >= 400 && reply.status < 500));
    client_clear(&reply);
    (void)close(t);
    still_serves();
}

static void test_malformed(void **state) {
    (void)state;
    static const char *const bodies[] = {"",
                                         "{",
                                         "null",
                                         "[]",
                                         "\"text\"",
                                         "{\"text\":3}",
                                         "{\"text\":null}",
                                         "{}",
                                         "{\"text\":\"a\",\"text\":\"b\"}",
                                         "{\"text\":\"\xFF\xFE\"}",
                                         "{\"text\":\"\\u0000\"}",
                                         "{\"text\":\"\\ud800\"}"};
    static const char *const paths[] = {"/api/read", "/api/edit", "/api/morning"};
    for (size_t p = 0; p < 3; p++) {
        for (size_t i = 0; i < sizeof bodies / sizeof bodies[0]; i++) {
            expect("POST", paths[p], JSON, bodies[i], NULL, 400);
        }
    }
    static const char *const wrong[][2] = {
        {"/api/edit", "{\"text\":\"a: 1\"}"},
        {"/api/edit", "{\"text\":\"a: 1\",\"edits\":[3]}"},
        {"/api/edit", "{\"text\":\"a: 1\",\"edits\":[{\"op\":\"burn\"}]}"},
        {"/api/edit", "{\"text\":\"a: 1\",\"edits\":[{\"op\":\"set\",\"part\":3}]}"},
        {"/api/edit", "{\"text\":\"a: "
                      "1\",\"edits\":[{\"op\":\"set\",\"section\":\"a\",\"value\":[[[[[[[[[[1]]]]]]]]]]}]}"},
        {"/api/morning", "{\"text\":\"a: 1\",\"samples\":1}"},
        {"/api/morning", "{\"text\":\"a: 1\",\"samples\":1e300}"},
        {"/api/morning", "{\"text\":\"a: 1\",\"units\":\"stone\"}"},
        {"/api/morning", "{\"text\":\"a: 1\",\"overrides\":[1]}"},
        {"/api/oil", "{\"oil\":\"rapeseed\",\"temperatures_k\":[1e9]}"},
        {"/api/oil", "{\"oil\":\"rapeseed\",\"temperatures_k\":[]}"},
        {"/api/oil", "{\"oil\":[]}"},
        {"/api/compare", "{\"texts\":[]}"},
        {"/api/compare", "{\"texts\":[1]}"},
        {"/api/compare", "{\"texts\":{}}"},
        {"/api/job", "{\"verb\":7}"},
    };
    for (size_t i = 0; i < sizeof wrong / sizeof wrong[0]; i++) {
        expect("POST", wrong[i][0], JSON, wrong[i][1], NULL, 400);
    }
    // Nesting as deep as the body allows.
    char *deep = malloc(600001);
    assert_non_null(deep);
    memset(deep, '[', 600000);
    deep[600000] = '\0';
    expect("POST", "/api/edit", JSON, deep, NULL, 400);
    free(deep);
    expect("DELETE", "/api/read", NULL, NULL, NULL, 405);
    expect("BURN", "/", NULL, NULL, NULL, 405);
    expect("GET", "/api/nothing", NULL, NULL, NULL, 404);
    expect("GET", "/api/job/../start", NULL, NULL, NULL, 404);
    static const char *const raw[] = {
        "\r\n\r\n\r\n",           "GET\r\n\r\n",
        "GET / HTTP/9.9\r\n\r\n", "\x16\x03\x01\x02",
        "GET / HTTP/1.1\r\n\r\n", "POST /api/read HTTP/1.1\r\nContent-Length: -5\r\n\r\n"};
    for (size_t i = 0; i < sizeof raw / sizeof raw[0]; i++) {
        const int s = client_open(server.port);
        (void)client_send(s, raw[i], strlen(raw[i]));
        Reply reply = client_receive(s, 0.3);
        assert_true(reply.status == 0 || reply.status >= 400);
        client_clear(&reply);
        (void)close(s);
    }
    still_serves();
}

static double now_s(void) {
    struct timespec t;
    clock_gettime(CLOCK_MONOTONIC, &t);
    return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

/// One byte now and then keeps no connection open past the limit (2 s here), and holds up nobody else.
static void test_slow(void **state) {
    (void)state;
    enum { SLOW = 40 };
    int sockets[SLOW];
    for (int i = 0; i < SLOW; i++) {
        sockets[i] = client_open(server.port);
        assert_true(sockets[i] >= 0);
    }
    const double begin = now_s();
    int open = SLOW;
    while (open > 0 && now_s() - begin < 8.0) {
        open = 0;
        for (int i = 0; i < SLOW; i++) {
            open += sockets[i] >= 0 && client_send(sockets[i], "G", 1) ? 1 : 0;
        }
        still_serves();
        const struct timespec pause = {0, 100000000};
        (void)nanosleep(&pause, NULL);
    }
    assert_int_equal(open, 0);
    assert_true(now_s() - begin < 6.0);
    for (int i = 0; i < SLOW; i++) {
        (void)close(sockets[i]);
    }
    // The same in the body, and one that never takes its answer.
    char head[200];
    const int s = client_open(server.port);
    (void)snprintf(head, sizeof head,
                   "POST /api/read HTTP/1.1\r\nHost: 127.0.0.1:%u\r\n" JSON "Content-Length: 1000\r\n\r\n",
                   server.port);
    assert_true(client_send(s, head, strlen(head)));
    const double start = now_s();
    while (client_send(s, "x", 1) && now_s() - start < 8.0) {
        const struct timespec pause = {0, 100000000};
        (void)nanosleep(&pause, NULL);
    }
    assert_true(now_s() - start < 6.0);
    (void)close(s);
    still_serves();
}

/// Two hundred mornings at once: all are answered.
static void test_many(void **state) {
    (void)state;
    Server many; // with the time limits of every day
    enum { MANY = 200 };
    static int sockets[MANY];
    char *van = serve_example("orchard-van.yaml");
    serve_open(&many, NULL);
    json_t *ask = json_pack("{s:s, s:b}", "text", van, "series", 0);
    char *body = json_dumps(ask, JSON_COMPACT), *text = malloc(strlen(body) + 300);
    assert_non_null(text);
    const int size = sprintf(text,
                             "POST /api/%s HTTP/1.1\r\nHost: 127.0.0.1:%u\r\n" JSON
                             "Connection: close\r\nContent-Length: %zu\r\n\r\n%s",
                             "morning", many.port, strlen(body), body);
    int answered = 0;
    for (int i = 0; i < MANY; i++) {
        sockets[i] = client_open(many.port);
        assert_true(sockets[i] >= 0);
        assert_true(client_send(sockets[i], text, (size_t)size));
    }
    for (int i = 0; i < MANY; i++) {
        Reply reply = client_receive(sockets[i], 60.0);
        answered += reply.status == 200 && strstr(reply.body, "\"headline\"") != NULL ? 1 : 0;
        client_clear(&reply);
        (void)close(sockets[i]);
    }
    assert_int_equal(answered, MANY);
    serve_close(&many);
    free(text);
    free(body);
    json_decref(ask);
    free(van);
}

/// Pieces of good requests, damaged: any answer will do, as long as one more good request is served.
static void test_damaged(void **state) {
    (void)state;
    uint32_t seed = 7u;
    char *van = serve_example("van-blend.yaml");
    static const char *const paths[] = {"/api/read", "/api/edit",    "/api/morning",
                                        "/api/oil",  "/api/compare", "/api/file"};
    for (int round = 0; round < 600; round++) {
        json_t *ask = json_pack("{s:s, s:s, s:[{s:s, s:s, s:s, s:s}], s:[{s:s}], s:s}", "text", van, "oil",
                                "diesel", "edits", "op", "set", "part", "supply tube", "path", "bore",
                                "value", "9 mm", "texts", "text", van, "name", "x.yaml");
        char *body = json_dumps(ask, JSON_COMPACT);
        const size_t size = strlen(body);
        for (int k = 0; k < 1 + round % 8; k++) {
            seed = seed * 1664525u + 1013904223u;
            const size_t at = (seed >> 8) % size;
            seed = seed * 1664525u + 1013904223u;
            const char put = "\"{}[],:\\ \n-0a#|&*!\x7F"[(seed >> 8) % 20];
            body[at] = put != '\0' ? put : ' ';
        }
        Reply reply =
            client_ask(server.port, round % 50 == 0 ? "PUT" : "POST", paths[round % 6], JSON, body, NULL);
        assert_true(reply.status >= 200 && reply.status < 500);
        client_clear(&reply);
        free(body);
        json_decref(ask);
    }
    free(van);
    still_serves();
}

static void test_key(void **state) {
    (void)state;
    Server shared;
    OwPageSettings settings = ow_page_default();
    char path[200], header[300];
    settings.is_shared = true;
    settings.can_write = false;
    serve_open(&shared, &settings);
    const char *secret = ow_page_key(shared.page);
    assert_true(strlen(secret) == 24); // 144 bits
    static const char *const refused[] = {"/", "/api/start", "/assets/x.js",
                                          "/?key=", "/?key=AAAAAAAAAAAAAAAAAAAAAAAA"};
    for (size_t i = 0; i < sizeof refused / sizeof refused[0]; i++) {
        Reply reply = client_ask(shared.port, "GET", refused[i], NULL, NULL, NULL);
        assert_int_equal(reply.status, 401);
        assert_null(strstr(reply.body, secret));
        client_clear(&reply);
    }
    (void)snprintf(path, sizeof path, "/?key=%s", secret);
    Reply reply = client_ask(shared.port, "GET", path, NULL, NULL, NULL);
    assert_int_equal(reply.status, 303);
    assert_string_equal(client_header(&reply, "Location"), "/");
    const char *cookie = client_header(&reply, "Set-Cookie");
    assert_non_null(strstr(cookie, "HttpOnly"));
    assert_non_null(strstr(cookie, "SameSite=Strict"));
    (void)snprintf(header, sizeof header, "Cookie: other=1; oilwright_key=%s; last=2\r\n", secret);
    client_clear(&reply);
    reply = client_ask(shared.port, "GET", "/api/start", header, NULL, NULL);
    assert_int_equal(reply.status, 200);
    assert_non_null(strstr(reply.body, "\"can_write\":false"));
    client_clear(&reply);
    (void)snprintf(header, sizeof header, "Authorization: Bearer %s\r\n", secret);
    reply = client_ask(shared.port, "GET", "/api/start", header, NULL, NULL);
    assert_int_equal(reply.status, 200);
    client_clear(&reply);
    (void)snprintf(header, sizeof header, "Authorization: Bearer %.23s\r\n", secret);
    reply = client_ask(shared.port, "GET", "/api/start", header, NULL, NULL);
    assert_int_equal(reply.status, 401);
    client_clear(&reply);
    (void)snprintf(header, sizeof header, JSON "Cookie: oilwright_key=%s\r\n", secret);
    reply = client_ask(shared.port, "PUT", "/api/file", header, "{\"name\":\"x.yaml\",\"text\":\"\"}", NULL);
    assert_int_equal(reply.status, 403);
    client_clear(&reply);
    serve_close(&shared);
}

int main(void) {
    const struct rlimit files = {2048, 4096};
    (void)setrlimit(RLIMIT_NOFILE, &files);
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_foreign),       cmocka_unit_test(test_headers),
        cmocka_unit_test(test_other_folders), cmocka_unit_test(test_too_large),
        cmocka_unit_test(test_malformed),     cmocka_unit_test(test_slow),
        cmocka_unit_test(test_many),          cmocka_unit_test(test_damaged),
        cmocka_unit_test(test_key),
    };
    return cmocka_run_group_tests(tests, open_all, close_all);
}
