/* Checks run in the order in which a person would read the file, so that the
 * first fault told is the first one met; names become indexes on the way.
 */
#include "core/line.h"

#include <assert.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* ---- sets ---- */

uint64_t *step_set_new(struct arena *arena, const struct line *line)
{
	return ARENA_ARRAY(arena, uint64_t, line->words);
}

uint32_t step_set_next(const struct line *line, const uint64_t *set, uint32_t from)
{
	uint32_t at = from / 64;
	uint64_t word;

	if (from >= line->count)
		return LINE_NO_STEP;
	word = set[at] & (UINT64_MAX << (from % 64));
	while (!word && ++at < line->words)
		word = set[at];
	return word ? at * 64 + (uint32_t)__builtin_ctzll(word) : LINE_NO_STEP;
}

/* ---- faults ---- */

struct making {
	struct arena *arena;
	struct line *line;
	struct line_step *steps;
	struct name *zones;
	uint32_t *zone_order; /* zones in order of name */
	struct line_fault *fault;
};

static struct line_fault at_whole(const char *key)
{
	return (struct line_fault){.depth = LINE_FAULT_WHOLE, .key = key};
}

static struct line_fault at_section(size_t section, const char *key)
{
	return (struct line_fault){.depth = LINE_FAULT_SECTION, .section = section, .key = key};
}

/* step: index in the whole line. */
static struct line_fault at_step(const struct making *m, uint32_t step, const char *key)
{
	uint32_t section = m->steps[step].section;

	return (struct line_fault){.depth = LINE_FAULT_STEP,
	                           .section = section,
	                           .step = step - m->line->section_from[section],
	                           .key = key};
}

static struct line_fault at_item(const struct making *m, uint32_t step, const char *key,
                                 size_t item)
{
	struct line_fault fault = at_step(m, step, key);

	fault.in_list = true;
	fault.item = item;
	return fault;
}

static enum status PRINTF_LIKE(3, 4)
        refuse(struct making *m, struct line_fault fault, const char *format, ...)
{
	va_list args;

	va_start(args, format);
	vsnprintf(fault.words, sizeof fault.words, format, args);
	va_end(args);
	*m->fault = fault;
	return ST_INVALID;
}

/* ---- sections and steps ---- */

static enum status check_section(struct making *m, size_t i)
{
	const struct section_entry *sections = m->line->entry->sections;

	if (name_is_empty(&sections[i].code))
		return refuse(m, at_section(i, "code"), "is needed");
	for (size_t k = 0; k < i; k++)
		if (name_equal(&sections[k].code, &sections[i].code))
			return refuse(m, at_section(i, "code"), "section %s stands twice",
			              sections[i].code.text);
	if (!sections[i].title[0])
		return refuse(m, at_section(i, "title"), "is needed");
	if (sections[i].n_steps == 0)
		return refuse(m, at_section(i, "steps"), "section %s has no steps",
		              sections[i].code.text);
	return ST_OK;
}

static enum status check_sections(struct making *m)
{
	const struct line_entry *entry = m->line->entry;
	size_t steps = 0;
	enum status status = ST_OK;

	if (name_is_empty(&entry->model))
		return refuse(m, at_whole("model"), "is needed");
	if (entry->n_sections == 0)
		return refuse(m, at_whole("sections"), "a line has at least one section");
	if (entry->n_sections > LINE_SECTIONS_MOST)
		return refuse(m, at_whole("sections"), "at most %d sections", LINE_SECTIONS_MOST);
	for (size_t i = 0; status == ST_OK && i < entry->n_sections; i++) {
		status = check_section(m, i);
		steps += entry->sections[i].n_steps;
	}
	if (status == ST_OK && steps > LINE_STEPS_MOST)
		return refuse(m, at_whole("sections"), "at most %d steps", LINE_STEPS_MOST);
	m->line->count = (uint32_t)steps;
	m->line->words = (uint32_t)(steps + 63) / 64;
	return status;
}

