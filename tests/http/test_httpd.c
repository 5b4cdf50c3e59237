/* The real server on a free port of this machine, spoken to byte by byte: what
 * libmicrohttpd and httpd.c do with polite, slow and hostile peers. */
#include "support.h"

#include <arpa/inet.h>
#include <errno.h>
#include <netinet/in.h>
#include <poll.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/socket.h>
#include <unistd.h>

#include "base/text.h"
#include "web/http/context.h"
#include "web/http/httpd.h"
#include "web/http/respond.h"
#include "web_support.h"

#define PATIENCE 10000 /* milliseconds until a silent server fails the test */
#define MEGABYTE (1024 * 1024)

static const struct input echo_inputs[] = {
        {"text", "Text", INPUT_TEXT},
        {"file", "File", INPUT_FILE},
        INPUTS_END,
};

static enum status echoes(struct context *c)
{
	const struct http_upload *file = form_file(c->form, "file");
	const struct form_value *text = form_value(c->form, "text", 0);

	return respond_json(c,
	                    json_pack("{s:s, s:b, s:i}", "text", text->text, "fine",
	                              form_ok(c->form), "file", file ? (int)file->len : -1),
	                    CACHE_PUBLIC);
}

static enum status tells_word(struct context *c)
{
	return respond_json(c, json_pack("{s:s}", "word", context_capture(c, "word")),
	                    CACHE_PUBLIC);
}

static const struct route table[] = {
        {HTTP_GET, "/echo", CALL_ANYONE, echoes, echo_inputs, 0},
        {HTTP_POST, "/echo", CALL_ANYONE, echoes, echo_inputs, 0},
        {HTTP_POST, "/upload", CALL_ANYONE, echoes, echo_inputs, R_UPLOADS},
        {HTTP_GET, "/words/{word:text}", CALL_ANYONE, tells_word, NULL, 0},
};

static const struct embedded_file views[] = {
        {"error.html", "ERROR {{status}} {{words}}", 26},
};

static struct web *web;
static struct httpd *httpd;

static int set_up(void **state)
{
	struct httpd_config config = {.address = "127.0.0.1", .idle = 1};

	(void)state;
	web = web_new(table, sizeof table / sizeof table[0], views, 1);
	return httpd_start(web_app(web), &config, &httpd) == ST_OK ? 0 : -1;
}

static int tear_down(void **state)
{
	(void)state;
	httpd_stop(httpd);
	web_free(web);
	return 0;
}

static int connect_to_server(void)
{
	struct sockaddr_in at = {.sin_family = AF_INET, .sin_port = htons(httpd_port(httpd))};
	int fd = socket(AF_INET, SOCK_STREAM | SOCK_CLOEXEC, 0);

	at.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
	assert_true(fd >= 0);
	assert_int_equal(connect(fd, (const struct sockaddr *)&at, sizeof at), 0);
	return fd;
}

/* Sends all, as far as the server still listens. */
static void say_bytes(int fd, const char *bytes, size_t len)
{
	while (len > 0) {
		ssize_t sent = send(fd, bytes, len, MSG_NOSIGNAL);

		if (sent <= 0)
			return;
		bytes += sent;
		len -= (size_t)sent;
	}
}

static void say(int fd, const char *text)
{
	say_bytes(fd, text, strlen(text));
}

/* Adds what comes next; false at the end. Fails the test on long silence. */
static bool hear(int fd, struct text *heard)
{
	struct pollfd wait = {.fd = fd, .events = POLLIN};
	char bytes[4096];
	ssize_t len;

	assert_int_equal(poll(&wait, 1, PATIENCE), 1);
	len = recv(fd, bytes, sizeof bytes, 0);
	if (len > 0)
		text_add_bytes(heard, bytes, (size_t)len);
	return len > 0;
}

struct reply {
	int status; /* 0: closed without an answer */
	struct text text;
	const char *body;
	size_t len; /* by Content-Length */
};

static const char *field(const struct reply *reply, const char *name)
{
	const char *at = strcasestr(text_string(&reply->text), name);

	return at && at < reply->body ? at + strlen(name) : NULL;
}

/* Reads one answer; head: without its body. */
static struct reply listen_for(int fd, bool head)
{
	struct reply reply = {.text = TEXT_EMPTY};
	const char *end = NULL;
	const char *length;

