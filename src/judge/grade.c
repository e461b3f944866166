// SPDX-License-Identifier: GPL-3.0-or-later
// Adding a answer and holding its value against a limit.
#include <math.h>

#include "judge/work.h"

OwAnswer *ow_judge_add(OwJudgeWork *work, OwAnswerKind kind, OwQuantity quantity) {
    OwJudgement *judgement = work->judgement;
    if (judgement->answer_count >= work->capacity) {
        judgement->answer_count = work->capacity - 1; // cannot happen: sized for every question and part
    }
    OwAnswer *answer = &judgement->answers[judgement->answer_count++];
    *answer = (OwAnswer){.kind = kind,
                         .grade = OW_GRADE_UNKNOWN,
                         .trust = OW_TRUST_ASSUMED,
                         .basis = "",
                         .quantity = quantity,
                         .time_s = -1.0,
                         .part = -1};
    return answer;
}

static bool hold(OwAnswer *answer, double value, double limit, double margin, double band) {
    if (!isfinite(value)) {
        return false;
    }
    answer->value = value;
    answer->has_value = true;
    if (!isfinite(limit) || !isfinite(margin)) {
        return false;
    }
    answer->limit = limit;
    answer->has_limit = true;
    answer->margin = margin;
    answer->tightness = band > 0.0 && isfinite(band) ? margin / band : margin >= 0.0 ? 1.0 : -1.0;
    answer->grade = margin < 0.0 ? OW_GRADE_BAD : answer->tightness < 1.0 ? OW_GRADE_TIGHT : OW_GRADE_GOOD;
    return true;
}

bool ow_judge_hold_below(OwAnswer *answer, double value, double limit, double band) {
    return hold(answer, value, limit, limit - value, band);
}

bool ow_judge_hold_above(OwAnswer *answer, double value, double limit, double band) {
    return hold(answer, value, limit, value - limit, band);
}

void ow_judge_is_whole(OwAnswer *answer, bool is_ideal) {
    if (is_ideal && !ow_judge_fails(answer->grade)) {
        answer->grade = OW_GRADE_GOOD;
        answer->tightness = 100.0;
    }
}

bool ow_judge_tell(OwAnswer *answer, double value) {
    if (!isfinite(value)) {
        return false;
    }
    answer->value = value;
    answer->has_value = true;
    answer->grade = OW_GRADE_GOOD;
    return true;
}
