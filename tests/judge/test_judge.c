// SPDX-License-Identifier: GPL-3.0-or-later
// Answers on hand-made records: numbers, grades, parts, mends; impossible, empty and broken records.
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "made.h"

#define C(x) ((x) + OW_ZERO_CELSIUS_K)
#define MUST_HOLD(text, part) assert_non_null(strstr(text, part))

static OwJudgement *judge(const OwMade *made, OwDisplay display) {
    OwJudgement *j = NULL;
    assert_int_equal(ow_judge_create(&made->record, display, &j), OW_OK);
    assert_non_null(j);
    assert_true(j->headline[0] != '\0');
    for (int i = 0; i < j->answer_count; i++) {
        const OwAnswer *v = &j->answers[i];
        assert_true(isfinite(v->value) && isfinite(v->limit) && isfinite(v->margin) &&
                    isfinite(v->tightness));
        assert_true(v->text[0] != '\0');
        assert_null(strstr(v->text, "nan"));
        assert_non_null(v->basis);
        assert_true(v->basis[0] != '\0');
        assert_true(i == 0 || v->kind >= j->answers[i - 1].kind);
    }
    return j;
}

static void a_good_morning(void **state) {
    (void)state;
    OwMade *m = made_good();
    OwJudgement *j = judge(m, OW_DISPLAY_METRIC);
    MUST_HOLD(j->headline, "Starts after 1 min 30 s and drives");
    assert_false(ow_judge_fails(j->grade));
    const OwAnswer *v = ow_judge_find(j, OW_ANSWER_START);
    assert_int_equal(v->grade, OW_GRADE_GOOD);
    assert_true(fabs(v->value - 90) < 1e-12);
    v = ow_judge_find(j, OW_ANSWER_READY);
    assert_true(fabs(v->value - 84) < 1e-12 && fabs(v->margin - 36) < 1e-12);
    v = ow_judge_find(j, OW_ANSWER_START_VISCOSITY);
    assert_true(fabs(v->value - 16e-6) < 1e-15 && fabs(v->margin - 4e-6) < 1e-15);
    assert_int_equal(v->trust, OW_TRUST_PRACTICE);
    v = ow_judge_find(j, OW_ANSWER_SUCTION);
    assert_int_equal(v->grade, OW_GRADE_GOOD);
    assert_int_equal(v->part, MADE_HOSE);
    assert_true(fabs(v->margin - 25e3) < 1e-9);
    v = ow_judge_find(j, OW_ANSWER_FULL_POWER);
    assert_int_equal(v->grade, OW_GRADE_GOOD);
    v = ow_judge_find(j, OW_ANSWER_THERMOSTAT);
    assert_true(fabs(v->value - 2) < 1e-12);
    MUST_HOLD(v->text, "boost chamber");
    MUST_HOLD(v->text, "every 1 min");
    // Charge: 250 W at 12.5 V for 90 s is 0.5 Ah of 70 Ah, 20 % allowed.
    v = ow_judge_find(j, OW_ANSWER_BATTERY);
    assert_true(fabs(v->value - 1800) < 1e-9 && fabs(v->limit - 0.2 * 70 * 3600) < 1e-6);
    assert_int_equal(v->grade, OW_GRADE_GOOD);
    ow_judge_destroy(&j);
    assert_null(j);
    free(m);
}

static void contributions_follow_the_path(void **state) {
    (void)state;
    OwMade *m = made_good();
    OwJudgement *j = judge(m, OW_DISPLAY_METRIC);
    assert_int_equal(j->contribution_count, MADE_PARTS);
    for (int i = 0; i < MADE_PARTS; i++) {
        assert_int_equal(j->contributions[i].part, i);
    }
    // Losses: hose 8, filter 2, chamber 2, pump 2 kPa.
    assert_true(fabs(j->contributions[MADE_HOSE].drop_share - 8.0 / 14.0) < 1e-9);
    assert_string_equal(j->contributions[MADE_HOSE].mark, "most loss");
    assert_true(fabs(j->contributions[MADE_CHAMBER].hottest_wall_k - C(85)) < 1e-9);
    assert_true(fabs(j->contributions[MADE_FILTER].rating_k - C(95)) < 1e-9);
    ow_judge_destroy(&j);
    free(m);
}

