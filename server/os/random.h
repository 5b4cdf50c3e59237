/* random.h - unpredictable bytes from the kernel, through libsodium. */
#ifndef OS_RANDOM_H
#define OS_RANDOM_H

#include <stddef.h>

#include "base/status.h"

/* Makes libsodium ready; once, before anything else of os/. ST_IO when the
 * machine has no source of random bytes: then do not go on. */
enum status random_start(void) MUST_CHECK;

/* Fills len bytes; cannot fail once started. */
void random_bytes(void *out, size_t len);

#endif
