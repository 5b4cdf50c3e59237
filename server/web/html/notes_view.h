/* notes_view.h - notes of members as pages show them: on a notice, a step or a
 * part, a single one with its answers, the beginning of a list or all of it.
 *
 * Visitors get "a member" for names. What the caller may not do has false for an
 * address.
 */
#ifndef WEB_HTML_NOTES_VIEW_H
#define WEB_HTML_NOTES_VIEW_H

#include <jansson.h>

#include "store/kits.h"
#include "store/notes.h"
#include "web/http/context.h"

/* Where notes are shown. */
struct notes_place {
	struct kit_id kit; /* whose page it is, so that forms lead back there; v 0: none */
	bool alone;        /* the page of one note with its answers: all that may be done */
	bool plain;        /* nothing may be done, and long ones are whole: for paper */
};

/* What a note is about: "number Title", "step 14-4 of Whimbrel T", "part WH-2207-1"; in
 * the arena. NULL: memory ran out. */
const char *note_subject_words(const struct context *c, const struct note_subject *of);
/* The page of that, of the kit's if there is one: "/part?number=WH-2207-1"; in the
 * arena. NULL: memory ran out. */
const char *note_subject_path(const struct context *c, const struct note_subject *of,
                              struct kit_id kit);

/* Notes for note.html, answers inside the note that they follow (as note_list gives
 * them): [{"id", "url", "author", "written", "edited", "removed_by", "removed_on", "parts"
 * (markdown.h), "cut" (is there more of it than shown?), "helped" (words), "help" ({"url", "value",
 * "words"}), "answer_url", "edit_url", "remove_url", "call_url", "history_url", "kit", "back",
 * "pictures" (picture_view.h), "answers": [...], "has_answers", "earlier" (words, when answers are
 * left out)}...]. New reference in *out. ST_NOMEM. */
enum status note_views(const struct context *c, const struct note *notes, size_t count,
                       const struct notes_place *place, json_t **out) MUST_CHECK;

/* The beginning of a subject's list for notes.html, those that helped most first
 * and then the newest that are not among them: {"list", "newest" (list or false), "total",
 * "more" (are there others?), "all_url", "add" (for note_add.html: {"url", "hidden":
 * [{"name", "value"}...], "fields"}, false for visitors)}. New reference in *out. What the store
 * says; ST_NOMEM. */
enum status notes_view(struct context *c, const struct note_subject *of, struct kit_id kit,
                       json_t **out) MUST_CHECK;

/* A page of all of it, by the inputs of NOTES_LIST_INPUTS in c's form: {"list", "total", "orders":
 * [{"words", "url", "here"}...], "pager", "add"}. As above. */
#define NOTES_LIST_INPUTS                                                                          \
	{"order", "Order", INPUT_CHOICE, .choices = notes_orders},                                 \
	{                                                                                          \
		"page", "Page", INPUT_NUMBER, .min = 1, .max = 100000                              \
	}
extern const char *const notes_orders[];
enum status notes_list_view(struct context *c, const struct note_subject *of,
                            json_t **out) MUST_CHECK;

#endif