static void too_thick_to_start(void **state) {
    (void)state;
    // Warms from -5 to 20 °C in 390 s; rapeseed reaches 20 mm2/s somewhere near 60 °C (Acaroglu 2001: 24 at
    // 50, 16 at 60).
    OwMade *m = made_no_start(C(20), 76e-6);
    OwJudgement *j = judge(m, OW_DISPLAY_METRIC);
    assert_int_equal(j->grade, OW_GRADE_BAD);
    MUST_HOLD(j->headline, "Will not start");
    MUST_HOLD(j->headline, "76");
    MUST_HOLD(j->headline, "limit 20");
    MUST_HOLD(j->advice, "longer");
    MUST_HOLD(j->advice, " W in place of 250 W");
    ow_judge_destroy(&j);
    // US units name them.
    j = judge(m, OW_DISPLAY_US);
    MUST_HOLD(j->headline, "cSt");
    MUST_HOLD(j->headline, "\xC2\xB0"
                           "F");
    ow_judge_destroy(&j);
    free(m);
}

static void impossible_designs_are_answers(void **state) {
    (void)state;
    // The inlet has settled: no slope at all.
    OwMade *m = made_no_start(C(-5), 300e-6);
    OwJudgement *j = judge(m, OW_DISPLAY_METRIC);
    assert_int_equal(j->grade, OW_GRADE_IMPOSSIBLE);
    assert_int_equal(ow_judge_find(j, OW_ANSWER_START)->grade, OW_GRADE_IMPOSSIBLE);
    MUST_HOLD(j->advice, "Waiting does not help");
    ow_judge_destroy(&j);
    // No heater at all.
    for (int i = 0; i < MADE_SAMPLES; i++) {
        m->samples[i].heaters_w = 0;
    }
    j = judge(m, OW_DISPLAY_METRIC);
    assert_int_equal(j->grade, OW_GRADE_IMPOSSIBLE);
    MUST_HOLD(j->advice, "Nothing warms the oil");
    ow_judge_destroy(&j);
    free(m);
    // Hot chamber, nothing moves the oil to the pump.
    m = made_no_start(C(-5), 300e-6);
    for (int i = 5; i < MADE_SAMPLES; i++) {
        m->part_samples[i * MADE_PARTS + MADE_CHAMBER].oil_max_k = C(90);
    }
    j = judge(m, OW_DISPLAY_METRIC);
    assert_int_equal(j->grade, OW_GRADE_BAD);
    MUST_HOLD(j->advice, "The heat stays in 'boost chamber'");
    ow_judge_destroy(&j);
    free(m);
}

/// Watts of a mend stand beside the rated ones of the file, not the inrush of cold heaters; and where much
/// oil passes the heater, T out - T in = P / (rho cp Q) says what flow would get warm enough.
static void thick_oil_gets_watts_or_less_flow(void **state) {
    (void)state;
    OwMade *m = made_no_start(C(25), 60e-6);
    m->samples[0].heaters_w = 640.0; // cold plugs of 250 W
    for (int i = 0; i < MADE_SAMPLES; i++) {
        OwPartSample *s = &m->part_samples[i * MADE_PARTS + MADE_CHAMBER];
        s->flow_m3_s = 18e-3 / 3600.0;
        s->in_k = C(-5);
        s->out_k = C(25);
    }
    OwJudgement *j = judge(m, OW_DISPLAY_METRIC);
    const OwAnswer *v = ow_judge_find(j, OW_ANSWER_START);
    assert_true(ow_judge_fails(v->grade));
    const char *reached = strstr(v->text, "(reached at ");
    assert_non_null(reached);
    const double need_c = strtod(reached + 12, NULL);
    char flow[64];
    (void)snprintf(flow, sizeof flow, "(%.3g L/h, now 18 L/h)", 0.95 * 18.0 * 30.0 / (need_c + 5.0));
    if (strstr(v->mend, flow) == NULL || strstr(v->mend, "let less oil pass 'boost chamber'") == NULL) {
        fail_msg("%s, not in: %s", flow, v->mend);
    }
    if (strstr(v->mend, " in place of 250 W") == NULL || strstr(v->mend, "640") != NULL) {
        fail_msg("rated watts, not in: %s", v->mend);
    }
    ow_judge_destroy(&j);
    free(m);
}

