// SPDX-License-Identifier: GPL-3.0-or-later
// What a litre and a kilometre on oil cost against diesel, whether the conversion pays back, and how sure
// that is.
#ifndef OILWRIGHT_MONEY_H
#define OILWRIGHT_MONEY_H

#include <stdio.h>

#include "oilwright/oil.h"
#include "oilwright/units.h"

/// Everything a cost file may say. Money is in the file's own currency; the rest is SI (m, m3, s, J). "A
/// year" is a plain factor: 15 000 km a year is 1.5e7 m.
typedef enum OwCostInput {
    OW_COST_DIESEL_PRICE,    ///< money per m3
    OW_COST_DIESEL_USE,      ///< m3 per m on diesel
    OW_COST_OIL_SHARE,       ///< share of the distance driven on oil
    OW_COST_ENERGY_RATIO,    ///< heat in a volume of oil over that in the same volume of diesel
    OW_COST_PURGE_DIESEL,    ///< m3 a trip that starting and purging waste
    OW_COST_TRIPS,           ///< trips a year
    OW_COST_DUTY,            ///< money per m3 of oil burned
    OW_COST_DISTANCE,        ///< m a year
    OW_COST_OIL_PRICE,       ///< money per m3 collected; below 0 when one is paid to take it
    OW_COST_PICKUP_VOLUME,   ///< m3 a pick-up
    OW_COST_PICKUP_DISTANCE, ///< m a pick-up, driven only for it, there and back
    OW_COST_PICKUP_RATE,     ///< money per m of that
    OW_COST_PICKUP_TIME,     ///< s of work a pick-up
    OW_COST_ENERGY,          ///< J of electricity per m3 of clean oil
    OW_COST_ENERGY_PRICE,    ///< money per J
    OW_COST_YARD_TIME,       ///< s of work per m3 of clean oil
    OW_COST_YARD_FILTERS,    ///< money per m3 of clean oil
    OW_COST_LOSS,            ///< share of the collected oil that becomes waste
    OW_COST_WASTE_FEE,       ///< money per m3 of waste
    OW_COST_BATCH,           ///< m3 collected a batch
    OW_COST_TESTS,           ///< money a batch
    OW_COST_ADDITIVES,       ///< money per m3 of clean oil
    OW_COST_EQUIPMENT,       ///< money, bought at the start
    OW_COST_EQUIPMENT_LIFE,  ///< years until it is bought again
    OW_COST_PERMITS,         ///< money a year: licences, insurance
    OW_COST_PARTS,           ///< money for conversion parts
    OW_COST_CONVERSION_TIME, ///< s of work for the conversion
    OW_COST_FILTER_PRICE,    ///< money a vehicle filter
    OW_COST_FILTER_OIL,      ///< m a filter lasts on oil
    OW_COST_FILTER_DIESEL,   ///< m it lasts on diesel
    OW_COST_LUBE_PRICE,      ///< money a lube change
    OW_COST_LUBE_OIL,        ///< m between lube changes on oil
    OW_COST_LUBE_DIESEL,     ///< m between them on diesel
    OW_COST_UPKEEP,          ///< money per m on oil: injectors, pump, glow plugs
    OW_COST_UPKEEP_TIME,     ///< s of extra work on the vehicle a year
    OW_COST_RISK_CHANCE,     ///< chance of engine or pump damage through the oil, a year
    OW_COST_RISK_COST,       ///< money when it happens
    OW_COST_RESALE_LOSS,     ///< money less at the end; below 0 when parts are sold on
    OW_COST_HOUR,            ///< money per s of work
    OW_COST_DISCOUNT,        ///< a year
    OW_COST_GROWTH,          ///< of the diesel price a year, beyond general inflation
    OW_COST_LOAN_SHARE,      ///< share of equipment and parts that is borrowed
    OW_COST_LOAN_RATE,       ///< a year
    OW_COST_INPUTS
} OwCostInput;

