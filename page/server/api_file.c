// SPDX-License-Identifier: GPL-3.0-or-later
// Rig files in the one folder that was named: listed, read, replaced as a whole.
#include <dirent.h>
#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "base/text.h"
#include "page_impl.h"

#define MAX_FILES 300
#define MAX_NAME 120

/// A plain name of a rig file: no folder, nothing hidden, nothing unprintable.
static bool is_file_name(const char *name) {
    static const char *const tails[] = {".yaml", ".yml", ".json"};
    const size_t size = strlen(name);
    if (size == 0 || size > MAX_NAME || name[0] == '.' || strpbrk(name, "/\\") != NULL) {
        return false;
    }
    for (const char *p = name; *p != '\0'; p++) {
        if ((unsigned char)*p < 0x20 || *p == 0x7F) {
            return false;
        }
    }
    for (size_t i = 0; i < sizeof tails / sizeof tails[0]; i++) {
        const size_t tail = strlen(tails[i]);
        if (size > tail && strcmp(name + size - tail, tails[i]) == 0) {
            return true;
        }
    }
    return false;
}

char *ow_page_read_file(int folder, const char *name, size_t *size, mode_t *mode) {
    struct stat info;
    const int file = openat(folder, name, O_RDONLY | O_CLOEXEC | O_NOFOLLOW | O_NONBLOCK);
    if (file < 0) {
        return NULL;
    }
    char *text = NULL;
    *size = 0;
    if (fstat(file, &info) == 0 && S_ISREG(info.st_mode) && (size_t)info.st_size <= OW_PAGE_BODY_LIMIT) {
        text = malloc((size_t)info.st_size + 1);
        *mode = info.st_mode & 0777;
        while (text != NULL && *size < (size_t)info.st_size) {
            const ssize_t more = read(file, text + *size, (size_t)info.st_size - *size);
            if (more <= 0) {
                break;
            }
            *size += (size_t)more;
        }
    }
    (void)close(file);
    if (text != NULL) {
        text[*size] = '\0';
    }
    return text;
}

void ow_page_write_stamp(const char *text, size_t size, char stamp[40]) {
    uint64_t hash = 14695981039346656037u;
    for (size_t i = 0; i < size; i++) {
        hash = (hash ^ (unsigned char)text[i]) * 1099511628211u;
    }
    (void)snprintf(stamp, 40, "%zu-%016llx", size, (unsigned long long)hash);
}

/// The value of a line "name: ..." as far as it is plain.
static void find_title(const char *text, char title[80]) {
    title[0] = '\0';
    for (const char *line = text; line != NULL; line = strchr(line, '\n')) {
        line += *line == '\n' ? 1 : 0;
        if (strncmp(line, "name:", 5) == 0) {
            line += 5 + strspn(line + 5, " \"'");
            char whole[80];
            (void)snprintf(whole, sizeof whole, "%.*s", (int)strcspn(line, "\r\n\"#"), line);
            (void)ow_text_copy(title, 80, whole);
            for (size_t n = strlen(title); n > 0 && (title[n - 1] == ' ' || title[n - 1] == '\''); n--) {
                title[n - 1] = '\0';
            }
            return;
        }
    }
}

/// Whether a line begins with a key of the outermost level.
static bool has_key(const char *text, const char *key) {
    const size_t size = strlen(key);
    for (const char *line = text; line != NULL; line = strchr(line, '\n')) {
        line += *line == '\n' ? 1 : 0;
        if (strncmp(line, key, size) == 0 && line[size] == ':') {
            return true;
        }
    }
    return false;
}

/// What a file is for, by its sections; a rig when in doubt.
static const char *find_kind(const char *text) {
    return has_key(text, "parts")                                 ? "rig"
           : has_key(text, "vessels") || has_key(text, "steps")   ? "yard"
           : has_key(text, "fuel") || has_key(text, "collection") ? "costs"
                                                                  : "rig";
}

static int by_name(const void *a, const void *b) {
    return strcmp(*(char *const *)a, *(char *const *)b);
}

static json_t *describe(const OwPage *page, const char *name) {
    size_t size = 0;
    mode_t mode = 0;
    char stamp[40], title[80];
    char *text = ow_page_read_file(page->folder, name, &size, &mode);
    if (text == NULL) {
        return NULL;
    }
    ow_page_write_stamp(text, size, stamp);
    find_title(text, title);
    const char *kind = find_kind(text);
    free(text);
    json_t *its_title = json_string(title);
    return json_pack("{s:s, s:o, s:I, s:s, s:s}", "name", name, "title",
                     its_title != NULL ? its_title : json_string(""), "size", (json_int_t)size, "stamp",
                     stamp, "kind", kind);
}

json_t *ow_page_list_files(const OwPage *page) {
    json_t *list = json_array();
    char *names[MAX_FILES];
    int count = 0;
    const int again = openat(page->folder, ".", O_RDONLY | O_DIRECTORY | O_CLOEXEC);
    DIR *folder = again >= 0 ? fdopendir(again) : NULL;
    if (folder == NULL) {
        if (again >= 0) {
            (void)close(again);
        }
        return list;
    }
    for (const struct dirent *entry = readdir(folder); entry != NULL && count < MAX_FILES;
         entry = readdir(folder)) {
        if (is_file_name(entry->d_name)) {
            names[count] = strdup(entry->d_name);
            count += names[count] != NULL ? 1 : 0;
        }
    }
    (void)closedir(folder);
    qsort(names, (size_t)count, sizeof names[0], by_name);
    for (int i = 0; i < count; i++) {
        json_t *one = describe(page, names[i]);
        if (one != NULL) {
            (void)json_array_append_new(list, one);
        }
        free(names[i]);
    }
    return list;
}

