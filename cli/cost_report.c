// SPDX-License-Identifier: GPL-3.0-or-later
// The report of a cost file on one screen of 80 columns: verdict, waterfall, bands, what moves it,
// break-evens, notes.
#include <math.h>
#include <string.h>

#include "cost_cli.h"
#include "report_text.h"

#define BAR 24

typedef struct Page {
    OwReport out;
    const OwCostPlan *plan;
    const OwCostAnswer *answer;
    const OwCostStudy *study;
    OwDisplay display;
    double per_volume, per_distance; ///< display factors
    const char *volume, *distance;   ///< "per L", "per km"
    double scale;                    ///< columns of the bar per money a year
} Page;

/// With as many decimals as the width has room for.
static const char *money(double value, int decimals, int width, char text[32]) {
    for (; decimals >= 0; decimals--) {
        (void)snprintf(text, 32, "%.*f", decimals, fabs(value) < 0.5 * pow(10.0, -decimals) ? 0.0 : value);
        if ((int)strlen(text) <= width) {
            return text;
        }
    }
    (void)snprintf(text, 32, "%.1e", value);
    return text;
}

static void write_line(const Page *page, const char *label, double year, double from, const char *mark) {
    const OwCostReckoning *r = &page->answer->likely;
    char a[32], b[32], c[32], bar[BAR + 1];
    const double m3 = r->oil_m3_y > 0.0 ? year / r->oil_m3_y : 0.0;
    const double m = r->distance_oil_m_y > 0.0 ? year / r->distance_oil_m_y : 0.0;
    // The bar begins where the sum stood before.
    int start = (int)lround(fmin(from, from + year) * page->scale);
    int end = (int)lround(fmax(from, from + year) * page->scale);
    start = start < 0 ? 0 : start > BAR ? BAR : start;
    end = end < start ? start : end > BAR ? BAR : end;
    memset(bar, ' ', sizeof bar);
    for (int i = start; i < end; i++) {
        bar[i] = mark[0];
    }
    bar[end == start && start < BAR && year != 0.0 ? start + 1 : end] = '\0';
    if (end == start && start < BAR && year != 0.0) {
        bar[start] = '|';
    }
    ow_report_line(&page->out, "%-26s %8s %8s %9s  %s", label, money(m3 * page->per_volume, 3, 8, a),
                   money(m * page->per_distance, 3, 8, b), money(year, 2, 9, c), bar);
}

static void write_waterfall(Page *page) {
    const OwCostReckoning *r = &page->answer->likely;
    double sum = 0.0;
    int left_out = 0;
    page->scale = BAR / fmax(1e-9, fmax(r->diesel_year, r->side[1].cost_year));
    ow_report_line(&page->out, "%-26s %8s %8s %9s", "From free oil to its cost", page->volume, page->distance,
                   "a year");
    for (int i = 0; i < OW_COST_LINES; i++) {
        const double year = r->line[i];
        if (ow_cost_line_is_work((OwCostLine)i) && (i == 0 || !ow_cost_line_is_work((OwCostLine)(i - 1)))) {
            write_line(page, "all but your hours", r->side[0].cost_year, 0.0, "=");
        }
        if (fabs(year) < 0.005) {
            left_out++;
        } else {
            write_line(page, ow_cost_line_text((OwCostLine)i), year, sum, "#");
        }
        sum += year;
    }
    write_line(page, "all with your hours", r->side[1].cost_year, 0.0, "=");
    write_line(page, "diesel it replaces", r->diesel_year, 0.0, "D");
    if (left_out > 0) {
        ow_report_line(&page->out, "(%d line%s of nought left out)", left_out, left_out > 1 ? "s" : "");
    }
}

