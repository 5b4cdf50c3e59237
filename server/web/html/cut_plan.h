/* cut_plan.h - pieces of one stock, and the cheapest bars to cut them from, as view.
 *
 * Bars on hand cost nothing and there are only so many; bars to buy cost their
 * price where every length on sale has one, else their length. The plan is
 * worked out in nanometres (core/length.h), so that nothing is rounded. Kit and
 * chapter plan alike; cut_plan.html shows "plan" and "fault".
 */
#ifndef WEB_HTML_CUT_PLAN_H
#define WEB_HTML_CUT_PLAN_H

#include <jansson.h>

#include "core/cutting.h"
#include "store/parts.h"
#include "web/html/input.h"

#define CUT_PIECES_MOST 400

struct cut_gathering {
	struct cutting_piece pieces[CUT_PIECES_MOST];
	struct length lengths[CUT_PIECES_MOST];
	size_t n_pieces;
	struct cutting_stock bars[CUTTING_STOCKS];
	struct length bar_lengths[CUTTING_STOCKS];
	bool on_hand[CUTTING_STOCKS];
	size_t n_bars;
	bool by_price;
	bool too_many;
};

/* Starts empty, all zero. What is over a limit sets too_many: then no plan is made. */
void cut_add_pieces(struct cut_gathering *g, const struct cut *cuts, size_t count);
void cut_add_bar(struct cut_gathering *g, struct length length, uint32_t count, int64_t cost);
/* The lengths on sale of that stock, as many as are wanted. */
void cut_add_sale(struct cut_gathering *g, const struct parts_book *parts,
                  const struct name *stock);

/* The query of a page that plans: stock, kerf, trim. */
extern const struct input cut_query[];

/* What the saw takes, as asked for or as usual; false with a fault at its field. */
bool cut_read_saw(struct form *form, struct cutting_saw *saw);
/* The form as asked for (or NULL: a blank one) with what is usual filled in; NULL: no memory. */
struct form *cut_saw_form(struct arena *arena, struct form *asked);

/* Plans; without pieces nothing is done. *planned or *fault, both false before,
 * gets an object. ST_NOMEM. */
enum status cut_plan(struct arena *arena, const struct cut_gathering *g,
                     const struct cutting_saw *saw, json_t **planned, json_t **fault) MUST_CHECK;

#endif
