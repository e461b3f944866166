// SPDX-License-Identifier: GPL-3.0-or-later
// Numbers with units of a short form, as people write them: "182,350", "182 912 km", "2,5", "1h30", "3 x 20
// L".
#include "log_words.h"

#include <ctype.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

static size_t currency(const char *t) {
    static const char *const signs[] = {"$", "\xE2\x82\xAC", "\xC2\xA3"};
    for (int i = 0; i < 3; i++) {
        if (strncmp(t, signs[i], strlen(signs[i])) == 0) {
            return strlen(signs[i]);
        }
    }
    return 0;
}

bool ow_words_is_number(const char *t) {
    t += currency(t);
    if (*t == '+' || *t == '-') {
        t++;
    }
    t += currency(t);
    return isdigit((unsigned char)t[0]) || (t[0] == '.' && isdigit((unsigned char)t[1]));
}

/// Digits with their thousands and decimal marks made plain: "182,350" and "2,5"; returns where the unit
/// begins.
static const char *plain_digits(const char *t, char *out, size_t size) {
    size_t used = 0;
    if (*t == '+' || *t == '-') {
        if (*t == '-') {
            out[used++] = '-';
        }
        t++;
    }
    bool has_point = false;
    for (; *t != '\0' && used + 2 < size; t++) {
        if (isdigit((unsigned char)*t)) {
            out[used++] = *t;
        } else if (*t == '.' && !has_point && isdigit((unsigned char)t[1])) {
            out[used++] = '.';
            has_point = true;
        } else if (*t == ',' && !has_point && isdigit((unsigned char)t[1])) {
            const bool is_thousand = isdigit((unsigned char)t[1]) && isdigit((unsigned char)t[2]) &&
                                     isdigit((unsigned char)t[3]) && !isdigit((unsigned char)t[4]);
            if (!is_thousand) {
                out[used++] = '.';
                has_point = true;
            }
        } else {
            break;
        }
    }
    out[used] = '\0';
    return t;
}

/// Words that stand for a unit after a number; longer spellings are made short.
static const char *unit_word(const char *t) {
    static const char *const known[][2] = {{"l", "L"},
                                           {"ltr", "L"},
                                           {"litre", "L"},
                                           {"litres", "L"},
                                           {"liter", "L"},
                                           {"liters", "L"},
                                           {"ml", "mL"},
                                           {"m3", "m3"},
                                           {"gal", "gal"},
                                           {"gals", "gal"},
                                           {"gallon", "gal"},
                                           {"gallons", "gal"},
                                           {"quart", "quart"},
                                           {"quarts", "quart"},
                                           {"kg", "kg"},
                                           {"kgs", "kg"},
                                           {"kilo", "kg"},
                                           {"kilos", "kg"},
                                           {"g", "g"},
                                           {"lb", "lb"},
                                           {"lbs", "lb"},
                                           {"pounds", "lb"},
                                           {"km", "km"},
                                           {"kms", "km"},
                                           {"k", "k"},
                                           {"mi", "mi"},
                                           {"mile", "mi"},
                                           {"miles", "mi"},
                                           {"m", "m"},
                                           {"min", "min"},
                                           {"mins", "min"},
                                           {"minutes", "min"},
                                           {"h", "h"},
                                           {"hr", "h"},
                                           {"hrs", "h"},
                                           {"hour", "h"},
                                           {"hours", "h"},
                                           {"d", "d"},
                                           {"day", "d"},
                                           {"days", "d"},
                                           {"ppm", "ppm"},
                                           {"mg/kg", "ppm"},
                                           {"mg/g", "mg/g"},
                                           {"mgkoh/g", "mg/g"},
                                           {"%", "%"},
                                           {"percent", "%"},
                                           {"kpa", "kPa"},
                                           {"bar", "bar"},
                                           {"mbar", "mbar"},
                                           {"psi", "psi"},
                                           {"inhg", "inHg"},
                                           {"mmhg", "mmHg"},
                                           {"pa", "Pa"},
                                           {"c", "degC"},
                                           {"degc", "degC"},
                                           {"\xC2\xB0"
                                            "c",
                                            "degC"},
                                           {"f", "degF"},
                                           {"degf", "degF"},
                                           {"\xC2\xB0"
                                            "f",
                                            "degF"},
                                           {"mm2/s", "mm2/s"},
                                           {"cst", "cSt"},
                                           {"kwh", "kWh"},
                                           {"kg/m3", "kg/m3"},
                                           {"kg/l", "kg/L"},
                                           {"g/ml", "g/mL"},
                                           {"g/cm3", "g/cm3"},
                                           {"eur", "money"},
                                           {"usd", "money"},
                                           {"gbp", "money"},
                                           {"euro", "money"},
                                           {"euros", "money"},
                                           {"dollars", "money"},
                                           {"\xE2\x82\xAC", "money"},
                                           {"$", "money"},
                                           {"\xC2\xA3", "money"}};
    for (size_t i = 0; i < sizeof known / sizeof known[0]; i++) {
        if (strcasecmp(t, known[i][0]) == 0) {
            return known[i][1];
        }
    }
    return NULL;
}

