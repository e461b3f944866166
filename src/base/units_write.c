// SPDX-License-Identifier: GPL-3.0-or-later
// Writes quantities for people, metric or US, and gives the axis units of plots and tables.
#include "base/units_impl.h"

#include <math.h>
#include <stdio.h>

/// One display unit: shown = si * factor + offset. It serves values of at least `from_si` (absolute); rows
/// run from small to large.
typedef struct Scale {
    double from_si, factor, offset;
    const char *label;
} Scale;

#define MAX_SCALES 4
/// `axis` is the row that plots use for all values.
typedef struct Display {
    Scale scale[MAX_SCALES];
    int axis, least_decimals;
} Display;

// Factors: NIST SP 811 (2008), Appendix B; exact definitions of inch, pound, gallon (231 in3) written out.
#define FT 0.3048
#define MILE 1609.344
#define LB 0.45359237
#define US_GAL 3.785411784e-3
#define PSI 6894.757293168361
#define BTU 1055.05585262
#define RPM 0.10471975511965977

static const Display metric[OW_Q_COUNT] = {
    [OW_Q_NUMBER] = {{{0, 1, 0, ""}}, 0, 0},
    [OW_Q_LENGTH] =
        {{{0, 1e6, 0, "\xC2\xB5m"}, {1e-4, 1e3, 0, "mm"}, {0.9995, 1, 0, "m"}, {5e3, 1e-3, 0, "km"}}, 2, 0},
    [OW_Q_AREA] = {{{0, 1e6, 0, "mm\xC2\xB2"}, {1e-3, 1e4, 0, "cm\xC2\xB2"}, {0.1, 1, 0, "m\xC2\xB2"}}, 2, 0},
    [OW_Q_VOLUME] = {{{0, 1e6, 0, "mL"}, {0.9995e-3, 1e3, 0, "L"}}, 1, 0},
    [OW_Q_MASS] = {{{0, 1e3, 0, "g"}, {0.9995, 1, 0, "kg"}}, 1, 0},
    [OW_Q_TIME] = {{{0, 1, 0, "s"}}, 0, 0},
    [OW_Q_SPEED] = {{{0, 3.6, 0, "km/h"}}, 0, 0},
    [OW_Q_TEMPERATURE] = {{{0, 1, -OW_ZERO_CELSIUS_K,
                            "\xC2\xB0"
                            "C"}},
                          0,
                          1},
    [OW_Q_TEMPERATURE_DIFFERENCE] = {{{0, 1, 0, "K"}}, 0, 0},
    [OW_Q_PRESSURE] = {{{0, 1, 0, "Pa"}, {100, 1e-3, 0, "kPa"}, {1e6, 1e-6, 0, "MPa"}}, 1, 0},
    [OW_Q_VOLUME_FLOW] = {{{0, 3.6e6, 0, "L/h"}}, 0, 0},
    [OW_Q_POWER] = {{{0, 1, 0, "W"}, {1e4, 1e-3, 0, "kW"}}, 0, 0},
    [OW_Q_ENERGY] = {{{0, 1, 0, "J"}, {1e3, 1e-3, 0, "kJ"}, {1e6, 1e-6, 0, "MJ"}}, 1, 0},
    [OW_Q_VOLTAGE] = {{{0, 1, 0, "V"}}, 0, 0},
    [OW_Q_CURRENT] = {{{0, 1, 0, "A"}}, 0, 0},
    [OW_Q_RESISTANCE] = {{{0, 1e3, 0, "m\xCE\xA9"}, {0.9995, 1, 0, "\xCE\xA9"}}, 1, 0},
    [OW_Q_CHARGE] = {{{0, 1.0 / 3600.0, 0, "Ah"}}, 0, 0},
    [OW_Q_KINEMATIC_VISCOSITY] = {{{0, 1e6, 0, "mm\xC2\xB2/s"}}, 0, 0},
    [OW_Q_DYNAMIC_VISCOSITY] = {{{0, 1e3, 0, "mPa s"}}, 0, 0},
    [OW_Q_DENSITY] = {{{0, 1, 0, "kg/m\xC2\xB3"}}, 0, 0},
    [OW_Q_SPECIFIC_HEAT] = {{{0, 1, 0, "J/(kg K)"}}, 0, 0},
    [OW_Q_CONDUCTIVITY] = {{{0, 1, 0, "W/(m K)"}}, 0, 0},
    [OW_Q_CONDUCTANCE] = {{{0, 1, 0, "W/K"}}, 0, 0},
    [OW_Q_HEAT_CAPACITY] = {{{0, 1, 0, "J/K"}, {1e4, 1e-3, 0, "kJ/K"}}, 0, 0},
    [OW_Q_HEATING_VALUE] = {{{0, 1e-6, 0, "MJ/kg"}}, 0, 0},
    [OW_Q_ROTATION] = {{{0, 1.0 / RPM, 0, "rpm"}}, 0, 0},
    [OW_Q_PERMEABILITY] = {{{0, 1e12, 0, "\xC2\xB5m\xC2\xB2"}}, 0, 0},
    [OW_Q_MASS_FLOW] = {{{0, 1, 0, "kg/s"}}, 0, 0},
    [OW_Q_POWER_PER_LENGTH] = {{{0, 1, 0, "W/m"}}, 0, 0},
    [OW_Q_FLOW_RESISTANCE] = {{{0, 1e-3 / 3.6e6, 0, "kPa/(L/h)"}}, 0, 0},
    [OW_Q_PER_AREA_CONDUCTANCE] = {{{0, 1, 0, "W/(m\xC2\xB2 K)"}}, 0, 0},
};

