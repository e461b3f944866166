// SPDX-License-Identifier: GPL-3.0-or-later
// Use, rework or reject: the workshop's tests against limits, with the step that mends.
#include "yard/guard.h"

#include <math.h>
#include <stdio.h>

/// One row a test.
static const struct {
    const char *unit;
    OwYardStep mend;
    const char *rework, *reject;
} rows[OW_TEST_COUNT] = {
    [OW_TEST_ACID] =
        {"mg KOH/g", OW_STEP_BLEND, "blend with better oil; keep copper, brass and zinc off it",
         "it corrodes pump and injectors; no yard step takes acid out: hand it to a rendering firm"},
    [OW_TEST_WATER] = {"mg/kg", OW_STEP_BUBBLE, "drain what settles, then dry",
                       "mostly water: leave it at the door"},
    [OW_TEST_SOLIDS] = {"% by volume", OW_STEP_SETTLE, "settle, draw off the top, then filter",
                        "mostly sludge: leave it at the door"},
    [OW_TEST_VISCOSITY] = {"mm2/s at 40 °C", OW_STEP_BLEND,
                           "thickened by use: blend with thinner oil, and let the rig's own limits decide",
                           "polymerised by frying: it gums filters and rings"},
};

OwYardLimits ow_yard_limits_default(void) {
    // Use: DIN 51605 (acid 2.0 mg KOH/g, water 750 mg/kg, viscosity 36.0 mm2/s at 40 °C). A cone cannot see
    // its 24 mg/kg of solids: 0.2 % by volume is common practice, as are all limits for rejecting.
    return (OwYardLimits){
        .use = {[OW_TEST_ACID] = 2.0,
                [OW_TEST_WATER] = 750.0,
                [OW_TEST_SOLIDS] = 0.2,
                [OW_TEST_VISCOSITY] = 36.0},
        .reject = {[OW_TEST_ACID] = 5.0,
                   [OW_TEST_WATER] = 100000.0,
                   [OW_TEST_SOLIDS] = 10.0,
                   [OW_TEST_VISCOSITY] = 60.0},
        .is_standard = {[OW_TEST_ACID] = true, [OW_TEST_WATER] = true, [OW_TEST_VISCOSITY] = true}};
}

/// The step that mends this value.
static OwYardStep mend(OwYardTest test, double value) {
    if (test == OW_TEST_WATER && value > 2500.0) {
        return OW_STEP_HOT_SETTLE; // more than hot oil dissolves: free water comes off by itself first
    }
    return test == OW_TEST_SOLIDS && value <= 0.5 ? OW_STEP_FILTER : rows[test].mend;
}

static OwDecision decide(OwYardTest test, const OwWorkshop *made, const OwYardLimits *limits) {
    OwDecision d = {
        .test = test, .decide = OW_DECIDE_UNTESTED, .step = OW_STEP_TEST, .unit = rows[test].unit};
    d.limit = limits->use[test];
    d.trust = limits->is_standard[test] ? OW_TRUST_PUBLISHED : OW_TRUST_PRACTICE;
    const char *whose = limits->is_standard[test] ? "DIN 51605's" : "the usual limit of";
    if (!made || !isfinite(made->value) || !isfinite(made->low) || !isfinite(made->high)) {
        snprintf(d.reason, sizeof d.reason, "%s is not tested: test it before this oil is used",
                 ow_yard_test_text(test));
        return d;
    }
    d.value = made->value;
    if (made->high <= limits->use[test]) {
        d.decide = OW_DECIDE_USE;
        d.step = OW_STEP_NONE;
        snprintf(d.reason, sizeof d.reason, "%.4g %s is within %s %.4g", d.value, d.unit, whose, d.limit);
    } else if (made->value > limits->reject[test]) {
        d.decide = OW_DECIDE_REJECT;
        d.step = OW_STEP_NONE;
        d.limit = limits->reject[test];
        d.trust = OW_TRUST_PRACTICE;
        snprintf(d.reason, sizeof d.reason, "%.4g %s is over %.4g: %s", d.value, d.unit, d.limit,
                 rows[test].reject);
    } else if (made->low <= limits->use[test] && made->value <= limits->use[test]) {
        d.decide = OW_DECIDE_RETEST;
        snprintf(d.reason, sizeof d.reason,
                 "%.4g %s may be up to %.4g against %s %.4g: test again, more finely", d.value, d.unit,
                 made->high, whose, d.limit);
    } else {
        d.decide = OW_DECIDE_REWORK;
        d.step = mend(test, d.value);
        snprintf(d.reason, sizeof d.reason, "%.4g %s is over %s %.4g: %s", d.value, d.unit, whose, d.limit,
                 rows[test].rework);
    }
    return d;
}

OwDecide ow_yard_decide(const OwWorkshop *const tests[OW_TEST_COUNT], const OwYardLimits *limits,
                        OwDecision decisions[OW_TEST_COUNT]) {
    // Worst first: a reject decides, then rework, then what is not known.
    static const int weight[] = {[OW_DECIDE_USE] = 0,
                                 [OW_DECIDE_RETEST] = 1,
                                 [OW_DECIDE_UNTESTED] = 2,
                                 [OW_DECIDE_REWORK] = 3,
                                 [OW_DECIDE_REJECT] = 4};
    const OwYardLimits usual = ow_yard_limits_default();
    OwDecide worst = OW_DECIDE_USE;
    for (int i = 0; i < OW_TEST_COUNT; i++) {
        decisions[i] = decide((OwYardTest)i, tests ? tests[i] : NULL, limits ? limits : &usual);
        if (weight[decisions[i].decide] > weight[worst]) {
            worst = decisions[i].decide;
        }
    }
    return worst;
}
