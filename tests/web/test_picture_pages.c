/* test_picture_pages.c - pictures of members: sent with a form as every caller,
 * good files and bad ones, all or none; shown, kept by browsers, removed.
 */
#include <stdio.h>
#include <string.h>

#include <gd.h>

#include "support.h"
#include "web_support.h"

#include "store/notices.h"
#include "store/pictures.h"
#include "chapter/picture.h"
#include "web/html/picture_form.h"
#include "web/http/app_parts.h"

#define BYTES(text) (text), sizeof(text) - 1

struct world {
	struct web *web;
	struct arena *arena;
	struct notice_id notice;
	struct note_id note; /* by ann */
};

/* ---- a note, and files to send ---- */

static void add_note(struct world *ch)
{
	struct revision_content content = revision_content_empty;
	struct note_subject about;
	struct notice_id notice;

	content.number = "HB-1";
	content.issuer = "Harrowfen";
	content.issued = "2015-03-01";
	content.title = "Bushing";
	content.effectivity = "all";
	content.action = "Look.";
	assert_int_equal(notice_import(web_store(ch->web),
	                               &(struct notice_import){&content, 1, "", ""},
	                               web_member(ch->web, STEWARD), WEB_START, &notice),
	                 ST_OK);
	ch->notice = notice;
	about = note_on_notice(notice);
	assert_int_equal(note_add(web_store(ch->web), &about, web_member(ch->web, ANN), "Cracked.",
	                          WEB_START, &ch->note),
	                 ST_OK);
}

static int set_up(void **state)
{
	static struct world ch;

	ch.web = web_new(NULL, 0, NULL, 0);
	ch.arena = arena_new();
	add_note(&ch);
	*state = &ch;
	return 0;
}

static int tear_down(void **state)
{
	struct world *ch = *state;

	web_free(ch->web);
	arena_free(ch->arena);
	return 0;
}

/* A photo of that size, one colour. */
static struct http_upload photo(struct world *ch, const char *filename, int width, int colour)
{
	gdImagePtr image = gdImageCreateTrueColor(width, width / 2);
	struct http_upload upload = {"pictures", filename, NULL, 0};
	int size = 0;
	void *made;

	gdImageFilledRectangle(image, 0, 0, width, width / 2, colour);
	made = gdImageJpegPtr(image, &size, 90);
	upload.bytes = arena_copy(ch->arena, made, (size_t)size);
	upload.len = (size_t)size;
	gdFree(made);
	gdImageDestroy(image);
	return upload;
}

static const char *at(struct world *ch, const char *before, int64_t id, const char *after)
{
	return arena_printf(ch->arena, "%s%lld%s", before, (long long)id, after);
}

static const struct response *send(struct world *ch, enum who who, const char *target,
                                   const char *fields, const struct http_upload *files,
                                   size_t count)
{
	struct request request = {.method = HTTP_POST, .uploads = {files, count}};
	const char *token = who == VISITOR ? "" : web_form_token(ch->web, who);

	request.headers.sec_fetch_site = "same-origin";
	return web_send(ch->web, who, &request, target,
	                arena_printf(ch->arena, "%s&token=%s", fields, token));
}

static const struct response *add(struct world *ch, enum who who, const char *words,
                                  const struct http_upload *files, size_t count)
{
	return send(ch, who, at(ch, "/notes/", ch->note.v, "/pictures"),
	            arena_printf(ch->arena, "picture_words=%s", words), files, count);
}

static const struct picture_row *pictures_now(struct world *ch, size_t expected)
{
	struct picture_of of = {.note = ch->note};
	const struct picture_row *rows = NULL;
	size_t count = 0;

	assert_int_equal(picture_list(web_store(ch->web), ch->arena, &of, 1, &rows, &count), ST_OK);
	assert_int_equal(count, expected);
	return rows;
}

static void holds(const struct response *r, const char *text)
{
	if (!web_holds(r, text))
		print_error("%u, without %s:\n%.*s\n", r->status, text, (int)r->len, r->body);
	assert_true(web_holds(r, text));
}

