// SPDX-License-Identifier: GPL-3.0-or-later
// The oil section: one fluid or several by name, each named, measured or blended.
#include "base/text.h"
#include "oilwright/oil.h"
#include "rig/reader.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static const OwField at_like = {
    "at", OW_FIELD_REAL, OW_Q_TEMPERATURE, 0, 0, 223.15, 573.15, NULL, NULL, false, ""};
static const OwField share_like = {"share", OW_FIELD_REAL, OW_Q_NUMBER, 0,     0, 0.0,
                                   1.0,     NULL,          NULL,        false, ""};

static void read_points(OwReader *reader, const OwTextNode *list, OwOilSpec *spec, const char *fluid) {
    static const OwField is_like = {
        "is", OW_FIELD_REAL, OW_Q_KINEMATIC_VISCOSITY, 0, 0, 0.21e-6, 0.1, NULL, NULL, false, ""};
    static const OwSpecialKey keys[] = {{"at", ""}, {"is", ""}, {"within", ""}, {NULL, NULL}};
    if (!ow_reader_expect(reader, list, OW_NODE_LIST, fluid, "viscosity")) {
        return;
    }
    if (list->count < 1 || list->count > OW_OIL_MAX_POINTS) {
        ow_reader_fault(reader, list, fluid, OW_ERROR_VALUE, OW_FAULT_ERROR,
                        "write [{at: 40 degC, is: 38 mm2/s}]", "1 to %d viscosity points are read",
                        OW_OIL_MAX_POINTS);
        return;
    }
    for (const OwTextNode *n = list->first; n != NULL; n = n->next) {
        if (!ow_reader_expect(reader, n, OW_NODE_MAP, fluid, "a viscosity point")) {
            continue;
        }
        ow_reader_map(reader, n, NULL, 0, keys, NULL, NULL, fluid);
        const OwTextNode *at = ow_node_get(n, "at"), *is = ow_node_get(n, "is");
        if (at == NULL || is == NULL) {
            ow_reader_fault(reader, n, fluid, OW_ERROR_VALUE, OW_FAULT_ERROR,
                            "write {at: 40 degC, is: 38 mm2/s}", "a viscosity point needs at and is");
            continue;
        }
        OwViscosityPoint *point = &spec->points[spec->point_count];
        const OwTextNode *within = ow_node_get(n, "within");
        if (within != NULL &&
            !ow_reader_quantity(reader, within, &share_like, &spec->point_error[spec->point_count], fluid)) {
            continue;
        }
        if (ow_reader_quantity(reader, at, &at_like, &point->temperature_k, fluid) &&
            ow_reader_quantity(reader, is, &is_like, &point->kinematic_m2_s, fluid)) {
            spec->point_count++;
        }
    }
}

static void read_blend(OwReader *reader, const OwTextNode *map, OwOilSpec *spec, const char *fluid) {
    if (!ow_reader_expect(reader, map, OW_NODE_MAP, fluid, "blend")) {
        return;
    }
    if (map->count < 1 || map->count > OW_OIL_MAX_BLEND) {
        ow_reader_fault(reader, map, fluid, OW_ERROR_VALUE, OW_FAULT_ERROR,
                        "write {rapeseed: 70 %, diesel: 30 %}", "a blend has 1 to %d oils", OW_OIL_MAX_BLEND);
        return;
    }
    double sum = 0.0;
    bool is_good = true;
    for (const OwTextNode *n = map->first; n != NULL; n = n->next) {
        if (ow_node_get(map, n->key->text) != n) {
            ow_reader_fault(reader, n->key, fluid, OW_ERROR_VALUE, OW_FAULT_ERROR, "keep one of them",
                            "\"%.60s\" is given twice", n->key->text);
            is_good = false;
            continue;
        }
        if (!ow_reader_name(reader, n->key, "an oil's name", spec->blend_name[spec->blend_count], fluid) ||
            !ow_reader_quantity(reader, n, &share_like, &spec->blend_fraction[spec->blend_count], fluid)) {
            is_good = false;
            continue;
        }
        sum += spec->blend_fraction[spec->blend_count++];
    }
    if (is_good && fabs(sum - 1.0) > 1e-3) {
        ow_reader_fault(reader, map, fluid, OW_ERROR_VALUE, OW_FAULT_ERROR, "let the shares sum to 100 %",
                        "the shares of the blend sum to %.4g %%", 100.0 * sum);
    } else if (is_good && sum > 0.0) {
        for (int i = 0; i < spec->blend_count; i++) {
            spec->blend_fraction[i] /= sum; // 33.3 % three times is meant as a whole
        }
    }
}

