#include "base/status.h"

const char *status_words(enum status status)
{
	static const char *const words[] = {
	        [ST_OK] = "all right",
	        [ST_NOMEM] = "out of memory",
	        [ST_INVALID] = "invalid input",
	        [ST_MISSING] = "not found",
	        [ST_CONFLICT] = "conflict with what is stored",
	        [ST_DENIED] = "not allowed",
	        [ST_BUSY] = "database busy",
	        [ST_LIMIT] = "over a limit",
	        [ST_IO] = "input or output failed",
	};
	return (unsigned)status < sizeof words / sizeof words[0] ? words[status] : "unknown status";
}
