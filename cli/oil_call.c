// SPDX-License-Identifier: GPL-3.0-or-later
// Reading of the arguments of `oilwright oil`.
#include <ctype.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/text.h"
#include "oil_cli.h"

const char *const ow_oil_usage =
    "Usage: oilwright oil [NAME] [options]\n"
    "       oilwright oil test NAME ...   arithmetic of workshop tests, see oilwright oil test --help\n"
    "\n"
    "Turns what is known of an oil into its properties with 90 % bands, and compares it with fuel "
    "standards.\n"
    "\n"
    "  --list                 the named oils and fuels\n"
    "  --point \"V @ T\"        a measured viscosity, \"35 mm2/s @ 40 degC\"; may be given more than once\n"
    "  --cup \"D: S @ T\"       ISO 2431 cup of nozzle D mm, seconds, oil temperature: \"4: 52 @ 25 degC\"\n"
    "  --profile \"A=P ...\"    fatty acids in % by mass: \"16:0=4 18:0=2 18:1=62 18:2=22 18:3=9\"\n"
    "  --density RHO          at 15 degC, kg/m3 or \"0.92\";  --hydrometer \"RHO @ T\"  a reading at any "
    "temperature\n"
    "  --cloud T              cloud point\n"
    "  --used                 used for frying, nothing else known\n"
    "  --polar P              total polar matter, \"18 %\"\n"
    "  --thicker F            viscosity over that of the fresh oil at 40 degC\n"
    "  --water W --solids S   \"800 ppm\", \"0.1 %\" (by mass);  --acid A  acid value, mg KOH/g, or \"1.2 "
    "%\" free acid\n"
    "  --lab \"NAME VALUE\"     a line of a laboratory sheet: flash point, cetane number, net heat, iodine "
    "value,\n"
    "                         oxidation stability (h), sulphur, phosphorus, calcium, magnesium (mg/kg)\n"
    "  --blend \"P NAME\"       \"30% diesel\", by volume; may be given more than once\n"
    "  --target \"V @ T\"       least diluent for a viscosity;  --target-cloud T  for a cloud point\n"
    "  --diluent NAME         only this one (all usual ones)\n"
    "  --compare S            din51605, en590, en14214, all or none\n"
    "  --spray T              spray indicators at this fuel temperature\n"
    "  --at T                 a temperature of the table; may be given more than once (-30 to 150 degC)\n"
    "  --limit V              highest viscosity of the injection pump (20 mm2/s)\n"
    "  --json | --csv         instead of the report;  --svg FILE  chart on Walther axes\n"
    "  --units metric|us      units of the output;  --ascii  no characters outside ASCII\n"
    "\n"
    "Ends with 0, 2 when the call or the input is wrong, 3 when output could not be written.\n";

static int wrong(const char *what, const char *why) {
    fprintf(stderr, "oilwright oil: %s: %s\n", what, why);
    return OW_CLI_USAGE;
}

static bool read_quantity(OwUnits *units, const char *text, OwQuantity quantity, const char *bare,
                          const char *option, double *si) {
    char why[256] = "";
    if (ow_units_read(units, text, quantity, bare, si, why, sizeof why) != OW_OK || !isfinite(*si)) {
        (void)wrong(option, why[0] ? why : "not a number");
        return false;
    }
    return true;
}

/// "X @ T" or "X at T" into two texts.
static bool split_at(const char *text, char *left, size_t size, const char **right, const char *option,
                     const char *example) {
    const char *at = strchr(text, '@');
    const char *word = at ? NULL : strstr(text, " at ");
    const char *end = at ? at : word;
    if (!end || end == text || (size_t)(end - text) >= size) {
        char why[96];
        snprintf(why, sizeof why, "write a reading and its temperature, \"%.40s\"", example);
        (void)wrong(option, why);
        return false;
    }
    memcpy(left, text, (size_t)(end - text));
    left[end - text] = '\0';
    *right = end + (at ? 1 : 4);
    *right += strspn(*right, " ");
    return true;
}

