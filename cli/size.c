// SPDX-License-Identifier: GPL-3.0-or-later
// `oilwright size`: which stock sizes meet a target, what they cost, and which limit binds.
#include <langinfo.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "base/text.h"
#include "options.h"
#include "progress.h"
#include "size_report.h"

static const char usage[] =
    "Usage: oilwright size RIG --for TARGET [options]\n"
    "\n"
    "Finds the stock sizes that meet a target on a cold morning, at the least cost or with the least "
    "change.\n"
    "\n"
    "  --for TARGET        \"ready in 90 s at -10 degC\", \"starts at -15 degC\", \"no air at -15 degC\", "
    "\"full power\n"
    "                      within 5 min\", \"at most 40 A\", \"all limits at -5 degC\"; join them with "
    "\"and\"\n"
    "  --vary WHAT         what may change, up to six times: \"supply hose.bore\", \"boost chamber.power\",\n"
    "                      \"boost chamber/boost plug 1.power\", \"boost chamber.metal mass\", \"supply\n"
    "                      hose.insulation thickness\", \"boost chamber.insulation\", \"rear pump.class\", "
    "\"rear\n"
    "                      pump.stall pressure\", \"large filter.area\", \"filter coil.conductance\", \"loop "
    "point\",\n"
    "                      \"oil.blend=diesel\"; without it, what acts on the target\n"
    "  --by cost|change    least cost (default), or fewest changes and steps\n"
    "  --point PRICE       what one relative cost point is worth where the rig file gives prices (1)\n"
    "  --progress-fd N     writes the share done, a line a per cent, on this open descriptor\n"
    "  --no-front          without the trade-off of time, current and cost\n"
    "  --units metric|us   units of the output (metric)\n"
    "  --oil OIL, --drive nedc|legs, --set KEY=VALUE   as for oilwright morning\n"
    "  --json              write all as JSON\n"
    "  --quiet             only the answer and the changes\n"
    "\n"
    "Ends with 0: the target can be met; 1: it cannot, and the closest is shown; 2: the call or the input "
    "is\n"
    "wrong; 3: output could not be written, or memory ran out.\n";

enum { FOR, VARY, BY, POINT, UNITS, OIL, DRIVE, SET, NO_FRONT, PROGRESS, JSON, QUIET, HELP, OPTION_COUNT };

static bool show_progress(void *context, double share) {
    int *shown = context;
    const int percent = (int)(share * 100.0);
    if (percent >= *shown + 5) {
        *shown = percent;
        fprintf(stderr, "\r%3d %% of the combinations", percent);
        fflush(stderr);
    }
    return true;
}

