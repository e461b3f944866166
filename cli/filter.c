// SPDX-License-Identifier: GPL-3.0-or-later
// `oilwright filter`: how far each filter lasts, with and without electric pump and filter heat.
#include "oilwright/filter_life.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "filter_log.h"
#include "progress.h"
#include "study.h"

static const char usage[] =
    "Usage: oilwright filter RIG [options]\n"
    "\n"
    "Loads each filter step by step until the vehicle's own morning breaks a limit (fuel, full load, "
    "suction), and says\n"
    "how far that is: with and without electric pump, with and without filter heat.\n"
    "\n"
    "  --dirt MG           mg of dirt in a kilogram of oil (as the rig says, else 24: the limit of DIN "
    "51605)\n"
    "  --log LOGBOOK       beside it, what the logbook has learned of the same filters\n"
    "  --vehicle NAME      which vehicle of the logbook (the one with this rig file)\n"
    "  --soak T            all oil and metal at key on (ambient of the rig)\n"
    "  --oil OIL           another oil, see oilwright morning --help\n"
    "  --set KEY=VALUE     change any value of the file; may be given more than once\n"
    "  --progress-fd N     writes the share done, a line a per cent, on this open descriptor\n"
    "  --units metric|us   units of the output (metric)\n"
    "  --json              write all of it as JSON\n"
    "\n"
    "Ends with 0; 1: a limit is broken with a new filter as built, or no fuel comes through any; 2: the "
    "call\n"
    "or the input is wrong; 3: output could not be written.\n";

static json_t *case_json(const OwFilterCase *c) {
    json_t *laws = json_array();
    static const char *const keys[] = {"cake", "pores_narrow", "pores_close"};
    for (int i = 0; i < OW_FILTER_LAWS; i++) {
        (void)json_array_append_new(laws,
                                    json_pack("{s:s, s:f, s:f, s:f}", "law", keys[i], "share", c->share[i],
                                              "fuel_m3", c->litres_m3[i], "distance_m", c->distance_m[i]));
    }
    return json_pack("{s:b, s:b, s:s, s:f, s:f, s:o}", "electric_pump", c->has_pump, "filter_heat",
                     c->has_heat, "binds", ow_filter_binds_text(c->binds), "resistance_ratio", c->ratio,
                     "wax_kg", c->wax_kg, "laws", laws);
}

static json_t *study_json(const OwFilterStudy *s) {
    json_t *filters = json_array();
    for (int i = 0; i < s->filter_count; i++) {
        const OwFilterLife *l = &s->filters[i];
        const double middle_m = ow_filter_log_middle(l);
        json_t *cases = json_array();
        for (int k = 0; k < l->case_count; k++) {
            (void)json_array_append_new(cases, case_json(&l->cases[k]));
        }
        (void)json_array_append_new(
            filters, json_pack("{s:o, s:i, s:f, s:f, s:f, s:o, s:o}", "part", ow_study_part(s->rig, l->part),
                               "stage", l->stage, "flow_share", l->flow_share, "caught_share",
                               l->caught_share, "end_ratio", l->end_ratio, "middle_m",
                               middle_m > 0.0 ? json_real(middle_m) : json_null(), "cases", cases));
    }
    return json_pack("{s:s, s:i, s:s, s:s, s:f, s:f, s:o, s:o}", "format", "oilwright-filter",
                     "format_version", 1, "rig", s->rig->name, "headline", s->headline, "dirt_kg_kg",
                     s->solids_kg_kg, "driven_m", s->driven_m, "filters", filters, "findings",
                     ow_study_findings(s->rig, s->findings, s->finding_count));
}

