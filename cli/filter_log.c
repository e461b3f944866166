// SPDX-License-Identifier: GPL-3.0-or-later
// Joins the filter study of a rig with the lives in a logbook.
#include "filter_log.h"

#include <math.h>
#include <string.h>
#include <strings.h>

#include "log_cli.h"
#include "study.h"

double ow_filter_log_middle(const OwFilterLife *life) {
    double sum = 0.0;
    int count = 0;
    const OwFilterCase *built = life->case_count > 0 ? &life->cases[0] : NULL;
    for (int i = 0; built != NULL && i < OW_FILTER_LAWS; i++) {
        const double m = built->distance_m[i];
        if (built->binds != OW_BINDS_NOTHING && built->binds != OW_BINDS_CLEAN && m > 0.0 && isfinite(m)) {
            sum += log(m);
            count++;
        }
    }
    return count > 0 ? exp(sum / count) : 0.0;
}

static const char *file_name(const char *path) {
    const char *slash = strrchr(path, '/');
    return slash != NULL ? slash + 1 : path;
}

/// The vehicle by name, else by its rig file, else the only one; NULL told.
static const OwLogVehicleRow *find_vehicle(const OwLogVehicleRow *rows, int count, const char *name,
                                           const char *rig_file, const OwLogNames *names) {
    const OwLogVehicleRow *found = NULL;
    int fits = 0;
    if (name != NULL) {
        const OwLogSpeech speech = {.names = names};
        char nearest[OW_LOG_NAME_MAX + 1];
        int64_t id;
        (void)ow_log_words_thing(&speech, 1u << OW_LOG_VEHICLE, name, &id, nearest);
        for (int i = 0; i < count; i++) {
            found = rows[i].id == id ? &rows[i] : found;
        }
        if (found == NULL) {
            fprintf(stderr, "oilwright filter: the logbook has no vehicle \"%.60s\"%s%.60s%s\n", name,
                    nearest[0] != '\0' ? "; did you mean " : "", nearest, nearest[0] != '\0' ? "?" : "");
        }
        return found;
    }
    for (int i = 0; i < count; i++) {
        if (strcmp(file_name(rows[i].rig), file_name(rig_file)) == 0) {
            found = &rows[i];
            fits++;
        }
    }
    found = fits == 1 ? found : count == 1 ? &rows[0] : NULL;
    if (found == NULL) {
        fprintf(stderr, "oilwright filter: which vehicle of the logbook is it? Give --vehicle NAME\n");
    }
    return found;
}

/// The log's name for a filter of the rig: the same, or the only one on both sides.
static const char *log_name(const OwLogFilters *f, int64_t vehicle, const char *part, bool is_only) {
    const char *only = NULL;
    int count = 0;
    for (int i = 0; i < f->place_count; i++) {
        if (f->vehicles[i] == vehicle) {
            if (strcasecmp(f->filters[i], part) == 0) {
                return part;
            }
            only = f->filters[i];
            count++;
        }
    }
    return is_only && count == 1 ? only : part;
}

static OwStatus learn(OwLogbook *book, OwArena *arena, const OwFilterStudy *study,
                      const OwLogVehicleRow *vehicle, OwFiltersLearned *learned, OwFaults *faults) {
    OwStatus status = OW_OK;
    for (int i = 0; i < study->filter_count && status == OW_OK; i++) {
        const OwFilterLife *life = &study->filters[i];
        OwLogStudy asked = {.vehicle = vehicle->id,
                            .distance_m = ow_filter_log_middle(life),
                            .solids_kg_kg = study->solids_kg_kg};
        OwLogFilters f;
        status = ow_log_filters_read(book, arena, NULL, &f, faults);
        asked.filter = status == OW_OK ? log_name(&f, vehicle->id, study->rig->parts[life->part].name,
                                                  study->filter_count == 1)
                                       : NULL;
        ow_log_filters_clear(&f);
        status = status == OW_OK ? ow_log_filters_read(book, arena, &asked, &f, faults) : status;
        for (int p = 0; status == OW_OK && p < f.place_count; p++) {
            if (f.vehicles[p] != vehicle->id || strcasecmp(f.filters[p], asked.filter) != 0) {
                continue;
            }
            OwFilterLearned *item = &learned->items[learned->count++];
            *item = (OwFilterLearned){.part = life->part, .study_m = asked.distance_m};
            status = ow_learn_filter(f.model, p, study->solids_kg_kg, f.oil_k[p], &item->learned);
            break;
        }
        ow_log_filters_clear(&f);
    }
    return status;
}

