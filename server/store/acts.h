/* acts.h - the log of what was done to members, their rights and the box.
 *
 * Only added to, in the transaction of what it tells of, so that neither stands
 * without the other. Who does it and when is known to the connection
 * (store_act_for), so that no operation can be called without. Names that an
 * entry shows are those of today; of a removed member it shows "removed member".
 * What is done to notices has a log of its own (notices.h), which acts_list
 * shows among the rest; there an import is one entry, however many notices came.
 * No secret ever stands in it: no token, password, code or address of mail.
 *
 * To log one more kind of act: a row here and in the tables of acts.c, and
 * acts_add in the operation.
 */
#ifndef STORE_ACTS_H
#define STORE_ACTS_H

#include "store/members.h"

/* Numbers are kept: add at the end, 62 is the last. */
enum act_kind {
	DID_JOIN,
	DID_LEAVE, /* removed the own account */
	DID_REMOVE,
	DID_ROLE,
	DID_SHUT_OUT,
	DID_LET_IN,
	DID_INVITE,
	DID_INVITE_BACK,
	DID_RESET_LINK, /* made a link that sets a new password */
	DID_RESET,      /* used one */
	DID_SETTING,
	DID_IMPORT,
	DID_LINE,
	DID_LINE_REMOVE,
	DID_PARTS_REMOVE,
	DID_MAIL_AGAIN,
	DID_SECOND_ON,
	DID_SECOND_OFF
};
#define ACT_KINDS (DID_SECOND_OFF + 1)

struct act_line {
	enum act_kind kind;
	struct member_id whom; /* 0: nobody */
	const char *subject;   /* NULL: nothing; what is longer than 300 characters is cut */
	const char *remark;    /* NULL: nothing; at most 2000 characters */
	/* For what people do who are not signed in yet; 0: the connection knows. */
	struct member_id by;
	int64_t now;
};

/* Inside the transaction of what it tells of. */
enum status acts_add(struct store *store, const struct act_line *line) MUST_CHECK;

/* A file was taken in: "1 notice", "40 notices". */
enum status acts_add_import(struct store *store, size_t count, const char *one,
                            const char *many) MUST_CHECK;

/* What a list may be narrowed to. */
enum act_group {
	ACTS_ALL,
	ACTS_MEMBERS,
	ACTS_INVITES,
	ACTS_PASSWORDS, /* and second factors */
	ACTS_SETTINGS,
	ACTS_IMPORTS,
	ACTS_FILES,
	ACTS_NOTICES,
	ACTS_MODELS /* build lines, book of parts */
};
#define ACT_GROUPS (ACTS_MODELS + 1)

struct act_filter {
	enum act_group group;
	struct member_id by, whom; /* 0: anybody */
	int64_t from, until;       /* times: from the first, before the second */
};

struct act_row {
	int64_t at;
	const char *by;   /* name, "removed member", "the command line" */
	const char *did;  /* "changed the role of" */
	const char *whom; /* name; "" when nobody */
	const char *subject, *remark;
	const char *number; /* of a notice; "" when of none */
};

/* Newest first. */
enum status acts_list(struct store *store, struct arena *arena, const struct act_filter *filter,
                      struct page page, const struct act_row **out, size_t *count,
                      int64_t *total) MUST_CHECK;

#endif
