// SPDX-License-Identifier: GPL-3.0-or-later
// Viscosity-temperature chart on Walther axes (ASTM D341): straight lines for straight fluids, the 90 % band,
// readings, and the limit of the injection pump.
#include <math.h>

#include "oil_cli.h"

#define LEFT 70.0
#define TOP 46.0
#define WIDTH 640.0
#define HEIGHT 420.0
#define COLD_K 243.15
#define HOT_K 423.15
#define THIN 0.6e-6
#define THICK 1.0e-2

static double across(double temperature_k) {
    return LEFT + WIDTH * log(temperature_k / COLD_K) / log(HOT_K / COLD_K);
}

static double loglog(double kinematic_m2_s) {
    return log(log(1e6 * kinematic_m2_s + 0.7));
}

static double down(double kinematic_m2_s) {
    const double v = fmin(fmax(kinematic_m2_s, THIN), THICK);
    return TOP + HEIGHT * (loglog(THICK) - loglog(v)) / (loglog(THICK) - loglog(THIN));
}

/// Text with the five characters of XML escaped.
static void escaped(FILE *file, const char *text) {
    for (; *text; ++text) {
        switch (*text) {
        case '<':
            fputs("&lt;", file);
            break;
        case '>':
            fputs("&gt;", file);
            break;
        case '&':
            fputs("&amp;", file);
            break;
        case '"':
            fputs("&quot;", file);
            break;
        default:
            if ((unsigned char)*text >= 0x20) {
                fputc(*text, file);
            }
        }
    }
}

static void label(FILE *file, double x, double y, const char *anchor, const char *text) {
    fprintf(file, "<text x=\"%.1f\" y=\"%.1f\" text-anchor=\"%s\">", x, y, anchor);
    escaped(file, text);
    fputs("</text>\n", file);
}

static void grid(FILE *file, OwDisplay display) {
    static const double lines[] = {0.6, 0.7, 0.8, 1,  1.5, 2,   3,   4,    5,    7,    10,
                                   15,  20,  30,  50, 100, 200, 500, 1000, 2000, 5000, 10000};
    char text[48];
    fputs("<g stroke=\"#bbb\" stroke-width=\"0.6\">\n", file);
    for (int t = -30; t <= 150; t += 10) {
        const double x = across(t + OW_ZERO_CELSIUS_K);
        fprintf(file, "<line x1=\"%.1f\" y1=\"%.1f\" x2=\"%.1f\" y2=\"%.1f\"/>\n", x, TOP, x, TOP + HEIGHT);
    }
    for (size_t i = 0; i < sizeof lines / sizeof lines[0]; ++i) {
        const double y = down(1e-6 * lines[i]);
        fprintf(file, "<line x1=\"%.1f\" y1=\"%.1f\" x2=\"%.1f\" y2=\"%.1f\"/>\n", LEFT, y, LEFT + WIDTH, y);
    }
    fputs("</g>\n<g font-size=\"11\">\n", file);
    for (int t = -20; t <= 140; t += 20) {
        double f, o;
        (void)ow_units_display(OW_Q_TEMPERATURE, display, &f, &o);
        snprintf(text, sizeof text, "%.0f", (t + OW_ZERO_CELSIUS_K) * f + o);
        label(file, across(t + OW_ZERO_CELSIUS_K), TOP + HEIGHT + 16.0, "middle", text);
    }
    double f, o;
    const char *unit = ow_units_display(OW_Q_KINEMATIC_VISCOSITY, display, &f, &o);
    for (size_t i = 0; i < sizeof lines / sizeof lines[0]; ++i) {
        if (lines[i] >= 1.0 && lines[i] != 1.5 && lines[i] != 4 && lines[i] != 7 && lines[i] != 2000) {
            snprintf(text, sizeof text, "%.5g", 1e-6 * lines[i] * f + o);
            label(file, LEFT - 6.0, down(1e-6 * lines[i]) + 4.0, "end", text);
        }
    }
    snprintf(text, sizeof text, "kinematic viscosity, %s (log log scale)", unit);
    label(file, LEFT, TOP - 8.0, "start", text);
    snprintf(text, sizeof text, "temperature, %s (log scale of kelvin)",
             ow_units_display(OW_Q_TEMPERATURE, display, &f, &o));
    label(file, LEFT + WIDTH, TOP + HEIGHT + 32.0, "end", text);
    fputs("</g>\n", file);
}

