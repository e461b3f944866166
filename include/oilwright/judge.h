// SPDX-License-Identifier: GPL-3.0-or-later
// A record in, answers out: every answer with its number, limit, margin, part and what would mend it.
#ifndef OILWRIGHT_JUDGE_H
#define OILWRIGHT_JUDGE_H

#include "oilwright/morning.h"

/// Kinematic viscosity, m2/s, above which oil is told to be solid with wax: 100,000 mm2/s no longer runs in a
/// hose. Assumed.
#define OW_JUDGE_SOLID 0.1

/// How good an answer is. Only BAD and IMPOSSIBLE fail the design.
typedef enum OwGrade {
    OW_GRADE_GOOD,
    OW_GRADE_TIGHT,      ///< within the limit, but by less than the margin a careful fitter leaves
    OW_GRADE_UNKNOWN,    ///< cannot be said, and the text says why
    OW_GRADE_BAD,        ///< past the limit
    OW_GRADE_IMPOSSIBLE, ///< past the limit, and waiting longer cannot help
    OW_GRADE_COUNT
} OwGrade;

/// One question each; the key is the stable name in JSON.
#define OW_ANSWER_LIST(X)                                                                                    \
    X(OW_ANSWER_RUN, "simulation", "the simulation itself")                                                  \
    X(OW_ANSWER_START, "start", "engine start")                                                              \
    X(OW_ANSWER_READY, "ready", "time until ready")                                                          \
    X(OW_ANSWER_START_VISCOSITY, "start_viscosity", "viscosity when cranking")                               \
    X(OW_ANSWER_RUN_VISCOSITY, "run_viscosity", "viscosity on the drive")                                    \
    X(OW_ANSWER_INLET_TEMPERATURE, "inlet_temperature", "oil at the injection pump")                         \
    X(OW_ANSWER_INLET_PRESSURE, "inlet_pressure", "pressure at the pump inlet")                              \
    X(OW_ANSWER_HOSE_PRESSURE, "hose_pressure", "highest pressure in a hose")                                \
    X(OW_ANSWER_SUCTION, "suction", "suction")                                                               \
    X(OW_ANSWER_FILL, "fill", "liquid in the pump inlet")                                                    \
    X(OW_ANSWER_DELIVERY, "delivery", "fuel on the drive")                                                   \
    X(OW_ANSWER_FULL_LOAD, "full_load", "power at full load")                                                \
    X(OW_ANSWER_FULL_POWER, "full_power", "time until full power")                                           \
    X(OW_ANSWER_OIL_HOT, "oil_hot", "hottest oil")                                                           \
    X(OW_ANSWER_RATING, "rating", "hottest part against its rating")                                         \
    X(OW_ANSWER_FLASH, "flash", "flash point, hottest oil")                                                  \
    X(OW_ANSWER_CLOUD, "cloud", "cloud point, coldest oil")                                                  \
    X(OW_ANSWER_WATER, "water", "water in the fuel")                                                         \
    X(OW_ANSWER_ACID, "acid", "acid in the fuel")                                                            \
    X(OW_ANSWER_SOLIDS, "solids", "solids in the fuel")                                                      \
    X(OW_ANSWER_BATTERY, "battery", "battery charge for pre-heat")                                           \
    X(OW_ANSWER_CRANK_VOLTS, "crank_volts", "battery volts when cranking")                                   \
    X(OW_ANSWER_THERMOSTAT, "thermostat", "thermostat switching")                                            \
    X(OW_ANSWER_COOLANT, "coolant", "coolant")                                                               \
    X(OW_ANSWER_TANK, "tank", "tank")                                                                        \
    X(OW_ANSWER_PURGE, "purge", "pump's fuel at the next start")

typedef enum OwAnswerKind {
#define OW_ANSWER_ENUM(code, key, text) code,
    OW_ANSWER_LIST(OW_ANSWER_ENUM)
#undef OW_ANSWER_ENUM
        OW_ANSWER_COUNT
} OwAnswerKind;

#define OW_ANSWER_TEXT 320
#define OW_ANSWER_CHANGES 8

/// One value of the rig that a mend changes, by the rig file's own words.
typedef struct OwChange {
    int part;            ///< -1: `section` is meant
    int element;         ///< heater of the part, -1 the part itself
    const char *section; ///< static; NULL when a part is meant
    const char *key;     ///< lives as long as the judgement: "bore", "thermostat/opens", "blend/diesel"
    OwQuantity quantity;
    double value; ///< SI
} OwChange;

/// One answer. `value`, `limit` and `margin` are SI of `quantity`; all are finite.
typedef struct OwAnswer {
    OwAnswerKind kind;
    OwGrade grade;
    OwTrust trust;     ///< of the limit or model it rests on, whichever is weaker
    const char *basis; ///< what the limit and the model rest on, a static sentence
    OwQuantity quantity;
    bool has_value,
        has_limit; ///< false: the number beside it is 0 and means nothing; no limit = told, not judged
    double value, limit;
    double margin;    ///< distance to the limit, positive on the good side (kelvin for temperatures)
    double tightness; ///< margin over the margin a careful fitter leaves: below 0 fails, below 1 is tight
    double time_s;    ///< when it was so, from key on; negative = no single moment
    int part;         ///< the part to look at, -1 = none
    char text[OW_ANSWER_TEXT]; ///< one sentence with number, limit and part, in the chosen units
    char mend[OW_ANSWER_TEXT]; ///< what would mend it; empty when nothing needs mending
    OwChange changes[OW_ANSWER_CHANGES]; ///< the first thing the mend says, as values of the rig
    int change_count;                    ///< 0: it takes a person to do it
} OwAnswer;

