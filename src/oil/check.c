// SPDX-License-Identifier: GPL-3.0-or-later
// Refusal of descriptions that cannot be true, each with its reason.
#include "oil/check.h"
#include "oil/fluids.h"
#include "oil/study.h"

#include <math.h>
#include <stdio.h>

#define CELSIUS(k) ((k)-OW_ZERO_CELSIUS_K)

static OwStatus refuse(OwFaults *faults, const char *part, const char *text, const char *remedy) {
    return ow_oil_fault(faults, OW_ERROR_VALUE, OW_FAULT_ERROR, part, text, remedy);
}

/// One number in a range, or 0 for "not said".
static OwStatus in_range(double value, double low, double high, double factor, double offset,
                         const char *what, const char *unit, const char *part, OwFaults *faults) {
    if (value == 0.0 || (value >= low && value <= high)) {
        return OW_OK;
    }
    char text[160], remedy[160];
    snprintf(text, sizeof text, "%s is %.6g %s", what, value * factor + offset, unit);
    snprintf(remedy, sizeof remedy, "give %.4g to %.4g %s", low * factor + offset, high * factor + offset,
             unit);
    return refuse(faults, part, text, remedy);
}

OwStatus ow_oil_check_spec(const OwOilSpec *spec, const char *part, OwFaults *faults) {
    OwStatus status = OW_OK;
    char text[256];
    if (spec->point_count < 0 || spec->point_count > OW_OIL_MAX_POINTS) {
        snprintf(text, sizeof text, "%d viscosity points are given", spec->point_count);
        return refuse(faults, part, text, "give up to 16 points");
    }
    if (spec->cup_count < 0 || spec->cup_count > OW_OIL_MAX_CUPS) {
        snprintf(text, sizeof text, "%d cup readings are given", spec->cup_count);
        return refuse(faults, part, text, "give up to 4 readings");
    }
    for (int i = 0; i < spec->point_count; ++i) {
        const OwViscosityPoint *p = &spec->points[i];
        if (!(p->temperature_k >= 223.15 && p->temperature_k <= 573.15)) {
            snprintf(text, sizeof text, "viscosity point %d stands at %.6g degC", i + 1,
                     CELSIUS(p->temperature_k));
            status = refuse(faults, part, text, "give a temperature from -50 to 300 degC");
        }
        if (!(p->kinematic_m2_s >= 0.21e-6 && p->kinematic_m2_s <= 0.1)) {
            snprintf(text, sizeof text, "viscosity point %d is %.6g mm2/s", i + 1, p->kinematic_m2_s * 1e6);
            status = refuse(faults, part, text, "give 0.21 to 100000 mm2/s, where ASTM D341 holds");
        }
        if (!(spec->point_error[i] >= 0.0 && spec->point_error[i] <= 0.5)) {
            snprintf(text, sizeof text, "the error of viscosity point %d is %.4g", i + 1,
                     spec->point_error[i]);
            status = refuse(faults, part, text, "give a standard error from 0 to 50 %");
        }
    }
    for (int i = 0; i < spec->cup_count; ++i) {
        const OwCupReading *cup = &spec->cups[i];
        double v;
        if (cup->nozzle_mm < 3 || cup->nozzle_mm > 6) {
            snprintf(text, sizeof text, "cup reading %d names a %d mm nozzle", i + 1, cup->nozzle_mm);
            status = refuse(faults, part, text, "ISO 2431 has cups of 3, 4, 5 and 6 mm");
        } else if (!(cup->seconds > 0.0)) {
            snprintf(text, sizeof text, "cup reading %d took %.4g s", i + 1, cup->seconds);
            status = refuse(faults, part, text,
                            "an efflux time is more than 0 s; 30 to 100 s is where ISO 2431 holds");
        } else if (ow_oil_cup_viscosity(cup->nozzle_mm, cup->seconds, &v) == OW_ERROR_VALUE) {
            snprintf(text, sizeof text, "cup reading %d of %.4g s is too short for a %d mm cup", i + 1,
                     cup->seconds, cup->nozzle_mm);
            status =
                refuse(faults, part, text, "use a cup with a smaller nozzle, so that it takes 30 to 100 s");
        }
        if (!(cup->temperature_k >= 253.15 && cup->temperature_k <= 423.15)) {
            snprintf(text, sizeof text, "cup reading %d stands at %.6g degC", i + 1,
                     CELSIUS(cup->temperature_k));
            status = refuse(faults, part, text, "give a temperature from -20 to 150 degC");
        }
    }
    const struct {
        double value, low, high, factor, offset;
        const char *what, *unit;
    } numbers[] = {
        {spec->density_15_kg_m3, 700.0, 1000.0, 1.0, 0.0, "the density at 15 degC", "kg/m3"},
        {spec->hydrometer_kg_m3, 650.0, 1000.0, 1.0, 0.0, "the hydrometer reading", "kg/m3"},
        {spec->hydrometer_kg_m3 != 0.0 ? spec->hydrometer_k : 0.0, 253.15, 373.15, 1.0, -273.15,
         "the hydrometer's temperature", "degC"},
        {spec->cloud_point_k, 193.15, 348.15, 1.0, -273.15, "the cloud point", "degC"},
        {spec->used_factor, 0.5, 5.0, 1.0, 0.0, "the viscosity over that of the fresh oil", ""},
        {spec->polar_share, 1e-9, 0.6, 100.0, 0.0, "the polar matter", "%"},
        {spec->water_share, 1e-9, 0.5, 100.0, 0.0, "the water", "%"},
        {spec->acid_mg_g, 1e-9, 200.0, 1.0, 0.0, "the acid value", "mg KOH/g"},
        {spec->solids_share, 1e-9, 0.5, 100.0, 0.0, "the solids", "%"},
    };
    for (size_t i = 0; i < sizeof numbers / sizeof numbers[0]; ++i) {
        const OwStatus one = in_range(numbers[i].value, numbers[i].low, numbers[i].high, numbers[i].factor,
                                      numbers[i].offset, numbers[i].what, numbers[i].unit, part, faults);
        status = one != OW_OK ? one : status;
    }
    const OwStatus sheet = ow_sheet_check(spec->sheet, part, faults);
    return sheet != OW_OK ? sheet : status;
}

OwStatus ow_oil_check_readings(const OwViscosityPoint *reading, int count, const char *part,
                               OwFaults *faults) {
    char text[256];
    for (int i = 0; i < count; ++i) {
        for (int j = 0; j < i; ++j) {
            const OwViscosityPoint *p = &reading[i], *q = &reading[j];
            // Readings within 2 K may cross by their scatter.
            if (fabs(p->temperature_k - q->temperature_k) > 2.0 &&
                (p->temperature_k - q->temperature_k) * (p->kinematic_m2_s - q->kinematic_m2_s) > 0.0) {
                snprintf(text, sizeof text,
                         "viscosity rises with heat: %.4g mm2/s at %.4g degC, %.4g mm2/s at %.4g degC",
                         q->kinematic_m2_s * 1e6, CELSIUS(q->temperature_k), p->kinematic_m2_s * 1e6,
                         CELSIUS(p->temperature_k));
                return refuse(faults, part, text,
                              "check which reading belongs to which temperature, and let cup and oil settle "
                              "to one temperature before "
                              "timing");
            }
        }
    }
    return OW_OK;
}
