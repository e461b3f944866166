// SPDX-License-Identifier: GPL-3.0-or-later
// Comparing hand-made records: grades before margins, ties, facts, and the count of parts without a way
// round.
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "made.h"
#include "oilwright/compare.h"

#define C(x) ((x) + OW_ZERO_CELSIUS_K)
#define MUST_HOLD(text, part) assert_non_null(strstr(text, part))

static const OwCompareRow *row_of(const OwComparison *c, OwAnswerKind kind) {
    for (int i = 0; i < c->row_count; i++) {
        if (c->rows[i].kind == kind) {
            return &c->rows[i];
        }
    }
    return NULL;
}

static void good_against_starved(void **state) {
    (void)state;
    OwMade *good = made_good(), *starved = made_starved(-60e3, 0.7);
    OwJudgement *j[2] = {NULL, NULL};
    OwComparison *c = NULL;
    assert_int_equal(ow_judge_create(&good->record, OW_DISPLAY_METRIC, &j[0]), OW_OK);
    assert_int_equal(ow_judge_create(&starved->record, OW_DISPLAY_METRIC, &j[1]), OW_OK);
    assert_int_equal(ow_compare_create((const OwJudgement *const[]){j[0], j[1]}, 2, &c), OW_OK);
    const OwCompareRow *suction = row_of(c, OW_ANSWER_SUCTION), *start = row_of(c, OW_ANSWER_START);
    assert_true(suction->is_ranked && suction->is_best[0] && !suction->is_best[1]);
    assert_true(start->is_tie && start->is_best[0] && start->is_best[1]);
    MUST_HOLD(c->better[0], "suction");
    MUST_HOLD(c->ties, "engine start");
    MUST_HOLD(c->headline, "keeps every limit");
    assert_int_equal(c->facts[0].broken, 0);
    assert_true(c->facts[1].broken > 0);
    assert_int_equal(c->facts[0].parts, MADE_PARTS);
    assert_int_equal(c->facts[0].heaters, 1);
    assert_int_equal(c->facts[0].single_points, MADE_PARTS); // one line without a way round
    assert_int_equal(c->facts[0].unpriced, MADE_PARTS);
    ow_compare_destroy(&c);
    assert_null(c);
    // The other way round the same, mirrored.
    assert_int_equal(ow_compare_create((const OwJudgement *const[]){j[1], j[0]}, 2, &c), OW_OK);
    assert_true(row_of(c, OW_ANSWER_SUCTION)->is_best[1] && !row_of(c, OW_ANSWER_SUCTION)->is_best[0]);
    MUST_HOLD(c->better[1], "suction");
    ow_compare_destroy(&c);
    // With itself it ties in everything.
    assert_int_equal(ow_compare_create((const OwJudgement *const[]){j[0], j[0], j[0]}, 3, &c), OW_OK);
    for (int i = 0; i < c->row_count; i++) {
        assert_true(c->rows[i].is_tie || !c->rows[i].is_ranked);
    }
    assert_true(c->better[0][0] == '\0' && c->better[2][0] == '\0');
    ow_compare_destroy(&c);
    assert_int_equal(ow_compare_create((const OwJudgement *const[]){j[0]}, 1, &c), OW_ERROR_USE);
    ow_judge_destroy(&j[0]);
    ow_judge_destroy(&j[1]);
    free(good);
    free(starved);
}

/// What does not do its work wins nothing by it: a starved vehicle that keeps its hoses free of pressure, one
/// that never starts.
static void idle_wins_nothing(void **state) {
    (void)state;
    OwMade *good = made_good(), *starved = made_starved(-60e3, 0.7), *dead = made_no_start(C(-5), 300e-6);
    for (int i = 0; i < MADE_SAMPLES; i++) {
        good->samples[i].inlet_pa = 120e3; // of 150 kPa
        starved->samples[i].inlet_pa = dead->samples[i].inlet_pa = 1e3;
    }
    OwJudgement *j[3] = {NULL, NULL, NULL};
    OwComparison *c = NULL;
    assert_int_equal(ow_judge_create(&good->record, OW_DISPLAY_METRIC, &j[0]), OW_OK);
    assert_int_equal(ow_judge_create(&starved->record, OW_DISPLAY_METRIC, &j[1]), OW_OK);
    assert_int_equal(ow_judge_create(&dead->record, OW_DISPLAY_METRIC, &j[2]), OW_OK);
    assert_int_equal(ow_compare_create((const OwJudgement *const *)j, 3, &c), OW_OK);
    assert_true(!c->facts[0].is_out && c->facts[1].is_out && c->facts[2].is_out);
    assert_true(c->better[1][0] == '\0' && c->better[2][0] == '\0');
    const OwCompareRow *pressure = row_of(c, OW_ANSWER_INLET_PRESSURE);
    assert_true(pressure->is_ranked && !pressure->is_tie);
    assert_false(pressure->is_best[0] || pressure->is_best[1] || pressure->is_best[2]);
    ow_compare_destroy(&c);
    // Among such alone they are ranked as ever.
    assert_int_equal(ow_compare_create((const OwJudgement *const *)(j + 1), 2, &c), OW_OK);
    assert_true(c->better[0][0] != '\0' || c->better[1][0] != '\0');
    ow_compare_destroy(&c);
    for (int i = 0; i < 3; i++) {
        ow_judge_destroy(&j[i]);
    }
    free(good);
    free(starved);
    free(dead);
}

/// A second line past the filter: the filter, and what lies beside it, is no single point any more.
static void a_way_round_counts(void **state) {
    (void)state;
    OwMade *m = made_good();
    OwJoint joints[MADE_PARTS + 2];
    memcpy(joints, m->rig.joints, sizeof(OwJoint) * (size_t)m->rig.joint_count);
    assert_int_equal(ow_compare_single_points(&m->rig), MADE_PARTS);
    // From the hose's outlet straight to the chamber's inlet.
    joints[m->rig.joint_count] =
        (OwJoint){.part_a = MADE_HOSE, .port_a = 1, .part_b = MADE_CHAMBER, .port_b = 0};
    m->rig.joints = joints;
    m->rig.joint_count++;
    assert_int_equal(ow_compare_single_points(&m->rig), MADE_PARTS - 1);
    // A tank's return is no pick-up.
    joints[m->rig.joint_count - 1] =
        (OwJoint){.part_a = MADE_TANK, .port_a = 1, .part_b = MADE_CHAMBER, .port_b = 0};
    assert_int_equal(ow_compare_single_points(&m->rig), MADE_PARTS);
    free(m);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(good_against_starved),
        cmocka_unit_test(idle_wins_nothing),
        cmocka_unit_test(a_way_round_counts),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
