// SPDX-License-Identifier: GPL-3.0-or-later
// Sizing from end to end: weathers, choices, search, front, which limit binds, and the words for it.
#include "judge/size_impl.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/// What nobody asked for may not take long: derived choices are left out beyond this.
#define DERIVED_COMBINATIONS 2500
/// How often it looks for further choices when those do not suffice.
#define SEARCHES_MORE 1

OwSizeSettings ow_size_default(void) {
    return (OwSizeSettings){.threads = 2, .has_front = true, .has_exact = true, .point_price = 1.0};
}

void ow_size_destroy(OwSizing **sizing) {
    if (sizing == NULL || *sizing == NULL) {
        return;
    }
    OwArena *arena = (*sizing)->arena;
    *sizing = NULL;
    ow_arena_destroy(&arena);
}

static void find_weathers(OwSizeJob *job) {
    for (int g = 0; g < job->goal_count; g++) {
        const OwSizeGoal *goal = &job->goals[g];
        const double air_k = goal->ambient_k > 0.0 ? goal->ambient_k : job->rig->climate.ambient_k;
        int w = 0;
        while (w < job->weather_count && fabs(job->weathers[w].ambient_k - air_k) > 1e-6) {
            w++;
        }
        if (w == job->weather_count) {
            job->weathers[job->weather_count++] = (OwWeather){.ambient_k = air_k};
        }
        job->goal_weather[g] = w;
        if (goal->kind == OW_GOAL_READY) {
            job->weathers[w].wait_s = fmax(job->weathers[w].wait_s, goal->limit);
        }
    }
    // The front is drawn for the morning of a ready target, else the coldest.
    int front = 0;
    for (int w = 1; w < job->weather_count; w++) {
        front = job->weathers[w].ambient_k < job->weathers[front].ambient_k ? w : front;
    }
    for (int g = job->goal_count - 1; g >= 0; g--) {
        front = job->goals[g].kind == OW_GOAL_READY ? job->goal_weather[g] : front;
    }
    job->front_weather = front;
    for (int w = 0; w < job->weather_count; w++) {
        OwWeather *weather = &job->weathers[w];
        // Twice the target, so that the front shows what a little more patience saves.
        weather->wait_s *= 2.0;
        weather->horizon_s = fmax(weather->wait_s > 0.0 ? weather->wait_s : job->rig->drive.ready_wait_s,
                                  job->rig->drive.earliest_start_s) +
                             1.0;
    }
}

/// Judges the rig as it is in every weather: what holds now, what is missed.
static OwStatus judge_base(OwSizeJob *job, OwSizing *sizing, OwDisplay display, char targets[][OW_SIZE_TEXT],
                           int *target_count, OwFaults *faults) {
    OwSizeWorker worker;
    OwStatus status = ow_size_worker_create(job, &worker);
    if (status != OW_OK) {
        return status;
    }
    for (int w = 0; w < job->weather_count && status == OW_OK; w++) {
        OwRecord *record = NULL;
        OwJudgement *judgement = NULL;
        status = ow_size_base(&worker, NULL, w, display, &judgement, &record);
        for (int k = 0; k < OW_ANSWER_COUNT; k++) {
            job->base_grade[w][k] = OW_GRADE_UNKNOWN;
        }
        bool has[OW_ANSWER_COUNT] = {false};
        for (int i = 0; status == OW_OK && i < judgement->answer_count; i++) {
            const OwAnswer *v = &judgement->answers[i];
            OwGrade *grade = &job->base_grade[w][v->kind];
            *grade = !has[v->kind] || ow_judge_fails(v->grade) ? v->grade : *grade;
            has[v->kind] = true;
        }
        for (int g = 0; g < job->goal_count && status == OW_OK; g++) {
            OwMeasure measure;
            bool is_known = false;
            if (job->goal_weather[g] != w) {
                continue;
            }
            ow_goal_measure(&job->goals[g], record, judgement, display, true, &measure, &is_known);
            sizing->goals[g].is_met_before = measure.is_met;
            (void)snprintf(sizing->goals[g].before, sizeof sizing->goals[g].before, "%s", measure.text);
            if (target_count != NULL) { // a target that is met needs but what must hold besides
                *target_count = ow_size_derive(job->rig, measure.is_met ? NULL : &job->goals[g], judgement,
                                               targets, *target_count, OW_SIZE_MAX_CHOICES);
            }
        }
        ow_judge_destroy(&judgement);
        ow_record_destroy(&record);
    }
    for (size_t i = 0; status != OW_OK && i < worker.faults.count; i++) {
        (void)ow_faults_add(faults, &worker.faults.items[i]);
    }
    ow_size_worker_destroy(&worker);
    return status;
}