static enum status lay_out(struct making *m)
{
	const struct line_entry *entry = m->line->entry;
	uint32_t *from = ARENA_ARRAY(m->arena, uint32_t, entry->n_sections + 1);
	uint32_t at = 0;

	m->steps = ARENA_ARRAY(m->arena, struct line_step, m->line->count);
	if (!from || !m->steps)
		return ST_NOMEM;
	for (uint32_t i = 0; i < entry->n_sections; i++) {
		from[i] = at;
		for (size_t k = 0; k < entry->sections[i].n_steps; k++)
			m->steps[at++] = (struct line_step){.entry = &entry->sections[i].steps[k],
			                                    .section = i};
	}
	from[entry->n_sections] = at;
	m->line->section_from = from;
	m->line->steps = m->steps;
	return ST_OK;
}

static enum status check_list(struct making *m, uint32_t step, const char *key,
                              const struct name *names, size_t count)
{
	if (count > LINE_LIST_MOST)
		return refuse(m, at_step(m, step, key), "at most %d entries", LINE_LIST_MOST);
	for (size_t i = 0; i < count; i++) {
		if (name_is_empty(&names[i]))
			return refuse(m, at_item(m, step, key, i), "is empty");
		for (size_t k = 0; k < i; k++)
			if (name_equal(&names[k], &names[i]))
				return refuse(m, at_item(m, step, key, i), "%s stands twice",
				              names[i].text);
	}
	return ST_OK;
}

static enum status check_step(struct making *m, uint32_t i)
{
	const struct step_entry *step = m->steps[i].entry;
	enum status status;

	if (name_is_empty(&step->code))
		return refuse(m, at_step(m, i, "code"), "is needed");
	if (!step->title[0])
		return refuse(m, at_step(m, i, "title"), "is needed");
	if (step->hours < 0 || step->hours > LINE_HOURS_MOST)
		return refuse(m, at_step(m, i, "hours"), "must be 0 to 9999");
	if (step->hours_to_open > LINE_HOURS_MOST)
		return refuse(m, at_step(m, i, "hours_to_open"), "must be 0 to 9999");
	status = check_list(m, i, "parts", step->parts, step->n_parts);
	if (status == ST_OK)
		status = check_list(m, i, "needs", step->needs, step->n_needs);
	if (status == ST_OK)
		status = check_list(m, i, "works_in", step->works_in, step->n_works_in);
	if (status == ST_OK)
		status = check_list(m, i, "closes", step->closes, step->n_closes);
	return status;
}

/* ---- codes ---- */

static int by_code(const void *a, const void *b, void *context)
{
	const struct line_step *steps = context;
	uint32_t i = *(const uint32_t *)a, k = *(const uint32_t *)b;
	int order = name_compare(&steps[i].entry->code, &steps[k].entry->code);

	return order ? order : (i > k) - (i < k);
}

static enum status index_codes(struct making *m)
{
	uint32_t *list = ARENA_ARRAY(m->arena, uint32_t, m->line->count);

	if (!list)
		return ST_NOMEM;
	for (uint32_t i = 0; i < m->line->count; i++)
		list[i] = i;
	qsort_r(list, m->line->count, sizeof *list, by_code, m->steps);
	m->line->by_code = list;
	for (uint32_t i = 1; i < m->line->count; i++)
		if (name_equal(&m->steps[list[i - 1]].entry->code, &m->steps[list[i]].entry->code))
			return refuse(m, at_step(m, list[i], "code"), "step %s stands twice",
			              m->steps[list[i]].entry->code.text);
	return ST_OK;
}

uint32_t line_find(const struct line *line, const struct name *code)
{
	uint32_t low = 0, high = line->count;

	while (low < high) {
		uint32_t middle = low + (high - low) / 2;
		int order = name_compare(&line->steps[line->by_code[middle]].entry->code, code);

		if (order == 0)
			return line->by_code[middle];
		if (order < 0)
			low = middle + 1;
		else
			high = middle;
	}
	return LINE_NO_STEP;
}

/* ---- needs ---- */

