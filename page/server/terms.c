// SPDX-License-Identifier: GPL-3.0-or-later
// Words of the trade with a short explanation each.
#include "terms.h"

const OwTerm ow_page_terms[] = {
    {"viscosity",
     "How thick a fluid is. Plant oil at room temperature is ten to twenty times as thick as diesel; warmth "
     "thins it."},
    {"kinematic viscosity",
     "Viscosity over density, in mm²/s (the same number in cSt). What pump makers state limits in."},
    {"cloud point",
     "The temperature at which the first crystals show when a fluid cools. Below it filters begin to load."},
    {"flash point",
     "The temperature at which vapour above a fluid can be lit. Hot parts must stay well below it."},
    {"bore", "Inner diameter of a hose or tube. Twice the bore lets sixteen times as much thick oil pass."},
    {"rise", "How much higher the outlet lies than the inlet; negative when the line falls."},
    {"pressure", "Above (plus) or below (minus) the air around, as a gauge shows it."},
    {"suction", "The stretch in front of a pump, where pressure lies below that of the air. Too deep and air "
                "comes out of the "
                "fuel."},
    {"suction floor",
     "The lowest pressure that a suction side should see. Below it dissolved air forms bubbles and the pump "
     "fills only partly."},
    {"filling", "Share of liquid, not bubbles, in what enters the injection pump."},
    {"pressure drop",
     "Pressure that is lost from one end of a part to the other. It grows with flow and viscosity."},
    {"clean drop",
     "Pressure drop of a new filter at a stated flow and viscosity. It comes from the filter's data sheet."},
    {"loading", "How much of a filter's dirt capacity is used: 0 is new."},
    {"injection pump",
     "The pump that meters fuel to the cylinders. The oil must be thin enough, and under enough pressure, at "
     "its inlet."},
    {"distributor pump",
     "An injection pump with one piston for all cylinders and a transfer pump inside that draws the "
     "fuel."},
    {"in-line pump",
     "An injection pump with one piston a cylinder. It is fed under pressure and has an overflow valve."},
    {"lift pump",
     "A diaphragm pump driven by the engine that brings fuel from the tank to the injection pump."},
    {"return",
     "Fuel that is not burned and flows back, to the tank or round a loop. It carries heat with it."},
    {"loop", "A return that leads back in front of the injection pump instead of to the tank: only what is "
             "burned comes "
             "from the tank."},
    {"leak-off", "The small flow that passes the injectors' needles and is led back."},
    {"chamber", "A heated metal body with oil inside: a block with glow plugs, a heated sump."},
    {"inner conductance", "How well heat passes from metal to oil, in watts for each kelvin of difference."},
    {"thermostat", "Switches a heater off above one temperature and on again below a lower one."},
    {"coolant coil", "A coil in which engine coolant warms a part. It helps only once the engine is warm."},
    {"exchanger", "Coolant on one side, fuel on the other; warms the fuel while driving."},
    {"purge", "Running the engine on thin fuel before it is switched off, so that the next cold start finds "
              "thin fuel in the "
              "pump."},
    {"change-over", "Switching from the start fuel to plant oil once it is warm."},
    {"soak", "A long stand after which engine, oil and metal all have the temperature of the air."},
    {"pre-heat", "Warming between key on and start, out of the battery."},
    {"stall pressure", "Pressure of a pump whose outlet is shut."},
    {"free flow", "Flow of a pump against no pressure, with thin fuel."},
    {"half viscosity", "The viscosity at which a pump's free flow has fallen to half."},
    {"check valve", "Lets fuel pass one way only."},
    {"relief valve", "Opens above a set pressure and keeps it from rising further."},
    {"margin", "How far a value is from its limit. Above zero is on the good side."},
    {"tight", "Within the limit, but by less than a careful fitter leaves."},
    {"starving", "The engine asks for more fuel than arrives: power is lost."},
    {"leg", "One stretch of the drive: a speed held for a time."},
    {"drop share", "Share of the whole pressure loss on the way to the pump that one part takes."},
    {"batch", "Oil that is worked on under one name, from the first settling to the tank. The log traces it "
              "both ways."},
    {"settling",
     "Letting oil stand so that water and crumbs sink. Warm, thin oil settles faster than cold, thick oil."},
    {"titration", "Measuring how much acid is in oil with a base and a colour that turns."},
    {"acid value",
     "Milligrams of potassium hydroxide that neutralise a gram of oil. It rises with frying and with age."},
    {"filter cake", "What stays on a filter. With oil on it, it can heat itself and catch fire: under water "
                    "or in a closed can."},
    {"bottleneck",
     "The one vessel, step or person that holds up the week: more of anything else brings no more oil."},
    {"counter-entry", "The entry that takes another one back. Both stay in the book; neither counts."},
    {"learned distance", "How far a filter lasts by what the log says, held against the model; the fewer "
                         "changes in the log, the wider the band."},
    {"nine in ten", "The band in which nine of ten cases lie: one in twenty is below, one in twenty above."},
    {"worth",
     "All savings and costs over the years, in today's money (net present value). Above zero it pays."},
    {"break-even", "The value of one figure at which it neither pays nor costs."},
    {"trust", "What an answer rests on: measured, published, common practice, or assumed."},
};
const int ow_page_term_count = (int)(sizeof ow_page_terms / sizeof ow_page_terms[0]);
