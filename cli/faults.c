// SPDX-License-Identifier: GPL-3.0-or-later
// `oilwright faults`: every single failure of every part, what it does, how it shows, what helps at the
// roadside.
#include "oilwright/faults.h"

#include <stdlib.h>
#include <string.h>

#include "progress.h"
#include "study.h"

static const char usage[] =
    "Usage: oilwright faults RIG [options]\n"
    "\n"
    "Breaks one thing after another and simulates a cold start and a motorway leg with it: dangerous, "
    "strands,\n"
    "limps home or goes unnoticed, and why; when and by what it is noticed; the remedy at the roadside.\n"
    "\n"
    "  --all               every failure in full, also those that go unnoticed or do the same as another\n"
    "  --soak T            all oil and metal at key on (ambient of the rig)\n"
    "  --oil OIL           another oil, see oilwright morning --help\n"
    "  --set KEY=VALUE     change any value of the file; may be given more than once\n"
    "  --threads N         1 to 16 (2); the answer is the same\n"
    "  --progress-fd N     writes the share done, a line a per cent, on this open descriptor\n"
    "  --units metric|us   units of the output (metric)\n"
    "  --json              write all of it as JSON\n"
    "\n"
    "Ends with 0: nothing dangerous, nothing strands; 1: something does; 2: the call or the input is wrong;\n"
    "3: output could not be written, or memory ran out.\n";

static const char *const titles[OW_CLASS_COUNT] = {"UNNOTICED on the drive", "LIMPS home", "STRANDS",
                                                   "DANGEROUS"};

static void word(char *out, size_t size, double si, OwQuantity quantity, OwDisplay display) {
    ow_units_write(si, quantity, display, out, size);
}

static void append(char *text, size_t size, const char *format, ...) __attribute__((format(printf, 3, 4)));
static void append(char *text, size_t size, const char *format, ...) {
    const size_t used = strlen(text);
    va_list arguments;
    va_start(arguments, format);
    (void)vsnprintf(text + used, size - used, format, arguments);
    va_end(arguments);
}

/// Same effect, same class: told together.
static bool is_told_before(const OwFailureWalk *walk, int index) {
    const OwFailure *f = &walk->failures[index];
    for (int i = 0; f->run > 0 && i < index; i++) {
        if (walk->failures[i].run == f->run) {
            return true;
        }
    }
    return false;
}

static void write_gauges(char *text, size_t size, const OwFailure *f, OwDisplay display) {
    const OwGauges *g = &f->gauges;
    char t[24], th[24], p[24], ph[24];
    word(t, sizeof t, g->inlet_k, OW_Q_TEMPERATURE, display);
    word(th, sizeof th, g->healthy_inlet_k, OW_Q_TEMPERATURE, display);
    word(p, sizeof p, g->inlet_pa, OW_Q_PRESSURE, display);
    word(ph, sizeof ph, g->healthy_inlet_pa, OW_Q_PRESSURE, display);
    append(text, size,
           " pump inlet %s (healthy %s), %s (%s); %.1f V (%.1f), heaters and pumps %.0f A (%.0f).", t, th, p,
           ph, g->volts_v, g->healthy_volts_v, g->load_a, g->healthy_load_a);
}

/// "at once" or "after 3 min".
static void after(char *text, size_t size, double s, OwDisplay display) {
    char words[32];
    word(words, sizeof words, s, OW_Q_TIME, display);
    append(text, size, s < 1.0 ? "at once" : "after %s", words);
}

static void write_notice(char *text, size_t size, const OwFailure *f, OwDisplay display) {
    const bool is_felt = f->felt_s >= f->starts_s && f->felt_s >= 0.0;
    append(text, size, "Noticed");
    if (is_felt) {
        append(text, size, " ");
        after(text, size, f->felt_s - f->starts_s, display);
    }
    append(text, size, ": %s.", f->noticed[0] != '\0' ? f->noticed : "nothing, until it is looked for");
    if (f->gauge_s >= f->starts_s && f->gauges.is_known) {
        append(text, size, " Gauges show it ");
        after(text, size, f->gauge_s - f->starts_s, display);
        append(text, size, ":");
        write_gauges(text, size, f, display);
    }
}

