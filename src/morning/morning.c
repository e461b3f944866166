// SPDX-License-Identifier: GPL-3.0-or-later
// The time loop: adaptive steps from known time to known time, events located on the step length, one record
// at the end.
#include "morning/morning_impl.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define FIRST_STEP_S 1.0  // after every jump
#define LEAST_STEP_S 1e-6 // a step this short is taken whatever its error: work stays bounded
#define MOST_STEPS 400000
#define EVENT_RETRIES 12
#define MOST_EVENTS 8192

OwMorningSettings ow_morning_default(void) {
    return (OwMorningSettings){
        .tolerance_k = 0.01, .max_step_s = 60.0, .max_samples = 2048, .has_full_load = true};
}

const char *ow_event_text(OwEventKind kind) {
    static const char *const text[] = {
        [OW_EVENT_KEY_ON] = "key on",
        [OW_EVENT_READY] = "oil ready at the injection pump",
        [OW_EVENT_CRANK] = "cranking",
        [OW_EVENT_START] = "engine runs",
        [OW_EVENT_NO_START] = "did not start",
        [OW_EVENT_GAVE_UP] = "driver gives up",
        [OW_EVENT_STOP] = "engine stopped",
        [OW_EVENT_LEG] = "leg begins",
        [OW_EVENT_THERMOSTAT_OPENS] = "thermostat opens",
        [OW_EVENT_THERMOSTAT_CLOSES] = "thermostat closes",
        [OW_EVENT_VALVE] = "valve moves",
        [OW_EVENT_SWITCH] = "switched",
        [OW_EVENT_AIR] = "air comes out at the pump inlet",
        [OW_EVENT_AIR_OVER] = "pump inlet full again",
        [OW_EVENT_STARVED] = "fuel falls short",
        [OW_EVENT_STARVED_OVER] = "fuel is enough again",
        [OW_EVENT_TANK_EMPTY] = "tank empty",
        [OW_EVENT_END] = "end",
    };
    return (int)kind >= 0 && kind <= OW_EVENT_END ? text[kind] : "unknown";
}

static OwStatus take_room(OwMorning *morning) {
    const OwPlan *plan = morning->plan;
    const size_t states = (size_t)plan->state_count;
    const size_t parts = (size_t)plan->rig->part_count;
    OwArena *arena = morning->arena;
    double *arrays = ow_arena_take(arena, states * 5, sizeof *arrays);
    morning->sample_capacity = morning->settings.max_samples < 64 ? 64 : morning->settings.max_samples;
    morning->event_capacity = MOST_EVENTS;
    morning->record.samples = ow_arena_take(arena, (size_t)morning->sample_capacity, sizeof(OwSample));
    morning->record.parts =
        ow_arena_take(arena, (size_t)morning->sample_capacity * parts, sizeof(OwPartSample));
    morning->record.events = ow_arena_take(arena, (size_t)morning->event_capacity, sizeof(OwEvent));
    morning->rule_armed = ow_arena_take(arena, (size_t)plan->rig->rule_count + 1, sizeof(bool));
    morning->rule_done = ow_arena_take(arena, (size_t)plan->rig->rule_count + 1, sizeof(bool));
    morning->saved_nodes = ow_arena_take(arena, (size_t)plan->node_count, sizeof(OwFlowNode));
    morning->saved_links = ow_arena_take(arena, (size_t)plan->link_count, sizeof(OwLink));
    if (!arrays || !morning->record.samples || !morning->record.parts || !morning->record.events ||
        !morning->rule_armed || !morning->rule_done || !morning->saved_nodes || !morning->saved_links) {
        return OW_ERROR_MEMORY;
    }
    morning->y = arrays;
    morning->next = arrays + states;
    for (int i = 0; i < 3; i++) {
        morning->half[i] = arrays + (size_t)(2 + i) * states;
    }
    return OW_OK;
}

