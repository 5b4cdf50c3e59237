#include "web/http/seal.h"

#include "os/digest.h"

#define TAG_DIGITS 32

static void add(struct arena *arena, struct response *response, const char *name, const char *value)
{
	struct http_header *header = ARENA_NEW(arena, struct http_header);

	if (!header)
		return;
	*header = (struct http_header){name, value, response->headers};
	response->headers = header;
}

static const char *const cache_control[] = {
        [CACHE_NEVER] = "no-store",
        [CACHE_PRIVATE] = "private, no-cache",
        [CACHE_OWN] = "private, max-age=2592000, immutable",
        [CACHE_PUBLIC] = "public, max-age=60",
        [CACHE_FOREVER] = "public, max-age=31536000, immutable",
};

/* Nothing loads or goes to another site, nobody frames a page, no file is taken
 * for another type, no address leaks, nothing of the device is asked for. */
static const struct {
	const char *name, *value;
} always[] = {
        {"Content-Security-Policy",
         "default-src 'none'; style-src 'self'; script-src 'self'; img-src 'self' data:; "
         "connect-src 'self'; font-src 'self'; manifest-src 'self'; form-action 'self'; "
         "base-uri 'none'; frame-ancestors 'none'"},
        {"X-Content-Type-Options", "nosniff"},
        {"Referrer-Policy", "same-origin"},
        {"Permissions-Policy", "camera=(), geolocation=(), microphone=(), payment=(), usb=()"},
        {"Cross-Origin-Opener-Policy", "same-origin"},
        {"Cross-Origin-Resource-Policy", "same-origin"},
};

const char *seal_etag(struct arena *arena, const char *body, size_t len)
{
	struct digest digest = digest_of(body, len);
	char hex[DIGEST_HEX_SIZE];

	digest_hex(&digest, hex);
	return arena_printf(arena, "\"%.*s\"", TAG_DIGITS, hex);
}

static void validate(struct arena *arena, const struct request *request, struct response *response)
{
	const char *wanted = request->headers.if_none_match;
	const char *etag = response->etag;

	if (!etag)
		etag = seal_etag(arena, response->body, response->len);
	if (!etag)
		return;
	add(arena, response, "ETag", etag);
	if (wanted && http_lists_etag(wanted, etag)) {
		response->status = 304;
		response->body = "";
		response->len = 0;
	}
}

void seal_response(struct arena *arena, const struct request *request, bool secure,
                   struct response *response)
{
	bool read = request->method == HTTP_GET || request->method == HTTP_HEAD;

	if (response->status == 200 && response->cache != CACHE_NEVER && read)
		validate(arena, request, response);
	add(arena, response, "Cache-Control", cache_control[response->cache]);
	if (response->cache == CACHE_PRIVATE || response->cache == CACHE_PUBLIC)
		add(arena, response, "Vary", "Cookie, Authorization");
	if (response->type && response->status != 304)
		add(arena, response, "Content-Type", response->type);
	for (size_t i = 0; i < sizeof always / sizeof always[0]; i++)
		add(arena, response, always[i].name, always[i].value);
	if (secure)
		add(arena, response, "Strict-Transport-Security", "max-age=31536000");
}
