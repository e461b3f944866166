// SPDX-License-Identifier: GPL-3.0-or-later
// A small plot: temperature (T) and viscosity (v, logarithmic) at the injection pump against time, with the
// limit line.
#include <math.h>
#include <string.h>

#include "report_text.h"

#define ROWS 7
#define COLUMNS 60

static double least(double a, double b) {
    return a < b ? a : b;
}

static double most(double a, double b) {
    return a > b ? a : b;
}

static int row_of(double value, double low, double high) {
    const int r = (int)lround((ROWS - 1) * (high - value) / (high - low));
    return r < 0 ? 0 : r >= ROWS ? ROWS - 1 : r;
}

void ow_report_plot(const OwReport *report) {
    const OwJudgement *j = report->judgement;
    const OwRecord *record = j->record;
    double cold = INFINITY, hot = -INFINITY, thin = INFINITY, thick = -INFINITY;
    for (int i = 0; i < record->sample_count; i++) {
        const OwSample *s = &record->samples[i];
        if (isfinite(s->inlet_k)) {
            cold = least(cold, s->inlet_k);
            hot = most(hot, s->inlet_k);
        }
        if (isfinite(s->inlet_kinematic_m2_s) && s->inlet_kinematic_m2_s > 0.0) {
            thin = least(thin, s->inlet_kinematic_m2_s);
            thick = most(thick, s->inlet_kinematic_m2_s);
        }
    }
    const double end_s = record->sample_count > 0 ? record->samples[record->sample_count - 1].time_s : 0.0;
    if (!(end_s > 0.0) || !(cold <= hot) || !(thin <= thick)) {
        return;
    }
    thick = least(thick, 0.1); // beyond that it is solid
    thin = least(thin, thick);
    const double limit = ow_judge_inlet_limit(record, end_s);
    const bool has_limit = limit > 0.0;
    if (has_limit) {
        thin = least(thin, limit);
        thick = most(thick, limit);
    }
    if (hot - cold < 4.0) {
        hot += 2.0;
        cold -= 2.0;
    }
    const double top = log(most(thick, 1.05 * thin));
    const double bottom = log(thin);
    char grid[ROWS][COLUMNS + 1];
    memset(grid, ' ', sizeof grid);
    for (int r = 0; r < ROWS; r++) {
        grid[r][COLUMNS] = '\0';
    }
    for (int c = 0; has_limit && c < COLUMNS; c++) {
        const double now = ow_judge_inlet_limit(record, end_s * c / (COLUMNS - 1));
        grid[row_of(log(now), bottom, top)][c] = '-';
    }
    int i = 0;
    for (int c = 0; c < COLUMNS; c++) {
        const double t = end_s * c / (COLUMNS - 1);
        while (i + 1 < record->sample_count && record->samples[i + 1].time_s <= t) {
            i++;
        }
        const OwSample *s = &record->samples[i];
        if (isfinite(s->inlet_k)) {
            grid[row_of(s->inlet_k, cold, hot)][c] = 'T';
        }
        if (s->inlet_kinematic_m2_s > 0.0) {
            char *at = &grid[row_of(log(s->inlet_kinematic_m2_s), bottom, top)][c];
            *at = *at == 'T' ? '*' : 'v';
        }
    }
    char kt[64], kv[64], text[256], when[48];
    ow_report_plain(kt, sizeof kt, ow_report_label(report, OW_Q_TEMPERATURE), report->is_ascii);
    ow_report_plain(kv, sizeof kv, ow_report_label(report, OW_Q_KINEMATIC_VISCOSITY), report->is_ascii);
    if (has_limit) {
        char number[64];
        ow_units_write(limit, OW_Q_KINEMATIC_VISCOSITY, j->display, number, sizeof number);
        snprintf(text, sizeof text, "At the injection pump: T = %s (left), v = %s (right), --- limit %s", kt,
                 kv, number);
    } else {
        snprintf(text, sizeof text, "At the injection pump: T = %s (left), v = %s (right), no limit set", kt,
                 kv);
    }
    ow_report_paragraph(report, text, 2);
    for (int r = 0; r < ROWS; r++) {
        char left[64] = "       ", right[64] = "";
        if (r == 0 || r == ROWS - 1 || r == ROWS / 2) {
            const double share = (double)r / (ROWS - 1);
            ow_report_number(report, left, sizeof left, hot + share * (cold - hot), OW_Q_TEMPERATURE, 0, 7);
            ow_report_number(report, right, sizeof right, exp(top + share * (bottom - top)),
                             OW_Q_KINEMATIC_VISCOSITY, 0, 6);
        }
        ow_report_line(report, "%s |%s| %s", left, grid[r], right);
    }
    ow_units_write(end_s, OW_Q_TIME, j->display, when, sizeof when);
    ow_report_line(report, "%7s 0%*s", "", COLUMNS, when);
}
