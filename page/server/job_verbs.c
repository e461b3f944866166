// SPDX-License-Identifier: GPL-3.0-or-later
// What a job can do. Mornings run here; the studies run as the command itself, so that they say the same, can
// be ended at any moment and cannot harm the server.
#include <errno.h>
#include <fcntl.h>
#include <signal.h>
#include <spawn.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

#include "oilwright/money.h"
#include "oilwright/yard_plan.h"
#include "page_impl.h"

extern char **environ;

#define MAX_ARGUMENTS 100
#define MAX_RESULT ((size_t)32 * 1024 * 1024)
#define RIG_FILE 3 ///< descriptor of the rig's text in the child
#define PROGRESS 4 ///< and of what it tells about how far it is
#define PROGRESS_OPTION "--progress-fd=4"

/// What a study reads.
typedef enum Input { INPUT_RIG, INPUT_YARD, INPUT_COSTS } Input;
/// What a study takes besides its text: NULL-terminated; a "!" in front marks a flag, a "?" a flag that
/// stands for a file of this page (never for one that a request names).
static const char *const common[][4] = {
    [INPUT_RIG] = {"soak", "oil", "set"}, [INPUT_YARD] = {"set"}, [INPUT_COSTS] = {"set"}};
static const struct {
    const char *name, *verb, *fixed;
    const char *own[7];
    Input input;
    bool tells; ///< how far it is
} studies[] = {
    {"faults", "faults", "--json", {"threads"}, INPUT_RIG, true},
    {"bleed", "bleed", "--json", {"filter", "!prefilled"}, INPUT_RIG, true},
    {"filter", "filter", "--json", {"dirt"}, INPUT_RIG, true},
    {"tanks", "tanks", "--json", {NULL}, INPUT_RIG, true},
    {"size", "size", "--json", {"for", "vary", "by", "point", "drive"}, INPUT_RIG, true},
    {"wire", "wire", "--json", {"!faults"}, INPUT_RIG},
    {"schematic", "wire", "--svg=-", {NULL}, INPUT_RIG},
    {"batch", "batch", "--json", {"litres"}, INPUT_YARD},
    {"cost", "cost", "--json", {"samples", "from", "to", "vehicle", "?log", "?yard"}, INPUT_COSTS},
};

typedef struct Arguments {
    char *list[MAX_ARGUMENTS + 1];
    int count;
    bool has_failed;
} Arguments;

static void add(Arguments *a, const char *name, const char *value) {
    char *text = NULL;
    if (a->count < MAX_ARGUMENTS) {
        const size_t size = strlen(name) + (value != NULL ? strlen(value) + 1 : 0) + 1;
        text = malloc(size);
        if (text != NULL) {
            (void)snprintf(text, size, "%s%s%s", name, value != NULL ? "=" : "", value != NULL ? value : "");
            a->list[a->count++] = text;
        }
    }
    a->has_failed = a->has_failed || text == NULL;
}

static void clear(Arguments *a) {
    for (int i = 0; i < a->count; i++) {
        free(a->list[i]);
    }
}

/// The file of this page that an option stands for; NULL when there is none yet.
static const char *own_file(const OwPage *page, const char *key) {
    const char *path = strcmp(key, "log") == 0 ? page->settings.book : page->settings.yard;
    return path != NULL && access(path, R_OK) == 0 ? path : NULL;
}

/// Puts the options that the verb knows; false with the wrong key.
static bool put_options(Arguments *a, const OwPage *page, const json_t *options, const char *const *known,
                        const char **wrong) {
    for (int i = 0; known[i] != NULL; i++) {
        const bool is_own = known[i][0] == '?', is_flag = known[i][0] == '!' || is_own;
        const char *key = known[i] + (is_flag ? 1 : 0);
        const json_t *value = json_object_get(options, key);
        char name[40];
        (void)snprintf(name, sizeof name, "--%s", key);
        if (value == NULL || json_is_null(value) || json_is_false(value)) {
            continue;
        }
        if (is_own && json_is_true(value)) {
            if (own_file(page, key) != NULL) {
                add(a, name, own_file(page, key));
            }
        } else if (is_flag && json_is_true(value)) {
            add(a, name, NULL);
        } else if (!is_flag && json_is_string(value)) {
            add(a, name, json_string_value(value));
        } else if (!is_flag && json_is_integer(value)) {
            char number[32];
            (void)snprintf(number, sizeof number, "%lld", (long long)json_integer_value(value));
            add(a, name, number);
        } else if (!is_flag && json_is_array(value)) {
            for (size_t k = 0; k < json_array_size(value); k++) {
                const char *text = json_string_value(json_array_get(value, k));
                if (text == NULL) {
                    *wrong = key;
                    return false;
                }
                add(a, name, text);
            }
        } else {
            *wrong = key;
            return false;
        }
    }
    return true;
}