void ow_api_file_get(OwCall *call) {
    const char *name = ow_http_query(call->request, "name");
    size_t size = 0;
    mode_t mode = 0;
    char stamp[40];
    char *text =
        name != NULL && is_file_name(name) ? ow_page_read_file(call->page->folder, name, &size, &mode) : NULL;
    if (text == NULL) {
        ow_call_refuse(call, 404, "not_found", "rig files end in .yaml, .yml or .json",
                       "there is no such rig file");
        return;
    }
    ow_page_write_stamp(text, size, stamp);
    json_t *its_text = json_stringn(text, size);
    free(text);
    if (its_text == NULL) {
        ow_call_refuse(call, 404, "not_found", "save the file as UTF-8", "the file is not UTF-8 text");
        return;
    }
    ow_call_answer(call, 200, json_pack("{s:s, s:o, s:s}", "name", name, "text", its_text, "stamp", stamp));
}

/// Writes beside and renames. 0 or an errno.
static int replace_file(int folder, const char *name, const char *text, size_t size, mode_t mode) {
    char beside[64];
    (void)snprintf(beside, sizeof beside, ".oilwright-%ld.tmp", (long)getpid());
    (void)unlinkat(folder, beside, 0);
    const int file = openat(folder, beside, O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC | O_NOFOLLOW, mode);
    if (file < 0) {
        return errno;
    }
    int trouble = 0;
    for (size_t done = 0; done < size && trouble == 0;) {
        const ssize_t more = write(file, text + done, size - done);
        if (more < 0 && errno != EINTR) {
            trouble = errno;
        }
        done += more > 0 ? (size_t)more : 0;
    }
    if (trouble == 0 && fsync(file) != 0) {
        trouble = errno;
    }
    if (close(file) != 0 && trouble == 0) {
        trouble = errno;
    }
    if (trouble == 0 && renameat(folder, beside, folder, name) != 0) {
        trouble = errno;
    }
    if (trouble != 0) {
        (void)unlinkat(folder, beside, 0);
    }
    return trouble;
}

/// With the lock held: nobody else writes between the look and the write.
static void put_file(OwCall *call, int folder, const char *name, const char *text, size_t text_size,
                     const char *stamp, bool is_forced) {
    size_t size = 0;
    mode_t mode = 0644;
    char now[40], made[40];
    struct stat info;
    char *old = ow_page_read_file(folder, name, &size, &mode);
    const bool is_there = old != NULL || fstatat(folder, name, &info, AT_SYMLINK_NOFOLLOW) == 0;
    if (is_there && old == NULL) {
        ow_call_refuse(call, 409, "exists", "choose another name", "something else has this name");
        return;
    }
    if (old != NULL) {
        ow_page_write_stamp(old, size, now);
        free(old);
        if (!is_forced && stamp == NULL) {
            ow_call_refuse(call, 409, "exists", "choose another name, or write over it",
                           "there is already a file of this name");
            return;
        }
        if (!is_forced && strcmp(stamp, now) != 0) {
            ow_call_refuse(call, 409, "changed", "load it again, or write over it",
                           "the file was changed by something else since it was loaded");
            return;
        }
    } else if (stamp != NULL && !is_forced) {
        ow_call_refuse(call, 409, "changed", "write it anew, or under another name",
                       "the file is gone since it was loaded");
        return;
    }
    const int trouble = replace_file(folder, name, text, text_size, mode);
    if (trouble != 0) {
        ow_call_refuse(call, 500, "write", "check the folder's rights and room",
                       "the file cannot be written: %s", strerror(trouble));
        return;
    }
    ow_page_write_stamp(text, text_size, made);
    ow_call_answer(call, 200, json_pack("{s:s, s:s}", "name", name, "stamp", made));
}

bool ow_page_may_save(OwCall *call) {
    if (!call->page->settings.can_write) {
        ow_call_refuse(call, 403, "read_only", "start it with --share --may-save",
                       "this page does not save files");
        return false;
    }
    return ow_call_read_body(call);
}

void ow_page_put_text(OwCall *call, int folder, const char *name) {
    bool is_wrong = false;
    const char *text = ow_call_text(call, "text");
    if (text == NULL) {
        return;
    }
    const char *stamp = ow_ask_text(call->body, "stamp", &is_wrong);
    const json_t *force = json_object_get(call->body, "force");
    if (is_wrong || (force != NULL && !json_is_boolean(force) && !json_is_null(force))) {
        ow_call_wrong_key(call, is_wrong ? "stamp" : "force");
        return;
    }
    pthread_mutex_lock(&call->page->writing);
    put_file(call, folder, name, text, json_string_length(json_object_get(call->body, "text")), stamp,
             json_is_true(force));
    pthread_mutex_unlock(&call->page->writing);
}

void ow_api_file_put(OwCall *call) {
    const char *name = ow_page_may_save(call) ? ow_call_text(call, "name") : NULL;
    if (name == NULL) {
        return;
    }
    if (!is_file_name(name)) {
        ow_call_refuse(call, 404, "not_found", "a plain name that ends in .yaml, .yml or .json",
                       "a rig file cannot have this name");
        return;
    }
    ow_page_put_text(call, call->page->folder, name);
}
