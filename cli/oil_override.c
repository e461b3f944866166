// SPDX-License-Identifier: GPL-3.0-or-later
// Another oil from the command line: a name, a blend, or measured viscosities.
#include <ctype.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/text.h"
#include "cli.h"

static OwStatus refuse(OwFaults *faults, OwStatus status, const char *what, const char *message,
                       const char *remedy) {
    OwFault fault = {.status = status, .severity = OW_FAULT_ERROR};
    ow_text_copy(fault.file, sizeof fault.file, "command line");
    ow_text_copy(fault.part, sizeof fault.part, what);
    ow_text_copy(fault.message, sizeof fault.message, message);
    ow_text_copy(fault.remedy, sizeof fault.remedy, remedy);
    ow_faults_add(faults, &fault);
    return status;
}

static void trim(char *text) {
    size_t start = 0;
    size_t end = strlen(text);
    while (isspace((unsigned char)text[start])) {
        start++;
    }
    while (end > start && isspace((unsigned char)text[end - 1])) {
        end--;
    }
    memmove(text, text + start, end - start);
    text[end - start] = '\0';
}

/// One "60% rapeseed" or "35 mm2/s @ 40 degC".
static OwStatus read_share(OwOilSpec *spec, char *piece, OwUnits *units, OwFaults *faults) {
    char *end = NULL;
    const double number = strtod(piece, &end);
    (void)units;
    while (end != piece && isspace((unsigned char)*end)) {
        end++;
    }
    const bool is_percent = end != piece && *end == '%';
    if (end == piece || !isfinite(number) || number <= 0.0) {
        return refuse(faults, OW_ERROR_VALUE, "--oil", "a blend needs a share before each name",
                      "write for instance \"60% rapeseed + 40% diesel\"");
    }
    char name[64];
    ow_text_copy(name, sizeof name, end + (is_percent ? 1 : 0));
    trim(name);
    if (spec->blend_count >= OW_OIL_MAX_BLEND) {
        return refuse(faults, OW_ERROR_VALUE, "--oil", "too many parts in the blend", "name at most six");
    }
    ow_text_copy(spec->blend_name[spec->blend_count], sizeof spec->blend_name[0], name);
    spec->blend_fraction[spec->blend_count++] = is_percent ? number / 100.0 : number;
    return OW_OK;
}

static OwStatus read_point(OwOilSpec *spec, char *piece, OwUnits *units, OwFaults *faults) {
    char *at = strchr(piece, '@');
    char why[256] = "";
    double kinematic = 0.0;
    double temperature = 0.0;
    if (at == NULL || spec->point_count >= OW_OIL_MAX_POINTS) {
        return refuse(faults, OW_ERROR_VALUE, "--oil", "this is not a list of viscosity points",
                      "write for instance \"35 mm2/s @ 40 degC, 8 mm2/s @ 100 degC\"");
    }
    *at = '\0';
    if (ow_units_read(units, piece, OW_Q_KINEMATIC_VISCOSITY, "mm2/s", &kinematic, why, sizeof why) !=
            OW_OK ||
        ow_units_read(units, at + 1, OW_Q_TEMPERATURE, "degC", &temperature, why, sizeof why) != OW_OK) {
        return refuse(faults, OW_ERROR_UNIT, "--oil", "a viscosity point cannot be read", why);
    }
    spec->points[spec->point_count++] =
        (OwViscosityPoint){.temperature_k = temperature, .kinematic_m2_s = kinematic};
    return OW_OK;
}

OwStatus ow_cli_oil_override(OwRig *rig, const char *text, OwUnits *units, OwFaults *faults) {
    int target = -1;
    char rest[512];
    const char *equal = strchr(text, '=');
    if (equal != NULL) {
        char name[OW_NAME_SIZE];
        snprintf(name, sizeof name, "%.*s", (int)(equal - text), text);
        trim(name);
        for (int i = 0; i < rig->fluid_count; i++) {
            target = strcmp(name, rig->fluid_name[i]) == 0 ? i : target;
        }
    } else if (rig->fluid_count == 1) {
        target = 0;
    }
    if (target < 0) {
        char remedy[192];
        snprintf(remedy, sizeof remedy, "this rig holds \"%s\"%s%s%s: write --oil NAME=OIL",
                 rig->fluid_name[0], rig->fluid_count > 1 ? " and \"" : "",
                 rig->fluid_count > 1 ? rig->fluid_name[1] : "", rig->fluid_count > 1 ? "\"" : "");
        return refuse(faults, OW_ERROR_VALUE, "--oil",
                      equal != NULL ? "no fluid of that name" : "which of the two fluids is meant?", remedy);
    }
    ow_text_copy(rest, sizeof rest, equal != NULL ? equal + 1 : text);
    trim(rest);
    OwOilSpec spec = {0};
    const bool is_points = strchr(rest, '@') != NULL;
    const bool is_blend = strchr(rest, '%') != NULL || strchr(rest, '+') != NULL;
    OwStatus status = OW_OK;
    if (is_points || is_blend) {
        ow_text_copy(spec.name, sizeof spec.name, is_points ? "measured oil" : "blend");
        char *save = NULL;
        for (char *piece = strtok_r(rest, is_points ? "," : "+", &save); piece != NULL && status == OW_OK;
             piece = strtok_r(NULL, is_points ? "," : "+", &save)) {
            trim(piece);
            status =
                is_points ? read_point(&spec, piece, units, faults) : read_share(&spec, piece, units, faults);
        }
    } else {
        ow_text_copy(spec.name, sizeof spec.name, rest);
    }
    if (status == OW_OK) {
        rig->fluid_spec[target] = spec;
    }
    return status;
}
