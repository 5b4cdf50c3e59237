#include "os/mail.h"

#include <arpa/inet.h>
#include <assert.h>
#include <ctype.h>
#include <curl/curl.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

#define SECONDS_USUAL 120
#define CONNECT_SECONDS 30
#define HOST_SIZE 256
#define LOCAL_LONGEST 64
#define LABEL_LONGEST 63
#define DOMAIN_LONGEST 253

/* With CURLOPT_NOSIGNAL, which threads need, libcurl leaves SIGPIPE alone: a server
 * that hangs up in the midst of TLS would end the program. */
enum status mail_start(void)
{
	signal(SIGPIPE, SIG_IGN);
	return curl_global_init(CURL_GLOBAL_DEFAULT) == CURLE_OK ? ST_OK : ST_IO;
}

/* ---- addresses ---- */

#define LETTERS "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ"
#define DIGITS "0123456789"

/* Words of these characters with a dot between each two: where it ends, NULL
 * when it is none. Counts the dots. */
static const char *dotted(const char *at, const char *letters, size_t longest, size_t *dots)
{
	for (;;) {
		size_t len = strspn(at, letters);

		if (len == 0 || len > longest)
			return NULL;
		at += len;
		if (*at != '.')
			return at;
		at++;
		++*dots;
	}
}

/* No label begins or ends with a hyphen. */
static bool hyphens_inside(const char *domain)
{
	for (const char *at = strchr(domain, '-'); at; at = strchr(at + 1, '-'))
		if (at == domain || at[-1] == '.' || at[1] == '.' || at[1] == '\0')
			return false;
	return true;
}

static bool is_domain(const char *domain)
{
	size_t dots = 0;
	const char *end = dotted(domain, LETTERS DIGITS "-", LABEL_LONGEST, &dots);
	const char *last;

	if (!end || *end || dots == 0 || strlen(domain) > DOMAIN_LONGEST)
		return false;
	last = strrchr(domain, '.') + 1;
	return hyphens_inside(domain) && last[strspn(last, DIGITS)] != '\0';
}

bool mail_address_ok(const char *address)
{
	size_t dots = 0;
	const char *at =
	        dotted(address, LETTERS DIGITS "!#$%&'*+-/=?^_`{|}~", LOCAL_LONGEST, &dots);

	return at && *at == '@' && at - address <= LOCAL_LONGEST && is_domain(at + 1) &&
	       strlen(address) <= MAIL_ADDRESS_LONGEST;
}

/* ---- the server ---- */

static bool is_secure(const struct mail_server *server)
{
	return strncmp(server->url, "smtps://", 8) == 0;
}

/* Copies the host out of the url, and finds what follows it; NULL for neither
 * a name, an IPv4 address nor a bracketed IPv6 one. */
static const char *split_host(const char *url, char host[HOST_SIZE])
{
	const char *at = strstr(url, "://");
	size_t skip, len;

	if (!at)
		return NULL;
	at += 3;
	skip = *at == '[' ? 1 : 0;
	len = strspn(at + skip, skip ? "0123456789abcdefABCDEF:." : LETTERS DIGITS ".-");
	if (len == 0 || len >= HOST_SIZE || (skip && at[1 + len] != ']'))
		return NULL;
	memcpy(host, at + skip, len);
	host[len] = '\0';
	return at + len + 2 * skip;
}

static bool is_this_machine(const char *host)
{
	struct in6_addr six;
	struct in_addr four;

	if (inet_pton(AF_INET, host, &four) == 1)
		return ntohl(four.s_addr) >> 24 == 127;
	if (inet_pton(AF_INET6, host, &six) == 1)
		return IN6_IS_ADDR_LOOPBACK(&six);
	return strcasecmp(host, "localhost") == 0;
}

/* ":25" or nothing */
static bool is_port(const char *rest)
{
	size_t len = strspn(rest + (*rest == ':'), DIGITS);
	long port;

	if (*rest == '\0')
		return true;
	port = strtol(rest + 1, NULL, 10);
	return *rest == ':' && rest[1 + len] == '\0' && len <= 5 && port > 0 && port <= 65535;
}

