// SPDX-License-Identifier: GPL-3.0-or-later
// The way through a filter: which parts, what they hold, what they take at a flow.
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "judge/bleed.h"

#define PI 3.14159265358979323846

double ow_bleed_bore(const OwPart *part) {
    switch (part->kind) {
    case OW_PART_RUN:
        return part->as.run.bore_m;
    case OW_PART_CHAMBER:
        return part->as.chamber.bore_m;
    case OW_PART_EXCHANGER:
        return part->as.exchanger.bore_m;
    default:
        return 0.0;
    }
}

double ow_bleed_volume(const OwPart *part) {
    switch (part->kind) {
    case OW_PART_RUN:
        return 0.25 * PI * part->as.run.bore_m * part->as.run.bore_m * part->as.run.length_m;
    case OW_PART_CHAMBER:
        return part->as.chamber.oil_volume_m3;
    case OW_PART_FILTER:
        return part->as.filter.oil_volume_m3;
    case OW_PART_SCREEN:
        return part->as.screen.oil_volume_m3;
    case OW_PART_EXCHANGER:
        return part->as.exchanger.oil_volume_m3;
    case OW_PART_ELECTRIC_PUMP:
        return part->as.electric_pump.oil_volume_m3;
    case OW_PART_LIFT_PUMP:
        return part->as.lift_pump.oil_volume_m3;
    default:
        return 0.0;
    }
}

static double pipe_drop(const OwBleedPath *path, double bore_m, double length_m, double rise_m, double loss,
                        double roughness_m, double flow) {
    const double area = 0.25 * PI * bore_m * bore_m;
    OwLink link = {.law = OW_LINK_PIPE,
                   .from = 0,
                   .to = 1,
                   .bore_m = bore_m,
                   .roughness_m = roughness_m,
                   .kinematic_m2_s = path->kinematic_m2_s,
                   .density_kg_m3 = path->density_kg_m3};
    link.linear_pa_s_m3 =
        128.0 * path->kinematic_m2_s * path->density_kg_m3 * length_m / (PI * pow(bore_m, 4.0));
    link.square_pa_s2_m6 = loss * path->density_kg_m3 / (2.0 * area * area);
    link.static_pa = path->density_kg_m3 * OW_GRAVITY_M_S2 * rise_m;
    return ow_flow_drop(&link, flow, NULL);
}

/// Darcy medium: drop ~ flow and dynamic viscosity; 900 kg/m3 at the stated point, as the plan reckons.
static double media_drop(const OwBleedPath *path, double clean_pa, double at_m3_s, double at_m2_s,
                         double loading, double flow) {
    const double mu = path->kinematic_m2_s * path->density_kg_m3;
    return clean_pa * flow / at_m3_s * mu / (at_m2_s * 900.0) / (1.0 - fmin(fmax(loading, 0.0), 0.999));
}

