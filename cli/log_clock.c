// SPDX-License-Identifier: GPL-3.0-or-later
// Days and hours as this machine's clock shows them. The logbook keeps UTC; each time is shifted by what held
// at that time, so that summer's hours stay where they were in winter.
#include <string.h>
#include <time.h>

#include "log_cli.h"

int ow_log_local_offset(int64_t at_s) {
    const time_t at = (time_t)at_s;
    struct tm local, utc;
    if (localtime_r(&at, &local) == NULL || gmtime_r(&at, &utc) == NULL) {
        return 0;
    }
    const int days = local.tm_year != utc.tm_year ? local.tm_year - utc.tm_year : local.tm_yday - utc.tm_yday;
    return 86400 * days + 3600 * (local.tm_hour - utc.tm_hour) + 60 * (local.tm_min - utc.tm_min) +
           local.tm_sec - utc.tm_sec;
}

int64_t ow_log_utc(int64_t local_s, int (*offset)(int64_t at_s)) {
    if (offset == NULL) {
        return local_s;
    }
    // The shift in force then, found from the one in force about then. An hour that the clock left out counts
    // as the one after it; of an hour that it showed twice either will do.
    const int64_t about = local_s - offset(local_s);
    return local_s - offset(about);
}

void ow_log_local_write(int64_t at_s, char text[24]) {
    ow_log_time_write(at_s + ow_log_local_offset(at_s), text, 24);
    text[10] = ' ';
    text[16] = '\0';
}

OwStatus ow_log_local_read(const char *text, int64_t *at_s) {
    const OwStatus status = ow_log_time_read(text, at_s);
    if (status == OW_OK && strchr(text, 'Z') == NULL) {
        const int64_t at = ow_log_utc(*at_s, ow_log_local_offset);
        *at_s = at > 0 ? at : 0;
    }
    return status;
}
