// SPDX-License-Identifier: GPL-3.0-or-later
// The JSON of a morning as an object, for those who put it into a larger one.
#ifndef OW_CLI_JSON_MAKE_H
#define OW_CLI_JSON_MAKE_H

#include <jansson.h>

#include "cli.h"

/// The object that ow_json_write writes; NULL when out of memory. The caller owns the reference.
json_t *ow_json_make(const OwJudgement *judgement);

#endif
