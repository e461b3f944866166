// SPDX-License-Identifier: GPL-3.0-or-later
// A comparison as a table: three designs side by side, further ones below, at most 100 columns.
#include "compare_report.h"

#include <jansson.h>
#include <stdlib.h>
#include <string.h>

#include "report_text.h"

#define LABEL_WIDTH 31
#define CELL_WIDTH 23
#define SIDE_BY_SIDE 3

static const char *grade_word(const OwAnswer *v) {
    switch (v->grade) {
    case OW_GRADE_GOOD:
        return "ok";
    case OW_GRADE_TIGHT:
        return v->has_limit && v->has_value && v->margin < 0.0 ? "WATCH" : "TIGHT";
    case OW_GRADE_BAD:
        return "BAD";
    case OW_GRADE_IMPOSSIBLE:
        return "NEVER";
    default:
        return "?";
    }
}

static void put(const OwReport *out, char *line, size_t size, const char *text, int width) {
    char plain[256], cell[256];
    ow_report_plain(plain, sizeof plain, text, out->is_ascii);
    ow_report_fit(cell, sizeof cell, plain, width, false);
    const size_t used = strlen(line);
    (void)snprintf(line + used, size - used, "%s", cell);
}

static void write_value(const OwAnswer *v, double value, OwDisplay display, char *text, size_t size) {
    if (v->kind == OW_ANSWER_FILL || v->kind == OW_ANSWER_DELIVERY || v->kind == OW_ANSWER_FULL_LOAD) {
        (void)snprintf(text, size, "%.3g %%", 100.0 * value); // shares
    } else {
        ow_report_value(v, value, display, text, size);
    }
}

/// Cuts the unit off a limit that has the same one as the value beside it.
static void share_unit(const char *value, char *limit) {
    char *unit = strrchr(limit, ' ');
    const char *own = strrchr(value, ' ');
    if (unit != NULL && own != NULL && strcmp(unit, own) == 0 && strchr(limit, ' ') == unit) {
        *unit = '\0';
    }
}

static void write_cell(const OwAnswer *v, bool is_best, OwDisplay display, char *text, size_t size) {
    char value[48] = "", limit[48] = "", both[112];
    if (v == NULL) {
        (void)snprintf(text, size, "  -");
        return;
    }
    if (v->has_value) {
        write_value(v, v->value, display, value, sizeof value);
    }
    if (v->has_limit) {
        write_value(v, v->limit, display, limit, sizeof limit);
        share_unit(value, limit);
    }
    if (!v->has_value && (v->kind == OW_ANSWER_READY || v->kind == OW_ANSWER_START)) {
        (void)snprintf(value, sizeof value, "never");
    }
    (void)snprintf(both, sizeof both, "%s %s%s%s%s", grade_word(v), value, v->has_limit ? " (" : "", limit,
                   v->has_limit ? ")" : "");
    if (ow_report_width(both) > CELL_WIDTH - 3) {
        (void)snprintf(both, sizeof both, "%s %s", grade_word(v), value);
    }
    (void)snprintf(text, size, "%s %s", is_best ? "*" : " ", both);
}

static void write_fact(const OwReport *out, const OwComparison *c, int first, int last, const char *label,
                       void (*write)(const OwCompareFacts *facts, OwDisplay display, char *text, size_t size),
                       OwDisplay display) {
    char line[512] = "", text[64];
    put(out, line, sizeof line, label, LABEL_WIDTH);
    for (int i = first; i < last; i++) {
        char cell[80];
        write(&c->facts[i], display, text, sizeof text);
        (void)snprintf(cell, sizeof cell, "  %s", text);
        put(out, line, sizeof line, cell, CELL_WIDTH);
    }
    ow_report_line(out, "%s", line);
}

static void parts_text(const OwCompareFacts *f, OwDisplay display, char *text, size_t size) {
    (void)display;
    (void)snprintf(text, size, "%d, %d heater%s", f->parts, f->heaters, f->heaters == 1 ? "" : "s");
}

static void points_text(const OwCompareFacts *f, OwDisplay display, char *text, size_t size) {
    (void)display;
    (void)snprintf(text, size, "%d", f->single_points);
}

static void amps_text(const OwCompareFacts *f, OwDisplay display, char *text, size_t size) {
    ow_units_write(f->peak_a, OW_Q_CURRENT, display, text, size);
}

