// SPDX-License-Identifier: GPL-3.0-or-later
// The filter study beside what a logbook has learned of the same filters.
#ifndef OW_CLI_FILTER_LOG_H
#define OW_CLI_FILTER_LOG_H

#include <jansson.h>

#include "oilwright/filter_life.h"
#include "oilwright/learn.h"
#include "report_text.h"

/// A filter of the study, as the log has taught.
typedef struct OwFilterLearned {
    int part;
    double study_m; ///< of the study as built, middle of its laws; 0 none
    OwLearnedFilter learned;
} OwFilterLearned;
typedef struct OwFiltersLearned {
    char vehicle[64];
    OwFilterLearned items[OW_FILTER_MAX];
    int count;
} OwFiltersLearned;

/// Middle of a study's laws, as built: geometric mean of those that end; 0 when none does. What the study
/// says before any log.
double ow_filter_log_middle(const OwFilterLife *life);
/// Reads the logbook. `vehicle` NULL: the one whose rig file has this name, or the only one. False: told on
/// stderr, *code is the exit code.
bool ow_filter_log_read(const OwFilterStudy *study, const char *book, const char *vehicle,
                        const char *rig_file, OwFiltersLearned *learned, int *code);
void ow_filter_log_text(const OwReport *report, const OwFilterStudy *study, const OwFiltersLearned *learned);
/// {vehicle, filters: [{part, life_m, low_m, high_m, study_m, factor, n, running, others, doubt_left, text}]}
json_t *ow_filter_log_json(const OwFilterStudy *study, const OwFiltersLearned *learned);

#endif
