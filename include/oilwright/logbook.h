// SPDX-License-Identifier: GPL-3.0-or-later
// The logbook: one SQLite file of entries that are only ever added, and the views made from them.
#ifndef OILWRIGHT_LOGBOOK_H
#define OILWRIGHT_LOGBOOK_H

#include "oilwright/units.h"

// ---- Kinds and fields: one table for the command line, the CSV files and the page
// ---------------------------------------------------------------------------------------------------------

/// Kinds of entry. The first four are things with a name; the rest happen to them. The numbers are in the
/// file.
typedef enum OwLogKind {
    OW_LOG_NONE = 0,
    OW_LOG_SOURCE,   ///< a kitchen or other place that gives oil
    OW_LOG_VESSEL,   ///< a drum, tank or cone in the yard
    OW_LOG_VEHICLE,  ///< with the path of its rig file
    OW_LOG_BATCH,    ///< oil that is worked on under one name, taken from a vessel or started empty
    OW_LOG_PICKUP,   ///< oil from a source into a vessel or a batch
    OW_LOG_STEP,     ///< settle, heat, dry, filter, centrifuge, blend: what was lost and what was added
    OW_LOG_TEST,     ///< acid, water, solids, viscosity, density, and the decision
    OW_LOG_MOVE,     ///< oil from a vessel or batch into another, where it mixes
    OW_LOG_SHIFT,    ///< a whole batch into another vessel; it keeps its name
    OW_LOG_LEVEL,    ///< a vessel or batch was measured; the book follows
    OW_LOG_WASTE,    ///< waste handed over
    OW_LOG_FILL,     ///< oil and diesel into a vehicle
    OW_LOG_ODOMETER, ///< a reading
    OW_LOG_GAUGE,    ///< pressure or vacuum at a filter
    OW_LOG_FILTER,   ///< a filter fitted or changed
    OW_LOG_REPAIR,   ///< repair, service, conversion work
    OW_LOG_EXPENSE,  ///< money that no other entry holds
    OW_LOG_UNDO,     ///< takes one entry back
    OW_LOG_KINDS
} OwLogKind;

typedef enum OwLogType {
    OW_LOG_QUANTITY, ///< `si`, of the field's OwQuantity
    OW_LOG_TEXT,     ///< `text`, UTF-8 on one line, at most OW_LOG_TEXT_MAX bytes
    OW_LOG_CHOICE,   ///< `number`, an index into `choices`
    OW_LOG_REF,      ///< `number`, the id of a thing of a kind in `refs`; `text` its name
    OW_LOG_MONEY     ///< `number`, hundredths of the user's currency
} OwLogType;

#define OW_LOG_TEXT_MAX 400
#define OW_LOG_NAME_MAX 63
#define OW_LOG_FIELDS 16 ///< no kind has more

/// One row of the table. Quantities are kept as whole steps of `step` (SI), so that sums are exact and CSV
/// comes back byte for byte; a value is rounded to its step when added.
typedef struct OwLogField {
    const char *key, *label; ///< "oil"; "oil filled"
    OwLogType type;
    OwQuantity quantity;
    bool is_required;
    double low, high;           ///< SI, or hundredths of money: legal range
    const char *bare;           ///< unit of a bare number when people type ("L"); NULL: write the unit
    const char *csv_unit;       ///< unit in CSV headings; "" none
    double step, csv_step;      ///< SI of one step; steps in one CSV unit (a power of ten)
    double csv_zero;            ///< steps at which the CSV number is 0 (degC), else 0
    const char *const *choices; ///< NULL-terminated
    unsigned refs;              ///< bits 1u << OwLogKind
    const char *doc;
} OwLogField;

typedef struct OwLogKindRow {
    const char *word;  ///< "pickup": command line, CSV file name, JSON
    const char *label; ///< "Pick-up"
    bool is_thing;     ///< its first field is `name`, and others refer to it
    const OwLogField *fields;
    int field_count;
    const char *doc;
} OwLogKindRow;

