/* findings_view.h - what the findings of a field report add up to, as pages show it.
 *
 * The figure is a scale from 0 to 100 % with one dimension line for the exact
 * interval of each share, and a mark at the share itself: one line for found
 * of looked, and two, inside and outside, for a split that is a hint.
 */
#ifndef WEB_HTML_FINDINGS_VIEW_H
#define WEB_HTML_FINDINGS_VIEW_H

#include <jansson.h>

#include "core/findings.h"

#define FINDINGS_CONFIDENCE 0.95 /* of the intervals */

/* tally: of those that count (findings_pick). split: that of findings_split, NULL
 * when it found none. settled: a published notice stands for the report. A new
 * reference, NULL when memory ran out:
 *
 *   "reason"                  why the report is in its state (report_state_reason)
 *   "found", "looked", "not_there", "does_not_fit"  kits
 *   "share", "low", "high"    per cent as words: "41.2", "under 0.1", "0", "100";
 *                             false while nobody looked
 *   "figure"                  for findings_figure.html; false while nobody looked
 *   "words"                   what the figure says, one sentence
 *   "caution"                 that reports are not a sample: stands beside every figure
 *   "split"                   false when no split is a hint, else {
 *       "words"               split_words: a hint, with the numbers
 *       "statement"           line to be put below the line of the model; false
 *                             where the name cannot be written in a statement
 *       "figure" } */
json_t *findings_view(const struct findings_tally *tally, const struct split *split, bool settled);

#endif
