#include "core/told.h"

static bool is_own_work(struct told_since since)
{
	return since.kit && !since.list;
}

static bool became_overdue(const struct told *was, const struct told *is)
{
	return is->overdue && !was->overdue;
}

/* Told of and in the same revision: is its standing news? */
static bool standing_is_news(const struct told *was, const struct told *is, struct told_since since)
{
	if (became_overdue(was, is) && since.day)
		return true;
	if (was->standing == is->standing && !became_overdue(was, is))
		return false;
	return !is_own_work(since);
}

static bool compare_known(const struct told *was, const struct told_now *is,
                          struct told_since since, enum told_kind *out)
{
	bool gone = is->so.standing == STANDING_NOT_EFFECTIVE && is->cancelled;

	if (gone)
		*out = TOLD_CANCELLED;
	else if (was->revision.v != is->so.revision.v)
		*out = TOLD_REVISED;
	else if (standing_is_news(was, &is->so, since))
		*out = TOLD_STANDING;
	else
		return false;
	return true;
}

static bool compare_unknown(const struct told_now *is, struct told_since since, enum told_kind *out)
{
	if (is->so.standing == STANDING_NOT_EFFECTIVE || is_own_work(since))
		return false;
	*out = since.list ? TOLD_NEW : TOLD_STANDING;
	return true;
}

enum status told_changes(struct arena *arena, const struct told *told, size_t n_told,
                         const struct told_now *now, size_t n_now, struct told_since since,
                         const struct told_change **out, size_t *count)
{
	struct told_change *changes = ARENA_ARRAY(arena, struct told_change, n_now);
	size_t found = 0, at = 0;

	if (!changes)
		return ST_NOMEM;
	for (size_t i = 0; !since.first && i < n_now; i++) {
		struct told_change change = {.now = i, .from = STANDING_NOT_EFFECTIVE};
		bool news;

		while (at < n_told && told[at].notice.v < now[i].so.notice.v)
			at++;
		if (at < n_told && told[at].notice.v == now[i].so.notice.v) {
			change.from = told[at].standing;
			change.from_overdue = told[at].overdue;
			news = compare_known(&told[at], &now[i], since, &change.kind);
		} else {
			news = compare_unknown(&now[i], since, &change.kind);
		}
		if (news)
			changes[found++] = change;
	}
	*out = changes;
	*count = found;
	return ST_OK;
}

enum status told_after(struct arena *arena, const struct told_now *now, size_t n_now,
                       const struct told **out, size_t *count)
{
	struct told *rows = ARENA_ARRAY(arena, struct told, n_now);
	size_t kept = 0;

	if (!rows)
		return ST_NOMEM;
	for (size_t i = 0; i < n_now; i++)
		if (now[i].so.standing != STANDING_NOT_EFFECTIVE)
			rows[kept++] = now[i].so;
	*out = rows;
	*count = kept;
	return ST_OK;
}

static bool same(const struct told *a, const struct told *b)
{
	return a->notice.v == b->notice.v && a->revision.v == b->revision.v &&
	       a->standing == b->standing && a->overdue == b->overdue;
}

bool told_equal(const struct told *a, size_t n_a, const struct told *b, size_t n_b)
{
	if (n_a != n_b)
		return false;
	for (size_t i = 0; i < n_a; i++)
		if (!same(&a[i], &b[i]))
			return false;
	return true;
}
