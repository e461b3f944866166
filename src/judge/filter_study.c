// SPDX-License-Identifier: GPL-3.0-or-later
// Distance of each filter: the rig's own morning with ever more resistance in it, until a limit breaks.
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "judge/variant.h"
#include "judge/work.h"
#include "oilwright/filter_life.h"

#define DIN_51605_SOLIDS 24e-6 // kg/kg, total contamination
#define SERVED 0.98
/// Of what passes a filter, while this share passes another too that other stands beside it; what overlaps
/// for the half second of a change-over valve's travel does not. Assumed.
#define BESIDE 0.05
#define MOST_TOLD_M 2e8 // further than this no one drives on one filter: age decides
#define SETTLE_S 5.0
#define SAMPLES 400
#define HALVINGS 9
#define CASE_RUNS (2 + HALVINGS)        // mornings of a case at most
#define FILTER_RUNS (1 + 4 * CASE_RUNS) // of a filter

OwFilterSettings ow_filter_default(void) {
    return (OwFilterSettings){.end_pa = 70e3, .wax_caught = 0.2};
}

const char *ow_filter_binds_text(OwFilterBinds binds) {
    static const char *const names[] = {"nothing",           "fails when new", "start",
                                        "fuel on the drive", "full load",      "suction floor"};
    return (unsigned)binds < OW_BINDS_COUNT ? names[binds] : "unknown";
}

typedef struct OwFilterWork {
    const OwRig *rig;
    OwFilterSettings settings;
    OwFilterStudy *study;
    OwFaults *faults;
    bool is_beside[256];   ///< filters in parallel with the one that is loaded
    double passed_m3[256]; ///< through every part while that one carries fuel too
    double shared_m3[256]; ///< of that, no more than passes that one at the same moment
    int runs, most_runs;   ///< mornings done or no longer needed, and how many there may be
} OwFilterWork;

/// `runs` of the mornings are behind. False: the study is to end.
static bool goes_on(OwFilterWork *w, int runs) {
    w->runs = runs < w->most_runs ? runs : w->most_runs;
    return w->settings.progress == NULL ||
           w->settings.progress(w->settings.context, (double)w->runs / w->most_runs);
}

// ---- one run
// --------------------------------------------------------------------------------------------------------

typedef struct OwFilterRun {
    OwFilterBinds binds;
    double wax_kg, most_m3_s, driven_m,
        burned_m3; ///< most: its largest flow; burned: of the fluid that it filters
    bool is_used;  ///< the filter carries fuel in this run
} OwFilterRun;

/// Crystals that come with the oil while the filter is colder than the cloud point; they melt when it has
/// warmed.
static double wax_on(const OwRecord *record, int part, double caught) {
    double kg = 0.0, most = 0.0;
    for (int i = 0; i + 1 < record->sample_count; i++) {
        const OwPartSample *s = &record->parts[(size_t)i * (size_t)record->part_count + (size_t)part];
        const double span_s = record->samples[i + 1].time_s - record->samples[i].time_s;
        const bool is_second = record->rig->fluid_count > 1 && s->share > 0.5;
        const OwFluid *oil = ow_plan_fluid(record->plan, is_second ? 1 : 0);
        const double inside = ow_curve_value(&oil->wax_share, s->out_k);
        if (inside <= 0.0 && s->out_k > oil->cloud_point_k) {
            kg = 0.0; // what it held is gone
        } else {
            kg +=
                fabs(s->flow_m3_s) * ow_curve_value(&oil->density_kg_m3, s->in_k) * inside * caught * span_s;
        }
        most = fmax(most, kg);
    }
    return most;
}

