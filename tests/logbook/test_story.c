// SPDX-License-Identifier: GPL-3.0-or-later
// One small yard entered by hand: every view against sums worked out on paper, traces against the shares of
// stirred vessels, refusals with their words.
#include <setjmp.h>
#include <math.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>
#include <cmocka.h>

#include "support.h"

#define DAY INT64_C(86400)
#define T0 INT64_C(1750000000)

static void close_to(double a, double b, double tolerance) {
    if (!(fabs(a - b) <= tolerance)) {
        fail_msg("%.15g is not %.15g", a, b);
    }
}

typedef struct Story {
    char folder[256], path[512];
    OwLogbook *book;
    OwArena *arena;
    int64_t kitchen, canteen, raw, tank, van, batch, pickup_a, pickup_b, fill_1, fill_2;
} Story;

/// Kitchen gives 60 L, canteen 40 L into the raw drum; 50 L become batch b1 (30 from the kitchen, 20 from the
/// canteen); it loses 2 L and goes to the day tank (48 L); 24 L are filled, then 12 L.
static int set_up(void **state) {
    static Story s;
    memset(&s, 0, sizeof s);
    folder_make(s.folder);
    (void)path_in(s.path, s.folder, "yard.owlog");
    s.book = open_book(s.path, OW_LOG_CREATE);
    s.arena = ow_arena_create();
    assert_non_null(s.arena);
    s.kitchen = add_thing(s.book, OW_LOG_SOURCE, "Plum kitchen", T0);
    s.canteen = add_thing(s.book, OW_LOG_SOURCE, "Canteen", T0);
    s.raw = add_thing(s.book, OW_LOG_VESSEL, "raw drum", T0);
    s.tank = add_thing(s.book, OW_LOG_VESSEL, "day tank", T0);
    s.van = add_thing(s.book, OW_LOG_VEHICLE, "van", T0);
    OwLogEntry e = entry_of(OW_LOG_PICKUP, T0 + DAY);
    set_text(&e, "source", "Plum kitchen");
    set_text(&e, "into", "RAW drum"); // case does not matter
    set_si(&e, "volume", 0.060);
    set_si(&e, "distance", 12000);
    set_si(&e, "work", 1800);
    s.pickup_a = add(s.book, e);
    e = entry_of(OW_LOG_PICKUP, T0 + 2 * DAY);
    set_number(&e, "source", s.canteen);
    set_number(&e, "into", s.raw);
    set_si(&e, "volume", 0.040);
    set_number(&e, "price", 500);
    s.pickup_b = add(s.book, e);
    e = entry_of(OW_LOG_BATCH, T0 + 3 * DAY);
    set_text(&e, "name", "b1");
    set_number(&e, "from", s.raw);
    set_si(&e, "volume", 0.050);
    set_number(&e, "vessel", s.tank);
    s.batch = add(s.book, e);
    e = entry_of(OW_LOG_STEP, T0 + 4 * DAY);
    set_text(&e, "batch", "b1");
    set_number(&e, "what", OW_LOG_STEP_SETTLE);
    set_si(&e, "loss", 0.002);
    set_number(&e, "waste", OW_LOG_WASTE_SLUDGE);
    set_si(&e, "energy", 3.6e6);
    (void)add(s.book, e);
    e = entry_of(OW_LOG_TEST, T0 + 5 * DAY);
    set_text(&e, "of", "b1");
    set_si(&e, "acid", 0.0021);
    set_si(&e, "solids", 30e-6);
    set_number(&e, "decision", OW_LOG_DECISION_KEEP);
    (void)add(s.book, e);
    e = entry_of(OW_LOG_FILTER, T0 + 5 * DAY);
    set_text(&e, "vehicle", "van");
    set_text(&e, "filter", "final filter");
    set_number(&e, "reason", OW_LOG_REASON_FITTED);
    set_si(&e, "odometer", 1.0e8);
    set_si(&e, "after", 5000);
    set_number(&e, "price", 1250);
    (void)add(s.book, e);
    e = entry_of(OW_LOG_MOVE, T0 + 6 * DAY);
    set_text(&e, "from", "b1");
    set_text(&e, "to", "day tank");
    set_si(&e, "volume", 0.048);
    (void)add(s.book, e);
    e = entry_of(OW_LOG_FILL, T0 + 7 * DAY);
    set_text(&e, "vehicle", "van");
    set_text(&e, "from", "day tank");
    set_si(&e, "oil", 0.024);
    set_si(&e, "odometer", 1.001e8);
    s.fill_1 = add(s.book, e);
    e.at_s = T0 + 9 * DAY;
    e.id = 0;
    set_si(&e, "oil", 0.012);
    set_si(&e, "diesel", 0.003);
    set_number(&e, "price", 620);
    set_si(&e, "odometer", 1.0025e8);
    s.fill_2 = add(s.book, e);
    *state = &s;
    return 0;
}

static int tear_down(void **state) {
    Story *s = *state;
    check_sound(s->book);
    ow_arena_destroy(&s->arena);
    ow_logbook_close(&s->book);
    folder_drop(s->folder);
    return 0;
}

