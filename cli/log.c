// SPDX-License-Identifier: GPL-3.0-or-later
// `oilwright log`: entries in short forms, views, and the file.
#include <langinfo.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>
#include <time.h>
#include <unistd.h>

#include "base/text.h"
#include "log_text.h"

static const char usage[] =
    "Usage: oilwright log [--book FILE] ENTRY | VIEW | FILE VERB\n"
    "\n"
    "An entry, in the order you like; what was understood is told back, with what undoes it:\n"
    "  pickup hill cafe 60 L drum 2          oil from a source into a vessel or batch\n"
    "  batch b12 from drum 2 120 L in cone   oil that is worked on under one name\n"
    "  settle b12 3 days 5 L sludge          also heat, dry, filter, centrifuge, blend\n"
    "  test b12 water 600 ppm acid 1.8 keep  what it showed, what follows\n"
    "  move 140 L from b12 to day tank       shift b12 to cone; level drum 2 85 L\n"
    "  fill van 40 L from day tank 182350 km full     5 L diesel beside it or alone\n"
    "  km van 182420                         miles van 113350\n"
    "  filter van oil filter 182420 km -12 kPa plugged   gauge van oil filter -9 kPa\n"
    "  waste sludge 8 kg to county 4471      repair van glow plugs 89.50\n"
    "  expense electricity 34.20             source, vessel, vehicle NAME: new ones\n"
    "  undo 153 wrong drum; undo last        a counter-entry; nothing is ever lost\n"
    "When: yesterday, -2d, monday, 2026-01-31, 08:30. KEY=VALUE sets any field; note TEXT ends it.\n"
    "\n"
    "Views: levels, sources, batches, batch NAME, vehicles, vehicle NAME, trace NAME or pickup NUMBER,\n"
    "  filters, due, list, totals\n"
    "File: export FOLDER, import FOLDER, backup FILE, restore FILE, check, rebuild, demo\n"
    "\n"
    "  --book FILE         the logbook (else $OILWRIGHT_BOOK, else oilwright.book here; made when first "
    "needed)\n"
    "  --dry-run           tell what would be written\n"
    "  --kind KIND         list: entries of this kind; may be given more than once\n"
    "  --since DATE        list: from this day on; also yesterday, -30d\n"
    "  --find WORDS        list: every word begins a word of the entry\n"
    "  --limit N           list: how many, 1 to 1000 (50)\n"
    "  --all               list: entries taken back too; batches: empty ones too\n"
    "  --from, --to DATE   totals: from this day, before this one\n"
    "  --vehicle NAME      totals, filters: this vehicle only\n"
    "  --replace           export, backup: over files that are there\n"
    "  --units metric|us   units of bare numbers and of the output (metric)\n"
    "  --json              write all of it as JSON\n"
    "\n"
    "Ends with 0; 1: check found damage; 2: the call was not understood, nothing was written; 3: the book or "
    "the\n"
    "output could not be written.\n";

static const char *const views[] = {"levels", "sources", "batches", "batch", "vehicles", "vehicle",
                                    "trace",  "filters", "due",     "list",  "totals"};
enum { VIEW_COUNT = sizeof views / sizeof views[0] };

// ---- The call

