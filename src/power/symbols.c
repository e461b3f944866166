// SPDX-License-Identifier: GPL-3.0-or-later
// IEC 60617 symbols in SVG, our own drawing: fuse S00362, make contact S00227, break contact S00229, coil
// S00305, lamp S00965, machine S00819, battery S01342, frame S00202, resistor S00555, heating element S00566
// (numbers from memory).
#include "power/drawing.h"

#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

void ow_drawing_add(OwDrawing *d, const char *format, ...) {
    va_list args, again;
    va_start(args, format);
    va_copy(again, args);
    const int wanted = vsnprintf(NULL, 0, format, args);
    va_end(args);
    if (wanted >= 0 && !d->failed) {
        const size_t need = d->length + (size_t)wanted + 1;
        if (need > d->capacity) {
            const size_t capacity = need * 2 > 16384 ? need * 2 : 16384;
            char *text = realloc(d->text, capacity);
            if (text) {
                d->text = text;
                d->capacity = capacity;
            } else {
                d->failed = true;
            }
        }
        if (!d->failed) {
            vsnprintf(d->text + d->length, d->capacity - d->length, format, again);
            d->length += (size_t)wanted;
        }
    }
    va_end(again);
}

void ow_drawing_escaped(OwDrawing *d, const char *text) {
    for (const char *c = text; *c; c++) {
        switch (*c) {
        case '<':
            ow_drawing_add(d, "&lt;");
            break;
        case '>':
            ow_drawing_add(d, "&gt;");
            break;
        case '&':
            ow_drawing_add(d, "&amp;");
            break;
        case '"':
            ow_drawing_add(d, "&quot;");
            break;
        default:
            ow_drawing_add(d, "%c", (unsigned char)*c < 0x20 || *c == 0x7f ? ' ' : *c);
        }
    }
}

void ow_drawing_line(OwDrawing *d, double x0, double y0, double x1, double y1) {
    ow_drawing_add(d, "<line x1=\"%.2f\" y1=\"%.2f\" x2=\"%.2f\" y2=\"%.2f\"/>\n", x0, y0, x1, y1);
}

void ow_drawing_label(OwDrawing *d, double x, double y, const char *class, const char *anchor,
                      const char *text) {
    ow_drawing_add(d, "<text x=\"%.2f\" y=\"%.2f\" class=\"%s\" text-anchor=\"%s\">", x, y, class, anchor);
    ow_drawing_escaped(d, text);
    ow_drawing_add(d, "</text>\n");
}

void ow_drawing_dot(OwDrawing *d, double x, double y) {
    ow_drawing_add(d, "<circle cx=\"%.2f\" cy=\"%.2f\" r=\"0.6\" class=\"full\"/>\n", x, y);
}

static void box(OwDrawing *d, double x, double y, double w, double h) {
    ow_drawing_add(d, "<rect x=\"%.2f\" y=\"%.2f\" width=\"%.2f\" height=\"%.2f\"/>\n", x - 0.5 * w,
                   y - 0.5 * h, w, h);
}

static void leads(OwDrawing *d, double x, double y, double half) {
    ow_drawing_line(d, x, y - 4.0, x, y - half);
    ow_drawing_line(d, x, y + half, x, y + 4.0);
}

void ow_symbol_fuse(OwDrawing *d, double x, double y) {
    box(d, x, y, 2.4, 6.0);
    ow_drawing_line(d, x, y - 4.0, x, y + 4.0);
}

void ow_symbol_fuse_flat(OwDrawing *d, double x, double y) {
    box(d, x, y, 6.0, 2.4);
    ow_drawing_line(d, x - 4.0, y, x + 4.0, y);
}

void ow_symbol_make(OwDrawing *d, double x, double y) {
    leads(d, x, y, 2.4);
    ow_drawing_line(d, x, y + 2.4, x - 2.4, y - 2.2);
}

