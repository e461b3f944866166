// SPDX-License-Identifier: GPL-3.0-or-later
// Calls and output that the studies share.
#include "study.h"

#include <langinfo.h>
#include <math.h>
#include <string.h>

enum { STUDY_UNITS, STUDY_SOAK, STUDY_OIL, STUDY_SET, STUDY_JSON, STUDY_HELP, STUDY_COMMON };

bool ow_study_open(OwStudyCall *call, const char *usage, int argc, char **argv, int *code) {
    OwCliOption options[STUDY_COMMON + OW_STUDY_EXTRA] = {
        [STUDY_UNITS] = {.name = "--units", .has_value = true, .most = 1},
        [STUDY_SOAK] = {.name = "--soak", .has_value = true, .most = 1},
        [STUDY_OIL] = {.name = "--oil", .has_value = true, .most = 1},
        [STUDY_SET] = {.name = "--set", .has_value = true, .most = OW_CLI_MAX_VALUES},
        [STUDY_JSON] = {.name = "--json"},
        [STUDY_HELP] = {.name = "--help"},
    };
    for (int i = 0; i < call->extra_count; i++) {
        options[STUDY_COMMON + i] = call->extra[i];
    }
    const char *file = NULL;
    int files = 0;
    *code =
        ow_cli_options(call->verb, argc, argv, options, STUDY_COMMON + call->extra_count, &file, 1, &files);
    if (*code != OW_CLI_GOOD) {
        return false;
    }
    if (options[STUDY_HELP].count > 0) {
        fputs(usage, stdout);
        *code = ow_cli_finish(stdout, "the standard output");
        return false;
    }
    *code = OW_CLI_USAGE;
    if (files == 0) {
        fprintf(stderr, "oilwright %s: which rig file? See oilwright %s --help\n", call->verb, call->verb);
        return false;
    }
    if (!ow_cli_display(call->verb, ow_cli_value(&options[STUDY_UNITS]), &call->display)) {
        return false;
    }
    memcpy(call->extra, options + STUDY_COMMON, (size_t)call->extra_count * sizeof *options);
    call->is_json = options[STUDY_JSON].count > 0;
    call->report = (OwReport){.file = stdout, .is_ascii = strcmp(nl_langinfo(CODESET), "UTF-8") != 0};
    call->settings = ow_morning_default();
    if (ow_units_create(&call->units) != OW_OK) {
        fputs("oilwright: the unit tables of the system are missing (Debian package libudunits2-data)\n",
              stderr);
        *code = OW_CLI_BROKEN;
        return false;
    }
    const OwAsked asked = {.soak = ow_cli_value(&options[STUDY_SOAK]),
                           .oil = ow_cli_value(&options[STUDY_OIL]),
                           .set = options[STUDY_SET].values,
                           .set_count = options[STUDY_SET].count};
    call->file = file;
    *code = ow_cli_rig(call->verb, file, &asked, &call->settings, call->units, &call->rig);
    return *code == OW_CLI_GOOD;
}

void ow_study_close(OwStudyCall *call) {
    ow_rig_destroy(&call->rig);
    ow_units_destroy(&call->units);
}

const OwCliOption *ow_study_option(const OwStudyCall *call, const char *name) {
    for (int i = 0; i < call->extra_count; i++) {
        if (strcmp(call->extra[i].name, name) == 0) {
            return &call->extra[i];
        }
    }
    return &call->extra[0];
}

int ow_study_failed(const OwStudyCall *call, OwStatus status, const OwFaults *faults) {
    ow_cli_faults(faults);
    if (faults->errors == 0) {
        fprintf(stderr, "oilwright %s: %s\n", call->verb, ow_status_text(status));
    }
    return status == OW_ERROR_VALUE || status == OW_ERROR_RANGE || status == OW_ERROR_UNIT ? OW_CLI_USAGE
                                                                                           : OW_CLI_BROKEN;
}

static const char *mark(OwGrade grade) {
    switch (grade) {
    case OW_GRADE_BAD:
    case OW_GRADE_IMPOSSIBLE:
        return "FAILS: ";
    case OW_GRADE_TIGHT:
        return "TIGHT: ";
    case OW_GRADE_UNKNOWN:
        return "UNKNOWN: ";
    default:
        return "ok: ";
    }
}

