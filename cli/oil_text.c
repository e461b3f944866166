// SPDX-License-Identifier: GPL-3.0-or-later
// The terminal report of `oilwright oil`.
#include <math.h>
#include <stdarg.h>
#include <stdlib.h>
#include <string.h>

#include "oil_cli.h"
#include "report_text.h"

typedef struct Page {
    FILE *file;
    const OwOilAnswer *answer;
    OwDisplay display;
    bool is_ascii;
} Page;

#define INDENT 6

/// Writes a line, broken at blanks where it passes 80 columns; what follows is indented.
static void wrapped(FILE *file, const char *text) {
    int room = OW_REPORT_WIDTH;
    for (;;) {
        int columns = 0;
        size_t blank = 0, i = 0;
        while (text[i] && columns <= room) {
            if (text[i] == ' ' && i > 0 && text[i - 1] != ' ') {
                blank = i;
            }
            columns += ((unsigned char)text[i] & 0xC0) != 0x80; // UTF-8 continuation bytes take no column
            ++i;
        }
        if ((!text[i] && columns <= room) || blank == 0) {
            fprintf(file, "%s\n", text);
            return;
        }
        fprintf(file, "%.*s\n%*s", (int)blank, text, INDENT, "");
        text += blank + strspn(text + blank, " ");
        room = OW_REPORT_WIDTH - INDENT;
    }
}

static void line(const Page *page, const char *format, ...) __attribute__((format(printf, 2, 3)));
static void line(const Page *page, const char *format, ...) {
    char text[512], plain[512];
    va_list list;
    va_start(list, format);
    vsnprintf(text, sizeof text, format, list);
    va_end(list);
    ow_report_plain(plain, sizeof plain, text, page->is_ascii);
    wrapped(page->file, plain);
}

/// Three significant digits without exponent.
static const char *digits(double value, char *text, size_t size) {
    const double a = fabs(value);
    if (!isfinite(value)) {
        snprintf(text, size, "-");
    } else if (a >= 1e6) {
        snprintf(text, size, "> 999999");
    } else {
        snprintf(text, size, "%.*f", a >= 100.0 ? 0 : a >= 10.0 ? 1 : a >= 1.0 ? 2 : 3, value);
    }
    return text;
}

static double shown(double si, OwQuantity quantity, OwDisplay display) {
    double factor, offset;
    (void)ow_units_display(quantity, display, &factor, &offset);
    return si * factor + offset;
}

static const char *label(OwQuantity quantity, OwDisplay display) {
    double factor, offset;
    return ow_units_display(quantity, display, &factor, &offset);
}

static void value_line(const Page *page, const char *name, const OwOilValue *value, double scale,
                       double offset, const char *unit) {
    char v[24], low[24], high[24];
    if (value->is_known) {
        line(page, "  %-20s %9s %-10s %s to %s; %s%s%s", name,
             digits(value->value * scale + offset, v, sizeof v), unit,
             digits(value->low * scale + offset, low, sizeof low),
             digits(value->high * scale + offset, high, sizeof high), ow_trust_text(value->trust),
             value->source && *value->source ? ": " : "", value->source ? value->source : "");
    }
}

