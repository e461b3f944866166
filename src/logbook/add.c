// SPDX-License-Identifier: GPL-3.0-or-later
// Adding entries, taking one back, finding a thing; and what looks odd afterwards.
#include "logbook/check_entry.h"

#include "base/text.h"
#include "logbook/value.h"

#include <inttypes.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#define DAY_S 86400.0

/// A measured level is booked as a correction: what was measured less what the book holds, batches included.
static int work_out_level(OwLogbook *book, OwLogEntry *entry) {
    const int change = ow_log_field_of(OW_LOG_LEVEL, "change");
    if (entry->values[change].is_set) {
        return SQLITE_OK;
    }
    const int64_t of = ow_log_amount(entry, "of");
    int code = SQLITE_OK;
    int64_t book_level = ow_log_level_at(book, of, entry->at_s, INT64_MAX, &code);
    sqlite3_stmt *stmt =
        ow_log_sql(book, "SELECT id FROM account WHERE place = ?1 AND place <> 0 AND volume <> 0");
    int step = code == SQLITE_OK ? ow_log_step(book, stmt, 1, &of) : code;
    for (; step == SQLITE_ROW; step = sqlite3_step(stmt)) {
        book_level += ow_log_level_at(book, sqlite3_column_int64(stmt, 0), entry->at_s, INT64_MAX, &code);
        if (code != SQLITE_OK) {
            return code;
        }
    }
    if (step != SQLITE_DONE) {
        return step;
    }
    const int64_t steps = ow_log_amount(entry, "level") - book_level;
    entry->values[change] = (OwLogValue){.is_set = true, .si = OW_VOLUME_M3(steps)};
    return SQLITE_OK;
}

int ow_log_write(OwLogbook *book, OwLogEntry *entry) {
    int code = entry->kind == OW_LOG_LEVEL ? work_out_level(book, entry) : SQLITE_OK;
    code = code == SQLITE_OK ? ow_log_insert(book, entry) : code;
    code = code == SQLITE_OK ? ow_log_index(book, entry) : code;
    if (code != SQLITE_OK || entry->kind != OW_LOG_UNDO) {
        return code == SQLITE_OK ? ow_log_apply(book, entry, 1) : code;
    }
    OwLogEntry taken = {0};
    code = ow_log_load(book, entry->values[0].number, NULL, &taken);
    return code == SQLITE_OK ? ow_log_apply(book, &taken, -1) : code == SQLITE_DONE ? SQLITE_CORRUPT : code;
}

// ---- What looks odd

static int warn_account(OwLogbook *book, int64_t id, const char *part, OwFaults *faults) {
    sqlite3_stmt *stmt = ow_log_sql(
        book,
        "SELECT a.volume, coalesce(v.capacity, 0), a.volume + coalesce((SELECT sum(b.volume) FROM account b"
        " WHERE b.place = ?1 AND b.place <> 0 AND b.volume <> 0), 0), coalesce(v.name, c.name, '')"
        " FROM account a LEFT JOIN vessel v ON v.id = a.id LEFT JOIN batch c ON c.id = a.id WHERE a.id = ?1");
    const int code = ow_log_step(book, stmt, 1, &id);
    if (code != SQLITE_ROW) {
        return code == SQLITE_DONE ? SQLITE_OK : code;
    }
    const int64_t volume = sqlite3_column_int64(stmt, 0), capacity = sqlite3_column_int64(stmt, 1),
                  level = sqlite3_column_int64(stmt, 2);
    const char *name = (const char *)sqlite3_column_text(stmt, 3);
    if (volume < 0) {
        (void)ow_log_warn(faults, part, "measure it and enter a level", "%s now holds %.1f L by the book",
                          name == NULL ? "it" : name, (double)volume / 1e6);
    } else if (capacity > 0 && level > capacity) {
        (void)ow_log_warn(faults, part, "measure it and enter a level",
                          "%s now holds %.1f L by the book, more than its %.1f L", name == NULL ? "it" : name,
                          (double)level / 1e6, (double)capacity / 1e6);
    }
    return SQLITE_OK;
}

