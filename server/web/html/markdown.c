/* markdown.c - MD4C's events, gathered into a tree of parts.
 *
 * MD4C tells when a block or span begins and ends. Each that we show opens a
 * part; the others (refused links, what is nested too deep) are passed
 * through: their contents go to the part around them. A byte for each event
 * that is open tells the two apart. Words are gathered until something else
 * begins, so that one run of text is one part.
 *
 * Where a bare address lies across the border of a link, MD4C 0.4.8 ends spans
 * that it did not begin and begins some that it does not end: so each end is
 * matched with its beginning.
 */
#include "web/html/markdown.h"

#include <stdlib.h>
#include <string.h>

#include <md4c.h>

#include "base/text.h"
#include "base/utf8.h"
#include "web/html/tmpl.h"

#define REPLACEMENT "\xEF\xBF\xBD" /* U+FFFD */

enum passage { PASSED_THROUGH, OPENED_PART, OPENED_LINK };

/* Kinds of event in one number: those of blocks, then those of spans. */
#define SPAN_EVENT 16
_Static_assert(MD_BLOCK_TD < SPAN_EVENT, "events of blocks come first");

struct builder {
	json_t *parts[MARKDOWN_DEEPEST + 1]; /* arrays being filled, innermost last; borrowed */
	unsigned depth;                      /* index of the innermost */
	unsigned links;                      /* open links */
	unsigned event;                      /* the one that begins */
	struct text open;                    /* for each open event: 4 * event + passage */
	struct text words;                   /* not yet a part */
};

/* What a keyboard lacks and a shop writes. */
static const struct {
	const char *name, *text;
} entities[] = {
        {"&amp;", "&"},         {"&lt;", "<"},          {"&gt;", ">"},
        {"&quot;", "\""},       {"&apos;", "'"},        {"&nbsp;", "\u00A0"},
        {"&copy;", "\u00A9"},   {"&reg;", "\u00AE"},    {"&deg;", "\u00B0"},
        {"&plusmn;", "\u00B1"}, {"&micro;", "\u00B5"},  {"&middot;", "\u00B7"},
        {"&frac14;", "\u00BC"}, {"&frac12;", "\u00BD"}, {"&frac34;", "\u00BE"},
        {"&times;", "\u00D7"},  {"&ndash;", "\u2013"},  {"&mdash;", "\u2014"},
        {"&hellip;", "\u2026"}, {"&le;", "\u2264"},     {"&ge;", "\u2265"},
        {"&ne;", "\u2260"},
};

static void add_utf8(struct text *out, unsigned long code)
{
	if (code < 0x80) {
		text_add_char(out, (char)code);
	} else if (code < 0x800) {
		text_add_char(out, (char)(0xC0 | code >> 6));
		text_add_char(out, (char)(0x80 | (code & 0x3F)));
	} else if (code < 0x10000) {
		text_add_char(out, (char)(0xE0 | code >> 12));
		text_add_char(out, (char)(0x80 | (code >> 6 & 0x3F)));
		text_add_char(out, (char)(0x80 | (code & 0x3F)));
	} else {
		text_add_char(out, (char)(0xF0 | code >> 18));
		text_add_char(out, (char)(0x80 | (code >> 12 & 0x3F)));
		text_add_char(out, (char)(0x80 | (code >> 6 & 0x3F)));
		text_add_char(out, (char)(0x80 | (code & 0x3F)));
	}
}

/* "&#8211;" or "&#x2013;", as MD4C has checked. */
static void add_numbered(struct text *out, const char *at)
{
	bool hex = at[2] == 'x' || at[2] == 'X';
	unsigned long code = strtoul(at + (hex ? 3 : 2), NULL, hex ? 16 : 10);
	size_t before = out->len;

	if (code == 0 || code > 0x10FFFF) {
		text_add(out, REPLACEMENT);
		return;
	}
	add_utf8(out, code);
	if (text_failed(out) || utf8_check(out->at + before, out->len - before, NULL) == UTF8_FINE)
		return;
	out->len = before;
	text_add(out, REPLACEMENT);
}

static void add_entity(struct text *out, const char *at, size_t len)
{
	if (at[1] == '#') {
		add_numbered(out, at);
		return;
	}
	for (size_t i = 0; i < sizeof entities / sizeof *entities; i++) {
		if (strlen(entities[i].name) == len && memcmp(entities[i].name, at, len) == 0) {
			text_add(out, entities[i].text);
			return;
		}
	}
	text_add_bytes(out, at, len);
}

static void add_words(struct text *out, MD_TEXTTYPE type, const char *at, size_t len)
{
	if (type == MD_TEXT_ENTITY)
		add_entity(out, at, len);
	else if (type == MD_TEXT_NULLCHAR)
		text_add(out, REPLACEMENT);
	else if (type == MD_TEXT_SOFTBR)
		text_add_char(out, '\n');
	else
		text_add_bytes(out, at, len);
}