static void views_hold_the_sums(void **state) {
    Story *s = *state;
    OwFaults faults = {0};
    OwLogVesselRow *vessels = NULL;
    int count = 0;
    assert_int_equal(ow_logbook_vessels(s->book, s->arena, &vessels, &count, &faults), OW_OK);
    assert_int_equal(count, 2);
    assert_string_equal(vessels[0].name, "raw drum");
    assert_true(vessels[0].level_m3 == 0.050);
    assert_true(vessels[1].level_m3 == 0.012);
    assert_true(vessels[1].changed_s == T0 + 9 * DAY);
    assert_false(vessels[1].has_capacity);
    OwLogBatchRow *batches = NULL;
    assert_int_equal(ow_logbook_batches(s->book, false, 0, 0, s->arena, &batches, &count, &faults), OW_OK);
    assert_int_equal(count, 0); // it is empty: done
    assert_int_equal(ow_logbook_batches(s->book, true, 0, 0, s->arena, &batches, &count, &faults), OW_OK);
    assert_int_equal(count, 1);
    assert_true(batches[0].in_m3 == 0.050 && batches[0].lost_m3 == 0.002 && batches[0].out_m3 == 0.048 &&
                batches[0].volume_m3 == 0.0);
    assert_true(batches[0].has_decision && batches[0].decision == OW_LOG_DECISION_KEEP);
    assert_true(batches[0].has_step && batches[0].step == OW_LOG_STEP_SETTLE);
    assert_true(batches[0].steps == 1 && batches[0].tests == 1);
    close_to(batches[0].acid_mg_g, 2.1, 1e-12);
    close_to(batches[0].solids_kg_kg, 30e-6, 1e-18);
    assert_false(batches[0].has_water);
    assert_string_equal(batches[0].vessel_name, "day tank");
    OwLogVehicleRow *vehicles = NULL;
    assert_int_equal(ow_logbook_vehicles(s->book, s->arena, &vehicles, &count, &faults), OW_OK);
    assert_int_equal(count, 1);
    assert_true(vehicles[0].fills == 2 && vehicles[0].oil_m3 == 0.036 && vehicles[0].diesel_m3 == 0.003);
    assert_true(vehicles[0].has_odometer && vehicles[0].odometer_m == 1.0025e8 &&
                vehicles[0].distance_m == 2.5e5);
    assert_true(vehicles[0].has_consumption);
    close_to(vehicles[0].consumption_m3_m, 0.015 / 1.5e5, 1e-18); // the second fill over the 150 km before it
    assert_int_equal(vehicles[0].spent, 1250 + 620);
    OwLogSourceRow *sources = NULL;
    assert_int_equal(ow_logbook_sources(s->book, s->arena, &sources, &count, &faults), OW_OK);
    assert_int_equal(count, 2);
    assert_string_equal(sources[0].name, "Canteen");
    assert_true(sources[1].pickups == 1 && sources[1].collected_m3 == 0.060 && sources[1].last_s == T0 + DAY);
    ow_faults_clear(&faults);
}

static void totals_follow_the_period(void **state) {
    Story *s = *state;
    OwLogTotals t;
    assert_int_equal(ow_logbook_totals(s->book, 0, 0, 0, &t, NULL), OW_OK);
    assert_true(t.collected_m3 == 0.100 && t.collection_distance_m == 12000 && t.filled_m3 == 0.036 &&
                t.diesel_m3 == 0.003);
    assert_true(t.lost_m3 == 0.002 && t.waste_made_m3[OW_LOG_WASTE_SLUDGE] == 0.002 && t.energy_j == 3.6e6);
    assert_true(t.work_s[OW_LOG_PICKUP] == 1800 && t.work_all_s == 1800);
    assert_true(t.spent[OW_LOG_PICKUP] == 500 && t.spent_all == 500 + 1250 + 620 &&
                t.entries[OW_LOG_PICKUP] == 2);
    assert_true(t.distance_m == 2.5e5 && t.filters == 0 && t.entries[OW_LOG_FILTER] == 1);
    assert_true(t.first_s == T0 + DAY && t.last_s == T0 + 9 * DAY); // names are no events
    // A period that begins and ends within days.
    assert_int_equal(ow_logbook_totals(s->book, T0 + DAY + 1, T0 + 7 * DAY + 1, 0, &t, NULL), OW_OK);
    assert_true(t.collected_m3 == 0.040 && t.filled_m3 == 0.024 && t.work_all_s == 0);
    assert_true(t.distance_m == 1e5);
    assert_int_equal(ow_logbook_totals(s->book, T0 + 7 * DAY, T0 + 7 * DAY, 0, &t, NULL), OW_OK);
    assert_true(t.filled_m3 == 0.0);
    assert_int_equal(ow_logbook_totals(s->book, 0, 0, s->van, &t, NULL), OW_OK);
    assert_true(t.collected_m3 == 0.0 && t.filled_m3 == 0.036 && t.spent_all == 1870);
}

static void traces_follow_stirred_vessels(void **state) {
    Story *s = *state;
    OwLogTrace t;
    assert_int_equal(ow_logbook_trace_back(s->book, s->tank, 0, s->arena, &t, NULL), OW_OK);
    close_to(t.volume_m3, 0.012, 1e-15);
    assert_int_equal(t.part_count, 2);
    assert_int_equal(t.parts[0].id, s->pickup_a);
    assert_string_equal(t.parts[0].name, "Plum kitchen");
    close_to(t.parts[0].share, 0.6, 1e-12); // 60 of 100 L in the raw drum
    close_to(t.parts[1].share, 0.4, 1e-12);
    close_to(t.unknown, 0.0, 1e-12);
    assert_int_equal(t.source_count, 2);
    assert_int_equal(t.sources[1].id, s->canteen);
    assert_int_equal(t.batch_count, 1);
    close_to(t.batches[0].share, 1.0, 1e-12);
    // Before anything came in there is nothing; in between it is the oil of that day.
    assert_int_equal(ow_logbook_trace_back(s->book, s->tank, T0 + DAY, s->arena, &t, NULL), OW_OK);
    assert_true(t.volume_m3 == 0.0 && t.part_count == 0);
    assert_int_equal(ow_logbook_trace_back(s->book, s->tank, T0 + 4 * DAY, s->arena, &t, NULL),
                     OW_OK); // the batch stands in it
    close_to(t.volume_m3, 0.048, 1e-15);
    assert_int_equal(ow_logbook_trace_back(s->book, s->raw, T0 + DAY, s->arena, &t, NULL), OW_OK);
    assert_int_equal(t.part_count, 1);
    // Forward: of the kitchen's 60 L, 30 are still raw, 1.2 became sludge, 14.4 + 7.2 burned, 7.2 stand in
    // the tank.
    assert_int_equal(ow_logbook_trace_forward(s->book, s->pickup_a, s->arena, &t, NULL), OW_OK);
    assert_int_equal(t.part_count, 4);
    const struct {
        OwLogKind kind;
        double litres;
    } expected[] = {{OW_LOG_VESSEL, 30}, {OW_LOG_VEHICLE, 21.6}, {OW_LOG_VESSEL, 7.2}, {OW_LOG_STEP, 1.2}};
    for (int i = 0; i < 4; i++) {
        assert_int_equal(t.parts[i].kind, expected[i].kind);
        close_to(t.parts[i].volume_m3 * 1e3, expected[i].litres, 1e-9);
    }
    assert_string_equal(t.parts[1].name, "van");
    assert_string_equal(t.parts[3].name, "settle");
    close_to(t.batches[0].volume_m3, 0.030, 1e-12);
    assert_int_equal(ow_logbook_trace_forward(s->book, s->batch, s->arena, &t, NULL), OW_OK);
    close_to(t.volume_m3, 0.050, 1e-15);
    assert_int_equal(t.part_count, 3);
    close_to(t.parts[0].volume_m3, 0.036, 1e-12);
}

