// SPDX-License-Identifier: GPL-3.0-or-later
// What the verb `log` and the page share: short forms in, views as JSON out. Neither has logic of its own.
#ifndef OW_CLI_LOG_CLI_H
#define OW_CLI_LOG_CLI_H

#include <jansson.h>

#include "oilwright/learn.h"
#include "oilwright/logbook.h"

// ---- Short forms (log_words.c): no file is touched
// ---------------------------------------------------------------------------------------------------------

/// A thing that may be meant. `name` lives as long as the list.
typedef struct OwLogThing {
    OwLogKind kind; ///< OW_LOG_FILTER: a filter that a vehicle has
    int64_t id;     ///< of the vehicle then
    const char *name;
    double volume_m3; ///< own oil of a vessel or batch, by the book
} OwLogThing;
/// The things a short form may name: live sources, vessels, vehicles and the newest batches.
typedef struct OwLogNames {
    const OwLogThing *things;
    int count;
} OwLogNames;

/// What is asked around the words.
typedef struct OwLogSpeech {
    const OwLogNames *names;     ///< NULL: none known
    int64_t now_s;               ///< UTC; "yesterday" and "-2d" count from it
    int (*offset)(int64_t at_s); ///< local time less UTC at a time, for "08:30" and dates; NULL: UTC
    OwUnits *units;
    OwDisplay display; ///< of the echo
} OwLogSpeech;

#define OW_LOG_WORDS_MAX 1000 ///< bytes of a short form
/// A short form, understood. No pointers to outside; do not copy it by value (texts point into `room`).
typedef struct OwLogSaid {
    bool is_undo;        ///< take back entry `undo`; its reason stands in the entry
    int64_t undo;        ///< its number, 0: the one written last
    OwLogEntry entry;    ///< else: to be added as it is
    char sentence[400];  ///< what was understood: "Pick-up of 60 L from Hill Cafe into drum 2"
    char question[300];  ///< when not: one line that asks, with the nearest name or an example
    char suggestion[64]; ///< the nearest word or name of the question, "" when none
    char room[OW_LOG_WORDS_MAX + 32 * OW_LOG_FIELDS];
} OwLogSaid;

/// Reads "pickup olive grove 60 L drum2", "km van 182420", "undo 153", "undo last", "yesterday fill van 40L from tote1";
/// order is free where it is clear. OW_ERROR_VALUE: not understood or not clear, `question` asks; nothing is
/// guessed.
OwStatus ow_log_words_read(const char *text, const OwLogSpeech *speech, OwLogSaid *said);
/// The one thing that a name means: as written, by letters and digits, or by some whole words of it. False:
/// none or several; `nearest` then has a name that is near, or "".
bool ow_log_words_thing(const OwLogSpeech *speech, unsigned kinds, const char *name, int64_t *id,
                        char nearest[OW_LOG_NAME_MAX + 1]);
/// The sentence of an entry, as the echo and the lists show it.
void ow_log_words_say(const OwLogEntry *entry, OwDisplay display, char *text, size_t size);

// ---- This machine's clock (log_clock.c)
// ---------------------------------------------------------------------------------------------------------

/// Local time less UTC, seconds, at a time.
int ow_log_local_offset(int64_t at_s);
/// UTC of a local time; `offset` NULL: the same.
int64_t ow_log_utc(int64_t local_s, int (*offset)(int64_t at_s));
/// Writes "2026-11-25 08:30" as this machine's clock showed it; text[10] parts day and hour.
void ow_log_local_write(int64_t at_s, char text[24]);
/// ow_log_time_read, but a day or hour without Z is this machine's.
OwStatus ow_log_local_read(const char *text, int64_t *at_s);

// ---- With a logbook (log_do.c)
// ---------------------------------------------------------------------------------------------------------

/// The names of a logbook, in the arena.
OwStatus ow_log_names_read(OwLogbook *book, OwArena *arena, OwLogNames *names, OwFaults *faults);
/// Reads a short form and writes it: said->entry.id (or the undo's number in *undo_id) is set. `is_dry`: only
/// reads. Clock times are this machine's. OW_ERROR_VALUE with said->question when it was not understood
/// (no fault is added then).
OwStatus ow_log_words_do(OwLogbook *book, const char *text, bool is_dry, OwUnits *units, OwDisplay display,
                         int64_t now_s, OwLogSaid *said, int64_t *undo_id, OwFaults *faults);

/// What the filter study of a rig says of one filter.
typedef struct OwLogStudy {
    int64_t vehicle;
    const char *filter;  ///< its name in the logbook; NULL: all of the vehicle's
    double distance_m;   ///< 0: none
    double solids_kg_kg; ///< at this dirt, 0: 24 mg/kg
} OwLogStudy;

// ---- Views as JSON (log_json*.c). SI numbers, the unit in the key, times in UTC seconds, null for what is
// not known;
// "..._text" members are for reading, in the display's units. Caller owns; NULL: out of memory, or faults say
// why. docs/guide-log.md lists the members.
// ---------------------------------------------------------------------------------------------------------

