// SPDX-License-Identifier: GPL-3.0-or-later
// What the fluid is: property curves against temperature of oils, diesel and blends.
#ifndef OILWRIGHT_OIL_H
#define OILWRIGHT_OIL_H

#include "oilwright/base.h"

/// Cubic table on a uniform temperature grid, the fast form the morning uses. Values outside the grid are
/// held at its ends.
#define OW_CURVE_LOW_K 223.15
#define OW_CURVE_STEP_K 1.0
#define OW_CURVE_POINTS 232 ///< up to 454.15 K
typedef struct OwCurve {
    double c[OW_CURVE_POINTS][4]; ///< value = c0 + s (c1 + s (c2 + s c3)), s in 0..1 inside an interval
} OwCurve;

/// Value of a curve at a temperature in K; clamps to the grid's ends. A NaN in gives the low end.
static inline double ow_curve_value(const OwCurve *curve, double temperature_k) {
    double x = (temperature_k - OW_CURVE_LOW_K) * (1.0 / OW_CURVE_STEP_K);
    if (!(x > 0.0)) {
        x = 0.0;
    }
    if (x > OW_CURVE_POINTS - 1) {
        x = OW_CURVE_POINTS - 1;
    }
    int i = (int)x;
    if (i > OW_CURVE_POINTS - 2) {
        i = OW_CURVE_POINTS - 2;
    }
    const double s = x - i;
    const double *c = curve->c[i];
    return c[0] + s * (c[1] + s * (c[2] + s * c[3]));
}

typedef enum OwOilKind {
    OW_OIL_PLANT,     ///< triglycerides: plant oil or animal fat, fresh or used
    OW_OIL_PETROLEUM, ///< diesel, kerosene
    OW_OIL_ESTER      ///< fatty acid methyl ester
} OwOilKind;

/// What can crystallise in a fluid: an ideal solution of pure solids (Hildebrand). Plain value.
#define OW_WAX_CLASSES 32
typedef struct OwWax {
    int count;
    double moles_kg[OW_WAX_CLASSES]; ///< moles of the class in a kilogram of fluid
    double molar_kg[OW_WAX_CLASSES]; ///< molar mass
    double melt_k[OW_WAX_CLASSES];
    double heat_j_mol[OW_WAX_CLASSES]; ///< of fusion
    double inert_moles_kg;             ///< what never crystallises here
    double gel_share;                  ///< crystals over all, by mass, at which the fluid no longer pours
} OwWax;

/// A fluid ready for use: tabulated curves and the constants that engine and judge need. Plain value, may be
/// copied.
typedef struct OwFluid {
    char name[64];
    OwCurve kinematic_m2_s; ///< kinematic viscosity
    OwCurve log_kinematic;  ///< ln(m2/s), for blending along a pipe
    OwCurve density_kg_m3;
    OwCurve specific_heat_j_kgk;
    OwCurve conductivity_w_mk;
    double net_heat_j_kg;
    double cloud_point_k;             ///< 0 when unknown
    double flash_point_k;             ///< 0 when unknown
    double surface_tension_n_m;       ///< at 20 degC
    double air_solubility;            ///< Ostwald coefficient of air: volume of gas per volume of liquid
    double valid_low_k, valid_high_k; ///< range in which the viscosity is known
    OwCurve surface_tension;          ///< N/m
    OwCurve air_floor_pa; ///< absolute pressure below which gas fills more than 2 % of a suction, or water
                          ///< vapour forms
    OwCurve wax_share;    ///< crystals over all, by mass, at equilibrium; already inside kinematic_m2_s
    OwWax wax;
    OwOilKind kind;
    double water_share;                   ///< by mass, as said; 0 unknown
    double liquid_error[OW_CURVE_POINTS]; ///< standard error of ln(viscosity of the liquid) at the knots
} OwFluid;

/// A measured point of kinematic viscosity.
typedef struct OwViscosityPoint {
    double temperature_k;
    double kinematic_m2_s;
} OwViscosityPoint;

