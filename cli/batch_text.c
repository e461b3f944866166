// SPDX-License-Identifier: GPL-3.0-or-later
// `oilwright batch`: the walk of a batch on a screen of 80 columns.
#include <math.h>
#include <string.h>

#include "batch_cli.h"

static double shown(OwQuantity quantity, OwDisplay display, double si) {
    double factor = 1.0, offset = 0.0;
    (void)ow_units_display(quantity, display, &factor, &offset);
    return si * factor + offset;
}

static const char *label(OwQuantity quantity, OwDisplay display) {
    double factor, offset;
    return ow_units_display(quantity, display, &factor, &offset);
}

/// "45 min", "2.7 h", "5 days" with no more than seven columns.
static void time_text(double time_s, char *out, size_t size) {
    if (time_s < 90.0 * 60.0) {
        (void)snprintf(out, size, "%.0f min", ceil(time_s / 60.0 - 1e-9));
    } else if (time_s < 48.0 * 3600.0) {
        (void)snprintf(out, size, "%.1f h", time_s / 3600.0);
    } else {
        (void)snprintf(out, size, "%.1f d", time_s / 86400.0);
    }
}

static void mg_kg(double share, char *out, size_t size) {
    const double mg = 1e6 * share;
    (void)snprintf(out, size, mg < 9.95 ? "%.1f" : "%.0f", mg);
}

static void number(double value, int decimals, char *out, size_t size) {
    if (value > 0.0) {
        (void)snprintf(out, size, "%.*f", decimals, value);
    } else {
        out[0] = '\0';
    }
}

static void row_text(const OwReport *report, const OwYardBatch *b, const char *name, const char *kind,
                     double time_s, double end_k, double water, double solids, double left_m3,
                     double energy_j, double hands_on_s) {
    char first[128], second[64], time[32] = "", wet[32] = "", dirt[32] = "", kwh[32], hands[32],
                                 heat[32] = "";
    ow_report_fit(first, sizeof first, name, 20, false);
    ow_report_fit(second, sizeof second, kind, 10, false);
    if (time_s >= 0.0) {
        time_text(time_s, time, sizeof time);
    }
    if (end_k > 0.0) {
        (void)snprintf(heat, sizeof heat, "%.0f", shown(OW_Q_TEMPERATURE, b->display, end_k));
        mg_kg(water, wet, sizeof wet);
        mg_kg(solids, dirt, sizeof dirt);
    }
    number(energy_j / 3.6e6, 1, kwh, sizeof kwh);
    number(hands_on_s / 60.0, 0, hands, sizeof hands);
    const double left = shown(OW_Q_VOLUME, b->display, left_m3);
    ow_report_line(report, "%s %s %7s %5s %7s %7s %6.*f %5s %4s", first, second, time, heat, wet, dirt,
                   left < 99.95 ? 1 : 0, left, kwh, hands);
}

static void steps_text(const OwReport *report, const OwYard *yard, const OwYardBatch *b) {
    const char *temperature = label(OW_Q_TEMPERATURE, b->display);
    const char *volume = b->display == OW_DISPLAY_US ? "gal" : "L";
    char degrees[16];
    ow_report_plain(degrees, sizeof degrees, temperature, report->is_ascii);
    char unit[16];
    ow_report_fit(unit, sizeof unit, degrees, 5, true);
    ow_report_line(report, "%31s %7s %s %7s %7s %6s %5s %4s", "", "takes", unit, "water", "solids", "left",
                   "kWh", "work");
    ow_report_line(report, "%31s %7s %5s %7s %7s %6s %5s %4s", "", "", "", "mg/kg", "mg/kg", volume, "",
                   "min");
    row_text(report, b, "comes in", "", -1.0, b->in_k, b->in_water_share, b->in_solids_share, b->in_m3, 0.0,
             0.0);
    for (int i = 0; i < b->row_count; i++) {
        const OwYardRow *r = &b->rows[i];
        const OwPlanStep *step = &yard->steps[r->step];
        static const char *const ways[] = {"hot settle", "air", "vacuum"};
        const char *kind = step->kind == OW_PLAN_DRY      ? ways[step->as.dry.way]
                           : step->kind == OW_PLAN_FILTER ? ow_filter_form_text(step->as.filter.form)
                                                          : ow_yard_plan_text(step->kind);
        row_text(report, b, step->name, kind, r->elapsed_s, r->end_k, r->water_share, r->solids_share,
                 r->left_m3, r->energy_j, r->hands_on_s);
    }
    row_text(report, b, "all", "", b->elapsed_s, 0.0, 0.0, 0.0, b->clean_m3, b->energy_j, b->hands_on_s);
}

