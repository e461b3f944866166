// SPDX-License-Identifier: GPL-3.0-or-later
// CSV out and in: the bytes come back the same, every fault has its file, line and column, and it is all or
// nothing.
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>
#include <cmocka.h>

#include "logbook/csv.h"
#include "logbook/impl.h"
#include "logbook/value.h"
#include "support.h"

static size_t read_all(const char *folder, OwLogKind kind, char *bytes, size_t room) {
    char path[600];
    (void)snprintf(path, sizeof path, "%s/%s.csv", folder, ow_log_kind(kind)->word);
    FILE *file = fopen(path, "rb");
    assert_non_null(file);
    const size_t size = fread(bytes, 1, room, file);
    (void)fclose(file);
    return size;
}

static void write_kind(const char *folder, const char *word, const char *text) {
    char path[600];
    (void)mkdir(folder, 0700);
    (void)snprintf(path, sizeof path, "%s/%s.csv", folder, word);
    FILE *file = fopen(path, "wb");
    assert_non_null(file);
    (void)fputs(text, file);
    assert_int_equal(fclose(file), 0);
}

static void assert_same_files(const char *a, const char *b) {
    static char first[1 << 20], second[1 << 20];
    for (int k = 1; k < OW_LOG_KINDS; k++) {
        const size_t size = read_all(a, (OwLogKind)k, first, sizeof first);
        assert_true(size < sizeof first && size == read_all(b, (OwLogKind)k, second, sizeof second));
        assert_memory_equal(first, second, size);
    }
}

static void everything_comes_back_byte_for_byte(void **state) {
    (void)state;
    for (int run = 0; run < 5; run++) {
        char folder[256], path[512], a[512], b[512], other[512];
        folder_make(folder);
        OwLogbook *book = open_book(path_in(path, folder, "a.owlog"), OW_LOG_CREATE);
        assert_int_equal(ow_log_run(book, "PRAGMA synchronous = OFF"), SQLITE_OK);
        Yard yard = {.state = (uint64_t)(run + 50)};
        make_things(book, &yard);
        // A name that was used, taken back and used again.
        const int64_t first = add_thing(book, OW_LOG_VESSEL, "Kanne \"groß\", rot", yard.now_s);
        OwLogEntry e = entry_of(OW_LOG_PICKUP, yard.now_s);
        set_number(&e, "source", yard.sources[0]);
        set_number(&e, "into", first);
        set_si(&e, "volume", 0.0123456789); // rounds to a whole microlitre... in litres of six decimals
        set_text(&e, "note", " a, \"b\" ");
        const int64_t into_first = add(book, e);
        assert_int_equal(ow_logbook_undo(book, into_first, NULL, NULL, NULL), OW_OK);
        assert_int_equal(ow_logbook_undo(book, first, "wrong", NULL, NULL), OW_OK);
        (void)add_thing(book, OW_LOG_VESSEL, "Kanne \"groß\", rot", yard.now_s);
        for (int i = 0; i < 300; i++) {
            (void)add_random(book, &yard);
        }
        OwFaults faults = {0};
        assert_int_equal(ow_logbook_export(book, path_in(a, folder, "a"), false, &faults), OW_OK);
        assert_int_equal(ow_logbook_export(book, a, false, &faults), OW_ERROR_USE);
        assert_true(has_fault(&faults, "is there already"));
        ow_faults_clear(&faults);
        OwLogbook *fresh = open_book(path_in(other, folder, "b.owlog"), OW_LOG_CREATE);
        OwLogImported done;
        const OwStatus status = ow_logbook_import(fresh, a, &done, &faults);
        print_faults(&faults);
        assert_int_equal(status, OW_OK);
        assert_true(done.same == 0 && done.added == ow_logbook_version(book) - 1 && done.added > 200);
        check_sound(fresh);
        assert_int_equal(ow_logbook_export(fresh, path_in(b, folder, "b"), false, NULL), OW_OK);
        assert_same_files(a, b);
        // Once more into the same: nothing new.
        const int64_t version = ow_logbook_version(fresh);
        OwLogImported again;
        assert_int_equal(ow_logbook_import(fresh, a, &again, &faults), OW_OK);
        assert_true(again.added == 0 && again.same == done.added);
        assert_int_equal(ow_logbook_version(fresh), version);
        // The sums are the same as well.
        OwLogTotals t, u;
        assert_int_equal(ow_logbook_totals(book, 0, 0, 0, &t, NULL), OW_OK);
        assert_int_equal(ow_logbook_totals(fresh, 0, 0, 0, &u, NULL), OW_OK);
        assert_memory_equal(&t, &u, sizeof t);
        ow_logbook_close(&book);
        ow_logbook_close(&fresh);
        folder_drop(folder);
    }
}

