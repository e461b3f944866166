// SPDX-License-Identifier: GPL-3.0-or-later
// Minutes to solid fuel after a filter change, three ways.
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "judge/bleed.h"
#include "judge/work.h"
#include "morning/engine.h"
#include "oilwright/power.h"

#define PI 3.14159265358979323846
/// Dead over stroke volume: a hand primer, an engine-driven pump. Common practice, no source.
#define DEAD_HAND 0.5
#define DEAD_ENGINE 1.0
#define OPEN_JOINT_S 180.0 // to crack a joint at a high point and close it; common practice, no source
#define PRACTICE_ELECTRIC_S 120.0
#define PRACTICE_HAND_S 2700.0
#define CRANK_A 200.0 // when the wiring does not say; common practice, no source

OwBleedSettings ow_bleed_default(void) {
    return (OwBleedSettings){.drained_m = 0.3,
                             .stroke_m3 = 6e-6,
                             .strokes_s = 0.5,
                             .hand_pa = 25e3,
                             .crank_s = 15.0,
                             .rest_s = 60.0};
}

const char *ow_bleed_way_text(OwBleedWay way) {
    static const char *const names[] = {"electric pump", "hand primer", "cranking"};
    return (unsigned)way < OW_BLEED_WAYS ? names[way] : "unknown";
}

const char *ow_bleed_way_key(OwBleedWay way) {
    static const char *const names[] = {"electric_pump", "hand_primer", "cranking"};
    return (unsigned)way < OW_BLEED_WAYS ? names[way] : "unknown";
}

typedef struct OwBleedWork {
    const OwRig *rig;
    OwBleedSettings settings;
    OwBleedPath path;
    OwBleedStudy *study;
} OwBleedWork;

/// Largest flow at which `spare` is not below zero; `spare` falls with flow. 0 when even a trickle is too
/// much.
static double largest_flow(const OwBleedWork *w, double (*spare)(const OwBleedWork *w, double flow),
                           double most) {
    double low = 0.0, high = most;
    if (spare(w, 1e-12) <= 0.0) {
        return 0.0;
    }
    if (spare(w, most) >= 0.0) {
        return most;
    }
    for (int i = 0; i < 60; i++) {
        const double middle = 0.5 * (low + high);
        if (spare(w, middle) >= 0.0) {
            low = middle;
        } else {
            high = middle;
        }
    }
    return low;
}

// Bleed screw open at the void (filling) and at the injection pump (sweeping): both end at the outer air.
static double spare_push_fill(const OwBleedWork *w, double q) {
    return w->path.head_pa + ow_bleed_push(&w->path, q) -
           (ow_bleed_drop(&w->path, 0, w->path.pump_at - 1, q) +
            ow_bleed_drop(&w->path, w->path.pump_at + 1, w->path.filter_at - 1, q));
}

static double spare_push_sweep(const OwBleedWork *w, double q) {
    return w->path.head_pa + ow_bleed_push(&w->path, q) -
           (ow_bleed_drop(&w->path, 0, w->path.pump_at - 1, q) +
            ow_bleed_drop(&w->path, w->path.pump_at + 1, w->path.count - 1, q));
}

static double spare_hand_pull(const OwBleedWork *w, double q) {
    return w->path.head_pa + w->settings.hand_pa - ow_bleed_drop(&w->path, 0, w->path.filter_at - 1, q);
}

static double spare_hand_push(const OwBleedWork *w, double q) {
    return w->settings.hand_pa - ow_bleed_drop(&w->path, w->path.filter_at, w->path.count - 1, q);
}

static double spare_crank_sweep(const OwBleedWork *w, double q) {
    // Liquid to the pump: it may pull down to the suction floor before air comes out again.
    return w->path.head_pa - w->rig->limits.suction_floor_pa -
           ow_bleed_drop(&w->path, 0, w->path.count - 1, q);
}

