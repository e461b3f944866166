// SPDX-License-Identifier: GPL-3.0-or-later
// Reads quantities: number and unit text to SI through libudunits2, with the trade's spellings in front.
#include "base/text.h"
#include "base/units_impl.h"

#include <math.h>
#include <pthread.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <udunits2.h>

#define MAX_TERMS 4

struct OwUnits {
    ut_system *system;
    ut_unit *target[OW_Q_COUNT];
};

/// libudunits2 2.2 keeps its parser state, status and error handler in statics of its own, so two handles in
/// two threads may not be inside it at once. This lock guards the library, not any state of ours.
static pthread_mutex_t library_lock = PTHREAD_MUTEX_INITIALIZER;

/// What is known of a kind of quantity: name, SI unit for libudunits2 (NULL: our own table), an example,
/// usual units.
static const struct {
    const char *name, *si, *example, *usual;
} kinds[OW_Q_COUNT] = {
    [OW_Q_NUMBER] = {"a plain number", NULL, "0.3\" or \"30 %", "%"},
    [OW_Q_LENGTH] = {"a length", "m", "8 mm\" or \"5/16 in", "mm cm m km in ft um mi mil"},
    [OW_Q_AREA] = {"an area", "m2", "2.5 mm2\" or \"AWG 12", "mm2 cm2 m2 in2 ft2 AWG"},
    [OW_Q_VOLUME] = {"a volume", "m3", "60 L\" or \"16 US gal", "L mL m3 cm3 US gal imp gal US qt in3"},
    [OW_Q_MASS] = {"a mass", "kg", "0.5 kg\" or \"2 lb", "kg g mg t lb oz"},
    [OW_Q_TIME] = {"a time", "s", "90 s\" or \"1 min 30 s", "s min h d ms"},
    [OW_Q_SPEED] = {"a speed", "m/s", "50 km/h\" or \"30 mph", "km/h m/s mph"},
    [OW_Q_TEMPERATURE] = {"a temperature", "K", "65 degC\" or \"150 degF", "degC degF K"},
    [OW_Q_TEMPERATURE_DIFFERENCE] = {"a temperature difference", "K", "5 K\" or \"9 degF", "K degC degF"},
    [OW_Q_PRESSURE] = {"a pressure", "Pa", "35 kPa\" or \"5 psi", "kPa Pa MPa bar mbar psi inHg mmHg"},
    [OW_Q_VOLUME_FLOW] = {"a flow", "m3/s", "46 L/h\" or \"12 US gal/h",
                          "L/h L/min US gal/h US gal/min m3/s m3/h"},
    [OW_Q_POWER] = {"a power", "W", "150 W\" or \"75 hp", "W kW hp BTU/h"},
    [OW_Q_ENERGY] = {"an energy", "J", "20 kJ\" or \"5 Wh", "J kJ MJ Wh kWh BTU"},
    [OW_Q_VOLTAGE] = {"a voltage", "V", "12 V", "V mV"},
    [OW_Q_CURRENT] = {"a current", "A", "10 A", "A mA"},
    [OW_Q_RESISTANCE] = {"a resistance", "ohm", "0.8 ohm\" or \"20 mohm", "ohm mohm"},
    [OW_Q_CHARGE] = {"a charge", "C", "88 Ah", "Ah mAh C"},
    [OW_Q_KINEMATIC_VISCOSITY] = {"a kinematic viscosity", "m2/s", "15 mm2/s\" or \"15 cSt",
                                  "mm2/s cSt m2/s"},
    [OW_Q_DYNAMIC_VISCOSITY] = {"a dynamic viscosity", "Pa.s", "30 mPa s\" or \"30 cP", "mPa s Pa s cP"},
    [OW_Q_DENSITY] = {"a density", "kg/m3", "915 kg/m3\" or \"0.915 kg/L", "kg/m3 kg/L g/cm3 lb/US gal"},
    [OW_Q_SPECIFIC_HEAT] = {"a specific heat", "J/(kg K)", "2000 J/(kg K)\" or \"0.48 BTU/(lb degF)",
                            "J/(kg K) kJ/(kg K)"},
    [OW_Q_CONDUCTIVITY] = {"a thermal conductivity", "W/(m K)", "0.16 W/(m K)", "W/(m K)"},
    [OW_Q_CONDUCTANCE] = {"a thermal conductance", "W/K", "20 W/K", "W/K"},
    [OW_Q_HEAT_CAPACITY] = {"a heat capacity", "J/K", "900 J/K\" or \"0.9 kJ/K", "J/K kJ/K"},
    [OW_Q_HEATING_VALUE] = {"a heating value", "J/kg", "37 MJ/kg", "MJ/kg kJ/kg J/kg"},
    [OW_Q_ROTATION] = {"a speed of rotation", NULL, "2000 rpm", "rpm rad/s"},
    [OW_Q_PERMEABILITY] = {"a permeability", "m2", "1e-11 m2", "m2 um2 darcy"},
    [OW_Q_MASS_FLOW] = {"a mass flow", "kg/s", "0.05 kg/s\" or \"3 kg/min", "kg/s kg/min kg/h"},
    [OW_Q_POWER_PER_LENGTH] = {"a power per length", "W/m", "20 W/m", "W/m W/ft"},
    [OW_Q_FLOW_RESISTANCE] = {"a pressure per flow", "Pa s/m3", "0.1 kPa/(L/h)", "kPa/(L/h) psi/(US gal/h)"},
    [OW_Q_PER_AREA_CONDUCTANCE] = {"a heat transfer coefficient", "W/(m2 K)", "5 W/(m2 K)", "W/(m2 K)"},
};

