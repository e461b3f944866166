// SPDX-License-Identifier: GPL-3.0-or-later
// A value with its spread: "0.30", "0.25 to 0.40", "0.25 / 0.30 / 0.40", "0.30 +- 0.05", "0.30 +- 10 %".
#include "base/text.h"
#include "money/money_impl.h"

#include <ctype.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

#include <gsl/gsl_cdf.h>

#define ROOM 96

/// The pieces of a range and how it was written.
typedef struct Pieces {
    char text[3][ROOM];
    int count;
    OwCostSpread spread;
    bool is_relative; ///< the error is a share of the value
} Pieces;

static void trim(char *text) {
    size_t n = strlen(text), start = strspn(text, " \t");
    while (n > start && (text[n - 1] == ' ' || text[n - 1] == '\t')) {
        n--;
    }
    memmove(text, text + start, n - start);
    text[n - start] = '\0';
}

/// The slash of low / likely / high: blanks on both sides and a number behind it.
static char *find_slash(char *text) {
    for (char *c = strstr(text, " / "); c != NULL; c = strstr(c + 1, " / ")) {
        const char *after = c + 3 + strspn(c + 3, " ");
        if (isdigit((unsigned char)*after) || *after == '-' || *after == '+' || *after == '.') {
            return c;
        }
    }
    return NULL;
}

static bool cut(char *text, const char *mark, Pieces *pieces) {
    char *at = strstr(text, mark);
    if (at == NULL) {
        return false;
    }
    *at = '\0';
    (void)ow_text_copy(pieces->text[0], ROOM, text);
    (void)ow_text_copy(pieces->text[1], ROOM, at + strlen(mark));
    pieces->count = 2;
    return true;
}

/// False when there are slashes but not two.
static bool split(const char *text, Pieces *pieces) {
    static const char *const marks[] = {"\xC2\xB1", "+-", "+/-"};
    char whole[ROOM];
    (void)ow_text_copy(whole, sizeof whole, text);
    for (size_t i = 0; i < sizeof marks / sizeof marks[0]; i++) {
        if (cut(whole, marks[i], pieces)) {
            pieces->spread = OW_COST_BELL;
            return true;
        }
    }
    if (cut(whole, " to ", pieces)) {
        pieces->spread = OW_COST_FLAT;
        return true;
    }
    char *first = find_slash(whole);
    if (first == NULL) {
        (void)ow_text_copy(pieces->text[0], ROOM, whole);
        pieces->count = 1;
        return true;
    }
    char *second = find_slash(first + 3);
    if (second == NULL || find_slash(second + 3) != NULL) {
        return false;
    }
    *first = *second = '\0';
    (void)ow_text_copy(pieces->text[0], ROOM, whole);
    (void)ow_text_copy(pieces->text[1], ROOM, first + 3);
    (void)ow_text_copy(pieces->text[2], ROOM, second + 3);
    pieces->count = 3;
    pieces->spread = OW_COST_TRIANGLE;
    return true;
}

/// Where the number at the start of a text ends.
static const char *tail_of(const char *text) {
    const char *c = text + strspn(text, "+-0123456789.");
    if ((*c == 'e' || *c == 'E') && (isdigit((unsigned char)c[1]) || c[1] == '-' || c[1] == '+')) {
        c += 2;
        c += strspn(c, "0123456789");
    }
    return c + strspn(c, " ");
}

/// A bare piece takes the unit of the piece that has one.
static void lend_units(Pieces *pieces) {
    const char *tail = "";
    const int count = pieces->is_relative ? 1 : pieces->count;
    for (int i = count - 1; i >= 0 && tail[0] == '\0'; i--) {
        tail = tail_of(pieces->text[i]);
    }
    char lent[ROOM];
    (void)ow_text_copy(lent, sizeof lent, tail);
    for (int i = 0; i < count && lent[0] != '\0'; i++) {
        const size_t n = strlen(pieces->text[i]);
        if (n > 0 && *tail_of(pieces->text[i]) == '\0') {
            (void)snprintf(pieces->text[i] + n, ROOM - n, " %s", lent);
        }
    }
}

static OwStatus refuse(const char *key, const char *text, const char *what, const char *right, char why[256],
                       char remedy[256]) {
    (void)snprintf(why, 256, "%s: \"%.60s\" %s", key, text, what);
    (void)ow_text_copy(remedy, 256, right);
    return OW_ERROR_VALUE;
}

