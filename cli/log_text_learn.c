// SPDX-License-Identifier: GPL-3.0-or-later
// Vehicles, filters and reminders as text.
#include "log_text.h"

#include <math.h>
#include <string.h>

#include "log_json_make.h"

static void way(const LogCall *call, double m, char *text, size_t size) {
    const double shown = m / (call->display == OW_DISPLAY_US ? 1609.344 : 1000.0);
    (void)snprintf(text, size, "%.*f %s", fabs(shown) < 10.0 ? 1 : 0, shown,
                   call->display == OW_DISPLAY_US ? "mi" : "km");
}

/// Three figures are all that a learned distance carries.
static void about(const LogCall *call, double m, char *text, size_t size) {
    const double per = call->display == OW_DISPLAY_US ? 1609.344 : 1000.0;
    const double step = m > 0.0 ? pow(10.0, floor(log10(m / per)) - 2.0) : 1.0;
    way(call, step >= 1.0 ? per * step * round(m / per / step) : m, text, size);
}

OwStatus ow_log_text_vehicles(LogCall *call) {
    OwLogVehicleRow *rows;
    OwLearnFuel *model = NULL;
    int count = 0;
    OwStatus status = ow_logbook_vehicles(call->book, call->arena, &rows, &count, &call->faults);
    if (status == OW_OK && count == 0) {
        ow_report_line(
            &call->report,
            "The logbook has no vehicles yet. For example: oilwright log vehicle van rig van.yaml");
    }
    status = status == OW_OK ? ow_log_fuel_read(call->book, call->arena, rows, count, &model, &call->faults)
                             : status;
    for (int i = 0; status == OW_OK && i < count; i++) {
        char name[96], odometer[40] = "no reading", use[48] = "use not known";
        OwLearnedFuel fuel;
        ow_report_fit(name, sizeof name, rows[i].name, 22, false);
        if (rows[i].has_odometer) {
            way(call, rows[i].odometer_m, odometer, sizeof odometer);
        }
        // The learned figure, as everywhere; the plain quotient until there are two full tanks.
        if (ow_learn_fuel(model, i, &fuel) == OW_OK && fuel.n > 0) {
            ow_log_fuel_text(fuel.rate_m3_m, call->display, use, sizeof use);
        } else if (rows[i].has_consumption) {
            ow_log_fuel_text(rows[i].consumption_m3_m, call->display, use, sizeof use);
        }
        ow_report_line(&call->report, "%s %12s  %-16s %lld fills, %lld filters fitted", name, odometer, use,
                       (long long)rows[i].fills, (long long)rows[i].filters);
    }
    ow_learn_fuel_destroy(&model);
    return status;
}

static void place_text(LogCall *call, const OwLogFilters *f, int p) {
    OwLearnedFilter l;
    char text[600], life[40], low[40], high[40], now[40];
    if (ow_learn_filter(f->model, p, f->solids_kg_kg[p], f->oil_k[p], &l) != OW_OK) {
        return;
    }
    char dirt[48] = "oil with 24 mg/kg of dirt (not tested)";
    if (f->solids_kg_kg[p] > 0.0) {
        (void)snprintf(dirt, sizeof dirt, "oil with %.3g mg/kg of dirt", 1e6 * f->solids_kg_kg[p]);
    }
    about(call, l.life, life, sizeof life);
    about(call, l.low, low, sizeof low);
    about(call, l.high, high, sizeof high);
    (void)snprintf(text, sizeof text, "%s, %s: lasts %s on %s, 9 in 10 between %s and %s.",
                   f->vehicle_names[p], f->filters[p], life, dirt, low, high);
    ow_report_paragraph(&call->report, text, 2);
    if (f->current[p] != NULL && f->current[p]->has_distance) {
        const double so_far = f->current[p]->distance_m;
        char next[40];
        way(call, so_far, now, sizeof now);
        about(call, ow_learn_filter_quantile(f->model, p, f->solids_kg_kg[p], f->oil_k[p], 0.1, so_far), next,
              sizeof next);
        (void)snprintf(text, sizeof text,
                       "%s on the one in place; of those that come so far 1 in 10 plugs by %s.", now, next);
        ow_report_paragraph(&call->report, text, 2);
    }
    char wrapped[400];
    (void)snprintf(wrapped, sizeof wrapped, "%s", l.text);
    ow_report_paragraph(&call->report, wrapped, 2);
}

OwStatus ow_log_text_filters(LogCall *call, int64_t vehicle) {
    OwLogFilters f;
    const OwStatus status = ow_log_filters_read(call->book, call->arena, NULL, &f, &call->faults);
    int shown = 0;
    for (int p = 0; status == OW_OK && p < f.place_count; p++) {
        if (vehicle == 0 || f.vehicles[p] == vehicle) {
            place_text(call, &f, p);
            shown++;
        }
    }
    if (status == OW_OK && shown == 0) {
        ow_report_line(
            &call->report,
            "No filter is in the logbook yet. For example: oilwright log filter van 182420 km new");
    } else if (status == OW_OK) {
        ow_report_paragraph(
            &call->report,
            "oilwright filter RIG --log LOGBOOK --vehicle NAME joins this with the study of the rig.", 2);
    }
    ow_log_filters_clear(&f);
    return status;
}

