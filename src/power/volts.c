// SPDX-License-Identifier: GPL-3.0-or-later
// The quick solve of a rig's own network for the morning: five points, every circuit one series branch
// between two of them.
#include "power/power.h"

#include <math.h>
#include <string.h>

#define MOST_QUICK 12
#define MOST_CAREFUL 60
// A change of the volts at a curved law after which its curvature is worth less than some 1e-6 V: half the
// second derivative times the square of the change, times the resistance it works into. Motors and lamps bend
// by some 0.1 A/V2, an alternator by 1e3 A/V2.
#define NEARLY_LOAD_V 2e-3
#define NEARLY_ALTERNATOR_V 5e-5
#define CHARGE_EFFICIENCY 0.95 // of charge put back, assumed
#define BATTERY_J_KGK 1000.0   // lead-acid, from memory 0.8..1.2
#define BATTERY_W_K 1.0        // a battery case to the air round it, assumed

/// What the points are joined by now, as far as it does not change within a solve.
typedef struct OwNow {
    OwSource battery;
    double set_v, droop_v, limit_a, copper;
    double main_s, charge_s, body_s, engine_s, starter_s;
    bool has_alternator;
} OwNow;

double ow_power_copper_factor(double temperature_k) {
    const double t = temperature_k > 0.0
                         ? (temperature_k < 220.0 ? 220.0 : (temperature_k > 420.0 ? 420.0 : temperature_k))
                         : 293.15;
    return 1.0 + 0.00393 * (t - 293.15);
}

/// Symmetric 5 x 5 system by LDL' without pivoting (diagonally dominant); the answer replaces y.
static void solve5(double a[OW_AT_COUNT][OW_AT_COUNT], double y[OW_AT_COUNT]) {
    for (int k = 0; k < OW_AT_COUNT; k++) {
        const double inverse = 1.0 / a[k][k];
        for (int i = k + 1; i < OW_AT_COUNT; i++) {
            const double factor = a[k][i] * inverse;
            for (int j = i; j < OW_AT_COUNT; j++) {
                a[i][j] -= factor * a[k][j];
            }
            y[i] -= factor * y[k];
        }
        a[k][k] = inverse;
    }
    for (int k = OW_AT_COUNT - 1; k >= 0; k--) {
        double sum = y[k];
        for (int j = k + 1; j < OW_AT_COUNT; j++) {
            sum -= a[k][j] * y[j];
        }
        y[k] = sum * a[k][k];
    }
}

static void join(double a[OW_AT_COUNT][OW_AT_COUNT], int p, int q, double s) {
    a[p][p] += s;
    if (q >= 0) {
        a[q][q] += s;
        a[p < q ? p : q][p < q ? q : p] -= s;
    }
}

static bool is_linear(const OwBranch *load) {
    return load->law == OW_BRANCH_RESISTANCE;
}

static double load_ohm(const OwQuickCircuit *q, const OwPowerInput *input, int i) {
    const double given = input->load_ohm[i];
    return given > 0.0 ? given : q->load.resistance_ohm;
}

static OwNow now_of(const OwPower *power, const OwPowerInput *input) {
    OwNow now;
    const double copper = ow_power_copper_factor(input->wire_k);
    const OwElectricSpec *spec = &power->spec;
    now.battery = ow_battery_source(&spec->battery, input->battery_charge, input->battery_k);
    now.copper = copper;
    now.main_s = 1.0 / (power->main_ohm * copper + spec->main.joint_ohm);
    now.charge_s = 1.0 / (power->charge_ohm * copper + spec->charge.joint_ohm);
    now.body_s = 1.0 / (power->body_ohm * copper + spec->body_earth.joint_ohm);
    now.engine_s = 1.0 / (power->engine_ohm * copper + spec->engine_earth.joint_ohm);
    now.starter_s = 0.0;
    now.limit_a = ow_power_alternator_limit(&power->alternator, input->engine_rad_s);
    now.has_alternator = now.limit_a > 0.0;
    now.set_v = ow_power_set_v(&spec->alternator, input->wire_k > 0.0 ? input->wire_k : 293.15);
    now.droop_v = spec->alternator.droop_v;
    return now;
}

static OwBranch alternator_of(const OwNow *now) {
    return (OwBranch){.law = OW_BRANCH_ALTERNATOR,
                      .source_v = now->set_v,
                      .droop_v = now->droop_v,
                      .limit_a = now->limit_a};
}

