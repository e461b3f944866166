// SPDX-License-Identifier: GPL-3.0-or-later
// Holds a batch's last results against the limits of DIN 51605, whatever was decided over it.
#include <math.h>
#include <string.h>

#include "log_cli.h"
#include "oilwright/yard.h"

#define SOLIDS_KG_KG 24e-6 // DIN 51605: 24 mg/kg of total contamination

int ow_log_digits(double shown) {
    return shown >= 999.5 && shown < 1e9 ? (int)floor(log10(shown)) + 1 : 3;
}

bool ow_log_batch_over(const OwLogBatchRow *batch, char *text, size_t size) {
    const OwYardLimits limits = ow_yard_limits_default();
    const struct {
        bool has;
        const char *name, *unit;
        double shown, limit;
    } rows[] = {{batch->has_acid, "acid", "mg KOH/g", batch->acid_mg_g, limits.use[OW_TEST_ACID]},
                {batch->has_water, "water", "mg/kg", 1e6 * batch->water_kg_kg, limits.use[OW_TEST_WATER]},
                {batch->has_solids, "solids", "mg/kg", 1e6 * batch->solids_kg_kg, 1e6 * SOLIDS_KG_KG}};
    size_t used = 0;
    text[0] = '\0';
    for (size_t i = 0; i < sizeof rows / sizeof rows[0] && used < size; i++) {
        // A thousandth of room: results are kept in whole steps of their unit.
        if (rows[i].has && rows[i].shown > 1.001 * rows[i].limit) {
            const int wrote = snprintf(text + used, size - used, "%s%s %.*g %s is over %.3g",
                                       used > 0 ? ", " : "", rows[i].name, ow_log_digits(rows[i].shown),
                                       rows[i].shown, rows[i].unit, rows[i].limit);
            used += wrote > 0 ? (size_t)wrote : 0;
        }
    }
    if (used > 0 && used < size) {
        (void)snprintf(text + used, size - used, " (DIN 51605)");
    }
    return used > 0;
}
