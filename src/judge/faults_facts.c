// SPDX-License-Identifier: GPL-3.0-or-later
// What a run of a broken rig shows, in one pass over its record.
#include "judge/faults.h"

#include <math.h>

#define SETTLE_S 5.0                           // after the start, before shares count
#define STALL_S 5.0                            // without fuel for idling
#define OVERHEAT_K (OW_ZERO_CELSIUS_K + 115.0) // coolant; common practice, no source

static void warm_facts(const OwRecord *record, int i, double span_s, OwFacts *f) {
    const OwSample *s = &record->samples[i];
    const OwRig *rig = record->rig;
    const double since_s = s->time_s - record->start_s;
    if (s->engine != OW_ENGINE_RUNNING || since_s < SETTLE_S) {
        return;
    }
    if (s->fuel_request_m3_s > 0.0) {
        const double share = s->fuel_burned_m3_s / s->fuel_request_m3_s;
        if (share < f->least_share) {
            f->least_share = share;
            f->least_s = s->time_s;
        }
        if (share < OW_FAILURE_SERVED) {
            f->starved_s += span_s;
            f->first_starved_s = f->first_starved_s < 0.0 ? s->time_s : f->first_starved_s;
        }
    }
    if (s->full_request_m3_s > 0.0 && since_s > rig->limits.warm_up_s) {
        f->full_share = fmin(f->full_share, s->full_burned_m3_s / s->full_request_m3_s);
    }
    const double limit = ow_judge_inlet_limit(record, s->time_s);
    if (limit > 0.0) {
        const double ratio = s->inlet_kinematic_m2_s / limit;
        f->thick_for_s += ratio > OW_FAILURE_THICK ? span_s : 0.0;
        if (ratio > f->thick_ratio) {
            f->thick_ratio = ratio;
            f->thick_s = s->time_s;
            f->thick_m2_s = s->inlet_kinematic_m2_s;
            f->thick_limit_m2_s = limit;
        }
    }
    f->airy_s += s->inlet_fill < rig->limits.min_fill - 0.02 ? span_s : 0.0;
    f->end_share = s->inlet_share;
    f->load_w = fmax(f->load_w, s->heaters_w + s->pumps_w);
}

static void hot_facts(const OwRecord *record, int i, OwFacts *f) {
    const OwSample *s = &record->samples[i];
    const OwPartSample *parts = &record->parts[(size_t)i * (size_t)record->part_count];
    for (int p = 0; p < record->part_count; p++) {
        const OwPart *part = &record->rig->parts[p];
        if (part->kind == OW_PART_COOLANT_COIL) {
            continue;
        }
        const double pa = fmax(parts[p].in_pa, parts[p].out_pa);
        if (part->kind == OW_PART_RUN && pa > f->high_pa) {
            f->high_pa = pa;
            f->high_s = s->time_s;
            f->high_part = p;
        }
        const double rating = ow_judge_rating(part);
        const double hot = fmax(parts[p].wall_max_k, parts[p].oil_max_k);
        if (rating > 0.0 && hot - rating > f->over_k) {
            f->over_k = hot - rating;
            f->over_s = s->time_s;
            f->over_value_k = hot;
            f->over_limit_k = rating;
            f->over_part = p;
        }
        const double limit = record->rig->limits.oil_max_k;
        if (limit > 0.0 && parts[p].oil_max_k - limit > f->oil_over_k) {
            f->oil_over_k = parts[p].oil_max_k - limit;
            f->oil_value_k = parts[p].oil_max_k;
            f->oil_s = s->time_s;
            f->oil_part = p;
        }
    }
}

static void trace_record(const OwRecord *record, OwTrace *trace) {
    const int stride = record->sample_count / OW_TRACE_POINTS + 1;
    trace->count = 0;
    for (int i = 0; i < record->sample_count && trace->count < OW_TRACE_POINTS; i += stride) {
        const OwSample *s = &record->samples[i];
        trace->points[trace->count++] = (OwTracePoint){
            .time_s = s->time_s,
            .inlet_k = s->inlet_k,
            .inlet_pa = s->inlet_pa,
            .volts_v = s->volts_v,
            .load_a = s->volts_v > 1.0 ? (s->heaters_w + s->pumps_w) / s->volts_v : 0.0,
            .share = s->fuel_request_m3_s > 0.0 ? s->fuel_burned_m3_s / s->fuel_request_m3_s : 1.0,
            .is_on = s->is_key_on,
            .is_running = s->engine == OW_ENGINE_RUNNING};
    }
}

