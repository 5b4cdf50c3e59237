#include "web/http/httpd.h"

#include <arpa/inet.h>
#include <errno.h>
#include <microhttpd.h>
#include <netinet/in.h>
#include <stdarg.h>
#include <stdatomic.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "base/mem.h"
#include "base/text.h"
#include "os/log.h"

#define THREADS_LEAST 4
#define THREADS_MOST 8
#define CONNECTIONS_MOST 800 /* below the usual 1,024 files of a process */
#define CONNECTIONS_PER_ADDRESS 256
#define IDLE_SECONDS 20
#define HEAD_MOST (32 * 1024)
#define DROPPED_MOST (64 * 1024 * 1024) /* bytes of a refused body that are read at all */
#define BODIES_MOST                                                                                \
	(128 * 1024 * 1024) /* bytes of all bodies at once: anybody may send one,                  \
	                       and three are full of photos (BODY_PICTURES) */

struct httpd {
	struct MHD_Daemon *daemon;
	struct app *app;
	size_t bodies_most;
	atomic_size_t bodies; /* bytes that are held now */
};

/* One request on its way; lives in its own arena, from the request line to the
 * completed callback. */
struct exchange {
	struct arena *arena;
	const char *uri; /* as on the request line */
	bool begun;
	unsigned refused; /* status, 0: not refused */
	struct request request;
	struct text body;
	size_t body_limit;
	size_t counted; /* of the bytes of all bodies */
	size_t dropped;
};

/* Called with the raw request line, before libmicrohttpd decodes it. What it
 * returns is the request's pointer in every later call. */
static void *begin_exchange(void *context, const char *uri, struct MHD_Connection *connection)
{
	struct arena *arena = arena_new();
	struct exchange *exchange = arena ? ARENA_NEW(arena, struct exchange) : NULL;

	(void)context;
	(void)connection;
	if (exchange)
		*exchange = (struct exchange){
		        .arena = arena, .uri = arena_string(arena, uri), .body = TEXT_EMPTY};
	if (!exchange || !exchange->uri) {
		arena_free(arena);
		return NULL;
	}
	return exchange;
}

static void end_exchange(void *context, struct MHD_Connection *connection, void **held,
                         enum MHD_RequestTerminationCode how)
{
	struct httpd *httpd = context;
	struct exchange *exchange = *held;

	(void)connection;
	(void)how;
	if (!exchange)
		return;
	*held = NULL;
	atomic_fetch_sub(&httpd->bodies, exchange->counted);
	text_free(&exchange->body);
	arena_free(exchange->arena);
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

static struct request_headers headers_of(struct MHD_Connection *connection)
{
	return (struct request_headers){
	        .accept_encoding = header(connection, "Accept-Encoding"),
	        .authorization = header(connection, "Authorization"),
	        .content_type = header(connection, "Content-Type"),
	        .cookie = header(connection, "Cookie"),
	        .forwarded_for = header(connection, "X-Forwarded-For"),
	        .host = header(connection, "Host"),
	        .if_none_match = header(connection, "If-None-Match"),
	        .origin = header(connection, "Origin"),
	        .sec_fetch_site = header(connection, "Sec-Fetch-Site"),
	        .user_agent = header(connection, "User-Agent"),
	};
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
	if (!request->path)
		request->path = "/";
}

/* An announced length that is no number is libmicrohttpd's to refuse. */
static size_t announced_length(struct MHD_Connection *connection)
{
	const char *text = header(connection, "Content-Length");

	return text ? (size_t)strtoull(text, NULL, 10) : 0;
}

static void read_head(const struct httpd *httpd, struct exchange *exchange, const char *method,
                      struct MHD_Connection *connection)
{
	exchange->begun = true;
	exchange->request.method = method_of(method);
	exchange->request.headers = headers_of(connection);
	exchange->request.peer = http_caller(exchange->arena, peer_of(httpd, exchange, connection));
	read_target(exchange);
	if (exchange->refused)
		return;
	exchange->body_limit = app_body_limit(httpd->app, &exchange->request, exchange->arena);
	if (announced_length(connection) > exchange->body_limit)
		exchange->refused = 413;
}

static enum MHD_Result queue(struct MHD_Connection *connection, const struct response *response)
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
	if (result == MHD_YES)
		result = MHD_queue_response(connection, response->status, answer);
	MHD_destroy_response(answer);
	return result;
}

static enum MHD_Result refuse(const struct httpd *httpd, struct exchange *exchange,
                              struct MHD_Connection *connection)
{
	struct response response;

	app_refuse(httpd->app, exchange->refused, &exchange->request, exchange->arena, &response);
	return queue(connection, &response);
}

static enum MHD_Result answer(const struct httpd *httpd, struct exchange *exchange,
                              struct MHD_Connection *connection)
{
	struct response response;
	enum status status = text_failed(&exchange->body) ? ST_NOMEM : ST_OK;

	if (!exchange->refused && status == ST_OK)
		status = http_body(exchange->arena, &exchange->request,
		                   text_string(&exchange->body), exchange->body.len);
	if (!exchange->refused)
		exchange->refused = refusal(status);
	if (exchange->refused)
		return refuse(httpd, exchange, connection);
	app_handle(httpd->app, &exchange->request, exchange->arena, &response);
	return queue(connection, &response);
}

/* The first call: nothing of the body has come. Answering here closes the
 * connection, so only those are answered that would send too much. */
static enum MHD_Result start(const struct httpd *httpd, struct exchange *exchange,
                             const char *method, struct MHD_Connection *connection)
{
	bool asked_first;

	read_head(httpd, exchange, method, connection);
	asked_first = header(connection, "Expect") != NULL;
	if (exchange->refused && (asked_first || announced_length(connection) > DROPPED_MOST))
		return refuse(httpd, exchange, connection);
	return MHD_YES;
}

