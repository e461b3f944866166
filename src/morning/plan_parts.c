// SPDX-License-Identifier: GPL-3.0-or-later
// Every kind of part becomes links, lumps, ties and chains.
#include "morning/engine.h"
#include "morning/plan.h"

#include <math.h>

#define PI 3.14159265358979323846
/// Free convection from a small metal body to the oil in it at 20 K difference and 10 mm2/s. Common practice,
/// no source.
#define BODY_FILM_W_M2K 120.0
/// Coolant through a tank's coil at full engine speed. Common practice, no source.
#define TANK_COIL_KG_S 0.15
#define EMISSIVITY 0.9 // painted or rusty metal, rubber: Incropera table A.11

int ow_plan_lump(OwPlan *plan, double capacity_j_k, bool is_oil) {
    plan->lump_j_k[plan->lump_count] = capacity_j_k;
    plan->lump_is_oil[plan->lump_count] = is_oil;
    return plan->lump_count++;
}

int ow_plan_tie(OwPlan *plan, int a, int b, OwPlanTie what) {
    plan->ties[plan->tie_count] = (OwHeatTie){a, b};
    plan->plan_ties[plan->tie_count] = what;
    return plan->tie_count++;
}

int ow_plan_stream(OwPlan *plan, int from, int to) {
    plan->streams[plan->stream_count] = (OwHeatStream){from, to};
    return plan->stream_count++;
}

int ow_plan_surface(OwPlan *plan, double area_m2, double diameter_m, double insulation_w_m2k, OwPlace place) {
    // Air speed at the part over car speed. Common practice, no source.
    static const double share[] = {0.35, 0.1, 0.0, 0.0};
    const double reference_k = plan->rig->climate.ambient_k + (place == OW_PLACE_ENGINE_BAY ? 20.0 : 0.0);
    ow_heat_surface_make(area_m2, diameter_m, EMISSIVITY, insulation_w_m2k, share[place], reference_k,
                         &plan->surfaces[plan->surface_count]);
    return plan->surface_count++;
}

/// Adds a link and the streams that carry its heat from node to node through `oil_count` lumps of the part.
static OwLink *link_add(OwPlan *plan, int p, OwLinkLaw law, OwLinkRole role, int from, int to) {
    OwPlanPart *part = &plan->parts[p];
    OwLink *link = &plan->links[plan->link_count];
    OwPlanLink *extra = &plan->plan_links[plan->link_count];
    *link = (OwLink){
        .law = law, .from = from, .to = to, .part = p, .density_kg_m3 = 900.0, .kinematic_m2_s = 1e-5};
    *extra = (OwPlanLink){.role = role, .part = p, .chain = -1};
    extra->oil = part->oil_count > 0 ? part->oil_first : plan->node_lump[from];
    if (part->link_count == 0) {
        part->link_first = plan->link_count;
    }
    part->link_count++;
    plan->link_count++;
    return link;
}

static void link_streams(OwPlan *plan, bool through_part) {
    const OwLink *link = &plan->links[plan->link_count - 1];
    OwPlanLink *extra = &plan->plan_links[plan->link_count - 1];
    const OwPlanPart *part = &plan->parts[extra->part];
    extra->stream_first = plan->stream_count;
    int before = plan->node_lump[link->from];
    if (through_part) {
        for (int i = 0; i < part->oil_count; i++) {
            (void)ow_plan_stream(plan, before, part->oil_first + i);
            before = part->oil_first + i;
        }
    }
    (void)ow_plan_stream(plan, before, plan->node_lump[link->to]);
    extra->stream_count = plan->stream_count - extra->stream_first;
}

static void set_square(OwPlan *plan, double loss_k, double bore_m) {
    // Loss coefficient on the velocity head in the bore: dp = K rho Q^2 / (2 A^2).
    const double area = 0.25 * PI * bore_m * bore_m;
    plan->plan_links[plan->link_count - 1].square_over_density = loss_k / (2.0 * area * area);
}

/// Square loss from "this flow at this drop" with a fluid of 850 kg/m3.
static void set_square_at(OwPlan *plan, double flow_m3_s, double drop_pa) {
    plan->plan_links[plan->link_count - 1].square_over_density = drop_pa / (850.0 * flow_m3_s * flow_m3_s);
}