static void values(const Page *page) {
    const OwOilStudy *s = page->answer->shown;
    double f, o;
    const char *unit = ow_units_display(OW_Q_KINEMATIC_VISCOSITY, page->display, &f, &o);
    line(page, "Value, 90 %% interval, and what it rests on");
    value_line(page, "viscosity at 40 °C", &s->kinematic_40, f, o, unit);
    unit = ow_units_display(OW_Q_DENSITY, page->display, &f, &o);
    value_line(page, "density at 15 °C", &s->density_15, f, o, unit);
    value_line(page, "thickened by use", &s->thickening, 1.0, 0.0, "times");
    unit = ow_units_display(OW_Q_HEATING_VALUE, page->display, &f, &o);
    value_line(page, "net heat", &s->net_heat, f, o, unit);
    value_line(page, "gross heat", &s->gross_heat, f, o, unit);
    value_line(page, "cetane number", &s->cetane, 1.0, 0.0, "");
    value_line(page, "iodine value", &s->iodine, 1.0, 0.0, "g/100 g");
    value_line(page, "saponification value", &s->saponification, 1.0, 0.0, "mg KOH/g");
    unit = ow_units_display(OW_Q_TEMPERATURE, page->display, &f, &o);
    value_line(page, "cloud point", &s->cloud, f, OW_ZERO_CELSIUS_K * f + o, unit);
    value_line(page, "flash point", &s->flash, f, OW_ZERO_CELSIUS_K * f + o, unit);
    value_line(page, "acid value", &s->acid, 1.0, 0.0, "mg KOH/g");
    value_line(page, "water", &s->water, 1e6, 0.0, "mg/kg");
    value_line(page, "solids", &s->solids, 1e6, 0.0, "mg/kg");
    value_line(page, "polar matter", &s->polar, 100.0, 0.0, "%");
    value_line(page, "oxidation stability", &s->oxidation, 1.0 / 3600.0, 0.0, "h");
    value_line(page, "sulphur", &s->sulphur, 1e6, 0.0, "mg/kg");
    value_line(page, "phosphorus", &s->phosphorus, 1e6, 0.0, "mg/kg");
    value_line(page, "calcium", &s->calcium, 1e6, 0.0, "mg/kg");
    value_line(page, "magnesium", &s->magnesium, 1e6, 0.0, "mg/kg");
}

static void readings(const Page *page) {
    const OwOilStudy *s = page->answer->oil;
    if (s->reading_count == 0) {
        return;
    }
    line(page, "%s", "");
    line(page, "Readings");
    for (int i = 0; i < s->reading_count; ++i) {
        char t[48], v[48];
        ow_units_write(s->reading[i].temperature_k, OW_Q_TEMPERATURE, page->display, t, sizeof t);
        ow_units_write(s->reading[i].kinematic_m2_s, OW_Q_KINEMATIC_VISCOSITY, page->display, v, sizeof v);
        line(page, "  %-14s at %-10s %+5.1f %% off the estimate, weight %.2f", v, t, 100.0 * s->residual[i],
             s->weight[i]);
    }
    if (s->has_fit) {
        line(page, "  ASTM D341 line through them: log log (v + 0.7) = %.4f - %.4f log T", s->walther_a,
             s->walther_b);
    }
}

/// What each profile model says, for their spread is part of the doubt.
static void models(const Page *page) {
    const OwOilStudy *s = page->answer->oil;
    if (!s->has_composition) {
        return;
    }
    static const char *const name[OW_PROFILE_COUNT] = {"acid by acid", "iodine and saponification value",
                                                       "the same, Walther form"};
    line(page, "%s", "");
    line(page, "Viscosity of the fresh oil by each profile model, %s",
         label(OW_Q_KINEMATIC_VISCOSITY, page->display));
    for (int m = 0; m < OW_PROFILE_COUNT; ++m) {
        char v[4][24];
        for (int i = 0; i < 4; ++i) {
            const double t = (double[]){273.15, 293.15, 313.15, 353.15}[i];
            (void)digits(shown(ow_oil_profile_viscosity(&s->composition, (OwProfileModel)m, t),
                               OW_Q_KINEMATIC_VISCOSITY, page->display),
                         v[i], sizeof v[i]);
        }
        const char *unit = label(OW_Q_TEMPERATURE, page->display);
        line(page, "  %-32s %.0f %s %s, %.0f %s %s, %.0f %s %s, %.0f %s %s", name[m],
             shown(273.15, OW_Q_TEMPERATURE, page->display), unit, v[0],
             shown(293.15, OW_Q_TEMPERATURE, page->display), unit, v[1],
             shown(313.15, OW_Q_TEMPERATURE, page->display), unit, v[2],
             shown(353.15, OW_Q_TEMPERATURE, page->display), unit, v[3]);
    }
}