OwStatus ow_morning_create(const OwPlan *plan, const OwMorningSettings *settings, OwMorning **out) {
    *out = NULL;
    OwArena *arena = ow_arena_create();
    OwMorning *morning = arena ? ow_arena_take(arena, 1, sizeof *morning) : NULL;
    if (!morning) {
        ow_arena_destroy(&arena);
        return OW_ERROR_MEMORY;
    }
    morning->plan = plan;
    morning->arena = arena;
    morning->settings = *settings;
    if (!(morning->settings.tolerance_k > 0.0)) {
        morning->settings.tolerance_k = 0.01;
    }
    if (!(morning->settings.max_step_s > 0.0)) {
        morning->settings.max_step_s = 60.0;
    }
    morning->path_count =
        ow_plan_path(plan, morning->path, (int)(sizeof morning->path / sizeof morning->path[0]));
    OwStatus status = take_room(morning);
    if (status == OW_OK) {
        status = ow_system_create(plan, arena, &morning->system);
    }
    if (status == OW_OK) {
        status = ow_system_eval_create(morning->system, &morning->start);
    }
    if (status == OW_OK) {
        status = ow_system_eval_create(morning->system, &morning->inside);
    }
    if (status != OW_OK) {
        ow_morning_destroy(&morning);
        return status;
    }
    morning->record.rig = plan->rig;
    morning->record.plan = plan;
    morning->record.part_count = plan->rig->part_count;
    *out = morning;
    return OW_OK;
}

void ow_morning_destroy(OwMorning **morning) {
    if (morning && *morning) {
        OwArena *arena = (*morning)->arena;
        *morning = NULL;
        ow_arena_destroy(&arena);
    }
}

const OwRecord *ow_morning_record(const OwMorning *morning) {
    return &morning->record;
}

static double tanks_m3(const OwMorning *morning) {
    double sum = 0.0;
    for (int t = 0; t < morning->plan->tank_count; t++) {
        sum += morning->y[morning->plan->tank_at + t];
    }
    return sum;
}

static double soak_of(const OwMorning *morning) {
    return morning->settings.soak_k > 0.0 ? morning->settings.soak_k : morning->plan->rig->climate.ambient_k;
}

static void turn_key(OwMorning *morning) {
    const OwRig *rig = morning->plan->rig;
    OwRecord *record = &morning->record;
    record->sample_count = record->event_count = 0;
    record->has_started = false;
    record->ready_s = record->start_s = -1.0;
    record->stats = (OwRunStats){.shortest_step_s = INFINITY};
    record->audit = (OwAudit){0};
    record->trouble[0] = '\0';
    ow_system_reset(morning->system, soak_of(morning), morning->y);
    morning->time_s = 0.0;
    // Without a limit of his own the user sees the whole drive, however late it starts.
    const OwDriveSpec *drive = &rig->drive;
    const double latest_start =
        fmax(drive->ready_wait_s, drive->earliest_start_s) +
        fmax(drive->attempts, 1) * (fmax(drive->crank_s, 0.5) + fmax(drive->pause_s, 0.5));
    morning->until_s = morning->settings.until_s > 0.0 ? morning->settings.until_s
                                                       : latest_start + morning->plan->drive.length_s;
    morning->leg = -1;
    morning->is_airy = morning->is_starved = morning->is_empty = false;
    morning->stride = 1;
    morning->since_sample = 0;
    morning->full_load_s = -INFINITY;
    morning->start_heat_j = ow_morning_storage_j(morning, morning->y);
    morning->start_tank_m3 = tanks_m3(morning);
    ow_morning_key_on(morning);
}

/// Evaluates at the present state, lets everything due happen (each switching may cause another), and
/// records.
static bool settle(OwMorning *morning, bool is_step_end) {
    ow_system_evaluate(morning->system, morning->time_s, morning->y, &morning->start);
    if (is_step_end) {
        ow_morning_sample(morning, false);
    }
    bool has_jumped = false;
    for (int i = 0; i < 8 && ow_morning_happen(morning); i++) {
        ow_system_evaluate(morning->system, morning->time_s, morning->y, &morning->start);
        ow_morning_sample(morning, true);
        has_jumped = true;
    }
    return has_jumped;
}

