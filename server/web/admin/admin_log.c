/* admin_log.c - who did what to whom: the log of acts and that of notices as one list,
 * narrowed by a form that is a GET, so that a narrowed list has an address. */
#include "store/acts.h"
#include "web/admin/admin.h"
#include "web/html/present.h"
#include "web/http/respond.h"

#define LOG_ROWS 50
#define SECONDS_OF_DAY INT64_C(86400)

/* In the order of enum act_group, from the second. */
static const char *const groups[] = {"members and roles",
                                     "invites",
                                     "passwords and codes",
                                     "settings and mail",
                                     "files taken in",
                                     "files of notices",
                                     "notices",
                                     "build lines and parts",
                                     NULL};
_Static_assert(sizeof groups / sizeof groups[0] == ACT_GROUPS, "one for each group but all");

const struct input log_query[] = {{"by", "Who did it: login", INPUT_LINE, .longest = LOGIN_LONGEST},
                                  {"whom", "To whom: login", INPUT_LINE, .longest = LOGIN_LONGEST},
                                  {"what", "What", INPUT_CHOICE, .choices = groups},
                                  {"from", "From the day", INPUT_DAY},
                                  {"to", "To the day", INPUT_DAY},
                                  {"page", "Page", INPUT_NUMBER, .min = 1, .max = 1000000},
                                  INPUTS_END};

static enum status find_login(struct context *c, const char *name, struct member_id *out)
{
	struct member member;
	enum status status;

	if (!form_given(c->form, name))
		return ST_OK;
	status = member_find(c->store, c->arena, form_text(c->form, name), &member);
	if (status == ST_MISSING) {
		form_fail(c->form, name, "is nobody's here; the list of members shows them all");
		return ST_OK;
	}
	if (status == ST_OK)
		*out = member.id;
	return status;
}

static enum status read_filter(struct context *c, struct act_filter *out)
{
	enum status status = find_login(c, "by", &out->by);

	if (status == ST_OK)
		status = find_login(c, "whom", &out->whom);
	out->group = (enum act_group)(form_choice(c->form, "what") + 1);
	if (form_given(c->form, "from"))
		out->from = form_day(c->form, "from") * SECONDS_OF_DAY;
	if (form_given(c->form, "to"))
		out->until = (form_day(c->form, "to") + 1) * SECONDS_OF_DAY;
	if (out->from >= out->until)
		form_fail(c->form, "to", "is before the other day");
	return status;
}

static json_t *act_view(const struct context *c, const struct act_row *act)
{
	bool of_notice = *act->number;

	return json_pack("{s:o, s:s, s:s, s:o, s:o, s:o, s:o, s:o}", "at", present_time(act->at),
	                 "by", act->by, "did", act->did, "whom", present_text(act->whom), "about",
	                 of_notice ? json_false() : present_text(act->subject), "link",
	                 of_notice ? present_link(c->catalogue, act->number) : json_false(),
	                 "revision", of_notice ? present_text(act->subject) : json_false(),
	                 "remark", present_text(act->remark));
}

enum status page_log(struct context *c)
{
	struct act_filter filter = {ACTS_ALL, {0}, {0}, 0, INT64_MAX};
	struct page page = list_page(c, LOG_ROWS);
	const struct act_row *acts = NULL;
	size_t count = 0;
	int64_t total = 0;
	json_t *rows = json_array();
	enum status status = read_filter(c, &filter);

	if (status == ST_OK && form_ok(c->form))
		status = acts_list(c->store, c->arena, &filter, page, &acts, &count, &total);
	for (size_t i = 0; status == ST_OK && i < count; i++)
		rows = present_append(rows, act_view(c, &acts[i]));
	if (status != ST_OK) {
		json_decref(rows);
		return status;
	}
	return respond_page(c, "admin_log.html", "Who did what",
	                    json_pack("{s:o, s:o, s:o, s:b}", "entries", rows, "form",
	                              form_view(c->form), "pager",
	                              present_pager("/admin/log", &c->request->query, &page, total),
	                              "in_account", 1));
}
