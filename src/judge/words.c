// SPDX-License-Identifier: GPL-3.0-or-later
// Quantities, part names and sentences of the judge.
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "judge/work.h"

void ow_judge_pressure_words(double gauge_pa, OwDisplay display, char *text, size_t size) {
    if (gauge_pa >= -OW_ATMOSPHERE_PA - 50.0) { // as printed, to a tenth of a kilopascal
        ow_units_write(gauge_pa, OW_Q_PRESSURE, display, text, size);
        return;
    }
    char asked[40], vacuum[40];
    ow_units_write(gauge_pa, OW_Q_PRESSURE, display, asked, sizeof asked);
    ow_units_write(-OW_ATMOSPHERE_PA, OW_Q_PRESSURE, display, vacuum, sizeof vacuum);
    (void)snprintf(text, size, "%s asked (a perfect vacuum is %s)", asked, vacuum);
}

OwJudgeWords ow_judge_words(const OwJudgeWork *work, double si, OwQuantity quantity) {
    OwJudgeWords words;
    if (quantity == OW_Q_KINEMATIC_VISCOSITY && isfinite(si) && si > OW_JUDGE_SOLID) {
        snprintf(words.text, sizeof words.text, "practically solid");
    } else if (quantity == OW_Q_PRESSURE && isfinite(si)) {
        ow_judge_pressure_words(si, work->display, words.text, sizeof words.text);
    } else if (isfinite(si)) {
        ow_units_write(si, quantity, work->display, words.text, sizeof words.text);
    } else {
        snprintf(words.text, sizeof words.text, "an unknown value");
    }
    return words;
}

OwJudgeWords ow_judge_percent(double share) {
    OwJudgeWords words;
    const double percent = 100.0 * share;
    if (!isfinite(percent) || fabs(percent) > 1e6) {
        snprintf(words.text, sizeof words.text, "unknown %%");
    } else if (fabs(percent) < 9.95 && fabs(percent - nearbyint(percent)) >= 0.05) {
        snprintf(words.text, sizeof words.text, "%.1f %%", percent);
    } else {
        snprintf(words.text, sizeof words.text, "%.0f %%", percent);
    }
    return words;
}

OwJudgeWords ow_judge_part(const OwJudgeWork *work, int part) {
    OwJudgeWords words;
    if (part >= 0 && part < work->rig->part_count) {
        snprintf(words.text, sizeof words.text, "'%.36s'", work->rig->parts[part].name);
    } else {
        snprintf(words.text, sizeof words.text, "the fuel path");
    }
    return words;
}

static void say_at(char *text, size_t size, size_t used, const char *format, va_list arguments) {
    if (used + 4 >= size) {
        return;
    }
    const int wanted = vsnprintf(text + used, size - used, format, arguments);
    if (wanted >= 0 && used + (size_t)wanted >= size) {
        size_t end = size - 4;
        // Never cut a UTF-8 character in two.
        while (end > used && ((unsigned char)text[end] & 0xC0) == 0x80) {
            end--;
        }
        memcpy(text + end, "...", 4);
    }
}

void ow_judge_say(char *text, size_t size, const char *format, ...) {
    va_list arguments;
    va_start(arguments, format);
    say_at(text, size, 0, format, arguments);
    va_end(arguments);
}

void ow_judge_also(char *text, size_t size, const char *format, ...) {
    va_list arguments;
    va_start(arguments, format);
    say_at(text, size, strlen(text), format, arguments);
    va_end(arguments);
}
