// SPDX-License-Identifier: GPL-3.0-or-later
// From a description to everything known of one oil: prior by name or profile, thickening by use, readings,
// then the curves.
#include "oil/check.h"
#include "oil/combine.h"
#include "oil/curve.h"
#include "oil/fluids.h"
#include "oil/study.h"
#include "oil/walther.h"
#include "oil/wax.h"

#include <gsl/gsl_cdf.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

static int entry_points(const OwOilEntry *entry, OwViscosityPoint *points) {
    int count = 0;
    while (count < OW_OIL_ENTRY_POINTS && entry->points[count][1] > 0.0) {
        points[count].temperature_k = entry->points[count][0] + OW_ZERO_CELSIUS_K;
        points[count].kinematic_m2_s = entry->points[count][1] * 1e-6;
        ++count;
    }
    return count;
}

static void widen(const OwViscosityPoint *points, int count, double beyond_k, double *low_k, double *high_k) {
    for (int i = 0; i < count; ++i) {
        *low_k = fmin(*low_k, points[i].temperature_k - beyond_k);
        *high_k = fmax(*high_k, points[i].temperature_k + beyond_k);
    }
}

/// What is expected before any reading: by profile, by name, or of an unknown oil.
static OwStatus expect(const OwOilSpec *spec, const OwOilEntry *entry, OwOilStudy *study, OwEstimate *e,
                       OwFaults *faults) {
    OwFluid *fluid = &study->fluid;
    const bool is_given = ow_study_has_profile(spec->profile);
    const OwOilEntry *used = ow_oil_entry_find("used");
    OwViscosityPoint points[OW_OIL_ENTRY_POINTS];
    *e = (OwEstimate){.freedom = 12.0};
    fluid->valid_low_k = OW_ZERO_CELSIUS_K;
    fluid->valid_high_k = OW_ZERO_CELSIUS_K + 110.0;
    if (fluid->kind == OW_OIL_PLANT) {
        const OwStatus status = ow_oil_composition(is_given ? spec->profile
                                                   : entry  ? entry->profile
                                                            : used->profile,
                                                   &e->composition, faults);
        if (status != OW_OK) {
            return status;
        }
        e->has_composition = true;
        const double general = 0.20 * ow_estimate_gain(35.0); // an oil of which nothing is said
        e->cov[0][0] = OW_PROFILE_ERROR_Y * OW_PROFILE_ERROR_Y;
        e->cov[1][1] = OW_SLOPE_ERROR_Y * OW_SLOPE_ERROR_Y;
        if (!is_given && entry) {
            const int count = entry_points(entry, points);
            for (int i = 0; i < count; ++i) {
                ow_estimate_update(
                    e, points[i].temperature_k, points[i].kinematic_m2_s,
                    hypot(0.03, 0.29e-6 / points[i].kinematic_m2_s)); // tables are rounded to 1 mm2/s
            }
            const double lot = entry->lot_error * ow_estimate_gain(35.0);
            e->cov[0][0] += lot * lot;
        } else if (!is_given) {
            e->cov[0][0] += general * general;
            e->cov[1][1] = OW_SLOPE_UNKNOWN_Y * OW_SLOPE_UNKNOWN_Y;
        }
        study->has_composition = is_given || entry;
        study->composition = e->composition;
        return OW_OK;
    }
    const OwOilEntry *base = entry ? entry : ow_oil_entry_find("diesel");
    const int count = entry_points(base, points);
    const OwStatus status = ow_oil_walther_fit(points, count, &e->a, &e->b);
    const double lot = (entry ? base->lot_error : 0.5) * ow_estimate_gain(2.7);
    e->cov[0][0] = lot * lot;
    e->cov[1][1] = entry ? 0.01 * 0.01 : 0.08 * 0.08;
    fluid->valid_low_k = points[0].temperature_k;
    fluid->valid_high_k = points[0].temperature_k;
    widen(points, count, 20.0, &fluid->valid_low_k, &fluid->valid_high_k);
    return status;
}

/// Of oil of which only "used" is known: mean of ln(used / fresh) and the half width of its 90 % band for one
/// more oil, mean +- t(0.95, n - 1) s sqrt(1 + 1/n), over the six published cases in docs/theory/oil.md (s =
/// 0.366). Valid for frying oil as it is thrown away; a named `used_factor` or `polar_share` comes first.
#define OW_USED_LOG_MEAN 0.16
#define OW_USED_LOG_HALF 0.80

