#include "os/log.h"

#include <stdarg.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

#define LINE_LONGEST 500

static enum log_level shown = LOG_LEVEL_NOTE;

static const char *const level_words[] = {
        [LOG_LEVEL_TROUBLE] = "trouble: ",
        [LOG_LEVEL_WARNING] = "warning: ",
        [LOG_LEVEL_NOTE] = "",
};

static void blank_controls(char *at)
{
	for (; *at; at++)
		if ((unsigned char)*at < 0x20 || *at == 0x7F)
			*at = '?';
}

/* One write for the whole line, so that threads do not mix their words. */
void log_line(enum log_level level, const char *format, ...)
{
	char line[LINE_LONGEST + 2];
	size_t len;
	va_list args;

	if (level > shown)
		return;
	len = (size_t)snprintf(line, LINE_LONGEST, "%s", level_words[level]);
	va_start(args, format);
	vsnprintf(line + len, LINE_LONGEST - len, format, args);
	va_end(args);
	blank_controls(line);
	len = strlen(line);
	line[len] = '\n';
	if (write(STDERR_FILENO, line, len + 1) < 0)
		return; /* nowhere left to complain */
}

void log_set_level(enum log_level most)
{
	shown = most;
}
