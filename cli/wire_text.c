// SPDX-License-Identifier: GPL-3.0-or-later
// The wire and fuse schedule as text for people, 100 columns at most, ASCII.
#include <math.h>
#include <string.h>

#include "wire_cli.h"

static bool is_line_good(const OwScheduleLine *l) {
    return l->fuse_guards && l->fuse_stands && l->relay_ok && l->switch_ok && l->drop_ok && l->heat_ok &&
           l->volts_ok && l->has_independent_protection;
}

bool ow_wire_is_good(const OwWireAnswer *answer) {
    const OwElectricSpec *spec = ow_power_spec(answer->power);
    bool good = answer->schedule->cables_ok;
    for (int i = 0; i < answer->schedule->line_count; i++) {
        const OwScheduleLine *l = &answer->schedule->lines[i];
        if (spec->circuits[l->circuit].load != OW_LOAD_STARTER) {
            good = good && is_line_good(l);
        }
    }
    return good && answer->schedule->crank_v_after >= spec->crank_minimum_v;
}

/// Copies with everything outside printable ASCII as '?', so that a name cannot move the cursor.
static const char *plain(const char *text, char *out, size_t size) {
    size_t n = 0;
    for (const char *c = text; *c && n + 1 < size; c++) {
        if (((unsigned char)*c & 0xC0) != 0x80) { // one mark a character
            out[n++] = (char)(*c >= 0x20 && *c < 0x7f ? *c : '?');
        }
    }
    out[n] = '\0';
    return out;
}

/// Words of a text over lines of at most 100 columns; the first line begins at column `used`, later ones are
/// indented.
static void wrapped(FILE *f, int used, int indent, const char *text) {
    int column = used;
    for (const char *p = text; *p;) {
        const int word = (int)strcspn(p, " ");
        const bool is_first = p == text;
        if (!is_first && column + 1 + word > 100) {
            fprintf(f, "\n%*s%.*s", indent, "", word, p);
            column = indent + word;
        } else {
            column += fprintf(f, "%s%.*s", is_first ? "" : " ", word, p);
        }
        p += word;
        p += strspn(p, " ");
    }
    fputc('\n', f);
}

static const char *length_text(double m, OwDisplay display, char *out, size_t size) {
    snprintf(out, size, display == OW_DISPLAY_US ? "%.1f ft" : "%.2f m",
             display == OW_DISPLAY_US ? m / 0.3048 : m);
    return out;
}

static const char *heat_text(double k, OwDisplay display, char *out, size_t size) {
    const double c = k - OW_ZERO_CELSIUS_K;
    snprintf(out, size, display == OW_DISPLAY_US ? "%.0f degF" : "%.0f degC",
             display == OW_DISPLAY_US ? 1.8 * c + 32.0 : c);
    return out;
}

