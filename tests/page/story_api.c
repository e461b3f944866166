// SPDX-License-Identifier: GPL-3.0-or-later
// The page's interface to the logbook, the yard file and the costs: what docs/page-api.md promises, the same
// as the command line says, and what comes of requests that mean it ill.
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

#include <cmocka.h>

#include "client.h"
#include "oilwright/logbook.h"
#include "serve.h"

#define JSON "Content-Type: application/json\r\n"
static Server server;
static char book_path[200], yard_path[200], costs_path[200];

static int open_with(bool can_write) {
    OwPageSettings settings = ow_page_default();
    static char folder[] = "/tmp/oilwright-story-XXXXXX";
    (void)snprintf(folder, sizeof folder, "/tmp/oilwright-story-XXXXXX");
    assert_non_null(mkdtemp(folder));
    (void)snprintf(book_path, sizeof book_path, "%s/log.db", folder);
    (void)snprintf(yard_path, sizeof yard_path, "%s/yard.yaml", folder);
    (void)snprintf(costs_path, sizeof costs_path, "%s/costs.yaml", folder);
    settings.program = OW_PROGRAM;
    settings.book = book_path;
    settings.yard = yard_path;
    settings.costs = costs_path;
    settings.can_write = can_write;
    serve_open(&server, &settings);
    return 0;
}

static int open_all(void **state) {
    (void)state;
    return open_with(true);
}

static int open_read_only(void **state) {
    (void)state;
    return open_with(false);
}

static int close_all(void **state) {
    (void)state;
    char path[260];
    serve_close(&server);
    static const char *const tails[] = {"", "-wal", "-shm"};
    for (size_t i = 0; i < 3; i++) {
        (void)snprintf(path, sizeof path, "%s%s", book_path, tails[i]);
        (void)unlink(path);
    }
    (void)unlink(yard_path);
    (void)unlink(costs_path);
    *strrchr(book_path, '/') = '\0';
    assert_int_equal(rmdir(book_path), 0);
    return 0;
}

static const json_t *key(const json_t *object, const char *name) {
    const json_t *value = json_object_get(object, name);
    if (value == NULL) {
        fail_msg("\"%s\" is missing", name);
    }
    return value;
}

static const char *text_of(const json_t *object, const char *name) {
    if (!json_is_string(key(object, name))) {
        fail_msg("\"%s\" is no text", name);
    }
    return json_string_value(key(object, name));
}

static json_t *post(const char *path, const char *body) {
    json_error_t error;
    json_t *object = json_loads(body, 0, &error);
    if (object == NULL) {
        fail_msg("%s: %s", body, error.text);
    }
    return client_post(server.port, path, object, 200);
}

/// Writes and gives the id of the last entry.
static json_int_t add(const char *entries) {
    char body[2000];
    (void)snprintf(body, sizeof body, "{\"entries\": %s}", entries);
    json_t *answer = post("/api/log", body);
    if (!json_is_true(key(answer, "done"))) {
        char *text = json_dumps(answer, 0);
        fail_msg("%s: %s", entries, text);
    }
    const json_t *list = key(answer, "entries");
    const json_int_t id = json_integer_value(key(json_array_get(list, json_array_size(list) - 1), "id"));
    json_decref(answer);
    return id;
}

static size_t entries_now(void) {
    json_t *list = client_get(server.port, "/api/log?undone=1&limit=200", 200);
    const size_t count = json_array_size(key(list, "entries"));
    json_decref(list);
    return count;
}

