// SPDX-License-Identifier: GPL-3.0-or-later
// GET /api/catalogue: everything the edit forms need, from the tables that read the file.
#include <stdio.h>
#include <string.h>

#include "page_impl.h"
#include "rig/catalogue.h"
#include "rig/edit.h"
#include "rig/read_electrics.h"
#include "terms.h"

/// What to offer beside a number, as the file reads it: metric first, then US.
static const char *const units_of[OW_Q_COUNT][6] = {
    [OW_Q_NUMBER] = {"%"},
    [OW_Q_LENGTH] = {"mm", "m", "in", "ft"},
    [OW_Q_AREA] = {"m2", "cm2", "mm2", "in2", "ft2"},
    [OW_Q_VOLUME] = {"L", "mL", "US gal", "US qt"},
    [OW_Q_MASS] = {"kg", "g", "lb", "oz"},
    [OW_Q_TIME] = {"s", "min", "h"},
    [OW_Q_SPEED] = {"km/h", "m/s", "mph"},
    [OW_Q_TEMPERATURE] = {"degC", "degF"},
    [OW_Q_TEMPERATURE_DIFFERENCE] = {"K", "degF"},
    [OW_Q_PRESSURE] = {"kPa", "bar", "psi", "inHg"},
    [OW_Q_VOLUME_FLOW] = {"L/h", "L/min", "US gal/h"},
    [OW_Q_POWER] = {"W", "kW", "hp"},
    [OW_Q_ENERGY] = {"kJ", "Wh"},
    [OW_Q_VOLTAGE] = {"V"},
    [OW_Q_CURRENT] = {"A"},
    [OW_Q_RESISTANCE] = {"ohm", "mohm"},
    [OW_Q_CHARGE] = {"Ah"},
    [OW_Q_KINEMATIC_VISCOSITY] = {"mm2/s", "cSt"},
    [OW_Q_DYNAMIC_VISCOSITY] = {"mPa s", "cP"},
    [OW_Q_DENSITY] = {"kg/m3", "lb/US gal"},
    [OW_Q_SPECIFIC_HEAT] = {"J/(kg K)", "BTU/(lb degF)"},
    [OW_Q_CONDUCTIVITY] = {"W/(m K)"},
    [OW_Q_CONDUCTANCE] = {"W/K"},
    [OW_Q_HEAT_CAPACITY] = {"J/K", "kJ/K"},
    [OW_Q_HEATING_VALUE] = {"MJ/kg"},
    [OW_Q_ROTATION] = {"rpm"},
    [OW_Q_PERMEABILITY] = {"m2", "um2"},
    [OW_Q_PER_AREA_CONDUCTANCE] = {"W/(m2 K)"},
    [OW_Q_MASS_FLOW] = {"kg/s", "kg/min"},
    [OW_Q_POWER_PER_LENGTH] = {"W/m", "W/ft"},
    [OW_Q_FLOW_RESISTANCE] = {"kPa/(L/h)", "psi/(US gal/h)"},
};

static json_t *words_of(const char *const *words) {
    json_t *list = json_array();
    for (int i = 0; words[i] != NULL; i++) {
        (void)json_array_append_new(list, json_string(words[i]));
    }
    return list;
}

static json_t *both_texts(const OwField *field, double value) {
    char metric[64], us[64];
    ow_field_write(field, value, OW_DISPLAY_METRIC, metric, sizeof metric);
    ow_field_write(field, value, OW_DISPLAY_US, us, sizeof us);
    return json_pack("{s:s, s:s}", "metric", metric, "us", us);
}

static json_t *range_text(const OwField *field) {
    const OwField plain = {.type = field->type, .quantity = field->quantity};
    char text[2][140];
    for (int d = 0; d < 2; d++) {
        char low[64], high[64];
        ow_field_write(&plain, field->low, d == 0 ? OW_DISPLAY_METRIC : OW_DISPLAY_US, low, sizeof low);
        ow_field_write(&plain, field->high, d == 0 ? OW_DISPLAY_METRIC : OW_DISPLAY_US, high, sizeof high);
        (void)snprintf(text[d], sizeof text[d], "%s to %s", low, high);
    }
    return json_pack("{s:s, s:s}", "metric", text[0], "us", text[1]);
}

