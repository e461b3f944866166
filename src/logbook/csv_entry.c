// SPDX-License-Identifier: GPL-3.0-or-later
// Entries as CSV records, by the table of fields: whole steps as decimals of the unit in the heading, so that
// what is written reads back to the very same steps.
#include "logbook/csv.h"

#include "base/text.h"
#include "logbook/check_entry.h"
#include "logbook/value.h"

#include <inttypes.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

void ow_csv_tell(OwCsvTeller *teller, int line, int column, const char *part, OwStatus status,
                 const char *message, const char *remedy) {
    enum { MOST = 200 };
    teller->status = teller->status == OW_OK ? status : teller->status;
    if (teller->told++ >= MOST || teller->faults == NULL) {
        return;
    }
    OwFault fault = {.status = status, .severity = OW_FAULT_ERROR, .line = line, .column = column};
    (void)ow_text_copy(fault.file, sizeof fault.file, teller->file);
    (void)ow_text_copy(fault.part, sizeof fault.part, part);
    (void)ow_text_copy(fault.message, sizeof fault.message, teller->told > MOST ? "and more" : message);
    (void)ow_text_copy(fault.remedy, sizeof fault.remedy, remedy);
    (void)ow_faults_add(teller->faults, &fault);
}

/// "volume (L)"
static void heading_of(const OwLogField *field, char text[64]) {
    (void)snprintf(text, 64, field->csv_unit[0] != '\0' ? "%s (%s)" : "%s", field->key, field->csv_unit);
}

static int meaning_of(OwLogKind kind, const char *text, char remedy[256]) {
    static const char *const fixed[] = {"id", "at", "made"};
    const OwLogKindRow *row = ow_log_kind(kind);
    const char *names[OW_CSV_FIELDS];
    char headings[OW_LOG_FIELDS][64];
    for (int i = 0; i < 3; i++) {
        names[i] = fixed[i];
        if (strcmp(text, fixed[i]) == 0) {
            return OW_CSV_ID - i;
        }
    }
    for (int i = 0; i < row->field_count; i++) {
        heading_of(&row->fields[i], headings[i]);
        names[3 + i] = headings[i];
        if (strcmp(text, headings[i]) == 0) {
            return i;
        }
        const size_t key = strlen(row->fields[i].key);
        if (strncmp(text, row->fields[i].key, key) == 0 && (text[key] == '\0' || text[key] == ' ')) {
            (void)snprintf(remedy, 256, "write \"%s\": numbers stand in that unit", headings[i]);
            return -1;
        }
    }
    const char *near = ow_text_nearest(text, names, (size_t)row->field_count + 3);
    (void)snprintf(remedy, 256, near == NULL ? "take the headings of an export" : "did you mean \"%s\"?",
                   near);
    return -1;
}

void ow_csv_headings(const OwCsv *csv, OwLogKind kind, OwCsvMap *map, OwCsvTeller *teller) {
    const OwLogKindRow *row = ow_log_kind(kind);
    *map = (OwCsvMap){.kind = kind, .count = csv->count};
    for (int c = 0; c < csv->count; c++) {
        const OwCsvField *field = &csv->fields[c];
        char remedy[256] = "", message[256];
        map->column_of[c] = meaning_of(kind, field->text, remedy);
        if (map->column_of[c] == -1) {
            (void)snprintf(message, sizeof message, "the heading \"%.60s\" is not known", field->text);
            ow_csv_tell(teller, field->line, field->column, row->word, OW_ERROR_VALUE, message, remedy);
        }
        for (int b = 0; b < c; b++) {
            if (map->column_of[b] == map->column_of[c] && map->column_of[c] != -1) {
                ow_csv_tell(teller, field->line, field->column, row->word, OW_ERROR_VALUE,
                            "the heading stands here twice", "take one away");
                map->column_of[c] = -1;
            }
        }
    }
    for (int i = -1; i < row->field_count; i++) {
        bool is_there = i >= 0 && !row->fields[i].is_required;
        for (int c = 0; c < map->count; c++) {
            is_there = is_there || map->column_of[c] == (i < 0 ? OW_CSV_AT : i);
        }
        if (!is_there) {
            char heading[64] = "at", message[256];
            if (i >= 0) {
                heading_of(&row->fields[i], heading);
            }
            (void)snprintf(message, sizeof message, "the column \"%s\" is missing", heading);
            ow_csv_tell(teller, csv->count > 0 ? csv->fields[0].line : 1, 1, row->word, OW_ERROR_VALUE,
                        message, "take the headings of an export");
        }
    }
}

