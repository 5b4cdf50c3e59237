/* serve: opens the data folder, fills the demonstration, listens, and waits
 * for the signal to stop.
 *
 * The order matters: the helper that opens pictures is forked before anything is
 * open or known that it must not have; the signals are blocked before the first thread starts,
 * so that every thread leaves them to sigwait; rights are dropped before the
 * first byte of a request is read.
 */
#include "cli/command.h"

#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "cli/care.h"
#include "cli/database.h"
#include "cli/demo.h"
#include "cli/mail_options.h"
#include "os/clock.h"
#include "os/helper.h"
#include "os/log.h"
#include "os/rights.h"
#include "os/token.h"
#include "store/members.h"
#include "chapter/picture_shop.h"
#include "web/http/files.h"
#include "web/http/httpd.h"
#include "web/http/route.h"

#define LISTEN_DEFAULT "127.0.0.1:8080"
#define FIRST_LINK_SECONDS (7 * 86400)

/* "127.0.0.1:8080", "[::1]:0" */
static bool split_listen(const char *listen, char *address, size_t size, uint16_t *port)
{
	const char *colon = strrchr(listen, ':');
	const char *start = listen;
	size_t len;
	char *end;
	long number;

	if (!colon || !colon[1])
		return false;
	number = strtol(colon + 1, &end, 10);
	len = (size_t)(colon - listen);
	if (len > 2 && listen[0] == '[' && colon[-1] == ']') {
		start++;
		len -= 2;
	}
	if (*end || number < 0 || number > 65535 || len == 0 || len >= size)
		return false;
	memcpy(address, start, len);
	address[len] = '\0';
	*port = (uint16_t)number;
	return true;
}

/* With no member yet: a link that makes the first admin, once. */
static enum status offer_first_admin(struct store *store, const char *base_url)
{
	char token[TOKEN_SIZE];
	struct hash hash;
	int64_t members;
	enum status status = member_count(store, &members);

	if (status != ST_OK || members > 0)
		return status;
	token_make(token);
	hash = hash_of(token, strlen(token));
	status = invite_first_admin(store, &hash, clock_now(), clock_now() + FIRST_LINK_SECONDS);
	if (status == ST_OK)
		printf("first admin: %s/join/%s\n", base_url, token);
	return status;
}

static enum status prepare(const struct command_args *args, struct store *store)
{
	enum status status = args->demo ? demo_fill(store, clock_now()) : ST_OK;

	if (status == ST_CONFLICT)
		command_failed("%s holds other data; --demo wants an empty folder", args->data);
	else if (status != ST_OK)
		command_failed("cannot fill the demonstration: %s", status_words(status));
	return status;
}

/* What is said on standard output once the port is known, and then the wait. */
static enum status wait_for_end(const struct command_args *args, const char *address,
                                const struct httpd *httpd, struct store *store,
                                const sigset_t *signals)
{
	char url[300];
	const char *open = strchr(address, ':') ? "[" : "";
	const char *close = strchr(address, ':') ? "]" : "";
	enum status status;
	int signal;

	snprintf(url, sizeof url, "http://%s%s%s:%u", open, address, close,
	         (unsigned)httpd_port(httpd));
	printf("listening on %s\n", url);
	status = args->standby ? ST_OK : offer_first_admin(store, args->url ? args->url : url);
	fflush(stdout);
	if (status == ST_OK)
		sigwait(signals, &signal);
	return status;
}

/* What the options and the folder gave. */
struct serving {
	struct httpd_config listen;
	struct mail_options mail;
	struct helper *helper;
	struct store *store;
	const char *path;
	const char *found_at_start;
};

static int serve_app(const struct command_args *args, const struct serving *serving)
{
	struct app_config config = {.database = serving->path,
	                            .found_at_start = serving->found_at_start,
	                            .views = views_files,
	                            .views_count = views_files_count,
	                            .statics = static_files,
	                            .statics_count = static_files_count,
	                            .routes = routes,
	                            .routes_count = routes_count,
	                            .demo = args->demo,
	                            .secure = args->url && strncmp(args->url, "https://", 8) == 0,
	                            .readers = httpd_threads(0),
	                            .trust_proxy = args->behind_proxy,
	                            .base_url = args->url ? args->url : "",
	                            .mail = serving->mail.on ? &serving->mail.setup : NULL,
	                            .standby = args->standby,
	                            .pictures = serving->helper};
	struct httpd *httpd = NULL;
	struct app *app = NULL;
	sigset_t signals;
	enum status status;

	sigemptyset(&signals);
	sigaddset(&signals, SIGTERM);
	sigaddset(&signals, SIGINT);
	pthread_sigmask(SIG_BLOCK, &signals, NULL);
	if (rights_are_roots())
		log_line(LOG_LEVEL_WARNING, "served by root; give it a user of its own");
	status = rights_drop(args->data);
	if (status == ST_OK)
		status = app_new(&config, &app);
	if (status == ST_OK && args->standby && app_round(app) != ST_OK)
		log_line(LOG_LEVEL_WARNING, "no copy was taken up from %s", args->standby);
	if (status == ST_OK)
		status = httpd_start(app, &serving->listen, &httpd);
	if (status == ST_OK)
		status = app_start_rounds(app);
	if (status == ST_OK)
		status = wait_for_end(args, serving->listen.address, httpd, serving->store,
		                      &signals);
	else
		command_failed("cannot serve on %s: %s",
		               args->listen ? args->listen : LISTEN_DEFAULT, status_words(status));
	httpd_stop(httpd);
	app_free(app);
	log_flush();
	return status == ST_OK ? 0 : 1;
}

int command_serve(const struct command_args *args)
{
	char address[256];
	struct serving serving = {.listen = {.address = address}};
	struct text found = TEXT_EMPTY;
	char *path;
	int result = 1;

	if (!split_listen(args->listen ? args->listen : LISTEN_DEFAULT, address, sizeof address,
	                  &serving.listen.port)) {
		command_failed("--listen takes ADDR:PORT, as in %s", LISTEN_DEFAULT);
		return 2;
	}
	if (!mail_options_read(args, &serving.mail))
		return 2;
	if (helper_start(&picture_helper_rules, &serving.helper) != ST_OK)
		return command_failed("cannot start the process that opens pictures");
	serving.store = database_open(args->data);
	serving.path = path = database_path(args->data);
	if (serving.store && path && prepare(args, serving.store) == ST_OK) {
		care_at_start(serving.store, &found);
		serving.found_at_start = text_string(&found);
		result = serve_app(args, &serving);
	}
	text_free(&found);
	store_close(serving.store);
	helper_stop(serving.helper);
	mem_free(path);
	return result;
}
