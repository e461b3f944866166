// SPDX-License-Identifier: GPL-3.0-or-later
// The values of a study other than viscosity: density, heat, cetane, cloud and flash point, what was said.
#include "oil/curve.h"
#include "oil/fluids.h"
#include "oil/study.h"
#include "oil/wax.h"

#include <math.h>
#include <stdio.h>

void ow_study_note(OwOilStudy *study, const char *part, const char *text) {
    ow_oil_fault(&study->notes, OW_ERROR_RANGE, OW_FAULT_WARNING, part, text, "");
}

bool ow_study_has_profile(const double *profile) {
    for (int i = 0; i < OW_ACID_COUNT; ++i) {
        if (profile[i] != 0.0) {
            return true;
        }
    }
    return false;
}

static OwOilValue value_of(double value, double half_band, OwTrust trust, const char *source) {
    return (OwOilValue){true, value, value - half_band, value + half_band, trust, source};
}

typedef struct Bulk {
    OwOilKind kind;
    double density_15_kg_m3;
    const OwComposition *composition;
} Bulk;

static double density_at(double temperature_k, const void *data) {
    const Bulk *bulk = data;
    return bulk->density_15_kg_m3 + ow_oil_density_slope(bulk->kind) * (temperature_k - 288.15);
}

/// Petroleum: Cragoe 1929, NBS Misc. Publ. 97, (1685 + 3.4 t) / sqrt(relative density). Ester 1960 + 2.2 t
/// (from memory).
static double specific_heat_at(double temperature_k, const void *data) {
    const Bulk *bulk = data;
    const double t = temperature_k - OW_ZERO_CELSIUS_K;
    if (bulk->kind == OW_OIL_PETROLEUM) {
        return (1685.0 + 3.4 * t) / sqrt(bulk->density_15_kg_m3 / 1000.0);
    }
    return bulk->kind == OW_OIL_ESTER ? 1960.0 + 2.2 * t
                                      : ow_oil_profile_specific_heat(bulk->composition, temperature_k);
}

/// Petroleum: Cragoe 1929, 0.117 (1 - 0.00054 t) / relative density. Plant oil 0.168 and ester 0.150 at 20
/// degC, falling 0.0001 a kelvin (from memory; 0.16 to 0.17 for plant oils).
static double conductivity_at(double temperature_k, const void *data) {
    const Bulk *bulk = data;
    const double t = temperature_k - OW_ZERO_CELSIUS_K;
    if (bulk->kind == OW_OIL_PETROLEUM) {
        return 0.117 * (1.0 - 0.00054 * t) / (bulk->density_15_kg_m3 / 1000.0);
    }
    return (bulk->kind == OW_OIL_ESTER ? 0.150 : 0.168) - 1.0e-4 * (t - 20.0);
}

void ow_study_fill_density(const OwOilSpec *spec, const OwOilEntry *entry, const OwEstimate *e,
                           OwOilStudy *study) {
    OwFluid *fluid = &study->fluid;
    if (spec->density_15_kg_m3 > 0.0) {
        study->density_15 = value_of(spec->density_15_kg_m3, 1.0, OW_TRUST_MEASURED, "as said");
    } else if (spec->hydrometer_kg_m3 > 0.0) {
        study->density_15 =
            value_of(ow_oil_hydrometer_15(spec->hydrometer_kg_m3, spec->hydrometer_k, fluid->kind), 2.0,
                     OW_TRUST_MEASURED, "hydrometer, brought to 15 degC");
    } else if (fluid->kind == OW_OIL_PLANT) {
        study->density_15 =
            value_of(ow_oil_profile_density(&e->composition, 288.15), study->has_composition ? 6.0 : 9.0,
                     study->has_composition ? OW_TRUST_PUBLISHED : OW_TRUST_ASSUMED,
                     "from the fatty acids, fitted to Noureddini et al. 1992");
    } else {
        const bool is_known = entry != NULL;
        study->density_15 = value_of(is_known ? entry->density_15_kg_m3 : 838.0, is_known ? 8.0 : 25.0,
                                     OW_TRUST_ASSUMED, "middle of the standard's range");
    }
    if (fluid->kind == OW_OIL_PLANT && study->density_15.trust == OW_TRUST_MEASURED) {
        const double expected = ow_oil_profile_density(&e->composition, 288.15);
        if (fabs(study->density_15.value - expected) > 15.0) {
            char text[160];
            snprintf(text, sizeof text, "the density is %.0f kg/m3 %s than this oil should have: %s",
                     fabs(study->density_15.value - expected),
                     study->density_15.value < expected ? "lower" : "higher",
                     study->density_15.value < expected ? "diesel or a solvent may be mixed in"
                                                        : "water, dirt or another oil may be in it");
            ow_study_note(study, fluid->name, text);
        }
    }
    const Bulk bulk = {fluid->kind, study->density_15.value, &e->composition};
    ow_curve_fill_from(&fluid->density_kg_m3, density_at, &bulk);
    ow_curve_fill_from(&fluid->specific_heat_j_kgk, specific_heat_at, &bulk);
    ow_curve_fill_from(&fluid->conductivity_w_mk, conductivity_at, &bulk);
}

