// SPDX-License-Identifier: GPL-3.0-or-later
// Fuses: standard ratings, the time-current band, standing an inrush, guarding a wire.
#include "power/wire.h"

#include <math.h>

/// Test points of the standards: multiple of the rating, shortest and longest opening time. ISO 8820-3 type C
/// at 1.6 and 2.0 as published by makers of such fuses; its other points, type E and ISO 8820-5 from memory
/// (docs/theory/power.md).
typedef struct OwBandPoint {
    double multiple, least_s, most_s;
} OwBandPoint;

static const OwBandPoint blade[] = {{1.1, 3.6e5, INFINITY}, {1.35, 0.75, 600.0}, {1.6, 0.25, 50.0},
                                    {2.0, 0.15, 5.0},       {3.5, 0.08, 0.5},    {6.0, 0.03, 0.1}};
static const OwBandPoint maxi[] = {
    {1.1, 3.6e5, INFINITY}, {1.35, 60.0, 1800.0}, {2.0, 2.0, 60.0}, {3.5, 0.2, 7.0}, {6.0, 0.04, 1.0}};
/// Small bolt-down: no table at hand, so the outer edge of the two bands above and below (assumed): never
/// quicker and never slower than what either fuse may be.
static const OwBandPoint strip[] = {
    {1.1, 1.44e4, INFINITY}, {1.35, 60.0, 1800.0}, {2.0, 1.0, 60.0}, {3.5, 0.2, 7.0}, {6.0, 0.04, 1.0}};
static const OwBandPoint bolt[] = {
    {1.1, 1.44e4, INFINITY}, {1.35, 120.0, 1800.0}, {2.0, 1.0, 15.0}, {3.5, 0.3, 5.0}, {6.0, 0.1, 1.0}};

static const struct {
    const OwBandPoint *points;
    int count;
    const char *name;
} bands[] = {
    [OW_FUSE_BLADE] = {blade, 6, "blade, ISO 8820-3 type C"},
    [OW_FUSE_MAXI] = {maxi, 5, "large blade, ISO 8820-3 type E"},
    [OW_FUSE_STRIP] = {strip, 5, "small bolt-down, ISO 8820-5 type SF 30"},
    [OW_FUSE_BOLT] = {bolt, 5, "bolt-down, ISO 8820-5 type SF 51"},
};

static const double ratings[] = {1,  2,  3,  4,   5,   7.5, 10,  15,  20,  25,  30,  40, 50,
                                 60, 70, 80, 100, 125, 150, 175, 200, 250, 300, 400, 500};

OwFuseType ow_fuse_type(double rated_a) {
    return rated_a <= 40.0 ? OW_FUSE_BLADE : (rated_a <= 100.0 ? OW_FUSE_MAXI : OW_FUSE_BOLT);
}

OwFuseType ow_fuse_bolted(double rated_a) {
    return rated_a < OW_FUSE_BOLT_LEAST_A ? ow_fuse_type(rated_a)
                                          : (rated_a <= 100.0 ? OW_FUSE_STRIP : OW_FUSE_BOLT);
}

const char *ow_fuse_type_name(OwFuseType type) {
    return bands[type].name;
}

static double between(double m, double m0, double t0, double m1, double t1) {
    return t0 * pow(t1 / t0, log(m / m0) / log(m1 / m0));
}

static double opening(OwFuseType type, double rated_a, double current_a, bool most) {
    const double m = rated_a > 0.0 ? fabs(current_a) / rated_a : 0.0;
    const OwBandPoint *p = bands[type].points;
    const int count = bands[type].count;
    const OwBandPoint *last = &p[count - 1];
    if (m >= last->multiple) {
        const double x = last->multiple / m;
        return (most ? last->most_s : last->least_s) * x * x;
    }
    for (int i = count - 2; i >= 0; i--) {
        const double t0 = most ? p[i].most_s : p[i].least_s;
        if (m >= p[i].multiple) {
            return isinf(t0) ? INFINITY
                             : between(m, p[i].multiple, t0, p[i + 1].multiple,
                                       most ? p[i + 1].most_s : p[i + 1].least_s);
        }
    }
    return INFINITY;
}

double ow_fuse_least_s(OwFuseType type, double rated_a, double current_a) {
    return opening(type, rated_a, current_a, false);
}

double ow_fuse_most_s(OwFuseType type, double rated_a, double current_a) {
    return opening(type, rated_a, current_a, true);
}

double ow_fuse_next(double current_a) {
    for (size_t i = 0; i < sizeof ratings / sizeof ratings[0]; i++) {
        if (ratings[i] >= current_a * (1.0 - 1e-9)) {
            return ratings[i];
        }
    }
    return 0.0;
}

bool ow_fuse_stands(OwFuseType type, double rated_a, double first_a, double then_a, double inrush_s) {
    if (!(then_a <= rated_a)) {
        return false;
    }
    const double extra = first_a - then_a, tau = fmax(inrush_s, 1e-3);
    if (extra <= 0.0) {
        return true;
    }
    // The mean square current over the first t seconds must not open the fuse within t at its quickest.
    for (double t = 1e-3 * tau; t < 40.0 * tau; t *= 1.15) {
        const double x = t / tau;
        const double mean_square = then_a * then_a + 2.0 * then_a * extra * (1.0 - exp(-x)) / x +
                                   extra * extra * (1.0 - exp(-2.0 * x)) / (2.0 * x);
        if (ow_fuse_least_s(type, rated_a, sqrt(mean_square)) <= t) {
            return false;
        }
    }
    return true;
}

bool ow_fuse_guards(OwFuseType type, double rated_a, double area_m2, double load_a, double short_a,
                    const OwWirePlace *place, double *worst_a) {
    const double limit = ow_wire_overload_k(place->insulation_k);
    const double for_ever = ow_wire_ampacity(area_m2, limit, place); // the wire's own
    const double carried =
        fmin(1.35 * rated_a * (1.0 - 1e-9), short_a); // the most the fuse may carry for ever
    double worst = 0.0;
    if (fmax(carried, load_a) > for_ever) {
        worst = fmax(carried, load_a);
    } else {
        const OwOverload overload =
            ow_power_overload(area_m2, ow_wire_steady_k(area_m2, load_a, place), limit, place);
        for (double i = for_ever; i < short_a * 1.03 && worst <= 0.0; i *= 1.03) {
            const double current = fmin(i, short_a);
            if (ow_power_overload_s(&overload, current) <= ow_fuse_most_s(type, rated_a, current)) {
                worst = current;
            }
        }
    }
    if (worst > 0.0 && worst_a) {
        *worst_a = worst;
    }
    return !(worst > 0.0);
}
