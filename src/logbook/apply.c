// SPDX-License-Identifier: GPL-3.0-or-later
// What an entry does to the running sums: names, the ledger of oil, readings, tallies. Each effect can be
// taken back exactly.
#include "logbook/impl.h"

#include "base/buffer.h"
#include "logbook/value.h"

typedef struct Work {
    OwLogbook *book;
    const OwLogEntry *entry;
    int sign;
} Work;

/// Steps a statement that changes something; SQLITE_OK when it did.
static int change(OwLogbook *book, sqlite3_stmt *stmt, int count, const int64_t *numbers) {
    const int code = ow_log_step(book, stmt, count, numbers);
    return code == SQLITE_DONE ? SQLITE_OK : code == SQLITE_ROW ? SQLITE_OK : code;
}

/// `volume` steps into (above 0) or out of an account.
static int flow(const Work *w, int64_t account, int part, int64_t volume, int64_t other, OwCause cause) {
    if (account == 0 || volume == 0) {
        return SQLITE_OK;
    }
    OwLogbook *book = w->book;
    const OwLogEntry *e = w->entry;
    int code =
        w->sign > 0
            ? change(book,
                     ow_log_sql(book, "INSERT INTO ledger(account, at, entry, part, change, other, cause)"
                                      " VALUES(?1, ?2, ?3, ?4, ?5, ?6, ?7)"),
                     7, (const int64_t[]){account, e->at_s, e->id, part, volume, other, cause})
            : change(
                  book,
                  ow_log_sql(
                      book, "DELETE FROM ledger WHERE account = ?1 AND at = ?2 AND entry = ?3 AND part = ?4"),
                  4, (const int64_t[]){account, e->at_s, e->id, part});
    const int64_t signed_volume = w->sign * volume;
    const bool in = volume > 0;
    const int64_t came = cause == OW_CAUSE_PICKUP || (cause == OW_CAUSE_MOVE && in) ? signed_volume : 0;
    const int64_t went = cause == OW_CAUSE_FILL || (cause == OW_CAUSE_MOVE && !in) ? -signed_volume : 0;
    sqlite3_stmt *stmt = ow_log_sql(
        book, "INSERT INTO account(id, kind, volume, came, added, lost, went, found, moves, place)"
              " VALUES(?1, (SELECT kind FROM entry WHERE id = ?1), ?2, ?3, ?4, ?5, ?6, ?7, ?8, 0)"
              " ON CONFLICT(id) DO UPDATE SET volume = volume + excluded.volume, came = came + excluded.came,"
              " added = added + excluded.added, lost = lost + excluded.lost, went = went + excluded.went,"
              " found = found + excluded.found, moves = moves + excluded.moves");
    code = code == SQLITE_OK ? change(book, stmt, 8,
                                      (const int64_t[]){account, signed_volume, came,
                                                        cause == OW_CAUSE_ADDED ? signed_volume : 0,
                                                        cause == OW_CAUSE_LOSS ? -signed_volume : 0, went,
                                                        cause == OW_CAUSE_FOUND ? signed_volume : 0, w->sign})
                             : code;
    return code == SQLITE_OK ? ow_log_tally_add(book, account, OW_TALLY_LEVEL, e->at_s, signed_volume) : code;
}

/// Where a batch stands: its last shift, else where it began.
static int stand(const Work *w, int64_t batch) {
    sqlite3_stmt *stmt = ow_log_sql(
        w->book,
        "UPDATE account SET place = coalesce((SELECT s.vessel FROM worked w JOIN shift s ON s.id = w.entry"
        " WHERE w.account = ?1 AND w.kind = 9 ORDER BY w.at DESC, w.entry DESC LIMIT 1),"
        " (SELECT vessel FROM batch WHERE id = ?1), 0) WHERE id = ?1");
    return change(w->book, stmt, 1, &batch);
}
_Static_assert(OW_LOG_SHIFT == 9, "the statement above names this kind");

static int account_of_thing(const Work *w) {
    OwLogbook *book = w->book;
    const int64_t id = w->entry->id;
    if (w->sign < 0) {
        return change(book, ow_log_sql(book, "DELETE FROM account WHERE id = ?1"), 1, &id);
    }
    return change(
        book,
        ow_log_sql(book, "INSERT INTO account(id, kind, volume, came, added, lost, went, found, moves, place)"
                         " VALUES(?1, ?2, 0, 0, 0, 0, 0, 0, 0, 0) ON CONFLICT DO NOTHING"),
        2, (const int64_t[]){id, w->entry->kind});
}

