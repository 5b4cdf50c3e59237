/* Content of revisions: one row, and lists in order of place. */
#include "store/revisions.h"

#include <stddef.h>
#include <string.h>

#define COLUMN(member, ...) ", " #member
#define COLUMN_OF(member, ...) ", r." #member
#define PARAMETER(member, ...) ", ?"
#define SET_COLUMN(member, ...) ", " #member " = ?"
#define REVISION_COLUMNS                                                                           \
	"SELECT r.id, n.id, r.state, coalesce(n.current_revision = r.id, 0), r.edit,"              \
	" coalesce(r.editor, 0), coalesce(e.name, 'removed member'), r.edited_at,"                 \
	" coalesce(r.publisher, 0), CASE WHEN r.published_at = 0 THEN ''"                          \
	" ELSE coalesce(p.name, 'removed member') END, r.published_at, n.cancelled_on,"            \
	" n.cancel_reason, n.current_revision IS NOT NULL, n.number, n.issuer, n.kind, r.label,"   \
	" r.force" REVISION_TEXTS(                                                                 \
	        COLUMN_OF) " FROM revisions r JOIN notices n ON n.id = r.notice_id"                \
	                   " LEFT JOIN members e ON e.id = r.editor LEFT JOIN members p ON p.id "  \
	                   "= r.publisher "
#define OF_RANGE " WHERE revision_id BETWEEN ?1 AND ?2 ORDER BY revision_id, "

enum {
	SQL_NOTICE_INSERT,
	SQL_NOTICE_UPDATE,
	SQL_INSERT,
	SQL_UPDATE,
	SQL_COPY,
	SQL_COPY_LINES,
	SQL_COPY_MATERIAL,
	SQL_COPY_NAMES,
	SQL_COPY_ATTACHMENTS,
	SQL_READ,
	SQL_CURRENT,
	SQL_LINES,
	SQL_MATERIAL,
	SQL_NAMES,
	SQL_CLEAR_LINES,
	SQL_CLEAR_MATERIAL,
	SQL_CLEAR_NAMES,
	SQL_ADD_LINE,
	SQL_ADD_MATERIAL,
	SQL_ADD_NAME,
	SQL_COUNT
};

