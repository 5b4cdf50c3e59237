/* cutting_tool.c - plans cuts for the comparison with an exact solver.
 *
 * Standard input, one case a line, all whole numbers: kerf, trim, steps,
 * number of pieces, (length count) for each, number of stocks, (length count
 * cost) for each, count -1 for as many as it takes. Standard output, one line
 * a case: "fault KIND INDEX", or "plan COST BOUND PROVED" and for each kind of
 * bar " / STOCK TIMES LEFT" and " LENGTHxCOUNT" for what is cut from it.
 */
#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>

#include "core/cutting.h"

#define MOST 400

static long long number(void)
{
	long long value;

	if (scanf("%lld", &value) != 1)
		exit(0);
	return value;
}

static void print_plan(const struct cutting_plan *plan)
{
	printf("plan %" PRId64 " %" PRId64 " %d", plan->cost, plan->bound, plan->proved);
	for (size_t b = 0; b < plan->n_bars; b++) {
		printf(" / %zu %u %" PRId64, plan->bars[b].stock, plan->bars[b].times,
		       plan->bars[b].left);
		for (size_t i = 0; i < plan->n_pieces; i++)
			if (plan->bars[b].count[i])
				printf(" %" PRId64 "x%u", plan->pieces[i].length,
				       plan->bars[b].count[i]);
	}
	printf("\n");
}

static void answer(struct arena *arena)
{
	static struct cutting_piece pieces[MOST];
	static struct cutting_stock stocks[MOST];
	struct cutting_order order = {.pieces = pieces, .stocks = stocks};
	struct cutting_plan plan;
	struct cutting_fault fault = {0};

	order.saw.kerf = number();
	order.saw.trim = number();
	order.steps = (uint64_t)number();
	order.n_pieces = (size_t)number();
	for (size_t i = 0; i < order.n_pieces; i++) {
		pieces[i].length = number();
		pieces[i].count = (unsigned)number();
	}
	order.n_stocks = (size_t)number();
	for (size_t j = 0; j < order.n_stocks; j++) {
		stocks[j].length = number();
		stocks[j].count = (uint32_t)number();
		stocks[j].cost = number();
	}
	if (cutting_plan(arena, &order, &plan, &fault) == ST_OK)
		print_plan(&plan);
	else
		printf("fault %d %zu\n", (int)fault.kind, fault.index);
}

int main(void)
{
	struct arena *arena = arena_new();

	for (;;) {
		answer(arena);
		fflush(stdout);
		arena_reset(arena);
	}
}
