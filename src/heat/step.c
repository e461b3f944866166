// SPDX-License-Identifier: GPL-3.0-or-later
// One implicit sub-step of the network of heat. Every chain is reduced to an affine map from the temperature
// that enters it to the one that leaves it; what is left is a small sparse system over the lumps, so loops
// and returns are closed exactly.
#include "heat/net.h"

#include <math.h>
#include <string.h>

/// Indices into a chain's work row.
enum { GAIN, LIQUID, WALL, CONSTANT, WALL_OLD, WALL_LIQUID, WALL_CONSTANT, THROUGH };

/// Forward pass over one chain with a cold (0) inlet: y1 receives the response to everything but the inlet.
/// Returns that response at the outlet.
static double chain_sweep(const OwHeatChain *chain, const double *work, bool is_forward, const double *y0,
                          double *y1) {
    const int n = chain->cells;
    const double *liquid = y0 + chain->first, *wall = liquid + n;
    double *out = y1 + chain->first;
    const double gain = work[GAIN], kl = work[LIQUID], kw = work[WALL], kc = work[CONSTANT];
    double z = 0.0;
    if (is_forward) {
        for (int i = 0; i < n; i++) {
            z = gain * z + (kl * liquid[i] + kw * wall[i] + kc);
            out[i] = z;
        }
    } else {
        for (int i = n - 1; i >= 0; i--) {
            z = gain * z + (kl * liquid[i] + kw * wall[i] + kc);
            out[i] = z;
        }
    }
    return z;
}

/// Second pass: adds the inlet's share and computes the walls. Returns the sum of the new wall temperatures.
static double chain_finish(const OwHeatChain *chain, const double *work, bool is_forward, double inlet_k,
                           const double *y0, double *y1) {
    const int n = chain->cells;
    const double *wall = y0 + chain->first + n;
    double *out = y1 + chain->first, *wall_out = out + n;
    const double gain = work[GAIN], wo = work[WALL_OLD], wl = work[WALL_LIQUID], wc = work[WALL_CONSTANT];
    double share = inlet_k, sum = 0.0;
    for (int j = 0; j < n; j++) {
        const int i = is_forward ? j : n - 1 - j;
        share *= gain;
        out[i] += share;
    }
    for (int i = 0; i < n; i++) {
        wall_out[i] = wo * wall[i] + wl * out[i] + wc;
        sum += wall_out[i];
    }
    return sum;
}

static double power_of(double base, int exponent) {
    double result = 1.0;
    while (exponent) {
        if (exponent & 1) {
            result *= base;
        }
        base *= base;
        exponent >>= 1;
    }
    return result;
}

static void chain_prepare(const OwHeatChain *chain, const OwHeatRates *rates, int c, double inverse_h,
                          double warmer_k, double *work) {
    const double rate = fabs(rates->chain_w_k[c]), film = rates->film_w_k[c];
    const double wall_j = chain->wall_j_k * inverse_h, liquid_j = chain->liquid_j_k * inverse_h;
    const double wall_inverse = 1.0 / (wall_j + film + rates->loss_w_k[c] + rates->warmer_w_k[c]);
    const double wall_constant =
        (rates->loss_w_k[c] * rates->around_k[c] + rates->warmer_w_k[c] * warmer_k + rates->heat_w[c]) *
        wall_inverse;
    const double wall_old = wall_j * wall_inverse, wall_liquid = film * wall_inverse;
    const double inverse = 1.0 / (liquid_j + rate + film * (1.0 - wall_liquid));
    work[GAIN] = rate * inverse;
    work[LIQUID] = liquid_j * inverse;
    work[WALL] = film * wall_old * inverse;
    work[CONSTANT] = film * wall_constant * inverse;
    work[WALL_OLD] = wall_old;
    work[WALL_LIQUID] = wall_liquid;
    work[WALL_CONSTANT] = wall_constant;
    work[THROUGH] = power_of(work[GAIN], chain->cells);
}

