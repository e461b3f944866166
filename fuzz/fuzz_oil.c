// SPDX-License-Identifier: GPL-3.0-or-later
// Any numbers as the description of an oil: refused with a fault, or curves that are finite, positive and
// fall with heat.
#include "oilwright/oil.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

static void must(bool is_good) {
    if (!is_good) {
        abort();
    }
}

typedef struct Reader {
    const uint8_t *at;
    size_t left;
} Reader;

static unsigned take(Reader *reader) {
    if (reader->left == 0) {
        return 0;
    }
    reader->left--;
    return *reader->at++;
}

/// Mostly sensible numbers, now and then any bit pattern.
static double number(Reader *reader, double low, double high) {
    const unsigned kind = take(reader);
    if (kind == 255 && reader->left >= sizeof(double)) {
        double any;
        memcpy(&any, reader->at, sizeof any);
        reader->at += sizeof any;
        reader->left -= sizeof any;
        return any;
    }
    return kind < 64 ? 0.0 : low + (high - low) * (take(reader) * 256 + take(reader)) / 65535.0;
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size) {
    Reader in = {data, size};
    OwOilSpec *spec = calloc(1, sizeof *spec);
    OwOilStudy *study = calloc(1, sizeof *study);
    OwFaults faults = {0};
    must(spec != NULL && study != NULL);
    int names = 0;
    while (ow_oil_names()[names] != NULL) {
        names++;
    }
    (void)strcpy(spec->name, ow_oil_names()[take(&in) % (unsigned)names]);
    spec->point_count = (int)(take(&in) % 6);
    for (int i = 0; i < spec->point_count; i++) {
        spec->points[i] = (OwViscosityPoint){number(&in, 230.0, 430.0), number(&in, 1e-6, 5e-4)};
        spec->point_error[i] = number(&in, 0.0, 0.1);
    }
    spec->cup_count = (int)(take(&in) % 3);
    for (int i = 0; i < spec->cup_count; i++) {
        spec->cups[i] =
            (OwCupReading){3 + (int)(take(&in) % 4), number(&in, 20.0, 120.0), number(&in, 260.0, 360.0)};
    }
    spec->density_15_kg_m3 = number(&in, 780.0, 960.0);
    spec->cloud_point_k = number(&in, 230.0, 310.0);
    spec->used_factor = number(&in, 0.8, 3.0);
    spec->polar_share = number(&in, 0.0, 0.5);
    spec->water_share = number(&in, 0.0, 0.05);
    spec->acid_mg_g = number(&in, 0.0, 50.0);
    if (take(&in) % 3 == 0) {
        for (int a = 0; a < OW_ACID_COUNT; a++) {
            spec->profile[a] = number(&in, 0.0, 0.3);
        }
    }
    if (take(&in) % 4 == 0) {
        spec->blend_count = 2;
        (void)strcpy(spec->blend_name[0], ow_oil_names()[take(&in) % (unsigned)names]);
        (void)strcpy(spec->blend_name[1], ow_oil_names()[take(&in) % (unsigned)names]);
        spec->blend_fraction[0] = number(&in, 0.0, 1.0);
        spec->blend_fraction[1] = 1.0 - spec->blend_fraction[0];
    }
    if (ow_oil_study(spec, study, &faults) != OW_OK) {
        must(faults.errors > 0);
    } else {
        double before = INFINITY;
        for (double t = OW_CURVE_LOW_K; t < 450.0; t += 3.7) {
            OwOilState state;
            ow_oil_state(&study->fluid, t, &state);
            must(isfinite(state.kinematic_m2_s) && state.kinematic_m2_s > 0.0);
            must(state.density_kg_m3 > 0.0 && state.specific_heat_j_kgk > 0.0 &&
                 state.conductivity_w_mk > 0.0);
            must(state.wax_share >= -1e-9 && state.wax_share <= 1.0 && isfinite(state.air_floor_pa));
            must(state.kinematic_m2_s <= before * (1.0 + 1e-6));
            before = state.kinematic_m2_s;
        }
        ow_oil_study_clear(study);
    }
    ow_faults_clear(&faults);
    free(study);
    free(spec);
    return 0;
}
