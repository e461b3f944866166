// SPDX-License-Identifier: GPL-3.0-or-later
// Entries from a folder of CSV files, all or nothing. They go in in the order of their numbers, so that every
// name means what it meant when the entry was made.
#include "logbook/check_entry.h"
#include "logbook/csv.h"
#include "logbook/value.h"

#include <errno.h>
#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

enum { PATH_ROOM = 4096 };
#define FILE_MOST ((size_t)1 << 31)

/// One file, kept whole: records are read again when their turn comes.
typedef struct Source {
    char path[PATH_ROOM];
    char *text;
    size_t size;
    OwCsv csv;
    OwCsvMap map;
    OwCsvTeller teller;
} Source;

/// Where a record stands.
typedef struct Record {
    int64_t id; ///< 0: new
    OwLogKind kind;
    int line, column;
    size_t at;
} Record;

typedef struct Import {
    OwLogbook *book;
    OwFaults *faults;
    Source sources[OW_LOG_KINDS];
    Record *records;
    size_t count, room;
    OwLogImported done;
    int64_t now;
} Import;

static OwStatus read_file(const char *path, char **text, size_t *size, OwFaults *faults) {
    FILE *file = fopen(path, "rb");
    if (file == NULL) {
        return errno == ENOENT
                   ? OW_OK
                   : ow_log_fault(faults, OW_ERROR_READ, path, "", "it cannot be read (%s)", strerror(errno));
    }
    OwBuffer buffer = {0};
    size_t got = 1;
    while (got > 0 && !buffer.has_failed && buffer.size < FILE_MOST) {
        char *to = ow_buffer_reserve(&buffer, 1 << 16);
        got = to == NULL ? 0 : fread(to, 1, 1 << 16, file);
        buffer.size += got;
    }
    const bool is_bad = ferror(file) != 0 || buffer.size >= FILE_MOST;
    (void)fclose(file);
    if (buffer.has_failed || is_bad) {
        const OwStatus status = buffer.has_failed
                                    ? OW_ERROR_MEMORY
                                    : ow_log_fault(faults, OW_ERROR_READ, path, "", "it cannot be read");
        ow_buffer_clear(&buffer);
        return status;
    }
    *text = buffer.data;
    *size = buffer.size;
    return OW_OK;
}

static OwStatus add_record(Import *import, const Record *record) {
    if (import->count == import->room) {
        const size_t room = import->room == 0 ? 256 : import->room * 2;
        Record *records = realloc(import->records, room * sizeof *records);
        if (records == NULL) {
            return OW_ERROR_MEMORY;
        }
        import->records = records;
        import->room = room;
    }
    import->records[import->count++] = *record;
    return OW_OK;
}

/// First pass over a file: everything that can be told without the logbook.
static OwStatus scan(Import *import, OwLogKind kind) {
    Source *s = &import->sources[kind];
    s->teller = (OwCsvTeller){.faults = import->faults, .file = s->path};
    ow_csv_begin(&s->csv, s->text, s->size);
    bool has_headings = false;
    for (;;) {
        Record record = {.kind = kind, .at = s->csv.at, .line = s->csv.line, .column = s->csv.column};
        const OwStatus status = ow_csv_next(&s->csv);
        if (status == OW_ERROR_RANGE) {
            break;
        }
        if (status == OW_ERROR_MEMORY) {
            return status;
        }
        if (status != OW_OK) {
            ow_csv_tell(&s->teller, s->csv.wrong_line, s->csv.wrong_column, ow_log_kind(kind)->word,
                        OW_ERROR_SYNTAX, s->csv.wrong, "quote it as RFC 4180 says");
            if (!has_headings) {
                break;
            }
        } else if (!has_headings) {
            ow_csv_headings(&s->csv, kind, &s->map, &s->teller);
            has_headings = true;
            if (s->teller.told > 0) {
                break; // every line would be wrong
            }
        } else {
            OwLogEntry entry;
            ow_csv_entry(&s->csv, &s->map, &entry, &s->teller);
            record.id = entry.id;
            const OwStatus added = add_record(import, &record);
            if (added != OW_OK) {
                return added;
            }
        }
    }
    if (!has_headings && s->teller.told == 0) {
        ow_csv_tell(&s->teller, 1, 1, ow_log_kind(kind)->word, OW_ERROR_SYNTAX, "the file has no headings",
                    "take the headings of an export");
    }
    return OW_OK;
}

/// By number; new ones last: things, then the rest in the order of the files.
static int by_turn(const void *a, const void *b) {
    const Record *x = a, *y = b;
    if ((x->id == 0) != (y->id == 0)) {
        return x->id == 0 ? 1 : -1;
    }
    if (x->id != y->id) {
        return x->id < y->id ? -1 : 1;
    }
    if (x->kind != y->kind) {
        return x->kind < y->kind ? -1 : 1;
    }
    return x->at < y->at ? -1 : x->at > y->at;
}

typedef struct Turn {
    Source *source;
    OwLogKind kind;
} Turn;

static void tell(void *context, int field, OwStatus status, const char *message, const char *remedy) {
    const Turn *turn = context;
    const OwLogKindRow *row = ow_log_kind(turn->kind);
    char part[64];
    int line = 0, column = 0;
    ow_csv_place(&turn->source->csv, &turn->source->map, field, &line, &column);
    (void)snprintf(part, sizeof part, field >= 0 ? "%s: %s" : "%s", row->word,
                   field >= 0 ? row->fields[field].key : "");
    ow_csv_tell(&turn->source->teller, line, column, part, status, message, remedy);
}

