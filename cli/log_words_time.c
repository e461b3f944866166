// SPDX-License-Identifier: GPL-3.0-or-later
// The time in a short form: yesterday, -2d, monday, a date, a clock.
#include "log_words.h"

#include <ctype.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

static bool is_back(const char *t, int64_t *seconds) {
    if (t[0] != '-' || !isdigit((unsigned char)t[1])) {
        return false;
    }
    char *end;
    const long n = strtol(t + 1, &end, 10);
    const int unit = tolower((unsigned char)end[0]);
    if (n < 0 || n > 100000 || unit == 0 || end[1] != '\0') {
        return false;
    }
    const int64_t size = unit == 'd' ? 86400 : unit == 'h' ? 3600 : unit == 'w' ? 7 * 86400 : 0;
    *seconds = size * n;
    return size > 0;
}

static bool is_clock(const char *t, int64_t *seconds) {
    int hour, minute, used = 0;
    if (sscanf(t, "%2d:%2d%n", &hour, &minute, &used) != 2 || t[used] != '\0' || hour < 0 || hour > 23 ||
        minute < 0 || minute > 59 || strlen(t) < 4 || t[0] == '-' || t[0] == '+') {
        return false;
    }
    *seconds = 3600 * hour + 60 * minute;
    return true;
}

static bool is_date(const char *t) {
    const size_t length = strlen(t);
    if (length < 8 || length > 20 || t[4] != '-') {
        return false;
    }
    for (int i = 0; i < 4; i++) {
        if (!isdigit((unsigned char)t[i])) {
            return false;
        }
    }
    return isdigit((unsigned char)t[5]) != 0;
}

static int weekday(const char *t) {
    static const char *const days[] = {"thursday", "friday",  "saturday", "sunday",
                                       "monday",   "tuesday", "wednesday"};
    for (int i = 0; i < 7; i++) { // day 0 of the Unix count was a Thursday
        if (strcasecmp(t, days[i]) == 0 || (strlen(t) == 3 && strncasecmp(t, days[i], 3) == 0)) {
            return i;
        }
    }
    return -1;
}

static void take(Reader *r, int i) {
    r->words[i].is_used = true;
}

bool ow_words_time(Reader *r) {
    const int64_t local = r->speech->now_s + r->speech->offset_s,
                  today = local - ((local % 86400) + 86400) % 86400;
    int64_t day = 0, clock = -1, at = 0;
    bool has_day = false, is_exact = false;
    for (int i = 0; i < r->word_count; i++) {
        Word *w = &r->words[i];
        int64_t seconds = 0;
        if (w->is_quoted) {
            continue;
        }
        if (strcasecmp(w->text, "note") == 0) {
            break; // what follows is text
        }
        const bool is_first = i == 0 || (i == 1 && strcasecmp(r->words[0].text, "on") == 0);
        const int week =
            is_first || (i > 0 && strcasecmp(r->words[i - 1].text, "on") == 0) ? weekday(w->text) : -1;
        if (strcasecmp(w->text, "yesterday") == 0 || strcasecmp(w->text, "today") == 0) {
            day = today - (tolower((unsigned char)w->text[0]) == 'y' ? 86400 : 0);
        } else if (week >= 0) {
            const int64_t now_week = (today / 86400) % 7;
            day = today - ((now_week - week + 7) % 7) * 86400;
        } else if (is_back(w->text, &seconds)) {
            at = r->speech->now_s - seconds;
            is_exact = true;
            take(r, i);
            continue;
        } else if (is_date(w->text)) {
            if (ow_log_time_read(w->text, &seconds) != OW_OK) {
                return ow_words_ask(r, NULL, "\"%.30s\" is no date: write it as 2026-11-25.", w->text);
            }
            if (strlen(w->text) > 10) { // a whole time; Z or not, as typed
                at = seconds - (strchr(w->text, 'Z') != NULL ? 0 : r->speech->offset_s);
                is_exact = true;
                take(r, i);
                continue;
            }
            day = seconds;
        } else if (is_clock(w->text, &seconds)) {
            clock = seconds;
            take(r, i);
            continue;
        } else {
            continue;
        }
        if (has_day) {
            return ow_words_ask(r, NULL, "Two days are told: which one is it?");
        }
        has_day = true;
        take(r, i);
    }
    if (is_exact) {
        r->said->entry.at_s = at;
    } else if (has_day || clock >= 0) {
        const int64_t start = has_day ? day : today;
        // A day without an hour: its noon, or now when that is still to come.
        at = start + (clock >= 0 ? clock : 43200) - r->speech->offset_s;
        if (clock < 0 && start == today && at > r->speech->now_s) {
            at = r->speech->now_s;
        } else if (clock < 0 && start == today) {
            at = r->speech->now_s;
        }
        r->said->entry.at_s = at;
    }
    if (r->said->entry.at_s > r->speech->now_s + 300) {
        return ow_words_ask(r, NULL, "That is in the future: on which day was it?");
    }
    if (r->said->entry.at_s < 0) {
        return ow_words_ask(r, NULL, "That is before 1970: on which day was it?");
    }
    int left = 0; // close the gaps
    for (int i = 0; i < r->word_count; i++) {
        const bool is_on = !r->words[i].is_quoted && strcasecmp(r->words[i].text, "on") == 0 &&
                           i + 1 < r->word_count && r->words[i + 1].is_used;
        const bool is_at = !r->words[i].is_quoted && strcasecmp(r->words[i].text, "at") == 0 &&
                           i + 1 < r->word_count && r->words[i + 1].is_used;
        if (!r->words[i].is_used && !is_on && !is_at) {
            r->words[left++] = r->words[i];
        }
    }
    r->word_count = left;
    return true;
}