static void write_point(const Page *page, OwCostResult result, const OwCostBand *band, int k, char text[32]) {
    const double v = band->point[k];
    if (band->never[k]) {
        (void)snprintf(text, 32, "%s",
                       result == OW_COST_RESULT_IRR || result == OW_COST_RESULT_HOUR ? "none" : "never");
        return;
    }
    switch (result) {
    case OW_COST_RESULT_LITRE:
        (void)money(v * page->per_volume, 2, 8, text);
        break;
    case OW_COST_RESULT_DISTANCE:
        (void)money(v * page->per_distance, 3, 8, text);
        break;
    case OW_COST_RESULT_PAYBACK:
    case OW_COST_RESULT_DISCOUNTED:
        (void)snprintf(text, 32, "%.1f y", v);
        break;
    case OW_COST_RESULT_IRR:
        (void)snprintf(text, 32, "%.0f %%", 100.0 * v);
        break;
    case OW_COST_RESULT_HOUR:
        (void)money(v * 3600.0, 2, 8, text);
        break;
    default:
        (void)money(v, 0, 8, text);
    }
}

static void write_bands(const Page *page) {
    ow_report_line(&page->out, "%-25s %26s  %26s", "How sure, over all ranges", "------ hours unpaid ------",
                   "------ hours counted -----");
    ow_report_line(&page->out, "%-25s %8s %8s %8s  %8s %8s %8s", "", "5 %", "middle", "95 %", "5 %", "middle",
                   "95 %");
    for (int k = 0; k < OW_COST_RESULTS; k++) {
        const OwCostResult result = (OwCostResult)k;
        char label[64], cell[6][32];
        const char *unit = result == OW_COST_RESULT_LITRE      ? page->volume
                           : result == OW_COST_RESULT_DISTANCE ? page->distance
                                                               : "";
        (void)snprintf(label, sizeof label, "%s%s%s",
                       result == OW_COST_RESULT_DISTANCE ? "driving"
                       : result == OW_COST_RESULT_LITRE  ? "oil"
                                                         : ow_cost_result_text(result),
                       unit[0] != '\0' ? " " : "", unit);
        for (int s = 0; s < 2; s++) {
            for (int p = 0; p < 3; p++) {
                write_point(page, result, &page->study->band[s][k], p, cell[3 * s + p]);
            }
        }
        if (result == OW_COST_RESULT_HOUR) {
            (void)snprintf(cell[3], 32, "%s", "");
            (void)snprintf(cell[4], 32, "%s", "");
            (void)snprintf(cell[5], 32, "%s", "");
        }
        ow_report_line(&page->out, "%-25s %8s %8s %8s  %8s %8s %8s", label, cell[0], cell[1], cell[2],
                       cell[3], cell[4], cell[5]);
    }
}

/// Large sums in thousands.
static const char *thousands(double value, char text[32]) {
    if (fabs(value) >= 99999.5) {
        (void)snprintf(text, 32, "%.0fk", value / 1000.0);
        return text;
    }
    return money(value, 0, 8, text);
}

static void write_influence(const Page *page) {
    const OwCostStudy *study = page->study;
    const int count = study->influence_count < 5 ? study->influence_count : 5;
    if (count == 0) {
        ow_report_line(&page->out, "No figure has a range: nothing is uncertain, which is never true.");
        return;
    }
    ow_report_line(&page->out, "%-22s %5s  %-24s %16s  %s", "What moves it most", "share",
                   "range (5 to 95 %)", "worth", "from");
    for (int i = 0; i < count; i++) {
        const OwCostInfluence *x = &study->influence[i];
        char low[48], high[48], range[100], worth[40], a[32], b[32];
        ow_cost_write(x->input, x->low, page->display, low, sizeof low);
        ow_cost_write(x->input, x->high, page->display, high, sizeof high);
        // The unit once.
        char *blank = strchr(low, ' ');
        const char *same = strchr(high, ' ');
        if (blank != NULL && same != NULL && strcmp(blank, same) == 0) {
            *blank = '\0';
        }
        (void)snprintf(range, sizeof range, "%s to %s", low, high);
        (void)snprintf(worth, sizeof worth, "%s to %s", thousands(x->npv_low, a), thousands(x->npv_high, b));
        static const char *const from[] = {"default", "file", "oil", "yard", "log"};
        const OwCostOrigin origin = page->plan->inputs[x->input].origin;
        // A range that is too long for its column takes the last one's place.
        const bool is_long = ow_report_width(range) > 24;
        ow_report_line(&page->out, "%-22s %3.0f %%  %-24s %16s  %s", ow_cost_label(x->input),
                       100.0 * x->total, range, worth, is_long ? "" : from[origin]);
    }
}

