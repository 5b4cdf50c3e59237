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
#include <sys/resource.h>
#include <sys/socket.h>
#include <unistd.h>

#include "base/text.h"
#include "web/http/context.h"
#include "web/http/httpd.h"
#include "web/http/respond.h"
#include "web_support.h"

#define PATIENCE 60000 /* milliseconds until a silent server fails the test */
#define NEVER 100000   /* seconds: a limit that no test reaches */
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

/* As an address with pages does: what was asked for comes four times. */
static enum status tells_pages(struct context *c)
{
	const char *text = http_first(&c->request->query, "text");

	for (int i = 0; i < 4; i++)
		response_header(c->arena, c->response, "Link", text ? text : "");
	return respond_json(c, json_pack("{s:i}", "pages", 4), CACHE_PUBLIC);
}

static const struct route table[] = {
        {HTTP_GET, "/api/pages", CALL_ANYONE, tells_pages, echo_inputs, 0},
        {HTTP_GET, "/pages", CALL_ANYONE, tells_pages, echo_inputs, 0},
        {HTTP_GET, "/members/{word:text}", CALL_MEMBER, tells_word, NULL, 0},
        {HTTP_POST, "/stewards", CALL_STEWARD, echoes, echo_inputs, R_UPLOADS},
        {HTTP_POST, "/kits/{kit}", CALL_KIT_OWNER, echoes, echo_inputs, R_UPLOADS},
        {HTTP_GET, "/echo", CALL_ANYONE, echoes, echo_inputs, 0},
        {HTTP_POST, "/echo", CALL_ANYONE, echoes, echo_inputs, 0},
        {HTTP_POST, "/upload", CALL_ANYONE, echoes, echo_inputs, R_UPLOADS},
        {HTTP_GET, "/words/{word:text}", CALL_ANYONE, tells_word, NULL, 0},
};

static const struct embedded_file views[] = {
        {"error.html", "ERROR {{status}} {{words}}", 26},
        {"refused.html", "REFUSED {{words}}", 17},
};

static struct web *web;
static struct httpd *httpd;

static int set_up(void **state)
{
	struct httpd_config config = {
	        .address = "127.0.0.1", .idle = NEVER, .head = NEVER, .slow = NEVER};

	(void)state;
	web = web_new(table, sizeof table / sizeof table[0], views, sizeof views / sizeof views[0]);
	return httpd_start(web_app(web), &config, &httpd) == ST_OK ? 0 : -1;
}

static int tear_down(void **state)
{
	(void)state;
	httpd_stop(httpd);
	web_free(web);
	return 0;
}

/* The server once more, with other limits. */
static void serve_with(struct httpd_config config)
{
	httpd_stop(httpd);
	httpd = NULL;
	config.address = "127.0.0.1";
	config.idle = config.idle ? config.idle : NEVER;
	config.head = config.head ? config.head : NEVER;
	config.slow = config.slow ? config.slow : NEVER;
	assert_int_equal(httpd_start(web_app(web), &config, &httpd), ST_OK);
}

/* From 127.0.0.LAST. */
static int connect_from(unsigned char last)
{
	struct sockaddr_in at = {.sin_family = AF_INET, .sin_port = htons(httpd_port(httpd))};
	struct sockaddr_in from = {.sin_family = AF_INET};
	struct timeval patience = {.tv_sec = PATIENCE / 1000};
	int fd = socket(AF_INET, SOCK_STREAM | SOCK_CLOEXEC, 0);

	from.sin_addr.s_addr = htonl(0x7F000000 | last);
	at.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
	assert_true(fd >= 0);
	setsockopt(fd, SOL_SOCKET, SO_SNDTIMEO, &patience, sizeof patience);
	assert_int_equal(bind(fd, (const struct sockaddr *)&from, sizeof from), 0);
	assert_int_equal(connect(fd, (const struct sockaddr *)&at, sizeof at), 0);
	return fd;
}

