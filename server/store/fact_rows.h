/* fact_rows.h - what SQL knows of facts of kits and of their snapshots; not for other layers. */
#ifndef STORE_FACT_ROWS_H
#define STORE_FACT_ROWS_H

/* The newest total of the log of the kit k that counts; see kit_log.h. */
#define NEWEST(counter)                                                                            \
	"(SELECT l." #counter " FROM kit_log l WHERE l.kit_id = k.id AND l." #counter              \
	" IS NOT NULL AND l.withdraws = 0"                                                         \
	" AND NOT EXISTS (SELECT 1 FROM kit_log c WHERE c.corrects = l.id)"                        \
	" ORDER BY l.day DESC, l." #counter " DESC LIMIT 1)"

#endif