static int run(const OwCliOption *options, const char *path, OwUnits *units, OwDisplay display) {
    OwSizeGoal goals[OW_SIZE_MAX_GOALS];
    OwFaults faults = {0};
    OwRig *rig = NULL;
    OwSizing *sizing = NULL;
    int goal_count = 0, shown = 0;
    OwSizeSettings settings = ow_size_default();
    for (int i = 0; i < options[FOR].count; i++) {
        (void)ow_size_goals_read(options[FOR].values[i], units, goals, &goal_count, &faults);
    }
    const char *by = ow_cli_value(&options[BY]), *point = ow_cli_value(&options[POINT]);
    if (by != NULL && strcmp(by, "cost") != 0 && strcmp(by, "change") != 0) {
        fprintf(stderr, "oilwright size: --by is cost or change, not \"%s\"\n", by);
        ow_faults_clear(&faults);
        return OW_CLI_USAGE;
    }
    if (point != NULL) {
        char *end = NULL;
        settings.point_price = strtod(point, &end);
        if (*end != '\0' || !(settings.point_price > 0.0 && settings.point_price <= 1e6)) {
            fprintf(stderr, "oilwright size: --point is a number above 0, not \"%s\"\n", point);
            ow_faults_clear(&faults);
            return OW_CLI_USAGE;
        }
    }
    if (faults.errors > 0) {
        ow_cli_faults(&faults);
        ow_faults_clear(&faults);
        return OW_CLI_USAGE;
    }
    const OwAsked asked = {.oil = ow_cli_value(&options[OIL]),
                           .drive = ow_cli_value(&options[DRIVE]),
                           .set = options[SET].values,
                           .set_count = options[SET].count};
    OwMorningSettings unused = ow_morning_default();
    int code = ow_cli_rig("size", path, &asked, &unused, units, &rig);
    if (code != OW_CLI_GOOD) {
        return code;
    }
    settings.vary = options[VARY].values;
    settings.vary_count = options[VARY].count;
    settings.by = by != NULL && strcmp(by, "change") == 0 ? OW_SIZE_BY_CHANGE : OW_SIZE_BY_COST;
    settings.has_front = options[NO_FRONT].count == 0 && options[QUIET].count == 0;
    settings.has_exact = options[QUIET].count == 0;
    OwProgressOut progress;
    if (!ow_progress_open("size", &options[PROGRESS], &progress)) {
        ow_rig_destroy(&rig);
        return OW_CLI_USAGE;
    }
    if (progress.fd >= 0) {
        settings.progress = ow_progress_tell;
        settings.context = &progress;
    } else if (isatty(STDERR_FILENO) && options[QUIET].count == 0) {
        settings.progress = show_progress;
        settings.context = &shown;
    }
    const OwStatus status = ow_size_create(rig, goals, goal_count, &settings, display, &sizing, &faults);
    if (shown > 0) {
        fputs("\r                              \r", stderr);
    }
    ow_cli_faults(&faults);
    if (status != OW_OK) {
        if (faults.errors == 0) {
            fprintf(stderr, "oilwright size: %s\n", ow_status_text(status));
        }
        code = status == OW_ERROR_MEMORY ? OW_CLI_BROKEN : OW_CLI_USAGE;
    } else {
        const bool is_ascii = strcmp(nl_langinfo(CODESET), "UTF-8") != 0;
        if (options[JSON].count > 0) {
            code = ow_size_json(stdout, rig, sizing) == OW_ERROR_MEMORY ? OW_CLI_BROKEN : OW_CLI_GOOD;
        } else {
            ow_size_report(stdout, rig, sizing, display, is_ascii, options[QUIET].count > 0);
        }
        const int written = ow_cli_finish(stdout, "the standard output");
        code = written != OW_CLI_GOOD ? written : code;
        code = code == OW_CLI_GOOD && sizing->outcome == OW_SIZE_IMPOSSIBLE ? OW_CLI_FAILS : code;
    }
    ow_size_destroy(&sizing);
    ow_rig_destroy(&rig);
    ow_faults_clear(&faults);
    return code;
}

int ow_cli_size(int argc, char **argv) {
    OwCliOption options[OPTION_COUNT] = {
        [FOR] = {.name = "--for", .has_value = true, .most = OW_SIZE_MAX_GOALS},
        [VARY] = {.name = "--vary", .has_value = true, .most = OW_SIZE_MAX_CHOICES},
        [BY] = {.name = "--by", .has_value = true, .most = 1},
        [POINT] = {.name = "--point", .has_value = true, .most = 1},
        [UNITS] = {.name = "--units", .has_value = true, .most = 1},
        [OIL] = {.name = "--oil", .has_value = true, .most = 1},
        [DRIVE] = {.name = "--drive", .has_value = true, .most = 1},
        [SET] = {.name = "--set", .has_value = true, .most = OW_CLI_MAX_VALUES},
        [NO_FRONT] = {.name = "--no-front"},
        [PROGRESS] = {.name = "--progress-fd", .has_value = true, .most = 1},
        [JSON] = {.name = "--json"},
        [QUIET] = {.name = "--quiet"},
        [HELP] = {.name = "--help"},
    };
    const char *file = NULL;
    int file_count = 0;
    OwDisplay display = OW_DISPLAY_METRIC;
    OwUnits *units = NULL;
    int code = ow_cli_options("size", argc, argv, options, OPTION_COUNT, &file, 1, &file_count);
    if (code != OW_CLI_GOOD || !ow_cli_display("size", ow_cli_value(&options[UNITS]), &display)) {
        return OW_CLI_USAGE;
    }
    if (options[HELP].count > 0) {
        fputs(usage, stdout);
        return ow_cli_finish(stdout, "the standard output");
    }
    if (file == NULL || options[FOR].count == 0) {
        fprintf(stderr, "oilwright size: %s? See oilwright size --help\n",
                file == NULL ? "which rig file"
                             : "for what target, as in --for \"ready in 90 s at -10 degC\"");
        return OW_CLI_USAGE;
    }
    if (ow_units_create(&units) != OW_OK) {
        fputs("oilwright: the unit tables of the system are missing (Debian package libudunits2-data)\n",
              stderr);
        return OW_CLI_BROKEN;
    }
    code = run(options, file, units, display);
    ow_units_destroy(&units);
    return code;
}
