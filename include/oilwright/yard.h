// SPDX-License-Identifier: GPL-3.0-or-later
// Laws of the yard: what settling, heat, drying, filters and a centrifuge do to collected oil. Pure
// functions, no files. The walk of a batch through these steps and the week's plan are in yard_plan.h. Theory
// and sources: docs/theory/yard.md.
//
// Water and solids contents are mass shares (kg a kg of oil; 1e-6 = 1 mg/kg). Temperatures are kelvin. All
// functions are free of state and give finite numbers for any input; what cannot be is answered by OwYardTime
// with the reason.
#ifndef OILWRIGHT_YARD_H
#define OILWRIGHT_YARD_H

#include "oilwright/filter_life.h"
#include "oilwright/oil.h"

// ---- Answers in time
// ------------------------------------------------------------------------------------------------

typedef enum OwReach {
    OW_REACH_YES,     ///< after time_s
    OW_REACH_ALREADY, ///< it is so at the start; time_s 0
    OW_REACH_NEVER,   ///< no time is long enough: reason says why
    OW_REACH_REFUSED, ///< dangerous, not computed: reason says why
    OW_REACH_UNKNOWN  ///< an input is missing or not a number: reason says which
} OwReach;
/// How long something takes. `time_s` is finite always, 0 when it means nothing (NEVER, REFUSED, UNKNOWN).
typedef struct OwYardTime {
    OwReach reach;
    double time_s;
    char reason[240]; ///< empty when YES
} OwYardTime;
/// "after", "already", "never", "refused", "unknown".
const char *ow_yard_reach_text(OwReach reach);

// ---- Cautions
// -------------------------------------------------------------------------------------------------------

/// What can hurt someone in the yard: code, stable key, sentence.
#define OW_CAUTION_LIST(X)                                                                                     \
    X(OW_CAUTION_LAW, "law",                                                                                   \
      "Local fire, waste and electrical codes come first; wiring and gas are work for a licensed person.")     \
    X(OW_CAUTION_RAGS, "rags",                                                                                 \
      "Oily rags, paper, sawdust and filter cake heat themselves and can catch fire hours later, most of "     \
      "all with "                                                                                              \
      "drying oils (linseed, sunflower, soybean): keep them under water or in a closed metal can, "            \
      "outdoors.")                                                                                             \
    X(OW_CAUTION_UNATTENDED, "unattended",                                                                     \
      "Never leave a heater on unattended or overnight; a timer is no attendant.")                             \
    X(OW_CAUTION_CUT_OUT, "cut_out",                                                                           \
      "Fit an over-temperature cut-out with its own sensor and its own switch, independent of the "            \
      "thermostat, that "                                                                                      \
      "must be reset by hand; and one that cuts when the oil no longer covers the element.")                   \
    X(OW_CAUTION_HOT_OIL, "hot_oil",                                                                           \
      "Hot oil sticks and burns deep: face shield, gloves, long sleeves; let it cool below 50 °C (120 °F) "  \
      "before "                                                                                                \
      "you open, "                                                                                             \
      "move or filter it by hand. Keep a class F/K extinguisher or a lid near; never water.")                  \
    X(OW_CAUTION_STEAM, "steam",                                                                               \
      "Water under oil above 100 °C (212 °F) turns to steam at once, 1700 times its volume, and throws hot " \
      "oil "                                                                                                   \
      "out of the "                                                                                            \
      "tank: drain the water first and stay below 95 °C (203 °F).")                                            \
    X(OW_CAUTION_PRESSURE, "pressure",                                                                         \
      "A clogged filter under a pump is a pressure vessel: fit a gauge and a relief valve, switch off and "    \
      "vent before "                                                                                           \
      "you open it.")                                                                                          \
    X(OW_CAUTION_VACUUM, "vacuum",                                                                             \
      "Only a vessel made for vacuum stands vacuum: a drum, a water heater's tank or a jar can collapse.")     \
    X(OW_CAUTION_SPEED, "speed",                                                                               \
      "A bowl at this speed holds the energy of a thrown stone in every gram: use it inside its guard, "       \
      "balanced, and "                                                                                         \
      "never above its maker's speed.")                                                                        \
    X(OW_CAUTION_SPILL, "spill",                                                                               \
      "Stand tanks in a tray that holds the largest of them; oil on a floor is slippery and on water a "       \
      "spill to report.")                                                                                      \
    X(OW_CAUTION_AIR, "air",                                                                                   \
      "Air through hot oil makes mist and vapour and ages the oil: vent outdoors, no flame or spark near, "    \
      "keep it short.")