/// Value or limit of a finding as a mechanic writes it.
static void value_text(const OwYardBatch *b, const OwFinding *f, bool has, double value, char *out,
                       size_t size) {
    out[0] = '\0';
    if (!has) {
        return;
    }
    if (strcmp(f->key, "surface_load") == 0) {
        (void)snprintf(out, size, "%.2g W/cm\xC2\xB2", 1e-4 * value);
    } else if (strcmp(f->key, "fits") == 0 || strcmp(f->key, "wet_heat") == 0) {
        (void)snprintf(out, size, "%.3g %%", 100.0 * value);
    } else if (strcmp(f->key, "acid") == 0) {
        (void)snprintf(out, size, "%.3g mg KOH/g", value);
    } else if (strcmp(f->key, "tests") == 0) {
        (void)snprintf(out, size, "%s", ow_yard_decide_text(b->decide));
    } else if (f->quantity == OW_Q_LENGTH) { // a filter's rating is in micrometres everywhere
        (void)snprintf(out, size, "%.3g \xC2\xB5m", 1e6 * value);
    } else if (f->quantity == OW_Q_TIME) {
        time_text(value, out, size);
    } else if (f->quantity == OW_Q_NUMBER) {
        char mg[32];
        mg_kg(value, mg, sizeof mg);
        (void)snprintf(out, size, "%s mg/kg", mg);
    } else {
        ow_units_write(value, f->quantity, b->display, out, size);
    }
}

static const char *verdict(OwGrade grade) {
    static const char *const words[OW_GRADE_COUNT] = {[OW_GRADE_GOOD] = "ok",
                                                      [OW_GRADE_TIGHT] = "TIGHT",
                                                      [OW_GRADE_UNKNOWN] = "UNKNOWN",
                                                      [OW_GRADE_BAD] = "FAILS",
                                                      [OW_GRADE_IMPOSSIBLE] = "NEVER"};
    return words[grade];
}

/// All answers; when some fail, only what is not plainly met.
static void answers_text(const OwReport *report, const OwYardBatch *b) {
    const bool is_all = !ow_judge_fails(b->grade);
    int left_out = 0;
    ow_report_line(report, "Held against its limit              is       limit           rests on");
    for (int i = 0; i < b->finding_count; i++) {
        const OwFinding *f = &b->findings[i];
        if (!is_all && f->grade == OW_GRADE_GOOD) {
            left_out++;
            continue;
        }
        char name[64], is[64], limit[64], is_fit[96], limit_fit[96];
        value_text(b, f, f->has_value, f->value, is, sizeof is);
        value_text(b, f, f->has_limit, f->limit, limit, sizeof limit);
        if (strcmp(f->key, "cut_out") == 0) {
            (void)snprintf(is, sizeof is, "%s", f->grade == OW_GRADE_GOOD ? "fitted" : "none");
            (void)snprintf(limit, sizeof limit, "must be");
        }
        ow_report_plain(is_fit, sizeof is_fit, is, report->is_ascii);
        ow_report_plain(limit_fit, sizeof limit_fit, limit, report->is_ascii);
        ow_report_fit(name, sizeof name, f->label, 26, false);
        ow_report_fit(is, sizeof is, is_fit, 14, true);
        ow_report_fit(limit, sizeof limit, limit_fit, 12, true);
        ow_report_line(report, "%s %s %s  %-7s %s", name, is, limit, verdict(f->grade),
                       ow_judge_trust_text(f->trust));
    }
    if (left_out > 0) {
        ow_report_line(report, "(%d more are met; --json has all)", left_out);
    }
}

