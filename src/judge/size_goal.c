// SPDX-License-Identifier: GPL-3.0-or-later
// Targets in plain words, and how far a morning meets them.
#include "judge/size_impl.h"

#include <ctype.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

#define NO_START (-1e3)

static OwStatus refuse(OwFaults *faults, OwStatus status, const char *message, const char *remedy) {
    return ow_faults_tell(faults, status, OW_FAULT_ERROR, "target", NULL, message, remedy);
}

/// What follows some words, whatever their letters' case; NULL when the text begins otherwise.
static const char *after(const char *text, const char *words) {
    for (; *words != '\0'; words++) {
        if (isspace((unsigned char)*words)) { // one blank stands for any number
            if (!isspace((unsigned char)*text)) {
                return NULL;
            }
            while (isspace((unsigned char)*text)) {
                text++;
            }
        } else if (tolower((unsigned char)*text++) != *words) {
            return NULL;
        }
    }
    if (*text != '\0' && !isspace((unsigned char)*text)) {
        return NULL;
    }
    while (isspace((unsigned char)*text)) {
        text++;
    }
    return text;
}

/// What is wanted, as people say it. With a quantity a limit follows, by one of the words below or none.
static const struct {
    const char *words;
    OwSizeGoalKind kind;
    OwQuantity quantity;
    bool has_limit, may_lack; ///< may_lack: alone it means "at all"
} phrases[] = {
    {"ready", OW_GOAL_READY, OW_Q_TIME, true, true},
    {"is ready", OW_GOAL_READY, OW_Q_TIME, true, true},
    {"starts", OW_GOAL_START, OW_Q_TIME, true, true},
    {"start", OW_GOAL_START, OW_Q_TIME, true, true},
    {"started", OW_GOAL_START, OW_Q_TIME, true, true},
    {"running", OW_GOAL_START, OW_Q_TIME, true, true},
    {"full power", OW_GOAL_FULL_POWER, OW_Q_TIME, true, false},
    {"current", OW_GOAL_CURRENT, OW_Q_CURRENT, true, false},
    {"draws", OW_GOAL_CURRENT, OW_Q_CURRENT, true, false},
    {"", OW_GOAL_CURRENT, OW_Q_CURRENT, true, false},
    {"no air", OW_GOAL_NO_AIR, OW_Q_NUMBER, false, false},
    {"without air", OW_GOAL_NO_AIR, OW_Q_NUMBER, false, false},
    {"draws no air", OW_GOAL_NO_AIR, OW_Q_NUMBER, false, false},
    {"all limits", OW_GOAL_ALL, OW_Q_NUMBER, false, false},
    {"every limit", OW_GOAL_ALL, OW_Q_NUMBER, false, false},
    {"keeps all limits", OW_GOAL_ALL, OW_Q_NUMBER, false, false},
    {"keeps every limit", OW_GOAL_ALL, OW_Q_NUMBER, false, false},
};
/// Words before a limit: of time, then of an amount, which serve for time as well.
static const char *const limit_words[] = {
    "in at most",   "in less than",  "within",    "in",    "before", "by",    "at most",
    "no more than", "not more than", "less than", "under", "below",  "up to", "max"};
#define FIRST_AMOUNT 6

/// The limit behind its word; NULL when no such word stands there.
static const char *limit_after(const char *text, bool is_time) {
    for (size_t i = is_time ? 0 : FIRST_AMOUNT; i < sizeof limit_words / sizeof limit_words[0]; i++) {
        const char *rest = after(text, limit_words[i]);
        if (rest != NULL) {
            return rest;
        }
    }
    return NULL;
}

