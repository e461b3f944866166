// SPDX-License-Identifier: GPL-3.0-or-later
// What the files of the server share.
#ifndef OW_PAGE_PAGE_IMPL_H
#define OW_PAGE_PAGE_IMPL_H

#include <jansson.h>
#include <pthread.h>
#include <stdatomic.h>
#include <sys/types.h>

#include "base/buffer.h"
#include "cli.h"
#include "http.h"
#include "page.h"

#define OW_PAGE_API 1
#define OW_PAGE_BODY_LIMIT ((size_t)1024 * 1024)
#define OW_PAGE_MAX_UNITS 16
#define OW_PAGE_MAX_SAMPLES 400
#define OW_PAGE_KEY_SIZE 48

/// So many writes are remembered, so that one whose answer was lost is not done twice.
#define OW_PAGE_ONCE 32

typedef struct OwJobs OwJobs;

typedef struct OwPageOnce {
    char token[40];
    char *text; ///< what was answered
    size_t size;
} OwPageOnce;

/// The files of a yard and of its costs.
typedef enum OwSheet { OW_SHEET_YARD, OW_SHEET_COSTS, OW_PAGE_SHEETS } OwSheet;

struct OwPage {
    OwPageSettings settings;
    OwHttp *http;
    char key[OW_PAGE_KEY_SIZE];
    char origins[2][64]; ///< "127.0.0.1:8642", "localhost:8642"; empty until the port is known
    atomic_bool is_closing;
    int folder;              ///< open directory
    int assets;              ///< open directory, -1 none
    int sheet_folder[OW_PAGE_SHEETS]; ///< open directories of the yard and the cost file
    const char *sheet_name[OW_PAGE_SHEETS]; ///< their names in them
    pthread_mutex_t lock;    ///< guards the origins and the unit tables that lie idle
    pthread_mutex_t writing; ///< one file is written at a time; guards `once`
    OwPageOnce once[OW_PAGE_ONCE];
    int once_next;
    OwUnits *idle[OW_PAGE_MAX_UNITS];
    int idle_count;
    OwJobs *jobs;
};

/// One request on its way through.
typedef struct OwCall {
    OwPage *page;
    const OwHttpRequest *request;
    OwHttpAnswer *answer;
    json_t *body; ///< an object, or NULL
} OwCall;

/// Refuses with a status, a code and a sentence.
void ow_call_refuse(OwCall *call, int status, const char *code, const char *remedy, const char *format, ...)
    __attribute__((format(printf, 5, 6)));
/// Answers with an object, whose reference is taken.
void ow_call_answer(OwCall *call, int status, json_t *object);
/// Answers with JSON text; the buffer is taken.
void ow_call_answer_text(OwCall *call, int status, OwBuffer *text);
void ow_call_out_of_memory(OwCall *call);
/// Reads the body as an object. False when it was refused.
bool ow_call_read_body(OwCall *call);
/// A text of an object. NULL when absent or null; when it is of another type `*is_wrong` becomes true.
const char *ow_ask_text(const json_t *object, const char *key, bool *is_wrong);
/// Same, refused when it is missing or of another type.
const char *ow_call_text(OwCall *call, const char *key);
/// Refuses the request because a key is of the wrong type; for use after ow_ask_text.
void ow_call_wrong_key(OwCall *call, const char *key);

/// A unit table for one thread for a while; NULL when out of memory.
OwUnits *ow_page_take_units(OwPage *page);
void ow_page_give_units(OwPage *page, OwUnits *units);

/// Checks Host, Origin, key and content type. False when the request was refused (or led to the cookie).
bool ow_page_admits(OwCall *call);
/// The first file of the page that matches; refuses with not_found.
void ow_page_asset(OwCall *call);

void ow_api_start(OwCall *call);
void ow_api_catalogue(OwCall *call);
void ow_api_file_get(OwCall *call);
void ow_api_file_put(OwCall *call);
void ow_api_read(OwCall *call);
void ow_api_edit(OwCall *call);
void ow_api_morning(OwCall *call);
void ow_api_oil(OwCall *call);
void ow_api_compare(OwCall *call);
void ow_api_log_start(OwCall *call);
void ow_api_log_list(OwCall *call);
void ow_api_log_view(OwCall *call);
void ow_api_log_add(OwCall *call);
void ow_api_log_undo(OwCall *call);
void ow_api_sheet_get(OwCall *call);
void ow_api_sheet_put(OwCall *call);
/// Finds the folders of the yard and cost files. False when one cannot be opened.
bool ow_page_open_sheets(OwPage *page);
void ow_page_close_sheets(OwPage *page);
void ow_api_job_post(OwCall *call);
void ow_api_job_get(OwCall *call);
void ow_api_job_delete(OwCall *call);