static OwStatus make(const OwCostRow *row, const char *key, const char *text, const Pieces *pieces,
                     const double numbers[3], OwCostValue *value, char why[256], char remedy[256]) {
    OwCostValue made = {.spread = pieces->spread, .origin = OW_COST_FROM_FILE};
    if (pieces->spread == OW_COST_BELL) {
        made.value = numbers[0];
        made.error = pieces->is_relative ? fabs(numbers[0]) * numbers[1] : numbers[1];
        made.low = row->least;
        made.high = row->most;
        if (!(made.error >= 0.0)) {
            return refuse(key, text, "has an error below nought", "write the error without a sign", why,
                          remedy);
        }
        made.spread = made.error > 0.0 ? OW_COST_BELL : OW_COST_PLAIN;
    } else if (pieces->count == 1) {
        made.value = made.low = made.high = numbers[0];
    } else {
        made.low = numbers[0];
        made.high = numbers[pieces->count - 1];
        made.value = pieces->count == 3 ? numbers[1] : 0.5 * (made.low + made.high);
        // Litres per 100 km fall as miles per gallon rise.
        if (row->kind == OW_KIND_VOLUME_PER_DISTANCE && made.low > made.high) {
            const double high = made.low;
            made.low = made.high;
            made.high = high;
        }
        if (!(made.low <= made.value && made.value <= made.high)) {
            return refuse(key, text, "does not rise", "write the low value first", why, remedy);
        }
        made.spread = made.high > made.low ? pieces->spread : OW_COST_PLAIN;
    }
    const double hair = 1e-9 * (fabs(row->least) + fabs(row->most));
    const double low = made.spread == OW_COST_BELL ? made.value : made.low;
    const double high = made.spread == OW_COST_BELL ? made.value : made.high;
    if (!(low >= row->least - hair && high <= row->most + hair)) {
        char least[64], most[64], range[160];
        ow_cost_quantity_write(row->least, row->kind, OW_DISPLAY_METRIC, least, sizeof least);
        ow_cost_quantity_write(row->most, row->kind, OW_DISPLAY_METRIC, most, sizeof most);
        (void)snprintf(range, sizeof range, "give %s to %s", least, most);
        return refuse(key, text, "is out of range", range, why, remedy);
    }
    if (made.spread == OW_COST_PLAIN) {
        made.low = made.high = made.value;
    }
    *value = made;
    return OW_OK;
}

OwStatus ow_cost_value_read(const char *text, OwCostInput input, OwUnits *units, OwCostValue *value,
                            char why[256], char remedy[256]) {
    const OwCostRow *row = &ow_cost_rows[input];
    const char *key = strchr(row->path, '.') + 1;
    if (text[0] == '\0') {
        (void)snprintf(why, 256, "%s: the value is missing", key);
        (void)snprintf(remedy, 256, "write it after the colon, or leave the key out for the default");
        return OW_ERROR_VALUE;
    }
    if (strlen(text) >= ROOM) {
        return refuse(key, text, "is too long", "write a number and its unit", why, remedy);
    }
    Pieces pieces = {0};
    if (!split(text, &pieces)) {
        return refuse(key, text, "is no range", "write \"low to high\" or \"low / likely / high\"", why,
                      remedy);
    }
    for (int i = 0; i < pieces.count; i++) {
        trim(pieces.text[i]);
    }
    const bool is_share = row->kind == OW_KIND_SHARE || row->kind == OW_KIND_SHARE_YEAR;
    pieces.is_relative = pieces.spread == OW_COST_BELL && !is_share && strchr(pieces.text[1], '%') != NULL;
    lend_units(&pieces);
    double numbers[3] = {0.0, 0.0, 0.0};
    for (int i = 0; i < pieces.count; i++) {
        const OwCostKind kind = i == 1 && pieces.is_relative ? OW_KIND_SHARE : row->kind;
        char wrong[256];
        const OwStatus status =
            ow_cost_quantity_read(pieces.text[i], kind, units, &numbers[i], wrong, remedy);
        if (status != OW_OK) {
            (void)snprintf(why, 256, "%s: %.200s", key, wrong);
            return status;
        }
    }
    if (pieces.spread == OW_COST_BELL && row->kind == OW_KIND_VOLUME_PER_DISTANCE && !pieces.is_relative &&
        strstr(text, "mpg") != NULL) {
        return refuse(key, text, "has an error in miles per gallon", "write the error in percent", why,
                      remedy);
    }
    return make(row, key, text, &pieces, numbers, value, why, remedy);
}

double ow_cost_value_at(const OwCostValue *value, double u) {
    const double width = value->high - value->low;
    if (value->spread == OW_COST_FLAT) {
        return value->low + u * width;
    }
    if (value->spread == OW_COST_TRIANGLE && width > 0.0) {
        const double peak = (value->value - value->low) / width;
        return u < peak ? value->low + width * sqrt(u * peak)
                        : value->high - width * sqrt((1.0 - u) * (1.0 - peak));
    }
    if (value->spread == OW_COST_BELL && value->error > 0.0) {
        const double from = gsl_cdf_ugaussian_P((value->low - value->value) / value->error);
        const double to = gsl_cdf_ugaussian_P((value->high - value->value) / value->error);
        const double at = value->value + value->error * gsl_cdf_ugaussian_Pinv(from + u * (to - from));
        return at < value->low ? value->low : at > value->high ? value->high : at;
    }
    return value->value;
}
