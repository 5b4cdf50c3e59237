#include "chapter/open.h"

#include "base/mem.h"
#include "chapter/catalogue_holder.h"
#include "chapter/counted.h"
#include "chapter/kits.h"
#include "chapter/mail_round.h"
#include "chapter/news_round.h"
#include "chapter/report_sheet.h"
#include "chapter/rounds.h"
#include "store/store.h"

#define CONNECTIONS 9 /* the threads of httpd.c and one for the jobs */

/* In the order in which they are run. */
static const struct round jobs[] = {
        {"news of kits", news_round_kits},
        {"news of new reports", news_round_reports},
        {"news of the states of reports", news_round_states},
        {"mails written", mail_round_write},
        {"mails sent", mail_round_send},
};

static enum status set_up(struct chapter *chapter)
{
	enum status status = store_pool_new(chapter->config.database, CONNECTIONS, &chapter->pool);

	if (status != ST_OK)
		return status;
	chapter->catalogues = catalogue_holder_new();
	chapter->kits = kits_new();
	chapter->reports = report_cache_new();
	chapter->rounds = rounds_new(chapter, jobs, sizeof jobs / sizeof jobs[0]);
	if (!chapter->catalogues || !chapter->kits || !chapter->reports || !chapter->rounds)
		return ST_NOMEM;
	return mail_round_begin(chapter);
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
	counted_cache_free(chapter->reports);
	kits_free(chapter->kits);
	catalogue_holder_free(chapter->catalogues);
	store_pool_free(chapter->pool);
	mem_free(chapter);
}
