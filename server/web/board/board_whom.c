/* board_whom.c - the kits that a published notice concerns, for stewards: by name those
 * whose builders agreed to it, the others as a number. */
#include "web/board/board.h"
#include "web/board/board_parts.h"
#include "web/http/respond.h"
#include "chapter/whom.h"

#define KITS_SHOWN 50 /* on a page */

static const char *const answer_choices[] = {"applies", "cannot tell", NULL};

const struct input board_whom_query[] = {
        {"answer", "Answer", INPUT_CHOICE, .choices = answer_choices},
        {"page", "Page", INPUT_NUMBER, .min = 1, .max = 100000},
        INPUTS_END};

static json_t *known(const char *text)
{
	return *text ? json_string(text) : json_false();
}

static json_t *kits_view(const struct whom_kit *kits, size_t count)
{
	json_t *rows = json_array();

	for (size_t i = 0; rows && i < count; i++)
		rows = present_append(rows, json_pack("{s:s, s:s, s:o, s:o}", "name", kits[i].name,
		                                      "owner", kits[i].owner_name, "model",
		                                      known(kits[i].model), "serial",
		                                      known(kits[i].serial)));
	return board_list(rows);
}

enum status page_board_whom(struct context *c)
{
	int64_t number = form_given(c->form, "page") ? form_number(c->form, "page") : 1;
	struct page page = {KITS_SHOWN, (number - 1) * KITS_SHOWN};
	enum truth answer = form_given(c->form, "answer") && form_choice(c->form, "answer") == 1
	                            ? TRUTH_UNKNOWN
	                            : TRUTH_TRUE;
	const struct catalogue_entry *entry =
	        catalogue_find_id(c->catalogue, (struct notice_id){context_id(c, "notice")});
	struct work work = context_work(c);
	const struct whom_kit *kits;
	struct whom all;
	size_t count;
	enum status status;

	if (!entry)
		return ST_MISSING;
	status = whom_list(&work, entry->notice.effectivity, answer, page, &kits, &count, &all);
	if (status != ST_OK)
		return status;
	return board_respond(
	        c, "board_whom.html",
	        arena_printf(c->arena, "Kits that %s concerns", entry->notice.number.text),
	        json_pack("{s:s, s:s, s:I, s:I, s:b, s:I, s:o, s:o, s:o}", "number",
	                  entry->notice.number.text, "path", c->request->path, "concerned",
	                  (json_int_t)all.counts[TRUTH_TRUE], "untold",
	                  (json_int_t)all.counts[TRUTH_UNKNOWN], "shows_untold",
	                  answer == TRUTH_UNKNOWN, "unnamed",
	                  (json_int_t)(all.counts[answer] - all.named[answer]), "back_url",
	                  json_sprintf("/board/notices/%lld", (long long)entry->notice.id.v),
	                  "kits", kits_view(kits, count), "pager",
	                  present_pager(c->request->path, &c->request->query, &page,
	                                all.named[answer])));
}
