/* note_parts.h - what the pages of notes have in common. */
#ifndef WEB_NOTES_NOTE_PARTS_H
#define WEB_NOTES_NOTE_PARTS_H

#include "web/http/context.h"
#include "web/html/notes_view.h"

/* The note that {note} captures, removed ones too. ST_MISSING. */
enum status note_here(const struct context *c, struct note *out) MUST_CHECK;
/* The same, if it stands. */
enum status note_standing(const struct context *c, struct note *out) MUST_CHECK;

/* The kit that the caller came from, by the input "kit". */
struct kit_id note_kit(const struct context *c);

/* Adds what the caller typed in "text" and goes back to the subject's page; shows
 * the form again when it has faults. */
enum status note_add_here(struct context *c, const struct note_subject *of) MUST_CHECK;

/* A page about one note: adds "note" (in full) and "subject" ({"words", "url"}) to the
 * view, which is stolen. */
enum status note_respond(struct context *c, const struct note *note, const char *template,
                         const char *title, json_t *view) MUST_CHECK;

/* Back to the page of the note, at its place on it. */
enum status note_done(struct context *c, struct note_id id, const char *said) MUST_CHECK;

#endif
