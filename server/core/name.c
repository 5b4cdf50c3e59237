#include "core/name.h"

#include <string.h>

static bool is_blank(char c)
{
	return c == ' ' || c == '\t' || c == '\n' || c == '\r';
}

static char fold(char c)
{
	return c >= 'a' && c <= 'z' ? (char)(c - 'a' + 'A') : c;
}

/* Copies without blanks at the ends and with one space for each inner run. */
static size_t squeeze(const char *text, size_t len, char *out)
{
	size_t used = 0;

	for (size_t i = 0; i < len; i++) {
		if (!is_blank(text[i]))
			out[used++] = text[i];
		else if (used && out[used - 1] != ' ')
			out[used++] = ' ';
	}
	if (used && out[used - 1] == ' ')
		used--;
	out[used] = '\0';
	return used;
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

	while (i < used && fold(kept[i]) == kept[i])
		i++;
	if (i == used)
		return kept;
	key = arena_copy(arena, kept, used);
	for (; key && i < used; i++)
		key[i] = fold(kept[i]);
	return key;
}

enum status name_make(struct arena *arena, const char *text, size_t len, struct name *out)
{
	char *kept = arena_array(arena, len + 1, 1);
	char *key;
	size_t used;

	if (!kept)
		return ST_NOMEM;
	used = squeeze(text, len, kept);
	key = make_key(arena, kept, used);
	if (!key)
		return ST_NOMEM;
	*out = (struct name){kept, key, (uint32_t)used, hash_bytes(key, used)};
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

bool name_begins(const struct name *name, const struct name *prefix)
{
	return prefix->len > 0 && name->len >= prefix->len &&
	       memcmp(name->key, prefix->key, prefix->len) == 0;
}

int name_compare(const struct name *a, const struct name *b)
{
	uint32_t shorter = a->len < b->len ? a->len : b->len;
	int order = shorter ? memcmp(a->key, b->key, shorter) : 0;

	return order ? order : (a->len > b->len) - (a->len < b->len);
}