static void write_break_even(const Page *page) {
    const OwCostAnswer *a = page->answer;
    const OwCostReckoning *r = &a->likely;
    char text[600], price[64] = "no price in range", distance[64] = "no distance in range", litres[48],
                    hour[48], hours[48];
    if (a->has_diesel_price) {
        ow_cost_write(OW_COST_DIESEL_PRICE, a->diesel_price, page->display, price, sizeof price);
    }
    if (a->has_distance) {
        ow_cost_write(OW_COST_DISTANCE, a->distance, page->display, distance, sizeof distance);
        ow_cost_write(OW_COST_BATCH, a->litres_m3_y, page->display, litres, sizeof litres);
        const size_t n = strlen(distance);
        (void)snprintf(distance + n, sizeof distance - n, " (%s of oil)", litres);
    }
    ow_cost_write(OW_COST_HOUR, r->hour, page->display, hour, sizeof hour);
    ow_cost_write(OW_COST_UPKEEP_TIME, r->hours_y, page->display, hours, sizeof hours);
    (void)snprintf(text, sizeof text,
                   "Breaks even%s at diesel %s; at %s. Your work, %s and %.0f h once, earns %s.",
                   page->plan->counts_hours ? ", hours counted," : ", hours unpaid,", price, distance, hours,
                   r->hours_once / 3600.0, r->has_hour ? hour : "nothing to reckon with");
    ow_report_paragraph(&page->out, text, 2);
    if (a->mend_count > 0) {
        size_t used = (size_t)snprintf(text, sizeof text, "It would pay with one of:");
        for (int i = 0; i < a->mend_count && used < sizeof text; i++) {
            char from[48], to[48];
            ow_cost_write(a->mends[i].input, a->mends[i].from, page->display, from, sizeof from);
            ow_cost_write(a->mends[i].input, a->mends[i].to, page->display, to, sizeof to);
            if (a->mends[i].input == OW_COST_OIL_PRICE && a->mends[i].to < 0.0) {
                ow_cost_write(a->mends[i].input, -a->mends[i].to, page->display, to, sizeof to);
                used += (size_t)snprintf(text + used, sizeof text - used,
                                         "%s %s paid to you for taking the oil", i > 0 ? ";" : "", to);
                continue;
            }
            used += (size_t)snprintf(text + used, sizeof text - used, "%s %s %s (now %s)", i > 0 ? ";" : "",
                                     ow_cost_label(a->mends[i].input), to, from);
        }
        ow_report_paragraph(&page->out, text, 2);
    } else if (!a->pays[page->plan->counts_hours ? 1 : 0]) {
        ow_report_paragraph(&page->out, "No single change of up to eight times would make it pay.", 2);
    }
}

static void write_origins(const Page *page, const OwCostTaken *taken) {
    int defaults = 0, assumed = 0;
    for (int i = 0; i < OW_COST_INPUTS; i++) {
        if (page->plan->inputs[i].origin == OW_COST_FROM_DEFAULT) {
            defaults++;
            assumed += ow_cost_trust((OwCostInput)i) == OW_TRUST_ASSUMED ? 1 : 0;
        }
    }
    char text[640];
    (void)snprintf(text, sizeof text,
                   "Rests on: %d of %d figures are defaults, %d of those assumed: write your own.%s%s%s%s "
                   "Bands: %d samples, each figure drawn apart from the rest.",
                   defaults, OW_COST_INPUTS, assumed, taken->yard[0] != '\0' ? " " : "", taken->yard,
                   taken->log[0] != '\0' ? " " : "", taken->log, page->study->samples);
    ow_report_paragraph(&page->out, text, 2);
}

