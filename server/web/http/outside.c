#include "web/http/outside.h"

#include <string.h>

#include "store/settings.h"

#define HOST_LONGEST 200

/* A name or number of a host, and a port; whatever else was sent is not handed on. */
static bool is_host(const char *text)
{
	static const char letters[] = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz"
	                              "0123456789.-:[]";

	return text && *text && strlen(text) <= HOST_LONGEST && text[strspn(text, letters)] == '\0';
}

enum status outside_address(struct context *c, const char **out)
{
	const char *host = c->request->headers.host;
	enum status status = setting_text(c->store, c->arena, SETTING_ADDRESS, out);

	if (status != ST_OK || (*out)[0])
		return status;
	*out = app_config(c->app)->base_url;
	if (*out && (*out)[0])
		return ST_OK;
	*out = arena_printf(c->arena, "http://%s", is_host(host) ? host : "localhost");
	return *out ? ST_OK : ST_NOMEM;
}

enum status outside_link(struct context *c, const char *place, const char *token, const char **out)
{
	const char *address = "";
	enum status status = outside_address(c, &address);

	if (status != ST_OK)
		return status;
	*out = arena_printf(c->arena, "%s/%s/%s", address, place, token);
	return *out ? ST_OK : ST_NOMEM;
}
