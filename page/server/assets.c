// SPDX-License-Identifier: GPL-3.0-or-later
// The page's own files: built in, or from a folder while the page is being developed.
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "page_impl.h"

#define MAX_ASSET ((size_t)8 * 1024 * 1024)

static const char *type_of(const char *path) {
    static const char *const types[][2] = {
        {".html", "text/html; charset=utf-8"},
        {".js", "text/javascript; charset=utf-8"},
        {".css", "text/css; charset=utf-8"},
        {".svg", "image/svg+xml"},
        {".json", "application/json"},
        {".webmanifest", "application/manifest+json"},
        {".png", "image/png"},
        {".ico", "image/x-icon"},
        {".woff2", "font/woff2"},
        {".txt", "text/plain; charset=utf-8"},
        {".map", "application/json"},
    };
    const char *point = strrchr(path, '.');
    for (size_t i = 0; point != NULL && i < sizeof types / sizeof types[0]; i++) {
        if (strcmp(point, types[i][0]) == 0) {
            return types[i][1];
        }
    }
    return "application/octet-stream";
}

static const OwAsset *find(const char *path, const char *tail) {
    char whole[200];
    if ((size_t)snprintf(whole, sizeof whole, "%s%s", path, tail) >= sizeof whole) {
        return NULL;
    }
    for (int i = 0; i < ow_page_asset_count; i++) {
        if (strcmp(ow_page_assets[i].path, whole) == 0) {
            return &ow_page_assets[i];
        }
    }
    return NULL;
}

/// Only plain names below each other: letters, digits, "-", "_", "." inside.
static bool is_plain_path(const char *path) {
    static const char allowed[] = "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789-_.";
    while (*path != '\0') {
        const size_t size = strcspn(path, "/");
        if (size == 0 || path[0] == '.' || strspn(path, allowed) < size) {
            return false;
        }
        path += size + (path[size] == '/' ? 1 : 0);
    }
    return true;
}

static void send_from_disk(OwCall *call, const char *path) {
    struct stat info;
    const int file = openat(call->page->assets, path, O_RDONLY | O_CLOEXEC | O_NOFOLLOW);
    if (file < 0 || fstat(file, &info) != 0 || !S_ISREG(info.st_mode) || (size_t)info.st_size > MAX_ASSET) {
        if (file >= 0) {
            (void)close(file);
        }
        ow_call_refuse(call, 404, "not_found", "", "there is no such file");
        return;
    }
    const size_t size = (size_t)info.st_size;
    size_t done = 0;
    char *body = malloc(size + 1);
    while (body != NULL && done < size) {
        const ssize_t more = read(file, body + done, size - done);
        if (more <= 0) {
            break;
        }
        done += (size_t)more;
    }
    (void)close(file);
    if (body == NULL) {
        ow_call_out_of_memory(call);
        return;
    }
    call->answer->status = 200;
    call->answer->body = body;
    call->answer->size = done;
    ow_http_answer_header(call->answer, "Content-Type", type_of(path));
    ow_http_answer_header(call->answer, "Cache-Control", "no-store");
}

static bool accepts_gzip(const OwCall *call) {
    const char *accepts = ow_http_header(call->request, "Accept-Encoding");
    const char *gzip = accepts != NULL ? strstr(accepts, "gzip") : NULL;
    return gzip != NULL && strncmp(gzip, "gzip;q=0", 8) != 0;
}

void ow_page_asset(OwCall *call) {
    const char *path = call->request->path + 1;
    path = *path == '\0' ? "index.html" : path;
    if (!is_plain_path(path)) {
        ow_call_refuse(call, 404, "not_found", "", "there is no such file");
        return;
    }
    if (call->page->assets >= 0) {
        send_from_disk(call, path);
        return;
    }
    const OwAsset *plain = find(path, ""), *packed = find(path, ".gz");
    const OwAsset *asset = packed != NULL && accepts_gzip(call) ? packed : plain;
    if (asset == NULL) {
        ow_call_refuse(call, 404, "not_found", "", "there is no such file");
        return;
    }
    const char *known = ow_http_header(call->request, "If-None-Match");
    ow_http_answer_header(call->answer, "ETag", asset->etag);
    ow_http_answer_header(call->answer, "Cache-Control", "no-cache");
    if (packed != NULL) {
        ow_http_answer_header(call->answer, "Vary", "Accept-Encoding");
    }
    if (known != NULL && strstr(known, asset->etag) != NULL) {
        call->answer->status = 304;
        return;
    }
    call->answer->status = 200;
    call->answer->static_body = (const char *)asset->data;
    call->answer->size = asset->size;
    ow_http_answer_header(call->answer, "Content-Type", type_of(path));
    if (asset == packed) {
        ow_http_answer_header(call->answer, "Content-Encoding", "gzip");
    }
}