static void write_one(const OwStudyCall *call, const OwFailureWalk *walk, int index, bool is_all) {
    const OwFailure *f = &walk->failures[index];
    char text[1000];
    snprintf(text, sizeof text, "- %s", f->name);
    for (int i = index + 1; !is_all && i < walk->failure_count && f->run > 0; i++) {
        if (walk->failures[i].run == f->run && strlen(text) < 400) {
            append(text, sizeof text, "; or %s", walk->failures[i].name);
        }
    }
    append(text, sizeof text, ": %s%s%s [%s].", f->scene, f->scene[0] != '\0' ? ": " : "", f->verdict.text,
           ow_judge_trust_text(f->verdict.trust));
    if (f->cold != f->road && f->is_simulated) {
        append(text, sizeof text, " (Cold start: %s; failing on the motorway: %s.)",
               ow_failure_class_text(f->cold), ow_failure_class_text(f->road));
    }
    ow_report_paragraph(&call->report, text, 2);
    text[0] = '\0';
    write_notice(text, sizeof text, f, walk->display);
    fputs("  ", call->report.file);
    ow_report_paragraph(&call->report, text, 2);
    snprintf(text, sizeof text, "Roadside: %s. Spare: %s; %.0f min.", f->remedy, f->spare, f->minutes);
    fputs("  ", call->report.file);
    ow_report_paragraph(&call->report, text, 2);
}

static void write_names(const OwStudyCall *call, const OwFailureWalk *walk, OwFailureClass outcome,
                        bool is_as_unbroken) {
    char names[4000] = "";
    for (int i = 0; i < walk->failure_count; i++) {
        const OwFailure *f = &walk->failures[i];
        if (f->outcome == outcome && f->is_as_unbroken == is_as_unbroken && strlen(names) < 820) {
            append(names, sizeof names, "%s%s", names[0] != '\0' ? "; " : "", f->name);
        }
    }
    append(names, sizeof names, "%s", strlen(names) >= 820 ? "; and more: --all tells them" : ".");
    ow_report_paragraph(&call->report, names, 2);
}

static void write_class(const OwStudyCall *call, const OwFailureWalk *walk, OwFailureClass outcome,
                        bool is_all) {
    const int count = walk->count[outcome] - (outcome == OW_CLASS_STRANDS ? walk->as_unbroken : 0);
    if (count == 0) {
        return;
    }
    ow_report_line(&call->report, "%s", "");
    ow_report_line(&call->report, "%s (%d)", titles[outcome], count);
    if (outcome == OW_CLASS_UNNOTICED && !is_all) {
        write_names(call, walk, outcome, false);
        return;
    }
    for (int i = 0; i < walk->failure_count; i++) {
        const OwFailure *f = &walk->failures[i];
        if (f->outcome == outcome && !f->is_as_unbroken && (is_all || !is_told_before(walk, i))) {
            write_one(call, walk, i, is_all);
        }
    }
}

/// Failures of a vehicle that does not start anyway: names suffice.
static void write_as_unbroken(const OwStudyCall *call, const OwFailureWalk *walk, bool is_all) {
    if (walk->as_unbroken == 0) {
        return;
    }
    ow_report_line(&call->report, "%s", "");
    ow_report_line(&call->report, "DOES NOT START, as unbroken (%d)", walk->as_unbroken);
    if (!is_all) {
        write_names(call, walk, OW_CLASS_STRANDS, true);
        return;
    }
    for (int i = 0; i < walk->failure_count; i++) {
        if (walk->failures[i].is_as_unbroken) {
            write_one(call, walk, i, true);
        }
    }
}