void ow_csv_place(const OwCsv *csv, const OwCsvMap *map, int field, int *line, int *column) {
    *line = csv->count > 0 ? csv->fields[0].line : csv->line;
    *column = 1;
    for (int c = 0; c < map->count && c < csv->count && field >= 0; c++) {
        if (map->column_of[c] == field) {
            *line = csv->fields[c].line;
            *column = csv->fields[c].column;
        }
    }
}

static int decimals_of(const OwLogField *field) {
    return (int)lround(log10(field->csv_step));
}

/// Reads one field; false with the words when it is wrong.
static bool read_value(const OwLogField *field, const char *text, OwLogValue *value, char wrong[256],
                       char remedy[256]) {
    int64_t number = 0;
    if (field->type == OW_LOG_QUANTITY) {
        const int decimals = decimals_of(field);
        if (ow_log_fixed_read(text, decimals, &number) != OW_OK) {
            (void)snprintf(wrong, 256, "\"%.60s\" is not a number of %s", text, field->csv_unit);
            (void)snprintf(remedy, 256, "write it with a point and at most %d decimals, without the unit",
                           decimals);
            return false;
        }
        *value = (OwLogValue){.is_set = true, .si = ow_log_si(field, number + (int64_t)field->csv_zero)};
        return true;
    }
    if (field->type == OW_LOG_TEXT) {
        *value = (OwLogValue){.is_set = true, .text = text};
        return true; // looked at with the other rules
    }
    return ow_log_value_read(field, text, NULL, value, wrong, remedy) == OW_OK;
}

/// Where fields are not parted by commas, one in a number is its decimal point.
static const char *with_point(const OwCsv *csv, const OwLogField *field, const char *text, char out[80]) {
    const char *comma = strchr(text, ',');
    if (csv->separator == ',' || comma == NULL || strlen(text) >= 80 || strchr(text, '.') != NULL ||
        (field->type != OW_LOG_QUANTITY && field->type != OW_LOG_MONEY)) {
        return text;
    }
    (void)snprintf(out, 80, "%s", text);
    out[comma - text] = '.';
    return out;
}

typedef struct Place {
    const OwCsv *csv;
    const OwCsvMap *map;
    OwCsvTeller *teller;
} Place;

static void tell_at(void *context, int field, OwStatus status, const char *message, const char *remedy) {
    const Place *place = context;
    const OwLogKindRow *row = ow_log_kind(place->map->kind);
    char part[64];
    int line = 0, column = 0;
    ow_csv_place(place->csv, place->map, field, &line, &column);
    (void)snprintf(part, sizeof part, field >= 0 ? "%s: %s" : "%s", row->word,
                   field >= 0 ? row->fields[field].key : "");
    ow_csv_tell(place->teller, line, column, part, status, message, remedy);
}