/// What is wrong and what mends it; what one change mends together is said once, by its gravest answer.
static void mends_text(const OwReport *report, const OwYardBatch *b) {
    bool is_first = true;
    for (int i = 0; i < b->finding_count; i++) {
        const OwFinding *f = &b->findings[i], *gravest = f;
        bool is_said = f->mend[0] == '\0';
        for (int k = 0; k < b->finding_count && !is_said; k++) {
            const OwFinding *other = &b->findings[k];
            if (strcmp(other->mend, f->mend) == 0) {
                is_said = k < i;
                gravest = other->grade > gravest->grade ? other : gravest;
            }
        }
        if (is_said) {
            continue;
        }
        if (is_first) {
            ow_report_line(report, "%s", "");
            ow_report_line(report, "To change (each value was tried by another walk):");
            is_first = false;
        }
        char text[2 * OW_ANSWER_TEXT + 16];
        (void)snprintf(text, sizeof text, "- %s -> %s", gravest->text, f->mend);
        ow_report_paragraph(report, text, 2);
    }
}

static void tests_text(const OwReport *report, const OwYardBatch *b) {
    for (int i = 0; i < b->finding_count; i++) {
        if (strcmp(b->findings[i].key, "tests") == 0) {
            ow_report_paragraph(report, b->findings[i].text, 2);
            return;
        }
    }
    ow_report_line(report, "Not tested: whether to take this oil in is not known (tests section).");
}

static void waste_text(const OwReport *report, const double *kg, OwDisplay display, const char *span) {
    char text[512] = "";
    size_t used = (size_t)snprintf(text, sizeof text, "Waste %s:", span);
    for (int i = 0; i < OW_WASTE_COUNT && used < sizeof text; i++) {
        char mass[64];
        ow_units_write(kg[i], OW_Q_MASS, display, mass, sizeof mass);
        used += (size_t)snprintf(text + used, sizeof text - used, "%s %s %s", i > 0 ? "," : "", mass,
                                 ow_yard_waste_text((OwYardWaste)i));
    }
    if (used < sizeof text) {
        (void)snprintf(
            text + used, sizeof text - used,
            ". Hand it to a licensed collector and keep the slips; nothing into drain, soil or bin.");
    }
    ow_report_paragraph(report, text, 2);
}

/// The cautions of the batch in few words; --json has them in full.
static void cautions_text(const OwReport *report, const OwYardBatch *b) {
    static const char *const brief[OW_CAUTION_COUNT] = {
        [OW_CAUTION_LAW] = "Fire, waste and electrical rules are local and come first; wiring is for a "
                           "licensed person.",
        [OW_CAUTION_RAGS] = "Oily rags and filter cake heat themselves and catch fire hours later: under "
                            "water or in a closed metal can, outdoors.",
        [OW_CAUTION_UNATTENDED] = "Never leave heat on unattended.",
        [OW_CAUTION_CUT_OUT] = "Every heater needs a cut-out of its own besides the thermostat.",
        [OW_CAUTION_HOT_OIL] = "Hot oil sticks and burns: face shield, gloves; lid or class F/K "
                               "extinguisher, never water.",
        [OW_CAUTION_STEAM] =
            "Water under oil past 100 degC (212 degF) throws it out as steam: drain first, stay "
            "below 95 degC (203 degF).",
        [OW_CAUTION_PRESSURE] = "Vent a pumped filter before you open it.",
        [OW_CAUTION_VACUUM] = "A drum collapses under vacuum.",
        [OW_CAUTION_SPEED] = "A bowl only inside its guard.",
        [OW_CAUTION_SPILL] = "Stand tanks in a tray.",
        [OW_CAUTION_AIR] = "Vent oil mist outdoors.",
    };
    char text[1024] = "Caution:";
    for (int i = 0; i < b->caution_count; i++) {
        const size_t used = strlen(text);
        (void)snprintf(text + used, sizeof text - used, " %s", brief[b->cautions[i]]);
    }
    ow_report_paragraph(report, text, 2);
}

