// SPDX-License-Identifier: GPL-3.0-or-later
// A batch that stands: each size class falls its way, water sheds as it cools, the bottoms are drawn off.
#include "yard/guard.h"
#include "yard/plan_walk.h"

#include <math.h>
#include <stdio.h>

/// Below this Reynolds number a class falls by Stokes' law and its way goes with the square of its size.
#define STOKES_RE 2e-3
/// A vessel without a drain keeps at least so much behind (common practice, no source).
#define DECANT_HEEL 0.05
#define SHED_CELLS 24
/// Oil that differs more from its surroundings is stirred by currents all through its rest (assumed; even
/// less drives some, see ow_yard_still, and a tank that has come to rest with its shed is taken as still).
#define STILL_K 2.0

/// The part of a rest in which grains move: ice does not sink. Returns its length and starts `cooling` where
/// it begins, so that no integral runs over the jump at the freezing point.
static double moving(const OwSettle *settle, OwCooling *cooling, double time_s) {
    if (settle->kind != OW_GRAIN_WATER) {
        return time_s;
    }
    const bool is_cold = cooling->start_k < OW_ZERO_CELSIUS_K,
               gets_cold = ow_cooling_value(cooling, time_s) < OW_ZERO_CELSIUS_K;
    if (is_cold && gets_cold) {
        return 0.0;
    }
    if (!is_cold && !gets_cold) {
        return time_s;
    }
    const double passes_s = fmin(ow_cooling_time(cooling, OW_ZERO_CELSIUS_K).time_s, time_s);
    if (gets_cold) {
        return passes_s;
    }
    cooling->start_k = OW_ZERO_CELSIUS_K;
    return time_s - passes_s;
}

/// Share of grains at the bottom after a way, evenly filled at the start: way over height when still (Hazen
/// 1904), 1 - exp(-way / height) when currents keep it mixed (Martin & Nokes 1988).
static double sunk(double way_m, double height_m, bool is_stirred) {
    return is_stirred ? -expm1(-way_m / height_m) : fmin(way_m / height_m, 1.0);
}

/// Share of each class that has fallen to the bottom.
static void fallen(const OwPlanState *state, const OwSettle *settle, const OwCooling *rest, double rest_s,
                   bool is_stirred, double share[OW_YARD_CLASSES]) {
    OwCooling cooling = *rest;
    const double time_s = moving(settle, &cooling, rest_s),
                 hottest_k = fmax(rest->start_k, rest->constant_s > 0.0 ? rest->around_k : 0.0);
    OwOilState oil;
    ow_oil_state(ow_yard_plan_oil(state), hottest_k, &oil);
    double way = 0.0, from_m = 0.0; // of the largest class that falls by Stokes' law
    for (int i = OW_YARD_CLASSES - 1; i >= 0; i--) {
        const double size = ow_yard_plan_size(i);
        if (from_m > 0.0) {
            share[i] = sunk(way * (size / from_m) * (size / from_m), settle->height_m, is_stirred);
            continue;
        }
        way = ow_yard_settle_way(settle, size, &cooling, time_s);
        share[i] = sunk(way, settle->height_m, is_stirred);
        if (ow_yard_settle_speed(settle, size, hottest_k) * size < STOKES_RE * oil.kinematic_m2_s) {
            from_m = size;
        }
    }
}

/// Water that sheds while it cools, as haze that falls from the moment it is there; what it sheds within a
/// cell of a fixed time grid counts from the cell's end, so that waiting never looks worse. Returns what has
/// reached the bottom; the rest stands as haze.
static double shed(OwPlanState *state, const OwSettle *settle, const OwCooling *cooling, double time_s,
                   bool is_stirred) {
    if (!(cooling->constant_s > 0.0) || !(time_s > 0.0) || !(cooling->start_k > cooling->around_k)) {
        return 0.0;
    }
    OwCooling same = *cooling;
    const double moving_s = moving(settle, &same, time_s);
    double lump[SHED_CELLS + 1], at_m[SHED_CELLS + 1], way = 0.0, t = 0.0;
    double speed = ow_yard_settle_speed(settle, OW_YARD_HAZE_M, cooling->start_k);
    double dissolved = state->dissolved_kg;
    int cells = 0;
    const double grid =
        6.0 * cooling->constant_s / SHED_CELLS; // beyond six constants it is as cold as around
    while (t < time_s && cells <= SHED_CELLS) {
        const double next = cells < SHED_CELLS ? fmin(t + grid, time_s) : time_s;
        const double until = fmin(next, moving_s);
        if (until > t) {
            const double until_k = fmax(ow_cooling_value(cooling, until), OW_ZERO_CELSIUS_K);
            const double next_speed = ow_yard_settle_speed(settle, OW_YARD_HAZE_M, until_k);
            way += 0.5 * (speed + next_speed) * (until - t);
            speed = next_speed;
        }
        const double holds =
            state->oil_kg * ow_yard_soluble(&state->solubility, ow_cooling_value(cooling, next));
        lump[cells] = fmax(dissolved - holds, 0.0);
        dissolved -= lump[cells];
        at_m[cells++] = way;
        t = next;
    }
    double bottom = 0.0, haze = 0.0;
    for (int i = 0; i < cells; i++) {
        const double part = lump[i] * sunk(way - at_m[i], settle->height_m, is_stirred);
        bottom += part;
        haze += lump[i] - part;
    }
    state->dissolved_kg -= bottom + haze;
    state->water_kg[ow_yard_plan_class(OW_YARD_HAZE_M)] += haze;
    return bottom;
}

