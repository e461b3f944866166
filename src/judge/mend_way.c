// SPDX-License-Identifier: GPL-3.0-or-later
// Oil that stands although a pump runs: the valve that leaves it no way back, and the position that does.
#include <math.h>
#include <stdlib.h>

#include "judge/work.h"

/// Flow below which oil counts as standing, m3/s: 0.5 L/h, beside tens of litres an hour round a loop.
/// Assumed.
#define STANDS_M3_S (0.5e-3 / 3600.0)

/// Whether what leaves a part by a port reaches a tank's return without passing a valve, a pump or an engine
/// part. `seen` bounds the work.
static bool leads_back(const OwRig *rig, int part, int port, bool *seen) {
    for (int j = 0; j < rig->joint_count; j++) {
        const OwJoint *joint = &rig->joints[j];
        const bool is_a = joint->part_a == part && joint->port_a == port;
        if (!is_a && !(joint->part_b == part && joint->port_b == port)) {
            continue;
        }
        const int other = is_a ? joint->part_b : joint->part_a, came = is_a ? joint->port_b : joint->port_a;
        const OwPartKind kind = rig->parts[other].kind;
        if (kind == OW_PART_TANK) {
            if (came == 1) {
                return true;
            }
            continue;
        }
        const bool is_passive = kind == OW_PART_RUN || kind == OW_PART_CHAMBER || kind == OW_PART_FILTER ||
                                kind == OW_PART_SCREEN || kind == OW_PART_EXCHANGER || kind == OW_PART_TEE ||
                                kind == OW_PART_ORIFICE;
        if (!is_passive || seen[other]) {
            continue;
        }
        seen[other] = true;
        for (int next = 0; next < ow_part_port_count(kind); next++) {
            if (next != came && leads_back(rig, other, next, seen)) {
                return true;
            }
        }
    }
    return false;
}

/// A position of the valve that leads what comes to its common port back to a tank, while the present one
/// does not; -1 none.
static int better_position(const OwRig *rig, int part, int now, bool *seen) {
    const OwValve *valve = &rig->parts[part].as.valve;
    bool leads[3] = {false, false, false};
    for (int port = 1; port < valve->ways && port < 3; port++) {
        for (int p = 0; p < rig->part_count; p++) {
            seen[p] = p == part;
        }
        leads[port] = leads_back(rig, part, port, seen);
    }
    int found = -1;
    for (int k = 0; k < valve->position_count && k < 4; k++) {
        const bool is_open = (valve->opens_a[k] && leads[1]) || (valve->opens_b[k] && leads[2]);
        if (k == now && is_open) {
            return -1;
        }
        found = is_open && found < 0 ? k : found;
    }
    return found;
}

bool ow_judge_no_way(const OwJudgeWork *work, int sample, OwAnswer *answer) {
    const OwRig *rig = work->rig;
    if (work->path_count <= 0 || rig->parts[work->path[0]].kind == OW_PART_TANK) {
        return false;
    }
    int shut = -1, now = -1, open = -1;
    for (int p = 0; p < rig->part_count && shut < 0; p++) {
        const OwPartSample *s = ow_judge_part_sample(work, sample, p);
        const OwValve *valve = &rig->parts[p].as.valve;
        const bool is_known = rig->parts[p].kind == OW_PART_VALVE && s != NULL && s->position >= 0 &&
                              s->position < valve->position_count && s->position < 4;
        if (is_known && !valve->opens_a[s->position] && !valve->opens_b[s->position]) {
            shut = p;
            now = s->position;
        }
    }
    for (int k = 0; shut >= 0 && k < rig->parts[shut].as.valve.position_count && k < 4 && open < 0; k++) {
        const OwValve *valve = &rig->parts[shut].as.valve;
        open = valve->opens_a[k] || valve->opens_b[k] ? k : -1;
    }
    answer->grade = OW_GRADE_IMPOSSIBLE;
    answer->part = shut;
    ow_judge_say(answer->text, sizeof answer->text,
                 "It does not start: no way is open from a tank to the injection pump");
    if (shut >= 0) {
        ow_judge_also(answer->text, sizeof answer->text, ", %s stands at '%.30s'.",
                      ow_judge_part(work, shut).text, rig->parts[shut].as.valve.position[now]);
    } else {
        ow_judge_also(answer->text, sizeof answer->text, " as the valves stand.");
    }
    if (open >= 0) {
        ow_judge_say(answer->mend, sizeof answer->mend,
                     "Let %s stand at '%.30s' when it is to start: by \"start at\" or a control.",
                     ow_judge_part(work, shut).text, rig->parts[shut].as.valve.position[open]);
    } else {
        ow_judge_say(answer->mend, sizeof answer->mend,
                     "Set the valves so that a tank feeds the pump before the start.");
    }
    return true;
}

