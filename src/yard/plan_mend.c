// SPDX-License-Identifier: GPL-3.0-or-later
// What would mend a failed answer: one value of the file at a time is moved until the walk passes, and the
// least move is told. Nothing is told that was not walked.
#include "yard/guard.h"
#include "yard/plan_tables.h"
#include "yard/plan_walk.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define HALVINGS 12
#define MOST_OPTIONS 2

typedef enum KnobOwner { KNOB_STEP, KNOB_VESSEL, KNOB_SECTION } KnobOwner;
/// A value that may be moved for an answer, and how far.
typedef struct Knob {
    const char *answers; ///< keys of findings, separated by spaces, with a space at both ends
    KnobOwner owner;
    OwPlanKind kind;     ///< of the step; for a vessel, of any step
    const char *section; ///< KNOB_SECTION
    const char *key;
    double bound; ///< SI; held to the field's own range
} Knob;

#define WATER " water clear_cold drying "
static const Knob knobs[] = {
    {WATER, KNOB_STEP, OW_PLAN_SETTLE, NULL, "for", 30.0 * 86400.0},
    {WATER, KNOB_STEP, OW_PLAN_DRY, NULL, "at", OW_ZERO_CELSIUS_K + 85.0},
    {WATER, KNOB_STEP, OW_PLAN_DRY, NULL, "for", 5.0 * 86400.0},
    {WATER, KNOB_STEP, OW_PLAN_DRY, NULL, "to", 50e-6},
    {WATER, KNOB_SECTION, OW_PLAN_DRY, "climate", "humidity", 0.1},
    {WATER, KNOB_STEP, OW_PLAN_DRY, NULL, "chamber pressure", 500.0},
    {WATER, KNOB_STEP, OW_PLAN_DRY, NULL, "air flow", 50000.0 / 3.6e6},
    {WATER, KNOB_STEP, OW_PLAN_DRY, NULL, "pump flow", 50000.0 / 3.6e6},
    {WATER, KNOB_STEP, OW_PLAN_CENTRIFUGE, NULL, "flow", 5.0 / 3.6e6},
    {WATER, KNOB_VESSEL, OW_PLAN_DRY, NULL, "heater", 9e3},
    {" solids ", KNOB_STEP, OW_PLAN_FILTER, NULL, "rating", 0.5e-6},
    {" solids ", KNOB_STEP, OW_PLAN_SETTLE, NULL, "for", 30.0 * 86400.0},
    {" solids ", KNOB_STEP, OW_PLAN_CENTRIFUGE, NULL, "flow", 5.0 / 3.6e6},
    {" solids ", KNOB_STEP, OW_PLAN_FILTER, NULL, "catches", 1.0},
    {" rating ", KNOB_STEP, OW_PLAN_FILTER, NULL, "rating", 0.5e-6},
    {" surface_load film ", KNOB_VESSEL, OW_PLAN_HEAT, NULL, "heater area", 5.0},
    {" surface_load film ", KNOB_VESSEL, OW_PLAN_HEAT, NULL, "heater", 50.0},
    {" heat ", KNOB_STEP, OW_PLAN_HEAT, NULL, "to", OW_ZERO_CELSIUS_K + 30.0},
    {" heat ", KNOB_STEP, OW_PLAN_DRY, NULL, "at", OW_ZERO_CELSIUS_K + 30.0},
    {" heat watched ", KNOB_VESSEL, OW_PLAN_HEAT, NULL, "heater", 20e3},
    {" watched ", KNOB_STEP, OW_PLAN_FILTER, NULL, "area", 10.0},
    {" watched ", KNOB_STEP, OW_PLAN_FILTER, NULL, "flow", 5000.0 / 3.6e6},
    {" watched ", KNOB_STEP, OW_PLAN_CENTRIFUGE, NULL, "flow", 5000.0 / 3.6e6},
    {" watched ", KNOB_STEP, OW_PLAN_DRY, NULL, "air flow", 50000.0 / 3.6e6},
    {" watched ", KNOB_STEP, OW_PLAN_DRY, NULL, "pump flow", 50000.0 / 3.6e6},
    {" watched ", KNOB_SECTION, OW_PLAN_HEAT, "week", "batch", 0.005},
    {" wet_heat ", KNOB_STEP, OW_PLAN_SETTLE, NULL, "for", 30.0 * 86400.0},
    {" filter filter_time ", KNOB_STEP, OW_PLAN_HEAT, NULL, "to", OW_ZERO_CELSIUS_K + 85.0},
    {" filter filter_time ", KNOB_STEP, OW_PLAN_FILTER, NULL, "area", 10.0},
    {" filter filter_time ", KNOB_STEP, OW_PLAN_FILTER, NULL, "head", 5.0},
    {" filter filter_time ", KNOB_STEP, OW_PLAN_FILTER, NULL, "pressure", 400e3},
    {" filter filter_time ", KNOB_STEP, OW_PLAN_FILTER, NULL, "flow", 5000.0 / 3.6e6},
    {" fits ", KNOB_SECTION, OW_PLAN_HEAT, "week", "batch", 0.001},
};

