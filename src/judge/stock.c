// SPDX-License-Identifier: GPL-3.0-or-later
// Sizes that can be bought, with relative cost. Where no source stands: common practice, no source.
#include "judge/stock.h"

#define MM(x) ((x)*1e-3)
#define KPA(x) ((x)*1e3)
#define LPH(x) ((x) / 3.6e6)
#define COUNT(list) ((int)(sizeof(list) / sizeof((list)[0])))

// Cost: 1 point is about the price of a metre of 8 mm fuel hose. Only ratios matter, and they are common
// practice without source: a rig file that gives prices overrules them (see docs/theory/size.md).
#define HOSE(b, w)                                                                                           \
    { MM(b), MM(w), 0.36 + 80.0 * MM(b) }
#define TUBE(od, w)                                                                                          \
    { MM(od) - 2.0 * MM(w), MM(w), 0.7 + 110.0 * (MM(od) - 2.0 * MM(w)) }
#define INCH 25.4

// ISO 1307:2006 table 1: 3.2, 4, 5, 6.3, 8, 10, 12.5, 16, 19, 25 mm. From memory, the inch sizes of SAE J30
// (3/16, 3/8 in; 1/8, 1/4, 5/16, 1/2, 5/8, 3/4, 1 in fall on ISO sizes within the tolerance) and DIN 73379
// (5.5, 7.5 mm); 12 mm is sold for coolant and fuel in Europe, common practice, no source. Walls: common
// practice.
static const OwStockItem hoses[] = {
    HOSE(3.2, 2.0),  HOSE(4, 2.5),  HOSE(4.8, 3.0), HOSE(5.5, 3.0), HOSE(6.3, 3.0),
    HOSE(7.5, 3.0),  HOSE(8, 3.0),  HOSE(9.5, 3.0), HOSE(10, 3.5),  HOSE(12, 3.5),
    HOSE(12.5, 3.5), HOSE(16, 4.0), HOSE(19, 4.0),  HOSE(25, 4.5),
};

// SAE J526 (welded low-carbon steel tubing), nominal outer diameter and wall: 1/8 x 0.025, 3/16 to 3/8 x
// 0.028, 1/2 x 0.035, 5/8 x 0.035 in. Metric 6, 8, 10, 12, 15 x 1 mm: common practice, no source.
static const OwStockItem tubes[] = {
    TUBE(INCH / 8, INCH * 0.025),
    TUBE(INCH * 3 / 16, INCH * 0.028),
    TUBE(6, 1),
    TUBE(INCH / 4, INCH * 0.028),
    TUBE(8, 1),
    TUBE(INCH * 5 / 16, INCH * 0.028),
    TUBE(10, 1),
    TUBE(INCH * 3 / 8, INCH * 0.028),
    TUBE(12, 1),
    TUBE(INCH / 2, INCH * 0.035),
    TUBE(15, 1),
    TUBE(INCH * 5 / 8, INCH * 0.035),
};

#define HEATER(w)                                                                                            \
    { w, 0.0, 2.0 + 0.02 * (w) }
static const OwStockItem heaters[] = {
    HEATER(50),  HEATER(75),  HEATER(100), HEATER(125), HEATER(150), HEATER(175),
    HEATER(200), HEATER(250), HEATER(300), HEATER(350), HEATER(400), HEATER(500),
};

#define METAL(kg)                                                                                            \
    { kg, 0.0, 3.0 + 4.0 * (kg) }
static const OwStockItem metals[] = {
    METAL(0.1), METAL(0.15), METAL(0.2), METAL(0.3), METAL(0.45), METAL(0.6), METAL(0.8),
    METAL(1.0), METAL(1.5),  METAL(2.0), METAL(3.0), METAL(4.0),  METAL(6.0),
};

// Wall thicknesses in which closed-cell foam pipe insulation is sold.
#define JACKET(t)                                                                                            \
    { MM(t), 0.0, 0.2 + 40.0 * MM(t) }
static const OwStockItem jackets[] = {JACKET(6), JACKET(9), JACKET(13), JACKET(19), JACKET(25), JACKET(32)};
#define SLEEVE(t)                                                                                            \
    { MM(t), 0.0, 1.0 + 100.0 * MM(t) }
static const OwStockItem sleeves[] = {SLEEVE(6), SLEEVE(9), SLEEVE(13), SLEEVE(19), SLEEVE(25), SLEEVE(32)};

#define STALL(k)                                                                                             \
    { KPA(k), 0.0, 6.0 + 2e-4 * KPA(k) }
static const OwStockItem stalls[] = {STALL(20), STALL(30),  STALL(35), STALL(50),
                                     STALL(70), STALL(100), STALL(150)};
#define FLOW(l)                                                                                              \
    { LPH(l), 0.0, 6.0 + 3.6e6 * 0.06 * LPH(l) }
static const OwStockItem flows[] = {FLOW(60),  FLOW(90),  FLOW(120), FLOW(160),
                                    FLOW(200), FLOW(250), FLOW(300)};

// Areas in steps of the filter that is there: two and three may also be that many side by side.
#define AREA(f)                                                                                              \
    { f, 0.0, 2.0 + 4.0 * (f) }