/* A chain of needs from one step to another, found breadth first. */
struct chain {
	uint32_t *queue;
	uint32_t *after; /* the step that was reached from this one, so that the chain reads on */
};

static bool chain_reach(struct making *m, struct chain *chain, uint32_t from, uint32_t to)
{
	uint32_t queued = 1;

	for (uint32_t i = 0; i < m->line->count; i++)
		chain->after[i] = LINE_NO_STEP;
	chain->queue[0] = from;
	chain->after[from] = from;
	for (uint32_t i = 0; i < queued; i++) {
		const struct step_entry *step = m->steps[chain->queue[i]].entry;

		for (size_t k = 0; k < step->n_needs; k++) {
			uint32_t next = line_find(m->line, &step->needs[k]);

			if (next == LINE_NO_STEP || chain->after[next] != LINE_NO_STEP)
				continue;
			chain->after[next] = chain->queue[i];
			chain->queue[queued++] = next;
			if (next == to)
				return true;
		}
	}
	return false;
}

/* The chain runs to `to` and is read backwards from there; a long one is cut. */
static enum status refuse_circle(struct making *m, const struct chain *chain, uint32_t from,
                                 uint32_t to, size_t item)
{
	char words[LINE_FAULT_SIZE / 2];
	const char *first = m->steps[to].entry->code.text;
	size_t used = (size_t)snprintf(words, sizeof words, "%s is needed by", first);
	uint32_t at = to;

	while (at != from && used < sizeof words) {
		at = chain->after[at];
		used += (size_t)snprintf(words + used, sizeof words - used, " %s, that by",
		                         m->steps[at].entry->code.text);
	}
	return refuse(m, at_item(m, to, "needs", item), "the needs run in a circle: %s %s", words,
	              used < sizeof words ? first : "...");
}

static enum status refuse_later(struct making *m, uint32_t step, uint32_t needed, size_t item)
{
	const char *code = m->steps[needed].entry->code.text;
	struct chain chain = {ARENA_ARRAY(m->arena, uint32_t, m->line->count),
	                      ARENA_ARRAY(m->arena, uint32_t, m->line->count)};

	if (!chain.queue || !chain.after)
		return ST_NOMEM;
	if (chain_reach(m, &chain, needed, step))
		return refuse_circle(m, &chain, needed, step, item);
	return refuse(m, at_item(m, step, "needs", item),
	              "step %s stands later in the line; put it before %s", code,
	              m->steps[step].entry->code.text);
}

static enum status link_need(struct making *m, uint32_t step, size_t item, uint32_t *out)
{
	const struct name *code = &m->steps[step].entry->needs[item];
	uint32_t needed = line_find(m->line, code);

	if (needed == LINE_NO_STEP)
		return refuse(m, at_item(m, step, "needs", item), "no step is called %s",
		              code->text);
	if (needed == step)
		return refuse(m, at_item(m, step, "needs", item), "a step cannot need itself");
	if (needed > step)
		return refuse_later(m, step, needed, item);
	*out = needed;
	return ST_OK;
}

/* Needs stand earlier, so that the set of each is ready when a step asks. */
static enum status link_needs(struct making *m)
{
	uint64_t *all = ARENA_ARRAY(m->arena, uint64_t, (size_t)m->line->count * m->line->words);

	if (!all)
		return ST_NOMEM;
	for (uint32_t i = 0; i < m->line->count; i++) {
		const struct step_entry *step = m->steps[i].entry;
		uint32_t *needs = ARENA_ARRAY(m->arena, uint32_t, step->n_needs);
		uint64_t *row = all + (size_t)i * m->line->words;

		if (!needs)
			return ST_NOMEM;
		for (size_t k = 0; k < step->n_needs; k++) {
			enum status status = link_need(m, i, k, &needs[k]);

			if (status != ST_OK)
				return status;
			step_set_add(row, needs[k]);
			for (uint32_t w = 0; w < m->line->words; w++)
				row[w] |= line_row(m->line, all, needs[k])[w];
		}
		m->steps[i].needs = needs;
	}
	m->line->needs_all = all;
	return ST_OK;
}

