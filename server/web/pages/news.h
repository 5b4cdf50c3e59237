/* news.h - pages of news: handlers and inputs, as routes.c names them. */
#ifndef WEB_PAGES_NEWS_H
#define WEB_PAGES_NEWS_H

#include "web/context.h"

/* news.c: what is new for a member. */
extern const struct input news_query[], seen_inputs[];
handler_fn page_news, act_news_seen;

#endif