static int connect_to_server(void)
{
	return connect_from(1);
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

/* What was said last, for whoever reads a failure. */
static const char *said = "";

static void say(int fd, const char *text)
{
	said = text;
	say_bytes(fd, text, strlen(text));
}

/* Adds what comes next; false at the end. Fails the test on long silence. */
static bool hear(int fd, struct text *heard)
{
	struct pollfd wait = {.fd = fd, .events = POLLIN};
	char bytes[4096];
	ssize_t len;

	if (poll(&wait, 1, PATIENCE) != 1) {
		print_error("no answer to %.300s\n", said);
		fail();
	}
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

/* A large form of a member: its token, then so many bytes of file. */
static void say_upload(int fd, enum who who, const char *target, size_t size)
{
	static const char after[] = "\r\n--XX--\r\n";
	char before[300], head[400];

	snprintf(before, sizeof before,
	         "--XX\r\nContent-Disposition: form-data; name=\"token\"\r\n\r\n%s\r\n"
	         "--XX\r\nContent-Disposition: form-data; name=\"file\"; "
	         "filename=\"a.pdf\"\r\n\r\n",
	         who == VISITOR ? "" : web_form_token(web, who));
	snprintf(head, sizeof head,
	         "POST %s HTTP/1.1\r\nHost: x\r\nCookie: %s\r\nContent-Type: "
	         "multipart/form-data; boundary=XX\r\nContent-Length: %zu\r\n\r\n",
	         target, who == VISITOR ? "" : web_cookie(web, who),
	         strlen(before) + size + sizeof after - 1);
	say(fd, head);
	say(fd, before);
	say_much(fd, size);
	say(fd, after);
}

static int status_heard(int fd)
{
	struct reply reply = listen_for(fd, false);
	int status = reply.status;

	text_free(&reply.text);
	return status;
}

static int upload_status(int fd, enum who who, const char *target, size_t size)
{
	say_upload(fd, who, target, size);
	return status_heard(fd);
}

static void test_an_upload_comes_through(void **state)
{
	int fd = connect_to_server();
	struct reply reply;

	(void)state;
	say_upload(fd, ANN, "/upload", 9 * MEGABYTE);
	reply = listen_for(fd, false);
	assert_int_equal(reply.status, 200);
	assert_non_null(strstr(reply.body, "\"file\":9437184"));
	text_free(&reply.text);
	close(fd);
}

/* Who may send a large body is told by its head alone; none of it is kept. */
static void test_large_bodies_are_for_members_who_may_send_them(void **state)
{
	static const struct {
		enum who who;
		const char *target;
		size_t size;
		int status;
	} rows[] = {
	        {VISITOR, "/upload", MEGABYTE, 413},
	        {VISITOR, "/upload", 80 * 1024, 413},
	        {VISITOR, "/upload", 50 * 1024, 200},
	        {VISITOR, "/echo", 80 * 1024, 413},
	        {ANN, "/echo", 80 * 1024, 200},
	        {ANN, "/echo", MEGABYTE, 413},
	        {VISITOR, "/stewards", MEGABYTE, 403},
	        {VISITOR, "/stewards", 1, 403},
	        {ANN, "/stewards", MEGABYTE, 403},
	        {STEWARD, "/stewards", MEGABYTE, 200},
	        {VISITOR, "/stewards", 20 * MEGABYTE, 413},
	        {VISITOR, "/kits/1", MEGABYTE, 403},
	        {BEN, "/kits/1", MEGABYTE, 404},
	        {ANN, "/kits/1", MEGABYTE, 200},
	        {ANN, "/kits/99", MEGABYTE, 404},
	        {ANN, "/nowhere", MEGABYTE, 404},
	};

	(void)state;
	for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
		int fd = connect_to_server();
		int status = upload_status(fd, rows[i].who, rows[i].target, rows[i].size);

		if (status != rows[i].status)
			print_error("%d for row %zu\n", status, i);
		assert_int_equal(status, rows[i].status);
		/* told of it on a connection that goes on */
		say(fd, GET("/echo"));
		assert_int_equal(status_heard(fd), 200);
		close(fd);
	}
}

/* One that has sent so many bytes of a larger body, and says no more. */
static int stuck_upload(unsigned char from, enum who who, size_t announced, size_t sent)
{
	int fd = connect_from(from);
	char head[400];

	snprintf(head, sizeof head,
	         "POST /upload HTTP/1.1\r\nHost: x\r\nCookie: %s\r\nContent-Length: %zu\r\n"
	         "Content-Type: application/x-www-form-urlencoded\r\n\r\n",
	         who == VISITOR ? "" : web_cookie(web, who), announced);
	say(fd, head);
	say_much(fd, sent);
	return fd;
}

static int upload_from(unsigned char from, enum who who, size_t size)
{
	int fd = connect_from(from);
	int status = upload_status(fd, who, "/upload", size);

	close(fd);
	return status;
}

/* Four who send slowly, each as much as would fill the room. */
static void test_slow_bodies_of_strangers_take_no_room(void **state)
{
	int slow[4];

	(void)state;
	serve_with((struct httpd_config){.bodies_most = MEGABYTE});
	for (size_t i = 0; i < 4; i++)
		slow[i] = stuck_upload(1, VISITOR, 10 * MEGABYTE, 2 * MEGABYTE);
	for (int i = 0; i < 30; i++)
		assert_int_equal(status_of("POST /echo HTTP/1.1\r\nHost: x\r\nContent-Type: "
		                           "application/x-www-form-urlencoded\r\n"
		                           "Content-Length: 9\r\n\r\ntext=even"),
		                 200);
	assert_int_equal(upload_from(1, ANN, 400 * 1024), 200);
	for (size_t i = 0; i < 4; i++)
		close(slow[i]);
}

/* Uploads until the answer is that one: what others send is still on its way, and
 * that somebody has gone is noticed a little later, on a busy machine much later.
 * Should it never come, ctest ends the test. */
static void upload_until(int wanted, unsigned char from, size_t size)
{
	while (upload_from(from, ANN, size) != wanted)
		continue;
}

/* Room for large bodies: half of it for one address; small ones need none. */
static void test_bodies_share_a_limit_and_give_their_room_back(void **state)
{
	int slow, other;

	(void)state;
	serve_with((struct httpd_config){.bodies_most = 8 * MEGABYTE});
	assert_int_equal(upload_from(1, ANN, 5 * MEGABYTE), 503);
	upload_until(200, 1, 3 * MEGABYTE);
	upload_until(200, 1, 3 * MEGABYTE);
	slow = stuck_upload(1, ANN, 6 * MEGABYTE, 3 * MEGABYTE);
	upload_until(503, 1, 2 * MEGABYTE);
	upload_until(200, 2, 3 * MEGABYTE);
	other = stuck_upload(2, BEN, 6 * MEGABYTE, 3 * MEGABYTE);
	upload_until(503, 3, 3 * MEGABYTE);
	assert_int_equal(upload_from(3, ANN, 50 * 1024), 200);
	close(slow);
	close(other);
	upload_until(200, 3, 3 * MEGABYTE);
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

/* Sends a head, and more than it would be wise to read behind it. */
static struct reply reply_to(const char *request)
{
	int fd = connect_to_server();
	struct reply reply;

	say(fd, request);
	reply = listen_for(fd, false);
	while (hear(fd, &reply.text))
		continue;
	close(fd);
	return reply;
}

#define HOST "Host: x\r\n"
#define FORM "Content-Type: application/x-www-form-urlencoded\r\n"
#define SMUGGLED "GET /words/smuggled HTTP/1.1\r\nHost: x\r\n\r\n"

/* Heads that two readers may read in two ways (RFC 9112 unless it says otherwise):
 * 400, and nothing behind them is read. */
static void test_unclear_heads_are_refused_and_end_the_connection(void **state)
{
	static const char *const rows[] = {
	        /* section 6.3: two lengths, also two that are alike */
	        "POST /echo HTTP/1.1\r\n" HOST FORM "Content-Length: 6\r\nContent-Length: 0\r\n\r\n"
	        "text=a" SMUGGLED,
	        "POST /echo HTTP/1.1\r\n" HOST FORM "Content-Length: 6\r\nContent-Length: 6\r\n\r\n"
	        "text=a" SMUGGLED,
	        "POST /echo HTTP/1.1\r\n" HOST FORM "Content-Length: 6, 6\r\n\r\ntext=a" SMUGGLED,
	        "POST /echo HTTP/1.1\r\n" HOST FORM "Content-Length: +6\r\n\r\ntext=a" SMUGGLED,
	        "POST /echo HTTP/1.1\r\n" HOST FORM "Content-Length: -1\r\n\r\ntext=a" SMUGGLED,
	        "POST /echo HTTP/1.1\r\n" HOST FORM "Content-Length: 0x6\r\n\r\ntext=a" SMUGGLED,
	        "POST /echo HTTP/1.1\r\n" HOST FORM "Content-Length:\r\n\r\ntext=a" SMUGGLED,
	        /* section 6.1: a length beside a coding */
	        "POST /echo HTTP/1.1\r\n" HOST FORM
	        "Content-Length: 6\r\nTransfer-Encoding: chunked\r\n"
	        "\r\n0\r\n\r\n" SMUGGLED,
	        "POST /echo HTTP/1.1\r\n" HOST FORM
	        "Transfer-Encoding: chunked\r\nContent-Length: 6\r\n"
	        "\r\n0\r\n\r\n" SMUGGLED,
	        /* section 6.1: codings that are not known, or not told once and plainly */
	        "POST /echo HTTP/1.1\r\n" HOST "Transfer-Encoding: gzip\r\n\r\n" SMUGGLED,
	        "POST /echo HTTP/1.1\r\n" HOST "Transfer-Encoding: gzip, chunked\r\n\r\n" SMUGGLED,
	        "POST /echo HTTP/1.1\r\n" HOST
	        "Transfer-Encoding: chunked, chunked\r\n\r\n" SMUGGLED,
	        "POST /echo HTTP/1.1\r\n" HOST "Transfer-Encoding: xchunked\r\n\r\n" SMUGGLED,
	        "POST /echo HTTP/1.1\r\n" HOST "Transfer-Encoding: chunked;q=1\r\n\r\n" SMUGGLED,
	        "POST /echo HTTP/1.1\r\n" HOST "Transfer-Encoding: identity\r\n\r\n" SMUGGLED,
	        "POST /echo HTTP/1.1\r\n" HOST "Transfer-Encoding:\r\n\r\n" SMUGGLED,
	        "POST /echo HTTP/1.1\r\n" HOST "Transfer-Encoding: chunked\r\n"
	        "Transfer-Encoding: identity\r\n\r\n0\r\n\r\n" SMUGGLED,
	        "POST /echo HTTP/1.0\r\n" HOST
	        "Transfer-Encoding: chunked\r\n\r\n0\r\n\r\n" SMUGGLED,
	        "GET /echo HTTP/1.1\r\n" HOST "Transfer-Encoding: gzip\r\n\r\n" SMUGGLED,
	        /* section 3.2: no host, two, or one that is none */
	        "GET /echo HTTP/1.1\r\n\r\n" SMUGGLED,
	        "GET /echo HTTP/1.1\r\n" HOST "Host: y\r\n\r\n" SMUGGLED,
	        "GET /echo HTTP/1.1\r\n" HOST HOST "\r\n" SMUGGLED,
	        "GET /echo HTTP/1.0\r\n" HOST "Host: y\r\n\r\n" SMUGGLED,
	        "GET /echo HTTP/1.1\r\nHost: x y\r\n\r\n" SMUGGLED,
	        "GET /echo HTTP/1.1\r\nHost: x/y\r\n\r\n" SMUGGLED,
	        /* section 2.2: a bare CR, wherever it stands */
	        "GET /echo HTTP/1.1\r\n" HOST "X-Any: a\rContent-Length: 5\r\n\r\n" SMUGGLED,
	        "GET /echo HTTP/1.1\r\n" HOST "X-Any\r: a\r\n\r\n" SMUGGLED,
	        "GET /echo HTTP/1.1\r\n" HOST "X-Any: a\r\r\n\r\n" SMUGGLED,
	        "GET /echo\r?a HTTP/1.1\r\n" HOST "\r\n" SMUGGLED,
	        "GET /echo?text=a\rb HTTP/1.1\r\n" HOST "\r\n" SMUGGLED,
	        "G\rET /echo HTTP/1.1\r\n" HOST "\r\n" SMUGGLED,
	        "GET /echo HTTP/1.1\r\n\rHost: x\r\n\r\n" SMUGGLED,
	        "GET /echo HTTP/1.1\r\n" HOST "\rX-Any: a\r\n\r\n" SMUGGLED,
	        /* section 2.2: a blank before the first field */
	        "GET /echo HTTP/1.1\r\n Host: y\r\n" HOST "\r\n" SMUGGLED,
	        /* section 5.1: a blank before the colon; a name that is none; no colon */
	        "POST /echo HTTP/1.1\r\n" HOST FORM "Content-Length : 6\r\n\r\ntext=a" SMUGGLED,
	        "POST /echo HTTP/1.1\r\n" HOST FORM "Content-Length\t: 6\r\n\r\ntext=a" SMUGGLED,
	        "GET /echo HTTP/1.1\r\n" HOST "X(Any): a\r\n\r\n" SMUGGLED,
	        "GET /echo HTTP/1.1\r\n" HOST "X-Any\r\n\r\n" SMUGGLED,
	        /* section 5.2: fields that go on in the next line */
	        "POST /echo HTTP/1.1\r\n" HOST FORM
	        "Content-Length: 6\r\n 1\r\n\r\ntext=a" SMUGGLED,
	        "GET /echo HTTP/1.1\r\n" HOST "X-Any: a\r\n\tb\r\n\r\n" SMUGGLED,
	        "GET /echo HTTP/1.1\r\n" HOST "X-Any: a\r\n b\r\nX-Other: c\r\n\r\n" SMUGGLED,
	        /* RFC 9110 sections 5.3 and 5.5: who calls, told twice; control characters */
	        "GET /echo HTTP/1.1\r\n" HOST
	        "Authorization: Basic a\r\nAuthorization: Basic b\r\n\r\n" SMUGGLED,
	        "GET /echo HTTP/1.1\r\n" HOST
	        "Origin: http://x\r\nOrigin: http://y\r\n\r\n" SMUGGLED,
	        "POST /echo HTTP/1.1\r\n" HOST FORM FORM "Content-Length: 6\r\n\r\ntext=a" SMUGGLED,
	        "GET /echo HTTP/1.1\r\n" HOST "X-Any: a\x01"
	        "b\r\n\r\n" SMUGGLED,
	        "GET /echo HTTP/1.1\r\n" HOST "X-Any: a\x7F\r\n\r\n" SMUGGLED,
	};

	(void)state;
	for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
		struct reply reply = reply_to(rows[i]);

		if (reply.status != 400 || strstr(text_string(&reply.text), "smuggled"))
			print_error("%d for %s\n%s\n", reply.status, rows[i],
			            text_string(&reply.text));
		assert_int_equal(reply.status, 400);
		assert_null(strstr(text_string(&reply.text), "smuggled"));
		text_free(&reply.text);
	}
}

/* The same fields as people's programs send them. */
static void test_clear_heads_go_on(void **state)
{
	static const char *const rows[] = {
	        "GET /echo HTTP/1.1\r\nHost: fairlead.test:8080\r\n\r\n",
	        "GET /echo HTTP/1.1\r\nHost: [::1]:8080\r\n\r\n",
	        "GET /echo HTTP/1.1\r\nHost:\r\n\r\n",
	        "GET /echo HTTP/1.1\r\nhOST:x\r\nX-Any:\t a\tb \r\nX-Any: \xC3\xA9\r\n\r\n",
	        "GET /echo HTTP/1.1\r\nHost: x\r\nCookie: a=b\r\nCookie: c=d\r\n\r\n",
	        "GET /echo HTTP/1.1\r\nHost: x\r\nAccept: a\r\nAccept: b\r\n\r\n",
	        "\r\nGET /echo HTTP/1.1\r\nHost: x\r\n\r\n",
	        "POST /echo HTTP/1.1\r\nHost: x\r\nTransfer-Encoding: Chunked\r\n" FORM "\r\n"
	        "6\r\ntext=a\r\n0\r\n\r\n",
	        "POST /echo HTTP/1.1\r\nHost: x\r\n" FORM "Content-Length: 006\r\n\r\ntext=a",
	};
	int fd = connect_to_server();

	(void)state;
	for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
		int status;

		say(fd, rows[i]);
		status = status_heard(fd);
		if (status != 200)
			print_error("%d for %s\n", status, rows[i]);
		assert_int_equal(status, 200);
	}
	close(fd);
}

