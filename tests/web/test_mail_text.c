/* Mails as text. What Python's email package makes of them is compared by
 * mail-compare.py; here is what the standards say of single lines. */
#include "support.h"

#include <string.h>

#include "formats/mail_text.h"

#define Q "=?UTF-8?Q?"
#define X10 "xxxxxxxxxx"
#define X60 X10 X10 X10 X10 X10 X10

static void subjects_become_what_the_standards_say(void **state)
{
	static const struct {
		const char *words, *line;
	} table[] = {
	        {"HF-SB-12: aileron bushing", "HF-SB-12: aileron bushing"},
	        {X60 "1234567", X60 "1234567"}, /* 76 with the name of the field */
	        /* RFC 2047 section 4.2: a blank is _, so _ and = and ? are written as =XX */
	        {"\xc2\xbd in", Q "=C2=BD_in?="},
	        {"a_b = c? \xc2\xbd", Q "a=5Fb_=3D_c=3F_=C2=BD?="},
	        {"=?UTF-8?Q?x?=", Q "=3D=3FUTF-8=3FQ=3Fx=3F=3D?="},
	        {" blank first", Q "_blank_first?="},
	        /* RFC 5322 section 2.2: nothing begins another field */
	        {"a\r\nBcc: ben@example.org", Q "a__Bcc=3A_ben=40example=2Eorg?="},
	        {"a\nb", Q "a_b?="},
	        {"a\rb", Q "a_b?="},
	        {"a\tb", Q "a_b?="},
	        {"a\x01\x7f"
	         "b",
	         Q "a__b?="},
	        {"a\r\n\r\nbody", Q "a____body?="},
	        /* C1 controls and marks of direction are safe once encoded */
	        {"a\xc2\x85"
	         "b",
	         Q "a=C2=85b?="},
	        {"\xe2\x80\xae"
	         "b",
	         Q "=E2=80=AEb?="},
	        /* broken UTF-8 */
	        {"a\xff"
	         "b",
	         Q "a=3Fb?="},
	        {"a\xc3", Q "a=3F?="},
	        {"a\xc3(", Q "a=3F=28?="},
	        {"\xed\xa0\x80", Q "=3F=3F=3F?="},
	        {"\xc0\xaf", Q "=3F=3F?="},
	        {"\xf4\x90\x80\x80", Q "=3F=3F=3F=3F?="},
	};

	(void)state;
	for (size_t i = 0; i < sizeof table / sizeof *table; i++) {
		struct text out = TEXT_EMPTY, wanted = TEXT_EMPTY;

		mail_text_words(&out, "Subject", table[i].words);
		text_printf(&wanted, "Subject: %s\r\n", table[i].line);
		assert_string_equal(text_string(&out), text_string(&wanted));
		text_free(&out);
		text_free(&wanted);
	}
}

/* RFC 2047 section 2: an encoded word is at most 75 long, a line with one 76;
 * section 5: no character is split. */
static void long_subjects_are_folded_between_characters(void **state)
{
	struct text words = TEXT_EMPTY, out = TEXT_EMPTY;
	const char *at;

	(void)state;
	for (int i = 0; i < 60; i++)
		text_add(&words, i % 3 ? "\xe2\x82\xac" : "x");
	mail_text_words(&out, "Subject", text_string(&words));
	at = text_string(&out);
	assert_true(strncmp(at, "Subject: " Q, 19) == 0);
	while (*at) {
		size_t len = strcspn(at, "\r");

		assert_true(len <= 76);
		assert_true(at[len + 1] == '\n' && (at[len + 2] == ' ' || at[len + 2] == '\0'));
		assert_memory_equal(at + len - 2, "?=", 2);
		for (const char *mark = strstr(at, "=E2"); mark && mark < at + len;
		     mark = strstr(mark + 1, "=E2"))
			assert_memory_equal(mark, "=E2=82=AC", 9);
		at += len + 2;
	}
	text_free(&words);
	text_free(&out);
}

static void bodies_become_what_the_standards_say(void **state)
{
	static const struct {
		const char *body, *text;
	} table[] = {
	        {"", ""},
	        {"a\n", "a\r\n"},
	        {"a", "a\r\n"},
	        {"a\r\nb", "a\r\nb\r\n"},
	        {"\n\na\n", "\r\n\r\na\r\n"},
	        /* RFC 2045 section 6.7: rules 1 to 5 */
	        {"3 = 3\n", "3 =3D 3\r\n"},
	        {"\xc2\xbd in\n", "=C2=BD in\r\n"},
	        {"blank \nend\t", "blank=20\r\nend=09\r\n"},
	        {"  two\tin\n", "  two\tin\r\n"},
	        {X60 "1234567890123456\n", X60 "1234567890123456\r\n"},
	        {X60 "12345678901234567\n", X60 "123456789012345=\r\n67\r\n"},
	        {X60 "12345678901234\xc2\xbd\n", X60 "12345678901234=\r\n=C2=BD\r\n"},
	        /* what mail programs change on the way */
	        {"From me\nFrom", "=46rom me\r\nFrom\r\n"},
	        {".\n..\n", ".\r\n..\r\n"}, /* libcurl doubles the dots */
	        /* what is no text */
	        {"a\rb\x01"
	         "c\x7f\n",
	         "a b c \r\n"},
	        {"a\xff\xc3\n", "a??\r\n"},
	};

	(void)state;
	for (size_t i = 0; i < sizeof table / sizeof *table; i++) {
		struct text out = TEXT_EMPTY;

		mail_text_body(&out, table[i].body);
		assert_string_equal(text_string(&out), table[i].text);
		text_free(&out);
	}
}

