/* members.h - people: members, their sessions, invites, reset links, API tokens, failed
 * sign-ins.
 *
 * Secrets never reach the database: of passwords it keeps the string that the
 * caller's password hash made, of every token only its hash (hash.h).
 * One active admin must always be left: what would take the last one away is
 * ST_DENIED.
 */
#ifndef STORE_MEMBERS_H
#define STORE_MEMBERS_H

#include "store/hash.h"
#include "store/store.h"

#define LOGIN_LONGEST 40       /* characters */
#define MEMBER_NAME_LONGEST 80 /* characters */
#define LABEL_LONGEST 120      /* characters, of invites, tokens and sessions */
#define SECRET_SIZE 32         /* bytes */

struct member_id {
	int64_t v; /* 0: none */
};
struct invite_id {
	int64_t v;
};
struct session_id {
	int64_t v;
};
struct api_token_id {
	int64_t v;
};

enum role { ROLE_BUILDER, ROLE_STEWARD, ROLE_ADMIN }; /* each may do what those before may */
#define ROLES 3

/* "builder", "steward", "admin"; borrowed. */
extern const char *const role_names[ROLES + 1]; /* in words, then NULL */
const char *role_words(enum role role);
bool role_from_words(const char *words, enum role *out);

struct member {
	struct member_id id;
	const char *login; /* as typed; unique whatever its letter case (ASCII) */
	const char *name;
	enum role role;
	bool disabled;
	int64_t joined_at;
};

struct member_entry { /* a new member */
	const char *login;
	const char *name;
	const char *password; /* hashed by the caller */
	enum role role;       /* not used by member_register: the invite says */
};

/* Members. ST_CONFLICT: the login is taken. */
enum status member_add(struct store *store, const struct member_entry *entry, int64_t now,
                       struct member_id *out) MUST_CHECK;
/* By an invite, which is used up. ST_MISSING: no such invite, or it is used,
 * revoked or expired; ST_CONFLICT: the login is taken (the invite stays). */
enum status member_register(struct store *store, const struct hash *invite,
                            const struct member_entry *entry, int64_t now,
                            struct member_id *out) MUST_CHECK;
/* ST_MISSING for all that read or change one. */
enum status member_read(struct store *store, struct arena *arena, struct member_id id,
                        struct member *out) MUST_CHECK;
enum status member_find(struct store *store, struct arena *arena, const char *login,
                        struct member *out) MUST_CHECK;
/* The member and the password string, for signing in; disabled ones too. */
enum status member_password(struct store *store, struct arena *arena, const char *login,
                            struct member *out, const char **password) MUST_CHECK;
/* Ends all that the old password opened, or that was made with it: every session, the
 * tokens for programs, the link for feeds, a reset link; and forgets the addresses
 * that the login was known from. */
enum status member_set_password(struct store *store, struct member_id id,
                                const char *password) MUST_CHECK;
enum status member_set_name(struct store *store, struct member_id id, const char *name) MUST_CHECK;
/* Whoever is no admin any more has handed out nothing: with the role, with shutting
 * out and with removal the invites that the member made and that are open end, and
 * the reset links. These three are logged (acts.h). */
enum status member_set_role(struct store *store, struct member_id id, enum role role) MUST_CHECK;
/* Disabling ends the member's sessions too, and a reset link made for the member. */
enum status member_set_disabled(struct store *store, struct member_id id, bool disabled) MUST_CHECK;
/* Kits with their records, sessions and tokens go, and notes with their history
 * and pictures; of a note that others have answered the trace stays, without
 * words and author, and so do the answers. What was done as a steward stays, and
 * field reports and findings with their remarks, which are the chapter's: by
 * "removed member", named to nobody. */
enum status member_remove(struct store *store, struct member_id id, int64_t now) MUST_CHECK;
/* In order of login. */
enum status member_list(struct store *store, struct arena *arena, struct page page,
                        const struct member **out, size_t *count, int64_t *total) MUST_CHECK;
enum status member_count(struct store *store, int64_t *out) MUST_CHECK;

/* Invites. */
struct invite {
	struct invite_id id;
	enum role role;
	const char *label;   /* "for Ann", "" when none */
	const char *made_by; /* name; "" for the first admin's link */
	const char *used_by; /* name; "" while unused */
	int64_t made_at;
	int64_t expires_at;
	int64_t used_at; /* 0: not used */
	bool revoked;
};

struct invite_entry {
	struct hash token;
	enum role role;
	const char *label;
	struct member_id made_by;
	int64_t expires_at;
};

enum status invite_add(struct store *store, const struct invite_entry *entry, int64_t now,
                       struct invite_id *out) MUST_CHECK;
/* The first admin's link; replaces an earlier one. ST_CONFLICT: there is a
 * member already. */
