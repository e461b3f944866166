// SPDX-License-Identifier: GPL-3.0-or-later
// Designs side by side: rows of answers, which is better, in words.
#include "oilwright/compare.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static int severity(OwGrade grade) {
    switch (grade) {
    case OW_GRADE_GOOD:
        return 0;
    case OW_GRADE_TIGHT:
        return 1;
    case OW_GRADE_UNKNOWN:
        return 2;
    case OW_GRADE_BAD:
        return 3;
    default:
        return 4;
    }
}

/// Answers that are told without a limit and where less is better.
static bool is_less_better(OwAnswerKind kind) {
    return kind == OW_ANSWER_START || kind == OW_ANSWER_READY || kind == OW_ANSWER_FULL_POWER ||
           kind == OW_ANSWER_BATTERY;
}

static bool can_rank(OwAnswerKind kind) {
    return kind != OW_ANSWER_THERMOSTAT && kind != OW_ANSWER_COOLANT;
}

/// Above 0: a is better; 0: equally good.
static int better(const OwAnswer *a, const OwAnswer *b) {
    if (severity(a->grade) != severity(b->grade)) {
        return severity(a->grade) < severity(b->grade) ? 1 : -1;
    }
    if (is_less_better(a->kind) && a->has_value && b->has_value) {
        const double scale = fmax(fmax(fabs(a->value), fabs(b->value)), 1.0);
        return fabs(a->value - b->value) <= 0.02 * scale ? 0 : a->value < b->value ? 1 : -1;
    }
    if (a->has_limit && b->has_limit) {
        const double scale = fmax(1.0, fmin(fabs(a->tightness), fabs(b->tightness)));
        return fabs(a->tightness - b->tightness) <= 0.05 * scale ? 0 : a->tightness > b->tightness ? 1 : -1;
    }
    return 0;
}

static const OwAnswer *worst_of(const OwJudgement *judgement, OwAnswerKind kind) {
    const OwAnswer *worst = NULL;
    for (int i = 0; i < judgement->answer_count; i++) {
        const OwAnswer *v = &judgement->answers[i];
        if (v->kind == kind && (worst == NULL || severity(v->grade) > severity(worst->grade) ||
                                (v->grade == worst->grade && v->has_limit && worst->has_limit &&
                                 v->tightness < worst->tightness))) {
            worst = v;
        }
    }
    return worst;
}

/// A design that does not do its work keeps hoses cool and pumps quiet: that makes it no better.
static bool is_out(const OwJudgement *judgement) {
    static const OwAnswerKind work[] = {OW_ANSWER_START, OW_ANSWER_DELIVERY};
    for (size_t i = 0; i < sizeof work / sizeof work[0]; i++) {
        const OwAnswer *v = ow_judge_find(judgement, work[i]);
        if (v != NULL && ow_judge_fails(v->grade)) {
            return true;
        }
    }
    return false;
}

/// Takes the stars off those that are out, when another is not.
static void take_out(OwComparison *c) {
    bool has_one = false;
    for (int i = 0; i < c->count; i++) {
        has_one = has_one || !c->facts[i].is_out;
    }
    for (int r = 0; r < c->row_count && has_one; r++) {
        for (int i = 0; i < c->count; i++) {
            c->rows[r].is_best[i] = c->rows[r].is_best[i] && (!c->facts[i].is_out || c->rows[r].is_tie);
        }
    }
}

static void rank(OwCompareRow *row, int count) {
    int asked = 0, best = 0;
    for (int i = 0; i < count; i++) {
        asked += row->cells[i] != NULL;
        row->is_best[i] = row->cells[i] != NULL;
        for (int k = 0; k < count && row->is_best[i]; k++) {
            row->is_best[i] = row->cells[k] == NULL || better(row->cells[k], row->cells[i]) <= 0;
        }
        best += row->is_best[i];
    }
    row->is_ranked = asked > 1 && can_rank(row->kind);
    row->is_tie = row->is_ranked && best == asked;
}

// Ports are numbered part * OW_MAX_PORTS + port; a forest of joined ports.
static int root_of(int *parent, int port) {
    while (parent[port] != port) {
        parent[port] = parent[parent[port]];
        port = parent[port];
    }
    return port;
}

static void join(int *parent, int a, int b) {
    parent[root_of(parent, a)] = root_of(parent, b);
}

/// Whether a pick-up reaches the injection pump without one part (-1: with all).
static bool is_fed(const OwRig *rig, int without, int *parent) {
    for (int i = 0; i < rig->part_count * OW_MAX_PORTS; i++) {
        parent[i] = i;
    }
    for (int j = 0; j < rig->joint_count; j++) {
        const OwJoint *joint = &rig->joints[j];
        if (joint->part_a != without && joint->part_b != without) {
            join(parent, joint->part_a * OW_MAX_PORTS + joint->port_a,
                 joint->part_b * OW_MAX_PORTS + joint->port_b);
        }
    }
    for (int p = 0; p < rig->part_count; p++) {
        const OwPartKind kind = rig->parts[p].kind;
        const bool is_end = kind == OW_PART_TANK || kind == OW_PART_INJECTION_PUMP ||
                            kind == OW_PART_INJECTORS || kind == OW_PART_COOLANT_COIL;
        for (int port = 1; port < ow_part_port_count(kind) && !is_end && p != without; port++) {
            join(parent, p * OW_MAX_PORTS, p * OW_MAX_PORTS + port);
        }
    }
    for (int t = 0; t < rig->part_count; t++) {
        for (int p = 0; p < rig->part_count; p++) {
            if (t != without && p != without && rig->parts[t].kind == OW_PART_TANK &&
                rig->parts[p].kind == OW_PART_INJECTION_PUMP &&
                root_of(parent, t * OW_MAX_PORTS) == root_of(parent, p * OW_MAX_PORTS)) {
                return true;
            }
        }
    }
    return false;
}

