// SPDX-License-Identifier: GPL-3.0-or-later
// From the facts of the runs to a class with its reason: number, limit, margin, part.
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "judge/faults.h"
#include "judge/work.h"
#include "oilwright/power.h"

#define STARVED_S 2.0 // shorter lapses are not felt
#define THICK_S 10.0
#define FULL_SHARE 0.90    // of the healthy vehicle's full-load fuel; less is felt uphill
#define LEAST_CHARGE 0.3   // share left when the pumps and the engine's own needs fail; assumed
#define OTHER_LOADS_A 15.0 // lamps, blower, engine's own needs; common practice, no source
#define LEAK_COEFFICIENT 0.6

static const char *const scene_text[] = {"cold start", "motorway", "key left on"};

/// The battery with its age and its charge at the start, as the morning and `oilwright wire` count with it.
static OwBatterySpec battery_of(const OwRig *rig) {
    OwElectricSpec spec;
    if (ow_electric_derive(rig, &spec) != OW_OK &&
        rig->electric_spec == NULL) { // more loads than circuits fit
        (void)ow_electric_default(ow_electric_system(rig->electrics.battery_v), &spec);
        ow_electric_take_capacity(&spec, rig->electrics.battery_c);
    }
    return spec.battery;
}

OwFailureWords ow_failure_words(OwDisplay display, double si, OwQuantity quantity) {
    OwFailureWords words;
    if (!isfinite(si)) {
        snprintf(words.text, sizeof words.text, "unknown");
    } else if (quantity == OW_Q_KINEMATIC_VISCOSITY && si > OW_JUDGE_SOLID) {
        snprintf(words.text, sizeof words.text, "practically solid");
    } else if (quantity == OW_Q_PRESSURE) {
        ow_judge_pressure_words(si, display, words.text, sizeof words.text);
    } else {
        ow_units_write(si, quantity, display, words.text, sizeof words.text);
    }
    return words;
}

typedef struct OwCase {
    OwFailureWork *work;
    OwFailure *failure;
    const OwFacts *facts, *healthy;
    OwScene scene;
} OwCase;

static const char *words(const OwCase *c, double si, OwQuantity quantity, OwFailureWords *room) {
    *room = ow_failure_words(c->work->walk->display, si, quantity);
    return room->text;
}

/// Takes an outcome over when it is worse than what was found so far. Returns the finding to fill, NULL when
/// not.
static OwFinding *worse(const OwCase *c, OwFailureClass outcome, OwQuantity quantity) {
    OwFailure *f = c->failure;
    if (f->verdict.text[0] != '\0' && outcome <= f->outcome) {
        return NULL;
    }
    f->outcome = outcome;
    snprintf(f->scene, sizeof f->scene, "%s", scene_text[c->scene]);
    f->verdict = (OwFinding){.key = "fault",
                             .label = "fault",
                             .quantity = quantity,
                             .part = f->part,
                             .trust = OW_TRUST_PRACTICE,
                             .basis = "simulated; limits of the rig, rules in docs/theory/faults.md"};
    return &f->verdict;
}

static const char *part_name(const OwCase *c, int part) {
    return part >= 0 && part < c->work->rig->part_count ? c->work->rig->parts[part].name : "the fuel path";
}

static void judge_hot(const OwCase *c) {
    const OwFacts *f = c->facts, *h = c->healthy;
    OwFailureWords a, b;
    if (f->over_k > 0.0 && f->over_k > h->over_k + 1.0) {
        OwFinding *v = worse(c, OW_CLASS_DANGEROUS, OW_Q_TEMPERATURE);
        if (v != NULL) {
            ow_finding_hold_below(v, f->over_value_k, f->over_limit_k, 0.0);
            v->part = f->over_part;
            snprintf(v->text, sizeof v->text, "'%.36s' reaches %s, it stands %s", part_name(c, f->over_part),
                     words(c, f->over_value_k, OW_Q_TEMPERATURE, &a),
                     words(c, f->over_limit_k, OW_Q_TEMPERATURE, &b));
        }
    }
    if (f->oil_over_k > 0.0 && f->oil_over_k > h->oil_over_k + 1.0) {
        OwFinding *v = worse(c, OW_CLASS_DANGEROUS, OW_Q_TEMPERATURE);
        if (v != NULL) {
            ow_finding_hold_below(v, f->oil_value_k, c->work->rig->limits.oil_max_k, 0.0);
            v->part = f->oil_part;
            snprintf(v->text, sizeof v->text, "oil in '%.36s' reaches %s, allowed %s",
                     part_name(c, f->oil_part), words(c, f->oil_value_k, OW_Q_TEMPERATURE, &a),
                     words(c, c->work->rig->limits.oil_max_k, OW_Q_TEMPERATURE, &b));
        }
    }
}