static const char *const texts[SQL_COUNT] = {
        [SQL_NOTICE_INSERT] = "INSERT INTO notices (number, number_key, issuer, issuer_key, kind)"
                              " VALUES (?1, ?2, ?3, ?4, ?5)",
        [SQL_NOTICE_UPDATE] =
                "UPDATE notices SET number = ?2, number_key = ?3, issuer = ?4,"
                " issuer_key = ?5, kind = ?6 WHERE id = ?1 AND current_revision IS NULL",
        [SQL_INSERT] =
                "INSERT INTO revisions (notice_id, edit, state, editor, edited_at, publisher,"
                " published_at, label, label_key, force" REVISION_TEXTS(
                        COLUMN) ") VALUES"
                                " (?1, 1, ?2, ?3, ?4, iif(?2 = 2, ?3, NULL), iif(?2 = 2, ?4, 0), "
                                "?5, ?6, ?7" REVISION_TEXTS(PARAMETER) ")",
        [SQL_UPDATE] =
                "UPDATE revisions SET edit = edit + 1, state = ?2, editor = ?3, edited_at = ?4,"
                " label = ?5, label_key = ?6, force = ?7" REVISION_TEXTS(
                        SET_COLUMN) " WHERE id = ?1",
        [SQL_COPY] =
                "INSERT INTO revisions (notice_id, edit, state, editor, edited_at, label,"
                " label_key, issued, force" COPIED_TEXTS(
                        COLUMN) ")"
                                " SELECT notice_id, 1, 0, ?2, ?3, '', '', '', force" COPIED_TEXTS(
                                        COLUMN) " FROM revisions"
                                                " WHERE id = (SELECT current_revision FROM notices "
                                                "WHERE id = ?1)",
        [SQL_COPY_LINES] =
                "INSERT INTO revision_lines (revision_id, place, part, part_key, position, "
                "position_key,"
                " replacement, disposition, lots, remark)"
                " SELECT ?2, place, part, part_key, position, position_key, replacement, "
                "disposition,"
                " lots, remark FROM revision_lines"
                " WHERE revision_id = (SELECT current_revision FROM notices WHERE id = ?1)",
        [SQL_COPY_MATERIAL] =
                "INSERT INTO revision_material (revision_id, place, item, quantity, remark,"
                " part, cut) SELECT ?2, place, item, quantity, remark, part, cut FROM "
                "revision_material"
                " WHERE revision_id = (SELECT current_revision FROM notices WHERE id = ?1)",
        /* Credits are not copied: that a new revision needs no further work must be said anew. */
        [SQL_COPY_NAMES] =
                "INSERT INTO revision_names (revision_id, list, place, name, name_key)"
                " SELECT ?2, list, place, name, name_key FROM revision_names WHERE list < 4"
                " AND revision_id = (SELECT current_revision FROM notices WHERE id = ?1)",
        [SQL_COPY_ATTACHMENTS] = "INSERT INTO attachments (revision_id, file_id, name, mime)"
                                 " SELECT ?2, file_id, name, mime FROM attachments"
                                 " WHERE revision_id = (SELECT current_revision FROM notices WHERE "
                                 "id = ?1) ORDER BY id",
        [SQL_READ] = REVISION_COLUMNS "WHERE r.id = ?1",
        [SQL_CURRENT] = REVISION_COLUMNS "WHERE n.id = ?1 AND r.id = n.current_revision",
        [SQL_LINES] = "SELECT revision_id, part, position, replacement, disposition, lots, remark"
                      " FROM revision_lines" OF_RANGE "place",
        [SQL_MATERIAL] = "SELECT revision_id, item, quantity, remark, part, cut"
                         " FROM revision_material" OF_RANGE "place",
        [SQL_NAMES] = "SELECT revision_id, list, name FROM revision_names" OF_RANGE "list, place",
        [SQL_CLEAR_LINES] = "DELETE FROM revision_lines WHERE revision_id = ?1",
        [SQL_CLEAR_MATERIAL] = "DELETE FROM revision_material WHERE revision_id = ?1",
        [SQL_CLEAR_NAMES] = "DELETE FROM revision_names WHERE revision_id = ?1",
        [SQL_ADD_LINE] = "INSERT INTO revision_lines (revision_id, place, part, part_key, position,"
                         " position_key, replacement, disposition, lots, remark)"
                         " VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10)",
        [SQL_ADD_MATERIAL] =
                "INSERT INTO revision_material (revision_id, place, item, quantity, remark,"
                " part, cut) VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7)",
        [SQL_ADD_NAME] = "INSERT INTO revision_names (revision_id, place, list, name, name_key)"
                         " VALUES (?1, ?2, ?3, ?4, ?5)",
};

const struct sql_set revision_sql = {SET_REVISIONS, SQL_COUNT, texts};

#define EMPTY(member, ...) .member = "",
const struct revision_content revision_content_empty = {
        REVISION_TEXTS(EMPTY).number = "",
        .issuer = "",
        .revision = "",
};

