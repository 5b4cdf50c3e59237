/* All current notices as core structs.
 *
 * One walk over the current revisions and one over each of their lists, all
 * in order of revision id: five statements however many notices there are.
 */
#include <string.h>

#include "store/revisions.h"
#include "store/settings.h"

#define SECONDS_OF_DAY 86400

enum { SQL_HOW_MANY, SQL_CURRENT, SQL_CREDITS, SQL_COUNT };

static const char *const texts[SQL_COUNT] = {
        [SQL_HOW_MANY] = "SELECT count(*) FROM notices WHERE current_revision IS NOT NULL",
        [SQL_CURRENT] =
                "SELECT r.id, n.id, n.number, r.label, n.issuer, r.title, n.kind, r.force, "
                "r.issued,"
                " r.effectivity, r.plans_carry, r.due,"
                " n.cancelled_on, r.published_at, r.compliance"
                " FROM notices n JOIN revisions r ON r.id = n.current_revision ORDER BY r.id",
        /* A credited revision without lines gives one row, its part NULL. */
        [SQL_CREDITS] =
                "SELECT c.revision_id, c.place, c.name, l.part IS NOT NULL, l.part, l.position,"
                " l.replacement, l.disposition, l.lots, l.remark"
                " FROM revision_names c JOIN revisions r ON r.id = c.revision_id"
                " LEFT JOIN revisions e ON e.notice_id = r.notice_id AND e.label_key = c.name_key"
                " AND e.state = 2 AND e.id <> r.id"
                " LEFT JOIN revision_lines l ON l.revision_id = e.id"
                " WHERE c.list = 4 ORDER BY c.revision_id, c.place, l.place",
};

const struct sql_set catalogue_sql = {SET_CATALOGUE, SQL_COUNT, texts};

struct notice_walk {
	struct query notices, lines, material, names, credits;
};

static struct notice_walk walk_start(struct store *store, struct arena *arena)
{
	return (struct notice_walk){
	        .notices = query_start(store, &catalogue_sql, SQL_CURRENT, arena),
	        .lines = lines_walk(store, arena, 1, INT64_MAX),
	        .material = material_walk(store, arena, 1, INT64_MAX),
	        .names = names_walk(store, arena, 1, INT64_MAX),
	        .credits = query_start(store, &catalogue_sql, SQL_CREDITS, arena),
	};
}

static enum status worse(enum status a, enum status b)
{
	return a != ST_OK ? a : b;
}

static enum status walk_end(struct notice_walk *walk)
{
	enum status status = query_end(&walk->notices);

	status = worse(status, query_end(&walk->lines));
	status = worse(status, query_end(&walk->material));
	status = worse(status, query_end(&walk->names));
	return worse(status, query_end(&walk->credits));
}

static void compile_lots(struct query *q, struct notice_line *line)
{
	const char *lots = line->lots_text;
	struct statement_fault fault;

	if (q->status == ST_OK && *lots)
		q->status = effectivity_parse_lots(q->arena, lots, strlen(lots), &line->lots,
		                                   &line->n_lots, &fault);
}

static void read_line(struct query *q, void *row)
{
	struct notice_line *line = row;

	line->part = read_name(q);
	line->position = read_name(q);
	line->replacement = read_name(q);
	line->disposition = (enum disposition)read_int(q);
	line->lots_text = read_text(q);
	line->remark = read_text(q);
	compile_lots(q, line);
}

/* The part number where one is given, else the item itself. */
static enum status compile_material(struct arena *arena, const struct material_text *text,
                                    struct notice_material *out)
{
	const char *number = *text->part ? text->part : text->item;
	struct cuts_fault fault;
	enum status status = name_make(arena, number, strlen(number), &out->number);

	out->item = text->item;
	out->quantity = text->quantity;
	if (status == ST_OK && *text->cut)
		return cuts_parse(arena, text->cut, &out->cuts, &out->n_cuts, &fault);
	return status == ST_OK ? amount_read(arena, text->quantity, &out->amount) : status;
}

static void read_material(struct query *q, void *row)
{
	struct material_text text = {.item = ""};

	read_material_text(q, &text);
	if (q->status == ST_OK)
		q->status = compile_material(q->arena, &text, row);
}

static void read_listed_name(struct query *q, void *row)
{
	*(struct name *)row = read_name(q);
}

static const struct name *names(struct query *q, const struct notice *notice, int list,
                                size_t *count)
{
	struct rows rows = {0};

	names_of(q, notice->revision_id.v, list, read_listed_name, sizeof(struct name), &rows);
	*count = rows.count;
	return rows.at;
}

