// SPDX-License-Identifier: GPL-3.0-or-later
// `oilwright reference`: the whole reference of a kind of file, from the tables that read it.
#include <string.h>

#include "cli.h"
#include "oilwright/money.h"
#include "oilwright/yard_plan.h"

static const struct {
    const char *what;
    OwStatus (*write)(FILE *out);
} references[] = {
    {"rig", ow_rig_write_reference},
    {"cost", ow_cost_write_reference},
    {"yard", ow_yard_write_reference},
};

int ow_cli_reference(int argc, char **argv) {
    if (argc > 1 && strcmp(argv[1], "--help") == 0) {
        puts("Usage: oilwright reference [rig|cost|yard]\n\nWrites the reference of the rig file, the cost "
             "file or "
             "the yard file (Markdown): every section and\nkey with default, range and source. "
             "docs/rig-file.md, docs/cost-file.md and docs/yard-file.md are these\ntexts.");
        return ow_cli_finish(stdout, "the standard output");
    }
    const char *what = argc > 1 ? argv[1] : references[0].what;
    for (size_t i = 0; i < sizeof references / sizeof references[0] && argc <= 2; i++) {
        if (strcmp(what, references[i].what) == 0) {
            (void)references[i].write(stdout);
            return ow_cli_finish(stdout, "the standard output");
        }
    }
    fprintf(stderr, "oilwright reference: what is \"%s\"? Name one of:", argv[argc > 2 ? 2 : 1]);
    for (size_t i = 0; i < sizeof references / sizeof references[0]; i++) {
        fprintf(stderr, " %s", references[i].what);
    }
    fputc('\n', stderr);
    return OW_CLI_USAGE;
}