/// How a value may lie: a number, a flat range, low/likely/high as a triangle, a bell with a standard error.
typedef enum OwCostSpread { OW_COST_PLAIN, OW_COST_FLAT, OW_COST_TRIANGLE, OW_COST_BELL } OwCostSpread;
/// Where a value comes from.
typedef enum OwCostOrigin {
    OW_COST_FROM_DEFAULT,
    OW_COST_FROM_FILE,
    OW_COST_FROM_OIL,  ///< worked out by the oil module
    OW_COST_FROM_YARD, ///< a yard plan
    OW_COST_FROM_LOG   ///< learned from a logbook
} OwCostOrigin;
const char *ow_cost_origin_text(OwCostOrigin origin);

/// One value with its spread. FLAT lies evenly in low..high and `value` is the middle; TRIANGLE peaks at
/// `value`; BELL is normal with mean `value`, cut at low..high, the legal range.
typedef struct OwCostValue {
    double value, low, high, error; ///< error: standard error, BELL only
    OwCostSpread spread;
    OwCostOrigin origin;
} OwCostValue;

#define OW_COST_NAME 64
#define OW_COST_MAX_YEARS 40
/// A cost file as read. Plain value, may be copied.
typedef struct OwCostPlan {
    char file[128], name[OW_COST_NAME], currency[OW_COST_NAME], oil[OW_COST_NAME];
    char yard[256];    ///< yard file named in the cost file, empty none
    bool counts_hours; ///< whether the verdict counts work at the hourly rate
    int years, loan_years;
    OwCostValue inputs[OW_COST_INPUTS];
} OwCostPlan;

/// All defaults; the energy ratio is that of rapeseed oil.
void ow_cost_default(OwCostPlan *plan);
/// Reads a cost file. All faults together, in the order of the text; OW_OK means *plan is whole. Errors as
/// ow_rig_read_file.
OwStatus ow_cost_read_text(const char *text, size_t size, const char *name, OwUnits *units, OwCostPlan *plan,
                           OwFaults *faults);
OwStatus ow_cost_read_file(const char *path, OwUnits *units, OwCostPlan *plan, OwFaults *faults);
/// "fuel.diesel price=1.60 per L": same texts as in the file. On failure the plan is unchanged.
OwStatus ow_cost_set(OwCostPlan *plan, const char *text, OwUnits *units, OwFaults *faults);
/// Writes the Markdown reference of the cost file from the tables that read it. OW_ERROR_WRITE.
OwStatus ow_cost_write_reference(FILE *out);

/// A figure found outside the file: SI value and its standard error (0: taken as exact).
typedef struct OwCostLearned {
    bool has[OW_COST_INPUTS];
    double value[OW_COST_INPUTS], error[OW_COST_INPUTS];
} OwCostLearned;
/// Puts figures over the file's; one outside the legal range is left out with a warning. Returns how many
/// were taken.
int ow_cost_learn(OwCostPlan *plan, const OwCostLearned *learned, OwCostOrigin origin, OwFaults *faults);

/// "fuel.diesel price", NULL for no input.
const char *ow_cost_key(OwCostInput input);
/// A plain word or two for tables: "diesel price".
const char *ow_cost_label(OwCostInput input);
/// What it is, in a sentence; and its legal range, SI.
const char *ow_cost_doc(OwCostInput input);
void ow_cost_limits(OwCostInput input, double *least, double *most);
/// Trust of the default.
OwTrust ow_cost_trust(OwCostInput input);
/// A value for people with its unit: "1.50 per L", "8 L/100 km", "15 000 km".
void ow_cost_write(OwCostInput input, double si, OwDisplay display, char *text, size_t size);
/// The input's unit for people and the factor: shown = si * factor.
const char *ow_cost_unit(OwCostInput input, OwDisplay display, double *factor);

// --- money over time
// -------------------------------------------------------------------------------------------------

