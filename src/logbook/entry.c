// SPDX-License-Identifier: GPL-3.0-or-later
// One entry in and out of its tables, by the table of fields.
#include "logbook/impl.h"

#include "base/buffer.h"
#include "logbook/value.h"

#include <string.h>

/// "name, "from", volume": the columns of a kind, with `before` in front of each when not NULL.
static void add_columns(OwBuffer *sql, const OwLogKindRow *row) {
    for (int i = 0; i < row->field_count; i++) {
        ow_buffer_format(sql, "%s\"%s\"", i == 0 ? "" : ", ", row->fields[i].key);
    }
}

static sqlite3_stmt *made(OwLogbook *book, sqlite3_stmt **slot, OwBuffer *sql) {
    sqlite3_stmt *stmt = sql->has_failed ? NULL : ow_log_sql_at(book, slot, sql->data);
    ow_buffer_clear(sql);
    return stmt;
}

static sqlite3_stmt *insert_of(OwLogbook *book, OwLogKind kind) {
    if (book->insert[kind] != NULL) {
        return ow_log_sql_at(book, &book->insert[kind], NULL);
    }
    const OwLogKindRow *row = ow_log_kind(kind);
    OwBuffer sql = {0};
    ow_buffer_format(&sql, "INSERT INTO \"%s\"(id, ", row->word);
    add_columns(&sql, row);
    ow_buffer_text(&sql, ") VALUES(?1");
    for (int i = 0; i < row->field_count; i++) {
        ow_buffer_format(&sql, ", ?%d", i + 2);
    }
    ow_buffer_text(&sql, ")");
    return made(book, &book->insert[kind], &sql);
}

static sqlite3_stmt *load_of(OwLogbook *book, OwLogKind kind) {
    if (book->load[kind] != NULL) {
        return ow_log_sql_at(book, &book->load[kind], NULL);
    }
    const OwLogKindRow *row = ow_log_kind(kind);
    OwBuffer sql = {0};
    ow_buffer_text(&sql, "SELECT ");
    add_columns(&sql, row);
    ow_buffer_format(&sql, " FROM \"%s\" WHERE id = ?1", row->word);
    return made(book, &book->load[kind], &sql);
}

static int error_of(OwLogbook *book) {
    const int code = sqlite3_errcode(book->db);
    return code == SQLITE_OK || code == SQLITE_ROW || code == SQLITE_DONE ? SQLITE_NOMEM : code;
}

int ow_log_insert(OwLogbook *book, OwLogEntry *entry) {
    sqlite3_stmt *stmt =
        entry->id == 0 ? ow_log_sql(book, "INSERT INTO entry(kind, at, made) VALUES(?1, ?2, ?3)")
                       : ow_log_sql(book, "INSERT INTO entry(kind, at, made, id) VALUES(?1, ?2, ?3, ?4)");
    int code = ow_log_step(book, stmt, entry->id == 0 ? 3 : 4,
                           (const int64_t[]){entry->kind, entry->at_s, entry->made_s, entry->id});
    if (code != SQLITE_DONE) {
        return code;
    }
    if (entry->id == 0) {
        entry->id = sqlite3_last_insert_rowid(book->db);
    }
    const OwLogKindRow *row = ow_log_kind(entry->kind);
    stmt = insert_of(book, entry->kind);
    if (stmt == NULL) {
        return error_of(book);
    }
    (void)sqlite3_clear_bindings(stmt);
    code = sqlite3_bind_int64(stmt, 1, entry->id);
    for (int i = 0; i < row->field_count && code == SQLITE_OK; i++) {
        const OwLogValue *value = &entry->values[i];
        if (!value->is_set) {
            continue;
        }
        switch (row->fields[i].type) {
        case OW_LOG_QUANTITY:
            code = sqlite3_bind_int64(stmt, i + 2, ow_log_steps(&row->fields[i], value->si));
            break;
        case OW_LOG_TEXT:
            code = sqlite3_bind_text(stmt, i + 2, value->text, -1, SQLITE_TRANSIENT);
            break;
        case OW_LOG_CHOICE:
        case OW_LOG_REF:
        case OW_LOG_MONEY:
            code = sqlite3_bind_int64(stmt, i + 2, value->number);
            break;
        }
    }
    code = code == SQLITE_OK ? sqlite3_step(stmt) : code;
    return code == SQLITE_DONE ? SQLITE_OK : code;
}

sqlite3_stmt *ow_log_name_of(OwLogbook *book, int64_t id) {
    sqlite3_stmt *stmt =
        ow_log_sql(book, "SELECT CASE kind WHEN 1 THEN (SELECT name FROM source s WHERE s.id = e.id)"
                         " WHEN 2 THEN (SELECT name FROM vessel s WHERE s.id = e.id)"
                         " WHEN 3 THEN (SELECT name FROM vehicle s WHERE s.id = e.id)"
                         " WHEN 4 THEN (SELECT name FROM batch s WHERE s.id = e.id) END"
                         " FROM entry e WHERE e.id = ?1");
    return stmt != NULL && sqlite3_bind_int64(stmt, 1, id) == SQLITE_OK ? stmt : NULL;
}

