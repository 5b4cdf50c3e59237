/* json_notices.h - notices as a JSON file, the second format of seed/FORMAT.md. */
#ifndef CHAPTER_JSON_NOTICES_H
#define CHAPTER_JSON_NOTICES_H

#include "core/catalogue.h"
#include "store/notices.h"
#include "formats/json_reader.h"

struct json_notices {
	const struct notice_import *notices;
	size_t count;
};

/* Reads a whole file: every field, statement and lot; numbers that the file or
 * the list (known, all current notices) has twice; circles of supersedes and
 * requires in both together. The reader says what is wrong first and where. Notices that
 * have been read are taken out of the file, so that a long one is not held twice. */
void json_read_notices(struct json_reader *reader, json_t *file, const struct catalogue *known,
                       struct json_notices *out);

/* One revision's content, and a notice of `count` revisions, oldest first. New
 * references; NULL when memory ran out. */
json_t *json_from_content(const struct revision_content *content);
json_t *json_from_notice(const struct revision *revisions, size_t count);

#endif