static void write_circuits(FILE *f, const OwWireAnswer *a) {
    const OwElectricSpec *spec = ow_power_spec(a->power);
    fputs("\nCircuits                      line   amps  first  fuse  relay  lost on the way     volts  "
          "checks\n",
          f);
    for (int i = 0; i < a->schedule->line_count; i++) {
        const OwScheduleLine *l = &a->schedule->lines[i];
        const OwCircuitSpec *c = &spec->circuits[l->circuit];
        char name[OW_NAME_SIZE], fuse[16] = "-", relay[16] = "-", lost[32];
        if (l->fuse_a > 0.0) {
            snprintf(fuse, sizeof fuse, "%.3g A", l->fuse_a);
        }
        if (l->relay_a > 0.0) {
            snprintf(relay, sizeof relay, "%.3g A", l->relay_a);
        }
        snprintf(lost, sizeof lost, "%.2f V, %.1f %%", l->drop_v, 100.0 * l->drop_share);
        const bool is_starter = c->load == OW_LOAD_STARTER;
        char volts[16] = "-"; // the starter stands still
        if (!is_starter) {
            snprintf(volts, sizeof volts, "%.2f", l->load_v);
        }
        fprintf(f, "%3d %-25.25s %3s %7.1f %6.1f %5s %6s  %-18s %5s ", i + 1,
                plain(c->name, name, sizeof name), ow_feed_terminal(c->feed), l->running_a, l->first_a, fuse,
                relay, lost, volts);
        if (is_starter) {
            fputs(" no fuse\n", f);
            continue;
        }
        fprintf(f, "%s%s%s%s%s%s%s%s%s\n", is_line_good(l) ? " good" : "",
                l->fuse_guards   ? ""
                : c->has_no_fuse ? " no fuse"
                                 : " wire unguarded",
                l->fuse_stands ? "" : " fuse weak", l->relay_ok ? "" : " relay small",
                l->switch_ok ? "" : " switch small", l->drop_ok ? "" : " drop", l->heat_ok ? "" : " heat",
                l->volts_ok ? "" : " wrong volts", l->has_independent_protection ? "" : " no cut-out");
        if (l->fuse_reason[0]) {
            char text[320];
            if (c->has_no_fuse) {
                snprintf(text, sizeof text, "%s", l->fuse_reason);
            } else if (isinf(l->opens_far_s)) {
                snprintf(text, sizeof text, "%s; weakest short, %.0f A at the load: may never open",
                         l->fuse_reason, l->short_far_a);
            } else {
                snprintf(text, sizeof text, "%s; weakest short, %.0f A at the load: opens within %.2g s",
                         l->fuse_reason, l->short_far_a, l->opens_far_s);
            }
            const int used = fprintf(f, "      fuse: ");
            wrapped(f, used, 12, text);
        }
    }
    char heat[24];
    fprintf(f,
            "  amps at the charging voltage; first: cold or standing; volts: at the load with all pre-start "
            "loads on\n"
            "  lost on the way: there and back at the rated current, joints included\n"
            "  weakest short: battery at %s and half full, no alternator; as the morning has it: --faults\n",
            heat_text(263.15, a->display, heat, sizeof heat));
}

static void write_wires(FILE *f, const OwWireAnswer *a) {
    fputs("\nWires  from                     to                   colour  size      length   amps   drop   "
          "hot at  fuse\n",
          f);
    const char *before = "";
    for (int i = 0; i < a->schedule->wire_count; i++) {
        const OwWireRow *w = &a->schedule->wires[i];
        char size[24], metres[24], heat[24], fuse[16] = "-", name[OW_NAME_SIZE];
        if (strcmp(before, w->circuit_name) != 0) {
            fprintf(f, "%s\n", plain(w->circuit_name, name, sizeof name));
            before = w->circuit_name;
        }
        ow_wire_text(w->area_m2, ow_power_spec(a->power)->has_us_sizes, size, sizeof size);
        if (w->fuse_a > 0.0) {
            snprintf(fuse, sizeof fuse, "%.3g A", w->fuse_a);
        }
        fprintf(f, "  %-5s %-24s %-20s %-6s %-9s %7s %6.1f %6.3f %8s %5s\n", w->number, w->from, w->to,
                w->colour, size, length_text(w->length_m, a->display, metres, sizeof metres), w->current_a,
                w->drop_v, heat_text(w->conductor_k, a->display, heat, sizeof heat), fuse);
        const bool is_new = i == 0 || strcmp(w->reason, a->schedule->wires[i - 1].reason) != 0;
        if (is_new && !w->is_control && !w->is_earth) {
            fputs("        ", f);
            wrapped(f, 8, 10, w->reason);
        }
    }
}

static void write_parts(FILE *f, const OwWireAnswer *a) {
    fputs("\nParts (wire with a tenth over)\n", f);
    for (int i = 0; i < a->schedule->part_count; i++) {
        const OwPartCount *p = &a->schedule->parts[i];
        char metres[24];
        if (strcmp(p->unit, "m") == 0) {
            fprintf(f, "  %9s  %s\n", length_text(p->quantity, a->display, metres, sizeof metres), p->item);
        } else {
            fprintf(f, "  %9.0f  %s\n", p->quantity, p->item);
        }
    }
}

