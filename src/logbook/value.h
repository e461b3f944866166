// SPDX-License-Identifier: GPL-3.0-or-later
// Steps, fixed-point numbers and texts of the logbook. Private to it.
#ifndef OW_LOGBOOK_VALUE_H
#define OW_LOGBOOK_VALUE_H

#include "oilwright/logbook.h"

/// 9999-12-31T23:59:59Z
#define OW_LOG_TIME_MAX INT64_C(253402300799)

/// The nearest whole steps of an SI value within the field's range, and back.
int64_t ow_log_steps(const OwLogField *field, double si);
double ow_log_si(const OwLogField *field, int64_t steps);
/// UTF-8, no control characters, at most `most` bytes.
bool ow_log_text_is_good(const char *text, size_t most);
/// "-12.5" as a whole number of 10^-decimals; at most that many decimals, magnitude up to about 2^53.
OwStatus ow_log_fixed_read(const char *text, int decimals, int64_t *value);
/// The inverse; trailing zeros go, but `least` decimals stay.
void ow_log_fixed_write(int64_t value, int decimals, int least, char *text, size_t size);

#endif