/// Keeps the text of a number; NULL when there is no room.
static char *keep_number(Reader *r, const char *joined) {
    const size_t length = strlen(joined) + 1;
    if (r->spare_used + length > sizeof r->spare) {
        return NULL;
    }
    char *kept = memcpy(r->spare + r->spare_used, joined, length);
    r->spare_used += length;
    return kept;
}

/// Number words before a unit: "three days".
int ow_words_count(const char *word) {
    static const char *const words[] = {"one",   "two",   "three", "four", "five",   "six",
                                        "seven", "eight", "nine",  "ten",  "eleven", "twelve"};
    return ow_words_in(word, words, OW_WORDS_COUNT(words)) + 1;
}

void ow_words_digits(Reader *r) {
    for (int i = 0; i + 1 < r->word_count && strcasecmp(r->words[i].text, "note") != 0; i++) {
        const Word *next = &r->words[i + 1];
        const int n = r->words[i].is_quoted ? 0 : ow_words_count(r->words[i].text);
        if (n > 0 && !next->is_quoted && strlen(next->text) > 1 && unit_word(next->text) != NULL) {
            char text[8];
            (void)snprintf(text, sizeof text, "%d", n);
            char *kept = keep_number(r, text);
            r->words[i].text = kept != NULL ? kept : r->words[i].text;
        }
    }
}

static bool is_digits(const char *t, size_t least, size_t most) {
    const size_t length = strlen(t);
    return length >= least && length <= most && strspn(t, "0123456789") == length;
}

bool ow_words_is_way(const char *unit) {
    const char *known = unit_word(unit);
    return known != NULL && (strcmp(known, "km") == 0 || strcmp(known, "mi") == 0);
}

/// "182 912 km", "182 912km": three more digits of an odometer.
static bool is_thousands(const Reader *r, int at) {
    if (at + 1 >= r->word_count || r->words[at + 1].is_quoted || !is_digits(r->words[at].text, 1, 3) ||
        strspn(r->words[at + 1].text, "0123456789") != 3) {
        return false;
    }
    const char *unit = r->words[at + 1].text + 3;
    if (*unit == '\0') {
        unit = at + 2 < r->word_count && !r->words[at + 2].is_quoted ? r->words[at + 2].text : "";
    }
    return ow_words_is_way(unit);
}

/// "3 x 20 L", "3x20L": words taken, 0 when it is no such thing.
static int product(Reader *r, int at, const char **text, bool *has_unit) {
    static const char *const signs[] = {"x", "*", "\xC3\x97"};
    Word *w = &r->words[at];
    const size_t length = strspn(w->text, "0123456789");
    const char *rest = w->text + length;
    int step = 0;
    if (length < 1 || length > 2) {
        return 0;
    }
    if (*rest == '\0' && at + 2 < r->word_count && !r->words[at + 1].is_quoted &&
        !r->words[at + 2].is_quoted && ow_words_in(r->words[at + 1].text, signs, 3) >= 0) {
        step = 2;
    } else if (strchr("xX*", *rest) == NULL || *rest == '\0' || !isdigit((unsigned char)rest[1])) {
        return 0;
    }
    char joined[96], *whole = w->text;
    w->text += step == 0 ? length + 1 : 0;
    const int taken = ow_words_is_number(r->words[at + step].text) && (step > 0 || w->text[0] != '\0')
                          ? ow_words_number(r, at + step, text, has_unit)
                          : 0;
    w->text = whole;
    if (taken == 0 || !*has_unit) {
        return 0;
    }
    const double each = strtod(*text, NULL);
    const char *unit = strchr(*text, ' ');
    const int size =
        snprintf(joined, sizeof joined, "%.12g%.40s", atoi(whole) * each, unit != NULL ? unit : "");
    const char *kept = size > 0 ? keep_number(r, joined) : NULL;
    *text = kept != NULL ? kept : *text;
    return kept != NULL ? step + taken : 0;
}

