// SPDX-License-Identifier: GPL-3.0-or-later
// Tests that a workshop can do, with their arithmetic, uncertainty and decision.
#include "oil/fluids.h"

#include <math.h>
#include <stdio.h>

#define GAS_J_MOL_K 8.314462618

static OwStatus refuse(OwFaults *faults, const char *part, const char *text, const char *remedy) {
    return ow_oil_fault(faults, OW_ERROR_VALUE, OW_FAULT_ERROR, part, text, remedy);
}

/// A value that must be positive and finite.
static bool is_amount(double value, double most) {
    return value > 0.0 && value <= most;
}

static void decide(OwWorkshop *test, const char *unit, OwTrust trust, const char *text) {
    test->unit = unit;
    test->trust = trust;
    test->low = fmax(test->low, 0.0);
    snprintf(test->decision, sizeof test->decision, "%s", text);
}

OwStatus ow_workshop_titration(double millilitres, double blank_ml, double normality, double grams,
                               OwWorkshop *ffa, OwWorkshop *acid, OwFaults *faults) {
    if (!ffa || !acid) {
        return OW_ERROR_USE;
    }
    const double used = millilitres - blank_ml;
    if (!(millilitres >= 0.0 && millilitres <= 1000.0) || !(blank_ml >= 0.0 && blank_ml <= 100.0) ||
        !(used >= 0.0)) {
        return refuse(faults, "titration",
                      "the titrant volume must be at least the blank and neither may be negative",
                      "read the burette before and after in mL");
    }
    if (!is_amount(normality, 10.0) || !is_amount(grams, 1000.0)) {
        return refuse(faults, "titration", "normality and oil mass must be more than 0",
                      "usual: 0.1 N and 1 to 50 g of oil");
    }
    const double relative = used > 0.0 ? sqrt(pow(0.0707 / used, 2.0) + 0.02 * 0.02 + 0.01 * 0.01) : 0.0;
    const double floor_ml = used > 0.0 ? used * relative : 0.0707;
    *ffa = (OwWorkshop){.value = 28.2 * used * normality / grams};
    *acid = (OwWorkshop){.value = 56.1 * used * normality / grams};
    const double band = floor_ml * normality / grams;
    ffa->low = ffa->value - 28.2 * band;
    ffa->high = ffa->value + 28.2 * band;
    acid->low = acid->value - 56.1 * band;
    acid->high = acid->value + 56.1 * band;
    decide(acid, "mg KOH/g", OW_TRUST_PUBLISHED,
           acid->high <= 2.0  ? "within DIN 51605's 2.0: use"
           : acid->low <= 2.0 ? "at DIN 51605's limit of 2.0: repeat with more oil or weaker titrant"
           : acid->value <= 5.
               ? "over DIN 51605's 2.0: thin with better oil; copper, brass and zinc must not touch it"
               : "far over DIN 51605's 2.0: do not burn it");
    decide(ffa, "% as oleic", OW_TRUST_PUBLISHED, "see the acid value (twice this, nearly)");
    return OW_OK;
}

OwStatus ow_workshop_pan(OwPan seen, OwWorkshop *water, OwFaults *faults) {
    static const struct {
        double value, low, high;
        const char *decision;
    } rows[] = {
        [OW_PAN_QUIET] = {200.0, 0.0, 500.0, "dry enough to burn; the pan cannot see below some 500 mg/kg"},
        [OW_PAN_FIZZ] = {800.0, 400.0, 1500.0, "about DIN 51605's 750 mg/kg: settle warm and test again"},
        [OW_PAN_CRACKLE] = {2000.0, 1000.0, 4000.0, "wet: dry it before use"},
        [OW_PAN_SPIT] = {8000.0, 3000.0, 50000.0,
                         "free water: drain, settle, dry; keep face and hands away from the pan"},
    };
    if (!water) {
        return OW_ERROR_USE;
    }
    if ((unsigned)seen >= sizeof rows / sizeof rows[0]) {
        return refuse(faults, "hot pan", "unknown observation", "say quiet, fizz, crackle or spit");
    }
    *water = (OwWorkshop){.value = rows[seen].value, .low = rows[seen].low, .high = rows[seen].high};
    decide(water, "mg/kg", OW_TRUST_PRACTICE, rows[seen].decision);
    return OW_OK;
}

