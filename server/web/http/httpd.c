#include "web/http/httpd.h"

#include <arpa/inet.h>
#include <fcntl.h>
#include <microhttpd.h>
#include <netinet/in.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <unistd.h>

#include "base/mem.h"
#include "base/text.h"
#include "os/log.h"
#include "web/http/door.h"
#include "web/http/head.h"
#include "web/http/room.h"
#include "web/http/route.h"

#define THREADS_LEAST 4
#define THREADS_MOST 8
#define CONNECTIONS_MOST 800
#define CONNECTIONS_LEAST 4
#define CONNECTIONS_PER_ADDRESS 256
#define FILES_SPARE 24 /* that the database and mail may open while connections are served */
#define FILES_USED_MOST 1024

/* Seconds that a stage may take. A body and an answer get more by their length. */
#define IDLE_SECONDS 20
#define HEAD_SECONDS 10
#define SLOW_SECONDS 30
#define SLOWEST (32 * 1024) /* bytes a second of a body or an answer */
#define WORK_SECONDS 3600   /* a handler ends by itself */

/* A connection's memory. The head of an answer is put behind that of the request, and
 * libmicrohttpd answers nothing where it does not fit: beside the bytes that came, each
 * field costs memory, and cookies are kept a second time. */
#define MEMORY (32 * 1024)
#define MEMORY_OF_FIELD 64
#define MEMORY_SPARE 1024      /* for the status line and the like */
#define ANSWER_HEAD_LEAST 4096 /* more than what every answer has */
#define ANSWER_HEAD_MOST 12288 /* what programs take, 16 kB as a rule */
#define TARGET_MOST 8000       /* RFC 9110 section 4.1 wants that much at least */

#define DROPPED_MOST (64 * 1024 * 1024) /* bytes of a refused body that are read at all */
#define BODIES_MOST (128 * 1024 * 1024) /* bytes of all bodies at once beside small ones */

struct httpd {
	struct MHD_Daemon *daemon;
	struct door *door;
	struct app *app;
	struct room *bodies;
	unsigned head_seconds, idle_seconds, slow_seconds;
};

/* One connection, from its first call to its last. */
struct line {
	struct place *place;
	struct exchange *exchange; /* that is on its way; NULL: none */
};

/* One request on its way; lives in its own arena, from the request line to the
 * completed callback. */
struct exchange {
	struct arena *arena;
	struct line *line;
	const char *uri; /* as on the request line */
	bool begun;
	bool last;        /* the connection ends with the answer */
	bool left;        /* put aside, and answered when it comes back */
	unsigned refused; /* status, 0: not refused */
	struct request request;
	struct response turned_away; /* status 0: the caller is let in */
	struct response response;    /* of one that was put aside */
	size_t answer_head_most;     /* bytes */
	struct text body;
	size_t body_limit;
	size_t counted; /* bytes taken of the room for bodies */
	size_t dropped;
};

static struct line *line_of(struct MHD_Connection *connection)
{
	return MHD_get_connection_info(connection, MHD_CONNECTION_INFO_SOCKET_CONTEXT)
	        ->socket_context;
}

/* libmicrohttpd is about to take the query apart for itself, at the cost of its memory
 * for each field, and answers nothing when that runs out. We read our own copy, so it is
 * shown an empty query; the text is its to overwrite, and not const where it lies. */
static void hide_query(const char *uri)
{
	char *mark = uri ? strchr((char *)(uintptr_t)uri, '?') : NULL;

	if (mark && mark[1])
		mark[1] = '\0';
}

static void give_back(const struct httpd *httpd, struct exchange *exchange)
{
	room_give(httpd->bodies, exchange->request.peer, exchange->counted);
	exchange->counted = 0;
	text_free(&exchange->body);
}

/* libmicrohttpd does not tell of the end of every request: where its memory ran out
 * over a head, it closes without a word. So a connection knows its exchange, and the
 * next one or the end of the connection ends it, if nothing did. */
static void end_exchange_of(const struct httpd *httpd, struct line *line)
{
	struct exchange *exchange = line->exchange;

	if (!exchange)
		return;
	line->exchange = NULL;
	give_back(httpd, exchange);
	arena_free(exchange->arena);
}

/* Called with the raw request line, before libmicrohttpd decodes it. What it
 * returns is the request's pointer in every later call. */
