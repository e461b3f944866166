// SPDX-License-Identifier: GPL-3.0-or-later
// Plain words for every status code.
#include "oilwright/base.h"

const char *ow_status_text(OwStatus status) {
    switch (status) {
#define OW_STATUS_CASE(code, value, text)                                                                    \
    case code:                                                                                               \
        return text;
        OW_STATUS_LIST(OW_STATUS_CASE)
#undef OW_STATUS_CASE
    }
    return "unknown status";
}
