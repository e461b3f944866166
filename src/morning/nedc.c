// SPDX-License-Identifier: GPL-3.0-or-later
// The New European Driving Cycle (UN ECE Regulation 83, Annex 4a): four urban cycles and one extra-urban.
#include "morning/drive.h"

typedef struct Break {
    short time_s, speed_km_h;
} Break;

static const Break URBAN[] = {
    {0, 0},    {11, 0},   {15, 15},  {23, 15},  {25, 10},  {28, 0},   {49, 0},   {54, 15},  {56, 15},
    {61, 32},  {85, 32},  {93, 10},  {96, 0},   {117, 0},  {122, 15}, {124, 15}, {133, 35}, {135, 35},
    {143, 50}, {155, 50}, {163, 35}, {176, 35}, {178, 32}, {185, 10}, {188, 0},  {195, 0},
};
static const Break OUTER[] = {
    {0, 0},     {20, 0},    {25, 15},  {27, 15},  {36, 35},  {38, 35},  {46, 50},   {48, 50},
    {61, 70},   {111, 70},  {119, 50}, {188, 50}, {201, 70}, {251, 70}, {286, 100}, {316, 100},
    {336, 120}, {346, 120}, {362, 80}, {370, 50}, {380, 0},  {400, 0},
};
#define URBAN_COUNT ((int)(sizeof URBAN / sizeof URBAN[0]))
#define OUTER_COUNT ((int)(sizeof OUTER / sizeof OUTER[0]))
#define URBAN_S 195

_Static_assert(4 * (sizeof URBAN / sizeof URBAN[0] - 1) + sizeof OUTER / sizeof OUTER[0] == OW_NEDC_POINTS,
               "the parts share their joints");

OwSpeedPoint ow_nedc_point(int index) {
    const int i = index < 0 ? 0 : index >= OW_NEDC_POINTS ? OW_NEDC_POINTS - 1 : index;
    const int part = i / (URBAN_COUNT - 1) < OW_NEDC_PARTS - 1 ? i / (URBAN_COUNT - 1) : OW_NEDC_PARTS - 1;
    const int inside = i - part * (URBAN_COUNT - 1);
    const Break *point = part == OW_NEDC_PARTS - 1 ? &OUTER[inside] : &URBAN[inside];
    return (OwSpeedPoint){.time_s = (double)(part * URBAN_S + point->time_s),
                          .speed_m_s = point->speed_km_h / 3.6,
                          .part = part};
}