	while (!end && hear(fd, &reply.text))
		end = strstr(text_string(&reply.text), "\r\n\r\n");
	if (!end)
		return reply;
	reply.status = atoi(text_string(&reply.text) + strlen("HTTP/1.1 "));
	reply.body = end + 4;
	length = field(&reply, "\r\nContent-Length: ");
	reply.len = length ? (size_t)atoi(length) : 0;
	while (!head) {
		size_t start = (size_t)(strstr(text_string(&reply.text), "\r\n\r\n") + 4 -
		                        text_string(&reply.text));

		reply.body = text_string(&reply.text) + start;
		if (reply.text.len - start >= reply.len || !hear(fd, &reply.text))
			break;
	}
	return reply;
}

static int status_of(const char *request)
{
	int fd = connect_to_server();
	struct reply reply;
	int status;

	say(fd, request);
	reply = listen_for(fd, strncmp(request, "HEAD", 4) == 0);
	status = reply.status;
	text_free(&reply.text);
	close(fd);
	return status;
}

#define GET(target) "GET " target " HTTP/1.1\r\nHost: fairlead.test\r\n\r\n"

static void test_requests_and_their_status(void **state)
{
	static const struct {
		const char *request;
		int status;
	} rows[] = {
	        {GET("/echo"), 200},
	        {GET("/echo?text=a%20b"), 200},
	        {GET("/words/a%20b"), 200},
	        {GET("/nowhere"), 404},
	        {GET("/upload"), 405},
	        {"DELETE /echo HTTP/1.1\r\nHost: x\r\n\r\n", 405},
	        {"OPTIONS * HTTP/1.1\r\nHost: x\r\n\r\n", 400},
	        {"GET /echo HTTP/1.0\r\n\r\n", 200},
	        {"GET /echo HTTP/1.1\r\n\r\n", 400}, /* no Host: RFC 9112 section 3.2 */
	        {GET("/words/%"), 400},
	        {GET("/words/%zz"), 400},
	        {GET("/words/%00"), 400},
	        {GET("/words/a%0D%0ASet-Cookie:%20b"), 400},
	        {GET("/words/%C0%AF"), 400},
	        {GET("/words/%ED%A0%80"), 400},
	        {GET("/words/\xFF"), 400},
	        {GET("/../etc/passwd"), 400},
	        {GET("/static/..%2f..%2fetc/passwd"), 400},
	        {GET("/words/%2e%2e"), 400},
	        {GET("/echo?text=%"), 400},
	        {GET("/echo?%zz=1"), 400},
	        {GET("/echo?unknown=1"), 400},
	        {GET("http://fairlead.test/echo"), 400},
	        {"POST /echo HTTP/1.1\r\nHost: x\r\nContent-Length: 4\r\n\r\n{\"a\"", 400},
	        {"POST /echo HTTP/1.1\r\nHost: x\r\nContent-Type: application/x-www-form-urlencoded"
	         "\r\nContent-Length: 6\r\n\r\ntext=%",
	         400},
	        {"POST /nowhere HTTP/1.1\r\nHost: x\r\nContent-Length: 1\r\n\r\nx", 404},
	        {"POST /echo HTTP/1.1\r\nHost: x\r\nContent-Length: 0\r\n\r\n", 200},
	};

	(void)state;
	for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
		int status = status_of(rows[i].request);

		if (status != rows[i].status)
			print_error("%d for %s\n", status, rows[i].request);
		assert_int_equal(status, rows[i].status);
	}
}

static void test_one_connection_serves_many_requests(void **state)
{
	int fd = connect_to_server();

	(void)state;
	for (int i = 0; i < 20; i++) {
		struct reply reply;

		say(fd, i % 2 ? GET("/echo?text=odd")
		              : "POST /echo HTTP/1.1\r\nHost: x\r\n"
		                "Content-Type: application/x-www-form-urlencoded\r\n"
		                "Content-Length: 9\r\n\r\ntext=even");
		reply = listen_for(fd, false);
		assert_int_equal(reply.status, 200);
		assert_non_null(strstr(reply.body, i % 2 ? "\"odd\"" : "\"even\""));
		text_free(&reply.text);
	}
	close(fd);
}