/// A stirred body: oil lumps in a metal lump that stands in the air of its place.
static void body_add(OwPlan *plan, int p, double oil_m3, int oil_count, double metal_kg, OwMaterial material,
                     double area_m2, double insulation_w_m2k, double inner_w_k) {
    OwPlanPart *part = &plan->parts[p];
    const OwMaterialData *metal = ow_material(material);
    const OwPlace place = plan->rig->parts[p].place;
    if (area_m2 <= 0.0) {
        area_m2 = 1.5 * 6.0 * pow(metal_kg / metal->density_kg_m3, 2.0 / 3.0);
    }
    if (inner_w_k <= 0.0) {
        inner_w_k = BODY_FILM_W_M2K * area_m2;
    }
    part->oil_first = plan->lump_count;
    part->oil_count = oil_count;
    for (int i = 0; i < oil_count; i++) {
        (void)ow_plan_lump(plan, fmax(oil_m3, 1e-6) / oil_count * plan->volumetric_j_m3k, true);
    }
    part->wall = ow_plan_lump(plan, fmax(metal_kg, 0.01) * metal->specific_heat_j_kgk, false);
    for (int i = 0; i < oil_count; i++) {
        (void)ow_plan_tie(
            plan, part->wall, part->oil_first + i,
            (OwPlanTie){
                .role = OW_TIE_INNER, .part = p, .w_k = inner_w_k / oil_count, .surface = -1, .link = -1});
    }
    const int surface = ow_plan_surface(plan, area_m2, sqrt(area_m2 / (2.5 * PI)), insulation_w_m2k, place);
    (void)ow_plan_tie(
        plan, part->wall, -1,
        (OwPlanTie){.role = OW_TIE_SURFACE, .part = p, .surface = surface, .place = place, .link = -1});
}

/// Lets the inner films of a body feel the flow of its link.
static void body_feels_link(OwPlan *plan, int p, double path_m) {
    const OwPlanPart *part = &plan->parts[p];
    for (int i = 0; i < plan->tie_count; i++) {
        OwPlanTie *tie = &plan->plan_ties[i];
        if (tie->part == p && tie->role == OW_TIE_INNER) {
            tie->link = part->link_first;
            tie->path_m = path_m / part->oil_count;
        }
    }
}

static void elements_add(OwPlan *plan, int p, const OwElements *elements, int oil_first, int oil_count,
                         int wall) {
    OwPlanPart *part = &plan->parts[p];
    part->element_first = plan->element_count;
    part->element_count = elements->count;
    for (int e = 0; e < elements->count; e++) {
        const OwElement *element = &elements->items[e];
        OwPlanElement *out = &plan->elements[plan->element_count++];
        const OwPlanTie tie = {.role = OW_TIE_CONSTANT, .part = p, .surface = -1, .link = -1};
        *out = (OwPlanElement){.part = p,
                               .index = e,
                               .lump = ow_plan_lump(plan, fmax(element->heat_capacity_j_k, 0.5), false),
                               .sensor = -1,
                               .cold_ohm_share = 1.0 / fmax(element->cold_ratio, 1.0),
                               .hot_ohm = element->rated_v * element->rated_v / element->power_w,
                               .cold_k = OW_ZERO_CELSIUS_K + 20.0,
                               .hot_k = fmax(element->hot_k, OW_ZERO_CELSIUS_K + 21.0)};
        for (int i = 0; i < oil_count; i++) {
            OwPlanTie to_oil = tie;
            to_oil.w_k = element->conductance_w_k * element->to_oil / oil_count;
            (void)ow_plan_tie(plan, out->lump, oil_first + i, to_oil);
        }
        OwPlanTie to_metal = tie;
        to_metal.w_k = element->conductance_w_k * (1.0 - element->to_oil);
        (void)ow_plan_tie(plan, out->lump, wall, to_metal);
        if (element->has_thermostat) {
            out->sensor = plan->sensor_count++;
            plan->sensors[out->sensor] =
                (OwPlanSensor){.host = element->senses_oil ? oil_first + oil_count - 1 : wall,
                               .lag_s = fmax(element->thermostat_lag_s, 0.1)};
        }
    }
}

