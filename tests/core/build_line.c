#include "build_line.h"

#include <stdlib.h>
#include <string.h>

#include "core/quantity.h"

#define MOST 64 /* names in a list */

static const char *const words[] = {"needs", "in", "closes", "parts"};

/* The word that begins here and ends with a blank; -1 for none. */
static int word_at(const char *text)
{
	for (int i = 0; i < (int)ROWS(words); i++) {
		size_t len = strlen(words[i]);

		if (strncmp(text, words[i], len) == 0 && text[len] == ' ')
			return i;
	}
	return -1;
}

static const struct name *read_list(struct arena *arena, const char *text, size_t len,
                                    size_t *count)
{
	struct name *names = ARENA_ARRAY(arena, struct name, MOST);
	const char *end = text + len;

	*count = 0;
	while (text < end) {
		const char *comma = memchr(text, ',', (size_t)(end - text));
		const char *stop = comma ? comma : end;

		assert_true(*count < MOST);
		assert_int_equal(name_make(arena, text, (size_t)(stop - text), &names[(*count)++]),
		                 ST_OK);
		text = comma ? comma + 1 : end;
	}
	return names;
}

static void read_lists(struct arena *arena, const char *text, struct step_entry *step)
{
	const struct name **lists[] = {&step->needs, &step->works_in, &step->closes, &step->parts};
	size_t *counts[] = {&step->n_needs, &step->n_works_in, &step->n_closes, &step->n_parts};

	while (*text) {
		int word = word_at(text);
		const char *begin = text + (word < 0 ? 0 : strlen(words[word]) + 1);
		const char *end = begin;

		if (word < 0)
			fail_msg("not a list of a step: %s", text);
		while (*end && !(end[0] == ' ' && word_at(end + 1) >= 0))
			end++;
		*lists[word] = read_list(arena, begin, (size_t)(end - begin), counts[word]);
		text = *end ? end + 1 : end;
	}
}

static int64_t read_hours(const char *text, size_t len)
{
	int64_t hours = 0;

	assert_int_equal(hours_parse(text, len, &hours), ST_OK);
	return hours;
}

static void read_step(struct arena *arena, const char *text, struct step_entry *step)
{
	size_t code = strcspn(text, " ");
	const char *hours = text + code + (text[code] == ' ');
	size_t len = strcspn(hours, " /");
	const char *rest = hours + len;

	assert_int_equal(name_make(arena, text, code, &step->code), ST_OK);
	step->title = arena_printf(arena, "step %s", step->code.text);
	step->hours = read_hours(hours, len);
	step->hours_to_open = LINE_HOURS_NOT_STATED;
	if (*rest == '/') {
		len = strcspn(++rest, " ");
		step->hours_to_open = read_hours(rest, len);
		rest += len;
	}
	read_lists(arena, rest + (*rest == ' '), step);
}

struct building {
	struct arena *arena;
	struct section_entry *sections;
	size_t n_sections;
	struct step_entry *steps;
	size_t n_steps;
};

static void new_section(struct building *b, const char *code, size_t len, const char *title)
{
	struct section_entry *section = &b->sections[b->n_sections++];

	assert_int_equal(name_make(b->arena, code, len, &section->code), ST_OK);
	section->title = title;
	section->steps = &b->steps[b->n_steps];
}

static void read_part(struct building *b, const char *text)
{
	if (text[0] == '#') {
		size_t len = strcspn(text + 2, " ");

		new_section(b, text + 2, len, text + 2 + len + (text[2 + len] == ' '));
		return;
	}
	if (b->n_sections == 0)
		new_section(b, "S", 1, "Section");
	read_step(b->arena, text, &b->steps[b->n_steps++]);
	b->sections[b->n_sections - 1].n_steps++;
}

struct line_entry *make_line_entry(struct arena *arena, const char *text)
{
	size_t room = strlen(text) / 2 + 2;
	struct building b = {.arena = arena};
	struct line_entry *entry = ARENA_NEW(arena, struct line_entry);
	char *copy = arena_string(arena, text), *save;

