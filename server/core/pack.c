#include "core/pack.h"

#include <stddef.h>
#include <string.h>

#define ALIGNMENT _Alignof(max_align_t)

struct pack {
	char *block; /* NULL: only measured */
	size_t used;
};

static const char *put_text(struct pack *pack, const char *text)
{
	size_t size;
	char *at = NULL;

	if (!text)
		return NULL;
	size = strlen(text) + 1;
	if (pack->block)
		at = memcpy(pack->block + pack->used, text, size);
	pack->used += size;
	return at;
}

/* Codes and numbers mostly are their own keys. */
static void put_name(struct pack *pack, const struct name *from, struct name *to)
{
	bool same = from->text && from->key && strcmp(from->text, from->key) == 0;
	const char *text = put_text(pack, from->text);
	const char *key = same ? text : put_text(pack, from->key);

	*to = *from;
	to->text = text;
	to->key = key;
}

static void put_serial(struct pack *pack, const struct serial *from, struct serial *to)
{
	*to = *from;
	put_name(pack, &from->shape, &to->shape);
	to->text = put_text(pack, from->text);
	to->bare = from->bare == from->text ? to->text : put_text(pack, from->bare);
}

static void put_single(struct pack *pack, const struct fact_field *field, const struct facts *from,
                       struct facts *to)
{
	switch (field->form) {
	case FORM_NAME:
		put_name(pack, fact_in(from, field), fact_at(to, field));
		break;
	case FORM_SERIAL:
		put_serial(pack, fact_in(from, field), fact_at(to, field));
		break;
	case FORM_DATE:
	case FORM_FLIGHT:
	case FORM_HOURS:
	case FORM_COUNT:
		break; /* borrow nothing */
	}
}

/* ---- lists ---- */

typedef void put_fn(struct pack *pack, const void *from, void *to);

static void put_listed_name(struct pack *pack, const void *from, void *to)
{
	put_name(pack, from, to);
}

static void put_option(struct pack *pack, const void *from, void *to)
{
	*(struct option_fact *)to = *(const struct option_fact *)from;
	put_name(pack, &((const struct option_fact *)from)->name,
	         &((struct option_fact *)to)->name);
}

static void put_subkit(struct pack *pack, const void *from, void *to)
{
	*(struct subkit_fact *)to = *(const struct subkit_fact *)from;
	put_name(pack, &((const struct subkit_fact *)from)->code,
	         &((struct subkit_fact *)to)->code);
}

static void put_part(struct pack *pack, const void *from, void *to)
{
	const struct part_fact *part = from;
	struct part_fact *copy = to;

	*copy = *part;
	put_name(pack, &part->number, &copy->number);
	put_name(pack, &part->position, &copy->position);
	put_serial(pack, &part->serial, &copy->serial);
	put_serial(pack, &part->lot, &copy->lot);
}

static void put_step_plans(struct pack *pack, const void *from, void *to)
{
	*(struct step_plans *)to = *(const struct step_plans *)from;
	put_name(pack, &((const struct step_plans *)from)->step, &((struct step_plans *)to)->step);
}

static void put_step_date(struct pack *pack, const void *from, void *to)
{
	*(struct step_date *)to = *(const struct step_date *)from;
	put_name(pack, &((const struct step_date *)from)->step, &((struct step_date *)to)->step);
}

static void put_record(struct pack *pack, const void *from, void *to)
{
	const struct record *record = from;
	struct record *copy = to;

	*copy = *record;
	put_name(pack, &record->notice, &copy->notice);
	put_name(pack, &record->revision, &copy->revision);
	put_name(pack, &record->part, &copy->part);
	put_name(pack, &record->position, &copy->position);
	copy->method = put_text(pack, record->method);
	copy->by = put_text(pack, record->by);
	copy->signed_as = put_text(pack, record->signed_as);
	copy->remarks = put_text(pack, record->remarks);
	copy->entered_by = put_text(pack, record->entered_by);
}

/* Room for an element that is only measured. */
union scratch {
	struct option_fact option;
	struct subkit_fact subkit;
	struct part_fact part;
	struct name name;
	struct step_plans plans;
	struct step_date date;
	struct record record;
};

static void *put_list(struct pack *pack, const void *from, size_t count, size_t size, put_fn *put)
{
	union scratch scratch;
	char *list = NULL;

	if (!count)
		return NULL;
	pack->used = (pack->used + ALIGNMENT - 1) / ALIGNMENT * ALIGNMENT;
	if (pack->block)
		list = pack->block + pack->used;
	pack->used += count * size;
	for (size_t i = 0; i < count; i++)
		put(pack, (const char *)from + i * size, list ? list + i * size : (void *)&scratch);
	return list;
}

#define PUT(member, put)                                                                           \
	facts.member = put_list(&pack, from->member, from->n_##member, sizeof *from->member, put)

size_t pack_kit(void *block, const struct facts *from, const struct record *records,
                size_t n_records, struct facts *facts_out, const struct record **records_out)
{
	struct pack pack = {.block = block};
	struct facts facts = *from;
	const struct record *kept;

	for (size_t i = 0; i < FACT_FIELDS; i++)
		put_single(&pack, &fact_fields[i], from, &facts);
	PUT(options, put_option);
	PUT(subkits, put_subkit);
	PUT(parts, put_part);
	PUT(notices_done, put_listed_name);
	PUT(steps_done, put_listed_name);
	PUT(step_plans, put_step_plans);
	PUT(step_dates, put_step_date);
	kept = put_list(&pack, records, n_records, sizeof *records, put_record);
	if (block) {
		*facts_out = facts;
		*records_out = kept;
	}
	return pack.used;
}
