// SPDX-License-Identifier: GPL-3.0-or-later
// From text to tree through libyaml's events.
#include "rig/tree.h"
#include "base/text.h"

#include <stdio.h>
#include <string.h>
#include <yaml.h>

typedef struct Builder {
    const char *name;
    OwArena *arena;
    OwFaults *faults;
    OwTextNode *open[OW_TREE_MAX_DEPTH];
    OwTextNode *key[OW_TREE_MAX_DEPTH]; ///< key read and waiting for its value
    int depth, nodes;
    OwTextNode *root;
} Builder;

static OwStatus fault_at(const Builder *b, OwStatus status, size_t line, size_t column, const char *message,
                         const char *remedy) {
    OwFault fault = {.status = status, .severity = OW_FAULT_ERROR, .line = (int)line, .column = (int)column};
    (void)ow_text_copy(fault.file, sizeof fault.file, b->name);
    (void)ow_text_copy(fault.message, sizeof fault.message, message);
    (void)ow_text_copy(fault.remedy, sizeof fault.remedy, remedy);
    const OwStatus added = ow_faults_add(b->faults, &fault);
    return added == OW_OK ? status : added;
}

/// Line and column (in characters) of a byte.
static void place_of(const char *text, size_t offset, size_t *line, size_t *column) {
    *line = 1;
    *column = 1;
    for (size_t i = 0; i < offset; i++) {
        if (text[i] == '\n') {
            (*line)++;
            *column = 1;
        } else if (((unsigned char)text[i] & 0xC0u) != 0x80u) {
            (*column)++;
        }
    }
}

/// libyaml's wording turned into a mechanic's.
static const struct {
    const char *problem, *message, *remedy;
} wordings[] = {
    {"mapping values are not allowed in this context", "a colon stands where none is expected",
     "put the text in quotes, or check that the line is indented like its neighbours"},
    {"did not find expected key", "a key is expected here",
     "check that the line is indented like its neighbours and that quotes and brackets are closed"},
    {"did not find expected '-' indicator", "a list entry is expected here",
     "begin the line with \"- \", indented like the entries above"},
    {"block sequence entries are not allowed in this context", "a list entry stands where none is expected",
     "begin the list on a line of its own below its key"},
    {"could not find expected ':'", "a colon is missing after the key", "write key: value"},
    {"did not find expected ',' or ']'", "a comma or a closing ] is missing", "write [first, second]"},
    {"did not find expected ',' or '}'", "a comma or a closing } is missing",
     "write {key: value, key: value}"},
    {"found unexpected end of stream", "the text ends inside quotes", "close the quotes"},
    {"did not find expected node content", "a value is expected here", "write the value"},
    {"found unknown escape character", "an unknown escape after \\ in double quotes", "use single quotes"},
    {"found undefined tag handle", "tags (!) are not used in rig files", "leave the tag out"},
    {"found undefined alias", "aliases (*) are not used in rig files",
     "write the value out, or put it in quotes"},
};

static OwStatus syntax_fault(const Builder *b, const yaml_parser_t *parser, const char *text, size_t size) {
    size_t line = parser->problem_mark.line + 1, column = parser->problem_mark.column + 1;
    const char *problem = parser->problem != NULL ? parser->problem : "the text is not well formed";
    if (parser->error == YAML_MEMORY_ERROR) {
        return OW_ERROR_MEMORY;
    }
    if (parser->error == YAML_READER_ERROR) {
        place_of(text, parser->problem_offset < size ? parser->problem_offset : size, &line, &column);
        return fault_at(b, OW_ERROR_SYNTAX, line, column, "the text holds a character that is not allowed",
                        "save the file as UTF-8 without control characters");
    }
    if (strstr(problem, "cannot start any token") != NULL) {
        // The mark counts characters, so look for the tab on its line instead of trusting it as a byte
        // offset.
        size_t start = 0, seen = 1;
        while (start < size && seen < line) {
            seen += text[start] == '\n' ? 1 : 0;
            start++;
        }
        size_t p = start;
        while (p < size && (text[p] == ' ' || text[p] == '-')) {
            p++;
        }
        if (p < size && text[p] == '\t') {
            return fault_at(b, OW_ERROR_SYNTAX, line, column, "a tab is used to indent", "use spaces");
        }
        return fault_at(b, OW_ERROR_SYNTAX, line, column, "a value cannot begin with this character",
                        "put the value in quotes");
    }
    for (size_t i = 0; i < sizeof wordings / sizeof wordings[0]; i++) {
        if (strcmp(problem, wordings[i].problem) == 0) {
            return fault_at(b, OW_ERROR_SYNTAX, line, column, wordings[i].message, wordings[i].remedy);
        }
    }
    char message[200];
    (void)snprintf(message, sizeof message, "%s%s%s", parser->context != NULL ? parser->context : "",
                   parser->context != NULL ? ": " : "", problem);
    return fault_at(b, OW_ERROR_SYNTAX, line, column, message,
                    "check indentation, quotes and brackets near here");
}

