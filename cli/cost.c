// SPDX-License-Identifier: GPL-3.0-or-later
// `oilwright cost`: what a litre and a kilometre on oil cost against diesel, and whether it pays back.
#include <langinfo.h>
#include <stdlib.h>
#include <string.h>

#include "cost_cli.h"
#include "options.h"

static const char usage[] =
    "Usage: oilwright cost FILE [options]\n"
    "\n"
    "What a litre and a kilometre on oil cost against diesel with every hidden cost, whether the conversion "
    "pays\n"
    "back, how sure that is, and which figure moves it most. FILE is a cost file: docs/cost-file.md, or\n"
    "oilwright reference cost. Results with and without your own hours stand side by side.\n"
    "\n"
    "  --log LOGBOOK       take what the logbook has learned over the file's figures\n"
    "  --from DATE         of the logbook, from this day on (2026-01-31)\n"
    "  --to DATE           and before this one\n"
    "  --vehicle NAME      of the logbook, this vehicle only\n"
    "  --yard YARD         take electricity, work, filters, waste and loss from a yard file\n"
    "  --set KEY=VALUE     change any value of the file; may be given more than once\n"
    "  --samples N         how many samples of the ranges, 64 to 65536 (8192)\n"
    "  --units metric|us   units of the output (metric)\n"
    "  --json              write all of it as JSON\n"
    "  --csv FILE          write the lines as CSV; - is the standard output\n"
    "\n"
    "Ends with 0: it pays over the years on likely figures; 1: it does not; 2: the call or the input is "
    "wrong;\n"
    "3: output could not be written.\n";

enum {
    COST_LOG,
    COST_FROM,
    COST_TO,
    COST_VEHICLE,
    COST_YARD,
    COST_SET,
    COST_SAMPLES,
    COST_UNITS,
    COST_JSON,
    COST_CSV,
    COST_HELP,
    COST_OPTIONS
};

typedef struct Call {
    OwCliOption options[COST_OPTIONS];
    const char *file;
    OwDisplay display;
    int samples;
} Call;

static bool read_samples(const char *text, int *samples) {
    char *end = NULL;
    const long n = text != NULL ? strtol(text, &end, 10) : OW_COST_SAMPLES;
    if (text != NULL && (*end != '\0' || n < OW_COST_LEAST_SAMPLES || n > OW_COST_MOST_SAMPLES)) {
        fprintf(stderr, "oilwright cost: --samples is a whole number from %d to %d, not \"%s\"\n",
                OW_COST_LEAST_SAMPLES, OW_COST_MOST_SAMPLES, text);
        return false;
    }
    *samples = (int)n;
    return true;
}

/// True when the verb goes on; else *code is its exit code.
static bool read_call(Call *call, int argc, char **argv, int *code) {
    OwCliOption *o = call->options;
    int files = 0;
    *code = ow_cli_options("cost", argc, argv, o, COST_OPTIONS, &call->file, 1, &files);
    if (*code != OW_CLI_GOOD) {
        return false;
    }
    if (o[COST_HELP].count > 0) {
        fputs(usage, stdout);
        *code = ow_cli_finish(stdout, "the standard output");
        return false;
    }
    *code = OW_CLI_USAGE;
    if (files == 0) {
        fputs("oilwright cost: which cost file? See oilwright cost --help\n", stderr);
        return false;
    }
    const char *csv = ow_cli_value(&o[COST_CSV]);
    if (o[COST_JSON].count > 0 && csv != NULL && strcmp(csv, "-") == 0) {
        fputs("oilwright cost: --json and --csv - both want the standard output\n", stderr);
        return false;
    }
    if (o[COST_LOG].count == 0 &&
        (o[COST_FROM].count > 0 || o[COST_TO].count > 0 || o[COST_VEHICLE].count > 0)) {
        fputs("oilwright cost: --from, --to and --vehicle choose from a logbook: give --log too\n", stderr);
        return false;
    }
    for (int i = 0; i < o[COST_SET].count; i++) {
        if (strncmp(o[COST_SET].values[i], "yard.plan=", 10) == 0) {
            fputs("oilwright cost: a yard plan is named with --yard FILE, not with --set\n", stderr);
            return false;
        }
    }
    return ow_cli_display("cost", ow_cli_value(&o[COST_UNITS]), &call->display) &&
           read_samples(ow_cli_value(&o[COST_SAMPLES]), &call->samples);
}

/// The file, then yard plan, then logbook, then --set: the later outweighs the earlier.
static OwStatus read_plan(const Call *call, OwUnits *units, OwCostPlan *plan, OwCostTaken *taken,
                          OwFaults *faults) {
    const OwCliOption *o = call->options;
    OwStatus status = ow_cost_read_file(call->file, units, plan, faults);
    const char *yard = ow_cli_value(&o[COST_YARD]), *beside = NULL;
    if (status == OW_OK && yard == NULL && plan->yard[0] != '\0') {
        yard = plan->yard;
        beside = call->file;
    }
    if (status == OW_OK && yard != NULL) {
        status = ow_cost_take_yard(plan, yard, beside, units, taken, faults);
    }
    if (status == OW_OK && o[COST_LOG].count > 0) {
        status = ow_cost_take_log(plan, ow_cli_value(&o[COST_LOG]), ow_cli_value(&o[COST_FROM]),
                                  ow_cli_value(&o[COST_TO]), ow_cli_value(&o[COST_VEHICLE]), taken, faults);
    }
    for (int i = 0;
         i < o[COST_SET].count && (status == OW_OK || status == OW_ERROR_VALUE || status == OW_ERROR_UNIT);
         i++) {
        const OwStatus one = ow_cost_set(plan, o[COST_SET].values[i], units, faults);
        status = status == OW_OK ? one : status;
    }
    return status == OW_OK && faults->errors > 0 ? OW_ERROR_VALUE : status;
}