/// Which limit breaks first in a run.
static OwFilterBinds broken(const OwRecord *record) {
    const OwLimits *limits = &record->rig->limits;
    if (!record->has_started) {
        return OW_BINDS_START;
    }
    for (int i = 0; i < record->sample_count; i++) {
        const OwSample *s = &record->samples[i];
        const double since_s = s->time_s - record->start_s;
        if (s->engine != OW_ENGINE_RUNNING || since_s < SETTLE_S) {
            continue;
        }
        if (s->fuel_request_m3_s > 0.0 && s->fuel_burned_m3_s < SERVED * s->fuel_request_m3_s) {
            return OW_BINDS_FUEL;
        }
        if (limits->suction_floor_pa < 0.0 && s->lowest_pa < limits->suction_floor_pa) {
            return OW_BINDS_SUCTION;
        }
        if (since_s > limits->warm_up_s && s->full_request_m3_s > 0.0 &&
            s->full_burned_m3_s < SERVED * s->full_request_m3_s) {
            return OW_BINDS_FULL_LOAD;
        }
    }
    return OW_BINDS_NOTHING;
}

static void measure(const OwRecord *record, int part, OwFilterRun *run, OwFilterWork *w) {
    double most = 0.0, burned[2] = {0.0, 0.0}, all = 0.0;
    int fluid = 0;
    memset(w->passed_m3, 0, sizeof w->passed_m3);
    memset(w->shared_m3, 0, sizeof w->shared_m3);
    for (int i = 0; i < record->sample_count; i++) {
        const OwSample *s = &record->samples[i];
        const OwPartSample *parts = &record->parts[(size_t)i * (size_t)record->part_count];
        if (i + 1 < record->sample_count) {
            const double span_s = record->samples[i + 1].time_s - s->time_s;
            run->driven_m += s->speed_m_s * span_s;
            burned[0] += s->fuel_burned_m3_s * (1.0 - s->inlet_share) * span_s;
            burned[1] += s->fuel_burned_m3_s * s->inlet_share * span_s;
            all += s->fuel_burned_m3_s * span_s;
            const double own = fabs(parts[part].flow_m3_s);
            for (int p = 0; own > 1e-9 && p < record->part_count && p < 256; p++) {
                w->passed_m3[p] += fabs(parts[p].flow_m3_s) * span_s;
                w->shared_m3[p] += fmin(fabs(parts[p].flow_m3_s), own) * span_s;
            }
        }
        if (s->is_key_on && fabs(parts[part].flow_m3_s) > most) {
            most = fabs(parts[part].flow_m3_s);
            fluid = record->rig->fluid_count > 1 && parts[part].share > 0.5 ? 1 : 0;
        }
    }
    run->is_used = most > 1e-9;
    run->most_m3_s = most;
    run->burned_m3 = record->audit.burned_m3 * (all > 0.0 ? burned[fluid] / all : 1.0);
}

static OwStatus run_at(OwFilterWork *w, int part, double ratio, bool has_pump, bool has_heat,
                       OwFilterRun *run) {
    *run = (OwFilterRun){0};
    OwVariant *variant = NULL;
    OwStatus status = ow_variant_create(w->rig, &variant);
    if (status != OW_OK) {
        return status;
    }
    for (int p = 0; p < w->rig->part_count; p++) {
        if (p == part || (p < 256 && w->is_beside[p])) { // the freer of two takes more flow: they load alike
            variant->rig.parts[p].as.filter.loading = fmin(1.0 - 1.0 / ratio, 0.999);
        }
    }
    for (int p = 0; !has_pump && p < w->rig->part_count; p++) {
        if (w->rig->parts[p].kind == OW_PART_ELECTRIC_PUMP) {
            // No volts reach it, whatever switches it, and no circuit is derived for it.
            variant->rig.parts[p].as.electric_pump.rated_v = 1e9;
            variant->rig.parts[p].as.electric_pump.current_a = 0.0;
        }
    }
    if (!has_heat) {
        ow_variant_kill_heat(variant, part);
    }
    OwPlan *plan = NULL;
    OwRecord *record = NULL;
    status = ow_variant_run(&variant->rig, 0.0, w->settings.soak_k, SAMPLES, &plan, &record, w->faults);
    if (status == OW_OK) {
        run->binds = broken(record);
        run->wax_kg = wax_on(record, part, w->settings.wax_caught);
        measure(record, part, run, w);
        status = goes_on(w, w->runs + 1) ? OW_OK : OW_ERROR_USE;
    }
    ow_record_destroy(&record);
    ow_plan_destroy(&plan);
    ow_variant_destroy(&variant);
    return status;
}

