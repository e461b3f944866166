// SPDX-License-Identifier: GPL-3.0-or-later
// Tank to tank: what went in after one full tank, up to and with the next, was used on the way between.
#include "learn/fuel.h"

#include <math.h>
#include <stdio.h>

static bool is_volume(const OwLearnFill *f) {
    return f->volume_m3 > 0.0 && isfinite(f->volume_m3);
}

static bool is_mark(const OwLearnFill *f) {
    return f->has_odometer && isfinite(f->odometer_m) && !f->is_partial;
}

static void odometer_fault(OwFuelInterval *i, const OwLearnFill *fills) {
    i->odd = OW_FUEL_ODOMETER;
    snprintf(
        i->text, sizeof i->text,
        "The odometer %s between entries %lld and %lld: replaced, or a wrong entry; the fuel between them is "
        "not counted.",
        i->distance_m < 0.0 ? "runs back" : "stands still", (long long)fills[i->first].entry,
        (long long)fills[i->last].entry);
}

int ow_fuel_intervals(const OwLearnFill *fills, const int *order, int count, OwFuelInterval *intervals) {
    int made = 0, start = -1, used = 0;
    double volume = 0.0;
    for (int k = 0; k < count; k++) {
        const OwLearnFill *f = &fills[order[k]];
        if (start >= 0 && is_volume(f)) {
            volume += f->volume_m3;
            used++;
        }
        if (!is_mark(f)) {
            continue;
        }
        if (start >= 0) {
            OwFuelInterval *i = &intervals[made++];
            *i = (OwFuelInterval){.vehicle = f->vehicle,
                                  .first = order[start],
                                  .last = order[k],
                                  .fills = used,
                                  .volume_m3 = volume,
                                  .distance_m = f->odometer_m - fills[order[start]].odometer_m};
            if (!(i->distance_m > 0.0)) {
                odometer_fault(i, fills);
            } else if (!(volume > 0.0)) {
                made--; // nothing went in: the next full tank tells
                continue;
            }
        }
        start = k;
        volume = 0.0;
        used = 0;
    }
    if (made > 0) {
        return made;
    }
    // No two full tanks: everything after the first reading up to the last, roughly.
    int first = -1, last = -1;
    for (int k = 0; k < count; k++) {
        if (fills[order[k]].has_odometer && isfinite(fills[order[k]].odometer_m)) {
            first = first < 0 ? k : first;
            last = k;
        }
    }
    if (first < 0 || last == first) {
        return 0;
    }
    OwFuelInterval rough = {.vehicle = fills[order[first]].vehicle,
                            .first = order[first],
                            .last = order[last],
                            .is_rough = true,
                            .distance_m = fills[order[last]].odometer_m - fills[order[first]].odometer_m};
    for (int k = first + 1; k <= last; k++) {
        if (is_volume(&fills[order[k]])) {
            rough.volume_m3 += fills[order[k]].volume_m3;
            rough.fills++;
        }
    }
    if (!(rough.distance_m > 0.0)) {
        odometer_fault(&rough, fills);
    } else if (!(rough.volume_m3 > 0.0)) {
        return 0;
    }
    intervals[0] = rough;
    return 1;
}

double ow_fuel_doubt(const OwFuelInterval *i, const OwFuelSettings *s) {
    // A rough interval does not know how full the tank was at either end: give or take 20 L (assumed).
    const double doubt_m3 = i->is_rough ? 0.02 : s->full_m3;
    if (!(doubt_m3 > 0.0)) {
        return 0.0;
    }
    // In steps of a fifth: intervals of one step are summed once and for all.
    return exp(0.2 * round(5.0 * log(fmin(doubt_m3 / i->volume_m3, 1e4))));
}
