// SPDX-License-Identifier: GPL-3.0-or-later
// JSON (SI units, unknown is null) and CSV of `oilwright oil`.
#include <jansson.h>
#include <math.h>

#include "oil_cli.h"

static json_t *number(double value) {
    return isfinite(value) ? json_real(value) : json_null();
}

static json_t *value_of(const OwOilValue *value, double scale, double offset) {
    if (!value->is_known) {
        return json_null();
    }
    return json_pack("{s:o, s:o, s:o, s:s, s:s}", "value", number(value->value * scale + offset), "low",
                     number(value->low * scale + offset), "high", number(value->high * scale + offset),
                     "trust", ow_trust_text(value->trust), "source", value->source ? value->source : "");
}

static json_t *values(const OwOilStudy *s) {
    return json_pack(
        "{s:o, s:o, s:o, s:o, s:o, s:o, s:o, s:o, s:o, s:o, s:o, s:o, s:o, s:o, s:o, s:o, s:o, s:o, s:o}",
        "kinematic_40_m2_s", value_of(&s->kinematic_40, 1.0, 0.0), "density_15_kg_m3",
        value_of(&s->density_15, 1.0, 0.0), "net_heat_j_kg", value_of(&s->net_heat, 1.0, 0.0),
        "gross_heat_j_kg", value_of(&s->gross_heat, 1.0, 0.0), "cetane", value_of(&s->cetane, 1.0, 0.0),
        "iodine_g_100g", value_of(&s->iodine, 1.0, 0.0), "saponification_mg_g",
        value_of(&s->saponification, 1.0, 0.0), "cloud_point_k", value_of(&s->cloud, 1.0, OW_ZERO_CELSIUS_K),
        "flash_point_k", value_of(&s->flash, 1.0, OW_ZERO_CELSIUS_K), "acid_mg_g",
        value_of(&s->acid, 1.0, 0.0), "water_share", value_of(&s->water, 1.0, 0.0), "solids_share",
        value_of(&s->solids, 1.0, 0.0), "polar_share", value_of(&s->polar, 1.0, 0.0), "thickening",
        value_of(&s->thickening, 1.0, 0.0), "oxidation_s", value_of(&s->oxidation, 1.0, 0.0), "sulphur_share",
        value_of(&s->sulphur, 1.0, 0.0), "phosphorus_share", value_of(&s->phosphorus, 1.0, 0.0),
        "calcium_share", value_of(&s->calcium, 1.0, 0.0), "magnesium_share",
        value_of(&s->magnesium, 1.0, 0.0));
}

static json_t *rows(const OwOilAnswer *a) {
    json_t *array = json_array();
    for (int i = 0; i < a->call->temperature_count; ++i) {
        const double t = a->call->temperature_k[i];
        OwOilState s;
        ow_oil_state(&a->shown->fluid, t, &s);
        const OwOilValue v = ow_oil_study_viscosity(a->shown, t);
        const double gel = a->shown->fluid.wax.gel_share;
        const bool pours = !(gel > 0.0 && s.wax_share >= gel);
        json_array_append_new(
            array, json_pack("{s:o, s:b, s:b, s:o, s:o, s:o, s:o, s:o, s:o, s:o, s:o, s:o, s:o}",
                             "temperature_k", number(t), "is_valid", (int)s.is_valid, "pours", (int)pours,
                             "kinematic_m2_s", number(v.value), "kinematic_low_m2_s", number(v.low),
                             "kinematic_high_m2_s", number(v.high), "dynamic_pa_s", number(s.dynamic_pa_s),
                             "density_kg_m3", number(s.density_kg_m3), "specific_heat_j_kgk",
                             number(s.specific_heat_j_kgk), "conductivity_w_mk", number(s.conductivity_w_mk),
                             "surface_tension_n_m", number(s.surface_tension_n_m), "air_floor_pa",
                             number(s.air_floor_pa), "wax_share", number(s.wax_share)));
    }
    return array;
}

static json_t *readings(const OwOilStudy *s) {
    json_t *array = json_array();
    for (int i = 0; i < s->reading_count; ++i) {
        json_array_append_new(array, json_pack("{s:o, s:o, s:o, s:o}", "temperature_k",
                                               number(s->reading[i].temperature_k), "kinematic_m2_s",
                                               number(s->reading[i].kinematic_m2_s), "residual",
                                               number(s->residual[i]), "weight", number(s->weight[i])));
    }
    return array;
}