/// No pressure stands below a perfect vacuum (-101.325 kPa): what the flow would ask for is called that.
static void no_pressure_below_vacuum(void **state) {
    (void)state;
    OwMade *m = made_starved(-150e3, 0.3);
    OwJudgement *j = judge(m, OW_DISPLAY_METRIC);
    const OwAnswer *v = ow_judge_find(j, OW_ANSWER_SUCTION);
    assert_int_equal(v->grade, OW_GRADE_BAD);
    MUST_HOLD(v->text, "Lowest pressure -150 kPa asked (a perfect vacuum is -101 kPa) at 'supply hose'");
    assert_true(j->contribution_count > 0);
    for (int i = 0; i < j->contribution_count; i++) {
        assert_true(j->contributions[i].in_pa >= -101325.0 && j->contributions[i].out_pa >= -101325.0);
    }
    ow_judge_destroy(&j);
    j = judge(m, OW_DISPLAY_US);
    MUST_HOLD(ow_judge_find(j, OW_ANSWER_SUCTION)->text, "a perfect vacuum is -14.7 psi");
    ow_judge_destroy(&j);
    free(m);
    m = made_starved(-101.3e3, 0.3); // that one stands
    j = judge(m, OW_DISPLAY_METRIC);
    assert_null(strstr(ow_judge_find(j, OW_ANSWER_SUCTION)->text, "asked"));
    ow_judge_destroy(&j);
    free(m);
}

static void starving_names_the_part(void **state) {
    (void)state;
    OwMade *m = made_starved(-50e3, 0.7);
    OwJudgement *j = judge(m, OW_DISPLAY_METRIC);
    assert_int_equal(j->grade, OW_GRADE_BAD);
    MUST_HOLD(j->headline, "then starves");
    MUST_HOLD(j->headline, "supply hose");
    const OwAnswer *v = ow_judge_find(j, OW_ANSWER_DELIVERY);
    assert_int_equal(v->grade, OW_GRADE_BAD);
    assert_true(fabs(v->value - 0.7) < 1e-12);
    assert_true(fabs(v->time_s - 200) < 1e-12);
    v = ow_judge_find(j, OW_ANSWER_SUCTION);
    assert_int_equal(v->grade, OW_GRADE_BAD);
    assert_int_equal(v->part, MADE_HOSE);
    assert_true(fabs(v->margin + 20e3) < 1e-9);
    MUST_HOLD(v->text, "air comes out");
    MUST_HOLD(v->text, "3 min"); // from 200 s to the last sample at 390 s: 190 s
    // Margin wanted 6 kPa: loss must fall from 50 to 24 kPa; 8 mm (50/24)^(1/4) = 9.61 -> 10 mm, loss 50
    // (8/10)^4 = 20.5 kPa.
    MUST_HOLD(v->mend, "from 8 mm to 10 mm");
    MUST_HOLD(v->mend, "20.5 kPa");
    MUST_HOLD(v->mend, "electric pump near the tank");
    v = ow_judge_find(j, OW_ANSWER_FULL_LOAD);
    assert_true(fabs(v->value - 0.65) < 1e-12);
    assert_int_equal(v->grade, OW_GRADE_BAD);
    assert_int_equal(ow_judge_find(j, OW_ANSWER_FULL_POWER)->grade, OW_GRADE_BAD);
    assert_int_equal(ow_judge_find(j, OW_ANSWER_FILL)->grade, OW_GRADE_BAD);
    assert_true(j->worst_sample >= 20);
    assert_string_equal(j->contributions[MADE_HOSE].mark, "air comes out");
    ow_judge_destroy(&j);
    free(m);
}

static void full_power_comes_back(void **state) {
    (void)state;
    OwMade *m = made_good();
    for (int i = MADE_START; i < MADE_START + 5; i++) {
        m->samples[i].full_burned_m3_s = 3e-6;
    }
    OwJudgement *j = judge(m, OW_DISPLAY_METRIC);
    const OwAnswer *v = ow_judge_find(j, OW_ANSWER_FULL_POWER);
    assert_true(v->has_value);
    assert_true(fabs(v->value - 50) < 1e-12);
    v = ow_judge_find(j, OW_ANSWER_FULL_LOAD);
    assert_int_equal(v->grade, OW_GRADE_TIGHT);
    assert_true(fabs(v->value - 0.25) < 1e-12);
    assert_int_equal(j->grade, OW_GRADE_TIGHT);
    ow_judge_destroy(&j);
    free(m);
}