static void price_text(const OwCompareFacts *f, OwDisplay display, char *text, size_t size) {
    (void)display;
    if (!(f->price > 0.0)) {
        (void)snprintf(text, size, "not given");
    } else if (f->unpriced > 0) {
        (void)snprintf(text, size, "%.6g, %d unpriced", f->price, f->unpriced);
    } else {
        (void)snprintf(text, size, "%.6g", f->price);
    }
}

/// Names over as many lines as the longest needs, broken between words where one fits.
static void write_names(const OwReport *out, const OwComparison *c, int first, int last) {
    const char *rest[OW_COMPARE_MAX];
    char names[OW_COMPARE_MAX][2 * OW_NAME_SIZE];
    bool is_more = true;
    for (int i = first; i < last; i++) {
        ow_report_plain(names[i], sizeof names[i], c->judgements[i]->record->rig->name, out->is_ascii);
        rest[i] = names[i];
    }
    for (int row = 0; is_more; row++) {
        char line[512] = "";
        is_more = false;
        put(out, line, sizeof line, "", LABEL_WIDTH);
        for (int i = first; i < last; i++) {
            size_t bytes = 0, space = 0;
            int columns = 0;
            while (rest[i][bytes] != '\0' && columns <= CELL_WIDTH - 5) {
                space = rest[i][bytes] == ' ' ? bytes : space;
                bytes++;
                columns += ((unsigned char)rest[i][bytes] & 0xC0) != 0x80;
            }
            if (rest[i][bytes] != '\0') { // the last column may not be used up
                bytes = space > 0 ? space : bytes;
            }
            char cell[200];
            (void)snprintf(cell, sizeof cell, "  %c %.*s", row == 0 ? 'A' + i : ' ', (int)bytes, rest[i]);
            put(out, line, sizeof line, cell, CELL_WIDTH);
            rest[i] += bytes;
            while (*rest[i] == ' ') {
                rest[i]++;
            }
            is_more = is_more || *rest[i] != '\0';
        }
        ow_report_line(out, "%s", line);
    }
}

static void write_block(const OwReport *out, const OwComparison *c, int first, int last, OwDisplay display) {
    char line[512] = "";
    write_names(out, c, first, last);
    for (int r = 0; r < c->row_count; r++) {
        const OwCompareRow *row = &c->rows[r];
        if (row->kind == OW_ANSWER_RUN) {
            continue; // worth a line only when it went wrong
        }
        line[0] = '\0';
        put(out, line, sizeof line,
            row->kind == OW_ANSWER_FULL_LOAD ? "power at full load: lost" : ow_judge_kind_text(row->kind),
            LABEL_WIDTH);
        for (int i = first; i < last; i++) {
            char cell[128];
            write_cell(row->cells[i], row->is_ranked && !row->is_tie && row->is_best[i], display, cell,
                       sizeof cell);
            put(out, line, sizeof line, cell, CELL_WIDTH);
        }
        ow_report_line(out, "%s", line);
    }
    write_fact(out, c, first, last, "parts", parts_text, display);
    write_fact(out, c, first, last, "parts without a way round", points_text, display);
    write_fact(out, c, first, last, "current before the start", amps_text, display);
    write_fact(out, c, first, last, "price of the parts", price_text, display);
}

