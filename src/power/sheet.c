// SPDX-License-Identifier: GPL-3.0-or-later
// Which current paths the schematic has, in which order, and the lines over and under them.
#include "power/sheet.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

static void push(OwSheet *s, OwColumnKind kind, int circuit, OwFeed feed, int group) {
    if (s->count < MOST_COLUMNS) {
        s->columns[s->count++] = (OwColumn){.kind = kind, .circuit = circuit, .feed = feed, .group = group};
    }
}

/// Sources first, then each switched line with what hangs on it, then the loads on line 30.
static void list_columns(OwSheet *s) {
    const OwElectricSpec *spec = &s->power->spec;
    push(s, COLUMN_BATTERY, -1, OW_FEED_BATTERY, 0);
    if (spec->alternator.is_fitted) {
        push(s, COLUMN_ALTERNATOR, -1, OW_FEED_BATTERY, 0);
    }
    for (int i = 0; i < spec->circuit_count; i++) {
        if (spec->circuits[i].load == OW_LOAD_STARTER) {
            push(s, COLUMN_STARTER, i, OW_FEED_START, 0);
        }
    }
    int group = 0;
    for (OwFeed feed = OW_FEED_BATTERY; feed < OW_FEED_COUNT; feed++) {
        bool has_any = false;
        for (int i = 0; i < spec->circuit_count; i++) {
            const OwCircuitSpec *c = &spec->circuits[i];
            has_any = has_any || (c->load != OW_LOAD_STARTER && c->feed == feed &&
                                  (c->has_relay || feed != OW_FEED_BATTERY));
        }
        if (!has_any) {
            continue;
        }
        group++;
        push(s, COLUMN_KEY, -1, feed, group);
        for (int pass = 0; pass < 3; pass++) {
            for (int i = 0; i < spec->circuit_count; i++) {
                const OwCircuitSpec *c = &spec->circuits[i];
                if (c->load == OW_LOAD_STARTER || c->feed != feed) {
                    continue;
                }
                if (pass == 0 && c->has_relay && c->has_hold) {
                    push(s, COLUMN_HOLD, i, feed, group);
                } else if (pass == 2 && c->has_relay) {
                    push(s, COLUMN_COIL, i, feed, group);
                } else if (pass == 1 && !c->has_relay && feed != OW_FEED_BATTERY) {
                    push(s, COLUMN_DIRECT, i, feed, group);
                }
            }
        }
    }
    for (int i = 0; i < spec->circuit_count; i++) {
        const OwCircuitSpec *c = &spec->circuits[i];
        if (c->load != OW_LOAD_STARTER && (c->has_relay || c->feed == OW_FEED_BATTERY)) {
            push(s, COLUMN_LOAD, i, OW_FEED_BATTERY, 0);
        }
    }
}

/// Columns to rows and rows to pages.
static void place_columns(OwSheet *s) {
    s->rows = (s->count + COLUMNS_A_ROW - 1) / COLUMNS_A_ROW;
    const int each = (s->count + s->rows - 1) / s->rows;
    const double first = EDGE + 13.0,
                 pitch = fmin(24.0, (PAGE_W - 2.0 * EDGE - 22.0) / (each > 1 ? each - 0.5 : 1));
    for (int i = 0; i < s->count; i++) {
        s->columns[i].row = i / each;
        s->columns[i].x = first + pitch * (i % each);
    }
    for (int r = 0; r < s->rows; r++) {
        const double page = PAGE_H * (r / ROWS_A_PAGE);
        const bool is_alone = s->rows == 1;
        s->top[r] = page + (is_alone ? 28.0 : 24.0 + 87.0 * (r % ROWS_A_PAGE));
        s->bottom[r] = s->top[r] + (is_alone ? 132.0 : 64.0);
    }
}

double ow_sheet_level(const OwSheet *s, int row, double share) {
    return s->top[row] + share * (s->bottom[row] - s->top[row]);
}

int ow_sheet_columns_a_row(const OwSheet *s) {
    return (s->count + s->rows - 1) / s->rows;
}

void ow_sheet_plan(OwSheet *s) {
    list_columns(s);
    place_columns(s);
}

/// The section and colour of the wire of a circuit that starts at a given end; empty when there is none.
void ow_sheet_wire(const OwSheet *s, int circuit, const char *from, char *text, size_t size) {
    text[0] = '\0';
    for (int i = 0; i < s->schedule->wire_count; i++) {
        const OwWireRow *w = &s->schedule->wires[i];
        if (w->circuit == circuit && strncmp(w->from, from, strlen(from)) == 0) {
            char area[24];
            ow_wire_text(w->area_m2, s->power->spec.has_us_sizes, area, sizeof area);
            char *unit = strstr(area, " mm2"); // the legend says so
            if (unit) {
                *unit = '\0';
            }
            snprintf(text, size, "%s %s", area, w->colour);
            return;
        }
    }
}

