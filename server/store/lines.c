#include "store/lines.h"

#include <string.h>

#include "store/acts.h"
#include "store/sql.h"
#include "store/bounds.h"

#define HEADS                                                                                      \
	"SELECT l.id, l.model, l.version, coalesce(m.name, ''), l.edited_at,"                      \
	" (SELECT count(*) FROM line_sections WHERE line_id = l.id),"                              \
	" (SELECT count(*) FROM line_steps WHERE line_id = l.id),"                                 \
	" (SELECT coalesce(sum(hours), 0) FROM line_steps WHERE line_id = l.id)"                   \
	" FROM lines l LEFT JOIN members m ON m.id = l.editor "

enum {
	SQL_FIND,
	SQL_HEAD,
	SQL_LIST,
	SQL_VERSION,
	SQL_ADD,
	SQL_CHANGE,
	SQL_REMOVE,
	SQL_CLEAR,
	SQL_ADD_SECTION,
	SQL_ADD_STEP,
	SQL_ADD_NAME,
	SQL_SECTIONS,
	SQL_STEPS,
	SQL_NAMES,
	SQL_COUNT
};

enum { LIST_PARTS, LIST_NEEDS, LIST_WORKS_IN, LIST_CLOSES };
#define LISTS (LIST_CLOSES + 1)

static const char *const texts[SQL_COUNT] = {
        [SQL_FIND] = "SELECT id FROM lines WHERE model_key = ?1",
        [SQL_HEAD] = HEADS "WHERE l.id = ?1",
        [SQL_LIST] = HEADS "ORDER BY l.model_key",
        [SQL_VERSION] = "SELECT id, version FROM lines WHERE model_key = ?1",
        [SQL_ADD] = "INSERT INTO lines (model, model_key, version, editor, edited_at)"
                    " VALUES (?1, ?2, 1, ?3, ?4)",
        [SQL_CHANGE] = "UPDATE lines SET model = ?2, model_key = ?3, version = version + 1,"
                       " editor = ?4, edited_at = ?5 WHERE id = ?1",
        [SQL_REMOVE] = "DELETE FROM lines WHERE id = ?1",
        [SQL_CLEAR] = "DELETE FROM line_sections WHERE line_id = ?1",
        [SQL_ADD_SECTION] = "INSERT INTO line_sections (line_id, place, code, code_key, title)"
                            " VALUES (?1, ?2, ?3, ?4, ?5)",
        [SQL_ADD_STEP] = "INSERT INTO line_steps (line_id, place, section, code, code_key, title,"
                         " hours, hours_to_open) VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8)",
        [SQL_ADD_NAME] = "INSERT INTO line_names (line_id, step, list, place, name)"
                         " VALUES (?1, ?2, ?3, ?4, ?5)",
        [SQL_SECTIONS] = "SELECT code, title FROM line_sections WHERE line_id = ?1 ORDER BY place",
        [SQL_STEPS] = "SELECT section, code, title, hours, hours_to_open FROM line_steps"
                      " WHERE line_id = ?1 ORDER BY place",
        [SQL_NAMES] = "SELECT step, list, name FROM line_names WHERE line_id = ?1"
                      " ORDER BY step, list, place",
};

const struct sql_set line_sql = {SET_LINES, SQL_COUNT, texts};

static struct query start(struct store *store, size_t which, struct arena *arena)
{
	return query_start(store, &line_sql, which, arena);
}

static struct query start_of(struct store *store, size_t which, struct arena *arena,
                             struct line_id id)
{
	struct query q = start(store, which, arena);

	bind_int(&q, id.v);
	return q;
}

/* Writing ------------------------------------------------------------------- */

static enum status add_names(struct store *store, struct line_id id, size_t step, int list,
                             const struct name *names, size_t count)
{
	enum status status = ST_OK;

	for (size_t i = 0; status == ST_OK && i < count; i++) {
		struct query q = start_of(store, SQL_ADD_NAME, NULL, id);

		bind_int(&q, (int64_t)step);
		bind_int(&q, list);
		bind_int(&q, (int64_t)i);
		bind_label(&q, &names[i]);
		status = query_run(&q);
	}
	return status;
}

static enum status add_step(struct store *store, struct line_id id, size_t section, size_t place,
                            const struct step_entry *step)
{
	struct query q = start_of(store, SQL_ADD_STEP, NULL, id);
	enum status status;

	bind_int(&q, (int64_t)place);
	bind_int(&q, (int64_t)section);
	bind_name(&q, &step->code);
	bind_text(&q, step->title);
	bind_int(&q, step->hours);
	bind_int_if(&q, step->hours_to_open >= 0, step->hours_to_open);
	status = query_run(&q);
	if (status == ST_OK)
		status = add_names(store, id, place, LIST_PARTS, step->parts, step->n_parts);
	if (status == ST_OK)
		status = add_names(store, id, place, LIST_NEEDS, step->needs, step->n_needs);
	if (status == ST_OK)
		status = add_names(store, id, place, LIST_WORKS_IN, step->works_in,
		                   step->n_works_in);
	if (status == ST_OK)
		status = add_names(store, id, place, LIST_CLOSES, step->closes, step->n_closes);
	return status;
}