/* Whatever the length of a request, it gets an answer: nothing that repeats a part
 * of it may overrun what a head may hold. RFC 9110 section 15.5.15, RFC 6585. */
static void test_every_length_gets_an_answer(void **state)
{
	static const char *const forms[][2] = {
	        {"GET /api/pages?text=", " HTTP/1.1\r\n" HOST "\r\n"},
	        {"GET /pages?text=", " HTTP/1.1\r\n" HOST "\r\n"},
	        {"GET /words/", " HTTP/1.1\r\n" HOST "\r\n"},
	        {"GET /api/", " HTTP/1.1\r\n" HOST "\r\n"},
	        {"GET /members/", " HTTP/1.1\r\n" HOST "\r\n"},
	        {"GET /echo HTTP/1.1\r\n" HOST "Cookie: a=", "\r\n\r\n"},
	        {"GET /echo HTTP/1.1\r\n" HOST "User-Agent: ", "\r\n\r\n"},
	};
	char *long_text = malloc(40001);
	int lengths = 0;

	(void)state;
	assert_non_null(long_text);
	for (size_t len = 100; len <= 40000; len += len < 4000 ? 300 : 1500, lengths++)
		for (size_t i = 0; i < sizeof forms / sizeof forms[0]; i++) {
			struct text request = TEXT_EMPTY;
			bool api = strstr(forms[i][0], "/api/");
			struct reply reply;
			int fd = connect_to_server();

			memset(long_text, 'a', len);
			long_text[len] = '\0';
			text_add(&request, forms[i][0]);
			text_add(&request, long_text);
			text_add(&request, forms[i][1]);
			say(fd, text_string(&request));
			reply = listen_for(fd, false);
			/* Beyond its memory libmicrohttpd may close without a word. */
			if (!reply.status && len < 14000)
				print_error("no answer to %.40s, %zu\n", forms[i][0], len);
			assert_true(reply.status == 200 || reply.status == 303 ||
			            reply.status == 404 || reply.status == 414 ||
			            reply.status == 431 || (!reply.status && len >= 14000));
			assert_true(len > 1000 || reply.status < 414);
			assert_true(len < 30000 || !reply.status || reply.status > 400);
			/* what libmicrohttpd cannot hold at all it refuses in its own words */
			if (api && reply.status == 414 && len < 14000)
				assert_non_null(field(&reply, "application/problem+json"));
			text_free(&reply.text);
			text_free(&request);
			close(fd);
		}
	free(long_text);
	assert_true(lengths > 30);
}