/// As spreadsheets save it where a comma is the decimal mark: semicolons or tabs, a byte order mark in front.
static void semicolons_and_decimal_commas(void **state) {
    (void)state;
    static const char *const texts[] = {
        "\357\273\277at;vehicle;odometer (km);note\r\n2026-01-02T10:00:00Z;van;182350,5;\"a; b, c\"\r\n",
        "at\tvehicle\todometer (km)\tnote\n2026-01-02T10:00:00Z\tvan\t182350,5\t\"a; b, c\"\n",
        "at,vehicle,odometer (km),note\n2026-01-02T10:00:00Z,van,182350.5,\"a; b, c\"\n"};
    for (size_t i = 0; i < sizeof texts / sizeof texts[0]; i++) {
        char folder[256], path[512];
        folder_make(folder);
        OwLogbook *book = open_book(path_in(path, folder, "book.owlog"), OW_LOG_CREATE);
        (void)add_thing(book, OW_LOG_VEHICLE, "van", 1000);
        FILE *file = fopen(path_in(path, folder, "odometer.csv"), "wb");
        assert_non_null(file);
        assert_true(fputs(texts[i], file) >= 0);
        assert_int_equal(fclose(file), 0);
        OwLogImported imported;
        OwFaults faults = {0};
        if (ow_logbook_import(book, folder, &imported, &faults) != OW_OK) {
            print_faults(&faults);
            fail();
        }
        OwArena *arena = ow_arena_create();
        OwLogEntry e;
        assert_int_equal(ow_logbook_entry(book, 2, arena, &e, NULL), OW_OK);
        assert_true(e.values[ow_log_field_of(OW_LOG_ODOMETER, "odometer")].si == 182350500.0);
        assert_string_equal(e.values[ow_log_field_of(OW_LOG_ODOMETER, "note")].text, "a; b, c");
        ow_arena_destroy(&arena);
        // With commas between the fields, one in a number is no point.
        file = fopen(path, "wb");
        assert_non_null(file);
        assert_true(fputs("at,vehicle,odometer (km)\n2026-01-03,van,\"182400,5\"\n", file) >= 0);
        assert_int_equal(fclose(file), 0);
        assert_int_equal(ow_logbook_import(book, folder, &imported, &faults), OW_ERROR_VALUE);
        assert_true(has_fault(&faults, "is not a number of km"));
        ow_faults_clear(&faults);
        ow_logbook_close(&book);
        folder_drop(folder);
    }
}

typedef struct Wrong {
    const char *file, *text, *fault; ///< "line:column: words"
} Wrong;

#define PICKUP_HEAD "id,at,made,source,volume (L),into,price,distance (km),work (s),note\r\n"

