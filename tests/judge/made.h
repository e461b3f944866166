// SPDX-License-Identifier: GPL-3.0-or-later
// A small rig and a record made by hand, so that every answer can be checked against numbers written here.
#ifndef OW_TEST_MADE_H
#define OW_TEST_MADE_H

#include "oilwright/judge.h"

enum { MADE_TANK, MADE_HOSE, MADE_FILTER, MADE_CHAMBER, MADE_PUMP, MADE_PARTS };
enum { MADE_SAMPLES = 40, MADE_STEP_S = 10, MADE_START = 9 };

typedef struct OwMade {
    OwRig rig;
    OwRecord record;
    OwPart parts[MADE_PARTS];
    OwJoint joints[MADE_PARTS];
    OwSample samples[MADE_SAMPLES];
    OwPartSample part_samples[MADE_SAMPLES * MADE_PARTS];
    OwEvent events[16];
} OwMade;

/// Tank - hose - filter - heated chamber - injection pump on rapeseed oil; starts at 90 s, drives to 390 s,
/// all limits met. Caller frees with free().
OwMade *made_good(void);
/// The same, never started: cranked from 90 s on with oil at `inlet_k` and `kinematic` at the pump.
OwMade *made_no_start(double inlet_k, double kinematic_m2_s);
/// The same as good, with strong suction at the hose from 200 s on and only `share` of the fuel delivered.
OwMade *made_starved(double lowest_pa, double share);

#endif