/// Reads a file of an open folder; NULL when it is none (errno says why). The caller frees it.
char *ow_page_read_file(int folder, const char *name, size_t *size, mode_t *mode);
/// Tells one content of a file from another (FNV-1a, 64 bits).
void ow_page_write_stamp(const char *text, size_t size, char stamp[40]);
/// Reads the body when this page may write. False: refused.
bool ow_page_may_save(OwCall *call);
/// Writes the body's `text` as a file of an open folder and answers, under the rules of PUT /api/file.
void ow_page_put_text(OwCall *call, int folder, const char *name);
/// The files of the folder for /api/start.
json_t *ow_page_list_files(const OwPage *page);
json_t *ow_page_templates(void);
const char *ow_quantity_key(OwQuantity quantity);

/// Faults as JSON with the part and path each belongs to in the text.
json_t *ow_page_faults(const OwFaults *faults, const char *text, size_t size);
/// Reads a text and puts what else is asked into it. *rig is NULL when any fault is an error.
OwStatus ow_page_read_rig(OwPage *page, const char *text, size_t size, const OwAsked *asked,
                          OwMorningSettings *settings, OwRig **rig, OwFaults *faults);

/// One morning that is asked for.
typedef struct OwMorningAsk {
    const char *text;
    size_t size;
    OwAsked asked;
    const char *set[64];
    OwDisplay display;
    int samples;
    bool has_series;
} OwMorningAsk;
/// Takes the keys of /api/morning from an object; `text` may stand in another. False with the wrong key's
/// name.
bool ow_morning_ask(const json_t *object, OwMorningAsk *ask, const char **wrong_key);
/// Called with the share done; false stops the run.
typedef struct OwProgressCall {
    bool (*call)(void *context, double share);
    void *context;
} OwProgressCall;
/// Runs it and writes the answer of /api/morning. OW_ERROR_NO_SOLUTION: stopped by `progress`. `summary` (may
/// be NULL) gets the answers for comparing.
OwStatus ow_page_morning(OwPage *page, const OwMorningAsk *ask, const OwProgressCall *progress, OwBuffer *out,
                         json_t *summary);
/// Stops a run that takes longer than page->settings.work_s.
typedef struct OwDeadline {
    const OwPage *page;
    double until_s;
    bool is_over;
} OwDeadline;
OwDeadline ow_page_deadline(const OwPage *page);
bool ow_page_in_time(void *deadline, double share);

OwStatus ow_page_compare(OwPage *page, const json_t *ask, const OwProgressCall *progress, OwBuffer *out,
                         const char **wrong);
/// The time series of a record as JSON text.
OwStatus ow_page_series(const OwJudgement *judgement, const OwPlan *plan, int samples, OwBuffer *out);
/// The edits that carry out an answer's mend, NULL when there are none.
json_t *ow_page_mend(const OwJudgement *judgement, const OwAnswer *answer);
/// Text of a JSON object into a buffer, compact.
void ow_page_dump(const json_t *object, OwBuffer *out);

/// Long work. `run` writes its result as JSON text; it asks `is_cancelled` and tells `progress` through the
/// job.
typedef struct OwJob OwJob;
typedef OwStatus (*OwJobRun)(OwJob *job, OwPage *page, const json_t *ask, OwBuffer *out);
bool ow_job_progress(void *job, double share); ///< false: cancelled
void ow_job_say(OwJob *job, const char *code, const char *format, ...) __attribute__((format(printf, 3, 4)));
/// Verbs of this build, ended by a NULL name.
typedef struct OwJobVerb {
    const char *name;
    OwJobRun run;
} OwJobVerb;
extern const OwJobVerb ow_job_verbs[];

OwStatus ow_jobs_create(OwPage *page, OwJobs **jobs);
void ow_jobs_destroy(OwJobs **jobs);

/// A file of the page.
typedef struct OwAsset {
    const char *path; ///< "index.html", "assets/page.js"
    const unsigned char *data;
    size_t size;
    const char *etag; ///< in quotes
} OwAsset;
extern const OwAsset ow_page_assets[];
extern const int ow_page_asset_count;

#endif
