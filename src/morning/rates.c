// SPDX-License-Identifier: GPL-3.0-or-later
// From a state to everything that changes it: what driver and road ask, viscosities, flows, films, losses,
// heaters.
#include "morning/engine.h"
#include "morning/system.h"

#include <math.h>
#include <string.h>

#define COOLANT_J_KGK                                                                                        \
    3500.0 // 50 % ethylene glycol near 60 degC, ASHRAE Fundamentals 2009 ch. 31 (from memory)
#define TWO_PI 6.28318530717958648
/// Reference of the free-convection films: 20 K difference, 10 mm2/s oil.
#define FILM_REFERENCE_K 20.0
#define FILM_REFERENCE_M2_S 10e-6
/// A hard flow problem (a pump that hugs the vacuum) is led from oil full of air, whose fill falls gently, to
/// the real one in so many stages.
#define SOFT_AIR 10.0
#define SOFT_STAGES 24
#define TRACE_SPAN_K 10.0 // no tape limits itself more sharply than this; common practice, no source
#define PUMP_WASTE 0.9    // share of a pump's electric power that warms its body; common practice, no source

static void read_inputs(OwSystem *system, double time_s, double block_k, OwInputs *in) {
    const OwRig *rig = system->plan->rig;
    const OwSwitches *now = &system->now;
    *in = (OwInputs){.leg = -1};
    if (now->start_s >= 0.0) {
        OwDrivePoint point;
        ow_drive_at(&system->plan->drive, time_s - now->start_s, &system->drive_hint, &point);
        in->leg = point.leg;
        if (now->engine == OW_ENGINE_RUNNING) {
            in->speed_m_s = point.speed_m_s;
            in->engine_rad_s = point.engine_rad_s;
            in->fuel_m3_s = point.fuel_m3_s;
            in->full_fuel_m3_s = point.full_fuel_m3_s;
            in->coolant_heat_w = point.coolant_heat_w;
        }
    }
    if (now->engine == OW_ENGINE_CRANKING) {
        in->engine_rad_s = ow_engine_crank_rad_s(&rig->engine, block_k);
        in->fuel_m3_s = rig->engine.start_fuel_m3_s;
    }
}

/// Means over a chain that several coefficients need, in one pass.
static void mean_chain(const OwPlan *plan, int c, const double *y, OwChainMean *mean) {
    const OwHeatChain *chain = &plan->chains[c];
    const double *liquid = y + chain->first, *wall = liquid + chain->cells;
    double viscosity = 0.0, liquid_k = 0.0, wall_k = 0.0;
    if (plan->fluid_count == 1) {
        for (int i = 0; i < chain->cells; i++) {
            viscosity += ow_curve_value(&plan->dynamic[0], liquid[i]);
        }
    } else {
        const double *share = y + plan->share_at + chain->first;
        for (int i = 0; i < chain->cells; i++) {
            viscosity += exp((1.0 - share[i]) * ow_curve_value(&plan->log_dynamic[0], liquid[i]) +
                             share[i] * ow_curve_value(&plan->log_dynamic[1], liquid[i]));
        }
    }
    for (int i = 0; i < chain->cells; i++) {
        liquid_k += liquid[i];
        wall_k += wall[i];
    }
    const double each = 1.0 / chain->cells;
    *mean = (OwChainMean){
        .viscosity_pa_s = viscosity * each, .liquid_k = liquid_k * each, .wall_k = wall_k * each};
}

static void set_pump(OwSystem *system, const OwPlanLink *extra, OwLink *link, double kinematic_m2_s,
                     double volts_v) {
    const OwElectricPump *pump = &system->plan->rig->parts[extra->part].as.electric_pump;
    link->drive = system->now.part_on[extra->part] ? volts_v / pump->rated_v : 0.0;
    const double thin =
        pump->half_viscosity_m2_s > 0.0 ? 1.0 / (1.0 + kinematic_m2_s / pump->half_viscosity_m2_s) : 1.0;
    link->free_flow_m3_s = pump->free_flow_m3_s * thin;
    for (int i = 0; i < link->curve_count; i++) {
        link->curve_flow_m3_s[i] = pump->curve_flow_m3_s[i] * thin;
    }
}

