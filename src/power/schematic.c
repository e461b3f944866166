// SPDX-License-Identifier: GPL-3.0-or-later
// The schematic: current paths side by side between line 30 above and line 31 below, relays in detached
// representation, so that no wire crosses another: each switched line hangs over its own paths only.
#include "power/sheet.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static void wire_label(OwSheet *s, double x, double y, int circuit, const char *format, int number) {
    char from[48], text[40];
    snprintf(from, sizeof from, format, number);
    ow_sheet_wire(s, circuit, from, text, sizeof text);
    if (text[0]) {
        ow_drawing_label(&s->drawing, x + 0.9, y + 0.8, "wire", "start", text);
    }
}

/// A vertical wire between two heights.
static void drop(OwSheet *s, double x, double y0, double y1) {
    if (y1 > y0) {
        ow_drawing_line(&s->drawing, x, y0, x, y1);
    }
}

static void mark(OwSheet *s, double x, double y, const char *first, const char *second) {
    ow_drawing_label(&s->drawing, x, second[0] ? y - 0.3 : y + 0.9, "mark", "start", first);
    if (second[0]) {
        ow_drawing_label(&s->drawing, x, y + 2.5, "small", "start", second);
    }
}

static void terminal(OwSheet *s, double x, double y, const char *text) {
    ow_drawing_label(&s->drawing, x - 0.8, y, "pin", "end", text);
}

/// Name under a column, broken at spaces or after `most` characters, three lines at most.
static void name_under(OwSheet *s, double x, double y, const char *name, int most) {
    const char *p = name;
    for (int line = 0; line < 3 && *p; line++) {
        int taken = 0, letters = 0, last_space = 0;
        while (p[taken] && letters < most) {
            taken++;
            while ((p[taken] & 0xC0) == 0x80) {
                taken++;
            }
            letters++;
            if (p[taken] == ' ' || p[taken] == '/' || p[taken] == '\0') {
                last_space = taken + (p[taken] == '/');
            }
        }
        if (p[taken] && last_space > 0) {
            taken = last_space;
        }
        char text[OW_NAME_SIZE + 1];
        snprintf(text, sizeof text, "%.*s", taken, p);
        ow_drawing_label(&s->drawing, x, y + 2.9 * line, "name", "middle", text);
        p += taken;
        while (*p == ' ') {
            p++;
        }
    }
}

static void load_symbol(OwSheet *s, const OwColumn *c, double y) {
    OwDrawing *d = &s->drawing;
    switch (s->power->spec.circuits[c->circuit].load) {
    case OW_LOAD_HEATER:
    case OW_LOAD_GLOW:
        ow_symbol_heater(d, c->x, y);
        break;
    case OW_LOAD_PUMP:
    case OW_LOAD_STARTER:
        ow_symbol_machine(d, c->x, y, "M");
        break;
    case OW_LOAD_VALVE:
        ow_symbol_solenoid(d, c->x, y);
        break;
    case OW_LOAD_LAMP:
        ow_symbol_lamp(d, c->x, y);
        break;
    default:
        ow_symbol_resistor(d, c->x, y);
    }
}

static void load_foot(OwSheet *s, const OwColumn *c, double y) {
    const OwElectricSpec *spec = &s->power->spec;
    char name[8], amps[24];
    ow_power_load_mark(spec, c->circuit, name, sizeof name);
    snprintf(amps, sizeof amps, "%.3g A", s->power->sizing[c->circuit].running_a);
    load_symbol(s, c, y);
    mark(s, c->x + 4.2, y, name, amps);
    drop(s, c->x, y + 4.0, s->bottom[c->row]);
    ow_drawing_dot(&s->drawing, c->x, s->bottom[c->row]);
    char from[16];
    snprintf(from, sizeof from, "%s:-", name);
    char text[40];
    ow_sheet_wire(s, c->circuit, from, text, sizeof text);
    if (text[0]) {
        ow_drawing_label(&s->drawing, c->x + 0.9, 0.5 * (y + 4.0 + s->bottom[c->row]) + 0.8, "wire", "start",
                         text);
    }
}

static void cutout_here(OwSheet *s, const OwColumn *c, double y) {
    char name[16], limit[24];
    snprintf(name, sizeof name, "F%dT", c->circuit + 1);
    const double celsius = s->power->spec.circuits[c->circuit].cutout_k - OW_ZERO_CELSIUS_K;
    const bool is_us = s->power->spec.has_us_sizes;
    snprintf(limit, sizeof limit, is_us ? "%.0f °F" : "%.0f °C", is_us ? 1.8 * celsius + 32.0 : celsius);
    ow_symbol_cutout(&s->drawing, c->x, y);
    mark(s, c->x + 2.0, y, name, limit);
}

