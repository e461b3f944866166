// SPDX-License-Identifier: GPL-3.0-or-later
// The table of named fluids: published points and constants, and the search by name.
#include "oil/fluids.h"

#include <ctype.h>
#include <string.h>

// Sources of the points: N = Noureddini, Teoh & Clements 1992 JAOCS 69:1189; A = Acaroglu 2001 Energy Sources
// 23:823; L = Lang et al. 1992 JAOCS 69:1054; M = Magne 1945; G = Goering et al. 1982 Trans. ASAE 25:1472; P
// = de Almeida 2002 Fuel 81:2097; m = from memory.
const OwOilEntry ow_oil_entries[] = {
    {"rapeseed",
     "canola,rape",
     OW_OIL_PLANT,
     919.0,
     37.4e6,
     -3.9,
     246.0,
     0.0330,
     {{10, 128.8}, {20, 76}, {25, 63}, {40, 35.5}, {50, 24.5}, {60, 17}, {80, 11}, {90, 9}},
     "A, L"},
    {"rapeseed high-erucic",
     "rapeseed-erucic,high-erucic rapeseed",
     OW_OIL_PLANT,
     911.5,
     37.4e6,
     -3.9,
     246.0,
     0.0330,
     {{23.9, 87}, {37.8, 50}, {48.9, 34}, {60, 24}, {82.2, 14}, {100, 9}, {110, 8}},
     "N, G"},
    {"soybean",
     "soya,soy",
     OW_OIL_PLANT,
     922.0,
     36.98e6,
     -3.9,
     254.0,
     0.0320,
     {{0, 184.9}, {10, 107.5}, {25, 55}, {40, 32}, {60, 18}, {82.2, 11}, {100, 8}, {110, 7}},
     "M, N, G"},
    {"sunflower",
     "sunflower seed",
     OW_OIL_PLANT,
     922.0,
     37.1e6,
     -5.0,
     274.0,
     0.0330,
     {{20, 66}, {37.8, 33.9}, {100, 7.7}},
     "G, m"},
    {"peanut",
     "groundnut,arachis",
     OW_OIL_PLANT,
     916.0,
     37.1e6,
     5.0,
     271.0,
     0.0322,
     {{20, 82}, {37.8, 39.6}, {100, 8.3}},
     "G, m"},
    {"palm", "", OW_OIL_PLANT, 918.0, 36.6e6, 31.0, 267.0, 0.0320, {{40, 38}, {60, 20}, {100, 8}}, "P"},
    {"used",
     "used oil,used frying,waste",
     OW_OIL_PLANT,
     922.0,
     36.8e6,
     8.0,
     250.0,
     0.0320,
     {{20, 88}, {40, 41}, {100, 9.0}},
     "m"},
    {"diesel",
     "diesel no. 2,diesel no 2,diesel-2,en 590,en590,diesel 2",
     OW_OIL_PETROLEUM,
     838.0,
     42.8e6,
     -5.0,
     65.0,
     0.0280,
     {{0, 7.2}, {20, 4.1}, {40, 2.7}, {100, 1.12}},
     "m, ASTM D975 range"},
    {"diesel no. 1",
     "diesel no 1,diesel-1,diesel 1,winter diesel,arctic diesel",
     OW_OIL_PETROLEUM,
     815.0,
     43.1e6,
     -35.0,
     55.0,
     0.0265,
     {{0, 3.6}, {20, 2.3}, {40, 1.65}, {100, 0.80}},
     "m, ASTM D975 range"},
    {"kerosene",
     "paraffin,heating oil no. 1,jet a-1",
     OW_OIL_PETROLEUM,
     800.0,
     43.2e6,
     -47.0,
     45.0,
     0.0260,
     {{-20, 4.2}, {20, 1.7}, {40, 1.25}, {100, 0.66}},
     "m"},
    {"fame",
     "biodiesel,rme,rapeseed methyl ester",
     OW_OIL_ESTER,
     883.0,
     37.2e6,
     -4.0,
     170.0,
     0.0310,
     {{0, 12.6}, {20, 7.1}, {40, 4.5}, {100, 1.75}},
     "m, EN 14214 range"},
};
const int ow_oil_entry_count = (int)(sizeof ow_oil_entries / sizeof ow_oil_entries[0]);

static const char *const names[] = {
    "rapeseed", "rapeseed high-erucic", "soybean",  "sunflower", "peanut", "palm", "used",
    "diesel",   "diesel no. 1",         "kerosene", "fame",      NULL};

const char *const *ow_oil_names(void) {
    return names;
}

/// Same letters and digits, blind to case, blanks, dots, hyphens.
static bool is_same(const char *a, size_t a_size, const char *b) {
    size_t i = 0;
    for (;;) {
        while (i < a_size && !isalnum((unsigned char)a[i])) {
            ++i;
        }
        while (*b && !isalnum((unsigned char)*b)) {
            ++b;
        }
        if (i >= a_size || !*b) {
            return i >= a_size && !*b;
        }
        if (tolower((unsigned char)a[i]) != tolower((unsigned char)*b)) {
            return false;
        }
        ++i;
        ++b;
    }
}

const OwOilEntry *ow_oil_entry_find(const char *name) {
    if (!name || !*name) {
        return NULL;
    }
    for (int i = 0; i < ow_oil_entry_count; ++i) {
        const OwOilEntry *entry = &ow_oil_entries[i];
        if (is_same(entry->name, strlen(entry->name), name)) {
            return entry;
        }
        for (const char *alias = entry->alias; *alias;) {
            const size_t size = strcspn(alias, ",");
            if (is_same(alias, size, name)) {
                return entry;
            }
            alias += size + (alias[size] == ',');
        }
    }
    return NULL;
}

/// Levenshtein distance of two words, case-blind, both cut at 63 letters.
static int distance(const char *a, size_t a_size, const char *b) {
    int row[64];
    const size_t b_size = strnlen(b, 63);
    a_size = a_size > 63 ? 63 : a_size;
    for (size_t j = 0; j <= b_size; ++j) {
        row[j] = (int)j;
    }
    for (size_t i = 1; i <= a_size; ++i) {
        int diagonal = row[0];
        row[0] = (int)i;
        for (size_t j = 1; j <= b_size; ++j) {
            const int above = row[j];
            const bool same = tolower((unsigned char)a[i - 1]) == tolower((unsigned char)b[j - 1]);
            int best = diagonal + !same;
            best = above + 1 < best ? above + 1 : best;
            best = row[j - 1] + 1 < best ? row[j - 1] + 1 : best;
            row[j] = best;
            diagonal = above;
        }
    }
    return row[b_size];
}

const char *ow_oil_entry_nearest(const char *name) {
    if (!name || !*name) {
        return NULL;
    }
    const char *best = NULL;
    int best_distance = (int)(strnlen(name, 63) + 1) / 2; // more than half the letters wrong is no likeness
    for (int i = 0; i < ow_oil_entry_count; ++i) {
        const OwOilEntry *entry = &ow_oil_entries[i];
        int d = distance(entry->name, strlen(entry->name), name);
        for (const char *alias = entry->alias; *alias;) {
            const size_t size = strcspn(alias, ",");
            const int other = distance(alias, size, name);
            d = other < d ? other : d;
            alias += size + (alias[size] == ',');
        }
        if (d < best_distance) {
            best_distance = d;
            best = entry->name;
        }
    }
    return best;
}