/// One linearised solve about the present volts; returns the largest change at a curved law, in units of what
/// may be neglected there (straight laws are right after one solve).
static double sweep(const OwPower *power, const OwPowerInput *input, const OwNow *now, OwPowerWork *work) {
    double a[OW_AT_COUNT][OW_AT_COUNT] = {{0}}, y[OW_AT_COUNT] = {0};
    double *x = work->volt_v;
    // battery between its + and the reference
    const double battery_s =
        1.0 / (x[OW_AT_BATTERY] > now->battery.rest_v ? now->battery.take_ohm : now->battery.give_ohm);
    a[OW_AT_BATTERY][OW_AT_BATTERY] += battery_s;
    y[OW_AT_BATTERY] += battery_s * now->battery.rest_v;
    join(a, OW_AT_BATTERY, OW_AT_BOARD, now->main_s);
    join(a, OW_AT_BATTERY, OW_AT_ALTERNATOR, now->charge_s);
    a[OW_AT_BODY][OW_AT_BODY] += now->body_s;
    a[OW_AT_ENGINE][OW_AT_ENGINE] += now->engine_s;
    if (now->has_alternator) {
        const OwBranch b = alternator_of(now);
        const double v = x[OW_AT_ALTERNATOR] - x[OW_AT_ENGINE];
        double slope;
        const double current = ow_branch_current(&b, v, &slope) - slope * v;
        join(a, OW_AT_ALTERNATOR, OW_AT_ENGINE, slope);
        y[OW_AT_ALTERNATOR] -= current;
        y[OW_AT_ENGINE] += current;
    }
    const int count = power->spec.circuit_count;
    double norton_s[OW_MAX_CIRCUITS], norton_a[OW_MAX_CIRCUITS];
    for (int i = 0; i < count; i++) {
        const OwQuickCircuit *q = &power->quick[i];
        if (!ow_power_is_live(q, input, i)) {
            continue;
        }
        const double way = q->wire_ohm * now->copper + q->joint_ohm;
        const int from = q->is_starter ? OW_AT_BATTERY : OW_AT_BOARD;
        if (is_linear(&q->load)) {
            join(a, from, q->earth, norton_s[i] = 1.0 / (way + load_ohm(q, input, i)));
            norton_a[i] = 0.0;
            continue;
        }
        double slope;
        const double v = work->load_v[i], current = ow_branch_current(&q->load, v, &slope);
        norton_s[i] = slope / (1.0 + slope * way);
        norton_a[i] = (current - slope * v) / (1.0 + slope * way);
        join(a, from, q->earth, norton_s[i]);
        y[from] -= norton_a[i];
        if (q->earth >= 0) {
            y[q->earth] += norton_a[i];
        }
    }
    solve5(a, y);
    const double before = x[OW_AT_ALTERNATOR] - x[OW_AT_ENGINE];
    for (int k = 0; k < OW_AT_COUNT; k++) {
        x[k] = y[k];
    }
    double change = now->has_alternator
                        ? fabs(y[OW_AT_ALTERNATOR] - y[OW_AT_ENGINE] - before) / NEARLY_ALTERNATOR_V
                        : 0.0;
    for (int i = 0; i < count; i++) {
        const OwQuickCircuit *q = &power->quick[i];
        if (!ow_power_is_live(q, input, i)) {
            continue;
        }
        const int from = q->is_starter ? OW_AT_BATTERY : OW_AT_BOARD;
        const double across = x[from] - (q->earth >= 0 ? x[q->earth] : 0.0);
        const double v =
            across - (norton_s[i] * across + norton_a[i]) * (q->wire_ohm * now->copper + q->joint_ohm);
        if (!is_linear(&q->load)) {
            change = fmax(change, fabs(v - work->load_v[i]) / NEARLY_LOAD_V);
        }
        work->load_v[i] = v;
    }
    return change;
}

/// Volts over a load behind a resistance with `across` over both: v + way i(v) = across, by Newton kept in
/// its bracket (one answer, for i rises with v and passes through zero).
static double load_behind(const OwBranch *load, double way_ohm, double across, double guess_v) {
    double low = fmin(0.0, across), high = fmax(0.0, across), v = fmin(fmax(guess_v, low), high);
    for (int k = 0; k < 60 && high - low > 1e-13; k++) {
        double slope;
        const double gap = v + way_ohm * ow_branch_current(load, v, &slope) - across;
        if (gap > 0.0) {
            high = v;
        } else {
            low = v;
        }
        const double next = v - gap / (1.0 + way_ohm * slope);
        const double kept = next > low && next < high ? next : 0.5 * (low + high);
        if (fabs(kept - v) < 1e-12) {
            return kept;
        }
        v = kept;
    }
    return v;
}