/// Flow of oil into a void that a pump of displacement `rate` and dead volume draws empty: in the steady
/// state oil comes in as fast as gas goes out, q = rate (1 - dead (p0/p - 1)), with p0 - p what the way up to
/// it takes.
static double pull(const OwBleedWork *w, double rate, double dead, double deepest_pa, double *void_pa) {
    double low = fmax(OW_ATMOSPHERE_PA - deepest_pa, 1e3),
           high = OW_ATMOSPHERE_PA + fmax(w->path.head_pa, 0.0);
    double q = 0.0;
    for (int i = 0; i < 60; i++) {
        const double p = 0.5 * (low + high);
        q = rate * ow_bleed_gas_share(dead, p);
        const double needed = ow_bleed_drop(&w->path, 0, w->path.filter_at - 1, q);
        if (OW_ATMOSPHERE_PA + w->path.head_pa - p >= needed) {
            low = p; // the oil would come faster: less vacuum is enough
        } else {
            high = p;
        }
    }
    // At the deepest vacuum the way may still take more than there is: then the way sets the flow.
    *void_pa = 0.5 * (low + high) - OW_ATMOSPHERE_PA;
    if (OW_ATMOSPHERE_PA + w->path.head_pa - low < ow_bleed_drop(&w->path, 0, w->path.filter_at - 1, q)) {
        double a = 0.0, b = q;
        for (int i = 0; i < 60; i++) {
            const double m = 0.5 * (a + b);
            if (w->path.head_pa - *void_pa >= ow_bleed_drop(&w->path, 0, w->path.filter_at - 1, m)) {
                a = m;
            } else {
                b = m;
            }
        }
        q = a;
    }
    return q;
}

static void measure(OwBleedWork *w) {
    OwBleedStudy *s = w->study;
    const OwBleedPath *path = &w->path;
    const OwRig *rig = w->rig;
    s->filter = path->parts[path->filter_at];
    s->kinematic_m2_s = path->kinematic_m2_s;
    s->filter_m3 = w->settings.is_prefilled ? 0.0 : ow_bleed_volume(&rig->parts[s->filter]);
    for (int side = -1; side <= 1; side += 2) {
        double left_m = w->settings.drained_m;
        for (int i = path->filter_at + side; i > 0 && i < path->count && left_m > 0.0; i += side) {
            const OwPart *part = &rig->parts[path->parts[i]];
            if (part->kind != OW_PART_RUN) {
                break;
            }
            const double share = fmin(1.0, left_m / part->as.run.length_m);
            s->hose_m3 += share * ow_bleed_volume(part);
            left_m -= part->as.run.length_m;
        }
    }
    s->air_m3 = s->filter_m3 + s->hose_m3;
    for (int i = path->filter_at; i < path->count; i++) {
        s->path_m3 += ow_bleed_volume(&rig->parts[path->parts[i]]);
    }
    const double share = w->settings.gas_share > 0.0 ? w->settings.gas_share : 1.0 - rig->limits.min_fill;
    s->volumes = ow_bleed_volumes(share);
}

static void find_traps(OwBleedWork *w) {
    OwBleedStudy *s = w->study;
    for (int i = w->path.filter_at + 1; i < w->path.count && s->trap_count < OW_BLEED_TRAPS; i++) {
        const OwPart *part = &w->rig->parts[w->path.parts[i]];
        const double rise = part->kind == OW_PART_RUN       ? part->as.run.rise_m
                            : part->kind == OW_PART_CHAMBER ? part->as.chamber.rise_m
                                                            : 0.0;
        const double bore = ow_bleed_bore(part);
        if (rise >= 0.0 || bore <= 0.0) {
            continue;
        }
        OwBleedTrap *t = &s->traps[s->trap_count++];
        t->part = w->path.parts[i];
        t->volume_m3 = fmin(0.5 * ow_bleed_volume(part), s->air_m3);
        t->rise_m_s = ow_bleed_rise(bore, w->path.kinematic_m2_s, w->path.density_kg_m3, w->path.surface_n_m);
        for (int way = 0; way < OW_BLEED_WAYS; way++) {
            t->flow_m_s[way] = s->cases[way].sweep_m3_s / (0.25 * PI * bore * bore);
            t->is_swept[way] = t->flow_m_s[way] > t->rise_m_s;
        }
    }
}

