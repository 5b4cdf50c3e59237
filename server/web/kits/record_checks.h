/* record_checks.h - what a record must not say, and what it may say only on purpose. */
#ifndef WEB_KITS_RECORD_CHECKS_H
#define WEB_KITS_RECORD_CHECKS_H

#include "chapter/kit_view.h"
#include "web/html/input.h"

/* Adds to a form of record_inputs: a day to come is refused; work done before
 * the revision was issued needs "early" ticked; hours or landings that fall
 * from one day to a later one need "lower" ticked. issued: date, "" when not
 * known. corrects: a record that does not count any more; v 0: none. */
void record_check(struct form *form, const struct kit_view *view, day_number today,
                  const char *issued, struct record_id corrects);

#endif
