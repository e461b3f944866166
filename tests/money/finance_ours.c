// SPDX-License-Identifier: GPL-3.0-or-later
// Prints our figures for the cash flows on stdin: lines "rate flow flow ..."; out: worth, rate of return or
// "none", annuity of the rate over the years.
#include <stdio.h>
#include <stdlib.h>

#include "oilwright/money.h"

int main(void) {
    char line[4096];
    while (fgets(line, sizeof line, stdin) != NULL) {
        double numbers[64];
        int count = 0;
        char *at = line, *end = NULL;
        for (double x = strtod(at, &end); end != at && count < 64; x = strtod(at, &end)) {
            numbers[count++] = x;
            at = end;
        }
        if (count < 2) {
            continue;
        }
        double rate = 0.0;
        const bool has = ow_money_irr(numbers + 1, count - 1, &rate, NULL);
        printf("%.17g ", ow_money_npv(numbers[0], numbers + 1, count - 1));
        if (has) {
            printf("%.17g ", rate);
        } else {
            printf("none ");
        }
        printf("%.17g\n", ow_money_annuity(numbers[0], 0.0, count - 2));
    }
    return 0;
}
