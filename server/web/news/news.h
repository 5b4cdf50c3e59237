/* news.h - pages of news: handlers and inputs, as routes.inc names them. */
#ifndef WEB_NEWS_NEWS_H
#define WEB_NEWS_NEWS_H

#include "base/text.h"
#include "store/news.h"
#include "web/http/context.h"

/* news.c: what is new for a member. */
extern const struct input news_query[], seen_inputs[];
handler_fn page_news, act_news_seen;

/* under_way.c: kits whose builders let others see how far they are. */
extern const struct input kit_shown_inputs[], under_way_query[], under_way_kit_query[],
        point_inputs[];
handler_fn act_kit_shown, page_under_way, page_under_way_kit, act_point;

#endif