static OwStatus read_clause(char *clause, OwUnits *units, OwSizeGoal *goal, OwFaults *faults) {
    char message[256], why[256] = "";
    char *end = clause + strlen(clause);
    while (end > clause && isspace((unsigned char)end[-1])) {
        *--end = '\0';
    }
    // The temperature stands last, after "at".
    *goal = (OwSizeGoal){0};
    for (char *at = strstr(clause, " at "); at != NULL; at = strstr(at + 1, " at ")) {
        if (strstr(at + 1, " at ") != NULL || strncmp(at, " at most", 8) == 0) {
            continue;
        }
        if (ow_units_read(units, at + 4, OW_Q_TEMPERATURE, NULL, &goal->ambient_k, why, sizeof why) !=
            OW_OK) {
            (void)snprintf(message, sizeof message, "the temperature \"%.60s\" cannot be read", at + 4);
            return refuse(faults, OW_ERROR_UNIT, message, why);
        }
        if (goal->ambient_k < 213.15 || goal->ambient_k > 333.15) {
            return refuse(faults, OW_ERROR_VALUE, "the temperature of a target is out of range",
                          "-60 to 60 degC");
        }
        *at = '\0';
        break;
    }
    for (size_t i = 0; i < sizeof phrases / sizeof phrases[0]; i++) {
        const char *rest = phrases[i].words[0] != '\0' ? after(clause, phrases[i].words) : clause;
        if (rest == NULL || (!phrases[i].has_limit && *rest != '\0')) {
            continue;
        }
        const bool is_alone = phrases[i].may_lack && *rest == '\0';
        if (phrases[i].has_limit && !is_alone) {
            rest = limit_after(rest, phrases[i].quantity == OW_Q_TIME);
            if (rest == NULL) {
                continue;
            }
        }
        goal->kind = phrases[i].kind;
        if (phrases[i].has_limit && !is_alone) {
            const bool is_time = phrases[i].quantity == OW_Q_TIME;
            if (ow_units_read(units, rest, phrases[i].quantity, is_time ? "s" : "A", &goal->limit, why,
                              sizeof why) != OW_OK) {
                int length = (int)(rest - clause);
                while (length > 0 && isspace((unsigned char)clause[length - 1])) {
                    length--;
                }
                (void)snprintf(message, sizeof message, "\"%.80s\" after \"%.*s\" cannot be read", rest,
                               length, clause);
                return refuse(faults, OW_ERROR_UNIT, message, why);
            }
            if (!(goal->limit >= (is_time ? 1.0 : 0.1) && goal->limit <= (is_time ? 86400.0 : 1000.0))) {
                return refuse(faults, OW_ERROR_VALUE, "a target is out of range",
                              is_time ? "1 s to 24 h" : "0.1 to 1000 A");
            }
        }
        return OW_OK;
    }
    (void)snprintf(message, sizeof message, "\"%.100s\" is no target", clause);
    return refuse(
        faults, OW_ERROR_VALUE, message,
        "write ready in 90 s, starts, starts in 2 min, no air, full power within 5 min, at most 40 A or all "
        "limits, each may end with at -10 degC; join them with and");
}

/// Ends the clause and gives the next: behind " and " or a comma that stands in no number; NULL when it is
/// the last.
static char *split(char *clause) {
    for (char *at = clause; *at != '\0'; at++) {
        const bool is_mark = (*at == ',' && !isdigit((unsigned char)at[1])) || *at == ';';
        const char *rest = isspace((unsigned char)*at) ? after(at + 1, "and") : NULL;
        if (is_mark || rest != NULL) {
            char *next = rest != NULL ? at + (rest - at) : at + 1;
            while (is_mark && isspace((unsigned char)*next)) {
                next++;
            }
            if (is_mark && (rest = after(next, "and")) != NULL) { // ", and"
                next += rest - next;
            }
            *at = '\0';
            return next;
        }
    }
    return NULL;
}

OwStatus ow_size_goals_read(const char *text, OwUnits *units, OwSizeGoal *goals, int *count,
                            OwFaults *faults) {
    char whole[512];
    const int first = *count;
    if (strlen(text) >= sizeof whole) {
        return refuse(faults, OW_ERROR_VALUE, "the target is too long", "500 characters at most");
    }
    (void)snprintf(whole, sizeof whole, "%s", text);
    OwStatus status = OW_OK;
    for (char *clause = whole; clause != NULL && status == OW_OK;) {
        char *next = split(clause);
        while (isspace((unsigned char)*clause)) {
            clause++;
        }
        if (*count >= OW_SIZE_MAX_GOALS) {
            return refuse(faults, OW_ERROR_VALUE, "too many targets", "six at most");
        }
        status = read_clause(clause, units, &goals[*count], faults);
        *count += status == OW_OK ? 1 : 0;
        clause = next;
    }
    for (int i = *count - 2; i >= first; i--) {
        goals[i].ambient_k = goals[i].ambient_k > 0.0 ? goals[i].ambient_k : goals[i + 1].ambient_k;
    }
    for (int i = first + 1; i < *count; i++) {
        goals[i].ambient_k = goals[i].ambient_k > 0.0 ? goals[i].ambient_k : goals[i - 1].ambient_k;
    }
    return status;
}

