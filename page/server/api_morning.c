// SPDX-License-Identifier: GPL-3.0-or-later
// POST /api/morning: what `oilwright morning --json` says, with the time series and the edits that mend.
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include "json_make.h"
#include "page_impl.h"

static double now_s(void) {
    struct timespec t;
    clock_gettime(CLOCK_MONOTONIC, &t);
    return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

OwDeadline ow_page_deadline(const OwPage *page) {
    return (OwDeadline){page, now_s() + page->settings.work_s, false};
}

bool ow_page_in_time(void *context, double share) {
    OwDeadline *deadline = context;
    (void)share;
    deadline->is_over =
        deadline->is_over || atomic_load(&deadline->page->is_closing) || now_s() > deadline->until_s;
    return !deadline->is_over;
}

bool ow_morning_ask(const json_t *object, OwMorningAsk *ask, const char **wrong_key) {
    static const char *const keys[] = {"oil", "soak", "drive", "until", "units"};
    const char *texts[5] = {NULL};
    for (int i = 0; i < 5; i++) {
        bool is_wrong = false;
        texts[i] = ow_ask_text(object, keys[i], &is_wrong);
        if (is_wrong) {
            *wrong_key = keys[i];
            return false;
        }
    }
    ask->asked.oil = texts[0];
    ask->asked.soak = texts[1];
    ask->asked.drive = texts[2];
    ask->asked.until = texts[3];
    if (texts[2] != NULL && strcmp(texts[2], "legs") != 0 && strcmp(texts[2], "nedc") != 0) {
        *wrong_key = "drive";
        return false;
    }
    if (texts[4] != NULL) {
        if (strcmp(texts[4], "us") != 0 && strcmp(texts[4], "metric") != 0) {
            *wrong_key = "units";
            return false;
        }
        ask->display = texts[4][0] == 'u' ? OW_DISPLAY_US : OW_DISPLAY_METRIC;
    }
    const json_t *samples = json_object_get(object, "samples"), *series = json_object_get(object, "series"),
                 *overrides = json_object_get(object, "overrides");
    if (samples != NULL && !json_is_null(samples)) {
        const json_int_t n = json_integer_value(samples);
        if (!json_is_integer(samples) || n < 2 || n > OW_PAGE_MAX_SAMPLES) {
            *wrong_key = "samples";
            return false;
        }
        ask->samples = (int)n;
    }
    if (series != NULL && !json_is_null(series)) {
        if (!json_is_boolean(series)) {
            *wrong_key = "series";
            return false;
        }
        ask->has_series = json_is_true(series);
    }
    if (overrides != NULL && !json_is_null(overrides)) {
        const size_t count = json_array_size(overrides);
        if (!json_is_array(overrides) || count > sizeof ask->set / sizeof ask->set[0]) {
            *wrong_key = "overrides";
            return false;
        }
        for (size_t i = 0; i < count; i++) {
            ask->set[i] = json_string_value(json_array_get(overrides, i));
            if (ask->set[i] == NULL) {
                *wrong_key = "overrides";
                return false;
            }
        }
        ask->asked.set_count = (int)count;
    }
    ask->asked.set = ask->set;
    return true;
}

/// The answer that the headline rests on: what fails first, else the tightest. -1 none.
static int deciding(const OwJudgement *j) {
    const OwAnswer *decides = ow_judge_deciding(j);
    return decides != NULL ? (int)(decides - j->answers) : -1;
}

static json_t *part_json(int part) {
    return part >= 0 ? json_integer(part) : json_null();
}

static json_t *verdict_json(const OwJudgement *j) {
    const int index = deciding(j);
    const OwAnswer *v = index >= 0 ? &j->answers[index] : NULL;
    json_t *mend = json_null();
    if (v != NULL && v->mend[0] != '\0') {
        json_t *edits = ow_page_mend(j, v);
        mend = json_pack("{s:s, s:o}", "text", v->mend, "edits", edits != NULL ? edits : json_null());
    }
    return json_pack("{s:s, s:s, s:s, s:o, s:o, s:o}", "grade", ow_judge_grade_text(j->grade), "headline",
                     j->headline, "advice", j->advice, "part", part_json(v != NULL ? v->part : -1), "answer",
                     part_json(index), "mend", mend);
}

static json_t *answers_json(const OwJudgement *j) {
    json_t *list = json_array();
    for (int i = 0; i < j->answer_count; i++) {
        const OwAnswer *v = &j->answers[i];
        json_t *edits = ow_page_mend(j, v);
        (void)json_array_append_new(list, json_pack("{s:s, s:o, s:o}", "kind", ow_judge_kind_key(v->kind),
                                                    "part", part_json(v->part), "mend_edits",
                                                    edits != NULL ? edits : json_null()));
    }
    return list;
}

static json_t *limits_json(const OwLimits *l) {
    return json_pack("{s:f, s:f, s:f, s:f, s:f, s:f, s:f, s:f, s:f}", "start_kinematic_m2_s",
                     l->start_kinematic_m2_s, "run_kinematic_m2_s", l->run_kinematic_m2_s, "warm_up_s",
                     l->warm_up_s, "ready_k", l->ready_k, "suction_floor_pa", l->suction_floor_pa, "min_fill",
                     l->min_fill, "inlet_max_pa", l->inlet_max_pa, "oil_max_k", l->oil_max_k,
                     "preheat_charge_share", l->preheat_charge_share);
}

/// What compares designs: one row an answer kind.
static void summarise(const OwJudgement *j, json_t *summary) {
    for (int i = 0; i < j->answer_count; i++) {
        const OwAnswer *v = &j->answers[i];
        const char *key = ow_judge_kind_key(v->kind);
        if (json_object_get(summary, key) == NULL && v->has_value) { // of several the first, as in the report
            (void)json_object_set_new(summary, key,
                                      json_pack("{s:s, s:s, s:f, s:o, s:s}", "question",
                                                ow_judge_kind_text(v->kind), "quantity",
                                                ow_quantity_key(v->quantity), "value", v->value, "tightness",
                                                v->has_limit ? json_real(v->tightness) : json_null(), "grade",
                                                ow_judge_grade_text(v->grade)));
        }
    }
}

static void write_object(const char *key, json_t *object, OwBuffer *out) {
    ow_buffer_format(out, ",\"%s\":", key);
    ow_page_dump(object, out);
    json_decref(object);
}

static OwStatus write_judgement(const OwMorningAsk *ask, const OwRecord *record, const OwPlan *plan,
                                OwBuffer *out, json_t *summary) {
    OwJudgement *j = NULL;
    OwStatus status = ow_judge_create(record, ask->display, &j);
    if (status != OW_OK) {
        return status;
    }
    OwReportCaution caution[OW_REPORT_CAUTIONS];
    const int caution_count = ow_report_caution_list(j, caution);
    json_t *cautions = json_array();
    for (int i = 0; i < caution_count; i++) {
        (void)json_array_append_new(cautions, json_string(caution[i].text)); // a NULL is refused and left out
    }
    write_object("morning", ow_json_make(j), out);
    write_object("verdict", verdict_json(j), out);
    write_object("answers", answers_json(j), out);
    write_object("cautions", cautions, out);
    write_object("limits", limits_json(&record->rig->limits), out);
    if (ask->has_series) {
        ow_buffer_text(out, ",\"series\":");
        status = ow_page_series(j, plan, ask->samples, out);
    }
    if (summary != NULL) {
        summarise(j, summary);
    }
    ow_judge_destroy(&j);
    return out->has_failed ? OW_ERROR_MEMORY : status;
}

OwStatus ow_page_morning(OwPage *page, const OwMorningAsk *ask, const OwProgressCall *progress, OwBuffer *out,
                         json_t *summary) {
    const double begin_s = now_s();
    OwMorningSettings settings = ow_morning_default();
    OwFaults faults = {0};
    OwRig *rig = NULL;
    OwPlan *plan = NULL;
    OwRecord *record = NULL;
    settings.progress = progress->call;
    settings.context = progress->context;
    OwStatus status = ow_page_read_rig(page, ask->text, ask->size, &ask->asked, &settings, &rig, &faults);
    if (status == OW_OK) {
        status = ow_plan_create(rig, &plan, &faults);
    }
    if (status == OW_OK) {
        status = ow_morning_run(plan, &settings, &record, &faults);
    }
    // The last word of a run that was stopped is the caller's: what it reached is no answer.
    const bool is_stopped = progress->call != NULL && !progress->call(progress->context, 1.0);
    ow_buffer_text(out, "{\"faults\":");
    json_t *list = ow_page_faults(&faults, ask->text, ask->size);
    if (record == NULL && faults.errors == 0 && status != OW_ERROR_MEMORY && status != OW_OK) {
        (void)json_array_append_new(list, json_pack("{s:s, s:n, s:n, s:n, s:n, s:n, s:s, s:s}", "severity",
                                                    "error", "line", "column", "part", "section", "path",
                                                    "message", ow_status_text(status), "remedy", ""));
    }
    ow_page_dump(list, out);
    json_decref(list);
    if (record != NULL && !is_stopped && status != OW_ERROR_MEMORY) {
        status = write_judgement(ask, record, plan, out, summary);
    }
    ow_buffer_format(out, ",\"took_ms\":%.2f}", 1e3 * (now_s() - begin_s));
    ow_record_destroy(&record);
    ow_plan_destroy(&plan);
    ow_rig_destroy(&rig);
    ow_faults_clear(&faults);
    if (is_stopped) {
        return OW_ERROR_NO_SOLUTION;
    }
    return status == OW_ERROR_MEMORY || out->has_failed ? OW_ERROR_MEMORY : OW_OK;
}

void ow_api_morning(OwCall *call) {
    const char *text = ow_call_read_body(call) ? ow_call_text(call, "text") : NULL;
    const char *wrong = NULL;
    OwMorningAsk ask = {.text = text, .samples = 300, .has_series = true};
    if (text == NULL) {
        return;
    }
    ask.size = json_string_length(json_object_get(call->body, "text"));
    if (!ow_morning_ask(call->body, &ask, &wrong)) {
        ow_call_wrong_key(call, wrong);
        return;
    }
    OwBuffer out = {0};
    OwDeadline deadline = ow_page_deadline(call->page);
    const OwProgressCall progress = {ow_page_in_time, &deadline};
    const OwStatus status = ow_page_morning(call->page, &ask, &progress, &out, NULL);
    if (status == OW_ERROR_NO_SOLUTION) {
        ow_buffer_clear(&out);
        ow_call_refuse(call, 503, "too_long", "run it as a job, or give the hoses fewer cells",
                       "this morning takes longer than a page waits for");
    } else if (status != OW_OK) {
        ow_buffer_clear(&out);
        ow_call_out_of_memory(call);
    } else {
        ow_call_answer_text(call, 200, &out);
    }
}
