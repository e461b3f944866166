// SPDX-License-Identifier: GPL-3.0-or-later
// The oil section: one fluid or several by name, each named, measured or blended.
#include "base/text.h"
#include "oilwright/oil.h"
#include "rig/reader.h"

#include <math.h>
#include <stddef.h>
#include <stdlib.h>
#include <string.h>

static const OwField fluid_rows[] = {
    {"density", OW_FIELD_REAL, OW_Q_DENSITY, offsetof(OwOilSpec, density_15_kg_m3), 0, 600.0, 1200.0, NULL,
     NULL, false, ""},
    {"cloud point", OW_FIELD_REAL, OW_Q_TEMPERATURE, offsetof(OwOilSpec, cloud_point_k), 0, 200.0, 350.0,
     NULL, NULL, false, ""},
    {"used", OW_FIELD_REAL, OW_Q_NUMBER, offsetof(OwOilSpec, used_factor), 0, 0.5, 10.0, NULL, NULL, false,
     ""},
};
static const OwSpecialKey fluid_special[] = {{"kind", ""}, {"viscosity", ""}, {"blend", ""}, {NULL, NULL}};

static void read_points(OwReader *reader, const OwNode *list, OwOilSpec *spec, const char *fluid) {
    static const OwField at_like = {
        "at", OW_FIELD_REAL, OW_Q_TEMPERATURE, 0, 0, 223.15, 573.15, NULL, NULL, false, ""};
    static const OwField is_like = {
        "is", OW_FIELD_REAL, OW_Q_KINEMATIC_VISCOSITY, 0, 0, 0.21e-6, 0.1, NULL, NULL, false, ""};
    static const OwSpecialKey keys[] = {{"at", ""}, {"is", ""}, {NULL, NULL}};
    if (!ow_reader_expect(reader, list, OW_NODE_LIST, fluid, "viscosity")) {
        return;
    }
    if (list->count < 1 || list->count > OW_OIL_MAX_POINTS) {
        ow_reader_fault(reader, list, fluid, OW_ERROR_VALUE, OW_FAULT_ERROR,
                        "write [{at: 40 degC, is: 38 mm2/s}]", "1 to %d viscosity points are read",
                        OW_OIL_MAX_POINTS);
        return;
    }
    for (const OwNode *n = list->first; n != NULL; n = n->next) {
        if (!ow_reader_expect(reader, n, OW_NODE_MAP, fluid, "a viscosity point")) {
            continue;
        }
        ow_reader_map(reader, n, NULL, 0, keys, NULL, NULL, fluid);
        const OwNode *at = ow_node_get(n, "at"), *is = ow_node_get(n, "is");
        if (at == NULL || is == NULL) {
            ow_reader_fault(reader, n, fluid, OW_ERROR_VALUE, OW_FAULT_ERROR,
                            "write {at: 40 degC, is: 38 mm2/s}", "a viscosity point needs at and is");
            continue;
        }
        OwViscosityPoint *point = &spec->points[spec->point_count];
        if (ow_reader_quantity(reader, at, &at_like, &point->temperature_k, fluid) &&
            ow_reader_quantity(reader, is, &is_like, &point->kinematic_m2_s, fluid)) {
            spec->point_count++;
        }
    }
}

static void read_blend(OwReader *reader, const OwNode *map, OwOilSpec *spec, const char *fluid) {
    static const OwField like = {"share", OW_FIELD_REAL, OW_Q_NUMBER, 0, 0, 0.0, 1.0, NULL, NULL, false, ""};
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
    for (const OwNode *n = map->first; n != NULL; n = n->next) {
        if (ow_node_get(map, n->key->text) != n) {
            ow_reader_fault(reader, n->key, fluid, OW_ERROR_VALUE, OW_FAULT_ERROR, "keep one of them",
                            "\"%.60s\" is given twice", n->key->text);
            is_good = false;
            continue;
        }
        if (!ow_reader_name(reader, n->key, "an oil's name", spec->blend_name[spec->blend_count], fluid) ||
            !ow_reader_quantity(reader, n, &like, &spec->blend_fraction[spec->blend_count], fluid)) {
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

/// Asks the oil module whether the description makes a fluid, and gives its faults their place.
static void try_fluid(OwReader *reader, const OwNode *at, const OwOilSpec *spec, const char *fluid) {
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

static void read_fluid(OwReader *reader, const OwNode *node, const char *name) {
    OwRig *rig = reader->rig;
    OwOilSpec *spec = &rig->fluid_spec[rig->fluid_count];
    const size_t before = reader->faults->errors;
    memset(spec, 0, sizeof *spec);
    (void)ow_text_copy(rig->fluid_name[rig->fluid_count], OW_NAME_SIZE, name);
    rig->fluid_count++;
    if (node->type == OW_NODE_SCALAR) {
        (void)ow_reader_name(reader, node, "the oil's name", spec->name, name);
    } else if (ow_reader_expect(reader, node, OW_NODE_MAP, name, "a fluid")) {
        const OwFieldTable fields = {fluid_rows, 3};
        ow_reader_map(reader, node, &fields, 1, fluid_special, NULL, spec, name);
        const OwNode *kind = ow_node_get(node, "kind"), *points = ow_node_get(node, "viscosity"),
                     *blend = ow_node_get(node, "blend");
        if (kind != NULL) {
            (void)ow_reader_name(reader, kind, "kind", spec->name, name);
        } else {
            (void)ow_text_copy(spec->name, sizeof spec->name, name);
        }
        if (points != NULL) {
            read_points(reader, points, spec, name);
        }
        if (blend != NULL) {
            read_blend(reader, blend, spec, name);
        }
    }
    if (before == reader->faults->errors) {
        try_fluid(reader, node, spec, name);
    }
}

/// Whether a map describes one fluid, rather than naming fluids.
static bool is_description(const OwNode *map) {
    for (const OwNode *n = map->first; n != NULL; n = n->next) {
        bool is_known = false;
        for (int i = 0; i < 3; i++) {
            is_known = is_known || strcmp(n->key->text, fluid_rows[i].key) == 0 ||
                       strcmp(n->key->text, fluid_special[i].key) == 0;
        }
        if (is_known) {
            return true;
        }
    }
    return false;
}

void ow_read_oil(OwReader *reader, const OwNode *node) {
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
    for (const OwNode *n = node->first; n != NULL; n = n->next) {
        char name[OW_NAME_SIZE];
        if (ow_node_get(node, n->key->text) != n) {
            ow_reader_fault(reader, n->key, NULL, OW_ERROR_VALUE, OW_FAULT_ERROR, "keep one of them",
                            "\"%.60s\" is given twice", n->key->text);
        } else if (ow_reader_name(reader, n->key, "a fluid's name", name, NULL)) {
            read_fluid(reader, n, name);
        }
    }
}
