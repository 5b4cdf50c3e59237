/* status.h - the one way a function says how it went.
 *
 * A function that can fail returns enum status, puts its result into out
 * parameters and leaves these untouched unless it returns ST_OK. Each header
 * names the one to three codes that a caller must expect; every other code is
 * passed up. Programming errors are asserted, never returned.
 */
#ifndef BASE_STATUS_H
#define BASE_STATUS_H

enum status {
	ST_OK = 0,
	ST_NOMEM,    /* memory ran out */
	ST_INVALID,  /* the input breaks a rule; the fault says which */
	ST_MISSING,  /* no such thing */
	ST_CONFLICT, /* it exists already, or somebody else changed it first */
	ST_DENIED,   /* the caller may not do this */
	ST_BUSY,     /* the database stayed locked; try again */
	ST_LIMIT,    /* larger than the stated limit */
	ST_IO        /* disk, database or network failed */
};

#define MUST_CHECK __attribute__((warn_unused_result))
#define PRINTF_LIKE(at, first) __attribute__((format(printf, at, first)))

/* A short English phrase for a log line; borrowed, never NULL. */
const char *status_words(enum status status);

#endif
