/* icalendar.h - a calendar of whole days in iCalendar (RFC 5545).
 *
 *     ical_begin(&out, "Whimbrel", "What it shows");
 *     ical_event(&out, &event);
 *     ical_note(&out, &note);
 *     ical_end(&out);
 *
 * Lines end with CRLF and are folded so that none has more than 75 octets,
 * never within a UTF-8 character nor within an escape (section 3.1). Values
 * of type TEXT have \ ; , and line ends escaped (3.3.11); other control
 * characters are left out, as is anything else that section 3.1 forbids.
 * Addresses are of type URI and not escaped (3.3.13): blanks and control
 * characters, of which they may have none, are left out.
 *
 * An event is a VEVENT with a DTSTART that is a DATE and no end: it lasts that
 * one day (3.6.1), and shows as free (3.8.2.7). No alarms. A calendar must hold
 * at least one component (3.6); what is said about it as a whole stands in a
 * VJOURNAL (3.6.3), so that it is never empty, and also in DESCRIPTION of the
 * calendar (RFC 7986 section 5.2), for programs that show either.
 */
#ifndef FORMATS_ICALENDAR_H
#define FORMATS_ICALENDAR_H

#include <stdint.h>

#include "base/text.h"
#include "core/date.h"

struct ical_event {
	const char *uid; /* never changes; a UUID, as RFC 7986 section 5.3 wants */
	int64_t stamp;   /* when it was made so: seconds since 1970-01-01 UTC */
	day_number day;  /* 1900 to 2199 */
	const char *summary, *description;
	const char *category; /* NULL: none */
	const char *url;      /* absolute */
};

/* Words about the calendar as a whole; day is not looked at. */
void ical_note(struct text *out, const struct ical_event *note);

void ical_begin(struct text *out, const char *name, const char *description);
void ical_event(struct text *out, const struct ical_event *event);
void ical_end(struct text *out);

/* One line of a property whose value is TEXT. */
void ical_text(struct text *out, const char *property, const char *value);

#endif
