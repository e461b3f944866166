// SPDX-License-Identifier: GPL-3.0-or-later
// Writer of the check report: one table row a comparison.
#ifndef OILWRIGHT_TEST_CHECKS_H
#define OILWRIGHT_TEST_CHECKS_H

/// Opens the report (NULL path: nothing is written). Returns 0, or -1 when it cannot be written.
int checks_open(const char *path, const char *title);
void checks_title(const char *title, const char *note);
/// P published, F computed from a published formula, M from memory.
void checks_row(const char *what, double value, double ours, const char *unit, const char *source,
                char trust);
void checks_text(const char *text);
int checks_close(void);

#endif