static void test_empty(void **state) {
    (void)state;
    json_t *kinds = client_get(server.port, "/api/log/kinds", 200);
    assert_true(json_is_false(key(kinds, "exists")));
    assert_true(json_is_true(key(kinds, "can_write")));
    assert_string_equal(text_of(kinds, "book"), "log.db");
    // The table is the library's own: every kind, every field, in its order.
    const json_t *list = key(kinds, "kinds");
    size_t n = 0;
    for (int k = 1; k < OW_LOG_KINDS; k++) {
        const OwLogKindRow *row = ow_log_kind((OwLogKind)k);
        for (size_t i = 0; i < json_array_size(list); i++) {
            const json_t *one = json_array_get(list, i);
            if (strcmp(text_of(one, "word"), row->word) == 0) {
                assert_string_equal(text_of(one, "label"), row->label);
                assert_int_equal(json_array_size(key(one, "fields")), row->field_count);
                for (int f = 0; f < row->field_count; f++) {
                    assert_string_equal(text_of(json_array_get(key(one, "fields"), (size_t)f), "key"),
                                        row->fields[f].key);
                }
                n++;
            }
        }
    }
    assert_int_equal(n, json_array_size(list));
    json_decref(kinds);
    json_t *entries = client_get(server.port, "/api/log", 200);
    assert_int_equal(json_array_size(key(entries, "entries")), 0);
    json_decref(entries);
    json_t *refused = client_get(server.port, "/api/log/things", 404);
    assert_string_equal(text_of(key(refused, "error"), "code"), "no_book");
    json_decref(refused);
    assert_int_equal(access(book_path, F_OK), -1); // looking makes no file
    // Neither does trying words out, nor an entry that cannot be used.
    json_t *dry = post("/api/log", "{\"words\": \"vehicle van\", \"dry\": true}");
    assert_true(json_is_false(key(dry, "done")));
    json_decref(dry);
    json_t *bad = post("/api/log", "{\"entries\": [{\"kind\": \"source\", \"fields\": {}}]}");
    assert_true(json_is_false(key(bad, "done")));
    assert_string_equal(text_of(json_array_get(key(bad, "faults"), 0), "field"), "name");
    json_decref(bad);
    assert_int_equal(access(book_path, F_OK), -1);
}

/// Things made in the same order as the entry that names them; the command line finds the same.
static void test_write(void **state) {
    (void)state;
    const json_int_t id =
        add("[{\"kind\": \"source\", \"fields\": {\"name\": \"Hill Cafe\"}},"
            " {\"kind\": \"vessel\", \"fields\": {\"name\": \"drum 1\", \"capacity\": \"200 L\"}},"
            " {\"kind\": \"pickup\", \"at\": \"2026-03-01T08:30:00Z\", \"fields\":"
            "  {\"source\": \"Hill Cafe\", \"volume\": \"16 US gal\", \"into\": \"drum 1\"}}]");
    char path[100];
    (void)snprintf(path, sizeof path, "/api/log/entry?id=%lld&units=us", (long long)id);
    json_t *entry = client_get(server.port, path, 200);
    // 1 US gal = 3.785411784 L exactly (NIST SP 811, B.8); kept to a microlitre.
    const json_t *volume = key(key(entry, "fields"), "volume");
    assert_true(fabs(json_number_value(key(volume, "si")) - 16 * 3.785411784e-3) < 1e-9);
    assert_string_equal(text_of(volume, "text"), "16 US gal");
    assert_non_null(strstr(text_of(entry, "sentence"), "Hill Cafe"));
    assert_int_equal(json_integer_value(key(entry, "at_s")), 1772353800); // date -u -d 2026-03-01T08:30 +%s
    json_decref(entry);
    // A whole order or nothing: the second entry's fault leaves no first.
    const size_t before = entries_now();
    json_t *half = post("/api/log", "{\"entries\": [{\"kind\": \"source\", \"fields\": {\"name\": \"Half\"}},"
                                    "{\"kind\": \"pickup\", \"fields\": {\"source\": \"Half\", \"volume\": "
                                    "\"5 kg\", \"into\": \"drum 1\"}}]}");
    assert_true(json_is_false(key(half, "done")));
    const json_t *fault = json_array_get(key(half, "faults"), 0);
    assert_int_equal(json_integer_value(key(fault, "entry")), 1);
    assert_string_equal(text_of(fault, "field"), "volume");
    json_decref(half);
    half = post("/api/log", "{\"entries\": [{\"kind\": \"source\", \"fields\": {\"name\": \"Half\"}},"
                            "{\"kind\": \"pickup\", \"fields\": {\"source\": \"Half\", \"volume\": \"5 L\", "
                            "\"into\": \"no such drum\"}}]}");
    assert_true(json_is_false(key(half, "done")));
    fault = json_array_get(key(half, "faults"), 0);
    assert_int_equal(json_integer_value(key(fault, "entry")), 1);
    assert_string_equal(text_of(fault, "field"), "into");
    json_decref(half);
    assert_int_equal(entries_now(), before);
    // Words.
    json_t *words = post("/api/log", "{\"words\": \"pickup hill cafe 20 L drum 1\"}");
    assert_true(json_is_true(key(words, "done")));
    assert_true(json_is_true(key(key(words, "said"), "understood")));
    json_decref(words);
    words = post("/api/log", "{\"words\": \"pickup hill caff 20 L drum 1\"}");
    assert_true(json_is_false(key(words, "done")));
    assert_true(strlen(text_of(key(words, "said"), "question")) > 0);
    json_decref(words);
    assert_int_equal(entries_now(), before + 1);
    // The library's own view says the same level.
    OwLogbook *book = NULL;
    OwFaults faults = {0};
    OwArena *arena = ow_arena_create();
    OwLogVesselRow *rows = NULL;
    int count = 0;
    assert_int_equal(ow_logbook_open(book_path, OW_LOG_READ, &book, &faults), OW_OK);
    assert_int_equal(ow_logbook_vessels(book, arena, &rows, &count, &faults), OW_OK);
    assert_int_equal(count, 1);
    json_t *levels = client_get(server.port, "/api/log/levels", 200);
    const json_t *vessel = json_array_get(key(levels, "vessels"), 0);
    assert_true(fabs(json_number_value(key(vessel, "level_m3")) - rows[0].level_m3) < 1e-12);
    assert_true(fabs(rows[0].level_m3 - (16 * 3.785411784e-3 + 0.02)) < 1e-8);
    json_decref(levels);
    ow_arena_destroy(&arena);
    ow_logbook_close(&book);
    ow_faults_clear(&faults);
}

