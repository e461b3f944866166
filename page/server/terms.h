// SPDX-License-Identifier: GPL-3.0-or-later
// Words of the trade with a short explanation each, for the page.
#ifndef OW_PAGE_TERMS_H
#define OW_PAGE_TERMS_H

typedef struct OwTerm {
    const char *word, *about;
} OwTerm;
extern const OwTerm ow_page_terms[];
extern const int ow_page_term_count;

#endif
