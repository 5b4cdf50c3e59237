#include "core/question.h"

#include <stdlib.h>

/* One fact on its way to becoming a question. */
struct tally {
	struct question question;
	size_t notice; /* last notice that asked for it, counted from 1 */
};

struct ranking {
	struct arena *arena;
	struct tally *tallies;
	size_t count, room;
	size_t notice;       /* the notice being asked, counted from 1 */
	bool mandatory;      /* is it? */
	unsigned wanted;     /* different facts that it waits for */
	struct tally *first; /* the first of them */
	bool failed;
};

static struct tally *find_tally(struct ranking *ranking, const struct fact *fact)
{
	for (size_t i = 0; i < ranking->count; i++)
		if (fact_equal(&ranking->tallies[i].question.fact, fact))
			return &ranking->tallies[i];
	return NULL;
}

static struct tally *add_tally(struct ranking *ranking, const struct fact *fact)
{
	if (ranking->count == ranking->room) {
		size_t room = ranking->room ? 2 * ranking->room : 16;
		struct tally *grown = ARENA_ARRAY(ranking->arena, struct tally, room);

		if (!grown)
			return NULL;
		for (size_t i = 0; i < ranking->count; i++)
			grown[i] = ranking->tallies[i];
		if (ranking->first)
			ranking->first = grown + (ranking->first - ranking->tallies);
		ranking->tallies = grown;
		ranking->room = room;
	}
	ranking->tallies[ranking->count].question.fact = *fact;
	return &ranking->tallies[ranking->count++];
}

static void count_need(void *context, const struct fact *fact)
{
	struct ranking *ranking = context;
	struct tally *tally = find_tally(ranking, fact);

	if (!tally)
		tally = add_tally(ranking, fact);
	if (!tally) {
		ranking->failed = true;
		return;
	}
	if (tally->notice == ranking->notice)
		return; /* two lines of one notice may want the same fact */
	tally->notice = ranking->notice;
	tally->question.notices++;
	tally->question.mandatory += ranking->mandatory;
	if (ranking->wanted++ == 0)
		ranking->first = tally;
}

static void ask_notice(struct ranking *ranking, const struct notice *notice,
                       const struct facts *facts)
{
	ranking->notice++;
	ranking->mandatory = notice->force == FORCE_MANDATORY;
	ranking->wanted = 0;
	ranking->first = NULL;
	if (notice->cancelled)
		return;
	effectivity_needs(notice->effectivity, facts, count_need, ranking);
	if (ranking->wanted == 1)
		ranking->first->question.alone++;
}

static int best_first(const void *a, const void *b)
{
	const struct question *x = a, *y = b;

	if (x->mandatory != y->mandatory)
		return x->mandatory > y->mandatory ? -1 : 1;
	if (x->notices != y->notices)
		return x->notices > y->notices ? -1 : 1;
	if (x->alone != y->alone)
		return x->alone > y->alone ? -1 : 1;
	if (x->fact.kind != y->fact.kind)
		return x->fact.kind < y->fact.kind ? -1 : 1;
	if (x->fact.series != y->fact.series)
		return y->fact.series ? -1 : 1;
	return name_compare(&x->fact.about, &y->fact.about);
}

enum status questions_rank(struct arena *arena, const struct catalogue *catalogue,
                           const struct facts *facts, const struct question **out, size_t *count)
{
	struct ranking ranking = {.arena = arena};
	struct question *list;

	for (size_t i = 0; i < catalogue->count && !ranking.failed; i++)
		ask_notice(&ranking, &catalogue->entries[i].notice, facts);
	list = ARENA_ARRAY(arena, struct question, ranking.count);
	if (ranking.failed || !list)
		return ST_NOMEM;
	for (size_t i = 0; i < ranking.count; i++)
		list[i] = ranking.tallies[i].question;
	qsort(list, ranking.count, sizeof *list, best_first);
	*out = list;
	*count = ranking.count;
	return ST_OK;
}