static double part_drop(const OwBleedPath *path, const OwPart *part, double flow) {
    switch (part->kind) {
    case OW_PART_RUN: {
        const OwRun *r = &part->as.run;
        return pipe_drop(path, r->bore_m, r->length_m, r->rise_m, r->minor_loss, r->roughness_m, flow);
    }
    case OW_PART_CHAMBER: {
        const OwChamber *c = &part->as.chamber;
        return pipe_drop(path, c->bore_m, c->path_m, c->rise_m, 1.5, 0.0, flow);
    }
    case OW_PART_EXCHANGER:
        return pipe_drop(path, part->as.exchanger.bore_m, part->as.exchanger.path_m, 0.0, 0.0, 0.0, flow);
    case OW_PART_FILTER: {
        const OwFilter *f = &part->as.filter;
        return media_drop(path, f->clean_pa, f->at_flow_m3_s, f->at_kinematic_m2_s, 0.0, flow); // a new one
    }
    case OW_PART_SCREEN: {
        const OwScreen *s = &part->as.screen;
        return media_drop(path, s->clean_pa, s->at_flow_m3_s, s->at_kinematic_m2_s, s->loading, flow);
    }
    case OW_PART_VALVE: {
        const double bore = part->as.valve.loss_bore_m, area = 0.25 * PI * bore * bore;
        return part->as.valve.loss_k * path->density_kg_m3 / (2.0 * area * area) * flow * flow;
    }
    case OW_PART_CHECK_VALVE: {
        const double bore = part->as.check_valve.loss_bore_m, area = 0.25 * PI * bore * bore;
        return part->as.check_valve.open_pa +
               part->as.check_valve.loss_k * path->density_kg_m3 / (2.0 * area * area) * flow * flow;
    }
    case OW_PART_ORIFICE: {
        const double bore = part->as.orifice.bore_m,
                     area = part->as.orifice.discharge * 0.25 * PI * bore * bore;
        return path->density_kg_m3 / (2.0 * area * area) * flow * flow;
    }
    case OW_PART_LIFT_PUMP: { // pushed through its valves, as the plan reckons
        const double at = part->as.lift_pump.displacement_m3_rev * 30.0;
        return at > 0.0 ? 5e3 * flow * flow / (at * at) : 0.0;
    }
    case OW_PART_ELECTRIC_PUMP: { // standing
        const double at = part->as.electric_pump.free_flow_m3_s;
        return part->as.electric_pump.passes_when_off ? 10e3 * flow * flow / (at * at) : 1e9;
    }
    default:
        return 0.0;
    }
}

double ow_bleed_drop(const OwBleedPath *path, int first, int last, double flow_m3_s) {
    double sum = 0.0;
    for (int i = first; i <= last && i < path->count; i++) {
        sum += part_drop(path, &path->rig->parts[path->parts[i]], flow_m3_s);
    }
    return sum;
}

double ow_bleed_push(const OwBleedPath *path, double flow_m3_s) {
    if (path->pump_at < 0) {
        return 0.0;
    }
    const OwElectricPump *pump = &path->rig->parts[path->parts[path->pump_at]].as.electric_pump;
    const double drive = fmin(
        fmax(path->rig->electrics.battery_v * (1.0 - path->rig->electrics.wire_drop) / pump->rated_v, 0.0),
        2.0);
    const double thin = pump->half_viscosity_m2_s > 0.0
                            ? 1.0 / (1.0 + path->kinematic_m2_s / pump->half_viscosity_m2_s)
                            : 1.0;
    const double q = drive > 0.0 ? flow_m3_s / drive / thin : INFINITY;
    if (pump->curve_count < 2) {
        return drive * pump->stall_pa * (1.0 - q / pump->free_flow_m3_s);
    }
    for (int i = 1; i < pump->curve_count; i++) {
        if (q <= pump->curve_flow_m3_s[i] || i + 1 == pump->curve_count) {
            const double span = pump->curve_flow_m3_s[i] - pump->curve_flow_m3_s[i - 1];
            const double t = span > 0.0 ? (q - pump->curve_flow_m3_s[i - 1]) / span : 0.0;
            return drive * (pump->curve_pa[i - 1] + t * (pump->curve_pa[i] - pump->curve_pa[i - 1]));
        }
    }
    return 0.0;
}

static int largest_filter(const OwRig *rig, const int *parts, int count) {
    int best = -1;
    for (int i = 0; i < count; i++) {
        if (rig->parts[parts[i]].kind == OW_PART_FILTER &&
            (best < 0 ||
             ow_bleed_volume(&rig->parts[parts[i]]) > ow_bleed_volume(&rig->parts[parts[best]]))) {
            best = i;
        }
    }
    return best;
}

