// SPDX-License-Identifier: GPL-3.0-or-later
// What is in the vessel, by size class: nothing appears and nothing is lost when it moves.
#include "base/text.h"
#include "yard/guard.h"
#include "yard/plan_walk.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

OwStatus ow_yard_plan_kit_make(const OwYard *yard, OwPlanKit *kit) {
    *kit = (OwPlanKit){0};
    size_t blends = 0;
    for (int i = 0; i < yard->step_count; i++) {
        blends += yard->steps[i].kind == OW_PLAN_BLEND ? 1 : 0;
    }
    // One more at the end: room for what is added while a blend is made.
    kit->fluids = calloc(blends + 2, sizeof *kit->fluids);
    if (kit->fluids == NULL) {
        return OW_ERROR_MEMORY;
    }
    OwFaults faults = {0};
    OwStatus status = ow_oil_make(&yard->oil, &kit->fluids[0], &faults);
    kit->count = 1;
    for (int i = 0; i < yard->step_count && status == OW_OK; i++) {
        if (yard->steps[i].kind != OW_PLAN_BLEND) {
            continue;
        }
        OwFluid *added = &kit->fluids[blends + 1];
        OwOilSpec spec = {0};
        (void)ow_text_copy(spec.name, sizeof spec.name, yard->steps[i].as.blend.with);
        status = ow_oil_make(&spec, added, &faults);
        if (status == OW_OK) {
            const double share = yard->steps[i].as.blend.share, shares[2] = {1.0 - share, share};
            const OwFluid *const both[2] = {&kit->fluids[kit->count - 1], added};
            status = ow_oil_blend(both, shares, 2, "blend", &kit->fluids[kit->count], &faults);
            kit->count++;
        }
    }
    ow_faults_clear(&faults);
    if (status != OW_OK) {
        ow_yard_plan_kit_clear(kit);
    }
    return status;
}

void ow_yard_plan_kit_clear(OwPlanKit *kit) {
    free(kit->fluids);
    *kit = (OwPlanKit){0};
}

const OwFluid *ow_yard_plan_oil(const OwPlanState *state) {
    return &state->kit->fluids[state->fluid];
}

double ow_yard_plan_edge(int i) {
    return OW_YARD_FINEST_M * exp2(0.5 * i);
}

double ow_yard_plan_size(int i) {
    return OW_YARD_FINEST_M * exp2(0.5 * i + 0.25);
}

int ow_yard_plan_class(double size_m) {
    const double i = 2.0 * log2(size_m / OW_YARD_FINEST_M);
    return (int)ow_hold(floor(i), 0.0, OW_YARD_CLASSES - 1);
}

static double sum(const double *kg) {
    double all = 0.0;
    for (int i = 0; i < OW_YARD_CLASSES; i++) {
        all += kg[i];
    }
    return all;
}

double ow_yard_plan_water(const OwPlanState *state) {
    return state->dissolved_kg + sum(state->water_kg);
}

OwStream ow_yard_plan_stream(const OwPlanState *state) {
    return (OwStream){.oil_kg = state->oil_kg,
                      .acid_kg = state->acid_kg,
                      .dissolved_water_kg = state->dissolved_kg,
                      .free_water_kg = sum(state->water_kg),
                      .solids_kg = sum(state->solids_kg)};
}

double ow_yard_plan_volume(const OwPlanState *state, double temperature_k) {
    return state->oil_kg / ow_curve_value(&ow_yard_plan_oil(state)->density_kg_m3, temperature_k) +
           ow_yard_plan_water(state) / ow_water_density(temperature_k) +
           sum(state->solids_kg) / state->yard->incoming.crumb_kg_m3;
}

OwTankShape ow_yard_plan_tank(const OwPlanState *state) {
    const OwVessel *vessel = &state->yard->vessels[state->vessel];
    const double floor_m2 = 0.25 * OW_PI * vessel->diameter_m * vessel->diameter_m;
    return (OwTankShape){.diameter_m = vessel->diameter_m,
                         .height_m = fmax(ow_yard_plan_volume(state, state->temperature_k) / floor_m2, 1e-4),
                         .insulation_w_m2k = vessel->insulation_w_m2k,
                         .metal_kg = vessel->metal_kg};
}

/// Oil with the acid and the dissolved water in it; `share` 0..1.
static void lose_oil(OwPlanState *state, double share, OwStream *out) {
    const double oil = share * state->oil_kg, acid = share * state->acid_kg,
                 dissolved = share * state->dissolved_kg;
    state->oil_kg -= oil;
    state->acid_kg -= acid;
    state->dissolved_kg -= dissolved;
    out->oil_kg += oil;
    out->acid_kg += acid;
    out->dissolved_water_kg += dissolved;
}

void ow_yard_plan_lose(OwPlanState *state, double share, OwStream *out) {
    const double part = ow_hold(share, 0.0, 1.0);
    lose_oil(state, part, out);
    for (int i = 0; i < OW_YARD_CLASSES; i++) {
        const double water = part * state->water_kg[i], solids = part * state->solids_kg[i];
        state->water_kg[i] -= water;
        state->solids_kg[i] -= solids;
        out->free_water_kg += water;
        out->solids_kg += solids;
    }
}

void ow_yard_plan_take_oil(OwPlanState *state, double oil_kg, OwStream *out) {
    if (!(state->oil_kg > 0.0)) {
        return;
    }
    lose_oil(state, ow_hold(oil_kg / state->oil_kg, 0.0, 0.9), out);
}

void ow_yard_plan_equilibrate(OwPlanState *state) {
    double room =
        state->oil_kg * ow_yard_soluble(&state->solubility, state->temperature_k) - state->dissolved_kg;
    if (room < 0.0) {
        state->dissolved_kg += room;
        state->water_kg[ow_yard_plan_class(OW_YARD_HAZE_M)] -= room;
        return;
    }
    for (int i = 0; i < OW_YARD_CLASSES && room > 0.0; i++) {
        const double part = fmin(room, state->water_kg[i]);
        state->water_kg[i] -= part;
        state->dissolved_kg += part;
        room -= part;
    }
}

double ow_yard_plan_acid_share(double acid_mg_g) {
    return acid_mg_g * 28.2 / 56.1 / 100.0;
}

double ow_yard_plan_wanted(const OwYard *yard, const OwSolubility *solubility) {
    return 0.9 * fmin(yard->targets.water_share, ow_yard_soluble(solubility, yard->targets.coldest_k));
}
