// SPDX-License-Identifier: GPL-3.0-or-later
// The study of one unblended oil.
#ifndef OILWRIGHT_OIL_STUDY_IMPL_H
#define OILWRIGHT_OIL_STUDY_IMPL_H

#include "oil/combine.h"
#include "oil/fluids.h"

/// `study` must be zeroed but for its notes. The spec has no blend.
OwStatus ow_oil_study_single(const OwOilSpec *spec, OwOilStudy *study, OwFaults *faults);

/// Adds a warning to the study's notes.
void ow_study_note(OwOilStudy *study, const char *part, const char *text);
bool ow_study_has_profile(const double *profile);
/// Density, specific heat and conductivity: values and curves.
void ow_study_fill_density(const OwOilSpec *spec, const OwOilEntry *entry, const OwEstimate *estimate,
                           OwOilStudy *study);
/// Cloud point and crystals.
void ow_study_fill_wax(const OwOilSpec *spec, const OwOilEntry *entry, const OwEstimate *estimate,
                       OwOilStudy *study);
/// Heat, cetane, iodine, flash point, and what was said; last, for it reads the viscosity.
void ow_study_fill_values(const OwOilSpec *spec, const OwOilEntry *entry, const OwEstimate *estimate,
                          OwOilStudy *study);
/// Refuses impossible values of a laboratory sheet, all of them.
OwStatus ow_sheet_check(const double *said, const char *part, OwFaults *faults);
/// Puts those given in place of what was modelled.
void ow_sheet_take(const double *said, OwOilStudy *study, const char *part);

#endif
