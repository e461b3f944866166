// SPDX-License-Identifier: GPL-3.0-or-later
// Drying: with air, under vacuum, by hot settling; and why boiling is refused.
#include "yard/guard.h"

#include <math.h>
#include <stdio.h>

#define GAS_WATER_J_KGK 461.52 // R/M of water vapour
#define AIR_J_KGK 1006.0
#define VAPOUR_J_KGK 1860.0
// Water that comes out of solution is a fine haze (assumed sizes).
static const OwSizes haze = {OW_SIZES_LOG_NORMAL, 10e-6, 0.5};

/// Answers what needs no law: inputs, danger, dry already. True when answered.
static bool answered(const OwDryJob *job, OwDry *dry) {
    *dry = (OwDry){0};
    if (!job || !(job->oil_kg > 0.0 && job->oil_kg <= 1e9) || !ow_is_positive(job->temperature_k) ||
        !(job->water_share >= 0.0) || !(job->water_share < 1.0) || !ow_is_positive(job->target_share)) {
        dry->time =
            ow_yard_answer(OW_REACH_UNKNOWN, "oil mass, temperature, water content or target is missing");
        return true;
    }
    dry->end_share = dry->floor_share = job->water_share;
    if (job->temperature_k > OW_HEAT_LIMIT_K) {
        dry->time = ow_yard_answer(OW_REACH_REFUSED,
                                   "%s is over %s: water under the oil turns to steam and throws the oil out",
                                   ow_degrees(job->temperature_k).text, ow_degrees(OW_HEAT_LIMIT_K).text);
        return true;
    }
    if (job->water_share <= job->target_share) {
        dry->time = ow_yard_answer(OW_REACH_ALREADY, "it holds %.0f mg/kg now", 1e6 * job->water_share);
        return true;
    }
    return false;
}

/// Fills floor and end; true when the target lies above the floor.
static bool reachable(const OwDryJob *job, double floor_share, OwDry *dry) {
    dry->floor_share = fmin(floor_share, job->water_share);
    const bool is_reached = job->target_share > dry->floor_share;
    dry->end_share = is_reached ? job->target_share : dry->floor_share;
    dry->water_kg = (job->water_share - dry->end_share) * job->oil_kg;
    return is_reached;
}

