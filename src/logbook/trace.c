// SPDX-License-Identifier: GPL-3.0-or-later
// The two traces: back from a content to the pick-ups, forward from a pick-up to the vehicles.
#include "logbook/trace.h"

#include "logbook/value.h"

#include <inttypes.h>
#include <stdlib.h>

static int by_thing(const void *a, const void *b) {
    const OwLogShare *x = a, *y = b;
    if (x->kind != y->kind) {
        return x->kind < y->kind ? -1 : 1;
    }
    return x->id < y->id ? -1 : x->id > y->id;
}

static int by_share(const void *a, const void *b) {
    const OwLogShare *x = a, *y = b;
    return x->share > y->share ? -1 : x->share < y->share ? 1 : by_thing(a, b);
}

/// Sums rows of one thing, turns weights into shares, largest first. What is too small goes to `unknown`.
static int gather(OwRows *rows, double total, double volume_m3, double *unknown) {
    OwLogShare *items = rows->items;
    int kept = 0;
    if (rows->count > 1) {
        qsort(items, (size_t)rows->count, sizeof *items, by_thing);
    }
    for (int i = 0; i < rows->count; i++) {
        if (kept > 0 && by_thing(&items[kept - 1], &items[i]) == 0) {
            items[kept - 1].share += items[i].share;
            items[kept - 1].at_s =
                items[i].at_s > items[kept - 1].at_s ? items[i].at_s : items[kept - 1].at_s;
        } else {
            items[kept++] = items[i];
        }
    }
    const int merged = kept;
    kept = 0;
    for (int i = 0; i < merged; i++) {
        if (items[i].share < OW_TRACE_LEAST * total) {
            *unknown += items[i].share;
            continue;
        }
        items[kept] = items[i];
        items[kept].share /= total;
        items[kept].volume_m3 = items[kept].share * volume_m3;
        kept++;
    }
    if (kept > 1) {
        qsort(items, (size_t)kept, sizeof *items, by_share);
    }
    rows->count = kept;
    return kept;
}

/// Names a part: the thing, the source of a pick-up, what a step added or took off.
static int name_part(OwWalk *walk, OwLogShare *part) {
    OwLogEntry entry;
    OwLogKind kind = OW_LOG_NONE;
    int64_t undone = 0;
    int code = ow_log_state(walk->book, part->id, &kind, &undone);
    if (code != SQLITE_OK) {
        return code;
    }
    part->kind = kind;
    const OwLogKindRow *row = ow_log_kind(kind);
    if (row->is_thing) {
        part->name = ow_log_name(walk->book, part->id, walk->arena);
        return part->name == NULL ? SQLITE_NOMEM : SQLITE_OK;
    }
    code = ow_log_load(walk->book, part->id, walk->arena, &entry);
    if (code != SQLITE_OK) {
        return code;
    }
    const OwLogValue *value = kind == OW_LOG_PICKUP ? ow_log_value(&entry, "source")
                              : kind == OW_LOG_LEVEL
                                  ? ow_log_value(&entry, "of")
                                  : ow_log_value(&entry, walk->is_forward ? "what" : "addition");
    if (value->is_set && value->text != NULL) {
        part->name = value->text;
    } else {
        const int i = ow_log_field_of(kind, "what");
        part->name = i >= 0 && entry.values[i].is_set ? row->fields[i].choices[entry.values[i].number] : "";
    }
    return SQLITE_OK;
}

/// The pick-ups of the parts, summed by source.
static int sum_sources(OwWalk *walk, OwLogTrace *trace) {
    OwRows sources = {.arena = walk->arena, .size = sizeof(OwLogShare)};
    for (int i = 0; i < trace->part_count; i++) {
        const OwLogShare *part = &trace->parts[i];
        if (part->kind == OW_LOG_PICKUP) {
            int code = SQLITE_OK;
            OwLogShare *source = ow_log_rows_next(&sources);
            if (source == NULL) {
                return SQLITE_NOMEM;
            }
            *source = *part;
            source->kind = OW_LOG_SOURCE;
            source->id =
                ow_log_number(walk->book, ow_log_sql(walk->book, "SELECT source FROM pickup WHERE id = ?1"),
                              1, &part->id, 0, &code);
            if (code != SQLITE_OK) {
                return code;
            }
        }
    }
    double none = 0.0;
    trace->source_count = gather(&sources, 1.0, trace->volume_m3, &none);
    trace->sources = sources.items;
    return SQLITE_OK;
}