/// "1h30", "1 h 30 min": minutes, and the words taken; 0 when it is no such thing.
static int hours_and_minutes(const Reader *r, int at, int *minutes) {
    char words[64];
    int used = 0, hours = 0, rest = 0, taken = 1;
    (void)snprintf(words, sizeof words, "%.20s", r->words[at].text);
    for (int k = 1; k < 4 && at + k < r->word_count && !r->words[at + k].is_quoted; k++) {
        const size_t length = strlen(words);
        (void)snprintf(words + length, sizeof words - length, " %.12s", r->words[at + k].text);
    }
    if (sscanf(words, "%3d%*1[hH]%2d%n", &hours, &rest, &used) == 2 && used > 0 &&
        strchr(r->words[at].text, words[used - 1]) != NULL && strcspn(words, " ") >= (size_t)used) {
        const char *tail = r->words[at].text + used;
        if (*tail != '\0' && (unit_word(tail) == NULL || strcmp(unit_word(tail), "min") != 0)) {
            return 0;
        }
    } else {
        char hour_word[16], minute_word[16];
        int count = 0;
        used = 0;
        if (sscanf(words, "%3d %12[A-Za-z] %2d %12[A-Za-z]%n", &hours, hour_word, &rest, minute_word,
                   &used) != 4 ||
            used == 0 || (words[used] != '\0' && words[used] != ' ') || unit_word(hour_word) == NULL ||
            unit_word(minute_word) == NULL || strcmp(unit_word(hour_word), "h") != 0 ||
            strcmp(unit_word(minute_word), "min") != 0) {
            return 0;
        }
        for (int i = 0; i < used; i++) {
            count += words[i] == ' ' ? 1 : 0;
        }
        taken = count + 1;
    }
    *minutes = 60 * hours + rest;
    return rest < 60 ? taken : 0;
}

int ow_words_number(Reader *r, int at, const char **text, bool *has_unit) {
    char digits[64], joined[96], thousands[32];
    const char *t = r->words[at].text;
    int minutes = 0, together = product(r, at, text, has_unit);
    if (together > 0) {
        return together;
    }
    together = hours_and_minutes(r, at, &minutes);
    if (together > 0) {
        (void)snprintf(joined, sizeof joined, "%d min", minutes);
        *text = keep_number(r, joined);
        *text = *text != NULL ? *text : "";
        *has_unit = true;
        return together;
    }
    if (is_thousands(r, at)) {
        (void)snprintf(thousands, sizeof thousands, "%.3s%.20s", t, r->words[at + 1].text);
        t = thousands;
        together = 1;
        at++;
    }
    const size_t sign = currency(t[0] == '-' ? t + 1 : t);
    bool is_money = sign > 0;
    char start[80];
    (void)snprintf(start, sizeof start, "%s%.70s", t[0] == '-' && is_money ? "-" : "",
                   is_money ? t + sign + (t[0] == '-' ? 1 : 0) : t);
    const char *tail = plain_digits(start, digits, sizeof digits);
    const char *unit = *tail != '\0' ? unit_word(tail) : NULL;
    int taken = 1;
    if (*tail == '\0' && at + 1 < r->word_count && !r->words[at + 1].is_quoted) {
        const char *next = r->words[at + 1].text;
        const char *after =
            at + 2 < r->word_count && !r->words[at + 2].is_quoted ? r->words[at + 2].text : "";
        if (strcasecmp(next, "US") == 0 && unit_word(after) != NULL && strcmp(unit_word(after), "gal") == 0) {
            unit = "US gal";
            taken = 3;
        } else if (strncasecmp(next, "imp", 3) == 0 && unit_word(after) != NULL &&
                   strcmp(unit_word(after), "gal") == 0) {
            unit = "imp gal";
            taken = 3;
        } else if (strcasecmp(next, "mg") == 0 && strcasecmp(after, "KOH/g") == 0) {
            unit = "mg/g";
            taken = 3;
        } else if (unit_word(next) != NULL) {
            unit = unit_word(next);
            taken = 2;
        }
    } else if (*tail != '\0' && unit == NULL) {
        unit = tail; // let the unit tables say what they think of it
    }
    if (unit != NULL && strcmp(unit, "gal") == 0 && r->speech->display == OW_DISPLAY_US) {
        unit = "US gal";
    }
    is_money = is_money || (unit != NULL && strcmp(unit, "money") == 0);
    if (unit != NULL && strcmp(unit, "k") == 0) { // "182k": thousands
        const double value = 1000.0 * strtod(digits, NULL);
        (void)snprintf(joined, sizeof joined, "%.0f", fmin(fmax(value, -1e15), 1e15));
        unit = NULL;
    } else if (is_money) {
        (void)snprintf(joined, sizeof joined, "%s money", digits);
        unit = "money";
    } else {
        (void)snprintf(joined, sizeof joined, "%s%s%.28s", digits, unit != NULL ? " " : "",
                       unit != NULL ? unit : "");
    }
    *has_unit = unit != NULL;
    *text = keep_number(r, joined);
    *text = *text != NULL ? *text : "";
    return together + taken;
}

