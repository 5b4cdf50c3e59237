#include "web/html/picture_form.h"

#include "web/http/app_parts.h"

#define MEGAPIXEL 1000000

static const char *const mimes[] = {[PICTURE_JPEG] = "image/jpeg", [PICTURE_PNG] = "image/png"};

static struct picture_size size_of(const struct picture *picture)
{
	return (struct picture_size){mimes[picture->kind], picture->width, picture->height,
	                             picture->bytes, picture->size};
}

/* ---- looking ---- */

static const struct http_upload *file_at(const struct context *c, const char *field, size_t row)
{
	return form_value(c->form, field, row)->file;
}

static enum status fail_file(struct context *c, size_t row, const char *words)
{
	const char *name = input_file_name(c->arena, file_at(c, "pictures", row));

	if (!name || !words)
		return ST_NOMEM;
	form_fail_row(c->form, "pictures", row, "“%s” %s", name, words);
	return ST_OK;
}

static enum status refuse_the_rest(struct context *c, size_t room, size_t count)
{
	enum status status = ST_OK;

	for (size_t i = room; status == ST_OK && i < count; i++)
		status = fail_file(
		        c, i,
		        arena_printf(c->arena, "is one too many: there is room for %zu", room));
	return status;
}

enum status pictures_look(struct context *c, size_t room)
{
	size_t count = form_count(c->form, "pictures");
	enum status status = ST_OK;

	if (!form_ok(c->form))
		return ST_OK;
	if (count > room)
		return refuse_the_rest(c, room, count);
	for (size_t i = 0; status == ST_OK && i < count; i++) {
		const struct http_upload *file = file_at(c, "pictures", i);
		enum status found = picture_look(file->bytes, file->len, PICTURE_PIXELS);

		if (found != ST_OK)
			status = fail_file(
			        c, i, picture_refusal(c->arena, file->bytes, file->len, found));
	}
	return status;
}

/* ---- having them made ---- */

/* Rounded up to a whole million: what one costs. */
static int64_t pixels_of(const struct context *c, const char *field, size_t row)
{
	const struct http_upload *file = file_at(c, field, row);
	struct picture_head head = {0, 0, 0, false};

	picture_head_read(file->bytes, file->len, &head);
	return ((int64_t)head.width * head.height + MEGAPIXEL - 1) / MEGAPIXEL * MEGAPIXEL;
}

static int64_t price(int64_t pixels)
{
	int64_t amount = pixels / MEGAPIXEL;

	return amount < LIMIT_PIXELS_BURST ? amount : LIMIT_PIXELS_BURST;
}

static const char *payer(const struct context *c)
{
	return arena_printf(c->arena, "member %lld", (long long)c->member->id.v);
}

static enum status charge(struct context *c, const char *field, int64_t pixels)
{
	const char *key = payer(c);
	int64_t wait = 0;
	enum status status = ST_NOMEM;

	if (key)
		status = limits_take_many(c->app->limits, LIMIT_PIXELS, key, price(pixels),
		                          context_steady(c), &wait);
	if (status != ST_LIMIT)
		return status;
	form_fail(c->form, field,
	          "has to wait: you have sent many pixels within a minute. Send it again in %lld "
	          "seconds",
	          (long long)wait);
	return ST_INVALID;
}

/* What nobody opened, because the shop was full or its helper gone, is not paid for. */
static void pay_back(const struct context *c, const char *field, size_t count)
{
	const char *key = payer(c);
	int64_t all = 0, opened = 0;

	for (size_t i = 0; i < count; i++) {
		enum status status = picture_job_order(c->request->pictures, i)->status;
		int64_t pixels = pixels_of(c, field, i);

		all += pixels;
		opened += status == ST_BUSY || status == ST_IO ? 0 : pixels;
	}
	if (key && opened < all)
		limits_give_back(c->app->limits, LIMIT_PIXELS, key, price(all) - price(opened));
}

/* Leaves the handler: ST_BUSY. */
static enum status have_made(struct context *c, const char *field, size_t count, bool sheet)
{
	struct picture_order *orders = ARENA_ARRAY(c->arena, struct picture_order, count);
	struct picture_job *job = NULL;
	int64_t pixels = 0;
	enum status status;

