// SPDX-License-Identifier: GPL-3.0-or-later
// `oilwright page`: serves the workshop page.
#include "cli.h"

int ow_cli_page(int argc, char **argv) {
    (void)argc;
    (void)argv;
    return OW_CLI_USAGE;
}