/// A shut return: the pump pushes until something gives.
static void judge_burst(const OwCase *c) {
    const OwFacts *f = c->facts;
    if (f->high_pa > OW_FAILURE_BURST_PA && f->high_pa > 1.5 * c->healthy->high_pa) {
        OwFinding *v = worse(c, OW_CLASS_DANGEROUS, OW_Q_PRESSURE);
        if (v != NULL) {
            OwFailureWords a, b;
            ow_finding_hold_below(v, f->high_pa, OW_FAILURE_BURST_PA, 0.0);
            v->part = f->high_part;
            v->trust = OW_TRUST_ASSUMED;
            snprintf(v->text, sizeof v->text,
                     "the way is shut: '%.36s' stands under %s, it may burst past %s",
                     part_name(c, f->high_part), words(c, f->high_pa, OW_Q_PRESSURE, &a),
                     words(c, OW_FAILURE_BURST_PA, OW_Q_PRESSURE, &b));
        }
    }
}

static void judge_start(const OwCase *c) {
    const OwFacts *f = c->facts, *h = c->healthy;
    const OwLimits *limits = &c->work->rig->limits;
    OwFailureWords a, b;
    if (!f->has_started) {
        OwFinding *v = worse(c, OW_CLASS_STRANDS, OW_Q_KINEMATIC_VISCOSITY);
        if (v == NULL) {
            return;
        }
        if (f->no_start_m2_s > limits->start_kinematic_m2_s) {
            ow_finding_hold_below(v, f->no_start_m2_s, limits->start_kinematic_m2_s, 0.0);
            snprintf(v->text, sizeof v->text, "does not start: %s at the injection pump, limit %s",
                     words(c, f->no_start_m2_s, OW_Q_KINEMATIC_VISCOSITY, &a),
                     words(c, limits->start_kinematic_m2_s, OW_Q_KINEMATIC_VISCOSITY, &b));
        } else {
            v->quantity = OW_Q_PRESSURE;
            v->part = f->lowest_part;
            ow_finding_hold_above(v, f->lowest_pa, limits->suction_floor_pa, 0.0);
            v->grade = OW_GRADE_BAD;
            snprintf(v->text, sizeof v->text,
                     "does not start: too little fuel when cranking; lowest pressure %s at '%.30s'",
                     words(c, f->lowest_pa, OW_Q_PRESSURE, &a), part_name(c, f->lowest_part));
        }
        return;
    }
    if (h->has_started && f->start_s > h->start_s + c->work->settings.waits_late_s) {
        OwFinding *v = worse(c, OW_CLASS_LIMPS, OW_Q_TIME);
        if (v != NULL) {
            ow_finding_hold_below(v, f->start_s, h->start_s + c->work->settings.waits_late_s, 0.0);
            snprintf(v->text, sizeof v->text, "starts only after %s, healthy %s",
                     words(c, f->start_s, OW_Q_TIME, &a), words(c, h->start_s, OW_Q_TIME, &b));
        }
    }
}

