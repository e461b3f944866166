// SPDX-License-Identifier: GPL-3.0-or-later
// The views of things as text of 80 columns.
#include "log_text.h"

#include <math.h>
#include <string.h>

#include "log_json_make.h"

static void day(int64_t at_s, char text[24]) {
    if (at_s == 0) {
        (void)snprintf(text, 24, "-");
        return;
    }
    ow_log_local_write(at_s, text);
    text[10] = '\0';
}

static void volume(const LogCall *call, bool is_known, double m3, char *text, size_t size) {
    if (!is_known) {
        (void)snprintf(text, size, "-");
        return;
    }
    ow_units_write(m3, OW_Q_VOLUME, call->display, text, size);
}

static const char *choice(OwLogKind kind, const char *key, int64_t number) {
    const char *const *words = ow_log_kind(kind)->fields[ow_log_field_of(kind, key)].choices;
    for (int64_t i = 0; words[i] != NULL; i++) {
        if (i == number) {
            return words[i];
        }
    }
    return "";
}

static void nothing(LogCall *call, const char *what, const char *example) {
    ow_report_line(&call->report, "The logbook has no %s yet. For example: oilwright log %s", what, example);
}

OwStatus ow_log_text_levels(LogCall *call) {
    OwLogVesselRow *rows;
    int count;
    const OwStatus status = ow_logbook_vessels(call->book, call->arena, &rows, &count, &call->faults);
    if (status != OW_OK || count == 0) {
        if (status == OW_OK) {
            nothing(call, "vessels", "vessel \"drum 1\" 200 L raw");
        }
        return status;
    }
    ow_report_line(&call->report, "Vessel               for            level       holds");
    for (int i = 0; i < count; i++) {
        const OwLogVesselRow *v = &rows[i];
        char name[96], use[40], level[40], holds[40], fit[4][96], bar[24] = "", note[64] = "";
        (void)snprintf(name, sizeof name, "%s", v->name);
        (void)snprintf(use, sizeof use, "%s", v->has_use ? choice(OW_LOG_VESSEL, "use", v->use) : "");
        volume(call, true, v->level_m3, level, sizeof level);
        volume(call, v->has_capacity, v->capacity_m3, holds, sizeof holds);
        ow_report_fit(fit[0], sizeof fit[0], name, 20, false);
        ow_report_fit(fit[1], sizeof fit[1], use, 8, false);
        ow_report_fit(fit[2], sizeof fit[2], level, 11, true);
        ow_report_fit(fit[3], sizeof fit[3], holds, 11, true);
        if (v->has_capacity && v->capacity_m3 > 0.0) {
            const int full = (int)lround(10.0 * fmin(fmax(v->level_m3 / v->capacity_m3, 0.0), 1.0));
            (void)snprintf(bar, sizeof bar, "[%.*s%.*s]", full, "##########", 10 - full, "..........");
        }
        if (v->is_below || v->is_over) {
            (void)snprintf(note, sizeof note, "%s: measure it", v->is_below ? "below nothing" : "over full");
        } else if (v->batches > 0) {
            (void)snprintf(note, sizeof note, "%d batch%s", v->batches, v->batches == 1 ? "" : "es");
        }
        ow_report_line(&call->report, "%s %s %s %s  %-12s %s", fit[0], fit[1], fit[2], fit[3], bar, note);
    }
    return OW_OK;
}

OwStatus ow_log_text_sources(LogCall *call) {
    OwLogSourceRow *rows;
    int count;
    const OwStatus status = ow_logbook_sources(call->book, call->arena, &rows, &count, &call->faults);
    if (status == OW_OK && count == 0) {
        nothing(call, "sources", "source \"Hill Cafe\"");
    }
    for (int i = 0; status == OW_OK && i < count; i++) {
        char name[96], sum[40], last[24];
        ow_report_fit(name, sizeof name, rows[i].name, 28, false);
        volume(call, true, rows[i].collected_m3, sum, sizeof sum);
        day(rows[i].last_s, last);
        ow_report_line(&call->report, "%s %10s in %lld pick-up%s, last %s", name, sum,
                       (long long)rows[i].pickups, rows[i].pickups == 1 ? "" : "s", last);
    }
    return status;
}