static void a_batch_that_shifts_takes_its_oil_along(void **state) {
    Story *s = *state;
    OwLogEntry e = entry_of(OW_LOG_BATCH, T0 + 30 * DAY);
    set_text(&e, "name", "b2");
    set_text(&e, "from", "raw drum");
    set_si(&e, "volume", 0.020);
    set_text(&e, "vessel", "raw drum");
    const int64_t batch = add(s->book, e);
    e = entry_of(OW_LOG_SHIFT, T0 + 31 * DAY);
    set_text(&e, "batch", "b2");
    set_text(&e, "vessel", "day tank");
    const int64_t shift = add(s->book, e);
    const struct {
        int64_t vessel, at_s;
        double litres;
    } then[] = {{s->raw, T0 + 29 * DAY, 50},
                {s->raw, T0 + 30 * DAY, 50},
                {s->raw, T0 + 31 * DAY, 30},
                {s->raw, 0, 30},
                {s->tank, T0 + 30 * DAY, 12},
                {s->tank, T0 + 31 * DAY, 32},
                {s->tank, 0, 32}};
    OwLogTrace t;
    for (size_t i = 0; i < sizeof then / sizeof then[0]; i++) {
        assert_int_equal(ow_logbook_trace_back(s->book, then[i].vessel, then[i].at_s, s->arena, &t, NULL),
                         OW_OK);
        close_to(t.volume_m3 * 1e3, then[i].litres, 1e-9);
        assert_int_equal(t.part_count, 2);
        close_to(t.parts[0].share, 0.6, 1e-12);
    }
    OwLogVesselRow *vessels = NULL;
    int count = 0;
    assert_int_equal(ow_logbook_vessels(s->book, s->arena, &vessels, &count, NULL), OW_OK);
    assert_true(vessels[0].level_m3 == 0.030 && vessels[0].batches == 0);
    assert_true(vessels[1].level_m3 == 0.032 && vessels[1].own_m3 == 0.012 && vessels[1].batches == 1);
    // A measured vessel counts the batch in it: 33 L there are 1 L more than the book has.
    e = entry_of(OW_LOG_LEVEL, T0 + 32 * DAY);
    set_text(&e, "of", "day tank");
    set_si(&e, "level", 0.033);
    const int64_t level = add(s->book, e);
    OwLogEntry measured;
    assert_int_equal(ow_logbook_entry(s->book, level, s->arena, &measured, NULL), OW_OK);
    close_to(measured.values[ow_log_field_of(OW_LOG_LEVEL, "change")].si, 0.001, 1e-15);
    assert_int_equal(ow_logbook_undo(s->book, shift, NULL, NULL, NULL), OW_OK); // it never left
    OwLogBatchRow *batches = NULL;
    assert_int_equal(ow_logbook_batches(s->book, false, 0, 0, s->arena, &batches, &count, NULL), OW_OK);
    assert_true(count == 1 && batches[0].id == batch && batches[0].vessel == s->raw);
}

static void a_filter_life_is_an_observation(void **state) {
    Story *s = *state;
    OwLogFilterRow *rows = NULL;
    int count = 0;
    assert_int_equal(ow_logbook_filters(s->book, s->van, 0, s->arena, &rows, &count, NULL), OW_OK);
    assert_int_equal(count, 1);
    assert_true(rows[0].is_censored && rows[0].next == 0 && rows[0].to_s == T0 + 9 * DAY);
    assert_true(rows[0].has_distance && rows[0].distance_m == 2.5e5);
    assert_true(rows[0].oil_m3 == 0.036 && rows[0].diesel_m3 == 0.003);
    assert_true(rows[0].has_solids);
    close_to(rows[0].solids_kg_kg, 30e-6, 1e-15); // all of it went through the tested batch
    close_to(rows[0].solids_known, 1.0, 1e-12);
    assert_true(rows[0].has_after && rows[0].after_pa == 5000 && !rows[0].has_before &&
                !rows[0].has_temperature);
    OwLogEntry e = entry_of(OW_LOG_GAUGE, T0 + 10 * DAY);
    set_text(&e, "vehicle", "van");
    set_text(&e, "filter", "Final filter");
    set_si(&e, "reading", 18000);
    set_si(&e, "temperature", 340);
    (void)add(s->book, e);
    e = entry_of(OW_LOG_FILTER, T0 + 11 * DAY);
    set_text(&e, "vehicle", "van");
    set_text(&e, "filter", "final filter");
    set_number(&e, "reason", OW_LOG_REASON_PLUGGED);
    set_si(&e, "odometer", 1.01e8);
    set_si(&e, "before", 21000);
    set_si(&e, "temperature", 350);
    const int64_t change = add(s->book, e);
    assert_int_equal(ow_logbook_filters(s->book, 0, 0, s->arena, &rows, &count, NULL), OW_OK);
    assert_int_equal(count, 2);
    assert_true(rows[0].is_censored && rows[0].distance_m == 0.0 && rows[0].oil_m3 == 0.0);
    assert_true(!rows[1].is_censored && rows[1].next == change && rows[1].distance_m == 1e6);
    assert_true(rows[1].has_reason && rows[1].reason == OW_LOG_REASON_PLUGGED && rows[1].before_pa == 21000);
    close_to(rows[1].temperature_k, 345, 1e-9);
}