static enum status add_section(struct store *store, struct line_id id, size_t place,
                               const struct section_entry *section)
{
	struct query q = start_of(store, SQL_ADD_SECTION, NULL, id);

	bind_int(&q, (int64_t)place);
	bind_name(&q, &section->code);
	bind_text(&q, section->title);
	return query_run(&q);
}

static enum status add_content(struct store *store, struct line_id id,
                               const struct line_entry *entry)
{
	enum status status = ST_OK;
	size_t place = 0;

	for (size_t i = 0; status == ST_OK && i < entry->n_sections; i++) {
		status = add_section(store, id, i, &entry->sections[i]);
		for (size_t k = 0; status == ST_OK && k < entry->sections[i].n_steps; k++)
			status = add_step(store, id, i, place++, &entry->sections[i].steps[k]);
	}
	return status;
}

static enum status read_version(struct store *store, const struct name *model, struct line_id *id,
                                int64_t *version)
{
	struct query q = start(store, SQL_VERSION, NULL);

	bind_key_of(&q, model->text);
	if (query_found(&q)) {
		id->v = read_int(&q);
		*version = read_int(&q);
	}
	return query_end(&q);
}

static enum status add_line(struct store *store, const struct line_entry *entry,
                            struct member_id by, int64_t now, struct line_id *out)
{
	struct query q = start(store, SQL_ADD, NULL);

	bind_name(&q, &entry->model);
	bind_id_or_null(&q, by.v);
	bind_int(&q, now);
	return query_insert(&q, &out->v);
}

static enum status change_line(struct store *store, struct line_id id,
                               const struct line_entry *entry, struct member_id by, int64_t now)
{
	struct query q = start_of(store, SQL_CHANGE, NULL, id);
	enum status status;

	bind_name(&q, &entry->model);
	bind_id_or_null(&q, by.v);
	bind_int(&q, now);
	status = query_run_one(&q);
	if (status == ST_OK) {
		q = start_of(store, SQL_CLEAR, NULL, id);
		status = query_run(&q);
	}
	return status;
}

static enum status save(struct store *store, const struct line_entry *entry, int64_t seen,
                        struct member_id by, int64_t now, struct line_id *out)
{
	int64_t version = 0;
	enum status status = read_version(store, &entry->model, out, &version);

	if (status != ST_OK && status != ST_MISSING)
		return status;
	if (seen != LINE_ANY_VERSION && seen != version)
		return ST_CONFLICT;
	status = status == ST_OK ? change_line(store, *out, entry, by, now)
	                         : add_line(store, entry, by, now, out);
	if (status == ST_OK)
		status = bound_room(store, BOUND_LINES_MOST, 0, 0, now);
	if (status == ST_OK)
		status = add_content(store, *out, entry);
	if (status != ST_OK || seen == LINE_ANY_VERSION) /* of a file: logged as one */
		return status;
	return acts_add(store, &(struct act_line){DID_LINE, .subject = entry->model.text});
}

enum status line_save(struct store *store, const struct line_entry *entry, int64_t seen,
                      struct member_id by, int64_t now, struct line_id *out)
{
	struct line_id id = {0};
	enum status status = act_begin(store);

	if (status != ST_OK)
		return status;
	status = act_end(store, save(store, entry, seen, by, now, &id));
	if (status == ST_OK)
		*out = id;
	return status;
}

static void read_head(struct query *q, void *row)
{
	struct line_head *head = row;

	head->id.v = read_int(q);
	head->model = read_text(q);
	head->version = read_int(q);
	head->editor = read_text(q);
	head->edited_at = read_int(q);
	head->sections = read_int(q);
	head->steps = read_int(q);
	head->hours = read_int(q);
}

static enum status find_head(struct store *store, struct arena *arena, struct line_id id,
                             struct line_head *out)
{
	struct query q = start_of(store, SQL_HEAD, arena, id);

	if (query_found(&q))
		read_head(&q, out);
	return query_end(&q);
}

static enum status remove_line(struct store *store, struct line_id id, int64_t seen)
{
	struct arena *arena = arena_new();
	struct line_head head = {.version = 0};
	enum status status = arena ? find_head(store, arena, id, &head) : ST_NOMEM;

	if (status == ST_OK && head.version != seen)
		status = ST_CONFLICT;
	if (status == ST_OK) {
		struct query q = start_of(store, SQL_REMOVE, NULL, id);

		status = query_run_one(&q);
	}
	if (status == ST_OK)
		status =
		        acts_add(store, &(struct act_line){DID_LINE_REMOVE, .subject = head.model});
	arena_free(arena);
	return status;
}

enum status line_remove(struct store *store, struct line_id id, int64_t seen)
{
	enum status status = act_begin(store);