/* ---- sending ---- */

static void photos_are_taken_in_two_sizes(void **state)
{
	struct world *ch = *state;
	struct http_upload files[2] = {photo(ch, "a.jpg", 2400, 0xFF0000),
	                               photo(ch, "b.jpg", 100, 0x00FF00)};
	const struct response *r = add(ch, ANN, "the+%3Cbushing%3E", files, 2);
	const struct picture_row *rows;

	assert_int_equal(r->status, 303);
	assert_string_equal(web_header(r, "Location"),
	                    at(ch, "/notes/", ch->note.v, "?said=pictures-added"));
	rows = pictures_now(ch, 2);
	assert_string_equal(rows[0].words, "the <bushing>");
	assert_int_equal(rows[0].large.width, 1600);
	assert_int_equal(rows[0].large.height, 800);
	assert_int_equal(rows[0].small.width, 320);
	assert_int_equal(rows[0].small.height, 160);
	assert_int_equal(rows[1].large.width, 100);
	assert_int_equal(rows[1].small.width, 100);
	r = web_get(ch->web, ANN, at(ch, "/pictures/", rows[0].id.v, "/remove"));
	holds(r, "alt=\"the &lt;bushing&gt;\"");
	holds(r, "width=\"320\" height=\"160\"");
}

static void only_the_author_adds(void **state)
{
	struct world *ch = *state;
	struct http_upload file = photo(ch, "a.jpg", 40, 0xFF0000);
	const char *form = at(ch, "/notes/", ch->note.v, "/pictures");
	static const struct {
		enum who who;
		unsigned get, post;
	} rows[] = {{VISITOR, 303, 403}, {BEN, 403, 403}, {STEWARD, 403, 403}, {ADMIN, 403, 403}};

	for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
		assert_int_equal(web_get(ch->web, rows[i].who, form)->status, rows[i].get);
		assert_int_equal(add(ch, rows[i].who, "", &file, 1)->status, rows[i].post);
	}
	assert_int_equal(send(ch, ANN, "/notes/999/pictures", "", &file, 1)->status, 404);
	assert_int_equal(send(ch, ANN, "/reports/999/pictures", "", &file, 1)->status, 404);
	assert_int_equal(send(ch, ANN, "/findings/999/pictures", "", &file, 1)->status, 404);
	pictures_now(ch, 0);
	holds(web_get(ch->web, ANN, form), "There is room for 6.");
}

/* A name is no promise: what the file holds decides. */
static void a_wrong_name_does_no_harm(void **state)
{
	static const char *const names[] = {"a.png", "b.webp", "c.heic", "d", "../../e.jpg"};
	struct world *ch = *state;
	struct http_upload files[5];

	for (size_t i = 0; i < 5; i++)
		files[i] = photo(ch, names[i], 40 + (int)i, 0x123456);
	assert_int_equal(add(ch, ANN, "", files, 5)->status, 303);
	pictures_now(ch, 5);
}

#define PNG_HEAD "\x89PNG\r\n\x1A\n\0\0\0\rIHDR"
#define MOVING "RIFF\x1E\0\0\0WEBPVP8X\x0A\0\0\0\x02\0\0\0\x09\0\0\x09\0\0ANIM\0\0\0\0"