static void fuse_here(OwSheet *s, const OwColumn *c, double above, double y) {
    char name[16], amps[24];
    snprintf(name, sizeof name, "F%d", c->circuit + 1);
    const OwCircuitSpec *fused = &s->power->spec.circuits[c->circuit];
    snprintf(amps, sizeof amps, "%.3g A%s", fused->fuse_a, fused->has_no_fuse ? " to fit" : "");
    drop(s, c->x, above, y - 4.0);
    ow_symbol_fuse(&s->drawing, c->x, y);
    mark(s, c->x + 2.0, y, name, amps);
    ow_drawing_dot(&s->drawing, c->x, above);
}

/// A load behind a relay's contact, on line 30.
static void relay_column(OwSheet *s, const OwColumn *c) {
    const OwCircuitSpec *spec = &s->power->spec.circuits[c->circuit];
    const double fuse = ow_sheet_level(s, c->row, AT_FUSE), contact = ow_sheet_level(s, c->row, AT_CONTACT);
    const double limit = ow_sheet_level(s, c->row, AT_LIMITER), load = ow_sheet_level(s, c->row, AT_LOAD);
    char name[16];
    fuse_here(s, c, s->top[c->row], fuse);
    drop(s, c->x, fuse + 4.0, contact - 4.0);
    wire_label(s, c->x, 0.5 * (fuse + contact), c->circuit, "F%d out", c->circuit + 1);
    snprintf(name, sizeof name, "K%d", c->circuit + 1);
    ow_symbol_make(&s->drawing, c->x, contact);
    terminal(s, c->x, contact - 2.9, "30");
    terminal(s, c->x, contact + 4.6, "87");
    mark(s, c->x + 1.6, contact, name, "");
    const bool has_cutout = spec->cutout_k > 0.0;
    drop(s, c->x, contact + 4.0, has_cutout ? limit - 4.0 : load - 4.0);
    wire_label(s, c->x, 0.5 * (contact + (has_cutout ? limit : load)), c->circuit, "K%d:87", c->circuit + 1);
    if (has_cutout) {
        cutout_here(s, c, limit);
        drop(s, c->x, limit + 4.0, load - 4.0);
    }
    load_foot(s, c, load);
}

/// A load on a line of its own: fuse, hand switch, thermostat and cut-out as far as it has them, evenly
/// spaced.
static void direct_column(OwSheet *s, const OwColumn *c, double line) {
    const OwCircuitSpec *spec = &s->power->spec.circuits[c->circuit];
    const double load = ow_sheet_level(s, c->row, AT_LOAD);
    const int count = 1 + spec->has_switch + spec->has_thermostat + (spec->cutout_k > 0.0);
    const double pitch = (load - 4.0 - line) / (count + (count < 3)), first = line + 0.5 * pitch + 0.5;
    char name[16];
    int k = 0;
    fuse_here(s, c, line, first);
    double y = first;
    if (spec->has_switch) {
        const double at = first + pitch * ++k;
        snprintf(name, sizeof name, "S%d", c->circuit + 1);
        drop(s, c->x, y + 4.0, at - 4.0);
        ow_symbol_switch(&s->drawing, c->x, at, false);
        mark(s, c->x + 1.6, at, name, "");
        y = at;
    }
    if (spec->has_thermostat) {
        const double at = first + pitch * ++k;
        snprintf(name, sizeof name, "B%d", c->circuit + 1);
        drop(s, c->x, y + 4.0, at - 4.0);
        ow_symbol_thermostat(&s->drawing, c->x, at);
        mark(s, c->x + 2.2, at, name, "");
        y = at;
    }
    if (spec->cutout_k > 0.0) {
        const double at = first + pitch * ++k;
        drop(s, c->x, y + 4.0, at - 4.0);
        cutout_here(s, c, at);
        y = at;
    }
    drop(s, c->x, y + 4.0, load - 4.0);
    if (load - y > 11.0) {
        wire_label(s, c->x, 0.5 * (y + load), c->circuit, spec->has_switch ? "S%d out" : "F%d out",
                   c->circuit + 1);
    }
    load_foot(s, c, load);
}

