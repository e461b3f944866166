// SPDX-License-Identifier: GPL-3.0-or-later
// More heat as values of the rig: which elements, and with how many watts.
#include <math.h>

#include "judge/work.h"

/// Watts are told in steps, and raised no further than this many times. Both assumed.
#define STEP_W 10.0
#define MOST_FACTOR 3.0
/// No rig file takes a stronger element.
#define MOST_ELEMENT_W 5000.0
/// Kelvin that a thermostat must open above what the oil has to reach, or it ends the heat too soon. Assumed.
#define ABOVE_K 3.0

/// An element that heats when the key is on and that no thermostat ends below `need_k`.
static bool helps(const OwElement *e, double need_k) {
    return e->power_w > 0.0 && e->key_on && (!e->has_thermostat || e->thermostat_off_k > need_k + ABOVE_K);
}

/// Elements of a part that help, and their watts.
static int count_helpers(const OwPart *part, double need_k, double *watts) {
    const OwElements *elements = ow_part_elements_const(part);
    int count = 0;
    for (int i = 0; elements != NULL && i < elements->count; i++) {
        if (helps(&elements->items[i], need_k)) {
            *watts += elements->items[i].power_w;
            count++;
        }
    }
    return count;
}

static double raise_part(const OwJudgeWork *work, OwAnswer *answer, int part, double factor, double need_k) {
    const OwElements *elements = ow_part_elements_const(&work->rig->parts[part]);
    double total_w = 0.0;
    for (int i = 0; elements != NULL && i < elements->count; i++) {
        const OwElement *e = &elements->items[i];
        if (helps(e, need_k)) {
            const double wanted_w = fmin(ceil(factor * e->power_w / STEP_W - 1e-9) * STEP_W, MOST_ELEMENT_W);
            if (wanted_w > e->power_w) {
                ow_judge_change(answer, (OwChange){part, i, NULL, "power", OW_Q_POWER, wanted_w});
            }
            total_w += fmax(wanted_w, e->power_w);
        }
    }
    return total_w;
}

bool ow_judge_mend_watts(const OwJudgeWork *work, OwAnswer *answer, double factor, double need_k) {
    double watts = 0.0, total_w = 0.0;
    int count = 0;
    for (int p = 0; p < work->rig->part_count; p++) {
        count += count_helpers(&work->rig->parts[p], need_k, &watts);
    }
    if (count == 0 || count > OW_ANSWER_CHANGES - answer->change_count || !(factor > 1.0)) {
        return false;
    }
    for (int p = 0; p < work->rig->part_count; p++) {
        total_w += raise_part(work, answer, p, fmin(factor, MOST_FACTOR), need_k);
    }
    ow_judge_also(answer->mend, sizeof answer->mend, "%s of heat in place of %s, wires and fuses to match",
                  ow_judge_words(work, total_w, OW_Q_POWER).text,
                  ow_judge_words(work, watts, OW_Q_POWER).text);
    return true;
}

/// A tenth more than asked is spared (assumed).
bool ow_judge_mend_last_watts(const OwJudgeWork *work, OwAnswer *answer, double more_w, double need_k) {
    for (int i = work->path_count - 1; i >= 0; i--) {
        double watts = 0.0;
        const int count = count_helpers(&work->rig->parts[work->path[i]], need_k, &watts);
        if (count > 0 && count <= OW_ANSWER_CHANGES - answer->change_count && more_w > 0.0) {
            const double factor = fmin(1.0 + 1.1 * more_w / watts, MOST_FACTOR);
            const double total_w = raise_part(work, answer, work->path[i], factor, need_k);
            ow_judge_also(
                answer->mend, sizeof answer->mend, "%s in %s in place of %s, wires and fuses to match",
                ow_judge_words(work, total_w, OW_Q_POWER).text, ow_judge_part(work, work->path[i]).text,
                ow_judge_words(work, watts, OW_Q_POWER).text);
            return true;
        }
    }
    return false;
}
