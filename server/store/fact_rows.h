/* fact_rows.h - what SQL knows of facts of kits and of their snapshots; not for other layers. */
#ifndef STORE_FACT_ROWS_H
#define STORE_FACT_ROWS_H

#include "store/sql.h"

/* The newest total of the log of the kit k that counts; see kit_log.h. */
#define NEWEST(counter)                                                                            \
	"(SELECT l." #counter " FROM kit_log l WHERE l.kit_id = k.id AND l." #counter              \
	" IS NOT NULL AND l.withdraws = 0"                                                         \
	" AND NOT EXISTS (SELECT 1 FROM kit_log c WHERE c.corrects = l.id)"                        \
	" ORDER BY l.day DESC, l." #counter " DESC LIMIT 1)"

/* Columns of the rows of core/facts.h, each behind a comma: of kits k, of the log,
 * and their names alone. */
#define OF_KIT(key, ...) ", k." #key
#define OF_LOG(key, ...) ", " NEWEST(key)
#define COLUMN(key, ...) ", " #key

/* Reads the column of a fact into zeroed facts; binds it. */
void read_fact(struct query *q, const struct fact_field *field, struct facts *facts);
void bind_fact(struct query *q, const struct fact_field *field, const struct facts *facts);

#endif