static void table(const Page *page) {
    const OwOilCall *call = page->answer->call;
    const OwOilStudy *s = page->answer->shown;
    const OwDisplay d = page->display;
    line(page, "%s", "");
    line(page, "%6s %9s %14s %8s %7s %5s %6s %5s %6s %5s", "T", "viscosity", "90 %", "dynamic", "density",
         "heat", "cond.", "surf.", "air", "wax");
    line(page, "%6s %9s %14s %8s %7s %5s %6s %5s %6s %5s", label(OW_Q_TEMPERATURE, d),
         label(OW_Q_KINEMATIC_VISCOSITY, d), "", "mPa·s", label(OW_Q_DENSITY, d), "J/gK", "W/mK", "mN/m",
         label(OW_Q_PRESSURE, d), "%");
    bool has_doubt = false;
    for (int i = 0; i < call->temperature_count; ++i) {
        OwOilState state;
        const double t = call->temperature_k[i];
        ow_oil_state(&s->fluid, t, &state);
        const OwOilValue v = ow_oil_study_viscosity(s, t);
        char a[24], low[24], high[24], dynamic[24], density[24], air[24];
        has_doubt = has_doubt || !state.is_valid;
        char band[48];
        snprintf(band, sizeof band, "%s..%s",
                 digits(shown(v.low, OW_Q_KINEMATIC_VISCOSITY, d), low, sizeof low),
                 digits(shown(v.high, OW_Q_KINEMATIC_VISCOSITY, d), high, sizeof high));
        const bool is_solid = s->fluid.wax.gel_share > 0.0 && state.wax_share >= s->fluid.wax.gel_share;
        line(page, "%5.0f%c %9s %14s %8s %7s %5.2f %6.3f %5.1f %6s %5.1f", shown(t, OW_Q_TEMPERATURE, d),
             state.is_valid ? ' ' : '?',
             is_solid ? "no pour" : digits(shown(v.value, OW_Q_KINEMATIC_VISCOSITY, d), a, sizeof a),
             is_solid ? "" : band, is_solid ? "" : digits(1e3 * state.dynamic_pa_s, dynamic, sizeof dynamic),
             digits(shown(state.density_kg_m3, OW_Q_DENSITY, d), density, sizeof density),
             1e-3 * state.specific_heat_j_kgk, state.conductivity_w_mk, 1e3 * state.surface_tension_n_m,
             digits(shown(state.air_floor_pa - OW_ATMOSPHERE_PA, OW_Q_PRESSURE, d), air, sizeof air),
             100.0 * state.wax_share);
    }
    line(page,
         "  air: suction below which gas fills more than 2 %%; wax: crystals by mass after a cold night%s",
         has_doubt ? "; ? outside validity" : "");
    if (s->fluid.wax.gel_share > 0.0 && s->fluid.cloud_point_k > 0.0) {
        OwOilState cold;
        ow_oil_state(&s->fluid, s->fluid.cloud_point_k - 5.0, &cold);
        line(page, "  filter load 5 K below the cloud point: %.*f g of crystals a litre",
             cold.wax_share * cold.density_kg_m3 < 10.0 ? 1 : 0, cold.wax_share * cold.density_kg_m3);
    }
}

#define ROWS 12
#define COLUMNS 61

#define COLDEST_K 243.15
#define HOTTEST_K 423.15

/// Temperature above which the viscosity (or an end of its band: -1, 1) stays below a limit, to 0.25 K within
/// the table's range.
static double kept_from(const OwOilStudy *study, double limit_m2_s, int end) {
    double t = HOTTEST_K;
    while (t > COLDEST_K) {
        const OwOilValue v = ow_oil_study_viscosity(study, t);
        if ((end < 0 ? v.low : end > 0 ? v.high : v.value) > limit_m2_s) {
            break;
        }
        t -= 0.25;
    }
    return t >= HOTTEST_K || t <= COLDEST_K ? t : t + 0.25;
}

