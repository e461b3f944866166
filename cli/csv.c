// SPDX-License-Identifier: GPL-3.0-or-later
// The time series as comma-separated values after RFC 4180: one header record, CRLF, quotes only where they
// are needed.
#include <math.h>
#include <string.h>

#include "cli.h"

typedef struct OwCsv {
    FILE *file;
    OwDisplay display;
    bool is_first;
} OwCsv;

static void comma(OwCsv *csv) {
    if (!csv->is_first) {
        fputc(',', csv->file);
    }
    csv->is_first = false;
}

static void text(OwCsv *csv, const char *value) {
    comma(csv);
    if (strpbrk(value, ",\"\r\n") == NULL) {
        fputs(value, csv->file);
        return;
    }
    fputc('"', csv->file);
    for (const char *c = value; *c != '\0'; c++) {
        if (*c == '"') {
            fputc('"', csv->file);
        }
        fputc(*c, csv->file);
    }
    fputc('"', csv->file);
}

static void head(OwCsv *csv, const char *part, const char *name, OwQuantity quantity) {
    double factor = 1.0;
    double offset = 0.0;
    const char *unit = ow_units_display(quantity, csv->display, &factor, &offset);
    char label[192];
    snprintf(label, sizeof label, "%s%s%s%s%s%s", part, part[0] != '\0' ? ": " : "", name,
             unit[0] != '\0' ? " (" : "", unit, unit[0] != '\0' ? ")" : "");
    text(csv, label);
}

/// A number in display units; nothing where it is unknown.
static void number(OwCsv *csv, double si, OwQuantity quantity) {
    double factor = 1.0;
    double offset = 0.0;
    (void)ow_units_display(quantity, csv->display, &factor, &offset);
    comma(csv);
    if (isfinite(si)) {
        fprintf(csv->file, "%.7g", si * factor + offset);
    }
}

#define SAMPLE_FIELDS(X)                                                                                     \
    X("speed", speed_m_s, OW_Q_SPEED)                                                                        \
    X("engine speed", engine_rad_s, OW_Q_ROTATION)                                                           \
    X("coolant", coolant_k, OW_Q_TEMPERATURE)                                                                \
    X("engine block", block_k, OW_Q_TEMPERATURE)                                                             \
    X("engine bay air", bay_k, OW_Q_TEMPERATURE)                                                             \
    X("fuel asked", fuel_request_m3_s, OW_Q_VOLUME_FLOW)                                                     \
    X("fuel burned", fuel_burned_m3_s, OW_Q_VOLUME_FLOW)                                                     \
    X("full-load fuel asked", full_request_m3_s, OW_Q_VOLUME_FLOW)                                           \
    X("full-load fuel delivered", full_burned_m3_s, OW_Q_VOLUME_FLOW)                                        \
    X("pump inlet oil", inlet_k, OW_Q_TEMPERATURE)                                                           \
    X("pump inlet pressure", inlet_pa, OW_Q_PRESSURE)                                                        \
    X("pump inlet viscosity", inlet_kinematic_m2_s, OW_Q_KINEMATIC_VISCOSITY)                                \
    X("pump inlet liquid share", inlet_fill, OW_Q_NUMBER)                                                    \
    X("pump inlet second fluid share", inlet_share, OW_Q_NUMBER)                                             \
    X("lowest pressure", lowest_pa, OW_Q_PRESSURE)                                                           \
    X("heaters", heaters_w, OW_Q_POWER)                                                                      \
    X("pumps", pumps_w, OW_Q_POWER)                                                                          \
    X("charge drawn", charge_c, OW_Q_CHARGE)                                                                 \
    X("volts", volts_v, OW_Q_VOLTAGE)

#define PART_FIELDS(X)                                                                                       \
    X("oil in", in_k, OW_Q_TEMPERATURE)                                                                      \
    X("oil out", out_k, OW_Q_TEMPERATURE)                                                                    \
    X("hottest oil", oil_max_k, OW_Q_TEMPERATURE)                                                            \
    X("wall", wall_k, OW_Q_TEMPERATURE)                                                                      \
    X("hottest wall", wall_max_k, OW_Q_TEMPERATURE)                                                          \
    X("pressure in", in_pa, OW_Q_PRESSURE)                                                                   \
    X("pressure out", out_pa, OW_Q_PRESSURE)                                                                 \
    X("flow", flow_m3_s, OW_Q_VOLUME_FLOW)                                                                   \
    X("heat", heat_w, OW_Q_POWER)                                                                            \
    X("coolant heat", coolant_w, OW_Q_POWER)

OwStatus ow_csv_write(FILE *file, const OwRecord *record, OwDisplay display) {
    static const char *const engine[] = {"off", "cranking", "running"};
    OwCsv csv = {.file = file, .display = display, .is_first = true};
    const OwRig *rig = record->rig;
    const int parts = record->parts == NULL                  ? 0
                      : record->part_count < rig->part_count ? record->part_count
                                                             : rig->part_count;
    text(&csv, "time (s)");
    text(&csv, "engine");
    text(&csv, "key");
    text(&csv, "leg");
#define HEAD(label, member, quantity) head(&csv, "", label, quantity);
    SAMPLE_FIELDS(HEAD)
#undef HEAD
    text(&csv, "lowest pressure at");
    for (int p = 0; p < parts; p++) {
#define HEAD(label, member, quantity) head(&csv, rig->parts[p].name, label, quantity);
        PART_FIELDS(HEAD)
#undef HEAD
        head(&csv, rig->parts[p].name, "position", OW_Q_NUMBER);
    }
    fputs("\r\n", file);
    for (int i = 0; i < record->sample_count && ferror(file) == 0; i++) {
        const OwSample *s = &record->samples[i];
        csv.is_first = true;
        comma(&csv);
        fprintf(file, "%.10g", s->time_s);
        text(&csv, (int)s->engine >= 0 && (int)s->engine <= 2 ? engine[s->engine] : "");
        text(&csv, s->is_key_on ? "on" : "off");
        comma(&csv);
        if (s->leg >= 0) {
            fprintf(file, "%d", s->leg + 1);
        }
#define VALUE(label, member, quantity) number(&csv, s->member, quantity);
        SAMPLE_FIELDS(VALUE)
#undef VALUE
        text(&csv,
             s->lowest_part >= 0 && s->lowest_part < rig->part_count ? rig->parts[s->lowest_part].name : "");
        for (int p = 0; p < parts; p++) {
            const OwPartSample *q = &record->parts[(size_t)i * (size_t)record->part_count + (size_t)p];
#define VALUE(label, member, quantity) number(&csv, q->member, quantity);
            PART_FIELDS(VALUE)
#undef VALUE
            number(&csv, q->position, OW_Q_NUMBER);
        }
        fputs("\r\n", file);
    }
    return fflush(file) == 0 && ferror(file) == 0 ? OW_OK : OW_ERROR_WRITE;
}
