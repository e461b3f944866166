// SPDX-License-Identifier: GPL-3.0-or-later
// The time in a short form: yesterday, -2d, monday, 24 nov, a date, a clock.
#include "log_words.h"

#include <ctype.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

#define DAY_S INT64_C(86400)

/// What the words tell of the time, all local.
typedef struct When {
    Reader *r;
    int64_t today, day, clock, at; ///< midnights; seconds of the day, -1 none; UTC
    bool has_day, is_exact;
} When;

static const char *text_at(const Reader *r, int i) {
    return i >= 0 && i < r->word_count && !r->words[i].is_quoted && !r->words[i].is_used ? r->words[i].text
                                                                                         : "";
}

static bool is_word(const Reader *r, int i, const char *word) {
    return strcasecmp(text_at(r, i), word) == 0;
}

static void take(Reader *r, int at, int count) {
    for (int i = at; i < at + count; i++) {
        r->words[i].is_used = true;
    }
}

/// A whole word of some known name: then it is no day.
static bool is_in_a_name(const Reader *r, const char *word) {
    const size_t length = strlen(word);
    for (int i = 0; r->speech->names != NULL && i < r->speech->names->count; i++) {
        for (const char *n = r->speech->names->things[i].name; *n != '\0';) {
            const size_t one = strcspn(n, " -");
            if (one == length && strncasecmp(n, word, length) == 0) {
                return true;
            }
            n += one + (n[one] != '\0' ? 1 : 0);
        }
    }
    return false;
}

/// Whether the number at `i` belongs to a name before it: "drum 2".
static bool is_numbered_name(Reader *r, int i) {
    for (int n = 2; n <= 4 && n <= i + 1; n++) {
        bool is_open = true, twice;
        for (int k = i + 1 - n; k <= i; k++) {
            is_open = is_open && text_at(r, k)[0] != '\0';
        }
        const size_t mark = r->spare_used;
        const char *name = is_open ? ow_words_join(r, i + 1 - n, n) : NULL;
        const bool is_it = name != NULL && ow_words_named(r, ~0u, name, &twice) != NULL;
        r->spare_used = mark;
        if (is_it) {
            return true;
        }
    }
    return false;
}

// ---- Days

static int weekday(const char *t) {
    static const char *const days[] = {"thursday", "friday",  "saturday", "sunday",
                                       "monday",   "tuesday", "wednesday"};
    const size_t length = strlen(t);
    for (int i = 0; i < 7; i++) { // day 0 of the Unix count was a Thursday; "fri", "thurs"
        if (length >= 3 && length <= strlen(days[i]) && length != strlen(days[i]) - 1 &&
            strncasecmp(t, days[i], length) == 0 && (length <= 5 || days[i][length] == '\0')) {
            return i;
        }
    }
    return -1;
}

/// Where new names are given, a day stands at the beginning or after "on": "batch july 2" is a name.
static bool is_free_place(const Reader *r, int i) {
    static const char *const namers[] = {"source", "vessel", "vehicle", "batch", "new", "add"};
    return i == 0 || is_word(r, i - 1, "on") ||
           ow_words_in(r->words[0].text, namers, OW_WORDS_COUNT(namers)) < 0;
}

/// A day of the week counts at the beginning, after "on" or "last", and at the end.
static bool is_weekday_place(const Reader *r, int i) {
    if (i == 0 || is_word(r, i - 1, "on") || is_word(r, i - 1, "last")) {
        return true;
    }
    const bool is_end = i + 1 == r->word_count || is_word(r, i + 1, "note");
    return is_end && is_free_place(r, i) && !is_in_a_name(r, r->words[i].text);
}

static int month(const char *t) {
    static const char *const months[] = {"january",   "february", "march",    "april",
                                         "may",       "june",     "july",     "august",
                                         "september", "october",  "november", "december"};
    const size_t length = strlen(t);
    for (int i = 0; i < 12; i++) {
        if (length >= 3 && strncasecmp(t, months[i], length) == 0 &&
            (length <= 4 || months[i][length] == '\0')) {
            return i + 1;
        }
    }
    return 0;
}

