// SPDX-License-Identifier: GPL-3.0-or-later
// The laws of single links: fill of a suction, Churchill friction, and flow with both slopes computed
// together.
#include "flow/laws.h"

#include <float.h>
#include <math.h>

#define PI 3.14159265358979323846
/// Below this Reynolds number Churchill 1977 and 64/Re agree to less than one unit in the last place.
#define LAMINAR_REYNOLDS 800.0
/// Pressure over which a valve passes from shut to its full law.
#define CRACK_PA 200.0
/// Width over which the fill bends to full at the atmosphere, and to nothing at vacuum.
#define FULL_BEND_PA 2000.0
/// A liquid can not be freed of gas wholly; the Ostwald coefficient is taken within these.
#define LEAST_SOLUBILITY 0.01
#define MOST_SOLUBILITY 10.0
/// No positive-displacement pump pushes on for ever: past this it slips back through its clearances or its
/// own relief, all of its flow within the second pressure.
#define SLIP_BEGIN_PA 2e6
#define SLIP_BAND_PA 5e5
/// Share of `set_pa` over which a lift pump's diaphragm shortens its stroke.
#define LIFT_BAND 0.3
/// Corner of a falling limiter, as a share of its band.
#define LIMITER_CORNER 0.1
#define DRIVE_OFF 1e-6
#define MOST_RESISTANCE (0.1 / OW_FLOW_LEAK)
#define INNER_STEPS 60

/// x above `width`, 0 below 0, and between them x (x/w) (2 - x/w): smooth to the first derivative, never
/// negative.
static inline double ramp(double x, double width, double *slope) {
    if (x <= 0.0) {
        *slope = 0.0;
        return 0.0;
    }
    if (x >= width) {
        *slope = 1.0;
        return x;
    }
    const double u = x / width;
    *slope = u * (4.0 - 3.0 * u);
    return x * u * (2.0 - u);
}

/// 1 for u <= 0, falling along 1 - u to 0 for u >= 1, corners rounded. Writes the slope (<= 0).
static inline double limiter(double u, double *slope) {
    if (u <= 0.0) {
        *slope = 0.0;
        return 1.0;
    }
    double bend;
    if (u < 0.5) {
        const double value = 1.0 - ramp(u, LIMITER_CORNER, &bend);
        *slope = -bend;
        return value;
    }
    const double value = ramp(1.0 - u, LIMITER_CORNER, &bend);
    *slope = -bend;
    return value;
}

/// Henry's law at the absolute pressure P: fill = P / (P + s (p0 - P)), both differences bent smoothly at
/// their ends.
static inline double fill_of(double gauge_pa, double solubility, double *slope) {
    if (!(gauge_pa < 0.0)) {
        *slope = 0.0;
        return 1.0;
    }
    double lack_slope, liquid_slope = 1.0;
    const double absolute = gauge_pa + OW_ATMOSPHERE_PA;
    const double liquid =
        absolute >= OW_FLOW_VACUUM_BEND_PA ? absolute : ramp(absolute, OW_FLOW_VACUUM_BEND_PA, &liquid_slope);
    const double lack = solubility * ramp(-gauge_pa, FULL_BEND_PA, &lack_slope);
    const double inverse = 1.0 / (liquid + lack);
    *slope = (liquid_slope * lack + liquid * solubility * lack_slope) * inverse * inverse;
    return liquid * inverse;
}

static double solubility_within(double s) {
    return s > LEAST_SOLUBILITY ? (s < MOST_SOLUBILITY ? s : MOST_SOLUBILITY) : LEAST_SOLUBILITY;
}

double ow_flow_fill(double gauge_pa, double air_solubility, double *slope) {
    double unused;
    return fill_of(gauge_pa, solubility_within(air_solubility), slope ? slope : &unused);
}