static void judge_drive(const OwCase *c) {
    const OwFacts *f = c->facts, *h = c->healthy;
    OwFailureWords a, b;
    if (!f->has_started || (c->scene == OW_SCENE_LEFT_ON)) {
        return;
    }
    const double stop_s = f->empty_s >= 0.0 && h->empty_s < 0.0 ? f->empty_s
                          : h->stalled_s < 0.0                  ? f->stalled_s
                                                                : -1.0;
    if (stop_s >= 0.0) {
        OwFinding *v = worse(c, OW_CLASS_STRANDS, OW_Q_NUMBER);
        if (v != NULL) {
            ow_finding_hold_above(v, f->empty_s >= 0.0 ? 0.0 : f->least_share, OW_FAILURE_SERVED, 0.0);
            v->part = f->empty_s >= 0.0 ? c->failure->part : f->lowest_part;
            snprintf(v->text, sizeof v->text, "stops after %s: %s; lowest pressure %s at '%.30s'",
                     words(c, stop_s, OW_Q_TIME, &a),
                     f->empty_s >= 0.0 ? "the tank is empty" : "less fuel than idling takes",
                     words(c, f->lowest_pa, OW_Q_PRESSURE, &b), part_name(c, f->lowest_part));
        }
    } else if (f->starved_s > STARVED_S && f->least_share < h->least_share - 0.02) {
        OwFinding *v = worse(c, OW_CLASS_LIMPS, OW_Q_NUMBER);
        if (v != NULL) {
            ow_finding_hold_above(v, f->least_share, OW_FAILURE_SERVED, 0.0);
            v->part = f->lowest_part;
            snprintf(v->text, sizeof v->text,
                     "gets %.0f %% of its fuel from %s on; lowest pressure %s at '%.30s'",
                     100.0 * f->least_share, words(c, f->first_starved_s, OW_Q_TIME, &a),
                     words(c, f->lowest_pa, OW_Q_PRESSURE, &b), part_name(c, f->lowest_part));
        }
    }
    if (f->coolant_hot_s >= 0.0 && h->coolant_hot_s < 0.0) {
        OwFinding *v = worse(c, OW_CLASS_STRANDS, OW_Q_TEMPERATURE);
        if (v != NULL) {
            ow_finding_hold_below(v, f->coolant_k, OW_ZERO_CELSIUS_K + 115.0, 0.0);
            snprintf(v->text, sizeof v->text, "the engine overheats: past %s after %s, stop at once",
                     words(c, OW_ZERO_CELSIUS_K + 115.0, OW_Q_TEMPERATURE, &a),
                     words(c, f->coolant_hot_s, OW_Q_TIME, &b));
        }
    }
    if (f->thick_ratio > OW_FAILURE_THICK && f->thick_for_s > THICK_S &&
        f->thick_for_s > h->thick_for_s + THICK_S) {
        OwFinding *v = worse(c, OW_CLASS_LIMPS, OW_Q_KINEMATIC_VISCOSITY);
        if (v != NULL) {
            ow_finding_hold_below(v, f->thick_m2_s, f->thick_limit_m2_s, 0.0);
            snprintf(v->text, sizeof v->text, "oil too thick at the injection pump: %s, limit %s",
                     words(c, f->thick_m2_s, OW_Q_KINEMATIC_VISCOSITY, &a),
                     words(c, f->thick_limit_m2_s, OW_Q_KINEMATIC_VISCOSITY, &b));
        }
    }
    if (f->airy_s > STARVED_S && f->airy_s > h->airy_s + THICK_S) {
        OwFinding *v = worse(c, OW_CLASS_LIMPS, OW_Q_NUMBER);
        if (v != NULL) {
            ow_finding_hold_above(v, f->least_fill, c->work->rig->limits.min_fill, 0.0);
            v->part = f->lowest_part;
            snprintf(v->text, sizeof v->text,
                     "the injection pump draws %.0f %% gas; lowest pressure %s at '%.30s'",
                     100.0 * (1.0 - f->least_fill), words(c, f->lowest_pa, OW_Q_PRESSURE, &a),
                     part_name(c, f->lowest_part));
        }
    }
    if (f->full_share < FULL_SHARE * h->full_share) {
        OwFinding *v = worse(c, OW_CLASS_LIMPS, OW_Q_NUMBER);
        if (v != NULL) {
            ow_finding_hold_above(v, f->full_share, FULL_SHARE * h->full_share, 0.0);
            snprintf(v->text, sizeof v->text, "%.0f %% of the fuel for full load when warm, healthy %.0f %%",
                     100.0 * f->full_share, 100.0 * h->full_share);
        }
    }
}

/// Two fluids: what stands in the pump at the end must be thin enough for the next start.
static void judge_next_start(const OwCase *c, const OwFluid *first, const OwFluid *second) {
    const OwFacts *f = c->facts;
    if (c->scene != OW_SCENE_ROAD || c->work->rig->fluid_count < 2 || !f->has_started) {
        return;
    }
    const double soak_k =
        c->work->settings.soak_k > 0.0 ? c->work->settings.soak_k : c->work->rig->climate.ambient_k;
    const double limit = c->work->rig->limits.start_kinematic_m2_s;
    const double thick = exp((1.0 - f->end_share) * ow_curve_value(&first->log_kinematic, soak_k) +
                             f->end_share * ow_curve_value(&second->log_kinematic, soak_k));
    const double before = exp((1.0 - c->healthy->end_share) * ow_curve_value(&first->log_kinematic, soak_k) +
                              c->healthy->end_share * ow_curve_value(&second->log_kinematic, soak_k));
    if (thick > limit && before <= limit) {
        OwFinding *v = worse(c, OW_CLASS_STRANDS, OW_Q_KINEMATIC_VISCOSITY);
        if (v != NULL) {
            OwFailureWords a, b;
            ow_finding_hold_below(v, thick, limit, 0.0);
            snprintf(c->failure->scene, sizeof c->failure->scene, "next start");
            snprintf(v->text, sizeof v->text, "not purged: next cold start on %s in the pump, limit %s",
                     words(c, thick, OW_Q_KINEMATIC_VISCOSITY, &a),
                     words(c, limit, OW_Q_KINEMATIC_VISCOSITY, &b));
        }
    }
}