/// {entries, more: null or {before_at_s, before_id}}
json_t *ow_log_json_list(OwLogbook *book, const OwLogFilter *filter, OwDisplay display, OwFaults *faults);
json_t *ow_log_json_entry(OwLogbook *book, int64_t id, OwDisplay display, OwFaults *faults);
/// {vessels}
json_t *ow_log_json_levels(OwLogbook *book, OwDisplay display, OwFaults *faults);
/// {sources}
json_t *ow_log_json_sources(OwLogbook *book, OwDisplay display, OwFaults *faults);
/// {batches}
json_t *ow_log_json_batches(OwLogbook *book, bool with_done, OwDisplay display, OwFaults *faults);
/// {batch, entries, trace}
json_t *ow_log_json_batch(OwLogbook *book, int64_t id, OwDisplay display, OwFaults *faults);
/// {vehicles}
json_t *ow_log_json_vehicles(OwLogbook *book, OwDisplay display, OwFaults *faults);
/// {vehicles: [{vehicle, fuel, odd}]}: what each uses, learned once for all.
json_t *ow_log_json_fuel(OwLogbook *book, OwDisplay display, OwFaults *faults);
/// {vehicle, fuel, odd, filters: {places, lives}, entries}
json_t *ow_log_json_vehicle(OwLogbook *book, int64_t id, OwDisplay display, OwFaults *faults);
/// Back for a vessel, batch or vehicle (its last fill with oil from the yard); forward for a pick-up.
json_t *ow_log_json_trace(OwLogbook *book, int64_t id, OwDisplay display, OwFaults *faults);
/// {places, lives}: what was learned of each place with its life curve, and the lives; vehicle 0: all.
json_t *ow_log_json_filters(OwLogbook *book, int64_t vehicle, OwDisplay display, OwFaults *faults);
/// {place}: one filter, the study of its rig as what was known before any log; null when the log has no such
/// filter. `study` has all its members.
json_t *ow_log_json_place(OwLogbook *book, const OwLogStudy *study, OwDisplay display, OwFaults *faults);
/// {reminders}, the most urgent first.
json_t *ow_log_json_due(OwLogbook *book, int64_t now_s, OwDisplay display, OwFaults *faults);
json_t *ow_log_json_totals(OwLogbook *book, int64_t from_s, int64_t to_s, int64_t vehicle, OwDisplay display,
                           OwFaults *faults);
/// {kinds}: the table of kinds and fields, for forms.
json_t *ow_log_json_kinds(void);
/// A short form's answer: {understood, sentence, question, suggestion, id, undo}.
json_t *ow_log_json_said(const OwLogSaid *said, OwStatus status, int64_t undo_id);

/// Traces a vessel or batch back, a pick-up forward, a vehicle by the oil of its last fill from the yard.
/// *heading (may be NULL, 200 bytes) says what was traced.
OwStatus ow_log_trace_read(OwLogbook *book, int64_t id, OwArena *arena, OwLogTrace *trace, char *heading,
                           OwFaults *faults);

// ---- Learning from a logbook (log_learn.c, log_due.c)
// ---------------------------------------------------------------------------------------------------------

/// Filter places of a logbook with their lives, learned together. Arrays are the arena's.
typedef struct OwLogFilters {
    OwLogFilterRow *rows; ///< lives, newest end first; at most 200
    int row_count;
    int *place_of; ///< of each row
    OwLearnPlace *places;
    int64_t *vehicles; ///< of each place
    const char **vehicle_names, **filters;
    OwLogFilterRow **current;     ///< life in place now, NULL when none
    double *solids_kg_kg, *oil_k; ///< of each place's newest life that tells; 0: none does
    int place_count;
    OwLearnFilters *model; ///< NULL when there is no place; end with ow_log_filters_clear
} OwLogFilters;
/// `study` NULL: by the log and a rule of thumb.
OwStatus ow_log_filters_read(OwLogbook *book, OwArena *arena, const OwLogStudy *study, OwLogFilters *filters,
                             OwFaults *faults);
void ow_log_filters_clear(OwLogFilters *filters);
/// Fuel use of all vehicles, in the order of `vehicles`; the newest 2000 fills.
OwStatus ow_log_fuel_read(OwLogbook *book, OwArena *arena, const OwLogVehicleRow *vehicles, int count,
                          OwLearnFuel **model, OwFaults *faults);
/// What is due, the most urgent first, in the arena.
OwStatus ow_log_due_read(OwLogbook *book, OwArena *arena, int64_t now_s, OwDisplay display,
                         OwReminder **reminders, int *count, OwFaults *faults);

/// Digits for %.*g: three, more where whole thousands would be written with a power of ten.
int ow_log_digits(double shown);
/// Which of the last results of a batch are over the limits of DIN 51605, as "acid 2.2 mg KOH/g is over 2
/// (DIN 51605)"; "" and false when none is.
bool ow_log_batch_over(const OwLogBatchRow *batch, char *text, size_t size);

#endif
