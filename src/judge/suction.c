// SPDX-License-Identifier: GPL-3.0-or-later
// Does any suction fall below the air-release floor, where, and how full is the pump inlet.
#include <math.h>

#include "judge/work.h"

/// Of the working pressure of hose, what a mend aims at.
#define WANTED_HOSE_SHARE 0.8

static void judge_suction(OwJudgeWork *work) {
    const OwRecord *record = work->record;
    const double floor_pa = work->rig->limits.suction_floor_pa;
    OwAnswer *v = ow_judge_add(work, OW_ANSWER_SUCTION, OW_Q_PRESSURE);
    v->trust = OW_TRUST_PRACTICE;
    v->basis =
        "floor: common practice, no source; air comes out by Henry's law; losses by Churchill 1977 and Darcy";
    int worst = -1;
    double below_s = 0.0;
    for (int i = 0; i < record->sample_count; i++) {
        const OwSample *s = &record->samples[i];
        if (!s->is_key_on || !isfinite(s->lowest_pa)) {
            continue;
        }
        if (worst < 0 || s->lowest_pa < record->samples[worst].lowest_pa) {
            worst = i;
        }
        if (i + 1 < record->sample_count && s->lowest_pa < floor_pa) {
            below_s += record->samples[i + 1].time_s - s->time_s;
        }
    }
    if (worst < 0) {
        ow_judge_say(v->text, sizeof v->text, "Suction is unknown: nothing was sampled with the key on.");
        return;
    }
    const OwSample *s = &record->samples[worst];
    const OwJudgeWords lowest = ow_judge_words(work, s->lowest_pa, OW_Q_PRESSURE);
    v->time_s = s->time_s;
    v->part = s->lowest_part;
    if (!(floor_pa < 0.0) || !isfinite(floor_pa)) {
        ow_judge_tell(v, s->lowest_pa);
        v->grade = OW_GRADE_UNKNOWN;
        ow_judge_say(v->text, sizeof v->text, "Lowest pressure %s, at %s; no floor is set.", lowest.text,
                     ow_judge_part(work, s->lowest_part).text);
        return;
    }
    const double band = -0.2 * floor_pa;
    ow_judge_hold_above(v, s->lowest_pa, floor_pa, band);
    ow_judge_say(v->text, sizeof v->text, "Lowest pressure %s at %s, at %s; floor %s", lowest.text,
                 ow_judge_part(work, s->lowest_part).text, ow_judge_words(work, s->time_s, OW_Q_TIME).text,
                 ow_judge_words(work, floor_pa, OW_Q_PRESSURE).text);
    if (v->grade == OW_GRADE_BAD) {
        ow_judge_also(v->text, sizeof v->text, ": air comes out of the oil, for %s.",
                      ow_judge_words(work, below_s, OW_Q_TIME).text);
    } else {
        ow_judge_also(v->text, sizeof v->text, ".");
    }
    if (v->grade != OW_GRADE_GOOD) {
        const int most = ow_judge_most_loss(work, worst, s->lowest_part);
        v->part = most >= 0 ? most : s->lowest_part;
        ow_judge_mend_loss(work, worst, most, band - v->margin, v);
    }
}

static void judge_fill(OwJudgeWork *work) {
    const OwRecord *record = work->record;
    const double limit = work->rig->limits.min_fill;
    OwAnswer *v = ow_judge_add(work, OW_ANSWER_FILL, OW_Q_NUMBER);
    v->trust = OW_TRUST_PUBLISHED;
    v->basis = "Henry's law with air in equilibrium at the suction pressure; the limit is assumed";
    int worst = -1;
    for (int i = 0; i < record->sample_count; i++) {
        const OwSample *s = &record->samples[i];
        if (s->engine != OW_ENGINE_OFF && isfinite(s->inlet_fill) &&
            (worst < 0 || s->inlet_fill < record->samples[worst].inlet_fill)) {
            worst = i;
        }
    }
    if (worst < 0) {
        ow_judge_say(v->text, sizeof v->text, "Filling of the pump is unknown: the engine was never turned.");
        return;
    }
    const OwSample *s = &record->samples[worst];
    v->time_s = s->time_s;
    if (!(limit > 0.0) || !isfinite(limit)) {
        ow_judge_tell(v, s->inlet_fill);
        v->grade = OW_GRADE_UNKNOWN;
        ow_judge_say(v->text, sizeof v->text, "At least %s of the pump inlet is liquid; no limit is set.",
                     ow_judge_percent(s->inlet_fill).text);
        return;
    }
    ow_judge_hold_above(v, s->inlet_fill, limit, 0.02);
    ow_judge_is_whole(v, s->inlet_fill >= 0.9995);
    ow_judge_say(v->text, sizeof v->text, "At least %s of the pump inlet is liquid (at %s), wanted %s.",
                 ow_judge_percent(s->inlet_fill).text, ow_judge_words(work, s->time_s, OW_Q_TIME).text,
                 ow_judge_percent(limit).text);
    if (ow_judge_fails(v->grade)) {
        v->part = s->lowest_part;
        // Up to four fifths of the way from the floor to the air, and a third of the worst part's loss at
        // least.
        const int most = ow_judge_most_loss(work, worst, s->lowest_part);
        const double floor_pa = work->rig->limits.suction_floor_pa;
        // Back to four fifths of the floor, or a third of the loss less: assumed.
        const double lift = (floor_pa < 0.0 ? 0.8 * floor_pa : 0.0) - s->lowest_pa;
        if (most >= 0) {
            v->part = most;
            ow_judge_mend_loss(work, worst, most, fmax(lift, ow_judge_loss(work, worst, most) / 3.0), v);
        } else {
            ow_judge_say(v->mend, sizeof v->mend, "Raise the pressure on the suction side: see suction.");
        }
    }
}

