/* Handing a mail to a server: which addresses and servers are taken, and what
 * each answer of a server means. The server is a thread that answers by a
 * table; codes and their meaning are of RFC 5321 sections 4.2 and 4.3.2.
 */
#include "support.h"

#include <arpa/inet.h>
#include <pthread.h>
#include <signal.h>
#include <stdio.h>
#include <string.h>
#include <strings.h>
#include <sys/socket.h>
#include <unistd.h>

#include "os/mail.h"

#define MESSAGE "Subject: x\r\n\r\n.one\r\n..two\r\n"
/* RFC 5321 section 4.5.2: a dot more where a line begins with one. */
#define ON_THE_WIRE "Subject: x\r\n\r\n..one\r\n...two\r\n.\r\n"

/* A server that hangs up must not end the program: CURLOPT_NOSIGNAL of libcurl's manual. */
static void a_broken_pipe_ends_nothing(void **state)
{
	struct sigaction now;

	(void)state;
	assert_int_equal(sigaction(SIGPIPE, NULL, &now), 0);
	assert_ptr_equal(now.sa_handler, SIG_IGN);
}

/* ---- addresses ---- */

#define A10 "aaaaaaaaaa"
#define A60 A10 A10 A10 A10 A10 A10

static void addresses_are_told_apart(void **state)
{
	static const char *const good[] = {
	        "ann@example.org",
	        "a@b.c",
	        "ann.builder+kit-7@mail.example.org",
	        "o'hara@example.org",
	        "!#$%&'*+-/=?^_`{|}~@example.org",
	        "ANN@EXAMPLE.ORG",
	        "7@7.example",
	        "a@xn--bcher-kva.example",
	        A60 "aaaa@example.org", /* 64 bytes, RFC 5321 section 4.5.3.1.1 */
	        "a@" A60 "aaa.example", /* a label of 63, RFC 1035 section 2.3.4 */
	};
	static const char *const bad[] = {
	        "",
	        "ann",
	        "@",
	        "ann@",
	        "@example.org",
	        "ann@example",
	        "ann@@example.org",
	        "ann@example.org@example.org",
	        ".ann@example.org",
	        "ann.@example.org",
	        "an..n@example.org",
	        "ann@.example.org",
	        "ann@example.org.",
	        "ann@example..org",
	        "ann@-example.org",
	        "ann@example-.org",
	        "ann@example.-org",
	        "ann@example.org-",
	        "ann@ex_ample.org",
	        "ann@192.0.2.1",
	        "ann@[192.0.2.1]",
	        "ann@example.7",
	        "\"ann b\"@example.org",
	        "ann b@example.org",
	        " ann@example.org",
	        "ann@example.org ",
	        "Ann <ann@example.org>",
	        "<ann@example.org>",
	        "ann@example.org>",
	        "ann(builder)@example.org",
	        "ann@example.org,ben@example.org",
	        "ann@example.org\r\nRCPT TO:<ben@example.org>",
	        "ann@example.org\n",
	        "ann\t@example.org",
	        "ann\x7f@example.org",
	        "\xc3\xa4nn@example.org",
	        "ann@b\xc3\xbc"
	        "cher.example",
	        A60 "aaaaa@example.org",
	        "a@" A60 "aaaa.example",
	        "a@" A60 "." A60 "." A60 "." A60 "." A10, /* 256 bytes */
	};

	(void)state;
	for (size_t i = 0; i < sizeof good / sizeof *good; i++)
		if (!mail_address_ok(good[i]))
			fail_msg("refused: %s", good[i]);
	for (size_t i = 0; i < sizeof bad / sizeof *bad; i++)
		if (mail_address_ok(bad[i]))
			fail_msg("taken: %s", bad[i]);
}

/* ---- servers ---- */

