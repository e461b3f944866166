// SPDX-License-Identifier: GPL-3.0-or-later
// Notes on rules that differ from place to place, and on what the figures mean. They point, they never
// advise.
#include "oilwright/money.h"

#include <stddef.h>

const char *const *ow_cost_notes(void) {
    static const char *const notes[] = {
        "Fuel duty: many places tax oil that is burned on the road, some free small users. As quoted, law "
        "changes: "
        "check. United Kingdom, HMRC notice 179e: below 2,500 litres a year exempt, records of date and "
        "litres kept. "
        "United States: converting a vehicle touches the Clean Air Act, and duty is due on road use.",
        "Collecting and storing used oil can need a waste carrier's registration, transfer papers and a "
        "licence: ask "
        "the local authority and the environment agency.",
        "Waste: sludge, water and filter cake go to those who may take them; keep the papers.",
        "Fire: local fire code and the insurer decide how much oil may stand where, and how it may be "
        "heated. Oily "
        "rags and filter cake heat by themselves.",
        "Insurance and type approval: ask insurer and inspection body whether a converted vehicle stays "
        "covered and "
        "approved, emissions included.",
        NULL};
    return notes;
}

const char *const *ow_cost_meanings(void) {
    static const char *const meanings[] = {
        "Costs that come once are spread evenly over the years at the discount rate; the engine-risk "
        "allowance is "
        "chance times cost.",
        "Equal efficiency on oil and diesel is taken: fuel volumes go by heat.",
        "Bands and chances hold as far as the ranges in the file do; a range that is wrong makes a wrong "
        "band. "
        "Each figure is drawn apart from the rest: where some go together, as dear years do, the true band "
        "differs.",
        NULL};
    return meanings;
}
