// SPDX-License-Identifier: GPL-3.0-or-later
// POST /api/compare: several mornings side by side.
#include <string.h>

#include "page_impl.h"

#define MAX_TEXTS 6

/// The keys of one text over those of the whole request.
static bool read_one(const json_t *whole, const json_t *one, OwMorningAsk *ask, const char **wrong) {
    bool is_wrong = false;
    *ask = (OwMorningAsk){.samples = 200, .has_series = true};
    json_t *merged = json_copy((json_t *)(uintptr_t)whole);
    if (!json_is_object(one) || merged == NULL || json_object_update(merged, (json_t *)(uintptr_t)one) != 0) {
        json_decref(merged);
        *wrong = "texts";
        return false;
    }
    ask->text = ow_ask_text(one, "text", &is_wrong);
    ask->size = json_string_length(json_object_get(one, "text"));
    const bool is_good = ow_morning_ask(merged, ask, wrong);
    json_decref(merged); // its values live on in the two objects
    if (is_good && ask->text == NULL) {
        *wrong = "texts";
    }
    return is_good && ask->text != NULL;
}

/// One run's share within the whole.
typedef struct Slice {
    const OwProgressCall *whole;
    double begun, count;
} Slice;

static bool progress_of_slice(void *context, double share) {
    const Slice *slice = context;
    return slice->whole->call == NULL ||
           slice->whole->call(slice->whole->context, (slice->begun + share) / slice->count);
}

/// One row for every question that any run answers.
static json_t *rows_json(json_t *const *summaries, size_t count) {
    json_t *rows = json_array();
    for (int kind = 0; kind < OW_ANSWER_COUNT; kind++) {
        const char *key = ow_judge_kind_key((OwAnswerKind)kind);
        json_t *values = json_array(), *grades = json_array();
        const json_t *named = NULL;
        double best = 0.0;
        int better = -1, with_margin = 0;
        bool is_equal = true;
        for (size_t i = 0; i < count; i++) {
            const json_t *one = json_object_get(summaries[i], key);
            const json_t *tightness = json_object_get(one, "tightness");
            named = one != NULL ? one : named;
            (void)json_array_append_new(values,
                                        one != NULL ? json_copy(json_object_get(one, "value")) : json_null());
            (void)json_array_append_new(grades,
                                        one != NULL ? json_copy(json_object_get(one, "grade")) : json_null());
            if (json_is_number(tightness)) {
                const double margin = json_number_value(tightness);
                is_equal = is_equal && (with_margin == 0 || margin == best);
                if (with_margin++ == 0 || margin > best) {
                    best = margin;
                    better = (int)i;
                }
            }
        }
        if (named == NULL) {
            json_decref(values);
            json_decref(grades);
            continue;
        }
        (void)json_array_append_new(
            rows, json_pack("{s:s, s:O, s:O, s:o, s:o, s:o}", "kind", key, "question",
                            json_object_get(named, "question"), "quantity",
                            json_object_get(named, "quantity"), "values", values, "grades", grades, "better",
                            with_margin > 1 && !is_equal ? json_integer(better) : json_null()));
    }
    return rows;
}

OwStatus ow_page_compare(OwPage *page, const json_t *body, const OwProgressCall *progress, OwBuffer *out,
                         const char **wrong) {
    const json_t *texts = json_object_get(body, "texts");
    const size_t count = json_array_size(texts);
    json_t *summaries[MAX_TEXTS] = {NULL};
    OwStatus status = OW_OK;
    if (!json_is_array(texts) || count == 0 || count > MAX_TEXTS) {
        *wrong = "texts";
        return OW_ERROR_USE;
    }
    ow_buffer_text(out, "{\"runs\":[");
    for (size_t i = 0; i < count && status == OW_OK; i++) {
        const json_t *one = json_array_get(texts, i);
        OwMorningAsk ask;
        OwBuffer run = {0};
        if (!read_one(body, one, &ask, wrong)) {
            status = OW_ERROR_USE;
            break;
        }
        summaries[i] = json_object();
        Slice slice = {progress, (double)i, (double)count};
        const OwProgressCall its = {progress_of_slice, &slice};
        status = ow_page_morning(page, &ask, &its, &run, summaries[i]);
        if (status == OW_OK) {
            const json_t *label = json_object_get(one, "label");
            json_t *shown = json_is_string(label) ? json_copy((json_t *)(uintptr_t)label) : json_string("");
            ow_buffer_text(out, i > 0 ? ",{\"label\":" : "{\"label\":");
            ow_page_dump(shown, out);
            json_decref(shown);
            ow_buffer_text(out, ",");
            ow_buffer_add(out, run.data + 1, run.size - 1); // without its opening brace
        }
        ow_buffer_clear(&run);
    }
    if (status == OW_OK) {
        json_t *rows = rows_json(summaries, count);
        ow_buffer_text(out, "],\"rows\":");
        ow_page_dump(rows, out);
        json_decref(rows);
        ow_buffer_text(out, "}");
        status = out->has_failed ? OW_ERROR_MEMORY : OW_OK;
    }
    for (size_t i = 0; i < MAX_TEXTS; i++) {
        json_decref(summaries[i]);
    }
    return status;
}

void ow_api_compare(OwCall *call) {
    if (!ow_call_read_body(call)) {
        return;
    }
    OwBuffer out = {0};
    const char *wrong = NULL;
    OwDeadline deadline = ow_page_deadline(call->page);
    const OwProgressCall progress = {ow_page_in_time, &deadline};
    const OwStatus status = ow_page_compare(call->page, call->body, &progress, &out, &wrong);
    if (status == OW_OK) {
        ow_call_answer_text(call, 200, &out);
        return;
    }
    ow_buffer_clear(&out);
    if (status == OW_ERROR_USE) {
        ow_call_wrong_key(call, wrong);
    } else if (status == OW_ERROR_NO_SOLUTION) {
        ow_call_refuse(call, 503, "too_long", "run it as a job",
                       "these mornings take longer than a page waits for");
    } else {
        ow_call_out_of_memory(call);
    }
}
