// SPDX-License-Identifier: GPL-3.0-or-later
// Builds the network of heat and gives its time derivative.
#include "heat/net.h"

#include <string.h>

OwStatus ow_heat_net_create(int lump_count, const OwHeatTie *ties, int tie_count, const OwHeatStream *streams,
                            int stream_count, const OwHeatChain *chains, int chain_count, OwArena *arena,
                            OwHeatNet **out) {
    *out = NULL;
    OwHeatNet *net = ow_arena_take(arena, 1, sizeof *net);
    const int most = tie_count + stream_count + chain_count;
    int(*pairs)[2] = ow_arena_take(arena, (size_t)most + 1, sizeof *pairs);
    if (!net || !pairs) {
        return OW_ERROR_MEMORY;
    }
    *net = (OwHeatNet){.lump_count = lump_count,
                       .tie_count = tie_count,
                       .stream_count = stream_count,
                       .chain_count = chain_count,
                       .ties = ties,
                       .streams = streams,
                       .chains = chains};
    int count = 0;
    for (int i = 0; i < tie_count; i++) {
        if (ties[i].b >= 0) {
            pairs[count][0] = ties[i].a;
            pairs[count++][1] = ties[i].b;
        }
    }
    for (int i = 0; i < stream_count; i++) {
        pairs[count][0] = streams[i].from;
        pairs[count++][1] = streams[i].to;
    }
    net->state_count = lump_count;
    for (int i = 0; i < chain_count; i++) {
        pairs[count][0] = chains[i].from;
        pairs[count++][1] = chains[i].to;
        net->state_count += 2 * chains[i].cells;
    }
    const OwStatus status = ow_sparse_create(lump_count, (const int(*)[2])pairs, count, arena, &net->sparse);
    if (status != OW_OK) {
        return status;
    }
    net->diagonal = ow_arena_take(arena, (size_t)lump_count, sizeof *net->diagonal);
    net->tie_slot = ow_arena_take(arena, (size_t)tie_count + 1, sizeof *net->tie_slot);
    net->stream_slot = ow_arena_take(arena, (size_t)stream_count + 1, sizeof *net->stream_slot);
    net->chain_slot = ow_arena_take(arena, (size_t)chain_count + 1, sizeof *net->chain_slot);
    net->right = ow_arena_take(arena, (size_t)lump_count, sizeof *net->right);
    net->chain_work = ow_arena_take(arena, (size_t)chain_count + 1, sizeof *net->chain_work);
    if (!net->diagonal || !net->tie_slot || !net->stream_slot || !net->chain_slot || !net->right ||
        !net->chain_work) {
        return OW_ERROR_MEMORY;
    }
    for (int i = 0; i < lump_count; i++) {
        net->diagonal[i] = ow_sparse_slot(net->sparse, i, i);
    }
    for (int i = 0; i < tie_count; i++) {
        if (ties[i].b >= 0) {
            net->tie_slot[i][0] = ow_sparse_slot(net->sparse, ties[i].a, ties[i].b);
            net->tie_slot[i][1] = ow_sparse_slot(net->sparse, ties[i].b, ties[i].a);
        }
    }
    for (int i = 0; i < stream_count; i++) {
        net->stream_slot[i][0] = ow_sparse_slot(net->sparse, streams[i].to, streams[i].from);
        net->stream_slot[i][1] = ow_sparse_slot(net->sparse, streams[i].from, streams[i].to);
    }
    for (int i = 0; i < chain_count; i++) {
        net->chain_slot[i][0] = ow_sparse_slot(net->sparse, chains[i].to, chains[i].from);
        net->chain_slot[i][1] = ow_sparse_slot(net->sparse, chains[i].from, chains[i].to);
    }
    *out = net;
    return OW_OK;
}

OwStatus ow_heat_rates_create(const OwHeatNet *net, OwArena *arena, OwHeatRates *rates) {
    const size_t lumps = (size_t)net->lump_count, ties = (size_t)net->tie_count + 1,
                 streams = (size_t)net->stream_count + 1, chains = (size_t)net->chain_count + 1;
    const size_t total = 3 * lumps + 2 * ties + streams + 6 * chains;
    double *at = ow_arena_take(arena, total, sizeof *at);
    if (!at) {
        return OW_ERROR_MEMORY;
    }
    rates->capacity_j_k = at;
    rates->source_w = at += lumps;
    rates->source_slope = at += lumps;
    rates->tie_w_k = at += lumps;
    rates->tie_boundary_k = at += ties;
    rates->stream_w_k = at += ties;
    rates->chain_w_k = at += streams;
    rates->film_w_k = at += chains;
    rates->loss_w_k = at += chains;
    rates->around_k = at += chains;
    rates->warmer_w_k = at += chains;
    rates->heat_w = at + chains;
    return OW_OK;
}

