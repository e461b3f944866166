// SPDX-License-Identifier: GPL-3.0-or-later
// Comparison with fuel standards, property by property.
#include "oilwright/oil.h"

#include <math.h>
#include <stddef.h>

typedef enum Property {
    DENSITY,
    FLASH,
    KINEMATIC,
    NET_HEAT,
    CETANE,
    IODINE,
    SULPHUR,
    CONTAMINATION,
    ACID,
    OXIDATION,
    WATER,
    PHOSPHORUS,
    CALCIUM,
    MAGNESIUM
} Property;

typedef struct Limit {
    Property property;
    double minimum, maximum; ///< at or below NONE: no such limit
    const char *method;
} Limit;

#define NONE (-1.0e9)

// DIN 51605:2010 and later, rapeseed oil fuel; calcium and magnesium 1.0 since 2012.
static const Limit din_51605[] = {
    {DENSITY, 910, 925, "EN ISO 3675, EN ISO 12185"},
    {FLASH, 101, NONE, "EN ISO 2719"},
    {KINEMATIC, NONE, 36.0, "EN ISO 3104"},
    {NET_HEAT, 36.0, NONE, "DIN 51900"},
    {CETANE, 40, NONE, "IP 498"},
    {IODINE, NONE, 125, "EN 14111"},
    {SULPHUR, NONE, 10, "EN ISO 20884, 20846"},
    {CONTAMINATION, NONE, 24, "EN 12662"},
    {ACID, NONE, 2.0, "EN 14104"},
    {OXIDATION, 6.0, NONE, "EN 14112, 110 degC"},
    {WATER, NONE, 750, "EN ISO 12937"},
    {PHOSPHORUS, NONE, 3.0, "DIN 51627-6"},
    {CALCIUM, NONE, 1.0, "DIN 51627-6"},
    {MAGNESIUM, NONE, 1.0, "DIN 51627-6"},
};
static const Limit en_590[] = {
    {DENSITY, 820, 845, "EN ISO 3675, EN ISO 12185"},
    {FLASH, 55, NONE, "EN ISO 2719"},
    {KINEMATIC, 2.00, 4.50, "EN ISO 3104"},
    {CETANE, 51, NONE, "EN ISO 5165"},
    {SULPHUR, NONE, 10, "EN ISO 20884, 20846"},
    {CONTAMINATION, NONE, 24, "EN 12662"},
    {WATER, NONE, 200, "EN ISO 12937"},
};
// EN 14214:2012+A1:2014, read in a supplier's copy of its table.
static const Limit en_14214[] = {
    {DENSITY, 860, 900, "EN ISO 3675, EN ISO 12185"},
    {FLASH, 101, NONE, "EN ISO 2719"},
    {KINEMATIC, 3.50, 5.00, "EN ISO 3104"},
    {CETANE, 51, NONE, "EN ISO 5165"},
    {IODINE, NONE, 120, "EN 14111"},
    {SULPHUR, NONE, 10, "EN ISO 20884, 20846"},
    {CONTAMINATION, NONE, 24, "EN 12662"},
    {ACID, NONE, 0.50, "EN 14104"},
    {OXIDATION, 8.0, NONE, "EN 14112, 110 degC"},
    {WATER, NONE, 500, "EN ISO 12937"},
    {PHOSPHORUS, NONE, 4.0, "EN 14107"},
};

// What a fail does; common practice unless docs/theory/oil.md names a source.
static const struct {
    const char *name, *unit, *low, *high;
} words[] = {
    [DENSITY] = {"density at 15 degC", "kg/m3", "less fuel mass a stroke: less power",
                 "more fuel mass a stroke: smoke at full load; far off means another fluid is mixed in"},
    [FLASH] = {"flash point", "degC",
               "a light solvent is in it: fire risk in tank and heater; find out which", ""},
    [KINEMATIC] = {"viscosity at 40 degC", "mm2/s",
                   "leaks past the pump plungers: weak delivery, poor lubrication",
                   "coarse spray and high pump pressure: coked injectors, oil thinned by fuel; needs more "
                   "heat or a diluent"},
    [NET_HEAT] = {"net heating value", "MJ/kg", "less power and more litres; water or oxidised oil", ""},
    [CETANE] = {"cetane number", "", "late, hard combustion and smoke in a cold start", ""},
    [IODINE] = {"iodine value", "g I2/100 g", "",
                "dries and polymerises: gum on injectors, filters and in the engine oil"},
    [SULPHUR] = {"sulphur", "mg/kg", "", "poisons exhaust after-treatment"},
    [CONTAMINATION] = {"total contamination", "mg/kg", "",
                       "clogs filters, scores pump and injectors: settle and filter again"},
    [ACID] = {"acid value", "mg KOH/g", "",
              "attacks copper, zinc, bearings and some seals; soaps with metals clog filters"},
    [OXIDATION] = {"oxidation stability", "h", "turns to gum in storage: use it soon", ""},
    [WATER] = {"water", "mg/kg", "",
               "rust, growth in the tank, pump seizure; free water freezes in the filter: dry it"},
    [PHOSPHORUS] = {"phosphorus", "mg/kg", "",
                    "gums that clog filters, deposits, poisoned after-treatment: degum"},
    [CALCIUM] = {"calcium", "mg/kg", "", "ash and soaps: deposits on valves and injectors"},
    [MAGNESIUM] = {"magnesium", "mg/kg", "", "ash and soaps: deposits on valves and injectors"},
};