int ow_compare_single_points(const OwRig *rig) {
    int *parent = calloc((size_t)rig->part_count * OW_MAX_PORTS + 1, sizeof *parent);
    int points = 0;
    for (int p = 0; parent != NULL && p < rig->part_count; p++) {
        points += !is_fed(rig, p, parent);
    }
    free(parent);
    return points;
}

static void find_facts(const OwJudgement *judgement, OwCompareFacts *facts) {
    const OwRecord *record = judgement->record;
    const OwRig *rig = record->rig;
    facts->parts = rig->part_count;
    facts->single_points = ow_compare_single_points(rig);
    for (int p = 0; p < rig->part_count; p++) {
        const OwPart *part = &rig->parts[p];
        const OwElements *elements = ow_part_elements_const(part);
        facts->heaters += elements != NULL ? elements->count : 0;
        facts->price += part->price;
        facts->unpriced += !(part->price > 0.0);
    }
    for (int i = 0; i < record->sample_count; i++) {
        const OwSample *s = &record->samples[i];
        const double amps = (s->heaters_w + s->pumps_w) / s->volts_v;
        if (s->engine == OW_ENGINE_OFF && isfinite(amps)) {
            facts->peak_a = fmax(facts->peak_a, amps);
        }
    }
    for (int i = 0; i < judgement->answer_count; i++) {
        facts->broken += ow_judge_fails(judgement->answers[i].grade);
    }
    facts->is_out = is_out(judgement);
}

static void add(char *text, size_t size, const char *word) {
    const size_t used = strlen(text);
    (void)snprintf(text + used, size - used, "%s%s", used > 0 ? "; " : "", word);
}

static void tell(OwComparison *c) {
    int least = 0, wins[OW_COMPARE_MAX] = {0};
    for (int r = 0; r < c->row_count; r++) {
        const OwCompareRow *row = &c->rows[r];
        int best = 0, last = -1;
        for (int i = 0; i < c->count; i++) {
            best += row->is_best[i];
            last = row->is_best[i] ? i : last;
        }
        if (row->is_tie) {
            add(c->ties, sizeof c->ties, ow_judge_kind_text(row->kind));
        } else if (row->is_ranked && best == 1) {
            add(c->better[last], sizeof c->better[last], ow_judge_kind_text(row->kind));
            wins[last]++;
        }
    }
    for (int i = 1; i < c->count; i++) {
        const int by = c->facts[i].broken - c->facts[least].broken;
        least = by < 0 || (by == 0 && wins[i] > wins[least]) ? i : least;
    }
    int same = 0;
    for (int i = 0; i < c->count; i++) {
        same += c->facts[i].broken == c->facts[least].broken;
    }
    const char *name = c->judgements[least]->record->rig->name;
    const int broken = c->facts[least].broken;
    char limits[48];
    (void)snprintf(limits, sizeof limits, broken == 0 ? "keeps every limit" : "breaks %d limit%s", broken,
                   broken == 1 ? "" : "s");
    if (same == 1) {
        (void)snprintf(c->headline, sizeof c->headline, "%s %s; %s.", name, limits,
                       c->count > 2 ? "all others break more" : "the other breaks more");
    } else {
        (void)snprintf(c->headline, sizeof c->headline,
                       "%d of %d %s; most often best of these: %s (%d answer%s).", same, c->count,
                       broken == 0 ? "keep every limit" : "break as few limits as any", name, wins[least],
                       wins[least] == 1 ? "" : "s");
    }
}

OwStatus ow_compare_create(const OwJudgement *const *judgements, int count, OwComparison **comparison) {
    if (judgements == NULL || comparison == NULL || count < 2 || count > OW_COMPARE_MAX) {
        return OW_ERROR_USE;
    }
    OwComparison *c = calloc(1, sizeof *c);
    *comparison = c;
    if (c == NULL) {
        return OW_ERROR_MEMORY;
    }
    c->count = count;
    for (int i = 0; i < count; i++) {
        c->judgements[i] = judgements[i];
        find_facts(judgements[i], &c->facts[i]);
    }
    for (int k = 0; k < OW_ANSWER_COUNT; k++) {
        OwCompareRow *row = &c->rows[c->row_count];
        bool is_asked = false;
        row->kind = (OwAnswerKind)k;
        for (int i = 0; i < count; i++) {
            row->cells[i] = worst_of(judgements[i], row->kind);
            is_asked = is_asked || row->cells[i] != NULL;
        }
        if (is_asked) {
            rank(row, count);
            c->row_count++;
        }
    }
    take_out(c);
    tell(c);
    return OW_OK;
}

void ow_compare_destroy(OwComparison **comparison) {
    if (comparison != NULL) {
        free(*comparison);
        *comparison = NULL;
    }
}