typedef enum OwCaution {
#define OW_CAUTION_ENUM(code, key, text) code,
    OW_CAUTION_LIST(OW_CAUTION_ENUM)
#undef OW_CAUTION_ENUM
        OW_CAUTION_COUNT
} OwCaution;
/// The sentence; never NULL.
const char *ow_yard_caution(OwCaution caution);
/// Stable machine name ("rags").
const char *ow_yard_caution_key(OwCaution caution);

/// A step of the yard.
typedef enum OwYardStep {
    OW_STEP_NONE,
    OW_STEP_DRAIN,      ///< draw water and sludge off the bottom
    OW_STEP_SETTLE,     ///< let stand
    OW_STEP_HEAT,       ///< electric element
    OW_STEP_HOT_SETTLE, ///< heat, switch off, let stand
    OW_STEP_BUBBLE,     ///< dry with air
    OW_STEP_VACUUM,     ///< dry under vacuum
    OW_STEP_FILTER,
    OW_STEP_CENTRIFUGE,
    OW_STEP_BLEND, ///< thin with better oil
    OW_STEP_TEST,  ///< measure again
    OW_STEP_COUNT
} OwYardStep;
const char *ow_yard_step_text(OwYardStep step);
/// Stable machine name ("hot_settle").
const char *ow_yard_step_key(OwYardStep step);
/// The cautions that belong to a step, most pressing first; fills at most `size`, returns how many there are.
int ow_yard_step_cautions(OwYardStep step, OwCaution *cautions, int size);

// ---- Moist air
// ------------------------------------------------------------------------------------------------------

#define OW_AIR_RATIO 0.621945 ///< molar mass of water over dry air (ASHRAE Fundamentals 2017, ch. 1)
/// Pressure of saturated water vapour over water (over ice below the triple point), Pa: Hyland & Wexler 1983,
/// ASHRAE Trans. 89(2A):500 (ASHRAE Fundamentals 2017 ch. 1 eq. 5, 6). 173.15 to 473.15 K, held at the ends.
double ow_air_saturation_pa(double temperature_k);
/// Temperature at which vapour of a pressure saturates, K, the inverse; held at the ends.
double ow_air_dew_point_k(double vapour_pa);
/// kg of water a kg of dry air at a relative humidity of 0..1 (held): eq. 20. Held at 1e3 where the air would
/// boil (p_w near p).
double ow_air_humidity_ratio(double temperature_k, double relative, double pressure_pa);
/// Relative humidity 0..1 (above 1 = fog) of a humidity ratio, eq. 12, 20.
double ow_air_relative(double temperature_k, double ratio, double pressure_pa);
/// J a kg of dry air over dry air at 0 degC and liquid water at 0 degC: 1006 t + W (2501000 + 1860 t),
/// eq. 30.
double ow_air_enthalpy(double temperature_k, double ratio);
/// Volume of moist air with one kg of dry air, m3/kg, eq. 26; density of the moist air is (1 + W) / volume.
double ow_air_volume(double temperature_k, double ratio, double pressure_pa);
double ow_air_density(double temperature_k, double ratio, double pressure_pa);
/// Thermodynamic wet-bulb temperature, K, eq. 33, 35, by bisection.
double ow_air_wet_bulb_k(double temperature_k, double ratio, double pressure_pa);
/// Heat of evaporation of water, J/kg: 2501000 - 2326 t, of eq. 33; 0 to 200 degC, held outside (1.5 % high
/// at 100 degC).
double ow_air_latent(double temperature_k);

