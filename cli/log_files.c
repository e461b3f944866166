// SPDX-License-Identifier: GPL-3.0-or-later
// The file side of `log`: copies, exchange, checks, and the demo book.
#include <string.h>
#include <strings.h>

#include "log_text.h"

int ow_log_failed(LogCall *call, OwStatus status) {
    ow_cli_faults(&call->faults);
    if (call->faults.errors == 0) {
        fprintf(stderr, "oilwright log: %s\n", ow_status_text(status));
    }
    return status == OW_ERROR_WRITE || status == OW_ERROR_MEMORY ? OW_CLI_BROKEN : OW_CLI_USAGE;
}

int ow_log_open(LogCall *call, OwLogMode mode) {
    const OwStatus status = ow_logbook_open(call->path, mode, &call->book, &call->faults);
    return status == OW_OK ? OW_CLI_GOOD : ow_log_failed(call, status);
}

/// Tells what was done, as text or JSON.
static int done(LogCall *call, const char *what, json_t *more) {
    if (call->is_json) {
        json_t *o = more != NULL ? more : json_object();
        json_t *text = json_string(what);
        (void)json_object_set_new(o, "done", text != NULL ? text : json_string("done"));
        (void)json_dumpf(o, stdout, JSON_INDENT(2));
        fputc('\n', stdout);
        json_decref(o);
    } else {
        json_decref(more);
        ow_report_paragraph(&call->report, what, 2);
    }
    return ow_cli_finish(stdout, "the standard output");
}

static int export_book(LogCall *call, const char *folder) {
    char what[400];
    int code = ow_log_open(call, OW_LOG_READ);
    if (code != OW_CLI_GOOD) {
        return code;
    }
    const OwStatus status =
        ow_logbook_export(call->book, folder, call->options[LOG_REPLACE].count > 0, &call->faults);
    (void)snprintf(what, sizeof what, "One CSV file a kind of entry is in %.200s.", folder);
    return status == OW_OK ? done(call, what, NULL) : ow_log_failed(call, status);
}

static int import_book(LogCall *call, const char *folder, bool is_new) {
    char what[400];
    OwLogImported n = {0};
    int code = ow_log_open(call, is_new ? OW_LOG_CREATE : OW_LOG_WRITE);
    if (code != OW_CLI_GOOD) {
        return code;
    }
    const OwStatus status = ow_logbook_import(call->book, folder, &n, &call->faults);
    (void)snprintf(what, sizeof what, "%lld entries are new, %lld were there already.%s", (long long)n.added,
                   (long long)n.same, n.added > 0 ? " What looks odd: oilwright log check" : "");
    return status == OW_OK
               ? done(call, what,
                      json_pack("{s:I, s:I}", "added", (json_int_t)n.added, "same", (json_int_t)n.same))
               : ow_log_failed(call, status);
}

static int backup_book(LogCall *call, const char *path) {
    char what[400];
    int code = ow_log_open(call, OW_LOG_READ);
    if (code != OW_CLI_GOOD) {
        return code;
    }
    const OwStatus status =
        ow_logbook_backup(call->book, path, call->options[LOG_REPLACE].count > 0, &call->faults);
    (void)snprintf(what, sizeof what, "A whole copy is in %.200s. Keep one away from the yard.", path);
    return status == OW_OK ? done(call, what, NULL) : ow_log_failed(call, status);
}

static int restore_book(LogCall *call, const char *backup) {
    char kept[256] = "", what[600];
    const OwStatus status = ow_logbook_restore(backup, call->path, kept, sizeof kept, &call->faults);
    (void)snprintf(what, sizeof what, "%.200s is the logbook now.%s%.200s%s", call->path,
                   kept[0] != '\0' ? " The one before is kept as " : "", kept, kept[0] != '\0' ? "." : "");
    return status == OW_OK ? done(call, what, NULL) : ow_log_failed(call, status);
}

static int check_book(LogCall *call, bool is_rebuild) {
    int code = ow_log_open(call, is_rebuild ? OW_LOG_WRITE : OW_LOG_READ);
    if (code != OW_CLI_GOOD) {
        return code;
    }
    OwStatus status = is_rebuild ? ow_logbook_rebuild(call->book, &call->faults) : OW_OK;
    status = status == OW_OK ? ow_logbook_check(call->book, &call->faults) : status;
    if (status != OW_OK) {
        (void)ow_log_failed(call, status);
        return status == OW_ERROR_VALUE ? OW_CLI_FAILS : OW_CLI_BROKEN;
    }
    ow_cli_faults(&call->faults);
    return done(call,
                call->faults.count == 0 ? "The logbook is whole: every sum agrees with its entries."
                                        : "The logbook is whole; the warnings above want a look.",
                NULL);
}

static int demo_book(LogCall *call) {
    char what[400];
    int code = ow_log_open(call, OW_LOG_CREATE);
    if (code != OW_CLI_GOOD) {
        return code;
    }
    const OwStatus status = ow_log_demo(call->book, call->now_s, &call->faults);
    (void)snprintf(what, sizeof what,
                   "%.200s holds the year 2025 of an invented orchard co-operative. Try: oilwright log "
                   "--book %.100s due",
                   call->path, call->path);
    return status == OW_OK ? done(call, what, NULL) : ow_log_failed(call, status);
}

bool ow_log_files(LogCall *call, const char *word, int *code) {
    static const struct {
        const char *word, *wants;
    } verbs[] = {{"export", "a folder"},  {"import", "a folder"}, {"backup", "a file"},
                 {"restore", "a backup"}, {"check", NULL},        {"rebuild", NULL},
                 {"demo", NULL}};
    int v = 0;
    const int count = (int)(sizeof verbs / sizeof verbs[0]);
    while (v < count && strcasecmp(verbs[v].word, word) != 0) {
        v++;
    }
    if (v == count) {
        return false;
    }
    const int wanted = verbs[v].wants != NULL ? 2 : 1;
    if (call->word_count != wanted) {
        fprintf(stderr, "oilwright log: %s wants %s\n", verbs[v].word,
                verbs[v].wants != NULL ? verbs[v].wants : "no more words");
        *code = OW_CLI_USAGE;
        return true;
    }
    FILE *there = v == 1 ? fopen(call->path, "rb") : NULL; // an import may begin a new book
    const bool is_new = there == NULL;
    if (there != NULL) {
        (void)fclose(there);
    }
    *code = v == 0   ? export_book(call, call->words[1])
            : v == 1 ? import_book(call, call->words[1], is_new)
            : v == 2 ? backup_book(call, call->words[1])
            : v == 3 ? restore_book(call, call->words[1])
            : v == 6 ? demo_book(call)
                     : check_book(call, v == 5);
    return true;
}
