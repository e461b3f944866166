// SPDX-License-Identifier: GPL-3.0-or-later
// A private, changeable copy of a rig: the studies break or vary it and run it. Private.
#ifndef OW_JUDGE_VARIANT_H
#define OW_JUDGE_VARIANT_H

#include "oilwright/morning.h"

/// The copy owns its parts and rules; joints and wiring are the source's, which must outlive it.
typedef struct OwVariant {
    OwRig rig;
    int rule_capacity;
    OwArena *arena;
} OwVariant;

/// OW_ERROR_MEMORY; *variant is then NULL.
OwStatus ow_variant_create(const OwRig *source, OwVariant **variant);
void ow_variant_destroy(OwVariant **variant);
/// Adds a rule; there is room for two more than the source has. False when it is used up.
bool ow_variant_add_rule(OwVariant *variant, const OwRule *rule);
/// Which rules ow_variant_drop_rules takes away.
typedef enum OwDrop { OW_DROP_ALL, OW_DROP_FELT /* those that act on a temperature */ } OwDrop;
/// Drops rules on a part (element -1: any element; else also those on the whole part).
void ow_variant_drop_rules(OwVariant *variant, int part, int element, OwDrop drop);
/// Elements of a part, NULL when its kind has none.
/// Takes an element out of service.
void ow_variant_kill_element(OwVariant *variant, int part, int element);
/// A pump that does not turn from the first moment on.
void ow_variant_kill_pump(OwVariant *variant, int part);
/// Takes away all heat of a part: elements, coolant coils against it.
void ow_variant_kill_heat(OwVariant *variant, int part);

/// Runs one morning of a rig with few samples: plan and record belong to the caller, both NULL on failure.
OwStatus ow_variant_run(const OwRig *rig, double until_s, double soak_k, int samples, OwPlan **plan,
                        OwRecord **record, OwFaults *faults);

#endif