static void judge_battery(const OwCase *c) {
    const OwRig *rig = c->work->rig;
    OwFailure *f = c->failure;
    if (f->kind == OW_FAILURE_ALTERNATOR_DEAD && c->scene == OW_SCENE_ROAD &&
        rig->electrics.battery_v > 0.0) {
        const double amps = c->facts->load_w / rig->electrics.battery_v + OTHER_LOADS_A;
        const OwBatterySpec battery = battery_of(rig);
        const double lasts_s =
            fmax(battery.charge - LEAST_CHARGE, 0.0) * ow_battery_capacity(&battery) / amps;
        OwFinding *v = worse(c, lasts_s < 3600.0 ? OW_CLASS_STRANDS : OW_CLASS_LIMPS, OW_Q_TIME);
        if (v != NULL) {
            OwFailureWords a;
            ow_finding_hold_above(v, lasts_s, 3600.0, 0.0);
            v->trust = OW_TRUST_ASSUMED;
            snprintf(
                v->text, sizeof v->text,
                "the battery carries heaters, pumps and the car's own loads for %s (%.0f A at most, from "
                "%.0f %% of charge to %.0f %%)",
                words(c, lasts_s, OW_Q_TIME, &a), amps, 100.0 * battery.charge, 100.0 * LEAST_CHARGE);
        }
    }
}

// ---- judged by rule alone
// --------------------------------------------------------------------------------------------