static void read_lists(struct notice_walk *walk, struct notice *notice)
{
	struct rows lines = {0}, material = {0};

	query_rows_of(&walk->material, notice->revision_id.v, read_material,
	              sizeof(struct notice_material), &material);
	notice->material = material.at;
	notice->n_material = material.count;
	query_rows_of(&walk->lines, notice->revision_id.v, read_line, sizeof(struct notice_line),
	              &lines);
	notice->lines = lines.at;
	notice->n_lines = lines.count;
	notice->steps = names(&walk->names, notice, LIST_STEPS, &notice->n_steps);
	notice->supersedes = names(&walk->names, notice, LIST_SUPERSEDES, &notice->n_supersedes);
	notice->requires = names(&walk->names, notice, LIST_REQUIRES, &notice->n_requires);
	notice->terminates = names(&walk->names, notice, LIST_TERMINATES, &notice->n_terminates);
}

/* One credit: the rows of its lines, told apart by their place. */
static void read_credit(struct query *q, int64_t revision, struct revision_credit *credit)
{
	int64_t place = query_peek(q);
	struct rows lines = {0};

	while (query_of(q, revision) && query_peek(q) == place) {
		(void)read_int(q);
		credit->revision = read_name(q);
		if (read_int(q)) {
			void *line = rows_add(q->arena, &lines, sizeof(struct notice_line));

			if (line)
				read_line(q, line);
			else
				q->status = ST_NOMEM;
		}
		query_pass(q);
	}
	credit->lines = lines.at;
	credit->n_lines = lines.count;
}

static void read_credits(struct query *q, struct notice *notice)
{
	struct rows rows = {0};

	while (query_of(q, notice->revision_id.v)) {
		struct revision_credit *credit = rows_add(q->arena, &rows, sizeof *credit);

		if (credit)
			read_credit(q, notice->revision_id.v, credit);
		else
			q->status = ST_NOMEM;
	}
	notice->credits = rows.at;
	notice->n_credits = rows.count;
}

static void compile_statement(struct query *q, struct notice *notice)
{
	struct statement_fault fault;

	if (q->status == ST_OK)
		q->status = effectivity_parse(q->arena, notice->effectivity_text,
		                              strlen(notice->effectivity_text),
		                              &notice->effectivity, &fault);
}

static void compile_due(struct query *q, const char *text, struct notice *notice)
{
	struct statement_fault fault;

	if (q->status == ST_OK && *text)
		q->status = due_parse(q->arena, text, strlen(text), &notice->due, &fault);
}

static void read_notice(struct query *q, struct notice *notice)
{
	struct date_fact cancelled;
	const char *due;

	notice->revision_id.v = read_int(q);
	notice->id.v = read_int(q);
	notice->number = read_name(q);
	notice->revision = read_name(q);
	notice->issuer = read_text(q);
	notice->title = read_text(q);
	notice->kind = (enum notice_kind)read_int(q);
	notice->force = (enum force)read_int(q);
	notice->issued = read_date(q);
	notice->effectivity_text = read_text(q);
	notice->plans_carry = read_date_fact(q);
	due = read_text(q);
	cancelled = read_date_fact(q);
	notice->cancelled = cancelled.state == DATE_KNOWN;
	notice->cancelled_on = cancelled.date;
	notice->published_on = (day_number)(read_int(q) / SECONDS_OF_DAY);
	notice->compliance = read_text(q);
	compile_statement(q, notice);
	compile_due(q, due, notice);
}

static enum status reserve(struct store *store, struct arena *arena, struct rows *rows)
{
	struct query q = query_start(store, &catalogue_sql, SQL_HOW_MANY, NULL);
	int64_t count = 0;
	enum status status = query_int(&q, &count);

	if (status != ST_OK || count == 0)
		return status;
	return rows_reserve(arena, rows, sizeof(struct notice), (size_t)count);
}

static enum status load(struct store *store, struct arena *arena, struct rows *rows)
{
	struct notice_walk walk = walk_start(store, arena);

	while (query_row(&walk.notices)) {
		struct notice *notice = rows_add(arena, rows, sizeof *notice);

		if (!notice) {
			walk.notices.status = ST_NOMEM;
			break;
		}
		read_notice(&walk.notices, notice);
		read_lists(&walk, notice);
		read_credits(&walk.credits, notice);
	}
	return walk_end(&walk);
}

enum status notice_load(struct store *store, struct arena *arena, const struct notice **out,
                        size_t *count, int64_t *generation)
{
	struct rows rows = {0};
	int64_t belongs_to = 0;
	enum status status = act_begin_reading(store);

	if (status != ST_OK)
		return status;
	status = setting_generation(store, &belongs_to);
	if (status == ST_OK)
		status = reserve(store, arena, &rows);
	if (status == ST_OK)
		status = load(store, arena, &rows);
	status = act_end(store, status);
	if (status != ST_OK)
		return status;
	*out = rows.at;
	*count = rows.count;
	*generation = belongs_to;
	return ST_OK;
}