/// The row of a kind, NULL for OW_LOG_NONE or a number out of range.
const OwLogKindRow *ow_log_kind(OwLogKind kind);
/// The kind of a word ("pickup"); OW_LOG_NONE with the nearest word in *nearest (NULL when none is near).
OwLogKind ow_log_kind_of(const char *word, const char **nearest);
/// Index of a field in its kind, -1 when there is none.
int ow_log_field_of(OwLogKind kind, const char *key);

/// Choices of the fields `step.what`, `step.waste` and `waste.what`, `test.decision`, `expense.what`,
/// `repair.what`, `filter.reason`, `vessel.use`.
typedef enum OwLogStep {
    OW_LOG_STEP_SETTLE,
    OW_LOG_STEP_HEAT,
    OW_LOG_STEP_DRY,
    OW_LOG_STEP_FILTER,
    OW_LOG_STEP_CENTRIFUGE,
    OW_LOG_STEP_BLEND,
    OW_LOG_STEP_OTHER,
    OW_LOG_STEP_CHOICES
} OwLogStep;
typedef enum OwLogWaste {
    OW_LOG_WASTE_WATER,
    OW_LOG_WASTE_SLUDGE,
    OW_LOG_WASTE_CAKE,
    OW_LOG_WASTE_OIL,
    OW_LOG_WASTE_CLOTHS,
    OW_LOG_WASTE_OTHER,
    OW_LOG_WASTE_CHOICES
} OwLogWaste;
typedef enum OwLogDecision {
    OW_LOG_DECISION_KEEP,
    OW_LOG_DECISION_REWORK,
    OW_LOG_DECISION_REJECT,
    OW_LOG_DECISION_CHOICES
} OwLogDecision;
typedef enum OwLogExpense {
    OW_LOG_EXPENSE_CONVERSION,
    OW_LOG_EXPENSE_EQUIPMENT,
    OW_LOG_EXPENSE_ELECTRICITY,
    OW_LOG_EXPENSE_FILTERS,
    OW_LOG_EXPENSE_ADDITIVES,
    OW_LOG_EXPENSE_TESTS,
    OW_LOG_EXPENSE_WASTE,
    OW_LOG_EXPENSE_LUBE,
    OW_LOG_EXPENSE_COLLECTION,
    OW_LOG_EXPENSE_DUTY,
    OW_LOG_EXPENSE_INSURANCE,
    OW_LOG_EXPENSE_OTHER,
    OW_LOG_EXPENSE_CHOICES
} OwLogExpense;
typedef enum OwLogRepair {
    OW_LOG_REPAIR_REPAIR,
    OW_LOG_REPAIR_OIL_CHANGE,
    OW_LOG_REPAIR_BATTERY,
    OW_LOG_REPAIR_INJECTORS,
    OW_LOG_REPAIR_GLOW_PLUGS,
    OW_LOG_REPAIR_CONVERSION,
    OW_LOG_REPAIR_OTHER,
    OW_LOG_REPAIR_CHOICES
} OwLogRepair;
typedef enum OwLogReason {
    OW_LOG_REASON_FITTED,
    OW_LOG_REASON_PLUGGED,
    OW_LOG_REASON_PLANNED,
    OW_LOG_REASON_LEAK,
    OW_LOG_REASON_OTHER,
    OW_LOG_REASON_CHOICES
} OwLogReason;
typedef enum OwLogUse {
    OW_LOG_USE_RAW,
    OW_LOG_USE_SETTLING,
    OW_LOG_USE_WORK,
    OW_LOG_USE_CLEAN,
    OW_LOG_USE_WASTE,
    OW_LOG_USE_OTHER,
    OW_LOG_USE_CHOICES
} OwLogUse;

/// One value; which member counts follows from the field's type. Zeroed: not given.
typedef struct OwLogValue {
    bool is_set;
    double si;
    int64_t number;
    const char *text;
} OwLogValue;