/// Time for what stays at high points: fresh oil under pressure takes it up, Q s p/p0 of air at 1 atm
/// (Henry), or a joint is opened there, whichever is sooner.
static double trap_time(const OwBleedWork *w, OwBleedWay way, double gauge_pa) {
    const OwBleedStudy *s = w->study;
    double sum = 0.0;
    for (int i = 0; i < s->trap_count; i++) {
        const OwBleedTrap *t = &s->traps[i];
        if (t->is_swept[way]) {
            continue;
        }
        const double rate =
            s->cases[way].sweep_m3_s * w->path.solubility * fmax(gauge_pa, 0.0) / OW_ATMOSPHERE_PA;
        const double air = t->volume_m3 * (1.0 + fmax(gauge_pa, 0.0) / OW_ATMOSPHERE_PA);
        sum += rate > 0.0 ? fmin(air / rate, OPEN_JOINT_S) : OPEN_JOINT_S;
    }
    return sum;
}

static void finish(OwBleedWork *w, OwBleedCase *c, double duty) {
    OwBleedStudy *s = w->study;
    c->is_possible = c->fill_m3_s > 1e-9 && c->sweep_m3_s > 1e-9;
    if (!c->is_possible) {
        return;
    }
    c->fill_s = s->air_m3 / c->fill_m3_s;
    c->sweep_s = s->volumes * s->path_m3 / c->sweep_m3_s;
    c->total_s = (c->fill_s + c->sweep_s) / duty;
}

/// `done` of the three ways are reckoned. False: it is to end.
static bool goes_on(const OwBleedWork *w, int done) {
    return w->settings.progress == NULL ||
           w->settings.progress(w->settings.context, (double)done / OW_BLEED_WAYS);
}

/// False: the progress call gave up.
static bool reckon(OwBleedWork *w) {
    OwBleedStudy *s = w->study;
    const OwRig *rig = w->rig;
    OwBleedCase *e = &s->cases[OW_BLEED_ELECTRIC], *h = &s->cases[OW_BLEED_HAND],
                *c = &s->cases[OW_BLEED_CRANK];
    *e = (OwBleedCase){.way = OW_BLEED_ELECTRIC,
                       .pump = w->path.pump_at >= 0 ? w->path.parts[w->path.pump_at] : -1};
    if (w->path.pump_at >= 0) {
        e->fill_m3_s = largest_flow(w, spare_push_fill, 1e-2);
        e->sweep_m3_s = largest_flow(w, spare_push_sweep, 1e-2);
        finish(w, e, 1.0);
    }
    if (!goes_on(w, 1)) {
        return false;
    }
    *h = (OwBleedCase){.way = OW_BLEED_HAND, .pump = -1};
    const double by_hand = w->settings.stroke_m3 * w->settings.strokes_s;
    h->fill_m3_s = pull(w, by_hand, DEAD_HAND, w->settings.hand_pa, &h->fill_pa);
    h->sweep_m3_s =
        fmin(by_hand, fmin(largest_flow(w, spare_hand_pull, 1e-2), largest_flow(w, spare_hand_push, 1e-2)));
    finish(w, h, 1.0);
    h->strokes = h->is_possible ? (h->fill_s + h->sweep_s) * w->settings.strokes_s : 0.0;
    if (!goes_on(w, 2)) {
        return false;
    }
    *c = (OwBleedCase){.way = OW_BLEED_CRANK, .pump = -1};
    const double turns = ow_engine_crank_rad_s(&rig->engine, s->soak_k) / (2.0 * PI);
    double rate = 0.0;
    for (int i = 0; i < w->path.count; i++) {
        const OwPart *part = &rig->parts[w->path.parts[i]];
        if (part->kind == OW_PART_LIFT_PUMP) {
            rate = part->as.lift_pump.displacement_m3_rev * turns;
            c->pump = w->path.parts[i];
        } else if (part->kind == OW_PART_INJECTION_PUMP && rate <= 0.0 &&
                   part->as.injection_pump.type == OW_PUMP_DISTRIBUTOR) {
            rate = part->as.injection_pump.transfer_m3_rev * turns;
            c->pump = w->path.parts[i];
        }
    }
    c->fill_m3_s = pull(w, rate, DEAD_ENGINE, 0.5 * OW_ATMOSPHERE_PA, &c->fill_pa);
    c->sweep_m3_s = fmin(rate, largest_flow(w, spare_crank_sweep, 1e-2));
    finish(w, c, w->settings.crank_s / fmax(w->settings.crank_s + w->settings.rest_s, 1e-3));
    c->crank_s = c->is_possible ? c->fill_s + c->sweep_s : 0.0;
    OwPower *power = NULL;
    double amps = CRANK_A;
    if (ow_power_create(rig, &power, NULL) == OW_OK && ow_power_spec(power)->crank_a > 0.0) {
        amps = ow_power_spec(power)->crank_a;
    }
    ow_power_destroy(&power);
    c->charge_c = c->crank_s * amps;
    find_traps(w);
    const double pushed = w->path.pump_at >= 0 ? ow_bleed_push(&w->path, e->sweep_m3_s) : 0.0;
    const double pressures[] = {0.5 * pushed, 0.5 * w->settings.hand_pa, 0.0};
    for (int way = 0; way < OW_BLEED_WAYS; way++) {
        if (s->cases[way].is_possible) {
            s->cases[way].trap_s = trap_time(w, (OwBleedWay)way, pressures[way]);
            s->cases[way].total_s += s->cases[way].trap_s;
        }
    }
    return goes_on(w, OW_BLEED_WAYS);
}

