/* picture_shop.h - where the pictures that people send are made fit, away from all requests.
 *
 * The shop's helper (os/helper.h) opens each picture in a process that has no
 * rights, SHOP_MEMORY bytes and SHOP_SECONDS of processor time. The requests that wait
 * for pictures hold no thread: a handler that needs some makes a job of them, the
 * request is put aside (httpd.c), the shop's one thread does the jobs, and then the
 * request is handled again from its beginning, with the job. So nothing of a form is
 * kept before its pictures are known to be good, and no picture before it is clean.
 *
 * Jobs take turns, a picture each; a member has one at a time. SHOP_PLACES of
 * all members wait at most, and SHOP_PIXELS of theirs, so that no wait outlasts a proxy's
 * patience. Others are sent back at once (ST_BUSY).
 */
#ifndef CHAPTER_PICTURE_SHOP_H
#define CHAPTER_PICTURE_SHOP_H

#include <stdint.h>

#include "os/helper.h"
#include "chapter/picture.h"

#define SHOP_PLACES 8
#define SHOP_PIXELS 300000000
#define SHOP_SECONDS 30
#define SHOP_MEMORY ((size_t)480 * 1024 * 1024)

extern const struct helper_rules picture_helper_rules;

/* One file. made: one of a sheet, a large and a small one of a picture; only when
 * status is ST_OK. Else status is one of those of picture_refusal; ST_IO: the helper is
 * gone; ST_NOMEM. */
struct picture_order {
	const void *bytes;
	size_t size;
	bool sheet;
	enum status status;
	struct picture made[2];
};

/* Lives in the arena of its request. */
struct picture_job;

/* orders: borrowed, and filled in when the job is done; pixels: of all, as their heads say.
 * NULL when memory ran out. */
struct picture_job *picture_job_new(struct arena *arena, int64_t member, int64_t pixels,
                                    struct picture_order *orders, size_t count);
/* By their number, once it is done. */
const struct picture_order *picture_job_order(const struct picture_job *job, size_t number);
size_t picture_job_count(const struct picture_job *job);

struct picture_shop;

/* helper: borrowed; NULL: every job ends with ST_IO. Owned; NULL when memory ran out. */
struct picture_shop *picture_shop_new(struct helper *helper);
void picture_shop_free(struct picture_shop *shop); /* NULL is allowed; after picture_shop_close */

/* In the caller's thread. */
void picture_shop_do(struct picture_shop *shop, struct picture_job *job);

/* Starts the shop's own thread. ST_NOMEM: there is none to be had. */
enum status picture_shop_start(struct picture_shop *shop) MUST_CHECK;

/* In the shop's thread, once it is started; then done(with), from there or, when there is no
 * place, from the caller's. */
void picture_shop_leave(struct picture_shop *shop, struct picture_job *job, void (*done)(void *),
                        void *with);

/* Ends the thread after its picture; who waits is called back with ST_BUSY, and so is
 * who comes later. */
void picture_shop_close(struct picture_shop *shop);

#endif
