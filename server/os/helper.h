/* helper.h - work on bytes that may harm, in a process that can do nothing else.
 *
 * helper_start forks a small process, the helper, before the first thread is
 * there: a process with threads cannot be forked safely, and a program that is
 * started anew for each piece would load forty libraries each time and would have
 * to be found, in tests too. A keeper between the two starts the helper again when it
 * dies, HELPER_STARTS times within a minute at most; what is asked until it is there waits,
 * and beyond those starts is refused at once. The helper does no work itself. For each piece it
 * forks a worker, which closes all but one socket, gives up every right (no network, no files, no
 * other process: seccomp(2)), takes limits of memory and time, works, answers, ends. So whatever a
 * piece does to its worker, no other piece and no other thread sees it, and one worker is there at
 * a time. When memory runs short on the box, workers go first.
 *
 * The worker's answer comes from bytes that may have taken it over: check it as
 * whatever else a stranger sends. The helper ends when its maker does.
 */
#ifndef OS_HELPER_H
#define OS_HELPER_H

#include <stdbool.h>
#include <stddef.h>

#include "base/text.h"

/* Whether a worker's memory is limited: not where AddressSanitizer has terabytes of
 * addresses for itself. */
#if defined __SANITIZE_ADDRESS__
#define HELPER_LIMITS_MEMORY 0
#elif defined __has_feature
#if __has_feature(address_sanitizer)
#define HELPER_LIMITS_MEMORY 0
#endif
#endif
#ifndef HELPER_LIMITS_MEMORY
#define HELPER_LIMITS_MEMORY 1
#endif

struct helper_rules {
	/* Called in the worker, with malloc and the C library's plain functions to call
	 * and nothing that asks the kernel for more than memory. False: no answer. */
	bool (*work)(const void *job, size_t size, struct text *answer);
	size_t memory;    /* bytes that a worker may have beside what it begins with */
	unsigned seconds; /* of processor time */
	unsigned window;  /* seconds within which HELPER_STARTS may lie; 0: 60 */
};

#define HELPER_STARTS 5

struct helper;

/* Before the first thread starts. ST_IO, ST_NOMEM. Owned. */
enum status helper_start(const struct helper_rules *rules, struct helper **out) MUST_CHECK;
void helper_stop(struct helper *helper); /* NULL is allowed; nobody may be asking */

struct helper_part {
	const void *at;
	size_t len;
};

/* One piece of work, its parts joined; waits for those before it and for the
 * answer, which is added to `answer`. Any thread. ST_DENIED: the worker was ended by
 * a limit, or crashed; ST_IO: the helper is gone, or died too often just now; ST_NOMEM. */
enum status helper_ask(struct helper *helper, const struct helper_part *parts, size_t count,
                       struct text *answer) MUST_CHECK;

#endif
