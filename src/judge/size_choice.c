// SPDX-License-Identifier: GPL-3.0-or-later
// What may be varied: reading a choice, its options from stock within catalogue range, putting one into a
// rig.
#include "base/text.h"
#include "judge/size_impl.h"
#include "rig/catalogue.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

static OwStatus refuse(OwFaults *faults, const char *target, const char *message, const char *remedy) {
    return ow_faults_tell(faults, OW_ERROR_VALUE, OW_FAULT_ERROR, "--vary", target, message, remedy);
}

// Which key of which kind is which list.
static const struct {
    OwPartKind kind;
    const char *key;
    OwStockKind stock;
} keys[] = {
    {OW_PART_RUN, "bore", OW_STOCK_HOSE},
    {OW_PART_RUN, "insulation thickness", OW_STOCK_JACKET},
    {OW_PART_CHAMBER, "power", OW_STOCK_HEATER},
    {OW_PART_FILTER, "power", OW_STOCK_HEATER},
    {OW_PART_TANK, "power", OW_STOCK_HEATER},
    {OW_PART_CHAMBER, "metal mass", OW_STOCK_METAL},
    {OW_PART_CHAMBER, "insulation", OW_STOCK_SLEEVE},
    {OW_PART_TANK, "insulation", OW_STOCK_SLEEVE},
    {OW_PART_TANK, "coolant coil", OW_STOCK_COIL},
    {OW_PART_ELECTRIC_PUMP, "stall pressure", OW_STOCK_STALL},
    {OW_PART_ELECTRIC_PUMP, "free flow", OW_STOCK_FREE_FLOW},
    {OW_PART_FILTER, "area", OW_STOCK_AREA},
    {OW_PART_COOLANT_COIL, "conductance", OW_STOCK_COIL},
    {OW_PART_EXCHANGER, "conductance", OW_STOCK_EXCHANGER},
};
#define KEY_COUNT (sizeof keys / sizeof keys[0])

static OwElements *elements_of(const OwChoice *choice, OwRig *rig) {
    return choice->part >= 0 ? ow_part_elements(&rig->parts[choice->part]) : NULL;
}

static void set_blend(const OwChoice *choice, double share, OwOilSpec *spec) {
    if (choice->thinner < 0) {
        char name[64];
        (void)ow_text_copy(name, sizeof name, spec->name);
        (void)snprintf(spec->name, sizeof spec->name, "blend");
        (void)ow_text_copy(spec->blend_name[0], sizeof spec->blend_name[0], name);
        (void)ow_text_copy(spec->blend_name[1], sizeof spec->blend_name[1], choice->thinner_name);
        spec->blend_fraction[0] = 1.0 - share;
        spec->blend_fraction[1] = share;
        spec->blend_count = 2;
    } else {
        const double rest = 1.0 - spec->blend_fraction[choice->thinner];
        for (int i = 0; i < spec->blend_count; i++) {
            spec->blend_fraction[i] = i == choice->thinner ? share
                                      : rest > 0.0         ? spec->blend_fraction[i] * (1.0 - share) / rest
                                                           : 0.0;
        }
    }
    // What is not in it is left out.
    int kept = 0;
    for (int i = 0; i < spec->blend_count; i++) {
        if (spec->blend_fraction[i] > 1e-9) {
            if (kept != i) {
                memcpy(spec->blend_name[kept], spec->blend_name[i], sizeof spec->blend_name[0]);
            }
            spec->blend_fraction[kept++] = spec->blend_fraction[i];
        }
    }
    spec->blend_count = kept;
    if (kept == 1) {
        memcpy(spec->name, spec->blend_name[0], sizeof spec->name);
        spec->blend_count = 0;
    }
}

