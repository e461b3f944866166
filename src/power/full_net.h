// SPDX-License-Identifier: GPL-3.0-or-later
// Marks of the branches of a rig's full network. Private.
#ifndef OW_POWER_FULL_NET_H
#define OW_POWER_FULL_NET_H

#include "power/power.h"

#define OW_NET_FIXED_NODES 6
#define OW_NET_FIXED_BRANCHES 6
/// tag of a branch: one of these, or OW_TAG_CIRCUIT + 4 * circuit + 0 fuse, 1 feed wire, 2 load, 3 earth wire
enum {
    OW_TAG_BATTERY = 1,
    OW_TAG_MAIN,
    OW_TAG_BODY_EARTH,
    OW_TAG_ENGINE_EARTH,
    OW_TAG_CHARGE,
    OW_TAG_ALTERNATOR,
    OW_TAG_CIRCUIT = 16
};

#endif