/// Where a node stands and how it is written; a map's or list's end follows when it closes.
static void note_extent(const Builder *b, OwTextNode *node, const yaml_event_t *event) {
    const bool is_inside = b->depth > 0 && b->open[b->depth - 1]->is_flow;
    node->start = event->start_mark.index;
    node->end = event->end_mark.index;
    node->is_flow = is_inside;
    if (event->type == YAML_SCALAR_EVENT) {
        const yaml_scalar_style_t style = event->data.scalar.style;
        node->is_quoted =
            style == YAML_SINGLE_QUOTED_SCALAR_STYLE || style == YAML_DOUBLE_QUOTED_SCALAR_STYLE;
        node->is_block_text = style == YAML_LITERAL_SCALAR_STYLE || style == YAML_FOLDED_SCALAR_STYLE;
    } else if (event->type == YAML_MAPPING_START_EVENT) {
        node->is_flow = is_inside || event->data.mapping_start.style == YAML_FLOW_MAPPING_STYLE;
    } else if (event->type == YAML_SEQUENCE_START_EVENT) {
        node->is_flow = is_inside || event->data.sequence_start.style == YAML_FLOW_SEQUENCE_STYLE;
    }
}

/// A flow collection ends at its bracket, a block collection where its last entry ends.
static void close_extent(OwTextNode *node, const yaml_event_t *event) {
    if (node->is_flow) {
        node->end = event->end_mark.index;
    } else if (node->last != NULL) {
        node->end = node->last->end;
    }
}

static OwStatus add_node(Builder *b, OwNodeType type, const yaml_event_t *event, const char *text,
                         OwTextNode **made) {
    const size_t line = event->start_mark.line + 1, column = event->start_mark.column + 1;
    if (++b->nodes > OW_TREE_MAX_NODES) {
        return fault_at(b, OW_ERROR_SYNTAX, line, column, "the file holds too many entries",
                        "a rig file of this program has at most 20000 values");
    }
    OwTextNode *node = ow_arena_take(b->arena, 1, sizeof *node);
    if (node == NULL) {
        return OW_ERROR_MEMORY;
    }
    node->type = type;
    node->line = (int)line;
    node->column = (int)column;
    node->text = text != NULL ? text : "";
    note_extent(b, node, event);
    *made = node;
    if (b->depth == 0) {
        b->root = node;
        return OW_OK;
    }
    OwTextNode *parent = b->open[b->depth - 1];
    if (parent->type == OW_NODE_MAP) {
        if (b->key[b->depth - 1] == NULL) {
            if (type != OW_NODE_SCALAR) {
                return fault_at(b, OW_ERROR_SYNTAX, line, column, "a key must be plain text",
                                "write key: value");
            }
            if (parent->count >= OW_TREE_MAX_KEYS) {
                return fault_at(b, OW_ERROR_SYNTAX, line, column, "too many keys in one place",
                                "at most 500 are read");
            }
            b->key[b->depth - 1] = node;
            return OW_OK;
        }
        node->key = b->key[b->depth - 1];
        b->key[b->depth - 1] = NULL;
    }
    if (parent->last == NULL) {
        parent->first = node;
    } else {
        parent->last->next = node;
    }
    parent->last = node;
    parent->count++;
    return OW_OK;
}