void ow_compare_report(FILE *file, const OwComparison *c, OwDisplay display, bool is_ascii) {
    const OwReport out = {.file = file, .is_ascii = is_ascii, .judgement = c->judgements[0]};
    ow_report_paragraph(&out, c->headline, 0);
    for (int i = 0; i < c->count; i++) {
        char line[OW_ANSWER_TEXT + 128];
        (void)snprintf(line, sizeof line, "%c %s: %s", 'A' + i, c->judgements[i]->record->rig->name,
                       c->judgements[i]->headline);
        ow_report_paragraph(&out, line, 2);
    }
    for (int first = 0; first < c->count; first += SIDE_BY_SIDE) {
        ow_report_line(&out, "%s", "");
        write_block(&out, c, first, first + SIDE_BY_SIDE < c->count ? first + SIDE_BY_SIDE : c->count,
                    display);
    }
    ow_report_line(&out,
                   "value (limit); * better than the rest; TIGHT: within the limit with little to spare;");
    ow_report_line(&out, "WATCH: past it for a while, or something to look after");
    char outs[64] = "";
    int out_count = 0;
    for (int i = 0; i < c->count; i++) {
        if (c->facts[i].is_out) {
            const size_t used = strlen(outs);
            (void)snprintf(outs + used, sizeof outs - used, "%s%c", out_count++ > 0 ? ", " : "", 'A' + i);
        }
    }
    if (out_count > 0 && out_count < c->count) {
        char line[200];
        (void)snprintf(line, sizeof line,
                       "%s: does not start or starves on the drive, so best in nothing, however quiet its "
                       "pumps and cool its hoses.",
                       outs);
        ow_report_paragraph(&out, line, 2);
    }
    ow_report_line(&out, "%s", "");
    for (int i = 0; i < c->count; i++) {
        if (c->better[i][0] != '\0') {
            char line[3 * OW_ANSWER_TEXT + 64];
            (void)snprintf(line, sizeof line, "%c is best in: %s.", 'A' + i, c->better[i]);
            ow_report_paragraph(&out, line, 2);
        }
    }
    if (c->ties[0] != '\0') {
        char line[3 * OW_ANSWER_TEXT + 64];
        (void)snprintf(line, sizeof line, "They tie in: %s.", c->ties);
        ow_report_paragraph(&out, line, 2);
    }
    char caution[640] = "", line[700];
    for (int i = 0; i < c->count && caution[0] == '\0'; i++) {
        ow_report_caution(c->judgements[i], caution, sizeof caution);
    }
    (void)snprintf(line, sizeof line, "Caution, of A: %s", caution);
    ow_report_paragraph(&out, line, 2);
}

static json_t *cell_json(const OwAnswer *v, bool is_best) {
    if (v == NULL) {
        return json_null();
    }
    json_t *o =
        json_pack("{s:s,s:b,s:s}", "grade", ow_judge_grade_text(v->grade), "best", is_best, "text", v->text);
    if (o != NULL) {
        json_object_set_new(o, "value", v->has_value ? json_real(v->value) : json_null());
        json_object_set_new(o, "limit", v->has_limit ? json_real(v->limit) : json_null());
        json_object_set_new(o, "margin", v->has_limit ? json_real(v->margin) : json_null());
    }
    return o;
}

OwStatus ow_compare_json(FILE *file, const OwComparison *c) {
    json_t *designs = json_array(), *answers = json_array();
    for (int i = 0; i < c->count; i++) {
        const OwCompareFacts *f = &c->facts[i];
        const OwJudgement *j = c->judgements[i];
        OwReportCaution caution[OW_REPORT_CAUTIONS];
        json_t *cautions = json_array();
        const int caution_count = ow_report_caution_list(j, caution);
        for (int k = 0; k < caution_count; k++) {
            json_array_append_new(cautions, json_string(caution[k].text));
        }
        json_array_append_new(
            designs, json_pack("{s:s,s:s,s:s,s:s,s:b,s:i,s:i,s:i,s:i,s:f,s:f,s:i,s:s,s:o}", "name",
                               j->record->rig->name, "file", j->record->rig->file, "grade",
                               ow_judge_grade_text(j->grade), "headline", j->headline, "out", f->is_out,
                               "parts", f->parts, "heaters", f->heaters, "single_points", f->single_points,
                               "broken", f->broken, "peak_a", f->peak_a, "price", f->price, "unpriced",
                               f->unpriced, "best_in", c->better[i], "cautions", cautions));
    }
    for (int r = 0; r < c->row_count; r++) {
        const OwCompareRow *row = &c->rows[r];
        json_t *cells = json_array();
        for (int i = 0; i < c->count; i++) {
            json_array_append_new(cells, cell_json(row->cells[i], row->is_ranked && row->is_best[i]));
        }
        json_array_append_new(answers,
                              json_pack("{s:s,s:s,s:b,s:b,s:o}", "kind", ow_judge_kind_key(row->kind),
                                        "label", ow_judge_kind_text(row->kind), "ranked", row->is_ranked,
                                        "tie", row->is_tie, "cells", cells));
    }
    json_t *root =
        json_pack("{s:s,s:i,s:s,s:s,s:o,s:o}", "format", "oilwright-compare", "format_version", 1, "headline",
                  c->headline, "ties", c->ties, "designs", designs, "answers", answers);
    char *text = root != NULL ? json_dumps(root, JSON_INDENT(1)) : NULL;
    json_decref(root);
    if (text == NULL) {
        return OW_ERROR_MEMORY;
    }
    fprintf(file, "%s\n", text);
    free(text);
    return OW_OK;
}