/// "keep, acid 1.2 mg/g, water 300 mg/kg, solids 20 mg/kg"
static void tested(const OwLogBatchRow *b, char *text, size_t size) {
    text[0] = '\0';
    if (b->has_decision) {
        (void)snprintf(text, size, "%s", choice(OW_LOG_TEST, "decision", b->decision));
    }
    const struct {
        bool has;
        const char *name, *unit;
        double shown;
    } parts[] = {{b->has_acid, "acid", "mg/g", b->acid_mg_g},
                 {b->has_water, "water", "mg/kg", 1e6 * b->water_kg_kg},
                 {b->has_solids, "solids", "mg/kg", 1e6 * b->solids_kg_kg}};
    for (int i = 0; i < 3; i++) {
        if (parts[i].has) {
            const size_t used = strlen(text);
            (void)snprintf(text + used, size - used, "%s%s %.*g %s", used > 0 ? ", " : "", parts[i].name,
                           ow_log_digits(parts[i].shown), parts[i].shown, parts[i].unit);
        }
    }
    char over[200];
    if (b->has_decision && b->decision == OW_LOG_DECISION_KEEP && ow_log_batch_over(b, over, sizeof over)) {
        const size_t used = strlen(text);
        (void)snprintf(text + used, size - used, "; but %s", over);
    }
}

OwStatus ow_log_text_batches(LogCall *call) {
    OwLogBatchRow *rows;
    int count;
    const OwStatus status = ow_logbook_batches(call->book, call->options[LOG_ALL].count > 0, 0, 0,
                                               call->arena, &rows, &count, &call->faults);
    if (status == OW_OK && count == 0) {
        nothing(call, "open batches", "batch b1 from \"drum 1\" 120 L");
    }
    for (int i = 0; status == OW_OK && i < count; i++) {
        const OwLogBatchRow *b = &rows[i];
        char now[40], started[24], tests[360], line[600];
        volume(call, true, b->volume_m3, now, sizeof now);
        day(b->started_s, started);
        tested(b, tests, sizeof tests);
        (void)snprintf(line, sizeof line, "%s: %s in %s since %s%s%s; %s", b->name, now,
                       b->vessel_name[0] != '\0' ? b->vessel_name : "no vessel told", started,
                       b->has_step ? ", last step " : "",
                       b->has_step ? choice(OW_LOG_STEP, "what", b->step) : "",
                       tests[0] != '\0' ? tests : "not tested");
        ow_report_paragraph(&call->report, line, 2);
    }
    return status;
}

static void entry_line(LogCall *call, const OwLogEntry *e) {
    char sentence[400], line[480], when[24];
    ow_log_words_say(e, call->display, sentence, sizeof sentence);
    day(e->at_s, when);
    char number[16];
    (void)snprintf(number, sizeof number, "%lld", (long long)e->id);
    (void)snprintf(line, sizeof line, "%s %s %s%s", number, when, sentence,
                   e->undone_by != 0 ? " (taken back)" : "");
    ow_report_paragraph(&call->report, line, (int)strlen(number) + 12);
}

OwStatus ow_log_text_list(LogCall *call, const OwLogFilter *filter) {
    OwLogList list;
    const OwStatus status = ow_logbook_list(call->book, filter, call->arena, &list, &call->faults);
    for (int i = 0; status == OW_OK && i < list.count; i++) {
        entry_line(call, &list.entries[i]);
    }
    if (status == OW_OK && list.count == 0) {
        ow_report_line(&call->report, "Nothing in the logbook fits.");
    } else if (status == OW_OK && list.has_more) {
        ow_report_line(&call->report, "... and older ones: --limit N shows more, --since and --find fewer.");
    }
    return status;
}