static void *begin_exchange(void *context, const char *uri, struct MHD_Connection *connection)
{
	struct httpd *httpd = context;
	struct line *line = line_of(connection);
	struct arena *arena = line ? arena_new() : NULL;
	struct exchange *exchange = arena ? ARENA_NEW(arena, struct exchange) : NULL;

	if (exchange)
		*exchange = (struct exchange){.arena = arena,
		                              .line = line,
		                              .uri = uri ? arena_string(arena, uri) : "",
		                              .body = TEXT_EMPTY};
	if (!exchange || !exchange->uri) {
		arena_free(arena);
		return NULL;
	}
	end_exchange_of(httpd, line);
	line->exchange = exchange;
	hide_query(uri);
	door_stage(httpd->door, line->place, DOOR_HEAD, httpd->head_seconds);
	return exchange;
}

static void end_exchange(void *context, struct MHD_Connection *connection, void **held,
                         enum MHD_RequestTerminationCode how)
{
	struct httpd *httpd = context;
	struct line *line = line_of(connection);

	(void)how;
	*held = NULL;
	if (!line)
		return;
	end_exchange_of(httpd, line);
	door_stage(httpd->door, line->place, DOOR_WAITING,
	           httpd->idle_seconds + httpd->head_seconds);
}

static enum http_method method_of(const char *name)
{
	if (strcmp(name, "GET") == 0)
		return HTTP_GET;
	if (strcmp(name, "HEAD") == 0)
		return HTTP_HEAD;
	if (strcmp(name, "POST") == 0)
		return HTTP_POST;
	return HTTP_OTHER;
}

static const char *header(struct MHD_Connection *connection, const char *name)
{
	return MHD_lookup_connection_value(connection, MHD_HEADER_KIND, name);
}

/* The last address is the one that the trusted proxy itself added. */
static const char *last_forwarded(const char *list)
{
	const char *comma = strrchr(list, ',');
	const char *last = comma ? comma + 1 : list;

	return last + strspn(last, " ");
}

static const char *peer_of(const struct httpd *httpd, struct exchange *exchange,
                           struct MHD_Connection *connection)
{
	const char *forwarded = exchange->request.headers.forwarded_for;
	const union MHD_ConnectionInfo *info =
	        MHD_get_connection_info(connection, MHD_CONNECTION_INFO_CLIENT_ADDRESS);
	char text[INET6_ADDRSTRLEN] = "";
	const void *address = NULL;
	const char *copy;

	if (app_config(httpd->app)->trust_proxy && forwarded)
		return last_forwarded(forwarded);
	if (info && info->client_addr->sa_family == AF_INET)
		address = &((const struct sockaddr_in *)(const void *)info->client_addr)->sin_addr;
	else if (info && info->client_addr->sa_family == AF_INET6)
		address =
		        &((const struct sockaddr_in6 *)(const void *)info->client_addr)->sin6_addr;
	if (address)
		inet_ntop(info->client_addr->sa_family, address, text, sizeof text);
	copy = arena_string(exchange->arena, text);
	return copy ? copy : "";
}

/* Status to refuse with, 0 when all is well. */
static unsigned refusal(enum status status)
{
	switch (status) {
	case ST_OK:
		return 0;
	case ST_INVALID:
		return 400;
	case ST_LIMIT:
		return 413;
	default:
		return 500;
	}
}

static void read_target(struct exchange *exchange)
{
	struct request *request = &exchange->request;
	const char *mark = strchr(exchange->uri, '?');
	size_t len = mark ? (size_t)(mark - exchange->uri) : strlen(exchange->uri);
	const char *raw = arena_copy(exchange->arena, exchange->uri, len);
	enum status status = raw ? http_path(exchange->arena, raw, &request->path) : ST_NOMEM;

	if (status == ST_OK && mark)
		status = http_urlencoded(exchange->arena, mark + 1, strlen(mark + 1),
		                         &request->query);
	exchange->refused = refusal(status);
	if (strlen(exchange->uri) > TARGET_MOST)
		exchange->refused = 414;
	if (!request->path)
		request->path = "/";
}

struct collected {
	struct head_field *fields;
	size_t count, room;
};

static enum MHD_Result collect(void *context, enum MHD_ValueKind kind, const char *name,
                               size_t name_len, const char *value, size_t value_len)
{
	struct collected *collected = context;

	(void)kind;
	if (collected->count < collected->room)
		collected->fields[collected->count++] = (struct head_field){
		        name, value ? value : "", name_len, value ? value_len : 0};
	return MHD_YES;
}