/// Options begin with "--" and stand anywhere; all else is words ("-2d" and "-12kPa" too).
static int read_call(LogCall *call, int argc, char **argv) {
    static const OwCliOption known[LOG_OPTIONS] = {
        [LOG_BOOK] = {.name = "--book", .has_value = true, .most = 1},
        [LOG_DRY] = {.name = "--dry-run"},
        [LOG_JSON] = {.name = "--json"},
        [LOG_UNITS] = {.name = "--units", .has_value = true, .most = 1},
        [LOG_KIND] = {.name = "--kind", .has_value = true, .most = OW_LOG_KINDS},
        [LOG_SINCE] = {.name = "--since", .has_value = true, .most = 1},
        [LOG_FIND] = {.name = "--find", .has_value = true, .most = 1},
        [LOG_FROM] = {.name = "--from", .has_value = true, .most = 1},
        [LOG_TO] = {.name = "--to", .has_value = true, .most = 1},
        [LOG_VEHICLE] = {.name = "--vehicle", .has_value = true, .most = 1},
        [LOG_LIMIT] = {.name = "--limit", .has_value = true, .most = 1},
        [LOG_ALL] = {.name = "--all"},
        [LOG_REPLACE] = {.name = "--replace"},
        [LOG_HELP] = {.name = "--help"},
    };
    memcpy(call->options, known, sizeof known);
    // Words go past the reader of options, which would take "-2d" for one.
    char **left = calloc((size_t)argc + 1, sizeof *left);
    if (left == NULL) {
        return OW_CLI_BROKEN;
    }
    int count = 1, code = OW_CLI_GOOD;
    left[0] = argv[0];
    for (int i = 1; i < argc && code == OW_CLI_GOOD; i++) {
        if (strncmp(argv[i], "--", 2) == 0 || strcmp(argv[i], "-h") == 0) {
            left[count++] = argv[i];
            for (int k = 0; k < LOG_OPTIONS; k++) { // its value comes along
                if (known[k].has_value && strcmp(known[k].name, argv[i]) == 0 && i + 1 < argc) {
                    left[count++] = argv[++i];
                    break;
                }
            }
        } else if (call->word_count == LOG_WORDS_MOST) {
            fputs("oilwright log: that is too much for one entry\n", stderr);
            code = OW_CLI_USAGE;
        } else {
            call->words[call->word_count++] = argv[i];
        }
    }
    const char *unused;
    int files = 0;
    if (code == OW_CLI_GOOD) {
        code = ow_cli_options("log", count, left, call->options, LOG_OPTIONS, &unused, 0, &files);
    }
    free(left);
    return code;
}

/// One word from the command line as the reader of short forms wants it: names with blanks in quotes.
static void put_word(char *text, size_t size, const char *word, bool is_only) {
    const size_t used = strlen(text);
    const char *equals = strchr(word, '=');
    const bool has_blank = strchr(word, ' ') != NULL && strchr(word, '"') == NULL;
    const bool is_amount = word[0] == '-' || word[0] == '+' || (word[0] >= '0' && word[0] <= '9');
    if (!has_blank || is_only || (is_amount && equals == NULL)) {
        (void)snprintf(text + used, size - used, "%s%s", used > 0 ? " " : "", word);
    } else if (equals != NULL && strchr(word, ' ') > equals) {
        (void)snprintf(text + used, size - used, "%s%.*s\"%s\"", used > 0 ? " " : "",
                       (int)(equals + 1 - word), word, equals + 1);
    } else {
        (void)snprintf(text + used, size - used, "%s\"%s\"", used > 0 ? " " : "", word);
    }
}

static bool read_day(const LogCall *call, int option, int64_t *at_s) {
    const char *text = ow_cli_value(&call->options[option]);
    char *end = NULL;
    *at_s = 0;
    if (text == NULL || ow_log_local_read(text, at_s) == OW_OK) {
        return true;
    }
    const long days = text[0] == '-' ? strtol(text + 1, &end, 10) : 0;
    if (strcasecmp(text, "yesterday") == 0 || (days > 0 && days < 40000 && strcmp(end, "d") == 0)) {
        const int64_t local = call->now_s + ow_log_local_offset(call->now_s);
        *at_s =
            ow_log_utc(local - local % 86400 - 86400 * (int64_t)(days > 0 ? days : 1), ow_log_local_offset);
        return true;
    }
    fprintf(stderr, "oilwright log: %s is a day such as 2026-01-31, yesterday or -30d, not \"%s\"\n",
            call->options[option].name, text);
    return false;
}

// ---- Entries

