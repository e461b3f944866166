// SPDX-License-Identifier: GPL-3.0-or-later
// The generator of random rigs: values field by field from the catalogue's tables, layouts from a few
// building moves.
#include "random_rig.h"

#include "base/text.h"
#include "oilwright/power.h"
#include "rig/catalogue.h"

#include <math.h>
#include <string.h>

enum { MOST_PARTS = 48, MOST_JOINTS = 96, MOST_RULES = 8 };
#define C(t) ((t) + OW_ZERO_CELSIUS_K)

// ---- numbers

static uint64_t stir(uint64_t x) { // splitmix64's finaliser: neighbouring seeds give unlike streams
    x += 0x9e3779b97f4a7c15u;
    x = (x ^ (x >> 30)) * 0xbf58476d1ce4e5b9u;
    x = (x ^ (x >> 27)) * 0x94d049bb133111ebu;
    return x ^ (x >> 31);
}

RandomSource random_source(uint64_t seed) {
    const uint64_t state = stir(seed);
    return (RandomSource){.state = state != 0 ? state : 1};
}

RandomSource random_source_bytes(const uint8_t *bytes, size_t size) {
    uint64_t state = 1;
    for (size_t i = 0; i < size; i++) {
        state = stir(state + bytes[i]);
    }
    return (RandomSource){.bytes = bytes, .left = size, .state = state != 0 ? state : 1};
}

/// Marsaglia 2003, J. Stat. Software 8(14): xorshift, triple 13, 7, 17. A byte of the input, while there is
/// one, leads.
uint64_t random_next(RandomSource *source) {
    uint64_t x = source->state;
    x ^= x << 13;
    x ^= x >> 7;
    x ^= x << 17;
    source->state = x;
    if (source->left > 0) {
        source->left--;
        const uint64_t byte = *source->bytes++;
        return (byte << 56) | (byte << 11) | byte; // moves both the unit value and any remainder
    }
    return x;
}

double random_unit(RandomSource *source) {
    return (double)(random_next(source) >> 11) * 0x1p-53;
}

double random_between(RandomSource *source, double low, double high) {
    return low + (high - low) * random_unit(source);
}

double random_log(RandomSource *source, double low, double high) {
    return low * pow(high / low, random_unit(source));
}

int random_below(RandomSource *source, int count) {
    return (int)(random_unit(source) * count);
}

bool random_once_in(RandomSource *source, int count) {
    return random_below(source, count) == 0;
}

// ---- values

typedef enum Mood { TAME, MIXED, WILD } Mood;

typedef struct Builder {
    RandomSource *source;
    OwRig *rig;
    Mood mood;
} Builder;

static double anywhere(RandomSource *source, const OwField *field) {
    const double low = field->low, high = field->high;
    if (field->quantity == OW_Q_TEMPERATURE) {
        return random_between(source, low, high);
    }
    if (low > 0.0 && high > 50.0 * low) {
        return fmin(random_log(source, low, high), high);
    }
    if (low == 0.0 && high > 1.0) {
        return random_once_in(source, 3) ? 0.0 : random_log(source, 1e-6 * high, high);
    }
    return random_between(source, low, high);
}

/// Draws one value: the default, near it, anywhere, or an end of the range.
static double draw(const Builder *b, const OwField *field) {
    static const int chances[3][3] = {
        {65, 100, 100}, {45, 85, 95}, {20, 45, 85}}; // below: default, near, anywhere; else an end
    RandomSource *source = b->source;
    const int *chance = chances[b->mood];
    const int roll = random_below(source, 100);
    double value = field->fallback;
    if (roll < chance[0]) {
        return value;
    }
    if (roll < chance[1]) {
        value = field->quantity == OW_Q_TEMPERATURE ? value + random_between(source, -15.0, 15.0)
                                                    : value * random_log(source, 0.4, 2.5);
    } else if (roll < chance[2]) {
        value = anywhere(source, field);
    } else {
        value = random_once_in(source, 2) ? field->low : field->high;
    }
    return fmin(fmax(value, field->low), field->high);
}

