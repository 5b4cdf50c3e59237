/* notes.h - pages of notes: handlers and inputs, as routes.inc names them. */
#ifndef WEB_NOTES_NOTES_H
#define WEB_NOTES_NOTES_H

#include "web/http/route.h"

/* notes.c: one note: adding, answering, editing, removing, thanks, history. */
extern const struct input notes_inputs[], note_inputs[], note_query_inputs[], note_text_inputs[],
        note_remove_inputs[], note_helped_inputs[];
handler_fn page_notes;   /* all on a notice */
handler_fn act_note_add; /* on a notice */
handler_fn page_note;    /* with its answers */
handler_fn page_answer, act_answer;
handler_fn page_note_edit, act_note_edit;
handler_fn page_note_remove, act_note_remove;
handler_fn act_note_helped;
handler_fn page_note_history;

/* note_search.c: the search over all. */
extern const struct input note_search_inputs[];
handler_fn page_note_search;

/* known.c: what the chapter knows of a part, of a step. */
extern const struct input part_query[], step_query[], part_note_inputs[], step_note_inputs[];
handler_fn page_part, page_step, act_part_note, act_step_note;

/* calls.c: calling a steward to a note; the queue of calls. */
extern const struct input call_inputs[], calls_query[], call_close_inputs[];
handler_fn page_note_call, act_note_call;
handler_fn page_calls, page_call, act_call_close;

#endif
