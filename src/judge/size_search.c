// SPDX-License-Identifier: GPL-3.0-or-later
// The search: combinations in order of cost, shared among threads, until the first that meets all is certain.
#include "judge/size_impl.h"

#include <math.h>
#include <pthread.h>
#include <stdlib.h>

#define MAX_THREADS 8
#define AHEAD 8 // full looks shared among the threads at a time
/// A short look may be off by this much; only what misses by more is left out without a full look.
#define SHORT_ERROR 0.03

typedef enum OwPass { OW_PASS_SEARCH, OW_PASS_SHORT, OW_PASS_ALL } OwPass;

typedef struct OwCrew {
    OwSizeJob *job;
    OwPass pass;
    const int *list; ///< combinations in the order in which they are looked at
    long count;
    atomic_long next; ///< next place in the order
    atomic_long best; ///< least place that meets all
    atomic_int status;
} OwCrew;

typedef struct OwHand {
    OwCrew *crew;
    bool is_first; ///< tells progress
    OwSizeWorker worker;
} OwHand;

/// Equal to the eye: costs come from sums of decimal figures.
static bool is_same_key(double a, double b) {
    return fabs(a - b) <= 1e-9 * (1.0 + fabs(b));
}

static OwStatus look_at(OwHand *hand, long place) {
    OwCrew *crew = hand->crew;
    OwSizeJob *job = crew->job;
    const long combination = crew->list[place];
    OwTried *tried = &job->tried[combination];
    OwStatus status = ow_size_short(&hand->worker, combination);
    const bool is_wanted =
        crew->pass == OW_PASS_ALL || (crew->pass == OW_PASS_SEARCH && tried->short_slack >= -SHORT_ERROR);
    if (status == OW_OK && is_wanted) {
        status = ow_size_full(&hand->worker, combination);
        if (status == OW_OK && tried->full == OW_FULL_MEETS) {
            long best = atomic_load(&crew->best);
            while (place < best && !atomic_compare_exchange_weak(&crew->best, &best, place)) {
            }
        }
    }
    return status;
}

static void *work(void *context) {
    OwHand *hand = context;
    OwCrew *crew = hand->crew;
    OwSizeJob *job = crew->job;
    while (atomic_load(&crew->status) == OW_OK) {
        const long place = atomic_fetch_add(&crew->next, 1);
        if (place >= crew->count) {
            break;
        }
        const long best = atomic_load(&crew->best);
        // All that cost no more than the best must be looked at; nothing beyond can be better.
        if (crew->pass == OW_PASS_SEARCH && place > best &&
            !is_same_key(job->key[crew->list[place]], job->key[crew->list[best]])) {
            break;
        }
        const OwStatus status = look_at(hand, place);
        if (status != OW_OK) {
            atomic_store(&crew->status, status);
        }
        if (hand->is_first && job->settings->progress != NULL &&
            !job->settings->progress(job->settings->context, (double)place / (double)crew->count)) {
            atomic_store(&crew->status, OW_ERROR_USE);
        }
    }
    return NULL;
}

/// Looks at a list with all threads; *best is the first place that meets all, or -1.
static OwStatus run_list(OwSizeJob *job, OwPass pass, const int *list, long count, long *best) {
    OwCrew crew = {.job = job, .pass = pass, .list = list, .count = count};
    OwHand hands[MAX_THREADS] = {{0}};
    pthread_t threads[MAX_THREADS];
    const int wanted = job->settings->threads < 1             ? 1
                       : job->settings->threads > MAX_THREADS ? MAX_THREADS
                                                              : job->settings->threads;
    atomic_init(&crew.next, 0);
    atomic_init(&crew.best, count);
    atomic_init(&crew.status, OW_OK);
    OwStatus status = OW_OK;
    int ready = 0, started = 0;
    for (; ready < wanted && status == OW_OK; ready++) {
        hands[ready] = (OwHand){.crew = &crew, .is_first = ready == 0};
        status = ow_size_worker_create(job, &hands[ready].worker);
    }
    if (status == OW_OK) {
        for (int i = 1; i < wanted; i++) {
            if (pthread_create(&threads[started], NULL, work, &hands[i]) == 0) {
                started++; // with fewer threads it only takes longer
            }
        }
        (void)work(&hands[0]);
        for (int i = 0; i < started; i++) {
            (void)pthread_join(threads[i], NULL);
        }
        status = (OwStatus)atomic_load(&crew.status);
    }
    for (int i = 0; i < ready; i++) {
        ow_size_worker_destroy(&hands[i].worker);
    }
    const long first = atomic_load(&crew.best);
    *best = first < count ? first : -1;
    return status;
}

