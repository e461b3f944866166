// SPDX-License-Identifier: GPL-3.0-or-later
// Values of fields: from what people type, to what people read, and to the whole steps that the file keeps.
#include "logbook/value.h"

#include "base/text.h"
#include "base/units_impl.h"

#include <inttypes.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

int64_t ow_log_steps(const OwLogField *field, double si) {
    const double steps = field->step < 1.0 ? si * round(1.0 / field->step) : si / field->step;
    return (int64_t)llround(steps);
}

double ow_log_si(const OwLogField *field, int64_t steps) {
    return field->step < 1.0 ? (double)steps / round(1.0 / field->step) : (double)steps * field->step;
}

bool ow_log_text_is_good(const char *text, size_t most) {
    size_t length = 0;
    const unsigned char *p = (const unsigned char *)text;
    while (*p != '\0') {
        int more = *p < 0x80                 ? 0
                   : *p >= 0xC2 && *p < 0xE0 ? 1
                   : *p >= 0xE0 && *p < 0xF0 ? 2
                   : *p >= 0xF0 && *p < 0xF5 ? 3
                                             : -1;
        if (more < 0 || *p < 0x20 || *p == 0x7F) {
            return false;
        }
        // No overlong forms, no surrogates, nothing past U+10FFFF.
        if ((*p == 0xE0 && p[1] < 0xA0) || (*p == 0xED && p[1] >= 0xA0) || (*p == 0xF0 && p[1] < 0x90) ||
            (*p == 0xF4 && p[1] >= 0x90) || (*p == 0xC2 && p[1] < 0xA0)) {
            return false;
        }
        // Line separators and marks that turn the direction of what follows: a name must look like what it
        // is.
        if (*p == 0xE2 && ((p[1] == 0x80 && p[2] >= 0xA8 && p[2] <= 0xAE) ||
                           (p[1] == 0x81 && p[2] >= 0xA6 && p[2] <= 0xA9))) {
            return false;
        }
        length += (size_t)more + 1;
        for (p++; more > 0; more--, p++) {
            if (*p < 0x80 || *p >= 0xC0) {
                return false;
            }
        }
    }
    return length <= most;
}

static OwStatus read_choice(const OwLogField *field, const char *text, OwLogValue *value, char wrong[256],
                            char remedy[256]) {
    size_t count = 0;
    for (; field->choices[count] != NULL; count++) {
        if (strcmp(field->choices[count], text) == 0) {
            *value = (OwLogValue){.is_set = true, .number = (int64_t)count};
            return OW_OK;
        }
    }
    char list[200] = "";
    for (size_t i = 0; i < count; i++) {
        const size_t used = strlen(list);
        (void)snprintf(list + used, sizeof list - used, "%s%s", i == 0 ? "" : ", ", field->choices[i]);
    }
    const char *near = ow_text_nearest(text, field->choices, count);
    (void)snprintf(wrong, 256, "\"%.60s\" is none of its choices", text);
    if (near != NULL) {
        (void)snprintf(remedy, 256, "did you mean %s? It can be %s", near, list);
    } else {
        (void)snprintf(remedy, 256, "it can be %s", list);
    }
    return OW_ERROR_VALUE;
}