OwDry ow_yard_dry_bubble(const OwDryJob *job, const OwDryAir *air) {
    OwDry dry;
    if (answered(job, &dry)) {
        return dry;
    }
    if (!air || !(air->flow_m3_s > 0.0 && air->flow_m3_s <= 1e6) || !ow_is_positive(air->temperature_k) ||
        !(air->relative >= 0.0)) {
        dry.time = ow_yard_answer(OW_REACH_UNKNOWN, "the air's flow, temperature or humidity is missing");
        return dry;
    }
    const double p = air->pressure_pa > 0.0 ? ow_hold(air->pressure_pa, 1.0, 1e8) : OW_ATMOSPHERE_PA,
                 ps = ow_air_saturation_pa(job->temperature_k);
    if (!(p > 1.02 * ps)) {
        dry.time =
            ow_yard_answer(OW_REACH_REFUSED, "water boils at %s under this air pressure: keep the oil cooler",
                           ow_degrees(ow_air_dew_point_k(p)).text);
        return dry;
    }
    const double in = ow_air_humidity_ratio(air->temperature_k, air->relative, p);
    const double flow = air->flow_m3_s / ow_air_volume(air->temperature_k, in, p); // kg of dry air a second
    const double approach = ow_hold(ow_positive(air->approach, 1.0), 1e-3, 1.0), e = OW_AIR_RATIO;
    const double soluble = ow_yard_soluble(&job->solubility, job->temperature_k);
    // Out at activity a: W = e a ps / (p - a ps). Equal to the inlet's at a0.
    const double slope = (e + in) * ps, a0 = in * p / slope;
    const bool is_reached = reachable(job, a0 < 1.0 ? a0 * soluble : job->water_share, &dry);
    const double a_now = fmin(job->water_share / soluble, 1.0), a_end = fmin(dry.end_share / soluble, 1.0);
    dry.rate_kg_s = fmax(flow * approach * (e * a_now * ps / (p - a_now * ps) - in), 0.0);
    dry.end_rate_kg_s = fmax(flow * approach * (e * a_end * ps / (p - a_end * ps) - in), 0.0);
    if (!is_reached) {
        dry.end_rate_kg_s = 0.0;
        dry.time = ow_yard_answer(
            OW_REACH_NEVER,
            dry.water_kg > 0.0 ? "inlet air of %s and %.0f %% humidity is too humid: oil at %s comes down to "
                                 "%.0f mg/kg, not %.0f; warm the oil or wait for drier air"
                               : "inlet air of %s and %.0f %% humidity would wet this oil at %s (%.0f mg/kg "
                                 "now, %.0f wanted)",
            ow_degrees(ow_hold(air->temperature_k, 173.15, 473.15)).text,
            100.0 * ow_hold(air->relative, 0.0, 1.0), ow_degrees(job->temperature_k).text,
            1e6 * dry.floor_share, 1e6 * job->target_share);
        return dry;
    }
    // Free water leaves at a constant rate; dissolved water by the integral of da / (W(a) - W_in).
    const double free_start = fmax(job->water_share - soluble, 0.0),
                 free_end = fmax(dry.end_share - soluble, 0.0);
    const double saturated = e * ps / (p - ps) - in;
    double sum = (free_start - free_end) / saturated;
    if (a_end < a_now) {
        sum += soluble * ((p - ps * a0) * log((a_now - a0) / (a_end - a0)) - ps * (a_now - a_end)) / slope;
    }
    const double time = sum * job->oil_kg / (flow * approach);
    dry.time = ow_yard_after(time);
    if (dry.time.reach == OW_REACH_YES) {
        dry.air_m3 = air->flow_m3_s * time;
        dry.heat_j = dry.water_kg * ow_air_latent(job->temperature_k) +
                     flow * time * (AIR_J_KGK + VAPOUR_J_KGK * in) *
                         (job->temperature_k - ow_hold(air->temperature_k, 173.15, 473.15));
    }
    return dry;
}

OwDry ow_yard_dry_vacuum(const OwDryJob *job, double chamber_pa, double free_air_m3_s) {
    OwDry dry;
    if (answered(job, &dry)) {
        return dry;
    }
    if (!(chamber_pa >= 0.0) || !(free_air_m3_s > 0.0 && free_air_m3_s <= 1e6)) {
        dry.time = ow_yard_answer(OW_REACH_UNKNOWN, "chamber pressure or pump displacement is missing");
        return dry;
    }
    const double ps = ow_air_saturation_pa(job->temperature_k), a0 = chamber_pa / ps;
    const double soluble = ow_yard_soluble(&job->solubility, job->temperature_k);
    const double pumped = free_air_m3_s / (GAS_WATER_J_KGK * job->temperature_k); // kg/s a Pa
    const bool is_reached = reachable(job, a0 < 1.0 ? a0 * soluble : job->water_share, &dry);
    const double a_now = fmin(job->water_share / soluble, 1.0), a_end = fmin(dry.end_share / soluble, 1.0);
    dry.rate_kg_s = pumped * fmax(a_now * ps - chamber_pa, 0.0);
    dry.end_rate_kg_s = is_reached ? pumped * fmax(a_end * ps - chamber_pa, 0.0) : 0.0;
    if (!is_reached) {
        dry.time = ow_yard_answer(OW_REACH_NEVER,
                                  "at %s and %.0f mbar (%.1f inHg) absolute the oil keeps %.0f mg/kg, more "
                                  "than the %.0f wanted: warm it or pump lower",
                                  ow_degrees(job->temperature_k).text, chamber_pa / 100.0,
                                  chamber_pa / 3386.389, 1e6 * dry.floor_share, 1e6 * job->target_share);
        return dry;
    }
    const double free_start = fmax(job->water_share - soluble, 0.0),
                 free_end = fmax(dry.end_share - soluble, 0.0);
    double time = job->oil_kg * (free_start - free_end) / (pumped * (ps - chamber_pa));
    if (a_end < a_now) {
        time += job->oil_kg * soluble / (pumped * ps) * log((a_now - a0) / (a_end - a0));
    }
    dry.time = ow_yard_after(time);
    if (dry.time.reach == OW_REACH_YES) {
        dry.air_m3 = free_air_m3_s * time;
        dry.heat_j = dry.water_kg * ow_air_latent(job->temperature_k);
    }
    return dry;
}

