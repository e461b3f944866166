// SPDX-License-Identifier: GPL-3.0-or-later
// `oilwright wire`: reads a rig, chooses and checks every wire and fuse, writes the schedule and the
// schematic.
#include <errno.h>
#include <stdlib.h>
#include <string.h>

#include "base/text.h"
#include "cli.h"
#include "wire_cli.h"

static const char usage[] =
    "Usage: oilwright wire RIG [options]\n"
    "\n"
    "Chooses every wire, fuse and relay of the rig, checks the given ones, and writes the schedule the shop\n"
    "wires from. Without circuits in the file each electric load gets one with common lengths.\n"
    "\n"
    "  --units metric|us   mm2 and m, or AWG and ft (as the rig file says, else metric)\n"
    "  --soak T            everything at this temperature (ambient of the rig)\n"
    "  --faults            also every single fault: what burns, what opens, what drains\n"
    "  --json              write everything as JSON instead of the text\n"
    "  --csv FILE          write the wires too; \"-\" writes them instead of the text\n"
    "  --svg FILE          write the schematic too, A4; \"-\" writes it instead of the text\n"
    "\n"
    "Ends with 0: every check is passed; 1: something is to be put right; 2: the call or the input is "
    "wrong;\n"
    "3: output could not be written.\n";

typedef struct OwWireCall {
    const char *rig, *units, *soak, *csv, *svg;
    bool is_json, has_faults, wants_help;
} OwWireCall;

static int wrong(const char *what, const char *detail) {
    fprintf(stderr, "oilwright wire: %s%s\n", what, detail);
    return OW_CLI_USAGE;
}

/// True when `argument` is the option; its value (after "=" or the next word) goes to *value, which stays
/// NULL when missing.
static bool takes_value(int argc, char **argv, int *i, const char *option, const char **value) {
    const size_t n = strlen(option);
    const char *a = argv[*i];
    if (strncmp(a, option, n) != 0 || (a[n] != '\0' && a[n] != '=')) {
        return false;
    }
    *value = a[n] == '=' ? a + n + 1 : (*i + 1 < argc ? argv[++*i] : "");
    return true;
}

static int read_call(int argc, char **argv, OwWireCall *call) {
    static const char *const options[] = {"--units", "--soak",   "--csv", "--svg",
                                          "--json",  "--faults", "--help"};
    bool is_over = false;
    for (int i = 1; i < argc; i++) {
        const char *a = argv[i], *value = NULL;
        if (is_over || a[0] != '-' || a[1] == '\0') {
            if (call->rig) {
                return wrong("one rig file at a time; what is ", a);
            }
            call->rig = a;
        } else if (strcmp(a, "--") == 0) {
            is_over = true;
        } else if (strcmp(a, "--json") == 0) {
            call->is_json = true;
        } else if (strcmp(a, "--faults") == 0) {
            call->has_faults = true;
        } else if (strcmp(a, "--help") == 0 || strcmp(a, "-h") == 0) {
            call->wants_help = true;
        } else if (takes_value(argc, argv, &i, "--units", &value)) {
            call->units = value;
        } else if (takes_value(argc, argv, &i, "--soak", &value)) {
            call->soak = value;
        } else if (takes_value(argc, argv, &i, "--csv", &value)) {
            call->csv = value;
        } else if (takes_value(argc, argv, &i, "--svg", &value)) {
            call->svg = value;
        } else {
            const char *near = ow_text_nearest(a, options, sizeof options / sizeof options[0]);
            fprintf(stderr, "oilwright wire: unknown option \"%s\"", a);
            fprintf(stderr, near ? "; did you mean %s?\n" : "; see oilwright wire --help%s\n",
                    near ? near : "");
            return OW_CLI_USAGE;
        }
        if (value && !value[0]) {
            return wrong("a value is missing after ", a);
        }
    }
    if (call->units && strcmp(call->units, "us") != 0 && strcmp(call->units, "metric") != 0) {
        return wrong("--units is metric or us, not ", call->units);
    }
    if (!call->rig && !call->wants_help) {
        return wrong("which rig file? See oilwright wire --help", "");
    }
    const int to_stdout = call->is_json + (call->csv && strcmp(call->csv, "-") == 0) +
                          (call->svg && strcmp(call->svg, "-") == 0);
    return to_stdout > 1 ? wrong("only one of --json, --csv - and --svg - can have the standard output", "")
                         : OW_CLI_GOOD;
}

/// Opens a file or the standard output.
static FILE *open_out(const char *path) {
    FILE *f = strcmp(path, "-") == 0 ? stdout : fopen(path, "wb");
    if (!f) {
        fprintf(stderr, "oilwright: %s cannot be written: %s\n", path, strerror(errno));
    }
    return f;
}

static int close_out(FILE *f, const char *path) {
    int code = ow_cli_finish(f, f == stdout ? "the standard output" : path);
    if (f != stdout && fclose(f) != 0 && code == OW_CLI_GOOD) {
        fprintf(stderr, "oilwright: %s cannot be written: %s\n", path, strerror(errno));
        code = OW_CLI_BROKEN;
    }
    return code;
}

static int write_svg(const OwWireAnswer *answer, const char *path) {
    char *svg = NULL;
    if (ow_power_schematic(answer->power, answer->schedule, answer->title, &svg) != OW_OK) {
        fputs("oilwright: out of memory while drawing\n", stderr);
        return OW_CLI_BROKEN;
    }
    FILE *f = open_out(path);
    int code = OW_CLI_BROKEN;
    if (f) {
        fputs(svg, f);
        code = close_out(f, path);
    }
    free(svg);
    return code;
}