static void servers_are_told_apart(void **state)
{
	static const struct {
		const char *url, *user;
		bool plain;
		const char *fault; /* part of it, NULL: none */
	} table[] = {
	        {"smtp://mail.example.org", NULL, false, NULL},
	        {"smtp://mail.example.org:587", "u", false, NULL},
	        {"smtps://mail.example.org:465", "u", false, NULL},
	        {"smtps://mail.example.org", "u", true, NULL},
	        {"smtp://mail.example.org", NULL, true, NULL},
	        {"smtp://127.0.0.1:25", "u", false, NULL},
	        {"smtp://127.1.2.3", "u", true, NULL},
	        {"smtp://localhost:2525", "u", true, NULL},
	        {"smtp://[::1]:25", "u", true, NULL},
	        {"smtp://[2001:db8::1]", "u", false, NULL},
	        {"smtp://mail.example.org", "u", true, "in the open"},
	        {"smtp://[2001:db8::1]", "u", true, "in the open"},
	        {"smtp://127.0.0.1.example.org", "u", true, "in the open"},
	        {"", NULL, false, "must begin"},
	        {"mail.example.org", NULL, false, "must begin"},
	        {"http://mail.example.org", NULL, false, "must begin"},
	        {"SMTP://mail.example.org", NULL, false, "must begin"},
	        {"file:///etc/passwd", NULL, false, "must begin"},
	        {"smtp://", NULL, false, "no name"},
	        {"smtp:///x", NULL, false, "no name"},
	        {"smtp://:25", NULL, false, "no name"},
	        {"smtp://[]", NULL, false, "no name"},
	        {"smtp://[::1", NULL, false, "no name"},
	        {"smtp://[mail]", NULL, false, "no name"},
	        {"smtp://u:p@mail.example.org", NULL, false, "neither user"},
	        {"smtp://mail.example.org/", NULL, false, "neither user"},
	        {"smtp://mail.example.org/me", NULL, false, "neither user"},
	        {"smtp://mail.example.org?x", NULL, false, "neither user"},
	        {"smtp://mail.example.org:", NULL, false, "neither user"},
	        {"smtp://mail.example.org:0", NULL, false, "neither user"},
	        {"smtp://mail.example.org:65536", NULL, false, "neither user"},
	        {"smtp://mail.example.org:25x", NULL, false, "neither user"},
	        {"smtp://mail.example.org:000025", NULL, false, "neither user"},
	        {"smtp://mail example.org", NULL, false, "neither user"},
	        {"smtp://mail.example.org\r\nX", NULL, false, "neither user"},
	};

	(void)state;
	for (size_t i = 0; i < sizeof table / sizeof *table; i++) {
		const struct mail_server server = {.url = table[i].url,
		                                   .user = table[i].user,
		                                   .password = "p",
		                                   .plain = table[i].plain};
		const char *fault = mail_server_fault(&server);

		if (!fault != !table[i].fault || (fault && !strstr(fault, table[i].fault)))
			fail_msg("%s: %s", table[i].url, fault ? fault : "taken");
	}
}

/* ---- a server that answers by a table ---- */

enum { GREETING, EHLO, AUTH, PASSWORD, MAIL, RCPT, DATA, END, QUIT, STEPS };

struct answers {
	const char *at[STEPS]; /* NULL: as a server that agrees; "": the connection ends */
};

static const char *const agreed[STEPS] = {"220 ready\r\n",
                                          "250-here\r\n250 AUTH PLAIN\r\n",
                                          "334 \r\n",
                                          "235 good\r\n",
                                          "250 ok\r\n",
                                          "250 ok\r\n",
                                          "354 go on\r\n",
                                          "250 taken\r\n",
                                          ""};

struct listener {
	int fd;
	char url[64];
	pthread_t thread;
	struct answers answers;
	char heard[16384]; /* all of it */
	size_t len;
};

/* false: the connection is to end. */
static bool say(struct listener *l, int fd, int step)
{
	const char *words = l->answers.at[step] ? l->answers.at[step] : agreed[step];

	return words[0] && send(fd, words, strlen(words), MSG_NOSIGNAL) > 0;
}

/* Reads up to the mark; false when the other side has gone. */
static bool hear(struct listener *l, int fd, const char *mark)
{
	size_t from = l->len;

	while (l->len < sizeof l->heard - 1) {
		if (recv(fd, l->heard + l->len, 1, 0) <= 0)
			return false;
		l->heard[++l->len] = '\0';
		if (strstr(l->heard + from, mark))
			return true;
	}
	return false;
}

static int step_of(const char *line)
{
	static const struct {
		const char *word;
		int step;
	} words[] = {{"EHLO", EHLO}, {"HELO", EHLO}, {"AUTH", AUTH}, {"MAIL", MAIL},
	             {"RCPT", RCPT}, {"DATA", DATA}, {"QUIT", QUIT}};

	for (size_t i = 0; i < sizeof words / sizeof *words; i++)
		if (strncmp(line, words[i].word, 4) == 0)
			return words[i].step;
	return -1;
}

static void talk(struct listener *l, int fd)
{
	bool on = say(l, fd, GREETING) && !l->answers.at[GREETING];

	while (on) {
		size_t from = l->len;
		int step;

		if (!hear(l, fd, "\r\n"))
			return;
		step = step_of(l->heard + from);
		on = step >= 0 && say(l, fd, step);
		if (on && step == AUTH && !l->answers.at[AUTH])
			on = hear(l, fd, "\r\n") && say(l, fd, PASSWORD);
		if (on && step == DATA && (!l->answers.at[DATA] || l->answers.at[DATA][0] == '3'))
			on = hear(l, fd, "\r\n.\r\n") && say(l, fd, END) &&
			     !l->answers.at[END]; /* then nothing more comes */
	}
}