static void thicken(const OwOilSpec *spec, const OwOilEntry *entry, OwOilStudy *study, OwEstimate *e) {
    const bool is_used = spec->is_used || (entry && strcmp(entry->name, "used") == 0);
    double log_factor = 0.0, log_error = 0.0, low = 0.0, high = 0.0;
    OwTrust trust = OW_TRUST_ASSUMED;
    const char *source = NULL;
    if (spec->used_factor > 0.0 && spec->used_factor != 1.0) {
        log_factor = log(spec->used_factor);
        log_error = 0.05;
        trust = OW_TRUST_MEASURED;
        source = "as said";
    } else if (spec->polar_share > 0.0) {
        log_factor = 1.5 * (spec->polar_share - 0.04);
        log_error = 0.6 * fabs(spec->polar_share - 0.04) + 0.03;
        source = "polar matter: ln thickening = (1.5 +- 0.6) (polar - 4 %), assumed; that polar matter "
                 "tracks viscosity is published";
    } else if (is_used) {
        log_factor = OW_USED_LOG_MEAN;
        // The study's band is a t one of the prior's freedom.
        log_error = OW_USED_LOG_HALF / gsl_cdf_tdist_Pinv(0.95, e->freedom);
        low = OW_USED_LOG_MEAN - OW_USED_LOG_HALF;
        high = OW_USED_LOG_MEAN + OW_USED_LOG_HALF;
        source =
            "used for frying: 0.53 to 2.6 times fresh, the 90 % band of six published oils, 0.85 to 2.3; "
            "measure it";
    }
    if (source) {
        ow_estimate_thicken(e, log_factor, log_error);
        if (!(high > low)) {
            low = log_factor - 1.645 * log_error;
            high = log_factor + 1.645 * log_error;
        }
        study->thickening = (OwOilValue){true, exp(log_factor), exp(low), exp(high), trust, source};
    }
}

/// Collects points and cups; writes their errors.
static OwStatus collect(const OwOilSpec *spec, OwOilStudy *study, double *error, const char *part,
                        OwFaults *faults) {
    int n = 0;
    char text[160];
    for (int i = 0; i < spec->point_count; ++i, ++n) {
        study->reading[n] = spec->points[i];
        error[n] = spec->point_error[i] > 0.0 ? spec->point_error[i] : 0.025;
    }
    for (int i = 0; i < spec->cup_count; ++i, ++n) {
        const OwCupReading *cup = &spec->cups[i];
        study->reading[n].temperature_k = cup->temperature_k;
        error[n] = 0.05; // cup, watch and thermometer of a workshop
        if (ow_oil_cup_viscosity(cup->nozzle_mm, cup->seconds, &study->reading[n].kinematic_m2_s) ==
            OW_ERROR_RANGE) {
            error[n] = 0.15;
            snprintf(
                text, sizeof text,
                "cup time %.4g s is outside 30 to 100 s, where ISO 2431 holds; it is given little weight",
                cup->seconds);
            ow_study_note(study, part, text);
        }
    }
    study->reading_count = n;
    return ow_oil_check_readings(study->reading, n, part, faults);
}

static double straight_log(double a, double b, double temperature_k) {
    return log(ow_oil_walther_value(a, b, temperature_k));
}

/// Liquid viscosity at the knots and its error, which grows where the forms of the law part from each other.
static void fill_viscosity(OwOilStudy *study, const OwEstimate *e) {
    OwFluid *fluid = &study->fluid;
    double liquid[OW_CURVE_POINTS];
    const OwViscosityPoint two[] = {{313.15, ow_estimate_kinematic(e, 313.15)},
                                    {373.15, ow_estimate_kinematic(e, 373.15)}};
    double a = 0.0, b = 0.0;
    const bool has_line = ow_oil_walther_fit(two, 2, &a, &b) == OW_OK;
    double border[2] = {0.0, 0.0};
    for (int i = 0; i < 2; ++i) {
        const double t = i ? 373.15 : 293.15;
        border[i] = has_line ? fabs(log(ow_estimate_kinematic(e, t)) - straight_log(a, b, t)) : 0.0;
    }
    double error[OW_CURVE_POINTS];
    double before = 10.0;
    for (int i = 0; i < OW_CURVE_POINTS; ++i) {
        const double t = ow_curve_knot(i);
        liquid[i] = fmin(ow_estimate_kinematic(e, t), before);
        before = liquid[i];
        double form = 0.0;
        if (e->has_composition && has_line && (t < 293.15 || t > 373.15)) {
            form = 0.5 * fmax(0.0, fabs(log(liquid[i]) - straight_log(a, b, t)) - border[t > 373.15]);
        } else if (!e->has_composition) {
            form = 0.004 * fmax(0.0, fmax(fluid->valid_low_k - t, t - fluid->valid_high_k));
        }
        const double of_liquid = hypot(ow_estimate_error(e, t), form);
        fluid->liquid_error[i] = of_liquid * study->quantile / 1.645; // of a normal band as wide
        error[i] = hypot(of_liquid, ow_wax_error(&fluid->wax, ow_wax_share(&fluid->wax, t)));
    }
    ow_curve_fill(&fluid->kinematic_m2_s, liquid);
    ow_curve_fill(&study->log_error, error);
}

