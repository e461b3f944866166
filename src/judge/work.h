// SPDX-License-Identifier: GPL-3.0-or-later
// What the questions share while a record is judged: scanned moments, fluids, sentences, grades. Private.
#ifndef OW_JUDGE_WORK_H
#define OW_JUDGE_WORK_H

#include "oilwright/judge.h"

/// Share of the asked fuel below which the engine counts as starved; the record's STARVED event uses the
/// same.
#define OW_JUDGE_SERVED 0.98

/// Working pressure of low-pressure fuel hose, Pa: SAE J30 R7, 50 psi, from memory.
#define OW_JUDGE_HOSE_PA 345e3

typedef struct OwJudgeWork {
    OwJudgement *judgement;
    const OwRecord *record;
    const OwRig *rig;
    OwDisplay display;
    const OwFluid *fluid[OW_MAX_FLUIDS];  ///< NULL where unknown
    int capacity;                         ///< of judgement->answers
    int first_crank, first_run, last_run; ///< samples, -1 = never
    int last_try;  ///< last sample in which the engine was cranked or ran, -1 = never asked
    bool is_asked; ///< the engine was asked to start at all
    int *path;     ///< parts to the pump at the worst moment
    int path_count;
} OwJudgeWork;

/// A quantity in words, to be used inside one expression.
typedef struct OwJudgeWords {
    char text[112];
} OwJudgeWords;
/// A gauge pressure in words. Below a perfect vacuum no pressure stands: then it is told as asked for.
void ow_judge_pressure_words(double gauge_pa, OwDisplay display, char *text, size_t size);
OwJudgeWords ow_judge_words(const OwJudgeWork *work, double si, OwQuantity quantity);
/// Share as percent, "34 %".
OwJudgeWords ow_judge_percent(double share);
/// Name of a part in quotes, "the fuel path" for -1.
OwJudgeWords ow_judge_part(const OwJudgeWork *work, int part);
/// Writes a sentence, always terminated; a cut sentence ends in "...".
void ow_judge_say(char *text, size_t size, const char *format, ...) __attribute__((format(printf, 3, 4)));
/// Appends to a sentence.
void ow_judge_also(char *text, size_t size, const char *format, ...) __attribute__((format(printf, 3, 4)));

/// The next answer, zeroed, UNKNOWN, no part, no time. Never NULL (the array is sized for all).
OwAnswer *ow_judge_add(OwJudgeWork *work, OwAnswerKind kind, OwQuantity quantity);
/// Holds a value against a highest / lowest allowed; `band` is the margin that a careful fitter leaves. Sets
/// grade, margin, tightness. A value or limit that is no number leaves the answer UNKNOWN and returns false.
bool ow_judge_hold_below(OwAnswer *answer, double value, double limit, double band);
bool ow_judge_hold_above(OwAnswer *answer, double value, double limit, double band);
/// For shares that cannot be better than whole: at the ideal there is nothing to leave a margin for, GOOD and
/// ample.
void ow_judge_is_whole(OwAnswer *answer, bool is_ideal);
/// A value that is told, not judged: GOOD without a limit.
bool ow_judge_tell(OwAnswer *answer, double value);

const OwSample *ow_judge_sample(const OwJudgeWork *work, int sample);
/// NULL when the record holds no parts.
const OwPartSample *ow_judge_part_sample(const OwJudgeWork *work, int sample, int part);
/// Mixed kinematic viscosity, 0 = unknown. Blend: Arrhenius by volume (Franco & Nguyen 2011, Fuel 90:838).
double ow_judge_kinematic(const OwJudgeWork *work, double temperature_k, double share);
/// Coldest temperature at which the viscosity is at most `kinematic`; 0 when unknown or above 450 K.
double ow_judge_temperature_for(const OwJudgeWork *work, double kinematic, double share);
/// Volume heat capacity J/(m3 K), 0 unknown.
double ow_judge_heat_capacity(const OwJudgeWork *work, double temperature_k, double share);
double ow_judge_density(const OwJudgeWork *work, double temperature_k, double share);
/// Loss of a part without the static head, Pa.
double ow_judge_loss(const OwJudgeWork *work, int sample, int part);
/// The part on the way to the pump, up to and with `until` (-1 = all), that loses most pressure; -1 none.
int ow_judge_most_loss(const OwJudgeWork *work, int sample, int until);
bool ow_judge_has_kind(const OwJudgeWork *work, OwPartKind kind);
/// Says what would cut the loss of `part` by `cut_pa` at `sample`: bore, filter area, warmth, a pump.
void ow_judge_mend_loss(const OwJudgeWork *work, int sample, int part, double cut_pa, OwAnswer *answer);
/// Raises the watts of all elements that are on with the key and may heat past `need_k`, by `factor` (three
/// times at most); says "520 W of heat in place of 380 W". False: no such element, nothing said.
bool ow_judge_mend_watts(const OwJudgeWork *work, OwAnswer *answer, double factor, double need_k);
/// The same for the last such part before the pump, by `more_w` in all.
bool ow_judge_mend_last_watts(const OwJudgeWork *work, OwAnswer *answer, double more_w, double need_k);
/// What a blend must be good for: as thin as `kinematic_m2_s` (0: not asked) at a temperature, or clear of
/// wax there.
typedef struct OwThinWish {
    double temperature_k, kinematic_m2_s;
    bool is_clear;
} OwThinWish;
/// The least share of diesel (else of kerosene) in the rig's only oil that does it; says `before` and the
/// shares, "40 % diesel, 60 % rapeseed". False: no share does, or the oil is measured and cannot be written
/// anew; nothing said.
bool ow_judge_mend_thin(const OwJudgeWork *work, OwAnswer *answer, const OwThinWish *wish,
                        const char *before);
/// No tank feeds the pump as the valves stand: says so and which one is shut. False, nothing said, otherwise.
bool ow_judge_no_way(const OwJudgeWork *work, int sample, OwAnswer *answer);
/// Heat that stays in `hot` though an electric pump runs: says which valve leaves the oil no way round, and
/// where it should stand. False, nothing said, when no pump runs or the oil does flow.
bool ow_judge_mend_way(const OwJudgeWork *work, int sample, int hot, OwAnswer *answer);
/// Adds a value of the rig to the changes of an answer; one too many is left out.
void ow_judge_change(OwAnswer *answer, OwChange change);
/// The mend of another answer, its words and its changes, in place of an answer's own.
void ow_judge_take_mend(OwAnswer *answer, const OwAnswer *from);

// The questions, one file each group.
void ow_judge_run(OwJudgeWork *work);
void ow_judge_start(OwJudgeWork *work);
void ow_judge_inlet(OwJudgeWork *work);
void ow_judge_suction(OwJudgeWork *work);
void ow_judge_delivery(OwJudgeWork *work);
void ow_judge_hot(OwJudgeWork *work);
/// Only where the rig states them.
OwStatus ow_judge_purity(OwJudgeWork *work);
void ow_judge_support(OwJudgeWork *work);
OwStatus ow_judge_contribute(OwJudgeWork *work);
void ow_judge_headline(OwJudgeWork *work);

#endif
