#include "os/uuid.h"

#include <string.h>

#include "os/digest.h"

/* Four bits of version and two of variant: RFC 9562 sections 4.1 and 4.2. */
static struct digest marked(struct digest digest)
{
	digest.bytes[6] = (unsigned char)((digest.bytes[6] & 0x0F) | 0x80);
	digest.bytes[8] = (unsigned char)((digest.bytes[8] & 0x3F) | 0x80);
	return digest;
}

const char *uuid_of(struct arena *arena, const char *chapter, const char *name)
{
	struct digest digest = marked(digest_keyed(chapter, strlen(chapter), name, strlen(name)));
	char hex[DIGEST_HEX_SIZE];

	digest_hex(&digest, hex);
	return arena_printf(arena, "%.8s-%.4s-%.4s-%.4s-%.12s", hex, hex + 8, hex + 12, hex + 16,
	                    hex + 20);
}

const char *uuid_urn(struct arena *arena, const char *chapter, const char *name)
{
	const char *uuid = uuid_of(arena, chapter, name);

	return uuid ? arena_printf(arena, "urn:uuid:%s", uuid) : NULL;
}
