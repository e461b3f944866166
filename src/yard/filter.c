// SPDX-License-Identifier: GPL-3.0-or-later
// Bags and cartridges in the yard: flow, area, life, and the time a batch takes. The clogging laws are those
// of filter_life.h.
#include "yard/guard.h"

#include <math.h>

#define MOST_M3 1e6
#define MOST_PA 1e9
#define MOST_M3_S 1e6
#define SHUT_M3_S (1e-6 / 3600.0) // 1 mL/h

OwYardFilter ow_yard_filter_default(OwFilterForm form, double rating_m, double area_m2) {
    const bool is_bag = form == OW_FORM_BAG;
    const double pore = ow_hold(rating_m, 1e-7, 1e-2);
    // Straight pores of the rating (Hagen-Poiseuille): permeability = porosity d^2 / 32; felt 2 mm and 0.7,
    // wound or melt-blown wall 10 mm and 0.6 (assumed).
    const double permeability = (is_bag ? 0.7 : 0.6) * pore * pore / 32.0;
    const double area = ow_positive(area_m2, 0.0);
    return (OwYardFilter){.form = form,
                          .rating_m = pore,
                          .area_m2 = area,
                          .medium_1_m = (is_bag ? 0.002 : 0.010) / permeability,
                          .law = is_bag ? OW_FILTER_CAKE : OW_FILTER_DEPTH,
                          .capacity_kg = (is_bag ? 1.5 : 2.0) * area,
                          .end_ratio = 10.0};
}

double ow_yard_filter_medium(double flow_m3_s, double drop_pa, double viscosity_pa_s, double area_m2) {
    if (!ow_is_positive(flow_m3_s) || !ow_is_positive(drop_pa) || !ow_is_positive(viscosity_pa_s) ||
        !ow_is_positive(area_m2)) {
        return 0.0;
    }
    return drop_pa * area_m2 / (viscosity_pa_s * flow_m3_s);
}

/// Pa s/m3 of the filter with dirt on it; infinite when shut or without size.
static double resistance(const OwYardFilter *f, double viscosity_pa_s, double dirt_kg) {
    if (!ow_is_positive(f->area_m2) || !ow_is_positive(f->medium_1_m) || !ow_is_positive(viscosity_pa_s)) {
        return INFINITY;
    }
    const double dirt = ow_positive(dirt_kg, 0.0);
    const double share =
        dirt > 0.0 ? (ow_is_positive(f->capacity_kg) ? dirt / f->capacity_kg : INFINITY) : 0.0;
    return viscosity_pa_s * f->medium_1_m / f->area_m2 *
           ow_filter_ratio(f->law, share, ow_positive(f->end_ratio, 10.0));
}

double ow_yard_filter_flow(const OwYardFilter *filter, double drop_pa, double viscosity_pa_s,
                           double dirt_kg) {
    const double r = resistance(filter, viscosity_pa_s, dirt_kg);
    return ow_is_positive(drop_pa) && ow_is_positive(r) ? fmin(drop_pa / r, MOST_M3_S) : 0.0;
}

double ow_yard_filter_drop(const OwYardFilter *filter, double flow_m3_s, double viscosity_pa_s,
                           double dirt_kg) {
    return ow_is_positive(flow_m3_s)
               ? ow_hold(flow_m3_s * resistance(filter, viscosity_pa_s, dirt_kg), 0.0, MOST_PA)
               : 0.0;
}

double ow_yard_filter_area(double medium_1_m, double flow_m3_s, double drop_pa, double viscosity_pa_s) {
    if (!ow_is_positive(medium_1_m) || !ow_is_positive(flow_m3_s) || !ow_is_positive(drop_pa) ||
        !ow_is_positive(viscosity_pa_s)) {
        return 0.0;
    }
    return viscosity_pa_s * medium_1_m * flow_m3_s / drop_pa;
}

OwCake ow_yard_filter_cake(const OwYardFilter *filter, double viscosity_pa_s, double solids_kg_m3) {
    // ratio = 1 + (end - 1) m / capacity = 1 + alpha m / (area Rm).
    OwCake cake = {.viscosity_pa_s = viscosity_pa_s,
                   .solids_kg_m3 = solids_kg_m3,
                   .medium_1_m = filter->medium_1_m,
                   .area_m2 = filter->area_m2};
    if (ow_is_positive(filter->capacity_kg)) {
        cake.alpha_m_kg =
            fmax(filter->end_ratio - 1.0, 0.0) * filter->medium_1_m * filter->area_m2 / filter->capacity_kg;
    }
    return cake;
}

/// A run under way.
typedef struct Run {
    const OwYardFilter *filter;
    const OwPush *push;
    double viscosity_pa_s, density_kg_m3, caught_kg_m3, dirt_kg;
} Run;

