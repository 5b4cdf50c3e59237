/* chapter.h - a chapter of 10,000 kits and 10,000 field reports, for the benches.
 *
 * Each kit has 3 options, 4 sub-kits, 5 parts, 150 steps, a log and a model, one in
 * ten of each fact unknown. One report has findings of 2,000 kits.
 */
#ifndef BENCH_CHAPTER_H
#define BENCH_CHAPTER_H

#include "store/reports.h"

#define CHAPTER_KITS 10000
#define CHAPTER_REPORTS 10000
#define CHAPTER_FOUND_ON 2000 /* kits with an answer to the first report */
#define CHAPTER_PARTS 5       /* of a kit */

struct bench_chapter {
	struct store *store;
	struct arena *arena; /* for filling and for each question anew */
	struct kit_id kits[CHAPTER_KITS];
	struct member_id owners[CHAPTER_KITS];
	struct report_id report; /* that many have looked for */
};

/* Into the store of c, with its arena. */
void chapter_fill(struct bench_chapter *c);
/* One more finding of the report: of that kit, by its owner. */
void chapter_find(struct bench_chapter *c, int kit);
/* So many words; few of them are in most texts, most in few. */
const char *chapter_words(struct arena *arena, int count);

#endif
