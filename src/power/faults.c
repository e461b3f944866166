// SPDX-License-Identifier: GPL-3.0-or-later
// Single electrical faults, each put into the full network and solved: what burns, what opens, what drains.
#include "power/full_net.h"
#include "power/schedule.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#define SHORT_OHM 1e-3 // a bolted short
#define BAD_JOINT_OHM 0.1
#define HOT_JOINT_W 5.0 // a crimp that sheds more than this softens plastic near it (common practice)

const char *ow_electric_fault_name(OwFaultKind kind) {
    static const char *const names[] = {"short at the load",
                                        "short half way",
                                        "short behind the fuse",
                                        "short on the main cable",
                                        "broken earth",
                                        "broken body earth",
                                        "bad joint",
                                        "relay stuck on",
                                        "thermostat stuck on",
                                        "hold-on button stuck"};
    return kind >= 0 && kind <= OW_ELECTRIC_STUCK_HOLD ? names[kind] : "?";
}

const char *ow_harm_name(OwHarm harm) {
    static const char *const names[] = {"none", "opens", "strands", "drains", "burns"};
    return harm >= 0 && harm <= OW_HARM_BURNS ? names[harm] : "?";
}

/// One faulty state of the full network in its own arena.
typedef struct OwTrial {
    OwArena *arena;
    OwNode *nodes;
    OwBranch *branches;
    int node_count, branch_count;
} OwTrial;

static OwBranch *tagged(OwTrial *t, int tag) {
    for (int i = 0; i < t->branch_count; i++) {
        if (t->branches[i].tag == tag) {
            return &t->branches[i];
        }
    }
    return NULL;
}

/// Pre-heat state with the engine still: the hardest on the battery, the commonest for a fault to show.
static OwPowerInput rest_input(const OwPower *power, double soak_k) {
    OwPowerInput in = ow_power_input(power, soak_k);
    for (int i = 0; i < power->spec.circuit_count; i++) {
        in.is_on[i] = ow_power_is_preheat(&power->spec.circuits[i]);
    }
    return in;
}

/// Builds the network with room for one more branch; `extra` (may be NULL) is added.
static bool build(OwTrial *t, const OwPower *power, const OwPowerInput *in, const OwBranch *extra) {
    t->arena = ow_arena_create();
    OwBranch *branches;
    if (!t->arena ||
        ow_power_net(power, in, t->arena, &t->nodes, &t->node_count, &branches, &t->branch_count) != OW_OK) {
        return false;
    }
    t->branches = ow_arena_take(t->arena, (size_t)t->branch_count + 1, sizeof *t->branches);
    if (!t->branches) {
        return false;
    }
    memcpy(t->branches, branches, (size_t)t->branch_count * sizeof *branches);
    if (extra) {
        t->branches[t->branch_count++] = *extra;
    }
    return true;
}

static bool solve(OwTrial *t) {
    OwNet *net;
    return ow_net_create(t->nodes, t->node_count, t->branches, t->branch_count, t->arena, &net) == OW_OK &&
           ow_net_solve(net) == OW_OK;
}

static void text_time(double s, char *text, size_t size) {
    if (isinf(s)) {
        snprintf(text, size, "never");
    } else if (s < 1e-3) {
        snprintf(text, size, "1 ms");
    } else if (s < 1.0) {
        snprintf(text, size, "%.2g s", s);
    } else if (s < 120.0) {
        snprintf(text, size, "%.0f s", s);
    } else if (s < 7200.0) {
        snprintf(text, size, "%.0f min", s / 60.0);
    } else {
        snprintf(text, size, "%.1f h", s / 3600.0);
    }
}

/// What a fuse (NULL: there is none) and a wire make of a short, in words.
static void tell_short(OwElectricFault *f, const char *fuse, double fuse_a) {
    char opens[40] = "may never open", harmed[64] = "the wire stands it";
    if (!isinf(f->opens_s)) {
        char time[24];
        text_time(f->opens_s, time, sizeof time);
        snprintf(opens, sizeof opens, "opens within %s", time);
    }
    if (!isinf(f->wire_harm_s)) {
        char time[24];
        text_time(f->wire_harm_s, time, sizeof time);
        snprintf(harmed, sizeof harmed, "the wire %s harmed after %s",
                 f->harm == OW_HARM_BURNS ? "is" : "would be", time);
    }
    if (!fuse) {
        snprintf(f->text, sizeof f->text, "%.0f A: no fuse; %s, the battery runs flat through it",
                 f->current_a, harmed);
        return;
    }
    snprintf(f->text, sizeof f->text, "%.0f A: %s (%.3g A) %s; %s%s", f->current_a, fuse, fuse_a, opens,
             harmed, isinf(f->opens_s) ? ", the battery runs flat through it" : "");
}