/// Dirt is the mean of the oil whose dirt is known; what nobody tested neither cleans nor dirties it.
static void untested_oil_is_no_clean_oil(void **state) {
    Story *s = *state;
    // 12 L of an untested drum to the 12 L at 30 mg/kg in the day tank, and all of it into the van: half is
    // known.
    OwLogEntry e = entry_of(OW_LOG_MOVE, T0 + 10 * DAY);
    set_number(&e, "from", s->raw);
    set_number(&e, "to", s->tank);
    set_si(&e, "volume", 0.012);
    (void)add(s->book, e);
    OwLogEntry fill = entry_of(OW_LOG_FILL, T0 + 11 * DAY);
    set_number(&fill, "vehicle", s->van);
    set_number(&fill, "from", s->tank);
    set_si(&fill, "oil", 0.024);
    (void)add(s->book, fill);
    OwLogFilterRow *rows = NULL;
    int count = 0;
    assert_int_equal(ow_logbook_filters(s->book, s->van, 0, s->arena, &rows, &count, NULL), OW_OK);
    assert_true(count == 1 && rows[0].has_solids);
    close_to(rows[0].solids_kg_kg, 30e-6, 1e-15);
    close_to(rows[0].solids_known, 48.0 / 60.0, 1e-12);
    // 26 L of the untested drum; then it is tested at 90 mg/kg and its last 12 L are filled: 48 L at 30 and
    // 12 at 90.
    fill.at_s += DAY;
    set_number(&fill, "from", s->raw);
    set_si(&fill, "oil", 0.026);
    (void)add(s->book, fill);
    e = entry_of(OW_LOG_TEST, T0 + 13 * DAY);
    set_number(&e, "of", s->raw);
    set_si(&e, "solids", 90e-6);
    (void)add(s->book, e);
    fill.at_s += 2 * DAY;
    set_si(&fill, "oil", 0.012);
    (void)add(s->book, fill);
    assert_int_equal(ow_logbook_filters(s->book, s->van, 0, s->arena, &rows, &count, NULL), OW_OK);
    close_to(rows[0].solids_kg_kg, 42e-6, 1e-15);
    close_to(rows[0].solids_known, 60.0 / 98.0, 1e-12);
}

/// A vessel counts what stands in it in batches too; loose oil below nothing is told even when a batch hides
/// it.
static void a_level_is_loose_oil_and_batches(void **state) {
    Story *s = *state;
    OwLogVesselRow *v = NULL;
    int count = 0;
    OwLogEntry e = entry_of(OW_LOG_VESSEL, T0);
    set_text(&e, "name", "cone");
    set_si(&e, "capacity", 0.030);
    const int64_t cone = add(s->book, e);
    e = entry_of(OW_LOG_BATCH, T0 + 10 * DAY);
    set_text(&e, "name", "b2");
    set_number(&e, "from", s->raw);
    set_si(&e, "volume", 0.025);
    set_number(&e, "vessel", cone);
    (void)add(s->book, e);
    e = entry_of(OW_LOG_MOVE, T0 + 11 * DAY);
    set_number(&e, "from", s->raw);
    set_number(&e, "to", cone);
    set_si(&e, "volume", 0.010);
    (void)add(s->book, e);
    assert_int_equal(ow_logbook_vessels(s->book, s->arena, &v, &count, NULL), OW_OK);
    assert_true(count == 3 && v[2].own_m3 == 0.010 && v[2].level_m3 == 0.035 && v[2].batches == 1);
    assert_true(v[2].is_over && !v[2].is_below); // 10 L and a batch of 25 L in 30 L
    e.at_s += DAY;
    set_number(&e, "from", cone);
    set_number(&e, "to", s->raw);
    set_si(&e, "volume", 0.015);
    (void)add(s->book, e);
    assert_int_equal(ow_logbook_vessels(s->book, s->arena, &v, &count, NULL), OW_OK);
    assert_true(v[2].own_m3 == -0.005 && v[2].level_m3 == 0.020 && v[2].is_below && !v[2].is_over);
}

static void odd(Story *s, OwLogEntry e, const char *words) {
    OwFaults faults = {0};
    assert_int_equal(ow_logbook_add(s->book, &e, 1, &faults), OW_OK);
    const bool is_told = has_fault(&faults, words != NULL ? words : "");
    if (words != NULL ? !is_told : faults.count != 0) {
        fail_msg("%s: %s", words != NULL ? "not told" : "told for nothing",
                 words != NULL ? words : faults.items[0].message);
    }
    ow_faults_clear(&faults);
    assert_int_equal(ow_logbook_undo(s->book, e.id, NULL, NULL, NULL), OW_OK);
}

/// The year of the sums ends with what happened last: neither a new name nor a slip taken back stretches it.
static void names_and_slips_make_no_longer_year(void **state) {
    Story *s = *state;
    OwLogTotals t;
    (void)add_thing(s->book, OW_LOG_VESSEL, "new drum", T0 + 300 * DAY);
    OwLogEntry e = entry_of(OW_LOG_ODOMETER, T0 + 200 * DAY);
    set_number(&e, "vehicle", s->van);
    set_si(&e, "odometer", 1.1e8);
    const int64_t slip = add(s->book, e);
    assert_int_equal(ow_logbook_totals(s->book, 0, 0, 0, &t, NULL), OW_OK);
    assert_true(t.last_s == T0 + 200 * DAY);
    assert_int_equal(ow_logbook_undo(s->book, slip, NULL, NULL, NULL), OW_OK);
    assert_int_equal(ow_logbook_totals(s->book, 0, 0, 0, &t, NULL), OW_OK);
    assert_true(t.first_s == T0 + DAY && t.last_s == T0 + 9 * DAY);
}

