#include "chapter/mail_words.h"

#include <string.h>

#include "base/utf8.h"
#include "store/settings.h"

#define WORDS_MOST 400  /* bytes of the reason; the page has all of it */
#define TITLE_MOST 200  /* bytes of a title */
#define SUBJECT_MOST 90 /* bytes of a name in a subject */

/* Whole characters of at most so many bytes, with " ..." where some were left out. */
static void add_some(struct text *out, const char *words, size_t most)
{
	size_t len = strlen(words);
	size_t kept = len < most ? len : most;

	while (kept > 0 && kept < len && ((unsigned char)words[kept] & 0xC0) == 0x80)
		kept--;
	text_add_bytes(out, words, kept);
	if (kept < len)
		text_add(out, " ...");
}

/* The texts, moved into the arena. */
static enum status keep(struct arena *arena, struct text *subject, struct text *body,
                        struct mail_words *out)
{
	bool failed = text_failed(subject) || text_failed(body);

	if (!failed) {
		out->subject = arena_string(arena, text_string(subject));
		out->body = arena_string(arena, text_string(body));
		failed = !out->subject || !out->body;
	}
	text_free(subject);
	text_free(body);
	return failed ? ST_NOMEM : ST_OK;
}

/* ---- the question ---- */

enum status mail_question(struct store *store, struct arena *arena, const char *login,
                          struct mail_words *out)
{
	struct text subject = TEXT_EMPTY, body = TEXT_EMPTY;
	const char *chapter = "";
	enum status status = setting_text(store, arena, SETTING_CHAPTER, &chapter);

	if (status != ST_OK)
		return status;
	text_add(&subject, "Is this your address?");
	text_printf(&body,
	            "Somebody, you we hope, wants news of change notices for kit aircraft sent to "
	            "this address: the member with the login %s of %s.\n\n"
	            "If that was you, open this page and press its button:\n",
	            login, chapter[0] ? chapter : "a builders' chapter");
	return keep(arena, &subject, &body, out);
}

/* ---- news ---- */

void news_path(const struct news *news, struct text *out)
{
	long long kit = (long long)news->kit.v, notice = (long long)news->notice.v;

	if (news->note.v)
		text_printf(out, "/notes/%lld", (long long)news->note.v);
	else if (news->report.v)
		text_printf(out, "/reports/%lld", (long long)news->report.v);
	else if (kit && notice)
		text_printf(out, "/kits/%lld/notices/%lld", kit, notice);
	else if (notice)
		text_printf(out, "/notices/%lld", notice);
	else
		text_add(out, "/news");
}

/* "HF-SB-12: aileron bushing" */
static void add_title(struct text *out, const struct news *news, size_t most)
{
	if (news->notice_number[0]) {
		text_add(out, news->notice_number);
		text_add(out, news->notice_title[0] ? ": " : "");
		add_some(out, news->notice_title, most);
	} else {
		add_some(out, news->report_title, most);
	}
}

static void add_news(struct text *out, const char *address, const struct news *news)
{
	text_printf(out, "- %s", news_kind_words(news->kind));
	if (news->from_name[0])
		text_printf(out, ", by %s", news->from_name);
	if (news->notice_number[0] || news->report_title[0]) {
		text_add(out, ": ");
		add_title(out, news, TITLE_MOST);
	}
	text_add(out, "\n  ");
	if (news->words[0]) {
		add_some(out, news->words, WORDS_MOST);
		text_add(out, "\n  ");
	}
	text_add(out, address);
	news_path(news, out);
	text_add(out, "\n\n");
}

/* What one must not miss is mandatory when it is a notice; a report is a member's word. */
static bool is_danger(const struct news *news)
{
	return news->mandatory && !news->notice.v && news->report.v;
}

/* News with the same head: kit by kit, and of three weights. */
static bool same_head(const struct news *a, const struct news *b)
{
	return a->mandatory == b->mandatory && is_danger(a) == is_danger(b) && a->kit.v == b->kit.v;
}

