// SPDX-License-Identifier: GPL-3.0-or-later
// Reading and writing struct members through the rows of the field tables.
#include "rig/catalogue.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

const char *const ow_place_names[5] = {
    [OW_PLACE_UNDER_FLOOR] = "under floor",
    [OW_PLACE_ENGINE_BAY] = "engine bay",
    [OW_PLACE_CABIN] = "cabin",
    [OW_PLACE_LOAD_SPACE] = "load space",
};

_Static_assert(sizeof(OwPlace) == sizeof(int) && sizeof(OwMaterial) == sizeof(int) &&
                   sizeof(OwPumpType) == sizeof(int) && sizeof(OwDriveKind) == sizeof(int),
               "choices are kept as int");

void ow_field_store(const OwField *field, void *base, double value) {
    void *place = (char *)base + field->offset;
    if (field->type == OW_FIELD_REAL) {
        memcpy(place, &value, sizeof value);
    } else if (field->type == OW_FIELD_FLAG) {
        const bool flag = value != 0.0;
        memcpy(place, &flag, sizeof flag);
    } else if (field->type != OW_FIELD_TEXT) {
        const int number = (int)value;
        memcpy(place, &number, sizeof number);
    }
}

int ow_field_int(const OwField *field, const void *base) {
    const void *place = (const char *)base + field->offset;
    if (field->type == OW_FIELD_FLAG) {
        unsigned char flag = 0; // read as a byte: a bool from unchecked memory need not be 0 or 1
        memcpy(&flag, place, 1);
        return flag != 0 ? 1 : 0;
    }
    int number = 0;
    if (field->type == OW_FIELD_COUNT || field->type == OW_FIELD_CHOICE) {
        memcpy(&number, place, sizeof number);
    }
    return number;
}

double ow_field_real(const OwField *field, const void *base) {
    if (field->type != OW_FIELD_REAL) {
        return ow_field_int(field, base);
    }
    double value = 0.0;
    memcpy(&value, (const char *)base + field->offset, sizeof value);
    return value;
}

void ow_fields_default(OwFieldTable table, void *base) {
    for (int i = 0; i < table.count; i++) {
        ow_field_store(&table.rows[i], base, table.rows[i].fallback);
    }
}

const OwField *ow_field_find(OwFieldTable table, const char *key) {
    for (int i = 0; i < table.count; i++) {
        if (strcmp(table.rows[i].key, key) == 0) {
            return &table.rows[i];
        }
    }
    return NULL;
}

static int choice_count(const OwField *field) {
    int n = 0;
    while (field->choices[n] != NULL) {
        n++;
    }
    return n;
}

bool ow_field_is_legal(const OwField *field, double value) {
    if (field->type == OW_FIELD_TEXT || field->type == OW_FIELD_FLAG) {
        return true;
    }
    if (field->type == OW_FIELD_CHOICE) {
        return value >= 0.0 && value < choice_count(field);
    }
    // A hair of room, so that a limit written in another unit is still inside.
    const double hair = 1e-9 * (fabs(field->low) + fabs(field->high));
    return (value >= field->low - hair && value <= field->high + hair) || (field->none && value == 0.0);
}

void ow_field_write(const OwField *field, double value, OwDisplay display, char *text, size_t size) {
    if (size == 0) {
        return;
    }
    if (field->type == OW_FIELD_TEXT) {
        text[0] = '\0';
    } else if (field->type == OW_FIELD_FLAG && field->choices == NULL) {
        (void)snprintf(text, size, "%s", value != 0.0 ? "yes" : "no");
    } else if (field->choices != NULL) {
        const int n = choice_count(field);
        const int i = value >= 0.0 && value < n ? (int)value : 0;
        (void)snprintf(text, size, "%s", field->choices[i]);
    } else if (field->type == OW_FIELD_COUNT) {
        (void)snprintf(text, size, "%d", (int)value);
    } else if (field->none && value == 0.0) {
        (void)snprintf(text, size, "none");
    } else {
        ow_units_write(value, field->quantity, display, text, size);
    }
}
