// SPDX-License-Identifier: GPL-3.0-or-later
// `--progress-fd N`: one line a per cent on a descriptor that the caller has opened.
#include "progress.h"

#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <unistd.h>

bool ow_progress_open(const char *verb, const OwCliOption *option, OwProgressOut *out) {
    const char *text = ow_cli_value(option);
    *out = (OwProgressOut){.fd = -1, .told = -1.0};
    if (text == NULL) {
        return true;
    }
    char *end = NULL;
    const long fd = strtol(text, &end, 10);
    if (end == text || *end != '\0' || fd < 2 || fd > 1023 || fcntl((int)fd, F_GETFD) < 0) {
        fprintf(stderr, "oilwright %s: --progress-fd is an open descriptor from 2 on, not \"%s\"\n", verb,
                text);
        return false;
    }
    out->fd = (int)fd;
    return true;
}

bool ow_progress_tell(void *progress_out, double share) {
    OwProgressOut *out = progress_out;
    if (share >= out->told + 0.01 || (share >= 1.0 && out->told < 1.0)) {
        char line[16];
        const int size = snprintf(line, sizeof line, "%.4f\n", share < 0.0 ? 0.0 : share > 1.0 ? 1.0 : share);
        out->told = share;
        if (size > 0 && write(out->fd, line, (size_t)size) < 0) {
            out->told = 2.0; // nobody reads: no more of it
        }
    }
    return true;
}
