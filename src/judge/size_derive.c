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

/// The same before all others.
static void add_first(Derive *d, const char *part, const char *key) {
    const int before = d->count;
    add(d, part, key);
    if (d->count > before && before > 0) {
        char last[OW_SIZE_TEXT];
        memcpy(last, d->targets[before], OW_SIZE_TEXT);
        memmove(d->targets[1], d->targets[0], (size_t)before * OW_SIZE_TEXT);
        memcpy(d->targets[0], last, OW_SIZE_TEXT);
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

static double watts_of(const OwPart *part) {
    const OwElements *elements = ow_part_elements_const(part);
    double watts = 0.0;
    for (int e = 0; elements != NULL && e < elements->count; e++) {
        watts += elements->items[e].power_w;
    }
    return watts;
}

/// Current is drawn by all heaters: the strongest two parts first, wherever they stand.
static void for_current(Derive *d) {
    int most[2] = {-1, -1};
    for (int p = 0; p < d->rig->part_count; p++) {
        const double watts = watts_of(&d->rig->parts[p]);
        for (int k = 0; k < 2 && watts > 0.0; k++) {
            if (most[k] < 0 || watts > watts_of(&d->rig->parts[most[k]])) {
                most[1] = k == 0 ? most[0] : p;
                most[k] = p;
                break;
            }
        }
    }
    for (int k = 1; k >= 0; k--) {
        if (most[k] >= 0) {
            add_first(d, d->rig->parts[most[k]].name, "power");
        }
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
    bool has_heat = false;
    for (int i = 0; i < d->rig->part_count; i++) {
        const OwPart *part = &d->rig->parts[i];
        if (part->kind == OW_PART_COOLANT_COIL || part->kind == OW_PART_EXCHANGER) {
            add(d, part->name, "conductance");
            has_heat = true;
        }
    }
    const int chamber = last_of(d, OW_PART_CHAMBER, true);
    if (chamber >= 0) {
        add(d, d->rig->parts[chamber].name, "power");
    }
    if (ow_loop_point(d->rig) >= 0) {
        add(d, "", "loop point");
    }
    if (!has_heat && chamber < 0 && d->rig->fluid_count == 1) { // nothing warms it: thinner then
        add(d, "", "oil.blend=diesel");
    }
}

/// What the mend of an answer names, when it can be bought: a bore, watts.
static void for_mend(Derive *d, const OwAnswer *v) {
    for (int i = 0; i < v->change_count; i++) {
        const OwChange *c = &v->changes[i];
        const bool is_bore =
            c->part >= 0 && strcmp(c->key, "bore") == 0 && d->rig->parts[c->part].kind == OW_PART_RUN;
        const bool is_watts = c->part >= 0 && c->element >= 0 && strcmp(c->key, "power") == 0;
        if (is_bore || is_watts) {
            add(d, d->rig->parts[c->part].name, c->key);
        }
    }
}

/// A broken limit that any proposal must keep: without a choice that acts on it there is none.
static void for_safety(Derive *d) {
    for (int i = 0; i < d->judgement->answer_count; i++) {
        const OwAnswer *v = &d->judgement->answers[i];
        if (ow_judge_fails(v->grade) && ow_goal_is_safety(v->kind)) {
            for_mend(d, v);
        }
    }
}

static void for_answer(Derive *d, const OwAnswer *v) {
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
    case OW_ANSWER_HOSE_PRESSURE:
    case OW_ANSWER_INLET_PRESSURE:
        for_mend(d, v);
        break;
    default:
        for_heat(d);
        break;
    }
}

/// By the answers that break a limit, the one that stops the vehicle first.
static void for_answers(Derive *d) {
    const OwAnswer *first = ow_judge_deciding(d->judgement);
    if (first != NULL && ow_judge_fails(first->grade)) {
        for_answer(d, first);
    }
    for (int i = 0; i < d->judgement->answer_count; i++) {
        const OwAnswer *v = &d->judgement->answers[i];
        if (ow_judge_fails(v->grade) && v != first) {
            for_answer(d, v);
        }
    }
}

int ow_size_derive(const OwRig *rig, const OwSizeGoal *goal, const OwJudgement *judgement,
                   char targets[][OW_SIZE_TEXT], int count, int size) {
    Derive d = {.rig = rig, .judgement = judgement, .targets = targets, .count = count, .size = size};
    d.path_count = ow_judge_path(judgement->record, -1, d.path, PATH_SIZE);
    for_safety(&d);
    if (goal == NULL) {
        return d.count;
    }
    switch (goal->kind) {
    case OW_GOAL_READY:
    case OW_GOAL_START:
        for_heat(&d);
        break;
    case OW_GOAL_CURRENT:
        for_heat(&d);
        for_current(&d);
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