static void one_bad_file_refuses_all(void **state)
{
	static const struct {
		const char *name, *bytes;
		size_t len;
		const char *words;
	} rows[] = {
	        {"a.jpg", "", 0, "Picture “a.jpg” is an empty file"},
	        {"a.jpg", BYTES("hello"),
	         "Picture “a.jpg” is neither a JPEG, PNG nor WebP picture"},
	        {"a.svg", BYTES("<svg xmlns=\"http://www.w3.org/2000/svg\"/>"), "is neither"},
	        {"a.gif", BYTES("GIF89a\1\0\1\0"), "is neither"},
	        {"a.jpg", BYTES("%PDF-1.7"), "is neither"},
	        {"a.heic",
	         BYTES("\0\0\0\x18"
	               "ftypheic\0\0\0\0"),
	         "is a HEIC or AVIF picture"},
	        {"a.jpg", BYTES("\xFF\xD8\xFF\xE0\0\4ab"), "does not open as a JPEG picture"},
	        {"a.png", BYTES(PNG_HEAD "\0\0\0\1\0\0\0\1\10\2\0\0\0\0\0\0\0"),
	         "does not open as a PNG picture"},
	        {"a.png", BYTES(PNG_HEAD "\0\1\x86\xA0\0\1\x86\xA0\10\2\0\0\0\0\0\0\0"),
	         "is 100000 by 100000 pixels, more than are taken"},
	        {"a.webp", BYTES("RIFF\x0C\0\0\0WEBPVP8 "), "does not open as a WebP picture"},
	        {"a.webp", BYTES(MOVING), "moves: a WebP picture that stands still is taken"},
	        {"C:\\fake\\b.jpg", BYTES("x"), "“b.jpg”"},
	        {"<img src=x>.jpg", BYTES("x"), "“&lt;img src=x&gt;.jpg”"},
	        {"bad\xFF\x01.jpg", BYTES("x"), "“bad\xEF\xBF\xBD\xEF\xBF\xBD.jpg”"},
	};
	struct world *ch = *state;
	struct http_upload good = photo(ch, "good.jpg", 40, 0xFF0000);

	for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
		struct http_upload files[3] = {
		        good, {"pictures", rows[i].name, rows[i].bytes, rows[i].len}, good};
		const struct response *r = add(ch, ANN, "kept+words", files, 3);

		assert_int_equal(r->status, 422);
		holds(r, rows[i].words);
		holds(r, "id=\"pictures-2\"");
		holds(r, "href=\"#pictures-2\"");
		assert_false(web_holds(r, "id=\"pictures-1\""));
		holds(r, "Choose the pictures again");
		holds(r, "value=\"kept words\"");
	}
	pictures_now(ch, 0);
}

static void too_many_or_too_large(void **state)
{
	struct world *ch = *state;
	struct http_upload file = photo(ch, "a.jpg", 40, 0xFF0000);
	struct http_upload many[7] = {file, file, file, file, file, file, file};
	char *large = arena_array(ch->arena, PICTURE_FILE_LARGEST + 1, 1);
	struct http_upload huge = {"pictures", "h.jpg", large, PICTURE_FILE_LARGEST + 1};
	char words[250];
	const struct response *r;

	memcpy(large, file.bytes, file.len);
	many[6].filename = "seven.jpg";
	r = add(ch, ANN, "", many, 7);
	assert_int_equal(r->status, 422);
	holds(r, "Picture “seven.jpg” is one too many: there is room for 6");
	r = add(ch, ANN, "", &huge, 1);
	assert_int_equal(r->status, 422);
	holds(r, "Picture “h.jpg” is larger than 10240 kB");
	r = add(ch, ANN, "", NULL, 0);
	assert_int_equal(r->status, 422);
	holds(r, "choose at least one");
	memset(words, 'w', sizeof words);
	words[201] = '\0';
	assert_int_equal(add(ch, ANN, words, &file, 1)->status, 422);
	pictures_now(ch, 0);
	assert_int_equal(add(ch, ANN, "", many, 5)->status, 303);
	r = add(ch, ANN, "", many, 2);
	assert_int_equal(r->status, 422);
	holds(r, "there is room for 1");
	assert_int_equal(add(ch, ANN, "", many, 1)->status, 303);
	holds(web_get(ch->web, ANN, at(ch, "/notes/", ch->note.v, "/pictures")),
	      "There are six already");
	pictures_now(ch, 6);
}

static void a_field_of_text_is_no_picture(void **state)
{
	struct world *ch = *state;

	holds(send(ch, ANN, at(ch, "/notes/", ch->note.v, "/pictures"), "pictures=a.jpg", NULL, 0),
	      "Picture");
	pictures_now(ch, 0);
}

/* ---- showing ---- */