static void judge_by_rule(const OwCase *c) {
    OwFailure *f = c->failure;
    const OwRig *rig = c->work->rig;
    const OwPart *part = f->part >= 0 ? &rig->parts[f->part] : NULL;
    OwFailureWords a, b, hole;
    OwFinding *v;
    switch (f->kind) {
    case OW_FAILURE_PETROL:
        v = worse(c, OW_CLASS_DANGEROUS, OW_Q_TEMPERATURE);
        ow_finding_hold_above(v, OW_ZERO_CELSIUS_K - 40.0, OW_ZERO_CELSIUS_K + 55.0, 0.0);
        v->trust = OW_TRUST_ASSUMED;
        v->basis = "flash point of petrol near -40 degC, from memory; least of diesel: EN 590";
        snprintf(v->text, sizeof v->text,
                 "flash point near %s, diesel's is above %s: heaters and hot parts light it, the pump runs "
                 "dry. Do not "
                 "turn the key",
                 words(c, OW_ZERO_CELSIUS_K - 40.0, OW_Q_TEMPERATURE, &a),
                 words(c, OW_ZERO_CELSIUS_K + 55.0, OW_Q_TEMPERATURE, &b));
        break;
    case OW_FAILURE_HEATER_NEVER_OFF: {
        const OwElements *elements = ow_part_elements_const(part);
        const OwElement *e = f->element >= 0 ? &elements->items[f->element] : NULL; // NULL: an electric trace
        const double system_v = ow_electric_system(rig->electrics.battery_v);
        const double amps = e != NULL ? e->power_w / e->rated_v
                                      : part->as.run.trace_w_m * part->as.run.length_m / fmax(system_v, 1.0);
        const bool is_held = e == NULL || e->has_thermostat; // a trace limits itself
        // Down to the charge that must be left to crank; a thermostat only stretches it.
        const OwBatterySpec battery = battery_of(rig);
        const double lasts_s =
            fmax(battery.charge - battery.minimum_charge, 0.0) * ow_battery_capacity(&battery) / amps;
        v = worse(c, is_held ? OW_CLASS_STRANDS : OW_CLASS_DANGEROUS, OW_Q_TIME);
        ow_finding_hold_above(v, lasts_s, 12.0 * 3600.0, 0.0);
        v->trust = OW_TRUST_ASSUMED;
        v->basis = "charge down to what must be left to crank over the heater's amperes, thermostat shut; a "
                   "night of 12 h: assumed";
        snprintf(v->text, sizeof v->text, "%.0f A with the key off: the battery is at %.0f %% after %s%s",
                 amps, 100.0 * battery.minimum_charge, words(c, lasts_s, OW_Q_TIME, &a),
                 is_held ? "" : ", and no thermostat holds it");
        snprintf(f->scene, sizeof f->scene, "parked");
        break;
    }
    case OW_FAILURE_OIL_LEAK: {
        const double pa = fmax(c->work->part_pa[f->part], 0.0);
        const double area = 0.25 * 3.14159265358979323846 * f->size * f->size;
        const double leak = LEAK_COEFFICIENT * area * sqrt(2.0 * pa / 910.0);
        const bool is_hot = part->place == OW_PLACE_ENGINE_BAY;
        v = worse(c,
                  pa <= 500.0 ? OW_CLASS_UNNOTICED
                  : is_hot    ? OW_CLASS_DANGEROUS
                              : OW_CLASS_LIMPS,
                  OW_Q_VOLUME_FLOW);
        ow_finding_hold_below(v, leak, 0.1e-3 / 3600.0, 0.0);
        v->trust = OW_TRUST_ASSUMED;
        v->basis = "orifice flow through a hole of 0.5 mm, coefficient 0.6; 0.1 L/h as a drip: assumed";
        snprintf(v->text, sizeof v->text,
                 pa <= 500.0 ? "no pressure in it to speak of (%s): %s at most through a hole of %s, it may "
                               "draw air instead"
                 : is_hot    ? "under %s up to %s sprays from a hole of %s in the engine bay, onto hot parts"
                             : "under %s up to %s leaks from a hole of %s on the road",
                 words(c, pa, OW_Q_PRESSURE, &a), words(c, leak, OW_Q_VOLUME_FLOW, &b),
                 words(c, f->size, OW_Q_LENGTH, &hole));
        break;
    }
    case OW_FAILURE_AIR_LEAK:
        v = worse(c, OW_CLASS_UNNOTICED, OW_Q_PRESSURE);
        ow_finding_hold_above(v, c->healthy->lowest_pa, 0.0, 0.0);
        snprintf(v->text, sizeof v->text,
                 "no place of the way to the pump stands below the air (lowest %s): a hole drips, it does "
                 "not draw",
                 words(c, c->healthy->lowest_pa, OW_Q_PRESSURE, &a));
        break;
    case OW_FAILURE_TANK_GELLED:
        v = worse(c, OW_CLASS_UNNOTICED, OW_Q_TEMPERATURE);
        ow_finding_tell(v, OW_CURVE_LOW_K);
        snprintf(v->text, sizeof v->text, "this fluid is not known to set above %s",
                 words(c, OW_CURVE_LOW_K, OW_Q_TEMPERATURE, &a));
        break;
    case OW_FAILURE_CHECK_OPEN:
        v = worse(c, OW_CLASS_LIMPS, OW_Q_PRESSURE);
        ow_finding_tell(v, part->as.check_valve.open_pa);
        v->trust = OW_TRUST_PRACTICE;
        snprintf(v->text, sizeof v->text,
                 "fuel runs back while parked; the next start begins with air in the lines");
        snprintf(f->scene, sizeof f->scene, "next start");
        break;
    case OW_FAILURE_INJECTION_PUMP_DEAD:
        v = worse(c, OW_CLASS_STRANDS, OW_Q_NUMBER);
        ow_finding_hold_above(v, 0.0, OW_FAILURE_SERVED, 0.0);
        snprintf(v->text, sizeof v->text, "no injection, no engine");
        break;
    default:
        v = worse(c, OW_CLASS_UNNOTICED, OW_Q_NUMBER);
        v->grade = OW_GRADE_UNKNOWN;
        snprintf(v->text, sizeof v->text, "cannot be simulated on this rig");
        break;
    }
}

static void judge_unnoticed(const OwCase *c) {
    OwFailureWords a, b;
    const OwFacts *f = c->facts;
    OwFinding *v = worse(c, OW_CLASS_UNNOTICED, OW_Q_TIME);
    if (v == NULL) {
        return;
    }
    if (c->healthy->has_started) {
        ow_finding_hold_below(v, f->start_s, c->healthy->start_s + c->work->settings.waits_late_s, 0.0);
        snprintf(v->text, sizeof v->text, "starts after %s (healthy %s) and drives as before",
                 words(c, f->start_s, OW_Q_TIME, &a), words(c, c->healthy->start_s, OW_Q_TIME, &b));
    } else {
        ow_finding_tell(v, f->start_s);
        snprintf(v->text, sizeof v->text, "starts after %s", words(c, f->start_s, OW_Q_TIME, &a));
    }
}

