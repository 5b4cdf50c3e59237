/* board.h - the drawing board: where stewards draft notices, check each
 * other's, and publish them.
 */
#ifndef WEB_BOARD_BOARD_H
#define WEB_BOARD_BOARD_H

#include "web/http/route.h"

extern const struct input board_query[];
extern const struct input board_log_query[];
extern const struct input board_whom_query[];
extern const struct input read_back_inputs[];
extern const struct input read_due_inputs[];
extern const struct input publish_inputs[];
extern const struct input send_back_inputs[];
extern const struct input discard_inputs[];
extern const struct input cancel_inputs[];
extern const struct input sheet_file_inputs[];
extern const struct input import_inputs[];

handler_fn page_board;        /* what is drafted, what waits, where to begin */
handler_fn page_board_whom;   /* the kits that it concerns */
handler_fn page_board_notice; /* one notice: who did what when, what may be done */
handler_fn act_revise;        /* begins a new revision */
handler_fn page_cancel, act_cancel;

handler_fn page_draft_new, act_draft_new;
handler_fn page_draft, act_draft_save;
handler_fn act_read_back; /* a statement read back; writes nothing */
handler_fn act_read_due;  /* the same for time limits */

handler_fn page_check_sheet; /* the draft as it will be published */
handler_fn act_submit, act_publish, act_send_back, act_discard;

handler_fn page_files, act_file_add, act_file_remove;

extern const struct input line_step_query[];
extern const struct input line_step_inputs[];
extern const struct input line_step_out_inputs[];
extern const struct input line_remove_inputs[];

handler_fn page_lines;                    /* build lines */
handler_fn page_line, act_line_remove;    /* one of them */
handler_fn page_line_file;                /* as a file to take in elsewhere */
handler_fn page_line_new, act_line_new;   /* its first step */
handler_fn page_line_step, act_line_step; /* a step: new, changed, moved */
handler_fn act_line_step_out;             /* taken out */

handler_fn page_import, act_import;

/* board_book.c: packing lists, later numbers, stock that is cut. */
extern const struct input book_query[], book_file_inputs[], book_remove_inputs[];
handler_fn page_book, act_book, act_book_remove, page_book_file;
handler_fn page_export;

#endif
