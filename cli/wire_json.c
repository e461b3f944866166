// SPDX-License-Identifier: GPL-3.0-or-later
// The schedule as JSON and the wires as comma-separated values. Keys name their units; temperatures in JSON
// are kelvin.
#include <jansson.h>
#include <math.h>
#include <string.h>

#include "wire_cli.h"

/// A number, null when it is not finite ("never").
static json_t *number(double x) {
    return isfinite(x) ? json_real(x) : json_null();
}

static json_t *wires(const OwWireAnswer *a) {
    json_t *list = json_array();
    for (int i = 0; i < a->schedule->wire_count; i++) {
        const OwWireRow *w = &a->schedule->wires[i];
        json_array_append_new(
            list, json_pack("{ss, ss, ss, ss, ss, so, si, so, so, so, so, so, sb, sb, ss}", "number",
                            w->number, "circuit", w->circuit_name, "from", w->from, "to", w->to, "colour",
                            w->colour, "area_m2", number(w->area_m2), "awg", ow_wire_awg_near(w->area_m2),
                            "length_m", number(w->length_m), "current_a", number(w->current_a), "drop_v",
                            number(w->drop_v), "conductor_k", number(w->conductor_k), "fuse_a",
                            w->fuse_a > 0.0 ? number(w->fuse_a) : json_null(), "is_control", w->is_control,
                            "is_earth", w->is_earth, "reason", w->reason));
    }
    return list;
}

static json_t *circuits(const OwWireAnswer *a) {
    json_t *list = json_array();
    const OwElectricSpec *spec = ow_power_spec(a->power);
    for (int i = 0; i < a->schedule->line_count; i++) {
        const OwScheduleLine *l = &a->schedule->lines[i];
        const OwCircuitSpec *c = &spec->circuits[l->circuit];
        json_t *o = json_pack(
            "{ss, ss, ss, so, so, so, so, so, so, so, so, so, ss}", "name", c->name, "load",
            ow_load_name(c->load), "terminal", ow_feed_terminal(c->feed), "running_a", number(l->running_a),
            "first_a", number(l->first_a), "drop_v", number(l->drop_v), "drop_share", number(l->drop_share),
            "load_v", number(l->load_v), "fuse_a", l->fuse_a > 0.0 ? number(l->fuse_a) : json_null(),
            "relay_a", l->relay_a > 0.0 ? number(l->relay_a) : json_null(), "short_far_a",
            number(l->short_far_a), "opens_far_s", number(l->opens_far_s), "fuse_reason", l->fuse_reason);
        json_t *checks = json_pack("{sb, sb, sb, sb, sb, sb, sb, sb}", "fuse_guards", l->fuse_guards,
                                   "fuse_stands", l->fuse_stands, "relay", l->relay_ok, "switch",
                                   l->switch_ok, "drop", l->drop_ok, "heat", l->heat_ok, "volts", l->volts_ok,
                                   "independent_protection", l->has_independent_protection);
        json_object_set_new(o, "checks", checks);
        json_array_append_new(list, o);
    }
    return list;
}

static json_t *parts(const OwWireAnswer *a) {
    json_t *list = json_array();
    for (int i = 0; i < a->schedule->part_count; i++) {
        const OwPartCount *p = &a->schedule->parts[i];
        json_array_append_new(list, json_pack("{ss, so, ss}", "item", p->item, "quantity",
                                              number(p->quantity), "unit", p->unit));
    }
    return list;
}

/// The values of the electrics section that would put a finding right, as paths and texts of the file; null
/// when it takes a person.
static json_t *mend(const OwWireAnswer *a, size_t fault) {
    json_t *list = json_null();
    for (int i = 0; i < a->schedule->mend_count; i++) {
        const OwWireMend *m = &a->schedule->mends[i];
        if (m->fault != fault) {
            continue;
        }
        char path[80], value[40];
        if (m->entry >= 0) {
            (void)snprintf(path, sizeof path, "circuits/%d/%s", m->entry, m->key);
        } else {
            (void)snprintf(path, sizeof path, "%s", m->key);
        }
        if (m->quantity == OW_Q_AREA) {
            ow_wire_text(m->value, a->display == OW_DISPLAY_US, value, sizeof value);
        } else {
            (void)snprintf(value, sizeof value, m->quantity == OW_Q_CURRENT ? "%.4g A" : "%.4g", m->value);
        }
        if (json_is_null(list)) {
            list = json_array();
        }
        json_array_append_new(list, json_pack("{ss, ss}", "path", path, "value", value));
    }
    return list;
}

static json_t *findings(const OwWireAnswer *a) {
    json_t *list = json_array();
    for (size_t i = 0; i < a->faults->count; i++) {
        const OwFault *f = &a->faults->items[i];
        json_array_append_new(list, json_pack("{ss, si, si, ss, ss, so}", "part", f->part, "line", f->line,
                                              "column", f->column, "message", f->message, "remedy", f->remedy,
                                              "mend", mend(a, i)));
    }
    return list;
}

