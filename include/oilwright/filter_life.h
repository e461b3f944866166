// SPDX-License-Identifier: GPL-3.0-or-later
// How far a filter lasts: cake and depth filtration laws, and the distance until full-load fuel or suction
// fails.
#ifndef OILWRIGHT_FILTER_LIFE_H
#define OILWRIGHT_FILTER_LIFE_H

#include "oilwright/finding.h"

// ---- Laws
// -----------------------------------------------------------------------------------------------------------

/// A filter cake that grows on a medium, incompressible (Ruth 1935, Ind. Eng. Chem. 27:708): drop = viscosity
/// Q / area (alpha solids V / area + medium). All > 0 but `medium_1_m` >= 0. Functions below give 0 for a
/// drop, time or volume that is not above zero.
typedef struct OwCake {
    double viscosity_pa_s;
    double alpha_m_kg;   ///< specific cake resistance
    double solids_kg_m3; ///< dry solids in a volume of filtrate
    double medium_1_m;   ///< resistance of the clean medium
    double area_m2;
} OwCake;
/// Seconds for a volume at constant pressure: t = K/2 V^2 + B V.
double ow_cake_time(const OwCake *cake, double drop_pa, double volume_m3);
/// Volume after a time at constant pressure.
double ow_cake_volume(const OwCake *cake, double drop_pa, double time_s);
/// Further volume after `time_s` more at constant pressure on a cake that has already passed `before_m3`.
double ow_cake_more(const OwCake *cake, double drop_pa, double before_m3, double time_s);
/// Pressure drop at a flow after a volume.
double ow_cake_drop(const OwCake *cake, double flow_m3_s, double volume_m3);
/// Volume that has passed when a constant flow brings the drop to `drop_pa` after `time_s`: V = q t.
double ow_cake_steady_volume(const OwCake *cake, double drop_pa, double time_s);
/// Straight line t/V = slope V + cut through data of a constant-pressure run (slope = K/2, cut = B), least
/// squares. At least two points with V > 0, else OW_ERROR_VALUE.
OwStatus ow_cake_fit(const double *time_s, const double *volume_m3, int count, double *slope, double *cut);

/// How resistance grows with the share of the dirt capacity used (Hermia 1982, Trans. IChemE 60:183, at a
/// given flow).
typedef enum OwFilterLaw {
    OW_FILTER_CAKE,  ///< 1 + (end - 1) share: a cake on the medium
    OW_FILTER_DEPTH, ///< (1 - k share)^-2, k so that share 1 gives `end`: pores that narrow (standard
                     ///< blocking)
    OW_FILTER_BLOCK, ///< 1 / (1 - k share): pores that close (complete blocking)
    OW_FILTER_LAWS
} OwFilterLaw;
const char *ow_filter_law_text(OwFilterLaw law);
/// Resistance over clean at a share; `end` > 1 is that at share 1. Share below 0 counts as 0; INFINITY when
/// it is shut.
double ow_filter_ratio(OwFilterLaw law, double share, double end);
/// The share at which the resistance is `ratio` times clean, the inverse.
double ow_filter_share(OwFilterLaw law, double ratio, double end);
/// Share of the dirt mass that is coarser than a rating: exp(-rating / 15 um), Rosin & Rammler 1933 with
/// spread 1; the 15 um are assumed (settled and pre-filtered oil).
double ow_filter_coarser(double rating_m);

// ---- Study
// ----------------------------------------------------------------------------------------------------------

typedef struct OwFilterSettings {
    double soak_k;       ///< 0 = ambient
    double solids_kg_kg; ///< dirt in the oil; 0 = as the oil says, else 24 mg/kg (limit of DIN 51605)
    double end_pa;     ///< drop at stated flow and viscosity at which the capacity was counted, 70 kPa (from
                       ///< memory: multi-pass tests)
    double wax_caught; ///< share of the wax crystals that the filter holds, 0.2 (assumed)
    /// Called with the share done, 0..1; false ends the study with OW_ERROR_USE. May be NULL.
    bool (*progress)(void *context, double share);
    void *context;
} OwFilterSettings;
OwFilterSettings ow_filter_default(void);

typedef enum OwFilterBinds {
    OW_BINDS_NOTHING,   ///< the stated capacity is used up and still no limit
    OW_BINDS_CLEAN,     ///< fails with a new filter already
    OW_BINDS_START,     ///< the engine no longer starts
    OW_BINDS_FUEL,      ///< fuel on the drive
    OW_BINDS_FULL_LOAD, ///< fuel at full load once warm
    OW_BINDS_SUCTION,   ///< suction floor
    OW_BINDS_COUNT
} OwFilterBinds;
const char *ow_filter_binds_text(OwFilterBinds binds);

/// A filter in one case.
typedef struct OwFilterCase {
    bool has_pump, has_heat; ///< electric pumps turn; the filter is warmed
    OwFilterBinds binds;
    double ratio;                     ///< resistance over clean at the limit
    double wax_kg;                    ///< crystals on it at the worst moment of a cold start
    double share[OW_FILTER_LAWS];     ///< of the dirt capacity that may be used, wax taken off
    double litres_m3[OW_FILTER_LAWS]; ///< fuel burned until then
    double distance_m[OW_FILTER_LAWS];
} OwFilterCase;

typedef struct OwFilterLife {
    int part;
    int stage;           ///< filters and screens before it
    double flow_share;   ///< of the fuel that it and the filters beside it carry
    double caught_share; ///< of the dirt mass
    double end_ratio;    ///< resistance over clean when the capacity is used up
    double burned_m3;    ///< of its fluid on the drive
    OwFilterCase cases[4];
    int case_count;
} OwFilterLife;

#define OW_FILTER_MAX 8
#define OW_FILTER_FINDINGS 24
typedef struct OwFilterStudy {
    const OwRig *rig;
    OwDisplay display;
    double solids_kg_kg;
    OwTrust solids_trust;
    double driven_m; ///< of the drive
    OwFilterLife filters[OW_FILTER_MAX];
    int filter_count;
    OwFinding findings[OW_FILTER_FINDINGS];
    int finding_count;
    char headline[OW_ANSWER_TEXT];
} OwFilterStudy;

/// Loads every filter step by step until the rig's own morning breaks a limit: with and without electric
/// pumps, with and without filter heat. Loads count from clean, whatever loading the rig states.
/// OW_ERROR_VALUE with faults when the rig has no filter or cannot be planned. Nothing to destroy.
OwStatus ow_filter_create(const OwRig *rig, const OwFilterSettings *settings, OwDisplay display,
                          OwFilterStudy *study, OwFaults *faults);

#endif
