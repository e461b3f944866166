// SPDX-License-Identifier: GPL-3.0-or-later
// A page server in this process, with a folder of its own.
#ifndef OW_TESTS_PAGE_SERVE_H
#define OW_TESTS_PAGE_SERVE_H

#include "page.h"

typedef struct Server {
    OwPage *page;
    unsigned port;
    char folder[64];
} Server;

/// `settings` may be NULL; its folder and port are set here.
void serve_open(Server *server, const OwPageSettings *settings);
void serve_close(Server *server);
/// A file of the project's examples; the caller frees it.
char *serve_example(const char *name);
/// Writes a file into the server's folder.
void serve_put(const Server *server, const char *name, const char *text);

#endif