/// Fatty acids by code or name and share by mass.
static void read_profile(OwReader *reader, const OwTextNode *map, OwOilSpec *spec, const char *fluid) {
    if (!ow_reader_expect(reader, map, OW_NODE_MAP, fluid, "fatty acids")) {
        return;
    }
    double sum = 0.0;
    bool is_good = true, is_said[OW_ACID_COUNT] = {false};
    for (const OwTextNode *n = map->first; n != NULL; n = n->next) {
        const int acid = ow_oil_acid_find(n->key->text);
        if (acid < 0 || is_said[acid]) {
            ow_reader_fault(reader, n->key, fluid, OW_ERROR_VALUE, OW_FAULT_ERROR,
                            acid < 0 ? "write codes or names: {16:0: 4 %, 18:1: 64 %, linoleic: 22 %}"
                                     : "keep one of them",
                            acid < 0 ? "no fatty acid is known as \"%.60s\"" : "\"%.60s\" is given twice",
                            n->key->text);
            is_good = false;
            continue;
        }
        is_said[acid] = true;
        is_good = ow_reader_quantity(reader, n, &share_like, &spec->profile[acid], fluid) && is_good;
        sum += spec->profile[acid];
    }
    if (is_good && !(sum > 0.8 && sum < 1.02)) {
        ow_reader_fault(reader, map, fluid, OW_ERROR_VALUE, OW_FAULT_ERROR,
                        "let the shares by mass sum to about 100 %", "the fatty acids sum to %.4g %%",
                        100.0 * sum);
    }
}

static void read_cups(OwReader *reader, const OwTextNode *list, OwOilSpec *spec, const char *fluid) {
    static const OwField cup_like = {"cup", OW_FIELD_COUNT, OW_Q_NUMBER, 0, 0, 3, 6, NULL, NULL, false, ""};
    static const OwField takes_like = {"takes", OW_FIELD_REAL, OW_Q_TIME, 0,     0, 1.0,
                                       1000.0,  "s",           NULL,      false, ""};
    static const OwSpecialKey keys[] = {{"cup", ""}, {"takes", ""}, {"at", ""}, {NULL, NULL}};
    if (!ow_reader_expect(reader, list, OW_NODE_LIST, fluid, "cups")) {
        return;
    }
    for (const OwTextNode *n = list->first; n != NULL; n = n->next) {
        double cup = 0.0;
        if (spec->cup_count == OW_OIL_MAX_CUPS) {
            ow_reader_fault(reader, n, fluid, OW_ERROR_VALUE, OW_FAULT_ERROR, "give their mean",
                            "more than %d cup readings", OW_OIL_MAX_CUPS);
            return;
        }
        if (!ow_reader_expect(reader, n, OW_NODE_MAP, fluid, "a cup reading")) {
            continue;
        }
        ow_reader_map(reader, n, NULL, 0, keys, NULL, NULL, fluid);
        const OwTextNode *nozzle = ow_node_get(n, "cup"), *takes = ow_node_get(n, "takes"),
                         *at = ow_node_get(n, "at");
        OwCupReading *reading = &spec->cups[spec->cup_count];
        if (nozzle == NULL || takes == NULL || at == NULL) {
            ow_reader_fault(reader, n, fluid, OW_ERROR_VALUE, OW_FAULT_ERROR,
                            "write {cup: 4, takes: 35 s, at: 20 degC}",
                            "a cup reading needs cup, takes and at");
        } else if (ow_reader_quantity(reader, nozzle, &cup_like, &cup, fluid) &&
                   ow_reader_quantity(reader, takes, &takes_like, &reading->seconds, fluid) &&
                   ow_reader_quantity(reader, at, &at_like, &reading->temperature_k, fluid)) {
            if (cup != (double)(int)cup) {
                ow_reader_fault(reader, nozzle, fluid, OW_ERROR_VALUE, OW_FAULT_ERROR,
                                "give 3, 4, 5 or 6, its nozzle in mm", "ISO 2431 has no such cup");
                continue;
            }
            reading->nozzle_mm = (int)cup;
            spec->cup_count++;
        }
    }
}

static void read_hydrometer(OwReader *reader, const OwTextNode *map, OwOilSpec *spec, const char *fluid) {
    static const OwField reads_like = {"reads", OW_FIELD_REAL, OW_Q_DENSITY, 0,     0, 600.0,
                                       1200.0,  NULL,          NULL,         false, ""};
    static const OwSpecialKey keys[] = {{"reads", ""}, {"at", ""}, {NULL, NULL}};
    if (!ow_reader_expect(reader, map, OW_NODE_MAP, fluid, "hydrometer")) {
        return;
    }
    ow_reader_map(reader, map, NULL, 0, keys, NULL, NULL, fluid);
    const OwTextNode *reads = ow_node_get(map, "reads"), *at = ow_node_get(map, "at");
    if (reads == NULL || at == NULL) {
        ow_reader_fault(reader, map, fluid, OW_ERROR_VALUE, OW_FAULT_ERROR,
                        "write {reads: 905 kg/m3, at: 30 degC}", "a hydrometer reading needs reads and at");
        return;
    }
    (void)(ow_reader_quantity(reader, reads, &reads_like, &spec->hydrometer_kg_m3, fluid) &&
           ow_reader_quantity(reader, at, &at_like, &spec->hydrometer_k, fluid));
}

