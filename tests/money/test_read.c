// SPDX-License-Identifier: GPL-3.0-or-later
// Cost files: every form of value, every fault with its place and remedy, single changes, the reference,
// figures learned elsewhere.
#include "common.h"

static OwUnits *units;

static OwStatus read(const char *text, OwCostPlan *plan, OwFaults *faults) {
    return ow_cost_read_text(text, strlen(text), "cost.yaml", units, plan, faults);
}

/// Own figures for the three that are warned of.
#define OWN "fuel: {diesel price: 1.5 per L, diesel use: 8 L/100 km"
#define FAR "distance: {a year: 15000 km}\n"

static void values_in_any_form(void **state) {
    (void)state;
    static const struct {
        const char *text;
        OwCostInput input;
        OwCostSpread spread;
        double value, low, high;
    } rows[] = {
        {"fuel.diesel price=1.50 per L", OW_COST_DIESEL_PRICE, OW_COST_PLAIN, 1500, 1500, 1500},
        {"fuel.diesel price=1.50/L", OW_COST_DIESEL_PRICE, OW_COST_PLAIN, 1500, 1500, 1500},
        {"fuel.diesel price=3.785411784 per US gal", OW_COST_DIESEL_PRICE, OW_COST_PLAIN, 1000, 1000, 1000},
        {"fuel.diesel price=150 per 100 L", OW_COST_DIESEL_PRICE, OW_COST_PLAIN, 1500, 1500, 1500},
        {"fuel.diesel price=1.4 to 1.6 per L", OW_COST_DIESEL_PRICE, OW_COST_FLAT, 1500, 1400, 1600},
        {"fuel.diesel price=1.4 per L to 1.6 per L", OW_COST_DIESEL_PRICE, OW_COST_FLAT, 1500, 1400, 1600},
        {"fuel.diesel price=1.4 / 1.5 / 1.8 per L", OW_COST_DIESEL_PRICE, OW_COST_TRIANGLE, 1500, 1400, 1800},
        {"fuel.diesel price=1.5 / 1.5 / 1.5 per L", OW_COST_DIESEL_PRICE, OW_COST_PLAIN, 1500, 1500, 1500},
        {"fuel.duty=0", OW_COST_DUTY, OW_COST_PLAIN, 0, 0, 0},
        {"fuel.diesel use=8 L/100 km", OW_COST_DIESEL_USE, OW_COST_PLAIN, 8e-8, 8e-8, 8e-8},
        {"fuel.diesel use=12.5 km/L", OW_COST_DIESEL_USE, OW_COST_PLAIN, 8e-8, 8e-8, 8e-8},
        // 235.214583 / mpg = L/100 km (NIST SP 811, appendix B.8)
        {"fuel.diesel use=29.401823 US mpg", OW_COST_DIESEL_USE, OW_COST_PLAIN, 8e-8, 8e-8, 8e-8},
        {"fuel.diesel use=20 to 40 US mpg", OW_COST_DIESEL_USE, OW_COST_FLAT, 8.820546875e-8, 5.88036458e-8,
         11.76072917e-8},
        {"fuel.share on oil=90 %", OW_COST_OIL_SHARE, OW_COST_PLAIN, 0.9, 0.9, 0.9},
        {"distance.a year=10000 mi a year", OW_COST_DISTANCE, OW_COST_PLAIN, 1.609344e7, 1.609344e7,
         1.609344e7},
        {"collection.time=30 min", OW_COST_PICKUP_TIME, OW_COST_PLAIN, 1800, 1800, 1800},
        {"collection.oil price=-0.1 per L", OW_COST_OIL_PRICE, OW_COST_PLAIN, -100, -100, -100},
        {"collection.cost per distance=0.48 per mi", OW_COST_PICKUP_RATE, OW_COST_PLAIN, 0.48 / 1609.344,
         0.48 / 1609.344, 0.48 / 1609.344},
        {"yard.electricity=0.1 kWh/L", OW_COST_ENERGY, OW_COST_PLAIN, 3.6e8, 3.6e8, 3.6e8},
        {"yard.electricity price=0.36 per kWh", OW_COST_ENERGY_PRICE, OW_COST_PLAIN, 1e-7, 1e-7, 1e-7},
        {"yard.work=2 h per 100 L", OW_COST_YARD_TIME, OW_COST_PLAIN, 72000, 72000, 72000},
        {"yard.equipment life=8 years", OW_COST_EQUIPMENT_LIFE, OW_COST_PLAIN, 8, 8, 8},
        {"labour.rate=36 per h", OW_COST_HOUR, OW_COST_PLAIN, 0.01, 0.01, 0.01},
        {"finance.diesel price growth=-1 / 0 / 2 % a year", OW_COST_GROWTH, OW_COST_TRIANGLE, 0, -0.01, 0.02},
        {"vehicle.parts=1e3", OW_COST_PARTS, OW_COST_PLAIN, 1000, 1000, 1000},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        OwCostPlan plan;
        OwFaults faults = {0};
        ow_cost_default(&plan);
        if (ow_cost_set(&plan, rows[i].text, units, &faults) != OW_OK) {
            print_message("%s: %s; %s\n", rows[i].text, faults.items[0].message, faults.items[0].remedy);
        }
        assert_int_equal(faults.count, 0);
        const OwCostValue *v = &plan.inputs[rows[i].input];
        assert_int_equal(v->spread, rows[i].spread);
        assert_int_equal(v->origin, OW_COST_FROM_FILE);
        const double hair = 1e-7 * (fabs(rows[i].value) + fabs(rows[i].high));
        check_near(v->value, rows[i].value, hair);
        check_near(v->low, rows[i].low, hair);
        check_near(v->high, rows[i].high, hair);
    }
    static const char *const bells[] = {
        "fuel.diesel price=1.5 +- 0.075 per L", "fuel.diesel price=1.5 per L \xC2\xB1 5 %",
        "fuel.diesel price=1.5 per L +/- 0.075", "fuel.diesel price=1500 +- 75 per m3"};
    for (size_t i = 0; i < sizeof bells / sizeof bells[0]; i++) {
        OwCostPlan plan;
        OwFaults faults = {0};
        ow_cost_default(&plan);
        assert_int_equal(ow_cost_set(&plan, bells[i], units, &faults), OW_OK);
        const OwCostValue *v = &plan.inputs[OW_COST_DIESEL_PRICE];
        assert_int_equal(v->spread, OW_COST_BELL);
        check_near(v->value, 1500, 1e-9);
        check_near(v->error, 75, 1e-9);
    }
}

