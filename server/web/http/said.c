/* said.c - messages after a redirect: /kits/3?said=kit-saved shows a sentence
 * of this table and never a word that came with the request.
 */
#include <string.h>

#include "web/http/respond.h"

static const struct {
	const char *word, *message;
} table[] = {
        {"signed-in", "You are signed in."},
        {"signed-out", "You are signed out."},
        {"saved", "Saved."},
        {"removed", "Removed."},
        {"member-removed", "The member is removed, with kits, records and notes."},
        {"code-off", "Signing in takes your password alone again."},
        {"password-changed-sign-in", "Your password is changed. Sign in with it, and with a code."},
        {"account-removed", "Your account is removed, with its kits, records and notes."},
        {"invite-taken-back", "The invite is taken back; its link no longer works."},
        {"joined", "Welcome. You are a member now, and signed in."},
        {"password-changed", "Your password is changed."},
        {"mail-asked", "A mail with a link is on its way to that address. Follow it within three "
                       "days."},
        {"mail-confirmed", "The address is confirmed. Mail comes there from now on."},
        {"mail-removed", "The address is removed. No more mail goes there."},
        {"mail-again", "It is tried again."},
        {"session-ended", "Signed out there."},
        {"draft-saved", "The draft is saved."},
        {"revision-begun", "A new revision is begun, as a copy of the current one. Give it its "
                           "label and date."},
        {"revision-there", "A revision of this notice was begun already. This is it."},
        {"handed-over", "The draft is handed over. Another steward checks and publishes it."},
        {"sent-back", "The draft is sent back to the board, with your remark."},
        {"draft-discarded", "The draft is discarded."},
        {"published", "Published. Each kit that it concerns has it on its list now."},
        {"file-added", "The file is attached."},
        {"file-removed", "The file is taken off."},
        {"notice-cancelled", "The notice is cancelled."},
        {"token-ended", "The token is ended; programs that use it get no more answers."},
        {"link-ended", "Your addresses are ended; programs that read them get no more answers."},
        {"kit-added", "The kit is there. Say what you know of it; leave out what you do not know."},
        {"kit-removed", "The kit is removed, with its facts and records."},
        {"facts-saved", "The facts are saved, and every notice is decided anew."},
        {"answered", "Saved. Every notice that waited for it is decided anew."},
        {"question-gone", "That question is settled already."},
        {"steps-marked", "Marked as built. Every notice has its moment anew."},
        {"steps-unmarked", "Marked as not built."},
        {"recorded", "The work is recorded. To undo it, withdraw the record below."},
        {"corrected", "The correction is recorded. The record before it stays and counts no more."},
        {"withdrawn", "The record is withdrawn. It stays, and counts no more."},
        {"corrected-already", "That record is corrected or withdrawn already."},
        {"planned", "Planned. Every limit is computed anew."},
        {"logged", "Entered. Every limit is computed anew."},
        {"entry-corrected",
         "The correction is entered. What it corrects stays and counts no more."},
        {"entry-withdrawn", "The entry is withdrawn. It stays, and counts no more."},
        {"entry-corrected-already", "That entry is corrected or withdrawn already."},
        {"stock-entered", "Entered. To undo it, take the entry back below."},
        {"stock-back", "The entry is taken back."},
        {"counted-in", "Saved. The chapter's shopping list follows it."},
        {"length-added", "The lengths are added."},
        {"length-removed", "The lengths are taken off."},
        {"book-removed", "Taken out of the book of parts."},
        {"reported", "Reported. Those whose kits are like yours are told to look."},
        {"report-edited", "Saved. What stood before is in the list of what was done."},
        {"report-removed", "The report is removed."},
        {"report-put-back", "The report stands again."},
        {"report-merged", "Merged. Its findings count in the other one now."},
        {"report-parted", "Parted again. Each has its own findings."},
        {"report-linked", "Linked to the notice."},
        {"report-unlinked", "The link to the notice is taken away."},
        {"finding-added", "Your answer is entered, with the facts of your kit as they are now."},
        {"remark-removed", "The remark is taken away. The answer stays."},
        {"advisory-drawn-up", "The draft is made from the field report, which is linked to it. "
                              "Word it, give it its date, then hand it over."},
        {"pointed-out", "Pointed out. The builder finds it among the news."},
        {"news-seen", "Marked as read."},
        {"note-added", "The note is added."},
        {"note-edited", "The note is changed. What stood there before stays readable to members."},
        {"note-removed", "The note is removed."},
        {"pictures-added", "The pictures are added."},
        {"picture-removed", "The picture is removed."},
        {"note-helped", "Noted: it helped you."},
        {"note-helped-not", "Taken back."},
        {"answer-added", "The answer is added. The author of the note hears of it."},
        {"steward-called", "The stewards are called. They will look at it."},
        {"call-left", "The call is closed; what it was about stands."},
        {"call-taken-away", "It is taken away, and the call is closed."},
        {"call-closed-already", "Another steward has closed that call already."},
};

const char *said_words(const char *word)
{
	for (size_t i = 0; i < sizeof table / sizeof table[0]; i++)
		if (strcmp(table[i].word, word) == 0)
			return table[i].message;
	return NULL;
}