static void test_once(void **state) {
    (void)state;
    (void)add("[{\"kind\": \"vessel\", \"fields\": {\"name\": \"tote\"}}]");
    const char *order = "{\"token\": \"abc123\", \"entries\": [{\"kind\": \"expense\", \"fields\": "
                        "{\"what\": \"tests\", \"amount\": \"3.10\"}}]}";
    const size_t before = entries_now();
    json_t *first = post("/api/log", order), *again = post("/api/log", order);
    assert_true(json_equal(first, again));
    assert_int_equal(entries_now(), before + 1);
    json_decref(first);
    json_decref(again);
    // Another token is another order, and one that failed may be sent again.
    json_t *bad = post(
        "/api/log",
        "{\"token\": \"t2\", \"entries\": [{\"kind\": \"expense\", \"fields\": {\"what\": \"tests\"}}]}");
    assert_true(json_is_false(key(bad, "done")));
    json_decref(bad);
    json_t *good = post("/api/log", "{\"token\": \"t2\", \"entries\": [{\"kind\": \"expense\", \"fields\": "
                                    "{\"what\": \"tests\", \"amount\": \"3.10\"}}]}");
    assert_true(json_is_true(key(good, "done")));
    json_decref(good);
    assert_int_equal(entries_now(), before + 2);
}

static void test_undo(void **state) {
    (void)state;
    const json_int_t id = add(
        "[{\"kind\": \"source\", \"fields\": {\"name\": \"Inn\"}}, {\"kind\": \"vessel\", \"fields\": "
        "{\"name\": \"can\"}},"
        "{\"kind\": \"pickup\", \"fields\": {\"source\": \"Inn\", \"volume\": \"10\", \"into\": \"can\"}}]");
    char body[200];
    // The kitchen cannot go while a pick-up names it.
    (void)snprintf(body, sizeof body, "{\"ids\": [%lld]}", (long long)id - 2);
    json_t *answer = post("/api/log/undo", body);
    assert_true(json_is_false(key(answer, "done")));
    assert_true(json_array_size(key(answer, "faults")) > 0);
    json_decref(answer);
    // All three in one order, the last first.
    (void)snprintf(body, sizeof body, "{\"ids\": [%lld, %lld, %lld], \"why\": \"typed twice\"}",
                   (long long)id - 2, (long long)id - 1, (long long)id);
    answer = post("/api/log/undo", body);
    assert_true(json_is_true(key(answer, "done")));
    assert_int_equal(json_array_size(key(answer, "entries")), 3);
    json_decref(answer);
    answer = post("/api/log/undo", body); // a second time: refused, nothing added
    assert_true(json_is_false(key(answer, "done")));
    json_decref(answer);
    assert_int_equal(entries_now(), 6);
    json_t *live = client_get(server.port, "/api/log", 200);
    assert_int_equal(json_array_size(key(live, "entries")), 0);
    json_decref(live);
}