/* Bytes that the head of the answer may have; 0 when too few are left. */
static size_t answer_head_most(const struct head *head, const char *cookie,
                               struct MHD_Connection *connection)
{
	size_t fields = head->count + (size_t)MHD_get_connection_values_n(
	                                      connection, MHD_COOKIE_KIND, NULL, NULL);
	size_t used = MHD_get_connection_info(connection, MHD_CONNECTION_INFO_REQUEST_HEADER_SIZE)
	                      ->header_size;

	used += (cookie ? strlen(cookie) : 0) + fields * MEMORY_OF_FIELD + MEMORY_SPARE;
	if (used + ANSWER_HEAD_LEAST > MEMORY)
		return 0;
	return MEMORY - used < ANSWER_HEAD_MOST ? MEMORY - used : ANSWER_HEAD_MOST;
}

/* Reads the fields, and refuses a head that is too large or not clear. What follows
 * such a head is not read: where it ends is not known. */
static unsigned read_fields(struct exchange *exchange, struct head *head,
                            struct MHD_Connection *connection)
{
	struct collected all = {.count = 0};

	all.room = (size_t)MHD_get_connection_values_n(connection, MHD_HEADER_KIND, NULL, NULL);
	all.fields = ARENA_ARRAY(exchange->arena, struct head_field, all.room);
	if (!all.fields)
		return 500;
	MHD_get_connection_values_n(connection, MHD_HEADER_KIND, collect, &all);
	head->fields = all.fields;
	head->count = all.count;
	exchange->request.headers = head_read(head);
	exchange->answer_head_most =
	        answer_head_most(head, exchange->request.headers.cookie, connection);
	return exchange->answer_head_most ? refusal(head_check(head)) : 431;
}

/* Bytes of body by the head: SIZE_MAX when it does not say. An announced length that
 * is no number has been refused by libmicrohttpd. */
static size_t announced_length(struct MHD_Connection *connection)
{
	const char *text = header(connection, "Content-Length");

	if (header(connection, "Transfer-Encoding"))
		return SIZE_MAX;
	return text ? (size_t)strtoull(text, NULL, 10) : 0;
}

/* May this caller send this body, as far as the head tells? */
static void admit(const struct httpd *httpd, struct exchange *exchange, size_t announced)
{
	exchange->body_limit = app_body_limit(httpd->app, &exchange->request, announced,
	                                      exchange->arena, &exchange->turned_away);
	if (exchange->turned_away.status)
		exchange->refused = exchange->turned_away.status;
	else if (announced != SIZE_MAX && announced > exchange->body_limit)
		exchange->refused = 413;
}

static unsigned seconds_for(const struct httpd *httpd, size_t bytes)
{
	return httpd->slow_seconds + (unsigned)(bytes / SLOWEST);
}

static enum MHD_Result queue(const struct httpd *httpd, struct exchange *exchange,
                             struct MHD_Connection *connection, const struct response *response)
{
	/* libmicrohttpd does not write to a persistent buffer. */
	void *body = (void *)(uintptr_t)response->body;
	struct MHD_Response *answer =
	        MHD_create_response_from_buffer(response->len, body, MHD_RESPMEM_PERSISTENT);
	enum MHD_Result result = MHD_YES;

	if (!answer)
		return MHD_NO;
	for (const struct http_header *at = response->headers; at && result == MHD_YES;
	     at = at->next)
		result = MHD_add_response_header(answer, at->name, at->value);
	if (result == MHD_YES && exchange->last)
		result = MHD_add_response_header(answer, "Connection", "close");
	if (result == MHD_YES)
		result = MHD_queue_response(connection, response->status, answer);
	MHD_destroy_response(answer);
	door_stage(httpd->door, exchange->line->place, DOOR_ANSWER,
	           seconds_for(httpd, response->len));
	return result;
}

static enum MHD_Result refuse(const struct httpd *httpd, struct exchange *exchange,
                              struct MHD_Connection *connection)
{
	struct response response = exchange->turned_away;

	if (!response.status)
		app_refuse(httpd->app, exchange->refused, &exchange->request, exchange->arena,
		           &response);
	return queue(httpd, exchange, connection, &response);
}

/* Fields of an answer may repeat what the request said (where to go on, which page
 * is next): only a request that is too long makes them too long to be sent. */