static void too_hot_names_the_thermostat(void **state) {
    (void)state;
    OwMade *m = made_good();
    m->part_samples[30 * MADE_PARTS + MADE_CHAMBER].oil_max_k = C(131);
    m->part_samples[31 * MADE_PARTS + MADE_FILTER].wall_max_k = C(99);
    OwJudgement *j = judge(m, OW_DISPLAY_METRIC);
    const OwAnswer *v = ow_judge_find(j, OW_ANSWER_OIL_HOT);
    assert_int_equal(v->grade, OW_GRADE_BAD);
    assert_int_equal(v->part, MADE_CHAMBER);
    assert_true(fabs(v->margin + 11) < 1e-9);
    MUST_HOLD(v->mend, "thermostat of 'boost chamber' from 85");
    int over = 0;
    for (int i = 0; i < j->answer_count; i++) {
        over += j->answers[i].kind == OW_ANSWER_RATING && j->answers[i].grade == OW_GRADE_BAD &&
                j->answers[i].part == MADE_FILTER;
    }
    assert_int_equal(over, 1);
    assert_int_equal(j->grade, OW_GRADE_BAD);
    ow_judge_destroy(&j);
    free(m);
}

static void heating_watts_for_the_drive(void **state) {
    (void)state;
    OwMade *m = made_good();
    m->samples[20].inlet_kinematic_m2_s = 34e-6;
    m->samples[20].inlet_k = C(40); // Acaroglu 2001: 34 mm2/s at 40 °C
    OwJudgement *j = judge(m, OW_DISPLAY_METRIC);
    const OwAnswer *v = ow_judge_find(j, OW_ANSWER_RUN_VISCOSITY);
    assert_int_equal(v->grade, OW_GRADE_BAD);
    MUST_HOLD(v->text, "over it for 10 s");
    MUST_HOLD(v->mend, " W more heat");
    ow_judge_destroy(&j);
    free(m);
}

static void missing_limits_are_unknown(void **state) {
    (void)state;
    OwMade *m = made_good();
    memset(&m->rig.limits, 0, sizeof m->rig.limits);
    m->rig.electrics.battery_c = 0;
    OwJudgement *j = judge(m, OW_DISPLAY_METRIC);
    const OwAnswerKind kinds[] = {
        OW_ANSWER_START_VISCOSITY, OW_ANSWER_RUN_VISCOSITY, OW_ANSWER_SUCTION, OW_ANSWER_FILL,
        OW_ANSWER_INLET_PRESSURE,  OW_ANSWER_OIL_HOT,       OW_ANSWER_BATTERY};
    for (size_t i = 0; i < sizeof kinds / sizeof kinds[0]; i++) {
        const OwAnswer *v = ow_judge_find(j, kinds[i]);
        assert_int_equal(v->grade, OW_GRADE_UNKNOWN);
        assert_false(v->has_limit);
        assert_true(v->has_value);
    }
    assert_false(ow_judge_fails(j->grade));
    ow_judge_destroy(&j);
    free(m);
}

// Thin and warm enough, but the pump draws air: the suction is to blame, not the oil.
static void failed_start_on_air(void **state) {
    (void)state;
    OwMade *m = made_no_start(C(60), 10e-6);
    for (int i = MADE_START; i < MADE_SAMPLES; i++) {
        m->samples[i].inlet_fill = 0.9; // wanted 0.97
        m->samples[i].lowest_pa = -45e3;
        m->samples[i].lowest_part = MADE_HOSE;
        m->part_samples[i * MADE_PARTS + MADE_HOSE].drop_pa = 40e3;
    }
    OwJudgement *j = judge(m, OW_DISPLAY_METRIC);
    const OwAnswer *start = ow_judge_find(j, OW_ANSWER_START);
    assert_int_equal(start->grade, OW_GRADE_BAD);
    MUST_HOLD(start->text, "draws air, only 90 %");
    MUST_HOLD(start->mend, "bore of 'supply hose'");
    ow_judge_destroy(&j);
    free(m);
}

