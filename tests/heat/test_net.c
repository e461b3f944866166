// SPDX-License-Identifier: GPL-3.0-or-later
// The network of heat: exact solutions, conservation, and the sub-step against the slope on random networks.
#include "support.h"

#include "heat/net.h"

#include <stdlib.h>
#include <string.h>

enum { MOST_LUMPS = 24, MOST_TIES = 40, MOST_STREAMS = 40, MOST_CHAINS = 8 };

typedef struct Case {
    OwHeatTie ties[MOST_TIES];
    OwHeatStream streams[MOST_STREAMS];
    OwHeatChain chains[MOST_CHAINS];
    int lumps, tie_count, stream_count, chain_count, states;
    OwArena *arena;
    OwHeatNet *net;
    OwHeatRates rates;
    double *y, *y1, *slope;
} Case;

static int add_chain(Case *c, int from, int to, int cells, double liquid_j_k, double wall_j_k, int warmer) {
    c->chains[c->chain_count] = (OwHeatChain){.from = from,
                                              .to = to,
                                              .cells = cells,
                                              .liquid_j_k = liquid_j_k,
                                              .wall_j_k = wall_j_k,
                                              .warmer = warmer};
    return c->chain_count++;
}

static void build(Case *c) {
    int at = c->lumps;
    for (int i = 0; i < c->chain_count; i++) {
        c->chains[i].first = at;
        at += 2 * c->chains[i].cells;
    }
    c->states = at;
    c->arena = ow_arena_create();
    assert_int_equal(ow_heat_net_create(c->lumps, c->ties, c->tie_count, c->streams, c->stream_count,
                                        c->chains, c->chain_count, c->arena, &c->net),
                     OW_OK);
    assert_int_equal(c->net->state_count, at);
    assert_int_equal(ow_heat_rates_create(c->net, c->arena, &c->rates), OW_OK);
    c->y = ow_arena_take(c->arena, (size_t)at, sizeof(double));
    c->y1 = ow_arena_take(c->arena, (size_t)at, sizeof(double));
    c->slope = ow_arena_take(c->arena, (size_t)at, sizeof(double));
}

static void set_all(Case *c, double value) {
    for (int i = 0; i < c->states; i++) {
        c->y[i] = value;
    }
}

static OwHeatSums step(Case *c, double step_s) {
    OwHeatSums sums;
    assert_true(ow_heat_net_step(c->net, &c->rates, step_s, c->y, c->y1, &sums));
    double *swap = c->y;
    c->y = c->y1;
    c->y1 = swap;
    return sums;
}

/// Runs to a time in equal steps from the state given and returns one state.
static double run(Case *c, const double *start, double time_s, int steps, int wanted) {
    memcpy(c->y, start, (size_t)c->states * sizeof(double));
    for (int i = 0; i < steps; i++) {
        (void)step(c, time_s / steps);
    }
    return c->y[wanted];
}

/// The same with the first two error terms taken out (steps n, 2n, 4n).
static double run_sharp(Case *c, const double *start, double time_s, int steps, int wanted) {
    const double t1 = run(c, start, time_s, steps, wanted), t2 = run(c, start, time_s, 2 * steps, wanted),
                 t4 = run(c, start, time_s, 4 * steps, wanted);
    const double a = 2.0 * t2 - t1, b = 2.0 * t4 - t2;
    return (4.0 * b - a) / 3.0;
}

static void lump_decays(void **state) {
    (void)state;
    Case c = {.lumps = 1, .tie_count = 1, .ties = {{0, -1}}};
    build(&c);
    c.rates.capacity_j_k[0] = 450.0;
    c.rates.tie_w_k[0] = 1.5;
    c.rates.tie_boundary_k[0] = 268.15;
    c.rates.source_w[0] = 30.0;
    const double start[] = {293.15};
    // Heated and losing: T = Te + P/G + (T0 - Te - P/G) exp(-G t / C).
    const double end_k = 268.15 + 20.0 + (293.15 - 288.15) * exp(-1.5 * 400.0 / 450.0);
    assert_near(run_sharp(&c, start, 400.0, 200, 0), end_k, 1e-8);
    // One step of the implicit rule has its own exact value.
    assert_near(run(&c, start, 7.0, 1, 0), 288.15 + 5.0 / (1.0 + 7.0 * 1.5 / 450.0), 1e-12);
    ow_arena_destroy(&c.arena);
}

