#include "chapter/mail_round.h"

#include <ctype.h>

#include "os/log.h"
#include "os/token.h"
#include "store/mail.h"
#include "store/settings.h"
#include "chapter/chapter.h"
#include "chapter/rounds.h"
#include "formats/mail_text.h"
#include "chapter/mail_words.h"

enum status mail_round_begin(struct chapter *chapter)
{
	struct work work = work_at(chapter, NULL);
	enum status status;

	work_connect(&work);
	status = outbox_recover(work.store, work.now);
	work_disconnect(&work);
	return status;
}

/* Links go where an admin says that members reach this box, else where its start
 * said so. */
static enum status read_sender(const struct work *work, struct mail_sender *out)
{
	enum status status = setting_text(work->store, work->arena, SETTING_ADDRESS, &out->address);

	if (status == ST_OK)
		status = setting_text(work->store, work->arena, SETTING_CHAPTER, &out->chapter);
	if (status == ST_OK && !out->address[0])
		out->address = work->chapter->config.base_url;
	return status;
}

/* ---- writing ---- */

/* Without what its reader has seen on the page; keeps the order. */
static size_t drop_seen(struct arena *arena, const struct news *list, size_t count,
                        const struct news **out)
{
	struct news *kept = ARENA_ARRAY(arena, struct news, count);
	size_t n = 0;

	for (size_t i = 0; kept && i < count; i++)
		if (!list[i].seen)
			kept[n++] = list[i];
	*out = kept;
	return n;
}

static enum status add_mail(const struct work *work, struct outbox_entry *entry,
                            const struct news *news, size_t count, bool more)
{
	struct mail_sender sender = {.address = ""};
	enum status status = read_sender(work, &sender);

	if (status == ST_OK)
		status = mail_digest(work->arena, &sender, news, count, more, &entry->words);
	return status == ST_OK ? outbox_add(work->store, entry, work->now) : status;
}

/* One member's turn. What was seen already is marked without a mail. */
static enum status write_one(const struct work *work, const struct mail_due *due)
{
	struct outbox_entry entry = {.member = due->member,
	                             .address = due->address,
	                             .kind = due->weekly ? MAIL_WEEKLY : MAIL_AT_ONCE};
	const struct news *list = NULL, *unseen = NULL;
	size_t count = 0, left;
	enum status status = news_to_mail(work->store, work->arena, due->member, !due->weekly,
	                                  MAIL_NEWS_MOST, &list, &count);

	if (status != ST_OK || count == 0)
		return status;
	left = drop_seen(work->arena, list, count, &unseen);
	if (arena_failed(work->arena))
		return ST_NOMEM;
	entry.upto = list[count - 1].id;
	if (left == 0)
		return news_set_mailed(work->store, due->member, !due->weekly, entry.upto);
	if (count == MAIL_NEWS_MOST)
		entry.upto = INT64_MAX; /* the mail says that there are more */
	return add_mail(work, &entry, unseen, left, count == MAIL_NEWS_MOST);
}

enum status mail_round_write(const struct work *work, int64_t *place)
{
	struct member_id after = {*place};
	struct mail_due due;
	enum status status = ST_MISSING;

	*place = 0;
	if (work->chapter->config.mail)
		status = mail_due_next(work->store, work->arena, after, work->now, &due);
	if (status != ST_OK)
		return status == ST_MISSING ? ST_OK : status;
	*place = due.member.v;
	status = store_begin(work->store);
	if (status == ST_OK)
		status = write_one(work, &due);
	if (status == ST_OK)
		return store_commit(work->store);
	store_rollback(work->store);
	return status;
}

/* ---- sending ---- */

static const char *sender_name(const struct work *work, const struct mail_sender *sender)
{
	return sender->chapter[0] ? arena_printf(work->arena, "Fairlead, %s", sender->chapter)
	                          : "Fairlead";
}