static void set_links(OwSystem *system, double time_s, const double *y, const OwEval *eval) {
    const OwInputs *in = &eval->in;
    const OwPlan *plan = system->plan;
    const double turns_s = in->engine_rad_s / TWO_PI;
    for (int l = 0; l < plan->link_count; l++) {
        const OwPlanLink *extra = &plan->plan_links[l];
        OwLink *link = &system->links[l];
        double viscosity = 0.0;
        int middle = extra->oil;
        if (extra->role == OW_ROLE_RUN) {
            mean_chain(plan, extra->chain, y, &system->means[extra->chain]);
            viscosity = system->means[extra->chain].viscosity_pa_s;
            middle = plan->chains[extra->chain].first + plan->chains[extra->chain].cells / 2;
        } else if (extra->role == OW_ROLE_PASSAGE || extra->role == OW_ROLE_PUMP) {
            viscosity = ow_system_viscosity(system, y, extra->oil);
        }
        const double density = ow_system_density(system, y, middle);
        link->density_kg_m3 = density;
        link->square_pa_s2_m6 = extra->square_over_density * density;
        link->static_pa = density * OW_GRAVITY_M_S2 * extra->rise_m;
        switch (extra->role) {
        case OW_ROLE_RUN:
        case OW_ROLE_PASSAGE:
            link->linear_pa_s_m3 = extra->per_viscosity_m3 * viscosity;
            link->kinematic_m2_s = viscosity / density;
            break;
        case OW_ROLE_PUMP:
            link->kinematic_m2_s = viscosity / density;
            set_pump(system, extra, link, viscosity / density, eval->part_v[extra->part]);
            break;
        case OW_ROLE_LIFT:
            link->drive = plan->rig->parts[extra->part].as.lift_pump.displacement_m3_rev * turns_s;
            break;
        case OW_ROLE_TRANSFER:
            link->drive = plan->rig->parts[extra->part].as.injection_pump.transfer_m3_rev * turns_s;
            break;
        case OW_ROLE_LEAK_OFF:
            link->drive = plan->rig->parts[extra->part].as.injectors.leak_share * in->fuel_m3_s;
            break;
        case OW_ROLE_DEMAND:
            link->drive = in->fuel_m3_s;
            break;
        case OW_ROLE_FIXED:
            if (extra->valve_port > 0) {
                const double open = ow_system_valve_open(system, extra->part, extra->valve_port, time_s);
                link->law = open > 0.0 ? OW_LINK_DARCY : OW_LINK_CLOSED;
                if (open > 0.0) {
                    const OwValve *valve = &plan->rig->parts[extra->part].as.valve;
                    link->square_pa_s2_m6 = density * ow_valve_square(valve, open);
                }
            }
            break;
        }
    }
}

static void set_tanks(OwSystem *system, const double *y, OwEval *eval) {
    const OwPlan *plan = system->plan;
    for (int t = 0; t < plan->tank_count; t++) {
        const OwPlanTank *tank = &plan->tanks[t];
        const OwTank *source = &plan->rig->parts[tank->part].as.tank;
        const double volume = fmax(y[plan->tank_at + t], 1e-5);
        const double depth = tank->depth_m_per_root * cbrt(volume);
        const double head =
            ow_system_density(system, y, tank->near) * OW_GRAVITY_M_S2 * (depth - source->pickup_height_m);
        system->nodes[tank->pickup_node].pressure_pa = source->vent_pa + head;
        system->nodes[tank->return_node].pressure_pa = source->vent_pa;
        const double heat_j_k = volume * plan->volumetric_j_m3k;
        eval->heat.capacity_j_k[tank->bulk] = (1.0 - tank->near_share) * heat_j_k;
        if (tank->near_share > 0.0) {
            eval->heat.capacity_j_k[tank->near] = tank->near_share * heat_j_k;
        }
    }
}

/// Flows from the solved links into heat streams, chains and tank balances.
static void spread_flows(OwSystem *system, OwEval *eval) {
    const OwPlan *plan = system->plan;
    for (int t = 0; t < plan->tank_count; t++) {
        eval->tank_m3_s[t] = 0.0;
    }
    for (int l = 0; l < plan->link_count; l++) {
        const OwPlanLink *extra = &plan->plan_links[l];
        const OwLink *link = &system->links[l];
        const double rate = link->flow_m3_s * plan->volumetric_j_m3k;
        if (extra->chain >= 0) {
            eval->heat.chain_w_k[extra->chain] = rate;
        }
        for (int s = extra->stream_first; s < extra->stream_first + extra->stream_count; s++) {
            eval->heat.stream_w_k[s] = rate;
        }
        if (system->nodes[link->from].is_fixed || (link->to >= 0 && system->nodes[link->to].is_fixed)) {
            for (int t = 0; t < plan->tank_count; t++) {
                const OwPlanTank *tank = &plan->tanks[t];
                if (link->from == tank->pickup_node || link->from == tank->return_node) {
                    eval->tank_m3_s[t] -= link->flow_m3_s;
                }
                if (link->to == tank->pickup_node || link->to == tank->return_node) {
                    eval->tank_m3_s[t] += link->flow_m3_s;
                }
            }
        }
    }
    for (int t = 0; t < plan->tank_count; t++) {
        if (plan->tanks[t].makeup_stream >= 0) {
            // The layer round the pick-up keeps its share of the oil: of what it loses the bulk makes up its
            // own.
            eval->heat.stream_w_k[plan->tanks[t].makeup_stream] =
                -(1.0 - plan->tanks[t].near_share) * eval->tank_m3_s[t] * plan->volumetric_j_m3k;
        }
    }
    eval->burned_m3_s = system->links[plan->demand_link].flow_m3_s;
}