/// A viscosity and its temperature. Dynamic viscosity is told apart.
static bool read_pair(OwUnits *units, const char *text, const char *option, double *value,
                      double *temperature_k) {
    char left[64], why[256] = "", other[256];
    const char *right;
    double dynamic = 0.0;
    if (!split_at(text, left, sizeof left, &right, option, "35 mm2/s @ 40 degC")) {
        return false;
    }
    if (ow_units_read(units, left, OW_Q_KINEMATIC_VISCOSITY, "mm2/s", value, why, sizeof why) != OW_OK &&
        ow_units_read(units, left, OW_Q_DYNAMIC_VISCOSITY, "", &dynamic, other, sizeof other) == OW_OK) {
        snprintf(
            why, sizeof why,
            "that is a dynamic viscosity; divide mPa s (cP) by the density in kg/L, 0.9 for warm oil: some "
            "\"%.3g mm2/s\"",
            1000.0 * dynamic / 0.9);
    }
    if (why[0] || !isfinite(*value)) {
        (void)wrong(option, why[0] ? why : "not a number");
        return false;
    }
    return read_quantity(units, right, OW_Q_TEMPERATURE, "degC", option, temperature_k);
}

static bool read_hydrometer(OwUnits *units, const char *text, OwOilSpec *spec) {
    char left[64];
    const char *right;
    return split_at(text, left, sizeof left, &right, "--hydrometer", "0.915 @ 22 degC") &&
           ow_oil_words_density(units, left, "--hydrometer", &spec->hydrometer_kg_m3) &&
           read_quantity(units, right, OW_Q_TEMPERATURE, "degC", "--hydrometer", &spec->hydrometer_k);
}

static bool read_number(const char *text, const char *option, double low, double high, double *number) {
    char *end;
    const double value = strtod(text, &end);
    if (end == text || *end != '\0' || !(value >= low && value <= high)) {
        char why[96];
        snprintf(why, sizeof why, "\"%.20s\" is not a number from %g to %g", text, low, high);
        (void)wrong(option, why);
        return false;
    }
    *number = value;
    return true;
}

static bool read_profile(const char *text, double *profile) {
    while (*(text += strspn(text, " ,;"))) {
        const size_t size = strcspn(text, "=");
        char code[24], *end;
        if (text[size] != '=' || size >= sizeof code) {
            (void)wrong("--profile", "write acids as \"18:1=62 18:2=22\", % by mass");
            return false;
        }
        memcpy(code, text, size);
        code[size] = '\0';
        const int acid = ow_oil_acid_find(code);
        const double percent = strtod(text + size + 1, &end);
        if (acid < 0 || end == text + size + 1 || !isfinite(percent)) {
            fprintf(stderr, "oilwright oil: --profile: %s \"%s\"; known are",
                    acid < 0 ? "unknown acid" : "no number after", code);
            for (int i = 0; i < OW_ACID_COUNT; ++i) {
                fprintf(stderr, " %s", ow_oil_acid_code((OwAcid)i));
            }
            fputs("\n", stderr);
            return false;
        }
        profile[acid] = percent;
        text = end + (*end == '%');
    }
    return true;
}

static bool read_cup(OwUnits *units, const char *text, OwOilSpec *spec) {
    char left[64], *end;
    const char *right;
    if (!split_at(text, left, sizeof left, &right, "--cup", "4: 52 @ 25 degC")) {
        return false;
    }
    const long nozzle = strtol(left, &end, 10);
    const char *unit = end + strspn(end, " ");
    end += strncmp(unit, "mm", 2) == 0 ? unit + 2 - end : 0;
    if (end == left && isalpha((unsigned char)*left)) {
        (void)wrong(
            "--cup",
            "seconds of another make of cup say nothing here: ISO 2431 cups are told by their nozzle, "
            "\"4: 52 @ 25 degC\". Time your cup with a fluid you know, oilwright oil test drop, "
            "and give the viscosity");
        return false;
    }
    if (*end != ':' || spec->cup_count == OW_OIL_MAX_CUPS) {
        (void)wrong("--cup", spec->cup_count == OW_OIL_MAX_CUPS ? "no more than 4 readings"
                                                                : "write \"4: 52 @ 25 degC\"");
        return false;
    }
    OwCupReading *cup = &spec->cups[spec->cup_count++];
    cup->nozzle_mm = nozzle > 0 && nozzle < 100 ? (int)nozzle : 0;
    return read_quantity(units, end + 1, OW_Q_TIME, "s", "--cup", &cup->seconds) &&
           read_quantity(units, right, OW_Q_TEMPERATURE, "degC", "--cup", &cup->temperature_k);
}

