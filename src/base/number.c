// SPDX-License-Identifier: GPL-3.0-or-later
// Numbers as people write them, fractions and mixed numbers too, whatever the locale; and the ASCII spelling
// of units.
#include "base/units_impl.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

static bool is_digit(char c) {
    return c >= '0' && c <= '9';
}

static double power_of_ten(int n) {
    return n >= 0 ? pow(10.0, n) : 1.0 / pow(10.0, -n);
}

/// Digits with an optional point and exponent; no sign. `*whole` tells that only digits were seen.
static bool read_decimal(const char **text, double *value, bool *whole) {
    const char *p = *text;
    double mantissa = 0.0;
    int digits = 0, kept = 0, scale = 0;
    bool seen_point = false;
    for (;; p++) {
        if (is_digit(*p)) {
            digits++;
            if (kept < 17 && (kept > 0 || *p != '0')) {
                mantissa = mantissa * 10.0 + (*p - '0');
                kept++;
                scale -= seen_point ? 1 : 0;
            } else if (kept > 0) {
                scale += seen_point ? 0 : 1; // digits past the seventeenth only shift
            } else {
                scale -= seen_point ? 1 : 0; // leading zero
            }
        } else if (*p == '.' && !seen_point && (is_digit(p[1]) || digits > 0)) {
            seen_point = true;
        } else {
            break;
        }
    }
    if (digits == 0) {
        return false;
    }
    *whole = !seen_point;
    if (*p == 'e' || *p == 'E') {
        const char *q = p + 1;
        const bool is_negative = *q == '-';
        q += (*q == '-' || *q == '+') ? 1 : 0;
        if (is_digit(*q)) {
            int exponent = 0;
            for (; is_digit(*q); q++) {
                exponent = exponent < 9999 ? exponent * 10 + (*q - '0') : exponent;
            }
            scale += is_negative ? -exponent : exponent;
            *whole = false;
            p = q;
        }
    }
    *text = p;
    if (mantissa == 0.0) {
        *value = 0.0;
    } else if (scale > 400) {
        *value = HUGE_VAL;
    } else if (scale < -400) {
        *value = 0.0;
    } else if (scale >= 0) {
        *value = mantissa * power_of_ten(scale);
    } else if (scale >= -300) {
        *value = mantissa / pow(10.0, -scale); // one rounding: 0.1 is exactly the nearest double
    } else {
        *value = mantissa / pow(10.0, 300) / pow(10.0, -scale - 300);
    }
    return true;
}

/// "/16" after a whole number, or "1/2" after "1 " or "1-".
static bool read_fraction(const char **text, double *over, double *under, const char **wrong) {
    const char *p = *text;
    bool whole = false;
    if (!is_digit(*p) || !read_decimal(&p, over, &whole) || !whole || *p != '/' || !is_digit(p[1])) {
        return false;
    }
    p++;
    if (!read_decimal(&p, under, &whole) || !whole) {
        return false;
    }
    if (*under == 0.0) {
        *wrong = "a fraction over zero";
    }
    *text = p;
    return true;
}

bool ow_number_read(const char **text, double *value, const char **wrong) {
    const char *p = *text;
    const char *bad = NULL;
    while (*p == ' ') {
        p++;
    }
    double sign = 1.0;
    if (*p == '-' || *p == '+') {
        sign = *p == '-' ? -1.0 : 1.0;
        p++;
    }
    double number = 0.0, over = 0.0, under = 1.0;
    bool whole = false;
    if (read_fraction(&p, &over, &under, &bad)) {
        number = bad == NULL ? over / under : 0.0;
    } else if (read_decimal(&p, &number, &whole)) {
        if (whole && (*p == ' ' || *p == '-')) {
            const char *q = p + 1;
            while (*p == ' ' && *q == ' ') {
                q++;
            }
            if (read_fraction(&q, &over, &under, &bad)) {
                number += bad == NULL ? over / under : 0.0;
                p = q;
            }
        }
    } else {
        *wrong = "it does not begin with a number";
        return false;
    }
    if (bad == NULL && *p == ',' && is_digit(p[1])) {
        bad = "a comma is not used in numbers (the decimal sign is a point)";
    }
    if (bad == NULL && (!isfinite(number) || fabs(number) > 1e30)) {
        bad = "the number is too large";
    }
    if (bad != NULL) {
        *wrong = bad;
        return false;
    }
    *value = sign * number;
    *text = p;
    return true;
}

