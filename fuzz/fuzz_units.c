// SPDX-License-Identifier: GPL-3.0-or-later
// Any text as a quantity: it reads to a finite number or is refused with a reason, and what is written reads
// back.
#include "oilwright/units.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

static void must(bool is_good) {
    if (!is_good) {
        abort();
    }
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size) {
    static OwUnits *units = NULL; // costs a parse of the unit database; freed by nobody, on purpose
    if (units == NULL) {
        must(ow_units_create(&units) == OW_OK);
    }
    if (size < 2 || size > 300) {
        return 0;
    }
    const OwQuantity quantity = (OwQuantity)(data[0] % OW_Q_COUNT);
    const char *const bare = data[1] % 2 ? "1" : NULL;
    char text[300], why[200] = "", shown[64], again[200];
    memcpy(text, data + 2, size - 2);
    text[size - 2] = '\0';
    double si = -1.25;
    if (ow_units_read(units, text, quantity, bare, &si, why, sizeof why) != OW_OK) {
        must(si == -1.25 && why[0] != '\0');
        return 0;
    }
    must(isfinite(si));
    for (int d = 0; d < 2; d++) {
        ow_units_write(si, quantity, (OwDisplay)d, shown, sizeof shown);
        must(memchr(shown, '\0', sizeof shown) != NULL && shown[0] != '\0');
        double back = 0.0;
        (void)ow_units_read(units, shown, quantity, NULL, &back, again, sizeof again);
    }
    return 0;
}
