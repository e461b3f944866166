// SPDX-License-Identifier: GPL-3.0-or-later
// Sizing: which stock sizes meet a target on a cold morning at the least cost or with the least change.
#ifndef OILWRIGHT_SIZE_H
#define OILWRIGHT_SIZE_H

#include "oilwright/judge.h"

#define OW_SIZE_MAX_GOALS 6
#define OW_SIZE_MAX_CHOICES 6
#define OW_SIZE_MAX_OPTIONS 33
#define OW_SIZE_MAX_COMBINATIONS 20000
#define OW_SIZE_TEXT 160

typedef enum OwSizeGoalKind {
    OW_GOAL_READY,      ///< ready within `limit` seconds of key on; 0: at all
    OW_GOAL_START,      ///< the engine runs within `limit` seconds of key on; 0: at all
    OW_GOAL_NO_AIR,     ///< suction stays above its floor and the pump inlet full
    OW_GOAL_FULL_POWER, ///< full power for good within `limit` seconds of the start
    OW_GOAL_CURRENT,    ///< heaters and pumps draw at most `limit` amperes while the engine stands
    OW_GOAL_ALL         ///< every limit of the rig file
} OwSizeGoalKind;

/// One target. `ambient_k` is air and soak, 0 = the rig's.
typedef struct OwSizeGoal {
    OwSizeGoalKind kind;
    double limit, ambient_k;
} OwSizeGoal;

/// Reads "ready in 90 s at -10 degC and no air at -15 degC", "starts in 2 min", "full power within 5 min",
/// "starts", "all limits", "at most 40 A"; "under", "before", "by" and the like do as well. A target without
/// a temperature takes that of the next one that has one, else of the last before it, else the rig's. Appends
/// to `goals` (OW_SIZE_MAX_GOALS in all). OW_ERROR_VALUE or OW_ERROR_UNIT with a fault.
OwStatus ow_size_goals_read(const char *text, OwUnits *units, OwSizeGoal *goals, int *count,
                            OwFaults *faults);
/// The target in plain words ("ready in 1 min 30 s at -10 °C").
void ow_size_goal_write(const OwSizeGoal *goal, OwDisplay display, char *text, size_t size);

typedef enum OwSizeBy {
    OW_SIZE_BY_COST,  ///< least cost of what is bought; parts that stay cost nothing
    OW_SIZE_BY_CHANGE ///< fewest changed things, then fewest stock steps, then cost
} OwSizeBy;

typedef struct OwSizeSettings {
    const char *const *vary; ///< what may change, see ow_size_create; NULL: derived from the failing answers
    int vary_count;
    OwSizeBy by;
    int threads;        ///< 1 to 8
    bool has_front;     ///< also find the trade-off front
    bool has_exact;     ///< also say what would do without stock steps
    bool is_exhaustive; ///< simulate every combination in full (to check the search, slow)
    double point_price; ///< what a relative point costs where prices are given, default 1
    /// Called by one thread now and then with the share done; return false to give up. May be NULL.
    bool (*progress)(void *context, double share);
    void *context;
} OwSizeSettings;
OwSizeSettings ow_size_default(void);

typedef enum OwSizeOutcome {
    OW_SIZE_AS_IS,     ///< the rig meets the targets already
    OW_SIZE_FOUND,     ///< the choices below meet them
    OW_SIZE_IMPOSSIBLE ///< no combination of the stock does; the closest stands below
} OwSizeOutcome;

/// One choice and what came of it.
typedef struct OwSizeChosen {
    char target[OW_SIZE_TEXT]; ///< as `vary` takes it: "supply hose.bore"
    OwQuantity quantity;
    char before[64], after[64];       ///< in display units; for classes and places their names
    double before_value, after_value; ///< SI; 0 for classes and places
    bool is_changed;
    double cost;        ///< of the changed part, 0 when it stays
    const char *source; ///< of the stock list, static
    OwTrust trust;
    int options;                              ///< sizes to choose from, the present one included
    bool is_smallest, is_largest;             ///< no further size on that side in stock
    bool has_less;                            ///< one stock step less was simulated ...
    bool less_holds;                          ///< ... and still meets everything
    char less[64], less_text[OW_ANSWER_TEXT]; ///< that size, and what then breaks
    bool has_exact;                           ///< what would just do, without stock steps
    double exact_value;
    char exact[64];
} OwSizeChosen;

/// How a target is met by the rig as it is and by the proposal (or the closest point).
typedef struct OwSizeGoalResult {
    OwSizeGoal goal;
    char text[OW_SIZE_TEXT];
    bool is_met_before, is_met;
    char before[OW_ANSWER_TEXT], after[OW_ANSWER_TEXT];
} OwSizeGoalResult;

/// A point of the front: no other safe combination is as good in all three and better in one.
typedef struct OwSizePoint {
    int option[OW_SIZE_MAX_CHOICES];
    double ready_s, peak_a, cost;
    bool is_met, is_chosen;
    char label[OW_SIZE_TEXT];
} OwSizePoint;

#define OW_SIZE_MAX_REMARKS 6
/// Owned by the caller; texts take the display units given.
typedef struct OwSizing {
    OwSizeOutcome outcome;
    char headline[OW_ANSWER_TEXT];
    char advice[4 * OW_ANSWER_TEXT]; ///< impossible: how near the closest comes and what else would help
    char barred[OW_ANSWER_TEXT];     ///< impossible: the limit that keeps a nearer point out; else empty
    OwSizeGoalResult goals[OW_SIZE_MAX_GOALS];
    int goal_count;
    OwSizeChosen chosen[OW_SIZE_MAX_CHOICES];
    int chosen_count;
    int option[OW_SIZE_MAX_CHOICES]; ///< index of each choice's option
    double cost;
    bool is_priced; ///< some cost comes from prices of the rig file
    bool has_ready;
    double ready_s, peak_a; ///< of the proposal on the front's morning
    double front_ambient_k;
    OwSizePoint *front;
    int front_count;
    long combinations, tried; ///< in stock; looked at before the answer was certain
    char remarks[OW_SIZE_MAX_REMARKS]
                [OW_ANSWER_TEXT]; ///< limits that the targets do not name and that are broken
    int remark_count;
    OwArena *arena;
} OwSizing;

/// Finds the sizes. What may vary: "HOSE.bore", "TUBE.bore", "PART.power" (all its heaters alike),
/// "PART/HEATER.power", "CHAMBER.metal mass", "PART.insulation thickness" (hose, tube) or "PART.insulation"
/// (chamber, tank), "PUMP.class", "PUMP.stall pressure", "PUMP.free flow", "FILTER.area", "COIL.conductance",
/// "EXCHANGER.conductance", "loop point", "oil.blend=diesel". Combinations are tried in order of cost and the
/// first that meets all targets, breaks no limit that held before and no rating, is the answer; so it is the
/// least by construction. OW_ERROR_VALUE with faults on a wrong choice or more than OW_SIZE_MAX_COMBINATIONS;
/// OW_ERROR_USE when the progress call gave up. Impossible is an answer.
OwStatus ow_size_create(const OwRig *rig, const OwSizeGoal *goals, int goal_count,
                        const OwSizeSettings *settings, OwDisplay display, OwSizing **sizing,
                        OwFaults *faults);
void ow_size_destroy(OwSizing **sizing);

#endif
