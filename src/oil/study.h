// SPDX-License-Identifier: GPL-3.0-or-later
// The study of one unblended oil.
#ifndef OILWRIGHT_OIL_STUDY_IMPL_H
#define OILWRIGHT_OIL_STUDY_IMPL_H

#include "oilwright/oil.h"

/// `study` must be zeroed but for its notes. The spec has no blend.
OwStatus ow_oil_study_single(const OwOilSpec *spec, OwOilStudy *study, OwFaults *faults);

#endif