bool ow_filter_log_read(const OwFilterStudy *study, const char *path, const char *vehicle,
                        const char *rig_file, OwFiltersLearned *learned, int *code) {
    OwLogbook *book = NULL;
    OwFaults faults = {0};
    OwArena *arena = ow_arena_create();
    OwLogVehicleRow *rows = NULL;
    OwLogNames names = {0};
    int count = 0;
    const OwLogVehicleRow *found = NULL;
    *learned = (OwFiltersLearned){0};
    *code = OW_CLI_USAGE;
    OwStatus status = arena == NULL ? OW_ERROR_MEMORY : ow_logbook_open(path, OW_LOG_READ, &book, &faults);
    status = status == OW_OK ? ow_logbook_vehicles(book, arena, &rows, &count, &faults) : status;
    status = status == OW_OK ? ow_log_names_read(book, arena, &names, &faults) : status;
    if (status == OW_OK) {
        found = find_vehicle(rows, count, vehicle, rig_file, &names);
    }
    if (found != NULL) {
        (void)snprintf(learned->vehicle, sizeof learned->vehicle, "%s", found->name);
        status = learn(book, arena, study, found, learned, &faults);
    }
    if (status != OW_OK) {
        ow_cli_faults(&faults);
        if (faults.errors == 0) {
            fprintf(stderr, "oilwright filter: %s\n", ow_status_text(status));
        }
        *code = status == OW_ERROR_MEMORY ? OW_CLI_BROKEN : OW_CLI_USAGE;
    }
    ow_logbook_close(&book);
    ow_arena_destroy(&arena);
    ow_faults_clear(&faults);
    return status == OW_OK && found != NULL;
}

static void far(double m, OwDisplay display, char *text, size_t size) {
    const double shown = m / (display == OW_DISPLAY_US ? 1609.344 : 1000.0);
    const double step = shown > 100.0 ? pow(10.0, floor(log10(shown)) - 2.0) : 1.0;
    (void)snprintf(text, size, "%.0f %s", round(shown / step) * step, display == OW_DISPLAY_US ? "mi" : "km");
}

void ow_filter_log_text(const OwReport *report, const OwFilterStudy *study, const OwFiltersLearned *learned) {
    ow_report_line(report, "By the logbook of %s:", learned->vehicle);
    for (int i = 0; i < learned->count; i++) {
        const OwFilterLearned *item = &learned->items[i];
        const OwLearnedFilter *l = &item->learned;
        char life[32], low[32], high[32], study_far[32], text[700],
            beside[120] = "the study gives no distance";
        far(l->life, study->display, life, sizeof life);
        far(l->low, study->display, low, sizeof low);
        far(l->high, study->display, high, sizeof high);
        if (item->study_m > 0.0) {
            far(item->study_m, study->display, study_far, sizeof study_far);
            (void)snprintf(beside, sizeof beside, "%.2g times the study's %s", l->factor, study_far);
        }
        (void)snprintf(text, sizeof text,
                       "%.60s lasts %s on oil with %.3g mg/kg of dirt, 9 in 10 between %s and %s: %s. %s",
                       study->rig->parts[item->part].name, life, 1e6 * study->solids_kg_kg, low, high, beside,
                       l->text);
        ow_report_paragraph(report, text, 2);
    }
    if (learned->count == 0) {
        ow_report_line(report, "  it has none of these filters.");
    }
}

json_t *ow_filter_log_json(const OwFilterStudy *study, const OwFiltersLearned *learned) {
    json_t *filters = json_array(), *vehicle = json_string(learned->vehicle);
    for (int i = 0; i < learned->count; i++) {
        const OwFilterLearned *item = &learned->items[i];
        const OwLearnedFilter *l = &item->learned;
        (void)json_array_append_new(
            filters,
            json_pack("{s:o, s:f, s:f, s:f, s:o, s:o, s:i, s:i, s:i, s:f, s:s}", "part",
                      ow_study_part(study->rig, item->part), "life_m", l->life, "low_m", l->low, "high_m",
                      l->high, "study_m", item->study_m > 0.0 ? json_real(item->study_m) : json_null(),
                      "factor", item->study_m > 0.0 ? json_real(l->factor) : json_null(), "n", l->n,
                      "running", l->running, "others", l->others, "doubt_left", l->doubt_left, "text",
                      l->text));
    }
    return json_pack("{s:o, s:o}", "vehicle", vehicle != NULL ? vehicle : json_string("?"), "filters",
                     filters);
}