/// A short to the body at one place of a circuit: at the load (0), half way (1), just behind the fuse (2).
static bool short_fault(const OwPower *power, int circuit, int where, double soak_k, OwElectricFault *f) {
    const OwCircuitSpec *c = &power->spec.circuits[circuit];
    OwPowerInput in = rest_input(power, soak_k);
    in.is_on[circuit] = true;
    OwTrial t = {0};
    OwBranch to_body = {.law = OW_BRANCH_RESISTANCE, .resistance_ohm = SHORT_OHM, .tag = 0};
    bool ok = build(&t, power, &in, &to_body);
    if (ok) {
        OwBranch *feed = tagged(&t, OW_TAG_CIRCUIT + 4 * circuit + 1);
        OwBranch *fuse = tagged(&t, OW_TAG_CIRCUIT + 4 * circuit);
        OwBranch *extra = &t.branches[t.branch_count - 1];
        extra->from = where == 2 ? feed->from : feed->to;
        extra->to = 3;    // body
        if (where == 1) { // half the wire to the short; what is beyond it hardly matters
            feed->resistance_ohm *= 0.5;
        }
        ok = solve(&t);
        f->current_a = fabs(fuse->current_a);
    }
    ow_arena_destroy(&t.arena);
    if (!ok) {
        return false;
    }
    const OwWirePlace place = ow_power_place(&power->spec, c->place);
    const double start = ow_wire_steady_k(c->area_m2, power->sizing[circuit].running_a, &place);
    f->kind = where == 0 ? OW_ELECTRIC_SHORT_LOAD
                         : (where == 1 ? OW_ELECTRIC_SHORT_MIDDLE : OW_ELECTRIC_SHORT_BOARD);
    f->circuit = circuit;
    f->opens_s = c->has_no_fuse ? INFINITY : ow_fuse_most_s(ow_fuse_type(c->fuse_a), c->fuse_a, f->current_a);
    f->wire_harm_s = ow_wire_time_to(c->area_m2, f->current_a, start,
                                     ow_wire_overload_k(power->spec.insulation_k), &place);
    f->drain_s = INFINITY;
    f->harm = f->wire_harm_s <= f->opens_s && !isinf(f->wire_harm_s)
                  ? OW_HARM_BURNS
                  : (isinf(f->opens_s) ? OW_HARM_DRAINS : OW_HARM_OPENS);
    char fuse[24];
    snprintf(fuse, sizeof fuse, "fuse F%d", circuit + 1);
    tell_short(f, c->has_no_fuse ? NULL : fuse, c->fuse_a);
    return true;
}

static bool main_short(const OwPower *power, double soak_k, OwElectricFault *f) {
    const OwElectricSpec *s = &power->spec;
    OwPowerInput in = ow_power_input(power, soak_k);
    OwTrial t = {0};
    const OwBranch to_body = {.law = OW_BRANCH_RESISTANCE, .from = 2, .to = 3, .resistance_ohm = SHORT_OHM};
    bool ok = build(&t, power, &in, &to_body) && solve(&t);
    if (ok) {
        f->current_a = fabs(tagged(&t, OW_TAG_MAIN)->current_a);
    }
    ow_arena_destroy(&t.arena);
    if (!ok) {
        return false;
    }
    const OwWirePlace place = ow_power_place(s, s->battery.place);
    f->kind = OW_ELECTRIC_SHORT_MAIN;
    f->circuit = -1;
    const OwFuseType type = ow_power_main_fuse(s);
    f->opens_s = s->main.has_no_fuse ? INFINITY : ow_fuse_most_s(type, s->main.fuse_a, f->current_a);
    f->wire_harm_s = ow_wire_time_to(s->main.area_m2, f->current_a,
                                     ow_wire_steady_k(s->main.area_m2, power->main_sizing.running_a, &place),
                                     ow_wire_overload_k(s->insulation_k), &place);
    f->drain_s = INFINITY;
    f->harm = f->wire_harm_s <= f->opens_s && !isinf(f->wire_harm_s) ? OW_HARM_BURNS : OW_HARM_STRANDS;
    tell_short(f, s->main.has_no_fuse ? NULL : "the main fuse", s->main.fuse_a);
    const size_t used = strlen(f->text);
    snprintf(f->text + used, sizeof f->text - used, "; everything on the board is dead%s",
             !s->main.has_no_fuse && f->current_a > 1000.0 && (type == OW_FUSE_BLADE || type == OW_FUSE_MAXI)
                 ? "; more than an ISO 8820-3 fuse may break (1000 A)"
                 : "");
    return true;
}