static json_t *electric(const OwWireAnswer *a) {
    json_t *list = json_array();
    for (int i = 0; i < a->electric_count; i++) {
        const OwElectricFault *e = &a->electric[i];
        json_array_append_new(
            list, json_pack("{ss, so, ss, so, so, so, so, so, ss}", "fault", ow_electric_fault_name(e->kind),
                            "circuit",
                            e->circuit < 0 ? json_null()
                                           : json_string(ow_power_spec(a->power)->circuits[e->circuit].name),
                            "harm", ow_harm_name(e->harm), "current_a", number(e->current_a), "opens_s",
                            number(e->opens_s), "wire_harm_s", number(e->wire_harm_s), "drain_s",
                            number(e->drain_s), "heat_w", number(e->heat_w), "text", e->text));
    }
    return list;
}

OwStatus ow_wire_json_write(FILE *file, const OwWireAnswer *a) {
    const OwSchedule *s = a->schedule;
    const OwElectricSpec *spec = ow_power_spec(a->power);
    json_t *root =
        json_pack("{ss, si, ss, so, sb, sb, sb, so}", "format", "oilwright-wire", "format_version", 1,
                  "title", a->title, "system_v", number(spec->system_v), "circuits_derived", spec->is_derived,
                  "good", ow_wire_is_good(a), "cables_ok", s->cables_ok, "soak_k", number(a->soak_k));
    if (!root) {
        return OW_ERROR_MEMORY;
    }
    json_object_set_new(root, "cautions", json_pack("[s]", OW_WIRE_CAUTION));
    json_object_set_new(root, "circuits", circuits(a));
    // Which short each number is of: the slowest to open its fuse, or that of the morning.
    const OwPowerInput in = ow_power_input(a->power, a->soak_k);
    json_object_set_new(root, "short_cases",
                        json_pack("{ss, s{ss, so, so, sb}}", "circuits_short_far",
                                  "weakest: at the load, battery at 263.15 K and half full, no alternator",
                                  "faults", "text", "battery as it stands that morning, engine still, 1 mohm",
                                  "battery_charge", number(in.battery_charge), "battery_k",
                                  number(in.battery_k), "alternator", 0));
    json_object_set_new(root, "wires", wires(a));
    json_object_set_new(root, "parts", parts(a));
    json_object_set_new(root, "to_put_right", findings(a));
    json_object_set_new(root, "balance",
                        json_pack("{so, so, so, so, so, so, so, so, so}", "idle_rad_s", number(s->idle_rad_s),
                                  "preheat_a", number(s->preheat_a), "preheat_c_per_min",
                                  number(s->preheat_c_min), "crank_v_now", number(s->crank_v_now),
                                  "crank_v_after_10_min", number(s->crank_v_after),
                                  "crank_v_after_10_min_one_more_battery", number(s->parallel_crank_v_after),
                                  "idle_alternator_a", number(s->idle_limit_a), "idle_loads_a",
                                  number(s->idle_load_a), "idle_battery_a", number(s->idle_balance_a)));
    if (a->electric) {
        json_object_set_new(root, "faults", electric(a));
    }
    const int failed = json_dumpf(root, file, JSON_INDENT(2) | JSON_REAL_PRECISION(7));
    json_decref(root);
    if (failed == 0) {
        fputc('\n', file);
    }
    return ferror(file) ? OW_ERROR_WRITE : (failed == 0 ? OW_OK : OW_ERROR_MEMORY);
}

static void cell(FILE *f, const char *text, bool last) {
    if (strpbrk(text, ",\"\r\n")) {
        fputc('"', f);
        for (const char *c = text; *c; c++) {
            fputs(*c == '"' ? "\"\"" : "", f);
            if (*c != '"') {
                fputc(*c, f);
            }
        }
        fputc('"', f);
    } else {
        fputs(text, f);
    }
    fputs(last ? "\r\n" : ",", f);
}

bool ow_wire_csv_write(FILE *f, const OwWireAnswer *a) {
    const bool us = a->display == OW_DISPLAY_US;
    fprintf(f,
            "number,circuit,from,to,colour,section (mm2),AWG,length (%s),current (A),drop (V),conductor "
            "(%s),fuse (A),reason\r\n",
            us ? "ft" : "m", us ? "degF" : "degC");
    for (int i = 0; i < a->schedule->wire_count; i++) {
        const OwWireRow *w = &a->schedule->wires[i];
        char awg[24];
        cell(f, w->number, false);
        cell(f, w->circuit_name, false);
        cell(f, w->from, false);
        cell(f, w->to, false);
        cell(f, w->colour, false);
        ow_wire_text(w->area_m2, true, awg, sizeof awg);
        const double celsius = w->conductor_k - OW_ZERO_CELSIUS_K;
        fprintf(f, "%.4g,%s,%.3f,%.4g,%.4g,%.1f,", w->area_m2 * 1e6, awg + 4,
                us ? w->length_m / 0.3048 : w->length_m, w->current_a, w->drop_v,
                us ? 1.8 * celsius + 32.0 : celsius);
        if (w->fuse_a > 0.0) {
            fprintf(f, "%.4g", w->fuse_a);
        }
        fputc(',', f);
        cell(f, w->reason, true);
    }
    return ferror(f) == 0;
}
