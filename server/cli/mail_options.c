#include "cli/mail_options.h"

#include <errno.h>
#include <fcntl.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#define SECRET_VARIABLE "FAIRLEAD_MAIL_SECRET"

static bool refuse(const char *why)
{
	command_failed("%s", why);
	return false;
}

/* ---- the secret ---- */

/* Nobody but its owner and group may read it, nobody but its owner write. */
static bool is_closed(int file)
{
	struct stat about;

	return fstat(file, &about) == 0 && S_ISREG(about.st_mode) &&
	       (about.st_mode & (S_IRWXO | S_IWGRP | S_IXGRP)) == 0;
}

static bool read_file(const char *path, char out[MAIL_SECRET_SIZE])
{
	int file = open(path, O_RDONLY | O_CLOEXEC | O_NOCTTY | O_NONBLOCK);
	ssize_t len = -1;
	bool closed = false;

	if (file < 0) {
		command_failed("cannot read %s: %s", path, strerror(errno));
		return false;
	}
	closed = is_closed(file);
	if (closed)
		len = read(file, out, MAIL_SECRET_SIZE - 1);
	close(file);
	if (!closed)
		command_failed("%s must be a file that others cannot read: chmod 600 %s", path,
		               path);
	else if (len < 0 || len == MAIL_SECRET_SIZE - 1)
		command_failed("%s must hold one line, USER:PASSWORD", path);
	if (len < 0 || len == MAIL_SECRET_SIZE - 1)
		return false;
	out[len] = '\0';
	return true;
}

static bool read_variable(const char *text, char out[MAIL_SECRET_SIZE])
{
	if (strlen(text) >= MAIL_SECRET_SIZE)
		return refuse("the value of " SECRET_VARIABLE " is too long");
	strcpy(out, text);
	return true;
}

/* "user:password" with at most a line end behind it. */
static bool split_secret(struct mail_options *out)
{
	char *colon;

	out->secret[strcspn(out->secret, "\r\n")] = '\0';
	colon = strchr(out->secret, ':');
	if (!colon || colon == out->secret || colon[1] == '\0')
		return refuse("the secret for the mail server must be USER:PASSWORD");
	*colon = '\0';
	out->server.user = out->secret;
	out->server.password = colon + 1;
	return true;
}

static bool read_secret(const struct command_args *args, struct mail_options *out)
{
	const char *variable = getenv(SECRET_VARIABLE);

	if (!args->mail_secret && !variable)
		return true;
	if (args->mail_secret ? !read_file(args->mail_secret, out->secret)
	                      : !read_variable(variable, out->secret))
		return false;
	return split_secret(out);
}

/* ---- all together ---- */

/* Links add their path to it, in a field of a mail too. */
static bool is_site(const char *url)
{
	bool http = strncmp(url, "http://", 7) == 0 || strncmp(url, "https://", 8) == 0;

	for (const char *at = url; *at; at++)
		if (*at <= ' ' || *at > '~' || *at == '<' || *at == '>')
			return false;
	return http && url[strlen(url) - 1] != '/';
}

static bool check(const struct command_args *args, const struct mail_options *out)
{
	const char *fault = mail_server_fault(&out->server);

	if (fault) {
		command_failed("the server of --mail %s", fault);
		return false;
	}
	if (!args->mail_from || !mail_address_ok(args->mail_from))
		return refuse("--mail needs --mail-from ADDRESS, as in fairlead@example.org");
	if (!args->url || !is_site(args->url))
		return refuse("--mail needs --url https://..., without a slash at the end: the "
		              "links in mails lead there");
	return true;
}

bool mail_options_read(const struct command_args *args, struct mail_options *out)
{
	*out = (struct mail_options){.on = false};
	if (!args->mail)
		return (!args->mail_from && !args->mail_secret && !args->mail_plain) ||
		       refuse("--mail-from, --mail-secret and --mail-plain go with --mail");
	out->server.url = args->mail;
	out->server.plain = args->mail_plain;
	if (!read_secret(args, out) || !check(args, out))
		return false;
	if (mail_start() != ST_OK)
		return refuse("libcurl does not start");
	out->setup = (struct mail_setup){.server = &out->server, .from = args->mail_from};
	out->on = true;
	return true;
}