#define ROW(member, key, field, kind, longest, name, ...)                                          \
	{key, field, name, TEXT_##kind, longest, offsetof(struct revision_content, member)},
const struct revision_text revision_texts[REVISION_TEXT_COUNT] = {REVISION_TEXTS(ROW)};

const char **revision_text_at(struct revision_content *content, const struct revision_text *text)
{
	return (const char **)((char *)content + text->at);
}

const char *revision_text_of(const struct revision_content *content,
                             const struct revision_text *text)
{
	return *(const char *const *)((const char *)content + text->at);
}

static struct query start_of(struct store *store, size_t which, struct arena *arena, int64_t id)
{
	struct query q = query_start(store, &revision_sql, which, arena);

	bind_int(&q, id);
	return q;
}

/* Writing ------------------------------------------------------------------- */

static void bind_notice(struct query *q, const struct revision_content *content)
{
	bind_name_text(q, content->number);
	bind_name_text(q, content->issuer);
	bind_int(q, content->kind);
}

enum status notice_insert(struct store *store, const struct revision_content *content,
                          struct notice_id *out)
{
	struct query q = query_start(store, &revision_sql, SQL_NOTICE_INSERT, NULL);

	bind_notice(&q, content);
	return query_insert(&q, &out->v);
}

enum status notice_update(struct store *store, struct notice_id id,
                          const struct revision_content *content)
{
	struct query q = start_of(store, SQL_NOTICE_UPDATE, NULL, id.v);

	bind_notice(&q, content);
	return query_run(&q);
}

static void bind_row(struct query *q, const struct revision_origin *origin,
                     const struct revision_content *content)
{
	bind_int(q, origin->state);
	bind_id_or_null(q, origin->by.v);
	bind_int(q, origin->now);
	bind_name_text(q, content->revision);
	bind_int(q, content->force);
	for (size_t i = 0; i < REVISION_TEXT_COUNT; i++)
		bind_text(q, revision_text_of(content, &revision_texts[i]));
}

static struct query start_item(struct store *store, size_t which, struct revision_id id,
                               size_t place)
{
	struct query q = start_of(store, which, NULL, id.v);

	bind_int(&q, (int64_t)place);
	return q;
}

static enum status add_lines(struct store *store, struct revision_id id,
                             const struct revision_content *content)
{
	enum status status = ST_OK;

	for (size_t i = 0; status == ST_OK && i < content->n_lines; i++) {
		const struct line_text *line = &content->lines[i];
		struct query q = start_item(store, SQL_ADD_LINE, id, i);

		bind_name_text(&q, line->part);
		bind_name_text(&q, line->position);
		bind_text(&q, line->replacement);
		bind_int(&q, line->disposition);
		bind_text(&q, line->lots);
		bind_text(&q, line->remark);
		status = query_run(&q);
	}
	return status;
}

static enum status add_material(struct store *store, struct revision_id id,
                                const struct revision_content *content)
{
	enum status status = ST_OK;

	for (size_t i = 0; status == ST_OK && i < content->n_material; i++) {
		struct query q = start_item(store, SQL_ADD_MATERIAL, id, i);

		bind_text(&q, content->material[i].item);
		bind_text(&q, content->material[i].quantity);
		bind_text(&q, content->material[i].remark);
		bind_text(&q, content->material[i].part);
		bind_text(&q, content->material[i].cut);
		status = query_run(&q);
	}
	return status;
}

static enum status add_names(struct store *store, struct revision_id id, int list,
                             const struct text_list *names)
{
	enum status status = ST_OK;

	for (size_t i = 0; status == ST_OK && i < names->count; i++) {
		struct query q = start_item(store, SQL_ADD_NAME, id, i);

		bind_int(&q, list);
		bind_name_text(&q, names->at[i]);
		status = query_run(&q);
	}
	return status;
}

static enum status add_lists(struct store *store, struct revision_id id,
                             const struct revision_content *content)
{
	const struct text_list *const lists[NAME_LISTS] = {
	        [LIST_STEPS] = &content->steps,       [LIST_SUPERSEDES] = &content->supersedes,
	        [LIST_REQUIRES] = &content->requires, [LIST_TERMINATES] = &content->terminates,
	        [LIST_CREDITS] = &content->credits,
	};
	enum status status = add_lines(store, id, content);

	if (status == ST_OK)
		status = add_material(store, id, content);
	for (int list = 0; status == ST_OK && list < NAME_LISTS; list++)
		status = add_names(store, id, list, lists[list]);
	return status;
}

enum status revision_insert(struct store *store, const struct revision_origin *origin,
                            const struct revision_content *content, struct revision_id *out)
{
	struct query q = start_of(store, SQL_INSERT, NULL, origin->notice.v);
	struct revision_id id = {0};
	enum status status;

	bind_row(&q, origin, content);
	status = query_insert(&q, &id.v);
	if (status == ST_OK)
		status = add_lists(store, id, content);
	if (status == ST_OK)
		*out = id;
	return status;
}

/* Runs statements that name a revision by their only parameter. */
static enum status run_each(struct store *store, size_t first, size_t last, int64_t id)
{
	enum status status = ST_OK;

	for (size_t which = first; status == ST_OK && which <= last; which++) {
		struct query q = start_of(store, which, NULL, id);

		status = query_run(&q);
	}
	return status;
}

enum status revision_update(struct store *store, struct revision_id id,
                            const struct revision_origin *origin,
                            const struct revision_content *content)
{
	struct query q = start_of(store, SQL_UPDATE, NULL, id.v);
	enum status status;

	bind_row(&q, origin, content);
	status = query_run_one(&q);
	if (status == ST_OK)
		status = run_each(store, SQL_CLEAR_LINES, SQL_CLEAR_NAMES, id.v);
	return status == ST_OK ? add_lists(store, id, content) : status;
}

static enum status copy_row(struct store *store, const struct revision_origin *origin,
                            struct revision_id *out)
{
	struct query q = start_of(store, SQL_COPY, NULL, origin->notice.v);

	bind_int(&q, origin->by.v);
	bind_int(&q, origin->now);
	return query_insert(&q, &out->v);
}

enum status revision_copy(struct store *store, const struct revision_origin *origin,
                          struct revision_id *out)
{
	struct revision_id id = {0};
	enum status status = copy_row(store, origin, &id);

	for (size_t which = SQL_COPY_LINES; status == ST_OK && which <= SQL_COPY_ATTACHMENTS;
	     which++) {
		struct query q = start_of(store, which, NULL, origin->notice.v);

		bind_int(&q, id.v);
		status = query_run(&q);
	}
	if (status == ST_OK)
		*out = id;
	return status;
}

/* Checking ------------------------------------------------------------------ */

enum status content_check_limits(struct store *store, const struct revision_content *content)
{
	const size_t counts[] = {content->n_lines,        content->n_material,
	                         content->steps.count,    content->supersedes.count,
	                         content->requires.count, content->terminates.count,
	                         content->credits.count};

	enum status status = ST_OK;

	for (size_t i = 0; status == ST_OK && i < sizeof counts / sizeof *counts; i++)
		status = bound_fits(store, BOUND_REVISION_LIST_LONGEST, (int64_t)counts[i]);
	return status;
}

static bool is_date(const char *text)
{
	struct date date;

	return date_parse(text, strlen(text), &date) == ST_OK;
}

static enum status check_lots(struct arena *arena, const struct revision_content *content)
{
	enum status status = ST_OK;

	for (size_t i = 0; status == ST_OK && i < content->n_lines; i++) {
		const char *lots = content->lines[i].lots;
		const struct serial_range *ranges;
		struct statement_fault fault;
		size_t count;

		status = effectivity_parse_lots(arena, lots, strlen(lots), &ranges, &count, &fault);
	}
	return status;
}

static enum status check_cuts(struct arena *arena, const struct revision_content *content)
{
	enum status status = ST_OK;

	for (size_t i = 0; status == ST_OK && i < content->n_material; i++) {
		const struct cut *cuts;
		struct cuts_fault fault;
		size_t count;

		if (*content->material[i].cut)
			status = cuts_parse(arena, content->material[i].cut, &cuts, &count, &fault);
	}
	return status;
}

enum status content_check_complete(struct arena *arena, const struct revision_content *content)
{
	const struct effectivity *statement;
	const struct due_statement *due;
	struct statement_fault fault;
	enum status status;

	if (!*content->number || !*content->issuer || !*content->title || !is_date(content->issued))
		return ST_INVALID;
	if (*content->plans_carry && !is_date(content->plans_carry))
		return ST_INVALID;
	status = effectivity_parse(arena, content->effectivity, strlen(content->effectivity),
	                           &statement, &fault);
	if (status == ST_OK)
		status = check_cuts(arena, content);
	if (status == ST_OK)
		status = due_parse(arena, content->due, strlen(content->due), &due, &fault);
	return status == ST_OK ? check_lots(arena, content) : status;
}

/* Reading ------------------------------------------------------------------- */

static struct query walk(struct store *store, size_t which, struct arena *arena, int64_t first,
                         int64_t last)
{
	struct query q = start_of(store, which, arena, first);

	bind_int(&q, last);
	return q;
}

struct query lines_walk(struct store *store, struct arena *arena, int64_t first, int64_t last)
{
	return walk(store, SQL_LINES, arena, first, last);
}

struct query material_walk(struct store *store, struct arena *arena, int64_t first, int64_t last)
{
	return walk(store, SQL_MATERIAL, arena, first, last);
}

struct query names_walk(struct store *store, struct arena *arena, int64_t first, int64_t last)
{
	return walk(store, SQL_NAMES, arena, first, last);
}

void read_line_text(struct query *q, void *row)
{
	struct line_text *line = row;

	line->part = read_text(q);
	line->position = read_text(q);
	line->replacement = read_text(q);
	line->disposition = (enum disposition)read_int(q);
	line->lots = read_text(q);
	line->remark = read_text(q);
}

void read_material_text(struct query *q, void *row)
{
	struct material_text *material = row;

	material->item = read_text(q);
	material->quantity = read_text(q);
	material->remark = read_text(q);
	material->part = read_text(q);
	material->cut = read_text(q);
}

static void read_name_text(struct query *q, void *row)
{
	*(const char **)row = read_text(q);
}

void names_of(struct query *q, int64_t revision, int list, query_read_fn *read, size_t size,
              struct rows *rows)
{
	while (query_of(q, revision) && query_peek(q) == list) {
		void *row = rows_add(q->arena, rows, size);

		(void)read_int(q);
		if (row)
			read(q, row);
		else
			q->status = ST_NOMEM;
		query_pass(q);
	}
}

static struct text_list text_names(struct query *q, struct revision_id id, int list)
{
	struct rows rows = {0};

	names_of(q, id.v, list, read_name_text, sizeof(const char *), &rows);
	return (struct text_list){rows.at, rows.count};
}

static enum status read_names(struct store *store, struct arena *arena, struct revision *revision)
{
	struct query q = names_walk(store, arena, revision->id.v, revision->id.v);
	struct revision_content *content = &revision->content;

	content->steps = text_names(&q, revision->id, LIST_STEPS);
	content->supersedes = text_names(&q, revision->id, LIST_SUPERSEDES);
	content->requires = text_names(&q, revision->id, LIST_REQUIRES);
	content->terminates = text_names(&q, revision->id, LIST_TERMINATES);
	content->credits = text_names(&q, revision->id, LIST_CREDITS);
	return query_end(&q);
}

static enum status read_lines(struct store *store, struct arena *arena, struct revision *revision)
{
	struct query q = lines_walk(store, arena, revision->id.v, revision->id.v);
	struct rows rows = {0};

	query_rows_of(&q, revision->id.v, read_line_text, sizeof(struct line_text), &rows);
	revision->content.lines = rows.at;
	revision->content.n_lines = rows.count;
	return query_end(&q);
}

static enum status read_materials(struct store *store, struct arena *arena,
                                  struct revision *revision)
{
	struct query q = walk(store, SQL_MATERIAL, arena, revision->id.v, revision->id.v);
	struct rows rows = {0};

	query_rows_of(&q, revision->id.v, read_material_text, sizeof(struct material_text), &rows);
	revision->content.material = rows.at;
	revision->content.n_material = rows.count;
	return query_end(&q);
}

static void read_content(struct query *q, struct revision_content *content)
{
	content->number = read_text(q);
	content->issuer = read_text(q);
	content->kind = (enum notice_kind)read_int(q);
	content->revision = read_text(q);
	content->force = (enum force)read_int(q);
	for (size_t i = 0; i < REVISION_TEXT_COUNT; i++)
		*revision_text_at(content, &revision_texts[i]) = read_text(q);
}

static void read_row(struct query *q, struct revision *revision)
{
	revision->id.v = read_int(q);
	revision->notice.v = read_int(q);
	revision->state = (enum revision_state)read_int(q);
	revision->current = read_int(q) != 0;
	revision->edit = read_int(q);
	revision->editor.v = read_int(q);
	revision->editor_name = read_text(q);
	revision->edited_at = read_int(q);
	revision->publisher.v = read_int(q);
	revision->publisher_name = read_text(q);
	revision->published_at = read_int(q);
	revision->cancelled_on = read_text(q);
	revision->cancel_reason = read_text(q);
	revision->notice_published = read_int(q) != 0;
	read_content(q, &revision->content);
}

static enum status read_whole(struct store *store, struct arena *arena, size_t which, int64_t id,
                              struct revision *revision)
{
	struct query q = start_of(store, which, arena, id);
	enum status status;

	if (query_found(&q))
		read_row(&q, revision);
	status = query_end(&q);
	if (status == ST_OK)
		status = read_lines(store, arena, revision);
	if (status == ST_OK)
		status = read_materials(store, arena, revision);
	if (status == ST_OK)
		status = read_names(store, arena, revision);
	return status == ST_OK ? attachments_of(store, arena, revision->id, revision) : status;
}

static enum status read_one(struct store *store, struct arena *arena, size_t which, int64_t id,
                            struct revision *out)
{
	struct revision revision = {.id = {0}};
	enum status status = act_begin_reading(store);

	if (status != ST_OK)
		return status;
	status = act_end(store, read_whole(store, arena, which, id, &revision));
	if (status == ST_OK)
		*out = revision;
	return status;
}

enum status revision_read(struct store *store, struct arena *arena, struct revision_id id,
                          struct revision *out)
{
	return read_one(store, arena, SQL_READ, id.v, out);
}

enum status notice_current(struct store *store, struct arena *arena, struct notice_id id,
                           struct revision *out)
{
	return read_one(store, arena, SQL_CURRENT, id.v, out);
}
