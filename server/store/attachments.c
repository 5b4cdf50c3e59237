/* Attached files: the bytes once (files.h); a row for each revision that names them. */
#include "store/files.h"
#include "store/bounds.h"
#include "store/revisions.h"

#define ATTACHMENT_COLUMNS                                                                         \
	"SELECT a.id, r.notice_id, r.id, r.state = 2, a.name, a.mime, f.size, f.hash"
#define FROM_ATTACHMENTS                                                                           \
	" FROM attachments a JOIN revisions r ON r.id = a.revision_id JOIN files f ON f.id = "     \
	"a.file_id "

enum { SQL_DRAFT, SQL_ADD, SQL_EDITED, SQL_DRAFT_OF, SQL_REMOVE, SQL_READ, SQL_LIST, SQL_COUNT };

static const char *const texts[SQL_COUNT] = {
        [SQL_DRAFT] = "SELECT 1 FROM revisions WHERE id = ?1 AND state = 0",
        [SQL_ADD] = "INSERT INTO attachments (revision_id, file_id, name, mime)"
                    " VALUES (?1, ?2, ?3, ?4)",
        /* Who changes the files has edited the draft: cannot check it as another, and
         * who has read it before has not read this. */
        [SQL_EDITED] = "UPDATE revisions SET edit = edit + 1, editor = ?2, edited_at = ?3"
                       " WHERE id = ?1",
        [SQL_DRAFT_OF] =
                "SELECT r.id, a.name FROM attachments a JOIN revisions r ON r.id = a.revision_id"
                " WHERE a.id = ?1 AND r.state = 0",
        [SQL_REMOVE] = "DELETE FROM attachments WHERE id = ?1",
        [SQL_READ] = ATTACHMENT_COLUMNS ", f.bytes" FROM_ATTACHMENTS "WHERE a.id = ?1",
        [SQL_LIST] = ATTACHMENT_COLUMNS FROM_ATTACHMENTS "WHERE a.revision_id = ?1 ORDER BY a.id",
};

const struct sql_set attachment_sql = {SET_ATTACHMENTS, SQL_COUNT, texts};

static struct query start_of(struct store *store, size_t which, struct arena *arena, int64_t id)
{
	struct query q = query_start(store, &attachment_sql, which, arena);

	bind_int(&q, id);
	return q;
}

static enum status check_room(struct store *store, struct revision_id draft)
{
	struct query q = start_of(store, SQL_DRAFT, NULL, draft.v);
	int64_t found = 0;
	enum status status = query_int(&q, &found);

	return status == ST_OK ? bound_room(store, BOUND_ATTACHMENTS_MOST, draft.v, 1, 0) : status;
}

static enum status name_bytes(struct store *store, struct revision_id draft,
                              const struct attachment_entry *entry, int64_t file,
                              struct attachment_id *out)
{
	struct query q = start_of(store, SQL_ADD, NULL, draft.v);

	bind_int(&q, file);
	bind_text(&q, entry->name);
	bind_text(&q, entry->mime);
	return query_insert(&q, &out->v);
}

/* Notes the editor and logs it. */
static enum status note_edit(struct store *store, const struct log_line *line)
{
	struct query q = start_of(store, SQL_EDITED, NULL, line->revision.v);
	enum status status;

	bind_int(&q, line->by.v);
	bind_int(&q, line->now);
	status = query_run_one(&q);
	return status == ST_OK ? log_add(store, line) : status;
}

enum status attachment_add(struct store *store, struct revision_id draft,
                           const struct attachment_entry *entry, struct member_id by, int64_t now,
                           struct attachment_id *out)
{
	const struct log_line line = {draft, ACT_FILE_ADDED, by, now, entry->name};
	struct attachment_id id = {0};
	int64_t file = 0;
	enum status status = bound_fits(store, BOUND_ATTACHMENT_LARGEST, (int64_t)entry->size);

	if (status == ST_OK)
		status = act_begin(store);
	if (status != ST_OK)
		return status;
	status = check_room(store, draft);
	if (status == ST_OK)
		status = file_keep(store, entry->bytes, entry->size, &file);
	if (status == ST_OK)
		status = name_bytes(store, draft, entry, file, &id);
	if (status == ST_OK)
		status = note_edit(store, &line);
	status = act_end(store, status);
	if (status == ST_OK)
		*out = id;
	return status;
}

static enum status remove_row(struct store *store, struct attachment_id id)
{
	struct query q = start_of(store, SQL_REMOVE, NULL, id.v);

	return query_run_one(&q);
}

static enum status remove_from_draft(struct store *store, struct arena *arena,
                                     struct attachment_id id, struct log_line *line)
{
	struct query q = start_of(store, SQL_DRAFT_OF, arena, id.v);
	enum status status;

	if (query_found(&q)) {
		line->revision.v = read_int(&q);
		line->remark = read_text(&q);
	}
	status = query_end(&q);
	if (status == ST_OK)
		status = remove_row(store, id);
	return status == ST_OK ? note_edit(store, line) : status;
}

enum status attachment_remove(struct store *store, struct attachment_id id, struct member_id by,
                              int64_t now)
{
	struct log_line line = {.act = ACT_FILE_REMOVED, .by = by, .now = now, .remark = ""};
	struct arena *arena = arena_new();
	enum status status = arena ? act_begin(store) : ST_NOMEM;

	if (status == ST_OK)
		status = act_end(store, remove_from_draft(store, arena, id, &line));
	arena_free(arena);
	return status;
}

static void read_attachment(struct query *q, void *row)
{
	struct attachment *attachment = row;

	attachment->id.v = read_int(q);
	attachment->notice.v = read_int(q);
	attachment->revision.v = read_int(q);
	attachment->published = read_int(q) != 0;
	attachment->name = read_text(q);
	attachment->mime = read_text(q);
	attachment->size = read_int(q);
	read_fixed(q, attachment->hash.v, HASH_SIZE);
}

enum status attachment_read(struct store *store, struct arena *arena, struct attachment_id id,
                            struct attachment *out, const void **bytes)
{
	struct query q = start_of(store, SQL_READ, arena, id.v);
	struct attachment attachment = {.id = {0}};
	const void *at = NULL;
	size_t size;

	if (query_found(&q)) {
		read_attachment(&q, &attachment);
		at = read_bytes(&q, &size);
	}
	if (q.status == ST_OK) {
		*out = attachment;
		*bytes = at;
	}
	return query_end(&q);
}

enum status attachments_of(struct store *store, struct arena *arena, struct revision_id id,
                           struct revision *out)
{
	struct query q = start_of(store, SQL_LIST, arena, id.v);
	struct rows rows = {0};
	enum status status = query_rows(&q, read_attachment, sizeof(struct attachment), &rows);

	if (status != ST_OK)
		return status;
	out->attachments = rows.at;
	out->n_attachments = rows.count;
	return ST_OK;
}