/// Fatty acids of a profile.
typedef enum OwAcid {
    OW_ACID_8_0,
    OW_ACID_10_0,
    OW_ACID_12_0,
    OW_ACID_14_0,
    OW_ACID_16_0,
    OW_ACID_16_1,
    OW_ACID_18_0,
    OW_ACID_18_1,
    OW_ACID_18_2,
    OW_ACID_18_3,
    OW_ACID_20_0,
    OW_ACID_20_1,
    OW_ACID_22_0,
    OW_ACID_22_1,
    OW_ACID_24_0,
    OW_ACID_18_1_OH, ///< ricinoleic
    OW_ACID_COUNT
} OwAcid;
/// "18:1" and its common name "oleic"; never NULL for a legal acid.
const char *ow_oil_acid_code(OwAcid acid);
const char *ow_oil_acid_name(OwAcid acid);
/// Acid by code or common name, case-blind; -1 if none.
int ow_oil_acid_find(const char *text);

/// An efflux cup reading. Cups 3, 4, 5, 6 of ISO 2431 by nozzle in mm.
typedef struct OwCupReading {
    int nozzle_mm;
    double seconds, temperature_k;
} OwCupReading;

/// Values that only a laboratory gives.
typedef enum OwSheetValue {
    OW_SHEET_FLASH,     ///< K
    OW_SHEET_CETANE,    ///< number
    OW_SHEET_NET_HEAT,  ///< J/kg
    OW_SHEET_IODINE,    ///< g I2/100 g
    OW_SHEET_OXIDATION, ///< s at 110 degC
    OW_SHEET_SULPHUR,   ///< by mass, as all that follow
    OW_SHEET_PHOSPHORUS,
    OW_SHEET_CALCIUM,
    OW_SHEET_MAGNESIUM,
    OW_SHEET_COUNT
} OwSheetValue;
/// "flash point", "sulphur"; "?" outside.
const char *ow_sheet_name(OwSheetValue value);
/// By name, the usual short or American one too, blind to case; -1 if none.
int ow_sheet_find(const char *text);

/// What is said of a fluid in a rig file. Zero or empty means "not said".
#define OW_OIL_MAX_POINTS 16
#define OW_OIL_MAX_BLEND 6
#define OW_OIL_MAX_CUPS 4
typedef struct OwOilSpec {
    char name[64]; ///< a named oil ("rapeseed", "soybean", "diesel"), or a free name when points are given
    OwViscosityPoint points[OW_OIL_MAX_POINTS]; ///< measured viscosities; two or more are fitted by ASTM D341
    int point_count;
    double density_15_kg_m3; ///< measured density at 15 degC, 0 unknown
    double cloud_point_k;    ///< 0 unknown
    double used_factor;      ///< viscosity of the used oil over fresh at 40 degC; 0 or 1 fresh
    /// Blend: names or earlier specs by name, with volume fractions that sum to 1.
    char blend_name[OW_OIL_MAX_BLEND][64];
    double blend_fraction[OW_OIL_MAX_BLEND];
    int blend_count;
    double point_error[OW_OIL_MAX_POINTS]; ///< relative standard error of a point, 0 = 2.5 %
    double profile[OW_ACID_COUNT];         ///< fatty acids by mass, shares or percent; all zero = not said
    OwCupReading cups[OW_OIL_MAX_CUPS];
    int cup_count;
    double hydrometer_kg_m3, hydrometer_k; ///< a density read at a temperature; 0 none
    bool is_used;                          ///< used for frying, nothing else known of it
    double polar_share;                    ///< total polar matter by mass, 0 unknown
    double water_share;                    ///< by mass, 0 unknown
    double acid_mg_g;                      ///< acid value, mg KOH/g, 0 unknown
    double solids_share;                   ///< total contamination by mass, 0 unknown
    double sheet[OW_SHEET_COUNT];          ///< of a laboratory sheet, 0 unknown
} OwOilSpec;

