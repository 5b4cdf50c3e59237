#include "web_support.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "support.h"

#include "os/log.h"
#include "os/password.h"
#include "os/random.h"
#include "store/members.h"
#include "chapter/picture_shop.h"
#include "web/http/context.h"
#include "web/http/files.h"
#include "web/http/session.h"

struct person {
	struct member_id member;
	struct kit_id kit;
	char cookie[80];
	char bearer[80];
	char form_token[TOKEN_SIZE];
};

struct web {
	char folder[64];
	char database[80];
	struct app *app;
	struct store *store;
	struct arena *arena;
	struct response response;
	struct person people[WHOS];
};

static int64_t now = WEB_START;
static int64_t stepped; /* seconds that the clock was set by */

static int64_t test_now(void)
{
	return now;
}

static int64_t test_steady(void)
{
	return (now - stepped) * 1000;
}

void web_set_now(int64_t to)
{
	now = to;
}

void web_step_clock(int64_t to)
{
	stepped += to - now;
	now = to;
}

static const struct mail_setup *mail;

void web_set_mail(const struct mail_setup *setup)
{
	mail = setup;
}

static void sign_in(struct web *web, struct person *person)
{
	struct session_entry entry = {.member = person->member,
	                              .label = "",
	                              .idle_until = WEB_START + SESSION_IDLE,
	                              .ends_at = WEB_START + SESSION_LONGEST};
	struct session session = {.id = {0}};
	struct context context = {.session = &session};
	char token[TOKEN_SIZE];

	token_make(token);
	random_bytes(entry.secret, sizeof entry.secret);
	entry.token = hash_of(token, TOKEN_LENGTH);
	assert_int_equal(session_add(web->store, &entry, WEB_START, &session.id), ST_OK);
	snprintf(person->cookie, sizeof person->cookie, "session=%s", token);
	memcpy(session.secret, entry.secret, sizeof session.secret);
	session_form_token(&context, person->form_token);
}

#define TOKEN_LASTS (3650 * INT64_C(86400)) /* beyond what tests move the clock by */

static void give_bearer(struct web *web, struct person *person)
{
	struct api_token_id id;
	struct hash hash;
	char token[TOKEN_SIZE];

	token_make(token);
	hash = hash_of(token, TOKEN_LENGTH);
	assert_int_equal(api_token_add(web->store, person->member, &hash, "test", WEB_START,
	                               WEB_START + TOKEN_LASTS, &id),
	                 ST_OK);
	snprintf(person->bearer, sizeof person->bearer, "Bearer %s", token);
}

/* One hash for all: making it takes long on purpose. */
static const char *password_of_all(void)
{
	static char hash[PASSWORD_HASH_SIZE];

	if (!hash[0])
		assert_int_equal(password_hash(WEB_PASSWORD, hash), ST_OK);
	return hash;
}

static void add_people(struct web *web)
{
	static const struct member_entry entries[WHOS] = {
	        [ANN] = {"ann", "Ann Builder", NULL, ROLE_BUILDER},
	        [BEN] = {"ben", "Ben Builder", NULL, ROLE_BUILDER},
	        [STEWARD] = {"sue", "Sue Steward", NULL, ROLE_STEWARD},
	        [ADMIN] = {"ada", "Ada Admin", NULL, ROLE_ADMIN},
	};

	for (enum who who = ANN; who <= ADMIN; who++) {
		struct person *person = &web->people[who];
		struct member_entry entry = entries[who];

		entry.password = password_of_all();
		assert_int_equal(member_add(web->store, &entry, WEB_START, &person->member), ST_OK);
		if (who <= BEN)
			assert_int_equal(
			        kit_add(web->store, person->member, "Kit", WEB_START, &person->kit),
			        ST_OK);
		sign_in(web, person);
		give_bearer(web, person);
	}
}

/* One for all webs, forked before the first of them has threads; it ends with the test. */
static struct helper *helper_of_all(void)
{
	static struct helper *helper;

	if (!helper)
		assert_int_equal(helper_start(&picture_helper_rules, &helper), ST_OK);
	return helper;
}