// ---- Water
// ----------------------------------------------------------------------------------------------------------

/// Density of water, kg/m3: Kell 1975, J. Chem. Eng. Data 20:97, 0 to 150 degC, held outside (ice is not
/// meant).
double ow_water_density(double temperature_k);
/// Viscosity of water, Pa s: 2.414e-5 * 10^(247.8 / (T - 140)), 0 to 370 degC within 2.5 %, held outside.
double ow_water_viscosity(double temperature_k);

/// How much water an oil dissolves: log10(mg/kg) = a - b / T. Plain value.
typedef struct OwSolubility {
    double a, b_k;
    double low, high; ///< factors of the 90 % band, about 1
    OwTrust trust;
    const char *source; ///< static
} OwSolubility;
/// For triglyceride oils; see docs/theory/yard.md for what it rests on. Used oil holds more (acids, partial
/// glycerides): the band leans that way.
OwSolubility ow_yard_solubility_default(void);
/// Through two measured points (kelvin, mass share): OW_ERROR_VALUE when they are not positive, at one
/// temperature, or fall with heat.
OwStatus ow_yard_solubility_fit(double t1_k, double share1, double t2_k, double share2,
                                OwSolubility *solubility);
/// Mass share dissolved at saturation; 250 to 400 K, held outside.
double ow_yard_soluble(const OwSolubility *solubility, double temperature_k);
/// Water activity of oil with a water share: share / solubility, at most 1 (then free water is there).
double ow_yard_activity(const OwSolubility *solubility, double water_share, double temperature_k);

/// Dissolved and free water before and after cooling.
typedef struct OwReappear {
    double dissolved_hot, dissolved_cold; ///< mass shares
    double free_hot, free_cold;           ///< mass shares
    double free_kg;                       ///< what comes out of solution in the batch
    double free_m3;                       ///< as liquid water at the cold temperature
} OwReappear;
/// What a clear hot oil sheds on cooling from hot_k to cold_k (a rise gives 0), for a batch of oil_kg.
OwReappear ow_yard_reappear(const OwSolubility *solubility, double water_share, double hot_k, double cold_k,
                            double oil_kg);

// ---- Settling
// -------------------------------------------------------------------------------------------------------

/// Terminal speed of a small sphere, m/s: g d2 drho / (18 mu), Stokes 1851; Re < 0.1. Negative excess rises.
double ow_yard_stokes(double diameter_m, double excess_kg_m3, double viscosity_pa_s);
/// Speed over Stokes' of a drop whose surface moves, 1..1.5: 3 (mu + mu') / (2 mu + 3 mu'), Hadamard 1911,
/// Rybczynski 1911.
double ow_yard_mobile(double viscosity_pa_s, double drop_viscosity_pa_s);
/// Terminal speed with drag of Schiller & Naumann 1935, and Newton's 0.44 where that is more (Re above some
/// 1000), m/s.
double ow_yard_terminal(double diameter_m, double excess_kg_m3, double density_kg_m3, double viscosity_pa_s);
/// Speed over lone speed at a volume share of grains: (1 - share)^n, Richardson & Zaki 1954, n 4.65 to 2.39
/// by Re.
double ow_yard_hindered(double volume_share, double reynolds);

typedef enum OwGrainKind { OW_GRAIN_WATER, OW_GRAIN_CRUMB } OwGrainKind;
/// What settles in what. Plain value; `oil` is borrowed.
typedef struct OwSettle {
    const OwFluid *oil;
    OwGrainKind kind;
    double grain_kg_m3; ///< of a crumb as it hangs in the oil, soaked; 0 = 1150 (assumed). Water has its own
                        ///< by temperature
    bool is_mobile; ///< clean water drop (Hadamard-Rybczynski); used oil's soaps stiffen drops: false is the
                    ///< safe choice
    double volume_share; ///< of all grains in the oil, for hindering
    double height_m;     ///< from surface to draw-off: the way the slowest grain must fall
} OwSettle;
/// Speed down, m/s, at a temperature; 0 when the grain is no heavier than the oil (or is ice). All effects
/// above.
double ow_yard_settle_speed(const OwSettle *settle, double diameter_m, double temperature_k);