	for (size_t i = 0; i < count; i++)
		pixels += pixels_of(c, field, i);
	status = charge(c, field, pixels);
	if (status != ST_OK)
		return status;
	for (size_t i = 0; orders && i < count; i++) {
		const struct http_upload *file = file_at(c, field, i);

		orders[i] = (struct picture_order){file->bytes, file->len, sheet, ST_BUSY, {{0}}};
	}
	if (orders)
		job = picture_job_new(c->arena, c->member->id.v, pixels, orders, count);
	c->response->pictures = job;
	return job ? ST_BUSY : ST_NOMEM;
}

/* Whether the file could be opened: ST_INVALID when not, and the form says why. */
static enum status check_made(struct context *c, size_t row, const struct picture_order *order)
{
	const struct http_upload *file = file_at(c, "pictures", row);
	const char *refusal = picture_refusal(c->arena, file->bytes, file->len, order->status);
	enum status status = ST_OK;

	if (order->status == ST_OK)
		return ST_OK;
	if (!refusal)
		return order->status;
	status = fail_file(c, row, refusal);
	return status == ST_OK ? ST_INVALID : status;
}

static enum status take_made(struct context *c, size_t count, struct picture_entry *entries)
{
	enum status first = ST_OK;

	pay_back(c, "pictures", count);
	for (size_t i = 0; i < count; i++) {
		const struct picture_order *order = picture_job_order(c->request->pictures, i);
		enum status status = check_made(c, i, order);

		if (status == ST_OK)
			entries[i] = (struct picture_entry){form_text(c->form, "picture_words"),
			                                    size_of(&order->made[0]),
			                                    size_of(&order->made[1])};
		else if (status != ST_INVALID)
			return status;
		else
			first = status;
	}
	return first;
}

/* ---- keeping ---- */

static enum status check_day(struct context *c, size_t count)
{
	enum status status = pictures_day(c->store, c->member->id, count, c->now);

	return status == ST_LIMIT && form_bound(c->form, c->store, status) == ST_OK ? ST_INVALID
	                                                                            : status;
}

static enum status keep(struct context *c, const struct picture_of *of, size_t count)
{
	struct picture_entry *entries = ARENA_ARRAY(c->arena, struct picture_entry, count);
	enum status status = entries ? check_day(c, count) : ST_NOMEM;

	if (status == ST_OK && !c->request->pictures)
		return have_made(c, "pictures", count, false);
	if (status == ST_OK)
		status = take_made(c, count, entries);
	if (status != ST_OK)
		return status;
	return pictures_add(c->store, of, c->member->id, entries, count, c->now);
}

static enum status keep_where(struct context *c, const struct picture_of *of, bool once)
{
	size_t count = form_count(c->form, "pictures");
	struct report_id report;
	size_t room = 0;
	enum status status;

	if (count == 0)
		return ST_OK;
	status = pictures_room(c->store, of, c->member->id, &room, &report);
	if (status != ST_OK || (once && room < PICTURES_MOST))
		return status;
	if (count <= room)
		return keep(c, of, count);
	status = refuse_the_rest(c, room, count);
	return status == ST_OK ? ST_INVALID : status;
}

enum status pictures_keep(struct context *c, const struct picture_of *of)
{
	return keep_where(c, of, false);
}

enum status pictures_keep_once(struct context *c, const struct picture_of *of)
{
	return keep_where(c, of, true);
}

enum status picture_take_sheet(struct context *c, const char *field, struct picture *out)
{
	const struct http_upload *file = file_at(c, field, 0);
	enum status found = picture_look(file->bytes, file->len, SHEET_PIXELS);
	const char *refusal;

	if (found == ST_OK && !c->request->pictures)
		return have_made(c, field, 1, true);
	if (found == ST_OK) {
		pay_back(c, field, 1);
		found = picture_job_order(c->request->pictures, 0)->status;
	}
	if (found == ST_OK) {
		*out = picture_job_order(c->request->pictures, 0)->made[0];
		return ST_OK;
	}
	refusal = picture_refusal(c->arena, file->bytes, file->len, found);
	if (!refusal)
		return found;
	form_fail(c->form, field, "%s", refusal);
	return ST_INVALID;
}

json_t *picture_blank_fields(struct arena *arena)
{
	static const struct input inputs[] = {PICTURE_INPUTS, INPUTS_END};
	const struct form *form = form_blank(arena, inputs);

	return form ? form_view(form) : NULL;
}