/* The message as it goes over the wire. */
static enum status compose(const struct work *work, const struct outbox_mail *mail,
                           const char *token, struct text *out)
{
	struct mail_sender sender = {.address = ""};
	struct mail_message message = {.from = work->chapter->config.mail->from,
	                               .to = mail->address,
	                               .subject = mail->subject,
	                               .id = mail->id.v,
	                               .made_at = mail->made_at,
	                               .now = work->now};
	struct text body = TEXT_EMPTY;
	enum status status = read_sender(work, &sender);

	if (status != ST_OK)
		return status;
	message.from_name = sender_name(work, &sender);
	if (mail->kind != MAIL_QUESTION)
		message.stop_url =
		        arena_printf(work->arena, "%s/mail/stop/%s", sender.address, token);
	mail_finish(&body, &sender, mail, token);
	message.body = text_string(&body);
	if (!arena_failed(work->arena) && !text_failed(&body))
		mail_text(out, &message);
	status = arena_failed(work->arena) || text_failed(&body) || text_failed(out) ? ST_NOMEM
	                                                                             : ST_OK;
	text_free(&body);
	return status;
}

static bool end_early(void *context)
{
	return rounds_end(context);
}

static enum mail_outcome go_the_way(const struct work *work, const char *to,
                                    const struct text *text, char fault[MAIL_FAULT_SIZE])
{
	const struct mail_setup *setup = work->chapter->config.mail;
	const struct mail_letter letter = {
	        .from = setup->from, .to = to, .message = text_string(text), .len = text->len};

	if (setup->way)
		return setup->way(setup->context, &letter, fault);
	return mail_hand_over(setup->server, &letter, end_early, work->chapter->rounds, fault);
}

static const struct {
	enum mail_state state;
	const char *words; /* for the log, which names nobody */
} ends[] = {
        [MAIL_ACCEPTED] = {MAIL_SENT, NULL},
        [MAIL_REFUSED] = {MAIL_GIVEN_UP, "a mail was refused for good"},
        [MAIL_LATER] = {MAIL_WAITING, "a mail was not taken; it is tried again later"},
        [MAIL_UNSURE_SENT] = {MAIL_UNSURE, "nobody knows whether a mail was taken"},
};

/* What is in hand goes out, or back. A member who left meanwhile took it along. */
static enum status send_one(const struct work *work, const struct outbox_mail *mail,
                            const char *token, bool *go_on)
{
	char fault[MAIL_FAULT_SIZE] = "out of memory";
	enum mail_outcome outcome = MAIL_LATER;
	struct text text = TEXT_EMPTY;
	enum status status = compose(work, mail, token, &text);

	if (status == ST_OK)
		outcome = go_the_way(work, mail->address, &text, fault);
	text_free(&text);
	if (outcome == MAIL_ACCEPTED)
		fault[0] = '\0';
	else
		log_line(LOG_LEVEL_WARNING, "%s; /admin/mail says why", ends[outcome].words);
	/* A server that does not answer at all would keep the next one waiting too. */
	*go_on = outcome != MAIL_LATER || isdigit((unsigned char)fault[0]);
	status = outbox_end(work->store, mail->id, ends[outcome].state, fault, work->now);
	return status == ST_MISSING ? ST_OK : status;
}

enum status mail_round_send(const struct work *work, int64_t *place)
{
	char token[TOKEN_SIZE];
	struct outbox_mail mail;
	bool go_on = false;
	struct hash hash;
	enum status status;

	*place = 0;
	if (!work->chapter->config.mail)
		return ST_OK;
	token_make(token);
	hash = hash_of(token, TOKEN_LENGTH);
	status = outbox_take(work->store, work->arena, &hash, work->now, &mail);
	if (status != ST_OK) /* none is due, or enough have gone out for now */
		return status == ST_MISSING || status == ST_LIMIT ? ST_OK : status;
	status = send_one(work, &mail, token, &go_on);
	*place = go_on;
	return status;
}