static void engine_never_asked(void **state) {
    (void)state;
    OwMade *m = made_no_start(C(20), 76e-6);
    m->record.event_count = 1;
    for (int i = 0; i < MADE_SAMPLES; i++) {
        m->samples[i].engine = OW_ENGINE_OFF;
        m->samples[i].is_key_on = false;
    }
    OwJudgement *j = judge(m, OW_DISPLAY_METRIC);
    assert_int_equal(j->grade, OW_GRADE_UNKNOWN);
    MUST_HOLD(j->headline, "never asked to start");
    assert_int_equal(ow_judge_find(j, OW_ANSWER_DELIVERY)->grade, OW_GRADE_UNKNOWN);
    ow_judge_destroy(&j);
    free(m);
}

static void empty_and_broken_records(void **state) {
    (void)state;
    OwMade *m = made_good();
    m->record.sample_count = 0;
    m->record.event_count = 0;
    m->record.has_started = false;
    m->record.ready_s = m->record.start_s = -1;
    OwJudgement *j = judge(m, OW_DISPLAY_METRIC);
    assert_int_equal(j->grade, OW_GRADE_UNKNOWN);
    MUST_HOLD(j->headline, "Nothing can be said");
    assert_int_equal(j->worst_sample, -1);
    ow_judge_destroy(&j);
    // A record without parts, and a rig without parts.
    m->record.part_count = 0;
    m->record.parts = NULL;
    m->rig.part_count = 0;
    m->record.sample_count = MADE_SAMPLES;
    j = judge(m, OW_DISPLAY_METRIC);
    ow_judge_destroy(&j);
    free(m);
    // NaN everywhere: no NaN comes out (checked in judge()).
    m = made_good();
    for (int i = 0; i < MADE_SAMPLES; i++) {
        OwSample *s = &m->samples[i];
        s->inlet_k = s->inlet_pa = s->inlet_kinematic_m2_s = s->inlet_fill = s->lowest_pa = NAN;
        s->coolant_k = s->charge_c = s->fuel_burned_m3_s = s->full_burned_m3_s = s->full_request_m3_s = NAN;
        for (int p = 0; p < MADE_PARTS; p++) {
            OwPartSample *q = &m->part_samples[i * MADE_PARTS + p];
            q->in_k = q->out_k = q->oil_max_k = q->wall_max_k = q->drop_pa = q->flow_m3_s = q->share = NAN;
        }
    }
    m->record.audit.energy_gap = NAN;
    j = judge(m, OW_DISPLAY_METRIC);
    ow_judge_destroy(&j);
    free(m);
    j = NULL;
    assert_int_equal(ow_judge_create(NULL, OW_DISPLAY_METRIC, &j), OW_ERROR_USE);
    ow_judge_destroy(&j);
    ow_judge_destroy(NULL);
}

static void trouble_is_said(void **state) {
    (void)state;
    OwMade *m = made_good();
    strcpy(m->record.trouble, "no flow solution at 'filter'.");
    OwJudgement *j = judge(m, OW_DISPLAY_METRIC);
    assert_int_equal(j->grade, OW_GRADE_UNKNOWN);
    MUST_HOLD(j->headline, "ended early");
    MUST_HOLD(j->headline, "no flow solution at 'filter'");
    ow_judge_destroy(&j);
    free(m);
}

