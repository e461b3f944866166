// SPDX-License-Identifier: GPL-3.0-or-later
// What the files of the money module share: the table of inputs and the kinds of quantity.
#ifndef OW_MONEY_IMPL_H
#define OW_MONEY_IMPL_H

#include "oilwright/money.h"

/// Kinds of value; all but the plain ones are one quantity over another.
typedef enum OwCostKind {
    OW_KIND_MONEY,
    OW_KIND_MONEY_YEAR,
    OW_KIND_PER_VOLUME,
    OW_KIND_PER_DISTANCE,
    OW_KIND_PER_ENERGY,
    OW_KIND_PER_TIME,
    OW_KIND_SHARE,
    OW_KIND_SHARE_YEAR,
    OW_KIND_COUNT_YEAR,
    OW_KIND_VOLUME,
    OW_KIND_DISTANCE,
    OW_KIND_DISTANCE_YEAR,
    OW_KIND_TIME,
    OW_KIND_TIME_YEAR,
    OW_KIND_TIME_PER_VOLUME,
    OW_KIND_ENERGY_PER_VOLUME,
    OW_KIND_VOLUME_PER_DISTANCE,
    OW_KIND_YEARS,
    OW_KIND_COUNT
} OwCostKind;

/// One input: where it stands in the file, what it is when not given, what is allowed.
typedef struct OwCostRow {
    const char *path, *label; ///< "fuel.diesel price": section, point, key
    OwCostKind kind;
    double low, likely, high; ///< of the default; low == high: no spread
    double least, most;       ///< legal range
    OwTrust trust;            ///< of the default
    const char *doc;
} OwCostRow;
extern const OwCostRow ow_cost_rows[OW_COST_INPUTS];

/// Reads one number of a kind with its unit. `why` says what is wrong, `remedy` what would be right.
OwStatus ow_cost_quantity_read(const char *text, OwCostKind kind, OwUnits *units, double *si, char why[256],
                               char remedy[256]);
void ow_cost_quantity_write(double si, OwCostKind kind, OwDisplay display, char *text, size_t size);
const char *ow_cost_quantity_unit(OwCostKind kind, OwDisplay display, double *factor);
/// Reads a value or range into a legal spread. On failure *value is untouched.
OwStatus ow_cost_value_read(const char *text, OwCostInput input, OwUnits *units, OwCostValue *value,
                            char why[256], char remedy[256]);
/// Point of a value's spread at the share u in 0..1: the inverse of its distribution.
double ow_cost_value_at(const OwCostValue *value, double u);
/// The default of an input.
OwCostValue ow_cost_value_default(OwCostInput input);

/// As ow_cost_reckon, but only lines, flows and worth when `is_short`.
void ow_cost_reckon_some(const OwCostPlan *plan, const double values[OW_COST_INPUTS], bool is_short,
                         OwCostReckoning *out);

/// The energy ratio of a named oil against diesel (net heat times density at 15 degC). OW_ERROR_VALUE with a
/// remedy for an unknown name.
OwStatus ow_cost_oil_ratio(const char *oil, double *ratio, OwFaults *faults);

#endif