static void tank_add(OwPlan *plan, int p) {
    const OwPart *source = &plan->rig->parts[p];
    const OwTank *tank = &source->as.tank;
    OwPlanPart *part = &plan->parts[p];
    OwPlanTank *out = &plan->tanks[plan->tank_count];
    part->tank = plan->tank_count++;
    *out = (OwPlanTank){.part = p,
                        .pickup_node = part->port_node[0],
                        .return_node = part->port_node[1],
                        .makeup_stream = -1,
                        .start_m3 = fmax(tank->volume_m3 * tank->fill, 1e-4),
                        // A box as deep as 0.6 of the cube's edge; common practice, no source.
                        .depth_m_per_root = 0.6};
    // The layer keeps its share of the oil as the tank empties.
    out->near_share = fmin(fmax(tank->pickup_share, 0.0), 0.9);
    const double near_m3 = out->near_share > 0.0 ? out->near_share * out->start_m3 : out->start_m3;
    out->near = ow_plan_lump(plan, near_m3 * plan->volumetric_j_m3k, true);
    out->bulk = out->near;
    part->oil_first = out->near;
    part->oil_count = 1;
    plan->node_lump[out->pickup_node] = out->near;
    plan->node_lump[out->return_node] = out->near;
    if (out->near_share > 0.0) {
        out->bulk = ow_plan_lump(plan, (out->start_m3 - near_m3) * plan->volumetric_j_m3k, true);
        part->oil_count = 2;
        out->makeup_stream = ow_plan_stream(plan, out->bulk, out->near);
        (void)ow_plan_tie(plan, out->near, out->bulk,
                          (OwPlanTie){.role = OW_TIE_CONSTANT,
                                      .part = p,
                                      .w_k = tank->layer_exchange_w_k,
                                      .surface = -1,
                                      .link = -1});
    }
    part->wall = ow_plan_lump(
        plan, fmax(tank->metal_mass_kg, 0.5) * ow_material(OW_MATERIAL_STEEL)->specific_heat_j_kgk, false);
    // Wall to oil: free convection at 60 W/m2K in the reference state; common practice, no source.
    (void)ow_plan_tie(
        plan, part->wall, out->bulk,
        (OwPlanTie){.role = OW_TIE_INNER, .part = p, .w_k = 60.0 * tank->area_m2, .surface = -1, .link = -1});
    const int surface = ow_plan_surface(plan, tank->area_m2, 0.4, tank->insulation_w_m2k, source->place);
    (void)ow_plan_tie(
        plan, part->wall, -1,
        (OwPlanTie){
            .role = OW_TIE_SURFACE, .part = p, .surface = surface, .place = source->place, .link = -1});
    if (tank->coil_w_k > 0.0) {
        (void)ow_plan_tie(plan, plan->coolant, out->near,
                          (OwPlanTie){.role = OW_TIE_COOLANT,
                                      .part = p,
                                      .w_k = tank->coil_w_k,
                                      .coolant_kg_s = TANK_COIL_KG_S,
                                      .surface = -1,
                                      .link = -1});
    }
    elements_add(plan, p, &tank->elements, out->near, 1, part->wall);
}