static OwFinding *add(OwBleedStudy *s, const char *key, const char *label, OwQuantity quantity) {
    OwFinding *f =
        &s->findings[s->finding_count < OW_BLEED_FINDINGS ? s->finding_count++ : OW_BLEED_FINDINGS - 1];
    *f = (OwFinding){
        .key = key, .label = label, .grade = OW_GRADE_UNKNOWN, .quantity = quantity, .part = s->filter};
    return f;
}

typedef struct OwWords {
    char text[48];
} OwWords;

static OwWords say(const OwBleedStudy *s, double si, OwQuantity quantity) {
    OwWords w;
    ow_units_write(si, quantity, s->display, w.text, sizeof w.text);
    return w;
}

static void tell_electric(OwBleedStudy *s) {
    const OwBleedCase *e = &s->cases[OW_BLEED_ELECTRIC];
    OwFinding *f = add(s, "electric_pump", "with the electric pump", OW_Q_TIME);
    f->trust = OW_TRUST_PRACTICE;
    f->basis = "displacement against the pump's line, laminar sweep by Danckwerts 1953; under 2 min: common "
               "practice, no source";
    f->part = e->pump;
    if (e->pump < 0) {
        f->grade = OW_GRADE_IMPOSSIBLE;
        snprintf(f->text, sizeof f->text, "There is no electric pump before the filter.");
        snprintf(f->mend, sizeof f->mend, "An electric pump at the tank bleeds the lines by itself.");
        return;
    }
    if (!e->is_possible) {
        f->grade = OW_GRADE_IMPOSSIBLE;
        snprintf(f->text, sizeof f->text, "'%.36s' cannot push oil of %s through the way at %s.",
                 s->rig->parts[e->pump].name, say(s, s->kinematic_m2_s, OW_Q_KINEMATIC_VISCOSITY).text,
                 say(s, s->soak_k, OW_Q_TEMPERATURE).text);
        snprintf(f->mend, sizeof f->mend, "Warm the oil first, or fit a wider line.");
        return;
    }
    ow_finding_hold_below(f, e->total_s, PRACTICE_ELECTRIC_S, 0.25 * PRACTICE_ELECTRIC_S);
    snprintf(f->text, sizeof f->text,
             "'%.36s' gives %s: the air is out after %s, solid fuel after %s; usual is %s.",
             s->rig->parts[e->pump].name, say(s, e->sweep_m3_s, OW_Q_VOLUME_FLOW).text,
             say(s, e->fill_s, OW_Q_TIME).text, say(s, e->total_s, OW_Q_TIME).text,
             say(s, PRACTICE_ELECTRIC_S, OW_Q_TIME).text);
    if (f->grade == OW_GRADE_BAD) {
        snprintf(f->mend, sizeof f->mend,
                 "Fill the new filter with oil before it goes on, or bleed with warm oil.");
    }
}