/// One text, one fault: code, line, column, words of the message and of the remedy.
static void faults_have_places(void **state) {
    (void)state;
    static const struct {
        const char *text;
        OwStatus status;
        int line, column;
        const char *message, *remedy;
    } rows[] = {
        {OWN "}\n" FAR "yard:\n  los: 5 %\n", OW_ERROR_VALUE, 4, 3, "unknown key \"los\"",
         "did you mean \"loss\"?"},
        {OWN "}\n" FAR "yrad: {}\n", OW_ERROR_VALUE, 3, 1, "unknown key \"yrad\"", "did you mean \"yard\"?"},
        {OWN "}\n" FAR "yard:\n  loss: 95 %\n", OW_ERROR_VALUE, 4, 9, "loss: \"95 %\" is out of range",
         "give 0 % to 90 %"},
        {OWN "}\n" FAR "yard: {loss: 5 %, loss: 6 %}\n", OW_ERROR_VALUE, 3, 19, "given twice", "keep one"},
        {OWN ", duty: 0.5}\n" FAR, OW_ERROR_UNIT, 1, 63, "does not say per what", "1.50 per L"},
        {OWN ", duty: 5 %}\n" FAR, OW_ERROR_UNIT, 1, 63, "is a share, not money", "per US gal"},
        {OWN ", duty: 0.5 per km}\n" FAR, OW_ERROR_UNIT, 1, 63, "wrong unit below the line", "per L"},
        {OWN ", duty: 0.6 to 0.5 per L}\n" FAR, OW_ERROR_VALUE, 1, 63, "does not rise", "low value first"},
        {OWN ", duty: 0.5 / 0.6 per L}\n" FAR, OW_ERROR_VALUE, 1, 63, "is no range", "low / likely / high"},
        {OWN ", duty: 0.5 +- -1 per L}\n" FAR, OW_ERROR_VALUE, 1, 63, "error below nought", "without a sign"},
        {OWN ", duty: }\n" FAR, OW_ERROR_VALUE, 1, 63, "duty: the value is missing", "leave the key out"},
        {OWN ", duty: [1, 2]}\n" FAR, OW_ERROR_VALUE, 1, 63, "duty wants one value", "on one line"},
        {OWN ", oil: rapesed}\n" FAR, OW_ERROR_VALUE, 1, 62, "no known oil", "rapeseed"},
        {"fuel: {diesel price: 1.5 per L, diesel use: 30 mpg}\n" FAR, OW_ERROR_UNIT, 1, 45, "which gallon",
         "US mpg"},
        {OWN "}\n" FAR "finance: {years: 2.5}\n", OW_ERROR_VALUE, 3, 18, "no number of years",
         "1 to 40 whole years"},
        {OWN "}\n" FAR "finance: {years: 80}\n", OW_ERROR_VALUE, 3, 18, "no number of years",
         "1 to 40 whole years"},
        {OWN "}\n" FAR "labour: {counted: maybe}\n", OW_ERROR_VALUE, 3, 19, "neither yes nor no",
         "yes or no"},
        {OWN "}\n" FAR "labour: 5\n", OW_ERROR_VALUE, 3, 9, "labour wants keys and values", "key: value"},
        {OWN "}\n" FAR "currency: \"\"\n", OW_ERROR_VALUE, 3, 11, "currency is empty", "write a name"},
        {"- a\n", OW_ERROR_VALUE, 1, 1, "a cost file wants keys and values", "key: value"},
        {"fuel: {diesel price: 1\n", OW_ERROR_SYNTAX, 2, 1, "", ""},
    };
    int bad = 0;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        OwCostPlan plan;
        OwFaults faults = {0};
        const OwStatus status = read(rows[i].text, &plan, &faults);
        bool is_good = status == rows[i].status && faults.count == 1 && faults.errors == 1;
        if (faults.count > 0) {
            const OwFault *f = &faults.items[0];
            is_good = is_good && f->status == rows[i].status && f->line == rows[i].line &&
                      f->column == rows[i].column && strstr(f->message, rows[i].message) != NULL &&
                      strstr(f->remedy, rows[i].remedy) != NULL;
        }
        if (!is_good) {
            print_message("row %zu: status %d, %zu faults\n", i, status, faults.count);
            for (size_t k = 0; k < faults.count; k++) {
                char line[1024];
                (void)ow_fault_format(&faults.items[k], line, sizeof line);
                print_message("  %s\n", line);
            }
        }
        bad += is_good ? 0 : 1;
        ow_faults_clear(&faults);
    }
    assert_int_equal(bad, 0);
}

