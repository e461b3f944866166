// SPDX-License-Identifier: GPL-3.0-or-later
// The batch on its way: what is in it by size, and the steps that change it. Private to the yard.
#ifndef OW_YARD_PLAN_WALK_H
#define OW_YARD_PLAN_WALK_H

#include "oilwright/yard_plan.h"

/// Size classes of drops and crumbs, a factor sqrt(2) apart, from 0.5 um to 2 mm; the ends are open.
#define OW_YARD_CLASSES 24
#define OW_YARD_FINEST_M 0.5e-6
/// Water that comes out of solution is a fine haze (assumed).
#define OW_YARD_HAZE_M 10e-6

/// The fluids of a yard, made once: the oil as it comes, then after each blend.
typedef struct OwPlanKit {
    OwFluid *fluids;
    int count;
} OwPlanKit;
OwStatus ow_yard_plan_kit_make(const OwYard *yard, OwPlanKit *kit);
void ow_yard_plan_kit_clear(OwPlanKit *kit);

/// What is in the vessel.
typedef struct OwPlanState {
    const OwYard *yard;
    const OwPlanKit *kit;
    int fluid; ///< of the kit
    OwSolubility solubility;
    double oil_kg, acid_kg, dissolved_kg;
    double water_kg[OW_YARD_CLASSES], solids_kg[OW_YARD_CLASSES];
    double temperature_k;
    int vessel;
} OwPlanState;

const OwFluid *ow_yard_plan_oil(const OwPlanState *state);
/// Middle of a class, its lower edge, and the class of a size.
double ow_yard_plan_size(int i);
double ow_yard_plan_edge(int i);
int ow_yard_plan_class(double size_m);
OwStream ow_yard_plan_stream(const OwPlanState *state);
/// Volume at a temperature, m3: the three stuffs side by side.
double ow_yard_plan_volume(const OwPlanState *state, double temperature_k);
/// The vessel as wetted by the batch.
OwTankShape ow_yard_plan_tank(const OwPlanState *state);
/// Moves a share of all that is in the vessel out.
void ow_yard_plan_lose(OwPlanState *state, double share, OwStream *out);
/// Moves oil out, with its acid and dissolved water; at most nine tenths of what is there.
void ow_yard_plan_take_oil(OwPlanState *state, double oil_kg, OwStream *out);
/// Dissolves free water, finest drops first, or sheds it as haze, until it is at rest at its temperature.
void ow_yard_plan_equilibrate(OwPlanState *state);
/// Water, kg, dissolved and free.
double ow_yard_plan_water(const OwPlanState *state);
/// mg KOH/g as a mass share of free acid (as oleic): 28.2 / 56.1 of a percent (AOCS Ca 5a-40).
double ow_yard_plan_acid_share(double acid_mg_g);
/// Water that the targets ask of a dry step, over the whole: a tenth below both limits.
double ow_yard_plan_wanted(const OwYard *yard, const OwSolubility *solubility);

/// Stands for a time; what falls is drawn off.
void ow_yard_plan_settle(OwPlanState *state, double time_s, double around_k, OwYardRow *row);
/// Warms; true when it is as warm as asked.
bool ow_yard_plan_heat(OwPlanState *state, double to_k, OwYardRow *row);
void ow_yard_plan_dry(OwPlanState *state, const OwPlanDry *dry, OwYardRow *row);
void ow_yard_plan_filter(OwPlanState *state, const OwPlanFilter *filter, OwYardRow *row);
void ow_yard_plan_spin(OwPlanState *state, const OwPlanCentrifuge *bowl, OwYardRow *row);
/// The temperature a vessel has after a time, and lets it come to that.
void ow_yard_plan_stand(OwPlanState *state, double time_s, double around_k);

/// Walks the batch: rows, balance and sums of `batch`; nothing is judged.
void ow_yard_plan_walk(const OwYard *yard, const OwPlanKit *kit, OwYardBatch *batch);

/// Judges a walked batch; the findings have no mends yet.
void ow_yard_plan_judge(const OwYard *yard, OwYardBatch *batch);
/// Solves for what mends each failed finding. OW_ERROR_MEMORY.
OwStatus ow_yard_plan_mend(const OwYard *yard, const OwPlanKit *kit, OwYardBatch *batch);
/// Seconds as people say it: "2 h 10 min", "3 days".
void ow_yard_plan_time_text(double time_s, char *text, size_t size);

#endif