/* Status to refuse so many more bytes with, 0: there is room for them. */
static unsigned refuse_more(struct httpd *httpd, struct exchange *exchange, size_t len)
{
	if (len > exchange->body_limit - exchange->body.len)
		return 413;
	exchange->counted += len;
	return atomic_fetch_add(&httpd->bodies, len) + len > httpd->bodies_most ? 503 : 0;
}

static enum MHD_Result take_chunk(struct httpd *httpd, struct exchange *exchange, const char *bytes,
                                  size_t *len)
{
	if (!exchange->refused)
		exchange->refused = refuse_more(httpd, exchange, *len);
	if (exchange->refused) {
		text_free(&exchange->body);
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
	struct httpd *httpd = context;
	struct exchange *exchange = *held;

	(void)url;
	(void)version;
	if (!exchange)
		return MHD_NO;
	if (!exchange->begun)
		return start(httpd, exchange, method, connection);
	if (*len > 0)
		return take_chunk(httpd, exchange, bytes, len);
	return answer(httpd, exchange, connection);
}

/* What libmicrohttpd has to say, mostly of peers that broke off. */
static void tell(void *context, const char *format, va_list args) PRINTF_LIKE(2, 0);
static void tell(void *context, const char *format, va_list args)
{
	char words[200];

	(void)context;
	vsnprintf(words, sizeof words, format, args);
	log_line(LOG_LEVEL_NOTE, "http: %s", words);
}

struct address {
	struct sockaddr_storage at;
	unsigned flags;
};

static enum status parse_address(const struct httpd_config *config, struct address *out)
{
	struct sockaddr_in *four = (struct sockaddr_in *)&out->at;
	struct sockaddr_in6 *six = (struct sockaddr_in6 *)&out->at;

	*out = (struct address){.flags = 0};
	if (inet_pton(AF_INET, config->address, &four->sin_addr) == 1) {
		four->sin_family = AF_INET;
		four->sin_port = htons(config->port);
		return ST_OK;
	}
	if (inet_pton(AF_INET6, config->address, &six->sin6_addr) != 1)
		return ST_INVALID;
	six->sin6_family = AF_INET6;
	six->sin6_port = htons(config->port);
	out->flags = MHD_USE_IPv6;
	return ST_OK;
}

static unsigned thread_count(unsigned wanted)
{
	long cores = sysconf(_SC_NPROCESSORS_ONLN);

	if (wanted == 0)
		wanted = cores > 0 ? (unsigned)cores : THREADS_LEAST;
	if (wanted < THREADS_LEAST)
		return THREADS_LEAST;
	return wanted > THREADS_MOST ? THREADS_MOST : wanted;
}

/* Behind a proxy every connection comes from one address. */
static unsigned per_address(const struct httpd *httpd)
{
	return app_config(httpd->app)->trust_proxy ? CONNECTIONS_MOST : CONNECTIONS_PER_ADDRESS;
}

static struct MHD_Daemon *start_daemon(struct httpd *httpd, const struct httpd_config *config,
                                       struct address *address)
{
	struct MHD_OptionItem options[] = {
	        {MHD_OPTION_SOCK_ADDR, 0, &address->at},
	        {MHD_OPTION_THREAD_POOL_SIZE, thread_count(config->threads), NULL},
	        {MHD_OPTION_CONNECTION_LIMIT, CONNECTIONS_MOST, NULL},
	        {MHD_OPTION_PER_IP_CONNECTION_LIMIT, per_address(httpd), NULL},
	        {MHD_OPTION_CONNECTION_TIMEOUT, config->idle ? config->idle : IDLE_SECONDS, NULL},
	        {MHD_OPTION_CONNECTION_MEMORY_LIMIT, HEAD_MOST, NULL},
	        {MHD_OPTION_STRICT_FOR_CLIENT, 1, NULL},
	        {MHD_OPTION_END, 0, NULL},
	};
	unsigned flags = MHD_USE_EPOLL_INTERNAL_THREAD | MHD_USE_ERROR_LOG | address->flags;

	return MHD_start_daemon(flags, config->port, NULL, NULL, handle, httpd,
	                        MHD_OPTION_EXTERNAL_LOGGER, tell, NULL, MHD_OPTION_URI_LOG_CALLBACK,
	                        begin_exchange, NULL, MHD_OPTION_NOTIFY_COMPLETED, end_exchange,
	                        httpd, MHD_OPTION_ARRAY, options, MHD_OPTION_END);
}

enum status httpd_start(struct app *app, const struct httpd_config *config, struct httpd **out)
{
	struct address address;
	struct httpd *httpd;
	enum status status = parse_address(config, &address);

	if (status != ST_OK)
		return status;
	httpd = mem_zero(sizeof *httpd);
	if (!httpd)
		return ST_NOMEM;
	httpd->app = app;
	httpd->bodies_most = config->bodies_most ? config->bodies_most : BODIES_MOST;
	httpd->daemon = start_daemon(httpd, config, &address);
	if (!httpd->daemon) {
		mem_free(httpd);
		return ST_IO;
	}
	*out = httpd;
	return ST_OK;
}

uint16_t httpd_port(const struct httpd *httpd)
{
	return MHD_get_daemon_info(httpd->daemon, MHD_DAEMON_INFO_BIND_PORT)->port;
}

void httpd_stop(struct httpd *httpd)
{
	if (!httpd)
		return;
	MHD_stop_daemon(httpd->daemon);
	mem_free(httpd);
}
