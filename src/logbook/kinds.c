// SPDX-License-Identifier: GPL-3.0-or-later
// The one table of kinds and fields that the command line, the CSV files, the page and the SQL all follow.
#include "oilwright/logbook.h"

#include "base/text.h"

#include <string.h>

#define REFS(kind) (1u << OW_LOG_##kind)
#define OIL_PLACES (REFS(VESSEL) | REFS(BATCH))

// Steps: litres to a microlitre, kilometres to a millimetre, seconds to a millisecond; see OwLogField.
#define VOLUME(key, label, need, low, high, doc)                                                             \
    { key, label, OW_LOG_QUANTITY, OW_Q_VOLUME, need, low, high, "L", "L", 1e-9, 1e6, 0, NULL, 0, doc }
#define LENGTH(key, label, need, low, high, doc)                                                             \
    { key, label, OW_LOG_QUANTITY, OW_Q_LENGTH, need, low, high, NULL, "km", 1e-3, 1e6, 0, NULL, 0, doc }
#define TIME(key, label, high, doc)                                                                          \
    { key, label, OW_LOG_QUANTITY, OW_Q_TIME, false, 0, high, "min", "s", 1e-3, 1e3, 0, NULL, 0, doc }
#define PRESSURE(key, label, need, doc)                                                                      \
    { key, label, OW_LOG_QUANTITY, OW_Q_PRESSURE, need, -1.1e5, 2e6, NULL, "kPa", 1e-3, 1e6, 0, NULL, 0, doc }
#define TEMPERATURE(key, label, doc)                                                                         \
    {                                                                                                        \
        key, label, OW_LOG_QUANTITY, OW_Q_TEMPERATURE, false, 223.15, 573.15, NULL, "degC", 1e-3, 1e3,       \
            273150, NULL, 0, doc                                                                             \
    }
#define SHARE(key, label, high, unit, per_unit, doc)                                                         \
    { key, label, OW_LOG_QUANTITY, OW_Q_NUMBER, false, 0, high, unit, unit, 1e-9, per_unit, 0, NULL, 0, doc }
#define MONEY(key, label, need, doc)                                                                         \
    { key, label, OW_LOG_MONEY, OW_Q_NUMBER, need, -1e13, 1e13, NULL, "", 1, 100, 0, NULL, 0, doc }
#define TEXT(key, label, need, doc)                                                                          \
    { key, label, OW_LOG_TEXT, OW_Q_NUMBER, need, 0, 0, NULL, "", 1, 1, 0, NULL, 0, doc }
#define CHOICE(key, label, need, words, doc)                                                                 \
    { key, label, OW_LOG_CHOICE, OW_Q_NUMBER, need, 0, 0, NULL, "", 1, 1, 0, words, 0, doc }
#define REF(key, label, need, kinds, doc)                                                                    \
    { key, label, OW_LOG_REF, OW_Q_NUMBER, need, 0, 0, NULL, "", 1, 1, 0, NULL, kinds, doc }
#define NAME TEXT("name", "name", true, "what it is called; no two live things share a name")
#define NOTE TEXT("note", "note", false, "anything worth keeping")
#define WORK TIME("work", "work", 86400.0 * 31, "hands-on time; a bare number is minutes")
#define ODOMETER(need)                                                                                       \
    LENGTH("odometer", "odometer", need, 0, 1e10, "reading with its unit: 123456 km or 76712 mi")

static const char *const use_words[] = {"raw", "settling", "work", "clean", "waste", "other", NULL};
static const char *const step_words[] = {"settle",     "heat",  "dry",   "filter",
                                         "centrifuge", "blend", "other", NULL};
static const char *const waste_words[] = {"water", "sludge", "cake", "oil", "cloths", "other", NULL};
static const char *const decision_words[] = {"keep", "rework", "reject", NULL};
static const char *const reason_words[] = {"fitted", "plugged", "planned", "leak", "other", NULL};
static const char *const yes_words[] = {"no", "yes", NULL};
static const char *const repair_words[] = {"repair",     "oil change", "battery", "injectors",
                                           "glow plugs", "conversion", "other",   NULL};
static const char *const expense_words[] = {
    "conversion", "equipment",  "electricity", "filters",   "additives", "tests", "waste",
    "lube",       "collection", "duty",        "insurance", "other",     NULL};
_Static_assert(sizeof expense_words / sizeof expense_words[0] == OW_LOG_EXPENSE_CHOICES + 1,
               "one word a choice");