/// A digit too many: more than anyone drives since the reading before (common practice, no source).
static int warn_leap(OwLogbook *book, const OwLogEntry *entry, const char *part, OwFaults *faults) {
    const int64_t vehicle = ow_log_amount(entry, "vehicle"), reading = ow_log_amount(entry, "odometer");
    if (vehicle == 0 || !ow_log_value(entry, "odometer")->is_set) {
        return SQLITE_OK;
    }
    sqlite3_stmt *stmt = ow_log_sql(
        book,
        "SELECT at, reading FROM odo WHERE vehicle = ?1 AND (at, entry) < (?2, ?3) ORDER BY at DESC, entry "
        "DESC LIMIT 1");
    const int code = ow_log_step(book, stmt, 3, (const int64_t[]){vehicle, entry->at_s, entry->id});
    if (code != SQLITE_ROW) {
        return code == SQLITE_DONE ? SQLITE_OK : code;
    }
    const double days = (double)(entry->at_s - sqlite3_column_int64(stmt, 0)) / DAY_S;
    const double km = (double)(reading - sqlite3_column_int64(stmt, 1)) / 1e6;
    if (km * 1e6 > (double)OW_LOG_MOST_A_DAY * (days + 1.0)) {
        (void)ow_log_warn(faults, part, "take it back and enter it again if it is wrong",
                          "%.0f km since the reading before, in %.0f days", km, ceil(days));
    }
    return SQLITE_OK;
}

/// A slip in the date puts an entry after all that is still to come.
static void warn_future(const OwLogEntry *entry, const char *part, OwFaults *faults) {
    if (entry->at_s > entry->made_s + DAY_S) {
        (void)ow_log_warn(faults, part, "take it back and enter it again if it is wrong",
                          "its day lies %.0f days ahead", (double)(entry->at_s - entry->made_s) / DAY_S);
    }
}

static int warn(OwLogbook *book, const OwLogEntry *entry, const char *part, OwFaults *faults) {
    const OwLogKindRow *row = ow_log_kind(entry->kind);
    const unsigned oil = (1u << OW_LOG_VESSEL) | (1u << OW_LOG_BATCH);
    int code = SQLITE_OK;
    if (entry->kind == OW_LOG_UNDO && faults != NULL) { // what it took back may leave a vessel below nothing
        OwLogEntry taken = {0};
        code = ow_log_load(book, entry->values[0].number, NULL, &taken);
        return code == SQLITE_OK ? warn(book, &taken, part, faults) : code;
    }
    for (int i = 0; i < row->field_count && code == SQLITE_OK && faults != NULL; i++) {
        if (row->fields[i].type == OW_LOG_REF && entry->values[i].is_set &&
            (row->fields[i].refs & oil) != 0) {
            code = warn_account(book, entry->values[i].number, part, faults);
        }
    }
    if (code != SQLITE_OK || faults == NULL || entry->undone_by != 0) {
        return code;
    }
    warn_future(entry, part, faults);
    return ow_log_is_swap(entry) ? SQLITE_OK : warn_leap(book, entry, part, faults);
}

// ---- Adding

typedef struct Telling {
    OwFaults *faults;
    OwLogKind kind;
    int index, count;
    OwStatus status; ///< of the first
} Telling;

static void part_text(const Telling *t, int field, char part[64]) {
    const OwLogKindRow *row = ow_log_kind(t->kind);
    char place[24] = "";
    if (t->count > 1) {
        (void)snprintf(place, sizeof place, "entry %d: ", t->index + 1);
    }
    (void)snprintf(part, 64, "%s%s%s%s", place, row == NULL ? "?" : row->word, field >= 0 ? ": " : "",
                   field >= 0 && row != NULL ? row->fields[field].key : "");
}

static void tell(void *context, int field, OwStatus status, const char *message, const char *remedy) {
    Telling *t = context;
    char part[64];
    part_text(t, field, part);
    t->status = t->status == OW_OK ? status : t->status;
    (void)ow_log_fault(t->faults, status, part, remedy, "%s", message);
}