static void *listen_once(void *context)
{
	struct listener *l = context;
	int fd = accept(l->fd, NULL, NULL);

	if (fd >= 0) {
		talk(l, fd);
		close(fd);
	}
	return NULL;
}

static void listener_start(struct listener *l, const struct answers *answers, const char *url)
{
	struct sockaddr_in address = {.sin_family = AF_INET,
	                              .sin_addr.s_addr = htonl(INADDR_LOOPBACK)};
	socklen_t len = sizeof address;

	*l = (struct listener){.answers = *answers};
	l->fd = socket(AF_INET, SOCK_STREAM, 0);
	assert_int_equal(bind(l->fd, (struct sockaddr *)&address, len), 0);
	assert_int_equal(listen(l->fd, 5), 0);
	assert_int_equal(getsockname(l->fd, (struct sockaddr *)&address, &len), 0);
	snprintf(l->url, sizeof l->url, "%s:%u", url, ntohs(address.sin_port));
	assert_int_equal(pthread_create(&l->thread, NULL, listen_once, l), 0);
}

static void listener_end(struct listener *l)
{
	shutdown(l->fd, SHUT_RDWR);
	pthread_join(l->thread, NULL);
	close(l->fd);
}

static enum mail_outcome hand_over(const struct mail_server *server, const char *message,
                                   char fault[MAIL_FAULT_SIZE])
{
	const struct mail_letter letter = {.from = "box@example.org",
	                                   .to = "ann@example.org",
	                                   .message = message,
	                                   .len = strlen(message)};

	return mail_hand_over(server, &letter, NULL, NULL, fault);
}

/* ---- answers ---- */

static void each_answer_means_one_thing(void **state)
{
	static const struct {
		struct answers answers;
		enum mail_outcome outcome;
		const char *fault; /* part of it */
	} table[] = {
	        {{{NULL}}, MAIL_ACCEPTED, NULL},
	        {{{[END] = "250-ok\r\n250 taken as 7\r\n"}}, MAIL_ACCEPTED, NULL},
	        /* about this mail, for good */
	        {{{[RCPT] = "550 no such user\r\n"}}, MAIL_REFUSED, "550 no such user"},
	        {{{[RCPT] = "550-no such user\r\n550 5.1.1 ask\r\n"}},
	         MAIL_REFUSED,
	         "550 5.1.1 ask"},
	        {{{[RCPT] = "553 not so\r\n", [QUIT] = "221 bye\r\n"}}, MAIL_REFUSED, "553"},
	        {{{[DATA] = "554 no\r\n"}}, MAIL_REFUSED, "554"},
	        {{{[END] = "554 spam\r\n"}}, MAIL_REFUSED, "554 spam"},
	        {{{[END] = "552 too much \xff\x01\r\n"}}, MAIL_REFUSED, "552 too much ??"},
	        /* try again */
	        {{{[GREETING] = "421 busy\r\n"}}, MAIL_LATER, "421"},
	        {{{[GREETING] = "554 not for you\r\n"}}, MAIL_LATER, "554"},
	        {{{[GREETING] = "HTTP/1.1 400 Bad Request\r\n"}}, MAIL_LATER, ""},
	        {{{[GREETING] = ""}}, MAIL_LATER, ""},
	        {{{[EHLO] = ""}}, MAIL_LATER, ""},
	        {{{[AUTH] = "504 not known\r\n"}}, MAIL_LATER, "504"},
	        {{{[PASSWORD] = "535 wrong\r\n"}}, MAIL_LATER, "535 wrong"},
	        {{{[PASSWORD] = ""}}, MAIL_LATER, ""},
	        {{{[MAIL] = "550 who are you\r\n"}}, MAIL_LATER, "550 who"},
	        {{{[MAIL] = "451 later\r\n"}}, MAIL_LATER, "451"},
	        {{{[MAIL] = ""}}, MAIL_LATER, ""},
	        {{{[RCPT] = "450 grey\r\n"}}, MAIL_LATER, "450 grey"},
	        {{{[RCPT] = "451 later\r\n"}}, MAIL_LATER, "451"},
	        {{{[RCPT] = ""}}, MAIL_LATER, ""},
	        {{{[DATA] = "451 later\r\n"}}, MAIL_LATER, "451"},
	        {{{[DATA] = ""}}, MAIL_LATER, ""},
	        {{{[END] = "451 later\r\n"}}, MAIL_LATER, "451 later"},
	        {{{[END] = "421 closing\r\n"}}, MAIL_LATER, "421 closing"},
	        /* nobody knows */
	        {{{[END] = ""}}, MAIL_UNSURE_SENT, ""},
	        {{{[END] = "250-half an answer\r\n"}}, MAIL_UNSURE_SENT, ""},
	        {{{[END] = "what?\r\n"}}, MAIL_UNSURE_SENT, ""},
	};

	(void)state;
	for (size_t i = 0; i < sizeof table / sizeof *table; i++) {
		char fault[MAIL_FAULT_SIZE];
		struct listener l;
		enum mail_outcome outcome;

		listener_start(&l, &table[i].answers, "smtp://127.0.0.1");
		outcome = hand_over(
		        &(struct mail_server){
		                .url = l.url, .user = "ann", .password = "secret", .seconds = 10},
		        MESSAGE, fault);
		listener_end(&l);
		if (outcome != table[i].outcome)
			fail_msg("row %zu: %d, %s", i, outcome, fault);
		if (outcome != MAIL_ACCEPTED && !strstr(fault, table[i].fault))
			fail_msg("row %zu: %s", i, fault);
		if (outcome == MAIL_ACCEPTED)
			assert_non_null(strstr(l.heard, ON_THE_WIRE));
	}
}