static const OwStockItem areas[] = {AREA(0.5), AREA(0.75), AREA(1), AREA(1.5), AREA(2), AREA(3), AREA(4)};

#define COIL(u)                                                                                              \
    { u, 0.0, 4.0 + 0.12 * (u) }
static const OwStockItem coils[] = {COIL(10), COIL(20), COIL(35), COIL(50), COIL(75), COIL(100), COIL(150)};
#define EXCHANGER(u)                                                                                         \
    { u, 0.0, 6.0 + 0.1 * (u) }
static const OwStockItem exchangers[] = {EXCHANGER(30),  EXCHANGER(60),  EXCHANGER(90),
                                         EXCHANGER(120), EXCHANGER(180), EXCHANGER(250)};

// Not a part but a running cost: the weight is a choice, half a point a percent.
#define SHARE(p)                                                                                             \
    { 0.01 * (p), 0.0, 0.5 * (p) }
static const OwStockItem shares[] = {
    SHARE(0),  SHARE(5),  SHARE(10), SHARE(15), SHARE(20), SHARE(25), SHARE(30),
    SHARE(35), SHARE(40), SHARE(45), SHARE(50), SHARE(55), SHARE(60), SHARE(65),
    SHARE(70), SHARE(75), SHARE(80), SHARE(85), SHARE(90), SHARE(95), SHARE(100),
};

#define PRACTICE OW_TRUST_PRACTICE, "common practice, no source"
static const OwStock stocks[OW_STOCK_KIND_COUNT] = {
    [OW_STOCK_HOSE] = {OW_Q_LENGTH, hoses, COUNT(hoses), 0.36, 80.0, OW_TRUST_PRACTICE,
                       "bores of ISO 1307:2006; SAE J30 and DIN 73379 sizes from memory"},
    [OW_STOCK_TUBE] = {OW_Q_LENGTH, tubes, COUNT(tubes), 0.7, 110.0, OW_TRUST_PRACTICE,
                       "inch sizes of SAE J526; metric sizes common practice, no source"},
    [OW_STOCK_HEATER] = {OW_Q_POWER, heaters, COUNT(heaters), 2.0, 0.02, PRACTICE},
    [OW_STOCK_METAL] = {OW_Q_MASS, metals, COUNT(metals), 3.0, 4.0, PRACTICE},
    [OW_STOCK_JACKET] = {OW_Q_LENGTH, jackets, COUNT(jackets), 0.2, 40.0, PRACTICE},
    [OW_STOCK_SLEEVE] = {OW_Q_LENGTH, sleeves, COUNT(sleeves), 1.0, 100.0, PRACTICE},
    [OW_STOCK_STALL] = {OW_Q_PRESSURE, stalls, COUNT(stalls), 6.0, 2e-4, PRACTICE},
    [OW_STOCK_FREE_FLOW] = {OW_Q_VOLUME_FLOW, flows, COUNT(flows), 6.0, 3.6e6 * 0.06, PRACTICE},
    [OW_STOCK_AREA] = {OW_Q_NUMBER, areas, COUNT(areas), 2.0, 4.0, PRACTICE},
    [OW_STOCK_COIL] = {OW_Q_CONDUCTANCE, coils, COUNT(coils), 4.0, 0.12, PRACTICE},
    [OW_STOCK_EXCHANGER] = {OW_Q_CONDUCTANCE, exchangers, COUNT(exchangers), 6.0, 0.1, PRACTICE},
    [OW_STOCK_BLEND] = {OW_Q_NUMBER, shares, COUNT(shares), 0.0, 50.0, OW_TRUST_ASSUMED,
                        "steps of 5 %; the cost weight is an assumption"},
};

const OwStock *ow_stock(OwStockKind kind) {
    return &stocks[(unsigned)kind < OW_STOCK_KIND_COUNT ? kind : OW_STOCK_HOSE];
}

double ow_stock_points(OwStockKind kind, double value) {
    const OwStock *stock = ow_stock(kind);
    return value > 0.0 ? stock->points_fixed + stock->points_each * value : 0.0;
}

double ow_stock_foam_w_mk(void) {
    return 0.04;
}

const char *const ow_stock_pump_source = "common practice, no source";

static const OwPumpClass pumps[] = {
    {"small plunger pump", KPA(30), LPH(60), 50e-6, 1.5, 8.0},
    {"plunger pump", KPA(35), LPH(120), 60e-6, 2.0, 12.0},
    {"large plunger pump", KPA(50), LPH(150), 120e-6, 3.0, 18.0},
    {"vane pump", KPA(60), LPH(180), 200e-6, 4.5, 24.0},
    {"gear pump", KPA(70), LPH(160), 300e-6, 4.0, 30.0},
    {"large gear pump", KPA(100), LPH(200), 500e-6, 8.0, 40.0},
    {"heavy gear pump", KPA(150), LPH(250), 700e-6, 12.0, 55.0},
};

const OwPumpClass *ow_stock_pumps(int *count) {
    *count = COUNT(pumps);
    return pumps;
}
