// SPDX-License-Identifier: GPL-3.0-or-later
// Writing values as YAML so that they read back as the same text.
#include "rig/edit_impl.h"

#include <string.h>

/// Next character of UTF-8; 0xFFFD on anything malformed. Moves on by at least one byte.
static unsigned take_character(const char **text) {
    const unsigned char *p = (const unsigned char *)*text;
    unsigned value = *p;
    int more = 0;
    if (value >= 0xF0u && value < 0xF8u) {
        value &= 0x07u;
        more = 3;
    } else if (value >= 0xE0u && value < 0xF0u) {
        value &= 0x0Fu;
        more = 2;
    } else if (value >= 0xC2u && value < 0xE0u) {
        value &= 0x1Fu;
        more = 1;
    } else if (value >= 0x80u) {
        *text += 1;
        return 0xFFFDu;
    }
    for (int i = 1; i <= more; i++) {
        if ((p[i] & 0xC0u) != 0x80u) {
            *text += i;
            return 0xFFFDu;
        }
        value = value << 6 | (p[i] & 0x3Fu);
    }
    *text += more + 1;
    const bool is_long = (more == 2 && value < 0x800u) || (more == 3 && value < 0x10000u);
    const bool is_surrogate = value >= 0xD800u && value < 0xE000u;
    return is_long || is_surrogate || value > 0x10FFFFu ? 0xFFFDu : value;
}

/// Characters that must be escaped: control characters, line breaks of YAML 1.1, what no YAML text may hold.
static bool is_odd(unsigned c) {
    return c < 0x20u || (c >= 0x7Fu && c < 0xA0u) || c == 0x2028u || c == 0x2029u || c == 0xFEFFu ||
           c == 0xFFFEu || c == 0xFFFFu;
}

static bool needs_quotes(const char *text, bool is_flow) {
    const size_t size = strlen(text);
    if (size == 0 || text[0] == ' ' || text[size - 1] == ' ' || text[size - 1] == ':' ||
        strcmp(text, "~") == 0 || strcmp(text, "null") == 0 || strncmp(text, "...", 3) == 0) {
        return true;
    }
    if (strchr(",[]{}#&*!|>'\"%@`", text[0]) != NULL) {
        return true;
    }
    if (strchr("-?:", text[0]) != NULL &&
        !(text[0] == '-' && strchr(".0123456789", text[1]) != NULL && text[1] != '\0')) {
        return true;
    }
    if (strstr(text, ": ") != NULL || strstr(text, " #") != NULL) {
        return true;
    }
    if (is_flow && strpbrk(text, ",[]{}:?") != NULL) {
        return true;
    }
    for (const char *p = text; *p != '\0';) {
        const unsigned c = take_character(&p);
        if (is_odd(c) || c == 0xFFFDu) {
            return true;
        }
    }
    return false;
}

bool ow_edit_is_text(const char *text) {
    for (const char *p = text; *p != '\0';) {
        const char *before = p;
        const unsigned c = take_character(&p);
        const bool is_replacement = p - before == 3 && memcmp(before, "\xEF\xBF\xBD", 3) == 0;
        if ((c == 0xFFFDu && !is_replacement) || c == 0xFFFEu || c == 0xFFFFu) {
            return false;
        }
    }
    return true;
}

void ow_edit_write_scalar(OwBuffer *out, const char *text, bool is_flow, bool is_json) {
    if (!is_json && !needs_quotes(text, is_flow)) {
        ow_buffer_text(out, text);
        return;
    }
    ow_buffer_text(out, "\"");
    for (const char *p = text; *p != '\0';) {
        const char *before = p;
        const unsigned c = take_character(&p);
        if (c == '"' || c == '\\') {
            ow_buffer_text(out, "\\");
            ow_buffer_add(out, before, 1);
        } else if (c == '\n') {
            ow_buffer_text(out, "\\n");
        } else if (c == '\t') {
            ow_buffer_text(out, "\\t");
        } else if (is_odd(c) || c == 0xFFFDu) {
            ow_buffer_format(out, "\\u%04X", c);
        } else {
            ow_buffer_add(out, before, (size_t)(p - before));
        }
    }
    ow_buffer_text(out, "\"");
}

