/* admin.c - the state of the box, the chapter's settings. */
#include "web/admin/admin.h"

#include <string.h>

#include "store/backup.h"
#include "store/copies.h"
#include "store/kits.h"
#include "store/notices.h"
#include "store/settings.h"
#include "web/html/present.h"
#include "web/http/respond.h"
#include "web/html/tmpl.h"

const struct input admin_list_query[] = {{"page", "Page", INPUT_NUMBER, .min = 1, .max = 1000000},
                                         INPUTS_END};

const struct input setting_inputs[] = {
        {"chapter", "Name of the chapter", INPUT_LINE, .longest = 80},
        {"address", "Address from outside", INPUT_LINE, .longest = 200},
        {"one_steward", "One steward may publish alone", INPUT_FLAG},
        INPUTS_END};

struct page list_page(const struct context *c, int64_t rows)
{
	int64_t number = form_given(c->form, "page") ? form_number(c->form, "page") : 1;

	return (struct page){rows, (number - 1) * rows};
}

/* ---- the box ---- */

/* Lines of what was found, each a text of its own. */
static json_t *lines_view(const char *lines)
{
	json_t *list = json_array();

	for (const char *at = lines; at && *at;) {
		size_t len = strcspn(at, "\n");

		list = present_append(list, json_stringn(at, len));
		at += len + (at[len] == '\n');
	}
	return list;
}

/* A nightly copy is late after two days. */
#define COPY_LATE_SECONDS (2 * 86400)

static json_t *copies_view(const struct context *c, const struct copies *copies)
{
	const struct copy_entry *good = &copies->good;
	json_t *size = json_null();

	if (good->at)
		size = json_sprintf("%.1f MB", (double)good->size / 1e6);
	return json_pack("{s:b, s:b, s:o, s:I, s:o, s:s, s:b, s:b, s:o, s:s}", "any", good->at != 0,
	                 "none", good->at == 0, "day", present_time(good->at), "hours",
	                 (json_int_t)((c->now - good->at) / 3600), "size", size, "path", good->path,
	                 "late", good->at != 0 && c->now - good->at > COPY_LATE_SECONDS, "failed",
	                 copies->last.fault[0] != '\0', "failed_day", present_time(copies->last.at),
	                 "fault", copies->last.fault);
}

static enum status show_admin(struct context *c, json_t *sound)
{
	struct copies copies = {{.path = "", .fault = ""}, {.path = "", .fault = ""}};
	int64_t members = 0;
	int64_t kits = 0;
	enum status status = member_count(c->store, &members);

	if (status == ST_OK)
		status = kit_count(c->store, &kits);
	if (status == ST_OK)
		status = copies_read(c->store, c->arena, &copies);
	if (status != ST_OK) {
		json_decref(sound);
		return status;
	}
	return respond_page(c, "admin.html", "Running the chapter",
	                    json_pack("{s:o, s:o, s:I, s:I, s:i, s:i, s:o, s:b}", "copies",
	                              copies_view(c, &copies), "at_start",
	                              lines_view(app_config(c->app)->found_at_start), "members",
	                              (json_int_t)members, "kits", (json_int_t)kits, "notices",
	                              (int)c->catalogue->count, "version", store_version(), "sound",
	                              sound, "in_account", 1));
}

enum status page_admin(struct context *c)
{
	return show_admin(c, json_false());
}

static json_t *chain_view(const struct verify_report *report)
{
	static const char *const words[] = {
	        [CHAIN_CHANGED] = "has been changed",
	        [CHAIN_MISSING] = "is not there any more",
	        [CHAIN_CUT] = "does not end as it was entered",
	};

	if (!report->chain_broken)
		return json_false();
	return json_pack("{s:I, s:I, s:s}", "kit", (json_int_t)report->chain.kit.v, "place",
	                 (json_int_t)report->chain.place, "words", words[report->chain.kind]);
}

static json_t *seals_view(const struct seal_report *report)
{
	json_t *list = json_array();
	struct text words = TEXT_EMPTY;

	for (size_t i = 0; i < report->shown; i++) {
		text_clear(&words);
		seal_fault_words(&report->faults[i], &words);
		list = present_append(list, json_string(text_string(&words)));
	}
	text_free(&words);
	return list;
}

enum status act_verify(struct context *c)
{
	struct verify_report report = {.database = ""};
	enum status status = backup_verify(c->store, c->arena, &report);

	if (status != ST_OK && status != ST_INVALID)
		return status;
	return show_admin(c, json_pack("{s:o, s:b, s:o, s:o, s:I}", "seals",
	                               seals_view(&report.seals), "fine", status == ST_OK,
	                               "database", present_text(report.database), "chain",
	                               chain_view(&report), "records", (json_int_t)report.records));
}

/* ---- settings ---- */

static enum status show_settings(struct context *c, const struct form *form)
{
	json_t *view = present_hint(form_view(form), "chapter",
	                            "Stands at the head of every page and on invites.");

	view = present_hint(view, "address",
	                    "Where members reach this box, as in https://fairlead.example. "
	                    "Invites point there. Empty: the address that you use now.");
	return respond_page(c, "admin_settings.html", "Settings",
	                    json_pack("{s:o, s:b}", "form", view, "in_account", 1));
}

enum status page_settings(struct context *c)
{
	struct form *form = form_blank(c->arena, setting_inputs);
	const char *chapter = "";
	const char *address = "";
	bool one_steward = false;
	enum status status = setting_text(c->store, c->arena, SETTING_CHAPTER, &chapter);

	if (status == ST_OK)
		status = setting_text(c->store, c->arena, SETTING_ADDRESS, &address);
	if (status == ST_OK)
		status = setting_flag(c->store, SETTING_ONE_STEWARD, &one_steward);
	if (status != ST_OK || !form)
		return status == ST_OK ? ST_NOMEM : status;
	form_set(form, "chapter", chapter);
	form_set(form, "address", address);
	form_set_flag(form, "one_steward", one_steward);
	return show_settings(c, form);
}

/* Scheme, host and perhaps a port; links add their path to it. */
static bool is_site(const char *address)
{
	const char *host = strstr(address, "://");

	return url_is_http(address) && host && host[3] && !strpbrk(host + 3, "/?#@");
}

static enum status save_settings(struct context *c)
{
	enum status status = store_begin(c->store);

	if (status != ST_OK)
		return status;
	status = setting_set_text(c->store, SETTING_CHAPTER, form_text(c->form, "chapter"));
	if (status == ST_OK)
		status = setting_set_text(c->store, SETTING_ADDRESS, form_text(c->form, "address"));
	if (status == ST_OK)
		status = setting_set_flag(c->store, SETTING_ONE_STEWARD,
		                          form_flag(c->form, "one_steward"));
	if (status == ST_OK)
		return store_commit(c->store);
	store_rollback(c->store);
	return status;
}

enum status act_settings(struct context *c)
{
	enum status status;

	if (form_given(c->form, "address") && !is_site(form_text(c->form, "address")))
		form_fail(c->form, "address",
		          "must begin with http:// or https:// and end with the name or port, "
		          "without a slash");
	if (!form_ok(c->form))
		return show_settings(c, c->form);
	status = save_settings(c);
	return status == ST_OK ? respond_redirect(c, "/admin/settings?said=saved") : status;
}
