// SPDX-License-Identifier: GPL-3.0-or-later
// From a description to a fluid: named, measured, thickened by use, blended.
#include "oil/curve.h"
#include "oil/fluids.h"
#include "oil/walther.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

OwStatus ow_oil_fault(OwFaults *faults, OwStatus status, OwSeverity severity, const char *part,
                      const char *message, const char *remedy) {
    OwFault fault = {.status = status, .severity = severity};
    snprintf(fault.part, sizeof fault.part, "%s", part ? part : "oil");
    snprintf(fault.message, sizeof fault.message, "%s", message);
    snprintf(fault.remedy, sizeof fault.remedy, "%s", remedy ? remedy : "");
    if (faults) {
        ow_faults_add(faults, &fault);
    }
    return status;
}

typedef struct Line {
    double a, b, factor;
} Line;

static double kinematic_at(double temperature_k, const void *data) {
    const Line *line = data;
    return ow_oil_walther_value(line->a, line->b, temperature_k);
}

typedef struct Bulk {
    OwOilKind kind;
    double density_15_kg_m3;
} Bulk;

/// Straight line in temperature; plant oils -0.66 kg/m3K (Noureddini et al. 1992, JAOCS 69:1184: -0.65
/// rapeseed, -0.67 soybean between 24 and 110 degC), diesel fuels -0.70, esters -0.73 (from memory).
static double density_at(double temperature_k, const void *data) {
    static const double slope[] = {-0.66, -0.70, -0.73};
    const Bulk *bulk = data;
    return bulk->density_15_kg_m3 + slope[bulk->kind] * (temperature_k - 288.15);
}

/// Plant oil: 1930 + 1.25 t (Hirschberg, cottonseed, 22-50 degC). Petroleum: Cragoe 1929, NBS Misc. Publ. 97:
/// (1685 + 3.4 t) / sqrt(relative density). Esters 1960 + 2.2 t (from memory).
static double specific_heat_at(double temperature_k, const void *data) {
    const Bulk *bulk = data;
    const double t = temperature_k - OW_ZERO_CELSIUS_K;
    if (bulk->kind == OW_OIL_PETROLEUM) {
        return (1685.0 + 3.4 * t) / sqrt(bulk->density_15_kg_m3 / 1000.0);
    }
    return bulk->kind == OW_OIL_ESTER ? 1960.0 + 2.2 * t : 1930.0 + 1.25 * t;
}

/// Petroleum: Cragoe 1929, 0.117 (1 - 0.00054 t) / relative density. Plant oil and ester 0.168 and 0.150 at
/// 20 degC, falling 0.0001 a kelvin (from memory).
static double conductivity_at(double temperature_k, const void *data) {
    const Bulk *bulk = data;
    const double t = temperature_k - OW_ZERO_CELSIUS_K;
    if (bulk->kind == OW_OIL_PETROLEUM) {
        return 0.117 * (1.0 - 0.00054 * t) / (bulk->density_15_kg_m3 / 1000.0);
    }
    return (bulk->kind == OW_OIL_ESTER ? 0.150 : 0.168) - 1.0e-4 * (t - 20.0);
}

void ow_oil_fill_log(OwFluid *fluid) {
    double values[OW_CURVE_POINTS];
    for (int i = 0; i < OW_CURVE_POINTS; ++i) {
        values[i] = log(fluid->kinematic_m2_s.c[i][0]);
    }
    ow_curve_fill(&fluid->log_kinematic, values);
}

static void fill(OwFluid *fluid, const Line *line, const Bulk *bulk) {
    ow_curve_fill_from(&fluid->kinematic_m2_s, kinematic_at, line);
    ow_curve_fill_from(&fluid->density_kg_m3, density_at, bulk);
    ow_curve_fill_from(&fluid->specific_heat_j_kgk, specific_heat_at, bulk);
    ow_curve_fill_from(&fluid->conductivity_w_mk, conductivity_at, bulk);
    ow_oil_fill_log(fluid);
}

