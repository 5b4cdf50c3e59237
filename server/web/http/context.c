#include "web/http/context.h"

#include <assert.h>
#include <string.h>

#include "os/clock.h"
#include "web/http/app_parts.h"

struct context context_bare(struct app *app, const struct request *request, struct arena *arena,
                            struct response *response)
{
	struct work work = work_at(app->chapter, arena);

	return (struct context){.app = app,
	                        .arena = arena,
	                        .request = request,
	                        .response = response,
	                        .now = work.now,
	                        .today = work.today};
}

static const struct capture *capture_of(const struct context *c, const char *name)
{
	for (size_t i = 0; i < c->captures.count; i++)
		if (strcmp(c->captures.at[i].name, name) == 0)
			return &c->captures.at[i];
	assert(!"the pattern has no such capture");
	return NULL;
}

int64_t context_id(const struct context *c, const char *name)
{
	return capture_of(c, name)->id;
}

const char *context_capture(const struct context *c, const char *name)
{
	return capture_of(c, name)->text;
}

bool context_may(const struct context *c, enum role role)
{
	return c->member && c->member->role >= role;
}

struct work context_work(const struct context *c)
{
	return (struct work){.chapter = c->app->chapter,
	                     .store = c->store,
	                     .arena = c->arena,
	                     .catalogue = c->catalogue,
	                     .parts = c->parts,
	                     .generation = c->generation,
	                     .now = c->now,
	                     .today = c->today};
}

int64_t context_steady(const struct context *c)
{
	int64_t (*steady)(void) = c->app->config.steady;

	return steady ? steady() : clock_steady();
}
