/* line.h - a model's build line: what is built in which order, and what closes what.
 *
 * Sections hold steps; the steps of all sections, one after the other, are the
 * order of the line. The order is a promise that the aircraft can be built so:
 * a step may need only steps before it. A step works in zones and may close
 * some; a step that closes a zone covers every earlier step that works in it.
 * A step works in a zone that it closes only if it says so. Where two steps
 * close one zone both cover, since nobody knows which one could stay shut.
 *
 * line_make checks an entry as typed and turns it into indexes and sets: which
 * steps each one needs in the end (needs_all) and which ones cover it directly
 * (covered_by). A set of steps is a row of `words` 64-bit words, one bit for a
 * step, so that what moment.c asks is a handful of ANDs. line_reorder gives the
 * same line in a kit's own order. All is immutable and lives in an arena.
 */
#ifndef CORE_LINE_H
#define CORE_LINE_H

#include "core/name.h"

#define LINE_SECTIONS_MOST 100
#define LINE_STEPS_MOST 1000
#define LINE_ZONES_MOST 1000
#define LINE_LIST_MOST 100         /* entries in one list of a step */
#define LINE_TITLE_LONGEST 200     /* characters */
#define LINE_HOURS_MOST 999900     /* hundredths */
#define LINE_HOURS_NOT_STATED (-1) /* for hours_to_open */

/* As typed. */
struct step_entry {
	struct name code;
	const char *title;
	int64_t hours;         /* of work, hundredths */
	int64_t hours_to_open; /* to take apart and close again; LINE_HOURS_NOT_STATED */
	const struct name *parts, *needs, *works_in, *closes;
	size_t n_parts, n_needs, n_works_in, n_closes;
};

struct section_entry {
	struct name code;
	const char *title;
	const struct step_entry *steps;
	size_t n_steps;
};

struct line_entry {
	struct name model;
	const struct section_entry *sections;
	size_t n_sections;
};

/* What line_make refuses, and where. */
#define LINE_FAULT_SIZE 240

enum line_depth { LINE_FAULT_WHOLE, LINE_FAULT_SECTION, LINE_FAULT_STEP };

struct line_fault {
	enum line_depth depth; /* how many of section and step count */
	size_t section;        /* index in the entry */
	size_t step;           /* index in that section */
	const char *key;       /* "needs", as seed/FORMAT.md names it; borrowed */
	bool in_list;          /* item counts */
	size_t item;           /* index in the list of that key */
	char words[LINE_FAULT_SIZE];
};

/* Checked. */
struct line_step {
	const struct step_entry *entry;
	uint32_t section;
	const uint32_t *needs, *works_in, *closes; /* indexes of steps and zones */
};

struct line {
	const struct line_entry *entry;
	const struct line_step *steps; /* as the line has them, whatever the order */
	uint32_t count;
	uint32_t n_zones;
	uint32_t words;               /* 64-bit words in a set of steps */
	const uint32_t *section_from; /* first step of each section, and count at the end */
	const struct name *zones;
	const uint32_t *by_code;   /* steps in order of code */
	const uint32_t *order;     /* steps in the order of building */
	const uint32_t *place;     /* where each step stands in it */
	const uint64_t *needs_all; /* a set for each step: what it needs, and what that needs */
	const uint64_t
	        *covered_by; /* a set for each step: later ones that close a zone of its own */
};

#define LINE_NO_STEP UINT32_MAX

/* Borrows the entry. ST_INVALID fills *fault; ST_NOMEM. */
enum status line_make(struct arena *arena, const struct line_entry *entry, struct line *out,
                      struct line_fault *fault) MUST_CHECK;

/* The line with `step` taken out and put in again at position `to` (0 to count
 * - 1, asserted). Borrows the old one. A step may then stand before what it
 * needs: see line_needs_later. ST_NOMEM. */
enum status line_reorder(struct arena *arena, const struct line *line, uint32_t step, uint32_t to,
                         struct line *out) MUST_CHECK;

/* The first step that this one needs and that stands later; LINE_NO_STEP: none. */
uint32_t line_needs_later(const struct line *line, uint32_t step);

/* LINE_NO_STEP when the line has no such step. */
uint32_t line_find(const struct line *line, const struct name *code);

/* Hours to open one step again: as stated, else twice its hours. Hundredths. */
int64_t line_hours_to_open(const struct line *line, uint32_t step);

/* Sets of steps. */
static inline const uint64_t *line_row(const struct line *line, const uint64_t *rows, uint32_t step)
{
	return rows + (size_t)step * line->words;
}

static inline bool step_set_has(const uint64_t *set, uint32_t step)
{
	return (set[step / 64] >> (step % 64)) & 1;
}

static inline void step_set_add(uint64_t *set, uint32_t step)
{
	set[step / 64] |= (uint64_t)1 << (step % 64);
}

/* The first member from `from` on; LINE_NO_STEP: none is left. So
 * for (s = step_set_next(line, set, 0); s != LINE_NO_STEP; s = step_set_next(line, set, s + 1)) */
uint32_t step_set_next(const struct line *line, const uint64_t *set, uint32_t from);

/* An empty set in the arena; NULL when memory ran out. */
uint64_t *step_set_new(struct arena *arena, const struct line *line);

#endif
