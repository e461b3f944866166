// SPDX-License-Identifier: GPL-3.0-or-later
// Every key has an effect: each row of the rig file's tables is changed, one at a time, on the examples and
// on rigs drawn at random, until the record, the judgement, the wire schedule or a study comes out otherwise.
// A key that moves nothing anywhere is a lie to whoever writes it.
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "../morning/digest.h"
#include "../morning/random_rig.h"
#include "oilwright/bleed.h"
#include "oilwright/compare.h"
#include "oilwright/faults.h"
#include "oilwright/filter_life.h"
#include "oilwright/power.h"
#include "oilwright/two_tank.h"
#include "rig/catalogue.h"
#include "rig/read_electrics.h"

/// How much is asked of a rig: the dearer questions only for keys that the cheap ones do not feel.
typedef enum Depth { SHORT, SERVICE, FAILURES } Depth;
static const char *const depth_text[] = {"short morning and wiring", "with bleeding and filter life",
                                         "with every single fault"};

enum { MOST_KEYS = 400, RANDOM_RIGS = 60, STUDY_RIGS = 40, CANDIDATES = 8 };

/// Words that are only shown: no number rests on them.
static const struct Shown { const char *owner, *key; } shown[] = {{"leg", "name"}};

static bool is_shown_only(const char *owner, const char *key) {
    for (size_t i = 0; i < sizeof shown / sizeof shown[0]; i++) {
        if (strcmp(shown[i].owner, owner) == 0 && strcmp(shown[i].key, key) == 0) {
            return true;
        }
    }
    return false;
}

typedef struct Key {
    const char *owner;
    const OwField *field;
    bool has_place; ///< some rig had it
    bool has_effect;
} Key;

static Key keys[MOST_KEYS];
static int key_count;

static Key *key_of(const char *owner, const OwField *field) {
    for (int i = 0; i < key_count; i++) {
        if (strcmp(keys[i].owner, owner) == 0 && strcmp(keys[i].field->key, field->key) == 0) {
            return &keys[i];
        }
    }
    assert_true(key_count < MOST_KEYS);
    keys[key_count] = (Key){.owner = owner, .field = field};
    return &keys[key_count++];
}

static void register_table(const char *owner, OwFieldTable table) {
    for (int i = 0; i < table.count; i++) {
        (void)key_of(owner, &table.rows[i]);
    }
}

static uint64_t mix(uint64_t hash, const void *bytes, size_t size) {
    const unsigned char *at = bytes;
    for (size_t i = 0; i < size; i++) {
        hash = (hash ^ at[i]) * 0x100000001b3u;
    }
    return hash;
}

static uint64_t mix_text(uint64_t hash, const char *text) {
    return mix(hash, text, strlen(text));
}

static uint64_t mix_findings(uint64_t hash, const OwFinding *findings, int count) {
    for (int i = 0; i < count; i++) {
        hash = mix_text(hash, findings[i].text);
        hash = mix(hash, &findings[i].value, sizeof findings[i].value);
        hash = mix(hash, &findings[i].limit, sizeof findings[i].limit);
    }
    return hash;
}

static uint64_t power_digest(const OwRig *rig, uint64_t hash) {
    OwPower *power = NULL;
    OwSchedule *schedule = NULL;
    OwFaults faults = {0};
    static OwElectricFault wrong[512];
    if (ow_power_create(rig, &power, &faults) == OW_OK) {
        if (ow_power_schedule(power, rig->climate.ambient_k, &schedule, &faults) == OW_OK) {
            for (int i = 0; i < schedule->wire_count; i++) {
                const OwWireRow *w = &schedule->wires[i];
                const double reals[] = {w->area_m2, w->length_m,    w->current_a,
                                        w->drop_v,  w->conductor_k, w->fuse_a};
                hash =
                    mix(mix_text(mix_text(mix_text(hash, w->from), w->to), w->reason), reals, sizeof reals);
            }
            for (int i = 0; i < schedule->line_count; i++) {
                const OwScheduleLine *l = &schedule->lines[i];
                const double reals[] = {l->first_a, l->running_a, l->drop_v,      l->load_v,
                                        l->fuse_a,  l->relay_a,   l->short_far_a, l->opens_far_s};
                const bool flags[] = {l->fuse_guards,
                                      l->fuse_stands,
                                      l->relay_ok,
                                      l->switch_ok,
                                      l->drop_ok,
                                      l->heat_ok,
                                      l->has_independent_protection};
                hash = mix(mix(mix_text(hash, l->fuse_reason), reals, sizeof reals), flags, sizeof flags);
            }
            const double sums[] = {schedule->idle_balance_a, schedule->preheat_a, schedule->preheat_c_min,
                                   schedule->crank_v_now, schedule->crank_v_after};
            hash = mix(hash, sums, sizeof sums);
            free(schedule);
        }
        const int count = ow_power_faults(power, rig->climate.ambient_k, wrong, 512);
        for (int i = 0; i < count && i < 512; i++) {
            hash = mix_text(hash, wrong[i].text);
        }
    }
    for (size_t i = 0; i < faults.count; i++) {
        hash = mix_text(hash, faults.items[i].message);
    }
    ow_power_destroy(&power);
    ow_faults_clear(&faults);
    return hash;
}

