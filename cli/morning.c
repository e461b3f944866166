// SPDX-License-Identifier: GPL-3.0-or-later
// `oilwright morning`: reads a rig, runs one morning, judges it, writes report, JSON or CSV.
#include <errno.h>
#include <langinfo.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>
#include <sys/stat.h>
#include <time.h>
#include <unistd.h>

#include "base/text.h"
#include "cli.h"

static const char usage[] =
    "Usage: oilwright morning RIG [options]\n"
    "\n"
    "Simulates one morning of the vehicle in the rig file and says whether it starts and drives.\n"
    "\n"
    "  --units metric|us   units of the output (metric)\n"
    "  --soak T            all oil and metal at key on, \"-10 degC\" or \"14 degF\" (ambient of the rig)\n"
    "  --oil OIL           another oil: a name, \"60% rapeseed + 40% diesel\", or measured\n"
    "                      points \"35 mm2/s @ 40 degC, 8 mm2/s @ 100 degC\"; NAME=OIL with two fluids\n"
    "  --drive nedc|legs   the standard cycle, or the legs of the rig file\n"
    "  --until TIME        stop then, \"10 min\"\n"
    "  --set KEY=VALUE     change any value of the file: \"climate.ambient=-15 degC\",\n"
    "                      \"supply hose.bore=10 mm\"; may be given more than once\n"
    "  --all               every answer in words too: number, limit, margin, part and what would mend it\n"
    "  --json              write all answers as JSON instead of the report\n"
    "  --csv FILE          write the time series too; \"-\" writes it instead of the report\n"
    "  --quiet             only the first lines: the answer and what to do\n"
    "\n"
    "Ends with 0: every limit is met; 1: a limit is broken or nothing could be judged; 2: the call or the\n"
    "input is wrong; 3: output could not be written, or the run could not be ended.\n";

#define MAX_SET 64
typedef struct OwMorningCall {
    const char *rig, *csv;
    const char *set[MAX_SET];
    OwAsked asked;
    OwDisplay display;
    bool is_json, is_quiet, is_all, wants_help;
} OwMorningCall;

static int wrong(const char *format, const char *what) {
    fputs("oilwright morning: ", stderr);
    fprintf(stderr, format, what);
    fputs("\n", stderr);
    return OW_CLI_USAGE;
}

/// Value of "--name VALUE" or "--name=VALUE"; advances *i. NULL when it is missing.
static const char *value_of(int argc, char **argv, int *i, const char *name) {
    const size_t length = strlen(name);
    if (argv[*i][length] == '=') {
        return argv[*i] + length + 1;
    }
    return *i + 1 < argc ? argv[++*i] : NULL;
}

static bool is_option(const char *argument, const char *name) {
    const size_t length = strlen(name);
    return strncmp(argument, name, length) == 0 && (argument[length] == '\0' || argument[length] == '=');
}