/// "30% diesel".
static bool read_blend(const char *text, OwOilSpec *blend) {
    char *end;
    double share = strtod(text, &end);
    const bool is_percent = *(end += strspn(end, " ")) == '%';
    end += is_percent;
    end += strspn(end, " ");
    share *= is_percent ? 0.01 : 1.0;
    if (end == text || !*end || !(share > 0.0 && share < 1.0) || blend->blend_count >= OW_OIL_MAX_BLEND - 1) {
        (void)wrong("--blend", "write a share by volume and a name, \"30% diesel\"; at most 5 diluents");
        return false;
    }
    const int i = ++blend->blend_count; // place 0 is the oil itself
    if (!ow_text_copy(blend->blend_name[i], sizeof blend->blend_name[i], end)) {
        (void)wrong("--blend", "the name is too long");
        return false;
    }
    blend->blend_fraction[i] = share;
    return true;
}

static bool read_compare(const char *text, OwOilCall *call) {
    static const char *const key[OW_STANDARD_COUNT] = {"din51605", "en590", "en14214"};
    if (strcmp(text, "all") == 0 || strcmp(text, "none") == 0) {
        for (int i = 0; i < OW_STANDARD_COUNT; ++i) {
            call->compares[i] = *text == 'a';
        }
        return true;
    }
    for (int i = 0; i < OW_STANDARD_COUNT; ++i) {
        if (strcmp(text, key[i]) == 0) {
            call->compares[i] = true;
            return true;
        }
    }
    (void)wrong("--compare", "say din51605, en590, en14214, all or none");
    return false;
}

static bool add_temperature(OwUnits *units, const char *text, OwOilCall *call) {
    double t;
    if (!read_quantity(units, text, OW_Q_TEMPERATURE, "degC", "--at", &t)) {
        return false;
    }
    if (!(t >= OW_CURVE_LOW_K && t <= 454.0) || call->temperature_count == OW_OIL_CALL_TEMPERATURES) {
        (void)wrong("--at", "give temperatures from -50 to 180 degC, at most 64");
        return false;
    }
    call->temperature_k[call->temperature_count++] = t;
    return true;
}

enum {
    POINT,
    CUP,
    PROFILE,
    DENSITY,
    HYDROMETER,
    CLOUD,
    POLAR,
    THICKER,
    WATER,
    SOLIDS,
    ACID,
    LAB,
    BLEND,
    TARGET,
    TARGET_CLOUD,
    DILUENT,
    COMPARE,
    SPRAY,
    AT,
    LIMIT,
    SVG,
    UNITS,
    VALUED,
    LIST = VALUED,
    USED,
    JSON,
    CSV,
    ASCII,
    HELP,
    OPTION_COUNT
};
static const char *const options[OPTION_COUNT] = {
    "--point",        "--cup",     "--profile", "--density", "--hydrometer", "--cloud", "--polar",
    "--thicker",      "--water",   "--solids",  "--acid",    "--lab",        "--blend", "--target",
    "--target-cloud", "--diluent", "--compare", "--spray",   "--at",         "--limit", "--svg",
    "--units",        "--list",    "--used",    "--json",    "--csv",        "--ascii", "--help"};

static bool read_units_name(const char *text, OwOilCall *call) {
    if (strcmp(text, "metric") != 0 && strcmp(text, "us") != 0) {
        (void)wrong("--units", "say metric or us");
        return false;
    }
    call->display = *text == 'u' ? OW_DISPLAY_US : OW_DISPLAY_METRIC;
    return true;
}

static bool read_point(OwUnits *units, const char *text, OwOilSpec *spec) {
    if (spec->point_count == OW_OIL_MAX_POINTS) {
        (void)wrong("--point", "no more than 16 readings");
        return false;
    }
    OwViscosityPoint *p = &spec->points[spec->point_count++];
    return read_pair(units, text, "--point", &p->kinematic_m2_s, &p->temperature_k);
}