static void run_add(OwPlan *plan, int p) {
    const OwPart *source = &plan->rig->parts[p];
    const OwRun *run = &source->as.run;
    OwPlanPart *part = &plan->parts[p];
    const int from = part->port_node[0], to = part->port_node[1];
    OwLink *link = link_add(plan, p, OW_LINK_PIPE, OW_ROLE_RUN, from, to);
    link->bore_m = run->bore_m;
    link->roughness_m = run->roughness_m;
    OwPlanLink *extra = &plan->plan_links[plan->link_count - 1];
    const double bore2 = run->bore_m * run->bore_m;
    extra->per_viscosity_m3 = 128.0 * run->length_m / (PI * bore2 * bore2);
    extra->rise_m = run->rise_m;
    set_square(plan, run->minor_loss, run->bore_m);
    // Cells of about 12 cm: the spread of a front by n stirred cells is 1/sqrt(n) of the passage time.
    int cells = run->cells > 0 ? run->cells : (int)ceil(run->length_m / 0.12);
    cells = cells < 4 ? 4 : cells;
    if (run->cells <= 0 && cells > 40) {
        cells = 40;
    }
    const OwMaterialData *wall = ow_material(run->material);
    const double inner = 0.5 * run->bore_m, outer = inner + run->wall_m, middle = 0.5 * (inner + outer);
    const double covered = outer + run->insulation_m;
    const double cell_m = run->length_m / cells;
    double resistance = log(outer / middle) / (2.0 * PI * wall->conductivity_w_mk);
    if (run->insulation_m > 0.0) {
        resistance += log(covered / outer) / (2.0 * PI * run->insulation_w_mk);
    }
    extra->chain = part->chain = plan->chain_count;
    plan->chains[plan->chain_count] =
        (OwHeatChain){.from = plan->node_lump[from],
                      .to = plan->node_lump[to],
                      .cells = cells,
                      .liquid_j_k = 0.25 * PI * bore2 * cell_m * plan->volumetric_j_m3k,
                      .wall_j_k = PI * (outer * outer - inner * inner) * cell_m * wall->density_kg_m3 *
                                  wall->specific_heat_j_kgk,
                      .warmer = run->coolant_w_mk > 0.0 ? plan->coolant : -1};
    plan->plan_chains[plan->chain_count] =
        (OwPlanChain){.part = p,
                      .link = plan->link_count - 1,
                      .bore_m = run->bore_m,
                      .length_m = run->length_m,
                      .wall_w_k = 2.0 * PI * wall->conductivity_w_mk * cell_m / log(middle / inner),
                      .trace_w = run->trace_w_m * cell_m,
                      .surface = ow_plan_surface(plan, 2.0 * PI * covered * cell_m, 2.0 * covered,
                                                 1.0 / (resistance * 2.0 * PI * covered), source->place)};
    plan->chain_count++;
}

static void chamber_add(OwPlan *plan, int p) {
    const OwChamber *chamber = &plan->rig->parts[p].as.chamber;
    OwPlanPart *part = &plan->parts[p];
    const int cells = chamber->cells < 1 ? 1 : chamber->cells;
    body_add(plan, p, chamber->oil_volume_m3, cells, chamber->metal_mass_kg, chamber->material,
             chamber->outer_area_m2, chamber->insulation_w_m2k, chamber->inner_w_k);
    OwLink *link = link_add(plan, p, OW_LINK_PIPE, OW_ROLE_PASSAGE, part->port_node[0], part->port_node[1]);
    link->bore_m = chamber->bore_m;
    OwPlanLink *extra = &plan->plan_links[plan->link_count - 1];
    const double bore2 = chamber->bore_m * chamber->bore_m;
    extra->per_viscosity_m3 = 128.0 * chamber->path_m / (PI * bore2 * bore2);
    extra->rise_m = chamber->rise_m;
    set_square(plan, 1.5, chamber->bore_m); // sudden entry and exit, White table 6.5 and fig. 6.22
    link_streams(plan, true);
    body_feels_link(plan, p, chamber->path_m);
    elements_add(plan, p, &chamber->elements, part->oil_first, cells, part->wall);
}

static void media_add(OwPlan *plan, int p, double clean_pa, double at_flow_m3_s, double at_kinematic_m2_s,
                      double loading) {
    const OwPlanPart *part = &plan->parts[p];
    (void)link_add(plan, p, OW_LINK_DARCY, OW_ROLE_PASSAGE, part->port_node[0], part->port_node[1]);
    // Darcy: drop over flow and dynamic viscosity is a constant of the medium; dirt closes the share
    // `loading` of it.
    const double viscosity_pa_s = at_kinematic_m2_s * 900.0;
    plan->plan_links[plan->link_count - 1].per_viscosity_m3 =
        clean_pa / (at_flow_m3_s * viscosity_pa_s) / (1.0 - fmin(fmax(loading, 0.0), 0.999));
    link_streams(plan, true);
}

