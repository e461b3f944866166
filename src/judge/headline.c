// SPDX-License-Identifier: GPL-3.0-or-later
// The whole answer in one sentence, and the first thing to do about it.
#include <stdio.h>
#include <string.h>

#include "judge/work.h"

/// Higher comes first when several limits are broken: what stops the vehicle before what wears it.
static int urgency(OwAnswerKind kind) {
    switch (kind) {
    case OW_ANSWER_START:
        return 9;
    case OW_ANSWER_DELIVERY:
        return 8;
    case OW_ANSWER_TANK:
        return 7;
    case OW_ANSWER_RATING:
    case OW_ANSWER_OIL_HOT:
        return 6;
    case OW_ANSWER_HOSE_PRESSURE:
        return 6;
    case OW_ANSWER_SUCTION:
        return 5;
    case OW_ANSWER_RUN_VISCOSITY:
        return 4;
    case OW_ANSWER_FULL_LOAD:
        return 3;
    case OW_ANSWER_READY:
        return 1;
    default:
        return 2;
    }
}

static const OwAnswer *first_failing(const OwJudgement *j) {
    const OwAnswer *worst = NULL;
    for (int i = 0; i < j->answer_count; i++) {
        const OwAnswer *v = &j->answers[i];
        if (ow_judge_fails(v->grade) && (worst == NULL || urgency(v->kind) > urgency(worst->kind))) {
            worst = v;
        }
    }
    return worst;
}

/// A sentence's first letter small and its end open, so that it continues another.
static void tail(const char *sentence, char *text, size_t size) {
    snprintf(text, size, "%s", sentence);
    if (text[0] >= 'A' && text[0] <= 'Z') {
        text[0] = (char)(text[0] - 'A' + 'a');
    }
}

/// What to watch rather than a margin of the design: told after all else.
static bool is_warning(OwAnswerKind kind) {
    return kind == OW_ANSWER_CLOUD || kind == OW_ANSWER_FLASH || kind == OW_ANSWER_PURGE ||
           kind == OW_ANSWER_RUN || kind == OW_ANSWER_WATER || kind == OW_ANSWER_ACID ||
           kind == OW_ANSWER_SOLIDS;
}

/// Tight before good, margins before warnings, then the smaller margin.
static bool is_tighter(const OwAnswer *v, const OwAnswer *than) {
    if (than == NULL) {
        return true;
    }
    if ((v->grade == OW_GRADE_TIGHT) != (than->grade == OW_GRADE_TIGHT)) {
        return v->grade == OW_GRADE_TIGHT;
    }
    if (is_warning(v->kind) != is_warning(than->kind)) {
        return !is_warning(v->kind);
    }
    return v->tightness < than->tightness;
}

static void rank(OwJudgement *j) {
    bool is_bad = false;
    bool is_impossible = false;
    bool is_tight = false;
    j->tightest = -1;
    for (int i = 0; i < j->answer_count; i++) {
        const OwAnswer *v = &j->answers[i];
        is_impossible = is_impossible || v->grade == OW_GRADE_IMPOSSIBLE;
        is_bad = is_bad || v->grade == OW_GRADE_BAD;
        is_tight = is_tight || v->grade == OW_GRADE_TIGHT;
        if (v->has_limit && v->has_value && !ow_judge_fails(v->grade) && v->kind != OW_ANSWER_RUN &&
            is_tighter(v, j->tightest < 0 ? NULL : &j->answers[j->tightest])) {
            j->tightest = i;
        }
    }
    const OwAnswer *start = ow_judge_find(j, OW_ANSWER_START);
    const OwAnswer *run = ow_judge_find(j, OW_ANSWER_RUN);
    if (is_impossible) {
        j->grade = OW_GRADE_IMPOSSIBLE;
    } else if (is_bad) {
        j->grade = OW_GRADE_BAD;
    } else if (start == NULL || start->grade == OW_GRADE_UNKNOWN || run == NULL ||
               run->grade == OW_GRADE_UNKNOWN) {
        j->grade = OW_GRADE_UNKNOWN;
    } else {
        j->grade = is_tight ? OW_GRADE_TIGHT : OW_GRADE_GOOD;
    }
}

const OwAnswer *ow_judge_deciding(const OwJudgement *judgement) {
    const OwAnswer *worst = first_failing(judgement);
    if (worst == NULL && judgement->tightest >= 0) {
        worst = &judgement->answers[judgement->tightest];
    }
    return worst;
}

void ow_judge_headline(OwJudgeWork *work) {
    OwJudgement *j = work->judgement;
    rank(j);
    const OwAnswer *start = ow_judge_find(j, OW_ANSWER_START);
    const OwAnswer *run = ow_judge_find(j, OW_ANSWER_RUN);
    const OwAnswer *worst = first_failing(j);
    char more[OW_ANSWER_TEXT] = "";
    if (work->record->sample_count <= 0) {
        ow_judge_say(j->headline, sizeof j->headline, "Nothing can be said: %s",
                     work->record->trouble[0] != '\0' ? work->record->trouble : "the run gave no samples.");
        return;
    }
    if (!work->record->has_started) {
        tail(start->text, more, sizeof more);
        if (ow_judge_fails(start->grade)) {
            const char *reason = strncmp(more, "it does not start: ", 19) == 0 ? more + 19 : more;
            ow_judge_say(j->headline, sizeof j->headline, "Will not start: %s", reason);
        } else {
            ow_judge_say(j->headline, sizeof j->headline, "No answer about the start: %s", more);
        }
        ow_judge_say(j->advice, sizeof j->advice, "%s", start->mend);
        return;
    }
    ow_judge_say(j->headline, sizeof j->headline, "Starts after %s",
                 ow_judge_words(work, work->record->start_s, OW_Q_TIME).text);
    if (worst != NULL) {
        int failing = 0;
        for (int i = 0; i < j->answer_count; i++) {
            failing += ow_judge_fails(j->answers[i].grade) ? 1 : 0;
        }
        tail(worst->text, more, sizeof more);
        if (worst->kind == OW_ANSWER_DELIVERY) {
            ow_judge_also(j->headline, sizeof j->headline, ", then starves: %s", more);
        } else if (failing > 1) {
            ow_judge_also(j->headline, sizeof j->headline, ", but fails %d limits, first: %s", failing, more);
        } else {
            ow_judge_also(j->headline, sizeof j->headline, ", but fails a limit: %s", more);
        }
        ow_judge_say(j->advice, sizeof j->advice, "%s", worst->mend);
        return;
    }
    if (run->grade == OW_GRADE_UNKNOWN) {
        ow_judge_also(j->headline, sizeof j->headline, "; the run then ended early: %s",
                      work->record->trouble);
        return;
    }
    const OwAnswer *v = j->tightest >= 0 ? &j->answers[j->tightest] : NULL;
    const bool is_watch = v != NULL && is_warning(v->kind);
    ow_judge_also(j->headline, sizeof j->headline, " and drives%s.",
                  j->grade == OW_GRADE_TIGHT && !is_watch ? ", with little to spare" : "");
    if (v != NULL) {
        ow_judge_say(j->advice, sizeof j->advice, "%s: %s. %s", is_watch ? "Watch" : "Tightest",
                     ow_judge_kind_text(v->kind), v->text);
    }
}