/// A pipe whose ends no child inherits by itself; the one to write in stands far from the descriptors that a
/// child is given. Both are -1 without room: then nothing is told.
static void open_pipe(int ends[2]) {
    int near[2];
    ends[0] = ends[1] = -1;
    if (pipe(near) != 0) {
        return;
    }
    ends[0] = fcntl(near[0], F_DUPFD_CLOEXEC, 10);
    ends[1] = fcntl(near[1], F_DUPFD_CLOEXEC, 10);
    (void)close(near[0]);
    (void)close(near[1]);
    if (ends[0] >= 0) {
        (void)fcntl(ends[0], F_SETFL, O_NONBLOCK);
    }
}

static void close_end(int *end) {
    if (*end >= 0) {
        (void)close(*end);
        *end = -1;
    }
}

/// The share in the last whole line that has come; `before` when none has.
static double read_progress(int end, double before) {
    char text[512];
    const ssize_t size = end >= 0 ? read(end, text, sizeof text - 1) : 0;
    if (size <= 0) {
        return before;
    }
    text[size] = '\0';
    char *last = strrchr(text, '\n');
    if (last == NULL) {
        return before;
    }
    *last = '\0';
    const char *line = strrchr(text, '\n');
    const double share = strtod(line != NULL ? line + 1 : text, NULL);
    return share > before && share <= 1.0 ? share : before;
}

/// Runs the command. Its exit code, -1 when it could not be run or was ended. What it tells of its progress
/// comes through `told`, when that is open.
static int run_child(OwJob *job, const OwPage *page, char *const *arguments, FILE *rig, FILE *out, FILE *err,
                     int told[2]) {
    posix_spawn_file_actions_t actions;
    posix_spawnattr_t attributes;
    sigset_t none;
    pid_t child = -1;
    int state = 0;
    sigemptyset(&none);
    posix_spawn_file_actions_init(&actions);
    posix_spawnattr_init(&attributes);
    posix_spawn_file_actions_addopen(&actions, STDIN_FILENO, "/dev/null", O_RDONLY, 0);
    posix_spawn_file_actions_adddup2(&actions, fileno(out), STDOUT_FILENO);
    posix_spawn_file_actions_adddup2(&actions, fileno(err), STDERR_FILENO);
    posix_spawn_file_actions_adddup2(&actions, fileno(rig), RIG_FILE);
    if (told[1] >= 0) {
        posix_spawn_file_actions_adddup2(&actions, told[1], PROGRESS);
    }
    // A group of its own: an interrupt at the terminal ends the server, which then ends its jobs.
    posix_spawnattr_setflags(&attributes, POSIX_SPAWN_SETPGROUP | POSIX_SPAWN_SETSIGMASK);
    posix_spawnattr_setpgroup(&attributes, 0);
    posix_spawnattr_setsigmask(&attributes, &none);
    const char *program = page->settings.program != NULL ? page->settings.program : "/proc/self/exe";
    const int spawned = posix_spawn(&child, program, &actions, &attributes, arguments, environ);
    posix_spawn_file_actions_destroy(&actions);
    posix_spawnattr_destroy(&attributes);
    close_end(&told[1]);
    if (spawned != 0) {
        ow_job_say(job, "failed", "the command cannot be run: %s", strerror(spawned));
        return -1;
    }
    bool is_ended = false, is_killed = false;
    double share = 0.0;
    while (!is_ended) {
        const pid_t done = waitpid(child, &state, WNOHANG);
        is_ended = done == child || (done < 0 && errno != EINTR);
        share = read_progress(told[0], share);
        if (!is_ended && !is_killed && !ow_job_progress(job, share)) {
            (void)kill(child, SIGKILL);
            is_killed = true;
        }
        if (!is_ended) {
            const struct timespec pause = {0, 10000000};
            (void)nanosleep(&pause, NULL);
        }
    }
    return !is_killed && WIFEXITED(state) ? WEXITSTATUS(state) : -1;
}

/// A file without a name that no child inherits by itself.
static FILE *open_scratch(void) {
    FILE *file = tmpfile();
    if (file != NULL) {
        (void)fcntl(fileno(file), F_SETFD, FD_CLOEXEC);
    }
    return file;
}