static void vary(const Builder *b, OwFieldTable table, void *base) {
    for (int i = 0; i < table.count; i++) {
        const OwField *field = &table.rows[i];
        switch (field->type) {
        case OW_FIELD_REAL:
            if (!(field->none && field->fallback == 0.0 && random_below(b->source, 3) != 0)) {
                ow_field_store(field, base, draw(b, field));
            }
            break;
        case OW_FIELD_FLAG:
            if (random_once_in(b->source, 4)) {
                ow_field_store(field, base, random_below(b->source, 2));
            }
            break;
        case OW_FIELD_CHOICE:
            if (random_once_in(b->source, 3)) {
                int count = 0;
                while (field->choices[count] != NULL) {
                    count++;
                }
                ow_field_store(field, base, random_below(b->source, count));
            }
            break;
        case OW_FIELD_COUNT:
        case OW_FIELD_TEXT:
            break; // set by hand where it matters
        }
    }
}

static void add_elements(const Builder *b, OwElements *elements, int count) {
    elements->count = count;
    for (int i = 0; i < count; i++) {
        OwElement *element = &elements->items[i];
        ow_element_default(element, i);
        vary(b, ow_element_fields(), element);
        element->has_thermostat = random_below(b->source, 3) != 0;
        if (element->has_thermostat) {
            vary(b, ow_thermostat_fields(), element);
            if (!(element->thermostat_off_k > element->thermostat_on_k)) {
                const double gap = random_log(b->source, b->mood == WILD ? 1e-3 : 1.0, 30.0);
                element->thermostat_on_k = fmax(element->thermostat_off_k - gap, C(-40));
            }
        }
    }
}

// ---- parts

static int add(Builder *b, const char *word) {
    const OwKindWord *kind = ow_kind_words();
    while (strcmp(kind->word, word) != 0) {
        kind++;
    }
    const int index = b->rig->part_count++;
    OwPart *part = &b->rig->parts[index];
    ow_part_default_word(kind, part);
    snprintf(part->name, sizeof part->name, "%s %d", word, index);
    vary(b, ow_common_fields(), part);
    vary(b, kind->fields, part);
    RandomSource *source = b->source;
    switch (part->kind) {
    case OW_PART_RUN:
        if (random_once_in(source, 4)) {
            part->as.run.cells = random_once_in(source, 300) ? 5000 : 1 + random_below(source, 60);
        }
        break;
    case OW_PART_CHAMBER:
        part->as.chamber.cells = 1 + random_below(source, 8);
        add_elements(b, &part->as.chamber.elements,
                     random_once_in(source, 4) ? random_below(source, OW_MAX_ELEMENTS + 1) : 1);
        break;
    case OW_PART_FILTER:
        add_elements(b, &part->as.filter.elements,
                     random_once_in(source, 3) ? 1 + random_below(source, 2) : 0);
        break;
    case OW_PART_TANK:
        add_elements(b, &part->as.tank.elements, random_once_in(source, 3) ? 1 + random_below(source, 2) : 0);
        break;
    case OW_PART_ELECTRIC_PUMP:
        if (random_once_in(source, 4)) {
            OwElectricPump *pump = &part->as.electric_pump;
            pump->curve_count = 2 + random_below(source, OW_MAX_CURVE - 1);
            const double bow = random_log(source, 0.3, 3.0);
            for (int i = 0; i < pump->curve_count; i++) {
                const double u = (double)i / (pump->curve_count - 1);
                pump->curve_flow_m3_s[i] = pump->free_flow_m3_s * u;
                pump->curve_pa[i] = pump->stall_pa * (1.0 - pow(u, bow));
            }
        }
        break;
    default:
        break;
    }
    return index;
}

static int add_valve(Builder *b, int ways) {
    const int index = add(b, "valve");
    OwValve *valve = &b->rig->parts[index].as.valve;
    if (ways == 3) {
        static const char *const names[] = {"first", "second", "both", "shut"};
        valve->ways = 3;
        valve->position_count = 2 + random_below(b->source, 3);
        for (int i = 0; i < valve->position_count; i++) {
            snprintf(valve->position[i], OW_NAME_SIZE, "%s", names[i]);
            valve->opens_a[i] = i == 0 || i == 2;
            valve->opens_b[i] = i == 1 || i == 2;
        }
    }
    valve->start_position = random_once_in(b->source, 4) ? random_below(b->source, valve->position_count) : 0;
    return index;
}

