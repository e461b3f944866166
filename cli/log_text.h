// SPDX-License-Identifier: GPL-3.0-or-later
// The verb `log`: its call, and its views as text.
#ifndef OW_CLI_LOG_TEXT_H
#define OW_CLI_LOG_TEXT_H

#include "log_cli.h"
#include "options.h"
#include "report_text.h"

enum {
    LOG_BOOK,
    LOG_DRY,
    LOG_JSON,
    LOG_UNITS,
    LOG_KIND,
    LOG_SINCE,
    LOG_FIND,
    LOG_FROM,
    LOG_TO,
    LOG_VEHICLE,
    LOG_LIMIT,
    LOG_ALL,
    LOG_REPLACE,
    LOG_HELP,
    LOG_OPTIONS
};
enum { LOG_WORDS_MOST = 128 };

/// One call of the verb.
typedef struct LogCall {
    OwCliOption options[LOG_OPTIONS];
    const char *words[LOG_WORDS_MOST];
    int word_count;
    const char *path;
    OwDisplay display;
    bool is_json;
    int64_t now_s;
    OwReport report;
    OwLogbook *book;
    OwArena *arena;
    OwFaults faults;
} LogCall;

/// Views as text: OW_OK, or the faults say why.
OwStatus ow_log_text_levels(LogCall *call);
OwStatus ow_log_text_sources(LogCall *call);
OwStatus ow_log_text_batches(LogCall *call);
OwStatus ow_log_text_batch(LogCall *call, int64_t id);
OwStatus ow_log_text_vehicles(LogCall *call);
OwStatus ow_log_text_vehicle(LogCall *call, int64_t id);
OwStatus ow_log_text_trace(LogCall *call, int64_t id);
OwStatus ow_log_text_filters(LogCall *call, int64_t vehicle);
OwStatus ow_log_text_due(LogCall *call);
OwStatus ow_log_text_list(LogCall *call, const OwLogFilter *filter);
OwStatus ow_log_text_totals(LogCall *call, int64_t from_s, int64_t to_s, int64_t vehicle);

/// Files: export, import, backup, restore, check, rebuild, demo; *code is the exit code. False: not one of
/// these.
bool ow_log_files(LogCall *call, const char *word, int *code);
/// Tells what went wrong on stderr and gives the exit code for it.
int ow_log_failed(LogCall *call, OwStatus status);
/// Opens the book; OW_CLI_GOOD or the exit code, told.
int ow_log_open(LogCall *call, OwLogMode mode);
/// Fills an empty book with the year of the invented orchard co-operative.
OwStatus ow_log_demo(OwLogbook *book, int64_t now_s, OwFaults *faults);

#endif