void ow_size_goal_write(const OwSizeGoal *goal, OwDisplay display, char *text, size_t size) {
    char limit[48] = "", air[48] = "";
    ow_units_write(goal->limit, goal->kind == OW_GOAL_CURRENT ? OW_Q_CURRENT : OW_Q_TIME, display, limit,
                   sizeof limit);
    if (goal->ambient_k > 0.0) {
        char temperature[32];
        ow_units_write(goal->ambient_k, OW_Q_TEMPERATURE, display, temperature, sizeof temperature);
        (void)snprintf(air, sizeof air, " at %s", temperature);
    }
    const bool has_limit = goal->limit > 0.0;
    switch (goal->kind) {
    case OW_GOAL_READY:
        (void)snprintf(text, size, "ready%s%s%s", has_limit ? " in " : "", has_limit ? limit : "", air);
        break;
    case OW_GOAL_START:
        (void)snprintf(text, size, "starts%s%s%s", has_limit ? " in " : "", has_limit ? limit : "", air);
        break;
    case OW_GOAL_FULL_POWER:
        (void)snprintf(text, size, "full power within %s%s", limit, air);
        break;
    case OW_GOAL_CURRENT:
        (void)snprintf(text, size, "at most %s%s", limit, air);
        break;
    case OW_GOAL_NO_AIR:
        (void)snprintf(text, size, "no air%s", air);
        break;
    default:
        (void)snprintf(text, size, "all limits%s", air);
        break;
    }
}

bool ow_goal_is_safety(OwAnswerKind kind) {
    return kind == OW_ANSWER_RATING || kind == OW_ANSWER_OIL_HOT || kind == OW_ANSWER_FLASH ||
           kind == OW_ANSWER_INLET_PRESSURE || kind == OW_ANSWER_HOSE_PRESSURE || kind == OW_ANSWER_BATTERY;
}

bool ow_goal_covers(const OwSizeGoal *goal, OwAnswerKind kind) {
    switch (goal->kind) {
    case OW_GOAL_READY:
        return kind == OW_ANSWER_READY;
    case OW_GOAL_START:
        return kind == OW_ANSWER_START || kind == OW_ANSWER_START_VISCOSITY;
    case OW_GOAL_NO_AIR:
        return kind == OW_ANSWER_SUCTION || kind == OW_ANSWER_FILL;
    case OW_GOAL_FULL_POWER:
        return kind == OW_ANSWER_FULL_POWER;
    case OW_GOAL_ALL:
        return true;
    default:
        return false;
    }
}

double ow_size_peak(const OwRecord *record) {
    double peak = 0.0;
    for (int i = 0; i < record->sample_count; i++) {
        const OwSample *s = &record->samples[i];
        if (s->engine != OW_ENGINE_OFF || (record->start_s >= 0.0 && s->time_s > record->start_s)) {
            continue;
        }
        const double amps = (s->heaters_w + s->pumps_w) / s->volts_v;
        peak = isfinite(amps) && amps > peak ? amps : peak;
    }
    return peak;
}

/// Not yet ready at the end: how much too thick or too cold the oil at the inlet is, >= 0.
static double lack(const OwRecord *record) {
    if (record->sample_count < 1) {
        return 10.0;
    }
    const OwSample *s = &record->samples[record->sample_count - 1];
    const OwLimits *limits = &record->rig->limits;
    double gap =
        s->inlet_kinematic_m2_s > 0.0 ? log(s->inlet_kinematic_m2_s / limits->start_kinematic_m2_s) : 10.0;
    if (limits->ready_k > 0.0) {
        gap = fmax(gap, 0.05 * (limits->ready_k - s->inlet_k));
    }
    return isfinite(gap) ? fmax(gap, 0.0) : 10.0;
}

static void measure_time(const OwSizeGoal *goal, const OwRecord *record, double reached_s, const char *what,
                         OwDisplay display, bool has_text, OwMeasure *measure) {
    const bool is_reached = reached_s >= 0.0;
    measure->slack = !is_reached         ? -1.0 - lack(record)
                     : goal->limit > 0.0 ? (goal->limit - reached_s) / goal->limit
                                         : 1.0; // at all, however late
    measure->slack = measure->slack < -1.0 && is_reached ? -1.0 : measure->slack;
    if (!has_text) {
        return;
    }
    char reached[48], end[48], thick[48], limit[48];
    ow_units_write(reached_s, OW_Q_TIME, display, reached, sizeof reached);
    if (is_reached) {
        (void)snprintf(measure->text, sizeof measure->text, "%s after %s", what, reached);
        return;
    }
    // The pump inlet is thinnest to ask when the wait is over; later the engine may draw cold oil.
    const OwSample *s = record->sample_count > 0 ? &record->samples[record->sample_count - 1] : NULL;
    for (int i = 0; i < record->sample_count && record->samples[i].engine == OW_ENGINE_OFF; i++) {
        s = &record->samples[i];
        if (goal->limit > 0.0 && s->time_s >= goal->limit) {
            break;
        }
    }
    const OwLimits *limits = &record->rig->limits;
    const bool is_cold =
        s != NULL && limits->ready_k > 0.0 && s->inlet_kinematic_m2_s <= limits->start_kinematic_m2_s;
    const OwQuantity quantity = is_cold ? OW_Q_TEMPERATURE : OW_Q_KINEMATIC_VISCOSITY;
    ow_units_write(s != NULL ? s->time_s : 0.0, OW_Q_TIME, display, end, sizeof end);
    ow_units_write(s == NULL ? 0.0
                   : is_cold ? s->inlet_k
                             : s->inlet_kinematic_m2_s,
                   quantity, display, thick, sizeof thick);
    ow_units_write(is_cold ? limits->ready_k : limits->start_kinematic_m2_s, quantity, display, limit,
                   sizeof limit);
    (void)snprintf(measure->text, sizeof measure->text, "never %s: %s at the injection pump at %s, %s %s",
                   what, thick, end, is_cold ? "wanted" : "limit", limit);
}

