// SPDX-License-Identifier: GPL-3.0-or-later
// Fuel delivered against fuel asked: on the drive, at full load, and the time until full power.
#include <math.h>

#include "judge/work.h"

static const char basis[] =
    "flow network by Churchill 1977, Darcy and Henry's law; fuel asked by a Willans line";

static double served(double burned, double asked) {
    const double share = burned / asked;
    return isfinite(share) ? (share > 1.0 ? 1.0 : share < 0.0 ? 0.0 : share) : 0.0;
}

static bool is_asking(const OwSample *s, bool full) {
    const double asked = full ? s->full_request_m3_s : s->fuel_request_m3_s;
    return s->engine == OW_ENGINE_RUNNING && isfinite(asked) && asked > 0.0;
}

static double share_of(const OwSample *s, bool full) {
    return full ? served(s->full_burned_m3_s, s->full_request_m3_s)
                : served(s->fuel_burned_m3_s, s->fuel_request_m3_s);
}

/// Sample with the least share, -1 when the question was never asked; first and last sample below the mark.
static int least(const OwRecord *record, bool full, int *first_below, int *last_below, int *last_asked) {
    int worst = -1;
    *first_below = *last_below = *last_asked = -1;
    for (int i = 0; i < record->sample_count; i++) {
        const OwSample *s = &record->samples[i];
        if (!is_asking(s, full)) {
            continue;
        }
        *last_asked = i;
        if (worst < 0 || share_of(s, full) < share_of(&record->samples[worst], full)) {
            worst = i;
        }
        if (share_of(s, full) < OW_JUDGE_SERVED) {
            *first_below = *first_below < 0 ? i : *first_below;
            *last_below = i;
        }
    }
    return worst;
}

static void because(OwJudgeWork *work, OwAnswer *v, int at, double share) {
    const OwSample *s = ow_judge_sample(work, at);
    const int most = ow_judge_most_loss(work, at, s->lowest_part);
    const bool has_air = s->inlet_fill < OW_JUDGE_SERVED;
    v->part = most >= 0 ? most : s->lowest_part;
    if (most >= 0) {
        ow_judge_also(v->text, sizeof v->text, ": %s loses %s", ow_judge_part(work, most).text,
                      ow_judge_words(work, ow_judge_loss(work, at, most), OW_Q_PRESSURE).text);
    }
    if (has_air) {
        ow_judge_also(v->text, sizeof v->text, "%s the pump draws air", most >= 0 ? " and" : ":");
    }
    ow_judge_also(v->text, sizeof v->text, ".");
    if (most >= 0) {
        // Laminar flow: to pass 1/share times the fuel at the same pressures the loss at the present flow
        // must fall to share times itself; a tenth below that as margin, and at least until the suction is
        // above its floor.
        const double floor_pa = work->rig->limits.suction_floor_pa;
        const double cut = (1.0 - 0.9 * share) * ow_judge_loss(work, at, most);
        const double lift = floor_pa < 0.0 ? 0.8 * floor_pa - s->lowest_pa : 0.0;
        ow_judge_mend_loss(work, at, most, lift > cut ? lift : cut, v);
    }
}

static void judge_delivery(OwJudgeWork *work) {
    const OwRecord *record = work->record;
    OwAnswer *v = ow_judge_add(work, OW_ANSWER_DELIVERY, OW_Q_NUMBER);
    v->trust = OW_TRUST_PUBLISHED;
    v->basis = basis;
    int first = -1;
    int last = -1;
    int end = -1;
    const int worst = least(record, false, &first, &last, &end);
    if (worst < 0) {
        ow_judge_say(v->text, sizeof v->text,
                     "Fuel on the drive is unknown: the engine never ran under load.");
        return;
    }
    const OwSample *s = &record->samples[worst];
    ow_judge_hold_above(v, share_of(s, false), OW_JUDGE_SERVED, 0.01);
    ow_judge_is_whole(v, share_of(s, false) >= 0.9995);
    v->time_s = record->samples[first >= 0 ? first : worst].time_s;
    if (first < 0) {
        ow_judge_say(v->text, sizeof v->text, "The engine gets all the fuel it asks for, at least %s.",
                     ow_judge_percent(share_of(s, false)).text);
        return;
    }
    ow_judge_say(v->text, sizeof v->text,
                 "From %s on the engine gets too little fuel (at worst %s of what it asks)",
                 ow_judge_words(work, v->time_s, OW_Q_TIME).text, ow_judge_percent(share_of(s, false)).text);
    because(work, v, worst, share_of(s, false));
}