static void test_list(void **state) {
    (void)state;
    (void)add("[{\"kind\": \"vehicle\", \"fields\": {\"name\": \"van\"}}]");
    for (int i = 0; i < 12; i++) {
        char entry[200];
        (void)snprintf(entry, sizeof entry,
                       "[{\"kind\": \"odometer\", \"at\": \"2026-02-%02dT10:00:00Z\", \"fields\": "
                       "{\"vehicle\": \"van\", \"odometer\": \"%d km\", \"note\": \"%s\"}}]",
                       i + 1, 1000 + 10 * i, i % 2 == 0 ? "hill road" : "valley");
        (void)add(entry);
    }
    // Page by page, newest first, none twice and none missing.
    char path[200] = "/api/log?kind=odometer&limit=5";
    int seen = 0;
    json_int_t last = INT64_MAX;
    for (int page = 0; page < 5; page++) {
        json_t *list = client_get(server.port, path, 200);
        const json_t *entries = key(list, "entries"), *more = key(list, "more");
        for (size_t i = 0; i < json_array_size(entries); i++) {
            const json_int_t at = json_integer_value(key(json_array_get(entries, i), "at_s"));
            assert_true(at < last);
            last = at;
            seen++;
        }
        const bool is_end = json_is_null(more);
        if (!is_end) {
            (void)snprintf(path, sizeof path,
                           "/api/log?kind=odometer&limit=5&before_at_s=%lld&before_id=%lld",
                           (long long)json_integer_value(key(more, "before_at_s")),
                           (long long)json_integer_value(key(more, "before_id")));
        }
        json_decref(list);
        if (is_end) {
            break;
        }
    }
    assert_int_equal(seen, 12);
    json_t *found = client_get(server.port, "/api/log?text=hill%20ro", 200);
    assert_int_equal(json_array_size(key(found, "entries")), 6);
    json_decref(found);
}

