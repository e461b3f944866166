// SPDX-License-Identifier: GPL-3.0-or-later
// The command `oilwright`: finds the verb and hands over. One file a verb.
#include <locale.h>
#include <signal.h>
#include <string.h>

#include "base/text.h"
#include "batch_cli.h"
#include "cli.h"
#include "cost_cli.h"
#include "study.h"
#include "wire_cli.h"

typedef struct OwVerb {
    const char *name, *what;
    int (*run)(int argc, char **argv);
} OwVerb;

static int help(int argc, char **argv);
static int version(int argc, char **argv);

static const OwVerb verbs[] = {
    {"morning", "simulate a cold morning of a rig and judge it", ow_cli_morning},
    {"oil", "what an oil is: viscosity, density, blends, standards", ow_cli_oil},
    {"wire", "every wire, fuse and relay, chosen and checked", ow_cli_wire},
    {"page", "the workshop page in the browser", ow_cli_page},
    {"compare", "several rigs on the same morning, side by side", ow_cli_compare},
    {"reference", "every key of a rig file, with default and range", ow_cli_reference},
    {"size", "which stock sizes meet a target, at what cost", ow_cli_size},
    {"faults", "every single failure: strands, limps, unnoticed or dangerous", ow_cli_faults_walk},
    {"bleed", "minutes to solid fuel after a filter change", ow_cli_bleed},
    {"filter", "how far each filter lasts", ow_cli_filter},
    {"tanks", "two tanks: change-over, purge, mixing, shortest trip", ow_cli_tanks},
    {"batch", "a batch of oil through the yard, and the week that follows", ow_cli_batch},
    {"cost", "oil against diesel: every hidden cost, payback, how sure", ow_cli_cost},
    {"log", "the logbook: pick-ups, batches, fills, filters, what is due", ow_cli_log},
    {"help", "this text, or oilwright help VERB", help},
};
#define VERB_COUNT (sizeof verbs / sizeof verbs[0])

static int help(int argc, char **argv) {
    if (argc > 1) {
        for (size_t i = 0; i + 1 < VERB_COUNT; i++) {
            if (strcmp(argv[1], verbs[i].name) == 0) {
                char flag[] = "--help";
                char *call[] = {argv[1], flag, NULL};
                return verbs[i].run(2, call);
            }
        }
    }
    puts("oilwright: whether a diesel vehicle starts and drives on vegetable oil, why, and which part to "
         "change\n\n"
         "Usage: oilwright VERB ...\n");
    for (size_t i = 0; i < VERB_COUNT; i++) {
        printf("  %-9s %s\n", verbs[i].name, verbs[i].what);
    }
    puts("\noilwright VERB --help says more. oilwright --version names the version.");
    return ow_cli_finish(stdout, "the standard output");
}

static int version(int argc, char **argv) {
    (void)argc;
    (void)argv;
    puts("oilwright " OW_VERSION);
    return ow_cli_finish(stdout, "the standard output");
}

int main(int argc, char **argv) {
    // A reader that went away is a write error to report, not a silent death.
    signal(SIGPIPE, SIG_IGN);
    // Only the character set: numbers keep their decimal point everywhere.
    setlocale(LC_CTYPE, "");
    if (argc < 2) {
        (void)help(1, argv);
        return OW_CLI_USAGE;
    }
    if (strcmp(argv[1], "--version") == 0) {
        return version(argc - 1, argv + 1);
    }
    if (strcmp(argv[1], "--help") == 0 || strcmp(argv[1], "-h") == 0) {
        return help(1, argv);
    }
    const char *names[VERB_COUNT];
    for (size_t i = 0; i < VERB_COUNT; i++) {
        if (strcmp(argv[1], verbs[i].name) == 0) {
            return verbs[i].run(argc - 1, argv + 1);
        }
        names[i] = verbs[i].name;
    }
    const char *near = ow_text_nearest(argv[1], names, VERB_COUNT);
    fprintf(stderr, "oilwright: unknown verb \"%s\"", argv[1]);
    if (near != NULL) {
        fprintf(stderr, "; did you mean %s?\n", near);
    } else {
        fputs("; oilwright help lists them\n", stderr);
    }
    return OW_CLI_USAGE;
}