static void pump_add(OwPlan *plan, int p) {
    const OwElectricPump *pump = &plan->rig->parts[p].as.electric_pump;
    const OwPlanPart *part = &plan->parts[p];
    body_add(plan, p, pump->oil_volume_m3, 1, pump->metal_mass_kg, OW_MATERIAL_STEEL, 0.0, 0.0, 0.0);
    OwLink *link = link_add(plan, p, OW_LINK_PUMP, OW_ROLE_PUMP, part->port_node[0], part->port_node[1]);
    link->stall_pa = pump->stall_pa;
    link->free_flow_m3_s = pump->free_flow_m3_s;
    link->passes_when_off = pump->passes_when_off;
    link->curve_count = pump->curve_count < OW_FLOW_CURVE ? pump->curve_count : OW_FLOW_CURVE;
    for (int i = 0; i < link->curve_count; i++) {
        link->curve_flow_m3_s[i] = pump->curve_flow_m3_s[i];
        link->curve_pa[i] = pump->curve_pa[i];
    }
    set_square_at(plan, pump->free_flow_m3_s,
                  10e3); // through the valves of a standing pump: common practice, no source
    link_streams(plan, true);
}

static void lift_pump_add(OwPlan *plan, int p) {
    const OwLiftPump *pump = &plan->rig->parts[p].as.lift_pump;
    const OwPlanPart *part = &plan->parts[p];
    body_add(plan, p, pump->oil_volume_m3, 1, pump->metal_mass_kg, OW_MATERIAL_ALUMINIUM, 0.0, 0.0, 0.0);
    OwLink *link = link_add(plan, p, OW_LINK_LIFT, OW_ROLE_LIFT, part->port_node[0], part->port_node[1]);
    link->set_pa = pump->spring_pa;
    set_square_at(plan, pump->displacement_m3_rev * 30.0,
                  5e3); // its two valves when pushed; common practice, no source
    link_streams(plan, true);
}

static void injection_pump_add(OwPlan *plan, int p) {
    const OwInjectionPump *pump = &plan->rig->parts[p].as.injection_pump;
    OwPlanPart *part = &plan->parts[p];
    const int in = part->port_node[0], back = part->port_node[1], gallery = part->inner_node;
    plan->pump_part = p;
    plan->inlet_node = in;
    plan->gallery_node = gallery;
    const int gallery_lump = plan->node_lump[gallery];
    plan->lump_j_k[gallery_lump] = fmax(pump->oil_volume_m3, 5e-6) * plan->volumetric_j_m3k;
    part->oil_first = gallery_lump;
    part->oil_count = 1;
    const OwPlace place = plan->rig->parts[p].place;
    part->wall = ow_plan_lump(
        plan, fmax(pump->metal_mass_kg, 0.1) * ow_material(OW_MATERIAL_ALUMINIUM)->specific_heat_j_kgk,
        false);
    const double area =
        1.5 * 6.0 * pow(pump->metal_mass_kg / ow_material(OW_MATERIAL_ALUMINIUM)->density_kg_m3, 2.0 / 3.0);
    (void)ow_plan_tie(
        plan, part->wall, gallery_lump,
        (OwPlanTie){
            .role = OW_TIE_INNER, .part = p, .w_k = BODY_FILM_W_M2K * area, .surface = -1, .link = -1});
    (void)ow_plan_tie(
        plan, part->wall, -1,
        (OwPlanTie){.role = OW_TIE_SURFACE,
                    .part = p,
                    .place = place,
                    .link = -1,
                    .surface = ow_plan_surface(plan, area, sqrt(area / (2.5 * PI)), 0.0, place)});
    (void)ow_plan_tie(
        plan, part->wall, plan->block,
        (OwPlanTie){.role = OW_TIE_CONSTANT, .part = p, .w_k = pump->engine_w_k, .surface = -1, .link = -1});
    if (pump->type == OW_PUMP_DISTRIBUTOR) {
        (void)link_add(plan, p, OW_LINK_TRANSFER, OW_ROLE_TRANSFER, in, gallery);
        plan->plan_links[plan->link_count - 1].oil = plan->node_lump[in];
        link_streams(plan, false);
        // A feed pump pushes through the standing transfer stage; opening and loss are common practice, no
        // source.
        OwLink *by_pass = link_add(plan, p, OW_LINK_CHECK, OW_ROLE_FIXED, in, gallery);
        by_pass->set_pa = 5e3;
        set_square_at(plan, 60e-3 / 3600.0, 10e3);
        link_streams(plan, false);
        OwLink *overflow = link_add(plan, p, OW_LINK_CHECK, OW_ROLE_FIXED, gallery, back);
        overflow->set_pa = 0.0;
        set_square_at(plan, pump->overflow_flow_m3_s, pump->overflow_drop_pa);
        link_streams(plan, false);
    } else {
        (void)link_add(plan, p, OW_LINK_DARCY, OW_ROLE_FIXED, in, gallery);
        set_square(plan, 1.5, 6e-3); // entry into the gallery, a 6 mm connection: common practice, no source
        link_streams(plan, false);
        OwLink *overflow = link_add(plan, p, OW_LINK_RELIEF, OW_ROLE_FIXED, gallery, back);
        overflow->set_pa = pump->overflow_pa;
        overflow->linear_pa_s_m3 = pump->overflow_drop_pa / pump->overflow_flow_m3_s;
        link_streams(plan, false);
    }
    (void)link_add(plan, p, OW_LINK_DEMAND, OW_ROLE_DEMAND, gallery, -1);
    plan->demand_link = plan->link_count - 1;
    plan->plan_links[plan->demand_link].oil = gallery_lump;
}