static void everybody_reads_and_browsers_keep(void **state)
{
	struct world *ch = *state;
	struct http_upload file = photo(ch, "a.jpg", 800, 0xFF0000);
	const char *large, *small, *tag;
	struct request again = {.method = HTTP_GET};
	const struct response *r;
	size_t len;

	assert_int_equal(add(ch, ANN, "", &file, 1)->status, 303);
	large = at(ch, "/pictures/", pictures_now(ch, 1)->id.v, "");
	small = at(ch, "/pictures/", pictures_now(ch, 1)->id.v, "/small");
	for (enum who who = VISITOR; who <= ADMIN; who++) {
		r = web_get(ch->web, who, large);
		assert_int_equal(r->status, 200);
		assert_string_equal(web_header(r, "Content-Type"), "image/jpeg");
		assert_string_equal(web_header(r, "Cache-Control"),
		                    "private, max-age=2592000, immutable");
		assert_string_equal(web_header(r, "X-Content-Type-Options"), "nosniff");
		assert_non_null(
		        strstr(web_header(r, "Content-Security-Policy"), "default-src 'none'"));
		assert_int_equal(picture_kind_of(r->body, r->len), PICTURE_JPEG);
	}
	len = r->len;
	r = web_get(ch->web, VISITOR, small);
	assert_int_equal(r->status, 200);
	assert_true(r->len < len);
	tag = arena_string(ch->arena, web_header(r, "ETag"));
	again.headers.if_none_match = tag;
	assert_int_equal(web_send(ch->web, VISITOR, &again, small, NULL)->status, 304);
	assert_int_equal(web_send(ch->web, VISITOR, &again, large, NULL)->status, 200);
	assert_int_equal(web_get(ch->web, VISITOR, "/pictures/999")->status, 404);
	assert_int_equal(web_get(ch->web, STEWARD, "/pictures/999/small")->status, 404);
	assert_int_equal(web_get(ch->web, VISITOR, "/pictures/x")->status, 404);
}

static void pictures_of_a_removed_note_are_gone(void **state)
{
	struct world *ch = *state;
	struct http_upload file = photo(ch, "a.jpg", 40, 0xFF0000);
	int64_t id;

	assert_int_equal(add(ch, ANN, "", &file, 1)->status, 303);
	id = pictures_now(ch, 1)->id.v;
	assert_int_equal(
	        note_remove(web_store(ch->web), ch->note, web_member(ch->web, ANN), WEB_START),
	        ST_OK);
	for (enum who who = VISITOR; who <= ADMIN; who++) {
		assert_int_equal(web_get(ch->web, who, at(ch, "/pictures/", id, ""))->status, 404);
		assert_int_equal(web_get(ch->web, who, at(ch, "/pictures/", id, "/small"))->status,
		                 404);
	}
	assert_int_equal(web_get(ch->web, ANN, at(ch, "/pictures/", id, "/remove"))->status, 404);
	assert_int_equal(web_get(ch->web, ANN, at(ch, "/notes/", ch->note.v, "/pictures"))->status,
	                 404);
	assert_int_equal(add(ch, ANN, "", &file, 1)->status, 404);
	pictures_now(ch, 0);
}

/* ---- removing ---- */

static void the_author_or_a_steward_removes(void **state)
{
	static const struct {
		enum who who;
		unsigned get, post;
	} rows[] = {{VISITOR, 303, 403},
	            {BEN, 403, 403},
	            {ANN, 200, 303},
	            {STEWARD, 200, 303},
	            {ADMIN, 200, 303}};
	struct world *ch = *state;
	struct http_upload files[3];

	for (int i = 0; i < 3; i++)
		files[i] = photo(ch, "a.jpg", 40 + i, 0xFF0000);
	assert_int_equal(add(ch, ANN, "", files, 3)->status, 303);
	for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
		size_t left = i < 2 ? 3 : 5 - i;
		const char *path = at(ch, "/pictures/", pictures_now(ch, left)->id.v, "/remove");
		const struct response *r = web_get(ch->web, rows[i].who, path);

		assert_int_equal(r->status, rows[i].get);
		if (r->status == 200)
			holds(r, at(ch, "href=\"/notes/", ch->note.v, "\""));
		r = web_post(ch->web, rows[i].who, path, "");
		assert_int_equal(r->status, rows[i].post);
		if (r->status == 303)
			assert_string_equal(web_header(r, "Location"),
			                    at(ch, "/notes/", ch->note.v, "?said=picture-removed"));
	}
	pictures_now(ch, 0);
	assert_int_equal(web_post(ch->web, ANN, "/pictures/999/remove", "")->status, 404);
}

