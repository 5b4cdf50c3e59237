/* mail.c - where a member wants mail, and which; the links in mails.
 *
 * No password is asked for: an address opens no door (a forgotten password is
 * set anew by a link that an admin hands over), and what goes there is what the
 * session shows anyway. But an address is used only once its owner confirms it.
 */
#include "web/account/mail.h"

#include "os/mail.h"
#include "store/mail.h"
#include "chapter/mail_words.h"
#include "web/html/present.h"
#include "web/http/respond.h"

const struct input mail_inputs[] = {
        {"address", "Address", INPUT_LINE, .required = true, .longest = MAIL_ADDRESS_LONGEST},
        INPUTS_END};

const struct input mail_choice_inputs[] = {
        {"at_once", "Mandatory notices that concern or may concern my kits: at once", INPUT_FLAG},
        {"weekly", "All my news: at most once a week", INPUT_FLAG},
        INPUTS_END};

/* RFC 8058 section 3.1: the one field of a one-click POST. */
const struct input mail_stop_inputs[] = {{"List-Unsubscribe", "Stop", INPUT_LINE, .longest = 20},
                                         INPUTS_END};

/* ---- the account's page ---- */

static json_t *choices_view(struct context *c, const struct mail_address *address)
{
	struct form *form = form_blank(c->arena, mail_choice_inputs);

	if (!form)
		return NULL;
	form_set_flag(form, "at_once", address->at_once);
	form_set_flag(form, "weekly", address->weekly);
	return form_view(form);
}

static json_t *address_view(struct context *c, const struct mail_address *address)
{
	bool confirmed = address->confirmed_at != 0;

	return json_pack("{s:s, s:o, s:o}", "at", address->address, "confirmed",
	                 confirmed ? present_time(address->confirmed_at) : json_false(), "choices",
	                 choices_view(c, address));
}

static enum status show_mail(struct context *c, const struct form *form)
{
	struct mail_address address = {.address = ""};
	enum status status = mail_address_read(c->store, c->arena, c->member->id, &address);
	bool any = status == ST_OK;

	if (status != ST_OK && status != ST_MISSING)
		return status;
	return respond_page(c, "account_mail.html", "Mail",
	                    json_pack("{s:b, s:o, s:o, s:b}", "on",
	                              app_config(c->app)->mail != NULL, "has",
	                              any ? address_view(c, &address) : json_false(), "form",
	                              form_view(form), "in_account", 1));
}

enum status page_mail(struct context *c)
{
	struct form *form = form_blank(c->arena, mail_inputs);

	return form ? show_mail(c, form) : ST_NOMEM;
}

static void check_address(struct context *c)
{
	const char *address = form_text(c->form, "address");

	if (form_given(c->form, "address") && !mail_address_ok(address))
		form_fail(c->form, "address",
		          "is not one that this box can write to: a name, @ and a domain, as in "
		          "ann@example.org, in plain letters and digits");
	else if (!app_config(c->app)->mail)
		form_fail(c->form, "", "This box sends no mail. An admin has to set it up first.");
}

static enum status ask(struct context *c)
{
	struct mail_words question;
	enum status status = mail_question(c->store, c->arena, c->member->login, &question);

	if (status == ST_OK)
		status = mail_address_set(c->store, c->member->id, form_text(c->form, "address"),
		                          &question, c->now);
	status = form_bound(c->form, c->store, status);
	if (status != ST_OK)
		return status;
	if (!form_ok(c->form))
		return show_mail(c, c->form);
	return respond_redirect(c, "/account/mail?said=mail-asked");
}

enum status act_mail(struct context *c)
{
	check_address(c);
	return form_ok(c->form) ? ask(c) : show_mail(c, c->form);
}

enum status act_mail_choices(struct context *c)
{
	enum status status =
	        mail_set_choices(c->store, c->member->id, form_flag(c->form, "at_once"),
	                         form_flag(c->form, "weekly"));

	return status == ST_OK ? respond_redirect(c, "/account/mail?said=saved") : status;
}

/* Removed already is as good. */
enum status act_mail_remove(struct context *c)
{
	enum status status = mail_address_remove(c->store, c->member->id);

	return status == ST_OK || status == ST_MISSING
	               ? respond_redirect(c, "/account/mail?said=mail-removed")
	               : status;
}

/* ---- links in mails ---- */

static bool read_token(const struct context *c, struct hash *out)
{
	const char *token = context_capture(c, "token");

	if (!token_well_formed(token))
		return false;
	*out = hash_of(token, TOKEN_LENGTH);
	return true;
}

static enum status refuse_link(struct context *c, enum status found)
{
	if (found != ST_MISSING)
		return found;
	return respond_error(
	        c, 404,
	        "This link does not work. It has been used, has run out, belongs to an "
	        "address that was changed since, or is not complete.");
}

enum status page_mail_confirm(struct context *c)
{
	struct member_id member;
	const char *address = "";
	struct hash token;
	enum status status = ST_MISSING;

	if (read_token(c, &token))
		status = mail_confirm_find(c->store, c->arena, &token, c->now, &member, &address);
	if (status != ST_OK)
		return refuse_link(c, status);
	return respond_page(c, "mail_confirm.html", "Is this your address?",
	                    json_pack("{s:s}", "address", address));
}

enum status act_mail_confirm(struct context *c)
{
	struct hash token;
	enum status status = ST_MISSING;

	if (read_token(c, &token))
		status = mail_confirm(c->store, &token, c->now);
	if (status != ST_OK)
		return refuse_link(c, status);
	return respond_redirect(c, "%s?said=mail-confirmed",
	                        c->member ? "/account/mail" : "/notices");
}

static enum status show_stop(struct context *c, bool stopped)
{
	const char *address = "";
	struct hash token;
	enum status status = ST_MISSING;

	if (read_token(c, &token))
		status = mail_stop_find(c->store, c->arena, &token, &address);
	if (status == ST_OK && stopped)
		status = mail_stop(c->store, &token);
	if (status != ST_OK)
		return refuse_link(c, status);
	return respond_page(c, "mail_stop.html", stopped ? "No more mail" : "Stop the mail?",
	                    json_pack("{s:s, s:b}", "address", address, "stopped", stopped));
}

enum status page_mail_stop(struct context *c)
{
	return show_stop(c, false);
}

/* Answered without a redirect, which RFC 8058 section 3.1 does not want. */
enum status act_mail_stop(struct context *c)
{
	return show_stop(c, true);
}