/// What a request may not do to the book.
static void test_hostile(void **state) {
    (void)state;
    static const struct {
        const char *path, *body;
        int status;
    } bad[] = {
        {"/api/log", "", 400},
        {"/api/log", "[]", 400},
        {"/api/log", "{}", 400},
        {"/api/log", "{\"words\": 3}", 400},
        {"/api/log", "{\"words\": \"x\", \"entries\": []}", 400},
        {"/api/log", "{\"entries\": []}", 400},
        {"/api/log", "{\"entries\": {}}", 400},
        {"/api/log", "{\"entries\": [1,2,3,4,5,6,7,8,9]}", 400},
        {"/api/log", "{\"words\": \"x\", \"dry\": \"yes\"}", 400},
        {"/api/log", "{\"words\": \"x\", \"token\": 1}", 400},
        {"/api/log", "{\"words\": \"x\", \"token\": \"0123456789012345678901234567890123456789\"}", 400},
        {"/api/log", "{\"words\": \"x\", \"units\": []}", 400},
        {"/api/log/undo", "{}", 400},
        {"/api/log/undo", "{\"ids\": [1.5]}", 400},
        {"/api/log/undo", "{\"ids\": [\"1\"]}", 400},
        {"/api/log/undo", "{\"ids\": [1], \"why\": 2}", 400},
    };
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
        Reply reply = client_ask(server.port, "POST", bad[i].path, JSON, bad[i].body, NULL);
        if (reply.status != bad[i].status) {
            fail_msg("%s %s: status %d, wanted %d: %.200s", bad[i].path, bad[i].body, reply.status,
                     bad[i].status, reply.body != NULL ? reply.body : "");
        }
        client_clear(&reply);
    }
    // Entries that are nonsense are told, with status 200, and nothing is made.
    static const char *const nonsense[] = {
        "{\"entries\": [1]}",
        "{\"entries\": [null]}",
        "{\"entries\": [{\"kind\": \"undo\", \"fields\": {\"entry\": \"#1\"}}]}",
        "{\"entries\": [{\"kind\": \"nothing\", \"fields\": {}}]}",
        "{\"entries\": [{\"kind\": \"source\", \"fields\": {\"name\": 5}}]}",
        "{\"entries\": [{\"kind\": \"source\", \"fields\": {\"name\": \"a\", \"colour\": \"red\"}}]}",
        "{\"entries\": [{\"kind\": \"source\", \"fields\": [\"name\"]}]}",
        "{\"entries\": [{\"kind\": \"source\", \"at\": \"31st of May\", \"fields\": {\"name\": \"a\"}}]}",
        "{\"entries\": [{\"kind\": \"source\", \"at\": \"99999-01-01\", \"fields\": {\"name\": \"a\"}}]}",
        "{\"entries\": [{\"kind\": \"expense\", \"fields\": {\"what\": \"tests\", \"amount\": \"1e400\"}}]}",
        "{\"entries\": [{\"kind\": \"vessel\", \"fields\": {\"name\": \"v\", \"capacity\": \"nan L\"}}]}",
        "{\"entries\": [{\"kind\": \"vessel\", \"fields\": {\"name\": \"v\", \"capacity\": \"-5 L\"}}]}",
        "{\"entries\": [{\"kind\":\"level\",\"fields\":{\"of\":\"#99999999999999999999\",\"level\":\"1\"}}]}",
        "{\"words\": \"\\\"; drop table entry; --\"}",
        "{\"words\": \"undo 99999\"}",
    };
    for (size_t i = 0; i < sizeof nonsense / sizeof nonsense[0]; i++) {
        json_t *answer = post("/api/log", nonsense[i]);
        if (!json_is_false(key(answer, "done"))) {
            fail_msg("%s was written", nonsense[i]);
        }
        json_decref(answer);
    }
    static const struct {
        const char *path;
        int status;
    } gets[] = {
        {"/api/log?limit=0", 400},
        {"/api/log?limit=201", 400},
        {"/api/log?limit=x", 400},
        {"/api/log?kind=x", 400},
        {"/api/log?thing=-1", 400},
        {"/api/log?before_id=1e3", 400},
        {"/api/log/batch", 400},
        {"/api/log/batch?id=abc", 400},
        {"/api/log/no", 404},
        {"/api/log/", 404},
        {"/api/log/../file", 404},
        {"/api/log/entry?id=99999", 404},
        {"/api/log/forward?id=99999", 404},
        {"/api/sheet", 404},
        {"/api/sheet?which=rig", 404},
        {"/api/sheet?which=../x", 404},
        {"/api/log/totals?from_s=x", 400},
        {"/api/log/entry?id=9999999999999999999", 400},
    };
    (void)add("[{\"kind\": \"vessel\", \"fields\": {\"name\": \"only\"}}]");
    for (size_t i = 0; i < sizeof gets / sizeof gets[0]; i++) {
        Reply reply = client_ask(server.port, "GET", gets[i].path, NULL, NULL, NULL);
        if (reply.status != gets[i].status) {
            fail_msg("%s: status %d, wanted %d: %.200s", gets[i].path, reply.status, gets[i].status,
                     reply.body != NULL ? reply.body : "");
        }
        client_clear(&reply);
    }
    Reply reply = client_ask(server.port, "DELETE", "/api/log", NULL, NULL, NULL);
    assert_int_equal(reply.status, 405);
    client_clear(&reply);
    reply = client_ask(server.port, "POST", "/api/log", "Content-Type: text/plain\r\n",
                       "{\"words\":\"vehicle van\"}", NULL);
    assert_int_equal(reply.status, 415); // what a form of another page can send
    client_clear(&reply);
    reply = client_ask(server.port, "POST", "/api/log", JSON "Origin: http://attacker.example\r\n",
                       "{\"words\":\"vehicle van\"}", NULL);
    assert_int_equal(reply.status, 403);
    client_clear(&reply);
    assert_int_equal(entries_now(), 1);
    // A name may hold anything; it comes back as it is and nothing else happens.
    (void)add("[{\"kind\": \"source\", \"fields\": {\"name\": \"<script>alert(1)</script>'; drop table "
              "entry; --\"}}]");
    json_t *sources = client_get(server.port, "/api/log/sources", 200);
    assert_string_equal(text_of(json_array_get(key(sources, "sources"), 0), "name"),
                        "<script>alert(1)</script>'; drop table entry; --");
    json_decref(sources);
}

