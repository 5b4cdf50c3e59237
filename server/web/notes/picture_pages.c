/* picture_pages.c - pictures on notes, reports and findings.
 *
 * A picture's address never shows another one, so browsers keep it. What is on
 * a removed report only stewards see, and that is asked anew each time.
 */
#include "web/notes/picture_pages.h"

#include "store/pictures.h"
#include "web/html/picture_form.h"
#include "web/html/picture_view.h"
#include "web/html/present.h"
#include "web/http/respond.h"

const struct input picture_inputs[] = {PICTURE_INPUTS, INPUTS_END};

/* ---- showing ---- */

static struct picture_id picture_of_path(const struct context *c)
{
	return (struct picture_id){context_id(c, "picture")};
}

static enum status respond_picture(struct context *c, bool small)
{
	struct picture_id id = picture_of_path(c);
	enum cache_class cache = CACHE_OWN;
	struct picture_size size;
	enum status status = picture_bytes(c->store, c->arena, id, small, false, &size);

	if (status == ST_MISSING && context_may(c, ROLE_STEWARD)) {
		cache = CACHE_PRIVATE;
		status = picture_bytes(c->store, c->arena, id, small, true, &size);
	}
	if (status != ST_OK)
		return status;
	return respond_bytes(c, size.mime, size.bytes, size.size, cache, NULL);
}

enum status page_picture(struct context *c)
{
	return respond_picture(c, false);
}

enum status page_picture_small(struct context *c)
{
	return respond_picture(c, true);
}

/* ---- where it is shown ---- */

/* The page of what pictures are on. */
static const char *home_of(struct context *c, const struct picture_of *of, struct report_id report)
{
	if (of->note.v)
		return arena_printf(c->arena, "/notes/%lld", (long long)of->note.v);
	return arena_printf(c->arena, "/reports/%lld", (long long)report.v);
}

static enum status go_home(struct context *c, const struct picture_of *of, struct report_id report,
                           const char *said)
{
	const char *home = home_of(c, of, report);

	if (!home)
		return ST_NOMEM;
	if (of->finding.v)
		return respond_redirect(c, "%s?said=%s#finding-%lld", home, said,
		                        (long long)of->finding.v);
	return respond_redirect(c, "%s?said=%s", home, said);
}

/* ---- removing ---- */

static enum status read_own(struct context *c, struct picture_row *row)
{
	enum status status = picture_read(c->store, c->arena, picture_of_path(c),
	                                  context_may(c, ROLE_STEWARD), row);

	return status == ST_OK && !picture_may_remove(c, row) ? ST_DENIED : status;
}

enum status page_picture_remove(struct context *c)
{
	struct picture_row row;
	const char *home;
	json_t *view;
	enum status status = read_own(c, &row);

	if (status != ST_OK)
		return status;
	home = home_of(c, &row.of, row.on_report);
	if (!home)
		return ST_NOMEM;
	view = json_pack("{s:s, s:o}", "home_url", home, "pictures",
	                 picture_view(c, &row, 1, &row.of, (struct member_id){0}));
	return respond_page(c, "picture_remove.html", "Remove this picture?", view);
}

enum status act_picture_remove(struct context *c)
{
	struct picture_row row;
	enum status status = read_own(c, &row);

	if (status == ST_OK)
		status = picture_remove(c->store, row.id, c->member->id);
	return status == ST_OK ? go_home(c, &row.of, row.on_report, "picture-removed") : status;
}

/* ---- adding to what is there ---- */

static enum status show_form(struct context *c, const struct picture_of *of, size_t room,
                             struct report_id report)
{
	struct form *form =
	        c->request->method == HTTP_POST ? c->form : form_blank(c->arena, picture_inputs);
	const char *home = home_of(c, of, report);

	if (!form || !home)
		return ST_NOMEM;
	return respond_page(c, "picture_add.html", "Add pictures",
	                    json_pack("{s:o, s:s, s:I, s:b}", "form", form_view(form), "home_url",
	                              home, "room", (json_int_t)room, "full", room == 0));
}

static enum status show_add(struct context *c, const struct picture_of *of)
{
	struct report_id report = {0};
	size_t room = 0;
	enum status status = pictures_room(c->store, of, c->member->id, &room, &report);

	return status == ST_OK ? show_form(c, of, room, report) : status;
}

static enum status add(struct context *c, const struct picture_of *of)
{
	struct report_id report = {0};
	size_t room = 0;
	enum status status = pictures_room(c->store, of, c->member->id, &room, &report);

	if (status == ST_OK && form_ok(c->form) && form_count(c->form, "pictures") == 0)
		form_fail(c->form, "pictures", "is needed: choose at least one");
	if (status == ST_OK)
		status = pictures_look(c, room);
	if (status == ST_OK && form_ok(c->form))
		status = pictures_keep(c, of);
	if (!form_ok(c->form))
		return show_form(c, of, room, report);
	return status == ST_OK ? go_home(c, of, report, "pictures-added") : status;
}

static struct picture_of of_note(const struct context *c)
{
	return (struct picture_of){.note = {context_id(c, "note")}};
}

static struct picture_of of_report(const struct context *c)
{
	return (struct picture_of){.report = {context_id(c, "report")}};
}

static struct picture_of of_finding(const struct context *c)
{
	return (struct picture_of){.finding = {context_id(c, "finding")}};
}

enum status page_note_pictures(struct context *c)
{
	struct picture_of of = of_note(c);

	return show_add(c, &of);
}

enum status act_note_pictures(struct context *c)
{
	struct picture_of of = of_note(c);

	return add(c, &of);
}

enum status page_report_pictures(struct context *c)
{
	struct picture_of of = of_report(c);

	return show_add(c, &of);
}

enum status act_report_pictures(struct context *c)
{
	struct picture_of of = of_report(c);

	return add(c, &of);
}

enum status page_finding_pictures(struct context *c)
{
	struct picture_of of = of_finding(c);

	return show_add(c, &of);
}

enum status act_finding_pictures(struct context *c)
{
	struct picture_of of = of_finding(c);

	return add(c, &of);
}
