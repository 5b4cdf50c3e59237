/* code.c - a member's second factor: begun, proved by a code, ended.
 *
 * Each step asks for the password or a code, so that who finds a session open can
 * neither lock its member out nor take the protection off. The secret is shown
 * while it waits to be proved, and never again.
 */
#include <string.h>

#include "base/text.h"
#include "os/random.h"
#include "os/totp.h"
#include "store/second_factors.h"
#include "store/settings.h"
#include "web/account/account.h"
#include "web/account/credentials.h"
#include "web/html/present.h"
#include "web/html/qr.h"
#include "web/http/respond.h"

_Static_assert(TOTP_SECRET_SIZE == SECOND_SECRET_SIZE, "the same secret");

#define CODE_INPUT                                                                                 \
	{                                                                                          \
		"code", "Code", INPUT_LINE, .required = true, .longest = 40                        \
	}
const struct input code_begin_inputs[] = {PASSWORD_INPUT("password_now", "Password"), INPUTS_END};
const struct input code_inputs[] = {CODE_INPUT, INPUTS_END};
const struct input code_end_inputs[] = {PASSWORD_INPUT("password_now", "Password"), CODE_INPUT,
                                        INPUTS_END};

/* ---- the page ---- */

/* What authenticator programs read from a code: the account and the secret. */
static const char *otpauth(struct context *c, const char *secret)
{
	struct text uri = TEXT_EMPTY;
	const char *chapter = "";
	const char *copy = NULL;

	if (setting_text(c->store, c->arena, SETTING_CHAPTER, &chapter) != ST_OK)
		return NULL;
	text_add(&uri, "otpauth://totp/Fairlead:");
	http_escape(&uri, c->member->login);
	text_printf(&uri, "?secret=%s&issuer=", secret);
	http_escape(&uri, *chapter ? chapter : "Fairlead");
	if (!text_failed(&uri))
		copy = arena_string(c->arena, text_string(&uri));
	text_free(&uri);
	return copy;
}

/* In fours, to be typed. */
static const char *spaced(struct arena *arena, const char *secret)
{
	struct text text = TEXT_EMPTY;
	const char *copy = NULL;

	for (size_t i = 0; secret[i]; i++) {
		if (i && i % 4 == 0)
			text_add(&text, " ");
		text_add_bytes(&text, secret + i, 1);
	}
	if (!text_failed(&text))
		copy = arena_string(arena, text_string(&text));
	text_free(&text);
	return copy;
}

static json_t *waiting_view(struct context *c, const struct second_factor *factor)
{
	char secret[BASE32_SIZE(TOTP_SECRET_SIZE)];
	const char *link;
	const char *words;

	base32_print(factor->secret, sizeof factor->secret, secret);
	link = otpauth(c, secret);
	words = spaced(c->arena, secret);
	if (!link || !words)
		return NULL;
	return json_pack("{s:s, s:s, s:o}", "link", link, "secret", words, "qr", qr_view(link));
}

static enum status show(struct context *c, const struct form *form)
{
	struct second_factor factor = {.confirmed_at = 0};
	enum status status = second_read(c->store, c->member->id, &factor);
	bool none = status == ST_MISSING;
	bool on = !none && factor.confirmed_at;

	if (status != ST_OK && !none)
		return status;
	if (!form)
		form = form_blank(c->arena, on     ? code_end_inputs
		                            : none ? code_begin_inputs
		                                   : code_inputs);
	if (!form)
		return ST_NOMEM;
	return respond_page(c, "account_code.html", "A code at sign-in",
	                    json_pack("{s:b, s:b, s:o, s:o, s:I, s:b}", "none", none, "on", on,
	                              "waiting",
	                              none || on ? json_false() : waiting_view(c, &factor), "form",
	                              form_view(form), "codes_left", (json_int_t)factor.codes_left,
	                              "in_account", 1));
}

enum status page_code(struct context *c)
{
	return show(c, NULL);
}

/* ---- acts ---- */

static enum status begin(struct context *c)
{
	unsigned char secret[TOTP_SECRET_SIZE];
	enum status status;

	random_bytes(secret, sizeof secret);
	status = second_begin(c->store, c->member->id, secret, c->now);
	return status == ST_OK ? respond_redirect(c, "/account/code") : status;
}

