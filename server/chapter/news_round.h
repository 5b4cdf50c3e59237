/* news_round.h - from what is so to news: one comparison after another.
 *
 * A round goes over the kits whose builders have not been told of the notices as
 * they are, of the kit as it is or of this day, compares (core/told.h) and keeps what is
 * new together with what has been told, in one act for each kit: a round that is
 * broken off and begun again tells each thing once. Pages that must not be stale
 * ask news_of_kit, which keeps nothing.
 */
#ifndef CHAPTER_NEWS_ROUND_H
#define CHAPTER_NEWS_ROUND_H

#include "store/news.h"
#include "chapter/kit_view.h"
#include "chapter/rounds.h"

/* What the builder is to be told: news in the order of the catalogue, and the marks before
 * and after. Borrowed from work->arena. What the store says; ST_NOMEM. */
enum status news_of_kit(const struct work *work, const struct kit_view *view,
                        struct told_step *out) MUST_CHECK;

/* Every kit that is behind, some at each call. */
round_fn news_round_kits;

/* New reports: the builders of the kits that they concern, or may. */
round_fn news_round_reports;

/* Reports whose state has changed: their reporters and those who answered. */
round_fn news_round_states;

#endif