/// Current that leaves each point at the given volts, and its slopes; the volts of curved loads are solved on
/// the way.
static void leaving(const OwPower *power, const OwPowerInput *input, const OwNow *now,
                    const double x[OW_AT_COUNT], double *load_v, double f[OW_AT_COUNT],
                    double a[OW_AT_COUNT][OW_AT_COUNT]) {
    memset(f, 0, OW_AT_COUNT * sizeof *f);
    memset(a, 0, OW_AT_COUNT * sizeof *a);
    const double over = x[OW_AT_BATTERY] - now->battery.rest_v;
    const double battery_s = 1.0 / (over > 0.0 ? now->battery.take_ohm : now->battery.give_ohm);
    a[OW_AT_BATTERY][OW_AT_BATTERY] += battery_s;
    f[OW_AT_BATTERY] += battery_s * over;
    const struct {
        int p, q;
        double s;
    } wires[] = {{OW_AT_BATTERY, OW_AT_BOARD, now->main_s},
                 {OW_AT_BATTERY, OW_AT_ALTERNATOR, now->charge_s},
                 {OW_AT_BODY, -1, now->body_s},
                 {OW_AT_ENGINE, -1, now->engine_s}};
    for (int i = 0; i < 4; i++) {
        const double current = wires[i].s * (x[wires[i].p] - (wires[i].q >= 0 ? x[wires[i].q] : 0.0));
        join(a, wires[i].p, wires[i].q, wires[i].s);
        f[wires[i].p] += current;
        if (wires[i].q >= 0) {
            f[wires[i].q] -= current;
        }
    }
    if (now->has_alternator) {
        const OwBranch b = alternator_of(now);
        double slope;
        const double current = ow_branch_current(&b, x[OW_AT_ALTERNATOR] - x[OW_AT_ENGINE], &slope);
        join(a, OW_AT_ALTERNATOR, OW_AT_ENGINE, slope);
        f[OW_AT_ALTERNATOR] += current;
        f[OW_AT_ENGINE] -= current;
    }
    for (int i = 0; i < power->spec.circuit_count; i++) {
        const OwQuickCircuit *q = &power->quick[i];
        if (!ow_power_is_live(q, input, i)) {
            continue;
        }
        const double way = q->wire_ohm * now->copper + q->joint_ohm;
        const int from = q->is_starter ? OW_AT_BATTERY : OW_AT_BOARD;
        const double across = x[from] - (q->earth >= 0 ? x[q->earth] : 0.0);
        double slope, current;
        if (is_linear(&q->load)) {
            slope = 1.0 / (way + load_ohm(q, input, i));
            current = across * slope;
            load_v[i] = across - current * way;
        } else {
            load_v[i] = load_behind(&q->load, way, across, load_v[i]);
            current = ow_branch_current(&q->load, load_v[i], &slope);
            slope /= 1.0 + slope * way;
        }
        join(a, from, q->earth, slope);
        f[from] += current;
        if (q->earth >= 0) {
            f[q->earth] -= current;
        }
    }
}

static double dot(const double a[OW_AT_COUNT], const double b[OW_AT_COUNT]) {
    double sum = 0.0;
    for (int k = 0; k < OW_AT_COUNT; k++) {
        sum += a[k] * b[k];
    }
    return sum;
}

/// The sure way, used when the plain sweeps will not settle: Newton whose step is cut where it passes the
/// bottom of the network's co-content by far, as in net.c.
static int careful(const OwPower *power, const OwPowerInput *input, const OwNow *now, OwPowerWork *work) {
    double a[OW_AT_COUNT][OW_AT_COUNT], f[OW_AT_COUNT], x[OW_AT_COUNT], step[OW_AT_COUNT],
        unused[OW_AT_COUNT][OW_AT_COUNT];
    int k = 0;
    for (; k < MOST_CAREFUL; k++) {
        leaving(power, input, now, work->volt_v, work->load_v, f, a);
        double largest = 0.0;
        for (int i = 0; i < OW_AT_COUNT; i++) {
            step[i] = -f[i];
        }
        solve5(a, step);
        for (int i = 0; i < OW_AT_COUNT; i++) {
            largest = fmax(largest, fabs(step[i]));
        }
        const double slope_0 = dot(f, step);
        double low = 0.0, high = 1.0, share = 1.0, at_low = slope_0, at_high = 0.0;
        for (int j = 0; j < 40; j++) {
            for (int i = 0; i < OW_AT_COUNT; i++) {
                x[i] = work->volt_v[i] + share * step[i];
            }
            leaving(power, input, now, x, work->load_v, f, unused);
            const double slope = dot(f, step);
            if (slope <= -0.5 * slope_0 && (share == 1.0 || slope >= 0.5 * slope_0)) {
                break;
            }
            if (slope > 0.0) {
                high = share;
                at_high = slope;
            } else {
                low = share;
                at_low = slope;
            }
            share = j % 2 ? 0.5 * (low + high) : low + (high - low) * at_low / (at_low - at_high);
        }
        memcpy(work->volt_v, x, sizeof x);
        if (largest < 1e-9) {
            break;
        }
    }
    return k;
}