static void every_fault_has_its_place(void **state) {
    (void)state;
    static const Wrong wrong[] = {
        {"pickup", PICKUP_HEAD ",2026-01-02,,Plum kitchen,abc,raw drum,,,,\r\n",
         "pickup.csv:2:27: pickup: volume: \"abc\" is not a number of L"},
        {"pickup", PICKUP_HEAD ",2026-01-02,,Plum kitchen,5 L,raw drum,,,,\r\n",
         "pickup.csv:2:27: pickup: volume:"},
        {"pickup", PICKUP_HEAD ",2026-01-02,,Plum kitchen,1.2345678,raw drum,,,,\r\n", "at most 6 decimals"},
        {"pickup", PICKUP_HEAD ",2026-01-02,,Plum kitchen,-5,raw drum,,,,\r\n",
         "pickup.csv:2:27: pickup: volume: the value is out of range"},
        {"pickup", PICKUP_HEAD ",2026-01-02,,Plum kitchen,,raw drum,,,,\r\n",
         "pickup.csv:2:27: pickup: volume: volume is missing"},
        {"pickup", PICKUP_HEAD ",2026-02-30,,Plum kitchen,5,raw drum,,,,\r\n",
         "pickup.csv:2:2: pickup: \"2026-02-30\" is not a time"},
        {"pickup", PICKUP_HEAD ",,,Plum kitchen,5,raw drum,,,,\r\n",
         "pickup.csv:2:1: pickup: the time is missing"},
        {"pickup", PICKUP_HEAD ",2026-01-02,,Plumm kitchen,5,raw drum,,,,\r\n",
         "pickup.csv:2:14: pickup: source: there is no source named"},
        {"pickup", PICKUP_HEAD ",2026-01-02,,\"Plum\r\n\r\nkitchen\",5,nowhere,,,,\r\n",
         "pickup.csv:2:14: pickup: source:"},
        {"pickup", PICKUP_HEAD ",2026-01-02,,Plum kitchen,5,raw drum,1.234,,,\r\n",
         "pickup.csv:2:38: pickup: price: \"1.234\" is not an amount"},
        {"pickup", PICKUP_HEAD "x,2026-01-02,,Plum kitchen,5,raw drum,,,,\r\n",
         "pickup.csv:2:1: pickup: \"x\" is not the number of an entry"},
        {"pickup", PICKUP_HEAD ",2026-01-02,,Plum kitchen,5,raw drum\r\n",
         "pickup.csv:2:1: pickup: the line has 6 fields, the headings are 10"},
        {"pickup", PICKUP_HEAD ",2026-01-02,,Plum \"kitchen\",5,raw drum,,,,\r\n",
         "pickup.csv:2:19: pickup: a quote inside a field"},
        {"pickup", PICKUP_HEAD ",2026-01-02,,\"Plum kitchen\"x,5,raw drum,,,,\r\n",
         "pickup.csv:2:28: pickup: text follows a closing quote"},
        {"pickup",
         PICKUP_HEAD ",2026-01-02,,Gr\xC3\xB6\xC3\x9F"
                     "e,5\",raw drum,,,,\r\n",
         "pickup.csv:2:21: pickup: a quote inside a field"},
        {"pickup", PICKUP_HEAD "\r\n\r\n,2026-01-02,,\"Plum kitchen,5,raw drum,,,,\r\n",
         "pickup.csv:4:14: pickup: a quote is opened and not closed"},
        {"pickup", "id,at,source,volume,into\r\n",
         "pickup.csv:1:14: pickup: the heading \"volume\" is not known; write \"volume (L)\""},
        {"pickup", "id,at,sorce,volume (L),into\r\n",
         "pickup.csv:1:7: pickup: the heading \"sorce\" is not known; did you mean \"source\"?"},
        {"pickup", "id,at,source,volume (L)\r\n", "pickup.csv:1:1: pickup: the column \"into\" is missing"},
        {"pickup", "id,at,source,volume (L),into,at\r\n",
         "pickup.csv:1:30: pickup: the heading stands here twice"},
        {"pickup", "", "pickup.csv:1:1: pickup: the file has no headings"},
        {"pickup", PICKUP_HEAD "1,2026-01-02,,Plum kitchen,5,raw drum,,,,\r\n",
         "pickup.csv:2:1: pickup: entry 1 is there already and says something else"},
        {"pickup",
         PICKUP_HEAD
         "91,2026-01-02,,Plum kitchen,5,raw drum,,,,\r\n91,2026-01-03,,Plum kitchen,5,raw drum,,,,\r\n",
         "pickup.csv:3:1: pickup: the number 91 stands in two lines"},
        {"expense", "id,at,made,what,amount,vehicle,detail,work (s),note\n,2026-01-02,,fliters,5,,,,\n",
         "expense.csv:2:14: expense: what: \"fliters\" is none of its choices; did you mean filters?"},
        {"undo", "id,at,made,entry,why\n,2026-01-02,,#777,\n",
         "undo.csv:2:14: undo: entry: there is no entry 777"},
        {"undo", "id,at,made,entry,why\n,2026-01-02,,pump,\n",
         "undo.csv:2:14: undo: entry: \"pump\" is not the number of an entry"},
        {"gauge",
         "id,at,made,vehicle,filter,reading (kPa),temperature (degC),odometer "
         "(km),note\n,2026-01-02,,van,f,3000,,,\n",
         "gauge.csv:2:20: gauge: reading: the value is out of range"},
        {"gauge",
         "id,at,made,vehicle,filter,reading (kPa),temperature (degC),odometer "
         "(km),note\n,2026-01-02,,van,f,30,999,,\n",
         "gauge.csv:2:23: gauge: temperature: the value is out of range"},
    };
    for (size_t i = 0; i < sizeof wrong / sizeof wrong[0]; i++) {
        char folder[256], path[512], csv[512];
        folder_make(folder);
        OwLogbook *book = open_book(path_in(path, folder, "a.owlog"), OW_LOG_CREATE);
        Yard yard = {.state = 1};
        make_things(book, &yard);
        const int64_t version = ow_logbook_version(book);
        // A good file beside it must not go in either.
        write_kind(path_in(csv, folder, "csv"), "vessel", "id,at,name\n,2026-01-01,extra drum\n");
        write_kind(csv, wrong[i].file, wrong[i].text);
        OwFaults faults = {0};
        assert_int_not_equal(ow_logbook_import(book, csv, NULL, &faults), OW_OK);
        if (!has_fault(&faults, wrong[i].fault)) {
            fail_msg("%s", wrong[i].fault);
        }
        ow_faults_clear(&faults);
        assert_int_equal(ow_logbook_version(book), version);
        check_sound(book);
        ow_logbook_close(&book);
        folder_drop(folder);
    }
}