enum status invite_first_admin(struct store *store, const struct hash *token, int64_t now,
                               int64_t expires_at) MUST_CHECK;
/* An invite that can still be used: whoever made it is an admin still. ST_MISSING. */
enum status invite_find(struct store *store, struct arena *arena, const struct hash *token,
                        int64_t now, struct invite *out) MUST_CHECK;
/* ST_MISSING: no such invite, or it is used or revoked already. */
enum status invite_revoke(struct store *store, struct invite_id id) MUST_CHECK;
/* Newest first. */
enum status invite_list(struct store *store, struct arena *arena, struct page page,
                        const struct invite **out, size_t *count, int64_t *total) MUST_CHECK;

#define RESET_SECONDS (2 * 86400) /* how long a reset link works */

/* Reset links, by which a member sets a new password, once. A later one takes
 * the place of an earlier. It is good as long as the member for whom the connection
 * acts (store_act_for) is an admin; one of the command line, anyway. ST_MISSING: no
 * such member. */
enum status reset_offer(struct store *store, struct member_id member, const struct hash *token,
                        int64_t expires_at) MUST_CHECK;
/* Whose it is. ST_MISSING: unknown, used or expired, or the member is disabled. */
enum status reset_find(struct store *store, struct arena *arena, const struct hash *token,
                       int64_t now, struct member *out) MUST_CHECK;
/* As member_set_password. ST_MISSING as above. */
enum status reset_use(struct store *store, const struct hash *token, const char *password,
                      int64_t now, struct member_id *out) MUST_CHECK;

/* Sessions. */
struct session {
	struct session_id id;
	struct member member;
	unsigned char secret[SECRET_SIZE]; /* for the tokens of forms */
	int64_t made_at;
	int64_t seen_at;
	int64_t idle_until;
	int64_t ends_at;
	const char *label;  /* the browser, as it named itself */
	int64_t generation; /* of the notices (settings.h); session_find only */
	int64_t unseen;     /* news, counted up to NEWS_COUNTED (news.h); likewise */
};

struct session_entry {
	struct member_id member;
	struct hash token;
	unsigned char secret[SECRET_SIZE];
	const char *label;
	int64_t idle_until;
	int64_t ends_at;
};

enum status session_add(struct store *store, const struct session_entry *entry, int64_t now,
                        struct session_id *out) MUST_CHECK;
/* One statement. ST_MISSING: unknown, idle too long, ended, or the member is
 * disabled. */
enum status session_find(struct store *store, struct arena *arena, const struct hash *token,
                         int64_t now, struct session *out) MUST_CHECK;
/* ST_MISSING. */
enum status session_touch(struct store *store, struct session_id id, int64_t now,
                          int64_t idle_until) MUST_CHECK;
/* Those of one member that still run, newest first. */
enum status session_list(struct store *store, struct arena *arena, struct member_id member,
                         int64_t now, const struct session **out, size_t *count) MUST_CHECK;
/* Only the member's own. ST_MISSING. */
enum status session_end(struct store *store, struct member_id member,
                        struct session_id id) MUST_CHECK;
/* keep v 0: all. */
enum status session_end_others(struct store *store, struct member_id member,
                               struct session_id keep) MUST_CHECK;

/* Tokens for programs. */
struct api_token {
	struct api_token_id id;
	const char *label;
	int64_t made_at;
	int64_t ends_at;
};

enum status api_token_add(struct store *store, struct member_id member, const struct hash *token,
                          const char *label, int64_t now, int64_t ends_at,
                          struct api_token_id *out) MUST_CHECK;
/* Those that have ended too, until they are swept. */
enum status api_token_list(struct store *store, struct arena *arena, struct member_id member,
                           const struct api_token **out, size_t *count) MUST_CHECK;
/* Only the member's own. ST_MISSING. */
enum status api_token_revoke(struct store *store, struct member_id member,
                             struct api_token_id id) MUST_CHECK;
/* Whose it is. ST_MISSING: unknown or ended, or the member is disabled. */
enum status api_token_find(struct store *store, struct arena *arena, const struct hash *token,
                           int64_t now, struct member *out) MUST_CHECK;

/* Failed sign-ins, to slow down guessing. who: a login or an address. Those from
 * `since` to now are counted. */
enum status sign_in_failed(struct store *store, const char *who, int64_t now) MUST_CHECK;
enum status sign_in_failures(struct store *store, const char *who, int64_t since, int64_t now,
                             int64_t *count) MUST_CHECK;
enum status sign_in_forget(struct store *store, const char *who) MUST_CHECK;

/* Deletes sessions and, a month later, tokens that have ended, failures of more than a
 * day ago or ahead, and addresses known for too long. */
enum status members_sweep(struct store *store, int64_t now) MUST_CHECK;

#endif
