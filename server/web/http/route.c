/* route.c - the table of routes, compiled into a tree of segments.
 *
 * The children of a node stand in the order in which they are tried: literals,
 * ids, texts, rests. A path is matched from the left; a dead end goes back to
 * the next child that fits.
 */
#include "web/http/route.h"

#include <assert.h>
#include <string.h>

#include "base/mem.h"

enum segment_kind { SEGMENT_LITERAL, SEGMENT_ID, SEGMENT_TEXT, SEGMENT_REST };

struct segment {
	enum segment_kind kind;
	const char *at; /* literal, or name of the capture */
	size_t len;
};

struct node {
	struct segment segment;
	const char *name; /* of the capture, ended with NUL */
	struct node *child, *next;
	const struct route *get, *post;
};

struct router {
	struct arena *arena;
	struct node root;
};

static bool ends_with(const char *at, size_t len, const char *end)
{
	size_t n = strlen(end);

	return len > n && memcmp(at + len - n, end, n) == 0;
}

/* Reads one segment of a pattern; false for a faulty one. */
static bool read_segment(const char *at, size_t len, struct segment *out)
{
	*out = (struct segment){SEGMENT_LITERAL, at, len};
	if (len == 0)
		return false;
	if (at[0] != '{')
		return !memchr(at, '{', len) && !memchr(at, '}', len);
	if (at[len - 1] != '}' || len == 2)
		return false;
	*out = (struct segment){SEGMENT_ID, at + 1, len - 2};
	if (ends_with(out->at, out->len, ":text"))
		*out = (struct segment){SEGMENT_TEXT, at + 1, len - 2 - strlen(":text")};
	else if (ends_with(out->at, out->len, ":rest"))
		*out = (struct segment){SEGMENT_REST, at + 1, len - 2 - strlen(":rest")};
	return !memchr(out->at, ':', out->len);
}

static bool same_segment(const struct segment *a, const struct segment *b)
{
	return a->kind == b->kind && a->len == b->len && memcmp(a->at, b->at, a->len) == 0;
}

static struct node *child_for(struct arena *arena, struct node *parent,
                              const struct segment *segment)
{
	struct node **at = &parent->child;
	struct node *node;

	for (; *at && (*at)->segment.kind <= segment->kind; at = &(*at)->next)
		if (same_segment(&(*at)->segment, segment))
			return *at;
	node = ARENA_NEW(arena, struct node);
	if (!node)
		return NULL;
	*node = (struct node){.segment = *segment, .next = *at};
	node->name = arena_copy(arena, segment->at, segment->len);
	*at = node;
	return node->name ? node : NULL;
}

/* Walks down a pattern, making nodes where there are none. */
static enum status node_for(struct arena *arena, struct node *root, const char *pattern,
                            struct node **out)
{
	size_t captures = 0;
	const char *at = pattern;

	*out = root;
	if (at[0] != '/')
		return ST_INVALID;
	for (at++; *at; at += *at == '/') {
		size_t len = strcspn(at, "/");
		struct segment segment;

		if (!read_segment(at, len, &segment) || (*out)->segment.kind == SEGMENT_REST)
			return ST_INVALID;
		captures += segment.kind != SEGMENT_LITERAL;
		if (captures > CAPTURES_MOST)
			return ST_INVALID;
		*out = child_for(arena, *out, &segment);
		if (!*out)
			return ST_NOMEM;
		at += len;
		if (at[0] == '/' && at[1] == '\0')
			return ST_INVALID;
	}
	return ST_OK;
}

static enum status add_route(struct router *router, const struct route *route)
{
	struct node *node = NULL;
	const struct route **slot;
	enum status status = node_for(router->arena, &router->root, route->pattern, &node);

	if (status != ST_OK)
		return status;
	slot = route->method == HTTP_POST ? &node->post : &node->get;
	if (*slot || !route->handler)
		return ST_INVALID;
	if (route->method != HTTP_POST && (route->flags & (R_WRITES | R_UPLOADS)))
		return ST_INVALID;
	*slot = route;
	return ST_OK;
}

enum status router_new(const struct route *table, size_t count, struct router **out)
{
	struct router *router = mem_zero(sizeof *router);
	enum status status = ST_OK;

