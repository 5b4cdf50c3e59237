/* json_facts.h - kit facts as JSON, the first format of seed/FORMAT.md. */
#ifndef FORMATS_JSON_FACTS_H
#define FORMATS_JSON_FACTS_H

#include "core/effectivity.h"
#include "formats/json_reader.h"

/* Reads an object at the reader's place into *out, which borrows from the
 * reader's arena. On a fault the reader says where; *out is then not to be used. */
void json_read_facts(struct json_reader *reader, const json_t *object, struct facts *out);

/* What would help to settle a statement, as it names facts, each once:
 * ["serial", "option tailwheel"]. New reference, NULL when memory ran out. */
json_t *json_needs(const struct effectivity *statement, const struct facts *facts);

/* The same format; new reference, NULL when memory ran out. */
json_t *json_from_facts(const struct facts *facts);

#endif
