// SPDX-License-Identifier: GPL-3.0-or-later
// The whole report of a morning on one screen: answer, what to do, path, limits, events, plot, cautions.
#include <math.h>
#include <string.h>

#include "report_text.h"

int ow_report_caution_list(const OwJudgement *j, OwReportCaution cautions[OW_REPORT_CAUTIONS]) {
    double hot = 0.0;
    bool has_heaters = false;
    int count = 0;
    for (int i = 0; i < j->contribution_count; i++) {
        const OwContribution *c = &j->contributions[i];
        hot = fmax(hot, fmax(c->hottest_oil_k, c->hottest_wall_k));
    }
    for (int i = 0; i < j->record->sample_count; i++) {
        has_heaters = has_heaters || j->record->samples[i].heaters_w > 1.0;
    }
    if (hot > OW_ZERO_CELSIUS_K + 50.0) {
        char degrees[48];
        ow_units_write(hot, OW_Q_TEMPERATURE, j->display, degrees, sizeof degrees);
        snprintf(cautions[count++].text, sizeof cautions->text,
                 "Parts reach %s and burn skin; cool and vent before opening.", degrees);
    }
    const OwAnswer *flash = ow_judge_find(j, OW_ANSWER_FLASH);
    if (flash != NULL && flash->grade == OW_GRADE_TIGHT) {
        snprintf(cautions[count++].text, sizeof cautions->text,
                 "Fuel passes its flash point: a leak there burns.");
    }
    if (has_heaters) {
        snprintf(
            cautions[count++].text, sizeof cautions->text,
            "Fuse every heater and give it its own over-heat cut-out; no sparks near batteries or fuel.");
    }
    snprintf(cautions[count++].text, sizeof cautions->text,
             "Duty, approval and emission rules are local: ask; have a licensed workshop check the work.");
    return count;
}

void ow_report_caution(const OwJudgement *j, char *text, size_t size) {
    OwReportCaution cautions[OW_REPORT_CAUTIONS];
    const int count = ow_report_caution_list(j, cautions);
    size_t used = 0;
    text[0] = '\0';
    for (int i = 0; i < count && used < size; i++) {
        used += (size_t)snprintf(text + used, size - used, "%s%s", i > 0 ? " " : "", cautions[i].text);
    }
}

void ow_report_cautions(const OwReport *report) {
    char text[512] = "Caution: ";
    const size_t used = strlen(text);
    ow_report_caution(report->judgement, text + used, sizeof text - used);
    ow_report_paragraph(report, text, 2);
}

static void heading(const OwReport *report) {
    const OwRecord *record = report->judgement->record;
    const OwRig *rig = record->rig;
    char fluids[160] = "";
    size_t used = 0;
    for (int i = 0; i < rig->fluid_count && i < OW_MAX_FLUIDS && used < sizeof fluids; i++) {
        const OwOilSpec *spec = &rig->fluid_spec[i];
        used += (size_t)snprintf(fluids + used, sizeof fluids - used, "%s", i > 0 ? " and " : "");
        for (int b = 0; b < spec->blend_count && b < OW_OIL_MAX_BLEND && used < sizeof fluids; b++) {
            used +=
                (size_t)snprintf(fluids + used, sizeof fluids - used, "%s%.0f %% %.24s", b > 0 ? " + " : "",
                                 100.0 * spec->blend_fraction[b], spec->blend_name[b]);
        }
        if (spec->blend_count == 0 && used < sizeof fluids) {
            used += (size_t)snprintf(fluids + used, sizeof fluids - used, "%.40s",
                                     spec->name[0] != '\0' ? spec->name : rig->fluid_name[i]);
        }
    }
    char soak[48] = "?", length[48], text[512];
    if (record->sample_count > 0) {
        ow_units_write(record->samples[0].inlet_k, OW_Q_TEMPERATURE, report->judgement->display, soak,
                       sizeof soak);
    }
    ow_units_write(record->end_s, OW_Q_TIME, report->judgement->display, length, sizeof length);
    snprintf(text, sizeof text, "%s%s%s, soaked at %s, %s.", rig->name, fluids[0] != '\0' ? ": " : "", fluids,
             soak, length);
    ow_report_paragraph(report, text, 2);
}

bool ow_report_write_short(FILE *file, const OwJudgement *judgement, bool is_ascii) {
    const OwReport report = {.file = file, .is_ascii = is_ascii, .judgement = judgement};
    ow_report_paragraph(&report, judgement->headline, 0);
    if (judgement->advice[0] != '\0') {
        char advice[OW_ANSWER_TEXT + 16];
        snprintf(advice, sizeof advice, "%s%s", ow_judge_fails(judgement->grade) ? "To mend it: " : "",
                 judgement->advice);
        ow_report_paragraph(&report, advice, 0);
    }
    return ferror(file) == 0;
}

static bool write_report(FILE *file, const OwJudgement *judgement, bool is_ascii, bool is_all) {
    const OwReport report = {.file = file, .is_ascii = is_ascii, .judgement = judgement};
    (void)ow_report_write_short(file, judgement, is_ascii);
    fputc('\n', file);
    heading(&report);
    if (judgement->record->sample_count > 0) {
        ow_report_path(&report);
        fputc('\n', file);
        ow_report_limits(&report);
        fputc('\n', file);
        ow_report_events(&report);
        ow_report_plot(&report);
    }
    if (is_all) {
        fputc('\n', file);
        ow_report_answers(&report);
    }
    ow_report_cautions(&report);
    return ferror(file) == 0;
}

bool ow_report_write(FILE *file, const OwJudgement *judgement, bool is_ascii) {
    return write_report(file, judgement, is_ascii, false);
}

bool ow_report_write_all(FILE *file, const OwJudgement *judgement, bool is_ascii) {
    return write_report(file, judgement, is_ascii, true);
}
