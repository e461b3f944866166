// SPDX-License-Identifier: GPL-3.0-or-later
// What is due: a share of an interval in distance or time, whichever is nearer its end, with the reason.
#include "oilwright/learn.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const double day_s = 86400.0;

const char *ow_remind_kind_text(OwRemindKind kind) {
    static const char *const texts[OW_REMIND_KINDS] = {"filter",    "oil change", "battery",
                                                       "batch age", "test",       "water drain"};
    return kind >= 0 && kind < OW_REMIND_KINDS ? texts[kind] : "?";
}

OwRemindSettings ow_remind_default(void) {
    return (OwRemindSettings){.filter_risk = 0.1,
                              .lube_m = 1e7,
                              .lube_oil_m = 5e6,
                              .lube_s = 365.0 * 86400.0,
                              .battery_s = 4.0 * 365.25 * 86400.0,
                              .battery_test_s = 365.0 * 86400.0,
                              .batch_s = 180.0 * 86400.0,
                              .test_s = 14.0 * 86400.0,
                              .water_s = 30.0 * 86400.0,
                              .winter_k = 278.15,
                              .soon_share = 0.1};
}

static void far(char *text, size_t size, double m, bool is_us) {
    const double shown = m / (is_us ? 1609.344 : 1000.0);
    // Three figures are all that such a number carries.
    const double size_of = fabs(shown) > 0.0 ? pow(10.0, fmax(floor(log10(fabs(shown))) - 2.0, 0.0)) : 1.0;
    snprintf(text, size, "%.0f %s", round(shown / size_of) * size_of, is_us ? "mi" : "km");
}

/// Intervals of a fact: distance and time, 0 where it has none.
static void intervals(const OwRemindFact *f, const OwRemindSettings *s, double *m, double *seconds) {
    *m = 0.0;
    *seconds = 0.0;
    const double share = fmin(fmax(isfinite(f->oil_share) ? f->oil_share : 0.0, 0.0), 1.0);
    switch (f->kind) {
    case OW_REMIND_FILTER:
        *m = f->due_m;
        break;
    case OW_REMIND_LUBE:
        // Wear and thinning go with the oil burned: 1/interval is shared by fuel.
        *m = 1.0 / ((1.0 - share) / s->lube_m + share / s->lube_oil_m);
        *seconds = s->lube_s;
        break;
    case OW_REMIND_BATTERY:
        *seconds = s->battery_s;
        break;
    case OW_REMIND_BATCH_AGE:
        *seconds = s->batch_s;
        break;
    case OW_REMIND_TEST:
        *seconds = s->test_s;
        break;
    case OW_REMIND_WATER:
        *seconds = f->is_winter ? s->water_s : 2.0 * s->water_s;
        break;
    case OW_REMIND_KINDS:
        break;
    }
    *m = *m > 0.0 && isfinite(*m) ? *m : 0.0;
    *seconds = *seconds > 0.0 && isfinite(*seconds) ? *seconds : 0.0;
}

