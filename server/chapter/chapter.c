#include "chapter/chapter.h"

#include "chapter/catalogue_holder.h"
#include "os/clock.h"
#include "store/store.h"

struct work work_at(struct chapter *chapter, struct arena *arena)
{
	int64_t now = chapter->config.now ? chapter->config.now() : clock_now();

	return (struct work){
	        .chapter = chapter, .arena = arena, .now = now, .today = clock_day(now)};
}

void work_connect(struct work *work)
{
	work->store = store_take(work->chapter->pool);
}

void work_disconnect(struct work *work)
{
	store_give(work->chapter->pool, work->store);
	work->store = NULL;
}

enum status work_with_notices(struct work *work, int64_t generation, work_fn *use, void *context)
{
	struct held_catalogue *held = NULL;
	enum status status =
	        catalogue_borrow(work->chapter->catalogues, work->store, generation, &held);

	if (status != ST_OK)
		return status;
	work->catalogue = held->catalogue;
	work->parts = held->parts;
	work->generation = held->generation;
	status = use(work, context);
	work->catalogue = NULL;
	work->parts = NULL;
	catalogue_return(work->chapter->catalogues, held);
	return status;
}