static void all_faults_together(void **state) {
    (void)state;
    const char *text = "name: x\nfuel:\n  diesel price: cheap\n  diesel use: 8 L/100 km\n  oill: "
                       "soybean\nyard:\n  loss: 95 %\n"
                       "  work: 2 kWh per 100 L\n";
    OwCostPlan plan;
    OwFaults faults = {0};
    assert_int_equal(read(text, &plan, &faults), OW_ERROR_VALUE); // of the first found: the unknown key
    assert_int_equal(faults.count, 4);
    static const int lines[] = {3, 5, 7, 8};
    for (size_t i = 0; i < 4; i++) {
        assert_int_equal(faults.items[i].line, lines[i]);
        assert_string_equal(faults.items[i].file, "cost.yaml");
        assert_true(faults.items[i].remedy[0] != '\0');
    }
    assert_string_equal(faults.items[0].part, "fuel");
    assert_string_equal(faults.items[3].part, "yard");
    ow_faults_clear(&faults);
    // What cannot be read leaves the defaults.
    OwCostPlan fresh;
    ow_cost_default(&fresh);
    assert_string_equal(plan.name, fresh.name);
}

static void what_nobody_else_knows_is_warned_of(void **state) {
    (void)state;
    OwCostPlan plan;
    OwFaults faults = {0};
    assert_int_equal(read("name: bare\n", &plan, &faults), OW_OK);
    assert_int_equal(faults.count, 3);
    assert_int_equal(faults.errors, 0);
    assert_non_null(strstr(faults.items[0].message, "diesel price is not given: 1.50 per L is assumed"));
    ow_faults_clear(&faults);
    assert_int_equal(read(OWN "}\n" FAR, &plan, &faults), OW_OK);
    assert_int_equal(faults.count, 0);
    for (int i = 0; i < OW_COST_INPUTS; i++) {
        const bool is_own = i == OW_COST_DIESEL_PRICE || i == OW_COST_DIESEL_USE || i == OW_COST_DISTANCE;
        assert_int_equal(plan.inputs[i].origin, is_own ? OW_COST_FROM_FILE : OW_COST_FROM_DEFAULT);
    }
}

