// SPDX-License-Identifier: GPL-3.0-or-later
// What the files of the logbook share: the handle, its prepared statements, faults, and the stages of a
// change. Private to it.
#ifndef OW_LOGBOOK_IMPL_H
#define OW_LOGBOOK_IMPL_H

#include "oilwright/logbook.h"

#include <sqlite3.h>

#define OW_LOG_APPLICATION 0x4F574C42 ///< "OWLB"
#define OW_LOG_SCHEMA 3
#define OW_LOG_STATEMENTS 128
#define OW_LOG_BUSY_MS 10000
#define OW_LOG_MOST_A_DAY 2000000000 ///< mm: more nobody drives in a day (common practice, no source)

struct OwLogbook {
    sqlite3 *db;
    char *path;
    OwLogMode mode;
    struct {
        const char *sql; ///< a literal: known by its address
        sqlite3_stmt *stmt;
    } cache[OW_LOG_STATEMENTS];
    sqlite3_stmt *insert[OW_LOG_KINDS], *load[OW_LOG_KINDS]; ///< made from the table of fields
};

// ---- Statements and faults (book.c)
/// The prepared statement of a literal, reset and ready to bind; NULL on failure (sqlite3_errcode tells). One
/// use at a time: not for calls that nest.
sqlite3_stmt *ow_log_sql(OwLogbook *book, const char *literal);
/// Same for a statement kept elsewhere.
sqlite3_stmt *ow_log_sql_at(OwLogbook *book, sqlite3_stmt **slot, const char *sql);
/// Binds whole numbers to 1, 2, ... and steps once. Returns SQLite's code; NULL statement: the last error.
int ow_log_step(OwLogbook *book, sqlite3_stmt *stmt, int count, const int64_t *numbers);
/// Runs texts without values. Returns SQLite's code.
int ow_log_run(OwLogbook *book, const char *sql);
/// The first column of the first row as a whole number; `fallback` when there is none. *code as above.
int64_t ow_log_number(OwLogbook *book, sqlite3_stmt *stmt, int count, const int64_t *numbers,
                      int64_t fallback, int *code);
/// Turns SQLite's present error into a status and a fault of the file.
OwStatus ow_log_fail(OwLogbook *book, int code, OwFaults *faults);
/// Adds a fault that is not SQLite's and returns its status. `part` may be "".
OwStatus ow_log_fault(OwFaults *faults, OwStatus status, const char *part, const char *remedy,
                      const char *format, ...) __attribute__((format(printf, 5, 6)));
OwStatus ow_log_warn(OwFaults *faults, const char *part, const char *remedy, const char *format, ...)
    __attribute__((format(printf, 4, 5)));
/// A transaction that writes (IMMEDIATE) or only reads. End takes the status so far: anything but OW_OK
/// undoes it.
OwStatus ow_log_begin(OwLogbook *book, bool writes, OwFaults *faults);
OwStatus ow_log_end(OwLogbook *book, OwStatus status, OwFaults *faults);
/// Resets every statement: one left in the middle holds the transaction open and its tables locked.
void ow_log_rest(OwLogbook *book);

/// Whether a row of SQLite's own check speaks of memory that ran out, not of damage.
bool ow_log_is_starved(const char *message);

// ---- Schema (schema.c)
/// Brings an empty or older file to the present version. `from` is its version, 0 for an empty one.
OwStatus ow_log_migrate(OwLogbook *book, int from, OwFaults *faults);
/// Makes the tables of running sums again, as TEMP tables that hide the real ones.
int ow_log_shadow_create(OwLogbook *book);
int ow_log_shadow_drop(OwLogbook *book);
/// Names of those tables, ended by NULL.
extern const char *const ow_log_derived[];

// ---- Entries (entry.c)
/// Writes one entry's rows; `entry->id` 0 gets the next.
int ow_log_insert(OwLogbook *book, OwLogEntry *entry);
/// Reads one entry; texts and names of references go to the arena. SQLITE_DONE when there is none.
int ow_log_load(OwLogbook *book, int64_t id, OwArena *arena, OwLogEntry *entry);
/// The id of a live thing by name, 0 none; negative on failure (code in *code).
int64_t ow_log_named(OwLogbook *book, const char *name, OwLogKind *kind, int *code);
/// The kind of an entry and the undo that took it back (0 live). SQLITE_DONE when there is none.
int ow_log_state(OwLogbook *book, int64_t id, OwLogKind *kind, int64_t *undone_by);
/// The statement that gives the name of a thing in its first column (NULL: it has none), ready to step; NULL
/// on failure.
sqlite3_stmt *ow_log_name_of(OwLogbook *book, int64_t id);
/// Name of a thing into the arena, "" when it has none; NULL out of memory.
const char *ow_log_name(OwLogbook *book, int64_t id, OwArena *arena);