static void start_volts(const OwPower *power, const OwNow *now, OwPowerWork *work) {
    const double v = now->has_alternator ? now->set_v - 0.5 * now->droop_v : now->battery.rest_v;
    work->volt_v[OW_AT_BATTERY] = work->volt_v[OW_AT_BOARD] = work->volt_v[OW_AT_ALTERNATOR] = v;
    work->volt_v[OW_AT_BODY] = work->volt_v[OW_AT_ENGINE] = 0.0;
    for (int i = 0; i < power->spec.circuit_count; i++) {
        work->load_v[i] = v;
    }
    work->is_warm = true;
}

static bool is_sound(const OwPower *power, const OwPowerInput *input) {
    bool sound = isfinite(input->engine_rad_s) && isfinite(input->battery_charge) &&
                 isfinite(input->battery_k) && isfinite(input->wire_k);
    for (int i = 0; i < power->spec.circuit_count; i++) {
        sound = sound && isfinite(input->load_ohm[i]);
    }
    return sound;
}

static void publish(const OwPower *power, const OwPowerInput *input, const OwNow *now,
                    const OwPowerWork *work, OwPowerResult *result) {
    const double *x = work->volt_v;
    double starter_a = 0.0, starter_v = 0.0;
    for (int i = 0; i < power->spec.circuit_count; i++) {
        const OwQuickCircuit *q = &power->quick[i];
        if (!ow_power_is_live(q, input, i)) {
            result->load_v[i] = result->load_a[i] = 0.0;
            continue;
        }
        const double v = work->load_v[i];
        result->load_v[i] = v;
        result->load_a[i] =
            is_linear(&q->load) ? v / load_ohm(q, input, i) : ow_branch_current(&q->load, v, NULL);
        if (q->is_starter) {
            starter_v = v;
            starter_a = result->load_a[i];
        }
    }
    const double over = x[OW_AT_BATTERY] - now->battery.rest_v;
    const double ohm = over > 0.0 ? now->battery.take_ohm : now->battery.give_ohm;
    const double out = -over / ohm;
    result->battery_v = x[OW_AT_BATTERY];
    result->battery_a = out;
    result->board_v = x[OW_AT_BOARD];
    result->alternator_a =
        now->has_alternator ? (x[OW_AT_ALTERNATOR] - x[OW_AT_BATTERY]) * now->charge_s : 0.0;
    result->starter_v = starter_v;
    result->starter_a = starter_a;
    result->charge_rate_1_s = (out > 0.0 ? -out : -CHARGE_EFFICIENCY * out) / power->capacity_c;
    result->battery_heat_w = out * out * ohm;
    const double air = input->wire_k > 0.0 ? input->wire_k : 293.15;
    result->battery_rate_k_s = (result->battery_heat_w - BATTERY_W_K * (input->battery_k - air)) /
                               (BATTERY_J_KGK * power->spec.battery.mass_kg * power->spec.battery.count);
}

OwStatus ow_power_volts(const OwPower *power, const OwPowerInput *input, OwPowerWork *work,
                        OwPowerResult *result) {
    if (!is_sound(power, input)) {
        return OW_ERROR_VALUE;
    }
    const OwNow now = now_of(power, input);
    if (!work->is_warm) {
        start_volts(power, &now, work);
    }
    int iterations = 0;
    bool is_settled = false;
    while (!is_settled && iterations < MOST_QUICK) {
        const bool was_taking = work->volt_v[OW_AT_BATTERY] > now.battery.rest_v;
        const double change = sweep(power, input, &now, work);
        iterations++;
        is_settled = change < 1.0 && was_taking == (work->volt_v[OW_AT_BATTERY] > now.battery.rest_v);
    }
    if (!is_settled) {
        iterations += careful(power, input, &now, work);
    }
    publish(power, input, &now, work, result);
    result->iterations = iterations;
    return OW_OK;
}
