// SPDX-License-Identifier: GPL-3.0-or-later
// What a logbook's period says, put over the figures of a cost file. What was not written down stays the
// file's.
#include <math.h>
#include <string.h>

#include "cost_cli.h"
#include "log_cli.h"
#include "oilwright/logbook.h"

#define DAY_S 86400.0
#define YEAR_S (365.25 * DAY_S)
#define LEAST_DAYS 28.0 ///< shorter periods say nothing of a year
// Scatter of single events as a share of their mean (assumed): a mean of n has it over the root of n.
#define PICKUP_SCATTER 0.5
#define FILL_SCATTER 0.1
#define FILTER_SCATTER 0.4 // also lube changes
#define WORK_SCATTER 0.3
#define YEAR_SCATTER 0.1 // between years

/// A period's sums: of the yard and all, and of the vehicle in question.
typedef struct Period {
    OwLogTotals all, vehicle;
    double years;
    OwCostLearned learned;
    char whose[80]; ///< as the answer tells it; "" when there is but one vehicle
} Period;

static OwStatus tell(OwFaults *faults, const char *file, OwSeverity severity, const char *part,
                     const char *message, const char *remedy) {
    return ow_faults_tell(faults, OW_ERROR_VALUE, severity, file, part, message, remedy);
}

static double money(int64_t hundredths) {
    return (double)hundredths / 100.0;
}

/// Over / under, when both were written down; `scatter` of one of `n` events.
static void take(Period *p, OwCostInput input, double over, double under, double scatter, double n) {
    if (over > 0.0 && under > 0.0 && n > 0.0) {
        p->learned.has[input] = true;
        p->learned.value[input] = over / under;
        p->learned.error[input] = over / under * scatter / sqrt(n);
    }
}

/// As ow_cost_take_log says: pick-ups, the yard, money of the yard.
static void take_yard(Period *p) {
    const OwLogTotals *t = &p->all;
    const double pickups = (double)t->entries[OW_LOG_PICKUP], batches = (double)t->entries[OW_LOG_BATCH];
    const double clean = t->collected_m3 - t->lost_m3;
    const double yard_s = t->work_s[OW_LOG_BATCH] + t->work_s[OW_LOG_STEP] + t->work_s[OW_LOG_TEST] +
                          t->work_s[OW_LOG_MOVE] + t->work_s[OW_LOG_SHIFT] + t->work_s[OW_LOG_LEVEL] +
                          t->work_s[OW_LOG_WASTE];
    take(p, OW_COST_PICKUP_VOLUME, t->collected_m3, pickups, PICKUP_SCATTER, pickups);
    take(p, OW_COST_PICKUP_DISTANCE, t->collection_distance_m, pickups, PICKUP_SCATTER, pickups);
    take(p, OW_COST_PICKUP_TIME, t->work_s[OW_LOG_PICKUP], pickups, PICKUP_SCATTER, pickups);
    if (t->spent[OW_LOG_PICKUP] != 0 && t->collected_m3 > 0.0) { // below 0 when one is paid to take it
        p->learned.has[OW_COST_OIL_PRICE] = true;
        p->learned.value[OW_COST_OIL_PRICE] = money(t->spent[OW_LOG_PICKUP]) / t->collected_m3;
    }
    take(p, OW_COST_PICKUP_RATE, money(t->expenses[OW_LOG_EXPENSE_COLLECTION]), t->collection_distance_m, 0.0,
         1.0);
    take(p, OW_COST_LOSS, t->lost_m3, t->collected_m3, WORK_SCATTER, batches > 0.0 ? batches : 1.0);
    take(p, OW_COST_ENERGY, t->energy_j, clean, WORK_SCATTER, batches > 0.0 ? batches : 1.0);
    take(p, OW_COST_ENERGY_PRICE, money(t->expenses[OW_LOG_EXPENSE_ELECTRICITY]), t->energy_j, 0.0, 1.0);
    take(p, OW_COST_YARD_TIME, yard_s, clean, WORK_SCATTER, batches > 0.0 ? batches : 1.0);
    // The cost of a step is mostly the bag it used up.
    take(p, OW_COST_YARD_FILTERS, money(t->expenses[OW_LOG_EXPENSE_FILTERS] + t->spent[OW_LOG_STEP]), clean,
         0.0, 1.0);
    take(p, OW_COST_ADDITIVES, money(t->expenses[OW_LOG_EXPENSE_ADDITIVES]), clean, 0.0, 1.0);
    take(p, OW_COST_BATCH, t->collected_m3, batches, PICKUP_SCATTER, batches);
    take(p, OW_COST_TESTS, money(t->expenses[OW_LOG_EXPENSE_TESTS] + t->spent[OW_LOG_TEST]), batches, 0.0,
         1.0);
    double handed = 0.0;
    for (int i = 0; i < OW_LOG_WASTE_CHOICES; i++) {
        handed += t->waste_handed_m3[i];
    }
    take(p, OW_COST_WASTE_FEE, money(t->expenses[OW_LOG_EXPENSE_WASTE] + t->spent[OW_LOG_WASTE]), handed, 0.0,
         1.0);
    take(p, OW_COST_DUTY, money(t->expenses[OW_LOG_EXPENSE_DUTY]), t->filled_m3, 0.0, 1.0);
    take(p, OW_COST_EQUIPMENT, money(t->expenses[OW_LOG_EXPENSE_EQUIPMENT]), 1.0, 0.0, 1.0);
    if (p->years >= LEAST_DAYS * DAY_S / YEAR_S) {
        take(p, OW_COST_PERMITS, money(t->expenses[OW_LOG_EXPENSE_INSURANCE]), fmax(p->years, 1.0), 0.0, 1.0);
    }
}

