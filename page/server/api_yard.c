// SPDX-License-Identifier: GPL-3.0-or-later
// GET and PUT /api/sheet: the yard file and the cost file that this page works with; until there is one, the
// demo's.
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "page_impl.h"

static const struct {
    const char *word, *asset, *name; ///< in a request; built in; as it is saved first
} sheets[OW_PAGE_SHEETS] = {
    [OW_SHEET_YARD] = {"yard", "templates/yard.yaml", "yard.yaml"},
    [OW_SHEET_COSTS] = {"costs", "templates/costs.yaml", "costs.yaml"},
};

bool ow_page_open_sheets(OwPage *page) {
    const char *const paths[OW_PAGE_SHEETS] = {page->settings.yard, page->settings.costs};
    for (int i = 0; i < OW_PAGE_SHEETS; i++) {
        const char *path = paths[i] != NULL ? paths[i] : sheets[i].name, *slash = strrchr(path, '/');
        char folder[1024] = ".";
        page->sheet_name[i] = slash != NULL ? slash + 1 : path;
        if (paths[i] == NULL) { // beside the rig files
            page->sheet_folder[i] = dup(page->folder);
        } else {
            if (slash != NULL) {
                (void)snprintf(folder, sizeof folder, "%.*s", slash == path ? 1 : (int)(slash - path), path);
            }
            page->sheet_folder[i] = open(folder, O_RDONLY | O_DIRECTORY | O_CLOEXEC);
        }
        if (page->sheet_folder[i] < 0) {
            return false;
        }
    }
    return true;
}

void ow_page_close_sheets(OwPage *page) {
    for (int i = 0; i < OW_PAGE_SHEETS; i++) {
        if (page->sheet_folder[i] >= 0) {
            (void)close(page->sheet_folder[i]);
        }
    }
}

/// Which sheet a word means; refuses with not_found and gives OW_PAGE_SHEETS.
static OwSheet which_sheet(OwCall *call, const char *word) {
    int i = 0;
    while (i < OW_PAGE_SHEETS && (word == NULL || strcmp(sheets[i].word, word) != 0)) {
        i++;
    }
    if (i == OW_PAGE_SHEETS) {
        ow_call_refuse(call, 404, "not_found", "yard or costs", "there is no such sheet");
    }
    return (OwSheet)i;
}

void ow_api_sheet_get(OwCall *call) {
    const OwSheet which = which_sheet(call, ow_http_query(call->request, "which"));
    size_t size = 0;
    mode_t mode = 0;
    char stamp[40];
    if (which == OW_PAGE_SHEETS) {
        return;
    }
    char *text =
        ow_page_read_file(call->page->sheet_folder[which], call->page->sheet_name[which], &size, &mode);
    json_t *its_text = NULL, *its_stamp = NULL;
    if (text != NULL) {
        ow_page_write_stamp(text, size, stamp);
        its_text = json_stringn(text, size);
        its_stamp = json_string(stamp);
        free(text);
        if (its_text == NULL) {
            json_decref(its_stamp);
            ow_call_refuse(call, 404, "not_found", "save the file as UTF-8", "the file is not UTF-8 text");
            return;
        }
    } else if (faccessat(call->page->sheet_folder[which], call->page->sheet_name[which], F_OK,
                         AT_SYMLINK_NOFOLLOW) == 0) {
        ow_call_refuse(call, 404, "not_found", "check that it is a plain file which may be read",
                       "the file %.100s cannot be read", call->page->sheet_name[which]);
        return;
    } else {
        for (int i = 0; i < ow_page_asset_count && its_text == NULL; i++) {
            if (strcmp(ow_page_assets[i].path, sheets[which].asset) == 0) {
                its_text = json_stringn((const char *)ow_page_assets[i].data, ow_page_assets[i].size);
            }
        }
        its_stamp = json_null();
    }
    if (its_text == NULL) {
        json_decref(its_stamp);
        ow_call_refuse(call, 404, "not_found", "", "there is no such file");
        return;
    }
    ow_call_answer(call, 200,
                   json_pack("{s:s, s:s, s:o, s:b, s:o}", "which", sheets[which].word, "name",
                             call->page->sheet_name[which], "text", its_text, "demo",
                             (int)json_is_null(its_stamp), "stamp", its_stamp));
}

void ow_api_sheet_put(OwCall *call) {
    const char *word = ow_page_may_save(call) ? ow_call_text(call, "which") : NULL;
    if (word == NULL) {
        return;
    }
    const OwSheet which = which_sheet(call, word);
    if (which != OW_PAGE_SHEETS) {
        ow_page_put_text(call, call->page->sheet_folder[which], call->page->sheet_name[which]);
    }
}
