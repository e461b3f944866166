// SPDX-License-Identifier: GPL-3.0-or-later
// Writes the reference of the rig file from the same tables that read it.
#include "rig/catalogue.h"
#include "rig/read_electrics.h"

#include <string.h>

static void write_head(FILE *out) {
    (void)fprintf(out,
                  "# The rig file\n\n"
                  "One vehicle with its fuel path, in YAML (or JSON). This text is written by the program "
                  "from the tables that read the\n"
                  "file. Every quantity carries its unit: `8 mm`, `5/16 in`, `1 min 30 s`, `65 degC`, `150 "
                  "degF`, `46 L/h`, `12 US gal/h`,\n"
                  "`15 mm2/s`, `AWG 12`, `30 %%`. The decimal sign is a point. What is left out takes its "
                  "default. \"Common practice, no\n"
                  "source\" means what it says: measure your own part where it matters.\n\n"
                  "Sections: name, notes, oil, vehicle, engine, climate, drive, parts, lines, electrics, "
                  "controls, limits. Only `parts` must\n"
                  "be there. Anchors, aliases and tags of YAML are not used. A file has at most 1 MiB, 200 "
                  "parts, 400 joints.\n\n"
                  "## oil\n\n"
                  "`oil: rapeseed` names one fluid, called \"oil\". Or describe it:\n\n"
                  "```yaml\n"
                  "oil:\n"
                  "  kind: rapeseed\n"
                  "  viscosity: [{at: 40 degC, is: 38 mm2/s}, {at: 80 degC, is: 12 mm2/s}]   # measured, "
                  "ASTM D341 between and beyond\n"
                  "  density: 915 kg/m3         # at 15 degC\n"
                  "  cloud point: -4 degC\n"
                  "  used: 1.3                  # viscosity over that of fresh oil at 40 degC\n"
                  "```\n\n"
                  "Or a blend by volume, `oil: {blend: {rapeseed: 70 %%, diesel: 30 %%}}`. A rig with two "
                  "tanks names up to %d fluids, each\n"
                  "a name or a description, `oil: {main: rapeseed, start: diesel}`; a tank says which with "
                  "`fluid: start`.\n",
                  OW_MAX_FLUIDS);
    ow_table_write(out, ow_fluid_fields(), ow_fluid_special(), NULL);
}

static void write_parts(FILE *out) {
    (void)fprintf(out, "\n## parts\n\n"
                       "A list in flow order. Each entry begins with its kind and name:\n\n"
                       "```yaml\n"
                       "parts:\n"
                       "  - tank: main tank\n"
                       "    volume: 60 L\n"
                       "  - hose: supply hose\n"
                       "    bore: 5/16 in\n"
                       "    length: 2.5 m\n"
                       "```\n\n"
                       "Keys of every part:\n");
    ow_table_write(out, ow_common_fields(), NULL, NULL);
    for (const OwKindWord *word = ow_kind_words(); word->word != NULL; word++) {
        (void)fprintf(out, "\n### %s\n\n%s. Place unless told: %s.\n", word->word, word->doc,
                      ow_place_names[word->place]);
        ow_table_write(out, word->fields, word->special, NULL);
    }
    (void)fprintf(
        out,
        "\n### heaters\n\nA list under a tank, chamber or filter, at most %d; each entry has a `name` and:\n",
        OW_MAX_ELEMENTS);
    ow_table_write(out, ow_element_fields(), NULL, NULL);
    (void)fprintf(out, "\nA `thermostat` below a heater, `thermostat: {opens: 80 degC, closes: 72 degC}`; "
                       "without one the heater has\n"
                       "none. With only one of the two temperatures given the other stands 8 K away.\n");
    ow_table_write(out, ow_thermostat_fields(), NULL, NULL);
    (void)fprintf(out, "\n### materials\n\n| material | density kg/m3 | specific heat J/(kg K) | "
                       "conductivity W/(m K) | rating degC |\n"
                       "|---|---|---|---|---|\n");
    for (int i = 0; i < OW_MATERIAL_COUNT; i++) {
        const OwMaterialData *m = ow_material((OwMaterial)i);
        (void)fprintf(out, "| %s | %.0f | %.0f | %.3g | %.0f |\n", m->name, m->density_kg_m3,
                      m->specific_heat_j_kgk, m->conductivity_w_mk, m->rating_k - OW_ZERO_CELSIUS_K);
    }
}

static void write_rest(FILE *out) {
    (void)fprintf(
        out, "\n## lines\n\n"
             "A list of chains; each is a list of part names in the direction of flow. A port is named after "
             "a point:\n\n"
             "```yaml\n"
             "lines:\n"
             "  - [main tank, supply hose, filter, injection pump, injectors]\n"
             "  - [injection pump, loop valve]\n"
             "  - [loop valve.a, filter]\n"
             "  - [loop valve.b, return hose, main tank]\n"
             "  - [injectors, return hose]\n"
             "```\n\n"
             "Without a port a line leaves by `out`, a tank by `pickup`, an injection pump and injectors by "
             "`return`; it enters by `in`,\n"
             "a tank by `return`. A valve is entered at `common` and left at its free side; where that would "
             "be a guess the reader asks\n"
             "for the port. Several lines may meet at one port. \"injection pump, injectors\" says only that "
             "the one feeds the other.\n"
             "Without a lines section the parts join in listed order, up to the injection pump; what is "
             "listed behind it carries its\n"
             "return back to the tank.\n\n"
             "## controls\n\n"
             "A list of `{set: loop valve, to: tank, when: boost chamber above 70 degC}`. What is set is a "
             "valve (to one of its positions),\n"
             "an electric pump, or a heater as `part/heater name` (to on or off). When: `key on`, `30 s "
             "after key on`, `start`,\n"
             "`20 s after start`, `90 s before stop`, `filter above 70 degC`, `coolant below 50 degC`.\n");
    for (const OwSection *section = ow_sections(); section->name != NULL; section++) {
        (void)fprintf(out, "\n## %s\n\n%s.\n", section->name, section->doc);
        ow_table_write(out, section->fields, section->special, NULL);
        if (strcmp(section->name, "drive") == 0) {
            (void)fprintf(out, "\nEach leg:\n");
            ow_table_write(out, ow_leg_fields(), NULL, NULL);
        }
        if (strcmp(section->name, "electrics") == 0) {
            for (const OwElectricTable *t = ow_electric_tables(); t->title != NULL; t++) {
                (void)fprintf(out, "\n### %s\n\n%s\n", t->title, t->doc);
                ow_table_write(out, t->fields, NULL, NULL);
            }
        }
    }
}

OwStatus ow_rig_write_reference(FILE *out) {
    if (out == NULL) {
        return OW_ERROR_USE;
    }
    write_head(out);
    write_parts(out);
    write_rest(out);
    return fflush(out) == 0 && ferror(out) == 0 ? OW_OK : OW_ERROR_WRITE;
}