/* Many small things fill the memory of a head as one large thing does. */
static void test_every_number_of_fields_gets_an_answer(void **state)
{
	static const char *const kinds[][2] = {{"GET /echo?", "text=&"},
	                                       {"GET /echo HTTP/1.1\r\n" HOST, "a:\r\n"},
	                                       {"GET /echo HTTP/1.1\r\n" HOST "Cookie: ", "a=;"}};

	(void)state;
	for (size_t kind = 0; kind < 3; kind++)
		for (int count = 10; count < 2500; count += count / 2) {
			struct text request = TEXT_EMPTY;
			int status;

			text_add(&request, kinds[kind][0]);
			for (int i = 0; i < count; i++)
				text_add(&request, kinds[kind][1]);
			text_add(&request, kind == 0   ? " HTTP/1.1\r\n" HOST "\r\n"
			                   : kind == 1 ? "\r\n"
			                               : "\r\n\r\n");
			status = status_of(text_string(&request));
			/* Beyond its memory libmicrohttpd may close without a word. */
			if (status != 200 && status != 400 && status != 414 && status != 431)
				print_error("%d for %d of %s\n", status, count, kinds[kind][1]);
			assert_true(status == 200 || status == 400 || status == 414 ||
			            status == 431 || (!status && count > 400));
			assert_true(count > 200 || status < 414);
			text_free(&request);
		}
}

