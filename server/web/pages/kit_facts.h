/* kit_facts.h - reading the form of a kit's facts. */
#ifndef WEB_PAGES_KIT_FACTS_H
#define WEB_PAGES_KIT_FACTS_H

#include "core/facts.h"
#include "web/input.h"

/* Fills *facts from the form (all but what was said of notices done), and adds
 * to the form every fault that only shows between fields: a name that stands
 * twice, a date to come, a state without a name. Facts count only when the
 * form is without faults. Borrowed from the arena. ST_NOMEM. */
enum status kit_facts_read(struct arena *arena, struct form *form, day_number today,
                           struct facts *facts) MUST_CHECK;

#endif
