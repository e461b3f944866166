// SPDX-License-Identifier: GPL-3.0-or-later
// The hand-made rig and record.
#include "made.h"

#include <stdio.h>
#include <stdlib.h>

#define C(x) ((x) + OW_ZERO_CELSIUS_K)

static void name(OwPart *part, OwPartKind kind, const char *text) {
    *part = (OwPart){.kind = kind};
    snprintf(part->name, sizeof part->name, "%s", text);
}

static void make_rig(OwMade *m) {
    OwRig *rig = &m->rig;
    snprintf(rig->name, sizeof rig->name, "Orchard van 1");
    snprintf(rig->file, sizeof rig->file, "made.yaml");
    rig->limits = (OwLimits){.start_kinematic_m2_s = 20e-6,
                             .run_kinematic_m2_s = 20e-6,
                             .suction_floor_pa = -30e3,
                             .min_fill = 0.97,
                             .inlet_max_pa = 150e3,
                             .oil_max_k = C(120),
                             .preheat_charge_share = 0.2};
    rig->electrics =
        (OwElectrics){.battery_v = 12.5, .running_v = 14, .crank_v = 10, .battery_c = 70 * 3600.0};
    rig->engine.thermostat_open_k = C(82);
    rig->drive = (OwDriveSpec){.ready_wait_s = 120, .crank_s = 10, .attempts = 2, .pause_s = 10};
    rig->fluid_count = 1;
    snprintf(rig->fluid_name[0], sizeof rig->fluid_name[0], "oil");
    snprintf(rig->fluid_spec[0].name, sizeof rig->fluid_spec[0].name, "rapeseed");
    rig->parts = m->parts;
    rig->part_count = MADE_PARTS;
    name(&m->parts[MADE_TANK], OW_PART_TANK, "main tank");
    m->parts[MADE_TANK].as.tank.volume_m3 = 0.06;
    name(&m->parts[MADE_HOSE], OW_PART_RUN, "supply hose");
    m->parts[MADE_HOSE].as.run.bore_m = 0.008;
    m->parts[MADE_HOSE].as.run.length_m = 3.0;
    m->parts[MADE_HOSE].as.run.is_hose = true;
    m->parts[MADE_HOSE].as.run.material = OW_MATERIAL_RUBBER;
    name(&m->parts[MADE_FILTER], OW_PART_FILTER, "filter");
    m->parts[MADE_FILTER].rating_k = C(95);
    name(&m->parts[MADE_CHAMBER], OW_PART_CHAMBER, "boost chamber");
    m->parts[MADE_CHAMBER].as.chamber.bore_m = 0.012;
    m->parts[MADE_CHAMBER].as.chamber.material = OW_MATERIAL_IRON;
    m->parts[MADE_CHAMBER].as.chamber.elements.count = 1;
    m->parts[MADE_CHAMBER].as.chamber.elements.items[0] = (OwElement){.name = "plug",
                                                                      .power_w = 250,
                                                                      .has_thermostat = true,
                                                                      .thermostat_off_k = C(85),
                                                                      .thermostat_on_k = C(75)};
    name(&m->parts[MADE_PUMP], OW_PART_INJECTION_PUMP, "injection pump");
    rig->joints = m->joints;
    for (int i = 0; i + 1 < MADE_PARTS; i++) {
        m->joints[i] = (OwJoint){.part_a = i, .port_a = i == MADE_TANK ? 0 : 1, .part_b = i + 1, .port_b = 0};
    }
    rig->joint_count = MADE_PARTS - 1;
}

static void event(OwMade *m, double time_s, OwEventKind kind, int part, int element, double value) {
    m->events[m->record.event_count++] = (OwEvent){time_s, kind, part, element, value};
}

