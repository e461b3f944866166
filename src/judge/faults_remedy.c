// SPDX-License-Identifier: GPL-3.0-or-later
// What to do at the roadside, with which spare, in how many minutes. All of it: common practice, no source.
#include "judge/faults.h"

typedef struct OwRemedy {
    const char *what, *spare;
    double minutes;
} OwRemedy;

static const OwRemedy remedies[OW_FAILURE_KIND_COUNT] = {
    [OW_FAILURE_HEATER_DEAD] = {"check volts at the plug; screw in a spare element",
                                "heating element or glow plug", 20},
    [OW_FAILURE_HEATER_STUCK] = {"pull its fuse and drive on without it; change the relay", "relay", 5},
    [OW_FAILURE_HEATER_NEVER_OFF] = {"pull its fuse when parking; change the relay", "relay", 5},
    [OW_FAILURE_THERMOSTAT_OPEN] = {"bridge it only under watch, never parked; change it", "thermostat", 15},
    [OW_FAILURE_THERMOSTAT_WELDED] = {"pull the heater's fuse, let it cool, change the thermostat",
                                      "thermostat", 15},
    [OW_FAILURE_PUMP_DEAD] = {"check its fuse; by-pass it with a hose or fit the spare pump, then bleed",
                              "electric pump, two clamps", 30},
    [OW_FAILURE_LIFT_PUMP_DEAD] = {"fit the spare, or an electric pump in the suction line, then bleed",
                                   "lift pump or electric pump", 45},
    [OW_FAILURE_VALVE_STUCK] = {"tap it, check its plug; move it by hand or re-route the hose",
                                "valve or coil, a piece of hose", 20},
    [OW_FAILURE_FILTER_PLUGGED] = {"change the element and bleed", "filter element, cloth", 20},
    [OW_FAILURE_FUSE_OPEN] = {"find why before a new fuse of the same rating goes in", "fuse", 5},
    [OW_FAILURE_MAIN_FUSE_OPEN] = {"find why before a new fuse of the same rating goes in", "main fuse", 10},
    [OW_FAILURE_EARTH_LOST] = {"clean and tighten, or run a wire to the battery's negative post",
                               "ring terminal, wire", 15},
    [OW_FAILURE_BODY_EARTH_LOST] = {"clean and tighten, or run a heavy wire to the battery's negative post",
                                    "earth strap", 15},
    [OW_FAILURE_ALTERNATOR_DEAD] = {"switch off every heater that can be spared; drive to a workshop",
                                    "belt, alternator", 60},
    [OW_FAILURE_AIR_LEAK] =
        {"tighten clamps from the tank on, watch bubbles in a clear hose, shorten or change it",
         "clamps, hose", 20},
    [OW_FAILURE_OIL_LEAK] =
        {"stop, engine off, let hot parts cool; tighten or change the hose; carry a fire extinguisher",
         "hose, clamps, cloth", 20},
    [OW_FAILURE_HOSE_KINKED] = {"lay it free or change the length", "hose, clamps", 20},
    [OW_FAILURE_COIL_OFF] = {"bleed the coolant branch; drive on gently", "hose, clamps, coolant", 30},
    [OW_FAILURE_COOLANT_LOST] =
        {"stop; when cold, find the leak and by-pass the fuel heater's coolant loop; refill",
         "coolant, hose, by-pass piece", 40},
    [OW_FAILURE_ENGINE_COLD] =
        {"drive on; cover part of the radiator with care for the gauge; change the thermostat",
         "engine thermostat", 60},
    [OW_FAILURE_TANK_GELLED] =
        {"warm shelter or heated sump, or thin with diesel before the cold; do not use a flame",
         "diesel, can", 240},
    [OW_FAILURE_TANK_EMPTY] = {"fill and bleed", "full can, funnel", 15},
    [OW_FAILURE_PICKUP_CLOGGED] = {"blow back through the suction hose; clean the strainer later",
                                   "hand pump, hose", 25},
    [OW_FAILURE_PETROL] =
        {"do not switch on; no heaters, no flame; have it towed and drained by a licensed workshop", "none",
         120},
    [OW_FAILURE_OTHER_FUEL] = {"harmless if thinner; if thicker, drain or dilute before the cold",
                               "hose, cans", 40},
    [OW_FAILURE_CHECK_SHUT] = {"take it out and join the hose, then bleed", "hose joiner, clamps", 15},
    [OW_FAILURE_CHECK_OPEN] = {"bleed before the start; clean or change it", "check valve", 15},
    [OW_FAILURE_RELIEF_SHUT] = {"change it; do not drive with the pump against a shut line", "relief valve",
                                20},
    [OW_FAILURE_RELIEF_OPEN] = {"change it, or blank it for the way home at low speed", "relief valve", 20},
    [OW_FAILURE_ORIFICE_BLOCKED] = {"blow it through", "none", 15},
    [OW_FAILURE_INJECTION_PUMP_DEAD] = {"no remedy at the roadside: tow", "none", 480},
};

void ow_failure_remedy(const OwRig *rig, OwFailure *failure) {
    const OwRemedy *r = &remedies[failure->kind];
    failure->remedy = r->what;
    failure->spare = r->spare;
    failure->minutes = r->minutes;
    if (failure->part >= 0 && failure->kind == OW_FAILURE_HEATER_DEAD &&
        rig->parts[failure->part].kind == OW_PART_RUN) {
        failure->remedy = "check volts at its plug; drive on gently, lay a new trace in the workshop";
        failure->spare = "length of trace, plug";
    }
    if (failure->kind == OW_FAILURE_OTHER_FUEL && failure->outcome == OW_CLASS_DANGEROUS) {
        failure->remedy =
            "stop, pull the fuses of heaters and pumps, let it cool; drain it and fill the right fuel";
        failure->spare = "hose, cans, right fuel";
    }
    if (failure->part >= 0 && failure->kind == OW_FAILURE_FILTER_PLUGGED &&
        rig->parts[failure->part].kind == OW_PART_SCREEN) {
        failure->remedy = "take it out, wash it in diesel, bleed";
        failure->spare = "gasket, cloth";
        failure->minutes = 15;
    }
}