static int entry_points(const OwOilEntry *entry, OwViscosityPoint *points) {
    int count = 0;
    while (count < OW_OIL_ENTRY_POINTS && entry->points[count][1] > 0.0) {
        points[count].temperature_k = entry->points[count][0] + OW_ZERO_CELSIUS_K;
        points[count].kinematic_m2_s = entry->points[count][1] * 1e-6;
        ++count;
    }
    return count;
}

static void range_of(const OwViscosityPoint *points, int count, double *low_k, double *high_k) {
    *low_k = *high_k = points[0].temperature_k;
    for (int i = 1; i < count; ++i) {
        *low_k = fmin(*low_k, points[i].temperature_k);
        *high_k = fmax(*high_k, points[i].temperature_k);
    }
}

static OwStatus check_points(const OwOilSpec *spec, const char *part, OwFaults *faults) {
    OwStatus status = OW_OK;
    char text[256];
    if (spec->point_count < 0 || spec->point_count > OW_OIL_MAX_POINTS) {
        snprintf(text, sizeof text, "%d viscosity points are given", spec->point_count);
        return ow_oil_fault(faults, OW_ERROR_VALUE, OW_FAULT_ERROR, part, text, "give 1 to 16 points");
    }
    for (int i = 0; i < spec->point_count; ++i) {
        const OwViscosityPoint *p = &spec->points[i];
        if (!(p->temperature_k >= 223.15 && p->temperature_k <= 573.15)) {
            snprintf(text, sizeof text, "viscosity point %d stands at %.6g K", i + 1, p->temperature_k);
            status = ow_oil_fault(faults, OW_ERROR_VALUE, OW_FAULT_ERROR, part, text,
                                  "give a temperature from -50 to 300 degC");
        }
        if (!(p->kinematic_m2_s >= 0.21e-6 && p->kinematic_m2_s <= 0.1)) {
            snprintf(text, sizeof text, "viscosity point %d is %.6g mm2/s", i + 1, p->kinematic_m2_s * 1e6);
            status = ow_oil_fault(faults, OW_ERROR_VALUE, OW_FAULT_ERROR, part, text,
                                  "give 0.21 to 100000 mm2/s (ASTM D341)");
        }
        for (int j = 0; status == OW_OK && j < i; ++j) {
            const OwViscosityPoint *q = &spec->points[j];
            const double rise_k = p->temperature_k - q->temperature_k;
            const double growth = p->kinematic_m2_s / q->kinematic_m2_s - 1.0;
            // Within 2 K two readings may cross by the scatter of the measurement.
            if (fabs(rise_k) > 2.0 && rise_k * growth > 0.0) {
                snprintf(text, sizeof text,
                         "viscosity rises with heat: %.4g mm2/s at %.4g degC, %.4g mm2/s at %.4g degC",
                         q->kinematic_m2_s * 1e6, q->temperature_k - OW_ZERO_CELSIUS_K,
                         p->kinematic_m2_s * 1e6, p->temperature_k - OW_ZERO_CELSIUS_K);
                status = ow_oil_fault(
                    faults, OW_ERROR_VALUE, OW_FAULT_ERROR, part, text,
                    "check which reading belongs to which temperature, and let cup and oil settle to one "
                    "temperature before timing");
            }
        }
    }
    return status;
}