// ---- Running sums (apply.c, tally.c)
/// What a tally counts.
typedef enum OwTally {
    OW_TALLY_COUNT = 0,                                          ///< + kind: entries
    OW_TALLY_WORK = OW_TALLY_COUNT + OW_LOG_KINDS,               ///< + kind: ms
    OW_TALLY_SPENT = OW_TALLY_WORK + OW_LOG_KINDS,               ///< + kind: hundredths
    OW_TALLY_EXPENSE = OW_TALLY_SPENT + OW_LOG_KINDS,            ///< + what: hundredths
    OW_TALLY_REPAIR = OW_TALLY_EXPENSE + OW_LOG_EXPENSE_CHOICES, ///< + what: hundredths
    OW_TALLY_REPAIRS = OW_TALLY_REPAIR + OW_LOG_REPAIR_CHOICES,  ///< + what: how many
    OW_TALLY_MADE = OW_TALLY_REPAIRS + OW_LOG_REPAIR_CHOICES,    ///< + waste: steps of volume
    OW_TALLY_HANDED = OW_TALLY_MADE + OW_LOG_WASTE_CHOICES,      ///< + waste
    OW_TALLY_REASON = OW_TALLY_HANDED + OW_LOG_WASTE_CHOICES,    ///< + reason: filters
    OW_TALLY_COLLECTED = OW_TALLY_REASON + OW_LOG_REASON_CHOICES + 1,
    OW_TALLY_DRIVE,
    OW_TALLY_OIL,
    OW_TALLY_DIESEL,
    OW_TALLY_ENERGY,
    OW_TALLY_ADDED,
    OW_TALLY_LOST,
    OW_TALLY_FOUND,
    OW_TALLY_LEVEL, ///< owner is an account: net change of its volume
    OW_TALLY_ITEMS
} OwTally;

/// Why oil came or went.
typedef enum OwCause {
    OW_CAUSE_PICKUP,
    OW_CAUSE_MOVE, ///< to or from another account (moves, batches drawn)
    OW_CAUSE_LOSS,
    OW_CAUSE_ADDED,
    OW_CAUSE_FOUND,
    OW_CAUSE_FILL
} OwCause;

/// Adds (sign 1) or takes back (-1) all an entry does to the running sums, in steps. Commutes: the order of
/// calls does not matter. Undo entries do nothing.
int ow_log_apply(OwLogbook *book, const OwLogEntry *entry, int sign);
/// Index for search and links of any entry; once, when it is written.
int ow_log_index(OwLogbook *book, const OwLogEntry *entry);
/// Applies every live entry in the order of ids.
int ow_log_replay(OwLogbook *book, bool with_index);

int ow_log_tally_add(OwLogbook *book, int64_t owner, int item, int64_t at_s, int64_t amount);
/// What a tally of one day would get, edge days included: sums of `owner` over from_s <= at < to_s.
int ow_log_tally_sum(OwLogbook *book, int64_t owner, int64_t from_s, int64_t to_s,
                     int64_t sums[OW_TALLY_ITEMS]);
/// Volume steps in an account at the end of (at_s, entry); entry INT64_MAX: the whole second.
int64_t ow_log_level_at(OwLogbook *book, int64_t account, int64_t at_s, int64_t entry, int *code);
/// Calls `add` for each (owner, item, amount) an entry gives to the tallies.
typedef int (*OwTallyAdd)(void *context, int64_t owner, int item, int64_t amount);
int ow_log_tallies(const OwLogEntry *entry, OwTallyAdd add, void *context);

// ---- Short forms
#define OW_VOLUME_M3(steps) ((double)(steps) / 1e9)
static inline const OwLogValue *ow_log_value(const OwLogEntry *entry, const char *key) {
    const int i = ow_log_field_of(entry->kind, key);
    static const OwLogValue none = {0};
    return i < 0 ? &none : &entry->values[i];
}
/// Steps of a quantity, or the number; 0 when not set.
int64_t ow_log_amount(const OwLogEntry *entry, const char *key);

#endif