static void add_attribute(struct text *out, const MD_ATTRIBUTE *attribute)
{
	for (size_t i = 0; attribute->text && attribute->substr_offsets[i] < attribute->size; i++) {
		MD_OFFSET from = attribute->substr_offsets[i];

		add_words(out, attribute->substr_types[i], attribute->text + from,
		          attribute->substr_offsets[i + 1] - from);
	}
}

/* A new part of that kind; NULL when memory ran out. Owned. */
static json_t *new_part(const char *kind)
{
	return json_pack("{s:{s:b}}", "is", kind, 1);
}

/* Adds a part (stolen) to the innermost. */
static bool append(struct builder *b, json_t *part)
{
	return part && json_array_append_new(b->parts[b->depth], part) == 0;
}

/* Makes a part of the words gathered. */
static bool flush(struct builder *b)
{
	json_t *part;

	if (text_failed(&b->words))
		return false;
	if (b->words.len == 0)
		return true;
	part = new_part("text");
	if (!part || json_object_set_new_nocheck(
	                     part, "text", json_stringn_nocheck(b->words.at, b->words.len)) != 0) {
		json_decref(part);
		return false;
	}
	text_clear(&b->words);
	return append(b, part);
}

static bool note_open(struct builder *b, enum passage passage)
{
	text_add_char(&b->open, (char)(4 * b->event + passage));
	return !text_failed(&b->open);
}

/* Notes that an event begins which has no part of its own. */
static bool pass_through(struct builder *b)
{
	return note_open(b, PASSED_THROUGH);
}

/* Opens the part (stolen): what follows goes into it. */
static bool open_part(struct builder *b, json_t *part, enum passage passage)
{
	/* Jansson takes NULL for a failed part and frees the other of the two. */
	json_t *parts = json_array();

	if (json_object_set_new_nocheck(part, "parts", parts) != 0 || !flush(b)) {
		json_decref(part);
		return false;
	}
	if (!append(b, part))
		return false;
	b->parts[++b->depth] = parts;
	b->links += passage == OPENED_LINK;
	return note_open(b, passage);
}

static bool open_kind(struct builder *b, const char *kind)
{
	if (b->depth == MARKDOWN_DEEPEST)
		return pass_through(b);
	return open_part(b, new_part(kind), OPENED_PART);
}

static unsigned event_at(const struct builder *b, size_t i)
{
	return (unsigned char)b->open.at[i] / 4;
}

static enum passage passage_at(const struct builder *b, size_t i)
{
	return (unsigned char)b->open.at[i] % 4;
}

/* Closes what was opened last. */
static bool close_last(struct builder *b)
{
	size_t last = b->open.len - 1;
	enum passage passage = passage_at(b, last);

	if (passage == PASSED_THROUGH) {
		/* A block's end parts words, also when it has joined another. */
		if (event_at(b, last) < SPAN_EVENT && b->depth > 0)
			text_add_char(&b->words, '\n');
	} else {
		if (!flush(b))
			return false;
		b->depth--;
		b->links -= passage == OPENED_LINK;
	}
	b->open.len = last;
	return true;
}

/* Ends the innermost event of that kind and all within it; nothing if there is
 * none, for a span none in this block. */
static bool close_event(struct builder *b, unsigned event)
{
	size_t i = b->open.len;

	while (i > 0 && event_at(b, i - 1) != event) {
		if (event >= SPAN_EVENT && event_at(b, i - 1) < SPAN_EVENT)
			return true;
		i--;
	}
	while (i > 0 && b->open.len >= i)
		if (!close_last(b))
			return false;
	return true;
}

static bool open_numbered(struct builder *b, unsigned start)
{
	if (b->depth == MARKDOWN_DEEPEST)
		return pass_through(b);
	return open_part(
	        b, json_pack("{s:{s:b}, s:I}", "is", "numbered", 1, "start", (json_int_t)start),
	        OPENED_PART);
}

static bool open_heading(struct builder *b, unsigned level)
{
	static const char *const kinds[] = {"heading4", "heading5", "heading6"};

	return open_kind(b, kinds[level < 3 ? level - 1 : 2]);
}

static json_t *new_link(const struct text *url, const struct text *title)
{
	json_t *part = new_part("link");

	if (part &&
	    json_object_set_new_nocheck(part, "note_url", json_string_nocheck(text_string(url))) ==
	            0 &&
	    json_object_set_new_nocheck(part, "note_title",
	                                json_string_nocheck(text_string(title))) == 0)
		return part;
	json_decref(part);
	return NULL;
}