static json_t *standards(const OwOilAnswer *a) {
    json_t *array = json_array();
    for (int k = 0; k < OW_STANDARD_COUNT; ++k) {
        if (!a->call->compares[k]) {
            continue;
        }
        OwStandardLine lines[OW_STANDARD_LINES];
        const int count = ow_oil_compare(a->shown, (OwStandard)k, lines);
        json_t *list = json_array();
        for (int i = 0; i < count; ++i) {
            const OwStandardLine *l = &lines[i];
            json_array_append_new(
                list, json_pack("{s:s, s:s, s:s, s:o, s:o, s:o, s:s, s:o, s:s}", "property", l->property,
                                "unit", l->unit, "method", l->method, "minimum",
                                l->has_minimum ? number(l->minimum) : json_null(), "maximum",
                                l->has_maximum ? number(l->maximum) : json_null(), "value",
                                value_of(&l->value, 1.0, 0.0), "verdict", ow_verdict_text(l->verdict),
                                "margin", l->value.is_known ? number(l->margin) : json_null(), "consequence",
                                l->consequence));
        }
        json_array_append_new(array,
                              json_pack("{s:s, s:s, s:o}", "standard", ow_standard_name((OwStandard)k),
                                        "caveat", ow_standard_caveat((OwStandard)k), "properties", list));
    }
    return array;
}

static json_t *dilutions(const OwOilAnswer *a) {
    json_t *array = json_array();
    if (a->call->target_m2_s > 0.0 || a->call->target_cloud_k > 0.0) {
        for (int i = 0; i < (a->call->diluent ? 1 : OW_OIL_DILUENTS); ++i) {
            const char *name = a->call->diluent ? a->call->diluent : ow_oil_diluents[i];
            OwDilution d;
            if (ow_oil_dilution(a, name, &d)) {
                json_array_append_new(
                    array,
                    json_pack("{s:s, s:b, s:o, s:o, s:o, s:o, s:s}", "diluent", name, "is_possible",
                              (int)d.is_possible, "share", d.is_possible ? number(d.share) : json_null(),
                              "share_low", d.is_possible ? number(d.share_low) : json_null(), "share_high",
                              d.is_possible ? number(d.share_high) : json_null(), "flash_point_k",
                              d.flash_point_k > 0.0 ? number(d.flash_point_k) : json_null(), "reason",
                              d.reason));
            }
        }
    }
    return array;
}

static json_t *spray(const OwOilAnswer *a) {
    OwSpray s;
    if (!(a->call->spray_k > 0.0) ||
        ow_oil_spray(&a->shown->fluid, a->diesel, a->call->spray_k, 30e6, 0.25e-3, 20.0, &s) != OW_OK) {
        return json_null();
    }
    return json_pack("{s:s, s:o, s:o, s:o, s:o, s:o, s:o, s:o}", "label", "indicator", "elkotb_m",
                     number(s.elkotb_m), "elkotb_ratio", number(s.elkotb_ratio), "hiroyasu_m",
                     number(s.hiroyasu_m), "hiroyasu_ratio", number(s.hiroyasu_ratio), "energy_j_l",
                     number(s.energy_j_l), "energy_ratio", number(s.energy_ratio), "fuel_use_ratio",
                     number(s.fuel_use_ratio));
}

static json_t *notes(const OwOilAnswer *a) {
    json_t *array = json_array();
    for (int k = 0; k < (a->shown == a->oil ? 1 : 2); ++k) {
        const OwFaults *faults = k ? &a->shown->notes : &a->oil->notes;
        for (size_t i = 0; i < faults->count; ++i) {
            json_array_append_new(array, json_string(faults->items[i].message));
        }
    }
    return array;
}

static const double usual_k[] = {273.15, 293.15, 313.15, 353.15};

/// Viscosity of the blend's liquids by each rule.
static json_t *rules(const OwOilAnswer *a) {
    json_t *array = json_array();
    for (size_t i = 0; a->part_count > 1 && i < sizeof usual_k / sizeof usual_k[0]; ++i) {
        double v[OW_OIL_MAX_BLEND], rho[OW_OIL_MAX_BLEND];
        for (int k = 0; k < a->part_count; ++k) {
            const OwFluid *f = &a->parts[k];
            v[k] = ow_curve_value(&f->kinematic_m2_s, usual_k[i]) /
                   ow_wax_thickening(&f->wax, ow_curve_value(&f->wax_share, usual_k[i]));
            rho[k] = ow_curve_value(&f->density_kg_m3, usual_k[i]);
        }
        OwBlendRules r;
        if (ow_oil_blend_rules(v, rho, a->call->blend.blend_fraction, a->part_count, &r) == OW_OK) {
            json_array_append_new(array, json_pack("{s:o, s:o, s:o, s:o, s:o}", "temperature_k",
                                                   number(usual_k[i]), "arrhenius_m2_s", number(r.arrhenius),
                                                   "refutas_m2_s", number(r.refutas), "kendall_monroe_m2_s",
                                                   number(r.kendall_monroe), "d7152_m2_s", number(r.wright)));
        }
    }
    return array;
}