/// "24", "24th", "24." as a day of a month; 0 when it is none.
static int month_day(Reader *r, int i) {
    const char *t = text_at(r, i);
    char *end;
    if (!isdigit((unsigned char)t[0])) {
        return 0;
    }
    const long n = strtol(t, &end, 10);
    static const char *const tails[] = {"", ".", "st", "nd", "rd", "th"};
    if (n < 1 || n > 31 || ow_words_in(end, tails, OW_WORDS_COUNT(tails)) < 0) {
        return 0;
    }
    const char *text;
    bool has_unit = false;
    const size_t mark = r->spare_used;
    if (*end == '\0') {
        (void)ow_words_number(r, i, &text, &has_unit); // "24 L" is none
    }
    r->spare_used = mark;
    return has_unit || is_numbered_name(r, i) ? 0 : (int)n;
}

static int year_of(int64_t at_s) {
    char text[24];
    ow_log_time_write(at_s, text, sizeof text);
    return atoi(text);
}

/// The last such day until today; with a year, that one. False: there is no such day.
static bool day_of(const When *w, int year, int of_month, int of_day, int64_t *day) {
    char text[24];
    const int this_year = year_of(w->today);
    for (int back = 0; back < (year > 0 ? 1 : 9); back++) { // the 29th of February may be 8 years ago
        (void)snprintf(text, sizeof text, "%04d-%02d-%02d", year > 0 ? year : this_year - back, of_month,
                       of_day);
        if (ow_log_time_read(text, day) == OW_OK && (year > 0 || *day <= w->today)) {
            return true;
        }
    }
    return false;
}

static int year_at(const When *w, int i) {
    const char *t = text_at(w->r, i);
    const int year = strlen(t) == 4 && strspn(t, "0123456789") == 4 ? atoi(t) : 0;
    return year >= 1970 && year <= year_of(w->today) ? year : 0;
}

/// "24 nov", "nov 24", "24 nov 2025": how many words; 0 none, -1 asked. `i` is the first of them.
static int named_month(When *w, int i, int64_t *day) {
    Reader *r = w->r;
    const bool is_first = month(text_at(r, i)) > 0 && !is_in_a_name(r, text_at(r, i));
    const int m = is_first ? month(text_at(r, i)) : month(text_at(r, i + 1));
    int d = month_day(r, is_first ? i + 1 : i);
    if (m == 0 || d == 0 || !is_free_place(r, i) || (!is_first && is_in_a_name(r, text_at(r, i + 1)))) {
        return 0;
    }
    int taken = 2;
    if (!is_first && month_day(r, i + 2) > 0) { // "drum 2 nov 24"
        return ow_words_ask(r, NULL, "Which day is it, %d or %d %.12s? Write it as 2026-11-25.", d,
                            month_day(r, i + 2), r->words[i + 1].text)
                   ? 0
                   : -1;
    }
    const char *text;
    bool has_unit = false;
    const size_t mark = r->spare_used;
    const int year = year_at(w, i + 2);
    if (year > 0) {
        (void)ow_words_number(r, i + 2, &text, &has_unit);
        taken += has_unit ? 0 : 1;
    }
    r->spare_used = mark;
    if (!day_of(w, year > 0 && !has_unit ? year : 0, m, d, day)) {
        (void)ow_words_ask(r, NULL, "There is no %d %.12s: on which day was it?", d,
                           r->words[is_first ? i : i + 1].text);
        return -1;
    }
    return taken;
}

/// "24.11.", "24.11.2026", "24/11", "11/24/26": 1; 0 none, -1 asked.
static int numbered_date(When *w, const char *t, int64_t *day) {
    int a = 0, b = 0, year = 0, used = 0;
    char first = 0, second = 0;
    const int found = sscanf(t, "%2d%c%2d%n%c%4d%n", &a, &first, &b, &used, &second, &year, &used);
    if (found < 3 || !isdigit((unsigned char)t[0]) || (first != '.' && first != '/') ||
        (found >= 4 && second != first) || (found < 4 && first == '.')) {
        return 0;
    }
    if (found == 4) {
        used++;
    }
    if (t[used] != '\0' || (found == 4 && first == '/') || a < 1 || b < 1 || a > 31 || b > 31) {
        return 0;
    }
    if (found == 5) {
        const size_t digits = strlen(strrchr(t, first) + 1);
        if (digits == 2) {
            year += 2000;
        } else if (digits != 4) {
            return 0;
        }
    }
    if (first == '/' && a <= 12 && b <= 12 && a != b) {
        (void)ow_words_ask(w->r, NULL,
                           "Is %.12s the %d. of month %d or the %d. of month %d? Write it as "
                           "2026-11-25.",
                           t, a, b, b, a);
        return -1;
    }
    const bool is_month_first = first == '/' && b > 12;
    if (!day_of(w, year, is_month_first ? a : b, is_month_first ? b : a, day)) {
        (void)ow_words_ask(w->r, NULL, "\"%.12s\" is no date: write it as 2026-11-25.", t);
        return -1;
    }
    return 1;
}