static void make_samples(OwMade *m) {
    m->record.samples = m->samples;
    m->record.parts = m->part_samples;
    m->record.sample_count = MADE_SAMPLES;
    m->record.part_count = MADE_PARTS;
    m->record.end_s = (MADE_SAMPLES - 1) * MADE_STEP_S;
    for (int i = 0; i < MADE_SAMPLES; i++) {
        OwSample *s = &m->samples[i];
        const bool runs = i >= MADE_START;
        const double warm = i >= MADE_START ? 1.0 : (double)i / MADE_START;
        s->time_s = i * MADE_STEP_S;
        s->engine = runs ? OW_ENGINE_RUNNING : i == MADE_START - 1 ? OW_ENGINE_CRANKING : OW_ENGINE_OFF;
        s->is_key_on = true;
        s->leg = runs ? 0 : -1;
        s->coolant_k = C(-5) + (runs ? 0.3 * (i - MADE_START) * MADE_STEP_S : 0);
        s->inlet_k = C(-5) + 75.0 * warm;
        s->inlet_kinematic_m2_s = runs ? 13e-6 : i == MADE_START - 1 ? 16e-6 : 300e-6;
        s->inlet_pa = 20e3;
        s->inlet_fill = 1.0;
        s->lowest_pa = -5e3;
        s->lowest_part = MADE_HOSE;
        s->heaters_w = 250;
        s->charge_c = runs ? 250 * 90 / 12.5 : 20.0 * i * MADE_STEP_S;
        s->volts_v = 12.5;
        if (runs) {
            s->fuel_request_m3_s = s->fuel_burned_m3_s = 1e-6;
            s->full_request_m3_s = s->full_burned_m3_s = 4e-6;
        }
        for (int p = 0; p < MADE_PARTS; p++) {
            OwPartSample *q = &m->part_samples[i * MADE_PARTS + p];
            const double k = p >= MADE_CHAMBER ? s->inlet_k : C(-5);
            *q = (OwPartSample){
                .in_k = k, .out_k = k, .oil_max_k = k, .wall_k = k, .wall_max_k = k, .position = 1};
            q->flow_m3_s = runs ? 5e-6 : 0;
            q->drop_pa = runs ? (p == MADE_HOSE ? 8e3 : p == MADE_TANK ? 0 : 2e3) : 0;
            q->in_pa = 0;
            q->out_pa = -q->drop_pa;
        }
        OwPartSample *chamber = &m->part_samples[i * MADE_PARTS + MADE_CHAMBER];
        chamber->in_k = C(-5);
        chamber->wall_max_k = chamber->oil_max_k + 15;
        chamber->heat_w = 250;
    }
    event(m, 0, OW_EVENT_KEY_ON, -1, -1, 0);
}

OwMade *made_good(void) {
    OwMade *m = calloc(1, sizeof *m);
    if (m == NULL) {
        abort();
    }
    make_rig(m);
    m->record.rig = &m->rig;
    m->record.events = m->events;
    make_samples(m);
    m->record.has_started = true;
    m->record.ready_s = 84;
    m->record.start_s = 90;
    m->record.audit.energy_gap = 2e-9;
    event(m, 84, OW_EVENT_READY, -1, -1, 0);
    event(m, 85, OW_EVENT_CRANK, -1, -1, 0);
    event(m, 90, OW_EVENT_START, -1, -1, 0);
    event(m, 200, OW_EVENT_THERMOSTAT_OPENS, MADE_CHAMBER, 0, 0);
    event(m, 240, OW_EVENT_THERMOSTAT_CLOSES, MADE_CHAMBER, 0, 0);
    event(m, 260, OW_EVENT_THERMOSTAT_OPENS, MADE_CHAMBER, 0, 0);
    event(m, 390, OW_EVENT_END, -1, -1, 0);
    return m;
}

OwMade *made_no_start(double inlet_k, double kinematic_m2_s) {
    OwMade *m = made_good();
    m->record.has_started = false;
    m->record.ready_s = m->record.start_s = -1;
    m->record.event_count = 0;
    for (int i = 0; i < MADE_SAMPLES; i++) {
        OwSample *s = &m->samples[i];
        const double share = (double)i / (MADE_SAMPLES - 1);
        s->engine = i >= MADE_START ? OW_ENGINE_CRANKING : OW_ENGINE_OFF;
        s->inlet_k = C(-5) + (inlet_k - C(-5)) * share;
        s->inlet_kinematic_m2_s = kinematic_m2_s;
        s->full_request_m3_s = s->full_burned_m3_s = 0;
        for (int p = 0; p < MADE_PARTS; p++) {
            OwPartSample *q = &m->part_samples[i * MADE_PARTS + p];
            q->oil_max_k = q->wall_max_k = q->out_k = q->in_k = s->inlet_k;
        }
    }
    event(m, 0, OW_EVENT_KEY_ON, -1, -1, 0);
    event(m, 120, OW_EVENT_CRANK, -1, -1, 0);
    event(m, 130, OW_EVENT_NO_START, -1, -1, kinematic_m2_s);
    event(m, 390, OW_EVENT_GAVE_UP, -1, -1, 0);
    return m;
}

OwMade *made_starved(double lowest_pa, double share) {
    OwMade *m = made_good();
    for (int i = 20; i < MADE_SAMPLES; i++) {
        OwSample *s = &m->samples[i];
        s->lowest_pa = lowest_pa;
        s->inlet_fill = share;
        s->fuel_burned_m3_s = share * s->fuel_request_m3_s;
        s->full_burned_m3_s = 0.5 * share * s->full_request_m3_s;
        OwPartSample *hose = &m->part_samples[i * MADE_PARTS + MADE_HOSE];
        hose->drop_pa = -lowest_pa;
        hose->out_pa = lowest_pa;
    }
    event(m, 200, OW_EVENT_STARVED, -1, -1, 0);
    return m;
}
