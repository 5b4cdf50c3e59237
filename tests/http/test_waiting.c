/* test_waiting.c - forms with pictures over the real server: while they wait they hold
 * no thread, and when the server stops they are let go.
 */
#include "support.h"

#include <arpa/inet.h>
#include <netinet/in.h>
#include <poll.h>
#include <stdio.h>
#include <string.h>
#include <sys/socket.h>
#include <unistd.h>

#include <gd.h>

#include "base/text.h"
#include "web/http/httpd.h"
#include "web_support.h"

#define PATIENCE 20000 /* milliseconds until a silent server fails the test */
#define LOOKS 40       /* more connections than the server has threads, each a few times */

static struct web *web;
static struct httpd *httpd;

static int set_up(void **state)
{
	struct httpd_config config = {.address = "127.0.0.1", .threads = 1};

	(void)state;
	web = web_new(NULL, 0, NULL, 0);
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
	assert_int_equal(connect(fd, (const struct sockaddr *)&at, sizeof at), 0);
	return fd;
}

static void say(int fd, const struct text *text)
{
	for (size_t done = 0; done < text->len;) {
		ssize_t sent = send(fd, text->at + done, text->len - done, MSG_NOSIGNAL);

		assert_true(sent > 0);
		done += (size_t)sent;
	}
}

/* The status of the next answer; 0: closed without one. The rest is left unread. */
static int hear(int fd)
{
	struct pollfd wait = {.fd = fd, .events = POLLIN};
	char head[13] = "";

	assert_int_equal(poll(&wait, 1, PATIENCE), 1);
	if (recv(fd, head, 12, MSG_WAITALL) != 12)
		return 0;
	return (head[9] - '0') * 100 + (head[10] - '0') * 10 + (head[11] - '0');
}

static void add_part(struct text *body, const char *name, const char *value)
{
	text_printf(body, "--edge\r\nContent-Disposition: form-data; name=\"%s\"\r\n\r\n%s\r\n",
	            name, value);
}

/* A form with a note on a part and a drawing, sent on a connection of its own. */
static int send_form(enum who who)
{
	struct text body = TEXT_EMPTY, head = TEXT_EMPTY;
	gdImagePtr image = gdImageCreateTrueColor(30, 20);
	int size = 0, fd = connect_to_server();
	void *made = gdImagePngPtr(image, &size);

	add_part(&body, "token", web_form_token(web, who));
	add_part(&body, "number", "WH-2207-1");
	add_part(&body, "text", "Look here.");
	text_add(&body, "--edge\r\nContent-Disposition: form-data; name=\"pictures\"; "
	                "filename=\"a.png\"\r\n\r\n");
	text_add_bytes(&body, made, (size_t)size);
	text_add(&body, "\r\n--edge--\r\n");
	text_printf(&head,
	            "POST /part/notes HTTP/1.1\r\nHost: fairlead.test\r\nSec-Fetch-Site: "
	            "same-origin\r\nCookie: %s\r\nContent-Type: multipart/form-data; "
	            "boundary=edge\r\nContent-Length: %zu\r\n\r\n",
	            web_cookie(web, who), body.len);
	say(fd, &head);
	say(fd, &body);
	text_free(&head);
	text_free(&body);
	gdFree(made);
	gdImageDestroy(image);
	return fd;
}

static int look(void)
{
	struct text get = TEXT_EMPTY;
	int fd = connect_to_server(), status;

	text_add(&get, "GET /notices HTTP/1.1\r\nHost: fairlead.test\r\n\r\n");
	say(fd, &get);
	status = hear(fd);
	text_free(&get);
	close(fd);
	return status;
}

static void send_forms(int *fds)
{
	for (enum who who = ANN; who <= ADMIN; who++)
		fds[who] = send_form(who);
}

static void others_are_served_meanwhile(void **state)
{
	int fds[WHOS];

	(void)state;
	send_forms(fds);
	for (int i = 0; i < LOOKS; i++)
		assert_int_equal(look(), 200);
	assert_int_equal(app_start_rounds(web_app(web)), ST_OK);
	for (enum who who = ANN; who <= ADMIN; who++) {
		assert_int_equal(hear(fds[who]), 303);
		close(fds[who]);
	}
	assert_true(web_holds(web_get(web, VISITOR, "/part?number=WH-2207-1"), "/small\""));
}

/* A caller who goes away meanwhile harms nobody. */
static void some_do_not_wait(void **state)
{
	int fds[WHOS];

	(void)state;
	send_forms(fds);
	close(fds[ANN]);
	close(fds[BEN]);
	assert_int_equal(look(), 200);
	assert_int_equal(app_start_rounds(web_app(web)), ST_OK);
	assert_int_equal(hear(fds[STEWARD]), 303);
	assert_int_equal(hear(fds[ADMIN]), 303);
	close(fds[STEWARD]);
	close(fds[ADMIN]);
	assert_int_equal(look(), 200);
}

/* Answered or cut off, but the server ends and keeps nothing half. */
static void the_server_stops_meanwhile(void **state)
{
	int fds[WHOS];

	(void)state;
	send_forms(fds);
	assert_int_equal(look(), 200);
	httpd_stop(httpd);
	httpd = NULL;
	for (enum who who = ANN; who <= ADMIN; who++) {
		int status = hear(fds[who]);

		assert_true(status == 0 || status == 422 || status == 503);
		close(fds[who]);
	}
	assert_false(web_holds(web_get(web, VISITOR, "/part?number=WH-2207-1"), "Look here."));
}

#define TEST(name) cmocka_unit_test_setup_teardown(name, set_up, tear_down)

int main(void)
{
	const struct CMUnitTest tests[] = {
	        TEST(others_are_served_meanwhile),
	        TEST(some_do_not_wait),
	        TEST(the_server_stops_meanwhile),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