enum status act_code_begin(struct context *c)
{
	struct second_factor factor;
	bool answered = false;
	enum status status = second_read(c->store, c->member->id, &factor);

	if (status == ST_OK && factor.confirmed_at)
		return respond_redirect(c, "/account/code");
	status = status == ST_MISSING ? ST_OK : status;
	if (status == ST_OK && form_ok(c->form))
		status = credentials_check_now(c, &answered);
	if (status != ST_OK || answered)
		return status;
	return form_ok(c->form) ? begin(c) : show(c, c->form);
}

struct recovery {
	char words[RECOVERY_CODES][16];
	struct hash hashes[RECOVERY_CODES];
};

/* Each of 50 random bits: ten letters and digits. */
static void make_recovery(struct recovery *out)
{
	for (size_t i = 0; i < RECOVERY_CODES; i++) {
		unsigned char bytes[7];
		char text[BASE32_SIZE(sizeof bytes)];

		random_bytes(bytes, sizeof bytes);
		base32_print(bytes, sizeof bytes, text);
		snprintf(out->words[i], sizeof out->words[i], "%.5s-%.5s", text, text + 5);
		out->hashes[i] = credentials_hash_code(out->words[i]);
	}
}

static enum status show_recovery(struct context *c, const struct recovery *recovery)
{
	json_t *codes = json_array();

	for (size_t i = 0; i < RECOVERY_CODES; i++)
		codes = present_append(codes, json_string(recovery->words[i]));
	return respond_page(c, "account_code_made.html", "Recovery codes",
	                    json_pack("{s:o, s:b}", "codes", codes, "in_account", 1));
}

enum status act_code_confirm(struct context *c)
{
	struct second_factor factor;
	struct recovery recovery;
	int64_t step = 0;
	enum status status = second_read(c->store, c->member->id, &factor);

	if (status == ST_MISSING || (status == ST_OK && factor.confirmed_at))
		return respond_redirect(c, "/account/code");
	if (status != ST_OK)
		return status;
	if (form_ok(c->form) &&
	    !totp_fits(factor.secret, form_text(c->form, "code"), c->now, &step))
		form_fail(c->form, "code",
		          "is not the one of now. Type the six digits that the program shows; if "
		          "that fails again, set the clock of your device");
	if (!form_ok(c->form))
		return show(c, c->form);
	make_recovery(&recovery);
	status = second_confirm(c->store, c->member->id, step, recovery.hashes, c->session->id,
	                        c->now);
	return status == ST_OK ? show_recovery(c, &recovery) : status;
}

/* Password and code; ST_LIMIT has been answered when *answered is true. */
static enum status check_both(struct context *c, bool *answered)
{
	int64_t wait = 0;
	enum status status = ST_OK;

	if (form_ok(c->form))
		status = credentials_check_now(c, answered);
	if (status != ST_OK || *answered || !form_ok(c->form))
		return status;
	status = credentials_try_code(c, c->member, form_text(c->form, "code"), &wait);
	*answered = status == ST_LIMIT;
	if (status == ST_LIMIT)
		return respond_wait(c, wait);
	if (status != ST_MISSING)
		return status;
	form_fail(c->form, "code", "is not right, or was used already");
	return ST_OK;
}

/* One that only waits is given up without more ado. */
enum status act_code_end(struct context *c)
{
	struct second_factor factor;
	bool answered = false;
	enum status status = second_read(c->store, c->member->id, &factor);

	if (status == ST_MISSING)
		return respond_redirect(c, "/account/code");
	if (status == ST_OK && factor.confirmed_at)
		status = check_both(c, &answered);
	if (status != ST_OK || answered)
		return status;
	if (factor.confirmed_at && !form_ok(c->form))
		return show(c, c->form);
	status = second_end(c->store, c->member->id);
	return status == ST_OK ? respond_redirect(c, "/account/code?said=code-off") : status;
}

enum status act_code_recovery(struct context *c)
{
	struct recovery recovery;
	bool answered = false;
	enum status status = check_both(c, &answered);

	if (status != ST_OK || answered)
		return status;
	if (!form_ok(c->form))
		return show(c, c->form);
	make_recovery(&recovery);
	status = second_codes_anew(c->store, c->member->id, recovery.hashes);
	return status == ST_OK ? show_recovery(c, &recovery) : status;
}
