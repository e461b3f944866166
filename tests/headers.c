// SPDX-License-Identifier: GPL-3.0-or-later
// All public headers stand in one file together: no name is used twice.
#include "oilwright/base.h"
#include "oilwright/bleed.h"
#include "oilwright/compare.h"
#include "oilwright/electrics.h"
#include "oilwright/faults.h"
#include "oilwright/filter_life.h"
#include "oilwright/finding.h"
#include "oilwright/flow.h"
#include "oilwright/heat.h"
#include "oilwright/judge.h"
#include "oilwright/learn.h"
#include "oilwright/logbook.h"
#include "oilwright/money.h"
#include "oilwright/morning.h"
#include "oilwright/oil.h"
#include "oilwright/power.h"
#include "oilwright/rig.h"
#include "oilwright/size.h"
#include "oilwright/two_tank.h"
#include "oilwright/units.h"
#include "oilwright/yard.h"
#include "oilwright/yard_plan.h"

int main(void) {
    return 0;
}