/// Slips of the thumb are written, and told: a digit too many, a day that is to come.
static void slips_are_told(void **state) {
    Story *s = *state;
    OwLogEntry e = entry_of(OW_LOG_ODOMETER, T0 + 10 * DAY);
    set_number(&e, "vehicle", s->van);
    set_si(&e, "odometer", 1.0100e8);
    odd(s, e, NULL);
    set_si(&e, "odometer", 1.0651e8); // 6260 km in one day
    odd(s, e, "6260 km since the reading before, in 1 days");
    e.made_s = T0 + 10 * DAY;
    e.at_s = T0 + 375 * DAY;
    set_si(&e, "odometer", 1.0651e8);
    odd(s, e, "its day lies 365 days ahead");
    e.at_s = e.made_s + DAY / 2; // a clock in another zone
    set_si(&e, "odometer", 1.0026e8);
    odd(s, e, NULL);
}

static void refused(Story *s, OwLogEntry e, const char *words) {
    OwFaults faults = {0};
    assert_int_equal(ow_logbook_add(s->book, &e, 1, &faults), OW_ERROR_VALUE);
    if (!has_fault(&faults, words)) {
        print_faults(&faults);
        fail_msg("not told: %s", words);
    }
    ow_faults_clear(&faults);
}

/// A reading that runs back is asked about, on either side in time, but for what rounding and a new odometer
/// explain.
static void an_odometer_that_runs_back_is_refused(void **state) {
    Story *s = *state;
    OwLogEntry e = entry_of(OW_LOG_ODOMETER, T0 + 10 * DAY);
    set_number(&e, "vehicle", s->van);
    set_si(&e, "odometer", 1.0010e8);
    refused(s, e, "100100 km (62199 mi), but 100250 km (62292 mi) before, on 2025-06-24");
    set_si(&e, "odometer", 1.00249e8); // miles read to whole ones
    odd(s, e, NULL);
    e.at_s = T0 + 8 * DAY; // written down later: between two fills
    set_si(&e, "odometer", 1.0040e8);
    refused(s, e, "100250 km (62292 mi) after");
    e.at_s = T0 + 9 * DAY - 3600; // "that day", and its noon was taken
    refused(s, e, "Write it right, with its hour, or undo entry 14");
    e.at_s = T0 + 9 * DAY; // the same second as the last fill: nobody told which came first
    set_si(&e, "odometer", 1.0020e8);
    odd(s, e, NULL);
    OwLogEntry fill = entry_of(OW_LOG_FILL, T0 + 10 * DAY);
    set_text(&fill, "vehicle", "van");
    set_si(&fill, "diesel", 0.02);
    set_si(&fill, "odometer", 5e3);
    refused(s, fill, "undo entry 14; if the odometer was replaced, tell that first: new odometer van 5 km");
    // A new one may read anything; the old one's last reading must fit what was read before.
    e.at_s = T0 + 10 * DAY;
    set_si(&e, "odometer", 12e3);
    set_number(&e, "new", 1);
    set_si(&e, "old", 1.0010e8);
    refused(s, e, "100250 km (62292 mi) before");
    set_si(&e, "old", 1.0030e8);
    odd(s, e, NULL);
    set_number(&e, "new", 0);
    refused(s, e, "no new odometer");
}

/// What is driven counts on through new odometers, wherever the new one stands by now.
static void a_new_odometer_loses_no_distance(void **state) {
    Story *s = *state;
    OwLogTotals t;
    assert_int_equal(ow_logbook_totals(s->book, 0, 0, s->van, &t, NULL), OW_OK);
    const double before_m = t.distance_m; // to 100250 km
    assert_true(before_m == 250e3);
    OwLogEntry e = entry_of(OW_LOG_ODOMETER, T0 + 10 * DAY);
    set_number(&e, "vehicle", s->van);
    set_si(&e, "odometer", 200e3);
    set_number(&e, "new", 1);
    const int64_t swap = add(s->book, e); // the old one's last not told: 0 km on it since
    e = entry_of(OW_LOG_FILL, T0 + 20 * DAY);
    set_number(&e, "vehicle", s->van);
    set_si(&e, "odometer", 950e3);
    set_si(&e, "diesel", 0.045);
    (void)add(s->book, e);
    OwLogEntry m = entry_of(OW_LOG_ODOMETER, T0 + 30 * DAY); // far above where the old one stood
    set_number(&m, "vehicle", s->van);
    set_si(&m, "odometer", 1000e3);
    (void)add(s->book, m);
    OwLogEntry second = entry_of(OW_LOG_ODOMETER, T0 + 40 * DAY);
    set_number(&second, "vehicle", s->van);
    set_si(&second, "odometer", 150e6); // used one from the breaker's yard, 20 km on the old one unread
    set_si(&second, "old", 1020e3);
    (void)add(s->book, second);
    m.at_s = T0 + 41 * DAY;
    set_si(&m, "odometer", 150.005e6);
    (void)add(s->book, m);
    assert_int_equal(ow_logbook_totals(s->book, 0, 0, s->van, &t, NULL), OW_OK);
    close_to(t.distance_m, 250e3 + 750e3 + 50e3 + 20e3 + 5e3, 1e-6);
    assert_int_equal(ow_logbook_totals(s->book, T0 + 15 * DAY, T0 + 35 * DAY, s->van, &t, NULL), OW_OK);
    close_to(t.distance_m, 800e3, 1e-6); // from the last before the period: the new one's first
    OwLogVehicleRow *vehicles = NULL;
    OwLogFilterRow *rows = NULL;
    OwLogSwap *swaps = NULL;
    int count = 0, swap_count = 0;
    assert_int_equal(ow_logbook_vehicles(s->book, s->arena, &vehicles, &count, NULL), OW_OK);
    assert_true(vehicles[0].odometer_m == 150.005e6);
    close_to(vehicles[0].counted_m, 100e6 + 1075e3, 1e-6);
    // 15 L and 45 L after the first fill, at 100100 km; to 100250 + 750.
    close_to(vehicles[0].consumption_m3_m, 0.060 / 900e3, 1e-15);
    assert_int_equal(ow_logbook_filters(s->book, s->van, 0, s->arena, &rows, &count, NULL), OW_OK);
    assert_true(count == 1 && rows[0].has_distance);
    close_to(rows[0].distance_m, 1075e3, 1e-6);
    assert_int_equal(ow_logbook_swaps(s->book, s->arena, &swaps, &swap_count, NULL), OW_OK);
    assert_int_equal(swap_count, 2);
    close_to(ow_log_counted(swaps, swap_count, s->van, m.at_s, 1000, 150.005e6), 100e6 + 1075e3, 1e-6);
    close_to(ow_log_counted(swaps, swap_count, s->van, T0 + 9 * DAY, 1, 100.1e6), 100.1e6, 1e-6);
    close_to(ow_log_counted(swaps, swap_count, s->van, T0 + 10 * DAY, swap, 200e3), 100.25e6, 1e-6);
    check_sound(s->book);
    OwFaults faults = {0};
    assert_int_equal(ow_logbook_check(s->book, &faults), OW_OK);
    assert_false(has_fault(&faults, "runs back"));
    ow_faults_clear(&faults);
    // Taken back, it counts as before; a rebuild finds the same.
    assert_int_equal(ow_logbook_undo(s->book, swap, NULL, NULL, NULL), OW_OK);
    assert_int_equal(ow_logbook_swaps(s->book, s->arena, &swaps, &swap_count, NULL), OW_OK);
    assert_int_equal(swap_count, 1);
    check_sound(s->book);
}

