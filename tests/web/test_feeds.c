/* Feeds and calendars as text: Atom (RFC 4287), iCalendar (RFC 5545), names of
 * entries (RFC 9562). Other programs read the same in tests/http/feeds.mjs. */
#include "support.h"

#include <stdio.h>
#include <string.h>

#include "base/embedded.h"
#include "base/utf8.h"
#include "web/html/atom.h"
#include "web/http/files.h"
#include "formats/icalendar.h"
#include "web/html/tmpl.h"
#include "os/uuid.h"

#define LINE_LONGEST 75 /* octets: RFC 5545 section 3.1 */

/* ---- iCalendar: one line ---- */

static void text_lines_are_escaped(void **state)
{
	/* RFC 5545 section 3.3.11, but where it says otherwise. */
	static const struct {
		const char *value, *written;
	} rows[] = {
	        {"", "X:\r\n"},
	        {"plain", "X:plain\r\n"},
	        {"a: b \"c\" 'd' <&>", "X:a: b \"c\" 'd' <&>\r\n"},
	        {"one, two", "X:one\\, two\r\n"},
	        {"one; two", "X:one\\; two\r\n"},
	        {"back\\slash", "X:back\\\\slash\r\n"},
	        {"\\n", "X:\\\\n\r\n"},
	        {"a\nb", "X:a\\nb\r\n"},
	        {"a\r\nb", "X:a\\nb\r\n"},
	        {"a\rb", "X:a\\nb\r\n"},
	        {"a\r\n\r\nb", "X:a\\n\\nb\r\n"},
	        {"a\n\rb", "X:a\\n\\nb\r\n"},
	        {"a\tb", "X:a\tb\r\n"}, /* HTAB may stand: section 3.1 */
	        {"\x01\x08\x0B\x1F\x7F", "X:\r\n"},
	        {"END:VCALENDAR", "X:END:VCALENDAR\r\n"},
	        {"a\nEND:VEVENT", "X:a\\nEND:VEVENT\r\n"},
	        {"a\r\nEND:VEVENT\r\n", "X:a\\nEND:VEVENT\\n\r\n"},
	        {"\xC3\xA9\xF0\x9F\x9B\xA9", "X:\xC3\xA9\xF0\x9F\x9B\xA9\r\n"},
	};

	(void)state;
	for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
		struct text out = TEXT_EMPTY;

		ical_text(&out, "X", rows[i].value);
		assert_string_equal(text_string(&out), rows[i].written);
		text_free(&out);
	}
}

/* Every line of it is short enough and whole characters; unfolded it is
 * "property:value" again. */
static void assert_folded(const struct text *out, const char *value)
{
	const char *at = text_string(out);
	struct text unfolded = TEXT_EMPTY;
	const char *end;

	while ((end = strstr(at, "\r\n")) != NULL) {
		size_t len = (size_t)(end - at);

		assert_true(len <= LINE_LONGEST);
		assert_int_equal(utf8_check(at, len, NULL), UTF8_FINE);
		assert_null(memchr(at, '\r', len));
		assert_null(memchr(at, '\n', len));
		text_add_bytes(&unfolded, at, len);
		at = end + 2;
		if (*at == ' ')
			at++; /* the rest of the same line */
		else
			assert_int_equal(*at, '\0');
	}
	assert_int_equal(*at, '\0');
	assert_int_equal(strncmp(text_string(&unfolded), "SUMMARY:", 8), 0);
	assert_string_equal(text_string(&unfolded) + 8, value);
	text_free(&unfolded);
}

static void lines_are_folded_at_every_length(void **state)
{
	/* Of one to four octets, and an escape that must stay whole. */
	static const char *const characters[] = {"x", "\xC3\xA9", "\xE2\x82\xAC",
	                                         "\xF0\x9F\x9B\xA9"};

	(void)state;
	for (size_t i = 0; i < 4; i++)
		for (size_t before = 0; before < 4; before++) {
			struct text value = TEXT_EMPTY;

			for (size_t k = 0; k < before; k++)
				text_add_char(&value, 'a');
			for (size_t n = 0; n < 320; n++) {
				struct text out = TEXT_EMPTY;

				ical_text(&out, "SUMMARY", text_string(&value));
				assert_folded(&out, text_string(&value));
				text_free(&out);
				text_add(&value, characters[i]);
			}
			text_free(&value);
		}
}

static void a_full_line_is_not_folded(void **state)
{
	static const struct {
		size_t octets, lines;
	} rows[] = {{67, 1}, {68, 2}, {67 + 74, 2}, {67 + 75, 3}}; /* after "SUMMARY:" */

	(void)state;
	for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
		struct text value = TEXT_EMPTY, out = TEXT_EMPTY;
		size_t lines = 0;

		for (size_t k = 0; k < rows[i].octets; k++)
			text_add_char(&value, 'x');
		ical_text(&out, "SUMMARY", text_string(&value));
		for (const char *at = text_string(&out); (at = strstr(at, "\r\n")) != NULL; at += 2)
			lines++;
		assert_int_equal(lines, rows[i].lines);
		text_free(&value);
		text_free(&out);
	}
}

