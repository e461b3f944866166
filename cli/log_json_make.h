// SPDX-License-Identifier: GPL-3.0-or-later
// Small makers of JSON members for the views of the logbook.
#ifndef OW_CLI_LOG_JSON_MAKE_H
#define OW_CLI_LOG_JSON_MAKE_H

#include <math.h>
#include <string.h>

#include "log_cli.h"

static inline json_t *ow_json_text(const char *text) {
    json_t *made = json_string(text != NULL ? text : "");
    return made != NULL ? made : json_string("(not UTF-8)");
}
/// A number, null when it is not known.
static inline json_t *ow_json_real(bool is_known, double value) {
    return is_known && isfinite(value) ? json_real(value) : json_null();
}
/// A time or number of an entry, null for 0.
static inline json_t *ow_json_id(int64_t value) {
    return value != 0 ? json_integer((json_int_t)value) : json_null();
}
/// A quantity for reading.
static inline json_t *ow_json_shown(bool is_known, double si, OwQuantity quantity, OwDisplay display) {
    char text[64] = "";
    if (is_known) {
        ow_units_write(si, quantity, display, text, sizeof text);
    }
    return ow_json_text(text);
}
/// A distance for reading: whole km or miles past ten of them.
static inline json_t *ow_json_way(bool is_known, double m, OwDisplay display) {
    char text[64] = "";
    const double shown = m / (display == OW_DISPLAY_US ? 1609.344 : 1000.0);
    if (is_known && isfinite(m)) {
        (void)snprintf(text, sizeof text, "%.*f %s", fabs(shown) < 10.0 ? 1 : 0, shown,
                       display == OW_DISPLAY_US ? "mi" : "km");
    }
    return ow_json_text(text);
}
static inline json_t *ow_json_money(int64_t hundredths) {
    char text[32];
    ow_log_money_write(hundredths, text, sizeof text);
    return ow_json_text(text);
}

json_t *ow_log_json_of_entry(const OwLogEntry *entry, OwDisplay display);
json_t *ow_log_json_of_batch(const OwLogBatchRow *row, OwDisplay display);
json_t *ow_log_json_of_vehicle(const OwLogVehicleRow *row, OwDisplay display);
json_t *ow_log_json_of_trace(const OwLogTrace *trace, OwDisplay display);
json_t *ow_log_json_of_filters(const OwLogFilters *filters, int64_t vehicle, OwDisplay display);
json_t *ow_log_json_of_fuel(const OwLearnedFuel *fuel, OwDisplay display);
/// "10.4 L/100 km" or "22.6 mpg (US)".
void ow_log_fuel_text(double m3_m, OwDisplay display, char *text, size_t size);

#endif