/// Books from elsewhere may run back without a word. What rises between two readings was driven, but one slip
/// invents no way, and a life never has a distance below nothing.
static void what_runs_back_unsaid_invents_no_way(void **state) {
    Story *s = *state;
    char folder[256], path[512];
    folder_make(folder);
    FILE *out = fopen(path_in(path, folder, "odometer.csv"), "w");
    assert_non_null(out);
    // After 100250 km on 2025-06-24: a digit too many, then a new odometer that nobody told of.
    assert_true(fprintf(out, "at,vehicle,odometer (km)\r\n2025-06-25T20:00:00Z,van,1003000\r\n"
                             "2025-06-26T20:00:00Z,van,200\r\n2025-07-05T20:00:00Z,van,950\r\n") > 0);
    assert_int_equal(fclose(out), 0);
    OwLogImported imported;
    OwFaults faults = {0};
    if (ow_logbook_import(s->book, folder, &imported, &faults) != OW_OK) {
        print_faults(&faults);
        fail();
    }
    OwLogTotals t;
    OwLogFilterRow *rows = NULL;
    int count = 0;
    assert_int_equal(ow_logbook_totals(s->book, 0, 0, s->van, &t, NULL), OW_OK);
    close_to(t.distance_m, 250e3 + 750e3, 1e-6);
    assert_int_equal(ow_logbook_filters(s->book, s->van, 0, s->arena, &rows, &count, NULL), OW_OK);
    assert_true(count == 1 && !rows[0].has_distance && rows[0].distance_m == 0.0);
    assert_int_equal(ow_logbook_check(s->book, &faults), OW_OK);
    assert_true(has_fault(&faults, "runs back from 1003000 to 200 km"));
    ow_faults_clear(&faults);
    folder_drop(folder);
}

/// Half of what was drawn from a drum the book did not know: half of the batch has no known source.
static void what_was_not_there_has_no_source(void **state) {
    Story *s = *state; // the raw drum holds 50 L of 100 L, 3 days in
    OwLogEntry e = entry_of(OW_LOG_BATCH, T0 + 10 * DAY);
    set_text(&e, "name", "b2");
    set_number(&e, "from", s->raw);
    set_si(&e, "volume", 0.100);
    const int64_t b2 = add(s->book, e);
    e = entry_of(OW_LOG_BATCH, T0 + 11 * DAY); // and this one all of nothing
    set_text(&e, "name", "b3");
    set_number(&e, "from", s->raw);
    set_si(&e, "volume", 0.010);
    const int64_t b3 = add(s->book, e);
    e = entry_of(OW_LOG_MOVE, T0 + 12 * DAY);
    set_number(&e, "from", b3);
    set_number(&e, "to", b2);
    set_si(&e, "volume", 0.010);
    (void)add(s->book, e);
    OwLogTrace t;
    assert_int_equal(ow_logbook_trace_back(s->book, b2, T0 + 11 * DAY, s->arena, &t, NULL), OW_OK);
    close_to(t.volume_m3, 0.100, 1e-12);
    close_to(t.unknown, 0.5, 1e-12);
    double known = 0.0;
    for (int i = 0; i < t.source_count; i++) {
        known += t.sources[i].share;
    }
    close_to(known, 0.5, 1e-12);
    assert_int_equal(ow_logbook_trace_back(s->book, b2, 0, s->arena, &t, NULL), OW_OK);
    close_to(t.unknown, 60.0 / 110.0, 1e-12);
    // A level makes the drum right again; what comes then is known again.
    e = entry_of(OW_LOG_LEVEL, T0 + 13 * DAY);
    set_number(&e, "of", s->raw);
    set_si(&e, "level", 0.0);
    (void)add(s->book, e);
    e = entry_of(OW_LOG_PICKUP, T0 + 14 * DAY);
    set_number(&e, "source", s->canteen);
    set_number(&e, "into", s->raw);
    set_si(&e, "volume", 0.040);
    (void)add(s->book, e);
    assert_int_equal(ow_logbook_trace_back(s->book, s->raw, 0, s->arena, &t, NULL), OW_OK);
    close_to(t.unknown, 0.0, 1e-12);
}