static int entry(LogCall *call) {
    char text[4 * OW_LOG_WORDS_MAX] = "";
    for (int i = 0; i < call->word_count; i++) {
        put_word(text, sizeof text, call->words[i], call->word_count == 1);
    }
    OwLogSaid *said = calloc(1, sizeof *said);
    OwUnits *units = NULL;
    int code = OW_CLI_BROKEN;
    int64_t undo_id = 0;
    OwStatus status = said == NULL ? OW_ERROR_MEMORY : ow_units_create(&units);
    const bool is_dry = call->options[LOG_DRY].count > 0;
    bool is_new = status == OW_OK && access(call->path, F_OK) != 0;
    if (is_new) { // understood without a book: then one is made
        const OwLogSpeech speech = {
            .now_s = call->now_s, .offset = ow_log_local_offset, .units = units, .display = call->display};
        status = ow_log_words_read(text, &speech, said);
    }
    if (status == OW_OK && !(is_new && is_dry)) {
        code = ow_log_open(call, is_new ? OW_LOG_CREATE : is_dry ? OW_LOG_READ : OW_LOG_WRITE);
        if (code != OW_CLI_GOOD) {
            goto end;
        }
        status = ow_log_words_do(call->book, text, is_dry, units, call->display, call->now_s, said, &undo_id,
                                 &call->faults);
    }
    if (status != OW_OK && (said == NULL || said->question[0] == '\0')) {
        code = ow_log_failed(call, status);
        goto end;
    }
    code = status == OW_OK ? OW_CLI_GOOD : OW_CLI_USAGE;
    ow_cli_faults(&call->faults); // warnings
    if (call->is_json) {
        json_t *o = ow_log_json_said(said, status, undo_id);
        (void)json_dumpf(o, stdout, JSON_INDENT(2));
        fputc('\n', stdout);
        json_decref(o);
    } else if (status != OW_OK) {
        OwReport errors = call->report;
        errors.file = stderr;
        ow_report_line(&errors, "%s", said->question);
    } else {
        char line[600];
        const long long id = (long long)(said->is_undo ? undo_id : said->entry.id);
        if (is_dry) {
            (void)snprintf(line, sizeof line, "Would be written: %s.", said->sentence);
        } else {
            (void)snprintf(line, sizeof line, "%s%lld: %s.", said->is_undo ? "Undo " : "Entry ", id,
                           said->sentence);
        }
        ow_report_paragraph(&call->report, line, 2);
        if (!is_dry && !said->is_undo) {
            ow_report_line(&call->report, "  To take it back: oilwright log undo %lld", id);
        }
        if (is_new && !is_dry) {
            ow_report_line(&call->report, "  A new logbook: %s", call->path);
        }
    }
    const int written = ow_cli_finish(stdout, "the standard output");
    code = written != OW_CLI_GOOD ? written : code;
end:
    ow_units_destroy(&units);
    free(said);
    return code;
}

// ---- Views

/// The thing that words name; asks on stderr and gives 0 when there is none.
static int64_t find_thing(LogCall *call, unsigned kinds, int from) {
    char name[OW_LOG_WORDS_MAX] = "", nearest[OW_LOG_NAME_MAX + 1] = "";
    int64_t id = 0;
    for (int i = from; i < call->word_count; i++) {
        const size_t used = strlen(name);
        (void)snprintf(name + used, sizeof name - used, "%s%s", used > 0 ? " " : "", call->words[i]);
    }
    OwLogNames names;
    // As written is the quickest way.
    if (ow_logbook_find(call->book, kinds, name, &id, nearest, &call->faults) != OW_OK || id != 0 ||
        ow_log_names_read(call->book, call->arena, &names, &call->faults) != OW_OK) {
        return id;
    }
    const OwLogSpeech speech = {.names = &names, .now_s = call->now_s};
    if (ow_log_words_thing(&speech, kinds, name, &id, nearest)) {
        return id;
    }
    if (ow_logbook_find(call->book, kinds, name, &id, nearest, &call->faults) == OW_OK && id == 0) {
        fprintf(stderr, "oilwright log: \"%.60s\" is not in the book", name);
        fprintf(stderr, nearest[0] != '\0' ? ": did you mean %.60s?\n" : "%.60s\n", nearest);
    }
    return id;
}