	if (!router)
		return ST_NOMEM;
	router->arena = arena_new();
	if (!router->arena)
		status = ST_NOMEM;
	for (size_t i = 0; i < count && status == ST_OK; i++)
		status = add_route(router, &table[i]);
	if (status != ST_OK) {
		router_free(router);
		return status;
	}
	*out = router;
	return ST_OK;
}

void router_free(struct router *router)
{
	if (!router)
		return;
	arena_free(router->arena);
	mem_free(router);
}

struct caught {
	const struct node *node;
	const char *at;
	size_t len;
};

struct search {
	struct caught caught[CAPTURES_MOST];
	size_t count;
};

/* A decimal id above 0 without leading zeros, of at most 18 digits; 0 for
 * anything else. */
static int64_t parse_id(const char *at, size_t len)
{
	int64_t id = 0;

	if (len == 0 || len > 18 || at[0] == '0')
		return 0;
	for (size_t i = 0; i < len; i++) {
		if (at[i] < '0' || at[i] > '9')
			return 0;
		id = id * 10 + (at[i] - '0');
	}
	return id;
}

static bool fits(const struct segment *segment, const char *at, size_t len)
{
	switch (segment->kind) {
	case SEGMENT_LITERAL:
		return segment->len == len && memcmp(segment->at, at, len) == 0;
	case SEGMENT_ID:
		return parse_id(at, len) > 0;
	case SEGMENT_TEXT:
	case SEGMENT_REST:
		break;
	}
	return len > 0;
}

/* at: the segments left, NULL when there is none. */
static const struct node *match(const struct node *parent, const char *at, struct search *search)
{
	size_t len = at ? strcspn(at, "/") : 0;
	const char *next = at && at[len] ? at + len + 1 : NULL;
	size_t depth = search->count;

	if (!at)
		return parent->get || parent->post ? parent : NULL;
	for (const struct node *child = parent->child; child; child = child->next) {
		bool rest = child->segment.kind == SEGMENT_REST;
		const struct node *found;

		if (!fits(&child->segment, at, len))
			continue;
		search->count = depth;
		if (child->segment.kind != SEGMENT_LITERAL)
			search->caught[search->count++] =
			        (struct caught){child, at, rest ? strlen(at) : len};
		found = match(child, rest ? NULL : next, search);
		if (found)
			return found;
	}
	return NULL;
}

static enum status copy_captures(struct arena *arena, const struct search *search,
                                 struct captures *out)
{
	struct captures captures = {.count = search->count};

	for (size_t i = 0; i < search->count; i++) {
		const struct caught *caught = &search->caught[i];
		struct capture *capture = &captures.at[i];

		capture->name = caught->node->name;
		capture->text = arena_copy(arena, caught->at, caught->len);
		if (!capture->text)
			return ST_NOMEM;
		if (caught->node->segment.kind == SEGMENT_ID)
			capture->id = parse_id(caught->at, caught->len);
	}
	*out = captures;
	return ST_OK;
}

enum status router_find(const struct router *router, struct arena *arena, enum http_method method,
                        const char *path, const struct route **out, struct captures *captures,
                        const char **allow)
{
	struct search search = {.count = 0};
	const struct node *node;
	const struct route *route = NULL;
	enum status status;

	assert(path[0] == '/');
	node = match(&router->root, path[1] ? path + 1 : NULL, &search);
	if (!node)
		return ST_MISSING;
	if (method == HTTP_POST)
		route = node->post;
	else if (method != HTTP_OTHER)
		route = node->get;
	if (!route) {
		*allow = !node->get ? "POST" : node->post ? "GET, HEAD, POST" : "GET, HEAD";
		return ST_DENIED;
	}
	status = copy_captures(arena, &search, captures);
	if (status == ST_OK)
		*out = route;
	return status;
}

size_t route_body_limit(const struct route *route)
{
	if (!route || route->method != HTTP_POST)
		return 0;
	if (route->flags & R_PICTURES)
		return BODY_PICTURES;
	return route->flags & R_UPLOADS ? BODY_UPLOADS : BODY_FORM;
}