static OwStatus read_quantity(const OwLogField *field, const char *text, OwUnits *units, OwLogValue *value,
                              char wrong[256], char remedy[256]) {
    char plain[OW_UNITS_TEXT_MAX + 1], why[200] = "";
    double si = 0.0;
    // "2.1 mg KOH/g" or "2.1 mg/g" is what a titration gives; the unit reader knows it as g/kg.
    const char *unit = field->quantity == OW_Q_NUMBER ? strstr(text, "mg") : NULL;
    if (unit != NULL) {
        const char *rest = unit + 2;
        rest += strspn(rest, " ");
        rest += strncmp(rest, "KOH", 3) == 0 ? 3 : 0;
        rest += strspn(rest, " ");
        if (*rest == '/' && rest[1 + strspn(rest + 1, " ")] == 'g' && strlen(text) < sizeof plain) {
            (void)snprintf(plain, sizeof plain, "%.*sg/kg%s", (int)(unit - text), text,
                           rest + strspn(rest + 1, " ") + 2);
            text = plain;
        }
    }
    const OwStatus status = ow_units_read(units, text, field->quantity, field->bare, &si, why, sizeof why);
    if (status != OW_OK) {
        (void)snprintf(wrong, 256, "\"%.60s\" is not %s", text, ow_quantity_name(field->quantity));
        (void)snprintf(remedy, 256, "%s", why);
        return status;
    }
    if (!(si >= field->low && si <= field->high)) {
        char low[64], high[64];
        ow_log_value_write(field, &(OwLogValue){.is_set = true, .si = field->low}, OW_DISPLAY_METRIC, low,
                           sizeof low);
        ow_log_value_write(field, &(OwLogValue){.is_set = true, .si = field->high}, OW_DISPLAY_METRIC, high,
                           sizeof high);
        (void)snprintf(wrong, 256, "\"%.60s\" is out of range", text);
        (void)snprintf(remedy, 256, "it can be %s to %s", low, high);
        return OW_ERROR_VALUE;
    }
    *value = (OwLogValue){.is_set = true, .si = si};
    return OW_OK;
}

OwStatus ow_log_value_read(const OwLogField *field, const char *text, OwUnits *units, OwLogValue *value,
                           char wrong[256], char remedy[256]) {
    if (field == NULL || text == NULL || value == NULL || wrong == NULL || remedy == NULL) {
        return OW_ERROR_USE;
    }
    wrong[0] = remedy[0] = '\0';
    int64_t number = 0;
    switch (field->type) {
    case OW_LOG_QUANTITY:
        return units == NULL ? OW_ERROR_USE : read_quantity(field, text, units, value, wrong, remedy);
    case OW_LOG_CHOICE:
        return read_choice(field, text, value, wrong, remedy);
    case OW_LOG_MONEY:
        if (ow_log_money_read(text, &number) != OW_OK) {
            (void)snprintf(wrong, 256, "\"%.60s\" is not an amount of money", text);
            (void)snprintf(remedy, 256, "write it as 12 or 12.50, without a currency");
            return OW_ERROR_VALUE;
        }
        *value = (OwLogValue){.is_set = true, .number = number};
        return OW_OK;
    case OW_LOG_REF:
        if (text[0] == '#' || (field->refs >> OW_LOG_PICKUP) != 0) { // entries that have no name go by number
            char *end = NULL;
            const char *digits = text + (text[0] == '#' ? 1 : 0);
            number = strtoll(digits, &end, 10);
            if (digits[0] < '0' || digits[0] > '9' || *end != '\0' || number < 1 || number == INT64_MAX) {
                (void)snprintf(wrong, 256, "\"%.60s\" is not the number of an entry", text);
                (void)snprintf(remedy, 256, "write it as #12");
                return OW_ERROR_VALUE;
            }
            *value = (OwLogValue){.is_set = true, .number = number};
            return OW_OK;
        }
        break;
    case OW_LOG_TEXT:
        break;
    }
    if (text[0] == '\0' ||
        !ow_log_text_is_good(text, field->type == OW_LOG_REF ? OW_LOG_NAME_MAX : OW_LOG_TEXT_MAX)) {
        (void)snprintf(wrong, 256,
                       text[0] == '\0'
                           ? "nothing is written"
                           : "the text is too long, not UTF-8, not one line or holds control marks");
        (void)snprintf(remedy, 256, "write at most %d letters on one line",
                       field->type == OW_LOG_REF ? OW_LOG_NAME_MAX : OW_LOG_TEXT_MAX);
        return OW_ERROR_VALUE;
    }
    *value = (OwLogValue){.is_set = true, .text = text};
    return OW_OK;
}