static OwStatus run_pass(OwSizeJob *job, OwPass pass, long *best) {
    return run_list(job, pass, job->order, job->combinations, best);
}

typedef struct OwRank {
    double key;
    int combination;
} OwRank;

static int by_key(const void *a, const void *b) {
    const OwRank *x = a, *y = b;
    if (!is_same_key(x->key, y->key)) {
        return x->key < y->key ? -1 : 1;
    }
    return x->combination < y->combination ? -1 : x->combination > y->combination;
}

static OwStatus sort(OwSizeJob *job) {
    OwRank *ranks = malloc((size_t)job->combinations * sizeof *ranks);
    if (ranks == NULL) {
        return OW_ERROR_MEMORY;
    }
    for (long i = 0; i < job->combinations; i++) {
        ranks[i] = (OwRank){job->key[i], (int)i};
    }
    qsort(ranks, (size_t)job->combinations, sizeof *ranks, by_key);
    for (long i = 0; i < job->combinations; i++) {
        job->order[i] = ranks[i].combination;
    }
    free(ranks);
    return OW_OK;
}

/// Of those that meet all at the same cost, the soonest ready, then the least current.
static long among_equals(const OwSizeJob *job, long first) {
    long best = first;
    for (long place = first + 1; place < job->combinations; place++) {
        if (!is_same_key(job->key[job->order[place]], job->key[job->order[first]])) {
            break;
        }
        const OwTried *t = &job->tried[job->order[place]], *b = &job->tried[job->order[best]];
        if (t->full != OW_FULL_MEETS) {
            continue;
        }
        const double ready = t->ready_s < 0.0 ? 1e9 : t->ready_s,
                     best_ready = b->ready_s < 0.0 ? 1e9 : b->ready_s;
        if (ready < best_ready - 1e-6 || (ready < best_ready + 1e-6 && t->peak_a < b->peak_a - 1e-9)) {
            best = place;
        }
    }
    return best;
}

OwStatus ow_size_search(OwSizeJob *job, long *found, long *looked) {
    long first = -1;
    *found = -1;
    OwStatus status = sort(job);
    if (status == OW_OK) {
        status = run_pass(job, job->settings->is_exhaustive ? OW_PASS_ALL : OW_PASS_SEARCH, &first);
    }
    if (status == OW_OK && first >= 0) {
        *found = job->order[among_equals(job, first)];
    }
    *looked = first >= 0 && !job->settings->is_exhaustive ? first + 1 : job->combinations;
    return status;
}

/// Full looks in order of the short look, which no full look can beat by more than its error, until one that
/// keeps what must hold is nearer than all that are left.
static OwStatus look_for_closest(OwSizeJob *job) {
    OwRank *ranks = malloc((size_t)job->combinations * sizeof *ranks);
    if (ranks == NULL) {
        return OW_ERROR_MEMORY;
    }
    double nearest = -INFINITY;
    long count = 0;
    for (long i = 0; i < job->combinations; i++) {
        const OwTried *t = &job->tried[i];
        if (t->full == OW_FULL_NONE) {
            ranks[count++] = (OwRank){-t->short_slack, (int)i};
        } else if (t->keeps) {
            nearest = fmax(nearest, t->goal_slack);
        }
    }
    qsort(ranks, (size_t)count, sizeof *ranks, by_key);
    OwStatus status = OW_OK;
    for (long from = 0; from < count && status == OW_OK && nearest < -ranks[from].key + SHORT_ERROR;
         from += AHEAD) {
        int list[AHEAD];
        long none = -1;
        const long size = count - from < AHEAD ? count - from : AHEAD;
        for (long i = 0; i < size; i++) {
            list[i] = ranks[from + i].combination;
        }
        status = run_list(job, OW_PASS_ALL, list, size, &none);
        for (long i = 0; i < size; i++) {
            const OwTried *t = &job->tried[list[i]];
            nearest = t->keeps ? fmax(nearest, t->goal_slack) : nearest;
        }
    }
    free(ranks);
    return status;
}

