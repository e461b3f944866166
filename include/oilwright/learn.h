// SPDX-License-Identifier: GPL-3.0-or-later
// Learning from the log: how far a filter lasts, what a vehicle uses, and what is due. Pure statistics on
// plain arrays.
#ifndef OILWRIGHT_LEARN_H
#define OILWRIGHT_LEARN_H

#include "oilwright/base.h"

#define OW_LEARN_NAME 64
#define OW_LEARN_TEXT 300
/// At most so many groups and lives are used (the newest are for the caller to choose); more is
/// OW_ERROR_VALUE.
#define OW_LEARN_MAX_GROUPS 1000
#define OW_LEARN_MAX_LIVES 20000

// ---- Filters
// ----------------------------------------------------------------------------------------------------------
//
// ln life = ln study + offset + place + slope ln(dirt / 24 mg/kg) + warmth (t - 10 degC) + scatter, with
// normal offset (the study's own error, common to all), places (between filters) and scatter (between lives
// of one filter). Nested Laplace approximation after Rue, Martino & Chopin 2009, J. R. Statist. Soc. B
// 71:319; exact without running filters. See docs/theory/learn.md for the priors and their reasons.

/// A place for filters: one filter of one vehicle.
typedef struct OwLearnPlace {
    char name[OW_LEARN_NAME]; ///< "van oil filter"
    double study;             ///< life by the filter study, m or m3 as the lives; 0: none, then the settings'
} OwLearnPlace;

/// One filter's life, ended or running.
typedef struct OwLearnLife {
    int place;
    bool is_running;     ///< still in place: at least this life
    double life;         ///< m (distance) or m3 (fuel); not above 0: skipped
    double solids_kg_kg; ///< mean dirt of the oil meanwhile; 0: not known, taken as the reference
    double oil_k;        ///< mean temperature meanwhile; 0: not known, taken as the reference
} OwLearnLife;

typedef struct OwLearnSettings {
    double guess;        ///< life where no study is given: 10,000 km (assumed)
    double study_spread; ///< ln, 0.6: the study's error (its three laws of dirt and an unmeasured dirt)
    double guess_spread; ///< ln, 0.8 more where no study is given (assumed)
    double dirt_slope, dirt_spread;   ///< -1 +- 0.3: a fixed dirt capacity
    double warm_1_k, warm_spread_1_k; ///< 0.01 +- 0.015 a kelvin: cold oil carries wax (assumed)
    double scatter, scatter_spread;   ///< 0.35, ln spread 0.5: between lives of one filter (assumed)
    double between, between_spread;   ///< 0.3, ln spread 0.7: between filters (assumed)
    double solids_kg_kg;              ///< reference dirt, 24 mg/kg (limit of DIN 51605)
    double oil_k;                     ///< reference temperature, 283.15
} OwLearnSettings;
OwLearnSettings ow_learn_default(void);

/// A learned model; answers questions without changing. One owner.
typedef struct OwLearnFilters OwLearnFilters;
/// OW_ERROR_VALUE: too many, a place out of range, settings not finite; OW_ERROR_MEMORY. No lives at all is
/// fine. Lives that cannot be used (not above 0, not finite) are counted and passed over.
OwStatus ow_learn_filters_create(const OwLearnPlace *places, int place_count, const OwLearnLife *lives,
                                 int life_count, const OwLearnSettings *settings, OwLearnFilters **model);
/// Frees and nulls. NULL is a no-op.
void ow_learn_filters_destroy(OwLearnFilters **model);

/// What the log says of one place: always finite, low <= life <= high.
typedef struct OwLearnedFilter {
    double life, low, high;         ///< of the next filter: median, 5 % and 95 %; m or m3
    double middle_low, middle_high; ///< 90 % interval of the place's own median life
    double study;                   ///< what it was held against
    double factor;                  ///< life over study
    double scatter;                 ///< ln, between lives: posterior median
    double doubt_left; ///< variance of ln middle, over that before any log: 1 nothing learned, 0 all from the
                       ///< log
    int n, running, others; ///< own ended lives, own running, usable lives elsewhere
    bool has_study;
    char text[OW_LEARN_TEXT]; ///< one sentence: where the number comes from
} OwLearnedFilter;
/// At a dirt and temperature; 0: the reference.
OwStatus ow_learn_filter(const OwLearnFilters *model, int place, double solids_kg_kg, double oil_k,
                         OwLearnedFilter *learned);
/// The life at which the share `q` (0.001 to 0.999) of filters has failed, of those that have lasted `so_far`
/// (0: new).
double ow_learn_filter_quantile(const OwLearnFilters *model, int place, double solids_kg_kg, double oil_k,
                                double q, double so_far);
/// Share of filters that last longer than `life`: the life curve.
double ow_learn_filter_survives(const OwLearnFilters *model, int place, double solids_kg_kg, double oil_k,
                                double life);
int ow_learn_filters_skipped(const OwLearnFilters *model); ///< lives that could not be used

// ---- Fuel use
// ----------------------------------------------------------------------------------------------------------

/// A fill, in order of time for each vehicle.
typedef struct OwLearnFill {
    int vehicle;
    int64_t entry, at_s;
    bool has_odometer, is_partial; ///< partial: the tank was not filled up
    double odometer_m;
    double volume_m3; ///< oil and diesel together
} OwLearnFill;

