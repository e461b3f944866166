// SPDX-License-Identifier: GPL-3.0-or-later
// What is odd about a solved network, in words: floating parts, shorted sources, values that cannot be.
#include "power/net.h"

#include <math.h>
#include <stdio.h>

static void add(OwNote *notes, int size, int *count, OwNote note) {
    if (*count < size) {
        notes[*count] = note;
    }
    (*count)++;
}

static bool has_source(const OwNet *net, int root) {
    for (int i = 0; i < net->branch_count; i++) {
        const OwBranch *b = &net->branches[i];
        if (!b->is_open && net->island[b->from] == root &&
            (b->law == OW_BRANCH_BATTERY || b->law == OW_BRANCH_ALTERNATOR)) {
            return true;
        }
    }
    return false;
}

/// The branch beside the source that carries most of its current, followed from node to node: where a hunt
/// would start.
static int heaviest_beside(const OwNet *net, int source) {
    int best = -1;
    const OwBranch *s = &net->branches[source];
    for (int i = 0; i < net->branch_count; i++) {
        const OwBranch *b = &net->branches[i];
        const bool touches = b->from == s->from || b->to == s->from;
        if (i != source && touches && !b->is_open &&
            (best < 0 || fabs(b->current_a) > fabs(net->branches[best].current_a))) {
            best = i;
        }
    }
    return best;
}

int ow_net_explain(const OwNet *net, OwNote *notes, int size) {
    int count = 0;
    if (net->bad_branch >= 0) {
        const OwBranch *b = &net->branches[net->bad_branch];
        OwNote note = {OW_TROUBLE_VALUE, -1, net->bad_branch, 0.0, ""};
        snprintf(note.text, sizeof note.text, "between %s and %s: %s", net->nodes[b->from].name,
                 net->nodes[b->to].name, ow_net_bad_value(b));
        add(notes, size, &count, note);
        return count;
    }
    for (int root = 1; root < net->node_count; root++) {
        if (net->island[root] != root) {
            continue;
        }
        int members = 0;
        for (int i = 1; i < net->node_count; i++) {
            members += net->island[i] == root;
        }
        OwNote note = {OW_TROUBLE_FLOATING, root, -1, 0.0, ""};
        snprintf(note.text, sizeof note.text,
                 members == 1 ? "%s is joined to nothing now: open on both sides, no volts and no current"
                              : "%s and %d more have no way to the reference: %s",
                 net->nodes[root].name, members - 1,
                 has_source(net, root) ? "they hold a source and live by themselves"
                                       : "no source, no current");
        add(notes, size, &count, note);
    }
    for (int i = 0; i < net->branch_count; i++) {
        const OwBranch *b = &net->branches[i];
        if (b->law != OW_BRANCH_BATTERY || b->is_open) {
            continue;
        }
        const bool is_looped = b->from == b->to;
        const double across = net->nodes[b->from].volt_v - net->nodes[b->to].volt_v;
        if (!is_looped && fabs(across) >= 0.5 * fabs(b->source_v)) {
            continue;
        }
        OwNote note = {OW_TROUBLE_SHORTED, b->from, i, 0.0, ""};
        note.value = is_looped ? b->source_v / b->resistance_ohm : fabs(b->current_a);
        const int way = heaviest_beside(net, i);
        if (is_looped || way < 0) {
            snprintf(note.text, sizeof note.text, "the source at %s has both posts on one point: %.0f A",
                     net->nodes[b->from].name, note.value);
        } else {
            const OwBranch *w = &net->branches[way];
            snprintf(note.text, sizeof note.text,
                     "the source at %s is shorted: %.0f A, most of it from %s to %s",
                     net->nodes[b->from].name, note.value, net->nodes[w->from].name, net->nodes[w->to].name);
        }
        add(notes, size, &count, note);
    }
    return count;
}