static OwStatus too_many(OwFaults *faults, long combinations) {
    OwFault fault = {.status = OW_ERROR_VALUE, .severity = OW_FAULT_ERROR};
    (void)snprintf(fault.file, sizeof fault.file, "--vary");
    (void)snprintf(fault.message, sizeof fault.message, "%ld combinations are too many", combinations);
    (void)snprintf(fault.remedy, sizeof fault.remedy, "vary fewer things at once, %d combinations at most",
                   OW_SIZE_MAX_COMBINATIONS);
    (void)ow_faults_add(faults, &fault);
    return OW_ERROR_VALUE;
}

static OwStatus read_choices(OwSizeJob *job, const char *const *targets, int count, bool is_derived,
                             OwDisplay display, OwFaults *faults) {
    OwStatus status = OW_OK;
    long combinations = 1;
    for (int i = 0; i < count && job->choice_count < OW_SIZE_MAX_CHOICES; i++) {
        OwFaults own = {0};
        OwChoice *choice = &job->choices[job->choice_count];
        const OwStatus read = ow_choice_read(job->rig, targets[i], job->settings, display, choice, &own);
        if (read == OW_OK && is_derived) {
            ow_choice_only_more(choice);
        }
        bool is_twice = false;
        for (int k = 0; k < job->choice_count; k++) {
            is_twice = is_twice || strcmp(job->choices[k].target, targets[i]) == 0;
        }
        if (read == OW_OK && !is_twice && choice->count > 1 &&
            (!is_derived || combinations * choice->count <= DERIVED_COMBINATIONS)) {
            combinations *= choice->count;
            job->is_priced = job->is_priced || fabs(choice->price_each - job->settings->point_price) > 1e-12;
            job->choice_count++;
        }
        for (size_t f = 0; !is_derived && f < own.count; f++) {
            (void)ow_faults_add(faults, &own.items[f]);
        }
        ow_faults_clear(&own);
        status = read != OW_OK && (!is_derived || read == OW_ERROR_MEMORY) ? read : status;
    }
    if (status == OW_OK && combinations > OW_SIZE_MAX_COMBINATIONS) {
        status = too_many(faults, combinations);
    }
    job->combinations = combinations;
    return status;
}

static OwStatus price(OwSizeJob *job, OwArena *arena) {
    const size_t n = (size_t)job->combinations;
    job->order = ow_arena_take(arena, n, sizeof *job->order);
    job->key = ow_arena_take(arena, n, sizeof *job->key);
    job->cost = ow_arena_take(arena, n, sizeof *job->cost);
    job->tried = ow_arena_take(arena, n, sizeof *job->tried);
    if (job->order == NULL || job->key == NULL || job->cost == NULL || job->tried == NULL) {
        return OW_ERROR_MEMORY;
    }
    for (long i = 0; i < job->combinations; i++) {
        int option[OW_SIZE_MAX_CHOICES];
        ow_size_options(job, i, option);
        int changes = 0, steps = 0;
        for (int c = 0; c < job->choice_count; c++) {
            job->cost[i] += job->choices[c].options[option[c]].cost;
            changes += option[c] != job->choices[c].base;
            steps += abs(option[c] - job->choices[c].base);
        }
        // By change: one more changed thing outweighs any steps, one more step any cost (costs stay below
        // 1e5).
        job->key[i] = job->settings->by == OW_SIZE_BY_CHANGE
                          ? 1e8 * changes + 1e5 * steps + fmin(job->cost[i], 9e4)
                          : job->cost[i];
    }
    return OW_OK;
}