/// Log viscosity against temperature, -20 to 100 degC, with the pump's limit.
static void plot(const Page *page) {
    const OwOilStudy *s = page->answer->shown;
    const double low = log(2e-6), high = log(2e-3);
    const double limit = page->answer->call->limit_m2_s;
    char grid[ROWS][COLUMNS + 1];
    for (int r = 0; r < ROWS; ++r) {
        memset(grid[r], ' ', COLUMNS);
        grid[r][COLUMNS] = '\0';
    }
    const int mark = (int)lround((ROWS - 1) * (high - log(limit)) / (high - low));
    for (int c = 0; c < COLUMNS; ++c) {
        const double t = 253.15 + 2.0 * c;
        const int r =
            (int)lround((ROWS - 1) * (high - ow_curve_value(&s->fluid.log_kinematic, t)) / (high - low));
        if (mark >= 0 && mark < ROWS) {
            grid[mark][c] = '-';
        }
        if (r >= 0 && r < ROWS) {
            grid[r][c] = '*';
        }
    }
    line(page, "%s", "");
    char text[48];
    ow_units_write(limit, OW_Q_KINEMATIC_VISCOSITY, page->display, text, sizeof text);
    line(page, "Viscosity (log) against temperature; --- the injection pump's limit, %s", text);
    for (int r = 0; r < ROWS; ++r) {
        const double v =
            shown(exp(high - (high - low) * r / (ROWS - 1)), OW_Q_KINEMATIC_VISCOSITY, page->display);
        line(page, "%8.*f |%s", v < 10.0 ? 1 : 0, v, grid[r]);
    }
    char axis[COLUMNS + 24] = "";
    size_t used = 0;
    for (int t = -20; t <= 100; t += 20) {
        char number[16];
        snprintf(number, sizeof number, "%-10.0f",
                 shown(t + OW_ZERO_CELSIUS_K, OW_Q_TEMPERATURE, page->display));
        used += (size_t)snprintf(axis + used, sizeof axis - used, "%s", number);
    }
    while (used > 0 && axis[used - 1] == ' ') {
        axis[--used] = '\0';
    }
    line(page, "          %s %s", axis, label(OW_Q_TEMPERATURE, page->display));
    const double t = kept_from(s, limit, 0), early = kept_from(s, limit, -1), late = kept_from(s, limit, 1);
    if (t > COLDEST_K && t < HOTTEST_K) {
        char at[48], from[48], to[48];
        ow_units_write(t, OW_Q_TEMPERATURE, page->display, at, sizeof at);
        ow_units_write(early, OW_Q_TEMPERATURE, page->display, from, sizeof from);
        ow_units_write(late, OW_Q_TEMPERATURE, page->display, to, sizeof to);
        line(page, "  %s at %s (90 %%: %s%s to %s%s): above that the pump's limit is kept", text, at,
             early > COLDEST_K ? "" : "below ", from, late < HOTTEST_K ? "" : "over ", to);
    } else {
        line(page, "  the limit is kept %s between -30 and 150 °C", t > 300.0 ? "nowhere" : "everywhere");
    }
}

