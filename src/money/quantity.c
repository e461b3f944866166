// SPDX-License-Identifier: GPL-3.0-or-later
// Prices and rates: one quantity over another, read with any unit and written metric or US.
#include "base/text.h"
#include "money/money_impl.h"

#include <ctype.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

/// Above the line money or a quantity, below it a quantity or nothing.
typedef struct Kind {
    bool is_money, is_rate, is_yearly;
    OwQuantity over, under;
    const char *bare; ///< unit of a bare number, NULL: one must be written
    const char *example;
    struct {
        double factor; ///< shown = si * factor
        int decimals;
        const char *unit;
    } show[2];
} Kind;

// Factors: NIST SP 811 (2008), Appendix B.
#define MILE 1609.344
#define US_GAL 3.785411784e-3

static const Kind kinds[OW_KIND_COUNT] = {
    [OW_KIND_MONEY] = {true, false, false, OW_Q_NUMBER, OW_Q_NUMBER, NULL, "250", {{1, 2, ""}, {1, 2, ""}}},
    [OW_KIND_MONEY_YEAR] = {true,
                            false,
                            true,
                            OW_Q_NUMBER,
                            OW_Q_NUMBER,
                            NULL,
                            "50 a year",
                            {{1, 2, "a year"}, {1, 2, "a year"}}},
    [OW_KIND_PER_VOLUME] = {true,
                            true,
                            false,
                            OW_Q_NUMBER,
                            OW_Q_VOLUME,
                            NULL,
                            "1.50 per L\" or \"5.60 per US gal",
                            {{1e-3, 3, "per L"}, {US_GAL, 2, "per US gal"}}},
    [OW_KIND_PER_DISTANCE] = {true,
                              true,
                              false,
                              OW_Q_NUMBER,
                              OW_Q_LENGTH,
                              NULL,
                              "0.30 per km\" or \"0.48 per mi",
                              {{1e3, 3, "per km"}, {MILE, 3, "per mi"}}},
    [OW_KIND_PER_ENERGY] = {true,
                            true,
                            false,
                            OW_Q_NUMBER,
                            OW_Q_ENERGY,
                            NULL,
                            "0.30 per kWh",
                            {{3.6e6, 3, "per kWh"}, {3.6e6, 3, "per kWh"}}},
    [OW_KIND_PER_TIME] = {true,
                          true,
                          false,
                          OW_Q_NUMBER,
                          OW_Q_TIME,
                          NULL,
                          "15 per h",
                          {{3600, 2, "per h"}, {3600, 2, "per h"}}},
    [OW_KIND_SHARE] =
        {false, false, false, OW_Q_NUMBER, OW_Q_NUMBER, NULL, "90 %", {{100, 1, "%"}, {100, 1, "%"}}},
    [OW_KIND_SHARE_YEAR] = {false,
                            false,
                            true,
                            OW_Q_NUMBER,
                            OW_Q_NUMBER,
                            NULL,
                            "4 %",
                            {{100, 1, "% a year"}, {100, 1, "% a year"}}},
    [OW_KIND_COUNT_YEAR] =
        {false, false, true, OW_Q_NUMBER, OW_Q_NUMBER, NULL, "350", {{1, 0, "a year"}, {1, 0, "a year"}}},
    [OW_KIND_VOLUME] = {false,
                        false,
                        false,
                        OW_Q_VOLUME,
                        OW_Q_NUMBER,
                        NULL,
                        "50 L\" or \"13 US gal",
                        {{1e3, 2, "L"}, {1 / US_GAL, 2, "US gal"}}},
    [OW_KIND_DISTANCE] = {false,
                          false,
                          false,
                          OW_Q_LENGTH,
                          OW_Q_NUMBER,
                          NULL,
                          "10 km\" or \"6 mi",
                          {{1e-3, 1, "km"}, {1 / MILE, 1, "mi"}}},
    [OW_KIND_DISTANCE_YEAR] = {false,
                               false,
                               true,
                               OW_Q_LENGTH,
                               OW_Q_NUMBER,
                               NULL,
                               "15000 km\" or \"9000 mi",
                               {{1e-3, 0, "km a year"}, {1 / MILE, 0, "mi a year"}}},
    [OW_KIND_TIME] = {false,
                      false,
                      false,
                      OW_Q_TIME,
                      OW_Q_NUMBER,
                      NULL,
                      "2 h\" or \"30 min",
                      {{1 / 3600.0, 2, "h"}, {1 / 3600.0, 2, "h"}}},
    [OW_KIND_TIME_YEAR] = {false,
                           false,
                           true,
                           OW_Q_TIME,
                           OW_Q_NUMBER,
                           NULL,
                           "5 h",
                           {{1 / 3600.0, 1, "h a year"}, {1 / 3600.0, 1, "h a year"}}},
    [OW_KIND_TIME_PER_VOLUME] = {false,
                                 true,
                                 false,
                                 OW_Q_TIME,
                                 OW_Q_VOLUME,
                                 NULL,
                                 "2 h per 100 L\" or \"1 h per 15 US gal",
                                 {{1 / 3.6e4, 2, "h/100 L"}, {US_GAL / 360.0, 2, "h/10 US gal"}}},
    [OW_KIND_ENERGY_PER_VOLUME] = {false,
                                   true,
                                   false,
                                   OW_Q_ENERGY,
                                   OW_Q_VOLUME,
                                   NULL,
                                   "0.08 kWh/L",
                                   {{1 / 3.6e9, 3, "kWh/L"}, {US_GAL / 3.6e6, 3, "kWh/US gal"}}},
    [OW_KIND_VOLUME_PER_DISTANCE] = {false,
                                     true,
                                     false,
                                     OW_Q_VOLUME,
                                     OW_Q_LENGTH,
                                     NULL,
                                     "8 L/100 km\" or \"30 US mpg",
                                     {{1e8, 1, "L/100 km"}, {100 * MILE / US_GAL, 1, "US gal/100 mi"}}},
    [OW_KIND_YEARS] =
        {false, false, false, OW_Q_NUMBER, OW_Q_NUMBER, NULL, "8 years", {{1, 1, "years"}, {1, 1, "years"}}},
};