const char *ow_log_name(OwLogbook *book, int64_t id, OwArena *arena) {
    sqlite3_stmt *stmt = ow_log_name_of(book, id);
    const char *name = "";
    const int code = stmt == NULL ? SQLITE_NOMEM : sqlite3_step(stmt);
    if (code == SQLITE_ROW && sqlite3_column_type(stmt, 0) == SQLITE_TEXT) {
        name = (const char *)sqlite3_column_text(stmt, 0);
    } else if (code != SQLITE_ROW && code != SQLITE_DONE) {
        return NULL;
    }
    return name == NULL ? NULL : ow_arena_text(arena, name);
}

int ow_log_state(OwLogbook *book, int64_t id, OwLogKind *kind, int64_t *undone_by) {
    sqlite3_stmt *stmt =
        ow_log_sql(book, "SELECT e.kind, coalesce((SELECT u.id FROM undo u WHERE u.entry = e.id), 0)"
                         " FROM entry e WHERE e.id = ?1");
    const int code = ow_log_step(book, stmt, 1, &id);
    if (code != SQLITE_ROW) {
        return code;
    }
    *kind = (OwLogKind)sqlite3_column_int(stmt, 0);
    *undone_by = sqlite3_column_int64(stmt, 1);
    return *kind > OW_LOG_NONE && *kind < OW_LOG_KINDS ? SQLITE_OK : SQLITE_CORRUPT;
}

int ow_log_load(OwLogbook *book, int64_t id, OwArena *arena, OwLogEntry *entry) {
    *entry = (OwLogEntry){.id = id};
    sqlite3_stmt *stmt = ow_log_sql(
        book, "SELECT e.kind, e.at, e.made, coalesce((SELECT u.id FROM undo u WHERE u.entry = e.id), 0)"
              " FROM entry e WHERE e.id = ?1");
    int code = ow_log_step(book, stmt, 1, &id);
    if (code != SQLITE_ROW) {
        return code;
    }
    entry->kind = (OwLogKind)sqlite3_column_int(stmt, 0);
    entry->at_s = sqlite3_column_int64(stmt, 1);
    entry->made_s = sqlite3_column_int64(stmt, 2);
    entry->undone_by = sqlite3_column_int64(stmt, 3);
    const OwLogKindRow *row = ow_log_kind(entry->kind);
    if (row == NULL) {
        return SQLITE_CORRUPT;
    }
    stmt = load_of(book, entry->kind);
    code = ow_log_step(book, stmt, 1, &id);
    if (code != SQLITE_ROW) {
        return code == SQLITE_DONE ? SQLITE_CORRUPT : code;
    }
    for (int i = 0; i < row->field_count; i++) {
        OwLogValue *value = &entry->values[i];
        const OwLogField *field = &row->fields[i];
        if (sqlite3_column_type(stmt, i) == SQLITE_NULL) {
            continue;
        }
        value->is_set = true;
        if (field->type == OW_LOG_QUANTITY) {
            value->si = ow_log_si(field, sqlite3_column_int64(stmt, i));
        } else if (field->type != OW_LOG_TEXT) {
            value->number = sqlite3_column_int64(stmt, i);
        } else if (arena != NULL) {
            const char *text = (const char *)sqlite3_column_text(stmt, i);
            value->text = text == NULL ? NULL : ow_arena_text(arena, text);
            if (value->text == NULL) {
                return SQLITE_NOMEM;
            }
        }
    }
    for (int i = 0; i < row->field_count && arena != NULL; i++) {
        if (row->fields[i].type == OW_LOG_REF && entry->values[i].is_set) {
            entry->values[i].text = ow_log_name(book, entry->values[i].number, arena);
            if (entry->values[i].text == NULL) {
                return error_of(book);
            }
        }
    }
    return SQLITE_OK;
}

int64_t ow_log_named(OwLogbook *book, const char *name, OwLogKind *kind, int *code) {
    sqlite3_stmt *stmt = ow_log_sql(book, "SELECT id, kind FROM name WHERE name = ?1");
    *code = stmt == NULL ? error_of(book) : sqlite3_bind_text(stmt, 1, name, -1, SQLITE_TRANSIENT);
    if (*code == SQLITE_OK) {
        *code = sqlite3_step(stmt);
    }
    if (*code == SQLITE_ROW) {
        *code = SQLITE_OK;
        *kind = (OwLogKind)sqlite3_column_int(stmt, 1);
        return sqlite3_column_int64(stmt, 0);
    }
    *code = *code == SQLITE_DONE ? SQLITE_OK : *code;
    return *code == SQLITE_OK ? 0 : -1;
}
