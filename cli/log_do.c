// SPDX-License-Identifier: GPL-3.0-or-later
// Short forms with a logbook: the names it knows, and writing what was understood.
#include <string.h>

#include "log_cli.h"

OwStatus ow_log_names_read(OwLogbook *book, OwArena *arena, OwLogNames *names, OwFaults *faults) {
    OwLogSourceRow *sources = NULL;
    OwLogVesselRow *vessels = NULL;
    OwLogVehicleRow *vehicles = NULL;
    OwLogBatchRow *batches = NULL;
    OwLogFilterRow *filters = NULL;
    int source_count = 0, vessel_count = 0, vehicle_count = 0, batch_count = 0, filter_count = 0;
    *names = (OwLogNames){0};
    OwStatus status = ow_logbook_sources(book, arena, &sources, &source_count, faults);
    status = status != OW_OK ? status : ow_logbook_vessels(book, arena, &vessels, &vessel_count, faults);
    status = status != OW_OK ? status : ow_logbook_vehicles(book, arena, &vehicles, &vehicle_count, faults);
    status = status != OW_OK ? status
                             : ow_logbook_batches(book, true, 0, 1000, arena, &batches, &batch_count, faults);
    status =
        status != OW_OK ? status : ow_logbook_filters(book, 0, 60, arena, &filters, &filter_count, faults);
    if (status != OW_OK) {
        return status;
    }
    const size_t most =
        (size_t)(source_count + vessel_count + vehicle_count + batch_count + filter_count) + 1;
    OwLogThing *things = ow_arena_take(arena, most, sizeof *things);
    if (things == NULL) {
        return OW_ERROR_MEMORY;
    }
    int n = 0;
    for (int i = 0; i < source_count; i++) {
        things[n++] = (OwLogThing){.kind = OW_LOG_SOURCE, .id = sources[i].id, .name = sources[i].name};
    }
    for (int i = 0; i < vessel_count; i++) {
        things[n++] = (OwLogThing){OW_LOG_VESSEL, vessels[i].id, vessels[i].name, vessels[i].own_m3};
    }
    for (int i = 0; i < vehicle_count; i++) {
        things[n++] = (OwLogThing){.kind = OW_LOG_VEHICLE, .id = vehicles[i].id, .name = vehicles[i].name};
    }
    for (int i = 0; i < batch_count; i++) {
        things[n++] = (OwLogThing){OW_LOG_BATCH, batches[i].id, batches[i].name, batches[i].volume_m3};
    }
    for (int i = 0; i < filter_count; i++) { // what is in place now
        if (filters[i].is_censored) {
            things[n++] =
                (OwLogThing){.kind = OW_LOG_FILTER, .id = filters[i].vehicle, .name = filters[i].filter};
        }
    }
    *names = (OwLogNames){things, n};
    return OW_OK;
}

OwStatus ow_log_words_do(OwLogbook *book, const char *text, bool is_dry, OwUnits *units, OwDisplay display,
                         int64_t now_s, OwLogSaid *said, int64_t *undo_id, OwFaults *faults) {
    memset(said, 0, sizeof *said);
    *undo_id = 0;
    OwArena *arena = ow_arena_create();
    OwLogNames names;
    if (arena == NULL) {
        return OW_ERROR_MEMORY;
    }
    OwStatus status = ow_log_names_read(book, arena, &names, faults);
    if (status == OW_OK) {
        const OwLogSpeech speech = {.names = &names,
                                    .now_s = now_s,
                                    .offset = ow_log_local_offset,
                                    .units = units,
                                    .display = display};
        status = ow_log_words_read(text, &speech, said);
    }
    if (status == OW_OK && said->is_undo) {
        if (said->undo == 0) {
            status = ow_logbook_last(book, &said->undo, faults);
        }
        OwLogEntry entry;
        const OwLogValue *why = &said->entry.values[ow_log_field_of(OW_LOG_UNDO, "why")];
        // The echo tells what is taken back, not only its number.
        if (status == OW_OK && ow_logbook_entry(book, said->undo, arena, &entry, faults) == OW_OK) {
            char what[sizeof said->sentence];
            ow_log_words_say(&entry, display, what, sizeof what);
            (void)snprintf(said->sentence, sizeof said->sentence, "Entry %lld is taken back: %s%s%s",
                           (long long)said->undo, what, why->is_set ? "; because " : "",
                           why->is_set ? why->text : "");
            status = is_dry
                         ? OW_OK
                         : ow_logbook_undo(book, said->undo, why->is_set ? why->text : NULL, undo_id, faults);
        } else {
            status = OW_ERROR_VALUE;
        }
    } else if (status == OW_OK && !is_dry) {
        status = ow_logbook_add(book, &said->entry, 1, faults);
    }
    ow_arena_destroy(&arena);
    return status;
}