/// Temperature of a standing tank: around + (start - around) exp(-t / constant). constant <= 0: stays at
/// start.
typedef struct OwCooling {
    double start_k, around_k, constant_s;
} OwCooling;
double ow_cooling_value(const OwCooling *cooling, double time_s);
/// Seconds until it reaches a temperature between start and around; NEVER otherwise.
OwYardTime ow_cooling_time(const OwCooling *cooling, double temperature_k);

/// Way a grain falls in a time in a cooling tank, m (speed integrated over the temperature).
double ow_yard_settle_way(const OwSettle *settle, double diameter_m, const OwCooling *cooling, double time_s);
/// Time until all grains of a size and larger have fallen height_m. NEVER: no heavier than the oil, frozen,
/// or more than ten years. Below the cloud point crystals may hold grains up: `reason` then warns though
/// reach is YES.
OwYardTime ow_yard_settle_time(const OwSettle *settle, double diameter_m, const OwCooling *cooling);
/// Largest size that is still there after a time, m: all larger have fallen height_m. 0.01 m when nothing
/// settles.
double ow_yard_settle_cut(const OwSettle *settle, const OwCooling *cooling, double time_s);

typedef enum OwSizesKind { OW_SIZES_LOG_NORMAL, OW_SIZES_ROSIN_RAMMLER } OwSizesKind;
/// Sizes of drops or crumbs by mass. Log-normal: size_m median, spread = ln of the geometric standard
/// deviation. Rosin-Rammler 1933: coarser than d = exp(-(d/size_m)^spread).
typedef struct OwSizes {
    OwSizesKind kind;
    double size_m, spread; ///< both > 0
} OwSizes;
/// Usual ones, assumed: water median 40 um, spread 0.9; crumbs Rosin-Rammler 100 um, 0.9.
OwSizes ow_sizes_default(OwGrainKind kind);
/// Mass share coarser than a size, 0..1.
double ow_sizes_coarser(const OwSizes *sizes, double diameter_m);
/// Mass share removed when a still tank has settled to a cut size: all coarser, and of each finer size the
/// part (d/cut)^2 that started low enough (Stokes; quiet, evenly filled at the start; Hazen 1904). Analytic;
/// 0..1, falls with the cut.
double ow_sizes_removed(const OwSizes *sizes, double cut_m);

/// The same in a tank whose currents keep it mixed above the bottom: of each size 1 - exp(-(d/cut)^2) (Martin
/// & Nokes 1988, Nature 332:534). Always less than the still tank's. By sums over 2000 bins.
double ow_sizes_removed_stirred(const OwSizes *sizes, double cut_m);

/// Whether a tank stands still enough to settle.
typedef struct OwStill {
    double rayleigh;  ///< g beta dT h^3 / (nu alpha)
    double speed_m_s; ///< of the currents, order of magnitude: (alpha/h) Ra^(1/2), Bejan 1984, high Prandtl
                      ///< number
    double cut_m;     ///< grains smaller than this are carried about
    bool is_still;    ///< currents slower than a tenth of the grain of interest, or Ra < 1708 (heated below)
    char text[200];   ///< one sentence: a settling tank must stand without heat
} OwStill;
/// `difference_k` between oil and wall (cooling tank) or element (heated); `grain_m` the size one wants to
/// settle.
OwStill ow_yard_still(const OwSettle *settle, double temperature_k, double difference_k, double grain_m);

// ---- Heating
// --------------------------------------------------------------------------------------------------------

