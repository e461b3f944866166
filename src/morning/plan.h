// SPDX-License-Identifier: GPL-3.0-or-later
// A rig compiled to arrays: hydraulic nodes and links, lumps, ties, streams and chains of heat, elements,
// sensors, rules.
#ifndef OILWRIGHT_MORNING_PLAN_H
#define OILWRIGHT_MORNING_PLAN_H

#include "heat/net.h"
#include "morning/drive.h"
#include "oilwright/flow.h"
#include "oilwright/heat.h"
#include "oilwright/morning.h"
#include "oilwright/power.h"

/// Where a link's coefficients come from.
typedef enum OwLinkRole {
    OW_ROLE_RUN,     ///< pipe with a chain of cells
    OW_ROLE_PASSAGE, ///< resistance proportional to viscosity: filters, screens, passages
    OW_ROLE_FIXED,   ///< square loss only: valves, orifices, overflow, check valves
    OW_ROLE_PUMP,
    OW_ROLE_LIFT,
    OW_ROLE_TRANSFER, ///< distributor pump's transfer stage
    OW_ROLE_LEAK_OFF,
    OW_ROLE_DEMAND
} OwLinkRole;

typedef struct OwPlanLink {
    OwLinkRole role;
    int part;
    int chain;                  ///< -1 for none
    int oil;                    ///< lump whose oil sets the viscosity (no chain)
    double per_viscosity_m3;    ///< linear resistance over dynamic viscosity, 1/m3
    double square_over_density; ///< square loss over density, 1/m4
    double rise_m;
    int valve_port; ///< 1 = a, 2 = b for valves, else 0
    int stream_first, stream_count;
} OwPlanLink;

typedef enum OwTieRole {
    OW_TIE_CONSTANT,
    OW_TIE_SURFACE, ///< to the air of a place
    OW_TIE_FITTING, ///< constant, to the air of a place
    OW_TIE_INNER,   ///< metal to oil by free convection plus developing laminar flow
    OW_TIE_COOLANT, ///< coil or exchanger fed by coolant
    OW_TIE_CAB,     ///< the cab's heater: coolant to fresh air while the engine runs
    OW_TIE_RADIATOR
} OwTieRole;

typedef struct OwPlanTie {
    OwTieRole role;
    int part;
    double w_k;  ///< constant, or at the reference state of an inner film
    int surface; ///< index, -1 none
    OwPlace place;
    int link;            ///< flow felt by an inner film, -1 none
    double path_m;       ///< heated length of an inner film
    double coolant_kg_s; ///< coolant rate at rated engine speed
} OwPlanTie;

/// Per part: where its things are in the arrays. -1 or count 0 where it has none.
typedef struct OwPlanPart {
    int port_node[OW_MAX_PORTS];
    int inner_node; ///< gallery of the injection pump
    int link_first, link_count;
    int chain;
    int oil_first, oil_count; ///< oil lumps
    int wall;                 ///< metal lump
    int element_first, element_count;
    int circuit; ///< of the wired network, -1 without
    int tank;    ///< index of the tank
} OwPlanPart;

typedef struct OwPlanElement {
    int part, index; ///< rig part and its element
    int lump;
    int sensor;            ///< -1 without thermostat
    double cold_ohm_share; ///< cold resistance over hot
    double hot_ohm;        ///< resistance when hot
    double cold_k, hot_k;
    int circuit; ///< of the wired network, -1 without
} OwPlanElement;

typedef struct OwPlanSensor {
    int host; ///< lump it feels
    double lag_s;
} OwPlanSensor;

typedef struct OwPlanTank {
    int part, near, bulk; ///< lumps; equal when the tank is fully stirred
    int pickup_node, return_node;
    int makeup_stream;                 ///< bulk to near, -1 when stirred
    double near_share;                 ///< of the oil that stands in the layer, 0 when stirred
    double start_m3, depth_m_per_root; ///< oil depth = factor * cbrt(volume)
} OwPlanTank;

typedef struct OwPlanChain {
    int part, surface, link;
    double bore_m, length_m, wall_w_k; ///< radial conductance of half the wall, a cell
    double trace_w;                    ///< electric trace a cell at rated volts
} OwPlanChain;

struct OwPlan {
    const OwRig *rig;
    OwArena *arena;
    OwOilSpec fluid_spec[OW_MAX_FLUIDS]; ///< what the fluids were made from
    OwFluid fluids[OW_MAX_FLUIDS];
    OwCurve dynamic[OW_MAX_FLUIDS], log_dynamic[OW_MAX_FLUIDS];
    int fluid_count;
    double volumetric_j_m3k; ///< heat capacity of oil per volume, one figure for a rig (see docs/theory)
    OwDriveProfile drive;

    OwFlowNode *nodes; ///< start values
    OwLink *links;
    OwPlanLink *plan_links;
    int node_count, link_count;
    int *node_lump; ///< oil lump of each node

    double *lump_j_k; ///< capacities; tanks are rewritten as they empty
    bool *lump_is_oil;
    double *lump_share; ///< start share of the second fluid
    int lump_count;
    OwHeatTie *ties;
    OwPlanTie *plan_ties;
    int tie_count;
    OwHeatStream *streams;
    int stream_count;
    OwHeatChain *chains;
    OwPlanChain *plan_chains;
    double *chain_share;
    int chain_count;
    OwSurface *surfaces;
    int surface_count;
    OwPlanElement *elements;
    int element_count;
    OwPlanSensor *sensors;
    int sensor_count;
    OwPlanTank *tanks;
    int tank_count;
    OwPlanPart *parts;
    int block, coolant; ///< lumps
    int pump_part;      ///< the injection pump
    int inlet_node, gallery_node;
    int demand_link;

    OwPower *power; ///< the wired network when the rig file describes one, else NULL; owned

    // layout of the state vector
    int heat_count; ///< lumps and chain cells
    int sensor_at, tank_at, battery_at, share_at, sum_at, state_count;
};

/// The sums carried along at the end of the state vector.
enum { OW_SUM_HEAT_IN, OW_SUM_LOSS, OW_SUM_BURNED_J, OW_SUM_BURNED_M3, OW_SUM_CHARGE, OW_SUM_COUNT };

/// Arrays that grow while a plan is compiled, all with room for the worst case of the rig.
OwStatus ow_plan_nodes(OwPlan *plan); ///< plan_nodes.c: joints to nodes
OwStatus ow_plan_parts(OwPlan *plan); ///< plan_parts.c: links, lumps, ties of every part
int ow_plan_lump(OwPlan *plan, double capacity_j_k, bool is_oil);
int ow_plan_tie(OwPlan *plan, int a, int b, OwPlanTie what);
int ow_plan_stream(OwPlan *plan, int from, int to);
int ow_plan_surface(OwPlan *plan, double area_m2, double diameter_m, double insulation_w_m2k, OwPlace place);

#endif
