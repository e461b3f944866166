// SPDX-License-Identifier: GPL-3.0-or-later
// The rules an entry must pass before it is written.
#include "logbook/check_entry.h"

#include "base/text.h"
#include "logbook/value.h"

#include <inttypes.h>
#include <stdio.h>
#include <string.h>

void ow_log_tell(OwTeller *teller, int field, OwStatus status, const char *remedy, const char *format, ...) {
    char message[256];
    va_list arguments;
    va_start(arguments, format);
    (void)vsnprintf(message, sizeof message, format, arguments);
    va_end(arguments);
    teller->told++;
    teller->tell(teller->context, field, status, message, remedy);
}

static void check_name(const char *name, int field, OwTeller *teller) {
    const size_t length = strlen(name);
    if (length > OW_LOG_NAME_MAX) {
        ow_log_tell(teller, field, OW_ERROR_VALUE, "a name has at most 63 letters", "the name is too long");
    } else if (length == 0 || name[0] == '#' || name[0] == ' ' || name[length - 1] == ' ') {
        ow_log_tell(teller, field, OW_ERROR_VALUE, "begin with a letter or digit", "\"%s\" cannot be a name",
                    name);
    }
}

static void check_value(const OwLogField *field, int index, const OwLogValue *value, OwTeller *teller) {
    switch (field->type) {
    case OW_LOG_QUANTITY:
        if (!(value->si >= field->low && value->si <= field->high)) {
            char low[64], high[64], remedy[160];
            ow_log_value_write(field, &(OwLogValue){.is_set = true, .si = field->low}, OW_DISPLAY_METRIC, low,
                               sizeof low);
            ow_log_value_write(field, &(OwLogValue){.is_set = true, .si = field->high}, OW_DISPLAY_METRIC,
                               high, sizeof high);
            (void)snprintf(remedy, sizeof remedy, "it can be %s to %s", low, high);
            ow_log_tell(teller, index, OW_ERROR_VALUE, remedy, "the value is out of range");
        }
        break;
    case OW_LOG_MONEY:
        if (!((double)value->number >= field->low && (double)value->number <= field->high)) {
            ow_log_tell(teller, index, OW_ERROR_VALUE, "look at the decimal point",
                        "the amount is out of range");
        }
        break;
    case OW_LOG_CHOICE: {
        int64_t count = 0;
        while (field->choices[count] != NULL) {
            count++;
        }
        if (value->number < 0 || value->number >= count) {
            ow_log_tell(teller, index, OW_ERROR_VALUE, "", "no such choice");
        }
        break;
    }
    case OW_LOG_TEXT:
        if (value->text == NULL || value->text[0] == '\0' ||
            !ow_log_text_is_good(value->text, OW_LOG_TEXT_MAX)) {
            ow_log_tell(teller, index, OW_ERROR_VALUE, "write at most 400 letters, UTF-8, on one line",
                        "the text is empty, too long, not UTF-8, not one line or holds control marks");
        } else if (strcmp(field->key, "name") == 0) {
            check_name(value->text, index, teller);
        }
        break;
    case OW_LOG_REF:
        if (value->number < 0 || (value->number == 0 && (value->text == NULL || value->text[0] == '\0'))) {
            ow_log_tell(teller, index, OW_ERROR_VALUE, "give its name", "nothing is referred to");
        }
        break;
    }
}

static bool is_set(const OwLogEntry *entry, const char *key) {
    return ow_log_value(entry, key)->is_set;
}

/// Fields that only make sense together.
static void check_together(const OwLogEntry *e, OwTeller *teller) {
    const OwLogKind kind = e->kind;
    if (kind == OW_LOG_FILL && !is_set(e, "oil") && !is_set(e, "diesel")) {
        ow_log_tell(teller, ow_log_field_of(kind, "oil"), OW_ERROR_VALUE,
                    "give a volume of oil, of diesel, or both", "nothing was filled");
    }
    if (kind == OW_LOG_FILL && is_set(e, "from") && !is_set(e, "oil")) {
        ow_log_tell(teller, ow_log_field_of(kind, "oil"), OW_ERROR_VALUE, "give the volume of oil",
                    "oil from a vessel needs a volume");
    }
    if (kind == OW_LOG_BATCH && is_set(e, "from") != is_set(e, "volume")) {
        ow_log_tell(teller, ow_log_field_of(kind, is_set(e, "from") ? "volume" : "from"), OW_ERROR_VALUE,
                    "give both, or neither for an empty batch",
                    "a batch drawn from a vessel needs the vessel and the volume");
    }
    if (kind == OW_LOG_TEST && !is_set(e, "acid") && !is_set(e, "water") && !is_set(e, "solids") &&
        !is_set(e, "viscosity") && !is_set(e, "density") && !is_set(e, "decision")) {
        ow_log_tell(teller, -1, OW_ERROR_VALUE, "give acid, water, solids, viscosity, density or a decision",
                    "the test has no result");
    }
    if (kind == OW_LOG_ODOMETER && is_set(e, "old") && is_set(e, "new") && !ow_log_is_swap(e)) {
        ow_log_tell(teller, ow_log_field_of(kind, "new"), OW_ERROR_VALUE,
                    "say yes, or leave the old one's out",
                    "the old one's last reading is told, but no new odometer");
    }
    if (kind == OW_LOG_STEP && is_set(e, "addition") && !is_set(e, "added")) {
        ow_log_tell(teller, ow_log_field_of(kind, "added"), OW_ERROR_VALUE, "give the volume added",
                    "how much was added is not told");
    }
}

