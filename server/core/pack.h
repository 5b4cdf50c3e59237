/* pack.h - facts and records of a kit, copied into one block of memory.
 *
 * What is read from the database lies scattered over an arena; a chapter that
 * keeps the facts of all its kits in memory keeps each as one block of just the
 * size it takes. Called twice, first without a block to learn the size:
 *
 *     size = pack_kit(NULL, facts, records, n, NULL, NULL);
 *     pack_kit(block, facts, records, n, &facts_out, &records_out);
 *
 * What comes out points into the block and to nothing else.
 */
#ifndef CORE_PACK_H
#define CORE_PACK_H

#include "core/facts.h"
#include "core/record.h"

/* block: NULL, or room as malloc aligns it. Returns the bytes it takes. */
size_t pack_kit(void *block, const struct facts *facts, const struct record *records,
                size_t n_records, struct facts *facts_out, const struct record **records_out);

#endif