/// An upright round tank, lumped. Plain value.
typedef struct OwTankShape {
    double diameter_m, height_m;  ///< of the wetted part
    double insulation_w_m2k;      ///< conductance of insulation over the whole surface, 0 bare
    double emissivity;            ///< 0 = 0.9 (painted or oily)
    double metal_kg, metal_j_kgk; ///< metal that warms along; 0 = none, steel 460
} OwTankShape;
/// Side, top and bottom, m2; volume, m3.
double ow_tank_area(const OwTankShape *tank);
double ow_tank_volume(const OwTankShape *tank);
/// Loss in W at an oil temperature (surface of heat.h: Churchill-Chu 1975 and radiation, still air); negative
/// when colder.
double ow_tank_loss(const OwTankShape *tank, double oil_k, double around_k);
/// The cooling of a tank with oil_kg of oil: time constant from heat capacity and loss at the mean
/// temperature.
OwCooling ow_tank_cooling(const OwTankShape *tank, const OwFluid *oil, double oil_kg, double start_k,
                          double around_k);

#define OW_FILM_LIMIT_K                                                                                      \
    453.15 ///< 180 degC, frying temperature: oil at an element ages fast above it (common practice)
#define OW_LOAD_LIMIT_W_M2                                                                                   \
    2.3e4 ///< 2.3 W/cm2 (15 W/in2) on an element in oil that stands (heater makers: 12 to 15 for medium oils,
          ///< 2 to 3 W/cm2)
#define OW_HEAT_LIMIT_K 368.15 ///< 95 degC: no hotter while water may lie under the oil
typedef struct OwHeatUp {
    OwYardTime time;  ///< NEVER: losses hold it at steady_k
    double energy_j;  ///< electric, over the time
    double stored_j;  ///< in oil, metal and water
    double lost_j;    ///< through the surface; energy = stored + lost
    double steady_k;  ///< where it ends if the heater is never switched off (held at 800 K)
    double load_w_m2; ///< on the element's surface, 0 when its area is not known
    double film_k; ///< hottest oil, at the element at the end (Churchill-Chu), 0 when its area is not known
    bool is_load_high, is_film_hot, is_steady_hot; ///< over the three limits above
    char caution[240];                             ///< the worst of them in one sentence, empty if none
} OwHeatUp;
/// Warms oil_kg (with water_kg in it) from `from_k` to `to_k` by an element of power_w and surface element_m2
/// (0 unknown) and element diameter 10 mm. REFUSED when to_k is above OW_HEAT_LIMIT_K.
OwHeatUp ow_yard_heat(const OwTankShape *tank, const OwFluid *oil, double oil_kg, double water_kg,
                      double power_w, double element_m2, double from_k, double to_k, double around_k);
/// Power that warms it in a time, W, by bisection; 0 when none up to 1 MW does.
double ow_yard_heat_power(const OwTankShape *tank, const OwFluid *oil, double oil_kg, double water_kg,
                          double from_k, double to_k, double around_k, double time_s);

// ---- Drying
// ---------------------------------------------------------------------------------------------------------