/// The way with all valves at their position number `k` (-1: as they start). True when it has the filter.
static bool try_positions(OwBleedPath *path, int filter, int k, OwFaults *faults) {
    for (int p = 0; k >= 0 && p < path->variant->rig.part_count; p++) {
        OwPart *part = &path->variant->rig.parts[p];
        if (part->kind == OW_PART_VALVE && k < part->as.valve.position_count) {
            part->as.valve.start_position = k;
        }
    }
    ow_plan_destroy(&path->plan);
    if (ow_plan_create(&path->variant->rig, &path->plan, k < 0 ? faults : NULL) != OW_OK) {
        return false;
    }
    path->count = ow_plan_path(path->plan, path->parts, OW_BLEED_PATH);
    path->count = path->count > OW_BLEED_PATH ? OW_BLEED_PATH : path->count;
    path->filter_at = -1;
    if (filter < 0) {
        path->filter_at = largest_filter(path->rig, path->parts, path->count);
    }
    for (int i = 0; filter >= 0 && i < path->count; i++) {
        path->filter_at = path->parts[i] == filter ? i : path->filter_at;
    }
    return path->filter_at >= 0;
}

static void set_fluid(OwBleedPath *path, double soak_k) {
    const OwTank *tank = &path->rig->parts[path->parts[0]].as.tank;
    const bool is_tank = path->rig->parts[path->parts[0]].kind == OW_PART_TANK;
    int fluid = 0;
    for (int f = 0; is_tank && f < path->rig->fluid_count; f++) {
        fluid = strcmp(tank->fluid, path->rig->fluid_name[f]) == 0 ? f : fluid;
    }
    const OwFluid *oil = ow_plan_fluid(path->plan, fluid);
    OwOilState state;
    ow_oil_state(oil, soak_k, &state);
    path->kinematic_m2_s = state.kinematic_m2_s;
    path->density_kg_m3 = state.density_kg_m3;
    path->surface_n_m = state.surface_tension_n_m > 0.0 ? state.surface_tension_n_m : 0.03;
    path->solubility = oil->air_solubility > 0.0 ? oil->air_solubility : 0.1;
    if (is_tank) {
        // A box as deep as 0.6 of the cube's edge, as the plan reckons.
        const double depth = 0.6 * cbrt(fmax(tank->volume_m3 * tank->fill, 1e-5));
        path->head_pa =
            tank->vent_pa + path->density_kg_m3 * OW_GRAVITY_M_S2 * (depth - tank->pickup_height_m);
    }
}

OwStatus ow_bleed_path_create(const OwRig *rig, int filter, double soak_k, OwBleedPath *path,
                              OwFaults *faults) {
    *path = (OwBleedPath){.rig = rig, .filter_at = -1, .pump_at = -1};
    OwStatus status = ow_variant_create(rig, &path->variant);
    if (status != OW_OK) {
        return status;
    }
    bool has = false;
    for (int k = -1; k < 4 && !has; k++) {
        has = try_positions(path, filter, k, faults);
    }
    if (!has) {
        OwFault fault = {.status = OW_ERROR_VALUE, .severity = OW_FAULT_ERROR};
        snprintf(fault.file, sizeof fault.file, "%s", rig->file);
        snprintf(fault.part, sizeof fault.part, "%.63s", filter >= 0 ? rig->parts[filter].name : "filter");
        snprintf(fault.message, sizeof fault.message, "no way to the injection pump leads through %s",
                 filter >= 0 ? "this filter" : "a filter");
        snprintf(fault.remedy, sizeof fault.remedy, "name a filter on the way, or fit one");
        if (faults != NULL && faults->errors == 0) {
            (void)ow_faults_add(faults, &fault);
        }
        ow_bleed_path_destroy(path);
        return OW_ERROR_VALUE;
    }
    for (int i = 0; i < path->filter_at; i++) {
        if (rig->parts[path->parts[i]].kind == OW_PART_ELECTRIC_PUMP) {
            path->pump_at = i;
        }
    }
    set_fluid(path, soak_k);
    return OW_OK;
}

void ow_bleed_path_destroy(OwBleedPath *path) {
    ow_plan_destroy(&path->plan);
    ow_variant_destroy(&path->variant);
}
