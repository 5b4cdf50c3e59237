/* outbox.c - what an admin sees of the mail that goes out: numbers, and each
 * mail that has not gone out for certain, with what the server said. What is in
 * the mails is not shown.
 */
#include "store/mail.h"
#include "chapter/mail_round.h"
#include "web/admin/admin.h"
#include "web/account/mail.h"
#include "web/html/present.h"
#include "web/http/respond.h"

#define OUTBOX_ROWS 50

static const char *const kind_words[] = {
        [MAIL_QUESTION] = "the question whether an address is right",
        [MAIL_AT_ONCE] = "mandatory news",
        [MAIL_WEEKLY] = "weekly news",
};

static const char *const state_words[] = {
        [MAIL_WAITING] = "waiting",   [MAIL_IN_HAND] = "in hand", [MAIL_SENT] = "sent",
        [MAIL_GIVEN_UP] = "given up", [MAIL_UNSURE] = "unsure",
};

static json_t *mail_view(const struct outbox_mail *mail)
{
	bool waits = mail->state == MAIL_WAITING && mail->tries > 0;

	return json_pack("{s:I, s:s, s:s, s:s, s:s, s:o, s:o, s:I, s:b, s:b}", "id",
	                 (json_int_t)mail->id.v, "login", mail->login, "address", mail->address,
	                 "kind", kind_words[mail->kind], "state", state_words[mail->state], "made",
	                 present_time(mail->made_at), "fault", present_text(mail->fault), "tries",
	                 (json_int_t)mail->tries, "tried", waits, "given_up",
	                 mail->state == MAIL_GIVEN_UP);
}

static json_t *counts_view(const struct outbox_counts *counts)
{
	return json_pack("{s:I, s:I, s:I, s:I}", "waiting", (json_int_t)counts->waiting, "unsure",
	                 (json_int_t)counts->unsure, "given_up", (json_int_t)counts->given_up,
	                 "sent", (json_int_t)counts->sent);
}

static json_t *setup_view(const struct mail_setup *setup)
{
	if (!setup)
		return json_false();
	return json_pack("{s:s, s:s}", "server", setup->server->url, "from", setup->from);
}

enum status page_outbox(struct context *c)
{
	struct page page = list_page(c, OUTBOX_ROWS);
	const struct outbox_mail *mails = NULL;
	struct outbox_counts counts;
	size_t count = 0;
	int64_t total = 0;
	json_t *rows = json_array();
	enum status status = outbox_count(c->store, c->now, &counts);

	if (status == ST_OK)
		status = outbox_list(c->store, c->arena, page, &mails, &count, &total);
	for (size_t i = 0; i < count; i++)
		rows = present_append(rows, mail_view(&mails[i]));
	if (status != ST_OK) {
		json_decref(rows);
		return status;
	}
	return respond_page(
	        c, "admin_mail.html", "Mail that goes out",
	        json_pack("{s:o, s:o, s:o, s:o, s:b}", "setup",
	                  setup_view(app_config(c->app)->mail), "counts", counts_view(&counts),
	                  "mails", rows, "pager",
	                  present_pager("/admin/mail", &c->request->query, &page, total),
	                  "in_account", 1));
}

enum status act_outbox_again(struct context *c)
{
	enum status status =
	        outbox_again(c->store, (struct outbox_id){context_id(c, "mail")}, c->now);

	return status == ST_OK ? respond_redirect(c, "/admin/mail?said=mail-again") : status;
}
