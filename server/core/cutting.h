/* cutting.h - which lengths to cut from which bars (one-dimensional cutting stock).
 *
 * Wanted: so many pieces of each length. Given: bars of several lengths, each
 * with a cost and perhaps only so many of them. The saw takes its kerf between
 * two pieces, and the trim is lost at each end of every bar, cut included: n
 * pieces fit when their lengths and n - 1 kerfs are not longer than the bar
 * less two trims.
 *
 * The cheapest plan is searched for by trying patterns, that is ways to cut
 * one bar, against a lower bound from the linear relaxation (Gilmore and
 * Gomory, Operations Research 9 (1961) 849-859: from memory). The bound is
 * worked out in floating point but proved in whole numbers, so that a plan
 * called proved is one. The search gives up after a number of steps and then
 * states the bound that it has proved. No clock, no random: the same question
 * has the same answer.
 */
#ifndef CORE_CUTTING_H
#define CORE_CUTTING_H

#include <stdbool.h>
#include <stdint.h>

#include "base/arena.h"

#define CUTTING_LENGTHS 60 /* different lengths wanted */
#define CUTTING_PIECES 300 /* all pieces together */
#define CUTTING_STOCKS 20  /* kinds of bar */
#define CUTTING_COST INT64_C(1000000000)
#define CUTTING_STEPS 3000000 /* a usual limit: under a second */

#define CUTTING_ANY UINT32_MAX /* as many bars as it takes */

/* Lengths are in any one unit, above 0 and at most 2^50. */
struct cutting_piece {
	int64_t length;
	unsigned count; /* at least 1 */
};

struct cutting_stock {
	int64_t length;
	uint32_t count; /* bars there are; CUTTING_ANY: no limit */
	int64_t cost;   /* of one bar, 0 to CUTTING_COST; above 0 for CUTTING_ANY */
};

struct cutting_saw {
	int64_t kerf; /* from 0 */
	int64_t trim; /* at each end, from 0 */
};

/* Bars that are cut alike. */
struct cutting_bar {
	size_t stock;          /* index as given */
	unsigned times;        /* at least 1 */
	const uint16_t *count; /* of each piece of the plan */
	int64_t left;          /* what remains of the bar between its trims, last kerf taken off */
};

struct cutting_plan {
	const struct cutting_piece *pieces; /* each length once, longest first */
	size_t n_pieces;
	const struct cutting_bar *bars;
	size_t n_bars; /* kinds; their times add up to the bars */
	int64_t cost;
	int64_t bound; /* no plan costs less than this */
	bool proved;   /* bound == cost */
};

enum cutting_fault_kind {
	CUTTING_PIECE_LENGTH, /* not above 0 */
	CUTTING_STOCK_LENGTH, /* likewise */
	CUTTING_SAW,          /* kerf or trim below 0 */
	CUTTING_TOO_SHORT,    /* no bar is as long as this piece: index says which */
	CUTTING_TOO_FEW,      /* the bars there are do not hold all pieces */
	CUTTING_NOT_FOUND,    /* no plan found, nor proved that there is none */
	CUTTING_TOO_MUCH      /* beyond the limits above */
};

struct cutting_fault {
	enum cutting_fault_kind kind;
	size_t index; /* of the piece or stock as given, else 0 */
};

struct cutting_order {
	const struct cutting_piece *pieces; /* a length may stand twice */
	size_t n_pieces;
	const struct cutting_stock *stocks;
	size_t n_stocks;
	struct cutting_saw saw;
	uint64_t steps; /* limit of the search, CUTTING_STEPS if in doubt */
};

/* Borrowed from the arena. ST_INVALID with *fault filled in; ST_NOMEM. No
 * pieces give a plan without bars. */
enum status cutting_plan(struct arena *arena, const struct cutting_order *order,
                         struct cutting_plan *out, struct cutting_fault *fault) MUST_CHECK;

#endif
