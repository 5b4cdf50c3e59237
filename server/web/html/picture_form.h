/* picture_form.h - pictures that come with a form: up to six in one field.
 *
 * A form that takes pictures has PICTURE_INPUTS in its table of inputs, a
 * route with R_PICTURES, and in its template enctype="multipart/form-data" and
 * {{#form}}{{>field_pictures.html}}{{/form}}. Its handler looks at them before anything
 * is stored, and keeps them in the transaction that stores what they are on:
 *
 *     enum status status = pictures_look(c, PICTURES_MOST);
 *
 *     if (status != ST_OK)
 *             return status;
 *     if (form_ok(c->form))
 *             status = in one transaction { store the note; pictures_keep(c, &of) };
 *     if (!form_ok(c->form))
 *             return show_form(c);
 *     return status == ST_OK ? done : status;
 *
 * The handler is run twice (picture_shop.h): the first time pictures_keep, asked last, when
 * nothing else stands against the form, fails with ST_BUSY, and the transaction is taken
 * back; the second time the pictures are made.
 */
#ifndef WEB_HTML_PICTURE_FORM_H
#define WEB_HTML_PICTURE_FORM_H

#include "store/pictures.h"
#include "chapter/picture.h"
#include "web/http/context.h"

#define PICTURE_FILE_LARGEST (10 * 1024 * 1024) /* bytes of one file */

#define PICTURE_INPUTS                                                                             \
	{"pictures", "Picture", INPUT_FILE, .repeated = true, .longest = PICTURE_FILE_LARGEST},    \
	{                                                                                          \
		"picture_words", "What the pictures show", INPUT_LINE,                             \
		        .longest = PICTURE_WORDS_LONGEST                                           \
	}

/* Can they be taken, by number and by what their heads say? Faults go to the form, each
 * at its file. ST_NOMEM. */
enum status pictures_look(struct context *c, size_t room) MUST_CHECK;

/* Keeps all or none. ST_INVALID: there are faults, and the form has them; ST_BUSY: they
 * must be made first; else as pictures_add. */
enum status pictures_keep(struct context *c, const struct picture_of *of) MUST_CHECK;

/* On what the same form has added, unless it has pictures: then the form was sent twice.
 * As pictures_keep. */
enum status pictures_keep_once(struct context *c, const struct picture_of *of) MUST_CHECK;

/* The one file of a field, as a sheet. As pictures_keep. */
enum status picture_take_sheet(struct context *c, const char *field,
                               struct picture *out) MUST_CHECK;

/* Blank fields for {{#fields}}{{>field_pictures.html}}{{/fields}}, where a form stands on
 * a page that is not its own. New reference; NULL when memory ran out. */
json_t *picture_blank_fields(struct arena *arena);

#endif
