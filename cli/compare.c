// SPDX-License-Identifier: GPL-3.0-or-later
// `oilwright compare`: several rigs on the same morning, side by side.
#include <langinfo.h>
#include <stdlib.h>
#include <string.h>

#include "compare_report.h"
#include "options.h"

static const char usage[] =
    "Usage: oilwright compare RIG RIG... [options]\n"
    "\n"
    "Simulates the same morning for two to eight rigs and sets their answers side by side: which is better "
    "in\n"
    "what, and where they tie.\n"
    "\n"
    "  --units metric|us   units of the output (metric)\n"
    "  --soak T, --oil OIL, --drive nedc|legs, --until TIME, --set KEY=VALUE\n"
    "                      as for oilwright morning, put into every rig alike; without --drive each drives\n"
    "                      the legs of its own file\n"
    "  --json              write all as JSON\n"
    "\n"
    "Ends with 0: at least one rig keeps every limit; 1: none does; 2: the call or the input is wrong; 3: "
    "output\n"
    "could not be written, or a run could not be ended.\n";

enum { UNITS, SOAK, OIL, DRIVE, UNTIL, SET, JSON, HELP, OPTION_COUNT };

typedef struct OwDesign {
    OwRig *rig;
    OwPlan *plan;
    OwRecord *record;
    OwJudgement *judgement;
} OwDesign;

static int run_one(const OwCliOption *options, const char *path, OwUnits *units, OwDisplay display,
                   OwDesign *design) {
    const OwAsked asked = {.soak = ow_cli_value(&options[SOAK]),
                           .oil = ow_cli_value(&options[OIL]),
                           .drive = ow_cli_value(&options[DRIVE]),
                           .until = ow_cli_value(&options[UNTIL]),
                           .set = options[SET].values,
                           .set_count = options[SET].count};
    OwMorningSettings settings = ow_morning_default();
    OwFaults faults = {0};
    const int code = ow_cli_rig("compare", path, &asked, &settings, units, &design->rig);
    if (code != OW_CLI_GOOD) {
        return code;
    }
    OwStatus status = ow_plan_create(design->rig, &design->plan, &faults);
    if (status == OW_OK) {
        status = ow_morning_run(design->plan, &settings, &design->record, &faults);
    }
    if (design->record != NULL) { // what was reached is judged, and the judgement says what went wrong
        status = ow_judge_create(design->record, display, &design->judgement);
    }
    ow_faults_clear(&faults);
    if (status != OW_OK) {
        fprintf(stderr, "oilwright compare: %s: %s\n", path, ow_status_text(status));
        return OW_CLI_BROKEN;
    }
    return OW_CLI_GOOD;
}

static int write_all(const OwCliOption *options, const OwDesign *designs, int count, OwDisplay display) {
    const OwJudgement *judgements[OW_COMPARE_MAX];
    OwComparison *comparison = NULL;
    for (int i = 0; i < count; i++) {
        judgements[i] = designs[i].judgement;
    }
    if (ow_compare_create(judgements, count, &comparison) != OW_OK) {
        fputs("oilwright compare: out of memory\n", stderr);
        return OW_CLI_BROKEN;
    }
    int code = OW_CLI_FAILS;
    for (int i = 0; i < count; i++) {
        const OwGrade grade = judgements[i]->grade;
        code = !ow_judge_fails(grade) && grade != OW_GRADE_UNKNOWN ? OW_CLI_GOOD : code;
    }
    if (options[JSON].count > 0) {
        code = ow_compare_json(stdout, comparison) == OW_OK ? code : OW_CLI_BROKEN;
    } else {
        ow_compare_report(stdout, comparison, display, strcmp(nl_langinfo(CODESET), "UTF-8") != 0);
    }
    const int written = ow_cli_finish(stdout, "the standard output");
    ow_compare_destroy(&comparison);
    return written != OW_CLI_GOOD ? written : code;
}

int ow_cli_compare(int argc, char **argv) {
    OwCliOption options[OPTION_COUNT] = {
        [UNITS] = {.name = "--units", .has_value = true, .most = 1},
        [SOAK] = {.name = "--soak", .has_value = true, .most = 1},
        [OIL] = {.name = "--oil", .has_value = true, .most = 1},
        [DRIVE] = {.name = "--drive", .has_value = true, .most = 1},
        [UNTIL] = {.name = "--until", .has_value = true, .most = 1},
        [SET] = {.name = "--set", .has_value = true, .most = OW_CLI_MAX_VALUES},
        [JSON] = {.name = "--json"},
        [HELP] = {.name = "--help"},
    };
    const char *files[OW_COMPARE_MAX];
    OwDesign designs[OW_COMPARE_MAX] = {{0}};
    OwDisplay display = OW_DISPLAY_METRIC;
    OwUnits *units = NULL;
    int count = 0;
    int code = ow_cli_options("compare", argc, argv, options, OPTION_COUNT, files, OW_COMPARE_MAX, &count);
    if (code != OW_CLI_GOOD || !ow_cli_display("compare", ow_cli_value(&options[UNITS]), &display)) {
        return OW_CLI_USAGE;
    }
    if (options[HELP].count > 0) {
        fputs(usage, stdout);
        return ow_cli_finish(stdout, "the standard output");
    }
    if (count < 2) {
        fputs("oilwright compare: which rig files? Two at least; see oilwright compare --help\n", stderr);
        return OW_CLI_USAGE;
    }
    if (ow_units_create(&units) != OW_OK) {
        fputs("oilwright: the unit tables of the system are missing (Debian package libudunits2-data)\n",
              stderr);
        return OW_CLI_BROKEN;
    }
    for (int i = 0; i < count; i++) { // all are read even after a fault, so that every fault is told
        const int one = run_one(options, files[i], units, display, &designs[i]);
        code = one > code ? one : code;
    }
    if (code == OW_CLI_GOOD) {
        code = write_all(options, designs, count, display);
    }
    for (int i = 0; i < count; i++) {
        ow_judge_destroy(&designs[i].judgement);
        ow_record_destroy(&designs[i].record);
        ow_plan_destroy(&designs[i].plan);
        ow_rig_destroy(&designs[i].rig);
    }
    ow_units_destroy(&units);
    return code;
}
