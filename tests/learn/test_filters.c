// SPDX-License-Identifier: GPL-3.0-or-later
// Filter lives: calibration by simulation, limits, monotone effects, logs with nothing usable in them.
#include "support.h"

#include "oilwright/learn.h"

static OwLearnFilters *learn(const OwLearnPlace *places, int place_count, const OwLearnLife *lives,
                             int count) {
    OwLearnFilters *model = NULL;
    assert_int_equal(ow_learn_filters_create(places, place_count, lives, count, NULL, &model), OW_OK);
    return model;
}

static OwLearnedFilter ask(const OwLearnFilters *model, int place) {
    OwLearnedFilter l;
    assert_int_equal(ow_learn_filter(model, place, 0.0, 0.0, &l), OW_OK);
    assert_true(isfinite(l.low) && isfinite(l.high) && l.low > 0.0);
    assert_true(l.low <= l.life && l.life <= l.high);
    assert_true(l.middle_low <= l.middle_high && l.middle_low >= l.low * 0.999);
    assert_between(l.doubt_left, 0.0, 1.0);
    assert_true(l.text[0] != '\0');
    return l;
}

/// A world drawn from the model's own beliefs.
typedef struct World {
    double offset, slope, warm, scatter, level[3];
    OwLearnPlace places[3];
} World;

static World make_world(Random *r) {
    const OwLearnSettings s = ow_learn_default();
    World w = {.offset = s.study_spread * normal(r),
               .slope = s.dirt_slope + s.dirt_spread * normal(r),
               .warm = s.warm_1_k + s.warm_spread_1_k * normal(r),
               .scatter = s.scatter * exp(s.scatter_spread * normal(r))};
    const double between = s.between * exp(s.between_spread * normal(r));
    for (int g = 0; g < 3; g++) {
        w.places[g].study = 5e6 * exp(0.5 * normal(r));
        w.level[g] = between * normal(r);
    }
    return w;
}

static double draw_life(const World *w, Random *r, int place, double solids_kg_kg, double oil_k) {
    return w->places[place].study * exp(w->offset + w->level[place] + w->slope * log(solids_kg_kg / 24e-6) +
                                        w->warm * (oil_k - 283.15) + w->scatter * normal(r));
}

/// Calibration by simulation (Cook, Gelman & Rubin 2006, J. Comput. Graph. Statist. 15:675; Talts et al.
/// 2018, arXiv:1804.06788): truths drawn from the priors, logs from the truths; then the 90 % interval must
/// hold the next life 90 times in a hundred, and the share below it is spread evenly.
static void test_calibration(void **state) {
    (void)state;
    enum { LOGS = 400 };
    Random r = {20260101};
    int held = 0, held_late = 0, bins[10] = {0};
    for (int i = 0; i < LOGS; i++) {
        const World w = make_world(&r);
        OwLearnLife lives[24];
        const int count = (int)(24.0 * uniform(&r)); // from none to a rich log
        for (int k = 0; k < count; k++) {
            OwLearnLife *l = &lives[k];
            *l = (OwLearnLife){.place = (int)(3.0 * uniform(&r)),
                               .solids_kg_kg = 24e-6 * exp(0.5 * normal(&r)),
                               .oil_k = 283.15 + 10.0 * normal(&r)};
            l->life = draw_life(&w, &r, l->place, l->solids_kg_kg, l->oil_k);
            if (uniform(&r) < 0.25) { // looked at on the way
                l->is_running = true;
                l->life *= uniform(&r);
            }
        }
        OwLearnFilters *model = learn(w.places, 3, lives, count);
        const double solids = 24e-6 * exp(0.5 * normal(&r)), oil_k = 283.15 + 10.0 * normal(&r);
        OwLearnedFilter l;
        assert_int_equal(ow_learn_filter(model, 0, solids, oil_k, &l), OW_OK);
        const double next = draw_life(&w, &r, 0, solids, oil_k);
        held += next >= l.low && next <= l.high ? 1 : 0;
        const double above = ow_learn_filter_survives(model, 0, solids, oil_k, next);
        bins[(int)fmin(10.0 * above, 9.0)]++;
        // And of those that have lasted half their life: the interval of the rest holds too.
        const double half = 0.5 * next;
        const double low = ow_learn_filter_quantile(model, 0, solids, oil_k, 0.05, half);
        const double high = ow_learn_filter_quantile(model, 0, solids, oil_k, 0.95, half);
        assert_true(low >= half && high >= low);
        held_late += next >= low && next <= high ? 1 : 0;
        ow_learn_filters_destroy(&model);
    }
    print_message("the 90 %% interval held the next life in %d of %d logs\n", held, LOGS);
    assert_between(held / (double)LOGS, 0.85, 0.95);
    // Half the life is no fair stopping rule, so only a floor.
    assert_true(held_late / (double)LOGS > 0.85);
    double chi2 = 0.0;
    for (int b = 0; b < 10; b++) {
        chi2 += (bins[b] - LOGS / 10.0) * (bins[b] - LOGS / 10.0) / (LOGS / 10.0);
    }
    assert_true(chi2 < 27.88); // 9 degrees of freedom, 1 in 1000
}

