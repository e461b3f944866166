// SPDX-License-Identifier: GPL-3.0-or-later
// The other properties against published tables; writes a part of the check report.
#include "tally.h"

static void iodine_value(void **state) {
    (void)state;
    static const struct {
        const char *oil;
        double reported;
    } wijs[] = {{"cottonseed refined", 109.0}, {"cottonseed RBD", 108.94},      {"cottonseed crude", 109.18},
                {"peanut crude", 92.36},       {"peanut refined", 95.09},       {"peanut RBD", 95.32},
                {"soybean refined", 130.81},   {"soybean degummed", 128.57},    {"soybean crude", 129.57},
                {"soybean hydrog.", 102.49},   {"sunflower dewaxed", 132.01},   {"sunflower refined", 134.5},
                {"sunflower crude", 131.93},   {"sunflower deodorized", 132.99}};
    checks_title("Iodine value from the profile (AOCS Cd 1c-85) against the measured one",
                 "The first row is the arithmetic of the method itself. The others compare a profile with a "
                 "titration (Wijs) of the same sample, where each "
                 "has its own error; the method is exact only to the profile.");
    // 23.6 % 18:1, 56.7 % 18:2, 4.2 % 18:3, 0.3 % 22:1 by the method's factors.
    OwComposition c;
    const double profile[OW_ACID_COUNT] = {[OW_ACID_14_0] = .2,   [OW_ACID_16_0] = 9.8,  [OW_ACID_18_0] = 4.6,
                                           [OW_ACID_18_1] = 23.6, [OW_ACID_18_2] = 56.7, [OW_ACID_18_3] = 4.2,
                                           [OW_ACID_22_0] = .4,   [OW_ACID_22_1] = .3,   [OW_ACID_24_0] = .2};
    assert_int_equal(ow_oil_composition(profile, &c, NULL), OW_OK);
    checks_row("soybean, arithmetic", 129.70, c.iodine, "g/100 g", "AOCS Cd 1c-85", 'F');
    assert_true(fabs(c.iodine - 129.70) < 0.02);
    Tally t = {0};
    double worst = 0.0;
    for (size_t i = 0; i < sizeof wijs / sizeof wijs[0]; ++i) {
        for (int k = 0; k < published_count; ++k) {
            if (published[k].use == PUBLISHED_OWN && strcmp(published[k].oil, wijs[i].oil) == 0) {
                assert_int_equal(ow_oil_composition(published[k].profile, &c, NULL), OW_OK);
                checks_row(wijs[i].oil, wijs[i].reported, c.iodine, "g/100 g", published[k].source, 'P');
                tally(&t, wijs[i].reported, c.iodine, true);
                worst = fmax(worst, fabs(c.iodine - wijs[i].reported));
                if (strcmp(wijs[i].oil, "soybean crude") == 0) {
                    assert_true(fabs(c.iodine - wijs[i].reported) <= 1.0);
                }
            }
        }
    }
    assert_int_equal(t.count, 14);
    say("Iodine value: the arithmetic agrees within 0.02 and the published soybean pair within 0.3, but over "
        "all 14 samples the profile's and the "
        "titrated value part by rms %.2f %%, at worst %.1f (crude peanut): the aim of 1 is met for the "
        "method, not for every published pair.",
        rms(&t), worst);
    assert_true(rms(&t) < 4.0 && worst < 8.0);
}