/* An error does not cost the connection either, once the body has been read. */
static void test_errors_keep_the_connection(void **state)
{
	int fd = connect_to_server();

	(void)state;
	for (int i = 0; i < 3; i++) {
		struct reply reply;

		say(fd, GET("/words/%zz"));
		reply = listen_for(fd, false);
		assert_int_equal(reply.status, 400);
		text_free(&reply.text);
	}
	close(fd);
}

static void test_head_is_get_without_a_body(void **state)
{
	int fd = connect_to_server();
	struct reply head, get;

	(void)state;
	say(fd, "HEAD /echo?text=x HTTP/1.1\r\nHost: x\r\n\r\n");
	head = listen_for(fd, true);
	assert_int_equal(head.status, 200);
	assert_int_equal(strlen(head.body), 0);
	say(fd, GET("/echo?text=x"));
	get = listen_for(fd, false);
	assert_int_equal(get.status, 200);
	assert_int_equal(head.len, get.len);
	assert_memory_equal(field(&head, "\r\nETag: "), field(&get, "\r\nETag: "), 34);
	text_free(&head.text);
	text_free(&get.text);
	close(fd);
}

static void test_a_known_answer_is_304_without_a_body(void **state)
{
	int fd = connect_to_server();
	struct reply reply;
	char request[200];

	(void)state;
	say(fd, GET("/echo"));
	reply = listen_for(fd, false);
	snprintf(request, sizeof request,
	         "GET /echo HTTP/1.1\r\nHost: x\r\nIf-None-Match: W/%.34s\r\n\r\n",
	         field(&reply, "\r\nETag: "));
	text_free(&reply.text);
	say(fd, request);
	reply = listen_for(fd, true);
	assert_int_equal(reply.status, 304);
	assert_int_equal(strlen(reply.body), 0);
	text_free(&reply.text);
	/* the connection is still in step */
	say(fd, GET("/words/after"));
	reply = listen_for(fd, false);
	assert_int_equal(reply.status, 200);
	assert_non_null(strstr(reply.body, "after"));
	text_free(&reply.text);
	close(fd);
}

/* A peer that sends one byte at a time, while others are served. */
static void test_a_slow_body_holds_nobody_up(void **state)
{
	static const char head[] = "POST /echo HTTP/1.1\r\nHost: x\r\n"
	                           "Content-Type: application/x-www-form-urlencoded\r\n"
	                           "Content-Length: 9\r\n\r\n";
	static const char body[] = "text=slow";
	int slow[30];
	struct reply reply;

	(void)state;
	for (size_t i = 0; i < 30; i++) {
		slow[i] = connect_to_server();
		say(slow[i], head);
	}
	for (size_t n = 0; n < sizeof body - 2; n++) {
		for (size_t i = 0; i < 30; i++)
			say_bytes(slow[i], body + n, 1);
		assert_int_equal(status_of(GET("/echo")), 200);
	}
	for (size_t i = 0; i < 30; i++) {
		say_bytes(slow[i], body + sizeof body - 2, 1);
		reply = listen_for(slow[i], false);
		assert_int_equal(reply.status, 200);
		assert_non_null(strstr(reply.body, "\"slow\""));
		text_free(&reply.text);
		close(slow[i]);
	}
}

static void say_much(int fd, size_t len)
{
	char *zeros = calloc(1, MEGABYTE);

	assert_non_null(zeros);
	for (; len > 0; len -= len < MEGABYTE ? len : MEGABYTE)
		say_bytes(fd, zeros, len < MEGABYTE ? len : MEGABYTE);
	free(zeros);
}

/* Ten megabytes to a page that takes half of one: told why, and served on. */
static void test_a_body_that_is_too_large(void **state)
{
	int fd = connect_to_server();
	struct reply reply;
	char head[200];

	(void)state;
	snprintf(head, sizeof head,
	         "POST /echo HTTP/1.1\r\nHost: x\r\nContent-Type: "
	         "application/x-www-form-urlencoded\r\nContent-Length: %d\r\n\r\n",
	         10 * MEGABYTE);
	say(fd, head);
	say_much(fd, 10 * MEGABYTE);
	reply = listen_for(fd, false);
	assert_int_equal(reply.status, 413);
	text_free(&reply.text);
	say(fd, GET("/echo"));
	reply = listen_for(fd, false);
	assert_int_equal(reply.status, 200);
	text_free(&reply.text);
	close(fd);
}

