// SPDX-License-Identifier: GPL-3.0-or-later
// What the stages of sizing share: choices, weathers, simulated combinations. Private.
#ifndef OW_JUDGE_SIZE_IMPL_H
#define OW_JUDGE_SIZE_IMPL_H

#include "judge/stock.h"
#include "judge/variant.h"
#include "oilwright/size.h"

#include <stdatomic.h>

typedef enum OwChoiceKind {
    OW_CHOICE_STOCK, ///< a size of one stock list
    OW_CHOICE_PUMP,  ///< a class of electric pump
    OW_CHOICE_LOOP   ///< where the loop comes in
} OwChoiceKind;

/// One size of a choice. The present one is option `base` of the choice and costs nothing.
typedef struct OwOption {
    double value, second; ///< SI; second comes with it (wall)
    int index;            ///< pump class, or part before which the loop comes in
    double cost;          ///< of buying it; 0 for the present one
    char label[64];
} OwOption;

typedef struct OwChoice {
    OwChoiceKind kind;
    OwStockKind stock;
    int part, element; ///< element -1: all of the part's; part -1 for a blend
    int thinner;       ///< of a blend: index of the thinner's component, -1 = to be added
    char thinner_name[OW_NAME_SIZE];
    char target[OW_SIZE_TEXT];
    OwQuantity quantity;
    double units;      ///< what points count by: metres of hose, number of heaters; else 1
    double price_each; ///< cost of one point
    OwOption options[OW_SIZE_MAX_OPTIONS];
    int count, base;
    bool has_no_less; ///< smaller ones than the present were left out
} OwChoice;

/// A morning at one temperature.
typedef struct OwWeather {
    double ambient_k;
    double wait_s;    ///< the driver waits at least this long for ready
    double horizon_s; ///< the short run ends here
} OwWeather;

typedef enum OwFullState { OW_FULL_NONE, OW_FULL_MEETS, OW_FULL_FAILS, OW_FULL_UNSAFE } OwFullState;

/// What is known of a combination.
typedef struct OwTried {
    bool has_short;
    double ready_s, peak_a; ///< ready < 0: not within the horizon
    double short_slack;     ///< of the targets a short run can answer; >= 0 meets them
    OwFullState full;
    bool keeps;         ///< breaks none of the limits that must hold
    double full_slack;  ///< of the targets and of the limits that must hold; >= 0 meets them
    double goal_slack;  ///< of the targets alone
    double trade_slack; ///< the same without targets on time and current: those are traded on the front
} OwTried;

/// The whole search: read-only while threads run, but for `tried` (one writer an entry) and the counters.
typedef struct OwSizeJob {
    const OwRig *rig;
    const OwSizeSettings *settings;
    const OwSizeGoal *goals;
    int goal_count, goal_weather[OW_SIZE_MAX_GOALS];
    OwChoice *choices;
    int choice_count;
    OwWeather weathers[OW_SIZE_MAX_GOALS];
    int weather_count, front_weather;
    OwGrade base_grade[OW_SIZE_MAX_GOALS][OW_ANSWER_COUNT]; ///< per weather; UNKNOWN also when not asked
    long combinations;
    int *order;     ///< combinations by cost
    double *key;    ///< by combination: what the order goes by
    double *cost;   ///< by combination
    OwTried *tried; ///< by combination
    bool is_priced;
} OwSizeJob;

/// How far a target is met: slack >= 0 meets it, continuous through 0.
typedef struct OwMeasure {
    double slack;
    bool is_met;
    char text[OW_ANSWER_TEXT];
    char mend[OW_ANSWER_TEXT]; ///< of the answer that the text is from; may be empty
} OwMeasure;

/// One thread's own rig.
typedef struct OwSizeWorker {
    const OwSizeJob *job;
    OwVariant *variant;
    OwJoint *joints;
    double *values; ///< when not NULL: continuous values that overrule the options (NaN: keep the option)
    OwFaults faults;
    OwPlan *plan; ///< of the rig as it stands, kept for the next look at the same thing; NULL none
    int plan_option[OW_SIZE_MAX_CHOICES], plan_weather;
    bool is_plan_plain; ///< made from options alone
} OwSizeWorker;

/// What a full look at a combination gives in words.
typedef struct OwLook {
    OwMeasure goals[OW_SIZE_MAX_GOALS];
    char broken[OW_ANSWER_TEXT];                       ///< first limit broken that must hold, with its text
    char remarks[OW_SIZE_MAX_REMARKS][OW_ANSWER_TEXT]; ///< other broken limits
    int remark_count;
    char mend[OW_ANSWER_TEXT];
    double ready_s, peak_a;
} OwLook;

