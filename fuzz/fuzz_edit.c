// SPDX-License-Identifier: GPL-3.0-or-later
// Fuzz target: a text edit of any text. The first line says which ("op|part or
// section|path|value|after|before"), the rest is the text. What comes out is well formed, a refused edit
// changes nothing, setting a value twice is setting it once.
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include "rig/edit.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

/// A field of the first line, NULL when empty.
static char *take(char **line) {
    char *field = *line;
    char *end = strchr(field, '|');
    *line = end != NULL ? end + 1 : field + strlen(field);
    if (end != NULL) {
        *end = '\0';
    }
    return *field != '\0' ? field : NULL;
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size) {
    char line[300];
    size_t n = 0;
    while (n < size && n + 1 < sizeof line && data[n] != '\n' && data[n] != '\0') {
        line[n] = (char)data[n];
        n++;
    }
    line[n] = '\0';
    n += n < size && data[n] == '\n' ? 1 : 0;
    const char *text = (const char *)data + n;
    const size_t text_size = size - n;
    char *rest = line;
    const char *op = take(&rest), *owner = take(&rest), *path = take(&rest), *value = take(&rest),
               *after = take(&rest), *before = take(&rest);
    const OwEditValue bore = {.type = OW_EDIT_TEXT, .key = "bore", .text = value != NULL ? value : ""};
    const OwEditValue map = {.type = OW_EDIT_MAP, .first = &bore};
    const OwEditValue plain = {.type = OW_EDIT_TEXT, .text = value != NULL ? value : ""};
    const char letter = op != NULL ? op[0] : 's';
    const bool is_part = op != NULL && op[1] == 'p';
    OwEdit edit = {.op = letter == 'a'   ? OW_EDIT_ADD
                         : letter == 'r' ? OW_EDIT_REMOVE
                         : letter == 'm' ? OW_EDIT_MOVE
                         : letter == 'n' ? OW_EDIT_RENAME
                         : letter == 'p' ? OW_EDIT_APPEND
                         : letter == 'd' ? OW_EDIT_DROP
                                         : OW_EDIT_SET,
                   .path = path,
                   .kind = path,
                   .name = value,
                   .after = after,
                   .before = before};
    const bool on_part =
        is_part || edit.op == OW_EDIT_REMOVE || edit.op == OW_EDIT_MOVE || edit.op == OW_EDIT_RENAME;
    edit.part = on_part ? owner : NULL;
    edit.section = on_part ? NULL : owner;
    edit.value = edit.op == OW_EDIT_ADD || edit.op == OW_EDIT_APPEND ? &map : value != NULL ? &plain : NULL;
    OwEdited once, twice;
    const OwStatus status = ow_rig_edit(text, text_size, &edit, 1, &once);
    if (status != OW_OK) {
        if (once.text == NULL || once.size != text_size || memcmp(once.text, text, text_size) != 0 ||
            once.has_changed) {
            abort();
        }
        ow_edited_clear(&once);
        return 0;
    }
    if (ow_rig_edit(once.text, once.size, NULL, 0, &twice) != OW_OK || twice.has_changed) {
        abort();
    }
    ow_edited_clear(&twice);
    if (edit.op == OW_EDIT_SET && edit.value != NULL &&
        ow_rig_edit(once.text, once.size, &edit, 1, &twice) == OW_OK) {
        if (twice.has_changed) {
            abort();
        }
        ow_edited_clear(&twice);
    } else if (edit.op == OW_EDIT_SET && edit.value != NULL) {
        abort();
    }
    ow_edited_clear(&once);
    return 0;
}
