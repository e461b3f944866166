// SPDX-License-Identifier: GPL-3.0-or-later
// The trade's spelling of units turned into libudunits2's.
#include "base/units_impl.h"

#include <string.h>

/// Trade spellings that libudunits2 does not know or knows as something else, at the start of a word. The
/// gallon is exactly 231 cubic inches the horsepower exactly 550 ft lbf/s
/// and the metric one 75 kgf m/s (NIST SP 811, Appendix B),
/// which the library rounds.
static const struct {
    const char *from, *to;
} aliases[] = {
    {"US fl oz", "((231/128) in^3)"},
    {"US gal", "(231 in^3)"},
    {"US gallon", "(231 in^3)"},
    {"US gallons", "(231 in^3)"},
    {"US qt", "((231/4) in^3)"},
    {"US pt", "((231/8) in^3)"},
    {"imp gal", "UK_liquid_gallon"},
    {"imp gallon", "UK_liquid_gallon"},
    {"imp gallons", "UK_liquid_gallon"},
    {"UK gal", "UK_liquid_gallon"},
    {"deg C", "degC"},
    {"deg F", "degF"},
    {"mAh", "mA.h"},
    {"Ah", "A.h"},
    {"kWh", "kW.h"},
    {"Wh", "W.h"},
    {"mPas", "mPa.s"},
    {"cP", "(0.001 Pa.s)"},
    {"bhp", "(550 ft.lbf/s)"},
    {"hp", "(550 ft.lbf/s)"},
    {"PS", "(75 kgf.m/s)"},
    {"mph", "(mile/h)"},
    {"kmh", "(km/h)"},
    {"kph", "(km/h)"},
    {"mi", "mile"},
    {"oz", "(lb/16)"},
    {"BTU", "Btu"},
    {"cc", "cm^3"},
    {"ccm", "cm^3"},
    {"psig", "psi"},
    {"PSI", "psi"},
    {"lbs", "lb"},
    {"feet", "ft"},
    {"inches", "in"},
    {"sec", "s"},
    {"secs", "s"},
    {"mins", "min"},
    {"hr", "h"},
    {"hrs", "h"},
    {"amp", "A"},
    {"amps", "A"},
};

static bool is_letter(char c) {
    return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z');
}

static bool is_digit(char c) {
    return c >= '0' && c <= '9';
}

/// The unit text in libudunits2's spelling. Only letters, one-digit exponents, / * . ^ ( ) and spaces pass:
/// no offsets, logarithms, dates or nested numbers of the library's own grammar.
bool ow_unit_spell(const char *text, char *out, size_t size) {
    size_t used = 0;
    char before = ' ';
    int depth = 0;
    while (*text != '\0') {
        const char *piece = NULL;
        char pair[3] = {*text, '\0', '\0'};
        size_t length = 1;
        if (is_letter(*text) && !is_letter(before)) {
            for (size_t i = 0; i < sizeof aliases / sizeof aliases[0]; i++) {
                const size_t n = strlen(aliases[i].from);
                if (strncmp(text, aliases[i].from, n) == 0 && !is_letter(text[n]) && text[n] != '_') {
                    piece = aliases[i].to;
                    length = n;
                    break;
                }
            }
        }
        if (piece == NULL) {
            piece = pair;
            if (is_digit(*text)) {
                const bool follows = is_letter(before) || before == '^' || before == '-';
                if (!follows || is_digit(text[1])) {
                    return false;
                }
                pair[1] = is_letter(text[1]) ? ' ' : '\0'; // "m2K" is m2 K
            } else if (*text == '-') {
                if (!(is_letter(before) || before == '^') || !is_digit(text[1])) {
                    return false;
                }
            } else if (*text == '(' || *text == ')') {
                depth += *text == '(' ? 1 : -1;
                if (depth < 0 || depth > 2) {
                    return false;
                }
            } else if (!is_letter(*text) && strchr(" /*.^", *text) == NULL) {
                return false;
            }
        }
        const size_t room = strlen(piece);
        if (used + room + 1 > size) {
            return false;
        }
        memcpy(out + used, piece, room);
        used += room;
        before = text[length - 1];
        text += length;
    }
    out[used] = '\0';
    return used > 0 && depth == 0;
}
