// SPDX-License-Identifier: GPL-3.0-or-later
// Field by field, so that padding between fields does not count.
#include "digest.h"

#include <string.h>

static uint64_t mix(uint64_t hash, uint64_t bits) {
    for (int i = 0; i < 8; i++) {
        hash = (hash ^ (bits & 0xff)) * 0x100000001b3u;
        bits >>= 8;
    }
    return hash;
}

static uint64_t mix_real(uint64_t hash, double value) {
    uint64_t bits;
    memcpy(&bits, &value, sizeof bits);
    return mix(hash, bits);
}

static uint64_t mix_reals(uint64_t hash, const double *values, size_t count) {
    for (size_t i = 0; i < count; i++) {
        hash = mix_real(hash, values[i]);
    }
    return hash;
}

uint64_t ow_support_digest(const OwRecord *record) {
    uint64_t hash = 0xcbf29ce484222325u;
    for (int s = 0; s < record->sample_count; s++) {
        const OwSample *a = &record->samples[s];
        const double reals[] = {a->time_s,
                                a->speed_m_s,
                                a->engine_rad_s,
                                a->coolant_k,
                                a->block_k,
                                a->bay_k,
                                a->fuel_request_m3_s,
                                a->fuel_burned_m3_s,
                                a->full_request_m3_s,
                                a->full_burned_m3_s,
                                a->inlet_k,
                                a->inlet_pa,
                                a->inlet_kinematic_m2_s,
                                a->inlet_dynamic_pa_s,
                                a->inlet_fill,
                                a->inlet_share,
                                a->gallery_k,
                                a->gallery_pa,
                                a->lowest_pa,
                                a->heaters_w,
                                a->pumps_w,
                                a->charge_c,
                                a->volts_v};
        hash = mix_reals(hash, reals, sizeof reals / sizeof reals[0]);
        hash = mix(hash, (uint64_t)a->engine);
        hash = mix(hash, (uint64_t)(a->leg + 1));
        hash = mix(hash, (uint64_t)(a->lowest_part + 1));
        for (int p = 0; p < record->part_count; p++) {
            const OwPartSample *b = &record->parts[(size_t)s * (size_t)record->part_count + (size_t)p];
            const double more[] = {b->in_k,          b->out_k,     b->oil_max_k, b->wall_k,    b->wall_max_k,
                                   b->element_max_k, b->in_pa,     b->out_pa,    b->flow_m3_s, b->drop_pa,
                                   b->heat_w,        b->coolant_w, b->gain_w,    b->share};
            hash = mix_reals(hash, more, sizeof more / sizeof more[0]);
            hash = mix(hash, (uint64_t)(b->position + 1));
        }
    }
    for (int e = 0; e < record->event_count; e++) {
        hash = mix_real(hash, record->events[e].time_s);
        hash = mix_real(hash, record->events[e].value);
        hash = mix(hash, (uint64_t)record->events[e].kind);
        hash = mix(hash, (uint64_t)(record->events[e].part + 1));
    }
    const double sums[] = {
        record->audit.heat_in_j, record->audit.loss_j, record->audit.burned_j, record->audit.storage_j,
        record->ready_s,         record->start_s,      record->end_s};
    return mix_reals(hash, sums, sizeof sums / sizeof sums[0]);
}