#define ROOM 96

static bool is_blank(char c) {
    return c == ' ' || c == '\t';
}

/// Cuts a tail such as "a year" off, when it is there.
static bool cut_tail(char *text, const char *tail) {
    size_t n = strlen(text);
    const size_t m = strlen(tail);
    if (n < m || strcmp(text + n - m, tail) != 0) {
        return false;
    }
    n -= m;
    while (n > 0 && is_blank(text[n - 1])) {
        n--;
    }
    text[n] = '\0';
    return true;
}

/// Splits at "per", or at a slash beside a letter; a slash between digits is a fraction.
static char *find_under(char *text) {
    char *per = strstr(text, " per ");
    if (per != NULL) {
        *per = '\0';
        return per + 5;
    }
    for (char *c = strchr(text, '/'); c != NULL; c = strchr(c + 1, '/')) {
        const char *after = c + 1, *before = c;
        while (is_blank(*after)) {
            after++;
        }
        while (before > text && is_blank(before[-1])) {
            before--;
        }
        if (isalpha((unsigned char)*after) || (before > text && isalpha((unsigned char)before[-1]))) {
            *c = '\0';
            return c + 1;
        }
    }
    return NULL;
}

static OwStatus say(OwStatus status, const Kind *kind, const char *text, const char *what, char why[256],
                    char remedy[256]) {
    (void)snprintf(why, 256, "\"%.60s\" %s", text, what);
    (void)snprintf(remedy, 256, "write for example \"%s\"", kind->example);
    return status;
}

/// "30 US mpg" and "38 UK mpg": volume over distance the other way round.
static bool read_mpg(char *text, OwUnits *units, double *si) {
    static const struct {
        const char *tail;
        double gallon_m3;
    } tails[] = {{"US mpg", US_GAL}, {"UK mpg", 4.54609e-3}, {"imp mpg", 4.54609e-3}};
    for (size_t i = 0; i < sizeof tails / sizeof tails[0]; i++) {
        double miles = 0.0;
        if (cut_tail(text, tails[i].tail)) {
            if (ow_units_read(units, text, OW_Q_NUMBER, NULL, &miles, NULL, 0) != OW_OK || !(miles > 0.0)) {
                return false;
            }
            *si = tails[i].gallon_m3 / (miles * MILE);
            return true;
        }
    }
    return false;
}

static bool read_under(const char *text, OwUnits *units, OwQuantity quantity, double *si) {
    while (is_blank(*text)) {
        text++;
    }
    char whole[ROOM + 4];
    (void)snprintf(whole, sizeof whole, "%s%s", isalpha((unsigned char)*text) ? "1 " : "", text);
    return ow_units_read(units, whole, quantity, NULL, si, NULL, 0) == OW_OK && *si > 0.0;
}

