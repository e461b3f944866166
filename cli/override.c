// SPDX-License-Identifier: GPL-3.0-or-later
// Changing a rig from the command line: any key of the file's own catalogue, and the oil.
#include <ctype.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/text.h"
#include "cli.h"
#include "rig/catalogue.h"

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

static OwStatus store(const OwField *field, void *base, const char *what, const char *value, OwUnits *units,
                      OwFaults *faults) {
    char why[256] = "";
    double number = NAN;
    switch (field->type) {
    case OW_FIELD_TEXT:
        ow_text_copy((char *)base + field->offset, OW_NAME_SIZE, value);
        return OW_OK;
    case OW_FIELD_FLAG:
        if (strcmp(value, "yes") == 0 || strcmp(value, "true") == 0 || strcmp(value, "on") == 0) {
            number = 1.0;
        } else if (strcmp(value, "no") == 0 || strcmp(value, "false") == 0 || strcmp(value, "off") == 0) {
            number = 0.0;
        } else {
            return refuse(faults, OW_ERROR_VALUE, what, "this is yes or no", "write yes or no");
        }
        break;
    case OW_FIELD_CHOICE:
        for (int i = 0; field->choices[i] != NULL; i++) {
            if (strcmp(value, field->choices[i]) == 0) {
                number = i;
            }
            const size_t used = strlen(why);
            snprintf(why + used, sizeof why - used, "%s%s", i > 0 ? ", " : "one of ", field->choices[i]);
        }
        if (isnan(number)) {
            return refuse(faults, OW_ERROR_VALUE, what, "unknown choice", why);
        }
        break;
    default:
        if (field->none && strcmp(value, "none") == 0) {
            number = 0.0;
            ow_field_store(field, base, number);
            return OW_OK;
        }
        if (ow_units_read(units, value, field->quantity, field->bare, &number, why, sizeof why) != OW_OK) {
            return refuse(faults, OW_ERROR_UNIT, what, "the value cannot be read", why);
        }
        if (field->type == OW_FIELD_COUNT && number != nearbyint(number)) {
            return refuse(faults, OW_ERROR_VALUE, what, "this is a whole number", "write a whole number");
        }
        break;
    }
    if (!ow_field_is_legal(field, number)) {
        char low[64];
        char high[64];
        ow_field_write(field, field->low, OW_DISPLAY_METRIC, low, sizeof low);
        ow_field_write(field, field->high, OW_DISPLAY_METRIC, high, sizeof high);
        snprintf(why, sizeof why, "from %s to %s", low, high);
        return refuse(faults, OW_ERROR_VALUE, what, "the value is out of range", why);
    }
    ow_field_store(field, base, number);
    return OW_OK;
}

/// Keys of a table, for the nearest known one.
typedef struct OwNames {
    const char *names[160];
    size_t count;
} OwNames;

static void gather(OwNames *names, OwFieldTable table) {
    for (int i = 0; i < table.count && names->count < sizeof names->names / sizeof names->names[0]; i++) {
        names->names[names->count++] = table.rows[i].key;
    }
}

static OwStatus unknown_key(const char *what, const char *key, const OwNames *names, OwFaults *faults) {
    const char *near = ow_text_nearest(key, names->names, names->count);
    char remedy[128] = "see the list of keys in the guide to rig files";
    if (near != NULL) {
        snprintf(remedy, sizeof remedy, "did you mean \"%s\"?", near);
    }
    return refuse(faults, OW_ERROR_VALUE, what, "unknown key", remedy);
}

