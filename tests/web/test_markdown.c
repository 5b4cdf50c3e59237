/* test_markdown.c - notes in CommonMark, through the template.
 *
 * What CommonMark asks is compared with MD4C's own renderer over the whole
 * specification (commonmark-compare.mjs); here stand our differences, hostile
 * notes and the limits.
 */
#include <stdlib.h>
#include <string.h>

#include <time.h>

#include "note_page.h"
#include "support.h"
#include "web/html/markdown.h"

#define LENGTH(array) (sizeof(array) / sizeof *(array))
#define REL " rel=\"nofollow ugc noopener\">"

struct row {
	const char *text, *html;
};

static void check_rows(const struct row *rows, size_t count)
{
	struct tmpl_set *set = note_set_new();

	for (size_t i = 0; i < count; i++) {
		struct text out = TEXT_EMPTY;

		assert_int_equal(note_page(set, rows[i].text, &out), ST_OK);
		if (strcmp(text_string(&out), rows[i].html) != 0)
			fail_msg("%s: <%s> instead of <%s>", rows[i].text, text_string(&out),
			         rows[i].html);
		text_free(&out);
	}
	tmpl_set_free(set);
}

static const struct row shop_notes[] = {
        {"", ""},
        {"   \n\n", ""},
        {"Drilled *from the rib side*,\nnot **through** the `spar`.",
         "<p>Drilled <em>from the rib side</em>,\nnot <strong>through</strong> the"
         " <code>spar</code>.</p>"},
        {"one\n\ntwo  \nthree", "<p>one</p><p>two<br>three</p>"},
        {"- left\n- right\n  - top", "<ul><li>left</li><li>right<ul><li>top</li></ul></li></ul>"},
        {"- left\n\n- right", "<ul><li><p>left</p></li><li><p>right</p></li></ul>"},
        {"3. a\n4. b", "<ol start=\"3\"><li>a</li><li>b</li></ol>"},
        {"> said", "<blockquote><p>said</p></blockquote>"},
        {"    0.032 in\n", "<pre><code>0.032 in\n</code></pre>"},
        {"```c\na < b\n```", "<pre><code>a &lt; b\n</code></pre>"},
        {"***", "<hr>"},
        {"| a | b |\n|---|---|\n", "<p>| a | b |\n|---|---|</p>"},
        {"~~no~~", "<p>~~no~~</p>"},
};

static const struct row headings[] = {
        {"# a", "<h4>a</h4>"},    {"## a", "<h5>a</h5>"},     {"### a", "<h6>a</h6>"},
        {"#### a", "<h6>a</h6>"}, {"###### a", "<h6>a</h6>"}, {"a\n=", "<h4>a</h4>"},
};

static const struct row links[] = {
        {"[a](http://example.org)", "<p><a href=\"http://example.org\"" REL "a</a></p>"},
        {"[a](https://example.org/?a=1&amp;b=2 \"t & 'u'\")",
         "<p><a href=\"https://example.org/?a=1&amp;b=2\" title=\"t &amp; &#39;u&#39;\"" REL
         "a</a></p>"},
        {"see https://example.org/x.",
         "<p>see <a href=\"https://example.org/x\"" REL "https://example.org/x</a>.</p>"},
        {"<https://example.org>",
         "<p><a href=\"https://example.org\"" REL "https://example.org</a></p>"},
        {"![rib *9*](https://example.org/r.jpg)",
         "<p><a href=\"https://example.org/r.jpg\"" REL "rib <em>9</em></a></p>"},
        {"[![rib](https://example.org/r.jpg)](https://example.org)",
         "<p><a href=\"https://example.org\"" REL "rib</a></p>"},
        {"![a [b](https://example.org/b) c](https://example.org/d)",
         "<p><a href=\"https://example.org/d\"" REL "a b c</a></p>"},
        {"[a](javascript:alert(1))", "<p>a</p>"},
        {"[a](JaVaScRiPt:alert(1))", "<p>a</p>"},
        {"[a](&#106;avascript:alert(1))", "<p>a</p>"},
        {"[a](data:text/html,x)", "<p>a</p>"},
        {"[a](//example.org)", "<p>a</p>"},
        {"[a](/sign-out)", "<p>a</p>"},
        {"[a](#b)", "<p>a</p>"},
        {"[a](<http://exa mple.org>)", "<p>a</p>"},
        {"[a](http://example.org/&#10;b)", "<p>a</p>"},
        {"[a](http:\\\\example.org)", "<p>a</p>"},
        {"<someone@example.org>", "<p>someone@example.org</p>"},
        {"<ftp://example.org>", "<p>ftp://example.org</p>"},
        {"![a](x.png)", "<p>a</p>"},
        {"[a]\n\n[a]: javascript:alert(1)", "<p>a</p>"},
};