static void two_lumps(void **state) {
    (void)state;
    Case c = {.lumps = 2, .tie_count = 1, .ties = {{0, 1}}};
    build(&c);
    c.rates.capacity_j_k[0] = 300.0;
    c.rates.capacity_j_k[1] = 700.0;
    c.rates.tie_w_k[0] = 4.0;
    const double start[] = {350.0, 280.0};
    // The mean stays; the difference falls with G (1/C1 + 1/C2).
    const double mean_k = (300.0 * 350.0 + 700.0 * 280.0) / 1000.0;
    const double difference_k = 70.0 * exp(-4.0 * (1.0 / 300.0 + 1.0 / 700.0) * 60.0);
    assert_near(run_sharp(&c, start, 60.0, 300, 0), mean_k + 0.7 * difference_k, 1e-7);
    assert_near(run_sharp(&c, start, 60.0, 300, 1), mean_k - 0.3 * difference_k, 1e-7);
    ow_arena_destroy(&c.arena);
}

/// Steady pipe with loss, `cells` cells: outlet against the exponential of the pipe itself.
static double steady_pipe(int cells, bool is_forward, double *discrete_gap) {
    Case c = {.lumps = 2};
    (void)add_chain(&c, 0, 1, cells, 900.0 / cells, 1500.0 / cells, -1);
    build(&c);
    const double rate = 12.0, film = 30.0 / cells, loss = 10.0 / cells;
    c.rates.capacity_j_k[0] = c.rates.capacity_j_k[1] = 5.0;
    c.rates.chain_w_k[0] = is_forward ? rate : -rate;
    c.rates.film_w_k[0] = film;
    c.rates.loss_w_k[0] = loss;
    c.rates.around_k[0] = 260.0;
    set_all(&c, 300.0);
    const int inlet = is_forward ? 0 : 1;
    c.y[inlet] = 340.0;
    for (int i = 0; i < 60; i++) {
        (void)step(&c, 1e6);
    }
    const double through = film * loss / (film + loss);
    const double outlet_k = c.y[1 - inlet];
    assert_near(c.y[inlet], 340.0, 1e-9);
    *discrete_gap = fabs(outlet_k - (260.0 + 80.0 * pow(1.0 + through / rate, -cells)));
    // Wall between oil and air as its two conductances say.
    const int last = c.chains[0].first + (is_forward ? cells - 1 : 0);
    assert_near(c.y[last + cells], (film * c.y[last] + loss * 260.0) / (film + loss), 1e-9);
    ow_arena_destroy(&c.arena);
    return fabs(outlet_k - (260.0 + 80.0 * exp(-7.5 / rate)));
}

static void pipe_with_loss(void **state) {
    (void)state;
    double last = 0.0;
    for (int cells = 25; cells <= 400; cells *= 2) {
        double gap;
        const double error = steady_pipe(cells, true, &gap);
        assert_true(gap < 1e-9);
        if (last > 0.0) {
            assert_near(last / error, 2.0, 0.03); // first order in the cell length
        }
        last = error;
    }
    assert_true(last < 0.025);
    double gap;
    (void)steady_pipe(40, false, &gap);
    assert_true(gap < 1e-9);
}

/// Mean arrival time of a front at the end of a pipe, and the time by which half of it has come.
static void front(double wall_j_k, double film, int cells, double *mean_s, double *half_s) {
    Case c = {.lumps = 2};
    (void)add_chain(&c, 0, 1, cells, 800.0 / cells, wall_j_k / cells, -1);
    build(&c);
    c.rates.capacity_j_k[0] = 1.0;
    c.rates.capacity_j_k[1] = 1e-6; // the receiving end adds no delay of its own
    c.rates.chain_w_k[0] = 10.0;
    c.rates.film_w_k[0] = film / cells;
    set_all(&c, 0.0);
    c.y[0] = 1.0;
    *mean_s = *half_s = 0.0;
    const double h = 0.05;
    for (int i = 0; i < 40000; i++) {
        (void)step(&c, h);
        *mean_s += h * (1.0 - c.y[1]);
        if (*half_s == 0.0 && c.y[1] >= 0.5) {
            *half_s = (i + 1) * h;
        }
    }
    ow_arena_destroy(&c.arena);
}

