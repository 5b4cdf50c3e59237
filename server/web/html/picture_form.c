#include "web/html/picture_form.h"

#include "web/chapter/picture.h"

static const char *const mimes[] = {[PICTURE_JPEG] = "image/jpeg", [PICTURE_PNG] = "image/png"};

static struct picture_size size_of(const struct picture *picture)
{
	return (struct picture_size){mimes[picture->kind], picture->width, picture->height,
	                             picture->bytes, picture->size};
}

static enum status fail_file(struct context *c, size_t row, const char *words)
{
	const struct http_upload *file = form_value(c->form, "pictures", row)->file;
	const char *name = input_file_name(c->arena, file);

	if (!name || !words)
		return ST_NOMEM;
	form_fail_row(c->form, "pictures", row, "“%s” %s", name, words);
	return ST_OK;
}

static enum status take_one(struct context *c, size_t row, struct picture_entry *out)
{
	const struct http_upload *file = form_value(c->form, "pictures", row)->file;
	struct picture large, small;
	enum status status = picture_clean_two(c->arena, file->bytes, file->len, &large, &small);

	if (status == ST_OK) {
		out->words = form_text(c->form, "picture_words");
		out->large = size_of(&large);
		out->small = size_of(&small);
		return ST_OK;
	}
	if (status == ST_NOMEM)
		return ST_NOMEM;
	return fail_file(c, row, picture_refusal(c->arena, file->bytes, file->len, status));
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

enum status pictures_take(struct context *c, size_t room, struct pictures_taken *out)
{
	size_t count = form_count(c->form, "pictures");
	struct picture_entry *entries;
	enum status status = ST_OK;

	*out = (struct pictures_taken){NULL, 0};
	if (!form_ok(c->form) || count == 0)
		return ST_OK;
	if (count > room)
		return refuse_the_rest(c, room, count);
	entries = ARENA_ARRAY(c->arena, struct picture_entry, count);
	if (!entries)
		return ST_NOMEM;
	for (size_t i = 0; status == ST_OK && i < count; i++)
		status = take_one(c, i, &entries[i]);
	if (status == ST_OK && form_ok(c->form))
		*out = (struct pictures_taken){entries, count};
	return status;
}

enum status pictures_add_once(struct context *c, const struct picture_of *of,
                              const struct pictures_taken *pictures)
{
	struct report_id report;
	size_t room = 0;
	enum status status;

	if (!pictures->count)
		return ST_OK;
	status = pictures_room(c->store, of, c->member->id, &room, &report);
	if (status != ST_OK || room < PICTURES_MOST)
		return status;
	return pictures_add(c->store, of, c->member->id, pictures->at, pictures->count);
}

json_t *picture_blank_fields(struct arena *arena)
{
	static const struct input inputs[] = {PICTURE_INPUTS, INPUTS_END};
	const struct form *form = form_blank(arena, inputs);

	return form ? form_view(form) : NULL;
}
