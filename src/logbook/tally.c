// SPDX-License-Identifier: GPL-3.0-or-later
// Sums by day and by 64 days: kept with every entry, so that a period costs some hundred rows however long it
// is.
#include "logbook/impl.h"

#include "logbook/value.h"

#include <string.h>

#define DAY_S 86400
#define BLOCK_DAYS 64

int64_t ow_log_amount(const OwLogEntry *entry, const char *key) {
    const int i = ow_log_field_of(entry->kind, key);
    if (i < 0 || !entry->values[i].is_set) {
        return 0;
    }
    const OwLogField *field = &ow_log_kind(entry->kind)->fields[i];
    return field->type == OW_LOG_QUANTITY ? ow_log_steps(field, entry->values[i].si)
                                          : entry->values[i].number;
}

/// One call of `add` for all, and one for the vehicle or source named.
typedef struct Adder {
    OwTallyAdd add;
    void *context;
    int64_t owner; ///< beside 0; 0 none
    int code;
} Adder;

static void put(Adder *adder, int item, int64_t amount) {
    if (adder->code == SQLITE_OK && amount != 0) {
        adder->code = adder->add(adder->context, 0, item, amount);
        if (adder->code == SQLITE_OK && adder->owner != 0) {
            adder->code = adder->add(adder->context, adder->owner, item, amount);
        }
    }
}

static int64_t choice_or(const OwLogEntry *entry, const char *key, int64_t fallback) {
    const OwLogValue *value = ow_log_value(entry, key);
    return value->is_set ? value->number : fallback;
}

int ow_log_tallies(const OwLogEntry *entry, OwTallyAdd add, void *context) {
    if (entry->kind == OW_LOG_UNDO) {
        return SQLITE_OK;
    }
    Adder to = {.add = add, .context = context};
    to.owner = ow_log_amount(entry, entry->kind == OW_LOG_PICKUP ? "source" : "vehicle");
    put(&to, OW_TALLY_COUNT + (int)entry->kind, 1);
    put(&to, OW_TALLY_WORK + (int)entry->kind, ow_log_amount(entry, "work"));
    const OwLogKindRow *row = ow_log_kind(entry->kind);
    for (int i = 0; i < row->field_count; i++) {
        if (row->fields[i].type == OW_LOG_MONEY && entry->values[i].is_set) {
            put(&to, OW_TALLY_SPENT + (int)entry->kind, entry->values[i].number);
        }
    }
    switch (entry->kind) {
    case OW_LOG_PICKUP:
        put(&to, OW_TALLY_COLLECTED, ow_log_amount(entry, "volume"));
        put(&to, OW_TALLY_DRIVE, ow_log_amount(entry, "distance"));
        break;
    case OW_LOG_STEP:
        put(&to, OW_TALLY_LOST, ow_log_amount(entry, "loss"));
        put(&to, OW_TALLY_MADE + (int)choice_or(entry, "waste", OW_LOG_WASTE_OTHER),
            ow_log_amount(entry, "loss"));
        put(&to, OW_TALLY_ADDED, ow_log_amount(entry, "added"));
        put(&to, OW_TALLY_ENERGY, ow_log_amount(entry, "energy"));
        break;
    case OW_LOG_LEVEL:
        put(&to, OW_TALLY_FOUND, ow_log_amount(entry, "change"));
        break;
    case OW_LOG_WASTE: {
        const int what = (int)choice_or(entry, "what", OW_LOG_WASTE_OTHER);
        const int64_t volume = ow_log_amount(entry, "volume");
        put(&to, OW_TALLY_HANDED + what, volume);
        if (ow_log_value(entry, "from")->is_set) { // it was oil until now
            put(&to, OW_TALLY_MADE + what, volume);
            put(&to, OW_TALLY_LOST, volume);
        }
        break;
    }
    case OW_LOG_FILL:
        put(&to, OW_TALLY_OIL, ow_log_amount(entry, "oil"));
        put(&to, OW_TALLY_DIESEL, ow_log_amount(entry, "diesel"));
        break;
    case OW_LOG_FILTER:
        put(&to, OW_TALLY_REASON + (int)choice_or(entry, "reason", OW_LOG_REASON_OTHER), 1);
        break;
    case OW_LOG_REPAIR:
        put(&to, OW_TALLY_REPAIRS + (int)choice_or(entry, "what", OW_LOG_REPAIR_OTHER), 1);
        put(&to, OW_TALLY_REPAIR + (int)choice_or(entry, "what", OW_LOG_REPAIR_OTHER),
            ow_log_amount(entry, "cost"));
        break;
    case OW_LOG_EXPENSE:
        put(&to, OW_TALLY_EXPENSE + (int)choice_or(entry, "what", OW_LOG_EXPENSE_OTHER),
            ow_log_amount(entry, "amount"));
        break;
    default:
        break;
    }
    return to.code;
}

int ow_log_tally_add(OwLogbook *book, int64_t owner, int item, int64_t at_s, int64_t amount) {
    const int64_t day = at_s / DAY_S;
    for (int level = 0; level < 2; level++) {
        sqlite3_stmt *stmt = ow_log_sql(
            book, "INSERT INTO tally(owner, level, bucket, item, amount) VALUES(?1, ?2, ?3, ?4, ?5)"
                  " ON CONFLICT DO UPDATE SET amount = amount + excluded.amount");
        const int code =
            ow_log_step(book, stmt, 5,
                        (const int64_t[]){owner, level, level == 0 ? day : day / BLOCK_DAYS, item, amount});
        if (code != SQLITE_DONE) {
            return code;
        }
    }
    return SQLITE_OK;
}