static void density(void **state) {
    (void)state;
    checks_title(
        "Density from the profile",
        "Fitted to Noureddini et al. 1992 only. Magne & Skau's cottonseed (0 to 101 degC) is held back.");
    static const double noureddini_t[] = {23.9, 37.8, 48.9, 60, 82.2, 100, 110};
    static const struct {
        const char *oil;
        double g_cm3[7];
    } noureddini[] = {{"crambe", {.9078, .8977, .8898, .8829, .8681, .8564, .8501}},
                      {"rapeseed HE", {.9073, .8987, .8908, .8839, .8686, .8579, .8511}},
                      {"corn", {.9188, .9082, .9028, .8939, .88, .8679, .861}},
                      {"soybean", {.9193, .9082, .9023, .8939, .8795, .8674, .8615}},
                      {"coconut", {0, .9107, .9033, .8949, .8795, .8669, .8605}}};
    Tally fitted = {0}, held = {0}, doubtful = {0};
    OwComposition c;
    for (size_t i = 0; i < 5; ++i) {
        for (int k = 0; k < published_count; ++k) {
            if (published[k].use != PUBLISHED_TUNED || strcmp(published[k].oil, noureddini[i].oil) != 0 ||
                !strstr(published[k].source, "Noureddini")) {
                continue;
            }
            assert_int_equal(ow_oil_composition(published[k].profile, &c, NULL), OW_OK);
            for (int j = 0; j < 7; ++j) {
                if (noureddini[i].g_cm3[j] > 0.0) {
                    const double ours = ow_oil_profile_density(&c, noureddini_t[j] + 273.15);
                    char what[64];
                    snprintf(what, sizeof what, "%s, %.4g degC (fitted)", noureddini[i].oil, noureddini_t[j]);
                    checks_row(what, 1000.0 * noureddini[i].g_cm3[j], ours, "kg/m3",
                               "Noureddini et al. 1992, JAOCS 69:1184", 'P');
                    tally(&fitted, 1000.0 * noureddini[i].g_cm3[j], ours, true);
                }
            }
        }
    }
    static const double magne[][2] = {{0, 931.9},    {10, 924.7},   {20, 920.0},   {25, 914.5},   {40, 904.4},
                                      {59.8, 891.2}, {79.8, 878.0}, {80.4, 877.8}, {101.1, 864.1}};
    const double cottonseed[OW_ACID_COUNT] = {
        [OW_ACID_14_0] = .8,   [OW_ACID_16_0] = 21.8, [OW_ACID_18_0] = 2.6, [OW_ACID_18_1] = 17.7,
        [OW_ACID_18_2] = 56.2, [OW_ACID_18_3] = .2,   [OW_ACID_22_0] = .5,  [OW_ACID_24_0] = .2};
    assert_int_equal(ow_oil_composition(cottonseed, &c, NULL), OW_OK);
    for (size_t i = 0; i < sizeof magne / sizeof magne[0]; ++i) {
        const double ours = ow_oil_profile_density(&c, magne[i][0] + 273.15);
        char what[64];
        snprintf(what, sizeof what, "cottonseed, %.4g degC", magne[i][0]);
        checks_row(what, magne[i][1], ours, "kg/m3", "Magne & Skau 1945; DIN EN 1825-2:2002", 'P');
        tally(&held, magne[i][1], ours, true);
    }
    static const struct {
        const char *oil;
        double t, kg_m3;
        const char *source;
        bool is_doubtful;
        double profile[OW_ACID_COUNT];
    } singles[] = {
        {"cottonseed",
         15,
         925,
         "Karaosmanoglu et al. 1999",
         false,
         {[OW_ACID_14_0] = .7,
          [OW_ACID_16_0] = 21.79,
          [OW_ACID_16_1] = .56,
          [OW_ACID_18_0] = 2.48,
          [OW_ACID_18_1] = 12.02,
          [OW_ACID_18_2] = 61.62,
          [OW_ACID_20_0] = .36}},
        {"soybean",
         15.6,
         923,
         "Pryor et al. 1983",
         false,
         {[OW_ACID_16_0] = 13.9,
          [OW_ACID_18_0] = 2.1,
          [OW_ACID_18_1] = 23.2,
          [OW_ACID_18_2] = 56.5,
          [OW_ACID_18_3] = 4.3}},
        {"palm",
         20,
         910.2,
         "de Almeida et al. 2002 (profile typical)",
         false,
         {[OW_ACID_14_0] = 1.1,
          [OW_ACID_16_0] = 44,
          [OW_ACID_18_0] = 4.5,
          [OW_ACID_18_1] = 39.2,
          [OW_ACID_18_2] = 10.1}},
        {"rapeseed",
         15.6,
         911.5,
         "Goering et al. 1982",
         true,
         {[OW_ACID_16_0] = 3.49,
          [OW_ACID_18_0] = .85,
          [OW_ACID_18_1] = 64.4,
          [OW_ACID_18_2] = 22.3,
          [OW_ACID_18_3] = 8.23}},
        {"soybean",
         15.6,
         913.8,
         "Goering et al. 1982",
         true,
         {[OW_ACID_16_0] = 11.75,
          [OW_ACID_18_0] = 3.15,
          [OW_ACID_18_1] = 23.26,
          [OW_ACID_18_2] = 55.53,
          [OW_ACID_18_3] = 6.31}},
        {"sunflower",
         15.6,
         916.1,
         "Goering et al. 1982",
         true,
         {[OW_ACID_16_0] = 6.08, [OW_ACID_18_0] = 3.26, [OW_ACID_18_1] = 16.93, [OW_ACID_18_2] = 73.73}},
        {"peanut",
         15.6,
         902.6,
         "Goering et al. 1982",
         true,
         {[OW_ACID_16_0] = 11.38,
          [OW_ACID_18_0] = 2.39,
          [OW_ACID_18_1] = 48.28,
          [OW_ACID_18_2] = 31.95,
          [OW_ACID_18_3] = .93,
          [OW_ACID_20_0] = 1.32,
          [OW_ACID_22_0] = 2.52}},
        {"linseed",
         15.6,
         923.6,
         "Goering et al. 1982",
         true,
         {[OW_ACID_16_0] = 4.92,
          [OW_ACID_18_0] = 2.41,
          [OW_ACID_18_1] = 19.7,
          [OW_ACID_18_2] = 18.03,
          [OW_ACID_18_3] = 54.94}},
    };
    for (size_t i = 0; i < sizeof singles / sizeof singles[0]; ++i) {
        assert_int_equal(ow_oil_composition(singles[i].profile, &c, NULL), OW_OK);
        const double ours = ow_oil_profile_density(&c, singles[i].t + 273.15);
        char what[64];
        snprintf(what, sizeof what, "%s, %.4g degC", singles[i].oil, singles[i].t);
        checks_row(what, singles[i].kg_m3, ours, "kg/m3", singles[i].source, 'P');
        tally(singles[i].is_doubtful ? &doubtful : &held, singles[i].kg_m3, ours, true);
    }
    say("Density: rms %.2f %% on %d held-back values (%.2f %% on the fitted ones). Goering's values at 15.6 "
        "degC lie %.1f %% below ours, and as far below "
        "Noureddini's and Magne & Skau's own: the published sets disagree, and ours goes with the latter "
        "two.",
        rms(&held), held.count, rms(&fitted), 100.0 * doubtful.sum / doubtful.count);
    assert_true(rms(&held) <= 0.5 && rms(&fitted) <= 0.5);
    assert_true(doubtful.sum / doubtful.count > 0.005 && doubtful.sum / doubtful.count < 0.02);
}