static OwStatus make_single(const OwOilSpec *spec, OwFluid *fluid, OwFaults *faults) {
    char text[256];
    const char *part = spec->name[0] ? spec->name : "oil";
    const OwOilEntry *entry = ow_oil_entry_find(spec->name);
    if (!entry && spec->point_count < 1) {
        const char *nearest = ow_oil_entry_nearest(spec->name);
        snprintf(text, sizeof text, "no oil is known by the name \"%.60s\"", spec->name);
        char remedy[256];
        snprintf(remedy, sizeof remedy, "%s%s%sgive measured viscosities", nearest ? "did you mean \"" : "",
                 nearest ? nearest : "", nearest ? "\"? Otherwise " : "");
        return ow_oil_fault(faults, OW_ERROR_VALUE, OW_FAULT_ERROR, part, text, remedy);
    }
    OwStatus status = check_points(spec, part, faults);
    if (status != OW_OK) {
        return status;
    }
    const OwOilEntry *base = entry ? entry : ow_oil_entry_find("used");
    OwViscosityPoint base_points[OW_OIL_ENTRY_POINTS];
    const int base_count = entry_points(base, base_points);
    Line line = {0};
    status = ow_oil_walther_fit(base_points, base_count, &line.a, &line.b);
    if (status != OW_OK) {
        return status;
    }
    double low_k, high_k;
    range_of(base_points, base_count, &low_k, &high_k);
    if (spec->point_count >= 1) {
        double point_low_k, point_high_k;
        range_of(spec->points, spec->point_count, &point_low_k, &point_high_k);
        const double b_named = line.b;
        status = spec->point_count > 1 ? ow_oil_walther_fit(spec->points, spec->point_count, &line.a, &line.b)
                                       : OW_ERROR_VALUE;
        if (status != OW_OK) { // one temperature only: the slope of the named (or of a usual) oil through the
                               // mean of the points
            line.b = b_named;
            line.a = 0.0;
            for (int i = 0; i < spec->point_count; ++i) {
                line.a += (ow_oil_walther_y(spec->points[i].kinematic_m2_s * 1e6) +
                           line.b * log10(spec->points[i].temperature_k)) /
                          spec->point_count;
            }
            status = OW_OK;
        } else if (!(line.b > 2.0 && line.b < 6.0)) { // plant oils 3.0 to 4.0, fuels to 5
            snprintf(text, sizeof text,
                     "the Walther slope of the points is %.3g; fuels and oils lie between 2 and 6", line.b);
            ow_oil_fault(faults, OW_ERROR_RANGE, OW_FAULT_WARNING, part, text,
                         "measure again at temperatures further apart");
        }
        // A straight Walther line carries some 20 K beyond its points.
        low_k = point_low_k - 20.0;
        high_k = point_high_k + 20.0;
    }
    if (spec->used_factor != 0.0 && spec->used_factor != 1.0) {
        if (!(spec->used_factor >= 0.5 && spec->used_factor <= 5.0)) {
            snprintf(text, sizeof text, "the oil is said to be %.4g times as thick as fresh",
                     spec->used_factor);
            return ow_oil_fault(faults, OW_ERROR_VALUE, OW_FAULT_ERROR, part, text,
                                "give 0.5 to 5; a used frying oil is 1.0 to 2");
        }
        const double fresh = 1e6 * ow_oil_walther_value(line.a, line.b, 313.15);
        line.a += ow_oil_walther_y(fresh * spec->used_factor) - ow_oil_walther_y(fresh);
    }
    if (spec->density_15_kg_m3 != 0.0 &&
        !(spec->density_15_kg_m3 >= 700.0 && spec->density_15_kg_m3 <= 1000.0)) {
        snprintf(text, sizeof text, "the density at 15 degC is %.6g kg/m3", spec->density_15_kg_m3);
        return ow_oil_fault(faults, OW_ERROR_VALUE, OW_FAULT_ERROR, part, text, "give 700 to 1000 kg/m3");
    }
    if (spec->cloud_point_k != 0.0 && !(spec->cloud_point_k >= 190.0 && spec->cloud_point_k <= 350.0)) {
        snprintf(text, sizeof text, "the cloud point is %.6g K", spec->cloud_point_k);
        return ow_oil_fault(faults, OW_ERROR_VALUE, OW_FAULT_ERROR, part, text, "give -80 to 75 degC");
    }
    const Bulk bulk = {base->kind,
                       spec->density_15_kg_m3 > 0.0 ? spec->density_15_kg_m3 : base->density_15_kg_m3};
    memset(fluid, 0, sizeof *fluid);
    snprintf(fluid->name, sizeof fluid->name, "%s", spec->name[0] ? spec->name : base->name);
    fill(fluid, &line, &bulk);
    fluid->net_heat_j_kg = base->net_heat_j_kg;
    fluid->cloud_point_k =
        spec->cloud_point_k > 0.0 ? spec->cloud_point_k : base->cloud_c + OW_ZERO_CELSIUS_K;
    fluid->flash_point_k = base->flash_c + OW_ZERO_CELSIUS_K;
    fluid->surface_tension_n_m = base->surface_tension_n_m;
    fluid->air_solubility =
        base->kind == OW_OIL_PLANT ? 0.08 : 0.11; // from memory: olive oil .08, gas oil .11 near 20 degC
    fluid->valid_low_k = low_k;
    fluid->valid_high_k = high_k;
    return OW_OK;
}

