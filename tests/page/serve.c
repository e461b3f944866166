// SPDX-License-Identifier: GPL-3.0-or-later
// A page server in this process, with a folder of its own.
#include <dirent.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include <cmocka.h>

#include "serve.h"

void serve_open(Server *server, const OwPageSettings *settings) {
    OwPageSettings mine = settings != NULL ? *settings : ow_page_default();
    OwFault fault;
    (void)snprintf(server->folder, sizeof server->folder, "/tmp/oilwright-test-XXXXXX");
    assert_non_null(mkdtemp(server->folder));
    mine.folder = server->folder;
    mine.port = 0;
    mine.version = "test";
    if (ow_page_start(&mine, &server->page, &fault) != OW_OK) {
        fail_msg("%s; %s", fault.message, fault.remedy);
    }
    server->port = ow_page_port(server->page);
    assert_true(server->port > 0);
}

void serve_close(Server *server) {
    ow_page_stop(&server->page);
    assert_null(server->page);
    DIR *folder = opendir(server->folder);
    assert_non_null(folder);
    for (const struct dirent *e = readdir(folder); e != NULL; e = readdir(folder)) {
        char path[400];
        (void)snprintf(path, sizeof path, "%s/%s", server->folder, e->d_name);
        (void)unlink(path);
    }
    (void)closedir(folder);
    assert_int_equal(rmdir(server->folder), 0);
}

char *serve_example(const char *name) {
    char path[600];
    (void)snprintf(path, sizeof path, "%s/examples/%s", OW_SOURCE_ROOT, name);
    FILE *file = fopen(path, "rb");
    assert_non_null(file);
    char *text = calloc(1, 65536);
    assert_non_null(text);
    (void)!fread(text, 1, 65535, file);
    (void)fclose(file);
    return text;
}

void serve_put(const Server *server, const char *name, const char *text) {
    char path[400];
    (void)snprintf(path, sizeof path, "%s/%s", server->folder, name);
    FILE *file = fopen(path, "wb");
    assert_non_null(file);
    assert_true(fputs(text, file) >= 0);
    assert_int_equal(fclose(file), 0);
}
