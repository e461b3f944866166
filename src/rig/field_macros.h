// SPDX-License-Identifier: GPL-3.0-or-later
// Short forms for the rows of the field tables; included only by the files that hold tables.
#ifndef OW_RIG_FIELD_MACROS_H
#define OW_RIG_FIELD_MACROS_H

#define PRACTICE " (common practice, no source)"

#define MM(x) ((x)*1e-3)
#define LITRE(x) ((x)*1e-3)
#define ML(x) ((x)*1e-6)
#define KPA(x) ((x)*1e3)
#define LPH(x) ((x) / 3.6e6)
#define MM2S(x) ((x)*1e-6)
#define CELSIUS(x) ((x) + OW_ZERO_CELSIUS_K)
#define RPM(x) ((x)*0.10471975511965977)
#define KMH(x) ((x) / 3.6)

#define REAL(S, member, key, Q, fallback, low, high, bare, doc)                                              \
    { key, OW_FIELD_REAL, OW_Q_##Q, offsetof(S, member), fallback, low, high, bare, NULL, false, doc }
#define REAL_OR_NONE(S, member, key, Q, fallback, low, high, bare, doc)                                      \
    { key, OW_FIELD_REAL, OW_Q_##Q, offsetof(S, member), fallback, low, high, bare, NULL, true, doc }
#define COUNT(S, member, key, fallback, low, high, doc)                                                      \
    { key, OW_FIELD_COUNT, OW_Q_NUMBER, offsetof(S, member), fallback, low, high, NULL, NULL, false, doc }
#define FLAG(S, member, key, fallback, doc)                                                                  \
    { key, OW_FIELD_FLAG, OW_Q_NUMBER, offsetof(S, member), fallback, 0, 1, NULL, NULL, false, doc }
/// A bool with its two words, false first.
#define EITHER(S, member, key, fallback, names, doc)                                                         \
    { key, OW_FIELD_FLAG, OW_Q_NUMBER, offsetof(S, member), fallback, 0, 1, NULL, names, false, doc }
#define CHOICE(S, member, key, fallback, names, doc)                                                         \
    { key, OW_FIELD_CHOICE, OW_Q_NUMBER, offsetof(S, member), fallback, 0, 0, NULL, names, false, doc }
#define TEXT(S, member, key, doc)                                                                            \
    { key, OW_FIELD_TEXT, OW_Q_NUMBER, offsetof(S, member), 0, 0, 0, NULL, NULL, false, doc }

#endif
