// SPDX-License-Identifier: GPL-3.0-or-later
// For tests and fuzzers: legal rigs of any layout drawn from the ranges of the catalogue.
#ifndef OW_TESTS_MORNING_RANDOM_RIG_H
#define OW_TESTS_MORNING_RANDOM_RIG_H

#include "oilwright/morning.h"

/// Where the choices come from: bytes while there are any (fuzzers), then xorshift numbers.
typedef struct RandomSource {
    const uint8_t *bytes;
    size_t left;
    uint64_t state;
} RandomSource;

RandomSource random_source(uint64_t seed);
RandomSource random_source_bytes(const uint8_t *bytes, size_t size);
uint64_t random_next(RandomSource *source);
/// 0 <= value < 1.
double random_unit(RandomSource *source);
double random_between(RandomSource *source, double low, double high);
/// Even in the logarithm; low > 0.
double random_log(RandomSource *source, double low, double high);
int random_below(RandomSource *source, int count);
/// True once in `count` on average.
bool random_once_in(RandomSource *source, int count);

/// Builds a rig that obeys every rule of ow_rig_check. One rig in three keeps near the defaults, one in four
/// takes values from anywhere in the legal ranges, their ends included. Short drives; `is_long` allows whole
/// mornings. The caller destroys it.
OwStatus random_rig(RandomSource *source, bool is_long, OwRig **rig);
/// One line a part, joint and control, to see what a failing rig is.
void random_rig_print(const OwRig *rig, FILE *out);

#endif