/// Viscosity of the fresh oil by each profile model.
static json_t *models(const OwOilAnswer *a) {
    json_t *array = json_array();
    for (size_t i = 0; a->oil->has_composition && i < sizeof usual_k / sizeof usual_k[0]; ++i) {
        const OwComposition *c = &a->oil->composition;
        json_array_append_new(
            array,
            json_pack("{s:o, s:o, s:o, s:o}", "temperature_k", number(usual_k[i]), "acids_m2_s",
                      number(ow_oil_profile_viscosity(c, OW_PROFILE_ACIDS, usual_k[i])), "numbers_m2_s",
                      number(ow_oil_profile_viscosity(c, OW_PROFILE_NUMBERS, usual_k[i])), "walther_m2_s",
                      number(ow_oil_profile_viscosity(c, OW_PROFILE_WALTHER, usual_k[i]))));
    }
    return array;
}

OwStatus ow_oil_write_json(FILE *file, const OwOilAnswer *a) {
    json_t *root = json_pack("{s:s, s:i, s:s, s:o, s:o, s:o, s:o, s:o, s:o, s:o, s:o, s:o}", "format",
                             "oilwright oil", "format_version", 1, "name", a->shown->fluid.name, "values",
                             values(a->shown), "readings", readings(a->oil), "properties", rows(a),
                             "standards", standards(a), "least_diluent", dilutions(a), "spray", spray(a),
                             "blend_rules", rules(a), "profile_models", models(a), "notes", notes(a));
    if (!root) {
        return OW_ERROR_MEMORY;
    }
    (void)json_object_set_new(root, "cautions",
                              json_pack("[s, s]", OW_OIL_CAUTION_HEAT, OW_OIL_CAUTION_CODES));
    const int code = json_dumpf(root, file, JSON_INDENT(1) | JSON_REAL_PRECISION(9));
    json_decref(root);
    return code == 0 && fputc('\n', file) != EOF ? OW_OK : OW_ERROR_WRITE;
}

void ow_oil_write_csv(FILE *file, const OwOilAnswer *a) {
    const OwDisplay d = a->call->display;
    static const OwQuantity quantity[] = {OW_Q_TEMPERATURE, OW_Q_KINEMATIC_VISCOSITY, OW_Q_DENSITY};
    double f[3], o[3];
    const char *unit[3];
    for (int i = 0; i < 3; ++i) {
        unit[i] = ow_units_display(quantity[i], d, &f[i], &o[i]);
    }
    fprintf(file,
            "temperature (%s),valid,kinematic viscosity (%s),low 90 %% (%s),high 90 %% (%s),dynamic "
            "viscosity (mPa s),density (%s),"
            "specific heat (J/kgK),conductivity (W/mK),surface tension (mN/m),air floor (Pa abs),crystals "
            "(%%)\r\n",
            unit[0], unit[1], unit[1], unit[1], unit[2]);
    for (int i = 0; i < a->call->temperature_count; ++i) {
        const double t = a->call->temperature_k[i];
        OwOilState s;
        ow_oil_state(&a->shown->fluid, t, &s);
        const OwOilValue v = ow_oil_study_viscosity(a->shown, t);
        fprintf(file, "%.6g,%d,%.6g,%.6g,%.6g,%.6g,%.6g,%.6g,%.4g,%.4g,%.6g,%.4g\r\n", t * f[0] + o[0],
                (int)s.is_valid, v.value * f[1] + o[1], v.low * f[1] + o[1], v.high * f[1] + o[1],
                1e3 * s.dynamic_pa_s, s.density_kg_m3 * f[2] + o[2], s.specific_heat_j_kgk,
                s.conductivity_w_mk, 1e3 * s.surface_tension_n_m, s.air_floor_pa, 100.0 * s.wax_share);
    }
}