static double flow_at(const Run *r, double volume_m3, double *drop_pa) {
    const double head = r->push->head_m;
    double push = r->push->pressure_pa;
    if (head > 0.0) {
        const double sunk = ow_is_positive(r->push->tank_m2) ? volume_m3 / r->push->tank_m2 : 0.0;
        push = r->density_kg_m3 * OW_GRAVITY_M_S2 * fmax(head - sunk, 0.0);
    }
    const double dirt = r->dirt_kg + r->caught_kg_m3 * volume_m3;
    double flow = ow_yard_filter_flow(r->filter, push, r->viscosity_pa_s, dirt);
    *drop_pa = flow > 0.0 ? push : ow_hold(push, 0.0, MOST_PA);
    if (!(head > 0.0) && ow_is_positive(r->push->flow_m3_s) && flow > r->push->flow_m3_s) {
        flow = r->push->flow_m3_s;
        *drop_pa = ow_yard_filter_drop(r->filter, flow, r->viscosity_pa_s, dirt);
    }
    return flow;
}

OwFilterRun ow_yard_filter_run(const OwYardFilter *filter, const OwPush *push, double viscosity_pa_s,
                               double density_kg_m3, double caught_kg_m3, double dirt_kg, double volume_m3) {
    OwFilterRun run = {0};
    if (!filter || !push || !ow_is_positive(viscosity_pa_s) || !ow_is_positive(density_kg_m3) ||
        !ow_is_positive(volume_m3) || !ow_is_positive(filter->area_m2) ||
        !ow_is_positive(filter->medium_1_m) ||
        !(ow_is_positive(push->pressure_pa) || ow_is_positive(push->head_m))) {
        run.time =
            ow_yard_answer(OW_REACH_UNKNOWN, "filter, pressure or head, viscosity or volume is missing");
        return run;
    }
    const Run r = {filter,
                   push,
                   viscosity_pa_s,
                   density_kg_m3,
                   ow_positive(caught_kg_m3, 0.0),
                   ow_positive(dirt_kg, 0.0)};
    const double room = ow_positive(filter->capacity_kg, 0.0) - r.dirt_kg;
    run.life_m3 = r.caught_kg_m3 > 0.0 ? ow_hold(room / r.caught_kg_m3, 0.0, MOST_M3) : MOST_M3;
    double drop, end = volume_m3;
    run.start_m3_s = flow_at(&r, 0.0, &drop);
    if (flow_at(&r, volume_m3, &drop) < SHUT_M3_S) { // falls all the way: find where it shuts
        double low = 0.0, high = volume_m3;
        for (int i = 0; i < 60; i++) {
            const double mid = 0.5 * (low + high);
            if (flow_at(&r, mid, &drop) < SHUT_M3_S) {
                high = mid;
            } else {
                low = mid;
            }
        }
        end = low;
    }
    run.passed_m3 = end;
    run.dirt_kg = r.dirt_kg + r.caught_kg_m3 * end;
    run.end_m3_s = flow_at(&r, end, &run.end_pa);
    if (end < volume_m3) {
        const bool is_empty =
            push->head_m > 0.0 && ow_is_positive(push->tank_m2) && end > 0.99 * push->head_m * push->tank_m2;
        run.time = ow_yard_answer(
            OW_REACH_NEVER,
            is_empty
                ? "the head tank runs level after %.0f %% of the oil: set it higher or use a pump"
                : "the filter is shut after %.0f %% of the oil: change it, add area, or filter coarser first",
            100.0 * end / volume_m3);
        return run;
    }
    // Flow taken as linear in volume over each panel: exact for a falling head on a clean filter.
    const int panels = 400;
    double time = 0.0, flow = run.start_m3_s;
    for (int i = 1; i <= panels; i++) {
        const double next = flow_at(&r, end * i / panels, &drop), ratio = flow / next;
        const double mean = fabs(ratio - 1.0) > 1e-6 ? (flow - next) / log(ratio) : 0.5 * (flow + next);
        time += end / panels / mean;
        flow = next;
    }
    run.time = ow_yard_after(time);
    return run;
}

double ow_yard_filter_life(const OwYardFilter *filter, double flow_m3_s, double viscosity_pa_s,
                           double caught_kg_m3, double drop_pa) {
    const double clean = ow_yard_filter_drop(filter, flow_m3_s, viscosity_pa_s, 0.0);
    if (!(clean > 0.0) || !(drop_pa > clean)) {
        return clean > 0.0 ? 0.0 : MOST_M3;
    }
    if (!ow_is_positive(caught_kg_m3)) {
        return MOST_M3;
    }
    const double share = ow_filter_share(filter->law, drop_pa / clean, ow_positive(filter->end_ratio, 10.0));
    return ow_hold(share * ow_positive(filter->capacity_kg, 0.0) / caught_kg_m3, 0.0, MOST_M3);
}