void ow_yard_plan_stand(OwPlanState *state, double time_s, double around_k) {
    if (time_s > 0.0 && state->oil_kg > 0.0) {
        const OwTankShape tank = ow_yard_plan_tank(state);
        const OwCooling cooling =
            ow_tank_cooling(&tank, ow_yard_plan_oil(state), state->oil_kg, state->temperature_k, around_k);
        state->temperature_k = ow_cooling_value(&cooling, time_s);
    }
    ow_yard_plan_equilibrate(state);
}

void ow_yard_plan_settle(OwPlanState *state, double time_s, double around_k, OwYardRow *row) {
    if (!(state->oil_kg > 0.0)) {
        return;
    }
    const OwVessel *vessel = &state->yard->vessels[state->vessel];
    const OwTankShape tank = ow_yard_plan_tank(state);
    const OwCooling cooling =
        ow_tank_cooling(&tank, ow_yard_plan_oil(state), state->oil_kg, state->temperature_k, around_k);
    const OwStream before = ow_yard_plan_stream(state);
    OwSettle settle = {.oil = ow_yard_plan_oil(state),
                       .kind = OW_GRAIN_WATER,
                       .grain_kg_m3 = state->yard->incoming.crumb_kg_m3,
                       .height_m = tank.height_m};
    settle.volume_share = (before.free_water_kg / ow_water_density(state->temperature_k) +
                           before.solids_kg / settle.grain_kg_m3) /
                          ow_yard_plan_volume(state, state->temperature_k);
    const bool is_stirred = fabs(state->temperature_k - around_k) > STILL_K;
    double water_share[OW_YARD_CLASSES], crumb_share[OW_YARD_CLASSES];
    fallen(state, &settle, &cooling, time_s, is_stirred, water_share);
    double water = 0.0, solids = 0.0;
    for (int i = 0; i < OW_YARD_CLASSES; i++) {
        const double drops = water_share[i] * state->water_kg[i];
        state->water_kg[i] -= drops;
        water += drops;
    }
    water += shed(state, &settle, &cooling, time_s, is_stirred);
    settle.kind = OW_GRAIN_CRUMB;
    fallen(state, &settle, &cooling, time_s, is_stirred, crumb_share);
    for (int i = 0; i < OW_YARD_CLASSES; i++) {
        const double crumbs = crumb_share[i] * state->solids_kg[i];
        state->solids_kg[i] -= crumbs;
        solids += crumbs;
    }
    OwStream *sludge = &row->out[OW_OUT_SLUDGE],
             *drained = vessel->has_drain ? &row->out[OW_OUT_WATER] : sludge;
    drained->free_water_kg += water;
    sludge->solids_kg += solids;
    ow_yard_plan_take_oil(state, state->yard->losses.water_oil * water, drained);
    ow_yard_plan_take_oil(state, state->yard->losses.sludge_oil * solids, sludge);
    state->temperature_k = ow_cooling_value(&cooling, time_s);
    ow_yard_plan_lose(state, vessel->has_drain ? vessel->heel : fmax(vessel->heel, DECANT_HEEL), sludge);
    ow_yard_plan_equilibrate(state);
    row->elapsed_s += time_s;
    const double cloud_k = ow_yard_plan_oil(state)->cloud_point_k;
    if (cloud_k > 0.0 && state->temperature_k < cloud_k) {
        (void)snprintf(row->note, sizeof row->note,
                       "below its cloud point of %.0f degC crystals may hold drops and crumbs up",
                       cloud_k - OW_ZERO_CELSIUS_K);
    } else if (state->temperature_k < OW_ZERO_CELSIUS_K) {
        (void)snprintf(row->note, sizeof row->note, "below 0 degC water freezes and does not sink");
    } else if (is_stirred) {
        (void)snprintf(row->note, sizeof row->note,
                       "warmer or colder than its surroundings: currents stir it, it clears slowly");
    }
}
