// SPDX-License-Identifier: GPL-3.0-or-later
// The fluid as the judge asks for it: viscosity of a mix, the temperature for a viscosity, heat capacity.
#include <math.h>

#include "judge/work.h"

static double mix(const OwJudgeWork *work, double share, double (*ask)(const OwFluid *, double),
                  double temperature_k) {
    if (!isfinite(temperature_k) || !isfinite(share)) {
        return 0.0;
    }
    const double second = share < 0.0 ? 0.0 : share > 1.0 ? 1.0 : share;
    double sum = 0.0;
    for (int i = 0; i < OW_MAX_FLUIDS; i++) {
        const double part = i == 0 ? 1.0 - second : second;
        if (part <= 0.0) {
            continue;
        }
        if (work->fluid[i] == NULL) {
            return 0.0;
        }
        sum += part * ask(work->fluid[i], temperature_k);
    }
    return sum;
}

static double log_kinematic(const OwFluid *fluid, double temperature_k) {
    return ow_curve_value(&fluid->log_kinematic, temperature_k);
}

static double heat_capacity(const OwFluid *fluid, double temperature_k) {
    return ow_curve_value(&fluid->density_kg_m3, temperature_k) *
           ow_curve_value(&fluid->specific_heat_j_kgk, temperature_k);
}

static double density(const OwFluid *fluid, double temperature_k) {
    return ow_curve_value(&fluid->density_kg_m3, temperature_k);
}

double ow_judge_kinematic(const OwJudgeWork *work, double temperature_k, double share) {
    // A fluid that is known has a density; that tells "unknown" from a logarithm that happens to be 0.
    if (mix(work, share, density, temperature_k) <= 0.0) {
        return 0.0;
    }
    const double kinematic = exp(mix(work, share, log_kinematic, temperature_k));
    return isfinite(kinematic) ? kinematic : 0.0;
}

double ow_judge_heat_capacity(const OwJudgeWork *work, double temperature_k, double share) {
    return mix(work, share, heat_capacity, temperature_k);
}

double ow_judge_density(const OwJudgeWork *work, double temperature_k, double share) {
    return mix(work, share, density, temperature_k);
}

double ow_judge_temperature_for(const OwJudgeWork *work, double kinematic, double share) {
    double low = OW_CURVE_LOW_K;
    double high = 450.0;
    const double thinnest = ow_judge_kinematic(work, high, share);
    if (!(kinematic > 0.0) || thinnest <= 0.0 || thinnest > kinematic) {
        return 0.0;
    }
    if (ow_judge_kinematic(work, low, share) <= kinematic) {
        return low;
    }
    for (int i = 0; i < 40; i++) {
        const double middle = 0.5 * (low + high);
        if (ow_judge_kinematic(work, middle, share) > kinematic) {
            low = middle;
        } else {
            high = middle;
        }
    }
    return high;
}