static const struct row entities[] = {
        {"&lt;b&gt; &amp;amp; &quot;", "<p>&lt;b&gt; &amp;amp; &quot;</p>"},
        {"3&frac12; &times; 2&nbsp;in &mdash; 45&deg;",
         "<p>3\u00BD \u00D7 2\u00A0in \u2014 45\u00B0</p>"},
        {"&#8211; &#x2014; &#X1F6E9;", "<p>\u2013 \u2014 \U0001F6E9</p>"},
        {"&#0; &#xD800; &#1114112; &#x202E; &#7;", "<p>\uFFFD \uFFFD \uFFFD \uFFFD \uFFFD</p>"},
        {"&unheard; &Aacute;", "<p>&amp;unheard; &amp;Aacute;</p>"},
        {"&#xE9;&#x7F;", "<p>\u00E9\uFFFD</p>"},
        {"`&lt;`", "<p><code>&amp;lt;</code></p>"},
};

static const struct row hostile[] = {
        {"<script>alert(1)</script>", "<p>&lt;script&gt;alert(1)&lt;/script&gt;</p>"},
        {"a <img src=x onerror=alert(1)> b", "<p>a &lt;img src=x onerror=alert(1)&gt; b</p>"},
        {"<!-- -->", "<p>&lt;!-- --&gt;</p>"},
        {"\"><script>", "<p>&quot;&gt;&lt;script&gt;</p>"},
        {"{{a}} {{{a}}} {{>note_words.html}}", "<p>{{a}} {{{a}}} {{&gt;note_words.html}}</p>"},
        {"[\"><b>](http://example.org/\"onclick='x')",
         "<p><a href=\"http://example.org/&quot;onclick=&#39;x&#39;\"" REL
         "&quot;&gt;&lt;b&gt;</a></p>"},
        {"[a](http://example.org '\"onclick=\"')",
         "<p><a href=\"http://example.org\" title=\"&quot;onclick=&quot;\"" REL "a</a></p>"},
        {"```\"><b>\n<b>\n```", "<pre><code>&lt;b&gt;\n</code></pre>"},
        {"`<b>`", "<p><code>&lt;b&gt;</code></p>"},
        {"<http://example.org/\"onclick>", "<p><a href=\"http://example.org/&quot;onclick\"" REL
                                           "http://example.org/&quot;onclick</a></p>"},
};

static void notes_read_as_written(void **state)
{
	(void)state;
	check_rows(shop_notes, LENGTH(shop_notes));
	check_rows(headings, LENGTH(headings));
}

static void only_http_links_are_links(void **state)
{
	(void)state;
	check_rows(links, LENGTH(links));
}

static void entities_are_few_and_harmless(void **state)
{
	(void)state;
	check_rows(entities, LENGTH(entities));
}

static void markup_is_words(void **state)
{
	(void)state;
	check_rows(hostile, LENGTH(hostile));
}

static void faulty_text_is_refused(void **state)
{
	static const char *const faulty[] = {"\xFF", "a\xC0\xAF", "\xED\xA0\x80", "a\x07",
	                                     "\u202Eabc"};
	struct text long_text = TEXT_EMPTY;
	json_t *view = NULL;

	(void)state;
	for (size_t i = 0; i < LENGTH(faulty); i++)
		assert_int_equal(markdown_view(faulty[i], &view), ST_INVALID);
	while (long_text.len < MARKDOWN_LONGEST)
		text_add_char(&long_text, 'a');
	assert_int_equal(markdown_view(text_string(&long_text), &view), ST_OK);
	json_decref(view);
	view = NULL;
	text_add_char(&long_text, 'a');
	assert_int_equal(markdown_view(text_string(&long_text), &view), ST_LIMIT);
	assert_null(view);
	text_free(&long_text);
}

/* Texts known to be hard for CommonMark parsers: cmark's pathological_tests.py
 * (github.com/commonmark/cmark, from memory), as long as a note may be. */