static void explain(const OwRemindFact *f, OwReminder *r, bool is_us, int64_t now_s) {
    char since[32], interval[32], low[32], high[32];
    far(since, sizeof since, f->since_m, is_us);
    far(interval, sizeof interval, r->interval_m, is_us);
    const double days = f->since_s > 0 ? (double)(now_s - f->since_s) / day_s : 0.0;
    const double allowed = r->interval_s / day_s;
    switch (f->kind) {
    case OW_REMIND_FILTER:
        far(low, sizeof low, f->due_low_m, is_us);
        far(high, sizeof high, f->due_high_m, is_us);
        snprintf(r->reason, sizeof r->reason,
                 "%s on it; 1 new one in 10 plugs by %s (9 in 10 last %s to %s).", since, interval, low,
                 high);
        break;
    case OW_REMIND_LUBE:
        snprintf(
            r->reason, sizeof r->reason,
            "%s%s%.0f days since; %s with %.0f %% oil as fuel, or %.0f days (oil that slips past the rings "
            "thickens the lubricant).",
            f->has_distance ? since : "", f->has_distance ? " and " : "", days, interval,
            100.0 * fmin(fmax(f->oil_share, 0.0), 1.0), allowed);
        break;
    case OW_REMIND_BATTERY:
        snprintf(
            r->reason, sizeof r->reason,
            "%.1f years old; pre-heating asks much of it, and %.0f years is a usual life. Test it under load "
            "before winter.",
            days / 365.25, allowed / 365.25);
        break;
    case OW_REMIND_BATCH_AGE:
        snprintf(r->reason, sizeof r->reason,
                 "%.0f days in store; past %.0f days it may have soured: test the acid again before use.",
                 days, allowed);
        break;
    case OW_REMIND_TEST:
        snprintf(
            r->reason, sizeof r->reason,
            "%.0f days since it was last worked on, and not tested since; a test is due within %.0f days.",
            days, allowed);
        break;
    case OW_REMIND_WATER:
        snprintf(r->reason, sizeof r->reason,
                 "%.0f days since the filter's water was drained; every %.0f days%s.", days, allowed,
                 f->is_winter ? " in winter, since water freezes in the filter" : "");
        break;
    case OW_REMIND_KINDS:
        break;
    }
}

static int by_urgency(const void *a, const void *b) {
    const OwReminder *x = a, *y = b;
    if (x->used != y->used) {
        return x->used < y->used ? 1 : -1;
    }
    const int names = strcmp(x->subject, y->subject);
    return names != 0 ? names : (int)x->kind - (int)y->kind;
}

static OwReminder remind(const OwRemindFact *f, const OwRemindSettings *s, int64_t now_s, bool is_us) {
    OwReminder r = {.kind = f->kind, .thing = f->thing};
    memcpy(r.subject, f->subject, sizeof r.subject);
    r.subject[sizeof r.subject - 1] = '\0';
    intervals(f, s, &r.interval_m, &r.interval_s);
    const bool has_way = f->has_distance && isfinite(f->since_m) && r.interval_m > 0.0;
    const bool has_time = f->since_s > 0 && r.interval_s > 0.0;
    if (!has_way && !has_time) {
        r.is_unknown = true;
        r.used = 0.5; // between what is due and what is far
        snprintf(r.reason, sizeof r.reason, "The log does not say when it was last done: enter it once%s.",
                 f->kind == OW_REMIND_WATER     ? ", as repair, other: water drained"
                 : f->kind == OW_REMIND_BATTERY ? ", as repair, battery: the day it was fitted"
                 : f->kind == OW_REMIND_LUBE    ? ", as repair, oil change"
                                                : "");
        return r;
    }
    const double per_day = f->per_day_m > 0.0 && isfinite(f->per_day_m) ? f->per_day_m : 0.0;
    double due = INFINITY;
    if (has_way) {
        r.used = fmax(f->since_m, 0.0) / r.interval_m;
        r.has_distance = true;
        r.left_m = r.interval_m - f->since_m;
        if (per_day > 0.0) {
            due = (double)now_s + fmin(fmax(r.left_m / per_day, -3650.0), 3650.0) * day_s;
        }
    }
    if (has_time) {
        r.used = fmax(r.used, (double)(now_s - f->since_s) / r.interval_s);
        due = fmin(due, (double)f->since_s + r.interval_s);
    }
    if (isfinite(due)) {
        r.has_date = true;
        r.due_s = (int64_t)due;
    }
    r.is_due = r.used >= 1.0;
    r.is_soon = !r.is_due && r.used >= 1.0 - s->soon_share;
    explain(f, &r, is_us, now_s);
    return r;
}

void ow_remind(const OwRemindFact *facts, int count, const OwRemindSettings *settings, int64_t now_s,
               bool is_us, OwReminder *reminders) {
    const OwRemindSettings defaults = ow_remind_default();
    const OwRemindSettings *s = settings != NULL ? settings : &defaults;
    for (int i = 0; i < count; i++) {
        reminders[i] = remind(&facts[i], s, now_s, is_us);
    }
    if (count > 1) {
        qsort(reminders, (size_t)count, sizeof *reminders, by_urgency);
    }
}
