// SPDX-License-Identifier: GPL-3.0-or-later
// Copies of a rig that may be broken, and one way to run them.
#include "judge/variant.h"

#include <stdlib.h>
#include <string.h>

OwStatus ow_variant_create(const OwRig *source, OwVariant **variant) {
    *variant = NULL;
    OwVariant *made = calloc(1, sizeof *made);
    OwArena *arena = made != NULL ? ow_arena_create() : NULL;
    const size_t parts = (size_t)source->part_count, rules = (size_t)source->rule_count;
    OwPart *part = arena != NULL ? ow_arena_take(arena, parts + 1, sizeof *part) : NULL;
    OwRule *rule = part != NULL ? ow_arena_take(arena, rules + 2, sizeof *rule) : NULL;
    if (rule == NULL) {
        ow_arena_destroy(&arena);
        free(made);
        return OW_ERROR_MEMORY;
    }
    made->rig = *source;
    made->rig.arena = NULL;
    made->rig.parts = part;
    made->rig.rules = rule;
    if (parts > 0) {
        memcpy(part, source->parts, parts * sizeof *part);
    }
    if (rules > 0) {
        memcpy(rule, source->rules, rules * sizeof *rule);
    }
    made->rule_capacity = source->rule_count + 2;
    made->arena = arena;
    *variant = made;
    return OW_OK;
}

void ow_variant_destroy(OwVariant **variant) {
    if (variant == NULL || *variant == NULL) {
        return;
    }
    ow_arena_destroy(&(*variant)->arena);
    free(*variant);
    *variant = NULL;
}

bool ow_variant_add_rule(OwVariant *variant, const OwRule *rule) {
    if (variant->rig.rule_count >= variant->rule_capacity) {
        return false;
    }
    variant->rig.rules[variant->rig.rule_count++] = *rule;
    return true;
}

void ow_variant_drop_rules(OwVariant *variant, int part, int element, OwDrop drop) {
    int kept = 0;
    for (int r = 0; r < variant->rig.rule_count; r++) {
        const OwRule *rule = &variant->rig.rules[r];
        const bool is_felt = rule->trigger == OW_TRIGGER_ABOVE || rule->trigger == OW_TRIGGER_BELOW;
        const bool is_meant =
            rule->target == part && (element < 0 || rule->element < 0 || rule->element == element);
        if (!is_meant || (drop == OW_DROP_FELT && !is_felt)) {
            variant->rig.rules[kept++] = *rule;
        }
    }
    variant->rig.rule_count = kept;
}

void ow_variant_kill_element(OwVariant *variant, int part, int element) {
    OwElements *elements = ow_part_elements(&variant->rig.parts[part]);
    if (elements != NULL && element >= 0 && element < elements->count) {
        elements->items[element].key_on = false;
        elements->items[element].power_w = 1e-3; // a rule on the whole part cannot revive it
    }
}

void ow_variant_kill_pump(OwVariant *variant, int part) {
    ow_variant_drop_rules(variant, part, -1, OW_DROP_ALL);
    (void)ow_variant_add_rule(variant,
                              &(OwRule){.trigger = OW_TRIGGER_AFTER_KEY, .target = part, .element = -1});
}

void ow_variant_kill_heat(OwVariant *variant, int part) {
    OwElements *elements = ow_part_elements(&variant->rig.parts[part]);
    for (int e = 0; elements != NULL && e < elements->count; e++) {
        ow_variant_kill_element(variant, part, e);
    }
    for (int p = 0; p < variant->rig.part_count; p++) {
        OwPart *other = &variant->rig.parts[p];
        if (other->kind == OW_PART_COOLANT_COIL && other->as.coil.warms == part) {
            other->as.coil.is_fitted = false;
        }
    }
}

OwStatus ow_variant_run(const OwRig *rig, double until_s, double soak_k, int samples, OwPlan **plan,
                        OwRecord **record, OwFaults *faults) {
    *plan = NULL;
    *record = NULL;
    OwStatus status = ow_plan_create(rig, plan, faults);
    if (status == OW_OK) {
        OwMorningSettings settings = ow_morning_default();
        settings.until_s = until_s;
        settings.soak_k = soak_k;
        settings.max_samples = samples;
        settings.tolerance_k = 0.05; // verdicts need no hundredths of a kelvin
        status = ow_morning_run(*plan, &settings, record, faults);
    }
    if (*record == NULL) {
        ow_plan_destroy(plan);
        return status != OW_OK ? status : OW_ERROR_MEMORY;
    }
    return OW_OK; // what was reached is judged; the record's own trouble says what went wrong
}
