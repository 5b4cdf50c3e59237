#include "formats/icalendar.h"

#include <stdio.h>
#include <string.h>
#include <time.h>

#define LINE_LONGEST 75 /* octets, without CRLF */

/* A line that is being written. */
struct line_out {
	struct text *out;
	size_t octets; /* on the line so far */
};

/* Bytes that stay on one line: a character, or an escape. */
static void put(struct line_out *line, const char *at, size_t len)
{
	if (line->octets + len > LINE_LONGEST) {
		text_add(line->out, "\r\n ");
		line->octets = 1;
	}
	text_add_bytes(line->out, at, len);
	line->octets += len;
}

/* Of the UTF-8 character that begins there. */
static size_t length_of(const char *at)
{
	size_t len = 1;

	while (len < 4 && ((unsigned char)at[len] & 0xC0) == 0x80)
		len++;
	return len;
}

static bool is_control(char c)
{
	return (unsigned char)c < 0x20 || c == 0x7F;
}

static void begin_line(struct line_out *line, const char *property)
{
	for (; *property; property++)
		put(line, property, 1);
}

static void end_line(struct line_out *line)
{
	text_add(line->out, "\r\n");
}

/* How a byte of TEXT is written when not as it is; "" leaves it out. */
static const char *written(const char *at)
{
	switch (*at) {
	case '\\':
		return "\\\\";
	case ';':
		return "\\;";
	case ',':
		return "\\,";
	case '\n':
		return "\\n";
	case '\r':
		return at[1] == '\n' ? "" : "\\n";
	case '\t':
		return NULL;
	default:
		return is_control(*at) ? "" : NULL;
	}
}

void ical_text(struct text *out, const char *property, const char *value)
{
	struct line_out line = {out, 0};

	begin_line(&line, property);
	put(&line, ":", 1);
	while (*value) {
		const char *instead = written(value);
		size_t len = instead ? 1 : length_of(value);

		if (instead)
			put(&line, instead, strlen(instead));
		else
			put(&line, value, len);
		value += len;
	}
	end_line(&line);
}

/* A value that is not TEXT: printed by us, or an address. */
static void ical_plain(struct text *out, const char *property, const char *value)
{
	struct line_out line = {out, 0};

	begin_line(&line, property);
	put(&line, ":", 1);
	while (*value) {
		size_t len = length_of(value);

		if (!is_control(*value) && *value != ' ')
			put(&line, value, len);
		value += len;
	}
	end_line(&line);
}

static void add_stamp(struct text *out, int64_t seconds)
{
	time_t when = (time_t)seconds;
	struct tm parts;
	char room[32];

	if (gmtime_r(&when, &parts) && strftime(room, sizeof room, "%Y%m%dT%H%M%SZ", &parts))
		ical_plain(out, "DTSTAMP", room);
}

static void add_day(struct text *out, day_number day)
{
	int year, month, day_of_month;
	char room[32];

	day_to_civil(day, &year, &month, &day_of_month);
	snprintf(room, sizeof room, "%04d%02d%02d", year, month, day_of_month);
	ical_plain(out, "DTSTART;VALUE=DATE", room);
}

void ical_begin(struct text *out, const char *name, const char *description)
{
	ical_plain(out, "BEGIN", "VCALENDAR");
	ical_plain(out, "VERSION", "2.0");
	ical_text(out, "PRODID", "-//Fairlead//Dates//EN");
	ical_text(out, "NAME", name);
	ical_text(out, "DESCRIPTION", description);
	ical_plain(out, "REFRESH-INTERVAL;VALUE=DURATION", "PT12H");
}

void ical_end(struct text *out)
{
	ical_plain(out, "END", "VCALENDAR");
}

static void add_words(struct text *out, const struct ical_event *event)
{
	ical_text(out, "SUMMARY", event->summary);
	ical_text(out, "DESCRIPTION", event->description);
	if (event->category)
		ical_text(out, "CATEGORIES", event->category);
	ical_plain(out, "URL", event->url);
}

void ical_event(struct text *out, const struct ical_event *event)
{
	ical_plain(out, "BEGIN", "VEVENT");
	ical_text(out, "UID", event->uid);
	add_stamp(out, event->stamp);
	add_day(out, event->day);
	ical_plain(out, "TRANSP", "TRANSPARENT");
	add_words(out, event);
	ical_plain(out, "END", "VEVENT");
}

void ical_note(struct text *out, const struct ical_event *note)
{
	ical_plain(out, "BEGIN", "VJOURNAL");
	ical_text(out, "UID", note->uid);
	add_stamp(out, note->stamp);
	add_words(out, note);
	ical_plain(out, "END", "VJOURNAL");
}
