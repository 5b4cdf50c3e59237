/* kit_pages.h - the pages of builders: handlers and inputs, as routes.inc names them. */
#ifndef WEB_KITS_KIT_PAGES_H
#define WEB_KITS_KIT_PAGES_H

#include "web/http/context.h"

/* kits.c: my kits, a new one, another name, removal. */
extern const struct input kit_name_inputs[], kit_remove_inputs[];
handler_fn page_kits, act_kit_add, page_kit_rename, act_kit_rename, page_kit_remove, act_kit_remove;

/* kit_list.c: what applies and is left, and every other standing. */
extern const struct input kit_list_inputs[];
handler_fn page_kit;

/* kit_facts.c: all facts in one form. */
extern const struct input kit_facts_inputs[];
handler_fn page_kit_facts, act_kit_facts;

/* kit_answer.c: the next question, answered where it is asked. */
extern const struct input kit_answer_inputs[];
handler_fn act_kit_answer;

/* reading.c: the backlog, read once. */
extern const struct input reading_inputs[], reading_post_inputs[];
handler_fn page_reading, act_reading;

/* kit_notice.c: one notice for one kit. */
handler_fn page_kit_notice;

/* kit_line.c: the build line, marked with one tap. */
extern const struct input kit_line_inputs[], kit_line_post_inputs[];
handler_fn page_kit_line, act_kit_line;

/* kit_section.c: before you start a section. */
handler_fn page_kit_section;

/* kit_together.c: several notices counted together; the line in another order. */
extern const struct input kit_together_inputs[], kit_what_if_inputs[];
handler_fn page_kit_together, page_kit_what_if;

/* record_form.c: entering, correcting and withdrawing records. */
extern const struct input record_query_inputs[], record_inputs[], withdraw_inputs[];
handler_fn page_record, act_record, page_record_correct, act_record_correct, page_record_withdraw,
        act_record_withdraw;

/* kit_stock.c: parts on hand; counted, got, used, lost. */
extern const struct input kit_stock_query[], kit_stock_inputs[], kit_taken_inputs[],
        counted_in_inputs[];
handler_fn page_kit_stock, act_kit_stock, act_kit_stock_back, act_kit_taken, act_kit_counted_in;

/* shopping.c: what must be got, of one kit and of the chapter. */
handler_fn page_kit_shopping, page_kit_shopping_csv;
handler_fn page_shopping, page_shopping_csv, page_shopping_cutting;

/* cutting.c: lengths to cut and the bars to cut them from. */
extern const struct input cutting_inputs[];
handler_fn page_cutting, act_cutting, act_cutting_remove;

/* records.c: all records of a kit, and the proof that none was changed. */
handler_fn page_records;

/* kit_due.c: what is due, and about when; events to come. */
extern const struct input kit_due_inputs[];
handler_fn page_kit_due, act_kit_due;

/* kit_log.c: hours and landings, day by day. */
extern const struct input kit_log_inputs[];
handler_fn page_kit_log, act_kit_log, page_kit_log_correct, act_kit_log_correct;

/* statement.c: every notice on paper. */
handler_fn page_statement;
#endif
