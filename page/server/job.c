// SPDX-License-Identifier: GPL-3.0-or-later
// Long work: a thread a job, few at once, the last results kept.
#include <sodium.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "page_impl.h"

#define MAX_RUNNING 4
#define MAX_JOBS 20 ///< running and kept

typedef enum JobState { JOB_FREE, JOB_RUNNING, JOB_DONE, JOB_FAILED, JOB_CANCELLED } JobState;
static const char *const state_names[] = {"free", "running", "done", "failed", "cancelled"};

struct OwJob {
    JobState state;
    char id[24];
    long number; ///< order of begin
    const OwJobVerb *verb;
    OwJobs *jobs;
    json_t *ask;
    pthread_t thread;
    bool is_joinable, is_cancelled, is_forgotten;
    double share;
    OwBuffer result;
    char code[32], message[300];
};

struct OwJobs {
    OwPage *page;
    pthread_mutex_t lock; ///< guards every job's fields but `ask` and the running thread's own result
    pthread_cond_t idle;  ///< a job has ended
    OwJob jobs[MAX_JOBS];
    int running;
    long next;
};

bool ow_job_progress(void *context, double share) {
    OwJob *job = context;
    pthread_mutex_lock(&job->jobs->lock);
    if (share > job->share && share <= 1.0) {
        job->share = share;
    }
    const bool goes_on = !job->is_cancelled;
    pthread_mutex_unlock(&job->jobs->lock);
    return goes_on;
}

void ow_job_say(OwJob *job, const char *code, const char *format, ...) {
    va_list arguments;
    va_start(arguments, format);
    pthread_mutex_lock(&job->jobs->lock);
    (void)snprintf(job->code, sizeof job->code, "%s", code);
    (void)vsnprintf(job->message, sizeof job->message, format, arguments);
    pthread_mutex_unlock(&job->jobs->lock);
    va_end(arguments);
}

/// Frees what a job holds; its thread has ended.
static void forget(OwJob *job) {
    if (job->is_joinable) {
        pthread_join(job->thread, NULL);
    }
    json_decref(job->ask);
    ow_buffer_clear(&job->result);
    memset(job, 0, sizeof *job);
}

static void *work(void *context) {
    OwJob *job = context;
    OwBuffer result = {0};
    const OwStatus status = job->verb->run(job, job->jobs->page, job->ask, &result);
    pthread_mutex_lock(&job->jobs->lock);
    if (job->is_cancelled) {
        job->state = JOB_CANCELLED;
    } else if (status == OW_OK && !result.has_failed && result.data != NULL) {
        job->state = JOB_DONE;
        job->share = 1.0;
        job->result = result;
        result = (OwBuffer){0};
    } else {
        job->state = JOB_FAILED;
        if (job->code[0] == '\0') {
            (void)snprintf(job->code, sizeof job->code, "%s",
                           status == OW_ERROR_MEMORY ? "memory" : "failed");
            (void)snprintf(job->message, sizeof job->message, "%s", ow_status_text(status));
        }
    }
    job->jobs->running--;
    pthread_cond_broadcast(&job->jobs->idle);
    pthread_mutex_unlock(&job->jobs->lock);
    ow_buffer_clear(&result);
    return NULL;
}

OwStatus ow_jobs_create(OwPage *page, OwJobs **jobs) {
    OwJobs *made = calloc(1, sizeof *made);
    if (made == NULL) {
        return OW_ERROR_MEMORY;
    }
    made->page = page;
    pthread_mutex_init(&made->lock, NULL);
    pthread_cond_init(&made->idle, NULL);
    *jobs = made;
    return OW_OK;
}

void ow_jobs_destroy(OwJobs **jobs) {
    if (jobs == NULL || *jobs == NULL) {
        return;
    }
    OwJobs *all = *jobs;
    pthread_mutex_lock(&all->lock);
    for (int i = 0; i < MAX_JOBS; i++) {
        all->jobs[i].is_cancelled = true;
    }
    while (all->running > 0) {
        pthread_cond_wait(&all->idle, &all->lock);
    }
    pthread_mutex_unlock(&all->lock);
    for (int i = 0; i < MAX_JOBS; i++) {
        if (all->jobs[i].state != JOB_FREE) {
            forget(&all->jobs[i]);
        }
    }
    pthread_cond_destroy(&all->idle);
    pthread_mutex_destroy(&all->lock);
    free(all);
    *jobs = NULL;
}

