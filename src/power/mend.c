// SPDX-License-Identifier: GPL-3.0-or-later
// What one value of the electrics section would put right: the size, fuse or relay that would have been
// chosen.
#include <stdlib.h>
#include <string.h>

#include "power/schedule.h"

#define MOST_PARALLEL 4 ///< no rig file takes more batteries side by side

/// A network sized anew with some values left out.
typedef struct OwResized {
    OwElectricSpec spec;
    OwSizing sizing[OW_MAX_CIRCUITS], main_sizing;
} OwResized;

/// Circuit -1 is the main cable.
static OwResized *resize(const OwPower *power, int circuit, bool frees_area, bool frees_fuse) {
    OwResized *made = malloc(sizeof *made);
    if (made == NULL) {
        return NULL;
    }
    made->spec = power->spec;
    double *area = circuit < 0 ? &made->spec.main.area_m2 : &made->spec.circuits[circuit].area_m2;
    double *fuse = circuit < 0 ? &made->spec.main.fuse_a : &made->spec.circuits[circuit].fuse_a;
    if (!power->main_sizing.guards && power->main_sizing.is_given_area) {
        made->spec.main.area_m2 = 0.0; // a main cable that is wrong is mended by itself
    }
    // What was chosen is chosen anew.
    const OwSizing *z = circuit < 0 ? &power->main_sizing : &power->sizing[circuit];
    *area = frees_area || !z->is_given_area ? 0.0 : *area;
    *fuse = frees_fuse || !z->is_given_fuse ? 0.0 : *fuse;
    ow_power_size(&made->spec, made->sizing, &made->main_sizing);
    return made;
}

static bool is_right(const OwSizing *z) {
    return z->guards && z->stands && z->drop_ok && z->heat_ok;
}

void ow_power_mend(OwSchedule *s, size_t fault, int entry, const char *key, OwQuantity quantity,
                   double value) {
    if (s->mend_count < OW_MAX_WIRE_MENDS && value > 0.0) {
        s->mends[s->mend_count++] = (OwWireMend){fault, entry, key, quantity, value};
    }
}

void ow_power_mend_main(const OwPower *power, OwSchedule *s, size_t fault) {
    OwResized *made = power->main_sizing.is_given_area ? resize(power, -1, true, false) : NULL;
    if (made != NULL && made->main_sizing.guards) {
        ow_power_mend(s, fault, -1, "cables/main/size", OW_Q_AREA, made->spec.main.area_m2);
    }
    free(made);
}

void ow_power_mend_circuit(const OwPower *power, OwSchedule *s, size_t fault, int circuit) {
    const OwCircuitSpec *c = &power->spec.circuits[circuit];
    const OwSizing *z = &power->sizing[circuit];
    if (c->line <= 0) {
        return; // it does not stand in the file
    }
    // The fewest values: the wire alone, the fuse alone, both.
    static const bool frees[][2] = {{true, false}, {false, true}, {true, true}};
    for (size_t i = 0; i < sizeof frees / sizeof frees[0]; i++) {
        if ((frees[i][0] && !z->is_given_area) || (frees[i][1] && !z->is_given_fuse)) {
            continue;
        }
        OwResized *made = resize(power, circuit, frees[i][0], frees[i][1]);
        const bool is_found = made != NULL && is_right(&made->sizing[circuit]);
        if (is_found && frees[i][0]) {
            ow_power_mend(s, fault, circuit, "wire", OW_Q_AREA, made->spec.circuits[circuit].area_m2);
        }
        if (is_found && frees[i][1]) {
            ow_power_mend(s, fault, circuit, "fuse", OW_Q_CURRENT, made->spec.circuits[circuit].fuse_a);
        }
        free(made);
        if (is_found) {
            return;
        }
    }
}

void ow_power_mend_contact(const OwPower *power, OwSchedule *s, size_t fault, int circuit) {
    const OwCircuitSpec *c = &power->spec.circuits[circuit];
    const OwSizing *z = &power->sizing[circuit];
    if (c->line > 0) {
        ow_power_mend(s, fault, circuit, "relay rating", OW_Q_CURRENT,
                      ow_power_relay_rating(z->running_a, z->first_a, c->inrush_s));
    }
}

void ow_power_mend_battery(const OwPower *power, OwSchedule *s, size_t fault) {
    const int count = power->spec.battery.count;
    if (count < MOST_PARALLEL && s->parallel_crank_v_after >= power->spec.crank_minimum_v) {
        ow_power_mend(s, fault, -1, "starter battery/in parallel", OW_Q_NUMBER, count + 1);
    }
}
