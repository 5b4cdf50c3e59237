#include "core/record.h"

#include <string.h>

static void add_field(struct text *out, const char *value)
{
	text_printf(out, "%zu:%s,", strlen(value), value);
}

static void add_name(struct text *out, const struct name *name)
{
	add_field(out, name->len ? name->text : "");
}

static void add_number(struct text *out, bool known, int64_t value)
{
	if (known)
		text_printf(out, "=%lld,", (long long)value);
	else
		text_add(out, "?,");
}

void record_canonical(const struct record *record, struct text *out)
{
	char done[DATE_TEXT_SIZE];

	date_print(record->done, done);
	add_number(out, true, record->id.v);
	add_number(out, true, record->corrects.v);
	add_number(out, true, record->withdraws);
	add_name(out, &record->notice);
	add_name(out, &record->revision);
	add_name(out, &record->part);
	add_name(out, &record->position);
	add_field(out, done);
	add_field(out, record->method);
	add_field(out, record->by);
	add_field(out, record->signed_as);
	add_number(out, record->has_hours, record->hours);
	add_number(out, record->has_landings, record->landings);
	add_field(out, record->remarks);
	add_field(out, record->entered_by);
	add_number(out, true, record->entered_at);
}

bool record_counts(const struct record *records, size_t count, size_t i)
{
	if (records[i].withdraws)
		return false;
	for (size_t later = i + 1; later < count; later++)
		if (records[later].corrects.v && records[later].corrects.v == records[i].id.v)
			return false;
	return true;
}