// ---- one filter
// -----------------------------------------------------------------------------------------------------

/// Filters and screens that the fuel passes before a part, their finest rating; against the flow through the
/// joints.
static void upstream(const OwRig *rig, int part, int *stage, double *finest_m) {
    bool seen[256] = {false};
    int stack[256], depth = 0;
    stack[depth++] = part;
    *stage = 0;
    *finest_m = INFINITY;
    while (depth > 0) {
        const int at = stack[--depth];
        if (at >= 256 || seen[at]) {
            continue;
        }
        seen[at] = true;
        const OwPart *p = &rig->parts[at];
        if (at != part && (p->kind == OW_PART_FILTER || p->kind == OW_PART_SCREEN)) {
            (*stage)++;
            *finest_m =
                fmin(*finest_m, p->kind == OW_PART_FILTER ? p->as.filter.rating_m : p->as.screen.rating_m);
        }
        if (p->kind == OW_PART_TANK || p->kind == OW_PART_INJECTION_PUMP) {
            continue;
        }
        for (int j = 0; j < rig->joint_count && depth < 255; j++) {
            const OwJoint *joint = &rig->joints[j];
            // Inlets are port 0; a valve or tee may be fed by any but where we came from, which `seen` sees
            // to.
            const bool is_node = p->kind == OW_PART_VALVE || p->kind == OW_PART_TEE;
            if (joint->part_b == at && (joint->port_b == 0 || is_node) && joint->port_a != 0) {
                stack[depth++] = joint->part_a;
            } else if (joint->part_a == at && (joint->port_a == 0 || is_node) && joint->port_b != 0) {
                stack[depth++] = joint->part_b;
            } else if (joint->part_b == at && joint->port_b == 0 &&
                       rig->parts[joint->part_a].kind == OW_PART_TANK) {
                stack[depth++] = joint->part_a;
            }
        }
    }
}

static OwStatus reckon_case(OwFilterWork *w, OwFilterLife *life, OwFilterCase *c) {
    const OwFilter *filter = &w->rig->parts[life->part].as.filter;
    OwFilterRun run;
    OwStatus status = run_at(w, life->part, 1.0, c->has_pump, c->has_heat, &run);
    if (status != OW_OK) {
        return status;
    }
    c->wax_kg = run.wax_kg;
    c->ratio = 1.0;
    if (run.binds != OW_BINDS_NOTHING) {
        c->binds = OW_BINDS_CLEAN;
        return OW_OK;
    }
    // No further than the stated capacity: what a filter does beyond it no one has said.
    double low = 0.0, high = log(life->end_ratio);
    status = run_at(w, life->part, life->end_ratio, c->has_pump, c->has_heat, &run);
    if (status == OW_OK && run.binds == OW_BINDS_NOTHING) {
        low = high;
    }
    c->binds = run.binds;
    for (int i = 0; i < HALVINGS && low < high && status == OW_OK; i++) {
        const double middle = 0.5 * (low + high);
        status = run_at(w, life->part, exp(middle), c->has_pump, c->has_heat, &run);
        if (run.binds == OW_BINDS_NOTHING) {
            low = middle;
        } else {
            high = middle;
            c->binds = run.binds;
        }
    }
    if (status != OW_OK) {
        return status;
    }
    c->ratio = exp(low);
    const double dirt_kg_m3 = w->study->solids_kg_kg * 910.0 * life->caught_share;
    const double per_metre = w->study->driven_m > 1.0 ? life->burned_m3 / w->study->driven_m : 0.0;
    for (int law = 0; law < OW_FILTER_LAWS; law++) {
        const double share = ow_filter_share((OwFilterLaw)law, c->ratio, life->end_ratio);
        c->share[law] = fmax(share - c->wax_kg / filter->dirt_capacity_kg, 0.0);
        // All dirt of the burned oil ends in its filters, however often the rest goes round; parallel ones
        // share it.
        const double kg_m3 = dirt_kg_m3 * life->flow_share;
        c->litres_m3[law] = kg_m3 > 0.0 ? c->share[law] * filter->dirt_capacity_kg / kg_m3 : 0.0;
        c->distance_m[law] = per_metre > 0.0 ? c->litres_m3[law] / per_metre : 0.0;
    }
    return OW_OK;
}