static void heat_values(void **state) {
    (void)state;
    checks_title("Gross and net heat, cetane number, cloud point, specific heat",
                 "Goering's cetane numbers gave the model its shift, so they are no independent test. Cloud "
                 "points from the profile alone: traces of wax in "
                 "unwinterised oils are not foreseen.");
    static const struct {
        const char *oil;
        double gross, cetane, cloud;
    } goering[] = {{"corn", 39.500, 37.6, -1.1},      {"cottonseed", 39.468, 41.8, 1.7},
                   {"crambe", 40.482, 44.6, 10},      {"linseed", 39.307, 34.6, 1.7},
                   {"peanut", 39.782, 41.8, 12.8},    {"rapeseed", 39.709, 37.6, -3.9},
                   {"safflower", 39.519, 41.3, 18.3}, {"safflower HO", 39.516, 49.1, 12.2},
                   {"sesame", 39.349, 40.2, -3.9},    {"soybean", 39.623, 37.9, -3.9},
                   {"sunflower", 39.575, 37.1, 7.2}};
    OwOilStudy *study = calloc(1, sizeof *study);
    Tally gross = {0};
    double cetane = 0.0, cloud = 0.0;
    int covered = 0, count = 0, cloud_covered = 0;
    for (size_t i = 0; i < sizeof goering / sizeof goering[0]; ++i) {
        for (int k = 0; k < published_count; ++k) {
            if (strcmp(published[k].oil, goering[i].oil) != 0 || !strstr(published[k].source, "Goering")) {
                continue;
            }
            study_of(&published[k], NULL, 0, study);
            char what[64];
            snprintf(what, sizeof what, "%s, gross heat", goering[i].oil);
            checks_row(what, goering[i].gross, 1e-6 * study->gross_heat.value, "MJ/kg", published[k].source,
                       'P');
            tally(&gross, goering[i].gross, 1e-6 * study->gross_heat.value, true);
            snprintf(what, sizeof what, "%s, cetane number", goering[i].oil);
            checks_row(what, goering[i].cetane, study->cetane.value, "", published[k].source, 'P');
            cetane += pow(goering[i].cetane - study->cetane.value, 2.0);
            covered += study->cetane.low <= goering[i].cetane && goering[i].cetane <= study->cetane.high;
            snprintf(what, sizeof what, "%s, cloud point", goering[i].oil);
            checks_row(what, goering[i].cloud + 273.15, study->cloud.value + 273.15, "K", published[k].source,
                       'P');
            cloud += pow(goering[i].cloud - study->cloud.value, 2.0);
            cloud_covered += study->cloud.low <= goering[i].cloud && goering[i].cloud <= study->cloud.high;
            ++count;
            ow_oil_study_clear(study);
        }
    }
    assert_int_equal(count, 11);
    say("Gross heat rms %.2f %%, cetane number rms %.1f (band holds %d of %d), cloud point from the profile "
        "rms %.1f K (band holds %d of %d: safflower and "
        "sunflower carry wax).",
        rms(&gross), sqrt(cetane / count), covered, count, sqrt(cloud / count), cloud_covered, count);
    assert_true(rms(&gross) < 1.2 && sqrt(cetane / count) < 4.0 && covered >= 9 &&
                sqrt(cloud / count) < 15.0);
    // Held back: palm 42 (de Almeida et al. 2002) and 52 (Tang et al. 1995), rapeseed 44 to 48 (Labeckas &
    // Slavinskas 2006).
    const double palm[OW_ACID_COUNT] = {[OW_ACID_14_0] = 1.1,
                                        [OW_ACID_16_0] = 44,
                                        [OW_ACID_18_0] = 4.5,
                                        [OW_ACID_18_1] = 39.2,
                                        [OW_ACID_18_2] = 10.1};
    OwComposition held;
    assert_int_equal(ow_oil_composition(palm, &held, NULL), OW_OK);
    checks_row("palm, cetane number", 42.0, ow_oil_profile_cetane(&held), "",
               "de Almeida et al. 2002, Fuel 81:2097", 'P');
    checks_row("palm, cetane number", 52.0, ow_oil_profile_cetane(&held), "", "Tang et al. 1995", 'P');
    assert_true(fabs(ow_oil_profile_cetane(&held) - 47.0) < 5.0);
    // Demirbas's own table (1998, Fuel 77:1117) proves the equation as remembered: rapeseed SV 197.07, IV
    // 108.05 gives 39.73.
    static const double demirbas[][3] = {
        {178.59, 113.2, 39.44},  {188.71, 156.74, 39.33}, {190.23, 139.83, 39.52}, {191.7, 132.32, 39.57},
        {194.61, 120.52, 39.63}, {197.07, 108.05, 39.73}, {210.34, 91.76, 39.42}};
    for (size_t i = 1; i < sizeof demirbas / sizeof demirbas[0];
         ++i) { // the first, cottonseed, carries crambe's saponification value in the copy
        OwComposition c = {.saponification = demirbas[i][0], .iodine = demirbas[i][1]};
        const double ours = 1e-6 * ow_oil_profile_gross_heat(&c);
        checks_row("gross heat from SV and IV", demirbas[i][2], ours, "MJ/kg",
                   "Demirbas 1998, Fuel 77:1117, table", 'P');
        assert_true(fabs(ours - demirbas[i][2]) < 0.06);
    }
    static const struct {
        const char *oil;
        double net;
    } ryan[] = {{"soybean crude", 36.981},
                {"peanut crude", 37.102},
                {"cottonseed crude", 36.958},
                {"sunflower crude", 37.528}};
    for (size_t i = 0; i < 4; ++i) {
        for (int k = 0; k < published_count; ++k) {
            if (published[k].use == PUBLISHED_OWN && strcmp(published[k].oil, ryan[i].oil) == 0) {
                study_of(&published[k], NULL, 0, study);
                char what[64];
                snprintf(what, sizeof what, "%s, net heat", ryan[i].oil);
                checks_row(what, ryan[i].net, 1e-6 * study->net_heat.value, "MJ/kg", published[k].source,
                           'P');
                assert_true(study->net_heat.low <= 1e6 * ryan[i].net + 0.2e6 &&
                            1e6 * ryan[i].net - 0.2e6 <= study->net_heat.high);
                ow_oil_study_clear(study);
            }
        }
    }
    OwComposition c;
    const double cottonseed[OW_ACID_COUNT] = {
        [OW_ACID_16_0] = 22.6, [OW_ACID_18_0] = 2.6, [OW_ACID_18_1] = 17.7, [OW_ACID_18_2] = 56.4};
    assert_int_equal(ow_oil_composition(cottonseed, &c, NULL), OW_OK);
    for (double t = 25.0; t <= 50.0; t += 25.0) {
        const double ours = ow_oil_profile_specific_heat(&c, t + 273.15);
        checks_row(t < 30.0 ? "cottonseed, specific heat, 25 degC" : "cottonseed, specific heat, 50 degC",
                   1930.0 + 1.25 * t, ours, "J/kgK", "Hirschberg, Handbuch Verfahrenstechnik und Anlagenbau",
                   'P');
        assert_true(fabs(ours / (1930.0 + 1.25 * t) - 1.0) < 0.05);
    }
    free(study);
}