/// Soybean and diesel of Goering et al. 1982: 39.623 and 45.343 MJ/kg gross, .9138 and .840: by volume 0.951
/// gross, and less oxygen's share of it net. The oil module's net heats give 0.94 to 0.97 for plant oils.
static void oil_gives_the_energy_ratio(void **state) {
    (void)state;
    static const char *const oils[] = {"rapeseed", "soybean", "sunflower", "palm"};
    for (size_t i = 0; i < 4; i++) {
        char text[200];
        OwCostPlan plan;
        OwFaults faults = {0};
        (void)snprintf(text, sizeof text, OWN ", oil: %s}\n" FAR, oils[i]);
        assert_int_equal(read(text, &plan, &faults), OW_OK);
        const OwCostValue *v = &plan.inputs[OW_COST_ENERGY_RATIO];
        assert_int_equal(v->origin, OW_COST_FROM_OIL);
        check_near(v->value, 39.623 * 0.9138 / (45.343 * 0.840), 0.025);
        check_near(v->error, 0.015 * v->value, 1e-12);
        ow_faults_clear(&faults);
    }
    // What is written outweighs what is worked out, in either order.
    OwCostPlan plan;
    OwFaults faults = {0};
    assert_int_equal(read(OWN ", energy ratio: 0.9, oil: palm}\n" FAR, &plan, &faults), OW_OK);
    check_near(plan.inputs[OW_COST_ENERGY_RATIO].value, 0.9, 0.0);
    assert_int_equal(read(OWN ", oil: palm, energy ratio: 0.9}\n" FAR, &plan, &faults), OW_OK);
    check_near(plan.inputs[OW_COST_ENERGY_RATIO].value, 0.9, 0.0);
    assert_string_equal(plan.oil, "palm");
}

static void changes(void **state) {
    (void)state;
    OwCostPlan plan, before;
    OwFaults faults = {0};
    ow_cost_default(&plan);
    assert_int_equal(ow_cost_set(&plan, "finance.years=5 years", units, &faults), OW_OK);
    assert_int_equal(plan.years, 5);
    assert_int_equal(ow_cost_set(&plan, "labour.counted=no", units, &faults), OW_OK);
    assert_false(plan.counts_hours);
    assert_int_equal(ow_cost_set(&plan, "yard.plan=yard.yaml", units, &faults), OW_OK);
    assert_string_equal(plan.yard, "yard.yaml");
    before = plan;
    static const struct {
        const char *text, *message, *remedy;
    } bad[] = {
        {"years=5", "no key and value", "section.key=value"},
        {"finance.years", "no key and value", "section.key=value"},
        {"finance.yaers=5", "unknown key \"yaers\"", "did you mean \"years\"?"},
        {"finanze.years=5", "there is no section \"finanze\"", "did you mean \"finance\"?"},
        {"fuel.diesel price=free", "cannot be read here", "per L"},
        {"fuel.diesel price=", "value is missing", "write it"},
        {"fuel.oil=unobtainium", "no known oil", ""},
    };
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
        assert_true(ow_cost_set(&plan, bad[i].text, units, &faults) < OW_OK);
        assert_int_equal(faults.count, i + 1);
        assert_non_null(strstr(faults.items[i].message, bad[i].message));
        assert_non_null(strstr(faults.items[i].remedy, bad[i].remedy));
        assert_memory_equal(&plan, &before, sizeof plan);
    }
    ow_faults_clear(&faults);
    assert_int_equal(ow_cost_set(NULL, "a.b=c", units, &faults), OW_ERROR_USE);
    assert_int_equal(ow_cost_read_text(NULL, 4, "x", units, &plan, &faults), OW_ERROR_USE);
    assert_int_equal(ow_cost_read_file("/no/such/file", units, &plan, &faults), OW_ERROR_READ);
    ow_faults_clear(&faults);
}

