// SPDX-License-Identifier: GPL-3.0-or-later
// The table of named fluids: published points and constants, and the search by name.
#include "oil/fluids.h"

#include <ctype.h>
#include <string.h>

// Sources: A Acaroglu 2001 Energy Sources 23:823; C Canakci 2007 Bioresource Technol. 98:183; G Goering et
// al. 1982 Trans. ASAE 25:1472; L Lang et al. 1992 JAOCS 69:1054; M Magne & Skau 1945 Ind. Eng. Chem.
// 37:1097; N Noureddini, Teoh & Clements 1992 JAOCS 69:1189; P de Almeida 2002 Fuel 81:2097; Pe Peterson,
// Wagner & Auld 1983 Trans. ASAE 26:322 (its two rape lines taken by their erucic acid); R Ryan, Dodge &
// Callahan 1984 JAOCS 61:1610; Re Rescorla & Carnahan 1936 Ind. Eng. Chem. 28:1212; m from memory. Where two
// sources give one temperature the mean stands. Surface tension: about Ryan et al. 1984. Cloud and flash
// points: G unless said.
const OwOilEntry ow_oil_entries[] = {
    {"rapeseed",
     "canola,rape,colza",
     OW_OIL_PLANT,
     0.0,
     0.0,
     0.0,
     -3.9,
     246.0,
     0.033,
     0.05,
     {{4.0, 178.9},
      {10.0, 128.8},
      {20.0, 76.0},
      {25.0, 63.0},
      {40.0, 35.5},
      {50.0, 24.0},
      {80.0, 11.0},
      {90.0, 9.0}},
     {[OW_ACID_16_0] = 3.49,
      [OW_ACID_18_0] = 0.85,
      [OW_ACID_18_1] = 64.4,
      [OW_ACID_18_2] = 22.3,
      [OW_ACID_18_3] = 8.23},
     "A, L; profile G"},
    {"rapeseed high-erucic",
     "high-erucic rapeseed,hear",
     OW_OIL_PLANT,
     0.0,
     0.0,
     0.0,
     -3.9,
     246.0,
     0.033,
     0.06,
     {{23.9, 87.0}, {37.8, 50.0}, {48.9, 34.0}, {60.0, 24.0}, {82.2, 14.0}, {100.0, 9.0}, {110.0, 8.0}},
     {[OW_ACID_16_0] = 3.2,
      [OW_ACID_18_0] = 1.1,
      [OW_ACID_18_1] = 14.8,
      [OW_ACID_18_2] = 12.7,
      [OW_ACID_20_1] = 17.7,
      [OW_ACID_22_1] = 46.7},
     "N; profile Pe"},
    {"soybean",
     "soya,soy,soja",
     OW_OIL_PLANT,
     0.0,
     0.0,
     0.0,
     -3.9,
     254.0,
     0.032,
     0.05,
     {{0.0, 184.9},
      {10.0, 107.5},
      {25.0, 55.0},
      {40.0, 32.0},
      {60.0, 18.0},
      {82.2, 11.0},
      {100.0, 8.0},
      {110.0, 7.0}},
     {[OW_ACID_16_0] = 11.75,
      [OW_ACID_18_0] = 3.15,
      [OW_ACID_18_1] = 23.26,
      [OW_ACID_18_2] = 55.53,
      [OW_ACID_18_3] = 6.31},
     "M, N; profile G"},
    {"sunflower",
     "sunflower seed",
     OW_OIL_PLANT,
     0.0,
     0.0,
     0.0,
     -5.0,
     274.0,
     0.0325,
     0.05,
     {{20.0, 66.0}, {37.8, 33.9}, {40.0, 31.0}, {100.0, 8.0}},
     {[OW_ACID_16_0] = 6.08, [OW_ACID_18_0] = 3.26, [OW_ACID_18_1] = 16.93, [OW_ACID_18_2] = 73.73},
     "G, R; cloud of the dewaxed oil m"},
    {"sunflower high-oleic",
     "high-oleic sunflower",
     OW_OIL_PLANT,
     0.0,
     0.0,
     0.0,
     -5.0,
     274.0,
     0.0325,
     0.06,
     {{40.0, 40.0}},
     {[OW_ACID_16_0] = 4.5, [OW_ACID_18_0] = 3.5, [OW_ACID_18_1] = 83, [OW_ACID_18_2] = 9},
     "m"},
    {"corn",
     "maize",
     OW_OIL_PLANT,
     0.0,
     0.0,
     0.0,
     -1.1,
     277.0,
     0.0325,
     0.05,
     {{23.9, 57.0}, {37.8, 34.5}, {48.9, 26.0}, {60.0, 18.0}, {82.2, 10.5}, {100.0, 8.0}, {110.0, 7.0}},
     {[OW_ACID_16_0] = 11.67,
      [OW_ACID_18_0] = 1.85,
      [OW_ACID_18_1] = 25.16,
      [OW_ACID_18_2] = 60.6,
      [OW_ACID_18_3] = 0.48,
      [OW_ACID_20_0] = 0.24},
     "G, N"},
    {"cottonseed",
     "cotton",
     OW_OIL_PLANT,
     0.0,
     0.0,
     0.0,
     1.7,
     234.0,
     0.0325,
     0.05,
     {{0.0, 212.9}, {10.0, 121.4}, {25.0, 60.0}, {40.0, 35.0}, {45.0, 29.0}, {60.0, 19.0}, {100.0, 8.0}},
     {[OW_ACID_14_0] = 0.8,
      [OW_ACID_16_0] = 21.8,
      [OW_ACID_18_0] = 2.6,
      [OW_ACID_18_1] = 17.7,
      [OW_ACID_18_2] = 56.2,
      [OW_ACID_18_3] = 0.2,
      [OW_ACID_22_0] = 0.5,
      [OW_ACID_24_0] = 0.2},
     "M, R; profile R"},
    {"peanut",
     "groundnut,arachis",
     OW_OIL_PLANT,
     0.0,
     0.0,
     0.0,
     12.8,
     271.0,
     0.0322,
     0.05,
     {{10.0, 154.0}, {25.0, 73.0}, {40.0, 39.0}, {100.0, 8.3}},
     {[OW_ACID_16_0] = 11.38,
      [OW_ACID_18_0] = 2.39,
      [OW_ACID_18_1] = 48.28,
      [OW_ACID_18_2] = 31.95,
      [OW_ACID_18_3] = 0.93,
      [OW_ACID_20_0] = 1.32,
      [OW_ACID_22_0] = 2.52,
      [OW_ACID_24_0] = 1.23},
     "M, R, G"},
    {"olive",
     "",
     OW_OIL_PLANT,
     0.0,
     0.0,
     0.0,
     6.0,
     225.0,
     0.033,
     0.05,
     {{37.8, 45.0}, {98.9, 9.0}},
     {[OW_ACID_16_0] = 11,
      [OW_ACID_16_1] = 1,
      [OW_ACID_18_0] = 2.5,
      [OW_ACID_18_1] = 76,
      [OW_ACID_18_2] = 8,
      [OW_ACID_18_3] = 0.7},
     "Re; profile m"},
    {"safflower",
     "",
     OW_OIL_PLANT,
     0.0,
     0.0,
     0.0,
     2.0,
     260.0,
     0.0325,
     0.05,
     {{37.8, 31.3}},
     {[OW_ACID_16_0] = 8.6, [OW_ACID_18_0] = 1.93, [OW_ACID_18_1] = 11.58, [OW_ACID_18_2] = 77.89},
     "G; cloud m"},
    {"safflower high-oleic",
     "high-oleic safflower",
     OW_OIL_PLANT,
     0.0,
     0.0,
     0.0,
     12.2,
     293.0,
     0.0325,
     0.05,
     {{37.8, 41.2}},
     {[OW_ACID_14_0] = 0.34,
      [OW_ACID_16_0] = 5.46,
      [OW_ACID_18_0] = 1.75,
      [OW_ACID_18_1] = 79.36,
      [OW_ACID_18_2] = 12.86,
      [OW_ACID_20_0] = 0.23},
     "G"},
    {"sesame",
     "",
     OW_OIL_PLANT,
     0.0,
     0.0,
     0.0,
     -3.9,
     260.0,
     0.0325,
     0.05,
     {{37.8, 35.5}},
     {[OW_ACID_16_0] = 13.1, [OW_ACID_18_0] = 3.92, [OW_ACID_18_1] = 52.84, [OW_ACID_18_2] = 30.14},
     "G"},
    {"linseed",
     "flax,flaxseed",
     OW_OIL_PLANT,
     0.0,
     0.0,
     0.0,
     1.7,
     241.0,
     0.0325,
     0.06,
     {{37.8, 28.6}, {98.9, 7.0}},
     {[OW_ACID_16_0] = 4.92,
      [OW_ACID_18_0] = 2.41,
      [OW_ACID_18_1] = 19.7,
      [OW_ACID_18_2] = 18.03,
      [OW_ACID_18_3] = 54.94},
     "G, Re"},
    {"crambe",
     "",
     OW_OIL_PLANT,
     0.0,
     0.0,
     0.0,
     10.0,
     274.0,
     0.033,
     0.06,
     {{23.9, 96.0}, {37.8, 54.3}, {48.9, 37.0}, {60.0, 26.0}, {82.2, 15.0}, {100.0, 11.0}, {110.0, 9.0}},
     {[OW_ACID_16_0] = 2.07,
      [OW_ACID_18_0] = 0.7,
      [OW_ACID_18_1] = 18.86,
      [OW_ACID_18_2] = 9,
      [OW_ACID_18_3] = 6.85,
      [OW_ACID_20_0] = 2.09,
      [OW_ACID_22_0] = 0.8,
      [OW_ACID_22_1] = 58.51,
      [OW_ACID_24_0] = 1.12},
     "G, N"},
    {"palm",
     "",
     OW_OIL_PLANT,
     0.0,
     0.0,
     0.0,
     31.0,
     267.0,
     0.032,
     0.06,
     {{40.0, 38.0}, {60.0, 20.0}, {100.0, 8.0}},
     {[OW_ACID_12_0] = 0.2,
      [OW_ACID_14_0] = 1.1,
      [OW_ACID_16_0] = 44,
      [OW_ACID_18_0] = 4.5,
      [OW_ACID_18_1] = 39.2,
      [OW_ACID_18_2] = 10.1,
      [OW_ACID_18_3] = 0.4,
      [OW_ACID_20_0] = 0.4},
     "P; profile m"},
    {"palm olein",
     "",
     OW_OIL_PLANT,
     0.0,
     0.0,
     0.0,
     9.0,
     270.0,
     0.032,
     0.06,
     {{40.0, 40.0}},
     {[OW_ACID_12_0] = 0.3,
      [OW_ACID_14_0] = 1.0,
      [OW_ACID_16_0] = 38.5,
      [OW_ACID_18_0] = 4.2,
      [OW_ACID_18_1] = 43.5,
      [OW_ACID_18_2] = 11.5,
      [OW_ACID_18_3] = 0.3,
      [OW_ACID_20_0] = 0.4},
     "m"},
    {"coconut",
     "copra",
     OW_OIL_PLANT,
     0.0,
     0.0,
     0.0,
     24.0,
     230.0,
     0.03,
     0.06,
     {{37.8, 30.5}, {48.9, 22.0}, {60.0, 15.0}, {82.2, 9.0}, {100.0, 6.0}, {110.0, 5.0}},
     {[OW_ACID_8_0] = 7.5,
      [OW_ACID_10_0] = 6,
      [OW_ACID_12_0] = 47,
      [OW_ACID_14_0] = 18,
      [OW_ACID_16_0] = 9,
      [OW_ACID_18_0] = 3,
      [OW_ACID_18_1] = 7,
      [OW_ACID_18_2] = 2},
     "N, Re; profile m"},
    {"lard",
     "animal fat,tallow",
     OW_OIL_PLANT,
     0.0,
     0.0,
     0.0,
     38.0,
     230.0,
     0.032,
     0.1,
     {{37.8, 44.0}, {98.9, 9.0}},
     {[OW_ACID_14_0] = 1.52,
      [OW_ACID_16_0] = 22.39,
      [OW_ACID_16_1] = 3.14,
      [OW_ACID_18_0] = 12.81,
      [OW_ACID_18_1] = 42.53,
      [OW_ACID_18_2] = 12.07,
      [OW_ACID_18_3] = 0.81,
      [OW_ACID_20_0] = 0.2,
      [OW_ACID_20_1] = 1.01},
     "Re; profile C"},
    {"used",
     "used oil,used frying,used cooking,waste,restaurant grease",
     OW_OIL_PLANT,
     0.0,
     0.0,
     0.0,
     4.0,
     250.0,
     0.032,
     0.05,
     {{0.0, 0.0}},
     {[OW_ACID_14_0] = 0.19,
      [OW_ACID_16_0] = 11.49,
      [OW_ACID_16_1] = 0.64,
      [OW_ACID_18_0] = 5.69,
      [OW_ACID_18_1] = 29.37,
      [OW_ACID_18_2] = 44.77,
      [OW_ACID_18_3] = 5.38,
      [OW_ACID_20_0] = 0.35,
      [OW_ACID_20_1] = 0.39,
      [OW_ACID_22_0] = 0.35},
     "profile C"},
    {"diesel",
     "diesel no. 2,diesel no 2,diesel-2,en 590,en590,diesel 2",
     OW_OIL_PETROLEUM,
     838.0,
     42800000.0,
     51.0,
     -5.0,
     65.0,
     0.028,
     0.12,
     {{0.0, 7.2}, {20.0, 4.2}, {40.0, 2.7}, {100.0, 1.12}},
     {0},
     "ASTM D975, EN 590 ranges; m"},
    {"diesel winter",
     "winter diesel,diesel class 2",
     OW_OIL_PETROLEUM,
     832.0,
     42900000.0,
     51.0,
     -22.0,
     62.0,
     0.028,
     0.12,
     {{0.0, 5.6}, {20.0, 3.4}, {40.0, 2.3}, {100.0, 1.0}},
     {0},
     "EN 590 range; m"},
    {"diesel no. 1",
     "diesel no 1,diesel-1,diesel 1,arctic diesel",
     OW_OIL_PETROLEUM,
     815.0,
     43100000.0,
     45.0,
     -35.0,
     50.0,
     0.0265,
     0.12,
     {{-20.0, 6.4}, {0.0, 3.4}, {20.0, 2.25}, {40.0, 1.6}, {100.0, 0.78}},
     {0},
     "ASTM D975 range; m"},
    {"kerosene",
     "paraffin,heating oil no. 1,jet a-1,paraffin oil",
     OW_OIL_PETROLEUM,
     800.0,
     43200000.0,
     43.0,
     -47.0,
     42.0,
     0.026,
     0.1,
     {{-20.0, 4.4}, {20.0, 1.8}, {40.0, 1.3}, {100.0, 0.68}},
     {0},
     "m"},
    {"fame",
     "biodiesel,rme,rapeseed methyl ester",
     OW_OIL_ESTER,
     883.0,
     37200000.0,
     53.0,
     -4.0,
     170.0,
     0.031,
     0.06,
     {{0.0, 12.6}, {20.0, 7.1}, {40.0, 4.5}, {100.0, 1.75}},
     {0},
     "EN 14214 range; m"},
};
const int ow_oil_entry_count = (int)(sizeof ow_oil_entries / sizeof ow_oil_entries[0]);

static const char *const names[] = {"rapeseed",
                                    "rapeseed high-erucic",
                                    "soybean",
                                    "sunflower",
                                    "sunflower high-oleic",
                                    "corn",
                                    "cottonseed",
                                    "peanut",
                                    "olive",
                                    "safflower",
                                    "safflower high-oleic",
                                    "sesame",
                                    "linseed",
                                    "crambe",
                                    "palm",
                                    "palm olein",
                                    "coconut",
                                    "lard",
                                    "used",
                                    "diesel",
                                    "diesel winter",
                                    "diesel no. 1",
                                    "kerosene",
                                    "fame",
                                    NULL};

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