void ow_heat_net_slope(const OwHeatNet *net, const OwHeatRates *rates, const double *y, double *slope) {
    for (int i = 0; i < net->lump_count; i++) {
        slope[i] = rates->source_w[i];
    }
    for (int i = 0; i < net->tie_count; i++) {
        const OwHeatTie *tie = &net->ties[i];
        const double other_k = tie->b >= 0 ? y[tie->b] : rates->tie_boundary_k[i];
        const double heat_w = rates->tie_w_k[i] * (y[tie->a] - other_k);
        slope[tie->a] -= heat_w;
        if (tie->b >= 0) {
            slope[tie->b] += heat_w;
        }
    }
    for (int i = 0; i < net->stream_count; i++) {
        const OwHeatStream *stream = &net->streams[i];
        const double rate = rates->stream_w_k[i];
        if (rate >= 0.0) {
            slope[stream->to] += rate * (y[stream->from] - y[stream->to]);
        } else {
            slope[stream->from] -= rate * (y[stream->to] - y[stream->from]);
        }
    }
    for (int c = 0; c < net->chain_count; c++) {
        const OwHeatChain *chain = &net->chains[c];
        const int n = chain->cells, step = rates->chain_w_k[c] >= 0.0 ? 1 : -1;
        const double rate = rates->chain_w_k[c] * step;
        const double film = rates->film_w_k[c], loss = rates->loss_w_k[c], warm = rates->warmer_w_k[c];
        const int inlet = step > 0 ? chain->from : chain->to, outlet = step > 0 ? chain->to : chain->from;
        const double warmer_k = chain->warmer >= 0 ? y[chain->warmer] : 0.0;
        double before_k = y[inlet], taken_w = 0.0;
        for (int i = step > 0 ? 0 : n - 1; i >= 0 && i < n; i += step) {
            const double liquid_k = y[chain->first + i], wall_k = y[chain->first + n + i];
            slope[chain->first + i] =
                (rate * (before_k - liquid_k) + film * (wall_k - liquid_k)) / chain->liquid_j_k;
            const double from_warmer_w = warm * (warmer_k - wall_k);
            slope[chain->first + n + i] = (film * (liquid_k - wall_k) + loss * (rates->around_k[c] - wall_k) +
                                           from_warmer_w + rates->heat_w[c]) /
                                          chain->wall_j_k;
            taken_w += from_warmer_w;
            before_k = liquid_k;
        }
        slope[outlet] += rate * (before_k - y[outlet]);
        if (chain->warmer >= 0) {
            slope[chain->warmer] -= taken_w;
        }
    }
    for (int i = 0; i < net->lump_count; i++) {
        slope[i] /= rates->capacity_j_k[i];
    }
}

void ow_heat_net_mix_slope(const OwHeatNet *net, const OwHeatRates *rates, const double *x, double *slope) {
    memset(slope, 0, (size_t)net->state_count * sizeof *slope);
    for (int i = 0; i < net->stream_count; i++) {
        const OwHeatStream *stream = &net->streams[i];
        const double rate = rates->stream_w_k[i];
        if (rate >= 0.0) {
            slope[stream->to] += rate * (x[stream->from] - x[stream->to]);
        } else {
            slope[stream->from] -= rate * (x[stream->to] - x[stream->from]);
        }
    }
    for (int c = 0; c < net->chain_count; c++) {
        const OwHeatChain *chain = &net->chains[c];
        const int n = chain->cells, step = rates->chain_w_k[c] >= 0.0 ? 1 : -1;
        const double rate = rates->chain_w_k[c] * step;
        double before = x[step > 0 ? chain->from : chain->to];
        for (int i = step > 0 ? 0 : n - 1; i >= 0 && i < n; i += step) {
            slope[chain->first + i] = rate * (before - x[chain->first + i]) / chain->liquid_j_k;
            before = x[chain->first + i];
        }
        const int outlet = step > 0 ? chain->to : chain->from;
        slope[outlet] += rate * (before - x[outlet]);
    }
    for (int i = 0; i < net->lump_count; i++) {
        slope[i] /= rates->capacity_j_k[i];
    }
}
