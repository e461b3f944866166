// SPDX-License-Identifier: GPL-3.0-or-later
// A yard's life: create with defaults, find, check, destroy.
#include "base/text.h"
#include "yard/plan_tables.h"

#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

OwStatus ow_yard_create(OwYard **yard) {
    if (yard == NULL) {
        return OW_ERROR_USE;
    }
    *yard = calloc(1, sizeof **yard);
    if (*yard == NULL) {
        return OW_ERROR_MEMORY;
    }
    ow_yard_plan_default(*yard);
    (void)ow_text_copy((*yard)->file, sizeof(*yard)->file, "yard");
    (void)ow_text_copy((*yard)->oil.name, sizeof(*yard)->oil.name, "rapeseed");
    (*yard)->oil.is_used = true;
    return OW_OK;
}

void ow_yard_destroy(OwYard **yard) {
    if (yard != NULL) {
        free(*yard);
        *yard = NULL;
    }
}

int ow_yard_find_vessel(const OwYard *yard, const char *name) {
    for (int i = 0; i < yard->vessel_count; i++) {
        if (strcmp(yard->vessels[i].name, name) == 0) {
            return i;
        }
    }
    return -1;
}

int ow_yard_find_step(const OwYard *yard, const char *name) {
    for (int i = 0; i < yard->step_count; i++) {
        if (strcmp(yard->steps[i].name, name) == 0) {
            return i;
        }
    }
    return -1;
}

typedef struct Check {
    const OwYard *yard;
    OwFaults *faults;
    OwStatus first;
} Check;

static void __attribute__((format(printf, 6, 7)))
fault(Check *check, int line, int column, const char *part, const char *remedy, const char *format, ...) {
    OwFault made = {.status = OW_ERROR_VALUE, .severity = OW_FAULT_ERROR, .line = line, .column = column};
    va_list arguments;
    va_start(arguments, format);
    (void)vsnprintf(made.message, sizeof made.message, format, arguments);
    va_end(arguments);
    (void)ow_text_copy(made.file, sizeof made.file, check->yard->file);
    (void)ow_text_copy(made.part, sizeof made.part, part);
    (void)ow_text_copy(made.remedy, sizeof made.remedy, remedy);
    const OwStatus status = ow_faults_add(check->faults, &made) == OW_OK ? OW_ERROR_VALUE : OW_ERROR_MEMORY;
    check->first = check->first == OW_OK || status == OW_ERROR_MEMORY ? status : check->first;
}

static void ranges(Check *check, OwFieldTable table, const void *base, const char *part, int line,
                   int column) {
    for (int i = 0; i < table.count; i++) {
        const OwField *field = &table.rows[i];
        if (!ow_field_is_legal(field, ow_field_real(field, base))) {
            char low[64], high[64], remedy[160];
            ow_field_write(field, field->low, OW_DISPLAY_METRIC, low, sizeof low);
            ow_field_write(field, field->high, OW_DISPLAY_METRIC, high, sizeof high);
            (void)snprintf(remedy, sizeof remedy, "give %s to %s", low, high);
            fault(check, line, column, part, remedy, "%s: the value is out of range", field->key);
        }
    }
}

static bool is_vessel(const OwYard *yard, int vessel) {
    return vessel >= 0 && vessel < yard->vessel_count;
}

static void check_oil(Check *check, const OwOilSpec *spec, int line, int column, const char *part) {
    OwFluid *fluid = malloc(sizeof *fluid);
    OwFaults inner = {0};
    if (fluid == NULL) {
        check->first = OW_ERROR_MEMORY;
        return;
    }
    const OwStatus status = ow_oil_make(spec, fluid, &inner);
    for (size_t i = 0; i < inner.count; i++) {
        if (inner.items[i].severity == OW_FAULT_ERROR) {
            fault(check, line, column, part, inner.items[i].remedy, "%s", inner.items[i].message);
        }
    }
    if (status == OW_ERROR_MEMORY || inner.errors > inner.count) {
        check->first = OW_ERROR_MEMORY;
    } else if (status != OW_OK && inner.errors == 0) {
        fault(check, line, column, part, "", "%s", ow_status_text(status));
    }
    ow_faults_clear(&inner);
    free(fluid);
}