/// One entry. Texts are the caller's when adding, the arena's when listed.
typedef struct OwLogEntry {
    int64_t id; ///< 0 when adding; then set
    OwLogKind kind;
    int64_t at_s;                     ///< when it happened, UTC seconds since 1970; 0 when adding: now
    int64_t made_s;                   ///< when it was written down; 0 when adding: now
    int64_t undone_by;                ///< id of the undo that took it back, 0 while it is live
    OwLogValue values[OW_LOG_FIELDS]; ///< in the order of the kind's fields
} OwLogEntry;

/// Reads what a person typed ("60 L", "12.50", "keep", a name or "#12" for a thing) by the field's row. A
/// thing gets text only (or its number for "#12"); ow_logbook_add looks the name up. `value->text` points
/// into `text`. On failure *value is untouched, `wrong` and `remedy` say why. OW_ERROR_VALUE, OW_ERROR_UNIT.
OwStatus ow_log_value_read(const OwLogField *field, const char *text, OwUnits *units, OwLogValue *value,
                           char wrong[256], char remedy[256]);
/// Writes a value for people ("60 L", "12.50", "keep", "day tank"); "" when it is not set. Always terminated.
void ow_log_value_write(const OwLogField *field, const OwLogValue *value, OwDisplay display, char *text,
                        size_t size);
/// Reads "2026-11-25", "2026-11-25 08:30", "2026-11-25T08:30:00Z" (UTC; years 1970 to 9999).
OwStatus ow_log_time_read(const char *text, int64_t *at_s);
/// Writes "2026-11-25T08:30:00Z"; needs 21 bytes.
void ow_log_time_write(int64_t at_s, char *text, size_t size);
/// Reads "12", "12.5", "-3.20" into hundredths; a third decimal is refused.
OwStatus ow_log_money_read(const char *text, int64_t *hundredths);
void ow_log_money_write(int64_t hundredths, char *text, size_t size); ///< "12.50"

// ---- The file
// ---------------------------------------------------------------------------------------------------------

typedef enum OwLogMode { OW_LOG_CREATE, OW_LOG_WRITE, OW_LOG_READ } OwLogMode;
/// An open logbook. One handle serves one thread; other handles and processes may have the file open too.
typedef struct OwLogbook OwLogbook;

/// Opens a file. CREATE makes a new one and refuses one that is there; WRITE brings an older one up to date
/// (in one transaction); READ changes nothing and refuses an older one with the remedy. OW_ERROR_READ:
/// not there, not a logbook, newer than this program, damaged, held by another for over 10 s. OW_ERROR_WRITE.
OwStatus ow_logbook_open(const char *path, OwLogMode mode, OwLogbook **book, OwFaults *faults);
/// Closes and nulls. NULL is a no-op.
void ow_logbook_close(OwLogbook **book);
/// A number that moves whenever any process has changed the file; 0 on failure. For pages that poll.
int64_t ow_logbook_version(OwLogbook *book);

/// Adds `count` entries in one transaction, all or none; sets their ids. It is on the disk when this returns
/// OW_OK. Things are found by `number`, else by name among live ones and among earlier entries of the same
/// call. Faults name the entry ("entry 2: pickup") and the field. Warnings (a vessel now below nothing or
/// over full, more kilometres than anyone drives) do not refuse; an odometer that runs back does, unless it
/// is told to be a new one. OW_ERROR_VALUE, OW_ERROR_WRITE (disk full, read-only).
OwStatus ow_logbook_add(OwLogbook *book, OwLogEntry *entries, int count, OwFaults *faults);
/// Adds the counter-entry of entry `id`. Refused: no such entry, taken back already, itself an undo, or a
/// thing that live entries still refer to (the first is named). *undo_id (may be NULL) gets its id.
OwStatus ow_logbook_undo(OwLogbook *book, int64_t id, const char *why, int64_t *undo_id, OwFaults *faults);
/// The entry written last of those that stand (no undo, not taken back), by when it was written, not when it
/// happened. OW_ERROR_VALUE with a fault when there is none.
OwStatus ow_logbook_last(OwLogbook *book, int64_t *id, OwFaults *faults);
/// Finds a live thing of the kinds in `kinds` (bits 1u << OwLogKind, 0: any) by its name, case ignored. *id 0
/// and OW_OK when there is none; then `nearest` holds the nearest name or "".
OwStatus ow_logbook_find(OwLogbook *book, unsigned kinds, const char *name, int64_t *id,
                         char nearest[OW_LOG_NAME_MAX + 1], OwFaults *faults);

