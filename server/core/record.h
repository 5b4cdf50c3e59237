/* record.h - a dated entry that work on a notice was done to one kit.
 *
 * Records are only ever appended. A correction is a record that names the one
 * it corrects; the corrected one no longer counts. A correction may also
 * withdraw: then it closes nothing itself.
 */
#ifndef CORE_RECORD_H
#define CORE_RECORD_H

#include "base/text.h"
#include "core/date.h"
#include "core/name.h"

struct record_id {
	int64_t v; /* 0: none */
};

struct record {
	struct record_id id;
	struct record_id corrects; /* v 0: a first entry */
	bool withdraws;            /* with corrects: nothing takes its place */
	struct name notice;        /* number */
	struct name revision;      /* worked to */
	struct name part;          /* line: part and position, both may be empty */
	struct name position;
	struct date done;      /* day the work was completed; may be partial for old work */
	const char *method;    /* how it was complied with */
	const char *by;        /* who did it */
	const char *signed_as; /* certificate kind and number if any, "" else */
	bool has_hours;
	int64_t hours; /* hundredths, total time at completion */
	bool has_landings;
	int64_t landings;
	const char *remarks; /* "" when none */
	const char *entered_by;
	int64_t entered_at; /* seconds since 1970-01-01 UTC */
};

/* The bytes that the chain of records hashes: every field, each with its
 * length before it, so that no two records share a form. */
void record_canonical(const struct record *record, struct text *out);

/* Does records[i] count, that is, does no later one correct it and does it not
 * withdraw? records in order of entry. */
bool record_counts(const struct record *records, size_t count, size_t i);

#endif
