// SPDX-License-Identifier: GPL-3.0-or-later
// Walking the ledger of oil back or forward through stirred vessels. Private to the logbook.
#ifndef OW_LOGBOOK_TRACE_H
#define OW_LOGBOOK_TRACE_H

#include "logbook/view.h"

#define OW_TRACE_EVENTS 4000
#define OW_TRACE_LEAST 1e-6 ///< of the traced volume: less goes to unknown

/// One row of the ledger.
typedef struct OwFlow {
    int64_t at_s, entry, change, other;
    int part;
    OwCause cause;
} OwFlow;

/// A vessel or batch that holds some of what is traced, and its rows read ahead in the order of the walk.
typedef struct OwPool {
    int64_t account, level; ///< steps, at the place of the walk
    OwLogKind kind;
    double weight; ///< of what is traced
    double passed; ///< all that ever came in
    bool is_whole; ///< forward from a batch: all it holds is traced
    OwFlow rows[32];
    int next, count;
    bool has_ended; ///< no rows beyond those read
    bool has_test;  ///< walks for solids: the last test before the place of the walk
    int64_t test_at, test_entry;
    double solids;
} OwPool;

typedef struct OwWalk {
    OwLogbook *book;
    OwArena *arena;
    bool is_forward, wants_solids;
    int bound, events;
    double total;   ///< of the weights: shares are over it
    double unknown; ///< weight lost sight of
    double solids_sum, solids_known;
    OwRows pools, parts; ///< OwPool, OwLogShare (share holds a weight)
    bool is_cut;
    int code; ///< SQLite's
} OwWalk;

/// Adds weight to an account at a place of the walk; forward places are just after (at, entry), back just at
/// its end. `drawn` (steps, 0: not a draw): what of it the account did not hold by the book goes to unknown.
void ow_walk_enter(OwWalk *walk, int64_t account, int64_t at_s, int64_t entry, int64_t drawn, double weight);
/// Walks until nothing is left to follow or the bound is met. Code in walk->code.
void ow_walk_run(OwWalk *walk);
/// Adds a part.
void ow_walk_part(OwWalk *walk, OwLogKind kind, int64_t id, int64_t at_s, double weight);

#endif