static void trace_lines(LogCall *call, const OwLogTrace *t) {
    enum { SHOWN = 10 };
    const struct {
        const char *title;
        const OwLogShare *items;
        int count;
    } groups[] = {{"by source", t->sources, t->source_count},
                  {"in parts", t->parts, t->part_count},
                  {"through batches", t->batches, t->batch_count}};
    if (!(t->volume_m3 > 0.0)) {
        ow_report_line(&call->report, "  It is empty.");
        return;
    }
    for (int g = 0; g < 3; g++) {
        if (groups[g].count == 0) {
            continue;
        }
        ow_report_line(&call->report, "  %s:", groups[g].title);
        for (int i = 0; i < groups[g].count && i < SHOWN; i++) {
            const OwLogShare *s = &groups[g].items[i];
            char name[96], amount[40], when[24];
            ow_report_fit(name, sizeof name, s->name, 26, false);
            volume(call, true, s->volume_m3, amount, sizeof amount);
            day(s->at_s, when);
            if (g == 1) { // which pick-up or step, and when
                ow_report_line(&call->report, "  %5.1f %% %9s  %s %s %lld, %s", 100.0 * s->share, amount,
                               name, ow_log_kind(s->kind) != NULL ? ow_log_kind(s->kind)->word : "",
                               (long long)s->id, when);
            } else {
                ow_report_line(&call->report, "  %5.1f %% %9s  %s", 100.0 * s->share, amount, name);
            }
        }
        if (groups[g].count > SHOWN) {
            ow_report_line(&call->report, "  ... and %d more", groups[g].count - SHOWN);
        }
    }
    if (t->unknown > 5e-4) {
        ow_report_line(&call->report,
                       "  %5.1f %% not known: the book begins later, or a level was not entered",
                       100.0 * t->unknown);
    }
    if (t->is_cut) {
        ow_report_line(&call->report, "  Stopped after 4000 movements: the oldest part is in \"not known\".");
    }
}

OwStatus ow_log_text_trace(LogCall *call, int64_t id) {
    OwLogTrace trace;
    char heading[200], amount[40];
    const OwStatus status = ow_log_trace_read(call->book, id, call->arena, &trace, heading, &call->faults);
    if (status == OW_OK) {
        volume(call, true, trace.volume_m3, amount, sizeof amount);
        ow_report_line(&call->report, "%s: %s", heading, amount);
        trace_lines(call, &trace);
    }
    return status;
}

OwStatus ow_log_text_batch(LogCall *call, int64_t id) {
    OwLogBatchRow *row = NULL;
    OwLogTrace trace;
    int count = 0;
    OwStatus status =
        ow_logbook_batches(call->book, true, id + 1, 1, call->arena, &row, &count, &call->faults);
    if (status != OW_OK || count == 0 || row[0].id != id) {
        return status != OW_OK ? status : OW_ERROR_VALUE;
    }
    char text[400], parts[6][40], tests[160], started[24];
    const double amounts[] = {row->in_m3,  row->added_m3, row->lost_m3,
                              row->out_m3, row->found_m3, row->volume_m3};
    for (int i = 0; i < 6; i++) {
        volume(call, true, amounts[i], parts[i], sizeof parts[i]);
    }
    day(row->started_s, started);
    tested(row, tests, sizeof tests);
    (void)snprintf(text, sizeof text, "Batch %s, begun %s, %s%s: %s now.", row->name, started,
                   row->vessel_name[0] != '\0' ? "in " : "",
                   row->vessel_name[0] != '\0' ? row->vessel_name : "no vessel told", parts[5]);
    ow_report_paragraph(&call->report, text, 2);
    (void)snprintf(text, sizeof text,
                   "In %s, added %s; taken off as waste %s, drawn %s; measured against the book %s.",
                   parts[0], parts[1], parts[2], parts[3], parts[4]);
    ow_report_paragraph(&call->report, text, 2);
    (void)snprintf(text, sizeof text, "Tests: %s.", tests[0] != '\0' ? tests : "none yet");
    ow_report_paragraph(&call->report, text, 2);
    status = ow_logbook_trace_back(call->book, id, 0, call->arena, &trace, &call->faults);
    if (status == OW_OK && trace.volume_m3 > 0.0) {
        ow_report_line(&call->report, "What is in it:");
        trace_lines(call, &trace);
    }
    if (status == OW_OK) {
        const OwLogFilter filter = {.thing = id, .limit = 100};
        ow_report_line(&call->report, "Entries, newest first:");
        status = ow_log_text_list(call, &filter);
    }
    ow_report_paragraph(
        &call->report,
        "Caution: hot oil burns: never leave it heating alone, and have an over-temperature cut-out. Oily "
        "rags "
        "and filter cake heat by themselves: closed metal can, outdoors. Local fire and waste rules hold.",
        2);
    return status;
}