/// "used: yes" when nothing else is known, "used: 1.3" when the thickening is.
static void read_used(OwReader *reader, const OwTextNode *node, OwOilSpec *spec, const char *fluid) {
    static const OwField like = {"used", OW_FIELD_REAL, OW_Q_NUMBER, 0, 0, 0.5, 10.0, NULL, NULL, false, ""};
    if (!ow_reader_expect(reader, node, OW_NODE_SCALAR, fluid, "used")) {
        return;
    }
    if (strcmp(node->text, "yes") == 0 || strcmp(node->text, "no") == 0) {
        spec->is_used = node->text[0] == 'y';
    } else {
        (void)ow_reader_quantity(reader, node, &like, &spec->used_factor, fluid);
    }
}

/// Asks the oil module whether the description makes a fluid, and gives its faults their place.
static void try_fluid(OwReader *reader, const OwTextNode *at, const OwOilSpec *spec, const char *fluid) {
    OwFluid *made = malloc(sizeof *made);
    if (made == NULL) {
        reader->is_out_of_memory = true;
        return;
    }
    OwFaults inner = {0};
    const OwStatus status = ow_oil_make(spec, made, &inner);
    for (size_t i = 0; i < inner.count; i++) {
        ow_reader_fault(reader, at, fluid, inner.items[i].status, inner.items[i].severity,
                        inner.items[i].remedy, "%s", inner.items[i].message);
    }
    if (status == OW_ERROR_MEMORY || inner.errors > inner.count) { // a fault that found no room
        reader->is_out_of_memory = true;
    } else if (status != OW_OK && inner.errors == 0) {
        ow_reader_fault(reader, at, fluid, status, OW_FAULT_ERROR, NULL, "%s", ow_status_text(status));
    }
    ow_faults_clear(&inner);
    free(made);
}

static void read_fluid(OwReader *reader, const OwTextNode *node, const char *name) {
    OwRig *rig = reader->rig;
    OwOilSpec *spec = &rig->fluid_spec[rig->fluid_count];
    const size_t before = reader->faults->errors;
    memset(spec, 0, sizeof *spec);
    (void)ow_text_copy(rig->fluid_name[rig->fluid_count], OW_NAME_SIZE, name);
    rig->fluid_count++;
    if (node->type == OW_NODE_SCALAR) {
        (void)ow_reader_name(reader, node, "the oil's name", spec->name, name);
    } else if (ow_reader_expect(reader, node, OW_NODE_MAP, name, "a fluid")) {
        static const struct {
            const char *key;
            void (*read)(OwReader *, const OwTextNode *, OwOilSpec *, const char *);
        } readers[] = {{"viscosity", read_points},      {"blend", read_blend},
                       {"fatty acids", read_profile},   {"cups", read_cups},
                       {"hydrometer", read_hydrometer}, {"used", read_used}};
        const OwFieldTable fields = ow_fluid_fields();
        ow_reader_map(reader, node, &fields, 1, ow_fluid_special(), NULL, spec, name);
        const OwTextNode *kind = ow_node_get(node, "kind");
        if (kind != NULL) {
            (void)ow_reader_name(reader, kind, "kind", spec->name, name);
        } else {
            (void)ow_text_copy(spec->name, sizeof spec->name, name);
        }
        for (size_t i = 0; i < sizeof readers / sizeof readers[0]; i++) {
            const OwTextNode *child = ow_node_get(node, readers[i].key);
            if (child != NULL) {
                readers[i].read(reader, child, spec, name);
            }
        }
    }
    if (before == reader->faults->errors) {
        try_fluid(reader, node, spec, name);
    }
}

/// Whether a map describes one fluid, rather than naming fluids. Words that might name a fluid ("used") do
/// not decide.
static bool is_description(const OwTextNode *map) {
    static const char *const telling[] = {"kind", "viscosity",  "blend",   "fatty acids",
                                          "cups", "hydrometer", "density", "cloud point"};
    for (size_t i = 0; i < sizeof telling / sizeof telling[0]; i++) {
        if (ow_node_get(map, telling[i]) != NULL) {
            return true;
        }
    }
    return false;
}

void ow_read_oil(OwReader *reader, const OwTextNode *node) {
    OwRig *rig = reader->rig;
    rig->fluid_count = 0;
    if (node->type == OW_NODE_SCALAR || (node->type == OW_NODE_MAP && is_description(node))) {
        read_fluid(reader, node, "oil");
        return;
    }
    if (!ow_reader_expect(reader, node, OW_NODE_MAP, NULL, "oil")) {
        return;
    }
    if (node->count < 1 || node->count > OW_MAX_FLUIDS) {
        ow_reader_fault(reader, node, NULL, OW_ERROR_VALUE, OW_FAULT_ERROR, "write for example oil: rapeseed",
                        "a rig has 1 to %d fluids", OW_MAX_FLUIDS);
        return;
    }
    for (const OwTextNode *n = node->first; n != NULL; n = n->next) {
        char name[OW_NAME_SIZE];
        if (ow_node_get(node, n->key->text) != n) {
            ow_reader_fault(reader, n->key, NULL, OW_ERROR_VALUE, OW_FAULT_ERROR, "keep one of them",
                            "\"%.60s\" is given twice", n->key->text);
        } else if (ow_reader_name(reader, n->key, "a fluid's name", name, NULL)) {
            read_fluid(reader, n, name);
        }
    }
}