/// One fixed truth, far from the study: a log of ten lives, over and over.
static void test_coverage_of_one_truth(void **state) {
    (void)state;
    Random r = {7};
    const OwLearnPlace place = {.name = "van oil filter", .study = 12e6};
    int held = 0, held_middle = 0;
    for (int i = 0; i < 300; i++) {
        OwLearnLife lives[10] = {{0}};
        for (int k = 0; k < 10; k++) {
            lives[k].life = 7e6 * exp(0.3 * normal(&r));
        }
        OwLearnFilters *model = learn(&place, 1, lives, 10);
        const OwLearnedFilter l = ask(model, 0);
        const double next = 7e6 * exp(0.3 * normal(&r));
        held += next >= l.low && next <= l.high ? 1 : 0;
        held_middle += l.middle_low <= 7e6 && l.middle_high >= 7e6 ? 1 : 0;
        ow_learn_filters_destroy(&model);
    }
    assert_between(held / 300.0, 0.85, 0.95);
    assert_between(held_middle / 300.0, 0.85, 0.96);
}

static void test_no_log_is_the_study(void **state) {
    (void)state;
    const OwLearnPlace places[2] = {{.name = "a", .study = 12e6}, {.name = "b"}};
    OwLearnFilters *model = learn(places, 2, NULL, 0);
    const OwLearnedFilter a = ask(model, 0), b = ask(model, 1);
    assert_close(a.life, 12e6, 0.002 * 12e6); // the median of a mixture centred on it
    assert_close(a.factor, 1.0, 0.002);
    assert_close(a.doubt_left, 1.0, 0.0);
    assert_close(b.life, 1e7, 0.002 * 1e7);
    assert_true(b.high / b.low > a.high / a.low); // no study: less sure
    assert_non_null(strstr(a.text, "filter study"));
    assert_non_null(strstr(b.text, "rule of thumb"));
    // The interval is that of the three spreads together: between and scatter are log-normal, so integrate
    // them.
    double below = 0.0, sum = 0.0;
    for (int i = 0; i < 200; i++) {
        for (int k = 0; k < 200; k++) {
            const double zi = -4.0 + 8.0 * (i + 0.5) / 200, zk = -4.0 + 8.0 * (k + 0.5) / 200;
            const double s = 0.35 * exp(0.5 * zi), t = 0.3 * exp(0.7 * zk);
            const double w = exp(-0.5 * (zi * zi + zk * zk));
            sum += w;
            below += w * 0.5 * erfc(-log(a.low / 12e6) / sqrt(2.0 * (0.36 + s * s + t * t)));
        }
    }
    assert_close(below / sum, 0.05, 0.004);
    ow_learn_filters_destroy(&model);
}