static void path_follows_valve_and_flow(void **state) {
    (void)state;
    // Two tanks on a three-way valve: tank a - a, tank b - b, common - pump.
    OwPart parts[4] = {{.kind = OW_PART_TANK, .name = "a"},
                       {.kind = OW_PART_TANK, .name = "b"},
                       {.kind = OW_PART_VALVE, .name = "v"},
                       {.kind = OW_PART_INJECTION_PUMP, .name = "p"}};
    parts[2].as.valve =
        (OwValve){.ways = 3, .position_count = 2, .opens_a = {true, false}, .opens_b = {false, true}};
    OwJoint joints[3] = {{0, 0, 2, 1}, {1, 0, 2, 2}, {2, 0, 3, 0}};
    OwRig rig = {.parts = parts, .part_count = 4, .joints = joints, .joint_count = 3};
    OwSample sample = {.time_s = 0};
    OwPartSample states[4] = {{.position = 0}};
    OwRecord record = {.rig = &rig, .samples = &sample, .parts = states, .sample_count = 1, .part_count = 4};
    int path[4];
    states[2].position = 0;
    assert_int_equal(ow_judge_path(&record, 0, path, 4), 3);
    assert_int_equal(path[0], 0);
    assert_int_equal(path[2], 3);
    states[2].position = 1;
    assert_int_equal(ow_judge_path(&record, 0, path, 4), 3);
    assert_int_equal(path[0], 1);
    assert_int_equal(ow_judge_path(&record, 0, path, 2), 2);
    assert_int_equal(ow_judge_path(NULL, 0, path, 4), 0);
}

static void scalings(void **state) {
    (void)state;
    // Hagen-Poiseuille: a sixteenth of the drop at twice the bore.
    assert_true(fabs(ow_judge_bore_for(0.008, 16e3, 1e3) - 0.016) < 1e-12);
    assert_true(ow_judge_bore_for(0.008, 16e3, 0) == 0.0);
    assert_true(ow_judge_bore_for(0.008, NAN, 1e3) == 0.0);
    assert_true(fabs(ow_judge_hose_bore(0.0096, OW_DISPLAY_METRIC) - 0.010) < 1e-12);
    assert_true(fabs(ow_judge_hose_bore(0.010, OW_DISPLAY_METRIC) - 0.010) < 1e-12);
    assert_true(fabs(ow_judge_hose_bore(0.0170, OW_DISPLAY_METRIC) - 0.019) < 1e-12);
    assert_true(fabs(ow_judge_hose_bore(0.0080, OW_DISPLAY_US) - 0.0254 * 6 / 16) < 1e-12);
    assert_true(ow_judge_hose_bore(0.05, OW_DISPLAY_METRIC) == 0.0);
    assert_true(fabs(ow_judge_watts_for(250, 25, 65) - 650) < 1e-9);
    assert_true(ow_judge_watts_for(250, 0, 65) == 0.0);
}

static void words(void **state) {
    (void)state;
    for (int k = 0; k < OW_ANSWER_COUNT; k++) {
        assert_true(ow_judge_kind_text((OwAnswerKind)k)[0] != '\0');
        for (int l = 0; l < k; l++) {
            assert_string_not_equal(ow_judge_kind_key((OwAnswerKind)k), ow_judge_kind_key((OwAnswerKind)l));
        }
    }
    assert_string_equal(ow_judge_kind_key((OwAnswerKind)99), "unknown");
    assert_string_equal(ow_judge_trust_text(OW_TRUST_PRACTICE), "common practice");
    assert_string_equal(ow_judge_grade_text(OW_GRADE_IMPOSSIBLE), "impossible");
    assert_true(ow_judge_fails(OW_GRADE_BAD));
    assert_false(ow_judge_fails(OW_GRADE_UNKNOWN));
}

static void warming_up_takes_the_starting_limit(void **state) {
    (void)state;
    OwMade *m = made_good();
    m->rig.limits.start_kinematic_m2_s = 40e-6;
    m->rig.limits.warm_up_s = 100;               // until 190 s
    m->samples[15].inlet_kinematic_m2_s = 38e-6; // at 150 s: allowed
    assert_true(fabs(ow_judge_inlet_limit(&m->record, 150) - 40e-6) < 1e-15);
    assert_true(fabs(ow_judge_inlet_limit(&m->record, 190) - 20e-6) < 1e-15);
    OwJudgement *j = judge(m, OW_DISPLAY_METRIC);
    const OwAnswer *v = ow_judge_find(j, OW_ANSWER_RUN_VISCOSITY);
    assert_false(ow_judge_fails(v->grade));
    assert_true(fabs(v->limit - 40e-6) < 1e-15);
    MUST_HOLD(v->text, "while it warms up");
    ow_judge_destroy(&j);
    m->samples[25].inlet_kinematic_m2_s = 21e-6; // at 250 s: over the running limit, and relatively worse
    j = judge(m, OW_DISPLAY_METRIC);
    v = ow_judge_find(j, OW_ANSWER_RUN_VISCOSITY);
    assert_int_equal(v->grade, OW_GRADE_BAD);
    assert_true(fabs(v->value - 21e-6) < 1e-15);
    MUST_HOLD(v->text, "over it for 10 s");
    ow_judge_destroy(&j);
    free(m);
}

