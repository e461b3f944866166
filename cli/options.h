// SPDX-License-Identifier: GPL-3.0-or-later
// Options of a verb, and the rigs that it reads with the overrides that all verbs share.
#ifndef OW_CLI_OPTIONS_H
#define OW_CLI_OPTIONS_H

#include "cli.h"

#define OW_CLI_MAX_VALUES 64

/// One option: its values are collected in the order given.
typedef struct OwCliOption {
    const char *name; ///< "--vary"
    bool has_value;
    int most; ///< how often it may be given with a value
    const char *values[OW_CLI_MAX_VALUES];
    int count; ///< times given
} OwCliOption;

/// Reads "--name VALUE", "--name=VALUE", flags and up to `file_max` file names. OW_CLI_GOOD or OW_CLI_USAGE,
/// told on stderr.
int ow_cli_options(const char *verb, int argc, char **argv, OwCliOption *options, int option_count,
                   const char **files, int file_max, int *file_count);
/// The last value of an option, NULL when it was not given.
const char *ow_cli_value(const OwCliOption *option);
/// "metric" or "us" of an option that may be NULL. False when it is neither, told on stderr.
bool ow_cli_display(const char *verb, const char *value, OwDisplay *display);

/// Reads a rig and puts in what is asked of it; all faults are reported together on stderr.
int ow_cli_rig(const char *verb, const char *path, const OwAsked *asked, OwMorningSettings *settings,
               OwUnits *units, OwRig **rig);

#endif