/// A mass as a volume: waste at 1 kg/L, oil at 0.92 kg/L (both assumed and told).
static bool mass_value(Reader *r, const OwLogField *field, const char *text, OwLogValue *value) {
    double kg = 0.0;
    if (ow_units_read(r->speech->units, text, OW_Q_MASS, NULL, &kg, NULL, 0) != OW_OK) {
        return false;
    }
    const double volume_m3 = kg / (r->kind == OW_LOG_WASTE ? 1000.0 : 920.0);
    if (!(volume_m3 >= field->low && volume_m3 <= field->high)) {
        return false;
    }
    *value = (OwLogValue){.is_set = true, .si = volume_m3};
    return true;
}

/// "182.350 km": nobody reads metres off an odometer; the point parts thousands.
static bool is_dotted(const OwLogField *field, const char *text, char *typed, size_t size, const char *unit) {
    const size_t before = strspn(text, "0123456789"),
                 after = text[before] == '.' ? strspn(text + before + 1, "0123456789") : 0;
    const char *rest = text + before + 1 + after;
    if ((strcmp(field->key, "odometer") != 0 && strcmp(field->key, "old") != 0) || before < 1 || before > 3 ||
        after != 3 || text[0] == '0' || (*rest != '\0' && *rest != ' ')) {
        return false;
    }
    (void)snprintf(typed, size, "%.*s%.3s%s%.30s", (int)before, text, text + before + 1,
                   *rest == '\0' ? " " : "", *rest == '\0' ? unit : rest);
    return true;
}

bool ow_words_value(Reader *r, const OwLogField *field, const char *text, OwLogValue *value, char why[256]) {
    char wrong[256] = "", remedy[256] = "", typed[128];
    const bool is_us = r->speech->display == OW_DISPLAY_US;
    const char *space = strchr(text, ' ');
    why[0] = '\0';
    if (field->type == OW_LOG_MONEY) {
        if (space != NULL && strcmp(space, " money") != 0) {
            return false;
        }
        (void)snprintf(typed, sizeof typed, "%.*s", space != NULL ? (int)(space - text) : 60, text);
    } else if (is_dotted(field, text, typed, sizeof typed,
                         r->unit[0] != '\0' ? r->unit
                         : is_us            ? "mi"
                                            : "km")) {
        // as it stands
    } else if (field->type != OW_LOG_QUANTITY || (space != NULL && strcmp(space, " money") == 0)) {
        return false;
    } else if (space == NULL && field->quantity == OW_Q_LENGTH) { // an odometer as the display counts
        (void)snprintf(typed, sizeof typed, "%.60s %s", text,
                       r->unit[0] != '\0' ? r->unit
                       : is_us            ? "mi"
                                          : "km");
    } else if (space == NULL && field->quantity == OW_Q_VOLUME && is_us) {
        (void)snprintf(typed, sizeof typed, "%.60s US gal", text);
    } else if (space != NULL && strcmp(space, " mg/g") == 0) {
        if (strcmp(field->csv_unit, "mg/g") != 0) {
            return false;
        }
        (void)snprintf(typed, sizeof typed, "%.12g ppm", 1000.0 * strtod(text, NULL));
    } else {
        (void)snprintf(typed, sizeof typed, "%.100s", text);
    }
    if (field->type == OW_LOG_QUANTITY && field->quantity == OW_Q_NUMBER && space == NULL) {
        // Acid and contents are told in their own units.
        const double size = strcmp(field->csv_unit, "mg/g") == 0 ? 1000.0 : 1.0;
        (void)snprintf(typed, sizeof typed, "%.12g ppm", size * strtod(text, NULL));
    }
    if (ow_log_value_read(field, typed, r->speech->units, value, wrong, remedy) == OW_OK) {
        // "8.30 am" is no length of some attometres.
        const bool is_nothing =
            field->type == OW_LOG_QUANTITY && value->si != 0.0 && fabs(value->si) < 0.5 * field->step;
        return isfinite(value->si) && !is_nothing;
    }
    if (field->type == OW_LOG_QUANTITY && field->quantity == OW_Q_VOLUME &&
        mass_value(r, field, typed, value)) {
        return true;
    }
    (void)snprintf(why, 256, "%.120s: %.120s", wrong, remedy);
    return false;
}