/// Names of the built-in oils in a NULL-terminated list ("rapeseed", "soybean", "sunflower", "palm",
/// "diesel", ...).
const char *const *ow_oil_names(void);
/// Builds the curves of a fluid. OW_ERROR_VALUE with a fault (unknown name and the nearest one, viscosity
/// rising with heat, fractions off 1) when the description is not usable.
OwStatus ow_oil_make(const OwOilSpec *spec, OwFluid *fluid, OwFaults *faults);
/// Same, and the parts of a blend may also be fluids made earlier, found by their name.
OwStatus ow_oil_make_among(const OwOilSpec *spec, const OwFluid *const *earlier, int earlier_count,
                           OwFluid *fluid, OwFaults *faults);
/// Blend of ready fluids by volume shares that sum to 1: viscosity Arrhenius (Franco & Nguyen 2011, Fuel
/// 90:838) with the errors of the parts and of the rule, density by volume, specific and net heat by mass,
/// flash point Wickey & Chittenden 1963. `fluid` may be one of the inputs.
OwStatus ow_oil_blend(const OwFluid *const *fluids, const double *volume_fraction, int count,
                      const char *name, OwFluid *fluid, OwFaults *faults);
/// ASTM D341 (Walther) fit through points (least squares in Walther coordinates when more than two).
OwStatus ow_oil_walther_fit(const OwViscosityPoint *points, int count, double *a, double *b);
/// Kinematic viscosity from a Walther fit, m2/s, ASTM D341: log log(v+0.7) = a - b log T, v in mm2/s.
double ow_oil_walther_value(double a, double b, double temperature_k);

/// All properties at one temperature, for the inner loop: one look-up, no transcendental function.
typedef struct OwOilState {
    double kinematic_m2_s, dynamic_pa_s, density_kg_m3, specific_heat_j_kgk, conductivity_w_mk,
        surface_tension_n_m, air_floor_pa, wax_share;
    bool is_valid; ///< inside the range in which the viscosity is known
} OwOilState;
static inline double ow_curve_part(const OwCurve *curve, int i, double s) {
    const double *c = curve->c[i];
    return c[0] + s * (c[1] + s * (c[2] + s * c[3]));
}
static inline void ow_oil_state(const OwFluid *fluid, double temperature_k, OwOilState *state) {
    double x = (temperature_k - OW_CURVE_LOW_K) * (1.0 / OW_CURVE_STEP_K);
    x = x > 0.0 ? x : 0.0;
    x = x < OW_CURVE_POINTS - 1 ? x : OW_CURVE_POINTS - 1;
    const int i = x < OW_CURVE_POINTS - 2 ? (int)x : OW_CURVE_POINTS - 2;
    const double s = x - i;
    state->kinematic_m2_s = ow_curve_part(&fluid->kinematic_m2_s, i, s);
    state->density_kg_m3 = ow_curve_part(&fluid->density_kg_m3, i, s);
    state->dynamic_pa_s = state->kinematic_m2_s * state->density_kg_m3;
    state->specific_heat_j_kgk = ow_curve_part(&fluid->specific_heat_j_kgk, i, s);
    state->conductivity_w_mk = ow_curve_part(&fluid->conductivity_w_mk, i, s);
    state->surface_tension_n_m = ow_curve_part(&fluid->surface_tension, i, s);
    state->air_floor_pa = ow_curve_part(&fluid->air_floor_pa, i, s);
    state->wax_share = ow_curve_part(&fluid->wax_share, i, s);
    state->is_valid = temperature_k >= fluid->valid_low_k && temperature_k <= fluid->valid_high_k;
}

typedef enum OwTrust {
    OW_TRUST_MEASURED,  ///< said by the user
    OW_TRUST_PUBLISHED, ///< a published value or model inside its range
    OW_TRUST_PRACTICE,  ///< common practice, no source
    OW_TRUST_ASSUMED    ///< from memory or judgement
} OwTrust;
const char *ow_trust_text(OwTrust trust);