/* What is no request at all is closed without a word, or refused with one; others
 * are served on. */
static void test_rubbish(void **state)
{
	static const struct {
		const char *bytes;
		int status; /* 0: closed */
	} rubbish[] = {
	        {"GET\r\n\r\n", 0},
	        {"\x16\x03\x01\x02", 0},
	        {"GET /echo HTTP/9.9\r\n" HOST "\r\n", 505},
	        {"GET /echo\r\n\r\n", 400},
	        {"GET /ec", 0},
	        {"GET /echo HTTP/1.1\r\n" HOST, 0},
	        {"POST /echo HTTP/1.1\r\n" HOST "Content-Length: 5\r\n\r\ntex", 0},
	        {"POST /echo HTTP/1.1\r\n" HOST "Content-Length: x\r\n\r\n", 400},
	        {"POST /echo HTTP/1.1\r\n" HOST "Transfer-Encoding: chunked\r\n\r\nx\r\n", 400},
	};

	(void)state;
	serve_with((struct httpd_config){.idle = 1, .head = 1, .slow = 1});
	for (size_t i = 0; i < sizeof rubbish / sizeof rubbish[0]; i++) {
		int fd = connect_to_server();
		int status;

		say(fd, rubbish[i].bytes);
		shutdown(fd, SHUT_WR);
		status = status_heard(fd);
		if (status != rubbish[i].status)
			print_error("%d for %s\n", status, rubbish[i].bytes);
		assert_int_equal(status, rubbish[i].status);
		close(fd);
		assert_int_equal(status_of(GET("/echo")), 200);
	}
}

