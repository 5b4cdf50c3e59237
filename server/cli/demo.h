/* demo.h - fills an empty database with the invented demonstration. */
#ifndef CLI_DEMO_H
#define CLI_DEMO_H

#include "store/store.h"

/* ST_CONFLICT: it holds other data. ST_OK also when it holds the
 * demonstration already. Faults of the embedded files are logged. */
enum status demo_fill(struct store *store, int64_t now) MUST_CHECK;

#endif