static bool is_first_of_kit(const struct news *news, size_t at)
{
	for (size_t i = 0; i < at; i++)
		if (same_head(&news[i], &news[at]))
			return false;
	return true;
}

/* Kit by kit, in the order in which each first occurs. */
static void add_part(struct text *out, const char *address, const struct news *news, size_t count,
                     bool mandatory)
{
	for (size_t i = 0; i < count; i++) {
		if (news[i].mandatory != mandatory || !is_first_of_kit(news, i))
			continue;
		text_add(out, is_danger(&news[i]) ? "COULD BE DANGEROUS"
		              : mandatory         ? "MANDATORY"
		                                  : "News");
		if (news[i].kit.v)
			text_printf(out, ", for the kit %s", news[i].kit_name);
		text_add(out, "\n\n");
		for (size_t k = i; k < count; k++)
			if (same_head(&news[k], &news[i]))
				add_news(out, address, &news[k]);
	}
}

static size_t count_of(const struct news *news, size_t count, bool danger)
{
	size_t found = 0;

	for (size_t i = 0; i < count; i++)
		found += news[i].mandatory && is_danger(&news[i]) == danger;
	return found;
}

static void add_subject_of_one(struct text *out, const struct news *news)
{
	text_add(out, is_danger(news)   ? "Could be dangerous: "
	              : news->mandatory ? "Mandatory: "
	                                : "News: ");
	if (news->notice_number[0] || news->report_title[0])
		add_title(out, news, SUBJECT_MOST);
	else
		text_add(out, news_kind_words(news->kind));
}

static void add_subject(struct text *out, const struct news *news, size_t count)
{
	size_t mandatory = count_of(news, count, false), danger = count_of(news, count, true);

	if (count == 1) {
		add_subject_of_one(out, news);
		return;
	}
	if (mandatory == count || danger == count)
		text_add(out, danger ? "Could be dangerous: " : "Mandatory: ");
	text_printf(out, "%zu news for your kits", count);
	if (mandatory && mandatory < count)
		text_printf(out, ", %zu of them mandatory", mandatory);
	if (danger && danger < count)
		text_printf(out, ", %zu perhaps dangerous", danger);
}

enum status mail_digest(struct arena *arena, const struct mail_sender *sender,
                        const struct news *news, size_t count, bool more, struct mail_words *out)
{
	struct text subject = TEXT_EMPTY, body = TEXT_EMPTY;

	add_subject(&subject, news, count);
	add_part(&body, sender->address, news, count, true);
	add_part(&body, sender->address, news, count, false);
	if (more)
		text_printf(&body, "There is more: %s/news\n\n", sender->address);
	text_add(&body, "Fairlead informs. The kit maker's current documents, local rules and the "
	                "licensed inspector decide. Read the notice itself before you work or fly, "
	                "and do not rely on mail alone: one can be late or get lost.\n");
	return keep(arena, &subject, &body, out);
}

/* ---- with links ---- */

static void finish_question(struct text *out, const struct mail_sender *sender, const char *token)
{
	text_printf(out,
	            "\n%s/mail/confirm/%s\n\n"
	            "The link works for three days. If it was not you, do nothing: no further mail "
	            "comes.\n",
	            sender->address, token);
}

static void finish_digest(struct text *out, const struct mail_sender *sender, enum mail_kind kind,
                          const char *token)
{
	text_printf(out,
	            "\n-- \nYou get this because you asked %s for %s.\nAll your news: "
	            "%s/news\nChoose what comes: %s/account/mail\nStop all of it: "
	            "%s/mail/stop/%s\n",
	            sender->chapter[0] ? sender->chapter : "your chapter",
	            kind == MAIL_AT_ONCE ? "mail at once about mandatory notices"
	                                 : "a mail at most once a week",
	            sender->address, sender->address, sender->address, token);
}

void mail_finish(struct text *out, const struct mail_sender *sender, const struct outbox_mail *mail,
                 const char *token)
{
	text_add(out, mail->body);
	if (mail->kind == MAIL_QUESTION)
		finish_question(out, sender, token);
	else
		finish_digest(out, sender, mail->kind, token);
}