static void front_delay(void **state) {
    (void)state;
    double mean_s, half_s;
    // 800 J/K of oil at 10 W/K: 80 s. A dry wall does not delay.
    front(2000.0, 0.0, 64, &mean_s, &half_s);
    assert_near(mean_s, 80.0, 1e-4);
    assert_near(half_s, 80.0, 0.6);
    // A wall that follows the oil delays by 1 + Cw/Co; a lazy one delays the mean by the same, spread wider.
    front(800.0, 1e5, 64, &mean_s, &half_s);
    assert_near(mean_s, 160.0, 1e-4);
    assert_near(half_s, 160.0, 1.2);
    front(400.0, 40.0, 64, &mean_s, &half_s);
    assert_near(mean_s, 120.0, 1e-3);
}

/// Step response of n equal stirred volumes: 1 - exp(-x) sum x^k / k!, x = t / tau (Levenspiel 1999, ch. 14).
static double erlang(int n, double x) {
    double term = 1.0, sum = 0.0;
    for (int k = 0; k < n; k++) {
        sum += term;
        term *= x / (k + 1);
    }
    return 1.0 - exp(-x) * sum;
}

static void tanks_in_series(void **state) {
    (void)state;
    enum { N = 5 };
    Case lumps = {.lumps = N + 1, .stream_count = N};
    for (int i = 0; i < N; i++) {
        lumps.streams[i] = (OwHeatStream){i, i + 1};
    }
    build(&lumps);
    Case chain = {.lumps = 2};
    (void)add_chain(&chain, 0, 1, N, 50.0, 70.0, -1);
    build(&chain);
    for (int i = 0; i <= N; i++) {
        lumps.rates.capacity_j_k[i] = 50.0;
    }
    for (int i = 0; i < N; i++) {
        lumps.rates.stream_w_k[i] = 8.0;
    }
    chain.rates.capacity_j_k[0] = chain.rates.capacity_j_k[1] = 1.0;
    chain.rates.chain_w_k[0] = 8.0;
    double first[64] = {1.0}, second[64] = {1.0};
    for (double t = 5.0; t <= 60.0; t += 11.0) {
        const double wanted = erlang(N, t * 8.0 / 50.0);
        assert_near(run_sharp(&lumps, first, t, 200, N), wanted, 2e-6);
        assert_near(run_sharp(&chain, second, t, 200, chain.chains[0].first + N - 1), wanted, 2e-6);
    }
    ow_arena_destroy(&lumps.arena);
    ow_arena_destroy(&chain.arena);
}

/// Fresh oil q joins a recycle r before a heater; what leaves is Tin + P / (rho cp q), whatever the recycle.
static void recycle_heater(void **state) {
    (void)state;
    for (double recycle = 0.0; recycle < 200.0; recycle += 33.0) {
        enum { FRESH, TEE, HEATER, AFTER, OUT, LUMPS };
        Case c = {.lumps = LUMPS,
                  .stream_count = 4,
                  .streams = {{FRESH, TEE}, {TEE, HEATER}, {HEATER, AFTER}, {AFTER, OUT}}};
        (void)add_chain(&c, AFTER, TEE, 20, 30.0, 40.0, -1);
        build(&c);
        for (int i = 0; i < LUMPS; i++) {
            c.rates.capacity_j_k[i] = 20.0;
        }
        const double q = 7.0;
        c.rates.stream_w_k[0] = q;
        c.rates.stream_w_k[1] = c.rates.stream_w_k[2] = q + recycle;
        c.rates.stream_w_k[3] = q;
        c.rates.chain_w_k[0] = recycle;
        c.rates.film_w_k[0] = 2.0; // a wall that loses nothing
        c.rates.source_w[HEATER] = 350.0;
        set_all(&c, 268.15);
        for (int i = 0; i < 80; i++) {
            (void)step(&c, 1e5);
        }
        assert_near(c.y[OUT], 268.15 + 350.0 / q, 1e-8);
        assert_near(c.y[HEATER] - c.y[TEE], 350.0 / (q + recycle), 1e-8);
        ow_arena_destroy(&c.arena);
    }
}

