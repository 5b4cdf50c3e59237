/* pictures.h - pictures on notes, reports and findings, in two sizes.
 *
 * The store keeps what the caller has made fit (chapter/picture.h): upright,
 * re-encoded, without metadata. Bytes are kept once however often they come.
 * A picture goes with what it is on, and with the words of a note that is
 * removed; of a removed report only stewards see them.
 * What changes on a report or its findings raises the report's version.
 */
#ifndef STORE_PICTURES_H
#define STORE_PICTURES_H

#include "store/bounds.h"
#include "store/notes.h"
#include "store/reports.h"

#define PICTURE_WORDS_LONGEST 200 /* characters */

struct picture_id {
	int64_t v; /* 0: none */
};

/* What a picture is on: exactly one id is not 0. */
struct picture_of {
	struct note_id note;
	struct report_id report;
	struct finding_id finding;
};

struct picture_size {
	const char *mime; /* "image/jpeg" or "image/png" */
	unsigned width, height;
	const void *bytes; /* not filled in by picture_list, picture_list_by and picture_read */
	size_t size;
};

struct picture_entry {
	const char *words; /* what it shows, "" when not said */
	struct picture_size large, small;
};

struct picture_row {
	struct picture_id id;
	struct picture_of of;
	struct report_id on_report; /* of.report, or the report of the finding; v 0: a note */
	struct member_id author;    /* of what it is on; v 0: a removed member */
	bool removed;               /* what it is on is removed */
	const char *words;
	struct picture_size large, small;
};

/* How many more fit, and the report that they would be on (v 0: a note). By the
 * author of what they are to be on (else ST_DENIED). ST_MISSING: that does not
 * exist or is removed. */
enum status pictures_room(struct store *store, const struct picture_of *of, struct member_id by,
                          size_t *room, struct report_id *report) MUST_CHECK;
/* May that many more be added today? ST_LIMIT: more than PICTURES_A_DAY within a day. */
enum status pictures_day(struct store *store, struct member_id by, size_t count,
                         int64_t now) MUST_CHECK;
/* After those that are there, by the author of what they are on (else
 * ST_DENIED). ST_MISSING: that does not exist or is removed; ST_LIMIT: more than
 * PICTURES_MOST with those that are there, or as pictures_day. */
enum status pictures_add(struct store *store, const struct picture_of *of, struct member_id by,
                         const struct picture_entry *pictures, size_t count,
                         int64_t now) MUST_CHECK;
/* For good. ST_MISSING. By the author of what it is on while that stands, or a
 * steward (else ST_DENIED). */
enum status picture_remove(struct store *store, struct picture_id id,
                           struct member_id by) MUST_CHECK;
/* Of several at once, in the order of `of` and as they were added: one look at
 * an index for each. */
enum status picture_list(struct store *store, struct arena *arena, const struct picture_of *of,
                         size_t n_of, const struct picture_row **out, size_t *count) MUST_CHECK;
/* On what one member wrote, oldest first, for the download of own data. */
enum status picture_list_by(struct store *store, struct arena *arena, struct member_id author,
                            const struct picture_row **out, size_t *count) MUST_CHECK;
/* ST_MISSING; also when what it is on is removed, unless the reader is a steward. */
enum status picture_read(struct store *store, struct arena *arena, struct picture_id id,
                         bool steward, struct picture_row *out) MUST_CHECK;
/* One size with its bytes. ST_MISSING as above. */
enum status picture_bytes(struct store *store, struct arena *arena, struct picture_id id,
                          bool small, bool steward, struct picture_size *out) MUST_CHECK;

#endif