/// Churchill 1977 as a multiple of 64/Re: phi = (1 + X)^(1/12), X = (Re/8)^12 / (A + B)^1.5, with
/// A = (2.457 ln 1/((7/Re)^0.9 + 0.27 e))^16, B = (37530/Re)^16. Writes d ln phi / d ln Re. Any Re > 0, e
/// 0..0.05; outside it the nearest end is used.
static double laminar_multiple(double reynolds, double roughness, double *log_slope) {
    if (!(reynolds > LAMINAR_REYNOLDS)) {
        *log_slope = 0.0;
        return 1.0;
    }
    const double re = reynolds < 1e12 ? reynolds : 1e12;
    const double e = roughness > 0.0 ? (roughness < 0.05 ? roughness : 0.05) : 0.0;
    const double w = pow(7.0 / re, 0.9), t = w + 0.27 * e;
    const double a = -2.457 * log(t);
    const double a2 = a * a, a4 = a2 * a2, a8 = a4 * a4, big_a = a8 * a8;
    const double b = 37530.0 / re, b2 = b * b, b4 = b2 * b2, b8 = b4 * b4, big_b = b8 * b8;
    const double sum = big_a + big_b;
    const double r = re / 8.0, r2 = r * r, r4 = r2 * r2, r12 = r4 * r4 * r4;
    const double x = r12 / (sum * sqrt(sum));
    const double a_slope = 16.0 * a8 * a4 * a2 * a * (2.457 * 0.9 * w / t); // dA / d ln Re
    const double x_log_slope = 12.0 - 1.5 * (a_slope - 16.0 * big_b) / sum;
    *log_slope = x / (1.0 + x) * x_log_slope / 12.0;
    return pow(1.0 + x, 1.0 / 12.0);
}

double ow_flow_friction(double reynolds, double relative_roughness) {
    const double re = reynolds > 1e-9 ? reynolds : 1e-9;
    double unused;
    return 64.0 / re * laminar_multiple(re, relative_roughness, &unused);
}

/// |drop| without static head at a flow >= 0, with its slope.
static inline double loss_at(const OwLaw *law, double flow, double *slope) {
    double log_slope;
    const double phi = laminar_multiple(flow * law->reynolds_per_flow, law->relative_roughness, &log_slope);
    const double laminar = law->resistance * phi, square = law->square * flow;
    *slope = laminar * (1.0 + log_slope) + 2.0 * square;
    return flow * (laminar + square);
}

/// Inverts loss_at for a loss > 0 above the laminar range by Newton, kept between the end of the laminar
/// range and the flow the laminar law alone would pass.
static void invert_turbulent(const OwLaw *law, double loss, double *flow, double *conductance) {
    double low = law->turbulent_flow, high = *flow, slope = 1.0;
    double q = fabs(law->flow);
    if (!(q > low && q < high)) {
        q = sqrt(low * high);
    }
    for (int i = 0; i < INNER_STEPS; i++) {
        const double error = loss_at(law, q, &slope) - loss;
        if (error > 0.0) {
            high = q;
        } else {
            low = q;
        }
        double next = q - error / slope;
        if (!(next >= low && next <= high)) {
            next = 0.5 * (low + high);
        }
        const double move = fabs(next - q);
        q = next;
        if (move <= 1e-8 * q) {
            break;
        }
    }
    *flow = q;
    *conductance = 1.0 / slope;
}

/// Flow >= 0 through resistance and square loss under a push >= 0, with dQ/dpush.
static inline double quadratic_flow(const OwLaw *law, double push, double *conductance) {
    if (law->four_square == 0.0) {
        *conductance = law->conductance;
        return push * law->conductance;
    }
    const double root = sqrt(law->resistance_squared + law->four_square * push);
    *conductance = 1.0 / root;
    return 2.0 * push / (law->resistance + root);
}