/// Distance, fuel, filters, lube, upkeep of the vehicle.
static void take_vehicle(Period *p, double energy_ratio) {
    const OwLogTotals *t = &p->vehicle;
    const double heat_m3 = t->filled_m3 * energy_ratio + t->diesel_m3; // as diesel
    const double fills = (double)t->entries[OW_LOG_FILL], changes = (double)t->oil_changes,
                 filters = (double)t->filters;
    const double share = heat_m3 > 0.0 ? t->filled_m3 * energy_ratio / heat_m3 : 0.0;
    const double fitted = (double)t->entries[OW_LOG_FILTER];
    take(p, OW_COST_DIESEL_USE, heat_m3, t->distance_m, FILL_SCATTER, fills);
    if (t->filled_m3 > 0.0) {
        take(p, OW_COST_OIL_SHARE, share, 1.0, FILL_SCATTER * (1.0 - share), fills);
    }
    if (p->years >= LEAST_DAYS * DAY_S / YEAR_S) {
        take(p, OW_COST_DISTANCE, t->distance_m, p->years, YEAR_SCATTER, p->years);
        if (t->repairs[OW_LOG_REPAIR_CONVERSION] == 0) { // else its hours are among them
            take(p, OW_COST_UPKEEP_TIME, t->work_s[OW_LOG_REPAIR] + t->work_s[OW_LOG_FILTER], p->years,
                 WORK_SCATTER, p->years);
        }
    }
    take(p, OW_COST_FILTER_PRICE, money(t->spent[OW_LOG_FILTER]), fitted, 0.0, 1.0);
    take(p, OW_COST_FILTER_OIL, t->distance_m, filters, FILTER_SCATTER, filters);
    take(p, OW_COST_LUBE_OIL, t->distance_m, changes, FILTER_SCATTER, changes);
    take(p, OW_COST_LUBE_PRICE,
         money(t->repairs[OW_LOG_REPAIR_OIL_CHANGE] + t->expenses[OW_LOG_EXPENSE_LUBE]), changes, 0.0, 1.0);
    take(p, OW_COST_UPKEEP, money(t->repairs[OW_LOG_REPAIR_INJECTORS] + t->repairs[OW_LOG_REPAIR_GLOW_PLUGS]),
         t->distance_m * share, 0.5, 1.0);
    take(p, OW_COST_PARTS,
         money(t->expenses[OW_LOG_EXPENSE_CONVERSION] + t->repairs[OW_LOG_REPAIR_CONVERSION]), 1.0, 0.0, 1.0);
}

static OwStatus read_date(const char *text, const char *option, int64_t *at_s, OwFaults *faults) {
    if (text == NULL || ow_log_local_read(text, at_s) == OW_OK) {
        return OW_OK;
    }
    char message[160];
    (void)snprintf(message, sizeof message, "\"%.60s\" is no date", text);
    return tell(faults, "command line", OW_FAULT_ERROR, option, message, "write for example 2026-01-31");
}

