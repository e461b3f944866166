// SPDX-License-Identifier: GPL-3.0-or-later
// How far a long verb is, for the program that started it: `--progress-fd N`.
#ifndef OW_CLI_PROGRESS_H
#define OW_CLI_PROGRESS_H

#include "options.h"

/// Start it with .fd = -1.
typedef struct OwProgressOut {
    int fd;
    double told;
} OwProgressOut;

/// Takes the descriptor of the option, when it was given. False when it is no descriptor, told on stderr.
bool ow_progress_open(const char *verb, const OwCliOption *option, OwProgressOut *out);
/// Writes the share done as one line, "0.4200", each whole per cent at most once; what cannot be written is
/// left out. For the progress calls of studies; always goes on.
bool ow_progress_tell(void *progress_out, double share);

#endif