static void coil_column(OwSheet *s, const OwColumn *c) {
    const OwCircuitSpec *spec = &s->power->spec.circuits[c->circuit];
    const double line = ow_sheet_level(s, c->row, AT_LINE), coil = ow_sheet_level(s, c->row, AT_LOAD);
    double y = line;
    ow_drawing_dot(&s->drawing, c->x, line);
    char name[16];
    if (spec->has_switch) {
        const double hand = ow_sheet_level(s, c->row, AT_FUSE_LOW);
        snprintf(name, sizeof name, "S%d", c->circuit + 1);
        drop(s, c->x, y, hand - 4.0);
        ow_symbol_switch(&s->drawing, c->x, hand, false);
        mark(s, c->x + 1.6, hand, name, "");
        y = hand + 4.0;
    }
    if (spec->has_thermostat) {
        const double limit = ow_sheet_level(s, c->row, AT_SWITCH_LOW);
        drop(s, c->x, y, limit - 4.0);
        ow_symbol_thermostat(&s->drawing, c->x, limit);
        snprintf(name, sizeof name, "B%d", c->circuit + 1);
        mark(s, c->x + 2.2, limit, name, "");
        y = limit + 4.0;
    }
    drop(s, c->x, y, coil - 4.0);
    char from[16];
    snprintf(from, sizeof from, "F0/%s", ow_feed_terminal(spec->feed));
    char text[40];
    ow_sheet_wire(s, c->circuit, from, text, sizeof text);
    ow_drawing_label(&s->drawing, c->x + 0.9, 0.5 * (y + coil - 4.0) + 0.8, "wire", "start", text);
    ow_symbol_coil(&s->drawing, c->x, coil);
    terminal(s, c->x, coil - 2.7, "86");
    terminal(s, c->x, coil + 4.4, "85");
    snprintf(name, sizeof name, "K%d", c->circuit + 1);
    mark(s, c->x + 4.2, coil, name, "");
    drop(s, c->x, coil + 4.0, s->bottom[c->row]);
    ow_drawing_dot(&s->drawing, c->x, s->bottom[c->row]);
}

static void feeder_column(OwSheet *s, const OwColumn *c) {
    const double top = s->top[c->row], line = ow_sheet_level(s, c->row, AT_LINE);
    const bool is_hold = c->kind == COLUMN_HOLD;
    const double at = is_hold ? line - 5.0 : ow_sheet_level(s, c->row, AT_FEEDER);
    char name[24];
    ow_drawing_dot(&s->drawing, c->x, top);
    if (is_hold) {
        const double fuse = 0.5 * (top + at - 4.0);
        drop(s, c->x, top, fuse - 4.0);
        ow_symbol_fuse(&s->drawing, c->x, fuse);
        mark(s, c->x + 2.0, fuse, "F0/30", "5 A");
        drop(s, c->x, fuse + 4.0, at - 4.0);
        ow_symbol_switch(&s->drawing, c->x, at, true);
        snprintf(name, sizeof name, "S%dH", c->circuit + 1);
        const double hold = s->power->spec.circuits[c->circuit].hold_s;
        char time[24] = "hold";
        if (hold > 0.0) {
            snprintf(time, sizeof time, "hold %.0f s", hold);
        }
        mark(s, c->x + 1.6, at, name, time);
        ow_drawing_dot(&s->drawing, c->x, line);
    } else if (c->feed == OW_FEED_BATTERY) {
        drop(s, c->x, top, at - 4.0);
        ow_symbol_fuse(&s->drawing, c->x, at);
        mark(s, c->x + 2.0, at, "F0/30", "5 A");
    } else {
        drop(s, c->x, top, at - 4.0);
        ow_symbol_switch(&s->drawing, c->x, at, false);
        terminal(s, c->x, at + 4.4, ow_feed_terminal(c->feed));
        mark(s, c->x + 1.6, at, "S0", ow_feed_name(c->feed));
    }
    drop(s, c->x, at + 4.0, line);
}