void ow_log_check_values(const OwLogEntry *entry, OwTeller *teller) {
    const OwLogKindRow *row = ow_log_kind(entry->kind);
    if (row == NULL) {
        ow_log_tell(teller, -1, OW_ERROR_USE, "", "there is no such kind of entry");
        return;
    }
    if (entry->at_s < 0 || entry->at_s > OW_LOG_TIME_MAX || entry->made_s < 0 ||
        entry->made_s > OW_LOG_TIME_MAX) {
        ow_log_tell(teller, -1, OW_ERROR_VALUE, "it can be 1970 to 9999", "the time is out of range");
    }
    if (entry->id < 0) {
        ow_log_tell(teller, -1, OW_ERROR_VALUE, "", "the number is out of range");
    }
    for (int i = 0; i < row->field_count; i++) {
        if (entry->values[i].is_set) {
            check_value(&row->fields[i], i, &entry->values[i], teller);
        } else if (row->fields[i].is_required) {
            ow_log_tell(teller, i, OW_ERROR_VALUE, row->fields[i].doc, "%s is missing", row->fields[i].label);
        }
    }
    check_together(entry, teller);
}

// ---- With the file

typedef struct Names {
    const char **items;
    size_t count;
} Names;

static const char *name_at(const void *context, size_t i) {
    return ((const Names *)context)->items[i];
}

int ow_log_nearest(OwLogbook *book, unsigned kinds, const char *name, char nearest[OW_LOG_NAME_MAX + 1]) {
    enum { MOST = 5000 };
    nearest[0] = '\0';
    OwArena *arena = ow_arena_create();
    Names names = {.items = ow_arena_take(arena, MOST, sizeof(char *))};
    sqlite3_stmt *stmt = ow_log_sql(book, "SELECT name FROM name WHERE (?1 >> kind) & 1 LIMIT 5000");
    int code = names.items == NULL ? SQLITE_NOMEM : ow_log_step(book, stmt, 1, (const int64_t[]){kinds});
    for (; code == SQLITE_ROW && names.count < MOST; code = sqlite3_step(stmt)) {
        const char *text = (const char *)sqlite3_column_text(stmt, 0);
        names.items[names.count] = text == NULL ? NULL : ow_arena_text(arena, text);
        if (names.items[names.count++] == NULL) {
            code = SQLITE_NOMEM;
            break;
        }
    }
    if (code == SQLITE_DONE || code == SQLITE_ROW) {
        code = SQLITE_OK;
        const char *near = ow_text_nearest_by(name, names.count, name_at, &names);
        (void)ow_text_copy(nearest, OW_LOG_NAME_MAX + 1, near == NULL ? "" : near);
    }
    ow_arena_destroy(&arena);
    return code;
}

static void kinds_text(unsigned kinds, char *text, size_t size) {
    text[0] = '\0';
    for (int k = 1; k < OW_LOG_KINDS; k++) {
        if ((kinds >> k) & 1u) {
            const size_t used = strlen(text);
            (void)snprintf(text + used, size - used, "%s%s", used > 0 ? " or " : "",
                           ow_log_kind((OwLogKind)k)->word);
        }
    }
}