// ---- Views. Results live in the caller's arena. All times UTC seconds; a period is from_s <= at < to_s, and
// 0 for to_s is "no end". Everything counts live entries only.
// ---------------------------------------------------------------------------------------------------------

typedef struct OwLogFilter {
    unsigned kinds; ///< bits 1u << OwLogKind; 0: all
    int64_t thing;  ///< entries that refer to it (or are it); 0: all
    int64_t from_s, to_s;
    const char *text; ///< every word must begin a word of the entry: its texts, the names of the things it
                      ///< names, its kind. The list is then newest written first (by id). NULL: all
    bool with_undone; ///< entries taken back and undos too
    int64_t before_at_s, before_id; ///< keyset: only what comes after this one in the order; 0: from the top
    int limit;                      ///< 1 to 1000; 0: 50
} OwLogFilter;
typedef struct OwLogList {
    OwLogEntry *entries; ///< newest first (by at, then id)
    int count;
    bool has_more; ///< go on with before_ = the last one's at_s and id
} OwLogList;
OwStatus ow_logbook_list(OwLogbook *book, const OwLogFilter *filter, OwArena *arena, OwLogList *list,
                         OwFaults *faults);
/// One entry by id; OW_ERROR_VALUE when there is none.
OwStatus ow_logbook_entry(OwLogbook *book, int64_t id, OwArena *arena, OwLogEntry *entry, OwFaults *faults);

typedef struct OwLogSourceRow {
    int64_t id, last_s; ///< last pick-up, 0 none
    const char *name;
    int64_t pickups;
    double collected_m3;
} OwLogSourceRow;
OwStatus ow_logbook_sources(OwLogbook *book, OwArena *arena, OwLogSourceRow **rows, int *count,
                            OwFaults *faults);

typedef struct OwLogVesselRow {
    int64_t id, changed_s; ///< last change of its own oil, 0 never
    const char *name;
    OwLogUse use;
    bool has_use, has_capacity;
    double capacity_m3;
    double level_m3;        ///< own oil and the batches that stand in it
    double own_m3;          ///< without the batches
    int batches;            ///< that stand in it and are not empty
    bool is_below, is_over; ///< below nothing, over its volume: the book needs a look (enter a level)
} OwLogVesselRow;
OwStatus ow_logbook_vessels(OwLogbook *book, OwArena *arena, OwLogVesselRow **rows, int *count,
                            OwFaults *faults);

typedef struct OwLogBatchRow {
    int64_t id, vessel;             ///< vessel 0: nowhere told
    const char *name, *vessel_name; ///< vessel_name never NULL
    int64_t started_s, last_s;      ///< last step, test or change of volume
    double in_m3;                   ///< from vessels, pick-ups, other batches
    double added_m3;                ///< blended in from outside
    double lost_m3;                 ///< taken off as waste
    double out_m3;                  ///< into vessels, other batches, vehicles
    double found_m3; ///< net of measured levels; in + added + found = lost + out + volume, exactly
    double volume_m3;
    int64_t steps, tests;
    bool has_step, has_decision, has_acid, has_water, has_solids, has_viscosity, has_density;
    OwLogStep step;         ///< the last
    OwLogDecision decision; ///< the last
    double acid_mg_g, water_kg_kg, solids_kg_kg, viscosity_m2_s, viscosity_at_k,
        density_kg_m3; ///< the last of each; viscosity_at_k 0 when not told
} OwLogBatchRow;
/// Batches, newest first. Open ones (not empty, or nothing has gone in yet) unless `with_done`, then all;
/// keyset paging by id: `before_id` 0 for the top. `limit` 0: 100.
OwStatus ow_logbook_batches(OwLogbook *book, bool with_done, int64_t before_id, int limit, OwArena *arena,
                            OwLogBatchRow **rows, int *count, OwFaults *faults);