static int finish(OwWalk *walk, double volume_m3, OwLogTrace *trace) {
    OwRows batches = {.arena = walk->arena, .size = sizeof(OwLogShare)};
    const OwPool *pools = walk->pools.items;
    trace->volume_m3 = volume_m3;
    trace->is_cut = walk->is_cut;
    if (walk->code != SQLITE_OK || !(walk->total > 0.0)) {
        return walk->code;
    }
    for (int i = 0; i < walk->pools.count; i++) {
        if (pools[i].kind == OW_LOG_BATCH) {
            OwLogShare *batch = ow_log_rows_next(&batches);
            if (batch == NULL) {
                return SQLITE_NOMEM;
            }
            *batch = (OwLogShare){.id = pools[i].account,
                                  .kind = OW_LOG_BATCH,
                                  .name = "",
                                  .share = pools[i].passed > walk->total ? walk->total : pools[i].passed};
        }
    }
    trace->part_count = gather(&walk->parts, walk->total, volume_m3, &walk->unknown);
    trace->parts = walk->parts.items;
    double none = 0.0;
    trace->batch_count = gather(&batches, walk->total, volume_m3, &none);
    trace->batches = batches.items;
    trace->unknown = walk->unknown / walk->total;
    int code = SQLITE_OK;
    for (int i = 0; i < trace->part_count && code == SQLITE_OK; i++) {
        code = name_part(walk, &trace->parts[i]);
    }
    for (int i = 0; i < trace->batch_count && code == SQLITE_OK; i++) {
        code = name_part(walk, &trace->batches[i]);
    }
    return code == SQLITE_OK && !walk->is_forward ? sum_sources(walk, trace) : code;
}

// ---- Back

/// Batches that stood in a vessel at a time: those that began there or were shifted there before, and have
/// not left.
static int enter_standing(OwWalk *walk, int64_t vessel, int64_t at_s, double *total) {
    sqlite3_stmt *stmt = ow_log_sql(
        walk->book,
        "SELECT DISTINCT b FROM (SELECT * FROM (SELECT l.entry AS b FROM link l WHERE l.thing = ?1 AND "
        "l.kind = 4 AND l.at <= ?2"
        " AND NOT EXISTS(SELECT 1 FROM undo u WHERE u.entry = l.entry) ORDER BY l.at DESC, l.entry DESC "
        "LIMIT 200) UNION ALL"
        " SELECT * FROM (SELECT (SELECT s.batch FROM shift s WHERE s.id = l.entry) FROM link l WHERE l.thing "
        "= ?1 AND l.kind = 9"
        " AND l.at <= ?2 AND NOT EXISTS(SELECT 1 FROM undo u WHERE u.entry = l.entry) ORDER BY l.at DESC, "
        "l.entry DESC LIMIT 200))"
        " WHERE coalesce((SELECT s.vessel FROM worked w JOIN shift s ON s.id = w.entry WHERE w.account = b "
        "AND w.kind = 9"
        " AND w.at <= ?2 ORDER BY w.at DESC, w.entry DESC LIMIT 1), (SELECT vessel FROM batch WHERE id = b)) "
        "= ?1");
    int code = ow_log_step(walk->book, stmt, 2, (const int64_t[]){vessel, at_s});
    for (; code == SQLITE_ROW && walk->code == SQLITE_OK; code = sqlite3_step(stmt)) {
        const int64_t batch = sqlite3_column_int64(stmt, 0);
        const int64_t level = ow_log_level_at(walk->book, batch, at_s, INT64_MAX, &walk->code);
        if (level > 0) {
            *total += (double)level;
            ow_walk_enter(walk, batch, at_s, INT64_MAX, 0, (double)level);
        }
    }
    return walk->code != SQLITE_OK                     ? walk->code
           : code == SQLITE_DONE || code == SQLITE_ROW ? SQLITE_OK
                                                       : code;
}

static OwStatus check_thing(OwLogbook *book, int64_t id, unsigned kinds, const char *wanted, OwLogKind *kind,
                            OwFaults *faults) {
    int64_t undone = 0;
    const int code = ow_log_state(book, id, kind, &undone);
    if (code != SQLITE_OK && code != SQLITE_DONE) {
        return ow_log_fail(book, code, faults);
    }
    if (code == SQLITE_DONE || undone != 0 || !((kinds >> *kind) & 1u)) {
        return ow_log_fault(faults, OW_ERROR_VALUE, "", "give its name or number",
                            "entry %" PRId64 " is not a live %s", id, wanted);
    }
    return OW_OK;
}