/* Says a little again and again until the server ends the connection. */
static void trickle(int fd, const char *bytes)
{
	struct pollfd wait = {.fd = fd, .events = POLLIN};
	struct text heard = TEXT_EMPTY;
	int tries = 0;

	while (poll(&wait, 1, 50) == 0) {
		assert_true(++tries < PATIENCE / 50);
		say(fd, bytes);
	}
	while (hear(fd, &heard))
		continue;
	assert_int_equal(heard.len, 0);
	text_free(&heard);
	close(fd);
}

static void test_silence_is_ended(void **state)
{
	(void)state;
	serve_with((struct httpd_config){.idle = 1});
	assert_int_equal(status_heard(connect_to_server()), 0);
}

/* Each stage of a connection has a time to end in, however busy its peer looks.
 * Empty lines before a request are no request (RFC 9112 section 2.2). */
static void test_who_trickles_is_ended(void **state)
{
	int kept;

	(void)state;
	serve_with((struct httpd_config){.idle = 1, .head = 1, .slow = 1});
	trickle(connect_to_server(), "\r\n");
	kept = connect_to_server();
	say(kept, GET("/echo"));
	assert_int_equal(status_heard(kept), 200);
	trickle(kept, "\r\n");
	serve_with((struct httpd_config){.head = 1});
	kept = connect_to_server();
	say(kept, "GET /echo HTTP/1.1\r\n");
	trickle(kept, "X-Any: a\r\n");
	serve_with((struct httpd_config){.slow = 1});
	kept = connect_to_server();
	say(kept, "POST /echo HTTP/1.1\r\n" HOST "Content-Length: 30000\r\n\r\n");
	trickle(kept, "a");
}