static void tell_hand(OwBleedStudy *s) {
    const OwBleedCase *h = &s->cases[OW_BLEED_HAND];
    OwFinding *f = add(s, "hand_primer", "by hand primer", OW_Q_TIME);
    f->trust = OW_TRUST_PRACTICE;
    f->basis =
        "strokes against the way's resistance, Boyle's law on air; some 45 min: common practice, no source";
    if (!h->is_possible) {
        f->grade = OW_GRADE_IMPOSSIBLE;
        snprintf(f->text, sizeof f->text, "By hand no oil comes up: it is too thick (%s) for the way.",
                 say(s, s->kinematic_m2_s, OW_Q_KINEMATIC_VISCOSITY).text);
        snprintf(f->mend, sizeof f->mend, "Fit an electric pump at the tank, or warm the oil.");
        return;
    }
    ow_finding_hold_below(f, h->total_s, PRACTICE_HAND_S, 0.0);
    f->grade = f->grade == OW_GRADE_BAD ? OW_GRADE_TIGHT : f->grade; // it works, it only tires
    snprintf(f->text, sizeof f->text, "By hand %s, %.0f strokes, %s (said in the trade: some 45 min).",
             say(s, h->total_s, OW_Q_TIME).text, h->strokes, say(s, h->sweep_m3_s, OW_Q_VOLUME_FLOW).text);
}

static void tell_crank(OwBleedStudy *s) {
    const OwBleedCase *c = &s->cases[OW_BLEED_CRANK];
    OwFinding *f = add(s, "cranking", "by cranking", OW_Q_CHARGE);
    f->trust = OW_TRUST_ASSUMED;
    f->basis = "displacement at cranking speed, dead volume by Boyle's law, starter 15 s on and 60 s rest; "
               "share of the battery: assumed";
    f->part = c->pump;
    if (!c->is_possible) {
        f->grade = OW_GRADE_IMPOSSIBLE;
        snprintf(f->text, sizeof f->text, "Cranking draws no oil: %s.",
                 c->pump < 0 ? "nothing on the engine sucks" : "the way takes all the suction there is");
        snprintf(f->mend, sizeof f->mend, "Use a hand primer or an electric pump.");
        return;
    }
    const double limit = s->rig->limits.preheat_charge_share * s->rig->electrics.battery_c;
    ow_finding_hold_below(f, c->charge_c, limit, 0.2 * limit);
    snprintf(f->text, sizeof f->text, "%s of cranking, %s with the starter's rests, draws %s; %s may go.",
             say(s, c->crank_s, OW_Q_TIME).text, say(s, c->total_s, OW_Q_TIME).text,
             say(s, c->charge_c, OW_Q_CHARGE).text, say(s, limit, OW_Q_CHARGE).text);
    if (f->grade == OW_GRADE_BAD) {
        snprintf(f->mend, sizeof f->mend,
                 "Do not bleed with the starter: prime by hand or with an electric pump.");
    }
}

static void tell_traps(OwBleedStudy *s) {
    const OwBleedWay way = s->cases[OW_BLEED_ELECTRIC].is_possible ? OW_BLEED_ELECTRIC : OW_BLEED_HAND;
    const OwBleedTrap *worst = NULL;
    for (int i = 0; i < s->trap_count; i++) {
        const OwBleedTrap *t = &s->traps[i];
        if (worst == NULL || t->flow_m_s[way] - t->rise_m_s < worst->flow_m_s[way] - worst->rise_m_s) {
            worst = t;
        }
    }
    OwFinding *f = add(s, "high_points", "air at high points", OW_Q_SPEED);
    f->trust = OW_TRUST_PUBLISHED;
    f->basis = "flow against the rise of a long bubble in a tube, Viana et al. 2003";
    f->part = -1;
    if (worst == NULL) {
        f->grade = OW_GRADE_GOOD;
        snprintf(f->text, sizeof f->text,
                 "No run falls between filter and injection pump: air finds its way on.");
        return;
    }
    f->part = worst->part;
    ow_finding_hold_above(f, worst->flow_m_s[way], worst->rise_m_s, 0.5 * worst->rise_m_s);
    snprintf(f->text, sizeof f->text,
             "In '%.36s' oil flows down at %.3g mm/s (%s), a bubble rises at %.3g mm/s%s.",
             s->rig->parts[worst->part].name, 1e3 * worst->flow_m_s[way], ow_bleed_way_text(way),
             1e3 * worst->rise_m_s,
             worst->is_swept[way] ? ": it is carried on" : ": up to its half stays full of air");
    if (f->grade == OW_GRADE_BAD) {
        snprintf(f->mend, sizeof f->mend, "Lay it rising all the way, or open the joint at its upper end.");
    }
}

