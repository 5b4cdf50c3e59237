/* open.h - opens and closes the chapter (chapter.h) with all that it holds. */
#ifndef CHAPTER_OPEN_H
#define CHAPTER_OPEN_H

#include "chapter/chapter.h"

/* The config's members are borrowed for the chapter's life. ST_IO when the
 * database does not open, ST_NOMEM. The jobs rest until rounds_start. */
enum status chapter_open(const struct chapter_config *config, struct chapter **out) MUST_CHECK;
void chapter_close(struct chapter *chapter); /* NULL is allowed; nobody may be at work */

#endif