#define SLOW_HEADS 2000
#define SLOW_ADDRESSES 8

/* Two thousand heads that never end, from eight addresses, and no time limit that
 * would help: a newcomer is served nevertheless, and one after the other. */
static void test_slow_heads_make_room_for_newcomers(void **state)
{
	struct rlimit files;
	int *slow = calloc(SLOW_HEADS, sizeof *slow);

	(void)state;
	assert_non_null(slow);
	assert_int_equal(getrlimit(RLIMIT_NOFILE, &files), 0);
	assert_true(files.rlim_max > SLOW_HEADS + 1024);
	files.rlim_cur = files.rlim_max < 8192 ? files.rlim_max : 8192;
	assert_int_equal(setrlimit(RLIMIT_NOFILE, &files), 0);
	for (unsigned i = 0; i < SLOW_HEADS; i++) {
		slow[i] = connect_from((unsigned char)(2 + i % SLOW_ADDRESSES));
		say(slow[i], "GET /echo HTTP/1.1\r\nX-Any: ");
		if (i % 100 == 99)
			assert_int_equal(status_of(GET("/echo")), 200);
	}
	for (int i = 0; i < 20; i++)
		assert_int_equal(status_of(GET("/echo")), 200);
	for (unsigned i = 0; i < SLOW_HEADS; i++)
		close(slow[i]);
	free(slow);
}