typedef struct EdgeSum {
    int64_t owner, *sums;
} EdgeSum;

static int add_edge(void *context, int64_t owner, int item, int64_t amount) {
    const EdgeSum *edge = context;
    if (owner == edge->owner) {
        edge->sums[item] += amount;
    }
    return SQLITE_OK;
}

/// Part of a day: entry by entry.
static int sum_edge(OwLogbook *book, EdgeSum *edge, int64_t from_s, int64_t to_s) {
    sqlite3_stmt *stmt =
        edge->owner == 0 ? ow_log_sql(book, "SELECT e.id FROM entry e WHERE e.at >= ?1 AND e.at < ?2"
                                            " AND NOT EXISTS(SELECT 1 FROM undo u WHERE u.entry = e.id)")
                         : ow_log_sql(book, "SELECT l.entry FROM link l WHERE l.thing = ?3 AND l.kind IN (1, "
                                            "2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12,"
                                            " 13, 14, 15, 16, 17) AND l.at >= ?1 AND l.at < ?2"
                                            " AND NOT EXISTS(SELECT 1 FROM undo u WHERE u.entry = l.entry)");
    int code =
        ow_log_step(book, stmt, edge->owner == 0 ? 2 : 3, (const int64_t[]){from_s, to_s, edge->owner});
    while (code == SQLITE_ROW) {
        OwLogEntry entry = {0};
        const int loaded = ow_log_load(book, sqlite3_column_int64(stmt, 0), NULL, &entry);
        if (loaded != SQLITE_OK) {
            return loaded;
        }
        const int added = ow_log_tallies(&entry, add_edge, edge);
        if (added != SQLITE_OK) {
            return added;
        }
        code = sqlite3_step(stmt);
    }
    return code == SQLITE_DONE ? SQLITE_OK : code;
}

static int sum_buckets(OwLogbook *book, int64_t owner, int level, int64_t from, int64_t to,
                       int64_t sums[OW_TALLY_ITEMS]) {
    if (from >= to) {
        return SQLITE_OK;
    }
    sqlite3_stmt *stmt = ow_log_sql(book, "SELECT item, amount FROM tally WHERE owner = ?1 AND level = ?2"
                                          " AND bucket >= ?3 AND bucket < ?4");
    int code = ow_log_step(book, stmt, 4, (const int64_t[]){owner, level, from, to});
    for (; code == SQLITE_ROW; code = sqlite3_step(stmt)) {
        const int item = sqlite3_column_int(stmt, 0);
        if (item >= 0 && item < OW_TALLY_ITEMS) {
            sums[item] += sqlite3_column_int64(stmt, 1);
        }
    }
    return code == SQLITE_DONE ? SQLITE_OK : code;
}

int ow_log_tally_sum(OwLogbook *book, int64_t owner, int64_t from_s, int64_t to_s,
                     int64_t sums[OW_TALLY_ITEMS]) {
    memset(sums, 0, OW_TALLY_ITEMS * sizeof sums[0]);
    from_s = from_s < 0 ? 0 : from_s;
    to_s = to_s <= 0 || to_s > OW_LOG_TIME_MAX + 1 ? OW_LOG_TIME_MAX + 1 : to_s;
    if (from_s >= to_s) {
        return SQLITE_OK;
    }
    EdgeSum edge = {.owner = owner, .sums = sums};
    const int64_t first = (from_s + DAY_S - 1) / DAY_S,
                  last = to_s / DAY_S; // whole days: first <= day < last
    if (first > last) {
        return sum_edge(book, &edge, from_s, to_s); // within one day
    }
    int code = from_s < first * DAY_S ? sum_edge(book, &edge, from_s, first * DAY_S) : SQLITE_OK;
    if (code == SQLITE_OK && last * DAY_S < to_s) {
        code = sum_edge(book, &edge, last * DAY_S, to_s);
    }
    const int64_t block_first = (first + BLOCK_DAYS - 1) / BLOCK_DAYS, block_last = last / BLOCK_DAYS;
    if (block_first >= block_last) {
        return code == SQLITE_OK ? sum_buckets(book, owner, 0, first, last, sums) : code;
    }
    code = code == SQLITE_OK ? sum_buckets(book, owner, 0, first, block_first * BLOCK_DAYS, sums) : code;
    code = code == SQLITE_OK ? sum_buckets(book, owner, 1, block_first, block_last, sums) : code;
    return code == SQLITE_OK ? sum_buckets(book, owner, 0, block_last * BLOCK_DAYS, last, sums) : code;
}

int64_t ow_log_level_at(OwLogbook *book, int64_t account, int64_t at_s, int64_t entry, int *code) {
    const int64_t day = at_s / DAY_S, block = day / BLOCK_DAYS;
    sqlite3_stmt *stmt = ow_log_sql(
        book,
        "SELECT coalesce((SELECT sum(amount) FROM tally WHERE owner = ?1 AND level = 1 AND bucket < ?2), 0)"
        " + coalesce((SELECT sum(amount) FROM tally WHERE owner = ?1 AND level = 0 AND bucket >= ?2 * 64 AND "
        "bucket < ?3), 0)"
        " + coalesce((SELECT sum(change) FROM ledger WHERE account = ?1 AND at >= ?3 * 86400 AND at < ?4), 0)"
        " + coalesce((SELECT sum(change) FROM ledger WHERE account = ?1 AND at = ?4 AND entry <= ?5), 0)");
    return ow_log_number(book, stmt, 5, (const int64_t[]){account, block, day, at_s, entry}, 0, code);
}
