/* present_facts.h - the facts of a kit in words, one after the other. */
#ifndef WEB_HTML_PRESENT_FACTS_H
#define WEB_HTML_PRESENT_FACTS_H

#include <jansson.h>

#include "core/facts.h"

/* [{"words", "value"}...]: what a fact is called and what the kit says of it, "not known"
 * included. New reference; NULL when memory ran out. */
json_t *present_facts(const struct facts *facts);

#endif