static void source_column(OwSheet *s, const OwColumn *c) {
    const double top = s->top[c->row], at = ow_sheet_level(s, c->row, 0.5);
    const OwElectricSpec *spec = &s->power->spec;
    char text[32];
    ow_drawing_dot(&s->drawing, c->x, top);
    const double contact = ow_sheet_level(s, c->row, 0.28);
    if (c->kind == COLUMN_STARTER) {
        drop(s, c->x, top, contact - 4.0);
        drop(s, c->x, contact + 4.0, at - 4.0);
    } else {
        drop(s, c->x, top, at - 4.0);
    }
    if (c->kind == COLUMN_BATTERY) {
        ow_symbol_battery(&s->drawing, c->x, at);
        snprintf(text, sizeof text, "%.0f Ah", spec->battery.capacity_c / 3600.0 * spec->battery.count);
        mark(s, c->x + 4.2, at, "G1", text);
        terminal(s, c->x, at - 3.2, "+");
        terminal(s, c->x, at + 4.4, "-");
    } else if (c->kind == COLUMN_ALTERNATOR) {
        ow_symbol_machine(&s->drawing, c->x, at, "G");
        snprintf(text, sizeof text, "%.0f A", spec->alternator.rated_a);
        mark(s, c->x + 4.2, at, "G2", text);
        terminal(s, c->x, at - 3.8, "B+");
    } else {
        ow_symbol_make(&s->drawing, c->x, contact);
        terminal(s, c->x, contact - 2.9, "30");
        ow_drawing_label(&s->drawing, c->x + 1.6, contact + 0.9, "mark", "start", "50");
        load_symbol(s, c, at);
        ow_power_load_mark(spec, c->circuit, text, sizeof text);
        mark(s, c->x + 4.2, at, text, "");
    }
    drop(s, c->x, at + 4.0, s->bottom[c->row]);
    ow_drawing_dot(&s->drawing, c->x, s->bottom[c->row]);
}

OwStatus ow_power_schematic(const OwPower *power, const OwSchedule *schedule, const char *title, char **svg) {
    *svg = NULL;
    OwSheet *s = calloc(1, sizeof *s);
    if (!s) {
        return OW_ERROR_MEMORY;
    }
    s->power = power;
    s->schedule = schedule;
    ow_sheet_plan(s);
    const int pages = (s->rows + ROWS_A_PAGE - 1) / ROWS_A_PAGE;
    OwDrawing *d = &s->drawing;
    ow_drawing_add(
        d,
        "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n"
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"297mm\" height=\"%dmm\" viewBox=\"0 0 297 %d\">\n"
        "<style>line,rect,circle{fill:none;stroke:#000;stroke-width:.35;stroke-linecap:round}"
        ".full{fill:#000;stroke:none}.thick{stroke-width:.9}.link{stroke-dasharray:.8 .6;stroke-width:.25}"
        ".frame{stroke-width:.5}text{font-family:'DejaVu Sans',Arial,sans-serif;fill:#000}"
        ".title{font-size:5px}.rail{font-size:3.2px;font-weight:bold}.mark{font-size:2.7px;font-weight:bold}"
        ".name{font-size:2.5px}.small{font-size:2.3px}.wire{font-size:2.2px;fill:#333}.pin{font-size:2px;"
        "fill:#333}"
        ".letter{font-size:3.2px}</style>\n<rect x=\"0\" y=\"0\" width=\"297\" height=\"%d\" "
        "style=\"fill:#fff;stroke:none\"/>\n",
        210 * pages, 210 * pages, 210 * pages);
    ow_sheet_title(s, title, pages);
    const int each = ow_sheet_columns_a_row(s);
    const double pitch = each > 1 ? s->columns[1].x - s->columns[0].x : 24.0;
    for (int row = 0; row < s->rows; row++) {
        ow_sheet_rails(s, row);
    }
    for (int i = 0; i < s->count; i++) {
        const OwColumn *c = &s->columns[i];
        const char *name = c->circuit >= 0 ? power->spec.circuits[c->circuit].name : "";
        switch (c->kind) {
        case COLUMN_BATTERY:
            source_column(s, c);
            name = "battery";
            break;
        case COLUMN_ALTERNATOR:
            source_column(s, c);
            name = "alternator";
            break;
        case COLUMN_STARTER:
            source_column(s, c);
            break;
        case COLUMN_KEY:
            feeder_column(s, c);
            name = "";
            break;
        case COLUMN_HOLD:
            feeder_column(s, c);
            name = "";
            break;
        case COLUMN_COIL:
            coil_column(s, c);
            name = "";
            break;
        case COLUMN_DIRECT:
            direct_column(s, c, ow_sheet_level(s, c->row, AT_LINE));
            break;
        case COLUMN_LOAD:
            if (power->spec.circuits[c->circuit].has_relay) {
                relay_column(s, c);
            } else {
                direct_column(s, c, s->top[c->row]);
            }
            break;
        }
        name_under(s, c->x, s->bottom[c->row] + (c->kind == COLUMN_BATTERY ? 7.6 : 4.2), name,
                   (int)(pitch / 1.55));
    }
    ow_drawing_add(d, "</svg>\n");
    const OwStatus status = d->failed ? OW_ERROR_MEMORY : OW_OK;
    if (status == OW_OK) {
        *svg = d->text;
    } else {
        free(d->text);
    }
    free(s);
    return status;
}