static bool fits(const struct exchange *exchange, const struct response *response)
{
	size_t len = 0;

	for (const struct http_header *at = response->headers; at; at = at->next)
		len += strlen(at->name) + strlen(at->value) + strlen(": \r\n");
	return len <= exchange->answer_head_most;
}

static void go_on(void *connection)
{
	MHD_resume_connection(connection);
}

static enum MHD_Result give(const struct httpd *httpd, struct exchange *exchange,
                            struct MHD_Connection *connection)
{
	if (fits(exchange, &exchange->response))
		return queue(httpd, exchange, connection, &exchange->response);
	exchange->refused = 414;
	return refuse(httpd, exchange, connection);
}

/* What may have to wait is put aside, without a thread; when it is answered,
 * libmicrohttpd calls again. */
static enum MHD_Result answer(const struct httpd *httpd, struct exchange *exchange,
                              struct MHD_Connection *connection)
{
	if (app_takes_time(httpd->app, &exchange->request, exchange->arena)) {
		exchange->left = true;
		MHD_suspend_connection(connection);
		app_leave(httpd->app, &exchange->request, exchange->arena, &exchange->response,
		          go_on, connection);
		return MHD_YES;
	}
	app_handle(httpd->app, &exchange->request, exchange->arena, &exchange->response);
	return give(httpd, exchange, connection);
}

static enum MHD_Result read_body(const struct httpd *httpd, struct exchange *exchange,
                                 struct MHD_Connection *connection)
{
	enum status status = text_failed(&exchange->body) ? ST_NOMEM : ST_OK;

	door_stage(httpd->door, exchange->line->place, DOOR_ANSWER, WORK_SECONDS);
	if (exchange->left)
		return give(httpd, exchange, connection);
	if (!exchange->refused && status == ST_OK)
		status = http_body(exchange->arena, &exchange->request,
		                   text_string(&exchange->body), exchange->body.len);
	if (!exchange->refused)
		exchange->refused = refusal(status);
	if (exchange->refused)
		return refuse(httpd, exchange, connection);
	return answer(httpd, exchange, connection);
}

static void read_head(const struct httpd *httpd, struct exchange *exchange, struct head *head,
                      struct MHD_Connection *connection)
{
	struct request *request = &exchange->request;
	unsigned fault;

	exchange->begun = true;
	request->method = method_of(head->method);
	read_target(exchange);
	fault = read_fields(exchange, head, connection);
	request->peer = http_caller(exchange->arena, peer_of(httpd, exchange, connection));
	if (fault) {
		exchange->refused = fault;
		exchange->last = true;
	}
}

/* The first call: nothing of the body has come. Answering here closes the
 * connection, so only those are answered that would send too much, and those whose
 * head leaves open what follows it. */
static enum MHD_Result start(const struct httpd *httpd, struct exchange *exchange,
                             struct head *head, struct MHD_Connection *connection)
{
	size_t announced;
	bool at_once;

	read_head(httpd, exchange, head, connection);
	announced = announced_length(connection);
	if (!exchange->refused)
		admit(httpd, exchange, announced);
	if (announced)
		door_stage(httpd->door, exchange->line->place, DOOR_BODY,
		           seconds_for(httpd, announced < DROPPED_MOST ? announced : DROPPED_MOST));
	at_once =
	        header(connection, "Expect") || (announced != SIZE_MAX && announced > DROPPED_MOST);
	if (exchange->last || (exchange->refused && at_once))
		return refuse(httpd, exchange, connection);
	return MHD_YES;
}

/* Status to refuse so many more bytes with, 0: there is room for them. What a small
 * body has is not counted, so that room for it is never lacking. */
static unsigned refuse_more(const struct httpd *httpd, struct exchange *exchange, size_t len)
{
	size_t all = exchange->body.len + len;
	size_t more;

	if (all > exchange->body_limit)
		return 413;
	more = all > BODY_SMALL ? all - BODY_SMALL - exchange->counted : 0;
	if (more && !room_take(httpd->bodies, exchange->request.peer, more))
		return 503;
	exchange->counted += more;
	return 0;
}

static enum MHD_Result take_chunk(const struct httpd *httpd, struct exchange *exchange,
                                  const char *bytes, size_t *len)
{
	if (!exchange->refused)
		exchange->refused = refuse_more(httpd, exchange, *len);
	if (exchange->refused) {
		give_back(httpd, exchange);
		exchange->dropped += *len;
	} else {
		text_add_bytes(&exchange->body, bytes, *len);
	}
	*len = 0;
	return exchange->dropped > DROPPED_MOST ? MHD_NO : MHD_YES;
}

