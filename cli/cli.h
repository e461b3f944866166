// SPDX-License-Identifier: GPL-3.0-or-later
// What the verbs of the command line share: exit codes, the verbs, and the files of `morning`.
#ifndef OW_CLI_H
#define OW_CLI_H

#include <stdio.h>

#include "oilwright/judge.h"

/// Exit codes of every verb.
enum {
    OW_CLI_GOOD = 0,  ///< done, every limit is met
    OW_CLI_FAILS = 1, ///< done, but the design breaks a limit or nothing could be judged
    OW_CLI_USAGE = 2, ///< the call or the input is wrong
    OW_CLI_BROKEN = 3 ///< output could not be written, out of memory, or the run could not be ended
};

int ow_cli_morning(int argc, char **argv);
int ow_cli_oil(int argc, char **argv);
int ow_cli_compare(int argc, char **argv);
int ow_cli_reference(int argc, char **argv);
int ow_cli_size(int argc, char **argv);
int ow_cli_page(int argc, char **argv);
int ow_cli_log(int argc, char **argv);

/// Prints all faults on stderr, one a line.
void ow_cli_faults(const OwFaults *faults);
/// Flushes a stream and tells on stderr if anything was lost. Returns OW_CLI_GOOD or OW_CLI_BROKEN.
int ow_cli_finish(FILE *file, const char *name);

/// What is asked for besides the file, as written: any pointer may be NULL.
typedef struct OwAsked {
    const char *soak, *oil, *drive, *until; ///< "-10 degC"; an oil; "legs" or "nedc"; "10 min"
    const char *const *set;                 ///< "climate.ambient=-15 degC"
    int set_count;
} OwAsked;
/// Puts it all into a rig and the settings; every fault is reported together, and the rig is checked again.
void ow_cli_apply(const OwAsked *asked, OwRig *rig, OwMorningSettings *settings, OwUnits *units,
                  OwFaults *faults);

/// Replaces a fluid: "[FLUID=]soybean", "[FLUID=]60% rapeseed + 40% diesel", "[FLUID=]35 mm2/s @ 40 degC, 8
/// mm2/s @ 100 degC".
OwStatus ow_cli_oil_override(OwRig *rig, const char *text, OwUnits *units, OwFaults *faults);

/// Writes the one-screen report; false when the stream failed.
bool ow_report_write(FILE *file, const OwJudgement *judgement, bool is_ascii);
/// The same and every answer in full: number, limit, margin, part and mend.
bool ow_report_write_all(FILE *file, const OwJudgement *judgement, bool is_ascii);
/// What must be heeded with this result, a sentence or two each; fills the list, returns how many (1 at
/// least).
#define OW_REPORT_CAUTIONS 4
typedef struct OwReportCaution {
    char text[160];
} OwReportCaution;
int ow_report_caution_list(const OwJudgement *judgement, OwReportCaution cautions[OW_REPORT_CAUTIONS]);
/// The same as one paragraph.
void ow_report_caution(const OwJudgement *judgement, char *text, size_t size);
/// Only the answer and what to do.
bool ow_report_write_short(FILE *file, const OwJudgement *judgement, bool is_ascii);
/// The judgement, events, path, audit and statistics as one JSON object; keys are listed in cli/json.c.
OwStatus ow_json_write(FILE *file, const OwJudgement *judgement);
/// The time series as RFC 4180 text with one header record.
OwStatus ow_csv_write(FILE *file, const OwRecord *record, OwDisplay display);

#endif