static void no_escape_is_cut_in_two(void **state)
{
	(void)state;
	for (size_t before = 0; before < 160; before++) {
		struct text value = TEXT_EMPTY, out = TEXT_EMPTY;

		for (size_t k = 0; k < before; k++)
			text_add_char(&value, 'x');
		text_add(&value, ",\n;");
		ical_text(&out, "SUMMARY", text_string(&value));
		assert_null(strstr(text_string(&out), "\\\r\n"));
		text_free(&value);
		text_free(&out);
	}
}

/* ---- iCalendar: a whole one ---- */

static void an_event_is_one_whole_day(void **state)
{
	static const struct ical_event event = {.uid = "u-1",
	                                        .stamp = 1790000000,
	                                        .day = 20352, /* 2025-09-21 */
	                                        .summary = "Due: HF-1",
	                                        .description = "Why",
	                                        .category = "mandatory",
	                                        .url = "http://x.test/kits/1,2;3"};
	struct text out = TEXT_EMPTY;

	(void)state;
	ical_begin(&out, "Dates", "What");
	ical_event(&out, &event);
	ical_end(&out);
	assert_string_equal(text_string(&out), "BEGIN:VCALENDAR\r\n"
	                                       "VERSION:2.0\r\n"
	                                       "PRODID:-//Fairlead//Dates//EN\r\n"
	                                       "NAME:Dates\r\n"
	                                       "DESCRIPTION:What\r\n"
	                                       "REFRESH-INTERVAL;VALUE=DURATION:PT12H\r\n"
	                                       "BEGIN:VEVENT\r\n"
	                                       "UID:u-1\r\n"
	                                       "DTSTAMP:20260921T141320Z\r\n"
	                                       "DTSTART;VALUE=DATE:20250921\r\n"
	                                       "TRANSP:TRANSPARENT\r\n"
	                                       "SUMMARY:Due: HF-1\r\n"
	                                       "DESCRIPTION:Why\r\n"
	                                       "CATEGORIES:mandatory\r\n"
	                                       "URL:http://x.test/kits/1,2;3\r\n"
	                                       "END:VEVENT\r\n"
	                                       "END:VCALENDAR\r\n");
	text_free(&out);
}

static void a_note_has_no_day(void **state)
{
	static const struct ical_event note = {.uid = "u",
	                                       .summary = "About",
	                                       .description = "D",
	                                       .url = "http://x.test/ a\r\nX:1\x7F"};
	struct text out = TEXT_EMPTY;

	(void)state;
	ical_note(&out, &note);
	assert_string_equal(text_string(&out), "BEGIN:VJOURNAL\r\n"
	                                       "UID:u\r\n"
	                                       "DTSTAMP:19700101T000000Z\r\n"
	                                       "SUMMARY:About\r\n"
	                                       "DESCRIPTION:D\r\n"
	                                       "URL:http://x.test/aX:1\r\n"
	                                       "END:VJOURNAL\r\n");
	text_free(&out);
}

/* ---- Atom ---- */

static void what_xml_forbids_is_left_out(void **state)
{
	/* XML 1.0 section 2.2, production Char. */
	static const struct {
		const char *text, *kept;
	} rows[] = {
	        {"", ""},
	        {"a\tb\nc\rd", "a\tb\nc\rd"},
	        {"a\x01\x02\x08\x0B\x0C\x0E\x1F"
	         "b",
	         "ab"},
	        {"\x1B[31mred", "[31mred"},
	        {"a\xEF\xBF\xBE\xEF\xBF\xBF"
	         "b",
	         "ab"},                                                   /* U+FFFE, U+FFFF */
	        {"\xEF\xBF\xBD\xEF\xBF\xBC", "\xEF\xBF\xBD\xEF\xBF\xBC"}, /* U+FFFD, U+FFFC */
	        {"\xEF\xBE\xBF", "\xEF\xBE\xBF"},                         /* U+FFBF */
	        {"\x7F\xC2\x85", "\x7F\xC2\x85"},                         /* unwise, and allowed */
	        {"\xF0\x9F\x9B\xA9", "\xF0\x9F\x9B\xA9"},
	        {"<![CDATA[x]]>&amp;", "<![CDATA[x]]>&amp;"}, /* the template escapes */
	};

	(void)state;
	for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
		json_t *kept = atom_text(rows[i].text);

		assert_string_equal(json_string_value(kept), rows[i].kept);
		json_decref(kept);
	}
}

static void fill(const struct atom_feed *feed, struct text *out)
{
	struct tmpl_set *views = NULL;
	struct tmpl_fault fault = {.words = ""};
	json_t *view = atom_view(feed);

	assert_int_equal(tmpl_set_new(views_files, views_files_count, &views, &fault), ST_OK);
	assert_non_null(view);
	if (tmpl_render(views, "feed.xml", view, out, &fault) != ST_OK)
		fail_msg("%s:%u: %s", fault.file, fault.line, fault.words);
	json_decref(view);
	tmpl_set_free(views);
}