typedef struct Mend {
    const OwYard *yard;
    const OwPlanKit *kit;
    const OwYardBatch *batch; ///< as planned
    OwYard *changed;
    OwYardBatch *tried;
    int failed;           ///< answers that fail as planned
    const char *together; ///< keys that must pass with the one asked; NULL: it alone
} Mend;

static int failures(const OwYardBatch *batch) {
    int count = 0;
    for (int i = 0; i < batch->finding_count; i++) {
        count += ow_judge_fails(batch->findings[i].grade) ? 1 : 0;
    }
    return count;
}

/// The same question of another walk: key, and for those asked of every step, the step.
static const OwFinding *same(const OwYardBatch *batch, const OwFinding *finding) {
    static const char *const each[] = {"drying", "heat", "wet_heat", "filter", "surface_load", "film"};
    bool is_each = false;
    for (size_t i = 0; i < sizeof each / sizeof each[0]; i++) {
        is_each = is_each || strcmp(each[i], finding->key) == 0;
    }
    for (int i = 0; i < batch->finding_count; i++) {
        const OwFinding *f = &batch->findings[i];
        if (strcmp(f->key, finding->key) == 0 && (!is_each || f->part == finding->part)) {
            return f;
        }
    }
    return NULL;
}

static bool is_word(const char *words, const char *key) {
    char word[64];
    (void)snprintf(word, sizeof word, " %.60s ", key);
    return strstr(words, word) != NULL;
}

/// Whether the walk with a value passes this answer (and those that hang together with it) and breaks no
/// other.
static bool passes(Mend *m, const OwFinding *finding, const OwField *field, void *base, double value) {
    ow_field_store(field, base, value);
    m->tried->display = m->batch->display;
    ow_yard_plan_walk(m->changed, m->kit, m->tried);
    ow_yard_plan_judge(m->changed, m->tried);
    for (int i = 0; m->together != NULL && i < m->tried->finding_count; i++) {
        const OwFinding *f = &m->tried->findings[i];
        if (ow_judge_fails(f->grade) && is_word(m->together, f->key)) {
            return false;
        }
    }
    const OwFinding *now = same(m->tried, finding);
    return (now == NULL || !ow_judge_fails(now->grade)) && failures(m->tried) < m->failed;
}

/// Temperatures and shares are halved between, all else between the logarithms.
static double middle(const OwField *field, double a, double b) {
    return field->quantity == OW_Q_TEMPERATURE || !(a > 0.0) || !(b > 0.0) ? 0.5 * (a + b) : sqrt(a * b);
}

