/* log.h - one line on standard error for each thing worth telling.
 *
 * No personal data: no addresses, names, paths with queries or form values.
 * Control characters in arguments come out as "?", so that no caller can forge
 * a line. The service manager adds the time.
 */
#ifndef OS_LOG_H
#define OS_LOG_H

#include "base/status.h"

enum log_level {
	LOG_LEVEL_TROUBLE, /* somebody must act */
	LOG_LEVEL_WARNING, /* odd, but served on */
	LOG_LEVEL_NOTE     /* started, stopped, imported */
};

/* At most 500 bytes of a line are kept. */
void log_line(enum log_level level, const char *format, ...) PRINTF_LIKE(2, 3);

/* Silences lines below a level; for tests. Before the first thread starts. */
void log_set_level(enum log_level most);

#endif
