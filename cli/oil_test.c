// SPDX-License-Identifier: GPL-3.0-or-later
// `oilwright oil test`: the arithmetic of the workshop tests.
#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

#include "oil_cli.h"

static const char usage[] =
    "Usage: oilwright oil test titration VOLUME_ML NORMALITY OIL_G [BLANK_ML]\n"
    "       oilwright oil test pan quiet|fizz|crackle|spit\n"
    "       oilwright oil test hydride RISE GAS_VOLUME TEMPERATURE OIL_G   (\"0.4 bar\" \"100 mL\" \"20 "
    "degC\" 50)\n"
    "       oilwright oil test cone SEDIMENT_ML SAMPLE_ML HOURS\n"
    "       oilwright oil test drop SECONDS REFERENCE_SECONDS REFERENCE_VISCOSITY   (95 12 \"2.7 mm2/s\")\n"
    "       oilwright oil test cup NOZZLE_MM SECONDS\n"
    "\n"
    "Each answers with the value, its 90 % interval and what to do.\n"
    "Cautions: lye and hydride burn skin and eyes, hydride with water makes hydrogen: goggles, gloves, open "
    "air,\n"
    "no flame. Hot oil with water in it spits and can catch fire. Local codes come first.\n";

/// Numbers, each with its unit behind it or bare. Only that unit is known.
static bool numbers(int count, char **text, const char *const *unit, double *value) {
    for (int i = 0; i < count; ++i) {
        char *end;
        value[i] = strtod(text[i], &end);
        const char *rest = end + strspn(end, " ");
        if (end == text[i] || (*rest && strcasecmp(rest, unit[i]) != 0) || !isfinite(value[i])) {
            fprintf(stderr, "oilwright oil test: \"%s\" is not a number of %s\n", text[i], unit[i]);
            return false;
        }
    }
    return true;
}

static void tell(const char *what, const OwWorkshop *test) {
    printf("%-14s %.4g %s (%.4g to %.4g)\n%-14s %s (%s)\n", what, test->value, test->unit, test->low,
           test->high, "", test->decision, ow_trust_text(test->trust));
}

static int end(OwStatus status, OwFaults *faults) {
    if (status != OW_OK) {
        ow_cli_faults(faults);
    }
    ow_faults_clear(faults);
    return status == OW_OK ? ow_cli_finish(stdout, "the standard output") : OW_CLI_USAGE;
}

static int titration(int argc, char **argv) {
    double v[4] = {0};
    OwWorkshop ffa, acid;
    OwFaults faults = {0};
    if (!numbers(argc, argv, (const char *const[]){"mL", "N", "g", "mL"}, v)) {
        return OW_CLI_USAGE;
    }
    const OwStatus status = ow_workshop_titration(v[0], v[3], v[1], v[2], &ffa, &acid, &faults);
    if (status == OW_OK) {
        tell("free acid", &ffa);
        tell("acid value", &acid);
    }
    return end(status, &faults);
}

static int pan(const char *seen) {
    static const char *const names[] = {"quiet", "fizz", "crackle", "spit"};
    OwFaults faults = {0};
    OwWorkshop water;
    int which = 0;
    while (which < 4 && strcasecmp(names[which], seen) != 0) {
        ++which;
    }
    const OwStatus status = ow_workshop_pan((OwPan)which, &water, &faults);
    if (status == OW_OK) {
        tell("water", &water);
    }
    return end(status, &faults);
}

static int hydride(char **argv, OwUnits *units) {
    static const OwQuantity quantity[] = {OW_Q_PRESSURE, OW_Q_VOLUME, OW_Q_TEMPERATURE};
    static const char *const bare[] = {"kPa", "mL", "degC"};
    double v[4];
    OwFaults faults = {0};
    OwWorkshop water;
    for (int i = 0; i < 3; ++i) {
        char why[256] = "";
        if (ow_units_read(units, argv[i], quantity[i], bare[i], &v[i], why, sizeof why) != OW_OK) {
            fprintf(stderr, "oilwright oil test hydride: %s: %s\n", argv[i], why);
            return OW_CLI_USAGE;
        }
    }
    if (!numbers(1, argv + 3, (const char *const[]){"g"}, v + 3)) {
        return OW_CLI_USAGE;
    }
    const OwStatus status = ow_workshop_hydride(v[0], v[1], v[2], v[3], &water, &faults);
    if (status == OW_OK) {
        tell("water", &water);
    }
    return end(status, &faults);
}