void ow_log_value_write(const OwLogField *field, const OwLogValue *value, OwDisplay display, char *text,
                        size_t size) {
    if (text == NULL || size == 0) {
        return;
    }
    text[0] = '\0';
    if (field == NULL || value == NULL || !value->is_set) {
        return;
    }
    switch (field->type) {
    case OW_LOG_QUANTITY:
        if (field->quantity == OW_Q_NUMBER &&
            field->csv_unit[0] != '\0') { // a share reads best in its own unit
            char number[48];
            ow_number_write(value->si / (field->step * field->csv_step), 0, number, sizeof number);
            (void)snprintf(text, size, "%s %s", number, field->csv_unit);
        } else if (field->quantity == OW_Q_LENGTH && fabs(value->si) >= 1e3) { // an odometer to the unit
            const bool is_us = display == OW_DISPLAY_US;
            const double shown = value->si / (is_us ? 1609.344 : 1e3);
            (void)snprintf(text, size, fabs(shown) < 1e3 ? "%.1f %s" : "%.0f %s", shown, is_us ? "mi" : "km");
        } else if (field->quantity == OW_Q_ENERGY) {
            char number[48];
            ow_number_write(value->si / 3.6e6, 0, number, sizeof number);
            (void)snprintf(text, size, "%s kWh", number);
        } else {
            ow_units_write(value->si, field->quantity, display, text, size);
        }
        return;
    case OW_LOG_CHOICE:
        for (int64_t i = 0; field->choices[i] != NULL; i++) {
            if (i == value->number) {
                (void)ow_text_copy(text, size, field->choices[i]);
            }
        }
        return;
    case OW_LOG_MONEY:
        ow_log_money_write(value->number, text, size);
        return;
    case OW_LOG_REF:
        if (value->text == NULL || value->text[0] == '\0') {
            (void)snprintf(text, size, "#%" PRId64, value->number);
            return;
        }
        break;
    case OW_LOG_TEXT:
        break;
    }
    (void)ow_text_copy(text, size, value->text == NULL ? "" : value->text);
}

OwStatus ow_log_fixed_read(const char *text, int decimals, int64_t *value) {
    const char *p = text;
    const bool is_negative = *p == '-';
    p += is_negative ? 1 : 0;
    int64_t number = 0;
    int digits = 0, after = -1;
    for (; *p != '\0'; p++) {
        if (*p == '.' && after < 0) {
            after = 0;
            continue;
        }
        if (*p < '0' || *p > '9' || (after >= 0 && after == decimals)) {
            return OW_ERROR_VALUE;
        }
        if (number > (INT64_C(1) << 53) / 10) {
            return OW_ERROR_VALUE;
        }
        number = number * 10 + (*p - '0');
        digits++;
        after += after >= 0 ? 1 : 0;
    }
    if (digits == 0 || after == 0) {
        return OW_ERROR_VALUE;
    }
    for (after = after < 0 ? 0 : after; after < decimals; after++) {
        if (number > (INT64_C(1) << 53) / 10) {
            return OW_ERROR_VALUE;
        }
        number *= 10;
    }
    *value = is_negative ? -number : number;
    return OW_OK;
}

void ow_log_fixed_write(int64_t value, int decimals, int least, char *text, size_t size) {
    char digits[40];
    const uint64_t magnitude = value < 0 ? (uint64_t)(-(value + 1)) + 1u : (uint64_t)value;
    int length = snprintf(digits, sizeof digits, "%0*" PRIu64, decimals + 1, magnitude);
    int shown = decimals;
    while (shown > least && digits[length - 1] == '0') {
        length--;
        shown--;
    }
    (void)snprintf(text, size, "%s%.*s%s%.*s", value < 0 ? "-" : "", length - shown, digits,
                   shown > 0 ? "." : "", shown, digits + length - shown);
}

OwStatus ow_log_money_read(const char *text, int64_t *hundredths) {
    if (text == NULL || hundredths == NULL) {
        return OW_ERROR_USE;
    }
    int64_t value = 0;
    if (ow_log_fixed_read(text, 2, &value) != OW_OK || value > INT64_C(10000000000000) ||
        value < -INT64_C(10000000000000)) {
        return OW_ERROR_VALUE;
    }
    *hundredths = value;
    return OW_OK;
}