/// Oil to be dried at a held temperature.
typedef struct OwDryJob {
    OwSolubility solubility;
    double oil_kg, temperature_k;
    double water_share;  ///< now, dissolved and free
    double target_share; ///< wanted
} OwDryJob;
typedef struct OwDry {
    OwYardTime time;      ///< to the target
    double floor_share;   ///< the driest it ever gets this way
    double end_share;     ///< the target, or the floor when NEVER
    double water_kg;      ///< carried off on the way to end_share
    double rate_kg_s;     ///< at the start
    double end_rate_kg_s; ///< at end_share
    double heat_j;        ///< to evaporate and to warm the air; the heater must add it
    double air_m3;        ///< drawn in (bubbling) or pumped at chamber pressure (vacuum) until the target
} OwDry;
/// Air that goes in.
typedef struct OwDryAir {
    double temperature_k, relative; ///< relative humidity 0..1
    double pressure_pa;             ///< 0 = standard atmosphere
    double flow_m3_s;               ///< as drawn in
    double
        approach; ///< share of equilibrium reached on the way up, 0..1; 0 = 1. Fine bubbles near 1 (assumed)
} OwDryAir;
/// Bubbling: air leaves at the oil's temperature and water activity, so drying slows as the oil gets dry and
/// stops at activity p_w,in / p_sat(oil). Analytic integral. NEVER: the inlet air is too humid at this
/// temperature. REFUSED above 95 degC.
OwDry ow_yard_dry_bubble(const OwDryJob *job, const OwDryAir *air);
/// Vacuum: rate = pump volume flow * M / (R T) * (activity p_sat - chamber), well-stirred equilibrium;
/// `chamber_pa` is the absolute pressure the pump holds, free_air_m3_s its displacement. NEVER: chamber
/// pressure above the oil's water vapour.
OwDry ow_yard_dry_vacuum(const OwDryJob *job, double chamber_pa, double free_air_m3_s);
/// Hot settling: free drops of `sizes` fall in the cooling tank (still-tank law); water that comes out of
/// solution on cooling is a haze of median 10 um, spread 0.5 (assumed), counted as there from the start (the
/// kind case). The floor is the solubility at the end. NEVER when the oil keeps more than the target
/// dissolved. job->temperature_k should be cooling->start_k.
OwDry ow_yard_dry_settle(const OwDryJob *job, const OwSettle *settle, const OwSizes *sizes,
                         const OwCooling *cooling);
/// Water share left after settling for a time, the same model.
double ow_yard_settled_water(const OwDryJob *job, const OwSettle *settle, const OwSizes *sizes,
                             const OwCooling *cooling, double time_s);
/// Boiling off above 100 degC is always REFUSED, with the reason.
OwDry ow_yard_dry_boil(const OwDryJob *job);

// ---- Filtration
// -----------------------------------------------------------------------------------------------------

typedef enum OwFilterForm { OW_FORM_BAG, OW_FORM_CARTRIDGE, OW_FORM_COUNT } OwFilterForm;
const char *ow_filter_form_text(OwFilterForm form);
/// A filter in the yard. Plain value.
typedef struct OwYardFilter {
    OwFilterForm form;
    double rating_m;
    double area_m2;
    double medium_1_m;  ///< resistance of the clean medium, Darcy: drop = mu Q medium / area
    OwFilterLaw law;    ///< how it clogs; bag: cake, cartridge: pores narrow
    double capacity_kg; ///< dirt held when its resistance is end_ratio times clean
    double end_ratio;   ///< > 1
} OwYardFilter;
/// Usual values for a form, rating and area: medium of straight pores as wide as the rating
/// (Hagen-Poiseuille), capacity 1.5 (bag) or 2 (cartridge, depth) kg/m2, end ratio 10; all assumed: put in
/// the maker's clean drop when it is known.
OwYardFilter ow_yard_filter_default(OwFilterForm form, double rating_m, double area_m2);
/// Resistance of the clean medium from a stated flow at a drop and viscosity, 1/m; 0 when an input is not
/// positive.
double ow_yard_filter_medium(double flow_m3_s, double drop_pa, double viscosity_pa_s, double area_m2);
/// Flow at a drop with `dirt_kg` on it, m3/s; 0 when shut.
double ow_yard_filter_flow(const OwYardFilter *filter, double drop_pa, double viscosity_pa_s, double dirt_kg);
/// Drop at a flow with dirt on it, Pa; held at 1e9 when shut.
double ow_yard_filter_drop(const OwYardFilter *filter, double flow_m3_s, double viscosity_pa_s,
                           double dirt_kg);
/// Area of clean medium for a flow at a drop, m2.
double ow_yard_filter_area(double medium_1_m, double flow_m3_s, double drop_pa, double viscosity_pa_s);
/// The filter's cake as OwCake (for the cake law): alpha from capacity and end ratio.
OwCake ow_yard_filter_cake(const OwYardFilter *filter, double viscosity_pa_s, double solids_kg_m3);