static int small_number(const char *t) {
    if (strcasecmp(t, "a") == 0 || strcasecmp(t, "an") == 0) {
        return 1;
    }
    const int n = ow_words_count(t);
    if (n > 0) {
        return n;
    }
    return t[0] != '\0' && strspn(t, "0123456789") == strlen(t) && strlen(t) < 6 ? atoi(t) : -1;
}

/// "2 days ago", "an hour ago": words taken.
static int ago(When *w, int i) {
    const Reader *r = w->r;
    const int n = small_number(text_at(r, i));
    static const char *const days[] = {"day", "days", "d"}, *const weeks[] = {"week", "weeks", "w"},
                             *const hours[] = {"hour", "hours", "h", "hrs", "hr"};
    if (n < 0 || !is_word(r, i + 2, "ago")) {
        return 0;
    }
    const char *unit = text_at(r, i + 1);
    if (ow_words_in(unit, hours, OW_WORDS_COUNT(hours)) >= 0) {
        w->at = r->speech->now_s - 3600 * (int64_t)n;
        w->is_exact = true;
        return 3;
    }
    const int64_t size = ow_words_in(unit, days, OW_WORDS_COUNT(days)) >= 0     ? 1
                         : ow_words_in(unit, weeks, OW_WORDS_COUNT(weeks)) >= 0 ? 7
                                                                                : 0;
    w->day = w->today - size * n * DAY_S;
    return size > 0 ? 3 : 0;
}

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

// ---- Hours

/// "8:30", "8:30pm", "8.30am", "8am", "8 am": words taken.
static int clock_at(const Reader *r, int i, int64_t *seconds) {
    const char *t = text_at(r, i);
    int hour = 0, minute = 0, used = 0, taken = 1;
    char mark = 0;
    if (!isdigit((unsigned char)t[0])) {
        return 0;
    }
    const int found = sscanf(t, "%2d%n%c%2d%n", &hour, &used, &mark, &minute, &used);
    const bool has_minutes = found == 3 && (mark == ':' || mark == '.');
    if (!has_minutes) {
        minute = 0;
        (void)sscanf(t, "%2d%n", &hour, &used);
    }
    const char *half = t + used;
    if (*half == '\0' && mark != '.') {
        half = text_at(r, i + 1);
        taken = 2;
    }
    const bool is_am = strcasecmp(half, "am") == 0, is_pm = strcasecmp(half, "pm") == 0;
    if (is_am || is_pm) {
        if (hour < 1 || hour > 12 || minute < 0 || minute > 59) {
            return 0;
        }
        hour = hour % 12 + (is_pm ? 12 : 0);
    } else {
        taken = 1;
        if (!has_minutes || mark != ':' || t[used] != '\0' || hour > 23 || minute < 0 || minute > 59 ||
            strlen(t) < 4) {
            return 0;
        }
    }
    *seconds = 3600 * (int64_t)hour + 60 * (int64_t)minute;
    return taken;
}

/// "yesterday evening", "this morning": the hour; -1 none.
static int64_t part_of_day(const char *t) {
    static const struct {
        const char *word;
        int hour;
    } parts[] = {{"morning", 9},    {"noon", 12},    {"midday", 12},
                 {"afternoon", 15}, {"evening", 19}, {"night", 22}};
    for (size_t i = 0; i < sizeof parts / sizeof parts[0]; i++) {
        if (strcasecmp(t, parts[i].word) == 0) {
            return 3600 * (int64_t)parts[i].hour;
        }
    }
    return -1;
}

// ---- All of it