static const char hostile[] = "]]><script>\"'&amp;</title><entry>";
static const char escaped[] = "]]&gt;&lt;script&gt;&quot;&#39;&amp;amp;&lt;/title&gt;&lt;entry&gt;";

static size_t count_of(const char *text, const char *what)
{
	size_t count = 0;

	for (; (text = strstr(text, what)) != NULL; text++)
		count++;
	return count;
}

static void no_text_of_a_feed_becomes_markup(void **state)
{
	const struct atom_entry entry = {hostile, hostile, hostile, hostile, hostile, 1790000000};
	const struct atom_feed feed = {hostile, hostile, hostile, hostile,
	                               hostile, hostile, &entry,  1};
	struct text out = TEXT_EMPTY;

	(void)state;
	fill(&feed, &out);
	assert_int_equal(count_of(text_string(&out), escaped), 11);
	assert_int_equal(count_of(text_string(&out), "<entry>"), 1);
	assert_null(strstr(text_string(&out), "<script"));
	assert_int_equal(count_of(text_string(&out), "<updated>2026-09-21T14:13:20Z</updated>"), 2);
	text_free(&out);
}

static void what_a_feed_has_not_is_not_there(void **state)
{
	const struct atom_entry entry = {"urn:x", "T", "S", NULL, "http://x.test/", 0};
	const struct atom_feed bare = {"urn:f", "T", "S", "A", NULL, "http://x.test/", NULL, 0};
	struct atom_feed one = bare;
	struct text out = TEXT_EMPTY;

	(void)state;
	fill(&bare, &out);
	assert_int_equal(count_of(text_string(&out), "<link "), 1);
	assert_null(strstr(text_string(&out), "<entry>"));
	assert_non_null(strstr(text_string(&out), "<updated>1970-01-01T00:00:00Z</updated>"));
	text_clear(&out);
	one.entries = &entry;
	one.count = 1;
	fill(&one, &out);
	assert_null(strstr(text_string(&out), "<category"));
	assert_null(strstr(text_string(&out), "rel=\"self\""));
	text_free(&out);
}

/* ---- names ---- */

static void names_are_uuids_of_version_8(void **state)
{
	struct arena *arena = arena_new();

	(void)state;
	for (int i = 0; i < 200; i++) {
		const char *uuid = uuid_of(arena, "chapter", arena_printf(arena, "log/%d", i));

		assert_int_equal(strlen(uuid), 36);
		assert_int_equal(strspn(uuid, "0123456789abcdef-"), 36);
		assert_true(uuid[8] == '-' && uuid[13] == '-' && uuid[18] == '-' &&
		            uuid[23] == '-');
		assert_int_equal(uuid[14], '8');           /* RFC 9562 section 4.2 */
		assert_non_null(strchr("89ab", uuid[19])); /* section 4.1 */
	}
	arena_free(arena);
}

static void names_are_told_apart_and_stay(void **state)
{
	static const struct {
		const char *chapter, *name;
	} rows[] = {{"a", "log/1"}, {"a", "log/2"}, {"b", "log/1"}, {"", "log/1"}, {"a", ""}};
	struct arena *arena = arena_new();

	(void)state;
	for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
		const char *uuid = uuid_of(arena, rows[i].chapter, rows[i].name);

		assert_string_equal(uuid, uuid_of(arena, rows[i].chapter, rows[i].name));
		for (size_t k = 0; k < i; k++)
			assert_string_not_equal(uuid,
			                        uuid_of(arena, rows[k].chapter, rows[k].name));
	}
	/* Python: b = bytearray(hashlib.blake2b(b"log/1", key=b"a", digest_size=32)
	 * .digest()[:16]); b[6] = b[6] & 15 | 0x80; b[8] = b[8] & 63 | 0x80;
	 * uuid.UUID(bytes=bytes(b)) */
	assert_string_equal(uuid_urn(arena, "a", "log/1"),
	                    "urn:uuid:229212c9-4401-8645-8832-5be36dbaf99d");
	arena_free(arena);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
	        cmocka_unit_test(text_lines_are_escaped),
	        cmocka_unit_test(lines_are_folded_at_every_length),
	        cmocka_unit_test(a_full_line_is_not_folded),
	        cmocka_unit_test(no_escape_is_cut_in_two),
	        cmocka_unit_test(an_event_is_one_whole_day),
	        cmocka_unit_test(a_note_has_no_day),
	        cmocka_unit_test(what_xml_forbids_is_left_out),
	        cmocka_unit_test(no_text_of_a_feed_becomes_markup),
	        cmocka_unit_test(what_a_feed_has_not_is_not_there),
	        cmocka_unit_test(names_are_uuids_of_version_8),
	        cmocka_unit_test(names_are_told_apart_and_stay),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