static void test_who_asks_first_is_refused_at_once(void **state)
{
	(void)state;
	assert_int_equal(status_of("POST /echo HTTP/1.1\r\nHost: x\r\nExpect: 100-continue\r\n"
	                           "Content-Length: 10485760\r\n\r\n"),
	                 413);
	assert_int_equal(status_of("POST /upload HTTP/1.1\r\nHost: x\r\n"
	                           "Content-Length: 99999999999\r\n\r\n"),
	                 413);
}

static void test_chunks_count_too(void **state)
{
	int fd = connect_to_server();
	struct reply reply;

	(void)state;
	say(fd, "POST /echo HTTP/1.1\r\nHost: x\r\nTransfer-Encoding: chunked\r\n"
	        "Content-Type: application/x-www-form-urlencoded\r\n\r\n100000\r\n");
	say_much(fd, MEGABYTE);
	say(fd, "\r\n0\r\n\r\n");
	reply = listen_for(fd, false);
	assert_int_equal(reply.status, 413);
	text_free(&reply.text);
	close(fd);
}

static void test_an_upload_comes_through(void **state)
{
	static const char before[] = "--XX\r\nContent-Disposition: form-data; name=\"file\"; "
	                             "filename=\"a.pdf\"\r\n\r\n";
	static const char after[] = "\r\n--XX--\r\n";
	const size_t size = 9 * MEGABYTE;
	int fd = connect_to_server();
	struct reply reply;
	char head[200];

	(void)state;
	snprintf(head, sizeof head,
	         "POST /upload HTTP/1.1\r\nHost: x\r\nContent-Type: multipart/form-data; "
	         "boundary=XX\r\nContent-Length: %zu\r\n\r\n",
	         sizeof before - 1 + size + sizeof after - 1);
	say(fd, head);
	say(fd, before);
	say_much(fd, size);
	say(fd, after);
	reply = listen_for(fd, false);
	assert_int_equal(reply.status, 200);
	assert_non_null(strstr(reply.body, "\"file\":9437184"));
	text_free(&reply.text);
	close(fd);
}

static int upload_status(int fd, size_t len)
{
	char *body = calloc(1, len + 1);
	char head[200];
	struct reply reply;
	int status;

	assert_non_null(body);
	memset(body, 'x', len);
	memcpy(body, "text=", 5);
	snprintf(head, sizeof head,
	         "POST /upload HTTP/1.1\r\nHost: x\r\nContent-Length: %zu\r\n"
	         "Content-Type: application/x-www-form-urlencoded\r\n\r\n",
	         len);
	say(fd, head);
	say_bytes(fd, body, len);
	free(body);
	reply = listen_for(fd, false);
	status = reply.status;
	text_free(&reply.text);
	return status;
}

/* More than the bodies of all requests may fill, less than one of them may. */
static void test_bodies_share_a_limit_and_give_their_room_back(void **state)
{
	struct httpd_config config = {.address = "127.0.0.1", .bodies_most = 4 * MEGABYTE};
	int fd;

	(void)state;
	httpd_stop(httpd);
	httpd = NULL;
	assert_int_equal(httpd_start(web_app(web), &config, &httpd), ST_OK);
	fd = connect_to_server();
	assert_int_equal(upload_status(fd, 3 * MEGABYTE), 200);
	assert_int_equal(upload_status(fd, 5 * MEGABYTE), 503);
	assert_int_equal(upload_status(fd, 3 * MEGABYTE), 200);
	close(fd);
}

static void test_hostile_text_does_not_reach_the_header(void **state)
{
	int fd = connect_to_server();
	struct reply reply;

	(void)state;
	say(fd, GET("/echo?text=a%0D%0ASet-Cookie:%20b=c"));
	reply = listen_for(fd, false);
	assert_int_equal(reply.status, 200);
	assert_null(field(&reply, "\r\nSet-Cookie"));
	assert_non_null(field(&reply, "\r\nX-Content-Type-Options: nosniff"));
	text_free(&reply.text);
	close(fd);
}

