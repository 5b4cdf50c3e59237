/* said.c - messages after a redirect: /kits/3?said=kit-saved shows a sentence
 * of this table and never a word that came with the request.
 */
#include <string.h>

#include "web/respond.h"

static const struct {
	const char *word, *message;
} table[] = {
        {"signed-in", "You are signed in."},
        {"signed-out", "You are signed out."},
        {"saved", "Saved."},
        {"removed", "Removed."},
        {"account-removed", "Your account is removed, with its kits, records and notes."},
        {"invite-taken-back", "The invite is taken back; its link no longer works."},
        {"joined", "Welcome. You are a member now, and signed in."},
        {"password-changed", "Your password is changed."},
        {"session-ended", "Signed out there."},
        {"draft-saved", "The draft is saved."},
        {"revision-begun", "A new revision is begun, as a copy of the current one. Give it its "
                           "label and date."},
        {"revision-there", "A revision of this notice was begun already. This is it."},
        {"notice-cancelled", "The notice is cancelled."},
        {"token-ended", "The token is ended; programs that use it get no more answers."},
};

const char *said_words(const char *word)
{
	for (size_t i = 0; i < sizeof table / sizeof table[0]; i++)
		if (strcmp(table[i].word, word) == 0)
			return table[i].message;
	return NULL;
}
