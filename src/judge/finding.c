// SPDX-License-Identifier: GPL-3.0-or-later
// Holding the number of a finding against its limit.
#include "oilwright/finding.h"

#include <math.h>

static void hold(OwFinding *finding, double value, double limit, double margin, double band) {
    if (!isfinite(value) || !isfinite(limit)) {
        finding->grade = OW_GRADE_UNKNOWN;
        return;
    }
    finding->has_value = finding->has_limit = true;
    finding->value = value;
    finding->limit = limit;
    finding->margin = margin;
    finding->grade = margin < 0.0 ? OW_GRADE_BAD : margin < band ? OW_GRADE_TIGHT : OW_GRADE_GOOD;
}

void ow_finding_hold_below(OwFinding *finding, double value, double limit, double band) {
    hold(finding, value, limit, limit - value, band);
}

void ow_finding_hold_above(OwFinding *finding, double value, double limit, double band) {
    hold(finding, value, limit, value - limit, band);
}

void ow_finding_tell(OwFinding *finding, double value) {
    finding->grade = isfinite(value) ? OW_GRADE_GOOD : OW_GRADE_UNKNOWN;
    finding->has_value = isfinite(value);
    finding->value = finding->has_value ? value : 0.0;
}