/// Lines 30 and 31 of a row and the switched lines in it.
void ow_sheet_rails(OwSheet *s, int row) {
    OwDrawing *d = &s->drawing;
    double left = 1e9, right = 0.0, sources_end = 0.0, board_start = 1e9, last_above = 0.0;
    for (int i = 0; i < s->count; i++) {
        const OwColumn *c = &s->columns[i];
        if (c->row != row) {
            continue;
        }
        left = fmin(left, c->x);
        right = fmax(right, c->x);
        if (c->kind <= COLUMN_STARTER) {
            sources_end = fmax(sources_end, c->x);
        } else {
            board_start = fmin(board_start, c->x);
        }
        if (c->kind == COLUMN_KEY || c->kind == COLUMN_HOLD || c->kind == COLUMN_LOAD ||
            c->kind <= COLUMN_STARTER) {
            last_above = fmax(last_above, c->x);
        }
    }
    const double top = s->top[row], bottom = s->bottom[row];
    const double from = row > 0 ? EDGE + 5.0 : left;
    const double to = row + 1 < s->rows ? PAGE_W - EDGE - 6.0 : last_above;
    if (sources_end > 0.0 && board_start < 1e9) {
        const double fuse = 0.5 * (sources_end + board_start);
        char text[24];
        ow_drawing_line(d, from, top, fuse - 4.0, top);
        ow_symbol_fuse_flat(d, fuse, top);
        ow_drawing_line(d, fuse + 4.0, top, to, top);
        snprintf(text, sizeof text, "F00 %.3g A%s", s->power->spec.main.fuse_a,
                 s->power->spec.main.has_no_fuse ? " to fit" : "");
        ow_drawing_label(d, fuse, top - 2.2, "mark", "middle", text);
        ow_sheet_wire(s, -1, "G1:+", text, sizeof text);
        ow_drawing_label(d, fuse, top + 4.0, "wire", "middle", text);
    } else {
        ow_drawing_line(d, from, top, to, top);
    }
    ow_drawing_line(d, row > 0 ? from : left, bottom, row + 1 < s->rows ? to : right, bottom);
    ow_drawing_label(d, from - 1.5, top + 0.9, "rail", "end", "30");
    ow_drawing_label(d, (row > 0 ? from : left) - 1.5, bottom + 0.9, "rail", "end", "31");
    if (row == 0) {
        ow_symbol_earth(d, left, bottom);
    }
    for (int i = 0; i < s->count; i++) { // each switched line from its first to its last column in this row
        const OwColumn *c = &s->columns[i];
        const bool is_first = c->group > 0 && c->row == row &&
                              (i == 0 || s->columns[i - 1].group != c->group || s->columns[i - 1].row != row);
        if (!is_first) {
            continue;
        }
        int last = i;
        while (last + 1 < s->count && s->columns[last + 1].group == c->group &&
               s->columns[last + 1].row == row) {
            last++;
        }
        const double y = ow_sheet_level(s, row, AT_LINE);
        const bool comes = i > 0 && s->columns[i - 1].group == c->group;
        const bool goes = last + 1 < s->count && s->columns[last + 1].group == c->group;
        const double start = comes ? EDGE + 3.0 : c->x, end = goes ? PAGE_W - EDGE - 6.0 : s->columns[last].x;
        bool is_below = false; // where nothing hangs; a hold button stands above the line
        double fuse = -1.0;    // the coils' own fuse lies on the line before the first of them
        for (int k = i; k <= last && c->feed != OW_FEED_BATTERY; k++) {
            if (s->columns[k].kind == COLUMN_COIL && k > 0 && s->columns[k - 1].kind != COLUMN_COIL) {
                fuse = s->columns[k].x - (k > i ? 0.5 * (s->columns[k].x - s->columns[k - 1].x) : 5.0);
                is_below = s->columns[k - 1].kind == COLUMN_HOLD;
            }
        }
        if (fuse > 0.0) {
            char text[24];
            ow_drawing_line(d, start, y, fuse - 4.0, y);
            ow_symbol_fuse_flat(d, fuse, y);
            ow_drawing_line(d, fuse + 4.0, y, end, y);
            snprintf(text, sizeof text, "F0/%s 5 A", ow_feed_terminal(c->feed));
            ow_drawing_label(d, fuse, y + (is_below ? 4.2 : -2.6), "mark", "middle", text);
        } else {
            ow_drawing_line(d, start, y, end, y);
        }
        if (comes && c->kind == COLUMN_COIL && s->columns[i - 1].kind == COLUMN_COIL) {
            char text[32]; // the fuse lies on the row before
            snprintf(text, sizeof text, "behind F0/%s", ow_feed_terminal(c->feed));
            ow_drawing_label(d, start + 0.5, y - 1.2, "wire", "start", text);
        }
        ow_drawing_label(d, start - 1.5, y + 0.9, "rail", "end", ow_feed_terminal(c->feed));
    }
}

void ow_sheet_title(OwSheet *s, const char *title, int pages) {
    OwDrawing *d = &s->drawing;
    for (int page = 0; page < pages; page++) {
        const double y = PAGE_H * page;
        ow_drawing_add(d, "<rect x=\"5\" y=\"%.1f\" width=\"287\" height=\"200\" class=\"frame\"/>\n",
                       y + 5.0);
        ow_drawing_label(d, EDGE + 1.0, y + 13.5, "title", "start", title);
        char text[64];
        snprintf(text, sizeof text, "%.0f V, sheet %d of %d", s->power->spec.system_v, page + 1, pages);
        ow_drawing_label(d, PAGE_W - EDGE - 1.0, y + 13.5, "name", "end", text);
        ow_drawing_label(d, EDGE + 1.0, y + 197.0, "small", "start",
                         s->power->spec.has_us_sizes ? "Drawn at rest, key out. Wire: size, colour letters "
                                                       "IEC 60757. Terminals DIN 72552. Symbols IEC 60617."
                                                     : "Drawn at rest, key out. Wire: mm², colour letters "
                                                       "IEC 60757. Terminals DIN 72552. Symbols IEC 60617.");
        ow_drawing_label(d, EDGE + 1.0, y + 201.0, "small", "start",
                         "Battery negative off before work; fuses beside the battery and the board; local "
                         "codes and a licensed "
                         "practice have the last word.");
    }
}
