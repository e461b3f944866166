// SPDX-License-Identifier: GPL-3.0-or-later
// Writes the reference of the yard file from the same tables that read it.
#include "yard/plan_tables.h"

#include <ctype.h>
#include <stdio.h>

/// A value as a person would write it in the file: shares in percent, small ones of water and dirt in mg/kg.
static void write_value(const OwField *field, double value, char *text, size_t size) {
    const bool is_share =
        field->type == OW_FIELD_REAL && field->quantity == OW_Q_NUMBER && field->high <= 1.0;
    if (field->quantity == OW_Q_TIME && value >= 72.0 * 3600.0) {
        (void)snprintf(text, size, "%.4g days", value / 86400.0);
    } else if (!is_share || (field->none && value == 0.0)) {
        ow_field_write(field, value, OW_DISPLAY_METRIC, text, size);
    } else if (value > 0.0 && value < 2e-3) {
        (void)snprintf(text, size, "%.4g mg/kg", 1e6 * value);
    } else {
        (void)snprintf(text, size, "%.4g %%", 100.0 * value);
    }
}

OwStatus ow_yard_write_reference(FILE *out) {
    if (out == NULL) {
        return OW_ERROR_USE;
    }
    (void)fprintf(
        out,
        "# The yard file\n\n"
        "A place where collected oil is made fit for a tank, in YAML (or JSON). This text is written by the "
        "program from the tables\nthat read the file. Quantities carry their unit: `200 L`, `55 US gal`, "
        "`3 days`, `65 degC`, `150 degF`, `2 kW`, `5 um`,\n`750 mg/kg`, `40 %%`. What is left out takes its "
        "default. \"Common practice, no source\" and \"assumed\" mean what they say:\nmeasure your own oil "
        "where it matters. Shares are by mass unless told.\n\n"
        "Sections: name, notes, oil, climate, incoming, vessels, steps, targets, losses, week, prices, "
        "tests. Only `vessels` and\n`steps` must be there. The oil section follows the rules of "
        "docs/rig-file.md and holds one oil; its `water`, `solids` and\n`acid value` say what comes in; "
        "what is not said there is assumed and the report says so.\n");
    for (const OwSection *section = ow_yard_plan_sections(); section->name != NULL; section++) {
        (void)fprintf(out, "\n## %s\n\n%c%s.\n", section->name, toupper((unsigned char)section->doc[0]),
                      section->doc + 1);
        ow_table_write(out, section->fields, section->special, write_value);
    }
    (void)fprintf(
        out,
        "\n## vessels\n\nA list, at most %d, of upright round vessels; each begins with its name:\n\n"
        "```yaml\nvessels:\n  - vessel: settling drum\n    volume: 200 L\n    heater: 2 kW\n    "
        "cut-out: yes\n```\n",
        OW_YARD_MAX_VESSELS);
    ow_table_write(out, ow_vessel_fields(), NULL, write_value);
    (void)fprintf(
        out,
        "\n## steps\n\nA list, at most %d, in the order they are done. Each begins with what is "
        "done and a name of its own:\n\n"
        "```yaml\nsteps:\n  - settle: first rest\n    in: settling drum\n    for: 3 days\n  - heat: "
        "warm up\n    to: 60 degC\n```\n",
        OW_YARD_MAX_STEPS);
    for (const OwPlanWord *word = ow_yard_plan_words(); word->word != NULL; word++) {
        (void)fprintf(out, "\n### %s\n\n%s.\n", word->word, word->doc);
        ow_table_write(out, word->fields, word->special, write_value);
    }
    return fflush(out) == 0 && ferror(out) == 0 ? OW_OK : OW_ERROR_WRITE;
}
