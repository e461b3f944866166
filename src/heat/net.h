// SPDX-License-Identifier: GPL-3.0-or-later
// A linear network of heat: stirred lumps, ties between them, streams of liquid, and chains (pipes cut into
// cells with a wall each). Flows and conductances are frozen during a sub-step; the sub-step is implicit in
// all temperatures.
#ifndef OILWRIGHT_HEAT_NET_H
#define OILWRIGHT_HEAT_NET_H

#include "base/sparse.h"

/// A conductance between two lumps, or to a boundary temperature when b < 0.
typedef struct OwHeatTie {
    int a, b;
} OwHeatTie;

/// Liquid that flows from one lump to another (either way round; the sign of its rate tells).
typedef struct OwHeatStream {
    int from, to;
} OwHeatStream;

/// A pipe between two lumps: `cells` liquid cells, each with its wall cell. Liquid states stand at `first`,
/// walls at first + cells.
typedef struct OwHeatChain {
    int from, to;
    int cells, first;
    double liquid_j_k, wall_j_k; ///< capacity of one cell
    int warmer;                  ///< lump that warms the walls (coolant line alongside), -1 none
} OwHeatChain;

/// What is frozen during a sub-step. Arrays have the length of the thing they describe.
typedef struct OwHeatRates {
    double *capacity_j_k;   ///< lumps
    double *source_w;       ///< lumps: heat put in at the start state
    double *source_slope;   ///< lumps: W/K by which it falls as the lump warms, >= 0
    double *tie_w_k;        ///< ties
    double *tie_boundary_k; ///< ties with b < 0
    double *stream_w_k;     ///< streams: heat capacity rate, signed
    double *chain_w_k;      ///< chains: heat capacity rate, signed
    double *film_w_k;       ///< chains: liquid to wall, a cell
    double *loss_w_k;       ///< chains: wall to surroundings, a cell
    double *around_k;       ///< chains: surroundings
    double *warmer_w_k;     ///< chains: warmer lump to wall, a cell
    double *heat_w;         ///< chains: electric heat into the wall, a cell
} OwHeatRates;

typedef struct OwHeatNet {
    int lump_count, tie_count, stream_count, chain_count,
        state_count; ///< states: lumps first, then chain cells
    const OwHeatTie *ties;
    const OwHeatStream *streams;
    const OwHeatChain *chains;
    OwSparse *sparse;
    int *diagonal;           ///< slot of each lump
    int (*tie_slot)[2];      ///< (a,b), (b,a)
    int (*stream_slot)[2];   ///< (to,from), (from,to)
    int (*chain_slot)[2];    ///< (to,from), (from,to)
    double *right;           ///< work: right-hand side of the lumps
    double (*chain_work)[8]; ///< work: coefficients of each chain
} OwHeatNet;

/// Powers of a sub-step at the implicit state: what came in from sources, what left to boundaries.
typedef struct OwHeatSums {
    double source_w, loss_w;
} OwHeatSums;

/// Plans a network over caller-owned arrays that must outlive it.
OwStatus ow_heat_net_create(int lump_count, const OwHeatTie *ties, int tie_count, const OwHeatStream *streams,
                            int stream_count, const OwHeatChain *chains, int chain_count, OwArena *arena,
                            OwHeatNet **net);
/// A set of rates sized for the network, zeroed.
OwStatus ow_heat_rates_create(const OwHeatNet *net, OwArena *arena, OwHeatRates *rates);
/// One linearly implicit Euler sub-step of `step_s` from y0 to y1 (may not be the same array). False when the
/// matrix broke down.
bool ow_heat_net_step(OwHeatNet *net, const OwHeatRates *rates, double step_s, const double *y0, double *y1,
                      OwHeatSums *sums);
/// Time derivative of all states, K/s, for frozen rates: the same equations the step integrates.
void ow_heat_net_slope(const OwHeatNet *net, const OwHeatRates *rates, const double *y, double *slope);
/// The same streams and chains carry a passive share (of a second liquid): one implicit sub-step. `is_liquid`
/// marks lumps that hold liquid; others keep their value. Wall slots are left alone.
bool ow_heat_net_mix(OwHeatNet *net, const OwHeatRates *rates, double step_s, const double *x0, double *x1);
void ow_heat_net_mix_slope(const OwHeatNet *net, const OwHeatRates *rates, const double *x, double *slope);

#endif
