/* embedded.h - files that are part of the binary: static, views, migrations, seed. */
#ifndef BASE_EMBEDDED_H
#define BASE_EMBEDDED_H

#include <stddef.h>

struct embedded_file {
	const char *name;  /* path below its folder, with / */
	const char *bytes; /* a NUL follows the last byte, not counted in len */
	size_t len;
};

/* The file of that name in a sorted table of count files; NULL when absent. */
const struct embedded_file *embedded_find(const struct embedded_file *table, size_t count,
                                          const char *name);

#endif