static double around_k(const OwEval *eval, const OwPlan *plan, OwPlace place) {
    switch (place) {
    case OW_PLACE_ENGINE_BAY:
        return eval->bay_k;
    case OW_PLACE_CABIN:
        return eval->cabin_k;
    default:
        return plan->rig->climate.ambient_k;
    }
}

/// Fourth root of the free-convection strength against the reference; laminar boundary layer, Nu ~ Ra^(1/4)
/// (Incropera ch. 9).
static double free_strength(double difference_k, double kinematic_m2_s) {
    const double effective_k = sqrt(difference_k * difference_k + 1.0);
    return sqrt(sqrt(effective_k / FILM_REFERENCE_K * (FILM_REFERENCE_M2_S / kinematic_m2_s)));
}

static void set_ties(OwSystem *system, const double *y, OwEval *eval) {
    const OwPlan *plan = system->plan;
    const OwRig *rig = plan->rig;
    const double coolant_share = ow_engine_coolant_share(&rig->engine, eval->in.engine_rad_s);
    const double air_m_s = eval->in.speed_m_s + rig->climate.wind_m_s;
    for (int i = 0; i < plan->tie_count; i++) {
        const OwPlanTie *tie = &plan->plan_ties[i];
        const int a = plan->ties[i].a, b = plan->ties[i].b;
        switch (tie->role) {
        case OW_TIE_CONSTANT:
            eval->heat.tie_w_k[i] = tie->w_k;
            eval->heat.tie_boundary_k[i] = rig->climate.ambient_k;
            break;
        case OW_TIE_FITTING:
            eval->heat.tie_w_k[i] = tie->w_k;
            eval->heat.tie_boundary_k[i] = around_k(eval, plan, tie->place);
            break;
        case OW_TIE_SURFACE: {
            const double air_k = around_k(eval, plan, tie->place);
            eval->heat.tie_boundary_k[i] = air_k;
            eval->heat.tie_w_k[i] =
                ow_heat_surface_value(&plan->surfaces[tie->surface], y[a], air_k, air_m_s);
            break;
        }
        case OW_TIE_INNER: {
            const double kinematic =
                plan->fluid_count == 1 ? ow_curve_value(&plan->fluids[0].kinematic_m2_s, y[b])
                                       : ow_system_viscosity(system, y, b) / ow_system_density(system, y, b);
            double g = tie->w_k * free_strength(y[a] - y[b], kinematic);
            if (tie->link >= 0) {
                const double k = ow_curve_value(&plan->fluids[0].conductivity_w_mk, y[b]);
                const double rate = fabs(system->links[tie->link].flow_m3_s) * plan->volumetric_j_m3k;
                // Nu k / D over pi D L; Gz = Re Pr D / L = 4 m c / (pi k L).
                const double path = tie->path_m;
                g += (ow_heat_hausen(8.0 * rate / (TWO_PI * k * path)) - 3.66) * k * 0.5 * TWO_PI * path;
            }
            eval->heat.tie_w_k[i] = g;
            break;
        }
        case OW_TIE_COOLANT:
            eval->heat.tie_w_k[i] =
                ow_heat_exchanger(tie->w_k, tie->coolant_kg_s * coolant_share * COOLANT_J_KGK);
            break;
        case OW_TIE_CAB:
            // Fresh air: what comes in is as cold as outside, and the blower is on while the engine runs.
            eval->heat.tie_w_k[i] =
                system->now.engine == OW_ENGINE_RUNNING
                    ? ow_heat_exchanger(tie->w_k, tie->coolant_kg_s * coolant_share * COOLANT_J_KGK)
                    : 0.0;
            eval->heat.tie_boundary_k[i] = rig->climate.ambient_k;
            break;
        case OW_TIE_RADIATOR: {
            double slope;
            const double open = ow_engine_thermostat(&rig->engine, y[a], &slope);
            const double full = ow_engine_radiator_w_k(&rig->engine, eval->in.speed_m_s);
            eval->heat.tie_w_k[i] = open * full;
            eval->heat.tie_boundary_k[i] = rig->climate.ambient_k;
            // The thermostat's steep opening belongs into the implicit part.
            const double steep = slope * full * (y[a] - rig->climate.ambient_k);
            eval->heat.source_slope[a] += steep > 0.0 ? steep : 0.0;
            break;
        }
        }
    }
}