static void write_exact(const OwChoice *choice, OwDisplay display, OwSizeChosen *chosen) {
    if (choice->stock == OW_STOCK_AREA) {
        (void)snprintf(chosen->exact, sizeof chosen->exact, "%.2f x area", chosen->exact_value);
    } else if (choice->stock == OW_STOCK_BLEND) {
        (void)snprintf(chosen->exact, sizeof chosen->exact, "%.1f %%", 100.0 * chosen->exact_value);
    } else {
        char number[48];
        ow_units_write(chosen->exact_value, choice->quantity, display, number, sizeof number);
        if (choice->stock == OW_STOCK_HEATER && choice->units > 1.5) {
            (void)snprintf(chosen->exact, sizeof chosen->exact, "%.0f x %s", choice->units, number);
        } else {
            (void)snprintf(chosen->exact, sizeof chosen->exact, "%s", number);
        }
    }
}

/// One stock step less, simulated: what then breaks.
static OwStatus step_less(const OwSizeJob *job, const OwSizing *sizing, OwDisplay display, int c,
                          OwSizeChosen *chosen) {
    const OwChoice *choice = &job->choices[c];
    int option[OW_SIZE_MAX_CHOICES];
    memcpy(option, sizing->option, sizeof option);
    // Towards what is fitted now; from there, the next smaller.
    const int step = option[c] < choice->base ? 1 : -1;
    if (option[c] + step < 0 || (option[c] == choice->base && choice->kind == OW_CHOICE_LOOP)) {
        return OW_OK;
    }
    option[c] = choice->kind == OW_CHOICE_LOOP ? choice->base : option[c] + step;
    OwSizeWorker worker;
    OwLook look;
    OwSizeVerdict verdict = {0};
    OwStatus status = ow_size_worker_create(job, &worker);
    if (status != OW_OK) {
        return status;
    }
    status = ow_size_look(&worker, option, true, display, &look, &verdict);
    ow_size_worker_destroy(&worker);
    chosen->has_less = status == OW_OK;
    chosen->less_holds = verdict.state == OW_FULL_MEETS;
    (void)snprintf(chosen->less, sizeof chosen->less, "%s", choice->options[option[c]].label);
    if (look.broken[0] != '\0') {
        (void)snprintf(chosen->less_text, sizeof chosen->less_text, "%s", look.broken);
    }
    for (int g = job->goal_count - 1; g >= 0; g--) {
        if (!look.goals[g].is_met) {
            (void)snprintf(chosen->less_text, sizeof chosen->less_text, "%.200s (wanted: %.90s)",
                           look.goals[g].text, sizing->goals[g].text);
        }
    }
    return status;
}

static OwStatus tell_choices(const OwSizeJob *job, OwSizing *sizing, OwDisplay display) {
    double exact[OW_SIZE_MAX_CHOICES];
    bool has_exact = false;
    OwStatus status = OW_OK;
    if (sizing->outcome == OW_SIZE_FOUND && job->settings->has_exact) {
        status = ow_size_relax(job, sizing->option, exact, &has_exact);
    }
    for (int c = 0; c < job->choice_count && status == OW_OK; c++) {
        const OwChoice *choice = &job->choices[c];
        const OwOption *before = &choice->options[choice->base], *after = &choice->options[sizing->option[c]];
        OwSizeChosen *chosen = &sizing->chosen[c];
        *chosen = (OwSizeChosen){
            .quantity = choice->quantity,
            .is_changed = sizing->option[c] != choice->base,
            .cost = after->cost,
            .options = choice->count,
            .is_smallest = sizing->option[c] == 0 && choice->kind != OW_CHOICE_LOOP && !choice->has_no_less,
            .is_largest = sizing->option[c] == choice->count - 1 && choice->kind != OW_CHOICE_LOOP,
            .source = choice->kind == OW_CHOICE_STOCK  ? ow_stock(choice->stock)->source
                      : choice->kind == OW_CHOICE_PUMP ? ow_stock_pump_source
                                                       : "places on the way of this rig",
            .trust = choice->kind == OW_CHOICE_STOCK ? ow_stock(choice->stock)->trust : OW_TRUST_PRACTICE};
        memcpy(chosen->target, choice->target, sizeof chosen->target);
        (void)snprintf(chosen->before, sizeof chosen->before, "%s", before->label);
        (void)snprintf(chosen->after, sizeof chosen->after, "%s", after->label);
        if (choice->kind == OW_CHOICE_STOCK) {
            chosen->before_value = before->value;
            chosen->after_value = after->value;
        }
        if (has_exact && isfinite(exact[c])) {
            chosen->has_exact = true;
            chosen->exact_value = exact[c];
            write_exact(choice, display, chosen);
        }
        if (sizing->outcome != OW_SIZE_IMPOSSIBLE) {
            status = step_less(job, sizing, display, c, chosen);
        }
    }
    sizing->chosen_count = job->choice_count;
    return status;
}

