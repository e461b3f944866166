// SPDX-License-Identifier: GPL-3.0-or-later
// What the tests of the logbook share: a folder of their own, short forms for entries, a small demo yard.
#ifndef OW_TESTS_LOGBOOK_SUPPORT_H
#define OW_TESTS_LOGBOOK_SUPPORT_H

#include "oilwright/logbook.h"

/// A fresh folder under TMPDIR; remove it with folder_drop.
void folder_make(char folder[256]);
void folder_drop(const char *folder);
/// "folder/name" in a buffer of 512.
const char *path_in(char path[512], const char *folder, const char *name);

/// Starts an entry of a kind at a time.
OwLogEntry entry_of(OwLogKind kind, int64_t at_s);
/// Sets a field: SI for quantities, hundredths or index for the rest, a name for references.
void set_si(OwLogEntry *entry, const char *key, double si);
void set_number(OwLogEntry *entry, const char *key, int64_t number);
void set_text(OwLogEntry *entry, const char *key, const char *text);
/// Adds it and fails the test with the faults when it is refused; returns the id.
int64_t add(OwLogbook *book, OwLogEntry entry);
/// Adds a thing with a name.
int64_t add_thing(OwLogbook *book, OwLogKind kind, const char *name, int64_t at_s);
/// Opens or fails the test.
OwLogbook *open_book(const char *path, OwLogMode mode);
/// Prints faults.
void print_faults(const OwFaults *faults);
/// Whether some fault's line holds a text.
bool has_fault(const OwFaults *faults, const char *text);
/// Fails the test when ow_logbook_check finds anything.
void check_sound(OwLogbook *book);

/// Adds a random entry or undo; things exist from `make_things`. `state` is the random state.
typedef struct Yard {
    uint64_t state;
    int64_t sources[3], vessels[4], vehicles[2], batches[64];
    int batch_count;
    int64_t now_s;
    int64_t last; ///< highest id
} Yard;
void make_things(OwLogbook *book, Yard *yard);
/// OW_OK or the refusal of an undo that is not possible.
OwStatus add_random(OwLogbook *book, Yard *yard);
uint64_t roll(Yard *yard, uint64_t below);

#endif