static OwStatus take_event(Builder *b, const yaml_event_t *event) {
    const size_t line = event->start_mark.line + 1, column = event->start_mark.column + 1;
    const yaml_char_t *anchor = NULL, *tag = NULL;
    OwTextNode *node = NULL;
    OwStatus status = OW_OK;
    if (event->type == YAML_SCALAR_EVENT) {
        anchor = event->data.scalar.anchor;
        tag = event->data.scalar.tag;
    } else if (event->type == YAML_MAPPING_START_EVENT) {
        anchor = event->data.mapping_start.anchor;
        tag = event->data.mapping_start.tag;
    } else if (event->type == YAML_SEQUENCE_START_EVENT) {
        anchor = event->data.sequence_start.anchor;
        tag = event->data.sequence_start.tag;
    }
    if (anchor != NULL || event->type == YAML_ALIAS_EVENT) {
        return fault_at(b, OW_ERROR_SYNTAX, line, column,
                        "anchors (&) and aliases (*) are not used in rig files",
                        "write the value out, or put it in quotes");
    }
    if (tag != NULL) {
        return fault_at(b, OW_ERROR_SYNTAX, line, column, "tags (!) are not used in rig files",
                        "leave the tag out");
    }
    switch (event->type) {
    case YAML_DOCUMENT_START_EVENT:
        if (b->root != NULL) {
            return fault_at(b, OW_ERROR_SYNTAX, line, column, "a second document begins here",
                            "one rig a file");
        }
        return OW_OK;
    case YAML_SCALAR_EVENT: {
        const char *value = (const char *)event->data.scalar.value;
        if (strlen(value) != event->data.scalar.length) {
            return fault_at(b, OW_ERROR_SYNTAX, line, column, "the text holds a NUL character",
                            "leave it out");
        }
        const bool is_null = event->data.scalar.style == YAML_PLAIN_SCALAR_STYLE &&
                             (strcmp(value, "~") == 0 || strcmp(value, "null") == 0);
        const char *text = ow_arena_text(b->arena, is_null ? "" : value);
        return text == NULL ? OW_ERROR_MEMORY : add_node(b, OW_NODE_SCALAR, event, text, &node);
    }
    case YAML_MAPPING_START_EVENT:
    case YAML_SEQUENCE_START_EVENT:
        if (b->depth == OW_TREE_MAX_DEPTH) {
            return fault_at(b, OW_ERROR_SYNTAX, line, column, "the nesting is too deep",
                            "no rig needs more than 6 levels");
        }
        status = add_node(b, event->type == YAML_MAPPING_START_EVENT ? OW_NODE_MAP : OW_NODE_LIST, event,
                          NULL, &node);
        if (status == OW_OK) {
            b->open[b->depth] = node;
            b->key[b->depth] = NULL;
            b->depth++;
        }
        return status;
    case YAML_MAPPING_END_EVENT:
    case YAML_SEQUENCE_END_EVENT:
        if (b->depth > 0) {
            b->depth--;
            close_extent(b->open[b->depth], event);
        }
        return OW_OK;
    default:
        return OW_OK;
    }
}

OwStatus ow_tree_read(const char *text, size_t size, const char *name, OwArena *arena, OwTextNode **root,
                      OwFaults *faults) {
    Builder b = {.name = name, .arena = arena, .faults = faults};
    *root = NULL;
    if (size > OW_TREE_MAX_BYTES) {
        return fault_at(&b, OW_ERROR_READ, 0, 0, "the file is larger than 1 MiB",
                        "a rig file is a few kilobytes of text");
    }
    const char *nul = size > 0 ? memchr(text, '\0', size) : NULL;
    if (nul != NULL) {
        size_t line = 1, column = 1;
        place_of(text, (size_t)(nul - text), &line, &column);
        return fault_at(&b, OW_ERROR_SYNTAX, line, column, "the text holds a NUL byte",
                        "save the file as plain UTF-8 text");
    }
    if (size >= 3 && memcmp(text, "\xEF\xBB\xBF", 3) == 0) { // a byte order mark is no character of line 1
        text += 3;
        size -= 3;
    }
    yaml_parser_t parser;
    if (!yaml_parser_initialize(&parser)) {
        return OW_ERROR_MEMORY;
    }
    yaml_parser_set_input_string(&parser, (const unsigned char *)text, size);
    yaml_parser_set_encoding(&parser, YAML_UTF8_ENCODING);
    OwStatus status = OW_OK;
    for (bool is_end = false; !is_end && status == OW_OK;) {
        yaml_event_t event;
        if (!yaml_parser_parse(&parser, &event)) {
            status = syntax_fault(&b, &parser, text, size);
            break;
        }
        is_end = event.type == YAML_STREAM_END_EVENT;
        status = take_event(&b, &event);
        yaml_event_delete(&event);
    }
    yaml_parser_delete(&parser);
    if (status == OW_OK) {
        if (b.root == NULL || (b.root->type == OW_NODE_SCALAR && b.root->text[0] == '\0')) {
            status =
                fault_at(&b, OW_ERROR_SYNTAX, 1, 1, "the file is empty", "write at least the parts section");
        } else {
            *root = b.root;
        }
    }
    return status;
}