static void write_score(const OwStudyCall *call, const OwFailureWalk *walk) {
    const OwServiceScore *s = &walk->score;
    ow_report_line(&call->report, "%s", "");
    if (walk->as_unbroken > 0) { // what strands such a vehicle cannot be counted
        ow_report_line(&call->report, "No score for being simple and easy to mend until it starts unbroken.");
        return;
    }
    ow_report_line(&call->report, "Simple and easy to mend: %.0f of 100 (weights assumed)", s->score);
    for (int i = 0; i < s->line_count; i++) {
        ow_report_line(&call->report, "  - %-30s %6.1f x %.1f = %5.1f", s->lines[i].what, s->lines[i].count,
                       s->lines[i].weight, s->lines[i].points);
    }
    ow_report_line(&call->report, "  %d of %d fuel parts are off the shelf (%.0f %%).", s->off_the_shelf,
                   s->parts, s->parts > 0 ? 100.0 * s->off_the_shelf / s->parts : 0.0);
}

static void write_text(const OwStudyCall *call, const OwFailureWalk *walk, bool is_all) {
    ow_report_paragraph(&call->report, walk->headline, 0);
    char text[OW_ANSWER_TEXT + 32];
    snprintf(text, sizeof text, "Unbroken: %s", walk->healthy.text);
    ow_report_paragraph(&call->report, text, 0);
    for (int c = OW_CLASS_COUNT - 1; c >= 0; c--) {
        write_class(call, walk, (OwFailureClass)c, is_all);
    }
    write_as_unbroken(call, walk, is_all);
    write_score(call, walk);
    ow_report_paragraph(
        &call->report,
        "Remedies, minutes and weights: common practice or assumed. Shorts and overloaded wires: "
        "oilwright wire --faults.",
        0);
    ow_study_caution(&call->report);
}

static json_t *time_json(double s) {
    return s >= 0.0 ? ow_study_real(s) : json_null();
}

static json_t *gauges_json(const OwGauges *g) {
    if (!g->is_known) {
        return json_null();
    }
    return json_pack("{s:o, s:o, s:o, s:o, s:o, s:o, s:o, s:o, s:o}", "time_s", ow_study_real(g->time_s),
                     "inlet_k", ow_study_real(g->inlet_k), "healthy_inlet_k",
                     ow_study_real(g->healthy_inlet_k), "inlet_pa", ow_study_real(g->inlet_pa),
                     "healthy_inlet_pa", ow_study_real(g->healthy_inlet_pa), "volts_v",
                     ow_study_real(g->volts_v), "healthy_volts_v", ow_study_real(g->healthy_volts_v),
                     "load_a", ow_study_real(g->load_a), "healthy_load_a", ow_study_real(g->healthy_load_a));
}

static json_t *failure_json(const OwRig *rig, const OwFailure *f) {
    return json_pack(
        "{s:s, s:s, s:o, s:i, s:f, s:s, s:s, s:s, s:s, s:b, s:b, s:o, s:o, s:o, s:s, s:o, s:s, s:s, s:f}",
        "kind", ow_failure_key(f->kind), "name", f->name, "part", ow_study_part(rig, f->part), "element",
        f->element, "size", f->size, "class", ow_failure_class_text(f->outcome), "cold_start",
        ow_failure_class_text(f->cold), "motorway", ow_failure_class_text(f->road), "scene", f->scene,
        "simulated", f->is_simulated, "as_unbroken", f->is_as_unbroken, "verdict",
        ow_study_finding(rig, &f->verdict), "felt_s", time_json(f->felt_s), "gauge_s", time_json(f->gauge_s),
        "noticed", f->noticed, "gauges", gauges_json(&f->gauges), "remedy", f->remedy, "spare", f->spare,
        "minutes", f->minutes);
}