/* A page that was kept open is not ended for newcomers while others take more. */
static void test_who_takes_many_places_makes_room_first(void **state)
{
	int polite = connect_to_server();
	int greedy[1200];

	(void)state;
	say(polite, GET("/echo"));
	assert_int_equal(status_heard(polite), 200);
	for (size_t i = 0; i < 1200; i++)
		greedy[i] = connect_from((unsigned char)(2 + i % 4));
	for (int i = 0; i < 20; i++) {
		say(polite, GET("/echo"));
		assert_int_equal(status_heard(polite), 200);
	}
	for (size_t i = 0; i < 1200; i++)
		close(greedy[i]);
	close(polite);
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
	        FRESH(test_large_bodies_are_for_members_who_may_send_them),
	        FRESH(test_slow_bodies_of_strangers_take_no_room),
	        FRESH(test_bodies_share_a_limit_and_give_their_room_back),
	        FRESH(test_hostile_text_does_not_reach_the_header),
	        FRESH(test_unclear_heads_are_refused_and_end_the_connection),
	        FRESH(test_clear_heads_go_on),
	        FRESH(test_every_length_gets_an_answer),
	        FRESH(test_every_number_of_fields_gets_an_answer),
	        FRESH(test_rubbish),
	        FRESH(test_silence_is_ended),
	        FRESH(test_who_trickles_is_ended),
	        FRESH(test_slow_heads_make_room_for_newcomers),
	        FRESH(test_who_takes_many_places_makes_room_first),
	        FRESH(test_a_session_works_over_the_wire),
	        FRESH(test_the_address_must_be_one),
	        FRESH(test_stopping_with_open_connections),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
