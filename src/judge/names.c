// SPDX-License-Identifier: GPL-3.0-or-later
// Words for grades, trust labels and the kinds of answer.
#include "oilwright/judge.h"

const char *ow_judge_grade_text(OwGrade grade) {
    switch (grade) {
    case OW_GRADE_GOOD:
        return "good";
    case OW_GRADE_TIGHT:
        return "tight";
    case OW_GRADE_BAD:
        return "bad";
    case OW_GRADE_IMPOSSIBLE:
        return "impossible";
    default:
        return "unknown";
    }
}

const char *ow_judge_trust_text(OwTrust trust) {
    switch (trust) {
    case OW_TRUST_MEASURED:
        return "measured";
    case OW_TRUST_PUBLISHED:
        return "published";
    case OW_TRUST_PRACTICE:
        return "common practice";
    default:
        return "assumed";
    }
}

static const struct {
    const char *key, *text;
} kinds[] = {
#define KIND(code, key, text) {key, text},
    OW_ANSWER_LIST(KIND)
#undef KIND
};

const char *ow_judge_kind_text(OwAnswerKind kind) {
    return (int)kind >= 0 && kind < OW_ANSWER_COUNT ? kinds[kind].text : "unknown question";
}

const char *ow_judge_kind_key(OwAnswerKind kind) {
    return (int)kind >= 0 && kind < OW_ANSWER_COUNT ? kinds[kind].key : "unknown";
}

bool ow_judge_fails(OwGrade grade) {
    return grade == OW_GRADE_BAD || grade == OW_GRADE_IMPOSSIBLE;
}