/// A value that a person would set: outward to half a day, hour or minute, a whole degree, two digits.
static double handy(const OwField *field, double value, double planned, OwDisplay display) {
    double factor = 1.0, offset = 0.0, step;
    if (field->quantity == OW_Q_TIME) {
        step = value > 2.0 * 86400.0 ? 43200.0 : value > 5400.0 ? 1800.0 : 60.0;
        return value > planned ? ceil(value / step - 1e-9) * step : floor(value / step + 1e-9) * step;
    }
    (void)ow_units_display(field->quantity, display, &factor, &offset);
    const double shown = value * factor + offset;
    step =
        field->quantity == OW_Q_TEMPERATURE ? 1.0 : pow(10.0, floor(log10(fmax(fabs(shown), 1e-12))) - 1.0);
    const double round =
        value > planned ? ceil(shown / step - 1e-9) * step : floor(shown / step + 1e-9) * step;
    return (round - offset) / factor;
}

static void written(const OwField *field, double value, OwDisplay display, char text[64]) {
    if (field->quantity == OW_Q_TIME) {
        ow_yard_plan_time_text(value, text, 64);
    } else if (field->quantity == OW_Q_NUMBER && strcmp(field->key, "to") == 0) {
        (void)snprintf(text, 64, "%.0f mg/kg", 1e6 * value);
    } else if (field->quantity == OW_Q_NUMBER) {
        (void)snprintf(text, 64, "%.3g %%", 100.0 * value);
    } else {
        ow_field_write(field, value, display, text, 64);
    }
}

/// Moves one value; true when a sentence was added to `out`.
static bool turn(Mend *m, const OwFinding *finding, const Knob *knob, const OwField *field, void *base,
                 const char *owner, char *out, size_t size) {
    const double planned = ow_field_real(field, base);
    const double bound = ow_hold(knob->bound, field->low, field->high);
    // "none" is no number to start from, but for a target: that is then the one the targets ask.
    if ((field->none && planned == 0.0) || bound == planned || (bound > planned) != (knob->bound > planned) ||
        !passes(m, finding, field, base, bound)) {
        ow_field_store(field, base, planned);
        return false;
    }
    double good = bound, bad = planned;
    for (int i = 0; i < HALVINGS; i++) {
        const double mid = middle(field, good, bad);
        if (passes(m, finding, field, base, mid)) {
            good = mid;
        } else {
            bad = mid;
        }
    }
    const double round = handy(field, good, planned, m->batch->display);
    const bool is_inside = bound > planned ? round <= bound : round >= bound;
    if (is_inside && ow_field_is_legal(field, round) && passes(m, finding, field, base, round)) {
        good = round;
    }
    ow_field_store(field, base, planned);
    char is[64], was[64];
    written(field, good, m->batch->display, is);
    written(field, planned, m->batch->display, was);
    const size_t used = strlen(out);
    const char *glue = used > 0 ? "; or " : "";
    if (strcmp(owner, "climate") == 0) { // the weather is waited for, not set
        (void)snprintf(out + used, size - used, "%swait for a day of %s %s instead of %s", glue, is,
                       field->key, was);
    } else {
        (void)snprintf(out + used, size - used, "%s%.60s: %s %s instead of %s", glue, owner, field->key, is,
                       was);
    }
    return true;
}

/// Steps a knob may turn: for what is asked of one step, that step or one before it.
static bool may_turn(const OwYard *yard, const Knob *knob, const OwFinding *finding, int step) {
    const OwPlanKind kind = yard->steps[step].kind;
    const bool is_late = finding->part >= 0 && step > finding->part && strcmp(finding->key, "rating") != 0;
    return kind == knob->kind && !is_late;
}

static void mend_vessel(Mend *m, const OwFinding *finding, const Knob *knob, int *options, char *out,
                        size_t size) {
    if (finding->part < 0) {
        return;
    }
    OwVessel *vessel = &m->changed->vessels[m->changed->steps[finding->part].vessel];
    const OwField *field = ow_field_find(ow_vessel_fields(), knob->key);
    *options += turn(m, finding, knob, field, vessel, vessel->name, out, size) ? 1 : 0;
}