static void join(Builder *b, int part_a, int port_a, int part_b, int port_b) {
    if (b->rig->joint_count < MOST_JOINTS) {
        b->rig->joints[b->rig->joint_count++] = (OwJoint){part_a, port_a, part_b, port_b};
    }
}

/// The open end of a line that grows.
typedef struct End {
    int part, port;
} End;

static End lead(Builder *b, End end, int part) {
    join(b, end.part, end.port, part, 0);
    return (End){part, 1};
}

static bool has_room(const Builder *b) {
    return b->rig->part_count < MOST_PARTS - 16;
}

/// A relief valve from one end to another place.
static void relieve(Builder *b, End from, End to) {
    const int relief = add(b, "relief valve");
    join(b, from.part, from.port, relief, 0);
    join(b, relief, 1, to.part, to.port);
}

/// Two or three filters side by side, between tees or on shared ports.
static End parallel(Builder *b, End end, const char *word) {
    if (random_once_in(b->source, 2)) {
        const int split = add(b, "tee"), meet = add(b, "tee");
        const int one = add(b, word), two = add(b, random_once_in(b->source, 3) ? "check valve" : word);
        join(b, end.part, end.port, split, 0);
        join(b, split, 1, one, 0);
        join(b, split, 2, two, 0);
        join(b, one, 1, meet, 0);
        join(b, two, 1, meet, 2);
        return (End){meet, 1};
    }
    const int count = 2 + random_below(b->source, 2);
    const int after = add(b, "hose");
    for (int i = 0; i < count; i++) {
        const int branch = add(b, word);
        join(b, end.part, end.port, branch, 0);
        join(b, branch, 1, after, 0);
    }
    return (End){after, 1};
}

/// One more thing on the way to the pump.
static End grow(Builder *b, End end) {
    static const char *const words[] = {"hose",          "hose",          "hose",        "tube",
                                        "electric pump", "electric pump", "filter",      "filter",
                                        "chamber",       "chamber",       "lift pump",   "screen",
                                        "screen",        "exchanger",     "check valve", "orifice"};
    const int roll = random_below(b->source, 22);
    if (roll < 16) {
        return lead(b, end, add(b, words[roll]));
    }
    switch (roll) {
    case 16: { // trace-heated hose
        const int hose = add(b, "hose");
        b->rig->parts[hose].as.run.trace_w_m = random_log(b->source, 1.0, 500.0);
        return lead(b, end, hose);
    }
    case 17: { // hose along the coolant line
        const int hose = add(b, "hose");
        b->rig->parts[hose].as.run.coolant_w_mk = random_log(b->source, 0.1, 200.0);
        return lead(b, end, hose);
    }
    case 18:
        return parallel(b, end, "filter");
    case 19: { // pump with a check valve round it
        const int pump = add(b, "electric pump"), round = add(b, "check valve");
        join(b, end.part, end.port, round, 0);
        const End after = lead(b, end, pump);
        join(b, round, 1, after.part, after.port);
        return after;
    }
    case 20: { // pump with its own relief valve
        const int pump = add(b, "electric pump");
        const End after = lead(b, end, pump);
        relieve(b, after, (End){pump, 0});
        return after;
    }
    default: { // two-way valve
        const int valve = add_valve(b, 2);
        return lead(b, end, valve);
    }
    }
}

static End tank_line(Builder *b, int tank) {
    return lead(b, (End){tank, 0}, add(b, random_once_in(b->source, 3) ? "tube" : "hose"));
}

/// Return parts: short lines, now and then with something in them.
static End grow_back(Builder *b, End end) {
    static const char *const words[] = {"hose",        "hose",    "hose",      "tube",
                                        "check valve", "orifice", "exchanger", "relief valve"};
    const int part = add(b, words[random_below(b->source, 8)]);
    return lead(b, end, part);
}

static void add_rule(Builder *b, OwTrigger trigger, int target, int element, int position) {
    if (b->rig->rule_count == MOST_RULES) {
        return;
    }
    RandomSource *source = b->source;
    OwRule *rule = &b->rig->rules[b->rig->rule_count++];
    *rule = (OwRule){.trigger = trigger,
                     .target = target,
                     .element = element,
                     .position = position,
                     .watch = OW_WATCH_COOLANT,
                     .level_k = C(random_between(source, -20.0, 100.0)),
                     .delay_s = random_once_in(source, 5) ? 0.0 : random_log(source, 1.0, 1000.0)};
    if (random_below(source, 3) != 0) {
        const int watch = random_below(source, b->rig->part_count);
        if (ow_part_holds_oil(b->rig->parts[watch].kind)) {
            rule->watch = watch;
        }
    }
}

