// SPDX-License-Identifier: GPL-3.0-or-later
// Answers, refusals and bodies.
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "page_impl.h"

static int add_bytes(const char *bytes, size_t size, void *out) {
    OwBuffer *buffer = out;
    ow_buffer_add(buffer, bytes, size);
    return buffer->has_failed ? -1 : 0;
}

void ow_page_dump(const json_t *object, OwBuffer *out) {
    if (object == NULL || json_dump_callback(object, add_bytes, out,
                                             JSON_COMPACT | JSON_ENCODE_ANY | JSON_REAL_PRECISION(10)) != 0) {
        out->has_failed = true;
    }
}

void ow_call_out_of_memory(OwCall *call) {
    static const char text[] =
        "{\"error\":{\"code\":\"memory\",\"message\":\"out of memory\",\"remedy\":\"close other programs\"}}";
    call->answer->status = 500;
    free(call->answer->body);
    call->answer->body = NULL;
    call->answer->static_body = text;
    call->answer->size = sizeof text - 1;
    ow_http_answer_header(call->answer, "Content-Type", "application/json");
}

void ow_call_answer_text(OwCall *call, int status, OwBuffer *text) {
    if (text->has_failed || text->data == NULL) {
        ow_buffer_clear(text);
        ow_call_out_of_memory(call);
        return;
    }
    call->answer->status = status;
    call->answer->body = text->data;
    call->answer->size = text->size;
    ow_http_answer_header(call->answer, "Content-Type", "application/json");
    ow_http_answer_header(call->answer, "Cache-Control", "no-store");
    *text = (OwBuffer){0};
}

void ow_call_answer(OwCall *call, int status, json_t *object) {
    OwBuffer text = {0};
    ow_page_dump(object, &text);
    json_decref(object);
    ow_call_answer_text(call, status, &text);
}

void ow_call_refuse(OwCall *call, int status, const char *code, const char *remedy, const char *format, ...) {
    char message[512];
    va_list arguments;
    va_start(arguments, format);
    (void)vsnprintf(message, sizeof message, format, arguments);
    va_end(arguments);
    json_t *text = json_string(message); // NULL when a cut fell inside a character
    ow_call_answer(call, status,
                   json_pack("{s:{s:s, s:o, s:s}}", "error", "code", code, "message",
                             text != NULL ? text : json_string("the request cannot be served"), "remedy",
                             remedy));
}

bool ow_call_read_body(OwCall *call) {
    json_error_t error;
    if (call->request->is_too_large) {
        ow_call_refuse(call, 413, "too_large", "a rig file is a few kilobytes of text",
                       "the body is larger than 1 MiB");
        return false;
    }
    call->body = json_loadb(call->request->body != NULL ? call->request->body : "", call->request->body_size,
                            JSON_REJECT_DUPLICATES, &error);
    if (call->body == NULL) {
        ow_call_refuse(call, 400, "bad_json", "", "the body is not JSON: %s (line %d, column %d)", error.text,
                       error.line, error.column);
        return false;
    }
    if (!json_is_object(call->body)) {
        ow_call_refuse(call, 400, "bad_request", "", "the body is not a JSON object");
        return false;
    }
    return true;
}

const char *ow_ask_text(const json_t *object, const char *key, bool *is_wrong) {
    const json_t *value = json_object_get(object, key);
    if (value == NULL || json_is_null(value)) {
        return NULL;
    }
    if (!json_is_string(value)) {
        *is_wrong = true;
        return NULL;
    }
    return json_string_value(value);
}

void ow_call_wrong_key(OwCall *call, const char *key) {
    ow_call_refuse(call, 400, "bad_request", "docs/page-api.md says what it takes",
                   "\"%.60s\" is of the wrong type", key);
}

const char *ow_call_text(OwCall *call, const char *key) {
    bool is_wrong = false;
    const char *text = ow_ask_text(call->body, key, &is_wrong);
    if (is_wrong) {
        ow_call_wrong_key(call, key);
    } else if (text == NULL) {
        ow_call_refuse(call, 400, "bad_request", "", "\"%.60s\" is missing", key);
    }
    return text;
}
