// SPDX-License-Identifier: GPL-3.0-or-later
// Sizes that can be bought: what a proposal may choose from, with relative cost and where the list comes
// from.
#ifndef OW_JUDGE_STOCK_H
#define OW_JUDGE_STOCK_H

#include "oilwright/oil.h"
#include "oilwright/units.h"

typedef enum OwStockKind {
    OW_STOCK_HOSE,      ///< bore, with wall; points a metre
    OW_STOCK_TUBE,      ///< bore from outer diameter and wall; points a metre
    OW_STOCK_HEATER,    ///< watts of one element
    OW_STOCK_METAL,     ///< mass of a chamber's body
    OW_STOCK_JACKET,    ///< foam thickness round hose and tube; points a metre
    OW_STOCK_SLEEVE,    ///< foam thickness round a chamber or tank, 0 bare
    OW_STOCK_STALL,     ///< stall pressure of an electric pump
    OW_STOCK_FREE_FLOW, ///< its free flow
    OW_STOCK_AREA,      ///< filter area as a multiple of the present one
    OW_STOCK_COIL,      ///< conductance of a coolant coil
    OW_STOCK_EXCHANGER, ///< conductance of a coolant exchanger
    OW_STOCK_BLEND,     ///< share of the thinner fuel
    OW_STOCK_KIND_COUNT
} OwStockKind;

/// One size: SI value, a second figure that comes with it (wall in m; else 0), cost in points.
typedef struct OwStockItem {
    double value, second, points;
} OwStockItem;

typedef struct OwStock {
    OwQuantity quantity;
    const OwStockItem *items; ///< value rising, cost rising
    int count;
    double points_fixed, points_each; ///< cost of any value: fixed + each * value (the items follow it)
    OwTrust trust;
    const char *source;
} OwStock;

/// The list of a kind; never NULL for a legal kind.
const OwStock *ow_stock(OwStockKind kind);
/// Cost in points of a value, listed or not; 1 point is about a metre of 8 mm fuel hose.
double ow_stock_points(OwStockKind kind, double value);
/// Conductance of the foam that jackets are made of, W/(m K).
double ow_stock_foam_w_mk(void);

/// A class of electric pump; cost in points.
typedef struct OwPumpClass {
    const char *name;
    double stall_pa, free_flow_m3_s, half_viscosity_m2_s, current_a, points;
} OwPumpClass;
/// All classes, cheapest first.
const OwPumpClass *ow_stock_pumps(int *count);
extern const char *const ow_stock_pump_source;

#endif