void ow_study_fill_values(const OwOilSpec *spec, const OwOilEntry *entry, const OwEstimate *e,
                          OwOilStudy *study) {
    OwFluid *fluid = &study->fluid;
    const OwComposition *c = &e->composition;
    if (fluid->kind == OW_OIL_PLANT) {
        // Condensation of the water of combustion: 2.442 MJ/kg at 25 degC, 8.937 kg water per kg hydrogen.
        const double gross = ow_oil_profile_gross_heat(c), net = gross - 2.442e6 * 8.937 * c->hydrogen_share;
        const double band =
            study->has_composition ? 0.7e6 : 0.9e6; // 1.645 x the rms against Goering et al. 1982
        study->gross_heat =
            value_of(gross, band, OW_TRUST_PUBLISHED, "Demirbas 1998, from iodine and saponification value");
        study->net_heat = value_of(net, band, OW_TRUST_PUBLISHED, "gross heat less condensation");
        if (study->has_composition) {
            study->iodine = value_of(c->iodine, 6.0, OW_TRUST_PUBLISHED, "AOCS Cd 1c-85 from the profile");
            study->saponification = value_of(c->saponification, 4.0, OW_TRUST_PUBLISHED, "from the profile");
            study->cetane = value_of(ow_oil_profile_cetane(c), 6.0, OW_TRUST_PUBLISHED,
                                     "line in the iodine value through Goering et al. 1982's oils");
        }
        if (entry || !study->has_composition) {
            const double flash = entry ? entry->flash_c : 240.0;
            study->flash = (OwOilValue){true,
                                        flash,
                                        200.0,
                                        330.0,
                                        OW_TRUST_PUBLISHED,
                                        "fresh oils 225 to 330 degC; solvents lower it"};
        }
    } else {
        const OwOilEntry *base = entry ? entry : ow_oil_entry_find("diesel");
        study->net_heat = value_of(base->net_heat_j_kg, 0.5e6, OW_TRUST_ASSUMED, "usual value");
        study->cetane = value_of(base->cetane, 4.0, OW_TRUST_ASSUMED, "usual value");
        study->flash = value_of(base->flash_c, 12.0, OW_TRUST_ASSUMED, "usual value");
    }
    if (spec->acid_mg_g > 0.0) {
        study->acid = value_of(spec->acid_mg_g, 0.05 * spec->acid_mg_g + 0.05, OW_TRUST_MEASURED, "as said");
    }
    if (spec->water_share > 0.0) {
        study->water = value_of(spec->water_share, 0.1 * spec->water_share, OW_TRUST_MEASURED, "as said");
    }
    if (spec->solids_share > 0.0) {
        study->solids = value_of(spec->solids_share, 0.1 * spec->solids_share, OW_TRUST_MEASURED, "as said");
    }
    if (spec->polar_share > 0.0) {
        study->polar = value_of(spec->polar_share, 0.02, OW_TRUST_MEASURED, "as said");
    }
    ow_sheet_take(spec->sheet, study, fluid->name);
    fluid->net_heat_j_kg = study->net_heat.value;
    fluid->flash_point_k = study->flash.is_known ? study->flash.value + OW_ZERO_CELSIUS_K : 0.0;
    study->kinematic_40 = ow_oil_study_viscosity(study, 313.15);
    study->kinematic_40.source = study->reading_count ? "readings and model by weight" : "model";
    study->kinematic_40.trust = study->reading_count ? OW_TRUST_MEASURED : OW_TRUST_PUBLISHED;
}

void ow_study_fill_wax(const OwOilSpec *spec, const OwOilEntry *entry, const OwEstimate *e,
                       OwOilStudy *study) {
    OwFluid *fluid = &study->fluid;
    if (fluid->kind == OW_OIL_PLANT) {
        const int first = ow_wax_from_composition(&e->composition, &fluid->wax);
        double cloud_k = spec->cloud_point_k;
        if (cloud_k > 0.0) {
            study->cloud = value_of(cloud_k - OW_ZERO_CELSIUS_K, 2.0, OW_TRUST_MEASURED, "as said");
        } else if (entry && !ow_study_has_profile(spec->profile)) {
            cloud_k = entry->cloud_c + OW_ZERO_CELSIUS_K;
            study->cloud = value_of(entry->cloud_c, 6.0, OW_TRUST_PUBLISHED,
                                    "Goering et al. 1982 or from memory; lots differ");
        }
        if (cloud_k > 0.0) {
            ow_wax_anchor(&fluid->wax, first, cloud_k);
        } else {
            cloud_k = ow_wax_cloud(&fluid->wax);
            study->cloud = value_of(cloud_k - OW_ZERO_CELSIUS_K, 20.0, OW_TRUST_ASSUMED,
                                    "ideal solution of the triglycerides; traces of wax raise it");
        }
        fluid->cloud_point_k = cloud_k;
        return;
    }
    const OwOilEntry *base = entry ? entry : ow_oil_entry_find("diesel");
    const double cloud_k =
        spec->cloud_point_k > 0.0 ? spec->cloud_point_k : base->cloud_c + OW_ZERO_CELSIUS_K;
    const bool is_said = spec->cloud_point_k > 0.0;
    study->cloud =
        value_of(cloud_k - OW_ZERO_CELSIUS_K, is_said ? 2.0 : 6.0,
                 is_said ? OW_TRUST_MEASURED : OW_TRUST_ASSUMED, is_said ? "as said" : "usual value");
    ow_wax_simple(fluid->kind, cloud_k, &fluid->wax);
    fluid->cloud_point_k = cloud_k;
}
