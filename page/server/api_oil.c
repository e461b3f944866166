// SPDX-License-Identifier: GPL-3.0-or-later
// POST /api/oil: curves for the charts, and what `oilwright oil --json` says.
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "oil_cli.h"
#include "page_impl.h"

#define COLUMNS 7

/// The description from a text as for --oil.
static OwStatus read_spec(OwPage *page, const char *text, OwOilSpec *spec, OwFaults *faults) {
    OwRig *rig = NULL;
    OwUnits *units = ow_page_take_units(page);
    OwStatus status = units != NULL ? ow_rig_create(&rig) : OW_ERROR_MEMORY;
    if (status == OW_OK) {
        rig->fluid_count = 1;
        (void)snprintf(rig->fluid_name[0], sizeof rig->fluid_name[0], "oil");
        status = ow_cli_oil_override(rig, text, units, faults);
        *spec = rig->fluid_spec[0];
    }
    ow_rig_destroy(&rig);
    ow_page_give_units(page, units);
    return status;
}

static json_t *number(double value) {
    return isfinite(value) ? json_real(value) : json_null();
}

static json_t *known(double value) {
    return value > 0.0 ? number(value) : json_null();
}

/// Where the viscosity falls to a limit, by halving; null when it does not within the curve.
static json_t *reach_json(const OwFluid *fluid, double limit) {
    double low = OW_CURVE_LOW_K, high = OW_CURVE_LOW_K + OW_CURVE_STEP_K * (OW_CURVE_POINTS - 1);
    if (ow_curve_value(&fluid->kinematic_m2_s, high) > limit ||
        ow_curve_value(&fluid->kinematic_m2_s, low) < limit) {
        return json_null();
    }
    for (int i = 0; i < 40; i++) {
        const double middle = 0.5 * (low + high);
        if (ow_curve_value(&fluid->kinematic_m2_s, middle) > limit) {
            low = middle;
        } else {
            high = middle;
        }
    }
    return json_real(high);
}

static json_t *oil_json(const OwOilAnswer *answer) {
    static const char *const keys[COLUMNS] = {"temperature_k", "kinematic_m2_s",      "dynamic_pa_s",
                                              "density_kg_m3", "specific_heat_j_kgk", "conductivity_w_mk",
                                              "wax_share"};
    static const double limits[] = {40e-6, 20e-6,
                                    12e-6}; // the rig file's defaults for start and running, and a thin one
    const OwOilStudy *study = answer->shown;
    const OwFluid *fluid = &study->fluid;
    json_t *columns[COLUMNS], *reach = json_array();
    for (int c = 0; c < COLUMNS; c++) {
        columns[c] = json_array();
    }
    for (int i = 0; i < answer->call->temperature_count; i++) {
        OwOilState s;
        const double t = answer->call->temperature_k[i];
        ow_oil_state(fluid, t, &s);
        const double row[COLUMNS] = {t,
                                     s.kinematic_m2_s,
                                     s.dynamic_pa_s,
                                     s.density_kg_m3,
                                     s.specific_heat_j_kgk,
                                     s.conductivity_w_mk,
                                     s.wax_share};
        for (int c = 0; c < COLUMNS; c++) {
            (void)json_array_append_new(columns[c], number(row[c]));
        }
    }
    for (size_t i = 0; i < sizeof limits / sizeof limits[0]; i++) {
        (void)json_array_append_new(reach, json_pack("{s:f, s:o}", "limit_m2_s", limits[i], "temperature_k",
                                                     reach_json(fluid, limits[i])));
    }
    json_t *o = json_pack("{s:s, s:s, s:o, s:o, s:o, s:o, s:o}", "name", fluid->name, "trust",
                          ow_trust_text(study->kinematic_40.trust), "cloud_point_k",
                          known(fluid->cloud_point_k), "flash_point_k", known(fluid->flash_point_k),
                          "heating_value_j_kg", known(fluid->net_heat_j_kg), "density_15_kg_m3",
                          known(study->density_15.is_known ? study->density_15.value : 0.0), "reach", reach);
    for (int c = 0; c < COLUMNS; c++) {
        (void)json_object_set_new(o, keys[c], columns[c]);
    }
    return o;
}

/// The object of the command line.
static json_t *study_json(const OwOilAnswer *answer) {
    char *text = NULL;
    size_t size = 0;
    FILE *file = open_memstream(&text, &size);
    if (file == NULL) {
        return json_null();
    }
    const OwStatus status = ow_oil_write_json(file, answer);
    json_t *o = fclose(file) == 0 && status == OW_OK ? json_loadb(text, size, 0, NULL) : NULL;
    free(text);
    return o != NULL ? o : json_null();
}

static bool read_temperatures(const json_t *list, OwOilCall *oil) {
    if (list == NULL || json_is_null(list)) {
        for (int i = 0; i < 48; i++) {
            oil->temperature_k[oil->temperature_count++] = 243.15 + 180.0 * i / 47.0;
        }
        return true;
    }
    if (!json_is_array(list) || json_array_size(list) > OW_OIL_CALL_TEMPERATURES ||
        json_array_size(list) == 0) {
        return false;
    }
    for (size_t i = 0; i < json_array_size(list); i++) {
        const double t = json_number_value(json_array_get(list, i));
        if (!(t >= OW_CURVE_LOW_K && t <= 454.15)) {
            return false;
        }
        oil->temperature_k[oil->temperature_count++] = t;
    }
    return true;
}

void ow_api_oil(OwCall *call) {
    const char *text = ow_call_read_body(call) ? ow_call_text(call, "oil") : NULL;
    if (text == NULL) {
        return;
    }
    OwOilCall *oil = calloc(1, sizeof *oil);
    OwFaults faults = {0};
    if (oil == NULL) {
        ow_call_out_of_memory(call);
        return;
    }
    oil->limit_m2_s = 20e-6;
    if (!read_temperatures(json_object_get(call->body, "temperatures_k"), oil)) {
        ow_call_refuse(call, 400, "bad_request", "1 to 64 temperatures from 223.15 to 454.15 K",
                       "\"temperatures_k\" cannot be used");
        free(oil);
        return;
    }
    OwOilAnswer answer = {0};
    OwStatus status = read_spec(call->page, text, &oil->spec, &faults);
    oil->compares[OW_STANDARD_DIN_51605] = oil->spec.blend_count == 0;
    if (status == OW_OK) {
        status = ow_oil_answer_make(oil, &answer, &faults);
    }
    if (status == OW_ERROR_MEMORY) {
        ow_call_out_of_memory(call);
    } else {
        json_t *o = json_pack("{s:o}", "faults", ow_page_faults(&faults, "", 0));
        if (status == OW_OK) {
            (void)json_object_set_new(o, "oil", oil_json(&answer));
            (void)json_object_set_new(o, "study", study_json(&answer));
        }
        ow_call_answer(call, 200, o);
    }
    ow_oil_answer_clear(&answer);
    ow_faults_clear(&faults);
    free(oil);
}