static void learned_figures(void **state) {
    (void)state;
    OwCostPlan plan;
    OwFaults faults = {0};
    ow_cost_default(&plan);
    OwCostLearned learned = {
        .has = {[OW_COST_LOSS] = true, [OW_COST_DISTANCE] = true, [OW_COST_ENERGY] = true}};
    learned.value[OW_COST_LOSS] = 0.12;
    learned.error[OW_COST_LOSS] = 0.01;
    learned.value[OW_COST_DISTANCE] = 1.2e7;
    learned.value[OW_COST_ENERGY] = NAN;
    assert_int_equal(ow_cost_learn(&plan, &learned, OW_COST_FROM_LOG, &faults), 2);
    assert_int_equal(plan.inputs[OW_COST_LOSS].spread, OW_COST_BELL);
    assert_int_equal(plan.inputs[OW_COST_LOSS].origin, OW_COST_FROM_LOG);
    assert_int_equal(plan.inputs[OW_COST_DISTANCE].spread, OW_COST_PLAIN);
    assert_int_equal(plan.inputs[OW_COST_ENERGY].origin, OW_COST_FROM_DEFAULT);
    assert_int_equal(faults.count, 1);
    assert_int_equal(faults.errors, 0);
    assert_string_equal(faults.items[0].file, "logbook");
    assert_non_null(strstr(faults.items[0].message, "left out"));
    ow_faults_clear(&faults);
}

static void reference_names_every_key(void **state) {
    (void)state;
    char *text = NULL;
    size_t size = 0;
    FILE *out = open_memstream(&text, &size);
    assert_non_null(out);
    assert_int_equal(ow_cost_write_reference(out), OW_OK);
    assert_int_equal(fclose(out), 0);
    for (int i = 0; i < OW_COST_INPUTS; i++) {
        char row[80];
        (void)snprintf(row, sizeof row, "\n| %s | ", strchr(ow_cost_key((OwCostInput)i), '.') + 1);
        assert_non_null(strstr(text, row));
        assert_true(strlen(ow_cost_label((OwCostInput)i)) <= 22); // a column of the report
        double least, most;
        ow_cost_limits((OwCostInput)i, &least, &most);
        assert_true(strlen(ow_cost_doc((OwCostInput)i)) > 5 && least < most);
    }
    free(text);
    assert_int_equal(ow_cost_write_reference(NULL), OW_ERROR_USE);
    assert_null(ow_cost_key(OW_COST_INPUTS));
}

/// Every default and every end of a legal range is written so that reading gives it back, in both displays.
static void what_is_written_reads_back(void **state) {
    (void)state;
    for (int i = 0; i < OW_COST_INPUTS; i++) {
        OwCostPlan plan;
        ow_cost_default(&plan);
        for (int d = 0; d < 2; d++) {
            char value[64], text[160];
            const double si = plan.inputs[i].value;
            ow_cost_write((OwCostInput)i, si, d == 0 ? OW_DISPLAY_METRIC : OW_DISPLAY_US, value,
                          sizeof value);
            (void)snprintf(text, sizeof text, "%s=%s", ow_cost_key((OwCostInput)i), value);
            OwCostPlan read_back = plan;
            OwFaults faults = {0};
            if (ow_cost_set(&read_back, text, units, &faults) != OW_OK) {
                print_message("%s: %s\n", text, faults.items[0].message);
            }
            assert_int_equal(faults.count, 0);
            check_near(read_back.inputs[i].value, si, 0.07 * fabs(si)); // as rounded for people
        }
    }
}

static int set_up(void **state) {
    (void)state;
    return ow_units_create(&units) == OW_OK ? 0 : -1;
}

static int tear_down(void **state) {
    (void)state;
    ow_units_destroy(&units);
    return 0;
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(values_in_any_form),
        cmocka_unit_test(faults_have_places),
        cmocka_unit_test(all_faults_together),
        cmocka_unit_test(what_nobody_else_knows_is_warned_of),
        cmocka_unit_test(oil_gives_the_energy_ratio),
        cmocka_unit_test(changes),
        cmocka_unit_test(learned_figures),
        cmocka_unit_test(reference_names_every_key),
        cmocka_unit_test(what_is_written_reads_back),
    };
    return cmocka_run_group_tests(tests, set_up, tear_down);
}