static void add_random_rule(Builder *b) {
    RandomSource *source = b->source;
    const int target = random_below(source, b->rig->part_count);
    OwPart *part = &b->rig->parts[target];
    const OwElements *elements = ow_part_elements(part);
    const OwTrigger trigger = (OwTrigger)random_below(source, 5);
    if (part->kind == OW_PART_VALVE) {
        add_rule(b, trigger, target, -1, random_below(source, part->as.valve.position_count));
    } else if (part->kind == OW_PART_ELECTRIC_PUMP) {
        add_rule(b, trigger, target, -1, random_below(source, 2));
    } else if (elements != NULL && elements->count > 0) {
        add_rule(b, trigger, target, random_below(source, elements->count), random_below(source, 2));
    }
}

// ---- the rest of the rig

static void one_fluid(Builder *b, OwOilSpec *spec) {
    RandomSource *source = b->source;
    int count = 0;
    while (ow_oil_names()[count] != NULL) {
        count++;
    }
    memset(spec, 0, sizeof *spec);
    snprintf(spec->name, sizeof spec->name, "%s", ow_oil_names()[random_below(source, count)]);
    switch (random_below(source, 6)) {
    case 0: { // measured: falls by a factor from point to point
        snprintf(spec->name, sizeof spec->name, "measured");
        spec->point_count = 2 + random_below(source, 3);
        double t = random_between(source, 0.0, 30.0), v = random_log(source, 3e-6, 3e-4);
        for (int i = 0; i < spec->point_count; i++) {
            spec->points[i] = (OwViscosityPoint){C(t), v};
            const double step = random_between(source, 10.0, 30.0);
            t += step;
            v = fmax(v * exp(-0.03 * step), 0.6e-6);
        }
        break;
    }
    case 1:
    case 2: // blend of two
        spec->blend_count = 2;
        memcpy(spec->blend_name[0], spec->name, sizeof spec->blend_name[0]);
        do {
            snprintf(spec->blend_name[1], sizeof spec->blend_name[1], "%s",
                     ow_oil_names()[random_below(source, count)]);
        } while (strcmp(spec->blend_name[0], spec->blend_name[1]) == 0);
        spec->blend_fraction[0] = random_once_in(source, 6) ? 1.0 : random_between(source, 0.01, 0.99);
        spec->blend_fraction[1] = 1.0 - spec->blend_fraction[0];
        snprintf(spec->name, sizeof spec->name, "mix");
        break;
    case 3:
        spec->used_factor = random_between(source, 1.0, 3.0);
        break;
    default:
        break;
    }
}

static void sections(Builder *b, bool is_long) {
    RandomSource *source = b->source;
    OwRig *rig = b->rig;
    for (const OwSection *section = ow_sections(); section->name != NULL; section++) {
        vary(b, section->fields, (char *)rig + section->offset);
    }
    rig->climate.ambient_k = C(random_once_in(source, 50) ? random_between(source, -50.0, 60.0)
                                                          : random_between(source, -30.0, 40.0));
    OwEngine *engine = &rig->engine;
    engine->rated_speed_rad_s = fmax(engine->rated_speed_rad_s, 53.0);
    engine->idle_speed_rad_s = fmin(engine->idle_speed_rad_s, 0.9 * engine->rated_speed_rad_s);
    engine->crank_speed_rad_s = fmin(engine->crank_speed_rad_s, 0.9 * engine->idle_speed_rad_s);
    engine->thermostat_full_k = fmax(engine->thermostat_full_k, engine->thermostat_open_k + 1.0);
    OwDriveSpec *drive = &rig->drive;
    drive->ready_wait_s = fmin(drive->ready_wait_s, 600.0);
    drive->earliest_start_s = fmin(drive->earliest_start_s, drive->ready_wait_s);
    drive->attempts = 1 + random_below(source, random_once_in(source, 20) ? 50 : 4);
    drive->leg_count = 1 + random_below(source, random_once_in(source, 20) ? OW_MAX_LEGS : 6);
    for (int i = 0; i < drive->leg_count; i++) {
        OwLeg *leg = &drive->legs[i];
        memset(leg, 0, sizeof *leg);
        ow_fields_default(ow_leg_fields(), leg);
        vary(b, ow_leg_fields(), leg);
        snprintf(leg->name, sizeof leg->name, "leg %d", i + 1);
        leg->speed_m_s =
            random_once_in(source, 4) ? 0.0 : random_between(source, 0.0, b->mood == WILD ? 60.0 : 30.0);
        leg->engine_off = i > 0 && random_once_in(source, 6);
        leg->speed_m_s = leg->engine_off ? 0.0 : leg->speed_m_s;
        leg->duration_s = random_log(source, 0.1, is_long ? 1800.0 : 600.0);
        if (is_long && random_once_in(source, 200)) {
            leg->duration_s = random_log(source, 3600.0, 604800.0);
        }
    }
    if (random_once_in(source, 3)) { // another gearbox
        OwVehicle *vehicle = &rig->vehicle;
        vehicle->gear_count = 1 + random_below(source, 8);
        double gear = random_log(source, 0.005, 0.05);
        for (int i = 0; i < vehicle->gear_count; i++) {
            vehicle->gear_m_s_per_rad_s[i] = gear;
            gear *= random_between(source, 1.05, 1.5);
        }
    }
}

