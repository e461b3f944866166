// SPDX-License-Identifier: GPL-3.0-or-later
// The time series of a record as compact JSON: columns, thinned; a column that never changes is one number.
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "page_impl.h"

#define MAX_WAY 200

typedef struct Series {
    const OwRecord *record;
    const OwPlan *plan;
    const int *sample; ///< indices into the record
    int count;
    double *value; ///< one column at work
    OwBuffer *out;
} Series;

/// A whole number times ten to the `exponent`, as JSON.
static void put_number(OwBuffer *out, double scaled, int exponent) {
    char text[40];
    char *p = text + sizeof text;
    if (!isfinite(scaled) || fabs(scaled) > 9e15) {
        ow_buffer_add(out, "null", 4);
        return;
    }
    long long n = llround(scaled);
    unsigned long long rest = n < 0 ? 0ull - (unsigned long long)n : (unsigned long long)n;
    if (rest != 0 && exponent != 0) {
        int e = -exponent;
        while (e > 0) {
            *--p = (char)('0' + e % 10);
            e /= 10;
        }
        *--p = '-';
        *--p = 'e';
    }
    do {
        *--p = (char)('0' + rest % 10);
        rest /= 10;
    } while (rest != 0);
    if (n < 0) {
        *--p = '-';
    }
    ow_buffer_add(out, p, (size_t)(text + sizeof text - p));
}

/// Writes the column at work, rounded to 10^exponent.
static void put_column(Series *s, const char *key, int exponent) {
    const double scale = pow(10.0, -exponent);
    bool is_constant = true;
    for (int i = 0; i < s->count; i++) {
        s->value[i] = isfinite(s->value[i]) ? nearbyint(s->value[i] * scale) : NAN;
        is_constant =
            is_constant && (s->value[i] == s->value[0] || (isnan(s->value[i]) && isnan(s->value[0])));
    }
    ow_buffer_format(s->out, "\"%s\":", key);
    if (is_constant) {
        put_number(s->out, s->count > 0 ? s->value[0] : NAN, exponent);
    } else {
        ow_buffer_add(s->out, "[", 1);
        for (int i = 0; i < s->count; i++) {
            if (i > 0) {
                ow_buffer_add(s->out, ",", 1);
            }
            put_number(s->out, s->value[i], exponent);
        }
        ow_buffer_add(s->out, "]", 1);
    }
    ow_buffer_add(s->out, ",", 1);
}

static void put_sample_column(Series *s, const char *key, size_t offset, int exponent) {
    for (int i = 0; i < s->count; i++) {
        memcpy(&s->value[i], (const char *)&s->record->samples[s->sample[i]] + offset, sizeof s->value[i]);
    }
    put_column(s, key, exponent);
}

static const OwPartSample *part_sample(const Series *s, int i, int part) {
    return &s->record->parts[(size_t)s->sample[i] * (size_t)s->record->part_count + (size_t)part];
}

/// `absent_zero`: 0 means that it does not apply.
static void put_part_column(Series *s, int part, const char *key, size_t offset, int exponent,
                            bool absent_zero) {
    for (int i = 0; i < s->count; i++) {
        memcpy(&s->value[i], (const char *)part_sample(s, i, part) + offset, sizeof s->value[i]);
        if (absent_zero && s->value[i] == 0.0) {
            s->value[i] = NAN;
        }
    }
    put_column(s, key, exponent);
}

/// Viscosity of what stands at an end; blends along a line mix by the logarithm, as the flow model does.
static double viscosity_of(const Series *s, double temperature_k, double share) {
    const OwFluid *first = ow_plan_fluid(s->plan, 0);
    const OwFluid *second = s->record->rig->fluid_count > 1 ? ow_plan_fluid(s->plan, 1) : NULL;
    if (first == NULL || !(temperature_k > 0.0)) {
        return NAN;
    }
    double log = ow_curve_value(&first->log_kinematic, temperature_k);
    if (second != NULL && share > 0.0) {
        const double w = share < 1.0 ? share : 1.0;
        log = (1.0 - w) * log + w * ow_curve_value(&second->log_kinematic, temperature_k);
    }
    return exp(log);
}