static bool make_filter(LogCall *call, OwLogFilter *filter) {
    const OwCliOption *kinds = &call->options[LOG_KIND];
    const char *limit = ow_cli_value(&call->options[LOG_LIMIT]);
    char *end = NULL;
    *filter = (OwLogFilter){.text = ow_cli_value(&call->options[LOG_FIND]),
                            .with_undone = call->options[LOG_ALL].count > 0,
                            .limit = limit != NULL ? (int)strtol(limit, &end, 10) : 0};
    if (limit != NULL && (*end != '\0' || filter->limit < 1 || filter->limit > 1000)) {
        fprintf(stderr, "oilwright log: --limit is 1 to 1000, not \"%s\"\n", limit);
        return false;
    }
    for (int i = 0; i < kinds->count; i++) {
        const char *near = NULL;
        const OwLogKind kind = ow_log_kind_of(kinds->values[i], &near);
        if (kind == OW_LOG_NONE) {
            fprintf(stderr, "oilwright log: there is no kind of entry \"%s\"", kinds->values[i]);
            fprintf(stderr, near != NULL ? "; did you mean %s?\n" : "%s\n", near != NULL ? near : "");
            return false;
        }
        filter->kinds |= 1u << kind;
    }
    return read_day(call, LOG_SINCE, &filter->from_s);
}

/// What one view needs besides the book; false when told.
typedef struct Asked {
    int64_t id, vehicle, from_s, to_s;
    OwLogFilter filter;
} Asked;

static bool read_asked(LogCall *call, int view, Asked *asked) {
    const char *vehicle = ow_cli_value(&call->options[LOG_VEHICLE]);
    if (vehicle != NULL) {
        const char *const words[] = {vehicle};
        LogCall one = *call; // its words are the name
        one.words[0] = words[0];
        one.word_count = 1;
        asked->vehicle = find_thing(&one, 1u << OW_LOG_VEHICLE, 0);
        call->faults = one.faults;
        if (asked->vehicle == 0) {
            return false;
        }
    }
    if (strcmp(views[view], "batch") == 0 || strcmp(views[view], "vehicle") == 0) {
        asked->id = find_thing(call, views[view][0] == 'b' ? 1u << OW_LOG_BATCH : 1u << OW_LOG_VEHICLE, 1);
        return asked->id != 0;
    }
    if (strcmp(views[view], "trace") == 0) {
        const bool is_pickup = call->word_count == 3 && strcasecmp(call->words[1], "pickup") == 0;
        const char *number = is_pickup ? call->words[2] : call->word_count == 2 ? call->words[1] : "";
        char *end = NULL;
        number += number[0] == '#' ? 1 : 0;
        asked->id = strtoll(number, &end, 10);
        if (call->word_count < 2) {
            fputs("oilwright log: trace what? A vessel, a batch, a vehicle, or pickup and its number\n",
                  stderr);
            return false;
        }
        if (end == number || *end != '\0' || asked->id < 1) {
            asked->id =
                find_thing(call, (1u << OW_LOG_VESSEL) | (1u << OW_LOG_BATCH) | (1u << OW_LOG_VEHICLE), 1);
        }
        return asked->id != 0;
    }
    if (strcmp(views[view], "filters") == 0 && call->word_count > 1) {
        asked->vehicle = find_thing(call, 1u << OW_LOG_VEHICLE, 1);
        return asked->vehicle != 0;
    }
    if (call->word_count > 1) {
        fprintf(stderr, "oilwright log: %s wants no more words; what is \"%s\"?\n", views[view],
                call->words[1]);
        return false;
    }
    return make_filter(call, &asked->filter) && read_day(call, LOG_FROM, &asked->from_s) &&
           read_day(call, LOG_TO, &asked->to_s);
}