static OwStatus add_all(OwLogbook *book, OwLogEntry *entries, int count, Telling *t, OwTeller *teller) {
    for (int i = 0; i < count; i++) {
        char part[64];
        t->index = i;
        t->kind = entries[i].kind;
        int code = ow_log_check_links(book, &entries[i], teller);
        if (code == SQLITE_OK && teller->told > 0) {
            return t->status;
        }
        code = code == SQLITE_OK ? ow_log_check_odometer(book, &entries[i], teller) : code;
        if (code == SQLITE_OK && teller->told > 0) {
            return t->status;
        }
        code = code == SQLITE_OK ? ow_log_write(book, &entries[i]) : code;
        part_text(t, -1, part);
        code = code == SQLITE_OK ? warn(book, &entries[i], part, t->faults) : code;
        if (code != SQLITE_OK) {
            return ow_log_fail(book, code, t->faults);
        }
    }
    return OW_OK;
}

OwStatus ow_logbook_add(OwLogbook *book, OwLogEntry *entries, int count, OwFaults *faults) {
    if (book == NULL || entries == NULL || count < 1) {
        return OW_ERROR_USE;
    }
    const int64_t now = (int64_t)time(NULL);
    OwLogEntry *work = calloc((size_t)count, sizeof *work);
    if (work == NULL) {
        return OW_ERROR_MEMORY;
    }
    Telling t = {.faults = faults, .count = count};
    OwTeller teller = {.tell = tell, .context = &t};
    for (int i = 0; i < count; i++) {
        work[i] = entries[i];
        work[i].id = 0;
        work[i].undone_by = 0;
        work[i].at_s = work[i].at_s == 0 ? now : work[i].at_s;
        work[i].made_s = work[i].made_s == 0 ? now : work[i].made_s;
        t.index = i;
        t.kind = work[i].kind;
        ow_log_check_values(&work[i], &teller);
    }
    OwStatus status = t.status;
    if (status == OW_OK) {
        status = ow_log_begin(book, true, faults);
        if (status == OW_OK) {
            status = ow_log_end(book, add_all(book, work, count, &t, &teller), faults);
        }
    }
    for (int i = 0; i < count && status == OW_OK; i++) {
        entries[i] = work[i];
    }
    free(work);
    return status;
}

OwStatus ow_logbook_undo(OwLogbook *book, int64_t id, const char *why, int64_t *undo_id, OwFaults *faults) {
    OwLogEntry entry = {.kind = OW_LOG_UNDO};
    entry.values[0] = (OwLogValue){.is_set = true, .number = id};
    if (why != NULL && why[0] != '\0') {
        entry.values[1] = (OwLogValue){.is_set = true, .text = why};
    }
    const OwStatus status = ow_logbook_add(book, &entry, 1, faults);
    if (status == OW_OK && undo_id != NULL) {
        *undo_id = entry.id;
    }
    return status;
}

OwStatus ow_logbook_find(OwLogbook *book, unsigned kinds, const char *name, int64_t *id,
                         char nearest[OW_LOG_NAME_MAX + 1], OwFaults *faults) {
    if (book == NULL || name == NULL || id == NULL) {
        return OW_ERROR_USE;
    }
    int code = SQLITE_OK;
    OwLogKind kind = OW_LOG_NONE;
    char near[OW_LOG_NAME_MAX + 1] = "";
    kinds = kinds == 0 ? ~0u : kinds;
    *id = ow_log_named(book, name, &kind, &code);
    if (code == SQLITE_OK && (*id == 0 || !((kinds >> kind) & 1u))) {
        *id = 0;
        code = ow_log_nearest(book, kinds, name, near);
    }
    if (nearest != NULL) {
        (void)ow_text_copy(nearest, OW_LOG_NAME_MAX + 1, near);
    }
    if (code != SQLITE_OK) {
        *id = 0;
        return ow_log_fail(book, code, faults);
    }
    return OW_OK;
}