/// The worst of the answers that a target holds.
static void measure_answers(const OwSizeGoal *goal, const OwJudgement *judgement, bool has_text,
                            OwMeasure *measure) {
    const OwAnswer *worst = NULL;
    double slack = 1.0;
    for (int i = 0; i < judgement->answer_count; i++) {
        const OwAnswer *v = &judgement->answers[i];
        if (!ow_goal_covers(goal, v->kind)) {
            continue;
        }
        double own = v->has_limit ? v->tightness : 1.0;
        own = ow_judge_fails(v->grade) ? fmin(own, -1e-3) : fmax(own, 0.0);
        if (v->grade == OW_GRADE_UNKNOWN && (v->kind == OW_ANSWER_START || goal->kind == OW_GOAL_NO_AIR)) {
            own = -5.0; // cannot be said: not met
        }
        if (worst == NULL || own < slack) {
            worst = v;
            slack = own;
        }
    }
    const OwAnswer *start = ow_judge_find(judgement, OW_ANSWER_START);
    if (goal->kind == OW_GOAL_ALL && start != NULL && ow_judge_fails(start->grade)) {
        // Limits of a drive that never began are not kept: any that starts is nearer.
        worst = start;
        slack = NO_START - lack(judgement->record);
    } else {
        slack = fmax(slack, NO_START);
    }
    measure->slack = slack;
    if (has_text) {
        (void)snprintf(measure->text, sizeof measure->text, "%s",
                       worst != NULL ? worst->text : "nothing to hold");
        (void)snprintf(measure->mend, sizeof measure->mend, "%s", worst != NULL ? worst->mend : "");
    }
}

void ow_goal_measure(const OwSizeGoal *goal, const OwRecord *record, const OwJudgement *judgement,
                     OwDisplay display, bool has_text, OwMeasure *measure, bool *is_known) {
    *measure = (OwMeasure){0};
    *is_known = true;
    char number[48];
    if (goal->kind == OW_GOAL_READY) {
        measure_time(goal, record, record->ready_s, "ready", display, has_text, measure);
    } else if (goal->kind == OW_GOAL_CURRENT) {
        const double peak = ow_size_peak(record);
        measure->slack = (goal->limit - peak) / goal->limit;
        ow_units_write(peak, OW_Q_CURRENT, display, number, sizeof number);
        (void)snprintf(measure->text, sizeof measure->text, "%s at most before the start", number);
    } else if (judgement == NULL) {
        *is_known = false;
        measure->slack = 1.0;
    } else if (goal->kind == OW_GOAL_START) {
        measure_time(goal, record, record->has_started ? record->start_s : -1.0, "running", display, has_text,
                     measure);
        const OwAnswer *v = ow_judge_find(judgement, OW_ANSWER_START);
        if (has_text && !record->has_started && v != NULL && v->text[0] != '\0') {
            (void)snprintf(measure->text, sizeof measure->text, "%s", v->text);
            (void)snprintf(measure->mend, sizeof measure->mend, "%s", v->mend);
        }
    } else if (goal->kind == OW_GOAL_FULL_POWER) {
        const OwAnswer *v = ow_judge_find(judgement, OW_ANSWER_FULL_POWER);
        const OwAnswer *full = ow_judge_find(judgement, OW_ANSWER_FULL_LOAD);
        const bool is_reached = v != NULL && v->has_value && !ow_judge_fails(v->grade);
        measure->slack = is_reached ? (goal->limit - v->value) / goal->limit
                                    : -1.0 - (full != NULL && full->has_value ? full->value : 1.0);
        measure->slack = is_reached ? fmax(measure->slack, -1.0) : measure->slack;
        (void)snprintf(measure->text, sizeof measure->text, "%s",
                       v != NULL ? v->text : "full power was not asked");
    } else {
        measure_answers(goal, judgement, has_text, measure);
    }
    measure->is_met = measure->slack >= 0.0;
}