void ow_choice_apply_value(const OwChoice *choice, double value, double second, OwRig *rig) {
    OwPart *part = choice->part >= 0 ? &rig->parts[choice->part] : NULL;
    OwElements *elements = elements_of(choice, rig);
    switch (choice->stock) {
    case OW_STOCK_HOSE:
    case OW_STOCK_TUBE:
        part->as.run.bore_m = value;
        part->as.run.wall_m = second > 0.0 ? second : part->as.run.wall_m;
        break;
    case OW_STOCK_HEATER:
        for (int e = 0; elements != NULL && e < elements->count; e++) {
            if (choice->element < 0 || choice->element == e) {
                elements->items[e].power_w = value;
            }
        }
        break;
    case OW_STOCK_METAL:
        part->as.chamber.metal_mass_kg = value;
        break;
    case OW_STOCK_JACKET:
        part->as.run.insulation_m = value;
        break;
    case OW_STOCK_SLEEVE: {
        const double conductance = value > 0.0 ? ow_stock_foam_w_mk() / value : 0.0;
        if (part->kind == OW_PART_TANK) {
            part->as.tank.insulation_w_m2k = conductance;
        } else {
            part->as.chamber.insulation_w_m2k = conductance;
        }
        break;
    }
    case OW_STOCK_STALL:
        part->as.electric_pump.stall_pa = value;
        break;
    case OW_STOCK_FREE_FLOW:
        part->as.electric_pump.free_flow_m3_s = value;
        break;
    case OW_STOCK_AREA: {
        OwFilter *filter = &part->as.filter;
        const double skin = pow(value, 2.0 / 3.0); // a body scaled by volume
        filter->clean_pa /= value;
        filter->dirt_capacity_kg *= value;
        filter->oil_volume_m3 *= value;
        filter->housing_mass_kg *= skin;
        filter->outer_area_m2 *= skin;
        break;
    }
    case OW_STOCK_COIL:
        if (part->kind == OW_PART_TANK) {
            part->as.tank.coil_w_k = value;
        } else {
            part->as.coil.conductance_w_k = value;
            part->as.coil.is_fitted = true;
        }
        break;
    case OW_STOCK_EXCHANGER:
        part->as.exchanger.conductance_w_k = value;
        break;
    default:
        set_blend(choice, value, &rig->fluid_spec[0]);
        break;
    }
}

void ow_choice_apply(const OwChoice *choice, int option, OwRig *rig) {
    if (option == choice->base) {
        return;
    }
    const OwOption *o = &choice->options[option];
    if (choice->kind == OW_CHOICE_LOOP) {
        (void)ow_loop_move(rig, o->index);
    } else if (choice->kind == OW_CHOICE_PUMP) {
        int count = 0;
        const OwPumpClass *class = &ow_stock_pumps(&count)[o->index];
        OwElectricPump *pump = &rig->parts[choice->part].as.electric_pump;
        pump->stall_pa = class->stall_pa;
        pump->free_flow_m3_s = class->free_flow_m3_s;
        pump->half_viscosity_m2_s = class->half_viscosity_m2_s;
        // Classes are listed for 12 V; at another voltage the same power takes its share of the current.
        pump->current_a = class->current_a * 12.0 / pump->rated_v;
        pump->curve_count = 0;
    } else {
        ow_choice_apply_value(choice, o->value, o->second, rig);
    }
}

double ow_choice_value(const OwChoice *choice, const OwRig *rig) {
    const OwPart *part = choice->part >= 0 ? &rig->parts[choice->part] : NULL;
    const OwElements *elements = part != NULL ? ow_part_elements_const(part) : NULL;
    switch (choice->stock) {
    case OW_STOCK_HOSE:
    case OW_STOCK_TUBE:
        return part->as.run.bore_m;
    case OW_STOCK_HEATER: {
        double sum = 0.0;
        int count = 0;
        for (int e = 0; elements != NULL && e < elements->count; e++) {
            if (choice->element < 0 || choice->element == e) {
                sum += elements->items[e].power_w;
                count++;
            }
        }
        return count > 0 ? sum / count : 0.0;
    }
    case OW_STOCK_METAL:
        return part->as.chamber.metal_mass_kg;
    case OW_STOCK_JACKET:
        return part->as.run.insulation_m;
    case OW_STOCK_SLEEVE: {
        const double u =
            part->kind == OW_PART_TANK ? part->as.tank.insulation_w_m2k : part->as.chamber.insulation_w_m2k;
        return u > 0.0 ? ow_stock_foam_w_mk() / u : 0.0;
    }
    case OW_STOCK_STALL:
        return part->as.electric_pump.stall_pa;
    case OW_STOCK_FREE_FLOW:
        return part->as.electric_pump.free_flow_m3_s;
    case OW_STOCK_AREA:
        return 1.0;
    case OW_STOCK_COIL:
        return part->kind == OW_PART_TANK ? part->as.tank.coil_w_k : part->as.coil.conductance_w_k;
    case OW_STOCK_EXCHANGER:
        return part->as.exchanger.conductance_w_k;
    default:
        return choice->thinner >= 0 ? rig->fluid_spec[0].blend_fraction[choice->thinner] : 0.0;
    }
}

