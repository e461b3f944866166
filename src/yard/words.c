// SPDX-License-Identifier: GPL-3.0-or-later
// Words of the yard: cautions, steps, outlets, verdicts.
#include "oilwright/yard.h"

/// Row of a table, or a word for a stranger.
static const char *word(const char *const *words, unsigned count, unsigned i) {
    return i < count ? words[i] : "unknown";
}

const char *ow_yard_caution(OwCaution caution) {
    static const char *const texts[] = {
#define ROW(code, key, text) text,
        OW_CAUTION_LIST(ROW)
#undef ROW
    };
    return word(texts, OW_CAUTION_COUNT, (unsigned)caution);
}

const char *ow_yard_caution_key(OwCaution caution) {
    static const char *const keys[] = {
#define ROW(code, key, text) key,
        OW_CAUTION_LIST(ROW)
#undef ROW
    };
    return word(keys, OW_CAUTION_COUNT, (unsigned)caution);
}

const char *ow_yard_step_text(OwYardStep step) {
    static const char *const texts[] = {"nothing",    "drain",        "settle",           "heat",
                                        "settle hot", "dry with air", "dry under vacuum", "filter",
                                        "centrifuge", "blend",        "test again"};
    return word(texts, OW_STEP_COUNT, (unsigned)step);
}

const char *ow_yard_step_key(OwYardStep step) {
    static const char *const keys[] = {"none",   "drain",  "settle",     "heat",  "hot_settle", "bubble",
                                       "vacuum", "filter", "centrifuge", "blend", "test"};
    return word(keys, OW_STEP_COUNT, (unsigned)step);
}

int ow_yard_step_cautions(OwYardStep step, OwCaution *cautions, int size) {
    // Rows end at the caution that stands in all of them, the local law.
    static const OwCaution rows[OW_STEP_COUNT][8] = {
        [OW_STEP_NONE] = {OW_CAUTION_LAW},
        [OW_STEP_DRAIN] = {OW_CAUTION_HOT_OIL, OW_CAUTION_SPILL, OW_CAUTION_LAW},
        [OW_STEP_SETTLE] = {OW_CAUTION_SPILL, OW_CAUTION_LAW},
        [OW_STEP_HEAT] = {OW_CAUTION_STEAM, OW_CAUTION_UNATTENDED, OW_CAUTION_CUT_OUT, OW_CAUTION_HOT_OIL,
                          OW_CAUTION_LAW},
        [OW_STEP_HOT_SETTLE] = {OW_CAUTION_STEAM, OW_CAUTION_UNATTENDED, OW_CAUTION_CUT_OUT,
                                OW_CAUTION_HOT_OIL, OW_CAUTION_SPILL, OW_CAUTION_LAW},
        [OW_STEP_BUBBLE] = {OW_CAUTION_AIR, OW_CAUTION_STEAM, OW_CAUTION_UNATTENDED, OW_CAUTION_CUT_OUT,
                            OW_CAUTION_HOT_OIL, OW_CAUTION_LAW},
        [OW_STEP_VACUUM] = {OW_CAUTION_VACUUM, OW_CAUTION_STEAM, OW_CAUTION_UNATTENDED, OW_CAUTION_CUT_OUT,
                            OW_CAUTION_HOT_OIL, OW_CAUTION_LAW},
        [OW_STEP_FILTER] = {OW_CAUTION_RAGS, OW_CAUTION_PRESSURE, OW_CAUTION_HOT_OIL, OW_CAUTION_SPILL,
                            OW_CAUTION_LAW},
        [OW_STEP_CENTRIFUGE] = {OW_CAUTION_SPEED, OW_CAUTION_HOT_OIL, OW_CAUTION_RAGS, OW_CAUTION_LAW},
        [OW_STEP_BLEND] = {OW_CAUTION_SPILL, OW_CAUTION_LAW},
        [OW_STEP_TEST] = {OW_CAUTION_HOT_OIL, OW_CAUTION_LAW},
    };
    if ((unsigned)step >= OW_STEP_COUNT) {
        step = OW_STEP_NONE;
    }
    int count = 0;
    for (;;) {
        const OwCaution caution = rows[step][count];
        if (cautions && count < size) {
            cautions[count] = caution;
        }
        ++count;
        if (caution == OW_CAUTION_LAW) {
            return count;
        }
    }
}

const char *ow_yard_reach_text(OwReach reach) {
    static const char *const texts[] = {"after", "already", "never", "refused", "unknown"};
    return word(texts, OW_REACH_UNKNOWN + 1, (unsigned)reach);
}

const char *ow_filter_form_text(OwFilterForm form) {
    static const char *const texts[] = {"bag", "cartridge"};
    return word(texts, OW_FORM_COUNT, (unsigned)form);
}

const char *ow_yard_outlet_text(OwOutlet outlet) {
    static const char *const texts[] = {"product", "drained water", "sludge",  "filter cake",
                                        "vapour",  "rejected",      "handling"};
    return word(texts, OW_OUT_COUNT, (unsigned)outlet);
}

const char *ow_yard_test_text(OwYardTest test) {
    static const char *const texts[] = {"acid value", "water", "solids", "viscosity"};
    return word(texts, OW_TEST_COUNT, (unsigned)test);
}

const char *ow_yard_decide_text(OwDecide decide) {
    static const char *const texts[] = {"use", "test again", "rework", "reject", "not tested"};
    return word(texts, OW_DECIDE_UNTESTED + 1, (unsigned)decide);
}