static bool read_dirt(const OwCliOption *option, double *kg_kg) {
    const char *text = ow_cli_value(option);
    if (text == NULL) {
        return true;
    }
    char *end = NULL;
    const double mg = strtod(text, &end);
    if (end == text || (*end != '\0' && strcmp(end, " mg/kg") != 0) || !(mg > 0.0) || !(mg <= 1e5)) {
        fprintf(
            stderr,
            "oilwright filter: --dirt is milligrams in a kilogram, above 0 and up to 100000, not \"%s\"\n",
            text);
        return false;
    }
    *kg_kg = 1e-6 * mg;
    return true;
}

static int answer(OwStudyCall *call, const OwFilterStudy *study, const OwFiltersLearned *learned) {
    int code = study->filter_count > 0 ? OW_CLI_GOOD : OW_CLI_FAILS; // no fuel passes any: nothing drives
    for (int i = 0; i < study->filter_count; i++) {
        code = study->filters[i].cases[0].binds == OW_BINDS_CLEAN ? OW_CLI_FAILS : code;
    }
    if (call->is_json) {
        json_t *root = study_json(study);
        if (root != NULL && learned != NULL) {
            (void)json_object_set_new(root, "learned", ow_filter_log_json(study, learned));
        }
        return ow_study_json(ow_study_cautious(root), code);
    }
    ow_report_paragraph(&call->report, study->headline, 0);
    ow_report_line(&call->report, "%s", "");
    ow_study_text(&call->report, study->findings, study->finding_count);
    ow_report_paragraph(
        &call->report,
        "From the least to the most of three laws of how dirt settles (cake, pores that narrow, pores that "
        "close), with "
        "the filter's stated capacity; the dirt of your oil moves the result most: measure it.",
        0);
    if (learned != NULL) {
        ow_filter_log_text(&call->report, study, learned);
    }
    ow_study_caution(&call->report);
    const int written = ow_cli_finish(stdout, "the standard output");
    return written != OW_CLI_GOOD ? written : code;
}

/// With the logbook's word, when one is given.
static int beside_log(OwStudyCall *call, const OwFilterStudy *study) {
    const char *book = ow_cli_value(ow_study_option(call, "--log"));
    const char *vehicle = ow_cli_value(ow_study_option(call, "--vehicle"));
    OwFiltersLearned learned;
    int code = OW_CLI_USAGE;
    if (book == NULL && vehicle != NULL) {
        fputs("oilwright filter: --vehicle chooses from a logbook: give --log too\n", stderr);
        return OW_CLI_USAGE;
    }
    if (book == NULL) {
        return answer(call, study, NULL);
    }
    return ow_filter_log_read(study, book, vehicle, call->file, &learned, &code)
               ? answer(call, study, &learned)
               : code;
}

int ow_cli_filter(int argc, char **argv) {
    OwStudyCall call = {.verb = "filter",
                        .extra = {{.name = "--dirt", .has_value = true, .most = 1},
                                  {.name = "--log", .has_value = true, .most = 1},
                                  {.name = "--vehicle", .has_value = true, .most = 1},
                                  {.name = "--progress-fd", .has_value = true, .most = 1}},
                        .extra_count = 4};
    OwProgressOut progress;
    int code = OW_CLI_USAGE;
    OwFaults faults = {0};
    if (ow_study_open(&call, usage, argc, argv, &code)) {
        OwFilterSettings settings = ow_filter_default();
        settings.soak_k = call.settings.soak_k;
        code = OW_CLI_USAGE;
        if (read_dirt(ow_study_option(&call, "--dirt"), &settings.solids_kg_kg) &&
            ow_progress_open(call.verb, ow_study_option(&call, "--progress-fd"), &progress)) {
            if (progress.fd >= 0) {
                settings.progress = ow_progress_tell;
                settings.context = &progress;
            }
            OwFilterStudy study;
            const OwStatus status = ow_filter_create(call.rig, &settings, call.display, &study, &faults);
            code = status != OW_OK ? ow_study_failed(&call, status, &faults) : beside_log(&call, &study);
        }
    }
    ow_faults_clear(&faults);
    ow_study_close(&call);
    return code;
}