/// The vehicle by its name; with none named the logbook's, all summed.
static OwStatus find_vehicle(OwLogbook *book, const char *path, const char *name, int64_t *id, Period *p,
                             OwFaults *faults) {
    *id = 0;
    if (name != NULL) {
        char nearest[OW_LOG_NAME_MAX + 1] = "", message[160], remedy[160];
        const OwStatus status = ow_logbook_find(book, 1u << OW_LOG_VEHICLE, name, id, nearest, faults);
        if (status != OW_OK || *id != 0) {
            (void)snprintf(p->whose, sizeof p->whose, ", %.60s alone", name);
            return status;
        }
        (void)snprintf(message, sizeof message, "there is no vehicle \"%.60s\"", name);
        if (nearest[0] != '\0') {
            (void)snprintf(remedy, sizeof remedy, "did you mean \"%.60s\"?", nearest);
        } else {
            (void)snprintf(remedy, sizeof remedy, "name one that the logbook has");
        }
        return tell(faults, path, OW_FAULT_ERROR, "--vehicle", message, remedy);
    }
    OwArena *arena = ow_arena_create();
    OwLogVehicleRow *rows = NULL;
    int count = 0;
    OwStatus status =
        arena == NULL ? OW_ERROR_MEMORY : ow_logbook_vehicles(book, arena, &rows, &count, faults);
    if (status == OW_OK && count > 1) {
        (void)snprintf(p->whose, sizeof p->whose, ", all %d vehicles together", count);
        (void)tell(faults, path, OW_FAULT_WARNING, "", "the logbook has several vehicles: all are summed",
                   "choose one with --vehicle");
    }
    ow_arena_destroy(&arena);
    return status;
}

static OwStatus read_period(OwLogbook *book, const char *path, const char *from, const char *to,
                            const char *vehicle, Period *p, OwFaults *faults) {
    int64_t from_s = 0, to_s = 0, id = 0;
    OwStatus status = read_date(from, "--from", &from_s, faults);
    const OwStatus second = read_date(to, "--to", &to_s, faults);
    status = status == OW_OK ? second : status;
    if (status == OW_OK && to != NULL && from != NULL && to_s <= from_s) {
        status = tell(faults, "command line", OW_FAULT_ERROR, "--to", "the period ends before it begins",
                      "give a later day than that of --from");
    }
    status = status == OW_OK ? find_vehicle(book, path, vehicle, &id, p, faults) : status;
    status = status == OW_OK ? ow_logbook_totals(book, from_s, to_s, 0, &p->all, faults) : status;
    status = status == OW_OK ? ow_logbook_totals(book, from_s, to_s, id, &p->vehicle, faults) : status;
    if (status == OW_OK) {
        const int64_t first = from_s > p->all.first_s ? from_s : p->all.first_s;
        const int64_t last = to_s > 0 && to_s < p->all.last_s ? to_s : p->all.last_s;
        p->years = last > first ? (double)(last - first) / YEAR_S : 0.0;
        if (p->years < LEAST_DAYS * DAY_S / YEAR_S) {
            (void)tell(faults, path, OW_FAULT_WARNING, "",
                       "less than four weeks are written down: yearly figures stay the file's",
                       "choose a longer period");
        }
    }
    return status;
}

OwStatus ow_cost_take_log(OwCostPlan *plan, const char *path, const char *from, const char *to,
                          const char *vehicle, OwCostTaken *taken, OwFaults *faults) {
    OwLogbook *book = NULL;
    Period period = {.years = 0.0};
    OwStatus status = ow_logbook_open(path, OW_LOG_READ, &book, faults);
    status = status == OW_OK ? read_period(book, path, from, to, vehicle, &period, faults) : status;
    if (status == OW_OK) {
        take_yard(&period);
        take_vehicle(&period, plan->inputs[OW_COST_ENERGY_RATIO].value);
        const int count = ow_cost_learn(plan, &period.learned, OW_COST_FROM_LOG, faults);
        (void)snprintf(taken->log, sizeof taken->log, "Logbook: %d figures from %.1f years%s.", count,
                       period.years, period.whose);
    }
    ow_logbook_close(&book);
    return status;
}
