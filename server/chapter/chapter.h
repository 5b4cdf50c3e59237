/* chapter.h - the chapter in memory, and the work that goes on in the background.
 *
 * Owns the connections to the database, the compiled notices, the facts of all
 * kits, and the background jobs; open.h makes it. Everything in it is immutable or locks itself;
 * several threads may work at once, each with a connection of its own.
 */
#ifndef CHAPTER_CHAPTER_H
#define CHAPTER_CHAPTER_H

#include "base/status.h"
#include "chapter/work.h"

struct catalogue_holder;
struct chapter_list;
struct counted_cache;
struct kits;
struct mail_setup; /* mail_round.h */
struct rounds;
struct standby;
struct store_pool;

struct chapter_config {
	const char *database;          /* path of the database file */
	size_t readers;                /* threads that only read; 0: as many as there ever are */
	int64_t (*now)(void);          /* seconds; NULL: the machine's clock */
	const char *base_url;          /* where links in mails lead unless a setting says so */
	const struct mail_setup *mail; /* NULL: this box sends none */
	const char *standby; /* folder of copies (standby.h); NULL: this is the first box */
};

/* Its members are for the files of this room. */
struct chapter {
	struct chapter_config config;
	struct store_pool *pool;
	struct catalogue_holder *catalogues;
	struct kits *kits;
	struct counted_cache *reports;
	struct chapter_list *list; /* what all of them must get */
	struct standby *standby;   /* NULL: this is the first box */
	struct rounds *rounds;
	struct rounds *lists; /* what is worked out for pages: nothing else waits for it */
};

/* A piece of work begins: the time, and a connection unless it is told to go
 * without (then store is NULL). It has no notices yet. */
struct work work_at(struct chapter *chapter, struct arena *arena);
void work_connect(struct work *work);
void work_disconnect(struct work *work);

/* Borrows the notices of that generation or a later one for the call of use;
 * passes on what that returns. What the store says; ST_NOMEM. */
typedef enum status work_fn(struct work *work, void *context);
enum status work_with_notices(struct work *work, int64_t generation, work_fn *use,
                              void *context) MUST_CHECK;

#endif