/// What pushes the oil through.
typedef struct OwPush {
    double pressure_pa; ///< pump's relief setting, or a held pressure; 0 with a head tank
    double flow_m3_s;   ///< pump's flow while the pressure is below that; 0 = pressure only
    double head_m;      ///< gravity: oil surface above the outlet at the start; 0 with a pump
    double tank_m2;     ///< gravity: surface of the head tank; 0 = level is kept up
} OwPush;
typedef struct OwFilterRun {
    OwYardTime time;  ///< to pass the wanted volume; NEVER: the filter shuts or the head runs out first
    double passed_m3; ///< volume passed (all of it when YES)
    double life_m3; ///< volume until end_ratio (capacity used up) from the dirt it has now; 0 = used up; held
                    ///< at 1e6
    double dirt_kg; ///< on the filter at the end
    double start_m3_s, end_m3_s; ///< flow at the start and the end
    double end_pa;               ///< drop at the end
} OwFilterRun;
/// Passes volume_m3 of oil with `caught_kg_m3` of solids that this filter holds back, from dirt_kg on it.
/// Integrates dV/Q; a flow below 1 mL/h counts as shut.
OwFilterRun ow_yard_filter_run(const OwYardFilter *filter, const OwPush *push, double viscosity_pa_s,
                               double density_kg_m3, double caught_kg_m3, double dirt_kg, double volume_m3);
/// Litres until the drop at a flow reaches drop_pa (life at a stated drop), m3; held at 1e6 when there is
/// nothing to catch.
double ow_yard_filter_life(const OwYardFilter *filter, double flow_m3_s, double viscosity_pa_s,
                           double caught_kg_m3, double drop_pa);

// ---- Centrifuge
// -----------------------------------------------------------------------------------------------------

/// omega^2 r / g.
double ow_yard_g_factor(double rotation_rad_s, double radius_m);
/// Area of a settling tank equal to a tubular bowl, m2, all grains of the cut size caught: omega^2 pi L (r2^2
/// - r1^2) / (g ln(r2/r1)); flow = speed * sigma. r1 liquid surface, r2 bowl. 0 unless 0 < r1 < r2 <= 10 m.
double ow_yard_sigma_tube(double rotation_rad_s, double length_m, double inner_m, double outer_m);
/// Same for the cut at which half are caught, Ambler 1952 (Chem. Eng. Prog. 48:150), mean-radius start:
/// omega^2 pi L (r2^2 - r1^2) / (2 g ln(2 r2/(r1 + r2))); flow = 2 * speed * sigma.
double ow_yard_sigma_tube_half(double rotation_rad_s, double length_m, double inner_m, double outer_m);
/// Disc stack: 2 pi n omega^2 (r2^3 - r1^3) / (3 g tan(angle)), angle between disc and axis; flow = speed *
/// sigma.
double ow_yard_sigma_discs(double rotation_rad_s, int gaps, double inner_m, double outer_m, double angle_rad);
/// Flow for a cut size, m3/s: speed * sigma * efficiency (0 = 1; discs 0.45, tubes 0.9 from memory). `settle`
/// gives fluid and grain; Stokes.
double ow_yard_centrifuge_flow(const OwSettle *settle, double sigma_m2, double efficiency, double diameter_m,
                               double temperature_k);
/// Cut size at a flow, m, the inverse; 0.01 when nothing is heavier.
double ow_yard_centrifuge_cut(const OwSettle *settle, double sigma_m2, double efficiency, double flow_m3_s,
                              double temperature_k);

// ---- Mass balance
// ---------------------------------------------------------------------------------------------------