static int cone(char **argv) {
    double v[3];
    OwFaults faults = {0};
    OwWorkshop solids;
    if (!numbers(3, argv, (const char *const[]){"mL", "mL", "h"}, v)) {
        return OW_CLI_USAGE;
    }
    const OwStatus status = ow_workshop_cone(v[0], v[1], v[2], &solids, &faults);
    if (status == OW_OK) {
        tell("settled", &solids);
    }
    return end(status, &faults);
}

static int drop(char **argv, OwUnits *units) {
    double v[2], reference;
    char why[256] = "";
    OwFaults faults = {0};
    OwWorkshop viscosity;
    if (!numbers(2, argv, (const char *const[]){"s", "s"}, v)) {
        return OW_CLI_USAGE;
    }
    if (ow_units_read(units, argv[2], OW_Q_KINEMATIC_VISCOSITY, "mm2/s", &reference, why, sizeof why) !=
        OW_OK) {
        fprintf(stderr, "oilwright oil test drop: %s: %s\n", argv[2], why);
        return OW_CLI_USAGE;
    }
    const OwStatus status = ow_workshop_drop(v[0], v[1], reference, &viscosity, &faults);
    if (status == OW_OK) {
        tell("viscosity", &viscosity);
    }
    return end(status, &faults);
}

static int cup(char **argv) {
    double v[2], kinematic;
    if (!numbers(2, argv, (const char *const[]){"mm", "s"}, v)) {
        return OW_CLI_USAGE;
    }
    const OwStatus status = v[0] == floor(v[0]) && fabs(v[0]) < 100.0
                                ? ow_oil_cup_viscosity((int)v[0], v[1], &kinematic)
                                : OW_ERROR_VALUE;
    if (status == OW_ERROR_VALUE) {
        fputs("oilwright oil test cup: ISO 2431 has cups of 3, 4, 5 and 6 mm, and a time long enough to "
              "count (30 to 100 s)\n",
              stderr);
        return OW_CLI_USAGE;
    }
    printf("viscosity      %.4g mm2/s (%.4g to %.4g)\n               %s\n", 1e6 * kinematic,
           0.92e6 * kinematic, 1.08e6 * kinematic,
           status == OW_ERROR_RANGE ? "outside 30 to 100 s, where ISO 2431 holds: take another cup"
                                    : "give it as a viscosity reading at its temperature (published)");
    return ow_cli_finish(stdout, "the standard output");
}

int ow_cli_oil_test(int argc, char **argv, OwUnits *units) {
    const char *name = argc > 1 ? argv[1] : "";
    const int count = argc - 2;
    if (strcmp(name, "--help") == 0) {
        fputs(usage, stdout);
        return ow_cli_finish(stdout, "the standard output");
    }
    if (strcmp(name, "titration") == 0 && (count == 3 || count == 4)) {
        return titration(count, argv + 2);
    }
    if (strcmp(name, "pan") == 0 && count == 1) {
        return pan(argv[2]);
    }
    if (strcmp(name, "hydride") == 0 && count == 4) {
        return hydride(argv + 2, units);
    }
    if (strcmp(name, "cone") == 0 && count == 3) {
        return cone(argv + 2);
    }
    if (strcmp(name, "drop") == 0 && count == 3) {
        return drop(argv + 2, units);
    }
    if (strcmp(name, "cup") == 0 && count == 2) {
        return cup(argv + 2);
    }
    fputs(usage, stderr);
    return OW_CLI_USAGE;
}