static void an_undo_takes_back_and_loses_nothing(void **state) {
    Story *s = *state;
    OwFaults faults = {0};
    int64_t undo = 0;
    // A thing that is in use stays.
    assert_int_equal(ow_logbook_undo(s->book, s->raw, NULL, &undo, &faults), OW_ERROR_VALUE);
    assert_true(has_fault(&faults, "still refers to it"));
    ow_faults_clear(&faults);
    assert_int_equal(ow_logbook_undo(s->book, s->fill_2, "wrong tank", &undo, &faults), OW_OK);
    OwLogVesselRow *vessels = NULL;
    int count = 0;
    assert_int_equal(ow_logbook_vessels(s->book, s->arena, &vessels, &count, NULL), OW_OK);
    assert_true(vessels[1].level_m3 == 0.024);
    assert_int_equal(ow_logbook_undo(s->book, s->fill_2, NULL, NULL, &faults), OW_ERROR_VALUE);
    assert_true(has_fault(&faults, "was taken back by"));
    ow_faults_clear(&faults);
    assert_int_equal(ow_logbook_undo(s->book, undo, NULL, NULL, &faults), OW_ERROR_VALUE);
    assert_true(has_fault(&faults, "cannot be taken back"));
    ow_faults_clear(&faults);
    assert_int_equal(ow_logbook_undo(s->book, 99999, NULL, NULL, &faults), OW_ERROR_VALUE);
    assert_true(has_fault(&faults, "no entry 99999"));
    ow_faults_clear(&faults);
    // It is still there to read, with the undo named.
    OwLogEntry entry;
    assert_int_equal(ow_logbook_entry(s->book, s->fill_2, s->arena, &entry, NULL), OW_OK);
    assert_int_equal(entry.undone_by, undo);
    OwLogList list;
    assert_int_equal(ow_logbook_list(s->book, &(OwLogFilter){.thing = s->van}, s->arena, &list, NULL), OW_OK);
    assert_int_equal(list.count, 3); // van, filter, first fill
    assert_int_equal(
        ow_logbook_list(s->book, &(OwLogFilter){.thing = s->van, .with_undone = true}, s->arena, &list, NULL),
        OW_OK);
    assert_int_equal(list.count, 4);
    // The pick-up goes: the raw drum falls below nothing, which is told and not refused.
    assert_int_equal(ow_logbook_undo(s->book, s->pickup_a, NULL, NULL, &faults), OW_OK);
    assert_true(has_fault(&faults, "raw drum now holds -10.0 L by the book"));
    ow_faults_clear(&faults);
    OwLogEntry level = entry_of(OW_LOG_LEVEL, T0 + 20 * DAY);
    set_text(&level, "of", "raw drum");
    set_si(&level, "level", 0.031);
    const int64_t id = add(s->book, level);
    assert_int_equal(ow_logbook_entry(s->book, id, s->arena, &entry, NULL), OW_OK);
    assert_true(entry.values[ow_log_field_of(OW_LOG_LEVEL, "change")].si == 0.041);
    assert_int_equal(ow_logbook_vessels(s->book, s->arena, &vessels, &count, NULL), OW_OK);
    assert_true(vessels[0].level_m3 == 0.031 && !vessels[0].is_below);
    // A name is free again once its thing was taken back.
    const int64_t spare = add_thing(s->book, OW_LOG_VESSEL, "spare", T0);
    assert_int_equal(ow_logbook_undo(s->book, spare, NULL, NULL, NULL), OW_OK);
    (void)add_thing(s->book, OW_LOG_SOURCE, "spare", T0);
}

static void refuse(Story *s, OwLogEntry entry, const char *words) {
    OwFaults faults = {0};
    const int64_t before = ow_logbook_version(s->book);
    const OwStatus status = ow_logbook_add(s->book, &entry, 1, &faults);
    if (status == OW_OK || entry.id != 0) {
        fail_msg("accepted: %s", words);
    }
    assert_true(has_fault(&faults, words));
    ow_faults_clear(&faults);
    assert_int_equal(ow_logbook_version(s->book), before);
}

static void refusals_say_what_is_wrong(void **state) {
    Story *s = *state;
    OwLogEntry e = entry_of(OW_LOG_PICKUP, T0);
    refuse(s, e, "pickup: source: source is missing");
    set_text(&e, "source", "Plumm kitchen");
    set_text(&e, "into", "raw drum");
    set_si(&e, "volume", 0.01);
    refuse(s, e, "did you mean \"Plum kitchen\"?");
    set_text(&e, "source", "van");
    refuse(s, e, "\"van\" is a vehicle, not a source");
    set_text(&e, "source", "Canteen");
    set_si(&e, "volume", NAN);
    refuse(s, e, "pickup: volume: the value is out of range");
    set_si(&e, "volume", -0.01);
    refuse(s, e, "out of range");
    set_si(&e, "volume", 0.01);
    set_text(&e, "note", "two\nlines");
    refuse(s, e, "pickup: note:");
    set_text(&e, "note", "\xC3\x28");
    refuse(s, e, "not UTF-8");
    set_text(&e, "note", "drum \xE2\x80\xAE");
    refuse(s, e, "not UTF-8");
    set_text(&e, "note", "drum \xE2\x81\xA6");
    refuse(s, e, "not UTF-8");
    e = entry_of(OW_LOG_VESSEL, T0);
    set_text(&e, "name", "Day Tank");
    refuse(s, e, "is named \"Day Tank\" already");
    set_text(&e, "name", "#4");
    refuse(s, e, "cannot be a name");
    e = entry_of(OW_LOG_MOVE, T0);
    set_number(&e, "from", s->raw);
    set_number(&e, "to", s->raw);
    set_si(&e, "volume", 0.01);
    refuse(s, e, "into itself");
    e = entry_of(OW_LOG_FILL, T0);
    set_number(&e, "vehicle", s->van);
    refuse(s, e, "nothing was filled");
    e = entry_of(OW_LOG_TEST, T0);
    set_number(&e, "of", s->batch);
    refuse(s, e, "the test has no result");
    set_number(&e, "decision", 7);
    refuse(s, e, "no such choice");
    e = entry_of(OW_LOG_BATCH, -5);
    set_text(&e, "name", "b9");
    refuse(s, e, "the time is out of range");
    e = entry_of((OwLogKind)77, T0);
    refuse(s, e, "no such kind");
    // Several at once: all or none, and the entry is named.
    OwLogEntry both[2] = {entry_of(OW_LOG_SOURCE, T0), entry_of(OW_LOG_PICKUP, T0)};
    set_text(&both[0], "name", "Bakery");
    set_text(&both[1], "source", "Bakery");
    set_text(&both[1], "into", "drum 9");
    set_si(&both[1], "volume", 0.005);
    OwFaults faults = {0};
    assert_int_equal(ow_logbook_add(s->book, both, 2, &faults), OW_ERROR_VALUE);
    assert_true(has_fault(&faults, "entry 2: pickup: into"));
    ow_faults_clear(&faults);
    int64_t id = 0;
    char nearest[OW_LOG_NAME_MAX + 1];
    assert_int_equal(ow_logbook_find(s->book, 0, "bakery", &id, nearest, NULL), OW_OK);
    assert_int_equal(id, 0);
    set_text(&both[1], "into", "day tank");
    assert_int_equal(ow_logbook_add(s->book, both, 2, NULL), OW_OK);
    assert_int_equal(ow_logbook_find(s->book, 1u << OW_LOG_SOURCE, "bakery", &id, nearest, NULL), OW_OK);
    assert_int_equal(id, both[0].id);
    assert_int_equal(ow_logbook_find(s->book, 1u << OW_LOG_VEHICLE, "vann", &id, nearest, NULL), OW_OK);
    assert_true(id == 0 && strcmp(nearest, "van") == 0);
}