	b.sections = ARENA_ARRAY(arena, struct section_entry, room);
	b.steps = ARENA_ARRAY(arena, struct step_entry, room);
	for (char *part = strtok_r(copy, ";", &save); part; part = strtok_r(NULL, ";", &save)) {
		part += strspn(part, " \n\t");
		if (*part)
			read_part(&b, part);
	}
	*entry = (struct line_entry){make_name(arena, "Whimbrel"), b.sections, b.n_sections};
	return entry;
}

struct line *make_line(struct arena *arena, const char *text)
{
	struct line *line = ARENA_NEW(arena, struct line);
	struct line_fault fault;

	if (line_make(arena, make_line_entry(arena, text), line, &fault) != ST_OK)
		fail_msg("section %zu, step %zu, %s: %s", fault.section, fault.step, fault.key,
		         fault.words);
	return line;
}

const char *step_set_text(struct arena *arena, const struct line *line, const uint64_t *set)
{
	char *out = arena_string(arena, "");

	for (uint32_t s = step_set_next(line, set, 0); s != LINE_NO_STEP;
	     s = step_set_next(line, set, s + 1))
		out = arena_printf(arena, "%s%s%s", out, *out ? " " : "",
		                   line->steps[s].entry->code.text);
	return out;
}

static const struct name *random_names(struct arena *arena, uint64_t *seed, const char *letter,
                                       uint32_t below, uint32_t most, size_t *count)
{
	struct name *names = ARENA_ARRAY(arena, struct name, most + 1);
	uint32_t from = below ? (uint32_t)(next_random(seed) % below) : 0;

	*count = below ? next_random(seed) % (most + 1) : 0;
	if (*count > below)
		*count = below;
	for (uint32_t i = 0; i < *count; i++)
		names[i] = make_name(arena,
		                     arena_printf(arena, "%s%u", letter, (from + i * 7) % below));
	for (uint32_t i = 1; i < *count; i++)
		for (uint32_t k = 0; k < i; k++)
			if (name_equal(&names[i], &names[k]))
				*count = i;
	return names;
}

struct line_entry *random_line_entry(struct arena *arena, uint64_t *seed, uint32_t steps,
                                     uint32_t zones)
{
	struct step_entry *list = ARENA_ARRAY(arena, struct step_entry, steps);
	struct section_entry *section = ARENA_NEW(arena, struct section_entry);
	struct line_entry *entry = ARENA_NEW(arena, struct line_entry);

	for (uint32_t i = 0; i < steps; i++) {
		struct step_entry *step = &list[i];

		step->code = make_name(arena, arena_printf(arena, "S%u", i));
		step->title = "a step";
		step->hours = (int64_t)(next_random(seed) % 4000);
		step->hours_to_open = next_random(seed) % 3 ? LINE_HOURS_NOT_STATED
		                                            : (int64_t)(next_random(seed) % 4000);
		step->needs = random_names(arena, seed, "S", i, 3, &step->n_needs);
		step->works_in = random_names(arena, seed, "Z", zones, 2, &step->n_works_in);
	}
	/* Two steps work in every zone, so that any may close it. */
	for (uint32_t i = 0; i < steps; i++)
		if (i < 2 * zones) {
			struct name *names = ARENA_ARRAY(arena, struct name, 1);

			names[0] = make_name(arena, arena_printf(arena, "Z%u", i % zones));
			list[i].works_in = names;
			list[i].n_works_in = 1;
		} else if (next_random(seed) % 3 == 0) {
			list[i].closes =
			        random_names(arena, seed, "Z", zones, 2, &list[i].n_closes);
		}
	*section = (struct section_entry){make_name(arena, "S"), "Section", list, steps};
	*entry = (struct line_entry){make_name(arena, "Whimbrel"), section, 1};
	return entry;
}