/* Does the message go there in the open? */
static bool goes_plain(const struct mail_server *server, const char *host)
{
	return !is_secure(server) && (server->plain || is_this_machine(host));
}

const char *mail_server_fault(const struct mail_server *server)
{
	char host[HOST_SIZE];
	const char *rest;

	if (!is_secure(server) && strncmp(server->url, "smtp://", 7) != 0)
		return "must begin with smtp:// or smtps://";
	rest = split_host(server->url, host);
	if (!rest)
		return "has no name or address of a host";
	if (!is_port(rest))
		return "must end with the host or its port, and hold neither user nor path";
	if (server->user && goes_plain(server, host) && !is_this_machine(host))
		return "would be sent the password in the open: leave out --mail-plain";
	return NULL;
}

/* ---- one message ---- */

struct exchange {
	const struct mail_letter *letter;
	mail_end_fn *end;
	void *context;
	size_t sent; /* bytes given to libcurl: with the last one the server may have all */
	char last;   /* first letter of the last command */
	bool quit;   /* libcurl has said QUIT: what comes now says nothing of the mail */
	int code;    /* of the last answer */
	int verdict; /* of the first answer after the whole message; 0: none came */
	char said[MAIL_FAULT_SIZE];
};

static bool all_sent(const struct exchange *x)
{
	return x->sent == x->letter->len;
}

static size_t give_bytes(char *out, size_t size, size_t count, void *context)
{
	struct exchange *x = context;
	size_t len = x->letter->len - x->sent;

	if (len > size * count)
		len = size * count;
	memcpy(out, x->letter->message + x->sent, len);
	x->sent += len;
	return len;
}

/* Printable ASCII only: it is kept, shown and logged. */
static void copy_line(char out[MAIL_FAULT_SIZE], const char *at, size_t len)
{
	size_t kept = 0;

	for (size_t i = 0; i < len && kept < MAIL_FAULT_SIZE - 1; i++)
		if (at[i] != '\r' && at[i] != '\n')
			out[kept++] = at[i] >= 0x20 && at[i] < 0x7F ? at[i] : '?';
	out[kept] = '\0';
}

static void note_answer(struct exchange *x, const char *line, size_t len)
{
	if (len < 3 || !isdigit((unsigned char)line[0]) || !isdigit((unsigned char)line[1]) ||
	    !isdigit((unsigned char)line[2]))
		return;
	if (len > 3 && line[3] == '-')
		return; /* more lines follow */
	x->code = (line[0] - '0') * 100 + (line[1] - '0') * 10 + (line[2] - '0');
	copy_line(x->said, line, len);
	if (all_sent(x) && x->verdict == 0)
		x->verdict = x->code;
}

/* libcurl's own account of the talk; the only place that names the commands. */
static int overhear(CURL *curl, curl_infotype type, char *at, size_t len, void *context)
{
	struct exchange *x = context;

	(void)curl;
	if (x->quit || len == 0)
		return 0;
	if (type == CURLINFO_HEADER_OUT && at[0] == 'Q')
		x->quit = true;
	else if (type == CURLINFO_HEADER_OUT)
		x->last = at[0];
	else if (type == CURLINFO_HEADER_IN)
		note_answer(x, at, len);
	return 0;
}

static int look_up(void *context, curl_off_t a, curl_off_t b, curl_off_t c, curl_off_t d)
{
	const struct exchange *x = context;

	(void)a, (void)b, (void)c, (void)d;
	return x->end && !all_sent(x) && x->end(x->context);
}

/* "R" is RCPT and "D" is DATA: what they are refused is this mail. A 5yz before
 * (MAIL, sign-in, greeting) is about the box and may be mended. */
static enum mail_outcome judge(const struct exchange *x, CURLcode result)
{
	if (result == CURLE_OK || x->verdict / 100 == 2)
		return MAIL_ACCEPTED;
	if (all_sent(x)) {
		if (x->verdict == 0)
			return MAIL_UNSURE_SENT;
		return x->verdict / 100 == 5 ? MAIL_REFUSED : MAIL_LATER;
	}
	return x->code / 100 == 5 && (x->last == 'R' || x->last == 'D') ? MAIL_REFUSED : MAIL_LATER;
}