static void all_faults_are_told_at_once(void **state) {
    (void)state;
    char folder[256], path[512], csv[512];
    folder_make(folder);
    OwLogbook *book = open_book(path_in(path, folder, "a.owlog"), OW_LOG_CREATE);
    write_kind(path_in(csv, folder, "csv"), "vessel",
               "id,at,name\n,2026-13-01,a\n,2026-01-01,\n,2026-01-01,#b\n");
    write_kind(csv, "vehicle", "id,at,name\n,today,van\n");
    OwFaults faults = {0};
    assert_int_equal(ow_logbook_import(book, csv, NULL, &faults), OW_ERROR_VALUE);
    assert_int_equal(faults.errors, 4);
    assert_true(has_fault(&faults, "vessel.csv:2:2") && has_fault(&faults, "vessel.csv:3:13") &&
                has_fault(&faults, "vessel.csv:4:13") && has_fault(&faults, "vehicle.csv:2:2"));
    ow_faults_clear(&faults);
    // No file at all.
    assert_int_equal(ow_logbook_import(book, folder, NULL, &faults), OW_ERROR_READ);
    assert_true(has_fault(&faults, "holds no file of a kind"));
    ow_faults_clear(&faults);
    ow_logbook_close(&book);
    folder_drop(folder);
}

/// By hand or from a spreadsheet: no numbers, other order of columns, LF, a byte order mark, names across
/// files.
static void a_hand_made_folder_goes_in(void **state) {
    (void)state;
    char folder[256], path[512], csv[512];
    folder_make(folder);
    OwLogbook *book = open_book(path_in(path, folder, "a.owlog"), OW_LOG_CREATE);
    write_kind(path_in(csv, folder, "csv"), "source",
               "\xEF\xBB\xBFid,at,name\n,2026-01-01,\"Caf\xC3\xA9, M\xC3\xBCller\"");
    write_kind(csv, "vessel", "at,name,id,capacity (L)\r2026-01-01,drum,,200\r");
    write_kind(csv, "pickup",
               "at,volume (L),source,into,id\n2026-01-05 17:45,12.5,\"caf\xC3\xA9, M\xC3\xBCller\",drum,\n");
    write_kind(csv, "batch", "at,name,from,volume (L)\n2026-01-06,b1,drum,10\n");
    write_kind(csv, "undo", "at,entry\n");
    OwFaults faults = {0};
    OwLogImported done;
    const OwStatus status = ow_logbook_import(book, csv, &done, &faults);
    print_faults(&faults);
    assert_int_equal(status, OW_OK);
    assert_int_equal(done.added, 4);
    OwLogTotals t;
    assert_int_equal(ow_logbook_totals(book, 0, 0, 0, &t, NULL), OW_OK);
    assert_true(t.collected_m3 == 0.0125);
    check_sound(book);
    ow_logbook_close(&book);
    folder_drop(folder);
}

