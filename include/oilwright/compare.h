// SPDX-License-Identifier: GPL-3.0-or-later
// Designs side by side: every answer of several judgements, what each is better in, where they tie.
#ifndef OILWRIGHT_COMPARE_H
#define OILWRIGHT_COMPARE_H

#include "oilwright/judge.h"

#define OW_COMPARE_MAX 8

/// What counts about a design besides its answers.
typedef struct OwCompareFacts {
    int parts; ///< of the rig file, hoses included
    int heaters;
    int single_points; ///< parts without which no tank reaches the injection pump, whatever the valves do
    double peak_a;     ///< heaters and pumps, highest while the engine stands
    double price;      ///< sum of the prices given
    int unpriced;      ///< parts without a price
    int broken;        ///< limits broken
    bool is_out;       ///< does not start, or starves on the drive: best in nothing beside one that does not
} OwCompareFacts;

/// A question, one cell a design; NULL where it was not asked. Of several answers of one kind the worst
/// stands.
typedef struct OwCompareRow {
    OwAnswerKind kind;
    const OwAnswer *cells[OW_COMPARE_MAX]; ///< owned by the judgements
    bool is_best[OW_COMPARE_MAX];          ///< not beaten by any other, and not out
    bool is_ranked;                        ///< false: told only, or fewer than two designs were asked
    bool is_tie;                           ///< all that were asked are equally good
} OwCompareRow;

/// Owned by the caller. The judgements must outlive it.
typedef struct OwComparison {
    int count;
    const OwJudgement *judgements[OW_COMPARE_MAX];
    OwCompareFacts facts[OW_COMPARE_MAX];
    OwCompareRow rows[OW_ANSWER_COUNT];
    int row_count;
    char headline[OW_ANSWER_TEXT];
    char better[OW_COMPARE_MAX][3 * OW_ANSWER_TEXT]; ///< what a design alone is best in; may be empty
    char ties[3 * OW_ANSWER_TEXT];                   ///< what all tie in; may be empty
} OwComparison;

/// Compares 2 to OW_COMPARE_MAX judgements. A better grade wins; within a grade more margin (by over 5 % of
/// the margin a careful fitter leaves), or for times and charge without a limit the lower by over 2 %.
/// OW_ERROR_USE, OW_ERROR_MEMORY.
OwStatus ow_compare_create(const OwJudgement *const *judgements, int count, OwComparison **comparison);
void ow_compare_destroy(OwComparison **comparison);
/// Parts without which no pick-up is joined to the injection pump's inlet. Valves count as open all ways,
/// check valves and still pumps as passable: a plain cut count on the joints, not a fault study.
int ow_compare_single_points(const OwRig *rig);

#endif