static bool is_same_value(const OwLogField *field, const OwLogValue *a, const OwLogValue *b) {
    if (a->is_set != b->is_set || !a->is_set) {
        return a->is_set == b->is_set;
    }
    switch (field->type) {
    case OW_LOG_QUANTITY:
        return ow_log_steps(field, a->si) == ow_log_steps(field, b->si);
    case OW_LOG_TEXT:
        return strcmp(a->text, b->text) == 0;
    case OW_LOG_REF: // a record may name it by number or by name
        return a->number != 0 && b->number != 0 ? a->number == b->number : strcmp(a->text, b->text) == 0;
    default:
        return a->number == b->number;
    }
}

/// A record whose number is taken: fine when it says the same.
static int compare(Import *import, const OwLogEntry *entry, OwTeller *teller) {
    OwArena *arena = ow_arena_create();
    OwLogEntry known;
    int code = arena == NULL ? SQLITE_NOMEM : ow_log_load(import->book, entry->id, arena, &known);
    if (code == SQLITE_OK) {
        const OwLogKindRow *row = ow_log_kind(entry->kind);
        bool is_same = known.kind == entry->kind && known.at_s == entry->at_s &&
                       (entry->made_s == 0 || known.made_s == entry->made_s);
        for (int i = 0; i < row->field_count && is_same; i++) {
            is_same = is_same_value(&row->fields[i], &entry->values[i], &known.values[i]);
        }
        if (is_same) {
            import->done.same++;
        } else {
            ow_log_tell(teller, -1, OW_ERROR_VALUE,
                        "entries are never changed: leave the id empty to add it as a new one",
                        "entry %" PRId64 " is there already and says something else", entry->id);
        }
    }
    ow_arena_destroy(&arena);
    return code;
}

/// Second pass: one record into the logbook.
static int take_turn(Import *import, const Record *record, const Record *before) {
    Turn turn = {.source = &import->sources[record->kind], .kind = record->kind};
    OwTeller teller = {.tell = tell, .context = &turn};
    OwCsv *csv = &turn.source->csv;
    csv->at = record->at;
    csv->line = record->line;
    csv->column = record->column;
    if (ow_csv_next(csv) != OW_OK) {
        return SQLITE_NOMEM; // it read well before
    }
    OwLogEntry entry;
    ow_csv_entry(csv, &turn.source->map, &entry, &turn.source->teller);
    if (entry.id != 0 && before != NULL && before->id == entry.id) {
        ow_log_tell(&teller, -1, OW_ERROR_VALUE, "give each its own, or none",
                    "the number %" PRId64 " stands in two lines", entry.id);
        return SQLITE_OK;
    }
    OwLogKind kind = OW_LOG_NONE;
    int64_t undone = 0;
    int code = entry.id == 0 ? SQLITE_DONE : ow_log_state(import->book, entry.id, &kind, &undone);
    if (code == SQLITE_OK) {
        return compare(import, &entry, &teller);
    }
    code = code == SQLITE_DONE ? ow_log_check_links(import->book, &entry, &teller) : code;
    if (code != SQLITE_OK || teller.told > 0) {
        return code;
    }
    entry.made_s = entry.made_s == 0 ? import->now : entry.made_s;
    import->done.added++;
    return ow_log_write(import->book, &entry);
}

static OwStatus first_fault(const Import *import) {
    for (int k = 1; k < OW_LOG_KINDS; k++) {
        if (import->sources[k].teller.status != OW_OK) {
            return import->sources[k].teller.status;
        }
    }
    return OW_OK;
}

static OwStatus run(Import *import, const char *folder) {
    int files = 0;
    for (int k = 1; k < OW_LOG_KINDS; k++) {
        Source *s = &import->sources[k];
        (void)snprintf(s->path, sizeof s->path, "%s/%s.csv", folder, ow_log_kind((OwLogKind)k)->word);
        OwStatus status = read_file(s->path, &s->text, &s->size, import->faults);
        if (status == OW_OK && s->text != NULL) {
            files++;
            status = scan(import, (OwLogKind)k);
        }
        if (status != OW_OK) {
            return status;
        }
    }
    if (files == 0) {
        return ow_log_fault(import->faults, OW_ERROR_READ, folder, "name the folder of an export",
                            "the folder holds no file of a kind (pickup.csv, fill.csv, ...)");
    }
    OwStatus status = first_fault(import);
    if (status != OW_OK) {
        return status;
    }
    if (import->count > 1) {
        qsort(import->records, import->count, sizeof *import->records, by_turn);
    }
    status = ow_log_begin(import->book, true, import->faults);
    if (status != OW_OK) {
        return status;
    }
    for (size_t i = 0; i < import->count && status == OW_OK; i++) {
        const int code = take_turn(import, &import->records[i], i > 0 ? &import->records[i - 1] : NULL);
        status = code == SQLITE_OK ? OW_OK : ow_log_fail(import->book, code, import->faults);
    }
    return ow_log_end(import->book, status == OW_OK ? first_fault(import) : status, import->faults);
}

OwStatus ow_logbook_import(OwLogbook *book, const char *folder, OwLogImported *imported, OwFaults *faults) {
    if (book == NULL || folder == NULL || folder[0] == '\0' || strlen(folder) + 32 > PATH_ROOM) {
        return OW_ERROR_USE;
    }
    Import *import = calloc(1, sizeof *import);
    if (import == NULL) {
        return OW_ERROR_MEMORY;
    }
    import->book = book;
    import->faults = faults;
    import->now = (int64_t)time(NULL);
    const OwStatus status = run(import, folder);
    if (imported != NULL) {
        *imported = status == OW_OK ? import->done : (OwLogImported){0};
    }
    for (int k = 1; k < OW_LOG_KINDS; k++) {
        ow_csv_end(&import->sources[k].csv);
        free(import->sources[k].text);
    }
    free(import->records);
    free(import);
    return status;
}