static int write_all(const OwWireCall *call, const OwWireAnswer *answer) {
    int code = OW_CLI_GOOD;
    bool has_stdout = true;
    if (call->svg) {
        code = write_svg(answer, call->svg);
        has_stdout = strcmp(call->svg, "-") != 0;
    }
    if (call->csv && code == OW_CLI_GOOD) {
        FILE *f = open_out(call->csv);
        code = OW_CLI_BROKEN;
        if (f) {
            (void)ow_wire_csv_write(f, answer);
            code = close_out(f, call->csv);
        }
        has_stdout = has_stdout && strcmp(call->csv, "-") != 0;
    }
    if (has_stdout && code == OW_CLI_GOOD) {
        if (call->is_json) {
            if (ow_wire_json_write(stdout, answer) == OW_ERROR_MEMORY) {
                fputs("oilwright: out of memory while writing JSON\n", stderr);
                code = OW_CLI_BROKEN;
            }
        } else {
            (void)ow_wire_text_write(stdout, answer);
        }
        const int written = ow_cli_finish(stdout, "the standard output");
        code = written != OW_CLI_GOOD ? written : code;
    }
    return code != OW_CLI_GOOD ? code : (ow_wire_is_good(answer) ? OW_CLI_GOOD : OW_CLI_FAILS);
}

static int work_out(const OwWireCall *call, const OwRig *rig, double soak_k) {
    OwElectricSpec *spec = calloc(1, sizeof *spec);
    OwElectricFault *electric = call->has_faults ? calloc(OW_WIRE_FAULTS, sizeof *electric) : NULL;
    OwPower *power = NULL;
    OwSchedule *schedule = NULL;
    OwFaults faults = {0};
    char title[128];
    int code = OW_CLI_BROKEN;
    if (spec && (electric || !call->has_faults)) {
        OwStatus status = ow_electric_derive(rig, spec);
        if (call->units) {
            spec->has_us_sizes = strcmp(call->units, "us") == 0;
        }
        if (status == OW_ERROR_RANGE) {
            fputs("oilwright: the rig has more than 32 electric loads\n", stderr);
            code = OW_CLI_USAGE;
        } else if (status == OW_OK && (status = ow_power_create_from(spec, &power, &faults)) == OW_OK) {
            status = ow_power_schedule(power, soak_k, &schedule, &faults);
        }
        if (status == OW_OK) {
            snprintf(title, sizeof title, "%s: wiring", rig->name[0] ? rig->name : "rig");
            OwWireAnswer answer = {.title = title,
                                   .power = power,
                                   .schedule = schedule,
                                   .faults = &faults,
                                   .electric = electric,
                                   .soak_k = soak_k,
                                   .display = spec->has_us_sizes ? OW_DISPLAY_US : OW_DISPLAY_METRIC};
            if (electric) {
                const int count = ow_power_faults(power, soak_k, electric, OW_WIRE_FAULTS);
                answer.electric_count = count < OW_WIRE_FAULTS ? count : OW_WIRE_FAULTS;
            }
            code = answer.electric_count < 0 ? OW_CLI_BROKEN : write_all(call, &answer);
        } else if (status != OW_ERROR_RANGE || power) {
            ow_cli_faults(&faults);
            fprintf(stderr, "oilwright: %s\n", ow_status_text(status));
            code = status == OW_ERROR_MEMORY ? OW_CLI_BROKEN : OW_CLI_USAGE;
        }
    } else {
        fputs("oilwright: out of memory\n", stderr);
    }
    ow_faults_clear(&faults);
    ow_power_destroy(&power);
    free(schedule);
    free(electric);
    free(spec);
    return code;
}

int ow_cli_wire(int argc, char **argv) {
    OwWireCall call = {0};
    int code = read_call(argc, argv, &call);
    if (code != OW_CLI_GOOD) {
        return code;
    }
    if (call.wants_help) {
        fputs(usage, stdout);
        return ow_cli_finish(stdout, "the standard output");
    }
    OwUnits *units = NULL;
    if (ow_units_create(&units) != OW_OK) {
        fputs("oilwright: the unit tables of the system are missing (Debian package libudunits2-data)\n",
              stderr);
        return OW_CLI_BROKEN;
    }
    OwRig *rig = NULL;
    OwFaults faults = {0};
    const OwStatus status = ow_rig_read_file(call.rig, units, &rig, &faults);
    ow_cli_faults(&faults);
    double soak_k = status == OW_OK ? rig->climate.ambient_k : 0.0;
    char why[256] = "";
    if (status != OW_OK) {
        code = status == OW_ERROR_MEMORY ? OW_CLI_BROKEN : OW_CLI_USAGE;
    } else if (call.soak &&
               ow_units_read(units, call.soak, OW_Q_TEMPERATURE, "degC", &soak_k, why, sizeof why) != OW_OK) {
        code = wrong("--soak cannot be read: ", why);
    } else if (!(soak_k >= 213.15 && soak_k <= 333.15)) {
        code = wrong("--soak is from -60 degC to 60 degC", "");
    } else {
        code = work_out(&call, rig, soak_k);
    }
    ow_faults_clear(&faults);
    ow_rig_destroy(&rig);
    ow_units_destroy(&units);
    return code;
}