static void blend_rules(const Page *page) {
    const OwOilAnswer *a = page->answer;
    if (a->part_count < 2) {
        return;
    }
    line(page, "%s", "");
    line(page, "Blend viscosity by rule (liquids, without crystals), %s",
         label(OW_Q_KINEMATIC_VISCOSITY, page->display));
    line(page, "%8s %10s %10s %10s %10s", "T", "Arrhenius", "Refutas", "Kendall-M.", "D7152");
    for (int i = 0; i < 4; ++i) {
        const double t = (double[]){273.15, 293.15, 313.15, 353.15}[i];
        double v[OW_OIL_MAX_BLEND], rho[OW_OIL_MAX_BLEND];
        for (int k = 0; k < a->part_count; ++k) {
            const OwFluid *f = &a->parts[k];
            v[k] = ow_curve_value(&f->kinematic_m2_s, t) /
                   ow_wax_thickening(&f->wax, ow_curve_value(&f->wax_share, t));
            rho[k] = ow_curve_value(&f->density_kg_m3, t);
        }
        OwBlendRules r;
        if (ow_oil_blend_rules(v, rho, a->call->blend.blend_fraction, a->part_count, &r) == OW_OK) {
            char n[4][24];
            line(page, "%8.0f %10s %10s %10s %10s", shown(t, OW_Q_TEMPERATURE, page->display),
                 digits(shown(r.arrhenius, OW_Q_KINEMATIC_VISCOSITY, page->display), n[0], sizeof n[0]),
                 digits(shown(r.refutas, OW_Q_KINEMATIC_VISCOSITY, page->display), n[1], sizeof n[1]),
                 digits(shown(r.kendall_monroe, OW_Q_KINEMATIC_VISCOSITY, page->display), n[2], sizeof n[2]),
                 digits(shown(r.wright, OW_Q_KINEMATIC_VISCOSITY, page->display), n[3], sizeof n[3]));
        }
    }
    line(page,
         "  default Arrhenius: published oil-diesel blends favour it (Franco & Nguyen 2011, Fuel 90:838)");
}

static void dilution(const Page *page) {
    const OwOilCall *call = page->answer->call;
    if (!(call->target_m2_s > 0.0) && !(call->target_cloud_k > 0.0)) {
        return;
    }
    char v[48] = "", t[48] = "", cloud[48] = "";
    ow_units_write(call->target_m2_s, OW_Q_KINEMATIC_VISCOSITY, page->display, v, sizeof v);
    ow_units_write(call->target_k, OW_Q_TEMPERATURE, page->display, t, sizeof t);
    ow_units_write(call->target_cloud_k, OW_Q_TEMPERATURE, page->display, cloud, sizeof cloud);
    line(page, "%s", "");
    line(page, "Least diluent by volume for%s%s%s%s%s%s", call->target_m2_s > 0.0 ? " " : "",
         call->target_m2_s > 0.0 ? v : "", call->target_m2_s > 0.0 ? " at " : "",
         call->target_m2_s > 0.0 ? t : "", call->target_cloud_k > 0.0 ? " cloud point " : "",
         call->target_cloud_k > 0.0 ? cloud : "");
    for (int i = 0; i < (call->diluent ? 1 : OW_OIL_DILUENTS); ++i) {
        const char *name = call->diluent ? call->diluent : ow_oil_diluents[i];
        OwDilution d;
        if (!ow_oil_dilution(page->answer, name, &d)) {
            continue;
        }
        if (d.is_possible) {
            line(page, "  %-14s %3.0f %% (%.0f to %.0f by rule)%s%s", name, 100.0 * d.share,
                 100.0 * d.share_low, 100.0 * d.share_high, d.reason[0] ? "; " : "", d.reason);
        } else {
            line(page, "  %-14s no: %s", name, d.reason);
        }
    }
    const OwOilValue oil = ow_oil_study_viscosity(page->answer->oil, call->target_k);
    if (call->target_m2_s > 0.0 && oil.high > 1.5 * oil.low) {
        char low[24], high[24];
        line(page,
             "  the oil itself may lie from %s to %s %s there, which moves the share more than any rule: "
             "measure "
             "it",
             digits(shown(oil.low, OW_Q_KINEMATIC_VISCOSITY, page->display), low, sizeof low),
             digits(shown(oil.high, OW_Q_KINEMATIC_VISCOSITY, page->display), high, sizeof high),
             label(OW_Q_KINEMATIC_VISCOSITY, page->display));
    }
}