static void write_balance(FILE *f, const OwWireAnswer *a) {
    const OwSchedule *s = a->schedule;
    const OwElectricSpec *spec = ow_power_spec(a->power);
    char soak[24];
    fprintf(f, "\nBattery and alternator at %s\n", heat_text(a->soak_k, a->display, soak, sizeof soak));
    fprintf(f, "  pre-heat draws %.1f A, %.2f Ah each ten minutes\n", s->preheat_a, s->preheat_c_min / 360.0);
    fprintf(
        f,
        "  cranking volts with heaters and pumps off: %.1f now, %.1f after ten minutes of pre-heat (%.1f\n"
        "  wanted); with one more battery %.1f\n",
        s->crank_v_now, s->crank_v_after, spec->crank_minimum_v, s->parallel_crank_v_after);
    if (spec->alternator.is_fitted) {
        fprintf(f,
                "  idle at %.0f 1/min: the alternator can give %.0f A, the loads take %.0f A, the battery %s "
                "%.0f A\n",
                s->idle_rad_s * 30.0 / 3.14159265358979, s->idle_limit_a, s->idle_load_a,
                s->idle_balance_a < 0.0 ? "gives" : "gets", fabs(s->idle_balance_a));
    }
}

static void write_faults(FILE *f, const OwWireAnswer *a) {
    if (!a->electric) {
        return;
    }
    fputs("\nSingle faults, key on and engine still\n", f);
    char heat[24];
    const OwPowerInput in = ow_power_input(a->power, a->soak_k);
    fprintf(
        f,
        "  shorts: battery as it stands that morning, %.0f %% full at %s; the schedule's are the weakest\n",
        100.0 * in.battery_charge, heat_text(in.battery_k, a->display, heat, sizeof heat));
    int before = -2;
    for (int i = 0; i < a->electric_count; i++) {
        const OwElectricFault *e = &a->electric[i];
        char name[OW_NAME_SIZE];
        if (e->circuit != before) {
            fprintf(f, "%s\n",
                    e->circuit < 0
                        ? "vehicle"
                        : plain(ow_power_spec(a->power)->circuits[e->circuit].name, name, sizeof name));
            before = e->circuit;
        }
        const int used = fprintf(f, "  %-8s %s: ", ow_harm_name(e->harm), ow_electric_fault_name(e->kind));
        wrapped(f, used, 11, e->text);
    }
}

bool ow_wire_text_write(FILE *file, const OwWireAnswer *a) {
    char name[160];
    const OwElectricSpec *spec = ow_power_spec(a->power);
    fprintf(file, "%s\n%.0f V, %d circuits%s: %s\n", plain(a->title, name, sizeof name), spec->system_v,
            spec->circuit_count, spec->is_derived ? ", all derived from the parts" : "",
            ow_wire_is_good(a) ? "wires, fuses and ratings pass every check"
                               : "something is to be put right, see below");
    wrapped(file, 0, 0, OW_WIRE_CAUTION);
    if (a->faults->count > 0) {
        fputs("\nTo put right\n", file);
        for (size_t i = 0; i < a->faults->count; i++) {
            const OwFault *f = &a->faults->items[i];
            const int used = fprintf(file, "  %s: ", plain(f->part, name, sizeof name));
            wrapped(file, used, 6, f->message);
            fputs("      ", file);
            wrapped(file, 6, 6, f->remedy);
        }
    }
    write_circuits(file, a);
    write_wires(file, a);
    write_parts(file, a);
    write_balance(file, a);
    write_faults(file, a);
    fputs("\nFuse bands: ISO 8820-3, its 160 and 200 % points published, the others and bolt-down ones\n"
          "(ISO 8820-5) from memory. Wire: ISO 6722 resistance,\n"
          "heat balance in the hottest air of its place. Colours IEC 60757, terminals DIN 72552.\n",
          file);
    return ferror(file) == 0;
}