bool ow_units_plain(const char *text, char *out, size_t size) {
    static const struct {
        const char *from, *to;
    } spelling[] = {
        {"\xC2\xB5", "u"},        // micro sign
        {"\xCE\xBC", "u"},        // Greek mu
        {"\xCE\xA9", "ohm"},      // Greek omega
        {"\xE2\x84\xA6", "ohm"},  // ohm sign
        {"\xC2\xB2", "2"},        // superscripts
        {"\xC2\xB3", "3"},        //
        {"\xC2\xB7", "."},        // middle dot
        {"\xE2\x8B\x85", "."},    // dot operator
        {"\xC2\xB0", "deg"},      // degree sign
        {"\xE2\x84\x83", "degC"}, // one-character degree Celsius
        {"\xE2\x84\x89", "degF"}, // one-character degree Fahrenheit
        {"\xE2\x88\x92", "-"},    // minus sign
        {"\xC2\xA0", " "},        // no-break space
        {"\xE2\x80\xAF", " "},    // narrow no-break space
        {"\xC2\xBD", " 1/2"},     // vulgar fractions
        {"\xC2\xBC", " 1/4"},
        {"\xC2\xBE", " 3/4"},
        {"\xE2\x85\x9B", " 1/8"},
        {"\xE2\x85\x9C", " 3/8"},
        {"\xE2\x85\x9D", " 5/8"},
        {"\xE2\x85\x9E", " 7/8"},
        {"\t", " "},
        {"\"", " in"},
    };
    size_t used = 0;
    while (*text != '\0') {
        const char *piece = NULL;
        char one[2] = {*text, '\0'};
        size_t length = 1;
        for (size_t i = 0; i < sizeof spelling / sizeof spelling[0]; i++) {
            if (strncmp(text, spelling[i].from, strlen(spelling[i].from)) == 0) {
                piece = spelling[i].to;
                length = strlen(spelling[i].from);
                break;
            }
        }
        if (piece == NULL) {
            if (*text < ' ' || *text > '~') { // also every byte above 127, whichever sign char has
                return false;
            }
            piece = one;
        }
        const size_t room = strlen(piece);
        if (used + room + 1 > size) {
            return false;
        }
        memcpy(out + used, piece, room);
        used += room;
        text += length;
    }
    while (used > 0 && out[used - 1] == ' ') {
        used--;
    }
    out[used] = '\0';
    return true;
}

void ow_number_write(double value, int least_decimals, char *text, size_t size) {
    if (size == 0) {
        return;
    }
    if (!isfinite(value)) {
        (void)snprintf(text, size, "unknown");
        return;
    }
    const double a = fabs(value);
    char number[48];
    if (a != 0.0 && (a >= 1e7 || a < 1e-4)) {
        (void)snprintf(number, sizeof number, "%.2e", value);
    } else {
        int decimals = a >= 99.95      ? 0
                       : a >= 9.995    ? 1
                       : a >= 0.9995   ? 2
                       : a >= 0.09995  ? 3
                       : a >= 0.009995 ? 4
                                       : 6;
        decimals = decimals < least_decimals ? least_decimals : decimals;
        (void)snprintf(number, sizeof number, "%.*f", decimals, value);
        for (char *c = number; *c != '\0'; c++) { // a host program's locale may have put a comma
            *c = *c == ',' ? '.' : *c;
        }
        if (strchr(number, '.') != NULL) {
            size_t end = strlen(number);
            while (number[end - 1] == '0') {
                end--;
            }
            number[number[end - 1] == '.' ? end - 1 : end] = '\0';
        }
        if (strcmp(number, "-0") == 0) {
            memmove(number, "0", 2);
        }
    }
    (void)snprintf(text, size, "%s", number);
}