static enum MHD_Result handle(void *context, struct MHD_Connection *connection, const char *url,
                              const char *method, const char *version, const char *bytes,
                              size_t *len, void **held)
{
	const struct httpd *httpd = context;
	struct exchange *exchange = *held;
	struct head head;

	(void)url;
	if (!exchange)
		return MHD_NO;
	head = (struct head){.method = method, .target = exchange->uri, .version = version};
	if (!exchange->begun)
		return start(httpd, exchange, &head, connection);
	if (*len > 0)
		return take_chunk(httpd, exchange, bytes, len);
	return read_body(httpd, exchange, connection);
}

/* ---- coming in ---- */

static bool serve(void *context, int fd, const struct sockaddr *from, socklen_t len)
{
	struct httpd *httpd = context;

	return MHD_add_connection(httpd->daemon, fd, from, len) == MHD_YES;
}

/* Without memory for it, a connection has no line, and its requests are not served. */
static void begin_or_end(void *context, struct MHD_Connection *connection, void **held,
                         enum MHD_ConnectionNotificationCode what)
{
	struct httpd *httpd = context;
	int fd = MHD_get_connection_info(connection, MHD_CONNECTION_INFO_CONNECTION_FD)->connect_fd;
	struct line *line = *held;

	if (what == MHD_CONNECTION_NOTIFY_STARTED) {
		*held = line = mem_zero(sizeof *line);
		if (line)
			line->place = door_place(httpd->door, fd);
		return;
	}
	door_leave(httpd->door, line ? line->place : door_place(httpd->door, fd));
	if (line)
		end_exchange_of(httpd, line);
	mem_free(line);
}

/* What libmicrohttpd has to say, mostly of peers that broke off. */
static void tell(void *context, const char *format, va_list args) PRINTF_LIKE(2, 0);
static void tell(void *context, const char *format, va_list args)
{
	char words[200];

	(void)context;
	vsnprintf(words, sizeof words, format, args);
	words[strcspn(words, "\n")] = '\0';
	log_kind(LOG_LEVEL_NOTE, format, "http: %s", words);
}

static enum status parse_address(const struct httpd_config *config, struct sockaddr_storage *out)
{
	struct sockaddr_storage at = {.ss_family = AF_UNSPEC};
	struct sockaddr_in *four = (struct sockaddr_in *)&at;
	struct sockaddr_in6 *six = (struct sockaddr_in6 *)&at;

	if (inet_pton(AF_INET, config->address, &four->sin_addr) == 1) {
		four->sin_family = AF_INET;
		four->sin_port = htons(config->port);
	} else if (inet_pton(AF_INET6, config->address, &six->sin6_addr) == 1) {
		six->sin6_family = AF_INET6;
		six->sin6_port = htons(config->port);
	} else {
		return ST_INVALID;
	}
	*out = at;
	return ST_OK;
}

unsigned httpd_threads(unsigned wanted)
{
	long cores = sysconf(_SC_NPROCESSORS_ONLN);

	if (wanted == 0)
		wanted = cores > 0 ? (unsigned)cores : THREADS_LEAST;
	if (wanted < THREADS_LEAST)
		return THREADS_LEAST;
	return wanted > THREADS_MOST ? THREADS_MOST : wanted;
}

/* Files that may be open at once: as many as the system lets us have, up to what we
 * can use. */
static unsigned files_allowed(void)
{
	struct rlimit limit;

	if (getrlimit(RLIMIT_NOFILE, &limit) != 0)
		return FILES_USED_MOST;
	if (limit.rlim_cur < FILES_USED_MOST && limit.rlim_max > limit.rlim_cur) {
		limit.rlim_cur =
		        limit.rlim_max < FILES_USED_MOST ? limit.rlim_max : FILES_USED_MOST;
		setrlimit(RLIMIT_NOFILE, &limit);
		getrlimit(RLIMIT_NOFILE, &limit);
	}
	return limit.rlim_cur < FILES_USED_MOST ? (unsigned)limit.rlim_cur : FILES_USED_MOST;
}

/* Connections that there are files for, with all else open that serving needs; so a
 * newcomer never takes the file that a request in work would open. */