/* ---- with a note, an answer, a report ---- */

static const struct picture_row *on_note(struct world *ch, int64_t note, size_t expected)
{
	struct picture_of of = {.note = {note}};
	const struct picture_row *rows = NULL;
	size_t count = 0;

	assert_int_equal(picture_list(web_store(ch->web), ch->arena, &of, 1, &rows, &count), ST_OK);
	assert_int_equal(count, expected);
	return rows;
}

static void a_note_comes_with_its_pictures(void **state)
{
	struct world *ch = *state;
	struct http_upload files[2] = {photo(ch, "a.jpg", 500, 0xFF0000),
	                               photo(ch, "b.jpg", 40, 0x00FF00)};
	const char *target = at(ch, "/notices/", ch->notice.v, "/notes");
	const char *page = at(ch, "/notices/", ch->notice.v, "");
	int64_t second = ch->note.v + 1;
	const struct picture_row *rows;
	const struct response *r;

	holds(web_get(ch->web, BEN, page), "type=\"file\" id=\"pictures\"");
	assert_false(web_holds(web_get(ch->web, VISITOR, page), "type=\"file\""));
	r = send(ch, BEN, target, "text=look&kit=&picture_words=bent+%26+cracked", files, 2);
	assert_int_equal(r->status, 303);
	rows = on_note(ch, second, 2);
	for (enum who who = VISITOR; who <= ADMIN; who++) {
		r = web_get(ch->web, who, page);
		holds(r, at(ch, "src=\"/pictures/", rows[0].id.v, "/small\""));
		holds(r,
		      "width=\"320\" height=\"160\" alt=\"bent &amp; cracked\" loading=\"lazy\"");
		assert_false(web_holds(r, "Remove picture"));
		r = web_get(ch->web, who, at(ch, "/notes/", second, ""));
		assert_int_equal(web_holds(r, "Remove picture 2"), who == BEN || who >= STEWARD);
		assert_int_equal(web_holds(r, "Add pictures"), who == BEN);
	}
}

static void an_answer_comes_with_its_pictures(void **state)
{
	struct world *ch = *state;
	struct http_upload file = photo(ch, "a.jpg", 50, 0xFF0000);
	const char *target = at(ch, "/notes/", ch->note.v, "/answer");

	assert_int_equal(send(ch, BEN, target, "text=mine+too&kit=", &file, 1)->status, 303);
	on_note(ch, ch->note.v + 1, 1);
	pictures_now(ch, 0);
	holds(web_get(ch->web, VISITOR, at(ch, "/notes/", ch->note.v, "")), "/small\"");
}

/* Neither the note nor any picture is kept, and the words come back. */
static void a_note_with_a_bad_picture_is_not_taken(void **state)
{
	struct world *ch = *state;
	struct http_upload files[2] = {photo(ch, "a.jpg", 50, 0xFF0000),
	                               {"pictures", "b.jpg", BYTES("no")}};
	struct note note;
	const char *const targets[] = {at(ch, "/notices/", ch->notice.v, "/notes"),
	                               at(ch, "/notes/", ch->note.v, "/answer"), "/part/notes",
	                               "/step/notes"};
	const char *const fields[] = {
	        "text=kept+words&kit=", "text=kept+words&kit=", "text=kept+words&number=X-1",
	        "text=kept+words&model=W&code=1"};

	for (size_t i = 0; i < 4; i++) {
		const struct response *r = send(ch, BEN, targets[i], fields[i], files, 2);

		assert_int_equal(r->status, 422);
		holds(r, "Picture “b.jpg” is neither");
		holds(r, "kept words");
		holds(r, "Choose the pictures again");
		holds(r, "enctype=\"multipart/form-data\"");
		if (i >= 2)
			holds(r, i == 2 ? "value=\"X-1\"" : "value=\"W\"");
		assert_int_equal(note_read(web_store(ch->web), ch->arena,
		                           (struct note_id){ch->note.v + 1}, (struct member_id){0},
		                           &note),
		                 ST_MISSING);
		r = send(ch, BEN, targets[i], fields[i] + strlen("text=kept+words&"), files, 1);
		assert_int_equal(r->status, 422);
		on_note(ch, ch->note.v + 1, 0);
	}
}