/// What the child wrote. NULL when there is nothing or too much of it.
static char *read_back(FILE *file, size_t *size) {
    struct stat info;
    if (fstat(fileno(file), &info) != 0 || info.st_size <= 0 || (size_t)info.st_size > MAX_RESULT) {
        return NULL;
    }
    char *text = malloc((size_t)info.st_size + 1);
    rewind(file);
    *size = text != NULL ? fread(text, 1, (size_t)info.st_size, file) : 0;
    if (text != NULL) {
        text[*size] = '\0';
    }
    return text;
}

/// The command's exit codes 0 and 1 carry a result.
static OwStatus take_result(OwJob *job, int code, bool is_json, FILE *out_file, FILE *err_file,
                            OwBuffer *out) {
    size_t size = 0, said_size = 0;
    char *text = read_back(out_file, &size), *said = read_back(err_file, &said_size);
    OwStatus status = OW_ERROR_NO_SOLUTION;
    json_t *shown = NULL;
    if ((code == 0 || code == 1) && text != NULL) {
        shown =
            is_json ? json_loadb(text, size, 0, NULL) : json_pack("{s:o}", "svg", json_stringn(text, size));
        if (json_is_object(shown) && json_object_get(shown, "rig_faults") == NULL) {
            status = OW_OK;
            (void)json_object_set_new(shown, "rig_faults", json_array());
            ow_page_dump(shown, out);
        }
    }
    if (status != OW_OK && code != -1) {
        const int first = said != NULL ? (int)strcspn(said, "\n") : 0;
        ow_job_say(job, "failed", "%.*s", first > 0 ? first : 36,
                   first > 0 ? said : "the command gave no answer to read");
    }
    json_decref(shown);
    free(text);
    free(said);
    return status;
}

/// A cost file may name a yard file: here only one that lies beside it, by its plain name.
static void check_yard(const OwCostPlan *plan, OwFaults *faults) {
    if (strchr(plan->yard, '/') != NULL || plan->yard[0] == '.') {
        OwFault fault = {.status = OW_ERROR_VALUE, .part = "yard"};
        (void)snprintf(fault.message, sizeof fault.message, "yard: the page reads no file of another folder");
        (void)snprintf(fault.remedy, sizeof fault.remedy, "put the yard file beside the cost file");
        (void)ow_faults_add(faults, &fault);
    }
}

/// Reads a text as what the study takes. True when it can be used. `yard` (200 bytes) gets the yard file that
/// a cost file names.
static bool can_read(OwPage *page, Input input, const char *text, size_t size, char *yard, OwFaults *faults) {
    if (input == INPUT_RIG) {
        OwRig *rig = NULL;
        const OwStatus status = ow_page_read_rig(page, text, size, NULL, NULL, &rig, faults);
        ow_rig_destroy(&rig);
        return status == OW_OK;
    }
    OwUnits *units = ow_page_take_units(page);
    if (input == INPUT_YARD) {
        OwYard *its_yard = NULL;
        const OwStatus status =
            units != NULL ? ow_yard_read_text(text, size, "yard", units, &its_yard, faults) : OW_ERROR_MEMORY;
        ow_yard_destroy(&its_yard);
        ow_page_give_units(page, units);
        return status == OW_OK;
    }
    OwCostPlan *plan = calloc(1, sizeof *plan);
    bool is_good =
        units != NULL && plan != NULL && ow_cost_read_text(text, size, "costs", units, plan, faults) == OW_OK;
    if (is_good) {
        check_yard(plan, faults);
        is_good = faults->errors == 0;
        (void)snprintf(yard, 200, "%s", plan->yard);
    }
    free(plan);
    ow_page_give_units(page, units);
    return is_good;
}

static bool has_faults(OwPage *page, Input input, const char *text, size_t size, char *yard, OwBuffer *out) {
    OwFaults faults = {0};
    const bool is_bad = !can_read(page, input, text, size, yard, &faults);
    if (is_bad) {
        json_t *o = json_pack("{s:o}", "rig_faults", ow_page_faults(&faults, text, size));
        ow_page_dump(o, out);
        json_decref(o);
    }
    ow_faults_clear(&faults);
    return is_bad;
}