/// Many pages at once and the command line beside them: everything arrives once.
static void test_together(void **state) {
    (void)state;
    (void)add("[{\"kind\": \"vehicle\", \"fields\": {\"name\": \"van\"}}]");
    enum { CLIENTS = 6, EACH = 5 };
    pid_t children[CLIENTS + 1];
    for (int c = 0; c < CLIENTS; c++) {
        children[c] = fork();
        assert_true(children[c] >= 0);
        if (children[c] == 0) {
            for (int i = 0; i < EACH; i++) {
                char body[200];
                (void)snprintf(body, sizeof body,
                               "{\"entries\": [{\"kind\": \"odometer\", \"fields\": {\"vehicle\": \"van\", "
                               "\"odometer\": \"1000 km\", \"note\": \"%d\"}}]}",
                               i);
                Reply reply = client_ask(server.port, "POST", "/api/log", JSON, body, NULL);
                if (reply.status != 200 || strstr(reply.body, "\"done\":true") == NULL) {
                    _exit(1);
                }
                client_clear(&reply);
            }
            _exit(0);
        }
    }
    char command[500];
    (void)snprintf(
        command, sizeof command,
        "for i in 1 2 3 4 5; do '%s' log --book '%s' km van 1000 note $i >/dev/null || exit 1; done",
        OW_PROGRAM, book_path);
    assert_int_equal(system(command), 0);
    for (int c = 0; c < CLIENTS; c++) {
        int state_of = 0;
        assert_true(waitpid(children[c], &state_of, 0) == children[c]);
        assert_int_equal(state_of, 0);
    }
    assert_int_equal(entries_now(), 1 + CLIENTS * EACH + 5);
    OwLogbook *book = NULL;
    OwFaults faults = {0};
    assert_int_equal(ow_logbook_open(book_path, OW_LOG_READ, &book, &faults), OW_OK);
    assert_int_equal(ow_logbook_check(book, &faults), OW_OK);
    ow_logbook_close(&book);
    ow_faults_clear(&faults);
}

/// What the study of a rig says of a filter is what was known before the log, as for `oilwright filter
/// --log`.
static void test_study(void **state) {
    (void)state;
    (void)add("[{\"kind\": \"vehicle\", \"fields\": {\"name\": \"van\"}},"
              "{\"kind\": \"filter\", \"at\": \"2026-01-01T10:00:00Z\", \"fields\": {\"vehicle\": \"van\", "
              "\"filter\": \"Oil filter\", \"odometer\": \"1000 km\", \"reason\": \"fitted\"}},"
              "{\"kind\": \"odometer\", \"at\": \"2026-02-01T10:00:00Z\", \"fields\": {\"vehicle\": \"van\", "
              "\"odometer\": \"1500 km\"}}]");
    json_t *things = client_get(server.port, "/api/log/vehicles", 200);
    const json_int_t van = json_integer_value(key(json_array_get(key(things, "vehicles"), 0), "id"));
    json_decref(things);
    // What each vehicle uses, in one answer: as the answer for each alone has it.
    char alone_path[60];
    (void)snprintf(alone_path, sizeof alone_path, "/api/log/vehicle?id=%lld", (long long)van);
    json_t *together = client_get(server.port, "/api/log/fuel", 200),
           *by_itself = client_get(server.port, alone_path, 200);
    const json_t *first = json_array_get(key(together, "vehicles"), 0);
    assert_int_equal(json_array_size(key(together, "vehicles")), 1);
    assert_true(json_equal(key(first, "fuel"), key(by_itself, "fuel")) &&
                json_equal(key(first, "odd"), key(by_itself, "odd")) &&
                json_equal(key(first, "vehicle"), key(by_itself, "vehicle")));
    json_decref(together);
    json_decref(by_itself);
    json_t *alone = client_get(server.port, "/api/log/filters", 200);
    const json_t *before = json_array_get(key(alone, "places"), 0);
    assert_true(json_is_false(key(before, "has_study")) && json_is_null(key(before, "study_m")));
    double life[2];
    for (int i = 0; i < 2; i++) {
        char path[160];
        (void)snprintf(path, sizeof path,
                       "/api/log/filters?id=%lld&filter=oil%%20filter&study_m=%d&solids_kg_kg=2.4e-5",
                       (long long)van, i == 0 ? 8000000 : 40000000);
        json_t *beside = client_get(server.port, path, 200);
        const json_t *place = key(beside, "place");
        assert_true(json_is_true(key(place, "has_study")));
        assert_string_equal(text_of(place, "filter"), "Oil filter");
        assert_true(json_number_value(key(place, "study_m")) == (i == 0 ? 8e6 : 40e6));
        life[i] = json_number_value(key(place, "life_m"));
        json_decref(beside);
    }
    // One that still runs, far from either study, says little: the answer is near what the study says.
    assert_true(life[0] > 7e6 && life[0] < 11e6 && life[1] > 35e6 && life[1] < 50e6);
    json_decref(alone);
    json_t *none =
        client_get(server.port, "/api/log/filters?id=1&filter=x&study_m=8e6&solids_kg_kg=2.4e-5", 200);
    assert_string_equal(text_of(key(none, "place"), "filter"),
                        "x"); // asked, though the log has nothing of it yet
    json_decref(none);
    static const char *const wrong[] = {"id=1&filter=x&study_m=-1&solids_kg_kg=1e-5", "id=1&study_m=8e6",
                                        "filter=x&study_m=8e6&solids_kg_kg=1e-5", "id=1&filter=x&study_m=nan",
                                        "id=1&filter=x&study_m=8e6&solids_kg_kg=2"};
    for (size_t i = 0; i < sizeof wrong / sizeof wrong[0]; i++) {
        char path[160];
        (void)snprintf(path, sizeof path, "/api/log/filters?%s", wrong[i]);
        json_decref(client_get(server.port, path, 400));
    }
}