OwStatus ow_log_text_vehicle(LogCall *call, int64_t id) {
    OwLogVehicleRow *rows;
    OwLearnFuel *model = NULL;
    OwLearnedFuel fuel;
    int count, v = 0;
    OwStatus status = ow_logbook_vehicles(call->book, call->arena, &rows, &count, &call->faults);
    while (status == OW_OK && v < count && rows[v].id != id) {
        v++;
    }
    if (status != OW_OK || v == count) {
        return status != OW_OK ? status : OW_ERROR_VALUE;
    }
    status = ow_log_fuel_read(call->book, call->arena, rows, count, &model, &call->faults);
    if (status == OW_OK && ow_learn_fuel(model, v, &fuel) == OW_OK) {
        char text[400], odometer[80] = "no reading", rate[48], low[48], high[48];
        if (rows[v].has_odometer) {
            way(call, rows[v].odometer_m, odometer, sizeof odometer);
        }
        if (rows[v].has_odometer && fabs(rows[v].counted_m - rows[v].odometer_m) > 1.0) { // replaced
            const size_t used = strlen(odometer);
            way(call, rows[v].counted_m, rate, sizeof rate);
            (void)snprintf(odometer + used, sizeof odometer - used, " (%s in all)", rate);
        }
        ow_report_line(&call->report, "%s: odometer %s, rig file %s", rows[v].name, odometer,
                       rows[v].rig[0] != '\0' ? rows[v].rig : "not told");
        ow_log_fuel_text(fuel.rate_m3_m, call->display, rate, sizeof rate);
        // Miles a gallon fall as the use rises: the lower number of either stands first.
        const bool is_us = call->display == OW_DISPLAY_US;
        ow_log_fuel_text(is_us ? fuel.high : fuel.low, call->display, low, sizeof low);
        ow_log_fuel_text(is_us ? fuel.low : fuel.high, call->display, high, sizeof high);
        (void)snprintf(text, sizeof text, "Uses %s, 9 in 10 sure between %s and %s. %s", rate, low, high,
                       fuel.text);
        ow_report_paragraph(&call->report, text, 2);
        int intervals;
        const OwFuelInterval *list = ow_learn_fuel_intervals(model, &intervals);
        for (int i = 0; i < intervals; i++) {
            if (list[i].vehicle == v && list[i].odd != OW_FUEL_USUAL) {
                ow_report_paragraph(&call->report, list[i].text, 2);
            }
        }
        status = ow_log_text_filters(call, id);
    }
    ow_learn_fuel_destroy(&model);
    if (status == OW_OK) {
        const OwLogFilter filter = {.thing = id, .limit = 10};
        ow_report_line(&call->report, "Entries, newest first:");
        status = ow_log_text_list(call, &filter);
    }
    return status;
}

OwStatus ow_log_text_due(LogCall *call) {
    OwReminder *list;
    int count;
    const OwStatus status =
        ow_log_due_read(call->book, call->arena, call->now_s, call->display, &list, &count, &call->faults);
    for (int i = 0; status == OW_OK && i < count; i++) {
        const OwReminder *r = &list[i];
        char line[600], left[80] = "", date[40] = "";
        if (r->has_distance) {
            char text[40];
            way(call, fabs(r->left_m), text, sizeof text);
            (void)snprintf(left, sizeof left, ", %s %s", text, r->left_m < 0.0 ? "over" : "left");
        }
        if (r->has_date) {
            char when[24];
            ow_log_local_write(r->due_s, when);
            (void)snprintf(date, sizeof date, ", %.10s", when);
        }
        (void)snprintf(line, sizeof line, "%s %s%s%s%s%s: %s",
                       r->is_due       ? "DUE:"
                       : r->is_soon    ? "SOON:"
                       : r->is_unknown ? "UNKNOWN:"
                                       : "ok:",
                       r->subject, r->kind == OW_REMIND_FILTER ? "" : ", ",
                       r->kind == OW_REMIND_FILTER ? "" : ow_remind_kind_text(r->kind), left, date,
                       r->reason);
        ow_report_paragraph(&call->report, line, 2);
    }
    if (status == OW_OK && count == 0) {
        ow_report_line(&call->report, "Nothing that could be due is in the logbook yet.");
    } else if (status == OW_OK) {
        ow_report_paragraph(
            &call->report,
            "Caution: hot oil burns, fuel burns, batteries give off gas: engine off and cooled, pressure let "
            "out "
            "before a line is opened; no flame, no sparks. Have a licensed workshop check the work.",
            2);
    }
    return status;
}
