// SPDX-License-Identifier: GPL-3.0-or-later
// Random rigs: every legal rig ends in a finite answer or a clear statement, keeps its heat and volume, and
// does so in bounded work.  Usage: test_random [count [first seed [threads]]]; a count of 1 also prints the
// rig.
#include "random_rig.h"

#include "oilwright/flow.h"
#include "oilwright/judge.h"

#include <setjmp.h>
#include <stdarg.h>
#include <cmocka.h>

#include <math.h>
#include <pthread.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

enum { MOST_REPORTS = 2000, TROUBLE_SIZE = 400 };
/// Steps after which the time loop says so itself (src/morning/morning.c), with room for the last one.
#define MOST_STEPS 400001
/// One rig may not hold a machine longer than this, seconds. A plain morning takes some milliseconds;
/// sanitizers cost tenfold.
#define MOST_SECONDS 120.0

enum { HARD_STEPS = 7 };
static const long hard_edge[HARD_STEPS - 1] = {8, 50, 108, 200, 500, 1000};

typedef struct Tally {
    long rigs, started, gave_up, dry, refused, unsolved, warm, starved, airy, samples;
    double energy_gap, volume_gap, slowest_s;
    long hard[HARD_STEPS]; ///< mornings by the most iterations that one solution of the flows took
    uint64_t energy_seed, volume_seed, slowest_seed;
    long failed;
} Tally;

typedef struct Worker {
    pthread_t thread;
    uint64_t first, step;
    long count;
    Tally tally;
} Worker;