	if (status != ST_OK)
		return status;
	return act_end(store, remove_line(store, id, seen));
}

/* Reading ------------------------------------------------------------------- */

enum status line_of_model(struct store *store, const struct name *model, struct line_id *out)
{
	struct query q = start(store, SQL_FIND, NULL);

	bind_key_of(&q, model->text ? model->text : "");
	return query_int(&q, &out->v);
}

enum status line_list(struct store *store, struct arena *arena, const struct line_head **out,
                      size_t *count)
{
	struct query q = start(store, SQL_LIST, arena);
	struct rows rows = {0};
	enum status status = query_rows(&q, read_head, sizeof(struct line_head), &rows);

	if (status != ST_OK)
		return status;
	*out = rows.at;
	*count = rows.count;
	return ST_OK;
}

static void read_section(struct query *q, void *row)
{
	struct section_entry *section = row;

	section->code = read_name(q);
	section->title = read_text(q);
}

struct step_row {
	struct step_entry step; /* first, so that a row of them has no other shape */
	int64_t section;
};

static void read_step(struct query *q, void *row)
{
	struct step_row *step = row;

	step->section = read_int(q);
	step->step.code = read_name(q);
	step->step.title = read_text(q);
	step->step.hours = read_int(q);
	if (!read_int_if(q, &step->step.hours_to_open))
		step->step.hours_to_open = LINE_HOURS_NOT_STATED;
}

struct name_row {
	int64_t step, list;
	struct name name;
};

static void read_listed(struct query *q, void *row)
{
	struct name_row *name = row;

	name->step = read_int(q);
	name->list = read_int(q);
	name->name = read_name(q);
}

struct content {
	struct rows sections, steps, names;
};

static enum status read_rows(struct store *store, struct arena *arena, struct line_id id,
                             struct content *out)
{
	struct query q = start_of(store, SQL_SECTIONS, arena, id);
	enum status status =
	        query_rows(&q, read_section, sizeof(struct section_entry), &out->sections);

	if (status == ST_OK) {
		q = start_of(store, SQL_STEPS, arena, id);
		status = query_rows(&q, read_step, sizeof(struct step_row), &out->steps);
	}
	if (status == ST_OK) {
		q = start_of(store, SQL_NAMES, arena, id);
		status = query_rows(&q, read_listed, sizeof(struct name_row), &out->names);
	}
	return status;
}

/* Hands the names, which are in order of step and list, to their steps. */
static void share_names(const struct content *content, const struct name *names,
                        struct step_entry *steps)
{
	const struct name_row *rows = content->names.at;

	for (size_t i = 0; i < content->names.count; i++) {
		struct step_entry *step = &steps[rows[i].step];
		const struct name **lists[LISTS] = {&step->parts, &step->needs, &step->works_in,
		                                    &step->closes};
		size_t *counts[LISTS] = {&step->n_parts, &step->n_needs, &step->n_works_in,
		                         &step->n_closes};

		if ((*counts[rows[i].list])++ == 0)
			*lists[rows[i].list] = &names[i];
	}
}

static enum status lay_out(struct arena *arena, const struct content *content,
                           struct line_entry *entry)
{
	struct section_entry *sections = content->sections.at;
	const struct step_row *rows = content->steps.at;
	const struct name_row *listed = content->names.at;
	struct step_entry *steps = ARENA_ARRAY(arena, struct step_entry, content->steps.count);
	struct name *names = ARENA_ARRAY(arena, struct name, content->names.count);

	if (!steps || !names)
		return ST_NOMEM;
	for (size_t i = 0; i < content->steps.count; i++) {
		struct section_entry *section = &sections[rows[i].section];

		steps[i] = rows[i].step;
		if (section->n_steps++ == 0)
			section->steps = &steps[i];
	}
	for (size_t i = 0; i < content->names.count; i++)
		names[i] = listed[i].name;
	share_names(content, names, steps);
	entry->sections = sections;
	entry->n_sections = content->sections.count;
	return ST_OK;
}

static enum status read_line(struct store *store, struct arena *arena, struct line_id id,
                             struct line_head *head, struct line_entry *entry)
{
	struct content content = {.steps = {0}};
	enum status status = find_head(store, arena, id, head);

	if (status == ST_OK)
		status = read_rows(store, arena, id, &content);
	if (status == ST_OK)
		status = name_make(arena, head->model, strlen(head->model), &entry->model);
	return status == ST_OK ? lay_out(arena, &content, entry) : status;
}

enum status line_read(struct store *store, struct arena *arena, struct line_id id,
                      struct line_head *head, struct line_entry *entry)
{
	struct line_head read_head_ = {.version = 0};
	struct line_entry read_entry = {.n_sections = 0};
	enum status status = act_begin_reading(store);

	if (status != ST_OK)
		return status;
	status = act_end(store, read_line(store, arena, id, &read_head_, &read_entry));
	if (status != ST_OK)
		return status;
	*head = read_head_;
	*entry = read_entry;
	return ST_OK;
}