/// Between two temperatures; nothing when the second is not above the first.
static void stretch(FILE *file, const OwCurve *kinematic, double low_k, double high_k, const char *style) {
    if (!(high_k > low_k)) {
        return;
    }
    fprintf(file, "<polyline fill=\"none\" %s points=\"", style);
    for (double t = low_k; t < high_k - 0.1; t += 2.0) {
        fprintf(file, "%.1f,%.1f ", across(t), down(ow_curve_value(kinematic, t)));
    }
    fprintf(file, "%.1f,%.1f\"/>\n", across(high_k), down(ow_curve_value(kinematic, high_k)));
}

static void curve(FILE *file, const OwCurve *kinematic, const char *style) {
    stretch(file, kinematic, COLD_K, HOT_K, style);
}

/// The fluid itself: thick where its viscosity is known, thin where it is a guess.
static void main_curve(FILE *file, const OwFluid *fluid) {
    const double low = fmin(fmax(fluid->valid_low_k, COLD_K), HOT_K),
                 high = fmin(fmax(fluid->valid_high_k, low), HOT_K);
    const char *guess = "class=\"guess\" stroke=\"#0072b2\" stroke-width=\"0.9\"";
    stretch(file, &fluid->kinematic_m2_s, COLD_K, low, guess);
    stretch(file, &fluid->kinematic_m2_s, low, high, "stroke=\"#0072b2\" stroke-width=\"2.4\"");
    stretch(file, &fluid->kinematic_m2_s, high, HOT_K, guess);
}

static void band(FILE *file, const OwOilStudy *study) {
    fputs("<polygon fill=\"#0072b2\" fill-opacity=\"0.18\" stroke=\"none\" points=\"", file);
    for (double t = COLD_K; t <= HOT_K + 0.1; t += 2.0) {
        fprintf(file, "%.1f,%.1f ", across(t), down(ow_oil_study_viscosity(study, t).high));
    }
    for (double t = HOT_K; t >= COLD_K - 0.1; t -= 2.0) {
        fprintf(file, "%.1f,%.1f ", across(t), down(ow_oil_study_viscosity(study, t).low));
    }
    fputs("\"/>\n", file);
}

bool ow_oil_write_svg(FILE *file, const OwOilAnswer *a) {
    const OwOilCall *call = a->call;
    fprintf(file, "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"760\" height=\"540\" viewBox=\"0 0 760 "
                  "540\" font-family=\"sans-serif\" "
                  "role=\"img\" aria-label=\"viscosity-temperature chart\">\n<rect width=\"760\" "
                  "height=\"540\" fill=\"#fff\"/>\n"
                  "<g font-size=\"14\" font-weight=\"bold\">\n");
    label(file, LEFT, 20.0, "start", a->shown->fluid.name);
    fputs("</g>\n", file);
    grid(file, call->display);
    band(file, a->shown);
    curve(file, &a->diesel->kinematic_m2_s, "stroke=\"#999\" stroke-width=\"1.2\" stroke-dasharray=\"2 4\"");
    for (int i = 0; i < a->part_count; ++i) {
        curve(file, &a->parts[i].kinematic_m2_s,
              "stroke=\"#666\" stroke-width=\"1\" stroke-dasharray=\"6 3\"");
    }
    main_curve(file, &a->shown->fluid);
    for (int i = 0; i < a->oil->reading_count; ++i) {
        fprintf(
            file,
            "<circle cx=\"%.1f\" cy=\"%.1f\" r=\"4\" fill=\"#fff\" stroke=\"#000\" stroke-width=\"1.5\"/>\n",
            across(a->oil->reading[i].temperature_k), down(a->oil->reading[i].kinematic_m2_s));
    }
    const double y = down(call->limit_m2_s);
    fprintf(file,
            "<line x1=\"%.1f\" y1=\"%.1f\" x2=\"%.1f\" y2=\"%.1f\" stroke=\"#d55e00\" stroke-width=\"2\" "
            "stroke-dasharray=\"10 4\"/>\n",
            LEFT, y, LEFT + WIDTH, y);
    char text[96], limit[48];
    ow_units_write(call->limit_m2_s, OW_Q_KINEMATIC_VISCOSITY, call->display, limit, sizeof limit);
    snprintf(text, sizeof text, "injection pump limit %s", limit);
    fputs("<g font-size=\"11\">\n", file);
    label(file, LEFT + WIDTH - 4.0, y - 5.0, "end", text);
    label(file, LEFT, 524.0, "start",
          "thick line: this fluid, thin where it is a guess; shaded: its 90 % band; dotted: diesel; dashed: "
          "parts of a blend; circles: readings");
    fputs("</g>\n</svg>\n", file);
    return !ferror(file);
}