/// A reading that the name, the profile and the use do not explain is worth a word.
static void say_surprise(const OwEstimate *e, const double *error, OwOilStudy *study, const char *part) {
    char text[256];
    for (int i = 0; i < study->reading_count; ++i) {
        const OwViscosityPoint *p = &study->reading[i];
        const double off = log(p->kinematic_m2_s / ow_estimate_kinematic(e, p->temperature_k));
        if (fabs(off) > 3.0 * hypot(error[i], ow_estimate_error(e, p->temperature_k))) {
            snprintf(text, sizeof text,
                     "reading %d is %.0f %% %s than the description explains: another oil, %s, or a wrong "
                     "temperature",
                     i + 1, 100.0 * fabs(exp(off) - 1.0), off > 0.0 ? "thicker" : "thinner",
                     off > 0.0 ? "thickened by use" : "thinned by a fuel or solvent");
            ow_study_note(study, part, text);
            return;
        }
    }
}

static void say_validity(const OwEstimate *e, OwOilStudy *study, const char *part) {
    const OwFluid *fluid = &study->fluid;
    char text[256];
    snprintf(text, sizeof text,
             "the viscosity is known from %.3g to %.3g degC; outside that it is a guess with a wide band",
             fluid->valid_low_k - OW_ZERO_CELSIUS_K, fluid->valid_high_k - OW_ZERO_CELSIUS_K);
    ow_study_note(study, part, text);
    if (e->has_composition && study->has_composition) {
        if (e->composition.hydroxyls > 0.05) {
            ow_study_note(
                study, part,
                "more than 5 % hydroxy acids (castor, lesquerella): outside the profile models, trust "
                "readings only");
        }
        if (e->composition.carbons < 16.5 && !(e->composition.carbons > 12.0 && study->reading_count)) {
            ow_study_note(study, part,
                          "a mean chain below 16.5 carbons: the models rest on one such oil, coconut");
        }
        if (e->composition.iodine > 170.0 || e->composition.iodine < 10.0) {
            ow_study_note(study, part,
                          "iodine value outside 10 to 170: beyond the oils the models were fitted to");
        }
    }
    snprintf(text, sizeof text,
             "below the cloud point (%.3g degC) after one cold night; days of cold make more",
             fluid->cloud_point_k - OW_ZERO_CELSIUS_K);
    ow_study_note(study, part, text);
}

