// SPDX-License-Identifier: GPL-3.0-or-later
// Building of the crystal model of a fluid.
#ifndef OILWRIGHT_OIL_WAX_IMPL_H
#define OILWRIGHT_OIL_WAX_IMPL_H

#include "oilwright/oil.h"

/// Classes of triglycerides from a profile; returns the first class that holds a saturated acid.
int ow_wax_from_composition(const OwComposition *composition, OwWax *wax);
/// Shifts the melting points of the classes from `first` on (at most 8 K up) so that the cloud point is met;
/// beyond that adds a trace of wax ester.
void ow_wax_anchor(OwWax *wax, int first, double cloud_k);
/// One crystallising class for petroleum and ester; no class when the cloud point is 0.
void ow_wax_simple(OwOilKind kind, double cloud_k, OwWax *wax);
/// Standard error of ln v that crystals add at a share: half of their thickening (assumed), 1.2 at most.
double ow_wax_error(const OwWax *wax, double share);
/// Joins the classes of several fluids.
void ow_wax_mix(const OwWax *const *parts, const double *mass_share, int count, OwWax *wax);

#endif