typedef struct OwLogVehicleRow {
    int64_t id, last_fill_s;
    const char *name, *rig; ///< rig "" when not told
    int64_t fills, filters;
    double oil_m3, diesel_m3;
    bool has_odometer, has_consumption;
    double odometer_m; ///< the last reading
    double counted_m;  ///< the same, counted on through replaced odometers
    double distance_m; ///< counted last less first; where that is below nothing the rises that can be
    double
        consumption_m3_m; ///< all fuel of the fills after the first, over the distance between first and
                          ///< last fill with an odometer reading; the error shrinks with the number of fills
    int64_t spent;        ///< fills, filters, repairs, expenses that name it
} OwLogVehicleRow;
OwStatus ow_logbook_vehicles(OwLogbook *book, OwArena *arena, OwLogVehicleRow **rows, int *count,
                             OwFaults *faults);

/// Whether an entry is the first reading of an odometer that replaced another.
bool ow_log_is_swap(const OwLogEntry *entry);
/// An odometer that was replaced: what readings from this entry on lack to those before it.
typedef struct OwLogSwap {
    int64_t vehicle, at_s, entry;
    double ahead_m; ///< the old one's last reading less the new one's first
} OwLogSwap;
OwStatus ow_logbook_swaps(OwLogbook *book, OwArena *arena, OwLogSwap **swaps, int *count, OwFaults *faults);
/// A reading taken at an entry, counted on through all odometers that were replaced until then, metres.
double ow_log_counted(const OwLogSwap *swaps, int count, int64_t vehicle, int64_t at_s, int64_t entry,
                      double reading_m);

/// One filter's life: from a fitting or change to the next change, or to now (censored).
typedef struct OwLogFilterRow {
    int64_t vehicle, entry, next; ///< entries that began and ended it; next 0 when censored
    const char *vehicle_name, *filter;
    int64_t from_s, to_s; ///< to_s: the next change, or the vehicle's last odometer reading
    bool is_censored;     ///< still in place
    bool has_distance, has_solids, has_temperature, has_before, has_after, has_reason;
    double distance_m;
    double oil_m3, diesel_m3; ///< filled meanwhile
    double solids_kg_kg;      ///< volume mean over the oil whose batches were tested; of many lives it is
                         ///< taken from some fills spread evenly over each (200 in one call, at least one a
                         ///< life)
    double solids_known;        ///< share of the oil that mean speaks for
    double temperature_k;       ///< mean of the gauge entries' and the change's oil temperatures
    double before_pa, after_pa; ///< gauge before the change that ended it (or the last gauge entry); after
                                ///< the one that began it
    OwLogReason reason;         ///< of the change that ended it
    int64_t price;              ///< of the change that began it, hundredths
} OwLogFilterRow;
/// Lives of filters, newest beginning first; vehicle 0: all. At most `limit` (0: 200).
OwStatus ow_logbook_filters(OwLogbook *book, int64_t vehicle, int limit, OwArena *arena,
                            OwLogFilterRow **rows, int *count, OwFaults *faults);

/// Sums over a period. Money in hundredths.
typedef struct OwLogTotals {
    int64_t entries[OW_LOG_KINDS]; ///< how many of each kind
    double work_s[OW_LOG_KINDS];   ///< labour, by kind
    int64_t spent[OW_LOG_KINDS]; ///< money in entries of each kind; [OW_LOG_EXPENSE] is the sum of `expenses`
    int64_t expenses[OW_LOG_EXPENSE_CHOICES];
    int64_t repairs[OW_LOG_REPAIR_CHOICES];
    int64_t oil_changes; ///< how many
    double collected_m3, collection_distance_m;
    double filled_m3, diesel_m3;
    double distance_m; ///< all vehicles, by their odometer readings in the period and the last before it
    double energy_j, added_m3, lost_m3, found_m3;
    double waste_made_m3[OW_LOG_WASTE_CHOICES], waste_handed_m3[OW_LOG_WASTE_CHOICES];
    int64_t filters; ///< changes (not first fittings)
    int64_t first_s,
        last_s; ///< of the whole logbook: first and last event that stands, names aside; 0 when none
    double work_all_s;
    int64_t spent_all;
} OwLogTotals;
/// `vehicle` not 0: only what names that vehicle (fills, distance, filters, repairs, expenses).
OwStatus ow_logbook_totals(OwLogbook *book, int64_t from_s, int64_t to_s, int64_t vehicle,
                           OwLogTotals *totals, OwFaults *faults);