static struct report_id add_report(struct world *ch)
{
	const struct report_content content = {.title = "Crack",
	                                       .model = "Whimbrel",
	                                       .step = "",
	                                       .zone = "",
	                                       .seen = "A crack.",
	                                       .look = "",
	                                       .severity = SEVERITY_WORK,
	                                       .effectivity = "all"};
	struct report_id id;

	assert_int_equal(report_add(web_store(ch->web), &content, web_kit(ch->web, ANN),
	                            web_member(ch->web, ANN), CREDIT_MEMBERS, WEB_START, &id),
	                 ST_OK);
	return id;
}

static void of_a_removed_report_stewards_alone_see_them(void **state)
{
	struct world *ch = *state;
	struct http_upload file = photo(ch, "a.jpg", 40, 0xFF0000);
	struct report_id report = add_report(ch);
	const char *target = at(ch, "/reports/", report.v, "/pictures");
	const struct response *r = send(ch, ANN, target, "", &file, 1);

	assert_string_equal(web_header(r, "Location"),
	                    at(ch, "/reports/", report.v, "?said=pictures-added"));
	assert_int_equal(send(ch, BEN, target, "", &file, 1)->status, 403);
	assert_int_equal(report_remove(web_store(ch->web), report, web_member(ch->web, ANN), "no",
	                               WEB_START),
	                 ST_OK);
	for (enum who who = VISITOR; who <= ADMIN; who++) {
		unsigned expected = who >= STEWARD ? 200 : 404;

		r = web_get(ch->web, who, "/pictures/1");
		assert_int_equal(r->status, expected);
		if (expected == 200)
			assert_string_equal(web_header(r, "Cache-Control"), "private, no-cache");
		assert_int_equal(web_get(ch->web, who, "/pictures/1/small")->status, expected);
	}
	assert_int_equal(web_get(ch->web, ANN, "/pictures/1/remove")->status, 404);
	r = web_post(ch->web, STEWARD, "/pictures/1/remove", "");
	assert_string_equal(web_header(r, "Location"),
	                    at(ch, "/reports/", report.v, "?said=picture-removed"));
	assert_int_equal(web_get(ch->web, STEWARD, "/pictures/1")->status, 404);
}

static void own_data_lists_own_pictures(void **state)
{
	struct world *ch = *state;
	struct http_upload file = photo(ch, "a.jpg", 40, 0xFF0000);
	struct report_id report = add_report(ch);

	assert_int_equal(add(ch, ANN, "bent", &file, 1)->status, 303);
	assert_int_equal(
	        send(ch, ANN, at(ch, "/reports/", report.v, "/pictures"), "", &file, 1)->status,
	        303);
	holds(web_get(ch->web, ANN, "/account/data"), "\"address\": \"/pictures/1\"");
	holds(web_get(ch->web, ANN, "/account/data"), "\"shows\": \"bent\"");
	holds(web_get(ch->web, ANN, "/account/data"),
	      at(ch, "\"on\": \"/notes/", ch->note.v, "\""));
	holds(web_get(ch->web, ANN, "/account/data"),
	      at(ch, "\"on\": \"/reports/", report.v, "\""));
	assert_false(web_holds(web_get(ch->web, BEN, "/account/data"), "/pictures/"));
}

/* ---- how much ---- */

