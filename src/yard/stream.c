// SPDX-License-Identifier: GPL-3.0-or-later
// Bookkeeping of oil, water and solids in kilograms: nothing appears, nothing is lost.
#include "yard/guard.h"

#include <math.h>

double ow_stream_total(const OwStream *stream) {
    return stream->oil_kg + stream->free_water_kg + stream->dissolved_water_kg + stream->solids_kg;
}

static double over(double part, double whole) {
    return whole > 0.0 && isfinite(part) ? part / whole : 0.0;
}

double ow_stream_water_share(const OwStream *stream) {
    return over(stream->free_water_kg + stream->dissolved_water_kg, ow_stream_total(stream));
}

double ow_stream_solids_share(const OwStream *stream) {
    return over(stream->solids_kg, ow_stream_total(stream));
}

double ow_stream_acid_share(const OwStream *stream) {
    return over(stream->acid_kg, stream->oil_kg);
}

OwStream ow_stream_make(double oil_kg, double water_share, double solids_share, double acid_share,
                        const OwSolubility *solubility, double temperature_k) {
    const double oil = ow_positive(oil_kg, 0.0);
    OwStream s = {.oil_kg = oil,
                  .free_water_kg = oil * ow_hold(water_share, 0.0, 1e3),
                  .solids_kg = oil * ow_hold(solids_share, 0.0, 1e3),
                  .acid_kg = oil * ow_hold(acid_share, 0.0, 1.0)};
    ow_stream_equilibrate(&s, solubility, temperature_k);
    return s;
}

OwStream ow_stream_mix(const OwStream *a, const OwStream *b) {
    return (OwStream){.oil_kg = a->oil_kg + b->oil_kg,
                      .free_water_kg = a->free_water_kg + b->free_water_kg,
                      .dissolved_water_kg = a->dissolved_water_kg + b->dissolved_water_kg,
                      .solids_kg = a->solids_kg + b->solids_kg,
                      .acid_kg = a->acid_kg + b->acid_kg};
}

void ow_stream_split(const OwStream *from, const OwSplit *share, OwStream *out, OwStream *rest) {
    const OwStream all = *from;
    const double oil = ow_hold(share->oil, 0.0, 1.0);
    const OwStream part = {.oil_kg = all.oil_kg * oil,
                           .free_water_kg = all.free_water_kg * ow_hold(share->free_water, 0.0, 1.0),
                           .dissolved_water_kg =
                               all.dissolved_water_kg * ow_hold(share->dissolved_water, 0.0, 1.0),
                           .solids_kg = all.solids_kg * ow_hold(share->solids, 0.0, 1.0),
                           .acid_kg = all.acid_kg * oil};
    *rest = (OwStream){.oil_kg = all.oil_kg - part.oil_kg,
                       .free_water_kg = all.free_water_kg - part.free_water_kg,
                       .dissolved_water_kg = all.dissolved_water_kg - part.dissolved_water_kg,
                       .solids_kg = all.solids_kg - part.solids_kg,
                       .acid_kg = all.acid_kg - part.acid_kg};
    *out = part;
}

void ow_stream_equilibrate(OwStream *stream, const OwSolubility *solubility, double temperature_k) {
    const double water = stream->free_water_kg + stream->dissolved_water_kg;
    stream->dissolved_water_kg = fmin(water, stream->oil_kg * ow_yard_soluble(solubility, temperature_k));
    stream->free_water_kg = water - stream->dissolved_water_kg;
}

void ow_balance_in(OwBalance *balance, const OwStream *stream) {
    balance->in = ow_stream_mix(&balance->in, stream);
}

void ow_balance_out(OwBalance *balance, OwOutlet outlet, const OwStream *stream) {
    if ((unsigned)outlet < OW_OUT_COUNT) {
        balance->out[outlet] = ow_stream_mix(&balance->out[outlet], stream);
    }
}

double ow_balance_error(const OwBalance *balance) {
    OwStream away = balance->stock;
    for (int i = 0; i < OW_OUT_COUNT; i++) {
        away = ow_stream_mix(&away, &balance->out[i]);
    }
    const OwStream *in = &balance->in;
    const double oil = fabs(in->oil_kg - away.oil_kg), solids = fabs(in->solids_kg - away.solids_kg),
                 acid = fabs(in->acid_kg - away.acid_kg),
                 water = fabs(in->free_water_kg + in->dissolved_water_kg - away.free_water_kg -
                              away.dissolved_water_kg);
    const double total = ow_stream_total(in);
    return total > 0.0 ? fmax(fmax(oil, solids), fmax(acid, water)) / total : 0.0;
}