static bool is_petrol(const char *name) {
    static const char *const petrol[] = {"petrol",  "gasoline", "gas", "benzin", "white spirit",
                                         "naphtha", "super",    "e10", "e5"};
    for (size_t i = 0; i < sizeof petrol / sizeof petrol[0]; ++i) {
        const char *a = petrol[i], *b = name;
        while (*a && (*a | 32) == (*b | 32)) {
            ++a;
            ++b;
        }
        if (!*a && !*b) {
            return true;
        }
    }
    return false;
}

OwStatus ow_oil_blend(const OwFluid *const *fluids, const double *volume_fraction, int count,
                      const char *name, OwFluid *fluid, OwFaults *faults) {
    if (!fluids || !volume_fraction || !fluid || count < 1) {
        return OW_ERROR_USE;
    }
    double sum = 0.0;
    for (int i = 0; i < count; ++i) {
        if (!fluids[i] || !(volume_fraction[i] >= 0.0 && volume_fraction[i] <= 1.0)) {
            return ow_oil_fault(faults, OW_ERROR_VALUE, OW_FAULT_ERROR, name,
                                "a blend share is not between 0 and 1",
                                "give shares by volume that sum to 1");
        }
        sum += volume_fraction[i];
    }
    if (!(fabs(sum - 1.0) < 0.005)) {
        char text[128];
        snprintf(text, sizeof text, "the blend shares sum to %.4g", sum);
        return ow_oil_fault(faults, OW_ERROR_VALUE, OW_FAULT_ERROR, name, text,
                            "give shares by volume that sum to 1");
    }
    double kinematic[OW_CURVE_POINTS], density[OW_CURVE_POINTS], heat[OW_CURVE_POINTS],
        conductivity[OW_CURVE_POINTS];
    for (int k = 0; k < OW_CURVE_POINTS; ++k) {
        double log_v = 0.0, rho = 0.0, rho_cp = 0.0, lambda = 0.0;
        for (int i = 0; i < count; ++i) {
            const double x = volume_fraction[i] / sum;
            log_v += x * fluids[i]->log_kinematic.c[k][0];
            rho += x * fluids[i]->density_kg_m3.c[k][0];
            rho_cp += x * fluids[i]->density_kg_m3.c[k][0] * fluids[i]->specific_heat_j_kgk.c[k][0];
            lambda += x * fluids[i]->conductivity_w_mk.c[k][0];
        }
        kinematic[k] = exp(log_v); // Arrhenius, volume shares: Franco & Nguyen 2011, Fuel 90:838
        density[k] = rho;
        heat[k] = rho_cp / rho;
        conductivity[k] = lambda;
    }
    OwFluid made = {0};
    ow_curve_fill(&made.kinematic_m2_s, kinematic);
    ow_curve_fill(&made.density_kg_m3, density);
    ow_curve_fill(&made.specific_heat_j_kgk, heat);
    ow_curve_fill(&made.conductivity_w_mk, conductivity);
    ow_oil_fill_log(&made);
    made.valid_low_k = OW_CURVE_LOW_K;
    made.valid_high_k = OW_CURVE_LOW_K + OW_CURVE_STEP_K * (OW_CURVE_POINTS - 1);
    double mass = 0.0, flash_index = 0.0, cloud = 0.0;
    bool has_cloud = true, has_flash = true;
    for (int i = 0; i < count; ++i) {
        const double x = volume_fraction[i] / sum, rho = ow_curve_value(&fluids[i]->density_kg_m3, 288.15);
        mass += x * rho;
        made.net_heat_j_kg += x * rho * fluids[i]->net_heat_j_kg;
        made.surface_tension_n_m += x * fluids[i]->surface_tension_n_m;
        made.air_solubility += x * fluids[i]->air_solubility;
        if (x > 0.0) {
            has_cloud = has_cloud && fluids[i]->cloud_point_k > 0.0;
            has_flash = has_flash && fluids[i]->flash_point_k > 0.0;
            cloud += x * fluids[i]->cloud_point_k;
            // Wickey & Chittenden 1963, Hydrocarbon Process. 42(6):157: log10 index = -6.1188 + 2414 / (degC
            // + 230.56)
            flash_index += x * pow(10.0, -6.1188 + 2414.0 / (fmax(fluids[i]->flash_point_k, 233.15) - 42.59));
            made.valid_low_k = fmax(made.valid_low_k, fluids[i]->valid_low_k);
            made.valid_high_k = fmin(made.valid_high_k, fluids[i]->valid_high_k);
        }
    }
    made.net_heat_j_kg /= mass;
    made.cloud_point_k = has_cloud ? cloud : 0.0;
    made.flash_point_k = has_flash ? 2414.0 / (log10(flash_index) + 6.1188) + 42.59 : 0.0;
    snprintf(made.name, sizeof made.name, "%s", name && *name ? name : "blend");
    *fluid = made;
    return OW_OK;
}