static int read_call(int argc, char **argv, OwMorningCall *call) {
    static const char *const options[] = {"--units", "--soak", "--oil",   "--drive", "--until", "--set",
                                          "--csv",   "--json", "--quiet", "--all",   "--help"};
    bool is_over = false;
    for (int i = 1; i < argc; i++) {
        const char *a = argv[i];
        if (is_over || a[0] != '-' || a[1] == '\0') {
            if (call->rig != NULL) {
                return wrong("one rig file at a time; what is \"%s\"?", a);
            }
            call->rig = a;
        } else if (strcmp(a, "--") == 0) {
            is_over = true;
        } else if (strcmp(a, "--json") == 0) {
            call->is_json = true;
        } else if (strcmp(a, "--all") == 0) {
            call->is_all = true;
        } else if (strcmp(a, "--quiet") == 0) {
            call->is_quiet = true;
        } else if (strcmp(a, "--help") == 0 || strcmp(a, "-h") == 0) {
            call->wants_help = true;
        } else {
            const char *name = NULL;
            for (size_t k = 0; k < 7; k++) {
                name = is_option(a, options[k]) ? options[k] : name;
            }
            if (name == NULL) {
                char word[64];
                snprintf(word, sizeof word, "%.*s", (int)strcspn(a, "="), a);
                const char *near = ow_text_nearest(word, options, sizeof options / sizeof options[0]);
                fprintf(stderr, "oilwright morning: unknown option \"%s\"", word);
                fprintf(stderr, near != NULL ? "; did you mean %s?\n" : "; see oilwright morning --help%s\n",
                        near != NULL ? near : "");
                return OW_CLI_USAGE;
            }
            const char *value = value_of(argc, argv, &i, name);
            if (value == NULL || value[0] == '\0') {
                return wrong("%s needs a value", name);
            }
            if (strcmp(name, "--units") == 0) {
                if (strcmp(value, "us") != 0 && strcmp(value, "metric") != 0) {
                    return wrong("--units is metric or us, not \"%s\"", value);
                }
                call->display = strcmp(value, "us") == 0 ? OW_DISPLAY_US : OW_DISPLAY_METRIC;
            } else if (strcmp(name, "--soak") == 0) {
                call->asked.soak = value;
            } else if (strcmp(name, "--oil") == 0) {
                call->asked.oil = value;
            } else if (strcmp(name, "--drive") == 0) {
                if (strcasecmp(value, "nedc") != 0 && strcasecmp(value, "legs") != 0) {
                    return wrong("--drive is nedc or legs, not \"%s\"", value);
                }
                call->asked.drive = value;
            } else if (strcmp(name, "--until") == 0) {
                call->asked.until = value;
            } else if (strcmp(name, "--csv") == 0) {
                call->csv = value;
            } else if (call->asked.set_count < MAX_SET) {
                call->set[call->asked.set_count++] = value;
            } else {
                return wrong("too many --set; \"%s\" is one over", value);
            }
        }
    }
    if (call->rig == NULL && !call->wants_help) {
        return wrong("%s", "which rig file? See oilwright morning --help");
    }
    if (call->is_json && call->csv != NULL && strcmp(call->csv, "-") == 0) {
        return wrong("%s", "--json and --csv - both want the standard output");
    }
    return OW_CLI_GOOD;
}

typedef struct OwProgress {
    struct timespec start;
    int shown; ///< tenths of a percent last shown, -1 none
} OwProgress;

/// Shows a line on a terminal once the run has taken more than half a second.
static bool show_progress(void *context, double share) {
    OwProgress *p = context;
    struct timespec now;
    clock_gettime(CLOCK_MONOTONIC, &now);
    const double taken =
        (double)(now.tv_sec - p->start.tv_sec) + 1e-9 * (double)(now.tv_nsec - p->start.tv_nsec);
    const int tenths = (int)(share * 1000.0);
    if (taken > 0.5 && tenths > p->shown + 9) {
        p->shown = tenths;
        fprintf(stderr, "\r%3d %% of the morning", tenths / 10);
        fflush(stderr);
    }
    return true;
}

static OwStatus read_rig(const char *path, OwUnits *units, OwRig **rig, OwFaults *faults) {
    struct stat info;
    OwFault fault = {.status = OW_ERROR_READ, .severity = OW_FAULT_ERROR};
    ow_text_copy(fault.file, sizeof fault.file, path);
    if (stat(path, &info) != 0) {
        snprintf(fault.message, sizeof fault.message, "the file cannot be read: %s", strerror(errno));
    } else if (S_ISDIR(info.st_mode)) {
        snprintf(fault.message, sizeof fault.message, "this is a directory");
        snprintf(fault.remedy, sizeof fault.remedy, "name a rig file in it");
    } else if (access(path, R_OK) != 0) {
        snprintf(fault.message, sizeof fault.message, "the file cannot be read: %s", strerror(errno));
    } else {
        return ow_rig_read_file(path, units, rig, faults);
    }
    ow_faults_add(faults, &fault);
    return OW_ERROR_READ;
}

static int write_csv(const OwMorningCall *call, const OwRecord *record) {
    if (strcmp(call->csv, "-") == 0) {
        (void)ow_csv_write(stdout, record, call->display);
        return ow_cli_finish(stdout, "the standard output");
    }
    FILE *file = fopen(call->csv, "wb");
    if (file == NULL) {
        fprintf(stderr, "oilwright: %s cannot be written: %s\n", call->csv, strerror(errno));
        return OW_CLI_BROKEN;
    }
    (void)ow_csv_write(file, record, call->display);
    int code = ow_cli_finish(file, call->csv);
    if (fclose(file) != 0 && code == OW_CLI_GOOD) {
        fprintf(stderr, "oilwright: %s cannot be written: %s\n", call->csv, strerror(errno));
        code = OW_CLI_BROKEN;
    }
    return code;
}

