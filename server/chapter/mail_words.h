/* mail_words.h - what Fairlead's mails say, in plain words. */
#ifndef CHAPTER_MAIL_WORDS_H
#define CHAPTER_MAIL_WORDS_H

#include "base/text.h"
#include "store/mail.h"
#include "store/news.h"

#define MAIL_NEWS_MOST 200 /* news in one mail */

/* Where links lead and who writes. */
struct mail_sender {
	const char *address; /* of this box, no slash at the end */
	const char *chapter; /* "" while it has no name */
};

/* Where to go for it: a page of the kit where it is of one. */
void news_path(const struct news *news, struct text *out);

/* The mail that asks whether an address is right; borrowed from the arena. */
enum status mail_question(struct store *store, struct arena *arena, const char *login,
                          struct mail_words *out) MUST_CHECK;

/* A mail that tells news, 1 to MAIL_NEWS_MOST, mandatory ones first and then kit
 * by kit; more: there are others than these. ST_NOMEM. */
enum status mail_digest(struct arena *arena, const struct mail_sender *sender,
                        const struct news *news, size_t count, bool more,
                        struct mail_words *out) MUST_CHECK;

/* Adds the body as it goes out, links included: token is the one that it was
 * taken in hand with. */
void mail_finish(struct text *out, const struct mail_sender *sender, const struct outbox_mail *mail,
                 const char *token);

#endif
