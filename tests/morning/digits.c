// SPDX-License-Identifier: GPL-3.0-or-later
// Prints a digest of every digit of a few mornings: the same whatever the optimisation (digits.sh).
#include "digest.h"
#include "support_rigs.h"

#include <inttypes.h>
#include <stdio.h>

static void print_digest(const char *name, OwRig *rig) {
    OwPlan *plan = ow_support_plan(rig);
    OwRecord *record = NULL;
    const OwStatus status = ow_morning_run(plan, NULL, &record, NULL);
    (void)printf("%s %d %d %016" PRIx64 "\n", name, (int)status, record ? record->sample_count : 0,
                 record ? ow_support_digest(record) : 0);
    ow_record_destroy(&record);
    ow_plan_destroy(&plan);
    ow_rig_destroy(&rig);
}

int main(void) {
    print_digest("single", ow_support_single_tank(268.15));
    print_digest("single-warm", ow_support_single_tank(293.15));
    print_digest("two", ow_support_two_tanks(278.15));
    print_digest("suction", ow_support_suction(288.15));
    return 0;
}