/// Leaves out what is smaller than the present where only more can help: bores, areas, coolant heat, jackets,
/// thinner fuel.
void ow_choice_only_more(OwChoice *choice);
/// Reads one choice. OW_ERROR_VALUE with a fault.
OwStatus ow_choice_read(const OwRig *rig, const char *target, const OwSizeSettings *settings,
                        OwDisplay display, OwChoice *choice, OwFaults *faults);
/// Puts an option into a rig. The rig's parts and joints are its own.
void ow_choice_apply(const OwChoice *choice, int option, OwRig *rig);
/// Puts any value into it (stock choices only).
void ow_choice_apply_value(const OwChoice *choice, double value, double second, OwRig *rig);
/// Cost of any value of a stock choice.
double ow_choice_cost(const OwChoice *choice, double value);
/// The value a rig has now.
double ow_choice_value(const OwChoice *choice, const OwRig *rig);
/// Moves the point where the loop comes in before `part`; false when it cannot.
bool ow_loop_move(OwRig *rig, int part);
/// Part before which the loop comes in, -1 no loop.
int ow_loop_point(const OwRig *rig);
bool ow_loop_can(const OwRig *rig, int part);

/// Choices for a target that the judged morning misses: adds to `count` targets, returns how many there are.
int ow_size_derive(const OwRig *rig, const OwSizeGoal *goal, const OwJudgement *judgement,
                   char targets[][OW_SIZE_TEXT], int count, int size);

OwStatus ow_size_worker_create(const OwSizeJob *job, OwSizeWorker *worker);
void ow_size_worker_destroy(OwSizeWorker *worker);
/// Options of a combination, mixed radix with the last choice fastest.
void ow_size_options(const OwSizeJob *job, long combination, int *option);
long ow_size_combination(const OwSizeJob *job, const int *option);
/// Makes sure that the short look at a combination is known. OW_ERROR_MEMORY only.
OwStatus ow_size_short(OwSizeWorker *worker, long combination);
/// Makes sure that the full look is known.
OwStatus ow_size_full(OwSizeWorker *worker, long combination);
/// What a full look says in numbers.
typedef struct OwSizeVerdict {
    double slack, goal_slack, trade_slack; ///< see OwTried
    OwFullState state;
    bool keeps;
} OwSizeVerdict;
/// A full look at options (or at worker->values); `look` takes the words and may be NULL. `is_exact`: at the
/// accuracy of `morning`; else only where a coarse look comes near the edge.
OwStatus ow_size_look(OwSizeWorker *worker, const int *option, bool is_exact, OwDisplay display, OwLook *look,
                      OwSizeVerdict *verdict);
/// Runs the base rig in one weather.
OwStatus ow_size_base(OwSizeWorker *worker, const int *option, int weather, OwDisplay display,
                      OwJudgement **judgement, OwRecord **record);
double ow_size_peak(const OwRecord *record);

/// Measures a target; judgement NULL: only what a short run can answer (`*is_known` false else).
void ow_goal_measure(const OwSizeGoal *goal, const OwRecord *record, const OwJudgement *judgement,
                     OwDisplay display, bool has_text, OwMeasure *measure, bool *is_known);
/// Limits that hold whatever the target is: ratings, hottest oil, flash point, pressures, battery.
bool ow_goal_is_safety(OwAnswerKind kind);
bool ow_goal_covers(const OwSizeGoal *goal, OwAnswerKind kind);

/// Sorts the combinations and finds the first that meets all: *found is it, or -1. *looked counts those
/// passed over.
OwStatus ow_size_search(OwSizeJob *job, long *found, long *looked);
/// The front; points in `arena`.
OwStatus ow_size_front(OwSizeJob *job, OwArena *arena, OwSizePoint **points, int *count);
/// The safe combination nearest to meeting all when none does; *barred is one that would come nearer but
/// breaks a rating, -1 none.
OwStatus ow_size_closest(OwSizeJob *job, long *closest, long *barred);
/// Without stock steps: least cost of the changed stock choices at the targets (NLopt COBYLA). values[] NaN
/// where a choice stays.
OwStatus ow_size_relax(const OwSizeJob *job, const int *option, double *values, bool *has_found);

#endif
