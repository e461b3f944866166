// SPDX-License-Identifier: GPL-3.0-or-later
// What the readers of the sections share.
#ifndef OW_RIG_READER_H
#define OW_RIG_READER_H

#include "rig/catalogue.h"
#include "rig/tree.h"

#define OW_RIG_MAX_PARTS 200
#define OW_RIG_MAX_JOINTS 400
#define OW_RIG_MAX_RULES 200
/// After so many faults only their number is kept.
#define OW_RIG_MAX_FAULTS 100

typedef struct OwReader {
    OwRig *rig;
    OwUnits *units;
    OwFaults *faults;
    const char *file;
    OwArena *arena; ///< of the tree; gone after reading
    size_t listed;  ///< faults added by this reader
    OwStatus first; ///< of the first error
    bool is_out_of_memory;
    const OwTextNode **part_node; ///< the map of each part
    const char **lost;            ///< names of parts that could not be read: later mentions are no new fault
    int lost_count;
} OwReader;

/// Adds a fault at a node (NULL: no place). `remedy` may be NULL.
void ow_reader_fault(OwReader *reader, const OwTextNode *at, const char *part, OwStatus status,
                     OwSeverity severity, const char *remedy, const char *format, ...)
    __attribute__((format(printf, 7, 8)));
/// The value of a key in a map, NULL when absent.
const OwTextNode *ow_node_get(const OwTextNode *map, const char *key);
/// True when the node is of that type; else a fault that says what is wanted.
bool ow_reader_expect(OwReader *reader, const OwTextNode *node, OwNodeType type, const char *part,
                      const char *what);
/// Reads all plain fields of a map into `base`; special keys are left to the caller, `own` (may be NULL) is a
/// key node to pass over; unknown and double keys are faults.
void ow_reader_map(OwReader *reader, const OwTextNode *map, const OwFieldTable *tables, int table_count,
                   const OwSpecialKey *special, const OwTextNode *own, void *base, const char *part);
/// Reads a scalar quantity by the rules of `like`. False when it was a fault.
bool ow_reader_quantity(OwReader *reader, const OwTextNode *node, const OwField *like, double *si,
                        const char *part);
/// Reads a scalar name into OW_NAME_SIZE bytes.
bool ow_reader_name(OwReader *reader, const OwTextNode *node, const char *what, char *out, const char *part);
/// Index of a part, or -1; -1 is a fault unless the part was lost earlier.
int ow_reader_part(OwReader *reader, const OwTextNode *at, const char *name);
/// "did you mean near?", or `otherwise` when nothing is near.
void ow_remedy_near(char remedy[256], const char *near, const char *otherwise);
/// "did you mean ..." over part names; empty when none is near.
void ow_reader_part_remedy(const OwReader *reader, const char *name, char remedy[256]);

void ow_read_parts(OwReader *reader, const OwTextNode *list);
void ow_read_lines(OwReader *reader, const OwTextNode *list);
/// Joins the parts in listed order.
void ow_join_in_order(OwReader *reader, const OwTextNode *at);
void ow_read_oil(OwReader *reader, const OwTextNode *node);
void ow_read_drive(OwReader *reader, const OwTextNode *node, const OwSection *section);
void ow_read_gears(OwReader *reader, const OwTextNode *node);
void ow_read_controls(OwReader *reader, const OwTextNode *list);

#endif