/// Looks at the answer at full accuracy; *holds false when that breaks it.
static OwStatus tell_answer(const OwSizeJob *job, OwSizing *sizing, OwDisplay display, bool *holds,
                            OwLook *look) {
    OwSizeWorker worker;
    OwSizeVerdict verdict = {0};
    OwStatus status = ow_size_worker_create(job, &worker);
    if (status != OW_OK) {
        return status;
    }
    status = ow_size_look(&worker, sizing->option, true, display, look, &verdict);
    ow_size_worker_destroy(&worker);
    *holds = verdict.state == OW_FULL_MEETS;
    for (int g = 0; g < job->goal_count; g++) {
        sizing->goals[g].is_met = look->goals[g].is_met;
        (void)snprintf(sizing->goals[g].after, sizeof sizing->goals[g].after, "%s", look->goals[g].text);
    }
    sizing->has_ready = look->ready_s >= 0.0;
    sizing->ready_s = sizing->has_ready ? look->ready_s : 0.0;
    sizing->peak_a = look->peak_a;
    sizing->remark_count = look->remark_count;
    memcpy(sizing->remarks, look->remarks, sizeof sizing->remarks);
    return status;
}

static void tell_headline(const OwSizeJob *job, OwSizing *sizing, const OwLook *look) {
    char wanted[256] = "";
    size_t used = 0;
    for (int g = 0; g < sizing->goal_count && used < sizeof wanted; g++) {
        used += (size_t)snprintf(wanted + used, sizeof wanted - used, "%s%s", g > 0 ? ", " : "",
                                 sizing->goals[g].text);
    }
    char *h = sizing->headline, *a = sizing->advice;
    const size_t hs = sizeof sizing->headline, as = sizeof sizing->advice;
    if (sizing->outcome == OW_SIZE_AS_IS) {
        (void)snprintf(h, hs, "Nothing has to change for: %.240s.", wanted);
    } else if (sizing->outcome == OW_SIZE_FOUND) {
        int changes = 0;
        for (int c = 0; c < job->choice_count; c++) {
            changes += sizing->option[c] != job->choices[c].base;
        }
        (void)snprintf(h, hs, "%d change%s for: %.240s.", changes, changes > 1 ? "s do" : " does", wanted);
    } else {
        (void)snprintf(h, hs, "Not possible with what may vary: %.240s.", wanted);
        int missed = 0;
        while (missed + 1 < sizing->goal_count && sizing->goals[missed].is_met) {
            missed++;
        }
        if (!sizing->goals[missed].is_met) {
            (void)snprintf(a, as, "The closest misses \"%s\": %s", sizing->goals[missed].text,
                           sizing->goals[missed].after);
        } else {
            (void)snprintf(a, as, "The targets can be met only by breaking another limit: %s", look->broken);
        }
        const size_t length = strlen(a);
        if (length > 0 && a[length - 1] != '.') {
            (void)snprintf(a + length, as - length, ".");
        }
        if (!sizing->goals[missed].is_met && look->broken[0] != '\0') {
            (void)snprintf(a + strlen(a), as - strlen(a), " It would break what holds now, too: %s",
                           look->broken);
        }
        if (sizing->barred[0] != '\0') {
            (void)snprintf(a + strlen(a), as - strlen(a), " Nearer only past what must hold: %s",
                           sizing->barred);
        }
        if (look->mend[0] != '\0') {
            (void)snprintf(a + strlen(a), as - strlen(a), " %s: %s",
                           sizing->barred[0] != '\0' ? "What would help it, whatever that does to the rest"
                                                     : "What would help beyond the stock",
                           look->mend);
        }
    }
}

static void label_front(const OwSizeJob *job, OwSizing *sizing) {
    for (int i = 0; i < sizing->front_count; i++) {
        OwSizePoint *p = &sizing->front[i];
        size_t used = 0;
        p->is_chosen = sizing->outcome != OW_SIZE_IMPOSSIBLE;
        for (int c = 0; c < job->choice_count; c++) {
            p->is_chosen = p->is_chosen && p->option[c] == sizing->option[c];
            if (used < sizeof p->label) {
                used += (size_t)snprintf(p->label + used, sizeof p->label - used, "%s%s", c > 0 ? ", " : "",
                                         job->choices[c].options[p->option[c]].label);
            }
        }
    }
}