/// Looks one reference up and leaves its number in the value.
static int check_ref(OwLogbook *book, const OwLogField *field, int index, OwLogValue *value,
                     OwTeller *teller) {
    char kinds[200], nearest[OW_LOG_NAME_MAX + 1], remedy[256] = "";
    int code = SQLITE_OK;
    OwLogKind kind = OW_LOG_NONE;
    int64_t id = value->number, undone = 0;
    const bool is_any = (field->refs >> OW_LOG_PICKUP) != 0; // of an undo
    kinds_text(field->refs, kinds, sizeof kinds);
    if (id == 0) {
        id = ow_log_named(book, value->text, &kind, &code);
        if (code != SQLITE_OK) {
            return code;
        }
        if (id == 0 || !((field->refs >> kind) & 1u)) {
            code = ow_log_nearest(book, field->refs, value->text, nearest);
            if (nearest[0] != '\0') {
                (void)snprintf(remedy, sizeof remedy, "did you mean \"%s\"?", nearest);
            } else {
                (void)snprintf(remedy, sizeof remedy, "enter the %s first", is_any ? "thing" : kinds);
            }
            if (id == 0) {
                ow_log_tell(teller, index, OW_ERROR_VALUE, remedy, "there is no %s named \"%.63s\"",
                            is_any ? "thing" : kinds, value->text);
            } else {
                ow_log_tell(teller, index, OW_ERROR_VALUE, remedy, "\"%.63s\" is a %s, not a %s", value->text,
                            ow_log_kind(kind)->word, kinds);
            }
            return code;
        }
    } else {
        code = ow_log_state(book, id, &kind, &undone);
        if (code == SQLITE_DONE) {
            ow_log_tell(teller, index, OW_ERROR_VALUE, "look its number up in the list",
                        "there is no entry %" PRId64, id);
            return SQLITE_OK;
        }
        if (code != SQLITE_OK) {
            return code;
        }
        if (undone != 0) {
            ow_log_tell(teller, index, OW_ERROR_VALUE, "",
                        "entry %" PRId64 " was taken back by entry %" PRId64, id, undone);
        } else if (!((field->refs >> kind) & 1u)) {
            ow_log_tell(teller, index, OW_ERROR_VALUE,
                        kind == OW_LOG_UNDO ? "enter anew what it took back" : "",
                        is_any ? "entry %" PRId64 " is an %s and cannot be taken back"
                               : "entry %" PRId64 " is a %s, not the right kind",
                        id, ow_log_kind(kind)->word);
        }
    }
    value->number = id;
    return SQLITE_OK;
}

/// A thing goes only when nothing live needs it.
static int check_undo(OwLogbook *book, const OwLogEntry *entry, OwTeller *teller) {
    const int64_t id = entry->values[0].number;
    sqlite3_stmt *stmt =
        ow_log_sql(book, "SELECT l.entry FROM link l WHERE l.thing = ?1 AND l.entry <> ?1 AND l.kind <> 18"
                         " AND NOT EXISTS(SELECT 1 FROM undo u WHERE u.entry = l.entry) LIMIT 1");
    int code = SQLITE_OK;
    const int64_t needed = ow_log_number(book, stmt, 1, &id, 0, &code);
    if (code == SQLITE_OK && needed != 0) {
        char remedy[96];
        (void)snprintf(remedy, sizeof remedy, "take entry %" PRId64 " back first", needed);
        ow_log_tell(teller, 0, OW_ERROR_VALUE, remedy, "entry %" PRId64 " still refers to it", needed);
    }
    return code;
}
_Static_assert(OW_LOG_UNDO == 18, "the statement above names this kind");

int ow_log_check_links(OwLogbook *book, OwLogEntry *entry, OwTeller *teller) {
    const OwLogKindRow *row = ow_log_kind(entry->kind);
    const int before = teller->told;
    int code = SQLITE_OK;
    for (int i = 0; i < row->field_count && code == SQLITE_OK; i++) {
        if (row->fields[i].type == OW_LOG_REF && entry->values[i].is_set) {
            code = check_ref(book, &row->fields[i], i, &entry->values[i], teller);
        }
    }
    if (code != SQLITE_OK || teller->told != before) {
        return code;
    }
    const int64_t from = ow_log_amount(entry, "from");
    if (entry->kind == OW_LOG_MOVE && from == ow_log_amount(entry, "to")) {
        ow_log_tell(teller, ow_log_field_of(OW_LOG_MOVE, "to"), OW_ERROR_VALUE, "name another vessel",
                    "it is moved into itself");
    }
    if (row->is_thing) {
        OwLogKind kind = OW_LOG_NONE;
        const int64_t other = ow_log_named(book, entry->values[0].text, &kind, &code);
        if (code == SQLITE_OK && other != 0) {
            ow_log_tell(teller, 0, OW_ERROR_VALUE, "choose another name",
                        "the %s of entry %" PRId64 " is named \"%.63s\" already", ow_log_kind(kind)->word,
                        other, entry->values[0].text);
        }
    }
    return code == SQLITE_OK && entry->kind == OW_LOG_UNDO ? check_undo(book, entry, teller) : code;
}
