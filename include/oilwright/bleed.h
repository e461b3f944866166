// SPDX-License-Identifier: GPL-3.0-or-later
// How long until the fuel is solid again after a filter change: with an electric pump, by hand, by cranking.
#ifndef OILWRIGHT_BLEED_H
#define OILWRIGHT_BLEED_H

#include "oilwright/finding.h"

// ---- Laws
// -----------------------------------------------------------------------------------------------------------

/// Strokes of a piston of `stroke_m3` that bring a closed volume from p0 to p (absolute): n = ln(p0/p) / ln(1
/// + Vs/V), Boyle's law, no dead volume. INFINITY for p <= 0 or no stroke; 0 when p >= p0.
double ow_bleed_strokes(double volume_m3, double stroke_m3, double from_pa, double to_pa);
/// Volume that air of 1 atm takes under a gauge pressure, Boyle: V p0 / (p0 + p). 0 at and below vacuum.
double ow_bleed_compressed(double volume_m3, double gauge_pa);
/// Volumes of a passage that must flow until only `share` of the old content is left in what leaves it,
/// laminar plug without diffusion: 1 - F = 1/(4 theta^2) (Danckwerts 1953, Chem. Eng. Sci. 2:1), theta = 1/(2
/// sqrt(share)), at least 1/2. share 1e-6..1.
double ow_bleed_volumes(double share);
/// Share of its displacement that a pump with a dead volume (over stroke volume) moves from gas at absolute p
/// into 1 atm: 1 - dead (p0/p - 1), isothermal; 0 when it can pull no deeper.
double ow_bleed_gas_share(double dead, double absolute_pa);
/// Rise velocity of a long bubble in a still liquid in a round tube, m/s: Viana, Pardo, Yanez, Trallero &
/// Joseph 2003, J. Fluid Mech. 494:379: Fr = 0.34/(1 + 3805/Eo^3.06)^0.58 for R > 200, 9.494e-3/(1 +
/// 6197/Eo^2.561)^0.5793 R^1.026 for R < 10, log-linear between; R = sqrt(g D^3)/nu. Tubes below 3 mm hold
/// the bubble: the law gives next to nothing.
double ow_bleed_rise(double bore_m, double kinematic_m2_s, double density_kg_m3, double surface_n_m);

// ---- Study
// ----------------------------------------------------------------------------------------------------------

typedef enum OwBleedWay { OW_BLEED_ELECTRIC, OW_BLEED_HAND, OW_BLEED_CRANK, OW_BLEED_WAYS } OwBleedWay;

typedef struct OwBleedSettings {
    double soak_k;      ///< oil and metal; 0 = 20 degC (assumed), or the rig's ambient when warmer
    const char *filter; ///< name, NULL: the largest filter on the way to the injection pump
    bool is_prefilled;  ///< the new filter is filled with oil before it is screwed on
    double drained_m;   ///< hose each side that runs empty, default 0.3 m (common practice, no source)
    double stroke_m3, strokes_s; ///< hand primer: 6 mL, 0.5 /s (common practice, no source)
    double hand_pa;              ///< what a hand primer pulls and pushes, 25 kPa (common practice, no source)
    double crank_s, rest_s;      ///< starter: 15 s on, 60 s rest (common practice, no source)
    double gas_share; ///< gas left in the pump's inlet that counts as solid fuel; 0 = 1 - the rig's least
                      ///< filling
    /// Called with the share done, 0..1; false ends the study with OW_ERROR_USE. May be NULL.
    bool (*progress)(void *context, double share);
    void *context;
} OwBleedSettings;
OwBleedSettings ow_bleed_default(void);

/// A place where air may stay behind: the upper end of a run that falls in flow direction.
typedef struct OwBleedTrap {
    int part;
    double volume_m3, rise_m_s; ///< what it can hold; velocity of a bubble there
    double flow_m_s[OW_BLEED_WAYS];
    bool is_swept[OW_BLEED_WAYS];
} OwBleedTrap;

#define OW_BLEED_TRAPS 16
typedef struct OwBleedCase {
    OwBleedWay way;
    bool is_possible;
    int pump;                  ///< part that does it, -1 = the hand primer
    double fill_s;             ///< until the air is replaced
    double fill_m3_s, fill_pa; ///< flow and gauge pressure in the void meanwhile
    double sweep_s, sweep_m3_s;
    double trap_s;                     ///< to dissolve or let out what stays at high points
    double total_s;                    ///< rests of the starter included
    double strokes, crank_s, charge_c; ///< 0 where it has none
} OwBleedCase;

#define OW_BLEED_FINDINGS 8
typedef struct OwBleedStudy {
    const OwRig *rig;
    OwDisplay display;
    int filter;
    double soak_k, kinematic_m2_s;
    double filter_m3, hose_m3, air_m3; ///< air let in: filter, opened hoses, sum
    double path_m3;                    ///< from the filter to the injection pump
    double volumes;                    ///< of that to sweep
    OwBleedCase cases[OW_BLEED_WAYS];
    OwBleedTrap traps[OW_BLEED_TRAPS];
    int trap_count;
    OwFinding findings[OW_BLEED_FINDINGS];
    int finding_count;
    char headline[OW_ANSWER_TEXT];
} OwBleedStudy;

/// OW_ERROR_VALUE with a fault when the rig has no filter on any way to the injection pump or the named one
/// is not there; OW_ERROR_MEMORY, OW_ERROR_USE. Nothing to destroy. The rig must outlive the study.
OwStatus ow_bleed_create(const OwRig *rig, const OwBleedSettings *settings, OwDisplay display,
                         OwBleedStudy *study, OwFaults *faults);
const char *ow_bleed_way_text(OwBleedWay way);
const char *ow_bleed_way_key(OwBleedWay way);

#endif
