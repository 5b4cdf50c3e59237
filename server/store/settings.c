#include "store/settings.h"

#include <string.h>

#include "store/acts.h"
#include "store/sql.h"

enum { SQL_GET, SQL_SET, SQL_GENERATION, SQL_GENERATION_UP, SQL_COUNT };

static const char *const texts[SQL_COUNT] = {
        [SQL_GET] = "SELECT coalesce((SELECT value FROM settings WHERE name = ?1), '')",
        [SQL_SET] = ("INSERT INTO settings (name, value) VALUES (?1, ?2)"
                     " ON CONFLICT (name) DO UPDATE SET value = excluded.value"),
        [SQL_GENERATION] = "SELECT value FROM generation",
        [SQL_GENERATION_UP] = "UPDATE generation SET value = value + 1",
};

const struct sql_set setting_sql = {SET_SETTINGS, SQL_COUNT, texts};

static const char *const names[SETTINGS] = {
        [SETTING_CHAPTER] = "chapter",
        [SETTING_ADDRESS] = "address",
        [SETTING_ONE_STEWARD] = "one steward",
        [SETTING_DEMO] = "demo",
        [SETTING_ID] = "id",
        [SETTING_KEY] = "key",
};

/* How the log calls those that admins choose; the others are not logged. */
static const struct {
	const char *words;
	bool flag;
} chosen[SETTINGS] = {
        [SETTING_CHAPTER] = {"name of the chapter", false},
        [SETTING_ADDRESS] = {"address from outside", false},
        [SETTING_ONE_STEWARD] = {"one steward may publish alone", true},
};

enum status setting_text(struct store *store, struct arena *arena, enum setting setting,
                         const char **out)
{
	struct query q = query_start(store, &setting_sql, SQL_GET, arena);
	const char *text = "";

	bind_text(&q, names[setting]);
	if (query_found(&q))
		text = read_text(&q);
	if (q.status == ST_OK)
		*out = text;
	return query_end(&q);
}

static enum status set(struct store *store, enum setting setting, const char *text)
{
	struct query q = query_start(store, &setting_sql, SQL_SET, NULL);

	bind_text(&q, names[setting]);
	bind_text(&q, text);
	return query_run(&q);
}

static enum status note(struct store *store, struct arena *arena, enum setting setting,
                        const char *was, const char *text)
{
	const char *remark = chosen[setting].flag
	                             ? (*text ? "on" : "off")
	                             : arena_printf(arena, "from \"%s\" to \"%s\"", was, text);

	if (!remark)
		return ST_NOMEM;
	return acts_add(store, &(struct act_line){DID_SETTING, .subject = chosen[setting].words,
	                                          .remark = remark});
}

static enum status set_and_note(struct store *store, enum setting setting, const char *text)
{
	struct arena *arena = arena_new();
	const char *was = "";
	enum status status = arena ? setting_text(store, arena, setting, &was) : ST_NOMEM;

	if (status == ST_OK)
		status = set(store, setting, text);
	if (status == ST_OK && strcmp(was, text) != 0)
		status = note(store, arena, setting, was, text);
	arena_free(arena);
	return status;
}

enum status setting_set_text(struct store *store, enum setting setting, const char *text)
{
	enum status status;

	if (!chosen[setting].words)
		return set(store, setting, text);
	status = act_begin(store);
	return status == ST_OK ? act_end(store, set_and_note(store, setting, text)) : status;
}

/* Kept as '1' or ''. */
enum status setting_flag(struct store *store, enum setting setting, bool *out)
{
	struct query q = query_start(store, &setting_sql, SQL_GET, NULL);
	bool on = false;

	bind_text(&q, names[setting]);
	if (query_found(&q))
		on = read_int(&q) != 0;
	if (q.status == ST_OK)
		*out = on;
	return query_end(&q);
}

enum status setting_set_flag(struct store *store, enum setting setting, bool on)
{
	return setting_set_text(store, setting, on ? "1" : "");
}

enum status setting_generation(struct store *store, int64_t *out)
{
	struct query q = query_start(store, &setting_sql, SQL_GENERATION, NULL);

	return query_int(&q, out);
}

enum status setting_generation_up(struct store *store)
{
	struct query q = query_start(store, &setting_sql, SQL_GENERATION_UP, NULL);

	return query_run_one(&q);
}