static void solid_oil_is_impossible(void **state) {
    (void)state;
    // At -40 C the wax of rapeseed has set: nothing runs, whatever the chamber does.
    OwMade *m = made_no_start(C(-40), 1.0);
    for (int i = 0; i < MADE_SAMPLES; i++) {
        for (int p = 0; p < MADE_CHAMBER; p++) {
            OwPartSample *q = &m->part_samples[i * MADE_PARTS + p];
            q->in_k = q->out_k = C(-40);
        }
    }
    OwJudgement *j = judge(m, OW_DISPLAY_METRIC);
    assert_int_equal(j->grade, OW_GRADE_IMPOSSIBLE);
    MUST_HOLD(j->headline, "practically solid");
    MUST_HOLD(j->advice, "solid in 'main tank'");
    ow_judge_destroy(&j);
    free(m);
}

static void run_too_short_is_unknown(void **state) {
    (void)state;
    OwMade *m = made_no_start(C(20), 16e-6);
    m->record.event_count = 2; // key on and crank: the attempt never ended
    OwJudgement *j = judge(m, OW_DISPLAY_METRIC);
    assert_int_equal(j->grade, OW_GRADE_UNKNOWN);
    MUST_HOLD(j->headline, "before the first attempt to start was over");
    ow_judge_destroy(&j);
    free(m);
}

/// Limits of DIN 51605:2010 (table 1): water 750 mg/kg, acid value 2.0 mg KOH/g, contamination 24 mg/kg.
static void what_is_stated_of_the_oil_is_judged(void **state) {
    (void)state;
    OwMade *m = made_good();
    OwJudgement *j = judge(m, OW_DISPLAY_METRIC);
    const OwGrade before = j->grade;
    assert_null(ow_judge_find(j, OW_ANSWER_WATER));
    assert_null(ow_judge_find(j, OW_ANSWER_ACID));
    assert_null(ow_judge_find(j, OW_ANSWER_SOLIDS));
    ow_judge_destroy(&j);
    m->rig.fluid_spec[0].water_share = 1200e-6;
    m->rig.fluid_spec[0].acid_mg_g = 1.0;
    m->rig.fluid_spec[0].solids_share = 22e-6;
    j = judge(m, OW_DISPLAY_METRIC);
    const OwAnswer *water = ow_judge_find(j, OW_ANSWER_WATER), *acid = ow_judge_find(j, OW_ANSWER_ACID),
                   *solids = ow_judge_find(j, OW_ANSWER_SOLIDS);
    assert_int_equal(water->grade, OW_GRADE_TIGHT);
    MUST_HOLD(water->text, "Water in 'oil' 1200 mg/kg, DIN 51605");
    MUST_HOLD(water->text, "allows 750");
    MUST_HOLD(water->mend, "dry it");
    assert_true(fabs(water->limit - (750e-6)) < 1e-12);
    assert_true(fabs(water->margin - (-450e-6)) < 1e-12);
    assert_int_equal(acid->grade, OW_GRADE_GOOD);
    assert_true(fabs(acid->limit - (2.0)) < 1e-12);
    assert_int_equal(solids->grade, OW_GRADE_TIGHT); // within a fifth of the limit
    assert_true(fabs(solids->limit - (24e-6)) < 1e-12);
    assert_true(j->grade == before || j->grade == OW_GRADE_TIGHT); // it warns, the morning does not fail
    ow_judge_destroy(&j);
    free(m);
}

