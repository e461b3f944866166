// SPDX-License-Identifier: GPL-3.0-or-later
// One table of a written reference: a row a key, with default, range and meaning.
#include "rig/catalogue.h"

#include <string.h>

static void write_metric(const OwField *field, double value, char *text, size_t size) {
    ow_field_write(field, value, OW_DISPLAY_METRIC, text, size);
}

/// A document of several lines on one.
static void write_line(FILE *out, const char *text) {
    for (const char *c = text; *c != '\0'; c++) {
        (void)fputc(*c == '\n' ? ' ' : *c, out);
    }
}

void ow_table_write(FILE *out, OwFieldTable table, const OwSpecialKey *special, OwFieldWriter *write) {
    write = write != NULL ? write : write_metric;
    if (table.count == 0 && (special == NULL || special->key == NULL)) {
        return;
    }
    (void)fprintf(out, "\n| key | default | from | to | what it is |\n|---|---|---|---|---|\n");
    for (int i = 0; i < table.count; i++) {
        const OwField *field = &table.rows[i];
        char text[64] = "", low[64] = "", high[64] = "";
        write(field, field->fallback, text, sizeof text);
        if (field->type == OW_FIELD_REAL || field->type == OW_FIELD_COUNT) {
            OwField plain = *field; // an end of the range is a number, never "none"
            plain.none = false;
            write(&plain, field->low, low, sizeof low);
            write(&plain, field->high, high, sizeof high);
        }
        (void)fprintf(out, "| %s | %s | %s | %s | ", field->key, text, low, high);
        if (field->type == OW_FIELD_CHOICE && strcmp(field->key, "material") == 0) {
            for (int k = 0; field->choices[k] != NULL; k++) {
                (void)fprintf(out, "%s%s", k > 0 ? ", " : "", field->choices[k]);
            }
            (void)fprintf(out, "; ");
        }
        write_line(out, field->doc);
        if (field->bare != NULL) {
            (void)fprintf(out, "; a bare number is in %s", field->bare);
        }
        (void)fprintf(out, " |\n");
    }
    for (; special != NULL && special->key != NULL; special++) {
        (void)fprintf(out, "| %s | | | | ", special->key);
        write_line(out, special->doc);
        (void)fprintf(out, " |\n");
    }
}
