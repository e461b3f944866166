// SPDX-License-Identifier: GPL-3.0-or-later
// Which way a thing or an entry is traced.
#include <stdio.h>
#include <string.h>

#include "log_cli.h"

enum { HEADING = 200 };

static const OwLogValue *value(const OwLogEntry *e, const char *key) {
    static const OwLogValue none = {0};
    const int f = ow_log_field_of(e->kind, key);
    return f >= 0 ? &e->values[f] : &none;
}

static OwStatus nothing(OwFaults *faults, const char *format, const char *name) {
    OwFault fault = {.status = OW_ERROR_VALUE};
    (void)snprintf(fault.message, sizeof fault.message, format, name);
    (void)snprintf(fault.remedy, sizeof fault.remedy,
                   "trace a vessel, a batch, a vehicle, or a pick-up by its number");
    (void)ow_faults_add(faults, &fault);
    return OW_ERROR_VALUE;
}

/// The oil in a vehicle: what its last fill from the yard was drawn from, as it was then.
static OwStatus trace_vehicle(OwLogbook *book, const OwLogEntry *vehicle, OwArena *arena, OwLogTrace *trace,
                              char *heading, OwFaults *faults) {
    const OwLogFilter filter = {.kinds = 1u << OW_LOG_FILL, .thing = vehicle->id, .limit = 100};
    OwLogList list;
    const OwStatus status = ow_logbook_list(book, &filter, arena, &list, faults);
    if (status != OW_OK) {
        return status;
    }
    for (int i = 0; i < list.count; i++) {
        const OwLogEntry *fill = &list.entries[i];
        const OwLogValue *from = value(fill, "from");
        if (from->is_set) {
            char day[24];
            ow_log_local_write(fill->at_s, day);
            (void)snprintf(heading, HEADING, "The oil of the last fill of %.60s, from %.60s on %.10s",
                           value(vehicle, "name")->text, from->text, day);
            // Drawing does not change what it is made of; an emptied vessel is looked at the second before.
            const OwStatus traced =
                ow_logbook_trace_back(book, from->number, fill->at_s, arena, trace, faults);
            return traced == OW_OK && !(trace->volume_m3 > 0.0) && fill->at_s > 1
                       ? ow_logbook_trace_back(book, from->number, fill->at_s - 1, arena, trace, faults)
                       : traced;
        }
    }
    return nothing(faults, "%.60s has not been filled from the yard yet", value(vehicle, "name")->text);
}

OwStatus ow_log_trace_read(OwLogbook *book, int64_t id, OwArena *arena, OwLogTrace *trace, char *heading,
                           OwFaults *faults) {
    char unused[HEADING];
    OwLogEntry entry;
    heading = heading != NULL ? heading : unused;
    heading[0] = '\0';
    const OwStatus status = ow_logbook_entry(book, id, arena, &entry, faults);
    if (status != OW_OK) {
        return status;
    }
    switch (entry.kind) {
    case OW_LOG_VESSEL:
    case OW_LOG_BATCH:
        (void)snprintf(heading, HEADING, "What is in %.60s", value(&entry, "name")->text);
        return ow_logbook_trace_back(book, id, 0, arena, trace, faults);
    case OW_LOG_PICKUP:
        (void)snprintf(heading, HEADING, "Where it went: pick-up %lld from %.60s", (long long)id,
                       value(&entry, "source")->text);
        return ow_logbook_trace_forward(book, id, arena, trace, faults);
    case OW_LOG_VEHICLE:
        return trace_vehicle(book, &entry, arena, trace, heading, faults);
    default:
        return nothing(faults, "a %s cannot be traced", ow_log_kind(entry.kind)->word);
    }
}