static json_t *field_json(const OwField *field) {
    static const char *const types[] = {"real", "count", "flag", "choice", "text"};
    const bool is_number = field->type == OW_FIELD_REAL || field->type == OW_FIELD_COUNT;
    json_t *o =
        json_pack("{s:s, s:s, s:s, s:o, s:b}", "key", field->key, "type", types[field->type], "quantity",
                  ow_quantity_key(field->quantity), "bare_unit",
                  field->bare != NULL ? json_string(field->bare) : json_null(), "none", (int)field->none);
    (void)json_object_set_new(o, "default",
                              field->type == OW_FIELD_TEXT ? json_string("") : json_real(field->fallback));
    (void)json_object_set_new(o, "default_text", both_texts(field, field->fallback));
    (void)json_object_set_new(o, "low", is_number ? json_real(field->low) : json_null());
    (void)json_object_set_new(o, "high", is_number ? json_real(field->high) : json_null());
    (void)json_object_set_new(o, "range_text", is_number ? range_text(field) : json_null());
    (void)json_object_set_new(o, "choices", field->choices != NULL ? words_of(field->choices) : json_null());
    (void)json_object_set_new(
        o, "units", field->type == OW_FIELD_REAL ? words_of(units_of[field->quantity]) : json_array());
    (void)json_object_set_new(o, "doc", json_string(field->doc));
    return o;
}

static json_t *table_json(OwFieldTable table) {
    json_t *list = json_array();
    for (int i = 0; i < table.count; i++) {
        (void)json_array_append_new(list, field_json(&table.rows[i]));
    }
    return list;
}

static json_t *special_json(const OwSpecialKey *special) {
    json_t *list = json_array();
    for (; special != NULL && special->key != NULL; special++) {
        (void)json_array_append_new(list, json_pack("{s:s, s:s}", "key", special->key, "doc", special->doc));
    }
    return list;
}

static json_t *kind_json(const OwKindWord *word) {
    json_t *ports = json_array();
    bool has_heaters = false;
    for (int i = 0; i < ow_part_port_count(word->kind); i++) {
        (void)json_array_append_new(ports, json_string(ow_part_port_name(word->kind, i)));
    }
    for (const OwSpecialKey *s = word->special; s != NULL && s->key != NULL; s++) {
        has_heaters = has_heaters || strcmp(s->key, "heaters") == 0;
    }
    return json_pack("{s:s, s:s, s:s, s:o, s:s, s:b, s:b, s:o, s:o}", "word", word->word, "kind",
                     ow_part_kind_name(word->kind), "about", word->doc, "ports", ports, "place",
                     ow_place_names[word->place], "in_line", (int)ow_edit_is_in_line(word->word),
                     "has_heaters", (int)has_heaters, "fields", table_json(word->fields), "special",
                     special_json(word->special));
}

static json_t *materials_json(void) {
    json_t *list = json_array();
    for (int i = 0; i < OW_MATERIAL_COUNT; i++) {
        const OwMaterialData *m = ow_material((OwMaterial)i);
        (void)json_array_append_new(list, json_pack("{s:s, s:f, s:f, s:f, s:f}", "name", m->name,
                                                    "density_kg_m3", m->density_kg_m3, "specific_heat_j_kgk",
                                                    m->specific_heat_j_kgk, "conductivity_w_mk",
                                                    m->conductivity_w_mk, "rating_k", m->rating_k));
    }
    return list;
}

static json_t *terms_json(void) {
    json_t *list = json_array();
    for (int i = 0; i < ow_page_term_count; i++) {
        (void)json_array_append_new(
            list, json_pack("{s:s, s:s}", "word", ow_page_terms[i].word, "about", ow_page_terms[i].about));
    }
    return list;
}

void ow_api_catalogue(OwCall *call) {
    json_t *kinds = json_array(), *sections = json_array(), *oils = json_array(), *tables = json_object();
    for (const OwElectricTable *t = ow_electric_tables(); t->title != NULL; t++) {
        (void)json_object_set_new(tables, t->title, table_json(t->fields));
    }
    for (const OwKindWord *word = ow_kind_words(); word->word != NULL; word++) {
        (void)json_array_append_new(kinds, kind_json(word));
    }
    for (const OwSection *s = ow_sections(); s->name != NULL; s++) {
        (void)json_array_append_new(sections, json_pack("{s:s, s:s, s:o, s:o}", "name", s->name, "about",
                                                        s->doc, "fields", table_json(s->fields), "special",
                                                        special_json(s->special)));
    }
    for (const char *const *name = ow_oil_names(); *name != NULL; name++) {
        (void)json_array_append_new(oils, json_pack("{s:s}", "name", *name));
    }
    ow_call_answer(
        call, 200,
        json_pack("{s:o, s:o, s:o, s:o, s:o, s:o, s:o, s:o, s:o, s:o}", "tables", tables, "kinds", kinds,
                  "common", table_json(ow_common_fields()), "heater", table_json(ow_element_fields()),
                  "thermostat", table_json(ow_thermostat_fields()), "leg", table_json(ow_leg_fields()),
                  "sections", sections, "materials", materials_json(), "oils", oils, "terms", terms_json()));
}