/// When the engine has got less than idling needs for some seconds on end.
static void stall_facts(const OwRecord *record, OwFacts *f) {
    double since_s = -1.0;
    for (int i = 0; i < record->sample_count; i++) {
        const OwSample *s = &record->samples[i];
        const bool is_out = s->engine == OW_ENGINE_RUNNING && s->time_s - record->start_s > SETTLE_S &&
                            s->fuel_request_m3_s > 0.0 &&
                            s->fuel_burned_m3_s < fmin(0.9 * f->idle_m3_s, 0.9 * s->fuel_request_m3_s);
        if (!is_out) {
            since_s = -1.0;
        } else if (since_s < 0.0) {
            since_s = s->time_s;
        } else if (s->time_s - since_s >= STALL_S && f->stalled_s < 0.0) {
            f->stalled_s = since_s;
        }
    }
}

void ow_failure_facts(const OwRecord *record, OwFacts *facts, OwTrace *trace) {
    OwFacts *f = facts;
    *f = (OwFacts){.is_known = true,
                   .has_started = record->has_started,
                   .start_s = record->start_s,
                   .no_start_s = -1.0,
                   .least_share = 1.0,
                   .first_starved_s = -1.0,
                   .stalled_s = -1.0,
                   .full_share = 1.0,
                   .least_fill = 1.0,
                   .lowest_part = -1,
                   .high_part = -1,
                   .over_part = -1,
                   .over_k = -1e9,
                   .oil_over_k = -1e9,
                   .oil_part = -1,
                   .coolant_hot_s = -1.0,
                   .empty_s = -1.0,
                   .burned_m3 = record->audit.burned_m3};
    double idle = INFINITY;
    for (int i = 0; i < record->sample_count; i++) {
        const OwSample *s = &record->samples[i];
        const double span_s = i + 1 < record->sample_count ? record->samples[i + 1].time_s - s->time_s : 0.0;
        warm_facts(record, i, span_s, f);
        if (f->coolant_hot_s < 0.0) { // after that a driver has stopped
            hot_facts(record, i, f);
        }
        if (s->is_key_on && s->lowest_pa < f->lowest_pa) {
            f->lowest_pa = s->lowest_pa;
            f->lowest_s = s->time_s;
            f->lowest_part = s->lowest_part;
            f->lowest_m3_s =
                s->lowest_part >= 0 && s->lowest_part < record->part_count
                    ? fabs(record->parts[(size_t)i * (size_t)record->part_count + (size_t)s->lowest_part]
                               .flow_m3_s)
                    : 0.0;
        }
        if (s->engine != OW_ENGINE_OFF) {
            f->least_fill = fmin(f->least_fill, s->inlet_fill);
        }
        if (s->engine == OW_ENGINE_RUNNING && s->fuel_request_m3_s > 0.0 && s->speed_m_s < 0.1) {
            idle = fmin(idle, s->fuel_request_m3_s);
        }
        f->coolant_k = fmax(f->coolant_k, s->coolant_k);
        if (f->coolant_hot_s < 0.0 && s->coolant_k > OVERHEAT_K) {
            f->coolant_hot_s = s->time_s;
        }
        if (s->engine != OW_ENGINE_RUNNING) {
            f->charge_c = fmax(f->charge_c, s->charge_c);
        }
    }
    for (int e = 0; e < record->event_count; e++) {
        if (record->events[e].kind == OW_EVENT_NO_START) {
            f->no_start_m2_s = record->events[e].value;
            f->no_start_s = f->no_start_s < 0.0 ? record->events[e].time_s : f->no_start_s;
        } else if (record->events[e].kind == OW_EVENT_TANK_EMPTY && f->empty_s < 0.0) {
            f->empty_s = record->events[e].time_s;
        }
    }
    f->idle_m3_s = isfinite(idle) ? idle : record->rig->engine.start_fuel_m3_s * 0.2;
    stall_facts(record, f);
    trace_record(record, trace);
}
