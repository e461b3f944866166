// SPDX-License-Identifier: GPL-3.0-or-later
// Targets in plain words, and how far a morning meets them.
#include "judge/size_impl.h"

#include <ctype.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

static OwStatus refuse(OwFaults *faults, OwStatus status, const char *message, const char *remedy) {
    return ow_faults_tell(faults, status, OW_FAULT_ERROR, "target", NULL, message, remedy);
}

static const char *after(const char *text, const char *word) {
    const size_t length = strlen(word);
    if (strncmp(text, word, length) != 0 || (text[length] != '\0' && !isspace((unsigned char)text[length]))) {
        return NULL;
    }
    text += length;
    while (isspace((unsigned char)*text)) {
        text++;
    }
    return text;
}

static const struct {
    const char *words;
    OwSizeGoalKind kind;
    OwQuantity quantity;
    bool has_limit;
} phrases[] = {
    {"ready in", OW_GOAL_READY, OW_Q_TIME, true},
    {"ready within", OW_GOAL_READY, OW_Q_TIME, true},
    {"starts in", OW_GOAL_START, OW_Q_TIME, true},
    {"starts within", OW_GOAL_START, OW_Q_TIME, true},
    {"full power in", OW_GOAL_FULL_POWER, OW_Q_TIME, true},
    {"full power within", OW_GOAL_FULL_POWER, OW_Q_TIME, true},
    {"at most", OW_GOAL_CURRENT, OW_Q_CURRENT, true},
    {"no air", OW_GOAL_NO_AIR, OW_Q_NUMBER, false},
    {"all limits", OW_GOAL_ALL, OW_Q_NUMBER, false},
};

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
        const char *rest = after(clause, phrases[i].words);
        if (rest == NULL || (!phrases[i].has_limit && *rest != '\0')) {
            continue;
        }
        goal->kind = phrases[i].kind;
        if (phrases[i].has_limit) {
            const bool is_time = phrases[i].quantity == OW_Q_TIME;
            if (ow_units_read(units, rest, phrases[i].quantity, is_time ? "s" : "A", &goal->limit, why,
                              sizeof why) != OW_OK) {
                (void)snprintf(message, sizeof message, "\"%.80s\" after \"%s\" cannot be read", rest,
                               phrases[i].words);
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
        "write ready in 90 s, starts in 2 min, no air, full power within 5 min, at most 40 A or all "
        "limits, each may end with at -10 degC; join them with and");
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
        char *next = strstr(clause, " and ");
        if (next != NULL) {
            *next = '\0';
            next += 5;
        }
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
    switch (goal->kind) {
    case OW_GOAL_READY:
        (void)snprintf(text, size, "ready in %s%s", limit, air);
        break;
    case OW_GOAL_START:
        (void)snprintf(text, size, "starts in %s%s", limit, air);
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
    measure->slack = is_reached ? (goal->limit - reached_s) / goal->limit : -1.0 - lack(record);
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
        if (s->time_s >= goal->limit) {
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
    measure->slack = slack;
    if (has_text) {
        (void)snprintf(measure->text, sizeof measure->text, "%s",
                       worst != NULL ? worst->text : "nothing to hold");
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