static void close_audit(OwMorning *morning) {
    const double *sum = morning->y + morning->plan->sum_at;
    OwAudit *audit = &morning->record.audit;
    audit->heat_in_j = sum[OW_SUM_HEAT_IN];
    audit->loss_j = sum[OW_SUM_LOSS];
    audit->burned_j = sum[OW_SUM_BURNED_J];
    audit->burned_m3 = sum[OW_SUM_BURNED_M3];
    audit->storage_j = ow_morning_storage_j(morning, morning->y) - morning->start_heat_j;
    audit->tank_change_m3 = tanks_m3(morning) - morning->start_tank_m3;
    const double turned_over = fabs(audit->heat_in_j) + fabs(audit->loss_j) + fabs(audit->burned_j);
    audit->energy_gap =
        turned_over > 0.0
            ? fabs(audit->storage_j - audit->heat_in_j + audit->loss_j + audit->burned_j) / turned_over
            : 0.0;
    // Lines stay full, so tanks lose what was burned and what leak-off did not bring back.
    audit->volume_gap = audit->burned_m3 > 0.0
                            ? fabs(audit->tank_change_m3 + audit->burned_m3) / audit->burned_m3
                            : fabs(audit->tank_change_m3);
}

static void name_trouble(OwMorning *morning, const char *what) {
    int node, link;
    ow_flow_worst(morning->system->flow, &node, &link);
    const OwRig *rig = morning->plan->rig;
    const char *part = link >= 0 && link < morning->plan->link_count
                           ? rig->parts[morning->plan->links[link].part].name
                           : "?";
    (void)snprintf(morning->record.trouble, sizeof morning->record.trouble, "%s at %.1f s near %s", what,
                   morning->time_s, part);
}

/// Shortens a step to the first watched value that crosses inside it. A cubic gives the first guess; once
/// bracketed, the secant does. False when a trial broke down.
static bool meet_event(OwMorning *morning, double *step_s) {
    double share;
    int id = ow_morning_crossing(morning, *step_s, morning->y, morning->next, &share);
    double low = 0.0, low_past = 0.0, high = *step_s, high_past = 0.0;
    for (int retry = 0; id >= 0 && retry < EVENT_RETRIES && high - low > 1e-6; retry++) {
        *step_s = low + fmin(fmax(share, 1e-3), 1.0 - 1e-3) * (high - low);
        int order;
        morning->record.stats.event_retries++;
        if (!isfinite(ow_morning_try(morning, *step_s, &order))) {
            return false;
        }
        double again;
        const int other = ow_morning_crossing(morning, *step_s, morning->y, morning->next, &again);
        const double past = ow_morning_past(morning, id, morning->next);
        if (other >= 0) { // still too far, perhaps for another thing
            id = other;
            high = *step_s;
            high_past = ow_morning_past(morning, id, morning->next);
            if (low == 0.0) {
                share = again;
                continue;
            }
        } else if (past > -ow_morning_arrived_k(morning)) {
            return true;
        } else {
            low = *step_s;
            low_past = past;
            if (high_past <= 0.0) {
                high_past = fmax(
                    -past, ow_morning_overshoot_k(morning)); // only a guess until the far end has been tried
            }
        }
        share = -low_past / (high_past - low_past);
    }
    return true;
}

/// One accepted step. Returns the step to try next, or a negative number when the loop must end.
static double advance(OwMorning *morning, double step_s) {
    OwRunStats *stats = &morning->record.stats;
    const double known = ow_morning_next_known(morning);
    const double left = known - morning->time_s;
    const bool is_fixed = morning->settings.fixed_step_s > 0.0;
    double wanted = is_fixed ? morning->settings.fixed_step_s : fmin(step_s, morning->settings.max_step_s);
    double h = wanted;
    bool is_known = false;
    if (h >= left * (1.0 - 1e-9)) {
        h = left;
        is_known = true;
    } else if (!is_fixed && h > 0.5 * left) {
        h = 0.5 * left;
    }
    double norm = 0.0;
    int order = 3;
    for (;;) {
        norm = ow_morning_try(morning, h, &order);
        if (is_fixed || norm <= 1.0 || h <= LEAST_STEP_S) {
            break;
        }
        stats->rejected++;
        h = fmax(h * fmax(0.85 * cbrt(1.0 / fmin(norm, 1e6)), 0.1), LEAST_STEP_S);
        is_known = false;
    }
    if (!isfinite(norm)) {
        name_trouble(morning, "the temperatures have no solution");
        return -1.0;
    }
    const double room = 1.0 / fmax(norm, 1e-4);
    double grown = is_fixed ? wanted : h * fmin(0.85 * (cbrt(room)), 4.0);
    const double full_h = h;
    if (!meet_event(morning, &h)) {
        name_trouble(morning, "the temperatures have no solution");
        return -1.0;
    }
    is_known = is_known && h == full_h;
    double *swap = morning->y;
    morning->y = morning->next;
    morning->next = swap;
    morning->time_s = is_known ? known : morning->time_s + h;
    stats->steps++;
    stats->shortest_step_s = fmin(stats->shortest_step_s, h);
    return is_known ? fmax(grown, step_s) : grown;
}

