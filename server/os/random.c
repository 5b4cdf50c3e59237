#include "os/random.h"

#include <sodium.h>

enum status random_start(void)
{
	return sodium_init() < 0 ? ST_IO : ST_OK;
}

void random_bytes(void *out, size_t len)
{
	randombytes_buf(out, len);
}