static int write_csv(const char *path, const OwCostAnswer *answer, OwDisplay display) {
    if (strcmp(path, "-") == 0) {
        ow_cost_csv(stdout, answer, display);
        return ow_cli_finish(stdout, "the standard output");
    }
    FILE *file = fopen(path, "w");
    if (file == NULL) {
        fprintf(stderr, "oilwright cost: %s cannot be written\n", path);
        return OW_CLI_BROKEN;
    }
    ow_cost_csv(file, answer, display);
    int code = ow_cli_finish(file, path);
    if (fclose(file) != 0 && code == OW_CLI_GOOD) {
        fprintf(stderr, "oilwright cost: %s cannot be written\n", path);
        code = OW_CLI_BROKEN;
    }
    return code;
}

static int write_out(const Call *call, const OwCostPlan *plan, const OwCostAnswer *answer,
                     const OwCostStudy *study, const OwCostTaken *taken) {
    const char *csv = ow_cli_value(&call->options[COST_CSV]);
    int code = csv != NULL ? write_csv(csv, answer, call->display) : OW_CLI_GOOD;
    if (call->options[COST_JSON].count > 0) {
        json_t *root = ow_cost_json_make(plan, answer, study, taken);
        if (root == NULL) {
            fputs("oilwright: out of memory while writing JSON\n", stderr);
            return OW_CLI_BROKEN;
        }
        (void)json_dumpf(root, stdout, JSON_INDENT(2) | JSON_REAL_PRECISION(9));
        fputc('\n', stdout);
        json_decref(root);
    } else if (csv == NULL || strcmp(csv, "-") != 0) {
        ow_cost_report(stdout, plan, answer, study, taken, call->display,
                       strcmp(nl_langinfo(CODESET), "UTF-8") != 0);
    }
    const int written = ow_cli_finish(stdout, "the standard output");
    return code == OW_CLI_GOOD ? written : code;
}

int ow_cli_cost(int argc, char **argv) {
    Call call = {.options = {
                     [COST_LOG] = {.name = "--log", .has_value = true, .most = 1},
                     [COST_FROM] = {.name = "--from", .has_value = true, .most = 1},
                     [COST_TO] = {.name = "--to", .has_value = true, .most = 1},
                     [COST_VEHICLE] = {.name = "--vehicle", .has_value = true, .most = 1},
                     [COST_YARD] = {.name = "--yard", .has_value = true, .most = 1},
                     [COST_SET] = {.name = "--set", .has_value = true, .most = OW_CLI_MAX_VALUES},
                     [COST_SAMPLES] = {.name = "--samples", .has_value = true, .most = 1},
                     [COST_UNITS] = {.name = "--units", .has_value = true, .most = 1},
                     [COST_JSON] = {.name = "--json"},
                     [COST_CSV] = {.name = "--csv", .has_value = true, .most = 1},
                     [COST_HELP] = {.name = "--help"},
                 }};
    int code = OW_CLI_USAGE;
    if (!read_call(&call, argc, argv, &code)) {
        return code;
    }
    OwUnits *units = NULL;
    if (ow_units_create(&units) != OW_OK) {
        fputs("oilwright: the unit tables of the system are missing (Debian package libudunits2-data)\n",
              stderr);
        return OW_CLI_BROKEN;
    }
    OwCostPlan plan;
    OwCostTaken taken = {.log = ""};
    OwFaults faults = {0};
    OwCostAnswer answer;
    OwCostStudy *study = malloc(sizeof *study);
    OwStatus status = study == NULL ? OW_ERROR_MEMORY : read_plan(&call, units, &plan, &taken, &faults);
    ow_cli_faults(&faults);
    if (status == OW_OK) {
        ow_cost_answer(&plan, call.display, &answer);
        status = ow_cost_study(&plan, call.samples, study);
    }
    if (status != OW_OK) {
        if (faults.errors == 0) {
            fprintf(stderr, "oilwright cost: %s\n", ow_status_text(status));
        }
        code = status == OW_ERROR_MEMORY ? OW_CLI_BROKEN : OW_CLI_USAGE;
    } else {
        code = write_out(&call, &plan, &answer, study, &taken);
        code = code == OW_CLI_GOOD && !answer.pays[plan.counts_hours ? 1 : 0] ? OW_CLI_FAILS : code;
    }
    free(study);
    ow_faults_clear(&faults);
    ow_units_destroy(&units);
    return code;
}
