// SPDX-License-Identifier: GPL-3.0-or-later
// Every rig in examples/: read without a fault, run to its end, and its heat and fuel books close.
#include <dirent.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

#include "oilwright/morning.h"

/// Largest gap of heat and of fuel, relative to what was turned over.
#define BOOKS 1e-6

static const char *folder;

static void close_books(const char *name) {
    char path[512];
    (void)snprintf(path, sizeof path, "%s/%s", folder, name);
    OwUnits *units = NULL;
    OwRig *rig = NULL;
    OwPlan *plan = NULL;
    OwRecord *record = NULL;
    OwFaults faults = {0};
    assert_int_equal(ow_units_create(&units), OW_OK);
    assert_int_equal(ow_rig_read_file(path, units, &rig, &faults), OW_OK);
    assert_int_equal(faults.count, 0);
    assert_int_equal(ow_plan_create(rig, &plan, &faults), OW_OK);
    assert_int_equal(ow_morning_run(plan, NULL, &record, &faults), OW_OK);
    const OwAudit *audit = &record->audit;
    print_message("%s: heat gap %.2g of %.4g MJ, fuel gap %.2g of %.4g L\n", name, audit->energy_gap,
                  (audit->heat_in_j + audit->loss_j) * 1e-6, audit->volume_gap, audit->burned_m3 * 1e3);
    assert_true(audit->heat_in_j > 0.0); // the books are not empty
    assert_true(audit->energy_gap <= BOOKS);
    assert_true(audit->volume_gap <= BOOKS);
    assert_string_equal(record->trouble, "");
    ow_record_destroy(&record);
    ow_plan_destroy(&plan);
    ow_rig_destroy(&rig);
    ow_units_destroy(&units);
    ow_faults_clear(&faults);
}

static void every_example_closes_its_books(void **state) {
    (void)state;
    DIR *dir = opendir(folder);
    assert_non_null(dir);
    int count = 0;
    for (const struct dirent *entry = readdir(dir); entry != NULL; entry = readdir(dir)) {
        const char *end = strrchr(entry->d_name, '.');
        if (end != NULL && strcmp(end, ".yaml") == 0) {
            close_books(entry->d_name);
            count++;
        }
    }
    closedir(dir);
    assert_true(count >= 4);
}

int main(int argc, char **argv) {
    if (argc < 2) {
        return 2;
    }
    folder = argv[1];
    const struct CMUnitTest tests[] = {cmocka_unit_test(every_example_closes_its_books)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