/// Filters of the same stage that carry fuel at the same moment; the share of the flow that this one takes.
static void find_beside(OwFilterWork *w, int part, OwFilterLife *life) {
    const double own = part < 256 ? w->passed_m3[part] : 0.0;
    double all = own;
    for (int p = 0; p < w->rig->part_count && p < 256; p++) {
        int stage = -1;
        double finest = INFINITY;
        if (p != part && w->rig->parts[p].kind == OW_PART_FILTER && w->shared_m3[p] > BESIDE * own) {
            upstream(w->rig, p, &stage, &finest);
            w->is_beside[p] = stage == life->stage;
            all += w->is_beside[p] ? w->passed_m3[p] : 0.0;
        }
    }
    life->flow_share = all > 0.0 ? own / all : 1.0;
}

static OwStatus reckon(OwFilterWork *w, int part) {
    OwFilterStudy *s = w->study;
    const OwFilter *filter = &w->rig->parts[part].as.filter;
    OwFilterLife *life = &s->filters[s->filter_count];
    *life = (OwFilterLife){.part = part};
    OwFilterRun run;
    memset(w->is_beside, 0, sizeof w->is_beside);
    OwStatus status = run_at(w, part, 1.0, true, true, &run);
    if (status != OW_OK || !run.is_used) {
        return status; // on no way of this drive: nothing to say
    }
    s->filter_count++;
    s->driven_m = run.driven_m;
    life->burned_m3 = run.burned_m3;
    double finest = INFINITY;
    upstream(w->rig, part, &life->stage, &finest);
    find_beside(w, part, life);
    const double comes = isfinite(finest) ? 1.0 - ow_filter_coarser(finest) : 1.0;
    const double passes = 1.0 - ow_filter_coarser(filter->rating_m);
    life->caught_share = fmax(comes - passes, 0.0);
    life->end_ratio = fmax(w->settings.end_pa / filter->clean_pa, 2.0);
    bool has_pump = false, has_heat = filter->elements.count > 0;
    for (int p = 0; p < w->rig->part_count; p++) {
        const OwPart *other = &w->rig->parts[p];
        has_pump |= other->kind == OW_PART_ELECTRIC_PUMP;
        has_heat |=
            other->kind == OW_PART_COOLANT_COIL && other->as.coil.is_fitted && other->as.coil.warms == part;
    }
    for (int k = 0; k < 4 && status == OW_OK; k++) {
        const bool pump = (k & 1) == 0, heat = (k & 2) == 0;
        const int runs = w->runs;
        if ((!pump && !has_pump) || (!heat && !has_heat)) {
            continue;
        }
        OwFilterCase *c = &life->cases[life->case_count++];
        *c = (OwFilterCase){.has_pump = pump && has_pump, .has_heat = heat && has_heat};
        status = reckon_case(w, life, c);
        w->runs = runs + CASE_RUNS;
    }
    return status;
}

// ---- findings
// -------------------------------------------------------------------------------------------------------

typedef struct OwWords {
    char text[48];
} OwWords;

/// Distances in km or miles: the unit tables know metres and feet only.
static OwWords far(const OwFilterStudy *s, double metres) {
    OwWords w;
    const bool is_us = s->display == OW_DISPLAY_US;
    if (metres > MOST_TOLD_M) {
        snprintf(w.text, sizeof w.text, "over %s", is_us ? "120000 miles" : "200000 km");
        return w;
    }
    snprintf(w.text, sizeof w.text, "%.3g %s", metres / (is_us ? 1609.344 : 1000.0), is_us ? "miles" : "km");
    if (metres / (is_us ? 1609.344 : 1000.0) >= 1000.0) {
        const double rounded = metres / (is_us ? 1609.344 : 1000.0);
        snprintf(w.text, sizeof w.text, "%.0f %s", 100.0 * floor(rounded / 100.0 + 0.5),
                 is_us ? "miles" : "km");
    }
    return w;
}