/// A run whose thick oil makes most of the pressure in front of it: a wider one. False when none does, as
/// behind a shut valve.
static bool mend_narrow(const OwJudgeWork *work, OwAnswer *v, int sample, double highest_pa) {
    int part = -1;
    double most = 0.0;
    for (int p = 0; p < work->rig->part_count; p++) {
        const double loss = work->rig->parts[p].kind == OW_PART_RUN ? ow_judge_loss(work, sample, p) : 0.0;
        if (loss > most) {
            most = loss;
            part = p;
        }
    }
    const double cut = highest_pa - WANTED_HOSE_SHARE * OW_JUDGE_HOSE_PA;
    if (part < 0 || most < 0.5 * highest_pa || !(most - cut > 0.0)) {
        return false;
    }
    const double bore = work->rig->parts[part].as.run.bore_m;
    const double next = ow_judge_hose_bore(ow_judge_bore_for(bore, most, most - cut), work->display);
    if (!(next > bore)) {
        return false;
    }
    ow_judge_change(v, (OwChange){part, -1, NULL, "bore", OW_Q_LENGTH, next});
    ow_judge_say(
        v->mend, sizeof v->mend,
        "The thick oil in %s makes it (%s there): raise its bore from %s to %s, warm it, or use hose "
        "of a higher working pressure.",
        ow_judge_part(work, part).text, ow_judge_words(work, most, OW_Q_PRESSURE).text,
        ow_judge_words(work, bore, OW_Q_LENGTH).text, ow_judge_words(work, next, OW_Q_LENGTH).text);
    return true;
}

/// A relief valve that opens too late for the hose: its setting.
static bool mend_relief(const OwJudgeWork *work, OwAnswer *v) {
    const double wanted = WANTED_HOSE_SHARE * OW_JUDGE_HOSE_PA;
    for (int p = 0; p < work->rig->part_count; p++) {
        const OwPart *part = &work->rig->parts[p];
        if (part->kind == OW_PART_RELIEF_VALVE && part->as.relief_valve.open_pa > wanted) {
            ow_judge_change(v, (OwChange){p, -1, NULL, "opening pressure", OW_Q_PRESSURE, wanted});
            ow_judge_say(v->mend, sizeof v->mend,
                         "Set %s from %s to %s or less, or see which valve shuts the way.",
                         ow_judge_part(work, p).text,
                         ow_judge_words(work, part->as.relief_valve.open_pa, OW_Q_PRESSURE).text,
                         ow_judge_words(work, wanted, OW_Q_PRESSURE).text);
            return true;
        }
    }
    return false;
}

/// The highest pressure that any hose sees: a pump against a shut valve bursts it.
static void judge_hoses(OwJudgeWork *work) {
    const OwRecord *record = work->record;
    int worst = -1, part = -1;
    double highest_pa = 0.0;
    for (int i = 0; i < record->sample_count; i++) {
        for (int p = 0; p < work->rig->part_count; p++) {
            const OwPartSample *s = ow_judge_part_sample(work, i, p);
            if (work->rig->parts[p].kind != OW_PART_RUN || !work->rig->parts[p].as.run.is_hose || s == NULL) {
                continue;
            }
            const double high_pa = s->in_pa > s->out_pa ? s->in_pa : s->out_pa;
            if (isfinite(high_pa) && (worst < 0 || high_pa > highest_pa)) {
                worst = i;
                part = p;
                highest_pa = high_pa;
            }
        }
    }
    if (worst < 0) {
        return; // no hose, no question
    }
    highest_pa = fabs(highest_pa) < 1.0 ? 0.0 : highest_pa; // the solver's dust
    OwAnswer *v = ow_judge_add(work, OW_ANSWER_HOSE_PRESSURE, OW_Q_PRESSURE);
    v->trust = OW_TRUST_ASSUMED;
    v->basis = "working pressure of low-pressure fuel hose, SAE J30 R7, from memory";
    v->part = part;
    v->time_s = record->samples[worst].time_s;
    ow_judge_hold_below(v, highest_pa, OW_JUDGE_HOSE_PA, 0.1 * OW_JUDGE_HOSE_PA);
    ow_judge_say(v->text, sizeof v->text, "%s stands under %s at %s; usual fuel hose is made for %s.",
                 ow_judge_part(work, part).text, ow_judge_words(work, highest_pa, OW_Q_PRESSURE).text,
                 ow_judge_words(work, v->time_s, OW_Q_TIME).text,
                 ow_judge_words(work, OW_JUDGE_HOSE_PA, OW_Q_PRESSURE).text);
    if (ow_judge_fails(v->grade) && !mend_narrow(work, v, worst, highest_pa) && !mend_relief(work, v)) {
        ow_judge_say(
            v->mend, sizeof v->mend,
            "See which valve shuts its way at that moment; let it out, fit a relief valve, or use hose of a "
            "higher working pressure.");
    }
}

void ow_judge_suction(OwJudgeWork *work) {
    judge_hoses(work);
    judge_suction(work);
    judge_fill(work);
}
