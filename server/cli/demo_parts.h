/* demo_parts.h - what the files that fill the demonstration share. */
#ifndef CLI_DEMO_PARTS_H
#define CLI_DEMO_PARTS_H

#include "base/embedded.h"
#include "store/pictures.h"
#include "store/records.h"
#include "formats/json_reader.h"

#define DEMO_STEWARD "maren"

struct filled_report {
	struct report_id id;
	const char *title;
};

struct filling {
	struct store *store;
	struct json_reader reader;
	int64_t now;
	struct kit_id kit;        /* being filled */
	struct record_id *record; /* of this kit so far */
	size_t records;
	struct note_id *note; /* so far */
	size_t notes;
	struct filled_report *report; /* so far */
	size_t reports;
	int64_t last_at;   /* of the report at hand: its latest finding */
	int64_t news_from; /* what is older has been told and read */
};

/* A file of seed/ by its name there; NULL when there is none. */
const struct embedded_file *demo_file(const char *name);

/* Adds every element of an array that is a member of an object. */
typedef void add_fn(struct filling *f, const json_t *value);
void demo_add_each(struct filling *f, const json_t *object, const char *key, add_fn *add);

/* Keeps the first failure, so that what follows needs no checks between. */
void demo_take(struct filling *f, enum status status);

/* By login, by number; v 0 after a failure. */
struct member_id demo_member(struct filling *f, const char *login);
struct notice_id demo_notice(struct filling *f, const char *number);

/* Noon of a day, but never in the future. */
int64_t demo_noon(const struct filling *f, struct date date);

/* demo_reports.c: the pictures that an object lists, the whole file of reports, and news from
 * before news_from marked as seen. */
void demo_add_pictures(struct filling *f, const struct picture_of *of, struct member_id by,
                       const json_t *object);
void demo_add_reports(struct filling *f, const json_t *file);
void demo_read_old_news(struct filling *f);

#endif