/// A random network: closed rings of flow through lumps and chains (so that flow balances at every lump),
/// ties, boundaries, warmers, sources that fall as they warm.
static void random_case(OwTestRandom *random, Case *c) {
    memset(c, 0, sizeof *c);
    c->lumps = 3 + ow_test_random_int(random, MOST_LUMPS - 3);
    double flow[MOST_STREAMS], chain_flow[MOST_CHAINS];
    const int rings = ow_test_random_int(random, 4);
    for (int r = 0; r < rings; r++) {
        // A ring of distinct lumps, walked either way; rate 0 now and then.
        int around[MOST_LUMPS];
        for (int i = 0; i < c->lumps; i++) {
            around[i] = i;
        }
        for (int i = c->lumps - 1; i > 0; i--) {
            const int j = ow_test_random_int(random, i + 1);
            const int swap = around[i];
            around[i] = around[j];
            around[j] = swap;
        }
        const int length = 2 + ow_test_random_int(random, c->lumps - 1);
        const double rate =
            ow_test_random(random, 0.0, 1.0) < 0.15 ? 0.0 : pow(10.0, ow_test_random(random, -2.0, 2.0));
        for (int i = 0; i < length; i++) {
            int from = around[i], to = around[(i + 1) % length];
            double signed_rate = rate;
            if (ow_test_random(random, 0.0, 1.0) < 0.5) {
                const int swap = from;
                from = to;
                to = swap;
                signed_rate = -rate;
            }
            if (c->chain_count < MOST_CHAINS && ow_test_random(random, 0.0, 1.0) < 0.3) {
                chain_flow[c->chain_count] = signed_rate;
                const int warmer =
                    ow_test_random(random, 0.0, 1.0) < 0.4 ? ow_test_random_int(random, c->lumps) : -1;
                (void)add_chain(c, from, to, 1 + ow_test_random_int(random, 12),
                                ow_test_random(random, 2.0, 60.0), ow_test_random(random, 2.0, 60.0), warmer);
            } else if (c->stream_count < MOST_STREAMS) {
                flow[c->stream_count] = signed_rate;
                c->streams[c->stream_count++] = (OwHeatStream){from, to};
            } else {
                // Ring not closed: leave the flow out altogether.
                assert_true(c->stream_count <= MOST_STREAMS);
                fail_msg("too many streams");
            }
        }
        if (c->stream_count + MOST_LUMPS > MOST_STREAMS) {
            break;
        }
    }
    while (c->tie_count < MOST_TIES - 1 && ow_test_random(random, 0.0, 1.0) < 0.9) {
        const int a = ow_test_random_int(random, c->lumps);
        const int b = ow_test_random_int(random, c->lumps + 1) - 1;
        if (a != b) {
            c->ties[c->tie_count++] = (OwHeatTie){a, b};
        }
    }
    build(c);
    for (int i = 0; i < c->lumps; i++) {
        c->rates.capacity_j_k[i] = pow(10.0, ow_test_random(random, 0.5, 4.0));
        if (ow_test_random(random, 0.0, 1.0) < 0.4) {
            c->rates.source_w[i] = ow_test_random(random, -100.0, 300.0);
            c->rates.source_slope[i] = ow_test_random(random, 0.0, 3.0);
        }
    }
    for (int i = 0; i < c->tie_count; i++) {
        c->rates.tie_w_k[i] =
            ow_test_random(random, 0.0, 1.0) < 0.1 ? 0.0 : ow_test_random(random, 0.0, 20.0);
        c->rates.tie_boundary_k[i] = ow_test_random(random, 250.0, 300.0);
    }
    memcpy(c->rates.stream_w_k, flow, (size_t)c->stream_count * sizeof *flow);
    memcpy(c->rates.chain_w_k, chain_flow, (size_t)c->chain_count * sizeof *chain_flow);
    for (int i = 0; i < c->chain_count; i++) {
        c->rates.film_w_k[i] = ow_test_random(random, 0.0, 5.0);
        c->rates.loss_w_k[i] = ow_test_random(random, 0.0, 2.0);
        c->rates.around_k[i] = ow_test_random(random, 250.0, 300.0);
        c->rates.warmer_w_k[i] = c->chains[i].warmer >= 0 ? ow_test_random(random, 0.0, 3.0) : 0.0;
        c->rates.heat_w[i] = ow_test_random(random, 0.0, 1.0) < 0.5 ? ow_test_random(random, 0.0, 20.0) : 0.0;
    }
    for (int i = 0; i < c->states; i++) {
        c->y[i] = ow_test_random(random, 260.0, 380.0);
    }
}