static void set_chains(OwSystem *system, OwEval *eval) {
    const OwPlan *plan = system->plan;
    const OwRig *rig = plan->rig;
    const double air_m_s = eval->in.speed_m_s + rig->climate.wind_m_s;
    const double coolant_share = ow_engine_coolant_share(&rig->engine, eval->in.engine_rad_s);
    for (int c = 0; c < plan->chain_count; c++) {
        const OwHeatChain *chain = &plan->chains[c];
        const OwPlanChain *extra = &plan->plan_chains[c];
        const OwPart *part = &rig->parts[extra->part];
        const OwRun *run = &part->as.run;
        const double wall_k = system->means[c].wall_k, oil_k = system->means[c].liquid_k;
        const double cell_m = extra->length_m / chain->cells;
        const double k = ow_curve_value(&plan->fluids[0].conductivity_w_mk, oil_k);
        const double rate = fabs(eval->heat.chain_w_k[c]);
        const OwLink *link = &system->links[extra->link];
        const double reynolds = 8.0 * fabs(link->flow_m3_s) / (TWO_PI * extra->bore_m * link->kinematic_m2_s);
        double nusselt = ow_heat_hausen(8.0 * rate / (TWO_PI * k * extra->length_m));
        if (reynolds > 2300.0) {
            // Laminar to turbulent between 2300 and 4000, linear in Re (Gnielinski 2013, Int. J. Heat Mass
            // Transfer 63:134).
            const double prandtl = link->kinematic_m2_s * plan->volumetric_j_m3k / k;
            const double friction =
                ow_flow_friction(fmax(reynolds, 4000.0), run->roughness_m / extra->bore_m);
            const double full = ow_heat_gnielinski(fmax(reynolds, 4000.0), prandtl, friction);
            const double share = fmin((reynolds - 2300.0) / 1700.0, 1.0);
            nusselt += share * (full - nusselt);
        }
        const double film = nusselt * k * 0.5 * TWO_PI * cell_m;
        eval->heat.film_w_k[c] = film * extra->wall_w_k / (film + extra->wall_w_k);
        const double air_k = around_k(eval, plan, part->place);
        eval->heat.around_k[c] = air_k;
        eval->heat.loss_w_k[c] =
            ow_heat_surface_value(&plan->surfaces[extra->surface], wall_k, air_k, air_m_s);
        eval->heat.warmer_w_k[c] = 0.0;
        if (chain->warmer >= 0) {
            eval->heat.warmer_w_k[c] =
                coolant_share > 0.0
                    ? run->coolant_w_mk * cell_m * fmin(1.0, 10.0 * coolant_share) +
                          ow_heat_exchanger(system->coil_w_k[c],
                                            system->coil_kg_s[c] * coolant_share * COOLANT_J_KGK)
                    : 0.0;
        }
        eval->heat.heat_w[c] = 0.0;
        if (extra->trace_w > 0.0 && system->now.is_key_on) {
            // Self-limiting tape: full power at 0 degC (or 10 K below its own temperature, if that is lower)
            // and from there straight to zero at its own temperature.
            const double left =
                run->trace_off_k > 0.0
                    ? (run->trace_off_k - wall_k) / fmax(run->trace_off_k - OW_ZERO_CELSIUS_K, TRACE_SPAN_K)
                    : 1.0;
            const double volts_ratio =
                eval->part_v[extra->part] / ow_electric_system(rig->electrics.battery_v);
            eval->heat.heat_w[c] = extra->trace_w * volts_ratio * volts_ratio * fmax(left, 0.0);
            eval->trace_w += chain->cells * eval->heat.heat_w[c];
        }
    }
}

