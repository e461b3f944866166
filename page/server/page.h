// SPDX-License-Identifier: GPL-3.0-or-later
// The workshop page's server: settings in, a running server out. What it answers stands in docs/page-api.md.
#ifndef OW_PAGE_PAGE_H
#define OW_PAGE_PAGE_H

#include "oilwright/base.h"

typedef struct OwPage OwPage;

typedef struct OwPageSettings {
    const char *folder;  ///< of rig files
    const char *address; ///< IPv4 to listen on, default 127.0.0.1
    unsigned port;       ///< default 8642; 0: any free one
    bool is_shared;      ///< every request needs the key
    bool can_write;      ///< rig files may be saved and the logbook written (default true)
    const char *book;    ///< logbook; need not be there yet; NULL: none
    const char *yard;    ///< yard file for the plan, NULL: the demo's
    const char *costs;   ///< cost file, NULL: the demo's
    const char *assets;  ///< folder to serve the page from at each request; NULL: what is built in
    const char *program; ///< the command, for jobs; NULL: this very program
    const char *version;
    unsigned threads;   ///< default 4
    unsigned receive_s; ///< a request must be whole by then, default 30
    unsigned send_s;    ///< and its answer taken, default 60
    double work_s; ///< one morning in answer to a request may take so long, default 20; jobs may take longer
} OwPageSettings;

OwPageSettings ow_page_default(void);
/// OW_ERROR_USE with a fault when the folder, address or port cannot be had; OW_ERROR_READ without the unit
/// tables. The texts in `settings` must outlive the page.
OwStatus ow_page_start(const OwPageSettings *settings, OwPage **page, OwFault *fault);
unsigned ow_page_port(const OwPage *page);
/// The key of a shared page, "" otherwise.
const char *ow_page_key(const OwPage *page);
/// Ends the jobs and the server. NULL is a no-op.
void ow_page_stop(OwPage **page);

#endif
