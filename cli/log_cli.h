// SPDX-License-Identifier: GPL-3.0-or-later
// What the verb `log` and the page share: short forms in, views as JSON out. Neither has logic of its own.
#ifndef OW_CLI_LOG_CLI_H
#define OW_CLI_LOG_CLI_H

#include <jansson.h>

#include "oilwright/learn.h"
#include "oilwright/logbook.h"

int ow_cli_log(int argc, char **argv);

// ---- Short forms (log_words.c): no file is touched
// ---------------------------------------------------------------------------------------------------------

/// A thing that may be meant. `name` lives as long as the list.
typedef struct OwLogThing {
    OwLogKind kind; ///< OW_LOG_FILTER: a filter that a vehicle has
    int64_t id;     ///< of the vehicle then
    const char *name;
} OwLogThing;
/// The things a short form may name: live sources, vessels, vehicles and the newest batches.
typedef struct OwLogNames {
    const OwLogThing *things;
    int count;
} OwLogNames;

/// What is asked around the words.
typedef struct OwLogSpeech {
    const OwLogNames *names; ///< NULL: none known
    int64_t now_s;           ///< UTC; "yesterday" and "-2d" count from it
    int offset_s;            ///< local time less UTC, for "08:30" and dates
    OwUnits *units;
    OwDisplay display; ///< of the echo
} OwLogSpeech;

#define OW_LOG_WORDS_MAX 1000 ///< bytes of a short form
/// A short form, understood. No pointers to outside; do not copy it by value (texts point into `room`).
typedef struct OwLogSaid {
    bool is_undo;        ///< take back entry `undo`; its reason stands in the entry
    int64_t undo;        ///< its number
    OwLogEntry entry;    ///< else: to be added as it is
    char sentence[400];  ///< what was understood: "Pick-up of 60 L from Hill Cafe into drum 2"
    char question[300];  ///< when not: one line that asks, with the nearest name or an example
    char suggestion[64]; ///< the nearest word or name of the question, "" when none
    char room[OW_LOG_WORDS_MAX + 32 * OW_LOG_FIELDS];
} OwLogSaid;

/// Reads "pickup olive grove 60 L drum2", "km van 182420", "undo 153", "yesterday fill van 40L from tote1";
/// order is free where it is clear. OW_ERROR_VALUE: not understood or not clear, `question` asks; nothing is
/// guessed.
OwStatus ow_log_words_read(const char *text, const OwLogSpeech *speech, OwLogSaid *said);
/// The sentence of an entry, as the echo and the lists show it.
void ow_log_words_say(const OwLogEntry *entry, OwDisplay display, char *text, size_t size);

// ---- With a logbook (log_do.c)
// ---------------------------------------------------------------------------------------------------------

/// The names of a logbook, in the arena.
OwStatus ow_log_names_read(OwLogbook *book, OwArena *arena, OwLogNames *names, OwFaults *faults);
/// Reads a short form and writes it: said->entry.id (or the undo's number in *undo_id) is set. `is_dry`: only
/// reads. OW_ERROR_VALUE with said->question when it was not understood (no fault is added then).
OwStatus ow_log_words_do(OwLogbook *book, const char *text, bool is_dry, OwUnits *units, OwDisplay display,
                         int64_t now_s, OwLogSaid *said, int64_t *undo_id, OwFaults *faults);

// ---- Views as JSON (log_json.c). SI numbers, the unit in the key; "text" members are for reading, in the
// display's units. Caller owns; NULL: out of memory, or faults say why.
// ---------------------------------------------------------------------------------------------------------

/// {format, entries: [{id, kind, at, made, undone_by, sentence, fields: {key: {si|number|text, text}}}],
/// more: null or {before_at_s, before_id}}
json_t *ow_log_json_list(OwLogbook *book, const OwLogFilter *filter, OwDisplay display, OwFaults *faults);
json_t *ow_log_json_entry(OwLogbook *book, int64_t id, OwDisplay display, OwFaults *faults);
/// {vessels: [...]}: level, capacity, batches, warnings
json_t *ow_log_json_levels(OwLogbook *book, OwDisplay display, OwFaults *faults);
json_t *ow_log_json_sources(OwLogbook *book, OwDisplay display, OwFaults *faults);
json_t *ow_log_json_batches(OwLogbook *book, bool with_done, OwDisplay display, OwFaults *faults);
/// One batch: its row, its entries, the trace back.
json_t *ow_log_json_batch(OwLogbook *book, int64_t id, OwDisplay display, OwFaults *faults);
json_t *ow_log_json_vehicles(OwLogbook *book, OwDisplay display, OwFaults *faults);
/// One vehicle: its row, fuel use learned, filters, newest entries.
json_t *ow_log_json_vehicle(OwLogbook *book, int64_t id, OwDisplay display, OwFaults *faults);
/// Back for a vessel, batch or vehicle (its last fill); forward for a pick-up.
json_t *ow_log_json_trace(OwLogbook *book, int64_t id, OwDisplay display, OwFaults *faults);
/// Lives of filters and the learned distance of each place, with points for the life curve.
json_t *ow_log_json_filters(OwLogbook *book, int64_t vehicle, OwDisplay display, OwFaults *faults);
/// Reminders, the most urgent first.
json_t *ow_log_json_due(OwLogbook *book, int64_t now_s, OwDisplay display, OwFaults *faults);
json_t *ow_log_json_totals(OwLogbook *book, int64_t from_s, int64_t to_s, int64_t vehicle, OwDisplay display,
                           OwFaults *faults);
/// The table of kinds and fields, for forms.
json_t *ow_log_json_kinds(void);
/// A short form's answer: {understood, sentence, question, suggestion, id, undo}.
json_t *ow_log_json_said(const OwLogSaid *said, OwStatus status, int64_t undo_id);

#endif
