// SPDX-License-Identifier: GPL-3.0-or-later
// What a yard plan says of a litre of clean oil, put over the figures of a cost file.
#include <string.h>

#include "cost_cli.h"
#include "oilwright/yard_plan.h"

/// What a plan and a yard differ by, as a share (assumed).
#define PLAN_ERROR 0.15

static void take(OwCostLearned *learned, OwCostInput input, double value, double share) {
    learned->has[input] = true;
    learned->value[input] = value;
    learned->error[input] = share * (value < 0.0 ? -value : value);
}

static OwStatus tell(OwFaults *faults, const char *path, OwSeverity severity, const char *message,
                     const char *remedy) {
    return ow_faults_tell(faults, OW_ERROR_VALUE, severity, path, NULL, message, remedy);
}

/// A path that the cost file names is meant from where that file stands.
static bool place_beside(const char *path, const char *beside, char *out, size_t size) {
    const char *slash = beside != NULL && path[0] != '/' ? strrchr(beside, '/') : NULL;
    const int folder = slash != NULL ? (int)(slash - beside) + 1 : 0;
    return snprintf(out, size, "%.*s%s", folder, beside != NULL ? beside : "", path) < (int)size;
}

static void take_sums(const OwYard *yard, const OwYardSums *sums, bool is_same_money,
                      OwCostLearned *learned) {
    const double loss = sums->collected_m3 > 1.0 ? 1.0 - 1.0 / sums->collected_m3 : 0.0;
    take(learned, OW_COST_ENERGY, sums->kwh * 3.6e6, PLAN_ERROR);
    take(learned, OW_COST_YARD_TIME, sums->labour_s, PLAN_ERROR);
    take(learned, OW_COST_LOSS, loss, PLAN_ERROR);
    take(learned, OW_COST_BATCH, yard->week.batch_m3, 0.0);
    take(learned, OW_COST_PICKUP_VOLUME, yard->week.pick_up_m3, PLAN_ERROR);
    take(learned, OW_COST_PICKUP_TIME, yard->week.pick_up_s, PLAN_ERROR);
    if (is_same_money) {
        take(learned, OW_COST_YARD_FILTERS, sums->filter_cost, PLAN_ERROR);
        take(learned, OW_COST_TESTS, yard->prices.tests, 0.0);
        take(learned, OW_COST_ADDITIVES, sums->blend_cost, 0.0);
        if (sums->lost_m3 > 0.0) {
            take(learned, OW_COST_WASTE_FEE, sums->waste_cost / sums->lost_m3, PLAN_ERROR);
        }
    }
}

OwStatus ow_cost_take_yard(OwCostPlan *plan, const char *path, const char *beside, OwUnits *units,
                           OwCostTaken *taken, OwFaults *faults) {
    char whole[512];
    if (!place_beside(path, beside, whole, sizeof whole)) {
        return tell(faults, path, OW_FAULT_ERROR, "the path is too long", "put the files closer together");
    }
    OwYard *yard = NULL;
    OwYardBatch *batch = NULL;
    OwStatus status = ow_yard_read_file(whole, units, &yard, faults);
    if (status == OW_OK) {
        status = ow_yard_batch_create(yard, OW_DISPLAY_METRIC, &batch);
    }
    if (status == OW_OK) {
        const OwYardSums sums = ow_yard_sums(yard, batch);
        const char *currency = yard->prices.currency;
        OwCostPlan standard;
        ow_cost_default(&standard);
        const bool is_same_money = currency[0] == '\0' || strcmp(currency, plan->currency) == 0 ||
                                   strcmp(currency, standard.currency) == 0 ||
                                   strcmp(plan->currency, standard.currency) == 0;
        if (!(sums.clean_m3 > 0.0)) {
            status = tell(faults, whole, OW_FAULT_ERROR, "no clean oil comes out of the yard's steps",
                          "see what oilwright batch says of it");
        } else {
            OwCostLearned learned = {.has = {false}};
            if (!is_same_money) {
                (void)tell(faults, whole, OW_FAULT_WARNING,
                           "its money is another currency: prices of filters, tests, additives and waste "
                           "stay the cost file's",
                           "write both in one currency");
            }
            take_sums(yard, &sums, is_same_money, &learned);
            const int count = ow_cost_learn(plan, &learned, OW_COST_FROM_YARD, faults);
            (void)snprintf(taken->yard, sizeof taken->yard,
                           "Yard plan \"%.60s\": %d figures, within 15 %% (assumed).",
                           yard->name[0] != '\0' ? yard->name : whole, count);
        }
    }
    ow_yard_batch_destroy(&batch);
    ow_yard_destroy(&yard);
    return status;
}
