// SPDX-License-Identifier: GPL-3.0-or-later
// Entries newest first, by kind, thing, period and words, page by page.
#include "logbook/view.h"

#include "base/buffer.h"
#include "logbook/value.h"

#include <inttypes.h>
#include <stdlib.h>
#include <string.h>

void *ow_log_rows_next(OwRows *rows) {
    if (rows->count == rows->room) {
        const int room = rows->room == 0 ? 16 : rows->room * 2;
        void *items = ow_arena_take(rows->arena, (size_t)room, rows->size);
        if (items == NULL) {
            return NULL;
        }
        if (rows->count > 0) {
            memcpy(items, rows->items, (size_t)rows->count * rows->size);
        }
        rows->items = items;
        rows->room = room;
    }
    return (char *)rows->items + (size_t)rows->count++ * rows->size;
}

const char *ow_log_column_text(sqlite3_stmt *stmt, int column, OwArena *arena) {
    if (sqlite3_column_type(stmt, column) == SQLITE_NULL) {
        return "";
    }
    const char *text = (const char *)sqlite3_column_text(stmt, column);
    return text == NULL ? NULL : ow_arena_text(arena, text);
}

OwStatus ow_log_end_view(OwLogbook *book, int code, OwFaults *faults) {
    const OwStatus status =
        code == SQLITE_OK || code == SQLITE_DONE ? OW_OK : ow_log_fail(book, code, faults);
    return ow_log_end(book, status, faults);
}

/// "big drum" as "big"* AND "drum"*, so that no letter of it is read as an operator.
static void add_words(OwBuffer *match, const char *text) {
    bool has_any = false;
    for (const char *p = text; *p != '\0';) {
        while (*p == ' ' || *p == '"') {
            p++;
        }
        const char *start = p;
        while (*p != '\0' && *p != ' ' && *p != '"') {
            p++;
        }
        if (p > start) {
            ow_buffer_text(match, has_any ? " AND \"" : "\"");
            ow_buffer_add(match, start, (size_t)(p - start));
            ow_buffer_text(match, "\"*");
            has_any = true;
        }
    }
}

/// Whether the words hold any letter the index knows: punctuation alone matches nothing and is no error.
static bool has_letter(const char *text) {
    for (const unsigned char *p = (const unsigned char *)text; *p != '\0'; p++) {
        if ((*p >= '0' && *p <= '9') || (*p >= 'a' && *p <= 'z') || (*p >= 'A' && *p <= 'Z') || *p >= 0x80) {
            return true;
        }
    }
    return false;
}

/// One kind: the index by kind; one thing: its links; words: the word index; else all by time.
static void make_query(const OwLogFilter *f, const char *match, OwBuffer *sql) {
    const bool is_one_kind = f->kinds != 0 && (f->kinds & (f->kinds - 1)) == 0;
    const char *at = "e.at", *id = "e.id";
    if (match != NULL) {
        ow_buffer_text(
            sql, "SELECT e.id FROM words w CROSS JOIN entry e ON e.id = w.rowid WHERE w.words MATCH ?8");
    } else if (f->thing != 0) {
        ow_buffer_text(sql,
                       "SELECT l.entry FROM link l CROSS JOIN entry e ON e.id = l.entry WHERE l.thing = ?3");
        at = "l.at";
        id = "l.entry";
    } else {
        ow_buffer_format(sql, "SELECT e.id FROM entry e INDEXED BY %s WHERE 1",
                         is_one_kind ? "entry_kind" : "entry_at");
    }
    if (match != NULL && f->thing != 0) {
        ow_buffer_text(
            sql, " AND EXISTS(SELECT 1 FROM link l WHERE l.thing = ?3 AND l.at = e.at AND l.entry = e.id)");
    }
    ow_buffer_format(sql, " AND %s >= ?1 AND %s < ?2", at, at);
    if (is_one_kind) {
        ow_buffer_text(sql, " AND e.kind = ?4");
    } else if (f->kinds != 0) {
        ow_buffer_text(sql, " AND (?4 >> e.kind) & 1");
    }
    if (!f->with_undone) {
        ow_buffer_format(sql, " AND e.kind <> 18 AND NOT EXISTS(SELECT 1 FROM undo u WHERE u.entry = %s)",
                         id);
    }
    if (f->before_id != 0) {
        ow_buffer_format(sql, " AND (%s, %s) < (?5, ?6)", at, id);
    }
    ow_buffer_format(sql, " ORDER BY %s DESC, %s DESC LIMIT ?7", at, id);
}