/// A quantity of stuff in kg. Free fatty acid is part of the oil and counted inside it.
typedef struct OwStream {
    double oil_kg; ///< with acid_kg inside
    double free_water_kg;
    double dissolved_water_kg;
    double solids_kg;
    double acid_kg; ///< inside oil_kg
} OwStream;
/// oil + waters + solids.
double ow_stream_total(const OwStream *stream);
/// Mass shares of the whole: water (both), solids; acid over oil. 0 for an empty stream.
double ow_stream_water_share(const OwStream *stream);
double ow_stream_solids_share(const OwStream *stream);
double ow_stream_acid_share(const OwStream *stream);
/// Stream of oil_kg with shares over the oil, its water parted by solubility at a temperature.
OwStream ow_stream_make(double oil_kg, double water_share, double solids_share, double acid_share,
                        const OwSolubility *solubility, double temperature_k);
OwStream ow_stream_mix(const OwStream *a, const OwStream *b);
/// Parts `from` into `out` (a share of each component, held to 0..1; acid goes with the oil) and `rest`; out
/// + rest = from to rounding. `rest` may be `from`.
typedef struct OwSplit {
    double oil, free_water, dissolved_water, solids;
} OwSplit;
void ow_stream_split(const OwStream *from, const OwSplit *share, OwStream *out, OwStream *rest);
/// Moves water between dissolved and free to equilibrium; all water is kept.
void ow_stream_equilibrate(OwStream *stream, const OwSolubility *solubility, double temperature_k);

/// Where things went.
typedef enum OwOutlet {
    OW_OUT_PRODUCT,
    OW_OUT_WATER,    ///< drained water
    OW_OUT_SLUDGE,   ///< bottoms
    OW_OUT_CAKE,     ///< in bags and cartridges
    OW_OUT_VAPOUR,   ///< dried off
    OW_OUT_REJECT,   ///< oil not worth the work
    OW_OUT_HANDLING, ///< drips, wetted walls, samples
    OW_OUT_COUNT
} OwOutlet;
const char *ow_yard_outlet_text(OwOutlet outlet);
typedef struct OwBalance {
    OwStream in, out[OW_OUT_COUNT], stock; ///< stock: still in the yard
} OwBalance;
void ow_balance_in(OwBalance *balance, const OwStream *stream);
void ow_balance_out(OwBalance *balance, OwOutlet outlet, const OwStream *stream);
/// Largest |in - out - stock| of any component (waters taken together) over the total in; 0 when nothing came
/// in.
double ow_balance_error(const OwBalance *balance);

// ---- Use, rework or reject
// ------------------------------------------------------------------------------------------

typedef enum OwYardTest {
    OW_TEST_ACID,      ///< mg KOH/g
    OW_TEST_WATER,     ///< mg/kg
    OW_TEST_SOLIDS,    ///< % by volume (cone)
    OW_TEST_VISCOSITY, ///< mm2/s at 40 degC
    OW_TEST_COUNT
} OwYardTest;
const char *ow_yard_test_text(OwYardTest test);
typedef enum OwDecide {
    OW_DECIDE_USE,
    OW_DECIDE_RETEST,
    OW_DECIDE_REWORK,
    OW_DECIDE_REJECT,
    OW_DECIDE_UNTESTED
} OwDecide;
const char *ow_yard_decide_text(OwDecide decide);
/// One test against its limit.
typedef struct OwDecision {
    OwYardTest test;
    OwDecide decide;
    OwYardStep step;     ///< of a rework, else NONE (or TEST)
    double value, limit; ///< in `unit`; limit is the one that decided
    const char *unit;
    OwTrust trust; ///< of the limit
    char reason[200];
} OwDecision;
/// Limits, editable. Defaults: DIN 51605 for use; rework and reject limits common practice.
typedef struct OwYardLimits {
    double use[OW_TEST_COUNT];       ///< at or below: use
    double reject[OW_TEST_COUNT];    ///< above: reject
    bool is_standard[OW_TEST_COUNT]; ///< the use limit is DIN 51605's
} OwYardLimits;
OwYardLimits ow_yard_limits_default(void);
/// Decides each test (tests[i] NULL = not made) with its interval and gives the worst of all.
OwDecide ow_yard_decide(const OwWorkshop *const tests[OW_TEST_COUNT], const OwYardLimits *limits,
                        OwDecision decisions[OW_TEST_COUNT]);

#endif
