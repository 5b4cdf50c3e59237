/* log.h - one line on standard error for each thing worth telling.
 *
 * No personal data: no addresses, names, paths with queries or form values.
 * Control characters in arguments come out as "?", so that no caller can forge
 * a line. The service manager adds the time.
 *
 * What happens again and again must not fill the disk: of each kind one line a
 * minute goes out, and the next one says how many were held back. A kind is a
 * place in the program, whatever the arguments.
 */
#ifndef OS_LOG_H
#define OS_LOG_H

#include <stdint.h>

#include "base/status.h"

enum log_level {
	LOG_LEVEL_TROUBLE, /* somebody must act */
	LOG_LEVEL_WARNING, /* odd, but served on */
	LOG_LEVEL_NOTE     /* started, stopped, imported */
};

/* At most 500 bytes of a line are kept. Its kind is its format. */
void log_line(enum log_level level, const char *format, ...) PRINTF_LIKE(2, 3);

/* The same where the kind is another text: a constant, told apart by its address. */
void log_kind(enum log_level level, const char *kind, const char *format, ...) PRINTF_LIKE(3, 4);

/* Tells of lines that are held back for a minute by now (clock_steady): the last of
 * the kind, and how many. Called now and then by whoever has a thread for it. */
void log_tick(int64_t now);
/* Tells of all that are held back; for the end. */
void log_flush(void);

/* Silences lines below a level; for tests. Before the first thread starts. */
void log_set_level(enum log_level most);

#endif