static void fixed_numbers_and_times(void **state) {
    (void)state;
    static const struct {
        const char *text;
        int decimals;
        bool is_good;
        int64_t value;
    } numbers[] = {
        {"0", 6, true, 0},          {"12.5", 6, true, 12500000},
        {"-0.000001", 6, true, -1}, {"12.", 2, false, 0},
        {".5", 2, true, 50},        {"1e3", 2, false, 0},
        {"1,5", 2, false, 0},       {"", 2, false, 0},
        {"-", 2, false, 0},         {"--1", 2, false, 0},
        {"1.234", 2, false, 0},     {"99999999999999999999", 0, false, 0},
        {"+1", 2, false, 0},        {" 1", 2, false, 0},
        {"0.10", 2, true, 10},      {"9007199254740", 2, true, 900719925474000},
        {"nan", 2, false, 0},       {"1 ", 2, false, 0},
    };
    for (size_t i = 0; i < sizeof numbers / sizeof numbers[0]; i++) {
        int64_t value = 0;
        const bool is_good = ow_log_fixed_read(numbers[i].text, numbers[i].decimals, &value) == OW_OK;
        if (is_good != numbers[i].is_good || value != numbers[i].value) {
            fail_msg("\"%s\": %lld", numbers[i].text, (long long)value);
        }
    }
    // The first second of some days, from the Unix time of POSIX.1-2017, 4.16 "Seconds Since the Epoch".
    static const int years[] = {1970, 1972, 1999, 2000, 2001, 2026, 2100, 2400, 9999};
    for (size_t i = 0; i < sizeof years / sizeof years[0]; i++) {
        for (int yday = 0; yday < 365; yday += 7) {
            const int64_t y = years[i] - 1900;
            const int64_t at = yday * INT64_C(86400) + (y - 70) * 31536000 + ((y - 69) / 4) * 86400 -
                               ((y - 1) / 100) * 86400 + ((y + 299) / 400) * 86400 + 3723;
            char text[32];
            int64_t back = 0;
            ow_log_time_write(at, text, sizeof text);
            assert_int_equal(ow_log_time_read(text, &back), OW_OK);
            assert_int_equal(back, at);
            char year[8];
            (void)snprintf(year, sizeof year, "%04d-", years[i]);
            assert_memory_equal(text, year, 5);
            assert_string_equal(text + 10, "T01:02:03Z");
        }
    }
    static const char *const bad[] = {"",
                                      "2026",
                                      "2026-1-1",
                                      "2026-01-32",
                                      "2026-02-29",
                                      "2026-01-01T24:00",
                                      "2026-01-01T10:60",
                                      "1969-12-31",
                                      "2026-01-01x",
                                      "2026-01-01T",
                                      "2026-01-01T10:00:60Z",
                                      "99999-01-01"};
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
        int64_t at = 0;
        assert_int_equal(ow_log_time_read(bad[i], &at), OW_ERROR_VALUE);
    }
    int64_t money = 0;
    char text[32];
    assert_int_equal(ow_log_money_read("-3.2", &money), OW_OK);
    assert_int_equal(money, -320);
    ow_log_money_write(-5, text, sizeof text);
    assert_string_equal(text, "-0.05");
    ow_log_money_write(123450, text, sizeof text);
    assert_string_equal(text, "1234.50");
}