OwStatus ow_size_closest(OwSizeJob *job, long *closest, long *barred) {
    const OwStatus status = look_for_closest(job);
    long best = -1;
    // Those first that keep what must hold, by their targets; if none does, by the least breach of all.
    for (int pass = 0; pass < 2 && best < 0; pass++) {
        double most = 0.0;
        for (long place = 0; place < job->combinations; place++) {
            const OwTried *t = &job->tried[job->order[place]];
            const double slack = pass == 0 ? t->goal_slack : t->full_slack;
            // In order of cost: a dearer one must be nearer by more than the eye sees.
            if (t->full != OW_FULL_NONE && (pass == 1 || t->keeps) && (best < 0 || slack > most + 1e-3)) {
                best = job->order[place];
                most = slack;
            }
        }
    }
    *closest = best >= 0 ? best : job->order[0];
    // What keeps a nearer one out: the cheapest that would meet the targets, else the nearest.
    const OwTried *c = &job->tried[*closest];
    *barred = -1;
    for (long place = 0; place < job->combinations && c->full != OW_FULL_UNSAFE; place++) {
        const OwTried *t = &job->tried[job->order[place]];
        const double mark = *barred >= 0 ? job->tried[*barred].goal_slack : c->goal_slack;
        const bool is_out = t->full == OW_FULL_UNSAFE || (c->keeps && t->full != OW_FULL_NONE && !t->keeps);
        if (is_out && t->goal_slack > mark + 1e-3 && (*barred < 0 || mark < 0.0)) {
            *barred = job->order[place];
        }
    }
    return status;
}

static int by_cost_ready_current(const void *a, const void *b) {
    const OwSizePoint *x = a, *y = b;
    if (!is_same_key(x->cost, y->cost)) {
        return x->cost < y->cost ? -1 : 1;
    }
    if (fabs(x->ready_s - y->ready_s) > 1e-9) {
        return x->ready_s < y->ready_s ? -1 : 1;
    }
    return x->peak_a < y->peak_a ? -1 : x->peak_a > y->peak_a;
}

static bool is_beaten(const OwSizePoint *point, const OwSizePoint *front, int count) {
    for (int i = 0; i < count; i++) {
        if (front[i].cost <= point->cost + 1e-9 && front[i].ready_s <= point->ready_s + 1e-9 &&
            front[i].peak_a <= point->peak_a + 1e-9) {
            return true;
        }
    }
    return false;
}

/// Full looks at the next few that may come to stand on the front, by all threads at once.
static OwStatus look_ahead(OwSizeJob *job, const OwSizePoint *all, int from, int known,
                           const OwSizePoint *front, int count) {
    int list[AHEAD], size = 0;
    long none = -1;
    for (int i = from; i < known && size < AHEAD; i++) {
        const long combination = ow_size_combination(job, all[i].option);
        if (job->tried[combination].full == OW_FULL_NONE && !is_beaten(&all[i], front, count)) {
            list[size++] = (int)combination;
        }
    }
    return run_list(job, OW_PASS_ALL, list, size, &none);
}

OwStatus ow_size_front(OwSizeJob *job, OwArena *arena, OwSizePoint **points, int *count) {
    long none = -1;
    *count = 0;
    OwStatus status = run_pass(job, OW_PASS_SHORT, &none);
    OwSizePoint *all = status == OW_OK ? calloc((size_t)job->combinations, sizeof *all) : NULL;
    OwSizePoint *front = all != NULL ? ow_arena_take(arena, (size_t)job->combinations, sizeof *front) : NULL;
    if (status == OW_OK && front == NULL) {
        status = OW_ERROR_MEMORY;
    }
    int known = 0;
    for (long i = 0; status == OW_OK && i < job->combinations; i++) {
        const OwTried *t = &job->tried[i];
        if (t->ready_s >= 0.0) {
            OwSizePoint *p = &all[known++];
            *p = (OwSizePoint){.ready_s = t->ready_s, .peak_a = t->peak_a, .cost = job->cost[i]};
            ow_size_options(job, i, p->option);
        }
    }
    if (status == OW_OK) {
        // Sorted so that no later point can beat an earlier one; each is looked at in full before it may
        // stand.
        qsort(all, (size_t)known, sizeof *all, by_cost_ready_current);
    }
    for (int i = 0; i < known && status == OW_OK; i++) {
        if (is_beaten(&all[i], front, *count)) {
            continue;
        }
        const OwTried *t = &job->tried[ow_size_combination(job, all[i].option)];
        if (t->full == OW_FULL_NONE) {
            status = look_ahead(job, all, i, known, front, *count);
        }
        if (status == OW_OK && t->full != OW_FULL_UNSAFE && t->trade_slack >= 0.0) {
            front[*count] = all[i];
            front[(*count)++].is_met = t->full == OW_FULL_MEETS;
        }
    }
    free(all);
    *points = front;
    return status;
}