/// A value with its 90 % interval; `source` is a static text.
typedef struct OwOilValue {
    bool is_known;
    double value, low, high;
    OwTrust trust;
    const char *source;
} OwOilValue;

/// What a fatty-acid profile alone says, by AOCS Cd 1c-85 and kin. Masses and moles are of the acids.
typedef struct OwComposition {
    double share[OW_ACID_COUNT];             ///< by mass, sums to 1
    double mole[OW_ACID_COUNT];              ///< by mole, sums to 1
    double carbons, double_bonds, hydroxyls; ///< mean number an acid
    double saturated;                        ///< by mole
    double iodine, saponification;           ///< g I2/100 g; mg KOH/g
    double molar_kg;                         ///< of the mean triglyceride
    double hydrogen_share;                   ///< by mass, of the triglyceride
} OwComposition;
/// Shares or percent; refuses negative parts and a sum off 1 (or 100 %) by more than 7 % with the reason.
OwStatus ow_oil_composition(const double *profile, OwComposition *composition, OwFaults *faults);

/// Viscosity models from a profile, each fitted to the same published oils (see docs/theory/oil.md), m2/s.
typedef enum OwProfileModel {
    OW_PROFILE_ACIDS,   ///< acid by acid, Grunberg & Nissan 1949 mixing, Vogel temperature law
    OW_PROFILE_NUMBERS, ///< iodine and saponification value (form of Toscano & Maldini 2007), Vogel law
    OW_PROFILE_WALTHER, ///< iodine and saponification value in Walther coordinates
    OW_PROFILE_COUNT
} OwProfileModel;
double ow_oil_profile_viscosity(const OwComposition *composition, OwProfileModel model, double temperature_k);
/// The three weighed together (the Walther form only above 10 to 20 degC, where it does not run low).
double ow_oil_profile_viscosity_mean(const OwComposition *composition, double temperature_k);
/// Density kg/m3, valid 0 to 110 degC, within 0.5 % (Noureddini et al. 1992, tuned; Magne & Skau, held back).
double ow_oil_profile_density(const OwComposition *composition, double temperature_k);
/// Specific heat J/kgK, fragments of Zong, Ramanathan & Chen 2010, Ind. Eng. Chem. Res. 49:876, 25 to 180
/// degC.
double ow_oil_profile_specific_heat(const OwComposition *composition, double temperature_k);
/// Gross heat J/kg, Demirbas 1998, Fuel 77:1117: 49.43 - 0.041 SV - 0.015 IV (MJ/kg), SV 170-220, IV 70-160.
double ow_oil_profile_gross_heat(const OwComposition *composition);
/// Cetane number: 52.6 - 0.101 IV, a line through Goering et al. 1982's eleven oils; +-6. (The ester equation
/// of Krisnangkura 1986 less 9 does worse, rms 5.1, for it falls too steeply with the iodine value.)
double ow_oil_profile_cetane(const OwComposition *composition);

/// Everything known of an oil, with bands. Large (about 60 kB): keep it on the heap.
typedef struct OwOilStudy {
    OwFluid fluid;
    OwCurve log_error; ///< standard error of ln(kinematic viscosity)
    double quantile;   ///< of the 90 % band: low, high = v exp(-+quantile * log_error)
    bool has_fit;      ///< two or more readings: plain D341 line through them
    double walther_a, walther_b;
    int reading_count; ///< points and cups in the order given
    OwViscosityPoint reading[OW_OIL_MAX_POINTS + OW_OIL_MAX_CUPS];
    double residual[OW_OIL_MAX_POINTS + OW_OIL_MAX_CUPS]; ///< reading over estimate - 1
    double weight[OW_OIL_MAX_POINTS + OW_OIL_MAX_CUPS];   ///< of the robust fit, 0..1
    bool has_composition;
    OwComposition composition;
    OwOilValue density_15, kinematic_40, iodine, saponification, cetane, gross_heat, net_heat, cloud, flash,
        acid, water, solids, polar, thickening;
    OwOilValue oxidation, sulphur, phosphorus, calcium,
        magnesium;  ///< of a laboratory sheet: s, shares by mass
    OwFaults notes; ///< warnings: validity, cautions; end with ow_oil_study_clear
} OwOilStudy;
/// Builds the study (and in it the fluid of ow_oil_make). Measured readings outweigh models by their errors.
/// Errors as ow_oil_make.
OwStatus ow_oil_study(const OwOilSpec *spec, OwOilStudy *study, OwFaults *faults);
/// Same, and parts of a blend may be fluids made earlier, found by name.
OwStatus ow_oil_study_among(const OwOilSpec *spec, const OwFluid *const *earlier, int earlier_count,
                            OwOilStudy *study, OwFaults *faults);
