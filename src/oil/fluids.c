// SPDX-License-Identifier: GPL-3.0-or-later
// Search for a named fluid.
#include "oil/fluids.h"

#include <ctype.h>
#include <string.h>

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

static const OwOilEntry *find(const char *name) {
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

/// Length of a name without the word at its end, 0 when it does not end so or is nothing else.
static size_t without(const char *name, const char *word) {
    const size_t size = strlen(name), cut = strlen(word);
    if (size <= cut + 1 || (name[size - cut - 1] != ' ' && name[size - cut - 1] != '-')) {
        return 0;
    }
    for (size_t i = 0; i < cut; ++i) {
        if (tolower((unsigned char)name[size - cut + i]) != word[i]) {
            return 0;
        }
    }
    return size - cut - 1;
}

const OwOilEntry *ow_oil_entry_find(const char *name) {
    if (!name || !*name) {
        return NULL;
    }
    const OwOilEntry *entry = find(name); // "gas oil" is a name of its own
    static const char *const words[] = {"oil", "fuel"};
    for (size_t i = 0; !entry && i < sizeof words / sizeof words[0]; ++i) {
        char shorter[64];
        const size_t size = without(name, words[i]);
        if (size > 0 && size < sizeof shorter) {
            memcpy(shorter, name, size);
            shorter[size] = '\0';
            entry = find(shorter);
        }
    }
    return entry;
}

const OwOilEntry *ow_oil_entry_meant(const char *name, bool *is_used) {
    static const char *const words[] = {"used ", "waste ", "fried "};
    const OwOilEntry *entry = ow_oil_entry_find(name);
    for (size_t i = 0; name && !entry && i < sizeof words / sizeof words[0]; ++i) {
        const size_t size = strlen(words[i]);
        size_t same = 0;
        while (same < size && tolower((unsigned char)name[same]) == words[i][same]) {
            ++same;
        }
        const OwOilEntry *base = same == size ? ow_oil_entry_find(name + size) : NULL;
        if (base && base->kind == OW_OIL_PLANT) {
            entry = base;
            *is_used = true;
        }
    }
    return entry;
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
