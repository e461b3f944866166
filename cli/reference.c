// SPDX-License-Identifier: GPL-3.0-or-later
// `oilwright reference`: the whole reference of the rig file, from the tables that read it.
#include <string.h>

#include "cli.h"

int ow_cli_reference(int argc, char **argv) {
    if (argc > 1 && strcmp(argv[1], "--help") == 0) {
        puts("Usage: oilwright reference\n\nWrites the reference of the rig file (Markdown): every section, "
             "part and "
             "key with default, range and\nsource. docs/rig-file.md is this text.");
        return ow_cli_finish(stdout, "the standard output");
    }
    if (argc > 1) {
        fprintf(stderr, "oilwright reference: takes no argument; what is \"%s\"?\n", argv[1]);
        return OW_CLI_USAGE;
    }
    (void)ow_rig_write_reference(stdout);
    return ow_cli_finish(stdout, "the standard output");
}