static int bind_query(sqlite3_stmt *stmt, const OwLogFilter *f, const char *match, int limit) {
    int64_t kinds = f->kinds;
    if (f->kinds != 0 && (f->kinds & (f->kinds - 1)) == 0) {
        for (kinds = 0; (f->kinds >> kinds) != 1u; kinds++) {
        }
    }
    // Going on after an entry, the end of the period comes down to its time: else the index would be walked
    // from the top again.
    int64_t to_s = f->to_s <= 0 ? OW_LOG_TIME_MAX + 1 : f->to_s;
    to_s = f->before_id != 0 && f->before_at_s < to_s ? f->before_at_s + 1 : to_s;
    const int64_t numbers[] = {f->from_s, to_s, f->thing, kinds, f->before_at_s, f->before_id, limit};
    for (int i = 0; i < 7; i++) {
        if (i < sqlite3_bind_parameter_count(stmt)) {
            const int code = sqlite3_bind_int64(stmt, i + 1, numbers[i]);
            if (code != SQLITE_OK) {
                return code;
            }
        }
    }
    return match == NULL ? SQLITE_OK : sqlite3_bind_text(stmt, 8, match, -1, SQLITE_STATIC);
}

OwStatus ow_logbook_list(OwLogbook *book, const OwLogFilter *filter, OwArena *arena, OwLogList *list,
                         OwFaults *faults) {
    if (book == NULL || filter == NULL || arena == NULL || list == NULL || filter->limit < 0 ||
        filter->limit > 1000) {
        return OW_ERROR_USE;
    }
    *list = (OwLogList){0};
    const int limit = filter->limit == 0 ? 50 : filter->limit;
    const bool has_words = filter->text != NULL && filter->text[0] != '\0';
    if (has_words && !has_letter(filter->text)) {
        return OW_OK;
    }
    OwBuffer match = {0}, sql = {0};
    if (has_words) {
        add_words(&match, filter->text);
    }
    make_query(filter, has_words ? match.data : NULL, &sql);
    OwRows rows = {.arena = arena, .size = sizeof(OwLogEntry)};
    sqlite3_stmt *stmt = NULL;
    OwStatus status =
        match.has_failed || sql.has_failed ? OW_ERROR_MEMORY : ow_log_begin(book, false, faults);
    if (status == OW_OK) {
        int code = sqlite3_prepare_v2(book->db, sql.data, -1, &stmt, NULL);
        code = code == SQLITE_OK ? bind_query(stmt, filter, has_words ? match.data : NULL, limit + 1) : code;
        while (code == SQLITE_OK && (code = sqlite3_step(stmt)) == SQLITE_ROW) {
            if (rows.count == limit) {
                list->has_more = true;
                code = SQLITE_DONE;
                break;
            }
            OwLogEntry *entry = ow_log_rows_next(&rows);
            code =
                entry == NULL ? SQLITE_NOMEM : ow_log_load(book, sqlite3_column_int64(stmt, 0), arena, entry);
        }
        status = ow_log_end_view(book, code, faults);
    }
    (void)sqlite3_finalize(stmt);
    ow_buffer_clear(&match);
    ow_buffer_clear(&sql);
    if (status == OW_OK) {
        list->entries = rows.items;
        list->count = rows.count;
    } else {
        list->has_more = false;
    }
    return status;
}

OwStatus ow_logbook_entry(OwLogbook *book, int64_t id, OwArena *arena, OwLogEntry *entry, OwFaults *faults) {
    if (book == NULL || arena == NULL || entry == NULL) {
        return OW_ERROR_USE;
    }
    OwStatus status = ow_log_begin(book, false, faults);
    if (status != OW_OK) {
        return status;
    }
    const int code = ow_log_load(book, id, arena, entry);
    if (code == SQLITE_DONE) {
        status = ow_log_fault(faults, OW_ERROR_VALUE, "", "look its number up in the list",
                              "there is no entry %" PRId64, id);
        return ow_log_end(book, status, faults);
    }
    return ow_log_end_view(book, code, faults);
}
