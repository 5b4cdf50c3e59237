/* note_page.h - a note as HTML, by way of the presenter and its template. */
#ifndef TESTS_NOTE_PAGE_H
#define TESTS_NOTE_PAGE_H

#include "base/status.h"
#include "base/text.h"
#include "web/html/tmpl.h"

/* The set that holds note_words.html alone, read from server/views. Ends the
 * program when it cannot be read or compiled. */
struct tmpl_set *note_set_new(void);

/* Adds the note's HTML to *out. */
enum status note_page(const struct tmpl_set *set, const char *text, struct text *out) MUST_CHECK;

#endif
