// SPDX-License-Identifier: GPL-3.0-or-later
// `oilwright batch`: one batch through the yard, step by step, and the week that follows from it.
#include <langinfo.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "batch_cli.h"
#include "options.h"
#include "study.h"

static const char usage[] =
    "Usage: oilwright batch YARD [options]\n"
    "\n"
    "Walks one batch of collected oil through the steps of a yard file: hours, temperature, water, solids,\n"
    "litres left, kWh, waste. Says whether it comes out dry, clear in the coldest tank and clean, whether "
    "it\n"
    "is heated safely, and what to change if not.\n"
    "\n"
    "  --litres V          batch as it comes, litres or with a unit (\"40 US gal\")\n"
    "  --set KEY=VALUE     change any value: climate.humidity=90 %, \"first rest.for=3 days\"\n"
    "  --week              the week instead: bottleneck, hours, waste, cost a litre\n"
    "  --units metric|us   units of the output (metric)\n"
    "  --json              write all of it as JSON\n"
    "\n"
    "docs/yard-file.md lists every key (oilwright reference yard). Ends with 0; 1: a target or a limit is\n"
    "missed; 2: the call or the input is wrong; 3: output could not be written.\n";

enum { LITRES, SET, WEEK, UNITS, JSON, HELP, OPTION_COUNT };

static void set_litres(OwYard *yard, const char *text, OwUnits *units, OwFaults *faults) {
    char change[128], *end = NULL;
    (void)strtod(text, &end);
    // A bare number is litres.
    (void)snprintf(change, sizeof change, "week.batch=%.80s%s", text,
                   end != text && *end == '\0' ? " L" : "");
    (void)ow_yard_override(yard, change, units, faults);
}

static int read_yard(const char *path, const OwCliOption *options, OwUnits *units, OwYard **yard) {
    OwFaults faults = {0};
    const OwStatus status = ow_yard_read_file(path, units, yard, &faults);
    if (status == OW_OK) {
        for (int i = 0; i < options[SET].count; i++) {
            (void)ow_yard_override(*yard, options[SET].values[i], units, &faults);
        }
        if (ow_cli_value(&options[LITRES]) != NULL) {
            set_litres(*yard, ow_cli_value(&options[LITRES]), units, &faults);
        }
    }
    ow_cli_faults(&faults);
    const bool is_wrong = status != OW_OK || faults.errors > 0;
    if (status != OW_OK && faults.errors == 0) {
        fprintf(stderr, "oilwright batch: %s: %s\n", path, ow_status_text(status));
    }
    ow_faults_clear(&faults);
    return !is_wrong ? OW_CLI_GOOD : status == OW_ERROR_MEMORY ? OW_CLI_BROKEN : OW_CLI_USAGE;
}

static int answer(const OwYard *yard, OwDisplay display, bool is_json, bool is_week) {
    OwYardBatch *batch = NULL;
    OwYardWeek week;
    OwStatus status = ow_yard_batch_create(yard, display, &batch);
    if (status == OW_OK) {
        status = ow_yard_week(yard, batch, display, &week);
    }
    if (status != OW_OK) {
        fprintf(stderr, "oilwright batch: %s\n", ow_status_text(status));
        ow_yard_batch_destroy(&batch);
        return status == OW_ERROR_MEMORY ? OW_CLI_BROKEN : OW_CLI_USAGE;
    }
    const int code = ow_judge_fails(batch->grade) ? OW_CLI_FAILS : OW_CLI_GOOD;
    int written;
    if (is_json) {
        written = ow_study_json(ow_batch_json(yard, batch, &week), code);
    } else {
        const OwReport report = {.file = stdout, .is_ascii = strcmp(nl_langinfo(CODESET), "UTF-8") != 0};
        if (is_week) {
            ow_batch_week_text(&report, yard, batch, &week);
        } else {
            ow_batch_text(&report, yard, batch, &week);
        }
        written = ow_cli_finish(stdout, "the standard output");
        written = written != OW_CLI_GOOD ? written : code;
    }
    ow_yard_batch_destroy(&batch);
    return written;
}

int ow_cli_batch(int argc, char **argv) {
    OwCliOption options[OPTION_COUNT] = {
        [LITRES] = {.name = "--litres", .has_value = true, .most = 1},
        [SET] = {.name = "--set", .has_value = true, .most = OW_CLI_MAX_VALUES},
        [WEEK] = {.name = "--week"},
        [UNITS] = {.name = "--units", .has_value = true, .most = 1},
        [JSON] = {.name = "--json"},
        [HELP] = {.name = "--help"},
    };
    const char *path = NULL;
    int files = 0;
    OwDisplay display;
    int code = ow_cli_options("batch", argc, argv, options, OPTION_COUNT, &path, 1, &files);
    if (code != OW_CLI_GOOD) {
        return code;
    }
    if (options[HELP].count > 0) {
        fputs(usage, stdout);
        return ow_cli_finish(stdout, "the standard output");
    }
    if (files == 0) {
        fputs("oilwright batch: which yard file? See oilwright batch --help\n", stderr);
        return OW_CLI_USAGE;
    }
    if (!ow_cli_display("batch", ow_cli_value(&options[UNITS]), &display)) {
        return OW_CLI_USAGE;
    }
    OwUnits *units = NULL;
    if (ow_units_create(&units) != OW_OK) {
        fputs("oilwright: the unit tables of the system are missing (Debian package libudunits2-data)\n",
              stderr);
        return OW_CLI_BROKEN;
    }
    OwYard *yard = NULL;
    code = read_yard(path, options, units, &yard);
    if (code == OW_CLI_GOOD) {
        code = answer(yard, display, options[JSON].count > 0, options[WEEK].count > 0);
    }
    ow_yard_destroy(&yard);
    ow_units_destroy(&units);
    return code;
}