/* A head beyond its limit, and rubbish, end in an error or a closed connection. */
static void test_rubbish(void **state)
{
	static const char *const rubbish[] = {
	        "GET\r\n\r\n",
	        "\x16\x03\x01\x02",
	        "GET / HTTP/9.9\r\n\r\n",
	        "POST /echo HTTP/1.1\r\nHost: x\r\nContent-Length: -1\r\n\r\n",
	        "POST /echo HTTP/1.1\r\nHost: x\r\nContent-Length: x\r\n\r\n",
	        "POST /echo HTTP/1.1\r\nHost: x\r\nContent-Length: 5\r\nContent-Length: 6\r\n\r\n",
	};
	struct text large = TEXT_EMPTY;
	int status;

	(void)state;
	for (size_t i = 0; i < sizeof rubbish / sizeof rubbish[0]; i++) {
		int fd = connect_to_server();
		struct reply reply;

		say(fd, rubbish[i]);
		shutdown(fd, SHUT_WR);
		reply = listen_for(fd, false);
		assert_true(reply.status == 0 || (reply.status >= 400 && reply.status < 600));
		text_free(&reply.text);
		close(fd);
	}
	text_add(&large, "GET /echo HTTP/1.1\r\nHost: x\r\nCookie: ");
	while (large.len < 100000)
		text_add(&large, "aaaaaaaaaaaaaaaa");
	text_add(&large, "\r\n\r\n");
	status = status_of(text_string(&large));
	assert_true(status == 0 || (status >= 400 && status < 500));
	text_free(&large);
	assert_int_equal(status_of(GET("/echo")), 200);
}

/* Empty lines before a request are no request (RFC 9112 section 2.2). The
 * server of these tests waits a second, not the usual twenty. */
static void test_silence_is_ended(void **state)
{
	int fd = connect_to_server();
	struct reply reply;

	(void)state;
	say(fd, "\r\n\r\n");
	reply = listen_for(fd, false);
	assert_int_equal(reply.status, 0);
	text_free(&reply.text);
	close(fd);
}

static void test_a_session_works_over_the_wire(void **state)
{
	char request[300];

	(void)state;
	snprintf(request, sizeof request,
	         "POST /echo HTTP/1.1\r\nHost: x\r\nCookie: a=b; %s\r\nContent-Length: 0\r\n\r\n",
	         web_cookie(web, ANN));
	/* a member's form needs its token, a visitor's does not */
	assert_int_equal(status_of(request), 403);
}

static void test_the_address_must_be_one(void **state)
{
	struct httpd_config config = {.address = "localhost"};
	struct httpd *other = NULL;

	(void)state;
	assert_int_equal(httpd_start(web_app(web), &config, &other), ST_INVALID);
	config = (struct httpd_config){.address = "127.0.0.1", .port = httpd_port(httpd)};
	assert_int_equal(httpd_start(web_app(web), &config, &other), ST_IO);
	assert_null(other);
}

static void test_stopping_with_open_connections(void **state)
{
	int idle = connect_to_server();
	int half = connect_to_server();

	(void)state;
	say(half, "POST /echo HTTP/1.1\r\nHost: x\r\nContent-Length: 9\r\n\r\ntext");
	assert_int_equal(status_of(GET("/echo")), 200);
	httpd_stop(httpd);
	httpd = NULL;
	close(idle);
	close(half);
}

int main(void)
{
#define FRESH(test) cmocka_unit_test_setup_teardown(test, set_up, tear_down)
	const struct CMUnitTest tests[] = {
	        FRESH(test_requests_and_their_status),
	        FRESH(test_one_connection_serves_many_requests),
	        FRESH(test_errors_keep_the_connection),
	        FRESH(test_head_is_get_without_a_body),
	        FRESH(test_a_known_answer_is_304_without_a_body),
	        FRESH(test_a_slow_body_holds_nobody_up),
	        FRESH(test_a_body_that_is_too_large),
	        FRESH(test_who_asks_first_is_refused_at_once),
	        FRESH(test_chunks_count_too),
	        FRESH(test_an_upload_comes_through),
	        FRESH(test_bodies_share_a_limit_and_give_their_room_back),
	        FRESH(test_hostile_text_does_not_reach_the_header),
	        FRESH(test_rubbish),
	        FRESH(test_silence_is_ended),
	        FRESH(test_a_session_works_over_the_wire),
	        FRESH(test_the_address_must_be_one),
	        FRESH(test_stopping_with_open_connections),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