struct web *web_new(const struct route *table, size_t n_routes, const struct embedded_file *views,
                    size_t n_views)
{
	struct web *web = calloc(1, sizeof *web);
	struct app_config config = {
	        .routes = table ? table : routes,
	        .routes_count = table ? n_routes : routes_count,
	        .views = views ? views : views_files,
	        .views_count = views ? n_views : views_files_count,
	        .statics = static_files,
	        .statics_count = static_files_count,
	        .base_url = "http://fairlead.test",
	        .now = test_now,
	        .steady = test_steady,
	        .mail = mail,
	        .pictures = helper_of_all(),
	};

	assert_non_null(web);
	now = WEB_START;
	stepped = 0;
	strcpy(web->folder, "/tmp/fairlead-web-XXXXXX");
	assert_non_null(mkdtemp(web->folder));
	snprintf(web->database, sizeof web->database, "%s/db", web->folder);
	config.database = web->database;
	web->arena = arena_new();
	assert_non_null(web->arena);
	assert_int_equal(random_start(), ST_OK);
	log_set_level(LOG_LEVEL_TROUBLE);
	assert_int_equal(store_open(web->database, &web->store), ST_OK);
	add_people(web);
	assert_int_equal(app_new(&config, &web->app), ST_OK);
	return web;
}

static void remove_folder(const struct web *web)
{
	static const char *const ends[] = {"", "-wal", "-shm"};
	char path[100];

	for (size_t i = 0; i < sizeof ends / sizeof ends[0]; i++) {
		snprintf(path, sizeof path, "%s%s", web->database, ends[i]);
		unlink(path);
	}
	rmdir(web->folder);
}

void web_free(struct web *web)
{
	if (!web)
		return;
	app_free(web->app);
	store_close(web->store);
	arena_free(web->arena);
	remove_folder(web);
	free(web);
}

static void set_target(struct web *web, struct request *request, const char *target)
{
	const char *mark = strchr(target, '?');
	const char *path =
	        arena_copy(web->arena, target, mark ? (size_t)(mark - target) : strlen(target));

	assert_int_equal(http_path(web->arena, path, &request->path), ST_OK);
	if (mark)
		assert_int_equal(
		        http_urlencoded(web->arena, mark + 1, strlen(mark + 1), &request->query),
		        ST_OK);
}

const struct response *web_send(struct web *web, enum who who, struct request *request,
                                const char *target, const char *body)
{
	arena_reset(web->arena);
	set_target(web, request, target);
	if (body)
		assert_int_equal(http_urlencoded(web->arena, body, strlen(body), &request->form),
		                 ST_OK);
	if (who != VISITOR)
		request->headers.cookie = web->people[who].cookie;
	if (!request->headers.host)
		request->headers.host = "fairlead.test";
	if (!request->peer)
		request->peer = "192.0.2.1";
	app_handle(web->app, request, web->arena, &web->response);
	return &web->response;
}

const struct response *web_get(struct web *web, enum who who, const char *target)
{
	struct request request = {.method = HTTP_GET};

	return web_send(web, who, &request, target, NULL);
}

const struct response *web_post(struct web *web, enum who who, const char *target,
                                const char *encoded)
{
	struct request request = {.method = HTTP_POST,
	                          .headers = {.sec_fetch_site = "same-origin"}};
	size_t size = strlen(encoded) + 100;
	char *body = malloc(size);
	const struct response *response;

	assert_non_null(body);
	if (who == VISITOR)
		snprintf(body, size, "%s", encoded);
	else
		snprintf(body, size, "%s&token=%s", encoded, web->people[who].form_token);
	response = web_send(web, who, &request, target, body);
	free(body);
	return response;
}

const struct response *web_api(struct web *web, enum who who, const char *target)
{
	struct request request = {.method = HTTP_GET};

	if (who != VISITOR)
		request.headers.authorization = web->people[who].bearer;
	return web_send(web, VISITOR, &request, target, NULL);
}

const char *web_header(const struct response *response, const char *name)
{
	for (const struct http_header *at = response->headers; at; at = at->next)
		if (strcmp(at->name, name) == 0)
			return at->value;
	return "";
}

bool web_holds(const struct response *response, const char *text)
{
	return memmem(response->body, response->len, text, strlen(text)) != NULL;
}

struct app *web_app(struct web *web)
{
	return web->app;
}

const char *web_database(struct web *web)
{
	return web->database;
}

struct store *web_store(struct web *web)
{
	return web->store;
}

struct member_id web_member(struct web *web, enum who who)
{
	return web->people[who].member;
}

struct kit_id web_kit(struct web *web, enum who who)
{
	assert_true(who == ANN || who == BEN);
	return web->people[who].kit;
}

const char *web_form_token(struct web *web, enum who who)
{
	return web->people[who].form_token;
}

const char *web_cookie(struct web *web, enum who who)
{
	return web->people[who].cookie;
}

const char *web_bearer(struct web *web, enum who who)
{
	return web->people[who].bearer;
}