const char *ow_quantity_example(OwQuantity quantity) {
    return (unsigned)quantity < OW_Q_COUNT ? kinds[quantity].example : "1";
}

const char *ow_quantity_name(OwQuantity quantity) {
    return (unsigned)quantity < OW_Q_COUNT ? kinds[quantity].name : "a quantity";
}

OwStatus ow_units_create(OwUnits **units) {
    if (units == NULL) {
        return OW_ERROR_USE;
    }
    *units = NULL;
    OwUnits *made = calloc(1, sizeof *made);
    if (made == NULL) {
        return OW_ERROR_MEMORY;
    }
    bool is_ready = true;
    pthread_mutex_lock(&library_lock);
    ut_error_message_handler spoken = ut_set_error_message_handler(ut_ignore);
    made->system = ut_read_xml(NULL);
    for (int q = 0; q < OW_Q_COUNT && made->system != NULL; q++) {
        if (kinds[q].si != NULL) {
            made->target[q] = ut_parse(made->system, kinds[q].si, UT_UTF8);
            is_ready = is_ready && made->target[q] != NULL;
        }
    }
    ut_set_error_message_handler(spoken);
    pthread_mutex_unlock(&library_lock);
    if (made->system == NULL || !is_ready) {
        ow_units_destroy(&made);
        return OW_ERROR_READ;
    }
    *units = made;
    return OW_OK;
}

void ow_units_destroy(OwUnits **units) {
    if (units == NULL || *units == NULL) {
        return;
    }
    pthread_mutex_lock(&library_lock);
    for (int q = 0; q < OW_Q_COUNT; q++) {
        ut_free((*units)->target[q]);
    }
    ut_free_system((*units)->system);
    pthread_mutex_unlock(&library_lock);
    free(*units);
    *units = NULL;
}

static bool is_digit(char c) {
    return c >= '0' && c <= '9';
}

typedef enum Verdict { UNIT_GOOD, UNIT_UNKNOWN, UNIT_WRONG_KIND } Verdict;

/// Slope and offset from a unit to the SI unit of a quantity: si = value * slope + offset.
static Verdict convert_once(const OwUnits *units, const char *spelled, OwQuantity quantity, double *slope,
                            double *offset) {
    Verdict verdict = UNIT_UNKNOWN;
    pthread_mutex_lock(&library_lock);
    ut_error_message_handler spoken = ut_set_error_message_handler(ut_ignore);
    ut_unit *unit = ut_parse(units->system, spelled, UT_UTF8);
    if (unit != NULL) {
        verdict = UNIT_WRONG_KIND;
        cv_converter *converter = ut_are_convertible(unit, units->target[quantity])
                                      ? ut_get_converter(unit, units->target[quantity])
                                      : NULL;
        if (converter != NULL) {
            const double at0 = cv_convert_double(converter, 0.0);
            const double at1 = cv_convert_double(converter, 1.0);
            const double at100 = cv_convert_double(converter, 100.0);
            *slope = (at100 - at0) / 100.0;
            *offset = at0;
            // Logarithmic and reciprocal units are not straight lines: not for us.
            if (isfinite(at0) && *slope > 0.0 && fabs(at1 - at0 - *slope) <= 1e-9 * (*slope + fabs(at0))) {
                verdict = UNIT_GOOD;
            }
            cv_free(converter);
        }
    }
    ut_free(unit);
    ut_set_error_message_handler(spoken);
    pthread_mutex_unlock(&library_lock);
    return verdict;
}