static bool read_valued(int option, const char *v, OwUnits *units, OwOilCall *call) {
    OwOilSpec *spec = &call->spec;
    switch (option) {
    case POINT:
        return read_point(units, v, spec);
    case CUP:
        return read_cup(units, v, spec);
    case PROFILE:
        return read_profile(v, spec->profile);
    case DENSITY:
        return ow_oil_words_density(units, v, "--density", &spec->density_15_kg_m3);
    case HYDROMETER:
        return read_hydrometer(units, v, spec);
    case CLOUD:
        return read_quantity(units, v, OW_Q_TEMPERATURE, "degC", "--cloud", &spec->cloud_point_k);
    case POLAR:
        return ow_oil_words_share(v, "--polar", &spec->polar_share);
    case THICKER:
        return read_number(v, "--thicker", 0.1, 10.0, &spec->used_factor);
    case WATER:
        return ow_oil_words_share(v, "--water", &spec->water_share);
    case SOLIDS:
        return ow_oil_words_share(v, "--solids", &spec->solids_share);
    case ACID:
        return ow_oil_words_acid(v, &spec->acid_mg_g);
    case LAB:
        return ow_oil_words_sheet(units, v, spec->sheet);
    case BLEND:
        return read_blend(v, &call->blend);
    case TARGET:
        return read_pair(units, v, "--target", &call->target_m2_s, &call->target_k);
    case TARGET_CLOUD:
        return read_quantity(units, v, OW_Q_TEMPERATURE, "degC", "--target-cloud", &call->target_cloud_k);
    case DILUENT:
        call->diluent = v;
        return true;
    case COMPARE:
        return read_compare(v, call);
    case SPRAY:
        return read_quantity(units, v, OW_Q_TEMPERATURE, "degC", "--spray", &call->spray_k);
    case AT:
        return add_temperature(units, v, call);
    case LIMIT:
        return read_quantity(units, v, OW_Q_KINEMATIC_VISCOSITY, "mm2/s", "--limit", &call->limit_m2_s);
    case SVG:
        call->svg = v;
        return true;
    default:
        return read_units_name(v, call);
    }
}

static int unknown(const char *argument) {
    const char *near = ow_text_nearest(argument, options, OPTION_COUNT);
    char why[96];
    snprintf(why, sizeof why, "unknown option%s%s",
             near ? "; did you mean " : "; oilwright oil --help lists them", near ? near : "");
    return wrong(argument, why);
}

static int find_option(const char *argument) {
    for (int i = 0; i < OPTION_COUNT; ++i) {
        const size_t size = strlen(options[i]);
        if (strncmp(argument, options[i], size) == 0 &&
            (argument[size] == '\0' || (argument[size] == '=' && i < VALUED))) {
            return i;
        }
    }
    return -1;
}

static void set_flag(int option, OwOilCall *call) {
    call->is_list = call->is_list || option == LIST;
    call->spec.is_used = call->spec.is_used || option == USED;
    call->is_json = call->is_json || option == JSON;
    call->is_csv = call->is_csv || option == CSV;
    call->is_ascii = call->is_ascii || option == ASCII;
    call->wants_help = call->wants_help || option == HELP;
}

/// Completes the blend: the oil takes what the diluents leave.
static int finish(OwOilCall *call) {
    OwOilSpec *blend = &call->blend;
    if (blend->blend_count > 0) {
        double rest = 1.0;
        for (int i = 1; i <= blend->blend_count; ++i) {
            rest -= blend->blend_fraction[i];
        }
        if (!(rest > -1e-9)) {
            return wrong("--blend", "the diluents sum to more than 100 %");
        }
        ++blend->blend_count;
        blend->blend_fraction[0] = fmax(rest, 0.0);
    }
    if (call->temperature_count == 0) {
        for (int t = -30; t <= 150; t += t < 40 ? 10 : 20) {
            call->temperature_k[call->temperature_count++] = t + OW_ZERO_CELSIUS_K;
        }
        call->temperature_k[call->temperature_count++] = 150.0 + OW_ZERO_CELSIUS_K;
    }
    if (!(call->limit_m2_s > 0.0)) {
        return wrong("--limit", "give a viscosity above 0");
    }
    return OW_CLI_GOOD;
}

int ow_oil_call_read(int argc, char **argv, OwUnits *units, OwOilCall *call) {
    *call = (OwOilCall){.limit_m2_s = 20e-6};
    bool has_compare = false;
    for (int i = 1; i < argc; ++i) {
        const char *a = argv[i];
        if (a[0] != '-') {
            if (call->spec.name[0] || !ow_text_copy(call->spec.name, sizeof call->spec.name, a)) {
                return wrong(
                    a, "one oil at a time, its name within 63 letters and in quotes when it has blanks");
            }
            continue;
        }
        const int option = find_option(a);
        if (option < 0) {
            return unknown(a);
        }
        if (option >= VALUED) {
            set_flag(option, call);
            continue;
        }
        const char *value = a[strlen(options[option])] == '=' ? a + strlen(options[option]) + 1
                            : i + 1 < argc                    ? argv[++i]
                                                              : NULL;
        if (!value) {
            return wrong(a, "a value must follow");
        }
        has_compare = has_compare || option == COMPARE;
        if (!read_valued(option, value, units, call)) {
            return OW_CLI_USAGE;
        }
    }
    call->compares[OW_STANDARD_DIN_51605] =
        has_compare ? call->compares[OW_STANDARD_DIN_51605] : call->blend.blend_count == 0;
    return finish(call);
}
