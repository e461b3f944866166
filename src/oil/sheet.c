// SPDX-License-Identifier: GPL-3.0-or-later
// What a laboratory sheet says, in place of what would be modelled; and what is left of it in a blend.
#include "oil/check.h"
#include "oil/curve.h"
#include "oil/fluids.h"
#include "oil/study.h"

#include <ctype.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

// The 90 % band is fixed + share of the value: some six tenths of the methods' reproducibility (EN ISO 2719
// and 5165, DIN 51900, EN 14111, 14112, ISO 20846, 14538; from memory). What lies outside least..most is
// taken for a slip of the pen (assumed).
static const struct {
    const char *name, *other; ///< other names, comma separated
    double least, most, fixed, share;
    double factor, offset; ///< to the unit of the message
    const char *unit;
} sheet[OW_SHEET_COUNT] = {
    [OW_SHEET_FLASH] = {"flash point", "flash", 233.15, 673.15, 7.0, 0.0, 1.0, -273.15, "degC"},
    [OW_SHEET_CETANE] = {"cetane number", "cetane,cn,dcn", 10.0, 100.0, 2.6, 0.0, 1.0, 0.0, ""},
    [OW_SHEET_NET_HEAT] = {"net heat", "heat,net heating value,heating value", 20e6, 50e6, 0.25e6, 0.0, 1e-6,
                           0.0, "MJ/kg"},
    [OW_SHEET_IODINE] = {"iodine value", "iodine,iodine number", 1e-9, 250.0, 3.0, 0.0, 1.0, 0.0,
                         "g I2/100 g"},
    [OW_SHEET_OXIDATION] = {"oxidation stability", "oxidation", 1e-9, 3.6e6, 900.0, 0.15, 1.0 / 3600.0, 0.0,
                            "h"},
    [OW_SHEET_SULPHUR] = {"sulphur", "sulfur,s", 1e-12, 0.05, 1e-6, 0.1, 1e6, 0.0, "mg/kg"},
    [OW_SHEET_PHOSPHORUS] = {"phosphorus", "p", 1e-12, 0.01, 0.4e-6, 0.1, 1e6, 0.0, "mg/kg"},
    [OW_SHEET_CALCIUM] = {"calcium", "ca", 1e-12, 0.01, 0.2e-6, 0.15, 1e6, 0.0, "mg/kg"},
    [OW_SHEET_MAGNESIUM] = {"magnesium", "mg", 1e-12, 0.01, 0.2e-6, 0.15, 1e6, 0.0, "mg/kg"},
};

const char *ow_sheet_name(OwSheetValue value) {
    return (unsigned)value < OW_SHEET_COUNT ? sheet[value].name : "?";
}

static bool is_word(const char *word, size_t size, const char *text) {
    for (size_t i = 0; i < size; ++i) {
        if (tolower((unsigned char)word[i]) != tolower((unsigned char)text[i])) {
            return false; // also where the text ends
        }
    }
    return text[size] == '\0';
}

int ow_sheet_find(const char *text) {
    for (int i = 0; text && i < OW_SHEET_COUNT; ++i) {
        if (is_word(sheet[i].name, strlen(sheet[i].name), text)) {
            return i;
        }
        for (const char *other = sheet[i].other; *other;) {
            const size_t size = strcspn(other, ",");
            if (is_word(other, size, text)) {
                return i;
            }
            other += size + (other[size] == ',');
        }
    }
    return -1;
}

OwStatus ow_sheet_check(const double *said, const char *part, OwFaults *faults) {
    OwStatus status = OW_OK;
    for (int i = 0; i < OW_SHEET_COUNT; ++i) {
        if (said[i] == 0.0 || (said[i] >= sheet[i].least && said[i] <= sheet[i].most)) {
            continue;
        }
        char text[160], remedy[160];
        snprintf(text, sizeof text, "the %s is %.6g %s", sheet[i].name,
                 said[i] * sheet[i].factor + sheet[i].offset, sheet[i].unit);
        snprintf(remedy, sizeof remedy, "give %.3g to %.6g %s",
                 fmax(sheet[i].least * sheet[i].factor, 1e-3) + sheet[i].offset,
                 sheet[i].most * sheet[i].factor + sheet[i].offset, sheet[i].unit);
        status = ow_oil_fault(faults, OW_ERROR_VALUE, OW_FAULT_ERROR, part, text, remedy);
    }
    return status;
}