static OwStatus set_part(OwPart *part, const char *what, const char *key, const char *value, OwUnits *units,
                         OwFaults *faults) {
    OwNames names = {{NULL}, 0};
    const OwFieldTable own = ow_kind_word_of(part)->fields;
    const OwField *field = ow_field_find(own, key);
    if (field == NULL) {
        field = ow_field_find(ow_common_fields(), key);
    }
    if (field != NULL) {
        return store(field, part, what, value, units, faults);
    }
    gather(&names, own);
    gather(&names, ow_common_fields());
    OwElements *elements = ow_part_elements(part);
    const char *dot = strchr(key, '.');
    if (elements != NULL && dot != NULL) {
        for (int i = 0; i < elements->count; i++) {
            char number[24];
            snprintf(number, sizeof number, "heater %d", i + 1);
            const size_t length = (size_t)(dot - key);
            const char *name = elements->items[i].name;
            if ((strlen(name) != length || strncmp(key, name, length) != 0) &&
                (strlen(number) != length || strncmp(key, number, length) != 0)) {
                continue;
            }
            const OwField *of_element = ow_field_find(ow_element_fields(), dot + 1);
            if (of_element == NULL) {
                of_element = ow_field_find(ow_thermostat_fields(), dot + 1);
            }
            if (of_element != NULL) {
                return store(of_element, &elements->items[i], what, value, units, faults);
            }
            names.count = 0;
            gather(&names, ow_element_fields());
            gather(&names, ow_thermostat_fields());
            return unknown_key(what, dot + 1, &names, faults);
        }
        return refuse(faults, OW_ERROR_VALUE, what, "no such heater",
                      "name a heater of that part, or \"heater 1\"");
    }
    return unknown_key(what, key, &names, faults);
}

OwStatus ow_cli_set(OwRig *rig, const char *assignment, OwUnits *units, OwFaults *faults) {
    char left[256];
    const char *equal = strchr(assignment, '=');
    if (equal == NULL || equal == assignment || (size_t)(equal - assignment) >= sizeof left) {
        return refuse(faults, OW_ERROR_VALUE, "--set", "this is not KEY=VALUE",
                      "write for instance --set \"climate.ambient=-10 degC\"");
    }
    memcpy(left, assignment, (size_t)(equal - assignment));
    left[equal - assignment] = '\0';
    trim(left);
    char value[256];
    ow_text_copy(value, sizeof value, equal + 1);
    trim(value);
    OwNames names = {{NULL}, 0};
    const OwSection *hit = NULL;
    const OwField *hit_field = NULL;
    int hits = 0;
    for (const OwSection *section = ow_sections(); section->name != NULL; section++) {
        const size_t length = strlen(section->name);
        if (strncmp(left, section->name, length) == 0 && left[length] == '.') {
            const OwField *field = ow_field_find(section->fields, left + length + 1);
            if (field == NULL) {
                gather(&names, section->fields);
                return unknown_key(left, left + length + 1, &names, faults);
            }
            return store(field, (char *)rig + section->offset, left, value, units, faults);
        }
        const OwField *field = ow_field_find(section->fields, left);
        if (field != NULL) {
            hits++;
            hit = section;
            hit_field = field;
        }
        gather(&names, section->fields);
    }
    // The longest part name that fits, so that "filter 2.bore" is not taken for "filter".
    int part = -1;
    size_t longest = 0;
    for (int i = 0; i < rig->part_count; i++) {
        const size_t length = strlen(rig->parts[i].name);
        if (strncmp(left, rig->parts[i].name, length) == 0 && left[length] == '.' && length > longest) {
            longest = length;
            part = i;
        }
    }
    if (part >= 0) {
        return set_part(&rig->parts[part], left, left + longest + 1, value, units, faults);
    }
    if (hits == 1) {
        return store(hit_field, (char *)rig + hit->offset, left, value, units, faults);
    }
    if (hits > 1) {
        return refuse(faults, OW_ERROR_VALUE, left, "more than one section knows this key",
                      "write SECTION.KEY=VALUE");
    }
    const char *dot = strchr(left, '.');
    if (dot != NULL) {
        char head[OW_NAME_SIZE];
        snprintf(head, sizeof head, "%.*s", (int)(dot - left), left);
        names.count = 0;
        for (const OwSection *section = ow_sections(); section->name != NULL; section++) {
            names.names[names.count++] = section->name;
        }
        for (int i = 0; i < rig->part_count && names.count < sizeof names.names / sizeof names.names[0];
             i++) {
            names.names[names.count++] = rig->parts[i].name;
        }
        const char *near = ow_text_nearest(head, names.names, names.count);
        char remedy[128] = "name a section or a part of the rig file";
        if (near != NULL) {
            snprintf(remedy, sizeof remedy, "did you mean \"%s\"?", near);
        }
        return refuse(faults, OW_ERROR_VALUE, left, "no section or part of that name", remedy);
    }
    return unknown_key(left, left, &names, faults);
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