static void standard(const Page *page, OwStandard which) {
    OwStandardLine lines[OW_STANDARD_LINES];
    const int count = ow_oil_compare(page->answer->shown, which, lines);
    line(page, "%s", "");
    line(page, "Against %s", ow_standard_name(which));
    for (int i = 0; i < count; ++i) {
        const OwStandardLine *l = &lines[i];
        char limits[64], v[24], band[64] = "", margin[64] = "";
        const char *gap = l->unit[0] != '\0' ? " " : "";
        if (l->has_minimum && l->has_maximum) {
            snprintf(limits, sizeof limits, "%g to %g%s%s", l->minimum, l->maximum, gap, l->unit);
        } else {
            snprintf(limits, sizeof limits, "%s %g%s%s", l->has_minimum ? "at least" : "at most",
                     l->has_minimum ? l->minimum : l->maximum, gap, l->unit);
        }
        if (l->value.is_known) {
            char low[24], high[24];
            snprintf(band, sizeof band, "%s (%s to %s)", digits(l->value.value, v, sizeof v),
                     digits(l->value.low, low, sizeof low), digits(l->value.high, high, sizeof high));
            char by[24];
            snprintf(margin, sizeof margin, "margin %s%s%s%s", l->margin >= 0.0 ? "+" : "",
                     digits(l->margin, by, sizeof by), gap, l->unit);
        }
        if (l->value.is_known) {
            const bool is_told = l->verdict == OW_VERDICT_FAIL || l->verdict == OW_VERDICT_CLOSE;
            line(page, "  %-7s %-20s %-19s %s", ow_verdict_text(l->verdict), l->property, limits, band);
            line(page, "      %s; %s%s%s", margin, l->method, is_told ? ": " : "",
                 is_told ? l->consequence : "");
        } else {
            line(page, "  %-7s %-20s %-19s %s", ow_verdict_text(l->verdict), l->property, limits, l->method);
        }
    }
    char text[400];
    snprintf(text, sizeof text, "%s", ow_standard_caveat(which));
    line(page, "  %s", text);
}

static void spray(const Page *page) {
    const OwOilAnswer *a = page->answer;
    OwSpray s;
    if (!(a->call->spray_k > 0.0)) {
        return;
    }
    line(page, "%s", "");
    if (ow_oil_spray(&a->shown->fluid, a->diesel, a->call->spray_k, 30e6, 0.25e-3, 20.0, &s) != OW_OK) {
        line(page, "Spray indicators: the temperature is out of range");
        return;
    }
    line(page,
         "Spray and energy against diesel at 40 °C (indicators only; 300 bar, 0.25 mm hole, air 20 kg/m³)");
    line(page, "  mean drop size, Elkotb 1982            %.2f times (%.0f µm)", s.elkotb_ratio,
         1e6 * s.elkotb_m);
    line(page, "  mean drop size, Hiroyasu & Arai 1989   %.2f times (%.0f µm)", s.hiroyasu_ratio,
         1e6 * s.hiroyasu_m);
    line(page, "  net energy                             %.1f MJ/L, %.2f times; expect %.2f times the litres",
         1e-6 * s.energy_j_l, s.energy_ratio, s.fuel_use_ratio);
}

static void notes(const Page *page) {
    const OwOilAnswer *a = page->answer;
    line(page, "%s", "");
    line(page, "Notes");
    for (int k = 0; k < (a->shown == a->oil ? 1 : 2); ++k) {
        const OwFaults *faults = k ? &a->shown->notes : &a->oil->notes;
        for (size_t i = 0; i < faults->count; ++i) {
            line(page, "  %s: %s", faults->items[i].part, faults->items[i].message);
        }
    }
    line(page, "  %s", OW_OIL_CAUTION_HEAT);
    line(page, "  %s", OW_OIL_CAUTION_CODES);
}

void ow_oil_write_text(FILE *file, const OwOilAnswer *answer) {
    const Page page = {file, answer, answer->call->display, answer->call->is_ascii};
    line(&page, "%s", answer->shown->fluid.name);
    values(&page);
    readings(&page);
    models(&page);
    table(&page);
    plot(&page);
    blend_rules(&page);
    dilution(&page);
    for (int i = 0; i < OW_STANDARD_COUNT; ++i) {
        if (answer->call->compares[i]) {
            standard(&page, (OwStandard)i);
        }
    }
    spray(&page);
    notes(&page);
}
