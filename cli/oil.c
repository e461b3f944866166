// SPDX-License-Identifier: GPL-3.0-or-later
// `oilwright oil`: what an oil is, from whatever is known of it.
#include <langinfo.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "oil_cli.h"

const char *const ow_oil_diluents[OW_OIL_DILUENTS] = {"diesel", "diesel no. 1", "kerosene", "fame"};

bool ow_oil_dilution(const OwOilAnswer *answer, const char *name, OwDilution *dilution) {
    const OwOilCall *call = answer->call;
    if (ow_oil_is_petrol(name)) {
        *dilution = (OwDilution){0};
        snprintf(dilution->reason, sizeof dilution->reason,
                 "petrol and spirits are refused: vapour fire risk, low cetane number, no lubricity");
        return true;
    }
    OwFluid *diluent = malloc(sizeof *diluent);
    OwOilSpec spec = {0};
    snprintf(spec.name, sizeof spec.name, "%s", name);
    OwFaults faults = {0};
    bool is_made = diluent && ow_oil_make(&spec, diluent, &faults) == OW_OK;
    is_made = is_made && ow_oil_least_diluent(&answer->oil->fluid, diluent,
                                              call->target_k > 0.0 ? call->target_k : 293.15,
                                              call->target_m2_s, call->target_cloud_k, dilution) == OW_OK;
    if (!is_made) {
        ow_cli_faults(&faults);
    }
    ow_faults_clear(&faults);
    free(diluent);
    return is_made;
}

static int list_names(void) {
    for (const char *const *name = ow_oil_names(); *name; ++name) {
        puts(*name);
    }
    return ow_cli_finish(stdout, "the standard output");
}

/// Makes the parts of a blend and its study.
static OwStatus make_blend(OwOilCall *call, OwOilAnswer *answer, OwFaults *faults) {
    OwOilSpec *blend = &call->blend;
    answer->parts = calloc((size_t)blend->blend_count, sizeof *answer->parts);
    answer->shown = calloc(1, sizeof *answer->shown);
    if (!answer->parts || !answer->shown) {
        return OW_ERROR_MEMORY;
    }
    answer->parts[0] = answer->oil->fluid;
    snprintf(blend->blend_name[0], sizeof blend->blend_name[0], "%s", answer->oil->fluid.name);
    answer->part_count = 1;
    const OwFluid *list[OW_OIL_MAX_BLEND] = {&answer->parts[0]};
    size_t used = (size_t)snprintf(blend->name, sizeof blend->name, "%.0f%% %.20s",
                                   100.0 * blend->blend_fraction[0], blend->blend_name[0]);
    for (int i = 1; i < blend->blend_count; ++i) {
        OwOilSpec spec = {0};
        memcpy(spec.name, blend->blend_name[i], sizeof spec.name);
        const OwStatus status = ow_oil_make(&spec, &answer->parts[i], faults);
        if (status != OW_OK) {
            return status;
        }
        list[i] = &answer->parts[i];
        ++answer->part_count;
        if (used < sizeof blend->name) {
            used += (size_t)snprintf(blend->name + used, sizeof blend->name - used, " + %.0f%% %.20s",
                                     100.0 * blend->blend_fraction[i], blend->blend_name[i]);
        }
    }
    const OwStatus status = ow_oil_study_among(blend, list, answer->part_count, answer->shown, faults);
    if (status == OW_OK) {
        ow_oil_study_thin(answer->oil, blend->blend_fraction[0], answer->shown);
    }
    return status;
}

static int write_svg(const OwOilAnswer *answer) {
    FILE *file = fopen(answer->call->svg, "w");
    const bool is_written = file && ow_oil_write_svg(file, answer);
    const bool is_closed = !file || fclose(file) == 0;
    if (!is_written || !is_closed) {
        fprintf(stderr, "oilwright oil: %s cannot be written\n", answer->call->svg);
        return OW_CLI_BROKEN;
    }
    return OW_CLI_GOOD;
}

static int show(const OwOilAnswer *answer) {
    const OwOilCall *call = answer->call;
    if (call->svg) {
        const int code = write_svg(answer);
        if (code != OW_CLI_GOOD) {
            return code;
        }
    }
    if (call->is_json) {
        if (ow_oil_write_json(stdout, answer) != OW_OK) {
            fputs("oilwright oil: the JSON cannot be written\n", stderr);
            return OW_CLI_BROKEN;
        }
    } else if (call->is_csv) {
        ow_oil_write_csv(stdout, answer);
    } else {
        ow_oil_write_text(stdout, answer);
    }
    return ow_cli_finish(stdout, "the standard output");
}

OwStatus ow_oil_answer_make(OwOilCall *call, OwOilAnswer *answer, OwFaults *faults) {
    *answer = (OwOilAnswer){
        .call = call, .oil = calloc(1, sizeof *answer->oil), .diesel = calloc(1, sizeof *answer->diesel)};
    const OwOilSpec diesel = {.name = "diesel"};
    OwStatus status = answer->oil && answer->diesel ? OW_OK : OW_ERROR_MEMORY;
    status = status == OW_OK ? ow_oil_make(&diesel, answer->diesel, faults) : status;
    status = status == OW_OK ? ow_oil_study(&call->spec, answer->oil, faults) : status;
    if (status == OW_OK && call->blend.blend_count > 0) {
        status = make_blend(call, answer, faults);
    } else {
        answer->shown = answer->oil;
    }
    return status;
}

void ow_oil_answer_clear(OwOilAnswer *answer) {
    if (answer->shown && answer->shown != answer->oil) {
        ow_oil_study_clear(answer->shown);
        free(answer->shown);
    }
    if (answer->oil) {
        ow_oil_study_clear(answer->oil);
    }
    free(answer->oil);
    free(answer->parts);
    free(answer->diesel);
    *answer = (OwOilAnswer){0};
}

static int run(OwOilCall *call) {
    OwOilAnswer answer;
    OwFaults faults = {0};
    const OwStatus status = ow_oil_answer_make(call, &answer, &faults);
    int code = OW_CLI_USAGE;
    if (status == OW_OK) {
        code = show(&answer);
    } else if (status == OW_ERROR_MEMORY) {
        fputs("oilwright oil: out of memory\n", stderr);
        code = OW_CLI_BROKEN;
    } else {
        ow_cli_faults(&faults);
    }
    ow_faults_clear(&faults);
    ow_oil_answer_clear(&answer);
    return code;
}

int ow_cli_oil(int argc, char **argv) {
    OwUnits *units = NULL;
    if (ow_units_create(&units) != OW_OK) {
        fputs("oilwright oil: the unit database of udunits2 cannot be read\n", stderr);
        return OW_CLI_BROKEN;
    }
    int code;
    OwOilCall *call = malloc(sizeof *call);
    if (!call) {
        fputs("oilwright oil: out of memory\n", stderr);
        code = OW_CLI_BROKEN;
    } else if (argc > 1 && strcmp(argv[1], "test") == 0) {
        code = ow_cli_oil_test(argc - 1, argv + 1, units);
    } else if ((code = ow_oil_call_read(argc, argv, units, call)) == OW_CLI_GOOD) {
        call->is_ascii = call->is_ascii || strcmp(nl_langinfo(CODESET), "UTF-8") != 0;
        if (call->wants_help || argc < 2) {
            fputs(ow_oil_usage, argc < 2 ? stderr : stdout);
            code = argc < 2 ? OW_CLI_USAGE : ow_cli_finish(stdout, "the standard output");
        } else if (call->is_list) {
            code = list_names();
        } else {
            code = run(call);
        }
    }
    free(call);
    ow_units_destroy(&units);
    return code;
}
