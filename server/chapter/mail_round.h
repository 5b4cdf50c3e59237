/* mail_round.h - mails written and sent in the background (rounds.h).
 *
 * Two functions of the rounds. The first writes one mail for one member whose
 * turn it is: all mandatory news that wait, or, once a week, all that wait; the
 * mark that they are told and the mail in one transaction. The second takes one
 * mail in hand, hands it to the server and keeps what became of it. Killed
 * between any two of these steps, nothing goes out twice: see store/mail.h.
 */
#ifndef CHAPTER_MAIL_ROUND_H
#define CHAPTER_MAIL_ROUND_H

#include "os/mail.h"
#include "chapter/work.h"

/* Hands a letter over, as mail_hand_over does. */
typedef enum mail_outcome mail_way_fn(void *context, const struct mail_letter *letter,
                                      char fault[MAIL_FAULT_SIZE]);

struct mail_setup {
	const struct mail_server *server; /* without a fault */
	const char *from;                 /* mail_address_ok */
	mail_way_fn *way;                 /* NULL: to the server; tests have others */
	void *context;                    /* of way */
};

/* Once, before the first round: what an end in the middle of things left behind. */
enum status mail_round_begin(struct chapter *chapter) MUST_CHECK;

enum status mail_round_write(const struct work *work, int64_t *place);
enum status mail_round_send(const struct work *work, int64_t *place);

#endif
