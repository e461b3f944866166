// SPDX-License-Identifier: GPL-3.0-or-later
// Random cost files, written as people write them: what is legal reads, answers and samples without a number
// that is none, and the answer keeps its own rules.
#include "common.h"
#include "money/money_impl.h"

enum { FILES = 1500, STUDIES = 60 };

static double between(uint64_t *random, double low, double high) {
    return low + (high - low) * random_share(random);
}

/// Legal, from narrow to the ends of the range; the decades alike.
static double legal(uint64_t *random, const OwCostRow *row) {
    if (row->least > 0.0 && row->most > 50.0 * row->least) {
        return row->least * pow(row->most / row->least, random_share(random));
    }
    return random_share(random) < 0.5 ? between(random, row->low, row->high)
                                      : between(random, row->least, row->most);
}

static void write_value(uint64_t *random, int input, char *out, size_t size) {
    const OwCostRow *row = &ow_cost_rows[input];
    const OwDisplay display = random_share(random) < 0.5 ? OW_DISPLAY_METRIC : OW_DISPLAY_US;
    double v[3] = {legal(random, row), legal(random, row), legal(random, row)};
    for (int i = 0; i < 2; i++) {
        for (int k = 0; k < 2; k++) {
            if (v[k] > v[k + 1]) {
                const double kept = v[k];
                v[k] = v[k + 1];
                v[k + 1] = kept;
            }
        }
    }
    char text[3][64];
    for (int i = 0; i < 3; i++) {
        ow_cost_write((OwCostInput)input, v[i], display, text[i], sizeof text[i]);
    }
    const double form = random_share(random);
    if (form < 0.25) {
        (void)snprintf(out, size, "%s", text[1]);
    } else if (form < 0.5) {
        (void)snprintf(out, size, "%s to %s", text[0], text[2]);
    } else if (form < 0.75) {
        (void)snprintf(out, size, "%s / %s / %s", text[0], text[1], text[2]);
    } else {
        const bool is_share = row->kind == OW_KIND_SHARE || row->kind == OW_KIND_SHARE_YEAR;
        (void)snprintf(out, size, "%s +- %s", text[1], is_share ? "1.5 %" : "15 %");
    }
}

static size_t write_file(uint64_t *random, char *text, size_t size) {
    static const char *const sections[] = {"fuel",    "distance", "collection", "yard",
                                           "vehicle", "labour",   "finance"};
    size_t used = (size_t)snprintf(text, size, "name: random\n");
    for (size_t s = 0; s < sizeof sections / sizeof sections[0]; s++) {
        bool is_open = false;
        for (int i = 0; i < OW_COST_INPUTS; i++) {
            const size_t n = strlen(sections[s]);
            if (strncmp(ow_cost_rows[i].path, sections[s], n) != 0 || ow_cost_rows[i].path[n] != '.' ||
                random_share(random) < 0.3) {
                continue;
            }
            char value[256];
            write_value(random, i, value, sizeof value);
            used += (size_t)snprintf(text + used, size - used, "%s%s%s  %s: %s\n", is_open ? "" : sections[s],
                                     is_open ? "" : ":", is_open ? "" : "\n", ow_cost_rows[i].path + n + 1,
                                     value);
            is_open = true;
        }
    }
    return used;
}

static void check_answer(const OwCostPlan *plan, const OwCostAnswer *a) {
    const OwCostReckoning *r = &a->likely;
    assert_true(a->verdict[0] >= 'A' && a->verdict[0] <= 'Z' && strlen(a->verdict) < OW_COST_TEXT - 1);
    assert_null(strstr(a->verdict, "nan"));
    assert_null(strstr(a->verdict, "inf"));
    for (int s = 0; s < 2; s++) {
        assert_true(isfinite(r->side[s].npv) && isfinite(r->side[s].cost_year) &&
                    isfinite(r->side[s].saving_year));
        for (int t = 0; t <= plan->years; t++) {
            assert_true(isfinite(r->side[s].flows[t]));
        }
    }
    double sum = 0.0;
    for (int i = 0; i < OW_COST_LINES; i++) {
        sum += r->line[i];
    }
    assert_true(sum == r->side[1].cost_year);
    // At the break-even prices the worth is nought, within what bisection leaves.
    const int side = plan->counts_hours ? 1 : 0;
    double values[OW_COST_INPUTS];
    OwCostReckoning at;
    if (a->has_diesel_price) {
        double step[2];
        for (int k = 0; k < 2; k++) {
            ow_cost_likely(plan, values);
            values[OW_COST_DIESEL_PRICE] = a->diesel_price * (k == 0 ? 1.0 - 1e-9 : 1.0 + 1e-9);
            ow_cost_reckon(plan, values, &at);
            step[k] = at.side[side].npv;
        }
        assert_true(step[0] * step[1] <= 0.0 || fabs(step[0]) < 1e-6 * (1.0 + fabs(r->side[side].npv)));
    }
}

static void random_files(void **state) {
    (void)state;
    OwUnits *units = NULL;
    assert_int_equal(ow_units_create(&units), OW_OK);
    uint64_t random = 2024;
    static OwCostStudy study;
    static char text[16384];
    for (int n = 0; n < FILES; n++) {
        OwCostPlan plan;
        OwFaults faults = {0};
        const size_t size = write_file(&random, text, sizeof text);
        if (ow_cost_read_text(text, size, "random", units, &plan, &faults) != OW_OK) {
            // Rounding for people may step over an end of the range; nothing else may be wrong.
            for (size_t i = 0; i < faults.count; i++) {
                const bool is_end = strstr(faults.items[i].message, "out of range") != NULL ||
                                    strstr(faults.items[i].message, "does not rise") != NULL ||
                                    faults.items[i].severity == OW_FAULT_WARNING;
                if (!is_end) {
                    print_message("%s\n%s\n", text, faults.items[i].message);
                }
                assert_true(is_end);
            }
            ow_faults_clear(&faults);
            continue;
        }
        ow_faults_clear(&faults);
        OwCostAnswer answer;
        ow_cost_answer(&plan, n % 2 == 0 ? OW_DISPLAY_METRIC : OW_DISPLAY_US, &answer);
        check_answer(&plan, &answer);
        if (n % (FILES / STUDIES) == 0) {
            assert_int_equal(ow_cost_study(&plan, 128, &study), OW_OK);
            for (int s = 0; s < 2; s++) {
                assert_true(study.chance[s] >= 0.0 && study.chance[s] <= 1.0);
                for (int k = 0; k < OW_COST_RESULTS; k++) {
                    for (int p = 0; p < 3; p++) {
                        assert_true(isfinite(study.band[s][k].point[p]) &&
                                    isfinite(study.band[s][k].error[p]));
                    }
                }
            }
            for (int i = 0; i < study.influence_count; i++) {
                assert_true(isfinite(study.influence[i].first) && isfinite(study.influence[i].total));
            }
        }
    }
    ow_units_destroy(&units);
}

int main(void) {
    const struct CMUnitTest tests[] = {cmocka_unit_test(random_files)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
