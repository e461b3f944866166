// SPDX-License-Identifier: GPL-3.0-or-later
// A growing SVG text and the IEC 60617 symbols drawn into it. Private.
#ifndef OW_POWER_DRAWING_H
#define OW_POWER_DRAWING_H

#include "oilwright/base.h"

/// SVG text under way; `failed` stays true once memory has run out.
typedef struct OwDrawing {
    char *text;
    size_t length, capacity;
    bool failed;
} OwDrawing;

void ow_drawing_add(OwDrawing *d, const char *format, ...) __attribute__((format(printf, 2, 3)));
/// Text with XML marks written out; control characters become spaces.
void ow_drawing_escaped(OwDrawing *d, const char *text);
void ow_drawing_line(OwDrawing *d, double x0, double y0, double x1, double y1);
/// A label; `class` is a CSS class of the sheet, anchor "start", "middle" or "end".
void ow_drawing_label(OwDrawing *d, double x, double y, const char *class, const char *anchor,
                      const char *text);
void ow_drawing_dot(OwDrawing *d, double x, double y);

// Symbols stand on a vertical wire at x, centred at y; each is 8 mm high and draws its own piece of wire. IEC
// 60617 numbers in symbols.c.
#define OW_SYMBOL_MM 8.0
void ow_symbol_fuse(OwDrawing *d, double x, double y);
void ow_symbol_make(OwDrawing *d, double x, double y);
void ow_symbol_switch(OwDrawing *d, double x, double y, bool is_button);
void ow_symbol_thermostat(OwDrawing *d, double x, double y);
void ow_symbol_cutout(OwDrawing *d, double x, double y);
void ow_symbol_coil(OwDrawing *d, double x, double y);
void ow_symbol_heater(OwDrawing *d, double x, double y);
void ow_symbol_resistor(OwDrawing *d, double x, double y);
void ow_symbol_solenoid(OwDrawing *d, double x, double y);
void ow_symbol_machine(OwDrawing *d, double x, double y, const char *letter);
void ow_symbol_lamp(OwDrawing *d, double x, double y);
void ow_symbol_battery(OwDrawing *d, double x, double y);
void ow_symbol_earth(OwDrawing *d, double x, double y);
/// A fuse lying on a horizontal wire.
void ow_symbol_fuse_flat(OwDrawing *d, double x, double y);

#endif