double ow_choice_cost(const OwChoice *choice, double value) {
    return choice->price_each * choice->units * ow_stock_points(choice->stock, value);
}

/// Whether the rig stays legal with an option in it; works on a private copy.
static bool is_legal(const OwChoice *choice, int option, OwVariant *scratch, const OwRig *source) {
    OwRig *rig = &scratch->rig;
    memcpy(rig->parts, source->parts, (size_t)source->part_count * sizeof *rig->parts);
    memcpy(rig->joints, source->joints, (size_t)source->joint_count * sizeof *rig->joints);
    memcpy(rig->fluid_spec, source->fluid_spec, sizeof rig->fluid_spec);
    ow_choice_apply(choice, option, rig);
    OwFaults faults = {0};
    const bool legal = ow_rig_check(rig, &faults) == OW_OK;
    ow_faults_clear(&faults);
    return legal;
}

static void label(OwOption *option, const OwChoice *choice, OwDisplay display) {
    if (choice->stock == OW_STOCK_AREA) {
        (void)snprintf(option->label, sizeof option->label, "%.3g x area", option->value);
    } else if (choice->stock == OW_STOCK_BLEND) {
        (void)snprintf(option->label, sizeof option->label, "%.3g %% %.40s", 100.0 * option->value,
                       choice->thinner_name);
    } else if ((choice->stock == OW_STOCK_JACKET || choice->stock == OW_STOCK_SLEEVE) &&
               !(option->value > 0.0)) {
        (void)snprintf(option->label, sizeof option->label, "bare");
    } else {
        char number[48];
        ow_units_write(option->value, choice->quantity, display, number, sizeof number);
        if (choice->units > 1.5 && choice->stock == OW_STOCK_HEATER) {
            (void)snprintf(option->label, sizeof option->label, "%.0f x %s", choice->units, number);
        } else {
            (void)snprintf(option->label, sizeof option->label, "%s", number);
        }
    }
}

/// The stock list with the present size in its place.
static void fill_stock(const OwRig *rig, OwChoice *choice, OwDisplay display) {
    const OwStock *stock = ow_stock(choice->stock);
    const double now = ow_choice_value(choice, rig);
    bool has_base = false;
    choice->quantity = stock->quantity;
    for (int i = 0; i <= stock->count; i++) {
        const bool is_same =
            i < stock->count && fabs(stock->items[i].value - now) <= 0.012 * fabs(now) + 1e-12;
        if (!has_base && (i == stock->count || is_same || stock->items[i].value > now)) {
            choice->base = choice->count;
            choice->options[choice->count++] = (OwOption){.value = now};
            has_base = true;
        }
        if (i < stock->count && !is_same) {
            choice->options[choice->count++] =
                (OwOption){.value = stock->items[i].value,
                           .second = stock->items[i].second,
                           .cost = ow_choice_cost(choice, stock->items[i].value)};
        }
    }
    for (int i = 0; i < choice->count; i++) {
        label(&choice->options[i], choice, display);
    }
}

static void fill_pumps(const OwRig *rig, OwChoice *choice) {
    int count = 0;
    const OwPumpClass *class = ow_stock_pumps(&count);
    const OwElectricPump *now = &rig->parts[choice->part].as.electric_pump;
    choice->base = -1;
    for (int i = 0; i <= count; i++) {
        if (choice->base < 0 && (i == count || class[i].stall_pa * class[i].half_viscosity_m2_s >
                                                   now->stall_pa * now->half_viscosity_m2_s)) {
            choice->base = choice->count;
            choice->options[choice->count] = (OwOption){.index = -1};
            (void)snprintf(choice->options[choice->count++].label, 64, "as fitted");
        }
        const bool is_same = i < count && fabs(class[i].stall_pa / now->stall_pa - 1.0) < 0.01 &&
                             fabs(class[i].free_flow_m3_s / now->free_flow_m3_s - 1.0) < 0.01 &&
                             fabs(class[i].half_viscosity_m2_s / now->half_viscosity_m2_s - 1.0) < 0.01;
        if (i < count && !is_same) {
            choice->options[choice->count] =
                (OwOption){.index = i, .cost = choice->price_each * choice->units * class[i].points};
            (void)snprintf(choice->options[choice->count++].label, 64, "%.60s", class[i].name);
        }
    }
}