static int name_of_thing(const Work *w) {
    OwLogbook *book = w->book;
    if (w->sign < 0) {
        return change(book,
                      ow_log_sql(book, "DELETE FROM name WHERE id = ?2 AND name = (SELECT CASE ?1"
                                       " WHEN 1 THEN (SELECT name FROM source WHERE id = ?2)"
                                       " WHEN 2 THEN (SELECT name FROM vessel WHERE id = ?2)"
                                       " WHEN 3 THEN (SELECT name FROM vehicle WHERE id = ?2)"
                                       " ELSE (SELECT name FROM batch WHERE id = ?2) END)"),
                      2, (const int64_t[]){w->entry->kind, w->entry->id});
    }
    sqlite3_stmt *stmt = ow_log_sql(book, "INSERT INTO name(kind, id, name) SELECT ?1, ?2, CASE ?1"
                                          " WHEN 1 THEN (SELECT name FROM source WHERE id = ?2)"
                                          " WHEN 2 THEN (SELECT name FROM vessel WHERE id = ?2)"
                                          " WHEN 3 THEN (SELECT name FROM vehicle WHERE id = ?2)"
                                          " ELSE (SELECT name FROM batch WHERE id = ?2) END");
    return change(book, stmt, 2, (const int64_t[]){w->entry->kind, w->entry->id});
}
_Static_assert(OW_LOG_SOURCE == 1 && OW_LOG_VESSEL == 2 && OW_LOG_VEHICLE == 3,
               "the statements above name these kinds");

/// A row of odo, worked or fitted: keys first.
static int keyed(const Work *w, const char *insert, const char *remove, int insert_count, int key_count,
                 const int64_t *numbers) {
    return w->sign > 0 ? change(w->book, ow_log_sql(w->book, insert), insert_count, numbers)
                       : change(w->book, ow_log_sql(w->book, remove), key_count, numbers);
}

static int worked(const Work *w, int64_t account) {
    return keyed(w, "INSERT INTO worked(account, kind, at, entry) VALUES(?1, ?2, ?3, ?4)",
                 "DELETE FROM worked WHERE account = ?1 AND kind = ?2 AND at = ?3 AND entry = ?4", 4, 4,
                 (const int64_t[]){account, w->entry->kind, w->entry->at_s, w->entry->id});
}

static int reading(const Work *w) {
    const OwLogValue *value = ow_log_value(w->entry, "odometer");
    const int64_t vehicle = ow_log_amount(w->entry, "vehicle");
    if (!value->is_set || vehicle == 0) {
        return SQLITE_OK;
    }
    if (ow_log_is_swap(w->entry)) {
        const int code =
            keyed(w,
                  ow_log_value(w->entry, "old")->is_set
                      ? "INSERT INTO swapped(vehicle, at, entry, reading, old) VALUES(?1, ?2, ?3, ?4, ?5)"
                      : "INSERT INTO swapped(vehicle, at, entry, reading) VALUES(?1, ?2, ?3, ?4)",
                  "DELETE FROM swapped WHERE vehicle = ?1 AND at = ?2 AND entry = ?3",
                  ow_log_value(w->entry, "old")->is_set ? 5 : 4, 3,
                  (const int64_t[]){vehicle, w->entry->at_s, w->entry->id,
                                    ow_log_amount(w->entry, "odometer"), ow_log_amount(w->entry, "old")});
        if (code != SQLITE_OK) {
            return code;
        }
    }
    return keyed(w, "INSERT INTO odo(vehicle, at, entry, reading, is_fill) VALUES(?1, ?2, ?3, ?4, ?5)",
                 "DELETE FROM odo WHERE vehicle = ?1 AND at = ?2 AND entry = ?3", 5, 3,
                 (const int64_t[]){vehicle, w->entry->at_s, w->entry->id, ow_log_amount(w->entry, "odometer"),
                                   w->entry->kind == OW_LOG_FILL});
}