static Verdict look_up(const char *text, const char *const *names, const double *factors, int count,
                       double *slope) {
    for (int i = 0; i < count; i++) {
        if (strcmp(text, names[i]) == 0) {
            *slope = factors[i];
            return UNIT_GOOD;
        }
    }
    return UNIT_UNKNOWN;
}

static Verdict convert_unit(const OwUnits *units, const char *text, OwQuantity quantity, double *slope,
                            double *offset) {
    *offset = 0.0;
    if (quantity == OW_Q_NUMBER) {
        static const char *const names[] = {"", "1", "%", "percent", "ppm", "mg/kg", "g/kg"};
        static const double factors[] = {1.0, 1.0, 0.01, 0.01, 1e-6, 1e-6, 1e-3};
        return look_up(text, names, factors, 7, slope);
    }
    if (quantity == OW_Q_ROTATION) {
        // The library holds the radian for a plain number, so "1/min" would lose a factor of 2 pi there.
        static const double turn = 6.283185307179586476925;
        static const char *const names[] = {"rpm",   "1/min", "/min", "min-1", "min^-1", "rev/min", "r/min",
                                            "rad/s", "1/s",   "/s",   "s-1",   "rev/s",  "Hz"};
        const double a = turn / 60.0;
        const double factors[] = {a, a, a, a, a, a, a, 1.0, turn, turn, turn, turn, turn};
        return look_up(text, names, factors, 13, slope);
    }
    if (quantity == OW_Q_TEMPERATURE || quantity == OW_Q_TEMPERATURE_DIFFERENCE) {
        // "65 C" can only be meant one way here, though C is the coulomb elsewhere.
        text = strcmp(text, "C") == 0 ? "degC" : strcmp(text, "F") == 0 ? "degF" : text;
    }
    char spelled[2 * OW_UNITS_TEXT_MAX + 40];
    if (!ow_unit_spell(text, spelled, sizeof spelled)) {
        return UNIT_UNKNOWN;
    }
    Verdict verdict = convert_once(units, spelled, quantity, slope, offset);
    if (verdict == UNIT_WRONG_KIND) {
        // People write "W/m2 K" for W/(m2 K); the check of kind keeps this second try honest.
        const char *bar = strchr(spelled, '/');
        if (bar != NULL && strchr(bar + 1, '/') == NULL && strchr(spelled, '(') == NULL) {
            char grouped[sizeof spelled + 2];
            (void)snprintf(grouped, sizeof grouped, "%.*s/(%s)", (int)(bar - spelled), spelled, bar + 1);
            verdict = convert_once(units, grouped, quantity, slope, offset);
        }
    }
    if (verdict == UNIT_GOOD) {
        if (quantity == OW_Q_TEMPERATURE_DIFFERENCE) {
            *offset = 0.0; // 5 degC of difference are 5 K
        } else if (quantity != OW_Q_TEMPERATURE && *offset != 0.0) {
            verdict = UNIT_WRONG_KIND;
        }
    }
    return verdict;
}

static OwStatus refuse(OwStatus status, OwQuantity quantity, char *why, size_t why_size, const char *format,
                       ...) __attribute__((format(printf, 5, 6)));

static OwStatus refuse(OwStatus status, OwQuantity quantity, char *why, size_t why_size, const char *format,
                       ...) {
    if (why != NULL && why_size > 0) {
        char wrong[200];
        va_list arguments;
        va_start(arguments, format);
        (void)vsnprintf(wrong, sizeof wrong, format, arguments);
        va_end(arguments);
        char all[320];
        (void)snprintf(all, sizeof all, "%s; write for example \"%s\"", wrong, ow_quantity_example(quantity));
        (void)ow_text_copy(why, why_size, all);
    }
    return status;
}

