// SPDX-License-Identifier: GPL-3.0-or-later
// Runs a fuzz target on files, where libFuzzer is not there: fuzz_x FILE...
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

int main(int argc, char **argv) {
    enum { LIMIT = 4 * 1024 * 1024 };
    uint8_t *data = malloc(LIMIT);
    if (data == NULL) {
        return 1;
    }
    for (int i = 1; i < argc; i++) {
        FILE *in = fopen(argv[i], "rb");
        if (in == NULL) {
            (void)fprintf(stderr, "%s: cannot be opened\n", argv[i]);
            free(data);
            return 1;
        }
        const size_t size = fread(data, 1, LIMIT, in);
        (void)fclose(in);
        (void)LLVMFuzzerTestOneInput(data, size);
        (void)printf("%s: %zu bytes, ok\n", argv[i], size);
    }
    free(data);
    return 0;
}
