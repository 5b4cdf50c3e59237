/* picture_form.h - pictures that come with a form: up to six in one field.
 *
 * A form that takes pictures has PICTURE_INPUTS in its table of inputs, a
 * route with R_PICTURES, and in its template enctype="multipart/form-data" and
 * {{#form}}{{>field_pictures.html}}{{/form}}. Its handler:
 *
 *     struct pictures_taken pictures;
 *     enum status status = pictures_take(c, PICTURES_MOST, &pictures);
 *
 *     if (status != ST_OK)
 *             return status;
 *     if (!form_ok(c->form))
 *             return show_form(c);
 *     ... in one transaction: what they are on, then
 *     status = pictures_add(c->store, &of, c->member->id, pictures.at, pictures.count);
 */
#ifndef WEB_HTML_PICTURE_FORM_H
#define WEB_HTML_PICTURE_FORM_H

#include "store/pictures.h"
#include "web/http/context.h"

#define PICTURE_FILE_LARGEST (10 * 1024 * 1024) /* bytes of one file */

#define PICTURE_INPUTS                                                                             \
	{"pictures", "Picture", INPUT_FILE, .repeated = true, .longest = PICTURE_FILE_LARGEST},    \
	{                                                                                          \
		"picture_words", "What the pictures show", INPUT_LINE,                             \
		        .longest = PICTURE_WORDS_LONGEST                                           \
	}

struct pictures_taken {
	const struct picture_entry *at;
	size_t count; /* 0 when none came, and when the form has faults */
};

/* Checks and cleans all pictures of c->form, of which `room` fit (picture.h): all
 * or none. Nothing is decoded while the form has other faults, so call it last. Faults
 * go to the form, each at its file. ST_NOMEM. */
enum status pictures_take(struct context *c, size_t room, struct pictures_taken *out) MUST_CHECK;

/* On what the same form has added, unless it has pictures: then the form was sent twice.
 * As pictures_add. */
enum status pictures_add_once(struct context *c, const struct picture_of *of,
                              const struct pictures_taken *pictures) MUST_CHECK;

/* Blank fields for {{#fields}}{{>field_pictures.html}}{{/fields}}, where a form stands on
 * a page that is not its own. New reference; NULL when memory ran out. */
json_t *picture_blank_fields(struct arena *arena);

#endif