/* ---- zones ---- */

/* Where the zone stands in zone_order, or should. */
static uint32_t zone_place(const struct making *m, const struct name *name)
{
	uint32_t low = 0, high = m->line->n_zones;

	while (low < high) {
		uint32_t middle = low + (high - low) / 2;

		if (name_compare(&m->zones[m->zone_order[middle]], name) < 0)
			low = middle + 1;
		else
			high = middle;
	}
	return low;
}

static bool zone_is_at(const struct making *m, uint32_t place, const struct name *name)
{
	return place < m->line->n_zones && name_equal(&m->zones[m->zone_order[place]], name);
}

static enum status add_zone(struct making *m, uint32_t step, size_t item, uint32_t *out)
{
	const struct name *name = &m->steps[step].entry->works_in[item];
	uint32_t place = zone_place(m, name);

	if (!zone_is_at(m, place, name)) {
		if (m->line->n_zones == LINE_ZONES_MOST)
			return refuse(m, at_item(m, step, "works_in", item), "at most %d zones",
			              LINE_ZONES_MOST);
		memmove(m->zone_order + place + 1, m->zone_order + place,
		        (m->line->n_zones - place) * sizeof *m->zone_order);
		m->zone_order[place] = m->line->n_zones;
		m->zones[m->line->n_zones++] = *name;
	}
	*out = m->zone_order[place];
	return ST_OK;
}

static enum status link_work(struct making *m, uint32_t step)
{
	size_t count = m->steps[step].entry->n_works_in;
	uint32_t *zones = ARENA_ARRAY(m->arena, uint32_t, count);
	enum status status = zones ? ST_OK : ST_NOMEM;

	for (size_t i = 0; status == ST_OK && i < count; i++)
		status = add_zone(m, step, i, &zones[i]);
	m->steps[step].works_in = zones;
	return status;
}

static bool works_in(const struct line_step *step, uint32_t zone)
{
	for (size_t i = 0; i < step->entry->n_works_in; i++)
		if (step->works_in[i] == zone)
			return true;
	return false;
}

static bool another_works_in(const struct making *m, uint32_t step, uint32_t zone)
{
	for (uint32_t i = 0; i < m->line->count; i++)
		if (i != step && works_in(&m->steps[i], zone))
			return true;
	return false;
}

static enum status link_closing(struct making *m, uint32_t step)
{
	const struct step_entry *entry = m->steps[step].entry;
	uint32_t *zones = ARENA_ARRAY(m->arena, uint32_t, entry->n_closes);

	if (!zones)
		return ST_NOMEM;
	for (size_t i = 0; i < entry->n_closes; i++) {
		uint32_t place = zone_place(m, &entry->closes[i]);

		if (!zone_is_at(m, place, &entry->closes[i]) ||
		    !another_works_in(m, step, m->zone_order[place]))
			return refuse(m, at_item(m, step, "closes", i),
			              "no other step works in the zone \"%s\"",
			              entry->closes[i].text);
		zones[i] = m->zone_order[place];
	}
	m->steps[step].closes = zones;
	return ST_OK;
}

/* No more zones than mentions of them. */
static size_t zone_room(const struct line *line)
{
	size_t room = 0;

	for (uint32_t i = 0; i < line->count; i++)
		room += line->steps[i].entry->n_works_in;
	return room < LINE_ZONES_MOST ? room : LINE_ZONES_MOST;
}

static enum status link_zones(struct making *m)
{
	size_t room = zone_room(m->line);
	enum status status = ST_OK;

	m->zones = ARENA_ARRAY(m->arena, struct name, room);
	m->zone_order = ARENA_ARRAY(m->arena, uint32_t, room);
	if (!m->zones || !m->zone_order)
		return ST_NOMEM;
	for (uint32_t i = 0; status == ST_OK && i < m->line->count; i++)
		status = link_work(m, i);
	for (uint32_t i = 0; status == ST_OK && i < m->line->count; i++)
		status = link_closing(m, i);
	m->line->zones = m->zones;
	return status;
}