static double capacity_of(const Case *c, int state) {
    if (state < c->lumps) {
        return c->rates.capacity_j_k[state];
    }
    for (int i = 0; i < c->chain_count; i++) {
        const int at = state - c->chains[i].first;
        if (at >= 0 && at < 2 * c->chains[i].cells) {
            return at < c->chains[i].cells ? c->chains[i].liquid_j_k : c->chains[i].wall_j_k;
        }
    }
    fail();
    return 0.0;
}

/// One sub-step of any length: what is stored is what came in less what was lost, to round-off.
static void energy_balance(void **state) {
    (void)state;
    OwTestRandom random = {12345};
    int with_chain = 0, with_warmer = 0;
    for (int trial = 0; trial < 400; trial++) {
        Case c;
        random_case(&random, &c);
        const double h = pow(10.0, ow_test_random(&random, -3.0, 3.0));
        OwHeatSums sums;
        assert_true(ow_heat_net_step(c.net, &c.rates, h, c.y, c.y1, &sums));
        double stored_j = 0.0, turned_j = h * (fabs(sums.source_w) + fabs(sums.loss_w)) + 1e-9, held_j = 0.0;
        for (int i = 0; i < c.states; i++) {
            const double change = capacity_of(&c, i) * (c.y1[i] - c.y[i]);
            assert_true(isfinite(c.y1[i]));
            stored_j += change;
            turned_j += fabs(change);
            held_j += capacity_of(&c, i) * c.y[i];
        }
        const double gap_j = fabs(stored_j - h * (sums.source_w - sums.loss_w));
        if (!(gap_j <= 1e-11 * turned_j + 1e-13 * held_j)) {
            fail_msg("trial %d: gap %.3g J of %.3g J turned over", trial, gap_j, turned_j);
        }
        with_chain += c.chain_count > 0;
        for (int i = 0; i < c.chain_count; i++) {
            with_warmer += c.chains[i].warmer >= 0;
        }
        ow_arena_destroy(&c.arena);
    }
    assert_true(with_chain > 100 && with_warmer > 50); // the random cases do cover what they are for
}

/// (y1 - y0) / h tends to the slope as h falls, error in proportion to h.
static void step_follows_slope(void **state) {
    (void)state;
    OwTestRandom random = {4242};
    for (int trial = 0; trial < 300; trial++) {
        Case c;
        random_case(&random, &c);
        ow_heat_net_slope(c.net, &c.rates, c.y, c.slope);
        double scale = 1e-6, error[3];
        for (int i = 0; i < c.states; i++) {
            scale = fmax(scale, fabs(c.slope[i]));
        }
        for (int k = 0; k < 3; k++) {
            const double h = 4e-4 / (1 << k);
            OwHeatSums sums;
            assert_true(ow_heat_net_step(c.net, &c.rates, h, c.y, c.y1, &sums));
            error[k] = 0.0;
            for (int i = 0; i < c.states; i++) {
                error[k] = fmax(error[k], fabs((c.y1[i] - c.y[i]) / h - c.slope[i]));
            }
        }
        assert_true(error[0] <= 0.05 * scale);
        // Halving, down to the round-off of the difference (1e-13 of 380 K over h).
        const double floor = 400.0 * 4e-16 / 1e-4 * 50.0;
        assert_near(error[1], 0.5 * error[0], 0.05 * error[0] + floor);
        assert_near(error[2], 0.25 * error[0], 0.05 * error[0] + floor);
        ow_arena_destroy(&c.arena);
    }
}