static void mend_section(Mend *m, const OwFinding *finding, const Knob *knob, int *options, char *out,
                         size_t size) {
    for (const OwSection *section = ow_yard_plan_sections(); section->name != NULL; section++) {
        if (strcmp(section->name, knob->section) == 0) {
            *options += turn(m, finding, knob, ow_field_find(section->fields, knob->key),
                             (char *)m->changed + section->offset, section->name, out, size)
                            ? 1
                            : 0;
        }
    }
}

static int find_options(Mend *m, const OwFinding *finding, bool is_together, char *out, size_t size) {
    int options = 0;
    out[0] = '\0';
    for (size_t k = 0; k < sizeof knobs / sizeof knobs[0] && options < MOST_OPTIONS; k++) {
        const Knob *knob = &knobs[k];
        if (!is_word(knob->answers, finding->key)) {
            continue;
        }
        m->together = is_together ? knob->answers : NULL;
        if (knob->owner == KNOB_VESSEL) {
            mend_vessel(m, finding, knob, &options, out, size);
        } else if (knob->owner == KNOB_SECTION) {
            mend_section(m, finding, knob, &options, out, size);
        }
        for (int i = m->yard->step_count - 1; i >= 0 && knob->owner == KNOB_STEP && options < MOST_OPTIONS;
             i--) {
            const OwField *field =
                ow_field_find(ow_yard_plan_words()[m->yard->steps[i].kind].fields, knob->key);
            if (field != NULL && may_turn(m->yard, knob, finding, i)) {
                options +=
                    turn(m, finding, knob, field, &m->changed->steps[i], m->yard->steps[i].name, out, size)
                        ? 1
                        : 0;
            }
        }
    }
    return options;
}

/// What to try when no one value does it: not walked, and said so.
static const char *step_more(const char *key) {
    static const struct {
        const char *keys, *text;
    } rows[] = {
        {WATER, "dry by bubbling or vacuum"},
        {" solids rating ", "a finer filter at the end"},
        {" wet_heat ", "settle and drain before the heat goes on"},
        {" heat ", "ask for no more than 90 degC (194 degF), lag the vessel"},
        {" watched ", "split the batch, or heat it on several days"},
        {" filter filter_time ", "warm the oil before it, or a coarser filter first"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        if (is_word(rows[i].keys, key)) {
            return rows[i].text;
        }
    }
    return "another way";
}

static void mend_finding(Mend *m, const OwFinding *finding, char *out, size_t size) {
    // First what mends all that hangs together (dry, clear when cold), then what mends this alone.
    if (find_options(m, finding, true, out, size) == 0 && find_options(m, finding, false, out, size) == 0) {
        (void)snprintf(out, size, "No one value of the plan mends it; try another step (not walked): %s",
                       step_more(finding->key));
    }
    const size_t used = strlen(out);
    (void)snprintf(out + used, size - used, ".");
}

OwStatus ow_yard_plan_mend(const OwYard *yard, const OwPlanKit *kit, OwYardBatch *batch) {
    Mend m = {.yard = yard, .kit = kit, .batch = batch, .failed = failures(batch)};
    if (m.failed == 0) {
        return OW_OK;
    }
    m.changed = malloc(sizeof *m.changed);
    m.tried = malloc(sizeof *m.tried);
    OwStatus status = m.changed != NULL && m.tried != NULL ? OW_OK : OW_ERROR_MEMORY;
    if (status == OW_OK) {
        *m.changed = *yard;
    }
    for (int i = 0; i < batch->finding_count && status == OW_OK; i++) {
        OwFinding *f = &batch->findings[i];
        if (ow_judge_fails(f->grade) && f->mend[0] == '\0') {
            mend_finding(&m, f, f->mend, sizeof f->mend);
        }
    }
    free(m.changed);
    free(m.tried);
    return status;
}