bool ow_heat_net_step(OwHeatNet *net, const OwHeatRates *rates, double step_s, const double *y0, double *y1,
                      OwHeatSums *sums) {
    const double inverse_h = 1.0 / step_s;
    double *const values = ow_sparse_values(net->sparse);
    double *const right = net->right;
    ow_sparse_zero(net->sparse);
    for (int i = 0; i < net->lump_count; i++) {
        const double held = rates->capacity_j_k[i] * inverse_h + rates->source_slope[i];
        values[net->diagonal[i]] = held;
        right[i] = held * y0[i] + rates->source_w[i];
    }
    for (int i = 0; i < net->tie_count; i++) {
        const OwHeatTie tie = net->ties[i];
        const double g = rates->tie_w_k[i];
        values[net->diagonal[tie.a]] += g;
        if (tie.b >= 0) {
            values[net->diagonal[tie.b]] += g;
            values[net->tie_slot[i][0]] -= g;
            values[net->tie_slot[i][1]] -= g;
        } else {
            right[tie.a] += g * rates->tie_boundary_k[i];
        }
    }
    for (int i = 0; i < net->stream_count; i++) {
        const double rate = rates->stream_w_k[i];
        const bool is_forward = rate >= 0.0;
        const int into = is_forward ? net->streams[i].to : net->streams[i].from;
        const double size = fabs(rate);
        values[net->diagonal[into]] += size;
        values[net->stream_slot[i][is_forward ? 0 : 1]] -= size;
    }
    for (int c = 0; c < net->chain_count; c++) {
        const OwHeatChain *chain = &net->chains[c];
        double *work = net->chain_work[c];
        const bool is_forward = rates->chain_w_k[c] >= 0.0;
        const double rate = fabs(rates->chain_w_k[c]);
        chain_prepare(chain, rates, c, inverse_h, chain->warmer >= 0 ? y0[chain->warmer] : 0.0, work);
        const double response = chain_sweep(chain, work, is_forward, y0, y1);
        const int into = is_forward ? chain->to : chain->from;
        values[net->diagonal[into]] += rate;
        values[net->chain_slot[c][is_forward ? 0 : 1]] -= rate * work[THROUGH];
        right[into] += rate * response;
    }
    if (!ow_sparse_factor_solve(net->sparse, right)) {
        return false;
    }
    memcpy(y1, right, (size_t)net->lump_count * sizeof *y1);
    double source_w = 0.0, loss_w = 0.0;
    for (int i = 0; i < net->lump_count; i++) {
        source_w += rates->source_w[i] - rates->source_slope[i] * (y1[i] - y0[i]);
    }
    for (int i = 0; i < net->tie_count; i++) {
        if (net->ties[i].b < 0) {
            loss_w += rates->tie_w_k[i] * (y1[net->ties[i].a] - rates->tie_boundary_k[i]);
        }
    }
    for (int c = 0; c < net->chain_count; c++) {
        const OwHeatChain *chain = &net->chains[c];
        const bool is_forward = rates->chain_w_k[c] >= 0.0;
        const double inlet_k = right[is_forward ? chain->from : chain->to];
        const double walls_k = chain_finish(chain, net->chain_work[c], is_forward, inlet_k, y0, y1);
        source_w += chain->cells * rates->heat_w[c];
        loss_w += rates->loss_w_k[c] * (walls_k - chain->cells * rates->around_k[c]);
        if (chain->warmer >= 0) {
            // The warmer's temperature was frozen for the walls; it now pays exactly what they took.
            const int w = chain->warmer;
            const double taken_w = rates->warmer_w_k[c] * (chain->cells * y0[w] - walls_k);
            y1[w] -= taken_w / (rates->capacity_j_k[w] * inverse_h);
        }
    }
    sums->source_w = source_w;
    sums->loss_w = loss_w;
    return true;
}

bool ow_heat_net_mix(OwHeatNet *net, const OwHeatRates *rates, double step_s, const double *x0, double *x1) {
    const double inverse_h = 1.0 / step_s;
    double *const values = ow_sparse_values(net->sparse);
    double *const right = net->right;
    ow_sparse_zero(net->sparse);
    for (int i = 0; i < net->lump_count; i++) {
        const double held = rates->capacity_j_k[i] * inverse_h;
        values[net->diagonal[i]] = held;
        right[i] = held * x0[i];
    }
    for (int i = 0; i < net->stream_count; i++) {
        const double rate = rates->stream_w_k[i];
        const bool is_forward = rate >= 0.0;
        values[net->diagonal[is_forward ? net->streams[i].to : net->streams[i].from]] += fabs(rate);
        values[net->stream_slot[i][is_forward ? 0 : 1]] -= fabs(rate);
    }
    for (int c = 0; c < net->chain_count; c++) {
        const OwHeatChain *chain = &net->chains[c];
        double *work = net->chain_work[c];
        const bool is_forward = rates->chain_w_k[c] >= 0.0;
        const double rate = fabs(rates->chain_w_k[c]), held = chain->liquid_j_k * inverse_h;
        const double inverse = 1.0 / (held + rate);
        memset(work, 0, sizeof net->chain_work[c]);
        work[GAIN] = rate * inverse;
        work[LIQUID] = held * inverse;
        work[THROUGH] = power_of(work[GAIN], chain->cells);
        work[WALL_OLD] = 1.0;
        const double response = chain_sweep(chain, work, is_forward, x0, x1);
        const int into = is_forward ? chain->to : chain->from;
        values[net->diagonal[into]] += rate;
        values[net->chain_slot[c][is_forward ? 0 : 1]] -= rate * work[THROUGH];
        right[into] += rate * response;
    }
    if (!ow_sparse_factor_solve(net->sparse, right)) {
        return false;
    }
    memcpy(x1, right, (size_t)net->lump_count * sizeof *x1);
    for (int c = 0; c < net->chain_count; c++) {
        const OwHeatChain *chain = &net->chains[c];
        const bool is_forward = rates->chain_w_k[c] >= 0.0;
        (void)chain_finish(chain, net->chain_work[c], is_forward, right[is_forward ? chain->from : chain->to],
                           x0, x1);
    }
    return true;
}
