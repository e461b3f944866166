// SPDX-License-Identifier: GPL-3.0-or-later
// One verdict of a study (faults, bleeding, filter life, two tanks): number, limit, margin, part, trust.
#ifndef OILWRIGHT_FINDING_H
#define OILWRIGHT_FINDING_H

#include "oilwright/judge.h"

/// `value`, `limit`, `margin` are SI of `quantity` and finite; numbers without their flag are 0 and mean
/// nothing.
typedef struct OwFinding {
    const char *key;   ///< stable name in JSON, static
    const char *label; ///< what is held, a static phrase
    OwGrade grade;
    OwTrust trust;     ///< of limit or model, whichever is weaker
    const char *basis; ///< what it rests on, a static sentence
    OwQuantity quantity;
    bool has_value, has_limit;
    double value, limit, margin; ///< margin positive on the good side
    int part;                    ///< the part to look at, -1 = none
    char text[OW_ANSWER_TEXT], mend[OW_ANSWER_TEXT];
} OwFinding;

/// Holds a value against a highest or lowest allowed; within `band` of it is TIGHT. Numbers that are not
/// finite leave the finding UNKNOWN.
void ow_finding_hold_below(OwFinding *finding, double value, double limit, double band);
void ow_finding_hold_above(OwFinding *finding, double value, double limit, double band);
/// A value that is told, not judged.
void ow_finding_tell(OwFinding *finding, double value);

#endif
