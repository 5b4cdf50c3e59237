#include "formats/mail_text.h"

#include <string.h>
#include <strings.h>
#include <time.h>

#include "base/utf8.h"

#define LINE_LONGEST 76 /* characters; RFC 2047 section 2, RFC 2045 section 6.7 */
#define WORD_OPENS "=?UTF-8?Q?"
#define WORD_CLOSES "?="
#define HEX "0123456789ABCDEF"

/* ---- characters ---- */

/* Bytes of the well-formed character at text; 0 when it is none. A character
 * that misleads (utf8.h) is well-formed, and safe once it is encoded. */
static size_t character_length(const unsigned char *at)
{
	size_t len = at[0] < 0x80 ? 1 : at[0] >= 0xF0 ? 4 : at[0] >= 0xE0 ? 3 : 2;

	for (size_t i = 1; i < len; i++)
		if ((at[i] & 0xC0) != 0x80)
			return 0;
	return utf8_check((const char *)at, len, NULL) == UTF8_MALFORMED ? 0 : len;
}

static bool is_control(unsigned char c)
{
	return c < 0x20 || c == 0x7F;
}

static void add_escaped(struct text *out, unsigned char c)
{
	text_add_char(out, '=');
	text_add_char(out, HEX[c >> 4]);
	text_add_char(out, HEX[c & 15]);
}

/* ---- fields ---- */

/* May it stand in an encoded word anywhere, in a name too (RFC 2047 section 5, 3)? */
static bool is_word_safe(unsigned char c)
{
	return (c >= '0' && c <= '9') || (c >= 'A' && c <= 'Z') || (c >= 'a' && c <= 'z') ||
	       (c != '\0' && strchr("!*+-/", c));
}

/* One character as it stands in an encoded word. */
static size_t encode_character(struct text *out, const unsigned char *at)
{
	size_t len = character_length(at);

	if (len == 0 || is_control(at[0]))
		text_add(out, len == 0 ? "=3F" : "_");
	else if (at[0] == ' ')
		text_add_char(out, '_');
	else if (is_word_safe(at[0]))
		text_add_char(out, (char)at[0]);
	else
		for (size_t i = 0; i < len; i++)
			add_escaped(out, at[i]);
	return len ? len : 1;
}

/* Encoded words, one a line; the line at hand has so many characters already.
 * No character is split (RFC 2047 section 5). */
static void add_encoded(struct text *out, const char *words, size_t column)
{
	const unsigned char *at = (const unsigned char *)words;
	struct text one = TEXT_EMPTY;

	text_add(out, WORD_OPENS);
	column += strlen(WORD_OPENS);
	while (*at) {
		text_clear(&one);
		at += encode_character(&one, at);
		if (column + one.len + strlen(WORD_CLOSES) > LINE_LONGEST) {
			text_add(out, WORD_CLOSES "\r\n " WORD_OPENS);
			column = 1 + strlen(WORD_OPENS);
		}
		text_add(out, text_string(&one));
		column += one.len;
	}
	text_add(out, WORD_CLOSES);
	if (text_failed(&one))
		out->failed = true;
	text_free(&one);
}

/* Fits the line as it is, and nobody takes it for something encoded? */
static bool is_plain(const char *words, size_t column)
{
	for (const char *at = words; *at; at++)
		if (*at < 0x20 || *at > 0x7E)
			return false;
	return words[0] != ' ' && column + strlen(words) <= LINE_LONGEST && !strstr(words, "=?");
}

/* Atoms with blanks between: a name that needs no quotes (RFC 5322 section 3.2.5). */
static bool is_phrase(const char *name)
{
	static const char atext[] = "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ"
	                            "0123456789!#$%&'*+-/=?^_`{|}~ ";

	return name[0] != ' ' && name[strspn(name, atext)] == '\0';
}

void mail_text_words(struct text *out, const char *field, const char *words)
{
	size_t column = strlen(field) + 2;

	text_printf(out, "%s: ", field);
	if (is_plain(words, column))
		text_add(out, words);
	else
		add_encoded(out, words, column);
	text_add(out, "\r\n");
}