/// Searches until an answer also holds at full accuracy.
static OwStatus find(OwSizeJob *job, OwSizing *sizing, OwDisplay display, OwLook *look) {
    OwStatus status = OW_OK;
    bool holds = false;
    for (int again = 0; again < 64 && status == OW_OK && !holds; again++) {
        long found = -1;
        status = ow_size_search(job, &found, &sizing->tried);
        if (status != OW_OK) {
            return status;
        }
        sizing->outcome = found >= 0 ? OW_SIZE_FOUND : OW_SIZE_IMPOSSIBLE;
        if (found < 0) {
            long barred = -1;
            status = ow_size_closest(job, &found, &barred);
            if (status == OW_OK && barred >= 0) {
                ow_size_options(job, barred, sizing->option);
                status = tell_answer(job, sizing, display, &holds, look);
                (void)snprintf(sizing->barred, sizeof sizing->barred, "%s", look->broken);
            }
        }
        if (status != OW_OK) {
            return status;
        }
        ow_size_options(job, found, sizing->option);
        sizing->cost = job->cost[found];
        status = tell_answer(job, sizing, display, &holds, look);
        if (sizing->outcome == OW_SIZE_IMPOSSIBLE) {
            return status;
        }
        if (!holds) {
            job->tried[found].full = OW_FULL_FAILS; // on the very edge: the next one then
        }
    }
    bool is_changed = false;
    for (int c = 0; c < job->choice_count; c++) {
        is_changed = is_changed || sizing->option[c] != job->choices[c].base;
    }
    sizing->outcome = is_changed ? OW_SIZE_FOUND : OW_SIZE_AS_IS;
    return status;
}

/// Choices and their search once more, when what acted on the rig as it is does not suffice: what the closest
/// changed, and what acts on the closest. The better of both stays.
static OwStatus search_on(OwSizeJob *job, OwSizing *sizing, OwDisplay display, OwLook *look,
                          OwFaults *faults) {
    char targets[OW_SIZE_MAX_CHOICES][OW_SIZE_TEXT];
    const char *names[OW_SIZE_MAX_CHOICES];
    int count = 0, kept = 0;
    OwSizeWorker worker;
    for (int c = 0; c < job->choice_count; c++) {
        if (sizing->option[c] != job->choices[c].base) {
            (void)snprintf(targets[count++], OW_SIZE_TEXT, "%s", job->choices[c].target);
        }
    }
    kept = count;
    OwStatus status = ow_size_worker_create(job, &worker);
    if (status != OW_OK) {
        return status;
    }
    for (int g = 0; g < job->goal_count && status == OW_OK; g++) {
        OwRecord *record = NULL;
        OwJudgement *judgement = NULL;
        status = ow_size_base(&worker, sizing->option, job->goal_weather[g], display, &judgement, &record);
        if (status == OW_OK) {
            count = ow_size_derive(job->rig, sizing->goals[g].is_met ? NULL : &job->goals[g], judgement,
                                   targets, count, OW_SIZE_MAX_CHOICES);
        }
        ow_judge_destroy(&judgement);
        ow_record_destroy(&record);
    }
    ow_size_worker_destroy(&worker);
    bool is_new = false;
    for (int i = kept; i < count; i++) {
        bool is_known = false;
        for (int c = 0; c < job->choice_count; c++) {
            is_known = is_known || strcmp(job->choices[c].target, targets[i]) == 0;
        }
        is_new = is_new || !is_known;
    }
    if (status != OW_OK || !is_new) {
        return status;
    }
    for (int i = 0; i < count; i++) {
        names[i] = targets[i];
    }
    const OwSizeJob job_before = *job;
    const OwSizing before = *sizing;
    OwLook *look_before = ow_arena_take(sizing->arena, 1, sizeof *look_before);
    job->choices = ow_arena_take(sizing->arena, OW_SIZE_MAX_CHOICES + 1, sizeof *job->choices);
    if (look_before == NULL || job->choices == NULL) {
        return OW_ERROR_MEMORY;
    }
    *look_before = *look;
    job->choice_count = 0;
    sizing->barred[0] = '\0';
    status = read_choices(job, names, count, true, display, faults);
    status = status == OW_OK ? price(job, sizing->arena) : status;
    status = status == OW_OK ? find(job, sizing, display, look) : status;
    if (status == OW_OK && sizing->outcome == OW_SIZE_IMPOSSIBLE) {
        const double was = job_before.tried[ow_size_combination(&job_before, before.option)].goal_slack,
                     is = job->tried[ow_size_combination(job, sizing->option)].goal_slack;
        if (!(is > was + 1e-3)) {
            *job = job_before;
            *sizing = before;
            *look = *look_before;
        }
    }
    return status;
}

