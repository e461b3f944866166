// SPDX-License-Identifier: GPL-3.0-or-later
// One number for every digit of a record: FNV-1a (Fowler, Noll & Vo 1991) over each value's bits.
#ifndef OILWRIGHT_TESTS_DIGEST_H
#define OILWRIGHT_TESTS_DIGEST_H

#include "oilwright/morning.h"

uint64_t ow_support_digest(const OwRecord *record);

#endif
