// SPDX-License-Identifier: GPL-3.0-or-later
// What the files of the page's logbook interface share.
#ifndef OW_PAGE_API_LOG_H
#define OW_PAGE_API_LOG_H

#include "log_cli.h"
#include "page_impl.h"

/// "us" or anything else.
OwDisplay ow_call_display(const char *text);
/// Refuses because of what the logbook said.
void ow_call_book_refuse(OwCall *call, OwStatus status, const OwFaults *faults);
bool ow_page_has_book(const OwPage *page);

#endif
