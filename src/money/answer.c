// SPDX-License-Identifier: GPL-3.0-or-later
// The likely answer: verdict in words, break-evens, and the single changes that would make it pay.
#include "money/money_impl.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

static double worth_at(const OwCostPlan *plan, double *values, OwCostInput input, int side, double at) {
    OwCostReckoning out;
    const double kept = values[input];
    values[input] = at;
    ow_cost_reckon_some(plan, values, true, &out);
    values[input] = kept;
    return out.side[side].npv;
}

/// The i-th of GRID + 1 places in a range; by equal steps of the logarithm when it spans decades.
#define GRID 64
static double place(const OwCostRow *row, int i) {
    const double s = (double)i / GRID;
    if (row->least > 0.0 && row->most > 50.0 * row->least) {
        return row->least * pow(row->most / row->least, s);
    }
    return row->least + (row->most - row->least) * s;
}

bool ow_cost_break_even(const OwCostPlan *plan, const double values[OW_COST_INPUTS], OwCostInput input,
                        int side, double *value) {
    if ((unsigned)input >= OW_COST_INPUTS || side < 0 || side > 1) {
        return false;
    }
    const OwCostRow *row = &ow_cost_rows[input];
    double v[OW_COST_INPUTS];
    memcpy(v, values, sizeof v);
    const double now = v[input] < row->least ? row->least : v[input] > row->most ? row->most : v[input];
    const double at_now = worth_at(plan, v, input, side, now);
    double best = 0.0, best_gap = INFINITY;
    // From where it stands outwards, both ways: the nearest change of sign counts.
    for (int way = -1; way <= 1; way += 2) {
        double near = now, at_near = at_now;
        for (int i = way < 0 ? GRID : 0; i >= 0 && i <= GRID; i += way) {
            const double far = place(row, i);
            if ((far - now) * way <= 0.0) {
                continue;
            }
            const double at_far = worth_at(plan, v, input, side, far);
            if ((at_far > 0.0) == (at_near > 0.0)) {
                near = far;
                at_near = at_far;
                continue;
            }
            double a = near, b = far;
            for (int k = 0; k < 100 && fabs(b - a) > 1e-13 * (fabs(a) + fabs(b)); k++) {
                const double middle = 0.5 * (a + b);
                if ((worth_at(plan, v, input, side, middle) > 0.0) == (at_near > 0.0)) {
                    a = middle;
                } else {
                    b = middle;
                }
            }
            const double root = 0.5 * (a + b), gap = fabs(root - now);
            if (gap < best_gap) {
                best_gap = gap;
                best = root;
            }
            break;
        }
    }
    if (best_gap < INFINITY && value != NULL) {
        *value = best;
    }
    return best_gap < INFINITY;
}

/// What a person can change; work only where it counts.
static const OwCostInput mendable[] = {
    OW_COST_DIESEL_PRICE,    OW_COST_DISTANCE,
    OW_COST_OIL_PRICE,       OW_COST_PICKUP_VOLUME,
    OW_COST_PICKUP_DISTANCE, OW_COST_PICKUP_TIME,
    OW_COST_YARD_TIME,       OW_COST_YARD_FILTERS,
    OW_COST_PARTS,           OW_COST_CONVERSION_TIME,
    OW_COST_FILTER_OIL,      OW_COST_LUBE_OIL,
    OW_COST_EQUIPMENT,       OW_COST_HOUR,
    OW_COST_UPKEEP_TIME,     OW_COST_OIL_SHARE,
};
#define MENDABLE (sizeof mendable / sizeof mendable[0])

/// How far a change goes: 0.7 is doubling or halving; falling to nothing counts as three halvings.
static double effort(const OwCostPlan *plan, OwCostInput input, double from, double to) {
    if (input == OW_COST_OIL_PRICE) {
        return fabs(to - from) / plan->inputs[OW_COST_DIESEL_PRICE].value;
    }
    if (!(from > 0.0)) {
        return INFINITY;
    }
    const double ratio = to / from;
    return fabs(log(ratio > 0.125 ? ratio : 0.125));
}