static void head_text(const OwReport *report, const OwYard *yard, const OwYardBatch *b) {
    char volume[64], outdoor[64], shed[64], coldest[64], text[512];
    ow_units_write(b->in_m3, OW_Q_VOLUME, b->display, volume, sizeof volume);
    ow_units_write(yard->climate.outdoor_k, OW_Q_TEMPERATURE, b->display, outdoor, sizeof outdoor);
    ow_units_write(yard->climate.shed_k, OW_Q_TEMPERATURE, b->display, shed, sizeof shed);
    ow_units_write(yard->targets.coldest_k, OW_Q_TEMPERATURE, b->display, coldest, sizeof coldest);
    (void)snprintf(text, sizeof text, "%s: %s of %s%s; outdoors %s and %.0f %%, shed %s, coldest tank %s.",
                   yard->name[0] != '\0' ? yard->name : "yard", volume,
                   yard->oil.used_factor > 1.0 || yard->oil.is_used ? "used " : "",
                   yard->oil.name[0] != '\0' ? yard->oil.name : "oil", outdoor,
                   100.0 * yard->climate.humidity, shed, coldest);
    ow_report_paragraph(report, text, 0);
    if (b->is_water_assumed || b->is_solids_assumed) {
        (void)snprintf(text, sizeof text, "%s%s%s not given and assumed: test the oil.",
                       b->is_water_assumed ? "Water" : "",
                       b->is_water_assumed && b->is_solids_assumed ? " and solids are"
                       : b->is_water_assumed                       ? " is"
                                                                   : "",
                       !b->is_water_assumed ? "Solids are" : "");
        ow_report_paragraph(report, text, 0);
    }
}

static void litre_text(const OwReport *report, const OwYard *yard, const OwYardBatch *b,
                       const OwYardWeek *week) {
    const OwYardSums s = ow_yard_sums(yard, b);
    const bool is_us = b->display == OW_DISPLAY_US;
    const double m3 = is_us ? 3.785411784e-3 : 1e-3, per = is_us ? 3.785411784 : 1.0;
    char text[512];
    (void)snprintf(text, sizeof text,
                   "A %s of clean oil takes %.3g kWh and %.2g min of work in the yard, costs %.2g%s%s%s and "
                   "leaves %.2g kg of waste; %.2g %% of the oil is lost. --week shows each item.",
                   is_us ? "US gallon" : "litre", m3 * s.kwh, m3 * s.labour_s / 60.0, per * week->cost_litre,
                   yard->prices.currency[0] != '\0' ? " " : "", yard->prices.currency,
                   yard->prices.hour > 0.0 ? "" : " without labour", m3 * s.waste_total_kg,
                   s.collected_m3 > 0.0 ? 100.0 * s.lost_m3 / s.collected_m3 : 100.0);
    ow_report_paragraph(report, text, 2);
}

void ow_batch_text(const OwReport *report, const OwYard *yard, const OwYardBatch *b, const OwYardWeek *week) {
    ow_report_paragraph(report, b->headline, 0);
    ow_report_line(report, "%s", "");
    head_text(report, yard, b);
    steps_text(report, yard, b);
    tests_text(report, b);
    ow_report_line(report, "%s", "");
    answers_text(report, b);
    mends_text(report, b);
    ow_report_line(report, "%s", "");
    litre_text(report, yard, b, week);
    waste_text(report, b->waste_kg, b->display, "of the batch");
    cautions_text(report, b);
}

static void week_line(const OwReport *report, const char *what, double value, int decimals, const char *unit,
                      const char *why) {
    char name[64];
    ow_report_fit(name, sizeof name, what, 26, false);
    ow_report_line(report, "%s %9.*f %-7s %s", name, decimals, value, unit, why);
}

