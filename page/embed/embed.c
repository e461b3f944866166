// SPDX-License-Identifier: GPL-3.0-or-later
// Build tool: writes the files of a folder as C arrays. embed FOLDER FALLBACK.html OUT.c [NAME=FILE ...];
// when the folder holds no index.html the fallback stands for it. OUT is left untouched when nothing has
// changed.
#define _XOPEN_SOURCE 700
#include <dirent.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

#define MAX_FILES 200
#define MAX_PATH 200

static char names[MAX_FILES][MAX_PATH];
static const char *sources[MAX_FILES]; ///< where a file is, when not in the folder
static int count;

static int by_name(const void *a, const void *b) {
    return strcmp(a, b);
}

/// Plain files below `folder`, depth first; hidden ones are passed over.
static void list(const char *root, const char *below, int depth) {
    char path[1024];
    (void)snprintf(path, sizeof path, "%s%s%s", root, below[0] != '\0' ? "/" : "", below);
    DIR *folder = depth < 6 ? opendir(path) : NULL;
    if (folder == NULL) {
        return;
    }
    for (const struct dirent *entry = readdir(folder); entry != NULL; entry = readdir(folder)) {
        char name[MAX_PATH], whole[2048];
        struct stat info;
        if (entry->d_name[0] == '.' ||
            (size_t)snprintf(name, sizeof name, "%s%s%s", below, below[0] != '\0' ? "/" : "",
                             entry->d_name) >= sizeof name) {
            continue;
        }
        (void)snprintf(whole, sizeof whole, "%s/%s", root, name);
        if (stat(whole, &info) != 0) {
            continue;
        }
        if (S_ISDIR(info.st_mode)) {
            list(root, name, depth + 1);
        } else if (S_ISREG(info.st_mode) && count < MAX_FILES && strstr(name, ".map") == NULL) {
            (void)snprintf(names[count++], MAX_PATH, "%s", name);
        }
    }
    (void)closedir(folder);
}

static unsigned char *read_file(const char *path, size_t *size) {
    FILE *file = fopen(path, "rb");
    unsigned char *data = NULL;
    size_t room = 0;
    *size = 0;
    if (file == NULL) {
        return NULL;
    }
    for (;;) {
        if (*size == room) {
            room = room > 0 ? 2 * room : 65536;
            unsigned char *more = realloc(data, room);
            if (more == NULL) {
                free(data);
                (void)fclose(file);
                return NULL;
            }
            data = more;
        }
        const size_t got = fread(data + *size, 1, room - *size, file);
        if (got == 0) {
            break;
        }
        *size += got;
    }
    (void)fclose(file);
    return data;
}

/// FNV-1a, 64 bits: tells files apart for caches, nothing more.
static uint64_t hash(const unsigned char *data, size_t size) {
    uint64_t h = 14695981039346656037u;
    for (size_t i = 0; i < size; i++) {
        h = (h ^ data[i]) * 1099511628211u;
    }
    return h;
}

/// Text of the array; false when the file cannot be read.
static int write_array(FILE *out, const char *path, int number, size_t *size, uint64_t *mark) {
    unsigned char *data = read_file(path, size);
    if (data == NULL) {
        fprintf(stderr, "embed: %s cannot be read\n", path);
        return 0;
    }
    *mark = hash(data, *size);
    fprintf(out, "static const unsigned char file_%d[] = {", number);
    for (size_t i = 0; i < *size; i++) {
        fprintf(out, "%s%u,", i % 32 == 0 ? "\n" : "", data[i]);
    }
    fprintf(out, "0};\n");
    free(data);
    return 1;
}

static int write_all(FILE *out, const char *folder) {
    size_t sizes[MAX_FILES] = {0};
    uint64_t marks[MAX_FILES] = {0};
    fprintf(out, "// Written by page/embed; not to be edited.\n#include \"page_impl.h\"\n");
    for (int i = 0; i < count; i++) {
        char path[2048];
        (void)snprintf(path, sizeof path, "%s/%.199s", folder, names[i]);
        if (!write_array(out, sources[i] != NULL ? sources[i] : path, i, &sizes[i], &marks[i])) {
            return 0;
        }
    }
    fprintf(out, "const OwAsset ow_page_assets[] = {\n");
    for (int i = 0; i < count; i++) {
        fprintf(out, "    {\"%s\", file_%d, %zu, \"\\\"%016llx\\\"\"},\n", names[i], i, sizes[i],
                (unsigned long long)marks[i]);
    }
    fprintf(out, "};\nconst int ow_page_asset_count = %d;\n", count);
    return 1;
}

static int is_same(const char *path, const char *text, size_t size) {
    size_t old_size = 0;
    unsigned char *old = read_file(path, &old_size);
    const int same = old != NULL && old_size == size && memcmp(old, text, size) == 0;
    free(old);
    return same;
}

int main(int argc, char **argv) {
    if (argc < 4) {
        fprintf(stderr, "embed FOLDER FALLBACK.html OUT.c [NAME=FILE ...]\n");
        return 2;
    }
    int has_index = 0;
    list(argv[1], "", 0);
    qsort(names, (size_t)count, sizeof names[0], by_name);
    for (int i = 0; i < count; i++) {
        has_index = has_index || strcmp(names[i], "index.html") == 0;
    }
    if (!has_index) {
        count = 1;
        (void)snprintf(names[0], MAX_PATH, "index.html");
        sources[0] = argv[2];
    }
    for (int i = 4; i < argc && count < MAX_FILES; i++) {
        const char *equals = strchr(argv[i], '=');
        if (equals == NULL) {
            fprintf(stderr, "embed: %s is not NAME=FILE\n", argv[i]);
            return 2;
        }
        (void)snprintf(names[count], MAX_PATH, "%.*s", (int)(equals - argv[i]), argv[i]);
        sources[count++] = equals + 1;
    }
    char *text = NULL;
    size_t size = 0;
    FILE *memory = open_memstream(&text, &size);
    if (memory == NULL || !write_all(memory, argv[1]) || fclose(memory) != 0) {
        return 1;
    }
    if (!is_same(argv[3], text, size)) {
        FILE *out = fopen(argv[3], "wb");
        if (out == NULL || fwrite(text, 1, size, out) != size || fclose(out) != 0) {
            fprintf(stderr, "embed: %s cannot be written\n", argv[3]);
            return 1;
        }
    }
    free(text);
    return 0;
}