static OwOilValue *place_of(OwOilStudy *study, OwSheetValue value) {
    OwOilValue *const places[OW_SHEET_COUNT] = {
        [OW_SHEET_FLASH] = &study->flash,           [OW_SHEET_CETANE] = &study->cetane,
        [OW_SHEET_NET_HEAT] = &study->net_heat,     [OW_SHEET_IODINE] = &study->iodine,
        [OW_SHEET_OXIDATION] = &study->oxidation,   [OW_SHEET_SULPHUR] = &study->sulphur,
        [OW_SHEET_PHOSPHORUS] = &study->phosphorus, [OW_SHEET_CALCIUM] = &study->calcium,
        [OW_SHEET_MAGNESIUM] = &study->magnesium};
    return places[value];
}

void ow_sheet_take(const double *said, OwOilStudy *study, const char *part) {
    char text[200];
    if (said[OW_SHEET_IODINE] > 0.0 && study->iodine.is_known &&
        fabs(said[OW_SHEET_IODINE] - study->iodine.value) > 12.0) { // twice the band of the profile
        snprintf(text, sizeof text,
                 "the sheet's iodine value of %.0f is no %s's (%.0f by its fatty acids): another oil, or "
                 "mixed, or "
                 "much used",
                 said[OW_SHEET_IODINE], part, study->iodine.value);
        ow_study_note(study, part, text);
    }
    // 101 degC: the least of EN 14214.
    if (said[OW_SHEET_FLASH] > 0.0 && said[OW_SHEET_FLASH] < 374.15 && study->fluid.kind == OW_OIL_PLANT) {
        ow_study_note(
            study, part,
            "an oil that flashes below 101 degC holds petrol, a solvent or a fuel: keep it from every "
            "heater and flame until it is known what");
    }
    for (int i = 0; i < OW_SHEET_COUNT; ++i) {
        if (said[i] > 0.0) {
            OwOilValue *v = place_of(study, (OwSheetValue)i);
            const double value = said[i] + sheet[i].offset;
            const double half = sheet[i].fixed + sheet[i].share * value;
            const double low = value - half;
            *v = (OwOilValue){
                true,     value, i == OW_SHEET_FLASH ? low : fmax(low, 0.0), value + half, OW_TRUST_MEASURED,
                "as said"};
        }
    }
}

void ow_oil_study_thin(const OwOilStudy *oil, double volume_share, OwOilStudy *blend) {
    // Water, contamination and sulphur of EN 590, acid value of EN 14214; phosphorus, calcium and magnesium
    // of a road fuel lie below what is measured (assumed).
    const struct {
        const OwOilValue *from;
        OwOilValue *to;
        double diluent_most;
    } rows[] = {{&oil->acid, &blend->acid, 0.5},
                {&oil->water, &blend->water, 200e-6},
                {&oil->solids, &blend->solids, 24e-6},
                {&oil->sulphur, &blend->sulphur, 10e-6},
                {&oil->phosphorus, &blend->phosphorus, 0.0},
                {&oil->calcium, &blend->calcium, 0.0},
                {&oil->magnesium, &blend->magnesium, 0.0}};
    const double whole = ow_curve_value(&blend->fluid.density_kg_m3, 288.15);
    const double share =
        fmin(volume_share * ow_curve_value(&oil->fluid.density_kg_m3, 288.15) / fmax(whole, 1.0), 1.0);
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; ++i) {
        const OwOilValue *v = rows[i].from;
        if (v->is_known) {
            *rows[i].to =
                (OwOilValue){true,
                             share * v->value,
                             share * v->low,
                             share * v->high + (1.0 - share) * rows[i].diluent_most,
                             OW_TRUST_ASSUMED,
                             "the oil's, thinned by mass; diluents clean, at most by their standards"};
        }
    }
}