/// All likely figures together need not lie in the middle of what the ranges allow: says so when they do not.
static void write_lean(const Page *page, int side) {
    const double likely = page->answer->likely.side[side].cost_m;
    const OwCostBand *band = &page->study->band[side][OW_COST_RESULT_DISTANCE];
    const double low = band->point[0], middle = band->point[1], high = band->point[2];
    const bool is_cheap = likely<0.5 * (low + middle), is_dear = likely> 0.5 * (middle + high);
    if (!band->never[1] && high > low && (is_cheap || is_dear)) {
        char text[240], cost[32];
        (void)snprintf(
            text, sizeof text,
            "Most ranges reach further to the %s side than to the other: the likely figures together are the "
            "%s end, and half of all cases cost %s than %s %s.",
            is_cheap ? "dear" : "cheap", is_cheap ? "cheap" : "dear", is_cheap ? "more" : "less",
            money(middle * page->per_distance, 3, 8, cost), page->distance);
        ow_report_paragraph(&page->out, text, 0);
    }
}

static void write_head(const Page *page) {
    const OwCostReckoning *r = &page->answer->likely;
    const OwCostStudy *study = page->study;
    const int side = page->plan->counts_hours ? 1 : 0;
    char text[600], distance[48], oil[48];
    (void)snprintf(text, sizeof text, "On likely figures it %c%s", page->answer->verdict[0] - 'A' + 'a',
                   page->answer->verdict + 1);
    ow_report_paragraph(&page->out, text, 0);
    const double chance = study->chance[side], other = study->chance[1 - side];
    (void)snprintf(text, sizeof text,
                   "Over all ranges the chance that it pays within %d years is %.0f %% (%.0f %% %s).",
                   page->plan->years, 100.0 * chance, 100.0 * other,
                   side == 1 ? "with your hours unpaid" : "with your hours counted");
    ow_report_paragraph(&page->out, text, 0);
    write_lean(page, side);
    ow_report_line(&page->out, "%s", "");
    ow_cost_write(OW_COST_DISTANCE, page->plan->inputs[OW_COST_DISTANCE].value, page->display, distance,
                  sizeof distance);
    ow_cost_write(OW_COST_BATCH, r->oil_m3_y, page->display, oil, sizeof oil);
    (void)snprintf(text, sizeof text, "%s: %s, %.0f %% of it on oil, %s of oil a year. Money in %s.",
                   page->plan->name, distance, 100.0 * page->plan->inputs[OW_COST_OIL_SHARE].value, oil,
                   page->plan->currency);
    ow_report_paragraph(&page->out, text, 0);
}

void ow_cost_report(FILE *file, const OwCostPlan *plan, const OwCostAnswer *answer, const OwCostStudy *study,
                    const OwCostTaken *taken, OwDisplay display, bool is_ascii) {
    Page page = {.out = {.file = file, .is_ascii = is_ascii},
                 .plan = plan,
                 .answer = answer,
                 .study = study,
                 .display = display};
    page.volume = ow_cost_unit(OW_COST_DIESEL_PRICE, display, &page.per_volume);
    page.distance = ow_cost_unit(OW_COST_UPKEEP, display, &page.per_distance);
    write_head(&page);
    write_waterfall(&page);
    ow_report_line(&page.out, "%s", "");
    write_bands(&page);
    ow_report_line(&page.out, "%s", "");
    write_influence(&page);
    ow_report_line(&page.out, "%s", "");
    write_break_even(&page);
    write_origins(&page, taken);
    ow_report_paragraph(
        &page.out,
        "Ask locally before you start: fuel duty on oil burned, registration to collect, waste papers, fire "
        "code, insurance, type approval and emissions. As quoted, law changes, check: UK HMRC notice "
        "179e, under 2,500 L a year exempt, keep dates and litres; US, Clean Air Act and road duty. "
        "--json has all notes. Oily rags and filter cake heat by themselves.",
        2);
}