/// Only the rows that differ from metric; an empty label falls back.
static const Display us[OW_Q_COUNT] = {
    [OW_Q_LENGTH] = {{{0, 1 / 0.0254, 0, "in"}, {3 * FT, 1 / FT, 0, "ft"}, {MILE, 1 / MILE, 0, "mi"}}, 1, 0},
    [OW_Q_AREA] = {{{0, 1 / (0.0254 * 0.0254), 0, "in\xC2\xB2"}, {FT * FT, 1 / (FT * FT), 0, "ft\xC2\xB2"}},
                   1,
                   0},
    [OW_Q_VOLUME] = {{{0, 128 / US_GAL, 0, "US fl oz"}, {US_GAL / 4, 1 / US_GAL, 0, "US gal"}}, 1, 0},
    [OW_Q_MASS] = {{{0, 16 / LB, 0, "oz"}, {LB, 1 / LB, 0, "lb"}}, 1, 0},
    [OW_Q_SPEED] = {{{0, 3600 / MILE, 0, "mph"}}, 0, 0},
    [OW_Q_TEMPERATURE] = {{{0, 1.8, -459.67,
                            "\xC2\xB0"
                            "F"}},
                          0,
                          1},
    [OW_Q_TEMPERATURE_DIFFERENCE] = {{{0, 1.8, 0,
                                       "\xC2\xB0"
                                       "F"}},
                                     0,
                                     0},
    [OW_Q_PRESSURE] = {{{0, 1 / PSI, 0, "psi"}}, 0, 0},
    [OW_Q_VOLUME_FLOW] = {{{0, 3600 / US_GAL, 0, "US gal/h"}}, 0, 0},
    [OW_Q_KINEMATIC_VISCOSITY] = {{{0, 1e6, 0, "cSt"}}, 0, 0},
    [OW_Q_DYNAMIC_VISCOSITY] = {{{0, 1e3, 0, "cP"}}, 0, 0},
    [OW_Q_DENSITY] = {{{0, US_GAL / LB, 0, "lb/US gal"}}, 0, 0},
    [OW_Q_SPECIFIC_HEAT] = {{{0, LB / (1.8 * BTU), 0,
                              "BTU/(lb \xC2\xB0"
                              "F)"}},
                            0,
                            0},
    [OW_Q_CONDUCTIVITY] = {{{0, 3600 * FT / (1.8 * BTU), 0,
                             "BTU/(h ft \xC2\xB0"
                             "F)"}},
                           0,
                           0},
    [OW_Q_HEATING_VALUE] = {{{0, LB / BTU, 0, "BTU/lb"}}, 0, 0},
    [OW_Q_POWER_PER_LENGTH] = {{{0, FT, 0, "W/ft"}}, 0, 0},
    [OW_Q_FLOW_RESISTANCE] = {{{0, US_GAL / (3600 * PSI), 0, "psi/(US gal/h)"}}, 0, 0},
    [OW_Q_PER_AREA_CONDUCTANCE] = {{{0, 3600 * FT *FT / (1.8 * BTU), 0,
                                     "BTU/(h ft\xC2\xB2 \xC2\xB0"
                                     "F)"}},
                                   0,
                                   0},
};

static const Display *display_of(OwQuantity quantity, OwDisplay display) {
    if ((unsigned)quantity >= OW_Q_COUNT) {
        return &metric[OW_Q_NUMBER];
    }
    return display == OW_DISPLAY_US && us[quantity].scale[0].label != NULL ? &us[quantity]
                                                                           : &metric[quantity];
}

static void write_time(double seconds, char *text, size_t size) {
    const char *sign = seconds < 0.0 ? "-" : "";
    const double a = fabs(seconds);
    if (a < 59.95) {
        char number[48];
        ow_number_write(seconds, 0, number, sizeof number);
        (void)snprintf(text, size, "%s s", number);
    } else if (a < 3599.5) {
        const long s = lround(a);
        (void)snprintf(text, size, s % 60 == 0 ? "%s%ld min" : "%s%ld min %ld s", sign, s / 60, s % 60);
    } else if (a < 1e9) {
        const long m = lround(a / 60.0);
        (void)snprintf(text, size, m % 60 == 0 ? "%s%ld h" : "%s%ld h %ld min", sign, m / 60, m % 60);
    } else {
        (void)snprintf(text, size, "%.2e s", seconds);
    }
}

void ow_units_write(double si, OwQuantity quantity, OwDisplay display, char *text, size_t size) {
    if (text == NULL || size == 0) {
        return;
    }
    if (!isfinite(si)) {
        (void)snprintf(text, size, "unknown");
        return;
    }
    if (quantity == OW_Q_TIME) {
        write_time(si, text, size);
        return;
    }
    const Display *d = display_of(quantity, display);
    const Scale *scale = &d->scale[si == 0.0 ? d->axis : 0];
    for (int i = 1; i < MAX_SCALES && d->scale[i].label != NULL; i++) {
        if (fabs(si) >= d->scale[i].from_si * (1.0 - 1e-12)) {
            scale = &d->scale[i];
        }
    }
    double shown = si * scale->factor + scale->offset;
    if (d->least_decimals > 0) {
        shown = round(shown * 10.0) / 10.0; // temperatures: a tenth is enough, at any size
    }
    char number[48];
    ow_number_write(shown, d->least_decimals, number, sizeof number);
    (void)snprintf(text, size, scale->label[0] == '\0' ? "%s%s" : "%s %s", number, scale->label);
}

const char *ow_units_display(OwQuantity quantity, OwDisplay display, double *factor, double *offset) {
    const Display *d = display_of(quantity, display);
    const Scale *scale = &d->scale[d->axis];
    if (factor != NULL) {
        *factor = scale->factor;
    }
    if (offset != NULL) {
        *offset = scale->offset;
    }
    return scale->label;
}