static void put_viscosity(Series *s, int part, const char *key, bool is_out) {
    for (int i = 0; i < s->count; i++) {
        const OwPartSample *p = part_sample(s, i, part);
        s->value[i] = viscosity_of(s, is_out ? p->out_k : p->in_k, p->share);
    }
    put_column(s, key, -9);
}

#define PART(key, member, exponent)                                                                          \
    put_part_column(s, part, key, offsetof(OwPartSample, member), exponent, false)
#define PART_OR_NULL(key, member, exponent)                                                                  \
    put_part_column(s, part, key, offsetof(OwPartSample, member), exponent, true)
#define SAMPLE(key, member, exponent) put_sample_column(s, key, offsetof(OwSample, member), exponent)

static void put_part(Series *s, int part) {
    const bool has_fuel = ow_part_port_count(s->record->rig->parts[part].kind) > 0;
    ow_buffer_format(s->out, "%s{", part > 0 ? "," : "");
    PART_OR_NULL("wall_k", wall_k, -2);
    PART_OR_NULL("wall_max_k", wall_max_k, -2);
    PART_OR_NULL("element_max_k", element_max_k, -2);
    PART("heat_w", heat_w, -1);
    PART("coolant_w", coolant_w, -1);
    for (int i = 0; i < s->count; i++) {
        s->value[i] = part_sample(s, i, part)->position;
    }
    put_column(s, "on", 0);
    if (has_fuel) {
        PART_OR_NULL("in_k", in_k, -2);
        PART_OR_NULL("out_k", out_k, -2);
        PART_OR_NULL("oil_max_k", oil_max_k, -2);
        put_viscosity(s, part, "in_m2_s", false);
        put_viscosity(s, part, "out_m2_s", true);
        PART("in_pa", in_pa, 0);
        PART("out_pa", out_pa, 0);
        PART("flow_m3_s", flow_m3_s, -12);
        PART("drop_pa", drop_pa, 0);
        PART("gain_w", gain_w, -1);
        PART("share", share, -4);
    } else {
        ow_buffer_text(s->out,
                       "\"in_k\":null,\"out_k\":null,\"oil_max_k\":null,\"in_m2_s\":null,\"out_m2_s\":null,"
                       "\"in_pa\":null,\"out_pa\":null,\"flow_m3_s\":null,\"drop_pa\":null,\"gain_w\":null,"
                       "\"share\":null,");
    }
    ow_buffer_format(s->out, "\"index\":%d}", part);
}

static void put_head(Series *s) {
    ow_buffer_format(s->out, "\"count\":%d,", s->count);
    SAMPLE("time_s", time_s, -3);
    for (int i = 0; i < s->count; i++) {
        s->value[i] = s->record->samples[s->sample[i]].engine;
    }
    put_column(s, "engine", 0);
    for (int i = 0; i < s->count; i++) {
        s->value[i] = s->record->samples[s->sample[i]].leg;
    }
    put_column(s, "leg", 0);
    for (int i = 0; i < s->count; i++) {
        s->value[i] = s->record->samples[s->sample[i]].is_key_on;
    }
    put_column(s, "key", 0);
    for (int i = 0; i < s->count; i++) {
        const int part = s->record->samples[s->sample[i]].lowest_part;
        s->value[i] = part >= 0 ? part : NAN;
    }
    put_column(s, "lowest_part", 0);
    for (int i = 0; i < s->count; i++) {
        const double limit = ow_judge_inlet_limit(s->record, s->record->samples[s->sample[i]].time_s);
        s->value[i] = limit > 0.0 ? limit : NAN;
    }
    put_column(s, "inlet_limit_m2_s", -9);
    for (int i = 0; i < s->count; i++) {
        s->value[i] = s->record->rig->climate.ambient_k;
    }
    put_column(s, "ambient_k", -2);
    SAMPLE("speed_m_s", speed_m_s, -3);
    SAMPLE("engine_rad_s", engine_rad_s, -2);
    SAMPLE("coolant_k", coolant_k, -2);
    SAMPLE("bay_k", bay_k, -2);
    SAMPLE("request_m3_s", fuel_request_m3_s, -12);
    SAMPLE("burned_m3_s", fuel_burned_m3_s, -12);
    SAMPLE("full_request_m3_s", full_request_m3_s, -12);
    SAMPLE("full_burned_m3_s", full_burned_m3_s, -12);
    SAMPLE("inlet_k", inlet_k, -2);
    SAMPLE("inlet_pa", inlet_pa, 0);
    SAMPLE("inlet_kinematic_m2_s", inlet_kinematic_m2_s, -9);
    SAMPLE("inlet_fill", inlet_fill, -4);
    SAMPLE("inlet_share", inlet_share, -4);
    SAMPLE("lowest_pa", lowest_pa, 0);
    SAMPLE("heaters_w", heaters_w, -1);
    SAMPLE("pumps_w", pumps_w, -1);
    SAMPLE("charge_c", charge_c, 0);
    SAMPLE("volts_v", volts_v, -3);
}

