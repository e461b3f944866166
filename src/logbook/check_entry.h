// SPDX-License-Identifier: GPL-3.0-or-later
// The rules an entry must pass, told through a teller: adding names the entry, importing names file, line and
// column. Private to the logbook.
#ifndef OW_LOGBOOK_CHECK_ENTRY_H
#define OW_LOGBOOK_CHECK_ENTRY_H

#include "logbook/impl.h"

/// Hears of everything wrong; `field` is an index of the kind, -1 the entry as a whole.
typedef struct OwTeller {
    void (*tell)(void *context, int field, OwStatus status, const char *message, const char *remedy);
    void *context;
    int told;
} OwTeller;
void ow_log_tell(OwTeller *teller, int field, OwStatus status, const char *remedy, const char *format, ...)
    __attribute__((format(printf, 5, 6)));

/// What can be seen without the file: kind, times, ranges, required fields, fields that go together.
void ow_log_check_values(const OwLogEntry *entry, OwTeller *teller);
/// What needs the file: references looked up (numbers are set), names free, an undo's entry live and not
/// needed. Returns SQLite's code; what is wrong is told.
int ow_log_check_links(OwLogbook *book, OwLogEntry *entry, OwTeller *teller);
/// An odometer reading lower than one before it, or higher than one after it, in nothing but a replaced
/// odometer. Returns SQLite's code; what is wrong is told. Imports only warn.
int ow_log_check_odometer(OwLogbook *book, const OwLogEntry *entry, OwTeller *teller);
/// Writes a checked entry, its index and running sums; works out what is worked out. Sets its id.
int ow_log_write(OwLogbook *book, OwLogEntry *entry);
/// The nearest live name of the kinds, "" when none is near.
int ow_log_nearest(OwLogbook *book, unsigned kinds, const char *name, char nearest[OW_LOG_NAME_MAX + 1]);

#endif
