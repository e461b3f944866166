// SPDX-License-Identifier: GPL-3.0-or-later
// The timeline: each kind of event once with how often it came, in two columns.
#include <math.h>
#include <string.h>

#include "report_text.h"

#define MAX_EVENTS 12 ///< in two columns; one column when a line is too long for half a screen
#define MAX_SINGLE 6
#define HALF 39

typedef struct OwLine {
    int event, count;
} OwLine;

static int dullness(OwEventKind kind) {
    switch (kind) {
    case OW_EVENT_LEG:
        return 4;
    case OW_EVENT_THERMOSTAT_CLOSES:
    case OW_EVENT_SWITCH:
        return 3;
    case OW_EVENT_THERMOSTAT_OPENS:
    case OW_EVENT_AIR_OVER:
    case OW_EVENT_STARVED_OVER:
        return 2;
    case OW_EVENT_VALVE:
        return 1;
    default:
        return 0;
    }
}

static void say(const OwReport *report, const OwLine *line, char *out, size_t size, int width) {
    const OwRecord *record = report->judgement->record;
    const OwEvent *e = &record->events[line->event];
    char when[48], text[256], plain[256];
    ow_units_write(e->time_s, OW_Q_TIME, report->judgement->display, when, sizeof when);
    const OwDriveSpec *drive = &record->rig->drive;
    if (e->kind == OW_EVENT_LEG && e->value >= 0.0 && e->value < drive->leg_count) {
        const OwLeg *leg = &drive->legs[(int)e->value];
        char speed[48];
        ow_units_write(leg->speed_m_s, OW_Q_SPEED, report->judgement->display, speed, sizeof speed);
        snprintf(text, sizeof text, "%-11s leg %d: %.24s", when, (int)e->value + 1,
                 leg->name[0] != '\0' ? leg->name
                 : leg->engine_off    ? "parked"
                                      : speed);
    } else if (e->part >= 0 && e->part < record->rig->part_count &&
               record->rig->parts[e->part].kind != OW_PART_INJECTION_PUMP) {
        const OwPart *p = &record->rig->parts[e->part];
        if (e->kind == OW_EVENT_VALVE && p->kind == OW_PART_VALVE && e->value >= 0.0 && e->value < 4.0) {
            snprintf(text, sizeof text, "%-11s %.30s to %.20s", when, p->name,
                     p->as.valve.position[(int)e->value]);
        } else if (e->kind == OW_EVENT_SWITCH) {
            const OwElements *elements = ow_part_elements_const(p);
            const bool is_one = elements != NULL && e->element >= 0 && e->element < elements->count;
            snprintf(text, sizeof text, "%-11s %.30s%s%.20s %s", when, p->name, is_one ? "/" : "",
                     is_one ? elements->items[e->element].name : "", e->value > 0.5 ? "on" : "off");
        } else {
            snprintf(text, sizeof text, "%-11s %.30s: %s", when, p->name, ow_event_text(e->kind));
        }
    } else { // short enough for half a screen
        snprintf(text, sizeof text, "%-11s %s", when,
                 e->kind == OW_EVENT_READY ? "oil ready at the pump" : ow_event_text(e->kind));
    }
    if (line->count > 1) {
        const size_t used = strlen(text);
        snprintf(text + used, sizeof text - used, " (%dx)", line->count);
    }
    ow_report_plain(plain, sizeof plain, text, report->is_ascii);
    ow_report_fit(out, size, plain, width, false);
}

static void drop_dull(const OwRecord *record, OwLine *lines, int *count, int keep) {
    while (*count > keep) {
        int dull = 0;
        for (int k = 0; k < *count; k++) {
            if (dullness(record->events[lines[k].event].kind) >=
                dullness(record->events[lines[dull].event].kind)) {
                dull = k;
            }
        }
        memmove(&lines[dull], &lines[dull + 1], (size_t)(*count - dull - 1) * sizeof lines[0]);
        (*count)--;
    }
}

void ow_report_events(const OwReport *report) {
    const OwRecord *record = report->judgement->record;
    OwLine lines[96];
    int count = 0;
    for (int i = 0; i < record->event_count; i++) {
        const OwEvent *e = &record->events[i];
        if (e->kind == OW_EVENT_LEG && record->rig->drive.kind == OW_DRIVE_NEDC) {
            continue; // the parts of the standard cycle are no news
        }
        bool is_known = false;
        for (int k = 0; k < count && !is_known; k++) {
            const OwEvent *f = &record->events[lines[k].event];
            const bool same_value =
                (e->kind != OW_EVENT_VALVE && e->kind != OW_EVENT_SWITCH && e->kind != OW_EVENT_LEG) ||
                fabs(e->value - f->value) < 0.5;
            if (f->kind == e->kind && f->part == e->part && same_value &&
                (e->kind != OW_EVENT_SWITCH || f->element == e->element)) {
                lines[k].count++;
                is_known = true;
            }
        }
        if (!is_known && count < (int)(sizeof lines / sizeof lines[0])) {
            lines[count++] = (OwLine){i, 1};
        }
    }
    drop_dull(record, lines, &count, MAX_EVENTS);
    bool is_narrow = true;
    for (int k = 0; k < count; k++) {
        char text[256];
        say(report, &lines[k], text, sizeof text, OW_REPORT_WIDTH - 2);
        size_t end = strlen(text);
        while (end > 0 && text[end - 1] == ' ') {
            text[--end] = '\0';
        }
        is_narrow = is_narrow && ow_report_width(text) <= HALF;
    }
    if (!is_narrow) {
        drop_dull(record, lines, &count, MAX_SINGLE);
    }
    if (count == 0) {
        return;
    }
    ow_report_line(report, "What happens, from key on:");
    const int rows = is_narrow ? (count + 1) / 2 : count;
    for (int r = 0; r < rows; r++) {
        char left[256], right[256] = "";
        say(report, &lines[r], left, sizeof left, is_narrow ? HALF : OW_REPORT_WIDTH - 2);
        if (rows + r < count) {
            say(report, &lines[rows + r], right, sizeof right, HALF);
        }
        ow_report_line(report, "%s  %s", left, right);
    }
}