static void set_connection(CURL *curl, const struct mail_server *server)
{
	char host[HOST_SIZE] = "";
	long seconds = server->seconds ? (long)server->seconds : SECONDS_USUAL;

	split_host(server->url, host);
	curl_easy_setopt(curl, CURLOPT_URL, server->url);
	curl_easy_setopt(curl, CURLOPT_PROTOCOLS_STR, "smtp,smtps");
	curl_easy_setopt(curl, CURLOPT_USE_SSL,
	                 (long)(goes_plain(server, host) ? CURLUSESSL_NONE : CURLUSESSL_ALL));
	curl_easy_setopt(curl, CURLOPT_SSLVERSION, (long)CURL_SSLVERSION_TLSv1_2);
	curl_easy_setopt(curl, CURLOPT_PROXY, "");
	curl_easy_setopt(curl, CURLOPT_NOSIGNAL, 1L);
	curl_easy_setopt(curl, CURLOPT_CONNECTTIMEOUT, (long)CONNECT_SECONDS);
	curl_easy_setopt(curl, CURLOPT_TIMEOUT, seconds);
	if (!server->user)
		return;
	curl_easy_setopt(curl, CURLOPT_USERNAME, server->user);
	curl_easy_setopt(curl, CURLOPT_PASSWORD, server->password);
}

static void set_message(CURL *curl, struct exchange *x, struct curl_slist *to)
{
	curl_easy_setopt(curl, CURLOPT_MAIL_FROM, x->letter->from);
	curl_easy_setopt(curl, CURLOPT_MAIL_RCPT, to);
	curl_easy_setopt(curl, CURLOPT_UPLOAD, 1L);
	curl_easy_setopt(curl, CURLOPT_INFILESIZE_LARGE, (curl_off_t)x->letter->len);
	curl_easy_setopt(curl, CURLOPT_READFUNCTION, give_bytes);
	curl_easy_setopt(curl, CURLOPT_READDATA, x);
	curl_easy_setopt(curl, CURLOPT_VERBOSE, 1L);
	curl_easy_setopt(curl, CURLOPT_DEBUGFUNCTION, overhear);
	curl_easy_setopt(curl, CURLOPT_DEBUGDATA, x);
	curl_easy_setopt(curl, CURLOPT_NOPROGRESS, 0L);
	curl_easy_setopt(curl, CURLOPT_XFERINFOFUNCTION, look_up);
	curl_easy_setopt(curl, CURLOPT_XFERINFODATA, x);
}

static enum mail_outcome perform(CURL *curl, struct exchange *x, char fault[MAIL_FAULT_SIZE])
{
	char told[CURL_ERROR_SIZE] = "";
	const char *words;
	enum mail_outcome outcome;
	CURLcode result;

	curl_easy_setopt(curl, CURLOPT_ERRORBUFFER, told);
	result = curl_easy_perform(curl);
	outcome = judge(x, result);
	if (outcome == MAIL_ACCEPTED)
		return outcome;
	words = told[0] ? told : curl_easy_strerror(result);
	if (outcome != MAIL_UNSURE_SENT && x->code >= 400)
		words = x->said;
	copy_line(fault, words, strlen(words));
	return outcome;
}

enum mail_outcome mail_hand_over(const struct mail_server *server, const struct mail_letter *letter,
                                 mail_end_fn *end, void *context, char fault[MAIL_FAULT_SIZE])
{
	struct exchange x = {.letter = letter, .end = end, .context = context};
	enum mail_outcome outcome = MAIL_LATER;
	CURL *curl = curl_easy_init();
	struct curl_slist *to = curl_slist_append(NULL, letter->to);

	assert(letter->len > 0 && letter->len <= MAIL_LONGEST);
	snprintf(fault, MAIL_FAULT_SIZE, "out of memory");
	if (curl && to) {
		set_connection(curl, server);
		set_message(curl, &x, to);
		outcome = perform(curl, &x, fault);
	}
	curl_slist_free_all(to);
	curl_easy_cleanup(curl);
	return outcome;
}