/// The usual unit of that kind that `text` was probably meant to be, copied into `out`; false when none is
/// near.
static bool nearest_usual(OwQuantity quantity, const char *text, char *out, size_t size) {
    int best = strlen(text) < 3
                   ? 1
                   : 2; // a short text is near to everything: only its case may differ, or one letter
    bool is_found = false;
    char one[24];
    const char *p = kinds[quantity].usual;
    while (*p != '\0') {
        size_t n = strcspn(p, " ");
        if (strncmp(p, "US ", 3) == 0 || strncmp(p, "imp ", 4) == 0 || strncmp(p, "mPa ", 4) == 0 ||
            strncmp(p, "Pa s", 4) == 0) {
            n += 1 + strcspn(p + n + 1, " ");
        } else if (memchr(p, '(', n) != NULL && memchr(p, ')', n) == NULL) {
            n += 1 + strcspn(p + n + 1, " ");
        }
        (void)snprintf(one, sizeof one, "%.*s", (int)n, p);
        const int d = ow_text_distance(text, one, 2);
        if (d < best) {
            best = d;
            is_found = ow_text_copy(out, size, one);
        }
        p += n;
        p += *p == ' ' ? 1 : 0;
    }
    return is_found;
}

static OwStatus refuse_unit(Verdict verdict, OwQuantity quantity, const char *unit, char *why,
                            size_t why_size) {
    char near[24];
    if (strcmp(unit, "gal") == 0 || strncmp(unit, "gal/", 4) == 0 || strncmp(unit, "gallon", 6) == 0 ||
        strcmp(unit, "gph") == 0 || strcmp(unit, "gpm") == 0) {
        return refuse(OW_ERROR_UNIT, quantity, why, why_size,
                      "\"%s\" does not say which gallon (US gal or imp gal)", unit);
    }
    if (verdict == UNIT_WRONG_KIND) {
        return refuse(OW_ERROR_UNIT, quantity, why, why_size, "\"%s\" is not a unit of %s", unit,
                      ow_quantity_name(quantity) +
                          (strncmp(ow_quantity_name(quantity), "an ", 3) == 0 ? 3 : 2));
    }
    if (strcmp(unit, "to") == 0 || strncmp(unit, "to ", 3) == 0 ||
        (unit[0] == '-' && strpbrk(unit, "0123456789") != NULL)) {
        return refuse(OW_ERROR_VALUE, quantity, why, why_size, "one value is wanted, not a range");
    }
    if (nearest_usual(quantity, unit, near, sizeof near)) {
        return refuse(OW_ERROR_UNIT, quantity, why, why_size,
                      "the unit \"%s\" is unknown (did you mean \"%s\"?)", unit, near);
    }
    return refuse(OW_ERROR_UNIT, quantity, why, why_size, "the unit \"%s\" is unknown", unit);
}

/// American wire gauge, ASTM B258: d = 0.127 mm * 92^((36 - n)/39), n from 40 down to -3 (4/0). True when the
/// text is a gauge.
static bool read_gauge(const char *text, double *area, bool *is_good) {
    const char *p = text;
    bool is_before = false;
    while (*p == ' ') {
        p++;
    }
    if (strncmp(p, "AWG", 3) == 0 || strncmp(p, "awg", 3) == 0) {
        is_before = true;
        p += 3;
        while (*p == ' ' || *p == '-') {
            p++;
        }
    }
    const char *digits = p;
    int zeros = 0, n = 0, count = 0;
    for (; is_digit(*p) && count < 5; p++, count++) {
        n = n * 10 + (*p - '0');
        zeros += *p == '0' ? 1 : 0;
    }
    const bool is_over = strncmp(p, "/0", 2) == 0;
    p += is_over ? 2 : 0;
    if (!is_before) {
        while (*p == ' ') {
            p++;
        }
        static const char *const words[] = {"AWG", "awg", "gauge", "ga"};
        size_t size = 0;
        for (size_t i = 0; i < sizeof words / sizeof words[0] && size == 0; i++) {
            size = strncmp(p, words[i], strlen(words[i])) == 0 ? strlen(words[i]) : 0;
        }
        if (size == 0) {
            return false;
        }
        p += size;
    }
    *is_good = false;
    if (digits == p || count == 0 || *p != '\0') {
        return true;
    }
    if (is_over) {
        *is_good = count == 1 && n >= 1 && n <= 4;
        n = 1 - n;
    } else if (n == 0) {
        *is_good = zeros <= 4;
        n = 1 - zeros;
    } else {
        *is_good = count <= 2 && digits[0] != '0' && n <= 40;
    }
    const double diameter_m = 0.127e-3 * pow(92.0, (36.0 - n) / 39.0);
    *area = 0.25 * 3.14159265358979323846 * diameter_m * diameter_m;
    return true;
}

