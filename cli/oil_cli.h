// SPDX-License-Identifier: GPL-3.0-or-later
// What the files of `oilwright oil` share.
#ifndef OW_CLI_OIL_H
#define OW_CLI_OIL_H

#include <stdio.h>

#include "cli.h"
#include "oilwright/oil.h"
#include "oilwright/units.h"

#define OW_OIL_CAUTION_HEAT                                                                                  \
    "Hot oil burns skin and catches fire: heat it in the open, never above 130 °C (266 °F), never with "   \
    "water "                                                                                                 \
    "in it."
#define OW_OIL_CAUTION_CODES "Blending, storing and carrying fuel: local fire and road codes come first."

#define OW_OIL_CALL_TEMPERATURES 64

/// A call of the verb, read and checked.
typedef struct OwOilCall {
    OwOilSpec spec;
    OwOilSpec blend; ///< with blend_count > 0 when diluents are named
    double temperature_k[OW_OIL_CALL_TEMPERATURES];
    int temperature_count;
    double limit_m2_s; ///< of the injection pump
    double target_m2_s, target_k, target_cloud_k;
    const char *diluent; ///< NULL: all usual ones
    bool compares[OW_STANDARD_COUNT];
    double spray_k; ///< fuel temperature at the nozzle, 0 = no spray
    bool is_json, is_csv, is_ascii, is_list, wants_help;
    const char *svg;
    OwDisplay display;
} OwOilCall;

/// What is shown.
typedef struct OwOilAnswer {
    const OwOilCall *call;
    OwOilStudy *oil;   ///< the oil as described
    OwOilStudy *shown; ///< the blend, or the same oil
    OwFluid *parts;    ///< of the blend: the oil first, then the diluents
    int part_count;
    OwFluid *diesel; ///< for spray and energy
} OwOilAnswer;

#define OW_OIL_DILUENTS 4
extern const char *const ow_oil_diluents[OW_OIL_DILUENTS];

/// Reads the arguments after the verb. Returns OW_CLI_GOOD or OW_CLI_USAGE with the reason on stderr.
int ow_oil_call_read(int argc, char **argv, OwUnits *units, OwOilCall *call);
extern const char *const ow_oil_usage;

/// Values as people write them; false with the reason on stderr.
bool ow_oil_words_share(const char *text, const char *option, double *share);
bool ow_oil_words_acid(const char *text, double *acid_mg_g);
bool ow_oil_words_density(OwUnits *units, const char *text, const char *option, double *kg_m3);
bool ow_oil_words_sheet(OwUnits *units, const char *text, double *sheet);

/// Makes the oil, its blend and diesel for a call that outlives the answer; ends with ow_oil_answer_clear
/// also on failure.
OwStatus ow_oil_answer_make(OwOilCall *call, OwOilAnswer *answer, OwFaults *faults);
void ow_oil_answer_clear(OwOilAnswer *answer);

void ow_oil_write_text(FILE *file, const OwOilAnswer *answer);
OwStatus ow_oil_write_json(FILE *file, const OwOilAnswer *answer);
void ow_oil_write_csv(FILE *file, const OwOilAnswer *answer);
/// Viscosity-temperature chart on Walther axes with the pump's limit. False when writing failed.
bool ow_oil_write_svg(FILE *file, const OwOilAnswer *answer);
/// The least diluent of each usual (or the named) kind; index into ow_oil_diluents. False when it cannot be
/// made.
bool ow_oil_dilution(const OwOilAnswer *answer, const char *name, OwDilution *dilution);

/// `oilwright oil test NAME ...`: the arithmetic of the workshop tests.
int ow_cli_oil_test(int argc, char **argv, OwUnits *units);

#endif
