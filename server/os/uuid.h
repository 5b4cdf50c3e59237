/* uuid.h - names for what leaves this box, that never change.
 *
 * A feed reader or a calendar knows an entry again by its id only. So ids hold
 * neither the box's address nor the chapter's name, which may change, but are
 * made of the chapter's own id (settings.h) and what is named: UUIDs of version 8
 * (RFC 9562 section 5.8), the first 128 bits of BLAKE2b-256 of the thing's
 * name, keyed with the chapter's id. Nobody can tell from one what it names.
 */
#ifndef OS_UUID_H
#define OS_UUID_H

#include "base/arena.h"

/* "1f0c3e5a-...": 36 characters, the same for the same chapter and name. NULL
 * when memory ran out. */
const char *uuid_of(struct arena *arena, const char *chapter, const char *name);

/* The same as an IRI: "urn:uuid:1f0c3e5a-...". */
const char *uuid_urn(struct arena *arena, const char *chapter, const char *name);

#endif