static void check_step(Check *check, const OwPlanStep *step) {
    const OwYard *yard = check->yard;
    const int line = step->line, column = step->column;
    if ((unsigned)step->kind >= OW_PLAN_KIND_COUNT) {
        fault(check, line, column, step->name, "use a known kind of step", "the step's kind is not known");
        return;
    }
    ranges(check, ow_yard_plan_words()[step->kind].fields, step, step->name, line, column);
    if (!is_vessel(yard, step->vessel) || !is_vessel(yard, step->into)) {
        fault(check, line, column, step->name, "write in: and a vessel's name",
              "it is not said in which vessel this is done");
        return;
    }
    const bool is_warmed =
        step->kind == OW_PLAN_HEAT || (step->kind == OW_PLAN_DRY && step->as.dry.at_k > 0.0);
    if (is_warmed && !(yard->vessels[step->vessel].heater_w > 0.0)) {
        char remedy[160];
        (void)snprintf(remedy, sizeof remedy, "give \"%.60s\" a heater, for example heater: 2 kW",
                       yard->vessels[step->vessel].name);
        fault(check, line, column, step->name, remedy, "the vessel has no heater");
    }
    if (step->kind == OW_PLAN_CENTRIFUGE && !(step->as.centrifuge.outer_m > step->as.centrifuge.inner_m)) {
        fault(check, line, column, step->name, "let the outer radius be larger than the inner",
              "the bowl has no liquid ring");
    }
    if (step->kind == OW_PLAN_BLEND) {
        OwOilSpec spec = {0};
        (void)ow_text_copy(spec.name, sizeof spec.name, step->as.blend.with);
        check_oil(check, &spec, line, column, step->name);
    }
}

static void check_names(Check *check) {
    const OwYard *yard = check->yard;
    for (int i = 0; i < yard->vessel_count; i++) {
        if (ow_yard_find_vessel(yard, yard->vessels[i].name) < i) {
            fault(check, yard->vessels[i].line, yard->vessels[i].column, yard->vessels[i].name,
                  "give each vessel a name of its own", "two vessels have this name");
        }
    }
    for (int i = 0; i < yard->step_count; i++) {
        if (ow_yard_find_step(yard, yard->steps[i].name) < i) {
            fault(check, yard->steps[i].line, yard->steps[i].column, yard->steps[i].name,
                  "give each step a name of its own", "two steps have this name");
        }
        if (ow_yard_find_vessel(yard, yard->steps[i].name) >= 0) {
            fault(check, yard->steps[i].line, yard->steps[i].column, yard->steps[i].name,
                  "name one of them otherwise", "a step and a vessel have this name");
        }
    }
}

OwStatus ow_yard_check(const OwYard *yard, OwFaults *faults) {
    if (yard == NULL || faults == NULL) {
        return OW_ERROR_USE;
    }
    Check check = {.yard = yard, .faults = faults};
    if (yard->vessel_count < 1 || yard->vessel_count > OW_YARD_MAX_VESSELS || yard->step_count < 1 ||
        yard->step_count > OW_YARD_MAX_STEPS) {
        fault(&check, 0, 0, "", "give it vessels and steps", "a yard has 1 to %d vessels and 1 to %d steps",
              OW_YARD_MAX_VESSELS, OW_YARD_MAX_STEPS);
        return check.first;
    }
    for (const OwSection *section = ow_yard_plan_sections(); section->name != NULL; section++) {
        ranges(&check, section->fields, (const char *)yard + section->offset, section->name, 0, 0);
    }
    ranges(&check, ow_fluid_fields(), &yard->oil, "oil", 0, 0);
    for (int i = 0; i < yard->vessel_count; i++) {
        ranges(&check, ow_vessel_fields(), &yard->vessels[i], yard->vessels[i].name, yard->vessels[i].line,
               yard->vessels[i].column);
    }
    check_oil(&check, &yard->oil, 0, 0, "oil");
    for (int i = 0; i < yard->step_count; i++) {
        check_step(&check, &yard->steps[i]);
    }
    check_names(&check);
    return check.first;
}
