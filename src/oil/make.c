// SPDX-License-Identifier: GPL-3.0-or-later
// The entry points: a study, or just its fluid, of a single oil or a blend.
#include "oil/curve.h"
#include "oil/fluids.h"
#include "oil/study.h"
#include "oil/wax.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static OwStatus study_among(const OwOilSpec *spec, const OwFluid *const *earlier, int earlier_count,
                            OwOilStudy *study, OwFaults *faults);

static OwOilValue plain(double value, double half_band, OwTrust trust, const char *source) {
    return (OwOilValue){true, value, value - half_band, value + half_band, trust, source};
}

/// What can be said of a blend as such.
static void blend_values(OwOilStudy *study, const char *name) {
    const OwFluid *fluid = &study->fluid;
    double error[OW_CURVE_POINTS];
    for (int k = 0; k < OW_CURVE_POINTS; ++k) {
        error[k] = hypot(fluid->liquid_error[k], ow_wax_error(&fluid->wax, fluid->wax_share.c[k][0]));
    }
    ow_curve_fill(&study->log_error, error);
    study->quantile = 1.645;
    study->density_15 =
        plain(ow_curve_value(&fluid->density_kg_m3, 288.15), 6.0, OW_TRUST_PUBLISHED, "by volume");
    study->net_heat = plain(fluid->net_heat_j_kg, 0.5e6, OW_TRUST_PUBLISHED, "by mass");
    if (fluid->cloud_point_k > 0.0) {
        study->cloud = plain(fluid->cloud_point_k - OW_ZERO_CELSIUS_K, 8.0, OW_TRUST_ASSUMED,
                             "ideal solution of both parts' waxes");
    }
    if (fluid->flash_point_k > 0.0) {
        study->flash = plain(fluid->flash_point_k - OW_ZERO_CELSIUS_K, 10.0, OW_TRUST_PUBLISHED,
                             "Wickey & Chittenden 1963");
        if (fluid->flash_point_k < 328.15) {
            ow_oil_fault(&study->notes, OW_ERROR_RANGE, OW_FAULT_WARNING, name,
                         "the flash point lies below 55 degC: store and carry it as a flammable liquid; "
                         "follow the local code",
                         "");
        }
    }
    char text[160];
    snprintf(text, sizeof text,
             "the viscosity of all parts is known from %.3g to %.3g degC; outside that it is a guess",
             fluid->valid_low_k - OW_ZERO_CELSIUS_K, fluid->valid_high_k - OW_ZERO_CELSIUS_K);
    ow_oil_fault(&study->notes, OW_ERROR_RANGE, OW_FAULT_WARNING, name, text, "");
    study->kinematic_40 = ow_oil_study_viscosity(study, 313.15);
    study->kinematic_40.source =
        "Arrhenius by volume; band: the parts' own and half the spread of four rules";
}

static OwStatus study_blend(const OwOilSpec *spec, const OwFluid *const *earlier, int earlier_count,
                            OwOilStudy *study, OwFaults *faults) {
    OwFluid *made = calloc(OW_OIL_MAX_BLEND, sizeof *made);
    if (!made) {
        return OW_ERROR_MEMORY;
    }
    const OwFluid *list[OW_OIL_MAX_BLEND];
    OwStatus status = OW_OK;
    for (int i = 0; i < spec->blend_count && status == OW_OK; ++i) {
        list[i] = NULL;
        for (int j = 0; j < earlier_count; ++j) {
            if (earlier[j] && strcmp(earlier[j]->name, spec->blend_name[i]) == 0) {
                list[i] = earlier[j];
            }
        }
        if (!list[i]) {
            OwOilSpec part = {0};
            snprintf(part.name, sizeof part.name, "%s", spec->blend_name[i]);
            status = ow_oil_make_among(&part, NULL, 0, &made[i], faults);
            list[i] = &made[i];
        }
    }
    if (status == OW_OK) {
        status =
            ow_oil_blend(list, spec->blend_fraction, spec->blend_count, spec->name, &study->fluid, faults);
    }
    if (status == OW_OK) {
        blend_values(study, spec->name);
    }
    free(made);
    return status;
}

static OwStatus study_among(const OwOilSpec *spec, const OwFluid *const *earlier, int earlier_count,
                            OwOilStudy *study, OwFaults *faults) {
    if (spec->blend_count < 0 || spec->blend_count > OW_OIL_MAX_BLEND) {
        return ow_oil_fault(faults, OW_ERROR_VALUE, OW_FAULT_ERROR, spec->name, "a blend has 1 to 6 parts",
                            "name fewer parts");
    }
    if (spec->blend_count > 0) {
        return study_blend(spec, earlier, earlier_count, study, faults);
    }
    if (ow_oil_is_petrol(spec->name)) {
        return ow_oil_fault(faults, OW_ERROR_VALUE, OW_FAULT_ERROR, spec->name,
                            "petrol and spirits are no fuel for a diesel engine: " OW_OIL_PETROL_REASON,
                            "use diesel no. 1 or kerosene to thin an oil");
    }
    return ow_oil_study_single(spec, study, faults);
}

OwStatus ow_oil_study_among(const OwOilSpec *spec, const OwFluid *const *earlier, int earlier_count,
                            OwOilStudy *study, OwFaults *faults) {
    if (!spec || !study || (earlier_count > 0 && !earlier)) {
        return OW_ERROR_USE;
    }
    memset(study, 0, sizeof *study);
    const OwStatus status = study_among(spec, earlier, earlier_count, study, faults);
    if (status != OW_OK) {
        ow_oil_study_clear(study);
    }
    return status;
}

OwStatus ow_oil_study(const OwOilSpec *spec, OwOilStudy *study, OwFaults *faults) {
    return ow_oil_study_among(spec, NULL, 0, study, faults);
}

OwStatus ow_oil_make_among(const OwOilSpec *spec, const OwFluid *const *earlier, int earlier_count,
                           OwFluid *fluid, OwFaults *faults) {
    if (!spec || !fluid || (earlier_count > 0 && !earlier)) {
        return OW_ERROR_USE;
    }
    OwOilStudy *study = calloc(1, sizeof *study);
    if (!study) {
        return OW_ERROR_MEMORY;
    }
    const OwStatus status = study_among(spec, earlier, earlier_count, study, faults);
    if (status == OW_OK) {
        *fluid = study->fluid;
    }
    ow_oil_study_clear(study);
    free(study);
    return status;
}

OwStatus ow_oil_make(const OwOilSpec *spec, OwFluid *fluid, OwFaults *faults) {
    return ow_oil_make_among(spec, NULL, 0, fluid, faults);
}