/// A battery too small for the pre-heat: the one that is offered is enough, and not the next but one.
static void offered_battery_is_enough(void **state) {
    (void)state;
    OwMade *m = made_good();
    m->rig.electrics.battery_c = 3600.0;
    OwJudgement *j = judge(m, OW_DISPLAY_METRIC);
    const OwAnswer *v = ow_judge_find(j, OW_ANSWER_BATTERY);
    assert_int_equal(v->grade, OW_GRADE_BAD);
    assert_int_equal(v->change_count, 1);
    assert_string_equal(v->changes[0].section, "electrics");
    assert_string_equal(v->changes[0].key, "battery");
    const double offered_c = v->changes[0].value, least_c = v->value / m->rig.limits.preheat_charge_share;
    assert_true(offered_c >= least_c && offered_c <= 1.05 * least_c + 5.0 * 3600.0);
    m->rig.electrics.battery_c = offered_c;
    ow_judge_destroy(&j);
    j = judge(m, OW_DISPLAY_METRIC);
    assert_false(ow_judge_fails(ow_judge_find(j, OW_ANSWER_BATTERY)->grade));
    ow_judge_destroy(&j);
    free(m);
}

static void two_fluids_are_told_apart(void **state) {
    (void)state;
    OwMade *m = made_good();
    m->rig.fluid_count = 2;
    strcpy(m->rig.fluid_spec[1].name, "diesel");
    strcpy(m->rig.fluid_name[1], "start");
    for (int i = 0; i < MADE_SAMPLES; i++) {
        m->samples[i].inlet_share = 1.0;
        for (int p = 0; p < MADE_PARTS; p++) {
            m->part_samples[i * MADE_PARTS + p].share = 1.0; // diesel everywhere
        }
    }
    // 85 degC of diesel is past its flash point (EN 590: above 55 degC), of rapeseed it would not be (Goering
    // 1982: 246 degC).
    m->part_samples[30 * MADE_PARTS + MADE_CHAMBER].oil_max_k = C(85);
    OwJudgement *j = judge(m, OW_DISPLAY_METRIC);
    assert_int_equal(ow_judge_find(j, OW_ANSWER_FLASH)->grade, OW_GRADE_TIGHT);
    // Purged: what stays in the pump is thin at -5 degC.
    const OwAnswer *v = ow_judge_find(j, OW_ANSWER_PURGE);
    assert_int_equal(v->grade, OW_GRADE_GOOD);
    MUST_HOLD(v->text, "100 % of 'start'");
    ow_judge_destroy(&j);
    for (int i = 0; i < MADE_SAMPLES; i++) {
        m->samples[i].inlet_share = 0.0;
        for (int p = 0; p < MADE_PARTS; p++) {
            m->part_samples[i * MADE_PARTS + p].share = 0.0;
        }
    }
    j = judge(m, OW_DISPLAY_METRIC);
    assert_int_equal(ow_judge_find(j, OW_ANSWER_FLASH)->grade, OW_GRADE_GOOD);
    v = ow_judge_find(j, OW_ANSWER_PURGE);
    assert_int_equal(v->grade, OW_GRADE_TIGHT);
    assert_true(v->value > 200e-6); // Lang et al. 1992: canola 178.9 mm2/s at 4 degC, thicker still at -5
    MUST_HOLD(v->mend, "Change back");
    ow_judge_destroy(&j);
    free(m);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_good_morning),
        cmocka_unit_test(contributions_follow_the_path),
        cmocka_unit_test(too_thick_to_start),
        cmocka_unit_test(impossible_designs_are_answers),
        cmocka_unit_test(thick_oil_gets_watts_or_less_flow),
        cmocka_unit_test(starving_names_the_part),
        cmocka_unit_test(full_power_comes_back),
        cmocka_unit_test(too_hot_names_the_thermostat),
        cmocka_unit_test(heating_watts_for_the_drive),
        cmocka_unit_test(missing_limits_are_unknown),
        cmocka_unit_test(engine_never_asked),
        cmocka_unit_test(empty_and_broken_records),
        cmocka_unit_test(trouble_is_said),
        cmocka_unit_test(path_follows_valve_and_flow),
        cmocka_unit_test(warming_up_takes_the_starting_limit),
        cmocka_unit_test(solid_oil_is_impossible),
        cmocka_unit_test(run_too_short_is_unknown),
        cmocka_unit_test(what_is_stated_of_the_oil_is_judged),
        cmocka_unit_test(no_pressure_below_vacuum),
        cmocka_unit_test(offered_battery_is_enough),
        cmocka_unit_test(two_fluids_are_told_apart),
        cmocka_unit_test(scalings),
        cmocka_unit_test(failed_start_on_air),
        cmocka_unit_test(words),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