void ow_symbol_switch(OwDrawing *d, double x, double y, bool is_button) {
    ow_symbol_make(d, x, y);
    ow_drawing_add(d, "<line x1=\"%.2f\" y1=\"%.2f\" x2=\"%.2f\" y2=\"%.2f\" class=\"link\"/>\n", x - 1.2,
                   y + 0.1, x - 5.0, y + 0.1);
    ow_drawing_line(d, x - 5.0, y - 1.1, x - 5.0, y + 1.3);
    if (is_button) { // pushed
        ow_drawing_line(d, x - 5.0, y - 1.1, x - 4.2, y - 1.1);
        ow_drawing_line(d, x - 5.0, y + 1.3, x - 4.2, y + 1.3);
    } else { // turned or tipped
        ow_drawing_line(d, x - 5.0, y - 1.1, x - 5.8, y - 1.1);
    }
}

void ow_symbol_thermostat(OwDrawing *d, double x, double y) {
    leads(d, x, y, 2.4);
    ow_drawing_line(d, x, y - 2.4, x + 1.8, y - 2.4); // fixed contact of a break contact
    ow_drawing_line(d, x, y + 2.4, x + 1.4, y - 3.0); // blade rests on it
    ow_drawing_label(d, x - 1.2, y + 1.0, "mark", "end", "ϑ");
}

void ow_symbol_cutout(OwDrawing *d, double x, double y) {
    ow_symbol_fuse(d, x, y);
    ow_drawing_label(d, x - 1.8, y + 1.0, "mark", "end", "ϑ");
}

void ow_symbol_coil(OwDrawing *d, double x, double y) {
    leads(d, x, y, 2.0);
    box(d, x, y, 7.0, 4.0);
}

void ow_symbol_heater(OwDrawing *d, double x, double y) {
    leads(d, x, y, 3.2);
    box(d, x, y, 3.2, 6.4);
    for (int i = -1; i <= 1; i++) {
        ow_drawing_line(d, x - 1.6, y + 1.6 * i, x + 1.6, y + 1.6 * i);
    }
}

void ow_symbol_resistor(OwDrawing *d, double x, double y) {
    leads(d, x, y, 3.2);
    box(d, x, y, 2.6, 6.4);
}

void ow_symbol_solenoid(OwDrawing *d, double x, double y) {
    ow_symbol_coil(d, x, y);
    ow_drawing_line(d, x - 3.5, y + 2.0, x - 0.5, y - 2.0);
}

void ow_symbol_machine(OwDrawing *d, double x, double y, const char *letter) {
    leads(d, x, y, 3.4);
    ow_drawing_add(d, "<circle cx=\"%.2f\" cy=\"%.2f\" r=\"3.4\"/>\n", x, y);
    ow_drawing_label(d, x, y + 0.9, "letter", "middle", letter);
    ow_drawing_line(d, x - 1.1, y + 1.8, x + 1.1, y + 1.8); // direct current
}

void ow_symbol_lamp(OwDrawing *d, double x, double y) {
    leads(d, x, y, 3.0);
    ow_drawing_add(d, "<circle cx=\"%.2f\" cy=\"%.2f\" r=\"3\"/>\n", x, y);
    ow_drawing_line(d, x - 2.12, y - 2.12, x + 2.12, y + 2.12);
    ow_drawing_line(d, x - 2.12, y + 2.12, x + 2.12, y - 2.12);
}

void ow_symbol_battery(OwDrawing *d, double x, double y) {
    leads(d, x, y, 2.4);
    for (int i = 0; i < 2; i++) {
        const double top = y - 2.4 + 3.2 * i;
        ow_drawing_line(d, x - 3.4, top, x + 3.4, top);
        ow_drawing_add(d, "<line x1=\"%.2f\" y1=\"%.2f\" x2=\"%.2f\" y2=\"%.2f\" class=\"thick\"/>\n",
                       x - 1.7, top + 1.6, x + 1.7, top + 1.6);
    }
    ow_drawing_add(d, "<line x1=\"%.2f\" y1=\"%.2f\" x2=\"%.2f\" y2=\"%.2f\" class=\"link\"/>\n", x, y - 0.8,
                   x, y + 0.8);
}

void ow_symbol_earth(OwDrawing *d, double x, double y) {
    ow_drawing_line(d, x, y, x, y + 2.5);
    ow_drawing_line(d, x - 3.0, y + 2.5, x + 3.0, y + 2.5);
    for (int i = -1; i <= 1; i++) {
        ow_drawing_line(d, x + 3.0 * i, y + 2.5, x + 3.0 * i - 1.4, y + 4.3);
    }
}