static void find_mends(const OwCostPlan *plan, const double *values, int side, OwCostAnswer *answer) {
    double efforts[OW_COST_MAX_MENDS];
    for (size_t i = 0; i < MENDABLE; i++) {
        double to = 0.0;
        const double from = values[mendable[i]];
        if (!ow_cost_break_even(plan, values, mendable[i], side, &to)) {
            continue;
        }
        const double e = effort(plan, mendable[i], from, to);
        if (!(e < 2.1)) { // further than a factor of eight is no advice
            continue;
        }
        int at = answer->mend_count;
        while (at > 0 && efforts[at - 1] > e) {
            at--;
        }
        if (at >= OW_COST_MAX_MENDS) {
            continue;
        }
        if (answer->mend_count < OW_COST_MAX_MENDS) {
            answer->mend_count++;
        }
        for (int k = answer->mend_count - 1; k > at; k--) {
            answer->mends[k] = answer->mends[k - 1];
            efforts[k] = efforts[k - 1];
        }
        answer->mends[at] = (OwCostMend){mendable[i], from, to};
        efforts[at] = e;
    }
}

static void say_years(double years, char *text, size_t size) {
    (void)snprintf(text, size, years < 0.95 ? "%.0f months" : "%.1f years",
                   years < 0.95 ? ceil(years * 12.0 - 1e-9) : years);
}

static void say_side(const OwCostPlan *plan, const OwCostSide *side, char *text, size_t size) {
    char years[32];
    if (side->has_payback) {
        say_years(side->payback_y, years, sizeof years);
        (void)snprintf(text, size, "pays back in %s", years);
    } else if (side->running_year > 0.0) {
        (void)snprintf(text, size, "does not pay back within %d years", plan->years);
    } else {
        (void)snprintf(text, size, "never pays back");
    }
}

static void say_verdict(const OwCostPlan *plan, OwDisplay display, OwCostAnswer *answer) {
    const OwCostReckoning *r = &answer->likely;
    const int s = plan->counts_hours ? 1 : 0;
    const OwCostSide *side = &r->side[s];
    char main_text[96], other[96], why[200] = "", cost[48], diesel[48], hour[48];
    say_side(plan, side, main_text, sizeof main_text);
    say_side(plan, &r->side[1 - s], other, sizeof other);
    main_text[0] = (char)(main_text[0] - 'a' + 'A');
    ow_cost_quantity_write(side->cost_m, OW_KIND_PER_DISTANCE, display, cost, sizeof cost);
    ow_cost_quantity_write(r->diesel_m, OW_KIND_PER_DISTANCE, display, diesel, sizeof diesel);
    ow_cost_quantity_write(plan->inputs[OW_COST_HOUR].value, OW_KIND_PER_TIME, display, hour, sizeof hour);
    if (!(r->oil_m3_y > 0.0)) {
        (void)snprintf(answer->verdict, sizeof answer->verdict,
                       "Never pays back: no distance is driven on oil.");
        return;
    }
    if (side->has_payback) {
        (void)snprintf(why, sizeof why, ": oil costs %s, everything counted, diesel %s", cost, diesel);
    } else if (side->running_year <= 0.0) {
        (void)snprintf(why, sizeof why, ": a year on oil costs %.0f more than the diesel it saves",
                       -side->running_year);
    } else {
        (void)snprintf(why, sizeof why,
                       ": the %.0f a year it saves do not bring back the %.0f spent at the start",
                       side->running_year, -side->flows[0]);
    }
    (void)snprintf(answer->verdict, sizeof answer->verdict, "%s%s. %s %s it %s.", main_text, why,
                   s == 1 ? "Without counting your hours" : "With your hours counted at", s == 1 ? "" : hour,
                   other);
    // One blank where two words are missing.
    char *gap = strstr(answer->verdict, "  ");
    if (gap != NULL) {
        memmove(gap, gap + 1, strlen(gap));
    }
}

void ow_cost_answer(const OwCostPlan *plan, OwDisplay display, OwCostAnswer *answer) {
    memset(answer, 0, sizeof *answer);
    double values[OW_COST_INPUTS];
    ow_cost_likely(plan, values);
    ow_cost_reckon(plan, values, &answer->likely);
    const int side = plan->counts_hours ? 1 : 0;
    for (int s = 0; s < 2; s++) {
        answer->pays[s] = answer->likely.side[s].npv > 0.0;
    }
    answer->has_diesel_price =
        ow_cost_break_even(plan, values, OW_COST_DIESEL_PRICE, side, &answer->diesel_price);
    answer->has_distance = ow_cost_break_even(plan, values, OW_COST_DISTANCE, side, &answer->distance);
    if (answer->has_distance) {
        answer->litres_m3_y = answer->likely.oil_m3_y * answer->distance / values[OW_COST_DISTANCE];
    }
    if (!answer->pays[side]) {
        find_mends(plan, values, side, answer);
    }
    say_verdict(plan, display, answer);
}
