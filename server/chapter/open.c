#include "chapter/open.h"

#include "base/mem.h"
#include "chapter/catalogue_holder.h"
#include "chapter/chapter_list.h"
#include "chapter/counted.h"
#include "chapter/kits.h"
#include "chapter/mail_round.h"
#include "chapter/news_round.h"
#include "chapter/report_sheet.h"
#include "chapter/rounds.h"
#include "chapter/standby.h"
#include "store/store.h"

#define READERS_MOST 8 /* threads of httpd.c */
#define OTHERS 6       /* those of desk.c, and one for each thread of jobs */

/* In the order in which they are run. */
static const struct round jobs[] = {
        {"news of kits", news_round_kits},
        {"news of new reports", news_round_reports},
        {"news of the states of reports", news_round_states},
        {"mails written", mail_round_write},
        {"mails sent", mail_round_send},
};

/* On a box that stands by: no mail, no news, nothing but the newest copy. */
static const struct round standby_jobs[] = {
        {"newest copy", standby_round},
};

/* With a thread of its own: no slow mail server holds it up. */
static const struct round list_jobs[] = {
        {"shopping list of the chapter", chapter_list_round},
};

static enum status set_up(struct chapter *chapter)
{
	size_t readers = chapter->config.readers ? chapter->config.readers : READERS_MOST;
	enum status status =
	        store_pool_new(chapter->config.database, readers + OTHERS, &chapter->pool);

	if (status != ST_OK)
		return status;
	chapter->catalogues = catalogue_holder_new();
	chapter->kits = kits_new();
	chapter->reports = report_cache_new();
	if (chapter->config.standby)
		chapter->standby = standby_new(chapter->config.standby);
	chapter->rounds = chapter->config.standby
	                          ? rounds_new(chapter, standby_jobs, 1)
	                          : rounds_new(chapter, jobs, sizeof jobs / sizeof jobs[0]);
	chapter->list = chapter_list_new(chapter);
	chapter->lists = rounds_new(chapter, list_jobs, sizeof list_jobs / sizeof list_jobs[0]);
	if (!chapter->catalogues || !chapter->kits || !chapter->reports || !chapter->rounds ||
	    !chapter->list || !chapter->lists || (chapter->config.standby && !chapter->standby))
		return ST_NOMEM;
	return chapter->standby ? ST_OK : mail_round_begin(chapter);
}

enum status chapter_open(const struct chapter_config *config, struct chapter **out)
{
	struct chapter *chapter = mem_zero(sizeof *chapter);
	enum status status;

	if (!chapter)
		return ST_NOMEM;
	chapter->config = *config;
	status = set_up(chapter);
	if (status == ST_OK)
		*out = chapter;
	else
		chapter_close(chapter);
	return status;
}

void chapter_close(struct chapter *chapter)
{
	if (!chapter)
		return;
	rounds_free(chapter->rounds);
	rounds_free(chapter->lists);
	standby_free(chapter->standby);
	chapter_list_free(chapter->list);
	counted_cache_free(chapter->reports);
	kits_free(chapter->kits);
	catalogue_holder_free(chapter->catalogues);
	store_pool_free(chapter->pool);
	mem_free(chapter);
}