/// The load's own earth is off: it stops, unless current finds another way home.
static bool broken_earth(const OwPower *power, int circuit, double soak_k, OwElectricFault *f) {
    OwPowerInput in = rest_input(power, soak_k);
    in.is_on[circuit] = true;
    OwTrial t = {0};
    bool ok = build(&t, power, &in, NULL);
    if (ok) {
        tagged(&t, OW_TAG_CIRCUIT + 4 * circuit + 3)->is_open = true;
        ok = solve(&t);
        f->current_a = fabs(tagged(&t, OW_TAG_CIRCUIT + 4 * circuit + 2)->current_a);
    }
    ow_arena_destroy(&t.arena);
    if (!ok) {
        return false;
    }
    const OwCircuitSpec *c = &power->spec.circuits[circuit];
    f->kind = OW_ELECTRIC_BROKEN_EARTH;
    f->circuit = circuit;
    f->opens_s = f->wire_harm_s = f->drain_s = INFINITY;
    const bool needs = c->load == OW_LOAD_PUMP || c->load == OW_LOAD_VALVE || c->load == OW_LOAD_STARTER;
    f->harm = needs ? OW_HARM_STRANDS : OW_HARM_NONE;
    snprintf(f->text, sizeof f->text,
             "the load stands still with %.1f V on both its terminals; nothing opens, nothing gets hot",
             power->spec.system_v);
    return true;
}

/// The strap between battery and body is off: all body-earthed loads look for another way, over the engine
/// where it touches.
static bool broken_body_earth(const OwPower *power, double soak_k, OwElectricFault *f) {
    const OwPowerInput in = rest_input(power, soak_k);
    OwTrial t = {0};
    double total = 0.0;
    // Body and engine hang together by bonnet hinges, cables and rods: taken as 50 mohm (assumed).
    const OwBranch stray = {.law = OW_BRANCH_RESISTANCE, .from = 3, .to = 4, .resistance_ohm = 0.05};
    bool ok = build(&t, power, &in, &stray);
    if (ok) {
        tagged(&t, OW_TAG_BODY_EARTH)->is_open = true;
        ok = solve(&t);
        total = fabs(t.branches[t.branch_count - 1].current_a);
    }
    ow_arena_destroy(&t.arena);
    if (!ok) {
        return false;
    }
    f->kind = OW_ELECTRIC_BROKEN_BODY_EARTH;
    f->circuit = -1;
    f->current_a = total;
    f->heat_w = total * total * 0.05;
    f->opens_s = f->wire_harm_s = f->drain_s = INFINITY;
    f->harm = f->heat_w > HOT_JOINT_W ? OW_HARM_BURNS : OW_HARM_STRANDS;
    snprintf(f->text, sizeof f->text,
             "the loads' %.0f A go home by control cables, hinges and rods (50 mohm assumed): %.0f W there; "
             "no fuse opens",
             total, f->heat_w);
    return true;
}

static bool bad_joint(const OwPower *power, int circuit, double soak_k, OwElectricFault *f) {
    OwPowerInput in = rest_input(power, soak_k);
    in.is_on[circuit] = true;
    OwTrial t = {0};
    bool ok = build(&t, power, &in, NULL);
    double load_v = 0.0;
    if (ok) {
        tagged(&t, OW_TAG_CIRCUIT + 4 * circuit + 1)->resistance_ohm += BAD_JOINT_OHM;
        ok = solve(&t);
        const OwBranch *load = tagged(&t, OW_TAG_CIRCUIT + 4 * circuit + 2);
        f->current_a = fabs(load->current_a);
        load_v = t.nodes[load->from].volt_v - t.nodes[load->to].volt_v;
    }
    ow_arena_destroy(&t.arena);
    if (!ok) {
        return false;
    }
    f->kind = OW_ELECTRIC_BAD_JOINT;
    f->circuit = circuit;
    f->heat_w = f->current_a * f->current_a * BAD_JOINT_OHM;
    f->opens_s = f->wire_harm_s = f->drain_s = INFINITY;
    f->harm = f->heat_w > HOT_JOINT_W ? OW_HARM_BURNS : OW_HARM_NONE;
    snprintf(f->text, sizeof f->text,
             "0.1 ohm more: %.1f W in the joint, %.1f V left at the load; no fuse sees it", f->heat_w,
             load_v);
    return true;
}