bool ow_judge_mend_way(const OwJudgeWork *work, int sample, int hot, OwAnswer *answer) {
    const OwRig *rig = work->rig;
    int pump = -1;
    for (int i = 0; i < work->path_count; i++) {
        const OwPartSample *s = ow_judge_part_sample(work, sample, work->path[i]);
        if (rig->parts[work->path[i]].kind == OW_PART_ELECTRIC_PUMP && s != NULL && s->position == 1) {
            pump = work->path[i];
        }
    }
    // The moment before the first attempt: cranking itself moves a little.
    int wait = sample;
    while (wait > 0 && work->record->samples[wait].engine != OW_ENGINE_OFF) {
        wait--;
    }
    const OwPartSample *h = ow_judge_part_sample(work, wait, hot);
    if (pump < 0 || h == NULL || !(fabs(h->flow_m3_s) < STANDS_M3_S)) {
        return false;
    }
    bool *seen = calloc((size_t)rig->part_count + 1, sizeof *seen);
    int valve = -1, position = -1;
    for (int p = 0; seen != NULL && p < rig->part_count && valve < 0; p++) {
        const OwPartSample *s = ow_judge_part_sample(work, wait, p);
        if (rig->parts[p].kind == OW_PART_VALVE && s != NULL) {
            position = better_position(rig, p, s->position, seen);
            valve = position >= 0 ? p : -1;
        }
    }
    free(seen);
    // Something on the way takes half or more of what the pump gives: that is no missing way. Its mend leaves
    // it a fourth. Both assumed.
    const OwPartSample *push = ow_judge_part_sample(work, wait, pump);
    const int narrow = ow_judge_most_loss(work, wait, -1);
    if (valve < 0 && narrow >= 0 && ow_judge_loss(work, wait, narrow) > 0.5 * (push->out_pa - push->in_pa)) {
        ow_judge_mend_loss(work, wait, narrow, 0.74 * ow_judge_loss(work, wait, narrow), answer);
        char said[OW_ANSWER_TEXT];
        ow_judge_say(said, sizeof said, "%s", answer->mend);
        ow_judge_say(answer->mend, sizeof answer->mend,
                     "The heat stays in %s (%s): %s takes what %s gives. %s", ow_judge_part(work, hot).text,
                     ow_judge_words(work, h->oil_max_k, OW_Q_TEMPERATURE).text,
                     ow_judge_part(work, narrow).text, ow_judge_part(work, pump).text, said);
        return true;
    }
    ow_judge_say(answer->mend, sizeof answer->mend,
                 "The heat stays in %s (%s): %s runs, but the oil has no way round before the start. ",
                 ow_judge_part(work, hot).text, ow_judge_words(work, h->oil_max_k, OW_Q_TEMPERATURE).text,
                 ow_judge_part(work, pump).text);
    if (valve >= 0) {
        const OwValve *v = &rig->parts[valve].as.valve;
        const int now = ow_judge_part_sample(work, wait, valve)->position;
        ow_judge_also(answer->mend, sizeof answer->mend,
                      "Let %s stand at '%.30s' until the engine runs, not at '%.30s'.",
                      ow_judge_part(work, valve).text, v->position[position],
                      now >= 0 && now < v->position_count ? v->position[now] : "?");
    } else {
        ow_judge_also(answer->mend, sizeof answer->mend,
                      "Lead some of it from the injection pump back to the tank until the engine runs.");
    }
    return true;
}
