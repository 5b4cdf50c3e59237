#include "os/log.h"

#include <pthread.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

#include "os/clock.h"

#define LINE_LONGEST 500
#define COUNT_LONGEST 60
#define KINDS 32
#define QUIET 60000 /* milliseconds between two lines of a kind */

/* A kind that was told of less than QUIET ago, or of which lines are held back. */
struct kind {
	const char *name; /* NULL: free */
	int64_t told_at;
	unsigned long held;      /* lines since */
	char last[LINE_LONGEST]; /* the last of these */
};

static enum log_level shown = LOG_LEVEL_NOTE;
static pthread_mutex_t lock = PTHREAD_MUTEX_INITIALIZER;
static struct kind kinds[KINDS];

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
static void tell(const char *words, unsigned long held)
{
	char line[LINE_LONGEST + COUNT_LONGEST];
	int len = held ? snprintf(line, sizeof line, "%s (%lu more like this)\n", words, held)
	               : snprintf(line, sizeof line, "%s\n", words);

	if (write(STDERR_FILENO, line, (size_t)len) < 0)
		return; /* nowhere left to complain */
}

static void tell_held(struct kind *kind, int64_t now)
{
	tell(kind->last, kind->held - 1);
	kind->held = 0;
	kind->told_at = now;
}

/* The kind's entry. When all are taken, the one that has been silent longest is
 * told of and makes room. */
static struct kind *entry_of(const char *name, int64_t now)
{
	struct kind *oldest = &kinds[0];

	for (size_t i = 0; i < KINDS; i++) {
		if (kinds[i].name == name)
			return &kinds[i];
		if (kinds[i].told_at < oldest->told_at)
			oldest = &kinds[i];
	}
	if (oldest->held)
		tell_held(oldest, now);
	oldest->name = name;
	oldest->told_at = now - QUIET;
	return oldest;
}

static void add(const char *name, const char *words, int64_t now)
{
	struct kind *kind = entry_of(name, now);

	if (now - kind->told_at < QUIET) {
		kind->held++;
		memcpy(kind->last, words, strlen(words) + 1);
		return;
	}
	tell(words, kind->held);
	kind->held = 0;
	kind->told_at = now;
}

static void log_words(enum log_level level, const char *kind, const char *format, va_list args)
        PRINTF_LIKE(3, 0);
static void log_words(enum log_level level, const char *kind, const char *format, va_list args)
{
	char words[LINE_LONGEST];
	size_t len;

	if (level > shown)
		return;
	len = (size_t)snprintf(words, sizeof words, "%s", level_words[level]);
	vsnprintf(words + len, sizeof words - len, format, args);
	blank_controls(words);
	pthread_mutex_lock(&lock);
	add(kind, words, clock_steady());
	pthread_mutex_unlock(&lock);
}

void log_line(enum log_level level, const char *format, ...)
{
	va_list args;

	va_start(args, format);
	log_words(level, format, format, args);
	va_end(args);
}

void log_kind(enum log_level level, const char *kind, const char *format, ...)
{
	va_list args;

	va_start(args, format);
	log_words(level, kind, format, args);
	va_end(args);
}

static void tell_of_held(int64_t before, int64_t now)
{
	pthread_mutex_lock(&lock);
	for (size_t i = 0; i < KINDS; i++)
		if (kinds[i].held && kinds[i].told_at <= before)
			tell_held(&kinds[i], now);
	pthread_mutex_unlock(&lock);
}

void log_tick(int64_t now)
{
	tell_of_held(now - QUIET, now);
}

void log_flush(void)
{
	tell_of_held(INT64_MAX, clock_steady());
}

void log_set_level(enum log_level most)
{
	shown = most;
}