/// A part of a traced content.
typedef struct OwLogShare {
    int64_t id;
    OwLogKind kind;
    const char *name; ///< of the thing; of a pick-up: its source; of a step: what was added
    int64_t at_s;
    double share; ///< of the traced volume
    double volume_m3;
} OwLogShare;
typedef struct OwLogTrace {
    double volume_m3;  ///< that was traced
    OwLogShare *parts; ///< where it came from: pick-ups, additions (steps), levels found; or where it went:
                       ///< vehicles, waste (steps), levels lost, and vessels and batches that still hold some
    int part_count;
    OwLogShare *sources; ///< back only: the pick-ups summed by source
    int source_count;
    OwLogShare *batches; ///< batches it has been through; share: how much of it passed there
    int batch_count;
    double unknown; ///< share not traced: bounds below, or the book fell below nothing
    bool is_cut;    ///< stopped at the bound of work: 4000 movements
} OwLogTrace;
/// What the content of a vessel (its batches too) or batch is made of at a time (0: now), each volume taken
/// as stirred through. Shares and `unknown` sum to 1; parts below 1e-6 go to unknown. An empty one gives
/// volume 0.
OwStatus ow_logbook_trace_back(OwLogbook *book, int64_t thing, int64_t at_s, OwArena *arena,
                               OwLogTrace *trace, OwFaults *faults);
/// Where the oil of a pick-up (or of a batch: all that went in) has gone until now.
OwStatus ow_logbook_trace_forward(OwLogbook *book, int64_t entry, OwArena *arena, OwLogTrace *trace,
                                  OwFaults *faults);

// ---- Safety and exchange
// ---------------------------------------------------------------------------------------------------------

/// Checks the file (SQLite's own checks), that every reference and undo holds, that all running sums equal a
/// fresh count, each batch's balance; and reports vessels below nothing or over full and odometers that run
/// back as warnings. OW_OK when there is no error; OW_ERROR_VALUE otherwise. Reads all entries: seconds for a
/// million.
OwStatus ow_logbook_check(OwLogbook *book, OwFaults *faults);
/// Makes all running sums anew from the entries, in one transaction.
OwStatus ow_logbook_rebuild(OwLogbook *book, OwFaults *faults);
/// A consistent copy while others go on writing: to a temporary file beside `path`, synced, then renamed.
/// OW_ERROR_USE when `path` is there and not `may_replace`.
OwStatus ow_logbook_backup(OwLogbook *book, const char *path, bool may_replace, OwFaults *faults);
/// Puts a backup in the place of the logbook at `path`, after checking it. The old file stays beside as
/// `path`.before-N (told in `kept`, which may be NULL). The logbook must not be open elsewhere: OW_ERROR_USE.
OwStatus ow_logbook_restore(const char *backup, const char *path, char *kept, size_t kept_size,
                            OwFaults *faults);
/// Writes one RFC 4180 file a kind ("pickup.csv") into a folder, made when missing; units in the headings.
/// OW_ERROR_USE when a file of these is there and not `may_replace`.
OwStatus ow_logbook_export(OwLogbook *book, const char *folder, bool may_replace, OwFaults *faults);
typedef struct OwLogImported {
    int64_t added, same; ///< new entries; rows that were there already, unchanged
} OwLogImported;
/// Reads such a folder, all or nothing, all faults with file, line and column. Rows without an id are new;
/// with a known id they must be the same as the entry; with an unknown id they keep it.
OwStatus ow_logbook_import(OwLogbook *book, const char *folder, OwLogImported *imported, OwFaults *faults);

#endif