/// What comes back from the pump: to a tank, into the supply, or through a valve that chooses.
static void lead_back(Builder *b, End back, const int *tanks, int tank_count, End loop) {
    RandomSource *source = b->source;
    for (int i = random_below(source, 3); i > 0; i--) {
        back = grow_back(b, back);
    }
    const End home = {tanks[0], 1}, other = {tanks[tank_count - 1], 1};
    switch (random_below(source, 6)) {
    case 0: // loop into the supply, nothing to the tank
        back = lead(b, back, add(b, "hose"));
        join(b, back.part, back.port, loop.part, loop.port);
        break;
    case 1:
    case 2: { // loop or return by a valve
        const int valve = add_valve(b, 3);
        join(b, back.part, back.port, valve, 0);
        const End round =
            lead(b, (End){valve, 1}, add(b, random_once_in(source, 2) ? "hose" : "check valve"));
        join(b, round.part, round.port, loop.part, loop.port);
        const End out = lead(b, (End){valve, 2}, add(b, "hose"));
        join(b, out.part, out.port, other.part, other.port);
        add_rule(b, OW_TRIGGER_ABOVE, valve, -1, 1);
        add_rule(b, OW_TRIGGER_BELOW, valve, -1, 0);
        break;
    }
    case 3: { // change-over of the return, as the supply changes
        const int valve = add_valve(b, 3);
        join(b, back.part, back.port, valve, 0);
        join(b, valve, 1, home.part, home.port);
        join(b, valve, 2, other.part, other.port);
        add_rule(b, OW_TRIGGER_ABOVE, valve, -1, 1);
        break;
    }
    case 4: // both ways at once, an orifice each
        for (int i = 0; i < 2; i++) {
            const End way = lead(b, back, add(b, "orifice"));
            const End to = i == 0 ? loop : home;
            join(b, way.part, way.port, to.part, to.port);
        }
        break;
    default:
        back = lead(b, back, add(b, random_once_in(source, 2) ? "hose" : "tube"));
        join(b, back.part, back.port, home.part, home.port);
        break;
    }
}