#define LOOP_POINTS 2.0 // two cuts and joints: common practice, no source

static OwStatus fill_loop(const OwRig *rig, OwChoice *choice, OwFaults *faults) {
    int path[OW_SIZE_MAX_OPTIONS * 4];
    OwPlan *plan = NULL;
    const int now = ow_loop_point(rig);
    if (now < 0) {
        return refuse(faults, choice->target, "there is no loop that comes in at the side of a tee",
                      "lead the loop to the side of a tee in the supply");
    }
    const OwStatus status = ow_plan_create(rig, &plan, faults);
    if (status != OW_OK) {
        return status;
    }
    const int length = ow_plan_path(plan, path, OW_SIZE_MAX_OPTIONS * 4);
    ow_plan_destroy(&plan);
    choice->base = -1;
    for (int i = 0; i < length && choice->count < OW_SIZE_MAX_OPTIONS; i++) {
        if (path[i] != now && !ow_loop_can(rig, path[i])) {
            continue;
        }
        OwOption *o = &choice->options[choice->count];
        *o = (OwOption){.index = path[i], .cost = path[i] == now ? 0.0 : LOOP_POINTS * choice->price_each};
        (void)snprintf(o->label, sizeof o->label, "before %.56s", rig->parts[path[i]].name);
        choice->base = path[i] == now ? choice->count : choice->base;
        choice->count++;
    }
    if (choice->base < 0) {
        return refuse(faults, choice->target, "the loop does not come in on the way to the pump",
                      "lead it there");
    }
    return OW_OK;
}

static OwStatus read_blend(const OwRig *rig, OwChoice *choice, const char *thinner, OwFaults *faults) {
    const OwOilSpec *spec = &rig->fluid_spec[0];
    OwOilSpec other = {0};
    OwFluid fluid;
    (void)ow_text_copy(other.name, sizeof other.name, thinner);
    const OwStatus known = ow_oil_make(&other, &fluid, faults);
    if (known != OW_OK) {
        return known;
    }
    (void)ow_text_copy(choice->thinner_name, sizeof choice->thinner_name, thinner);
    choice->stock = OW_STOCK_BLEND;
    choice->part = -1;
    choice->thinner = -1;
    OwOilSpec plain = {0};
    memcpy(plain.name, spec->name, sizeof plain.name);
    if (spec->blend_count > 0) {
        for (int i = 0; i < spec->blend_count; i++) {
            choice->thinner = strcmp(spec->blend_name[i], thinner) == 0 ? i : choice->thinner;
        }
        if (choice->thinner < 0) {
            return refuse(faults, choice->target, "the rig's blend has none of that in it",
                          "name a part of its blend, or give the oil as a blend with 1 % of it");
        }
    } else if (memcmp(&plain, spec, sizeof plain) != 0 || ow_oil_make(&plain, &fluid, faults) != OW_OK) {
        return refuse(faults, choice->target, "only a named oil or a blend can be thinned here",
                      "give the oil by name, or as a blend");
    } else if (strcmp(plain.name, thinner) == 0) {
        return refuse(faults, choice->target, "the oil is that already", "name another fuel");
    }
    return OW_OK;
}