/// Flow of a curve pump whose own rise, less loss, leaves `push` >= 0 over its state at rest.
static double curve_flow(const OwLaw *law, double push, double *conductance) {
    const double n = law->drive, speed = 1.0 / n;
    double low = 0.0, high = DBL_MAX, slope = 1.0, h_slope;
    double q = law->flow > 0.0 ? law->flow : 0.5 * n * law->curve->flow[law->curve->count - 1];
    for (int i = 0; i < INNER_STEPS; i++) {
        const double rise = n * ow_pump_curve_rise(law->curve, q * speed, &h_slope);
        slope = law->resistance + 2.0 * law->square * q - h_slope;
        const double error = q * (law->resistance + law->square * q) + law->rise_at_rest_pa - rise - push;
        if (error > 0.0) {
            high = q;
        } else {
            low = q;
        }
        double next = q - error / slope;
        if (!(next >= low && next <= high)) {
            next = high < DBL_MAX ? 0.5 * (low + high) : 2.0 * low + 1e-12;
        }
        const double move = fabs(next - q);
        q = next;
        if (move <= 1e-9 * q + 1e-22) {
            break;
        }
    }
    *conductance = 1.0 / slope;
    return q;
}

static inline void evaluate_resistance(OwLaw *law, double difference) {
    const double push = fabs(difference);
    double conductance, flow = quadratic_flow(law, push, &conductance);
    if (flow > law->turbulent_flow) {
        invert_turbulent(law, push, &flow, &conductance);
    }
    law->flow = difference < 0.0 ? -flow : flow;
    law->by_from = law->by_to = conductance;
}

static inline void evaluate_check(OwLaw *law, double difference) {
    double bend, conductance;
    const double push = ramp(difference - law->open_pa, CRACK_PA, &bend);
    law->flow = quadratic_flow(law, push, &conductance) + law->leak * difference;
    law->by_from = law->by_to = conductance * bend + law->leak;
}

static void evaluate_pump(OwLaw *law, double from_pa, double difference) {
    double bend, fill_slope, conductance, flow;
    const double push = ramp(difference + law->rise_at_rest_pa, CRACK_PA, &bend);
    const double fill = fill_of(from_pa, law->solubility, &fill_slope);
    flow = law->curve ? curve_flow(law, push, &conductance) : quadratic_flow(law, push, &conductance);
    law->by_to = fill * conductance * bend + law->leak;
    law->by_from = law->by_to + fill_slope * flow;
    law->flow = fill * flow + law->leak * difference;
}

static void evaluate_lift(OwLaw *law, double from_pa, double to_pa, double difference) {
    double limit_slope, fill_slope;
    const double limit = limiter(1.0 + (to_pa - law->set_pa) * law->inverse_band, &limit_slope);
    const double fill = fill_of(from_pa, law->solubility, &fill_slope);
    evaluate_check(law, difference);
    law->flow += law->drive * fill * limit;
    law->by_from += law->drive * fill_slope * limit;
    law->by_to -= law->drive * fill * limit_slope * law->inverse_band;
}

/// Flow with which a positive-displacement pump slips under a pressure rise; writes the slope.
static inline double slip_flow(const OwLaw *law, double rise_pa, double *slope) {
    double bend;
    const double per_pa = law->drive / SLIP_BAND_PA, push = ramp(rise_pa - SLIP_BEGIN_PA, CRACK_PA, &bend);
    *slope = per_pa * bend;
    return per_pa * push;
}

static void evaluate_transfer(OwLaw *law, double from_pa, double to_pa, double difference) {
    double slip_slope, fill_slope;
    const double slip = slip_flow(law, to_pa - from_pa, &slip_slope);
    const double fill = fill_of(from_pa, law->solubility, &fill_slope);
    law->by_to = law->leak + slip_slope;
    law->by_from = law->by_to + law->drive * fill_slope;
    law->flow = law->drive * fill - slip + law->leak * difference;
}