static json_t *view_json(LogCall *call, const char *name, const Asked *a) {
    OwFaults *faults = &call->faults;
    const OwDisplay display = call->display;
    return strcmp(name, "levels") == 0    ? ow_log_json_levels(call->book, display, faults)
           : strcmp(name, "sources") == 0 ? ow_log_json_sources(call->book, display, faults)
           : strcmp(name, "batches") == 0
               ? ow_log_json_batches(call->book, call->options[LOG_ALL].count > 0, display, faults)
           : strcmp(name, "batch") == 0    ? ow_log_json_batch(call->book, a->id, display, faults)
           : strcmp(name, "vehicles") == 0 ? ow_log_json_vehicles(call->book, display, faults)
           : strcmp(name, "vehicle") == 0  ? ow_log_json_vehicle(call->book, a->id, display, faults)
           : strcmp(name, "trace") == 0    ? ow_log_json_trace(call->book, a->id, display, faults)
           : strcmp(name, "filters") == 0  ? ow_log_json_filters(call->book, a->vehicle, display, faults)
           : strcmp(name, "due") == 0      ? ow_log_json_due(call->book, call->now_s, display, faults)
           : strcmp(name, "list") == 0
               ? ow_log_json_list(call->book, &a->filter, display, faults)
               : ow_log_json_totals(call->book, a->from_s, a->to_s, a->vehicle, display, faults);
}

static OwStatus view_text(LogCall *call, const char *name, const Asked *a) {
    return strcmp(name, "levels") == 0     ? ow_log_text_levels(call)
           : strcmp(name, "sources") == 0  ? ow_log_text_sources(call)
           : strcmp(name, "batches") == 0  ? ow_log_text_batches(call)
           : strcmp(name, "batch") == 0    ? ow_log_text_batch(call, a->id)
           : strcmp(name, "vehicles") == 0 ? ow_log_text_vehicles(call)
           : strcmp(name, "vehicle") == 0  ? ow_log_text_vehicle(call, a->id)
           : strcmp(name, "trace") == 0    ? ow_log_text_trace(call, a->id)
           : strcmp(name, "filters") == 0  ? ow_log_text_filters(call, a->vehicle)
           : strcmp(name, "due") == 0      ? ow_log_text_due(call)
           : strcmp(name, "list") == 0     ? ow_log_text_list(call, &a->filter)
                                           : ow_log_text_totals(call, a->from_s, a->to_s, a->vehicle);
}

static int show(LogCall *call, int view) {
    Asked asked = {0};
    if (access(call->path, F_OK) != 0) {
        fprintf(stderr,
                "oilwright log: there is no logbook %s yet: the first entry makes one, or oilwright log demo "
                "an invented one\n",
                call->path);
        return OW_CLI_USAGE;
    }
    int code = ow_log_open(call, OW_LOG_READ);
    if (code != OW_CLI_GOOD) {
        return code;
    }
    if (!read_asked(call, view, &asked)) {
        ow_cli_faults(&call->faults);
        return OW_CLI_USAGE;
    }
    OwStatus status = OW_OK;
    if (call->is_json) {
        json_t *made = view_json(call, views[view], &asked);
        if (made == NULL) {
            status = call->faults.count > 0 ? call->faults.items[0].status : OW_ERROR_MEMORY;
        } else {
            (void)json_object_set_new(made, "format", json_string("oilwright-log"));
            (void)json_object_set_new(made, "format_version", json_integer(1));
            (void)json_dumpf(made, stdout, JSON_INDENT(2) | JSON_REAL_PRECISION(9));
            fputc('\n', stdout);
            json_decref(made);
        }
    } else {
        status = view_text(call, views[view], &asked);
    }
    if (status != OW_OK) {
        return ow_log_failed(call, status);
    }
    return ow_cli_finish(stdout, "the standard output");
}