static unsigned count_places(void)
{
	unsigned allowed = files_allowed();
	unsigned open = 0;

	for (unsigned i = 0; i < allowed; i++)
		open += fcntl((int)i, F_GETFD) >= 0;
	if (allowed < open + FILES_SPARE + CONNECTIONS_LEAST) {
		log_line(LOG_LEVEL_TROUBLE,
		         "%u files may be open at once, %u are needed at least: raise the limit "
		         "(ulimit -n, LimitNOFILE)",
		         allowed, open + FILES_SPARE + CONNECTIONS_LEAST);
		return 0;
	}
	allowed -= open + FILES_SPARE;
	return allowed < CONNECTIONS_MOST ? allowed : CONNECTIONS_MOST;
}

/* The door counts connections; libmicrohttpd's own count is never reached. */
static struct MHD_Daemon *start_daemon(struct httpd *httpd, unsigned threads)
{
	struct MHD_OptionItem options[] = {
	        {MHD_OPTION_THREAD_POOL_SIZE, threads, NULL},
	        {MHD_OPTION_CONNECTION_LIMIT, 2 * CONNECTIONS_MOST * threads, NULL},
	        {MHD_OPTION_CONNECTION_TIMEOUT, httpd->idle_seconds, NULL},
	        {MHD_OPTION_CONNECTION_MEMORY_LIMIT, MEMORY, NULL},
	        {MHD_OPTION_STRICT_FOR_CLIENT, 1, NULL},
	        {MHD_OPTION_END, 0, NULL},
	};
	unsigned flags = MHD_USE_EPOLL_INTERNAL_THREAD | MHD_USE_ITC | MHD_USE_NO_LISTEN_SOCKET |
	                 MHD_ALLOW_SUSPEND_RESUME | MHD_USE_ERROR_LOG;

	return MHD_start_daemon(flags, 0, NULL, NULL, handle, httpd, MHD_OPTION_EXTERNAL_LOGGER,
	                        tell, NULL, MHD_OPTION_URI_LOG_CALLBACK, begin_exchange, httpd,
	                        MHD_OPTION_NOTIFY_COMPLETED, end_exchange, httpd,
	                        MHD_OPTION_NOTIFY_CONNECTION, begin_or_end, httpd, MHD_OPTION_ARRAY,
	                        options, MHD_OPTION_END);
}

static enum status open_house(struct httpd *httpd, const struct httpd_config *config)
{
	size_t bodies = config->bodies_most ? config->bodies_most : BODIES_MOST;
	struct door_setup setup = {.first = httpd->idle_seconds + httpd->head_seconds,
	                           .serve = serve,
	                           .context = httpd};
	enum status status = parse_address(config, &setup.at);

	if (status != ST_OK)
		return status;
	httpd->daemon = start_daemon(httpd, httpd_threads(config->threads));
	if (!httpd->daemon)
		return ST_IO;
	setup.places = count_places();
	if (setup.places == 0)
		return ST_LIMIT;
	/* Behind a proxy every connection comes from one address. */
	setup.per_address =
	        app_config(httpd->app)->trust_proxy ? setup.places : CONNECTIONS_PER_ADDRESS;
	httpd->bodies = room_new(bodies, bodies / 2, setup.places);
	if (!httpd->bodies)
		return ST_NOMEM;
	status = door_new(&setup, &httpd->door);
	return status == ST_OK ? door_begin(httpd->door) : status;
}

enum status httpd_start(struct app *app, const struct httpd_config *config, struct httpd **out)
{
	struct httpd *httpd = mem_zero(sizeof *httpd);
	enum status status;

	if (!httpd)
		return ST_NOMEM;
	httpd->app = app;
	httpd->head_seconds = config->head ? config->head : HEAD_SECONDS;
	httpd->idle_seconds = config->idle ? config->idle : IDLE_SECONDS;
	httpd->slow_seconds = config->slow ? config->slow : SLOW_SECONDS;
	status = open_house(httpd, config);
	if (status != ST_OK)
		httpd_stop(httpd);
	else
		*out = httpd;
	return status;
}

uint16_t httpd_port(const struct httpd *httpd)
{
	return door_port(httpd->door);
}

void httpd_stop(struct httpd *httpd)
{
	if (!httpd)
		return;
	if (httpd->door)
		door_shut(httpd->door);
	app_stop_waiting(httpd->app);
	if (httpd->daemon)
		MHD_stop_daemon(httpd->daemon);
	door_free(httpd->door);
	room_free(httpd->bodies);
	mem_free(httpd);
}