_Static_assert(sizeof repair_words / sizeof repair_words[0] == OW_LOG_REPAIR_CHOICES + 1,
               "one word a choice");
_Static_assert(sizeof step_words / sizeof step_words[0] == OW_LOG_STEP_CHOICES + 1, "one word a choice");
_Static_assert(sizeof waste_words / sizeof waste_words[0] == OW_LOG_WASTE_CHOICES + 1, "one word a choice");
_Static_assert(sizeof reason_words / sizeof reason_words[0] == OW_LOG_REASON_CHOICES + 1,
               "one word a choice");
_Static_assert(sizeof use_words / sizeof use_words[0] == OW_LOG_USE_CHOICES + 1, "one word a choice");
_Static_assert(sizeof decision_words / sizeof decision_words[0] == OW_LOG_DECISION_CHOICES + 1,
               "one word each");

static const OwLogField source_fields[] = {
    NAME,
    TEXT("place", "place", false, "street or town"),
    TEXT("contact", "contact", false, "whom to ask for"),
    LENGTH("distance", "distance", false, 0, 1e6, "drive there and back, for planning"),
    NOTE,
};
static const OwLogField vessel_fields[] = {
    NAME,
    CHOICE("use", "use", false, use_words, "what it is for"),
    VOLUME("capacity", "holds", false, 1e-4, 1e3, "volume when full"),
    TEXT("place", "place", false, "where it stands"),
    NOTE,
};
static const OwLogField vehicle_fields[] = {
    NAME,
    TEXT("rig", "rig file", false, "path of its rig file"),
    NOTE,
};
static const OwLogField batch_fields[] = {
    NAME,
    REF("from", "from", false, OIL_PLACES, "vessel or batch it was drawn from; with a volume"),
    VOLUME("volume", "volume", false, 1e-6, 1e3, "volume drawn; with `from`"),
    REF("vessel", "stands in", false, REFS(VESSEL), "vessel it is worked on in"),
    WORK,
    NOTE,
};
static const OwLogField pickup_fields[] = {
    REF("source", "source", true, REFS(SOURCE), "who gave it"),
    VOLUME("volume", "volume", true, 1e-6, 1e3, "volume taken"),
    REF("into", "into", true, OIL_PLACES, "vessel or batch it was poured into"),
    MONEY("price", "paid", false, "money paid for it; below 0 when you were paid"),
    LENGTH("distance", "drive", false, 0, 1e7, "drive for this pick-up"),
    WORK,
    NOTE,
};
static const OwLogField step_fields[] = {
    REF("batch", "batch", true, REFS(BATCH), "the batch worked on"),
    CHOICE("what", "step", true, step_words, "what was done"),
    TEMPERATURE("temperature", "temperature", "of the oil"),
    TIME("time", "time", 86400.0 * 366, "how long it took, unattended too; a bare number is minutes"),
    VOLUME("loss", "taken off", false, 0, 1e3, "volume that left the batch as waste"),
    CHOICE("waste", "waste", false, waste_words, "what left; other unless told"),
    VOLUME("added", "added", false, 0, 1e3, "volume blended in from outside"),
    TEXT("addition", "what was added", false, "diesel, additive, ..."),
    {"energy", "energy", OW_LOG_QUANTITY, OW_Q_ENERGY, false, 0, 3.6e12, "kWh", "kWh", 3.6, 1e6, 0, NULL, 0,
     "electricity or heat used"},
    MONEY("cost", "cost", false, "money for this step"),
    WORK,
    NOTE,
};
static const OwLogField test_fields[] = {
    REF("of", "tested", true, OIL_PLACES, "batch or vessel"),
    // 1 mg/g is 1 g/kg, the name the unit reader knows.
    {"acid", "acid value", OW_LOG_QUANTITY, OW_Q_NUMBER, false, 0, 0.2, "g/kg", "mg/g", 1e-9, 1e6, 0, NULL, 0,
     "acid value, mg KOH/g (titration)"},
    SHARE("water", "water", 1, "mg/kg", 1e3, "water content"),
    SHARE("solids", "solids", 1, "mg/kg", 1e3, "solids held by a fine filter"),
    {"viscosity", "viscosity", OW_LOG_QUANTITY, OW_Q_KINEMATIC_VISCOSITY, false, 1e-7, 1e-1, "mm2/s", "mm2/s",
     1e-12, 1e6, 0, NULL, 0, "kinematic viscosity"},
    TEMPERATURE("temperature", "at", "of the viscosity or density reading"),
    {"density", "density", OW_LOG_QUANTITY, OW_Q_DENSITY, false, 500, 1500, "kg/m3", "kg/m3", 1e-3, 1e3, 0,
     NULL, 0, "density"},
    CHOICE("decision", "decision", false, decision_words, "what follows"),
    MONEY("cost", "cost", false, "money for the test"),
    WORK,
    NOTE,
};
static const OwLogField move_fields[] = {
    REF("from", "from", true, OIL_PLACES, "vessel or batch"),
    REF("to", "to", true, OIL_PLACES, "vessel or batch; it mixes there"),
    VOLUME("volume", "volume", true, 1e-6, 1e3, "volume moved"),
    WORK,
    NOTE,
};
static const OwLogField shift_fields[] = {
    REF("batch", "batch", true, REFS(BATCH), "the whole batch"),
    REF("vessel", "to", true, REFS(VESSEL), "vessel it stands in from now on"),
    WORK,
    NOTE,
};
static const OwLogField level_fields[] = {
    REF("of", "measured", true, OIL_PLACES, "vessel (with the batches in it) or batch"),
    VOLUME("level", "level", true, 0, 1e3, "volume measured"),
    VOLUME("change", "correction", false, -1e3, 1e3, "level less the book; worked out when not given"),
    NOTE,
};
static const OwLogField waste_fields[] = {
    CHOICE("what", "waste", true, waste_words, "what was handed over"),
    VOLUME("volume", "volume", true, 1e-6, 1e3, "how much"),
    TEXT("taker", "taken by", false, "who took it"),
    TEXT("document", "document", false, "number of the slip"),
    REF("from", "from", false, OIL_PLACES,
        "vessel or batch whose oil it was; not for waste already taken off"),
    MONEY("cost", "fee", false, "money paid; below 0 when you were paid"),
    WORK,
    NOTE,
};
static const OwLogField fill_fields[] = {
    REF("vehicle", "vehicle", true, REFS(VEHICLE), "which one"),
    VOLUME("oil", "oil", false, 0, 10, "oil filled"),
    REF("from", "from", false, OIL_PLACES, "vessel or batch; not told: oil from elsewhere"),
    ODOMETER(false),
    VOLUME("diesel", "diesel", false, 0, 10, "diesel filled"),
    MONEY("price", "paid", false, "money paid for this fill"),
    CHOICE("full", "filled up", false, yes_words, "whether the tank is full now"),
    WORK,
    NOTE,
};
static const OwLogField odometer_fields[] = {
    REF("vehicle", "vehicle", true, REFS(VEHICLE), "which one"),
    ODOMETER(true),
    CHOICE("new", "new odometer", false, yes_words,
           "yes: the odometer was replaced, and readings count on from this one"),
    LENGTH("old", "old one's last", false, 0, 1e10, "last reading of the odometer that was replaced"),
    NOTE,
};
static const OwLogField gauge_fields[] = {
    REF("vehicle", "vehicle", true, REFS(VEHICLE), "which one"),
    TEXT("filter", "filter", true, "name of the filter the gauge looks at, as in the rig file"),
    PRESSURE("reading", "reading", true, "drop or gauge pressure; a vacuum is below 0"),
    TEMPERATURE("temperature", "temperature", "of the oil"),
    ODOMETER(false),
    NOTE,
};
static const OwLogField filter_fields[] = {
    REF("vehicle", "vehicle", true, REFS(VEHICLE), "which one"),
    TEXT("filter", "filter", true, "name of the filter, as in the rig file"),
    CHOICE("reason", "reason", false, reason_words, "why; `fitted` for the first one"),
    ODOMETER(false),
    PRESSURE("before", "gauge before", false, "reading with the old one"),
    PRESSURE("after", "gauge after", false, "reading with the new one"),
    TEMPERATURE("temperature", "oil temperature", "usual one at this filter"),
    MONEY("price", "price", false, "of the new one"),
    WORK,
    NOTE,
};
static const OwLogField repair_fields[] = {
    REF("vehicle", "vehicle", false, REFS(VEHICLE), "which one; not told: the yard"),
    CHOICE("what", "kind", true, repair_words, "what sort of work"),
    TEXT("detail", "what was done", false, "in your words"),
    ODOMETER(false),
    MONEY("cost", "cost", false, "parts and bills"),
    WORK,
    NOTE,
};
static const OwLogField expense_fields[] = {
    CHOICE("what", "for", true, expense_words, "what the money was for"),
    MONEY("amount", "amount", true, "money paid; below 0 for money back"),
    REF("vehicle", "vehicle", false, REFS(VEHICLE), "when it was for one vehicle"),
    TEXT("detail", "detail", false, "in your words"),
    WORK,
    NOTE,
};
static const OwLogField undo_fields[] = {
    REF("entry", "entry", true, ((1u << OW_LOG_KINDS) - 1u) & ~(1u | REFS(UNDO)),
        "number of the entry taken back"),
    TEXT("why", "why", false, "reason"),
};