/// Whether any part stands otherwise than at the sample before.
static bool has_switched(const Series *s, int i) {
    for (int p = 0; p < s->record->part_count; p++) {
        if (s->record->rig->parts[p].kind == OW_PART_VALVE &&
            part_sample(s, i, p)->position != part_sample(s, i - 1, p)->position) {
            return true;
        }
    }
    return false;
}

static void put_moments(Series *s) {
    int way[MAX_WAY];
    ow_buffer_text(s->out, "\"moments\":[");
    for (int i = 0; i < s->count; i++) {
        if (i > 0 && !has_switched(s, i)) {
            continue;
        }
        const int found = ow_judge_path(s->record, s->sample[i], way, MAX_WAY);
        ow_buffer_format(s->out, "%s{\"sample\":%d,\"path\":[", i > 0 ? "," : "", i);
        for (int k = 0; k < found && k < MAX_WAY; k++) {
            ow_buffer_format(s->out, "%s%d", k > 0 ? "," : "", way[k]);
        }
        ow_buffer_text(s->out, "]}");
    }
    ow_buffer_text(s->out, "]");
}

/// Marks the samples to keep: ends, worst moment, the ones next to events, and evenly between.
static int choose(const OwJudgement *judgement, int wanted, int *sample) {
    const OwRecord *record = judgement->record;
    const int all = record->sample_count;
    bool *is_kept = calloc((size_t)all + 1, sizeof *is_kept);
    int count = 0;
    if (is_kept == NULL) {
        return -1;
    }
    if (all <= wanted) {
        memset(is_kept, 1, (size_t)all);
    } else {
        int kept = 0, at = 0;
        is_kept[0] = is_kept[all - 1] = true;
        if (judgement->worst_sample >= 0 && judgement->worst_sample < all) {
            is_kept[judgement->worst_sample] = true;
        }
        kept = 3;
        for (int e = 0; e < record->event_count && kept + 2 < wanted / 2; e++) {
            while (at + 1 < all && record->samples[at].time_s < record->events[e].time_s) {
                at++;
            }
            kept += is_kept[at] ? 0 : 1;
            is_kept[at] = true;
            if (at > 0) {
                kept += is_kept[at - 1] ? 0 : 1;
                is_kept[at - 1] = true;
            }
        }
        const int rest = wanted - kept;
        for (int i = 0; i < rest; i++) {
            is_kept[(long long)i * (all - 1) / (rest > 0 ? rest : 1)] = true;
        }
    }
    for (int i = 0; i < all && count < wanted; i++) {
        if (is_kept[i]) {
            sample[count++] = i;
        }
    }
    free(is_kept);
    return count;
}

OwStatus ow_page_series(const OwJudgement *judgement, const OwPlan *plan, int samples, OwBuffer *out) {
    int sample[OW_PAGE_MAX_SAMPLES];
    double value[OW_PAGE_MAX_SAMPLES];
    const int wanted = samples < 2 ? 2 : samples > OW_PAGE_MAX_SAMPLES ? OW_PAGE_MAX_SAMPLES : samples;
    const int count = choose(judgement, wanted, sample);
    if (count < 0) {
        return OW_ERROR_MEMORY;
    }
    Series series = {judgement->record, plan, sample, count, value, out};
    ow_buffer_text(out, "{");
    put_head(&series);
    ow_buffer_text(out, "\"parts\":[");
    for (int p = 0; p < judgement->record->part_count; p++) {
        put_part(&series, p);
    }
    ow_buffer_text(out, "],");
    put_moments(&series);
    ow_buffer_text(out, "}");
    return out->has_failed ? OW_ERROR_MEMORY : OW_OK;
}
