// SPDX-License-Identifier: GPL-3.0-or-later
// The drive section and the gears of the vehicle.
#include "base/text.h"
#include "rig/reader.h"

#include <stdio.h>
#include <string.h>

static void read_legs(OwReader *reader, const OwTextNode *list, OwDriveSpec *drive) {
    if (!ow_reader_expect(reader, list, OW_NODE_LIST, NULL, "legs")) {
        return;
    }
    if (list->count < 1 || list->count > OW_MAX_LEGS) {
        ow_reader_fault(reader, list, NULL, OW_ERROR_VALUE, OW_FAULT_ERROR,
                        "write for example - {name: lane, speed: 40 km/h, for: 8 min}",
                        "a drive has 1 to %d legs", OW_MAX_LEGS);
        return;
    }
    drive->leg_count = 0;
    for (const OwTextNode *n = list->first; n != NULL; n = n->next) {
        if (!ow_reader_expect(reader, n, OW_NODE_MAP, NULL, "a leg")) {
            continue;
        }
        OwLeg *leg = &drive->legs[drive->leg_count];
        memset(leg, 0, sizeof *leg);
        const OwFieldTable fields = ow_leg_fields();
        ow_fields_default(fields, leg);
        (void)snprintf(leg->name, sizeof leg->name, "leg %d", drive->leg_count + 1);
        ow_reader_map(reader, n, &fields, 1, NULL, NULL, leg, NULL);
        if (ow_node_get(n, "for") == NULL) {
            ow_reader_fault(reader, n, NULL, OW_ERROR_VALUE, OW_FAULT_ERROR, "write for: 5 min",
                            "the leg \"%s\" does not say how long", leg->name);
        }
        if (leg->engine_off && leg->speed_m_s > 0.0) {
            ow_reader_fault(reader, n, NULL, OW_ERROR_VALUE, OW_FAULT_ERROR, "give a parked leg no speed",
                            "the leg \"%s\" drives with the engine off", leg->name);
        }
        drive->leg_count++;
    }
}

void ow_read_drive(OwReader *reader, const OwTextNode *node, const OwSection *section) {
    OwDriveSpec *drive = &reader->rig->drive;
    if (node->type == OW_NODE_SCALAR) {
        const OwField *cycle = ow_field_find(section->fields, "cycle");
        char wrong[256], remedy[256];
        const OwStatus status = ow_field_read(cycle, node->text, reader->units, drive, wrong, remedy);
        if (status != OW_OK) {
            ow_reader_fault(reader, node, NULL, status, OW_FAULT_ERROR,
                            "write drive: nedc, or a list of legs below it",
                            "drive: \"%.60s\" is no known cycle", node->text);
        }
        return;
    }
    if (!ow_reader_expect(reader, node, OW_NODE_MAP, NULL, "drive")) {
        return;
    }
    ow_reader_map(reader, node, &section->fields, 1, section->special, NULL, drive, NULL);
    const OwTextNode *legs = ow_node_get(node, "legs");
    if (legs != NULL) {
        read_legs(reader, legs, drive);
        if (drive->kind == OW_DRIVE_NEDC) {
            ow_reader_fault(reader, legs, NULL, OW_ERROR_VALUE, OW_FAULT_WARNING, "keep cycle or legs",
                            "the legs are not driven: the cycle is nedc");
        }
    }
    if (drive->earliest_start_s > drive->ready_wait_s) {
        const OwTextNode *least = ow_node_get(node, "wait at least");
        ow_reader_fault(reader, least != NULL ? least : node, NULL, OW_ERROR_VALUE, OW_FAULT_ERROR,
                        "let the longest wait be the longer one",
                        "the driver waits at least longer than at most");
    }
}

void ow_read_gears(OwReader *reader, const OwTextNode *node) {
    static const OwField like = {"gears", OW_FIELD_REAL, OW_Q_SPEED, 0,     0, 0.3,
                                 40.0,    "km/h",        NULL,       false, ""};
    OwVehicle *vehicle = &reader->rig->vehicle;
    if (!ow_reader_expect(reader, node, OW_NODE_LIST, NULL, "gears")) {
        return;
    }
    if (node->count < 1 || node->count > 8) {
        ow_reader_fault(reader, node, NULL, OW_ERROR_VALUE, OW_FAULT_ERROR,
                        "write road speeds at 1000 rpm: [7 km/h, 13 km/h]", "a gearbox has 1 to 8 gears");
        return;
    }
    int count = 0;
    for (const OwTextNode *n = node->first; n != NULL; n = n->next) {
        double speed = 0.0;
        if (!ow_reader_quantity(reader, n, &like, &speed, NULL)) {
            continue;
        }
        vehicle->gear_m_s_per_rad_s[count] = speed / (1000.0 * 0.10471975511965977);
        if (count > 0 && !(vehicle->gear_m_s_per_rad_s[count] > vehicle->gear_m_s_per_rad_s[count - 1])) {
            ow_reader_fault(reader, n, NULL, OW_ERROR_VALUE, OW_FAULT_ERROR, "begin with first gear",
                            "the road speeds at 1000 rpm rise from gear to gear");
            return;
        }
        count++;
    }
    vehicle->gear_count = count;
}