OwStatus ow_units_read(OwUnits *units, const char *text, OwQuantity quantity, const char *bare_unit,
                       double *si, char *why, size_t why_size) {
    if (why != NULL && why_size > 0) {
        why[0] = '\0';
    }
    if (units == NULL || text == NULL || si == NULL || (unsigned)quantity >= OW_Q_COUNT) {
        return OW_ERROR_USE;
    }
    char plain[OW_UNITS_TEXT_MAX + 1];
    if (strlen(text) > OW_UNITS_TEXT_MAX || !ow_units_plain(text, plain, sizeof plain)) {
        return refuse(OW_ERROR_VALUE, quantity, why, why_size,
                      "the text is too long or holds a character that is not used here");
    }
    bool is_good = false;
    double total = 0.0, last_slope = HUGE_VAL;
    if (quantity == OW_Q_AREA && read_gauge(plain, &total, &is_good)) {
        if (!is_good) {
            return refuse(OW_ERROR_VALUE, quantity, why, why_size,
                          "the wire gauge runs from AWG 4/0 to AWG 40");
        }
        *si = total;
        return OW_OK;
    }
    const char *p = plain;
    while (*p == ' ') {
        p++;
    }
    if (*p == '\0') {
        return refuse(OW_ERROR_VALUE, quantity, why, why_size, "the value is empty");
    }
    const bool is_negative = *p == '-';
    for (int term = 0; *p != '\0'; term++) {
        double value = 0.0, slope = 1.0, offset = 0.0;
        const char *wrong = "";
        if (term == MAX_TERMS || (term > 0 && (quantity == OW_Q_TEMPERATURE || quantity == OW_Q_NUMBER))) {
            return refuse(OW_ERROR_VALUE, quantity, why, why_size, "one number and one unit are wanted");
        }
        if (!ow_number_read(&p, &value, &wrong)) {
            return refuse(OW_ERROR_VALUE, quantity, why, why_size, "\"%.40s\" is not %s: %s", text,
                          ow_quantity_name(quantity), wrong);
        }
        while (*p == ' ') {
            p++;
        }
        // The unit ends where the next number begins, after a space.
        char unit[OW_UNITS_TEXT_MAX + 1];
        size_t n = 0;
        const bool is_turns = quantity == OW_Q_ROTATION && strncmp(p, "1/", 2) == 0;
        while (*p != '\0' && !(n > 0 && !is_turns && p[-1] == ' ' && (is_digit(*p) || *p == '.')) &&
               !(n == 0 && is_digit(*p) && !is_turns)) {
            unit[n++] = *p++;
        }
        while (n > 0 && unit[n - 1] == ' ') {
            n--;
        }
        unit[n] = '\0';
        const char *meant = unit;
        if (n == 0) {
            if (bare_unit != NULL && term == 0 && *p == '\0') {
                meant = bare_unit;
            } else if (quantity == OW_Q_NUMBER ||
                       (value == 0.0 && *p == '\0' && term == 0 && quantity != OW_Q_TEMPERATURE)) {
                total = value; // a number has no unit, and nothing is nothing in any unit
                continue;
            } else {
                return refuse(OW_ERROR_UNIT, quantity, why, why_size, "\"%.40s\" has no unit", text);
            }
        }
        const bool is_vague = strncmp(meant, "gallon", 6) == 0; // the library takes it for the US one
        const Verdict verdict =
            is_vague ? UNIT_UNKNOWN : convert_unit(units, meant, quantity, &slope, &offset);
        if (verdict != UNIT_GOOD) {
            return refuse_unit(verdict, quantity, meant, why, why_size);
        }
        if (term > 0 && !(slope < last_slope && value >= 0.0)) {
            return refuse(OW_ERROR_VALUE, quantity, why, why_size,
                          "in a sum each unit is smaller than the one before it");
        }
        last_slope = slope;
        const double piece = value * slope;
        total += (term > 0 && is_negative ? -piece : piece) + offset;
    }
    if (!isfinite(total) || fabs(total) > 1e40) {
        return refuse(OW_ERROR_VALUE, quantity, why, why_size, "\"%.40s\" is too large", text);
    }
    if (quantity == OW_Q_TEMPERATURE && total < 0.0) {
        return refuse(OW_ERROR_VALUE, quantity, why, why_size, "\"%.40s\" is below absolute zero", text);
    }
    *si = total;
    return OW_OK;
}