/* A PNG whose head promises so many pixels, with nothing behind: cheap to refuse. */
#define HEAD_ONLY                                                                                  \
	{                                                                                          \
		"pictures", "a.png",                                                               \
		        BYTES(PNG_HEAD "\0\0\x13\x88\0\0\x13\x88\x08\2\0\0\0\0\0\0\0")             \
	}

static void so_many_pixels_a_minute(void **state)
{
	const struct http_upload files[6] = {HEAD_ONLY, HEAD_ONLY, HEAD_ONLY,
	                                     HEAD_ONLY, HEAD_ONLY, HEAD_ONLY};
	struct world *ch = *state;
	const char *target = at(ch, "/notices/", ch->notice.v, "/notes");
	struct http_upload good = photo(ch, "a.jpg", 40, 0xFF0000);
	const struct response *r = send(ch, ANN, target, "text=kept+words", files, 6);

	holds(r, "does not open as a PNG picture");
	r = send(ch, ANN, target, "text=kept+words", &good, 1);
	assert_int_equal(r->status, 422);
	holds(r, "has to wait: you have sent many pixels within a minute");
	holds(r, "kept words");
	assert_int_equal(send(ch, ANN, target, "text=without", NULL, 0)->status, 303);
	assert_int_equal(send(ch, BEN, target, "text=of+another", &good, 1)->status, 303);
	web_set_now(WEB_START + 60);
	assert_int_equal(send(ch, ANN, target, "text=kept+words", &good, 1)->status, 303);
}

static void so_many_pictures_a_day(void **state)
{
	struct picture_size size = {"image/png", 1, 1, "x", 1};
	struct picture_entry entries[PICTURES_MOST];
	struct world *ch = *state;
	const char *target = at(ch, "/notices/", ch->notice.v, "/notes");
	struct http_upload good = photo(ch, "a.jpg", 40, 0xFF0000);
	struct picture_of of = {.note = ch->note};
	const struct response *r;

	for (size_t i = 0; i < PICTURES_MOST; i++)
		entries[i] = (struct picture_entry){"", size, size};
	for (size_t i = 0; i < PICTURES_A_DAY / PICTURES_MOST; i++) {
		struct note_subject about = note_on_notice(ch->notice);

		assert_int_equal(note_add(web_store(ch->web), &about, web_member(ch->web, ANN),
		                          arena_printf(ch->arena, "%zu", i), WEB_START, &of.note),
		                 ST_OK);
		assert_int_equal(pictures_add(web_store(ch->web), &of, web_member(ch->web, ANN),
		                              entries, PICTURES_MOST, WEB_START),
		                 ST_OK);
	}
	r = send(ch, ANN, target, "text=kept+words", &good, 1);
	assert_int_equal(r->status, 422);
	holds(r, "At most 60 pictures for a member within a day. Send them tomorrow");
	holds(r, "kept words");
	assert_int_equal(send(ch, ANN, target, "text=without", NULL, 0)->status, 303);
	web_set_now(WEB_START + 86400);
	assert_int_equal(send(ch, ANN, target, "text=kept+words", &good, 1)->status, 303);
}

/* Who has written enough for a day is told so, and nothing of theirs is opened. */
static void a_full_day_opens_no_picture(void **state)
{
	struct world *ch = *state;
	const struct http_upload file = HEAD_ONLY;
	struct note_subject about = note_on_notice(ch->notice);
	const struct response *r;
	struct note_id id;

	for (int i = 1; i < NOTES_A_DAY; i++)
		assert_int_equal(note_add(web_store(ch->web), &about, web_member(ch->web, ANN),
		                          arena_printf(ch->arena, "%d", i), WEB_START, &id),
		                 ST_OK);
	r = send(ch, ANN, at(ch, "/notices/", ch->notice.v, "/notes"), "text=kept+words", &file, 1);
	assert_int_equal(r->status, 422);
	holds(r, "At most 100 notes and answers for a member within a day");
	assert_false(web_holds(r, "does not open"));
}