static void test_much_log_is_the_log(void **state) {
    (void)state;
    enum { MANY = 3000 };
    Random r = {3};
    static OwLearnLife lives[MANY];
    double sum = 0.0, square = 0.0;
    for (int i = 0; i < MANY; i++) {
        const double y = log(4e6) + 0.25 * normal(&r);
        lives[i].life = exp(y);
        sum += y / MANY;
        square += y * y / MANY;
    }
    const double sd = sqrt(square - sum * sum);
    const OwLearnPlace place = {.name = "van", .study = 30e6};
    OwLearnFilters *model = learn(&place, 1, lives, MANY);
    const OwLearnedFilter l = ask(model, 0);
    // Maximum likelihood: mean and spread of the logarithms.
    assert_close(log(l.life), sum, 0.002);
    assert_close(log(l.low), sum - 1.6449 * sd, 0.008);
    assert_close(log(l.high), sum + 1.6449 * sd, 0.008);
    assert_close(l.scatter, sd, 0.02 * sd);
    assert_true(l.doubt_left < 0.01);
    ow_learn_filters_destroy(&model);
    // The spread of the log is within the bounds of one truth, however far the study was off.
    assert_true(l.middle_low < 4.05e6 && l.middle_high > 3.95e6);
}

static void test_running_filters_count(void **state) {
    (void)state;
    const OwLearnPlace place = {.name = "van", .study = 8e6};
    OwLearnLife lives[6] = {{.life = 8e6}, {.life = 7e6}, {.life = 9e6}, {.life = 20e6, .is_running = true}};
    OwLearnFilters *without = learn(&place, 1, lives, 3), *with = learn(&place, 1, lives, 4);
    const OwLearnedFilter a = ask(without, 0), b = ask(with, 0);
    assert_true(b.life > 1.1 * a.life); // one that runs on at 20,000 km speaks for longer lives
    assert_int_equal(b.running, 1);
    lives[3].life = 1e5; // just put in: says almost nothing
    OwLearnFilters *fresh = learn(&place, 1, lives, 4);
    const OwLearnedFilter c = ask(fresh, 0);
    assert_close(c.life, a.life, 0.01 * a.life);
    ow_learn_filters_destroy(&without);
    ow_learn_filters_destroy(&with);
    ow_learn_filters_destroy(&fresh);
}

static void test_monotone(void **state) {
    (void)state;
    Random r = {5};
    const OwLearnPlace places[3] = {{.study = 8e6}, {.study = 8e6}, {.study = 8e6}};
    OwLearnLife lives[30];
    for (int i = 0; i < 30; i++) {
        lives[i] = (OwLearnLife){.place = i % 2, .solids_kg_kg = 24e-6 * exp(0.7 * normal(&r))};
        lives[i].life = (i % 2 ? 5e6 : 10e6) * (24e-6 / lives[i].solids_kg_kg) * exp(0.3 * normal(&r));
    }
    OwLearnFilters *model = learn(places, 3, lives, 30);
    const OwLearnedFilter a = ask(model, 0), b = ask(model, 1), unseen = ask(model, 2);
    assert_true(a.life > b.life);
    assert_true(unseen.life < a.life && unseen.life > b.life); // lent by the others
    assert_true(unseen.high / unseen.low > a.high / a.low);
    assert_int_equal(unseen.n, 0);
    assert_int_equal(unseen.others, 30);
    double before = INFINITY;
    for (double dirt = 5e-6; dirt < 500e-6; dirt *= 1.5) {
        OwLearnedFilter l;
        assert_int_equal(ow_learn_filter(model, 0, dirt, 0.0, &l), OW_OK);
        assert_true(l.life < before);
        before = l.life;
    }
    // Longer lives in the log never shorten the answer; more alike lives never widen it.
    before = 0.0;
    for (double last = 1e6; last < 1e8; last *= 1.6) {
        lives[0].life = last;
        OwLearnFilters *moved = learn(places, 3, lives, 30);
        const double life = ask(moved, 2).life;
        assert_true(life > before);
        before = life;
        ow_learn_filters_destroy(&moved);
    }
    // Quantiles rise with the share and with what has been survived; survival falls.
    assert_true(ow_learn_filter_quantile(model, 0, 0, 0, 0.1, 0) <
                ow_learn_filter_quantile(model, 0, 0, 0, 0.2, 0));
    assert_true(ow_learn_filter_quantile(model, 0, 0, 0, 0.5, 9e6) >
                ow_learn_filter_quantile(model, 0, 0, 0, 0.5, 0));
    assert_true(ow_learn_filter_survives(model, 0, 0, 0, 1e6) >
                ow_learn_filter_survives(model, 0, 0, 0, 2e6));
    assert_close(ow_learn_filter_survives(model, 0, 0, 0, a.low), 0.95, 1e-6);
    assert_close(ow_learn_filter_survives(model, 0, 0, 0, 0.0), 1.0, 0.0);
    ow_learn_filters_destroy(&model);
}