static const char *const pathological[] = {
        "*a **a ",
        " a** a*",
        "[a](b",
        "a*",
        "[[",
        "![",
        "> ",
        "- ",
        "* a\n  ",
        "`a ``b ",
        "<a ",
        "\\[",
        "[a]: b\n[a]\n",
        "_a __",
        "&a",
        "1. ",
        "[a](<b ",
        "https://a ",
        "a]",
        "***",
};

static void hard_notes_stay_quick(void **state)
{
	struct tmpl_set *set = note_set_new();

	(void)state;
	for (size_t i = 0; i < LENGTH(pathological); i++) {
		struct text note = TEXT_EMPTY;
		struct text out = TEXT_EMPTY;
		clock_t began = clock();

		while (note.len + strlen(pathological[i]) <= MARKDOWN_LONGEST)
			text_add(&note, pathological[i]);
		assert_int_equal(note_page(set, text_string(&note), &out), ST_OK);
		if (clock() - began > 2 * CLOCKS_PER_SEC)
			fail_msg("%s takes %g s", pathological[i],
			         (double)(clock() - began) / CLOCKS_PER_SEC);
		text_free(&note);
		text_free(&out);
	}
	tmpl_set_free(set);
}

static unsigned count(const char *text, const char *word)
{
	unsigned n = 0;

	while ((text = strstr(text, word))) {
		n++;
		text += strlen(word);
	}
	return n;
}

/* What is nested too deep joins what holds it, and no word is lost. */
static void deep_notes_are_flattened(void **state)
{
	struct tmpl_set *set = note_set_new();
	struct text note = TEXT_EMPTY;
	struct text out = TEXT_EMPTY;

	(void)state;
	for (int depth = 0; depth < 40; depth++) {
		for (int i = 0; i <= depth; i++)
			text_add(&note, "> ");
		text_printf(&note, "word%d\n\n", depth);
	}
	assert_int_equal(note_page(set, text_string(&note), &out), ST_OK);
	assert_int_equal(count(text_string(&out), "word"), 40);
	assert_true(count(text_string(&out), "<blockquote>") > 0);
	assert_int_equal(count(text_string(&out), "<blockquote>"),
	                 count(text_string(&out), "</blockquote>"));
	assert_null(strstr(text_string(&out), "word30word31"));
	text_free(&note);
	text_free(&out);
	tmpl_set_free(set);
}

static bool attempt_view(void *context)
{
	json_t *view = NULL;
	enum status status = markdown_view(context, &view);

	assert_true(status == ST_OK || status == ST_NOMEM);
	if (status)
		assert_null(view);
	json_decref(view);
	return status == ST_OK;
}

static void memory_may_run_out(void **state)
{
	static char note[] = "# a\n> [b **c**](http://example.org 't') d\n\n1. e\n- `f` &amp;\n"
	                     "![g [h](http://i)](j)";

	(void)state;
	try_each_allocation(attempt_view, note, false);
}

/* Jansson's own memory, which does not go through our hooks. */
static size_t countdown;

static void *failing_malloc(size_t size)
{
	return countdown > 0 && --countdown == 0 ? NULL : malloc(size);
}

static void jansson_may_run_out(void **state)
{
	static const char note[] =
	        "# a\n> [b **c**](http://example.org 't') d  \n\n7. e\n- `f` &amp;";
	enum status status = ST_NOMEM;
	size_t n;

	(void)state;
	for (n = 1; status != ST_OK && n < 10000; n++) {
		json_t *view = NULL;

		json_set_alloc_funcs(failing_malloc, free);
		countdown = n;
		status = markdown_view(note, &view);
		countdown = 0;
		json_decref(view);
		json_set_alloc_funcs(malloc, free);
		assert_true(status == ST_OK || status == ST_NOMEM);
	}
	assert_true(n > 50 && n < 10000);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
	        cmocka_unit_test(notes_read_as_written),
	        cmocka_unit_test(only_http_links_are_links),
	        cmocka_unit_test(entities_are_few_and_harmless),
	        cmocka_unit_test(markup_is_words),
	        cmocka_unit_test(faulty_text_is_refused),
	        cmocka_unit_test(hard_notes_stay_quick),
	        cmocka_unit_test(deep_notes_are_flattened),
	        cmocka_unit_test(memory_may_run_out),
	        cmocka_unit_test(jansson_may_run_out),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