/// A day at word `i`: words taken, 0 none, -1 asked.
static int day_at(When *w, int i) {
    Reader *r = w->r;
    const char *t = text_at(r, i);
    int64_t seconds = 0;
    if (strcasecmp(t, "yesterday") == 0 || strcasecmp(t, "today") == 0) {
        w->day = w->today - (tolower((unsigned char)t[0]) == 'y' ? DAY_S : 0);
        return 1;
    }
    if (strcasecmp(t, "this") == 0 && part_of_day(text_at(r, i + 1)) >= 0) {
        w->day = w->today;
        return 1;
    }
    static const char *const spans[] = {"week", "month", "year", "weekend", "night", "time"};
    if (strcasecmp(t, "last") == 0 && ow_words_in(text_at(r, i + 1), spans, OW_WORDS_COUNT(spans)) >= 0) {
        (void)ow_words_ask(r, NULL, "Which day was it, last %.10s? Say monday, -3d or 24 nov.",
                           text_at(r, i + 1));
        return -1;
    }
    const int week = weekday(t);
    if (week >= 0 && is_weekday_place(r, i)) {
        const int64_t back = ((w->today / DAY_S) % 7 - week + 7) % 7;
        w->day = w->today - (back == 0 && is_word(r, i - 1, "last") ? 7 : back) * DAY_S;
        return 1;
    }
    if (is_date(t)) {
        if (ow_log_time_read(t, &seconds) != OW_OK) {
            (void)ow_words_ask(r, NULL, "\"%.30s\" is no date: write it as 2026-11-25.", t);
            return -1;
        }
        if (strlen(t) > 10) { // a whole time; Z or not, as typed
            w->at = strchr(t, 'Z') != NULL ? seconds : ow_log_utc(seconds, r->speech->offset);
            w->is_exact = true;
        }
        w->day = seconds;
        return 1;
    }
    if (is_back(t, &seconds)) {
        w->at = r->speech->now_s - seconds;
        w->is_exact = true;
        return 1;
    }
    char back[32];
    (void)snprintf(back, sizeof back, "-%.30s", t); // "1h ago"
    if (is_word(r, i + 1, "ago") && is_back(back, &seconds)) {
        w->at = r->speech->now_s - seconds;
        w->is_exact = true;
        return 2;
    }
    int taken = ago(w, i);
    taken = taken != 0 ? taken : numbered_date(w, t, &w->day);
    return taken != 0 ? taken : named_month(w, i, &w->day);
}

/// Takes out the words that were used, and what leads to them.
static void close_gaps(Reader *r) {
    static const char *const leads[] = {"on", "at", "last"};
    int left = 0;
    for (int i = 0; i < r->word_count; i++) {
        const bool is_lead = !r->words[i].is_quoted && i + 1 < r->word_count && r->words[i + 1].is_used &&
                             ow_words_in(r->words[i].text, leads, OW_WORDS_COUNT(leads)) >= 0;
        if (!r->words[i].is_used && !is_lead) {
            r->words[left++] = r->words[i];
        }
    }
    r->word_count = left;
}

bool ow_words_time(Reader *r) {
    const int64_t now = r->speech->now_s,
                  local = now + (r->speech->offset != NULL ? r->speech->offset(now) : 0);
    When w = {.r = r, .today = local - ((local % DAY_S) + DAY_S) % DAY_S, .clock = -1};
    for (int i = 0; i < r->word_count && !is_word(r, i, "note");) {
        const int days = r->words[i].is_quoted ? 0 : day_at(&w, i);
        if (days < 0) {
            return false;
        }
        if (days > 0) {
            if (w.has_day) {
                return ow_words_ask(r, NULL, "Two days are told: which one is it?");
            }
            w.has_day = true;
            const int64_t part = part_of_day(text_at(r, i + days));
            w.clock = part >= 0 ? part : w.clock;
            take(r, i, days + (part >= 0 ? 1 : 0));
            i += days + (part >= 0 ? 1 : 0);
            continue;
        }
        const int hours = clock_at(r, i, &w.clock);
        take(r, i, hours);
        i += hours > 0 ? hours : 1;
    }
    int64_t *at_s = &r->said->entry.at_s;
    if (w.is_exact) {
        *at_s = w.at;
    } else if (w.has_day || w.clock >= 0) {
        // A day without an hour: its noon; today's is now.
        const int64_t start = w.has_day ? w.day : w.today;
        *at_s = w.clock < 0 && start == w.today
                    ? now
                    : ow_log_utc(start + (w.clock >= 0 ? w.clock : DAY_S / 2), r->speech->offset);
    }
    if (*at_s > now + 300) {
        return ow_words_ask(r, NULL, "That is in the future: on which day was it?");
    }
    if (*at_s < 0) {
        return ow_words_ask(r, NULL, "That is before 1970: on which day was it?");
    }
    close_gaps(r);
    return true;
}
