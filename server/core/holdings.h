/* holdings.h - what of the material that notices ask for a kit should hold.
 *
 * The parts book of a chapter holds the packing lists of all sub-kits, each
 * valid for sub-kits shipped on certain days, and which part number took the
 * place of which. A part of a later number serves where an earlier one is
 * asked for, never the other way round.
 *
 * What a kit holds follows from its facts. Truth has three values (design.md):
 * a list applies, does not, or may, and every "may" names the fact that would
 * settle it. Of the lists that may apply to one sub-kit exactly one does, so
 * what stands in all of them is held for certain. To this come the builder's
 * own entries: counted, got, used, lost. What the build itself uses up is not
 * known here; a builder who counts knows better than any list.
 *
 * Needs are served in the order given, nearest number first; so nothing is
 * promised twice, and no other way of sharing would leave less short.
 */
#ifndef CORE_HOLDINGS_H
#define CORE_HOLDINGS_H

#include "core/amount.h"
#include "core/facts.h"
#include "core/length.h"

struct packed_part {
	struct name number;
	struct name unit; /* empty: pieces */
	int64_t quantity; /* thousandths, above 0 */
	const char *bag;  /* bag or crate; "" when not said */
	const char *remark;
};

struct packing_list {
	struct name name; /* of the list as printed on it */
	struct name subkit;
	const char *title; /* what the sub-kit is; "" */
	const struct name *models;
	size_t n_models;
	struct date_fact from, to; /* as written; DATE_UNKNOWN: open */
	struct day_range shipped;  /* the same as days */
	const struct packed_part *parts;
	size_t n_parts;
};

struct number_change {
	struct name old;
	struct name later;
};

/* What is sold by length and cut. */
struct stock_length {
	struct length length;
	const char *text; /* as typed */
	bool has_price;
	int64_t price; /* hundredths of the chapter's money */
};

struct stock_code {
	struct name code;
	const char *title; /* "" */
	const struct stock_length *lengths;
	size_t n_lengths;
};

/* What a book is made of. */
struct parts_source {
	const struct packing_list *lists;
	const struct number_change *changes;
	const struct stock_code *stock;
	size_t n_lists, n_changes, n_stock;
};

/* Immutable once built; shared by threads. */
struct parts_book {
	const struct packing_list *lists;
	size_t n_lists;
	const struct stock_code *stock; /* as given */
	size_t n_stock;
	const struct packed_place
	        *places; /* every packed part, in order of number, unit, sub-kit */
	size_t n_places;
	const struct number_change *changes; /* in order of old number */
	size_t n_changes;
};

struct packed_place {
	const struct packing_list *list;
	const struct packed_part *part;
};

/* Do two lists claim the same sub-kits: same code, a model in common, days in
 * common? */
bool packing_lists_overlap(const struct packing_list *a, const struct packing_list *b);

/* Borrows the arrays' contents; sorts a copy of changes. ST_INVALID: a number
 * has two later ones or the changes run in a circle; *culprit (may be NULL)
 * gets one of them. ST_NOMEM. */
enum status parts_book_build(struct arena *arena, const struct parts_source *source,
                             const struct parts_book **out,
                             const struct number_change **culprit) MUST_CHECK;

/* NULL when nothing of that code is sold. Linear: chapters list a few. */
const struct stock_code *parts_book_stock(const struct parts_book *book, const struct name *code);

/* The number that took this one's place; NULL when none did. */
const struct name *parts_book_later(const struct parts_book *book, const struct name *number);

/* The number to order now; the number itself when nothing took its place. */
const struct name *parts_book_latest(const struct parts_book *book, const struct name *number);

/* A builder's entries, oldest first. */
enum stock_act { STOCK_COUNTED, STOCK_GOT, STOCK_USED, STOCK_LOST };
#define STOCK_ACTS 4
const char *stock_act_words(enum stock_act act); /* "counted"; borrowed */
bool stock_act_from_words(const char *words, enum stock_act *out);

struct stock_entry {
	int64_t id; /* of the store; 0 */
	struct name number;
	struct name unit;
	enum stock_act act;
	int64_t quantity; /* thousandths; from 0 for counted, else above 0 */
	int64_t record;   /* id of the record that it answers; 0: none */
	const char *remark;
	int64_t entered_at;
};

/* One number, in one unit, of one kit. sure <= most. */
struct holding {
	int64_t sure;        /* thousandths: at least so much */
	int64_t most;        /* at most so much */
	bool counted;        /* the builder has counted it himself */
	bool settles_known;  /* settles is set */
	struct fact settles; /* the first fact that would bring sure and most together */
};

/* Cost: linear in the places and entries of that number. */
struct holding holding_of(const struct parts_book *book, const struct facts *facts,
                          const struct stock_entry *entries, size_t n_entries,
                          const struct name *number, const struct name *unit);

/* Does what stands in this list lie in the kit? *settles gets the fact that
 * would tell when it is unknown. */
enum truth packing_list_applies(const struct packing_list *list, const struct facts *facts,
                                struct fact *settles);

/* The places of one number and unit: borrowed, a run of book->places. */
const struct packed_place *parts_book_places(const struct parts_book *book,
                                             const struct name *number, const struct name *unit,
                                             size_t *count);

/* What a notice asks for. */
struct need {
	struct name number; /* looked up; empty: only words */
	struct amount amount;
	size_t owner; /* the caller's: which notice, say */
};

enum supply_state {
	SUPPLY_HAVE,     /* all of it, for certain */
	SUPPLY_MAY_HAVE, /* all of it, if a fact says so */
	SUPPLY_SHORT     /* some or all must be got */
};

struct supply {
	enum supply_state state;
	int64_t sure;             /* thousandths of what is needed that is there for certain */
	int64_t most;             /* ... that may be there */
	int64_t lacking;          /* needed less most: to be got in any case */
	struct name from;         /* number that serves first; empty: none */
	const struct name *order; /* number to order now */
	bool counted;
	bool settles_known;
	struct fact settles; /* of MAY_HAVE, and of SHORT when a fact could better it */
};

/* One supply for each need, in the arena. A need that is not counted ("as
 * required") is had when anything of that number is there. ST_NOMEM. */
enum status supplies_share(struct arena *arena, const struct parts_book *book,
                           const struct facts *facts, const struct stock_entry *entries,
                           size_t n_entries, const struct need *needs, size_t n_needs,
                           const struct supply **out) MUST_CHECK;

#endif
