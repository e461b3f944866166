// SPDX-License-Identifier: GPL-3.0-or-later
// Inside the reader of short forms: words, numbers, times, names.
#ifndef OW_CLI_LOG_WORDS_H
#define OW_CLI_LOG_WORDS_H

#include "log_cli.h"

enum { WORDS_MOST = 120, ITEMS_MOST = 120 };

/// One word as typed.
typedef struct Word {
    char *text;
    bool is_quoted, is_used;
} Word;

typedef enum ItemKind {
    ITEM_NAME,
    ITEM_NUMBER,
    ITEM_LABEL,
    ITEM_CHOICE,
    ITEM_LEAD,
    ITEM_WORDS,
    ITEM_DONE
} ItemKind;

/// What a word or some words are taken for.
typedef struct Item {
    ItemKind kind;
    const OwLogThing *thing; ///< NAME
    int field;               ///< LABEL, CHOICE: index in the kind
    int choice;
    const char *text; ///< NUMBER: "60 L"; WORDS: the phrase; LEAD: "from"
    bool is_quoted, has_unit;
} Item;

typedef struct Reader {
    const OwLogSpeech *speech;
    OwLogSaid *said;
    const OwLogKindRow *row;
    OwLogKind kind;
    Word words[WORDS_MOST];
    int word_count, at;
    Item items[ITEMS_MOST];
    int item_count;
    char copy[OW_LOG_WORDS_MAX + 1];
    char spare[6 * OW_LOG_WORDS_MAX]; ///< joined phrases
    size_t spare_used, room_used;
    char unit[8];   ///< of bare lengths, once told by the verb
    double mass_kg; ///< that was taken as a volume
    bool wants_all; ///< "all": the volume is what is there
} Reader;

/// Splits at blanks, keeps "quoted words" together. False with a question when there are too many, or a quote
/// is open.
bool ow_words_split(Reader *r, const char *text);
/// Takes out what tells the time and sets the entry's; false with a question.
bool ow_words_time(Reader *r);
/// Begins with a digit, a sign and a digit, or a currency sign.
bool ow_words_is_number(const char *text);
/// "one" to "twelve" as 1 to 12; 0: none of them.
int ow_words_count(const char *word);
/// Kilometres or miles, as people write them.
bool ow_words_is_way(const char *unit);
/// Number words before a unit become digits: "three days".
void ow_words_digits(Reader *r);
/// Joins the number at word `at` with its unit; returns how many words it took.
int ow_words_number(Reader *r, int at, const char **text, bool *has_unit);
/// Reads a number as a field's value; a bare one by the field's usual unit. False: not of that kind.
bool ow_words_value(Reader *r, const OwLogField *field, const char *text, OwLogValue *value, char why[256]);
/// `count` words joined by blanks, in `spare`; NULL when there is no room.
const char *ow_words_join(Reader *r, int at, int count);
/// Copy that stays with the answer; "" when there is no room.
const char *ow_words_keep(Reader *r, const char *text);
/// Letters and digits only, small. Returns the length.
size_t ow_words_plain(char *out, size_t size, const char *text);
#define OW_WORDS_COUNT(a) ((int)(sizeof(a) / sizeof((a)[0])))
/// Index in a list, case ignored, or -1.
int ow_words_in(const char *word, const char *const *list, int count);
/// Takes words out.
void ow_words_drop(Reader *r, int at, int count);
/// Sets a choice field by its word; false when it has no such choice.
bool ow_words_choose(Reader *r, int field, const char *word);
void ow_words_kind(Reader *r, OwLogKind kind, const char *what);
/// Finds the word that tells the kind, sets the kind, and takes the word out.
bool ow_words_verb(Reader *r);
/// Kinds of things that an entry of this kind may name, bits.
unsigned ow_words_wanted(const Reader *r);
/// The thing with that name, letters and digits compared only; *twice when two have it.
const OwLogThing *ow_words_named(const Reader *r, unsigned kinds, const char *text, bool *twice);
/// The only thing of which the text is a part, whole words in order; with several, asks.
const OwLogThing *ow_words_part(Reader *r, unsigned kinds, const char *text);
/// The nearest name, or NULL.
const char *ow_words_near(const Reader *r, unsigned kinds, const char *text);
/// The thing that the words from `at` on name, the longest first; exact, or by some of its words.
const OwLogThing *ow_words_span(Reader *r, int at, int least, unsigned kinds, bool is_exact, int *taken);
/// Field that a word is the label of, or -1.
int ow_words_label(const Reader *r, const char *word);
/// Choice that the words at `at` are, or -1.
int ow_words_choice(Reader *r, int at, int *field, int *taken);
/// "from", "to", ... or NULL.
const char *ow_words_lead(const Reader *r, int at);
/// All words from `at` on are the note.
bool ow_words_note(Reader *r, int at);
bool ow_words_items(Reader *r);
OwLogValue *ow_words_slot(Reader *r, int field);
bool ow_words_put_labels(Reader *r);
bool ow_words_put_names(Reader *r);
bool ow_words_put_numbers(Reader *r);
bool ow_words_put_words(Reader *r);
/// The vehicle, and the filter of the vehicle, when there is only one.
bool ow_words_only_vehicle(Reader *r);
bool ow_words_only_filter(Reader *r);
/// Field of a thing that must be named and is not yet, or -1.
int ow_words_missing(const Reader *r);
/// "all" of a move or a new batch: taken out; later what is there by the book.
void ow_words_take_all(Reader *r);
/// Asks for what is missing.
bool ow_words_check(Reader *r);
/// Sets the question, once: the first stays. Always false.
bool ow_words_ask(Reader *r, const char *suggestion, const char *format, ...)
    __attribute__((format(printf, 3, 4)));

#endif
