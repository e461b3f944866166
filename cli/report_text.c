// SPDX-License-Identifier: GPL-3.0-or-later
// Lines of text for a screen of 80 columns.
#include "report_text.h"

#include <math.h>
#include <string.h>

int ow_report_width(const char *text) {
    int width = 0;
    for (const char *c = text; *c != '\0'; c++) {
        width += ((unsigned char)*c & 0xC0) != 0x80 ? 1 : 0;
    }
    return width;
}

static const struct {
    const char *from, *to;
} ascii[] = {
    {"\xC2\xB0"
     "C",
     "degC"},
    {"\xC2\xB0"
     "F",
     "degF"},
    {"\xC2\xB0", "deg"},
    {"\xC2\xB2", "2"},
    {"\xC2\xB3", "3"},
    {"\xC2\xB5", "u"},
    {"\xCE\xA9", "ohm"},
    {"\xC3\x97", "x"},
    {"\xE2\x80\x93", "-"},
    {"\xE2\x80\x94", "-"},
    {"\xC2\xB7", "-"},
    {"\xE2\x88\x92", "-"},
    {"\xC3\xA4", "ae"},
    {"\xC3\xB6", "oe"},
    {"\xC3\xBC", "ue"},
    {"\xC3\x84", "Ae"},
    {"\xC3\x96", "Oe"},
    {"\xC3\x9C", "Ue"},
    {"\xC3\x9F", "ss"},
};

void ow_report_plain(char *out, size_t size, const char *text, bool is_ascii) {
    size_t used = 0;
    const char *c = text;
    while (*c != '\0' && used + 5 < size) {
        const unsigned char byte = (unsigned char)*c;
        if (byte < 0x80 || !is_ascii) {
            out[used++] = byte < 0x20 || byte == 0x7F ? '?' : *c;
            c++;
            continue;
        }
        size_t length = 0;
        for (size_t i = 0; i < sizeof ascii / sizeof ascii[0] && length == 0; i++) {
            const size_t n = strlen(ascii[i].from);
            if (strncmp(c, ascii[i].from, n) == 0) {
                length = n;
                for (const char *t = ascii[i].to; *t != '\0'; t++) {
                    out[used++] = *t;
                }
            }
        }
        if (length == 0) {
            out[used++] = '?';
            length = 1;
            while (((unsigned char)c[length] & 0xC0) == 0x80) {
                length++;
            }
        }
        c += length;
    }
    // A character may have been cut where the room ended.
    if (!is_ascii && *c != '\0') {
        while (used > 0 && ((unsigned char)*c & 0xC0) == 0x80) {
            c--;
            used--;
        }
    }
    out[used] = '\0';
}

void ow_report_line(const OwReport *report, const char *format, ...) {
    char line[1024];
    char plain[1024];
    va_list arguments;
    va_start(arguments, format);
    if (vsnprintf(line, sizeof line, format, arguments) < 0) {
        line[0] = '\0';
    }
    va_end(arguments);
    ow_report_plain(plain, sizeof plain, line, report->is_ascii);
    size_t end = strlen(plain);
    while (end > 0 && plain[end - 1] == ' ') {
        plain[--end] = '\0';
    }
    fprintf(report->file, "%s\n", plain);
}

void ow_report_paragraph(const OwReport *report, const char *text, int indent) {
    char plain[1024];
    ow_report_plain(plain, sizeof plain, text, report->is_ascii);
    int column = 0;
    const char *word = plain;
    while (*word != '\0') {
        while (*word == ' ') {
            word++;
        }
        size_t bytes = 0;
        int width = 0;
        while (word[bytes] != '\0' && word[bytes] != ' ') {
            width += ((unsigned char)word[bytes] & 0xC0) != 0x80 ? 1 : 0;
            if (width > OW_REPORT_WIDTH - indent - 1) {
                break; // a word longer than a line is cut into pieces
            }
            bytes++;
        }
        if (bytes == 0) {
            break;
        }
        if (column > 0 && column + 1 + width > OW_REPORT_WIDTH) {
            fputc('\n', report->file);
            fprintf(report->file, "%*s", indent, "");
            column = indent;
        } else if (column > 0) {
            fputc(' ', report->file);
            column++;
        }
        fprintf(report->file, "%.*s", (int)bytes, word);
        column += width;
        word += bytes;
    }
    fputc('\n', report->file);
}

void ow_report_fit(char *out, size_t size, const char *text, int width, bool is_right) {
    const int has = ow_report_width(text);
    size_t used = 0;
    for (int i = has; is_right && i < width && used + 1 < size; i++) {
        out[used++] = ' ';
    }
    int column = 0;
    for (const char *c = text; *c != '\0' && used + 1 < size; c++) {
        if (((unsigned char)*c & 0xC0) != 0x80) {
            if (column == width) {
                break;
            }
            column++;
        }
        out[used++] = *c;
    }
    for (int i = has; !is_right && i < width && used + 1 < size; i++) {
        out[used++] = ' ';
    }
    out[used] = '\0';
}

void ow_report_number(const OwReport *report, char *out, size_t size, double si, OwQuantity quantity,
                      int decimals, int width) {
    double factor = 1.0;
    double offset = 0.0;
    (void)ow_units_display(quantity, report->judgement->display, &factor, &offset);
    const double shown = si * factor + offset;
    char text[64];
    if (!isfinite(shown)) {
        snprintf(text, sizeof text, "?");
    } else {
        snprintf(text, sizeof text, "%.*f", decimals, shown);
        if (ow_report_width(text) > width) {
            snprintf(text, sizeof text, "%.0f", shown);
        }
        if (ow_report_width(text) > width) {
            snprintf(text, sizeof text, "%.0e", shown);
        }
        // No "-0.0".
        if (text[0] == '-' && strspn(text + 1, "0.") == strlen(text + 1)) {
            memmove(text, text + 1, strlen(text));
        }
    }
    ow_report_fit(out, size, text, width, true);
}

const char *ow_report_label(const OwReport *report, OwQuantity quantity) {
    double factor = 1.0;
    double offset = 0.0;
    return ow_units_display(quantity, report->judgement->display, &factor, &offset);
}

void ow_report_value(const OwAnswer *answer, double si, OwDisplay display, char *out, size_t size) {
    if (answer->quantity == OW_Q_KINEMATIC_VISCOSITY && si > OW_JUDGE_SOLID) {
        snprintf(out, size, "solid");
    } else {
        ow_units_write(si, answer->quantity, display, out, size);
    }
}