static void evaluate_one(OwLaw *law, double from_pa, double to_pa) {
    const double difference = from_pa - to_pa - law->static_pa;
    double slope;
    switch (law->kind) {
    case OW_LAW_LINEAR:
    case OW_LAW_SQUARE:
        evaluate_resistance(law, difference);
        break;
    case OW_LAW_CHECK:
        evaluate_check(law, difference);
        break;
    case OW_LAW_PUMP:
        evaluate_pump(law, from_pa, difference);
        break;
    case OW_LAW_LIFT:
        evaluate_lift(law, from_pa, to_pa, difference);
        break;
    case OW_LAW_TRANSFER:
        evaluate_transfer(law, from_pa, to_pa, difference);
        break;
    case OW_LAW_DEMAND:
        law->flow = law->drive * fill_of(from_pa, law->solubility, &slope);
        law->by_from = law->drive * slope;
        law->by_to = 0.0;
        break;
    case OW_LAW_SOURCE:
        law->flow = slip_flow(law, from_pa, &slope) - law->drive;
        law->by_from = slope;
        law->by_to = 0.0;
        break;
    case OW_LAW_CLOSED:
        law->flow = law->leak * difference;
        law->by_from = law->by_to = law->leak;
        break;
    }
}

void ow_laws_evaluate(OwLaw *laws, int count, const double *pressure_pa) {
    for (int k = 0; k < count; k++) {
        OwLaw *law = &laws[k];
        const double from_pa = pressure_pa[law->from], to_pa = pressure_pa[law->to];
        if (law->kind == OW_LAW_LINEAR) { // most links of most rigs
            const double difference = from_pa - to_pa - law->static_pa, flow = difference * law->conductance;
            if (fabs(flow) <= law->turbulent_flow) {
                law->flow = flow;
                law->by_from = law->by_to = law->conductance;
                continue;
            }
        }
        evaluate_one(law, from_pa, to_pa);
    }
}

double ow_laws_linearise(OwLaw *laws, int count, const double *pressure_pa, double relative) {
    double worst = 0.0;
    for (int k = 0; k < count; k++) {
        OwLaw *law = &laws[k];
        const double from_pa = pressure_pa[law->from], to_pa = pressure_pa[law->to];
        const double difference = from_pa - to_pa - law->static_pa, state = law->state;
        if (law->kind == OW_LAW_LINEAR && fabs(state) <= law->turbulent_flow) {
            law->by_from = law->by_to = law->conductance;
            law->flow = difference * law->conductance;
            if (fabs(law->flow) <= law->turbulent_flow) {
                continue;
            }
        } else if (law->kind <= OW_LAW_SQUARE) {
            double slope;
            const double loss = loss_at(law, fabs(state), &slope);
            law->by_from = law->by_to = 1.0 / slope;
            law->flow = state + (difference - (state < 0.0 ? -loss : loss)) * law->by_from;
        } else {
            evaluate_one(law, from_pa, to_pa);
            continue;
        }
        const double gap = fabs(law->flow - state) - relative * fabs(law->flow);
        worst = gap > worst ? gap : worst;
    }
    return worst;
}

static void prepare_resistance(const OwLink *link, double least, OwLaw *law) {
    const double r = link->linear_pa_s_m3 > least ? link->linear_pa_s_m3 : least;
    law->resistance = r < MOST_RESISTANCE ? r : MOST_RESISTANCE;
    law->conductance = 1.0 / law->resistance;
    law->square = link->square_pa_s2_m6 > 0.0 ? link->square_pa_s2_m6 : 0.0;
    law->four_square = 4.0 * law->square;
    law->resistance_squared = law->resistance * law->resistance;
    law->turbulent_flow = DBL_MAX;
    law->reynolds_per_flow = 0.0;
    law->relative_roughness = 0.0;
}

static void prepare_friction(const OwLink *link, OwLaw *law) {
    if (link->bore_m > 0.0 && link->kinematic_m2_s > 0.0) {
        law->reynolds_per_flow = 4.0 / (PI * link->bore_m * link->kinematic_m2_s);
        law->turbulent_flow = LAMINAR_REYNOLDS * (PI / 4.0) * link->bore_m * link->kinematic_m2_s;
        law->relative_roughness = link->roughness_m / link->bore_m;
    }
}

