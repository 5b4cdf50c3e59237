#include "base/embedded.h"

#include <string.h>

const struct embedded_file *embedded_find(const struct embedded_file *table, size_t count,
                                          const char *name)
{
	for (size_t i = 0; i < count; i++)
		if (strcmp(table[i].name, name) == 0)
			return &table[i];
	return NULL;
}