static int fitted(const Work *w) {
    const char *table_insert = w->entry->kind == OW_LOG_FILTER
                                   ? "INSERT INTO fitted(vehicle, kind, at, entry, filter) SELECT ?1, ?2, "
                                     "?3, ?4, filter FROM filter WHERE id = ?4"
                                   : "INSERT INTO fitted(vehicle, kind, at, entry, filter) SELECT ?1, ?2, "
                                     "?3, ?4, filter FROM gauge WHERE id = ?4";
    const char *table_remove = w->entry->kind == OW_LOG_FILTER
                                   ? "DELETE FROM fitted WHERE vehicle = ?1 AND kind = ?2 AND at = ?3 AND "
                                     "entry = ?4 AND filter = (SELECT filter FROM"
                                     " filter WHERE id = ?4)"
                                   : "DELETE FROM fitted WHERE vehicle = ?1 AND kind = ?2 AND at = ?3 AND "
                                     "entry = ?4 AND filter = (SELECT filter FROM"
                                     " gauge WHERE id = ?4)";
    return keyed(
        w, table_insert, table_remove, 4, 4,
        (const int64_t[]){ow_log_amount(w->entry, "vehicle"), w->entry->kind, w->entry->at_s, w->entry->id});
}

static int both(int first, int second) {
    return first == SQLITE_OK ? second : first;
}

static int effects(const Work *w) {
    const OwLogEntry *e = w->entry;
    const int64_t volume = ow_log_amount(e, "volume"), from = ow_log_amount(e, "from");
    int code = SQLITE_OK;
    switch (e->kind) {
    case OW_LOG_VESSEL:
        return account_of_thing(w);
    case OW_LOG_BATCH:
        code = w->sign > 0 ? account_of_thing(w) : SQLITE_OK;
        code = code == SQLITE_OK ? flow(w, from, 0, -volume, e->id, OW_CAUSE_MOVE) : code;
        code = code == SQLITE_OK ? flow(w, e->id, 0, volume, from, OW_CAUSE_MOVE) : code;
        return code != SQLITE_OK ? code : w->sign > 0 ? stand(w, e->id) : account_of_thing(w);
    case OW_LOG_PICKUP:
        return flow(w, ow_log_amount(e, "into"), 0, volume, 0, OW_CAUSE_PICKUP);
    case OW_LOG_STEP: {
        const int64_t batch = ow_log_amount(e, "batch");
        code = flow(w, batch, 0, -ow_log_amount(e, "loss"), 0, OW_CAUSE_LOSS);
        code = code == SQLITE_OK ? flow(w, batch, 1, ow_log_amount(e, "added"), 0, OW_CAUSE_ADDED) : code;
        return code == SQLITE_OK ? worked(w, batch) : code;
    }
    case OW_LOG_TEST:
        return worked(w, ow_log_amount(e, "of"));
    case OW_LOG_MOVE: {
        const int64_t to = ow_log_amount(e, "to");
        code = flow(w, from, 0, -volume, to, OW_CAUSE_MOVE);
        return code == SQLITE_OK ? flow(w, to, 0, volume, from, OW_CAUSE_MOVE) : code;
    }
    case OW_LOG_SHIFT: {
        const int64_t batch = ow_log_amount(e, "batch");
        code = worked(w, batch);
        return code == SQLITE_OK ? stand(w, batch) : code;
    }
    case OW_LOG_LEVEL:
        return flow(w, ow_log_amount(e, "of"), 0, ow_log_amount(e, "change"), 0, OW_CAUSE_FOUND);
    case OW_LOG_WASTE:
        return flow(w, from, 0, -volume, 0, OW_CAUSE_LOSS);
    case OW_LOG_FILL: {
        const int64_t oil = ow_log_amount(e, "oil"), vehicle = ow_log_amount(e, "vehicle");
        code = flow(w, from, 0, -oil, vehicle, OW_CAUSE_FILL);
        return both(code, code != SQLITE_OK
                              ? code
                              : keyed(w,
                                      "INSERT INTO fuel(vehicle, at, entry, account, oil, diesel) VALUES(?1, "
                                      "?2, ?3, ?4, ?5, ?6)",
                                      "DELETE FROM fuel WHERE vehicle = ?1 AND at = ?2 AND entry = ?3", 6, 3,
                                      (const int64_t[]){vehicle, e->at_s, e->id, from, oil,
                                                        ow_log_amount(e, "diesel")}));
    }
    case OW_LOG_GAUGE:
    case OW_LOG_FILTER:
        return fitted(w);
    default:
        return SQLITE_OK;
    }
}

static int add_tally(void *context, int64_t owner, int item, int64_t amount) {
    const Work *w = context;
    return ow_log_tally_add(w->book, owner, item, w->entry->at_s, w->sign * amount);
}