static OwStatus size_all(OwSizeJob *job, OwSizing *sizing, OwDisplay display, OwFaults *faults) {
    char derived[OW_SIZE_MAX_CHOICES][OW_SIZE_TEXT];
    const char *names[OW_SIZE_MAX_CHOICES];
    int derived_count = 0;
    const bool is_derived = job->settings->vary == NULL || job->settings->vary_count == 0;
    find_weathers(job);
    OwStatus status = judge_base(job, sizing, display, derived, is_derived ? &derived_count : NULL, faults);
    for (int i = 0; i < derived_count; i++) {
        names[i] = derived[i];
    }
    if (status == OW_OK) {
        status =
            read_choices(job, is_derived ? names : job->settings->vary,
                         is_derived ? derived_count : job->settings->vary_count, is_derived, display, faults);
    }
    if (status == OW_OK) {
        status = price(job, sizing->arena);
    }
    OwLook *look = status == OW_OK ? ow_arena_take(sizing->arena, 1, sizeof *look) : NULL;
    if (status == OW_OK && look == NULL) {
        status = OW_ERROR_MEMORY;
    }
    if (status == OW_OK) {
        status = find(job, sizing, display, look);
    }
    for (int again = 0;
         again < SEARCHES_MORE && status == OW_OK && is_derived && sizing->outcome == OW_SIZE_IMPOSSIBLE;
         again++) {
        status = search_on(job, sizing, display, look, faults);
    }
    if (status == OW_OK && job->settings->has_front && job->choice_count > 0) {
        status = ow_size_front(job, sizing->arena, &sizing->front, &sizing->front_count);
    }
    if (status == OW_OK) {
        status = tell_choices(job, sizing, display);
    }
    if (status == OW_OK) {
        sizing->combinations = job->combinations;
        sizing->is_priced = job->is_priced;
        sizing->front_ambient_k = job->weathers[job->front_weather].ambient_k;
        label_front(job, sizing);
        tell_headline(job, sizing, look);
    }
    return status;
}

OwStatus ow_size_create(const OwRig *rig, const OwSizeGoal *goals, int goal_count,
                        const OwSizeSettings *settings, OwDisplay display, OwSizing **sizing,
                        OwFaults *faults) {
    if (rig == NULL || goals == NULL || settings == NULL || sizing == NULL || faults == NULL ||
        goal_count < 1 || goal_count > OW_SIZE_MAX_GOALS || settings->vary_count > OW_SIZE_MAX_CHOICES ||
        !(settings->point_price > 0.0)) {
        return OW_ERROR_USE;
    }
    *sizing = NULL;
    OwArena *arena = ow_arena_create();
    OwSizing *made = arena != NULL ? ow_arena_take(arena, 1, sizeof *made) : NULL;
    OwSizeJob *job = made != NULL ? ow_arena_take(arena, 1, sizeof *job) : NULL;
    OwChoice *choices = job != NULL ? ow_arena_take(arena, OW_SIZE_MAX_CHOICES + 1, sizeof *choices) : NULL;
    if (choices == NULL) {
        ow_arena_destroy(&arena);
        return OW_ERROR_MEMORY;
    }
    made->arena = arena;
    made->goal_count = goal_count;
    for (int g = 0; g < goal_count; g++) {
        made->goals[g].goal = goals[g];
        ow_size_goal_write(&goals[g], display, made->goals[g].text, sizeof made->goals[g].text);
    }
    *job = (OwSizeJob){
        .rig = rig, .settings = settings, .goals = goals, .goal_count = goal_count, .choices = choices};
    const OwStatus status = size_all(job, made, display, faults);
    if (status != OW_OK) {
        ow_size_destroy(&made);
        return status;
    }
    *sizing = made;
    return OW_OK;
}