OwStatus ow_oil_make_among(const OwOilSpec *spec, const OwFluid *const *earlier, int earlier_count,
                           OwFluid *fluid, OwFaults *faults) {
    if (!spec || !fluid) {
        return OW_ERROR_USE;
    }
    if (spec->blend_count < 0 || spec->blend_count > OW_OIL_MAX_BLEND) {
        return ow_oil_fault(faults, OW_ERROR_VALUE, OW_FAULT_ERROR, spec->name, "a blend has 1 to 6 parts",
                            "name fewer parts");
    }
    if (spec->blend_count == 0) {
        if (is_petrol(spec->name)) {
            return ow_oil_fault(faults, OW_ERROR_VALUE, OW_FAULT_ERROR, spec->name,
                                "petrol is no diesel-engine fuel: " OW_OIL_PETROL_REASON,
                                "use diesel no. 1 or kerosene to thin an oil");
        }
        return make_single(spec, fluid, faults);
    }
    OwFluid parts[OW_OIL_MAX_BLEND];
    const OwFluid *list[OW_OIL_MAX_BLEND];
    for (int i = 0; i < spec->blend_count; ++i) {
        list[i] = NULL;
        for (int j = 0; j < earlier_count; ++j) {
            if (earlier[j] && strcmp(earlier[j]->name, spec->blend_name[i]) == 0) {
                list[i] = earlier[j];
            }
        }
        if (!list[i]) {
            OwOilSpec part = {0};
            snprintf(part.name, sizeof part.name, "%s", spec->blend_name[i]);
            const OwStatus status = ow_oil_make_among(&part, NULL, 0, &parts[i], faults);
            if (status != OW_OK) {
                return status;
            }
            list[i] = &parts[i];
        }
    }
    return ow_oil_blend(list, spec->blend_fraction, spec->blend_count, spec->name, fluid, faults);
}

OwStatus ow_oil_make(const OwOilSpec *spec, OwFluid *fluid, OwFaults *faults) {
    return ow_oil_make_among(spec, NULL, 0, fluid, faults);
}