static void week_rows(const OwReport *report, const OwYard *yard, const OwYardBatch *b, const OwYardWeek *w) {
    const char *volume = label(OW_Q_VOLUME, b->display);
    char why[128], each[64];
    ow_units_write(yard->week.pick_up_m3, OW_Q_VOLUME, b->display, each, sizeof each);
    (void)snprintf(why, sizeof why, "%.3g pick-ups of %s", yard->week.pick_ups, each);
    week_line(report, "comes in", shown(OW_Q_VOLUME, b->display, w->collected_m3), 0, volume, why);
    ow_units_write(yard->week.batch_m3, OW_Q_VOLUME, b->display, each, sizeof each);
    (void)snprintf(why, sizeof why, "of %s; %.3g could be done", each, w->batches_possible);
    week_line(report, "batches", w->batches, 2, "", why);
    (void)snprintf(why, sizeof why,
                   w->backlog_m3 > 0.0 ? "%.0f %s are left standing" : "nothing is left standing",
                   shown(OW_Q_VOLUME, b->display, w->backlog_m3), volume);
    week_line(report, "clean oil", shown(OW_Q_VOLUME, b->display, w->clean_m3), 0, volume, why);
    const double pick_up_s = w->batches * yard->week.batch_m3 / yard->week.pick_up_m3 * yard->week.pick_up_s;
    (void)snprintf(why, sizeof why, "of %.3g there are; %.2g for pick-ups", w->hours_s / 3600.0,
                   pick_up_s / 3600.0);
    week_line(report, "work by hand", w->hands_on_s / 3600.0, 1, "h", why);
    week_line(report, "heat or pump watched", w->watched_s / 3600.0, 1, "h", "no unattended heat");
    week_line(report, "electricity", w->kwh, 1, "kWh", "");
    week_line(report, "bags and cartridges", w->filters, 2, "", "used up, in parts of one");
}

static void cost_rows(const OwReport *report, const OwYard *yard, const OwYardBatch *b, const OwYardWeek *w) {
    const bool is_us = b->display == OW_DISPLAY_US;
    const double per = is_us ? 3.785411784 : 1.0;
    char name[64], head[96];
    (void)snprintf(head, sizeof head, "Cost%s%.20s", yard->prices.currency[0] != '\0' ? " in " : "",
                   yard->prices.currency);
    ow_report_fit(name, sizeof name, head, 26, false);
    ow_report_line(report, "%s %9s %14s", name, "a week", is_us ? "a US gallon" : "a litre");
    for (int i = 0; i < w->cost_count; i++) {
        const OwWeekCost *c = &w->costs[i];
        ow_report_fit(name, sizeof name, c->label, 26, false);
        if (c->is_counted) {
            ow_report_line(report, "%s %9.2f %14.4f", name, c->week, per * c->litre);
        } else {
            ow_report_line(report, "%s %9s %14s  %.1f h, not counted", name, "-", "-",
                           w->hands_on_s / 3600.0);
        }
    }
    ow_report_fit(name, sizeof name, "sum", 26, false);
    ow_report_line(report, "%s %9.2f %14.4f", name, w->cost_week, per * w->cost_litre);
}

void ow_batch_week_text(const OwReport *report, const OwYard *yard, const OwYardBatch *b,
                        const OwYardWeek *w) {
    char text[256];
    ow_report_paragraph(report, w->text, 0);
    if (ow_judge_fails(b->grade)) {
        ow_report_paragraph(report, "The oil is not fit to use as planned: see the batch, without --week.",
                            0);
    }
    ow_report_line(report, "%s", "");
    (void)snprintf(text, sizeof text,
                   "%s, a week of %d days of %.3g h:", yard->name[0] != '\0' ? yard->name : "yard",
                   yard->week.days, yard->week.day_s / 3600.0);
    ow_report_paragraph(report, text, 0);
    week_rows(report, yard, b, w);
    ow_report_line(report, "%s", "");
    cost_rows(report, yard, b, w);
    ow_report_paragraph(report,
                        "Collection miles, duty, insurance, the yard's own price: see oilwright cost.", 0);
    ow_report_line(report, "%s", "");
    waste_text(report, w->waste_kg, b->display, "a week");
    cautions_text(report, b);
}