static const struct mail_message plain = {.from = "box@example.org",
                                          .from_name = "",
                                          .to = "ann@example.org",
                                          .subject = "Hello",
                                          .body = "Text\n",
                                          .id = 7,
                                          .made_at = 1790000000,
                                          .now = 1790000060};

static void a_message_is_whole(void **state)
{
	struct text out = TEXT_EMPTY;

	(void)state;
	mail_text(&out, &plain);
	/* The day by "date -u -d @1790000060 -R", GNU coreutils 9.1. */
	assert_string_equal(text_string(&out), "Date: Mon, 21 Sep 2026 14:14:20 +0000\r\n"
	                                       "From: <box@example.org>\r\n"
	                                       "To: <ann@example.org>\r\n"
	                                       "Subject: Hello\r\n"
	                                       "Message-ID: <7.1790000000.outbox@example.org>\r\n"
	                                       "Auto-Submitted: auto-generated\r\n"
	                                       "MIME-Version: 1.0\r\n"
	                                       "Content-Type: text/plain; charset=utf-8\r\n"
	                                       "Content-Transfer-Encoding: quoted-printable\r\n"
	                                       "\r\n"
	                                       "Text\r\n");
	text_free(&out);
}

static void senders_and_stop_links_are_written_safely(void **state)
{
	static const struct {
		const char *name, *stop;
		const char *part, *no_part; /* of the text */
	} table[] = {
	        {"North Hill", NULL, "From: North Hill\r\n <box@example.org>\r\n", "List-"},
	        {"Hill, North", NULL, "From: " Q "Hill=2C_North?=\r\n <box@example.org>\r\n",
	         "List-"},
	        {"\"A\" <x@y.z>", NULL, "From: " Q "=22A=22_=3Cx=40y=2Ez=3E?=\r\n <box", "\"A\""},
	        {"a\r\nBcc: b@c.de", NULL, "From: " Q "a__Bcc=3A_b=40c=2Ede?=\r\n <box", "\nBcc"},
	        {"W\xc3\xbcrm", NULL, "From: " Q "W=C3=BCrm?=\r\n <box@example.org>\r\n", "List-"},
	        {"", "https://f.example/mail/stop/T",
	         "List-Unsubscribe:\r\n <https://f.example/mail/stop/T>\r\n"
	         "List-Unsubscribe-Post: List-Unsubscribe=One-Click\r\n",
	         "Bcc"},
	        /* RFC 8058 section 3.1 wants https for the one click */
	        {"", "http://f.example/s", "List-Unsubscribe:\r\n <http://f.example/s>\r\n",
	         "-Post"},
	};

	(void)state;
	for (size_t i = 0; i < sizeof table / sizeof *table; i++) {
		struct mail_message message = plain;
		struct text out = TEXT_EMPTY;

		message.from_name = table[i].name;
		message.stop_url = table[i].stop;
		mail_text(&out, &message);
		if (!strstr(text_string(&out), table[i].part) ||
		    strstr(text_string(&out), table[i].no_part))
			fail_msg("row %zu: %s", i, text_string(&out));
		text_free(&out);
	}
}

static bool attempt(void *context)
{
	struct mail_message message = plain;
	struct text out = TEXT_EMPTY;
	bool made;

	(void)context;
	message.subject = "\xc2\xbd in of everything and more than fits one line, which is folded";
	message.body = "\xc2\xbd\n";
	mail_text(&out, &message);
	made = !text_failed(&out);
	text_free(&out);
	return made;
}

static void memory_that_runs_out_is_told(void **state)
{
	(void)state;
	try_each_allocation(attempt, NULL, false);
}

int main(void)
{
	static const struct CMUnitTest tests[] = {
	        cmocka_unit_test(subjects_become_what_the_standards_say),
	        cmocka_unit_test(long_subjects_are_folded_between_characters),
	        cmocka_unit_test(bodies_become_what_the_standards_say),
	        cmocka_unit_test(a_message_is_whole),
	        cmocka_unit_test(senders_and_stop_links_are_written_safely),
	        cmocka_unit_test(memory_that_runs_out_is_told),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