OwStatus ow_cost_quantity_read(const char *text, OwCostKind which, OwUnits *units, double *si, char why[256],
                               char remedy[256]) {
    const Kind *kind = &kinds[which];
    char over[ROOM];
    if (!ow_text_copy(over, sizeof over, text)) {
        return say(OW_ERROR_VALUE, kind, text, "is too long", why, remedy);
    }
    if (kind->is_yearly) {
        (void)(cut_tail(over, "a year") || cut_tail(over, "per year") || cut_tail(over, "/year"));
    }
    if (which == OW_KIND_YEARS) {
        (void)(cut_tail(over, "years") || cut_tail(over, "year"));
    }
    double value = 0.0, below = 1.0;
    char copy[ROOM];
    memcpy(copy, over, sizeof copy);
    if (which == OW_KIND_VOLUME_PER_DISTANCE && read_mpg(copy, units, si)) {
        return OW_OK;
    }
    if (which == OW_KIND_VOLUME_PER_DISTANCE && cut_tail(copy, "mpg")) {
        return say(OW_ERROR_UNIT, kind, text, "does not say which gallon", why, remedy);
    }
    const char *under = kind->is_rate ? find_under(over) : NULL;
    OwQuantity quantity = kind->over, under_quantity = kind->under;
    char reason[256] = "";
    OwStatus status = ow_units_read(units, over, quantity, NULL, &value, reason, sizeof reason);
    bool is_inverse = false;
    if (status != OW_OK && which == OW_KIND_VOLUME_PER_DISTANCE && under != NULL) {
        is_inverse = ow_units_read(units, over, OW_Q_LENGTH, NULL, &value, NULL, 0) == OW_OK && value > 0.0;
        under_quantity = OW_Q_VOLUME;
    }
    if (status != OW_OK && !is_inverse) {
        return say(status, kind, text, "cannot be read here", why, remedy);
    }
    if (kind->is_money && strchr(over, '%') != NULL) {
        return say(OW_ERROR_UNIT, kind, text, "is a share, not money", why, remedy);
    }
    if (kind->is_rate && under == NULL && value != 0.0) {
        return say(OW_ERROR_UNIT, kind, text, "does not say per what", why, remedy);
    }
    if (under != NULL && !read_under(under, units, under_quantity, &below)) {
        return say(OW_ERROR_UNIT, kind, text, "has a wrong unit below the line", why, remedy);
    }
    value = is_inverse ? below / value : value / below;
    if (!isfinite(value)) {
        return say(OW_ERROR_VALUE, kind, text, "is too large", why, remedy);
    }
    *si = value;
    return OW_OK;
}

const char *ow_cost_quantity_unit(OwCostKind kind, OwDisplay display, double *factor) {
    const int d = display == OW_DISPLAY_US ? 1 : 0;
    if (factor != NULL) {
        *factor = kinds[kind].show[d].factor;
    }
    return kinds[kind].show[d].unit;
}

void ow_cost_quantity_write(double si, OwCostKind kind, OwDisplay display, char *text, size_t size) {
    const int d = display == OW_DISPLAY_US ? 1 : 0;
    double shown = si * kinds[kind].show[d].factor;
    if (kind == OW_KIND_VOLUME_PER_DISTANCE && d == 1) {
        shown = si > 0.0 ? US_GAL / (MILE * si) : 0.0; // miles per gallon runs the other way
    }
    if (!isfinite(shown)) {
        (void)snprintf(text, size, "unknown");
        return;
    }
    int decimals = kinds[kind].show[d].decimals;
    if (kinds[kind].is_money && decimals > 2 && fabs(shown) >= 0.995) {
        decimals = 2;
    }
    if (fabs(shown) >= (kinds[kind].is_money ? 1000.0 : 100.0)) {
        decimals = 0;
    }
    // At least two digits that mean something.
    while (decimals < 7 && shown != 0.0 && fabs(shown) * pow(10.0, decimals) < 9.5) {
        decimals++;
    }
    char number[64];
    (void)snprintf(number, sizeof number, "%.*f", decimals,
                   fabs(shown) < 0.5 * pow(10.0, -decimals) ? 0.0 : shown);
    // Other than money, nothing is gained by zeros at the end.
    if (!kinds[kind].is_money && strchr(number, '.') != NULL) {
        size_t n = strlen(number);
        while (number[n - 1] == '0') {
            n--;
        }
        n -= number[n - 1] == '.' ? 1 : 0;
        number[n] = '\0';
    }
    const char *unit = kind == OW_KIND_VOLUME_PER_DISTANCE && d == 1 ? "US mpg" : kinds[kind].show[d].unit;
    (void)snprintf(text, size, unit[0] == '\0' ? "%s%s" : "%s %s", number, unit);
}

void ow_cost_write(OwCostInput input, double si, OwDisplay display, char *text, size_t size) {
    if (text == NULL || size == 0) {
        return;
    }
    text[0] = '\0';
    if ((unsigned)input < OW_COST_INPUTS) {
        ow_cost_quantity_write(si, ow_cost_rows[input].kind, display, text, size);
    }
}

const char *ow_cost_unit(OwCostInput input, OwDisplay display, double *factor) {
    return (unsigned)input < OW_COST_INPUTS ? ow_cost_quantity_unit(ow_cost_rows[input].kind, display, factor)
                                            : "";
}