static OwStatus run_study(OwJob *job, OwPage *page, const json_t *ask, OwBuffer *out) {
    bool is_wrong = false;
    const char *text = ow_ask_text(ask, "text", &is_wrong), *verb = ow_ask_text(ask, "verb", &is_wrong),
               *units = ow_ask_text(ask, "units", &is_wrong), *wrong = NULL;
    const json_t *options = json_object_get(ask, "options");
    size_t which = 0;
    while (which + 1 < sizeof studies / sizeof studies[0] && strcmp(studies[which].name, verb) != 0) {
        which++;
    }
    if (is_wrong || text == NULL) {
        ow_job_say(job, "bad_request", "\"text\" is missing or of the wrong type");
        return OW_ERROR_USE;
    }
    const size_t size = json_string_length(json_object_get(ask, "text"));
    char yard[200] = "", beside[1300];
    if (has_faults(page, studies[which].input, text, size, yard, out)) {
        return OW_OK;
    }
    Arguments a = {.count = 0};
    OwStatus status = OW_ERROR_USE;
    add(&a, "oilwright", NULL);
    add(&a, studies[which].verb, NULL);
    add(&a, "/dev/fd/3", NULL);
    add(&a, studies[which].fixed, NULL);
    if (units != NULL) {
        add(&a, "--units", strcmp(units, "us") == 0 ? "us" : "metric");
    }
    if (yard[0] != '\0' && !json_is_true(json_object_get(options, "yard"))) {
        const char *costs = page->settings.costs, *slash = costs != NULL ? strrchr(costs, '/') : NULL;
        const char *folder = costs != NULL ? "." : page->settings.folder;
        if (slash != NULL) {
            (void)snprintf(beside, sizeof beside, "%.*s/%s", (int)(slash - costs), costs, yard);
        } else {
            (void)snprintf(beside, sizeof beside, "%s/%s", folder, yard);
        }
        add(&a, "--yard", beside);
    }
    int told[2] = {-1, -1};
    if (studies[which].tells) {
        open_pipe(told);
        if (told[0] >= 0 && told[1] >= 0) {
            add(&a, PROGRESS_OPTION, NULL);
        }
    }
    FILE *rig = open_scratch(), *out_file = open_scratch(), *err_file = open_scratch();
    if (!put_options(&a, page, options, common[studies[which].input], &wrong) ||
        !put_options(&a, page, options, studies[which].own, &wrong)) {
        ow_job_say(job, "bad_request", "options: \"%s\" is of the wrong type", wrong);
    } else if (a.has_failed || rig == NULL || out_file == NULL || err_file == NULL ||
               fwrite(text, 1, size, rig) != size || fflush(rig) != 0) {
        ow_job_say(job, "memory", "no room for the job");
    } else {
        rewind(rig);
        const int code = run_child(job, page, a.list, rig, out_file, err_file, told);
        status = take_result(job, code, strcmp(studies[which].fixed, "--json") == 0, out_file, err_file, out);
    }
    if (rig != NULL) {
        (void)fclose(rig);
    }
    if (out_file != NULL) {
        (void)fclose(out_file);
    }
    if (err_file != NULL) {
        (void)fclose(err_file);
    }
    close_end(&told[0]);
    close_end(&told[1]);
    clear(&a);
    return status;
}

static OwStatus run_morning(OwJob *job, OwPage *page, const json_t *ask, OwBuffer *out) {
    bool is_wrong = false;
    const char *wrong = "text";
    OwMorningAsk morning = {.text = ow_ask_text(ask, "text", &is_wrong), .samples = 300, .has_series = true};
    morning.size = json_string_length(json_object_get(ask, "text"));
    if (morning.text == NULL || !ow_morning_ask(ask, &morning, &wrong)) {
        ow_job_say(job, "bad_request", "\"%s\" is missing or of the wrong type", wrong);
        return OW_ERROR_USE;
    }
    const OwProgressCall progress = {ow_job_progress, job};
    return ow_page_morning(page, &morning, &progress, out, NULL);
}

static OwStatus run_compare(OwJob *job, OwPage *page, const json_t *ask, OwBuffer *out) {
    const char *wrong = NULL;
    const OwProgressCall progress = {ow_job_progress, job};
    const OwStatus status = ow_page_compare(page, ask, &progress, out, &wrong);
    if (status == OW_ERROR_USE) {
        ow_job_say(job, "bad_request", "\"%s\" is missing or of the wrong type", wrong);
    }
    return status;
}

const OwJobVerb ow_job_verbs[] = {
    {"morning", run_morning}, {"compare", run_compare}, {"faults", run_study}, {"bleed", run_study},
    {"filter", run_study},    {"tanks", run_study},     {"size", run_study},   {"wire", run_study},
    {"schematic", run_study}, {"batch", run_study},     {"cost", run_study},   {NULL, NULL},
};
