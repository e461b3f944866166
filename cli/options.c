// SPDX-License-Identifier: GPL-3.0-or-later
// Options of a verb, and the rigs that it reads with the overrides that all verbs share.
#include "options.h"

#include <string.h>
#include <strings.h>

#include "base/text.h"

static OwCliOption *find(OwCliOption *options, int count, const char *argument) {
    for (int i = 0; i < count; i++) {
        const size_t length = strlen(options[i].name);
        if (strncmp(argument, options[i].name, length) == 0 &&
            (argument[length] == '\0' || argument[length] == '=')) {
            return &options[i];
        }
    }
    return NULL;
}

static int unknown(const char *verb, const char *argument, const OwCliOption *options, int count) {
    char word[64];
    const char *names[32];
    int named = 0;
    for (; named < count && named < 32; named++) {
        names[named] = options[named].name;
    }
    (void)snprintf(word, sizeof word, "%.*s", (int)strcspn(argument, "="), argument);
    const char *near = ow_text_nearest(word, names, (size_t)named);
    fprintf(stderr, "oilwright %s: unknown option \"%s\"", verb, word);
    if (near != NULL) {
        fprintf(stderr, "; did you mean %s?\n", near);
    } else {
        fprintf(stderr, "; see oilwright %s --help\n", verb);
    }
    return OW_CLI_USAGE;
}

int ow_cli_options(const char *verb, int argc, char **argv, OwCliOption *options, int option_count,
                   const char **files, int file_max, int *file_count) {
    bool is_over = false;
    *file_count = 0;
    for (int i = 1; i < argc; i++) {
        const char *a = argv[i];
        if (is_over || a[0] != '-' || a[1] == '\0') {
            if (*file_count >= file_max) {
                fprintf(stderr, "oilwright %s: at most %d file%s; what is \"%s\"?\n", verb, file_max,
                        file_max > 1 ? "s" : "", a);
                return OW_CLI_USAGE;
            }
            files[(*file_count)++] = a;
            continue;
        }
        if (strcmp(a, "--") == 0) {
            is_over = true;
            continue;
        }
        OwCliOption *option = find(options, option_count, strcmp(a, "-h") == 0 ? "--help" : a);
        if (option == NULL) {
            return unknown(verb, a, options, option_count);
        }
        const char *equals = strchr(a, '=');
        if (!option->has_value) {
            if (equals != NULL) {
                fprintf(stderr, "oilwright %s: %s takes no value\n", verb, option->name);
                return OW_CLI_USAGE;
            }
            option->count++;
            continue;
        }
        const char *value = equals != NULL ? equals + 1 : i + 1 < argc ? argv[++i] : NULL;
        if (value == NULL || value[0] == '\0') {
            fprintf(stderr, "oilwright %s: %s needs a value\n", verb, option->name);
            return OW_CLI_USAGE;
        }
        if (option->count >= option->most) {
            fprintf(stderr, "oilwright %s: %s may be given %d time%s\n", verb, option->name, option->most,
                    option->most > 1 ? "s at most" : " only");
            return OW_CLI_USAGE;
        }
        option->values[option->count++] = value;
    }
    return OW_CLI_GOOD;
}

const char *ow_cli_value(const OwCliOption *option) {
    return option->has_value && option->count > 0 ? option->values[option->count - 1] : NULL;
}

bool ow_cli_display(const char *verb, const char *value, OwDisplay *display) {
    *display = OW_DISPLAY_METRIC;
    if (value == NULL || strcmp(value, "metric") == 0) {
        return true;
    }
    if (strcmp(value, "us") == 0) {
        *display = OW_DISPLAY_US;
        return true;
    }
    fprintf(stderr, "oilwright %s: --units is metric or us, not \"%s\"\n", verb, value);
    return false;
}

int ow_cli_rig(const char *verb, const char *path, const OwAsked *asked, OwMorningSettings *settings,
               OwUnits *units, OwRig **rig) {
    if (asked->drive != NULL && strcasecmp(asked->drive, "nedc") != 0 &&
        strcasecmp(asked->drive, "legs") != 0) {
        fprintf(stderr, "oilwright %s: --drive is nedc or legs, not \"%s\"\n", verb, asked->drive);
        return OW_CLI_USAGE;
    }
    OwFaults faults = {0};
    OwStatus status = ow_rig_read_file(path, units, rig, &faults);
    if (status == OW_OK) {
        ow_cli_apply(asked, *rig, settings, units, &faults);
        // The oil is not part of the rig's own check: make it once, so that its faults come out here.
        OwPlan *plan = NULL;
        if (faults.errors == 0) {
            status = ow_plan_create(*rig, &plan, &faults);
            ow_plan_destroy(&plan);
        }
    }
    ow_cli_faults(&faults);
    const bool is_wrong = status != OW_OK || faults.errors > 0;
    if (is_wrong && faults.errors == 0) {
        fprintf(stderr, "oilwright %s: %s: %s\n", verb, path, ow_status_text(status));
    }
    ow_faults_clear(&faults);
    if (is_wrong) {
        ow_rig_destroy(rig);
        return status == OW_ERROR_MEMORY ? OW_CLI_BROKEN : OW_CLI_USAGE;
    }
    return OW_CLI_GOOD;
}