void ow_log_money_write(int64_t hundredths, char *text, size_t size) {
    if (text != NULL && size > 0) {
        ow_log_fixed_write(hundredths, 2, 2, text, size);
    }
}

/// Days since 1970-01-01 of a date in the Gregorian calendar, and back. Algorithm: Fliegel & Van Flandern
/// 1968, Comm. ACM 11:657 (Julian day number; 2440588 is 1970-01-01).
static int64_t days_of(int64_t year, int64_t month, int64_t day) {
    const int64_t a = (month - 14) / 12;
    return day - 32075 + 1461 * (year + 4800 + a) / 4 + 367 * (month - 2 - a * 12) / 12 -
           3 * ((year + 4900 + a) / 100) / 4 - 2440588;
}

static void date_of(int64_t days, int *year, int *month, int *day) {
    int64_t l = days + 2440588 + 68569;
    const int64_t n = 4 * l / 146097;
    l = l - (146097 * n + 3) / 4;
    const int64_t i = 4000 * (l + 1) / 1461001;
    l = l - 1461 * i / 4 + 31;
    const int64_t j = 80 * l / 2447;
    *day = (int)(l - 2447 * j / 80);
    l = j / 11;
    *month = (int)(j + 2 - 12 * l);
    *year = (int)(100 * (n - 49) + i + l);
}

/// `count` digits at *text, -1 when they are not there.
static int digits_at(const char **text, int count) {
    int value = 0;
    for (int i = 0; i < count; i++, (*text)++) {
        if (**text < '0' || **text > '9') {
            return -1;
        }
        value = value * 10 + (**text - '0');
    }
    return value;
}

OwStatus ow_log_time_read(const char *text, int64_t *at_s) {
    if (text == NULL || at_s == NULL) {
        return OW_ERROR_USE;
    }
    const char *p = text;
    const int year = digits_at(&p, 4);
    const int month = year >= 1970 && *p++ == '-' ? digits_at(&p, 2) : -1;
    const int day = month >= 1 && month <= 12 && *p++ == '-' ? digits_at(&p, 2) : -1;
    if (day < 1) {
        return OW_ERROR_VALUE;
    }
    const int64_t days = days_of(year, month, day);
    int y = 0, m = 0, d = 0, hour = 0, minute = 0, second = 0;
    date_of(days, &y, &m, &d);
    if (y != year || m != month || d != day) { // 31 June
        return OW_ERROR_VALUE;
    }
    if (*p == 'T' || *p == ' ') {
        p++;
        hour = digits_at(&p, 2);
        minute = hour >= 0 && hour < 24 && *p++ == ':' ? digits_at(&p, 2) : -1;
        if (minute >= 0 && *p == ':') {
            p++;
            second = digits_at(&p, 2);
        }
        if (minute < 0 || minute > 59 || second < 0 || second > 59) {
            return OW_ERROR_VALUE;
        }
        p += *p == 'Z' ? 1 : 0;
    }
    if (*p != '\0') {
        return OW_ERROR_VALUE;
    }
    *at_s = days * 86400 + hour * 3600 + minute * 60 + second;
    return OW_OK;
}

void ow_log_time_write(int64_t at_s, char *text, size_t size) {
    if (text == NULL || size == 0) {
        return;
    }
    const int64_t known = at_s < 0 ? 0 : at_s > OW_LOG_TIME_MAX ? OW_LOG_TIME_MAX : at_s;
    int year = 0, month = 0, day = 0;
    date_of(known / 86400, &year, &month, &day);
    const int rest = (int)(known % 86400);
    (void)snprintf(text, size, "%04d-%02d-%02dT%02d:%02d:%02dZ", year, month, day, rest / 3600,
                   rest / 60 % 60, rest % 60);
}
