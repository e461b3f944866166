// SPDX-License-Identifier: GPL-3.0-or-later
// A rig file's text as a small tree with places; bounded in size and depth.
#ifndef OW_RIG_TREE_H
#define OW_RIG_TREE_H

#include "oilwright/base.h"

#define OW_TREE_MAX_BYTES (1024u * 1024u)
#define OW_TREE_MAX_NODES 20000
#define OW_TREE_MAX_DEPTH 12
#define OW_TREE_MAX_KEYS 500

typedef enum OwNodeType { OW_NODE_SCALAR, OW_NODE_MAP, OW_NODE_LIST } OwNodeType;

typedef struct OwTextNode {
    OwNodeType type;
    int line, column;   ///< 1-based
    size_t start, end;  ///< characters from the start of the text (after a byte order mark); end is one past
    bool is_flow;       ///< written as {..}, [..] or inside such
    bool is_quoted;     ///< scalars in single or double quotes
    bool is_block_text; ///< scalars after | or >
    const char *text;   ///< scalars: never NULL, no NUL inside
    struct OwTextNode *key; ///< the key of a map's entry
    struct OwTextNode *first, *last, *next;
    int count; ///< children
} OwTextNode;

/// Reads YAML (and so JSON). The tree lives in `arena`. On failure the fault is added and *root is NULL.
/// Anchors, aliases, tags and more than one document are refused, as are NUL bytes and texts beyond the
/// bounds above.
OwStatus ow_tree_read(const char *text, size_t size, const char *name, OwArena *arena, OwTextNode **root,
                      OwFaults *faults);

#endif