/// "batch b12" and "vehicle van" show what is there; with more to say they make a new one.
static int view_of(LogCall *call) {
    for (int i = 0; i < VIEW_COUNT; i++) {
        if (strcasecmp(call->words[0], views[i]) != 0) {
            continue;
        }
        if (strcmp(views[i], "batch") != 0 && strcmp(views[i], "vehicle") != 0) {
            return i;
        }
        if (call->word_count < 2 || access(call->path, F_OK) != 0 ||
            ow_logbook_open(call->path, OW_LOG_READ, &call->book, &call->faults) != OW_OK) {
            ow_faults_clear(&call->faults);
            return -1;
        }
        char name[OW_LOG_WORDS_MAX] = "", nearest[OW_LOG_NAME_MAX + 1];
        for (int k = 1; k < call->word_count; k++) {
            const size_t used = strlen(name);
            (void)snprintf(name + used, sizeof name - used, "%s%s", used > 0 ? " " : "", call->words[k]);
        }
        int64_t id = 0;
        const unsigned kinds = views[i][0] == 'b' ? 1u << OW_LOG_BATCH : 1u << OW_LOG_VEHICLE;
        OwLogNames names;
        bool is_there =
            ow_logbook_find(call->book, kinds, name, &id, nearest, &call->faults) == OW_OK && id != 0;
        if (!is_there && ow_log_names_read(call->book, call->arena, &names, &call->faults) == OW_OK) {
            const OwLogSpeech speech = {.names = &names};
            is_there = ow_log_words_thing(&speech, kinds, name, &id, nearest);
        }
        ow_logbook_close(&call->book);
        return is_there ? i : -1;
    }
    return -1;
}

int ow_cli_log(int argc, char **argv) {
    LogCall *call = calloc(1, sizeof *call);
    if (call == NULL) {
        return OW_CLI_BROKEN;
    }
    call->now_s = (int64_t)time(NULL);
    call->report = (OwReport){.file = stdout, .is_ascii = strcmp(nl_langinfo(CODESET), "UTF-8") != 0};
    int code = read_call(call, argc, argv);
    if (code == OW_CLI_GOOD && call->options[LOG_HELP].count > 0) {
        fputs(usage, stdout);
        code = ow_cli_finish(stdout, "the standard output");
    } else if (code == OW_CLI_GOOD &&
               !ow_cli_display("log", ow_cli_value(&call->options[LOG_UNITS]), &call->display)) {
        code = OW_CLI_USAGE;
    } else if (code == OW_CLI_GOOD && call->word_count == 0) {
        fputs("oilwright log: what happened? For example: oilwright log pickup hill cafe 60 L drum 2; see "
              "oilwright log "
              "--help\n",
              stderr);
        code = OW_CLI_USAGE;
    } else if (code == OW_CLI_GOOD) {
        const char *book = ow_cli_value(&call->options[LOG_BOOK]), *wanted = getenv("OILWRIGHT_BOOK");
        call->path = book != NULL ? book : wanted != NULL && wanted[0] != '\0' ? wanted : "oilwright.book";
        call->is_json = call->options[LOG_JSON].count > 0;
        call->arena = ow_arena_create();
        const int view = call->arena != NULL ? view_of(call) : -1;
        if (call->arena == NULL) {
            code = OW_CLI_BROKEN;
        } else if (view >= 0) {
            code = show(call, view);
        } else if (!ow_log_files(call, call->words[0], &code)) {
            code = entry(call);
        }
        ow_logbook_close(&call->book);
        ow_arena_destroy(&call->arena);
    }
    ow_faults_clear(&call->faults);
    free(call);
    return code;
}