static void valve_add(OwPlan *plan, int p) {
    const OwValve *valve = &plan->rig->parts[p].as.valve;
    const OwPlanPart *part = &plan->parts[p];
    for (int port = 1; port < valve->ways; port++) {
        (void)link_add(plan, p, OW_LINK_DARCY, OW_ROLE_FIXED, part->port_node[0], part->port_node[port]);
        plan->plan_links[plan->link_count - 1].valve_port = port;
        set_square(plan, valve->loss_k, valve->loss_bore_m);
        link_streams(plan, false);
    }
}

static void coil_add(OwPlan *plan, int p) {
    const OwCoolantCoil *coil = &plan->rig->parts[p].as.coil;
    if (!coil->is_fitted) {
        return;
    }
    const OwPlanPart *target = &plan->parts[coil->warms];
    OwPlanTie tie = {.role = OW_TIE_COOLANT,
                     .part = coil->warms,
                     .w_k = coil->conductance_w_k,
                     .coolant_kg_s = coil->coolant_kg_s,
                     .surface = -1,
                     .link = -1};
    if (coil->to_oil && target->oil_count > 0) {
        // Shared over the oil of the part; a tank has its coil at the pick-up.
        const int count = target->tank >= 0 ? 1 : target->oil_count;
        tie.w_k /= count;
        tie.coolant_kg_s /= count;
        for (int i = 0; i < count; i++) {
            (void)ow_plan_tie(plan, plan->coolant, target->oil_first + i, tie);
        }
    } else if (target->wall >= 0) {
        (void)ow_plan_tie(plan, plan->coolant, target->wall, tie);
    } else if (target->chain >= 0) {
        plan->chains[target->chain].warmer = plan->coolant; // its conductance is added where rates are made
    }
}

static void exchanger_add(OwPlan *plan, int p) {
    const OwExchanger *exchanger = &plan->rig->parts[p].as.exchanger;
    OwPlanPart *part = &plan->parts[p];
    body_add(plan, p, exchanger->oil_volume_m3, 2, exchanger->metal_mass_kg, OW_MATERIAL_STAINLESS, 0.0, 0.0,
             0.0);
    OwLink *link = link_add(plan, p, OW_LINK_PIPE, OW_ROLE_PASSAGE, part->port_node[0], part->port_node[1]);
    link->bore_m = exchanger->bore_m;
    const double bore2 = exchanger->bore_m * exchanger->bore_m;
    plan->plan_links[plan->link_count - 1].per_viscosity_m3 =
        128.0 * exchanger->path_m / (PI * bore2 * bore2);
    link_streams(plan, true);
    body_feels_link(plan, p, exchanger->path_m);
    for (int i = 0; i < 2; i++) {
        (void)ow_plan_tie(plan, plan->coolant, part->oil_first + i,
                          (OwPlanTie){.role = OW_TIE_COOLANT,
                                      .part = p,
                                      .w_k = 0.5 * exchanger->conductance_w_k,
                                      .coolant_kg_s = 0.5 * exchanger->coolant_kg_s,
                                      .surface = -1,
                                      .link = -1});
    }
}