/// What was said of the oil that takes `volume_share` of a blend, thinned by mass: acid, water, solids, and
/// the elements of a laboratory sheet. The diluents count as clean; the upper end of each band allows them
/// what EN 590 (EN 14214 for the acid) allows.
void ow_oil_study_thin(const OwOilStudy *oil, double volume_share, OwOilStudy *blend);
void ow_oil_study_clear(OwOilStudy *study);
/// Kinematic viscosity and its 90 % interval at a temperature, m2/s.
OwOilValue ow_oil_study_viscosity(const OwOilStudy *study, double temperature_k);

/// ISO 2431 cup: v = a t - b / t for 30 to 100 s, mm2/s; writes m2/s. OW_ERROR_VALUE unknown cup or not a
/// time, OW_ERROR_RANGE outside 30-100 s (the value is written all the same).
OwStatus ow_oil_cup_viscosity(int nozzle_mm, double seconds, double *kinematic_m2_s);
/// Density at 15 degC from a hydrometer reading (calibrated at 15 degC, soda glass 25e-6 per K) of a fluid of
/// this kind.
double ow_oil_hydrometer_15(double reading_kg_m3, double temperature_k, OwOilKind kind);

/// Crystals by mass at equilibrium, ideal solution; monotone in temperature.
double ow_wax_share(const OwWax *wax, double temperature_k);
/// Viscosity over that of the liquid at a crystal share: Maron & Pierce 1956, (1 - share/gel_share)^-2; held
/// at 1e3.
double ow_wax_thickening(const OwWax *wax, double share);
/// Temperature at which the first 0.1 % crystallises, K.
double ow_wax_cloud(const OwWax *wax);

/// Viscosity of a blend at one temperature by each rule, m2/s.
typedef struct OwBlendRules {
    double arrhenius;      ///< ln v by volume (default)
    double refutas;        ///< Maples 2000, VBN by mass
    double kendall_monroe; ///< Kendall & Monroe 1917, cube roots by volume
    double wright;         ///< ASTM D7152, Walther coordinates by volume
    double low, high;      ///< of the four
} OwBlendRules;
OwStatus ow_oil_blend_rules(const double *kinematic_m2_s, const double *density_kg_m3,
                            const double *volume_fraction, int count, OwBlendRules *rules);
/// Least diluent.
typedef struct OwDilution {
    double share;                 ///< by volume, default rule
    double share_low, share_high; ///< by the rules that ask least and most; equal for a cloud target
    bool is_possible;
    double flash_point_k; ///< of the blend, 0 unknown
    char reason[160];     ///< why not, or the caution
} OwDilution;
/// Least share of `diluent` so that the blend is no thicker than `kinematic_m2_s` (0 = no such target) and
/// its cloud point no higher than `cloud_k` (0 = none) at `temperature_k`. OW_OK also when impossible: then
/// the reason says why.
OwStatus ow_oil_least_diluent(const OwFluid *oil, const OwFluid *diluent, double temperature_k,
                              double kinematic_m2_s, double cloud_k, OwDilution *dilution);
/// True for petrol and other spirits by any of their names.
bool ow_oil_is_petrol(const char *name);