#define ROW(word, label, thing, fields, doc)                                                                 \
    { word, label, thing, fields, (int)(sizeof fields / sizeof fields[0]), doc }
static const OwLogKindRow kinds[OW_LOG_KINDS] = {
    [OW_LOG_SOURCE] = ROW("source", "Source", true, source_fields, "a kitchen or other place that gives oil"),
    [OW_LOG_VESSEL] = ROW("vessel", "Vessel", true, vessel_fields, "a drum, tank or cone in the yard"),
    [OW_LOG_VEHICLE] = ROW("vehicle", "Vehicle", true, vehicle_fields, "a vehicle and its rig file"),
    [OW_LOG_BATCH] = ROW("batch", "Batch", true, batch_fields, "oil worked on under one name"),
    [OW_LOG_PICKUP] = ROW("pickup", "Pick-up", false, pickup_fields, "oil from a source into the yard"),
    [OW_LOG_STEP] = ROW("step", "Step", false, step_fields, "work on a batch"),
    [OW_LOG_TEST] =
        ROW("test", "Test", false, test_fields, "what a batch or vessel showed, and the decision"),
    [OW_LOG_MOVE] = ROW("move", "Move", false, move_fields, "oil from one vessel or batch into another"),
    [OW_LOG_SHIFT] = ROW("shift", "Shift", false, shift_fields, "a whole batch into another vessel"),
    [OW_LOG_LEVEL] = ROW("level", "Level", false, level_fields, "a vessel or batch was measured"),
    [OW_LOG_WASTE] = ROW("waste", "Waste", false, waste_fields, "waste handed over"),
    [OW_LOG_FILL] = ROW("fill", "Fill", false, fill_fields, "oil and diesel into a vehicle"),
    [OW_LOG_ODOMETER] = ROW("odometer", "Odometer", false, odometer_fields, "a reading"),
    [OW_LOG_GAUGE] = ROW("gauge", "Gauge", false, gauge_fields, "pressure or vacuum at a filter"),
    [OW_LOG_FILTER] = ROW("filter", "Filter", false, filter_fields, "a filter fitted or changed"),
    [OW_LOG_REPAIR] = ROW("repair", "Repair", false, repair_fields, "repair, service or conversion work"),
    [OW_LOG_EXPENSE] = ROW("expense", "Expense", false, expense_fields, "money no other entry holds"),
    [OW_LOG_UNDO] = ROW("undo", "Undo", false, undo_fields, "takes one entry back"),
};

const OwLogKindRow *ow_log_kind(OwLogKind kind) {
    return kind > OW_LOG_NONE && kind < OW_LOG_KINDS ? &kinds[kind] : NULL;
}

static const char *word_at(const void *context, size_t i) {
    (void)context;
    return kinds[i].word;
}

OwLogKind ow_log_kind_of(const char *word, const char **nearest) {
    if (nearest != NULL) {
        *nearest = NULL;
    }
    if (word == NULL) {
        return OW_LOG_NONE;
    }
    for (int k = 1; k < OW_LOG_KINDS; k++) {
        if (strcmp(kinds[k].word, word) == 0) {
            return (OwLogKind)k;
        }
    }
    if (nearest != NULL) {
        *nearest = ow_text_nearest_by(word, OW_LOG_KINDS, word_at, NULL);
    }
    return OW_LOG_NONE;
}

int ow_log_field_of(OwLogKind kind, const char *key) {
    const OwLogKindRow *row = ow_log_kind(kind);
    for (int i = 0; row != NULL && key != NULL && i < row->field_count; i++) {
        if (strcmp(row->fields[i].key, key) == 0) {
            return i;
        }
    }
    return -1;
}
