#include "web/board/line_edit.h"

#include <string.h>

/* A line laid out flat: sections, and steps with the index of theirs. */
struct flat_step {
	struct step_entry step;
	size_t section;
};

struct flat {
	struct arena *arena;
	struct section_entry *sections; /* only code and title count */
	size_t n_sections;
	struct flat_step *steps;
	size_t n_steps;
};

static enum status flatten(struct arena *arena, const struct line_entry *entry, struct flat *out)
{
	size_t count = 0;

	for (size_t i = 0; i < entry->n_sections; i++)
		count += entry->sections[i].n_steps;
	*out = (struct flat){.arena = arena, .n_sections = entry->n_sections};
	out->sections = ARENA_ARRAY(arena, struct section_entry, entry->n_sections + 1);
	out->steps = ARENA_ARRAY(arena, struct flat_step, count + 1);
	if (!out->sections || !out->steps)
		return ST_NOMEM;
	for (size_t i = 0; i < entry->n_sections; i++) {
		out->sections[i] = entry->sections[i];
		for (size_t k = 0; k < entry->sections[i].n_steps; k++)
			out->steps[out->n_steps++] =
			        (struct flat_step){entry->sections[i].steps[k], i};
	}
	return ST_OK;
}

/* n_steps when there is none. */
static size_t find_step(const struct flat *flat, const struct name *code)
{
	size_t i = 0;

	while (i < flat->n_steps && !name_equal(&flat->steps[i].step.code, code))
		i++;
	return i;
}

static size_t find_section(const struct flat *flat, const struct name *code)
{
	size_t i = 0;

	while (i < flat->n_sections && !name_equal(&flat->sections[i].code, code))
		i++;
	return i;
}

static void take_out(struct flat *flat, size_t at)
{
	for (size_t i = at + 1; i < flat->n_steps; i++)
		flat->steps[i - 1] = flat->steps[i];
	flat->n_steps--;
}

static void put_in(struct flat *flat, size_t at, const struct step_entry *step, size_t section)
{
	memmove(&flat->steps[at + 1], &flat->steps[at], (flat->n_steps - at) * sizeof *flat->steps);
	flat->steps[at] = (struct flat_step){*step, section};
	flat->n_steps++;
}

static void put_section(struct flat *flat, size_t at, const struct name *code, const char *title)
{
	memmove(&flat->sections[at + 1], &flat->sections[at],
	        (flat->n_sections - at) * sizeof *flat->sections);
	flat->sections[at] = (struct section_entry){.code = *code, .title = title};
	flat->n_sections++;
	for (size_t i = 0; i < flat->n_steps; i++)
		flat->steps[i].section += flat->steps[i].section >= at;
}

/* Other steps that need it by its old code. */
static enum status rename_needs(struct flat *flat, const struct name *was, const struct name *code)
{
	for (size_t i = 0; i < flat->n_steps; i++) {
		struct step_entry *step = &flat->steps[i].step;
		struct name *needs = ARENA_ARRAY(flat->arena, struct name, step->n_needs);

		if (!needs)
			return ST_NOMEM;
		for (size_t k = 0; k < step->n_needs; k++)
			needs[k] = name_equal(&step->needs[k], was) ? *code : step->needs[k];
		step->needs = needs;
	}
	return ST_OK;
}

/* Back into sections, without those that have no step. */
static enum status gather(const struct flat *flat, const struct line_entry *entry,
                          struct line_entry *out)
{
	struct section_entry *sections =
	        ARENA_ARRAY(flat->arena, struct section_entry, flat->n_sections);
	struct step_entry *steps = ARENA_ARRAY(flat->arena, struct step_entry, flat->n_steps);
	size_t count = 0, at = 0;

	if (!sections || !steps)
		return ST_NOMEM;
	for (size_t i = 0; i < flat->n_sections; i++) {
		struct section_entry section = {.code = flat->sections[i].code,
		                                .title = flat->sections[i].title,
		                                .steps = &steps[at]};

		for (; at < flat->n_steps && flat->steps[at].section == i; at++) {
			steps[at] = flat->steps[at].step;
			section.n_steps++;
		}
		if (section.n_steps)
			sections[count++] = section;
	}
	*out = (struct line_entry){entry->model, sections, count};
	return ST_OK;
}

/* The section of the place, made where it is not there: behind that of `after`. */
static size_t section_of(struct flat *flat, const struct step_place *place, size_t after)
{
	size_t section = find_section(flat, &place->section);

	if (section == flat->n_sections) {
		section = after < flat->n_steps ? flat->steps[after].section + 1 : flat->n_sections;
		put_section(flat, section, &place->section, place->section_title);
	} else if (place->section_title[0]) {
		flat->sections[section].title = place->section_title;
	}
	return section;
}

/* Behind `after` when that is in the section, else first of it. */
static size_t index_in(const struct flat *flat, size_t section, size_t after)
{
	size_t at = 0;

	if (after < flat->n_steps && flat->steps[after].section == section)
		return after + 1;
	while (at < flat->n_steps && flat->steps[at].section < section)
		at++;
	return at;
}

static enum status refuse(const char **key, const char **words, const char *at, const char *why)
{
	*key = at;
	*words = why;
	return ST_INVALID;
}

enum status line_edit_put(struct arena *arena, const struct line_entry *entry,
                          const struct name *was, const struct step_place *place,
                          const struct step_entry *step, struct line_entry *out, const char **key,
                          const char **words)
{
	struct flat flat;
	size_t after, section;
	enum status status = flatten(arena, entry, &flat);

	if (status != ST_OK)
		return status;
	if (!name_is_empty(was) && find_step(&flat, was) == flat.n_steps)
		return refuse(key, words, "was", "is not on the line any more");
	if (!name_is_empty(was))
		take_out(&flat, find_step(&flat, was));
	after = find_step(&flat, &place->after);
	if (!name_is_empty(&place->after) && after == flat.n_steps)
		return refuse(key, words, "after", "is not on the line");
	if (find_section(&flat, &place->section) == flat.n_sections && !place->section_title[0])
		return refuse(key, words, "section_title", "is needed for a new section");
	section = section_of(&flat, place, after);
	put_in(&flat, index_in(&flat, section, after), step, section);
	if (!name_is_empty(was))
		status = rename_needs(&flat, was, &step->code);
	return status == ST_OK ? gather(&flat, entry, out) : status;
}

enum status line_edit_remove(struct arena *arena, const struct line_entry *entry,
                             const struct name *code, struct line_entry *out)
{
	struct flat flat;
	size_t at;
	enum status status = flatten(arena, entry, &flat);

	if (status != ST_OK)
		return status;
	at = find_step(&flat, code);
	if (at == flat.n_steps)
		return ST_MISSING;
	take_out(&flat, at);
	return gather(&flat, entry, out);
}
