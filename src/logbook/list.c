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

/// "big drum" as "big"* AND "drum"*, so that no letter of it is read as an operator; and one of the kinds'
/// words, which every entry has in the index.
static void add_words(OwBuffer *match, const char *text, unsigned kinds) {
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
    has_any = false;
    for (int k = 1; k < OW_LOG_KINDS && kinds != 0; k++) {
        if ((kinds >> k) & 1u) {
            ow_buffer_format(match, has_any ? " OR \"%s\"" : " AND (\"%s\"", ow_log_kind((OwLogKind)k)->word);
            has_any = true;
        }
    }
    ow_buffer_text(match, has_any ? ")" : "");
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

/// By words: the word index, newest written first.
static void query_words(const OwLogFilter *f, OwBuffer *sql) {
    ow_buffer_text(sql, "SELECT e.id FROM words w CROSS JOIN entry e ON e.id = w.rowid WHERE w.words MATCH ?8"
                        " AND e.at >= ?1 AND e.at < ?2");
    if (f->thing != 0) {
        ow_buffer_text(sql, " AND EXISTS(SELECT 1 FROM link l WHERE l.thing = ?3 AND l.kind = e.kind AND "
                            "l.at = e.at AND l.entry = e.id)");
    }
    ow_buffer_text(sql, f->kinds != 0 ? " AND (?4 >> e.kind) & 1" : "");
    ow_buffer_text(sql, f->with_undone
                            ? ""
                            : " AND e.kind <> 18 AND NOT EXISTS(SELECT 1 FROM undo u WHERE u.entry = e.id)");
    ow_buffer_text(sql, f->before_id != 0 ? " AND w.rowid < ?6" : "");
    ow_buffer_text(sql, " ORDER BY w.rowid DESC LIMIT ?7");
}

/// By kinds or a thing: the newest of each kind from its own stretch of an index, then the newest of those.
static void query_kinds(const OwLogFilter *f, OwBuffer *sql) {
    const unsigned all = ((1u << OW_LOG_KINDS) - 1u) & ~1u;
    const unsigned kinds =
        (f->kinds == 0 ? all : f->kinds & all) & (f->with_undone ? all : ~(1u << OW_LOG_UNDO));
    const char *id = f->thing != 0 ? "entry" : "id";
    bool has_any = false;
    ow_buffer_text(sql, "SELECT id FROM (");
    for (int k = 1; k < OW_LOG_KINDS; k++) {
        if (!((kinds >> k) & 1u)) {
            continue;
        }
        ow_buffer_text(sql, has_any ? " UNION ALL " : "");
        ow_buffer_format(sql,
                         "SELECT * FROM (SELECT l.at AS at, l.%s AS id FROM %s WHERE %s l.kind = %d AND l.at "
                         ">= ?1 AND l.at < ?2",
                         id, f->thing != 0 ? "link l" : "entry l INDEXED BY entry_kind",
                         f->thing != 0 ? "l.thing = ?3 AND" : "", k);
        if (!f->with_undone) {
            ow_buffer_format(sql, " AND NOT EXISTS(SELECT 1 FROM undo u WHERE u.entry = l.%s)", id);
        }
        if (f->before_id != 0) {
            ow_buffer_format(sql, " AND (l.at, l.%s) < (?5, ?6)", id);
        }
        ow_buffer_format(sql, " ORDER BY l.at DESC, l.%s DESC LIMIT ?7)", id);
        has_any = true;
    }
    ow_buffer_text(sql, has_any ? ") ORDER BY at DESC, id DESC LIMIT ?7" : "SELECT 1 AS id WHERE 0)");
}

/// Everything: the index by time.
static void query_all(const OwLogFilter *f, OwBuffer *sql) {
    ow_buffer_text(sql, "SELECT e.id FROM entry e INDEXED BY entry_at WHERE e.at >= ?1 AND e.at < ?2");
    ow_buffer_text(sql, f->with_undone
                            ? ""
                            : " AND e.kind <> 18 AND NOT EXISTS(SELECT 1 FROM undo u WHERE u.entry = e.id)");
    ow_buffer_text(sql, f->before_id != 0 ? " AND (e.at, e.id) < (?5, ?6)" : "");
    ow_buffer_text(sql, " ORDER BY e.at DESC, e.id DESC LIMIT ?7");
}

static void make_query(const OwLogFilter *f, const char *match, OwBuffer *sql) {
    if (match != NULL) {
        query_words(f, sql);
    } else if (f->thing != 0 || f->kinds != 0) {
        query_kinds(f, sql);
    } else {
        query_all(f, sql);
    }
}

static int bind_query(sqlite3_stmt *stmt, const OwLogFilter *f, const char *match, int limit) {
    // Going on after an entry, the end of the period comes down to its time: else the index would be walked
    // from the top again.
    int64_t to_s = f->to_s <= 0 ? OW_LOG_TIME_MAX + 1 : f->to_s;
    to_s = f->before_id != 0 && match == NULL && f->before_at_s < to_s ? f->before_at_s + 1 : to_s;
    const int64_t numbers[] = {f->from_s, to_s, f->thing, f->kinds, f->before_at_s, f->before_id, limit};
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
        add_words(&match, filter->text, filter->kinds);
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

OwStatus ow_logbook_last(OwLogbook *book, int64_t *id, OwFaults *faults) {
    if (book == NULL || id == NULL) {
        return OW_ERROR_USE;
    }
    OwStatus status = ow_log_begin(book, false, faults);
    if (status != OW_OK) {
        return status;
    }
    int code = SQLITE_OK;
    sqlite3_stmt *stmt =
        ow_log_sql(book, "SELECT e.id FROM entry e WHERE e.kind <> ?1 AND NOT EXISTS(SELECT 1 FROM undo u"
                         " WHERE u.entry = e.id) ORDER BY e.id DESC LIMIT 1");
    *id = ow_log_number(book, stmt, 1, (const int64_t[]){OW_LOG_UNDO}, 0, &code);
    if (code == SQLITE_OK && *id == 0) {
        status = ow_log_fault(faults, OW_ERROR_VALUE, "", "there is nothing to take back", "no entry stands");
        return ow_log_end(book, status, faults);
    }
    return ow_log_end_view(book, code, faults);
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