static double now_s(void) {
    struct timespec t;
    clock_gettime(CLOCK_MONOTONIC, &t);
    return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

/// The first thing wrong is kept, with where it was.
static void wrong(char *trouble, const char *format, ...) __attribute__((format(printf, 2, 3)));
static void wrong(char *trouble, const char *format, ...) {
    if (trouble[0] == '\0') {
        va_list arguments;
        va_start(arguments, format);
        vsnprintf(trouble, TROUBLE_SIZE, format, arguments);
        va_end(arguments);
    }
}

static void check_part(const OwRecord *record, int s, int p, double coldest_k, char *trouble) {
    const OwPartSample *x = &record->parts[(size_t)s * (size_t)record->part_count + (size_t)p];
    const double value[] = {x->in_k,          x->out_k,     x->oil_max_k, x->wall_k,    x->wall_max_k,
                            x->element_max_k, x->in_pa,     x->out_pa,    x->flow_m3_s, x->drop_pa,
                            x->heat_w,        x->coolant_w, x->gain_w,    x->share};
    for (size_t i = 0; i < sizeof value / sizeof value[0]; i++) {
        if (!isfinite(value[i])) {
            wrong(trouble, "%s: number %zu at %.3f s is %g", record->rig->parts[p].name, i,
                  record->samples[s].time_s, value[i]);
        }
    }
    // Nothing cools but the air and the start: second law. Half a kelvin of room for the extrapolation in
    // time.
    const double least_k = fmin(fmin(x->in_k, x->out_k), fmin(x->wall_k, x->oil_max_k));
    if (least_k < coldest_k - 0.5) {
        wrong(trouble, "%s: %.3f K at %.3f s, but nothing is colder than %.3f K", record->rig->parts[p].name,
              least_k, record->samples[s].time_s, coldest_k);
    }
    if (!(x->share >= 0.0 && x->share <= 1.0)) {
        wrong(trouble, "%s: share %g of the second fluid at %.3f s", record->rig->parts[p].name, x->share,
              record->samples[s].time_s);
    }
}

static void check_sample(const OwRecord *record, int s, double coldest_k, char *trouble) {
    const OwSample *x = &record->samples[s];
    const double value[] = {x->time_s,
                            x->speed_m_s,
                            x->engine_rad_s,
                            x->coolant_k,
                            x->block_k,
                            x->bay_k,
                            x->fuel_request_m3_s,
                            x->fuel_burned_m3_s,
                            x->full_request_m3_s,
                            x->full_burned_m3_s,
                            x->inlet_k,
                            x->inlet_pa,
                            x->inlet_kinematic_m2_s,
                            x->inlet_dynamic_pa_s,
                            x->inlet_fill,
                            x->inlet_share,
                            x->gallery_k,
                            x->gallery_pa,
                            x->lowest_pa,
                            x->heaters_w,
                            x->pumps_w,
                            x->charge_c,
                            x->volts_v};
    for (size_t i = 0; i < sizeof value / sizeof value[0]; i++) {
        if (!isfinite(value[i])) {
            wrong(trouble, "number %zu of the sample at %.3f s is %g", i, x->time_s, value[i]);
        }
    }
    if (s > 0 && x->time_s < record->samples[s - 1].time_s) {
        wrong(trouble, "time runs back at %.3f s", x->time_s);
    }
    if (!(x->inlet_fill >= 0.0 && x->inlet_fill <= 1.0)) {
        wrong(trouble, "fill %g at %.3f s", x->inlet_fill, x->time_s);
    }
    if (!(x->inlet_kinematic_m2_s > 0.0) || !(x->inlet_dynamic_pa_s > 0.0)) {
        wrong(trouble, "viscosity %g at %.3f s", x->inlet_kinematic_m2_s, x->time_s);
    }
    // The engine cannot burn more than it asks for, and never gives fuel back.
    const double room = 1e-9 * x->fuel_request_m3_s + 1e-14;
    if (!(x->fuel_burned_m3_s <= x->fuel_request_m3_s + room && x->fuel_burned_m3_s >= -room)) {
        wrong(trouble, "burned %g of %g m3/s at %.3f s", x->fuel_burned_m3_s, x->fuel_request_m3_s,
              x->time_s);
    }
    if (!(x->full_burned_m3_s <= x->full_request_m3_s * (1.0 + 1e-9) + 1e-14 &&
          x->full_burned_m3_s >= -1e-14)) {
        wrong(trouble, "full load burned %g of %g m3/s at %.3f s", x->full_burned_m3_s, x->full_request_m3_s,
              x->time_s);
    }
    if (fmin(x->coolant_k, x->block_k) < coldest_k - 0.5) {
        wrong(trouble, "engine at %.3f K at %.3f s", fmin(x->coolant_k, x->block_k), x->time_s);
    }
    // Charge is drawn, never given; the time loop keeps it to some 1e-4 of the battery.
    if (s > 0 && x->charge_c < record->samples[s - 1].charge_c - 2e-4 * record->rig->electrics.battery_c) {
        wrong(trouble, "the battery is charged at rest: %.9g C after %.9g C at %.3f s", x->charge_c,
              record->samples[s - 1].charge_c, x->time_s);
    }
    for (int p = 0; p < record->part_count; p++) {
        check_part(record, s, p, coldest_k, trouble);
    }
}

static void check_audit(const OwRecord *record, uint64_t seed, Tally *tally, char *trouble) {
    const OwAudit *audit = &record->audit;
    const double turned_over = fabs(audit->heat_in_j) + fabs(audit->loss_j) + fabs(audit->burned_j);
    if (!isfinite(audit->energy_gap) || !isfinite(audit->volume_gap)) {
        wrong(trouble, "the audit is not finite");
        return;
    }
    // The gap is relative to the heat turned over. Where almost none is (all at ambient, key only), rounding
    // of the heat stored, up to some 1e9 J above 0 degC in the largest tank, is all there is: 10 J are
    // forgiven.
    const double gap_j = fabs(audit->storage_j - audit->heat_in_j + audit->loss_j + audit->burned_j);
    if (audit->energy_gap > 1e-6 && gap_j > 10.0) {
        wrong(trouble, "energy gap %.3g (%.3g J of %.3g J)", audit->energy_gap, gap_j, turned_over);
    }
    // The volume of lines is constant, so tanks lose exactly what is burned, as far as flows balance: to
    // 1e-12 m3/s or 1e-10 of the largest flow at every node (oilwright/flow.h), and there are at most four
    // nodes a part.
    double largest_m3_s = 0.0;
    for (int i = 0; i < record->sample_count * record->part_count; i++) {
        largest_m3_s = fmax(largest_m3_s, fabs(record->parts[i].flow_m3_s));
    }
    const double gap_m3 = fabs(audit->tank_change_m3 + audit->burned_m3);
    const double slack_m3 = 4.0 * record->part_count * record->end_s * fmax(1e-12, 1e-10 * largest_m3_s);
    if (audit->volume_gap > 1e-6 && gap_m3 > slack_m3) {
        wrong(trouble, "volume gap %.3g (%.3g m3 of %.3g m3)", audit->volume_gap, gap_m3, audit->burned_m3);
    }
    if (gap_j > 10.0 && audit->energy_gap > tally->energy_gap) {
        tally->energy_gap = audit->energy_gap;
        tally->energy_seed = seed;
    }
    if (gap_m3 > slack_m3 && audit->volume_gap > tally->volume_gap) {
        tally->volume_gap = audit->volume_gap;
        tally->volume_seed = seed;
    }
}

static void check_events(const OwRecord *record, char *trouble) {
    for (int i = 0; i < record->event_count; i++) {
        const OwEvent *event = &record->events[i];
        if (!isfinite(event->time_s) || !isfinite(event->value) ||
            (i > 0 && event->time_s < record->events[i - 1].time_s)) {
            wrong(trouble, "event %d (%s) at %g s with %g", i, ow_event_text(event->kind), event->time_s,
                  event->value);
        }
        if (event->part >= record->part_count) {
            wrong(trouble, "event %d names part %d", i, event->part);
        }
    }
    if (record->sample_count < 1 || record->event_count < 1 || record->events[0].kind != OW_EVENT_KEY_ON) {
        wrong(trouble, "nothing is recorded");
    }
    if (record->stats.steps > MOST_STEPS) {
        wrong(trouble, "%ld steps", record->stats.steps);
    }
}

/// Every record gives a judgement with finite numbers and a sentence each.
static void check_judgement(const OwRecord *record, char *trouble) {
    OwJudgement *judgement = NULL;
    if (ow_judge_create(record, OW_DISPLAY_METRIC, &judgement) != OW_OK) {
        wrong(trouble, "no judgement");
        return;
    }
    if (judgement->answer_count < 1 || judgement->headline[0] == '\0') {
        wrong(trouble, "an empty judgement");
    }
    for (int i = 0; i < judgement->answer_count; i++) {
        const OwAnswer *answer = &judgement->answers[i];
        if (!isfinite(answer->value) || !isfinite(answer->limit) || !isfinite(answer->margin) ||
            !isfinite(answer->tightness) || answer->text[0] == '\0') {
            wrong(trouble, "answer \"%s\": value %g limit %g margin %g tightness %g, \"%s\"",
                  ow_judge_kind_key(answer->kind), answer->value, answer->limit, answer->margin,
                  answer->tightness, answer->text);
        }
        if (ow_judge_fails(answer->grade) && answer->mend[0] == '\0') {
            wrong(trouble, "answer \"%s\" fails and names no mend: \"%s\"", ow_judge_kind_key(answer->kind),
                  answer->text);
        }
    }
    ow_judge_destroy(&judgement);
}

static void check_record(const OwRecord *record, OwStatus status, double coldest_k, uint64_t seed,
                         Tally *tally, char *trouble) {
    for (int s = 0; s < record->sample_count && trouble[0] == '\0'; s++) {
        check_sample(record, s, coldest_k, trouble);
    }
    check_events(record, trouble);
    if (status == OW_OK) {
        check_audit(record, seed, tally, trouble);
    } else if (status != OW_ERROR_NO_SOLUTION || record->trouble[0] == '\0') {
        wrong(trouble, "ended with \"%s\" and no word of why", ow_status_text(status));
    } else {
        // Said, but it is no physics: the solvers are meant to manage every legal rig.
        tally->unsolved++;
        wrong(trouble, "no solution: %s", record->trouble);
    }
    check_judgement(record, trouble);
    tally->samples += record->sample_count;
    tally->started += record->has_started;
    tally->warm += record->ready_s >= 0.0;
    bool is_airy = false, is_starved = false;
    for (int i = 0; i < record->event_count; i++) {
        tally->gave_up += record->events[i].kind == OW_EVENT_GAVE_UP;
        tally->dry += record->events[i].kind == OW_EVENT_TANK_EMPTY;
        is_airy |= record->events[i].kind == OW_EVENT_AIR;
        is_starved |= record->events[i].kind == OW_EVENT_STARVED;
    }
    tally->airy += is_airy;
    tally->starved += is_starved;
}

static bool keep_on(void *context, double share) {
    (void)share;
    return now_s() - *(const double *)context < MOST_SECONDS;
}

static void report_faults(const OwFaults *faults, char *trouble, const char *what) {
    char text[300] = "";
    if (faults->count > 0) {
        (void)ow_fault_format(&faults->items[0], text, sizeof text);
    }
    wrong(trouble, "%s: %s", what, text);
}

/// One rig from its seed to its judgement; what is wrong goes into `trouble`.
static void one_rig(uint64_t seed, Tally *tally, char *trouble, bool is_shown) {
    RandomSource source = random_source(seed);
    const bool is_whole = random_once_in(&source, 25); // a whole morning, others are cut short
    OwRig *rig = NULL;
    OwPlan *plan = NULL;
    OwRecord *record = NULL;
    OwFaults faults = {0};
    double began_s = now_s();
    tally->rigs++;
    if (random_rig(&source, is_whole, &rig) != OW_OK) {
        wrong(trouble, "out of memory");
        return;
    }
    if (is_shown) {
        random_rig_print(rig, stdout);
    }
    OwMorningSettings settings = ow_morning_default();
    settings.until_s = is_whole ? 0.0 : random_log(&source, 5.0, 400.0);
    settings.soak_k =
        random_once_in(&source, 10) ? OW_ZERO_CELSIUS_K + random_between(&source, -30.0, 90.0) : 0.0;
    settings.has_full_load = random_below(&source, 3) != 0;
    settings.max_samples = random_once_in(&source, 20) ? 64 : 512;
    settings.progress = keep_on;
    settings.context = &began_s;
    const double soak_k = settings.soak_k > 0.0 ? settings.soak_k : rig->climate.ambient_k;
    OwStatus status = ow_rig_check(rig, &faults);
    if (status != OW_OK) {
        report_faults(&faults, trouble, "the generator made an illegal rig");
        goto done;
    }
    ow_faults_clear(&faults);
    status = ow_plan_create(rig, &plan, &faults);
    if (status != OW_OK) {
        // Wiring that no board carries is refused with its reason; nothing else may be.
        tally->refused++;
        if (faults.errors == 0 || rig->electric_spec == NULL) {
            report_faults(&faults, trouble, "refused");
        }
        goto done;
    }
    status = ow_morning_run(plan, &settings, &record, &faults);
    if (record == NULL) {
        wrong(trouble, "no record: %s", ow_status_text(status));
        goto done;
    }
    check_record(record, status, fmin(soak_k, rig->climate.ambient_k), seed, tally, trouble);
    int hard = 0;
    while (hard < HARD_STEPS - 1 && record->stats.most_flow_iterations > hard_edge[hard]) {
        hard++;
    }
    tally->hard[hard]++;
    const double took_s = now_s() - began_s;
    if (took_s > MOST_SECONDS) {
        wrong(trouble, "stopped after %.0f s at %.3g s of the morning, %ld steps", took_s, record->end_s,
              record->stats.steps);
    }
    if (took_s > tally->slowest_s) {
        tally->slowest_s = took_s;
        tally->slowest_seed = seed;
    }
    if (is_shown) {
        for (int i = 0; i < record->event_count && i < 40; i++) {
            printf("%10.3f s %s, part %d element %d, %g\n", record->events[i].time_s,
                   ow_event_text(record->events[i].kind), record->events[i].part, record->events[i].element,
                   record->events[i].value);
        }
        printf("%ld steps, %ld rejected, %ld event retries, %d events, shortest %g s, end %.3f s, gap %.3g, "
               "%.3f s of work\n",
               record->stats.steps, record->stats.rejected, record->stats.event_retries, record->event_count,
               record->stats.shortest_step_s, record->end_s, record->audit.energy_gap, took_s);
    }
done:
    ow_record_destroy(&record);
    ow_plan_destroy(&plan);
    ow_rig_destroy(&rig);
    ow_faults_clear(&faults);
}

static void *work(void *context) {
    Worker *worker = context;
    for (long i = 0; i < worker->count; i++) {
        char trouble[TROUBLE_SIZE] = "";
        const uint64_t seed = worker->first + (uint64_t)i * worker->step;
        one_rig(seed, &worker->tally, trouble, worker->count == 1 && worker->step == 1);
        if (trouble[0] != '\0' && ++worker->tally.failed <= MOST_REPORTS) {
            fprintf(stderr, "rig %llu: %s\n", (unsigned long long)seed, trouble);
        }
    }
    return NULL;
}

static void add(Tally *sum, const Tally *part) {
    sum->rigs += part->rigs;
    sum->started += part->started;
    sum->gave_up += part->gave_up;
    sum->dry += part->dry;
    sum->refused += part->refused;
    sum->unsolved += part->unsolved;
    sum->warm += part->warm;
    sum->starved += part->starved;
    sum->airy += part->airy;
    sum->samples += part->samples;
    sum->failed += part->failed;
    if (part->energy_gap > sum->energy_gap) {
        sum->energy_gap = part->energy_gap;
        sum->energy_seed = part->energy_seed;
    }
    if (part->volume_gap > sum->volume_gap) {
        sum->volume_gap = part->volume_gap;
        sum->volume_seed = part->volume_seed;
    }
    for (int i = 0; i < HARD_STEPS; i++) {
        sum->hard[i] += part->hard[i];
    }
    if (part->slowest_s > sum->slowest_s) {
        sum->slowest_s = part->slowest_s;
        sum->slowest_seed = part->slowest_seed;
    }
}

static long wanted_count = 20000;
static uint64_t first_seed = 1;
static int wanted_threads = 2;

static void every_rig_ends_in_an_answer(void **state) {
    (void)state;
    enum { MOST_THREADS = 64 };
    static Worker workers[MOST_THREADS];
    const int threads = wanted_threads < 1 || wanted_count == 1 ? 1
                        : wanted_threads > MOST_THREADS         ? MOST_THREADS
                                                                : wanted_threads;
    const double began_s = now_s();
    Tally sum = {0};
    for (int t = 0; t < threads; t++) {
        workers[t] = (Worker){.first = first_seed + (uint64_t)t,
                              .step = (uint64_t)threads,
                              .count = (wanted_count - t + threads - 1) / threads};
        assert_int_equal(pthread_create(&workers[t].thread, NULL, work, &workers[t]), 0);
    }
    for (int t = 0; t < threads; t++) {
        assert_int_equal(pthread_join(workers[t].thread, NULL), 0);
        add(&sum, &workers[t].tally);
    }
    printf("%ld rigs, %ld samples, %.1f s: %ld started, %ld gave up, %ld ran dry, %ld had air, %ld starved, "
           "%ld were ready, "
           "%ld refused, %ld unsolved\n",
           sum.rigs, sum.samples, now_s() - began_s, sum.started, sum.gave_up, sum.dry, sum.airy, sum.starved,
           sum.warm, sum.refused, sum.unsolved);
    printf("largest energy gap %.2g (rig %llu), volume gap %.2g (rig %llu), slowest %.2f s (rig %llu)\n",
           sum.energy_gap, (unsigned long long)sum.energy_seed, sum.volume_gap,
           (unsigned long long)sum.volume_seed, sum.slowest_s, (unsigned long long)sum.slowest_seed);
    printf("most iterations of one flow solution:");
    for (int i = 0; i < HARD_STEPS; i++) {
        if (i < HARD_STEPS - 1) {
            printf(" to %ld: %ld,", hard_edge[i], sum.hard[i]);
        } else {
            printf(" beyond: %ld\n", sum.hard[i]);
        }
    }
    assert_int_equal(sum.failed, 0);
    // One solution in a thousand mornings may be a hard one.
    assert_true(sum.hard[HARD_STEPS - 1] <= 1 + sum.rigs / 1000);
    if (sum.rigs >= 1000) {
        // The rigs are worth something only while all kinds of mornings are among them.
        assert_true(sum.started > sum.rigs / 10);
        assert_true(sum.gave_up > sum.rigs / 100);
        assert_true(sum.airy > sum.rigs / 50);
        assert_true(sum.starved > sum.rigs / 50);
        assert_true(sum.dry > 0);
        assert_true(sum.refused < sum.rigs / 50);
    }
}

int main(int argc, char **argv) {
    const char *fewer = getenv("OW_RANDOM_RIGS"); // runs under sanitizers take fewer
    if (fewer != NULL) {
        wanted_count = strtol(fewer, NULL, 10);
    }
    if (argc > 1) {
        wanted_count = strtol(argv[1], NULL, 10);
    }
    if (argc > 2) {
        first_seed = strtoull(argv[2], NULL, 10);
    }
    if (argc > 3) {
        wanted_threads = (int)strtol(argv[3], NULL, 10);
    }
    const struct CMUnitTest tests[] = {cmocka_unit_test(every_rig_ends_in_an_answer)};
    return cmocka_run_group_tests_name("random rigs", tests, NULL, NULL);
}