static void do_nothing(void *with)
{
	(void)with;
}

/* The first time round nothing is stored, and the second time all is. */
static void nothing_is_kept_before_pictures_are_made(void **state)
{
	struct world *ch = *state;
	const char *target = at(ch, "/notices/", ch->notice.v, "/notes");
	struct http_upload file = photo(ch, "a.jpg", 40, 0xFF0000);
	struct request request = {.method = HTTP_POST, .path = target, .uploads = {&file, 1}};
	const char *body = arena_printf(ch->arena, "text=twice+handled&token=%s",
	                                web_form_token(ch->web, BEN));
	struct response response = {.status = 0};
	struct picture_job *job;

	request.headers.sec_fetch_site = "same-origin";
	request.headers.cookie = web_cookie(ch->web, BEN);
	request.peer = "192.0.2.1";
	assert_int_equal(http_urlencoded(ch->arena, body, strlen(body), &request.form), ST_OK);
	dispatch(web_app(ch->web), &request, ch->arena, &response);
	job = response.pictures;
	assert_non_null(job);
	assert_int_equal(response.status, 0);
	assert_false(web_holds(web_get(ch->web, BEN, at(ch, "/notices/", ch->notice.v, "")),
	                       "twice handled"));
	app_stop_waiting(web_app(ch->web));
	/* However often: what was not opened costs nothing of the pixels of a minute. */
	for (int i = 0; i < 2 * LIMIT_PIXELS_BURST; i++) {
		request.pictures = NULL;
		request.peer = arena_printf(ch->arena, "peer %d", i);
		response = (struct response){.status = 0};
		dispatch(web_app(ch->web), &request, ch->arena, &response);
		assert_non_null(response.pictures);
		job = response.pictures;
		picture_shop_leave(web_app(ch->web)->pictures, job, do_nothing, NULL);
		request.pictures = job;
		response = (struct response){.status = 0};
		dispatch(web_app(ch->web), &request, ch->arena, &response);
		assert_null(response.pictures);
		assert_int_equal(response.status, 422);
		holds(&response, "must wait, since other pictures are being taken in");
		holds(&response, "twice handled");
	}
	on_note(ch, ch->note.v + 1, 0);
}

/* ---- memory ---- */

static bool attempt(void *context)
{
	struct world *ch = context;
	struct http_upload file = {"pictures", "a.jpg", BYTES("no picture")};
	const struct response *r = add(ch, ANN, "", &file, 1);

	return r->status == 422;
}

static void memory_may_run_out_anywhere(void **state)
{
	struct world *ch = *state;

	assert_true(attempt(ch));
	for (size_t n = 1;; n++) {
		bool done;

		fail_memory(n, false);
		attempt(ch);
		done = !fail_memory_end();
		if (done)
			break;
	}
	assert_true(attempt(ch));
	pictures_now(ch, 0);
}

#define TEST(name) cmocka_unit_test_setup_teardown(name, set_up, tear_down)

int main(void)
{
	const struct CMUnitTest tests[] = {
	        TEST(photos_are_taken_in_two_sizes),
	        TEST(only_the_author_adds),
	        TEST(a_wrong_name_does_no_harm),
	        TEST(one_bad_file_refuses_all),
	        TEST(too_many_or_too_large),
	        TEST(a_field_of_text_is_no_picture),
	        TEST(everybody_reads_and_browsers_keep),
	        TEST(pictures_of_a_removed_note_are_gone),
	        TEST(the_author_or_a_steward_removes),
	        TEST(a_note_comes_with_its_pictures),
	        TEST(an_answer_comes_with_its_pictures),
	        TEST(a_note_with_a_bad_picture_is_not_taken),
	        TEST(of_a_removed_report_stewards_alone_see_them),
	        TEST(own_data_lists_own_pictures),
	        TEST(so_many_pixels_a_minute),
	        TEST(so_many_pictures_a_day),
	        TEST(a_full_day_opens_no_picture),
	        TEST(nothing_is_kept_before_pictures_are_made),
	        TEST(memory_may_run_out_anywhere),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
