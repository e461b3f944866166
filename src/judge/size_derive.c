// SPDX-License-Identifier: GPL-3.0-or-later
// What to vary when nobody says: the choices that act on the answers that fail.
#include "judge/size_impl.h"
#include "rig/catalogue.h"

#include <stdio.h>
#include <string.h>

#define PATH_SIZE 64

typedef struct Derive {
    const OwRig *rig;
    const OwJudgement *judgement;
    char (*targets)[OW_SIZE_TEXT];
    int count, size;
    int path[PATH_SIZE], path_count;
} Derive;

static void add(Derive *d, const char *part, const char *key) {
    char target[OW_SIZE_TEXT];
    (void)snprintf(target, sizeof target, "%s%s%s", part, part[0] != '\0' ? "." : "", key);
    for (int i = 0; i < d->count; i++) {
        if (strcmp(d->targets[i], target) == 0) {
            return;
        }
    }
    if (d->count < d->size) {
        (void)snprintf(d->targets[d->count++], OW_SIZE_TEXT, "%s", target);
    }
}

static bool has_heaters(const OwPart *part) {
    const OwElements *elements = ow_part_elements_const(part);
    return elements != NULL && elements->count > 0;
}

/// The last part of a kind on the way, -1 none.
static int last_of(const Derive *d, OwPartKind kind, bool is_heated) {
    for (int i = d->path_count - 1; i >= 0; i--) {
        const OwPart *part = &d->rig->parts[d->path[i]];
        if (part->kind == kind && (!is_heated || has_heaters(part))) {
            return d->path[i];
        }
    }
    return -1;
}

static void for_heat(Derive *d) {
    const int chamber = last_of(d, OW_PART_CHAMBER, true);
    const int pump = last_of(d, OW_PART_ELECTRIC_PUMP, false);
    if (chamber >= 0) {
        add(d, d->rig->parts[chamber].name, "power");
        add(d, d->rig->parts[chamber].name, "metal mass");
    }
    if (pump >= 0) {
        add(d, d->rig->parts[pump].name, "class");
    }
    if (chamber < 0 && d->rig->fluid_count == 1) {
        add(d, "", "oil.blend=diesel");
    }
}

/// Bores on the way by loss at the worst moment, and filter and pump.
static void for_flow(Derive *d) {
    int worst[2] = {-1, -1};
    double loss[2] = {0.0, 0.0};
    for (int i = 0; i < d->judgement->contribution_count; i++) {
        const OwContribution *c = &d->judgement->contributions[i];
        if (c->is_return) {
            continue;
        }
        const OwPartKind kind = d->rig->parts[c->part].kind;
        if ((kind != OW_PART_RUN && kind != OW_PART_FILTER) || c->drop_share <= loss[1]) {
            continue;
        }
        const int at = c->drop_share > loss[0] ? 0 : 1;
        if (at == 0) {
            worst[1] = worst[0];
            loss[1] = loss[0];
        }
        worst[at] = c->part;
        loss[at] = c->drop_share;
    }
    for (int k = 0; k < 2; k++) {
        if (worst[k] >= 0) {
            const OwPart *part = &d->rig->parts[worst[k]];
            add(d, part->name, part->kind == OW_PART_RUN ? "bore" : "area");
        }
    }
    const int pump = last_of(d, OW_PART_ELECTRIC_PUMP, false);
    if (pump >= 0) {
        add(d, d->rig->parts[pump].name, "class");
    }
}

static void for_running_heat(Derive *d) {
    for (int i = 0; i < d->rig->part_count; i++) {
        const OwPart *part = &d->rig->parts[i];
        if (part->kind == OW_PART_COOLANT_COIL || part->kind == OW_PART_EXCHANGER) {
            add(d, part->name, "conductance");
        }
    }
    const int chamber = last_of(d, OW_PART_CHAMBER, true);
    if (chamber >= 0) {
        add(d, d->rig->parts[chamber].name, "power");
    }
    if (ow_loop_point(d->rig) >= 0) {
        add(d, "", "loop point");
    }
    if (d->count == 0 && d->rig->fluid_count == 1) {
        add(d, "", "oil.blend=diesel");
    }
}

/// By the answers that break a limit.
static void for_answers(Derive *d) {
    for (int i = 0; i < d->judgement->answer_count; i++) {
        const OwAnswer *v = &d->judgement->answers[i];
        if (!ow_judge_fails(v->grade)) {
            continue;
        }
        switch (v->kind) {
        case OW_ANSWER_SUCTION:
        case OW_ANSWER_FILL:
        case OW_ANSWER_DELIVERY:
        case OW_ANSWER_FULL_LOAD:
        case OW_ANSWER_FULL_POWER:
            for_flow(d);
            break;
        case OW_ANSWER_RUN_VISCOSITY:
        case OW_ANSWER_INLET_TEMPERATURE:
            for_running_heat(d);
            break;
        default:
            for_heat(d);
            break;
        }
    }
}

int ow_size_derive(const OwRig *rig, const OwSizeGoal *goal, const OwJudgement *judgement,
                   char targets[][OW_SIZE_TEXT], int count, int size) {
    Derive d = {.rig = rig, .judgement = judgement, .targets = targets, .count = count, .size = size};
    d.path_count = ow_judge_path(judgement->record, -1, d.path, PATH_SIZE);
    switch (goal->kind) {
    case OW_GOAL_READY:
    case OW_GOAL_START:
    case OW_GOAL_CURRENT:
        for_heat(&d);
        break;
    case OW_GOAL_NO_AIR:
    case OW_GOAL_FULL_POWER:
        for_flow(&d);
        break;
    default:
        for_answers(&d);
        break;
    }
    return d.count;
}