OwStatus ow_log_text_totals(LogCall *call, int64_t from_s, int64_t to_s, int64_t vehicle) {
    OwLogTotals t;
    const OwStatus status = ow_logbook_totals(call->book, from_s, to_s, vehicle, &t, &call->faults);
    if (status != OW_OK) {
        return status;
    }
    char a[40], b[40], text[64], first[24], last[24];
    day(t.first_s, first);
    day(t.last_s, last);
    if (t.first_s == 0) {
        ow_report_line(&call->report, "Names are in the logbook, but nothing has happened yet.");
    } else {
        ow_report_line(&call->report, "The logbook runs from %s to %s.", first, last);
    }
    volume(call, true, t.collected_m3, a, sizeof a);
    ow_report_line(&call->report, "  collected      %10s in %lld pick-ups, %.0f %s driven for it", a,
                   (long long)t.entries[OW_LOG_PICKUP],
                   t.collection_distance_m / (call->display == OW_DISPLAY_US ? 1609.344 : 1000.0),
                   call->display == OW_DISPLAY_US ? "mi" : "km");
    volume(call, true, t.lost_m3, a, sizeof a);
    volume(call, true, t.added_m3, b, sizeof b);
    ow_report_line(&call->report, "  taken off      %10s as waste; %s blended in", a, b);
    volume(call, true, t.filled_m3, a, sizeof a);
    volume(call, true, t.diesel_m3, b, sizeof b);
    ow_report_line(&call->report, "  filled         %10s oil and %s diesel in %lld fills", a, b,
                   (long long)t.entries[OW_LOG_FILL]);
    ow_report_line(&call->report, "  driven         %7.0f %s",
                   t.distance_m / (call->display == OW_DISPLAY_US ? 1609.344 : 1000.0),
                   call->display == OW_DISPLAY_US ? "mi" : "km");
    ow_report_line(&call->report, "  filters        %10lld changed; %lld oil changes", (long long)t.filters,
                   (long long)t.oil_changes);
    ow_report_line(&call->report, "  energy         %8.1f kWh", t.energy_j / 3.6e6);
    ow_report_line(&call->report, "  work           %8.1f h", t.work_all_s / 3600.0);
    ow_log_money_write(t.spent_all, text, sizeof text);
    ow_report_line(&call->report, "  spent          %10s", text);
    for (int k = 1; k < OW_LOG_KINDS; k++) { // the lines below it sum to what was spent
        if (t.spent[k] != 0 && k != OW_LOG_EXPENSE && k != OW_LOG_REPAIR) {
            ow_log_money_write(t.spent[k], text, sizeof text);
            ow_report_line(&call->report, "    %-12s %10s", ow_log_kind((OwLogKind)k)->word, text);
        }
    }
    for (int i = 0; i < OW_LOG_EXPENSE_CHOICES; i++) {
        if (t.expenses[i] != 0) {
            ow_log_money_write(t.expenses[i], text, sizeof text);
            ow_report_line(&call->report, "    expense      %10s %s", text,
                           choice(OW_LOG_EXPENSE, "what", i));
        }
    }
    for (int i = 0; i < OW_LOG_REPAIR_CHOICES; i++) {
        if (t.repairs[i] != 0) {
            ow_log_money_write(t.repairs[i], text, sizeof text);
            ow_report_line(&call->report, "    work on it   %10s %s", text, choice(OW_LOG_REPAIR, "what", i));
        }
    }
    for (int i = 0; i < OW_LOG_WASTE_CHOICES; i++) {
        if (t.waste_made_m3[i] > 0.0 || t.waste_handed_m3[i] > 0.0) {
            volume(call, true, t.waste_made_m3[i], a, sizeof a);
            volume(call, true, t.waste_handed_m3[i], b, sizeof b);
            ow_report_line(&call->report, "  waste %-8s %10s made, %s handed over",
                           choice(OW_LOG_WASTE, "what", i), a, b);
        }
    }
    return OW_OK;
}