/// "13200 km to 31600 km"; one distance where the laws agree or none would be driven.
static void between(const OwFilterStudy *s, double low, double high, char *text, size_t size) {
    const OwWords a = far(s, low), b = far(s, high);
    const bool is_one = strcmp(a.text, b.text) == 0;
    snprintf(text, size, "%s%s%s%s", a.text, is_one ? "" : " to ", is_one ? "" : b.text,
             low > MOST_TOLD_M ? " (change it by age)" : "");
}

static const char *case_text(const OwFilterCase *c, const OwFilterLife *life) {
    bool varies_heat = false, varies_pump = false;
    for (int i = 0; i < life->case_count; i++) {
        varies_heat |= life->cases[i].has_heat != life->cases[0].has_heat;
        varies_pump |= life->cases[i].has_pump != life->cases[0].has_pump;
    }
    static const char *const names[] = {"as built", "filter unheated", "pump off",
                                        "pump off, filter unheated"};
    const int k = (varies_heat && !c->has_heat ? 1 : 0) + (varies_pump && !c->has_pump ? 2 : 0);
    return names[k];
}

static void tell(OwFilterStudy *s, const OwFilterLife *life, const OwFilterCase *c) {
    if (s->finding_count >= OW_FILTER_FINDINGS) {
        return;
    }
    OwFinding *f = &s->findings[s->finding_count++];
    const OwPart *part = &s->rig->parts[life->part];
    *f = (OwFinding){.key = "filter_distance",
                     .label = case_text(c, life),
                     .trust = OW_TRUST_ASSUMED,
                     .basis = "blocking laws of Hermia 1982; dirt by size and end of capacity: assumed",
                     .quantity = OW_Q_LENGTH,
                     .part = life->part};
    if (c->binds == OW_BINDS_CLEAN) {
        f->grade = OW_GRADE_BAD;
        snprintf(f->text, sizeof f->text, "'%.36s', %s: a limit is broken with a new filter already.",
                 part->name, f->label);
        snprintf(f->mend, sizeof f->mend, "Mend the design first: its morning tells what stops it.");
        return;
    }
    double low = INFINITY, high = 0.0;
    for (int law = 0; law < OW_FILTER_LAWS; law++) {
        low = fmin(low, c->distance_m[law]);
        high = fmax(high, c->distance_m[law]);
    }
    if (life->caught_share < 1e-6) {
        ow_finding_tell(f, 0.0);
        snprintf(f->text, sizeof f->text,
                 "'%.36s', %s: what it could hold back stays in the filter before it.", part->name, f->label);
        return;
    }
    ow_finding_tell(f, low);
    OwWords wax = {""};
    if (c->wax_kg > 1e-5) {
        snprintf(wax.text, sizeof wax.text, ", %.2g g of wax on a cold start", 1e3 * c->wax_kg);
    }
    char span[112];
    between(s, low, high, span, sizeof span);
    snprintf(f->text, sizeof f->text, "'%.36s', %s: %s, until %s (%.3g times the clean resistance%s).",
             part->name, f->label, span,
             c->binds == OW_BINDS_NOTHING ? "its stated dirt capacity is used up"
                                          : ow_filter_binds_text(c->binds),
             c->ratio, wax.text);
    if (low < 1e6) {
        f->grade = OW_GRADE_TIGHT;
        snprintf(f->mend, sizeof f->mend,
                 "Cleaner oil (%.0f mg/kg now), a larger filter or a second one in parallel.",
                 1e6 * s->solids_kg_kg);
    }
}