static void part_add(OwPlan *plan, int p) {
    const OwPart *source = &plan->rig->parts[p];
    OwPlanPart *part = &plan->parts[p];
    switch (source->kind) {
    case OW_PART_RUN:
        run_add(plan, p);
        break;
    case OW_PART_CHAMBER:
        chamber_add(plan, p);
        break;
    case OW_PART_ELECTRIC_PUMP:
        pump_add(plan, p);
        break;
    case OW_PART_LIFT_PUMP:
        lift_pump_add(plan, p);
        break;
    case OW_PART_FILTER: {
        const OwFilter *filter = &source->as.filter;
        body_add(plan, p, filter->oil_volume_m3, 2, filter->housing_mass_kg, filter->material,
                 filter->outer_area_m2, 0.0, 0.0);
        media_add(plan, p, filter->clean_pa, filter->at_flow_m3_s, filter->at_kinematic_m2_s,
                  filter->loading);
        elements_add(plan, p, &filter->elements, part->oil_first, 2, part->wall);
        break;
    }
    case OW_PART_SCREEN: {
        const OwScreen *screen = &source->as.screen;
        body_add(plan, p, screen->oil_volume_m3, 1, screen->metal_mass_kg, OW_MATERIAL_STEEL, 0.0, 0.0, 0.0);
        media_add(plan, p, screen->clean_pa, screen->at_flow_m3_s, screen->at_kinematic_m2_s,
                  screen->loading);
        break;
    }
    case OW_PART_EXCHANGER:
        exchanger_add(plan, p);
        break;
    case OW_PART_INJECTION_PUMP:
        injection_pump_add(plan, p);
        break;
    case OW_PART_VALVE:
        valve_add(plan, p);
        break;
    case OW_PART_CHECK_VALVE: {
        OwLink *link =
            link_add(plan, p, OW_LINK_CHECK, OW_ROLE_FIXED, part->port_node[0], part->port_node[1]);
        link->set_pa = source->as.check_valve.open_pa;
        set_square(plan, source->as.check_valve.loss_k, source->as.check_valve.loss_bore_m);
        link_streams(plan, false);
        break;
    }
    case OW_PART_RELIEF_VALVE: {
        OwLink *link =
            link_add(plan, p, OW_LINK_RELIEF, OW_ROLE_FIXED, part->port_node[0], part->port_node[1]);
        link->set_pa = source->as.relief_valve.open_pa;
        link->linear_pa_s_m3 = source->as.relief_valve.slope_pa_s_m3;
        link_streams(plan, false);
        break;
    }
    case OW_PART_ORIFICE: {
        const OwOrifice *orifice = &source->as.orifice;
        (void)link_add(plan, p, OW_LINK_DARCY, OW_ROLE_FIXED, part->port_node[0], part->port_node[1]);
        set_square(plan, 1.0 / (orifice->discharge * orifice->discharge), orifice->bore_m);
        link_streams(plan, false);
        break;
    }
    default:
        break; // tanks came first, coils and injectors come last, tees are nodes
    }
}

OwStatus ow_plan_parts(OwPlan *plan) {
    const OwRig *rig = plan->rig;
    for (int p = 0; p < rig->part_count; p++) {
        if (rig->parts[p].kind == OW_PART_TANK) {
            tank_add(plan, p);
        }
    }
    for (int p = 0; p < rig->part_count; p++) {
        part_add(plan, p);
    }
    for (int p = 0; p < rig->part_count; p++) {
        if (rig->parts[p].kind == OW_PART_COOLANT_COIL) {
            coil_add(plan, p);
        } else if (rig->parts[p].kind == OW_PART_INJECTORS) {
            // Leak-off flows from the pump's gallery; it is only there when somebody takes it back.
            bool is_joined = false;
            for (int j = 0; j < rig->joint_count; j++) {
                is_joined |= rig->joints[j].part_a == p || rig->joints[j].part_b == p;
            }
            if (is_joined) {
                (void)link_add(plan, p, OW_LINK_TRANSFER, OW_ROLE_LEAK_OFF, plan->gallery_node,
                               plan->parts[p].port_node[0]);
                link_streams(plan, false);
            }
        }
    }
    return OW_OK;
}