OwStatus ow_workshop_hydride(double rise_pa, double gas_volume_m3, double temperature_k, double grams,
                             OwWorkshop *water, OwFaults *faults) {
    if (!water) {
        return OW_ERROR_USE;
    }
    if (!(rise_pa >= 0.0 && rise_pa <= 5e6) || !is_amount(gas_volume_m3, 0.01) || !is_amount(grams, 5000.0) ||
        !(temperature_k > 233.15 && temperature_k < 373.15)) {
        return refuse(faults, "hydride",
                      "pressure rise, gas volume, oil mass and temperature must be real ones",
                      "usual: 0 to 2 bar, 0.02 to 1 L of gas space, 10 to 200 g, 0 to 40 degC");
    }
    // Half a mole of hydride frees one mole of hydrogen for each mole of water.
    const double moles = rise_pa * gas_volume_m3 / (GAS_J_MOL_K * temperature_k);
    const double ppm = 1e6 * 18.015 * moles / grams;
    // Gauge 2 kPa, gas volume 3 %, mass 1 %, temperature 1 %; the hydride reaches 92 to 100 % of the water
    // (assumed).
    const double gauge = 1e6 * 18.015 * 2000.0 * gas_volume_m3 / (GAS_J_MOL_K * temperature_k) / grams;
    const double band = sqrt(gauge * gauge + pow(0.035 * ppm, 2.0));
    *water = (OwWorkshop){.value = ppm, .low = ppm - band, .high = ppm * 1.08 + band};
    decide(water, "mg/kg", OW_TRUST_PUBLISHED,
           water->high <= 750.0  ? "within DIN 51605's 750 mg/kg: use"
           : water->low <= 750.0 ? "at DIN 51605's limit of 750 mg/kg: settle warm and test again"
                                 : "over DIN 51605's 750 mg/kg: dry it");
    return OW_OK;
}

OwStatus ow_workshop_cone(double sediment_ml, double sample_ml, double hours, OwWorkshop *solids,
                          OwFaults *faults) {
    if (!solids) {
        return OW_ERROR_USE;
    }
    if (!(sediment_ml >= 0.0) || !is_amount(sample_ml, 1e5) || !(sediment_ml <= sample_ml) ||
        !is_amount(hours, 10000.0)) {
        return refuse(faults, "cone", "sediment must lie between 0 and the sample, and time must pass",
                      "usual: a 1000 mL cone read after 24 h");
    }
    const double share = 100.0 * sediment_ml / sample_ml,
                 reading = 100.0 * fmax(0.1, 0.1 * sediment_ml) / sample_ml;
    // What has not yet come down is unknown: half as much again in the first day.
    *solids = (OwWorkshop){
        .value = share, .low = share - reading, .high = share * (1.0 + 0.5 * exp(-hours / 24.0)) + reading};
    decide(solids, "% by volume", OW_TRUST_PRACTICE,
           sediment_ml <= 0.0 ? "nothing settled: filter as usual; a cone cannot see DIN 51605's 24 mg/kg"
           : share <= 0.2     ? "a trace: draw off above it and filter"
           : share <= 2.0     ? "settle longer or warmer, draw off the top, then filter"
                              : "much sludge or water: settle in a tank, drain, and test again");
    return OW_OK;
}

OwStatus ow_workshop_drop(double seconds, double reference_seconds, double reference_m2_s,
                          OwWorkshop *viscosity, OwFaults *faults) {
    if (!viscosity) {
        return OW_ERROR_USE;
    }
    if (!is_amount(seconds, 1e5) || !is_amount(reference_seconds, 1e5) || !is_amount(reference_m2_s, 0.1)) {
        return refuse(
            faults, "drop time", "both times and the reference viscosity must be more than 0",
            "time the same pipette, emptied by its own weight, with the oil and with a known fluid");
    }
    // Laminar outflow under its own weight: time goes with the kinematic viscosity (Poiseuille). Watch 0.5 s,
    // known fluid 5 %, and thin fluids lose head in the jet.
    const double v = 1e6 * reference_m2_s * seconds / reference_seconds;
    const double relative = sqrt(pow(0.5 / seconds, 2.0) + pow(0.5 / reference_seconds, 2.0) + 0.08 * 0.08);
    *viscosity = (OwWorkshop){.value = v, .low = v * (1.0 - relative), .high = v * (1.0 + relative)};
    decide(viscosity, "mm2/s", OW_TRUST_PRACTICE,
           seconds < 10.0 || reference_seconds < 10.0 ? "times below 10 s: use a finer pipette"
                                                      : "give it as a viscosity reading at its temperature");
    return OW_OK;
}
