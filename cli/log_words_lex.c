// SPDX-License-Identifier: GPL-3.0-or-later
// Words of a short form, and its one question.
#include "log_words.h"

#include <ctype.h>
#include <string.h>

#include "base/text.h"

bool ow_words_ask(Reader *r, const char *suggestion, const char *format, ...) {
    if (r->said->question[0] == '\0') {
        va_list arguments;
        va_start(arguments, format);
        char line[sizeof r->said->question];
        if (vsnprintf(line, sizeof line, format, arguments) < 0) {
            line[0] = '\0';
        }
        va_end(arguments);
        (void)ow_text_copy(r->said->question, sizeof r->said->question, line);
        (void)ow_text_copy(r->said->suggestion, sizeof r->said->suggestion,
                           suggestion != NULL ? suggestion : "");
    }
    return false;
}

const char *ow_words_keep(Reader *r, const char *text) {
    const size_t length = strlen(text) + 1;
    if (length > sizeof r->said->room - r->room_used) {
        return "";
    }
    char *kept = r->said->room + r->room_used;
    memcpy(kept, text, length);
    r->room_used += length;
    return kept;
}

/// Letters of Latin-1 and Latin Extended-A without their marks, by code point from U+00C0 and from U+0100;
/// '?': none, kept as it is.
static char bare_letter(unsigned code) {
    static const char latin_1[] = "aaaaaaaceeeeiiiidnooooo?ouuuuy?saaaaaaaceeeeiiiidnooooo?ouuuuy?y",
                      extended[] = "aaaaaaccccccccddddeeeeeeeeeegggggggghhhhiiiiiiiiii??jjkkklllllll"
                                   "lllnnnnnnnnnoooooooorrrrrrssssssssttttttuuuuuuuuuuuuwwyyyzzzzzzs";
    _Static_assert(sizeof latin_1 == 65 && sizeof extended == 129, "one letter a code point");
    return code >= 0xC0 && code < 0x100    ? latin_1[code - 0xC0]
           : code >= 0x100 && code < 0x180 ? extended[code - 0x100]
                                           : '?';
}

size_t ow_words_plain(char *out, size_t size, const char *text) {
    size_t used = 0;
    for (const unsigned char *c = (const unsigned char *)text; *c != '\0' && used + 1 < size; c++) {
        const bool is_pair = c[0] >= 0xC3 && c[0] <= 0xC5 && (c[1] & 0xC0) == 0x80;
        const char bare = is_pair ? bare_letter(((c[0] & 0x1Fu) << 6) | (c[1] & 0x3Fu)) : '?';
        if (bare != '?') {
            out[used++] = bare;
            c++;
        } else if (isalnum(*c) || *c >= 0x80) {
            out[used++] = (char)(*c < 0x80 ? tolower(*c) : *c);
        }
    }
    out[used] = '\0';
    return used;
}

bool ow_words_split(Reader *r, const char *text) {
    const size_t length = strlen(text);
    if (length > OW_LOG_WORDS_MAX) {
        return ow_words_ask(r, NULL, "That is too long: at most %d letters.", OW_LOG_WORDS_MAX);
    }
    memcpy(r->copy, text, length + 1);
    for (size_t i = 0; i < length; i++) {
        const unsigned char c = (unsigned char)r->copy[i];
        if (c < 0x20 || c == 0x7F) {
            r->copy[i] = ' ';
        }
    }
    char *p = r->copy;
    for (;;) {
        while (*p == ' ' || (*p == ',' && (p[1] == ' ' || p[1] == '\0')) || *p == ';') {
            p++;
        }
        if (*p == '\0') {
            return true;
        }
        if (r->word_count == WORDS_MOST) {
            return ow_words_ask(r, NULL, "That is too much for one entry: at most %d words.", WORDS_MOST);
        }
        Word *w = &r->words[r->word_count++];
        w->text = p;
        if (*p == '"') {
            w->text = ++p;
            w->is_quoted = true;
            p = strchr(p, '"');
            if (p == NULL) {
                return ow_words_ask(r, NULL, "A quotation mark is open: close it with \".");
            }
            *p++ = '\0';
            continue;
        }
        char *out = p;
        bool is_open = false;
        for (; *p != '\0' && (is_open || (*p != ' ' && *p != ';')); p++) {
            if (*p == '"') { // key="two words"
                is_open = !is_open;
            } else {
                *out++ = *p;
            }
        }
        if (is_open) {
            return ow_words_ask(r, NULL, "A quotation mark is open: close it with \".");
        }
        const bool is_end = *p == '\0';
        // A comma or colon that ends a word is a pause.
        while (out > w->text + 1 && (out[-1] == ',' || out[-1] == ':' ||
                                     (out[-1] == '.' && out[-2] != '.' && isalpha((unsigned char)out[-2])))) {
            out--;
        }
        *out = '\0';
        p += is_end ? 0 : 1;
    }
}

const char *ow_words_join(Reader *r, int at, int count) {
    char *start = r->spare + r->spare_used;
    size_t used = r->spare_used;
    for (int i = at; i < at + count; i++) {
        const size_t length = strlen(r->words[i].text);
        if (used + length + 2 > sizeof r->spare) {
            return NULL;
        }
        if (i > at) {
            r->spare[used++] = ' ';
        }
        memcpy(r->spare + used, r->words[i].text, length);
        used += length;
    }
    r->spare[used] = '\0';
    r->spare_used = used + 1;
    return start;
}