void ow_failure_judge(OwFailureWork *work, OwFailure *failure) {
    OwCase c = {.work = work, .failure = failure, .healthy = &work->runs[0].facts[OW_SCENE_COLD]};
    failure->verdict.text[0] = '\0';
    if (failure->run < 0) {
        if (failure->kind == OW_FAILURE_AIR_LEAK &&
            work->runs[0].facts[OW_SCENE_ROAD].lowest_pa < c.healthy->lowest_pa) {
            c.healthy = &work->runs[0].facts[OW_SCENE_ROAD];
        }
        judge_by_rule(&c);
        if (strcmp(failure->scene, scene_text[OW_SCENE_COLD]) == 0) {
            failure->scene[0] = '\0'; // a rule has no scene of its own
        }
        failure->cold = failure->road = failure->outcome;
        return;
    }
    const OwFailureRun *run = &work->runs[failure->run];
    failure->outcome = OW_CLASS_UNNOTICED;
    for (int scene = 0; scene < OW_SCENE_COUNT; scene++) {
        c.scene = (OwScene)scene;
        c.facts = &run->facts[scene];
        c.healthy = &work->runs[0].facts[scene];
        if (!c.facts->is_known) {
            continue;
        }
        const OwFailure before = *failure;
        failure->verdict.text[0] = '\0';
        failure->outcome = OW_CLASS_UNNOTICED;
        if (scene != OW_SCENE_LEFT_ON) {
            judge_start(&c);
            judge_drive(&c);
            judge_next_start(&c, work->fluids[0], work->fluids[1]);
            judge_battery(&c);
        }
        judge_hot(&c);
        judge_burst(&c);
        const OwFailureClass here = failure->outcome;
        if (before.verdict.text[0] != '\0' && before.outcome >= here) {
            *failure = before;
        }
        failure->cold = scene == OW_SCENE_COLD ? here : failure->cold;
        failure->road = scene == OW_SCENE_ROAD ? here : failure->road;
    }
    c.scene = OW_SCENE_COLD;
    c.facts = &run->facts[OW_SCENE_COLD];
    c.healthy = &work->runs[0].facts[OW_SCENE_COLD];
    if (failure->verdict.text[0] == '\0') {
        if (c.facts->is_known) {
            judge_unnoticed(&c);
        } else {
            OwFinding *v = worse(&c, OW_CLASS_STRANDS, OW_Q_NUMBER);
            v->grade = OW_GRADE_UNKNOWN;
            if (run->status == OW_ERROR_VALUE && run->effect == OW_EFFECT_VALVE_AT) {
                ow_finding_hold_above(v, 0.0, OW_FAILURE_SERVED, 0.0);
                snprintf(v->text, sizeof v->text, "no way is left from a tank to the injection pump");
            } else {
                snprintf(v->text, sizeof v->text, "cannot be reckoned (%s): counted as stranding",
                         ow_status_text(run->status));
            }
            failure->is_simulated = false;
            failure->cold = failure->road = failure->outcome;
        }
    }
    const OwFacts *healthy = &work->runs[0].facts[OW_SCENE_COLD];
    if (run->facts[OW_SCENE_COLD].is_known && healthy->is_known && !healthy->has_started) {
        failure->is_as_unbroken = failure->outcome == OW_CLASS_STRANDS && failure->is_simulated &&
                                  !run->facts[OW_SCENE_COLD].has_started;
        if (run->facts[OW_SCENE_COLD].has_started && failure->outcome < OW_CLASS_DANGEROUS) {
            ow_judge_also(failure->verdict.text, sizeof failure->verdict.text,
                          " (it starts, which it does not unbroken)");
        }
    }
    if (failure->kind == OW_FAILURE_TANK_GELLED && run->size > 0.0) {
        OwFailureWords a;
        const size_t used = strlen(failure->verdict.text);
        snprintf(failure->verdict.text + used, sizeof failure->verdict.text - used, "; this oil sets at %s",
                 words(&c, run->size, OW_Q_TEMPERATURE, &a));
    }
}