static void test_damaged(void **state) {
    (void)state;
    FILE *file = fopen(book_path, "wb");
    assert_non_null(file);
    assert_true(fputs("this is no logbook", file) >= 0);
    assert_int_equal(fclose(file), 0);
    json_t *refused = client_get(server.port, "/api/log/things", 409);
    assert_string_equal(text_of(key(refused, "error"), "code"), "book");
    assert_true(strlen(text_of(key(refused, "error"), "message")) > 10);
    json_decref(refused);
    Reply reply = client_ask(server.port, "POST", "/api/log", JSON, "{\"words\": \"vehicle van\"}", NULL);
    assert_int_equal(reply.status, 409);
    client_clear(&reply);
    // It is left as it was.
    struct stat info;
    assert_int_equal(stat(book_path, &info), 0);
    assert_int_equal(info.st_size, 18);
}

static void test_read_only(void **state) {
    (void)state;
    json_t *kinds = client_get(server.port, "/api/log/kinds", 200);
    assert_true(json_is_false(key(kinds, "can_write")));
    json_decref(kinds);
    static const char *const paths[][3] = {
        {"POST", "/api/log", "{\"words\": \"vehicle van\"}"},
        {"POST", "/api/log/undo", "{\"ids\": [1]}"},
        {"PUT", "/api/sheet", "{\"which\": \"costs\", \"text\": \"\", \"stamp\": null}"}};
    for (size_t i = 0; i < 3; i++) {
        Reply reply = client_ask(server.port, paths[i][0], paths[i][1], JSON, paths[i][2], NULL);
        assert_int_equal(reply.status, 403);
        assert_non_null(strstr(reply.body, "read_only"));
        client_clear(&reply);
    }
    assert_int_equal(access(book_path, F_OK), -1);
}

static void test_sheets(void **state) {
    (void)state;
    json_t *sheet = client_get(server.port, "/api/sheet?which=costs", 200);
    char *demo = serve_example("orchard-costs.yaml");
    assert_string_equal(text_of(sheet, "text"), demo);
    assert_true(json_is_true(key(sheet, "demo")));
    assert_true(json_is_null(key(sheet, "stamp")));
    json_decref(sheet);
    json_t *put = client_post(server.port, "/api/edit",
                              json_pack("{s:s, s:[{s:s, s:s, s:s, s:s}]}", "text", demo, "edits", "op", "set",
                                        "section", "fuel", "path", "diesel price", "value", "2.00 per L"),
                              200);
    assert_true(json_is_true(key(put, "changed")));
    assert_non_null(strstr(text_of(put, "text"), "# What oil costs the orchard")); // comments stay
    json_t *body = json_pack("{s:s, s:s, s:n}", "which", "costs", "text", text_of(put, "text"), "stamp");
    char *text = json_dumps(body, 0);
    Reply reply = client_ask(server.port, "PUT", "/api/sheet", JSON, text, NULL);
    assert_int_equal(reply.status, 200);
    client_clear(&reply);
    reply = client_ask(server.port, "PUT", "/api/sheet", JSON, text, NULL); // as new, but it is there by now
    assert_int_equal(reply.status, 409);
    client_clear(&reply);
    free(text);
    json_decref(body);
    sheet = client_get(server.port, "/api/sheet?which=costs", 200);
    assert_true(json_is_false(key(sheet, "demo")));
    assert_string_equal(text_of(sheet, "text"), text_of(put, "text"));
    assert_string_equal(text_of(sheet, "name"), "costs.yaml");
    json_decref(sheet);
    json_decref(put);
    free(demo);
}

/// A job's result once it has ended.
static json_t *job(json_t *ask, const char *wanted) {
    json_t *begun = client_post(server.port, "/api/job", ask, 202);
    char path[100];
    (void)snprintf(path, sizeof path, "/api/job/%s", text_of(begun, "id"));
    json_decref(begun);
    for (int i = 0; i < 1000; i++) {
        json_t *now = client_get(server.port, path, 200);
        if (strcmp(text_of(now, "state"), "running") != 0) {
            if (strcmp(text_of(now, "state"), wanted) != 0) {
                char *text = json_dumps(now, 0);
                fail_msg("wanted %s: %.400s", wanted, text);
            }
            return now;
        }
        json_decref(now);
        const struct timespec pause = {0, 20000000};
        (void)nanosleep(&pause, NULL);
    }
    fail_msg("the job does not end");
    return NULL;
}

