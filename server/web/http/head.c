#include "web/http/head.h"

#include <string.h>

static bool named(const struct head_field *field, const char *name)
{
	return field->name_len == strlen(name) && strcasecmp(field->name, name) == 0;
}

static size_t count_named(const struct head *head, const char *name)
{
	size_t count = 0;

	for (size_t i = 0; i < head->count; i++)
		count += named(&head->fields[i], name);
	return count;
}

/* RFC 9110 section 5.6.2. */
static bool is_token(const char *at, size_t len)
{
	static const char others[] = "!#$%&'*+-.^_`|~";

	for (size_t i = 0; i < len; i++) {
		char c = at[i];

		if (!(c >= 'a' && c <= 'z') && !(c >= 'A' && c <= 'Z') && !(c >= '0' && c <= '9') &&
		    (!c || !strchr(others, c)))
			return false;
	}
	return len > 0;
}

/* No control characters but tabs: a bare CR is a line end to some (RFC 9112
 * section 2.2), NUL the end to others (RFC 9110 section 5.5). */
static bool is_value(const char *at, size_t len)
{
	for (size_t i = 0; i < len; i++)
		if (((unsigned char)at[i] < 0x20 && at[i] != '\t') || at[i] == 0x7F)
			return false;
	return true;
}

/* RFC 9112 section 3: nothing in it is a blank or a control character. */
static bool is_target(const char *at)
{
	for (; *at; at++)
		if ((unsigned char)*at <= 0x20 || *at == 0x7F)
			return false;
	return true;
}

/* What may stand in a host and port (RFC 3986 section 3.2); "" for none. */
static bool is_host(const char *at, size_t len)
{
	static const char others[] = "-._~%!$&'()*+,;=:[]";

	for (size_t i = 0; i < len; i++)
		if (!(at[i] >= 'a' && at[i] <= 'z') && !(at[i] >= 'A' && at[i] <= 'Z') &&
		    !(at[i] >= '0' && at[i] <= '9') && (!at[i] || !strchr(others, at[i])))
			return false;
	return true;
}

/* libmicrohttpd reads a field that goes on in the next line (RFC 9112 section 5.2)
 * by moving its name elsewhere and adding to it what was continued. So "Content-Length: 5",
 * continued, is a field of another name; the name that was moved gives it away. */
static bool is_continued(const struct head_field *field)
{
	return (uintptr_t)field->value <= (uintptr_t)field->name + field->name_len;
}

static bool fields_are_fields(const struct head *head)
{
	for (size_t i = 0; i < head->count; i++) {
		const struct head_field *field = &head->fields[i];

		/* A blank before the colon is no token either (section 5.1). */
		if (!is_token(field->name, field->name_len) ||
		    !is_value(field->value, field->value_len) || is_continued(field))
			return false;
	}
	return true;
}

/* Fields of which there is one at most (RFC 9110 section 5.3), where two would be
 * two opinions on the length, the place, or who calls. */
static bool are_single(const struct head *head)
{
	static const char *const names[] = {"Authorization", "Content-Length", "Content-Type",
	                                    "Host", "Origin"};

	for (size_t i = 0; i < sizeof names / sizeof names[0]; i++)
		if (count_named(head, names[i]) > 1)
			return false;
	return true;
}

static const char *value_of(const struct head *head, const char *name)
{
	for (size_t i = 0; i < head->count; i++)
		if (named(&head->fields[i], name))
			return head->fields[i].value;
	return NULL;
}

/* RFC 9112 sections 6.1 and 6.3: chunked is the only coding that we read, it
 * stands alone, not beside a length, and not in HTTP/1.0. */
static bool length_is_clear(const struct head *head)
{
	const char *coding = value_of(head, "Transfer-Encoding");

	if (!coding)
		return true;
	return count_named(head, "Transfer-Encoding") == 1 && strcasecmp(coding, "chunked") == 0 &&
	       count_named(head, "Content-Length") == 0 && strcmp(head->version, "HTTP/1.0") != 0;
}

/* RFC 9112 section 3.2. */
static bool host_is_clear(const struct head *head)
{
	const char *host = value_of(head, "Host");

	if (!host)
		return strcmp(head->version, "HTTP/1.0") == 0;
	return is_host(host, strlen(host));
}

enum status head_check(const struct head *head)
{
	bool clear = is_token(head->method, strlen(head->method)) && is_target(head->target) &&
	             fields_are_fields(head) && are_single(head) && length_is_clear(head) &&
	             host_is_clear(head);

	return clear ? ST_OK : ST_INVALID;
}

struct request_headers head_read(const struct head *head)
{
	struct request_headers out = {.host = NULL};
	const struct {
		const char *name;
		const char **to;
	} wanted[] = {
	        {"Accept-Encoding", &out.accept_encoding},
	        {"Authorization", &out.authorization},
	        {"Content-Type", &out.content_type},
	        {"Cookie", &out.cookie},
	        {"Host", &out.host},
	        {"If-None-Match", &out.if_none_match},
	        {"Origin", &out.origin},
	        {"Sec-Fetch-Site", &out.sec_fetch_site},
	        {"User-Agent", &out.user_agent},
	};

	for (size_t i = 0; i < head->count; i++) {
		const struct head_field *field = &head->fields[i];

		for (size_t j = 0; j < sizeof wanted / sizeof wanted[0]; j++)
			if (!*wanted[j].to && named(field, wanted[j].name))
				*wanted[j].to = field->value;
		/* A proxy adds its own line behind those that its caller sent. */
		if (named(field, "X-Forwarded-For"))
			out.forwarded_for = field->value;
	}
	return out;
}
