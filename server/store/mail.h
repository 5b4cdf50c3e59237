/* mail.h - the addresses to which members want mail, and the outbox.
 *
 * A member has at most one address. It counts only once its owner has followed
 * the link in a first mail, the question; until then nothing else goes there.
 *
 * The outbox survives restarts and sends nothing twice. A mail is written in
 * one transaction with the mark that its news are told (outbox_add). Before the
 * first byte goes out it is taken in hand (outbox_take), and what became of it
 * is kept afterwards (outbox_end). One that a start finds in hand may have gone
 * out or not: it becomes unsure and is never sent by itself again.
 *
 * Links in mails carry tokens whose hashes alone are kept. They are made anew
 * each time a mail is taken in hand, so that no token waits in the outbox.
 */
#ifndef STORE_MAIL_H
#define STORE_MAIL_H

#include "store/bounds.h"
#include "store/members.h"

#define MAIL_CONFIRM_SECONDS (3 * 86400) /* how long the question's link works */
#define MAIL_AT_ONCE_GAP 3600            /* seconds between two mails at once to one member */
#define MAIL_WEEK (7 * 86400)
#define OUTBOX_AN_HOUR 200        /* mails that go out, of all members */
#define OUTBOX_TRIES_MOST 10      /* over nearly five days: RFC 5321 section 4.5.4.1 */
#define OUTBOX_KEPT (400 * 86400) /* seconds that an ended one is kept, for its stop link */

struct outbox_id {
	int64_t v;
};

/* question: is this your address? at once: mandatory news; weekly: all news. */
enum mail_kind { MAIL_QUESTION, MAIL_AT_ONCE, MAIL_WEEKLY };
enum mail_state { MAIL_WAITING, MAIL_IN_HAND, MAIL_SENT, MAIL_GIVEN_UP, MAIL_UNSURE };

/* ---- addresses ---- */

struct mail_address {
	const char *address;
	int64_t confirmed_at; /* 0: not yet */
	bool at_once, weekly; /* what its owner wants */
	int64_t digest_at;    /* when the last weekly mail was written, or it was confirmed */
};

struct mail_words {
	const char *subject;
	const char *body; /* without the links, which are added when it goes out */
};

/* ST_MISSING: the member has none. */
enum status mail_address_read(struct store *store, struct arena *arena, struct member_id member,
                              struct mail_address *out) MUST_CHECK;
/* Takes the place of another address, whose waiting mails are dropped, and puts
 * the question into the outbox; asks again where the same one is not confirmed.
 * One that is confirmed stays as it is. ST_LIMIT: asked too often in a day. */
enum status mail_address_set(struct store *store, struct member_id member, const char *address,
                             const struct mail_words *question, int64_t now) MUST_CHECK;
/* News that the choices so far would never have mailed are not mailed later.
 * ST_MISSING: no address. */
enum status mail_set_choices(struct store *store, struct member_id member, bool at_once,
                             bool weekly) MUST_CHECK;
/* Drops waiting mails too. ST_MISSING. */
enum status mail_address_remove(struct store *store, struct member_id member) MUST_CHECK;

/* Whose address a question's link would confirm, and which. ST_MISSING:
 * unknown, used, replaced or run out, or the member is disabled. */
enum status mail_confirm_find(struct store *store, struct arena *arena, const struct hash *token,
                              int64_t now, struct member_id *member,
                              const char **address) MUST_CHECK;
/* From now on: news that are there already are not mailed. ST_MISSING likewise. */
enum status mail_confirm(struct store *store, const struct hash *token, int64_t now) MUST_CHECK;

/* To which address the mail with that stop link went. ST_MISSING. */
enum status mail_stop_find(struct store *store, struct arena *arena, const struct hash *token,
                           const char **address) MUST_CHECK;
/* No more mail of either kind to that member at that address; done twice it is
 * as good. Waiting mails are dropped. ST_MISSING. */
enum status mail_stop(struct store *store, const struct hash *token) MUST_CHECK;

/* ---- what is to be written ---- */

struct mail_due {
	struct member_id member;
	const char *address;
	bool weekly; /* all news are due; else the mandatory ones alone */
};

/* The first member after that one with a confirmed address, not disabled, who
 * has news not seen yet and wants to hear of it now: mandatory ones, if the last
 * such mail is MAIL_AT_ONCE_GAP old; all, if the last weekly one, or the
 * confirmation, is MAIL_WEEK old. ST_MISSING: there is none. */
enum status mail_due_next(struct store *store, struct arena *arena, struct member_id after,
                          int64_t now, struct mail_due *out) MUST_CHECK;

/* ---- the outbox ---- */

struct outbox_entry {
	struct member_id member;
	const char *address;
	enum mail_kind kind; /* at once or weekly */
	struct mail_words words;
	int64_t upto; /* id of the newest of the news: these and older ones of the kind are told */
};

/* Marks the news, notes when a weekly one was written, and adds the mail, all
 * or nothing. ST_CONFLICT: too long, or the member is gone. */
enum status outbox_add(struct store *store, const struct outbox_entry *entry,
                       int64_t now) MUST_CHECK;

struct outbox_mail {
	struct outbox_id id;
	struct member_id member;
	const char *login; /* the member's; outbox_list only */
	const char *address;
	enum mail_kind kind;
	enum mail_state state;
	const char *subject;
	const char *body; /* outbox_take only */
	int64_t made_at;
	int64_t next_at;
	int64_t ended_at; /* 0: not yet */
	int64_t tries;
	const char *fault; /* what the server said last, "" for nothing */
};

/* The next one that is due, now in hand; token: what its link will carry,
 * hashed. ST_MISSING: none is due. ST_LIMIT: OUTBOX_AN_HOUR have gone out. */
enum status outbox_take(struct store *store, struct arena *arena, const struct hash *token,
                        int64_t now, struct outbox_mail *out) MUST_CHECK;
/* What became of one in hand: sent, given up, unsure; or waiting: tried again
 * after a time that grows from ten minutes to a day, and given up after
 * OUTBOX_TRIES_MOST. One that did not go out is dropped where its member has
 * stopped the mail or named another address meanwhile. fault: printable ASCII,
 * at most 500. ST_MISSING: it is not in hand any more (its member left). */
enum status outbox_end(struct store *store, struct outbox_id id, enum mail_state state,
                       const char *fault, int64_t now) MUST_CHECK;
/* At a start: what is in hand becomes unsure. Deletes what ended OUTBOX_KEPT ago. */
enum status outbox_recover(struct store *store, int64_t now) MUST_CHECK;
/* One that was given up is tried from the beginning. ST_MISSING: no such one. */
enum status outbox_again(struct store *store, struct outbox_id id, int64_t now) MUST_CHECK;

struct outbox_counts {
	int64_t waiting; /* in hand too */
	int64_t unsure;  /* ended within 30 days, as are these */
	int64_t given_up;
	int64_t sent;
};

enum status outbox_count(struct store *store, int64_t now, struct outbox_counts *out) MUST_CHECK;
/* Those waiting, given up or unsure, newest first. */
enum status outbox_list(struct store *store, struct arena *arena, struct page page,
                        const struct outbox_mail **out, size_t *count, int64_t *total) MUST_CHECK;

#endif