static void lay_out(Builder *b) {
    RandomSource *source = b->source;
    int tanks[2] = {add(b, "tank"), -1};
    const int tank_count = random_once_in(source, 3) ? 2 : 1;
    End end = tank_line(b, tanks[0]);
    if (tank_count == 2) {
        tanks[1] = add(b, "tank");
        const int fluid = random_below(source, b->rig->fluid_count);
        (void)ow_text_copy(b->rig->parts[tanks[1]].as.tank.fluid, OW_NAME_SIZE, b->rig->fluid_name[fluid]);
        const End second = tank_line(b, tanks[1]);
        const int valve = add_valve(b, 3), after = add(b, "hose");
        join(b, end.part, end.port, valve, 1);
        join(b, second.part, second.port, valve, 2);
        join(b, valve, 0, after, 0);
        end = (End){after, 1};
        add_rule(b, OW_TRIGGER_ABOVE, valve, -1, random_below(source, 2));
        add_rule(b, OW_TRIGGER_BEFORE_STOP, valve, -1, random_below(source, 2));
    }
    End loop = end;
    for (int i = random_below(source, 8); i > 0 && has_room(b); i--) {
        end = grow(b, end);
        if (random_once_in(source, 3)) {
            loop = end;
        }
    }
    if (random_once_in(source, 8) && has_room(b)) {
        relieve(b, end, (End){tanks[0], 1});
    }
    const int pump = add(b, "injection pump");
    join(b, end.part, end.port, pump, 0);
    lead_back(b, (End){pump, 1}, tanks, tank_count, loop);
    if (!random_once_in(source, 5)) {
        const int injectors = add(b, "injectors");
        switch (random_below(source, 4)) {
        case 0:
            break; // leak-off goes nowhere
        case 1:
            join(b, injectors, 0, pump, 1);
            break;
        case 2:
            join(b, injectors, 0, loop.part, loop.port);
            break;
        default: {
            const int hose = add(b, "hose");
            join(b, injectors, 0, hose, 0);
            join(b, hose, 1, tanks[tank_count - 1], 1);
        }
        }
    }
    for (int i = random_below(source, 3); i > 0; i--) {
        int warms = random_below(source, b->rig->part_count);
        while (!ow_part_holds_oil(b->rig->parts[warms].kind)) {
            warms = (warms + 1) % b->rig->part_count;
        }
        b->rig->parts[add(b, "coolant coil")].as.coil.warms = warms;
    }
    for (int i = random_below(source, 4); i > 0; i--) {
        add_random_rule(b);
    }
}

/// Wires the rig as the program would by itself, then varies what it runs on and what the wires are.
static OwStatus add_wiring(Builder *b) {
    RandomSource *source = b->source;
    OwElectricSpec *spec = ow_arena_take(b->rig->arena, 1, sizeof *spec);
    if (spec == NULL) {
        return OW_ERROR_MEMORY;
    }
    b->rig->electrics.battery_v = random_once_in(source, 4) ? 24.0 : 12.0;
    b->rig->electrics.battery_c =
        fmax(b->rig->electrics.battery_c, 20.0 * 3600.0); // smaller ones crank nothing
    const OwStatus status = ow_electric_derive(b->rig, spec);
    if (status != OW_OK) {
        return status == OW_ERROR_RANGE ? OW_OK : status; // more loads than a board feeds: left unwired
    }
    OwBatterySpec *battery = &spec->battery;
    battery->charge =
        random_once_in(source, 8) ? random_between(source, 0.0, 0.2) : random_between(source, 0.3, 1.0);
    battery->age = random_unit(source);
    battery->count = 1 + random_below(source, random_once_in(source, 4) ? 4 : 1);
    battery->place = (OwPlace)random_below(source, 4);
    spec->alternator.is_fitted = !random_once_in(source, 8);
    spec->alternator.rated_a *= random_log(source, 0.5, 3.0); // never below what it gives at idle
    spec->alternator.pulley_ratio *= random_log(source, 0.5, 2.0);
    spec->crank_a *= random_log(source, 0.5, 2.0);
    spec->main.length_m = random_log(source, 0.1, 10.0);
    for (int i = 0; i < spec->circuit_count; i++) {
        OwCircuitSpec *circuit = &spec->circuits[i];
        circuit->length_m *= random_log(source, 0.2, 5.0);
        circuit->joint_ohm *= random_log(source, 0.1, 20.0);
        if (circuit->load != OW_LOAD_STARTER && random_once_in(source, 3)) {
            static const double sizes_mm2[] = {0.5, 1.0, 1.5, 2.5, 4.0, 6.0, 10.0, 16.0}; // IEC 60228
            circuit->area_m2 = 1e-6 * sizes_mm2[random_below(source, 8)];
        }
        if (circuit->part >= 0 && random_once_in(source, 6)) {
            circuit->feed = (OwFeed)random_below(source, OW_FEED_COUNT);
            circuit->has_hold = random_once_in(source, 2);
            circuit->hold_s =
                circuit->has_hold && random_once_in(source, 2) ? random_log(source, 1.0, 600.0) : 0.0;
        }
    }
    b->rig->electric_spec = spec;
    return OW_OK;
}

