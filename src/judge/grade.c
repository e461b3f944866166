// SPDX-License-Identifier: GPL-3.0-or-later
// Adding a verdict and holding its value against a limit.
#include <math.h>

#include "judge/work.h"

OwVerdict *ow_judge_add(OwJudgeWork *work, OwVerdictKind kind, OwQuantity quantity) {
    OwJudgement *judgement = work->judgement;
    if (judgement->verdict_count >= work->capacity) {
        judgement->verdict_count = work->capacity - 1; // cannot happen: sized for every question and part
    }
    OwVerdict *verdict = &judgement->verdicts[judgement->verdict_count++];
    *verdict = (OwVerdict){.kind = kind,
                           .grade = OW_GRADE_UNKNOWN,
                           .trust = OW_TRUST_ASSUMED,
                           .basis = "",
                           .quantity = quantity,
                           .time_s = -1.0,
                           .part = -1};
    return verdict;
}

static bool hold(OwVerdict *verdict, double value, double limit, double margin, double band) {
    if (!isfinite(value)) {
        return false;
    }
    verdict->value = value;
    verdict->has_value = true;
    if (!isfinite(limit) || !isfinite(margin)) {
        return false;
    }
    verdict->limit = limit;
    verdict->has_limit = true;
    verdict->margin = margin;
    verdict->tightness = band > 0.0 && isfinite(band) ? margin / band : margin >= 0.0 ? 1.0 : -1.0;
    verdict->grade = margin < 0.0 ? OW_GRADE_BAD : verdict->tightness < 1.0 ? OW_GRADE_TIGHT : OW_GRADE_GOOD;
    return true;
}

bool ow_judge_hold_below(OwVerdict *verdict, double value, double limit, double band) {
    return hold(verdict, value, limit, limit - value, band);
}

bool ow_judge_hold_above(OwVerdict *verdict, double value, double limit, double band) {
    return hold(verdict, value, limit, value - limit, band);
}

bool ow_judge_tell(OwVerdict *verdict, double value) {
    if (!isfinite(value)) {
        return false;
    }
    verdict->value = value;
    verdict->has_value = true;
    verdict->grade = OW_GRADE_GOOD;
    return true;
}