static void headline(OwFilterStudy *s) {
    const OwFilterLife *life = NULL;
    for (int i = 0; i < s->filter_count; i++) {
        const OwFilterLife *l = &s->filters[i];
        if (l->caught_share > 1e-6 &&
            (life == NULL || l->cases[0].distance_m[0] < life->cases[0].distance_m[0])) {
            life = l;
        }
    }
    if (life == NULL) {
        snprintf(s->headline, sizeof s->headline,
                 "No filter carries fuel on this drive: its morning tells what stops it.");
        return;
    }
    const OwFilterCase *c = &life->cases[0];
    double low = INFINITY, high = 0.0;
    for (int law = 0; law < OW_FILTER_LAWS; law++) {
        low = fmin(low, c->distance_m[law]);
        high = fmax(high, c->distance_m[law]);
    }
    if (c->binds == OW_BINDS_CLEAN) {
        snprintf(s->headline, sizeof s->headline,
                 "'%.36s' is no question yet: the vehicle breaks a limit with it new.",
                 s->rig->parts[life->part].name);
        return;
    }
    char span[112];
    between(s, low, high, span, sizeof span);
    snprintf(s->headline, sizeof s->headline, "'%.36s' lasts %s on oil with %.0f mg/kg of dirt.",
             s->rig->parts[life->part].name, span, 1e6 * s->solids_kg_kg);
    for (int i = 1; i < life->case_count; i++) {
        const OwFilterCase *o = &life->cases[i];
        if (!o->has_pump && c->has_pump && o->has_heat == c->has_heat) {
            double without = INFINITY;
            for (int law = 0; law < OW_FILTER_LAWS; law++) {
                without = fmin(without, o->distance_m[law]);
            }
            if (o->binds != OW_BINDS_CLEAN && without > 0.95 * low) {
                continue; // the pump does nothing for this filter: a twentieth is no gain (assumed)
            }
            ow_judge_also(s->headline, sizeof s->headline, " Without the electric pump %s.",
                          o->binds == OW_BINDS_CLEAN ? "it fails when new" : far(s, without).text);
        }
    }
}

OwStatus ow_filter_create(const OwRig *rig, const OwFilterSettings *settings, OwDisplay display,
                          OwFilterStudy *study, OwFaults *faults) {
    if (rig == NULL || study == NULL) {
        return OW_ERROR_USE;
    }
    OwFilterWork work = {.rig = rig,
                         .settings = settings != NULL ? *settings : ow_filter_default(),
                         .study = study,
                         .faults = faults};
    *study = (OwFilterStudy){.rig = rig, .display = display};
    study->solids_trust = OW_TRUST_MEASURED;
    study->solids_kg_kg = work.settings.solids_kg_kg;
    for (int f = 0; f < rig->fluid_count && study->solids_kg_kg <= 0.0; f++) {
        study->solids_kg_kg = rig->fluid_spec[f].solids_share;
    }
    if (study->solids_kg_kg <= 0.0) {
        study->solids_kg_kg = DIN_51605_SOLIDS;
        study->solids_trust = OW_TRUST_ASSUMED;
    }
    int filters = 0;
    OwStatus status = OW_OK;
    for (int p = 0; p < rig->part_count; p++) {
        work.most_runs += rig->parts[p].kind == OW_PART_FILTER ? FILTER_RUNS : 0;
    }
    for (int p = 0; p < rig->part_count && status == OW_OK; p++) {
        if (rig->parts[p].kind == OW_PART_FILTER) {
            status = study->filter_count < OW_FILTER_MAX ? reckon(&work, p) : OW_OK;
            filters++;
            status = status == OW_OK && !goes_on(&work, filters * FILTER_RUNS) ? OW_ERROR_USE : status;
        }
    }
    if (status == OW_OK && filters == 0) {
        OwFault fault = {.status = OW_ERROR_VALUE, .severity = OW_FAULT_ERROR};
        snprintf(fault.file, sizeof fault.file, "%s", rig->file);
        snprintf(fault.message, sizeof fault.message, "the rig has no filter");
        if (faults != NULL) {
            (void)ow_faults_add(faults, &fault);
        }
        return OW_ERROR_VALUE;
    }
    for (int i = 0; i < study->filter_count && status == OW_OK; i++) {
        for (int k = 0; k < study->filters[i].case_count; k++) {
            tell(study, &study->filters[i], &study->filters[i].cases[k]);
        }
    }
    headline(study);
    return status;
}