/// A load that stays on with the engine off: how long until the battery is at its least charge, with the sag
/// followed.
static double drain_time(const OwPower *power, int circuit, double soak_k, double *current_a,
                         double *heat_w) {
    OwPowerInput in = ow_power_input(power, soak_k);
    in.is_on[circuit] = true;
    OwPowerWork work = {0};
    OwPowerResult r;
    double s = 0.0;
    *current_a = *heat_w = 0.0;
    for (int k = 0; k < 4000 && in.battery_charge > power->spec.battery.minimum_charge; k++) {
        if (ow_power_volts(power, &in, &work, &r) != OW_OK || !(r.charge_rate_1_s < 0.0)) {
            return INFINITY;
        }
        if (k == 0) {
            *current_a = r.load_a[circuit];
            *heat_w = r.load_a[circuit] * r.load_v[circuit];
        }
        const double step = -0.0025 / r.charge_rate_1_s;
        in.battery_charge += step * r.charge_rate_1_s;
        s += step;
    }
    return s;
}

static void stuck(const OwPower *power, int circuit, OwFaultKind kind, double soak_k, OwElectricFault *f) {
    const OwCircuitSpec *c = &power->spec.circuits[circuit];
    f->kind = kind;
    f->circuit = circuit;
    f->drain_s = drain_time(power, circuit, soak_k, &f->current_a, &f->heat_w);
    f->opens_s = f->wire_harm_s = INFINITY;
    char drains[24];
    text_time(f->drain_s, drains, sizeof drains);
    const bool heats = c->load == OW_LOAD_HEATER, is_guarded = ow_power_has_independent_protection(c);
    if (kind == OW_ELECTRIC_STUCK_THERMOSTAT) {
        f->harm = is_guarded ? OW_HARM_OPENS : OW_HARM_BURNS;
        f->drain_s = INFINITY;
        if (is_guarded) {
            snprintf(f->text, sizeof f->text,
                     "%.0f W go on as long as the key is on until the cut-out opens at %.0f degC", f->heat_w,
                     c->cutout_k - OW_ZERO_CELSIUS_K);
        } else {
            snprintf(f->text, sizeof f->text,
                     "%.0f W go on as long as the key is on: the fuse sees its ordinary current and nothing "
                     "stops the heater",
                     f->heat_w);
        }
        return;
    }
    // The button stands beside the key, fed from the battery: the key does not end it.
    const char *how = kind == OW_ELECTRIC_STUCK_RELAY ? "with the key out" : "with the key in or out";
    const bool timed = kind == OW_ELECTRIC_STUCK_HOLD && c->hold_s > 0.0;
    if (timed) {
        f->harm = OW_HARM_NONE;
        f->drain_s = INFINITY;
        snprintf(f->text, sizeof f->text, "the timer ends it after %.0f s", c->hold_s);
    } else {
        f->harm = heats && !is_guarded && !c->has_thermostat ? OW_HARM_BURNS : OW_HARM_DRAINS;
        snprintf(f->text, sizeof f->text, "%.0f A %s: the battery is at %.0f %% in %s%s", f->current_a, how,
                 100.0 * power->spec.battery.minimum_charge, drains,
                 heats && c->cutout_k > 0.0 ? ", unless the cut-out opens first"
                                            : (kind == OW_ELECTRIC_STUCK_HOLD && c->load == OW_LOAD_GLOW
                                                   ? "; the glow plugs wear out"
                                                   : ""));
    }
}

int ow_power_faults(const OwPower *power, double soak_k, OwElectricFault *faults, int size) {
    int count = 0;
    bool ok = true;
    OwElectricFault f;
#define OW_KEEP(call)                                                                                        \
    do {                                                                                                     \
        memset(&f, 0, sizeof f);                                                                             \
        ok = (call) && ok;                                                                                   \
        if (count < size) {                                                                                  \
            faults[count] = f;                                                                               \
        }                                                                                                    \
        count++;                                                                                             \
    } while (0)
    OW_KEEP(main_short(power, soak_k, &f));
    OW_KEEP(broken_body_earth(power, soak_k, &f));
    for (int i = 0; i < power->spec.circuit_count; i++) {
        const OwCircuitSpec *c = &power->spec.circuits[i];
        if (c->load == OW_LOAD_STARTER) {
            continue;
        }
        for (int where = 0; where < 3; where++) {
            OW_KEEP(short_fault(power, i, where, soak_k, &f));
        }
        OW_KEEP(broken_earth(power, i, soak_k, &f));
        OW_KEEP(bad_joint(power, i, soak_k, &f));
        if (c->has_relay) {
            OW_KEEP((stuck(power, i, OW_ELECTRIC_STUCK_RELAY, soak_k, &f), true));
        }
        if (c->has_thermostat) {
            OW_KEEP((stuck(power, i, OW_ELECTRIC_STUCK_THERMOSTAT, soak_k, &f), true));
        }
        if (c->has_hold) {
            OW_KEEP((stuck(power, i, OW_ELECTRIC_STUCK_HOLD, soak_k, &f), true));
        }
    }
#undef OW_KEEP
    return ok ? count : -1;
}
