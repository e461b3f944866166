// SPDX-License-Identifier: GPL-3.0-or-later
// Values of `oilwright oil` as people write them: shares, acid values, hydrometer readings, a laboratory's
// lines.
#include <ctype.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "oil_cli.h"

static bool refuse(const char *option, const char *why) {
    fprintf(stderr, "oilwright oil: %s: %s\n", option, why);
    return false;
}

/// True when the rest of a text is the word, blind to case and to blanks around it.
static bool is_rest(const char *rest, const char *word) {
    rest += strspn(rest, " ");
    while (*word && tolower((unsigned char)*rest) == *word) {
        ++rest;
        ++word;
    }
    return !*word && rest[strspn(rest, " ")] == '\0';
}

/// A share by mass, "800 ppm", "800 mg/kg", "0.1 %". A bare number above 0 is refused: nobody knows whether
/// 0.2 means 0.2 % or a fifth.
bool ow_oil_words_share(const char *text, const char *option, double *share) {
    char *end;
    const double number = strtod(text, &end);
    double factor = -1.0;
    if (is_rest(end, "ppm") || is_rest(end, "mg/kg")) {
        factor = 1e-6;
    } else if (is_rest(end, "%") || is_rest(end, "percent")) {
        factor = 0.01;
    } else if (is_rest(end, "")) {
        if (end != text && number > 0.0) {
            char why[160];
            const bool is_ppm = number > 50.0;
            snprintf(why, sizeof why, "%.20s of what? write \"%.4g %s\"%s by mass", text, number,
                     is_ppm ? "ppm" : "%", is_ppm ? " (mg/kg)," : " or so many \"ppm\" (mg/kg),");
            return refuse(option, why);
        }
        factor = 1.0;
    }
    if (end == text || factor < 0.0 || !(number * factor >= 0.0 && number * factor <= 1.0)) {
        return refuse(option, "write a share by mass such as \"800 ppm\" or \"0.1 %\"");
    }
    *share = number * factor;
    return true;
}

/// An acid value, "2.3", "2.3 mg KOH/g", or free fatty acid as oleic, "1.2 %" (AOCS Ca 5a-40 against 56.1 mL
/// N/g: times 56.1/28.2).
bool ow_oil_words_acid(const char *text, double *acid_mg_g) {
    char *end;
    const double number = strtod(text, &end);
    double factor = 1.0;
    if (is_rest(end, "%") || is_rest(end, "% ffa") || is_rest(end, "%ffa") || is_rest(end, "% as oleic")) {
        factor = 56.1 / 28.2;
    } else if (!is_rest(end, "") && !is_rest(end, "mg koh/g") && !is_rest(end, "mgkoh/g") &&
               !is_rest(end, "mg/g")) {
        factor = NAN;
    }
    if (end == text || !(number * factor >= 0.0 && number * factor <= 200.0)) {
        return refuse(
            "--acid",
            "write an acid value, \"2.3 mg KOH/g\" from 0 to 200, or free acid as oleic, \"1.2 %\"");
    }
    *acid_mg_g = number * factor;
    return true;
}

/// A density; a bare number from 0.5 to 1.5 is a relative one, as many hydrometers show ("0.915", "0.915
/// sg").
bool ow_oil_words_density(OwUnits *units, const char *text, const char *option, double *kg_m3) {
    char *end, why[256] = "";
    const double number = strtod(text, &end);
    if (end != text && number > 0.5 && number < 1.5 && (is_rest(end, "") || is_rest(end, "sg"))) {
        *kg_m3 = 1000.0 * number;
        return true;
    }
    if (ow_units_read(units, text, OW_Q_DENSITY, "kg/m3", kg_m3, why, sizeof why) != OW_OK ||
        !isfinite(*kg_m3)) {
        return refuse(option, why[0] ? why : "not a number");
    }
    return true;
}

/// One line of a laboratory sheet, "sulphur 5 mg/kg", "flash point = 220 degC". "<1 mg/kg" counts as half of
/// it; of other units "<" is refused.
bool ow_oil_words_sheet(OwUnits *units, const char *text, double *sheet) {
    char name[40], why[256] = "";
    size_t size = 0;
    while (text[size] && !isdigit((unsigned char)text[size]) && !strchr("=:<-", text[size])) {
        ++size;
    }
    size_t cut = size;
    while (cut > 0 && isspace((unsigned char)text[cut - 1])) {
        --cut;
    }
    snprintf(name, sizeof name, "%.*s", (int)(cut < sizeof name ? cut : sizeof name - 1), text);
    const int which = ow_sheet_find(name);
    if (which < 0) {
        fprintf(stderr, "oilwright oil: --lab: no value \"%s\"; known are", name);
        for (int i = 0; i < OW_SHEET_COUNT; ++i) {
            fprintf(stderr, "%s %s", i ? "," : "", ow_sheet_name((OwSheetValue)i));
        }
        fputs("; density, water, solids, acid, cloud point, viscosity and fatty acids have options of their "
              "own\n",
              stderr);
        return false;
    }
    const char *value = text + size + strspn(text + size, " =:");
    const bool is_below = *value == '<';
    value += is_below ? 1 + strspn(value + 1, " ") : 0;
    if (is_below && which < OW_SHEET_SULPHUR) {
        return refuse("--lab", "\"<\" is understood of mg/kg alone"); // half of a flash point is none
    }
    static const struct {
        OwQuantity quantity;
        const char *bare;
    } kinds[OW_SHEET_COUNT] = {[OW_SHEET_FLASH] = {OW_Q_TEMPERATURE, "degC"},
                               [OW_SHEET_NET_HEAT] = {OW_Q_HEATING_VALUE, "MJ/kg"},
                               [OW_SHEET_OXIDATION] = {OW_Q_TIME, "h"}};
    double read = 0.0;
    if (kinds[which].bare) {
        if (ow_units_read(units, value, kinds[which].quantity, kinds[which].bare, &read, why, sizeof why) !=
            OW_OK) {
            return refuse("--lab", why);
        }
    } else {
        char *end;
        const bool is_share = which >= OW_SHEET_SULPHUR;
        read = strtod(value, &end);
        const bool is_plain = is_rest(end, "") || (which == OW_SHEET_IODINE && is_rest(end, "g/100 g")) ||
                              (which == OW_SHEET_IODINE && is_rest(end, "g i2/100 g"));
        const bool is_ppm = is_share && (is_plain || is_rest(end, "mg/kg") || is_rest(end, "ppm"));
        const bool is_percent = is_share && is_rest(end, "%");
        if (end == value || !(is_share ? is_ppm || is_percent : is_plain)) {
            snprintf(why, sizeof why, "\"%.60s\" is not a %s; write %s", value,
                     ow_sheet_name((OwSheetValue)which), is_share ? "\"5 mg/kg\"" : "a plain number");
            return refuse("--lab", why);
        }
        read *= is_percent ? 0.01 : is_share ? 1e-6 : 1.0;
        read = is_share && read == 0.0 ? 1e-9 : read; // none found: less than is measured
    }
    if (!(read > 0.0) || !isfinite(read)) {
        return refuse("--lab", "a value above 0 is wanted");
    }
    sheet[which] = is_below ? 0.5 * read : read;
    return true;
}