/// Nothing flows, nothing heats: every state stays; a state above all others never rises (M-matrix).
static void rest_and_bounds(void **state) {
    (void)state;
    OwTestRandom random = {99};
    for (int trial = 0; trial < 200; trial++) {
        Case c;
        random_case(&random, &c);
        memset(c.rates.source_w, 0, (size_t)c.lumps * sizeof(double));
        memset(c.rates.heat_w, 0, (size_t)c.chain_count * sizeof(double));
        for (int i = 0; i < c.chain_count; i++) {
            c.rates.warmer_w_k[i] = 0.0; // the warmer is explicit and has no such bound
        }
        const double h = pow(10.0, ow_test_random(&random, -2.0, 4.0));
        OwHeatSums sums;
        assert_true(ow_heat_net_step(c.net, &c.rates, h, c.y, c.y1, &sums));
        for (int i = 0; i < c.states; i++) {
            assert_true(c.y1[i] >= 250.0 - 1e-9 && c.y1[i] <= 380.0 + 1e-9);
        }
        ow_arena_destroy(&c.arena);
    }
}

static void passive_share(void **state) {
    (void)state;
    OwTestRandom random = {31337};
    for (int trial = 0; trial < 300; trial++) {
        Case c;
        random_case(&random, &c);
        bool *flows = calloc((size_t)c.lumps, sizeof *flows);
        for (int i = 0; i < c.stream_count; i++) {
            flows[c.streams[i].from] = flows[c.streams[i].to] = true;
        }
        for (int i = 0; i < c.chain_count; i++) {
            flows[c.chains[i].from] = flows[c.chains[i].to] = true;
        }
        for (int i = 0; i < c.states; i++) {
            c.y[i] = ow_test_random(&random, 0.0, 1.0);
        }
        const double h = pow(10.0, ow_test_random(&random, -3.0, 4.0));
        assert_true(ow_heat_net_mix(c.net, &c.rates, h, c.y, c.y1));
        double before = 0.0, after = 0.0;
        for (int i = 0; i < c.states; i++) {
            bool is_wall = false;
            for (int k = 0; k < c.chain_count; k++) {
                const int at = i - c.chains[k].first;
                is_wall |= at >= c.chains[k].cells && at < 2 * c.chains[k].cells;
            }
            assert_true(c.y1[i] >= -1e-12 && c.y1[i] <= 1.0 + 1e-12);
            if (is_wall || (i < c.lumps && !flows[i])) {
                assert_near(c.y1[i], c.y[i], 1e-15);
            } else {
                before += capacity_of(&c, i) * c.y[i];
                after += capacity_of(&c, i) * c.y1[i];
            }
        }
        assert_near(after, before, 1e-11 * before + 1e-12);
        // And the slope of it.
        ow_heat_net_mix_slope(c.net, &c.rates, c.y, c.slope);
        double scale = 1e-9, error[2];
        for (int k = 0; k < 2; k++) {
            const double small = 2e-5 / (1 + k);
            assert_true(ow_heat_net_mix(c.net, &c.rates, small, c.y, c.y1));
            error[k] = 0.0;
            for (int i = 0; i < c.states; i++) {
                error[k] = fmax(error[k], fabs((c.y1[i] - c.y[i]) / small - c.slope[i]));
                scale = fmax(scale, fabs(c.slope[i]));
            }
        }
        assert_true(error[0] <= 0.01 * scale + 1e-9);
        assert_near(error[1], 0.5 * error[0], 0.05 * error[0] + 1e-9);
        free(flows);
        ow_arena_destroy(&c.arena);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(lump_decays),     cmocka_unit_test(two_lumps),
        cmocka_unit_test(pipe_with_loss),  cmocka_unit_test(front_delay),
        cmocka_unit_test(tanks_in_series), cmocka_unit_test(recycle_heater),
        cmocka_unit_test(energy_balance),  cmocka_unit_test(step_follows_slope),
        cmocka_unit_test(rest_and_bounds), cmocka_unit_test(passive_share),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
