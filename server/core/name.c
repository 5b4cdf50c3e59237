#include "core/name.h"

#include <string.h>
#include <utf8proc.h>

#include "core/marks.h"

/* The key is as long as the text, so a letter whose capital takes another
 * number of bytes stays as it is. */
static void fold(char *at, size_t len)
{
	for (size_t i = 0; i < len;) {
		utf8proc_uint8_t *here = (utf8proc_uint8_t *)at + i;
		utf8proc_uint8_t capital[4];
		utf8proc_int32_t point;
		utf8proc_ssize_t step;

		if (*here < 0x80) {
			*here = (utf8proc_uint8_t)(*here >= 'a' && *here <= 'z' ? *here - 'a' + 'A'
			                                                        : *here);
			i++;
			continue;
		}
		step = utf8proc_iterate(here, (utf8proc_ssize_t)(len - i), &point);
		if (step > 0 && utf8proc_encode_char(utf8proc_toupper(point), capital) == step)
			memcpy(here, capital, (size_t)step);
		i += step > 0 ? (size_t)step : 1;
	}
}

/* FNV-1a, 32 bits (Fowler, Noll, Vo; from memory): names are short and the
 * table of one statement is small, so a plain hash does. */
static uint32_t hash_bytes(const char *at, size_t len)
{
	uint32_t hash = 2166136261U;

	for (size_t i = 0; i < len; i++)
		hash = (hash ^ (unsigned char)at[i]) * 16777619U;
	return hash;
}

/* Most names are typed in capitals: then one copy serves as text and key. */
static char *make_key(struct arena *arena, char *kept, size_t used)
{
	char *key;
	size_t i = 0;

	while (i < used && !(kept[i] >= 'a' && kept[i] <= 'z') && !((unsigned char)kept[i] & 0x80))
		i++;
	if (i == used)
		return kept;
	key = arena_copy(arena, kept, used);
	if (key)
		fold(key, used);
	return key;
}

enum status name_make(struct arena *arena, const char *text, size_t len, struct name *out)
{
	char *kept = arena_array(arena, len + 1, 1);
	char *key;
	size_t used;

	if (!kept)
		return ST_NOMEM;
	used = marks_clean(text, len, kept);
	key = make_key(arena, kept, used);
	if (!key)
		return ST_NOMEM;
	*out = (struct name){kept, key, (uint32_t)used, hash_bytes(key, used),
	                     marks_letters(key, used)};
	return ST_OK;
}

bool name_is_empty(const struct name *name)
{
	return name->len == 0;
}

bool name_equal(const struct name *a, const struct name *b)
{
	return a->hash == b->hash && a->len == b->len && a->len > 0 &&
	       memcmp(a->key, b->key, a->len) == 0;
}

bool name_same(const struct name *a, const struct name *b)
{
	return name_equal(a, b) || (a->len == 0 && b->len == 0);
}

enum truth name_like(const struct name *printed, const struct name *typed)
{
	struct marks a, b;

	if (name_is_empty(printed) || name_is_empty(typed))
		return TRUTH_UNKNOWN;
	if (name_equal(printed, typed))
		return TRUTH_TRUE;
	if (marks_apart(printed->letters, typed->letters))
		return TRUTH_FALSE;
	marks_read(printed->key, printed->len, &a);
	marks_read(typed->key, typed->len, &b);
	return marks_same(&a, &b);
}

enum truth name_in_series(const struct name *printed, const struct name *typed)
{
	struct marks a, b;

	if (name_is_empty(printed) || name_is_empty(typed))
		return TRUTH_UNKNOWN;
	if (marks_apart(printed->letters, typed->letters))
		return TRUTH_FALSE;
	marks_read(printed->key, printed->len, &a);
	marks_read(typed->key, typed->len, &b);
	return marks_in_series(&a, &b);
}

bool name_styled(const struct name *a, const struct name *b)
{
	struct marks x, y;

	marks_read(a->key, a->len, &x);
	marks_read(b->key, b->len, &y);
	return marks_styled(&x, &y);
}

int name_compare(const struct name *a, const struct name *b)
{
	uint32_t shorter = a->len < b->len ? a->len : b->len;
	int order = shorter ? memcmp(a->key, b->key, shorter) : 0;

	return order ? order : (a->len > b->len) - (a->len < b->len);
}