static void judge_full(OwJudgeWork *work) {
    const OwRecord *record = work->record;
    OwAnswer *v = ow_judge_add(work, OW_ANSWER_FULL_LOAD, OW_Q_NUMBER);
    v->trust = OW_TRUST_PUBLISHED;
    v->basis = basis;
    int first = -1;
    int last = -1;
    int end = -1;
    const int worst = least(record, true, &first, &last, &end);
    const bool is_lasting = last >= 0 && last == end;
    if (worst < 0) {
        ow_judge_say(v->text, sizeof v->text,
                     "Power at full load is unknown: full load was not asked in this run.");
    } else {
        const OwSample *s = &record->samples[worst];
        const double lost = 1.0 - share_of(s, true);
        ow_judge_hold_below(v, lost, 1.0 - OW_JUDGE_SERVED, 0.01);
        ow_judge_is_whole(v, lost <= 0.0005);
        v->time_s = s->time_s;
        if (first < 0) {
            ow_judge_say(v->text, sizeof v->text,
                         "Full-load fuel is there at every moment of the run (%s of power lost at most).",
                         ow_judge_percent(lost).text);
        } else {
            ow_judge_say(v->text, sizeof v->text,
                         "At full load about %s of the power is missing at %s (fuel asked %s, got %s)",
                         ow_judge_percent(lost).text, ow_judge_words(work, s->time_s, OW_Q_TIME).text,
                         ow_judge_words(work, s->full_request_m3_s, OW_Q_VOLUME_FLOW).text,
                         ow_judge_words(work, s->full_burned_m3_s, OW_Q_VOLUME_FLOW).text);
            because(work, v, worst, 1.0 - lost);
            if (!is_lasting) {
                v->grade = OW_GRADE_TIGHT; // it comes back with warmth; the time is judged below
            }
        }
    }
    OwAnswer *t = ow_judge_add(work, OW_ANSWER_FULL_POWER, OW_Q_TIME);
    t->trust = OW_TRUST_ASSUMED;
    t->basis = "full power = at least 98 % of the full-load fuel; over 5 min counts as tight, assumed";
    if (worst < 0) {
        ow_judge_say(t->text, sizeof t->text,
                     "Time until full power is unknown: full load was not asked in this run.");
        return;
    }
    if (is_lasting) {
        t->grade = OW_GRADE_BAD;
        t->time_s = record->samples[last].time_s;
        t->part = v->part;
        // What lifts the fuel at its worst lifts it at the end.
        ow_judge_take_mend(t, v);
        ow_judge_say(t->text, sizeof t->text, "Full power is not there at the end of the run (%s).",
                     ow_judge_words(work, record->end_s, OW_Q_TIME).text);
        return;
    }
    int from = work->first_run;
    if (last >= 0) {
        from = last + 1;
        while (from < end && !is_asking(&record->samples[from], true)) {
            from++;
        }
    }
    const double start_s = record->samples[work->first_run].time_s;
    const double after_s = record->samples[from].time_s - start_s;
    ow_judge_tell(t, after_s);
    t->time_s = record->samples[from].time_s;
    if (after_s > 300.0) {
        t->grade = OW_GRADE_TIGHT;
    }
    if (last < 0) {
        ow_judge_say(t->text, sizeof t->text, "Full power from the start on.");
    } else {
        ow_judge_say(t->text, sizeof t->text, "Full power for good %s after the start.",
                     ow_judge_words(work, after_s, OW_Q_TIME).text);
    }
}

void ow_judge_delivery(OwJudgeWork *work) {
    judge_delivery(work);
    judge_full(work);
}