static int write_all(const OwMorningCall *call, const OwRecord *record) {
    OwJudgement *judgement = NULL;
    if (ow_judge_create(record, call->display, &judgement) != OW_OK) {
        fputs("oilwright: out of memory while judging\n", stderr);
        return OW_CLI_BROKEN;
    }
    const bool is_ascii = strcmp(nl_langinfo(CODESET), "UTF-8") != 0;
    int code = call->csv != NULL ? write_csv(call, record) : OW_CLI_GOOD;
    const bool has_stdout = call->csv == NULL || strcmp(call->csv, "-") != 0;
    if (code == OW_CLI_GOOD && has_stdout) {
        if (call->is_json) {
            if (ow_json_write(stdout, judgement) == OW_ERROR_MEMORY) {
                fputs("oilwright: out of memory while writing JSON\n", stderr);
                code = OW_CLI_BROKEN;
            }
        } else if (call->is_quiet) {
            (void)ow_report_write_short(stdout, judgement, is_ascii);
        } else if (call->is_all) {
            (void)ow_report_write_all(stdout, judgement, is_ascii);
        } else {
            (void)ow_report_write(stdout, judgement, is_ascii);
        }
        const int written = ow_cli_finish(stdout, "the standard output");
        code = written != OW_CLI_GOOD ? written : code;
    }
    if (code == OW_CLI_GOOD && (ow_judge_fails(judgement->grade) || judgement->grade == OW_GRADE_UNKNOWN)) {
        code = OW_CLI_FAILS;
    }
    ow_judge_destroy(&judgement);
    return code;
}

static int run(const OwMorningCall *call, const OwRig *rig, OwMorningSettings *settings, OwFaults *faults) {
    OwPlan *plan = NULL;
    OwRecord *record = NULL;
    OwProgress progress = {.shown = -1};
    int code = OW_CLI_USAGE;
    clock_gettime(CLOCK_MONOTONIC, &progress.start);
    if (isatty(STDERR_FILENO) && !call->is_quiet) {
        settings->progress = show_progress;
        settings->context = &progress;
    }
    OwStatus status = ow_plan_create(rig, &plan, faults);
    if (status == OW_OK) {
        status = ow_morning_run(plan, settings, &record, faults);
        if (progress.shown >= 0) {
            fputs("\r                        \r", stderr);
        }
        ow_cli_faults(faults);
        if (record != NULL) {
            code = write_all(call, record);
            if (status != OW_OK && code != OW_CLI_BROKEN) {
                fprintf(stderr, "oilwright: %s\n", ow_status_text(status));
                code = OW_CLI_BROKEN;
            }
        } else {
            fprintf(stderr, "oilwright: %s\n", ow_status_text(status));
            code = status == OW_ERROR_VALUE || status == OW_ERROR_RANGE ? OW_CLI_USAGE : OW_CLI_BROKEN;
        }
    } else {
        ow_cli_faults(faults);
        if (faults->errors == 0) {
            fprintf(stderr, "oilwright: %s\n", ow_status_text(status));
        }
        code = status == OW_ERROR_MEMORY ? OW_CLI_BROKEN : OW_CLI_USAGE;
    }
    ow_record_destroy(&record);
    ow_plan_destroy(&plan);
    return code;
}

int ow_cli_morning(int argc, char **argv) {
    OwMorningCall call = {.display = OW_DISPLAY_METRIC};
    int code = read_call(argc, argv, &call);
    if (code != OW_CLI_GOOD) {
        return code;
    }
    if (call.wants_help) {
        fputs(usage, stdout);
        return ow_cli_finish(stdout, "the standard output");
    }
    OwUnits *units = NULL;
    OwRig *rig = NULL;
    OwFaults faults = {0};
    OwMorningSettings settings = ow_morning_default();
    OwStatus status = ow_units_create(&units);
    if (status != OW_OK) {
        fputs("oilwright: the unit tables of the system are missing (Debian package libudunits2-data)\n",
              stderr);
        return OW_CLI_BROKEN;
    }
    status = read_rig(call.rig, units, &rig, &faults);
    if (status == OW_OK) {
        call.asked.set = call.set;
        ow_cli_apply(&call.asked, rig, &settings, units, &faults);
    }
    if (status != OW_OK || faults.errors > 0) {
        ow_cli_faults(&faults);
        if (faults.errors == 0) {
            fprintf(stderr, "oilwright: %s\n", ow_status_text(status));
        }
        code = status == OW_ERROR_MEMORY ? OW_CLI_BROKEN : OW_CLI_USAGE;
    } else {
        code = run(&call, rig, &settings, &faults);
    }
    ow_faults_clear(&faults);
    ow_rig_destroy(&rig);
    ow_units_destroy(&units);
    return code;
}