OwStatus random_rig(RandomSource *source, bool is_long, OwRig **out) {
    OwRig *rig = NULL;
    OwStatus status = ow_rig_create(&rig);
    if (status != OW_OK) {
        return status;
    }
    snprintf(rig->file, sizeof rig->file, "random");
    snprintf(rig->name, sizeof rig->name, "random rig");
    rig->parts = ow_arena_take(rig->arena, MOST_PARTS, sizeof *rig->parts);
    rig->joints = ow_arena_take(rig->arena, MOST_JOINTS, sizeof *rig->joints);
    rig->rules = ow_arena_take(rig->arena, MOST_RULES, sizeof *rig->rules);
    if (rig->parts == NULL || rig->joints == NULL || rig->rules == NULL) {
        ow_rig_destroy(&rig);
        return OW_ERROR_MEMORY;
    }
    const int mood = random_below(source, 12);
    Builder b = {source, rig, mood < 4 ? TAME : mood < 9 ? MIXED : WILD};
    rig->fluid_count = random_once_in(source, 4) ? 2 : 1;
    for (int f = 0; f < rig->fluid_count; f++) {
        snprintf(rig->fluid_name[f], OW_NAME_SIZE, "fluid %d", f + 1);
        one_fluid(&b, &rig->fluid_spec[f]);
    }
    sections(&b, is_long);
    lay_out(&b);
    status = random_once_in(source, 4) ? add_wiring(&b) : OW_OK;
    if (status != OW_OK) {
        ow_rig_destroy(&rig);
        return status;
    }
    *out = rig;
    return OW_OK;
}

void random_rig_print(const OwRig *rig, FILE *out) {
    fprintf(out, "ambient %.2f degC, %d fluids (%s%s%s), %d legs of kind %d\n",
            rig->climate.ambient_k - OW_ZERO_CELSIUS_K, rig->fluid_count, rig->fluid_spec[0].name,
            rig->fluid_count > 1 ? ", " : "", rig->fluid_count > 1 ? rig->fluid_spec[1].name : "",
            rig->drive.leg_count, (int)rig->drive.kind);
    for (int p = 0; p < rig->part_count; p++) {
        const OwPart *part = &rig->parts[p];
        fprintf(out, "part %d %s\n", p, part->name);
        const OwFieldTable table = ow_kind_word_of(part)->fields;
        for (int i = 0; i < table.count; i++) {
            if (table.rows[i].type == OW_FIELD_TEXT) {
                continue;
            }
            const double value = ow_field_real(&table.rows[i], part);
            if (value != table.rows[i].fallback) {
                char text[64];
                ow_field_write(&table.rows[i], value, OW_DISPLAY_METRIC, text, sizeof text);
                fprintf(out, "    %s: %s (%.17g)\n", table.rows[i].key, text, value);
            }
        }
        const OwElements *elements = ow_part_elements_const(part);
        for (int e = 0; elements != NULL && e < elements->count; e++) {
            const OwElement *x = &elements->items[e];
            fprintf(out, "    heater %g W at %g V, %g W/K (%g to oil), %g J/K", x->power_w, x->rated_v,
                    x->conductance_w_k, x->to_oil, x->heat_capacity_j_k);
            if (x->has_thermostat) {
                fprintf(out, ", opens %.4f closes %.4f lag %g s", x->thermostat_off_k, x->thermostat_on_k,
                        x->thermostat_lag_s);
            }
            fprintf(out, "\n");
        }
    }
    for (int j = 0; j < rig->joint_count; j++) {
        const OwJoint *joint = &rig->joints[j];
        const OwPart *a = &rig->parts[joint->part_a], *b = &rig->parts[joint->part_b];
        fprintf(out, "joint %s.%s - %s.%s\n", a->name, ow_part_port_name(a->kind, joint->port_a), b->name,
                ow_part_port_name(b->kind, joint->port_b));
    }
    for (int r = 0; r < rig->rule_count; r++) {
        const OwRule *rule = &rig->rules[r];
        fprintf(out, "rule: trigger %d watch %d level %.2f K delay %.2f s sets %s heater %d to %d\n",
                (int)rule->trigger, rule->watch, rule->level_k, rule->delay_s, rig->parts[rule->target].name,
                rule->element, rule->position);
    }
}