/// What one part does at the worst moment, and its hottest moment of the morning.
typedef struct OwContribution {
    int part;
    bool is_return; ///< on the way back, not on the way to the pump
    double flow_m3_s, in_k, out_k;
    double in_pa, out_pa; ///< gauge, a perfect vacuum at the least
    double drop_pa;       ///< as the flow would ask for, beyond a vacuum too
    double in_kinematic_m2_s, out_kinematic_m2_s; ///< 0 = unknown
    double heat_w, coolant_w, gain_w; ///< electric or friction heat, coolant heat, warming of the oil
    double drop_share;                ///< of the summed losses on the way to the pump, 0..1
    double hottest_oil_k, hottest_wall_k, hottest_s, rating_k; ///< whole morning; rating 0 = unknown
    OwGrade grade;
    char mark[32]; ///< a word or two: "most drop", "air comes out", "too hot"; may be empty
} OwContribution;

/// All answers about one record. Owned by the caller.
typedef struct OwJudgement {
    const OwRecord *record;
    OwDisplay display;
    OwGrade grade;                 ///< the worst of all that can fail, UNKNOWN when nothing could be judged
    char headline[OW_ANSWER_TEXT]; ///< the answer in one sentence
    char advice[OW_ANSWER_TEXT];   ///< the first thing to change, or the tightest margin
    OwAnswer *answers;             ///< in the order of OwAnswerKind; some come more than once: RATING, WATER, ACID, SOLIDS
    int answer_count;
    int tightest;       ///< index of the judged answer nearest to its limit without breaking it, -1 none
    int worst_sample;   ///< the moment the contributions belong to, -1 none
    char worst_why[96]; ///< why this moment was chosen
    OwContribution *contributions; ///< from the tank to the injection pump, then the way back
    int contribution_count;
    OwArena *arena;
} OwJudgement;

/// Judges a record; texts take `display` units. The record and its rig must outlive the judgement.
/// OW_ERROR_USE on NULL, OW_ERROR_MEMORY. Every record gives a judgement: an empty one is UNKNOWN, an
/// impossible design is an answer.
OwStatus ow_judge_create(const OwRecord *record, OwDisplay display, OwJudgement **judgement);
void ow_judge_destroy(OwJudgement **judgement);
/// First answer of a kind, NULL if it was not asked of this rig.
const OwAnswer *ow_judge_find(const OwJudgement *judgement, OwAnswerKind kind);
/// The answer that the headline rests on: what stops the vehicle first, else what is tightest; NULL none.
const OwAnswer *ow_judge_deciding(const OwJudgement *judgement);
/// True when a limit is broken: grade BAD or IMPOSSIBLE.
bool ow_judge_fails(OwGrade grade);

/// Parts from a tank to the injection pump along the flow of one sample (valve positions and flows of that
/// moment); falls back to the plan's path. Fills up to `size` indices, returns how many there are. Negative
/// sample: the plan's path.
int ow_judge_path(const OwRecord *record, int sample, int *parts, int size);
/// Temperature rating of a part in K: its own, else its material's, 0 when neither is known.
double ow_judge_rating(const OwPart *part);

/// Highest kinematic viscosity allowed at the pump inlet at a moment: until the start and while it warms up
/// the starting limit, then the running limit. 0 = no limit set.
double ow_judge_inlet_limit(const OwRecord *record, double time_s);

/// Short words; never NULL.
const char *ow_judge_grade_text(OwGrade grade);
/// "published", "common practice", "assumed", "measured".
const char *ow_judge_trust_text(OwTrust trust);
const char *ow_judge_kind_text(OwAnswerKind kind);
/// Stable machine name ("run_viscosity").
const char *ow_judge_kind_key(OwAnswerKind kind);

/// Bore that brings a laminar drop down to `wanted_pa`, all else equal: drop ~ 1/bore^4 (Hagen-Poiseuille). 0
/// when no bore does (wanted_pa <= 0) or an input is not positive. Valid while Re stays below 2000; a wider
/// bore only lowers Re.
double ow_judge_bore_for(double bore_m, double drop_pa, double wanted_pa);
/// Next hose bore on sale at or above `bore_m`: 2 mm steps up to 16, then 19, 25, 32 (metric) or 1/16 in
/// steps (US), a common practice list, no source. 0 above 32 mm.
double ow_judge_hose_bore(double bore_m, OwDisplay display);
/// Heater watts that warm by `wanted_k` in `time_s` when `watts` warmed by `reached_k` in the same time: P ~
/// dT for a lumped body far from its steady state (m cp dT/dt = P). 0 when an input is not positive.
double ow_judge_watts_for(double watts, double reached_k, double wanted_k);

#endif