/// What the command says of a file.
static json_t *command_says(const char *verb, const char *example, const char *more) {
    char command[700];
    (void)snprintf(command, sizeof command, "'%s' %s '%s/examples/%s' --json %s", OW_PROGRAM, verb,
                   OW_SOURCE_ROOT, example, more);
    FILE *pipe = popen(command, "r");
    assert_non_null(pipe);
    json_t *said = json_loadf(pipe, 0, NULL);
    (void)pclose(pipe);
    assert_non_null(said);
    return said;
}

static void test_jobs(void **state) {
    (void)state;
    char *yard = serve_example("orchard-yard.yaml"), *costs = serve_example("orchard-costs.yaml");
    json_t *now = job(
        json_pack("{s:s, s:s, s:{s:s}}", "verb", "batch", "text", yard, "options", "set", "week.batch=120 L"),
        "done");
    json_t *said = command_says("batch", "orchard-yard.yaml", "--set 'week.batch=120 L'");
    const json_t *result = key(now, "result");
    assert_true(json_equal(key(result, "steps"), key(said, "steps")));
    assert_true(json_equal(key(result, "week"), key(said, "week")));
    json_decref(now);
    json_decref(said);
    now = job(json_pack("{s:s, s:s, s:{s:i}}", "verb", "cost", "text", costs, "options", "samples", 512),
              "done");
    said = command_says("cost", "orchard-costs.yaml", "--samples 512");
    assert_true(json_equal(key(key(now, "result"), "lines"), key(said, "lines")));
    assert_true(json_equal(key(key(now, "result"), "study"), key(said, "study")));
    json_decref(now);
    json_decref(said);
    free(yard);
    free(costs);
    // Faults stand at their field; a yard file elsewhere is not read, whatever the text says.
    now = job(json_pack("{s:s, s:s}", "verb", "cost", "text", "name: x\nfuel: {diesel price: 5 apples}\n"),
              "done");
    const json_t *fault = json_array_get(key(key(now, "result"), "rig_faults"), 0);
    assert_string_equal(text_of(fault, "section"), "fuel");
    assert_string_equal(text_of(fault, "path"), "diesel price");
    assert_int_equal(json_integer_value(key(fault, "line")), 2);
    json_decref(now);
    static const char *const names[] = {"/etc/passwd", "../x.yaml", "a/../../x.yaml", ".hidden.yaml"};
    for (size_t i = 0; i < sizeof names / sizeof names[0]; i++) {
        char text[200];
        (void)snprintf(text, sizeof text, "name: x\nyard: {plan: %s}\n", names[i]);
        now = job(json_pack("{s:s, s:s}", "verb", "cost", "text", text), "done");
        assert_true(json_array_size(key(key(now, "result"), "rig_faults")) > 0);
        json_decref(now);
    }
    // A file that the request names is no flag.
    now = job(json_pack("{s:s, s:s, s:{s:s}}", "verb", "cost", "text", "name: x\n", "options", "log",
                        "/etc/passwd"),
              "failed");
    assert_string_equal(text_of(key(now, "error"), "code"), "bad_request");
    json_decref(now);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(test_empty, open_all, close_all),
        cmocka_unit_test_setup_teardown(test_write, open_all, close_all),
        cmocka_unit_test_setup_teardown(test_once, open_all, close_all),
        cmocka_unit_test_setup_teardown(test_undo, open_all, close_all),
        cmocka_unit_test_setup_teardown(test_list, open_all, close_all),
        cmocka_unit_test_setup_teardown(test_hostile, open_all, close_all),
        cmocka_unit_test_setup_teardown(test_together, open_all, close_all),
        cmocka_unit_test_setup_teardown(test_study, open_all, close_all),
        cmocka_unit_test_setup_teardown(test_damaged, open_all, close_all),
        cmocka_unit_test_setup_teardown(test_read_only, open_read_only, close_all),
        cmocka_unit_test_setup_teardown(test_sheets, open_all, close_all),
        cmocka_unit_test_setup_teardown(test_jobs, open_all, close_all),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