static OwStatus finish(OwMorning *morning) {
    OwRecord *record = &morning->record;
    ow_morning_sample(morning, true);
    ow_morning_event(morning, OW_EVENT_END, -1, -1, 0.0);
    record->end_s = morning->time_s;
    record->stats.evaluations = morning->system->evaluations;
    record->stats.flow_iterations = morning->system->flow_iterations;
    record->stats.most_flow_iterations = morning->system->most_flow_iterations;
    if (!isfinite(record->stats.shortest_step_s)) {
        record->stats.shortest_step_s = 0.0;
    }
    close_audit(morning);
    return record->trouble[0] ? OW_ERROR_NO_SOLUTION : OW_OK;
}

OwStatus ow_morning_repeat(OwMorning *morning) {
    turn_key(morning);
    ow_system_evaluate(morning->system, 0.0, morning->y, &morning->start);
    ow_morning_sample(morning, true);
    (void)settle(morning, false);
    double step_s = FIRST_STEP_S;
    for (long turn = 0; morning->time_s < morning->until_s * (1.0 - 1e-12); turn++) {
        if (morning->start.has_failed) {
            name_trouble(morning, "the flows have no solution");
            break;
        }
        if (turn >= MOST_STEPS) {
            name_trouble(morning, "the bounded work is used up");
            break;
        }
        step_s = advance(morning, step_s);
        if (step_s < 0.0) {
            break;
        }
        if (settle(morning, true)) {
            step_s = fmin(step_s, FIRST_STEP_S);
        }
        if (morning->is_empty) {
            (void)snprintf(morning->record.trouble, sizeof morning->record.trouble,
                           "a tank is empty at %.0f s", morning->time_s);
            break;
        }
        if (morning->stage == OW_STAGE_DRIVE &&
            morning->time_s >= morning->system->now.start_s + morning->plan->drive.length_s - 1e-9 &&
            !(morning->settings.until_s > 0.0)) {
            break;
        }
        if (morning->settings.progress && turn % 64 == 0 &&
            !morning->settings.progress(morning->settings.context, morning->time_s / morning->until_s)) {
            break;
        }
    }
    const bool is_dry = morning->is_empty;
    const OwStatus status = finish(morning);
    return is_dry ? OW_OK : status;
}

/// A record that stands alone keeps its morning behind it.
typedef struct OwOwnedRecord {
    OwRecord record;
    OwMorning *morning;
} OwOwnedRecord;

OwStatus ow_morning_run(const OwPlan *plan, const OwMorningSettings *settings, OwRecord **out,
                        OwFaults *faults) {
    (void)faults;
    *out = NULL;
    const OwMorningSettings usual = ow_morning_default();
    OwOwnedRecord *owned = calloc(1, sizeof *owned);
    if (!owned) {
        return OW_ERROR_MEMORY;
    }
    OwStatus status = ow_morning_create(plan, settings ? settings : &usual, &owned->morning);
    if (status != OW_OK) {
        free(owned);
        return status;
    }
    status = ow_morning_repeat(owned->morning);
    owned->record = owned->morning->record;
    *out = &owned->record;
    return status;
}

void ow_record_destroy(OwRecord **record) {
    if (record && *record) {
        OwOwnedRecord *owned = (OwOwnedRecord *)(void *)*record;
        *record = NULL;
        ow_morning_destroy(&owned->morning);
        free(owned);
    }
}