static void what_people_type(void **state) {
    (void)state;
    OwUnits *units = NULL;
    assert_int_equal(ow_units_create(&units), OW_OK);
    static const struct {
        OwLogKind kind;
        const char *key, *text;
        double si; ///< or the number
        const char *shown;
    } typed[] = {
        {OW_LOG_PICKUP, "volume", "60", 0.060, "60 L"},
        {OW_LOG_PICKUP, "volume", "5 US gal", 0.018927, "18.9 L"},
        {OW_LOG_PICKUP, "work", "20", 1200, "20 min"},
        {OW_LOG_FILL, "odometer", "76712 mi", 123455996, "123456 km"},
        {OW_LOG_TEST, "acid", "2.1", 0.0021, "2.1 mg/g"},
        {OW_LOG_TEST, "acid", "2.1 mg KOH/g", 0.0021, "2.1 mg/g"},
        {OW_LOG_TEST, "acid", "2.1 mg KOH / g", 0.0021, "2.1 mg/g"},
        {OW_LOG_TEST, "water", "750", 750e-6, "750 mg/kg"},
        {OW_LOG_TEST, "viscosity", "35", 35e-6, "35 mm\xC2\xB2/s"},
        {OW_LOG_STEP, "energy", "1.5", 5.4e6, "1.5 kWh"},
        {OW_LOG_STEP, "what", "dry", OW_LOG_STEP_DRY, "dry"},
        {OW_LOG_FILL, "price", "12.5", 1250, "12.50"},
        {OW_LOG_FILL, "vehicle", "#12", 12, "#12"},
        {OW_LOG_UNDO, "entry", "12", 12, "#12"},
    };
    for (size_t i = 0; i < sizeof typed / sizeof typed[0]; i++) {
        const OwLogField *field =
            &ow_log_kind(typed[i].kind)->fields[ow_log_field_of(typed[i].kind, typed[i].key)];
        OwLogValue value = {0};
        char wrong[256], remedy[256], shown[100];
        if (ow_log_value_read(field, typed[i].text, units, &value, wrong, remedy) != OW_OK) {
            fail_msg("%s: %s; %s", typed[i].text, wrong, remedy);
        }
        const double got = field->type == OW_LOG_QUANTITY ? value.si : (double)value.number;
        if (!(got > typed[i].si * (1 - 1e-4) && got < typed[i].si * (1 + 1e-4))) {
            fail_msg("%s: %g", typed[i].text, got);
        }
        ow_log_value_write(field, &value, OW_DISPLAY_METRIC, shown, sizeof shown);
        assert_string_equal(shown, typed[i].shown);
    }
    static const struct {
        OwLogKind kind;
        const char *key, *text, *words;
    } bad[] = {
        {OW_LOG_PICKUP, "volume", "60 kg", "is not a volume"},
        {OW_LOG_PICKUP, "volume", "5000000", "out of range"},
        {OW_LOG_FILL, "odometer", "123456", "is not a length"},
        {OW_LOG_STEP, "what", "dri", "none of its choices"},
        {OW_LOG_FILL, "price", "12 EUR", "not an amount"},
        {OW_LOG_UNDO, "entry", "van", "not the number of an entry"},
        {OW_LOG_PICKUP, "note", "", "nothing is written"},
        {OW_LOG_PICKUP, "note", "a\tb", "not one line"},
        {OW_LOG_FILL, "vehicle", "#0", "not the number"},
    };
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
        const OwLogField *field = &ow_log_kind(bad[i].kind)->fields[ow_log_field_of(bad[i].kind, bad[i].key)];
        OwLogValue value = {.number = 77};
        char wrong[256], remedy[256];
        assert_int_not_equal(ow_log_value_read(field, bad[i].text, units, &value, wrong, remedy), OW_OK);
        if (strstr(wrong, bad[i].words) == NULL || remedy[0] == '\0' || value.number != 77) {
            fail_msg("%s: %s; %s", bad[i].text, wrong, remedy);
        }
    }
    ow_units_destroy(&units);
    const char *nearest = NULL;
    assert_int_equal(ow_log_kind_of("pikup", &nearest), OW_LOG_NONE);
    assert_string_equal(nearest, "pickup");
    assert_int_equal(ow_log_kind_of("fill", NULL), OW_LOG_FILL);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(everything_comes_back_byte_for_byte),
        cmocka_unit_test(semicolons_and_decimal_commas),
        cmocka_unit_test(every_fault_has_its_place),
        cmocka_unit_test(all_faults_are_told_at_once),
        cmocka_unit_test(a_hand_made_folder_goes_in),
        cmocka_unit_test(fixed_numbers_and_times),
        cmocka_unit_test(what_people_type),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
