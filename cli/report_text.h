// SPDX-License-Identifier: GPL-3.0-or-later
// Lines of text for a screen of 80 columns: padding by what is seen, wrapping, plain ASCII where the locale
// wants it.
#ifndef OW_CLI_REPORT_TEXT_H
#define OW_CLI_REPORT_TEXT_H

#include "cli.h"

#define OW_REPORT_WIDTH 80

typedef struct OwReport {
    FILE *file;
    bool is_ascii;
    const OwJudgement *judgement;
} OwReport;

/// Columns a UTF-8 text takes (one a character; the reports use no wide ones).
int ow_report_width(const char *text);
/// Copies with °, ², ³, µ, Ω and dashes replaced when `is_ascii`; other characters outside ASCII become '?'
/// then. Control characters become '?' always. Always terminated.
void ow_report_plain(char *out, size_t size, const char *text, bool is_ascii);
/// A line: printf, plain, newline.
void ow_report_line(const OwReport *report, const char *format, ...) __attribute__((format(printf, 2, 3)));
/// A paragraph wrapped at 80 columns, later lines indented.
void ow_report_paragraph(const OwReport *report, const char *text, int indent);
/// A value of an answer in words; oil that no longer runs is "solid" as in the table along the path.
void ow_report_value(const OwAnswer *answer, double si, OwDisplay display, char *out, size_t size);
/// Fits text into exactly `width` columns (cut or padded); `is_right` aligns right.
void ow_report_fit(char *out, size_t size, const char *text, int width, bool is_right);
/// A number in display units without its unit, with `decimals`, in `width` columns.
void ow_report_number(const OwReport *report, char *out, size_t size, double si, OwQuantity quantity,
                      int decimals, int width);
/// Display label of a quantity.
const char *ow_report_label(const OwReport *report, OwQuantity quantity);

void ow_report_path(const OwReport *report);
void ow_report_limits(const OwReport *report);
/// Every answer in full, with margin, part and mend.
void ow_report_answers(const OwReport *report);
void ow_report_events(const OwReport *report);
void ow_report_plot(const OwReport *report);
void ow_report_cautions(const OwReport *report);

#endif