/// All that a morning answers, as one number; 0 when the rig is refused.
static uint64_t morning_digest(const OwRig *rig) {
    OwFaults faults = {0};
    OwPlan *plan = NULL;
    OwRecord *record = NULL;
    OwJudgement *judgement = NULL;
    OwComparison *comparison = NULL;
    OwMorningSettings settings = ow_morning_default();
    settings.max_samples = 256;
    uint64_t hash = 0;
    if (ow_plan_create(rig, &plan, &faults) == OW_OK) {
        (void)ow_morning_run(plan, &settings, &record, &faults);
    }
    if (record != NULL && ow_judge_create(record, OW_DISPLAY_METRIC, &judgement) == OW_OK) {
        hash = power_digest(rig, ow_support_digest(record));
        for (int i = 0; i < judgement->answer_count; i++) {
            const OwAnswer *a = &judgement->answers[i];
            const double reals[] = {a->value, a->limit, a->tightness};
            hash = mix(mix_text(mix_text(hash, a->text), a->mend), reals, sizeof reals);
        }
        const OwJudgement *both[] = {judgement, judgement};
        static OwTwoTankStudy tanks;
        if (ow_compare_create(both, 2, &comparison) == OW_OK) {
            hash = mix(hash, &comparison->facts[0].price, sizeof(double));
        }
        if (ow_two_tank_create(record, OW_DISPLAY_METRIC, &tanks) == OW_OK) {
            hash = mix_findings(mix_text(hash, tanks.headline), tanks.findings, tanks.finding_count);
        }
        hash = hash == 0 ? 1 : hash;
    }
    ow_compare_destroy(&comparison);
    ow_judge_destroy(&judgement);
    ow_record_destroy(&record);
    ow_plan_destroy(&plan);
    ow_faults_clear(&faults);
    return hash;
}

/// The same with the studies besides.
static uint64_t digest(const OwRig *rig, Depth depth) {
    uint64_t hash = morning_digest(rig);
    if (depth == SHORT || hash == 0) {
        return hash;
    }
    OwFaults faults = {0};
    static OwBleedStudy bleed;
    static OwFilterStudy life;
    const OwBleedSettings bleed_settings = ow_bleed_default();
    const OwFilterSettings life_settings = ow_filter_default();
    const OwFailureSettings walk_settings = ow_failure_default();
    OwFailureWalk *walk = NULL;
    if (ow_bleed_create(rig, &bleed_settings, OW_DISPLAY_METRIC, &bleed, &faults) == OW_OK) {
        hash = mix_findings(mix_text(hash, bleed.headline), bleed.findings, bleed.finding_count);
    }
    if (ow_filter_create(rig, &life_settings, OW_DISPLAY_METRIC, &life, &faults) == OW_OK) {
        hash = mix_findings(mix_text(hash, life.headline), life.findings, life.finding_count);
    }
    if (depth == FAILURES &&
        ow_failure_create(rig, &walk_settings, OW_DISPLAY_METRIC, &walk, &faults) == OW_OK) {
        for (int i = 0; i < walk->failure_count; i++) {
            hash = mix_text(mix_text(hash, walk->failures[i].name), walk->failures[i].verdict.text);
        }
    }
    ow_failure_destroy(&walk);
    ow_faults_clear(&faults);
    return hash;
}

typedef struct Trial {
    OwRig *rig;
    Depth depth;
    bool has_usual, is_refused;
    uint64_t usual;
} Trial;

/// What comes out unchanged, asked when the first key is tried; false when the rig is refused.
static bool has_usual(Trial *trial) {
    if (!trial->has_usual) {
        trial->has_usual = true;
        trial->usual = digest(trial->rig, trial->depth);
        trial->is_refused = trial->usual == 0;
        // A digest that moves by itself would prove anything.
        assert_true(trial->usual == digest(trial->rig, trial->depth));
    }
    return !trial->is_refused;
}

