// SPDX-License-Identifier: GPL-3.0-or-later
// RFC 4180 records, with the line and column of each field; nothing of entries is known here.
#include "logbook/csv.h"

#include <string.h>

static bool is_line_end(int c) {
    return c == '\n' || c == '\r' || c == -1;
}

void ow_csv_begin(OwCsv *csv, const char *text, size_t size) {
    *csv = (OwCsv){.text = text, .size = size, .line = 1, .column = 1};
    if (size >= 3 && memcmp(text, "\xEF\xBB\xBF", 3) == 0) { // spreadsheets put a byte order mark in front
        csv->at = 3;
    }
    // Spreadsheets of places with a decimal comma part fields by semicolons.
    const char *line = text + csv->at;
    size_t length = 0, marks[2] = {0, 0};
    for (; length < size - csv->at && !is_line_end((unsigned char)line[length]); length++) {
        marks[0] += line[length] == ';' ? 1 : 0;
        marks[1] += line[length] == '\t' ? 1 : 0;
    }
    const bool has_comma = memchr(line, ',', length) != NULL;
    csv->separator = has_comma ? ',' : marks[0] > 0 ? ';' : marks[1] > 0 ? '\t' : ',';
}

void ow_csv_end(OwCsv *csv) {
    ow_buffer_clear(&csv->scratch);
}

static int peek(const OwCsv *csv) {
    return csv->at < csv->size ? (unsigned char)csv->text[csv->at] : -1;
}

/// Takes one byte; counts lines (LF, CR LF, CR) and characters.
static int take(OwCsv *csv) {
    const int c = (unsigned char)csv->text[csv->at++];
    if (c == '\n' || (c == '\r' && peek(csv) != '\n')) {
        csv->line++;
        csv->column = 1;
    } else if ((c & 0xC0) != 0x80 && c != '\r') {
        csv->column++;
    }
    return c;
}

static void take_line_end(OwCsv *csv) {
    if (peek(csv) == '\r') {
        (void)take(csv);
        if (peek(csv) == '\n') {
            (void)take(csv);
        }
    } else if (peek(csv) == '\n') {
        (void)take(csv);
    }
}

static OwStatus fail(OwCsv *csv, const char *wrong, int line, int column) {
    csv->wrong = wrong;
    csv->wrong_line = line;
    csv->wrong_column = column;
    while (!is_line_end(peek(csv))) {
        (void)take(csv);
    }
    take_line_end(csv);
    return OW_ERROR_SYNTAX;
}

/// A quoted field up to its closing quote.
static OwStatus read_quoted(OwCsv *csv) {
    const int line = csv->line, column = csv->column;
    (void)take(csv);
    for (;;) {
        const int c = peek(csv);
        if (c == -1) {
            return fail(csv, "a quote is opened and not closed", line, column);
        }
        if (c == 0) {
            return fail(csv, "a zero byte is no text", csv->line, csv->column);
        }
        const char byte = (char)take(csv);
        if (byte == '"') {
            if (peek(csv) != '"') {
                break;
            }
            (void)take(csv);
        }
        ow_buffer_add(&csv->scratch, &byte, 1);
    }
    if (peek(csv) != csv->separator && !is_line_end(peek(csv))) {
        return fail(csv, "text follows a closing quote", csv->line, csv->column);
    }
    return OW_OK;
}

static OwStatus read_plain(OwCsv *csv) {
    for (int c = peek(csv); c != csv->separator && !is_line_end(c); c = peek(csv)) {
        if (c == '"') {
            return fail(csv, "a quote inside a field that does not begin with one", csv->line, csv->column);
        }
        if (c == 0) {
            return fail(csv, "a zero byte is no text", csv->line, csv->column);
        }
        const char byte = (char)take(csv);
        ow_buffer_add(&csv->scratch, &byte, 1);
    }
    return OW_OK;
}

OwStatus ow_csv_next(OwCsv *csv) {
    size_t starts[OW_CSV_FIELDS];
    while (csv->at < csv->size && is_line_end(peek(csv))) {
        take_line_end(csv);
    }
    csv->count = 0;
    csv->scratch.size = 0;
    if (csv->at >= csv->size) {
        return OW_ERROR_RANGE;
    }
    for (;;) {
        if (csv->count == OW_CSV_FIELDS) {
            return fail(csv, "the line has more fields than any kind", csv->line, csv->column);
        }
        OwCsvField *field = &csv->fields[csv->count];
        starts[csv->count++] = csv->scratch.size;
        field->line = csv->line;
        field->column = csv->column;
        const OwStatus status = peek(csv) == '"' ? read_quoted(csv) : read_plain(csv);
        if (status != OW_OK) {
            return status;
        }
        ow_buffer_add(&csv->scratch, "", 1); // ends the text
        if (peek(csv) != csv->separator) {
            break;
        }
        (void)take(csv);
    }
    take_line_end(csv);
    if (csv->scratch.has_failed) {
        return OW_ERROR_MEMORY;
    }
    for (int i = 0; i < csv->count; i++) {
        csv->fields[i].text = csv->scratch.data + starts[i];
    }
    return OW_OK;
}