/// Begins the snapshot of a trace from a live thing or entry of the wanted kinds; ended again when there is
/// none.
static OwStatus begin_trace(OwLogbook *book, int64_t id, unsigned kinds, const char *wanted, OwLogKind *kind,
                            OwFaults *faults) {
    OwStatus status = ow_log_begin(book, false, faults);
    if (status == OW_OK && (status = check_thing(book, id, kinds, wanted, kind, faults)) != OW_OK) {
        status = ow_log_end(book, status, faults);
    }
    return status;
}

OwStatus ow_logbook_trace_back(OwLogbook *book, int64_t thing, int64_t at_s, OwArena *arena,
                               OwLogTrace *trace, OwFaults *faults) {
    if (book == NULL || arena == NULL || trace == NULL) {
        return OW_ERROR_USE;
    }
    *trace = (OwLogTrace){0};
    OwLogKind kind = OW_LOG_NONE;
    const OwStatus status = begin_trace(book, thing, (1u << OW_LOG_VESSEL) | (1u << OW_LOG_BATCH),
                                        "vessel or batch", &kind, faults);
    if (status != OW_OK) {
        return status;
    }
    at_s = at_s == 0 ? OW_LOG_TIME_MAX : at_s;
    OwWalk walk = {.book = book,
                   .arena = arena,
                   .bound = OW_TRACE_EVENTS,
                   .pools = {.arena = arena, .size = sizeof(OwPool)},
                   .parts = {.arena = arena, .size = sizeof(OwLogShare)}};
    double total = 0.0;
    const int64_t own = ow_log_level_at(book, thing, at_s, INT64_MAX, &walk.code);
    if (own > 0) {
        total = (double)own;
        ow_walk_enter(&walk, thing, at_s, INT64_MAX, 0, total);
    }
    int code = walk.code;
    if (code == SQLITE_OK && kind == OW_LOG_VESSEL) {
        code = enter_standing(&walk, thing, at_s, &total);
    }
    if (code == SQLITE_OK) {
        walk.total = total;
        ow_walk_run(&walk);
        code = finish(&walk, total / 1e9, trace);
    }
    return ow_log_end_view(book, code, faults);
}

// ---- Forward

OwStatus ow_logbook_trace_forward(OwLogbook *book, int64_t id, OwArena *arena, OwLogTrace *trace,
                                  OwFaults *faults) {
    if (book == NULL || arena == NULL || trace == NULL) {
        return OW_ERROR_USE;
    }
    *trace = (OwLogTrace){0};
    OwLogKind kind = OW_LOG_NONE;
    const OwStatus status = begin_trace(book, id, (1u << OW_LOG_PICKUP) | (1u << OW_LOG_BATCH),
                                        "pick-up or batch", &kind, faults);
    if (status != OW_OK) {
        return status;
    }
    OwWalk walk = {.book = book,
                   .arena = arena,
                   .bound = OW_TRACE_EVENTS,
                   .is_forward = true,
                   .pools = {.arena = arena, .size = sizeof(OwPool)},
                   .parts = {.arena = arena, .size = sizeof(OwLogShare)}};
    if (kind == OW_LOG_BATCH) {
        ow_walk_enter(&walk, id, -1, 0, 0, 0.0);
        if (walk.code == SQLITE_OK) {
            ((OwPool *)walk.pools.items)[0].is_whole = true;
        }
    } else {
        OwLogEntry pickup;
        walk.code = ow_log_load(book, id, NULL, &pickup);
        if (walk.code == SQLITE_OK) {
            walk.total = (double)ow_log_amount(&pickup, "volume");
            ow_walk_enter(&walk, ow_log_amount(&pickup, "into"), pickup.at_s, id, 0, walk.total);
        }
    }
    ow_walk_run(&walk);
    if (kind == OW_LOG_BATCH && walk.pools.count > 0) {
        ((OwPool *)walk.pools.items)[0].passed = walk.total;
    }
    return ow_log_end_view(book, finish(&walk, walk.total / 1e9, trace), faults);
}