static void set_elements(OwSystem *system, const double *y, OwEval *eval) {
    const OwPlan *plan = system->plan;
    for (int e = 0; e < plan->element_count; e++) {
        const OwPlanElement *element = &plan->elements[e];
        eval->element_w[e] = 0.0;
        if (!ow_system_element_is_on(system, e)) {
            continue;
        }
        double falls;
        const double ohm = ow_system_element_ohm(element, y[element->lump], &falls);
        const double power = eval->element_v[e] * eval->element_v[e] / ohm;
        eval->element_w[e] = power;
        eval->heaters_w += power;
        eval->heat.source_w[element->lump] += power;
        eval->heat.source_slope[element->lump] += power * falls;
    }
}

static void set_sources(OwSystem *system, OwEval *eval) {
    const OwPlan *plan = system->plan;
    const OwRig *rig = plan->rig;
    const double given = eval->in.fuel_m3_s > 0.0 ? eval->burned_m3_s / eval->in.fuel_m3_s : 0.0;
    eval->heat.source_w[plan->block] += eval->in.coolant_heat_w * given;
    const double turn_share =
        rig->engine.rated_speed_rad_s > 0.0 ? eval->in.engine_rad_s / rig->engine.rated_speed_rad_s : 0.0;
    for (int p = 0; p < rig->part_count; p++) {
        const OwPart *part = &rig->parts[p];
        if (part->kind == OW_PART_ELECTRIC_PUMP && system->now.part_on[p]) {
            const double power = eval->part_v[p] * part->as.electric_pump.current_a * eval->part_v[p] /
                                 part->as.electric_pump.rated_v;
            eval->pumps_w += power;
            eval->heat.source_w[plan->parts[p].wall] += PUMP_WASTE * power;
        } else if (part->kind == OW_PART_INJECTION_PUMP) {
            eval->friction_w = part->as.injection_pump.friction_w * turn_share;
            eval->heat.source_w[plan->parts[p].wall] += eval->friction_w;
        }
    }
}

static bool solve_once(OwSystem *system) {
    const bool is_solved = ow_flow_solve(system->flow) == OW_OK;
    const long iterations = ow_flow_iterations(system->flow);
    system->flow_iterations += iterations;
    if (iterations > system->most_flow_iterations) {
        system->most_flow_iterations = iterations;
    }
    return is_solved;
}

bool ow_system_solve_flows(OwSystem *system) {
    bool is_solved = solve_once(system);
    if (is_solved) {
        return true;
    }
    const int nodes = system->plan->node_count;
    for (int n = 0; n < nodes; n++) {
        system->nodes[n].pressure_pa = system->nodes[n].is_fixed ? system->nodes[n].pressure_pa : 0.0;
    }
    for (int l = 0; l < system->plan->link_count; l++) {
        system->links[l].flow_m3_s = 0.0;
    }
    for (int stage = 0; stage <= SOFT_STAGES; stage++) {
        const double left = 1.0 - (double)stage / SOFT_STAGES;
        for (int n = 0; n < nodes; n++) {
            const double real = system->plan->nodes[n].air_solubility;
            const double from = fmax(real, 1e-2);
            system->nodes[n].air_solubility = stage < SOFT_STAGES ? from * pow(SOFT_AIR / from, left) : real;
        }
        is_solved = solve_once(system);
    }
    return is_solved;
}

void ow_system_evaluate(OwSystem *system, double time_s, const double *y, OwEval *eval) {
    const OwPlan *plan = system->plan;
    system->evaluations++;
    read_inputs(system, time_s, y[plan->block], &eval->in);
    const double rise = y[plan->coolant];
    eval->bay_k = ow_engine_bay_k(&plan->rig->engine, plan->rig->climate.ambient_k, rise, eval->in.speed_m_s);
    eval->cabin_k = plan->rig->climate.ambient_k;
    eval->heaters_w = eval->pumps_w = eval->trace_w = eval->friction_w = 0.0;
    const size_t lumps = (size_t)plan->lump_count * sizeof(double);
    memcpy(eval->heat.capacity_j_k, plan->lump_j_k, lumps);
    memset(eval->heat.source_w, 0, lumps);
    memset(eval->heat.source_slope, 0, lumps);
    eval->has_failed = false;
    set_tanks(system, y, eval);
    ow_system_volts(system, time_s, y, eval);
    set_links(system, time_s, y, eval);
    eval->has_failed |= !ow_system_solve_flows(system);
    spread_flows(system, eval);
    set_ties(system, y, eval);
    set_chains(system, eval);
    set_elements(system, y, eval);
    set_sources(system, eval);
}