static void try_number(Trial *trial, Key *key, void *base, double value) {
    const OwField *field = key->field;
    if (!(field->type == OW_FIELD_REAL ? ow_field_is_legal(field, value) : true)) {
        return;
    }
    const bool is_real = field->type == OW_FIELD_REAL;
    const double was = is_real ? ow_field_real(field, base) : ow_field_int(field, base);
    if (value == was || !has_usual(trial)) {
        return;
    }
    OwFaults faults = {0};
    ow_field_store(field, base, value);
    if (ow_rig_check(trial->rig, &faults) == OW_OK) {
        const uint64_t now = digest(trial->rig, trial->depth);
        key->has_effect |= now != 0 && now != trial->usual;
    }
    ow_field_store(field, base, was);
    ow_faults_clear(&faults);
}

static void try_text(Trial *trial, Key *key, void *base) {
    char *text = (char *)base + key->field->offset;
    char kept[OW_NAME_SIZE];
    (void)snprintf(kept, sizeof kept, "%s", text);
    if (!has_usual(trial)) {
        return;
    }
    for (int f = 0; f < 2 && !key->has_effect; f++) {
        (void)snprintf(text, OW_NAME_SIZE, "%s",
                       f < trial->rig->fluid_count ? trial->rig->fluid_name[f] : "other");
        OwFaults faults = {0};
        if (ow_rig_check(trial->rig, &faults) == OW_OK) {
            const uint64_t now = digest(trial->rig, trial->depth);
            key->has_effect |= now != 0 && now != trial->usual;
        }
        ow_faults_clear(&faults);
    }
    (void)snprintf(text, OW_NAME_SIZE, "%s", kept);
}

static void try_table(Trial *trial, const char *owner, OwFieldTable table, void *base) {
    for (int i = 0; i < table.count; i++) {
        const OwField *field = &table.rows[i];
        Key *key = key_of(owner, field);
        key->has_place = true;
        if (key->has_effect) {
            continue;
        }
        if (field->type == OW_FIELD_TEXT) {
            try_text(trial, key, base);
        } else if (field->type == OW_FIELD_REAL) {
            const double was = ow_field_real(field, base), span = field->high - field->low;
            const double values[CANDIDATES] = {
                was * 1.3,   was * 0.7, field->low + 0.5 * span, field->low + 0.02 * span, field->low,
                field->high, was + 5.0, field->none ? 0.0 : was};
            for (int v = 0; v < CANDIDATES && !key->has_effect; v++) {
                try_number(trial, key, base, values[v]);
            }
        } else if (field->type == OW_FIELD_CHOICE) {
            for (int v = 0; field->choices[v] != NULL && !key->has_effect; v++) {
                try_number(trial, key, base, v);
            }
        } else if (field->type == OW_FIELD_FLAG) {
            try_number(trial, key, base, ow_field_int(field, base) ? 0.0 : 1.0);
        } else {
            try_number(trial, key, base, fmin(ow_field_int(field, base) + 1.0, field->high));
            try_number(trial, key, base, fmax(ow_field_int(field, base) - 1.0, field->low));
        }
    }
}

static void try_wiring(Trial *trial, OwElectricSpec *spec) {
    for (const OwElectricTable *t = ow_electric_tables(); t->title != NULL; t++) {
        if (strcmp(t->title, "starter battery") == 0) {
            try_table(trial, t->title, t->fields, &spec->battery);
        } else if (strcmp(t->title, "alternator") == 0) {
            try_table(trial, t->title, t->fields, &spec->alternator);
        } else if (strcmp(t->title, "cables") == 0) {
            OwCableSpec *const cables[] = {&spec->main, &spec->charge, &spec->starter, &spec->body_earth,
                                           &spec->engine_earth};
            for (int i = 0; i < 5; i++) {
                try_table(trial, t->title, t->fields, cables[i]);
            }
        } else if (strcmp(t->title, "wiring") == 0) {
            try_table(trial, t->title, t->fields, spec);
        } else {
            for (int i = 0; i < spec->circuit_count; i++) {
                try_table(trial, t->title, t->fields, &spec->circuits[i]);
            }
        }
    }
}

