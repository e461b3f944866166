// SPDX-License-Identifier: GPL-3.0-or-later
// Writer of the check report.
#include "checks.h"

#include <math.h>
#include <stdio.h>

static FILE *file;

int checks_open(const char *path, const char *title) {
    file = path ? fopen(path, "w") : NULL;
    if (path && !file) {
        return -1;
    }
    if (file) {
        fprintf(file,
                "# %s\n\nPublished values against ours, written by the test run. Trust: P published (often "
                "read in a secondary copy; the primary "
                "source is named), F computed from a published formula, M from memory.\n",
                title);
    }
    return 0;
}

void checks_title(const char *title, const char *note) {
    if (file) {
        fprintf(file,
                "\n## %s\n\n%s\n\n| what | value | ours | difference | unit | source | trust "
                "|\n|---|---|---|---|---|---|---|\n",
                title, note);
    }
}

void checks_row(const char *what, double value, double ours, const char *unit, const char *source,
                char trust) {
    if (!file) {
        return;
    }
    fprintf(file, "| %s | %.5g | %.5g | ", what, value, ours);
    if (fabs(value) > 1e-12) {
        fprintf(file, "%+.2f %% | ", 100.0 * (ours / value - 1.0));
    } else {
        fprintf(file, "%+.3g | ", ours - value);
    }
    fprintf(file, "%s | %s | %c |\n", unit, source, trust);
}

void checks_text(const char *text) {
    if (file) {
        fprintf(file, "\n%s\n", text);
    }
}

int checks_close(void) {
    const int code = file && (ferror(file) | fclose(file)) ? -1 : 0;
    file = NULL;
    return code;
}