double ow_yard_settled_water(const OwDryJob *job, const OwSettle *settle, const OwSizes *sizes,
                             const OwCooling *cooling, double time_s) {
    const double water = ow_hold(job->water_share, 0.0, 1.0);
    const double start = fmin(water, ow_yard_soluble(&job->solubility, cooling->start_k));
    const double now = fmin(start, ow_yard_soluble(&job->solubility, ow_cooling_value(cooling, time_s)));
    const double cut = ow_yard_settle_cut(settle, cooling, time_s);
    return now + (water - start) * (1.0 - ow_sizes_removed(sizes, cut)) +
           (start - now) * (1.0 - ow_sizes_removed(&haze, cut));
}

OwDry ow_yard_dry_settle(const OwDryJob *job, const OwSettle *settle, const OwSizes *sizes,
                         const OwCooling *cooling) {
    OwDry dry;
    if (answered(job, &dry)) {
        return dry;
    }
    if (!settle || !settle->oil || !sizes || !cooling || !ow_is_positive(settle->height_m) ||
        !ow_is_positive(cooling->start_k)) {
        dry.time = ow_yard_answer(OW_REACH_UNKNOWN, "oil, tank height or temperature is missing");
        return dry;
    }
    const double end_k = ow_is_positive(cooling->constant_s) ? cooling->around_k : cooling->start_k;
    const double kept = ow_yard_soluble(&job->solubility, end_k);
    if (!reachable(job, kept, &dry)) {
        dry.time = ow_yard_answer(OW_REACH_NEVER,
                                  "at %s the oil keeps %.0f mg/kg dissolved, more than the %.0f wanted: "
                                  "settle cooler, then dry with air or vacuum",
                                  ow_degrees(end_k).text, 1e6 * kept, 1e6 * job->target_share);
        return dry;
    }
    double low = 1.0, high = OW_YARD_LONGEST_S;
    if (ow_yard_settled_water(job, settle, sizes, cooling, high) > job->target_share) {
        dry.time =
            ow_yard_answer(OW_REACH_NEVER, "drops too fine to settle keep it above %.0f mg/kg for ten years",
                           1e6 * job->target_share);
        dry.floor_share = dry.end_share = ow_yard_settled_water(job, settle, sizes, cooling, high);
        dry.water_kg = (job->water_share - dry.end_share) * job->oil_kg;
        return dry;
    }
    for (int i = 0; i < 40; i++) {
        const double mid = sqrt(low * high);
        if (ow_yard_settled_water(job, settle, sizes, cooling, mid) > job->target_share) {
            low = mid;
        } else {
            high = mid;
        }
    }
    dry.time = ow_yard_after(high);
    return dry;
}

OwDry ow_yard_dry_boil(const OwDryJob *job) {
    OwDry dry = {0};
    if (job) {
        dry.floor_share = dry.end_share = ow_hold(job->water_share, 0.0, 1.0);
    }
    dry.time = ow_yard_answer(
        OW_REACH_REFUSED,
        "boiling water off above 100 °C (212 °F) is not planned: water under hot oil turns to steam at once, "
        "the oil foams over and throws itself out; dry below 95 °C (203 °F) with air or vacuum");
    return dry;
}