static void try_rig(OwRig *rig, Depth depth) {
    Trial trial = {.rig = rig, .depth = depth};
    for (const OwSection *s = ow_sections(); s->name != NULL; s++) {
        try_table(&trial, s->name, s->fields, (char *)rig + s->offset);
    }
    for (int i = 0; i < rig->drive.leg_count; i++) {
        try_table(&trial, "leg", ow_leg_fields(), &rig->drive.legs[i]);
    }
    for (int f = 0; f < rig->fluid_count; f++) {
        try_table(&trial, "fluid", ow_fluid_fields(), &rig->fluid_spec[f]);
    }
    for (int p = 0; p < rig->part_count; p++) {
        OwPart *part = &rig->parts[p];
        const OwKindWord *word = ow_kind_word_of(part);
        try_table(&trial, "every part", ow_common_fields(), part);
        try_table(&trial, word->word, word->fields, part);
        OwElements *elements = ow_part_elements(part);
        for (int e = 0; elements != NULL && e < elements->count; e++) {
            try_table(&trial, "heater", ow_element_fields(), &elements->items[e]);
            if (elements->items[e].has_thermostat) {
                try_table(&trial, "thermostat", ow_thermostat_fields(), &elements->items[e]);
            }
        }
    }
    if (rig->electric_spec != NULL) {
        try_wiring(&trial, rig->electric_spec);
    }
}

static void register_all(void) {
    for (const OwSection *s = ow_sections(); s->name != NULL; s++) {
        register_table(s->name, s->fields);
    }
    for (const OwKindWord *w = ow_kind_words(); w->word != NULL; w++) {
        register_table(w->word, w->fields);
    }
    register_table("every part", ow_common_fields());
    register_table("heater", ow_element_fields());
    register_table("thermostat", ow_thermostat_fields());
    register_table("leg", ow_leg_fields());
    register_table("fluid", ow_fluid_fields());
    for (const OwElectricTable *t = ow_electric_tables(); t->title != NULL; t++) {
        register_table(t->title, t->fields);
    }
}

static int left(void) {
    int count = 0;
    for (int i = 0; i < key_count; i++) {
        count += !keys[i].has_effect && !is_shown_only(keys[i].owner, keys[i].field->key);
    }
    return count;
}

static const char *const examples[] = {"orchard-van", "orchard-van-lift-pump", "pickup-two-tanks",
                                       "van-blend"};
enum { EXAMPLE_COUNT = sizeof examples / sizeof examples[0] };

/// Legs of a few seconds: most keys are felt there too, for a tenth of the work.
static void shorten(OwRig *rig) {
    for (int i = 0; i < rig->drive.leg_count; i++) {
        rig->drive.legs[i].duration_s = fmin(rig->drive.legs[i].duration_s, 20.0);
    }
}

static void try_examples(OwUnits *units, Depth depth) {
    for (int i = 0; i < EXAMPLE_COUNT && left() > 0; i++) {
        char path[512];
        OwRig *rig = NULL;
        OwFaults faults = {0};
        (void)snprintf(path, sizeof path, EXAMPLES "/%s.yaml", examples[i]);
        assert_int_equal(ow_rig_read_file(path, units, &rig, &faults), OW_OK);
        if (depth == SHORT) {
            shorten(rig);
        }
        try_rig(rig, depth);
        ow_rig_destroy(&rig);
        ow_faults_clear(&faults);
        print_message("  %s, %s: %d of %d keys left\n", examples[i], depth_text[depth], left(), key_count);
    }
}

static void try_random(int count, Depth depth) {
    for (int i = 0; i < count && left() > 0; i++) {
        RandomSource source = random_source(7000u + (uint64_t)i);
        OwRig *rig = NULL;
        assert_int_equal(random_rig(&source, true, &rig), OW_OK);
        if (depth == SHORT) {
            shorten(rig);
        }
        try_rig(rig, depth);
        ow_rig_destroy(&rig);
    }
    print_message("  random rigs, %s: %d of %d keys left\n", depth_text[depth], left(), key_count);
}

static void every_key_has_an_effect(void **state) {
    (void)state;
    OwUnits *units = NULL;
    assert_int_equal(ow_units_create(&units), OW_OK);
    register_all();
    try_examples(units, SHORT);
    try_random(RANDOM_RIGS, SHORT);
    try_random(STUDY_RIGS, SERVICE);
    if (left() > 0) {
        try_examples(units, SERVICE);
    }
    if (left() > 0) {
        try_examples(units, FAILURES);
    }
    ow_units_destroy(&units);
    for (int i = 0; i < key_count; i++) {
        const bool is_shown = is_shown_only(keys[i].owner, keys[i].field->key);
        assert_false(is_shown && keys[i].has_effect); // then it does not belong into that list
        if (!keys[i].has_effect && !is_shown) {
            print_message("  %s: `%s` moves nothing%s\n", keys[i].owner, keys[i].field->key,
                          keys[i].has_place ? "" : ", and no rig here has it");
        }
    }
    assert_int_equal(left(), 0);
}

int main(void) {
    const struct CMUnitTest tests[] = {cmocka_unit_test(every_key_has_an_effect)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