typedef enum OwStandard {
    OW_STANDARD_DIN_51605,
    OW_STANDARD_EN_590,
    OW_STANDARD_EN_14214,
    OW_STANDARD_COUNT
} OwStandard;
typedef enum OwVerdict { OW_VERDICT_PASS, OW_VERDICT_CLOSE, OW_VERDICT_FAIL, OW_VERDICT_UNKNOWN } OwVerdict;
/// One property against one standard.
typedef struct OwStandardLine {
    const char *property, *unit, *method, *consequence;
    bool has_minimum, has_maximum;
    double minimum, maximum;
    OwOilValue value;  ///< in `unit`
    OwVerdict verdict; ///< CLOSE: the limit lies inside the 90 % band
    double margin;     ///< to the nearer limit, positive inside, in `unit`; 0 when unknown
} OwStandardLine;
#define OW_STANDARD_LINES 16
const char *ow_standard_name(OwStandard standard);
/// What must be said with any comparison.
const char *ow_standard_caveat(OwStandard standard);
const char *ow_verdict_text(OwVerdict verdict);
/// Fills at most OW_STANDARD_LINES; returns how many.
int ow_oil_compare(const OwOilStudy *study, OwStandard standard, OwStandardLine *lines);

/// A workshop test's outcome: value, 90 % interval, and what to do.
typedef struct OwWorkshop {
    double value, low, high;
    const char *unit;
    char decision[200];
    OwTrust trust; ///< of the decision limit
} OwWorkshop;
/// Titration of `grams` with `millilitres` (less `blank_ml`) of `normality`: percent free fatty acid as
/// oleic, AOCS Ca 5a-40, and acid value, 56.1 mL N / g. Burette +-0.05 mL, normality +-2 %, mass +-1 % (90
/// %).
OwStatus ow_workshop_titration(double millilitres, double blank_ml, double normality, double grams,
                               OwWorkshop *ffa, OwWorkshop *acid, OwFaults *faults);
typedef enum OwPan { OW_PAN_QUIET, OW_PAN_FIZZ, OW_PAN_CRACKLE, OW_PAN_SPIT } OwPan;
/// Hot-pan test: what is heard and seen when a spoonful is heated past 110 degC. Common practice, no source.
OwStatus ow_workshop_pan(OwPan seen, OwWorkshop *water, OwFaults *faults);
/// Water by calcium hydride in a closed bottle: CaH2 + 2 H2O = Ca(OH)2 + 2 H2, ideal gas.
OwStatus ow_workshop_hydride(double rise_pa, double gas_volume_m3, double temperature_k, double grams,
                             OwWorkshop *water, OwFaults *faults);
/// Settled solids and water read in a cone: sediment and sample volume in mL after `hours`.
OwStatus ow_workshop_cone(double sediment_ml, double sample_ml, double hours, OwWorkshop *solids,
                          OwFaults *faults);
/// Drop or pipette time against a fluid of known viscosity at the same temperature.
OwStatus ow_workshop_drop(double seconds, double reference_seconds, double reference_m2_s,
                          OwWorkshop *viscosity, OwFaults *faults);

/// Spray of a fluid against diesel at the same nozzle: indicators, not engine results.
typedef struct OwSpray {
    double elkotb_m, elkotb_ratio; ///< Sauter mean diameter; over diesel
    double hiroyasu_m, hiroyasu_ratio;
    double energy_j_l, energy_ratio; ///< net, per litre at 15 degC
    double fuel_use_ratio;           ///< litres over diesel's for the same net energy
} OwSpray;
/// Elkotb 1982 (Prog. Energy Combust. Sci. 8:61) and Hiroyasu, Arai & Tabata 1989 (SAE 890464), fuel at
/// `temperature_k`, `drop_pa` over the nozzle of `bore_m`, air of `air_kg_m3`. OW_ERROR_VALUE when a value is
/// not positive.
OwStatus ow_oil_spray(const OwFluid *fluid, const OwFluid *diesel, double temperature_k, double drop_pa,
                      double bore_m, double air_kg_m3, OwSpray *spray);

#endif
