#include "core/diff.h"

#include <stdbool.h>
#include <stdint.h>
#include <string.h>

struct token {
	const char *at;
	size_t len;
};

struct tokens {
	const struct token *at;
	size_t count;
};

struct diff {
	struct diff_part *parts; /* room for every token of both texts */
	size_t count;
};

typedef size_t token_length_fn(const char *at);

static size_t word_length(const char *at)
{
	static const char blanks[] = " \t\r";

	if (*at == '\n')
		return 1;
	return strchr(blanks, *at) ? strspn(at, blanks) : strcspn(at, " \t\r\n");
}

static size_t line_length(const char *at)
{
	size_t len = strcspn(at, "\n");

	return len + (at[len] == '\n');
}

static enum status cut(struct arena *arena, const char *text, token_length_fn *length,
                       struct tokens *out)
{
	struct token *tokens;
	size_t count = 0;

	for (const char *at = text; *at; at += length(at))
		count++;
	tokens = ARENA_ARRAY(arena, struct token, count);
	if (!tokens)
		return ST_NOMEM;
	for (size_t i = 0; i < count; i++) {
		tokens[i] = (struct token){text, length(text)};
		text += tokens[i].len;
	}
	*out = (struct tokens){tokens, count};
	return ST_OK;
}

static bool same(const struct token *a, const struct token *b)
{
	return a->len == b->len && memcmp(a->at, b->at, a->len) == 0;
}

static size_t common_head(const struct tokens *a, const struct tokens *b)
{
	size_t n = 0;

	while (n < a->count && n < b->count && same(&a->at[n], &b->at[n]))
		n++;
	return n;
}

static size_t common_tail(const struct tokens *a, const struct tokens *b)
{
	size_t n = 0;

	while (n < a->count && n < b->count &&
	       same(&a->at[a->count - n - 1], &b->at[b->count - n - 1]))
		n++;
	return n;
}

static struct tokens part_of(const struct tokens *whole, size_t first, size_t count)
{
	return (struct tokens){whole->at + first, count};
}

/* Tokens of one kind that follow each other in their text are one part. */
static void add(struct diff *diff, enum diff_kind kind, const struct tokens *tokens)
{
	struct diff_part *last = diff->count ? &diff->parts[diff->count - 1] : NULL;
	size_t len = 0;

	if (tokens->count == 0)
		return;
	for (size_t i = 0; i < tokens->count; i++)
		len += tokens->at[i].len;
	if (last && last->kind == kind)
		last->len += len;
	else
		diff->parts[diff->count++] = (struct diff_part){kind, tokens->at[0].at, len};
}

/* cell(i, j): length of the longest common subsequence of the tokens from i
 * of before and from j of after. */
static void fill_table(uint32_t *table, const struct tokens *before, const struct tokens *after)
{
	size_t width = after->count + 1;

	for (size_t i = before->count; i-- > 0;)
		for (size_t j = after->count; j-- > 0;) {
			uint32_t down = table[(i + 1) * width + j];
			uint32_t right = table[i * width + j + 1];
			uint32_t both = table[(i + 1) * width + j + 1] + 1;

			table[i * width + j] = same(&before->at[i], &after->at[j]) ? both
			                       : down > right                      ? down
			                                                           : right;
		}
}

/* Tokens of `after` up to j that are not told yet go out behind those of before. */
struct walk {
	const struct tokens *before, *after;
	size_t i, j;              /* next tokens */
	size_t told_out, told_in; /* first tokens of a change not told yet */
};

static void tell_change(struct diff *diff, struct walk *walk)
{
	struct tokens gone = part_of(walk->before, walk->told_out, walk->i - walk->told_out);
	struct tokens come = part_of(walk->after, walk->told_in, walk->j - walk->told_in);

	add(diff, DIFF_OUT, &gone);
	add(diff, DIFF_IN, &come);
}

static void tell_same(struct diff *diff, struct walk *walk)
{
	struct tokens token = part_of(walk->after, walk->j, 1);

	tell_change(diff, walk);
	add(diff, DIFF_SAME, &token);
	walk->told_out = ++walk->i;
	walk->told_in = ++walk->j;
}

static void walk_table(const uint32_t *table, const struct tokens *before,
                       const struct tokens *after, struct diff *diff)
{
	size_t width = after->count + 1;
	struct walk walk = {before, after, 0, 0, 0, 0};

	while (walk.i < before->count && walk.j < after->count) {
		if (same(&before->at[walk.i], &after->at[walk.j]))
			tell_same(diff, &walk);
		else if (table[(walk.i + 1) * width + walk.j] >= table[walk.i * width + walk.j + 1])
			walk.i++;
		else
			walk.j++;
	}
	walk.i = before->count;
	walk.j = after->count;
	tell_change(diff, &walk);
}

static bool fits(const struct tokens *before, const struct tokens *after)
{
	return (before->count + 1) * (after->count + 1) <= DIFF_CELLS;
}

static enum status compare(struct arena *arena, const struct tokens *before,
                           const struct tokens *after, struct diff *diff)
{
	uint32_t *table;

	if (!fits(before, after)) {
		add(diff, DIFF_OUT, before);
		add(diff, DIFF_IN, after);
		return ST_OK;
	}
	table = ARENA_ARRAY(arena, uint32_t, (before->count + 1) * (after->count + 1));
	if (!table)
		return ST_NOMEM;
	fill_table(table, before, after);
	walk_table(table, before, after, diff);
	return ST_OK;
}

/* Both texts in tokens of one kind, and what of them is the same at the ends. */
struct pair {
	struct tokens before, after;
	struct tokens before_middle, after_middle;
	size_t head, tail;
};

static enum status make_pair(struct arena *arena, const char *before, const char *after,
                             token_length_fn *length, struct pair *out)
{
	struct tokens before_rest, after_rest;
	enum status status = cut(arena, before, length, &out->before);

	if (status == ST_OK)
		status = cut(arena, after, length, &out->after);
	if (status != ST_OK)
		return status;
	out->head = common_head(&out->before, &out->after);
	before_rest = part_of(&out->before, out->head, out->before.count - out->head);
	after_rest = part_of(&out->after, out->head, out->after.count - out->head);
	out->tail = common_tail(&before_rest, &after_rest);
	out->before_middle = part_of(&before_rest, 0, before_rest.count - out->tail);
	out->after_middle = part_of(&after_rest, 0, after_rest.count - out->tail);
	return ST_OK;
}

enum status diff_words(struct arena *arena, const char *before, const char *after,
                       const struct diff_part **out, size_t *count)
{
	struct pair pair;
	struct diff diff = {.count = 0};
	struct tokens head, tail;
	enum status status = make_pair(arena, before, after, word_length, &pair);

	if (status == ST_OK && !fits(&pair.before_middle, &pair.after_middle))
		status = make_pair(arena, before, after, line_length, &pair);
	if (status != ST_OK)
		return status;
	diff.parts = ARENA_ARRAY(arena, struct diff_part, pair.before.count + pair.after.count + 1);
	if (!diff.parts)
		return ST_NOMEM;
	head = part_of(&pair.after, 0, pair.head);
	tail = part_of(&pair.after, pair.after.count - pair.tail, pair.tail);
	add(&diff, DIFF_SAME, &head);
	status = compare(arena, &pair.before_middle, &pair.after_middle, &diff);
	if (status != ST_OK)
		return status;
	add(&diff, DIFF_SAME, &tail);
	*out = diff.parts;
	*count = diff.count;
	return ST_OK;
}