OwStatus ow_oil_study_single(const OwOilSpec *said, OwOilStudy *study, OwFaults *faults) {
    OwOilSpec meant = *said;
    const OwOilEntry *entry = ow_oil_entry_meant(said->name, &meant.is_used);
    const OwOilSpec *spec = &meant;
    const char *part = spec->name[0] ? spec->name : "oil";
    char text[256], remedy[256];
    OwStatus status = ow_oil_check_spec(spec, part, faults);
    if (status != OW_OK) {
        return status;
    }
    const bool is_bare = spec->point_count == 0 && spec->cup_count == 0 &&
                         !ow_study_has_profile(spec->profile) && !spec->is_used && spec->polar_share == 0.0;
    if (!entry && is_bare) {
        const char *nearest = ow_oil_entry_nearest(spec->name);
        snprintf(text, sizeof text, "no oil is known by the name \"%.60s\"", spec->name);
        snprintf(remedy, sizeof remedy, "%s%s%sgive viscosity readings or a fatty-acid profile",
                 nearest ? "did you mean \"" : "", nearest ? nearest : "", nearest ? "\"? Otherwise " : "");
        return ow_oil_fault(faults, OW_ERROR_VALUE, OW_FAULT_ERROR, part, text, remedy);
    }
    double error[OW_OIL_MAX_POINTS + OW_OIL_MAX_CUPS];
    status = collect(spec, study, error, part, faults);
    if (status != OW_OK) {
        return status;
    }
    OwFluid *fluid = &study->fluid;
    const int count = study->reading_count;
    study->has_fit = count >= 2 &&
                     ow_oil_walther_fit(study->reading, count, &study->walther_a, &study->walther_b) == OW_OK;
    if (study->has_fit &&
        !(study->walther_b > 2.0 && study->walther_b < 6.0)) { // plant oils 2.6 to 3.6, fuels to 5
        snprintf(text, sizeof text,
                 "the Walther slope of the readings is %.3g; oils and fuels lie between 2 and 6: measure "
                 "again, further "
                 "apart",
                 study->walther_b);
        ow_study_note(study, part, text);
    }
    // A free name with no profile: thin at 40 degC can only be a fuel, thick a plant oil.
    fluid->kind = entry ? entry->kind : OW_OIL_PLANT;
    if (!entry && !ow_study_has_profile(spec->profile) && count > 0) {
        const double at_40 = study->has_fit ? ow_oil_walther_value(study->walther_a, study->walther_b, 313.15)
                                            : study->reading[0].kinematic_m2_s;
        fluid->kind = at_40 < 10e-6 ? OW_OIL_PETROLEUM : OW_OIL_PLANT;
    }
    if (fluid->kind != OW_OIL_PLANT && ow_study_has_profile(spec->profile)) {
        return ow_oil_fault(faults, OW_ERROR_VALUE, OW_FAULT_ERROR, part,
                            "a fatty-acid profile is given for a fuel that is no plant oil",
                            "leave the profile out, or give the oil a free name");
    }
    if (fluid->kind != OW_OIL_PLANT && (spec->is_used || spec->polar_share > 0.0)) {
        return ow_oil_fault(faults, OW_ERROR_VALUE, OW_FAULT_ERROR, part,
                            "use for frying is said of a fuel that is no plant oil",
                            "leave it out, or give readings");
    }
    snprintf(fluid->name, sizeof fluid->name, "%s", spec->name[0] ? spec->name : "oil");
    OwEstimate e;
    status = expect(spec, entry, study, &e, faults);
    if (status != OW_OK) {
        return status;
    }
    thicken(spec, entry, study, &e);
    say_surprise(&e, error, study, part);
    ow_estimate_readings(&e, study->reading, error, count, study->weight);
    e.freedom += count;
    widen(study->reading, count, 20.0, &fluid->valid_low_k, &fluid->valid_high_k);
    study->quantile = gsl_cdf_tdist_Pinv(0.95, e.freedom);
    for (int i = 0; i < count; ++i) {
        study->residual[i] =
            study->reading[i].kinematic_m2_s / ow_estimate_kinematic(&e, study->reading[i].temperature_k) -
            1.0;
        if (study->weight[i] < 0.2) {
            snprintf(
                text, sizeof text,
                "reading %d (%.4g mm2/s at %.4g degC) does not fit the others and is given little weight",
                i + 1, 1e6 * study->reading[i].kinematic_m2_s,
                study->reading[i].temperature_k - OW_ZERO_CELSIUS_K);
            ow_study_note(study, part, text);
        }
    }
    ow_study_fill_wax(spec, entry, &e, study);
    fill_viscosity(study, &e);
    ow_study_fill_density(spec, entry, &e, study);
    fluid->surface_tension_n_m = entry                         ? entry->surface_tension_n_m
                                 : fluid->kind == OW_OIL_PLANT ? 0.032
                                                               : 0.028;
    // Ostwald coefficient of air: oil .08 (from memory: Battino, Evans & Danforth 1968, JAOCS 45:830, olive
    // oil); petroleum by ASTM D2779 near 15 degC, 7.70 L (0.980 - d) with L of 0.108 (from memory).
    fluid->air_solubility = fluid->kind == OW_OIL_PLANT
                                ? 0.08
                                : 7.70 * 0.108 * (0.980 - fmin(study->density_15.value, 950.0) / 1000.0);
    fluid->water_share = spec->water_share;
    ow_oil_fill_rest(fluid);
    ow_study_fill_values(spec, entry, &e, study);
    say_validity(&e, study, part);
    return OW_OK;
}

OwOilValue ow_oil_study_viscosity(const OwOilStudy *study, double temperature_k) {
    const double v = ow_curve_value(&study->fluid.kinematic_m2_s, temperature_k);
    const double spread = exp(study->quantile * ow_curve_value(&study->log_error, temperature_k));
    const bool is_valid =
        temperature_k >= study->fluid.valid_low_k && temperature_k <= study->fluid.valid_high_k;
    return (OwOilValue){true,
                        v,
                        v / spread,
                        v * spread,
                        is_valid ? OW_TRUST_PUBLISHED : OW_TRUST_ASSUMED,
                        is_valid ? "" : "outside validity"};
}

void ow_oil_study_clear(OwOilStudy *study) {
    if (study) {
        ow_faults_clear(&study->notes);
    }
}