/// Present worth of flows[0..count-1] at the ends of years 0, 1, ...: sum of flow/(1 + rate)^t. rate > -1,
/// else 0.
double ow_money_npv(double rate, const double *flows, int count);
/// Present worth of 1 a year at the ends of `years` years that grows by `growth` from today on: UPV* of NIST
/// Handbook 135 (Fuller & Petersen 1996), sum ((1 + growth)/(1 + rate))^t; growth 0 gives the uniform series.
double ow_money_annuity(double rate, double growth, double years);
/// Rate at which the worth is nought. Looks from -95 % to +10 000 % a year. False when there is none (flows
/// of one sign, or no crossing); *crossings says how many there are, *rate is the smallest at or above 0,
/// else the nearest below.
bool ow_money_irr(const double *flows, int count, double *rate, int *crossings);
/// Years until the summed flows, discounted at `rate`, are 0 or more and stay so, straight lines between year
/// ends (Ross, Westerfield & Jordan, Fundamentals of Corporate Finance, ch. 9). False when that never happens
/// within them.
bool ow_money_payback(double rate, const double *flows, int count, double *years);

// --- the answer
// ------------------------------------------------------------------------------------------------------

/// Lines from oil that is free to what it truly costs. Those of `is_work` are hours at the hourly rate.
typedef enum OwCostLine {
    OW_COST_LINE_OIL,
    OW_COST_LINE_DRIVING,
    OW_COST_LINE_ELECTRICITY,
    OW_COST_LINE_FILTERS,
    OW_COST_LINE_TESTS,
    OW_COST_LINE_ADDITIVES,
    OW_COST_LINE_WASTE,
    OW_COST_LINE_EQUIPMENT,
    OW_COST_LINE_PERMITS,
    OW_COST_LINE_DUTY,
    OW_COST_LINE_PURGE,
    OW_COST_LINE_PARTS,
    OW_COST_LINE_VEHICLE_FILTERS,
    OW_COST_LINE_LUBE,
    OW_COST_LINE_UPKEEP,
    OW_COST_LINE_RISK,
    OW_COST_LINE_RESALE,
    OW_COST_LINE_LOAN,
    OW_COST_LINE_PICKUP_WORK,
    OW_COST_LINE_YARD_WORK,
    OW_COST_LINE_CONVERSION_WORK,
    OW_COST_LINE_UPKEEP_WORK,
    OW_COST_LINES
} OwCostLine;
const char *ow_cost_line_text(OwCostLine line); ///< "collection driving"
bool ow_cost_line_is_work(OwCostLine line);

/// One reckoning: with own work unpaid [0] and paid at the hourly rate [1].
typedef struct OwCostSide {
    double cost_year;       ///< of all lines that count
    double cost_m3, cost_m; ///< per m3 of oil burned, per m driven on it; 0 when none is
    double saving_year;     ///< diesel replaced less cost_year
    double running_year;    ///< saving of the first year without what is bought once, at today's prices
    double npv;             ///< of the cash flows over the years
    bool has_payback, has_discounted, has_irr;
    double payback_y, discounted_y, irr;
    double flows[OW_COST_MAX_YEARS + 1]; ///< at the ends of years 0..years
} OwCostSide;

typedef struct OwCostReckoning {
    double oil_m3_y, raw_m3_y, diesel_m3_y,
        distance_oil_m_y; ///< burned, collected, replaced, driven on oil, a year
    double pickups_y, batches_y, waste_m3_y;
    double hours_y, hours_once; ///< s of work a year, and once
    double line[OW_COST_LINES]; ///< money a year, spread evenly over the years (annual equivalent)
    double diesel_year;         ///< money a year for the diesel it replaces, likewise
    double diesel_m;            ///< money per m on diesel
    bool has_hour;
    double hour; ///< what an hour of work earns: worth without paid work over the hours' worth, money per s
    OwCostSide side[2];
} OwCostReckoning;