int ow_log_apply(OwLogbook *book, const OwLogEntry *entry, int sign) {
    if (entry->kind == OW_LOG_UNDO) {
        return SQLITE_OK;
    }
    Work w = {.book = book, .entry = entry, .sign = sign};
    int code = ow_log_kind(entry->kind)->is_thing ? name_of_thing(&w) : SQLITE_OK;
    code = code == SQLITE_OK ? reading(&w) : code;
    code = code == SQLITE_OK ? effects(&w) : code;
    return code == SQLITE_OK ? ow_log_tallies(entry, add_tally, &w) : code;
}

/// The name of a thing among the words, so that an entry is found by the things it names.
static int add_name(OwLogbook *book, int64_t id, OwBuffer *words) {
    sqlite3_stmt *stmt = ow_log_name_of(book, id);
    const int code = stmt == NULL ? ow_log_step(book, NULL, 0, NULL) : sqlite3_step(stmt);
    if (code == SQLITE_ROW && sqlite3_column_type(stmt, 0) == SQLITE_TEXT) {
        const char *name = (const char *)sqlite3_column_text(stmt, 0);
        if (name == NULL) {
            return SQLITE_NOMEM;
        }
        ow_buffer_text(words, " ");
        ow_buffer_text(words, name);
    }
    return code == SQLITE_ROW || code == SQLITE_DONE ? SQLITE_OK : code;
}

static int add_link(OwLogbook *book, const OwLogEntry *entry, int64_t thing) {
    return change(
        book, ow_log_sql(book, "INSERT OR IGNORE INTO link(thing, kind, at, entry) VALUES(?1, ?2, ?3, ?4)"),
        4, (const int64_t[]){thing, entry->kind, entry->at_s, entry->id});
}

int ow_log_index(OwLogbook *book, const OwLogEntry *entry) {
    const OwLogKindRow *row = ow_log_kind(entry->kind);
    OwBuffer words = {0};
    int code = row->is_thing ? add_link(book, entry, entry->id) : SQLITE_OK;
    ow_buffer_text(&words, row->word);
    for (int i = 0; i < row->field_count && code == SQLITE_OK; i++) {
        const OwLogValue *value = &entry->values[i];
        if (!value->is_set) {
            continue;
        }
        if (row->fields[i].type == OW_LOG_REF) {
            code = add_link(book, entry, value->number);
            code = code == SQLITE_OK ? add_name(book, value->number, &words) : code;
        } else if (row->fields[i].type == OW_LOG_TEXT && value->text != NULL) {
            ow_buffer_text(&words, " ");
            ow_buffer_text(&words, value->text);
        }
    }
    if (code == SQLITE_OK && words.has_failed) {
        code = SQLITE_NOMEM;
    }
    if (code == SQLITE_OK) {
        sqlite3_stmt *stmt = ow_log_sql(book, "INSERT INTO words(rowid, text) VALUES(?1, ?2)");
        code = stmt == NULL ? ow_log_step(book, NULL, 0, NULL)
                            : sqlite3_bind_text(stmt, 2, words.data, (int)words.size, SQLITE_TRANSIENT);
        code = code == SQLITE_OK ? change(book, stmt, 1, &entry->id) : code;
    }
    ow_buffer_clear(&words);
    return code;
}

int ow_log_replay(OwLogbook *book, bool with_index) {
    sqlite3_stmt *ids = NULL;
    int code = sqlite3_prepare_v2(
        book->db, "SELECT e.id, u.id FROM entry e LEFT JOIN undo u ON u.entry = e.id ORDER BY e.id", -1, &ids,
        NULL);
    while (code == SQLITE_OK && (code = sqlite3_step(ids)) == SQLITE_ROW) {
        const bool is_live = sqlite3_column_type(ids, 1) == SQLITE_NULL;
        OwArena *arena = with_index ? ow_arena_create() : NULL;
        if (with_index && arena == NULL) {
            code = SQLITE_NOMEM;
            break;
        }
        OwLogEntry entry = {0};
        code = ow_log_load(book, sqlite3_column_int64(ids, 0), arena, &entry);
        code = code == SQLITE_DONE ? SQLITE_CORRUPT : code;
        code = code == SQLITE_OK && with_index ? ow_log_index(book, &entry) : code;
        code = code == SQLITE_OK && is_live ? ow_log_apply(book, &entry, 1) : code;
        ow_arena_destroy(&arena);
    }
    (void)sqlite3_finalize(ids);
    return code == SQLITE_DONE ? SQLITE_OK : code;
}