/// Drops options that the catalogue's ranges do not allow; the present one stays.
static OwStatus keep_legal(const OwRig *rig, OwChoice *choice) {
    OwVariant *scratch = NULL;
    OwStatus status = ow_variant_create(rig, &scratch);
    if (status != OW_OK) {
        return status;
    }
    OwJoint *joints = ow_arena_take(scratch->arena, (size_t)rig->joint_count + 1, sizeof *joints);
    if (joints == NULL) {
        ow_variant_destroy(&scratch);
        return OW_ERROR_MEMORY;
    }
    scratch->rig.joints = joints;
    bool legal[OW_SIZE_MAX_OPTIONS];
    for (int i = 0; i < choice->count; i++) {
        legal[i] = i == choice->base || is_legal(choice, i, scratch, rig);
    }
    int kept = 0, base = choice->base;
    for (int i = 0; i < choice->count; i++) {
        if (legal[i]) {
            base = i == choice->base ? kept : base;
            choice->options[kept++] = choice->options[i];
        }
    }
    choice->count = kept;
    choice->base = base;
    ow_variant_destroy(&scratch);
    return OW_OK;
}

/// Which part and key a target names; the point that splits them is the last one.
static OwStatus find_part(const OwRig *rig, OwChoice *choice, char *key, size_t key_size, OwFaults *faults) {
    char owner[OW_SIZE_TEXT];
    const char *point = strrchr(choice->target, '.');
    if (point == NULL) {
        return refuse(faults, choice->target, "it names no part and key",
                      "write for example \"supply hose.bore\", \"boost chamber.power\" or \"loop point\"");
    }
    (void)snprintf(owner, sizeof owner, "%.*s", (int)(point - choice->target), choice->target);
    (void)ow_text_copy(key, key_size, point + 1);
    choice->part = ow_rig_find(rig, owner);
    char *slash = strrchr(owner, '/');
    if (choice->part < 0 && slash != NULL) {
        *slash = '\0';
        choice->part = ow_rig_find(rig, owner);
        const OwElements *elements =
            choice->part >= 0 ? ow_part_elements_const(&rig->parts[choice->part]) : NULL;
        for (int e = 0; elements != NULL && e < elements->count; e++) {
            choice->element = strcmp(elements->items[e].name, slash + 1) == 0 ? e : choice->element;
        }
        if (choice->part >= 0 && choice->element < 0) {
            return refuse(faults, choice->target, "the part has no heater of that name",
                          "name one of its heaters");
        }
    }
    if (choice->part < 0) {
        const char *names[OW_SIZE_MAX_COMBINATIONS / 100];
        size_t count = 0;
        for (int i = 0; i < rig->part_count && count < sizeof names / sizeof names[0]; i++) {
            names[count++] = rig->parts[i].name;
        }
        const char *near = ow_text_nearest(owner, names, count);
        char message[256], remedy[160];
        (void)snprintf(message, sizeof message, "there is no part named \"%.80s\"", owner);
        (void)snprintf(remedy, sizeof remedy,
                       near != NULL ? "did you mean %.60s?" : "name a part of the rig%.0s",
                       near != NULL ? near : "");
        return refuse(faults, choice->target, message, remedy);
    }
    return OW_OK;
}

static OwStatus read_key(const OwRig *rig, OwChoice *choice, const char *key, OwFaults *faults) {
    const OwPart *part = &rig->parts[choice->part];
    const OwElements *elements = ow_part_elements_const(part);
    const bool has_curve = part->kind == OW_PART_ELECTRIC_PUMP && part->as.electric_pump.curve_count > 0;
    if (part->kind == OW_PART_ELECTRIC_PUMP && strcmp(key, "class") == 0) {
        choice->kind = OW_CHOICE_PUMP;
        return OW_OK;
    }
    char remedy[256] = "";
    size_t used = 0;
    for (size_t i = 0; i < KEY_COUNT; i++) {
        if (keys[i].kind != part->kind) {
            continue;
        }
        if (strcmp(keys[i].key, key) == 0) {
            choice->stock = keys[i].stock;
            if (choice->stock == OW_STOCK_HOSE && !part->as.run.is_hose) {
                choice->stock = OW_STOCK_TUBE;
            }
            if (choice->stock == OW_STOCK_HEATER && (elements == NULL || elements->count == 0)) {
                return refuse(faults, choice->target, "the part has no heater",
                              "give it one in the rig file");
            }
            if (has_curve) {
                return refuse(faults, choice->target, "the pump has a measured curve",
                              "vary its class instead");
            }
            return OW_OK;
        }
        used += (size_t)snprintf(remedy + used, sizeof remedy - used, "%s%s",
                                 used > 0 ? ", " : "can be: ", keys[i].key);
    }
    char message[256];
    (void)snprintf(message, sizeof message, "\"%.60s\" of this part cannot be varied from stock", key);
    return refuse(faults, choice->target, message, used > 0 ? remedy : "vary another part");
}

