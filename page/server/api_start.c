// SPDX-License-Identifier: GPL-3.0-or-later
// GET /api/start: files, templates, units.
#include <stdio.h>
#include <string.h>

#include "page_impl.h"

static const struct {
    const char *key, *si;
} quantities[OW_Q_COUNT] = {
    [OW_Q_NUMBER] = {"number", "1"},
    [OW_Q_LENGTH] = {"length", "m"},
    [OW_Q_AREA] = {"area", "m2"},
    [OW_Q_VOLUME] = {"volume", "m3"},
    [OW_Q_MASS] = {"mass", "kg"},
    [OW_Q_TIME] = {"time", "s"},
    [OW_Q_SPEED] = {"speed", "m/s"},
    [OW_Q_TEMPERATURE] = {"temperature", "K"},
    [OW_Q_TEMPERATURE_DIFFERENCE] = {"temperature difference", "K"},
    [OW_Q_PRESSURE] = {"pressure", "Pa"},
    [OW_Q_VOLUME_FLOW] = {"volume flow", "m3/s"},
    [OW_Q_POWER] = {"power", "W"},
    [OW_Q_ENERGY] = {"energy", "J"},
    [OW_Q_VOLTAGE] = {"voltage", "V"},
    [OW_Q_CURRENT] = {"current", "A"},
    [OW_Q_RESISTANCE] = {"resistance", "ohm"},
    [OW_Q_CHARGE] = {"charge", "C"},
    [OW_Q_KINEMATIC_VISCOSITY] = {"kinematic viscosity", "m2/s"},
    [OW_Q_DYNAMIC_VISCOSITY] = {"dynamic viscosity", "Pa s"},
    [OW_Q_DENSITY] = {"density", "kg/m3"},
    [OW_Q_SPECIFIC_HEAT] = {"specific heat", "J/(kg K)"},
    [OW_Q_CONDUCTIVITY] = {"conductivity", "W/(m K)"},
    [OW_Q_CONDUCTANCE] = {"conductance", "W/K"},
    [OW_Q_HEAT_CAPACITY] = {"heat capacity", "J/K"},
    [OW_Q_HEATING_VALUE] = {"heating value", "J/kg"},
    [OW_Q_ROTATION] = {"rotation", "rad/s"},
    [OW_Q_PERMEABILITY] = {"permeability", "m2"},
    [OW_Q_PER_AREA_CONDUCTANCE] = {"conductance per area", "W/(m2 K)"},
    [OW_Q_MASS_FLOW] = {"mass flow", "kg/s"},
    [OW_Q_POWER_PER_LENGTH] = {"power per length", "W/m"},
    [OW_Q_FLOW_RESISTANCE] = {"flow resistance", "Pa s/m3"},
};

const char *ow_quantity_key(OwQuantity quantity) {
    return (unsigned)quantity < OW_Q_COUNT && quantities[quantity].key != NULL ? quantities[quantity].key
                                                                               : "number";
}

static json_t *display_of(OwQuantity quantity, OwDisplay display) {
    double factor = 1.0, offset = 0.0;
    const char *label = ow_units_display(quantity, display, &factor, &offset);
    return json_pack("{s:s, s:f, s:f}", "label", label, "factor", factor, "offset", offset);
}

static json_t *all_quantities(void) {
    json_t *all = json_object();
    for (int i = 0; i < OW_Q_COUNT; i++) {
        const OwQuantity q = (OwQuantity)i;
        (void)json_object_set_new(all, ow_quantity_key(q),
                                  json_pack("{s:s, s:o, s:o}", "si", quantities[i].si, "metric",
                                            display_of(q, OW_DISPLAY_METRIC), "us",
                                            display_of(q, OW_DISPLAY_US)));
    }
    return all;
}

json_t *ow_page_templates(void) {
    static const struct {
        const char *key, *title, *about;
    } templates[] = {
        {"single", "Single tank, heated",
         "One tank of plant oil that is warmed on the way to the engine before every start."},
        {"two", "Two tanks",
         "Starts and stops on diesel, changes over to plant oil once engine and oil are warm."},
        {"blend", "Blend only", "Nothing is changed on the vehicle; the oil is thinned with diesel."},
    };
    json_t *list = json_array();
    for (size_t i = 0; i < sizeof templates / sizeof templates[0]; i++) {
        char path[64];
        (void)snprintf(path, sizeof path, "templates/%s.yaml", templates[i].key);
        for (int k = 0; k < ow_page_asset_count; k++) {
            const OwAsset *asset = &ow_page_assets[k];
            if (strcmp(asset->path, path) == 0) {
                (void)json_array_append_new(list, json_pack("{s:s, s:s, s:s, s:s%}", "key", templates[i].key,
                                                            "title", templates[i].title, "about",
                                                            templates[i].about, "text",
                                                            (const char *)asset->data, asset->size));
            }
        }
    }
    return list;
}

void ow_api_start(OwCall *call) {
    const OwPage *page = call->page;
    json_t *verbs = json_array();
    for (const OwJobVerb *verb = ow_job_verbs; verb->name != NULL; verb++) {
        (void)json_array_append_new(verbs, json_string(verb->name));
    }
    ow_call_answer(call, 200,
                   json_pack("{s:i, s:s, s:s, s:b, s:b, s:o, s:o, s:s, s:o, s:o}", "api", OW_PAGE_API,
                             "version", page->settings.version, "folder", page->settings.folder, "can_write",
                             (int)page->settings.can_write, "shared", (int)page->settings.is_shared, "files",
                             ow_page_list_files(page), "templates", ow_page_templates(), "demo", "single",
                             "quantities", all_quantities(), "verbs", verbs));
}