static void test_odd_logs(void **state) {
    (void)state;
    const double values[] = {0.0, -5.0, NAN, INFINITY, 1e-300, 1e300, 1.0, 1e9};
    OwLearnLife lives[64];
    const OwLearnPlace places[2] = {{.study = NAN}, {.study = -1.0}};
    for (int i = 0; i < 64; i++) {
        lives[i] = (OwLearnLife){.place = i % 2,
                                 .is_running = i % 3 == 0,
                                 .life = values[i % 8],
                                 .solids_kg_kg = values[(i / 8) % 8],
                                 .oil_k = values[(i / 3) % 8]};
    }
    for (int count = 0; count <= 64; count++) {
        OwLearnFilters *model = learn(places, 2, lives, count);
        (void)ask(model, 0);
        OwLearnedFilter l;
        assert_int_equal(ow_learn_filter(model, 1, values[count % 8], values[(count / 8) % 8], &l), OW_OK);
        assert_true(isfinite(l.life) && isfinite(l.low) && isfinite(l.high) && l.low <= l.high);
        assert_int_equal(ow_learn_filters_skipped(model), count / 8 * 4 + (count % 8 < 4 ? count % 8 : 4));
        assert_true(isfinite(ow_learn_filter_quantile(model, 0, 0, 0, NAN, NAN)));
        ow_learn_filters_destroy(&model);
    }
    // The same life a hundred times: no scatter seen, and still one is allowed for.
    OwLearnLife same[100];
    for (int i = 0; i < 100; i++) {
        same[i] = (OwLearnLife){.life = 5e6};
    }
    OwLearnFilters *model = learn(places, 1, same, 100);
    const OwLearnedFilter l = ask(model, 0);
    assert_close(l.life, 5e6, 0.01 * 5e6);
    assert_between(l.high / l.low, 1.0001, 1.5);
    ow_learn_filters_destroy(&model);
    OwLearnFilters *none = NULL;
    same[3].place = 7;
    assert_int_equal(ow_learn_filters_create(places, 1, same, 100, NULL, &none), OW_ERROR_VALUE);
    assert_null(none);
    assert_int_equal(ow_learn_filters_create(places, 0, NULL, 0, NULL, &none), OW_ERROR_VALUE);
    ow_learn_filters_destroy(&none);
    ow_learn_filters_destroy(NULL);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_calibration),
        cmocka_unit_test(test_coverage_of_one_truth),
        cmocka_unit_test(test_no_log_is_the_study),
        cmocka_unit_test(test_much_log_is_the_log),
        cmocka_unit_test(test_running_filters_count),
        cmocka_unit_test(test_monotone),
        cmocka_unit_test(test_odd_logs),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