void ow_study_text(const OwReport *report, const OwFinding *findings, int count) {
    for (int i = 0; i < count; i++) {
        const OwFinding *f = &findings[i];
        char text[2 * OW_ANSWER_TEXT + 64];
        snprintf(text, sizeof text, "%-6s %s%s%s [%s]",
                 f->has_limit || f->grade > OW_GRADE_GOOD ? mark(f->grade) : "", f->text,
                 f->mend[0] != '\0' ? " " : "", f->mend, ow_judge_trust_text(f->trust));
        ow_report_paragraph(report, text, 2);
    }
}

#define CAUTION                                                                                              \
    "hot oil burns, fuel burns, batteries give off gas: engine off and cooled, pressure let out before a "   \
    "line is opened; no flame, no sparks. Have a licensed workshop check the work."

void ow_study_caution(const OwReport *report) {
    ow_report_paragraph(report, "Caution: " CAUTION, 2);
}

json_t *ow_study_cautious(json_t *root) {
    if (root != NULL) {
        (void)json_object_set_new(root, "cautions", json_pack("[s]", CAUTION));
    }
    return root;
}

json_t *ow_study_real(double value) {
    return isfinite(value) ? json_real(value) : json_null();
}

json_t *ow_study_part(const OwRig *rig, int part) {
    return part >= 0 && part < rig->part_count ? json_string(rig->parts[part].name) : json_null();
}

static const char *unit_of(OwQuantity quantity) {
    static const char *const units[OW_Q_COUNT] = {
        [OW_Q_NUMBER] = "1",    [OW_Q_LENGTH] = "m",
        [OW_Q_VOLUME] = "m3",   [OW_Q_TIME] = "s",
        [OW_Q_SPEED] = "m/s",   [OW_Q_TEMPERATURE] = "K",
        [OW_Q_PRESSURE] = "Pa", [OW_Q_VOLUME_FLOW] = "m3/s",
        [OW_Q_CHARGE] = "C",    [OW_Q_KINEMATIC_VISCOSITY] = "m2/s",
        [OW_Q_MASS] = "kg",
    };
    return units[quantity] != NULL ? units[quantity] : "SI";
}

json_t *ow_study_finding(const OwRig *rig, const OwFinding *f) {
    return json_pack("{s:s, s:s, s:s, s:s, s:s, s:s, s:o, s:o, s:o, s:o, s:s, s:s}", "key", f->key, "label",
                     f->label, "grade", ow_judge_grade_text(f->grade), "trust", ow_judge_trust_text(f->trust),
                     "basis", f->basis != NULL ? f->basis : "", "unit", unit_of(f->quantity), "value",
                     f->has_value ? ow_study_real(f->value) : json_null(), "limit",
                     f->has_limit ? ow_study_real(f->limit) : json_null(), "margin",
                     f->has_limit ? ow_study_real(f->margin) : json_null(), "part",
                     ow_study_part(rig, f->part), "text", f->text, "mend", f->mend);
}

json_t *ow_study_findings(const OwRig *rig, const OwFinding *findings, int count) {
    json_t *array = json_array();
    for (int i = 0; i < count; i++) {
        if (json_array_append_new(array, ow_study_finding(rig, &findings[i])) != 0) {
            json_decref(array);
            return NULL;
        }
    }
    return array;
}

int ow_study_json(json_t *root, int code) {
    if (root == NULL) {
        fputs("oilwright: out of memory while writing JSON\n", stderr);
        return OW_CLI_BROKEN;
    }
    (void)json_dumpf(root, stdout, JSON_INDENT(2) | JSON_REAL_PRECISION(9));
    fputc('\n', stdout);
    json_decref(root);
    const int written = ow_cli_finish(stdout, "the standard output");
    return written != OW_CLI_GOOD ? written : code;
}

int ow_study_code(const OwFinding *findings, int count) {
    for (int i = 0; i < count; i++) {
        if (ow_judge_fails(findings[i].grade)) {
            return OW_CLI_FAILS;
        }
    }
    return OW_CLI_GOOD;
}
