/* cutting_parts.h - what the two halves of cutting.c share: the problem made
 * ready, and its lower bound. Not for others.
 *
 * Ready means: each length once, longest first; capacities with one kerf added
 * and every piece with its kerf, so that a pattern fits when the sum of its
 * pieces does; costs divided by their greatest common divisor.
 */
#ifndef CORE_CUTTING_PARTS_H
#define CORE_CUTTING_PARTS_H

#include "core/cutting.h"

/* Prices of the bound are whole numbers of this part of a unit of cost. */
#define CUTTING_SCALE INT64_C(1000000)

struct ready {
	size_t n, m;             /* lengths, stocks */
	const int64_t *size;     /* n: length and kerf, longest first */
	const unsigned *demand;  /* n */
	const int64_t *capacity; /* m */
	const uint32_t *bars;    /* m; CUTTING_ANY: no limit */
	const int64_t *cost;     /* m */
};

/* A price for each length and a rent for each bar of limited number such that
 * no pattern is worth more than its bar: price . pattern <= scale * cost + rent.
 * So every plan costs at least (price . demand - rent . bars) / scale. */
struct bound {
	int64_t *price; /* n, from 0 */
	int64_t *rent;  /* m, from 0; 0 where there is no limit */
	/* The patterns that the relaxation ended with: a hint where to begin, and
	 * no part of the proof. */
	const struct hint *hints;
	size_t n_hints;
};

struct hint {
	size_t stock;
	unsigned times;        /* rounded down */
	const uint16_t *count; /* n */
};

/* ST_NOMEM. */
enum status cutting_bound(struct arena *arena, const struct ready *ready,
                          struct bound *out) MUST_CHECK;

#endif