/* A link or a picture, if we may link there and are not in a link already. */
static bool open_link(struct builder *b, const MD_ATTRIBUTE *address, const MD_ATTRIBUTE *title)
{
	struct text url = TEXT_EMPTY;
	struct text words = TEXT_EMPTY;
	bool opened = false;

	add_attribute(&url, address);
	add_attribute(&words, title);
	if (text_failed(&url) || text_failed(&words))
		opened = false;
	else if (b->depth == MARKDOWN_DEEPEST || b->links > 0 || !url_is_http(text_string(&url)))
		opened = pass_through(b);
	else
		opened = open_part(b, new_link(&url, &words), OPENED_LINK);
	text_free(&url);
	text_free(&words);
	return opened;
}

static bool begin_block(struct builder *b, MD_BLOCKTYPE type, const void *detail)
{
	switch (type) {
	case MD_BLOCK_QUOTE:
		return open_kind(b, "quote");
	case MD_BLOCK_UL:
		return open_kind(b, "list");
	case MD_BLOCK_OL:
		return open_numbered(b, ((const MD_BLOCK_OL_DETAIL *)detail)->start);
	case MD_BLOCK_LI:
		return open_kind(b, "item");
	case MD_BLOCK_HR:
		return open_kind(b, "rule");
	case MD_BLOCK_H:
		return open_heading(b, ((const MD_BLOCK_H_DETAIL *)detail)->level);
	case MD_BLOCK_CODE:
		return open_kind(b, "code_block");
	case MD_BLOCK_P:
		return open_kind(b, "paragraph");
	default:
		return pass_through(b);
	}
}

static bool begin_span(struct builder *b, MD_SPANTYPE type, const void *detail)
{
	const MD_SPAN_A_DETAIL *link = detail;
	const MD_SPAN_IMG_DETAIL *picture = detail;

	switch (type) {
	case MD_SPAN_EM:
		return open_kind(b, "emphasis");
	case MD_SPAN_STRONG:
		return open_kind(b, "strong");
	case MD_SPAN_CODE:
		return open_kind(b, "code");
	case MD_SPAN_A:
		return open_link(b, &link->href, &link->title);
	case MD_SPAN_IMG:
		return open_link(b, &picture->src, &picture->title);
	default:
		return pass_through(b);
	}
}

/* MD4C's callbacks. Any value but 0 should end the parse; inside, MD4C 0.4.8
 * heeds negative ones only. */

static int verdict(bool went_well)
{
	return went_well ? 0 : -1;
}

static int on_enter_block(MD_BLOCKTYPE type, void *detail, void *context)
{
	struct builder *b = context;

	b->event = type;
	return verdict(begin_block(b, type, detail));
}

static int on_leave_block(MD_BLOCKTYPE type, void *detail, void *context)
{
	(void)detail;
	return verdict(close_event(context, type));
}

static int on_enter_span(MD_SPANTYPE type, void *detail, void *context)
{
	struct builder *b = context;

	b->event = SPAN_EVENT + type;
	return verdict(begin_span(b, type, detail));
}

static int on_leave_span(MD_SPANTYPE type, void *detail, void *context)
{
	(void)detail;
	return verdict(close_event(context, SPAN_EVENT + type));
}

static int on_text(MD_TEXTTYPE type, const MD_CHAR *at, MD_SIZE len, void *context)
{
	struct builder *b = context;

	if (type == MD_TEXT_BR)
		return verdict(flush(b) && append(b, new_part("break")));
	add_words(&b->words, type, at, len);
	return verdict(!text_failed(&b->words));
}

enum status markdown_view(const char *text, json_t **out)
{
	static const MD_PARSER parser = {.flags = MD_FLAG_NOHTML | MD_FLAG_PERMISSIVEURLAUTOLINKS,
	                                 .enter_block = on_enter_block,
	                                 .leave_block = on_leave_block,
	                                 .enter_span = on_enter_span,
	                                 .leave_span = on_leave_span,
	                                 .text = on_text};
	struct builder b = {.open = TEXT_EMPTY, .words = TEXT_EMPTY};
	size_t len = strlen(text);
	json_t *view;
	enum status status = ST_NOMEM;

	if (len > MARKDOWN_LONGEST)
		return ST_LIMIT;
	if (utf8_check(text, len, NULL) != UTF8_FINE)
		return ST_INVALID;
	view = json_pack("{s:[]}", "parts");
	b.parts[0] = json_object_get(view, "parts");
	if (view && md_parse(text, (MD_SIZE)len, &parser, &b) == 0 && flush(&b))
		status = ST_OK;
	text_free(&b.open);
	text_free(&b.words);
	if (status == ST_OK)
		*out = view;
	else
		json_decref(view);
	return status;
}