typedef enum OwFuelOdd {
    OW_FUEL_USUAL,
    OW_FUEL_DECIMAL,  ///< ten times too much or too little: a slipped decimal point
    OW_FUEL_UNIT,     ///< miles for km or gallons for litres
    OW_FUEL_MUCH,     ///< leak, theft, or a fill that was not full
    OW_FUEL_LITTLE,   ///< a fill is missing in the log, or a wrong odometer
    OW_FUEL_ODOMETER, ///< ran back or stood still: replaced or a wrong entry; the interval is not used
    OW_FUEL_ODDS
} OwFuelOdd;
const char *ow_fuel_odd_text(OwFuelOdd odd);

/// From one full tank to the next.
typedef struct OwFuelInterval {
    int vehicle, first, last; ///< indexes of the fills
    int fills;                ///< that went in, partial ones too
    double distance_m, volume_m3, rate_m3_m;
    double expected_m3_m; ///< the vehicle's usual, by the model
    bool is_rough;        ///< no full tanks: all fills over all distance, counted as much less certain
    OwFuelOdd odd;
    char text[OW_LEARN_TEXT]; ///< "" when usual
} OwFuelInterval;

typedef struct OwFuelSettings {
    double rate_m3_m, rate_spread;  ///< 10 L in 100 km, ln spread 0.5, before any log (assumed)
    double scatter, scatter_spread; ///< 0.12, ln 0.5: between tanks of a vehicle (assumed)
    double between, between_spread; ///< 0.25, ln 0.7: between vehicles (assumed)
    double full_m3;                 ///< 2 L: how exactly "full" is the same twice (assumed)
} OwFuelSettings;
OwFuelSettings ow_fuel_default(void);

typedef struct OwLearnedFuel {
    double rate_m3_m, low, high;  ///< in the long run, median and 90 %
    double tank_low, tank_high;   ///< of the next tank, 90 %
    int n, others, odd;           ///< own intervals used, others', own set aside
    double distance_m, volume_m3; ///< of the own ones used
    bool is_rising;               ///< the last three are all higher than the rest explains
    char text[OW_LEARN_TEXT];
} OwLearnedFuel;

typedef struct OwLearnFuel OwLearnFuel;
/// Fills of all vehicles; each vehicle's in order of time. Errors as ow_learn_filters_create. A vehicle whose
/// odometer was replaced starts anew at that reading.
OwStatus ow_learn_fuel_create(int vehicle_count, const OwLearnFill *fills, int fill_count,
                              const OwFuelSettings *settings, OwLearnFuel **model);
void ow_learn_fuel_destroy(OwLearnFuel **model);
OwStatus ow_learn_fuel(const OwLearnFuel *model, int vehicle, OwLearnedFuel *learned);
/// All intervals, odd ones with their text; the model owns them.
const OwFuelInterval *ow_learn_fuel_intervals(const OwLearnFuel *model, int *count);

// ---- Reminders
// ----------------------------------------------------------------------------------------------------------

typedef enum OwRemindKind {
    OW_REMIND_FILTER,
    OW_REMIND_LUBE,
    OW_REMIND_BATTERY,
    OW_REMIND_BATCH_AGE,
    OW_REMIND_TEST,
    OW_REMIND_WATER,
    OW_REMIND_KINDS
} OwRemindKind;
const char *ow_remind_kind_text(OwRemindKind kind);

/// All intervals can be set; common practice, no source, unless said.
typedef struct OwRemindSettings {
    double filter_risk;        ///< 0.1: change when this share of filters would have failed
    double lube_m, lube_oil_m; ///< 10,000 km on diesel; 5,000 km on oil
    double lube_s;             ///< 365 days
    double battery_s;          ///< 4 years
    double battery_test_s;     ///< 365 days
    double batch_s;            ///< 180 days: stored oil sours
    double test_s;             ///< 14 days after the last step a batch should be tested
    double water_s;            ///< 30 days in winter, twice that else
    double winter_k;           ///< 278.15: below this mean temperature it is winter
    double soon_share;         ///< 0.1: told when less than this share of the interval is left
} OwRemindSettings;
OwRemindSettings ow_remind_default(void);

/// What is known of one thing that may be due. Times UTC seconds, 0: never.
typedef struct OwRemindFact {
    OwRemindKind kind;
    char subject[OW_LEARN_NAME]; ///< "van oil filter", "batch 12"
    int64_t thing;               ///< id, 0 none
    int64_t since_s;             ///< last change, test, step, drain; 0: not known
    bool has_distance;
    double since_m;               ///< driven since then
    double per_day_m;             ///< usual distance a day, 0: not known
    double oil_share;             ///< of the fuel (LUBE)
    double due_m;                 ///< FILTER: the learned distance at the accepted risk; else 0
    double due_low_m, due_high_m; ///< FILTER: 90 % of it, for the reason
    bool is_winter;               ///< WATER
} OwRemindFact;

typedef struct OwReminder {
    OwRemindKind kind;
    char subject[OW_LEARN_NAME];
    int64_t thing;
    double used; ///< share of the interval: 1 due now, above overdue; sorts
    bool is_due, is_soon;
    bool has_date, has_distance, is_unknown; ///< unknown: the log does not say when it was last done
    int64_t due_s;
    double left_m; ///< may be below 0
    double interval_m, interval_s;
    char reason[OW_LEARN_TEXT];
} OwReminder;
/// One reminder a fact, the most urgent first; `reminders` holds `count`. Distances in reasons are km or
/// miles.
void ow_remind(const OwRemindFact *facts, int count, const OwRemindSettings *settings, int64_t now_s,
               bool is_us, OwReminder *reminders);

#endif
