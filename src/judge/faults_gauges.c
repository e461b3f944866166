// SPDX-License-Identifier: GPL-3.0-or-later
// When and by what the driver notices a failure: what he feels, and what gauges show beside the healthy
// vehicle.
#include <math.h>
#include <stdio.h>

#include "judge/faults.h"

// What a glance at a gauge tells apart. Assumed.
#define SEEN_K 15.0
#define SEEN_PA 20e3
#define SEEN_A 5.0
#define SEEN_V 1.0

/// The healthy reading that belongs to a moment: after the start counted from the start, before it from the
/// key.
static const OwTracePoint *beside(const OwTrace *healthy, double healthy_start_s, double start_s,
                                  double time_s) {
    const bool is_after = start_s >= 0.0 && time_s >= start_s && healthy_start_s >= 0.0;
    const double wanted_s = is_after ? time_s - start_s + healthy_start_s : time_s;
    const OwTracePoint *near = NULL;
    for (int i = 0; i < healthy->count; i++) {
        const OwTracePoint *p = &healthy->points[i];
        if (near == NULL || fabs(p->time_s - wanted_s) < fabs(near->time_s - wanted_s)) {
            near = p;
        }
    }
    return near;
}

static double difference(const OwTracePoint *a, const OwTracePoint *b) {
    double most = fabs(a->inlet_k - b->inlet_k) / SEEN_K;
    most = fmax(most, fabs(a->inlet_pa - b->inlet_pa) / SEEN_PA);
    most = fmax(most, fabs(a->load_a - b->load_a) / SEEN_A);
    return fmax(most, fabs(a->volts_v - b->volts_v) / SEEN_V);
}

static void look(OwFailure *failure, const OwTrace *trace, const OwTrace *healthy, const OwFacts *facts,
                 const OwFacts *healthy_facts) {
    // Thermostats switch at other moments on both vehicles: what counts is a difference that lasts.
    const double start_s = facts->has_started ? facts->start_s : -1.0;
    const double healthy_start_s = healthy_facts->has_started ? healthy_facts->start_s : -1.0;
    double since_s = -1.0, most = 0.0;
    for (int i = 0; i < trace->count; i++) {
        const OwTracePoint *p = &trace->points[i];
        const OwTracePoint *h = beside(healthy, healthy_start_s, start_s, p->time_s);
        if (h == NULL || !p->is_on || p->is_running != h->is_running) {
            continue;
        }
        const double seen = difference(p, h);
        since_s = seen < 1.0 ? -1.0 : since_s < 0.0 ? p->time_s : since_s;
        const bool lasts = since_s >= 0.0 && p->time_s - since_s >= 10.0;
        if (lasts && failure->gauge_s < 0.0) {
            failure->gauge_s = since_s;
        }
        if ((lasts && seen > most) || !failure->gauges.is_known) {
            most = seen;
            failure->gauges = (OwGauges){.is_known = true,
                                         .time_s = p->time_s,
                                         .inlet_k = p->inlet_k,
                                         .healthy_inlet_k = h->inlet_k,
                                         .inlet_pa = p->inlet_pa,
                                         .healthy_inlet_pa = h->inlet_pa,
                                         .volts_v = p->volts_v,
                                         .healthy_volts_v = h->volts_v,
                                         .load_a = p->load_a,
                                         .healthy_load_a = h->load_a};
        }
    }
}

static void feel(OwFailure *f, const OwFacts *facts, const OwFacts *healthy, double late_s) {
    double felt_s = INFINITY;
    const char *by = "";
    if (facts->no_start_s >= 0.0 && (healthy->no_start_s < 0.0 || !facts->has_started)) {
        felt_s = facts->no_start_s;
        by = "it does not start";
    } else if (facts->has_started && healthy->has_started && facts->start_s > healthy->start_s + late_s) {
        felt_s = healthy->start_s + late_s;
        by = "the start takes longer";
    }
    if (facts->starved_s > 2.0 && facts->first_starved_s < felt_s &&
        facts->least_share < healthy->least_share - 0.02) {
        felt_s = facts->first_starved_s;
        by = "the engine lacks power";
    }
    if (facts->stalled_s >= 0.0 && facts->stalled_s < felt_s && healthy->stalled_s < 0.0) {
        felt_s = facts->stalled_s;
        by = "the engine stops";
    }
    if (facts->coolant_hot_s >= 0.0 && facts->coolant_hot_s < felt_s && healthy->coolant_hot_s < 0.0) {
        felt_s = facts->coolant_hot_s;
        by = "the coolant gauge";
    }
    if (facts->empty_s >= 0.0 && facts->empty_s < felt_s && healthy->empty_s < 0.0) {
        felt_s = facts->empty_s;
        by = "the tank gauge and the stop";
    }
    if (isfinite(felt_s)) {
        f->felt_s = felt_s;
        snprintf(f->noticed, sizeof f->noticed, "%s", by);
    }
}

void ow_failure_notice(OwFailureWork *work, OwFailure *failure, OwScene scene) {
    if (failure->run < 0) {
        switch (failure->kind) {
        case OW_FAILURE_PETROL:
        case OW_FAILURE_HEATER_NEVER_OFF:
            snprintf(failure->noticed, sizeof failure->noticed, "%s",
                     failure->kind == OW_FAILURE_PETROL ? "smell and the pump receipt"
                                                        : "ammeter with the key off");
            break;
        case OW_FAILURE_OIL_LEAK:
            snprintf(failure->noticed, sizeof failure->noticed, "smell, drips under the car");
            break;
        case OW_FAILURE_INJECTION_PUMP_DEAD:
            failure->felt_s = 0.0;
            snprintf(failure->noticed, sizeof failure->noticed, "the engine stops");
            break;
        default:
            break;
        }
        return;
    }
    const OwFailureRun *run = &work->runs[failure->run];
    const OwFailureRun *healthy = &work->runs[0];
    if (!run->facts[scene].is_known || !healthy->facts[scene].is_known) {
        return;
    }
    look(failure, &run->trace[scene], &healthy->trace[scene], &run->facts[scene], &healthy->facts[scene]);
    feel(failure, &run->facts[scene], &healthy->facts[scene], work->settings.waits_late_s);
    if (failure->kind == OW_FAILURE_ALTERNATOR_DEAD && failure->felt_s < 0.0) {
        failure->felt_s = run->facts[scene].start_s;
        snprintf(failure->noticed, sizeof failure->noticed, "the charge lamp stays lit");
    }
    if (failure->felt_s < 0.0 && failure->gauge_s >= 0.0) {
        snprintf(failure->noticed, sizeof failure->noticed, "only the gauges");
    } else if (failure->felt_s < 0.0) {
        const bool is_burst = failure->verdict.quantity == OW_Q_PRESSURE;
        snprintf(failure->noticed, sizeof failure->noticed, "%s",
                 failure->outcome < OW_CLASS_DANGEROUS ? "nothing, until it is looked for"
                 : is_burst                            ? "nothing before the hose bursts: smell, drips, smoke"
                                                       : "nothing before it smells or smokes");
    }
    if (scene == OW_SCENE_ROAD &&
        (run->effect == OW_EFFECT_ELEMENT_OFF || run->effect == OW_EFFECT_PUMP_OFF) &&
        run->facts[scene].has_started) {
        failure->starts_s = run->facts[scene].start_s + OW_FAILURE_STRIKES_S;
    }
}
