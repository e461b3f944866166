// SPDX-License-Identifier: GPL-3.0-or-later
// Reading a drive profile at a time, and the legs of a rig that names no drive.
#include "morning/drive.h"

#include <math.h>
#include <string.h>

/// Last point at or before a time (`before`: strictly before), 0 when there is none.
static int find(const OwDriveProfile *profile, double time_s, bool before, int *hint) {
    const OwDrivePoint *p = profile->points;
    int i = hint != NULL ? *hint : 0;
    if (i < 0 || i >= profile->count) {
        i = 0;
    }
    while (i + 1 < profile->count && (p[i + 1].time_s < time_s || (!before && p[i + 1].time_s == time_s))) {
        i++;
    }
    while (i > 0 && (p[i].time_s > time_s || (before && p[i].time_s == time_s) || isnan(time_s))) {
        i--;
    }
    if (hint != NULL) {
        *hint = i;
    }
    return i;
}

static void read_at(const OwDriveProfile *profile, double time_s, bool before, int *hint, OwDrivePoint *out) {
    if (profile->count <= 0) {
        *out = (OwDrivePoint){0};
        return;
    }
    const int i = find(profile, time_s, before, hint);
    const OwDrivePoint *a = &profile->points[i];
    *out = *a;
    if (i + 1 >= profile->count || !(time_s > a->time_s)) {
        return;
    }
    const OwDrivePoint *b = a + 1;
    const double s = (time_s - a->time_s) / (b->time_s - a->time_s);
    out->time_s = time_s;
    out->speed_m_s += s * (b->speed_m_s - a->speed_m_s);
    out->engine_rad_s += s * (b->engine_rad_s - a->engine_rad_s);
    out->wanted_w += s * (b->wanted_w - a->wanted_w);
    out->brake_w += s * (b->brake_w - a->brake_w);
    out->fuel_m3_s += s * (b->fuel_m3_s - a->fuel_m3_s);
    out->full_fuel_m3_s += s * (b->full_fuel_m3_s - a->full_fuel_m3_s);
    out->coolant_heat_w += s * (b->coolant_heat_w - a->coolant_heat_w);
}

void ow_drive_at(const OwDriveProfile *profile, double time_s, int *hint, OwDrivePoint *out) {
    read_at(profile, time_s, false, hint, out);
}

void ow_drive_before(const OwDriveProfile *profile, double time_s, int *hint, OwDrivePoint *out) {
    read_at(profile, time_s, true, hint, out);
}

double ow_drive_next_s(const OwDriveProfile *profile, double time_s, int *hint) {
    if (profile->count > 0 && time_s < profile->points[0].time_s) {
        return profile->points[0].time_s;
    }
    const int i = profile->count > 0 ? find(profile, time_s, false, hint) : 0;
    return i + 1 < profile->count ? profile->points[i + 1].time_s : INFINITY;
}

void ow_drive_default_legs(OwDriveSpec *drive) {
    static const OwLeg LEGS[] = {
        {.name = "idle", .duration_s = 30.0},
        {.name = "village", .speed_m_s = 50.0 / 3.6, .duration_s = 240.0},
        {.name = "road", .speed_m_s = 80.0 / 3.6, .duration_s = 600.0},
        {.name = "hill", .speed_m_s = 60.0 / 3.6, .duration_s = 120.0, .grade = 0.06},
        {.name = "motorway", .speed_m_s = 100.0 / 3.6, .duration_s = 360.0},
        {.name = "stop", .duration_s = 60.0, .engine_off = true},
    };
    drive->kind = OW_DRIVE_LEGS;
    drive->leg_count = (int)(sizeof LEGS / sizeof LEGS[0]);
    memcpy(drive->legs, LEGS, sizeof LEGS);
}