/// Reckons with one number for each input. Any finite numbers are taken: those outside the legal range are
/// held at its ends.
void ow_cost_reckon(const OwCostPlan *plan, const double values[OW_COST_INPUTS], OwCostReckoning *out);
/// The likely value of each input.
void ow_cost_likely(const OwCostPlan *plan, double values[OW_COST_INPUTS]);

/// Value of one input at which the worth of `side` is nought, all else as it is; bisected over the legal
/// range. False when there is none in it.
bool ow_cost_break_even(const OwCostPlan *plan, const double values[OW_COST_INPUTS], OwCostInput input,
                        int side, double *value);

#define OW_COST_TEXT 400
/// A single change that would make it pay.
typedef struct OwCostMend {
    OwCostInput input;
    double from, to;
} OwCostMend;
#define OW_COST_MAX_MENDS 4

typedef struct OwCostAnswer {
    OwCostReckoning likely;
    bool pays[2];                        ///< worth above 0
    bool has_diesel_price, has_distance; ///< break-evens of the side that counts
    double diesel_price, distance, litres_m3_y;
    OwCostMend mends[OW_COST_MAX_MENDS];
    int mend_count;
    char verdict[OW_COST_TEXT]; ///< one or two sentences
} OwCostAnswer;
/// The likely answer with its break-evens.
void ow_cost_answer(const OwCostPlan *plan, OwDisplay display, OwCostAnswer *answer);

// --- how sure
// --------------------------------------------------------------------------------------------------------

typedef enum OwCostResult {
    OW_COST_RESULT_LITRE,    ///< cost per m3
    OW_COST_RESULT_DISTANCE, ///< cost per m
    OW_COST_RESULT_SAVING,   ///< money a year
    OW_COST_RESULT_NPV,
    OW_COST_RESULT_PAYBACK,    ///< years
    OW_COST_RESULT_DISCOUNTED, ///< years
    OW_COST_RESULT_IRR,
    OW_COST_RESULT_HOUR, ///< what an hour earns; the same on both sides
    OW_COST_RESULTS
} OwCostResult;
const char *ow_cost_result_text(OwCostResult result);

/// 5 %, 50 % and 95 % points; `never` where the point is no number (no payback, no rate).
typedef struct OwCostBand {
    double point[3], error[3]; ///< error: standard error from the replicates
    bool never[3];
} OwCostBand;

typedef struct OwCostInfluence {
    OwCostInput input;
    double first, total, first_error, total_error; ///< shares of the variance of the worth
    double low, high;                              ///< 5 % and 95 % points of the input
    double npv_low, npv_high;                      ///< worth there, all else likely
} OwCostInfluence;

typedef struct OwCostStudy {
    int samples, replicates, uncertain;
    int quasi; ///< inputs on Sobol coordinates in the indices; the rest is pseudo-random
    OwCostBand band[2][OW_COST_RESULTS];
    double chance[2], chance_error[2];            ///< that the worth is above 0 over the years
    double chance_year[2][OW_COST_MAX_YEARS + 1]; ///< that it has paid back within so many years
    OwCostInfluence influence[OW_COST_INPUTS];    ///< by falling total index
    int influence_count;
} OwCostStudy;

#define OW_COST_REPLICATES 8
#define OW_COST_LEAST_SAMPLES 64
#define OW_COST_MOST_SAMPLES 65536
/// Samples the uncertain inputs: `samples` points in all (rounded up to 8 times a power of two), for the side
/// that the verdict counts. The same plan gives the same digits. OW_ERROR_MEMORY, OW_ERROR_RANGE.
OwStatus ow_cost_study(const OwCostPlan *plan, int samples, OwCostStudy *study);

/// Neutral notes on rules that differ from place to place, NULL-terminated.
const char *const *ow_cost_notes(void);
/// What the shares and prices of the report mean and rest on, one sentence each, NULL-terminated.
const char *const *ow_cost_meanings(void);

#endif