static void what_goes_out_is_what_was_given(void **state)
{
	char fault[MAIL_FAULT_SIZE];
	struct listener l;

	(void)state;
	listener_start(&l, &(struct answers){{NULL}}, "smtp://localhost");
	assert_int_equal(hand_over(&(struct mail_server){.url = l.url}, MESSAGE, fault),
	                 MAIL_ACCEPTED);
	listener_end(&l);
	assert_non_null(strstr(l.heard, "MAIL FROM:<box@example.org>"));
	assert_non_null(strstr(l.heard, "RCPT TO:<ann@example.org>\r\nDATA\r\n" ON_THE_WIRE));
	assert_null(strstr(l.heard, "AUTH"));
}

static void nobody_there_is_try_again(void **state)
{
	char fault[MAIL_FAULT_SIZE];
	struct listener l;

	(void)state;
	listener_start(&l, &(struct answers){{NULL}}, "smtp://127.0.0.1");
	listener_end(&l);
	assert_int_equal(hand_over(&(struct mail_server){.url = l.url}, MESSAGE, fault),
	                 MAIL_LATER);
	assert_true(fault[0] != '\0');
}

/* The same machine by an address that is not taken for it: TLS is asked for,
 * this server offers none, and hears neither a password nor a message. */
static void another_machine_without_tls_gets_nothing(void **state)
{
	static const char elsewhere[] = "smtp://[::ffff:127.0.0.1]";
	char fault[MAIL_FAULT_SIZE];
	struct listener l;

	(void)state;
	listener_start(&l, &(struct answers){{NULL}}, elsewhere);
	assert_int_equal(
	        hand_over(&(struct mail_server){.url = l.url, .user = "ann", .password = "secret"},
	                  MESSAGE, fault),
	        MAIL_LATER);
	listener_end(&l);
	assert_null(strstr(l.heard, "AUTH"));
	assert_null(strstr(l.heard, "MAIL"));
	listener_start(&l, &(struct answers){{NULL}}, elsewhere);
	assert_int_equal(
	        hand_over(&(struct mail_server){.url = l.url, .plain = true}, MESSAGE, fault),
	        MAIL_ACCEPTED);
	listener_end(&l);
}

static bool end_now(void *context)
{
	(void)context;
	return true;
}

static void a_stop_ends_it_before_the_message(void **state)
{
	const struct mail_letter letter = {.from = "box@example.org",
	                                   .to = "ann@example.org",
	                                   .message = MESSAGE,
	                                   .len = strlen(MESSAGE)};
	char fault[MAIL_FAULT_SIZE];
	struct listener l;

	(void)state;
	listener_start(&l, &(struct answers){{NULL}}, "smtp://127.0.0.1");
	assert_int_equal(
	        mail_hand_over(&(struct mail_server){.url = l.url}, &letter, end_now, NULL, fault),
	        MAIL_LATER);
	listener_end(&l);
	assert_null(strstr(l.heard, "Subject"));
}

static int set_up(void **state)
{
	(void)state;
	return mail_start() == ST_OK ? 0 : -1;
}

int main(void)
{
	static const struct CMUnitTest tests[] = {
	        cmocka_unit_test(a_broken_pipe_ends_nothing),
	        cmocka_unit_test(addresses_are_told_apart),
	        cmocka_unit_test(servers_are_told_apart),
	        cmocka_unit_test(each_answer_means_one_thing),
	        cmocka_unit_test(what_goes_out_is_what_was_given),
	        cmocka_unit_test(nobody_there_is_try_again),
	        cmocka_unit_test(another_machine_without_tls_gets_nothing),
	        cmocka_unit_test(a_stop_ends_it_before_the_message),
	};

	return cmocka_run_group_tests(tests, set_up, NULL);
}