static void lists_page_and_search(void **state) {
    Story *s = *state;
    for (int i = 0; i < 120; i++) {
        OwLogEntry e = entry_of(OW_LOG_EXPENSE, T0 + (i / 3) * 1000); // three of each second
        char detail[40];
        (void)snprintf(detail, sizeof detail, "item %d Größe %s", i, i % 10 == 0 ? "tenth" : "plain");
        set_number(&e, "what", OW_LOG_EXPENSE_OTHER);
        set_number(&e, "amount", i);
        set_text(&e, "detail", detail);
        (void)add(s->book, e);
    }
    OwLogFilter filter = {.kinds = 1u << OW_LOG_EXPENSE, .limit = 7};
    int seen = 0;
    int64_t at = INT64_MAX, id = INT64_MAX;
    OwLogList list;
    do {
        assert_int_equal(ow_logbook_list(s->book, &filter, s->arena, &list, NULL), OW_OK);
        for (int i = 0; i < list.count; i++, seen++) {
            const OwLogEntry *e = &list.entries[i];
            assert_true(e->at_s < at || (e->at_s == at && e->id < id));
            at = e->at_s;
            id = e->id;
        }
        filter.before_at_s = at;
        filter.before_id = id;
    } while (list.has_more);
    assert_int_equal(seen, 120);
    const struct {
        const char *text;
        int count;
    } searches[] = {{"tenth", 12},
                    {"TENTH item", 12},
                    {"gr\xC3\xB6\xC3\x9F", 120},
                    {"\"tenth\" OR", 0},
                    {"item 11", 11},
                    {"nothing", 0},
                    {"*", 0},
                    {"-", 0},
                    {"\"", 0}};
    for (size_t i = 0; i < sizeof searches / sizeof searches[0]; i++) {
        assert_int_equal(ow_logbook_list(s->book, &(OwLogFilter){.text = searches[i].text, .limit = 1000},
                                         s->arena, &list, NULL),
                         OW_OK);
        if (list.count != searches[i].count) {
            fail_msg("%s: %d", searches[i].text, list.count);
        }
    }
    const OwLogFilter period = {
        .kinds = (1u << OW_LOG_EXPENSE) | (1u << OW_LOG_FILL), .from_s = T0 + 2000, .to_s = T0 + 4000};
    assert_int_equal(ow_logbook_list(s->book, &period, s->arena, &list, NULL), OW_OK);
    assert_int_equal(list.count, 6);
    assert_int_equal(
        ow_logbook_list(s->book, &(OwLogFilter){.text = "plum", .thing = s->kitchen}, s->arena, &list, NULL),
        OW_OK);
    assert_int_equal(list.count, 2); // the kitchen and its pick-up
    const OwLogFilter both = {.text = "plum", .kinds = (1u << OW_LOG_PICKUP) | (1u << OW_LOG_FILL)};
    assert_int_equal(ow_logbook_list(s->book, &both, s->arena, &list, NULL), OW_OK);
    assert_int_equal(list.count, 1);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(views_hold_the_sums, set_up, tear_down),
        cmocka_unit_test_setup_teardown(totals_follow_the_period, set_up, tear_down),
        cmocka_unit_test_setup_teardown(traces_follow_stirred_vessels, set_up, tear_down),
        cmocka_unit_test_setup_teardown(a_batch_that_shifts_takes_its_oil_along, set_up, tear_down),
        cmocka_unit_test_setup_teardown(a_filter_life_is_an_observation, set_up, tear_down),
        cmocka_unit_test_setup_teardown(untested_oil_is_no_clean_oil, set_up, tear_down),
        cmocka_unit_test_setup_teardown(a_level_is_loose_oil_and_batches, set_up, tear_down),
        cmocka_unit_test_setup_teardown(slips_are_told, set_up, tear_down),
        cmocka_unit_test_setup_teardown(names_and_slips_make_no_longer_year, set_up, tear_down),
        cmocka_unit_test_setup_teardown(what_was_not_there_has_no_source, set_up, tear_down),
        cmocka_unit_test_setup_teardown(an_odometer_that_runs_back_is_refused, set_up, tear_down),
        cmocka_unit_test_setup_teardown(what_runs_back_unsaid_invents_no_way, set_up, tear_down),
        cmocka_unit_test_setup_teardown(a_new_odometer_loses_no_distance, set_up, tear_down),
        cmocka_unit_test_setup_teardown(an_undo_takes_back_and_loses_nothing, set_up, tear_down),
        cmocka_unit_test_setup_teardown(refusals_say_what_is_wrong, set_up, tear_down),
        cmocka_unit_test_setup_teardown(lists_page_and_search, set_up, tear_down),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