static void rest(void **state) {
    (void)state;
    checks_title("Walther, cups, blends, titration, spray", "");
    double v;
    assert_int_equal(ow_oil_cup_viscosity(3, 57.0, &v), OW_OK);
    checks_row("ISO 2431 3 mm cup, 57 s", 21.7422, 1e6 * v, "mm2/s", "ISO 2431 equation", 'F');
    assert_true(fabs(1e6 * v - 21.7422) < 1e-4);
    const double v2[] = {5e-6, 20e-6}, rho[] = {900, 900}, x[] = {0.6, 0.4};
    OwBlendRules rules;
    assert_int_equal(ow_oil_blend_rules(v2, rho, x, 2, &rules), OW_OK);
    checks_row("Refutas, 60 % of 5 and 40 % of 20 mm2/s", 8.109, 1e6 * rules.refutas, "mm2/s", "Maples 2000",
               'F');
    assert_true(fabs(1e6 * rules.refutas - 8.109) < 0.001);
    const double v3[] = {35e-6, 2.7e-6}, half[] = {0.5, 0.5};
    assert_int_equal(ow_oil_blend_rules(v3, rho, half, 2, &rules), OW_OK);
    checks_row("35 and 2.7 half and half, Refutas", 7.5, 1e6 * rules.refutas, "mm2/s", "Maples 2000", 'F');
    checks_row("the same, Arrhenius", 9.7, 1e6 * rules.arrhenius, "mm2/s", "Arrhenius 1887", 'F');
    checks_row("the same, Kendall and Monroe", 12.7, 1e6 * rules.kendall_monroe, "mm2/s",
               "Kendall & Monroe 1917", 'F');
    assert_true(fabs(1e6 * rules.refutas - 7.5) < 0.05 && fabs(1e6 * rules.arrhenius - 9.7) < 0.05 &&
                fabs(1e6 * rules.kendall_monroe - 12.7) < 0.05);
    const OwViscosityPoint two[] = {{313.15, 32e-6}, {373.15, 5.4e-6}};
    double a, b;
    assert_int_equal(ow_oil_walther_fit(two, 2, &a, &b), OW_OK);
    checks_row("Walther through 32 at 40 and 5.4 at 100 degC: A", 9.53082, a, "", "ASTM D341", 'F');
    checks_row("the same, B", 3.74658, b, "", "ASTM D341", 'F');
    checks_row("the same, 80 degC", 8.533, 1e6 * ow_oil_walther_value(a, b, 353.15), "mm2/s", "ASTM D341",
               'F');
    assert_true(fabs(a - 9.53082) < 2e-5 && fabs(b - 3.74658) < 1e-5);
    const double number = 14.534 * log(log(2.234 + 0.8)) + 10.975;
    checks_row("Refutas number of 2.234 mm2/s", 12.492, number, "", "Maples 2000", 'P');
    assert_true(fabs(number - 12.492) < 0.0022); // 2.234 is rounded
    OwOilStudy *study = calloc(1, sizeof *study);
    static const struct {
        const char *name;
        double low, high;
        const char *source;
        char trust;
    } fuels[] = {{"diesel", 1.9, 4.1, "ASTM D975 no. 2", 'P'},
                 {"diesel", 2.0, 4.5, "EN 590", 'P'},
                 {"fame", 3.5, 5.0, "EN 14214", 'P'},
                 {"kerosene", 1.0, 1.9, "usual range", 'M'}};
    for (size_t i = 0; i < sizeof fuels / sizeof fuels[0]; ++i) {
        OwOilSpec spec = {0};
        strcpy(spec.name, fuels[i].name);
        assert_int_equal(ow_oil_study(&spec, study, NULL), OW_OK);
        const double at_40 = 1e6 * study->kinematic_40.value;
        char what[64];
        snprintf(what, sizeof what, "%s at 40 degC, middle of %g to %g", fuels[i].name, fuels[i].low,
                 fuels[i].high);
        checks_row(what, 0.5 * (fuels[i].low + fuels[i].high), at_40, "mm2/s", fuels[i].source,
                   fuels[i].trust);
        assert_true(at_40 > fuels[i].low && at_40 < fuels[i].high);
        ow_oil_study_clear(study);
    }
    static const struct {
        const char *name;
        double mn_m;
    } tension[] = {{"soybean", 32.01}, {"peanut", 32.22}, {"cottonseed", 31.95}, {"sunflower", 32.01}};
    for (size_t i = 0; i < sizeof tension / sizeof tension[0]; ++i) {
        OwOilSpec spec = {0};
        strcpy(spec.name, tension[i].name);
        assert_int_equal(ow_oil_study(&spec, study, NULL), OW_OK);
        const double ours = 1e3 * ow_curve_value(&study->fluid.surface_tension, 298.15);
        char what[64];
        snprintf(what, sizeof what, "%s, surface tension (room temperature, ours at 25 degC)",
                 tension[i].name);
        checks_row(what, tension[i].mn_m, ours, "mN/m", "Ryan, Dodge & Callahan 1984, JAOCS 61:1610", 'P');
        assert_true(fabs(ours - tension[i].mn_m) < 1.0);
        ow_oil_study_clear(study);
    }
    // Bari, Lim & Yu 2002 (Renewable Energy 27:339, abstract): palm oil must be heated to 92 degC to equal
    // diesel's viscosity. By every table here palm oil at 92 degC has some 9 mm2/s, three times diesel's at
    // 40 degC and twice diesel's at 20: the statement does not agree with them.
    OwOilSpec palm = {.name = "palm"};
    assert_int_equal(ow_oil_study(&palm, study, NULL), OW_OK);
    const double hot = 1e6 * ow_oil_study_viscosity(study, 365.15).value;
    checks_row("palm at 92 degC against diesel at 40 degC (disagrees, see text)", 2.7, hot, "mm2/s",
               "Bari, Lim & Yu 2002, Renewable Energy 27:339, abstract", 'P');
    assert_true(hot > 7.0 && hot < 11.0);
    ow_oil_study_clear(study);
    free(study);
    OwWorkshop ffa, acid;
    assert_int_equal(ow_workshop_titration(2.5, 0.0, 0.1, 7.05, &ffa, &acid, NULL), OW_OK);
    checks_row("titration 2.5 mL of 0.1 N on 7.05 g", 1.00, ffa.value, "% oleic", "AOCS Ca 5a-40", 'F');
    checks_row("the same, acid value", 1.989, acid.value, "mg KOH/g", "56.1 mL N / g", 'F');
    assert_true(fabs(ffa.value - 1.0) < 1e-6 && fabs(acid.value - 1.989) < 1e-3);
    static const double altin[][3] = {{46, 11, 0}, {50, 16, 1}, {39.5, 11, 2}, {65, 9, 3}, {58, 15, 4}};
    static const char *const names[] = {"corn", "cottonseed", "rapeseed", "soybean", "sunflower"};
    checks_title("Altin, Cetinkaya & Yucesu 2001 (Energy Convers. Manage. 42:529), 27 and 75 degC",
                 "Listed for candour, counted nowhere: no profiles are given, and the table sets soybean "
                 "thicker than rapeseed at 27 degC and thinner at 75, "
                 "which no other source does.");
    OwFluid *fluid = malloc(sizeof *fluid);
    for (int i = 0; i < 5; ++i) {
        OwOilSpec spec = {0};
        strcpy(spec.name, names[i]);
        assert_int_equal(ow_oil_make(&spec, fluid, NULL), OW_OK);
        for (int k = 0; k < 2; ++k) {
            char what[64];
            snprintf(what, sizeof what, "%s, %d degC", names[i], k ? 75 : 27);
            checks_row(what, altin[i][k], 1e6 * ow_curve_value(&fluid->kinematic_m2_s, k ? 348.15 : 300.15),
                       "mm2/s", "Altin et al. 2001", 'P');
        }
    }
    free(fluid);
}

int main(int argc, char **argv) {
    if (checks_open(argc > 1 ? argv[1] : NULL, "Oil: other properties and arithmetic") != 0) {
        fprintf(stderr, "the report %s cannot be written\n", argv[1]);
        return 1;
    }
    const struct CMUnitTest tests[] = {cmocka_unit_test(iodine_value), cmocka_unit_test(density),
                                       cmocka_unit_test(heat_values), cmocka_unit_test(rest)};
    const int failed = cmocka_run_group_tests(tests, NULL, NULL);
    return checks_close() != 0 ? 1 : failed;
}