/// A place for a new job: a free one, else the oldest that has ended. Lock held.
static OwJob *find_place(OwJobs *jobs) {
    OwJob *oldest = NULL;
    for (int i = 0; i < MAX_JOBS; i++) {
        OwJob *job = &jobs->jobs[i];
        if (job->state == JOB_FREE) {
            return job;
        }
        if (job->state != JOB_RUNNING && (oldest == NULL || job->number < oldest->number)) {
            oldest = job;
        }
    }
    if (oldest != NULL) {
        forget(oldest);
    }
    return oldest;
}

static OwJob *find_job(OwJobs *jobs, const char *id) {
    for (int i = 0; i < MAX_JOBS; i++) {
        if (jobs->jobs[i].state != JOB_FREE && !jobs->jobs[i].is_forgotten &&
            strcmp(jobs->jobs[i].id, id) == 0) {
            return &jobs->jobs[i];
        }
    }
    return NULL;
}

void ow_api_job_post(OwCall *call) {
    const char *name = ow_call_read_body(call) ? ow_call_text(call, "verb") : NULL;
    const OwJobVerb *verb = ow_job_verbs;
    OwJobs *jobs = call->page->jobs;
    if (name == NULL) {
        return;
    }
    while (verb->name != NULL && strcmp(verb->name, name) != 0) {
        verb++;
    }
    if (verb->name == NULL) {
        ow_call_refuse(call, 404, "not_found", "/api/start lists the verbs",
                       "there is no such work in this build");
        return;
    }
    unsigned char random[10];
    char id[24];
    randombytes_buf(random, sizeof random);
    (void)sodium_bin2hex(id, sizeof id, random, sizeof random);
    pthread_mutex_lock(&jobs->lock);
    OwJob *job = jobs->running < MAX_RUNNING ? find_place(jobs) : NULL;
    if (job != NULL) {
        memcpy(job->id, id, sizeof id);
        job->number = jobs->next++;
        job->verb = verb;
        job->jobs = jobs;
        job->ask = json_deep_copy(call->body);
        job->state = JOB_RUNNING;
        jobs->running++;
        job->is_joinable = job->ask != NULL && pthread_create(&job->thread, NULL, work, job) == 0;
        if (!job->is_joinable) {
            jobs->running--;
            forget(job);
            job = NULL;
        }
    }
    pthread_mutex_unlock(&jobs->lock);
    if (job == NULL) {
        ow_call_refuse(call, 503, "busy", "wait until one has ended, or cancel it", "%d jobs run already",
                       MAX_RUNNING);
        return;
    }
    ow_call_answer(call, 202, json_pack("{s:s, s:s, s:s}", "id", id, "verb", verb->name, "state", "running"));
}

void ow_api_job_get(OwCall *call) {
    const char *id = call->request->path + strlen("/api/job/");
    OwJobs *jobs = call->page->jobs;
    OwBuffer out = {0};
    pthread_mutex_lock(&jobs->lock);
    const OwJob *job = find_job(jobs, id);
    if (job != NULL) {
        ow_buffer_format(&out, "{\"id\":\"%s\",\"verb\":\"%s\",\"state\":\"%s\",\"progress\":%.4f", job->id,
                         job->verb->name, state_names[job->state], job->share);
        if (job->state == JOB_DONE) {
            ow_buffer_text(&out, ",\"result\":");
            ow_buffer_add(&out, job->result.data, job->result.size);
        } else if (job->state == JOB_FAILED) {
            json_t *error =
                json_pack("{s:s, s:s, s:s}", "code", job->code, "message", job->message, "remedy", "");
            ow_buffer_text(&out, ",\"error\":");
            ow_page_dump(error, &out);
            json_decref(error);
        }
        ow_buffer_text(&out, "}");
    }
    pthread_mutex_unlock(&jobs->lock);
    if (out.data == NULL && !out.has_failed) {
        ow_call_refuse(call, 404, "not_found", "only the last results are kept", "there is no such job");
        return;
    }
    ow_call_answer_text(call, 200, &out);
}

void ow_api_job_delete(OwCall *call) {
    const char *id = call->request->path + strlen("/api/job/");
    OwJobs *jobs = call->page->jobs;
    pthread_mutex_lock(&jobs->lock);
    OwJob *job = find_job(jobs, id);
    const bool is_there = job != NULL;
    if (is_there) {
        job->is_cancelled =
            true; // a running one ends at its next step and is cleared when its place is needed
        job->is_forgotten = true;
        if (job->state != JOB_RUNNING) {
            forget(job);
        }
    }
    pthread_mutex_unlock(&jobs->lock);
    if (!is_there) {
        ow_call_refuse(call, 404, "not_found", "only the last results are kept", "there is no such job");
        return;
    }
    ow_call_answer(call, 200, json_pack("{s:s, s:s}", "id", id, "state", "cancelled"));
}
