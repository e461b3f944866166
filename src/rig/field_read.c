// SPDX-License-Identifier: GPL-3.0-or-later
// One text into one field: units, words, ranges, and what would have been right.
#include "base/text.h"
#include "rig/catalogue.h"

#include <stdio.h>
#include <string.h>

#define DETAIL 256

/// Joins the words of a NULL-terminated list: a, b or c.
static void join_words(const char *const *words, char *out, size_t size) {
    size_t used = 0;
    out[0] = '\0';
    for (int i = 0; words[i] != NULL && used < size; i++) {
        const char *glue = i == 0 ? "" : words[i + 1] == NULL ? " or " : ", ";
        used += (size_t)snprintf(out + used, size - used, "%s%s", glue, words[i]);
    }
}

OwStatus ow_quantity_read(const char *text, OwUnits *units, const OwField *like, double *si,
                          char wrong[DETAIL], char remedy[DETAIL]) {
    double value = 0.0;
    char why[DETAIL];
    if (like->none && strcmp(text, "none") == 0) {
        *si = 0.0;
        return OW_OK;
    }
    const OwStatus status = ow_units_read(units, text, like->quantity, like->bare, &value, why, sizeof why);
    if (status != OW_OK) {
        char *split = strstr(why, "; write for example");
        (void)ow_text_copy(remedy, DETAIL, split != NULL ? split + 2 : "");
        if (split != NULL) {
            *split = '\0';
        }
        (void)snprintf(wrong, DETAIL, "%s: %.200s", like->key, why);
        return status;
    }
    if (!ow_field_is_legal(like, value)) {
        char low[64], high[64];
        ow_units_write(like->low, like->quantity, OW_DISPLAY_METRIC, low, sizeof low);
        ow_units_write(like->high, like->quantity, OW_DISPLAY_METRIC, high, sizeof high);
        (void)snprintf(wrong, DETAIL, "%s: %.60s is out of range", like->key, text);
        (void)snprintf(remedy, DETAIL, "give %s to %s", low, high);
        return OW_ERROR_VALUE;
    }
    *si = value;
    return OW_OK;
}

static OwStatus read_word(const OwField *field, const char *text, void *base, char wrong[DETAIL],
                          char remedy[DETAIL]) {
    int count = 0;
    while (field->choices[count] != NULL) {
        if (strcmp(field->choices[count], text) == 0) {
            ow_field_store(field, base, count);
            return OW_OK;
        }
        count++;
    }
    char all[200];
    join_words(field->choices, all, sizeof all);
    const char *near = ow_text_nearest(text, field->choices, (size_t)count);
    (void)snprintf(wrong, DETAIL, "%s: \"%.60s\" is not known here", field->key, text);
    if (near != NULL) {
        (void)snprintf(remedy, DETAIL, "did you mean \"%s\"? Known are %s", near, all);
    } else {
        (void)snprintf(remedy, DETAIL, "write %s", all);
    }
    return OW_ERROR_VALUE;
}

static OwStatus read_flag(const OwField *field, const char *text, void *base, char wrong[DETAIL],
                          char remedy[DETAIL]) {
    static const char *const yes[] = {"yes", "on", "true"};
    static const char *const no[] = {"no", "off", "false"};
    for (int i = 0; i < 3; i++) {
        if (strcmp(text, yes[i]) == 0 || strcmp(text, no[i]) == 0) {
            ow_field_store(field, base, strcmp(text, yes[i]) == 0 ? 1.0 : 0.0);
            return OW_OK;
        }
    }
    (void)snprintf(wrong, DETAIL, "%s: \"%.60s\" is neither yes nor no", field->key, text);
    (void)snprintf(remedy, DETAIL, "write yes or no");
    return OW_ERROR_VALUE;
}

OwStatus ow_field_read(const OwField *field, const char *text, OwUnits *units, void *base, char wrong[DETAIL],
                       char remedy[DETAIL]) {
    wrong[0] = '\0';
    remedy[0] = '\0';
    if (text[0] == '\0') {
        (void)snprintf(wrong, DETAIL, "%s: the value is missing", field->key);
        (void)snprintf(remedy, DETAIL, "write it after the colon, or leave the key out for the default");
        return OW_ERROR_VALUE;
    }
    if (field->type == OW_FIELD_TEXT) {
        if (strlen(text) >= OW_NAME_SIZE) {
            (void)snprintf(wrong, DETAIL, "%s: the name is longer than %d bytes", field->key,
                           OW_NAME_SIZE - 1);
            (void)snprintf(remedy, DETAIL, "use a shorter one");
            return OW_ERROR_VALUE;
        }
        memcpy((char *)base + field->offset, text, strlen(text) + 1);
        return OW_OK;
    }
    if (field->choices != NULL) {
        return read_word(field, text, base, wrong, remedy);
    }
    if (field->type == OW_FIELD_FLAG) {
        return read_flag(field, text, base, wrong, remedy);
    }
    double value = 0.0;
    const OwStatus status = ow_quantity_read(text, units, field, &value, wrong, remedy);
    if (status != OW_OK) {
        return status;
    }
    if (field->type == OW_FIELD_COUNT && value != (double)(int)value) {
        (void)snprintf(wrong, DETAIL, "%s: \"%.60s\" is not a whole number", field->key, text);
        (void)snprintf(remedy, DETAIL, "give %d to %d", (int)field->low, (int)field->high);
        return OW_ERROR_VALUE;
    }
    ow_field_store(field, base, value);
    return OW_OK;
}

typedef struct KeyList {
    const OwFieldTable *tables;
    int table_count;
    const OwSpecialKey *special;
} KeyList;

static const char *key_at(const void *context, size_t index) {
    const KeyList *list = context;
    int i = (int)index;
    for (int t = 0; t < list->table_count; t++) {
        if (i < list->tables[t].count) {
            return list->tables[t].rows[i].key;
        }
        i -= list->tables[t].count;
    }
    return list->special[i].key;
}

void ow_key_remedy(const char *key, const OwFieldTable *tables, int table_count, const OwSpecialKey *special,
                   char remedy[DETAIL]) {
    const KeyList list = {tables, table_count, special};
    size_t count = 0;
    for (int t = 0; t < table_count; t++) {
        count += (size_t)tables[t].count;
    }
    for (int i = 0; special != NULL && special[i].key != NULL; i++) {
        count++;
    }
    const char *near = ow_text_nearest_by(key, count, key_at, &list);
    if (near != NULL) {
        (void)snprintf(remedy, DETAIL, "did you mean \"%s\"?", near);
        return;
    }
    char all[DETAIL - 16];
    size_t used = 0;
    all[0] = '\0';
    for (size_t i = 0; i < count; i++) {
        const char *name = key_at(&list, i);
        if (used + strlen(name) + 8 > sizeof all) {
            (void)snprintf(all + used, sizeof all - used, ", ...");
            break;
        }
        used += (size_t)snprintf(all + used, sizeof all - used, "%s%s", i == 0 ? "" : ", ", name);
    }
    (void)snprintf(remedy, DETAIL, "known are %s", all);
}
