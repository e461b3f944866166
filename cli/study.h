// SPDX-License-Identifier: GPL-3.0-or-later
// What the verbs of the studies share: their call, findings as text and as JSON.
#ifndef OW_CLI_STUDY_H
#define OW_CLI_STUDY_H

#include <jansson.h>

#include "options.h"
#include "oilwright/finding.h"
#include "report_text.h"

int ow_cli_faults_walk(int argc, char **argv);
int ow_cli_bleed(int argc, char **argv);
int ow_cli_filter(int argc, char **argv);
int ow_cli_tanks(int argc, char **argv);

#define OW_STUDY_EXTRA 4
typedef struct OwStudyCall {
    const char *verb;
    const char *file; ///< of the rig, as given
    OwUnits *units;
    OwRig *rig;
    OwMorningSettings settings; ///< soak of the call
    OwReport report;
    OwDisplay display;
    bool is_json;
    OwCliOption extra[OW_STUDY_EXTRA]; ///< the verb's own, filled before
    int extra_count;
} OwStudyCall;

/// Reads options and the rig. True when the verb goes on; else *code is its exit code. Close in both cases.
bool ow_study_open(OwStudyCall *call, const char *usage, int argc, char **argv, int *code);
void ow_study_close(OwStudyCall *call);
/// An option of the verb's own by name.
const OwCliOption *ow_study_option(const OwStudyCall *call, const char *name);
/// Tells faults and a status that made an end; the exit code for it.
int ow_study_failed(const OwStudyCall *call, OwStatus status, const OwFaults *faults);

/// The findings as a table of label, grade and text.
void ow_study_text(const OwReport *report, const OwFinding *findings, int count);
void ow_study_caution(const OwReport *report);
/// Sets the same as "cautions"; gives `root` back, which may be NULL.
json_t *ow_study_cautious(json_t *root);

/// A real, null when it is not finite.
json_t *ow_study_real(double value);
json_t *ow_study_part(const OwRig *rig, int part);
json_t *ow_study_finding(const OwRig *rig, const OwFinding *finding);
json_t *ow_study_findings(const OwRig *rig, const OwFinding *findings, int count);
/// Writes and releases `root` (may be NULL: out of memory). Exit code of the output; then `code`.
int ow_study_json(json_t *root, int code);
/// 1 when a finding fails, else 0.
int ow_study_code(const OwFinding *findings, int count);

#endif
