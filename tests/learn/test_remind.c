// SPDX-License-Identifier: GPL-3.0-or-later
// Reminders: what is due, when, why, and in which order.
#include "support.h"

#include "oilwright/learn.h"

static const int64_t now = 1767225600; // 2026-01-01
static const int64_t day = 86400;

static OwRemindFact fact(OwRemindKind kind, const char *subject, int64_t days_ago) {
    OwRemindFact f = {.kind = kind, .since_s = days_ago < 0 ? 0 : now - days_ago * day};
    strncpy(f.subject, subject, sizeof f.subject - 1);
    return f;
}

static OwReminder one(const OwRemindFact *f) {
    OwReminder r;
    ow_remind(f, 1, NULL, now, false, &r);
    assert_true(isfinite(r.used) && isfinite(r.left_m) && r.reason[0] != '\0');
    return r;
}

static void test_filter(void **state) {
    (void)state;
    OwRemindFact f = fact(OW_REMIND_FILTER, "van oil filter", 60);
    f.has_distance = true;
    f.since_m = 4e6;
    f.due_m = 5e6;
    f.due_low_m = 4.5e6;
    f.due_high_m = 12e6;
    f.per_day_m = 50e3;
    OwReminder r = one(&f);
    assert_close(r.used, 0.8, 1e-12);
    assert_false(r.is_due || r.is_soon);
    assert_close(r.left_m, 1e6, 1e-6);
    assert_int_equal(r.due_s, now + 20 * day); // 1,000 km at 50 km a day
    assert_non_null(
        strstr(r.reason, "4000 km on it; 1 new one in 10 plugs by 5000 km (9 in 10 last 4500 km to 12000 km"));
    f.since_m = 4.6e6;
    assert_true(one(&f).is_soon);
    f.since_m = 5e6;
    r = one(&f);
    assert_true(r.is_due && !r.is_soon);
    f.since_m = NAN;
    assert_true(one(&f).is_unknown);
    f.since_m = 1e6;
    f.due_m = 0.0;
    assert_true(one(&f).is_unknown);
}

static void test_lube(void **state) {
    (void)state;
    OwRemindFact f = fact(OW_REMIND_LUBE, "van", 100);
    f.has_distance = true;
    f.since_m = 4e6;
    assert_close(one(&f).interval_m, 1e7, 1.0); // on diesel
    f.oil_share = 1.0;
    assert_close(one(&f).interval_m, 5e6, 1.0); // on oil: shorter
    f.oil_share = 0.5;
    assert_close(one(&f).interval_m, 1e7 / 1.5, 1.0); // rates add: half of 1/10 and half of 1/5
    double before = INFINITY;
    for (double share = 0.0; share <= 1.0; share += 0.1) {
        f.oil_share = share;
        assert_true(one(&f).interval_m < before);
        before = one(&f).interval_m;
    }
    f.since_s = now - 400 * day; // the year has passed first
    f.since_m = 1e5;
    assert_true(one(&f).is_due);
    f.oil_share = NAN;
    (void)one(&f);
}

static void test_order_and_kinds(void **state) {
    (void)state;
    OwRemindFact facts[] = {fact(OW_REMIND_BATTERY, "van", 2 * 365), fact(OW_REMIND_BATCH_AGE, "b7", 200),
                            fact(OW_REMIND_TEST, "b9", 13),          fact(OW_REMIND_WATER, "van", 45),
                            fact(OW_REMIND_WATER, "pickup", 45),     fact(OW_REMIND_BATTERY, "pickup", -1),
                            fact(OW_REMIND_TEST, "b8", 40)};
    facts[3].is_winter = true;
    OwReminder r[7];
    ow_remind(facts, 7, NULL, now, true, r);
    for (int i = 1; i < 7; i++) {
        assert_true(r[i - 1].used >= r[i].used);
    }
    assert_string_equal(r[0].subject, "b8"); // 40 of 14 days
    assert_string_equal(r[1].subject, "van");
    assert_int_equal(r[1].kind, OW_REMIND_WATER);
    assert_non_null(strstr(r[1].reason, "freezes"));
    assert_int_equal(r[2].kind, OW_REMIND_BATCH_AGE);
    assert_true(r[2].is_due);
    assert_int_equal(r[2].due_s, now - 20 * day);
    assert_true(r[3].is_soon); // 13 of 14
    assert_int_equal(r[4].kind, OW_REMIND_WATER);
    assert_false(r[4].is_due); // in summer 45 of 60 days
    // Two years of four: as urgent as what the log does not say.
    assert_true((r[5].is_unknown && !r[6].is_unknown) || (!r[5].is_unknown && r[6].is_unknown));
    ow_remind(NULL, 0, NULL, now, false, NULL);
    for (int k = 0; k < OW_REMIND_KINDS; k++) {
        assert_true(strlen(ow_remind_kind_text((OwRemindKind)k)) > 3);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_filter),
        cmocka_unit_test(test_lube),
        cmocka_unit_test(test_order_and_kinds),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