/* ---- order ---- */

/* What covers what, in the order that the line has now. */
static enum status make_covers(struct arena *arena, struct line *line)
{
	uint64_t *closers = ARENA_ARRAY(arena, uint64_t, (size_t)line->n_zones * line->words);
	uint64_t *rows = ARENA_ARRAY(arena, uint64_t, (size_t)line->count * line->words);
	uint64_t *later = step_set_new(arena, line);

	if (!closers || !rows || !later)
		return ST_NOMEM;
	for (uint32_t i = 0; i < line->count; i++)
		for (size_t k = 0; k < line->steps[i].entry->n_closes; k++)
			step_set_add(closers + (size_t)line->steps[i].closes[k] * line->words, i);
	for (uint32_t at = line->count; at-- > 0;) {
		const struct line_step *step = &line->steps[line->order[at]];
		uint64_t *row = rows + (size_t)line->order[at] * line->words;

		for (size_t k = 0; k < step->entry->n_works_in; k++)
			for (uint32_t w = 0; w < line->words; w++)
				row[w] |= line_row(line, closers, step->works_in[k])[w] & later[w];
		step_set_add(later, line->order[at]);
	}
	line->covered_by = rows;
	return ST_OK;
}

static enum status make_order(struct arena *arena, struct line *line)
{
	uint32_t *order = ARENA_ARRAY(arena, uint32_t, line->count);

	if (!order)
		return ST_NOMEM;
	for (uint32_t i = 0; i < line->count; i++)
		order[i] = i;
	line->order = line->place = order; /* each step stands at its own number */
	return make_covers(arena, line);
}

enum status line_reorder(struct arena *arena, const struct line *line, uint32_t step, uint32_t to,
                         struct line *out)
{
	uint32_t *order = ARENA_ARRAY(arena, uint32_t, line->count);
	uint32_t *place = ARENA_ARRAY(arena, uint32_t, line->count);
	struct line moved = *line;
	uint32_t from = line->place[step];
	enum status status;

	assert(to < line->count);
	if (!order || !place)
		return ST_NOMEM;
	memcpy(order, line->order, line->count * sizeof *order);
	memmove(order + from, order + from + 1, (line->count - from - 1) * sizeof *order);
	memmove(order + to + 1, order + to, (line->count - to - 1) * sizeof *order);
	order[to] = step;
	for (uint32_t i = 0; i < line->count; i++)
		place[order[i]] = i;
	moved.order = order;
	moved.place = place;
	status = make_covers(arena, &moved);
	if (status == ST_OK)
		*out = moved;
	return status;
}

uint32_t line_needs_later(const struct line *line, uint32_t step)
{
	for (size_t i = 0; i < line->steps[step].entry->n_needs; i++)
		if (line->place[line->steps[step].needs[i]] > line->place[step])
			return line->steps[step].needs[i];
	return LINE_NO_STEP;
}

/* ---- the whole ---- */

int64_t line_hours_to_open(const struct line *line, uint32_t step)
{
	const struct step_entry *entry = line->steps[step].entry;

	return entry->hours_to_open < 0 ? 2 * entry->hours : entry->hours_to_open;
}

enum status line_make(struct arena *arena, const struct line_entry *entry, struct line *out,
                      struct line_fault *fault)
{
	struct line line = {.entry = entry};
	struct making m = {.arena = arena, .line = &line, .fault = fault};
	enum status status = check_sections(&m);

	if (status == ST_OK)
		status = lay_out(&m);
	for (uint32_t i = 0; status == ST_OK && i < line.count; i++)
		status = check_step(&m, i);
	if (status == ST_OK)
		status = index_codes(&m);
	if (status == ST_OK)
		status = link_needs(&m);
	if (status == ST_OK)
		status = link_zones(&m);
	if (status == ST_OK)
		status = make_order(arena, &line);
	if (status == ST_OK)
		*out = line;
	return status;
}