static void headline(OwBleedStudy *s) {
    const OwBleedCase *e = &s->cases[OW_BLEED_ELECTRIC], *h = &s->cases[OW_BLEED_HAND];
    if (e->is_possible && h->is_possible) {
        snprintf(
            s->headline, sizeof s->headline,
            "Solid fuel %s after the filter change with the electric pump, %s by hand: %.0f times longer.",
            say(s, e->total_s, OW_Q_TIME).text, say(s, h->total_s, OW_Q_TIME).text, h->total_s / e->total_s);
    } else if (e->is_possible) {
        snprintf(s->headline, sizeof s->headline,
                 "Solid fuel %s after the filter change with the electric pump; by hand not at all.",
                 say(s, e->total_s, OW_Q_TIME).text);
    } else if (h->is_possible) {
        snprintf(s->headline, sizeof s->headline,
                 "Solid fuel %s after the filter change by hand (%.0f strokes); there is no electric pump to "
                 "do it.",
                 say(s, h->total_s, OW_Q_TIME).text, h->strokes);
    } else {
        snprintf(s->headline, sizeof s->headline,
                 "The lines cannot be bled at %s: the oil is too thick for the way.",
                 say(s, s->soak_k, OW_Q_TEMPERATURE).text);
    }
}

OwStatus ow_bleed_create(const OwRig *rig, const OwBleedSettings *settings, OwDisplay display,
                         OwBleedStudy *study, OwFaults *faults) {
    if (rig == NULL || study == NULL) {
        return OW_ERROR_USE;
    }
    OwBleedWork work = {
        .rig = rig, .settings = settings != NULL ? *settings : ow_bleed_default(), .study = study};
    *study = (OwBleedStudy){.rig = rig, .display = display, .filter = -1};
    int filter = -1;
    if (work.settings.filter != NULL) {
        filter = ow_rig_find(rig, work.settings.filter);
        if (filter < 0 || rig->parts[filter].kind != OW_PART_FILTER) {
            OwFault fault = {.status = OW_ERROR_VALUE, .severity = OW_FAULT_ERROR};
            snprintf(fault.part, sizeof fault.part, "%.63s", work.settings.filter);
            snprintf(fault.message, sizeof fault.message, "the rig has no filter of that name");
            size_t used = 0;
            for (int p = 0; p < rig->part_count && used + OW_NAME_SIZE + 16 < sizeof fault.remedy; p++) {
                if (rig->parts[p].kind == OW_PART_FILTER) {
                    used += (size_t)snprintf(fault.remedy + used, sizeof fault.remedy - used, "%s%s",
                                             used > 0 ? ", " : "its filters: ", rig->parts[p].name);
                }
            }
            if (faults != NULL) {
                (void)ow_faults_add(faults, &fault);
            }
            return OW_ERROR_VALUE;
        }
    }
    // A filter is changed in the workshop: 20 degC unless it is warmer outside. Assumed.
    study->soak_k = work.settings.soak_k > 0.0 ? work.settings.soak_k
                                               : fmax(rig->climate.ambient_k, OW_ZERO_CELSIUS_K + 20.0);
    const OwStatus status = ow_bleed_path_create(rig, filter, study->soak_k, &work.path, faults);
    if (status != OW_OK) {
        return status;
    }
    measure(&work);
    if (!reckon(&work)) {
        ow_bleed_path_destroy(&work.path);
        return OW_ERROR_USE;
    }
    tell_electric(study);
    tell_hand(study);
    tell_crank(study);
    tell_traps(study);
    headline(study);
    ow_bleed_path_destroy(&work.path);
    return OW_OK;
}
