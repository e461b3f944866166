// SPDX-License-Identifier: GPL-3.0-or-later
// Any bytes as a CSV file of a kind (the first byte says which): what reads as entries is within the rules,
// and written out it reads back to the same bytes.
#include "logbook/csv.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

static void must(bool is_good) {
    if (!is_good) {
        abort();
    }
}

/// Reads all entries of a text; writes those without fault to `out`. Returns how many faults there were.
static int read_text(OwLogKind kind, const char *text, size_t size, OwBuffer *out, int *entries) {
    OwFaults faults = {0};
    OwCsv csv;
    OwCsvMap map = {0};
    OwCsvTeller teller = {.faults = &faults, .file = "fuzz.csv"};
    bool has_headings = false;
    int last_line = 0, wrong = 0;
    ow_csv_begin(&csv, text, size);
    for (OwStatus status = ow_csv_next(&csv); status != OW_ERROR_RANGE; status = ow_csv_next(&csv)) {
        must(status == OW_OK || status == OW_ERROR_SYNTAX);
        if (status == OW_ERROR_SYNTAX) {
            must(csv.wrong != NULL && csv.wrong_line >= 1 && csv.wrong_column >= 1);
            wrong++;
            continue;
        }
        must(csv.count >= 1 && csv.count <= OW_CSV_FIELDS && csv.fields[0].line > last_line);
        last_line = csv.fields[0].line;
        if (!has_headings) {
            ow_csv_headings(&csv, kind, &map, &teller);
            has_headings = true;
            if (teller.told > 0) {
                break;
            }
            ow_csv_write_headings(out, kind);
            continue;
        }
        OwLogEntry entry;
        const int before = teller.told;
        ow_csv_entry(&csv, &map, &entry, &teller);
        if (teller.told == before) {
            const OwLogKindRow *row = ow_log_kind(kind);
            for (int i = 0; i < row->field_count; i++) {
                must(!entry.values[i].is_set || row->fields[i].type != OW_LOG_QUANTITY ||
                     isfinite(entry.values[i].si));
                must(entry.values[i].is_set || !row->fields[i].is_required);
            }
            (*entries)++;
            ow_csv_write_entry(out, &entry);
        }
    }
    for (size_t i = 0; i < faults.count; i++) {
        must(faults.items[i].line >= 1 && faults.items[i].column >= 1 && faults.items[i].message[0] != '\0');
    }
    wrong += teller.told;
    ow_faults_clear(&faults);
    ow_csv_end(&csv);
    return wrong;
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size) {
    if (size < 1 || size > 20000) {
        return 0;
    }
    const OwLogKind kind = (OwLogKind)(1 + data[0] % (OW_LOG_KINDS - 1));
    OwBuffer once = {0}, twice = {0}, text = {0};
    int entries = 0, again = 0;
    // The headings of the kind go in front, unless the bytes bring their own: else hardly any text gets past
    // them.
    if (data[0] < 128) {
        ow_csv_write_headings(&text, kind);
    }
    ow_buffer_add(&text, (const char *)data + 1, size - 1);
    (void)read_text(kind, text.data == NULL ? "" : text.data, text.size, &once, &entries);
    if (entries > 0) {
        must(read_text(kind, once.data, once.size, &twice, &again) == 0);
        must(again == entries && once.size == twice.size && memcmp(once.data, twice.data, once.size) == 0);
    }
    ow_buffer_clear(&once);
    ow_buffer_clear(&twice);
    ow_buffer_clear(&text);
    return 0;
}