static OwOilValue scaled(OwOilValue value, double factor) {
    value.value *= factor;
    value.low *= factor;
    value.high *= factor;
    return value;
}

static OwOilValue known(const OwOilStudy *study, Property property) {
    switch (property) {
    case DENSITY:
        return study->density_15;
    case FLASH:
        return study->flash;
    case KINEMATIC:
        return scaled(study->kinematic_40, 1e6);
    case NET_HEAT:
        return scaled(study->net_heat, 1e-6);
    case CETANE:
        return study->cetane;
    case IODINE:
        return study->iodine;
    case CONTAMINATION:
        return scaled(study->solids, 1e6);
    case ACID:
        return study->acid;
    case WATER:
        return scaled(study->water, 1e6);
    case SULPHUR:
        return scaled(study->sulphur, 1e6);
    case OXIDATION:
        return scaled(study->oxidation, 1.0 / 3600.0);
    case PHOSPHORUS:
        return scaled(study->phosphorus, 1e6);
    case CALCIUM:
        return scaled(study->calcium, 1e6);
    case MAGNESIUM:
        return scaled(study->magnesium, 1e6);
    }
    return (OwOilValue){0};
}

static void judge(OwStandardLine *line, const char *low, const char *high) {
    const OwOilValue *v = &line->value;
    line->consequence = *high ? high : low;
    if (!v->is_known) {
        line->verdict = OW_VERDICT_UNKNOWN;
        return;
    }
    double margin = INFINITY, worst = INFINITY, best = INFINITY;
    if (line->has_minimum) {
        margin = v->value - line->minimum;
        worst = v->low - line->minimum;
        best = v->high - line->minimum;
        line->consequence = low;
    }
    if (line->has_maximum) {
        if (line->maximum - v->value < margin) {
            margin = line->maximum - v->value;
            line->consequence = high;
        }
        worst = fmin(worst, line->maximum - v->high);
        best = fmin(best, line->maximum - v->low);
    }
    line->margin = isfinite(margin) ? margin : 0.0;
    line->verdict = worst >= 0.0 ? OW_VERDICT_PASS : OW_VERDICT_CLOSE;
    if (best < 0.0) { // the whole band lies outside
        line->verdict = OW_VERDICT_FAIL;
    }
}

int ow_oil_compare(const OwOilStudy *study, OwStandard standard, OwStandardLine *lines) {
    static const struct {
        const Limit *limits;
        size_t count;
    } tables[] = {
        [OW_STANDARD_DIN_51605] = {din_51605, sizeof din_51605 / sizeof din_51605[0]},
        [OW_STANDARD_EN_590] = {en_590, sizeof en_590 / sizeof en_590[0]},
        [OW_STANDARD_EN_14214] = {en_14214, sizeof en_14214 / sizeof en_14214[0]},
    };
    if (!study || !lines || (unsigned)standard >= OW_STANDARD_COUNT) {
        return 0;
    }
    int count = 0;
    for (size_t i = 0; i < tables[standard].count && count < OW_STANDARD_LINES; ++i) {
        const Limit *limit = &tables[standard].limits[i];
        OwStandardLine *line = &lines[count++];
        *line = (OwStandardLine){.property = words[limit->property].name,
                                 .unit = words[limit->property].unit,
                                 .method = limit->method,
                                 .has_minimum = limit->minimum > NONE,
                                 .has_maximum = limit->maximum > NONE,
                                 .value = known(study, limit->property)};
        line->minimum = line->has_minimum ? limit->minimum : 0.0;
        line->maximum = line->has_maximum ? limit->maximum : 0.0;
        judge(line, words[limit->property].low, words[limit->property].high);
    }
    return count;
}

const char *ow_standard_name(OwStandard standard) {
    static const char *const name[] = {"DIN 51605 (rapeseed oil fuel)", "EN 590 (diesel)", "EN 14214 (FAME)"};
    return (unsigned)standard < OW_STANDARD_COUNT ? name[standard] : "?";
}

const char *ow_standard_caveat(OwStandard standard) {
    (void)standard;
    return "A used oil is compared with a standard, not certified by it: estimates and workshop readings are "
           "no laboratory sheet. DIN 51623 "
           "(all plant oils) was never meant for used oil and is shown as withdrawn.";
}

const char *ow_verdict_text(OwVerdict verdict) {
    static const char *const text[] = {"pass", "close", "FAIL", "unknown"};
    return (unsigned)verdict < sizeof text / sizeof text[0] ? text[verdict] : "?";
}