void ow_choice_only_more(OwChoice *choice) {
    switch (choice->stock) {
    case OW_STOCK_HOSE:
    case OW_STOCK_TUBE:
    case OW_STOCK_JACKET:
    case OW_STOCK_SLEEVE:
    case OW_STOCK_COIL:
    case OW_STOCK_EXCHANGER:
    case OW_STOCK_AREA:
    case OW_STOCK_BLEND:
        break;
    default:
        return;
    }
    if (choice->kind != OW_CHOICE_STOCK || choice->base == 0) {
        return;
    }
    choice->count -= choice->base;
    memmove(choice->options, choice->options + choice->base, (size_t)choice->count * sizeof *choice->options);
    choice->base = 0;
    choice->has_no_less = true;
}

OwStatus ow_choice_read(const OwRig *rig, const char *target, const OwSizeSettings *settings,
                        OwDisplay display, OwChoice *choice, OwFaults *faults) {
    *choice = (OwChoice){.part = -1, .element = -1, .thinner = -1, .units = 1.0};
    if (!ow_text_copy(choice->target, sizeof choice->target, target)) {
        return refuse(faults, "", "the choice is too long", "160 characters at most");
    }
    choice->price_each = settings->point_price;
    OwStatus status = OW_OK;
    char key[64];
    if (strcmp(target, "loop point") == 0) {
        choice->kind = OW_CHOICE_LOOP;
    } else if (strncmp(target, "oil.blend=", 10) == 0) {
        status = read_blend(rig, choice, target + 10, faults);
    } else {
        status = find_part(rig, choice, key, sizeof key, faults);
        status = status == OW_OK ? read_key(rig, choice, key, faults) : status;
    }
    if (status != OW_OK) {
        return status;
    }
    const OwPart *part = choice->part >= 0 ? &rig->parts[choice->part] : NULL;
    const bool is_stock = choice->kind == OW_CHOICE_STOCK;
    if (is_stock && part != NULL && part->kind == OW_PART_RUN) {
        choice->units = part->as.run.length_m;
    } else if (is_stock && choice->stock == OW_STOCK_HEATER) {
        choice->units = choice->element >= 0 ? 1.0 : ow_part_elements_const(part)->count;
    }
    // A price of the file sets what a point costs where the whole part is exchanged.
    const bool is_whole = choice->kind == OW_CHOICE_PUMP ||
                          (is_stock && part != NULL &&
                           (choice->stock == OW_STOCK_HOSE || choice->stock == OW_STOCK_TUBE ||
                            choice->stock == OW_STOCK_AREA || choice->stock == OW_STOCK_EXCHANGER ||
                            part->kind == OW_PART_COOLANT_COIL));
    if (part != NULL && part->price > 0.0 && is_whole) {
        double points = 0.0;
        if (choice->kind == OW_CHOICE_PUMP) {
            int count = 0;
            const OwPumpClass *class = ow_stock_pumps(&count);
            for (int i = 0; i < count; i++) { // the class nearest below the one that is fitted
                points =
                    i == 0 || class[i].stall_pa <= part->as.electric_pump.stall_pa ? class[i].points : points;
            }
        } else {
            points = ow_stock_points(choice->stock, ow_choice_value(choice, rig));
        }
        choice->price_each = part->price / (points * choice->units);
    }
    if (choice->kind == OW_CHOICE_LOOP) {
        status = fill_loop(rig, choice, faults);
    } else if (choice->kind == OW_CHOICE_PUMP) {
        fill_pumps(rig, choice);
    } else {
        fill_stock(rig, choice, display);
    }
    status = status == OW_OK ? keep_legal(rig, choice) : status;
    if (status == OW_OK && choice->count < 2) {
        status = refuse(faults, choice->target, "nothing in stock fits there", "vary another part");
    }
    return status;
}