static void prepare_pump(const OwLink *link, OwPumpCurve *curve, OwLaw *law) {
    const double drive = link->drive > 0.0 ? link->drive : 0.0;
    const bool has_curve = ow_pump_curve_prepare(link, curve);
    if (drive <= DRIVE_OFF || (!has_curve && !(link->stall_pa > 0.0 && link->free_flow_m3_s > 0.0))) {
        law->kind = link->passes_when_off ? OW_LAW_CHECK : OW_LAW_CLOSED;
        return;
    }
    law->drive = drive;
    if (has_curve) {
        double unused;
        law->curve = curve;
        law->rise_at_rest_pa = drive * ow_pump_curve_rise(curve, 0.0, &unused);
        return;
    }
    law->rise_at_rest_pa = drive * link->stall_pa;
    law->resistance =
        link->stall_pa / link->free_flow_m3_s + (link->linear_pa_s_m3 > 0.0 ? link->linear_pa_s_m3 : 0.0);
    law->resistance = law->resistance > OW_FLOW_LEAST_PA_S_M3 ? law->resistance : OW_FLOW_LEAST_PA_S_M3;
    law->conductance = 1.0 / law->resistance;
    law->resistance_squared = law->resistance * law->resistance;
}

bool ow_law_prepare(const OwLink *link, double air_solubility, OwPumpCurve *curve, OwLaw *law) {
    const double probe = link->linear_pa_s_m3 + link->square_pa_s2_m6 + link->static_pa + link->drive +
                         link->set_pa + link->stall_pa + link->free_flow_m3_s;
    if (!(fabs(probe) < DBL_MAX)) {
        return false;
    }
    prepare_resistance(link, OW_FLOW_LEAST_PA_S_M3, law);
    law->static_pa = link->static_pa;
    law->leak = OW_FLOW_LEAK;
    law->state = law->flow;
    law->solubility = solubility_within(air_solubility);
    law->drive = link->drive > 0.0 ? link->drive : 0.0;
    law->set_pa = link->set_pa;
    law->open_pa = 0.0;
    switch (link->law) {
    case OW_LINK_PIPE:
        prepare_friction(link, law);
        // fall through
    case OW_LINK_DARCY:
        law->kind = law->square > 0.0 ? OW_LAW_SQUARE : OW_LAW_LINEAR;
        break;
    case OW_LINK_CHECK:
    case OW_LINK_RELIEF:
        law->kind = OW_LAW_CHECK;
        law->open_pa = link->set_pa > 0.0 ? link->set_pa : 0.0;
        break;
    case OW_LINK_PUMP:
        law->kind = OW_LAW_PUMP;
        law->curve = NULL;
        prepare_pump(link, curve, law);
        break;
    case OW_LINK_LIFT:
        law->kind = OW_LAW_LIFT;
        law->inverse_band = 1.0 / fmax(LIFT_BAND * link->set_pa, 1000.0);
        break;
    case OW_LINK_TRANSFER:
        law->kind = OW_LAW_TRANSFER;
        break;
    case OW_LINK_DEMAND:
        law->kind = link->drive < 0.0 ? OW_LAW_SOURCE : OW_LAW_DEMAND;
        law->drive = fabs(link->drive);
        break;
    case OW_LINK_CLOSED:
    default:
        law->kind = OW_LAW_CLOSED;
        break;
    }
    return true;
}

double ow_flow_drop(const OwLink *link, double flow_m3_s, double *slope) {
    OwLaw law = {0};
    prepare_resistance(link, OW_FLOW_LEAST_PA_S_M3, &law);
    if (link->law == OW_LINK_PIPE) {
        prepare_friction(link, &law);
    }
    double unused;
    const double loss = loss_at(&law, fabs(flow_m3_s), slope ? slope : &unused);
    return (flow_m3_s < 0.0 ? -loss : loss) + link->static_pa;
}