void ow_edit_write_key(OwBuffer *out, const char *key, bool is_flow, bool is_json) {
    // A colon inside a plain key, or a key as long as YAML's limit of 1024, would not read back.
    ow_edit_write_scalar(out, key, is_flow, is_json || strchr(key, ':') != NULL);
    ow_buffer_text(out, ":");
}

void ow_edit_write_flow(OwBuffer *out, const OwEditValue *value, bool is_json, int depth) {
    if (value->type == OW_EDIT_TEXT) {
        ow_edit_write_scalar(out, value->text, true, is_json);
        return;
    }
    const bool is_map = value->type == OW_EDIT_MAP;
    ow_buffer_text(out, is_map ? "{" : "[");
    for (const OwEditValue *v = value->first; v != NULL && depth < OW_EDIT_MAX_DEPTH; v = v->next) {
        if (is_map) {
            ow_edit_write_key(out, v->key, true, is_json);
            ow_buffer_text(out, " ");
        }
        ow_edit_write_flow(out, v, is_json, depth + 1);
        ow_buffer_text(out, v->next != NULL ? ", " : "");
    }
    ow_buffer_text(out, is_map ? "}" : "]");
}

/// A text of several lines as a literal block. False when a block cannot hold it.
static bool write_lines(OwBuffer *out, const char *text, size_t indent, const char *eol) {
    const char *end = strchr(text, '\n');
    const size_t size = strlen(text);
    if (end == NULL || text[0] == ' ' || text[0] == '\n' || text[size - 1] == ' ' ||
        (size > 1 && strcmp(text + size - 2, "\n\n") == 0) || strstr(text, " \n") != NULL) {
        return false;
    }
    for (const char *p = text; *p != '\0';) {
        const unsigned c = take_character(&p);
        if (c != '\n' && (is_odd(c) || c == 0xFFFDu)) {
            return false;
        }
    }
    const bool is_ended = text[size - 1] == '\n';
    ow_buffer_text(out, is_ended ? " |" : " |-");
    for (const char *line = text; *line != '\0';) {
        const size_t length = strcspn(line, "\n");
        ow_buffer_text(out, eol);
        if (length > 0) {
            ow_buffer_fill(out, ' ', indent + 2);
            ow_buffer_add(out, line, length);
        }
        line += length + (line[length] == '\n' ? 1 : 0);
    }
    return true;
}

void ow_edit_write_value(OwBuffer *out, const OwEditor *editor, const OwEditValue *value, bool is_flow,
                         size_t indent) {
    const bool is_json = editor->is_json;
    bool has_inner = false;
    for (const OwEditValue *v = value->first; v != NULL; v = v->next) {
        has_inner = has_inner || v->type != OW_EDIT_TEXT;
    }
    if (!is_flow && !is_json && value->type == OW_EDIT_TEXT &&
        write_lines(out, value->text, indent, editor->eol)) {
        return;
    }
    if (!is_flow && value->type == OW_EDIT_LIST && has_inner) {
        for (const OwEditValue *v = value->first; v != NULL; v = v->next) {
            ow_buffer_text(out, editor->eol);
            ow_buffer_fill(out, ' ', indent + 2);
            ow_buffer_text(out, "- ");
            ow_edit_write_flow(out, v, is_json, 1);
        }
        return;
    }
    ow_buffer_text(out, " ");
    if (value->type == OW_EDIT_TEXT) {
        ow_edit_write_scalar(out, value->text, is_flow, is_json);
    } else {
        ow_edit_write_flow(out, value, is_json, 0);
    }
}
