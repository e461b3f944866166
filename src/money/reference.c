// SPDX-License-Identifier: GPL-3.0-or-later
// Writes the reference of the cost file from the table that reads it.
#include "money/money_impl.h"

#include <string.h>

static void write_head(FILE *out) {
    (void)fputs(
        "# The cost file\n\n"
        "What a conversion and its oil cost, in YAML (or JSON). This text is written by the program from the "
        "table "
        "that reads the\n"
        "file. Sections: name, currency, notes, fuel, distance, collection, yard, vehicle, labour, finance; "
        "all may be "
        "left out. What is left\n"
        "out takes its default, and the default's range with it; the report says how much rests on "
        "defaults.\n\n"
        "`currency` is only a name (default \"currency units\"); nothing is converted, and money is written "
        "without "
        "it: `1.50 per L`.\n\n"
        "Any value may be a range, and the answer then carries a band:\n\n"
        "| written | means |\n|---|---|\n"
        "| `1.50 per L` | exactly that |\n"
        "| `1.40 to 1.60 per L` | anything between, all alike |\n"
        "| `1.40 / 1.50 / 1.70 per L` | low, likely, high: a triangle |\n"
        "| `1.50 +- 0.05 per L`, `1.50 per L ± 5 %` | a bell with that standard error, cut at the legal "
        "range |\n\n"
        "Units: `per L`, `per US gal`, `per m3`; `per km`, `per mi`, `per 100 km`; `L/100 km`, `US mpg`, `UK "
        "mpg`, "
        "`km/L`; `per kWh`; `per h`;\n"
        "`h per 100 L`; `kWh/L`; `km`, `mi`; `%`; `years`. \"a year\" may stand behind yearly values.\n\n"
        "Trust of a default: published, common practice (no source) or assumed. An assumed price is a "
        "placeholder: "
        "write your own.\n",
        out);
}

static void write_row(FILE *out, const OwCostRow *row) {
    char low[64], likely[64], high[64], least[64], most[64];
    ow_cost_quantity_write(row->low, row->kind, OW_DISPLAY_METRIC, low, sizeof low);
    ow_cost_quantity_write(row->likely, row->kind, OW_DISPLAY_METRIC, likely, sizeof likely);
    ow_cost_quantity_write(row->high, row->kind, OW_DISPLAY_METRIC, high, sizeof high);
    ow_cost_quantity_write(row->least, row->kind, OW_DISPLAY_METRIC, least, sizeof least);
    ow_cost_quantity_write(row->most, row->kind, OW_DISPLAY_METRIC, most, sizeof most);
    (void)fprintf(out, "| %s | %s | ", strchr(row->path, '.') + 1, likely);
    if (row->high > row->low) {
        (void)fprintf(out, "%s to %s", low, high);
    }
    (void)fprintf(out, " | %s | %s | %s | %s |\n", least, most, ow_trust_text(row->trust), row->doc);
}

OwStatus ow_cost_write_reference(FILE *out) {
    static const struct {
        const char *name, *doc, *more;
    } sections[] = {
        {"fuel", "What diesel costs and how much of it oil replaces.",
         "| oil | none | | | | | a named oil or fat (`oilwright oil`): the oil module works out the energy "
         "ratio from it, "
         "within 1.5 % (assumed) |\n"},
        {"distance", "How far the vehicle goes.", ""},
        {"collection", "Bringing the oil home.", ""},
        {"yard", "From raw to clean oil.",
         "| plan | none | | | | | a yard file beside this one: its electricity, work, filters, tests, "
         "additives, waste and "
         "loss take the place of those here |\n"},
        {"vehicle", "The conversion and what it wears.", ""},
        {"labour", "What an hour of work is worth. Results with and without it stand side by side always.",
         "| counted | yes | | | | | whether the verdict counts hours of work |\n"},
        {"finance", "Money over time. All rates are beyond general inflation.",
         "| years | 8 years | | 1 year | 40 years | assumed | how long the conversion is used |\n"
         "| loan years | 3 years | | 1 year | 40 years | assumed | how long a loan runs |\n"},
    };
    if (out == NULL) {
        return OW_ERROR_USE;
    }
    write_head(out);
    for (size_t s = 0; s < sizeof sections / sizeof sections[0]; s++) {
        const size_t n = strlen(sections[s].name);
        (void)fprintf(out, "\n## %s\n\n%s\n\n", sections[s].name, sections[s].doc);
        (void)fputs("| key | default | its range | least | most | trust | what it is "
                    "|\n|---|---|---|---|---|---|---|\n",
                    out);
        for (int i = 0; i < OW_COST_INPUTS; i++) {
            if (strncmp(ow_cost_rows[i].path, sections[s].name, n) == 0 && ow_cost_rows[i].path[n] == '.') {
                write_row(out, &ow_cost_rows[i]);
            }
        }
        (void)fputs(sections[s].more, out);
    }
    return fflush(out) == 0 && ferror(out) == 0 ? OW_OK : OW_ERROR_WRITE;
}