static json_t *walk_json(const OwFailureWalk *walk) {
    json_t *failures = json_array(), *lines = json_array();
    for (int i = 0; i < walk->failure_count; i++) {
        (void)json_array_append_new(failures, failure_json(walk->rig, &walk->failures[i]));
    }
    const OwServiceScore *s = &walk->score;
    for (int i = 0; i < s->line_count; i++) {
        (void)json_array_append_new(lines, json_pack("{s:s, s:f, s:f, s:f}", "what", s->lines[i].what,
                                                     "count", s->lines[i].count, "weight", s->lines[i].weight,
                                                     "points", s->lines[i].points));
    }
    return json_pack(
        "{s:s, s:i, s:s, s:s, s:o, s:{s:i, s:i, s:i, s:i, s:i}, s:o, s:{s:o, s:i, s:i, s:i, s:f, s:o}, s:i}",
        "format", "oilwright-faults", "format_version", 1, "rig", walk->rig->name, "headline", walk->headline,
        "healthy", ow_study_finding(walk->rig, &walk->healthy), "count", "dangerous",
        walk->count[OW_CLASS_DANGEROUS], "strands", walk->count[OW_CLASS_STRANDS], "limps",
        walk->count[OW_CLASS_LIMPS], "unnoticed", walk->count[OW_CLASS_UNNOTICED], "as_unbroken",
        walk->as_unbroken, "failures", failures, "score", "score",
        walk->as_unbroken > 0 ? json_null() : json_real(s->score), "parts", s->parts, "off_the_shelf",
        s->off_the_shelf, "single_points", s->single_points, "mean_minutes", s->mean_minutes, "lines", lines,
        "mornings", walk->runs);
}

static bool read_threads(const OwCliOption *option, int *threads) {
    const char *text = ow_cli_value(option);
    if (text == NULL) {
        return true;
    }
    char *end = NULL;
    const long n = strtol(text, &end, 10);
    if (end == text || *end != '\0' || n < 1 || n > 16) {
        fprintf(stderr, "oilwright faults: --threads is a whole number from 1 to 16, not \"%s\"\n", text);
        return false;
    }
    *threads = (int)n;
    return true;
}

int ow_cli_faults_walk(int argc, char **argv) {
    OwStudyCall call = {.verb = "faults",
                        .extra = {{.name = "--all"},
                                  {.name = "--threads", .has_value = true, .most = 1},
                                  {.name = "--progress-fd", .has_value = true, .most = 1}},
                        .extra_count = 3};
    OwProgressOut progress;
    int code = OW_CLI_USAGE;
    OwFaults faults = {0};
    OwFailureWalk *walk = NULL;
    OwFailureSettings settings = ow_failure_default();
    if (ow_study_open(&call, usage, argc, argv, &code)) {
        settings.soak_k = call.settings.soak_k;
        code = OW_CLI_USAGE;
        if (read_threads(ow_study_option(&call, "--threads"), &settings.threads) &&
            ow_progress_open(call.verb, ow_study_option(&call, "--progress-fd"), &progress)) {
            if (progress.fd >= 0) {
                settings.progress = ow_progress_tell;
                settings.context = &progress;
            }
            const OwStatus status = ow_failure_create(call.rig, &settings, call.display, &walk, &faults);
            if (status != OW_OK) {
                code = ow_study_failed(&call, status, &faults);
            } else {
                code = walk->count[OW_CLASS_DANGEROUS] + walk->count[OW_CLASS_STRANDS] > 0 ? OW_CLI_FAILS
                                                                                           : OW_CLI_GOOD;
                if (call.is_json) {
                    code = ow_study_json(ow_study_cautious(walk_json(walk)), code);
                } else {
                    write_text(&call, walk, ow_study_option(&call, "--all")->count > 0);
                    const int written = ow_cli_finish(stdout, "the standard output");
                    code = written != OW_CLI_GOOD ? written : code;
                }
            }
        }
    }
    ow_failure_destroy(&walk);
    ow_faults_clear(&faults);
    ow_study_close(&call);
    return code;
}