void ow_csv_entry(const OwCsv *csv, const OwCsvMap *map, OwLogEntry *entry, OwCsvTeller *teller) {
    const OwLogKindRow *row = ow_log_kind(map->kind);
    Place place = {.csv = csv, .map = map, .teller = teller};
    const int before = teller->told;
    *entry = (OwLogEntry){.kind = map->kind};
    if (csv->count != map->count) {
        char message[256];
        (void)snprintf(message, sizeof message, "the line has %d fields, the headings are %d", csv->count,
                       map->count);
        tell_at(&place, -1, OW_ERROR_SYNTAX, message, "a comma or a quote is missing or too many");
        return;
    }
    bool has_at = false;
    for (int c = 0; c < csv->count; c++) {
        const char *text = csv->fields[c].text;
        char wrong[256] = "", remedy[256] = "";
        const int meaning = map->column_of[c];
        bool is_good = true;
        if (text[0] == '\0' || meaning == -1) {
            continue;
        }
        if (meaning == OW_CSV_ID) {
            is_good = ow_log_fixed_read(text, 0, &entry->id) == OW_OK && entry->id > 0;
            (void)snprintf(wrong, sizeof wrong, "\"%.60s\" is not the number of an entry", text);
            (void)snprintf(remedy, sizeof remedy, "leave it empty for a new entry");
        } else if (meaning == OW_CSV_AT || meaning == OW_CSV_MADE) {
            is_good = ow_log_time_read(text, meaning == OW_CSV_AT ? &entry->at_s : &entry->made_s) == OW_OK;
            has_at = has_at || meaning == OW_CSV_AT;
            (void)snprintf(wrong, sizeof wrong, "\"%.60s\" is not a time", text);
            (void)snprintf(remedy, sizeof remedy, "write it as 2026-11-25T08:30:00Z");
        } else {
            char point[80];
            text = with_point(csv, &row->fields[meaning], text, point);
            is_good = read_value(&row->fields[meaning], text, &entry->values[meaning], wrong, remedy);
        }
        if (!is_good) {
            char part[64];
            (void)snprintf(part, sizeof part, meaning >= 0 ? "%s: %s" : "%s", row->word,
                           meaning >= 0 ? row->fields[meaning].key : "");
            ow_csv_tell(teller, csv->fields[c].line, csv->fields[c].column, part, OW_ERROR_VALUE, wrong,
                        remedy);
        }
    }
    if (teller->told != before) {
        return;
    }
    if (!has_at) {
        tell_at(&place, -1, OW_ERROR_VALUE, "the time is missing", "write it as 2026-11-25T08:30:00Z");
        return;
    }
    OwTeller rules = {.tell = tell_at, .context = &place};
    ow_log_check_values(entry, &rules);
}

// ---- Writing

static void write_text(OwBuffer *out, const char *text) {
    const size_t length = strlen(text);
    if (strpbrk(text, ",\"\r\n") == NULL && (length == 0 || (text[0] != ' ' && text[length - 1] != ' '))) {
        ow_buffer_text(out, text);
        return;
    }
    ow_buffer_text(out, "\"");
    for (const char *p = text; *p != '\0'; p++) {
        ow_buffer_add(out, p, 1);
        if (*p == '"') {
            ow_buffer_text(out, "\"");
        }
    }
    ow_buffer_text(out, "\"");
}

void ow_csv_write_headings(OwBuffer *out, OwLogKind kind) {
    const OwLogKindRow *row = ow_log_kind(kind);
    ow_buffer_text(out, "id,at,made");
    for (int i = 0; i < row->field_count; i++) {
        char heading[64];
        heading_of(&row->fields[i], heading);
        ow_buffer_text(out, ",");
        write_text(out, heading);
    }
    ow_buffer_text(out, "\r\n");
}

void ow_csv_write_entry(OwBuffer *out, const OwLogEntry *entry) {
    const OwLogKindRow *row = ow_log_kind(entry->kind);
    char text[48];
    if (entry->id != 0) { // an entry that is not in a logbook yet has none
        ow_buffer_format(out, "%" PRId64, entry->id);
    }
    ow_buffer_text(out, ",");
    ow_log_time_write(entry->at_s, text, sizeof text);
    ow_buffer_format(out, "%s,", text);
    ow_log_time_write(entry->made_s, text, sizeof text);
    ow_buffer_text(out, text);
    for (int i = 0; i < row->field_count; i++) {
        const OwLogField *field = &row->fields[i];
        const OwLogValue *value = &entry->values[i];
        ow_buffer_text(out, ",");
        if (!value->is_set) {
            continue;
        }
        switch (field->type) {
        case OW_LOG_QUANTITY:
            ow_log_fixed_write(ow_log_steps(field, value->si) - (int64_t)field->csv_zero, decimals_of(field),
                               0, text, sizeof text);
            ow_buffer_text(out, text);
            break;
        case OW_LOG_MONEY:
            ow_log_money_write(value->number, text, sizeof text);
            ow_buffer_text(out, text);
            break;
        case OW_LOG_CHOICE:
            write_text(out, field->choices[value->number]);
            break;
        case OW_LOG_REF:
            if (value->text == NULL || value->text[0] == '\0' ||
                entry->kind == OW_LOG_UNDO) { // entries go by number
                ow_buffer_format(out, "#%" PRId64, value->number);
                break;
            }
            write_text(out, value->text);
            break;
        case OW_LOG_TEXT:
            write_text(out, value->text);
            break;
        }
    }
    ow_buffer_text(out, "\r\n");
}
