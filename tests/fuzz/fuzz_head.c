/* fuzz_head.c - heads of requests, from the first line on, and what is read of them.
 *
 * The bytes are taken apart into lines as libmicrohttpd does it. A head that passes
 * reads one way only, and every reader of a field copes with whatever is in it.
 */
#include "base/text.h"
#include "base/utf8.h"
#include "fuzz.h"
#include "web/http/head.h"

#define FIELDS_MOST 100

static char *cut(char *at, const char *end)
{
	char *stop = strstr(at, end);

	if (!stop)
		return at + strlen(at);
	*stop = '\0';
	return stop + strlen(end);
}

static bool read_lines(char *at, struct head *head, struct head_field *fields)
{
	char *line = at;

	at = cut(at, "\r\n");
	head->method = line;
	head->target = cut(line, " ");
	head->version = cut((char *)(uintptr_t)head->target, " ");
	head->fields = fields;
	for (head->count = 0; *at && head->count < FIELDS_MOST; head->count++) {
		char *name = at, *value;

		at = cut(at, "\r\n");
		if (!strchr(name, ':'))
			return false;
		value = cut(name, ":");
		value += strspn(value, " \t");
		fields[head->count] = (struct head_field){name, value, strlen(name), strlen(value)};
	}
	return true;
}

static size_t times(const struct head *head, const char *name)
{
	size_t count = 0;

	for (size_t i = 0; i < head->count; i++)
		count += strcasecmp(head->fields[i].name, name) == 0;
	return count;
}

static void check_clear(const struct head *head)
{
	must(times(head, "Content-Length") + times(head, "Transfer-Encoding") <= 1,
	     "one length at most");
	must(times(head, "Host") <= 1, "one host at most");
	must(strcmp(head->version, "HTTP/1.0") == 0 || times(head, "Host") == 1,
	     "a host, but for HTTP/1.0");
	for (size_t i = 0; i < head->count; i++) {
		must(!strpbrk(head->fields[i].value, "\r\n"), "no bare CR or LF in a value");
		must(!strpbrk(head->fields[i].name, " \t\r\n:"), "no blank in a name");
	}
	must(!strpbrk(head->target, " \t\r\n"), "no blank in a target");
}

static void read_target(struct arena *arena, const char *target)
{
	const char *mark = strchr(target, '?');
	const char *raw =
	        arena_copy(arena, target, mark ? (size_t)(mark - target) : strlen(target));
	const char *path = NULL;
	struct http_fields query = {NULL, 0};

	if (http_path(arena, raw, &path) == ST_OK) {
		must(path[0] == '/', "a path begins with /");
		must(utf8_check(path, strlen(path), NULL) == UTF8_FINE, "and is well formed");
		must(!strstr(path, "/../"), "and stays within");
	}
	if (mark && http_urlencoded(arena, mark + 1, strlen(mark + 1), &query) == ST_OK)
		must(query.count <= HTTP_FIELDS_MOST, "no more fields than are allowed");
}

static void read_values(struct arena *arena, const struct request_headers *headers)
{
	const char *origin = headers->origin ? headers->origin : "";
	const char *session = http_cookie(arena, headers->cookie, "session");

	must(!session || !strpbrk(session, "; "), "a cookie ends where the next begins");
	http_accepts_coding(headers->accept_encoding, "gzip");
	if (headers->if_none_match)
		http_lists_etag(headers->if_none_match, "\"a\"");
	must(!http_is_local_path(origin) || (origin[0] == '/' && origin[1] != '/'),
	     "a local path stays here");
	must(http_caller(arena, headers->forwarded_for ? headers->forwarded_for : "") != NULL,
	     "everybody is somebody");
}

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t len)
{
	static struct head_field fields[FIELDS_MOST];
	char *copy = fuzz_string(bytes, len);
	struct arena *arena = arena_new();
	struct head head = {.count = 0};

	must(arena != NULL, "there is memory");
	if (read_lines(copy, &head, fields)) {
		struct request_headers headers = head_read(&head);

		if (head_check(&head) == ST_OK)
			check_clear(&head);
		read_target(arena, head.target);
		read_values(arena, &headers);
	}
	arena_free(arena);
	free(copy);
	return 0;
}