/* The address on a line of its own if there is a name. */
static void add_sender(struct text *out, const struct mail_message *message)
{
	const char *name = message->from_name;

	text_add(out, "From: ");
	if (name[0] && is_plain(name, 6) && is_phrase(name))
		text_add(out, name);
	else if (name[0])
		add_encoded(out, name, 6);
	text_printf(out, "%s<%s>\r\n", name[0] ? "\r\n " : "", message->from);
}

/* RFC 5322 section 3.3; the names are English whatever the box speaks. */
static void add_date(struct text *out, int64_t now)
{
	static const char days[7][4] = {"Sun", "Mon", "Tue", "Wed", "Thu", "Fri", "Sat"};
	static const char months[12][4] = {"Jan", "Feb", "Mar", "Apr", "May", "Jun",
	                                   "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"};
	time_t when = (time_t)now;
	struct tm t;

	if (!gmtime_r(&when, &t))
		return;
	text_printf(out, "Date: %s, %d %s %d %02d:%02d:%02d +0000\r\n", days[t.tm_wday], t.tm_mday,
	            months[t.tm_mon], t.tm_year + 1900, t.tm_hour, t.tm_min, t.tm_sec);
}

static void add_stop(struct text *out, const char *url)
{
	text_printf(out, "List-Unsubscribe:\r\n <%s>\r\n", url);
	if (strncasecmp(url, "https://", 8) == 0)
		text_add(out, "List-Unsubscribe-Post: List-Unsubscribe=One-Click\r\n");
}

/* ---- body ---- */

static bool ends_line(const char *at)
{
	return *at == '\n' || *at == '\0' || (at[0] == '\r' && at[1] == '\n');
}

/* One byte or broken byte of a line; column is where it would stand. */
static void encode_byte(struct text *one, const char *at, size_t column)
{
	unsigned char c = (unsigned char)*at;
	bool blank = c == ' ' || c == '\t';

	if (is_control(c) && !blank)
		text_add_char(one, ' ');
	else if (c == '=' || c >= 0x80 || (blank && ends_line(at + 1)) ||
	         (c == 'F' && column == 0 && strncmp(at, "From ", 5) == 0))
		add_escaped(one, c);
	else
		text_add_char(one, (char)c);
}

/* A whole character, so that a line breaks between two. */
static size_t encode_body_character(struct text *one, const char *at, size_t column)
{
	size_t len = character_length((const unsigned char *)at);

	if (len == 0) {
		text_add_char(one, '?');
		return 1;
	}
	for (size_t i = 0; i < len; i++)
		encode_byte(one, at + i, column);
	return len;
}

static const char *add_line(struct text *out, struct text *one, const char *at)
{
	size_t column = 0;

	while (!ends_line(at)) {
		text_clear(one);
		at += encode_body_character(one, at, column);
		if (column + one->len + !ends_line(at) > LINE_LONGEST) {
			text_add(out, "=\r\n");
			column = 0;
		}
		text_add(out, text_string(one));
		column += one->len;
	}
	text_add(out, "\r\n");
	return at;
}

void mail_text_body(struct text *out, const char *body)
{
	struct text one = TEXT_EMPTY;
	const char *at = body;

	while (*at) {
		at = add_line(out, &one, at);
		at += *at == '\r';
		at += *at == '\n';
	}
	if (text_failed(&one))
		out->failed = true;
	text_free(&one);
}

void mail_text(struct text *out, const struct mail_message *message)
{
	const char *domain = strchr(message->from, '@') + 1;

	add_date(out, message->now);
	add_sender(out, message);
	text_printf(out, "To: <%s>\r\n", message->to);
	mail_text_words(out, "Subject", message->subject);
	text_printf(out, "Message-ID: <%lld.%lld.outbox@%s>\r\n", (long long)message->id,
	            (long long)message->made_at, domain);
	text_add(out, "Auto-Submitted: auto-generated\r\n"); /* RFC 3834 section 5 */
	if (message->stop_url)
		add_stop(out, message->stop_url);
	text_add(out, "MIME-Version: 1.0\r\nContent-Type: text/plain; charset=utf-8\r\n"
	              "Content-Transfer-Encoding: quoted-printable\r\n\r\n");
	mail_text_body(out, message->body);
}
